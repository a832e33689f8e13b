//! A small line plot as SVG: the ends of both axes and their names, each curve named where it ends. The words are in whatever face the
//! reader has.

use std::fmt::Write;

use super::curve::Curve;

/// Size of a plot, and its margins (left, right, top, bottom), in its own units.
const SIZE: [f64; 2] = [560.0, 260.0];
const MARGIN: [f64; 4] = [56.0, 150.0, 26.0, 34.0];
/// Least distance between two names, and the height of a letter.
const LINE: f64 = 14.0;
/// Dash patterns, one a curve: told apart without colour.
pub(super) const DASHES: [(&str, &str); 6] = [
    ("", "solid"),
    ("7 4", "long dashes"),
    ("2 3", "dots"),
    ("9 3 2 3", "dash and dot"),
    ("14 4", "longer dashes"),
    ("4 2", "short dashes"),
];

/// A number at the end of an axis.
fn number(value: f64) -> String {
    match value.abs() {
        a if a >= 100.0 => format!("{value:.0}"),
        a if a >= 10.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

/// Curves of the same axes in one frame, which spans their values.
pub(super) fn svg(curves: &[&Curve]) -> String {
    let all = || curves.iter().flat_map(|c| &c.points);
    let span = |k: usize| {
        let (low, high) = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p[k]), h.max(p[k])));
        (low, (high - low).max(1e-9))
    };
    let spans = [span(0), span(1)];
    let [left, right, top, bottom] = MARGIN;
    let [width, height] = SIZE;
    let inner = [width - left - right, height - top - bottom];
    let place = |p: &[f64; 2]| -> [f64; 2] {
        let share = [(p[0] - spans[0].0) / spans[0].1, 1.0 - (p[1] - spans[1].0) / spans[1].1];
        [left + share[0] * inner[0], top + share[1] * inner[1]]
    };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
         font-family=\"sans-serif\" font-size=\"12\" fill=\"#13202a\">\n"
    );
    let _ = writeln!(out, "<rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>");
    let (low, end) = (height - bottom, width - right);
    let _ = writeln!(out, "<path d=\"M{left} {top}V{low}H{end}\" fill=\"none\" stroke=\"#73818a\"/>");
    let mut text = |x: f64, y: f64, anchor: &str, words: &str| {
        let words = words.replace('&', "&amp;").replace('<', "&lt;");
        let _ = writeln!(out, "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{words}</text>");
    };
    let [first, last] = [0.0, 1.0].map(|share| spans.map(|(low, width)| number(low + share * width)));
    text(left, low + 15.0, "middle", &first[0]);
    text(end, low + 15.0, "middle", &last[0]);
    text(left - 6.0, low, "end", &first[1]);
    text(left - 6.0, top + 4.0, "end", &last[1]);
    if let Some(curve) = curves.first() {
        text(left + 0.5 * inner[0], height - 8.0, "middle", curve.x);
        text(left, top - 10.0, "start", curve.y);
    }
    // Names stand at the curves' ends, moved apart where ends are near.
    let mut names: Vec<(f64, usize)> = curves.iter().enumerate().filter_map(|(k, c)| Some((place(c.points.last()?)[1], k))).collect();
    names.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut free = top;
    let count = names.len() as f64;
    for (k, (y, curve)) in names.into_iter().enumerate() {
        let room = low - LINE * (count - 1.0 - k as f64);
        let at = y.clamp(free, room.max(free));
        free = at + LINE;
        text(end + 8.0, at + 4.0, "start", &curves[curve].name);
    }
    for (curve, (dash, _)) in curves.iter().zip(DASHES.iter().cycle()) {
        let points: Vec<String> = curve.points.iter().map(place).map(|[x, y]| format!("{x:.1},{y:.1}")).collect();
        let _ = writeln!(
            out,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"#124\" stroke-width=\"1.5\" stroke-dasharray=\"{dash}\"/>",
            points.join(" ")
        );
        for p in &curve.points {
            let [x, y] = place(p);
            let _ = writeln!(out, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2\" fill=\"#124\"/>");
        }
    }
    out.push_str("</svg>\n");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_point_lies_in_the_frame() {
        let curve = Curve::new("a < b", "", "", [[1.0, 5.0], [2.0, 5.0], [4.0, -3.0]]);
        let text = svg(&[&curve]);
        assert_eq!(text.matches("<circle").count(), 3);
        assert!(text.contains(">a &lt; b</text>"), "{text}");
        assert!(text.contains("56.0,26.0") && text.contains("410.0,226.0"));
    }
}
