//! The pages in a real browser: Debian's Chromium, one for all tests. What it saw lies in `target/tmp/pages` afterwards.

#![expect(clippy::unwrap_used, reason = "a test stops at what does not go on")]

mod accessible;
mod afloat;
mod driver;
mod every_page;
mod forms;
mod keyboard;
mod pocket;
#[path = "../serving/mod.rs"]
mod serving;
mod what_if;

use std::path::PathBuf;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};

use driver::Browser;
use serving::Serving;

/// A laptop's window, px.
const LAPTOP: (u32, u32) = (1280, 900);
/// The narrowest phone the pages are made for, px.
const PHONE: (u32, u32) = (360, 780);

/// The browser, and the demo's pages with today's settings solved.
struct Boatpark {
    browser: Browser,
    demo: Serving,
    _folder: tempfile::TempDir,
}

/// The boatpark is opened for the first test and closed after the last that holds it.
static SHARED: Mutex<Weak<Mutex<Boatpark>>> = Mutex::new(Weak::new());

fn boatpark() -> Arc<Mutex<Boatpark>> {
    let mut shared = SHARED.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(open) = shared.upgrade() {
        return open;
    }
    let folder = tempfile::tempdir().unwrap();
    let demo = Serving::start(folder.path(), &["demo"]);
    let wind = [("wind", "11:00 8 11 300\n12:00 9 12 300\n13:00 10 14 305\n14:00 11 15 310"), ("timezone", "UTC"), ("signal", "13:00")];
    let more = [("venue", "the basin"), ("water_temperature", "11"), ("safety_boats", "1")];
    let told = demo.post("/today", &[&wind[..], &more].concat());
    assert!(told.status == 303 && told.head.contains("location: /today"), "{}", told.body);
    demo.solved();
    let open = Arc::new(Mutex::new(Boatpark { browser: Browser::start(), demo, _folder: folder }));
    *shared = Arc::downgrade(&open);
    open
}

/// One test at a time has the browser, with a laptop's window, light, with a network, and scripts allowed.
fn taken(boatpark: &Mutex<Boatpark>) -> MutexGuard<'_, Boatpark> {
    let taken = boatpark.lock().unwrap_or_else(PoisonError::into_inner);
    taken.browser.connected(true);
    taken.browser.scripts(true);
    taken.browser.show(LAPTOP, "light");
    taken.browser.complaints();
    taken
}

impl Boatpark {
    /// Opens one of the demo's pages.
    fn open(&self, path: &str) {
        self.browser.go(&format!("http://{}{path}", self.demo.address));
    }

    /// The first address of the demo's squad page that begins so.
    fn first(&self, start: &str) -> String {
        let body = self.demo.get("/squad").body;
        let mut found = body.split('"').filter(|address| address.starts_with(start) && !address.ends_with("/new"));
        found.next().unwrap().to_owned()
    }

    /// A sailor's own page.
    fn own(&self, page: &str) -> String {
        let sailor = self.first("/squad/sailor/");
        format!("/school/{}{page}", sailor.trim_start_matches("/squad/sailor/"))
    }

    /// Every page there is: its name, and its address.
    fn pages(&self) -> Vec<(&'static str, String)> {
        vec![
            ("today", "/today".to_owned()),
            ("dock", "/dock".to_owned()),
            ("boat", self.first("/dock/")),
            ("what-if", "/what-if?boat=Avocet&wind=10".to_owned()),
            ("two-setups", "/what-if?boat=Avocet&wind=10&two=1&a.car_offset=30&b.car_offset=10&cost=car_offset&physics=1".to_owned()),
            ("afloat", "/afloat".to_owned()),
            ("afloat-phone", "/afloat/phone".to_owned()),
            ("order", "/today/order".to_owned()),
            ("limits", "/today/limits".to_owned()),
            ("season", "/season".to_owned()),
            ("race-day", "/race-day".to_owned()),
            ("signals", "/race-day/signals?signals=rule-26&at=13:05".to_owned()),
            ("results", "/race-day/results".to_owned()),
            ("school", "/school".to_owned()),
            ("phones", "/school/phones".to_owned()),
            ("words", "/school/glossary".to_owned()),
            ("list", "/school/lists/dock".to_owned()),
            ("squad", "/squad".to_owned()),
            ("base", self.first("/squad/boat/")),
            ("sailor", self.first("/squad/sailor/")),
            ("new-sailor", "/squad/sailor/new".to_owned()),
            ("tape", "/squad/class?from=an%20invented%20pram".to_owned()),
            ("own-card", self.own("")),
            ("own-checklist", self.own("/checklist")),
            ("own-quiz", self.own("/quiz")),
            ("own-words", self.own("/words")),
        ]
    }
}

/// Where the test's pictures are kept.
fn kept() -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("pages");
    std::fs::create_dir_all(&folder).unwrap();
    folder
}
