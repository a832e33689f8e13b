//! Where prediction meets observation.
//!
//! [`lineup`] plans passes of two boats side by side; [`passes`] reads what came of them; [`effect`] says what a setting was worth and
//! how sure that is, by the mixed model of [`mixed`]; [`comparison`] keeps several answers honest together; [`next_test`] says which
//! line-up is worth sailing next; [`calibration`] corrects the model's few multipliers by what was measured. No file, no clock, and no chance but from a seed.

pub mod calibration;
pub mod comparison;
pub mod effect;
mod error;
pub mod judge;
pub mod legs;
pub mod lineup;
pub mod mixed;
pub mod next_test;
pub mod passes;

pub use error::Error;
