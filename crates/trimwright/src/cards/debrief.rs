//! The debrief as the page's data: texts as the fonts can draw them, charts as SVG.

use measure::counted;
use serde_json::{Value, json};

use super::CardError;
use super::side::{Figure, printable};
use super::world::Press;
use crate::briefing::debrief::{DebriefPage, SailorPage, Table};
use crate::drawing::Picture;
use crate::drawing::chart::{outing, wind_by_clock};

/// The most characters of a text and of a table's cell.
pub(super) const LONGEST: usize = 400;
pub(super) const LONGEST_CELL: usize = 40;
/// Width of the text on A4, and most heights of the two charts, mm.
const WIDTH: f64 = 180.0;
const CHART: f64 = 125.0;
const OWN_CHART: f64 = 85.0;

pub(super) fn page(press: &Press, page: &DebriefPage) -> Result<String, CardError> {
    let text = |text: &str| printable(press, text, LONGEST);
    let by_clock = (!page.wind_rows.is_empty())
        .then(|| Figure::from(wind_by_clock(&page.wind_rows, &page.clock, WIDTH, "The wind's direction by the clock")));
    Ok(serde_json::to_string(&json!({
        "title": text(&page.title),
        "about": text(&page.about),
        "chart": Figure::from(outing(&page.chart, WIDTH, CHART, None)),
        "wind": text(&page.wind),
        "by_clock": by_clock,
        "best": page.best.iter().map(|(who, what)| json!([printable(press, who, LONGEST_CELL), text(what)])).collect::<Vec<_>>(),
        "tables": page.tables.iter().map(|t| table(press, t)).collect::<Vec<_>>(),
        "untold": page.untold.iter().map(|t| text(t)).collect::<Vec<_>>(),
        "sailors": page.sailors.iter().map(|s| sailor(press, page, s)).collect::<Vec<_>>(),
    }))?)
}

pub(super) fn table(press: &Press, table: &Table) -> Value {
    let cell = |text: &String| printable(press, text, LONGEST_CELL);
    json!({
        "title": printable(press, &table.title, LONGEST),
        "head": table.head.iter().map(cell).collect::<Vec<_>>(),
        "rows": table.rows.iter().map(|r| r.iter().map(cell).collect::<Vec<_>>()).collect::<Vec<_>>(),
        "note": printable(press, &table.note, LONGEST),
    })
}

/// A sailor's own chart. A family's sheet shows one child only: the others' trails stay off it.
pub(crate) fn own_chart(page: &DebriefPage, sailor: &SailorPage, width: f64, most: f64) -> Picture {
    let mut own = page.chart.clone();
    for (n, trail) in own.trails.iter_mut().enumerate() {
        if n != sailor.boat {
            trail.clear();
        }
    }
    own.alt = format!("Chart of your outing, {}", counted(own.marks.len(), "course mark"));
    outing(&own, width, most, Some(sailor.boat))
}

fn sailor(press: &Press, page: &DebriefPage, sailor: &SailorPage) -> Value {
    let text = |text: &str| printable(press, text, LONGEST);
    json!({
        "name": printable(press, &sailor.name, LONGEST_CELL),
        "chart": Figure::from(own_chart(page, sailor, WIDTH, OWN_CHART)),
        "keep": [text(&sailor.keep.0), text(&sailor.keep.1)],
        "work_on": [text(&sailor.work_on.0), text(&sailor.work_on.1)],
        "drill": text(&sailor.drill),
        "tables": sailor.tables.iter().map(|t| table(press, t)).collect::<Vec<_>>(),
    })
}
