//! Outings: the tally of who is out, what was seen, said and practised.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::boat_facts::Boat;
use super::day::Day;
use super::sailor::Sailor;
use super::{Held, Holds, Kept, check_range, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::Store;

/// What an outing is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OutingSort {
    /// Practice.
    Practice,
    /// A race day.
    RaceDay,
}
impl Held for OutingSort {
    const HOLDS: Holds = Holds::Text;
}

/// Out on the water, or back in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Went out.
    Out,
    /// Came in.
    In,
}
impl Held for Way {
    const HOLDS: Holds = Holds::Text;
}

fact! {
    /// One session on the water.
    Outing = "outing" {
        /// Of which day.
        day: Id<Day>,
        /// What the coach calls it.
        name: String,
        /// What it is for.
        sort: OutingSort,
        /// When it began.
        began: Option<Moment>,
        /// When it ended.
        ended: Option<Moment>,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the outing's name", &self.name)
    }
}

fact! {
    /// A sailor went out, or came in.
    Tally = "tally" {
        /// Of which outing.
        outing: Id<Outing>,
        /// Who.
        sailor: Id<Sailor>,
        /// When.
        at: Moment,
        /// Out or in.
        way: Way,
        /// Which safety boat has an eye on them; may be empty.
        safety_boat: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the safety boat", &self.safety_boat)
    }
}

fact! {
    /// What the coach saw, by one tap.
    Observation = "observation" {
        /// On which outing.
        outing: Id<Outing>,
        /// Of whom; `None` is: of all.
        sailor: Option<Id<Sailor>>,
        /// When.
        at: Moment,
        /// What, by its key in the list.
        what: String,
        /// And in words; may be empty.
        words: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("what was seen", &self.what)?;
        check_words("the words on it", &self.words)
    }
}

fact! {
    /// A note.
    Note = "note" {
        /// When.
        at: Moment,
        /// What it says.
        words: String,
        /// About whom.
        sailor: Option<Id<Sailor>>,
        /// About which boat.
        boat: Option<Id<Boat>>,
        /// About which outing.
        outing: Option<Id<Outing>>,
    }

    fn check(&self) -> Result<(), String> {
        check_words("a note", &self.words)
    }
}

fact! {
    /// A drill that was done.
    DrillDone = "drill_done" {
        /// On which outing.
        outing: Id<Outing>,
        /// When.
        at: Moment,
        /// Which, by its key.
        drill: String,
        /// For how long.
        minutes: Option<f64>,
        /// How it went.
        words: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the drill", &self.drill)?;
        check_words("how it went", &self.words)?;
        check_range("the minutes", self.minutes, [0.0, 1440.0], "minutes")
    }
}

impl Store {
    /// The outings of a day.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn outings_of(&self, day: Id<Day>) -> Result<Vec<Kept<Outing>>, SquadError> {
        self.of(day)
    }

    /// Who is still out: each sailor's last word is that they went. Nobody is guessed home: of an out and an in at the same
    /// millisecond, out counts.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn still_out(&self, outing: Id<Outing>) -> Result<Vec<Kept<Tally>>, SquadError> {
        let mut last: BTreeMap<Id<Sailor>, Kept<Tally>> = BTreeMap::new();
        for tally in self.of::<Tally, _>(outing)? {
            let said = last.get(&tally.fact.sailor);
            if said.is_none_or(|said| said.fact.at < tally.fact.at || tally.fact.way == Way::Out) {
                last.insert(tally.fact.sailor, tally);
            }
        }
        let mut out: Vec<_> = last.into_values().filter(|t| t.fact.way == Way::Out).collect();
        out.sort_by_key(|t| (t.fact.at, t.id));
        Ok(out)
    }

    /// What was seen on an outing, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn observations_of(&self, outing: Id<Outing>) -> Result<Vec<Kept<Observation>>, SquadError> {
        self.of(outing)
    }

    /// The observations of every outing whose word begins so, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn observations_beginning(&self, start: &str) -> Result<Vec<Kept<Observation>>, SquadError> {
        self.rows("withdrawn = 0 AND substr(what, 1, length($1)) = $1", &[&start])
    }

    /// The notes about a sailor, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn notes_about(&self, sailor: Id<Sailor>) -> Result<Vec<Kept<Note>>, SquadError> {
        self.of(sailor)
    }

    /// The drills of an outing, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn drills_of(&self, outing: Id<Outing>) -> Result<Vec<Kept<DrillDone>>, SquadError> {
        self.of(outing)
    }
}
