//! The pictures of a quiz, to scale where they show a measure: a tape, the boat, boats that meet, ways round a course mark.

use advice::quiz::{Corner, Meeting, Pointed, Seen, Wanted};
use boat::setup::Sit;

use super::boat::{BoatShape, Over, Part};
use super::posture::figure;
use super::scene;
use super::{ACCENT, Anchor, HULL, INK, LINE, ON_TAPE, OUTLINE, PEN, Picture, Point, SPAR, TAPE, TAPE_EDGE, arc, curve};
use crate::briefing::card::Posture;

/// Width and height of a picture, mm, and of a low one.
pub(super) const WIDE: f64 = 90.0;
const HIGH: f64 = 52.0;
const LOW: f64 = 26.0;
/// Sizes of text and of figures, mm.
const TEXT: f64 = 4.0;
const FIGURE: f64 = 5.4;
/// Centimetres of tape shown.
const SHOWN: f64 = 30.0;

/// What a picture says in words, and the word at its arrow.
#[derive(Debug, Clone, Copy)]
pub struct Named<'a> {
    /// For those who hear it.
    pub alt: &'a str,
    /// At the arrow of the wind.
    pub wind: &'a str,
}

/// An answer as a picture may show it: its letter, its name, the centimetres it stands for.
#[derive(Debug, Clone)]
pub struct Lettered {
    /// A, B, C or D.
    pub letter: char,
    /// Its name in the question.
    pub name: String,
    /// Centimetres on the tape.
    pub centimetres: Option<f64>,
    /// Its way round the course mark, boat lengths to the right and up from it; empty where it has none.
    pub way: Vec<[f64; 2]>,
}

/// The picture a question wants. `centimetres` is what a tape reads.
#[must_use]
pub fn picture(wanted: Wanted, shape: &BoatShape, centimetres: f64, answers: &[Lettered], named: Named<'_>) -> Picture {
    match wanted {
        Wanted::Tape(..) => tape(centimetres, named.alt),
        Wanted::Places(_) => places(answers, named.alt),
        Wanted::Sitting(sit) => figure(posture(sit), shape, 74.0, 38.0, named.alt),
        Wanted::Postures => scene::postures(shape, answers, named),
        Wanted::Sail(seen) => shape.from_the_side_over(WIDE, HIGH * 1.3, named.alt, Over { lines: lines(seen), ..Over::default() }),
        Wanted::Pointed(at) => shape.from_the_side_over(WIDE, HIGH * 1.3, named.alt, Over { part: Some(part(at)), ..Over::default() }),
        Wanted::Boards { slides } => scene::boards(shape, slides, answers, named),
        Wanted::Heels => scene::heels(shape, answers, named),
        Wanted::Heeled => scene::heeled(shape, named),
        Wanted::Seats => scene::seats(shape, answers, named),
        Wanted::Water => scene::water(shape, named),
        Wanted::Capsized => scene::capsized(shape, named),
        Wanted::Thunder => scene::thunder(shape, named),
        Wanted::Cold => scene::cold(shape, named),
        Wanted::Wave => scene::wave(shape, named),
        Wanted::Puff => scene::puff(named),
        Wanted::Boats(meeting) => boats(meeting, named),
        Wanted::Ways => ways(answers, named),
        Wanted::Course(corner) => course(corner, named),
    }
}

/// What a question points at.
const fn part(at: Pointed) -> Part {
    match at {
        Pointed::Vang => Part::Vang,
        Pointed::Outhaul => Part::Outhaul,
        Pointed::Board => Part::Board,
        Pointed::Mast => Part::Mast,
    }
}

/// A way to sit as the card names it.
#[must_use]
pub fn posture(sit: Sit) -> Posture {
    match sit {
        Sit::Inside => Posture::Inside,
        Sit::OnTheSide => Posture::OnTheSide,
        Sit::FlatOut => Posture::FlatOut,
    }
}

/// The tape from one centimetre to another, torn at an end that is not its own; where a centimetre stands on paper.
fn ruled(picture: &mut Picture, from: f64, top: f64) -> impl Fn(f64) -> f64 + use<> {
    let (left, scale, tall) = (3.0, (WIDE - 6.0) / SHOWN, 10.0);
    let at = move |cm: f64| left + (cm - from) * scale;
    let (a, b) = (at(from), at(from + SHOWN));
    let torn = |x: f64, out: f64| [(x, top), (x + out, top + tall / 3.0), (x - out, top + 2.0 * tall / 3.0), (x, top + tall)];
    let start: Vec<Point> = if from > 0.0 { torn(a, 1.0).to_vec() } else { vec![(a, top), (a, top + tall)] };
    let outline = start.into_iter().chain(torn(b, 1.0).into_iter().rev());
    picture.area(outline, TAPE, (TAPE_EDGE, OUTLINE));
    for k in 0..=(SHOWN as u32) {
        let cm = (from + f64::from(k)).round();
        let long = if cm % 10.0 == 0.0 {
            6.0
        } else if cm % 5.0 == 0.0 {
            4.2
        } else {
            2.6
        };
        picture.line([(at(cm), top + tall - long), (at(cm), top + tall)], ON_TAPE, if cm % 10.0 == 0.0 { 0.5 } else { 0.25 });
        if cm % 10.0 == 0.0 {
            // A long figure at a torn end would lie beside the paper.
            let anchor = match (at(cm) < 6.0, at(cm) > WIDE - 6.0) {
                (true, _) if cm > 0.0 => Anchor::Start,
                (_, true) => Anchor::End,
                _ => Anchor::Middle,
            };
            picture.figure((at(cm), top + tall + 6.5), FIGURE, anchor, format!("{cm:.0}"));
        }
    }
    at
}

/// Where a window of tape begins so that a reading stands well inside it: whole tens.
fn window(low: f64, high: f64) -> f64 {
    let middle = 0.5 * (low + high);
    if high < SHOWN - 2.0 { 0.0 } else { (((middle - 0.5 * SHOWN) / 10.0).round() * 10.0).max(0.0) }
}

fn tape(centimetres: f64, alt: &str) -> Picture {
    let mut picture = Picture::new(WIDE, LOW, alt);
    let at = ruled(&mut picture, window(centimetres, centimetres), 6.0);
    picture.line([(at(centimetres), 1.5), (at(centimetres), 17.5)], PEN, ACCENT);
    picture
}

/// Every answer as a stroke with its letter. Where they lie further apart than the window, the tape is drawn smaller, and says so by its figures.
fn places(answers: &[Lettered], alt: &str) -> Picture {
    let values: Vec<f64> = answers.iter().filter_map(|a| a.centimetres).collect();
    let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    let mut picture = Picture::new(WIDE, 40.0, alt);
    if !low.is_finite() {
        return picture;
    }
    // A scale of whole centimetres that holds them all, with room at both ends.
    let room = (0.15 * (high - low)).max(2.0);
    let (from, to) = (low - room, high + room);
    let from = if low >= 0.0 { from.max(0.0) } else { from };
    let at = |cm: f64| 4.0 + (cm - from) / (to - from) * (WIDE - 8.0);
    let (top, tall) = (13.0, 10.0);
    picture.area([(at(from), top), (at(to), top), (at(to), top + tall), (at(from), top + tall)], TAPE, (TAPE_EDGE, OUTLINE));
    let step = if to - from > 60.0 { 5.0 } else { 1.0 };
    let mut cm = (from / step).ceil() * step;
    while cm <= to {
        let ten = (cm / 10.0).fract().abs() < 1e-6;
        picture.line([(at(cm), top + tall - if ten { 6.0 } else { 3.0 }), (at(cm), top + tall)], ON_TAPE, if ten { 0.5 } else { 0.25 });
        // Three figures to a ten need room.
        if ten && (step < 5.0 || (cm / 20.0).fract().abs() < 1e-6) {
            picture.figure((at(cm), top + tall + 6.5), FIGURE, Anchor::Middle, format!("{cm:.0}").replace('-', "\u{2212}"));
        }
        cm += step;
    }
    for answer in answers {
        if let Some(cm) = answer.centimetres {
            picture.line([(at(cm), 9.0), (at(cm), top + tall)], PEN, ACCENT);
            picture.ring((at(cm), 5.0), 3.6, 0.5);
            picture.figure((at(cm), 6.9), FIGURE, Anchor::Middle, answer.letter.to_string());
        }
    }
    picture
}

/// What the eye sees, as lines over the sail.
const fn lines(seen: Seen) -> &'static [[Point; 2]] {
    match seen {
        Seen::LuffWrinkles => &[
            [(0.0, 0.15), (0.22, 0.10)],
            [(0.0, 0.30), (0.22, 0.25)],
            [(0.0, 0.45), (0.22, 0.40)],
            [(0.0, 0.60), (0.24, 0.55)],
            [(0.0, 0.75), (0.28, 0.70)],
        ],
        Seen::LuffCrease => &[[(0.10, 0.06), (0.10, 0.92)], [(0.13, 0.06), (0.13, 0.92)]],
        Seen::ThroatToClew => &[[(0.02, 0.97), (0.95, 0.05)]],
        Seen::TackToPeak => &[[(0.02, 0.03), (0.95, 0.95)]],
        Seen::TopOpen => &[[(0.55, 0.98), (1.25, 0.80)], [(0.60, 0.80), (1.15, 0.62)]],
    }
}

/// A boat from above with her boom: the middle of the hull, her heading clockwise from up, rad, and the side of her boom.
pub(super) fn hull(picture: &mut Picture, middle: Point, heading: f64, boom: f64, length: f64) {
    let (sin, cos) = heading.sin_cos();
    let place =
        |across: f64, ahead: f64| (middle.0 + length * (across * cos + ahead * sin), middle.1 + length * (across * sin - ahead * cos));
    let side = [(-0.10, 0.5), (-0.20, 0.15), (-0.22, -0.25), (-0.18, -0.5)];
    let outline = side.into_iter().chain(side.into_iter().rev().map(|(x, y)| (-x, y)));
    picture.area(outline.map(|(x, y)| place(x, y)), HULL, (INK, OUTLINE));
    let mast = (0.0, 0.32);
    let (bs, bc) = boom.sin_cos();
    picture.line([place(mast.0, mast.1), place(mast.0 + 0.8 * bs, mast.1 - 0.8 * bc)], INK, SPAR);
    picture.dot(place(mast.0, mast.1), 0.8);
}

/// The wind from the top of the picture.
pub(super) fn blowing(picture: &mut Picture, word: &str, x: f64) {
    picture.line([(x, 2.0), (x, 14.0)], INK, 0.8);
    picture.line([(x - 2.2, 10.5), (x, 14.0), (x + 2.2, 10.5)], INK, 0.8);
    picture.text((x + 4.0, 8.5), TEXT, Anchor::Start, word);
}

/// A close-hauled heading off the wind, rad, and a boom's angle on it.
pub(super) const CLOSE: f64 = 0.785;
pub(super) const IN: f64 = 0.25;

fn boats(meeting: Meeting, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, HIGH, named.alt);
    blowing(&mut picture, named.wind, 6.0);
    // Starboard tack: wind from the right, so she points to the left of it and her boom is on her left.
    let starboard = |picture: &mut Picture, at: Point| hull(picture, at, -CLOSE, -IN, 18.0);
    let port = |picture: &mut Picture, at: Point| hull(picture, at, CLOSE, IN, 18.0);
    match meeting {
        Meeting::PortAndStarboard => {
            port(&mut picture, (30.0, 36.0));
            starboard(&mut picture, (62.0, 36.0));
        }
        Meeting::SideBySide => {
            starboard(&mut picture, (48.0, 36.0));
            starboard(&mut picture, (62.0, 24.0));
        }
        Meeting::Behind => {
            starboard(&mut picture, (38.0, 18.0));
            starboard(&mut picture, (60.0, 40.0));
        }
        Meeting::Tacking => {
            starboard(&mut picture, (64.0, 40.0));
            hull(&mut picture, (44.0, 22.0), 0.1, 0.0, 18.0);
            picture.limb(curve((28.0, 40.0), (34.0, 30.0), (40.0, 30.0)), PEN, 0.6);
        }
        Meeting::Zone => {
            picture.dot((52.0, 8.0), 1.6);
            for k in 0..10 {
                let a = core::f64::consts::TAU * f64::from(k) / 10.0;
                picture.limb(arc((52.0, 8.0), 33.0, a, a + 0.35).into_iter().filter(|p| p.1 < HIGH - 1.0 && p.1 > 1.0), LINE, OUTLINE);
            }
            hull(&mut picture, (47.0, 40.0), 0.1, IN, 11.0);
            hull(&mut picture, (57.0, 42.0), -0.1, IN, 11.0);
        }
    }
    picture
}

/// Ways round a course mark, from a run to a beat, as they were solved: each with its own stroke, its letter where it leaves; the zone
/// of three lengths, and a boat of the same scale on her way in.
fn ways(answers: &[Lettered], named: Named<'_>) -> Picture {
    /// Paper for a boat length, mm, and where the course mark lies.
    const LENGTH: f64 = 9.0;
    const MARK: Point = (46.0, 34.0);
    let mut picture = Picture::new(WIDE, 60.0, named.alt);
    blowing(&mut picture, named.wind, 6.0);
    let at = |p: &[f64; 2]| (MARK.0 + LENGTH * p[0], MARK.1 - LENGTH * p[1]);
    let on_paper = |p: &Point| (3.0..WIDE - 3.0).contains(&p.0) && (1.0..59.0).contains(&p.1);
    for k in 0..20 {
        let a = core::f64::consts::TAU * f64::from(k) / 20.0;
        picture.limb(arc(MARK, 3.0 * LENGTH, a, a + 0.18).into_iter().filter(on_paper), LINE, OUTLINE);
    }
    picture.dot(MARK, 1.6);
    let mut ends: Vec<Point> = Vec::new();
    for (answer, dash) in answers.iter().zip([None, Some(3.0), Some(1.0)]) {
        let path: Vec<Point> = answer.way.iter().map(at).filter(on_paper).collect();
        let Some(&end) = path.last() else { continue };
        match dash {
            None => picture.limb(path, PEN, ACCENT * 0.7),
            Some(dash) => picture.dashed(path, INK, 0.6, dash),
        }
        // Letters stand apart where ways leave side by side.
        let mut at = (end.0.min(WIDE - 5.0), (end.1 - 4.0).max(5.0));
        while ends.iter().any(|other| (other.0 - at.0).hypot(other.1 - at.1) < 7.6) {
            at.1 += 2.0;
        }
        ends.push(at);
        picture.ring(at, 3.6, 0.5);
        picture.figure((at.0, at.1 + 1.9), FIGURE, Anchor::Middle, answer.letter.to_string());
    }
    if let Some(start) = answers.iter().filter_map(|a| a.way.iter().map(at).find(on_paper)).next() {
        hull(&mut picture, (start.0, 8.0), core::f64::consts::PI, 1.3, LENGTH);
    }
    picture
}

fn course(corner: Corner, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, HIGH, named.alt);
    blowing(&mut picture, named.wind, 6.0);
    let (top, foot) = ((48.0, 8.0), (48.0, 44.0));
    picture.dashed([foot, (62.0, 32.0), (38.0, 18.0), top], LINE, OUTLINE, 1.2);
    picture.dashed([top, (30.0, 20.0), (30.0, 34.0), foot], LINE, OUTLINE, 1.2);
    let (next, other, at, heading, boom) = match corner {
        Corner::Windward => (top, foot, (60.0, 19.0), -CLOSE, -IN),
        Corner::Leeward => (foot, top, (31.0, 28.0), core::f64::consts::PI, 1.3),
    };
    picture.ring(other, 1.8, 0.4);
    picture.dot(next, 2.4);
    hull(&mut picture, at, heading, boom, 13.0);
    picture
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::boat::tests::pram;
    use boat::gauge::Gauge;

    /// The tape of a quiz is true to itself: the stroke stands where its figure says.
    #[test]
    fn every_picture_draws_inside_its_paper() {
        let lettered = |letter, name: &str, cm| Lettered {
            letter,
            name: name.to_owned(),
            centimetres: cm,
            way: vec![[-1.0, 4.0], [-0.8, 0.0], [0.5, -1.0], [2.0, 1.0]],
        };
        let answers = [lettered('A', "wide_in", Some(4.0)), lettered('B', "tight_in", Some(31.5)), lettered('C', "wide_out", Some(78.0))];
        let named = Named { alt: "what it shows", wind: "wind" };
        let all = [
            Wanted::Tape(Gauge::SailBoomGap, 0.17),
            Wanted::Tape(Gauge::MastTipTape, 2.83),
            Wanted::Places(Gauge::CarOffset),
            Wanted::Sitting(Sit::FlatOut),
            Wanted::Postures,
            Wanted::Pointed(Pointed::Vang),
            Wanted::Pointed(Pointed::Outhaul),
            Wanted::Pointed(Pointed::Board),
            Wanted::Pointed(Pointed::Mast),
            Wanted::Boards { slides: false },
            Wanted::Boards { slides: true },
            Wanted::Heels,
            Wanted::Heeled,
            Wanted::Seats,
            Wanted::Water,
            Wanted::Capsized,
            Wanted::Thunder,
            Wanted::Cold,
            Wanted::Wave,
            Wanted::Puff,
            Wanted::Ways,
            Wanted::Course(Corner::Windward),
            Wanted::Course(Corner::Leeward),
            Wanted::Sail(Seen::LuffWrinkles),
            Wanted::Sail(Seen::LuffCrease),
            Wanted::Sail(Seen::TopOpen),
            Wanted::Boats(Meeting::PortAndStarboard),
            Wanted::Boats(Meeting::SideBySide),
            Wanted::Boats(Meeting::Behind),
            Wanted::Boats(Meeting::Tacking),
            Wanted::Boats(Meeting::Zone),
        ];
        for wanted in all {
            let cm = if let Wanted::Tape(_, si) = wanted { si * 100.0 } else { 0.0 };
            let picture = picture(wanted, &pram(), cm, &answers, named);
            let svg = picture.svg();
            assert!(svg.contains("what it shows") && !svg.contains("NaN") && !svg.contains("inf"), "{wanted:?}");
        }
    }
}
