//! Lengths over the water as they are told: metres, or feet where the reader chose so. Inside all is metres.

use measure::quantity::{FOOT, KNOT, plain};

/// A unit of lengths over the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Long {
    /// Its name after a number.
    pub unit: &'static str,
    /// How long it is, m.
    pub metres: f64,
}

impl Default for Long {
    fn default() -> Self {
        Self::METRES
    }
}

impl Long {
    /// Metres.
    pub const METRES: Self = Self { unit: "m", metres: 1.0 };
    /// Feet.
    pub const FEET: Self = Self { unit: "ft", metres: FOOT };

    /// A number with as many places as it deserves, without its unit.
    #[must_use]
    pub fn figure(self, metres: f64) -> String {
        let value = metres / self.metres;
        if value.abs() < 9.95 { format!("{value:.1}") } else { format!("{value:.0}") }
    }
    /// The same with its unit.
    #[must_use]
    pub fn short(self, metres: f64) -> String {
        format!("{} {}", self.figure(metres), self.unit)
    }
    /// A whole number with its unit.
    #[must_use]
    pub fn whole(self, metres: f64) -> String {
        format!("{:.0} {}", metres / self.metres, self.unit)
    }
    /// A figure to so many places, with a true minus and no sign where nothing is left of it, without its unit.
    #[must_use]
    pub fn signed(self, metres: f64, digits: usize) -> String {
        let text = format!("{:.digits$}", metres / self.metres);
        let zero = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
        if zero { text.trim_start_matches('-').to_owned() } else { text.replace('-', "−") }
    }
    /// What a speed over the water is told in beside these lengths, and its length in m/s: where lengths are feet, knots.
    #[must_use]
    pub fn pace(self) -> (&'static str, f64) {
        if self == Self::METRES { ("m/s", 1.0) } else { ("kn", KNOT) }
    }
    /// Its name in a sentence.
    #[must_use]
    pub fn word(self) -> &'static str {
        if self == Self::METRES { "metres" } else { "feet" }
    }
    /// A height: to a tenth, without noughts, with its unit.
    #[must_use]
    pub fn height(self, metres: f64) -> String {
        format!("{} {}", plain((metres / self.metres * 10.0).round() / 10.0), self.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A foot is 0.3048 m by definition.
    #[test]
    fn lengths_are_told_in_either_unit() {
        assert_eq!((Long::METRES.short(7.24), Long::FEET.short(7.24)), ("7.2 m".to_owned(), "24 ft".to_owned()));
        assert_eq!((Long::METRES.height(10.0), Long::FEET.height(2.0)), ("10 m".to_owned(), "6.6 ft".to_owned()));
        assert_eq!((Long::METRES.whole(400.4), Long::FEET.whole(30.48)), ("400 m".to_owned(), "100 ft".to_owned()));
        assert_eq!((Long::METRES.signed(-0.04, 1), Long::FEET.signed(-3.048, 0)), ("0.0".to_owned(), "−10".to_owned()));
        assert_eq!((Long::METRES.pace().0, Long::FEET.pace()), ("m/s", ("kn", KNOT)));
    }
}
