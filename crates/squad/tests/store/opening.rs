//! What cannot be opened is told in a coach's words, offers the last backup, and is not touched.

use std::fs;
use std::path::PathBuf;

use rusqlite::Connection;
use squad::fact::sailor::Sailor;
use squad::fact::weigh::WeighIn;
use squad::{SCHEMA, SquadError};

use super::*;

const SCHEMA_1: &str = include_str!("fixtures/schema_1.sql");
/// A store of each earlier schema, and how many facts are in it.
const EARLIER: [(&str, usize); SCHEMA as usize - 1] = [
    (SCHEMA_1, 4),
    (include_str!("fixtures/schema_2.sql"), 9),
    (include_str!("fixtures/schema_3.sql"), 10),
    (include_str!("fixtures/schema_4.sql"), 11),
    (include_str!("fixtures/schema_5.sql"), 12),
    (include_str!("fixtures/schema_6.sql"), 13),
    (include_str!("fixtures/schema_7.sql"), 13),
];

/// Every file below a folder with its bytes.
fn bytes(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        if entry.path().is_dir() {
            all.extend(bytes(&entry.path()));
        } else {
            all.insert(entry.path(), fs::read(entry.path()).unwrap());
        }
    }
    all
}

/// A store with a backup, and its file.
fn stored() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    add_every_kind(&mut store, 1, &text("a"));
    store.backup(minute(0)).unwrap();
    let file = store.place().to_owned();
    (folder, file)
}

/// Opening fails, touches nothing and says these words.
fn refused(folder: &Path, words: &[&str]) {
    let before = bytes(folder);
    let said = Store::open(folder).unwrap_err().to_string();
    for word in words {
        assert!(said.contains(word), "{word:?} is not in {said:?}");
    }
    assert!(bytes(folder) == before, "something was touched: {said}");
}

#[test]
fn where_there_is_none_it_is_told() {
    let folder = tempfile::tempdir().unwrap();
    refused(folder.path(), &["there is no squad kept here", "trimwright import"]);
    assert!(Store::open_or_new(&folder.path().join("a/b")).is_ok());
}

#[test]
fn damaged_at_the_head_in_the_middle_or_cut() {
    for what in ["head", "middle", "cut", "empty"] {
        let (folder, file) = stored();
        let mut bytes = fs::read(&file).unwrap();
        let middle = bytes.len() / 2;
        match what {
            "head" => bytes[..100].fill(7),
            "middle" => bytes[middle..middle + 5000].fill(0xa5),
            "cut" => bytes.truncate(middle),
            _ => bytes.clear(),
        }
        fs::write(&file, bytes).unwrap();
        refused(folder.path(), &["damaged, and nothing was changed", "the last backup is", "squad-2026-04-02.db", "trimwright import"]);
    }
}

#[test]
fn from_a_newer_version() {
    let (folder, file) = stored();
    Connection::open(&file).unwrap().execute_batch("PRAGMA journal_mode = delete; PRAGMA user_version = 99").unwrap();
    refused(folder.path(), &["a newer version", "schema 99", "the last backup is"]);
}

#[test]
fn of_another_program() {
    let folder = tempfile::tempdir().unwrap();
    Connection::open(folder.path().join(squad::FILE)).unwrap().execute_batch("CREATE TABLE recipe (name TEXT)").unwrap();
    refused(folder.path(), &["no squad's store", "left alone"]);
}

#[test]
fn marked_read_only() {
    let (folder, file) = stored();
    let mut permissions = fs::metadata(&file).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&file, permissions).unwrap();
    refused(folder.path(), &["may be read but not written", "nothing was changed", "the last backup is"]);
}

#[test]
fn held_by_another_program() {
    let (folder, file) = stored();
    let other = Connection::open(&file).unwrap();
    let mut store = Store::open(folder.path()).unwrap().value;
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let said = store.add(&mio(), &writer(0)).unwrap_err();
    assert!(matches!(said, SquadError::Locked { .. }) && said.to_string().contains("another program is writing"), "{said}");
    other.execute_batch("COMMIT").unwrap();
    assert!(store.add(&mio(), &writer(0)).is_ok());
}

#[test]
fn an_older_schema_is_put_aside_and_upgraded() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(squad::FILE);
    Connection::open(&file).unwrap().execute_batch(SCHEMA_1).unwrap();
    let store = Store::open(folder.path()).unwrap().value;
    let mio = store.sailor_labelled("mio").unwrap().unwrap();
    assert_eq!((mio.version, mio.fact.stature_m, mio.fact.skill), (2, Some(1.5), Skill::Races));
    assert_eq!(mio.fact.mass_kg, Some(HiddenMass::kilograms(41.5)));
    assert_eq!(store.former(mio.id).unwrap()[0].fact.mass_kg, Some(HiddenMass::kilograms(40.0)));
    let boat = store.boat_labelled("Tern").unwrap().unwrap();
    assert_eq!(store.of::<WeighIn, _>(boat.id).unwrap()[0].fact.dry_kg(), 44.1);
    assert_eq!(store.facts().unwrap(), 4);
    assert!(store.backups()[0].ends_with("backups/schema-1.db"), "{:?}", store.backups());
    drop(store);

    let fresh = tempfile::tempdir().unwrap();
    drop(new(fresh.path()));
    // A backup of the older schema can be brought into a new store.
    let mut other = Store::open(fresh.path()).unwrap().value;
    assert_eq!(other.import(&folder.path().join("backups/schema-1.db"), &writer(0)).unwrap().value.added, 4);
    let again = Sailor { label: "Pia".to_owned(), ..super::mio() };
    assert!(other.add_as(squad::Id::of(0xf0990), &again, &writer(0)).is_err(), "who was forgotten there is forgotten here");
}

/// What becomes of every earlier schema is what a new store has, with all its facts: no migration was edited, none loses a row.
#[test]
fn every_earlier_schema_becomes_todays() {
    let fresh = tempfile::tempdir().unwrap();
    let fresh_file = new(fresh.path()).place().to_owned();
    let schema = |file: &Path| -> Vec<String> {
        let connection = Connection::open(file).unwrap();
        let version: i64 = connection.pragma_query_value(None, "user_version", |r| r.get(0)).unwrap();
        assert_eq!(version, SCHEMA);
        let mut query = connection.prepare("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name").unwrap();
        query.query_map([], |r| r.get(0)).unwrap().map(|sql| sql.unwrap()).collect()
    };
    for (k, (earlier, facts)) in EARLIER.into_iter().enumerate() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(squad::FILE);
        Connection::open(&file).unwrap().execute_batch(earlier).unwrap();
        let store = Store::open(folder.path()).unwrap().value;
        assert_eq!(store.facts().unwrap(), facts, "schema {}", k + 1);
        for track in store.all::<TrackFile>().unwrap() {
            assert!(store.track_bytes(&track.fact).unwrap().starts_with(b"<gpx>"));
        }
        assert!(store.backups().iter().any(|b| b.ends_with(format!("backups/schema-{}.db", k + 1))));
        // It takes facts of every kind, and goes whole into an archive and out of it.
        let mut store = store;
        add_every_kind(&mut store, 1, &text("new"));
        let mut archive = std::io::Cursor::new(Vec::new());
        store.export(&mut archive, minute(0)).unwrap();
        let other = tempfile::tempdir().unwrap();
        assert_eq!(new(other.path()).import_archive("archive", archive).unwrap().value.added, facts + KINDS);
        drop(store);
        assert_eq!(schema(&file), schema(&fresh_file));
    }
}

/// A laptop's clock is set back between two edits, and a backup is made on a day before the last.
#[test]
fn a_clock_set_back_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let kept = store.add(&mio(), &writer(600)).unwrap();
    store.backup(minute(0)).unwrap();
    let taller = Sailor { stature_m: Some(1.55), ..mio() };
    let squad::Edit::Written(edited) = store.edit(kept.id, 1, &taller, &writer(-90 * 24 * 60)).unwrap() else {
        unreachable!("nobody else wrote")
    };
    assert_eq!((edited.version, edited.fact.stature_m), (2, Some(1.55)));
    assert_eq!(store.former(kept.id).unwrap()[0].fact.stature_m, Some(1.5));
    let earlier = store.backup(minute(-90 * 24 * 60)).unwrap();
    assert!(earlier.made_room.is_empty() && store.backups().len() == 2);
    // The copy with the wrong clock is brought to another coach, who has the first version: the edit made on it stands there too.
    let there = tempfile::tempdir().unwrap();
    let mut other = new(there.path());
    other.import(&folder.path().join("backups/squad-2026-04-02.db"), &writer(0)).unwrap();
    other.import(folder.path(), &writer(0)).unwrap();
    assert_eq!(other.get(kept.id).unwrap().unwrap().fact.stature_m, Some(1.55));
    assert!(other.conflicts().unwrap().is_empty());
}

#[cfg(unix)]
#[test]
fn the_store_is_its_owners_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(&folder.path().join("squad"));
    store.add(&mio(), &writer(0)).unwrap();
    let backup = store.backup(minute(0)).unwrap().place;
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(store.folder()), mode(store.place()), mode(&backup)), (0o700, 0o600, 0o600));
}
