//! `debrief`: files, folders and packed files of any mix, and every bad input.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::Path;
use std::process::Command;

use crate::{keys, names, project, run, run_in};

/// A minute northward at a metre a second or so, in CSV; the times as given.
fn csv(time: impl Fn(u32) -> String) -> String {
    let row = |s: u32| format!("{},{:.7},-9.2000000\n", time(s), 38.6 + f64::from(s) * 1e-5);
    format!("time,lat,lon\n{}", (0..60).map(row).collect::<String>())
}

fn good() -> String {
    csv(|s| format!("2026-06-14T12:00:{s:02}Z"))
}

fn folder_with(files: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

/// A file among good ones: the good one is debriefed, and the reason for the other is told in these words.
fn beside_a_good_one(name: &str, bytes: &[u8], words: &[&str]) {
    let folder = folder_with(&[("good.csv", good().as_bytes()), (name, bytes)]);
    let told = run_in(folder.path(), &["debrief", ".", "--json"]);
    assert_eq!(told.code, 1, "{name}: {}", told.err);
    assert!(told.json()["boats"].as_array().unwrap().iter().any(|b| b["file"] == "good.csv"), "{name}");
    for word in words {
        assert!(told.err.contains(word), "{name}: {word:?} is not in {}", told.err);
    }
}

#[test]
fn the_example_is_debriefed_whole() {
    let told = run(&["debrief", "data/tracks", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let document = told.json();
    insta::assert_snapshot!(keys(&document), @r"
    wind[].t
    wind[].direction_deg
    wind[].direction_sd_deg
    wind[].speed_ms
    wind[].speed_sd_ms
    wind_speed_by
    current
    boats[].track
    boats[].sailor
    boats[].file
    boats[].format
    boats[].start
    boats[].end
    boats[].interval_s
    boats[].distance_m
    boats[].clock_shift_s
    boats[].warnings[]
    boats[].legs[].start
    boats[].legs[].end
    boats[].legs[].kind
    boats[].legs[].vmg_ms
    boats[].legs[].distance_m
    boats[].stops[].start
    boats[].stops[].end
    boats[].stops[].capsize_likely
    boats[].manoeuvres[].t
    boats[].manoeuvres[].kind
    boats[].manoeuvres[].loss_m
    boats[].manoeuvres[].loss_sd_m
    boats[].manoeuvres[].turn_deg
    boats[].manoeuvres[].turn_rate_deg_s
    boats[].manoeuvres[].time_to_speed_s
    boats[].tacks.count
    boats[].tacks.mean_loss_m
    boats[].tacks.sd_m
    boats[].gybes.count
    boats[].gybes.mean_loss_m
    boats[].gybes.sd_m
    boats[].roundings[].t
    boats[].roundings[].kind
    boats[].roundings[].course_mark
    boats[].roundings[].entry_m
    boats[].roundings[].exit_m
    boats[].roundings[].min_speed_ms
    boats[].roundings[].loss_m
    boats[].laps[].start
    boats[].laps[].end
    boats[].laps[].distance_m
    boats[].keep.text
    boats[].keep.metres
    boats[].keep.t
    boats[].keep.drill
    boats[].work_on.text
    boats[].work_on.metres
    boats[].work_on.t
    boats[].work_on.drill
    lineups[].boats[]
    lineups[].start
    lineups[].end
    lineups[].vmg_difference_ms
    lineups[].sd_ms
    lineups[].from_speed_ms
    lineups[].from_height_ms
    lineups[].swapped
    course_marks[].name
    course_marks[].kind
    course_marks[].lat
    course_marks[].lon
    course_marks[].sd_m
    course_marks[].found
    starts[].t
    starts[].boats[].track
    starts[].boats[].after_s
    starts[].boats[].time_to_speed_s
    starts[].boats[].made_good_m
    warnings[]
    ");
    let wind = document["wind"].as_array().unwrap();
    assert!(wind.iter().all(|w| w["direction_deg"].is_number() && w["speed_ms"].is_null()));
    assert!(document["warnings"].to_string().contains("without a polar"));
    let boats = document["boats"].as_array().unwrap();
    assert_eq!(boats.len(), 4);
    for boat in boats {
        assert!(boat["legs"].as_array().unwrap().len() > 8 && boat["manoeuvres"].as_array().unwrap().len() > 8, "{}", boat["track"]);
        assert!(boat["keep"]["text"].is_string() && boat["work_on"]["drill"].is_string());
    }
    let kinds: Vec<&str> = document["course_marks"].as_array().unwrap().iter().map(|m| m["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["windward", "leeward"]);
    assert!(!document["lineups"].as_array().unwrap().is_empty());
}

#[test]
fn the_table_ranks_nobody_and_names_no_kilogram() {
    let told = run(&["debrief", "data/tracks"]);
    let at = |name: &str| told.out.find(&format!("\n{name} ")).unwrap_or_else(|| panic!("{name} is not in {}", told.out));
    assert!(at("dipper") < at("plover") && at("plover") < at("Siskin") && at("Siskin") < at("Wren"), "in the order of files");
    assert!(told.out.contains("What the tracks cannot tell") && !told.out.contains("kg"));
}

#[test]
fn a_polar_tells_the_wind_s_speed_and_given_marks_stand() {
    let mut polar = "tws_ms,twa_deg,speed_ms\n".to_owned();
    for wind in [2.0, 4.0, 6.0, 8.0] {
        for (angle, share) in [(30.0, 0.3), (45.0, 0.65), (60.0, 0.85), (90.0, 0.96), (120.0, 0.98), (150.0, 0.9), (180.0, 0.8)] {
            polar += &format!("{wind},{angle},{:.3}\n", 2.0 * share * (1.0 - f64::exp(-wind / 3.6)));
        }
    }
    let found = run(&["debrief", "data/tracks", "--json"]).json();
    let mark = &found["course_marks"][0];
    let marks = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"properties\":{{\"name\":\"the orange one\",\"kind\":\"windward\"}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{},{}]}}}}]}}",
        mark["lon"], mark["lat"]
    );
    let folder = folder_with(&[("polar.csv", polar.as_bytes()), ("marks.geojson", marks.as_bytes())]);
    let tracks = project().join("data/tracks");
    let tracks = tracks.to_str().unwrap();
    let told = run_in(folder.path(), &["debrief", tracks, "--polar", "polar.csv", "--course-marks", "marks.geojson", "--json"]).json();
    assert!(told["wind"].as_array().unwrap().iter().all(|w| w["speed_ms"].as_f64().unwrap() > 1.0));
    // Of the kind that was given there is that one; of the other kind, of which none was given, those that are found.
    let marks = told["course_marks"].as_array().unwrap();
    assert!(
        marks.iter().filter(|m| m["kind"] == "windward").count() == 1
            && marks.iter().all(|m| m["kind"] == "windward" || m["found"] == true)
    );
    let given = marks.iter().find(|m| m["kind"] == "windward").unwrap();
    assert_eq!((given["name"].as_str(), given["sd_m"].as_f64()), (Some("the orange one"), None));
    let rounded = |b: &serde_json::Value| b["roundings"].as_array().unwrap().iter().any(|r| r["course_mark"] == "the orange one");
    assert!(told["boats"].as_array().unwrap().iter().all(rounded));
}

#[test]
fn a_noted_line_up_is_read() {
    let found = run(&["debrief", "data/tracks", "--json"]).json();
    let first = &found["lineups"][0];
    let noted =
        format!("{},{},{}", first["boats"][0].as_str().unwrap(), first["boats"][1].as_str().unwrap(), first["start"].as_str().unwrap());
    let told = run(&["debrief", "data/tracks", "--lineup", &noted, "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert_eq!(told.json()["lineups"][0]["boats"], first["boats"]);
    run(&["debrief", "data/tracks", "--lineup", "Wren,Heron,2026-06-14T12:00:00Z"]).refused(&["no track is called Heron", "Siskin"]);
    run(&["debrief", "data/tracks", "--lineup", "Wren,Wren,2026-06-14T12:00:00Z"]).refused(&["lined up with itself"]);
    run(&["debrief", "data/tracks", "--lineup", "Wren,dipper,12:00"]).refused(&["names no timezone"]);
    run(&["debrief", "data/tracks", "--lineup", "Wren"]).refused(&["three parts"]);
}

#[test]
fn the_pdf_is_whole_or_not_there() {
    let folder = tempfile::tempdir().unwrap();
    let tracks = project().join("data/tracks");
    let tracks = tracks.to_str().unwrap();
    let told = run_in(folder.path(), &["debrief", tracks, "--out", "debrief.pdf"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(fs::read(folder.path().join("debrief.pdf")).unwrap().starts_with(b"%PDF"));
    run_in(folder.path(), &["debrief", tracks, "--out", "."]).refused(&["it is a folder"]);
    run_in(folder.path(), &["debrief", tracks, "--out", "none/debrief.pdf"]).refused(&["there is no folder none"]);
    fs::write(folder.path().join("empty.gpx"), "").unwrap();
    run_in(folder.path(), &["debrief", "empty.gpx", "--out", "other.pdf"]).refused(&["empty.gpx: the file is empty"]);
    assert_eq!(names(folder.path()), ["debrief.pdf", "empty.gpx"]);
}

#[test]
fn a_local_time_is_asked_for_and_never_guessed() {
    let local = csv(|s| format!("2026-06-14 12:00:{s:02}"));
    let folder = folder_with(&[("a.csv", local.as_bytes())]);
    run_in(folder.path(), &["debrief", "a.csv"]).refused(&["a.csv", "--timezone"]);
    let told = run_in(folder.path(), &["debrief", "a.csv", "--json", "--timezone", "Europe/Lisbon"]);
    assert_eq!(told.json()["boats"][0]["start"], "2026-06-14T11:00:00Z");
    run_in(folder.path(), &["debrief", "a.csv", "--timezone", "Lisbon/Europe"]).refused(&["no timezone has this name", "Europe/Lisbon"]);
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

#[test]
fn every_bad_file_has_its_reason_and_the_rest_is_debriefed() {
    let whole = fs::read_to_string(project().join("data/tracks/wren.gpx")).unwrap();
    beside_a_good_one("empty.gpx", b"", &["empty.gpx: the file is empty"]);
    beside_a_good_one("noise.fit", &[0xa5; 300], &["noise.fit: its content is no track"]);
    beside_a_good_one("cut.gpx", &whole.as_bytes()[..whole.len() / 3], &["cut.gpx: the file breaks off in the middle"]);
    beside_a_good_one("blank.csv", b" \n \n", &["blank.csv", "nothing but blanks"]);
    beside_a_good_one("page.html", b"<html><body>tracks</body></html>", &["page.html", "XML of another kind"]);
    beside_a_good_one("one.csv", b"time,lat,lon\n2026-06-14T12:00:00Z,38.6,-9.2\n", &["one", "too little"]);
    let bomb = "<?xml version=\"1.0\"?><!DOCTYPE gpx [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;&a;\">]><gpx version=\"1.1\"><trk><name>&b;</name></trk></gpx>";
    beside_a_good_one("bomb.gpx", bomb.as_bytes(), &["bomb.gpx", "entities"]);
    let empty = format!("<gpx version=\"1.1\">{}</gpx>", "<trk><trkseg></trkseg></trk>".repeat(10_000));
    beside_a_good_one("tracks.gpx", empty.as_bytes(), &["tracks.gpx", "no points that can be used"]);
    let times = |year: u32| csv(move |s| format!("{year}-06-14T12:00:{s:02}Z"));
    beside_a_good_one("old.csv", times(1970).as_bytes(), &["old"]);
    beside_a_good_one("new.csv", times(2080).as_bytes(), &["new"]);
    let still: String = (0..60).map(|s| format!("2026-06-14T12:00:{s:02}Z,38.6,-9.2\n")).collect();
    beside_a_good_one("still.csv", format!("time,lat,lon\n{still}").as_bytes(), &["the wind cannot be told"]);
    beside_a_good_one("lines.geojson", b"{\"type\":\"LineString\",\"coordinates\":[[1,2],[3,4]]}", &["lines.geojson", "no times"]);
}

#[test]
fn random_bytes_and_cut_files_stop_nothing() {
    let whole = fs::read(project().join("data/tracks/dipper.csv")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    // A plain congruence makes bytes enough without a clock or a seed.
    let mut state = 7_u32;
    let mut byte = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    for n in 0..40_usize {
        let mut bytes: Vec<u8> =
            if n % 2 == 0 { (0..500 + 97 * n).map(|_| byte()).collect() } else { whole[..(n * 977) % whole.len()].to_vec() };
        if n % 4 == 1 {
            let at = bytes.len() / 2;
            bytes.truncate(at);
            bytes.extend((0..300).map(|_| byte()));
        }
        fs::write(folder.path().join(format!("{n:02}.gpx")), bytes).unwrap();
    }
    let told = run_in(folder.path(), &["debrief", ".", "--json"]);
    assert!(told.code == 1 && told.err.contains("warning: "), "{}", told.err);
    assert!(told.json()["boats"].as_array().unwrap().len() > 1);
}

#[test]
fn a_file_of_two_gigabytes_and_packed_files_within_packed_files_are_refused() {
    let folder = folder_with(&[("good.csv", good().as_bytes())]);
    File::create(folder.path().join("huge.csv")).unwrap().set_len(2 << 30).unwrap();
    let mut zip = b"PK\x03\x04".to_vec();
    zip.extend([0; 60]);
    File::create(folder.path().join("inner.zip")).unwrap().write_all(&zip).unwrap();
    let told = run_in(folder.path(), &["debrief", ".", "--json"]);
    assert_eq!(told.code, 1, "{}", told.err);
    assert!(told.err.contains("huge.csv: ") && told.err.contains("inner.zip"), "{}", told.err);
}

#[test]
fn boats_at_one_point_are_debriefed_without_a_wind() {
    let still = |name: &str| {
        let rows: String = (0..60).flat_map(|m| (0..60).map(move |s| format!("2026-06-14T12:{m:02}:{s:02}Z,38.6,-9.2\n"))).collect();
        (name.to_owned(), format!("time,lat,lon\n{rows}"))
    };
    let files: Vec<(String, String)> = ["a.csv", "b.csv", "c.csv"].map(still).to_vec();
    let folder = folder_with(&files.iter().map(|f| (f.0.as_str(), f.1.as_bytes())).collect::<Vec<_>>());
    let told = run_in(folder.path(), &["debrief", ".", "--json", "--out", "d.pdf"]);
    assert_eq!(told.code, 1, "{}", told.err);
    let document = told.json();
    assert!(document["wind"].as_array().unwrap().iter().all(|w| w["direction_deg"].is_null()));
    assert!(document["boats"].as_array().unwrap().iter().all(|b| b["manoeuvres"].as_array().unwrap().is_empty()));
    assert!(Path::new(&folder.path().join("d.pdf")).is_file());
}

#[test]
fn one_boat_recorded_twice_counts_once() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["dipper.csv", "plover.nmea", "wren.gpx"] {
        fs::copy(project().join("data/tracks").join(name), folder.path().join(name)).unwrap();
    }
    fs::copy(project().join("data/tracks/dipper.csv"), folder.path().join("watch.csv")).unwrap();
    let told = run_in(folder.path(), &["debrief", ".", "--json"]);
    assert!(told.err.contains("watch: it is the same boat's as dipper"), "{}", told.err);
}

#[test]
fn bad_polars_and_course_marks_are_told() {
    let folder = folder_with(&[
        ("good.csv", good().as_bytes()),
        ("polar.csv", b"wind,angle\n1,2\n"),
        ("words.csv", b"tws_ms,twa_deg,speed_ms\n4,x,1\n"),
        ("marks.gpx", b"<gpx version=\"1.1\"></gpx>"),
        ("marks.txt", b"38.6 -9.2"),
        ("nowhere.gpx", b"<gpx version=\"1.1\"><wpt lat=\"99\" lon=\"1\"><name>top</name></wpt></gpx>"),
    ]);
    let with = |option: &str, file: &str| run_in(folder.path(), &["debrief", "good.csv", option, file]);
    with("--polar", "polar.csv").refused(&["no column tws_ms"]);
    with("--polar", "words.csv").refused(&["line 2", "\"x\""]);
    with("--polar", "none.csv").refused(&["none.csv", "check the name"]);
    with("--course-marks", "marks.gpx").refused(&["marks.gpx", "no waypoint"]);
    with("--course-marks", "marks.txt").refused(&["neither GPX nor GeoJSON"]);
    with("--course-marks", "nowhere.gpx").refused(&["nowhere.gpx"]);
    with("--course-marks", ".").refused(&["it is a folder"]);
}

/// An interrupt, or a reader that has seen enough, leaves no half file and no noise.
#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let program = assert_cmd::cargo::cargo_bin("trimwright");
    let mut child = Command::new(program)
        .args(["debrief", "data/tracks", "--json"])
        .current_dir(project())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let out = child.wait_with_output().unwrap();
    assert!(!String::from_utf8_lossy(&out.stderr).contains("panic"), "{}", String::from_utf8_lossy(&out.stderr));
}
