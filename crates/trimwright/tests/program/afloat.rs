//! Afloat over a socket: what two phones send is kept once and put together; what does not add up is told; a wrong clock is asked about.

use serde_json::{Value, json};

use crate::ashore::{bring, example, told};
use crate::pages::address_in;
use crate::serving::Serving;

/// Two phones.
const IDA: &str = "1111111111111111aaaaaaaaaaaaaaaa";
const BO: &str = "2222222222222222bbbbbbbbbbbbbbbb";
/// An hour, ms.
const HOUR: i64 = 3_600_000;

/// A squad of two, and their ids by label.
fn squad(pages: &Serving) -> [String; 2] {
    ["Oda", "Pim"].map(|label| {
        let boat = format!("boat of {label}");
        assert_eq!(pages.post("/squad/boat", &[("label", &boat)]).status, 303);
        let list = pages.get("/squad").body;
        let boat = list.split("/dock/").skip(1).map(|rest| rest[..32].to_owned()).last().unwrap();
        let sailor = [("label", label), ("mass", "43.5"), ("skill", "races"), ("boat", &boat)];
        let answer = pages.post("/squad/sailor/new", &sailor);
        assert_eq!(answer.status, 303, "{}", answer.body);
        let day: Value = serde_json::from_str(&pages.get("/afloat/day").body).unwrap();
        let known = day["sailors"].as_array().unwrap();
        known.iter().find(|s| s["label"] == label).unwrap()["id"].as_str().unwrap().to_owned()
    })
}

fn now() -> i64 {
    jiff::Timestamp::now().as_millisecond()
}

fn note(id: u32, kind: &str, sailor: &str, at: i64, coach: &str) -> Value {
    json!({ "id": format!("{id:032x}"), "kind": kind, "sailor": sailor, "at": at, "coach": coach, "boat": "Red" })
}

fn send(pages: &Serving, phone: &str, clock: i64, notes: &[Value]) -> Value {
    let body = json!({ "phone": phone, "clock": clock, "notes": notes }).to_string();
    let answer = pages.send("POST", "/afloat/notes", "Content-Type: application/json\r\nSec-Fetch-Site: same-origin\r\n", &body);
    assert_eq!(answer.status, 200, "{}", answer.body);
    serde_json::from_str(&answer.body).unwrap()
}

#[test]
fn two_phones_are_put_together_and_nothing_is_kept_twice() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let [oda, pim] = squad(&pages);
    let began = now() - HOUR;
    let first = [note(1, "out", &oda, began, "Ida"), note(2, "out", &pim, began + 1000, "Ida")];
    let said = send(&pages, IDA, now(), &first);
    assert_eq!(said["kept"].as_array().unwrap().len(), 2, "{said}");
    assert_eq!(said["clock"], Value::Null);
    // The answer was lost on the way: the phone sends all of it again, with one more, and half of it broken.
    let again = [first[0].clone(), first[1].clone(), json!({ "id": "broken" }), note(3, "in", &oda, began + 1_800_000, "Ida")];
    let said = send(&pages, IDA, now(), &again);
    assert_eq!((said["kept"].as_array().unwrap().len(), said["tally"].as_array().unwrap().len()), (3, 3), "{said}");
    assert!(said["refused"][0]["why"].as_str().unwrap().contains("could not be read"), "{said}");
    let page = pages.get("/afloat").body;
    assert!(page.contains(">1</p>") && page.contains("still out: Pim") && !page.contains("does not add up"), "{page}");
    // The other phone knew nothing of the outs; here the two are one. She is in by one and out by the other within two minutes: told, not guessed.
    let said = send(&pages, BO, now(), &[note(4, "in", &pim, began + 2_000_000, "Bo")]);
    assert_eq!(said["tally"].as_array().unwrap().len(), 4);
    assert!(pages.get("/afloat").body.contains(">0</p>"));
    send(&pages, IDA, now(), &[note(5, "out", &pim, began + 2_060_000, "Ida")]);
    let page = pages.get("/afloat").body;
    assert!(
        page.contains("still out, 1 of them not known: Pim") && page.contains("by Bo, phone 22222222") && page.contains("Ask both"),
        "{page}"
    );
    // A tap that was wrong is taken back by another note; it stays in the store with its history.
    let undo = json!({ "id": format!("{:032x}", 6), "kind": "undo", "of": format!("{:032x}", 5), "at": now(), "coach": "Ida" });
    let said = send(&pages, IDA, now(), &[undo.clone(), undo]);
    assert_eq!((said["kept"].as_array().unwrap().len(), said["tally"].as_array().unwrap().len()), (2, 4), "{said}");
    assert!(pages.get("/afloat").body.contains(">0</p>"));
    // Called over while one is out: in red, and by name.
    send(
        &pages,
        IDA,
        now(),
        &[note(7, "out", &oda, now(), "Ida"), json!({ "id": format!("{:032x}", 8), "kind": "over", "at": now() + 1 })],
    );
    let page = pages.get("/afloat").body;
    assert!(page.contains("Called over at") && page.contains("1 not in: Oda"), "{page}");
}

#[test]
fn a_phone_an_hour_late_is_asked_about_and_moved_only_when_told() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let [oda, _] = squad(&pages);
    let late = now() - HOUR;
    send(&pages, BO, now(), &[note(1, "out", &oda, now() - 600_000, "Bo")]);
    // In by Ida's phone, whose clock is an hour behind: by its times she would have come in before she went out.
    let said = send(&pages, IDA, late, &[note(2, "in", &oda, late - 60_000, "Ida")]);
    assert!((said["clock"].as_i64().unwrap() - 3600).abs() < 5, "{said}");
    let at = said["tally"].as_array().unwrap().iter().find(|w| w["way"] == "in").unwrap();
    assert_eq!((at["at"].as_i64().unwrap(), at["doubted"].as_bool().unwrap()), (late - 60_000, true));
    let page = pages.get("/afloat");
    assert!(page.body.contains("1 of them not known: Oda") && page.body.contains("was 60 minutes behind"), "{}", page.body);
    let clock = page.body.split("name=\"clock\" value=\"").nth(1).unwrap()[..32].to_owned();
    // The same phone again asks nothing twice.
    send(&pages, IDA, now() - HOUR, &[note(3, "seen", &oda, late, "Ida")]);
    assert_eq!(pages.get("/afloat").body.matches("name=\"clock\"").count(), 1);
    assert_eq!(pages.post("/afloat/clock", &[("clock", &clock), ("answer", "move")]).status, 303);
    let page = pages.get("/afloat").body;
    assert!(page.contains(">0</p>") && !page.contains("name=\"clock\""), "{page}");
    // Sent once more by the phone, with its old time, it is known and stays moved.
    let said = send(&pages, IDA, now(), &[note(2, "in", &oda, late - 60_000, "Ida")]);
    let at = said["tally"].as_array().unwrap().iter().find(|w| w["way"] == "in").unwrap();
    assert!((at["at"].as_i64().unwrap() - (late - 60_000 + HOUR)).abs() < 5000, "{said}");
    // Both times are kept: the phone's own is in the fact's history.
    drop(pages);
    let store = squad::Store::open(&folder.path().join("squad")).unwrap().value;
    let id = format!("{:032x}", 2).parse::<squad::Id<squad::fact::outing::Tally>>().unwrap();
    let was = store.former(id).unwrap();
    assert_eq!(was[0].fact.at.timestamp().as_millisecond(), late - 60_000);
}

#[test]
fn what_no_phone_of_ours_sends_is_refused_one_by_one() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let [oda, pim] = squad(&pages);
    let at = now();
    let odd = [
        note(1, "dance", &oda, at, "Ida"),
        note(2, "out", "nobody", at, "Ida"),
        note(3, "out", &"0".repeat(32), at, "Ida"),
        note(4, "out", &oda, -5, "Ida"),
        json!({ "id": "short", "kind": "out", "sailor": oda, "at": at }),
        json!({ "id": format!("{:032x}", 6), "kind": "set", "sailor": oda, "at": at, "what": "no_such", "value": 3 }),
        json!({ "id": format!("{:032x}", 7), "kind": "set", "sailor": oda, "at": at, "what": "car_offset", "value": 4000 }),
        json!({ "id": format!("{:032x}", 8), "kind": "pass", "sailor": oda, "other": pim, "at": at, "until": at - 5 }),
        json!(7),
    ];
    let said = send(&pages, IDA, at, &odd);
    assert_eq!((said["kept"].as_array().unwrap().len(), said["refused"].as_array().unwrap().len()), (0, odd.len()), "{said}");
    let send_raw =
        |more: &str, body: &str| pages.send("POST", "/afloat/notes", &format!("Content-Type: application/json\r\n{more}"), body).status;
    assert_eq!(send_raw("Sec-Fetch-Site: same-origin\r\n", "{\"phone\": \"1\", \"notes\""), 422);
    assert_eq!(send_raw("Sec-Fetch-Site: cross-site\r\n", "{}"), 403);
    assert_eq!(pages.post("/afloat/tally", &[("word", "home x")]).status, 422);
    assert_eq!(pages.post("/afloat/clock", &[("clock", "1"), ("answer", "move")]).status, 404);
    assert_eq!(pages.post("/afloat/pasted", &[("text", "Dear coach")]).status, 422);
    // A text that a phone could only copy does the same as sending; a label cannot become markup on any page.
    let line = json!({ "id": format!("{:032x}", 9), "phone": BO, "kind": "out", "sailor": oda, "at": at - HOUR, "coach": "<b>Bo" });
    let text = format!("Notes of a phone\n13:05 out Oda {line}\n{line}");
    assert_eq!(pages.post("/afloat/pasted", &[("text", &text)]).status, 303);
    send(&pages, IDA, at, &[note(10, "out", &oda, at - HOUR + 500_000, "</script><script>")]);
    let page = pages.get("/afloat").body;
    assert!(page.contains("out twice") && page.contains("&lt;b&gt;Bo, phone 22222222"), "{page}");
    let phone = pages.get("/afloat/phone");
    assert!(phone.head.contains("cache-control: private, max-age=43200") && !phone.body.contains("</script><script>"), "{}", phone.head);
    // Without a script the laptop's own page tallies.
    assert_eq!(pages.post("/afloat/tally", &[("word", &format!("in {oda}")), ("by", "shore")]).status, 303);
    assert_eq!(pages.post("/afloat/outing", &[]).status, 303);
    // Another begins only when nobody is out: none may vanish with the old one.
    assert_eq!(pages.post("/afloat/tally", &[("word", &format!("out {pim}"))]).status, 303);
    assert_eq!(pages.post("/afloat/outing", &[]).status, 422);
    assert!(pages.get("/afloat").body.contains("still out: Pim"));
    assert_eq!(pages.post("/afloat/tally", &[("word", &format!("in {pim}"))]).status, 303);
    assert!(pages.get("/afloat").body.contains(">0</p>"));
    let _ = address_in(&pages.get("/afloat"), "/afloat/phone");
}

/// Tracks that are brought later join the notes by time: the coach sees all of it, a sailor her own, the group none.
#[test]
fn what_was_noted_stands_beside_the_tracks() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let [oda, pim] = squad(&pages);
    let (wren, siskin) = (example("wren.gpx"), example("siskin.gpx"));
    let first = wren.split("<time>").nth(1).unwrap().split('<').next().unwrap().parse::<jiff::Timestamp>().unwrap();
    let (day, at) = (first.to_zoned_datetime(jiff::tz::TimeZone::UTC).date().to_string(), first.as_millisecond() + 300_000);
    let noted = |n: u32, kind: &str, more: Value| {
        let mut note = json!({ "id": format!("{n:032x}"), "kind": kind, "at": at, "day": day, "coach": "Ida" });
        note.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        note
    };
    let notes = [
        noted(1, "seen", json!({ "sailor": oda, "what": "weight_aft" })),
        noted(2, "seen", json!({ "sailor": pim, "what": "tight_entry" })),
        noted(3, "voice", json!({ "sailor": oda, "what": "good", "words": "My <start>" })),
        noted(4, "drill", json!({ "what": "wide_in_close_out", "minutes": 12 })),
        noted(5, "pass", json!({ "sailor": oda, "other": pim, "until": at + 120_000 })),
        noted(6, "note", json!({ "sailor": pim, "words": "cold hands" })),
        noted(7, "set", json!({ "sailor": oda, "what": "car_offset", "value": 5 })),
    ];
    assert_eq!(send(&pages, IDA, now(), &notes)["kept"].as_array().unwrap().len(), notes.len());
    // Today's tally is not that of the day the notes waited from.
    assert_eq!(send(&pages, IDA, now(), &[])["tally"].as_array().unwrap().len(), 0);
    let answer = bring(&pages, &[("timezone", "Europe/Lisbon"), ("outing", "")], &[("wren.gpx", &wren), ("siskin.gpx", &siskin)]);
    let outing = answer.head.split("location: ").nth(1).unwrap().lines().next().unwrap().to_owned();
    let group = told(&pages, &outing);
    let id = &outing["/ashore?outing=".len()..];
    let field = |n: usize, name: &str| {
        group.body.split(&format!("name=\"{name}{n}\" value=\"")).nth(1).unwrap().split('"').next().unwrap().to_owned()
    };
    let whose =
        |n: usize| if group.body.contains(&format!("whose{n}")) { [field(n, "mark"), field(n, "began")] } else { Default::default() };
    let ([m0, b0], [m1, b1]) = (whose(0), whose(1));
    let (w0, w1) = if m0.contains("wren") { (&oda, &pim) } else { (&pim, &oda) };
    let fields = [("outing", id), ("mark0", &m0), ("began0", &b0), ("whose0", w0), ("mark1", &m1), ("began1", &b1), ("whose1", w1)];
    assert_eq!(pages.post("/ashore/whose", &fields).status, 303);
    assert!(!told(&pages, &outing).body.contains("Weight aft"));
    let coach = told(&pages, &format!("{outing}&coach=1")).body;
    for words in [
        "Noted afloat",
        "Weight aft, stern dragging",
        "Tight entry",
        "My &lt;start&gt;",
        "Drill done: Wide in, close out",
        "Beside Pim for 120 s",
        "cold hands",
        "Ida, phone 11111111",
    ] {
        assert!(coach.contains(words), "{words} is not in {coach}");
    }
    let seen = coach.split("Weight aft, stern dragging").nth(1).unwrap().split("</tr>").next().unwrap();
    assert!(seen.contains(&format!("data-at=\"{}", at / 1000)), "{seen}");
    let own = |label: &str| {
        (0..2).map(|n| pages.get(&format!("{outing}&who={n}")).body).find(|b| b.contains(&format!("Print {label}'s sheet"))).unwrap()
    };
    let (odas, pims) = (own("Oda"), own("Pim"));
    assert!(
        odas.contains("Slide forward")
            && odas.contains("My &lt;start&gt;")
            && !odas.contains("Tight entry")
            && !odas.contains("cold hands"),
        "{odas}"
    );
    assert!(pims.contains("Tight entry") && !pims.contains("My &lt;start&gt;") && !pims.contains("Weight aft"), "{pims}");
    assert!(pages.get(&format!("/ashore/sheets.pdf?outing={id}")).body.starts_with("%PDF"));
    // The plan asks that debrief; what is picked is on the phone.
    let plan = pages.get("/afloat/plan").body;
    assert!(plan.matches("name=\"drill\"").count() >= 20 && plan.contains("outing") | plan.contains("debrief"), "{plan}");
    assert_eq!(
        pages.post("/afloat/plan", &[("day", &jiff::ZonedDateTime::now().date().to_string()), ("drill", "start_repeats")]).status,
        303
    );
    assert!(pages.get("/afloat/phone").body.contains("data-drill=\"start_repeats\""));
    assert!(pages.get("/afloat/plan.pdf").body.starts_with("%PDF"));
    assert_eq!(pages.post("/afloat/plan", &[("day", &jiff::ZonedDateTime::now().date().to_string())]).status, 303);
    assert_eq!(pages.get("/afloat/plan.pdf").status, 404);
}

/// The club's own number of sailors to a safety boat stands on the phone, and who decided it must be said.
#[test]
fn the_clubs_ratio_is_the_phones() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let ratio = || serde_json::from_str::<Value>(&pages.get("/afloat/day").body).unwrap()["per_boat"].as_f64().unwrap();
    assert!((ratio() - 6.0).abs() < 1e-9);
    assert!(pages.post("/today/limits", &[("per_boat", "4"), ("was.per_boat", "")]).body.contains("type who decided"));
    assert!(pages.post("/today/limits", &[("per_boat", "400"), ("was.per_boat", ""), ("by", "the committee")]).body.contains("alert"));
    assert_eq!(pages.post("/today/limits", &[("per_boat", "4"), ("was.per_boat", ""), ("by", "the committee")]).status, 303);
    assert!((ratio() - 4.0).abs() < 1e-9);
    assert!(pages.post("/today/limits", &[("per_boat", "5"), ("was.per_boat", ""), ("by", "me")]).body.contains("Somebody changed"));
    assert_eq!(pages.post("/today/limits", &[("per_boat", ""), ("was.per_boat", "4"), ("by", "")]).status, 303);
    assert!((ratio() - 6.0).abs() < 1e-9);
}

/// The paper rebuilds the tally, and typed again it is put right; a child's answers are kept; the coach's own list is on the phone.
#[test]
fn paper_and_answers_come_back() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let [oda, pim] = squad(&pages);
    assert!(pages.get("/afloat/tally.pdf").body.starts_with("%PDF"));
    let name = |field: &str, who: &str| format!("{field}.{who}");
    let (out, back, boat, other) = (name("out1", &oda), name("in1", &oda), name("boat", &oda), name("out1", &pim));
    let answer = pages.post("/afloat/paper", &[(&out, "half past"), (&other, "13:05")]);
    assert!(answer.body.contains("type a time like 13:05") && answer.body.contains("half past"), "{}", answer.body);
    let typed = [(out.as_str(), "13:01"), (&back, "15.30"), (&boat, "Red"), (&other, "13:05"), ("by", "Ida")];
    for _ in 0..2 {
        assert_eq!(pages.post("/afloat/paper", &typed).status, 303);
        let page = pages.get("/afloat").body;
        assert!(page.contains("still out: Pim") && page.contains("in at 15:30") && !page.contains("does not add up"), "{page}");
    }
    assert!(pages.get("/afloat/paper").body.contains("value=\"13:05\""));
    // She was ticked by mistake: typed again without her.
    assert_eq!(pages.post("/afloat/paper", &[(&out, "13:01"), (&back, "15:30")]).status, 303);
    assert!(pages.get("/afloat").body.contains(">0</p>"));
    let page = format!("/afloat/voice/{oda}");
    assert!(pages.get(&page).body.contains("What went well?"));
    assert_eq!(pages.post(&page, &[("good", "no such answer")]).status, 422);
    assert!(pages.post(&page, &[("good", "My start"), ("own.next", "go faster")]).body.contains("no one else"));
    assert_eq!(pages.get("/afloat/voice/nobody").status, 404);
    std::fs::write(folder.path().join("squad/observations.toml"), "[[observation]]\nkey = \"hat\"\nwords = \"No hat\"\n").unwrap();
    assert!(pages.get("/afloat/phone").body.contains("No hat"));
    std::fs::write(folder.path().join("squad/observations.toml"), "[[observation]]\nkey = ").unwrap();
    assert!(pages.get("/afloat/phone").body.contains("does not read"));
}

#[test]
fn drills_are_listed_and_printed() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| crate::run_in(folder.path(), arguments);
    let all = run(&["drills", "--json"]).json();
    assert!(all["drills"].as_array().unwrap().len() >= 20 && all["wind_known"] == false);
    let some = run(&["drills", "--finding", "tacks", "--wind", "14", "--json"]).json();
    let keys: Vec<&str> = some["drills"].as_array().unwrap().iter().map(|d| d["key"].as_str().unwrap()).collect();
    assert!(keys.contains(&"five_count_tacks") && !keys.contains(&"roll_and_hold"), "{keys:?}");
    assert_eq!(run(&["drills", "start_repeats", "--out", "d.pdf"]).code, 0);
    assert!(std::fs::read(folder.path().join("d.pdf")).unwrap().starts_with(b"%PDF"));
    run(&["drills", "no_such"]).refused(&["no_such", "start_repeats"]);
    run(&["drills", "--wind", "90"]).refused(&["0 to 40 knots"]);
    run(&["drills", "--finding", "hats"]).refused(&["findings are tacks"]);
}

/// A first visit of the page on the water, its style, scripts and every face its style names, without drawings: what a phone brings over a poor
/// network, kB. The pages' budget.
const WEIGHT: usize = 150;

#[test]
fn the_page_on_the_water_is_light() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let page = pages.get("/afloat/phone").body;
    let drawings: usize = page.split("<svg").skip(1).map(|rest| rest.find("</svg>").unwrap() + "<svg</svg>".len()).sum();
    let files: Vec<&str> = page.split('"').filter(|part| part.starts_with("/look/")).collect();
    assert_eq!(files, ["/look/kept/afloat.css", "/look/kept/tally.js", "/look/kept/signals.js", "/look/kept/afloat.js"]);
    let style = pages.get(files[0]).body;
    assert!(!style.contains(".index ul") && style.contains(".row.out") && style.contains(".drill"), "{style}");
    let script = pages.get(files[3]).body;
    assert!(script.contains("indexedDB") && !script.contains("\n//") && !script.contains("\n "), "{script}");
    let mut faces: Vec<String> = style.split("url(").skip(1).map(|rest| rest.split(')').next().unwrap().to_owned()).collect();
    faces.sort();
    faces.dedup();
    assert_eq!(faces, ["atkinson-ext.woff2", "atkinson.woff2", "besley.woff2"]);
    let faces: Vec<String> = faces.iter().map(|face| format!("/look/kept/{face}")).collect();
    let size = |path: &str| {
        let head = pages.get(path).head;
        head.lines().find_map(|l| l.strip_prefix("content-length:")).unwrap().trim().parse::<usize>().unwrap()
    };
    let along: usize = files.iter().copied().chain(faces.iter().map(String::as_str)).map(size).sum();
    assert!(page.len() - drawings + along < WEIGHT * 1000, "{} and {along}", page.len() - drawings);
}
