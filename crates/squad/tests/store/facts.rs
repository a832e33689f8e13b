//! Facts kept, given back, edited by two at once, taken back.

use boat::gauge::Gauge;
use squad::fact::boat_facts::{BaseSetting, Boat, NotchHeight, Reading};
use squad::fact::outing::{Outing, OutingSort, Tally, Way};
use squad::fact::recorder::{Recorder, RecorderGiven, TrackFile};
use squad::fact::sailor::Sailor;
use squad::fact::weigh::WeighIn;
use squad::fact::{TABLES, day::Day};
use squad::{Edit, HiddenMass, Id, SquadError};

use super::*;

#[test]
fn every_kind_is_given_back_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    add_every_kind(&mut store, 1, &text("a \u{1f6f6} \"quoted\"; DROP TABLE sailor; -- <b>\n\u{e9}"));
    let sailor = store.sailor_labelled("SAILOR 1").unwrap().unwrap();
    drop(store);
    let again = Store::open(folder.path()).unwrap().value;
    let other = tempfile::tempdir().unwrap();
    let mut fresh = new(other.path());
    add_every_kind(&mut fresh, 1, &text("a \u{1f6f6} \"quoted\"; DROP TABLE sailor; -- <b>\n\u{e9}"));
    assert_eq!(again.facts().unwrap(), TABLES.len());
    // The same seed gives the same facts: what differs is their ids alone.
    assert_eq!(again.all::<Sailor>().unwrap()[0].fact.mass_kg, fresh.all::<Sailor>().unwrap()[0].fact.mass_kg);
    assert_eq!(again.all::<Day>().unwrap()[0].fact, fresh.all::<Day>().unwrap()[0].fact);
    assert_eq!(again.get(sailor.id).unwrap().unwrap(), sailor);
    assert_eq!(again.answers_of(sailor.id).unwrap().len(), 1);
    assert_eq!(again.setups_given_to(sailor.id).unwrap()[0].fact.settings.len(), 2);
}

#[test]
fn an_edit_on_an_old_version_is_told_what_the_other_wrote() {
    let folder = tempfile::tempdir().unwrap();
    let mut mine = new(folder.path());
    let id = mine.add(&mio(), &writer(0)).unwrap().id;
    // The other tab is another connection.
    let mut theirs = Store::open(folder.path()).unwrap().value;
    let taller = Sailor { stature_m: Some(1.55), ..mio() };
    let Edit::Written(written) = theirs.edit(id, 1, &taller, &Writer { by: "parent".to_owned(), at: minute(1) }).unwrap() else {
        panic!("nobody else wrote")
    };
    assert_eq!(written.version, 2);
    let mine_was = Sailor { skill: Skill::RacesInAnyWind, ..mio() };
    let Edit::Overtaken(seen) = mine.edit(id, 1, &mine_was, &writer(2)).unwrap() else { panic!("it writes over the other's") };
    assert_eq!((seen.version, seen.edited_by.as_str(), &seen.fact), (2, "parent", &taller));
    assert_eq!(mine.get(id).unwrap().unwrap(), seen);
    let done = mine.edit(id, 2, &mine_was, &writer(3)).unwrap();
    assert!(matches!(&done, Edit::Written(kept) if kept.fact == mine_was && kept.version == 3));
    let former: Vec<_> = mine.former(id).unwrap().into_iter().map(|f| f.fact).collect();
    assert_eq!(former, [mio(), taller]);
}

#[test]
fn what_is_withdrawn_stays_and_is_listed_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let id = store.add(&mio(), &writer(0)).unwrap().id;
    assert!(matches!(store.withdraw(id, 1, &writer(1)).unwrap(), Edit::Written(_)));
    assert_eq!(store.sailors().unwrap(), []);
    assert!(store.get(id).unwrap().unwrap().withdrawn);
    assert!(matches!(store.edit(id, 2, &mio(), &writer(2)).unwrap(), Edit::Written(_)));
    assert_eq!(store.sailors().unwrap().len(), 1);
}

#[test]
fn what_cannot_be_right_is_refused_and_no_mass_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    store.add(&mio(), &writer(0)).unwrap();
    let refused = |store: &mut Store, sailor: Sailor| store.add(&sailor, &writer(0)).unwrap_err().to_string();
    let other = || Sailor { label: "Pia".to_owned(), ..mio() };
    for (sailor, words) in [
        (mio(), "there is a sailor Mio already"),
        (Sailor { label: "mIO".to_owned(), ..mio() }, "already"),
        (Sailor { label: " ".to_owned(), ..other() }, "needs a label"),
        (Sailor { label: "a".repeat(25), ..other() }, "too long for a card"),
        (Sailor { mass_kg: Some(HiddenMass::kilograms(417.0)), ..other() }, "the mass of Pia is not 20 to 110 kg"),
        (Sailor { mass_kg: Some(HiddenMass::kilograms(f64::NAN)), ..other() }, "the mass of Pia is not"),
        (Sailor { boat: Some(Id::of(7)), ..other() }, "not in the store"),
        (Sailor { name: Some("a".repeat(10_001)), ..other() }, "10000 letters at most"),
    ] {
        let said = refused(&mut store, sailor);
        assert!(said.contains(words) && said.contains("nothing was written") && !said.contains("417"), "{said}");
    }
    assert!(!format!("{:?}", mio()).contains("41.5"));
    assert_eq!(store.facts().unwrap(), 1);
    assert!(matches!(store.edit(Id::of(7), 1, &other(), &writer(0)), Err(SquadError::Absent { .. })));
}

#[test]
fn a_fact_sent_twice_by_a_phone_is_one() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let id = Id::of(0x1234);
    let first = store.add_as(id, &mio(), &writer(0)).unwrap();
    assert_eq!(store.add_as(id, &mio(), &writer(5)).unwrap(), first);
    let other = Sailor { label: "Pia".to_owned(), ..mio() };
    assert!(matches!(store.add_as(id, &other, &writer(5)), Err(SquadError::Refused { .. })));
    assert_eq!(store.facts().unwrap(), 1);
}

#[test]
fn nobody_is_guessed_home() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    add_every_kind(&mut store, 1, &text("a"));
    let outing: Id<Outing> = store.all::<Outing>().unwrap()[0].id;
    assert_eq!(store.all::<Outing>().unwrap()[0].fact.sort, OutingSort::RaceDay);
    let sailor = store.sailors().unwrap()[0].id;
    assert_eq!(store.still_out(outing).unwrap().len(), 1);
    let mut tally = |way, at| store.add(&Tally { outing, sailor, at, way, safety_boat: String::new() }, &writer(0)).unwrap();
    tally(Way::In, minute(30));
    tally(Way::Out, minute(31));
    tally(Way::In, minute(31));
    let out = store.still_out(outing).unwrap();
    assert_eq!(out.iter().map(|t| t.fact.at).collect::<Vec<_>>(), [minute(31)]);
    store.add(&Tally { outing, sailor, at: minute(60), way: Way::In, safety_boat: String::new() }, &writer(0)).unwrap();
    assert_eq!(store.still_out(outing).unwrap(), []);
}

#[test]
fn a_recorders_file_is_kept_once_and_as_it_came() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let sailor = store.add(&mio(), &writer(0)).unwrap().id;
    let bytes = [0_u8, 255, 13, 10, 0].repeat(1000);
    let file = |sailor| TrackFile { name: "a.fit".to_owned(), sha256: String::new(), at: minute(0), outing: None, sailor, recorder: None };
    let first = store.add_track(&bytes, file(None), &writer(0)).unwrap();
    assert_eq!(store.add_track(&bytes, file(None), &writer(9)).unwrap(), first);
    let second = store.add_track(&bytes, file(Some(sailor)), &writer(9)).unwrap();
    assert_ne!(second.id, first.id);
    assert_eq!(store.track_bytes(&second.fact).unwrap(), bytes);
    assert!(matches!(store.add_track(&[], file(None), &writer(0)), Err(SquadError::Refused { .. })));
    let recorder = store.add(&Recorder { mark: "17".to_owned(), words: String::new() }, &writer(0)).unwrap().id;
    store.add(&RecorderGiven { recorder, sailor, at: minute(10) }, &writer(0)).unwrap();
    assert_eq!(store.whose("17", minute(9)).unwrap(), None);
    assert_eq!(store.whose("17", minute(11)).unwrap(), Some(sailor));
}

/// As an upload comes: a part at a time, its length and hash told before. Where they are not the bytes', nothing is kept.
#[test]
fn a_file_that_is_read_in_parts_is_kept_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let bytes: Vec<u8> = (0..300_000_u64).map(|k| (k * k / 7) as u8).collect();
    let file = |sha256: &str| TrackFile {
        name: "a.fit".to_owned(),
        sha256: sha256.to_owned(),
        at: minute(0),
        outing: None,
        sailor: None,
        recorder: None,
    };
    let known = store.add_track(&bytes, file(""), &writer(0)).unwrap();
    let other = tempfile::tempdir().unwrap();
    let mut fresh = new(other.path());
    let hash = known.fact.sha256.as_str();
    for (told, length) in [("0".repeat(64), bytes.len()), (hash.to_owned(), bytes.len() - 1), (hash.to_owned(), bytes.len() + 1)] {
        assert!(matches!(fresh.add_track_from(&bytes[..], length, file(&told), &writer(0)), Err(SquadError::Store { .. })));
        assert_eq!(fresh.facts().unwrap(), 0);
    }
    let kept = fresh.add_track_from(&bytes[..], bytes.len(), file(hash), &writer(0)).unwrap();
    assert_eq!(fresh.track_bytes(&kept.fact).unwrap(), bytes);
    assert_eq!(fresh.add_track_from(&bytes[..], bytes.len(), file(hash), &writer(9)).unwrap(), kept);
}

#[test]
fn a_boat_is_known_as_it_was_last_measured() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let boat = store.add(&Boat { label: "Tern".to_owned(), class: None }, &writer(0)).unwrap().id;
    for (at, setting) in [(0, 0.10), (10, 0.12)] {
        store.add(&BaseSetting { boat, at: minute(at), gauge: Gauge::SailBoomGap, setting }, &writer(at)).unwrap();
        let reading = Reading { boat, at: minute(at), gauge: Gauge::SailBoomGap, setting, measured_by: "coach".to_owned() };
        store.add(&reading, &writer(at)).unwrap();
    }
    assert_eq!(store.base_setup_of(boat, minute(5)).unwrap()[&Gauge::SailBoomGap], 0.10);
    assert_eq!(store.base_setup_of(boat, minute(10)).unwrap()[&Gauge::SailBoomGap], 0.12);
    assert_eq!(store.rigged(boat, minute(0), minute(5)).unwrap()[&Gauge::SailBoomGap].fact.setting, 0.10);
    assert!(store.rigged(boat, minute(1), minute(5)).unwrap().is_empty());
    for (at, notch, height_m) in [(0, 3, 0.2), (1, 5, 0.3), (2, 5, 0.32)] {
        store.add(&NotchHeight { boat, at: minute(at), notch, height_m }, &writer(at)).unwrap();
        assert_eq!(store.boom_end_of(boat, minute(at)).unwrap().is_some(), at > 0);
    }
    let [first, second] = store.boom_end_of(boat, minute(9)).unwrap().unwrap();
    assert_eq!((first.notch, second.notch, second.height.in_metres()), (3, 5, 0.32));
    let weigh_in = WeighIn {
        boat,
        at: minute(0),
        on_scale: "with the trolley".to_owned(),
        reading_kg: 57.4,
        trolley_kg: Some(13.0),
        water_kg: 0.4,
        correctors_kg: 0.0,
        scale_error_kg: None,
    };
    assert_eq!(weigh_in.dry_kg(), 44.0);
    assert!(matches!(store.add(&WeighIn { trolley_kg: Some(60.0), ..weigh_in }, &writer(0)), Err(SquadError::Refused { .. })));
}

/// Two writes that belong together: neither stays when the second fails, or when the program faults between them.
#[test]
fn what_belongs_together_is_kept_together() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let refused: Result<(), squad::SquadError> = store.whole(|store| {
        store.add(&mio(), &writer(0))?;
        store.add(&mio(), &writer(0)).map(|_| ())
    });
    assert!(refused.is_err() && store.facts().unwrap() == 0);
    let fault = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        store.whole(|store| {
            store.add(&mio(), &writer(0)).unwrap();
            if store.facts().unwrap() == 1 {
                std::panic::panic_any("a fault")
            }
            Ok::<_, squad::SquadError>(())
        })
    }));
    assert!(fault.is_err() && store.facts().unwrap() == 0);
    // Writing goes on as before.
    assert!(store.whole(|store| store.add(&mio(), &writer(0))).is_ok());
    drop(store);
    assert_eq!(new(folder.path()).facts().unwrap(), 1);
}
