//! A boat's strips as the page's data: what to cut out and where to lay it.

use serde_json::{Value, json};

use super::CardError;
use super::side::{Figure, name, printable};
use super::world::Press;
use crate::briefing::card::{CardDocument, Reading};
use crate::drawing::{Picture, strip};
use crate::words::{Words, word};

/// The longest straight strip an A4 page takes, m.
const LONGEST: f64 = 0.26;

/// From the bolt to the middle of the arc, m. A strip is cut for a bolt this high over the rail.
const ARC_RADIUS: f64 = 0.15;

/// Along the arc, m.
const ARC_LENGTH: f64 = 0.085;

/// All boats as JSON.
pub(super) fn page(press: &Press, words: &Words, cards: &[CardDocument]) -> Result<String, CardError> {
    let boats: Vec<Value> = cards.iter().map(|card| boat(press, words, card)).collect();
    Ok(serde_json::to_string(&json!({ "words": words.strips, "boats": boats }))?)
}

/// One boat's page.
fn boat(press: &Press, words: &Words, card: &CardDocument) -> Value {
    let alt = words.strips.strip_alt.as_str();
    let letters = words.strips.letters.each_ref().map(String::as_str);
    let rule =
        |reading: &Option<Reading>| reading.map(|r| Figure::from(strip::rule(&r, letters, strip::begins(&r, LONGEST), LONGEST, alt)));
    // A strip that does not begin at zero says where its lower end goes.
    let lay = |reading: &Option<Reading>, zero: &str, begins: &str| {
        let from = strip::begins(reading.as_ref()?, LONGEST);
        Some(if from > 0.0 { begins.replace("{cm}", &format!("{:.0}", 100.0 * from)) } else { zero.to_owned() })
    };
    let heads = ["lighter", "as_forecast", "stronger"].map(|key| word(&words.card, key));
    let legend: Vec<Value> = card
        .columns
        .iter()
        .zip(heads)
        .zip(letters)
        .map(|((column, head), letter)| json!({ "letter": letter, "text": format!("{head}, {} {}, {}", printable(press, &column.range, 20), printable(press, &card.wind_unit, 12), printable(press, &column.sea, 40)) }))
        .collect();
    json!({
        "boat": name(press, words, &card.boat),
        "sailor": name(press, words, &card.sailor),
        "date": printable(press, &card.date, 24),
        "lay": [
            lay(&card.readings.boom_end, &words.strips.stick_how, &words.strips.stick_begins),
            lay(&card.readings.car, &words.strips.car_how, &words.strips.car_begins),
        ],
        "boom_end": rule(&card.readings.boom_end),
        "car": rule(&card.readings.car),
        "board": card.readings.board.map(|r| Figure::from(strip::board_arc(&r, letters, ARC_RADIUS, ARC_LENGTH, alt))),
        "bar": Figure::from(bar(words)),
        "legend": legend,
    })
}

/// The proof bar.
fn bar(words: &Words) -> Picture {
    strip::proof_bar(&words.strips.bar_alt)
}
