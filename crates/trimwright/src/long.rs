//! Lengths over the water as they are told: metres, or feet where the reader chose so. Inside all is metres.

use measure::quantity::{FOOT, plain};

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
    }
}
