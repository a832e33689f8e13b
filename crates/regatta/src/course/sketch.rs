//! A course drawn before it is laid: its kind, the way the wind comes from, the length of its beat, at a place or at none.
//!
//! Shapes: common practice, no source. A triangle has three equal sides; a trapezoid's first reach is half its beat, 60 degrees off the run; a gate is ten boat lengths
//! wide, an offset eight lengths away; the start line lies a tenth of the beat below the leeward course mark, square to the axis, the pin to port.

use super::buoy::Buoy;
use super::{Course, CourseKind, Order, Role, Side};
use crate::Error;
use measure::{Angle, Bearing, Length, LocalPlane, Position, Warned};

/// Share of the beat between leeward course mark and start line.
const BELOW: f64 = 0.1;
/// The first reach of a trapezoid over its beat.
const REACH: f64 = 0.5;
/// Widths in boat lengths.
const GATE: f64 = 10.0;
const OFFSET: f64 = 8.0;
/// The beat of a sketch, m.
const BEAT: [f64; 2] = [30.0, 3000.0];
/// Longest start line, m.
const LINE: [f64; 2] = [5.0, 1000.0];

/// What is to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sketch {
    /// Which kind.
    pub kind: CourseKind,
    /// Where the axis points: up the beat.
    pub axis: Bearing,
    /// From the start line to the windward course mark.
    pub beat: Length,
    /// How long the start line is.
    pub line: Length,
    /// The boats' length.
    pub boat: Length,
    /// A gate instead of a leeward course mark.
    pub gate: bool,
    /// An offset beside the windward course mark.
    pub offset: bool,
    /// Where the middle of the start line lies, if anywhere.
    pub place: Option<Position>,
}

impl Sketch {
    /// The course drawn.
    ///
    /// # Errors
    /// A beat or a line of no sensible length, or laps.
    pub fn course(&self, order: &Order) -> Result<Warned<Course>, Error> {
        for (what, length, [low, high]) in [("beat", self.beat, BEAT), ("start line", self.line, LINE)] {
            if !(low..=high).contains(&length.si()) {
                return Err(Error::new(
                    what,
                    format!("{} m", measure::quantity::plain(length.si())),
                    format!("give {low:.0} to {high:.0} m"),
                ));
            }
        }
        let plane = self.place.map(LocalPlane::at);
        let beat = self.beat.si();
        // Up the axis and to its right, m. Courses rounded to starboard are drawn in the mirror.
        let hand = if order.side == Side::Port { 1.0 } else { -1.0 };
        let put = |name: &str, up: f64, right: f64| {
            let ((e, n), (re, rn)) = (self.axis.unit(), (self.axis + Angle::degrees(90.0)).unit());
            let at = [up * e + right * re, up * n + right * rn];
            Buoy { name: name.to_owned(), role: Role::of(name), at, position: plane.map(|p| p.position(at[0], at[1])) }
        };
        let half = 0.5 * self.line.si();
        let mut buoys = vec![put("pin", 0.0, -half), put("committee boat", 0.0, half), put("windward", beat, 0.0)];
        if self.offset {
            buoys.push(put("offset", beat, -hand * OFFSET * self.boat.si()));
        }
        let low = BELOW * beat;
        let root = 0.75_f64.sqrt();
        match self.kind {
            CourseKind::WindwardLeeward if self.gate => {
                let half = 0.5 * GATE * self.boat.si();
                buoys.extend([put("gate port", low, -half), put("gate starboard", low, half)]);
            }
            CourseKind::WindwardLeeward => buoys.push(put("leeward", low, 0.0)),
            CourseKind::Triangle => {
                let side = beat - low;
                buoys.extend([put("wing", low + 0.5 * side, -hand * root * side), put("leeward", low, 0.0)]);
            }
            CourseKind::Trapezoid => {
                let reach = REACH * beat;
                let out = -hand * root * reach;
                buoys.extend([put("outer windward", beat - 0.5 * reach, out), put("outer leeward", low, out)]);
            }
        }
        Course::joined(buoys, &Order { kind: Some(self.kind), names: Vec::new(), ..order.clone() })
    }
}
