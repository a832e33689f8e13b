//! A drill's layout from above, to scale, the wind from the top: course marks, lines, paths, boats at true size, and a bar that says how far.

use measure::angle::DEGREE;

use super::start::hull;
use super::{Anchor, INK, LEAST_TEXT, OUTLINE, PEN, Picture, Point};

/// What is drawn. Places are metres, x to the right, y to windward.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    /// Course marks with their names.
    pub marks: Vec<(String, [f64; 2])>,
    /// Lines between two course marks, such as a start line.
    pub lines: Vec<[[f64; 2]; 2]>,
    /// Ways to sail.
    pub paths: Vec<Vec<[f64; 2]>>,
    /// Boats: place, and where they point, degrees clockwise from the wind.
    pub boats: Vec<[f64; 3]>,
    /// A boat's length, m.
    pub length: f64,
    /// What it says, in words.
    pub alt: String,
}

/// Room round the drawing, mm.
const ROOM: f64 = 6.0;
/// A hull shorter than this is drawn larger, and the drawing says so, mm.
const LEAST_HULL: f64 = 3.0;
/// A bar's lengths, m.
const BARS: [f64; 9] = [1000.0, 500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0];

/// The layout in this width and at most this height, mm.
#[must_use]
pub fn drill(layout: &Layout, width: f64, most: f64) -> Picture {
    let all: Vec<[f64; 2]> = layout
        .marks
        .iter()
        .map(|m| m.1)
        .chain(layout.lines.iter().flatten().copied())
        .chain(layout.paths.iter().flatten().copied())
        .chain(layout.boats.iter().map(|b| [b[0], b[1]]))
        .collect();
    let bound = |axis: usize, pick: fn(f64, f64) -> f64, start: f64| all.iter().map(|p| p[axis]).fold(start, pick);
    let (west, east) = (bound(0, f64::min, f64::MAX), bound(0, f64::max, f64::MIN));
    let (south, north) = (bound(1, f64::min, f64::MAX), bound(1, f64::max, f64::MIN));
    if west > east {
        return Picture::new(width, 10.0, layout.alt.clone());
    }
    // Room for the hulls, for names beside course marks, and for the bar at the foot.
    let spare = 0.7 * layout.length;
    let (names, foot) = (14.0, 9.0);
    let (across, up) = ((east - west + 2.0 * spare).max(4.0 * layout.length), (north - south + 2.0 * spare).max(4.0 * layout.length));
    let scale = ((width - 2.0 * ROOM - names) / across).min((most - 2.0 * ROOM - foot) / up);
    let height = up * scale + 2.0 * ROOM + foot;
    let (middle_x, middle_y) = (0.5 * (west + east), 0.5 * (south + north));
    let at = |p: [f64; 2]| -> Point { (0.5 * width + (p[0] - middle_x) * scale, ROOM + 0.5 * up * scale - (p[1] - middle_y) * scale) };
    let mut picture = Picture::new(width, height, layout.alt.clone());
    super::chart::frame(&mut picture, width, height);
    for line in &layout.lines {
        picture.dashed(line.map(at), INK, OUTLINE, 1.6);
    }
    for path in &layout.paths {
        let path: Vec<Point> = path.iter().copied().map(at).collect();
        picture.limb(path.clone(), PEN, 0.7);
        arrow(&mut picture, &path);
    }
    let true_size = layout.length * scale;
    for boat in &layout.boats {
        hull(&mut picture, at([boat[0], boat[1]]), true_size.max(LEAST_HULL), boat[2] * DEGREE);
    }
    // What a name must not lie on: paths, hulls and the other course marks.
    let mut busy: Vec<Point> = layout.paths.iter().flat_map(|p| dense(&p.iter().copied().map(at).collect::<Vec<_>>())).collect();
    busy.extend(layout.boats.iter().map(|b| at([b[0], b[1]])));
    busy.extend(layout.marks.iter().map(|m| at(m.1)));
    for (name, place) in &layout.marks {
        let (x, y) = at(*place);
        picture.dot((x, y), 1.3);
        let wide = 0.5 * LEAST_TEXT * name.chars().count() as f64;
        let spots = [
            (2.4, -1.6),
            (2.4, 4.2),
            (-2.4 - wide, -1.6),
            (-2.4 - wide, 4.2),
            (2.4, 1.2),
            (-2.4 - wide, 1.2),
            (-0.5 * wide, -2.6),
            (-0.5 * wide, 5.4),
        ];
        let free = |(dx, dy): (f64, f64)| {
            let (left, foot) = (x + dx, y + dy);
            let inside = left > 1.0 && left + wide < width - 1.0 && foot > 4.5 && foot < height - 8.0;
            let gap = |p: &Point| {
                let (gx, gy) = ((left - p.0).max(p.0 - left - wide).max(0.0), (foot - LEAST_TEXT - p.1).max(p.1 - foot).max(0.0));
                gx.hypot(gy)
            };
            if inside { busy.iter().map(gap).fold(f64::MAX, f64::min) } else { -1.0 }
        };
        let best = spots.into_iter().max_by(|a, b| free(*a).min(1.5).total_cmp(&free(*b).min(1.5)));
        let (dx, dy) = best.unwrap_or(spots[0]);
        picture.text((x + dx, y + dy), LEAST_TEXT, Anchor::Start, name.clone());
    }
    let (x, tip) = (4.0, 9.0);
    picture.line([(x, 2.2), (x, tip)], INK, 0.6);
    picture.line([(x - 1.4, tip - 2.2), (x, tip + 0.2), (x + 1.4, tip - 2.2)], INK, 0.6);
    let y = height - 2.6;
    let bar = BARS.iter().copied().find(|m| m * scale <= 0.45 * width).unwrap_or(2.0);
    picture.line([(3.0, y - 1.4), (3.0, y), (3.0 + bar * scale, y), (3.0 + bar * scale, y - 1.4)], INK, 0.5);
    let lengths = (bar / layout.length.max(0.1)).round();
    let larger = if !layout.boats.is_empty() && true_size < LEAST_HULL { "; boats larger" } else { "" };
    picture.text((5.0 + bar * scale, y), LEAST_TEXT, Anchor::Start, format!("{bar:.0} m, {lengths:.0} boats{larger}"));
    picture
}

/// A path with a place each millimetre.
fn dense(path: &[Point]) -> Vec<Point> {
    let step = |pair: &[Point]| {
        let (a, b) = (pair[0], pair[1]);
        let count = (b.0 - a.0).hypot(b.1 - a.1).ceil().max(1.0);
        (0..=count as usize).map(move |n| n as f64 / count).map(move |t| (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))).collect::<Vec<_>>()
    };
    path.windows(2).flat_map(step).collect()
}

/// A barb at the end of a path.
fn arrow(picture: &mut Picture, path: &[Point]) {
    let [.., from, to] = path else { return };
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let long = dx.hypot(dy);
    if long < 0.01 {
        return;
    }
    let (ux, uy) = (dx / long, dy / long);
    let barb = |side: f64| (to.0 - 2.2 * ux + side * 1.3 * uy, to.1 - 2.2 * uy - side * 1.3 * ux);
    picture.line([barb(1.0), *to, barb(-1.0)], PEN, 0.7);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Twice the metres on the same paper is half the scale: the bar tells it.
    #[test]
    fn the_bar_is_to_scale() {
        let of = |metres: f64| Layout {
            marks: vec![("a".into(), [0.0, 0.0]), ("b".into(), [0.0, metres])],
            length: 2.4,
            alt: "two".into(),
            ..Layout::default()
        };
        let said = |metres: f64| drill(&of(metres), 90.0, 90.0).svg();
        assert!(said(40.0).contains("20 m, 8 boats") || said(40.0).contains("10 m, 4 boats"), "{}", said(40.0));
        assert!(said(400.0).contains("200 m, 83 boats") || said(400.0).contains("100 m, 42 boats"), "{}", said(400.0));
        assert!(drill(&Layout { length: 2.4, ..Layout::default() }, 90.0, 90.0).svg().contains("svg"));
    }
}
