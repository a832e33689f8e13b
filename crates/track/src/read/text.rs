//! Bytes of any common encoding to UTF-8, as they stream by.
//!
//! UTF-16 is told by its byte order mark or by its zero bytes, Latin-1 by the XML declaration; what is not UTF-8 after all becomes
//! the replacement character, so that no reader meets broken text.

use super::points::{Dropped, Points};
use std::io::{self, BufRead, Read};

/// How a file writes its characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    /// UTF-8, or plain ASCII.
    Utf8,
    /// UTF-16, low byte first.
    Utf16Low,
    /// UTF-16, high byte first.
    Utf16High,
    /// ISO 8859-1.
    Latin1,
}

/// The encoding a file's first bytes tell of.
pub(super) fn encoding(head: &[u8]) -> Encoding {
    match head {
        [0xFF, 0xFE, ..] | [b'<' | b'{' | b'$', 0, _, 0, ..] => Encoding::Utf16Low,
        [0xFE, 0xFF, ..] | [0, b'<' | b'{' | b'$', 0, _, ..] => Encoding::Utf16High,
        _ => {
            let first = String::from_utf8_lossy(&head[..head.len().min(200)]).to_ascii_lowercase();
            let declared = first.find("encoding=").and_then(|at| first.get(at + 10..)).unwrap_or_default();
            if declared.starts_with("iso-8859-1") || declared.starts_with("windows-1252") || declared.starts_with("latin1") {
                Encoding::Latin1
            } else {
                Encoding::Utf8
            }
        }
    }
}

/// The first characters of a file, without a byte order mark.
pub(super) fn sample(head: &[u8], encoding: Encoding) -> String {
    let mut text = String::new();
    let _ = Utf8::new(head, encoding).take(1 << 15).read_to_string(&mut text);
    text
}

/// Whether a sample reads like text that a person or a program writes in lines.
pub(super) fn printable(sample: &str) -> bool {
    let odd = sample.chars().filter(|c| *c == char::REPLACEMENT_CHARACTER || (c.is_control() && !c.is_whitespace())).count();
    odd * 100 <= sample.chars().count()
}

/// A stream of valid UTF-8 without byte order mark.
pub(super) struct Utf8<R> {
    inner: R,
    encoding: Encoding,
    /// Bytes read and not yet turned, at most a character's worth carried over.
    raw: Vec<u8>,
    /// Text turned and not yet handed on.
    ready: String,
    at: usize,
    begun: bool,
    ended: bool,
}

/// Bytes turned at a time.
const CHUNK: usize = 1 << 16;

impl<R: Read> Utf8<R> {
    pub(super) fn new(inner: R, encoding: Encoding) -> Self {
        Self { inner, encoding, raw: Vec::new(), ready: String::new(), at: 0, begun: false, ended: false }
    }
    /// Adds the next characters to a text; false at the end of the file.
    pub(super) fn append(&mut self, text: &mut String) -> io::Result<bool> {
        let held = self.raw.len();
        self.raw.resize(held + CHUNK, 0);
        let got = loop {
            match self.inner.read(&mut self.raw[held..]) {
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                other => break other,
            }
        };
        self.raw.truncate(held + *got.as_ref().unwrap_or(&0));
        self.ended = got? == 0;
        let before = text.len();
        let used = match self.encoding {
            Encoding::Utf8 => utf8(&self.raw, text, self.ended),
            Encoding::Latin1 => {
                text.extend(self.raw.iter().copied().map(char::from));
                self.raw.len()
            }
            Encoding::Utf16Low => utf16(&self.raw, text, self.ended, u16::from_le_bytes),
            Encoding::Utf16High => utf16(&self.raw, text, self.ended, u16::from_be_bytes),
        };
        self.raw.drain(..used);
        if !self.begun && text.len() > before {
            self.begun = true;
            if text[before..].starts_with('\u{FEFF}') {
                text.drain(before..before + 3);
            }
        }
        Ok(!self.ended || text.len() > before)
    }
}

impl<R: Read> Read for Utf8<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        while self.at == self.ready.len() && !self.ended {
            let mut ready = core::mem::take(&mut self.ready);
            ready.clear();
            self.at = 0;
            let outcome = self.append(&mut ready);
            self.ready = ready;
            outcome?;
        }
        let n = out.len().min(self.ready.len() - self.at);
        out[..n].copy_from_slice(&self.ready.as_bytes()[self.at..self.at + n]);
        self.at += n;
        Ok(n)
    }
}

/// Copies what is UTF-8 and replaces what is not; answers how many bytes were used.
fn utf8(raw: &[u8], text: &mut String, last: bool) -> usize {
    let mut used = 0;
    loop {
        match std::str::from_utf8(&raw[used..]) {
            Ok(rest) => {
                text.push_str(rest);
                return raw.len();
            }
            Err(e) => {
                text.push_str(std::str::from_utf8(&raw[used..used + e.valid_up_to()]).unwrap_or_default());
                used += e.valid_up_to();
                match e.error_len() {
                    Some(n) => used += n,
                    None if last => used = raw.len(),
                    None => return used,
                }
                text.push(char::REPLACEMENT_CHARACTER);
            }
        }
    }
}

/// Turns UTF-16; answers how many bytes were used.
fn utf16(raw: &[u8], text: &mut String, last: bool, unit: fn([u8; 2]) -> u16) -> usize {
    let units: Vec<u16> = raw.chunks_exact(2).map(|pair| unit([pair[0], pair[1]])).collect();
    // The first half of a pair waits for its second.
    let whole = match units.last() {
        Some(0xD800..=0xDBFF) if !last => units.len() - 1,
        _ => units.len(),
    };
    text.extend(char::decode_utf16(units[..whole].iter().copied()).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)));
    if last { raw.len() } else { whole * 2 }
}

/// Lines longer than this are no sentence and no record. NMEA 0183 allows 82 characters, IGC 76.
const LINE: u64 = 4096;

/// The next line without its end; false at the end of the file. What cannot be read on is noted, a line too long is dropped.
pub(super) fn line(bytes: &mut impl BufRead, text: &mut String, points: &mut Points<'_>) -> bool {
    text.clear();
    match bytes.by_ref().take(LINE).read_line(text) {
        Ok(0) => false,
        Ok(_) => {
            if !text.ends_with('\n') && text.len() as u64 == LINE {
                points.drop(Dropped::Line);
                text.clear();
                return skip(bytes);
            }
            text.truncate(text.trim_end_matches(['\r', '\n']).len());
            true
        }
        // A character cut at the limit is the only thing here that is not UTF-8.
        Err(e) if e.kind() == io::ErrorKind::InvalidData => {
            points.drop(Dropped::Line);
            text.clear();
            skip(bytes)
        }
        Err(e) => {
            points.note(format!("cannot be read on ({e}): what comes before is kept"));
            false
        }
    }
}

/// Goes past the end of the line at hand; false at the end of the file.
fn skip(bytes: &mut impl BufRead) -> bool {
    loop {
        let Ok(held) = bytes.fill_buf() else { return false };
        if held.is_empty() {
            return false;
        }
        match held.iter().position(|b| *b == b'\n') {
            Some(at) => {
                bytes.consume(at + 1);
                return true;
            }
            None => {
                let n = held.len();
                bytes.consume(n);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(bytes: &[u8], encoding: Encoding) -> String {
        let mut text = String::new();
        Utf8::new(bytes, encoding).read_to_string(&mut text).unwrap();
        text
    }

    #[test]
    fn encodings() {
        let text = "naïve 𝄞 boat";
        assert_eq!(turned(&[&[0xEF, 0xBB, 0xBF], text.as_bytes()].concat(), Encoding::Utf8), text);
        let low: Vec<u8> = [0xFEFF].into_iter().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect();
        assert_eq!(turned(&low, encoding(&low)), text);
        let high: Vec<u8> = [0xFEFF].into_iter().chain(text.encode_utf16()).flat_map(u16::to_be_bytes).collect();
        assert_eq!(turned(&high, encoding(&high)), text);
        assert_eq!(turned(&[b'n', 0xEF, b'f'], Encoding::Latin1), "nïf");
        assert_eq!(turned(&[b'n', 0xEF], Encoding::Utf8), "n\u{FFFD}");
    }
}
