//! A forgotten sailor is nowhere: every file of the store is searched, byte by byte.

use std::fs;

use squad::fact::outing::{Note, Outing};
use squad::fact::recorder::TrackFile;
use squad::fact::sailor::Sailor;

use super::*;

/// Files of a folder and those below that hold these bytes, in any mixture of large and small letters.
fn holding(folder: &Path, wanted: &[u8]) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        if entry.path().is_dir() {
            found.extend(holding(&entry.path(), wanted));
        } else if fs::read(entry.path()).unwrap().windows(wanted.len()).any(|w| w.eq_ignore_ascii_case(wanted)) {
            found.push(entry.file_name().into_string().unwrap());
        }
    }
    found
}

#[test]
fn no_byte_of_a_forgotten_sailor_is_left() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let other = add_every_kind(&mut store, 1, &text("of another"));
    let outing = store.all::<Outing>().unwrap()[0].id;
    // An uncommon number, whose bytes would be found.
    let mass = 43.987_654_321;
    let sailor = Sailor {
        label: "Quillonda".to_owned(),
        name: Some("Quillonda Brackwater".to_owned()),
        mass_kg: Some(HiddenMass::kilograms(mass)),
        ..mio()
    };
    let kept = store.add(&sailor, &writer(0)).unwrap();
    let _ = store.edit(kept.id, 1, &Sailor { stature_m: Some(1.6), ..sailor.clone() }, &writer(1)).unwrap();
    let about = |words: &str, sailor| Note { at: minute(0), words: words.to_owned(), sailor, boat: None, outing: Some(outing) };
    store.add(&about("held her flat", Some(kept.id)), &writer(0)).unwrap();
    let note = store.add(&about("sail 1 after QUILLONDA, not Quillondas; brackwater's boat", Some(other)), &writer(0)).unwrap();
    let _ = store.edit(note.id, 1, &about("Quillonda again", None), &writer(1)).unwrap();
    let track = |name: &str, sailor| TrackFile {
        name: name.to_owned(),
        sha256: String::new(),
        at: minute(0),
        outing: Some(outing),
        sailor: Some(sailor),
        recorder: None,
    };
    store.add_track(b"<gpx><name>Quillonda</name></gpx>", track("hers.gpx", kept.id), &writer(0)).unwrap();
    store.add_track(b"<gpx><desc>behind Quillonda Brackwater</desc></gpx>", track("of Quillonda.gpx", other), &writer(0)).unwrap();
    let backup = store.backup(minute(0)).unwrap();
    fs::write(folder.path().join("backups/squad-2026-01-01.db"), b"no store, but it names Quillonda").unwrap();
    fs::write(folder.path().join("backups/squad-2026-01-02.unfinished"), b"Quillonda").unwrap();
    assert!(holding(folder.path(), b"quillonda").len() >= 3);
    assert!(!holding(folder.path(), &mass.to_be_bytes()).is_empty());

    let done = store.forget(kept.id).unwrap();
    assert_eq!((done.facts, done.tracks, done.pictures), (4, 1, 1));
    assert_eq!(done.struck_tracks, ["of (forgotten).gpx"]);
    assert_eq!(done.backups_rewritten, std::slice::from_ref(&backup.place));
    assert_eq!(done.backups_deleted, [folder.path().join("backups/squad-2026-01-01.db")]);
    // The longer word is another's.
    let words = &store.get(note.id).unwrap().unwrap().fact.words;
    assert_eq!(words, "(forgotten) again");
    let was = &store.former(note.id).unwrap()[0].fact.words;
    assert_eq!(was, "sail 1 after (forgotten), not Quillondas; (forgotten)'s boat");
    let files: Vec<_> = store.tracks_of(outing).unwrap().into_iter().filter(|t| t.fact.name.contains("forgotten")).collect();
    assert_eq!(store.track_bytes(&files[0].fact).unwrap(), b"<gpx><desc>behind xxxxxxxxx xxxxxxxxxx</desc></gpx>");

    let _ = store.edit(note.id, 2, &about("nothing", None), &writer(2)).unwrap();
    let _ = store.former(note.id).unwrap();
    for gone in ["brackwater".as_bytes(), b"her flat", b"quillonda again", &mass.to_be_bytes()[..], b"hers.gpx"] {
        assert_eq!(holding(folder.path(), gone), Vec::<String>::new(), "{:?}", String::from_utf8_lossy(gone));
    }
    drop(store);
    let again = Store::open(folder.path()).unwrap().value;
    assert!(again.sailor_labelled("Quillonda").unwrap().is_none());
    assert_eq!(again.get(other).unwrap().unwrap().fact.label, "sailor 1");
}

/// Who is on a picture is not known: those of outings the sailor was in go, with their bytes and out of backups; others stand, and are counted.
#[test]
fn pictures_of_a_forgotten_sailors_outings_go() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let other = add_every_kind(&mut store, 1, &text("of another"));
    let first = store.all::<Outing>().unwrap()[0].clone();
    let second = store.add(&first.fact, &writer(0)).unwrap().id;
    let sailor = store.add(&Sailor { label: "Quillonda".to_owned(), ..mio() }, &writer(0)).unwrap().id;
    let picture = |outing| Picture {
        outing,
        name: "boats.jpg".to_owned(),
        sha256: String::new(),
        at: minute(0),
        camera_clock: Some("2026-04-02T12:03:22".to_owned()),
        ahead_s: None,
        shown_to: None,
    };
    // A name within a picture's bytes is no reason to touch them.
    let (hers, elsewhere) = (b"\xff\xd8\xff a picture with her", b"\xff\xd8\xff a picture, Quillonda, elsewhere");
    store.add(&Tally { outing: second, sailor, at: minute(0), way: Way::Out, safety_boat: String::new() }, &writer(0)).unwrap();
    let kept = store.add_picture(hers, picture(second), &writer(0)).unwrap();
    assert_eq!(store.add_picture(hers, picture(second), &writer(1)).unwrap(), kept, "the same picture once");
    let stays = store.add_picture(elsewhere, picture(first.id), &writer(0)).unwrap();
    store.backup(minute(0)).unwrap();
    let done = store.forget(sailor).unwrap();
    assert_eq!((done.pictures, done.pictures_left), (1, 2));
    assert!(store.pictures_of(second).unwrap().is_empty());
    assert_eq!(holding(folder.path(), b"a picture with her"), Vec::<String>::new());
    assert_eq!(store.picture_bytes(&stays.fact).unwrap(), elsewhere);
    // Shown to another who is forgotten, a picture goes too.
    assert_eq!(store.forget(other).unwrap().pictures, 2);
    assert!(store.pictures_of(first.id).unwrap().is_empty());
}

#[test]
fn pictures_stand_at_their_moment_once_the_camera_is_known() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    add_every_kind(&mut store, 1, &text("a"));
    let outing = store.all::<Outing>().unwrap()[0].id;
    let picture = |clock: Option<&str>, ahead_s| Picture {
        outing,
        name: "a.jpg".to_owned(),
        sha256: String::new(),
        at: minute(0),
        camera_clock: clock.map(str::to_owned),
        ahead_s,
        shown_to: None,
    };
    let zone = jiff::tz::TimeZone::get("Europe/Lisbon").unwrap();
    let taken = |clock, ahead| picture(clock, ahead).taken(&zone).map(|t| t.to_string());
    assert_eq!(taken(Some("2026-06-14T14:03:22"), Some(82.0)).as_deref(), Some("2026-06-14T13:02:00.000Z"));
    assert_eq!((taken(Some("2026-06-14T14:03:22"), None), taken(None, Some(0.0))), (None, None));
    let mut refused = |bytes: &[u8], one: Picture| store.add_picture(bytes, one, &writer(0)).unwrap_err().to_string();
    assert!(refused(b"", picture(None, None)).contains("has 0 bytes"));
    assert!(refused(&vec![0; squad::fact::picture::LARGEST_PICTURE + 1], picture(None, None)).contains("1 to 16 MB"));
    assert!(refused(b"x", picture(Some("yesterday"), None)).contains("camera's clock is written like"));
    assert!(refused(b"x", picture(None, Some(1e12))).contains("how far the camera's clock was ahead"));
    let kept = store.add_picture(b"\xff\xd8\xff drop me", picture(None, None), &writer(0)).unwrap();
    store.drop_picture(kept.id).unwrap();
    assert!(store.get(kept.id).unwrap().is_none() && store.picture_bytes(&kept.fact).is_err());
}

#[test]
fn a_merge_does_not_bring_a_forgotten_sailor_back() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut a = new(here.path());
    let sailor = add_every_kind(&mut a, 1, &text("a"));
    let mut b = new(there.path());
    b.import(here.path(), &writer(0)).unwrap();
    let done = a.forget(sailor).unwrap();
    let about = squad::fact::TABLES.iter().filter(|t| t.columns.iter().any(|c| c.holds == squad::fact::Holds::Id("sailor"))).count();
    assert_eq!(done.facts, 1 + about);
    let merged = a.import(there.path(), &writer(0)).unwrap().value;
    assert_eq!((merged.added, merged.forgotten, merged.known), (0, 1 + about, KINDS - 1 - about));
    assert!(a.sailors().unwrap().is_empty());
    assert!(a.add_as(sailor, &mio(), &writer(0)).is_err());
    assert!(a.forget(sailor).is_err());
    // The other store still has the sailor, and is told.
    let told = b.import(here.path(), &writer(0)).unwrap().value.forgotten_there;
    assert_eq!((told, b.sailors().unwrap().len()), (vec!["sailor 1".to_owned()], 1));
    // A third, by an archive, takes over that the sailor is forgotten.
    let mut archive = std::io::Cursor::new(Vec::new());
    a.export(&mut archive, minute(0)).unwrap();
    let third = tempfile::tempdir().unwrap();
    let mut c = new(third.path());
    c.import_archive("archive", archive).unwrap();
    assert_eq!(c.import(there.path(), &writer(0)).unwrap().value.forgotten, 1 + about);
}

/// Stopped between the store and its clearing (a flat battery, a full disk), the next opening clears it.
#[test]
fn a_forgetting_that_was_stopped_is_finished_at_the_next_opening() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let kept = store.add(&Sailor { label: "Quillonda".to_owned(), ..mio() }, &writer(0)).unwrap();
    // Another program has the store open and reads: the file cannot be written anew now.
    let reader = rusqlite::Connection::open(store.place()).unwrap();
    reader.execute_batch("BEGIN; SELECT * FROM sailor").unwrap();
    assert!(store.forget(kept.id).is_err());
    assert!(!holding(folder.path(), b"quillonda").is_empty());
    drop(store);
    drop(reader);
    let store = new(folder.path());
    assert!(store.sailors().unwrap().is_empty());
    assert_eq!(holding(folder.path(), b"quillonda"), Vec::<String>::new());
    assert!(!folder.path().join(".forgetting").exists());
}
