//! A cell of a sheet with a column for each race: a place, a code, or both, in brackets where the score was left out.

use rust_decimal::Decimal;

use super::code::{Code, Score};
use super::decimal::points;
use super::race::{Decided, Finish};

/// What a cell says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) finish: Finish,
    /// Where it can be read in two ways: how it was.
    pub(super) told: Option<String>,
    /// Points beside a code were not read.
    pub(super) points_beside: bool,
    /// It stands in brackets.
    pub(super) bracketed: bool,
}

/// Reads a place, a code, or both with or without brackets; `boats` are entered. Else what was found and what would do.
pub(super) fn cell(text: &str, boats: usize) -> Result<Cell, (String, String)> {
    let short: String = text.chars().take(40).collect();
    let lost = || {
        (
            format!("{short:?} is neither a place nor a code"),
            "write a place like 3, a code like DNF, or both like 7 RET; nothing where she has no result".to_owned(),
        )
    };
    let (bare, bracketed) = bared(text).ok_or_else(lost)?;
    let parts: Vec<&str> = bare.split_whitespace().collect();
    let number = |text: &str| points(text).filter(|_| text.starts_with(|c: char| c.is_ascii_digit()));
    let whole = |text: &str| number(text).filter(Decimal::is_integer).and_then(|n| u32::try_from(n).ok()).filter(|&n| n > 0);
    let code = |text: &str| {
        Code::of(text).ok_or_else(|| {
            let letters = text.chars().all(|c| c.is_ascii_alphabetic());
            if letters {
                (
                    format!("{short:?} is not a scoring code"),
                    format!("the nearest is {}; known are {}", Code::nearest(text), Code::ALL.map(Code::letters).join(" ")),
                )
            } else {
                lost()
            }
        })
    };
    let plain = |place: Option<u32>, code: Option<Code>, decided: Option<Decided>| Cell {
        finish: Finish { place, code, decided },
        told: None,
        points_beside: false,
        bracketed,
    };
    let read = match parts.as_slice() {
        [one] if number(one).is_some() => match whole(one) {
            Some(place) => plain(Some(place), None, None),
            None => {
                return Err((
                    format!("{short:?} is not a place"),
                    "a place is a whole number from 1; boats that tie have the same one, like 2 and 2".to_owned(),
                ));
            }
        },
        [one] => {
            let code = code(one)?;
            let mut cell = plain(None, Some(code), (code == Code::Rdg).then_some(Decided::MeanOfOthers));
            if code == Code::Rdg {
                cell.told = Some("redress without points was read as the average of her other races (A9(a)); write \"RDG before\" for the races before, or the points decided, like \"5.6 RDG\"".to_owned());
            }
            cell
        }
        [one, average] if Code::of(one) == Some(Code::Rdg) && average.eq_ignore_ascii_case("others") => {
            plain(None, Some(Code::Rdg), Some(Decided::MeanOfOthers))
        }
        [one, average] if Code::of(one) == Some(Code::Rdg) && average.eq_ignore_ascii_case("before") => {
            plain(None, Some(Code::Rdg), Some(Decided::MeanBefore))
        }
        [a, b] => {
            let first = number(a).is_some();
            let (figure, letters) = if first { (*a, *b) } else { (*b, *a) };
            let (Some(value), code) = (number(figure), code(letters)?) else { return Err(lost()) };
            let treatment = code.treatment();
            match treatment.score {
                Score::Decided => {
                    let mut cell = plain(None, Some(code), Some(Decided::Points(value)));
                    cell.told = (first && whole(figure).is_some())
                        .then(|| format!("{short:?} was read as {} points decided for her, and not as a place", value.normalize()));
                    cell
                }
                Score::Penalty => match whole(figure).filter(|&place| first && place as usize <= boats) {
                    Some(place) => {
                        let mut cell = plain(Some(place), Some(code), None);
                        cell.told = Some(format!(
                            "{short:?} was read as place {place}, and the penalty is added to it; if it is in the figure already, write the place she finished in"
                        ));
                        cell
                    }
                    None => {
                        return Err((
                            format!("{short:?} does not say in which place she finished"),
                            format!("write it before the code, like 5 {code}; the penalty is added to it"),
                        ));
                    }
                },
                Score::EntriesPlusOne | Score::LastPlusOne => {
                    let place = whole(figure).filter(|&place| first && treatment.may_have_place && place as usize <= boats);
                    Cell { points_beside: place.is_none(), ..plain(place, Some(code), None) }
                }
            }
        }
        _ => return Err(lost()),
    };
    read.finish.check().map_err(|(found, remedy)| (format!("{short:?}: {found}"), remedy))?;
    Ok(read)
}

/// A text without its brackets, a blank where they part two things, and whether it all stood in them; `None` where they do not pair.
fn bared(text: &str) -> Option<(String, bool)> {
    let mut open = Vec::new();
    let mut bare = String::with_capacity(text.len());
    let mut outside = false;
    let mut before = ' ';
    for letter in text.chars() {
        match letter {
            '(' | '[' => {
                open.push(letter);
                bare.push(' ');
            }
            ')' | ']' => {
                if open.pop() != Some(if letter == ')' { '(' } else { '[' }) {
                    return None;
                }
                bare.push(' ');
            }
            _ => {
                outside |= open.is_empty() && !letter.is_whitespace();
                // "13DNF" and "DNF13" are two things.
                if (before.is_ascii_digit() && letter.is_ascii_alphabetic()) || (before.is_ascii_alphabetic() && letter.is_ascii_digit()) {
                    bare.push(' ');
                }
                bare.push(letter);
            }
        }
        before = letter;
    }
    open.is_empty().then_some((bare, !outside))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn says(text: &str) -> Result<String, String> {
        cell(text, 12).map(|cell| cell.finish.words()).map_err(|(found, remedy)| format!("{found}; {remedy}"))
    }

    #[test]
    fn cells_as_sheets_have_them() {
        for (text, words) in [
            ("3", "place 3"),
            ("3.0", "place 3"),
            ("3,0", "place 3"),
            ("(7)", "place 7"),
            ("[7]", "place 7"),
            ("( 7 )", "place 7"),
            ("DNF", "DNF"),
            ("dnf", "DNF"),
            ("(DNF)", "DNF"),
            ("DNF(13)", "DNF"),
            ("(DNF (13))", "DNF"),
            ("13 DNF", "DNF"),
            ("13.0 (DNF)", "DNF"),
            ("(13DNF)", "DNF"),
            ("7 RET", "place 7 with RET"),
            ("(7 RET)", "place 7 with RET"),
            ("RET (7)", "RET"),
            ("13 OCS", "OCS"),
            ("5 SCP", "place 5 with SCP"),
            ("5.6 RDG", "RDG 5.6"),
            ("RDG (5.6)", "RDG 5.6"),
            ("RDG before", "RDG"),
            ("9 DPI", "DPI 9"),
        ] {
            assert_eq!(says(text).as_deref(), Ok(words), "{text}");
        }
        for (text, words) in [
            ("DNX", "the nearest is DNC"),
            ("2.5", "is not a place"),
            ("0", "is not a place"),
            ("-7", "neither a place nor a code"),
            ("-", "neither a place nor a code"),
            ("(7", "neither a place nor a code"),
            ("7)", "neither a place nor a code"),
            ("(7]", "neither a place nor a code"),
            ("()", "neither a place nor a code"),
            ("3 4", "neither a place nor a code"),
            ("7*", "neither a place nor a code"),
            ("7.6 SCP", "does not say in which place she finished"),
            ("SCP (7)", "does not say in which place she finished"),
            ("SCP", "without a place"),
            ("DPI", "without points"),
            ("DNF DNF", "neither a place nor a code"),
            ("99999999999999999999999999999999999999999", "neither a place nor a code"),
        ] {
            let told = says(text).expect_err(text);
            assert!(told.contains(words), "{text}: {told}");
        }
    }
}
