//! The pages as a browser meets them, over a socket: every page whole, forms round trip, bad fields told, strangers refused.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Solving twelve sailors takes seconds; more than this is a hang, s.
const PATIENCE: u64 = 120;

/// A program that serves, stopped when the test ends.
struct Serving {
    child: Child,
    address: String,
}

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer.
struct Page {
    status: u16,
    head: String,
    body: String,
}

impl Serving {
    fn start(folder: &Path, arguments: &[&str]) -> Self {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("trimwright"))
            .current_dir(folder)
            .args(arguments)
            .args(["--port", "0"])
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().rsplit_once("http://").unwrap().1.trim_end_matches('/').to_owned();
        Self { child, address }
    }

    fn send(&self, method: &str, path: &str, more: &str, body: &str) -> Page {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        let host = if more.to_lowercase().contains("host:") { String::new() } else { format!("Host: {}\r\n", self.address) };
        write!(stream, "{method} {path} HTTP/1.1\r\n{host}Connection: close\r\n{more}Content-Length: {}\r\n\r\n{body}", body.len())
            .unwrap();
        let mut text = Vec::new();
        stream.read_to_end(&mut text).unwrap();
        let text = String::from_utf8_lossy(&text).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        Page { status, head: head.to_lowercase(), body: body.to_owned() }
    }

    fn get(&self, path: &str) -> Page {
        self.send("GET", path, "", "")
    }

    fn post(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let encoded = |text: &str| text.bytes().map(|b| format!("%{b:02X}")).collect::<String>();
        let body: Vec<String> = fields.iter().map(|(k, v)| format!("{}={}", encoded(k), encoded(v))).collect();
        self.send("POST", path, "Content-Type: application/x-www-form-urlencoded\r\nSec-Fetch-Site: same-origin\r\n", &body.join("&"))
    }
}

/// The first address in a page that begins so.
fn address_in(page: &Page, start: &str) -> String {
    let from = page.body.find(&format!("\"{start}"));
    assert!(from.is_some(), "no {start} in {}", page.body);
    let from = from.unwrap() + 1;
    page.body[from..].split('"').next().unwrap().to_owned()
}

/// A coach's morning: an empty store, a boat, a sailor, the wind, the cards, the tape, the scale.
#[test]
fn a_morning_from_nothing_to_cards_and_a_verdict() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    assert!(pages.get("/squad").body.contains("No sailors yet"));
    assert_eq!(pages.post("/squad/boat", &[("label", "Dunlin")]).status, 303);
    let boat = address_in(&pages.get("/squad"), "/dock/");
    let id = boat.trim_start_matches("/dock/");
    let sailor = [("label", "Oda"), ("mass", "43.5"), ("stature", "152"), ("skill", "races"), ("boat", id)];
    assert_eq!(pages.post("/squad/sailor/new", &sailor).status, 303);
    // The mass is on no page until it is asked for, and then on the squad's alone.
    assert!(!pages.get("/squad").body.contains("43.5"));
    assert_eq!(pages.post("/squad/show", &[]).status, 303);
    assert!(pages.get("/squad").body.contains("43.5 kg"));
    assert_eq!(pages.post("/squad/cover", &[]).status, 303);
    assert!(!pages.get("/squad").body.contains("43.5"));

    assert!(pages.get("/dock").body.contains("No wind is known for today"));
    let wind =
        [("wind", "12:00 9 12 300\n13:00 10 13 305"), ("timezone", "UTC"), ("signal", "13:00"), ("venue", "the basin"), ("thunder", "1")];
    assert_eq!(pages.post("/today", &wind).status, 303);
    let begun = Instant::now();
    let today = loop {
        let page = pages.get("/today");
        if page.body.contains("/today/cards.pdf") {
            break page;
        }
        assert!(page.body.contains("solved") && begun.elapsed().as_secs() < PATIENCE, "{}", page.body);
        std::thread::sleep(Duration::from_millis(200));
    };
    for word in ["Oda", "Dunlin", "11:45", "the basin", "hunder", "1 to launch"] {
        assert!(today.body.contains(word), "{word} is not in {}", today.body);
    }
    assert!(!today.body.contains("43.5"));
    let cards = pages.get("/today/cards.pdf");
    assert!(cards.status == 200 && cards.body.starts_with("%PDF") && cards.head.contains("application/pdf"));

    assert_eq!(pages.post(&format!("{boat}/readings"), &[("boom_end_dock", "52"), ("by", "Tom")]).status, 303);
    let dock = pages.get(&boat);
    assert!(dock.body.contains("high.") && dock.body.contains("Tip the mast back"), "{}", dock.body);
    let wrong = pages.post(&format!("{boat}/readings"), &[("boom_end_dock", "fifty")]);
    assert!(wrong.status == 200 && wrong.body.contains("fifty") && wrong.body.contains("role=\"alert\""));
    assert_eq!(
        pages.post(&format!("{boat}/heights"), &[("notch1", "3"), ("height1", "21"), ("notch2", "5"), ("height2", "34")]).status,
        303
    );
    assert!(pages.get(&boat).body.contains("told in her own notches"));
    assert!(
        pages
            .post(&format!("{boat}/heights"), &[("notch1", "3"), ("height1", "21"), ("notch2", "3"), ("height2", "34")])
            .body
            .contains("alert")
    );
    assert_eq!(pages.post(&format!("{boat}/weigh"), &[("reading", "44.6"), ("water", "0.4"), ("error", "0.2")]).status, 303);
    assert!(pages.get(&boat).body.contains("class minimum"));
    assert!(pages.post(&format!("{boat}/weigh"), &[("reading", "441")]).body.contains("more than two boats"));
}

#[test]
fn two_tabs_lose_nothing_and_bad_fields_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let squad = pages.get("/squad").body;
    let id = squad.split("\"/squad/sailor/").skip(1).map(|rest| rest.split('"').next().unwrap()).find(|id| *id != "new").unwrap();
    let sailor = format!("/squad/sailor/{id}");
    let open = pages.get(&sailor);
    let version = open.body.split("name=\"version\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let edit = |name: &str| pages.post(&sailor, &[("version", &version), ("label", "Mika"), ("name", name), ("skill", "races")]);
    assert_eq!(edit("first").status, 303);
    let second = edit("second");
    assert!(second.status == 200 && second.body.contains("Somebody changed Mika") && second.body.contains("second"), "{}", second.body);
    assert!(pages.get(&sailor).body.contains("first"));
    let long = "x".repeat(10_000);
    for (field, value) in [
        ("mass", "-4"),
        ("mass", "400"),
        ("mass", "93"),
        ("stature", "nan"),
        ("stature", "15 200"),
        ("hand", "🙂"),
        ("sail", "<b>spinnaker</b>"),
        ("label", ""),
        ("label", &long),
        ("boat", "nowhere"),
    ] {
        let mut fields = vec![("label", "Mika"), ("skill", "races"), ("version", "2")];
        fields.retain(|f| f.0 != field);
        fields.push((field, value));
        let page = pages.post(&sailor, &fields);
        assert!(page.status == 200 && page.body.contains("role=\"alert\""), "{field} {value}: {}", page.status);
        assert!(!page.body.contains("<b>spinnaker"));
    }
    assert_eq!(pages.post(&sailor, &[("label", &"y".repeat(300_000))]).status, 413);
    for wind in ["", "13", "25:00 4", "13 🙂", "13:00 900", "<script>"] {
        let page = pages.post("/today", &[("wind", wind), ("timezone", "UTC")]);
        if wind == "13" {
            assert_eq!(page.status, 303);
        } else {
            assert!(page.status == 200 && page.body.contains("role=\"alert\"") && !page.body.contains("<script>"), "{wind}");
        }
    }
    assert!(pages.post("/today", &[("wind", "9"), ("timezone", "Nowhere/Land")]).body.contains("no timezone"));
}

#[test]
fn what_if_moves_and_says_why_not() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let page = pages.get("/what-if");
    assert!(page.status == 200 && page.body.contains("Nothing to move") && page.body.contains("<svg"), "{}", page.body);
    let moved = pages.get("/what-if/parts?boat=Avocet&wind=10&leg=beat&tack=starboard&a.car_offset=30&a.board_angle=-40");
    assert!(moved.body.contains("id=\"verdict\"") && moved.body.contains("too far"), "{}", moved.body);
    let two = pages.get("/what-if?boat=Avocet&wind=10&two=1&a.car_offset=30&b.car_offset=10&cost=car_offset&physics=1");
    assert!(two.body.contains("better") && two.body.contains("What does the car cost?") && two.body.contains("newtons"), "{}", two.body);
    for query in [
        "wind=-3",
        "wind=nan",
        "boat=%3Cscript%3E",
        "a.car_offset=900",
        "a.car_offset=nan",
        "a.boom_end_dock=1e999",
        "round=x",
        "leg=%F0%9F%99%82",
    ] {
        let page = pages.get(&format!("/what-if?{query}"));
        assert!(page.status == 200 && !page.body.contains("<script>alert") && !page.body.contains("NaN"), "{query}: {}", page.status);
    }
    // Every box of the form comes back; what was not moved holds nothing, so the answer is that of the moved one alone.
    let mut whole = String::from("/what-if/parts?boat=Avocet&wind=10&leg=beat&tack=starboard");
    for field in pages.get("/what-if?boat=Avocet&wind=10").body.split("name=\"a.").skip(1) {
        let name = field.split('"').next().unwrap();
        let value = field.split("value=\"").nth(1).unwrap().split('"').next().unwrap();
        whole += &format!("&a.{name}={}", if name == "car_offset" { "30" } else { value });
    }
    let alone = pages.get("/what-if/parts?boat=Avocet&wind=10&leg=beat&tack=starboard&a.car_offset=30").body;
    assert_eq!(pages.get(&whole).body, alone);
    // No child's mass in the address or on the page.
    assert!(!page.body.contains(" kg"));
}

#[test]
fn strangers_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    assert_eq!(pages.send("GET", "/squad", "Host: example.org\r\n", "").status, 403);
    let form = "Content-Type: application/x-www-form-urlencoded\r\n";
    assert_eq!(pages.send("POST", "/squad/show", &format!("{form}Sec-Fetch-Site: cross-site\r\n"), "").status, 403);
    assert_eq!(pages.send("POST", "/squad/show", &format!("{form}Origin: http://example.org\r\n"), "").status, 403);
    for path in ["/look/../Cargo.toml", "/look/%2e%2e%2fsquad.db", "/dock/1", "/squad/sailor/%00", "/nothing"] {
        assert_eq!(pages.get(path).status, 404, "{path}");
    }
    let head = pages.get("/squad").head;
    for header in ["content-security-policy: default-src 'none'", "x-content-type-options: nosniff", "cache-control: no-store"] {
        assert!(head.contains(header), "{header} is not in {head}");
    }
}
