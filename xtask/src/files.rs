//! What may be committed: our own text, and nothing that only one machine knows.

use std::fs;
use std::path::Path;
use std::process::Command;

use anyhow::{Context, Result, bail};

/// Endings of files that are ours: code, data, documents, the guide's pictures of our own pages, and small recorders' files for tests.
const OURS: [&str; 22] = [
    "fit", "igc", "rs", "toml", "md", "typ", "csv", "json", "lock", "txt", "svg", "snap", "gpx", "nmea", "kml", "tcx", "geojson", "sql",
    "css", "js", "png", "desktop",
];

/// Names without an ending that are ours.
const NAMES: [&str; 5] = [".gitignore", "LICENSE-MIT", "LICENSE-APACHE", ".ci/run", "proptest-regressions"];

/// Folders in which other people's files are kept.
const THEIRS: [&str; 4] = ["node_modules", "vendor", "third_party", "third-party"];

/// The largest file we would have written ourselves, bytes. Assumed.
const LARGEST: usize = 400_000;

/// What only one machine or workplace knows. In pieces, so that this file does not find itself.
const LOCAL: [&str; 7] = [
    concat!("/wo", "rk/"),
    concat!("/ho", "me/"),
    concat!("/ro", "ot/"),
    concat!("sha", "red/checks"),
    concat!("sha", "red/design"),
    concat!("seed ", "document"),
    concat!("\"reso", "lved\":"),
];

/// Every file that should not be there, or holds what should not, in a sentence each.
pub(crate) fn strangers(root: &Path) -> Result<Vec<String>> {
    let listed = Command::new("git").args(["ls-files", "-z"]).current_dir(root).output().context("git does not start")?;
    if !listed.status.success() {
        bail!("git cannot list the files: {}", String::from_utf8_lossy(&listed.stderr).trim());
    }
    let listed = String::from_utf8(listed.stdout).context("a file's name is not UTF-8")?;
    let mut found = Vec::new();
    for name in listed.split('\0').filter(|name| !name.is_empty()) {
        // A file that was just deleted is still listed until that is committed.
        if let Ok(bytes) = fs::read(root.join(name)) {
            found.extend(of(name, &bytes).map(|what| format!("{name}: {what}")));
        }
    }
    Ok(found)
}

/// What is wrong with a file, if anything is.
fn of(name: &str, bytes: &[u8]) -> Option<String> {
    if let Some(folder) = name.split('/').find(|part| THEIRS.contains(part)) {
        return Some(format!("it lies in {folder}: fetch it by a lock file while building"));
    }
    let ending = Path::new(name).extension().and_then(|e| e.to_str()).unwrap_or_default();
    let ours = OURS.contains(&ending) || NAMES.iter().any(|n| name == *n || name.ends_with(&format!("/{n}")));
    if !ours {
        return Some("no file of ours ends like this: fetch it while building, or add the ending to xtask/src/files.rs".to_owned());
    }
    if bytes.len() > LARGEST {
        return Some(format!("{} kB: nobody wrote that by hand; make it while building", bytes.len() / 1000));
    }
    // The one recorders' format that is no text, whose fixtures were made for our tests; and pictures that `cargo xtask pictures` takes of our pages.
    if ending == "fit" || (ending == "png" && name.starts_with("docs/pictures/")) {
        return None;
    }
    let Ok(text) = std::str::from_utf8(bytes) else {
        return Some("it is not text".to_owned());
    };
    let local = |(number, line): (usize, &str)| Some((number + 1, LOCAL.iter().find(|local| line.contains(*local))?));
    let (line, local) = text.lines().enumerate().find_map(local)?;
    Some(format!("line {line} names {local}, which only one machine knows: take it out"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ours_passes_and_theirs_is_told() {
        assert_eq!(of("crates/boat/src/lib.rs", b"//! The boat.\n"), None);
        assert_eq!(of(".ci/run", b"#!/bin/sh\n"), None);
        assert!(of("assets/sans.ttf", b"").unwrap().contains("ends like this"));
        assert!(of("a/node_modules/b.json", b"{}").unwrap().contains("node_modules"));
        assert_eq!(of("docs/pictures/today.png", &[0x89, 0xff]), None);
        assert!(of("assets/bought.png", &[0x89, 0xff]).unwrap().contains("not text"));
        assert!(of("a.rs", &[0xff, 0xfe]).unwrap().contains("not text"));
        assert!(of("a.csv", &vec![b'1'; LARGEST + 1]).unwrap().contains("400 kB"));
        for local in LOCAL {
            let text = format!("one\ntwo {local} three");
            assert!(of("a.md", text.as_bytes()).unwrap().starts_with("line 2"));
        }
    }
}
