//! A rounding to scale: the best path on a tape as wide as makes no difference, tight in and wide out dashed, the zone, boats at true size.

use super::start::hull;
use super::{ACCENT, Anchor, INK, LEAST_TEXT, LINE, ON_TAPE, OUTLINE, PEN_ON_TAPE, Picture, Point, ROPE, SEAM, SHEET, TAPE, TAPE_EDGE};
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
    /// Where hands begin, metres along the best path before the middle of its turn (after it negative), what they do, and when.
    pub deeds: Vec<(f64, [String; 2])>,
    /// A way that was sailed, drawn in pen over the best path, which then is dashed.
    pub own: Option<Own>,
    /// What it says, in words.
    pub alt: String,
}

/// A way that was sailed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Own {
    /// Its places.
    pub points: Vec<[f64; 2]>,
    /// Where on it boats are drawn.
    pub boats: Vec<usize>,
}

/// A picture shows no more than so many zones around the course mark: in more a boat is too small to see.
const FARTHEST: f64 = 2.4;

/// The rounding in a square of this width, mm, the wind from above.
#[must_use]
pub fn rounding(drawing: &RoundingDrawing, width: f64) -> Picture {
    let mut picture = Picture::new(width, width, drawing.alt.clone());
    // All of the zone and some way beyond it; more where hands begin earlier, within a limit.
    let far = drawing.deeds.iter().map(|d| d.0.abs() + 2.0 * drawing.boat).filter(|far| *far < FARTHEST * drawing.zone);
    let reach = far.fold(1.45 * drawing.zone, f64::max);
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
    // A boat on the way in, in the middle of the turn, on the way out.
    let [from, to] = drawing.turn;
    let (way, boats) = match &drawing.own {
        None => {
            picture.limb(shown(&drawing.best), PEN_ON_TAPE, ACCENT);
            (&drawing.best, vec![from, usize::midpoint(from, to), (to + 30).min(drawing.best.len().saturating_sub(2))])
        }
        Some(own) => {
            picture.dashed(shown(&drawing.best), ON_TAPE, OUTLINE * 1.6, 1.8);
            picture.limb(shown(&own.points), PEN_ON_TAPE, ACCENT);
            (&own.points, own.boats.clone())
        }
    };
    for i in boats {
        let Some([a, b]) = way.get(i..i + 2) else { continue };
        let (p, q) = (at(a), at(b));
        if on(&p) && p != q {
            hull(&mut picture, p, drawing.boat * scale, (q.0 - p.0).atan2(p.1 - q.1));
        }
    }
    picture.dot((0.5 * width, 0.5 * width), 1.5);
    let mut taken = vec![[0.5 * width - 3.0, 0.5 * width - 3.0, 0.5 * width + 3.0, 0.5 * width + 3.0]];
    for (before, words) in &drawing.deeds {
        if let Some((p, along)) = place(&drawing.best, usize::midpoint(from, to), *before) {
            let (q, ahead) = (at(&p), at(&[p[0] + along[0], p[1] + along[1]]));
            if on(&q) {
                deed(&mut picture, q, (ahead.0 - q.0, ahead.1 - q.1), words, width, &mut taken);
            }
        }
    }
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

/// The place so many metres before the middle of the turn along a path, and which way it goes there (a unit).
fn place(path: &[[f64; 2]], middle: usize, before: f64) -> Option<([f64; 2], [f64; 2])> {
    let step = |i: usize| -> Option<([f64; 2], [f64; 2], f64)> {
        let (a, b) = (*path.get(i)?, *path.get(i + 1)?);
        Some((a, b, (b[0] - a[0]).hypot(b[1] - a[1])))
    };
    let mut left = before.abs();
    let steps: Vec<usize> = if before >= 0.0 { (0..middle).rev().collect() } else { (middle..path.len()).collect() };
    for i in steps {
        let (a, b, long) = step(i)?;
        if left <= long && long > 0.0 {
            let share = if before >= 0.0 { 1.0 - left / long } else { left / long };
            let at = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
            return Some((at, [(b[0] - a[0]) / long, (b[1] - a[1]) / long]));
        }
        left -= long;
    }
    None
}

/// A stroke across the path, and on the side away from the course mark what hands do there, and when; clear of what is written already.
fn deed(picture: &mut Picture, at: Point, along: Point, [what, when]: &[String; 2], width: f64, taken: &mut Vec<[f64; 4]>) {
    let long = along.0.hypot(along.1).max(1e-9);
    let across = (-along.1 / long, along.0 / long);
    picture.line(
        [(at.0 - 3.0 * across.0, at.1 - 3.0 * across.1), (at.0 + 3.0 * across.0, at.1 + 3.0 * across.1)],
        PEN_ON_TAPE,
        ACCENT * 1.3,
    );
    let middle = 0.5 * width;
    // Words go outward, and to the side that has room for them.
    let outward = if (at.0 - middle) * across.0 + (at.1 - middle) * across.1 >= 0.0 { 1.0 } else { -1.0 };
    let wide = LEAST_TEXT * 0.56 * what.chars().count().max(when.chars().count()) as f64;
    let placed = |far: f64| {
        let to = (at.0 + outward * far * across.0, at.1 + outward * far * across.1);
        let right = (across.0 * outward >= 0.0 && to.0 + wide < width - 1.0) || to.0 - wide < 1.0;
        let from = if right { to.0 - 0.5 } else { to.0 - wide - 0.5 };
        (to, right, [from, to.1 - 4.2, from + wide + 1.0, to.1 + 5.2])
    };
    let free = |b: &[f64; 4]| taken.iter().all(|t| b[0] > t[2] || b[2] < t[0] || b[1] > t[3] || b[3] < t[1]);
    let (to, right, b) = [5.0, 11.0, 17.0, 23.0].map(placed).into_iter().find(|p| free(&p.2)).unwrap_or(placed(5.0));
    let anchor = if right { Anchor::Start } else { Anchor::End };
    picture.line([at, to], LINE, SEAM);
    picture.fill([(b[0], b[1]), (b[2], b[1]), (b[2], b[3]), (b[0], b[3])], SHEET);
    picture.figure(to, LEAST_TEXT, anchor, what.clone());
    picture.text((to.0, to.1 + 4.2), LEAST_TEXT, anchor, when.clone());
    taken.push(b);
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
            deeds: vec![(2.0, ["sheet in".to_owned(), "1 s before".to_owned()])],
            own: None,
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

    /// A stroke stands so many metres before the middle of the turn, along the path.
    #[test]
    fn a_deed_stands_on_the_path() {
        let path = [[0.0, 10.0], [0.0, 2.0], [2.0, 0.0], [10.0, 0.0]];
        let corner = 2.0 * f64::sqrt(2.0);
        let (at, way) = place(&path, 2, corner + 3.0).unwrap();
        assert!((at[1] - 5.0).abs() < 1e-9 && at[0].abs() < 1e-9 && (way[1] + 1.0).abs() < 1e-9, "{at:?}");
        let (at, _) = place(&path, 2, -3.0).unwrap();
        assert!((at[0] - 5.0).abs() < 1e-9, "{at:?}");
        assert!(place(&path, 2, 40.0).is_none());
    }
}
