//! What the boat is, what acts on it, and how to set it up.
//!
//! The domain opens no file and reads no clock: class files come in as text.

pub mod balance;
pub mod band;
pub mod body;
pub mod chart;
pub mod class;
pub mod constants;
pub mod crew;
mod factors;
pub mod foil;
pub mod gauge;
pub mod given;
pub mod handling;
pub mod hands;
pub mod hull;
pub mod load;
pub mod minimise;
pub mod moves;
pub mod near;
pub mod optimum;
pub mod polar;
mod practice;
pub mod sail;
pub mod scalar;
pub mod setup;
pub mod spread;
pub mod turn;

pub use constants::Constants;
pub use scalar::Real;
