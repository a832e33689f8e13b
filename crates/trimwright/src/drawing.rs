//! Plain shapes, and the SVG that shows them: the same picture on a page, a card and a sheet.
//!
//! Lengths are millimetres on paper, x to the right, y down. Line widths and colours are those of the light look.

pub mod approach;
pub mod boat;
pub mod chart;
pub mod clocked;
pub mod course;
pub mod drill;
pub mod gauge;
pub mod lines;
pub mod metres;
pub mod pair;
pub mod passage;
pub mod plan;
pub mod polar;
pub mod posture;
pub mod progress;
pub mod quiz;
pub mod rounding;
mod scene;
pub mod start;
pub mod strip;
pub mod turned;
pub mod weighed;
pub mod word;

use std::fmt::Write;

/// Main lines and text.
pub const INK: &str = "#13202a";
/// Thin lines that carry meaning.
pub const LINE: &str = "#73818a";
/// Hulls and solid bars.
pub const HULL: &str = "#d3dcdd";
/// A sail without shading.
pub const SAIL: &str = "#fbfbf8";
/// The tape a setting lives on.
pub const TAPE: &str = "#f5e3a1";
/// The edge of the tape.
pub const TAPE_EDGE: &str = "#7d671a";
/// Marks on a tape, dark on every page: a shade off the ink, so that a page can tell them apart.
pub const ON_TAPE: &str = "#13202b";
/// The one stroke of decision.
pub const PEN: &str = "#5a2596";
/// The same on a tape, dark on every page as the tape is light there: a shade off, so that a page can tell them apart.
pub const PEN_ON_TAPE: &str = "#5a2597";
/// The page.
pub const SHEET: &str = "#ffffff";

/// Width of an outline, mm.
pub const OUTLINE: f64 = 0.34;
/// Width of a spar, mm.
pub const SPAR: f64 = 0.8;
/// Width of a rope, mm.
pub const ROPE: f64 = 0.28;
/// Width of a seam, mm.
pub const SEAM: f64 = 0.15;
/// Width of an accent, mm.
pub const ACCENT: f64 = 0.95;

/// The printed size of the least text, mm: 10 points.
pub const LEAST_TEXT: f64 = 10.0 * 25.4 / 72.0;

/// A point on paper, mm.
pub type Point = (f64, f64);

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
enum Shape {
    Path {
        points: Vec<Point>,
        closed: bool,
        fill: Option<&'static str>,
        stroke: Option<(&'static str, f64)>,
        dash: Option<f64>,
        round: bool,
    },
    Circle {
        centre: Point,
        radius: f64,
        fill: Option<&'static str>,
        stroke: Option<(&'static str, f64)>,
    },
    Text {
        at: Point,
        size: f64,
        big: bool,
        anchor: Anchor,
        text: String,
    },
}

/// Which part of a text stands at its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its start.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// A picture: its size in mm, its shapes in the order they are drawn, and a text that says the same.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// What the picture says, in words.
    pub alt: String,
    shapes: Vec<Shape>,
}

impl Picture {
    /// An empty picture of this size that says `alt`.
    #[must_use]
    pub fn new(width: f64, height: f64, alt: impl Into<String>) -> Self {
        Self { width, height, alt: alt.into(), shapes: Vec::new() }
    }

    /// A closed shape, filled and outlined.
    pub fn area(&mut self, points: impl IntoIterator<Item = Point>, fill: &'static str, edge: (&'static str, f64)) {
        let points = points.into_iter().collect();
        self.shapes.push(Shape::Path { points, closed: true, fill: Some(fill), stroke: Some(edge), dash: None, round: false });
    }

    /// A closed shape, filled only.
    pub fn fill(&mut self, points: impl IntoIterator<Item = Point>, fill: &'static str) {
        let points = points.into_iter().collect();
        self.shapes.push(Shape::Path { points, closed: true, fill: Some(fill), stroke: None, dash: None, round: false });
    }

    /// An open line with square ends.
    pub fn line(&mut self, points: impl IntoIterator<Item = Point>, colour: &'static str, width: f64) {
        let points = points.into_iter().collect();
        self.shapes.push(Shape::Path { points, closed: false, fill: None, stroke: Some((colour, width)), dash: None, round: false });
    }

    /// An open line with round ends and joints.
    pub fn limb(&mut self, points: impl IntoIterator<Item = Point>, colour: &'static str, width: f64) {
        let points = points.into_iter().collect();
        self.shapes.push(Shape::Path { points, closed: false, fill: None, stroke: Some((colour, width)), dash: None, round: true });
    }

    /// A dashed line.
    pub fn dashed(&mut self, points: impl IntoIterator<Item = Point>, colour: &'static str, width: f64, dash: f64) {
        let points = points.into_iter().collect();
        self.shapes.push(Shape::Path { points, closed: false, fill: None, stroke: Some((colour, width)), dash: Some(dash), round: false });
    }

    /// What is not known, as an engraver hatches it: lines at 45 degrees inside a convex shape, `apart` mm from one another.
    pub fn hatch(&mut self, shape: &[Point], apart: f64, colour: &'static str, width: f64) {
        // Along the lines x + y = d, from side to side of the shape.
        let depth = |p: &Point| p.0 + p.1;
        let (low, high) = shape.iter().map(depth).fold((f64::MAX, f64::MIN), |(l, h), d| (l.min(d), h.max(d)));
        let mut d = (low / apart).ceil() * apart;
        while d <= high {
            let sides = shape.iter().zip(shape.iter().cycle().skip(1));
            let cuts: Vec<Point> = sides
                .filter_map(|(a, b)| {
                    let (da, db) = (depth(a) - d, depth(b) - d);
                    ((da <= 0.0) != (db <= 0.0)).then(|| (a.0 + (b.0 - a.0) * da / (da - db), a.1 + (b.1 - a.1) * da / (da - db)))
                })
                .collect();
            if let [a, b] = cuts.as_slice() {
                self.line([*a, *b], colour, width);
            }
            d += apart;
        }
    }

    /// A ring.
    pub fn ring(&mut self, centre: Point, radius: f64, width: f64) {
        self.shapes.push(Shape::Circle { centre, radius, fill: Some(SHEET), stroke: Some((INK, width)) });
    }

    /// A filled circle.
    pub fn dot(&mut self, centre: Point, radius: f64) {
        self.shapes.push(Shape::Circle { centre, radius, fill: Some(INK), stroke: None });
    }

    /// Running text; `size` in mm.
    pub fn text(&mut self, at: Point, size: f64, anchor: Anchor, text: impl Into<String>) {
        self.shapes.push(Shape::Text { at, size, big: false, anchor, text: text.into() });
    }

    /// A figure in the heavy face; `size` in mm.
    pub fn figure(&mut self, at: Point, size: f64, anchor: Anchor, text: impl Into<String>) {
        self.shapes.push(Shape::Text { at, size, big: true, anchor, text: text.into() });
    }

    /// Another picture inside this one, its corner at a place, so many times as large.
    pub fn put(&mut self, other: &Self, corner: Point, scale: f64) {
        let at = |p: &Point| (corner.0 + scale * p.0, corner.1 + scale * p.1);
        self.shapes.extend(other.shapes.iter().map(|shape| match shape.clone() {
            Shape::Path { points, closed, fill, stroke, dash, round } => {
                let stroke = stroke.map(|(colour, width)| (colour, width * scale));
                Shape::Path { points: points.iter().map(at).collect(), closed, fill, stroke, dash: dash.map(|d| d * scale), round }
            }
            Shape::Circle { centre, radius, fill, stroke } => {
                let stroke = stroke.map(|(colour, width)| (colour, width * scale));
                Shape::Circle { centre: at(&centre), radius: radius * scale, fill, stroke }
            }
            Shape::Text { at: place, size, big, anchor, text } => Shape::Text { at: at(&place), size: size * scale, big, anchor, text },
        }));
    }

    /// The texts in the picture with their sizes in mm.
    pub fn texts(&self) -> impl Iterator<Item = (&str, f64)> {
        self.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { text, size, .. } => Some((text.as_str(), *size)),
            _ => None,
        })
    }

    /// The picture for a page: it takes the page's colours, light or dark, and the width its place gives it.
    #[must_use]
    pub fn inline(&self) -> String {
        const NAMES: [(&str, &str); 10] = [
            (INK, "var(--ink)"),
            (LINE, "var(--line)"),
            (HULL, "var(--hullw)"),
            (SAIL, "var(--saila)"),
            (PEN, "var(--acc)"),
            (PEN_ON_TAPE, "var(--pen)"),
            (SHEET, "var(--sheet)"),
            (TAPE, "var(--tape)"),
            (TAPE_EDGE, "var(--tapee)"),
            (ON_TAPE, "var(--ontape)"),
        ];
        let sized = format!(r#"width="{:.2}mm" height="{:.2}mm" "#, self.width, self.height);
        // The style sheet calls the face by its first name.
        let svg = self.svg().replacen(&sized, "", 1).replace("\"Atkinson Hyperlegible Next\"", "\"Atkinson\"");
        NAMES.iter().fold(svg, |svg, (hex, name)| svg.replace(hex, name))
    }

    /// The picture as an SVG document whose user unit is a millimetre, with its text alternative as the title.
    #[must_use]
    pub fn svg(&self) -> String {
        let (w, h) = (self.width, self.height);
        let mut svg = format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w:.2}mm" height="{h:.2}mm" viewBox="0 0 {w:.2} {h:.2}" role="img"><title>{}</title>"#,
            escaped(&self.alt)
        );
        for shape in &self.shapes {
            // Writing to a string cannot fail.
            let _ = write!(svg, "{}", element(shape));
        }
        svg + "</svg>"
    }
}

/// One shape as an SVG element.
fn element(shape: &Shape) -> String {
    let paint = |fill: &Option<&str>, stroke: &Option<(&str, f64)>| {
        let line = stroke.map_or(String::new(), |(colour, width)| format!(r#" stroke="{colour}" stroke-width="{width:.2}""#));
        format!(r#"fill="{}"{line}"#, fill.unwrap_or("none"))
    };
    match shape {
        Shape::Path { points, closed, fill, stroke, dash, round } => {
            let mut d = String::new();
            for (i, (x, y)) in points.iter().enumerate() {
                let _ = write!(d, "{}{x:.2} {y:.2}", if i == 0 { "M" } else { "L" });
            }
            let close = if *closed { "Z" } else { "" };
            let dash = dash.map_or(String::new(), |dash| format!(r#" stroke-dasharray="{dash:.2}""#));
            let ends = if *round { r#" stroke-linecap="round" stroke-linejoin="round""# } else { "" };
            format!(r#"<path d="{d}{close}" {}{dash}{ends}/>"#, paint(fill, stroke))
        }
        Shape::Circle { centre: (x, y), radius, fill, stroke } => {
            format!(r#"<circle cx="{x:.2}" cy="{y:.2}" r="{radius:.2}" {}/>"#, paint(fill, stroke))
        }
        Shape::Text { at: (x, y), size, big, anchor, text } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            let face = if *big {
                r#"font-family="Besley" font-weight="900""#
            } else {
                r#"font-family="Atkinson Hyperlegible Next" font-weight="400""#
            };
            format!(
                r#"<text x="{x:.2}" y="{y:.2}" font-size="{size:.2}" text-anchor="{anchor}" {face} fill="{INK}">{}</text>"#,
                escaped(text)
            )
        }
    }
}

/// Text as XML wants it.
fn escaped(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            '"' => "&quot;".to_owned(),
            c if c.is_control() => " ".to_owned(),
            c => c.to_string(),
        })
        .collect()
}

/// Points on the quadratic curve from `a` to `c` that bends towards `b`.
#[must_use]
pub fn curve(a: Point, b: Point, c: Point) -> Vec<Point> {
    (0..=16)
        .map(|i| {
            let t = f64::from(i) / 16.0;
            let mix = |a: f64, b: f64, c: f64| (1.0 - t).powi(2) * a + 2.0 * t * (1.0 - t) * b + t * t * c;
            (mix(a.0, b.0, c.0), mix(a.1, b.1, c.1))
        })
        .collect()
}

/// Points on a circle from one angle to another; angles clockwise from east, in radians.
#[must_use]
pub fn arc(centre: Point, radius: f64, from: f64, to: f64) -> Vec<Point> {
    (0..=16)
        .map(|i| {
            let angle = from + (to - from) * f64::from(i) / 16.0;
            (centre.0 + radius * angle.cos(), centre.1 + radius * angle.sin())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_become_markup() {
        let mut picture = Picture::new(10.0, 10.0, "a \"b\" <c>");
        picture.text((1.0, 1.0), 4.0, Anchor::Start, "</text><script>&");
        let svg = picture.svg();
        assert!(!svg.contains("<script>") && svg.contains("&lt;/text&gt;&lt;script&gt;&amp;"));
        assert!(svg.contains("<title>a &quot;b&quot; &lt;c&gt;</title>"));
    }
}
