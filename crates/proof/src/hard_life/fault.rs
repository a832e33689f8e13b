//! A disk that is full at each write, and one that may not be written: the program says so, and the store is what it was. A small disk in
//! memory is mounted for it, filled but for so many pages, and the operation tried with one page more each time until it succeeds.

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use anyhow::{Context, Result, bail, ensure};
use rusqlite::Connection;
use squad::Store;
use squad::fact::sailor::Sailor;

use super::content::{Content, FORGOTTEN, holding};
use super::program::{Program, Serving, copied, exchange, parts};
use super::write;
use crate::page::today;

/// A page of the small disk, bytes.
const PAGE: u64 = 4096;
/// More pages than any of these operations writes.
const MOST: u64 = 4000;
/// Programs at a time on one store, and imports of each.
const CROWD: (usize, usize) = (4, 12);

/// A recorder's file.
const TRACK: &[u8] = include_bytes!("../../../../data/tracks/wren.gpx");
const SCHEMA_1: &str = include_str!("../../../squad/tests/store/fixtures/schema_1.sql");

/// A disk of its own in memory; gone when it is let go.
struct SmallDisk(tempfile::TempDir);

impl SmallDisk {
    fn mounted() -> Result<Self> {
        let place = tempfile::tempdir()?;
        let done = Command::new("mount").args(["-t", "tmpfs", "-o", "size=24m", "tmpfs"]).arg(place.path()).status();
        if !done.is_ok_and(|s| s.success()) {
            bail!("a small disk cannot be mounted: this proof takes Linux and the right to mount");
        }
        Ok(Self(place))
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    /// Leaves so many bytes free.
    fn filled(&self, free: u64) -> Result<PathBuf> {
        let place = self.path().join("ballast");
        let mut ballast = fs::File::create(&place)?;
        let page = vec![0; PAGE as usize];
        while ballast.write_all(&page).is_ok() {}
        let length = ballast.metadata()?.len();
        ballast.set_len(length.saturating_sub(free) / PAGE * PAGE)?;
        Ok(place)
    }

    fn only_read(&self, only: bool) -> Result<()> {
        let how = if only { "remount,ro" } else { "remount,rw" };
        let done = Command::new("mount").args(["-o", how]).arg(self.path()).status()?;
        ensure!(done.success(), "the small disk cannot be mounted anew");
        Ok(())
    }

    fn emptied(&self) -> Result<()> {
        for entry in fs::read_dir(self.path())? {
            let path = entry?.path();
            if path.is_dir() { fs::remove_dir_all(path)? } else { fs::remove_file(path)? }
        }
        Ok(())
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.path()).status();
    }
}

/// What a folder holds.
#[derive(Debug, PartialEq, Eq)]
struct Seen {
    content: Option<Content>,
    archive: Vec<u8>,
    /// Whether the one to be forgotten is named in any byte.
    names: bool,
}

/// What an operation is, and how it is done in a folder: whether it said all went well, and its words.
struct Operation {
    name: &'static str,
    template: PathBuf,
    serves: bool,
    /// Whether it may be told and yet be done when the store is opened again.
    settles: bool,
    done: Done,
}

type Done = fn(&Program, &Path, Option<&Serving>) -> Result<(bool, String)>;

#[derive(Debug, Default)]
struct Injected {
    name: &'static str,
    faults: usize,
    told: usize,
    wrong: Vec<String>,
    read_only: String,
}

/// Injects every fault; true when each was told and nothing was lost.
pub(crate) fn prove(root: &Path, program: Option<&Path>) -> Result<bool> {
    let program = Program::find(program)?;
    let place = tempfile::tempdir()?;
    let disk = SmallDisk::mounted()?;
    let mut all = Vec::new();
    for operation in operations(root, &program, place.path())? {
        let injected = injected(&program, &disk, &operation)?;
        eprintln!("{}: {} faults, {} wrong", injected.name, injected.faults, injected.wrong.len());
        all.push(injected);
    }
    let (done, refused, there) = crowd(&program, place.path())?;
    let mut text = format!(
        "{}. `cargo xtask prove faults`. A small disk is filled but for no page, one, two and so on until the operation succeeds: each of \
         these is a fault at another write. After it the store is opened, checked page by page and compared with what it was; of a forgetting that was told, \
         what is left may be done at that opening, and then nobody is named in any byte.\n\n\
         | operation | faults, disk full | told as such | store changed | disk that may only be read |\n|---|--:|--:|--:|---|\n",
        today()
    );
    for i in &all {
        let _ = writeln!(text, "| {} | {} | {} | {} | {} |", i.name, i.faults, i.told, i.wrong.len(), i.read_only);
    }
    for i in all.iter().filter(|i| !i.wrong.is_empty()) {
        let _ = writeln!(text, "\n{}: {}", i.name, i.wrong.first().map_or("", String::as_str));
    }
    let _ = writeln!(
        text,
        "\n{} programs at a time bring {} squad files into one store: {done} done, {refused} told that it is in use, {there} of the {done} sailors there.",
        CROWD.0,
        CROWD.0 * CROWD.1
    );
    write(root, "Faults", &text)?;
    Ok(done == there && all.iter().all(|i| i.wrong.is_empty() && i.told == i.faults))
}

fn injected(program: &Program, disk: &SmallDisk, operation: &Operation) -> Result<Injected> {
    let mut injected = Injected { name: operation.name, ..Injected::default() };
    let work = disk.path().join("work");
    // Opened elsewhere: what an opening finishes or brings up to date is no matter of this disk.
    let seen = |work: &Path| -> Result<Seen> {
        let place = tempfile::tempdir()?;
        copied(work, place.path())?;
        let content = Content::of(&place.path().join("squad"))?;
        let names = holding(&place.path().join("squad"), FORGOTTEN)?.is_some();
        Ok(Seen { content, archive: fs::read(work.join("out.zip")).unwrap_or_default(), names })
    };
    // Somebody is forgotten in the store last: what is left to be cleared then is cleared when it is opened again.
    let whole = match operation.settles {
        true => {
            copied(&operation.template, &work)?;
            let (well, said) = (operation.done)(program, &work, None)?;
            ensure!(well, "{}: {said}", operation.name);
            let whole = seen(&work)?;
            disk.emptied()?;
            ensure!(!whole.names, "{}: it is not done", operation.name);
            Some(whole)
        }
        false => None,
    };
    for free in 0..MOST {
        copied(&operation.template, &work)?;
        let before = seen(&work)?;
        let serving = operation.serves.then(|| program.serve(&work, &[], "")).transpose()?;
        let ballast = disk.filled(free * PAGE)?;
        let (well, said) = (operation.done)(program, &work, serving.as_ref())?;
        fs::remove_file(ballast)?;
        drop(serving);
        let after = seen(&work);
        disk.emptied()?;
        let after = match after {
            Ok(after) => after,
            Err(error) => {
                injected.wrong.push(format!("with {free} pages free: {error:#}"));
                continue;
            }
        };
        if well {
            break;
        }
        injected.faults += 1;
        injected.told += usize::from(said.to_lowercase().contains("full") || said.to_lowercase().contains("no space"));
        if !said.to_lowercase().contains("full") && !said.to_lowercase().contains("no space") && injected.faults > injected.told {
            eprintln!("{}, {free} pages free: {said}", operation.name);
        }
        if after != before && Some(&after) != whole.as_ref() {
            injected.wrong.push(format!("with {free} pages free it is not what it was: {said}"));
        }
    }
    copied(&operation.template, &work)?;
    let before = seen(&work)?;
    let serving = operation.serves.then(|| program.serve(&work, &[], "")).transpose()?;
    // What is open for writing keeps the disk from being shut.
    injected.read_only = if serving.is_some() {
        "not tried: an open store keeps it writable".to_owned()
    } else {
        disk.only_read(true)?;
        let (well, said) = (operation.done)(program, &work, None)?;
        disk.only_read(false)?;
        let told = said.to_lowercase().contains("read-only") || said.to_lowercase().contains("but not written");
        if well || !told || seen(&work)? != before {
            injected.wrong.push(format!("read-only: well {well}: {said}"));
        }
        "told, unchanged".to_owned()
    };
    drop(serving);
    disk.emptied()?;
    Ok(injected)
}

fn operations(root: &Path, program: &Program, place: &Path) -> Result<Vec<Operation>> {
    let template = |name: &str, commands: &[&[&str]]| -> Result<PathBuf> {
        let folder = place.join(name);
        fs::create_dir_all(&folder)?;
        for file in ["sprit.toml", "as_rigged.toml"] {
            fs::copy(root.join("data/squads").join(file), folder.join(file))?;
        }
        for command in commands {
            let (well, said) = program.run(&folder, command)?;
            ensure!(well, "{name}: {said}");
        }
        Content::of(&folder.join("squad"))?;
        Ok(folder)
    };
    let sprit: &[&str] = &["import", "sprit.toml", "--store", "squad"];
    let rigged: &[&str] = &["import", "as_rigged.toml", "--store", "squad"];
    let migration = place.join("migration");
    fs::create_dir_all(migration.join("squad"))?;
    Connection::open(migration.join("squad").join(squad::FILE))?.execute_batch(SCHEMA_1)?;
    let other: &[&[&str]] =
        &[sprit, &["import", "as_rigged.toml", "--store", "other"], &["export", "--out", "other.zip", "--store", "other"]];
    Ok(vec![
        Operation {
            name: "import of a squad file",
            template: template("file", &[sprit])?,
            serves: false,
            settles: false,
            done: |p, f, _| p.run(f, &["import", "as_rigged.toml", "--store", "squad"]),
        },
        Operation {
            name: "import of an archive",
            template: template("archive", other)?,
            serves: false,
            settles: false,
            done: |p, f, _| p.run(f, &["import", "other.zip", "--store", "squad"]),
        },
        Operation {
            name: "backup",
            template: template("backup", &[sprit, rigged])?,
            serves: false,
            settles: false,
            done: |p, f, _| p.run(f, &["backup", "--store", "squad"]),
        },
        Operation {
            name: "export",
            template: template("export", &[sprit])?,
            serves: false,
            settles: false,
            done: |p, f, _| p.run(f, &["export", "--store", "squad", "--out", "out.zip"]),
        },
        Operation {
            name: "a note from a phone",
            template: template("note", &[sprit])?,
            serves: true,
            settles: false,
            done: |_, _, serving| {
                let note =
                    serde_json::json!({ "id": format!("{:032x}", 77), "at": 1_775_131_200_000_i64, "kind": "note", "words": "gust" });
                let body = serde_json::json!({ "phone": format!("{:032x}", 7), "clock": null, "notes": [note] }).to_string();
                let address = serving.and_then(|s| s.addresses.first()).context("nobody serves")?;
                let answer = exchange(address, "POST", "/afloat/notes", "Content-Type: application/json\r\n", body.as_bytes())?;
                let kept = serde_json::from_str::<serde_json::Value>(&answer.body)
                    .is_ok_and(|v| v["kept"].as_array().is_some_and(|k| !k.is_empty()));
                Ok((kept, answer.body))
            },
        },
        Operation {
            name: "opening a store of schema 1",
            template: migration,
            serves: false,
            settles: false,
            done: |p, f, _| p.run(f, &["export", "--store", "squad", "--out", "out.zip"]),
        },
        Operation {
            name: "forgetting a sailor",
            template: template("forgetting", &[sprit, &["backup", "--store", "squad"]])?,
            serves: false,
            settles: true,
            done: |p, f, _| p.run(f, &["forget", FORGOTTEN, "--store", "squad"]),
        },
        Operation {
            name: "results of a series",
            template: template("results", &[sprit])?,
            serves: true,
            settles: false,
            done: |_, _, serving| {
                let results = "race,boat,place,code,points\n1,Wren,1,,\n1,Knot,2,,\n";
                let fields = [
                    ("name", "autumn"),
                    ("edition", "2025-2028"),
                    ("entries", "Wren\nKnot"),
                    ("first", "4"),
                    ("second", ""),
                    ("divisions", ""),
                    ("results", results),
                ];
                brought(serving, "/race-day/results", &fields, None)
            },
        },
        Operation {
            name: "a recorder's file",
            template: template("track", &[sprit])?,
            serves: true,
            settles: false,
            done: |_, _, serving| brought(serving, "/ashore/files", &[("outing", ""), ("timezone", "UTC")], Some(("wren.gpx", TRACK))),
        },
    ])
}

/// A form sent to whoever serves; it is well where the page leads on.
fn brought(serving: Option<&Serving>, path: &str, fields: &[(&str, &str)], file: Option<(&str, &[u8])>) -> Result<(bool, String)> {
    let address = serving.and_then(|s| s.addresses.first()).context("nobody serves")?;
    let fields: Vec<_> = fields.iter().map(|(name, value)| (*name, (*value).to_owned())).collect();
    let (head, body) = parts(&fields, file);
    let answer = exchange(address, "POST", path, head, &body)?;
    Ok((answer.status == 303, answer.body))
}

/// Several programs bring squad files into one store at once: how many said it was done, how many that it is in use, how many sailors are there.
fn crowd(program: &Program, place: &Path) -> Result<(usize, usize, usize)> {
    let folder = place.join("crowd");
    fs::create_dir_all(&folder)?;
    let (done, refused) = (AtomicUsize::new(0), AtomicUsize::new(0));
    fs::write(folder.join("first.toml"), crew("first"))?;
    let (well, said) = program.run(&folder, &["import", "first.toml", "--store", "squad"])?;
    ensure!(well, "{said}");
    thread::scope(|scope| {
        for who in 0..CROWD.0 {
            let (folder, done, refused) = (&folder, &done, &refused);
            scope.spawn(move || {
                for k in 0..CROWD.1 {
                    let file = format!("{who}-{k}.toml");
                    if fs::write(folder.join(&file), crew(&format!("s{who}-{k}"))).is_err() {
                        continue;
                    }
                    match program.run(folder, &["import", &file, "--store", "squad"]) {
                        Ok((true, _)) => drop(done.fetch_add(1, Ordering::Relaxed)),
                        _ => drop(refused.fetch_add(1, Ordering::Relaxed)),
                    }
                }
            });
        }
    });
    let there = Store::open(&folder.join("squad"))?.value.all::<Sailor>()?.len() - 1;
    Ok((done.into_inner(), refused.into_inner(), there))
}

/// A squad file of one.
fn crew(label: &str) -> String {
    format!("[[sailor]]\nsailor = \"{label}\"\nboat = \"b{label}\"\nmass = \"40 kg\"\nskill = \"races\"\n")
}
