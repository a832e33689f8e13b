//! FIT, as watches write it. Source: the published FIT protocol (header, definition and data records, CRC) and global profile:
//! record message 20 with timestamp 253, position 0 and 1, speed 6, enhanced speed 73. Speed comes without course.
//!
//! Read here and not by a library: five fields are needed, what comes before a cut must be kept, and no content may stop us.

use super::Most;
use super::points::{Dropped, Found, Points};
use super::time::Stamp;
use std::io::Read;

/// FIT's zero: 1989-12-31T00:00:00Z as UTC seconds. Source: FIT protocol, date_time.
const EPOCH: f64 = 631_065_600.0;
/// Below this a date_time counts from the device's start. Source: FIT profile, date_time min.
const ABSOLUTE: u32 = 0x1000_0000;
/// Degrees of one semicircle step.
const STEP: f64 = 180.0 / 2_147_483_648.0;

/// Whether a file begins as FIT.
pub(super) fn looks(head: &[u8]) -> bool {
    head.get(8..12) == Some(b".FIT") && matches!(head[0], 12 | 14)
}

pub(super) fn read(bytes: impl Read, points: &mut Points<'_>) {
    points.format("FIT");
    let mut held = Vec::new();
    if let Err(e) = Most::of(bytes, points.limits.held).read_to_end(&mut held) {
        points.note(format!("cannot be read on ({e}): what comes before is kept"));
    }
    // Files may follow each other in one.
    let mut rest = held.as_slice();
    while looks(rest) && !points.full() {
        let header = usize::from(rest[0]);
        let size = u32::from_le_bytes([rest[4], rest[5], rest[6], rest[7]]) as usize;
        let Some(body) = rest.get(header..) else { break };
        let whole = if size == 0 {
            points.note("its header gives no size, as when recording was not closed: read to the end");
            body.len().saturating_sub(2)
        } else if size + 2 > body.len() {
            points.note("the file breaks off in the middle: what comes before is kept");
            size.min(body.len())
        } else {
            let end = header + size;
            if crc(&rest[..end]) != u16::from_le_bytes([rest[end], rest[end + 1]]) {
                points.note("its checksum does not fit, so that parts may be damaged: read all the same");
            }
            size
        };
        records(&body[..whole], points);
        points.end();
        rest = body.get(whole + 2..).unwrap_or_default();
    }
}

/// What a local message type holds.
#[derive(Debug, Clone, Default)]
struct Definition {
    record: bool,
    big: bool,
    /// Number and size of each field, in order.
    fields: Vec<(u8, usize)>,
    size: usize,
}

/// Reads the records of one file.
fn records(body: &[u8], points: &mut Points<'_>) {
    let mut definitions: [Option<Definition>; 16] = Default::default();
    let mut clock: Option<u32> = None;
    let mut at = 0;
    while let Some(&header) = body.get(at) {
        if points.full() {
            return;
        }
        at += 1;
        if header & 0xC0 == 0x40 {
            let Some((definition, used)) = define(&body[at..], header & 0x20 != 0) else {
                points.note("a definition in it is cut or damaged: read no further");
                return;
            };
            definitions[usize::from(header & 0x0F)] = Some(definition);
            at += used;
            continue;
        }
        let (local, offset) = if header & 0x80 != 0 { ((header >> 5) & 3, Some(u32::from(header & 0x1F))) } else { (header & 0x0F, None) };
        let Some(definition) = &definitions[usize::from(local)] else {
            points.note("a record in it has no definition: read no further");
            return;
        };
        let Some(data) = body.get(at..at + definition.size) else { return };
        at += definition.size;
        if let (Some(offset), Some(last)) = (offset, clock) {
            // The low five bits of the clock, which only goes on.
            clock = Some(last.wrapping_add(offset.wrapping_sub(last & 0x1F) & 0x1F));
        }
        message(definition, data, &mut clock, points);
    }
}

/// A definition and its length in bytes.
fn define(body: &[u8], developer: bool) -> Option<(Definition, usize)> {
    let big = *body.get(1)? == 1;
    let global = [*body.get(2)?, *body.get(3)?];
    let global = if big { u16::from_be_bytes(global) } else { u16::from_le_bytes(global) };
    let count = usize::from(*body.get(4)?);
    let mut used = 5 + 3 * count;
    let fields: Vec<(u8, usize)> = body.get(5..used)?.chunks_exact(3).map(|f| (f[0], usize::from(f[1]))).collect();
    let mut size = fields.iter().map(|f| f.1).sum();
    if developer {
        let count = usize::from(*body.get(used)?);
        let own = body.get(used + 1..used + 1 + 3 * count)?;
        size += own.chunks_exact(3).map(|f| usize::from(f[1])).sum::<usize>();
        used += 1 + 3 * count;
    }
    Some((Definition { record: global == 20, big, fields, size }, used))
}

/// Takes the point out of a record message, and the clock out of any.
fn message(definition: &Definition, data: &[u8], clock: &mut Option<u32>, points: &mut Points<'_>) {
    let mut found = Found::default();
    let mut at = 0;
    for &(number, size) in &definition.fields {
        let raw = data.get(at..at + size).unwrap_or_default();
        at += size;
        let word = <[u8; 4]>::try_from(raw).ok().map(|w| if definition.big { u32::from_be_bytes(w) } else { u32::from_le_bytes(w) });
        match (number, word) {
            (253, Some(value)) if value != u32::MAX => *clock = Some(value),
            // 0x7FFFFFFF is FIT's word for "not there".
            (0, Some(value)) if value != 0x7FFF_FFFF => found.latitude = Some(f64::from(value.cast_signed()) * STEP),
            (1, Some(value)) if value != 0x7FFF_FFFF => found.longitude = Some(f64::from(value.cast_signed()) * STEP),
            (73, Some(value)) if value != u32::MAX => found.speed = Some(f64::from(value) / 1000.0),
            (6, None) if found.speed.is_none() => {
                if let Ok(half) = <[u8; 2]>::try_from(raw) {
                    let value = if definition.big { u16::from_be_bytes(half) } else { u16::from_le_bytes(half) };
                    found.speed = (value != u16::MAX).then(|| f64::from(value) / 1000.0);
                }
            }
            _ => {}
        }
    }
    if !definition.record {
        return;
    }
    if found.latitude.is_none() && found.longitude.is_none() {
        return points.drop(Dropped::Place);
    }
    found.time = clock.map(|c| if c >= ABSOLUTE { Stamp::Utc(EPOCH + f64::from(c)) } else { Stamp::Unreadable });
    points.push(found);
}

/// The protocol's CRC-16, by its table of nibbles.
fn crc(bytes: &[u8]) -> u16 {
    const TABLE: [u16; 16] =
        [0x0000, 0xCC01, 0xD801, 0x1400, 0xF001, 0x3C00, 0x2800, 0xE401, 0xA001, 0x6C00, 0x7800, 0xB401, 0x5000, 0x9C01, 0x8801, 0x4400];
    bytes.iter().fold(0, |crc: u16, byte| {
        let low = (crc >> 4) ^ TABLE[usize::from(crc & 0xF)] ^ TABLE[usize::from(byte & 0xF)];
        (low >> 4) ^ TABLE[usize::from(low & 0xF)] ^ TABLE[usize::from(byte >> 4)]
    })
}
