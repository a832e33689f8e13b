//! What a number means.
//!
//! Units, degrees and knots are made and unmade in this crate alone; inside the numeric kernels of the
//! other crates everything is SI `f64`. The types here stop ideas from mixing: a [`Bearing`] is not an
//! [`Angle`], a [`TrueWind`] is not an [`ApparentWind`].

pub mod angle;
pub mod estimate;
pub mod fluid;
pub mod outcome;
pub mod polar;
pub mod position;
pub mod quantity;
pub mod wind;

pub use angle::{Angle, Bearing};
pub use estimate::{Basis, Estimate};
pub use fluid::{Fluid, Water};
pub use outcome::{Outcome, Warned, Warning, counted};
pub use polar::{Polar, PolarError};
pub use position::{LocalPlane, Position};
pub use quantity::{Area, Force, Length, Mass, OutOfRange, Speed, Temperature};
pub use wind::{ApparentWind, TrueWind, WindLaw, WindProfile};
