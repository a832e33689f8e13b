//! Proofs of the boat's model as a machine: how far constants move its settings, how seldom it is lost, how fast it is.
//!
//! Times are processor time of the thread (or of the process where it says so): other work on the machine does not count. Wall time stands
//! beside it where somebody waits for it.

mod doubts;
mod general;
mod robustness;
mod speed;

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use boat::Constants;
use boat::balance::{Boat, Conditions, Tack};
use boat::class::Class;
use boat::crew::{Sailor, Skill};
use boat::setup::Request;
use measure::fluid::air;
use measure::{Length, Speed, Temperature, Water, WindLaw};
use rustix::time::{ClockId, clock_gettime};

pub(crate) use doubts::prove as doubts;
pub(crate) use robustness::prove as robustness;
pub(crate) use speed::prove as speed;

/// Mass of the invented sailor, kg.
const MASS: f64 = 45.0;

/// Processor time of this thread, s.
fn of_thread() -> f64 {
    seconds(ClockId::ThreadCPUTime)
}

/// Processor time of the whole process, s.
fn of_process() -> f64 {
    seconds(ClockId::ProcessCPUTime)
}

fn seconds(clock: ClockId) -> f64 {
    let time = clock_gettime(clock);
    time.tv_sec as f64 + 1e-9 * time.tv_nsec as f64
}

/// Today, by this machine's clock.
fn today() -> String {
    jiff::ZonedDateTime::now().strftime("%Y-%m-%d").to_string()
}

/// The invented pram.
fn pram() -> Boat {
    Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard())
}

/// A sailor of [`MASS`] in a wind at 2 m.
fn request(boat: &Boat, at_meter: f64, gusts: f64, bands: bool) -> Request<'_> {
    let wind = WindLaw::Open.profile(Speed::metres_per_second(at_meter), Length::metres(2.0));
    let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
    Request { boat, sailor: Sailor::of(MASS, Skill::Races), conditions, gusts, reach: None, bands }
}

/// The value of rising values below which a share of them lies.
fn quantile(rising: &[f64], share: f64) -> f64 {
    let last = rising.len().saturating_sub(1);
    rising.get((share * last as f64).round() as usize).copied().unwrap_or(f64::NAN)
}

/// Writes one part of docs/performance.md and leaves the others.
fn write(root: &Path, name: &str, part: &str) -> Result<()> {
    const HEAD: &str = "# How fast the boat's model is, and how seldom it is lost\n\n\
        Written by `cargo xtask prove robustness` and `cargo xtask prove speed`.\n";
    let path = root.join("docs").join("performance.md");
    let page = fs::read_to_string(&path).unwrap_or_else(|_| HEAD.to_owned());
    let head = format!("\n## {name}\n");
    let others = match page.find(&head) {
        None => page.trim_end().to_owned() + "\n",
        Some(at) => {
            let rest = &page[at + head.len()..];
            let next = rest.find("\n## ").map_or("", |n| &rest[n..]);
            page[..at].trim_end().to_owned() + "\n" + next.trim_end() + if next.is_empty() { "" } else { "\n" }
        }
    };
    fs::write(&path, format!("{others}{head}\n{}\n", part.trim_end())).with_context(|| format!("cannot write {}", path.display()))?;
    println!("{part}\ndocs/performance.md written");
    Ok(())
}
