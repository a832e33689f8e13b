//! Proofs that take minutes: how far the debrief is from the truth, over many rehearsed outings; what the solved boat says of
//! the trade's rules.

use std::fs;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, bail};
use clap::{Args, ValueEnum};
use rayon::prelude::*;
use rehearsal::{Answer, Kind, Outing, Tally, judge, outing, plain};

use crate::rules;

#[path = "../../crates/track/tests/rehearsed/adapter.rs"]
mod adapter;

/// What to prove.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    /// Figures of the debrief over every kind of rehearsed outing, written to docs/accuracy.md
    Accuracy,
    /// The trade's rules asked of the solved boat, written to docs/rules.md; false when a verdict changed
    Rules,
}

/// A proof that takes minutes.
#[derive(Debug, Args)]
pub(crate) struct Prove {
    /// The proof
    what: What,
    /// First seed of the outings
    #[arg(long, default_value_t = 14)]
    from: u64,
    /// Outings of each kind
    #[arg(long, default_value_t = 3)]
    seeds: u64,
}

/// What the page says before its tables.
const PREFACE: &str = "# How accurate the debrief is

Written by `cargo xtask prove accuracy`. Outings are rehearsed with known truth: fifteen kinds in two worlds that differ in wind, helms
and recorders. Estimators were tuned on seeds 1 to 13 and 31 to 84; the seeds here are others. Beside the debrief stand the ordinary method
(bisectors of sharp turns) and one that is told true velocities, wind sides and mean angles: what that one misses is noise that
no estimator can remove from the same boats. It is told nothing of boat speeds, so it says no wind speed.

What is not reached, and why:

- Clocks: boats get under way up to six seconds apart and a shift or gust reaches them as far apart, so that a clock can be told to two or
  three seconds only where boats start or pass side by side often. A shift is proposed to the coach where it is clear, and never made.
- In light air a whole fleet that reaches out for ten minutes, in a breeze that changes before anybody beats, can pass for a fleet on a
  beat: in about one such outing of thirty the direction is then 20 to 40 degrees off for that time, and its interval too narrow.
- One boat alone shows the wind on one tack at a time: in some outings she follows it no better than the best constant, which is
  chosen knowing the truth.
- The current along the wind trades off with boat speed and wind speed; it widens the doubt of the wind's speed and is not reported.
- In strong wind a small boat sails at her hull speed whatever it blows: speed then tells little, and the stated doubt grows.

";

impl Prove {
    /// Runs it; the page is written.
    pub(crate) fn run(&self, root: &Path) -> Result<bool> {
        match self.what {
            What::Accuracy => self.accuracy(root),
            What::Rules => rules::prove(root),
        }
    }

    /// Always true: the page says what is met and what is not.
    fn accuracy(&self, root: &Path) -> Result<bool> {
        if self.seeds < 3 {
            bail!("fewer than three outings of each kind tell too little; use --seeds 3 or more");
        }
        let begun = Instant::now();
        let given = self.tally(|o| debriefed(o, true))?;
        let found = self.tally(|o| debriefed(o, false))?;
        let ordinary = self.tally(|o| Ok(plain::ordinary(o)))?;
        let told = self.tally(|o| Ok(plain::told(o)))?;
        let others = [("course marks not given", &found), ("ordinary method", &ordinary), ("told the truth", &told)];
        let page = format!("{PREFACE}Seeds {} to {}.\n\n{}", self.from, self.from + self.seeds - 1, given.markdown("debrief", &others));
        let path = root.join("docs").join("accuracy.md");
        fs::write(&path, page).with_context(|| format!("cannot write {}", path.display()))?;
        for figure in given.figures() {
            let value = figure.value.map_or_else(|| "-".to_owned(), |v| format!("{v:.3}"));
            println!(
                "{:<4} {value:>7} {} ({} to {})",
                if figure.met() { "ok" } else { "MISS" },
                figure.name,
                figure.wanted.0,
                figure.wanted.1
            );
        }
        println!("docs/accuracy.md written in {:.0} s", begun.elapsed().as_secs_f64());
        Ok(true)
    }

    fn tally(&self, method: impl Fn(&Outing) -> Result<Answer> + Sync) -> Result<Tally> {
        let jobs: Vec<(Kind, u64)> =
            (self.from..self.from + self.seeds).flat_map(|seed| Kind::ALL.iter().map(move |kind| (*kind, seed))).collect();
        let judged: Result<Vec<_>> = jobs
            .par_iter()
            .map(|&(kind, seed)| {
                let outing = outing(kind, seed);
                let answer = method(&outing).with_context(|| format!("{} {seed}", kind.name()))?;
                Ok((kind, seed, judge(&outing, &answer)))
            })
            .collect();
        let mut tally = Tally::default();
        for (kind, seed, verdict) in judged? {
            tally.add(kind, seed, verdict);
        }
        Ok(tally)
    }
}

fn debriefed(outing: &Outing, given: bool) -> Result<Answer> {
    Ok(adapter::answer(&adapter::debriefed(outing, given)?))
}
