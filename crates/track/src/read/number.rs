//! Numbers as files write them, and what a column or element of a given name holds.

use super::points::Points;
use measure::quantity::KNOT;

/// Powers of ten by which [`plain`] divides; doubles hold them exactly.
const TENS: [f64; 16] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
/// So many digits are a whole number that a double holds exactly.
const DIGITS: usize = 15;

/// A number as the standard library reads it, to the last bit.
pub(super) fn decimal(text: &str) -> Option<f64> {
    plain(text.as_bytes()).or_else(|| text.parse().ok())
}

/// Digits with a point among them, as nearly every number of a track is written: whole digits over a power of ten, both exact, so that it
/// is rounded once (Clinger, How to read floating point numbers accurately, 1990), in a third of the time. None of anything else.
fn plain(text: &[u8]) -> Option<f64> {
    let (text, minus) = match text {
        [b'-', rest @ ..] => (rest, true),
        all => (all, false),
    };
    if text.len() > DIGITS + 1 {
        return None;
    }
    let (mut whole, mut digits, mut point) = (0_u64, 0, None);
    for byte in text {
        match byte {
            b'0'..=b'9' => {
                whole = whole * 10 + u64::from(byte - b'0');
                digits += 1;
            }
            b'.' if point.is_none() => point = Some(digits),
            _ => return None,
        }
    }
    if digits == 0 || digits > DIGITS {
        return None;
    }
    let value = whole as f64 / TENS[point.map_or(0, |point| digits - point)];
    Some(if minus { -value } else { value })
}

/// A number; a comma where a point should be is taken and said.
pub(super) fn number(text: &str, points: &mut Points<'_>) -> Option<f64> {
    let text = text.trim();
    if let Some(value) = decimal(text) {
        return Some(value).filter(|v| v.is_finite());
    }
    if text.bytes().filter(|b| *b == b',').count() == 1 && !text.contains('.') {
        let value = text.replace(',', ".").parse::<f64>().ok().filter(|v| v.is_finite())?;
        points.note("its numbers have decimal commas: read as decimal points");
        return Some(value);
    }
    None
}

/// What a name says that it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Holds {
    Latitude,
    Longitude,
    /// Date and time, or time alone; whether the name says UTC.
    Time {
        utc: bool,
    },
    Date,
    /// Metres a second for one unit of it, where the name tells.
    Speed(Option<f64>),
    Course,
    /// Which boat.
    Boat,
}

/// Units of speed by their common names, m/s.
const SPEEDS: [(&[&str], f64); 4] = [
    (&["kn", "kt", "kts", "knot", "knots"], KNOT),
    (&["ms", "mps", "m/s", "m", "ms-1"], 1.0),
    (&["kmh", "kph", "km/h", "km"], 1.0 / 3.6),
    // International mile, 1609.344 m, exact.
    (&["mph", "mi/h"], 1609.344 / 3600.0),
];

/// What a column or element holds, by its name: "Latitude (deg)", "time_utc", "sog_kn", "Speed [km/h]".
pub(super) fn holds(name: &str) -> Option<Holds> {
    let name = name.trim().to_lowercase();
    let words: Vec<&str> = name.split(|c: char| !(c.is_alphanumeric() || c == '/' || c == '-')).filter(|w| !w.is_empty()).collect();
    let any = |list: &[&str]| words.iter().any(|w| list.contains(w));
    let utc = any(&["utc", "gmt", "zulu", "z"]);
    let unit = SPEEDS.iter().find(|(names, _)| any(names)).map(|(_, si)| *si);
    let first = *words.first()?;
    if any(&["lat", "latitude", "breite"]) {
        Some(Holds::Latitude)
    } else if any(&["lon", "lng", "long", "longitude", "laenge", "länge"]) {
        Some(Holds::Longitude)
    } else if any(&["sog", "speed", "velocity", "geschwindigkeit", "vitesse"]) {
        Some(Holds::Speed(unit))
    } else if any(&["cog", "course", "kurs"]) || (words.len() == 1 && matches!(first, "heading" | "track" | "bearing")) {
        Some(Holds::Course)
    } else if any(&["datetime", "timestamp", "time", "when", "zeit", "uhrzeit", "heure"]) || first == "utc" {
        Some(Holds::Time { utc })
    } else if any(&["date", "day", "datum"]) {
        Some(Holds::Date)
    } else if any(&["boat", "sailor", "device", "tracker", "vessel"]) {
        Some(Holds::Boat)
    } else {
        None
    }
}

/// What the names met so far hold, as a file uses the same few again and again.
#[derive(Debug, Default)]
pub(super) struct Names(Vec<(String, Option<Holds>)>);

impl Names {
    /// What an element of this name holds.
    pub(super) fn holds(&mut self, name: &str) -> Option<Holds> {
        if let Some((_, known)) = self.0.iter().find(|(seen, _)| seen == name) {
            return *known;
        }
        let found = holds(name);
        if self.0.len() < 32 {
            self.0.push((name.to_owned(), found));
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Numbers of any shape, and what is none.
        #[test]
        fn a_number_is_read_as_the_standard_library_reads_it(text in "-?[0-9]{0,9}[.]?[0-9]{0,9}|[-+.0-9eE_ ]{0,12}", value in any::<f64>()) {
            for text in [text, format!("{value}"), format!("{value:e}")] {
                prop_assert_eq!(decimal(&text).map(f64::to_bits), text.parse().ok().map(f64::to_bits), "{}", text);
            }
        }
    }

    #[test]
    fn names() {
        assert_eq!(holds("Latitude (deg)"), Some(Holds::Latitude));
        assert_eq!(holds("time_utc"), Some(Holds::Time { utc: true }));
        assert_eq!(holds("sog_kn"), Some(Holds::Speed(Some(KNOT))));
        assert_eq!(holds("Speed [km/h]"), Some(Holds::Speed(Some(1.0 / 3.6))));
        assert_eq!(holds("Speed"), Some(Holds::Speed(None)));
        assert_eq!(holds("No"), None);
        assert_eq!(holds("Altitude"), None);
    }
}
