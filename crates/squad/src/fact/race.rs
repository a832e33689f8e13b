//! Series of races, the coach's files as they came; and the course of a race day, as it was typed.

use super::day::{Day, WIND};
use super::{LONGEST_FILE, check_range, check_words, fact};
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

fact! {
    /// The course of a day: buoys that were laid, or a sketch; and the wind and current it was told in. What it comes to is computed anew.
    Course = "course" {
        /// Which day.
        day: Id<Day>,
        /// The buoys, a line each, as they were typed or brought; not read where a sketch stands.
        buoys_text: String,
        /// The kind of the sketch, where nothing is laid.
        sketch: Option<String>,
        /// Where the sketch's beat points, radians from true north; into the wind where nobody said.
        axis_rad: Option<f64>,
        /// The sketch's beat, m.
        beat_m: f64,
        /// The sketch's start line, m.
        line_m: f64,
        /// A leeward gate in the sketch.
        with_gate: bool,
        /// An offset in the sketch.
        with_offset: bool,
        /// Where the middle of the sketch's start line lies, as it was typed.
        place: String,
        /// The kind of a laid course, where its buoys' names leave it open.
        kind_text: Option<String>,
        /// How many times round; as is usual where nobody said.
        laps: Option<u32>,
        /// The order of the sailing instructions, by the buoys' names; empty where the kind tells it.
        order_text: String,
        /// Course marks are left to starboard.
        starboard: bool,
        /// Where the wind comes from, radians from true north; the day's forecast where nobody said otherwise.
        wind_from_rad: Option<f64>,
        /// How hard it blows, m/s.
        wind_ms: Option<f64>,
        /// At which height that is, m.
        wind_height_m: Option<f64>,
        /// How far it may turn to either side, rad.
        shift_rad: f64,
        /// Where the current sets, radians from true north.
        current_toward_rad: Option<f64>,
        /// How fast, m/s.
        current_ms: f64,
        /// A practice start's signals instead of those of rule 26.
        practice_signals: bool,
    }

    fn check(&self) -> Result<(), String> {
        let turn = [0.0, core::f64::consts::TAU];
        check_words("the buoys", &self.buoys_text)?;
        check_words("the place of the sketch", &self.place)?;
        check_words("the order of the course", &self.order_text)?;
        for words in [&self.sketch, &self.kind_text].into_iter().flatten() {
            check_words("the kind of the course", words)?;
        }
        check_range("the axis of the course", self.axis_rad, turn, "rad")?;
        check_range("the beat", Some(self.beat_m), [1.0, 10_000.0], "m")?;
        check_range("the start line", Some(self.line_m), [1.0, 2000.0], "m")?;
        check_range("where the wind is from", self.wind_from_rad, turn, "rad")?;
        check_range("the wind", self.wind_ms, WIND, "m/s")?;
        check_range("the height of the wind", self.wind_height_m, [0.5, 30.0], "m")?;
        check_range("the shift of the wind", Some(self.shift_rad), [0.0, 1.0], "rad")?;
        check_range("where the current sets", self.current_toward_rad, turn, "rad")?;
        check_range("the current", Some(self.current_ms), [0.0, 10.0], "m/s")
    }
}

impl Store {
    /// The course of a day, the one written last.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn course_of(&self, day: Id<Day>) -> Result<Option<Kept<Course>>, SquadError> {
        Ok(self.of::<Course, _>(day)?.into_iter().max_by_key(|c| c.edited_at))
    }

    /// All series, by name.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn series(&self) -> Result<Vec<Kept<Series>>, SquadError> {
        self.all()
    }
}
