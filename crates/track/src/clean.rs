//! From a recorder's points to one boat on a grid of whole seconds.
//!
//! Duplicates, swapped lines, spikes, dropouts and standing still are dealt with here, and what is dropped is said.

mod smooth;

pub use smooth::{Measured, Recorder, Smooth};
