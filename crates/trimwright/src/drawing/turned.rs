//! The boat seen from anywhere: the solved sail as shaded strips with its line of deepest draft, mast, boom and hull.
//!
//! Body axes of the model: x forward from the transom, y to leeward, z up. Each strip is cut across into panels of one grey; panels further
//! from the eye are drawn first. Darker cloth pulls harder: the strip's own share of the drive times how it falls off from luff to leech.

use boat::balance::{Boat, Control};
use boat::optimum::Trimmed;
use boat::sail::SailState;

use super::{HULL, INK, LINE, OUTLINE, Picture, Point, SEAM, SHEET, SPAR};

/// Panels across a strip.
const ACROSS: usize = 12;
/// Greys of the sail, lightest first.
const RAMP: [&str; 6] = ["#fbfbf8", "#e3e8ea", "#c3ccd1", "#9dabb3", "#758893", "#506672"];

/// From where she is seen: round her from astern, to leeward positive, and how high, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    /// Round her.
    pub round: f64,
    /// Above the water.
    pub up: f64,
}

/// A point in body axes, m.
type Place = [f64; 3];

struct View {
    eye: Eye,
    heel: f64,
}

impl View {
    /// Right, up and depth (away from the eye), m.
    fn of(&self, [x, y, z]: Place) -> [f64; 3] {
        let (s, c) = self.heel.sin_cos();
        let (y, z) = (y * c + z * s, -y * s + z * c);
        let (s, c) = self.eye.round.sin_cos();
        // From astern: leeward on the right, forward is away.
        let (right, away) = (y * c + x * s, x * c - y * s);
        let (s, c) = self.eye.up.sin_cos();
        [right, z * c + away * s, away * c - z * s]
    }
}

/// Height of the mean line over the chord, as a share of the camber: two parabolas that meet at the draft.
fn belly(at: f64, draft: f64) -> f64 {
    let share = if at < draft { at / draft } else { (1.0 - at) / (1.0 - draft) };
    share * (2.0 - share)
}

/// The boat of a solved state as seen, as large as fits in a picture of this size (mm); `alt` says the same in words.
#[must_use]
pub fn turned(boat: &Boat, at: &Trimmed, eye: Eye, width: f64, height: f64, alt: &str) -> Picture {
    let view = View { eye, heel: at.controls[Control::Heel.index()] };
    let g = &boat.rig.geometry;
    let state: SailState<f64> = SailState::from_row(&core::array::from_fn(|k| at.state.0[k]));
    let mast = g.mast(at.controls[Control::Rake.index()] + at.whole.sail.bend_rake);
    let boom = at.controls[Control::Boom.index()];
    // A point of the sail: strip, share of the chord from the luff.
    let cloth = |strip: usize, height: f64, share: f64| -> Place {
        let s = &at.whole.sail.strips[strip];
        let (sin, cos) = (boom + state.twist[strip]).sin_cos();
        let base = mast.at(g.tack + height * g.luff);
        let chord = chord(g.chord.as_slice(), g.middle.as_slice(), height);
        let (aft, out) = (share * chord, s.camber * chord * belly(share, s.draft));
        let (along, lee) = (aft * cos - out * sin, aft * sin + out * cos);
        [base[0] - mast.cos * along, lee, base[2] - mast.sin * along]
    };
    let mut panels: Vec<(f64, Vec<Place>, usize)> = Vec::new();
    let strips = at.whole.sail.strips.len();
    let strongest = at.whole.sail.strips.iter().map(|s| s.lift.abs()).fold(1e-6, f64::max);
    for strip in 0..strips {
        // A seam is shared with the strip beside it, so that the cloth closes.
        let (below, above) = (strip.saturating_sub(1), (strip + 1).min(strips - 1));
        let seam = |other: usize, height: f64, k: usize| -> Place {
            let [p, q] = [strip, other].map(|s| cloth(s, height, k as f64 / ACROSS as f64));
            core::array::from_fn(|i| 0.5 * (p[i] + q[i]))
        };
        let grey = |k: usize| {
            let middle = (k as f64 + 0.5) / ACROSS as f64;
            let pull = (at.whole.sail.strips[strip].lift.abs() / strongest) * (1.0 - middle).sqrt();
            ((pull * RAMP.len() as f64) as usize).min(RAMP.len() - 1)
        };
        // Neighbours of one grey are one panel: the fewer, the sooner a browser has drawn them.
        for run in (0..ACROSS).collect::<Vec<_>>().chunk_by(|a, b| grey(*a) == grey(*b)) {
            let (first, last) = (run[0], run[run.len() - 1] + 1);
            let lower = (first..=last).map(|k| seam(below, g.edge[strip], k));
            let upper = (first..=last).rev().map(|k| seam(above, g.edge[strip + 1], k));
            let edge: Vec<Place> = lower.chain(upper).collect();
            let depth = edge.iter().map(|c| view.of(*c)[2]).sum::<f64>() / edge.len() as f64;
            panels.push((depth, edge, grey(first)));
        }
    }
    panels.sort_by(|a, b| b.0.total_cmp(&a.0));

    let hull: Vec<Place> =
        boat.class.hull.stations.iter().flat_map(|s| s.points.iter().flat_map(move |p| [[s.x, p[0], p[1]], [s.x, -p[0], p[1]]])).collect();
    let sheer = |side: f64| boat.class.hull.stations.iter().filter_map(move |s| s.points.last().map(|p| [s.x, side * p[0], p[1]]));
    let deck: Vec<Place> = sheer(1.0).chain(sheer(-1.0).collect::<Vec<_>>().into_iter().rev()).collect();
    let spars = [(mast.at(-g.bury), mast.at(g.tack + g.luff)), (mast.at(g.tack), mast.on_boom(g, boom, g.boom))];
    let rudder = &boat.class.rudder;
    let blade = [[rudder.x, 0.0, rudder.top_z], [rudder.x, 0.0, rudder.top_z - rudder.length]];

    // The scale keeps her whole in the frame however she is turned.
    let everything = hull.iter().copied().chain(spars.iter().flat_map(|s| [s.0, s.1])).chain(blade);
    let reach = everything
        .map(|p| view.of(p))
        .fold([f64::MAX, f64::MIN, f64::MAX, f64::MIN], |m, p| [m[0].min(p[0]), m[1].max(p[0]), m[2].min(p[1]), m[3].max(p[1])]);
    let across = boat.class.hull.length.max(reach[1] - reach[0]) + 0.3;
    let scale = (width / across).min(height / (reach[3] - reach[2] + 0.2));
    let middle = 0.5 * (reach[0] + reach[1]);
    let to_paper = |p: Place| -> Point {
        let [right, up, _] = view.of(p);
        (0.5 * width + (right - middle) * scale, (reach[3] + 0.1 - up) * scale)
    };
    let mut picture = Picture::new(width, height, alt);
    let water = to_paper([1.2, 0.0, at.whole.afloat.draught]).1;
    picture.line([(0.0, water), (width, water)], LINE, 0.28);
    picture.limb(blade.map(to_paper), SHEET, 1.6);
    picture.line(blade.map(to_paper), LINE, SEAM);
    picture.area(outline(hull.iter().map(|p| to_paper(*p)).collect()), HULL, (INK, OUTLINE));
    picture.area(deck.into_iter().map(to_paper), SHEET, (INK, SEAM));
    for (_, edge, grey) in panels {
        picture.area(edge.into_iter().map(to_paper), RAMP[grey], (RAMP[grey], 0.05));
    }
    for strip in (0..strips).step_by(4) {
        let seam = (0..=ACROSS).map(|k| to_paper(cloth(strip, g.edge[strip], k as f64 / ACROSS as f64)));
        picture.line(seam, INK, SEAM);
    }
    let edge = |share: f64| (0..strips).map(move |s| (s, share));
    let leech = edge(1.0).map(|(s, share)| to_paper(cloth(s, g.middle[s], share)));
    picture.line(leech, INK, OUTLINE);
    let deepest = (0..strips).map(|s| to_paper(cloth(s, g.middle[s], at.whole.sail.strips[s].draft)));
    picture.dashed(deepest, INK, SEAM * 1.5, 0.9);
    for (from, to) in spars {
        picture.line([to_paper(from), to_paper(to)], INK, SPAR);
    }
    picture
}

/// The chord at a height, by straight lines between the strips' middles.
fn chord(chords: &[f64], middles: &[f64], height: f64) -> f64 {
    let i = middles.iter().rposition(|m| *m <= height).unwrap_or(0).min(middles.len() - 2);
    let share = (height - middles[i]) / (middles[i + 1] - middles[i]);
    chords[i] + share * (chords[i + 1] - chords[i])
}

/// The outline round points (Andrew's monotone chain, 1979).
fn outline(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let turn = |o: Point, a: Point, b: Point| (a.0 - o.0) * (b.1 - o.1) - (a.1 - o.1) * (b.0 - o.0);
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut kept: Vec<Point> = Vec::new();
        for p in points {
            while kept.len() > 1 && turn(kept[kept.len() - 2], kept[kept.len() - 1], p) <= 0.0 {
                kept.pop();
            }
            kept.push(p);
        }
        kept.pop();
        kept
    };
    let mut lower = half(&mut points.iter().copied());
    lower.extend(half(&mut points.iter().rev().copied()));
    lower
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outline_holds_every_point() {
        let points = vec![(0.0, 0.0), (2.0, 0.0), (1.0, 1.0), (2.0, 2.0), (0.0, 2.0), (1.0, 0.5)];
        assert_eq!(outline(points), vec![(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]);
    }

    #[test]
    fn a_belly_is_deepest_at_its_draft() {
        assert!((belly(0.4, 0.4) - 1.0).abs() < 1e-12 && belly(0.3, 0.4) < 1.0 && belly(0.5, 0.4) < 1.0);
        assert!(belly(0.0, 0.4).abs() < 1e-12 && belly(1.0, 0.4).abs() < 1e-12);
    }
}
