//! Wind and current as a coach gives them: where the wind comes from, where the current sets, true or by compass.

use anyhow::{Context, Result, anyhow, bail};
use clap::Args;
use measure::angle::DEGREE;
use measure::quantity::KNOT;
use measure::wind::{METER_HEIGHT, WIND_RANGE};
use measure::{Bearing, Length, Speed, WindLaw};
use regatta::declination::Declination;
use regatta::sailing::Day;

use crate::commands::day::number;

/// The strongest current that is believed, m/s: 8 knots.
const STRONGEST: f64 = 8.0 * KNOT;
/// Most doubt of the wind, degrees.
const MOST_DOUBT: f64 = 45.0;

/// Wind and current.
#[derive(Debug, Args)]
pub(super) struct OfDay {
    /// Where the wind comes from in degrees and how hard it blows in knots, like 310,10; true, or with M by compass: "318M,10"
    #[arg(long, value_name = "FROM,KN", allow_hyphen_values = true)]
    wind: String,
    /// How far it may shift to either side, in degrees
    #[arg(long, value_name = "DEG", default_value = "5")]
    shift: String,
    /// Height above the water at which the wind was measured or forecast, in metres
    #[arg(long, value_name = "M", default_value = "10")]
    wind_height: String,
    /// Land close upwind: a small lake or a harbour
    #[arg(long)]
    sheltered: bool,
    /// Where the current sets in degrees and how fast in knots, like 90,0.3
    #[arg(long, value_name = "TOWARD,KN", allow_hyphen_values = true)]
    current: Option<String>,
}

/// Wind and current, read.
#[derive(Debug, Clone, Copy)]
pub(super) struct RaceWind {
    /// With the wind at 2 m.
    pub(super) day: Day,
    /// How far its direction may turn to either side, rad.
    pub(super) doubt: f64,
    /// The wind as it was given, m/s, and at which height, m.
    pub(super) given: f64,
    pub(super) height: f64,
}

/// Bearings as they are typed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Compass {
    /// How far the compass points off here, if that is known.
    pub(super) declination: Option<Declination>,
}

impl Compass {
    /// A bearing in degrees, true, or with M magnetic.
    pub(super) fn read(&self, text: &str) -> Result<Bearing> {
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

impl OfDay {
    /// The day.
    pub(super) fn read(&self, compass: &Compass) -> Result<RaceWind> {
        let Some((from, speed)) = self.wind.split_once(',') else {
            bail!("--wind {}: it says not where the wind comes from; give degrees and knots, like 310,10", self.wind);
        };
        if from.trim().is_empty() {
            bail!("--wind {}: it says not where the wind comes from; give degrees and knots, like 310,10", self.wind);
        }
        let wind_from = compass.read(from).with_context(|| format!("--wind {}", self.wind))?;
        let given = number(speed, &WIND_RANGE, KNOT).with_context(|| format!("--wind {}", self.wind))?;
        if given <= 0.0 {
            bail!("--wind {}: no wind, no race; give what is forecast, like 310,8", self.wind);
        }
        let height = number(&self.wind_height, &Length::RANGE, 1.0).context("--wind-height")?;
        if !(0.5..=30.0).contains(&height) {
            bail!("--wind-height {}: give metres above the water, 0.5 to 30", self.wind_height);
        }
        let law = if self.sheltered { WindLaw::Sheltered } else { WindLaw::Open };
        let wind = law.profile(Speed::metres_per_second(given), Length::metres(height)).at(Length::metres(METER_HEIGHT));
        let doubt: f64 = self
            .shift
            .trim()
            .replace(',', ".")
            .parse()
            .ok()
            .filter(|d| (0.0..=MOST_DOUBT).contains(d))
            .with_context(|| format!("--shift {}: give degrees to either side, 0 to {MOST_DOUBT:.0}, like 5", self.shift))?;
        let (current_toward, current) = match &self.current {
            None => (Bearing::default(), Speed::metres_per_second(0.0)),
            Some(text) => {
                let wrong = || format!("--current {text}: give degrees toward and knots, like 90,0.3");
                let (toward, speed) = text.split_once(',').with_context(wrong)?;
                let speed = number(speed, &WIND_RANGE, KNOT).with_context(wrong)?;
                if speed > STRONGEST {
                    bail!(
                        "--current {text}: {:.1} knots is no water to race on; is it {toward} knots toward {:.0}?",
                        speed / KNOT,
                        speed / KNOT
                    );
                }
                (compass.read(toward).with_context(wrong)?, Speed::metres_per_second(speed))
            }
        };
        let day = Day { wind_from, wind, current_toward, current };
        Ok(RaceWind { day, doubt: doubt * DEGREE, given, height })
    }
}
