//! What the water saw: recorders' files to wind, legs, manoeuvres and roundings.
//!
//! Bytes come in as arguments and plain values go out: this crate opens no file and reads no clock.

pub mod clean;
pub mod error;
pub mod read;
pub mod record;

pub use clean::Smooth;
pub use error::TrackError;
pub use record::{Fix, Track};
