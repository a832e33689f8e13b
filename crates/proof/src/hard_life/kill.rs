//! Killed at random moments (SIGKILL): afterwards the store is opened and compared. What was acknowledged is there, nothing is there by half.
//!
//! A killed program loses nothing that it handed to the system; a power cut may. What is asked of the system there (each write on the disk
//! before it is acknowledged) is SQLite's `synchronous = full`, tried by its own authors.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rusqlite::Connection;
use squad::fact::outing::{Note, Outing};
use squad::fact::race::Series;
use squad::fact::recorder::TrackFile;
use squad::{Id, SCHEMA, Store};

use super::content::{Content, FORGOTTEN, holding};
use super::program::{Program, copied, done, exchange, parts};
use super::write;
use crate::page::today;

/// How many kills each operation is to survive.
const ASKED: usize = 200;
/// A moment of the kill lies between the start and this many times the usual length, so that some come to their end.
const BEYOND: f64 = 1.15;

/// A store of the first schema, as a former version wrote it.
const SCHEMA_1: &str = include_str!("../../../squad/tests/store/fixtures/schema_1.sql");

/// A recorder's file.
const TRACK: &[u8] = include_bytes!("../../../../data/tracks/wren.gpx");

/// What became of the kills of an operation.
#[derive(Debug, Default)]
struct Killed {
    name: &'static str,
    kills: usize,
    /// It had come to its end before.
    ended: usize,
    /// As it was before, and as it is after.
    before: usize,
    after: usize,
    /// Writes acknowledged before the kill, all told.
    acknowledged: usize,
    lost: Vec<String>,
}

/// Kills every operation so many times; true when nothing was lost and nothing was there by half.
pub(crate) fn prove(root: &Path, program: Option<&Path>, kills: usize) -> Result<bool> {
    let program = Program::find(program)?;
    let place = tempfile::tempdir()?;
    let bench = Bench { program, root: root.to_owned(), place: place.path().to_owned(), kills };
    let begun = Instant::now();
    let mut all = Vec::new();
    for operation in [
        Bench::squad_file,
        Bench::archive,
        Bench::backup,
        Bench::migration,
        Bench::export,
        Bench::forgetting,
        Bench::notes,
        Bench::scoring,
        Bench::tracks,
    ] {
        let killed = operation(&bench)?;
        eprintln!("{}: {} kills, {} lost", killed.name, killed.kills, killed.lost.len());
        all.push(killed);
    }
    write(root, "Kills", &page(&all, kills, begun.elapsed()))?;
    Ok(all.iter().all(|k| k.lost.is_empty()))
}

fn page(all: &[Killed], kills: usize, took: Duration) -> String {
    let mut text = format!(
        "{}. `cargo xtask prove kills`, {kills} kills (SIGKILL) of each operation at random moments, seed 11, {:.0} s. Each time the store is \
         opened again, checked page by page, and compared with what it was before and what it is when nothing is killed; of what the pages \
         write, every write that was acknowledged is looked for. {}\n\n\
         | operation | kills | came to its end | as before | as after | writes acknowledged | lost or by half |\n|---|--:|--:|--:|--:|--:|--:|\n",
        today(),
        took.as_secs_f64(),
        if kills < ASKED { format!("Fewer than the {ASKED} asked.") } else { String::new() }
    );
    for k in all {
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {} | {} | {} |",
            k.name,
            k.kills,
            k.ended,
            k.before,
            k.after,
            k.acknowledged,
            k.lost.len()
        );
    }
    for k in all.iter().filter(|k| !k.lost.is_empty()) {
        let _ = writeln!(text, "\n{}: {}", k.name, k.lost.first().map_or("", String::as_str));
    }
    text
}

/// How many facts each backup of a folder's store holds, read as somebody would who takes it for the store.
fn backups(folder: &Path) -> Result<Vec<usize>> {
    let mut facts = Vec::new();
    for entry in fs::read_dir(folder.join("squad/backups"))? {
        let place = entry?.path();
        if place.extension().is_some_and(|e| e == "db") {
            let restored = folder.join("restored");
            fs::create_dir_all(&restored)?;
            fs::copy(&place, restored.join(squad::FILE))?;
            facts.push(Content::of(&restored)?.context("no backup")?.facts());
            fs::remove_dir_all(&restored)?;
        }
    }
    Ok(facts)
}

struct Bench {
    program: Program,
    root: PathBuf,
    place: PathBuf,
    kills: usize,
}

/// What was written, and whether that was acknowledged.
type Said = (String, bool);

/// What was found after a kill.
enum Found {
    Before,
    After,
    Lost(String),
}

impl Bench {
    /// A folder of its own with the invented squad in boats of one class, kept in `squad`.
    fn template(&self, name: &str) -> Result<PathBuf> {
        let folder = self.place.join(name);
        fs::create_dir_all(&folder)?;
        for file in ["sprit.toml", "as_rigged.toml"] {
            fs::copy(self.root.join("data/squads").join(file), folder.join(file))?;
        }
        let (well, said) = self.program.run(&folder, &["import", "sprit.toml", "--store", "squad"])?;
        ensure!(well, "{name}: {said}");
        // Opening it makes the day's backup; that is not what is killed.
        Content::of(&folder.join("squad"))?;
        Ok(folder)
    }

    /// Kills one command at random moments and looks each time.
    fn command(&self, name: &'static str, template: &Path, arguments: &[&str], look: &dyn Fn(&Path) -> Result<Found>) -> Result<Killed> {
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        let mut killed = Killed { name, ..Killed::default() };
        let work = self.place.join("work");
        let mut took: Vec<f64> = Vec::new();
        for _ in 0..3 {
            copied(template, &work)?;
            let begun = Instant::now();
            let (well, said) = self.program.run(&work, arguments)?;
            ensure!(well, "{name}: {said}");
            took.push(begun.elapsed().as_secs_f64());
            ensure!(matches!(look(&work)?, Found::After), "{name}: not killed, it is not as it should be after");
            fs::remove_dir_all(&work)?;
        }
        took.sort_by(f64::total_cmp);
        for _ in 0..self.kills {
            copied(template, &work)?;
            let moment = Duration::from_secs_f64(rng.random_range(0.0..BEYOND * took[1]));
            let mut child = self.program.command(&work, arguments).spawn()?;
            thread::sleep(moment);
            child.kill()?;
            let acknowledged = done(child.wait()?);
            killed.kills += 1;
            killed.ended += usize::from(acknowledged);
            killed.acknowledged += usize::from(acknowledged);
            match look(&work) {
                Ok(Found::Before) if acknowledged => killed.lost.push("acknowledged, and not there".to_owned()),
                Ok(Found::Before) => killed.before += 1,
                Ok(Found::After) => killed.after += 1,
                Ok(Found::Lost(what)) => killed.lost.push(what),
                Err(error) => killed.lost.push(format!("{error:#}")),
            }
            fs::remove_dir_all(&work)?;
        }
        Ok(killed)
    }

    /// A command that changes the store: what it was, or what it is to be.
    fn brought_in(&self, name: &'static str, template: &Path, arguments: &[&str]) -> Result<Killed> {
        let before = Content::of(&template.join("squad"))?;
        let whole = self.place.join("whole");
        copied(template, &whole)?;
        let (well, said) = self.program.run(&whole, arguments)?;
        ensure!(well, "{name}: {said}");
        let after = Content::of(&whole.join("squad"))?;
        fs::remove_dir_all(&whole)?;
        ensure!(before != after, "{name}: it changes nothing, so it shows nothing");
        self.command(name, template, arguments, &|folder| {
            let now = Content::of(&folder.join("squad"))?;
            Ok(match () {
                () if now == before => Found::Before,
                () if now == after => Found::After,
                () => {
                    Found::Lost(now.zip(after.as_ref()).and_then(|(now, after)| now.apart(after)).unwrap_or_else(|| "no store".to_owned()))
                }
            })
        })
    }

    fn squad_file(&self) -> Result<Killed> {
        self.brought_in("import of a squad file", &self.template("file")?, &["import", "as_rigged.toml", "--store", "squad"])
    }

    fn archive(&self) -> Result<Killed> {
        let template = self.template("archive")?;
        for arguments in [&["import", "as_rigged.toml", "--store", "other"][..], &["export", "--out", "other.zip", "--store", "other"]] {
            let (well, said) = self.program.run(&template, arguments)?;
            ensure!(well, "{said}");
        }
        self.brought_in("import of an archive", &template, &["import", "other.zip", "--store", "squad"])
    }

    /// Every backup is whole; the store stays as it was.
    fn backup(&self) -> Result<Killed> {
        let template = self.template("backup")?;
        // More came in since the day's backup was made.
        let (well, said) = self.program.run(&template, &["import", "as_rigged.toml", "--store", "squad"])?;
        ensure!(well, "{said}");
        let now = Content::of(&template.join("squad"))?.context("no store")?;
        self.command("backup", &template, &["backup", "--store", "squad"], &|folder| {
            if Content::of(&folder.join("squad"))?.as_ref() != Some(&now) {
                return Ok(Found::Lost("the store itself changed".to_owned()));
            }
            Ok(match backups(folder)?.as_slice() {
                [n] if *n == now.facts() => Found::After,
                [n] if *n > 0 => Found::Before,
                other => Found::Lost(format!("backups hold {other:?} facts of {}", now.facts())),
            })
        })
    }

    /// Forgotten, and named in no byte of the folder; or as it was, with whole backups, and then it can be done.
    fn forgetting(&self) -> Result<Killed> {
        let template = self.template("forgetting")?;
        let (well, said) = self.program.run(&template, &["backup", "--store", "squad"])?;
        ensure!(well, "{said}");
        ensure!(holding(&template.join("squad"), FORGOTTEN)?.is_some(), "{FORGOTTEN} is nowhere, so nothing is shown");
        let forget = &["forget", FORGOTTEN, "--store", "squad"];
        let before = Content::of(&template.join("squad"))?;
        let whole = self.place.join("whole");
        copied(&template, &whole)?;
        let (well, said) = self.program.run(&whole, forget)?;
        ensure!(well, "{said}");
        let after = Content::of(&whole.join("squad"))?;
        fs::remove_dir_all(&whole)?;
        ensure!(before != after, "nobody is forgotten");
        self.command("forgetting a sailor", &template, forget, &|folder| {
            let store = folder.join("squad");
            let now = Content::of(&store)?;
            let stood = now == before;
            if !stood && now != after {
                return Ok(Found::Lost("somebody is forgotten by half".to_owned()));
            }
            if backups(folder)?.contains(&0) {
                return Ok(Found::Lost("a backup is empty".to_owned()));
            }
            if stood {
                let (well, said) = self.program.run(folder, forget)?;
                if !well || Content::of(&store)? != after {
                    return Ok(Found::Lost(format!("it cannot be done again: {said}")));
                }
            }
            Ok(match holding(&store, FORGOTTEN)? {
                Some(place) => Found::Lost(format!("the name is in {}", place.display())),
                None if stood => Found::Before,
                None => Found::After,
            })
        })
    }

    /// A store of the first schema is opened: it is that, or of today's, with the same facts, and what was put aside is whole.
    fn migration(&self) -> Result<Killed> {
        let template = self.place.join("migration");
        fs::create_dir_all(template.join("squad"))?;
        let old = Connection::open(template.join("squad").join(squad::FILE))?;
        old.execute_batch(SCHEMA_1)?;
        let wanted: i64 = old.query_row("SELECT COUNT(*) FROM sailor", [], |r| r.get(0))?;
        drop(old);
        self.command("opening a store of schema 1", &template, &["export", "--store", "squad", "--out", "out.zip"], &|folder| {
            let place = folder.join("squad").join(squad::FILE);
            let asked = |c: &Connection| -> Result<(i64, i64)> {
                Ok((
                    c.pragma_query_value(None, "user_version", |r| r.get(0))?,
                    c.query_row("SELECT COUNT(*) FROM sailor", [], |r| r.get(0))?,
                ))
            };
            let (schema, sailors) = asked(&Connection::open(&place)?)?;
            let content = Content::of(&folder.join("squad"))?.context("no store")?;
            let aside = folder.join("squad/backups/schema-1.db");
            if sailors != wanted || content.facts() == 0 {
                return Ok(Found::Lost(format!("{sailors} sailors of {wanted}")));
            }
            if aside.exists() && asked(&Connection::open(&aside)?)? != (1, wanted) {
                return Ok(Found::Lost("what was put aside is not whole".to_owned()));
            }
            Ok(match schema {
                1 => Found::Before,
                SCHEMA if aside.exists() => Found::After,
                other => Found::Lost(format!("schema {other}, put aside: {}", aside.exists())),
            })
        })
    }

    /// An archive is there whole, or the former one is.
    fn export(&self) -> Result<Killed> {
        let template = self.template("export")?;
        fs::write(template.join("out.zip"), b"the former one")?;
        let now = Content::of(&template.join("squad"))?.context("no store")?;
        self.command("export over a former archive", &template, &["export", "--store", "squad", "--out", "out.zip"], &|folder| {
            let bytes = fs::read(folder.join("out.zip"))?;
            if bytes == b"the former one" {
                return Ok(Found::Before);
            }
            Ok(match Content::of_archive(&bytes)?.apart(&now) {
                None => Found::After,
                Some(what) => Found::Lost(what),
            })
        })
    }

    /// Serves a copy of the template, lets a hand write to it without a pause and kills the program at a random moment; answers with what
    /// was acknowledged and what was under way, to be looked for in the store.
    fn served(
        &self,
        name: &'static str,
        hand: fn(&str, &mpsc::Sender<Said>),
        look: fn(&Path, &[Said]) -> Result<Option<String>>,
    ) -> Result<Killed> {
        let template = self.template(name)?;
        let mut rng = ChaCha8Rng::seed_from_u64(12);
        let mut killed = Killed { name, ..Killed::default() };
        let work = self.place.join("work");
        for _ in 0..self.kills {
            copied(&template, &work)?;
            let mut serving = self.program.serve(&work, &[], "")?;
            let address = serving.addresses.first().cloned().context("no address")?;
            let (sent, received) = mpsc::channel();
            let writer = thread::spawn(move || hand(&address, &sent));
            thread::sleep(Duration::from_secs_f64(rng.random_range(0.005..0.3)));
            serving.kill();
            let _ = writer.join();
            let said: Vec<Said> = received.iter().collect();
            killed.kills += 1;
            let acknowledged = said.iter().filter(|s| s.1).count();
            killed.acknowledged += acknowledged;
            match look(&work.join("squad"), &said) {
                Ok(None) if acknowledged > 0 => killed.after += 1,
                Ok(None) => killed.before += 1,
                Ok(Some(what)) => killed.lost.push(what),
                Err(error) => killed.lost.push(format!("{error:#}")),
            }
            fs::remove_dir_all(&work)?;
        }
        Ok(killed)
    }

    /// Five notes a batch, as a phone sends them.
    fn notes(&self) -> Result<Killed> {
        fn hand(address: &str, sent: &mpsc::Sender<Said>) {
            for batch in 0_u64.. {
                let ids: Vec<String> = (0..5).map(|k| format!("{:032x}", (u128::from(batch) << 8) + k + (1 << 100))).collect();
                let notes: Vec<_> = ids
                    .iter()
                    .map(|id| serde_json::json!({ "id": id, "at": 1_775_131_200_000_i64, "kind": "note", "words": "a gust at the mark" }))
                    .collect();
                let body = serde_json::json!({ "phone": format!("{:032x}", 7), "clock": null, "notes": notes }).to_string();
                let answer = exchange(address, "POST", "/afloat/notes", "Content-Type: application/json\r\n", body.as_bytes());
                let kept: Vec<String> = answer
                    .as_ref()
                    .ok()
                    .filter(|a| a.status == 200)
                    .and_then(|a| serde_json::from_str::<serde_json::Value>(&a.body).ok())
                    .and_then(|v| serde_json::from_value(v["kept"].clone()).ok())
                    .unwrap_or_default();
                for id in ids {
                    let acknowledged = kept.contains(&id);
                    let _ = sent.send((id, acknowledged));
                }
                if answer.is_err() {
                    return;
                }
            }
        }
        self.served("notes from a phone", hand, |folder, said| {
            let store = Store::open(folder)?.value;
            let mut there = 0;
            for (text, acknowledged) in said {
                let id: Id<Note> = text.parse().map_err(|why: String| anyhow::anyhow!(why))?;
                match store.get(id)? {
                    Some(note) if note.fact.words == "a gust at the mark" => there += 1,
                    Some(_) => return Ok(Some(format!("note {text} is there by half"))),
                    None if *acknowledged => return Ok(Some(format!("note {text} was acknowledged and is not there"))),
                    None => {}
                }
            }
            let all = store.all::<Note>()?.len();
            Ok((all != there).then(|| format!("{all} notes, {there} of those sent")))
        })
    }

    /// A series corrected again and again: it stands as last acknowledged, or as the one under way had it.
    fn scoring(&self) -> Result<Killed> {
        fn hand(address: &str, sent: &mpsc::Sender<Said>) {
            let mut id = None::<String>;
            for version in 0_u32.. {
                let results = format!("race,boat,place,code,points\n1,Wren,{},,\n1,Knot,2,,\n", version + 3);
                let mut fields = vec![("name", "autumn".to_owned()), ("edition", "2025-2028".to_owned())];
                fields.extend([("entries", "Wren\nKnot".to_owned()), ("first", "4".to_owned()), ("second", String::new())]);
                fields.extend([("divisions", String::new()), ("results", results.clone())]);
                if let Some(id) = &id {
                    fields.extend([("id", id.clone()), ("version", version.to_string())]);
                }
                let (head, body) = parts(&fields, None);
                let answer = exchange(address, "POST", "/race-day/results", head, &body);
                let well = answer.as_ref().is_ok_and(|a| a.status == 303);
                let _ = sent.send((results.trim_end().to_owned(), well));
                let Ok(answer) = answer else { return };
                id = id.or_else(|| answer.head.split_once("series=").map(|(_, id)| id.chars().take(32).collect()));
                if !well {
                    return;
                }
            }
        }
        self.served("corrections of results", hand, |folder, said| {
            let store = Store::open(folder)?.value;
            let found: Vec<String> = store.all::<Series>()?.into_iter().map(|s| s.fact.results_text).collect();
            let last = said.iter().rposition(|s| s.1);
            // The last acknowledged, or the one that was under way.
            let may: Vec<&String> = said.iter().skip(last.unwrap_or(0)).map(|s| &s.0).collect();
            Ok(match found.as_slice() {
                [] if last.is_none() => None,
                [one] if may.contains(&one) => None,
                other => Some(format!("{} series; {:?} acknowledged last", other.len(), last)),
            })
        })
    }

    /// A recorder's file each time, each another: whole, with the outing it made, or not there; and nothing is left beside the store.
    fn tracks(&self) -> Result<Killed> {
        fn hand(address: &str, sent: &mpsc::Sender<Said>) {
            for k in 0.. {
                let file = track(k);
                let (head, body) = parts(&[("outing", String::new()), ("timezone", "UTC".to_owned())], Some(("wren.gpx", &file)));
                let answer = exchange(address, "POST", "/ashore/files", head, &body);
                let _ = sent.send((k.to_string(), answer.as_ref().is_ok_and(|a| a.status == 303)));
                if answer.is_err() {
                    return;
                }
            }
        }
        self.served("recorders' files", hand, |folder, said| {
            let store = Store::open(folder)?.value;
            let files = store.all::<TrackFile>()?;
            let mut found = BTreeSet::new();
            for file in &files {
                let bytes = store.track_bytes(&file.fact)?;
                let Some(k) = (0..said.len()).find(|k| track(*k) == bytes) else { return Ok(Some("a file that nobody sent".to_owned())) };
                found.insert(k.to_string());
            }
            let lost = said.iter().find(|(k, acknowledged)| *acknowledged && !found.contains(k));
            let left: Vec<_> = fs::read_dir(folder)?.flatten().filter(|e| e.file_name().to_string_lossy().starts_with(".tmp")).collect();
            let outings = store.all::<Outing>()?.len();
            Ok(match () {
                () if lost.is_some() => Some(format!("{lost:?} was acknowledged and is not there")),
                () if outings != files.len() => Some(format!("{outings} outings of {} files", files.len())),
                () if !left.is_empty() => Some(format!("{left:?} is left")),
                () => None,
            })
        })
    }
}

/// A recorder's file, told from the others by its last line.
fn track(k: usize) -> Vec<u8> {
    [TRACK, format!("<!-- {k} -->").as_bytes()].concat()
}
