//! gzip and zip around any of the formats. Sources: RFC 1952; PKWARE APPNOTE 6.3.
//!
//! One layer is opened, and gzip inside zip; a zip inside anything is refused. Output is bounded by the ratio in [`Limits`].

use super::{Limits, Most, head, plain};
use crate::error::TrackError;
use crate::record::Track;
use flate2::read::MultiGzDecoder;
use jiff::tz::TimeZone;
use measure::Warning;
use std::cell::Cell;
use std::io::{self, Cursor, Read};

/// How a gzip file begins.
pub(super) const GZIP: [u8; 2] = [0x1F, 0x8B];
/// How a zip file begins.
pub(super) const ZIP: [u8; 4] = *b"PK\x03\x04";
/// How a zip file with nothing in it begins.
pub(super) const ZIP_EMPTY: [u8; 4] = *b"PK\x05\x06";
/// Bytes that any packed file may unpack to.
const FREE: u64 = 1 << 20;

/// Counts the bytes that go by.
struct Counted<'c, R> {
    inner: R,
    count: &'c Cell<u64>,
}

impl<R: Read> Read for Counted<'_, R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.inner.read(out)?;
        self.count.set(self.count.get() + n as u64);
        Ok(n)
    }
}

/// Stops a file that unpacks to far more than it was.
struct Ratio<'c, R> {
    inner: R,
    given: u64,
    packed: &'c Cell<u64>,
    ratio: u64,
}

impl<R: Read> Read for Ratio<'_, R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if self.given > FREE.saturating_add(self.packed.get().saturating_mul(self.ratio)) {
            return Err(io::Error::other(format!("it unpacks to more than {} times its size, as no track does", self.ratio)));
        }
        let n = self.inner.read(out)?;
        self.given += n as u64;
        Ok(n)
    }
}

/// Reads what a gzip file holds.
pub(super) fn gzip(
    name: &str,
    bytes: impl Read,
    timezone: Option<&TimeZone>,
    limits: &Limits,
    take: &mut dyn FnMut(Track),
) -> Result<Vec<Warning>, TrackError> {
    let packed = Cell::new(0);
    let decoder = MultiGzDecoder::new(Counted { inner: bytes, count: &packed });
    let unpacked = Ratio { inner: decoder, given: 0, packed: &packed, ratio: limits.ratio };
    plain(name, Box::new(Most::of(unpacked, limits.bytes)), timezone, limits, take)
}

/// Reads every track that a zip file holds.
pub(super) fn zip(
    name: &str,
    bytes: impl Read,
    timezone: Option<&TimeZone>,
    limits: &Limits,
    take: &mut dyn FnMut(Track),
) -> Result<Vec<Warning>, TrackError> {
    let refused = |what: String| TrackError::Refused { file: name.to_owned(), what };
    let mut held = Vec::new();
    if let Err(e) = bytes.take(limits.held + 1).read_to_end(&mut held) {
        return Err(refused(format!("the zip file cannot be read ({e})")));
    }
    if held.len() as u64 > limits.held {
        return Err(refused(format!("the zip file is larger than {} MB; unpack it first", limits.held >> 20)));
    }
    let mut archive =
        zip::ZipArchive::new(Cursor::new(held)).map_err(|e| refused(format!("the zip file is damaged ({e}); pack it again")))?;
    let (mut warnings, mut tracks, mut left) = (Vec::new(), 0_usize, limits.bytes);
    let mut asked = None;
    for i in 0..archive.len() {
        if i >= limits.tracks {
            warnings.push(Warning::new(name, format!("more than {} files in it: the rest is left out", limits.tracks)));
            break;
        }
        let entry = match archive.by_index(i) {
            Ok(entry) => entry,
            Err(e) => {
                warnings.push(Warning::new(name, format!("file {} in it cannot be unpacked ({e}): left out", i + 1)));
                continue;
            }
        };
        let inside: String = entry.name().chars().filter(|c| !c.is_control()).take(120).collect();
        // What some systems add to every zip is nobody's track.
        let base = inside.rsplit('/').next().unwrap_or_default();
        if entry.is_dir() || inside.starts_with("__MACOSX/") || base.starts_with('.') {
            continue;
        }
        let packed = Cell::new(entry.compressed_size());
        let spent = Cell::new(0);
        let ratio = Ratio { inner: entry, given: 0, packed: &packed, ratio: limits.ratio };
        let mut unpacked: Box<dyn Read + '_> = Box::new(Counted { inner: Most::of(ratio, left), count: &spent });
        let begin = head(&mut unpacked);
        let full = format!("{name}: {inside}");
        let whole = Cursor::new(begin.clone()).chain(unpacked);
        let mut counted = |track| {
            tracks += 1;
            take(track);
        };
        let answer = if begin.starts_with(&GZIP) {
            gzip(&full, whole, timezone, limits, &mut counted)
        } else {
            plain(&full, Box::new(whole), timezone, limits, &mut counted)
        };
        match answer {
            Ok(more) => warnings.extend(more),
            Err(e) => {
                warnings.push(Warning::new("", e.to_string()));
                if matches!(e, TrackError::NeedsTimezone { .. }) {
                    asked.get_or_insert(e);
                }
            }
        }
        left = left.saturating_sub(spent.get());
        if left == 0 {
            warnings.push(Warning::new(name, format!("it unpacks to more than {} MB: the rest is left out", limits.bytes >> 20)));
            break;
        }
    }
    match asked {
        Some(e) if tracks == 0 => Err(e),
        _ => {
            if tracks == 0 && warnings.is_empty() {
                warnings.push(Warning::new(name, "the zip file holds no track"));
            }
            Ok(warnings)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Found by a fuzzer: a zip may say that an entry has all the bytes there can be.
    #[test]
    fn a_size_without_end_is_no_overflow() {
        let packed = Cell::new(u64::MAX);
        let mut out = Vec::new();
        let mut ratio = Ratio { inner: &b"track"[..], given: 0, packed: &packed, ratio: 200 };
        assert!(ratio.read_to_end(&mut out).is_ok_and(|n| n == 5));
    }
}
