//! `course` and `rules`: race day.

use std::fs;

use crate::{keys, names, run, run_in};

/// A small boat's polar, so that no test solves one.
const POLAR: &str = "tws_ms,twa_deg,speed_ms\n2,0,0\n2,40,0.6\n2,50,0.8\n2,90,1.1\n2,180,0.8\n4,0,0\n4,30,0.4\n4,40,1.1\n4,45,1.35\n4,50,1.5\n4,60,1.65\n4,90,1.85\n4,120,1.8\n4,150,1.55\n4,180,1.4\n\
                     7,0,0\n7,30,0.5\n7,40,1.3\n7,45,1.6\n7,50,1.75\n7,60,1.9\n7,90,2.1\n7,120,2.1\n7,150,1.9\n7,180,1.75\n";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("p.csv"), POLAR).unwrap();
    folder
}

const SKETCH: [&str; 7] = ["course", "--polar", "p.csv", "--sketch", "windward-leeward", "--wind", "350,10"];

#[test]
fn a_sketch_is_legs_times_a_line_laylines_and_roundings() {
    let folder = folder();
    let with = |more: &[&str]| run_in(folder.path(), &[&SKETCH, more].concat());
    let here = with(&["--place", "54 36 N 6 24 W", "--date", "2026-06-14", "--json", "--out", "c.svg"]);
    assert_eq!(here.code, 0, "{}", here.err);
    let json = here.json();
    let legs = json["legs"].as_array().unwrap();
    assert_eq!(legs.len(), 4);
    assert_eq!((legs[0]["kind"].as_str(), legs[1]["kind"].as_str()), (Some("beat"), Some("run")));
    assert!((legs[0]["length_m"].as_f64().unwrap() - 400.0).abs() < 0.1);
    assert!((legs[0]["bearing_deg"].as_f64().unwrap() - 350.0).abs() < 0.1);
    // The compass points a little west of north there.
    let off = json["declination"]["east_deg"].as_f64().unwrap();
    let magnetic = legs[0]["bearing_magnetic_deg"].as_f64().unwrap();
    assert!(
        off.abs() < 10.0 && ((magnetic - (350.0 - off)).rem_euclid(360.0)).min(360.0 - (magnetic - (350.0 - off)).rem_euclid(360.0)) < 0.1
    );
    let whole: f64 = legs.iter().map(|l| l["seconds"].as_f64().unwrap()).sum();
    assert!((json["seconds"].as_f64().unwrap() - whole).abs() < 1e-9);
    // Square to the wind, neither end gains.
    assert!(json["start"]["gain_m"].as_f64().unwrap().abs() < 1e-6);
    assert_eq!(json["laylines"].as_array().unwrap().len(), 2);
    let roundings = json["roundings"].as_array().unwrap();
    assert_eq!(roundings.len(), 2);
    assert!(roundings.iter().all(|r| r["tight_in"]["behind_m"].as_f64().unwrap() > 0.0));
    assert!(fs::read_to_string(folder.path().join("c.svg")).unwrap().contains("starboard tack layline"));
    let documented = fs::read_to_string(crate::project().join("docs/commands.md")).unwrap();
    for key in keys(&json).lines().filter_map(|k| k.rsplit(['.', ']']).find(|w| !w.is_empty())) {
        assert!(documented.contains(key.trim_start_matches('[')), "{key} is not in the guide");
    }
    let table = with(&["--out", "c.pdf", "--signals", "3-2-1"]);
    assert_eq!(table.code, 0, "{}", table.err);
    assert!(table.out.contains("three long blasts") && table.out.contains("tack when the course mark is"));
    assert!(fs::read(folder.path().join("c.pdf")).unwrap().starts_with(b"%PDF"));
    assert_eq!(names(folder.path()), ["c.pdf", "c.svg", "p.csv"]);
}

#[test]
fn a_current_turns_the_laylines_and_may_be_too_strong() {
    let folder = folder();
    let with = |current: &str| run_in(folder.path(), &[&SKETCH[..], &["--current", current, "--json"]].concat());
    let across = with("80,0.4").json();
    let set = |tack: &str| {
        let lines = across["laylines"].as_array().unwrap();
        lines.iter().find(|l| l["tack"] == tack).unwrap()["set_deg"].as_f64().unwrap()
    };
    assert!(set("starboard") > 3.0 && set("port") < -3.0);
    let against = with("170,3");
    assert_eq!(against.code, 0, "a status is an answer: {}", against.err);
    let json = against.json();
    assert!(json["legs"][0]["status"].as_str().unwrap().contains("stronger than the boat"));
    assert!(json["seconds"].is_null() && json["legs"][1]["seconds"].as_f64().is_some());
}

#[test]
fn buoys_come_from_gpx_and_lines() {
    let folder = folder();
    let gpx = "<gpx version=\"1.1\"><wpt lat=\"54.6052\" lon=\"-6.4088\"><name>windward</name></wpt>\
               <wpt lat=\"54.6022\" lon=\"-6.4060\"><name>yellow</name><type>leeward</type></wpt></gpx>";
    fs::write(folder.path().join("m.gpx"), gpx).unwrap();
    let json = run_in(folder.path(), &["course", "m.gpx", "--polar", "p.csv", "--wind", "333,9", "--laps", "1", "--json"]).json();
    let ends: Vec<_> = json["legs"].as_array().unwrap().iter().map(|l| l["to"].as_str().unwrap().to_owned()).collect();
    assert_eq!(ends, ["windward", "yellow"]);
    let more = ["--buoy", "pin: 200 T, 40 m from yellow", "--buoy", "committee boat: 90 T, 40 m from pin"];
    let line = run_in(folder.path(), &[&["course", "m.gpx", "--polar", "p.csv", "--wind", "333,9", "--json"], &more[..]].concat()).json();
    // The line lies west to east in a wind from 333: the pin is 40 sin 27 nearer to it.
    assert!((line["start"]["gain_m"].as_f64().unwrap() - 40.0 * (27.0 * measure::angle::DEGREE).sin()).abs() < 0.1);
    assert_eq!(line["start"]["favoured"], "pin");
}

#[test]
fn what_is_no_race_is_told() {
    let folder = folder();
    let course = |more: &[&str]| run_in(folder.path(), &[&["course", "--polar", "p.csv"], more].concat());
    course(&["--wind", "350,10"]).refused(&["no course"]);
    course(&["--wind", "350,10", "--buoy", "windward: 54 36 N 6 24 W"]).refused(&["that makes no leg"]);
    course(&["--wind", "350,10", "--buoy", "windward: 54 36 N 6 24 W", "--buoy", "leeward: 54 35.8 N 6 24 E"])
        .refused(&["E and W may be swapped"]);
    course(&["--wind", "350,10", "--buoy", "windward: 54 36 N 6 24"]).refused(&["only one half", "type it like"]);
    course(&["--wind", "10", "--sketch", "triangle"]).refused(&["where the wind comes from", "310,10"]);
    course(&["--wind", ",10", "--sketch", "triangle"]).refused(&["where the wind comes from"]);
    course(&["--wind", "350,0", "--sketch", "triangle"]).refused(&["no wind, no race"]);
    course(&["--wind", "400,10", "--sketch", "triangle"]).refused(&["0 to 360"]);
    course(&["--wind", "350M,10", "--sketch", "triangle"]).refused(&["--place"]);
    course(&["--wind", "350,10", "--sketch", "triangle", "--current", "0.3"]).refused(&["toward and knots"]);
    course(&["--wind", "350,10", "--sketch", "triangle", "--beat", "4"]).refused(&["30 to 3000"]);
    course(&["--wind", "350,10", "--sketch", "triangle", "--out", "c.png"]).refused(&[".pdf", ".svg"]);
    run(&["course", "--wind", "350,10", "--sketch", "triangle"]).refused(&["which boat", "--mass"]);
    assert_eq!(names(folder.path()), ["p.csv"]);
}

#[test]
fn rules_in_short_words() {
    let all = run(&["rules", "--json"]).json();
    assert!(all["topics"].as_array().unwrap().len() >= 9);
    let one = run(&["rules", "Moving"]);
    assert!(one.code == 0 && one.out.contains("rule 42") && one.out.contains("Pumping") && !one.out.contains("rule 18"));
    run(&["rules", "tide"]).refused(&["moving", "zone"]);
}
