//! How one measure of a sailor came on from outing to outing: a point and its limits for each.

use super::{Anchor, INK, LEAST_TEXT, LINE, OUTLINE, PEN, Picture, SEAM};

const WIDTH: f64 = 86.0;
const HEIGHT: f64 = 44.0;

/// One outing.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Its place in the season, from 0.
    pub place: usize,
    /// Its name.
    pub label: String,
    /// The measure.
    pub mean: f64,
    /// Its standard deviation.
    pub sd: Option<f64>,
}

/// The picture of a season of `outings`.
#[must_use]
pub fn progress(says: &str, outings: usize, points: &[Point]) -> Picture {
    let spoken: Vec<String> = points.iter().map(|p| format!("{} {:.1}", p.label, p.mean)).collect();
    let mut picture = Picture::new(WIDTH, HEIGHT, format!("{says}: {}", spoken.join(", ")));
    let reach = |p: &Point| 1.96 * p.sd.unwrap_or(0.0);
    let low = points.iter().map(|p| p.mean - reach(p)).fold(0.0_f64, f64::min);
    let high = points.iter().map(|p| p.mean + reach(p)).fold(1.0_f64, f64::max);
    let step = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|s| (high - low) / s <= 5.0).unwrap_or(100.0);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let x = |place: usize| 12.0 + (WIDTH - 18.0) * (place as f64 + 0.5) / outings.max(1) as f64;
    let y = |v: f64| 3.0 + (HEIGHT - 11.0) * (high - v) / (high - low);
    let mut level = low;
    while level <= high + 1e-9 {
        picture.line([(12.0, y(level)), (WIDTH - 4.0, y(level))], LINE, SEAM);
        picture.text((10.5, y(level) + 1.2), LEAST_TEXT, Anchor::End, format!("{level:.0}"));
        level += step;
    }
    picture.line(points.iter().map(|p| (x(p.place), y(p.mean))), INK, SEAM);
    for point in points {
        let at = x(point.place);
        if point.sd.is_some() {
            picture.line([(at, y(point.mean - reach(point))), (at, y(point.mean + reach(point)))], INK, OUTLINE);
        }
        picture.ring((at, y(point.mean)), 1.2, OUTLINE);
        picture.line([(at - 1.2, y(point.mean)), (at + 1.2, y(point.mean))], PEN, 0.9);
        picture.text((at, HEIGHT - 2.0), LEAST_TEXT, Anchor::Middle, (point.place + 1).to_string());
    }
    picture
}
