//! The Ashore page over a socket: files brought in any mix, whose recorder is whose, pages and sheets that keep children apart.

use std::time::{Duration, Instant};

use squad::fact::day::{Day, FloatsIn};
use squad::fact::race::Course;
use squad::{Date, Id, Store, Writer};

use crate::pages::address_in;
use crate::serving::{Page, Serving};

/// Reading and debriefing three tracks takes a second; more than this is a hang, s.
const PATIENCE: u64 = 120;

/// A form with files, as a browser sends it.
pub(crate) fn bring(pages: &Serving, fields: &[(&str, &str)], files: &[(&str, &str)]) -> Page {
    let mut body = String::new();
    for (name, value) in fields {
        body += &format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
    }
    for (name, bytes) in files {
        body += &format!("--cut\r\nContent-Disposition: form-data; name=\"files\"; filename=\"{name}\"\r\n\r\n{bytes}\r\n");
    }
    body += "--cut--\r\n";
    pages.send("POST", "/ashore/files", "Content-Type: multipart/form-data; boundary=cut\r\nSec-Fetch-Site: same-origin\r\n", &body)
}

/// The page once the outing is debriefed.
pub(crate) fn told(pages: &Serving, path: &str) -> Page {
    let begun = Instant::now();
    loop {
        let page = pages.get(path);
        if !page.body.contains("data-again") {
            return page;
        }
        assert!(begun.elapsed().as_secs() < PATIENCE, "{}", page.body);
        std::thread::sleep(Duration::from_millis(200));
    }
}

pub(crate) fn example(name: &str) -> String {
    std::fs::read_to_string(crate::project().join("data/tracks").join(name)).unwrap()
}

/// An afternoon: files in a mix, one of them no track; a recorder's owner told once and remembered; sheets of one child each.
#[test]
fn an_afternoon_from_files_to_a_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    assert!(pages.get("/ashore").body.contains("No outing yet"));
    assert_eq!(pages.post("/squad/boat", &[("label", "Dunlin")]).status, 303);
    let boat = address_in(&pages.get("/squad"), "/dock/");
    let sailor = [("label", "Oda"), ("mass", "43.5"), ("stature", "152"), ("skill", "races"), ("boat", boat.trim_start_matches("/dock/"))];
    assert_eq!(pages.post("/squad/sailor/new", &sailor).status, 303);

    let (wren, siskin, dipper) = (example("wren.gpx"), example("siskin.gpx"), example("dipper.csv"));
    let zone = [("timezone", "Europe/Lisbon"), ("outing", "")];
    let files = [("wren.gpx", wren.as_str()), ("siskin.gpx", &siskin), ("dipper.csv", &dipper), ("letter.txt", "Dear coach")];
    let answer = bring(&pages, &zone, &files);
    assert!(answer.status == 200 && answer.body.contains("letter.txt"), "{}", answer.body);
    let outing = address_in(&answer, "/ashore?outing=");

    let group = told(&pages, &outing);
    assert!(group.body.contains("The wind") && group.body.contains("replay"), "{}", group.body);
    // The group's page praises: no table of losses is on it, and it asks whose the recorders are.
    assert!(!group.body.contains("lost in each") && group.body.contains("Whose recorder is whose: 3 not known yet"), "{}", group.body);
    let coach = pages.get(&format!("{outing}&coach=1"));
    assert!(coach.body.contains("lost in each") && coach.body.contains("What the tracks cannot tell"), "{}", coach.body);

    // One recorder is Oda's from now on.
    let id = &outing["/ashore?outing=".len()..];
    let squad = pages.get("/squad").body;
    let ids = squad.split("\"/squad/sailor/").skip(1).filter_map(|rest| rest.split('"').next());
    let oda = ids.filter(|id| *id != "new").last().unwrap();
    let began = group.body.split("name=\"began0\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    let mark = group.body.split("name=\"mark0\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    assert_eq!(pages.post("/ashore/whose", &[("outing", id), ("mark0", mark), ("began0", began), ("whose0", oda)]).status, 303);
    let named = told(&pages, &outing);
    assert!(named.body.contains("Oda") && named.body.contains(": 2 not known yet"), "{}", named.body);

    // The wind's speed is read from the speeds of who sailed, which is said; the command with the same squad reads the same from the same files.
    assert!(
        group.body.contains("a sailor in the middle of the squad, since nobody&#39;s of these tracks is known")
            || group.body.contains("in the middle of the squad, since nobody's"),
        "{}",
        group.body
    );
    assert!(named.body.contains("with a sailor in the middle of those who sailed; another mass gives another wind"), "{}", named.body);
    let tracks = tempfile::tempdir().unwrap();
    for (name, text) in [("wren.gpx", &wren), ("siskin.gpx", &siskin), ("dipper.csv", &dipper)] {
        std::fs::write(tracks.path().join(name), text).unwrap();
    }
    let tracks = tracks.path().to_str().unwrap();
    let debrief = |more: &[&str]| {
        let told = crate::run_in(folder.path(), &[&["debrief", tracks, "--timezone", "Europe/Lisbon", "--json"], more].concat()).json();
        let speeds: Vec<f64> = told["wind"].as_array().unwrap().iter().filter_map(|w| w["speed_ms"].as_f64()).collect();
        (speeds.iter().sum::<f64>() / speeds.len() as f64 / measure::quantity::KNOT, told["wind_speed_by"].as_str().unwrap().to_owned())
    };
    let (knots, by) = debrief(&["--store", "squad"]);
    assert!(named.body.contains(&format!("About {knots:.0} knots")), "{knots}: {}", named.body);
    assert!(by.contains("in the middle of those who sailed"), "{by}");
    assert_eq!(
        debrief(&["--mass", "43.5"]),
        (
            knots,
            "the class's speeds with a sailor of the mass given with --mass; another mass gives another wind for the same tracks"
                .to_owned()
        )
    );
    assert!(debrief(&["--mass", "60"]).0 > knots + 0.1, "a heavier sailor's boat needs more wind for the same speed");

    // Feet, where they are chosen: text, headings, tables and drawings.
    let feet = |path: &str| pages.send("GET", path, "Cookie: units=us\r\n", "").body;
    let metres = |body: &str| {
        let words: String = body.split('<').filter_map(|part| Some(part.split_once('>')?.1)).collect::<Vec<_>>().join(" ");
        let told = words.split("What the tracks cannot tell").next().unwrap().to_owned();
        let words: Vec<&str> = told.split_whitespace().collect();
        let unit = |two: &[&str]| two[0].ends_with(|c: char| c.is_ascii_digit() || c == ',') && ["m", "m/s", "m.", "m)"].contains(&two[1]);
        words.windows(2).find(|two| unit(two)).map(|two| two.join(" "))
    };
    for (path, wanted) in [
        (outing.clone(), "knots"),
        (format!("{outing}&coach=1"), "lost in each, ft"),
        (format!("{outing}&who=0"), "Where did the feet go?"),
    ] {
        let body = feet(&path);
        assert!(body.contains(wanted) && body.contains(" ft"), "{path}: {body}");
        assert_eq!(metres(&body), None, "{path}: {body}");
        assert!(metres(&pages.get(&path).body).is_some(), "{path}");
    }
    assert!(pages.send("GET", &format!("/ashore/sheets.pdf?outing={id}&who=0"), "Cookie: units=us\r\n", "").body.starts_with("%PDF"));

    let trails = pages.get(&format!("/ashore/trails?outing={id}"));
    assert!(trails.status == 200 && trails.body.trim_start().starts_with("{\"boats\":"), "{}", trails.head);
    let who = pages.get(&format!("{outing}&who=0"));
    assert!(who.body.contains("One thing to keep") && who.body.contains("One to work on"), "{}", who.body);
    let sheet = pages.get(&format!("/ashore/sheets.pdf?outing={id}&who=0"));
    assert!(sheet.status == 200 && sheet.body.starts_with("%PDF"), "{}", sheet.head);
    assert_eq!(pages.get(&format!("/ashore/sheets.pdf?outing={id}&who=99")).status, 404);
    assert!(pages.get(&format!("/ashore/debrief.pdf?outing={id}")).body.starts_with("%PDF"));

    // The same bytes brought again are kept once.
    assert_eq!(bring(&pages, &[("timezone", "Europe/Lisbon"), ("outing", id)], &[("again.gpx", &wren)]).status, 303);
    assert!(told(&pages, &outing).body.contains(": 2 not known yet"));
}

#[test]
fn what_is_no_track_is_refused_with_its_reason() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let wren = example("wren.gpx");
    let refused = |fields: &[(&str, &str)], files: &[(&str, &str)], words: &str| {
        let answer = bring(&pages, fields, files);
        assert!(answer.status == 422 && answer.body.contains(words), "{}", answer.body);
    };
    refused(&[("timezone", "UTC")], &[], "Choose at least one file");
    refused(&[("timezone", "UTC")], &[("empty.gpx", "")], "Choose at least one file");
    refused(&[("timezone", "Lisbon time")], &[("wren.gpx", &wren)], "is no timezone");
    refused(&[("timezone", "UTC")], &[("<b>.gpx", "<script>")], "&lt;b&gt;.gpx");
    assert_eq!(bring(&pages, &[("timezone", "UTC"), ("outing", "no-such")], &[("wren.gpx", &wren)]).status, 404);
    assert_eq!(pages.get("/ashore?outing=none").status, 404);
    assert_eq!(pages.send("POST", "/ashore/files", "Content-Type: text/plain\r\nSec-Fetch-Site: same-origin\r\n", "x").status, 400);
    let strange =
        pages.send("POST", "/ashore/files", "Content-Type: multipart/form-data; boundary=x\r\nSec-Fetch-Site: cross-site\r\n", "");
    assert_eq!(strange.status, 403);
    assert!(pages.get("/ashore").body.contains("No outing yet"));
}

/// Buoys that are laid for the outing's day are its course marks, but for one that lies elsewhere; the coach may go without.
#[test]
fn the_days_buoys_are_the_course_marks() {
    let folder = tempfile::tempdir().unwrap();
    let wren = example("wren.gpx");
    let places: Vec<(&str, &str)> = wren
        .split("<trkpt lat=\"")
        .skip(1)
        .map(|rest| (rest.split('"').next().unwrap(), rest.split("lon=\"").nth(1).unwrap().split('"').next().unwrap()))
        .collect();
    let date = wren.split("<trkpt").nth(1).unwrap().split("<time>").nth(1).unwrap().get(..10).unwrap().parse().unwrap();
    let (first, last) = (places[places.len() / 3], places[2 * places.len() / 3]);
    {
        let mut store = Store::open_or_new(&folder.path().join("squad")).unwrap().value;
        let coach = Writer::now("coach");
        let day = store.add(&day(Date(date)), &coach).unwrap().id;
        // Two kilometres off: a buoy of another course, which no boat came near to.
        let off = first.0.parse::<f64>().unwrap() + 0.02;
        let buoys_text = format!("windward: {} {}\nleeward: {} {}\nyellow: {off:.6} {}", first.0, first.1, last.0, last.1, first.1);
        store.add(&course(day, buoys_text), &coach).unwrap();
    }
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let files = [("wren.gpx", wren.as_str()), ("siskin.gpx", &example("siskin.gpx"))];
    let brought = bring(&pages, &[("timezone", "UTC"), ("outing", "")], &files);
    let outing = brought.head.lines().find_map(|line| line.strip_prefix("location: ")).unwrap().to_owned();
    let coach = told(&pages, &format!("{outing}&coach=1"));
    assert!(coach.body.contains("Course marks from the day's buoys: windward, leeward."), "{}", coach.body);
    assert!(coach.body.contains("yellow") && coach.body.contains("lies more than 60 m off every track"), "{}", coach.body);
    let id = &outing["/ashore?outing=".len()..];
    assert_eq!(pages.post("/ashore/buoys", &[("outing", id), ("with", "no")]).status, 303);
    let without = told(&pages, &format!("{outing}&coach=1"));
    assert!(
        without.body.contains("Sought in the tracks") && !without.body.contains("Course marks from the day's buoys"),
        "{}",
        without.body
    );
    assert_eq!(pages.post("/ashore/buoys", &[("outing", id), ("with", "yes")]).status, 303);
    assert!(told(&pages, &format!("{outing}&coach=1")).body.contains("Course marks from the day's buoys"));
    assert_eq!(pages.post("/ashore/buoys", &[("outing", "nobody's"), ("with", "no")]).status, 404);
}

fn day(date: Date) -> Day {
    Day {
        date,
        venue: String::new(),
        timezone: "UTC".to_owned(),
        warning_signal: None,
        water: FloatsIn::Fresh,
        water_temperature_k: None,
        sheltered: false,
        chop_m: 0.0,
        gusts: None,
        offshore: None,
        against_tide: None,
        thunder: None,
        safety_boats: None,
        words: String::new(),
    }
}

fn course(day: Id<Day>, buoys_text: String) -> Course {
    Course {
        day,
        buoys_text,
        sketch: None,
        axis_rad: None,
        beat_m: 400.0,
        line_m: 40.0,
        with_gate: false,
        with_offset: false,
        place: String::new(),
        kind_text: None,
        laps: None,
        order_text: String::new(),
        starboard: false,
        wind_from_rad: None,
        wind_ms: None,
        wind_height_m: None,
        shift_rad: 0.1,
        current_toward_rad: None,
        current_ms: 0.0,
        practice_signals: false,
    }
}
