//! A rounding to scale: the best path on a tape as wide as makes no difference, tight in and wide out dashed, the zone, boats at true size.

use super::start::hull;
use super::{ACCENT, Anchor, INK, LEAST_TEXT, LINE, OUTLINE, PEN_ON_TAPE, Picture, Point, ROPE, SEAM, SHEET, TAPE, TAPE_EDGE};
use measure::angle::DEGREE;

/// What is drawn. Places are metres east and north of the course mark.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundingDrawing {
    /// The best path.
    pub best: Vec<[f64; 2]>,
    /// Where its turn begins and is over.
    pub turn: [usize; 2],
    /// The paths at the edges of what makes no difference.
    pub edges: [Vec<[f64; 2]>; 2],
    /// Tight in and wide out.
    pub tight: Vec<[f64; 2]>,
    /// Radius of the zone and the boat's length, m.
    pub zone: f64,
    /// The boat's length.
    pub boat: f64,
    /// Where the wind comes from, degrees true.
    pub wind: f64,
    /// What it says, in words.
    pub alt: String,
}

/// The rounding in a square of this width, mm, the wind from above.
#[must_use]
pub fn rounding(drawing: &RoundingDrawing, width: f64) -> Picture {
    let mut picture = Picture::new(width, width, drawing.alt.clone());
    // All of the zone and some way beyond it.
    let reach = 1.45 * drawing.zone;
    let scale = 0.5 * width / reach;
    let (s, c) = (drawing.wind * DEGREE).sin_cos();
    let at = |p: &[f64; 2]| -> Point { (0.5 * width + (p[0] * c - p[1] * s) * scale, 0.5 * width - (p[0] * s + p[1] * c) * scale) };
    let on = |p: &Point| p.0 > 0.0 && p.0 < width && p.1 > 0.0 && p.1 < width;
    let shown = |path: &[[f64; 2]]| -> Vec<Point> { fine(path).iter().map(&at).filter(on).collect() };
    let [low, high] = &drawing.edges;
    let tape: Vec<Point> = shown(low).into_iter().chain(shown(high).into_iter().rev()).collect();
    if tape.len() > 2 {
        picture.area(tape, TAPE, (TAPE_EDGE, SEAM));
    }
    let ring = (0..=72).map(|i| {
        let (s, c) = (f64::from(i) * 5.0 * DEGREE).sin_cos();
        (0.5 * width + drawing.zone * scale * s, 0.5 * width - drawing.zone * scale * c)
    });
    picture.dashed(ring, INK, ROPE, 1.2);
    picture.dashed(shown(&drawing.tight), INK, OUTLINE, 1.8);
    picture.limb(shown(&drawing.best), PEN_ON_TAPE, ACCENT);
    // A boat on the way in, in the middle of the turn, on the way out.
    let [from, to] = drawing.turn;
    for i in [from, usize::midpoint(from, to), (to + 30).min(drawing.best.len().saturating_sub(2))] {
        let Some([a, b]) = drawing.best.get(i..i + 2) else { continue };
        let (p, q) = (at(a), at(b));
        if on(&p) {
            hull(&mut picture, p, drawing.boat * scale, (q.0 - p.0).atan2(p.1 - q.1));
        }
    }
    picture.dot((0.5 * width, 0.5 * width), 1.5);
    let x = 7.0;
    picture.line([(x, 1.5), (x, 9.0)], INK, 0.6);
    picture.line([(x - 1.6, 6.6), (x, 9.2), (x + 1.6, 6.6)], INK, 0.6);
    picture.text((x + 3.0, 6.0), LEAST_TEXT, Anchor::Start, "wind");
    let foot = width - 2.4;
    picture.fill([(0.5, foot - 7.0), (46.0, foot - 7.0), (46.0, width - 0.5), (0.5, width - 0.5)], SHEET);
    picture.line([(2.0, foot - 1.2), (2.0, foot), (2.0 + drawing.boat * scale, foot), (2.0 + drawing.boat * scale, foot - 1.2)], INK, 0.5);
    picture.text((4.0 + drawing.boat * scale, foot), LEAST_TEXT, Anchor::Start, "a boat length");
    picture.line([(0.2, 0.2), (width - 0.2, 0.2), (width - 0.2, width - 0.2), (0.2, width - 0.2), (0.2, 0.2)], LINE, SEAM);
    picture
}

/// The straight way in with points close enough to be cut at the picture's edge.
fn fine(path: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let [a, b, rest @ ..] = path else { return path.to_vec() };
    let mix = |i: i32| {
        let u = f64::from(i) / 60.0;
        [a[0] + u * (b[0] - a[0]), a[1] + u * (b[1] - a[1])]
    };
    (0..=60).map(mix).chain(rest.iter().copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::super::Shape;
    use super::*;

    /// The zone is three boat lengths of the bar, whatever the size of the picture.
    #[test]
    fn the_zone_is_three_of_the_bar() {
        let path = vec![[-3.0, 12.0], [-3.0, 1.0], [0.0, -2.0], [4.0, 2.0]];
        let drawing = RoundingDrawing {
            best: path.clone(),
            turn: [1, 2],
            edges: [path.clone(), path.clone()],
            tight: path,
            zone: 7.2,
            boat: 2.4,
            wind: 0.0,
            alt: String::new(),
        };
        let picture = rounding(&drawing, 80.0);
        let zone = picture.shapes.iter().find_map(|s| match s {
            Shape::Path { points, dash: Some(_), .. } if points.len() == 73 => Some(40.0 - points[0].1),
            _ => None,
        });
        let bar = picture.shapes.iter().find_map(|s| match s {
            Shape::Path { points, stroke: Some((INK, 0.5)), .. } if points.len() == 4 => Some(points[2].0 - points[1].0),
            _ => None,
        });
        assert!((zone.unwrap() / bar.unwrap() - 3.0).abs() < 1e-9);
    }
}
