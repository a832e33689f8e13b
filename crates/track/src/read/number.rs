//! Numbers as files write them, and what a column or element of a given name holds.

use super::points::Points;
use measure::quantity::KNOT;

/// A number; a comma where a point should be is taken and said.
pub(super) fn number(text: &str, points: &mut Points<'_>) -> Option<f64> {
    let text = text.trim();
    if let Ok(value) = text.parse::<f64>() {
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
