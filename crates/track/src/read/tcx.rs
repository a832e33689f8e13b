//! TCX. Source: the TrainingCenterDatabase schema, version 2, and its activity extension (speed in m/s, no course).

use super::number::number;
use super::points::{Found, Points};
use super::text::Utf8;
use super::time;
use super::xml::{self, Document};
use std::io::Read;

pub(super) fn read(bytes: Utf8<impl Read>, points: &mut Points<'_>) {
    points.format("TCX");
    xml::walk(bytes, &mut Tcx::default(), points);
}

#[derive(Default)]
struct Tcx {
    point: Option<Found>,
}

impl Document for Tcx {
    fn start(&mut self, name: &str, _: &str, _: &mut Points<'_>) {
        if name == "Trackpoint" {
            self.point = Some(Found::default());
        }
    }

    fn end(&mut self, name: &str, text: &str, points: &mut Points<'_>) {
        match (name, &mut self.point) {
            ("Trackpoint", point) => {
                if let Some(found) = point.take() {
                    points.push(found);
                }
            }
            ("Time", Some(found)) => found.time = Some(time::stamp(text)),
            ("LatitudeDegrees", Some(found)) => found.latitude = number(text, points),
            ("LongitudeDegrees", Some(found)) => found.longitude = number(text, points),
            ("Speed", Some(found)) => found.speed = number(text, points),
            ("Name", None) => points.name(text),
            // Laps and tracks of one activity are one boat.
            ("Activity" | "Course", None) => points.end(),
            _ => {}
        }
    }
}
