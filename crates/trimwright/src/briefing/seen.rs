//! What a coach can note by one tap: our list, and over it the coach's own.

use serde::{Deserialize, Serialize};

/// Ours.
const OURS: &str = include_str!("../../../../data/observations.toml");
/// What the coach's own list is called in the squad's folder.
pub const FILE: &str = "observations.toml";
/// The most entries of a list: what does not go on a phone's page is not found there.
const MOST: usize = 60;

/// One thing that is seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seen {
    /// Its key, which the store keeps.
    pub key: String,
    /// What is seen, in the coach's words.
    pub words: String,
    /// What would be better.
    #[serde(default)]
    pub better: String,
    /// What to try, in a child's words.
    #[serde(default)]
    pub child: String,
    /// The pair of pictures.
    #[serde(default)]
    pub picture: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    observation: Vec<Seen>,
}

/// Our list with a coach's own over it; and what of that could not be used.
#[must_use]
pub fn seen(own: Option<&str>) -> (Vec<Seen>, Option<String>) {
    let mut list = toml::from_str::<File>(OURS).map(|f| f.observation).unwrap_or_default();
    let Some(own) = own else { return (list, None) };
    let own = match toml::from_str::<File>(own) {
        Ok(own) => own.observation,
        Err(error) => return (list, Some(format!("{FILE} does not read, so our own list is shown: {}", error.message()))),
    };
    let mut why = None;
    for one in own {
        // A key goes into the store, where keys with a point are the program's own.
        if one.key.is_empty() || one.key.len() > 40 || !one.key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') {
            why = Some(format!("{FILE}: \"{}\" is no key; take letters, digits and _", one.key));
        } else if let Some(place) = list.iter_mut().find(|s| s.key == one.key) {
            *place = one;
        } else if list.len() < MOST {
            list.push(one);
        }
    }
    (list, why)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coachs_own_list_stands_over_ours_and_a_broken_one_is_told() {
        let (ours, none) = seen(None);
        assert!(ours.len() >= 8 && none.is_none());
        let (list, none) = seen(Some(
            "[[observation]]\nkey = \"weight_aft\"\nwords = \"Too far back\"\n[[observation]]\nkey = \"hat\"\nwords = \"No hat\"",
        ));
        assert!(none.is_none() && list.len() == ours.len() + 1);
        assert_eq!(list[0].words, "Too far back");
        let (list, why) = seen(Some("[[observation]]\nkey = "));
        assert!(list == ours && why.is_some());
        let (list, why) = seen(Some("[[observation]]\nkey = \"set.car\"\nwords = \"x\""));
        assert!(list == ours && why.is_some());
    }

    /// At a glance in a boat: no more than a child of nine reads.
    #[test]
    fn the_childs_words_are_easy() {
        for one in seen(None).0 {
            assert!(crate::words::reading_grade(&one.child) <= 6.0, "{}: {}", one.key, crate::words::reading_grade(&one.child));
        }
    }
}
