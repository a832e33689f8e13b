//! Series of races: the coach's files as they came.

use super::day::Day;
use super::{LONGEST_FILE, check_words, fact};
use crate::error::SquadError;
use crate::fact::Kept;
use crate::id::Id;
use crate::store::Store;

fact! {
    /// A series: its file and its results. Standings are computed where they are asked for.
    Series = "series" {
        /// Its name.
        name: String,
        /// The series file (TOML).
        series_text: String,
        /// The results it names (CSV).
        results_text: String,
        /// The day, where it is of one.
        day: Option<Id<Day>>,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the series' name", &self.name)?;
        if self.series_text.len().max(self.results_text.len()) > LONGEST_FILE {
            return Err("this file is too long for a series".to_owned());
        }
        Ok(())
    }
}

impl Store {
    /// All series, by name.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn series(&self) -> Result<Vec<Kept<Series>>, SquadError> {
        self.all()
    }
}
