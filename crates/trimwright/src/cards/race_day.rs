//! The race-day sheet as the page's data: texts as the fonts can draw them, drawings as SVG.

use serde_json::{Value, json};

use super::CardError;
use super::side::{Figure, printable};
use super::world::Press;
use crate::briefing::race_day::RaceDayPage;
use crate::drawing::approach::approach;
use crate::drawing::course::course;
use crate::drawing::rounding::rounding;
use crate::drawing::start::{line, over_the_shoulder};

/// The most characters of a text and of a table's cell.
const LONGEST: usize = 500;
const LONGEST_CELL: usize = 70;
/// Width of the text on A4, most height of the chart, widths of the smaller drawings, mm.
const WIDTH: f64 = 180.0;
const CHART: f64 = 100.0;
const LINE: f64 = 110.0;
const SHOULDER: f64 = 38.0;
const TURN: f64 = 78.0;

/// All sheets as JSON.
pub(super) fn pages(press: &Press, pages: &[RaceDayPage]) -> Result<String, CardError> {
    let sheets: Vec<Value> = pages.iter().map(|one| page(press, one)).collect();
    Ok(serde_json::to_string(&json!({ "title": pages.first().map_or("", |p| p.title.as_str()), "sheets": sheets }))?)
}

fn page(press: &Press, page: &RaceDayPage) -> Value {
    let text = |text: &str| printable(press, text, LONGEST);
    let cell = |text: &str| printable(press, text, LONGEST_CELL);
    json!({
        "title": text(&page.title),
        "whose": text(&page.whose),
        "about": text(&page.about),
        "chart": Figure::from(course(&page.chart, WIDTH, CHART)),
        "legs": page.legs.iter().map(|l| json!([cell(&l.name), cell(&l.length), cell(&l.bearing), cell(&l.compass), cell(&l.time), text(&l.sailed)])).collect::<Vec<_>>(),
        "unit": page.unit,
        "whole": text(&page.whole),
        "start": page.start.as_ref().map(|s| json!({
            "verdict": text(&s.verdict),
            "line": Figure::from(line(&s.line, LINE)),
            "through": text(&s.through),
            "still": text(&s.still),
        })),
        "shoulders": page.shoulders.iter().map(|s| json!({
            "title": text(&s.title),
            "figure": Figure::from(over_the_shoulder(s.port_tack, s.angle, SHOULDER, &s.deed)),
            "deed": text(&s.deed),
            "note": text(&s.note),
        })).collect::<Vec<_>>(),
        "turns": page.turns.iter().map(|t| json!({
            "title": text(&t.title),
            "figure": Figure::from(rounding(&t.drawing, TURN)),
            "rows": t.rows.iter().map(|(a, b)| json!([cell(a), cell(b)])).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "signals": page.signals.iter().map(|(a, b)| json!([cell(a), text(b)])).collect::<Vec<_>>(),
        "deeds": page.deeds.iter().map(|d| json!({
            "title": text(&d.title),
            "safety": text(&d.safety),
            "figure": Figure::from(approach(&d.approach, WIDTH)),
            "rows": d.rows.iter().map(|r| json!([cell(&r.deed), cell(&r.when), cell(&r.lasts), cell(&r.late), cell(&r.early)])).collect::<Vec<_>>(),
            "note": text(&d.note),
        })).collect::<Vec<_>>(),
        "untold": text(&page.untold),
        "note": text(&page.note),
    })
}
