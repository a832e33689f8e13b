//! A sailor's own sheet of an outing as the page's data: one thing to keep, one to work on, the moments drawn. No other sailor is on it.

use serde_json::{Value, json};

use super::CardError;
use super::debrief::{LONGEST, LONGEST_CELL, own_chart, table};
use super::side::{Figure, printable};
use super::world::Press;
use crate::briefing::ashore::{Beat, Own, WIDTH};
use crate::briefing::beside::furthest;
use crate::briefing::debrief::{DebriefPage, SailorPage};
use crate::drawing::metres::metres;
use crate::drawing::passage::passage;
use crate::drawing::rounding::rounding;
use crate::words::voice::{Voice, voice};

/// Sizes of the pictures, mm.
const CHART: f64 = 54.0;
const HALF: f64 = 86.0;
const TALL: f64 = 70.0;
const ROUNDING: f64 = 80.0;

/// The sheets, one after the other, each from a new page.
pub(super) fn pages(press: &Press, page: &DebriefPage, sheets: &[(&SailorPage, &Own)]) -> Result<String, CardError> {
    let words = voice()?;
    Ok(serde_json::to_string(&json!({
        "title": printable(press, &page.title, LONGEST),
        "sheets": sheets.iter().map(|(sailor, own)| sheet(press, page, &words, sailor, own)).collect::<Vec<_>>(),
    }))?)
}

/// The beat that lost most.
pub(crate) fn dearest(own: &Own) -> Option<&Beat> {
    let lost = |beat: &Beat| beat.tape.lost.iter().map(|l| l.metres).sum::<f64>();
    own.beats.iter().filter(|b| !b.tape.lost.is_empty()).max_by(|a, b| lost(a).total_cmp(&lost(b)))
}

fn sheet(press: &Press, page: &DebriefPage, words: &Voice, sailor: &SailorPage, own: &Own) -> Value {
    let text = |text: &str| printable(press, text, LONGEST);
    let over = own.over.as_ref().map(|over| {
        json!({
            "title": text(&format!("Your {} rounding over your better one", over.of)),
            "picture": Figure::from(passage(&over.picture, HALF, TALL)),
            "clocks": over.clocks,
            "rows": over.rows,
        })
    });
    let beside: Vec<Value> = furthest(&own.beside.0)
        .into_iter()
        .map(|one| {
            json!({
                "title": text(&format!("{}, {}", one.of, one.clock)),
                "picture": Figure::from(rounding(&one.drawing, ROUNDING)),
                "verdict": text(&one.verdict),
                "rows": one.rows.iter().map(|row| row.each_ref().map(|cell| text(cell))).collect::<Vec<_>>(),
                "note": text(&one.note),
            })
        })
        .collect();
    let beat = dearest(own).map(|beat| json!({ "picture": Figure::from(metres(&beat.tape, WIDTH)), "sum": text(&beat.sum) }));
    json!({
        "name": printable(press, &sailor.name, LONGEST_CELL),
        "chart": Figure::from(own_chart(page, sailor, WIDTH, CHART)),
        "keep": [text(&sailor.keep.0), text(&sailor.keep.1)],
        "work_on": [text(&sailor.work_on.0), text(&sailor.work_on.1)],
        "drill": text(&sailor.drill),
        "moment": own.moment.as_ref().map(|m| Figure::from(passage(m, HALF, TALL))),
        "over": over,
        "beside": beside,
        "beat": beat,
        "where": format!("Where the {} of a beat went", page.chart.long.word()),
        "noted": own.noted.iter().map(|[at, what]| [text(at), text(what)]).collect::<Vec<_>>(),
        "words": words.question.iter().map(|q| {
            let said: Vec<String> = own.words.iter().filter(|w| w[0] == q.ask).map(|w| text(&w[1])).collect();
            json!({ "ask": text(&q.ask), "answers": q.answers, "said": said.join(", ") })
        }).collect::<Vec<_>>(),
        "tables": sailor.tables.iter().map(|t| table(press, t)).collect::<Vec<_>>(),
    })
}
