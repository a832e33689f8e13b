//! Checklists by place: what to look at, in a child's words, for the boats that have it (`data/checklists`). A coach may keep lists of
//! their own, written alike; what is wrong in one is told by its line.

use std::collections::BTreeSet;

use boat::class::{Class, Lead};
use serde::Deserialize;

/// Where a list is gone through, in the order of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Before she is rigged.
    BoatPark,
    /// Before she is launched.
    Dock,
    /// On the water.
    BeforeStart,
    /// Between two races.
    BetweenRaces,
    /// Back again.
    Ashore,
}

impl Place {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::BoatPark, Self::Dock, Self::BeforeStart, Self::BetweenRaces, Self::Ashore];

    /// Its name in files and addresses.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::BoatPark => "boat_park",
            Self::Dock => "dock",
            Self::BeforeStart => "before_start",
            Self::BetweenRaces => "between_races",
            Self::Ashore => "ashore",
        }
    }

    /// By name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.name() == name)
    }

    /// The list that comes with the program.
    #[must_use]
    pub const fn standard(self) -> &'static str {
        match self {
            Self::BoatPark => include_str!("../../../data/checklists/boat_park.toml"),
            Self::Dock => include_str!("../../../data/checklists/dock.toml"),
            Self::BeforeStart => include_str!("../../../data/checklists/before_start.toml"),
            Self::BetweenRaces => include_str!("../../../data/checklists/between_races.toml"),
            Self::Ashore => include_str!("../../../data/checklists/ashore.toml"),
        }
    }
}

/// What a boat must have for a line to be hers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Has {
    Sprit,
    Vang,
    Downhaul,
    Car,
    BoardSwings,
    BoardSlides,
    Preventer,
}

impl Has {
    fn holds(self, class: &Class) -> bool {
        match self {
            Self::Sprit => class.sails.iter().any(|s| s.sprit.is_some()),
            Self::Vang => class.vang.is_some(),
            Self::Downhaul => class.downhaul.is_some(),
            Self::Car => matches!(class.lead, Lead::Traveller { .. }),
            Self::BoardSwings => class.board.lift.is_none(),
            Self::BoardSlides => class.board.lift.is_some(),
            Self::Preventer => class.gauges.iter().any(|g| g.gauge == boat::gauge::Gauge::Preventer),
        }
    }
}

/// A line of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// By what its tick is kept.
    pub key: String,
    /// What it says.
    pub says: String,
    has: Option<Has>,
}

/// A list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checklist {
    /// Where.
    pub place: Place,
    /// Its lines.
    items: Vec<Item>,
}

/// What is wrong in a list: which line of its text, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct Wrong {
    /// Counted from 1.
    pub line: usize,
    /// In words.
    pub what: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    place: toml::Spanned<Place>,
    #[serde(default)]
    item: Vec<Line>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    key: toml::Spanned<String>,
    says: toml::Spanned<String>,
    has: Option<Has>,
}

/// The most lines, the longest key, the longest line. Assumed: more is no list a child goes through.
const MOST: usize = 40;
const LONGEST_KEY: usize = 40;
const LONGEST: usize = 120;

impl Checklist {
    /// The list that comes with the program.
    ///
    /// # Errors
    /// Should that file be broken.
    pub fn standard(place: Place) -> Result<Self, Wrong> {
        Self::read(place.standard(), place)
    }

    /// A list of a place from its text.
    ///
    /// # Errors
    /// The first line that is wrong, and what to do about it.
    pub fn read(text: &str, place: Place) -> Result<Self, Wrong> {
        let line = |at: usize| text.bytes().take(at.min(text.len())).filter(|b| *b == b'\n').count() + 1;
        let wrong = |at: usize, what: String| Wrong { line: line(at), what };
        let file: File = toml::from_str(text).map_err(|error| {
            let what = error.message().lines().next().unwrap_or_default().to_owned();
            wrong(
                error.span().map_or(0, |s| s.start),
                format!("{what}; a line of the list is [[item]] with key = \"sponge\" and says = \"Sponge\""),
            )
        })?;
        if *file.place.get_ref() != place {
            return Err(wrong(file.place.span().start, format!("this is the list of another place: write place = \"{}\"", place.name())));
        }
        if file.item.is_empty() {
            return Err(wrong(0, "the list has no lines: write [[item]] with key and says".to_owned()));
        }
        let mut seen = BTreeSet::new();
        let mut items = Vec::new();
        for (k, item) in file.item.into_iter().enumerate() {
            let (at, key) = (item.key.span().start, item.key.into_inner());
            let plain = !key.is_empty() && key.len() <= LONGEST_KEY && key.bytes().all(|b| matches!(b, b'a'..=b'z' | b'0'..=b'9' | b'_'));
            if !plain {
                return Err(wrong(at, format!("a key is small letters without blanks, like \"sponge\", {LONGEST_KEY} at most")));
            }
            if !seen.insert(key.clone()) {
                return Err(wrong(at, format!("the key \"{key}\" stands twice: give one of them another")));
            }
            let (at, says) = (item.says.span().start, item.says.into_inner().trim().to_owned());
            if says.is_empty() || says.chars().count() > LONGEST || says.chars().any(char::is_control) {
                return Err(wrong(at, format!("say what to look at in one line of {LONGEST} letters at most")));
            }
            if k >= MOST {
                return Err(wrong(at, format!("{MOST} lines at most: nobody goes through more")));
            }
            items.push(Item { key, says, has: item.has });
        }
        Ok(Self { place, items })
    }

    /// The lines for boats of a class.
    pub fn of_class<'a>(&'a self, class: &'a Class) -> impl Iterator<Item = &'a Item> {
        self.items.iter().filter(|item| item.has.is_none_or(|has| has.holds(class)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lists_that_come_along_are_whole() {
        let class = Class::pram();
        for place in Place::ALL {
            let list = Checklist::standard(place).unwrap();
            assert!(list.of_class(&class).count() >= 5, "{}", place.name());
            assert_eq!(Place::named(place.name()), Some(place));
        }
        // A pram has no sprit, and her lists say nothing of one.
        let start = Checklist::standard(Place::BeforeStart).unwrap();
        assert!(start.of_class(&class).all(|i| i.key != "sprit"));
    }

    #[test]
    fn what_is_wrong_is_told_by_its_line() {
        let good = "place = \"dock\"\n\n[[item]]\nkey = \"sponge\"\nsays = \"Sponge\"\n";
        assert_eq!(Checklist::read(good, Place::Dock).unwrap().items.len(), 1);
        for (text, line, word) in [
            ("", 1, "place"),
            ("place = \"dock\"\n", 1, "no lines"),
            ("place = \"moon\"\n", 1, "unknown variant"),
            ("place = \"ashore\"\n", 1, "another place"),
            (&good.replace("sponge", "My Sponge") as &str, 4, "small letters"),
            (&format!("{good}\n[[item]]\nkey = \"sponge\"\nsays = \"Again\"\n"), 8, "twice"),
            (&good.replace("\"Sponge\"", "\"\""), 5, "one line"),
            (&good.replace("\"Sponge\"", &format!("\"{}\"", "x".repeat(200))), 5, "one line"),
            (&good.replace("says", "sais"), 5, "unknown field"),
            (&format!("{good}has = \"wings\"\n"), 6, "unknown variant"),
            (&good.replace("\"Sponge\"", "\"Sponge"), 5, "string"),
        ] {
            let wrong = Checklist::read(text, Place::Dock).unwrap_err();
            assert!(wrong.line == line && wrong.what.contains(word), "{text}: {wrong}");
        }
        assert!(Checklist::read(&"\u{1F642}[[[".repeat(3), Place::Dock).is_err());
    }
}
