//! XML as a walk over elements, for GPX, KML and TCX. Source: XML 1.0, fifth edition.
//!
//! Our own scanner, as reading tracks is mostly this and a general reader cost half of it: text is handed on in place, without
//! copies. Entities of the file's own are never resolved: only the five of section 4.6 and character references are. Depth and the
//! size of one element are bounded. A document that breaks off or is not well formed is read as far as it goes.

use super::points::Points;
use super::text::Utf8;
use std::io::{self, Read};

/// What a format makes of its elements. Names come without their prefix.
pub(super) trait Document {
    /// An element begins; its attributes are as written, see [`attributes`].
    fn start(&mut self, name: &str, attributes: &str, points: &mut Points<'_>);
    /// An element ends; `text` is what was written since the last begin or end.
    fn end(&mut self, name: &str, text: &str, points: &mut Points<'_>);
}

/// What is said of a file that ends before its last element does.
const BROKEN_OFF: &str = "the file breaks off in the middle: what comes before is kept";

/// Walks a document to its end, or as far as it can be read.
pub(super) fn walk(bytes: Utf8<impl Read>, document: &mut impl Document, points: &mut Points<'_>) {
    let mut scanner = Scanner { source: bytes, held: String::new(), at: 0, before: 0, ended: false };
    // Text that was cut by comments, CDATA or references; mostly empty, as text is taken in place.
    let mut text = String::new();
    let mut open = Open::default();
    while !points.full() {
        let (piece, markup) = match scanner.token(points.limits.element) {
            Ok(Some(token)) => token,
            Ok(None) => {
                if open.depth() > 0 || !scanner.held[scanner.at..].trim().is_empty() {
                    points.note(BROKEN_OFF);
                }
                return;
            }
            Err(e) => return points.note(format!("cannot be read on ({e}): what comes before is kept")),
        };
        let end = markup.end;
        let (piece, tag) = (&scanner.held[piece], &scanner.held[markup.start + 1..end - 1]);
        if let Some(name) = tag.strip_prefix('/') {
            let name = name.trim_end();
            if !open.close(name) {
                let near = scanner.before + markup.start;
                return points.note(format!("not well formed near byte {near} (an end that fits no begin): what comes before is kept"));
            }
            if text.is_empty() && find(piece, b'&').is_none() {
                document.end(local(name), piece, points);
            } else {
                add(&mut text, piece, points);
                document.end(local(name), &text, points);
            }
            text.clear();
        } else if let Some(rest) = tag.strip_prefix('!') {
            add(&mut text, piece, points);
            if let Some(data) = rest.strip_prefix("[CDATA[") {
                text.push_str(data.strip_suffix("]]").unwrap_or(data));
            } else if rest.contains("<!ENTITY") {
                points.note("it declares entities, which no track needs: none is resolved");
            }
        } else if tag.starts_with('?') {
            add(&mut text, piece, points);
        } else {
            let (tag, empty) = tag.strip_suffix('/').map_or((tag, false), |tag| (tag, true));
            let split = tag.bytes().position(|c| c.is_ascii_whitespace()).unwrap_or(tag.len());
            let (name, attributes) = tag.split_at(split);
            if name.is_empty() || name.bytes().any(|c| matches!(c, b'<' | b'&' | b'"')) {
                let near = scanner.before + markup.start;
                return points.note(format!("not well formed near byte {near} (no element's name): what comes before is kept"));
            }
            text.clear();
            document.start(local(name), attributes, points);
            if empty {
                document.end(local(name), "", points);
            } else {
                open.begin(name);
                if open.depth() > points.limits.depth {
                    return points.note(format!("elements nested more than {} deep: read no further", points.limits.depth));
                }
            }
        }
        scanner.at = end;
    }
}

/// A name without its prefix.
fn local(name: &str) -> &str {
    name.bytes().rposition(|c| c == b':').map_or(name, |at| &name[at + 1..])
}

/// Where an ASCII character comes first. Pieces are of some dozen bytes: a search that gathers way costs more than it saves.
fn find(text: &str, character: u8) -> Option<usize> {
    text.bytes().position(|c| c == character)
}

/// Names and values of an element's attributes, values as written.
pub(super) fn attributes(written: &str) -> impl Iterator<Item = (&str, &str)> {
    let mut rest = written;
    core::iter::from_fn(move || {
        let equals = find(rest, b'=')?;
        let (name, after) = (&rest[..equals], rest[equals + 1..].trim_start());
        let quote = after.bytes().next().filter(|c| matches!(c, b'"' | b'\''))?;
        let end = find(&after[1..], quote)?;
        rest = &after[end + 2..];
        Some((name.trim(), &after[1..=end]))
    })
}

/// Adds text with its references resolved.
fn add(text: &mut String, piece: &str, points: &mut Points<'_>) {
    let mut rest = piece;
    while let Some(at) = rest.find('&') {
        text.push_str(&rest[..at]);
        let Some(end) = rest[at..].find(';').filter(|n| *n < 12) else {
            text.push('&');
            rest = &rest[at + 1..];
            continue;
        };
        let name = &rest[at + 1..at + end];
        rest = &rest[at + end + 1..];
        let number =
            name.strip_prefix('#').map(|n| n.strip_prefix('x').map_or_else(|| n.parse().ok(), |hex| u32::from_str_radix(hex, 16).ok()));
        match (name, number) {
            ("amp", _) => text.push('&'),
            ("lt", _) => text.push('<'),
            ("gt", _) => text.push('>'),
            ("quot", _) => text.push('"'),
            ("apos", _) => text.push('\''),
            (_, Some(code)) => text.extend(code.and_then(char::from_u32)),
            _ => points.note("it uses entities, which are never resolved: left out"),
        }
    }
    text.push_str(rest);
}

/// The elements begun and not ended, their names in one string.
#[derive(Debug, Default)]
struct Open {
    names: String,
    starts: Vec<usize>,
}

impl Open {
    fn depth(&self) -> usize {
        self.starts.len()
    }
    fn begin(&mut self, name: &str) {
        self.starts.push(self.names.len());
        self.names.push_str(name);
    }
    /// Ends the innermost element; whether the name is its own.
    fn close(&mut self, name: &str) -> bool {
        let Some(start) = self.starts.pop() else { return false };
        let own = &self.names[start..] == name;
        self.names.truncate(start);
        own
    }
}

/// The stretch of the document at hand.
struct Scanner<R> {
    source: Utf8<R>,
    held: String,
    /// Everything before has been handed on.
    at: usize,
    /// Bytes that went by before the stretch.
    before: usize,
    ended: bool,
}

type Span = core::ops::Range<usize>;

impl<R: Read> Scanner<R> {
    /// The text before the next markup, and the markup with its brackets; none at the end.
    fn token(&mut self, limit: usize) -> io::Result<Option<(Span, Span)>> {
        loop {
            if let Some(start) = find(&self.held[self.at..], b'<').map(|n| self.at + n)
                && let Some(end) = markup(&self.held[start..]).map(|n| start + n)
            {
                return Ok(Some((self.at..start, start..end)));
            }
            if self.ended {
                return Ok(None);
            }
            if self.held.len() - self.at > limit {
                return Err(io::Error::other(format!("one element is longer than {limit} bytes")));
            }
            self.held.drain(..self.at);
            self.before += self.at;
            self.at = 0;
            self.ended = !self.source.append(&mut self.held)?;
        }
    }
}

/// The length of the markup at the start of a text, if it is whole.
fn markup(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    match bytes.get(1)? {
        b'/' => Some(find(text, b'>')? + 1),
        b'?' => Some(text.find("?>")? + 2),
        b'!' => {
            // What kind it is must be there whole before it is told.
            if bytes.len() < 9 {
                None
            } else if let Some(comment) = text.strip_prefix("<!--") {
                Some(comment.find("-->")? + 7)
            } else if text.starts_with("<![CDATA[") {
                Some(text.find("]]>")? + 3)
            } else {
                declaration(bytes)
            }
        }
        _ => {
            let mut quote = 0;
            for (i, &byte) in bytes.iter().enumerate().skip(1) {
                match byte {
                    b'>' if quote == 0 => return Some(i + 1),
                    b'"' | b'\'' if quote == 0 => quote = byte,
                    _ if byte == quote => quote = 0,
                    _ => {}
                }
            }
            None
        }
    }
}

/// The length of a declaration: brackets and quotes within it hold other ends.
fn declaration(bytes: &[u8]) -> Option<usize> {
    let (mut quote, mut depth) = (0, 0_usize);
    for (i, &byte) in bytes.iter().enumerate().skip(1) {
        match byte {
            _ if quote != 0 => quote = if byte == quote { 0 } else { quote },
            b'"' | b'\'' => quote = byte,
            b'[' => depth += 1,
            b']' => depth = depth.saturating_sub(1),
            b'>' if depth == 0 => return Some(i + 1),
            _ => {}
        }
    }
    None
}

/// The local name of a document's first element, if the sample reaches that far.
pub(super) fn root(sample: &str) -> Option<&str> {
    let mut rest = sample;
    loop {
        rest = &rest[rest.find('<')?..];
        let length = markup(rest)?;
        if !rest.starts_with("<!") && !rest.starts_with("<?") {
            let name = &rest[1..length - 1];
            return Some(local(&name[..name.find(|c: char| c.is_whitespace() || c == '/').unwrap_or(name.len())]));
        }
        rest = &rest[length..];
    }
}
