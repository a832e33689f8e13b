//! A small line plot as SVG: lines and dots only, no letters, so that no font is needed. What they are stands beside it.

use std::fmt::Write;

use super::curve::Curve;

/// Size of a plot, and its margin, in its own units.
const SIZE: [f64; 2] = [320.0, 180.0];
const MARGIN: f64 = 10.0;
/// Dash patterns, one a curve: told apart without colour.
pub(super) const DASHES: [(&str, &str); 6] = [
    ("", "solid"),
    ("7 4", "long dashes"),
    ("2 3", "dots"),
    ("9 3 2 3", "dash and dot"),
    ("14 4", "longer dashes"),
    ("4 2", "short dashes"),
];

/// Curves of the same axes in one frame, which spans their values.
pub(super) fn svg(curves: &[&Curve]) -> String {
    let all = || curves.iter().flat_map(|c| &c.points);
    let span = |k: usize| {
        let (low, high) = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p[k]), h.max(p[k])));
        (low, (high - low).max(1e-9))
    };
    let spans = [span(0), span(1)];
    let place = |p: &[f64; 2]| -> [f64; 2] {
        let share = [(p[0] - spans[0].0) / spans[0].1, 1.0 - (p[1] - spans[1].0) / spans[1].1];
        [0, 1].map(|k| MARGIN + share[k] * (SIZE[k] - 2.0 * MARGIN))
    };
    let [width, height] = SIZE;
    let mut out =
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\">\n");
    let _ = writeln!(out, "<rect width=\"{width}\" height=\"{height}\" fill=\"white\" stroke=\"#999\"/>");
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
        let curve = Curve::new("", "", "", [[1.0, 5.0], [2.0, 5.0], [4.0, -3.0]]);
        let text = svg(&[&curve]);
        assert_eq!(text.matches("<circle").count(), 3);
        assert!(text.contains("10.0,10.0") && text.contains("310.0,170.0"));
    }
}
