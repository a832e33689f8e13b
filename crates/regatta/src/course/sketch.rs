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

#[cfg(test)]
mod tests {
    use super::*;

    fn sketch(kind: CourseKind, place: Option<Position>) -> Sketch {
        let metres = Length::metres;
        Sketch {
            kind,
            axis: Bearing::degrees_true(30.0),
            beat: metres(400.0),
            line: metres(40.0),
            boat: metres(2.4),
            gate: false,
            offset: false,
            place,
        }
    }

    fn legs(kind: CourseKind, side: Side) -> Vec<(f64, f64)> {
        let order = Order { side, ..Order::default() };
        let course = sketch(kind, None).course(&order).unwrap().value;
        course.legs.iter().map(|l| (l.length.si(), l.bearing.turn_from(Bearing::degrees_true(30.0)).in_degrees())).collect()
    }

    /// An equal-sided triangle: reaches of 360 m at 60 degrees to the run, the first away to port of the axis.
    #[test]
    fn a_triangle_has_equal_sides() {
        let found = legs(CourseKind::Triangle, Side::Port);
        for ((length, turn), wanted) in found.iter().zip([(400.0, 0.0), (360.0, -120.0), (360.0, 120.0), (360.0, 0.0), (400.0, 180.0)]) {
            assert!(
                (length - wanted.0).abs() < 1e-9 && (turn.abs() - f64::abs(wanted.1)).abs() < 1e-9 && turn * wanted.1 >= 0.0,
                "{found:?}"
            );
        }
    }

    /// A trapezoid's first reach is half its beat, 60 degrees off the run, and its run lies along the axis.
    #[test]
    fn a_trapezoid_runs_along_its_axis() {
        for (side, hand) in [(Side::Port, -1.0), (Side::Starboard, 1.0)] {
            let found = legs(CourseKind::Trapezoid, side);
            assert!((found[1].0 - 200.0).abs() < 1e-9 && (found[1].1 - hand * 120.0).abs() < 1e-9, "{found:?}");
            assert!((found[2].1.abs() - 180.0).abs() < 1e-9 && (found[2].0 - (300.0 - 40.0)).abs() < 1e-9, "{found:?}");
        }
    }

    /// At a place the same course lies on the earth: geodesics agree with the plane to a centimetre.
    #[test]
    fn a_place_changes_no_leg() {
        let order = Order::default();
        let place = Position::degrees(54.6, -6.4).unwrap();
        let (flat, laid) = (
            sketch(CourseKind::Triangle, None).course(&order).unwrap().value,
            sketch(CourseKind::Triangle, Some(place)).course(&order).unwrap().value,
        );
        for (a, b) in flat.legs.iter().zip(&laid.legs) {
            assert!((a.length.si() - b.length.si()).abs() < 0.01 && a.bearing.turn_from(b.bearing).in_degrees().abs() < 0.01);
        }
        let line = laid.line.unwrap();
        assert!(((line.pin[0] - line.boat[0]).hypot(line.pin[1] - line.boat[1]) - 40.0).abs() < 1e-9);
        assert!(sketch(CourseKind::Triangle, None).course(&Order { laps: Some(11), ..order }).is_err());
        assert!(
            Sketch { beat: Length::metres(4.0), ..sketch(CourseKind::Triangle, None) }
                .course(&Order::default())
                .unwrap_err()
                .to_string()
                .contains("30 to 3000")
        );
    }
}
