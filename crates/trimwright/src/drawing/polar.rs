//! Speed by angle to the wind: the wind from above, rings of knots, a line for each wind.

use super::{Anchor, INK, LEAST_TEXT, LINE, OUTLINE, PEN, Picture, Point, SEAM, arc};

/// Width of the picture, mm.
const WIDTH: f64 = 120.0;
/// Margin round the rings, mm.
const MARGIN: f64 = 12.0;

/// One wind.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// The wind in words.
    pub label: String,
    /// Angle (rad) and speed (knots), rising angles.
    pub points: Vec<(f64, f64)>,
    /// Best beat and run: angle (rad) and speed there (knots).
    pub best: Vec<(f64, f64)>,
}

/// The picture of some winds; one half of the circle, the other being its mirror.
#[must_use]
pub fn picture(title: &str, curves: &[Curve]) -> Picture {
    let most = curves.iter().flat_map(|c| &c.points).map(|p| p.1).fold(1.0, f64::max).ceil();
    let scale = (WIDTH - 2.5 * MARGIN) / most;
    let radius = most * scale;
    let height = 2.0 * (radius + MARGIN);
    let middle = (MARGIN, MARGIN + radius);
    let said: Vec<String> = curves
        .iter()
        .map(|c| {
            let fastest = c.points.iter().copied().fold((0.0, 0.0), |a, b| if b.1 > a.1 { b } else { a });
            format!("in {} fastest at {:.0} degrees, {:.1} knots", c.label, fastest.0 / measure::angle::DEGREE, fastest.1)
        })
        .collect();
    let mut picture = Picture::new(WIDTH, height, format!("{title}. {}.", said.join("; ")));
    let at = |angle: f64, speed: f64| -> Point { (middle.0 + scale * speed * angle.sin(), middle.1 - scale * speed * angle.cos()) };
    let quarter = std::f64::consts::FRAC_PI_2;
    let mut ring = 1.0;
    while ring <= most {
        picture.line(arc(middle, ring * scale, -quarter, quarter), LINE, SEAM);
        picture.text((middle.0 + ring * scale + 0.6, middle.1 + 1.2), LEAST_TEXT, Anchor::Start, format!("{ring:.0}"));
        ring += 1.0;
    }
    for degrees in [0.0, 45.0, 90.0, 135.0, 180.0_f64] {
        let angle = degrees * measure::angle::DEGREE;
        picture.line([middle, at(angle, most)], LINE, SEAM);
        if degrees > 0.0 && degrees < 180.0 && degrees != 90.0 {
            let (x, y) = at(angle, most);
            picture.text((x + 1.0, y + 1.2), LEAST_TEXT, Anchor::Start, format!("{degrees:.0}°"));
        }
    }
    for (k, curve) in curves.iter().enumerate() {
        picture.line(curve.points.iter().map(|p| at(p.0, p.1)), INK, OUTLINE * (1.0 + k as f64 * 0.8));
        for (angle, speed) in &curve.best {
            picture.ring(at(*angle, *speed), 1.1, OUTLINE);
        }
        if let Some((angle, speed)) =
            curve.points.iter().min_by(|a, b| (a.0 - 1.1 - 0.25 * k as f64).abs().total_cmp(&(b.0 - 1.1 - 0.25 * k as f64).abs()))
        {
            let (x, y) = at(*angle, *speed);
            picture.figure((x + 1.2, y - 0.8), LEAST_TEXT, Anchor::Start, curve.label.clone());
        }
    }
    picture.line([(middle.0, 1.0), (middle.0, MARGIN - 3.0)], PEN, OUTLINE * 2.0);
    picture.area([(middle.0 - 1.4, MARGIN - 4.0), (middle.0 + 1.4, MARGIN - 4.0), (middle.0, MARGIN - 1.0)], PEN, (PEN, SEAM));
    picture.text((middle.0 + 2.5, MARGIN - 4.0), LEAST_TEXT, Anchor::Start, "wind");
    picture
}
