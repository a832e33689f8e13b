//! Race day without a file or a clock: the course and its start, laylines, roundings, low point scoring and magnetic declination.
//!
//! [`course`] is what is sailed, [`sailing`] what a boat can make good on it, [`start`], [`layline`] and [`rounding`] what follows from both.
//! [`scoring`] follows Appendix A of the Racing Rules of Sailing in the edition stored with the series;
//! [`declination`] turns true bearings into what a hand compass reads.

pub mod course;
pub mod declination;
mod error;
pub mod layline;
pub mod rounding;
pub mod sailing;
pub mod scoring;
pub mod start;

pub use error::Error;
