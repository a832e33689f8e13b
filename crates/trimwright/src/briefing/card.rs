//! The card a sailor takes afloat, as plain data in the sailor's words, and the words for a length a hand can find.
//!
//! Nothing here knows a sailor's weight, so nothing of it can reach paper.

use std::collections::BTreeMap;

use measure::Basis;
use serde::{Serialize, Serializer};

use crate::drawing::boat::BoatShape;
use crate::words::word;

/// The finger of a child's hand over the length of the hand. `assumed`: a finger of 1.5 cm on a hand of 16 cm.
pub const FINGER_PER_HAND: f64 = 0.094;

/// The thumb of a child's hand over the length of the hand. `assumed`: a thumb of 2 cm on a hand of 16 cm.
pub const THUMB_PER_HAND: f64 = 0.125;

/// The most rows a front side shows.
pub const MOST_ROWS: usize = 5;

/// The most words on a side; a word is a token with a letter. Rows that would go over it are left out, the last first.
pub const MOST_WORDS: usize = 60;

/// A sailor's own hand, in metres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Hand {
    /// From the wrist crease to the tip of the middle finger.
    pub length: f64,
    /// Across one finger at its middle joint.
    pub finger: f64,
    /// Across the thumb at its joint.
    pub thumb: f64,
}

impl Hand {
    /// The hand of this length, its fingers and thumb in the assumed proportion.
    #[must_use]
    pub fn from_length(length: f64) -> Self {
        Self { length, finger: length * FINGER_PER_HAND, thumb: length * THUMB_PER_HAND }
    }

    /// A length as whole halves of a hand and at most four fingers.
    #[must_use]
    pub fn parts(&self, length: f64) -> (u32, u32) {
        let reach = length.abs();
        let half = self.length / 2.0;
        let mut halves = ((reach + self.finger / 2.0) / half).floor();
        let mut fingers = ((reach - halves * half) / self.finger).round().max(0.0);
        // A hand has four fingers side by side: what is more goes to the nearer of four fingers and the next half hand.
        if fingers > 4.0 {
            let (low, high) = (halves * half + 4.0 * self.finger, (halves + 1.0) * half);
            (halves, fingers) = if reach - low < high - reach { (halves, 4.0) } else { (halves + 1.0, 0.0) };
        }
        (halves as u32, fingers as u32)
    }

    /// A length in half hands and fingers: "hand + 2", "½ hand", "4 fingers", as a language calls them; below half a finger its word for
    /// no `length`.
    #[must_use]
    pub fn words(&self, length: f64, said: &BTreeMap<String, String>) -> String {
        let (halves, fingers) = self.parts(length);
        let hands = match (halves / 2, halves % 2 > 0) {
            (0, false) => String::new(),
            (0, true) => format!("½ {}", word(said, "hand")),
            (1, false) => word(said, "hand").to_owned(),
            (n, odd) => format!("{n}{} {}", if odd { "½" } else { "" }, word(said, "hands")),
        };
        match (hands.is_empty(), fingers) {
            (true, 0) => word(said, "length").to_owned(),
            (true, 1) => format!("1 {}", word(said, "finger")),
            (true, n) => format!("{n} {}", word(said, "fingers")),
            (false, 0) => hands,
            (false, n) => format!("{hands} + {n}"),
        }
    }

    /// A length in half thumbs from a pen line: "1 thumb", "1½ thumbs", and behind the line "1 thumb back"; on the `board`'s line below
    /// a quarter of a thumb.
    #[must_use]
    pub fn thumbs(&self, length: f64, said: &BTreeMap<String, String>) -> String {
        let thumbs = match halves(length.abs() / self.thumb).as_str() {
            "0" => return word(said, "board").to_owned(),
            one @ ("½" | "1") => format!("{one} {}", word(said, "thumb")),
            more => format!("{more} {}", word(said, "thumbs")),
        };
        if length < 0.0 { format!("{thumbs} {}", word(said, "board_back")) } else { thumbs }
    }
}

/// A car's place in quarters of the way from the middle to the end of its track: "¼ out", and to windward "¼ up"; in the middle below
/// an eighth.
#[must_use]
pub fn quarters(place: f64, half_width: f64, said: &BTreeMap<String, String>) -> String {
    let part = match (place.abs() / half_width * 4.0).round() as u32 {
        0 => return word(said, "car").to_owned(),
        1 => "¼",
        2 => "½",
        3 => "¾",
        _ => word(said, "car_all"),
    };
    format!("{part} {}", word(said, if place < 0.0 { "car_up" } else { "car_out" }))
}

/// A number to the nearest half, as it is written by hand: "19", "1½", "−2". What is no number is a dash.
#[must_use]
pub fn halves(number: f64) -> String {
    if !number.is_finite() {
        return "–".to_owned();
    }
    let doubled = (number * 2.0).round();
    let sign = if doubled < 0.0 { "−" } else { "" };
    let doubled = doubled.abs();
    let whole = (doubled / 2.0).floor();
    match (whole > 0.0, doubled % 2.0 > 0.0) {
        (true, true) => format!("{sign}{whole}½"),
        (false, true) => format!("{sign}½"),
        (_, false) => format!("{sign}{whole}"),
    }
}

/// From this number on a tape is written to whole numbers: it is read to a centimetre, and a child sets no half of it.
const WHOLE_FROM: f64 = 9.75;

/// A number as it is set by a tape: to the half, and from ten on to the whole.
#[must_use]
pub fn on_tape(number: f64) -> String {
    halves(if number.abs() < WHOLE_FROM { number } else { number.round() })
}

/// How to sit today: the card's headline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Posture {
    /// In the boat, forward.
    Inside,
    /// On the side.
    OnTheSide,
    /// Fully out, easing in puffs.
    FlatOut,
}

impl Posture {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Inside, Self::OnTheSide, Self::FlatOut];

    /// Its key in the tables of words.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::OnTheSide => "on_the_side",
            Self::FlatOut => "flat_out",
        }
    }
}

/// One column of wind.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WindColumn {
    /// The range in the card's unit, like "9–12".
    pub range: String,
    /// How the sea looks then, like "few whitecaps".
    pub sea: String,
}

/// One setting in one column.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CardValue {
    /// The number as a child reads it on a tape, like "19" or "1½".
    pub text: String,
    /// The same by hand, like "hand + 2".
    pub hand: String,
    /// Between which numbers it makes no difference or we do not know, in the row's unit.
    pub band: Option<(String, String)>,
    /// Which of the two makes the band wide, where both were asked.
    pub larger: Option<&'static str>,
}

/// One gauge in three winds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CardRow {
    /// The gauge, by its name in files and commands.
    pub gauge: &'static str,
    /// What to measure, in a child's words.
    pub name: String,
    /// The unit where it is not the card's, like "notches".
    pub unit: Option<String>,
    /// Lighter, as forecast, stronger.
    pub values: [CardValue; 3],
    /// The number of last time, if it is another.
    pub was: Option<String>,
    /// What the row rests on: the line under its name.
    #[serde(serialize_with = "in_words")]
    pub rests: Basis,
}

/// A basis as its words.
fn in_words<S: Serializer>(basis: &Basis, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(basis.words())
}

/// A caution in three short sentences.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Caution {
    /// The fact, like "Water 11 °C."
    pub fact: String,
    /// What to do, like "Wetsuit, dry top."
    pub deed: String,
    /// Who decides, like "Coach decides."
    pub who: String,
}

/// What a slip costs today, in boat lengths on today's beat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cost {
    /// The slip, like "Sheet tight in lulls".
    pub name: String,
    /// The lower limit.
    pub low: f64,
    /// The middle.
    pub value: f64,
    /// The upper limit.
    pub high: f64,
}

/// A length to show on a drawing, in metres, with its band.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// The setting as forecast.
    pub value: f64,
    /// Between which lengths it makes no difference.
    pub band: Option<(f64, f64)>,
    /// The settings in lighter and in stronger wind, for the strips.
    pub others: (f64, f64),
}

/// What the drawings measure; what a class lacks is absent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Readings {
    /// Height of the boom end over the top of the transom.
    pub boom_end: Option<Reading>,
    /// From the middle of the rudder to the car, to leeward.
    pub car: Option<Reading>,
    /// From the boom to the sail at the widest.
    pub sail_boom_gap: Option<Reading>,
    /// Along the rail from the pen line to the edge of the board.
    pub board: Option<Reading>,
}

/// One card, both sides.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CardDocument {
    /// The sailor's label.
    pub sailor: String,
    /// The boat's name.
    pub boat: String,
    /// The day, in words.
    pub date: String,
    /// How to sit today.
    pub posture: Posture,
    /// The unit of the wind, like "knots".
    pub wind_unit: String,
    /// The unit of the settings, like "cm".
    pub unit: String,
    /// The length of that unit, m.
    pub unit_length: f64,
    /// Lighter, as forecast, stronger.
    pub columns: [WindColumn; 3],
    /// The settings, the most worth first; the first five are printed, fewer where the side's words run out.
    pub rows: Vec<CardRow>,
    /// What to do in a puff.
    pub puff: String,
    /// What to do in a lull.
    pub lull: String,
    /// A limit that today's wind is over: printed first and large.
    pub over_limit: Option<Caution>,
    /// The other cautions; the first two are printed.
    pub cautions: Vec<Caution>,
    /// How the boat stands while it is measured.
    pub protocol: String,
    /// Where the tape starts, gauge by gauge.
    pub tape_from: String,
    /// The costliest slips; the first three are printed.
    pub costs: Vec<Cost>,
    /// What to do before the windward mark.
    pub before_windward: String,
    /// What to do around the leeward mark.
    pub around_leeward: String,
    /// On what each of the two rests.
    pub deeds_rest: [Basis; 2],
    /// The sailor's own hand.
    pub hand: Hand,
    /// The boat to draw.
    pub shape: BoatShape,
    /// The lengths to draw.
    pub readings: Readings,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The hand of the worked examples in the words: 16 cm, so a finger is 1.5 cm and a thumb 2 cm.
    fn hand() -> Hand {
        Hand::from_length(0.16)
    }

    /// What hands are called, in English.
    fn english() -> BTreeMap<String, String> {
        crate::words::Words::english().unwrap().hand
    }

    #[test]
    fn lengths_are_said_by_hand() {
        let said = [
            (22.0, "hand + 4"),
            (19.0, "hand + 2"),
            (16.0, "hand"),
            (8.0, "½ hand"),
            (6.0, "4 fingers"),
            (3.0, "2 fingers"),
            (1.5, "1 finger"),
            (0.3, "snug"),
            (32.0, "2 hands"),
            (43.0, "2½ hands + 2"),
        ];
        for (cm, words) in said {
            assert_eq!(hand().words(cm / 100.0, &english()), words, "{cm} cm");
        }
    }

    /// What a child finds by hand may be off by three quarters of a finger at most, where half a hand is no whole number of fingers.
    #[test]
    fn a_hand_finds_the_length_again() {
        const WORST_FINGERS: f64 = 0.75;
        let said = english();
        for hand_mm in [130, 145, 160, 175, 190] {
            let hand = Hand::from_length(f64::from(hand_mm) / 1000.0);
            for mm in 0..600 {
                let length = f64::from(mm) / 1000.0;
                let words = hand.words(length, &said).replace("snug", "0 fingers");
                let mut found = 0.0;
                for part in words.split(" + ") {
                    let count = |s: &str| {
                        s.chars().fold(0.0, |n, c| match c.to_digit(10) {
                            Some(d) => n * 10.0 + f64::from(d),
                            None => n + 0.5,
                        })
                    };
                    found += match part.split_once(' ') {
                        Some((n, unit)) if unit.starts_with("hand") => count(n) * hand.length,
                        Some((n, _)) => count(n) * hand.finger,
                        None if part == "hand" => hand.length,
                        None => count(part) * hand.finger,
                    };
                }
                assert!((found - length).abs() <= WORST_FINGERS * hand.finger, "{mm} mm by a hand of {hand_mm}: {words} is {found}");
            }
        }
    }

    #[test]
    fn a_car_goes_by_quarters_and_a_board_by_thumbs() {
        let said = english();
        let car = |place| quarters(place, 0.48, &said);
        assert_eq!(car(0.12), "¼ out");
        assert_eq!(car(0.24), "½ out");
        assert_eq!(car(0.02), "middle");
        assert_eq!(car(0.48), "all out");
        assert_eq!(car(-0.12), "¼ up");
        let board = |length| hand().thumbs(length, &said);
        assert_eq!(board(0.02), "1 thumb");
        assert_eq!(board(-0.03), "1½ thumbs back");
        assert_eq!(board(0.0), "on line");
    }

    #[test]
    fn numbers_are_written_to_the_half() {
        let written = [(19.2, "19"), (1.5, "1½"), (0.4, "½"), (0.1, "0"), (-0.1, "0"), (-2.0, "−2"), (-0.5, "−½"), (f64::NAN, "–")];
        for (number, text) in written {
            assert_eq!(halves(number), text);
        }
        for (number, text) in [(9.6, "9½"), (9.8, "10"), (23.4, "23"), (-12.5, "−13"), (f64::NAN, "–")] {
            assert_eq!(on_tape(number), text);
        }
    }
}
