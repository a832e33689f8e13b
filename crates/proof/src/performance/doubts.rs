//! How far each constant moves the settings: one at a time to either end of its range, beat and run solved anew.

use std::fs;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, anyhow};
use boat::balance::Control;
use boat::constants::all;
use boat::moves::{Moved, Moves};
use boat::setup::Leg;
use rayon::prelude::*;

use super::{pram, request, today};

/// Winds at 2 m, m/s: below and about the wind in which she is overpowered.
const WINDS: [f64; 2] = [3.5, 6.5];
/// The legs of cards and dock rounds. On a reach the best is so flat that the search itself wanders by more than a constant moves it.
const LEGS: [Leg; 2] = [Leg::Beat, Leg::Run];
/// Moves kept of one constant, and the least worth keeping, in steps.
const KEPT: usize = 4;
const LEAST: f64 = 0.1;

/// Writes data/moves.toml. Always true: it measures and judges nothing.
pub(crate) fn prove(root: &Path) -> Result<bool> {
    let begun = Instant::now();
    let boat = pram();
    let mut moved: Vec<Moved> = Vec::new();
    for wind in WINDS {
        let request = request(&boat, wind, 1.3, false);
        let mut rake = 0.0;
        for leg in LEGS {
            let setup = request.leg(leg, rake).map_err(|status| anyhow!("{} at {wind} m/s: {}", leg.name(), status.words()))?;
            if leg == Leg::Beat {
                rake = setup.mean().controls[Control::Rake.index()];
            }
            let mut here: Vec<Moved> = all().par_iter().flat_map_iter(|constant| request.moves(&setup, rake, constant)).collect();
            let squares = |gauge, here: &[Moved]| here.iter().filter(|m| m.gauge == gauge).map(|m| m.steps * m.steps).sum::<f64>();
            let sums: Vec<f64> = here.iter().map(|m| squares(m.gauge, &here)).collect();
            for (m, sum) in here.iter_mut().zip(sums) {
                m.share = if sum > 0.0 { m.steps * m.steps / sum } else { 0.0 };
            }
            eprintln!("{} at {wind} m/s, {:.0} s", leg.name(), begun.elapsed().as_secs_f64());
            moved.append(&mut here);
        }
    }
    moved.sort_by(|a, b| b.steps.total_cmp(&a.steps));
    let kept = all().iter().flat_map(|constant| {
        let of = moved.iter().filter(|m| m.constant == constant.name && m.steps >= LEAST);
        // A gauge is told once, where it moves most.
        let mut told: Vec<&Moved> = Vec::new();
        for m in of {
            if told.len() < KEPT && !told.iter().any(|t| t.gauge == m.gauge) {
                told.push(m);
            }
        }
        told.into_iter().cloned().map(rounded).collect::<Vec<_>>()
    });
    let moves = Moves { date: today(), version: env!("CARGO_PKG_VERSION").to_owned(), moved: kept.collect() };
    let count = moves.moved.len();
    let text = format!(
        "# How far each constant moves the settings, in steps of the gauge: written by `cargo xtask prove doubts`, not by hand.\n\
         # The invented pram, a sailor of 45 kg, winds of {WINDS:?} m/s at 2 m with gusts of 1.3; share: of what all constants move that\n\
         # gauge there, by squares. Moves below {LEAST} steps are left out, and more than {KEPT} of one constant.\n{}",
        toml::to_string(&moves).context("the moves do not go into TOML")?
    );
    let path = root.join("data").join("moves.toml");
    fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
    println!("data/moves.toml written: {count} moves of {} constants in {:.0} s", all().len(), begun.elapsed().as_secs_f64());
    Ok(true)
}

/// As many digits as anybody reads.
fn rounded(m: Moved) -> Moved {
    let to = |v: f64, parts: f64| (v * parts).round() / parts;
    Moved { wind: to(m.wind, 10.0), by: to(m.by, 1e5), steps: to(m.steps, 100.0), share: to(m.share, 1e4), ..m }
}
