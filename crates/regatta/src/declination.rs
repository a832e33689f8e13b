//! Magnetic declination: how far a hand compass points from true north, by the World Magnetic Model.
//!
//! Source: NOAA NCEI and British Geological Survey, WMM2025 and WMM2020, through the crate `world_magnetic_model`; valid from
//! 2020 to the end of 2029, 1 km below the ellipsoid to 850 km above. It knows the earth's core only: iron ashore or aboard,
//! and what the crust adds, are in the uncertainty at best.

use measure::{Angle, Bearing, Length, Position, Warned, Warning};
use world_magnetic_model::time::Date;
use world_magnetic_model::uom::si::angle::{degree, radian};
use world_magnetic_model::uom::si::f32::{Angle as ModelAngle, Length as ModelLength};
use world_magnetic_model::uom::si::length::meter;
use world_magnetic_model::{GeomagneticField, WarningZone};

use crate::Error;

/// Declination at a place and time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Declination {
    /// East is positive.
    pub angle: Angle,
    /// One standard deviation, from the model's own error model.
    pub sd: Angle,
}

impl Declination {
    /// What a compass reads on a true bearing, degrees magnetic in [0, 360).
    #[must_use]
    pub fn magnetic_degrees(&self, bearing: Bearing) -> f64 {
        (bearing + -self.angle).in_degrees()
    }
    /// The true bearing of a compass reading in degrees magnetic.
    #[must_use]
    pub fn bearing(&self, magnetic_degrees: f64) -> Bearing {
        Bearing::degrees_true(magnetic_degrees) + self.angle
    }
}

/// The declination at a position, height above the ellipsoid and decimal year (2027.5 is the middle of 2027).
///
/// Warns near the magnetic poles, where a compass cannot be trusted.
///
/// # Errors
/// When the year or the height is outside the model.
pub fn declination(at: Position, height: Length, year: f64) -> Result<Warned<Declination>, Error> {
    let wrong = |found: String| Error::new("declination", found, "the model holds from 2020 to the end of 2029, from -1 to 850 km high");
    let date = date(year).ok_or_else(|| wrong(format!("the year {year}")))?;
    let field = GeomagneticField::new(
        ModelLength::new::<meter>(height.si() as f32),
        ModelAngle::new::<degree>(at.latitude() as f32),
        ModelAngle::new::<degree>(at.longitude() as f32),
        date,
    )
    .map_err(|error| wrong(error.to_string()))?;
    let angle = |value: ModelAngle| Angle::radians(f64::from(value.get::<radian>()));
    let value = Declination { angle: angle(field.declination()), sd: angle(field.declination_uncertainty()) };
    let what = match field.declination_warning() {
        None => return Ok(Warned::clean(value)),
        Some(WarningZone::CautionZone) => "near a magnetic pole: a compass may be far off",
        Some(WarningZone::BlackoutZone) => "at a magnetic pole: a compass cannot be used",
    };
    Ok(Warned::new(value, vec![Warning::new("declination", what)]))
}

/// The day of a decimal year; the field turns less than a thousandth of a degree in one, away from the poles.
fn date(year: f64) -> Option<Date> {
    if !(0.0..9999.0).contains(&year) {
        return None;
    }
    let whole = year.floor();
    let days = f64::from(world_magnetic_model::time::util::days_in_year(whole as i32));
    Date::from_ordinal_date(whole as i32, ((year - whole) * days) as u16 + 1).ok()
}
