//! Who may use whom: the table of ARCHITECTURE.md against the crates' manifests.
//!
//! A line of the table reads `measure boat <- squad, advice`: each crate on the right may use those on the left, and `all`
//! stands for every crate. A line that begins with `in tests:` allows what only tests may use.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail};
use toml::Table;

/// The crates each crate may use.
type Allowed = BTreeMap<String, BTreeSet<String>>;

/// Every breach, in a sentence each.
pub(crate) fn breaches(root: &Path) -> Result<Vec<String>> {
    let page = fs::read_to_string(root.join("ARCHITECTURE.md")).context("cannot read ARCHITECTURE.md")?;
    let manifests = manifests(root)?;
    let table = table(&page, &manifests.keys().cloned().collect())?;
    Ok(manifests.iter().flat_map(|(name, manifest)| found(name, manifest, &table)).collect())
}

/// What the table allows: in the program and in tests.
#[derive(Debug, PartialEq)]
struct WallTable {
    program: Allowed,
    tests: Allowed,
}

/// Reads the table out of the page; every crate must be named on the right of a line.
fn table(page: &str, crates: &BTreeSet<String>) -> Result<WallTable> {
    let mut table = WallTable { program: Allowed::new(), tests: Allowed::new() };
    for line in page.lines().filter(|line| line.contains("<-")) {
        let (rows, line) = match line.trim().strip_prefix("in tests:") {
            Some(rest) => (&mut table.tests, rest),
            None => (&mut table.program, line),
        };
        let Some((used, users)) = line.split_once("<-") else { continue };
        let used: BTreeSet<String> = used.split_whitespace().map(str::to_owned).collect();
        for user in users.split(',').map(str::trim) {
            for name in used.iter().map(String::as_str).chain([user]) {
                if name != "all" && !crates.contains(name) {
                    bail!("ARCHITECTURE.md: the table names \"{name}\", which is no crate here: take it out or make the crate");
                }
            }
            rows.entry(user.to_owned()).or_default().extend(used.iter().cloned());
        }
    }
    match crates.iter().find(|name| name.as_str() != "measure" && !table.program.contains_key(*name)) {
        Some(name) => bail!("ARCHITECTURE.md: the table does not say what the crate {name} may use: add a line"),
        None => Ok(table),
    }
}

/// The manifests of all crates of the project, by name.
fn manifests(root: &Path) -> Result<BTreeMap<String, Table>> {
    let mut folders = vec![root.join("xtask")];
    for entry in fs::read_dir(root.join("crates")).context("cannot list crates/")? {
        folders.push(entry?.path());
    }
    let mut manifests = BTreeMap::new();
    for folder in folders {
        let file = folder.join("Cargo.toml");
        let text = fs::read_to_string(&file).with_context(|| format!("cannot read {}", file.display()))?;
        let manifest: Table = text.parse().with_context(|| format!("{} does not read", file.display()))?;
        let name = manifest.get("package").and_then(|p| p.get("name")).and_then(|n| n.as_str());
        manifests.insert(name.context("a manifest without a package name")?.to_owned(), manifest);
    }
    Ok(manifests)
}

/// The breaches of one crate.
fn found(name: &str, manifest: &Table, table: &WallTable) -> Vec<String> {
    let project: BTreeSet<&str> = table.program.keys().map(String::as_str).chain(["measure"]).collect();
    let allows = |rows: &Allowed, used: &str| rows.get(name).is_some_and(|may| may.contains(used) || may.contains("all"));
    let mut breaches = Vec::new();
    for (section, tests_too) in [("dependencies", false), ("build-dependencies", false), ("dev-dependencies", true)] {
        let names = manifest.get(section).and_then(|d| d.as_table()).into_iter().flat_map(Table::keys);
        for used in names.filter(|used| project.contains(used.as_str())) {
            if !(allows(&table.program, used) || tests_too && allows(&table.tests, used)) {
                breaches.push(format!("{name} uses {used} ([{section}] of its Cargo.toml), which ARCHITECTURE.md does not allow"));
            }
        }
    }
    breaches
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crates(names: &[&str]) -> BTreeSet<String> {
        names.iter().map(|&n| n.to_owned()).collect()
    }

    #[test]
    fn a_prediction_that_looks_at_a_track_is_told() {
        let page = "```\nmeasure <- boat, track\nin tests: boat <- track\n```";
        let table = table(page, &crates(&["measure", "boat", "track"])).unwrap();
        let breaches = |name, text: &str| found(name, &text.parse().unwrap(), &table);
        assert_eq!(breaches("boat", "[dependencies]\nmeasure = {}\nserde = '1'"), Vec::<String>::new());
        assert_eq!(breaches("track", "[dev-dependencies]\nboat = {}"), Vec::<String>::new());
        assert!(breaches("boat", "[dependencies]\ntrack = {}")[0].starts_with("boat uses track"));
        assert!(breaches("boat", "[dev-dependencies]\ntrack = {}")[0].contains("dev-dependencies"));
        assert!(breaches("track", "[dependencies]\nboat = {}")[0].starts_with("track uses boat"));
        assert!(breaches("measure", "[dependencies]\nboat = {}")[0].starts_with("measure uses boat"));
    }

    #[test]
    fn the_table_and_the_crates_must_agree() {
        assert!(table("measure <- boat", &crates(&["measure", "boat", "track"])).unwrap_err().to_string().contains("crate track"));
        assert!(table("measure <- boat, sail", &crates(&["measure", "boat"])).unwrap_err().to_string().contains("\"sail\""));
    }
}
