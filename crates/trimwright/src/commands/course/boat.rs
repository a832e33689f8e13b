//! The boat of a race day as it is asked for.

use std::path::PathBuf;
use std::sync::Mutex;

use anyhow::{Context, Result, anyhow, bail};
use clap::Args;
use measure::angle::DEGREE;
use measure::quantity::Range;
use measure::{Length, Polar, Warning};
use regatta::sailing::{Day, Stuck};
use trimwright::race_day::boat::{COURSES, Crewed, RaceBoat, Timed, felt};

use crate::commands::day::{Body, OfClass, Weather, number};
use crate::input;
use crate::jobs::Progress;

/// Her length where nobody gave it, m: a small pram's.
const LENGTH: f64 = 2.4;

/// Which boat.
#[derive(Debug, Args)]
pub(super) struct OfBoat {
    #[command(flatten)]
    class: OfClass,
    /// The sailor's mass in kilograms, dressed to sail; also "99 lb". Used here and printed nowhere
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    mass: Option<String>,
    /// The sailor's stature in centimetres; without it that of children of this mass
    #[arg(long, value_name = "CM", requires = "mass")]
    stature: Option<String>,
    /// first season | sails a course | races | races in any wind
    #[arg(long, value_name = "S", requires = "mass")]
    skill: Option<String>,
    /// Boat speed by wind and angle instead (CSV: tws_ms,twa_deg,speed_ms, the wind at 2 m)
    #[arg(long, value_name = "FILE", conflicts_with_all = ["class", "mass"])]
    polar: Option<PathBuf>,
    /// The boat's length in metres, beside a polar
    #[arg(long, value_name = "M", requires = "polar")]
    boat_length: Option<String>,
    /// Leeway on a beat in degrees; without it the class's own, or 4 beside a polar
    #[arg(long, value_name = "DEG")]
    leeway: Option<String>,
    /// Seconds from lying still to nine tenths of full speed on a beat, timed
    #[arg(long, value_name = "S")]
    to_speed: Option<String>,
}

impl OfBoat {
    pub(super) fn read(&self, day: &Day, warnings: &mut Vec<Warning>) -> Result<RaceBoat> {
        let leeway = self.leeway.as_deref().map(degrees).transpose().context("--leeway")?;
        let seconds = |text: &str| -> Result<f64> {
            let read = text.trim().replace(',', ".").parse().ok().filter(|s| (1.0..=60.0).contains(s));
            read.with_context(|| format!("--to-speed {text}: give seconds, 1 to 60, like 8"))
        };
        let timed = Timed { leeway, to_speed: self.to_speed.as_deref().map(seconds).transpose()? };
        match (&self.polar, &self.mass) {
            (Some(path), _) => {
                let polar = Polar::parse(&input::text(path)?).with_context(|| path.display().to_string())?;
                let length = match &self.boat_length {
                    None => LENGTH,
                    Some(text) => number(text, &Range { what: "a boat's length", low: 1.0, high: 15.0, ..Length::RANGE }, 1.0)
                        .context("--boat-length")?,
                };
                RaceBoat::of_polar(polar, length, day, timed, warnings).map_err(stuck)
            }
            (None, Some(mass)) => self.solved(mass, day, timed),
            (None, None) => bail!("which boat? Give --mass KG of her sailor (with --class FILE for another class), or --polar FILE"),
        }
    }

    /// The class solved for its sailor in the wind the boats feel.
    fn solved(&self, mass: &str, day: &Day, timed: Timed) -> Result<RaceBoat> {
        let class = self.class.read()?;
        let sailor = Body::of(mass, self.stature.as_deref(), self.skill.as_deref()).read()?;
        let felt = felt(day).map_err(stuck)?;
        let weather = crate::commands::day::Day { height: measure::wind::METER_HEIGHT, ..Weather::of(&format!("{felt} m/s")).read()? };
        let boat = weather.boat(&class, None)?;
        let progress = Mutex::new(Progress::of("solving courses", COURSES));
        let step = || {
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
            true
        };
        RaceBoat::solved(&Crewed { name: &class.name, boat: &boat, sailor, weather: &weather }, day, timed, &step)
    }
}

/// Why there is no sailing.
pub(super) fn stuck(stuck: Stuck) -> anyhow::Error {
    anyhow!("--wind and --current: {}", stuck.words())
}

fn degrees(text: &str) -> Result<f64> {
    let read = text.trim().replace(',', ".").parse().ok().filter(|d| (0.0..=25.0).contains(d));
    read.map(|d: f64| d * DEGREE).with_context(|| format!("{text}: give degrees, 0 to 25, like 4"))
}
