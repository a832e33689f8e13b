//! IGC flight recorder files, which some loggers write afloat too: header date and B records.
//!
//! Source: FAI, Technical Specification for GNSS Flight Recorders, appendix A. Times are UTC, a record holds thousandths of a
//! minute (1.85 m of latitude), and only the header has a date.

use super::points::{Dropped, Found, Points};
use super::text::line;
use super::time::{self, Stamp};
use jiff::civil::Date;
use std::io::BufRead;

/// Whether a sample begins with the manufacturer's record and has a date or a fix.
pub(super) fn looks(sample: &str) -> bool {
    sample.starts_with('A')
        && sample.lines().take(40).any(|l| l.starts_with("HFDTE") || (l.starts_with('B') && l.len() >= 35 && place(l).is_some()))
}

pub(super) fn read(bytes: &mut impl BufRead, points: &mut Points<'_>) {
    points.format("IGC");
    let (mut date, mut last) = (None, 0.0);
    let mut text = String::new();
    while !points.full() && line(bytes, &mut text, points) {
        if let Some(rest) = text.strip_prefix("HFDTE") {
            let digits = rest.trim_start_matches("DATE:");
            let part = |range: core::ops::Range<usize>| digits.get(range)?.parse::<i8>().ok();
            date = match (part(0..2), part(2..4), part(4..6)) {
                (Some(day), Some(month), Some(year)) => Date::new(2000 + i16::from(year), month, day).ok(),
                _ => None,
            };
        } else if text.starts_with('B') {
            let Some((clock, latitude, longitude)) = place(&text) else {
                points.drop(Dropped::Line);
                continue;
            };
            // The header's day is that of the first record: past midnight the next begins.
            if clock < last - 43_200.0 {
                date = date.map(time::tomorrow);
            }
            last = clock;
            let whole = clock as i64;
            let time = match (date, time::time_of((whole / 3600) as i8, (whole / 60 % 60) as i8, (whole % 60) as f64)) {
                (Some(date), Some(clock)) => Some(time::join(date, clock, true)),
                (None, Some(_)) => None,
                _ => Some(Stamp::Unreadable),
            };
            points.push(Found { time, latitude: Some(latitude), longitude: Some(longitude), ..Found::default() });
        }
    }
}

/// Time of day in seconds, latitude and longitude of a B record.
fn place(record: &str) -> Option<(f64, f64, f64)> {
    let part = |range: core::ops::Range<usize>| record.get(range)?.parse::<u32>().ok().map(f64::from);
    let clock = part(1..3)? * 3600.0 + part(3..5)? * 60.0 + part(5..7)?;
    let latitude = part(7..9)? + part(9..14)? / 60_000.0;
    let longitude = part(15..18)? + part(18..23)? / 60_000.0;
    let north = match record.get(14..15)? {
        "N" => latitude,
        "S" => -latitude,
        _ => return None,
    };
    let east = match record.get(23..24)? {
        "E" => longitude,
        "W" => -longitude,
        _ => return None,
    };
    (clock < 86_401.0).then_some((clock, north, east))
}
