//! Legs with known truth: seasons of ordinary beats that boats with moved multipliers sailed, weighed beside a few line-ups.
//!
//! A season has its own multipliers, drawn from what is believed of them, and each boat is solved anew with these: what is tested is also that the change of an answer is
//! taken for a straight line. Sailors, days and gusts differ by more than is believed in half of the seasons.

use std::fmt::Write as _;
use std::time::Instant;

use anyhow::{Context, Result, anyhow, bail};
use boat::balance::{Boat, Conditions, Tack};
use boat::class::Class;
use boat::constants::{Constants, all};
use boat::crew::{Sailor, Skill};
use boat::optimum::Trimmed;
use boat::setup::{Leg, LegSetup, Request};
use evidence::calibration::{Calibration, Coefficient, Observation, corrected};
use evidence::effect::Belief;
use evidence::legs::{Stretch, legs};
use measure::fluid::{Water, air};
use measure::{Length, Speed, Temperature, WindLaw};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::{MEASURED, NOMINAL, normal};
use crate::page::today;

/// The constants that a squad's evidence may move, as the season page has them.
const MULTIPLIERS: [&str; 6] = [
    "hull.residuary_scale",
    "section.lift_max_flat",
    "hull.residuary_heel",
    "hull.dynamic_trim",
    "hull.leeway_drag",
    "section.lift_max_camber_scale",
];
/// A squad, kg, and winds of its outings at 2 m, m/s. Invented.
const MASSES: [f64; 8] = [32.0, 35.0, 38.0, 41.0, 44.0, 47.0, 50.0, 54.0];
const WINDS: [f64; 6] = [2.2, 3.0, 4.0, 5.0, 6.0, 7.0];
/// Stretches of an outing.
const STRETCHES: usize = 12;
/// How sailors differ, m/s, in one half of the seasons and in the other; from day to day; by gusts from stretch to stretch, and how much of these stays to
/// the next; what all of a stretch share. Assumed.
const SKILL: [f64; 2] = [0.01, 0.05];
const DAY: f64 = 0.01;
const GUST: (f64, f64) = (0.04, 0.5);
const LEVEL: f64 = 0.1;
/// Chance that somebody talks through a stretch, and what it costs her, m/s. Assumed.
const TALKS: (f64, f64) = (0.02, 0.5);
/// Line-ups beside the legs, each with its own sensitivities (m/s for a unit). Assumed.
const LINEUPS: usize = 2;
const SENSITIVE: f64 = 0.08;
/// A multiplier is told of when a tenth of its doubt is gone.
const TOLD: f64 = 0.9;

/// The model for each sailor in each wind, set as her card has it.
struct Ground {
    boat: Boat,
    /// By mass, then by wind.
    cells: Vec<Cell>,
}

struct Cell {
    mass: f64,
    wind: f64,
    best: LegSetup,
    foreseen: f64,
    sensitivities: Vec<f64>,
}

fn request(boat: &Boat, mass: f64, at_meter: f64) -> Request<'_> {
    let wind = WindLaw::Open.profile(Speed::metres_per_second(at_meter), Length::metres(2.0));
    let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
    Request { boat, sailor: Sailor::of(mass, Skill::Races), conditions, gusts: 1.0, reach: None, bands: false }
}

/// A boat with multipliers moved by so much.
fn moved(boat: &Boat, by: &[f64]) -> Boat {
    boat.by(&Constants::chosen(|c| c.value + MULTIPLIERS.iter().zip(by).find(|(name, _)| **name == c.name).map_or(0.0, |(_, by)| *by)))
}

/// Speed made good with the settings of a known beat, course and boom taken anew.
fn made_good(boat: &Boat, mass: f64, wind: f64, near: &Trimmed) -> Option<f64> {
    Some(request(boat, mass, wind).trimmed(Leg::Beat, &near.controls, Some(near)).ok()?.0.whole.made_good)
}

fn believed() -> Vec<Coefficient> {
    let belief = |name: &str| all().iter().find(|c| c.name == name).map(|c| Belief { mean: c.value, sd: (c.high - c.low) / (2.0 * 1.96) });
    MULTIPLIERS.iter().filter_map(|name| Some(Coefficient { name: (*name).to_owned(), prior: belief(name)? })).collect()
}

impl Ground {
    fn solved(coefficients: &[Coefficient]) -> Result<Self> {
        let boat = Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard());
        let places: Vec<(f64, f64)> = MASSES.iter().flat_map(|m| WINDS.iter().map(move |w| (*m, *w))).collect();
        let cell = |(mass, wind): &(f64, f64)| -> Result<Cell> {
            let none = || anyhow!("the pram has no beat for {mass} kg in {wind} m/s");
            let best = request(&boat, *mass, *wind).leg(Leg::Beat, 0.0).map_err(|_| none())?;
            let near = best.mean();
            let slope = |(k, c): (usize, &Coefficient)| {
                let with = |by: f64| {
                    let mut moves = [0.0; MULTIPLIERS.len()];
                    moves[k] = by;
                    made_good(&moved(&boat, &moves), *mass, *wind, near)
                };
                Some((with(0.5 * c.prior.sd)? - with(-0.5 * c.prior.sd)?) / c.prior.sd)
            };
            let sensitivities: Option<Vec<f64>> = coefficients.iter().enumerate().map(slope).collect();
            let sensitivities = sensitivities.with_context(|| format!("{mass} kg in {wind} m/s: no answer beside what is believed"))?;
            let foreseen = made_good(&boat, *mass, *wind, near).with_context(none)?;
            Ok(Cell { mass: *mass, wind: *wind, foreseen, sensitivities, best })
        };
        let cells: Result<Vec<Cell>> = places.par_iter().map(cell).collect();
        Ok(Self { cells: cells?, boat })
    }

    /// What each would make good with the season's own multipliers. None where one of them has no answer.
    fn sailed(&self, moves: &[f64]) -> Option<Vec<f64>> {
        let boat = moved(&self.boat, moves);
        self.cells.iter().map(|c| made_good(&boat, c.mass, c.wind, c.best.mean())).collect()
    }

    fn season(&self, truth: &[f64], skill: f64, chance: &mut ChaCha8Rng) -> Vec<Stretch> {
        let sailors: Vec<f64> = MASSES.iter().map(|_| normal(chance, skill)).collect();
        let mut rows = Vec::new();
        for outing in 0..WINDS.len() {
            let days: Vec<f64> = MASSES.iter().map(|_| normal(chance, DAY)).collect();
            let mut gusts = [0.0; MASSES.len()];
            for k in 0..STRETCHES {
                let level = normal(chance, LEVEL);
                for (sailor, gust) in gusts.iter_mut().enumerate() {
                    *gust = GUST.1 * *gust + normal(chance, GUST.0);
                    let place = sailor * WINDS.len() + outing;
                    let talks = if chance.random_bool(TALKS.0) { -TALKS.1 } else { 0.0 };
                    let made_good = truth[place] + level + sailors[sailor] + days[sailor] + *gust + talks;
                    let Cell { foreseen, sensitivities, .. } = &self.cells[place];
                    let number = (STRETCHES + 8) * outing + k;
                    rows.push(Stretch { number, sailor, outing, made_good, foreseen: *foreseen, sensitivities: sensitivities.clone() });
                }
            }
        }
        rows
    }
}

/// What came of a season, by multiplier.
#[derive(Default, Clone)]
struct Came {
    /// Held by the interval after line-ups alone, and after line-ups and legs.
    held: [[usize; MULTIPLIERS.len()]; 2],
    /// Doubt after, as a share of that before.
    doubt: [[f64; MULTIPLIERS.len()]; 2],
    /// Square of the miss in units of the doubt before.
    miss: [[f64; MULTIPLIERS.len()]; 3],
    /// Signed miss after both, in the same units.
    bias: [f64; MULTIPLIERS.len()],
}

fn season(ground: &Ground, coefficients: &[Coefficient], seed: u64) -> Option<Came> {
    let mut chance = ChaCha8Rng::seed_from_u64(seed + 9_000_000);
    let moves: Vec<f64> = coefficients.iter().map(|c| normal(&mut chance, c.prior.sd)).collect();
    let seen: Vec<Observation> = (0..LINEUPS)
        .map(|_| {
            let units = |c: &Coefficient, v: f64| v * 0.1 / c.prior.sd;
            let sensitivities: Vec<f64> = coefficients.iter().map(|c| units(c, normal(&mut chance, SENSITIVE))).collect();
            let moved: f64 = sensitivities.iter().zip(&moves).map(|(s, m)| s * m).sum();
            Observation { observed: moved + normal(&mut chance, MEASURED), sd: MEASURED, predicted: 0.0, sensitivities }
        })
        .collect();
    let truth = ground.sailed(&moves)?;
    let told = legs(&ground.season(&truth, SKILL[(seed % 2) as usize], &mut chance), coefficients)?;
    let both = [seen.clone(), told.observations].concat();
    let found: [Calibration; 2] = [corrected(coefficients, &seen).ok()?, corrected(coefficients, &both).ok()?];
    let mut came = Came::default();
    for (k, (c, moves)) in coefficients.iter().zip(&moves).enumerate() {
        let truth = c.prior.mean + moves;
        came.miss[0][k] = (moves / c.prior.sd).powi(2);
        for (way, found) in found.iter().enumerate() {
            let after = found.coefficients.get(k)?.after;
            let miss = (after.mean - truth) / c.prior.sd;
            came.held[way][k] = usize::from((after.mean - truth).abs() <= 1.96 * after.sd);
            came.doubt[way][k] = after.sd / c.prior.sd;
            came.miss[1 + way][k] = miss * miss;
            came.bias[k] = miss;
        }
    }
    Some(came)
}

/// Sails so many seasons; the page's part, and whether the intervals hold as often as asked and the legs tell more than line-ups alone.
pub(super) fn prove(seasons: u64) -> Result<(String, bool)> {
    let begun = Instant::now();
    let coefficients = believed();
    let ground = Ground::solved(&coefficients)?;
    let came: Vec<Option<Came>> = (0..seasons).into_par_iter().map(|seed| season(&ground, &coefficients, seed)).collect();
    let told: Vec<&Came> = came.iter().flatten().collect();
    if told.len() * 10 < came.len() * 9 {
        bail!("{} of {} seasons of legs came to no answer", came.len() - told.len(), came.len());
    }
    let n = told.len() as f64;
    let mean = |of: &dyn Fn(&Came) -> f64| told.iter().map(|c| of(c)).sum::<f64>() / n;
    let mut text = format!(
        "{}. {seasons} seasons of {} outings in {} to {} m/s of wind, {} sailors, {STRETCHES} stretches of three minutes each, beside {LINEUPS} line-ups; \
         every boat solved anew with the season's own multipliers; {:.0} s. {} came to no answer (a boat that has none with multipliers that far off, or a calibration that \
         refuses the misfit).\n\n\
         | multiplier | interval holds it, line-ups alone | with legs | doubt left, line-ups alone | with legs | error left | mean miss, of the doubt before |\n\
         |---|--:|--:|--:|--:|--:|--:|\n",
        today(),
        WINDS.len(),
        WINDS[0],
        WINDS[WINDS.len() - 1],
        MASSES.len(),
        begun.elapsed().as_secs_f64(),
        came.len() - told.len(),
    );
    let mut good = true;
    for (k, name) in MULTIPLIERS.iter().enumerate() {
        let held = |way: usize| mean(&|c| f64::from(c.held[way][k] as u32));
        let doubt = |way: usize| mean(&|c| c.doubt[way][k]);
        let error = (mean(&|c| c.miss[2][k]) / mean(&|c| c.miss[0][k])).sqrt();
        let bias = mean(&|c| c.bias[k]);
        let _ = writeln!(
            text,
            "| `{name}` | {:.3} | {:.3} | {:.2} | {:.2}{} | {error:.2} | {bias:+.3} |",
            held(0),
            held(1),
            doubt(0),
            doubt(1),
            if doubt(1) < TOLD * doubt(0) { "" } else { " (nothing told)" }
        );
        good &= (NOMINAL.1..=NOMINAL.2).contains(&held(1)) && error < 1.0;
    }
    text.push_str("\nError left: root of the mean square miss after line-ups and legs, over that of the belief before. Wanted: an interval of .95 holds the truth in .90 to .97.\n");
    Ok((text, good))
}
