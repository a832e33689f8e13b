//! GPX 1.0 and 1.1. Source: the schemas of 2002 and 2004 at topografix.com.
//!
//! GPX 1.0 has speed (m/s) and course (degrees true) in the point; GPX 1.1 has them in extensions, known here by their names.

use super::number::{Holds, Names, number};
use super::points::{Found, Points};
use super::text::Utf8;
use super::time;
use super::xml::{self, Document};
use std::io::Read;

pub(super) fn read(bytes: Utf8<impl Read>, points: &mut Points<'_>) {
    points.format("GPX");
    let mut document = Gpx::default();
    xml::walk(bytes, &mut document, points);
    if document.others > 0 {
        points.note(format!("{} waypoints or route points, which are no track: left out", document.others));
    }
}

#[derive(Default)]
struct Gpx {
    point: Option<Found>,
    track: bool,
    others: usize,
    names: Names,
}

impl Document for Gpx {
    fn start(&mut self, name: &str, attributes: &str, points: &mut Points<'_>) {
        match name {
            "trkpt" => {
                let mut found = Found::default();
                for (name, value) in xml::attributes(attributes) {
                    match name {
                        "lat" => found.latitude = number(value, points),
                        "lon" => found.longitude = number(value, points),
                        _ => {}
                    }
                }
                self.point = Some(found);
            }
            "trk" => self.track = true,
            "wpt" | "rtept" => self.others += 1,
            "gpx" => {
                let version = xml::attributes(attributes).find(|(name, _)| *name == "version").map(|(_, value)| value);
                if let Some(version @ ("1.0" | "1.1")) = version {
                    points.format(format!("GPX {version}"));
                }
            }
            _ => {}
        }
    }

    fn end(&mut self, name: &str, text: &str, points: &mut Points<'_>) {
        match (name, &mut self.point) {
            ("trkpt", point) => {
                if let Some(found) = point.take() {
                    points.push(found);
                }
            }
            ("trk", _) => {
                self.track = false;
                points.end();
            }
            ("time", Some(found)) => found.time = Some(time::stamp(text)),
            ("ele" | "extensions", Some(_)) => {}
            ("speed", Some(found)) => found.speed = number(text, points),
            ("course", Some(found)) => found.course = number(text, points),
            (other, Some(found)) => match self.names.holds(other) {
                Some(Holds::Speed(Some(unit))) => found.speed = number(text, points).map(|v| v * unit),
                Some(Holds::Course) => found.course = number(text, points),
                _ => {}
            },
            ("name", None) if self.track => points.name(text),
            _ => {}
        }
    }
}
