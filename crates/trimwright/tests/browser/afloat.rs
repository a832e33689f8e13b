//! An afternoon on the water in a real browser: loaded by an address that is not this machine's own name, the network cut, the browser killed and
//! started again, the network back. Nothing is lost, two phones are put together.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::atomic::AtomicBool;

use super::*;

/// A name that is nobody's: by it the page is no secure context, as from a laptop's plain address.
const NAME: &str = "boatpark.test";

/// The way from a phone to the laptop, that can be cut: it hands requests on under the laptop's own name, as the pages answer no other yet.
struct Way {
    port: u16,
    open: Arc<AtomicBool>,
}

impl Way {
    fn to(laptop: &str) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let (port, open) = (listener.local_addr().unwrap().port(), Arc::new(AtomicBool::new(true)));
        let (laptop, at) = (laptop.to_owned(), Arc::clone(&open));
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                if !at.load(Ordering::SeqCst) {
                    let _ = stream.shutdown(Shutdown::Both);
                    continue;
                }
                let laptop = laptop.clone();
                std::thread::spawn(move || handed_on(stream, &laptop));
            }
        });
        Self { port, open }
    }
    fn address(&self) -> String {
        format!("http://{NAME}:{}", self.port)
    }
}

/// One request, and its answer, with the line closed after it.
fn handed_on(mut phone: TcpStream, laptop: &str) -> Option<()> {
    let mut lines = BufReader::new(phone.try_clone().ok()?);
    let mut head = String::new();
    while !head.ends_with("\r\n\r\n") {
        if lines.read_line(&mut head).ok()? == 0 {
            return None;
        }
    }
    let mut length = 0;
    let kept: Vec<String> = head
        .trim_end()
        .lines()
        .filter_map(|line| {
            let low = line.to_lowercase();
            if let Some(n) = low.strip_prefix("content-length:") {
                length = n.trim().parse().ok()?;
            }
            match low.split(':').next()? {
                "host" => Some(format!("Host: {laptop}")),
                "origin" => Some(format!("Origin: http://{laptop}")),
                "connection" => None,
                _ => Some(line.to_owned()),
            }
        })
        .collect();
    let mut body = vec![0; length];
    lines.read_exact(&mut body).ok()?;
    let mut to = TcpStream::connect(laptop).ok()?;
    write!(to, "{}\r\nConnection: close\r\n\r\n", kept.join("\r\n")).ok()?;
    to.write_all(&body).ok()?;
    std::io::copy(&mut to, &mut phone).ok()?;
    phone.shutdown(Shutdown::Both).ok()
}

/// Waits until the page says what it should.
pub(crate) fn until(browser: &Browser, what: &str, is: &str) {
    let begun = std::time::Instant::now();
    while browser.run(&format!("return {is}")) != true {
        assert!(begun.elapsed().as_secs() < 15, "{what}: {}", browser.text("main"));
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
}

/// Taps on a row.
fn tap(browser: &Browser, label: &str, way: &str) {
    let found = format!("document.querySelector('button[aria-label=\"{label} {way}\"]')");
    until(browser, label, &format!("!!{found}"));
    browser.run(&format!("{found}.click()"));
}

const WAITING: &str =
    "Object.keys(localStorage).filter((k) => k.startsWith('afloat.note.') && JSON.parse(localStorage[k]).state === 'waiting').length";

#[test]
fn an_afternoon_without_network_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let laptop = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    for label in ["Oda", "Pim", "Ravi"] {
        assert_eq!(laptop.post("/squad/boat", &[("label", &format!("boat of {label}"))]).status, 303);
        let list = laptop.get("/squad").body;
        let boat = list.split("/dock/").skip(1).map(|rest| rest[..32].to_owned()).last().unwrap();
        assert_eq!(laptop.post("/squad/sailor/new", &[("label", label), ("mass", "43"), ("skill", "races"), ("boat", &boat)]).status, 303);
    }
    let way = Way::to(&laptop.address);
    let profile = folder.path().join("phone");
    let rules = format!("--host-resolver-rules=MAP {NAME} 127.0.0.1");
    let flags = [rules.clone(), format!("--user-data-dir={}", profile.display())];
    let phone = Browser::with(&flags);
    phone.show(PHONE, "light");
    phone.go(&format!("{}/afloat/phone", way.address()));
    assert_eq!(phone.run("return [isSecureContext, 'serviceWorker' in navigator]"), serde_json::json!([false, false]));
    // The phone's rules of the tally are the laptop's: the same cases, answered alike.
    let cases = include_str!("../tally.json");
    let differ = phone.run(&format!(
        "return {cases}.filter((c) => {{ const p = tallied(c.words); return p.stands !== c.stands || JSON.stringify(p.faults.map((f) => f[0])) !== JSON.stringify(c.faults); }}).map((c) => c.says)"
    ));
    assert_eq!(differ, serde_json::json!([]));
    phone.fill("#coach", "Ida");
    tap(&phone, "Oda", "out");
    until(&phone, "the first note is sent", "document.getElementById('state').textContent.includes('The one note is at the laptop')");

    // Out on the lake.
    way.open.store(false, Ordering::SeqCst);
    tap(&phone, "Pim", "out");
    tap(&phone, "Ravi", "out");
    phone.press("[data-to=notes]");
    phone.run("document.querySelectorAll('#whom button')[1].click()");
    phone.run("document.querySelector('[data-seen=weight_aft]').click()");
    until(&phone, "no network is told", "document.getElementById('state').textContent.includes('No answer from the laptop')");
    assert_eq!(phone.run(&format!("return {WAITING}")), 3);
    // The storage cleared under the open page is put back from it; storage that is full keeps the note on the page and says so.
    phone.run("localStorage.clear()");
    until(&phone, "put back", "document.getElementById('cleared').textContent.includes('3 notes were put back')");
    let full = "throw new DOMException('full', 'QuotaExceededError');";
    phone.run(&format!("Storage.prototype.was = Storage.prototype.setItem; Storage.prototype.setItem = () => {{ {full} }}; IDBObjectStore.prototype.was = IDBObjectStore.prototype.put; IDBObjectStore.prototype.put = () => {{ {full} }};"));
    phone.press("[data-to=tally]");
    tap(&phone, "Pim", "in");
    until(&phone, "full is told", "document.getElementById('full').textContent.includes('1 note is only on this open page')");
    phone.run("Storage.prototype.setItem = Storage.prototype.was; IDBObjectStore.prototype.put = IDBObjectStore.prototype.was");
    until(&phone, "kept when there is room", &format!("document.getElementById('full').hidden && {WAITING} === 4"));
    phone.picture(&kept().join("afloat-phone.png"));
    phone.press("[data-to=kept]");
    phone.press("#copy");
    let text = phone.run("return document.getElementById('text').value").as_str().unwrap().to_owned();
    assert!(text.matches("\"kind\"").count() == 4 && text.contains("Pim in"), "{text}");
    let said = phone.complaints().into_iter().filter(|c| !c.contains("ERR_")).collect::<Vec<_>>();
    assert_eq!(said, Vec::<String>::new());
    // The battery is flat. Opened again, still without network, the page comes out of the browser's own store with all its notes.
    phone.kill();
    let phone = Browser::with(&flags);
    phone.show(PHONE, "light");
    phone.go(&format!("{}/afloat/phone", way.address()));
    until(&phone, "the notes are still there", &format!("{WAITING} === 4"));
    until(&phone, "who is out is still known", "document.getElementById('count-says').textContent.includes('still out: Oda, Ravi')");

    // The page opened twice: what is noted in one stands in the other, and neither writes over the other's.
    let first = phone.another();
    phone.go(&format!("{}/afloat/phone", way.address()));
    tap(&phone, "Pim", "out again");
    phone.back(&first);
    until(
        &phone,
        "the other tab's note",
        &format!("{WAITING} === 5 && document.getElementById('count-says').textContent.includes('Oda, Pim, Ravi')"),
    );

    // Meanwhile the other coach, ashore, has tallied two of them.
    let day: serde_json::Value = serde_json::from_str(&laptop.get("/afloat/day").body).unwrap();
    let sailors = day["sailors"].as_array().unwrap().clone();
    let id = |label: &str| sailors.iter().find(|s| s["label"] == label).unwrap()["id"].as_str().unwrap().to_owned();
    let at = jiff::Timestamp::now().as_millisecond();
    let other = serde_json::json!({ "phone": "b".repeat(32), "clock": at, "notes": [{ "id": "c".repeat(32), "kind": "in", "sailor": id("Ravi"), "at": at, "coach": "Bo" }] });
    assert_eq!(laptop.send("POST", "/afloat/notes", "Content-Type: application/json\r\n", &other.to_string()).status, 200);
    // Near the shore again.
    way.open.store(true, Ordering::SeqCst);
    phone.run("dispatchEvent(new Event('online'))");
    until(&phone, "all is sent", &format!("{WAITING} === 0"));
    until(&phone, "the two differ and it is told", "document.getElementById('wrong').textContent.includes('Ask both')");
    let page = laptop.get("/afloat").body;
    assert!(page.contains("still out, 1 of them not known: Oda, Pim, Ravi"), "{page}");
    let store = squad::Store::open(&folder.path().join("squad")).unwrap().value;
    let all = (store.all::<squad::fact::outing::Tally>().unwrap().len(), store.all::<squad::fact::outing::Observation>().unwrap().len());
    assert_eq!(all, (6, 1));
    phone.picture(&kept().join("afloat-sent.png"));
}
