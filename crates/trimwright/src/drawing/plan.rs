//! The boat from above, bow up, to scale: hull, boom, car, sailor, rudder, and the wind's arrow.

use boat::balance::{Boat, Control, Tack};
use boat::optimum::Trimmed;

use super::{ACCENT, HULL, INK, LINE, OUTLINE, PEN, Picture, Point, ROPE, SPAR};

/// Radius of a child's head and breadth of the shoulders from above, m. `assumed`.
const HEAD: f64 = 0.10;
/// How far before the bow the wind's arrow begins, m.
const AHEAD: f64 = 0.35;
/// Length of the arrow, m.
const ARROW: f64 = 0.6;

/// The boat of a solved state from above, as large as fits in a picture of this size (mm); `alt` says the same in words.
#[must_use]
pub fn from_above(boat: &Boat, at: &Trimmed, tack: Tack, width: f64, height: f64, alt: &str) -> Picture {
    let class = &boat.class;
    let g = &boat.rig.geometry;
    let p = |c: Control| at.controls[c.index()];
    let half = class.hull.stations.iter().flat_map(|s| s.points.iter().map(|p| p[0])).fold(0.1_f64, f64::max);
    let aft = class.rudder.x - 0.35;
    let long = class.hull.length - aft + AHEAD + ARROW;
    let wide = 2.0 * (half + 1.0);
    let scale = (width / wide).min(height / long);
    // Leeward is to the left with the wind from starboard.
    let lee = if tack == Tack::Starboard { -1.0 } else { 1.0 };
    let to_paper = |x: f64, y: f64| -> Point { (0.5 * width + lee * y * scale, (long - (x - aft)) * scale) };
    let mut picture = Picture::new(width, height, alt);
    let side = |sign: f64| class.hull.stations.iter().filter_map(move |s| s.points.last().map(|p| (s.x, sign * p[0])));
    let rail: Vec<(f64, f64)> = side(1.0).chain(side(-1.0).collect::<Vec<_>>().into_iter().rev()).collect();
    picture.area(rail.into_iter().map(|(x, y)| to_paper(x, y)), HULL, (INK, OUTLINE));
    let rudder = at.whole.rudder_angle;
    let blade = 0.25;
    picture.line([to_paper(class.rudder.x, 0.0), to_paper(class.rudder.x - blade * rudder.cos(), -blade * rudder.sin())], INK, SPAR);
    let mast = g.mast(p(Control::Rake));
    let tack_point = mast.at(g.tack);
    let end = mast.on_boom(g, p(Control::Boom), g.boom);
    picture.line([to_paper(tack_point[0], tack_point[1]), to_paper(end[0], end[1])], INK, SPAR);
    if boat.reach(boat::gauge::Gauge::CarOffset).is_some() {
        let car = to_paper(g.lead[0], p(Control::Car));
        let block = mast.on_boom(g, p(Control::Boom), g.block);
        picture.line([car, to_paper(block[0], block[1])], INK, ROPE);
        picture.line([(car.0, car.1 - 1.2), (car.0, car.1 + 1.2)], PEN, ACCENT);
    }
    let dot = to_paper(tack_point[0], 0.0);
    picture.dot(dot, 0.6);
    // The sailor sits to windward.
    let body = to_paper(p(Control::Seat), -at.whole.hike);
    picture.ring(body, HEAD * scale, OUTLINE);
    picture.dot(body, 0.5 * HEAD * scale);
    // The wind flies towards the mast.
    let angle = p(Control::WindAngle);
    let (sin, cos) = angle.sin_cos();
    let reach = class.hull.length - tack_point[0] + AHEAD;
    let [tail, tip] = [reach + ARROW, reach].map(|r| to_paper(tack_point[0] + r * cos, -r * sin));
    let tail = (tail.0.clamp(1.0, width - 1.0), tail.1.clamp(1.0, height - 1.0));
    let tip = (tip.0.clamp(1.0, width - 1.0), tip.1.clamp(1.0, height - 1.0));
    picture.line([tail, tip], LINE, SPAR);
    let (dx, dy) = (tip.0 - tail.0, tip.1 - tail.1);
    let length = dx.hypot(dy).max(1e-6);
    let (ux, uy) = (dx / length, dy / length);
    picture.fill(
        [
            (tip.0, tip.1),
            (tip.0 - 2.2 * ux - 1.1 * uy, tip.1 - 2.2 * uy + 1.1 * ux),
            (tip.0 - 2.2 * ux + 1.1 * uy, tip.1 - 2.2 * uy - 1.1 * ux),
        ],
        LINE,
    );
    picture
}
