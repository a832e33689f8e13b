//! `debrief`: files, folders and packed files of any mix.

use std::fs;

use crate::{keys, run, run_in};

/// A minute northward at a metre a second or so, in CSV; the times as given.
fn csv(time: impl Fn(u32) -> String) -> String {
    let row = |s: u32| format!("{},{:.7},-9.2000000\n", time(s), 38.6 + f64::from(s) * 1e-5);
    format!("time,lat,lon\n{}", (0..60).map(row).collect::<String>())
}

#[test]
fn the_example_is_read_whole() {
    let run = run(&["debrief", "data/tracks", "--json"]);
    let document = run.json();
    insta::assert_snapshot!(keys(&document), @r"
    boats[].track
    boats[].file
    boats[].format
    boats[].start
    boats[].end
    boats[].interval_s
    boats[].sailed_s
    boats[].standing_s
    boats[].carried_s
    boats[].missing_s
    boats[].distance_m
    boats[].warnings[]
    warnings[]
    ");
    let boats = document["boats"].as_array().unwrap();
    assert_eq!(boats.iter().map(|boat| boat["file"].as_str().unwrap()).collect::<Vec<_>>(), ["dipper.csv", "wren.gpx"]);
    assert_eq!(boats[0]["start"], "2026-07-03T12:45:26Z");
}

/// What this version does not work out is missing, and that is told.
#[test]
fn what_is_missing_is_told() {
    let run = run(&["debrief", "data/tracks"]);
    assert_eq!(run.code, 1);
    assert!(run.err.contains("not worked out in this version"), "{}", run.err);
}

#[test]
fn a_local_time_is_asked_for_and_never_guessed() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.csv"), csv(|s| format!("2026-06-14 12:00:{s:02}"))).unwrap();
    run_in(folder.path(), &["debrief", "a.csv"]).refused(&["a.csv", "--timezone"]);
    let told = run_in(folder.path(), &["debrief", "a.csv", "--json", "--timezone", "Europe/Lisbon"]);
    assert_eq!(told.json()["boats"][0]["start"], "2026-06-14T11:00:00Z");
    run_in(folder.path(), &["debrief", "a.csv", "--timezone", "Lisbon/Europe"]).refused(&["no timezone has this name", "Europe/Lisbon"]);
}

#[test]
fn one_bad_file_does_not_stop_the_others() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("good.csv"), csv(|s| format!("2026-06-14T12:00:{s:02}Z"))).unwrap();
    fs::write(folder.path().join("empty.gpx"), "").unwrap();
    fs::write(folder.path().join("noise.fit"), [0xa5; 300]).unwrap();
    let run = run_in(folder.path(), &["debrief", ".", "--json"]);
    assert_eq!(run.code, 1);
    assert_eq!(run.json()["boats"].as_array().unwrap().len(), 1);
    for words in ["empty.gpx: the file is empty", "noise.fit: its content is no track"] {
        assert!(run.err.contains(words), "{}", run.err);
    }
}

#[test]
fn what_gives_no_track_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    run_in(folder.path(), &["debrief", "."]).refused(&["there is no file in this folder"]);
    run_in(folder.path(), &["debrief", "none.gpx"]).refused(&["none.gpx", "check the name"]);
    fs::write(folder.path().join("empty.gpx"), "").unwrap();
    run_in(folder.path(), &["debrief", "empty.gpx"]).refused(&["none of the files gave a track", "empty.gpx: the file is empty"]);
    run_in(folder.path(), &["debrief"]).refused(&["required"]);
}
