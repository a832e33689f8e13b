//! Backups: consistent copies beside the store, one for each day of use, seven kept, each opened and checked before it counts.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::backup::Backup as Copying;

use super::open::{look, make_folder, private, sound, untouched};
use super::{Store, told};
use crate::error::SquadError;
use crate::fact::TABLES;
use crate::id::{Date, Moment};

/// How many days of use are kept.
pub const BACKUPS_KEPT: usize = 7;
/// The folder of backups in that of the store.
pub(crate) const FOLDER: &str = "backups";
/// How a backup is called that is not yet whole.
pub(crate) const UNFINISHED: &str = "unfinished";

/// A file of SQLite's, and the logs it may have beside it.
pub(crate) fn with_logs(place: &Path) -> [PathBuf; 4] {
    ["", "-wal", "-shm", "-journal"].map(|ending| {
        let mut path = place.as_os_str().to_owned();
        path.push(ending);
        path.into()
    })
}

/// Removes a file that is not whole, with its logs: one that is left would be taken for the next file's.
pub(crate) fn removed(place: &Path) {
    for path in with_logs(place) {
        let _ = fs::remove_file(path);
    }
}
/// Pages copied at a time, between which others may write.
const PAGES: i32 = 1024;

/// A backup that was made and checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Backup {
    /// Where it is.
    pub place: PathBuf,
    /// How many facts are in it.
    pub facts: usize,
    /// Older ones that made room for it.
    pub made_room: Vec<PathBuf>,
}

impl Store {
    /// Makes the backup of a moment's day (UTC), in place of an earlier one of that day. It is opened and checked before it takes
    /// its place.
    ///
    /// # Errors
    /// When it cannot be written, or what was written is not sound: then what was there stays.
    pub fn backup(&self, at: Moment) -> Result<Backup, SquadError> {
        let day = Date(at.timestamp().to_zoned_datetime(jiff::tz::TimeZone::UTC).date());
        let place = self.folder().join(FOLDER).join(format!("squad-{day}.db"));
        copy(&self.connection, self.place(), &place)?;
        let facts = self.facts()?;
        let copied = counted(&untouched(&place).map_err(|error| told(&error, &place))?).map_err(|error| told(&error, &place))?;
        let made_room = self.make_room();
        // Others may write while pages are copied; less than was there before cannot be.
        if copied < facts && self.facts()? == facts {
            return Err(SquadError::Store { what: format!("{}: facts are missing in it; make another", place.display()) });
        }
        Ok(Backup { place, facts: copied, made_room })
    }

    /// Makes the backup of a moment's day if there is none and there is anything to keep. A program that stays open for days calls
    /// it each day.
    ///
    /// # Errors
    /// As [`Store::backup`].
    pub fn backup_of_the_day(&self, at: Moment) -> Result<Option<Backup>, SquadError> {
        let day = Date(at.timestamp().to_zoned_datetime(jiff::tz::TimeZone::UTC).date());
        if self.folder().join(FOLDER).join(format!("squad-{day}.db")).exists() || self.facts()? == 0 {
            return Ok(None);
        }
        self.backup(at).map(Some)
    }

    /// All backups, the oldest first.
    #[must_use]
    pub fn backups(&self) -> Vec<PathBuf> {
        listed(self.folder())
    }

    /// How many facts there are.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn facts(&self) -> Result<usize, SquadError> {
        self.reading(counted)
    }

    fn make_room(&self) -> Vec<PathBuf> {
        let days: Vec<_> = listed(self.folder()).into_iter().filter(|p| name(p).starts_with("squad-")).collect();
        let mut gone = Vec::new();
        for place in days.iter().take(days.len().saturating_sub(BACKUPS_KEPT)) {
            if fs::remove_file(place).is_ok() {
                gone.push(place.clone());
            }
        }
        gone
    }
}

/// Puts a store aside before it is brought from an older schema.
pub(crate) fn before_schema(place: &Path, schema: i64) -> Result<(), SquadError> {
    let folder = place.parent().unwrap_or(Path::new("."));
    let from = Connection::open(place).map_err(|error| told(&error, place))?;
    copy(&from, place, &folder.join(FOLDER).join(format!("schema-{schema}.db")))
}

/// The last backup, for messages.
pub(crate) fn last(folder: &Path) -> Option<String> {
    let changed = |place: &PathBuf| fs::metadata(place).and_then(|about| about.modified()).ok();
    listed(folder).into_iter().max_by_key(changed).map(|place| place.display().to_string())
}

fn name(place: &Path) -> String {
    place.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}

fn listed(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder.join(FOLDER)).into_iter().flatten().flatten();
    let mut all: Vec<_> = entries.map(|e| e.path()).filter(|p| p.extension().is_some_and(|e| e == "db")).collect();
    all.sort();
    all
}

fn counted(connection: &Connection) -> rusqlite::Result<usize> {
    let mut facts = 0;
    for table in TABLES {
        facts += connection
            .query_row(&format!("SELECT COUNT(*) FROM {}", table.kind), [], |row| row.get::<_, i64>(0))
            .map(|n| usize::try_from(n).unwrap_or(0))?;
    }
    Ok(facts)
}

/// Copies a store that others may be writing to; the copy appears whole and checked, or not at all.
pub(crate) fn copy(from: &Connection, source: &Path, to: &Path) -> Result<(), SquadError> {
    make_folder(to.parent().unwrap_or(Path::new(".")))?;
    let beside = to.with_extension(UNFINISHED);
    let written = written(from, source, &beside).and_then(|()| {
        look(&beside)?;
        fs::rename(&beside, to).map_err(|error| SquadError::Store { what: format!("{}: {error}", to.display()) })
    });
    if written.is_err() {
        removed(&beside);
    }
    written
}

pub(crate) fn written(from: &Connection, source: &Path, beside: &Path) -> Result<(), SquadError> {
    removed(beside);
    let mut copy = Connection::open(beside).map_err(|error| told(&error, beside))?;
    private(beside, 0o600);
    Copying::new(from, &mut copy)
        .and_then(|copying| copying.run_to_completion(PAGES, Duration::ZERO, None))
        .map_err(|error| told(&error, source))?;
    let whole = || -> rusqlite::Result<bool> {
        // A backup is one file, without a log beside it.
        copy.pragma_update(None, "journal_mode", "delete")?;
        sound(&copy)
    };
    match whole() {
        Ok(true) => Ok(()),
        Ok(false) => Err(SquadError::Damaged { place: source.display().to_string(), backup: source.parent().and_then(last) }),
        Err(error) => Err(told(&error, beside)),
    }
}
