//! Recorders' files: bytes of any known format to tracks, one file per format.
//!
//! The format is told by content, never by name. Everything streams: one track is in memory at a time with [`each`].
//! Input is hostile until shown otherwise: entities are never resolved, and [`Limits`] bound bytes, packing ratio, depth,
//! points and tracks. What is dropped is counted and said.

mod csv;
mod fit;
mod geojson;
mod gpx;
mod igc;
mod kml;
mod marks;
mod nmea;
mod number;
mod packed;
mod points;
mod tcx;
mod text;
mod time;
mod xml;

pub use marks::marks;

use crate::error::TrackError;
use crate::record::Track;
use jiff::tz::TimeZone;
use measure::{Warned, Warning};
use points::Points;
use std::io::{self, BufReader, Cursor, Read};

/// How far a file may go before reading it stops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of one file once unpacked.
    pub bytes: u64,
    /// Bytes of a file that must be held whole to be read: zip, FIT, GeoJSON.
    pub held: u64,
    /// Unpacked bytes for one packed byte, beyond the first megabyte.
    pub ratio: u64,
    /// Elements within elements.
    pub depth: usize,
    /// Bytes of one element, line or name.
    pub element: usize,
    /// Points of one file.
    pub points: usize,
    /// Tracks of one file, and files of one zip.
    pub tracks: usize,
}

impl Default for Limits {
    /// Ten times what 3 h at 10 Hz needs. Assumed.
    fn default() -> Self {
        Self { bytes: 1 << 30, held: 128 << 20, ratio: 200, depth: 64, element: 4 << 20, points: 2_000_000, tracks: 1000 }
    }
}

/// Reads every track of a file and holds them all.
///
/// `name` is the file's name, for messages and for tracks without one of their own. `timezone` serves only times that carry
/// none. A file in which nothing is a track answers with no tracks and the reasons.
///
/// # Errors
/// When the file as a whole cannot be used: empty, of no known format, refused by a limit, or local times and no timezone.
pub fn read(name: &str, bytes: impl Read, timezone: Option<&TimeZone>, limits: &Limits) -> Result<Warned<Vec<Track>>, TrackError> {
    let mut tracks = Vec::new();
    let warnings = each(name, bytes, timezone, limits, &mut |track| tracks.push(track))?;
    Ok(Warned::new(tracks, warnings))
}

/// Reads a file and hands on each track as soon as it is whole, so that one is in memory at a time. Answers with the reasons
/// for what was dropped. See [`read`].
///
/// # Errors
/// As [`read`].
pub fn each(
    name: &str,
    bytes: impl Read,
    timezone: Option<&TimeZone>,
    limits: &Limits,
    take: &mut dyn FnMut(Track),
) -> Result<Vec<Warning>, TrackError> {
    let mut bytes: Box<dyn Read + '_> = Box::new(bytes);
    let head = head(&mut bytes);
    let whole = Cursor::new(head.clone()).chain(bytes);
    if head.starts_with(&packed::ZIP) || head.starts_with(&packed::ZIP_EMPTY) {
        packed::zip(name, whole, timezone, limits, take)
    } else if head.starts_with(&packed::GZIP) {
        packed::gzip(name, whole, timezone, limits, take)
    } else {
        plain(name, Box::new(Most::of(whole, limits.bytes)), timezone, limits, take)
    }
}

/// A reader that says so when there is more than it may give, where `take` would feign an end.
struct Most<R> {
    inner: R,
    left: u64,
    most: u64,
    over: bool,
}

impl<R: Read> Most<R> {
    const fn of(inner: R, most: u64) -> Self {
        Self { inner, left: most, most, over: false }
    }
}

impl<R: Read> Read for Most<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if self.left == 0 && !out.is_empty() {
            self.over = self.over || self.inner.read(&mut [0])? > 0;
            return if self.over { Err(io::Error::other(format!("it is larger than {} bytes; split it", self.most))) } else { Ok(0) };
        }
        let room = out.len().min(usize::try_from(self.left).unwrap_or(usize::MAX));
        let n = self.inner.read(&mut out[..room])?;
        self.left -= n as u64;
        Ok(n)
    }
}

/// Enough of a file to tell its format.
const HEAD: usize = 1 << 14;

/// The first bytes of a file, fewer if it is shorter or breaks off.
fn head(bytes: &mut dyn Read) -> Vec<u8> {
    let mut head = Vec::with_capacity(HEAD);
    // A file that cannot be read on is told as such by its reader.
    let _ = bytes.take(HEAD as u64).read_to_end(&mut head);
    head
}

/// Reads a file that is not packed.
fn plain(
    name: &str,
    mut bytes: Box<dyn Read + '_>,
    timezone: Option<&TimeZone>,
    limits: &Limits,
    take: &mut dyn FnMut(Track),
) -> Result<Vec<Warning>, TrackError> {
    let head = head(&mut bytes);
    let whole = Cursor::new(head.clone()).chain(bytes);
    let mut points = Points::new(name, timezone, limits, take);
    let unrecognised = |what: &str| Err(TrackError::Unrecognised { file: name.to_owned(), what: what.to_owned() });
    if head.is_empty() {
        return Err(TrackError::Empty { file: name.to_owned() });
    }
    if fit::looks(&head) {
        fit::read(whole, &mut points);
        return points.finish();
    }
    if head.starts_with(&packed::ZIP) || head.starts_with(&packed::GZIP) {
        let what = "a packed file inside a packed file is not opened; unpack it first".to_owned();
        return Err(TrackError::Refused { file: name.to_owned(), what });
    }
    let encoding = text::encoding(&head);
    let seen = text::sample(&head, encoding);
    let start = seen.trim_start();
    let whole = text::Utf8::new(whole, encoding);
    if start.is_empty() && head.len() < HEAD {
        return unrecognised("there is nothing but blanks in it");
    }
    if start.starts_with('<') {
        return match xml::root(start) {
            Some("gpx") => {
                gpx::read(whole, &mut points);
                points.finish()
            }
            Some("kml") => {
                kml::read(whole, &mut points);
                points.finish()
            }
            Some("TrainingCenterDatabase") => {
                tcx::read(whole, &mut points);
                points.finish()
            }
            Some(other) => {
                let other: String = other.chars().take(40).collect();
                unrecognised(&format!("it is XML of another kind ({other})"))
            }
            None => unrecognised("it begins like XML but has no first element"),
        };
    }
    let mut whole = BufReader::with_capacity(1 << 16, whole);
    if start.starts_with('{') || start.starts_with('[') {
        geojson::read(whole, &mut points);
    } else if nmea::looks(start) {
        nmea::read(&mut whole, &mut points);
    } else if igc::looks(start) {
        igc::read(&mut whole, &mut points);
    } else if text::printable(&seen) {
        csv::read(whole, &mut points)?;
    } else {
        return unrecognised("its content is no track");
    }
    points.finish()
}
