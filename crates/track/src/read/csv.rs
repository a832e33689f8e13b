//! Tables of points with a first line of names: comma, semicolon, tab or bar between, decimal point or comma.
//!
//! Columns are known by their names and units by the names too; a speed without unit is compared with the positions, and a time
//! without timezone is asked for. RFC 4180 for quoting.

use super::Most;
use super::number::{Holds, holds, number};
use super::points::{Dropped, Found, Points};
use super::time::{self, Stamp};
use crate::error::TrackError;
use std::collections::HashMap;
use std::io::{BufRead, Read};

/// Which column holds what.
#[derive(Debug, Default)]
struct Columns {
    latitude: usize,
    longitude: usize,
    time: Option<(usize, bool)>,
    date: Option<usize>,
    speed: Option<(usize, Option<f64>)>,
    course: Option<usize>,
    boat: Option<usize>,
}

impl Columns {
    fn of(names: &[String]) -> Option<Self> {
        let mut columns = Self::default();
        let (mut latitude, mut longitude) = (None, None);
        for (i, name) in names.iter().enumerate() {
            match holds(name) {
                Some(Holds::Latitude) => _ = latitude.get_or_insert(i),
                Some(Holds::Longitude) => _ = longitude.get_or_insert(i),
                // A column that says UTC is better than one that does not.
                Some(Holds::Time { utc }) if columns.time.is_none_or(|(_, known)| utc && !known) => columns.time = Some((i, utc)),
                Some(Holds::Date) => _ = columns.date.get_or_insert(i),
                Some(Holds::Speed(unit)) if columns.speed.is_none_or(|(_, known)| unit.is_some() && known.is_none()) => {
                    columns.speed = Some((i, unit))
                }
                Some(Holds::Course) => _ = columns.course.get_or_insert(i),
                Some(Holds::Boat) => _ = columns.boat.get_or_insert(i),
                _ => {}
            }
        }
        (columns.latitude, columns.longitude) = (latitude?, longitude?);
        Some(columns)
    }
}

/// The mark between columns: the one that the first lines hold most often, alike in every line.
fn delimiter(sample: &str) -> u8 {
    let lines: Vec<&str> = sample.lines().filter(|l| !l.trim().is_empty() && !l.starts_with('#')).take(8).collect();
    // The last line of a sample may be cut.
    let lines = if lines.len() > 2 { &lines[..lines.len() - 1] } else { &lines[..] };
    let score = |mark: u8| {
        let counts: Vec<usize> = lines.iter().map(|l| l.bytes().filter(|b| *b == mark).count()).collect();
        let least = counts.iter().min().copied().unwrap_or(0);
        let alike = counts.iter().all(|c| *c == least);
        // A decimal comma makes more commas than columns: the names' line tells.
        (least > 0 && alike, counts.first().copied().unwrap_or(0))
    };
    [b'\t', b';', b'|', b','].into_iter().max_by_key(|mark| score(*mark)).unwrap_or(b',')
}

pub(super) fn read(mut bytes: impl BufRead, points: &mut Points<'_>) -> Result<(), TrackError> {
    points.format("CSV");
    let mut head = vec![];
    let _ = bytes.by_ref().take(8192).read_to_end(&mut head);
    let sample = String::from_utf8_lossy(&head).into_owned();
    let whole = std::io::Cursor::new(head).chain(Most::of(bytes, points.limits.held));
    let mut table = csv::ReaderBuilder::new()
        .delimiter(delimiter(&sample))
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .quoting(sample.contains('"'))
        .from_reader(whole);
    let mut row = csv::StringRecord::new();
    let mut columns = None;
    // Notes of the recorder may stand above the names.
    for _ in 0..20 {
        if !matches!(table.read_record(&mut row), Ok(true)) {
            break;
        }
        let names: Vec<String> = row.iter().map(|name| name.trim().to_owned()).collect();
        columns = Columns::of(&names);
        if columns.is_some() {
            break;
        }
    }
    let Some(columns) = columns else {
        points.note("no line names the columns latitude and longitude (and time), so that they cannot be told apart: add a first line such as time_utc,latitude,longitude");
        return Ok(());
    };
    if columns.time.is_none() {
        points.note("no column is named time, so what happened when cannot be told: export with times");
    }
    // Boats may take turns in one table: each is kept together.
    let mut boats: HashMap<String, Vec<Found>> = HashMap::new();
    let mut order: Vec<String> = Vec::new();
    let mut rows = 0_usize;
    while !points.full() {
        match table.read_record(&mut row) {
            Ok(true) => {}
            Ok(false) => break,
            Err(e) if e.is_io_error() => {
                points.note(format!("cannot be read on ({e}): what comes before is kept"));
                break;
            }
            Err(_) => {
                points.drop(Dropped::Line);
                continue;
            }
        }
        rows += 1;
        if rows > points.limits.points {
            points.note(format!("more than {} points: the rest is left out; split the file", points.limits.points));
            break;
        }
        let found = found(&columns, &row, points);
        match columns.boat.and_then(|i| row.get(i)).map(str::trim) {
            None => points.push(found),
            Some(boat) => {
                if !boats.contains_key(boat) {
                    order.push(boat.to_owned());
                }
                boats.entry(boat.to_owned()).or_default().push(found);
            }
        }
    }
    let unit = columns.speed.is_some_and(|(_, unit)| unit.is_some());
    for boat in order {
        points.name(&boat);
        for found in boats.remove(&boat).unwrap_or_default() {
            points.push(found);
        }
        if !unit {
            points.settle_speed();
        }
        points.end();
    }
    if !unit {
        points.settle_speed();
    }
    Ok(())
}

/// A row's point.
fn found(columns: &Columns, row: &csv::StringRecord, points: &mut Points<'_>) -> Found {
    let cell = |i: usize| row.get(i).map(str::trim);
    let mut value = |i: Option<usize>| i.and_then(cell).filter(|t| !t.is_empty()).and_then(|t| angle(t, points));
    Found {
        latitude: value(Some(columns.latitude)),
        longitude: value(Some(columns.longitude)),
        speed: value(columns.speed.map(|s| s.0)).map(|v| v * columns.speed.and_then(|s| s.1).unwrap_or(1.0)),
        course: value(columns.course),
        time: columns.time.and_then(|(i, utc)| cell(i).map(|text| stamp(text, columns.date.and_then(cell), utc))),
        void: false,
    }
}

/// A number, perhaps with the letter of its half of the earth.
fn angle(text: &str, points: &mut Points<'_>) -> Option<f64> {
    if text.as_bytes().last().is_some_and(u8::is_ascii_digit) {
        return number(text, points);
    }
    let bare = text.trim_end_matches(['N', 'S', 'E', 'W', '°', ' ']);
    let value = number(bare, points)?;
    Some(if text.ends_with(['S', 'W']) { -value.abs() } else { value })
}

/// A time from its column and, where there is one, the date's.
fn stamp(text: &str, date: Option<&str>, utc: bool) -> Stamp {
    if let Some(seconds) = time::usual(text) {
        return Stamp::Utc(seconds);
    }
    if let (Some(date), Some(clock)) = (date, time::clock(text)) {
        return match time::date(date).or_else(|| slashed(date)) {
            Some(date) => time::join(date, clock, utc),
            None => Stamp::Unreadable,
        };
    }
    if let Ok(number) = text.replace(',', ".").parse::<f64>() {
        return time::counted(number);
    }
    let stamp = match time::stamp(text) {
        Stamp::Unreadable => match text.split_once([' ', 'T']) {
            Some((date, clock)) => match (slashed(date), time::clock(clock)) {
                (Some(date), Some(clock)) => time::join(date, clock, utc),
                _ => Stamp::Unreadable,
            },
            None => Stamp::Unreadable,
        },
        stamp => stamp,
    };
    match stamp {
        Stamp::Local(civil) if utc => time::join(civil.date(), civil.time(), true),
        other => other,
    }
}

/// A date as day/month/year or month/day/year where the numbers leave no doubt which.
fn slashed(text: &str) -> Option<jiff::civil::Date> {
    let mut parts = text.trim().split('/');
    let (a, b, year): (i8, i8, i16) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    let (day, month) = match (a > 12, b > 12) {
        (true, false) => (a, b),
        (false, true) => (b, a),
        _ if a == b => (a, b),
        _ => return None,
    };
    jiff::civil::Date::new(year, month, day).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks() {
        assert_eq!(delimiter("lat;lon;time\n43,5;9,5;1\n43,5;9,5;1\n43,5;9,5;1\n"), b';');
        assert_eq!(delimiter("lat,lon\n1.5,2.5\n1.5,2.5\n"), b',');
        assert_eq!(delimiter("lat\tlon\n1,5\t2,5\n"), b'\t');
    }

    #[test]
    fn dates_in_doubt_are_not_guessed() {
        assert_eq!(slashed("05/06/2026"), None);
        assert_eq!(slashed("14/06/2026"), slashed("06/14/2026"));
        assert!(matches!(stamp("14.06.2026 12:00:00", None, true), Stamp::Utc(t) if t == 1_781_438_400.0));
        assert!(matches!(stamp("12:00:00", Some("2026/06/14"), false), Stamp::Local(_)));
    }
}
