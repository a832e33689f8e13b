//! A position as people paste it: degrees, minutes and seconds in the usual spellings, or two decimal numbers.
//!
//! `52 30.5 N 5 07.2 E`, `52°30'30"N 5°07'12"E`, `N52 30,5 E005 07,2`, `52.5083, 5.12`, `S 34.9 W 56.1`. A comma between two digits is a decimal
//! comma unless a point is used as one. Without N, S, E or W only two decimal numbers are taken, north and east positive: whole degrees and
//! minutes without a letter could lie anywhere.

use crate::Error;
use measure::Position;

/// More characters than a position has.
const LONGEST: usize = 80;
/// What would do.
const EXAMPLE: &str = "type it like 52 30.5 N 5 07.2 E, or like 52.5083, 5.12";

#[derive(Debug, Clone, Copy, PartialEq)]
enum Token {
    /// A number, whether it was written with decimals, and whether with a sign.
    Number { value: f64, decimals: bool, signed: bool },
    /// N, S, E or W.
    Letter(char),
    /// A comma or semicolon between the two halves.
    Break,
}

/// One half as written: its numbers and its letter.
#[derive(Debug, Default)]
struct Half {
    numbers: Vec<(f64, bool, bool)>,
    letter: Option<char>,
}

/// Reads a position.
///
/// # Errors
/// What was read, and what to type.
pub fn position(text: &str) -> Result<Position, Error> {
    let shown: String = text.trim().chars().filter(|c| !c.is_control()).take(LONGEST).collect();
    let wrong = |found: String| Error::new(format!("\"{shown}\""), found, EXAMPLE);
    if text.trim().chars().count() > LONGEST {
        return Err(wrong("it is too long for one position".to_owned()));
    }
    let tokens = tokens(text.trim()).map_err(&wrong)?;
    let [first, second] = halves(&tokens).map_err(&wrong)?;
    let (mut latitude, mut longitude) = (None, None);
    for (n, half) in [&first, &second].into_iter().enumerate() {
        let (north, degrees) = half.degrees(n).map_err(&wrong)?;
        let place = if north { &mut latitude } else { &mut longitude };
        if place.replace(degrees).is_some() {
            return Err(wrong(format!("both halves say {}", if north { "N or S" } else { "E or W" })));
        }
    }
    let (Some(latitude), Some(longitude)) = (latitude, longitude) else { return Err(wrong("one half is missing".to_owned())) };
    Position::degrees(latitude, longitude).map_err(|e| wrong(e.0))
}

impl Half {
    /// Whether it is the latitude, and its degrees. `n` is 0 for the first half.
    fn degrees(&self, n: usize) -> Result<(bool, f64), String> {
        let north = match self.letter {
            Some(letter) => matches!(letter, 'N' | 'S'),
            None => n == 0,
        };
        let (what, most) = if north { ("latitude", 90.0) } else { ("longitude", 180.0) };
        let mut degrees = 0.0;
        for (i, &(value, decimals, signed)) in self.numbers.iter().enumerate() {
            let name = ["degrees", "minutes", "seconds"][i];
            if signed && (i > 0 || self.letter.is_some()) {
                return Err(format!("the {what} has both a sign and a letter, or a sign inside"));
            }
            if decimals && i + 1 < self.numbers.len() {
                return Err(format!("its {what} has {value} {name} and then a smaller unit; only the last number may have decimals"));
            }
            if i > 0 && value >= 60.0 {
                return Err(format!("its {what} has {value} {name}, and there are only 60"));
            }
            degrees += value / [1.0, 60.0, 3600.0][i];
        }
        if degrees.abs() > most {
            return Err(format!("a {what} of {degrees} degrees; it goes to {most:.0}. Leave a space between degrees and minutes"));
        }
        let south_or_west = matches!(self.letter, Some('S' | 'W'));
        Ok((north, if south_or_west { -degrees } else { degrees }))
    }
}

/// The two halves of a position.
fn halves(tokens: &[Token]) -> Result<[Half; 2], String> {
    let letters = tokens.iter().filter(|t| matches!(t, Token::Letter(_))).count();
    let before = matches!(tokens.first(), Some(Token::Letter(_)));
    let mut halves: Vec<Half> = vec![Half::default()];
    for token in tokens {
        let at = halves.len() - 1;
        match *token {
            Token::Letter(letter) if before => match halves[at].letter {
                None => halves[at].letter = Some(letter),
                Some(_) => halves.push(Half { letter: Some(letter), ..Half::default() }),
            },
            Token::Letter(letter) => {
                halves[at].letter = Some(letter);
                halves.push(Half::default());
            }
            Token::Break if letters == 0 => halves.push(Half::default()),
            Token::Break => {}
            Token::Number { value, decimals, signed } => halves[at].numbers.push((value, decimals, signed)),
        }
    }
    if letters == 0 && halves.len() == 1 && halves[0].numbers.len() == 2 {
        let second = halves[0].numbers.split_off(1);
        halves.push(Half { numbers: second, letter: None });
    }
    halves.retain(|h| !h.numbers.is_empty() || h.letter.is_some());
    if letters == 0 && halves.iter().any(|h| h.numbers.len() > 1 || h.numbers.iter().any(|n| !n.1)) {
        return Err("it does not say N or S, E or W".to_owned());
    }
    if letters == 1 {
        return Err("only one half says N, S, E or W".to_owned());
    }
    if halves.iter().any(|h| h.numbers.is_empty()) {
        return Err("a letter stands without its number".to_owned());
    }
    if halves.iter().any(|h| h.numbers.len() > 3) {
        return Err("one half has more than degrees, minutes and seconds".to_owned());
    }
    <[Half; 2]>::try_from(halves).map_err(|h| format!("it has {} where a latitude and a longitude are wanted", counted(h.len())))
}

fn counted(n: usize) -> String {
    match n {
        0 => "nothing".to_owned(),
        1 => "one number".to_owned(),
        n => format!("{n} parts"),
    }
}

fn tokens(text: &str) -> Result<Vec<Token>, String> {
    let chars: Vec<char> = text.chars().collect();
    let digit = |i: usize| chars.get(i).is_some_and(char::is_ascii_digit);
    // A point between digits makes every comma a mere break.
    let point = (1..chars.len()).any(|i| chars[i] == '.' && digit(i - 1) && digit(i + 1));
    let mut tokens = Vec::new();
    let mut i = 0;
    while i < chars.len() {
        let c = chars[i];
        match c {
            '0'..='9' => {
                let start = i;
                let mut number = String::new();
                let mut decimals = false;
                while digit(i) || (!decimals && digit(i + 1) && (chars[i] == '.' || (chars[i] == ',' && !point))) {
                    let decimal = !chars[i].is_ascii_digit();
                    decimals |= decimal;
                    number.push(if decimal { '.' } else { chars[i] });
                    i += 1;
                }
                let sign = if start > 0 && matches!(chars[start - 1], '-' | '\u{2212}') { -1.0 } else { 1.0 };
                let signed = start > 0 && matches!(chars[start - 1], '-' | '\u{2212}' | '+');
                let value: f64 = number.parse().map_err(|_| format!("{number} is no number"))?;
                tokens.push(Token::Number { value: sign * value, decimals, signed });
                continue;
            }
            '-' | '\u{2212}' | '+' if digit(i + 1) => {}
            ',' | ';' | '/' | '|' => tokens.push(Token::Break),
            ' ' | '\t' | '°' | 'º' | '˚' | '*' | '\'' | '′' | '’' | '‘' | '"' | '″' | '”' | '“' | '.' | ':' | '_' | '\u{a0}' =>
                {}
            letter if letter.is_alphabetic() => {
                let word: String = chars[i..].iter().take_while(|c| c.is_alphabetic()).collect();
                i += word.chars().count();
                match word.to_uppercase().as_str() {
                    "N" | "NORTH" => tokens.push(Token::Letter('N')),
                    "S" | "SOUTH" => tokens.push(Token::Letter('S')),
                    "E" | "EAST" => tokens.push(Token::Letter('E')),
                    "W" | "WEST" => tokens.push(Token::Letter('W')),
                    "D" | "DEG" | "M" | "MIN" | "SEC" | "LAT" | "LATITUDE" | "LON" | "LONG" | "LONGITUDE" => {}
                    "O" => return Err("O is west in some languages and east in others: write E or W".to_owned()),
                    _ => return Err(format!("\"{word}\" is no part of a position")),
                }
                continue;
            }
            other => return Err(format!("\"{other}\" is no part of a position")),
        }
        i += 1;
    }
    Ok(tokens)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Printed to a thousandth of a minute: 2 m.
    const PRINTED: f64 = 1e-9;

    #[test]
    fn the_usual_spellings() {
        for text in [
            "52 30.5 N 5 07.2 E",
            "52°30'30\"N 5°07'12\"E",
            "N52 30,5 E005 07,2",
            "52.508333333333, 5.12",
            "52,508333333333 5,12",
            "52,508333333333; 5,12",
            "5° 07.2' E, 52° 30.5' N",
            "52° 30.5′ n  005° 07.2′ e",
            "N 52°30.5' E 5°07.2'",
            "Lat 52 30.5 N, Long 5 07.2 E",
            "52 30,5 N, 5 07,2 E",
            "52d30m30 N 5d07m12 E",
            "52:30.5N 5:07.2E",
            "+52.508333333333 +5.12",
        ] {
            let found = position(text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!((found.latitude() - 52.508_333_333_333).abs() < PRINTED, "{text}: {}", found.latitude());
            assert!((found.longitude() - 5.12).abs() < PRINTED, "{text}: {}", found.longitude());
        }
        for text in ["34 54 S 56 10.5 W", "S34 54.0 W56 10.5", "-34.9, -56.175", "\u{2212}34.9 \u{2212}56.175"] {
            let found = position(text).unwrap();
            assert!((found.latitude() + 34.9).abs() < PRINTED && (found.longitude() + 56.175).abs() < PRINTED, "{text}");
        }
    }

    #[test]
    fn what_is_no_position_says_what_was_read_and_what_to_type() {
        for (text, word) in [
            ("", "nothing"),
            ("52 30.5 5 07.2", "N or S, E or W"),
            ("52 5", "N or S, E or W"),
            ("52 30.5 N 5 07.2", "only one half"),
            ("52 61.5 N 5 07.2 E", "61.5 minutes"),
            ("52.5 30 N 5 07.2 E", "only the last"),
            ("95 30.5 N 5 07.2 E", "95.5"),
            ("5230.5 N 507.2 E", "space between"),
            ("52 30.5 N 5 07.2 N", "both halves"),
            ("-52 30.5 N 5 07.2 E", "sign"),
            ("52 30.5 N 5 07.2 O", "O is west"),
            ("52 30 30 5 N 5 07.2 E", "more than degrees"),
            ("by the pier", "\"by\""),
            ("52 30.5 N 5 07.2 E 3 E", "3 parts"),
        ] {
            let said = position(text).unwrap_err().to_string();
            assert!(said.contains(word) && said.contains("type it like"), "{text}: {said}");
        }
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(lat in -89.9..89.9f64, lon in -179.9..179.9f64) {
            let half = |v: f64, letters: [char; 2]| {
                let m = v.abs() * 60.0;
                format!("{} {:.4} {}", (m / 60.0).floor(), m % 60.0, letters[usize::from(v < 0.0)])
            };
            let text = format!("{} {}", half(lat, ['N', 'S']), half(lon, ['E', 'W']));
            // A minute printed as 60.0000 is rightly refused.
            if !text.contains("60.0000") {
                let found = position(&text).unwrap();
                prop_assert!((found.latitude() - lat).abs() < 1e-5 && (found.longitude() - lon).abs() < 1e-5);
            }
        }

        #[test]
        fn no_text_breaks_it(text in "\\PC{0,60}|[0-9NSEW°' .,+-]{0,40}") {
            if let Ok(found) = position(&text) {
                prop_assert!(found.latitude().abs() <= 90.0);
            }
        }
    }
}
