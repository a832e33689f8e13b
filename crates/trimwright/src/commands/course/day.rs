//! Wind and current as they are typed.

use anyhow::{Context, Result};
use clap::Args;
use measure::{Bearing, Speed, WindLaw};
use trimwright::race_day::wind::{Compass, RaceWind, Weather, current, height, shift, wind};

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

impl OfDay {
    /// The day.
    pub(super) fn read(&self, compass: &Compass) -> Result<RaceWind> {
        let (from, given) = wind(&self.wind, compass).with_context(|| format!("--wind {}", self.wind))?;
        let still = (Bearing::default(), Speed::metres_per_second(0.0));
        let current =
            self.current.as_deref().map(|text| current(text, compass).with_context(|| format!("--current {text}"))).transpose()?;
        Ok(RaceWind::of(&Weather {
            from,
            given,
            height: height(&self.wind_height).with_context(|| format!("--wind-height {}", self.wind_height))?,
            law: if self.sheltered { WindLaw::Sheltered } else { WindLaw::Open },
            doubt: shift(&self.shift).with_context(|| format!("--shift {}", self.shift))?,
            current: current.unwrap_or(still),
        }))
    }
}
