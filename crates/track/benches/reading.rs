//! How fast files are read and cleaned: MB/s by format, beside a general-purpose GPX reader on the same bytes.

use divan::Bencher;
use divan::counter::{BytesCount, ItemsCount};
use std::fmt::Write as _;
use track::clean::{clean, plane};
use track::read::{Limits, read};

/// Half an hour at 10 Hz with speed and course.
const POINTS: u32 = 18_000;

fn places() -> impl Iterator<Item = (f64, f64, f64)> {
    (0..POINTS).map(|i| {
        let t = f64::from(i) / 10.0;
        (t, 43.0 + 1e-4 * (t / 30.0).sin() + 1e-5 * t, 9.5 + 1e-4 * (t / 40.0).cos())
    })
}

fn clock(t: f64) -> String {
    format!("12:{:02}:{:04.1}", (t / 60.0) as u32, t % 60.0)
}

fn gpx() -> String {
    let mut text = "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"bench\"><trk><name>red</name><trkseg>\n".to_owned();
    for (t, lat, lon) in places() {
        let _ = writeln!(
            text,
            "<trkpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><time>2026-06-14T{}Z</time><extensions><speed>1.543</speed><course>245.0</course></extensions></trkpt>",
            clock(t)
        );
    }
    text + "</trkseg></trk></gpx>\n"
}

fn nmea() -> String {
    let mut text = String::new();
    for (t, lat, lon) in places() {
        let time = clock(t).replace(':', "");
        let place = format!("43{:08.5},N,009{:08.5},E", (lat - 43.0) * 60.0, (lon - 9.0) * 60.0);
        let _ = write!(text, "$GPRMC,{time},A,{place},3.00,245.0,140626,,,A\r\n$GPGGA,{time},{place},1,09,0.9,2.0,M,47.0,M,,\r\n");
    }
    text
}

fn csv() -> String {
    let mut text = "time_utc,latitude,longitude,sog_ms,cog\n".to_owned();
    for (t, lat, lon) in places() {
        let _ = writeln!(text, "2026-06-14T{}Z,{lat:.7},{lon:.7},1.543,245.0", clock(t));
    }
    text
}

fn ours(bencher: Bencher<'_, '_>, text: String) {
    bencher
        .counter(BytesCount::new(text.len()))
        .bench_local(|| read("x", text.as_bytes(), None, &Limits::default()).map(|r| r.value[0].fixes.len()));
}

#[divan::bench]
fn gpx_ours(bencher: Bencher<'_, '_>) {
    ours(bencher, gpx());
}

#[divan::bench]
fn gpx_general_purpose(bencher: Bencher<'_, '_>) {
    let text = gpx();
    bencher.counter(BytesCount::new(text.len())).bench_local(|| ::gpx::read(text.as_bytes()).map(|g| g.tracks.len()));
}

#[divan::bench]
fn nmea_ours(bencher: Bencher<'_, '_>) {
    ours(bencher, nmea());
}

#[divan::bench]
fn csv_ours(bencher: Bencher<'_, '_>) {
    ours(bencher, csv());
}

/// Items are boat-seconds.
#[divan::bench]
fn cleaning(bencher: Bencher<'_, '_>) {
    let Ok(read) = read("x", gpx().as_bytes(), None, &Limits::default()) else { return };
    let Some(plane) = plane(&[&read.value[0]]) else { return };
    bencher.counter(ItemsCount::new(POINTS / 10)).bench_local(|| clean(&read.value[0], &plane).map(|s| s.value.len()));
}

fn main() {
    divan::main();
}
