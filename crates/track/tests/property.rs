//! Whatever the bytes, reading and cleaning answer: no panic, no hang, finite numbers.

use measure::{LocalPlane, Position};
use proptest::prelude::*;
use track::clean::{clean, plane};
use track::read::{Limits, read};
use track::{Fix, Track};

const FILES: [&[u8]; 10] = [
    include_bytes!("fixtures/a.gpx"),
    include_bytes!("fixtures/c.full.nmea"),
    include_bytes!("fixtures/c.fit"),
    include_bytes!("fixtures/c.geojson"),
    include_bytes!("fixtures/c.igc"),
    include_bytes!("fixtures/c.tcx"),
    include_bytes!("fixtures/c.unicsv.csv"),
    include_bytes!("fixtures/c.track.kml"),
    include_bytes!("fixtures/hand_ok_14.fit"),
    include_bytes!("fixtures/c.truth.csv"),
];

/// Small limits, so that every one of them is met.
const LIMITS: Limits = Limits { bytes: 200_000, held: 100_000, ratio: 50, depth: 16, element: 10_000, points: 200, tracks: 5 };

fn answer(bytes: &[u8]) {
    let zone = jiff::tz::TimeZone::UTC;
    for limits in [Limits::default(), LIMITS] {
        let Ok(read) = read("any", bytes, Some(&zone), &limits) else { continue };
        for track in &read.value {
            assert!(!track.fixes.is_empty() && track.fixes.iter().all(|f| f.time.is_finite()));
            finite(track);
        }
    }
}

fn finite(track: &Track) {
    let plane = plane(&[track]).unwrap_or_else(|| LocalPlane::at(Position::default()));
    let Ok(smooth) = clean(track, &plane) else { return };
    let s = smooth.value;
    for series in [&s.x, &s.y, &s.vx, &s.vy, &s.position_variance, &s.velocity_variance] {
        assert_eq!(series.len(), s.gap.len());
        assert!(series.iter().all(|v| v.is_finite()));
    }
    assert!(s.position_variance.iter().chain(&s.velocity_variance).all(|v| *v >= 0.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn random_bytes(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        answer(&bytes);
    }

    #[test]
    fn random_text(text in "[<>/a-z0-9\"'= &;\\[\\]!?$,.*\\n-]{0,400}") {
        answer(text.as_bytes());
        answer(format!("<gpx>{text}").as_bytes());
        answer(format!("<kml>{text}").as_bytes());
        answer(format!("time,lat,lon\n{text}").as_bytes());
        answer(format!("$GPRMC,{text}").as_bytes());
    }

    #[test]
    fn cut_and_damaged(file in 0..FILES.len(), cut in 0.0..1.0f64, hits in prop::collection::vec((0.0..1.0f64, any::<u8>()), 0..20)) {
        let mut bytes = FILES[file][..(FILES[file].len() as f64 * cut) as usize].to_vec();
        let length = bytes.len();
        for (at, value) in hits {
            if length > 0 {
                bytes[(at * length as f64) as usize] = value;
            }
        }
        answer(&bytes);
    }

    #[test]
    fn any_points(points in prop::collection::vec((0.0..1e6f64, -90.0..90.0f64, -180.0..180.0f64, prop::option::of((0.0..500.0f64, 0.0..360.0f64))), 0..100), scale in prop::sample::select(vec![1.0_f64, 1e-3, 1e-5, 0.0])) {
        let fixes = points.iter().map(|(t, lat, lon, way)| Fix {
            time: 1.7e9 + t * scale.max(1e-4),
            position: Position::degrees(lat * scale, lon * scale).unwrap(),
            speed: way.map(|w| w.0),
            course: way.map(|w| w.1),
        }).collect();
        finite(&Track { name: "any".into(), format: "any".into(), fixes });
    }
}
