//! Two coaches' stores become one, whichever merges first, and nothing written is lost.

use proptest::prelude::*;
use squad::fact::outing::Note;
use squad::fact::sailor::Sailor;
use squad::{Edit, Merged};

use super::*;

/// Two stores that were one.
fn two() -> (tempfile::TempDir, tempfile::TempDir, Store, Store) {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut a = new(here.path());
    add_every_kind(&mut a, 1, &text("as it was"));
    let mut b = new(there.path());
    let merged = b.import(here.path(), &writer(0)).unwrap().value;
    assert_eq!((merged.added, merged.changed, merged.conflicts), (squad::fact::TABLES.len(), 0, 0));
    (here, there, a, b)
}

fn write(store: &mut Store, change: impl FnOnce(&mut Sailor), minutes: i64) {
    let kept = store.sailors().unwrap().remove(0);
    let mut fact = kept.fact.clone();
    change(&mut fact);
    assert!(matches!(store.edit(kept.id, kept.version, &fact, &writer(minutes)).unwrap(), Edit::Written(_)));
}

fn merge(into: &mut Store, from: &Path) -> Merged {
    into.import(from, &writer(0)).unwrap().value
}

#[test]
fn what_one_added_or_edited_the_other_gets() {
    let (here, there, mut a, mut b) = two();
    assert_eq!(same_facts(&a, &b), EVERY);
    write(&mut a, |s| s.stature_m = Some(1.61), 5);
    write(&mut a, |s| s.stature_m = Some(1.62), 6);
    add_every_kind(&mut b, 2, &text("new there"));
    let merged = merge(&mut b, here.path());
    assert_eq!((merged.added, merged.changed, merged.conflicts, merged.by_kind["sailor"]), (0, 1, 0, 1));
    let merged = merge(&mut a, there.path());
    assert_eq!((merged.added, merged.changed, merged.conflicts), (EVERY, 0, 0));
    assert_eq!(same_facts(&a, &b), 2 * EVERY);
    // An old store brought in again changes nothing.
    assert_eq!((merge(&mut a, there.path()).known, merge(&mut b, here.path()).known), (2 * EVERY, 2 * EVERY));
}

#[test]
fn two_who_edited_apart_are_both_heard() {
    let (here, there, mut a, mut b) = two();
    write(&mut a, |s| s.sail = Some("small".to_owned()), 5);
    write(&mut a, |s| s.mass_kg = Some(HiddenMass::kilograms(47.25)), 6);
    write(&mut b, |s| s.sail = Some("old".to_owned()), 7);
    let merged = merge(&mut a, there.path());
    assert_eq!((merged.conflicts, merged.changed), (1, 0));
    let kept = a.sailors().unwrap().remove(0);
    // The later edit stands, and the version counts on past both.
    assert_eq!((kept.fact.sail.as_deref(), kept.version, kept.edited_at), (Some("old"), 4, minute(7)));
    let conflict = a.conflicts().unwrap().remove(0);
    assert_eq!(conflict.kept::<Sailor>().unwrap().fact.sail.as_deref(), Some("old"));
    assert_eq!(conflict.other::<Sailor>().unwrap().fact.sail.as_deref(), Some("small"));
    assert!(conflict.other::<Note>().is_none());
    let differences = conflict.differences();
    assert!(differences.contains(&("sail".to_owned(), "old".to_owned(), "small".to_owned())), "{differences:?}");
    assert!(differences.contains(&("mass_kg".to_owned(), "hidden".to_owned(), "hidden".to_owned())), "{differences:?}");
    // The other store, merging what it had not seen, finds the same.
    assert_eq!(merge(&mut b, here.path()).conflicts, 0);
    same_facts(&a, &b);
    assert_eq!(b.conflicts().unwrap(), a.conflicts().unwrap());
    a.settle(&conflict).unwrap();
    assert_eq!(a.conflicts().unwrap(), []);
    merge(&mut b, here.path());
    assert_eq!(b.conflicts().unwrap(), []);
}

#[test]
fn both_merging_at_once_find_the_same() {
    let (here, there, mut a, mut b) = two();
    write(&mut a, |s| s.sail = Some("small".to_owned()), 5);
    write(&mut b, |s| s.sail = Some("old".to_owned()), 7);
    let copy = tempfile::tempdir().unwrap();
    merge(&mut new(copy.path()), here.path());
    assert_eq!(merge(&mut a, there.path()).conflicts, 1);
    assert_eq!(merge(&mut b, copy.path()).conflicts, 1);
    same_facts(&a, &b);
    let merged = merge(&mut a, there.path());
    assert_eq!((merged.added, merged.changed, merged.conflicts), (0, 0, 0));
    assert_eq!(a.conflicts().unwrap(), b.conflicts().unwrap());
}

#[test]
fn two_of_one_label_both_stay_and_are_told() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (mut a, mut b) = (new(here.path()), new(there.path()));
    a.add(&mio(), &writer(0)).unwrap();
    b.add(&Sailor { label: "MIO".to_owned(), ..mio() }, &writer(0)).unwrap();
    let merged = merge(&mut a, there.path());
    assert_eq!(merged.doubled.iter().map(|d| d.1.to_lowercase()).collect::<Vec<_>>(), ["mio"]);
    assert_eq!(a.sailors().unwrap().len(), 2);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, ..ProptestConfig::default() })]
    /// Edits in any order, merges in between in any direction: at the end both stores hold the same, and every word written is
    /// there, in the fact or among what it was before.
    #[test]
    fn stores_agree_at_last_and_keep_every_word(steps in proptest::collection::vec((0_u8..4, 0_i64..9), 1..9)) {
        let (here, there, mut a, mut b) = two();
        let mut written = Vec::new();
        for (k, (step, minutes)) in steps.into_iter().enumerate() {
            let words = format!("word {k}");
            match step {
                0 => write(&mut a, |s| s.sail = Some(words.clone()), minutes),
                1 => write(&mut b, |s| s.sail = Some(words.clone()), minutes),
                2 => { merge(&mut a, there.path()); }
                _ => { merge(&mut b, here.path()); }
            }
            if step < 2 {
                written.push(words);
            }
        }
        merge(&mut a, there.path());
        merge(&mut b, here.path());
        same_facts(&a, &b);
        prop_assert_eq!(a.conflicts().unwrap(), b.conflicts().unwrap());
        let kept = a.sailors().unwrap().remove(0);
        let known: Vec<_> = a.former(kept.id).unwrap().into_iter().chain([kept]).filter_map(|s| s.fact.sail).collect();
        for words in written {
            prop_assert!(known.contains(&words), "{} is lost: {:?}", words, known);
        }
    }
}
