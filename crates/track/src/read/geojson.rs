//! GeoJSON. Source: RFC 7946; times by the habits of converters, as the standard has none: a list of times as long as the line's
//! coordinates in the feature's properties, or a time in the properties of each point.

use super::Most;
use super::points::{Found, Points};
use super::time::{self, Stamp};
use serde_json::Value;
use std::io::{BufReader, Read};

/// Where converters put a line's times.
const LISTS: [&str; 5] = ["coordTimes", "times", "timestamps", "time", "timestamp"];
/// Where converters put a point's time.
const ONES: [&str; 5] = ["time", "timestamp", "datetime", "when", "date"];

pub(super) fn read(bytes: impl Read, points: &mut Points<'_>) {
    points.format("GeoJSON");
    // A tree of values takes several times its text.
    let limit = points.limits.held / 4;
    let value: Value = match serde_json::from_reader(BufReader::new(Most::of(bytes, limit))) {
        Ok(value) => value,
        Err(e) => return points.note(format!("it is no GeoJSON that can be read ({e})")),
    };
    let features = match value.get("features") {
        Some(Value::Array(features)) => features.as_slice(),
        _ => core::slice::from_ref(&value),
    };
    let mut untimed = 0;
    for feature in features {
        let geometry = feature.get("geometry").unwrap_or(feature);
        let properties = feature.get("properties").unwrap_or(&Value::Null);
        let coordinates = geometry.get("coordinates").unwrap_or(&Value::Null);
        match geometry.get("type").and_then(Value::as_str) {
            Some("Point") => {
                if let Some(written) = ONES.iter().find_map(|key| properties.get(key)) {
                    point(coordinates, stamp(written), properties, points);
                }
            }
            Some("LineString") => untimed += usize::from(!line(&[coordinates], properties, points)),
            Some("MultiLineString") => {
                let lines: Vec<&Value> = coordinates.as_array().into_iter().flatten().collect();
                untimed += usize::from(!line(&lines, properties, points));
            }
            _ => {}
        }
    }
    if untimed > 0 {
        points.note("its line has no times, so what happened when cannot be told: export with times, or as GPX");
    }
}

/// A line, or several with their times in lists of lists; whether it had times.
fn line(lines: &[&Value], properties: &Value, points: &mut Points<'_>) -> bool {
    let own = properties.get("coordinateProperties").unwrap_or(properties);
    let Some(times) = LISTS.iter().find_map(|key| own.get(key).and_then(Value::as_array)) else { return false };
    let mut flat = times.iter().flat_map(|t| t.as_array().map_or(core::slice::from_ref(t), Vec::as_slice));
    if let Some(name) = properties.get("name").and_then(Value::as_str) {
        points.name(name);
    }
    for place in lines.iter().flat_map(|l| l.as_array()).flatten() {
        point(place, flat.next().map_or(Stamp::Unreadable, stamp), &Value::Null, points);
    }
    points.end();
    true
}

fn point(place: &Value, time: Stamp, properties: &Value, points: &mut Points<'_>) {
    let axis = |i: usize| place.get(i).and_then(Value::as_f64);
    let number = |key: &str| properties.get(key).and_then(Value::as_f64);
    points.push(Found {
        time: Some(time),
        latitude: axis(1),
        longitude: axis(0),
        speed: number("speed"),
        course: number("course"),
        void: false,
    });
}

/// A time as text, or as seconds or milliseconds since 1970.
fn stamp(value: &Value) -> Stamp {
    match (value.as_str(), value.as_f64()) {
        (Some(text), _) => time::stamp(text),
        (_, Some(number)) => time::counted(number),
        _ => Stamp::Unreadable,
    }
}
