//! What is built in, and where it comes from: licences, bans and sources asked of cargo-deny, advisories where their list can be had, the parts
//! written down by cargo-cyclonedx, and what npm brings held against its lock files.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use anyhow::{Context, Result, bail, ensure};
use serde_json::{Value, json};

use super::write;
use crate::page::today;

/// Locks of what npm brings: the fonts that are built in, and what the browser's tests read pages with.
const LOCKS: [&str; 2] = ["crates/trimwright/assets", "crates/trimwright/tests/browser"];
/// Where npm is called, and where CI calls cargo.
const CALLS: [&str; 5] = [
    "crates/trimwright/build.rs",
    "crates/trimwright/tests/browser/accessible.rs",
    "xtask/src/check.rs",
    "xtask/src/main.rs",
    ".cargo/config.toml",
];
/// Words by which cargo builds or runs something.
const BUILDS: [&str; 5] = ["\"clippy\"", "\"doc\"", "\"test\"", "\"run\"", "= \"run "];

/// Asks all of it; true when nothing is wrong. That the list of advisories cannot be had is said, and is not wrong.
pub(crate) fn prove(root: &Path) -> Result<bool> {
    let mut wrong = Vec::new();
    let mut text = format!("{}. `cargo xtask prove supply`.\n\n| asked | answer |\n|---|---|\n", today());
    let checked = cargo(root, &["deny", "check", "licenses", "bans", "sources"], "cargo install cargo-deny")?;
    let verdict = last(&checked);
    if !checked.status.success() {
        wrong.push(format!("cargo-deny: {verdict}"));
    }
    let _ = writeln!(text, "| licences, bans, sources (cargo-deny) | {verdict} |");
    let advisories = cargo(root, &["deny", "check", "advisories"], "cargo install cargo-deny")?;
    let said = String::from_utf8_lossy(&advisories.stderr).into_owned();
    let unreached = said.contains("failed to fetch") || said.contains("failed to load advisory");
    if !advisories.status.success() && !unreached {
        wrong.push(format!("advisories: {}", last(&advisories)));
    }
    let answer = if unreached {
        "**not asked**: their list comes over the network, and was not to be had here".to_owned()
    } else {
        last(&advisories)
    };
    let _ = writeln!(text, "| advisories (cargo-deny) | {answer} |");
    let parts = parts(root)?;
    let _ = writeln!(
        text,
        "| parts of the program (CycloneDX, `target/trimwright.cdx.json`) | {}, each with a version and where it comes from; {} without a licence in its own words |",
        parts.count, parts.unlicensed
    );
    for folder in LOCKS {
        let packages = lock(&root.join(folder).join("package-lock.json"))?;
        let (entries, lacking) = (packages.len(), lacking(&packages));
        wrong.extend(lacking.iter().map(|what| format!("{folder}: {what}")));
        let _ = writeln!(
            text,
            "| {folder}: packages of npm by hash, none with a script of its own | {} of {entries} |",
            entries - lacking.len()
        );
    }
    let (calls, loose) = calls(root)?;
    let _ = writeln!(
        text,
        "| calls of cargo and npm in build, check and tests that keep to the lock and run no script | {} of {calls} |",
        calls - loose.len()
    );
    wrong.extend(loose);
    let _ = writeln!(
        text,
        "\nLicences of the parts: {}.",
        parts.licences.iter().map(|(name, n)| format!("{name} ({n})")).collect::<Vec<_>>().join(", ")
    );
    for what in &wrong {
        let _ = writeln!(text, "\nWrong: {what}");
    }
    write(root, "Supply", &text)?;
    Ok(wrong.is_empty())
}

fn cargo(root: &Path, arguments: &[&str], install: &str) -> Result<Output> {
    let out = Command::new("cargo").args(arguments).current_dir(root).env("NO_COLOR", "1").output().context("cargo does not start")?;
    let said = String::from_utf8_lossy(&out.stderr);
    if said.contains("no such command") {
        bail!("cargo {} is not installed: {install}", arguments.first().unwrap_or(&""));
    }
    Ok(out)
}

/// The last line that was said, of the answer where there is one.
fn last(out: &Output) -> String {
    let [answer, beside] = [&out.stdout, &out.stderr].map(|bytes| String::from_utf8_lossy(bytes).into_owned());
    let said = if answer.trim().is_empty() { beside } else { answer };
    said.lines().map(str::trim).rfind(|line| !line.is_empty()).unwrap_or("nothing").to_owned()
}

/// What the program is made of.
#[derive(Debug, Default)]
struct Parts {
    count: usize,
    unlicensed: usize,
    licences: BTreeMap<String, usize>,
}

/// Writes the program's parts down, beside what is built, and counts them.
fn parts(root: &Path) -> Result<Parts> {
    let name = "trimwright.cdx";
    let made = root.join("crates/trimwright").join(format!("{name}.json"));
    let out = cargo(
        root,
        &["cyclonedx", "--manifest-path", "crates/trimwright/Cargo.toml", "--format", "json", "--override-filename", name],
        "cargo install cargo-cyclonedx",
    )?;
    // It writes one beside each crate of the workspace; the program's is what we want.
    let bytes = fs::read(&made);
    for entry in fs::read_dir(root.join("crates"))?.flatten().map(|e| e.path()).chain([root.join("xtask")]) {
        let _ = fs::remove_file(entry.join(format!("{name}.json")));
    }
    let bytes = bytes.with_context(|| format!("the parts were not written: {}", last(&out)))?;
    let mut bill: Value = serde_json::from_slice(&bytes)?;
    let fonts = lock(&root.join(LOCKS[0]).join("package-lock.json"))?;
    bill["components"].as_array_mut().context("the bill names no parts")?.extend(fonts.iter().map(|(name, package)| {
        let purl = format!("pkg:npm/{}@{}", name.replace('@', "%40"), package["version"].as_str().unwrap_or_default());
        let licences = json!([{ "expression": package["license"] }]);
        json!({ "type": "library", "name": name, "version": package["version"], "purl": purl, "licenses": licences })
    }));
    let kept = target(root).join("trimwright.cdx.json");
    fs::create_dir_all(target(root))?;
    fs::write(&kept, serde_json::to_vec_pretty(&bill)?).with_context(|| kept.display().to_string())?;
    let mut parts = Parts::default();
    for part in bill["components"].as_array().context("the bill names no parts")? {
        parts.count += 1;
        let named = part["name"].as_str().unwrap_or_default();
        ensure!(part["version"].is_string() && part["purl"].is_string(), "{named}: no version, or from nowhere");
        let licence = &part["licenses"][0];
        match licence["expression"].as_str().or(licence["license"]["id"].as_str()).or(licence["license"]["name"].as_str()) {
            Some(licence) => *parts.licences.entry(licence.to_owned()).or_default() += 1,
            None => parts.unlicensed += 1,
        }
    }
    Ok(parts)
}

fn target(root: &Path) -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from)
}

/// The packages that a lock of npm names.
fn lock(place: &Path) -> Result<Vec<(String, Value)>> {
    let lock: Value = serde_json::from_slice(&fs::read(place).with_context(|| place.display().to_string())?)?;
    let packages = lock["packages"].as_object().context("the lock names no packages")?;
    let named = packages.iter().filter_map(|(name, package)| Some((name.rsplit_once("node_modules/")?.1.to_owned(), package.clone())));
    Ok(named.collect())
}

/// What is wrong with which package of a lock.
fn lacking(packages: &[(String, Value)]) -> Vec<String> {
    let mut wrong = Vec::new();
    for (name, package) in packages {
        if !package["integrity"].as_str().is_some_and(|hash| hash.starts_with("sha512-")) {
            wrong.push(format!("{name} has no hash"));
        } else if package["hasInstallScript"].as_bool() == Some(true) {
            wrong.push(format!("{name} runs a script of its own when it is installed"));
        }
    }
    wrong
}

/// How many calls of cargo and npm there are, and which do not keep to the lock.
fn calls(root: &Path) -> Result<(usize, Vec<String>)> {
    let (mut all, mut loose) = (0, Vec::new());
    for file in CALLS {
        let text = fs::read_to_string(root.join(file)).with_context(|| file.to_owned())?;
        for (n, line) in text.lines().enumerate() {
            let npm = line.contains("args([\"ci\"");
            let cargo = BUILDS.iter().any(|word| line.contains(word)) && (line.contains('[') || line.contains("= \"run "));
            if npm || cargo {
                all += 1;
                if npm && !line.contains("\"--ignore-scripts\"") || cargo && !line.contains("--locked") {
                    loose.push(format!("{file}, line {}: {}", n + 1, line.trim()));
                }
            }
        }
    }
    Ok((all, loose))
}
