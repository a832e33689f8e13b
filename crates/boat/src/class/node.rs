//! A table of a class file with its place: every value is asked for by its key, and every fault names file, line and key.

use measure::quantity::{OutOfRange, Range, plain};
use thiserror::Error;
use toml_edit::{Item, TableLike, Value};

/// What is wrong with a class file: where, what was found, what would do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{file}, line {line}, {key}: {what}")]
pub struct ClassError {
    /// File.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Key with its tables.
    pub key: String,
    /// What was found and what would do.
    pub what: String,
}

/// A table and where it stands.
#[derive(Clone)]
pub(super) struct Node<'a> {
    file: &'a str,
    text: &'a str,
    path: String,
    table: &'a dyn TableLike,
    line: usize,
}

fn line_of(text: &str, at: usize) -> usize {
    text.bytes().take(at).filter(|b| *b == b'\n').count() + 1
}

/// A value as the file has it, shortened.
fn shown(item: &Item) -> String {
    let text = item.to_string();
    let text = text.trim();
    let short: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}

impl<'a> Node<'a> {
    /// The whole file.
    pub(super) fn root(file: &'a str, text: &'a str, table: &'a dyn TableLike) -> Self {
        Self { file, text, path: String::new(), table, line: 1 }
    }

    /// A fault of the text as a whole.
    pub(super) fn unreadable(file: &str, text: &str, error: &toml_edit::TomlError) -> ClassError {
        let line = error.span().map_or(1, |s| line_of(text, s.start));
        let what = format!("this is not written as a class file is: {}", error.message().replace('\n', "; "));
        ClassError { file: file.to_owned(), line, key: "(file)".to_owned(), what }
    }

    fn key(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// A fault at a key, or at the table when the key is not there.
    pub(super) fn fault(&self, key: &str, what: impl Into<String>) -> ClassError {
        let place = self.table.key(key).and_then(toml_edit::Key::span).or_else(|| self.table.get(key).and_then(Item::span));
        let line = place.map_or(self.line, |s| line_of(self.text, s.start));
        ClassError { file: self.file.to_owned(), line, key: self.key(key), what: what.into() }
    }

    /// Refuses keys that mean nothing here.
    pub(super) fn only(&self, known: &[&str]) -> Result<(), ClassError> {
        for (key, _) in self.table.iter() {
            if !known.contains(&key) {
                let near = known.iter().min_by_key(|k| crate::gauge::distance(key, k)).copied().unwrap_or("nothing");
                let short: String = key.chars().filter(|c| !c.is_control()).take(40).collect();
                return Err(ClassError {
                    key: self.key(&short),
                    ..self.fault(key, format!("means nothing here; did you mean \"{near}\"?"))
                });
            }
        }
        Ok(())
    }

    /// Whether a key is there.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    fn found(&self, key: &str, example: &str) -> Result<&'a Item, ClassError> {
        self.table.get(key).ok_or_else(|| self.fault(key, format!("is missing; write {key} = {example}")))
    }

    fn wrong(&self, key: &str, item: &Item, example: &str) -> ClassError {
        self.fault(key, format!("found {}; write {key} = {example}", shown(item)))
    }

    /// Words.
    pub(super) fn words(&self, key: &str, example: &str) -> Result<&'a str, ClassError> {
        let item = self.found(key, &format!("\"{example}\""))?;
        item.as_str().ok_or_else(|| self.wrong(key, item, &format!("\"{example}\"")))
    }

    /// Words, or those given when the key is absent.
    pub(super) fn words_or(&self, key: &str, otherwise: &str) -> Result<String, ClassError> {
        if self.has(key) { self.words(key, otherwise).map(str::to_owned) } else { Ok(otherwise.to_owned()) }
    }

    /// One of a few words.
    pub(super) fn choice<T: Copy>(&self, key: &str, among: &[(&str, T)]) -> Result<T, ClassError> {
        let found = self.words(key, among.first().map_or("", |a| a.0))?;
        let names = || among.iter().map(|a| a.0).collect::<Vec<_>>().join(", ");
        let none = || self.fault(key, format!("found \"{}\"; write one of {}", found.chars().take(40).collect::<String>(), names()));
        among.iter().find(|a| a.0 == found).map(|a| a.1).ok_or_else(none)
    }

    fn read(&self, key: &str, range: &Range, text: &str) -> Result<f64, ClassError> {
        range.parse(text).map_err(|OutOfRange(what)| self.fault(key, what))
    }

    /// A quantity with its unit, SI.
    pub(super) fn quantity(&self, key: &str, range: &Range, example: &str) -> Result<f64, ClassError> {
        self.read(key, range, self.words(key, example)?)
    }

    /// A quantity, or the one given (with its unit) when the key is absent.
    pub(super) fn quantity_or(&self, key: &str, range: &Range, otherwise: &str) -> Result<f64, ClassError> {
        if self.has(key) { self.quantity(key, range, otherwise) } else { self.read(key, range, otherwise) }
    }

    /// A plain number in a range, or the one given when the key is absent.
    pub(super) fn number_or(&self, key: &str, (low, high): (f64, f64), otherwise: f64) -> Result<f64, ClassError> {
        let Some(item) = self.table.get(key) else { return Ok(otherwise) };
        let value = item.as_float().or_else(|| item.as_integer().map(|i| i as f64));
        value.filter(|v| (low..=high).contains(v)).ok_or_else(|| {
            self.fault(key, format!("found {}; write a number from {} to {}, without a unit", shown(item), plain(low), plain(high)))
        })
    }

    /// True or false, or the one given when the key is absent.
    pub(super) fn truth_or(&self, key: &str, otherwise: bool) -> Result<bool, ClassError> {
        let Some(item) = self.table.get(key) else { return Ok(otherwise) };
        item.as_bool().ok_or_else(|| self.wrong(key, item, "true or false"))
    }

    fn row(&self, key: &str, example: &str) -> Result<Vec<&'a Value>, ClassError> {
        let item = self.found(key, example)?;
        item.as_array().map(|a| a.iter().collect()).ok_or_else(|| self.wrong(key, item, example))
    }

    fn word_of(&self, key: &str, value: &'a Value, example: &str) -> Result<&'a str, ClassError> {
        let found = || shown(&Item::Value(value.clone()));
        value.as_str().ok_or_else(|| self.fault(key, format!("found {} in the list; write each as {example}", found())))
    }

    /// A list of words; empty when the key is absent.
    pub(super) fn list_of_words(&self, key: &str) -> Result<Vec<String>, ClassError> {
        if !self.has(key) {
            return Ok(Vec::new());
        }
        self.row(key, "[\"one\", \"two\"]")?.into_iter().map(|v| self.word_of(key, v, "\"words\"").map(str::to_owned)).collect()
    }

    /// A list of quantities.
    pub(super) fn list(&self, key: &str, range: &Range, example: &str) -> Result<Vec<f64>, ClassError> {
        let row = self.row(key, &format!("[\"{example}\", ...]"))?;
        row.into_iter().map(|v| self.read(key, range, self.word_of(key, v, &format!("\"{example}\""))?)).collect()
    }

    /// A list of pairs of quantities.
    pub(super) fn pairs(&self, key: &str, ranges: [&Range; 2], example: &str) -> Result<Vec<[f64; 2]>, ClassError> {
        let one = |v: &'a Value| {
            let pair: Vec<&Value> = v.as_array().map(|a| a.iter().collect()).unwrap_or_default();
            let [a, b] = pair[..] else {
                return Err(self.fault(key, format!("found {}; write each point as {example}", shown(&Item::Value(v.clone())))));
            };
            let at = |v: &'a Value, range: &Range| self.read(key, range, self.word_of(key, v, example)?);
            Ok([at(a, ranges[0])?, at(b, ranges[1])?])
        };
        self.row(key, &format!("[{example}, ...]"))?.into_iter().map(one).collect()
    }

    /// A table that must be there.
    pub(super) fn child(&self, key: &str, example: &str) -> Result<Self, ClassError> {
        let heading =
            if self.path.is_empty() { format!("is missing; add a table [{key}]") } else { format!("is missing; write {key} = {example}") };
        self.maybe_child(key, example)?.ok_or_else(|| self.fault(key, heading))
    }

    /// A table that may be there.
    pub(super) fn maybe_child(&self, key: &str, example: &str) -> Result<Option<Self>, ClassError> {
        let Some(item) = self.table.get(key) else { return Ok(None) };
        let table = item.as_table_like().ok_or_else(|| self.wrong(key, item, example))?;
        Ok(Some(Self { path: self.key(key), table, line: self.fault(key, "").line, ..self.clone() }))
    }

    /// A list of tables, each `[[key]]`; empty when there is none.
    pub(super) fn children(&self, key: &str) -> Result<Vec<Self>, ClassError> {
        let Some(item) = self.table.get(key) else { return Ok(Vec::new()) };
        let heading = || self.fault(key, format!("found {}; write each as its own table [[{}]]", shown(item), self.key(key)));
        let node = |table: &'a dyn TableLike, span: Option<core::ops::Range<usize>>| Self {
            path: self.key(key),
            table,
            line: span.map_or(self.line, |s| line_of(self.text, s.start)),
            ..self.clone()
        };
        if let Some(tables) = item.as_array_of_tables() {
            return Ok(tables.iter().map(|t| node(t, t.span())).collect());
        }
        let row = item.as_array().ok_or_else(heading)?;
        row.iter().map(|v| v.as_inline_table().map(|t| node(t, t.span())).ok_or_else(heading)).collect()
    }
}
