//! The squad kept: in, out, copied, forgotten; and the same answers from what is kept as from a squad file.

use std::fs;

use squad::fact::correction::Correction;
use squad::fact::day::{Day, FloatsIn, ForecastHour};
use squad::{Date, Id, Moment, Store, Writer};

use super::*;

/// One sailor is enough to compare answers.
const ONE: &str = "sailor,boat,mass,stature,skill,hull_weight,water_found,boom_end_dock_1,mast_notch_1,boom_end_dock_2,mast_notch_2,\
                   base.sail_boom_gap,rigged.boom_end_dock\n\
                   Mio,Tern,42 kg,1.5 m,races,44.3 kg,0.2 kg,21 cm,3,34 cm,5,14 cm,46 cm\n";

/// By how much two answers may differ where the store keeps a number to 15 digits: the solver's own stop lies far above.
const DIGITS: f64 = 1e-6;

/// Two documents say the same.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            let [a, b] = [a, b].map(|n| n.as_f64().unwrap());
            (a - b).abs() <= DIGITS * (1.0 + b.abs())
        }
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Object(a), Value::Object(b)) => a.len() == b.len() && a.iter().all(|(key, a)| b.get(key).is_some_and(|b| same(a, b))),
        _ => a == b,
    }
}

/// A folder with a squad file of one sailor, kept in `store`.
fn kept() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("one.csv"), ONE).unwrap();
    let told = run_in(folder.path(), &["import", "one.csv", "--store", "store", "--json"]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    assert_eq!(
        keys(&told.json()),
        "store\nadded\nchanged\nknown\nforgotten\nby_kind.base_setting\nby_kind.boat\nby_kind.notch_height\nby_kind.reading\n\
         by_kind.sailor\nby_kind.weigh_in\nconflicts[]\nwarnings[]"
    );
    assert_eq!(told.json()["added"], 7);
    folder
}

#[test]
fn out_and_in_again_in_another_folder() {
    let folder = kept();
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    let told = run(&["export", "--store", "store", "--out", "squad.zip", "--json"]).json();
    assert_eq!((told["facts"].as_u64(), told["tracks"].as_u64()), (Some(7), Some(0)));
    assert_eq!(run(&["import", "squad.zip", "--store", "other", "--json"]).json()["added"], 7);
    let again = run(&["import", "squad.zip", "store", "one.csv", "--store", "other"]);
    assert_eq!(again.code, 0, "{}", again.err);
    assert!(again.out.contains("0 facts added, 0 changed, 21 known already"), "{}", again.out);
}

#[test]
fn what_cannot_be_done_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    for command in [&["export", "--out", "a.zip"][..], &["backup"], &["forget", "Mio"]] {
        run(&[command, &["--store", "none"]].concat()).refused(&["none: there is no squad kept here"]);
    }
    run(&["import", "none.zip", "--store", "new"]).refused(&["none.zip: it cannot be read"]);
    fs::write(folder.path().join("bad.csv"), "sailor,boat,mass\nMio,Tern,97\n").unwrap();
    run(&["import", "bad.csv", "--store", "new"]).refused(&["the mass of Mio has no unit"]);
    fs::write(folder.path().join("bad.zip"), b"PK\x03\x04 and no more").unwrap();
    run(&["import", "bad.zip", "--store", "new"]).refused(&["not a whole archive", "nothing was brought in"]);
    run(&["cards", "--store", "none", "--out", "a.pdf"]).refused(&["there is no squad kept here"]);
    assert_eq!(names(folder.path()), ["bad.csv", "bad.zip"]);
}

#[test]
fn backed_up_and_forgotten() {
    let folder = kept();
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    let told = run(&["backup", "--store", "store", "--json"]).json();
    assert_eq!((told["facts"].as_u64(), told["backups"].as_array().map(Vec::len)), (Some(7), Some(1)));
    run(&["forget", "Pia", "--store", "store"]).refused(&["Pia: no sailor here has this label"]);
    let done = run(&["forget", "mio", "--store", "store"]);
    assert_eq!(done.code, 0, "{}", done.err);
    assert!(done.out.contains("Forgotten: 1 fact") && done.out.contains("written anew"), "{}", done.out);
    for file in ["store/squad.db".to_owned(), told["backup"].as_str().unwrap().to_owned()] {
        let bytes = fs::read(folder.path().join(&file)).unwrap();
        assert!(bytes.windows(4).all(|w| w != b"Mio\0" && !w.starts_with(b"Mio")), "{file}");
    }
}

#[test]
fn without_a_folder_it_is_where_programs_keep_data() {
    let folder = kept();
    let program = || {
        let mut command = assert_cmd::Command::cargo_bin("trimwright").unwrap();
        command.current_dir(folder.path()).env("XDG_DATA_HOME", folder.path().join("data")).env("HOME", folder.path());
        command
    };
    if cfg!(all(unix, not(target_os = "macos"))) {
        program().args(["import", "one.csv"]).assert().success();
        assert!(folder.path().join("data/trimwright/squad.db").exists());
        program().args(["backup"]).assert().success();
        // A relative folder counts for nothing.
        program().env("XDG_DATA_HOME", "here").args(["import", "one.csv"]).assert().success();
        assert!(folder.path().join(".local/share/trimwright/squad.db").exists());
    }
}

#[test]
fn the_dock_says_the_same_of_what_is_kept() {
    let folder = kept();
    let dock = |of: &[&str]| {
        let told = run_in(folder.path(), &[&["dock", "--wind", "10", "--boat", "tern", "--json"], of].concat());
        assert_eq!(told.code, 0, "{}", told.err);
        told.json()
    };
    let (file, store) = (dock(&["--squad", "one.csv"]), dock(&["--store", "store"]));
    assert_eq!(file["readings"].as_array().map(Vec::len), Some(2));
    assert!(same(&file, &store), "{file}\n{store}");
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    run(&["dock", "--wind", "10", "--boat", "Rail", "--store", "store"]).refused(&["--boat Rail: the squad has Tern"]);
    run(&["dock", "--wind", "10", "--boat", "Tern", "--mass", "45", "--set", "car_offset=4"]).refused(&["--squad or --store"]);
    run(&["dock", "--wind", "10", "--squad", "one.csv", "--store", "store"]).refused(&["cannot be used with"]);
}

#[test]
fn cards_say_the_same_of_what_is_kept_in_the_wind_of_its_forecast() {
    let folder = kept();
    let cards = |of: &[&str]| {
        let told = run_in(folder.path(), &[&["cards", "--out", "cards.pdf", "--json"], of].concat());
        assert_eq!(told.code, 0, "{}", told.err);
        told.json()
    };
    let date: Date = "2026-04-02".parse().unwrap();
    let writer = Writer::now("coach");
    {
        let mut store = Store::open(&folder.path().join("store")).unwrap().value;
        let day = Day {
            date,
            venue: "the lake".to_owned(),
            timezone: "Europe/Lisbon".to_owned(),
            warning_signal: Some("13:00".to_owned()),
            water: FloatsIn::Sea,
            water_temperature_k: None,
            sheltered: false,
            chop_m: 0.0,
            gusts: None,
            offshore: None,
            against_tide: None,
            thunder: None,
            safety_boats: None,
            words: String::new(),
        };
        let day: Id<Day> = store.add(&day, &writer).unwrap().id;
        // In April 13:00 in Lisbon is 12:00 UTC. The morning's wind is not asked for.
        for (hour, wind_ms) in [(8, 11.0), (12, 3.5), (13, 4.0), (14, 4.5), (18, 9.0)] {
            let at = format!("2026-04-02T{hour:02}:00:00Z").parse().unwrap();
            let hour = ForecastHour { day, at, wind_ms, height_m: 10.0, from_rad: None, gust_ms: None, source: "typed".to_owned() };
            store.add(&hour, &writer).unwrap();
        }
    }
    // The squad file was brought in today: as it was known in April there is nobody's weigh-in, so the wind alone is compared by day.
    let file = cards(&["--squad", "one.csv", "--wind", "4 m/s", "--day", "2 April"]);
    let store = cards(&["--store", "store", "--wind", "4 m/s"]);
    assert!(same(&file, &store), "{file}\n{store}");
    let by_forecast = cards(&["--store", "store", "--day", "2026-04-02"]);
    assert_eq!(by_forecast["cards"][0]["sailor"], "Mio");
    assert_eq!(by_forecast["cards"][0]["sit"], file["cards"][0]["sit"]);
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    run(&["cards", "--store", "store", "--day", "2026-04-03", "--out", "b.pdf"]).refused(&["nothing is kept about 2026-04-03", "--wind"]);
    run(&["cards", "--store", "store", "--day", "April", "--out", "b.pdf"]).refused(&["--day", "write it like 2026-04-02"]);
    run(&["cards", "--out", "b.pdf"]).refused(&["--wind"]);
}

/// With a wind given by hand too, cards and dock of a kept squad rest on the correction the coach took over.
#[test]
fn a_correction_counts_whoever_gives_the_wind() {
    let folder = kept();
    let asked = || {
        let cards = run_in(folder.path(), &["cards", "--store", "store", "--wind", "14", "--out", "a.pdf", "--json"]);
        [cards, run_in(folder.path(), &["dock", "--store", "store", "--wind", "14", "--json"])].map(|told| told.json())
    };
    let came = asked();
    assert!(came.iter().zip(&asked()).all(|(a, b)| same(a, b)), "asked twice, told two things: {}", came[0]);
    let mut store = Store::open_or_new(&folder.path().join("store")).unwrap().value;
    store.add(&Correction::of(&[("hull.residuary_scale", 1.5)], Moment::now(), "By hand."), &Writer::now("coach")).unwrap();
    drop(store);
    let corrected = asked();
    assert!(!same(&came[0], &corrected[0]) && !same(&came[1], &corrected[1]), "{}", corrected[0]);
}
