//! `polar`, and reaches in `setup`.

use std::fs;

use crate::{names, run, run_in};

#[test]
fn a_polar_is_a_table_a_file_and_a_picture() {
    let folder = tempfile::tempdir().unwrap();
    let csv = run_in(folder.path(), &["polar", "--mass", "45", "--wind", "10", "--out", "p.csv", "--json"]);
    assert_eq!(csv.code, 0, "{}", csv.err);
    let json = csv.json();
    let rows = json["rows"].as_array().unwrap();
    let speed = |i: usize| rows[i]["speed_ms"].as_f64().unwrap();
    // Slow near the wind, fastest on a reach: the shape of every polar.
    assert!(speed(0) < speed(3) && speed(3) < speed(7) && speed(14) < speed(9));
    let text = fs::read_to_string(folder.path().join("p.csv")).unwrap();
    assert_eq!((text.lines().count(), text.lines().next()), (rows.len() + 1, Some("tws_ms,twa_deg,speed_ms")));
    let best = json["best"].as_array().unwrap();
    assert!(best[0]["vmg_ms"].as_f64().unwrap() > 0.5 && best[1]["leg"] == "run");
    // The best run is no slower downwind than the table's own courses.
    let straight = speed(14) * (178.0 * measure::angle::DEGREE).cos().abs();
    assert!(best[1]["vmg_ms"].as_f64().unwrap() >= straight - 1e-9);
    let svg = run_in(folder.path(), &["polar", "--mass", "45", "--wind", "8", "--out", "p.svg"]);
    assert_eq!(svg.code, 0);
    assert!(fs::read_to_string(folder.path().join("p.svg")).unwrap().starts_with("<svg"));
    assert_eq!(names(folder.path()), ["p.csv", "p.svg"]);
}

#[test]
fn what_a_polar_cannot_be_asked_is_told() {
    run(&["polar", "--mass", "45", "--wind", "0"]).refused(&["no wind, no speed"]);
    run(&["polar", "--mass", "45", "--wind", "6,x"]).refused(&["--wind"]);
    run(&["polar", "--mass", "45", "--wind-height", "-2"]).refused(&["-2"]);
    run(&["polar", "--mass", "45", "--out", "p.png"]).refused(&["end its name in .csv", ".svg"]);
}

#[test]
fn a_reach_is_the_mean_of_two_courses_or_one_given() {
    let speed = |twa: &[&str]| {
        let mut arguments = vec!["setup", "--mass", "45", "--wind", "10", "--tack", "starboard", "--leg", "reach", "--json"];
        arguments.extend(twa);
        let json = run(&arguments).json();
        assert_eq!((json["legs"][0]["leg"].as_str(), json["legs"][0]["status"].as_str()), (Some("reach"), Some("solved")));
        json["legs"][0]["speed_ms"].as_f64().unwrap()
    };
    let (both, square, broad) = (speed(&[]), speed(&["--twa", "90"]), speed(&["--twa", "120"]));
    // One setting for both courses cannot beat the setting of each.
    assert!(both <= 0.5 * (square + broad) + 1e-3, "{both} {square} {broad}");
    assert!(both > 0.9 * square.min(broad));
    run(&["setup", "--mass", "45", "--wind", "10", "--leg", "reach", "--twa", "20"]).refused(&["--twa 20", "55 to 150"]);
}
