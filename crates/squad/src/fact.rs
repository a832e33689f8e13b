//! What a fact is: a kind, its columns, and who wrote it when. One file for each kind or family of kinds.
//!
//! Each column's kind follows from the field's type, so a kind is declared once: here its fields, in `migrations` its table; a
//! test holds the two together.

use std::collections::BTreeMap;

use boat::crew::Skill;
use boat::gauge::Gauge;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::id::{Date, Id, Moment};
use crate::store::row::Row;

pub mod boat_facts;
pub mod class_file;
pub mod correction;
pub mod day;
pub mod link;
pub mod outing;
pub mod picture;
pub mod quiz;
pub mod race;
pub mod recorder;
pub mod sailor;
pub mod setup;
pub mod weigh;

/// The longest label, so that it goes on a card.
pub const LONGEST_LABEL: usize = 24;
/// The longest text of a person's own words, in letters. Assumed: three pages.
pub const LONGEST_WORDS: usize = 10_000;
/// The longest text of a file kept as a fact, bytes. Assumed: a class file has 5 kB, a season's results 200.
pub const LONGEST_FILE: usize = 4 << 20;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Text.
    Text,
    /// A number, to 15 digits.
    Real,
    /// A whole number.
    Whole,
    /// Yes or no.
    Flag,
    /// A document in a text.
    Json,
    /// The id of a fact of another kind.
    Id(&'static str),
}

/// A column of a kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// What stands in it.
    pub holds: Holds,
}

/// A kind's table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Table {
    /// The kind, which is the table's name.
    pub kind: &'static str,
    /// Its own columns, after the six that every kind has.
    pub columns: &'static [Column],
}

impl Table {
    /// By which column facts are listed.
    pub(crate) fn order(&self) -> &'static str {
        let by = ["at", "date", "label", "name", "mark"];
        by.into_iter().find(|name| self.columns.iter().any(|c| c.name == *name)).unwrap_or("id")
    }
    /// The columns that hold the id of a kind.
    pub(crate) fn refers(&self, kind: &str) -> impl Iterator<Item = &'static str> {
        self.columns.iter().filter(move |c| matches!(c.holds, Holds::Id(of) if of == kind)).map(|c| c.name)
    }
}

/// A kind of fact.
pub trait Fact: Serialize + DeserializeOwned + Clone + PartialEq {
    /// Its table.
    const TABLE: Table;

    /// What cannot be right about it, in a coach's words; no message holds a mass.
    ///
    /// # Errors
    /// Where something cannot be right.
    fn check(&self) -> Result<(), String> {
        Ok(())
    }

    /// The label by which people tell facts of this kind apart, where there may be only one of each.
    fn label(&self) -> Option<&str> {
        None
    }
}

/// A type that stands in a column.
pub trait Held {
    /// What the column holds.
    const HOLDS: Holds;
}

impl<T: Held> Held for Option<T> {
    const HOLDS: Holds = T::HOLDS;
}
impl<T: Fact> Held for Id<T> {
    const HOLDS: Holds = Holds::Id(T::TABLE.kind);
}
/// Which types stand in which columns.
macro_rules! held {
    ($($of:ty => $holds:ident),* $(,)?) => { $(impl Held for $of { const HOLDS: Holds = Holds::$holds; })* };
}
held!(
    String => Text, f64 => Real, u32 => Whole, bool => Flag, Moment => Text, Date => Text, Gauge => Text, Skill => Text,
    BTreeMap<Gauge, f64> => Json, HiddenMass => Real,
);

/// Declares a kind: its struct and its table.
macro_rules! fact {
    ($(#[$about:meta])* $name:ident = $kind:literal { $($(#[$says:meta])* $field:ident: $of:ty,)* } $($more:item)*) => {
        $(#[$about])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name { $($(#[$says])* pub $field: $of,)* }
        impl $crate::fact::Fact for $name {
            const TABLE: $crate::fact::Table = $crate::fact::Table {
                kind: $kind,
                columns: &[$($crate::fact::Column { name: stringify!($field), holds: <$of as $crate::fact::Held>::HOLDS },)*],
            };
            $($more)*
        }
    };
}
pub(crate) use fact;

/// Lists the kinds, each after those it refers to.
macro_rules! kinds {
    ($($of:ty),* $(,)?) => {
        /// All kinds, each after those it refers to.
        pub const TABLES: &[Table] = &[$(<$of as Fact>::TABLE),*];

        /// What cannot be right about a row that came from elsewhere.
        pub(crate) fn check_row(row: &Row) -> Result<(), String> {
            let kind = row.table.kind;
            $(if kind == <$of as Fact>::TABLE.kind {
                return row.kept::<$of>().map_err(|error| error.to_string())?.fact.check();
            })*
            Err(format!("{kind} is no kind of fact"))
        }
    };
}
kinds!(
    class_file::ClassFile,
    boat_facts::Boat,
    sailor::Sailor,
    weigh::WeighIn,
    boat_facts::PenLine,
    boat_facts::NotchHeight,
    boat_facts::BaseSetting,
    boat_facts::Reading,
    day::Day,
    day::ForecastHour,
    day::GustLimit,
    day::SafetyLimit,
    day::Crewed,
    day::Tick,
    setup::SetupGiven,
    outing::Outing,
    outing::Tally,
    outing::Observation,
    outing::Note,
    outing::DrillDone,
    recorder::Recorder,
    recorder::RecorderGiven,
    recorder::TrackFile,
    picture::Picture,
    race::Series,
    race::Course,
    quiz::QuizAnswer,
    correction::Correction,
    link::SailorLink,
);

/// A fact as the store keeps it.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<T> {
    /// Its lasting name.
    pub id: Id<T>,
    /// Counts its edits, from 1; an edit names the version it was made on.
    pub version: u32,
    /// When it was last edited.
    pub edited_at: Moment,
    /// By whom.
    pub edited_by: String,
    /// Whether it was taken back: it stays, and is listed no more.
    pub withdrawn: bool,
    /// The fact.
    pub fact: T,
}

/// Who writes, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Writer {
    /// The person's own word for themselves, like "coach".
    pub by: String,
    /// When.
    pub at: Moment,
}

impl Writer {
    /// Somebody who writes now, by this machine's clock.
    #[must_use]
    pub fn now(by: &str) -> Self {
        Self { by: by.to_owned(), at: Moment::now() }
    }
}

/// What came of an edit.
#[derive(Debug, Clone, PartialEq)]
#[must_use = "an edit may have been overtaken"]
pub enum Edit<T> {
    /// It was written.
    Written(Kept<T>),
    /// Somebody else wrote first: this is what they wrote, and nothing was changed. Show it, and ask.
    Overtaken(Kept<T>),
}

impl<T> Edit<T> {
    /// What stands in the store now.
    pub fn kept(self) -> Kept<T> {
        match self {
            Self::Written(kept) | Self::Overtaken(kept) => kept,
        }
    }
}

/// A sailor's mass: known to the sums, shown to nobody who did not ask, and in no message.
#[derive(Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct HiddenMass(f64);

impl HiddenMass {
    /// Of kilograms.
    #[must_use]
    pub const fn kilograms(kilograms: f64) -> Self {
        Self(kilograms)
    }
    /// For the sums, and for the page where the coach asked to see it.
    #[must_use]
    pub const fn in_kilograms(self) -> f64 {
        self.0
    }
}

impl core::fmt::Debug for HiddenMass {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("hidden")
    }
}

/// How gauges, skills and settings are written.
pub(crate) mod written {
    /// A gauge by its name.
    pub(crate) mod gauge {
        use boat::gauge::Gauge;
        use serde::{Deserialize, Deserializer, Serializer, de};
        pub(crate) fn serialize<S: Serializer>(gauge: &Gauge, serializer: S) -> Result<S::Ok, S::Error> {
            serializer.serialize_str(gauge.name())
        }
        pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Gauge, D::Error> {
            let name = String::deserialize(deserializer)?;
            Gauge::named(&name).map_err(|near| de::Error::custom(format!("\"{name}\" is no gauge; the nearest are {}", near.join(", "))))
        }
    }
    /// A skill by its words.
    pub(crate) mod skill {
        use boat::crew::Skill;
        use serde::{Deserialize, Deserializer, Serializer, de};
        pub(crate) fn serialize<S: Serializer>(skill: &Skill, serializer: S) -> Result<S::Ok, S::Error> {
            serializer.serialize_str(skill.words())
        }
        pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Skill, D::Error> {
            let words = String::deserialize(deserializer)?;
            Skill::named(&words).ok_or_else(|| de::Error::custom(format!("\"{words}\" is no skill")))
        }
    }
    /// Settings by their gauges' names.
    pub(crate) mod settings {
        use std::collections::BTreeMap;

        use boat::gauge::Gauge;
        use serde::{Deserialize, Deserializer, Serializer, de};
        pub(crate) fn serialize<S: Serializer>(settings: &BTreeMap<Gauge, f64>, serializer: S) -> Result<S::Ok, S::Error> {
            serializer.collect_map(settings.iter().map(|(gauge, value)| (gauge.name(), value)))
        }
        pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<BTreeMap<Gauge, f64>, D::Error> {
            let named = BTreeMap::<String, f64>::deserialize(deserializer)?;
            let gauge = |name: &str| Gauge::named(name).map_err(|_| de::Error::custom(format!("\"{name}\" is no gauge")));
            named.iter().map(|(name, value)| Ok((gauge(name)?, *value))).collect()
        }
    }
}

/// A label that goes on a card.
pub(crate) fn check_label(what: &str, label: &str) -> Result<(), String> {
    if label.trim().is_empty() || label.trim() != label || label.chars().any(char::is_control) {
        return Err(format!("{what} needs a label without blanks around it: a first name, a number, what is painted on the boat"));
    }
    if label.chars().count() > LONGEST_LABEL {
        return Err(format!("the label of {what} is too long for a card: {LONGEST_LABEL} letters at most"));
    }
    Ok(())
}

/// Words of a person.
pub(crate) fn check_words(what: &str, words: &str) -> Result<(), String> {
    if words.chars().count() > LONGEST_WORDS {
        return Err(format!("{what}: {LONGEST_WORDS} letters at most"));
    }
    Ok(())
}

/// A number within its range, where there is one. The number is not told.
pub(crate) fn check_range(what: &str, value: Option<f64>, [low, high]: [f64; 2], unit: &str) -> Result<(), String> {
    match value {
        Some(value) if !(low..=high).contains(&value) => Err(format!("{what} is not {low} to {high} {unit}; check the unit")),
        _ => Ok(()),
    }
}

/// A setting of a gauge, SI: a length no longer than a boat, an angle no larger than a turn.
pub(crate) fn check_setting(gauge: Gauge, setting: f64) -> Result<(), String> {
    check_range(&format!("the setting of {}", gauge.name()), Some(setting), [-10.0, 10.0], "m or rad")
}
