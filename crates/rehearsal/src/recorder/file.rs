//! A recorder's file: GPX 1.1, NMEA 0183 sentences, or CSV, as bytes.
//!
//! Sources: GPX 1.1 schema (topografix, 2004), with speed and course in an extension element; NMEA 0183 RMC and GGA fields.

use super::Fix;
use jiff::Timestamp;
use jiff::tz::Offset;
use measure::quantity::KNOT;
use std::fmt::Write as _;

fn stamp(seconds: f64) -> Timestamp {
    Timestamp::from_millisecond((seconds * 1000.0).round() as i64).unwrap_or(Timestamp::UNIX_EPOCH)
}

/// A track as GPX 1.1. The name is escaped.
#[must_use]
pub fn gpx(name: &str, fixes: &[Fix]) -> Vec<u8> {
    let name = name.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let mut text = String::with_capacity(160 * fixes.len() + 400);
    text.push_str("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    text.push_str("<gpx version=\"1.1\" creator=\"rehearsal\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n");
    let _ = writeln!(text, "<trk><name>{name}</name><trkseg>");
    for &(time, lat, lon, speed, course) in fixes {
        let _ = write!(text, "<trkpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><time>{}</time>", stamp(time));
        if let Some(speed) = speed {
            let _ = write!(text, "<extensions><speed>{speed:.3}</speed>");
            if let Some(course) = course {
                let _ = write!(text, "<course>{course:.2}</course>");
            }
            text.push_str("</extensions>");
        }
        text.push_str("</trkpt>\n");
    }
    text.push_str("</trkseg></trk>\n</gpx>\n");
    text.into_bytes()
}

/// A track as NMEA 0183: one RMC and one GGA sentence for each fix.
#[must_use]
pub fn nmea(fixes: &[Fix]) -> Vec<u8> {
    let mut text = String::with_capacity(150 * fixes.len());
    for &(time, lat, lon, speed, course) in fixes {
        let when = Offset::UTC.to_datetime(stamp(time));
        let clock = format!("{:02}{:02}{:02}.{:03}", when.hour(), when.minute(), when.second(), when.millisecond());
        let date = format!("{:02}{:02}{:02}", when.day(), when.month(), when.year().rem_euclid(100));
        let angle = |value: f64, digits: usize, positive: char, negative: char| {
            // Rounded as a whole first, so that no minute is ever printed as 60.
            let units = (value.abs() * 6e6).round();
            let whole = (units / 6e6).floor();
            let minutes = (units - whole * 6e6) / 1e5;
            format!("{whole:0digits$.0}{minutes:08.5},{}", if value < 0.0 { negative } else { positive })
        };
        let place = format!("{},{}", angle(lat, 2, 'N', 'S'), angle(lon, 3, 'E', 'W'));
        let knots = speed.map(|v| format!("{:.3}", v / KNOT)).unwrap_or_default();
        let course = course.map(|c| format!("{c:.2}")).unwrap_or_default();
        sentence(&mut text, &format!("GPRMC,{clock},A,{place},{knots},{course},{date},,,A"));
        sentence(&mut text, &format!("GPGGA,{clock},{place},1,09,0.9,2.0,M,47.0,M,,"));
    }
    text.into_bytes()
}

fn sentence(text: &mut String, body: &str) {
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    let _ = write!(text, "${body}*{sum:02X}\r\n");
}

/// A track as CSV with a header; empty fields where a value is missing.
#[must_use]
pub fn csv(fixes: &[Fix]) -> Vec<u8> {
    let mut text = String::with_capacity(80 * fixes.len());
    text.push_str("time,lat,lon,speed_ms,course_deg\n");
    for &(time, lat, lon, speed, course) in fixes {
        let speed = speed.map(|v| format!("{v:.3}")).unwrap_or_default();
        let course = course.map(|c| format!("{c:.2}")).unwrap_or_default();
        let _ = writeln!(text, "{},{lat:.7},{lon:.7},{speed},{course}", stamp(time));
    }
    text.into_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example sentence's place, 48 deg 7.038 min N, 11 deg 31 min E, by hand; the sum by the rule of the standard.
    #[test]
    fn a_sentence_says_where_and_sums_up() {
        let text = String::from_utf8(nmea(&[(0.5, 48.1173, -11.516_666_667, Some(KNOT), None)])).unwrap();
        assert!(text.starts_with("$GPRMC,000000.500,A,4807.03800,N,01131.00000,W,1.000,,010170,,,A*"), "{text}");
        for line in text.lines() {
            let (body, sum) = line[1..].split_once('*').unwrap();
            assert_eq!(u8::from_str_radix(sum, 16).unwrap(), body.bytes().fold(0, |s, b| s ^ b));
        }
    }

    #[test]
    fn a_name_cannot_break_the_file() {
        let text = String::from_utf8(gpx("<a&b>", &[(1_781_352_000.0, 50.0, -1.0, None, None)])).unwrap();
        assert!(text.contains("&lt;a&amp;b&gt;") && text.contains("<time>2026-06-13T12:00:00Z</time>"), "{text}");
    }
}
