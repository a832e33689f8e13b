//! Who is still out, from what was tallied, and what of it does not add up. Nobody is guessed home.
//!
//! The phone computes the same afloat (`pages/tally.js`); `tests/tally.json` holds cases that both must answer alike.
//!
//! A sailor counts as home only where her last word is "in", after an "out", and nothing speaks against it. Where the words cannot be put in
//! order, or two people said different things at about the same time, she stands as not known, and counts with those who are out.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::debrief::clock;

/// Words of two people about one sailor within this time may be about one passage, ms. Assumed: as long as a boat takes from the water to the
/// trolley.
pub const NEAR: i64 = 180_000;

/// Out on the water, or back in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Went out.
    Out,
    /// Came in.
    In,
}

/// One word of a tally.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Word {
    /// The fact's id.
    pub id: String,
    /// Whose, by id.
    pub sailor: String,
    /// When, UTC ms.
    pub at: i64,
    /// Out or in.
    pub way: Way,
    /// Which safety boat has an eye on her.
    #[serde(default)]
    pub boat: String,
    /// Who said so, on which phone.
    pub by: String,
    /// Whether the clock it was read from is known to be wrong, and nobody has settled it.
    #[serde(default)]
    pub doubted: bool,
}

/// Where a sailor stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stands {
    /// Nobody tallied her.
    Ashore,
    /// Out.
    Out,
    /// Back in.
    In,
    /// Not known: counts with those who are out.
    Unknown,
}

/// What does not add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fault {
    /// Two outs without an in between.
    OutTwice,
    /// Two ins without an out between.
    InTwice,
    /// An in before any out.
    InWithoutOut,
    /// Two people said different things at about the same time.
    Conflict,
    /// A clock was wrong and another's words stand beside its.
    Clock,
}

impl Fault {
    /// The sentence it is told in; `{who}`, `{a}`, `{b}` (times), `{p}` and `{q}` (who said so) are filled in.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::OutTwice => "{who}: out twice, at {a} ({p}) and at {b} ({q}), and no \"in\" between. She counts as out.",
            Self::InTwice => "{who}: in twice, at {a} ({p}) and at {b} ({q}). One of them may be another sailor: look who.",
            Self::InWithoutOut => "{who}: in at {b} ({q}) without an \"out\" before it. It may have been another sailor: look who.",
            Self::Conflict => "{who}: \"{wa}\" at {a} by {p}, \"{wb}\" at {b} by {q}. Ask both, look for her, then tap what is so.",
            Self::Clock => "{who}: a phone's clock was wrong, so nobody knows which word was last. Look for her, then settle the clock.",
        }
    }
    /// All of them.
    pub const ALL: [(&'static str, Self); 5] = [
        ("out_twice", Self::OutTwice),
        ("in_twice", Self::InTwice),
        ("in_without_out", Self::InWithoutOut),
        ("conflict", Self::Conflict),
        ("clock", Self::Clock),
    ];
}

/// A sailor's place in the tally.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Where she stands.
    pub stands: Stands,
    /// Since when, UTC ms: her last word's time.
    pub since: Option<i64>,
    /// The safety boat named last.
    pub boat: String,
    /// What does not add up: which, and the two words it is about (the same one twice where it is one).
    pub faults: Vec<(Fault, Word, Word)>,
}

/// Where every sailor of some words stands, by id.
#[must_use]
pub fn places(words: &[Word]) -> BTreeMap<String, Place> {
    let mut by: BTreeMap<String, Vec<&Word>> = BTreeMap::new();
    for word in words {
        by.entry(word.sailor.clone()).or_default().push(word);
    }
    by.into_iter().map(|(sailor, words)| (sailor, place(words))).collect()
}

fn place(mut words: Vec<&Word>) -> Place {
    // At the same moment an out comes last: nobody is guessed home.
    words.sort_by_key(|w| (w.at, w.way == Way::Out, w.id.clone()));
    let mut faults = Vec::new();
    let mut stands = Stands::Ashore;
    let mut before: Option<&Word> = None;
    for word in &words {
        let mut fault = |which| faults.push((which, before.unwrap_or(word).clone(), (*word).clone()));
        let near = before.is_some_and(|b| b.way != word.way && b.by != word.by && word.at - b.at <= NEAR);
        let next = match (word.way, stands) {
            _ if near => {
                fault(Fault::Conflict);
                Stands::Unknown
            }
            (Way::Out, Stands::Out) => {
                fault(Fault::OutTwice);
                Stands::Out
            }
            (Way::Out, _) => Stands::Out,
            (Way::In, Stands::Ashore) => {
                fault(Fault::InWithoutOut);
                Stands::Unknown
            }
            (Way::In, Stands::In) => {
                fault(Fault::InTwice);
                Stands::In
            }
            // Whoever was asked after a conflict and is tapped in again is in; an in that had no out stays unknown.
            (Way::In, Stands::Unknown) if faults.iter().all(|f| f.0 == Fault::InWithoutOut) => Stands::Unknown,
            (Way::In, _) => Stands::In,
        };
        stands = next;
        before = Some(word);
    }
    if let (Some(first), Some(last)) = (words.first(), words.last())
        && words.iter().any(|w| w.doubted)
        && words.iter().any(|w| w.by != first.by)
    {
        faults.push((Fault::Clock, (*first).clone(), (*last).clone()));
        stands = Stands::Unknown;
    }
    let boat = words.iter().rev().find(|w| !w.boat.is_empty()).map(|w| w.boat.clone()).unwrap_or_default();
    Place { stands, since: words.last().map(|w| w.at), boat, faults }
}

/// The sentences of what does not add up for a sailor.
#[must_use]
pub fn sentences(who: &str, place: &Place, zone: &TimeZone) -> Vec<String> {
    let at = |ms: i64| clock(ms as f64 / 1000.0, zone, "%H:%M");
    let way = |w: Way| if w == Way::Out { "out" } else { "in" };
    let told = |(fault, a, b): &(Fault, Word, Word)| {
        let fill = [("{who}", who.to_owned()), ("{a}", at(a.at)), ("{b}", at(b.at)), ("{p}", a.by.clone()), ("{q}", b.by.clone())];
        let more = [("{wa}", way(a.way).to_owned()), ("{wb}", way(b.way).to_owned())];
        fill.iter().chain(&more).fold(fault.sentence().to_owned(), |text, (mark, with)| text.replace(mark, with))
    };
    place.faults.iter().map(told).collect()
}

/// How many count as out: those who are, and those of whom it is not known.
#[must_use]
pub fn still_out(places: &BTreeMap<String, Place>) -> (usize, usize) {
    let of = |stands| places.values().filter(|p| p.stands == stands).count();
    (of(Stands::Out) + of(Stands::Unknown), of(Stands::Unknown))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Deserialize)]
    struct Case {
        says: String,
        words: Vec<Word>,
        stands: Stands,
        faults: Vec<Fault>,
    }

    #[test]
    fn the_cases_that_the_phone_answers_too() {
        let cases: Vec<Case> = serde_json::from_str(include_str!("../../tests/tally.json")).unwrap_or_default();
        assert!(cases.len() >= 14);
        for case in cases {
            let places = places(&case.words);
            let place = &places["t"];
            assert_eq!(place.stands, case.stands, "{}", case.says);
            assert_eq!(place.faults.iter().map(|f| f.0).collect::<Vec<_>>(), case.faults, "{}", case.says);
            assert_eq!(sentences("Tern", place, &TimeZone::UTC).iter().filter(|s| s.contains('{')).count(), 0);
        }
    }

    /// Whatever is said in whichever order, a sailor whose last word is out never counts as home, and one fact twice changes nothing.
    #[test]
    fn nobody_whose_last_word_is_out_is_home() {
        let mut chance: u64 = 9;
        for _ in 0..2000 {
            let words: Vec<Word> = (0..6)
                .map(|n| {
                    chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    let bits = chance >> 40;
                    let way = if bits & 1 == 0 { Way::Out } else { Way::In };
                    let by = if bits & 2 == 0 { "Ida" } else { "Bo" }.to_owned();
                    let at = (bits >> 2 & 15) as i64 * 60_000;
                    Word { id: n.to_string(), sailor: "t".into(), at, way, boat: String::new(), by, doubted: bits & 0x1000 == 0 }
                })
                .collect();
            let last = words.iter().map(|w| w.at).max();
            let out = words.iter().any(|w| Some(w.at) == last && w.way == Way::Out);
            let stands = places(&words)["t"].stands;
            assert!(!(out && matches!(stands, Stands::In | Stands::Ashore)), "{words:?}");
            let backwards: Vec<Word> = words.iter().rev().cloned().collect();
            assert_eq!(places(&backwards)["t"], places(&words)["t"]);
        }
    }
}
