//! `class`, `setup`, `balance`, `cards`: from a class file, a squad and a wind to numbers and paper; and every bad input.

use std::fs;

use crate::{keys, names, project, run, run_in};

const PRAM: &str = include_str!("../../../../data/classes/pram.toml");

/// The program's own class file with one line changed, in a folder of its own.
fn changed(from: &str, to: &str) -> tempfile::TempDir {
    assert!(PRAM.contains(from), "{from}");
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("mine.toml"), PRAM.replacen(from, to, 1)).unwrap();
    folder
}

fn class_fault(from: &str, to: &str, words: &[&str]) {
    let folder = changed(from, to);
    run_in(folder.path(), &["class", "mine.toml"]).refused(words);
}

#[test]
fn a_class_closes_to_its_weight() {
    let told = run(&["class", "--mass", "45", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let hull = &told.json()["hull"];
    assert!(hull["closes_percent"].as_f64().unwrap().abs() < 0.1);
    let keys = keys(&told.json());
    for key in [
        "name",
        "sail_area_m2",
        "hull.displacement_m3",
        "hull.gz_m",
        "resistance[].speed_ms",
        "boom_end_cm_per_degree",
        "gap[].clew_move_cm",
        "assumed[]",
    ] {
        assert!(keys.lines().any(|k| k == key), "{key}");
    }
    // Righting arm grows with heel, and the other way it is its mirror image.
    let arm = |heel: &str| run(&["class", "--heel", heel, "--json"]).json()["hull"]["gz_m"].as_f64().unwrap();
    assert!(arm("10") > arm("5") && (arm("10") + arm("-10")).abs() < 1e-6);
}

#[test]
fn a_setup_has_its_keys_and_lighter_sailors_reach_the_limit_first() {
    let told = |mass: &str| run(&["setup", "--mass", mass, "--wind", "14", "--skill", "races", "--tack", "starboard", "--json"]);
    let (light, heavy) = (told("35").json(), told("55").json());
    let share =
        |j: &serde_json::Value| j["legs"][0]["hike"]["needed_m"].as_f64().unwrap() / j["legs"][0]["hike"]["limit_m"].as_f64().unwrap();
    assert!(share(&light) > share(&heavy), "{} {}", share(&light), share(&heavy));
    let keys = keys(&light);
    for key in [
        "wind.given_ms",
        "wind.at_2m_ms",
        "legs[].sit",
        "legs[].vmg_ms",
        "legs[].looks.luff",
        "legs[].settings[].gauge",
        "legs[].settings[].cost_high",
        "legs[].settings[].basis",
    ] {
        assert!(keys.lines().any(|k| k == key), "{key}");
    }
    assert!(!light.to_string().contains("mass"));
}

#[test]
fn no_wind_is_an_answer() {
    let told = run(&["setup", "--mass", "45", "--wind", "0", "--json"]);
    assert_eq!(told.code, 0);
    assert_eq!(told.json()["legs"][0]["status"], "no wind");
    assert_eq!(run(&["balance", "--mass", "45", "--wind", "0", "--twa", "45", "--json"]).json()["status"], "no wind");
}

#[test]
fn a_balance_answers_what_is_moved() {
    let told = |set: &str| run(&["balance", "--mass", "45", "--wind", "10", "--twa", "47", "--set", set, "--json"]).json();
    let rudder = |set: &str| told(set)["rudder_deg"].as_f64().unwrap();
    // The mast tipped back (boom end lower) asks for more rudder to windward, the board raised for less.
    assert!(rudder("boom_end_dock=20") > rudder("boom_end_dock=38"));
    assert!(rudder("board_angle=15") > rudder("board_angle=-25"));
    // How far out given, heel found.
    let heeled = told("hike_out=10");
    assert!((heeled["hike"]["needed_m"].as_f64().unwrap() - 0.10).abs() < 1e-3 && heeled["heel_deg"].as_f64().unwrap() > 2.0);
}

#[test]
fn bad_numbers_are_told() {
    let setup = |mass: &str, wind: &str| run(&["setup", "--mass", mass, "--wind", wind]);
    setup("45", "-3").refused(&["--wind", "outside 0 to 60 kn"]);
    setup("45", "400").refused(&["outside 0 to 60 kn"]);
    setup("45", "nan").refused(&["--wind"]);
    setup("-4", "10").refused(&["--mass", "outside 0 to 500 kg"]);
    setup("200", "10").refused(&["were pounds meant?", "\"200 lb\""]);
    setup("99 stone", "10").refused(&["not a unit"]);
    setup("3", "10").refused(&["a sailor has 20 to 110 kg"]);
    run(&["setup", "--mass", "45", "--wind", "10", "--skill", "good"]).refused(&["first season, sails a course"]);
    run(&["setup", "--mass", "45", "--wind", "10", "--leg", "up"]).refused(&["say beat, reach, run"]);
    run(&["setup", "--mass", "45", "--wind", "10", "--gusts", "9"]).refused(&["1 to 1.75"]);
}

#[test]
fn bad_settings_are_told() {
    let balance = |sets: &[&str]| {
        let mut arguments = vec!["balance", "--mass", "45", "--wind", "10", "--twa", "45"];
        sets.iter().for_each(|s| arguments.extend(["--set", s]));
        run(&arguments)
    };
    balance(&["vang=3"]).refused(&["no gauge of that name", "vang_line"]);
    balance(&["sprit_line=3"]).refused(&["this class has no sprit_line"]);
    balance(&["car_offset=90"]).refused(&["car_offset of 90 is out of reach", "-42 to 42 cm"]);
    balance(&["heel=3", "hike_out=20"]).refused(&["heel and hike_out decide the same thing"]);
    balance(&["boom_angle=3", "sheet_line=20"]).refused(&["boom_angle and sheet_line decide the same thing"]);
    balance(&["heel=3", "heel=4"]).refused(&["heel is given twice"]);
    balance(&["heel"]).refused(&["write a gauge, = and its reading"]);
    balance(&["heel=nan"]).refused(&["must be a number"]);
}

#[test]
fn bad_class_files_are_told() {
    class_fault("length_overall = \"2.45 m\"\n", "", &["mine.toml", "length_overall"]);
    class_fault("leech = \"3.40 m\"", "leech = \"9.40 m\"", &["mine.toml", "leech"]);
    class_fault("weight = \"44 kg\"", "weight = \"-44 kg\"", &["mine.toml", "weight", "outside"]);
    class_fault("weight = \"44 kg\"", "weight = \"44\"", &["has no unit"]);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("mine.toml"), [0xff, 0x00, 0x13]).unwrap();
    run_in(folder.path(), &["class", "mine.toml"]).refused(&["not text"]);
    run_in(folder.path(), &["class", "."]).refused(&["it is a folder"]);
    fs::write(folder.path().join("mine.toml"), "").unwrap();
    run_in(folder.path(), &["class", "mine.toml"]).refused(&["mine.toml"]);
}

#[test]
fn a_small_squad_gets_its_cards_and_faults_leave_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let squad = "[[sailor]]\nsailor = \"Ada\"\nboat = \"Tern\"\nmass = \"41.37 kg\"\nskill = \"races\"\n";
    fs::write(folder.path().join("squad.toml"), squad).unwrap();
    let cards = |file: &str, out: &str| run_in(folder.path(), &["cards", "--squad", file, "--wind", "9", "--out", out, "--json"]);
    let told = cards("squad.toml", "cards.pdf");
    assert_eq!(told.code, 0, "{}", told.err);
    let keys = keys(&told.json());
    for key in ["cards[].sailor", "cards[].boat", "cards[].sit", "cards[].cautions[]", "warnings[]"] {
        assert!(keys.lines().any(|k| k == key), "{key} is not in\n{keys}");
    }
    assert!(fs::read(folder.path().join("cards.pdf")).unwrap().starts_with(b"%PDF"));
    assert!(!told.out.contains("41.37"), "a mass is printed");
    fs::write(folder.path().join("two.toml"), format!("{squad}\n{}", squad.replace("Ada", "Ben"))).unwrap();
    cards("two.toml", "two.pdf").refused(&["two.toml", "Tern"]);
    cards(".", "two.pdf").refused(&["it is a folder"]);
    cards("squad.toml", "none/two.pdf").refused(&["there is no folder none"]);
    fs::write(folder.path().join("empty.toml"), "").unwrap();
    cards("empty.toml", "two.pdf").refused(&["empty.toml"]);
    run_in(folder.path(), &["cards", "--wind", "0", "--out", "two.pdf"]).refused(&["no wind"]);
    assert_eq!(names(folder.path()), ["cards.pdf", "empty.toml", "squad.toml", "two.toml"]);
    assert!(project().join("data/squads/example.toml").is_file());
}
