//! Simulated seasons, with known truth, at the level of passes: do the intervals hold it as often as they say, how often is something found that is
//! not there, does the calibration find multipliers that were moved, and does the order of tests that the season page proposes beat chance.
//!
//! The season is ours, invented: four sailors, ten outings, each with one setting on trial over twelve rounds of two pairs, planned by `evidence`. Sizes of what
//! varies are those of the rehearsed outings' line-ups (a pass's own scatter .026 m/s), or assumed.

use std::fmt::Write as _;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, bail};
use evidence::calibration::{Coefficient, Observation, corrected};
use evidence::effect::{Belief, effects};
use evidence::lineup::{Swap, plan};
use evidence::next_test::{Candidate, tests};
use evidence::passes::{Passes, Row};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use rayon::prelude::*;

use crate::page::{self, today};

mod legs;
mod tracks;

/// Settings that may be tried, as the table names them.
const GAUGES: [&str; 4] = ["car_offset", "vang_line", "downhaul_line", "seat_position"];
const SAILORS: usize = 4;
const OUTINGS: usize = 10;
const ROUNDS: usize = 12;
/// What the model does not know of a setting's worth, m/s, and how far its own opinions of settings are apart. Assumed, from the season page's least doubt.
const DOUBT: [f64; 4] = [0.004, 0.01, 0.02, 0.03];
const OPINION: f64 = 0.01;
/// Scatter within a pass, from pass to pass, of sailors, of boats; of the place to windward; m/s.
const SCATTER: f64 = 0.026;
const PASS: f64 = 0.05;
const SAILOR: f64 = 0.015;
const HIGH: f64 = 0.01;
/// A multiplier's doubt, and that of a measured effect, m/s.
const MULTIPLIER: f64 = 0.1;
const MEASURED: f64 = 0.004;
/// Nominal share within an interval, and what the issue allows.
const NOMINAL: (f64, f64, f64) = (0.95, 0.90, 0.97);
/// Nothing further is sought where the doubt's half width is under this, m/s.
const SETTLED: f64 = 0.01;

/// A season's truth.
struct Truth {
    worth: [f64; 4],
    believed: [Belief; 4],
    sailors: Vec<f64>,
}

impl Truth {
    fn drawn(chance: &mut ChaCha8Rng, nothing: bool) -> Self {
        let believed = DOUBT.map(|sd| Belief { mean: normal(chance, OPINION), sd });
        let worth = believed.map(|b| if nothing { 0.0 } else { b.mean + normal(chance, b.sd) });
        Self { worth, believed, sailors: (0..SAILORS).map(|_| normal(chance, SAILOR)).collect() }
    }
}

fn normal(chance: &mut ChaCha8Rng, sd: f64) -> f64 {
    Normal::new(0.0, sd).map_or(0.0, |law| law.sample(chance))
}

/// One outing's passes, with one setting on trial.
fn outing(truth: &Truth, number: usize, gauge: usize, chance: &mut ChaCha8Rng, rows: &mut Vec<Row>) -> Result<()> {
    let swap = Swap::Gauge { gauge: GAUGES[gauge].to_owned(), seconds: Some(30.0) };
    let planned = plan(SAILORS, ROUNDS, &swap, chance.random())?;
    let line = |rows: &Vec<Row>| rows.len() as u64 + 2;
    for (k, pass) in planned.passes.iter().enumerate() {
        let level = 1.2 + normal(chance, PASS);
        let wind = chance.random_range(3.0..6.0);
        for (part, position) in [(pass.high, 0.5), (pass.low, -0.5)] {
            let own = truth.sailors.get(part.sailor).copied().unwrap_or(0.0) + if part.new { truth.worth[gauge] } else { 0.0 };
            let wind = wind + normal(chance, 0.1);
            let vmg = level + own + HIGH * position + 0.05 * (wind - 4.5) + normal(chance, SCATTER);
            let mut settings = vec![0.0; GAUGES.len()];
            settings[gauge] = f64::from(u8::from(part.new));
            let (sailor, boat) = (format!("s{}", part.sailor), format!("b{}", part.sailor));
            rows.push(Row { line: line(rows), pass: format!("{number}-{k}"), sailor, boat, position, wind: Some(wind), vmg, settings });
        }
    }
    Ok(())
}

/// What the passes of one setting say of it.
fn told(rows: &[Row], gauge: usize) -> Option<evidence::effect::Effect> {
    let own: Vec<Row> = rows.iter().map(|r| Row { settings: vec![r.settings[gauge]], ..r.clone() }).collect();
    effects(&Passes { gauges: vec![GAUGES[gauge].to_owned()], rows: own }).value.effects.into_iter().next()
}

/// What came of a season.
#[derive(Debug, Clone, Default)]
struct Season {
    /// Intervals, those that hold the truth, sums of misses; of the passes alone and together with the belief.
    intervals: usize,
    held: usize,
    miss: f64,
    held_together: usize,
    /// Settings worth nothing, and those of them called a find.
    nothing: usize,
    finds: usize,
    /// What is lost by choosing wrongly, m/s over all settings, after each outing.
    regret: Vec<f64>,
}

/// How the next test is chosen.
#[derive(Clone, Copy, PartialEq)]
enum Order {
    Information,
    Chance,
    /// One after the other.
    Turns,
}

fn season(seed: u64, order: Order, nothing: bool) -> Result<Season> {
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    let truth = Truth::drawn(&mut chance, nothing);
    let mut belief = truth.believed;
    let mut by_gauge: [Vec<Row>; 4] = Default::default();
    let mut season = Season::default();
    for k in 0..OUTINGS {
        let gauge = match order {
            Order::Turns => k % GAUGES.len(),
            Order::Chance => chance.random_range(0..GAUGES.len()),
            Order::Information => {
                let candidates: Vec<Candidate> = (0..GAUGES.len())
                    .map(|g| Candidate { gauge: g.to_string(), prior: belief[g], noise_ms: SCATTER * 2.0_f64.sqrt(), seconds: 300.0 })
                    .collect();
                let next = tests(&candidates, 300.0, 90.0, SETTLED)?;
                next.first().and_then(|t| t.gauge.parse().ok()).context("no test is proposed")?
            }
        };
        outing(&truth, k, gauge, &mut chance, &mut by_gauge[gauge])?;
        if let Some(effect) = told(&by_gauge[gauge], gauge) {
            belief[gauge] = effect.with_prior(truth.believed[gauge]);
        }
        season
            .regret
            .push((0..GAUGES.len()).map(|g| truth.worth[g].max(0.0) - if belief[g].mean > 0.0 { truth.worth[g] } else { 0.0 }).sum());
    }
    let all: Vec<Row> = by_gauge.into_iter().flatten().collect();
    for effect in effects(&Passes { gauges: GAUGES.map(str::to_owned).to_vec(), rows: all }).value.effects {
        let Some(g) = GAUGES.iter().position(|g| *g == effect.gauge) else { continue };
        let truth_of = truth.worth[g];
        season.intervals += 1;
        season.held += usize::from((effect.low_ms..=effect.high_ms).contains(&truth_of));
        season.miss += effect.vmg_difference_ms - truth_of;
        let together = effect.with_prior(truth.believed[g]);
        season.held_together += usize::from((together.mean - truth_of).abs() <= 1.96 * together.sd);
        if nothing {
            season.nothing += 1;
            season.finds += usize::from(effect.p_adjusted < 0.05);
        }
    }
    Ok(season)
}

/// Multipliers drawn from what is believed, effects measured of them: shares held, and how far the error shrinks.
fn calibration(seasons: u64) -> Result<(f64, f64, f64)> {
    let (mut held, mut told, mut count, mut before, mut after) = (0, 0, 0, 0.0, 0.0);
    for seed in 0..seasons {
        let mut chance = ChaCha8Rng::seed_from_u64(seed + 5_000_000);
        let names = ["hull.wave", "sail.lift_max", "heel.drag"];
        let coefficients: Vec<Coefficient> =
            names.iter().map(|n| Coefficient { name: (*n).to_owned(), prior: Belief { mean: 1.0, sd: MULTIPLIER } }).collect();
        let truth: Vec<f64> = coefficients.iter().map(|c| c.prior.mean + normal(&mut chance, c.prior.sd)).collect();
        // Of the third multiplier these effects tell nothing, as the seat tells nothing of the hull's waves.
        let observations: Vec<Observation> = (0..8)
            .map(|_| {
                let sensitivities = vec![normal(&mut chance, 0.08), normal(&mut chance, 0.08), 0.0];
                let moved: f64 = sensitivities.iter().zip(&truth).map(|(s, t)| s * (t - 1.0)).sum();
                Observation { observed: 0.01 + moved + normal(&mut chance, MEASURED), sd: MEASURED, predicted: 0.01, sensitivities }
            })
            .collect();
        // One in a thousand is refused as a misfit, by its own limit.
        let Ok(found) = corrected(&coefficients, &observations) else { continue };
        for (c, truth) in found.coefficients.iter().zip(&truth) {
            count += 1;
            held += usize::from((c.after.mean - truth).abs() <= 1.96 * c.after.sd);
            if c.told {
                told += 1;
                before += (c.before.mean - truth).powi(2);
                after += (c.after.mean - truth).powi(2);
            }
        }
    }
    if told == 0 {
        bail!("the calibration told nothing");
    }
    Ok((f64::from(held as u32) / f64::from(count), f64::from(told) / f64::from(count), (after / before).sqrt()))
}

/// Sails so many seasons, one in five as many by legs (each boat is solved anew) and one in fifty from tracks; true when coverage and false finds are as asked and information beats chance.
pub(crate) fn prove(root: &Path, seasons: u64) -> Result<bool> {
    let begun = Instant::now();
    let run = |order: Order, nothing: bool, from: u64| -> Result<Vec<Season>> {
        (from..from + seasons).into_par_iter().map(|seed| season(seed, order, nothing)).collect()
    };
    let turns = run(Order::Turns, false, 0)?;
    let information = run(Order::Information, false, 0)?;
    let chance = run(Order::Chance, false, 0)?;
    let nothing = run(Order::Turns, true, 0)?;
    let sum = |of: &[Season], what: fn(&Season) -> usize| of.iter().map(what).sum::<usize>() as f64;
    let intervals = sum(&turns, |s| s.intervals);
    let coverage = sum(&turns, |s| s.held) / intervals;
    let together = sum(&turns, |s| s.held_together) / intervals;
    let bias = turns.iter().map(|s| s.miss).sum::<f64>() / intervals;
    let finds = sum(&nothing, |s| s.finds) / sum(&nothing, |s| s.nothing);
    let (calibrated, told, shrunk) = calibration(seasons)?;
    let mut text = format!(
        "{}. `cargo xtask prove seasons`: {seasons} seasons of {OUTINGS} outings, each outing {ROUNDS} rounds of two pairs with one of four settings on trial; {:.0} s.\n\n\
         | | found | wanted |\n|---|--:|--:|\n\
         | intervals of the passes alone hold the truth | {coverage:.3} | {}-{} |\n\
         | with the model's own belief | {together:.3} | {}-{} |\n\
         | mean miss, mm/s | {:.2} | 0 |\n\
         | settings worth nothing called a find (adjusted p under .05) | {finds:.3} | .05 at most |\n\
         | calibration holds the multipliers | {calibrated:.3} | {}-{} |\n\
         | multipliers the data told of (of three, one of which nothing can be told) | {told:.2} | .67 |\n\
         | error of those, after over before | {shrunk:.2} | under 1 |\n\n\
         What choosing wrongly still costs, mm/s summed over the four settings, mean over the seasons, after so many outings:\n\n\
         | outings | in the order of information | in turns | by chance | information better than chance in |\n|--:|--:|--:|--:|--:|\n",
        today(),
        begun.elapsed().as_secs_f64(),
        NOMINAL.1,
        NOMINAL.2,
        NOMINAL.1,
        NOMINAL.2,
        1e3 * bias,
        NOMINAL.1,
        NOMINAL.2,
    );
    let mean = |of: &[Season], k: usize| 1e3 * of.iter().filter_map(|s| s.regret.get(k)).sum::<f64>() / of.len() as f64;
    let mut beats = true;
    for k in [0, 1, 2, 3, 5, 9] {
        let better = information.iter().zip(&chance).filter(|(i, c)| i.regret[k] < c.regret[k]).count();
        let worse = information.iter().zip(&chance).filter(|(i, c)| i.regret[k] > c.regret[k]).count();
        beats &= mean(&information, k) <= mean(&chance, k);
        let _ = writeln!(
            text,
            "| {} | {:.2} | {:.2} | {:.2} | {better} seasons, worse in {worse} |",
            k + 1,
            mean(&information, k),
            mean(&turns, k),
            mean(&chance, k)
        );
    }
    const HEAD: &str = "# Seasons with known truth\n\nWritten by `cargo xtask prove seasons`. How far line-ups from tracks are off is in `docs/accuracy.md`.\n";
    page::write(root, "seasons.md", HEAD, "At the level of passes", &text)?;
    let (text, by_legs) = legs::prove(seasons.div_ceil(5))?;
    page::write(root, "seasons.md", HEAD, "Legs", &text)?;
    let (text, from_tracks) = tracks::prove(seasons.div_ceil(50))?;
    page::write(root, "seasons.md", HEAD, "From tracks", &text)?;
    let within = |share: f64| (NOMINAL.1..=NOMINAL.2).contains(&share);
    Ok(within(coverage) && within(together) && within(calibrated) && finds <= 0.06 && beats && shrunk < 1.0 && by_legs && from_tracks)
}
