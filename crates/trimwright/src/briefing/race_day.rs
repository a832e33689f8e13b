//! The race-day sheet in a coach's and a sailor's words: the course, the start, when to tack, how to round.

use crate::drawing::approach::Approach;
use crate::drawing::course::CourseChart;
use crate::drawing::rounding::RoundingDrawing;
use crate::drawing::start::LineDrawing;

/// The sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RaceDayPage {
    /// Its title.
    pub title: String,
    /// Whose sheet it is, if it is somebody's.
    pub whose: String,
    /// Course, wind and current.
    pub about: String,
    /// The chart of the course.
    pub chart: CourseChart,
    /// The unit of the legs' lengths.
    pub unit: &'static str,
    /// The legs.
    pub legs: Vec<LegRow>,
    /// The whole time.
    pub whole: String,
    /// The start line, if the course has one that can be told of.
    pub start: Option<StartLine>,
    /// When to tack for a course mark.
    pub shoulders: Vec<Shoulder>,
    /// What hands do round the course marks.
    pub deeds: Vec<Deeds>,
    /// What a tack loses, and what of the hands cannot be told.
    pub untold: String,
    /// How to round.
    pub turns: Vec<Turned>,
    /// Signals: the time before the start, and what is seen and heard.
    pub signals: Vec<(String, String)>,
    /// What it rests on, and who decides.
    pub note: String,
}

/// One leg.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LegRow {
    /// From where to where.
    pub name: String,
    /// Its length, in the sheet's unit.
    pub length: String,
    /// True.
    pub bearing: String,
    /// By compass.
    pub compass: String,
    /// How long it takes.
    pub time: String,
    /// On which courses.
    pub sailed: String,
}

/// The start.
#[derive(Debug, Clone, PartialEq)]
pub struct StartLine {
    /// Which end, by how much.
    pub verdict: String,
    /// The line drawn.
    pub line: LineDrawing,
    /// Through a shift.
    pub through: String,
    /// From lying still.
    pub still: String,
}

/// When to tack.
#[derive(Debug, Clone, PartialEq)]
pub struct Shoulder {
    /// For which course mark, on which tack.
    pub title: String,
    /// The tack she looks from.
    pub port_tack: bool,
    /// Off the bow to windward, rad: least, middle, most.
    pub angle: [f64; 3],
    /// What to do.
    pub deed: String,
    /// Bearings, cost and current, for the coach.
    pub note: String,
}

/// What hands do round one course mark.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Deeds {
    /// Which.
    pub title: String,
    /// What goes before all metres, in a blow.
    pub safety: String,
    /// The way there, drawn.
    pub approach: Approach,
    /// In the order of the hands.
    pub rows: Vec<Deed>,
    /// What makes no difference, and what it rests on.
    pub note: String,
}

/// One control.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Deed {
    /// What is done.
    pub deed: String,
    /// When hands begin.
    pub when: String,
    /// How long they take.
    pub lasts: String,
    /// What it costs to be late.
    pub late: String,
    /// What it costs to be early.
    pub early: String,
}

/// A rounding.
#[derive(Debug, Clone, PartialEq)]
pub struct Turned {
    /// Which.
    pub title: String,
    /// The path drawn.
    pub drawing: RoundingDrawing,
    /// What each way loses.
    pub rows: Vec<(String, String)>,
}
