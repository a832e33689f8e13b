//! The start line to scale with the wind from above: what the better end gains, filled with boats bow to stern; and the sight over the shoulder.

use super::{ACCENT, Anchor, HULL, INK, LEAST_TEXT, LINE, OUTLINE, PEN, Picture, Point, ROPE, SEAM, TAPE, TAPE_EDGE};
use crate::long::Long;
use measure::angle::DEGREE;

/// Half breadths of a small pram in boat lengths, from transom to bow. An invented shape.
const PLAN: [(f64, f64); 6] = [(0.0, 0.17), (0.2, 0.21), (0.45, 0.235), (0.7, 0.21), (0.9, 0.14), (1.0, 0.09)];

/// A hull from above: its middle, length (mm) and the way it points (rad clockwise from up).
pub(super) fn hull(picture: &mut Picture, middle: Point, length: f64, way: f64) {
    let (s, c) = way.sin_cos();
    let at = |along: f64, side: f64| {
        let (x, y) = (side * length, (along - 0.5) * length);
        (middle.0 + x * c + y * s, middle.1 + x * s - y * c)
    };
    let right = PLAN.iter().map(|(a, b)| at(*a, *b));
    let left = PLAN.iter().rev().map(|(a, b)| at(*a, -*b));
    picture.area(right.chain(left).collect::<Vec<_>>(), HULL, (INK, OUTLINE.min(0.12 * length)));
}

/// The line.
#[derive(Debug, Clone, PartialEq)]
pub struct LineDrawing {
    /// Length, m.
    pub length: f64,
    /// How much nearer to the wind the pin is, m: wind backed, as given, veered.
    pub gain: [f64; 3],
    /// A boat's length, m.
    pub boat: f64,
    /// The unit of its tape.
    pub long: Long,
    /// What it says, in words.
    pub alt: String,
}

/// The line in this width, mm: pin to the left.
#[must_use]
pub fn line(drawing: &LineDrawing, width: f64) -> Picture {
    let scale = (width - 16.0) / drawing.length.max(1.0);
    let across = |gain: f64| (drawing.length * drawing.length - gain * gain).max(0.0).sqrt();
    let most = drawing.gain.iter().fold(0.0_f64, |m, g| m.max(g.abs()));
    let tall = (most * scale).min(80.0);
    let foot = 12.0 + tall;
    let mut picture = Picture::new(width, foot + 18.0, drawing.alt.clone());
    let pin_better = drawing.gain[1] >= 0.0;
    let better = |gain: f64| -> Point {
        let x = 8.0 + (drawing.length - across(gain)) * 0.5 * scale;
        if pin_better { (x, foot - gain * scale) } else { (width - x, foot + gain * scale) }
    };
    let worse = {
        let x = 8.0 + (drawing.length - across(drawing.gain[1])) * 0.5 * scale;
        if pin_better { (width - x, foot) } else { (x, foot) }
    };
    let ends = drawing.gain.map(better);
    picture.hatch(&[worse, ends[0], ends[1], ends[2]], 1.6, PEN, SEAM);
    let end = ends[1];
    picture.dashed([(8.0, foot), (width - 8.0, foot)], LINE, ROPE, 1.4);
    // Boats bow to stern from the worse end's level up to the better end.
    let boats = drawing.gain[1].abs() / drawing.boat;
    let side = if pin_better { 4.5 } else { -4.5 };
    for n in 0..(boats.floor().min(40.0) as usize) {
        let y = foot - (n as f64 + 0.5) * drawing.boat * scale;
        hull(&mut picture, (end.0 + side, y), drawing.boat * scale, 0.0);
    }
    picture.line([worse, end], PEN, ACCENT);
    let (pin, boat) = if pin_better { (end, worse) } else { (worse, end) };
    picture.ring(pin, 1.4, 0.5);
    picture.area(
        [
            (boat.0 - 1.4, boat.1 + 2.0),
            (boat.0 + 1.4, boat.1 + 2.0),
            (boat.0 + 1.4, boat.1 - 1.0),
            (boat.0, boat.1 - 2.6),
            (boat.0 - 1.4, boat.1 - 1.0),
        ],
        HULL,
        (INK, OUTLINE),
    );
    // Names stand outside the line and clear of the boats.
    picture.figure(((pin.0 - 3.0).max(1.0), pin.1 - 3.4), LEAST_TEXT, Anchor::Start, "pin");
    picture.figure(((boat.0 + 3.0).min(width - 1.0), boat.1 - 4.2), LEAST_TEXT, Anchor::End, "committee boat");
    // The wind from above.
    let middle = 0.5 * width;
    picture.line([(middle, 0.6), (middle, 7.4)], INK, 0.6);
    picture.line([(middle - 1.6, 5.0), (middle, 7.6), (middle + 1.6, 5.0)], INK, 0.6);
    picture.text((middle + 3.0, 4.6), LEAST_TEXT, Anchor::Start, "wind");
    tape(&mut picture, (8.0, foot + 7.0), drawing.length / drawing.long.metres, scale * drawing.long.metres, drawing.long.unit);
    picture
}

/// A tape with a stroke each ten metres or feet; length and scale are those of the unit.
fn tape(picture: &mut Picture, (x, y): Point, length: f64, scale: f64, unit: &str) {
    let long = length * scale;
    picture.area([(x, y), (x + long, y), (x + long, y + 4.6), (x, y + 4.6)], TAPE, (TAPE_EDGE, SEAM));
    let step = [1.0, 5.0, 10.0, 50.0, 100.0].into_iter().find(|s| s * scale >= 3.0).unwrap_or(100.0);
    let mut m = step;
    while m < length {
        picture.line([(x + m * scale, y + 4.6), (x + m * scale, y + 2.6)], INK, ROPE);
        m += step;
    }
    picture.text((x, y + 9.4), LEAST_TEXT, Anchor::Start, format!("{length:.0} {unit}, a stroke each {step:.0}"));
}

/// The boat from above at the moment to tack, with the sight of the course mark from the windward shoulder. Angles off the bow to windward, rad.
#[must_use]
pub fn over_the_shoulder(port_tack: bool, angle: [f64; 3], width: f64, alt: &str) -> Picture {
    let mut picture = Picture::new(width, width, alt);
    // On port tack the wind and the sailor are to the left, and the course mark is further out.
    let side = if port_tack { -1.0 } else { 1.0 };
    let middle = ((0.5 - 0.24 * side) * width, 0.5 * width);
    let length = 0.62 * width;
    hull(&mut picture, middle, length, 0.0);
    let head = (middle.0 + side * 0.2 * length, middle.1 + 0.08 * length);
    let reach = 0.5 * width;
    let seen = |a: f64, reach: f64| (head.0 + side * reach * a.sin(), head.1 - reach * a.cos());
    let ends = angle.map(|a| seen(a, reach));
    picture.hatch(&[head, ends[0], ends[1], ends[2]], 1.3, PEN, SEAM);
    picture.line([head, seen(angle[1], 0.92 * reach)], PEN, ACCENT * 0.8);
    let mark = ends[1];
    picture.area([(mark.0, mark.1 - 2.4), (mark.0 + 2.1, mark.1 + 1.4), (mark.0 - 2.1, mark.1 + 1.4)], INK, (INK, SEAM));
    // Shoulders square across the boat, the head on top.
    picture.limb([(head.0 - 0.075 * length, head.1), (head.0 + 0.075 * length, head.1)], INK, 0.07 * length);
    picture.dot(head, 0.05 * length);
    let wind = 45.0 * DEGREE * side;
    let at = |far: f64| (middle.0 + far * width * wind.sin(), middle.1 - far * width * wind.cos());
    let (from, to) = (at(0.6), at(0.42));
    picture.line([from, to], INK, 0.6);
    let barb = |turn: f64| (to.0 + 2.2 * (wind + turn).sin(), to.1 - 2.2 * (wind + turn).cos());
    picture.line([barb(0.5), to, barb(-0.5)], INK, 0.6);
    picture
}

#[cfg(test)]
mod tests {
    use super::super::Shape;
    use super::*;

    /// What the better end gains is as tall on paper as the line is long for its metres, and the boats fill it.
    #[test]
    fn the_gain_is_true() {
        for gain in [10.0, -10.0] {
            let picture = line(
                &LineDrawing { length: 80.0, gain: [gain - 3.0, gain, gain + 3.0], boat: 2.4, long: Long::METRES, alt: String::new() },
                96.0,
            );
            let drawn = picture.shapes.iter().find_map(|s| match s {
                Shape::Path { points, stroke: Some((PEN, w)), .. } if (w - ACCENT).abs() < 1e-9 => Some(points.clone()),
                _ => None,
            });
            let drawn = drawn.unwrap();
            assert!(((drawn[0].1 - drawn[1].1) - 10.0).abs() < 1e-9, "{drawn:?}");
            assert!(((drawn[0].0 - drawn[1].0).hypot(drawn[0].1 - drawn[1].1) - 80.0).abs() < 1e-9);
            let boats =
                picture.shapes.iter().filter(|s| matches!(s, Shape::Path { points, closed: true, .. } if points.len() == 12)).count();
            assert_eq!(boats, 4);
        }
    }

    #[test]
    fn the_sight_is_on_the_windward_side() {
        for (port, sign) in [(true, -1.0), (false, 1.0)] {
            let picture = over_the_shoulder(port, [1.5, 1.6, 1.7], 40.0, "");
            let sight = picture.shapes.iter().find_map(|s| match s {
                Shape::Path { points, stroke: Some((PEN, w)), .. } if *w > 0.5 => Some(points.clone()),
                _ => None,
            });
            let sight = sight.unwrap();
            assert!(sign * (sight[1].0 - sight[0].0) > 0.0);
        }
    }
}
