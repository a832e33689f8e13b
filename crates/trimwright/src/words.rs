//! All the words a child reads, from `data/words`.

mod grade;
pub mod rule;
pub mod school;
pub mod voice;

use std::collections::BTreeMap;

use advice::caution::Sentences;
use jiff::civil::Date;
use serde::Deserialize;

pub use grade::{count, reading_grade};

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
    /// What a hand says: hands, fingers and thumbs; of no length by kind of gauge (`length`, `car`, `board`); which way a car or a board went.
    pub hand: BTreeMap<String, String>,
    /// Units as they are said.
    pub unit: BTreeMap<String, String>,
    /// Days as they are said.
    pub date: DateWords,
    /// What the card says of a caution, by its key, where the language is not that of the cautions.
    #[serde(default)]
    pub caution: BTreeMap<String, Sentences>,
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

/// How a day is said.
#[derive(Clone, Debug, Deserialize)]
pub struct DateWords {
    /// With {day} and {month}.
    pub form: String,
    /// The months.
    pub months: [String; 12],
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

    /// A day without its year.
    #[must_use]
    pub fn day(&self, date: Date) -> String {
        let month = usize::from(date.month().unsigned_abs()).checked_sub(1).and_then(|k| self.date.months.get(k));
        self.date.form.replace("{day}", &date.day().to_string()).replace("{month}", month.map_or("", String::as_str))
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

#[cfg(test)]
mod tests {
    use super::grade::tests::{a_child_reads, texts};
    use super::*;

    /// What a card says of each caution.
    const CAUTIONS: &str = include_str!("../../../data/cautions.toml");

    #[test]
    fn a_child_can_read_every_word() {
        // A card tells fact, deed and who decides in one line.
        let cautions: toml::Value = toml::from_str(CAUTIONS).unwrap();
        let said = |caution: &toml::Value| ["fact", "deed", "who"].map(|part| caution["card"][part].as_str().unwrap().to_owned()).join(" ");
        let cautions = cautions["caution"].as_array().unwrap().iter().map(said);
        a_child_reads(texts(ENGLISH).into_iter().map(|t| t.1).chain(cautions), 25);
    }

    #[test]
    fn the_sea_roughens_with_the_wind() {
        let words = Words::english().unwrap();
        assert_eq!(words.sea_look(9.0), "few whitecaps");
        assert_eq!(words.sea_look(f64::NAN), "spray, foam in lines");
        assert!(words.sea.windows(2).all(|pair| pair[0].below_knots < pair[1].below_knots));
    }
}
