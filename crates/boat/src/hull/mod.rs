//! The hull: its lines, how she floats at any heel, trim and sinkage, and what moving through the water costs.

pub mod curve;
pub mod hydrostatics;
pub mod judge;
pub mod lines;
pub mod resistance;

pub use hydrostatics::{Afloat, Floating};
pub use lines::HullForm;
pub use resistance::{Drag, Resistance, Underway};
