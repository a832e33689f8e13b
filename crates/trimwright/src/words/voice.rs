//! Three short questions after sailing, from `data/words/voice.toml`.

use serde::Deserialize;

/// The words as they are kept.
const ENGLISH: &str = include_str!("../../../../data/words/voice.toml");

/// The questions, and what is said beside them.
#[derive(Debug, Clone, Deserialize)]
pub struct Voice {
    /// After an answer.
    pub thanks: String,
    /// Before the questions.
    pub intro: String,
    /// Beside the field for one's own words.
    pub own: String,
    /// The questions.
    pub question: Vec<Question>,
}

/// One question.
#[derive(Debug, Clone, Deserialize)]
pub struct Question {
    /// Its key, under which the answer is kept.
    pub key: String,
    /// What is asked.
    pub ask: String,
    /// What can be tapped.
    pub answers: Vec<String>,
}

/// The English words.
///
/// # Errors
/// The place in the file, should it be broken.
pub fn voice() -> Result<Voice, toml::de::Error> {
    toml::from_str(ENGLISH)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::reading_grade;

    /// A child of eight reads them alone: no question over the third grade, none longer than nine words.
    #[test]
    fn three_questions_a_child_reads_alone() {
        let all = voice();
        assert!(all.is_ok(), "{all:?}");
        let Ok(all) = all else { return };
        assert_eq!(all.question.len(), 3);
        for one in &all.question {
            assert!(reading_grade(&one.ask) <= 3.0, "{}: {}", one.ask, reading_grade(&one.ask));
            assert!(crate::words::count(&one.ask) <= 9 && one.answers.len() >= 3);
        }
        for line in [&all.thanks, &all.intro] {
            assert!(reading_grade(line) <= 5.0, "{line}");
        }
    }
}
