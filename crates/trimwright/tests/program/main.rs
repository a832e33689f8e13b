//! The program as a coach meets it: what is typed, what is answered, the exit code, and what lies on the disk afterwards.

#![expect(clippy::unwrap_used, reason = "a test stops at what does not go on")]

mod afloat;
mod ashore;
mod assumed;
mod attacks;
mod bad_input;
mod boats;
mod cards;
mod course;
mod debrief;
mod dock;
mod lineups;
mod measured;
mod network;
mod output;
mod pages;
mod polar;
mod race_day;
mod results;
mod rigs;
mod school;
mod score;
mod season;
#[path = "../serving/mod.rs"]
mod serving;
mod store;
mod two_tabs;
mod weigh;

use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use serde_json::Value;

use serving::{Page, exchange};

/// What a run of the program said.
struct Run {
    code: i32,
    out: String,
    err: String,
}

impl Run {
    fn json(&self) -> Value {
        assert!(self.out.starts_with('{'), "{}{}", self.out, self.err);
        serde_json::from_str(&self.out).unwrap()
    }

    /// Bad input: exit 2, nothing on stdout, and the message holds these words.
    fn refused(&self, words: &[&str]) {
        assert_eq!((self.code, self.out.as_str()), (2, ""), "{}", self.err);
        for word in words {
            assert!(self.err.contains(word), "{word:?} is not in {:?}", self.err);
        }
    }
}

/// Runs the program in a folder.
fn run_in(folder: &Path, arguments: &[&str]) -> Run {
    let mut command = assert_cmd::Command::cargo_bin("trimwright").unwrap();
    let Output { status, stdout, stderr } = command.current_dir(folder).args(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Run { code: status.code().unwrap(), out: text(stdout), err: text(stderr) }
}

/// Runs the program in the project's own folder.
fn run(arguments: &[&str]) -> Run {
    run_in(&project(), arguments)
}

/// The project's folder.
fn project() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The answer to a request, where it comes within so many seconds; stops the test where it does not.
fn within(seconds: u64, address: &str, method: &str, path: &str, more: &str, body: &str) -> Page {
    let [a, m, p, h, b] = [address, method, path, more, body].map(str::to_owned);
    let (tell, told) = mpsc::channel();
    // Whoever asks a program that hangs is left behind: it ends with the test.
    thread::spawn(move || tell.send(exchange(&a, &m, &p, &h, &b)));
    let answer = told.recv_timeout(Duration::from_secs(seconds));
    assert!(answer.is_ok(), "{method} {path} is not answered within {seconds} s");
    answer.unwrap()
}

/// The names of what lies in a folder, hidden files too.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = folder.read_dir().unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Every key of a document, `a.b` within `a`, `a[]` for what a list holds; keys of lists are those of all their members.
fn keys(value: &Value) -> String {
    fn into(value: &Value, at: &str, keys: &mut Vec<String>) {
        match value {
            Value::Object(map) => {
                for (key, value) in map {
                    into(value, &if at.is_empty() { key.clone() } else { format!("{at}.{key}") }, keys);
                }
            }
            Value::Array(list) if list.is_empty() => keys.push(format!("{at}[]")),
            Value::Array(list) => list.iter().for_each(|value| into(value, &format!("{at}[]"), keys)),
            _ => keys.push(at.to_owned()),
        }
    }
    let mut found = Vec::new();
    into(value, "", &mut found);
    let mut seen = Vec::new();
    for key in found {
        if !seen.contains(&key) {
            seen.push(key);
        }
    }
    seen.join("\n")
}
