//! A page of `docs/` that several proofs write, each its own part.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

/// Writes one part of a page and leaves the others; a page that is not there begins with its head.
pub(crate) fn write(root: &Path, page: &str, head: &str, name: &str, part: &str) -> Result<()> {
    let path = root.join("docs").join(page);
    let text = fs::read_to_string(&path).unwrap_or_else(|_| head.to_owned());
    let head = format!("\n## {name}\n");
    let others = match text.find(&head) {
        None => text.trim_end().to_owned() + "\n",
        Some(at) => {
            let rest = &text[at + head.len()..];
            let next = rest.find("\n## ").map_or("", |n| &rest[n..]);
            text[..at].trim_end().to_owned() + "\n" + next.trim_end() + if next.is_empty() { "" } else { "\n" }
        }
    };
    fs::write(&path, format!("{others}{head}\n{}\n", part.trim_end())).with_context(|| format!("cannot write {}", path.display()))?;
    println!("{part}\ndocs/{page} written");
    Ok(())
}

/// Today, by this machine's clock.
pub(crate) fn today() -> String {
    jiff::ZonedDateTime::now().strftime("%Y-%m-%d").to_string()
}

/// Today and on what: threads and processor, where the system tells.
pub(crate) fn here() -> String {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let told = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = told
        .lines()
        .find_map(|line| line.strip_prefix("model name"))
        .map_or("a processor", |rest| rest.trim_start_matches([' ', '\t', ':']));
    format!("{}, {threads} threads of {model}", today())
}
