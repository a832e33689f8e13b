//! A day's wind and water, read: what every solve of that day starts from.

use anyhow::{Context, Result};
use boat::balance::{Boat, Conditions, Tack};
use boat::class::Class;
use boat::constants::Constants;
use measure::fluid::{Fluid, Water, air};
use measure::{Length, Temperature, WindLaw};
use squad::Crew;
use squad::fact::day::{Day as DayFact, FloatsIn, ForecastHour};

/// Air and water where nobody measured them, degrees Celsius. Assumed.
pub const USUAL_TEMPERATURE: f64 = 15.0;
/// Gust over mean on open water: between the sea's 1.23 and the lee of land. Source: Harper, Kepert, Ginger, WMO/TD-1555 (2010), from
/// memory.
pub const GUSTS_OPEN: f64 = 1.3;
/// In the lee of land 1.4 to 1.5, from the same.
pub const GUSTS_SHELTERED: f64 = 1.45;

/// Gust over mean where nobody gave it.
#[must_use]
pub const fn usual_gusts(sheltered: bool) -> f64 {
    if sheltered { GUSTS_SHELTERED } else { GUSTS_OPEN }
}

/// How long a race day's wind is asked for, from its first warning signal, hours. Assumed: a card is for the first races.
const ASKED_HOURS: i64 = 3;
/// Gusts over mean that a solve takes.
const GUSTS: [f64; 2] = [1.0, 1.75];

/// The hours of a forecast that a card is for: from the warning signal on, where one is kept, else all of them.
#[must_use]
pub fn racing(day: &DayFact, hours: &[ForecastHour]) -> Vec<ForecastHour> {
    let zone = jiff::tz::TimeZone::get(&day.timezone).unwrap_or(jiff::tz::TimeZone::UTC);
    let signal = day.warning_signal.as_ref().and_then(|at| at.parse::<jiff::civil::Time>().ok());
    let signal = signal.and_then(|at| day.date.0.to_datetime(at).to_zoned_datetime(zone).ok()).map(|at| at.timestamp().as_second());
    let within = |hour: &&ForecastHour| {
        let at = hour.at.timestamp().as_second();
        signal.is_none_or(|signal| (signal - 3599..signal + ASKED_HOURS * 3600).contains(&at))
    };
    let some: Vec<_> = hours.iter().filter(within).cloned().collect();
    if some.is_empty() { hours.to_vec() } else { some }
}

/// A day's wind, read.
#[derive(Debug, Clone, Copy)]
pub struct Day {
    /// As given, m/s.
    pub given: f64,
    /// Where, m.
    pub height: f64,
    /// Over which water.
    pub law: WindLaw,
    /// Chop, m.
    pub chop: f64,
    /// 3 s gust over mean.
    pub gusts: f64,
    /// Water.
    pub water: Fluid,
    /// Constants of the model: its own, or corrected by the squad's passes.
    pub constants: Constants,
}

/// Which sail of a class has a name.
///
/// # Errors
/// The sails it has, where it has none of that name.
pub fn sail_of(class: &Class, name: &str) -> Result<usize> {
    class.sails.iter().position(|s| s.name == name).with_context(|| {
        let names: Vec<_> = class.sails.iter().map(|s| s.name.as_str()).collect();
        format!("sail \"{name}\": this class has {}", names.join(", "))
    })
}

impl Day {
    /// A mean wind (m/s) at ten metres over open sea, and nothing else said.
    #[must_use]
    pub fn open(given: f64) -> Self {
        let water = Water::Sea.at(Temperature::celsius(USUAL_TEMPERATURE));
        Self { given, height: 10.0, law: WindLaw::Open, chop: 0.0, gusts: GUSTS_OPEN, water, constants: *Constants::standard() }
    }
    /// A day as it is kept, in the hours a card is for: the mean of them at ten metres, as gusty as they say. `None` without a forecast.
    #[must_use]
    pub fn kept(day: &DayFact, hours: &[ForecastHour]) -> Option<Self> {
        let law = if day.sheltered { WindLaw::Sheltered } else { WindLaw::Open };
        let ten = Length::metres(10.0);
        let hours = racing(day, hours);
        if hours.is_empty() {
            return None;
        }
        let at_ten =
            |hour: &ForecastHour| law.profile(measure::Speed::metres_per_second(hour.wind_ms), Length::metres(hour.height_m)).at(ten).si();
        let gusts: Vec<f64> = hours.iter().filter_map(|hour| Some(hour.gust_ms? / hour.wind_ms.max(0.5))).filter(|g| *g > 1.0).collect();
        let forecast = if gusts.is_empty() { usual_gusts(day.sheltered) } else { gusts.iter().sum::<f64>() / gusts.len() as f64 };
        let water = if day.water == FloatsIn::Fresh { Water::Fresh } else { Water::Sea };
        Some(Self {
            given: hours.iter().map(at_ten).sum::<f64>() / hours.len() as f64,
            height: 10.0,
            law,
            chop: day.chop_m,
            gusts: day.gusts.unwrap_or(forecast).clamp(GUSTS[0], GUSTS[1]),
            water: water.at(Temperature::celsius(USUAL_TEMPERATURE)),
            constants: *Constants::standard(),
        })
    }
    /// The same day by other constants of the model.
    #[must_use]
    pub fn by(self, constants: &Constants) -> Self {
        Self { constants: *constants, ..self }
    }
    /// The conditions of a wind `share` times the day's.
    pub fn conditions(&self, share: f64, tack: Tack) -> Conditions {
        let speed = measure::Speed::metres_per_second(self.given * share);
        Conditions {
            wind: self.law.profile(speed, Length::metres(self.height)),
            air: air(Temperature::celsius(USUAL_TEMPERATURE)),
            chop: self.chop,
            tack,
        }
    }
    /// A squad's own boat on this water: her hull's weight, and the water found in her.
    pub fn own(&self, class: &Class, crew: &Crew) -> Result<Boat> {
        let mut own = class.clone();
        if let Some(mass) = crew.boat.hull_mass {
            own.hull.mass = mass.in_kilograms();
        }
        own.hull.mass += crew.boat.water_found.map_or(0.0, |w| w.in_kilograms());
        self.boat(&own, crew.sailor.sail.as_deref()).with_context(|| format!("boat {}", crew.boat.label))
    }
    /// The boat of a class on this water.
    pub fn boat(&self, class: &Class, sail: Option<&str>) -> Result<Boat> {
        let index = match sail {
            None => 0,
            Some(name) => sail_of(class, name)?,
        };
        Ok(Boat::new(class, index, self.water, &self.constants))
    }
}
