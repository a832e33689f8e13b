//! What a question is about, as a child sees it: answers as boats side by side, each with its letter; a boat in trouble; a wave, a puff.
//!
//! Hulls, boards and bodies are to the scale of the boat; how far each answer goes is drawn plainly, not measured.

use super::boat::{BoatShape, FoilShape, foil};
use super::posture::figure;
use super::quiz::{Lettered, Named, WIDE, blowing, hull};
use super::{Anchor, HULL, INK, LINE, OUTLINE, PEN, Picture, Point, SAIL, SPAR, curve};
use crate::briefing::card::Posture;

/// Height of a picture, mm.
const HIGH: f64 = 44.0;
/// Size of an answer's letter, mm.
const LETTER: f64 = 5.4;

/// An answer's letter in its ring.
fn letter(picture: &mut Picture, at: Point, of: char) {
    picture.ring(at, 3.6, 0.5);
    picture.figure((at.0, at.1 + 1.9), LETTER, Anchor::Middle, of.to_string());
}

/// Answers side by side, each in a panel of its own: its left edge and its width.
fn panels(answers: &[Lettered]) -> impl Iterator<Item = (&Lettered, f64, f64)> {
    let wide = WIDE / answers.len().max(1) as f64;
    answers.iter().enumerate().map(move |(k, answer)| (answer, k as f64 * wide, wide))
}

/// The ways to sit, from behind.
pub(super) fn postures(shape: &BoatShape, answers: &[Lettered], named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, 27.0, named.alt);
    for (answer, left, wide) in panels(answers) {
        let posture = match answer.name.as_str() {
            "inside" => Posture::Inside,
            "on_the_side" => Posture::OnTheSide,
            _ => Posture::FlatOut,
        };
        let scale = (wide - 2.0) / 74.0;
        picture.put(&figure(posture, shape, 74.0, 38.0, ""), (left + 1.0, 9.5), scale);
        letter(&mut picture, (left + 0.5 * wide, 4.2), answer.letter);
    }
    picture
}

/// A hull from the side with its rudder: where a place of the boat lies on paper, her waterline at a height of the paper, pitched bow up.
fn beside(picture: &mut Picture, shape: &BoatShape, (left, water): Point, scale: f64, pitch: f64) -> impl Fn(Point) -> Point + use<> {
    let (waterline, (sin, cos)) = (shape.waterline, pitch.sin_cos());
    let at = move |(x, z): Point| {
        let (x, z) = (x + 0.3, z - waterline);
        (left + (x * cos - z * sin) * scale, water - (z * cos + x * sin) * scale)
    };
    foil(picture, shape.rudder, at);
    let keel = shape.profile.iter().map(|p| (p.0, p.1));
    let sheer = shape.profile.iter().rev().map(|p| (p.0, p.2));
    picture.area(keel.chain(sheer).map(at), HULL, (INK, OUTLINE));
    picture.line([at(shape.mast_foot), at((shape.mast_foot.0, shape.mast_foot.1 + 0.9))], INK, SPAR);
    at
}

fn length(shape: &BoatShape) -> f64 {
    shape.profile.last().map_or(2.3, |p| p.0)
}

/// How far down the board is.
pub(super) fn boards(shape: &BoatShape, slides: bool, answers: &[Lettered], named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, 36.0, named.alt);
    for (answer, left, wide) in panels(answers) {
        let (water, scale) = (24.0, (wide - 2.0) / (length(shape) + 0.5));
        picture.line([(left + 0.5, water), (left + wide - 0.5, water)], LINE, OUTLINE);
        // A board that swings goes back and up; how far from hanging down, rad.
        let swung = match answer.name.as_str() {
            "down" => Some(0.0),
            "half" => Some(0.85),
            "part_up" => Some(1.15),
            "up" => Some(1.5),
            _ => None,
        };
        if let (Some(board), Some(swung)) = (shape.board, swung) {
            let at = |(x, z): Point| (left + 1.0 + (x + 0.3) * scale, water - (z - shape.waterline) * scale);
            // One that slides goes straight up by the share that a swinging one goes round.
            let (angle, up) = if slides { (0.0, board.length * swung / 1.5) } else { (-swung, 0.0) };
            foil(&mut picture, FoilShape { angle, top: (board.top.0, board.top.1 + up), ..board }, at);
        }
        let _ = beside(&mut picture, shape, (left + 1.0, water), scale, 0.0);
        letter(&mut picture, (left + 0.5 * wide, 4.2), answer.letter);
    }
    picture
}

/// A boat from behind, windward on the left: where her middle lies at the water, mm a metre, heel to leeward, rad, and whether her
/// sailor sits up.
fn behind(picture: &mut Picture, shape: &BoatShape, middle: Point, scale: f64, heel: f64, sailor: bool) {
    let (sin, cos) = heel.sin_cos();
    let waterline = shape.waterline;
    let at = move |(y, z): Point| {
        let z = z - waterline;
        (middle.0 + (y * cos + z * sin) * scale, middle.1 - (z * cos - y * sin) * scale)
    };
    let beam = shape.transom.iter().fold(0.1_f64, |b, p| b.max(p.0));
    let rail = shape.transom.iter().fold(0.1_f64, |z, p| z.max(p.1));
    let depth = shape.board.map_or(0.6, |b| b.length - b.top.1);
    picture.line([at((0.0, 0.1)), at((0.0, -depth))], INK, SPAR);
    let top = rail + 1.9;
    picture.fill([at((0.05, rail + 0.35)), at((0.42, rail + 0.45)), at((0.30, top - 0.3)), at((0.0, top))], SAIL);
    picture.limb(curve(at((0.42, rail + 0.45)), at((0.5, rail + 1.2)), at((0.0, top))), INK, OUTLINE);
    picture.line([at((0.0, rail)), at((0.0, top))], INK, SPAR);
    picture.line([at((0.0, rail + 0.35)), at((0.42, rail + 0.45))], INK, SPAR);
    let right = shape.transom.iter().map(|&(y, z)| at((y, z)));
    let left = shape.transom.iter().rev().map(|&(y, z)| at((-y, z)));
    picture.area(right.chain(left), HULL, (INK, OUTLINE));
    if sailor {
        picture.limb([at((-beam - 0.13, rail + 0.45)), at((-beam, rail + 0.08))], INK, 0.16 * scale);
        picture.limb([at((-beam, rail + 0.08)), at((-beam + 0.36, rail + 0.07)), at((-beam + 0.42, rail - 0.15))], INK, 0.11 * scale);
        picture.dot(at((-beam - 0.18, rail + 0.68)), 0.1 * scale);
    }
}

/// How she stands.
pub(super) fn heels(shape: &BoatShape, answers: &[Lettered], named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, 52.0, named.alt);
    for (answer, left, wide) in panels(answers) {
        let heel: f64 = match answer.name.as_str() {
            "lee" => 0.4,
            "windward" => -0.3,
            _ => 0.0,
        };
        let middle = (left + 0.52 * wide, 42.0);
        picture.line([(left + 0.5, middle.1), (left + wide - 0.5, middle.1)], LINE, OUTLINE);
        behind(&mut picture, shape, middle, 12.0, heel, true);
        letter(&mut picture, (left + 4.5, 4.2), answer.letter);
    }
    // The wind comes from the left in all of them.
    across(&mut picture, named.wind);
    picture
}

/// She heels, from behind.
pub(super) fn heeled(shape: &BoatShape, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, 52.0, named.alt);
    let middle = (44.0, 42.0);
    picture.line([(0.0, middle.1), (WIDE, middle.1)], LINE, OUTLINE);
    behind(&mut picture, shape, middle, 13.0, 0.35, true);
    across(&mut picture, named.wind);
    picture
}

/// The wind from the left of the picture.
fn across(picture: &mut Picture, word: &str) {
    let (x, y) = (1.5, 16.0);
    picture.line([(x, y), (x + 9.0, y)], INK, 0.8);
    picture.line([(x + 6.0, y - 2.0), (x + 9.0, y), (x + 6.0, y + 2.0)], INK, 0.8);
    picture.text((x, y - 3.2), 4.0, Anchor::Start, word);
}

/// Where she may sit, from the side.
pub(super) fn seats(shape: &BoatShape, answers: &[Lettered], named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, 54.0, named.alt);
    let (water, scale) = (48.0, (WIDE - 6.0) / (length(shape) + 0.6));
    picture.line([(0.0, water), (WIDE, water)], LINE, OUTLINE);
    let at = beside(&mut picture, shape, (3.0, water), scale, 0.0);
    let rail = shape.profile.iter().fold(0.3_f64, |z, p| z.max(p.2));
    for answer in answers {
        let (x, z) = match answer.name.as_str() {
            "forward" => (0.58 * length(shape), rail - 0.3),
            "back" => (0.10 * length(shape), rail - 0.22),
            _ => (0.33 * length(shape), rail + 0.02),
        };
        let (hip, head) = (at((x, z)), at((x, z + 0.42)));
        picture.limb([hip, head], PEN, 0.15 * scale);
        picture.limb([hip, at((x + 0.3, z + 0.06))], PEN, 0.1 * scale);
        let crown = at((x, z + 0.62));
        picture.limb([crown, (crown.0, crown.1 + 0.1)], PEN, 0.2 * scale);
        letter(&mut picture, (crown.0, crown.1 - 7.6), answer.letter);
    }
    picture
}

/// Water in the bottom of the boat.
pub(super) fn water(shape: &BoatShape, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, 34.0, named.alt);
    let (level, scale) = (26.0, (WIDE - 6.0) / (length(shape) + 0.6));
    picture.line([(0.0, level), (WIDE, level)], LINE, OUTLINE);
    let at = beside(&mut picture, shape, (3.0, level), scale, 0.0);
    let deep: Vec<Point> = shape.profile.iter().filter(|p| p.1 < 0.12).map(|p| at((p.0, p.1 + 0.02))).collect();
    if let (Some(a), Some(b)) = (deep.first().copied(), deep.last().copied()) {
        let top = at((0.0, 0.12)).1;
        let pool: Vec<Point> = deep.iter().copied().chain([(b.0, top), (a.0, top)]).collect();
        picture.area(pool.iter().copied(), SAIL, (INK, OUTLINE));
        picture.hatch(&pool, 1.6, PEN, 0.4);
    }
    picture
}

/// She lies on her side, from behind, and her sailor holds on.
pub(super) fn capsized(shape: &BoatShape, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, HIGH, named.alt);
    let water = 30.0;
    behind(&mut picture, shape, (38.0, water - 3.0), 17.0, core::f64::consts::FRAC_PI_2, false);
    picture.line([(0.0, water), (WIDE, water)], LINE, OUTLINE);
    // A head in the water at the board, one arm on it, one up.
    picture.dot((22.0, water - 2.6), 2.0);
    picture.limb([(23.0, water), (26.5, water - 3.0)], INK, 1.3);
    picture.limb([(21.0, water), (17.0, water - 9.0)], INK, 1.3);
    picture
}

/// A cloud with lightning over a boat.
pub(super) fn thunder(shape: &BoatShape, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, 52.0, named.alt);
    picture.put(&shape.from_the_side_over(WIDE, 56.0, "", super::boat::Over::default()), (30.0, 14.0), 0.62);
    let cloud = [(8.0, 14.0), (12.0, 7.0), (20.0, 4.0), (28.0, 5.5), (33.0, 10.0), (31.0, 14.5)];
    picture.area(cloud, HULL, (INK, OUTLINE));
    picture.area([(20.0, 14.5), (14.0, 27.0), (19.0, 26.0), (15.0, 38.0), (26.0, 23.0), (20.5, 23.5), (25.0, 14.5)], PEN, (INK, OUTLINE));
    picture
}

/// Sun over cold water, and a sailor in it.
pub(super) fn cold(shape: &BoatShape, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, HIGH, named.alt);
    let water = 30.0;
    let sun = (76.0, 10.0);
    for k in 0..12 {
        let (sin, cos) = (core::f64::consts::TAU * f64::from(k) / 12.0).sin_cos();
        picture.line([(sun.0 + 6.0 * cos, sun.1 + 6.0 * sin), (sun.0 + 8.5 * cos, sun.1 + 8.5 * sin)], INK, 0.6);
    }
    picture.ring(sun, 4.6, 0.8);
    behind(&mut picture, shape, (46.0, water), 11.0, 0.0, false);
    picture.line([(0.0, water), (WIDE, water)], LINE, OUTLINE);
    picture.dot((20.0, water - 2.4), 2.0);
    picture.limb([(18.5, water), (15.0, water + 1.5)], INK, 1.3);
    picture.limb([(21.5, water), (25.0, water + 1.5)], INK, 1.3);
    for k in 0..3 {
        let y = water + 5.0 + 3.2 * f64::from(k);
        picture.limb(
            curve((8.0, y), (14.0, y - 2.4), (20.0, y)).into_iter().chain(curve((20.0, y), (26.0, y + 2.4), (32.0, y))),
            LINE,
            OUTLINE,
        );
    }
    picture
}

/// A wave lifts her from behind.
pub(super) fn wave(shape: &BoatShape, named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, HIGH, named.alt);
    let scale = 54.0 / (length(shape) + 0.6);
    let _ = beside(&mut picture, shape, (22.0, 18.0), scale, -0.22);
    let back = curve((0.0, 32.0), (10.0, 14.0), (24.0, 17.0));
    let face = curve((24.0, 17.0), (52.0, 32.0), (WIDE, 33.0));
    picture.limb(back.into_iter().chain(face), INK, 0.6);
    picture
}

/// From above: she runs, and a dark patch of wind comes up behind her.
pub(super) fn puff(named: Named<'_>) -> Picture {
    let mut picture = Picture::new(WIDE, HIGH, named.alt);
    blowing(&mut picture, named.wind, 6.0);
    let patch = [(38.0, 4.0), (52.0, 2.0), (66.0, 5.0), (68.0, 12.0), (54.0, 16.0), (40.0, 13.0)];
    picture.hatch(&patch, 1.5, INK, 0.3);
    hull(&mut picture, (53.0, 30.0), core::f64::consts::PI, 1.3, 18.0);
    picture
}
