//! Opening a store: looked at first without touching it, then brought to today's schema, with a backup before.

use std::fs::{self, DirBuilder};
use std::path::Path;
use std::time::Duration;

use measure::{Warned, Warning};
use rusqlite::{Connection, OpenFlags};
use rusqlite_migration::{M, Migrations};

use super::{FILE, Store, backup, told};
use crate::error::SquadError;
use crate::id::Moment;

/// The migrations, in order; never edited, only added to.
const MIGRATIONS: &[M<'static>] = &[
    M::up(include_str!("../../migrations/0001_squad_and_days.sql")),
    M::up(include_str!("../../migrations/0002_tracks_races_school.sql")),
    M::up(include_str!("../../migrations/0003_course.sql")),
    M::up(include_str!("../../migrations/0004_safety_limit.sql")),
    M::up(include_str!("../../migrations/0005_sailor_links.sql")),
    M::up(include_str!("../../migrations/0006_correction.sql")),
    M::up(include_str!("../../migrations/0007_indexes.sql")),
    M::up(include_str!("../../migrations/0008_pictures.sql")),
];

/// The newest schema known.
pub const SCHEMA: i64 = MIGRATIONS.len() as i64;

/// Says in the file's header whose it is: "Trim" in ASCII. SQLite keeps a place for it.
const WHOSE: i64 = 0x5472_696d;

/// How long a write waits for another program's to end.
const PATIENCE: Duration = Duration::from_secs(2);

/// A store up to this size is checked whole when it is opened; a larger one when it is backed up, each day of use. Measured: 16 MB
/// of notes take 25 ms.
const CHECKED_AT_OPENING: u64 = 16 << 20;

impl Store {
    /// Opens the store of a folder, and makes the day's backup if there is none yet; a backup that could not be made is a warning.
    ///
    /// # Errors
    /// When there is none, or it is locked, read-only, damaged, another program's, or from a newer version of this one: then
    /// nothing was touched.
    pub fn open(folder: &Path) -> Result<Warned<Self>, SquadError> {
        let place = folder.join(FILE);
        if !place.exists() {
            return Err(SquadError::NoStore { place: folder.display().to_string() });
        }
        let schema = look(&place)?;
        let warning = |what: SquadError| Warning::new("the day's backup", format!("it was not made: {what}"));
        let mut warnings = Vec::new();
        if schema < SCHEMA {
            // Nothing is upgraded that was not put aside before.
            backup::before_schema(&place, schema)?;
        }
        let store = Self::opened(&place)?;
        if let Err(error) = store.finish_forgetting() {
            warnings.push(Warning::new("a forgotten sailor", format!("the file still holds traces, and is to be written anew: {error}")));
        }
        if let Err(error) = store.backup_of_the_day(Moment::now()) {
            warnings.push(warning(error));
        }
        Ok(Warned::new(store, warnings))
    }

    /// Opens the store of a folder; where there is none, makes it. The folder is its owner's alone.
    ///
    /// # Errors
    /// As [`Store::open`], and where no folder can be made.
    pub fn open_or_new(folder: &Path) -> Result<Warned<Self>, SquadError> {
        if folder.join(FILE).exists() {
            return Self::open(folder);
        }
        make_folder(folder)?;
        Ok(Warned::clean(Self::opened(&folder.join(FILE))?))
    }

    /// Opens a file that was looked at, or makes it, and brings it to today's schema.
    pub(crate) fn opened(place: &Path) -> Result<Self, SquadError> {
        let opened = || -> rusqlite::Result<Connection> {
            let connection = Connection::open(place)?;
            settle(&connection)?;
            let whose: i64 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
            if whose != WHOSE {
                connection.pragma_update(None, "application_id", WHOSE)?;
            }
            Ok(connection)
        };
        let mut connection = opened().map_err(|error| told(&error, place))?;
        Migrations::from_slice(MIGRATIONS).to_latest(&mut connection).map_err(|error| match error {
            rusqlite_migration::Error::RusqliteError { err, .. } => told(&err, place),
            other => SquadError::Store { what: format!("{}: it cannot be brought to schema {SCHEMA}: {other}", place.display()) },
        })?;
        private(place, 0o600);
        Ok(Self { connection, place: place.to_owned() })
    }
}

/// How every connection works: to the disk before it is acknowledged, references hold, what is deleted is overwritten.
fn settle(connection: &Connection) -> rusqlite::Result<()> {
    connection.busy_timeout(PATIENCE)?;
    connection.pragma_update(None, "journal_mode", "wal")?;
    connection.pragma_update(None, "synchronous", "full")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "secure_delete", true)?;
    // A file from elsewhere may not bring code with it.
    connection.pragma_update(None, "trusted_schema", false)?;
    Ok(())
}

/// Looks at a file without touching it: its schema.
///
/// # Errors
/// When it is no store, damaged, read-only or from a newer version.
pub(crate) fn look(place: &Path) -> Result<i64, SquadError> {
    let about = fs::metadata(place).map_err(|error| SquadError::Store { what: format!("{}: {error}", place.display()) })?;
    let backup = || backup::last(place.parent().unwrap_or(Path::new(".")));
    let at = || place.display().to_string();
    if about.permissions().readonly() {
        return Err(SquadError::ReadOnly { place: at(), backup: backup() });
    }
    let connection = untouched(place).map_err(|error| told(&error, place))?;
    let asked = |name: &str| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0)).map_err(|error| told(&error, place));
    let (schema, whose) = (asked("user_version")?, asked("application_id")?);
    if whose != WHOSE {
        return Err(if about.len() == 0 {
            SquadError::Damaged { place: at(), backup: backup() }
        } else {
            SquadError::NotAStore { place: at() }
        });
    }
    if schema > SCHEMA {
        return Err(SquadError::Newer { place: at(), found: schema, known: SCHEMA, backup: backup() });
    }
    if about.len() <= CHECKED_AT_OPENING && !sound(&connection).map_err(|error| told(&error, place))? {
        return Err(SquadError::Damaged { place: at(), backup: backup() });
    }
    Ok(schema)
}

/// Opens a file to read. Where no log waits beside it, nothing at all is written, not even a lock.
pub(crate) fn untouched(place: &Path) -> rusqlite::Result<Connection> {
    let mut log = place.as_os_str().to_owned();
    log.push("-wal");
    let waits = fs::metadata(&log).is_ok_and(|about| about.len() > 0);
    let path = place.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23");
    let uri = format!("file:{path}?mode=ro{}", if waits { "" } else { "&immutable=1" });
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(uri, flags)?;
    connection.busy_timeout(PATIENCE)?;
    Ok(connection)
}

/// Whether every page of it is what it should be.
pub(crate) fn sound(connection: &Connection) -> rusqlite::Result<bool> {
    let said: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    Ok(said == "ok")
}

/// Makes a folder that is its owner's alone.
pub(crate) fn make_folder(folder: &Path) -> Result<(), SquadError> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder
        .create(folder)
        .map_err(|error| SquadError::Store { what: format!("{}: no folder can be made there: {error}", folder.display()) })
}

/// Makes a file its owner's alone, where files have owners.
pub(crate) fn private(place: &Path, mode: u32) {
    #[cfg(unix)]
    {
        let permissions = std::os::unix::fs::PermissionsExt::from_mode(mode);
        let _ = fs::set_permissions(place, permissions);
    }
    #[cfg(not(unix))]
    let _ = (place, mode);
}
