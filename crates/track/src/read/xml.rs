//! XML as a walk over elements, for GPX, KML and TCX.
//!
//! Entities of the file's own are never resolved: only the five of XML 1.0 (section 4.6) and character references are. Depth
//! and the size of one element are bounded. A document that breaks off or is not well formed is read as far as it goes.

use super::points::Points;
use quick_xml::Reader;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};
use std::io::{self, BufRead, Read};

/// What a format makes of its elements. Names come without their prefix.
pub(super) trait Document {
    /// An element begins.
    fn start(&mut self, name: &str, element: &BytesStart<'_>, points: &mut Points<'_>);
    /// An element ends; `text` is what was written since the last begin or end.
    fn end(&mut self, name: &str, text: &str, points: &mut Points<'_>);
}

/// What is said of a file that ends before its last element does.
const BROKEN_OFF: &str = "the file breaks off in the middle: what comes before is kept";

/// Walks a document to its end, or as far as it can be read.
pub(super) fn walk(bytes: impl BufRead, document: &mut impl Document, points: &mut Points<'_>) {
    let limit = points.limits.element as u64;
    let mut reader = Reader::from_reader(Bounded { inner: bytes, since: 0, limit });
    reader.config_mut().expand_empty_elements = true;
    reader.config_mut().allow_dangling_amp = true;
    let (mut buffer, mut text, mut depth) = (Vec::new(), String::new(), 0_usize);
    while !points.full() {
        buffer.clear();
        reader.get_mut().since = 0;
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(element)) => {
                depth += 1;
                if depth > points.limits.depth {
                    points.note(format!("elements nested more than {} deep: read no further", points.limits.depth));
                    return;
                }
                text.clear();
                document.start(element.local_name().as_ref(), &element, points);
            }
            Ok(Event::End(element)) => {
                depth = depth.saturating_sub(1);
                document.end(element.local_name().as_ref(), &text, points);
                text.clear();
            }
            Ok(Event::Text(piece)) => add(&mut text, &piece, limit),
            Ok(Event::CData(piece)) => add(&mut text, &piece, limit),
            Ok(Event::GeneralRef(name)) => match (name.resolve_char_ref(), resolve_predefined_entity(&name)) {
                (Ok(Some(character)), _) => text.push(character),
                (_, Some(known)) => text.push_str(known),
                _ => points.note("it uses entities, which are never resolved: left out"),
            },
            Ok(Event::DocType(declaration)) => {
                if declaration.contains("<!ENTITY") {
                    points.note("it declares entities, which no track needs: none is resolved");
                }
            }
            Ok(Event::Eof) => {
                if depth > 0 {
                    points.note(BROKEN_OFF);
                }
                return;
            }
            Ok(_) => {}
            Err(quick_xml::Error::Io(e)) => {
                points.note(format!("cannot be read on ({e}): what comes before is kept"));
                return;
            }
            Err(quick_xml::Error::Syntax(_)) => {
                points.note(BROKEN_OFF);
                return;
            }
            Err(e) => {
                points.note(format!("not well formed near byte {} ({e}): what comes before is kept", reader.error_position()));
                return;
            }
        }
    }
}

fn add(text: &mut String, piece: &str, limit: u64) {
    if (text.len() + piece.len()) as u64 <= limit {
        text.push_str(piece);
    }
}

/// A reader that stops when one element grows past its limit.
struct Bounded<R> {
    inner: R,
    since: u64,
    limit: u64,
}

impl<R: BufRead> Read for Bounded<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        self.inner.read(out)
    }
}

impl<R: BufRead> BufRead for Bounded<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.since > self.limit {
            return Err(io::Error::other(format!("one element is longer than {} bytes", self.limit)));
        }
        self.inner.fill_buf()
    }
    fn consume(&mut self, n: usize) {
        self.since += n as u64;
        self.inner.consume(n);
    }
}

/// The local name of a document's first element, if the sample reaches that far.
pub(super) fn root(sample: &str) -> Option<&str> {
    let mut rest = sample;
    loop {
        rest = &rest[rest.find('<')?..];
        rest = if rest.starts_with("<!--") {
            &rest[rest.find("-->")? + 3..]
        } else if rest.starts_with("<?") {
            &rest[rest.find("?>")? + 2..]
        } else if rest.starts_with("<!") {
            let close = match (rest.find('['), rest.find('>')?) {
                (Some(open), end) if open < end => rest.find("]>").or_else(|| rest.find("] >"))? + 2,
                (_, end) => end + 1,
            };
            rest.get(close..)?
        } else {
            let name = &rest[1..];
            let name = &name[..name.find(|c: char| c.is_whitespace() || c == '>' || c == '/')?];
            return Some(name.rsplit(':').next().unwrap_or(name));
        };
    }
}
