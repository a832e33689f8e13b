//! Backups: one a day of use, seven kept, each whole before it counts.

use std::fs;

use squad::{BACKUPS_KEPT, SquadError};

use super::*;

/// Minutes in a day.
const DAY: i64 = 1440;

#[test]
fn each_day_of_use_has_one_and_seven_are_kept() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    assert_eq!(store.backup_of_the_day(minute(0)).unwrap(), None, "there is nothing to keep");
    store.add(&mio(), &writer(0)).unwrap();
    for day in 0..9 {
        let backup = store.backup_of_the_day(minute(day * DAY)).unwrap().unwrap();
        assert_eq!((backup.facts, backup.made_room.len()), (1, usize::from(day >= 7)));
        assert_eq!(store.backup_of_the_day(minute(day * DAY + 60)).unwrap(), None);
    }
    let backups = store.backups();
    assert_eq!(backups.len(), BACKUPS_KEPT);
    assert!(backups[6].ends_with("backups/squad-2026-04-10.db"), "{backups:?}");
    // Opened again, the day of the machine's clock is a new one.
    drop(store);
    let again = Store::open(folder.path()).unwrap();
    assert_eq!((again.warnings.len(), again.value.backups().len()), (0, 7));
    assert!(!again.value.backups()[6].ends_with("squad-2026-04-10.db"));
}

#[test]
fn a_backup_is_a_store_again() {
    let (folder, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut store = new(folder.path());
    add_every_kind(&mut store, 1, &text("a"));
    let backup = store.backup(minute(0)).unwrap();
    store.add(&mio(), &writer(0)).unwrap();
    let mut restored = new(other.path());
    assert_eq!(restored.import(&backup.place, &writer(0)).unwrap().value.added, EVERY);
    // In place of today's earlier one.
    assert_eq!(store.backup(minute(60)).unwrap().facts, EVERY + 1);
    assert_eq!(store.backups().len(), 1);
    assert_eq!(fs::read_dir(folder.path().join("backups")).unwrap().count(), 1);
}

#[test]
fn damage_does_not_take_the_place_of_a_good_backup() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    for k in 0..40 {
        add_every_kind(&mut store, k, &text(&"long words ".repeat(20)));
    }
    let backup = store.backup(minute(0)).unwrap();
    let good = fs::read(&backup.place).unwrap();
    drop(store);
    let mut bytes = fs::read(folder.path().join(squad::FILE)).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 8192].fill(0xa5);
    fs::write(folder.path().join(squad::FILE), bytes).unwrap();
    let said = Store::open(folder.path()).unwrap_err();
    assert!(matches!(&said, SquadError::Damaged { backup: Some(last), .. } if *last == backup.place.display().to_string()), "{said}");
    assert_eq!(fs::read(&backup.place).unwrap(), good);
    assert_eq!(fs::read_dir(folder.path().join("backups")).unwrap().count(), 1);
}
