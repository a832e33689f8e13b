//! Drill sheets as the page's data.

use serde_json::json;

use super::CardError;
use super::side::{Figure, printable};
use super::world::Press;
use crate::briefing::drills::Sheet;
use crate::drawing::drill::drill;

/// The most characters of a text.
const LONGEST: usize = 300;
/// Size of the layout on A5, mm.
const LAYOUT: (f64, f64) = (128.0, 72.0);

pub(super) fn pages(press: &Press, sheets: &[Sheet]) -> Result<String, CardError> {
    let text = |text: &String| printable(press, text, LONGEST);
    let lines = |lines: &[String]| lines.iter().map(text).collect::<Vec<_>>();
    let sheet = |s: &Sheet| {
        json!({
            "title": text(&s.title), "aim": text(&s.aim), "facts": text(&s.facts), "answers": text(&s.answers), "scale": text(&s.scale),
            "steps": lines(&s.steps), "watch": lines(&s.watch), "cautions": lines(&s.cautions),
            "picture": Figure::from(drill(&s.layout, LAYOUT.0, LAYOUT.1)),
        })
    };
    Ok(serde_json::to_string(&json!({ "title": "Drills", "sheets": sheets.iter().map(sheet).collect::<Vec<_>>() }))?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::briefing::drills::drills;

    /// A sheet is one page in a wet sleeve, in a light wind and in a strong one.
    #[test]
    fn every_sheet_is_one_page() {
        let all = drills().unwrap_or_default();
        let press = Press::new();
        for knots in [4.0, 8.0, 16.0] {
            let sheets: Vec<Sheet> = all.iter().map(|d| d.sheet(knots, false, 2.4)).collect();
            let laid = pages(&press, &sheets).and_then(|data| press.lay_out(super::super::DRILLS, data));
            assert_eq!(laid.map(|l| l.pages().len()).unwrap_or_default(), all.len(), "in {knots} knots");
        }
    }
}
