//! The boat of a race day: a class solved for its sailor in this wind, or a polar somebody made.

use std::path::PathBuf;

use anyhow::{Context, Result, bail};
use boat::balance::Tack;
use boat::polar::polar;
use boat::setup::{Leg, Request};
use boat::turn::Crewed;
use clap::Args;
use measure::angle::DEGREE;
use measure::quantity::{KNOT, Range};
use measure::{Angle, Length, Polar, Speed, Warning};
use regatta::rounding::{Turn, TurningTable};
use regatta::sailing::{Day, Sailing};
use regatta::start::Getaway;

use crate::commands::day::{Body, OfClass, Weather, number};
use crate::input;
use crate::jobs::Progress;
use std::sync::Mutex;

/// Courses solved for the polar, degrees.
const ANGLES: [f64; 15] = [38.0, 42.0, 46.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 120.0, 135.0, 150.0, 165.0, 178.0];
/// Leeway of a boat of whom only a polar is known, degrees. Assumed.
const LEEWAY: f64 = 4.0;
/// Her length, m: a small pram's.
const LENGTH: f64 = 2.4;
/// Seconds from lying still to nine tenths of her speed, where nobody timed it. Assumed.
const TO_SPEED: f64 = 9.0;
/// Water dragged along when she gathers way, over her mass. Assumed: a slender body end on has 0.03 to 0.08.
const DRAGGED: f64 = 1.05;
/// A polar used beyond its winds by more than this share is told.
const BEYOND: f64 = 1.1;

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

/// The boat, read.
#[derive(Debug, Clone)]
pub(super) struct RaceBoat {
    /// What she is.
    pub(super) name: String,
    /// Her speeds.
    pub(super) polar: Polar,
    /// Her length, m.
    pub(super) length: f64,
    /// Between heading and track on a beat, rad.
    pub(super) leeway: f64,
    /// From lying still on a beat.
    pub(super) getaway: Getaway,
    /// How she turns.
    pub(super) turning: TurningTable,
    /// What her speeds rest on, and how she turns.
    pub(super) rests_on: &'static str,
    pub(super) turns_by: &'static str,
}

impl OfBoat {
    pub(super) fn read(&self, day: &Day, warnings: &mut Vec<Warning>) -> Result<RaceBoat> {
        let leeway = self.leeway.as_deref().map(degrees).transpose().context("--leeway")?;
        let seconds = |text: &str| -> Result<f64> {
            let read = text.trim().replace(',', ".").parse().ok().filter(|s| (1.0..=60.0).contains(s));
            read.with_context(|| format!("--to-speed {text}: give seconds, 1 to 60, like 8"))
        };
        let to_speed = self.to_speed.as_deref().map(seconds).transpose()?;
        match (&self.polar, &self.mass) {
            (Some(path), _) => {
                let polar = Polar::parse(&input::text(path)?).with_context(|| path.display().to_string())?;
                let length = match &self.boat_length {
                    None => LENGTH,
                    Some(text) => number(text, &Range { what: "a boat's length", low: 1.0, high: 15.0, ..Length::RANGE }, 1.0)
                        .context("--boat-length")?,
                };
                let sailing = sailing(&polar, day)?;
                let winds = polar.winds();
                if let (Some(low), Some(high)) = (winds.first(), winds.last())
                    && (sailing.wind() * BEYOND < *low || sailing.wind() > high * BEYOND)
                {
                    let what = format!(
                        "the boats feel {:.1} knots at 2 m, and it holds {:.1} to {:.1}; times are a guess",
                        sailing.wind() / KNOT,
                        low / KNOT,
                        high / KNOT
                    );
                    warnings.push(Warning::new("the polar", what));
                }
                let speed = beat_speed(&sailing);
                Ok(RaceBoat {
                    name: "the polar's boat".to_owned(),
                    polar,
                    length,
                    leeway: leeway.unwrap_or(LEEWAY * DEGREE),
                    getaway: Getaway { speed, to_nine_tenths: to_speed.unwrap_or(TO_SPEED) },
                    turning: TurningTable::assumed(),
                    rests_on: "the polar given",
                    turns_by: "assumed",
                })
            }
            (None, Some(mass)) => self.solved(mass, day, leeway, to_speed),
            (None, None) => bail!("which boat? Give --mass KG of her sailor (with --class FILE for another class), or --polar FILE"),
        }
    }

    /// The class solved for its sailor in the wind the boats feel.
    fn solved(&self, mass: &str, day: &Day, leeway: Option<f64>, to_speed: Option<f64>) -> Result<RaceBoat> {
        let class = self.class.read()?;
        let sailor = Body::of(mass, self.stature.as_deref(), self.skill.as_deref()).read()?;
        // Any polar serves to tell the wind over the water.
        let felt = sailing(&Polar::by_rule(&[1.0], |_, _| 1.0), day)?.wind();
        let weather = crate::commands::day::Day { height: measure::wind::METER_HEIGHT, ..Weather::of(&format!("{felt} m/s")).read()? };
        let boat = weather.boat(&class, None)?;
        let conditions = weather.conditions(1.0, Tack::Starboard);
        let request = Request { boat: &boat, sailor, conditions, gusts: 1.0, reach: None, bands: false };
        let progress = Mutex::new(Progress::of("solving courses", ANGLES.len()));
        let step = || {
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
            true
        };
        let solved = polar(&request, &[conditions.wind], &ANGLES.map(|a| a * DEGREE), &step).context("stopped")?;
        drop(progress);
        let best =
            solved.best.iter().filter_map(|b| b.found.ok().map(|(angle, good)| (felt, angle / DEGREE, good.abs() / angle.cos().abs())));
        let rows: Vec<_> =
            solved.courses.iter().filter_map(|c| c.speed.ok().map(|speed| (felt, c.angle / DEGREE, speed))).chain(best).collect();
        let Some(table) = Polar::rows(&rows) else {
            bail!("{}: in {:.1} knots at 2 m no course has a state with this sailor; try another wind", class.name, felt / KNOT);
        };
        let speed = beat_speed(&sailing(&table, day)?);
        let beat = request.leg(Leg::Beat, 0.0).ok();
        let whole = beat.as_ref().map(|beat| &beat.mean().whole);
        let leeway = leeway.or(whole.map(|w| w.leeway.abs())).unwrap_or(LEEWAY * DEGREE);
        // What drives her steadily is what drove her all the way: at rest the wind is further aft and the board slips, one against the other.
        let getaway = match (to_speed, whole) {
            (None, Some(w)) => Getaway::of(DRAGGED * w.mass, speed, w.sail.load.force[0]),
            (to_speed, _) => Getaway { speed, to_nine_tenths: to_speed.unwrap_or(TO_SPEED) },
        };
        let (turning, turns_by) =
            turns(&request).map_or_else(|| (TurningTable::assumed(), "assumed"), |own| (own, "the model's, never timed"));
        let (name, length) = (class.name.clone(), class.hull.length);
        Ok(RaceBoat { name, polar: table, length, leeway, getaway, turning, rests_on: "the model", turns_by })
    }
}

/// The class's own turning table in this wind, where beat and run have an answer.
fn turns(request: &Request<'_>) -> Option<TurningTable> {
    let turns = Crewed::of(request).ok()?.quarter_turns();
    let turns: Vec<Turn> = turns.iter().map(|t| Turn { speed_in: t.speed_in, rate: t.rate, speed_lost: t.speed_lost }).collect();
    TurningTable::of(&turns).ok()
}

fn sailing(polar: &Polar, day: &Day) -> Result<Sailing> {
    match Sailing::of(polar, day) {
        Ok(sailing) => Ok(sailing),
        Err(stuck) => bail!("--wind and --current: {}", stuck.words()),
    }
}

/// Speed through the water on the best beat, or on a reach where there is none, m/s.
fn beat_speed(sailing: &Sailing) -> f64 {
    let reach = sailing.speed(sailing.wind_from() + Angle::degrees(90.0));
    sailing.beat().map_or(reach, |[port, _]| Speed::metres_per_second(port.water[0].hypot(port.water[1])).si()).max(0.05)
}

fn degrees(text: &str) -> Result<f64> {
    let read = text.trim().replace(',', ".").parse().ok().filter(|d| (0.0..=25.0).contains(d));
    read.map(|d: f64| d * DEGREE).with_context(|| format!("{text}: give degrees, 0 to 25, like 4"))
}
