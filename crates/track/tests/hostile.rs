//! Files that are doubtful, broken or meant to harm: a reason in words, the rest still read, no panic and no hang.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::{Cursor, Read, Write};
use track::read::{Limits, each, read};
use track::{Track, TrackError};

const GPX: &str = include_str!("fixtures/a.gpx");
const POINTS: usize = 240;

fn tracks(name: &str, bytes: &[u8]) -> (Vec<Track>, String) {
    match read(name, bytes, None, &Limits::default()) {
        Ok(read) => (read.value, read.warnings.iter().map(|w| format!("{w}\n")).collect()),
        Err(e) => (Vec::new(), e.to_string()),
    }
}

/// Reads a changed copy of the good file; answers the points of each track and what was said.
fn changed(change: impl Fn(&str) -> String) -> (Vec<usize>, String) {
    let (tracks, said) = tracks("x.gpx", change(GPX).as_bytes());
    (tracks.iter().map(|t| t.fixes.len()).collect(), said)
}

fn gzipped(bytes: &[u8]) -> Vec<u8> {
    let mut writer = GzEncoder::new(Vec::new(), Compression::best());
    writer.write_all(bytes).unwrap();
    writer.finish().unwrap()
}

fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

#[test]
fn good_but_unusual() {
    let whole = vec![POINTS];
    assert_eq!(changed(|g| format!("\u{FEFF}{}", g.replace('\n', "\r\n"))), (whole.clone(), String::new()));
    let prefixed = |g: &str| {
        ["gpx", "trk", "trkseg", "trkpt", "time", "name"].iter().fold(g.to_owned(), |g, n| {
            g.replace(&format!("<{n}>"), &format!("<g:{n}>"))
                .replace(&format!("<{n} "), &format!("<g:{n} "))
                .replace(&format!("</{n}>"), &format!("</g:{n}>"))
        })
    };
    assert_eq!(changed(prefixed), (whole.clone(), String::new()));
    assert_eq!(changed(|g| g.replacen("</trkpt>", "</trkpt></trkseg><trkseg>", 1)), (whole.clone(), String::new()));
    let utf16: Vec<u8> = GPX.replace("UTF-8", "UTF-16").encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(tracks("x", &[&[0xFF, 0xFE], &utf16[..]].concat()).0[0].fixes.len(), POINTS);
    let offset = changed(|g| g.replace("T12:", "T14:").replace("Z</time>", "+02:00</time>"));
    assert_eq!(offset, (whole, String::new()));
    let (shifted, _) = tracks("x", GPX.replace("T12:", "T14:").replace("Z</time>", "+02:00</time>").as_bytes());
    assert_eq!(shifted[0].fixes, tracks("x", GPX.as_bytes()).0[0].fixes);
    let two = tracks("x", GPX.replacen("</trkpt>", "</trkpt></trkseg></trk><trk><name>second</name><trkseg>", 1).as_bytes()).0;
    assert_eq!(two.iter().map(|t| (t.name.as_str(), t.fixes.len())).collect::<Vec<_>>(), [("synthetic track", 1), ("second", POINTS - 1)]);
}

#[test]
fn doubtful() {
    let comma = changed(|g| g.replace("lat=\"43.", "lat=\"43,").replace("lat=\"42.", "lat=\"42,"));
    assert_eq!(comma.0, [POINTS]);
    assert!(comma.1.contains("comma"));
    let (counts, said) = changed(|g| g[..g.len() / 2].to_owned());
    assert_eq!(counts.len(), 1);
    assert!(said.contains("breaks off"));
    let (counts, said) = changed(|g| g.replacen("lat=\"43.00000000\" lon=\"9.50000000\"", "lat=\"0.0\" lon=\"0.0\"", 1));
    assert_eq!(counts, [POINTS - 1]);
    assert!(said.contains("latitude 0, longitude 0"));
    let (counts, said) = changed(|g| g.replace("<time>", "<tim>").replace("</time>", "</tim>"));
    assert!(counts.is_empty() && said.contains("240 points without a time"));
    let (_, said) = changed(|g| g.replace("2026-", "2080-"));
    assert!(said.contains("2080"));
    let (_, said) = changed(|g| g.replace("2026-06-14", "2006-10-29"));
    assert!(said.contains("rolled over") && said.contains("2026-06-14"), "{said}");
    let (_, said) = changed(|g| g.replace("2026-06-14", "1970-01-01"));
    assert!(said.contains("1970"));
    let (counts, said) = changed(|g| g.replace("lat=\"42.", "lat=\"142."));
    assert!(counts[0] < 5 && said.contains("without a position"));
}

#[test]
fn nothing_in_it() {
    assert!(matches!(read("x", &b""[..], None, &Limits::default()), Err(TrackError::Empty { .. })));
    for bytes in [&b"   \n\n"[..], b"<html><body>no</body></html>", b"\x00\x01\x02\x03\x04\x05", b"<", b"<?xml"] {
        assert!(matches!(read("x", bytes, None, &Limits::default()), Err(TrackError::Unrecognised { .. })), "{bytes:?}");
    }
    let (found, said) = tracks("x", b"<gpx><trk><trkseg></trkseg></trk></gpx>");
    assert!(found.is_empty() && said.contains("1 track holds no points"));
}

#[test]
fn entities_are_never_resolved() {
    let bomb: String = (1..30).fold("<!DOCTYPE gpx [<!ENTITY e0 \"aaaaaaaaaa\">".to_owned(), |all, i| {
        format!("{all}<!ENTITY e{i} \"{}\">", format!("&e{};", i - 1).repeat(10))
    });
    let text = GPX.replacen("<gpx", &format!("{bomb}]>\n<gpx"), 1).replace("synthetic track", "&e29;&lt;b&gt;&#233;&#x41;");
    let (found, said) = tracks("x", text.as_bytes());
    assert_eq!((found[0].name.as_str(), found[0].fixes.len()), ("<b>éA", POINTS));
    assert!(said.contains("none is resolved"));
    let outside =
        GPX.replacen("<gpx", "<!DOCTYPE gpx [<!ENTITY x SYSTEM \"file:///etc/passwd\">]>\n<gpx", 1).replace("synthetic track", "&x;");
    assert_eq!(tracks("boat.gpx", outside.as_bytes()).0[0].name, "boat");
}

#[test]
fn limits_hold() {
    let deep = "<gpx>".to_owned() + &"<a>".repeat(100_000);
    assert!(tracks("x", deep.as_bytes()).1.contains("nested more than 64"));
    let wide = format!("<gpx><trk><name>{}</name></trk></gpx>", "a".repeat(8 << 20));
    assert!(tracks("x", wide.as_bytes()).1.contains("one element is longer"));
    let line = "$GPRMC,".to_owned() + &"1".repeat(8 << 20);
    assert!(tracks("x", line.as_bytes()).1.contains("cannot be read"));
    let short = Limits { bytes: 10_000, held: 10_000, ..Limits::default() };
    for file in [GPX, include_str!("fixtures/c.full.nmea"), include_str!("fixtures/c.truth.csv")] {
        let answer = read("x", file.as_bytes(), None, &short).unwrap();
        assert!(
            answer.value[0].fixes.len() < 200 && answer.warnings.iter().any(|w| w.what.contains("larger than 10000 bytes")),
            "{:?}",
            answer.warnings
        );
    }
    let few = Limits { points: 100, ..Limits::default() };
    let answer = read("x", GPX.as_bytes(), None, &few).unwrap();
    assert_eq!(answer.value[0].fixes.len(), 100);
    assert!(answer.warnings[0].what.contains("more than 100 points"));
    let empty = "<gpx>".to_owned() + &"<trk><name>n</name><trkseg/></trk>".repeat(10_000) + "</gpx>";
    let (found, said) = tracks("x", empty.as_bytes());
    assert!(found.is_empty() && said.contains("10000 tracks hold no points"));
    let many: String =
        (0..1100).map(|_| "<trk><trkseg><trkpt lat='1' lon='2'><time>2026-06-14T12:00:00Z</time></trkpt></trkseg></trk>").collect();
    let (found, said) = tracks("x", format!("<gpx>{many}</gpx>").as_bytes());
    assert!(found.len() == 1000 && said.contains("more than 1000 tracks"));
}

/// A file far larger than memory should be: 2 GB by repeating points, stopped at its limit with one track's memory.
#[test]
fn a_file_of_two_gigabytes() {
    let head = GPX.find("<trkpt").unwrap();
    let (before, body) = GPX.split_at(head);
    let body = &body[..body.find("</trkseg>").unwrap()];
    let copies = (2_u64 << 30) / body.len() as u64;
    let limits = Limits { points: 100_000, ..Limits::default() };
    let endless = std::iter::repeat_n(body, copies as usize).map(str::as_bytes);
    let mut found = 0;
    let said =
        each("x", before.as_bytes().chain(Pieces { pieces: endless, at: b"" }), None, &limits, &mut |t| found += t.fixes.len()).unwrap();
    assert_eq!(found, 100_000);
    assert!(said[0].what.contains("more than 100000 points"));
}

/// Pieces read one after the other.
struct Pieces<'a, I> {
    pieces: I,
    at: &'a [u8],
}

impl<'a, I: Iterator<Item = &'a [u8]>> Read for Pieces<'a, I> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        if self.at.is_empty() {
            self.at = self.pieces.next().unwrap_or_default();
        }
        self.at.read(out)
    }
}

#[test]
fn packed() {
    let gpx = GPX.as_bytes();
    assert_eq!(tracks("x.gpx.gz", &gzipped(gpx)).0[0].fixes.len(), POINTS);
    let fit = include_bytes!("fixtures/a.fit");
    let all =
        zipped(&[("a.gpx", gpx), ("b.fit", fit), ("c.gpx.gz", &gzipped(gpx)), ("notes.bin", b"\x00\x01\x02"), ("__MACOSX/._a", b"\x00")]);
    let (found, said) = tracks("x.zip", &all);
    assert_eq!(found.iter().map(|t| t.fixes.len()).collect::<Vec<_>>(), [POINTS; 3]);
    assert!(said.contains("notes.bin") && said.lines().count() == 1, "{said}");
    let (found, said) = tracks("x.zip", &zipped(&[("in.zip", &zipped(&[("a.gpx", gpx)])), ("a.gpx", gpx)]));
    assert!(found.len() == 1 && said.contains("packed file inside a packed file"));
    for nested in [gzipped(&gzipped(gpx)), gzipped(&zipped(&[("a.gpx", gpx)]))] {
        assert!(matches!(read("x", &nested[..], None, &Limits::default()), Err(TrackError::Refused { .. })));
    }
    assert!(tracks("x.zip", &zipped(&[])).1.contains("holds no track"));
    let mut cut = gzipped(gpx);
    cut.truncate(cut.len() / 2);
    let (found, said) = tracks("x.gz", &cut);
    assert!(found.len() == 1 && said.contains("cannot be read on"), "{said}");
    let mut damaged = all;
    let length = damaged.len();
    damaged.truncate(length - 30);
    assert!(tracks("x.zip", &damaged).1.contains("damaged"));
}

#[test]
fn a_bomb_is_stopped() {
    let blown = format!("<gpx><trk><name>{}</name>", " ".repeat(40 << 20));
    let bomb = gzipped(blown.as_bytes());
    let whole = Limits { element: 1 << 30, ..Limits::default() };
    let read_it = |bytes: &[u8]| match read("x", bytes, None, &whole) {
        Ok(read) => read.warnings.iter().map(ToString::to_string).collect::<String>(),
        Err(e) => e.to_string(),
    };
    assert!(read_it(&bomb).contains("200 times"));
    assert!(read_it(&zipped(&[("a.gpx", blown.as_bytes())])).contains("200 times"));
}

#[test]
fn local_times_in_a_zip_are_asked_for() {
    let csv = b"date,time,lat,lon\n2026-06-14,12:00:00,43.1,9.1\n";
    let asked = read("x.zip", &zipped(&[("a.csv", csv)])[..], None, &Limits::default());
    assert!(matches!(asked, Err(TrackError::NeedsTimezone { .. })));
    let (found, said) = tracks("x.zip", &zipped(&[("a.csv", csv), ("b.gpx", GPX.as_bytes())]));
    assert!(found.len() == 1 && said.contains("timezone"));
}
