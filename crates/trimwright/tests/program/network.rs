//! The pages on the club's network: who comes in, who does not, and what a sailor's link opens. The network of these tests is another
//! address of this machine than its usual one to itself, which the program treats as any other.

use std::path::Path;

use trimwright::door::Door;

use crate::pages::address_in;
use crate::run_in;
use crate::serving::{Page, Serving, exchange};

const PHRASE: &str = "four herons on a jetty";
const FORM: &str = "Content-Type: application/x-www-form-urlencoded\r\n";

/// The invented squad, served to the network as well; where phones reach it.
fn open(folder: &Path) -> (Serving, String) {
    drop(Serving::start(folder, &["demo", "--store", "squad", "--no-browser"]));
    Door::keep(&folder.join("squad"), PHRASE).unwrap();
    let pages = Serving::start(folder, &["serve", "--store", "squad", "--listen", "127.0.0.2"]);
    let out = pages.address.replace("127.0.0.1", "127.0.0.2");
    (pages, out)
}

fn try_phrase(out: &str, phrase: &str) -> Page {
    exchange(out, "POST", "/enter", FORM, &format!("to=%2Fsquad&phrase={}", phrase.replace(' ', "+")))
}

#[test]
fn the_coach_comes_in_with_the_pass_phrase_and_nobody_without() {
    let folder = tempfile::tempdir().unwrap();
    let (pages, out) = open(folder.path());
    // At home nothing is asked.
    assert_eq!(pages.get("/squad").status, 200);
    // From the network every page leads to the door, and a form is refused.
    for path in ["/", "/today", "/dock", "/what-if", "/ashore", "/school", "/school/phones", "/squad", "/school/quiz.pdf", "/nothing"] {
        let page = exchange(&out, "GET", path, "", "");
        assert!(page.status == 303 && page.head.contains("location: /enter?to="), "{path}: {} {}", page.status, page.head);
        assert!(!page.body.contains("Avocet"));
    }
    assert_eq!(exchange(&out, "POST", "/squad/boat", FORM, "label=Intruder").status, 401);
    assert!(!pages.get("/squad").body.contains("Intruder"));
    assert_eq!(exchange(&out, "GET", "/look/style.css", "", "").status, 200);
    // The right phrase opens all, but for the masses.
    let wrong = try_phrase(&out, "four herons on a jetti");
    assert!(wrong.status == 403 && !wrong.head.contains("set-cookie"));
    let right = try_phrase(&out, PHRASE);
    assert!(right.status == 303 && right.head.contains("location: /squad"), "{}", right.head);
    let cookie = right.head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).unwrap().to_owned();
    assert!(cookie.contains("httponly") && cookie.contains("samesite=strict"), "{cookie}");
    let session = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
    let squad = exchange(&out, "GET", "/squad", &session, "");
    assert!(squad.status == 200 && squad.body.contains("Put this phone away") && !pages.get("/squad").body.contains("Put this phone away"));
    assert_eq!(exchange(&out, "POST", "/squad/show", &format!("{FORM}{session}"), "").status, 422);
    assert_eq!(pages.post("/squad/show", &[]).status, 303);
    assert!(pages.get("/squad").body.contains(" kg") && !exchange(&out, "GET", "/squad", &session, "").body.contains(" kg<"));
    // A form from elsewhere, another host's name, a made-up session.
    let foreign = format!("{FORM}{session}Origin: http://example.org\r\n");
    assert_eq!(exchange(&out, "POST", "/squad/boat", &foreign, "label=Intruder").status, 403);
    assert_eq!(exchange(&out, "GET", "/squad", &format!("{session}Host: example.org\r\n"), "").status, 403);
    assert_eq!(exchange(&out, "GET", "/squad", &format!("{session}Host: {}\r\n", pages.address), "").status, 403);
    assert_eq!(exchange(&pages.address, "GET", "/squad", &format!("Host: {out}\r\n"), "").status, 403);
    assert_eq!(exchange(&out, "GET", "/squad", "Cookie: coach=00000000000000000000000000000000\r\n", "").status, 303);
    // Put away, the session opens nothing.
    assert_eq!(exchange(&out, "POST", "/enter/leave", &format!("{FORM}{session}"), "").status, 303);
    assert_eq!(exchange(&out, "GET", "/squad", &session, "").status, 303);
}

#[test]
fn guesses_are_few() {
    let folder = tempfile::tempdir().unwrap();
    let (_pages, out) = open(folder.path());
    let answers: Vec<u16> = (0..7).map(|k| try_phrase(&out, &format!("guess number {k}")).status).collect();
    assert_eq!(answers, [403, 403, 403, 403, 403, 429, 429]);
    // Not even the right one, until a while has gone by.
    let right = try_phrase(&out, PHRASE);
    assert!(right.status == 429 && right.head.contains("retry-after") && right.body.contains("Wait"), "{}", right.body);
}

#[test]
fn a_link_opens_one_sailors_pages_until_it_is_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let (pages, out) = open(folder.path());
    let list = pages.get("/school/phones");
    let ids: Vec<&str> = list.body.split("name=\"sailor\" value=\"").skip(1).map(|t| t.split('"').next().unwrap()).collect();
    assert_eq!(ids.len(), 12);
    let made = pages.post("/school/phones/link", &[("sailor", ids[0])]);
    assert!(made.status == 200 && made.body.contains("<svg"), "{}", made.body);
    let link = address_in(&made, &format!("http://{out}/s/"));
    let path = link.split_once(&out).unwrap().1.to_owned();
    assert_eq!(path.len(), "/s/".len() + 32);
    // Shown once: the page does not know it any more, and the store holds its hash alone.
    assert!(!pages.get("/school/phones").body.contains(&path[3..]));
    let bytes: Vec<u8> = std::fs::read_dir(folder.path().join("squad"))
        .unwrap()
        .flatten()
        .filter(|e| e.path().is_file())
        .flat_map(|e| std::fs::read(e.path()).unwrap())
        .collect();
    assert!(!bytes.windows(32).any(|w| w == &path.as_bytes()[3..]));

    let name = pages.get("/squad").body.split("class=\"name\">").nth(1).unwrap().split('<').next().unwrap().to_owned();
    for page in ["", "/checklist", "/quiz", "/words", "/pocket.html"] {
        let page = exchange(&out, "GET", &format!("{path}{page}"), "", "");
        assert!(page.status == 200 && page.body.contains(&name) && !page.body.contains("href=\"/squad"), "{}", page.body);
    }
    // It opens nothing else, and no guess opens anything.
    assert_eq!(exchange(&out, "GET", "/squad", "", "").status, 303);
    for guess in [
        "/s/",
        "/s/0",
        "/s/00000000000000000000000000000000",
        &format!("/s/{}", ids[0]),
        "/s/%00",
        &format!("{path}0"),
        &path.to_uppercase(),
    ] {
        let page = exchange(&out, "GET", guess, "", "");
        assert!((page.status == 404 || page.status == 303) && !page.body.contains(&name), "{guess}: {}", page.status);
    }
    // What is not there, or not to be done, names no page of the coach's.
    let lost = exchange(&out, "GET", &format!("{path}/nothing"), "", "");
    let unkept = exchange(&out, "POST", &format!("{path}/checklist"), FORM, "place=nowhere");
    assert!((lost.status, unkept.status) == (404, 422) && ![lost.body, unkept.body].iter().any(|b| b.contains("/squad")));
    // A new link ends the one before; taken back, it opens nothing, and its forms write nothing.
    let again = pages.post("/school/phones/link", &[("sailor", ids[0])]);
    let second = address_in(&again, &format!("http://{out}/s/")).split_once(&out).unwrap().1.to_owned();
    assert_eq!(exchange(&out, "GET", &path, "", "").status, 404);
    assert_eq!(exchange(&out, "GET", &second, "", "").status, 200);
    assert_eq!(pages.post("/school/phones/withdraw", &[("sailor", ids[0])]).status, 303);
    let gone = exchange(&out, "GET", &second, "", "");
    assert!(gone.status == 404 && gone.body.contains("opens nothing"), "{}", gone.body);
    assert_eq!(exchange(&out, "POST", &format!("{second}/checklist"), FORM, "place=dock&item=whistle").status, 404);
    assert_eq!(exchange(&out, "POST", &format!("{second}/answers"), FORM, "a=0").status, 404);
}

#[test]
fn the_door_asks_for_a_phrase_worth_having() {
    let folder = tempfile::tempdir().unwrap();
    let serve = |more: &[&str], typed: &str| {
        let mut command = assert_cmd::Command::cargo_bin("trimwright").unwrap();
        let command = command.current_dir(folder.path()).args(["serve", "--store", "squad", "--port", "0"]).args(more);
        let out = command.write_stdin(typed).output().unwrap();
        (out.status.code(), String::from_utf8(out.stderr).unwrap())
    };
    for (typed, word) in [("", "needs a pass phrase"), ("short\n", "guessed too soon"), ("   \n", "needs a pass phrase")] {
        let (code, told) = serve(&["--listen", "127.0.0.2"], typed);
        assert!(code == Some(2) && told.contains(word), "{typed:?}: {told}");
    }
    assert!(!folder.path().join("squad/pass-phrase").exists());
    run_in(folder.path(), &["serve", "--listen", "the club"]).refused(&["no address of this machine"]);
    run_in(folder.path(), &["serve", "--store", "squad", "--port", "0", "--listen", "203.0.113.7"]).refused(&["203.0.113.7"]);
}
