//! Archives: out and in again is the same; what is no archive is told, and brings nothing in.

use std::fs;
use std::io::{Cursor, Read, Write};

use proptest::prelude::*;

use super::*;

fn exported(store: &Store) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    store.export(&mut bytes, minute(0)).unwrap();
    bytes.into_inner()
}

/// An archive's files with one of them changed.
fn changed(archive: &[u8], file: &str, change: impl Fn(Vec<u8>) -> Vec<u8>) -> Vec<u8> {
    let mut from = zip::ZipArchive::new(Cursor::new(archive)).unwrap();
    let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for name in from.file_names().map(str::to_owned).collect::<Vec<_>>() {
        let mut bytes = Vec::new();
        from.by_name(&name).unwrap().read_to_end(&mut bytes).unwrap();
        to.start_file(&name, zip::write::SimpleFileOptions::default()).unwrap();
        to.write_all(&if name.starts_with(file) { change(bytes) } else { bytes }).unwrap();
    }
    to.finish().unwrap().into_inner()
}

fn replaced(from: &'static str, to: &'static str) -> impl Fn(Vec<u8>) -> Vec<u8> {
    move |bytes| {
        let text = String::from_utf8(bytes).unwrap();
        assert!(text.contains(from), "{text}");
        text.replacen(from, to, 1).into_bytes()
    }
}

#[test]
fn what_is_no_archive_brings_nothing_in() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    add_every_kind(&mut store, 1, &text("a"));
    let archive = exported(&store);
    let wrong: Vec<(&str, Vec<u8>, &str)> = vec![
        ("cut", archive[..archive.len() / 2].to_vec(), "not a whole archive"),
        ("other", changed(&archive, "about.json", replaced("squad archive", "shopping list")), "no squad's archive"),
        ("newer", changed(&archive, "about.json", replaced("\"schema\":3", "\"schema\":4")), "a newer version"),
        ("id", changed(&archive, "facts/boat.json", replaced("\"id\":\"", "\"id\":\"../")), "32 digits"),
        ("kind", changed(&archive, "facts/boat.json", replaced("\"label\"", "\"lable\"")), "lable is not known of a boat"),
        ("label", changed(&archive, "facts/boat.json", replaced("boat 1", " ")), "needs a label"),
        ("parent", changed(&archive, "facts/boat.json", |_| b"[]".to_vec()), "refers to what is not there"),
        ("bytes", changed(&archive, "tracks/", |_| b"other".to_vec()), "not those it is named after"),
        ("text", changed(&archive, "facts/boat.json", |_| b"{".to_vec()), "facts/boat.json"),
        ("mass", changed(&archive, "facts/sailor.json", replaced("\"mass_kg\":", "\"mass_kg\":9")), "the mass of sailor 1 is not"),
    ];
    let other = tempfile::tempdir().unwrap();
    let mut empty = new(&other.path().join("store"));
    for (name, bytes, words) in wrong {
        let path = other.path().join(name);
        fs::write(&path, bytes).unwrap();
        let said = empty.import(&path, &writer(0)).unwrap_err().to_string();
        assert!(said.contains(words) && said.contains("nothing was brought in"), "{name}: {said}");
        assert_eq!(empty.facts().unwrap(), 0);
    }
    // What is not known is left out and told; nothing is written where its name points.
    let path = other.path().join("slip");
    let mut zip = zip::ZipWriter::new_append(Cursor::new(archive)).unwrap();
    zip.start_file("../../slipped", zip::write::SimpleFileOptions::default()).unwrap();
    zip.write_all(b"x").unwrap();
    fs::write(&path, zip.finish().unwrap().into_inner()).unwrap();
    let merged = empty.import(&path, &writer(0)).unwrap();
    assert_eq!((merged.value.added, merged.warnings.len()), (EVERY, 1));
    let mut left: Vec<_> =
        fs::read_dir(other.path().join("store")).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    left.sort();
    assert_eq!(left, ["squad.db", "squad.db-shm", "squad.db-wal"]);
    assert!(store.import(folder.path(), &writer(0)).unwrap_err().to_string().contains("the store itself"));
}

fn seeds() -> impl Strategy<Value = Vec<Seed>> {
    let seed = (any::<String>(), 0.0..1.0_f64, 0_i64..7_258_118_399_999);
    let seed = seed.prop_map(|(words, share, millis)| Seed { words, share, at: Moment::of_millis(millis) });
    proptest::collection::vec(seed, 1..3)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, ..ProptestConfig::default() })]
    /// Any facts, out and in again, are the very same: each number to its last digit, each text to its last letter.
    #[test]
    fn out_and_in_again_is_the_same(seeds in seeds()) {
        let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let (mut a, mut b) = (new(here.path()), new(there.path()));
        for (number, seed) in seeds.iter().enumerate() {
            add_every_kind(&mut a, number, seed);
        }
        let kept = a.sailors().unwrap().remove(0);
        let _ = a.edit(kept.id, 1, &Sailor { sail: Some("other".to_owned()), ..kept.fact }, &writer(0)).unwrap();
        let archive = exported(&a);
        let merged = b.import_archive("archive", Cursor::new(&archive)).unwrap();
        prop_assert_eq!(merged.warnings, []);
        prop_assert_eq!(merged.value.added, EVERY * seeds.len());
        prop_assert_eq!(same_facts(&a, &b), EVERY * seeds.len());
        prop_assert_eq!(archive, exported(&b));
    }
}
