//! N4: one synthetic outing in many formats, each against its truth: 240 points at 1 Hz that cross midnight, new year and the
//! antimeridian. Made for this purpose with a general converter; the truth is the generator's own table.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use jiff::tz::TimeZone;
use measure::{Position, Warned};
use track::read::{Limits, read};
use track::{Track, TrackError};

const TRUTH: &str = include_str!("fixtures/c.truth.csv");

/// Time (UTC seconds), position, course (degrees), speed (m/s).
fn truth(table: &str) -> Vec<(f64, Position, f64, f64)> {
    table
        .lines()
        .skip(1)
        .map(|line| {
            let f: Vec<&str> = line.split(',').collect();
            let time: jiff::Timestamp = f[0].parse().unwrap();
            let n = |i: usize| f[i].parse::<f64>().unwrap();
            (time.as_millisecond() as f64 / 1000.0, Position::degrees(n(1), n(2)).unwrap(), n(4), n(5) * measure::quantity::KNOT)
        })
        .collect()
}

fn of(name: &str, bytes: &[u8], timezone: Option<&TimeZone>) -> Result<Warned<Vec<Track>>, TrackError> {
    read(name, bytes, timezone, &Limits::default())
}

/// Half a step of the lattice the format writes on, along both axes at 36.8 degrees south, and a little for rounding.
fn half_steps(degrees: f64) -> f64 {
    0.5 * degrees * 110_980.0_f64.hypot(89_200.0) * 1.05 + 1e-4
}

fn check(name: &str, bytes: &[u8], timezone: Option<&TimeZone>, tolerance: f64, warnings: usize) -> Track {
    let read = of(name, bytes, timezone).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(read.value.len(), 1, "{name}");
    assert_eq!(read.warnings.len(), warnings, "{name}: {:?}", read.warnings);
    let track = read.value.into_iter().next().unwrap();
    let truth = truth(TRUTH);
    assert_eq!(track.fixes.len(), truth.len(), "{name}");
    for (fix, (time, position, course, speed)) in track.fixes.iter().zip(truth) {
        assert_eq!(fix.time, time, "{name}");
        let off = fix.position.to(position).0.si();
        assert!(off <= tolerance, "{name}: {off} m at {time}");
        // Converters work speed out afterwards and write the first as zero: only true speeds are checked.
        if name.contains("true speed") {
            assert!((fix.speed.unwrap() - speed).abs() < 0.006, "{name}");
            assert!(((fix.course.unwrap() - course + 180.0).rem_euclid(360.0) - 180.0).abs() < 0.06, "{name}");
        }
    }
    track
}

#[test]
fn every_format_against_its_truth() {
    let minute = |decimals: i32| half_steps(10f64.powi(-decimals) / 60.0);
    let track = check("x.gpx, true speed", include_bytes!("fixtures/c.gpx"), None, half_steps(1e-8), 0);
    assert_eq!((track.name.as_str(), track.format.as_str()), ("synthetic track", "GPX 1.1"));
    check("true speed.nmea", include_bytes!("fixtures/c.full.nmea"), None, minute(5), 0);
    check("void.nmea", include_bytes!("fixtures/c.default.nmea"), None, minute(3), 1);
    check("void with speed.nmea", include_bytes!("fixtures/c.speedcourse.nmea"), None, minute(3), 1);
    check("x.igc", include_bytes!("fixtures/c.igc"), None, half_steps(2e-3 / 60.0), 0);
    check("x.fit", include_bytes!("fixtures/c.fit"), None, half_steps(2.0 * 180.0 / 2f64.powi(31)), 0);
    // The converter cuts the last decimal of TCX and IGC instead of rounding it.
    check("x.tcx", include_bytes!("fixtures/c.tcx"), None, half_steps(2e-7), 0);
    check("points.kml", include_bytes!("fixtures/c.default.kml"), None, half_steps(1e-6), 0);
    check("track.kml", include_bytes!("fixtures/c.track.kml"), None, half_steps(1e-6), 1);
    check("true speed.csv", TRUTH.as_bytes(), None, half_steps(1e-9), 0);
}

#[test]
fn a_time_without_timezone_is_asked_for() {
    let zone = |name| TimeZone::get(name).unwrap();
    let files: [(&[u8], TimeZone); 4] = [
        (include_bytes!("fixtures/c.unicsv.csv"), TimeZone::UTC),
        (include_bytes!("fixtures/c.unicsv_tzNY.csv"), zone("America/New_York")),
        (include_bytes!("fixtures/c.unicsv_utc2.csv"), zone("Etc/GMT-2")),
        (include_bytes!("fixtures/c.unicsv_speedcourse.csv"), TimeZone::UTC),
    ];
    for (i, (bytes, timezone)) in files.into_iter().enumerate() {
        assert!(matches!(of("x.csv", bytes, None), Err(TrackError::NeedsTimezone { .. })));
        check("x.csv", bytes, Some(&timezone), half_steps(1e-6), usize::from(i == 3));
    }
    let gpx = include_str!("fixtures/c.gpx").replace("Z</time>", "</time>");
    assert!(
        matches!(of("x.gpx", gpx.as_bytes(), None), Err(TrackError::NeedsTimezone { first, .. }) if first.starts_with("2026-12-31T23:58:30"))
    );
    check("x.gpx, true speed", gpx.as_bytes(), Some(&TimeZone::UTC), half_steps(1e-8), 0);
}

#[test]
fn the_hour_that_comes_twice() {
    // Paris, 2026-10-25: 03:00 CEST becomes 02:00 CET. Points every ten minutes from 02:30, across.
    let rows = ["02:30", "02:40", "02:50", "02:00", "02:10", "02:20", "02:30", "02:40", "02:50", "03:00"];
    let csv: String = rows
        .iter()
        .enumerate()
        .fold("date,time,lat,lon\n".to_owned(), |all, (i, clock)| format!("{all}2026-10-25,{clock}:00,48.{:03},2.5\n", i + 1));
    let zone = TimeZone::get("Europe/Paris").unwrap();
    let tracks = of("x.csv", csv.as_bytes(), Some(&zone)).unwrap().value;
    assert!(tracks[0].fixes.windows(2).all(|w| w[1].time - w[0].time == 600.0));
    assert_eq!(tracks[0].fixes[0].time, 1_792_888_200.0); // 00:30 UTC
}

#[test]
fn a_line_without_times_is_said() {
    let files: [(&str, &[u8]); 3] = [
        ("x.geojson", include_bytes!("fixtures/c.geojson")),
        ("x.kml", include_bytes!("fixtures/c.line.kml")),
        ("x.csv", include_bytes!("fixtures/c.plain.csv")),
    ];
    for (name, bytes) in files {
        let read = of(name, bytes, None).unwrap();
        assert!(read.value.is_empty() && read.warnings.len() == 1, "{name}");
        assert!(read.warnings[0].what.contains("time"), "{}", read.warnings[0]);
    }
}

#[test]
fn geojson_with_times() {
    let (mut places, mut times) = (Vec::new(), Vec::new());
    for line in TRUTH.lines().skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        places.push(format!("[{},{}]", f[2], f[1]));
        times.push(format!("\"{}\"", f[0]));
    }
    let text = format!(
        "{{\"type\":\"Feature\",\"properties\":{{\"coordTimes\":[{}]}},\"geometry\":{{\"type\":\"LineString\",\"coordinates\":[{}]}}}}",
        times.join(","),
        places.join(",")
    );
    check("x.geojson", text.as_bytes(), None, half_steps(1e-9), 0);
}

#[test]
fn csv_as_spreadsheets_write_it() {
    // Semicolons, decimal commas, dates day first, speed in knots, a mark of byte order.
    let mut text = "\u{FEFF}Time (UTC);Latitude;Longitude;SOG [kn];COG\n".to_owned();
    for line in TRUTH.lines().skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        let (date, clock) = f[0].trim_end_matches('Z').split_once('T').unwrap();
        let d: Vec<&str> = date.split('-').collect();
        text += &format!("{}.{}.{} {clock};{};{};{};{}\n", d[2], d[1], d[0], f[1], f[2], f[5], f[4]).replace('.', ",");
    }
    // The dots of the dates come back; those of the numbers stay commas.
    let text: String = text
        .lines()
        .map(|line| {
            let (time, rest) = line.split_once(';').unwrap();
            format!("{};{rest}\n", time.replacen(',', ".", 2))
        })
        .collect();
    check("true speed.csv", text.as_bytes(), None, half_steps(1e-9), 1);
}

#[test]
fn several_boats_in_one_table() {
    let csv =
        "boat,time_utc,lat,lon\nred,2026-06-14T12:00:00Z,43.1,9.1\nblue,2026-06-14T12:00:00Z,43.2,9.2\nred,2026-06-14T12:00:01Z,43.1,9.1\n";
    let tracks = of("x.csv", csv.as_bytes(), None).unwrap().value;
    let named: Vec<(&str, usize)> = tracks.iter().map(|t| (t.name.as_str(), t.fixes.len())).collect();
    assert_eq!(named, [("red", 2), ("blue", 1)]);
}

/// The hand-encoded FIT files hold the first outing's truth, with five points without a position.
#[test]
fn fit_by_hand() {
    let truth = truth(include_str!("fixtures/a.truth.csv"));
    let files: [(&[u8], usize, usize); 6] = [
        (include_bytes!("fixtures/hand_ok_12.fit"), 235, 1),
        (include_bytes!("fixtures/hand_ok_14.fit"), 235, 1),
        (include_bytes!("fixtures/hand_ok_hdrcrc0.fit"), 235, 1),
        (include_bytes!("fixtures/hand_bad_crc.fit"), 235, 2),
        (include_bytes!("fixtures/hand_zero_size.fit"), 235, 2),
        (include_bytes!("fixtures/hand_truncated.fit"), 148, 1),
    ];
    for (i, (bytes, points, warnings)) in files.into_iter().enumerate() {
        let read = of("x.fit", bytes, None).unwrap();
        assert_eq!((read.value[0].fixes.len(), read.warnings.len()), (points, warnings), "{i}: {:?}", read.warnings);
        for fix in &read.value[0].fixes {
            let (_, position, _, speed) = truth.iter().find(|t| t.0 == fix.time).unwrap();
            assert!(fix.position.to(*position).0.si() < 0.02, "{i}");
            assert!((fix.speed.unwrap() - speed).abs() < 0.002, "{i}");
        }
    }
}

/// N3: one good sentence of each kind from the public notes, and one that is wrong and is dropped, not mended.
#[test]
fn nmea_sentences_of_others() {
    let text = "$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B\r\n$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M*47\r\n$GPRMC,170047.00,A,4121.23302,N,00201.31654,W,2.703, ,200417, , ,A*64\r\n";
    let read = of("x.nmea", text.as_bytes(), None).unwrap();
    let fixes = &read.value[0].fixes;
    assert_eq!(fixes.len(), 2);
    assert_eq!((fixes[0].time, fixes[1].time), (1_484_007_031.0, 1_484_007_043.0)); // 2017-01-10T00:10:31Z and :43
    assert!((fixes[0].position.latitude() - 44.068_998_8).abs() < 5e-8 && (fixes[0].position.longitude() + 121.314_337_2).abs() < 5e-8);
    assert_eq!(fixes[0].course, None);
    assert!(read.warnings[0].what.contains("checksum"));
}
