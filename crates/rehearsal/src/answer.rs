//! What an estimator says of an outing, as plain values: the judge knows no estimator and no estimator knows the judge.

use crate::plan::MarkKind;
use crate::truth::{Leg, Turn};

/// A debrief in plain values. Boats are in the order of the outing's recorders.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answer {
    /// The wind over the ground through time.
    pub wind: Vec<WindAnswer>,
    /// What each boat did.
    pub boats: Vec<BoatAnswer>,
    /// The line-ups.
    pub lineups: Vec<LineupAnswer>,
    /// Course marks found from the tracks: which way they turn the fleet, east and north of the outing's origin, and the standard deviation
    /// per axis, m. None of marks that were given.
    pub course_marks: Vec<(MarkKind, [f64; 2], f64)>,
}

/// The wind at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindAnswer {
    /// UTC seconds.
    pub time: f64,
    /// Direction from and its standard deviation, degrees; none where it cannot be told.
    pub direction: Option<(f64, f64)>,
    /// Speed and its standard deviation, m/s; none where it cannot be told.
    pub speed: Option<(f64, f64)>,
}

/// What one boat did.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BoatAnswer {
    /// Seconds to add to the track's own times, as proposed to the coach; none when nothing is proposed.
    pub clock_shift: Option<f64>,
    /// Legs.
    pub legs: Vec<Leg>,
    /// Tacks and gybes.
    pub manoeuvres: Vec<ManoeuvreAnswer>,
    /// Roundings of course marks.
    pub roundings: Vec<RoundingAnswer>,
    /// When she went at starts of the fleet, UTC seconds by her own clock.
    pub starts: Vec<f64>,
    /// Stops, UTC seconds from and to.
    pub stops: Vec<(f64, f64)>,
}

/// A tack or gybe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ManoeuvreAnswer {
    /// UTC seconds.
    pub time: f64,
    /// Which.
    pub kind: Turn,
    /// Degrees turned.
    pub turn: f64,
    /// Metres lost, if told.
    pub loss: Option<f64>,
}

/// A rounding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundingAnswer {
    /// Closest approach, UTC seconds.
    pub time: f64,
    /// Windward or leeward.
    pub kind: MarkKind,
    /// Metres at entry and at exit.
    pub widths: (f64, f64),
}

/// One pass of a line-up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineupAnswer {
    /// The two boats, by their place in the outing's recorders.
    pub boats: (usize, usize),
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// Speed made good of the first less the second, m/s, and its standard deviation.
    pub difference: (f64, f64),
}
