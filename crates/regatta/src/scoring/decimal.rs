//! Points as people write them and as machines read them: exact inside, a plain number at the door.

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::Serializer;

/// More points than any race can give; above it a sum of a season could leave the range of the decimals. Assumed.
const MOST: u32 = 100_000;

/// Reads points, with a point or a comma before the decimals. `None` when it is no number from 0 to [`MOST`].
pub(crate) fn points(text: &str) -> Option<Decimal> {
    let text = text.trim();
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',');
    let value = text.replace(',', ".").parse::<Decimal>().ok().filter(|_| plain)?;
    (value <= Decimal::from(MOST)).then_some(value)
}

/// Rounds to a step of one or of a tenth, half up. Points are never below zero, so away from zero is up.
pub(crate) fn half_up(value: Decimal, decimals: u32) -> Decimal {
    value.round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero)
}

/// Without zeros at the end: `7`, `2.5`.
pub(crate) fn words(value: Decimal) -> String {
    value.normalize().to_string()
}

/// Writes a number: whole where it is whole, else the shortest decimal that reads back as the same.
pub(crate) fn number<S: Serializer>(value: &Decimal, to: S) -> Result<S::Ok, S::Error> {
    match value.normalize() {
        whole if whole.is_integer() => to.serialize_i64(whole.to_i64().unwrap_or_default()),
        part => to.serialize_f64(part.to_f64().unwrap_or_default()),
    }
}

/// The same for a pair, before and after.
pub(crate) fn pair<S: Serializer>(value: &(Option<Decimal>, Option<Decimal>), to: S) -> Result<S::Ok, S::Error> {
    use serde::ser::SerializeTuple;
    struct Number(Decimal);
    impl serde::Serialize for Number {
        fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
            number(&self.0, to)
        }
    }
    let mut tuple = to.serialize_tuple(2)?;
    tuple.serialize_element(&value.0.map(Number))?;
    tuple.serialize_element(&value.1.map(Number))?;
    tuple.end()
}
