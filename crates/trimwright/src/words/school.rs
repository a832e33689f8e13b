//! The words of school, by language: questions, answers and reasons, the pages of a child's phone, the glossary.
//!
//! English is the language all words are first written in; another is the same files with the same names
//! (`data/words/school.XX.toml`, `data/words/XX.toml`). A test holds them together.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::Words;

/// A language a child may read in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Language {
    /// English.
    English,
    /// German.
    German,
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::English, Self::German];

    /// Its code in a page and a cookie (ISO 639-1).
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
        }
    }

    /// What those who read it call it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::German => "Deutsch",
        }
    }

    /// By its code.
    #[must_use]
    pub fn coded(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.code() == code)
    }

    const fn texts(self) -> (&'static str, &'static str) {
        match self {
            Self::English => (super::ENGLISH, include_str!("../../../../data/words/school.en.toml")),
            Self::German => (include_str!("../../../../data/words/de.toml"), include_str!("../../../../data/words/school.de.toml")),
        }
    }
}

/// An answer in words.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnswerWords {
    /// What it says.
    pub says: String,
    /// Why it is right, or not.
    pub why: String,
}

/// A question in words.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct QuestionWords {
    /// What is asked.
    pub ask: String,
    /// The answers by name.
    #[serde(flatten)]
    pub answers: BTreeMap<String, AnswerWords>,
}

/// A word explained.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Explained {
    /// The word.
    pub name: String,
    /// What it means.
    pub says: String,
}

/// All words of school in one language.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SchoolWords {
    /// What the pages say.
    pub page: BTreeMap<String, String>,
    /// Kinds of questions.
    pub kind: BTreeMap<String, String>,
    /// What pictures say.
    pub picture: BTreeMap<String, String>,
    /// Rules and papers by name.
    pub cited: BTreeMap<String, String>,
    /// Questions by name.
    pub question: BTreeMap<String, QuestionWords>,
    /// The glossary.
    pub glossary: BTreeMap<String, Explained>,
    /// Lines of the checklists that come along, by place and key, where the language is not that of the lists.
    #[serde(default)]
    pub check: BTreeMap<String, BTreeMap<String, String>>,
}

/// What a child reads in one language.
#[derive(Debug, Clone)]
pub struct Tongue {
    /// Which.
    pub language: Language,
    /// The words of the card.
    pub card: Words,
    /// The words of school.
    pub school: SchoolWords,
}

impl Tongue {
    /// A language's words.
    ///
    /// # Errors
    /// The place in a file, should one be broken.
    pub fn of(language: Language) -> Result<Self, toml::de::Error> {
        let (card, school) = language.texts();
        Ok(Self { language, card: toml::from_str(card)?, school: toml::from_str(school)? })
    }

    /// All languages.
    ///
    /// # Errors
    /// As [`Tongue::of`].
    pub fn all() -> Result<Vec<Self>, toml::de::Error> {
        Language::ALL.into_iter().map(Self::of).collect()
    }

    /// What a page says.
    #[must_use]
    pub fn page<'a>(&'a self, key: &'a str) -> &'a str {
        super::word(&self.school.page, key)
    }

    /// The words of the trade with their keys, as a list of words stands.
    #[must_use]
    pub fn words(&self) -> Vec<(&str, &Explained)> {
        let mut words: Vec<_> = self.school.glossary.iter().map(|(key, w)| (key.as_str(), w)).collect();
        words.sort_by_key(|(_, w)| w.name.to_lowercase().replace('ä', "a").replace('ö', "o").replace('ü', "u"));
        words
    }

    /// A line of a checklist: in this language where it has it, else as it is written there.
    #[must_use]
    pub fn check<'a>(&'a self, place: &str, key: &str, written: &'a str, standard: bool) -> &'a str {
        let own = self.school.check.get(place).and_then(|list| list.get(key)).filter(|_| standard);
        own.map_or(written, String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::count;
    use crate::words::grade::tests::{a_child_reads, texts};
    use advice::checklist::Place;
    use advice::quiz::Kind;

    /// Checklists too.
    #[test]
    fn a_child_can_read_the_school() {
        let lists = Place::ALL.iter().flat_map(|p| texts(p.standard())).filter(|t| t.0.ends_with(".says"));
        // Where a rule or a paper stands is said as it is called.
        let school = texts(Language::English.texts().1).into_iter().filter(|t| !t.0.starts_with(".cited."));
        a_child_reads(school.chain(lists).map(|t| t.1), 250);
    }

    /// Another language has the same texts with the same marks, and none of them is the English one left standing.
    #[test]
    fn languages_say_the_same_things() {
        let marks = |text: &str| {
            let mut found: Vec<String> = text.split('{').skip(1).filter_map(|t| Some(t.split_once('}')?.0.to_owned())).collect();
            found.sort();
            found
        };
        let named = |language: Language| -> BTreeMap<String, String> {
            let (card, school) = language.texts();
            texts(card).into_iter().map(|t| (format!("card{}", t.0), t.1)).chain(texts(school)).collect()
        };
        let english = named(Language::English);
        let german = named(Language::German);
        for (at, text) in &english {
            let other = german.get(at).unwrap_or_else(|| unreachable!("{at} is not there"));
            assert_eq!(marks(text), marks(other), "{at}");
            let long = count(text) >= 4;
            assert!(!long || text != other, "{at} is not translated");
        }
        for at in german.keys().filter(|at| !at.starts_with(".check.") && !at.starts_with("card.caution.")) {
            assert!(english.contains_key(at), "{at} is not in English");
        }
        // Every caution that a card may have, with who decides.
        let tongue = Tongue::of(Language::German).unwrap();
        let cautions: toml::Value = toml::from_str(include_str!("../../../../data/cautions.toml")).unwrap();
        for caution in cautions["caution"].as_array().unwrap() {
            let key = caution["key"].as_str().unwrap();
            let own = tongue.card.caution.get(key).unwrap_or_else(|| unreachable!("{key} is not there"));
            for (part, own) in [("fact", &own.fact), ("deed", &own.deed), ("who", &own.who)] {
                let said = caution["card"][part].as_str().unwrap();
                assert!(marks(said) == marks(own) && said != own, "{key}: {own}");
            }
            assert!(own.who.contains("entscheidet"), "{key}: {}", own.who);
        }
        // And every line of the lists that come along.
        for place in Place::ALL {
            let lines: toml::Value = toml::from_str(place.standard()).unwrap();
            for line in lines["item"].as_array().unwrap() {
                let (key, says) = (line["key"].as_str().unwrap(), line["says"].as_str().unwrap());
                assert_ne!(tongue.check(place.name(), key, says, true), says, "{}.{key}", place.name());
            }
        }
    }

    #[test]
    fn every_kind_has_a_name() {
        for tongue in Tongue::all().unwrap() {
            for kind in Kind::ALL {
                assert!(tongue.school.kind.contains_key(kind.name()), "{}", kind.name());
            }
        }
        assert_eq!(Language::coded("de"), Some(Language::German));
        assert_eq!(Language::coded("xx"), None);
    }
}
