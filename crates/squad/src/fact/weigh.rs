//! Boats on the scale.

use measure::Mass;

use super::boat_facts::Boat;
use super::{Kept, check_range, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::Store;

/// What a scale may say of a small boat on her trolley, kg. Assumed.
const ON_SCALE: [f64; 2] = [1.0, 400.0];

fact! {
    /// A boat on the scale, as it was read. What it means is computed where it is asked for.
    WeighIn = "weigh_in" {
        /// Which boat.
        boat: Id<Boat>,
        /// When.
        at: Moment,
        /// What was on the scale, in words.
        on_scale: String,
        /// What the scale said.
        reading_kg: f64,
        /// The trolley alone, where she stood on it.
        trolley_kg: Option<f64>,
        /// Water found in her that was on the scale.
        water_kg: f64,
        /// Correctors fixed in her.
        correctors_kg: f64,
        /// How far the scale may be off, 19 times in 20.
        scale_error_kg: Option<f64>,
    }

    fn check(&self) -> Result<(), String> {
        check_words("what was on the scale", &self.on_scale)?;
        check_range("what the scale said", Some(self.reading_kg), ON_SCALE, "kg")?;
        for (what, part) in [("the trolley", self.trolley_kg), ("the water", Some(self.water_kg)), ("the correctors", Some(self.correctors_kg))] {
            check_range(what, part, [0.0, ON_SCALE[1]], "kg")?;
        }
        check_range("the scale's error", self.scale_error_kg, [0.0, 20.0], "kg")?;
        if self.dry_kg() <= 0.0 {
            return Err("trolley and water are heavier than all that was on the scale".to_owned());
        }
        Ok(())
    }
}

impl WeighIn {
    /// The boat without trolley and water, kg, to a milligram: a scale tells no more, and 44 stays 44.
    #[must_use]
    pub fn dry_kg(&self) -> f64 {
        ((self.reading_kg - self.trolley_kg.unwrap_or(0.0) - self.water_kg) * 1e6).round() / 1e6
    }

    /// The boat without trolley and water.
    #[must_use]
    pub fn dry(&self) -> Mass {
        Mass::kilograms(self.dry_kg())
    }
}

impl Store {
    /// The weigh-ins of a boat, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn weigh_ins_of(&self, boat: Id<Boat>) -> Result<Vec<Kept<WeighIn>>, SquadError> {
        self.of(boat)
    }
}
