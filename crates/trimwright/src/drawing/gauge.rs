//! The places a child measures, to scale: boom end and car at the transom, the sail-boom gap with fingers, the board with a thumb.
//!
//! A setting lies on a strip of tape with true centimetres at the drawing's scale; its value is one stroke, its band a pair of jaws.

use super::boat::BoatShape;
use super::{ACCENT, Anchor, HULL, INK, LEAST_TEXT, LINE, OUTLINE, PEN, Picture, Point, SHEET, SPAR, TAPE, TAPE_EDGE};
use crate::briefing::card::{Hand, Reading};

/// Size of the figure beside a stroke, mm: 18 points.
const FIGURE: f64 = 18.0 * 25.4 / 72.0;

/// Where the stick stands on the transom, share of its half breadth to the left.
const STICK: f64 = 0.52;
/// Room for a figure of two digits left of it, mm.
const STICK_ROOM: f64 = 12.5;

/// The least distance between two ticks that can be told apart on wet paper, mm.
const TICK_APART: f64 = 0.8;

/// A reading and the number printed beside it.
pub struct Shown<'a> {
    /// The length.
    pub reading: Reading,
    /// The number a child reads.
    pub text: &'a str,
}

/// The words in these drawings.
pub struct Labels<'a> {
    /// Names the ring at the boom's end.
    pub boom_end: &'a str,
    /// Names the car.
    pub car: &'a str,
    /// Names the boom.
    pub boom: &'a str,
    /// Names the sail.
    pub sail: &'a str,
    /// Names the pen line.
    pub pen_line: &'a str,
}

/// Which way a tape runs from its zero.
#[derive(Clone, Copy)]
enum Run {
    Up,
    Right,
    Left,
}

/// A strip of tape from `start`, `length` mm long and `width` mm wide, running from its zero, with a tick as often as can be told apart.
fn tape(picture: &mut Picture, start: Point, length: f64, width: f64, run: Run, mm_per_cm: f64) {
    let place = |along: f64, across: f64| match run {
        Run::Up => (start.0 + across, start.1 - along),
        Run::Right => (start.0 + along, start.1 + across),
        Run::Left => (start.0 - along, start.1 + across),
    };
    // The far end is torn: five teeth across.
    let torn = (0..=5).map(|i| place(length + if i % 2 == 0 { 0.0 } else { 0.7 }, width * f64::from(i) / 5.0));
    let outline: Vec<Point> = [place(0.0, 0.0)].into_iter().chain(torn).chain([place(0.0, width)]).collect();
    picture.area(outline, TAPE, (TAPE_EDGE, 0.2));
    let every = [1.0, 2.0, 5.0, 10.0].into_iter().find(|step| step * mm_per_cm >= TICK_APART).unwrap_or(10.0);
    let count = (length / (every * mm_per_cm)).floor().clamp(0.0, 200.0) as u32;
    for i in 1..=count {
        let cm = f64::from(i) * every;
        let long = cm % (every * 5.0) == 0.0;
        let tick = if long { 0.6 } else { 0.33 };
        picture.line([place(cm * mm_per_cm, width), place(cm * mm_per_cm, width * (1.0 - tick))], INK, if long { 0.3 } else { 0.18 });
    }
}

/// Caliper jaws that grip a tape from one side between two places along it; `reach` is how far the jaws go in.
fn jaws(picture: &mut Picture, from: Point, to: Point, reach: Point) {
    let inner = |p: Point| (p.0 + reach.0, p.1 + reach.1);
    picture.line([inner(from), from, to, inner(to)], INK, 0.5);
}

/// From behind: the boom end over the transom and the car from the middle of the rudder, one scale for both.
#[must_use]
pub fn transom(
    shape: &BoatShape,
    boom_end: Option<&Shown>,
    car: Option<&Shown>,
    labels: &Labels,
    width: f64,
    height: f64,
    alt: &str,
) -> Picture {
    let mut picture = Picture::new(width, height, alt);
    let half_beam = shape.transom.iter().fold(0.1_f64, |b, p| b.max(p.0));
    let rail = shape.transom.iter().fold(0.1_f64, |z, p| z.max(p.1));
    let keel = shape.transom.iter().fold(rail, |z, p| z.min(p.1));
    let tall = boom_end.map_or(0.2, |b| b.reading.value.clamp(0.0, 0.9) + 0.08);
    let scale = ((width - 1.0) / (2.0 * half_beam)).min((height - 5.0) / (tall + rail - keel));
    let half = half_beam * scale;
    // A high boom end makes the transom small: the figure left of its stick wants room, where there is some.
    let middle = (STICK_ROOM + STICK * half).min(width - 0.5 - half).max(half + 0.5);
    let top = tall * scale + 0.5;
    let at = |y: f64, z: f64| (middle + y * scale, top - (z - rail) * scale);
    let right = shape.transom.iter().map(|p| at(p.0, p.1));
    let left = shape.transom.iter().rev().map(|p| at(-p.0, p.1));
    picture.area(right.chain(left), HULL, (INK, OUTLINE));
    let centimetre = scale / 100.0;
    if let Some(car) = car {
        let half_width = shape.car_half_width.unwrap_or(half_beam).min(half_beam);
        tape(
            &mut picture,
            (middle, top + 0.6),
            half_width * scale,
            4.4,
            if car.reading.value < 0.0 { Run::Left } else { Run::Right },
            centimetre,
        );
        let x = |v: f64| middle + v.clamp(-half_width, half_width) * scale;
        picture.line([(x(car.reading.value), top - 1.8), (x(car.reading.value), top + 5.6)], PEN, ACCENT);
        picture.fill(
            [
                (x(car.reading.value) - 1.3, top - 2.2),
                (x(car.reading.value) + 1.3, top - 2.2),
                (x(car.reading.value) + 1.3, top),
                (x(car.reading.value) - 1.3, top),
            ],
            PEN,
        );
        if let Some((low, high)) = car.reading.band {
            jaws(&mut picture, (x(low), top + 6.4), (x(high), top + 6.4), (0.0, -1.4));
        }
        let beside = x(car.reading.value);
        let beside = if beside < middle { beside.min(middle - 9.0) } else { beside.max(middle + 7.0) };
        picture.figure((beside, top + 12.6), FIGURE, Anchor::Middle, car.text);
        picture.text((at(half_beam, 0.0).0 - 1.0, top - 1.4), LEAST_TEXT, Anchor::End, labels.car);
    }
    picture.area(
        [(middle - 1.0, top - 2.0), (middle + 1.0, top - 2.0), (middle + 1.0, height - 0.3), (middle - 1.0, height - 0.3)],
        SHEET,
        (INK, OUTLINE),
    );
    if let Some(boom) = boom_end {
        let stick = at(-half_beam * STICK, 0.0).0;
        let y = |v: f64| top - v.clamp(0.0, 0.9) * scale;
        tape(&mut picture, (stick, top), (tall - 0.03) * scale, 4.4, Run::Up, centimetre);
        let level = y(boom.reading.value);
        picture.line([(stick + 4.4, level), (middle + 1.0, level)], LINE, 0.25);
        picture.line([(stick, level), (stick + 4.4, level)], PEN, ACCENT);
        if let Some((low, high)) = boom.reading.band {
            jaws(&mut picture, (stick - 1.2, y(low)), (stick - 1.2, y(high)), (1.4, 0.0));
        }
        picture.ring((middle + 2.2, level), 1.5, 0.8);
        picture.text((middle + 5.0, level + 1.3), LEAST_TEXT, Anchor::Start, labels.boom_end);
        picture.figure((stick - 2.2, (level + 4.5).min(top - 0.8)), FIGURE, Anchor::End, boom.text);
    }
    picture
}

/// The boom and the sail from above, the tape across the gap, and the sailor's own fingers side by side filling it.
#[must_use]
pub fn gap(shown: &Shown, hand: &Hand, labels: &Labels, width: f64, height: f64, alt: &str) -> Picture {
    let mut picture = Picture::new(width, height, alt);
    let boom = 12.0;
    let wide = shown.reading.value.abs().clamp(0.005, 0.4);
    let scale = (width - boom - 8.0).min(0.18 * 1000.0) / wide.max(0.12);
    let gap = wide * scale;
    picture.fill([(boom - 2.4, 1.0), (boom, 1.0), (boom, height), (boom - 2.4, height)], INK);
    // The widest place is two fifths of the way down, where the tape lies.
    let widest = height * 0.32;
    picture.line(super::curve((boom, 1.0), (boom + gap * 0.95, 3.0), (boom + gap, widest + 2.0)), INK, SPAR);
    picture.line(
        super::curve((boom + gap, widest + 2.0), (boom + gap * 1.02, height * 0.55), (boom + gap * 0.93, height * 0.66)),
        INK,
        SPAR,
    );
    tape(&mut picture, (boom, widest - 2.2), gap + 0.4, 4.4, Run::Right, scale / 100.0);
    picture.line([(boom + gap, widest - 3.0), (boom + gap, widest + 3.0)], PEN, ACCENT);
    // Hands lie end to end along the gap; fingers stand side by side in what is left.
    let finger = hand.finger.max(0.005) * scale;
    let (halves, count) = hand.parts(wide);
    let half = 0.5 * hand.length.max(0.05) * scale;
    for i in 0..halves.min(12) {
        let (left, top) = (boom + f64::from(i) * half, widest + 4.0);
        if i % 2 == 0 {
            palm(&mut picture, left, half, top, finger);
        } else {
            fingers(&mut picture, left, half, top, finger);
        }
    }
    let from = boom + f64::from(halves) * half;
    for i in 0..count {
        let left = from + 0.2 + f64::from(i) * finger;
        let reach = [2.2, 0.6, 1.2, 3.0][i as usize % 4] + widest + 4.0;
        digit(&mut picture, left, finger, reach, height);
    }
    picture.figure((boom - 3.4, widest + 2.3), FIGURE, Anchor::End, shown.text);
    picture.text((boom - 3.2, 3.6), LEAST_TEXT, Anchor::End, labels.boom);
    picture.text((boom + gap.max(7.0) + 1.5, 4.6), LEAST_TEXT, Anchor::Start, labels.sail);
    picture
}

/// The half of a hand from the wrist, lying along x.
fn palm(picture: &mut Picture, left: f64, long: f64, top: f64, finger: f64) {
    let wide = 4.0 * finger;
    let outline = [
        (left + long, top),
        (left + 0.3 * long, top),
        (left, top + 0.2 * wide),
        (left, top + 0.8 * wide),
        (left + 0.3 * long, top + wide),
        (left + long, top + wide),
    ];
    picture.fill(outline, SHEET);
    picture.line(outline, INK, OUTLINE);
}

/// The half of a hand with its fingers, lying along x; the middle finger reaches the whole length.
fn fingers(picture: &mut Picture, left: f64, long: f64, top: f64, finger: f64) {
    use std::f64::consts::FRAC_PI_2;
    for (i, reach) in [0.88, 1.0, 0.94, 0.74].into_iter().enumerate() {
        let (r, y) = (0.5 * finger, top + finger * i as f64);
        let tip = super::arc((left + reach * long - r, y + r), r, -FRAC_PI_2, FRAC_PI_2);
        let outline: Vec<Point> = [(left, y)].into_iter().chain(tip).chain([(left, y + finger)]).collect();
        picture.fill(outline.clone(), SHEET);
        picture.line(outline, INK, OUTLINE);
    }
}

/// A finger or thumb pointing up, with its nail.
fn digit(picture: &mut Picture, left: f64, wide: f64, top: f64, bottom: f64) {
    use std::f64::consts::PI;
    let r = wide / 2.0;
    let tip = super::arc((left + r, top + r), r, PI, 2.0 * PI);
    let outline: Vec<Point> = [(left, bottom)].into_iter().chain(tip).chain([(left + wide, bottom)]).collect();
    picture.fill(outline.clone(), SHEET);
    picture.line(outline, INK, OUTLINE);
    picture.line(super::arc((left + r, top + r * 1.35), r * 0.42, PI, 2.0 * PI), INK, 0.25);
}

/// The rail from the side: the pen line, the board's edge, and the sailor's own thumb between them.
#[must_use]
pub fn board(shown: &Shown, hand: &Hand, labels: &Labels, width: f64, height: f64, alt: &str) -> Picture {
    let mut picture = Picture::new(width, height, alt);
    let value = shown.reading.value.clamp(-0.12, 0.12);
    let scale = (width * 0.45) / 0.06_f64.max(value.abs());
    let rail = height * 0.36;
    // Behind the line the edge stands to the right of it, and the thumb lies on the board.
    let pen = if value < 0.0 { width - 3.0 + value * scale } else { width - 3.0 };
    let edge = pen - value * scale;
    picture.fill([(edge - 3.0, rail), (width, rail), (width, rail + 8.0), (edge - 3.0, rail + 8.0)], HULL);
    picture.line([(edge - 3.0, rail), (width, rail)], INK, SPAR);
    let leaf = [(1.0, 5.6), (edge, 8.0), (edge - 3.0, height - 0.8), (1.0, height - 2.2)];
    picture.fill(leaf, SHEET);
    picture.line(leaf, INK, OUTLINE);
    picture.line([(pen, rail - 2.6), (pen, rail + 6.0)], INK, ACCENT);
    picture.line([(edge - 0.6, rail - 3.0), (edge - 0.6, rail + 6.6)], PEN, ACCENT);
    let thumb = hand.thumb.max(0.005) * scale;
    let count = ((pen - edge).abs() / thumb).floor().clamp(0.0, 3.0) as u32;
    for i in 0..count {
        digit(&mut picture, edge.min(pen) + f64::from(i) * thumb, thumb, rail + 6.8, height);
    }
    picture.figure((edge.min(pen) - 4.6, rail + 7.5), FIGURE, Anchor::End, shown.text);
    picture.text((width - 0.3, 3.6), LEAST_TEXT, Anchor::End, labels.pen_line);
    picture.line([(pen - 1.5, 4.6), (pen, rail - 3.0)], LINE, 0.25);
    picture
}

/// What a slip costs: a chain of hulls in plan, each one boat length; filled to the lower limit, open to the upper, a stroke in the middle.
#[must_use]
pub fn cost_chain(low: f64, value: f64, high: f64, longest: f64, width: f64, alt: &str) -> Picture {
    let height = 4.6;
    let mut picture = Picture::new(width, height, alt);
    let length = (width - 1.0) / longest.clamp(4.0, 60.0);
    let wide = (length * 0.19).min(0.9);
    let y = height / 2.0;
    let hulls = high.clamp(0.0, longest.clamp(4.0, 60.0)).ceil() as u32;
    for i in 0..hulls {
        let from = f64::from(i);
        let end = high.min(from + 1.0);
        part(&mut picture, (from, end), length, wide, y, SHEET);
        if low > from {
            part(&mut picture, (from, low.min(from + 1.0)), length, wide, y, INK);
        }
    }
    let x = (0.5 + value.max(0.0) * length).min(width - 0.5);
    picture.line([(x, 0.2), (x, height - 0.2)], PEN, ACCENT);
    picture
}

/// The part of one hull in plan between two places on the chain, in boat lengths; blunt at both ends.
fn part(picture: &mut Picture, (from, to): (f64, f64), length: f64, wide: f64, y: f64, fill: &'static str) {
    let start = from.floor();
    let breadth = |share: f64| wide * (0.66 + 0.34 * (1.0 - (2.0 * share - 1.0).powi(2)));
    let places = |flip: f64| {
        (0..=8).map(move |i| {
            let share = (from - start) + (to - from) * f64::from(i) / 8.0;
            (0.5 + (start + share * 0.96) * length, y + flip * breadth(share))
        })
    };
    let upper: Vec<Point> = places(-1.0).collect();
    let mut lower: Vec<Point> = places(1.0).collect();
    lower.reverse();
    picture.area(upper.into_iter().chain(lower), fill, (INK, 0.25));
}

#[cfg(test)]
mod tests {
    use super::super::{Shape, boat::tests::pram};
    use super::*;

    /// Points on paper are exact but for rounding.
    const EXACT: f64 = 1e-9;

    const LABELS: Labels = Labels { boom_end: "boom end", car: "car", boom: "boom", sail: "sail", pen_line: "pen line" };

    fn reading(value: f64) -> Shown<'static> {
        Shown { reading: Reading { value, band: None, others: (value, value) }, text: "1" }
    }

    /// The points of every line or area in this colour.
    fn drawn(picture: &Picture, colour: &str) -> Vec<Vec<Point>> {
        let mut paths = Vec::new();
        for shape in &picture.shapes {
            if let Shape::Path { points, fill, stroke, .. } = shape
                && (*fill == Some(colour) || (fill.is_none() && stroke.is_some_and(|(c, _)| c == colour)))
            {
                paths.push(points.clone());
            }
        }
        paths
    }

    /// The boom end's stroke and the car's lie as far from the transom's top and middle as the hull's own scale says.
    #[test]
    fn the_transom_is_to_scale() {
        let shape = pram();
        for (height, out) in [(0.19, 0.12), (0.30, -0.20), (0.05, 0.40)] {
            let picture = transom(&shape, Some(&reading(height)), Some(&reading(out)), &LABELS, 52.0, 32.0, "");
            let hull = &drawn(&picture, HULL)[0];
            let (left, right) = hull.iter().fold((f64::MAX, f64::MIN), |(l, r), p| (l.min(p.0), r.max(p.0)));
            let rail = hull.iter().fold(f64::MAX, |y, p| y.min(p.1));
            let scale = (right - left) / (2.0 * 0.49);
            let strokes = drawn(&picture, PEN);
            let level = strokes.iter().find(|s| s[0].1 == s[1].1 && s.len() == 2).expect("the boom end's stroke");
            let upright = strokes.iter().find(|s| s[0].0 == s[1].0 && s.len() == 2).expect("the car's stroke");
            assert!((rail - level[0].1 - height * scale).abs() < EXACT);
            assert!((upright[0].0 - (left + right) / 2.0 - out * scale).abs() < EXACT);
        }
    }

    /// The gap and the fingers that fill it have one scale: 6 cm takes four fingers of 1.5 cm.
    #[test]
    fn fingers_fill_the_gap_they_measure() {
        let hand = Hand { length: 0.16, finger: 0.015, thumb: 0.02 };
        let picture = gap(&reading(0.06), &hand, &LABELS, 38.0, 33.0, "");
        let stroke = drawn(&picture, PEN)[0][0].0;
        let fingers: Vec<f64> = drawn(&picture, SHEET).iter().map(|f| f[f.len() - 1].0 - f[0].0).collect();
        assert_eq!(fingers.len(), 4);
        assert!((fingers.iter().sum::<f64>() - (stroke - 12.0)).abs() < EXACT);
    }

    /// A gap of a hand and two fingers: the middle finger's tip and the two fingers after it lie at the hand's own scale.
    #[test]
    fn a_hand_lies_along_the_gap_it_measures() {
        let hand = Hand { length: 0.16, finger: 0.015, thumb: 0.02 };
        let picture = gap(&reading(0.19), &hand, &LABELS, 38.0, 33.0, "");
        let stroke = drawn(&picture, PEN)[0][0].0;
        let scale = (stroke - 12.0) / 0.19;
        let white = drawn(&picture, SHEET);
        // A palm, four fingers that lie, two that stand.
        assert_eq!(white.len(), 7);
        let tip = white[1..5].iter().flatten().fold(f64::MIN, |x, p| x.max(p.0));
        assert!((tip - 12.0 - 0.16 * scale).abs() < EXACT);
        assert!(white[5..].iter().all(|f| (f[f.len() - 1].0 - f[0].0 - 0.015 * scale).abs() < EXACT));
    }

    /// A thumb lies between the pen line and the board's edge, before it or behind.
    #[test]
    fn a_thumb_measures_the_board() {
        let hand = Hand { length: 0.16, finger: 0.015, thumb: 0.02 };
        for value in [0.02, -0.02] {
            let picture = board(&reading(value), &hand, &LABELS, 27.0, 31.0, "");
            // The leaf is white too: the thumb is the last white shape.
            let white = drawn(&picture, SHEET);
            let thumb = white.last().map_or(0.0, |t| t[t.len() - 1].0 - t[0].0);
            assert_eq!(white.len(), 2);
            assert!((thumb - 27.0 * 0.45 / 0.06 * 0.02).abs() < EXACT);
        }
    }
}
