//! A class's beat solved once for many sailors and kept in a file, so that cards take a moment.
//!
//! The file holds no sailor. What it was solved for is written in it as a hash: a file for another class, sail, water, gusts or
//! version of the program is solved anew and written over. A sailor is read from it by what she leans with
//! ([`boat::crew::Sailor::as_usual`]); who sails another sail, or a hull far from the class's weight, is solved alone.

use std::path::Path;
use std::sync::Mutex;

use anyhow::{Context, Result};
use boat::balance::{Boat, Tack};
use boat::chart::{Cell, Chart};
use boat::crew::{Sailor, Skill};
use boat::handling::BLOW;
use boat::setup::{Leg, Request, Sit};
use boat::spread::{SAMPLES, SEED};
use measure::quantity::KNOT;
use measure::{Length, Speed, WindProfile};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use trimwright::briefing::around::Around;
use trimwright::briefing::doubts::Doubts;

use super::day::Day;
use crate::input;
use crate::jobs::Progress;
use crate::output::WholeFile;

/// Masses of the chart, kg: children who sail such boats, and a little beyond.
const MASSES: [f64; 10] = [26.0, 30.0, 34.0, 38.0, 42.0, 46.0, 50.0, 55.0, 61.0, 68.0];
/// Winds of the chart, knots at 10 m.
const KNOTS: [f64; 6] = [4.0, 7.0, 10.0, 13.5, 17.5, 22.0];
/// A hull this much off the class's own weight, with the water in her, is solved alone, kg. Assumed: two kilograms move no band.
const OFF_WEIGHT: f64 = 3.0;

/// Masses at which hands around the course marks are solved, kg: between them a sailor has the nearest one's. On a card lengths are whole.
const AROUND_MASSES: [f64; 4] = [30.0, 38.0, 48.0, 60.0];

/// Mass at which doubts are solved, kg: a sailor in the middle, as for cards that are solved one by one. Each costs 48 solves a wind.
const DOUBT_MASSES: [f64; 1] = [44.0];

/// What stands in the file.
#[derive(Debug, Serialize, Deserialize)]
struct Kept {
    /// What it was solved for.
    solved_for: String,
    /// The beat, one chart a tack; the second only where the tacks differ.
    starboard: Chart,
    port: Option<Chart>,
    /// What is not known of the beat's settings.
    doubts: Doubts,
    /// What hands do around the course marks, by [`AROUND_MASSES`] and in each by wind; none where the model has no answer.
    around: Vec<Option<Around>>,
}

/// The beat of a usual sailor, who is put in by the chart.
fn request<'a>(boat: &'a Boat, day: &Day, tack: Tack) -> Request<'a> {
    Request {
        boat,
        sailor: Sailor::of(MASSES[0], Skill::default()),
        conditions: day.conditions(1.0, tack),
        gusts: day.gusts,
        reach: None,
        bands: true,
    }
}

/// The charts of a class's first sail.
#[derive(Debug)]
pub(crate) struct Charts {
    kept: Kept,
    /// The hull's weight they stand for, kg.
    hull: f64,
    sail: String,
}

impl Charts {
    /// From their file where it fits, else solved and written there.
    pub(crate) fn of(path: &Path, boat: &Boat, day: &Day) -> Result<Self> {
        let wanted = solved_for(boat, day);
        let sail = boat.class.sails.first().map(|s| s.name.clone()).unwrap_or_default();
        let known = path.exists().then(|| input::bytes(path)).transpose()?;
        let known = known.and_then(|bytes| serde_json::from_slice::<Kept>(&bytes).ok()).filter(|kept| kept.solved_for == wanted);
        if let Some(kept) = known {
            return Ok(Self { kept, hull: boat.class.hull.mass, sail });
        }
        let file = WholeFile::open(path)?;
        let tacks = if boat.tacks_differ() { 2 } else { 1 };
        let points = (tacks * MASSES.len() + DOUBT_MASSES.len() + AROUND_MASSES.len()) * KNOTS.len();
        let progress = Mutex::new(Progress::of("solving the class's chart", points));
        let step = || {
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
            true
        };
        let winds = KNOTS.map(|knots| wind(day, knots));
        let solved = |tack| {
            Chart::solved(&request(boat, day, tack), Skill::default(), &[Leg::Beat], &MASSES, &winds, &step)
                .context("solving the chart was stopped")
        };
        let kept = Kept {
            solved_for: wanted,
            starboard: solved(Tack::Starboard)?,
            port: boat.tacks_differ().then(|| solved(Tack::Port)).transpose()?,
            doubts: Doubts::solved(boat, day, &DOUBT_MASSES, &winds, &step).context("solving the doubts was stopped")?,
            around: AROUND_MASSES
                .iter()
                .flat_map(|mass| winds.map(|wind| (*mass, wind)))
                .collect::<Vec<_>>()
                .into_par_iter()
                .map(|(mass, wind)| {
                    let mut request =
                        Request { sailor: Sailor::of(mass, Skill::default()), bands: false, ..request(boat, day, Tack::Starboard) };
                    request.conditions.wind = wind;
                    let around = Around::solved(&request).ok();
                    step();
                    around
                })
                .collect(),
        };
        file.finish(serde_json::to_string(&kept).context("the chart does not go into JSON")?.as_bytes())?;
        Ok(Self { kept, hull: boat.class.hull.mass, sail })
    }

    /// Whether a sailor in her own boat can be read from them.
    pub(crate) fn hold(&self, boat: &Boat, sail: Option<&str>) -> bool {
        (boat.class.hull.mass - self.hull).abs() <= OFF_WEIGHT && sail.is_none_or(|s| s == self.sail)
    }

    /// What is not known of the beat.
    pub(crate) const fn doubts(&self) -> &Doubts {
        &self.kept.doubts
    }

    /// What hands do around the course marks: of the nearest body, in the nearest wind as a share of it; whether it blows is asked for her own.
    pub(crate) fn around(&self, request: &Request<'_>) -> Option<Around> {
        let nearest = |list: &[f64], value: f64| {
            let far = |at: f64| (at / value).ln().abs();
            (0..list.len()).min_by(|a, b| far(list[*a]).total_cmp(&far(list[*b])))
        };
        let mass = nearest(&AROUND_MASSES, request.sailor.as_usual(&request.boat.constants))?;
        let wind = nearest(&self.kept.starboard.winds, request.conditions.wind.at_meter)?;
        let mut around = self.kept.around.get(mass * KNOTS.len() + wind)?.clone()?;
        let mut weaker = *request;
        weaker.conditions.wind.at_meter /= BLOW;
        let blow = self.beat(&weaker).is_some_and(|beat| beat.sit() == Sit::FlatOut);
        around.blow |= blow;
        Some(around)
    }

    /// A sailor's beat; `None` where the chart has none there.
    pub(crate) fn beat(&self, request: &Request<'_>) -> Option<Cell> {
        let chart = match request.conditions.tack {
            Tack::Port => self.kept.port.as_ref().unwrap_or(&self.kept.starboard),
            Tack::Starboard => &self.kept.starboard,
        };
        let mass = request.sailor.as_usual(&request.boat.constants);
        chart.at(Leg::Beat, mass, request.conditions.wind.at_meter).ok()
    }
}

fn wind(day: &Day, knots: f64) -> WindProfile {
    day.law.profile(Speed::metres_per_second(knots * KNOT), Length::metres(10.0))
}

/// All that a chart depends on, as a hash.
fn solved_for(boat: &Boat, day: &Day) -> String {
    let all = format!(
        "{} {:?} {:?} {:?} {:?} {} {} {MASSES:?} {KNOTS:?} {DOUBT_MASSES:?} {AROUND_MASSES:?} {SAMPLES} {SEED}",
        env!("CARGO_PKG_VERSION"),
        boat.class,
        boat.constants,
        day.water,
        day.law,
        day.gusts,
        day.chop
    );
    Sha256::digest(all.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}
