//! Results as the page's data: texts as the fonts can draw them.

use serde_json::json;

use super::CardError;
use super::side::printable;
use super::world::Press;
use crate::briefing::results::ResultsPage;

/// The most characters of a text, of a label and of a cell.
const LONGEST: usize = 600;
const LONGEST_LABEL: usize = 40;
const LONGEST_CELL: usize = 14;
/// From this many races on the paper lies on its side.
const MANY: usize = 9;

pub(super) fn page(press: &Press, page: &ResultsPage) -> Result<String, CardError> {
    let text = |text: &str| printable(press, text, LONGEST);
    let label = |text: &str| printable(press, text, LONGEST_LABEL);
    let cell = |text: &str| printable(press, text, LONGEST_CELL);
    let parts = page.parts.iter().map(|part| {
        let rows: Vec<_> = part
            .rows
            .iter()
            .map(|row| {
                let scores: Vec<_> = row.scores.iter().map(|(score, out)| json!([cell(score), out])).collect();
                json!({ "rank": row.rank, "boat": label(&row.boat), "scores": scores, "total": cell(&row.total), "net": cell(&row.net) })
            })
            .collect();
        let why: Vec<_> = part
            .rows
            .iter()
            .filter(|row| !row.tie.is_empty() || !row.explained.is_empty())
            .map(|row| {
                let tie = if row.tie.is_empty() { String::new() } else { format!("tied: {}", row.tie) };
                let words: Vec<String> = [tie, row.explained.clone()].into_iter().filter(|t| !t.is_empty()).collect();
                json!([label(&row.boat), text(&words.join("; "))])
            })
            .collect();
        json!({ "name": label(&part.name), "races": part.races.iter().map(|r| cell(r)).collect::<Vec<_>>(), "rows": rows, "why": why })
    });
    Ok(serde_json::to_string(&json!({
        "title": text(&page.title),
        "about": text(&page.about),
        "verdict": text(&page.verdict),
        "wide": page.parts.iter().any(|part| part.races.len() >= MANY),
        "parts": parts.collect::<Vec<_>>(),
        "prizes": page.prizes.iter().map(|(a, b)| json!([label(a), label(b)])).collect::<Vec<_>>(),
        "codes": page.codes.iter().map(|c| text(c)).collect::<Vec<_>>(),
    }))?)
}
