//! A hull's lines: from above on one side of the centreline, and her stations from behind, to scale.

use boat::class::{Class, Station};

use super::{HULL, INK, LINE, OUTLINE, Picture, Point, SEAM};

/// Room between the two parts and around them, mm.
const ROOM: f64 = 2.0;

/// The hull's lines, as large as fits this width (mm). The aft half of the stations is drawn to the left of the middle and the forward
/// half to the right, as lines plans have it (common practice, no source).
#[must_use]
pub fn lines(class: &Class, width: f64, alt: &str) -> Picture {
    let hull = &class.hull;
    let half = hull.stations.iter().flat_map(|s| s.points.iter().map(|p| p[0])).fold(0.1, f64::max);
    let heights = || hull.stations.iter().flat_map(|s| s.points.iter().map(|p| p[1]));
    let (low, high) = heights().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), z| (low.min(z), high.max(z)));
    let length = hull.stations.last().map_or(1.0, |s| s.x).max(0.1);
    let scale = ((width - 3.0 * ROOM) / (length + 2.0 * half)).max(0.0);
    let height = 2.0 * ROOM + scale * (2.0 * half).max(high - low);
    let middle = 0.5 * height;
    let mut picture = Picture::new(width, height, alt);
    // From above: sheer and chine on both sides.
    let above = |x: f64, y: f64| -> Point { (ROOM + x * scale, middle - y * scale) };
    let side = |of: &dyn Fn(&Station) -> Option<f64>, sign: f64| -> Vec<Point> {
        hull.stations.iter().filter_map(|s| Some(above(s.x, sign * of(s)?))).collect()
    };
    let sheer = |s: &Station| s.points.last().map(|p| p[0]);
    let chine = |s: &Station| s.points.len().checked_sub(2).and_then(|k| s.points.get(k)).map(|p| p[0]);
    let port: Vec<Point> = side(&sheer, -1.0).into_iter().rev().collect();
    picture.area(side(&sheer, 1.0).into_iter().chain(port), HULL, (INK, OUTLINE));
    for sign in [1.0, -1.0] {
        picture.line(side(&chine, sign), LINE, SEAM);
    }
    picture.line([above(0.0, 0.0), above(length, 0.0)], LINE, SEAM);
    // From behind and from before.
    let centre = 2.0 * ROOM + (length + half) * scale;
    let base = middle + 0.5 * (high - low) * scale;
    let widest = hull.stations.iter().filter_map(|s| Some((s.x, sheer(s)?))).max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0.0, |s| s.0);
    for station in &hull.stations {
        let sign = if station.x < widest { -1.0 } else { 1.0 };
        let outline = station.points.iter().map(|p| (centre + sign * p[0] * scale, base - (p[1] - low) * scale));
        picture.line(outline, INK, SEAM);
    }
    picture.line([(centre, base), (centre, base - (high - low) * scale)], LINE, SEAM);
    picture
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_on_their_paper() {
        let picture = lines(&Class::pram(), 120.0, "A pram's lines.");
        assert_eq!(picture.width, 120.0);
        // A pram of 2.45 m and 1.13 m across both: length and breadth beside each other fill the width.
        let scale = (120.0 - 3.0 * ROOM) / (2.45 + 1.13);
        assert!((picture.height - (2.0 * ROOM + 1.13 * scale)).abs() < 0.1, "{}", picture.height);
        let svg = picture.svg();
        assert!(!svg.contains("NaN") && svg.matches("<path").count() > 14, "{svg}");
    }
}
