//! A word of the trade as a small picture: a part of the boat pointed at, or a boat from above with the wind from the top.

use core::f64::consts::{FRAC_PI_2, PI, TAU};

use super::boat::{BoatShape, Over, Part};
use super::quiz::{CLOSE, IN, Named, blowing, hull};
use super::{ACCENT, HULL, INK, LINE, OUTLINE, PEN, Picture, Point, SPAR, arc, curve, scene};

/// Width and height, mm.
const WIDE: f64 = 60.0;
const HIGH: f64 = 44.0;
/// A hull from above, mm, and where she lies.
const LENGTH: f64 = 20.0;
const MIDDLE: Point = (34.0, 24.0);

/// The picture of a word by its key; none where there is nothing to see. `says` is what it shows, for those who hear it.
#[must_use]
pub fn of(key: &str, shape: &BoatShape, named: Named<'_>) -> Option<Picture> {
    let part = match key {
        "transom" => Some(Part::Transom),
        "thwart" => Some(Part::Thwart),
        "mast" => Some(Part::Mast),
        "luff" => Some(Part::Luff),
        "leech" => Some(Part::Leech),
        "foot" => Some(Part::Foot),
        "boom" => Some(Part::Boom),
        "boom_end" => Some(Part::BoomEnd),
        "downhaul" => Some(Part::Downhaul),
        "outhaul" => Some(Part::Outhaul),
        "vang" => Some(Part::Vang),
        "board_down" => Some(Part::Board),
        "tiller" => Some(Part::Tiller),
        _ => None,
    };
    if let Some(part) = part {
        return Some(shape.from_the_side_over(WIDE, 52.0, named.alt, Over { part: Some(part), ..Over::default() }));
    }
    match key {
        "gap" => Some(gap(named.alt)),
        "car" => Some(car(named.alt)),
        "heel" => Some(scene::heeled(shape, named)),
        "puff" => Some(scene::puff(named)),
        _ => above(key, named),
    }
}

/// From above: the boom, the sail's foot beside it, and the gap between.
fn gap(alt: &str) -> Picture {
    let mut picture = Picture::new(WIDE, 26.0, alt);
    picture.line([(3.0, 20.0), (57.0, 20.0)], INK, 1.6);
    picture.limb(curve((5.0, 19.0), (34.0, -6.0), (55.0, 19.0)), INK, OUTLINE * 2.0);
    picture.line([(32.0, 7.4), (32.0, 19.0)], PEN, ACCENT * 1.2);
    picture
}

/// From behind: the track across the boat with its car, the sheet up to the boom.
fn car(alt: &str) -> Picture {
    let mut picture = Picture::new(WIDE, 34.0, alt);
    picture.area([(8.0, 20.0), (52.0, 20.0), (46.0, 32.0), (14.0, 32.0)], HULL, (INK, OUTLINE));
    picture.line([(10.0, 19.0), (50.0, 19.0)], INK, SPAR);
    picture.line([(40.0, 18.0), (43.0, 5.0)], LINE, 0.5);
    picture.ring((43.0, 4.0), 1.6, 0.5);
    picture.limb([(37.5, 17.6), (42.5, 17.6)], PEN, 2.6);
    picture
}

/// An arrow that ends at the last point.
fn arrow(picture: &mut Picture, points: &[Point]) {
    picture.limb(points.iter().copied(), PEN, ACCENT);
    if let [.., before, end] = points {
        let angle = (end.1 - before.1).atan2(end.0 - before.0);
        let wing = |by: f64| (end.0 - 3.0 * (angle + by).cos(), end.1 - 3.0 * (angle + by).sin());
        picture.limb([wing(0.5), *end, wing(-0.5)], PEN, ACCENT);
    }
}

/// A boat from above, or several.
fn above(key: &str, named: Named<'_>) -> Option<Picture> {
    let mut picture = Picture::new(WIDE, HIGH, named.alt);
    blowing(&mut picture, named.wind, 6.0);
    let at = |picture: &mut Picture, heading: f64, boom: f64| hull(picture, MIDDLE, heading, boom, LENGTH);
    match key {
        "windward" => {
            at(&mut picture, -FRAC_PI_2, -0.6);
            arrow(&mut picture, &[(46.0, 16.0), (46.0, 6.0)]);
        }
        "leeward" => {
            at(&mut picture, -FRAC_PI_2, -0.6);
            arrow(&mut picture, &[(46.0, 31.0), (46.0, 41.0)]);
        }
        "starboard_tack" => at(&mut picture, -CLOSE, -IN),
        "port_tack" => at(&mut picture, CLOSE, IN),
        "close_hauled" => {
            at(&mut picture, -CLOSE, -IN);
            arrow(&mut picture, &[(24.0, 14.0), (17.0, 7.0)]);
        }
        "reach" => at(&mut picture, -FRAC_PI_2, -0.8),
        "run" => at(&mut picture, PI, 1.3),
        "beat" => {
            picture.dashed([(44.0, 42.0), (56.0, 31.0), (32.0, 18.0), (46.0, 9.0)], INK, 0.6, 2.0);
            picture.dot((46.0, 7.0), 1.8);
            hull(&mut picture, (44.0, 24.6), -CLOSE, -IN, 11.0);
        }
        "tack" => {
            hull(&mut picture, (26.0, 34.0), CLOSE, IN, 14.0);
            hull(&mut picture, (46.0, 16.0), -CLOSE, -IN, 14.0);
            arrow(&mut picture, &curve((33.0, 27.0), (46.0, 26.0), (50.0, 22.0)));
        }
        "gybe" => {
            hull(&mut picture, (28.0, 12.0), PI - 0.5, -1.2, 14.0);
            hull(&mut picture, (44.0, 34.0), PI + 0.5, 1.2, 14.0);
            arrow(&mut picture, &curve((32.0, 20.0), (40.0, 24.0), (43.0, 27.0)));
        }
        "head_up" => {
            at(&mut picture, -FRAC_PI_2, -0.6);
            arrow(&mut picture, &arc((34.0, 24.0), 16.0, PI + 0.1, PI + 0.9));
        }
        "bear_away" => {
            at(&mut picture, -FRAC_PI_2, -0.6);
            arrow(&mut picture, &arc((34.0, 24.0), 16.0, PI - 0.1, PI - 0.9));
        }
        "course_mark" => {
            picture.dot((34.0, 20.0), 2.4);
            let round: Vec<Point> = [(22.0, 8.0), (22.0, 20.0)].into_iter().chain(arc((34.0, 20.0), 12.0, PI, FRAC_PI_2 - 0.9)).collect();
            arrow(&mut picture, &round);
        }
        "zone" => {
            let mark = (34.0, 22.0);
            picture.dot(mark, 1.8);
            for k in 0..16 {
                let a = TAU * f64::from(k) / 16.0;
                picture.limb(arc(mark, 19.5, a, a + 0.22), PEN, ACCENT * 0.7);
            }
            hull(&mut picture, (34.0, 35.0), 0.0, 0.2, 6.5);
        }
        _ => return None,
    }
    Some(picture)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::boat::tests::pram;

    #[test]
    fn words_are_drawn_inside_their_paper() {
        let named = Named { alt: "what it shows", wind: "wind" };
        let english = crate::words::school::Tongue::of(crate::words::school::Language::English).unwrap();
        let drawn = english.school.glossary.keys().filter_map(|key| of(key, &pram(), named)).collect::<Vec<_>>();
        assert!(drawn.len() > 25, "{}", drawn.len());
        assert!(drawn.iter().all(|p| p.svg().contains("what it shows") && !p.svg().contains("NaN") && p.svg().len() > 400));
    }
}
