//! Physical quantities: one newtype each, named constructors, and a range declared once.
//!
//! The range makes the check, the message ("a mass of 35000 kg is outside 0 to 500 kg; check the unit")
//! and the random test input.

use core::fmt;

/// Standard gravity, m/s2. Source: 3rd CGPM (1901), exact by definition.
pub const GRAVITY: f64 = 9.806_65;
/// One knot in m/s. Source: one nautical mile of 1852 m an hour, exact.
pub const KNOT: f64 = 1852.0 / 3600.0;
/// One international avoirdupois pound in kg. Source: international yard and pound agreement, 1959, exact.
pub const POUND: f64 = 0.453_592_37;
/// One international inch in m. Source: international yard and pound agreement, 1959, exact.
pub const INCH: f64 = 0.025_4;
/// One international foot in m. Source: international yard and pound agreement, 1959, exact.
pub const FOOT: f64 = 0.304_8;

/// Why a number was refused: it is not finite, its unit is unknown, or it is outside the declared range.
#[derive(Debug, Clone, PartialEq)]
pub struct OutOfRange(pub String);

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for OutOfRange {}

/// A unit a person may write: its spellings, and the factor and offset that take it to SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// Accepted spellings, the usual one first.
    pub names: &'static [&'static str],
    /// SI value of one unit.
    pub factor: f64,
    /// SI value of zero (only temperatures use it).
    pub offset: f64,
}

/// The range declared for a quantity, in its first unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What it is, with its article: "a mass".
    pub what: &'static str,
    /// Lowest value allowed, SI.
    pub low: f64,
    /// Highest value allowed, SI.
    pub high: f64,
    /// Units accepted; messages use the first.
    pub units: &'static [Unit],
}

/// Writes a number the short way: up to four significant decimals, no trailing zeros.
#[must_use]
pub fn plain(value: f64) -> String {
    if !value.is_finite() {
        return "not a number".to_owned();
    }
    let digits = if value.abs() >= 1000.0 {
        0
    } else if value.abs() >= 100.0 {
        1
    } else if value.abs() >= 1.0 {
        2
    } else {
        4
    };
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

impl Range {
    /// Checks an SI value against the range.
    ///
    /// # Errors
    /// A sentence naming the quantity, the value and the range in the first unit.
    pub fn check(&self, si: f64) -> Result<f64, OutOfRange> {
        let unit = self.units[0];
        if !si.is_finite() {
            return Err(OutOfRange(format!(
                "{} must be a number with its unit, like \"{} {}\"",
                self.what,
                plain(((self.low + self.high) / 2.0 - unit.offset) / unit.factor),
                unit.names[0]
            )));
        }
        if si < self.low || si > self.high {
            let shown = |v: f64| plain((v - unit.offset) / unit.factor);
            return Err(OutOfRange(format!(
                "{} of {} {u} is outside {} to {} {u}; check the unit",
                self.what,
                shown(si),
                shown(self.low),
                shown(self.high),
                u = unit.names[0]
            )));
        }
        Ok(si)
    }

    /// Reads "2.45 m", "95 lb", "12,5 cm" into SI. A number without a unit is refused: the message says which units will do.
    ///
    /// # Errors
    /// A sentence saying what was found and what would do.
    pub fn parse(&self, text: &str) -> Result<f64, OutOfRange> {
        let text = text.trim();
        let split = text
            .char_indices()
            .find(|&(i, c)| {
                !(c.is_ascii_digit()
                    || matches!(c, '.' | ',' | '+' | '-' | '\u{2212}')
                    || (matches!(c, 'e' | 'E')
                        && text[i + c.len_utf8()..].starts_with(|d: char| d.is_ascii_digit() || matches!(d, '-' | '+'))))
            })
            .map_or(text.len(), |(i, _)| i);
        let (number, unit) = text.split_at(split);
        let unit = unit.trim();
        let accepted = || self.units.iter().map(|u| u.names[0]).collect::<Vec<_>>().join(", ");
        let value: f64 = number
            .trim()
            .replace('\u{2212}', "-")
            .replace(',', ".")
            .parse()
            .map_err(|_| OutOfRange(format!("\"{}\" is not {}: write a number and a unit ({})", clip(text), self.what, accepted())))?;
        if unit.is_empty() {
            return Err(OutOfRange(format!("{} of {} has no unit: write one of {}", self.what, plain(value), accepted())));
        }
        let found = self.units.iter().find(|u| u.names.contains(&unit)).ok_or_else(|| {
            OutOfRange(format!(
                "\"{}\" is not a unit of {}: write one of {}",
                clip(unit),
                self.what.trim_start_matches("a ").trim_start_matches("an "),
                accepted()
            ))
        })?;
        self.check(value * found.factor + found.offset)
    }
}

fn clip(text: &str) -> String {
    let short: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $what:literal, $low:expr, $high:expr,
     $( $make:ident, $take:ident, [$($spell:literal),+], $factor:expr, $offset:expr );+ $(;)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// The range, declared once.
            pub const RANGE: Range = Range {
                what: $what, low: $low, high: $high,
                units: &[$(Unit { names: &[$($spell),+], factor: $factor, offset: $offset }),+],
            };
            $(
                #[doc = concat!("Makes it from a value in `", stringify!($take), "`, unchecked: for constants and computed values.")]
                #[must_use]
                pub const fn $make(value: f64) -> Self { Self(value * $factor + $offset) }
                #[doc = concat!("The value in `", stringify!($take), "`.")]
                #[must_use]
                pub const fn $take(self) -> f64 { (self.0 - $offset) / $factor }
            )+
            /// The SI value.
            #[must_use]
            pub const fn si(self) -> f64 { self.0 }
            /// Makes it from an SI value after checking the range.
            ///
            /// # Errors
            /// When the value is not finite or outside the range.
            pub fn checked(si: f64) -> Result<Self, OutOfRange> { Self::RANGE.check(si).map(Self) }
            /// Reads text with a unit.
            ///
            /// # Errors
            /// When the number, the unit or the range is wrong; the message says what would do.
            pub fn parse(text: &str) -> Result<Self, OutOfRange> { Self::RANGE.parse(text).map(Self) }
        }
    };
}

quantity!(
    /// A length or height, m.
    Length, "a length", -1000.0, 1.0e6,
    metres, in_metres, ["m"], 1.0, 0.0;
    centimetres, in_centimetres, ["cm"], 0.01, 0.0;
    millimetres, in_millimetres, ["mm"], 0.001, 0.0;
    inches, in_inches, ["in", "\""], INCH, 0.0;
    feet, in_feet, ["ft", "'"], FOOT, 0.0;
);
quantity!(
    /// An area, m2.
    Area, "an area", 0.0, 1.0e4,
    square_metres, in_square_metres, ["m2", "m²"], 1.0, 0.0;
    square_feet, in_square_feet, ["ft2", "sq ft"], FOOT * FOOT, 0.0;
);
quantity!(
    /// A mass, kg.
    Mass, "a mass", 0.0, 500.0,
    kilograms, in_kilograms, ["kg"], 1.0, 0.0;
    grams, in_grams, ["g"], 0.001, 0.0;
    pounds, in_pounds, ["lb", "lbs"], POUND, 0.0;
);
quantity!(
    /// A speed, m/s.
    Speed, "a speed", 0.0, 60.0,
    metres_per_second, in_metres_per_second, ["m/s"], 1.0, 0.0;
    knots, in_knots, ["kn", "kt", "knots"], KNOT, 0.0;
    kilometres_per_hour, in_kilometres_per_hour, ["km/h"], 1.0 / 3.6, 0.0;
    miles_per_hour, in_miles_per_hour, ["mph"], 0.447_04, 0.0;
);
quantity!(
    /// A force, N.
    Force, "a force", -1.0e5, 1.0e5,
    newtons, in_newtons, ["N"], 1.0, 0.0;
    kilogram_force, in_kilogram_force, ["kgf"], GRAVITY, 0.0;
    pound_force, in_pound_force, ["lbf"], POUND * GRAVITY, 0.0;
);
quantity!(
    /// A water or air temperature, K inside, degrees Celsius at the door.
    Temperature, "a temperature", 263.15, 323.15,
    celsius, in_celsius, ["°C", "C", "degC"], 1.0, 273.15;
    fahrenheit, in_fahrenheit, ["°F", "F", "degF"], 5.0 / 9.0, 273.15 - 32.0 * 5.0 / 9.0;
);

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_what_people_write() {
        assert!((Length::parse("2.45 m").unwrap().si() - 2.45).abs() < 1e-12);
        assert!((Mass::parse("95 lb").unwrap().in_kilograms() - 43.091_275_15).abs() < 1e-8);
        assert!((Length::parse("12,5cm").unwrap().si() - 0.125).abs() < 1e-12);
        assert!((Speed::parse("10 kn").unwrap().si() - 5.144_444).abs() < 1e-5);
        assert!((Length::parse("1e-1 m").unwrap().si() - 0.1).abs() < 1e-12);
        assert!((Temperature::parse("50 °F").unwrap().in_celsius() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn says_what_would_do() {
        assert_eq!(Mass::parse("35000 kg").unwrap_err().0, "a mass of 35000 kg is outside 0 to 500 kg; check the unit");
        assert!(Mass::parse("35").unwrap_err().0.contains("has no unit"));
        assert!(Mass::parse("35 stone").unwrap_err().0.contains("not a unit"));
        assert!(Mass::parse("").is_err());
        assert!(Mass::parse("nan kg").is_err());
        assert!(Mass::checked(f64::NAN).is_err());
        assert!(Length::parse("🦆 m").is_err());
    }

    proptest! {
        #[test]
        fn units_round_trip(v in 0.0..500.0f64) {
            prop_assert!((Mass::pounds(Mass::kilograms(v).in_pounds()).in_kilograms() - v).abs() < 1e-9);
            prop_assert!((Speed::knots(Speed::metres_per_second(v).in_knots()).si() - v).abs() < 1e-9);
            prop_assert!((Length::inches(Length::metres(v).in_inches()).si() - v).abs() < 1e-9);
        }

        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,60}") {
            let _ = Length::parse(&text);
            let _ = Mass::parse(&text);
            let _ = Temperature::parse(&text);
        }
    }
}
