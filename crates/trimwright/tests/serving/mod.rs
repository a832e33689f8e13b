//! The program as it serves, and what goes over a socket to and from it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Solving twelve sailors takes seconds; more than this is a hang, s.
const PATIENCE: u64 = 120;

/// A program that serves, stopped when the test ends.
pub(crate) struct Serving {
    child: Child,
    pub(crate) address: String,
}

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer.
pub(crate) struct Page {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

/// Sends a request and reads the answer to its end.
pub(crate) fn exchange(address: &str, method: &str, path: &str, more: &str, body: &(impl AsRef<[u8]> + ?Sized)) -> Page {
    let body = body.as_ref();
    let mut stream = TcpStream::connect(address).unwrap();
    let host = if more.to_lowercase().contains("host:") { String::new() } else { format!("Host: {address}\r\n") };
    write!(stream, "{method} {path} HTTP/1.1\r\n{host}Connection: close\r\n{more}Content-Length: {}\r\n\r\n", body.len()).unwrap();
    stream.write_all(body).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(PATIENCE))).unwrap();
    let mut answer = BufReader::new(stream);
    let mut head = String::new();
    while !head.ends_with("\r\n\r\n") {
        assert!(answer.read_line(&mut head).unwrap() > 0, "{path}: no answer");
    }
    let head = head.to_lowercase();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    // Not everybody closes the line after an answer.
    let length = head.lines().find_map(|line| line.strip_prefix("content-length:")).map(|n| n.trim().parse::<usize>().unwrap());
    let mut body = vec![0; length.unwrap_or(0)];
    match length {
        Some(_) => answer.read_exact(&mut body).unwrap(),
        None => drop(answer.read_to_end(&mut body).unwrap()),
    }
    let body = String::from_utf8_lossy(&body).into_owned();
    Page { status, head, body }
}

impl Serving {
    /// Starts it in a folder, on a port of its own.
    pub(crate) fn start(folder: &Path, arguments: &[&str]) -> Self {
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

    pub(crate) fn send(&self, method: &str, path: &str, more: &str, body: &(impl AsRef<[u8]> + ?Sized)) -> Page {
        exchange(&self.address, method, path, more, body)
    }

    pub(crate) fn get(&self, path: &str) -> Page {
        self.send("GET", path, "", "")
    }

    pub(crate) fn post(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let encoded = |text: &str| text.bytes().map(|b| format!("%{b:02X}")).collect::<String>();
        let body: Vec<String> = fields.iter().map(|(k, v)| format!("{}={}", encoded(k), encoded(v))).collect();
        self.send("POST", path, "Content-Type: application/x-www-form-urlencoded\r\nSec-Fetch-Site: same-origin\r\n", &body.join("&"))
    }

    /// Today's page, when all its settings are solved.
    pub(crate) fn solved(&self) -> Page {
        let begun = Instant::now();
        loop {
            let page = self.get("/today");
            if page.body.contains("Print all ") || page.body.contains("Print the card") {
                return page;
            }
            assert!(page.body.contains("solved") && begun.elapsed().as_secs() < PATIENCE, "{}", page.body);
            std::thread::sleep(Duration::from_millis(200));
        }
    }
}
