//! Days: where, what was forecast, who sails which boat, what was ticked; and the club's limits.

use boat::crew::Skill;
use serde::{Deserialize, Serialize};

use super::boat_facts::Boat;
use super::sailor::Sailor;
use super::{Held, Holds, Kept, check_range, check_words, fact};
use crate::error::SquadError;
use crate::id::{Date, Id, Moment};
use crate::store::Store;

/// Winds a store takes, m/s. Source: the strongest wind measured near the ground, 113 m/s (WMO, Barrow Island 1996), from memory.
pub(crate) const WIND: [f64; 2] = [0.0, 113.0];

/// What the boats float in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FloatsIn {
    /// Salt water.
    Sea,
    /// Fresh water.
    Fresh,
}
impl Held for FloatsIn {
    const HOLDS: Holds = Holds::Text;
}

fact! {
    /// A day on the water. Two coaches may each have one of the same date; both stay.
    Day = "day" {
        /// Its date, where the sailing is.
        date: Date,
        /// Where.
        venue: String,
        /// The timezone of its clock times, like "Europe/Lisbon".
        timezone: String,
        /// The first warning signal, local time, like "13:00".
        warning_signal: Option<String>,
        /// What the boats float in.
        water: FloatsIn,
        /// The water's temperature, K.
        water_temperature_k: Option<f64>,
        /// Land close upwind.
        sheltered: bool,
        /// Chop, trough to crest, m.
        chop_m: f64,
        /// A three-second gust over the mean wind.
        gusts: Option<f64>,
        /// Whether the wind blows off the shore; `None` is: nobody said.
        offshore: Option<bool>,
        /// Whether it blows against the tide.
        against_tide: Option<bool>,
        /// Whether there is thunder about, or forecast.
        thunder: Option<bool>,
        /// Safety boats out.
        safety_boats: Option<u32>,
        /// What else the coach wrote about it.
        words: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the venue", &self.venue)?;
        check_words("the words about a day", &self.words)?;
        if jiff::tz::TimeZone::get(&self.timezone).is_err() {
            return Err(format!("\"{}\" is no timezone: write one like Europe/Lisbon or UTC", self.timezone));
        }
        if let Some(at) = &self.warning_signal
            && at.parse::<jiff::civil::Time>().is_err()
        {
            return Err(format!("the warning signal at \"{at}\": write it like 13:00"));
        }
        check_range("the water's temperature", self.water_temperature_k, [270.0, 310.0], "K")?;
        check_range("the chop", Some(self.chop_m), [0.0, 1.0], "m")?;
        check_range("gusts over the mean wind", self.gusts, [1.0, 1.75], "")
    }
}

impl Day {
    /// The first and the last moment of it, by its own timezone.
    #[must_use]
    pub fn span(&self) -> [Moment; 2] {
        span(self.date, &jiff::tz::TimeZone::get(&self.timezone).unwrap_or(jiff::tz::TimeZone::UTC))
    }
}

/// The first and last moment of a date.
pub(crate) fn span(date: Date, zone: &jiff::tz::TimeZone) -> [Moment; 2] {
    let start = |date: jiff::civil::Date| date.to_zoned_datetime(zone.clone()).map_or(0, |z| z.timestamp().as_millisecond());
    let end = date.0.tomorrow().map_or(i64::MAX, start);
    [Moment::of_millis(start(date.0)), Moment::of_millis(end - 1)]
}

fact! {
    /// The wind forecast for one hour of a day.
    ForecastHour = "forecast_hour" {
        /// Which day.
        day: Id<Day>,
        /// The hour's start.
        at: Moment,
        /// Mean wind, m/s.
        wind_ms: f64,
        /// At which height, m.
        height_m: f64,
        /// From where, radians from true north, clockwise.
        from_rad: Option<f64>,
        /// Gust, m/s.
        gust_ms: Option<f64>,
        /// Whose forecast.
        source: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("whose forecast it is", &self.source)?;
        check_range("the wind", Some(self.wind_ms), WIND, "m/s")?;
        check_range("the gust", self.gust_ms, WIND, "m/s")?;
        check_range("the height of the wind", Some(self.height_m), [0.5, 30.0], "m")?;
        check_range("where the wind is from", self.from_rad, [0.0, core::f64::consts::TAU], "rad")
    }
}

fact! {
    /// The most gust a club lets a skill out in.
    GustLimit = "gust_limit" {
        /// The class, by name.
        class: String,
        /// The skill.
        #[serde(with = "super::written::skill")]
        skill: Skill,
        /// Three-second gust at 2 m, m/s.
        gust_ms: f64,
        /// Who decided it.
        decided_by: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the class", &self.class)?;
        check_words("who decided", &self.decided_by)?;
        check_range("the gust", Some(self.gust_ms), WIND, "m/s")
    }
}

fact! {
    /// How many sailors afloat a club lets a safety boat look after. The latest counts.
    SafetyLimit = "safety_limit" {
        /// Sailors to a safety boat, at most.
        sailors: f64,
        /// Who decided it.
        decided_by: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("who decided", &self.decided_by)?;
        check_range("sailors to a safety boat", Some(self.sailors), [1.0, 50.0], "")
    }
}

fact! {
    /// Who sails which boat on a day.
    Crewed = "crew" {
        /// Which day.
        day: Id<Day>,
        /// The sailor.
        sailor: Id<Sailor>,
        /// The boat.
        boat: Id<Boat>,
        /// Her place in the order of launching.
        launch_order: Option<u32>,
    }
}

fact! {
    /// A line of a checklist ticked on a day: of a sailor's kit, or of a boat.
    Tick = "tick" {
        /// Which day.
        day: Id<Day>,
        /// Whose.
        sailor: Option<Id<Sailor>>,
        /// Which boat's.
        boat: Option<Id<Boat>>,
        /// When.
        at: Moment,
        /// Which line, by its key.
        item: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the line that was ticked", &self.item)
    }
}

impl Store {
    /// The days of a date: mostly one.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn days_on(&self, date: Date) -> Result<Vec<Kept<Day>>, SquadError> {
        self.rows::<Day>("withdrawn = 0 AND date = $1", &[&date.to_string()])
    }

    /// A day's forecast, by hour.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn forecast_of(&self, day: Id<Day>) -> Result<Vec<Kept<ForecastHour>>, SquadError> {
        self.of(day)
    }

    /// Who sails on a day, by launch order; who has none comes last.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn crews_of(&self, day: Id<Day>) -> Result<Vec<Kept<Crewed>>, SquadError> {
        let mut crews: Vec<Kept<Crewed>> = self.of(day)?;
        crews.sort_by_key(|c| c.fact.launch_order.unwrap_or(u32::MAX));
        Ok(crews)
    }

    /// What was ticked on a day, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn ticks_of(&self, day: Id<Day>) -> Result<Vec<Kept<Tick>>, SquadError> {
        self.of(day)
    }

    /// How many sailors a safety boat may look after, where the club said so.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn safety_limit(&self) -> Result<Option<Kept<SafetyLimit>>, SquadError> {
        Ok(self.all::<SafetyLimit>()?.into_iter().max_by_key(|l| (l.edited_at, l.id)))
    }

    /// The club's limits.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn gust_limits(&self) -> Result<Vec<Kept<GustLimit>>, SquadError> {
        self.all()
    }
}
