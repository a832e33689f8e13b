//! A browser driven by the W3C's WebDriver protocol: JSON over HTTP to Debian's chromium-driver, on this machine alone.
//!
//! Source: W3C Recommendation WebDriver (2018), and Chrome DevTools Protocol through chromedriver's own command.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};

use crate::serving::exchange;

/// What the browser is told: nothing of it shows, and it asks nobody for anything.
const FLAGS: [&str; 9] = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
];
/// A page that takes longer to come has failed.
const PATIENCE: Duration = Duration::from_secs(20);
/// The key in which WebDriver hands over an element.
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";

/// A browser, stopped when the last test lets it go.
pub(crate) struct Browser {
    child: Child,
    address: String,
    session: String,
    /// The browser's own process.
    process: u64,
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = exchange(&self.address, "DELETE", &format!("/session/{}", self.session), "", "");
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Browser {
    /// Starts one.
    pub(crate) fn start() -> Self {
        Self::with(&[])
    }

    /// Ends it as a flat battery does: nothing is said to it before.
    pub(crate) fn kill(self) {
        let killed = Command::new("kill").args(["-9", &self.process.to_string()]).status();
        assert!(killed.is_ok_and(|status| status.success()));
    }

    /// Starts one with more flags.
    pub(crate) fn with(more: &[String]) -> Self {
        let child = Command::new("chromedriver").arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn();
        assert!(child.is_ok(), "chromedriver does not start: apt-get install chromium chromium-driver");
        let mut child = child.unwrap();
        // It says on which port it listens; the rest of what it says is read so that it never waits to be heard.
        let mut said = BufReader::new(child.stdout.take().unwrap()).lines();
        let port = said.by_ref().find_map(|line| {
            let line = line.ok()?;
            Some(line.split_once("successfully on port ")?.1.trim_end_matches('.').to_owned())
        });
        std::thread::spawn(move || said.for_each(drop));
        let address = format!("127.0.0.1:{}", port.unwrap());
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "goog:chromeOptions": { "args": FLAGS.iter().map(|f| (*f).to_owned()).chain(more.iter().cloned()).collect::<Vec<_>>() },
            "goog:loggingPrefs": { "browser": "ALL" },
        } } });
        let mut browser = Self { child, address, session: String::new(), process: 0 };
        let begun = browser.ask("POST", "/session", &wanted);
        begun["sessionId"].as_str().unwrap().clone_into(&mut browser.session);
        browser.process = begun["capabilities"]["goog:processID"].as_u64().unwrap();
        browser
    }

    fn ask(&self, method: &str, path: &str, body: &Value) -> Value {
        let body = if method == "GET" { String::new() } else { body.to_string() };
        let answer = exchange(&self.address, method, path, "Content-Type: application/json\r\n", &body);
        let value: Value = serde_json::from_str(&answer.body).unwrap();
        assert_eq!(answer.status, 200, "{method} {path}: {}", value["value"]["message"]);
        value["value"].clone()
    }

    fn tell(&self, path: &str, body: &Value) -> Value {
        self.ask("POST", &format!("/session/{}/{path}", self.session), body)
    }

    /// Opens an address and waits until the page is there.
    pub(crate) fn go(&self, address: &str) {
        self.tell("url", &json!({ "url": address }));
    }

    /// Opens another tab, and gives the way back to the first.
    pub(crate) fn another(&self) -> String {
        let first = self.ask("GET", &format!("/session/{}/window", self.session), &Value::Null).as_str().unwrap().to_owned();
        let tab = self.tell("window/new", &json!({ "type": "tab" }));
        self.tell("window", &json!({ "handle": tab["handle"] }));
        first
    }

    /// Goes to a tab.
    pub(crate) fn back(&self, tab: &str) {
        self.tell("window", &json!({ "handle": tab }));
    }

    /// Where it is now.
    pub(crate) fn address(&self) -> String {
        self.ask("GET", &format!("/session/{}/url", self.session), &Value::Null).as_str().unwrap().to_owned()
    }

    /// Runs a script in the page and gives what it returns.
    pub(crate) fn run(&self, script: &str) -> Value {
        self.tell("execute/sync", &json!({ "script": script, "args": [] }))
    }

    /// Runs a script that calls its last argument when it is done.
    pub(crate) fn wait(&self, script: &str) -> Value {
        self.tell("execute/async", &json!({ "script": script, "args": [] }))
    }

    /// A command of the DevTools protocol.
    pub(crate) fn devtools(&self, command: &str, parameters: &Value) -> Value {
        self.tell("goog/cdp/execute", &json!({ "cmd": command, "params": parameters }))
    }

    fn found(&self, selector: &str) -> String {
        let found = self.tell("element", &json!({ "using": "css selector", "value": selector }));
        found[ELEMENT].as_str().unwrap().to_owned()
    }

    /// Presses what a selector finds.
    pub(crate) fn press(&self, selector: &str) {
        self.to(selector, "click", &json!({}));
    }

    /// Does a thing to what a selector finds. A page that asks again by itself may come between: then it is found anew.
    fn to(&self, selector: &str, deed: &str, how: &Value) {
        let begun = Instant::now();
        loop {
            let path = format!("/session/{}/element/{}/{deed}", self.session, self.found(selector));
            let answer = exchange(&self.address, "POST", &path, "Content-Type: application/json\r\n", &how.to_string());
            if answer.status == 200 {
                return;
            }
            let gone = ["stale element", "does not belong to the document"].iter().any(|said| answer.body.contains(said));
            assert!(gone && begun.elapsed() < PATIENCE, "{deed} {selector}: {}", answer.body);
        }
    }

    /// Presses what opens another page, and waits until that is there.
    pub(crate) fn follow(&self, selector: &str) {
        self.leaving(|| self.press(selector));
    }

    /// Does what opens another page, and waits until that is there.
    pub(crate) fn leaving(&self, deed: impl FnOnce()) {
        self.run("document.documentElement.dataset.old = '1'");
        deed();
        let begun = Instant::now();
        let there = "return document.readyState === 'complete' && !document.documentElement.dataset.old";
        while self.run(there) != true {
            assert!(begun.elapsed() < PATIENCE, "no other page came");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Types into a field, after what stood in it was taken out.
    pub(crate) fn fill(&self, selector: &str, text: &str) {
        self.to(selector, "clear", &json!({}));
        self.to(selector, "value", &json!({ "text": text }));
    }

    /// Presses and lets go a key wherever the focus is.
    pub(crate) fn key(&self, key: &str) {
        self.keys(key, 1);
    }

    /// Presses a key so many times in one go.
    pub(crate) fn keys(&self, key: &str, times: usize) {
        let stroke = [json!({ "type": "keyDown", "value": key }), json!({ "type": "keyUp", "value": key })];
        let strokes: Vec<_> = std::iter::repeat_n(stroke, times).flatten().collect();
        self.tell("actions", &json!({ "actions": [{ "type": "key", "id": "keys", "actions": strokes }] }));
    }

    /// The text a person reads.
    pub(crate) fn text(&self, selector: &str) -> String {
        let path = format!("/session/{}/element/{}/text", self.session, self.found(selector));
        self.ask("GET", &path, &Value::Null).as_str().unwrap().to_owned()
    }

    /// What the console complained about since it was asked last.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let said = self.tell("se/log", &json!({ "type": "browser" }));
        let said = said.as_array().unwrap().iter();
        said.filter(|line| line["level"] != "INFO" && line["level"] != "DEBUG")
            .map(|line| line["message"].as_str().unwrap().to_owned())
            .collect()
    }

    /// The window's width and height in px, and the theme asked for.
    pub(crate) fn show(&self, (width, height): (u32, u32), theme: &str) {
        let size = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        self.devtools("Emulation.setDeviceMetricsOverride", &size);
        let feature = json!({ "features": [{ "name": "prefers-color-scheme", "value": theme }] });
        self.devtools("Emulation.setEmulatedMedia", &feature);
    }

    /// Whether pages may run their scripts.
    pub(crate) fn scripts(&self, allowed: bool) {
        self.devtools("Emulation.setScriptExecutionDisabled", &json!({ "value": !allowed }));
    }

    /// Whether it has a network.
    pub(crate) fn connected(&self, is: bool) {
        self.devtools("Network.enable", &json!({}));
        let so = json!({ "offline": !is, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        self.devtools("Network.emulateNetworkConditions", &so);
    }

    /// Keeps a picture of the whole page.
    pub(crate) fn picture(&self, file: &Path) {
        let size = self.devtools("Page.getLayoutMetrics", &json!({}))["cssContentSize"].clone();
        let clip = json!({ "x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1 });
        let taken = self.devtools("Page.captureScreenshot", &json!({ "captureBeyondViewport": true, "clip": clip }));
        std::fs::write(file, STANDARD.decode(taken["data"].as_str().unwrap()).unwrap()).unwrap();
    }

    /// The page as it prints.
    pub(crate) fn printed(&self) -> Vec<u8> {
        STANDARD.decode(self.tell("print", &json!({})).as_str().unwrap()).unwrap()
    }
}
