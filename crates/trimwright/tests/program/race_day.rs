//! The Race day page over a socket: a course from buoys, a file, a track or a sketch to sheets; and what is no race is told.

use std::time::{Duration, Instant};

use crate::pages::address_in;
use crate::serving::{Page, Serving};

/// Solving one sailor takes seconds; more than this is a hang, s.
const PATIENCE: u64 = 120;

const BUOYS: &str = "committee boat: 54 36.000 N 6 24.000 W\npin: 270 T, 40 m from committee boat\nwindward: 0 T, 300 m from pin\nleeward: 0 T, 40 m from pin";

/// A squad of one with a wind from 330, forecast.
fn squad_of_one(folder: &std::path::Path, from: &str) -> Serving {
    let pages = Serving::start(folder, &["serve", "--store", "squad"]);
    assert_eq!(pages.post("/squad/boat", &[("label", "Dunlin")]).status, 303);
    let boat = address_in(&pages.get("/squad"), "/dock/");
    let sailor = [("label", "Oda"), ("mass", "43.5"), ("stature", "152"), ("skill", "races"), ("boat", boat.trim_start_matches("/dock/"))];
    assert_eq!(pages.post("/squad/sailor/new", &sailor).status, 303);
    let wind = format!("12:00 8 11 {from}\n13:00 9 12 {from}");
    assert_eq!(pages.post("/today", &[("wind", &wind), ("timezone", "UTC"), ("signal", "13:00")]).status, 303);
    pages.post("/today/stop", &[]);
    pages
}

/// The page once the sailor's day is told.
fn told(pages: &Serving) -> Page {
    let begun = Instant::now();
    loop {
        let page = pages.get("/race-day");
        if !page.body.contains("data-again") {
            return page;
        }
        assert!(begun.elapsed().as_secs() < PATIENCE, "{}", page.body);
        std::thread::sleep(Duration::from_millis(200));
    }
}

/// A file as a browser sends it.
fn bring(pages: &Serving, name: &str, bytes: &str) -> Page {
    let body = format!("--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\r\n{bytes}\r\n--cut--\r\n");
    pages.send("POST", "/race-day/buoys", "Content-Type: multipart/form-data; boundary=cut\r\nSec-Fetch-Site: same-origin\r\n", &body)
}

/// Buoys pasted, told in the forecast's wind, with hands, signals and rules; then changed, and a sheet printed.
#[test]
fn a_course_is_kept_told_and_printed() {
    let folder = tempfile::tempdir().unwrap();
    let pages = squad_of_one(folder.path(), "330");
    let empty = pages.get("/race-day");
    assert!(empty.body.contains("No course for today yet") && empty.body.contains("Empty: 330, as forecast"), "{}", empty.body);
    let kept = pages.post("/race-day", &[("how", "laid"), ("buoys", BUOYS), ("laps", "1")]);
    assert_eq!(kept.status, 303, "{}", kept.body);
    let page = told(&pages);
    for word in ["Oda", "wind 330", "start to windward", "port tack layline", "Around the leeward course mark", "sheet in", "Pumping"] {
        assert!(page.body.contains(word), "{word} is not in {}", page.body);
    }
    // No mass among the words; coordinates of drawings stand inside their tags.
    let words: String = page.body.split('<').filter_map(|part| part.split_once('>')).map(|part| part.1).collect();
    assert!(!words.contains("43.5") && !words.contains(" kg "), "{words}");
    // Who chose feet has them on the page.
    let feet = pages.send("GET", "/race-day", "Cookie: units=us\r\n", "").body;
    assert!(page.body.contains(">Metres<") && feet.contains(">Feet<") && feet.contains(" ft behind"), "{feet}");
    assert!(!feet.contains(" m behind") && !feet.contains(" m past it"), "{feet}");
    let sheet = pages.get("/race-day/sheets.pdf");
    assert!(sheet.status == 200 && sheet.body.starts_with("%PDF"));
    assert_eq!(pages.get("/race-day/sheets.pdf?who=7").status, 404);
    // The same wind: a changed course solves no boat anew, and an old tab is told.
    let version = page.body.split("name=\"version\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let change = |line: &str| pages.post("/race-day", &[("version", &version), ("how", "drawn"), ("sketch", "triangle"), ("line", line)]);
    assert_eq!(change("50").status, 303);
    assert!(told(&pages).body.contains("Triangle"));
    let second = change("60");
    assert!(
        second.status == 200 && second.body.contains("Somebody changed today") && second.body.contains("value=\"60\""),
        "{}",
        second.body
    );
    let signals = pages.get("/race-day/signals?signals=rule-26&at=13:05");
    assert!(signals.body.contains("13:04:00") && signals.body.contains("/look/signals.js") && signals.body.contains("flags count"));
    assert!(pages.get("/race-day/signals?at=25").body.contains("no time of day"));
    assert_eq!(pages.get("/look/signals.js").status, 200);
}

/// What is no race is told beside its field, and nothing is kept.
#[test]
fn what_is_no_race_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let pages = squad_of_one(folder.path(), "");
    let refused = |fields: &[(&str, &str)], words: &str| {
        let page = pages.post("/race-day", fields);
        assert!(page.status == 200 && page.body.contains("role=\"alert\"") && page.body.contains(words), "{fields:?}: {}", page.body);
        assert!(pages.get("/race-day").body.contains("No course for today yet"));
    };
    let from = ("from", "330");
    refused(&[("how", "laid"), ("buoys", BUOYS)], "Nobody said where the wind comes from");
    refused(&[("how", "laid"), ("buoys", "windward: 54 36 N 6 24 W\nleeward: 54 35.8 N 6 24 E"), from], "E and W may be swapped");
    refused(&[("how", "laid"), ("buoys", "windward: 54 36 N 6 24 W"), from], "that makes no leg");
    refused(&[("how", "laid"), ("buoys", "windward: 54 36 N 6 24"), from], "only one half");
    refused(&[("how", "laid"), ("buoys", ""), from], "no buoy");
    refused(&[("how", "drawn"), ("sketch", "figure of eight"), from], "no kind of course");
    refused(&[("how", "drawn"), ("sketch", "triangle"), ("beat", "4"), from], "30");
    refused(&[("how", "drawn"), ("sketch", "triangle"), ("laps", "many"), from], "how many times round");
    refused(&[("how", "drawn"), ("sketch", "triangle"), ("from", "north")], "is no bearing");
    refused(&[("how", "drawn"), ("sketch", "triangle"), ("from", "350M")], "a compass bearing needs");
    refused(&[("how", "drawn"), ("sketch", "triangle"), from, ("knots", "0")], "no race");
    refused(&[("how", "drawn"), ("sketch", "triangle"), from, ("current", "1")], "where the current sets");
    refused(&[("how", "drawn"), ("sketch", "triangle"), from, ("toward", "90"), ("current", "20")], "no water to race on");
    refused(&[("how", "drawn"), ("sketch", "triangle"), from, ("shift", "90")], "0 to 45");
    // A current that no boat stems is kept, and told leg by leg.
    let strong = [("how", "drawn"), ("sketch", "windward-leeward"), from, ("toward", "150"), ("current", "3")];
    assert_eq!(pages.post("/race-day", &strong).status, 303);
    let page = told(&pages);
    assert!(page.body.contains("stronger than the boat"), "{}", page.body);
}

/// Buoys from waypoints and from the coach boat's stops.
#[test]
fn buoys_come_from_files_and_stops() {
    let folder = tempfile::tempdir().unwrap();
    let pages = squad_of_one(folder.path(), "330");
    let gpx = "<gpx version=\"1.1\"><wpt lat=\"54.6030\" lon=\"-6.4060\"><name>windward</name></wpt>\
               <wpt lat=\"54.6000\" lon=\"-6.4060\"><name>yellow</name><type>leeward</type></wpt></gpx>";
    assert_eq!(bring(&pages, "m.gpx", gpx).status, 303);
    let page = told(&pages);
    assert!(page.body.contains("windward: 54.603000 -6.406000") && page.body.contains("leeward yellow"), "{}", page.body);
    // A boat that lies for a minute at one place, a hundred metres on at another.
    let mut track = String::from("time,lat,lon\n");
    for i in 0..200_i32 {
        let far = f64::from((i - 60).clamp(0, 40)) * 2.5;
        track += &format!("2026-06-14T10:{:02}:{:02}Z,{:.7},-6.4000000\n", i / 60, i % 60, 54.6 + far / 111_300.0);
    }
    let stops = bring(&pages, "coach.csv", &track);
    assert!(stops.status == 200 && stops.body.contains("2 stops of coach.csv"), "{}", stops.body);
    let at = |n: usize| stops.body.split(&format!("name=\"at{n}\" value=\"")).nth(1).unwrap().split('"').next().unwrap().to_owned();
    let chosen = [("role0", "pin"), ("at0", &at(0)), ("role1", ""), ("at1", &at(1))];
    assert_eq!(pages.post("/race-day/stops", &chosen).status, 303);
    let with = pages.get("/race-day").body;
    assert!(with.contains("pin: 54.60") && with.contains("leeward yellow"));
    assert_eq!(bring(&pages, "x.txt", "nothing of use").status, 422);
    assert_eq!(pages.post("/race-day/stops", &[("role0", ""), ("at0", &at(0))]).status, 422);
    assert_eq!(pages.get("/race-day/stops?file=nothing").status, 404);
}
