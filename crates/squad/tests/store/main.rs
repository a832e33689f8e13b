//! The store as its callers meet it: every kind kept and given back, two coaches' stores united, damage told, sailors forgotten.

#![expect(clippy::unwrap_used, reason = "a test stops at what does not go on")]

mod archive;
mod backups;
mod facts;
mod forgetting;
mod merging;
mod opening;
mod shared;
mod squad_files;

use std::collections::BTreeMap;
use std::path::Path;

use boat::crew::Skill;
use boat::gauge::Gauge;
use squad::fact::boat_facts::{BaseSetting, Boat, NotchHeight, PenLine, Reading};
use squad::fact::class_file::ClassFile;
use squad::fact::correction::Correction;
use squad::fact::day::{Crewed, Day, FloatsIn, ForecastHour, GustLimit, SafetyLimit, Tick};
use squad::fact::link::{SailorLink, Secret};
use squad::fact::outing::{DrillDone, Note, Observation, Outing, OutingSort, Tally, Way};
use squad::fact::picture::Picture;
use squad::fact::quiz::QuizAnswer;
use squad::fact::race::{Course, Series};
use squad::fact::recorder::{Recorder, RecorderGiven, TrackFile};
use squad::fact::sailor::Sailor;
use squad::fact::setup::SetupGiven;
use squad::fact::weigh::WeighIn;
use squad::{Fact, HiddenMass, Id, Kept, Moment, Store, Writer};

/// How many facts one of every kind are.
const KINDS: usize = squad::fact::TABLES.len();

/// Noon of a day in April 2026, plus minutes.
fn minute(minutes: i64) -> Moment {
    Moment::of_millis(1_775_131_200_000 + minutes * 60_000)
}

fn writer(minutes: i64) -> Writer {
    Writer { by: "coach".to_owned(), at: minute(minutes) }
}

fn new(folder: &Path) -> Store {
    let opened = Store::open_or_new(folder).unwrap();
    assert_eq!(opened.warnings, []);
    opened.value
}

fn mio() -> Sailor {
    Sailor {
        label: "Mio".to_owned(),
        name: None,
        mass_kg: Some(HiddenMass::kilograms(41.5)),
        stature_m: Some(1.5),
        hand_m: None,
        skill: Skill::Races,
        sail: None,
        boat: None,
    }
}

/// What facts are made of: words, a share of each range, a moment.
#[derive(Debug, Clone)]
struct Seed {
    words: String,
    share: f64,
    at: Moment,
}

/// Adds one fact of every kind; the sailor's id.
fn add_every_kind(store: &mut Store, number: usize, seed: &Seed) -> Id<Sailor> {
    let w = Writer { by: seed.words.clone(), at: seed.at };
    let (at, words) = (seed.at, || seed.words.clone());
    let range = |low: f64, high: f64| low + (high - low) * seed.share;
    let some = |value: f64| (seed.share > 0.3).then_some(value);
    let gauge = Gauge::ALL[number % Gauge::ALL.len()];
    store.add(&ClassFile::of(&words(), &words()), &w).unwrap();
    let boat = store.add(&Boat { label: format!("boat {number}"), class: some(0.0).map(|_| words()) }, &w).unwrap().id;
    let sailor = Sailor {
        label: format!("sailor {number}"),
        name: some(0.0).map(|_| words()),
        mass_kg: some(range(20.0, 110.0)).map(HiddenMass::kilograms),
        stature_m: some(range(1.0, 2.1)),
        hand_m: some(range(0.1, 0.24)),
        skill: Skill::ALL[number % 4],
        sail: some(0.0).map(|_| words()),
        boat: some(0.0).map(|_| boat),
    };
    let sailor = store.add(&sailor, &w).unwrap().id;
    let weigh_in = WeighIn {
        boat,
        at,
        on_scale: words(),
        reading_kg: range(40.0, 400.0),
        trolley_kg: some(range(0.0, 20.0)),
        water_kg: range(0.0, 10.0),
        correctors_kg: range(0.0, 5.0),
        scale_error_kg: some(range(0.0, 1.0)),
    };
    store.add(&weigh_in, &w).unwrap();
    store.add(&PenLine { boat, at, gauge, words: words(), setting: range(-1.0, 1.0) }, &w).unwrap();
    store.add(&NotchHeight { boat, at, notch: u32::try_from(number).unwrap(), height_m: range(0.0, 2.0) }, &w).unwrap();
    store.add(&BaseSetting { boat, at, gauge, setting: range(-1.0, 1.0) }, &w).unwrap();
    store.add(&Reading { boat, at, gauge, setting: range(-1.0, 1.0), measured_by: words() }, &w).unwrap();
    let day = Day {
        date: "2026-04-02".parse().unwrap(),
        venue: words(),
        timezone: "Europe/Lisbon".to_owned(),
        warning_signal: some(0.0).map(|_| "13:00".to_owned()),
        water: if seed.share > 0.5 { FloatsIn::Sea } else { FloatsIn::Fresh },
        water_temperature_k: some(range(273.0, 303.0)),
        sheltered: seed.share > 0.5,
        chop_m: range(0.0, 1.0),
        gusts: some(range(1.0, 1.7)),
        offshore: some(0.0).map(|_| true),
        against_tide: some(0.0).map(|_| false),
        thunder: None,
        safety_boats: some(0.0).map(|_| 3),
        words: words(),
    };
    let day = store.add(&day, &w).unwrap().id;
    let hour = ForecastHour {
        day,
        at,
        wind_ms: range(0.0, 30.0),
        height_m: range(0.5, 30.0),
        from_rad: some(range(0.0, 6.2)),
        gust_ms: some(range(0.0, 30.0)),
        source: words(),
    };
    store.add(&hour, &w).unwrap();
    store.add(&SafetyLimit { sailors: range(1.0, 20.0), decided_by: words() }, &w).unwrap();
    store.add(&GustLimit { class: words(), skill: Skill::FirstSeason, gust_ms: range(1.0, 20.0), decided_by: words() }, &w).unwrap();
    store.add(&Crewed { day, sailor, boat, launch_order: some(0.0).map(|_| 7) }, &w).unwrap();
    store.add(&Tick { day, sailor: Some(sailor), boat: None, at, item: words() }, &w).unwrap();
    let settings: BTreeMap<Gauge, f64> = [(gauge, range(-1.0, 1.0)), (Gauge::Preventer, 1.0)].into();
    let given =
        SetupGiven { day, sailor, boat, at, leg: words(), sit: words(), wind_ms: range(0.0, 20.0), height_m: range(1.0, 10.0), settings };
    store.add(&given, &w).unwrap();
    let outing = Outing { day, name: words(), sort: OutingSort::RaceDay, began: Some(at), ended: None };
    let outing = store.add(&outing, &w).unwrap().id;
    store.add(&Tally { outing, sailor, at, way: Way::Out, safety_boat: words() }, &w).unwrap();
    store.add(&Observation { outing, sailor: Some(sailor), at, what: words(), words: words() }, &w).unwrap();
    store.add(&Note { at, words: words(), sailor: Some(sailor), boat: Some(boat), outing: Some(outing) }, &w).unwrap();
    store.add(&DrillDone { outing, at, drill: words(), minutes: some(range(1.0, 60.0)), words: words() }, &w).unwrap();
    let recorder = store.add(&Recorder { mark: words(), words: words() }, &w).unwrap().id;
    store.add(&RecorderGiven { recorder, sailor, at }, &w).unwrap();
    let bytes = [&seed.share.to_le_bytes()[..], &number.to_le_bytes(), seed.words.as_bytes()].concat();
    let file = TrackFile { name: words(), sha256: String::new(), at, outing: Some(outing), sailor: Some(sailor), recorder: Some(recorder) };
    store.add_track(&bytes, file, &w).unwrap();
    let picture = Picture {
        outing,
        name: words(),
        sha256: String::new(),
        at,
        camera_clock: some(0.0).map(|_| "2026-04-02T12:03:22".to_owned()),
        ahead_s: some(range(-90.0, 90.0)),
        shown_to: Some(sailor),
    };
    store.add_picture(&[&[0xff, 0xd8, 0xff], &bytes[..]].concat(), picture, &w).unwrap();
    store.add(&Series { name: words(), series_text: words(), results_text: words(), day: Some(day) }, &w).unwrap();
    store.add(&Correction::of(&[("hull.form_factor", 1.0 + seed.share)], at, &words()), &w).unwrap();
    let course = Course {
        day,
        buoys_text: words(),
        sketch: some(0.0).map(|_| words()),
        axis_rad: some(range(0.0, 6.2)),
        beat_m: range(30.0, 3000.0),
        line_m: range(5.0, 1000.0),
        with_gate: seed.share > 0.5,
        with_offset: seed.share > 0.4,
        place: words(),
        kind_text: some(0.0).map(|_| words()),
        laps: some(0.0).map(|_| 2),
        order_text: words(),
        starboard: seed.share > 0.6,
        wind_from_rad: some(range(0.0, 6.2)),
        wind_ms: some(range(0.0, 20.0)),
        wind_height_m: some(range(0.5, 30.0)),
        shift_rad: range(0.0, 0.7),
        current_toward_rad: some(range(0.0, 6.2)),
        current_ms: range(0.0, 4.0),
        practice_signals: seed.share > 0.7,
    };
    store.add(&course, &w).unwrap();
    store.add(&QuizAnswer { sailor, at, question: words(), answer: words(), correct: seed.share > 0.5 }, &w).unwrap();
    store.add(&SailorLink::of(sailor, at, Secret::of(number as u128)), &w).unwrap();
    sailor
}

/// Two stores hold the same facts of a kind, former ones too.
fn same<T: Fact + core::fmt::Debug>(a: &Store, b: &Store) {
    let all = |store: &Store| -> Vec<(Kept<T>, Vec<Kept<T>>)> {
        store.all::<T>().unwrap().into_iter().map(|kept| (kept.clone(), store.former(kept.id).unwrap())).collect()
    };
    let (a, b) = (all(a), all(b));
    assert_eq!(a, b);
}

/// Two stores hold the same facts of every kind; how many, as one of them counts.
fn same_facts(a: &Store, b: &Store) -> usize {
    same::<ClassFile>(a, b);
    same::<Boat>(a, b);
    same::<Sailor>(a, b);
    same::<WeighIn>(a, b);
    same::<PenLine>(a, b);
    same::<NotchHeight>(a, b);
    same::<BaseSetting>(a, b);
    same::<Reading>(a, b);
    same::<Day>(a, b);
    same::<ForecastHour>(a, b);
    same::<GustLimit>(a, b);
    same::<SafetyLimit>(a, b);
    same::<Crewed>(a, b);
    same::<Tick>(a, b);
    same::<SetupGiven>(a, b);
    same::<Outing>(a, b);
    same::<Tally>(a, b);
    same::<Observation>(a, b);
    same::<Note>(a, b);
    same::<DrillDone>(a, b);
    same::<Recorder>(a, b);
    same::<RecorderGiven>(a, b);
    same::<TrackFile>(a, b);
    same::<Picture>(a, b);
    same::<Series>(a, b);
    same::<Course>(a, b);
    same::<QuizAnswer>(a, b);
    same::<Correction>(a, b);
    same::<SailorLink>(a, b);
    for file in a.all::<TrackFile>().unwrap() {
        assert_eq!(a.track_bytes(&file.fact).unwrap(), b.track_bytes(&file.fact).unwrap());
    }
    for picture in a.all::<Picture>().unwrap() {
        assert_eq!(a.picture_bytes(&picture.fact).unwrap(), b.picture_bytes(&picture.fact).unwrap());
    }
    assert_eq!(a.facts().unwrap(), b.facts().unwrap());
    a.facts().unwrap()
}

fn text(words: &str) -> Seed {
    Seed { words: words.to_owned(), share: 0.7, at: minute(0) }
}
