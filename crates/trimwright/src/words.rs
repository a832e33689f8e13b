//! All the words a child reads, from `data/words`, and how hard they are to read.

pub mod rule;
pub mod school;
pub mod voice;

use std::collections::BTreeMap;

use serde::Deserialize;

/// The words as they are kept.
const ENGLISH: &str = include_str!("../../../data/words/en.toml");

/// All the words a child reads, by what they are about.
#[derive(Clone, Debug, Deserialize)]
pub struct Words {
    /// Heads and marks of the card.
    pub card: BTreeMap<String, String>,
    /// How to sit, by posture.
    pub posture: BTreeMap<String, String>,
    /// What the figure shows, by posture.
    pub posture_alt: BTreeMap<String, String>,
    /// What to measure, by gauge.
    pub gauge: BTreeMap<String, GaugeWords>,
    /// Names in the drawings and what the drawings say.
    pub drawing: BTreeMap<String, String>,
    /// What a hand says: of no length by kind of gauge (`length`, `car`, `board`), and which way a car or a board went.
    pub hand: BTreeMap<String, String>,
    /// What a child can get wrong, by gauge and which way.
    pub slip: BTreeMap<String, String>,
    /// What to do in a puff, by posture, or `off_the_wind`.
    pub puff: BTreeMap<String, String>,
    /// What to do in a lull, by posture, or `off_the_wind`.
    pub lull: BTreeMap<String, String>,
    /// How the sea looks, from the lightest wind up.
    pub sea: Vec<Sea>,
    /// The page of strips.
    pub strips: StripWords,
}

/// A gauge in a child's words.
#[derive(Clone, Debug, Deserialize)]
pub struct GaugeWords {
    /// What to measure.
    pub name: String,
    /// Where the tape starts.
    pub from: String,
}

/// How the sea looks below a wind at ten metres.
#[derive(Clone, Debug, Deserialize)]
pub struct Sea {
    /// The wind, knots.
    pub below_knots: f64,
    /// The look.
    pub look: String,
}

/// The words of the strips page.
#[derive(Clone, Debug, Deserialize, serde::Serialize)]
pub struct StripWords {
    /// How to print it.
    pub how: String,
    /// Names the stick.
    pub boom_end: String,
    /// Names the strip for the car.
    pub car: String,
    /// Names the arc.
    pub board: String,
    /// How to lay the arc.
    pub board_how: String,
    /// How to stand the stick.
    pub stick_how: String,
    /// The same of a stick that does not begin at zero, with {cm}.
    pub stick_begins: String,
    /// How to lay the strip of the car.
    pub car_how: String,
    /// The same of a strip that does not begin at zero, with {cm}.
    pub car_begins: String,
    /// What the jaws mean.
    pub jaws: String,
    /// Names the proof bar.
    pub bar: String,
    /// What to do when the bar is wrong.
    pub bar_wrong: String,
    /// What the bar is, for those who hear it.
    pub bar_alt: String,
    /// What a strip is, for those who hear it.
    pub strip_alt: String,
    /// Lighter, as forecast, stronger.
    pub letters: [String; 3],
}

impl Words {
    /// The English words.
    ///
    /// # Errors
    /// The place in the file, should it be broken.
    pub fn english() -> Result<Self, toml::de::Error> {
        toml::from_str(ENGLISH)
    }

    /// How the sea looks in a wind at ten metres, in knots.
    #[must_use]
    pub fn sea_look(&self, knots: f64) -> &str {
        let sea = self.sea.iter().find(|sea| knots < sea.below_knots).or(self.sea.last());
        sea.map_or("", |sea| &sea.look)
    }
}

/// A word out of a table; a word that is missing shows its key, so that it is seen and put right.
#[must_use]
pub fn word<'a>(table: &'a BTreeMap<String, String>, key: &'a str) -> &'a str {
    table.get(key).map_or(key, String::as_str)
}

/// How many words a text has: tokens between spaces that have a letter.
#[must_use]
pub fn count(text: &str) -> usize {
    text.split_whitespace().filter(|token| token.chars().any(char::is_alphabetic)).count()
}

/// The school grade at which a text is read: 0.39 words a sentence + 11.8 syllables a word - 15.59.
///
/// Source: Kincaid, Fishburne, Rogers and Chissom, Derivation of new readability formulas for Navy enlisted personnel,
/// Research Branch Report 8-75, 1975 (the coefficients from memory). A text without a word has grade 0.
#[must_use]
pub fn reading_grade(text: &str) -> f64 {
    let words: Vec<&str> = text.split(|c: char| !c.is_alphabetic() && c != '\'').filter(|w| !w.is_empty()).collect();
    if words.is_empty() {
        return 0.0;
    }
    let sentences = text.split(['.', '!', '?', ':']).filter(|s| s.chars().any(char::is_alphabetic)).count().max(1);
    let syllables: usize = words.iter().map(|w| syllables(w)).sum();
    let number = words.len() as f64;
    0.39 * number / sentences as f64 + 11.8 * syllables as f64 / number - 15.59
}

/// The syllables of an English word: its groups of vowels, a silent last e left out; at least one.
fn syllables(word: &str) -> usize {
    let word = word.to_lowercase();
    let vowel = |c: char| "aeiouy".contains(c);
    let mut groups = 0;
    let mut before = false;
    for c in word.chars() {
        groups += usize::from(vowel(c) && !before);
        before = vowel(c);
    }
    let silent = word.ends_with('e') && !word.ends_with("le") && groups > 1;
    (groups - usize::from(silent)).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a card says of each caution.
    const CAUTIONS: &str = include_str!("../../../data/cautions.toml");

    /// Every text in the file, one by one.
    fn all(value: &toml::Value, texts: &mut Vec<String>) {
        match value {
            toml::Value::String(text) => texts.push(text.clone()),
            toml::Value::Table(table) => table.values().for_each(|v| all(v, texts)),
            toml::Value::Array(array) => array.iter().for_each(|v| all(v, texts)),
            _ => {}
        }
    }

    /// A sentence of the formula's own: known counts give a known grade.
    #[test]
    fn the_grade_is_the_formula() {
        // Six words of one syllable in one sentence.
        assert!((reading_grade("The cat sat on the mat.") - (0.39 * 6.0 + 11.8 - 15.59)).abs() < 1e-12);
        let counted = ["the", "boom", "ease", "puff", "windward", "transom", "little", "middle", "sailor"].map(syllables);
        assert_eq!(counted, [1, 1, 1, 1, 2, 2, 2, 2, 2]);
    }

    /// A child of nine reads it: grade 4 over all the words, and no sentence above grade 9.
    ///
    /// A short sentence with one long word of the trade has a high grade by this formula, so the single bound is wide.
    #[test]
    fn a_child_can_read_every_word() {
        const ALL: f64 = 4.0;
        const ONE: f64 = 9.0;
        let mut texts = Vec::new();
        all(&toml::from_str(ENGLISH).unwrap(), &mut texts);
        assert!(texts.len() > 80);
        let cautions: toml::Value = toml::from_str(CAUTIONS).unwrap();
        for caution in cautions["caution"].as_array().unwrap() {
            // The three sentences stand in one line on the card, and are read as one text.
            let mut sentences = Vec::new();
            all(&caution["card"], &mut sentences);
            assert_eq!(sentences.len(), 3);
            texts.push(sentences.join(" "));
        }
        let sentences: Vec<String> = texts.into_iter().filter(|t| count(t) >= 4).collect();
        assert!(sentences.len() > 25);
        for text in &sentences {
            let grade = reading_grade(text);
            assert!(grade <= ONE, "grade {grade:.1}: {text}");
        }
        let grade = reading_grade(&sentences.iter().map(|s| format!("{}. ", s.trim_end_matches('.'))).collect::<String>());
        assert!(grade <= ALL, "grade {grade:.2}");
    }

    #[test]
    fn the_sea_roughens_with_the_wind() {
        let words = Words::english().unwrap();
        assert_eq!(words.sea_look(9.0), "few whitecaps");
        assert_eq!(words.sea_look(f64::NAN), "spray, foam in lines");
        assert!(words.sea.windows(2).all(|pair| pair[0].below_knots < pair[1].below_knots));
    }
}
