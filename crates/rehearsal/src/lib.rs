//! Simulated wind, helms and recorders with known truth, for tests, proofs and the demo.
//!
//! [`outing()`] sails a day of a [`Kind`] from a seed: the same pair gives the same day on every machine. It depends on
//! `measure` alone and knows nothing of the estimators it is there to judge. [`recorder`] turns what a recorder kept into
//! the bytes of a file, [`judge()`] holds an estimator's [`Answer`] against the truth, and [`plain`] has two methods to stand
//! beside it.

pub mod answer;
mod chance;
mod helm;
pub mod judge;
pub mod kind;
pub mod outing;
pub mod plain;
pub mod plan;
pub mod polar;
pub mod recorder;
pub mod truth;
pub mod wind;

pub use answer::Answer;
pub use judge::{Tally, Verdict, judge};
pub use kind::Kind;
pub use outing::{Doing, Outing, State, outing, outing_in};
pub use plan::{CourseMark, MarkKind};
pub use polar::Polar;
pub use recorder::{Fix, Recorder};
pub use truth::{Leg, LegKind, Lineup, Manoeuvre, Rounding, Turn};
pub use wind::Wind;
