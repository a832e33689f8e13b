//! A question as it is shown: words in a child's language, the picture, the answers with their letters and reasons.

use advice::quiz::{Cost, Kind, Question, Quiz, Rests, Said, Slot, Wanted};
use boat::gauge::Gauge;
use sha2::{Digest, Sha256};

use super::card::halves;
use super::day::BOARD_ARC;
use crate::drawing::Picture;
use crate::drawing::boat::BoatShape;
use crate::drawing::gauge::cost_chain;
use crate::drawing::quiz::{Lettered, Named, picture};
use crate::words::school::Tongue;
use crate::words::word;

/// The letters of answers.
const LETTERS: [char; 4] = ['A', 'B', 'C', 'D'];

/// An answer as it is shown.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Its letter.
    pub letter: char,
    /// Its name: what is kept when it is chosen.
    pub key: String,
    /// Whether it is right.
    pub right: bool,
    /// What it says.
    pub says: String,
    /// Why it is right, or not.
    pub why: String,
    /// What it costs, in words; none where the model gives no cost.
    pub cost: Option<String>,
    /// The same as a chain of boats.
    pub chain: Option<Picture>,
}

/// A question as it is shown.
#[derive(Debug, Clone)]
pub struct Asked {
    /// What it asks, whatever the numbers.
    pub key: String,
    /// From which seed it was made.
    pub seed: u64,
    /// Tells it from the same question on another day.
    pub mark: String,
    /// What it is about, in words.
    pub kind: String,
    /// What is asked.
    pub ask: String,
    /// The picture.
    pub picture: Picture,
    /// The answers.
    pub answers: Vec<Shown>,
    /// What the right one rests on, in words.
    pub rests: String,
    /// Words of the trade in it, each with what it means.
    pub words: Vec<(String, String)>,
}

impl Asked {
    /// The right answer.
    #[must_use]
    pub fn right(&self) -> Option<&Shown> {
        self.answers.iter().find(|a| a.right)
    }
}

/// A reading as a tape in centimetres has it.
fn centimetres(gauge: Gauge, si: f64) -> f64 {
    100.0 * if gauge == Gauge::BoardAngle { si * BOARD_ARC } else { si }
}

fn filled(text: &str, slots: &[(&'static str, Slot)], tongue: &Tongue) -> String {
    slots.iter().fold(text.to_owned(), |text, (mark, slot)| {
        let value = match slot {
            Slot::Reading(Gauge::BoardAngle, si) => {
                let cm = centimetres(Gauge::BoardAngle, *si);
                let line = |key: &str, value: f64| tongue.page(key).replace("{n}", &halves(value));
                match cm {
                    cm if cm < -0.25 => line("board_back", -cm),
                    cm if cm > 0.25 => line("board_forward", cm),
                    _ => tongue.page("board_on_line").to_owned(),
                }
            }
            Slot::Reading(gauge, si) => format!("{} cm", halves(centimetres(*gauge, *si))),
            Slot::Knots(knots) => format!("{knots:.0}"),
            Slot::Lengths(value) => lengths(*value, tongue),
            Slot::Boat(name) => name.clone(),
        };
        text.replace(&format!("{{{mark}}}"), &value)
    })
}

/// Boat lengths in words: one of them, or several.
fn lengths(value: f64, tongue: &Tongue) -> String {
    let number = halves(value);
    let one = number == "1" || number == "½";
    tongue.page(if one { "length" } else { "lengths" }).replace("{n}", &number)
}

/// What a cost says: on a long beat, or once.
fn told(cost: &Cost, once: bool, tongue: &Tongue) -> String {
    let (low, high) = (halves(cost.low.max(0.0)), halves(cost.high));
    let said = match (once, low == high) {
        (false, false) => "costs",
        (false, true) => "costs_about",
        (true, false) => "costs_once",
        (true, true) => "costs_once_about",
    };
    tongue.page(said).replace("{x}", &lengths(cost.value, tongue)).replace("{low}", &low).replace("{high}", &high)
}

/// A cost as a chain of boats; none where it is too long to count.
fn chain(cost: &Cost, tongue: &Tongue) -> Option<Picture> {
    /// The longest chain that is counted, boat lengths.
    const LONGEST: f64 = 12.0;
    (cost.high <= LONGEST).then(|| {
        let alt = word(&tongue.card.drawing, "cost_alt");
        let alt =
            alt.replace("{x}", &halves(cost.value)).replace("{low}", &halves(cost.low.max(0.0))).replace("{high}", &halves(cost.high));
        cost_chain(cost.low.max(0.0), cost.value, cost.high, cost.high.max(4.0), 90.0, &alt)
    })
}

/// The words of the trade that stand in a text, each with what it means.
fn explained(text: &str, tongue: &Tongue) -> Vec<(String, String)> {
    let text = text.to_lowercase();
    let stands = |name: &str| {
        let name = name.to_lowercase();
        text.match_indices(&name).any(|(at, _)| {
            let before = text.get(..at).and_then(|t| t.chars().next_back());
            // One of them, or several.
            let after = text.get(at + name.len()..).map(|t| t.strip_prefix('s').unwrap_or(t)).and_then(|t| t.chars().next());
            !before.is_some_and(char::is_alphanumeric) && !after.is_some_and(char::is_alphanumeric)
        })
    };
    tongue.school.glossary.values().filter(|w| stands(&w.name)).map(|w| (w.name.clone(), w.says.clone())).collect()
}

/// Tells a question from another of the same key and seed: made of all that it is.
#[must_use]
pub fn mark(question: &Question) -> String {
    Sha256::digest(format!("{question:?}")).iter().take(8).map(|b| format!("{b:02x}")).collect()
}

/// A question in a language, for a boat of a shape.
#[must_use]
pub fn asked(question: &Question, tongue: &Tongue, shape: &BoatShape) -> Asked {
    let says = |said: &Said| -> (String, String) {
        let words = tongue.school.question.get(said.question);
        let text = |text: Option<&str>| filled(text.unwrap_or(said.question), &said.slots, tongue);
        match said.answer {
            None => (text(words.map(|w| w.ask.as_str())), String::new()),
            Some(name) => {
                let answer = words.and_then(|w| w.answers.get(name));
                (text(answer.map(|a| a.says.as_str())), text(answer.map(|a| a.why.as_str())))
            }
        }
    };
    let gauge = match question.picture {
        Wanted::Tape(gauge, _) | Wanted::Places(gauge) => Some(gauge),
        _ => None,
    };
    let lettered: Vec<Lettered> = question
        .answers
        .iter()
        .zip(LETTERS)
        .map(|(a, letter)| Lettered {
            letter,
            name: a.key.clone(),
            centimetres: gauge.zip(a.value).map(|(gauge, value)| centimetres(gauge, value)),
            way: a.way.clone(),
        })
        .collect();
    let boat =
        question.ask.slots.iter().find(|s| s.0 == "boat").map_or("", |s| if let Slot::Boat(name) = &s.1 { name.as_str() } else { "" });
    let alt = match question.picture {
        Wanted::Tape(..) => "tape",
        Wanted::Places(_) => "places",
        Wanted::Sitting(_) => "sitting",
        Wanted::Sail(_) => "sail",
        Wanted::Postures => "postures",
        Wanted::Pointed(_) => "pointed",
        Wanted::Boards { .. } => "boards",
        Wanted::Heels => "heels",
        Wanted::Heeled => "heeled",
        Wanted::Seats => "seats",
        Wanted::Water => "water",
        Wanted::Capsized => "capsized",
        Wanted::Thunder => "thunder",
        Wanted::Cold => "cold",
        Wanted::Wave => "wave",
        Wanted::Puff => "puff",
        Wanted::Boats(_) => "boats",
        Wanted::Ways => "ways",
        Wanted::Course(_) => "course",
    };
    let named = Named { alt: word(&tongue.school.picture, alt), wind: word(&tongue.school.picture, "wind") };
    let reads = if let Wanted::Tape(gauge, si) = question.picture { centimetres(gauge, si) } else { 0.0 };
    let answers = question.answers.iter().zip(LETTERS).map(|(answer, letter)| {
        let (text, why) = says(&answer.words);
        // What water costs is the answer itself.
        let cost = answer.cost.as_ref().filter(|_| answer.words.question != "water_left");
        let said = cost.map(|cost| told(cost, question.kind == Kind::Rounding, tongue));
        let chain = answer.cost.as_ref().and_then(|cost| chain(cost, tongue));
        Shown { letter, key: answer.key.clone(), right: answer.right, says: text, why, cost: said, chain }
    });
    let answers: Vec<Shown> = answers.collect();
    let ask = says(&question.ask).0;
    let words = explained(&answers.iter().fold(ask.clone(), |all, a| format!("{all} {} {}", a.says, a.why)), tongue);
    let rests = match question.rests {
        Rests::Picture => tongue.page("rests_picture").to_owned(),
        Rests::Model => tongue.page("rests_model").replace("{boat}", boat),
        Rests::Cited(source) => tongue.page("rests_cited").replace("{source}", word(&tongue.school.cited, source)),
        Rests::Practice => tongue.page("rests_practice").to_owned(),
    };
    Asked {
        key: question.key.clone(),
        seed: question.seed,
        mark: mark(question),
        kind: word(&tongue.school.kind, question.kind.name()).to_owned(),
        ask,
        picture: picture(question.picture, shape, reads, &lettered, named),
        answers,
        rests,
        words,
    }
}

/// One question of each key, in the order given: for paper and pocket.
#[must_use]
pub fn sheet(quiz: &Quiz, keys: &[&str], seed: u64, tongue: &Tongue, shape: &BoatShape) -> Vec<Asked> {
    keys.iter().filter_map(|key| quiz.question(key, seed)).map(|question| asked(&question, tongue, shape)).collect()
}
