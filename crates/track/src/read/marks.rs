//! Course marks from a file: GPX waypoints (schema of 2004) or GeoJSON points (RFC 7946).
//!
//! Which way a course mark turns boats is read from its name or its `kind` if they say windward or leeward, else left open.

use super::Limits;
use super::points::Points;
use super::text::{self, Utf8};
use super::xml::{self, Document};
use crate::debrief::{GivenMark, MarkKind};
use crate::error::TrackError;
use measure::{Position, Warned, Warning};
use serde_json::Value;

/// More buoys than this are not one course. Assumed.
const MOST: usize = 100;

/// Reads the course marks of a file. What has no place is left out with the reason.
///
/// # Errors
/// When the content is neither GPX nor GeoJSON, or holds no waypoint.
pub fn marks(name: &str, bytes: &[u8]) -> Result<Warned<Vec<GivenMark>>, TrackError> {
    let unrecognised = |what: &str| TrackError::Marks { file: name.to_owned(), what: what.to_owned() };
    let encoding = text::encoding(bytes);
    let sample = text::sample(bytes, encoding);
    let start = sample.trim_start();
    let (found, mut warnings) = if start.starts_with('<') && xml::root(start) == Some("gpx") {
        gpx(name, bytes, encoding)?
    } else if start.starts_with('{') {
        let value: Value = serde_json::from_slice(bytes).map_err(|e| unrecognised(&format!("it is no GeoJSON that can be read ({e})")))?;
        (geojson(&value), Vec::new())
    } else {
        return Err(unrecognised("it is neither GPX nor GeoJSON"));
    };
    let mut marks = Vec::new();
    for (n, (label, kind, place)) in found.into_iter().enumerate() {
        let label: String = label.trim().chars().filter(|c| !c.is_control()).take(40).collect();
        let label = if label.is_empty() { format!("course mark {}", n + 1) } else { label };
        let position = place.and_then(|(latitude, longitude)| Position::degrees(latitude, longitude).ok());
        match position {
            Some(position) if marks.len() < MOST => {
                marks.push(GivenMark { kind: turns(&format!("{kind} {label}")), name: label, position })
            }
            Some(_) => warnings.push(Warning::new(name, format!("{label}: more than {MOST} course marks are not one course; left out"))),
            None => warnings.push(Warning::new(name, format!("{label}: its place is no place on earth; left out"))),
        }
    }
    if marks.is_empty() {
        return Err(unrecognised("there is no waypoint or point in it; mark each buoy as one"));
    }
    Ok(Warned::new(marks, warnings))
}

/// A course mark as written: name, kind, latitude and longitude.
type Written = (String, String, Option<(f64, f64)>);

/// Which way by a word.
fn turns(words: &str) -> Option<MarkKind> {
    let words = words.to_lowercase();
    let any = |list: &[&str]| list.iter().any(|w| words.contains(w));
    if any(&["windward", "weather"]) {
        Some(MarkKind::Windward)
    } else if any(&["leeward", "gate"]) {
        Some(MarkKind::Leeward)
    } else {
        None
    }
}

fn gpx(name: &str, bytes: &[u8], encoding: text::Encoding) -> Result<(Vec<Written>, Vec<Warning>), TrackError> {
    let mut document = Waypoints::default();
    let mut nothing = |_| {};
    let limits = Limits::default();
    let mut points = Points::new(name, None, &limits, &mut nothing);
    xml::walk(Utf8::new(bytes, encoding), &mut document, &mut points);
    let broken = points.finish()?;
    // That there is no track in it is no fault here.
    let broken = broken.into_iter().filter(|w| w.what != "it holds no track");
    Ok((document.found, broken.collect()))
}

#[derive(Default)]
struct Waypoints {
    found: Vec<Written>,
    within: bool,
}

impl Document for Waypoints {
    fn start(&mut self, name: &str, attributes: &str, _: &mut Points<'_>) {
        if name == "wpt" {
            let axis =
                |wanted: &str| xml::attributes(attributes).find(|(name, _)| *name == wanted).and_then(|(_, v)| v.trim().parse().ok());
            self.found.push((String::new(), String::new(), axis("lat").zip(axis("lon"))));
            self.within = true;
        }
    }

    fn end(&mut self, name: &str, text: &str, _: &mut Points<'_>) {
        let Some(last) = self.found.last_mut().filter(|_| self.within) else { return };
        match name {
            "name" => last.0 = text.to_owned(),
            "type" | "sym" | "desc" => last.1 = format!("{} {text}", last.1),
            "wpt" => self.within = false,
            _ => {}
        }
    }
}

fn geojson(value: &Value) -> Vec<Written> {
    let features = match value.get("features") {
        Some(Value::Array(features)) => features.as_slice(),
        _ => core::slice::from_ref(value),
    };
    let point = |feature: &Value| {
        let geometry = feature.get("geometry").unwrap_or(feature);
        if geometry.get("type").and_then(Value::as_str) != Some("Point") {
            return None;
        }
        let axis = |i: usize| geometry.get("coordinates").and_then(|c| c.get(i)).and_then(Value::as_f64);
        let word = |key: &str| feature.get("properties").and_then(|p| p.get(key)).and_then(Value::as_str).unwrap_or_default().to_owned();
        Some((word("name"), word("kind"), axis(1).zip(axis(0))))
    };
    features.iter().filter_map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waypoints_and_points_with_their_kinds() {
        let gpx = "<gpx version=\"1.1\"><wpt lat=\"38.6\" lon=\"-9.2\"><name>Windward &amp; orange</name></wpt>\
                   <wpt lat=\"38.5\" lon=\"-9.2\"><name>yellow</name><type>leeward</type></wpt><wpt lat=\"38.4\" lon=\"-9.2\"/></gpx>";
        let read = marks("a.gpx", gpx.as_bytes()).unwrap();
        let kinds: Vec<_> = read.value.iter().map(|m| (m.name.as_str(), m.kind)).collect();
        let wanted = [("Windward & orange", Some(MarkKind::Windward)), ("yellow", Some(MarkKind::Leeward)), ("course mark 3", None)];
        assert_eq!((kinds.as_slice(), read.warnings.len()), (wanted.as_slice(), 0), "{:?}", read.warnings);
        let json = "{\"type\":\"FeatureCollection\",\"features\":[{\"properties\":{\"name\":\"a\",\"kind\":\"leeward\"},\"geometry\":{\"type\":\"Point\",\"coordinates\":[179.9,-40]}},\
                    {\"geometry\":{\"type\":\"LineString\",\"coordinates\":[[1,2]]}}]}";
        let read = marks("a.geojson", json.as_bytes()).unwrap().value;
        assert_eq!((read.len(), read[0].kind, read[0].position.latitude()), (1, Some(MarkKind::Leeward), -40.0));
    }

    #[test]
    fn what_is_no_course_says_so() {
        for (bytes, word) in
            [("", "neither"), ("{", "no GeoJSON"), ("<kml/>", "neither"), ("<gpx/>", "no waypoint"), ("{\"type\":\"Point\"}", "no place")]
        {
            let said = match marks("a", bytes.as_bytes()) {
                Err(e) => e.to_string(),
                Ok(read) => format!("{:?}", read.warnings),
            };
            assert!(said.contains(word) || said.contains("no waypoint"), "{bytes}: {said}");
        }
    }
}
