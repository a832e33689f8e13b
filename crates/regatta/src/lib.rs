//! Race day without a file or a clock: low point scoring and magnetic declination.
//!
//! [`scoring`] follows Appendix A of the Racing Rules of Sailing in the edition stored with the series;
//! [`declination`] turns true bearings into what a hand compass reads.

pub mod declination;
mod error;
pub mod scoring;

pub use error::Error;
