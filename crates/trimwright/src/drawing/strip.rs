//! Strips to stick on a boat, one to one: a straight rule, an arc for the board, and the bar that proves the printer's scale.

use std::ops::RangeInclusive;

use super::{Anchor, INK, OUTLINE, PEN, Picture, Point, TAPE};
use crate::briefing::card::Reading;

/// Size of a rule's figures, mm.
const SMALL: f64 = 3.7;
/// Size of a rule's letters and fives, mm.
const LARGE: f64 = 4.6;
/// Width of a strip, mm.
pub const WIDE: f64 = 26.0;

/// The three winds with their letters: lighter, as forecast, stronger.
fn strokes(reading: &Reading, letters: [&str; 3]) -> [(f64, String, bool); 3] {
    let [l, f, s] = letters;
    [(reading.others.0, l.to_owned(), false), (reading.value, f.to_owned(), true), (reading.others.1, s.to_owned(), false)]
}

/// Strokes nearer to each other than their letters are high share one place for them, m.
const TOUCHING: f64 = 0.0045;

/// Where letters stand, m, and which: those of strokes that lie together are one word, at the highest of them.
fn lettered(reading: &Reading, letters: [&str; 3], shown: &RangeInclusive<f64>) -> Vec<(f64, String)> {
    let mut words: Vec<(f64, String)> = Vec::new();
    let mut rising = strokes(reading, letters);
    rising.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (value, letter, _) in rising.into_iter().filter(|s| shown.contains(&s.0)) {
        match words.last_mut() {
            Some(last) if value - last.0 < TOUCHING => *last = (value, last.1.clone() + &letter),
            _ => words.push((value, letter)),
        }
    }
    words
}

/// Where a strip of `length` m begins so that its highest stroke is on it: zero where that is enough, else a multiple of 5 cm.
#[must_use]
pub fn begins(reading: &Reading, length: f64) -> f64 {
    const STEP: f64 = 0.05;
    const MARGIN: f64 = 0.008;
    // Beyond this no boat of this size has a setting: such a strip begins at zero, without its stroke.
    const FURTHEST: f64 = 5.0;
    let highest = [reading.value, reading.others.0, reading.others.1].into_iter().filter(|v| *v < FURTHEST).fold(0.0, f64::max);
    (((highest + MARGIN - length) / STEP).ceil() * STEP).max(0.0)
}

/// A straight strip, true centimetres from the bottom edge, which stands `from` m above the zero, `length` m long.
#[must_use]
pub fn rule(reading: &Reading, letters: [&str; 3], from: f64, length: f64, alt: &str) -> Picture {
    let tall = length * 1000.0;
    let mut picture = Picture::new(WIDE, tall, alt);
    let shown = from..=from + length;
    let up = |metres: f64| tall - (metres - from).clamp(0.0, length) * 1000.0;
    let first = (from * 100.0).round() as u32;
    picture.area([(0.1, 0.1), (WIDE - 0.1, 0.1), (WIDE - 0.1, tall - 0.1), (0.1, tall - 0.1)], TAPE, (INK, OUTLINE));
    for half in 1..((length * 200.0).floor() as u32) {
        let y = tall - f64::from(half) * 5.0;
        let (reach, wide) = match half % 10 {
            0 => (8.0, 0.5),
            n if n % 2 == 0 => (5.0, 0.3),
            _ => (2.6, 0.3),
        };
        picture.line([(WIDE, y), (WIDE - reach, y)], INK, wide);
        if half % 2 == 0 && y > 3.0 {
            let size = if half % 10 == 0 { LARGE } else { SMALL };
            picture.text((WIDE - 9.4, y + size * 0.35), size, Anchor::End, (first + half / 2).to_string());
        }
    }
    if let Some((low, high)) = reading.band {
        picture.line([(4.4, up(low)), (1.6, up(low)), (1.6, up(high)), (4.4, up(high))], INK, 0.8);
    }
    for (value, _, middle) in strokes(reading, letters) {
        if shown.contains(&value) {
            let ends = [(1.6, up(value)), (11.0, up(value))];
            if middle {
                picture.line(ends, PEN, 1.1);
            } else {
                picture.dashed(ends, PEN, 1.1, 1.6);
            }
        }
    }
    for (value, word) in lettered(reading, letters, &shown) {
        picture.figure((3.0, (up(value) - 1.2).max(LARGE)), LARGE, Anchor::Start, word);
    }
    picture
}

/// An arc for the rail under a board that turns about a bolt `radius` m above: zero on the pen line, centimetres along the middle of the arc.
#[must_use]
pub fn board_arc(reading: &Reading, letters: [&str; 3], radius: f64, length: f64, alt: &str) -> Picture {
    let r = radius * 1000.0;
    let (inner, outer) = (r - 14.0, r + 14.0);
    let start: f64 = 0.011;
    let end = length + 0.011;
    let centre = (start / radius * outer + 3.0, 4.0);
    let at = |metres: f64, reach: f64| -> Point {
        let angle = metres / radius;
        (centre.0 + reach * angle.sin(), centre.1 + reach * angle.cos())
    };
    let along = |reach: f64| (0..=24).map(move |i| (-start + (start + end) * f64::from(i) / 24.0, reach));
    let width = (0..=24).map(|i| at(end * f64::from(i) / 24.0, outer).0).fold(60.0_f64, f64::max) + 2.0;
    let mut picture = Picture::new(width, centre.1 + outer + 2.0, alt);
    picture.line([(centre.0 - 3.0, centre.1), (centre.0 + 3.0, centre.1)], INK, OUTLINE);
    picture.line([(centre.0, centre.1 - 3.0), (centre.0, centre.1 + 3.0)], INK, OUTLINE);
    picture.dashed([centre, at(0.0, inner)], INK, 0.2, 1.6);
    let edge: Vec<Point> =
        along(inner).map(|(m, r)| at(m, r)).chain(along(outer).collect::<Vec<_>>().into_iter().rev().map(|(m, r)| at(m, r))).collect();
    picture.area(edge, TAPE, (INK, OUTLINE));
    for cm in 0..=((length * 100.0).floor() as u32) {
        let m = f64::from(cm) / 100.0;
        let (reach, wide) = if cm % 2 == 0 { (13.0, 0.5) } else { (9.0, 0.3) };
        picture.line([at(m, outer), at(m, outer - reach)], INK, wide);
        if cm % 2 == 0 {
            let place = at(m, outer - 17.0);
            picture.text((place.0, place.1 + 1.4), SMALL, Anchor::Middle, cm.to_string());
        }
    }
    let shown = 0.0..=length;
    for (value, ..) in strokes(reading, letters).iter().filter(|s| shown.contains(&s.0)) {
        picture.line([at(*value, inner + 1.2), at(*value, inner + 6.2)], PEN, 1.2);
    }
    for (value, word) in lettered(reading, letters, &shown) {
        let place = at(value, inner - 4.0);
        picture.figure((place.0, place.1 + 1.6), LARGE, Anchor::Middle, word);
    }
    picture
}

/// The bar that must measure 100 mm on paper.
#[must_use]
pub fn proof_bar(alt: &str) -> Picture {
    let mut picture = Picture::new(101.0, 9.0, alt);
    picture.line([(0.5, 4.5), (100.5, 4.5)], INK, 0.6);
    for cm in 0..=10 {
        let x = 0.5 + f64::from(cm) * 10.0;
        let reach = if cm % 10 == 0 { 4.2 } else { 2.2 };
        picture.line([(x, 4.5 - reach), (x, if cm % 10 == 0 { 8.7 } else { 4.5 })], INK, if cm % 10 == 0 { 0.5 } else { 0.3 });
    }
    picture
}

#[cfg(test)]
mod tests {
    use super::super::Shape;
    use super::*;

    /// Points on paper are exact but for rounding.
    const EXACT: f64 = 1e-9;

    /// A violet stroke stands as many true millimetres from the strip's zero as the setting says; the bar is 100 mm.
    #[test]
    fn a_strip_is_true() {
        let reading = Reading { value: 0.19, band: None, others: (0.225, 0.16) };
        let picture = rule(&reading, ["L", "F", "S"], 0.0, 0.26, "");
        let heights: Vec<f64> = picture
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Path { points, stroke: Some((PEN, _)), .. } => points.first().map(|p| 260.0 - p.1),
                _ => None,
            })
            .collect();
        assert_eq!(heights.len(), 3);
        assert!(heights.iter().zip([225.0, 190.0, 160.0]).all(|(drawn, mm)| (drawn - mm).abs() < EXACT), "{heights:?}");
        let bar = proof_bar("");
        let Some(Shape::Path { points, .. }) = bar.shapes.first() else { panic!("the bar is a line") };
        assert!((points[1].0 - points[0].0 - 100.0).abs() < EXACT);
    }

    /// A boom end higher than the paper: the strip begins at a round number, and its strokes are as true as before.
    #[test]
    fn a_strip_begins_where_its_strokes_are_on_it() {
        let reading = Reading { value: 0.31, band: Some((0.17, 0.31)), others: (0.31, 0.27) };
        let from = begins(&reading, 0.26);
        assert!((from - 0.10).abs() < EXACT, "{from}");
        let picture = rule(&reading, ["L", "F", "S"], from, 0.26, "");
        let drawn = picture.shapes.iter().filter_map(|shape| match shape {
            Shape::Path { points, stroke: Some((PEN, _)), .. } => points.first().map(|p| 260.0 - p.1 + 100.0),
            _ => None,
        });
        let drawn: Vec<f64> = drawn.collect();
        assert!(drawn.len() == 3 && drawn.iter().zip([310.0, 310.0, 270.0]).all(|(d, mm)| (d - mm).abs() < EXACT), "{drawn:?}");
        let words: Vec<String> = lettered(&reading, ["L", "F", "S"], &(from..=from + 0.26)).into_iter().map(|w| w.1).collect();
        assert_eq!(words, ["S", "LF"]);
        assert!(begins(&Reading { value: 0.19, band: None, others: (0.2, 0.1) }, 0.26).abs() < EXACT);
    }

    /// Along the middle of the arc a centimetre is a centimetre.
    #[test]
    fn an_arc_is_true() {
        let reading = Reading { value: 0.02, band: None, others: (0.0, 0.04) };
        let picture = board_arc(&reading, ["L", "F", "S"], 0.15, 0.085, "");
        let strokes: Vec<&Vec<Point>> = picture
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Path { points, stroke: Some((PEN, _)), .. } => Some(points),
                _ => None,
            })
            .collect();
        let angle = |s: &[Point]| (s[1].0 - s[0].0).atan2(s[1].1 - s[0].1);
        let (lighter, forecast) = (angle(strokes[0]), angle(strokes[1]));
        assert!(((forecast - lighter) * 150.0 - 20.0).abs() < EXACT);
    }
}
