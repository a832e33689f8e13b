//! Boats, and what is measured and trusted on each: pen lines, notches of the mast, base setup, readings as rigged.

use std::collections::BTreeMap;

use boat::gauge::Gauge;

use super::{Fact, Kept, check_label, check_range, check_setting, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::squad::BoomEndReading;
use crate::store::Store;

/// Heights a boom end may have over the transom, m. Assumed.
pub(crate) const BOOM_END: [f64; 2] = [0.0, 2.0];

fact! {
    /// A boat.
    Boat = "boat" {
        /// What is painted on it. Only one boat has it.
        label: String,
        /// Its class, by name.
        class: Option<String>,
    }

    fn check(&self) -> Result<(), String> {
        check_label("a boat", &self.label)?;
        check_words("the class", self.class.as_deref().unwrap_or_default())
    }

    fn label(&self) -> Option<&str> {
        Some(&self.label)
    }
}

fact! {
    /// A line of pen or tape on a boat.
    PenLine = "pen_line" {
        /// Which boat.
        boat: Id<Boat>,
        /// When it was drawn.
        at: Moment,
        /// What it stands for.
        #[serde(with = "super::written::gauge")]
        gauge: Gauge,
        /// Where it is and how it looks.
        words: String,
        /// The setting at the line, SI.
        setting: f64,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the words on a pen line", &self.words)?;
        check_setting(self.gauge, self.setting)
    }
}

fact! {
    /// The boom end's height at a notch of the mast; two of them put everything in this boat's own notches.
    NotchHeight = "notch_height" {
        /// Which boat.
        boat: Id<Boat>,
        /// When it was measured.
        at: Moment,
        /// The mast's notch, counted from forward.
        notch: u32,
        /// The boom end over the transom, m.
        height_m: f64,
    }

    fn check(&self) -> Result<(), String> {
        if self.notch > 100 {
            return Err("a mast has no more than 100 notches: count them from forward".to_owned());
        }
        check_range("the height of the boom end", Some(self.height_m), BOOM_END, "m")
    }
}

fact! {
    /// One setting that a boat's coach trusts. A new one takes the place of an earlier; the earlier stays known.
    BaseSetting = "base_setting" {
        /// Which boat.
        boat: Id<Boat>,
        /// Since when.
        at: Moment,
        /// Which gauge.
        #[serde(with = "super::written::gauge")]
        gauge: Gauge,
        /// The setting, SI.
        setting: f64,
    }

    fn check(&self) -> Result<(), String> {
        check_setting(self.gauge, self.setting)
    }
}

fact! {
    /// What the tape said on a boat as she was rigged.
    Reading = "reading" {
        /// Which boat.
        boat: Id<Boat>,
        /// When.
        at: Moment,
        /// Which gauge.
        #[serde(with = "super::written::gauge")]
        gauge: Gauge,
        /// The setting, SI.
        setting: f64,
        /// Who held the tape.
        measured_by: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("who measured", &self.measured_by)?;
        check_setting(self.gauge, self.setting)
    }
}

impl Store {
    /// All boats, by label.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn boats(&self) -> Result<Vec<Kept<Boat>>, SquadError> {
        self.all()
    }

    /// The boat of a label, large and small letters alike.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn boat_labelled(&self, label: &str) -> Result<Option<Kept<Boat>>, SquadError> {
        self.labelled(label)
    }

    /// The pen lines of a boat, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn pen_lines_of(&self, boat: Id<Boat>) -> Result<Vec<Kept<PenLine>>, SquadError> {
        self.of(boat)
    }

    /// What the coach trusts on a boat until a moment: the latest of each gauge, SI.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn base_setup_of(&self, boat: Id<Boat>, until: Moment) -> Result<BTreeMap<Gauge, f64>, SquadError> {
        Ok(self.of::<BaseSetting, _>(boat)?.into_iter().filter(|b| b.fact.at <= until).map(|b| (b.fact.gauge, b.fact.setting)).collect())
    }

    /// How a boat was rigged between two moments: the latest reading of each gauge, with who measured and when.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn rigged(&self, boat: Id<Boat>, since: Moment, until: Moment) -> Result<BTreeMap<Gauge, Kept<Reading>>, SquadError> {
        let within = |r: &Kept<Reading>| (since..=until).contains(&r.fact.at);
        Ok(self.of::<Reading, _>(boat)?.into_iter().filter(within).map(|r| (r.fact.gauge, r)).collect())
    }

    /// A boat's boom end at the last two notches measured until a moment, the forward one first; `None` before two are known.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn boom_end_of(&self, boat: Id<Boat>, until: Moment) -> Result<Option<[BoomEndReading; 2]>, SquadError> {
        let mut last: Vec<BoomEndReading> = Vec::new();
        for kept in self.of::<NotchHeight, _>(boat)?.into_iter().rev().filter(|n| n.fact.at <= until) {
            if last.len() < 2 && last.iter().all(|l| l.notch != kept.fact.notch) {
                last.push(BoomEndReading { notch: kept.fact.notch, height: measure::Length::metres(kept.fact.height_m) });
            }
        }
        last.sort_by_key(|l| l.notch);
        Ok(<[BoomEndReading; 2]>::try_from(last).ok())
    }

    /// Whether facts of a kind are known of a boat.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn knows<T: Fact>(&self, boat: Id<Boat>) -> Result<bool, SquadError> {
        Ok(!self.of::<T, _>(boat)?.is_empty())
    }
}
