//! An effect in a sentence.

use super::Effect;

/// A small number in words, a larger one in figures.
#[must_use]
pub fn counted(number: usize) -> String {
    const WORDS: [&str; 13] = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(number).map_or_else(|| number.to_string(), |&word| word.to_owned())
}

/// "gap from 0 to 1 gained 4 m per 500 m, between -1 and 9; six passes; three more would settle it".
pub(super) fn sentence(effect: &Effect) -> String {
    let unit = |v: f64| {
        if v.abs() < 0.05 {
            "0".to_owned()
        } else if v.abs() < 3.0 {
            format!("{v:.1}")
        } else {
            format!("{v:.0}")
        }
    };
    let worth = match effect.metres_per_500 {
        Some([middle, low, high]) => {
            let (verb, sign) = if middle < 0.0 { ("lost", -1.0) } else { ("gained", 1.0) };
            let (low, high) = if sign < 0.0 { (-high, -low) } else { (low, high) };
            format!("{verb} {} m per 500 m, between {} and {}", unit(middle.abs()), unit(low), unit(high))
        }
        None => format!("gained {:.3} m/s, between {:.3} and {:.3}", effect.vmg_difference_ms, effect.low_ms, effect.high_ms),
    };
    let passes = if effect.passes == 1 { "pass" } else { "passes" };
    let settles = match effect.more_passes {
        Some(0) if effect.low_ms > 0.0 || effect.high_ms < 0.0 => "that settles it".to_owned(),
        Some(0) => "that settles it: no difference that matters".to_owned(),
        Some(more) => format!("{} more would settle it", counted(more)),
        None => "more passes than anybody sails would not settle it: take it as no difference we can find".to_owned(),
    };
    format!("{} from {} to {} {worth}; {} {passes}; {settles}", effect.gauge, effect.from, effect.to, counted(effect.passes))
}
