//! Cards and strips on paper: plain documents in, PDF bytes out.
//!
//! A card is A6, front and back, or four to an A4 sheet with corner cut marks. The strips of a boat are an A4 page at
//! true size. Everything printed comes from the document and the words; nothing is computed here but places on paper.

mod debrief;
mod drills;
mod quiz;
mod race_day;
mod results;
mod sheet;
mod side;
mod strips;
mod world;

use crate::briefing::ashore::Own;
use crate::briefing::card::CardDocument;
use crate::briefing::debrief::{DebriefPage, SailorPage};
use crate::briefing::drills::Sheet;
use crate::briefing::race_day::RaceDayPage;
use crate::briefing::results::ResultsPage;
use crate::words::Words;
use crate::words::school::Tongue;
pub(crate) use debrief::own_chart;
pub use quiz::QuizSheet;
pub(crate) use sheet::dearest;
pub(crate) use side::drawn;
use world::Press;

/// What can go wrong on the way to paper.
#[derive(Debug, thiserror::Error)]
pub enum CardError {
    /// There is nothing to print.
    #[error("there is no card to print: name at least one sailor")]
    Nothing,
    /// The words file does not read.
    #[error("the words for the cards do not read: {0}")]
    Words(#[from] toml::de::Error),
    /// The document does not go into the page's data.
    #[error("the card could not be handed to the page: {0}")]
    Data(#[from] serde_json::Error),
    /// The typesetter refused the page.
    #[error("the page could not be set: {0}; this is a fault of the program, please report it")]
    Typesetting(String),
}

/// How cards lie on paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Layout {
    /// One side to an A6 page: front, back, front, back.
    #[default]
    A6,
    /// Four to an A4 sheet with cut marks; the backs lie so that a sheet turned on its long edge fits.
    FourToA4,
}

/// The template of both sides.
const CARD: &str = include_str!("cards/card.typ");

/// The template of a boat's strips.
const STRIPS: &str = include_str!("cards/strips.typ");

/// The template of a debrief.
const DEBRIEF: &str = include_str!("cards/debrief.typ");

/// The template of a sailor's own sheet.
const SHEET: &str = include_str!("cards/sheet.typ");

/// The template of a quiz.
const QUIZ: &str = include_str!("cards/quiz.typ");

/// The template of the race-day sheet.
const RACE_DAY: &str = include_str!("cards/race_day.typ");

/// The template of drill sheets.
const DRILLS: &str = include_str!("cards/drills.typ");

/// The template of the tally on paper.
const TALLY: &str = include_str!("cards/tally.typ");
/// The template of results.
const RESULTS: &str = include_str!("cards/results.typ");

/// The cards as one PDF, in the order given. Equal cards give equal bytes.
///
/// # Errors
/// [`CardError::Nothing`] without a card; the others are faults of the program.
pub fn pdf(cards: &[CardDocument], layout: &Layout) -> Result<Vec<u8>, CardError> {
    if cards.is_empty() {
        return Err(CardError::Nothing);
    }
    let press = Press::new();
    let document = press.lay_out(CARD, side::page(&press, &Words::english()?, cards, *layout)?)?;
    press.pdf(&document)
}

/// The strips of each card's boat, one A4 page each at true size, as one PDF.
///
/// # Errors
/// As [`pdf`].
pub fn strips_pdf(cards: &[CardDocument]) -> Result<Vec<u8>, CardError> {
    if cards.is_empty() {
        return Err(CardError::Nothing);
    }
    let press = Press::new();
    let document = press.lay_out(STRIPS, strips::page(&press, &Words::english()?, cards)?)?;
    press.pdf(&document)
}

/// A debrief as one PDF, A4: the group's page, the coach's tables, a page for each sailor.
///
/// # Errors
/// Faults of the program, as in [`pdf`].
pub fn debrief_pdf(page: &DebriefPage) -> Result<Vec<u8>, CardError> {
    let press = Press::new();
    let document = press.lay_out(DEBRIEF, debrief::page(&press, page)?)?;
    press.pdf(&document)
}

/// Sailors' own sheets of an outing as one PDF, A4, each from a new page.
///
/// # Errors
/// Faults of the program, as in [`pdf`].
pub fn sheets_pdf(page: &DebriefPage, sheets: &[(&SailorPage, &Own)]) -> Result<Vec<u8>, CardError> {
    let press = Press::new();
    let document = press.lay_out(SHEET, sheet::pages(&press, page, sheets)?)?;
    press.pdf(&document)
}

/// Drill sheets as one PDF, A5, each from a new page.
///
/// # Errors
/// [`CardError::Nothing`] without a drill; the others are faults of the program.
pub fn drills_pdf(sheets: &[Sheet]) -> Result<Vec<u8>, CardError> {
    if sheets.is_empty() {
        return Err(CardError::Nothing);
    }
    let press = Press::new();
    let document = press.lay_out(DRILLS, drills::pages(&press, sheets)?)?;
    press.pdf(&document)
}

/// The tally on paper, A4: a row for each sailor with her boat.
///
/// # Errors
/// Faults of the program, as in [`pdf`].
pub fn tally_pdf(title: &str, ratio: &str, sailors: &[(String, String)]) -> Result<Vec<u8>, CardError> {
    let press = Press::new();
    let text = |text: &str| side::printable(&press, text, 120);
    let rows: Vec<_> = sailors.iter().map(|(sailor, boat)| [text(sailor), text(boat)]).collect();
    let data = serde_json::json!({ "title": text(title), "ratio": text(ratio), "sailors": rows });
    let document = press.lay_out(TALLY, serde_json::to_string(&data)?)?;
    press.pdf(&document)
}

/// The race-day sheet as one PDF, A4.
/// Race-day sheets as one PDF, A4, each from a new page.
///
/// # Errors
/// As [`pdf`].
pub fn race_day_pdf(pages: &[RaceDayPage]) -> Result<Vec<u8>, CardError> {
    if pages.is_empty() {
        return Err(CardError::Nothing);
    }
    let press = Press::new();
    let document = press.lay_out(RACE_DAY, race_day::pages(&press, pages)?)?;
    press.pdf(&document)
}

/// Results as one PDF, A4, on its side where there are many races.
///
/// # Errors
/// Faults of the program, as in [`pdf`].
pub fn results_pdf(page: &ResultsPage) -> Result<Vec<u8>, CardError> {
    let press = Press::new();
    let document = press.lay_out(RESULTS, results::page(&press, page)?)?;
    press.pdf(&document)
}

/// Quizzes as one PDF, A4: for each sailor the questions, then for the coach the answers of all.
///
/// # Errors
/// [`CardError::Nothing`] without a quiz; the others are faults of the program.
pub fn quiz_pdf(sheets: &[QuizSheet], tongue: &Tongue, date: &str) -> Result<Vec<u8>, CardError> {
    if sheets.is_empty() {
        return Err(CardError::Nothing);
    }
    let press = Press::new();
    let document = press.lay_out(QUIZ, quiz::page(&press, sheets, tongue, date)?)?;
    press.pdf(&document)
}

#[cfg(test)]
mod tests;
