//! The model's multipliers as the coach took them over from the squad's own passes. Withdrawn, the model is as it came.

use super::{Kept, check_words, fact};
use crate::error::SquadError;
use crate::id::Moment;
use crate::store::Store;

fact! {
    /// A correction. The latest that stands is used.
    Correction = "correction" {
        /// When it was taken over.
        at: Moment,
        /// Constants of the model and their values, "name value" a line.
        multipliers: String,
        /// What it rests on.
        words: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("what a correction rests on", &self.words)?;
        if self.multipliers.lines().count() != self.values().len() || self.values().is_empty() {
            return Err("a correction has a name and a number on each line".to_owned());
        }
        Ok(())
    }
}

impl Correction {
    /// A correction of some constants.
    #[must_use]
    pub fn of(values: &[(&str, f64)], at: Moment, words: &str) -> Self {
        let lines: Vec<String> = values.iter().map(|(name, value)| format!("{name} {value}")).collect();
        Self { at, multipliers: lines.join("\n"), words: words.to_owned() }
    }
    /// The constants and their values.
    #[must_use]
    pub fn values(&self) -> Vec<(String, f64)> {
        let read = |line: &str| {
            let (name, value) = line.trim().split_once(' ')?;
            Some((name.to_owned(), value.trim().parse().ok().filter(|v: &f64| v.is_finite())?))
        };
        self.multipliers.lines().filter_map(read).collect()
    }
}

impl Store {
    /// The correction that stands.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn correction(&self) -> Result<Option<Kept<Correction>>, SquadError> {
        Ok(self.all::<Correction>()?.into_iter().max_by_key(|c| (c.fact.at, c.id)))
    }
}
