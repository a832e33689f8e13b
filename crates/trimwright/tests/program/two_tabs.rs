//! What the pages keep beside sailors and wind: it comes back as it was meant, and of two tabs that change the same thing the second
//! is told, and nothing is lost.

use squad::Store;

use crate::attacks::FORM;
use crate::serving::{Page, Serving};
use crate::{run_in, within};

/// The addresses in a page that begin so.
fn addresses(page: &Page, start: &str) -> Vec<String> {
    let all = page.body.split('"').filter(|a| a.starts_with(start) && !a.ends_with("/new"));
    all.map(str::to_owned).collect()
}

/// The value of the first field of a name after a place in the page.
fn value<'a>(page: &'a Page, after: &str, name: &str) -> &'a str {
    let rest = page.body.split_once(after).unwrap().1;
    let field = rest.split_once(&format!("name=\"{name}\"")).unwrap().1;
    field.split_once("value=\"").unwrap().1.split('"').next().unwrap()
}

#[test]
fn the_launch_order_is_kept_and_who_moves_second_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let open = pages.get("/today/order");
    let (seen, first) = (value(&open, "", "seen").to_owned(), value(&open, "", "sailor").to_owned());
    let before: Vec<&str> = seen.split(' ').collect();
    assert!(before.len() == 12 && before[0] == first);
    let sent = |seen: &str, sailor: &str, deed: &str| pages.post("/today/order", &[("seen", seen), ("sailor", sailor), ("deed", deed)]);
    assert_eq!(sent(&seen, &first, "down").status, 303);
    let told = sent(&seen, &first, "out");
    assert!(told.status == 200 && told.body.contains("Somebody changed the order"), "{}", told.body);
    let now = value(&pages.get("/today/order"), "", "seen").to_owned();
    assert!(now.starts_with(&format!("{} {first} ", before[1])), "{now}");
    assert_eq!(sent(&now, &first, "out").status, 303);
    let ashore = pages.get("/today/order");
    assert!(ashore.body.contains("11 launch") && pages.get("/today").body.contains("11 to launch"));
    assert_eq!(sent(value(&ashore, "", "seen"), &first, "in").status, 303);
    let now = value(&pages.get("/today/order"), "", "seen").to_owned();
    assert!(now.ends_with(&first) && now.starts_with(before[1]), "{now}");
    // A sailor that is none, in a form that is up to date: the page once held the store here and asked for it again, and waited for ever.
    let nobody = "0".repeat(32);
    for (sailor, deed) in [("nobody", "up"), ("", "in"), (&*nobody, "up"), (&*nobody, "in"), (&*first, "sideways")] {
        let form = format!("seen={}&sailor={sailor}&deed={deed}", now.replace(' ', "+"));
        let answer = within(5, &pages.address, "POST", "/today/order", FORM, &form);
        assert!(matches!(answer.status, 200 | 303), "{sailor} {deed}: {}", answer.status);
    }
    assert_eq!(value(&pages.get("/today/order"), "", "seen"), now);
}

#[test]
fn kit_ticked_in_two_tabs_stays_ticked() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let boat = addresses(&pages.get("/squad"), "/dock/")[0].clone();
    let kit = format!("{boat}/kit");
    // Both tabs were opened with nothing ticked.
    assert_eq!(pages.post(&kit, &[("item", "paddle"), ("item", "bailer")]).status, 303);
    assert_eq!(pages.post(&kit, &[("item", "sponge")]).status, 303);
    assert!(pages.get(&boat).body.contains("Kit: 3 of 8"));
    // The sponge went missing: what is unticked is taken back, and only that.
    assert_eq!(pages.post(&kit, &[("seen", "sponge"), ("seen", "paddle"), ("item", "paddle")]).status, 303);
    assert!(pages.get(&boat).body.contains("Kit: 2 of 8") && pages.get("/dock").body.contains("Kit 2 of 8"));
}

#[test]
fn the_clubs_limits_are_kept_told_today_and_on_the_cards() {
    let folder = tempfile::tempdir().unwrap();
    {
        let pages = Serving::start(folder.path(), &["demo", "--store", "squad"]);
        let limits = "/today/limits";
        assert!(pages.get("/today/limits").body.contains("Who decided"));
        let set = [("races", "8"), ("was.races", ""), ("by", "the committee")];
        assert_eq!(pages.post(limits, &set).status, 303);
        let told = pages.post(limits, &[("races", "30"), ("was.races", ""), ("by", "somebody")]);
        assert!(told.status == 200 && told.body.contains("Somebody changed the limits") && told.body.contains("races 8"), "{}", told.body);
        assert_eq!(
            pages
                .post(
                    limits,
                    &[("first_season", "6"), ("was.first_season", ""), ("was.races", "8"), ("races", "8"), ("by", "the committee")]
                )
                .status,
            303
        );
        let wind = [("wind", "12:00 9 12 300"), ("timezone", "UTC"), ("thunder", "1")];
        assert_eq!(pages.post("/today", &wind).status, 303);
        let today = pages.solved().body;
        for words in [
            "first season 6, races 8",
            "Decided by the committee",
            "over the limit of 8 knots that the club set for sailors who race",
            "Thunder is about",
        ] {
            assert!(today.contains(words), "{words} is not in {today}");
        }
        // The cards are printed, and what they tell is kept as given: once, however often they are printed.
        for _ in 0..2 {
            let printed = pages.post("/today/cards", &[]);
            assert!(printed.status == 303 && printed.head.contains("location: /today/cards.pdf"), "{}", printed.head);
        }
        assert!(pages.get("/today/cards.pdf").body.starts_with("%PDF"));
        let store = Store::open(&folder.path().join("squad")).unwrap().value;
        let given = |store: &Store| {
            let sailors = store.sailors().unwrap();
            sailors.iter().map(|s| store.setups_given_to(s.id).unwrap()).collect::<Vec<_>>()
        };
        let all = given(&store);
        assert!(all.len() == 12 && all.iter().all(|g| g.len() == 1 && g[0].fact.settings.len() > 3), "{all:?}");
        let sailor = pages.get(&addresses(&pages.get("/squad"), "/squad/sailor/")[0]).body;
        assert!(sailor.contains("The last card") && sailor.contains("9 knots at 10 m"), "{sailor}");
    }
    // The command's cards take the limits, the forecast and the thunder from the store.
    let told = run_in(folder.path(), &["cards", "--store", "squad", "--out", "cards.pdf"]);
    assert!(told.out.contains("over the limit of 8 knots") && told.out.contains("Thunder is about"), "{}{}", told.out, told.err);
}

#[test]
fn a_base_setup_is_written_field_by_field() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let boat = addresses(&pages.get("/squad"), "/squad/boat/")[0].clone();
    assert_eq!(pages.post(&boat, &[("car_offset", "12"), ("was.car_offset", "")]).status, 303);
    // Another field from a tab opened before loses nothing; the same field is told.
    assert_eq!(pages.post(&boat, &[("sail_boom_gap", "15,5"), ("was.sail_boom_gap", "")]).status, 303);
    let told = pages.post(&boat, &[("car_offset", "20"), ("was.car_offset", "")]);
    assert!(
        told.status == 200 && told.body.contains("Somebody changed this base setup") && told.body.contains("Car 12 cm"),
        "{}",
        told.body
    );
    let open = pages.get(&boat);
    assert_eq!((value(&open, "", "car_offset"), value(&open, "", "sail_boom_gap")), ("12", "15.5"));
    // In inches, and taken back.
    let inches = |path: &str| pages.send("GET", path, "Cookie: units=us\r\n", "");
    let us = inches(&boat);
    assert_eq!(value(&us, "", "car_offset"), "4.75");
    assert!(us.body.contains("aria-pressed=\"true\">Inches and pounds"), "{}", us.body);
    assert_eq!(pages.post(&boat, &[("car_offset", ""), ("was.car_offset", "12")]).status, 303);
    assert_eq!(value(&pages.get(&boat), "", "car_offset"), "");
    let line = [("gauge", "car_offset"), ("at", "10"), ("words", "blue pen, port side")];
    assert_eq!(pages.post(&format!("{boat}/line"), &line).status, 303);
    let drawn = pages.get(&boat);
    assert!(drawn.body.contains("blue pen, port side") && drawn.body.contains("10 cm"), "{}", drawn.body);
    let gone = [("line", value(&drawn, "/gone", "line")), ("version", value(&drawn, "/gone", "version"))];
    assert_eq!(pages.post(&format!("{boat}/gone"), &gone).status, 303);
    assert!(!pages.get(&boat).body.contains("blue pen"));
}

#[test]
fn inches_and_pounds_on_every_page() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let us = |path: &str| pages.send("GET", path, "Cookie: units=us\r\n", "").body;
    let chosen = pages.send("POST", "/units", "Content-Type: application/x-www-form-urlencoded\r\n", "units=us");
    assert!(chosen.status == 303 && chosen.head.contains("set-cookie: units=us"), "{}", chosen.head);
    let boat = addresses(&pages.get("/squad"), "/dock/")[0].clone();
    assert!(us(&boat).contains("On the scale, lb") && us(&boat).contains("Boom end, in"));
    assert!(us("/squad/sailor/new").contains("Stature, in") && us("/squad/sailor/new").contains("Body mass, lb"));
    assert!(us("/today").contains("Water, °F") && us("/today").contains("Chop, ft"));
    let what_if = us("/what-if?boat=Avocet&wind=10&a.car_offset=30");
    assert!(
        what_if.contains("1640 ft good") && what_if.contains("name=\"units\" value=\"us\"") && what_if.contains("value=\"11.75\""),
        "{what_if}"
    );
    // A link keeps its own units: the same state in centimetres and in inches.
    let metric = pages.get("/what-if?boat=Avocet&wind=10&units=us&a.car_offset=12").body;
    assert!(metric.contains("name=\"a.car_offset\" inputmode=\"decimal\" value=\"30.5\""), "{metric}");
}
