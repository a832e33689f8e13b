//! A moment of an outing to scale, the wind from above: one trail, or two laid over each other from the same course mark.

use measure::angle::DEGREE;

use super::chart::frame;
use super::start::hull;
use super::{ACCENT, Anchor, INK, LEAST_TEXT, OUTLINE, PEN, Picture, Point, SHEET};

/// What is drawn. Places are metres east and north.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Passage {
    /// The trail, in pen.
    pub trail: Vec<[f64; 2]>,
    /// Where on it boats are drawn.
    pub boats: Vec<usize>,
    /// A better one, dashed, and where on it boats are drawn.
    pub better: Option<(Vec<[f64; 2]>, Vec<usize>)>,
    /// The course mark.
    pub mark: Option<[f64; 2]>,
    /// The boat's length, m.
    pub length: f64,
    /// Where the wind comes from, degrees true, where that is known; else north is above.
    pub wind: Option<f64>,
    /// What it says, in words.
    pub alt: String,
}

/// Room round the trails, mm.
const ROOM: f64 = 7.0;
/// The least width that is drawn, m: a trail of one place is no cause to draw a boat as large as the page.
const LEAST: f64 = 12.0;

/// The passage in this width and at most this height, mm.
#[must_use]
pub fn passage(passage: &Passage, width: f64, most: f64) -> Picture {
    let (s, c) = (passage.wind.unwrap_or(0.0) * DEGREE).sin_cos();
    let turn = |p: &[f64; 2]| [p[0] * c - p[1] * s, p[0] * s + p[1] * c];
    let better = passage.better.as_ref();
    let all: Vec<[f64; 2]> =
        passage.trail.iter().chain(better.iter().flat_map(|b| &b.0)).chain(&passage.mark).map(turn).filter(|p| p[0].is_finite()).collect();
    let bound = |axis: usize, pick: fn(f64, f64) -> f64, start: f64| all.iter().map(|p| p[axis]).fold(start, pick);
    let (west, east) = (bound(0, f64::min, f64::MAX), bound(0, f64::max, f64::MIN));
    let (south, north) = (bound(1, f64::min, f64::MAX), bound(1, f64::max, f64::MIN));
    if west > east {
        return Picture::new(width, 20.0, passage.alt.clone());
    }
    let foot = 8.0;
    let scale = ((width - 2.0 * ROOM) / (east - west).max(LEAST)).min((most - 2.0 * ROOM - foot) / (north - south).max(LEAST));
    let height = ((north - south) * scale + 2.0 * ROOM + foot).max(36.0);
    let (shift_x, shift_y) = (0.5 * (width - (east - west) * scale), 0.5 * (height - foot - (north - south) * scale));
    let mut picture = Picture::new(width, height, passage.alt.clone());
    frame(&mut picture, width, height);
    let at = |p: &[f64; 2]| -> Point {
        let [x, y] = turn(p);
        ((x - west) * scale + shift_x, (north - y) * scale + shift_y)
    };
    let line = |path: &[[f64; 2]]| path.iter().map(&at).collect::<Vec<_>>();
    if let Some((path, boats)) = better {
        picture.dashed(line(path), INK, OUTLINE, 1.8);
        sailed(&mut picture, &line(path), boats, passage.length * scale);
    }
    picture.limb(line(&passage.trail), PEN, ACCENT);
    sailed(&mut picture, &line(&passage.trail), &passage.boats, passage.length * scale);
    if let Some(mark) = &passage.mark {
        picture.dot(at(mark), 1.5);
    }
    let x = 5.0;
    picture.line([(x, 2.5), (x, 10.0)], INK, 0.6);
    let (tip, words) = if passage.wind.is_some() { (10.2, "wind") } else { (2.3, "N") };
    let barb = if passage.wind.is_some() { 7.6 } else { 4.9 };
    picture.line([(x - 1.6, barb), (x, tip), (x + 1.6, barb)], INK, 0.6);
    picture.text((x + 3.0, 7.5), LEAST_TEXT, Anchor::Start, words);
    let bar = passage.length * scale;
    let y = height - 2.4;
    picture.fill([(0.5, y - 5.4), (bar + 32.0, y - 5.4), (bar + 32.0, height - 0.5), (0.5, height - 0.5)], SHEET);
    picture.line([(2.0, y - 1.2), (2.0, y), (2.0 + bar, y), (2.0 + bar, y - 1.2)], INK, 0.5);
    picture.text((4.0 + bar, y), LEAST_TEXT, Anchor::Start, "a boat length");
    picture
}

/// Boats at true size on their way.
fn sailed(picture: &mut Picture, path: &[Point], boats: &[usize], length: f64) {
    for &i in boats {
        let (Some(p), Some(a), Some(b)) = (path.get(i), path.get(i.saturating_sub(1)), path.get((i + 1).min(path.len().saturating_sub(1))))
        else {
            continue;
        };
        if (b.0 - a.0).hypot(b.1 - a.1) > 0.0 {
            hull(picture, *p, length, (b.0 - a.0).atan2(a.1 - b.1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Shape;
    use super::*;

    /// A trail of four boat lengths is four times the bar; with the wind from the east, sailing east is sailing up the page.
    #[test]
    fn to_scale_and_the_wind_from_above() {
        let trail: Vec<[f64; 2]> = (0..=16).map(|i| [f64::from(i), 0.0]).collect();
        let drawn = passage(&Passage { trail, length: 4.0, wind: Some(90.0), ..Passage::default() }, 80.0, 90.0);
        let way = drawn.shapes.iter().find_map(|s| match s {
            Shape::Path { points, stroke: Some((PEN, _)), .. } => Some((points[0], points[points.len() - 1])),
            _ => None,
        });
        let bar = drawn.shapes.iter().rev().find_map(|s| match s {
            Shape::Path { points, stroke: Some((INK, 0.5)), .. } if points.len() == 4 => Some(points[2].0 - points[1].0),
            _ => None,
        });
        let (from, to) = way.unwrap();
        assert!((from.0 - to.0).abs() < 1e-9 && from.1 > to.1, "{from:?} {to:?}");
        assert!(((from.1 - to.1) / bar.unwrap() - 4.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_to_draw_is_drawn() {
        assert!(passage(&Passage::default(), 80.0, 80.0).svg().contains("<svg"));
        let still = Passage { trail: vec![[3.0, 3.0]; 5], boats: vec![2, 99], length: 2.4, ..Passage::default() };
        assert!(passage(&still, 80.0, 80.0).svg().contains("<svg"));
    }
}
