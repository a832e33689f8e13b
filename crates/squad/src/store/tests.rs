//! What only the inside of the store can be asked: its tables against the kinds, and a disk that is full.

use rusqlite::types::Type;

use super::row::fifteen_digits;
use super::*;
use crate::fact::outing::Note;
use crate::fact::{Holds, TABLES};
use crate::id::Moment;

fn new(folder: &Path) -> Store {
    Store::open_or_new(folder).unwrap().value
}

fn note(words: &str) -> Note {
    Note { at: Moment::of_millis(0), words: words.to_owned(), sailor: None, boat: None, outing: None }
}

#[test]
fn tables_and_kinds_are_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let store = new(folder.path());
    for table in TABLES {
        let columns: Vec<(String, String)> = store
            .reading(|c| c.prepare(&format!("PRAGMA table_info({})", table.kind))?.query_map([], |r| Ok((r.get(1)?, r.get(2)?)))?.collect())
            .unwrap();
        let sort = |holds| match holds {
            Holds::Real => Type::Real,
            Holds::Whole | Holds::Flag => Type::Integer,
            Holds::Text | Holds::Json | Holds::Id(_) => Type::Text,
        };
        let declared: Vec<_> = table.columns.iter().map(|c| (c.name.to_owned(), sort(c.holds).to_string().to_uppercase())).collect();
        assert_eq!(columns[row::ROW.len()..], declared, "{}", table.kind);
        let mut references: Vec<(String, String)> = store
            .reading(|c| {
                c.prepare(&format!("PRAGMA foreign_key_list({})", table.kind))?.query_map([], |r| Ok((r.get(3)?, r.get(2)?)))?.collect()
            })
            .unwrap();
        references.retain(|(_, of)| of != "track_bytes");
        references.sort();
        let mut ids: Vec<_> = table
            .columns
            .iter()
            .filter_map(|c| if let Holds::Id(of) = c.holds { Some((c.name.to_owned(), of.to_owned())) } else { None })
            .collect();
        ids.sort();
        assert_eq!(references, ids, "{}", table.kind);
        // Forgetting a sailor deletes what refers to the sailor: nothing else may hang on that.
        let of_a_sailor = |kind: &str| TABLES.iter().any(|t| t.kind == kind && t.refers("sailor").next().is_some());
        assert!(!ids.iter().any(|(_, of)| of_a_sailor(of)), "{} hangs on what is a sailor's", table.kind);
    }
}

#[test]
fn a_full_disk_is_told_and_what_stood_there_stands() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let writer = Writer::now("coach");
    let kept = store.add(&note("a"), &writer).unwrap();
    let pages: i64 = store.reading(|c| c.pragma_query_value(None, "page_count", |r| r.get(0))).unwrap();
    store.reading(|c| c.pragma_update(None, "max_page_count", pages)).unwrap();
    let long = "long words ".repeat(900);
    let said = store.add(&note(&long), &writer).unwrap_err();
    assert!(matches!(said, SquadError::Full { .. }) && said.to_string().contains("make room"), "{said}");
    assert_eq!(store.all::<Note>().unwrap(), [kept]);
    store.reading(|c| c.pragma_update(None, "max_page_count", pages + 100)).unwrap();
    assert!(store.add(&note(&long), &writer).is_ok());
}

#[test]
fn a_store_that_may_not_be_written_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    store.reading(|c| c.pragma_update(None, "query_only", true)).unwrap();
    let said = store.add(&note("a"), &Writer::now("coach")).unwrap_err();
    assert!(matches!(said, SquadError::ReadOnly { backup: None, .. }), "{said}");
}

#[test]
fn fifteen_digits_stay_themselves() {
    for x in [0.1 + 0.2, 43.091_275_448_3, -1e-9 / 3.0, 0.0, 1234567.891_234_567_8] {
        let kept = fifteen_digits(x);
        assert!((kept - x).abs() <= 1e-14 * x.abs());
        assert_eq!(fifteen_digits(kept), kept);
        assert_eq!(serde_json::from_str::<f64>(&serde_json::to_string(&kept).unwrap()).unwrap(), kept);
    }
}
