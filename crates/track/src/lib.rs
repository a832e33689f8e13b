//! What the water saw: recorders' files to wind, legs, manoeuvres and roundings.
//!
//! Bytes come in as arguments and plain values go out: this crate opens no file and reads no clock.

mod angle;
pub mod clean;
mod clock;
pub mod debrief;
pub mod error;
mod fleet;
mod leg;
mod lineup;
mod manoeuvre;
mod middle;
pub mod polar;
pub mod read;
pub mod record;
mod rounding;
mod start;
mod upwind;
mod wind;

pub use clean::Smooth;
pub use debrief::{Asked, Debrief, debrief};
pub use error::TrackError;
pub use record::{Fix, Track};
