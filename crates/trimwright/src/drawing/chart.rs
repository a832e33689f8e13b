//! The chart of an outing, to scale: trails, course marks, an arrow flying with the wind inside its doubt, a scale bar and north; and the
//! wind's direction by the clock in its ribbon of doubt.

use super::{Anchor, INK, LEAST_TEXT, LINE, PEN, Picture, Point, ROPE, SEAM, SHEET};
use crate::long::Long;
use measure::angle::DEGREE;

/// What is drawn on the chart. Places are metres east and north.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chart {
    /// Each boat's trail, cut where nothing was recorded.
    pub trails: Vec<Vec<Vec<[f64; 2]>>>,
    /// Names and places of the course marks.
    pub marks: Vec<(String, [f64; 2])>,
    /// The wind's direction from (degrees true), half its interval of 19 chances in 20, and both in words.
    pub wind: Option<(f64, f64, String)>,
    /// What the bar is in.
    pub long: Long,
    /// What the chart shows, in words.
    pub alt: String,
}

/// Lengths of scale bars, m.
const BARS: [f64; 10] = [10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0];
/// Trails are drawn to this, mm: what lies closer to the line cannot be seen.
const SEEN: f64 = 0.15;
/// Room round the trails, mm.
const ROOM: f64 = 6.0;

/// The chart in this width and at most this height, mm; one boat's trail may be followed, the others stay behind it.
#[must_use]
pub fn outing(chart: &Chart, width: f64, most: f64, followed: Option<usize>) -> Picture {
    let places = || chart.trails.iter().flatten().flatten().chain(chart.marks.iter().map(|m| &m.1));
    let bound = |axis: usize, pick: fn(f64, f64) -> f64, start: f64| places().map(|p| p[axis]).fold(start, pick);
    let (west, east) = (bound(0, f64::min, f64::MAX), bound(0, f64::max, f64::MIN));
    let (south, north) = (bound(1, f64::min, f64::MAX), bound(1, f64::max, f64::MIN));
    if west > east {
        return Picture::new(width, 20.0, chart.alt.clone());
    }
    // Millimetres for one metre.
    let scale = ((width - 2.0 * ROOM - 30.0) / (east - west).max(20.0)).min((most - 2.0 * ROOM) / (north - south).max(20.0));
    let height = ((north - south) * scale + 2.0 * ROOM).max(60.0);
    let mut picture = Picture::new(width, height, chart.alt.clone());
    let (shift_x, shift_y) = (0.5 * (width - 30.0 - (east - west) * scale), 0.5 * (height - (north - south) * scale));
    let at = |p: &[f64; 2]| -> Point { ((p[0] - west) * scale + shift_x, (north - p[1]) * scale + shift_y) };
    frame(&mut picture, width, height);
    let mut order: Vec<usize> = (0..chart.trails.len()).filter(|b| Some(*b) != followed).collect();
    order.extend(followed.filter(|b| *b < chart.trails.len()));
    for boat in order {
        let (colour, thick) = if followed == Some(boat) { (PEN, 0.6) } else { (LINE, if followed.is_some() { SEAM } else { ROPE }) };
        for part in &chart.trails[boat] {
            let points = bends(&part.iter().map(at).collect::<Vec<_>>());
            if points.len() > 1 {
                picture.limb(points, colour, thick);
            }
        }
    }
    for (name, place) in &chart.marks {
        let p = at(place);
        picture.dot(p, 1.3);
        // Clear of the trails: about half a letter's height for each letter.
        let (left, right) = (p.0 + 1.6, p.0 + 2.8 + 0.52 * LEAST_TEXT * name.chars().count() as f64);
        picture.fill([(left, p.1 - 5.2), (right, p.1 - 5.2), (right, p.1 - 0.4), (left, p.1 - 0.4)], SHEET);
        picture.text((p.0 + 2.2, p.1 - 1.4), LEAST_TEXT, Anchor::Start, name.clone());
    }
    let right = width - 16.0;
    if let Some((from, half, words)) = &chart.wind {
        arrow(&mut picture, (right, 26.0), *from, *half);
        for (n, line) in words.split('\n').enumerate() {
            picture.text((right, 46.0 + 4.6 * n as f64), LEAST_TEXT, Anchor::Middle, line);
        }
    }
    // North.
    picture.line([(right + 11.0, 12.0), (right + 11.0, 4.0), (right + 9.6, 6.6)], INK, ROPE);
    picture.text((right + 11.0, 16.4), LEAST_TEXT, Anchor::Middle, "N");
    bar(&mut picture, (right, height - 7.0), scale * chart.long.metres, chart.long.unit);
    picture
}

/// The points of a line that it cannot do without: none of the others lies further than [`SEEN`] from the line through these (Douglas and
/// Peucker 1973). Beats are straight, so that a chart of forty boats is a page and not a book.
fn bends(line: &[Point]) -> Vec<Point> {
    let Some(last) = line.len().checked_sub(1) else { return Vec::new() };
    let mut kept = vec![false; line.len()];
    (kept[0], kept[last]) = (true, true);
    let mut left = vec![(0, last)];
    while let Some((a, b)) = left.pop() {
        let (p, q) = (line[a], line[b]);
        let along = (q.0 - p.0, q.1 - p.1);
        let length = along.0.hypot(along.1);
        let off = |r: Point| {
            let out = (r.0 - p.0, r.1 - p.1);
            let place = (out.0 * along.0 + out.1 * along.1) / (length * length).max(1e-12);
            // Beyond its ends a line is as far away as its end.
            let place = place.clamp(0.0, 1.0);
            (out.0 - place * along.0).hypot(out.1 - place * along.1)
        };
        let far = (a + 1..b).map(|k| (k, off(line[k]))).max_by(|x, y| x.1.total_cmp(&y.1));
        if let Some((k, _)) = far.filter(|f| f.1 > SEEN) {
            kept[k] = true;
            left.extend([(a, k), (k, b)]);
        }
    }
    line.iter().zip(kept).filter(|(_, kept)| *kept).map(|(p, _)| *p).collect()
}

pub(super) fn frame(picture: &mut Picture, width: f64, height: f64) {
    let edge = 0.2;
    picture.line([(edge, edge), (width - edge, edge), (width - edge, height - edge), (edge, height - edge), (edge, edge)], INK, ROPE);
}

/// The longest bar that fits, named; the scale is that of the unit, mm.
pub(super) fn bar(picture: &mut Picture, (middle, y): Point, scale: f64, unit: &str) {
    let length = BARS.into_iter().rev().find(|b| b * scale <= 26.0).unwrap_or(BARS[0]);
    let half = 0.5 * length * scale;
    picture.line([(middle - half, y - 1.2), (middle - half, y), (middle + half, y), (middle + half, y - 1.2)], INK, 0.5);
    picture.text((middle, y - 2.4), LEAST_TEXT, Anchor::Middle, format!("{length:.0} {unit}"));
}

/// An arrow flying with the wind, its fan hatched to both sides of the doubt.
pub(super) fn arrow(picture: &mut Picture, centre: Point, from: f64, half: f64) {
    let reach = 15.0;
    let point = |degrees: f64, radius: f64| -> Point {
        let (sine, cosine) = (degrees * DEGREE).sin_cos();
        (centre.0 + radius * sine, centre.1 - radius * cosine)
    };
    let half = half.clamp(0.0, 90.0);
    let steps = ((2.0 * half / 3.0).ceil() as usize).clamp(2, 40);
    for n in 0..=steps {
        let degrees = from - half + 2.0 * half * n as f64 / steps as f64;
        picture.line([point(degrees, 5.0), point(degrees, reach)], LINE, SEAM);
    }
    let (tail, head) = (point(from, reach), point(from + 180.0, reach));
    picture.line([tail, head], INK, 0.8);
    let barb = |side: f64| point(from + 180.0 + side * 16.0, reach - 4.6);
    picture.line([barb(1.0), head, barb(-1.0)], INK, 0.8);
}

/// The wind's direction by the clock: times as shares of the width, degrees without jumps, half intervals; clock times for the axis.
#[must_use]
pub fn wind_by_clock(rows: &[(f64, f64, f64)], clock: &[(f64, String)], width: f64, alt: &str) -> Picture {
    const HEIGHT: f64 = 40.0;
    let (left, right, top, foot) = (16.0, width - 3.0, 3.0, HEIGHT - 8.0);
    let mut picture = Picture::new(width, HEIGHT, alt);
    let low = rows.iter().map(|r| r.1 - r.2).fold(f64::MAX, f64::min);
    let high = rows.iter().map(|r| r.1 + r.2).fold(f64::MIN, f64::max);
    if low > high {
        return picture;
    }
    let step = [5.0, 10.0, 20.0, 30.0, 45.0, 90.0].into_iter().find(|s| (high - low) / s <= 4.0).unwrap_or(90.0);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let y = |degrees: f64| foot - (degrees - low) / (high - low).max(1.0) * (foot - top);
    let x = |share: f64| left + share.clamp(0.0, 1.0) * (right - left);
    let mut degrees = low;
    while degrees <= high + 0.1 {
        picture.line([(left, y(degrees)), (right, y(degrees))], "#c3ccc9", SEAM);
        picture.text((left - 2.0, y(degrees) + 1.2), LEAST_TEXT, Anchor::End, format!("{:03.0}°", degrees.rem_euclid(360.0)));
        degrees += step;
    }
    let mut last = f64::MIN;
    for (share, from, half) in rows {
        if x(*share) - last > 0.9 {
            last = x(*share);
            picture.line([(last, y(from - half)), (last, y(from + half))], LINE, SEAM);
        }
    }
    picture.limb(rows.iter().map(|r| (x(r.0), y(r.1))), INK, 0.5);
    picture.line([(left, foot), (right, foot)], INK, ROPE);
    for (share, words) in clock {
        picture.line([(x(*share), foot), (x(*share), foot + 1.4)], INK, ROPE);
        let anchor = if *share > 0.97 { Anchor::End } else { Anchor::Middle };
        picture.text((x(*share), foot + 5.6), LEAST_TEXT, anchor, words.clone());
    }
    picture
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three hundred metres of trail are as long on paper as three times the hundred-metre bar.
    #[test]
    fn the_bar_measures_the_trail() {
        let chart = Chart { trails: vec![vec![vec![[0.0, 0.0], [0.0, 300.0]]]], ..Chart::default() };
        let svg = outing(&chart, 180.0, 120.0, None).svg();
        let coordinates = |d: &str| -> Vec<f64> { d.split(['M', 'L', ' ']).filter_map(|v| v.parse().ok()).collect() };
        let paths: Vec<Vec<f64>> = svg.split(" d=\"").skip(1).map(|p| coordinates(p.split('"').next().unwrap())).collect();
        let trail = &paths[1];
        let bar = paths.iter().find(|p| p.len() == 8 && (p[1] - p[3]).abs() > 0.5 && (p[3] - p[5]).abs() < 0.01).unwrap();
        assert!(svg.contains(">50 m<"), "{svg}");
        assert!(((trail[3] - trail[1]).abs() / (bar[4] - bar[2]) - 6.0).abs() < 0.02, "{trail:?} {bar:?}");
        // In feet the same trail is 984 of them.
        let svg = outing(&Chart { long: Long::FEET, ..chart }, 180.0, 120.0, None).svg();
        let paths: Vec<Vec<f64>> = svg.split(" d=\"").skip(1).map(|p| coordinates(p.split('"').next().unwrap())).collect();
        let bar = paths.iter().find(|p| p.len() == 8 && (p[1] - p[3]).abs() > 0.5 && (p[3] - p[5]).abs() < 0.01).unwrap();
        assert!(svg.contains(">200 ft<"), "{svg}");
        assert!(((paths[1][3] - paths[1][1]).abs() / (bar[4] - bar[2]) - 300.0 / 60.96).abs() < 0.02, "{bar:?}");
    }

    /// A straight line needs its ends, a corner stays, and nothing left out lies where it would be seen.
    #[test]
    fn a_line_is_drawn_by_its_bends() {
        let corner: Vec<Point> =
            (0..=100).map(f64::from).map(|t| if t < 50.0 { (t, 0.1 * (t * 0.7).sin()) } else { (50.0, t - 50.0) }).collect();
        let kept = bends(&corner);
        assert!(
            kept.len() < 8 && kept.contains(&(50.0, 0.0)) && kept.first() == corner.first() && kept.last() == corner.last(),
            "{kept:?}"
        );
        let there_and_back = bends(&[(0.0, 0.0), (9.0, 0.0), (0.0, 0.0)]);
        assert_eq!(there_and_back.len(), 3);
        assert!(bends(&[]).is_empty());
    }

    #[test]
    fn nothing_to_draw_is_drawn() {
        assert!(outing(&Chart::default(), 180.0, 120.0, Some(3)).svg().contains("<svg"));
        assert!(wind_by_clock(&[], &[], 180.0, "none").svg().contains("<svg"));
    }
}
