//! Other rigs than the pram's: a sprit pram, a hiking dinghy, a smaller sail, a towed hull, through every command that takes a class.

use std::fs;

use crate::{project, run, run_in};

const SPRIT: &str = "data/classes/sprit.toml";
const HIKER: &str = "data/classes/hiker.toml";

#[test]
fn a_class_tells_of_its_sails_and_its_sprit() {
    let told = run(&["class", SPRIT, "--json"]).json();
    let sails = told["sails"].as_array().unwrap();
    assert!(sails.len() == 2 && sails[0]["area_m2"] == told["sail_area_m2"] && sails[0]["sprit_over_leech"].as_f64().unwrap() > 1.0);
    assert!(told["towed"].is_null());
    let gauges: Vec<_> = told["gauges"].as_array().unwrap().iter().map(|g| g["gauge"].as_str().unwrap().to_owned()).collect();
    assert!(["mast_tip_tape", "sprit_line", "board_up"].iter().all(|g| gauges.iter().any(|has| has == g)));
    assert!(!gauges.iter().any(|g| g == "car_offset" || g == "board_angle"));
    assert!(run(&["class", HIKER]).out.contains("sail \"small\""));
}

/// A tow is given back at the mass it was made with, and said.
#[test]
fn a_towed_hull_has_the_drag_that_was_measured() {
    let folder = tempfile::tempdir().unwrap();
    let towed = "[hull.towed]\nmass = \"45 kg\"\nspeed = [\"0.5 m/s\", \"1.0 m/s\", \"1.5 m/s\"]\ndrag = [\"1.9 N\", \"6.6 N\", \"21 N\"]\n\n[mast]\n";
    let pram = fs::read_to_string(project().join("data/classes/pram.toml")).unwrap();
    fs::write(folder.path().join("mine.toml"), pram.replacen("[mast]\n", towed, 1)).unwrap();
    let told = run_in(folder.path(), &["class", "mine.toml", "--mass", "45", "--json"]).json();
    let drag = |speed: f64| {
        let rows = told["resistance"].as_array().unwrap();
        rows.iter().find(|r| (r["speed_ms"].as_f64().unwrap() - speed).abs() < 1e-9).unwrap()["drag_n"].as_f64().unwrap()
    };
    for (speed, newtons) in [(0.5, 1.9), (1.0, 6.6), (1.5, 21.0)] {
        assert!((drag(speed) / newtons - 1.0).abs() < 1e-6, "{speed}: {}", drag(speed));
    }
    assert_eq!(told["towed"]["aboard_kg"], 45.0);
    assert!(run_in(folder.path(), &["class", "mine.toml"]).out.contains("as towed with 45 kg aboard"));
}

#[test]
fn a_sprit_is_set_seen_and_moved() {
    let sprit = |line: &str| {
        let set = format!("sprit_line={line}");
        run(&["balance", "--class", SPRIT, "--mass", "45", "--wind", "10", "--twa", "45", "--set", &set, "--json"]).json()
    };
    let (slack, hard) = (sprit("0.5"), sprit("9"));
    assert_eq!(slack["looks"]["crease"], "crease from throat to clew");
    assert_eq!(hard["looks"]["crease"], "crease from peak to tack");
    let top = |told: &serde_json::Value| told["sail"]["twist_deg"][13].as_f64().unwrap();
    assert!(top(&slack) > top(&hard) + 2.0);
    // The pram knows of none of it.
    let pram = run(&["balance", "--mass", "45", "--wind", "10", "--twa", "45", "--json"]).json();
    assert!(pram["looks"].get("crease").is_none() && pram["forces"].get("sprit_n").is_none());
    let dock = |reading: &str| {
        let told = run(&["dock", "--class", SPRIT, "--mass", "45", "--wind", "10", "--set", reading, "--json"]);
        assert_eq!(told.code, 0, "{}", told.err);
        told.json()["readings"][0].clone()
    };
    let slack = dock("sprit_line=1");
    assert!(slack["verdict"] == "low" && slack["move"]["part"] == "sprit" && slack["move"]["direction"] == "pull", "{slack}");
    let up = dock("board_up=30");
    assert!(up["verdict"] == "high" && up["move"]["direction"] == "down", "{up}");
    let long = dock("mast_tip_tape=280");
    assert!(long["verdict"] == "high" && long["move"]["masthead"] == "back", "{long}");
    run(&["balance", "--class", SPRIT, "--mass", "45", "--wind", "10", "--twa", "45", "--set", "car_offset=5"]).refused(&["no car_offset"]);
    run(&["balance", "--class", SPRIT, "--mass", "45", "--wind", "10", "--twa", "45", "--set", "board_angle=5"])
        .refused(&["no board_angle"]);
    run(&["balance", "--class", SPRIT, "--mass", "45", "--wind", "10", "--twa", "45", "--set", "sprit_line=40"]).refused(&["out of reach"]);
}

#[test]
fn a_smaller_sail_is_named() {
    let speed = |more: &[&str]| {
        let arguments = [&["setup", "--class", HIKER, "--mass", "45", "--wind", "6", "--leg", "beat", "--json"], more].concat();
        let told = run(&arguments);
        assert_eq!(told.code, 0, "{}", told.err);
        told.json()["legs"][0]["vmg_ms"].as_f64().unwrap()
    };
    assert!(speed(&["--sail", "small"]) < speed(&[]));
    run(&["setup", "--class", HIKER, "--mass", "45", "--wind", "6", "--sail", "tiny"]).refused(&["--sail", "this class has full, small"]);
}

/// A card has the gauges of its class and no other.
#[test]
fn cards_of_a_sprit_pram_name_her_own_gauges() {
    let folder = tempfile::tempdir().unwrap();
    let squad = "[[sailor]]\nsailor = \"Ada\"\nboat = \"Tern\"\nmass = \"41 kg\"\nskill = \"races\"\nsail = \"small\"\n";
    fs::write(folder.path().join("squad.toml"), squad).unwrap();
    let class = project().join(SPRIT);
    let cards = ["cards", "--class", class.to_str().unwrap(), "--squad", "squad.toml", "--wind", "9", "--out", "cards.pdf"];
    let told = run_in(folder.path(), &[&cards[..], &["--json"]].concat());
    assert_eq!(told.code, 0, "{}", told.err);
    let told = told.json();
    let rows = told["cards"][0]["settings"].as_array().unwrap();
    let gauges: Vec<_> = rows.iter().map(|r| r["gauge"].as_str().unwrap()).collect();
    assert_eq!(gauges, ["mast_tip_tape", "sail_boom_gap", "sprit_line", "downhaul_line", "board_up"]);
    let screen = run_in(folder.path(), &cards).out;
    let head = screen.lines().find(|line| line.starts_with("sailor")).unwrap();
    assert!(head.contains("sprit") && !head.contains("car") && !head.contains("boom end"), "{screen}");
}
