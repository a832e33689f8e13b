//! Two coaches' stores united.
//!
//! Facts are united by their ids. Of a fact that stands in both, the states tell whose edit came first: a state that the other
//! store knows as a former one is older, and the newer stays. Where both were edited since they were one, the later edit stands
//! (by clock, then by id of the state, so that both stores choose alike), the other is kept as a conflict until a person settles
//! it, and the version counts on, so that no open page writes over it unseen. Who was forgotten here does not come back; who was
//! forgotten there and is here stays, and is told. All
//! of it is one transaction.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, params};
use sha2::{Digest, Sha256};

use super::row::{self, Row};
use super::{Store, hex};
use crate::error::SquadError;
use crate::fact::{Fact, Kept, TABLES, Table};

/// What a merge did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Merged {
    /// Facts that were not here.
    pub added: usize,
    /// Facts that had been edited there since.
    pub changed: usize,
    /// Facts that stood here already, or had been edited here since.
    pub known: usize,
    /// Facts edited in both stores: listed as conflicts.
    pub conflicts: usize,
    /// Facts about sailors forgotten here, left out.
    pub forgotten: usize,
    /// Labels of sailors that are here and were forgotten in the other store: somebody should ask whether to forget them here.
    pub forgotten_there: Vec<String>,
    /// Labels that two boats or two sailors have now: kind and label.
    pub doubled: Vec<(String, String)>,
    /// Facts added or changed, by kind.
    pub by_kind: BTreeMap<String, usize>,
}

/// A fact that two stores edited apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Conflict {
    /// Its own name.
    pub id: String,
    /// The fact's kind.
    pub kind: String,
    /// The fact's id.
    pub fact: String,
    kept: String,
    other: String,
}

impl Conflict {
    /// What stood after the merge; `None` if it is of another kind.
    #[must_use]
    pub fn kept<T: Fact>(&self) -> Option<Kept<T>> {
        if self.kind == T::TABLE.kind { row::body_kept(&self.kept) } else { None }
    }
    /// What the other store had.
    #[must_use]
    pub fn other<T: Fact>(&self) -> Option<Kept<T>> {
        if self.kind == T::TABLE.kind { row::body_kept(&self.other) } else { None }
    }
    /// Which fields differ, what stands and what the other store had, as text. A mass is shown as hidden.
    #[must_use]
    pub fn differences(&self) -> Vec<(String, String, String)> {
        let fact =
            |body: &str| serde_json::from_str::<serde_json::Value>(body).ok().and_then(|b| b.get("fact").cloned()).unwrap_or_default();
        let (kept, other) = (fact(&self.kept), fact(&self.other));
        let shown = |name: &str, value: &serde_json::Value| match value {
            _ if self.kind == "sailor" && name == "mass_kg" => "hidden".to_owned(),
            serde_json::Value::String(text) => text.clone(),
            value => value.to_string(),
        };
        let fields = kept.as_object().into_iter().flatten();
        fields
            .filter(|(name, value)| other.get(name) != Some(value))
            .map(|(name, value)| (name.clone(), shown(name, value), shown(name, &other[name])))
            .collect()
    }
}

impl Store {
    /// Brings in all that another store has; that one is not changed.
    ///
    /// # Errors
    /// When one cannot be read or the other not written: then nothing was brought in.
    pub(crate) fn merge(&mut self, other: &Self) -> Result<Merged, SquadError> {
        let transaction = self.begun()?;
        let mut merged = Merged::default();
        let (here, there) = (&self.connection, &other.connection);
        let gone: BTreeSet<String> = ids(here, "forgotten").map_err(|e| self.told(e))?;
        for table in TABLES {
            let mut query = there.prepare(&format!("{} ORDER BY id", row::select(table))).map_err(|e| other.told(e))?;
            let mut rows = query.query([]).map_err(|e| other.told(e))?;
            while let Some(found) = rows.next().map_err(|e| other.told(e))? {
                let theirs = Row::read(found, table).map_err(|e| other.told(e))?;
                if is_about(&theirs, &gone) {
                    merged.forgotten += 1;
                    continue;
                }
                if ["track_file", "picture"].contains(&table.kind) {
                    bring_bytes(here, there, &theirs).map_err(|e| self.told(e))?;
                }
                let outcome = one(here, there, table, &theirs).map_err(|e| self.told(e))?;
                match outcome {
                    One::Added => merged.added += 1,
                    One::Changed => merged.changed += 1,
                    One::Known => merged.known += 1,
                    One::Apart => merged.conflicts += 1,
                }
                if matches!(outcome, One::Added | One::Changed) {
                    *merged.by_kind.entry(table.kind.to_owned()).or_default() += 1;
                }
            }
        }
        histories(here, there, &gone).map_err(|e| self.told(e))?;
        merged.forgotten_there = forgotten_there(here, there).map_err(|e| self.told(e))?;
        transaction.commit().map_err(|e| self.told(e))?;
        merged.doubled = self.doubled()?;
        Ok(merged)
    }

    /// Conflicts that nobody settled yet.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn conflicts(&self) -> Result<Vec<Conflict>, SquadError> {
        self.reading(|connection| {
            let mut query =
                connection.prepare("SELECT id, kind, fact, kept, other FROM conflict WHERE settled = 0 ORDER BY kind, fact, id")?;
            let conflict =
                |r: &rusqlite::Row<'_>| Ok(Conflict { id: r.get(0)?, kind: r.get(1)?, fact: r.get(2)?, kept: r.get(3)?, other: r.get(4)? });
            query.query_map([], conflict)?.collect()
        })
    }

    /// Says that a person has looked at a conflict. To take what the other store had, edit the fact first.
    ///
    /// # Errors
    /// When the store cannot be written.
    pub fn settle(&mut self, conflict: &Conflict) -> Result<(), SquadError> {
        self.reading(|c| c.execute("UPDATE conflict SET settled = 1 WHERE id = $1", [&conflict.id]).map(|_| ()))
    }

    /// Labels that more than one fact of a kind has.
    fn doubled(&self) -> Result<Vec<(String, String)>, SquadError> {
        let mut doubled = Vec::new();
        for kind in ["boat", "sailor"] {
            let labels: Vec<String> = self
                .reading(|c| c.prepare(&format!("SELECT label FROM {kind} WHERE withdrawn = 0"))?.query_map([], |r| r.get(0))?.collect())?;
            let mut seen: BTreeMap<String, usize> = BTreeMap::new();
            for label in &labels {
                *seen.entry(label.to_lowercase()).or_default() += 1;
            }
            doubled
                .extend(labels.into_iter().filter(|l| seen.remove(&l.to_lowercase()).is_some_and(|n| n > 1)).map(|l| (kind.to_owned(), l)));
        }
        Ok(doubled)
    }
}

/// What became of one fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum One {
    Added,
    Changed,
    Known,
    Apart,
}

/// Brings in one fact.
fn one(here: &Connection, there: &Connection, table: &Table, theirs: &Row) -> rusqlite::Result<One> {
    let Some(ours) = Row::find(here, table, &theirs.id)? else {
        theirs.insert(here, table)?;
        return Ok(One::Added);
    };
    if ours.state == theirs.state || was(here, table, &theirs.id, &theirs.state)? {
        return Ok(One::Known);
    }
    if was(there, table, &ours.id, &ours.state)? {
        ours.keep_as_former(here, table)?;
        theirs.update(here, table)?;
        return Ok(One::Changed);
    }
    let later = |row: &Row| (row.edited_at.clone(), row.state.clone());
    let (kept, other) = if later(&ours) >= later(theirs) { (&ours, theirs) } else { (theirs, &ours) };
    ours.keep_as_former(here, table)?;
    theirs.keep_as_former(here, table)?;
    // Both stores find the same next state, whichever of them merges first.
    let digest = hex(&Sha256::digest(format!("{}{}", kept.state, other.state)));
    let united = Row { version: kept.version.max(other.version) + 1, state: digest[..16].to_owned(), ..kept.clone() };
    united.update(here, table)?;
    if kept.says_the_same(other) {
        return Ok(One::Known);
    }
    here.execute(
        "INSERT INTO conflict (id, kind, fact, kept, other, settled) VALUES ($1, $2, $3, $4, $5, 0) ON CONFLICT (id) DO NOTHING",
        params![&digest[16..48], table.kind, kept.id, kept.document().to_string(), other.document().to_string()],
    )?;
    Ok(One::Apart)
}

/// Whether a fact was in a state before.
fn was(connection: &Connection, table: &Table, id: &str, state: &str) -> rusqlite::Result<bool> {
    let sql = "SELECT 1 FROM former WHERE kind = $1 AND fact = $2 AND state = $3";
    let found: Option<i64> = connection.prepare_cached(sql)?.query_row([table.kind, id, state], |r| r.get(0)).optional()?;
    Ok(found.is_some())
}

/// Whether it is a forgotten fact, or refers to one.
fn is_about(row: &Row, gone: &BTreeSet<String>) -> bool {
    let refers = row
        .table
        .columns
        .iter()
        .zip(&row.values)
        .any(|(column, value)| matches!((column.holds, value), (crate::fact::Holds::Id(_), Value::Text(id)) if gone.contains(id)));
    refers || gone.contains(&row.id)
}

fn ids(connection: &Connection, table: &str) -> rusqlite::Result<BTreeSet<String>> {
    connection.prepare(&format!("SELECT id FROM {table}"))?.query_map([], |r| r.get(0))?.collect()
}

fn bring_bytes(here: &Connection, there: &Connection, file: &Row) -> rusqlite::Result<()> {
    let hash = file.table.columns.iter().zip(&file.values).find(|(c, _)| c.name == "sha256").map(|(_, v)| v.clone()).unwrap_or(Value::Null);
    let known: Option<i64> = here.query_row("SELECT 1 FROM track_bytes WHERE sha256 = $1", [&hash], |r| r.get(0)).optional()?;
    if known.is_none() {
        let bytes: Vec<u8> = there.query_row("SELECT bytes FROM track_bytes WHERE sha256 = $1", [&hash], |r| r.get(0))?;
        here.execute("INSERT INTO track_bytes (sha256, bytes) VALUES ($1, $2)", params![hash, bytes])?;
    }
    Ok(())
}

/// Takes over who was forgotten there and is not here; the labels of those who are here.
fn forgotten_there(here: &Connection, there: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut still_here = Vec::new();
    for id in ids(there, "forgotten")? {
        let label: Option<String> = here.query_row("SELECT label FROM sailor WHERE id = $1", [&id], |r| r.get(0)).optional()?;
        match label {
            Some(label) => still_here.push(label),
            None => {
                here.execute("INSERT INTO forgotten (id) VALUES ($1) ON CONFLICT (id) DO NOTHING", [&id])?;
            }
        }
    }
    Ok(still_here)
}

/// Unites what facts were before, and conflicts; one settled in either store is settled. A history comes only with its fact.
fn histories(here: &Connection, there: &Connection, gone: &BTreeSet<String>) -> rusqlite::Result<()> {
    let about_gone = |text: &str| gone.iter().any(|id| text.contains(id.as_str()));
    for table in TABLES {
        let present = ids(here, table.kind)?;
        let mut query = there.prepare("SELECT fact, state, version, body FROM former WHERE kind = $1 ORDER BY fact, state")?;
        let mut rows = query.query([table.kind])?;
        while let Some(row) = rows.next()? {
            let (fact, body): (String, String) = (row.get(0)?, row.get(3)?);
            if !present.contains(&fact) || about_gone(&body) {
                continue;
            }
            let values = params![table.kind, fact, row.get::<_, String>(1)?, row.get::<_, i64>(2)?, body];
            let sql = "INSERT INTO former (kind, fact, state, version, body) VALUES ($1, $2, $3, $4, $5) ON CONFLICT (kind, fact, state) DO NOTHING";
            here.prepare_cached(sql)?.execute(values)?;
        }
        let mut query = there.prepare("SELECT id, fact, kept, other, settled FROM conflict WHERE kind = $1 ORDER BY id")?;
        let mut rows = query.query([table.kind])?;
        while let Some(row) = rows.next()? {
            let (fact, kept, other): (String, String, String) = (row.get(1)?, row.get(2)?, row.get(3)?);
            if !present.contains(&fact) || about_gone(&kept) || about_gone(&other) {
                continue;
            }
            let sql = "INSERT INTO conflict (id, kind, fact, kept, other, settled) VALUES ($1, $2, $3, $4, $5, $6) \
                       ON CONFLICT (id) DO UPDATE SET settled = CASE WHEN excluded.settled = 1 THEN 1 ELSE conflict.settled END";
            here.prepare_cached(sql)?.execute(params![row.get::<_, String>(0)?, table.kind, fact, kept, other, row.get::<_, bool>(4)?])?;
        }
    }
    Ok(())
}
