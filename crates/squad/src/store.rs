//! The store: one SQLite file in a folder of its own, and beside it the backups.
//!
//! Every fact is written in a transaction that is on the disk before it is acknowledged (write-ahead log, full sync). What is
//! deleted is overwritten. An edit names the version it was made on, and is refused when somebody else wrote first. SQL stands
//! in this crate alone, with numbered parameters, which each statement names in their order; only the settings of the connection
//! are SQLite's own.

pub(crate) mod archive;
pub(crate) mod backup;
pub(crate) mod forget;
pub(crate) mod merge;
mod open;
pub(crate) mod row;
mod squad_file;

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::{Path, PathBuf};

use rusqlite::{Connection, ErrorCode, OptionalExtension, Transaction, TransactionBehavior};

use crate::error::SquadError;
use crate::fact::{Edit, Fact, Kept, Writer};
use crate::id::{self, Id};
use row::Row;

pub use open::SCHEMA;

/// Deletes bytes that no file and no picture has.
pub(crate) const ORPHANS: &str =
    "DELETE FROM track_bytes WHERE sha256 NOT IN (SELECT sha256 FROM track_file UNION SELECT sha256 FROM picture)";

/// The store's file in its folder.
pub const FILE: &str = "squad.db";

/// A squad's facts.
#[derive(Debug)]
pub struct Store {
    pub(crate) connection: Connection,
    place: PathBuf,
}

impl Store {
    /// The file it stands in.
    #[must_use]
    pub fn place(&self) -> &Path {
        &self.place
    }

    /// Its folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        self.place.parent().unwrap_or(Path::new("."))
    }

    /// Writes a new fact, under a new id.
    ///
    /// # Errors
    /// A fact that cannot be right, a label that another has, or a store that cannot be written.
    pub fn add<T: Fact>(&mut self, fact: &T, writer: &Writer) -> Result<Kept<T>, SquadError> {
        self.add_as(Id::random()?, fact, writer)
    }

    /// Writes a new fact under an id that a phone gave it. The same fact sent twice is written once.
    ///
    /// # Errors
    /// As [`Store::add`]; and when another fact stands under that id.
    pub fn add_as<T: Fact>(&mut self, id: Id<T>, fact: &T, writer: &Writer) -> Result<Kept<T>, SquadError> {
        self.added(id, fact, writer, |_| Ok(()))
    }

    /// As [`Store::add_as`], with something to write first in the same transaction. Like [`Store::edited`] it takes part in a
    /// transaction that is under way.
    pub(crate) fn added<T: Fact>(
        &self,
        id: Id<T>,
        fact: &T,
        writer: &Writer,
        first: impl FnOnce(&Connection) -> rusqlite::Result<()>,
    ) -> Result<Kept<T>, SquadError> {
        fact.check().map_err(|what| SquadError::Refused { what })?;
        let state = id::state()?;
        let row = Row::of(
            &Kept { id, version: 1, edited_at: writer.at, edited_by: writer.by.clone(), withdrawn: false, fact: fact.clone() },
            state,
        )?;
        self.writing(
            |connection| {
                if let Some(there) = Row::find(connection, &T::TABLE, &row.id)? {
                    return Ok(if there.values == row.values { Some(there) } else { None });
                }
                let forgotten: Option<i64> =
                    connection.query_row("SELECT 1 FROM forgotten WHERE id = $1", [&row.id], |r| r.get(0)).optional()?;
                if forgotten.is_some() {
                    return Ok(None);
                }
                first(connection)?;
                row.insert(connection, &T::TABLE)?;
                Ok(Some(row.clone()))
            },
            |store| store.label_is_free(fact, id),
        )?
        .ok_or_else(|| SquadError::Refused { what: format!("another fact stands under the id {id}, or it was forgotten") })?
        .kept()
    }

    /// Changes a fact that stands at a version. Where somebody wrote since, nothing is changed, and the answer is what they wrote.
    /// A fact that was withdrawn is listed again.
    ///
    /// # Errors
    /// A fact that cannot be right, that is not there, or a store that cannot be written.
    pub fn edit<T: Fact>(&mut self, id: Id<T>, version: u32, fact: &T, writer: &Writer) -> Result<Edit<T>, SquadError> {
        self.edited(id, version, fact, writer)
    }

    /// As [`Store::edit`], within a transaction that may be under way.
    pub(crate) fn edited<T: Fact>(&self, id: Id<T>, version: u32, fact: &T, writer: &Writer) -> Result<Edit<T>, SquadError> {
        fact.check().map_err(|what| SquadError::Refused { what })?;
        self.changed(id, version, Some(fact), writer)
    }

    /// Takes a fact back: it stays, with its history, and is listed no more. As [`Store::edit`].
    ///
    /// # Errors
    /// As [`Store::edit`].
    pub fn withdraw<T: Fact>(&mut self, id: Id<T>, version: u32, writer: &Writer) -> Result<Edit<T>, SquadError> {
        self.changed(id, version, None, writer)
    }

    /// The fact that is to stand at a version; none takes it back.
    fn changed<T: Fact>(&self, id: Id<T>, version: u32, fact: Option<&T>, writer: &Writer) -> Result<Edit<T>, SquadError> {
        let state = id::state()?;
        let new = |now: &Row| -> Result<Row, SquadError> {
            let kept: Kept<T> = now.kept()?;
            Row::of(
                &Kept {
                    id,
                    version: version.saturating_add(1),
                    edited_at: writer.at,
                    edited_by: writer.by.clone(),
                    withdrawn: fact.is_none(),
                    fact: fact.cloned().unwrap_or(kept.fact),
                },
                state.clone(),
            )
        };
        let absent = || SquadError::Absent { what: format!("there is no {} under the id {id}", T::TABLE.kind) };
        // Between this look and the write another may write: the version is asked again within the transaction.
        let now = self.row::<T>(id)?.ok_or_else(absent)?;
        let row = new(&now)?;
        let written = self.writing(
            |connection| {
                let now = Row::find(connection, &T::TABLE, &row.id)?;
                let Some(now) = now.filter(|now| now.version == i64::from(version)) else { return Ok(false) };
                now.keep_as_former(connection, &T::TABLE)?;
                row.update(connection, &T::TABLE)?;
                Ok(true)
            },
            |store| fact.map_or(Ok(()), |fact| store.label_is_free(fact, id)),
        )?;
        let kept = self.row::<T>(id)?.ok_or_else(absent)?.kept()?;
        Ok(if written { Edit::Written(kept) } else { Edit::Overtaken(kept) })
    }

    /// The fact of an id, withdrawn or not.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn get<T: Fact>(&self, id: Id<T>) -> Result<Option<Kept<T>>, SquadError> {
        self.row(id)?.map(|row| row.kept()).transpose()
    }

    /// All facts of a kind that were not withdrawn, by time, date or label.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn all<T: Fact>(&self) -> Result<Vec<Kept<T>>, SquadError> {
        self.rows::<T>("withdrawn = 0", &[])
    }

    /// All facts of a kind that refer to another fact, by time: the weigh-ins of a boat, the answers of a sailor.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn of<T: Fact, P: Fact>(&self, parent: Id<P>) -> Result<Vec<Kept<T>>, SquadError> {
        let columns: Vec<_> = T::TABLE.refers(P::TABLE.kind).map(|name| format!("{name} = $1")).collect();
        if columns.is_empty() {
            return Ok(Vec::new());
        }
        self.rows::<T>(&format!("withdrawn = 0 AND ({})", columns.join(" OR ")), &[&parent.to_string()])
    }

    /// What a fact was before each of its edits, the earliest first.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn former<T: Fact>(&self, id: Id<T>) -> Result<Vec<Kept<T>>, SquadError> {
        let bodies = self.reading(|connection| {
            let mut query = connection.prepare("SELECT body FROM former WHERE kind = $1 AND fact = $2 ORDER BY version, state")?;
            query.query_map([T::TABLE.kind, &id.to_string()], |row| row.get::<_, String>(0))?.collect::<rusqlite::Result<Vec<_>>>()
        })?;
        bodies.iter().map(|body| row::body_kept(body).ok_or_else(|| self.damaged())).collect()
    }

    /// The fact of a label, large and small letters alike.
    pub(crate) fn labelled<T: Fact>(&self, label: &str) -> Result<Option<Kept<T>>, SquadError> {
        let wanted = label.trim().to_lowercase();
        Ok(self.all::<T>()?.into_iter().find(|kept| kept.fact.label().is_some_and(|l| l.to_lowercase() == wanted)))
    }

    fn label_is_free<T: Fact>(&self, fact: &T, id: Id<T>) -> Result<(), SquadError> {
        let Some(label) = fact.label() else { return Ok(()) };
        match self.labelled::<T>(label)? {
            Some(other) if other.id != id => {
                Err(SquadError::Refused { what: format!("there is a {} {label} already: tell them apart", T::TABLE.kind) })
            }
            _ => Ok(()),
        }
    }

    fn row<T: Fact>(&self, id: Id<T>) -> Result<Option<Row>, SquadError> {
        self.reading(|connection| Row::find(connection, &T::TABLE, &id.to_string()))
    }

    pub(crate) fn rows<T: Fact>(&self, condition: &str, values: &[&dyn rusqlite::ToSql]) -> Result<Vec<Kept<T>>, SquadError> {
        let sql = format!("{} WHERE {condition} ORDER BY {}, id", row::select(&T::TABLE), T::TABLE.order());
        let rows = self.reading(|connection| {
            let mut query = connection.prepare(&sql)?;
            query.query_map(values, |row| Row::read(row, &T::TABLE))?.collect::<rusqlite::Result<Vec<_>>>()
        })?;
        rows.iter().map(|row| row.kept().map_err(|_| self.damaged())).collect()
    }

    /// Reads, with what went wrong in a coach's words.
    pub(crate) fn reading<R>(&self, read: impl FnOnce(&Connection) -> rusqlite::Result<R>) -> Result<R, SquadError> {
        read(&self.connection).map_err(|error| self.told(error))
    }

    /// Writes all or nothing; `first` is asked before, under the same lock, whether it may. Within a transaction that is under way it is a
    /// part of that one: whoever began it lets it go at the first fault.
    pub(crate) fn writing<R>(
        &self,
        write: impl FnOnce(&Connection) -> rusqlite::Result<R>,
        first: impl FnOnce(&Self) -> Result<(), SquadError>,
    ) -> Result<R, SquadError> {
        let whole = if self.connection.is_autocommit() { Some(self.begun()?) } else { None };
        first(self)?;
        let done = write(&self.connection).map_err(|error| self.told(error))?;
        whole.map_or(Ok(()), Transaction::commit).map_err(|error| self.told(error))?;
        Ok(done)
    }

    /// Writes that belong together: all of them, or none where one fails or the program stops.
    ///
    /// # Errors
    /// What the work says, or when the store cannot be written.
    pub fn whole<R, E: From<SquadError>>(&mut self, work: impl FnOnce(&mut Self) -> Result<R, E>) -> Result<R, E> {
        let told = |store: &Self, sql: &str| store.reading(|c| c.execute_batch(sql));
        told(self, "BEGIN IMMEDIATE")?;
        // Whoever goes on after a fault of the program must not find half of it under way.
        let done = catch_unwind(AssertUnwindSafe(|| work(self)));
        let well = matches!(done, Ok(Ok(_)));
        let kept = if well { told(self, "COMMIT") } else { Ok(()) };
        if !self.connection.is_autocommit() {
            // Where this fails too, the transaction ends with the connection, and nothing of it stays.
            let _ = told(self, "ROLLBACK");
        }
        match done {
            Ok(done) => {
                kept?;
                done
            }
            Err(fault) => resume_unwind(fault),
        }
    }

    /// A transaction that writes; let go without a commit, nothing of it stays.
    pub(crate) fn begun(&self) -> Result<Transaction<'_>, SquadError> {
        Transaction::new_unchecked(&self.connection, TransactionBehavior::Immediate).map_err(|error| self.told(error))
    }

    pub(crate) fn told(&self, error: rusqlite::Error) -> SquadError {
        told(&error, &self.place)
    }

    pub(crate) fn damaged(&self) -> SquadError {
        SquadError::Damaged { place: self.place.display().to_string(), backup: backup::last(self.folder()) }
    }
}

/// What SQLite says, in a coach's words.
pub(crate) fn told(error: &rusqlite::Error, place: &Path) -> SquadError {
    let backup = || backup::last(place.parent().unwrap_or(Path::new(".")));
    let at = || place.display().to_string();
    let extended = error.sqlite_error().map_or(0, |e| e.extended_code);
    match error.sqlite_error_code() {
        // The log's index could not be made as large as it must be: SQLite has no code of its own for a full disk there.
        Some(ErrorCode::SystemIoFailure) if extended == rusqlite::ffi::SQLITE_IOERR_SHMSIZE => SquadError::Full { place: at() },
        Some(ErrorCode::SystemIoFailure) => SquadError::Store {
            what: format!("{}: the disk could not be read or written ({error}): it may be full or failing; nothing was changed", at()),
        },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => SquadError::Locked { place: at() },
        Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
            SquadError::ReadOnly { place: at(), backup: backup() }
        }
        Some(ErrorCode::DiskFull) => SquadError::Full { place: at() },
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => SquadError::Damaged { place: at(), backup: backup() },
        Some(ErrorCode::ConstraintViolation) => {
            SquadError::Refused { what: "this fact refers to something that is not in the store, or a number in it is none".to_owned() }
        }
        _ => SquadError::Store { what: format!("{}: {error}", at()) },
    }
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests;
