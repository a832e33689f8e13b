//! What somebody on the club's network, or a page of somebody else's in the coach's browser, might try; `docs/threats.md` lists it. The
//! routes are read out of the program's own source, so that a new one is tried too.

use std::collections::BTreeSet;
use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::time::Duration;

use trimwright::door::Door;

use crate::pages::address_in;
use crate::serving::{Page, Serving, exchange};
use crate::{run_in, within};

const PHRASE: &str = "four herons on a jetty";
pub(crate) const FORM: &str = "Content-Type: application/x-www-form-urlencoded\r\n";
const ROUTES: &str = include_str!("../../src/pages.rs");

/// Labels that a page, a table, a sheet or a letter's head might take for its own.
const LABELS: [&str; 4] = ["<img src=x>", "=HYPERLINK(1)", "#panic()", "a\\\"b;c,d"];

/// Every route with its ways, what is between braces filled in.
fn routes() -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    for part in ROUTES.split(".route(").skip(1) {
        let path = part.split('"').nth(1).unwrap();
        let handlers = part.split(")\n").next().unwrap();
        let path = path.replace("{link}", &"0".repeat(32)).replace("{place}", "dock").replace("{file}", "none");
        let path = path.split('/').map(|p| if p.starts_with('{') { "0".repeat(32) } else { p.to_owned() }).collect::<Vec<_>>().join("/");
        for (word, way) in [("get(", "GET"), ("post(", "POST")] {
            if handlers.contains(word) {
                all.push((way, path.clone()));
            }
        }
    }
    assert!(all.len() > 100 && all.iter().any(|r| r.1 == "/season/take"), "{}", all.len());
    all
}

/// A small squad, served to the network as well; the folder, and where phones reach it.
fn open() -> (tempfile::TempDir, Serving, String) {
    let folder = tempfile::tempdir().unwrap();
    let crew =
        |sailor: &str, boat: &str| format!("[[sailor]]\nsailor = \"{sailor}\"\nboat = \"{boat}\"\nmass = \"40 kg\"\nskill = \"races\"\n");
    let strange: String = LABELS.iter().enumerate().map(|(k, label)| crew(label, &format!("{label}{k}"))).collect();
    fs::write(folder.path().join("squad.toml"), crew("Quillonda", "Reed") + &strange).unwrap();
    let brought = run_in(folder.path(), &["import", "squad.toml", "--store", "squad"]);
    assert_eq!(brought.code, 0, "{}", brought.err);
    Door::keep(&folder.path().join("squad"), PHRASE).unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad", "--listen", "127.0.0.2"]);
    let out = pages.address.replace("127.0.0.1", "127.0.0.2");
    (folder, pages, out)
}

fn send(address: &str, way: &str, path: &str, more: &str) -> Page {
    exchange(address, way, path, &format!("{more}{}", if way == "POST" { FORM } else { "" }), "")
}

#[test]
fn a_stranger_on_the_network_opens_nothing_and_writes_nothing() {
    let (folder, pages, out) = open();
    let export = || {
        let done = run_in(folder.path(), &["export", "--store", "squad", "--out", "all.zip"]);
        assert_eq!(done.code, 0, "{}", done.err);
        let bytes = fs::read(folder.path().join("all.zip")).unwrap();
        bytes.len()
    };
    let before = export();
    for (way, path) in routes() {
        let page = send(&out, way, &path, "");
        let open = path.starts_with("/enter") || path.starts_with("/look/") || path.starts_with("/s/") || path == "/privacy";
        let kept_out = match way {
            "GET" => page.status == 303 && page.head.contains("location: /enter?to="),
            _ => page.status == 401,
        };
        assert!(kept_out || open, "{way} {path}: {}", page.status);
        assert!(!page.body.contains("Quillonda") && !page.body.contains("Reed"), "{way} {path}");
        // Each answer keeps itself to itself, also one that refuses.
        for header in
            ["content-security-policy: default-src 'none'", "x-content-type-options: nosniff", "x-frame-options: deny", "referrer-policy: "]
        {
            assert!(page.head.contains(header), "{way} {path}: {header} is not in {}", page.head);
        }
    }
    assert_eq!(before, export());
    assert!(pages.get("/squad").body.contains("Quillonda"));
}

#[test]
fn a_page_of_somebody_else_writes_nothing() {
    let (_folder, pages, _out) = open();
    for (way, path) in routes() {
        if way == "GET" || path.ends_with("/answers") && path.starts_with("/s/") {
            continue;
        }
        for from in
            ["Sec-Fetch-Site: cross-site\r\n", "Sec-Fetch-Site: same-site\r\n", "Origin: http://example.org\r\n", "Origin: null\r\n"]
        {
            assert_eq!(send(&pages.address, way, &path, from).status, 403, "{path} {from}");
        }
    }
}

#[test]
fn every_address_answers_whatever_it_is_asked() {
    let (_folder, pages, _out) = open();
    for (way, path) in routes() {
        for more in ["", "?outing=nobody&who=-1&boat=0&id=%00", "?outing=00000000000000000000000000000000&who=99999999999999999999"] {
            let path = format!("{path}{more}");
            let page = within(20, &pages.address, way, &path, FORM, "");
            assert!(page.status < 500, "{way} {path}: {}", page.status);
        }
    }
}

/// As `docs/threats.md` has it for a proxy in front: it names this machine as host and origin.
#[test]
fn a_proxy_in_front_can_pass_forms_on() {
    let (_folder, pages, _out) = open();
    let heads = format!("{FORM}Host: localhost\r\nOrigin: http://localhost\r\nSec-Fetch-Site: same-origin\r\n");
    assert_eq!(exchange(&pages.address, "POST", "/squad/boat", &heads, "label=Sedge").status, 303);
    assert!(exchange(&pages.address, "GET", "/squad", "Host: localhost\r\n", "").body.contains("Sedge"));
}

#[test]
fn no_path_leads_out_of_the_pages() {
    let (_folder, pages, out) = open();
    for path in [
        "/look/../squad.db",
        "/look/..%2fsquad.db",
        "/look/kept/..%2f..%2fsquad.db",
        "/look/%2e%2e/%2e%2e/squad.db",
        "/dock/..%2f..%2fsquad.db",
        "/school/lists/..%2f..%2fpass-phrase",
        "/s/..%2fsquad",
        "//squad",
        "/squad%00.html",
        "/look/style.css%00",
    ] {
        for address in [&pages.address, &out] {
            let page = exchange(address, "GET", path, "", "");
            assert!([303, 307, 400, 403, 404, 422].contains(&page.status), "{path}: {}", page.status);
            assert!(!page.body.contains("SQLite format") && !page.body.contains("argon2id"), "{path}");
        }
    }
    // Where the door leads on to is a page of ours, and a head of ours.
    for to in ["//example.org", "https://example.org", "/squad\r\nSet-Cookie: a=b", "/\\example.org", "javascript:alert(1)"] {
        let percent: String = to.bytes().map(|b| format!("%{b:02X}")).collect();
        let page = exchange(&out, "POST", "/enter", FORM, &format!("to={percent}&phrase={}", PHRASE.replace(' ', "+")));
        assert!(page.status == 303 && page.head.contains("location: /today\r\n"), "{to}: {}", page.head);
        assert!(!page.head.contains("a=b"));
    }
}

#[test]
fn a_label_is_a_label_everywhere() {
    let (folder, pages, _out) = open();
    let mut seen: BTreeSet<&&str> = BTreeSet::new();
    for path in
        ["/today", "/dock", "/squad", "/afloat", "/ashore", "/school", "/school/phones", "/season", "/race-day", "/race-day/results"]
    {
        let page = pages.get(path);
        assert_eq!(page.status, 200, "{path}");
        assert!(!page.body.contains("<img src=x>"), "{path} takes a label for markup");
        seen.extend(LABELS.iter().filter(|l| page.body.contains(&l.replace('<', "&lt;").replace('>', "&gt;"))));
    }
    assert!(seen.len() >= 3, "{seen:?}");
    // On paper too.
    let paper = pages.get("/afloat/tally.pdf");
    assert!(paper.status == 200 && paper.body.starts_with("%PDF"));
    // A table for a spreadsheet holds no formula.
    let results = "race,boat,place,code,points\n1,=HYPERLINK(1),1,,\n1,@b,2,,\n";
    let fields = [
        ("name", "autumn"),
        ("edition", "2025-2028"),
        ("entries", "=HYPERLINK(1)\n@b"),
        ("first", "4"),
        ("second", ""),
        ("divisions", ""),
        ("results", results),
    ];
    let body: String =
        fields.iter().map(|(k, v)| format!("--cut\r\nContent-Disposition: form-data; name=\"{k}\"\r\n\r\n{v}\r\n")).collect::<String>()
            + "--cut--\r\n";
    let kept = pages.send(
        "POST",
        "/race-day/results",
        "Content-Type: multipart/form-data; boundary=cut\r\nSec-Fetch-Site: same-origin\r\n",
        &body,
    );
    assert_eq!(kept.status, 303, "{}", kept.body);
    let table = pages.get("/race-day/results.csv").body;
    assert!(table.contains("HYPERLINK"), "{table}");
    for cell in table.lines().flat_map(|line| line.split(',')) {
        assert!(!cell.trim_matches('"').starts_with(['=', '+', '@', '\t']), "{cell} is a formula in {table}");
    }
    drop(folder);
}

#[test]
fn who_holds_lines_open_keeps_nobody_else_out() {
    let (_folder, pages, out) = open();
    let mut held: Vec<TcpStream> = (0..70).map(|_| TcpStream::connect(&out).unwrap()).collect();
    for line in &mut held {
        // A line that was closed may refuse it.
        let _ = line.write_all(b"GET /today HT");
    }
    assert_eq!(pages.get("/today").status, 200);
    // Those beyond one address's share are closed at once; the others wait for the rest of the words.
    let mut closed = 0;
    for line in &mut held {
        line.set_read_timeout(Some(Duration::from_millis(20))).unwrap();
        let mut byte = [0];
        closed += usize::from(
            !matches!(line.read(&mut byte), Err(error) if matches!(error.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut)),
        );
    }
    assert!((20..30).contains(&closed), "{closed} of 70 are closed");
}

/// The program asks nobody for anything: of the system's calls by which it could, it has none.
#[cfg(target_os = "linux")]
#[test]
fn no_connection_goes_out() {
    let program = fs::read(assert_cmd::cargo::cargo_bin!("trimwright")).unwrap();
    let has = |name: &str| {
        let wanted: Vec<u8> = [b"\0", name.as_bytes(), b"\0"].concat();
        program.windows(wanted.len()).any(|w| w == wanted)
    };
    // By these it answers; that they are found shows that the search finds.
    assert!(has("listen") && has("accept4"));
    for call in ["connect", "sendto", "sendmmsg", "getaddrinfo", "gethostbyname", "res_query"] {
        assert!(!has(call), "{call} is among the calls of the program");
    }
}

#[test]
fn a_forgotten_sailor_is_in_no_file_of_the_folder_and_on_no_page() {
    fn holding(folder: &Path, wanted: &[u8]) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap().flatten();
        entries
            .flat_map(|entry| match entry.path() {
                path if path.is_dir() => holding(&path, wanted),
                path if fs::read(&path).unwrap().windows(wanted.len()).any(|w| w.eq_ignore_ascii_case(wanted)) => {
                    vec![path.display().to_string()]
                }
                _ => Vec::new(),
            })
            .collect()
    }
    let (folder, pages, out) = open();
    let list = pages.get("/school/phones").body;
    let at = list.find("Quillonda").unwrap();
    let id = list[at..].split("name=\"sailor\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let link = address_in(&pages.post("/school/phones/link", &[("sailor", &id)]), &format!("http://{out}/s/"))
        .split_once(&out)
        .unwrap()
        .1
        .to_owned();
    assert!(exchange(&out, "GET", &format!("{link}/checklist"), "", "").body.contains("Quillonda"));
    assert_eq!(
        exchange(&out, "POST", &format!("{link}/checklist"), &format!("{FORM}Sec-Fetch-Site: same-origin\r\n"), "place=dock&item=sponge")
            .status,
        303
    );
    let note = r#"{"phone":"00000000000000000000000000000007","clock":null,"notes":[{"id":"00000000000000000000000000000077","at":1775131200000,"kind":"note","words":"Quillonda was quick"}]}"#;
    assert_eq!(pages.send("POST", "/afloat/notes", "Content-Type: application/json\r\nSec-Fetch-Site: same-origin\r\n", note).status, 200);
    assert_eq!(run_in(folder.path(), &["backup", "--store", "squad"]).code, 0);
    let store = folder.path().join("squad");
    assert!(holding(&store, b"quillonda").len() >= 2);
    let done = run_in(folder.path(), &["forget", "Quillonda", "--store", "squad"]);
    assert_eq!(done.code, 0, "{}{}", done.out, done.err);
    assert_eq!(holding(&store, b"quillonda"), Vec::<String>::new());
    // The program that was serving all the while knows of nobody either.
    for path in ["/today", "/squad", "/dock", "/afloat", "/afloat/day", "/school", "/school/phones", "/season", "/ashore"] {
        assert!(!pages.get(path).body.contains("Quillonda"), "{path}");
    }
    assert_eq!(exchange(&out, "GET", &link, "", "").status, 404);
    assert_eq!(holding(&store, b"quillonda"), Vec::<String>::new());
}
