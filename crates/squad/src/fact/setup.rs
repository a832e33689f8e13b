//! Setups given: what a card told a sailor, so that the next one says what changes.

use std::collections::BTreeMap;

use boat::gauge::Gauge;

use super::boat_facts::Boat;
use super::day::Day;
use super::sailor::Sailor;
use super::{Kept, check_range, check_setting, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::Store;

fact! {
    /// A setup as it was given to a sailor.
    SetupGiven = "setup_given" {
        /// For which day.
        day: Id<Day>,
        /// To whom.
        sailor: Id<Sailor>,
        /// On which boat.
        boat: Id<Boat>,
        /// When.
        at: Moment,
        /// For which leg.
        leg: String,
        /// How to sit.
        sit: String,
        /// For which wind, m/s.
        wind_ms: f64,
        /// At which height, m.
        height_m: f64,
        /// The settings, SI by gauge.
        #[serde(with = "super::written::settings")]
        settings: BTreeMap<Gauge, f64>,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the leg", &self.leg)?;
        check_words("how to sit", &self.sit)?;
        check_range("the wind", Some(self.wind_ms), [0.0, 113.0], "m/s")?;
        check_range("the height of the wind", Some(self.height_m), [0.5, 30.0], "m")?;
        self.settings.iter().try_for_each(|(&gauge, &setting)| check_setting(gauge, setting))
    }
}

impl Store {
    /// What a sailor was given, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn setups_given_to(&self, sailor: Id<Sailor>) -> Result<Vec<Kept<SetupGiven>>, SquadError> {
        self.of(sailor)
    }
}
