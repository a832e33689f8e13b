//! The course to scale: buoys, legs, the start line, laylines as hatched bands with their middle, wind and current.

use super::chart::{arrow, bar, frame};
use super::{ACCENT, Anchor, INK, LEAST_TEXT, LINE, OUTLINE, PEN, Picture, Point, ROPE, SEAM, SHEET};
use crate::long::Long;
use measure::angle::DEGREE;

/// Thin lines of the grid.
const GRID: &str = "#c3ccc9";
/// Room round the course, mm.
const ROOM: f64 = 13.0;
/// Room for wind, current and scale, mm.
const SIDE: f64 = 34.0;
/// Steps of the grid, in its unit.
const STEPS: [f64; 8] = [10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0];
/// Letters are about so wide for their size.
const LETTER: f64 = 0.5;

/// How a buoy is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// The windward course mark.
    Windward,
    /// Any other.
    Other,
    /// The pin.
    Pin,
    /// The committee boat.
    CommitteeBoat,
}

/// A layline: where the course mark lies, the bearings of it (rad: backed, as given, veered), its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// The course mark.
    pub mark: [f64; 2],
    /// Bearings to it.
    pub bearings: [f64; 3],
    /// How far the line is drawn, m.
    pub length: f64,
    /// What stands beside it.
    pub name: String,
}

/// What is drawn. Places are metres east and north.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CourseChart {
    /// Buoys.
    pub marks: Vec<(String, [f64; 2], Mark)>,
    /// Legs.
    pub legs: Vec<[[f64; 2]; 2]>,
    /// Pin and committee boat.
    pub line: Option<[[f64; 2]; 2]>,
    /// Laylines.
    pub bands: Vec<Band>,
    /// Course marks that are rounded, for their zones.
    pub zones: Vec<[f64; 2]>,
    /// Radius of the zone, m.
    pub zone: f64,
    /// The wind's direction from (degrees true), half its doubt, and both in words.
    pub wind: (f64, f64, String),
    /// Where the current sets (degrees true), and how fast in words.
    pub current: Option<(f64, String)>,
    /// The unit of the bar and the grid.
    pub long: Long,
    /// What the chart shows, in words.
    pub alt: String,
}

/// The end of a layline away from its course mark.
fn tail(band: &Band, bearing: f64) -> [f64; 2] {
    [band.mark[0] - band.length * bearing.sin(), band.mark[1] - band.length * bearing.cos()]
}

/// The chart in this width and at most this height, mm.
#[must_use]
pub fn course(chart: &CourseChart, width: f64, most: f64) -> Picture {
    let places: Vec<[f64; 2]> = chart.marks.iter().map(|m| m.1).chain(chart.bands.iter().map(|b| tail(b, b.bearings[1]))).collect();
    let bound = |axis: usize, pick: fn(f64, f64) -> f64, start: f64| places.iter().map(|p| p[axis]).fold(start, pick);
    let (west, east) = (bound(0, f64::min, f64::MAX), bound(0, f64::max, f64::MIN));
    let (south, north) = (bound(1, f64::min, f64::MAX), bound(1, f64::max, f64::MIN));
    if places.is_empty() {
        return Picture::new(width, 20.0, chart.alt.clone());
    }
    let scale = ((width - 2.0 * ROOM - SIDE) / (east - west).max(20.0)).min((most - 2.0 * ROOM) / (north - south).max(20.0));
    let height = ((north - south) * scale + 2.0 * ROOM).max(70.0);
    let mut picture = Picture::new(width, height, chart.alt.clone());
    let (x0, y0) = (0.5 * (width - SIDE - (east - west) * scale), 0.5 * (height - (north - south) * scale));
    let at = |p: &[f64; 2]| -> Point { ((p[0] - west) * scale + x0, (north - p[1]) * scale + y0) };
    let right = width - SIDE;
    grid(&mut picture, (right, height), scale * chart.long.metres, at(&[0.0, 0.0]));
    let middles: Vec<(Point, Point)> = chart.bands.iter().map(|band| layline(&mut picture, band, &at, (right, height))).collect();
    for leg in &chart.legs {
        picture.dashed(leg.iter().map(&at), LINE, SEAM * 1.4, 1.2);
    }
    if chart.zone * scale > 1.6 {
        for zone in &chart.zones {
            let c = at(zone);
            let ring = (0..=36).map(|i| {
                let (s, k) = (f64::from(i) * 10.0 * DEGREE).sin_cos();
                (c.0 + chart.zone * scale * s, c.1 - chart.zone * scale * k)
            });
            picture.dashed(ring, INK, SEAM, 0.8);
        }
    }
    let around = |p: Point| [p.0 - 2.0, p.1 - 2.2, p.0 + 2.0, p.1 + 1.6];
    let mut taken: Vec<[f64; 4]> = chart.marks.iter().map(|m| around(at(&m.1))).collect();
    for (name, place, _) in &chart.marks {
        label(&mut picture, at(place), name, right, &mut taken);
    }
    for (band, middle) in chart.bands.iter().zip(middles) {
        named(&mut picture, &band.name, middle, (right, height), &mut taken);
    }
    if let Some(line) = &chart.line {
        picture.line(line.iter().map(&at), PEN, ACCENT * 0.8);
    }
    for (_, place, mark) in &chart.marks {
        symbol(&mut picture, at(place), *mark, chart.wind.0);
    }
    picture.fill([(right, 0.2), (width - 0.3, 0.2), (width - 0.3, height - 0.3), (right, height - 0.3)], SHEET);
    picture.line([(right, 0.0), (right, height)], INK, ROPE);
    frame(&mut picture, width, height);
    side(&mut picture, chart, (right, width, height), scale);
    picture
}

/// Lines a round number of metres or feet apart (mm on paper), one of each through the plane's middle.
fn grid(picture: &mut Picture, (right, height): (f64, f64), scale: f64, origin: Point) {
    let step = STEPS.into_iter().find(|s| s * scale >= 14.0).unwrap_or(STEPS[STEPS.len() - 1]) * scale;
    let mut x = origin.0.rem_euclid(step);
    while x < right {
        picture.line([(x, 0.3), (x, height - 0.3)], GRID, SEAM);
        x += step;
    }
    let mut y = origin.1.rem_euclid(step);
    while y < height {
        picture.line([(0.3, y), (right, y)], GRID, SEAM);
        y += step;
    }
}

/// A hatched band from the course mark down, its middle drawn through. Gives the ends of the middle.
fn layline(picture: &mut Picture, band: &Band, at: &impl Fn(&[f64; 2]) -> Point, (right, height): (f64, f64)) -> (Point, Point) {
    let mark = at(&band.mark);
    let ends = band.bearings.map(|b| at(&tail(band, b)));
    let inside = |p: Point| (p.0.clamp(0.4, right), p.1.clamp(0.4, height - 0.4));
    let cut = |p: Point| {
        // Shortened along itself to where it leaves the chart.
        let share = |from: f64, to: f64, low: f64, high: f64| {
            if to > high {
                (high - from) / (to - from)
            } else if to < low {
                (low - from) / (to - from)
            } else {
                1.0
            }
        };
        let u = share(mark.0, p.0, 0.4, right).min(share(mark.1, p.1, 0.4, height - 0.4));
        inside((mark.0 + u * (p.0 - mark.0), mark.1 + u * (p.1 - mark.1)))
    };
    let ends = ends.map(cut);
    picture.hatch(&[mark, ends[0], ends[1], ends[2]], 1.7, LINE, SEAM * 1.3);
    picture.line([mark, ends[1]], INK, OUTLINE);
    (mark, ends[1])
}

/// A layline's name on its middle, at the first place where it covers no other name and no buoy.
fn named(picture: &mut Picture, name: &str, (mark, end): (Point, Point), (right, height): (f64, f64), taken: &mut Vec<[f64; 4]>) {
    let half = 0.5 * LETTER * LEAST_TEXT * name.chars().count() as f64 + 0.6;
    let boxed = |u: f64| {
        let (x, y) = (mark.0 + u * (end.0 - mark.0), mark.1 + u * (end.1 - mark.1));
        let (x, y) = (x.clamp(half + 0.5, (right - half - 0.5).max(half + 0.5)), y.clamp(5.0, height - 2.0));
        [x - half, y - 3.4, x + half, y + 1.2]
    };
    let places = [0.7, 0.55, 0.85, 0.4, 1.0];
    let b = places.into_iter().map(boxed).find(|b| clear(b, taken)).unwrap_or_else(|| boxed(places[0]));
    picture.fill([(b[0], b[1]), (b[2], b[1]), (b[2], b[3]), (b[0], b[3])], SHEET);
    picture.text((0.5 * (b[0] + b[2]), b[3] - 1.2), LEAST_TEXT, Anchor::Middle, name);
    taken.push(b);
}

/// Whether a box meets none of those taken.
fn clear(b: &[f64; 4], taken: &[[f64; 4]]) -> bool {
    taken.iter().all(|t| b[2] < t[0] || b[0] > t[2] || b[3] < t[1] || b[1] > t[3])
}

fn symbol(picture: &mut Picture, p: Point, mark: Mark, wind: f64) {
    match mark {
        Mark::Windward => picture.area([(p.0, p.1 - 2.4), (p.0 + 2.1, p.1 + 1.4), (p.0 - 2.1, p.1 + 1.4)], INK, (INK, SEAM)),
        Mark::Other => picture.dot(p, 1.3),
        Mark::Pin => picture.ring(p, 1.3, 0.5),
        Mark::CommitteeBoat => {
            // At anchor she lies with her bow to the wind.
            let (s, c) = (wind * DEGREE).sin_cos();
            let turned = |x: f64, y: f64| (p.0 + x * c + y * s, p.1 + x * s - y * c);
            let hull = [turned(-1.2, -2.0), turned(1.2, -2.0), turned(1.2, 0.8), turned(0.0, 2.4), turned(-1.2, 0.8)];
            picture.area(hull, super::HULL, (INK, OUTLINE));
        }
    }
}

/// A name beside its buoy, on the first side where it covers no other name and no buoy.
fn label(picture: &mut Picture, p: Point, name: &str, right: f64, taken: &mut Vec<[f64; 4]>) {
    let long = LETTER * 1.35 * LEAST_TEXT * name.chars().count() as f64;
    let sides = [(3.2, 1.0), (3.2, 5.0), (3.2, -3.6), (-3.2 - long, 1.0), (-3.2 - long, 5.0), (-3.2 - long, -3.6)];
    let boxed = |(dx, dy): (f64, f64)| [p.0 + dx, p.1 + dy - 3.4, p.0 + dx + long, p.1 + dy + 0.9];
    let within = |b: &[f64; 4]| b[0] > 0.5 && b[2] < right;
    let free = |b: &[f64; 4]| within(b) && clear(b, taken);
    // Where every side is taken a name may lie on a line, but not beyond the chart.
    let first = |fits: &dyn Fn(&[f64; 4]) -> bool| sides.into_iter().find(|s| fits(&boxed(*s)));
    let side = first(&free).or_else(|| first(&within)).unwrap_or(sides[0]);
    let b = boxed(side);
    picture.fill([(b[0] - 0.4, b[1]), (b[2] + 0.4, b[1]), (b[2] + 0.4, b[3]), (b[0] - 0.4, b[3])], SHEET);
    // Letters may be wider than thought: they grow away from the buoy.
    if side.0 < 0.0 {
        picture.figure((b[2], b[3] - 0.9), LEAST_TEXT, Anchor::End, name);
    } else {
        picture.figure((b[0], b[3] - 0.9), LEAST_TEXT, Anchor::Start, name);
    }
    taken.push(b);
}

/// Wind, current, north and the bar.
fn side(picture: &mut Picture, chart: &CourseChart, (right, width, height): (f64, f64, f64), scale: f64) {
    let middle = 0.5 * (right + width);
    arrow(picture, (middle - 3.0, 19.0), chart.wind.0, chart.wind.1);
    for (n, line) in chart.wind.2.split('\n').enumerate() {
        picture.text((middle, 40.0 + 4.6 * n as f64), LEAST_TEXT, Anchor::Middle, line);
    }
    let north = width - 4.0;
    picture.line([(north, 12.0), (north, 4.0), (north - 1.4, 6.6)], INK, ROPE);
    picture.text((north, 16.4), LEAST_TEXT, Anchor::Middle, "N");
    if let Some((toward, words)) = &chart.current {
        let y = 55.0_f64.min(height - 24.0);
        let (s, c) = (toward * DEGREE).sin_cos();
        let (from, to) = ((middle - 6.0 * s, y + 6.0 * c), (middle + 6.0 * s, y - 6.0 * c));
        picture.dashed([from, to], INK, OUTLINE, 1.2);
        let barb = |side: f64| {
            let (s, c) = ((toward + 180.0 + side * 25.0) * DEGREE).sin_cos();
            (to.0 + 2.4 * s, to.1 - 2.4 * c)
        };
        picture.line([barb(1.0), to, barb(-1.0)], INK, OUTLINE);
        if height > 80.0 {
            picture.text((middle, y + 11.0), LEAST_TEXT, Anchor::Middle, words.clone());
        }
    }
    bar(picture, (middle, height - 5.0), scale * chart.long.metres, chart.long.unit);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart() -> CourseChart {
        let line = [[-20.0, 0.0], [20.0, 0.0]];
        CourseChart {
            marks: vec![
                ("windward".into(), [0.0, 300.0], Mark::Windward),
                ("pin".into(), line[0], Mark::Pin),
                ("committee boat".into(), line[1], Mark::CommitteeBoat),
            ],
            legs: vec![[[0.0, 0.0], [0.0, 300.0]]],
            line: Some(line),
            bands: vec![Band { mark: [0.0, 300.0], bearings: [0.7, 0.8, 0.9], length: 200.0, name: "port tack layline".into() }],
            zones: vec![[0.0, 300.0]],
            zone: 7.2,
            wind: (0.0, 5.0, "000 ± 5°\n10 kn".into()),
            current: Some((90.0, "0.3 kn".into())),
            long: Long::METRES,
            alt: "a <course>".into(),
        }
    }

    /// The start line is as long as the bar says: 40 m.
    #[test]
    fn the_line_is_true_to_the_bar() {
        for long in [Long::METRES, Long::FEET] {
            true_to_the_bar(long);
        }
    }

    fn true_to_the_bar(long: Long) {
        let picture = course(&CourseChart { long, ..chart() }, 180.0, 150.0);
        let path = |colour: &str, wide: f64| {
            let found = picture.shapes.iter().find_map(|shape| match shape {
                super::super::Shape::Path { points, stroke: Some((c, w)), closed: false, .. }
                    if *c == colour && (w - wide).abs() < 1e-9 =>
                {
                    Some(points.clone())
                }
                _ => None,
            });
            found.unwrap()
        };
        let line = path(PEN, ACCENT * 0.8);
        let metres = (line[1].0 - line[0].0).hypot(line[1].1 - line[0].1);
        let bar = path(INK, 0.5);
        let named = |t: &str| t.strip_suffix(long.unit).and_then(|m| m.trim().parse::<f64>().ok());
        let named: f64 = picture.texts().find_map(|(t, _)| named(t)).unwrap() * long.metres;
        assert!((metres / (bar[2].0 - bar[1].0) * named - 40.0).abs() < 1e-6);
        assert!(picture.svg().contains("a &lt;course&gt;"));
        assert!(picture.texts().all(|(_, size)| size >= LEAST_TEXT));
    }

    #[test]
    fn nothing_to_draw_is_drawn() {
        assert!(course(&CourseChart::default(), 180.0, 150.0).svg().starts_with("<svg"));
    }
}
