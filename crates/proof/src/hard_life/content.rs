//! What a store holds, apart from what chance and the clock put there: two stores into which the same was brought are the same.

use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Read};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use serde_json::Value;
use squad::{Moment, Store};
use zip::ZipArchive;

/// A store's facts and histories by the archive's files, ids and times blanked; recorders' files by their hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Content(BTreeMap<String, Vec<String>>);

impl Content {
    /// What a folder's store holds; none where there is no store. Opening it checks it page by page.
    pub(super) fn of(folder: &Path) -> Result<Option<Self>> {
        if !folder.join(squad::FILE).exists() {
            return Ok(None);
        }
        let store = Store::open(folder).with_context(|| folder.display().to_string())?.value;
        let mut bytes = Cursor::new(Vec::new());
        store.export(&mut bytes, Moment::of_millis(0))?;
        Self::of_archive(bytes.get_ref()).map(Some)
    }

    /// What an archive holds.
    pub(super) fn of_archive(bytes: &[u8]) -> Result<Self> {
        let mut zip = ZipArchive::new(Cursor::new(bytes)).context("the archive is no zip")?;
        let mut all = BTreeMap::new();
        for k in 0..zip.len() {
            let mut file = zip.by_index(k)?;
            let name = file.name().to_owned();
            let mut text = String::new();
            if name.ends_with(".json") {
                file.read_to_string(&mut text)?;
                let documents: Vec<Value> = serde_json::from_str(&text).with_context(|| name.clone())?;
                let mut lines: Vec<String> = documents.into_iter().map(|d| blanked(d).to_string()).collect();
                lines.sort();
                if name != "about.json" {
                    all.insert(name, lines);
                }
            } else {
                all.insert(name, Vec::new());
            }
        }
        Ok(Self(all))
    }

    /// How many facts there are.
    pub(super) fn facts(&self) -> usize {
        self.0.iter().filter(|(name, _)| name.starts_with("facts/")).map(|(_, lines)| lines.len()).sum()
    }

    /// The first file in which two contents differ, for a person to look at.
    pub(super) fn apart(&self, other: &Self) -> Option<String> {
        let names: std::collections::BTreeSet<_> = self.0.keys().chain(other.0.keys()).collect();
        names.into_iter().find(|n| self.0.get(*n) != other.0.get(*n)).map(|name| {
            let many = |c: &Self| c.0.get(name).map_or(0, Vec::len);
            format!("{name}: {} here, {} there", many(self), many(other))
        })
    }
}

/// One of the squad that the templates hold, of a label that no other word contains.
pub(super) const FORGOTTEN: &str = "Ciara";

/// A file of a folder that holds a word, large and small letters alike.
pub(super) fn holding(folder: &Path, word: &str) -> Result<Option<PathBuf>> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            if let Some(found) = holding(&path, word)? {
                return Ok(Some(found));
            }
        } else if fs::read(&path)?.windows(word.len()).any(|w| w.eq_ignore_ascii_case(word.as_bytes())) {
            return Ok(Some(path));
        }
    }
    Ok(None)
}

/// Ids, states and times are made anew each time something is brought in.
fn blanked(value: Value) -> Value {
    match value {
        Value::String(text) if by_chance(&text) => Value::Null,
        Value::Array(list) => list.into_iter().map(blanked).collect(),
        Value::Object(map) => Value::Object(map.into_iter().map(|(k, v)| (k, blanked(v))).collect()),
        other => other,
    }
}

fn by_chance(text: &str) -> bool {
    let hex = text.bytes().all(|b| b.is_ascii_hexdigit()) && matches!(text.len(), 16 | 32);
    hex || text.parse::<Moment>().is_ok()
}
