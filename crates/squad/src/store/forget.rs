//! Forgetting a sailor: every fact about them, every word that names them, from the store, its log and its backups.
//!
//! What refers to the sailor is deleted with its history. Where free words elsewhere name the sailor (label or name, as a whole
//! word), they are struck out; in recorders' files of others likewise, letter by letter, so that the file stays readable. Only
//! the random id stays, so that a merge does not bring the sailor back.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::types::Value;
use rusqlite::{Connection, params};
use sha2::{Digest, Sha256};

use super::archive::BESIDE;
use super::open::look;
use super::row::{self, Row};
use super::{ORPHANS, Store, backup, hex, told};
use crate::error::SquadError;
use crate::fact::sailor::Sailor;
use crate::fact::{Fact, Holds, Kept, TABLES};
use crate::id::Id;

/// What stands where a name stood.
const STRUCK: &str = "(forgotten)";
/// Shorter names are not sought in files that are no text: two letters stand anywhere.
const SHORTEST_IN_BYTES: usize = 4;

/// Stands in the store's folder while somebody is forgotten; it holds nothing.
const UNFINISHED: &str = ".forgetting";

/// What forgetting did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Forgotten {
    /// Facts deleted.
    pub facts: usize,
    /// Recorders' files deleted.
    pub tracks: usize,
    /// Facts of others in which a word was struck out.
    pub struck: usize,
    /// Recorders' files of others in which letters were struck out, by name.
    pub struck_tracks: Vec<String>,
    /// Pictures deleted: those of outings in which the sailor is known to have been out, whoever is on them.
    pub pictures: usize,
    /// Pictures of other outings that stand: nobody but the coach knows who is on them.
    pub pictures_left: usize,
    /// Backups written anew without the sailor.
    pub backups_rewritten: Vec<PathBuf>,
    /// Backups deleted, because they could not be written anew.
    pub backups_deleted: Vec<PathBuf>,
}

impl Store {
    /// Removes every trace of a sailor from store and backups. It cannot be undone. Archives taken elsewhere are not reached, nor
    /// the stores of others.
    ///
    /// # Errors
    /// When there is no such sailor, or the store cannot be written; a store that another program reads is not cleared to its end.
    pub fn forget(&mut self, sailor: Id<Sailor>) -> Result<Forgotten, SquadError> {
        let kept = self.get(sailor)?.ok_or_else(|| SquadError::Absent { what: "there is no such sailor".to_owned() })?;
        let mut names = names(&kept);
        for former in self.former(sailor)? {
            names.extend(self::names(&former));
        }
        // Backups first and the store last: stopped half way, by a full disk or a flat battery, the sailor is still there to be forgotten.
        let mark = self.folder().join(UNFINISHED);
        let unmarked = |error: std::io::Error| SquadError::Store { what: format!("{}: {error}; nothing was forgotten", mark.display()) };
        fs::write(&mark, b"").map_err(unmarked)?;
        let (backups_rewritten, backups_deleted) = self.forget_in_backups(sailor, &names)?;
        let done = self.forget_here(sailor, &names)?;
        self.finish_forgetting()?;
        Ok(Forgotten { backups_rewritten, backups_deleted, ..done })
    }

    /// Clears what a forgetting left that was stopped before its end; nothing to do where none was.
    pub(crate) fn finish_forgetting(&self) -> Result<(), SquadError> {
        let mark = self.folder().join(UNFINISHED);
        if !mark.exists() {
            return Ok(());
        }
        self.cleared()?;
        self.leftovers_gone()?;
        fs::remove_file(&mark).map_err(|error| SquadError::Store { what: format!("{}: {error}", mark.display()) })
    }

    /// Those written anew, and those deleted because they could not be.
    fn forget_in_backups(&self, sailor: Id<Sailor>, names: &BTreeSet<String>) -> Result<(Vec<PathBuf>, Vec<PathBuf>), SquadError> {
        let (mut rewritten, mut deleted) = (Vec::new(), Vec::new());
        for place in self.backups() {
            match Self::written_without(&place, sailor, names) {
                Ok(()) => rewritten.push(place),
                // It may be done again when there is room, or nobody else has it open.
                Err(error @ (SquadError::Full { .. } | SquadError::Locked { .. })) => return Err(error),
                Err(_) => {
                    // What cannot be cleared is deleted, with its log.
                    for path in backup::with_logs(&place) {
                        match fs::remove_file(&path) {
                            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                                return Err(SquadError::Store {
                                    what: format!(
                                        "{}: this backup still names the sailor and cannot be deleted: {error}; delete it by hand",
                                        place.display()
                                    ),
                                });
                            }
                            _ => {}
                        }
                    }
                    deleted.push(place);
                }
            }
        }
        Ok((rewritten, deleted))
    }

    /// Writes a backup anew beside it, without the sailor, and puts that in its place: a program that is stopped meanwhile leaves the one
    /// or the other, each whole.
    fn written_without(place: &Path, sailor: Id<Sailor>, names: &BTreeSet<String>) -> Result<(), SquadError> {
        look(place)?;
        let beside = place.with_extension(backup::UNFINISHED);
        let write = || {
            let from = Connection::open(place).map_err(|error| told(&error, place))?;
            backup::written(&from, place, &beside)?;
            drop(from);
            let anew = Self::opened(&beside)?;
            anew.forget_here(sailor, names)?;
            anew.cleared()?;
            anew.reading(|c| c.pragma_update(None, "journal_mode", "delete"))?;
            drop(anew);
            fs::rename(&beside, place).map_err(|error| SquadError::Store { what: format!("{}: {error}", place.display()) })
        };
        let written = write();
        if written.is_err() {
            backup::removed(&beside);
        }
        written
    }

    fn forget_here(&self, sailor: Id<Sailor>, names: &BTreeSet<String>) -> Result<Forgotten, SquadError> {
        let transaction = self.begun()?;
        let done = gone(&self.connection, &sailor.to_string(), names).map_err(|error| self.told(error))?;
        transaction.commit().map_err(|error| self.told(error))?;
        Ok(done)
    }

    /// Removes what a program that was stopped left behind: a backup or an import that was not finished.
    fn leftovers_gone(&self) -> Result<(), SquadError> {
        for folder in [self.folder().to_owned(), self.folder().join(backup::FOLDER)] {
            for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
                let name = entry.file_name().to_string_lossy().into_owned();
                if name.starts_with(BESIDE) || name.contains(backup::UNFINISHED) {
                    let left = |error| SquadError::Store { what: format!("{}: it cannot be deleted: {error}", entry.path().display()) };
                    fs::remove_file(entry.path()).map_err(left)?;
                }
            }
        }
        Ok(())
    }

    /// Writes the file anew without what was deleted, and empties its log.
    fn cleared(&self) -> Result<(), SquadError> {
        let emptied = |c: &Connection| c.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get::<_, i64>(0));
        let busy = self.reading(|c| {
            c.execute_batch("VACUUM")?;
            emptied(c)
        })?;
        if busy != 0 {
            return Err(SquadError::Locked { place: self.place().display().to_string() });
        }
        Ok(())
    }
}

fn names(kept: &Kept<Sailor>) -> BTreeSet<String> {
    let fact = &kept.fact;
    // A name of two words is sought as it is and by its words, as people write of somebody.
    let name = fact.name.iter().flat_map(|n| [n.as_str()].into_iter().chain(n.split_whitespace()));
    [fact.label.as_str()].into_iter().chain(name).map(str::trim).filter(|n| n.chars().count() > 1).map(str::to_owned).collect()
}

fn gone(connection: &Connection, sailor: &str, names: &BTreeSet<String>) -> rusqlite::Result<Forgotten> {
    let mut done = Forgotten::default();
    done.pictures = pictures_gone(connection, sailor)?;
    done.facts = done.pictures;
    // Children before parents, so that no reference hangs.
    for table in TABLES.iter().rev() {
        let mut about: Vec<_> = table.refers(Sailor::TABLE.kind).map(|name| format!("{name} = $1")).collect();
        if table.kind == Sailor::TABLE.kind {
            about.push("id = $1".to_owned());
        }
        if about.is_empty() {
            continue;
        }
        let about = about.join(" OR ");
        let ids: Vec<String> = connection
            .prepare(&format!("SELECT id FROM {} WHERE {about}", table.kind))?
            .query_map([sailor], |r| r.get(0))?
            .collect::<rusqlite::Result<_>>()?;
        for id in &ids {
            connection.execute("DELETE FROM former WHERE kind = $1 AND fact = $2", params![table.kind, id])?;
            connection.execute("DELETE FROM conflict WHERE kind = $1 AND fact = $2", params![table.kind, id])?;
        }
        done.facts += connection.execute(&format!("DELETE FROM {} WHERE {about}", table.kind), [sailor])?;
    }
    // A fact that is of another now may have been of the sailor before.
    let like = format!("%{sailor}%");
    connection.execute("DELETE FROM former WHERE body LIKE $1", [&like])?;
    connection.execute("DELETE FROM conflict WHERE kept LIKE $1 OR other LIKE $1", [&like])?;
    done.tracks = connection.execute(ORPHANS, [])?.saturating_sub(done.pictures);
    done.pictures_left = connection.query_row("SELECT count(*) FROM picture", [], |r| r.get::<_, i64>(0))? as usize;
    connection.execute("INSERT INTO forgotten (id) VALUES ($1) ON CONFLICT (id) DO NOTHING", [sailor])?;
    for table in TABLES {
        let rows: Vec<Row> =
            connection.prepare(&row::select(table))?.query_map([], |r| Row::read(r, table))?.collect::<rusqlite::Result<_>>()?;
        for mut row in rows {
            let mut struck = strike(&mut row.edited_by, names);
            for (column, value) in table.columns.iter().zip(&mut row.values) {
                if let (Holds::Text | Holds::Json, Value::Text(text)) = (column.holds, value)
                    && column.name != "sha256"
                {
                    struck |= strike(text, names);
                }
            }
            if struck {
                rehash(&mut row);
                row.update(connection, table)?;
                done.struck += 1;
            }
        }
    }
    strike_texts(connection, "former", &["body"], &["kind", "fact", "state"], names)?;
    strike_texts(connection, "conflict", &["kept", "other"], &["id"], names)?;
    done.struck_tracks = strike_tracks(connection, names)?;
    Ok(done)
}

/// Deletes what pictures there are of outings in which the sailor was out, by tally, notes or tracks: who is on a picture is not known here.
fn pictures_gone(connection: &Connection, sailor: &str) -> rusqlite::Result<usize> {
    const OUT: &str = "SELECT id FROM picture WHERE shown_to = $1 OR outing IN (SELECT outing FROM tally WHERE sailor = $1 UNION \
        SELECT outing FROM observation WHERE sailor = $1 UNION SELECT outing FROM track_file WHERE sailor = $1 UNION \
        SELECT outing FROM note WHERE sailor = $1)";
    let ids: Vec<String> = connection.prepare(OUT)?.query_map([sailor], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
    for id in &ids {
        for sql in [
            "DELETE FROM former WHERE kind = 'picture' AND fact = $1",
            "DELETE FROM conflict WHERE kind = 'picture' AND fact = $1",
            "DELETE FROM picture WHERE id = $1",
        ] {
            connection.execute(sql, [id])?;
        }
    }
    Ok(ids.len())
}

/// A class file that was changed has another hash.
fn rehash(row: &mut Row) {
    let at = |name: &str| row.table.columns.iter().position(|c| c.name == name);
    if let (Some(text), Some(hash)) = (at("text"), at("sha256"))
        && let Value::Text(words) = &row.values[text]
    {
        row.values[hash] = Value::Text(hex(&Sha256::digest(words)));
    }
}

fn strike_texts(connection: &Connection, table: &str, texts: &[&str], keys: &[&str], names: &BTreeSet<String>) -> rusqlite::Result<()> {
    for column in texts {
        let sql = format!("SELECT {column}, {} FROM {table}", keys.join(", "));
        let rows: Vec<Vec<String>> = connection
            .prepare(&sql)?
            .query_map([], |r| (0..=keys.len()).map(|k| r.get(k)).collect::<rusqlite::Result<Vec<String>>>())?
            .collect::<rusqlite::Result<_>>()?;
        let wheres: Vec<_> = keys.iter().enumerate().map(|(k, key)| format!("{key} = ${}", k + 2)).collect();
        let update = format!("UPDATE {table} SET {column} = $1 WHERE {}", wheres.join(" AND "));
        for mut row in rows {
            if strike(&mut row[0], names) {
                connection.execute(&update, rusqlite::params_from_iter(row))?;
            }
        }
    }
    Ok(())
}

/// Strikes names out of recorders' files, and names the files.
fn strike_tracks(connection: &Connection, names: &BTreeSet<String>) -> rusqlite::Result<Vec<String>> {
    let hashes: Vec<String> = connection
        .prepare("SELECT sha256 FROM track_bytes WHERE sha256 NOT IN (SELECT sha256 FROM picture)")?
        .query_map([], |r| r.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    let mut struck = Vec::new();
    for old in hashes {
        let mut bytes: Vec<u8> = connection.query_row("SELECT bytes FROM track_bytes WHERE sha256 = $1", [&old], |r| r.get(0))?;
        let is_text = std::str::from_utf8(&bytes).is_ok();
        let mut found = false;
        for name in names.iter().filter(|n| is_text || n.len() >= SHORTEST_IN_BYTES) {
            for at in words(&bytes, name.as_bytes()) {
                bytes[at..at + name.len()].fill(b'x');
                found = true;
            }
        }
        if found {
            let new = hex(&Sha256::digest(&bytes));
            connection
                .execute("INSERT INTO track_bytes (sha256, bytes) VALUES ($1, $2) ON CONFLICT (sha256) DO NOTHING", params![new, bytes])?;
            struck.extend(
                connection
                    .prepare("SELECT name FROM track_file WHERE sha256 = $1")?
                    .query_map([&old], |r| r.get::<_, String>(0))?
                    .collect::<rusqlite::Result<Vec<_>>>()?,
            );
            connection.execute("UPDATE track_file SET sha256 = $1 WHERE sha256 = $2", [&new, &old])?;
            connection.execute("DELETE FROM track_bytes WHERE sha256 = $1", [&old])?;
        }
    }
    Ok(struck)
}

/// Strikes names out of a text; whether there was one.
fn strike(text: &mut String, names: &BTreeSet<String>) -> bool {
    let mut found = false;
    // The longest first, so that a whole name goes before its words.
    let mut longest: Vec<_> = names.iter().collect();
    longest.sort_by_key(|n| core::cmp::Reverse(n.len()));
    for name in longest {
        for at in words(text.as_bytes(), name.as_bytes()).into_iter().rev() {
            if text.is_char_boundary(at) && text.is_char_boundary(at + name.len()) {
                text.replace_range(at..at + name.len(), STRUCK);
                found = true;
            }
        }
    }
    found
}

/// Where a name stands as a whole word, large and small ASCII letters alike.
fn words(text: &[u8], name: &[u8]) -> Vec<usize> {
    // Bytes from 128 on are letters of other alphabets.
    let letter = |b: Option<&u8>| b.is_some_and(|b| b.is_ascii_alphanumeric() || *b >= 0x80);
    let mut at = 0;
    let mut found = Vec::new();
    while at + name.len() <= text.len() {
        let end = at + name.len();
        let alone = !letter(at.checked_sub(1).and_then(|k| text.get(k))) && !letter(text.get(end));
        if alone && text[at..end].eq_ignore_ascii_case(name) {
            found.push(at);
            at = end;
        } else {
            at += 1;
        }
    }
    found
}
