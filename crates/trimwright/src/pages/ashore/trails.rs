//! Where each boat was each second, for the chart that is watched again.
//!
//! A line of JSON (boats, wind, course marks, timezone; `origin` in metres east and north and `unit` in metres), then for each boat its places:
//! pairs of 16-bit whole numbers, least byte first, in units from the origin. [`GAP`] where nothing was recorded. A unit is a decimetre, more only where
//! the outing is wider than six kilometres: finer than a receiver knows, and than a screen shows.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use measure::angle::DEGREE;
use measure::quantity::KNOT;

use super::super::yard::Yard;
use super::super::{Answer, Refusal};
use super::{Asked, Told, ready};
use crate::outing::Trail;

/// No place.
const GAP: i16 = i16::MIN;
/// The least unit, m.
const UNIT: f64 = 0.1;

/// Middle of all places (m east, north) and the unit in which all of them are small numbers.
fn frame(trails: &[Trail]) -> ([f64; 2], f64) {
    let bound = |axis: usize| {
        let places = trails.iter().flat_map(|t| &t.places).map(|p| f64::from(p[axis])).filter(|v| v.is_finite());
        places.fold((f64::MAX, f64::MIN), |s, v| (s.0.min(v), s.1.max(v)))
    };
    let (east, north) = (bound(0), bound(1));
    if east.0 > east.1 || north.0 > north.1 {
        return ([0.0; 2], UNIT);
    }
    let half = 0.5 * (east.1 - east.0).max(north.1 - north.0);
    ([0.5 * (east.0 + east.1), 0.5 * (north.0 + north.1)], UNIT.max(half / f64::from(i16::MAX - 1)))
}

/// A place in units.
fn whole(place: [f32; 2], origin: [f64; 2], unit: f64) -> [i16; 2] {
    if !(place[0].is_finite() && place[1].is_finite()) {
        return [GAP; 2];
    }
    [0, 1].map(|axis| ((f64::from(place[axis]) - origin[axis]) / unit).round() as i16)
}

/// The bytes.
fn bytes(told: &Told) -> Vec<u8> {
    let answer = &told.outing.answer;
    let trails = &told.outing.trails;
    let (origin, unit) = frame(trails);
    let round = |v: f64| (v * 10.0).round() / 10.0;
    let boats: Vec<_> = answer
        .boats
        .iter()
        .zip(trails)
        .map(|(b, t)| serde_json::json!({ "name": b.track, "start": t.start, "count": t.places.len() }))
        .collect();
    let wind: Vec<_> = answer
        .wind
        .iter()
        .filter_map(|w| {
            let (from, sd) = w.direction?;
            let speed = w.speed.map(|s| [round(s.0 / KNOT), round(2.0 * s.1 / KNOT)]);
            Some(serde_json::json!([w.time, round(from.in_degrees()), round(2.0 * sd / DEGREE), speed]))
        })
        .collect();
    let marks: Vec<_> =
        answer.course_marks.iter().zip(&answer.mark_places).map(|(m, p)| serde_json::json!([m.name, round(p[0]), round(p[1])])).collect();
    let zone = told.zone.iana_name().unwrap_or("UTC");
    let head =
        serde_json::json!({ "boats": boats, "wind": wind, "marks": marks, "zone": zone, "origin": origin, "unit": unit }).to_string();
    let mut bytes = head.into_bytes();
    // The numbers begin on a second byte.
    if bytes.len().is_multiple_of(2) {
        bytes.push(b' ');
    }
    bytes.push(b'\n');
    for place in trails.iter().flat_map(|t| &t.places) {
        for number in whole(*place, origin, unit) {
            bytes.extend_from_slice(&number.to_le_bytes());
        }
    }
    bytes
}

/// They are asked for.
pub(in super::super) async fn trails(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let told = ready(&yard, &asked)?;
    let Ok(told) = told.as_ref() else { return Err(Refusal::lost("This outing cannot be debriefed")) };
    Ok(([(header::CONTENT_TYPE, "application/octet-stream")], bytes(told)).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trail(places: &[[f32; 2]]) -> Trail {
        Trail { start: 0, places: places.to_vec() }
    }

    /// Every place comes back to half a unit, a gap stays one, and an outing of a hundred kilometres fits in a wider unit.
    #[test]
    fn places_come_back() {
        for (size, wanted) in [(900.0_f32, UNIT), (50_000.0, 100_000.0 / 2.0 / 32_766.0)] {
            let all = [trail(&[[1e5 - size, 0.0], [1e5, 3.3], [f32::NAN; 2]]), trail(&[[1e5 + size, size]])];
            let (origin, unit) = frame(&all);
            assert!((unit - wanted).abs() < 1e-3 * wanted, "{unit}");
            for place in all.iter().flat_map(|t| &t.places) {
                let kept = whole(*place, origin, unit);
                if place[0].is_finite() {
                    for axis in 0..2 {
                        assert_ne!(kept[axis], GAP);
                        assert!((origin[axis] + f64::from(kept[axis]) * unit - f64::from(place[axis])).abs() <= 0.51 * unit);
                    }
                } else {
                    assert_eq!(kept, [GAP; 2]);
                }
            }
        }
        assert_eq!(frame(&[trail(&[[f32::NAN; 2]])]), ([0.0; 2], UNIT));
    }
}
