//! What a wet hand, a pasted page or a sick disk sends to the pages: told in words, in its place, and nothing of it is written.

use std::fs;
use std::net::TcpListener;
use std::path::Path;

use squad::fact::boat_facts::{BaseSetting, NotchHeight, PenLine, Reading};
use squad::fact::day::{Crewed, GustLimit, Tick};
use squad::fact::weigh::WeighIn;
use squad::{Fact, Store};

use crate::serving::Serving;
use crate::{names, run_in};

/// Markup that would show if it were not escaped.
const MARKUP: &str = "<b onclick=x>";

/// A form: where it is sent, what it holds when it is right, and its fields that take a number.
type Numbers<'a> = (&'a str, &'a [(&'a str, &'a str)], &'a [&'a str]);

/// What no field of a number takes.
const NO_NUMBER: [&str; 6] = ["-4e9", "1e300", "3 furlongs", "🙂", "nan", MARKUP];

/// How many facts a store holds of what the pages write beside sailors and days.
fn facts(folder: &Path) -> usize {
    fn of<T: Fact>(store: &Store) -> usize {
        store.all::<T>().unwrap().len()
    }
    let store = &Store::open(folder).unwrap().value;
    let boats = of::<BaseSetting>(store) + of::<NotchHeight>(store) + of::<PenLine>(store) + of::<Reading>(store) + of::<WeighIn>(store);
    boats + of::<GustLimit>(store) + of::<Crewed>(store) + of::<Tick>(store) + of::<squad::fact::boat_facts::Boat>(store)
}

/// One field of a form is set, the others stand as they should.
fn with<'a>(good: &[(&'a str, &'a str)], field: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    let mut fields: Vec<_> = good.iter().copied().filter(|f| f.0 != field).collect();
    fields.push((field, value));
    fields
}

#[test]
fn no_field_takes_what_it_cannot_mean() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let squad = pages.get("/squad").body;
    let first = |start: &str| squad.split('"').find(|a| a.starts_with(start) && !a.ends_with("/new")).unwrap().to_owned();
    let (dock, boat) = (first("/dock/"), first("/squad/boat/"));
    let store = folder.path().join("trimwright-demo");
    let before = facts(&store);
    let long = "x".repeat(10_000);
    let good_sailor = [("label", "Zoe"), ("mass", "41"), ("skill", "races")];
    let heights = [("notch1", "3"), ("height1", "21"), ("notch2", "5"), ("height2", "34")];
    let line = [("gauge", "car_offset"), ("at", "12"), ("words", "blue")];
    let wind = [("wind", "12:00 9 12 300"), ("timezone", "UTC")];
    let numbers: [Numbers<'_>; 7] = [
        ("/today", &wind, &["wind", "height", "signal", "timezone", "water_temperature", "chop", "safety_boats"]),
        ("/today/limits", &[("by", "the club")], &["first_season", "sails_a_course", "races", "races_in_any_wind"]),
        (&format!("{dock}/readings"), &[], &["boom_end_dock", "sail_boom_gap", "car_offset", "downhaul_line", "board_angle"]),
        (&format!("{dock}/heights"), &heights, &["notch1", "height1", "notch2", "height2"]),
        (&format!("{dock}/weigh"), &[("reading", "44")], &["reading", "trolley", "water", "correctors", "error"]),
        (&boat, &[], &["boom_end_dock", "sail_boom_gap", "car_offset", "board_angle"]),
        (&format!("{boat}/line"), &line, &["gauge", "at"]),
    ];
    let told = |path: &str, field: &str, value: &str, fields: &[(&str, &str)]| {
        let page = pages.post(path, fields);
        let short: String = value.chars().take(20).collect();
        assert!(page.status == 200 && page.body.contains("role=\"alert\""), "{path} {field} {short}: {} {}", page.status, page.body);
        assert!(!page.body.contains(MARKUP), "{path} {field}: markup came back as markup");
    };
    for (path, good, fields) in numbers {
        for field in fields {
            for value in NO_NUMBER.into_iter().chain([long.as_str()]) {
                told(path, field, value, &with(good, field, value));
            }
        }
    }
    for (field, values) in [("mass", &NO_NUMBER), ("stature", &NO_NUMBER), ("hand", &NO_NUMBER)] {
        for value in values {
            told("/squad/sailor/new", field, value, &with(&good_sailor, field, value));
        }
    }
    // Nothing at all, where something is needed.
    for (path, good, field) in [
        ("/today", &wind[..], "wind"),
        ("/squad/boat", &[], "label"),
        ("/squad/sailor/new", &good_sailor, "label"),
        (&format!("{dock}/weigh"), &[], "reading"),
        (&format!("{dock}/heights"), &heights, "height2"),
        (&format!("{boat}/line"), &line, "at"),
        ("/today/limits", &[("races", "14")], "by"),
    ] {
        told(path, field, "", &with(good, field, ""));
    }
    // Texts too long for their place.
    for (path, good, field) in [
        ("/today", &wind[..], "venue"),
        ("/squad/boat", &[], "label"),
        ("/squad/sailor/new", &good_sailor, "name"),
        (&format!("{dock}/readings"), &[("car_offset", "8")], "by"),
        (&format!("{boat}/line"), &line, "words"),
        ("/today/limits", &[("races", "14")], "by"),
    ] {
        told(path, field, &long, &with(good, field, &long));
    }
    assert_eq!(facts(&store), before, "something of it was written");
    assert!(pages.get("/today").body.contains("Today's wind"), "no day was written");
    // Emoji and markup are fine where words are: they come back as they were typed, and as text.
    assert_eq!(pages.post("/squad/boat", &[("label", "🙂 <i>")]).status, 303);
    let squad = pages.get("/squad").body;
    assert!(squad.contains("🙂 &lt;i&gt;") && !squad.contains("🙂 <i>"));
    // What no form of ours sends changes nothing.
    assert_eq!(pages.post("/today/order", &[("seen", "x"), ("sailor", MARKUP), ("deed", "up")]).status, 200);
    assert_eq!(pages.post(&format!("{dock}/kit"), &[("item", "anchor"), ("item", MARKUP)]).status, 303);
    assert_eq!(pages.post(&format!("{boat}/gone"), &[("line", "1")]).status, 404);
    assert_eq!(pages.post("/units", &[("units", "furlongs")]).status, 303);
    // A phone whose clock shows what no clock can.
    for clock in [i64::MIN, i64::MAX] {
        let sent = format!(r#"{{"phone":"{}","clock":{clock},"notes":[]}}"#, "7".repeat(32));
        assert_eq!(pages.send("POST", "/afloat/notes", "Content-Type: application/json\r\n", &sent).status, 200, "{clock}");
    }
    assert_eq!(facts(&store), before + 1);
}

#[test]
fn a_forecast_with_gaps_is_taken_and_the_gap_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let gaps = "09:00 6 - 300\n10:00 7\n11:00 8 11 -\n\n15:00 12 16 315\n16:00 11";
    assert_eq!(pages.post("/today", &[("wind", gaps), ("timezone", "UTC"), ("signal", "10:00")]).status, 303);
    let today = pages.get("/today").body;
    assert!(today.contains("No wind is given between 11 and 15"), "{today}");
    // The line of the wind is drawn in two pieces.
    assert_eq!(today.matches("class=\"curve\"").count(), 2);
    for (text, word) in [("09:00 6\n10:00", "no wind in it"), ("09:00 6\n10:00 -", "no wind in it"), ("09:00 6\n10:00 x 9", "no wind")] {
        let told = pages.post("/today", &[("wind", text), ("timezone", "UTC")]);
        assert!(told.status == 200 && told.body.contains(word), "{text}: {}", told.body);
    }
    assert!(pages.get("/today").body.contains("No wind is given between 11 and 15"), "the wind that was kept stands");
}

/// A folder with a squad of one kept in `squad`, closed, with the day's backup.
fn kept() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("one.csv"), "sailor,boat,mass\nMio,Tern,42 kg\n").unwrap();
    for command in [&["import", "one.csv", "--store", "squad"][..], &["backup", "--store", "squad"]] {
        let told = run_in(folder.path(), command);
        assert_eq!(told.code, 0, "{}", told.err);
    }
    folder
}

#[test]
fn a_store_that_cannot_be_opened_is_told_and_not_touched() {
    for (what, words) in [
        ("newer", ["a newer version", "the last backup is"]),
        ("damaged", ["damaged, and nothing was changed", "the last backup is"]),
        ("read-only", ["may be read but not written", "the last backup is"]),
        ("another's", ["no squad's store", "left alone"]),
    ] {
        let folder = kept();
        let file = folder.path().join("squad").join(squad::FILE);
        let mut bytes = fs::read(&file).unwrap();
        let middle = bytes.len() / 2;
        match what {
            // Where SQLite's file format keeps the schema's number, and whose file it is.
            "newer" => bytes[60..64].copy_from_slice(&99_u32.to_be_bytes()),
            "damaged" => bytes[middle..middle + 5000].fill(0xa5),
            "another's" => bytes[68..72].fill(1),
            _ => {}
        }
        fs::write(&file, &bytes).unwrap();
        if what == "read-only" {
            let mut permissions = fs::metadata(&file).unwrap().permissions();
            permissions.set_readonly(true);
            fs::set_permissions(&file, permissions).unwrap();
        }
        let there = names(&folder.path().join("squad"));
        run_in(folder.path(), &["serve", "--store", "squad", "--port", "0"]).refused(&words);
        assert!(fs::read(&file).unwrap() == bytes && names(&folder.path().join("squad")) == there, "{what}: something was touched");
    }
}

#[test]
fn a_store_that_another_program_writes_to_is_waited_for_and_told() {
    let folder = kept();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let other = rusqlite::Connection::open(folder.path().join("squad").join(squad::FILE)).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let told = pages.post("/squad/boat", &[("label", "Dunlin")]);
    assert!(told.status == 409 && told.body.contains("another program is writing to it"), "{}", told.body);
    assert!(told.body.contains("what you typed is still there"));
    // It can be read meanwhile, and written as soon as the other is done.
    assert!(pages.get("/squad").body.contains("Tern"));
    other.execute_batch("ROLLBACK").unwrap();
    assert_eq!(pages.post("/squad/boat", &[("label", "Dunlin")]).status, 303);
}

#[test]
fn a_port_that_is_taken_is_told_before_anything_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let is_taken = format!("port {port} is taken");
    for command in [&["serve", "--store", "squad"][..], &["demo"]] {
        run_in(folder.path(), &[command, &["--port", &port]].concat()).refused(&[&is_taken, "give another, like --port"]);
    }
    assert_eq!(names(folder.path()), Vec::<String>::new());
}
