//! KML. Source: OGC KML 2.3 (12-007r2): tracks (section 16.25, once an extension) and placemarks with a point and a time stamp.
//!
//! Lines have no times: what happened when cannot be told from them, and that is said.

use super::number::number;
use super::points::{Found, Points};
use super::text::Utf8;
use super::time::{self, Stamp};
use super::xml::{self, Document};
use std::io::Read;

pub(super) fn read(bytes: Utf8<impl Read>, points: &mut Points<'_>) {
    points.format("KML");
    let mut document = Kml::default();
    xml::walk(bytes, &mut document, points);
    // Some converters write a track a second time as one placemark for each point.
    if !document.timed && !document.placemarks.is_empty() {
        document.timed = true;
        document.placemarks.drain(..).for_each(|found| points.push(found));
        points.end();
    } else if !document.placemarks.is_empty() {
        points.note(format!("{} placemarks beside its tracks: taken for the same points again and left out", document.placemarks.len()));
    }
    if document.lines > 0 && !document.timed {
        points.note("its line has no times, so what happened when cannot be told: export with times, or as GPX");
    }
}

#[derive(Default)]
struct Kml {
    times: Vec<Stamp>,
    places: Vec<(Option<f64>, Option<f64>)>,
    track: bool,
    name: Option<String>,
    place: Option<(Option<f64>, Option<f64>)>,
    point: bool,
    stamp: bool,
    placemark: bool,
    placemarks: Vec<Found>,
    lines: usize,
    timed: bool,
}

impl Kml {
    /// One place to one time, in order.
    fn pair(&mut self, points: &mut Points<'_>) {
        if self.times.len() != self.places.len() {
            points.note(format!(
                "a track has {} times for {} places: paired in order as far as both go",
                self.times.len(),
                self.places.len()
            ));
        }
        for (time, (longitude, latitude)) in self.times.drain(..).zip(self.places.drain(..)) {
            points.push(Found { time: Some(time), latitude, longitude, ..Found::default() });
            self.timed = true;
        }
        self.times.clear();
        self.places.clear();
        points.end();
    }
}

/// Longitude and latitude of the first tuple of a text.
fn tuple(text: &str, points: &mut Points<'_>) -> (Option<f64>, Option<f64>) {
    let mut parts = text.split([' ', ',', '\t', '\n', '\r']).filter(|p| !p.is_empty());
    let (longitude, latitude) = (parts.next(), parts.next());
    (longitude.and_then(|t| number(t, points)), latitude.and_then(|t| number(t, points)))
}

impl Document for Kml {
    fn start(&mut self, name: &str, _: &str, points: &mut Points<'_>) {
        match name {
            "Track" => {
                self.track = true;
                if let Some(name) = self.name.take() {
                    points.name(&name);
                }
            }
            "Placemark" => (self.placemark, self.place, self.name, self.times) = (true, None, None, Vec::new()),
            "Point" => self.point = true,
            "TimeStamp" => self.stamp = true,
            "LineString" => self.lines += 1,
            _ => {}
        }
    }

    fn end(&mut self, name: &str, text: &str, points: &mut Points<'_>) {
        match name {
            "when" if self.times.len() < points.limits.points && (self.track || self.stamp) => self.times.push(time::stamp(text)),
            "coord" if self.track && self.places.len() < points.limits.points => {
                let place = tuple(text, points);
                self.places.push(place);
            }
            "Track" => {
                self.track = false;
                self.pair(points);
            }
            "coordinates" if self.point => self.place = Some(tuple(text, points)),
            "Point" => self.point = false,
            "TimeStamp" => self.stamp = false,
            "name" if self.placemark && !self.track => self.name = Some(text.to_owned()),
            "Placemark" => {
                self.placemark = false;
                // A placemark with a time and a point is one point of the track that all of them make.
                if let (Some((longitude, latitude)), Some(time)) = (self.place.take(), self.times.pop())
                    && self.placemarks.len() < points.limits.points
                {
                    self.placemarks.push(Found { time: Some(time), latitude, longitude, ..Found::default() });
                }
            }
            _ => {}
        }
    }
}
