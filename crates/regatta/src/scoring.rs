//! Low point scoring by Appendix A of the Racing Rules of Sailing, in the edition stored with the series.
//!
//! A [`Series`] is read from its file and its results; [`Series::standings`] scores it; [`changes`] tells what a
//! correction moved; [`judge`] holds the whole against a table of cases. Scores are exact decimals throughout.
//!
//! Rules are paraphrased and the book decides. Seen in copies of the rules: A2.1, A5.2, A5.3, A6, A7, A8, A9, 90.3(b)
//! and the penalties of 44.3(c). From memory: the list of A10 in parts, and rule 35.

mod cell;
mod change;
mod code;
mod decimal;
mod form;
mod judge;
mod race;
mod results;
mod series;
mod standing;
mod wide;

pub use change::{BoatChange, RaceChange, changes};
pub use code::{Code, Edition, Score, Treatment};
pub use judge::{Verdict, judge};
pub use results::strangers;
pub use series::Series;
pub use standing::{Group, RaceScore, Standing, Standings};
