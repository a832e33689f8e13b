//! A day's wind and water, read: what every solve of that day starts from.

use anyhow::{Context, Result};
use boat::balance::{Boat, Conditions, Tack};
use boat::class::Class;
use boat::constants::Constants;
use measure::fluid::{Fluid, Water, air};
use measure::{Length, Temperature, WindLaw};
use squad::Crew;

/// Air and water where nobody measured them, degrees Celsius. Assumed.
pub const USUAL_TEMPERATURE: f64 = 15.0;
/// Gust over mean on open water: between the sea's 1.23 and the lee of land. Source: Harper, Kepert, Ginger, WMO/TD-1555 (2010), from
/// memory.
pub const GUSTS_OPEN: f64 = 1.3;
/// In the lee of land 1.4 to 1.5, from the same.
pub const GUSTS_SHELTERED: f64 = 1.45;

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
}

impl Day {
    /// A mean wind (m/s) at ten metres over open sea, and nothing else said.
    #[must_use]
    pub fn open(given: f64) -> Self {
        let water = Water::Sea.at(Temperature::celsius(USUAL_TEMPERATURE));
        Self { given, height: 10.0, law: WindLaw::Open, chop: 0.0, gusts: GUSTS_OPEN, water }
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
            Some(name) => class.sails.iter().position(|s| s.name == name).with_context(|| {
                let names: Vec<_> = class.sails.iter().map(|s| s.name.as_str()).collect();
                format!("sail \"{name}\": this class has {}", names.join(", "))
            })?,
        };
        Ok(Boat::new(class, index, self.water, Constants::standard()))
    }
}
