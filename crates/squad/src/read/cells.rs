//! From text to cells with their lines, the same for TOML and CSV.

use std::ops::Range;

use toml::de::{DeTable, DeValue};

use super::{Cell, Row};
use crate::error::Fault;

/// Whether a text is TOML: its first line of substance opens a table or sets a key.
pub(super) fn looks_like_toml(text: &str) -> bool {
    let line = text.lines().map(str::trim).find(|line| !line.is_empty() && !line.starts_with('#')).unwrap_or_default();
    let key = line.split_once('=').map(|(key, _)| key.trim());
    line.starts_with('[') || key.is_some_and(|key| !key.is_empty() && !key.contains([',', ';', '\t']))
}

/// The rows of a TOML file: every table of every array at the top.
pub(super) fn toml(text: &str) -> Result<Vec<Row>, Fault> {
    let line_at = |at: usize| 1 + text.bytes().take(at).filter(|&b| b == b'\n').count();
    let line = |span: Range<usize>| line_at(span.start);
    let document = DeTable::parse(text).map_err(|error| {
        let what = error.message().lines().next().unwrap_or("it does not read as TOML").to_owned();
        Fault { line: error.span().map_or(1, line), what: format!("{what}; each sailor is a table that begins with [[sailor]]") }
    })?;
    let mut rows = Vec::new();
    for (key, value) in document.get_ref() {
        let here = line(key.span());
        let refused = || Fault {
            line: here,
            what: format!("\"{}\" is no sailor: each sailor is a table that begins with [[sailor]]", shown(key.get_ref())),
        };
        let DeValue::Array(tables) = value.get_ref() else { return Err(refused()) };
        for table in tables {
            let DeValue::Table(table) = table.get_ref() else { return Err(refused()) };
            let mut row = Row { line: table.keys().next().map_or(here, |key| line(key.span())), cells: Vec::new() };
            flatten("", table, &line, &mut row)?;
            rows.push(row);
        }
    }
    Ok(rows)
}

/// The cells of a table; those of a table within it are named with a dot.
fn flatten(before: &str, table: &DeTable<'_>, line: &impl Fn(Range<usize>) -> usize, row: &mut Row) -> Result<(), Fault> {
    for (key, value) in table {
        let name = format!("{before}{}", key.get_ref());
        let here = line(key.span());
        let text = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.to_string(),
            DeValue::Boolean(on) => on.to_string(),
            DeValue::Table(inner) if before.is_empty() => {
                flatten(&format!("{name}."), inner, line, row)?;
                continue;
            }
            _ => return Err(Fault { line: here, what: format!("\"{}\" must be a text or a number", shown(&name)) }),
        };
        push(row, &name, &text, here);
    }
    Ok(())
}

/// The rows of a CSV file; the delimiter is the one its first line has most of.
pub(super) fn csv(text: &str) -> Result<Vec<Row>, Fault> {
    let head = text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#')).unwrap_or_default();
    let count = |delimiter: u8| head.bytes().filter(|&b| b == delimiter).count();
    let delimiter = [b',', b';', b'\t'].into_iter().max_by_key(|&d| (count(d), d == b',')).unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter).comment(Some(b'#')).trim(csv::Trim::All).flexible(true).from_reader(text.as_bytes());
    let unreadable = |error: csv::Error| Fault {
        line: error.position().map_or(1, line_of),
        what: "it does not read as CSV: check the quotes".to_owned(),
    };
    let names = reader.headers().map_err(unreadable)?.clone();
    if names.iter().all(str::is_empty) {
        return Ok(Vec::new());
    }
    if !names.iter().any(|name| name == "sailor") {
        let line = names.position().map_or(1, line_of);
        let what = "the first line must name the columns: sailor, boat, mass and what else is known".to_owned();
        return Err(Fault { line, what });
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(unreadable)?;
        let line = record.position().map_or(1, line_of);
        if let Some(extra) = record.iter().skip(names.len()).find(|text| !text.is_empty()) {
            let what = format!("there are more cells than columns (\"{}\"): put quotes around a decimal comma", shown(extra));
            return Err(Fault { line, what });
        }
        let mut row = Row { line, cells: Vec::new() };
        for (name, text) in names.iter().zip(&record) {
            push(&mut row, name, text, line);
        }
        if !row.cells.is_empty() {
            rows.push(row);
        }
    }
    Ok(rows)
}

/// Adds a cell unless it is blank.
fn push(row: &mut Row, name: &str, text: &str, line: usize) {
    let text = text.trim();
    if !text.is_empty() {
        row.cells.push(Cell { name: name.to_owned(), text: text.to_owned(), line });
    }
}

fn line_of(position: &csv::Position) -> usize {
    usize::try_from(position.line()).unwrap_or(usize::MAX)
}

/// A few letters of what was found, for a message.
pub(super) fn shown(text: &str) -> String {
    let short: String = text.chars().take(30).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}
