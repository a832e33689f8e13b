//! Proofs of the boat's model as a machine: how far constants move its settings, how seldom it is lost, how fast it is.
//!
//! Times are processor time of the thread (or of the process where it says so): other work on the machine does not count. Wall time stands
//! beside it where somebody waits for it.

mod doubts;
mod general;
mod program;
mod robustness;
mod scale;
mod speed;

use std::path::Path;

use anyhow::Result;
use boat::Constants;
use boat::balance::{Boat, Conditions, Tack};
use boat::class::Class;
use boat::crew::{Sailor, Skill};
use boat::setup::Request;
use measure::fluid::air;
use measure::{Length, Speed, Temperature, Water, WindLaw};
use rustix::time::{ClockId, clock_gettime};

use crate::page;
use crate::page::{here, today};

pub(crate) use doubts::prove as doubts;
pub(crate) use program::prove as program;
pub(crate) use robustness::prove as robustness;
pub(crate) use scale::prove as scale;
pub(crate) use speed::prove as speed;

/// Mass of the invented sailor, kg.
const MASS: f64 = 45.0;

/// Processor time of this thread, s.
fn of_thread() -> f64 {
    seconds(ClockId::ThreadCPUTime)
}

/// How this was built: what is shipped has no assertions.
const fn built() -> &'static str {
    if cfg!(debug_assertions) { "built as for the tests" } else { "built for release" }
}

/// Processor time of the whole process, s.
fn of_process() -> f64 {
    seconds(ClockId::ProcessCPUTime)
}

fn seconds(clock: ClockId) -> f64 {
    let time = clock_gettime(clock);
    time.tv_sec as f64 + 1e-9 * time.tv_nsec as f64
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
    const HEAD: &str = "# How fast it is, and how seldom the model is lost\n\n\
        Written by `cargo xtask prove speed`, `robustness`, `scale` and `program`.\n";
    page::write(root, "performance.md", HEAD, name, part)
}
