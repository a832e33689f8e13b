//! The rules of the race in a child's words, from `data/words/rules.toml`.

use serde::{Deserialize, Serialize};

/// The words as they are kept.
const ENGLISH: &str = include_str!("../../../../data/words/rules.toml");

/// One rule, or a few that belong together.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct RuleWords {
    /// As it is asked for.
    pub key: String,
    /// What it is about.
    pub title: String,
    /// Where it stands in the rule book.
    pub rule: String,
    /// What it says.
    pub main: String,
    /// What is right.
    pub good: Vec<String>,
    /// What is wrong.
    pub bad: Vec<String>,
}

#[derive(Deserialize)]
struct File {
    topic: Vec<RuleWords>,
}

/// All of them, in the order to learn them.
///
/// # Errors
/// The place in the file, should it be broken.
pub fn rules() -> Result<Vec<RuleWords>, toml::de::Error> {
    toml::from_str(ENGLISH).map(|file: File| file.topic)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::grade::tests::a_child_reads;
    use crate::words::reading_grade;

    #[test]
    fn a_child_can_read_the_rules() {
        let rules = rules().unwrap();
        let texts = rules.iter().flat_map(|r| std::iter::once(&r.title).chain([&r.main]).chain(&r.good).chain(&r.bad));
        a_child_reads(texts.cloned(), 60);
    }

    /// Where a child looks for the course mark: short words, whatever the angle.
    #[test]
    fn a_child_can_read_the_sight() {
        use measure::angle::DEGREE;
        use regatta::layline::Sight;
        use regatta::sailing::Tack;
        let mut said: Vec<String> = (30..150).map(|d| Sight { from: Tack::Port, angle: [f64::from(d) * DEGREE; 3] }.words()).collect();
        said.dedup();
        assert_eq!(said.len(), 9, "{said:?}");
        for words in said {
            assert!(reading_grade(&words) <= 9.0, "{words}");
        }
    }

    /// Each kind of moving the boat that rule 42 names is told apart from trimming, and every topic has a right and a wrong.
    #[test]
    fn every_rule_has_its_right_and_wrong() {
        let rules = rules().unwrap();
        let moving = rules.iter().find(|r| r.key == "moving").unwrap();
        for word in ["Pumping", "Rocking", "Ooching", "Sculling"] {
            assert!(moving.bad.iter().any(|b| b.starts_with(word)), "{word}");
        }
        assert!(rules.iter().all(|r| !r.good.is_empty() && !r.bad.is_empty() && r.key.chars().all(|c| c.is_ascii_lowercase())));
        let mut keys: Vec<_> = rules.iter().map(|r| r.key.as_str()).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), rules.len());
    }
}
