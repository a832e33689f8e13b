//! Wind and current as a coach gives them: where the wind comes from, where the current sets, true or by compass.

use anyhow::{Context, Result, anyhow, bail};
use measure::angle::DEGREE;
use measure::quantity::{KNOT, OutOfRange, Range};
use measure::wind::{METER_HEIGHT, WIND_RANGE};
use measure::{Bearing, Length, Speed, WindLaw};
use regatta::declination::Declination;
use regatta::sailing::Day;

/// The strongest current that is believed, m/s: 8 knots.
const STRONGEST: f64 = 8.0 * KNOT;
/// Most doubt of the wind, degrees.
const MOST_DOUBT: f64 = 45.0;
/// Heights at which a wind is given, m.
const HEIGHTS: [f64; 2] = [0.5, 30.0];

/// Wind and current, read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RaceWind {
    /// With the wind at 2 m.
    pub day: Day,
    /// How far its direction may turn to either side, rad.
    pub doubt: f64,
    /// The wind as it was given, m/s, and at which height, m.
    pub given: f64,
    /// The height.
    pub height: f64,
}

/// Bearings as they are typed.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Compass {
    /// How far the compass points off here, if that is known.
    pub declination: Option<Declination>,
}

impl Compass {
    /// A bearing in degrees, true, or with M magnetic.
    ///
    /// # Errors
    /// What is no bearing, and a compass bearing where nobody knows how far the compass points off.
    pub fn read(&self, text: &str) -> Result<Bearing> {
        let text = text.trim();
        let number = text.trim_end_matches(['M', 'm', 'T', 't', '°', ' ']);
        let degrees: f64 = number
            .parse()
            .ok()
            .filter(|d| (0.0..=360.0).contains(d))
            .ok_or_else(|| anyhow!("\"{text}\" is no bearing; give degrees from 0 to 360, like 310, or by compass, like 318M"))?;
        if text.to_uppercase().ends_with('M') {
            let declination =
                self.declination.context("a compass bearing needs one buoy with a position, or --place; else give it true")?;
            return Ok(declination.bearing(degrees));
        }
        Ok(Bearing::degrees_true(degrees))
    }
}

/// A number with its unit, or alone in the unit of `alone`.
///
/// # Errors
/// What is no number, or out of its range.
pub fn number(text: &str, range: &Range, alone: f64) -> Result<f64, OutOfRange> {
    match text.trim().replace('\u{2212}', "-").replace(',', ".").parse::<f64>() {
        Ok(value) => range.check(value * alone),
        Err(_) => range.parse(text),
    }
}

/// A wind like "310,10": where it comes from, and m/s.
///
/// # Errors
/// A wind from nowhere, or none.
pub fn wind(text: &str, compass: &Compass) -> Result<(Bearing, f64)> {
    let nowhere = "it says not where the wind comes from; give degrees and knots, like 310,10";
    let Some((from, speed)) = text.split_once(',').filter(|(from, _)| !from.trim().is_empty()) else { bail!(nowhere) };
    let from = compass.read(from)?;
    let given = number(speed, &WIND_RANGE, KNOT)?;
    if given <= 0.0 {
        bail!("no wind, no race; give what is forecast, like 310,8");
    }
    Ok((from, given))
}

/// A height of the wind, m.
///
/// # Errors
/// What is no such height.
pub fn height(text: &str) -> Result<f64> {
    let height = number(text, &Length::RANGE, 1.0)?;
    if !(HEIGHTS[0]..=HEIGHTS[1]).contains(&height) {
        bail!("give metres above the water, 0.5 to 30");
    }
    Ok(height)
}

/// How far the wind may shift to either side, rad.
///
/// # Errors
/// What is no such angle.
pub fn shift(text: &str) -> Result<f64> {
    let degrees: Option<f64> = text.trim().replace(',', ".").parse().ok().filter(|d| (0.0..=MOST_DOUBT).contains(d));
    Ok(degrees.with_context(|| format!("give degrees to either side, 0 to {MOST_DOUBT:.0}, like 5"))? * DEGREE)
}

/// A current like "90,0.3": where it sets, and how fast.
///
/// # Errors
/// What is none, or none to race on.
pub fn current(text: &str, compass: &Compass) -> Result<(Bearing, Speed)> {
    let wrong = "give degrees toward and knots, like 90,0.3";
    let (toward, speed) = text.split_once(',').context(wrong)?;
    let speed = number(speed, &WIND_RANGE, KNOT).context(wrong)?;
    if speed > STRONGEST {
        bail!("{:.1} knots is no water to race on; is it {toward} knots toward {:.0}?", speed / KNOT, speed / KNOT);
    }
    Ok((compass.read(toward).context(wrong)?, Speed::metres_per_second(speed)))
}

/// What is known of the air and the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Where the wind comes from.
    pub from: Bearing,
    /// How hard it blows, m/s, and at which height, m.
    pub given: f64,
    /// The height.
    pub height: f64,
    /// How it grows with height.
    pub law: WindLaw,
    /// How far it may turn to either side, rad.
    pub doubt: f64,
    /// Where the current sets, and how fast.
    pub current: (Bearing, Speed),
}

impl RaceWind {
    /// The wind at 2 m and the current.
    #[must_use]
    pub fn of(weather: &Weather) -> Self {
        let Weather { from, given, height, law, doubt, current } = *weather;
        let wind = law.profile(Speed::metres_per_second(given), Length::metres(height)).at(Length::metres(METER_HEIGHT));
        Self { day: Day { wind_from: from, wind, current_toward: current.0, current: current.1 }, doubt, given, height }
    }
}
