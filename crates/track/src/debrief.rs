//! The debrief: everything the tracks of an outing tell, joined in plain values, and what they cannot tell with the reason.
//!
//! Times are UTC seconds by each boat's own recorder (of the wind, line-ups and starts: by the outing's clock, which is that of
//! most boats); directions are [`Bearing`]s, the wind's *from*; all else is SI. A boat whose recorder is whole hours off is read
//! beside the others, and the shift is proposed, never made in her times.

mod join;
mod sift;

use crate::clean::Smooth;
pub use crate::leg::Kind;
pub use crate::manoeuvre::Turn;
pub use crate::rounding::MarkKind;
pub use crate::upwind::Cause;
use measure::{Bearing, LocalPlane, Polar, Position, Warning};

/// What is asked beside the tracks.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked<'a> {
    /// A polar of the class; with it the wind's speed can be told.
    pub polar: Option<&'a Polar>,
    /// Where course marks lay. Of a kind that none is given of they are sought in the tracks.
    pub course_marks: &'a [GivenMark],
    /// Line-ups the coach noted; others are found beside them.
    pub lineups: &'a [GivenLineup],
}

/// A course mark whose place is known.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenMark {
    /// What the coach calls it.
    pub name: String,
    /// Windward or leeward; none leaves it to the tracks.
    pub kind: Option<MarkKind>,
    /// Where.
    pub position: Position,
}

/// A line-up the coach noted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GivenLineup {
    /// The two boats, by their place among the tracks.
    pub boats: (usize, usize),
    /// About when it began, UTC seconds.
    pub start: f64,
}

/// All of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Debrief {
    /// The wind over the ground, every ten seconds.
    pub wind: Vec<WindAt>,
    /// The current, where it can be told.
    pub current: Option<Current>,
    /// What each boat did, in the order of the tracks.
    pub boats: Vec<Boat>,
    /// Passes of two boats side by side.
    pub lineups: Vec<Lineup>,
    /// Course marks, given or found.
    pub course_marks: Vec<CourseMark>,
    /// Their places in the plane, m east and north.
    pub mark_places: Vec<[f64; 2]>,
    /// Starts of several boats together.
    pub starts: Vec<Start>,
    /// What was asked for and cannot be told, or was left out, with the reason.
    pub warnings: Vec<Warning>,
    /// What no tracks can tell, for the foot of the page.
    pub limits: Vec<String>,
}

/// The wind at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindAt {
    /// UTC seconds.
    pub time: f64,
    /// Direction from, and its standard deviation in radians.
    pub direction: Option<(Bearing, f64)>,
    /// Speed and its standard deviation, m/s.
    pub speed: Option<(f64, f64)>,
}

/// The current across the wind at the middle of the outing. The part along the wind cannot be told from tracks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Current {
    /// m/s.
    pub speed: f64,
    /// Where it sets.
    pub toward: Bearing,
    /// Standard deviation of the speed, m/s.
    pub sd: f64,
}

/// One boat.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Boat {
    /// The track's name.
    pub track: String,
    /// Seconds proposed to be added to the track's own times; none where nothing is proposed.
    pub clock_shift: Option<f64>,
    /// Sailed over the ground, m: without rides, tows and stops.
    pub distance: f64,
    /// Legs and stops in time.
    pub legs: Vec<Leg>,
    /// Longer stops.
    pub stops: Vec<Stop>,
    /// Tacks and gybes in time.
    pub manoeuvres: Vec<Manoeuvre>,
    /// What her tacks lost on the mean; none below three.
    pub tacks: Option<Mean>,
    /// The same of her gybes.
    pub gybes: Option<Mean>,
    /// Roundings in time.
    pub roundings: Vec<Rounding>,
    /// Beats in time.
    pub beats: Vec<Beat>,
    /// Laps in time.
    pub laps: Vec<Lap>,
    /// Where she was, every [`PATH_STEP`] seconds and where a gap ends: UTC seconds, east and north in the plane.
    pub path: Vec<[f64; 3]>,
    /// Why some of this is empty.
    pub warnings: Vec<String>,
}

/// Seconds between the points of a boat's path.
pub const PATH_STEP: usize = 4;

/// A stretch of one kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// How; none where the wind cannot be told.
    pub kind: Option<Kind>,
    /// Mean speed made good through the water, m/s: to windward on a beat, to leeward on a run, none else.
    pub made_good: Option<f64>,
    /// Over the ground, m.
    pub distance: f64,
}

/// A stop of a quarter of a minute or more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// She stopped from full way, alone, and went on: a capsize, or something like it.
    pub capsized: bool,
}

/// A tack or gybe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Manoeuvre {
    /// UTC seconds: bow or stern through the wind.
    pub time: f64,
    /// Which.
    pub kind: Turn,
    /// Mean course after less before, radians, magnitude.
    pub turn: f64,
    /// Fastest turning, radians a second.
    pub rate: f64,
    /// Seconds from the start of the turn until back to speed; none if not within half a minute.
    pub to_speed: Option<f64>,
    /// Metres lost; none where she did not sail steadily before and after.
    pub loss: Option<f64>,
    /// Standard deviation of the loss, m.
    pub loss_sd: Option<f64>,
}

/// A mean with its standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// How many it is of.
    pub count: usize,
    /// The mean.
    pub mean: f64,
    /// Its standard deviation.
    pub sd: f64,
}

impl Mean {
    /// Whether two means can be told apart: their 19-in-20 intervals do not meet.
    #[must_use]
    pub fn apart(&self, other: &Self) -> bool {
        (self.mean - other.mean).abs() > 2.0 * (self.sd + other.sd)
    }
}

/// A rounding of a course mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rounding {
    /// Closest approach, UTC seconds.
    pub time: f64,
    /// Windward or leeward.
    pub kind: MarkKind,
    /// Which of the course marks.
    pub mark: usize,
    /// Distance of the course mark from the straight inbound track, m.
    pub entry: f64,
    /// Distance of the course mark from the straight outbound track, m.
    pub exit: f64,
    /// Slowest speed over the ground, m/s.
    pub slowest: f64,
    /// Metres of way lost against the speeds before and after.
    pub loss: f64,
}

/// A beat without a rounding in it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beat {
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// What the shifts brought her against sailing both tacks alike, m, with its standard deviation; less than nothing where she sailed the headed
    /// tack. None where it cannot be told.
    pub shifts: Option<(f64, f64)>,
    /// What went elsewhere than in turns; only what is told from chance.
    pub lost: Vec<Lost>,
}

/// Metres lost on a stretch of a beat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lost {
    /// By what.
    pub cause: Cause,
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// Metres to windward.
    pub metres: f64,
    /// Standard deviation of them.
    pub sd: f64,
}

/// From one rounding of a leeward course mark (or a start) to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lap {
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// Sailed over the ground, m.
    pub distance: f64,
}

/// A pass of two boats side by side on one tack of a beat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lineup {
    /// The two boats, by their place among the tracks.
    pub boats: (usize, usize),
    /// UTC seconds, when both had gathered way.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// Speed made good to windward of the first less the second, as it came out in this pass, m/s.
    pub difference: f64,
    /// Standard deviation of the difference, m/s.
    pub sd: f64,
    /// The part of the difference that came from speed, m/s.
    pub from_speed: f64,
    /// The part that came from sailing higher, m/s.
    pub from_height: f64,
    /// The two changed places since their last pass.
    pub swapped: bool,
}

/// A course mark.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseMark {
    /// Its name, the coach's where it was given.
    pub name: String,
    /// Windward or leeward; none where a given one was not rounded.
    pub kind: Option<MarkKind>,
    /// Where.
    pub position: Position,
    /// Standard deviation per axis, m; none of a mark that was given.
    pub sd: Option<f64>,
}

/// Boats that got under way together.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// When the first went, UTC seconds.
    pub time: f64,
    /// Those who took part, in the order of the tracks.
    pub boats: Vec<Started>,
}

/// One boat's part of a start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Started {
    /// By its place among the tracks.
    pub boat: usize,
    /// Seconds after the first boat.
    pub after: f64,
    /// Seconds until she had her speed.
    pub to_speed: Option<f64>,
    /// Metres made good to windward in the half minute after the first boat went.
    pub made: Option<f64>,
}

/// Debriefs an outing. All tracks lie in the one `plane`. The order of boats is kept throughout, also of those that take no part.
///
/// Nothing fails: what cannot be told is absent with a reason in the warnings.
#[must_use]
pub fn debrief(tracks: Vec<Smooth>, plane: &LocalPlane, asked: &Asked<'_>) -> Debrief {
    join::debrief(tracks, plane, asked)
}
