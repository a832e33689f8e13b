//! Wrong beside right: what is seen on the left, what is better on the right, a thin line between, same scale and view.
//!
//! The boat is an invented small pram and the sailor a child's size as in [`super::posture`]; angles and places are drawn to be told apart at
//! a glance in the sun, not measured.

use measure::angle::DEGREE;

use super::start::hull;
use super::{ACCENT, Anchor, HULL, INK, LEAST_TEXT, LINE, OUTLINE, PEN, Picture, Point, ROPE, curve};

/// Size of one half, mm.
const HALF: (f64, f64) = (36.0, 30.0);
/// The hull from the side in boat lengths, transom at 0: keel, then sheer back.
const SIDE: [Point; 9] =
    [(0.0, 0.07), (0.25, 0.0), (0.6, 0.0), (0.85, 0.06), (1.0, 0.15), (1.0, 0.25), (0.75, 0.21), (0.4, 0.19), (0.0, 0.2)];
/// Height of the water on it, boat lengths.
const WATER: f64 = 0.075;

/// The pair of a name; none where there is no such picture.
#[must_use]
pub fn pair(name: &str, words: &str, better: &str) -> Option<Picture> {
    let (w, h) = HALF;
    let alt = if better.is_empty() { words.to_owned() } else { format!("Left: {words}. Right: {better}") };
    let mut picture = Picture::new(2.0 * w + 2.0, h, alt);
    let half = match name {
        "weight_aft" | "bow_buried" => side,
        "out_of_reach" | "rail_in_light_air" | "sail_hooked" | "sail_spilling" => behind,
        "control_late" | "tight_entry" => above,
        _ => return None,
    };
    half(&mut picture, 0.0, name, false);
    half(&mut picture, w + 2.0, name, true);
    picture.line([(w + 1.0, 1.0), (w + 1.0, h - 1.0)], LINE, 0.3);
    Some(picture)
}

/// From the side, bow to the right.
fn side(picture: &mut Picture, left: f64, name: &str, right: bool) {
    let length = 28.0;
    let (pitch, seat) = match (name, right) {
        ("weight_aft", false) => (7.0, 0.16),
        ("bow_buried", false) => (-8.0, 0.62),
        _ => (0.0, 0.40),
    };
    let (s, c) = (pitch * DEGREE).sin_cos();
    let origin = (left + 4.0, 24.0);
    // The boat turns about her middle, at the water.
    let at = |(x, z): Point| {
        let (x, z) = ((x - 0.45) * length, (z - WATER) * length);
        (origin.0 + 0.45 * length + x * c - z * s, origin.1 - x * s - z * c)
    };
    let mast: Vec<Point> = [(0.78, 0.15), (0.72, 0.80)].map(at).to_vec();
    picture.line(mast, INK, 0.8);
    picture.line(curve(at((0.72, 0.80)), at((0.30, 0.72)), at((0.06, 0.34))), INK, OUTLINE);
    picture.line([at((0.76, 0.31)), at((0.06, 0.34))], INK, 0.5);
    let (hip, shoulder) = ((seat, 0.22), (seat - 0.05, 0.44));
    picture.limb([at(hip), at(shoulder)], INK, 2.6);
    picture.limb([at(hip), at((seat + 0.13, 0.24)), at((seat + 0.14, 0.12))], INK, 1.7);
    picture.dot(at((seat - 0.04, 0.55)), 1.5);
    picture.area(SIDE.map(at), HULL, (INK, OUTLINE));
    let water = origin.1;
    match (name, right) {
        ("weight_aft", false) => {
            // She drags a heap of water behind her.
            let stern = at((0.0, 0.1)).0;
            for n in 0..3 {
                let y = water - 2.4 + 1.6 * f64::from(n);
                picture.line(curve((left + 0.3, y + 0.8), (left + 2.0, y - 2.0), (stern + 0.4, y + 1.0)), INK, 0.6);
            }
            picture.line([(stern + 1.0, water), (left + HALF.0, water)], INK, 0.6);
        }
        ("bow_buried", false) => {
            let bow = at((1.0, 0.1)).0;
            picture.line([(left, water), (bow - 2.0, water)], INK, 0.6);
            for n in 0..3 {
                let y = water - 3.0 + 1.6 * f64::from(n);
                picture.line(curve((bow - 2.0, y + 2.0), (bow + 1.2, y - 3.0), (bow + 3.4, y + 2.2)), INK, 0.6);
            }
        }
        _ => picture.line([(left, water), (left + HALF.0, water)], INK, 0.6),
    }
}

/// From behind, windward on the left.
fn behind(picture: &mut Picture, left: f64, name: &str, right: bool) {
    let scale = 15.0;
    let middle = left + 21.0;
    let at = |(x, z): Point| (middle + x * scale, 20.0 - z * scale);
    picture.line([(left, at((0.0, -0.2)).1), (left + HALF.0, at((0.0, -0.2)).1)], INK, 0.6);
    picture.area([(-0.3, -0.32), (0.3, -0.32), (0.45, 0.0), (0.48, 0.1), (-0.48, 0.1), (-0.45, 0.0)].map(at), HULL, (INK, OUTLINE));
    let inside = name == "rail_in_light_air" && right;
    let rail = name == "rail_in_light_air" && !right;
    let out = name == "out_of_reach" && !right;
    let hand = if inside {
        body(picture, &at, [(-0.10, 0.66), (-0.12, 0.44), (-0.14, 0.06), (0.12, 0.24), (0.22, -0.06)], [(0.02, 0.28), (0.14, 0.38)])
    } else if out {
        body(picture, &at, [(-1.18, 0.46), (-1.00, 0.40), (-0.56, 0.20), (-0.18, 0.18), (-0.06, -0.02)], [(-1.16, 0.62), (-1.28, 0.78)])
    } else {
        body(picture, &at, [(-0.80, 0.80), (-0.70, 0.58), (-0.50, 0.18), (-0.12, 0.18), (-0.06, -0.04)], [(-0.42, 0.40), (-0.22, 0.50)])
    };
    let ring = (0.30, 0.30);
    let (bend, top) = match (name, right) {
        ("sail_hooked", false) => ((0.62, 0.75), (0.02, 1.20)),
        ("sail_spilling", false) => ((0.26, 0.75), (0.92, 1.12)),
        _ if rail || inside => ((0.55, 0.70), (0.40, 1.20)),
        _ => ((0.40, 0.75), (0.42, 1.24)),
    };
    let strong = name.starts_with("sail");
    picture.line(curve(at(ring), at(bend), at(top)), if strong { PEN } else { INK }, if strong { ACCENT } else { 0.6 });
    picture.ring(at(ring), 0.7, 0.5);
    // The sheet reaches the hand, or hangs loose.
    let end = if out { (-0.10, 0.16) } else { hand };
    picture.line(
        curve(at(ring), at((0.1, 0.10)), at(end)),
        if name == "out_of_reach" { PEN } else { INK },
        if name == "out_of_reach" { 0.7 } else { ROPE },
    );
    // Ripples of a light wind, or of none told.
    if rail || inside {
        picture.line(curve(at((0.8, -0.30)), at((0.95, -0.24)), at((1.1, -0.30))), LINE, 0.4);
    }
}

/// A child: head, shoulder, hip, knee, foot; elbow and hand. Gives the hand.
fn body(picture: &mut Picture, at: &impl Fn(Point) -> Point, joints: [Point; 5], arm: [Point; 2]) -> Point {
    let [head, shoulder, hip, knee, foot] = joints;
    picture.limb([shoulder, hip].map(at), INK, 2.5);
    picture.limb([hip, knee, foot].map(at), INK, 1.7);
    picture.limb([shoulder, arm[0], arm[1]].map(at), INK, 1.1);
    picture.dot(at(head), 1.5);
    arm[1]
}

/// From above, the wind from above, a course mark.
fn above(picture: &mut Picture, left: f64, name: &str, right: bool) {
    let at = |(x, y): Point| (left + x, y);
    let mark = (18.0, 15.0);
    picture.line([(3.0, 1.5), (3.0, 6.5)].map(at), INK, 0.6);
    picture.line([(1.8, 4.9), (3.0, 6.7), (4.2, 4.9)].map(at), INK, 0.6);
    let boat = |picture: &mut Picture, (x, y): Point, way: f64| hull(picture, at((x, y)), 5.0, way * DEGREE);
    if name == "control_late" {
        // Up to a windward course mark, round it, and away.
        let path: Vec<Point> =
            curve((32.0, 28.0), (22.0, 12.0), (15.0, 9.0)).into_iter().chain(curve((15.0, 9.0), (7.0, 9.0), (6.0, 27.0))).map(at).collect();
        picture.line(path, INK, 0.6);
        boat(picture, (28.2, 22.0), -35.0);
        boat(picture, (6.6, 20.0), 186.0);
        let (stroke, words) = if right { ([(22.5, 18.5), (27.5, 14.5)], (25.0, 11.5)) } else { ([(3.0, 15.0), (11.0, 15.6)], (7.0, 29.2)) };
        picture.line(stroke.map(at), PEN, 1.4);
        picture.text(at(words), LEAST_TEXT, Anchor::Start, "ease");
        picture.dot(at((15.0, 15.0)), 1.3);
        return;
    }
    // A leeward course mark: from the run above, round it, and away close to the wind.
    let path: Vec<Point> = if right {
        curve((8.0, 0.5), (6.0, 17.0), (14.0, 18.5)).into_iter().chain(curve((14.0, 18.5), (20.0, 19.0), (33.0, 3.0))).map(at).collect()
    } else {
        curve((15.5, 0.5), (15.0, 14.0), (16.0, 19.0)).into_iter().chain(curve((16.0, 19.0), (21.0, 32.0), (35.0, 13.0))).map(at).collect()
    };
    picture.line(path, PEN, ACCENT);
    let (first, last) = if right { ((7.8, 7.5), (28.0, 9.0)) } else { ((15.3, 7.5), (30.0, 20.5)) };
    boat(picture, first, 180.0);
    boat(picture, last, 40.0);
    picture.dot(at(mark), 1.3);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::briefing::seen::seen;

    /// Every picture the list names is there, and its two halves differ.
    #[test]
    fn every_pair_has_two_sides() {
        for one in seen(None).0.iter().filter(|s| !s.picture.is_empty()) {
            let drawn = pair(&one.picture, &one.words, &one.better);
            assert!(drawn.as_ref().is_some_and(|p| p.alt.contains("Right: ")), "{}", one.key);
            let half = match one.picture.as_str() {
                "weight_aft" | "bow_buried" => side,
                "control_late" | "tight_entry" => above,
                _ => behind,
            };
            let of = |right| {
                let mut picture = Picture::new(1.0, 1.0, "");
                half(&mut picture, 0.0, &one.picture, right);
                picture
            };
            assert_ne!(of(false), of(true), "{}", one.key);
        }
        assert!(pair("none", "", "").is_none());
    }
}
