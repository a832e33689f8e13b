//! School over a socket: checklists ticked by several hands, a quiz answered twice, the pocket page, a coach's own list with faults.

use std::path::Path;

use squad::Store;

use crate::run_in;
use crate::serving::{Page, Serving};

/// Two sailors with today's wind solved.
fn solved(folder: &Path) -> Serving {
    let pages = Serving::start(folder, &["serve", "--store", "squad"]);
    for (boat, sailor, mass) in [("Dunlin", "Oda", "43.5"), ("Knot", "Pim", "36.5")] {
        assert_eq!(pages.post("/squad/boat", &[("label", boat)]).status, 303);
        let squad = pages.get("/squad").body;
        let row = squad.split(&format!("class=\"name\">{boat}<")).nth(1).unwrap();
        let id = row.split("/dock/").nth(1).unwrap().split('"').next().unwrap();
        let fields = [("label", sailor), ("mass", mass), ("skill", "races"), ("boat", id)];
        assert_eq!(pages.post("/squad/sailor/new", &fields).status, 303);
    }
    assert_eq!(pages.post("/today", &[("wind", "12:00 11 14 300"), ("timezone", "UTC")]).status, 303);
    pages.solved();
    pages
}

/// The value of a field.
fn value<'a>(page: &'a Page, name: &str) -> &'a str {
    let field = page.body.split_once(&format!("name=\"{name}\"")).unwrap().1;
    field.split_once("value=\"").unwrap().1.split('"').next().unwrap()
}

/// Where the sailors sit, in the order of the page.
fn sailors(pages: &Serving) -> Vec<String> {
    let page = pages.get("/school").body;
    let all = page.split("class=\"name\" href=\"").skip(1).map(|rest| rest.split('"').next().unwrap().to_owned());
    all.collect()
}

/// One squad solved once, for all that needs a wind.
#[test]
fn a_day_at_school() {
    let folder = tempfile::tempdir().unwrap();
    let pages = solved(folder.path());
    a_quiz_is_asked_answered_once_and_comes_back(&pages, folder.path());
    the_pocket_page_stands_alone_and_its_answers_come_once(&pages, folder.path());
    a_quiz_goes_on_paper_with_its_answers(&pages);
}

fn a_quiz_is_asked_answered_once_and_comes_back(pages: &Serving, folder: &Path) {
    let base = sailors(pages)[0].clone();
    let quiz = format!("{base}/quiz");
    let page = pages.get(&quiz);
    assert!(page.status == 200 && page.body.contains("Question 1 of 8 today") && page.body.contains("<svg"), "{}", page.body);
    let fields = |page: &Page| ["id", "key", "seed", "mark"].map(|name| (name, value(page, name).to_owned()));
    let first = fields(&page);
    let sent = |fields: &[(&str, String)], answer: &str| {
        let mut form: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (*k, v.as_str())).collect();
        form.push(("answer", answer));
        pages.post(&quiz, &form)
    };
    let told = sent(&first, "not_sure");
    assert!(
        told.status == 200 && told.body.contains("Not this time") && told.body.contains("Why") && told.body.contains("Next question"),
        "{}",
        told.body
    );
    // Sent twice, and once more with another choice: the first stands.
    let again = sent(&first, "not_sure");
    assert!(again.status == 200 && again.body.contains("Not this time"));
    let answers = || -> Vec<(String, bool)> {
        let store = Store::open(&folder.join("squad")).unwrap().value;
        let id = base["/school/".len()..].parse().unwrap();
        store.answers_of(id).unwrap().into_iter().map(|a| (a.fact.answer, a.fact.correct)).collect()
    };
    assert_eq!(answers(), [("not_sure".to_owned(), false)]);
    // It is a weak spot of that sailor, seen there and by the coach; another question comes next.
    assert!(pages.get("/school").body.contains("<summary>1</summary>"));
    let next = pages.get(&quiz);
    assert!(next.body.contains("Question 2 of 8 today") && value(&next, "key") != first[1].1 && next.body.contains("To look at again"));
    // A form of another day, another question, another sailor's or nobody's changes nothing.
    let mut old = fields(&next);
    old[3].1 = "0000000000000000".to_owned();
    assert!(sent(&old, "not_sure").body.contains("Here is one for today"));
    for broken in ["", "zz", "\u{1F642}"] {
        let mut broken_id = fields(&next);
        broken_id[0].1 = broken.to_owned();
        assert_eq!(sent(&broken_id, "not_sure").status, 422);
    }
    assert!(sent(&fields(&next), "no_such_answer").body.contains("Here is one for today"));
    assert_eq!(answers().len(), 1);
    // The right one is praised, and no mass is on any of it.
    let key = value(&next, "key").to_owned();
    let choices: Vec<&str> = next.body.split("name=\"answer\" value=\"").skip(1).map(|t| t.split('"').next().unwrap()).collect();
    assert!((4..=5).contains(&choices.len()), "{key}: {choices:?}");
    // In the other language, the same question in other words.
    let german = pages.send("GET", &quiz, "Cookie: language=de\r\n", "");
    assert!(german.body.contains("Frage 2 von 8 heute") && german.body.contains("lang=\"de\"") && value(&german, "key") == key);
}

#[test]
fn checklists_are_ticked_by_many_hands_and_kit_is_one_with_the_dock() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let base = sailors(&pages)[0].clone();
    let list = format!("{base}/checklist");
    assert!(pages.get(&list).body.contains("At the boat park"));
    assert_eq!(pages.post(&list, &[("place", "dock"), ("item", "paddle"), ("item", "whistle")]).status, 303);
    // The paddle is the boat's: the dock shows it, and what the dock ticks the sailor sees.
    let dock = pages.get("/dock").body;
    assert!(dock.contains("Kit 1 of 8"), "{dock}");
    let ticked = pages.get(&list);
    let is_ticked = |page: &Page, key: &str| page.body.contains(&format!("name=\"item\" value=\"{key}\" checked"));
    assert!(is_ticked(&ticked, "paddle") && is_ticked(&ticked, "whistle") && !is_ticked(&ticked, "sponge"));
    // A tab opened before unticks nothing it did not see.
    assert_eq!(pages.post(&list, &[("place", "dock"), ("item", "sponge")]).status, 303);
    let both = pages.get(&list);
    assert!(is_ticked(&both, "paddle") && is_ticked(&both, "sponge"));
    assert_eq!(pages.post(&list, &[("place", "dock"), ("seen", "whistle")]).status, 303);
    assert!(!is_ticked(&pages.get(&list), "whistle"));
    assert_eq!(pages.post(&list, &[("place", "the moon"), ("item", "sponge")]).status, 422);
    // All of both lists: ready, and praised by name.
    for place in ["boat_park", "dock"] {
        let page = pages.get(&list);
        let section = page.body.split_once(&format!("id=\"{place}\"")).unwrap().1.split("</section>").next().unwrap();
        let keys: Vec<&str> = section.split("name=\"item\" value=\"").skip(1).map(|t| t.split('"').next().unwrap()).collect();
        let fields: Vec<(&str, &str)> = [("place", place)].into_iter().chain(keys.into_iter().map(|k| ("item", k))).collect();
        assert_eq!(pages.post(&list, &fields).status, 303);
    }
    assert!(pages.get("/school").body.contains("Both lists ticked: "));
}

#[test]
fn a_coachs_own_list_is_told_by_its_lines() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo", "--store", "squad"]);
    let own = "place = \"ashore\"\n\n[[item]]\nkey = \"ice_cream\"\nsays = \"Ice cream\"\n";
    let wrong = pages.post("/school/lists/ashore", &[("text", &own.replace("says", "sais"))]);
    assert!(wrong.status == 200 && wrong.body.contains("line 5: ") && wrong.body.contains("ice_cream"), "{}", wrong.body);
    assert!(!folder.path().join("squad/checklists/ashore.toml").exists());
    assert_eq!(pages.post("/school/lists/ashore", &[("text", &own.replace('\n', "\r\n"))]).status, 303);
    let list = format!("{}/checklist", sailors(&pages)[0]);
    assert!(pages.get(&list).body.contains("Ice cream"));
    // Broken by hand on the disk: told on the page, and the list that comes along is used.
    std::fs::write(folder.path().join("squad/checklists/ashore.toml"), "place = [[[").unwrap();
    assert!(pages.get("/school").body.contains("not used, line 1"));
    assert!(!pages.get(&list).body.contains("Ice cream"));
    assert_eq!(pages.post("/school/lists/ashore", &[("back", "1")]).status, 303);
    assert!(!pages.get("/school").body.contains("not used"));
    assert_eq!(pages.get("/school/lists/..%2F..%2Fetc").status, 404);
}

fn the_pocket_page_stands_alone_and_its_answers_come_once(pages: &Serving, folder: &Path) {
    let base = sailors(pages)[1].clone();
    let pocket = pages.get(&format!("{base}/pocket.html"));
    assert!(pocket.status == 200 && pocket.head.contains("script-src 'sha256-"), "{}", pocket.head);
    // Nothing is fetched from anywhere, and no mass is in it.
    for outside in ["src=\"", "<link", "@import", "url(", " kg"] {
        assert!(!pocket.body.contains(outside), "{outside}");
    }
    for inside in ["<svg", "data-tick=\"dock.paddle\"", "data-right=\"1\"", "<details", "Boom end", "data-answer="] {
        assert!(pocket.body.contains(inside), "{inside}");
    }
    assert_eq!(pocket.body.matches("class=\"q\"").count(), 12);
    // Answers kept on the phone: sent twice they are one; a clock a day ahead is not believed; what is none of ours is left out.
    let ahead =
        86_400_000 + i64::try_from(std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap().as_millis()).unwrap();
    let (a, b) = (format!("{:032x}|{ahead}|rule_tacks|port|1", 7), format!("{:032x}|1|rule_tacks|starboard|0", 8));
    let answers = format!("{base}/answers");
    let day = pocket.body.split("data-day=\"").nth(1).unwrap().split('"').next().unwrap();
    let sent = [
        ("by", "script"),
        ("day", day),
        ("t", "dock.whistle"),
        ("t", "nowhere.nothing"),
        ("a", &a as &str),
        ("a", &b),
        ("a", "nonsense"),
        ("a", "|||||"),
        ("a", "0|0|no_such_question|x|1"),
        ("a", "🙂|🙂|🙂|🙂|🙂"),
    ];
    for _ in 0..2 {
        let kept = pages.post(&answers, &sent);
        assert!(kept.status == 200 && kept.body.lines().count() == 2, "{}", kept.body);
    }
    let list = |pages: &Serving| pages.get(&format!("{base}/checklist")).body;
    assert!(list(pages).contains("name=\"item\" value=\"whistle\" checked"));
    // Ticks of yesterday are of no use today.
    assert_eq!(pages.post(&answers, &[("by", "script"), ("day", "2020-01-01"), ("t", "dock.paddle")]).status, 200);
    assert!(!list(pages).contains("name=\"item\" value=\"paddle\" checked"));
    let store = Store::open(&folder.join("squad")).unwrap().value;
    let all = store.answers_of(base["/school/".len()..].parse().unwrap()).unwrap();
    assert_eq!(all.len(), 2);
    let now = squad::Moment::now();
    assert!(all.iter().all(|x| x.fact.at <= now));

    // The command's files are the same page, one a sailor, without a way back; no child's mass is in any.
    let squad = run_in(folder, &["pocket", "--store", "squad", "--out", "pockets", "--language", "de"]);
    assert_eq!((squad.code, squad.out.lines().count()), (0, 2), "{}", squad.err);
    let masses: Vec<String> =
        store.sailors().unwrap().iter().filter_map(|s| s.fact.mass_kg).map(|m| format!("{} kg", m.in_kilograms())).collect();
    assert_eq!(masses.len(), 2);
    for file in squad.out.lines() {
        let text = std::fs::read_to_string(folder.join(file)).unwrap();
        assert!(text.contains("lang=\"de\"") && text.contains("Maßband") && text.contains("action=\"\""));
        assert!(masses.iter().all(|m| !text.contains(m)) && !text.contains(" kg"), "{file}");
        assert!(text.len() < 600_000, "{}", text.len());
    }
    run_in(folder, &["pocket", "--store", "squad", "--out", "more", "--wind", "-3"]).refused(&["--wind"]);
    run_in(folder, &["pocket", "--store", "squad", "--out", "more", "--sailor", "Nobody"]).refused(&["no sailor of this squad"]);
}

fn a_quiz_goes_on_paper_with_its_answers(pages: &Serving) {
    for language in ["en", "de"] {
        let paper = pages.get(&format!("/school/quiz.pdf?language={language}"));
        assert!(paper.status == 200 && paper.body.starts_with("%PDF"), "{}", paper.body);
    }
    assert!(pages.get("/school/glossary").body.contains("Transom"));
    for path in ["/school/0", "/school/00000000000000000000000000000000", "/school/%00/quiz", "/school/0/pocket.html"] {
        assert_eq!(pages.get(path).status, 404, "{path}");
    }
}
