//! Every reader fed with bytes that a fuzzer makes of good files, guided by what they reach; and every form of every page filled with what no
//! coach would type. What is found is written to a folder, and becomes a test.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail, ensure};
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};
use tempfile::TempDir;

use super::program::{FORM, Program, Serving, encoded, exchange};
use super::write;
use crate::page::today;

/// Seeds of a target: files of a folder with an ending.
const SEEDS: &[(&str, &[(&str, &str)])] = &[
    ("gpx", &[("crates/track/tests/fixtures", "gpx"), ("data/tracks", "gpx")]),
    ("nmea", &[("crates/track/tests/fixtures", "nmea"), ("data/tracks", "nmea")]),
    ("fit", &[("crates/track/tests/fixtures", "fit")]),
    ("kml", &[("crates/track/tests/fixtures", "kml")]),
    ("tcx", &[("crates/track/tests/fixtures", "tcx")]),
    ("geojson", &[("crates/track/tests/fixtures", "geojson")]),
    ("csv", &[("crates/track/tests/fixtures", "csv"), ("data/tracks", "csv")]),
    ("igc", &[("crates/track/tests/fixtures", "igc")]),
    ("packed", &[]),
    ("waypoints", &[("crates/track/tests/fixtures", "gpx"), ("crates/track/tests/fixtures", "geojson")]),
    ("class", &[("data/classes", "toml")]),
    ("squad", &[("data/squads", "toml")]),
    ("series", &[]),
    ("archive", &[]),
    ("checklist", &[("data/checklists", "toml")]),
    ("limits", &[("data/squads", "toml"), ("data", "toml")]),
    ("passes", &[("data/passes", "csv")]),
    ("polar", &[]),
    ("buoys", &[("data/courses", "txt")]),
    ("quantity", &[]),
];
/// The largest seed, bytes: from a longer one a fuzzer learns slowly.
const LARGEST_SEED: usize = 6 << 10;
/// Memory, MB, and time of one input, s, beyond which it is a find.
const LIMITS: (u32, u32) = (2048, 10);
/// Of the whole time this share goes to the pages' forms.
const FORMS: f64 = 0.08;
/// And this to notes.
const NOTES: f64 = 0.02;
/// Kinds of notes, and one that is none.
const KINDS: [&str; 12] = ["out", "in", "seen", "voice", "set", "pass", "drill", "note", "signal", "over", "undo", "kite"];
/// When they were noted, ms.
const NOTED: i64 = 1_775_131_200_000;

/// What no coach would type into a field.
const STRANGE: &[&str] = &[
    "",
    " ",
    "0",
    "-1",
    "1e400",
    "-1e-400",
    "NaN",
    "inf",
    "9999999999999999999999",
    "1,5",
    "12 kn",
    "5 furlongs",
    "\u{1f9ca}",
    "\u{202e}abc",
    "<script>alert(1)</script>",
    "'; DROP TABLE sailor; --",
    "=1+1",
    "../../etc/passwd",
    "%00",
    "\0",
    "a\r\nSet-Cookie: b=c",
    "{{7*7}}",
    "#set page()",
    "00000000000000000000000000000000",
    "2026-02-30",
    "24:61",
    "90.0001N",
    "[[item]]",
    "\"",
    "\\",
];

/// What came of a target.
#[derive(Debug)]
struct Fed {
    name: String,
    executions: u64,
    corpus: usize,
    memory: u64,
    finds: Vec<PathBuf>,
}

/// Fuzzes for so many minutes in all; true when nothing was found.
pub(crate) fn prove(root: &Path, program: Option<&Path>, minutes: f64) -> Result<bool> {
    let program = Program::find(program)?;
    let built = built(root)?;
    let kept = root.join("target").join("fuzzed");
    let each = Duration::from_secs_f64((60.0 * minutes * (1.0 - FORMS - NOTES) / SEEDS.len() as f64).max(1.0));
    let mut all = Vec::new();
    for (name, seeds) in SEEDS {
        let fed = fed(root, &built, &kept, name, seeds, each)?;
        eprintln!("{name}: {} executions, {} finds", fed.executions, fed.finds.len());
        all.push(fed);
    }
    let mut pages = Pages::open(root, &program)?;
    let forms = pages.forms(Duration::from_secs_f64(60.0 * minutes * FORMS))?;
    let notes = pages.notes(Duration::from_secs_f64(60.0 * minutes * NOTES))?;
    let complaints = pages.serving.complaints();
    let executions: u64 = all.iter().map(|f| f.executions).sum();
    let mut text = format!(
        "{}. `cargo xtask prove fuzz`: {minutes} minutes in all on one core, {:.0} s each reader (libFuzzer, guided by coverage; overflow and other debug \
         assertions on; more than {} MB or {} s for one input counts as a find), the rest for forms and notes. {executions} executions.\n\n\
         | reader | executions | inputs kept | most memory, MB | finds |\n|---|--:|--:|--:|--:|\n",
        today(),
        each.as_secs_f64(),
        LIMITS.0,
        LIMITS.1
    );
    for f in &all {
        let _ = writeln!(text, "| {} | {} | {} | {} | {} |", f.name, f.executions, f.corpus, f.memory, f.finds.len());
    }
    let _ = writeln!(text, "| forms of the pages | {} | {} forms | - | {} |", forms.sent, forms.sorts, forms.finds.len());
    let _ = writeln!(text, "| notes queued on a phone | {} | {} kinds | - | {} |", notes.sent, notes.sorts, notes.finds.len());
    for (what, sent) in [("forms'", &forms), ("notes'", &notes)] {
        let answers = sent.by_status.iter().map(|(status, n)| format!("{n} with {status}")).collect::<Vec<_>>().join(", ");
        let _ = writeln!(text, "\nOf the {what} answers: {answers}.");
        for find in sent.finds.iter().take(20) {
            let _ = writeln!(text, "\n{find}");
        }
    }
    if complaints.contains("panicked") {
        let _ = writeln!(text, "\nIt panicked: {complaints}");
    }
    write(root, "Fuzzing", &text)?;
    let well = forms.finds.is_empty() && notes.finds.is_empty() && !complaints.contains("panicked");
    Ok(well && all.iter().all(|f| f.finds.is_empty()))
}

/// Builds all targets with the nightly compiler; the folder they are in.
fn built(root: &Path) -> Result<PathBuf> {
    let target = std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from).join("fuzz");
    let done = Command::new("cargo")
        .args(["+nightly", "fuzz", "build", "-O", "-a", "-s", "none", "--fuzz-dir", "."])
        .current_dir(root.join("fuzz"))
        .env("CARGO_TARGET_DIR", &target)
        .status()?;
    if !done.success() {
        bail!("the fuzzers are not built: this takes the nightly compiler and `cargo install cargo-fuzz`");
    }
    let triple = fs::read_dir(&target)?.flatten().map(|e| e.path().join("release")).find(|p| p.join("class").exists());
    triple.context("the fuzzers are nowhere")
}

fn fed(root: &Path, built: &Path, kept: &Path, name: &str, seeds: &[(&str, &str)], time: Duration) -> Result<Fed> {
    let (corpus, finds, sown) = (kept.join("corpus").join(name), kept.join("finds").join(name), kept.join("seeds").join(name));
    for folder in [&corpus, &finds, &sown] {
        fs::create_dir_all(folder)?;
    }
    for (folder, ending) in seeds {
        for entry in fs::read_dir(root.join(folder))?.flatten() {
            if entry.path().extension().is_some_and(|e| e == *ending) {
                let mut bytes = fs::read(entry.path())?;
                bytes.truncate(LARGEST_SEED);
                fs::write(sown.join(entry.file_name()), bytes)?;
            }
        }
    }
    for (k, bytes) in made(root, name)?.into_iter().enumerate() {
        fs::write(sown.join(format!("made-{k}")), bytes)?;
    }
    let run = |more: &[String], folders: &[&Path]| {
        Command::new(built.join(name)).args(more).args(folders).env("FUZZ_FOLDER", kept).output().with_context(|| name.to_owned())
    };
    let mut executions = 0;
    let mut memory = 0;
    let begun = Instant::now();
    // A find ends a run: the next goes on with what is left of the time, until so many are found that somebody has to look first.
    while begun.elapsed() < time && listed(&finds)?.len() < 20 {
        let left = (time.saturating_sub(begun.elapsed())).as_secs().max(1);
        let more = [
            format!("-max_total_time={left}"),
            format!("-rss_limit_mb={}", LIMITS.0),
            format!("-timeout={}", LIMITS.1),
            "-max_len=65536".to_owned(),
            "-print_final_stats=1".to_owned(),
            format!("-artifact_prefix={}/", finds.display()),
        ];
        let out = run(&more, &[&corpus, &sown])?;
        let said = String::from_utf8_lossy(&out.stderr);
        let figure = |name: &str| {
            said.lines().find_map(|l| l.strip_prefix(&format!("stat::{name}:"))).and_then(|n| n.trim().parse::<u64>().ok()).unwrap_or(0)
        };
        executions += figure("number_of_executed_units");
        memory = memory.max(figure("peak_rss_mb"));
        if out.status.success() {
            break;
        }
        ensure!(figure("number_of_executed_units") > 0 || !listed(&finds)?.is_empty(), "{name} does not run: {said}");
    }
    // Kept small: of inputs that reach the same, the smallest.
    let small = kept.join("small").join(name);
    fs::create_dir_all(&small)?;
    if run(&["-merge=1".to_owned()], &[&small, &corpus])?.status.success() {
        fs::remove_dir_all(&corpus)?;
        fs::rename(&small, &corpus)?;
    }
    Ok(Fed { name: name.to_owned(), executions, corpus: listed(&corpus)?.len(), memory, finds: listed(&finds)? })
}

/// What lies in a folder; an input that was only slow is no find while it stays within its time.
fn listed(folder: &Path) -> Result<Vec<PathBuf>> {
    let slow = |path: &PathBuf| path.file_name().is_some_and(|n| n.to_string_lossy().starts_with("slow-unit-"));
    Ok(fs::read_dir(folder)?.flatten().map(|e| e.path()).filter(|path| !slow(path)).collect())
}

/// Seeds that are no file of the project.
fn made(root: &Path, name: &str) -> Result<Vec<Vec<u8>>> {
    let text = |parts: &[&str]| parts.iter().map(|p| p.as_bytes().to_vec()).collect::<Vec<_>>();
    Ok(match name {
        "quantity" => text(&["2.45 m", "95 lb", "12,5 cm", "5 ft 3 in", "12 kn", "-20 deg"]),
        "polar" => text(&["wind,40,90,150\n2,0.8,1.1,0.9\n4,1.2,1.8,1.5\n"]),
        "series" => {
            let read = |file: &str| fs::read_to_string(root.join("data/series").join(file));
            let both = |toml: &str, results: &str| Ok::<_, anyhow::Error>(format!("{}\n---\n{}", read(toml)?, read(results)?).into_bytes());
            vec![both("regatta.toml", "regatta.csv")?, both("example.toml", "spring.csv")?]
        }
        "archive" | "packed" => {
            let place = tempfile::tempdir()?;
            let mut store = squad::Store::open_or_new(place.path())?.value;
            let writer = squad::Writer { by: "coach".to_owned(), at: squad::Moment::of_millis(1_775_131_200_000) };
            store.import(&root.join("data/squads/sprit.toml"), &writer)?;
            let mut bytes = std::io::Cursor::new(Vec::new());
            store.export(&mut bytes, writer.at)?;
            let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
            zip.start_file("wren.gpx", zip::write::SimpleFileOptions::default())?;
            let mut gpx = fs::read(root.join("data/tracks/wren.gpx"))?;
            gpx.truncate(LARGEST_SEED);
            std::io::Write::write_all(&mut zip, &gpx)?;
            vec![bytes.into_inner(), zip.finish()?.into_inner()]
        }
        _ => Vec::new(),
    })
}

/// What came of what was sent to the pages.
#[derive(Debug, Default)]
struct Sent {
    /// Forms, or kinds of notes.
    sorts: usize,
    sent: usize,
    by_status: BTreeMap<u16, usize>,
    finds: Vec<String>,
}

/// A form of a page: where it goes, whether by POST, its fields with what stands in them.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Form {
    to: String,
    posts: bool,
    fields: Vec<(String, String)>,
}

/// A program that serves the invented squad, and what strange things are sent to it.
struct Pages {
    serving: Serving,
    address: String,
    rng: ChaCha8Rng,
    _place: TempDir,
}

impl Pages {
    fn open(root: &Path, program: &Program) -> Result<Self> {
        let place = tempfile::tempdir()?;
        fs::copy(root.join("data/squads/as_rigged.toml"), place.path().join("squad.toml"))?;
        let (well, said) = program.run(place.path(), &["import", "squad.toml", "--store", "squad"])?;
        ensure!(well, "{said}");
        let serving = program.serve(place.path(), &[], "")?;
        let address = serving.addresses.first().cloned().context("no address")?;
        Ok(Self { serving, address, rng: ChaCha8Rng::seed_from_u64(13), _place: place })
    }

    /// Sends one thing and writes down what came of it.
    fn sent(&mut self, sent: &mut Sent, method: &str, path: &str, head: &str, body: &str, told: &str) -> Result<()> {
        sent.sent += 1;
        let told = |what: &str| format!("{method} {path}: {what}, with {told}");
        match exchange(&self.address, method, path, head, body.as_bytes()) {
            Ok(answer) => {
                *sent.by_status.entry(answer.status).or_default() += 1;
                if answer.status >= 500 {
                    sent.finds.push(told(&answer.status.to_string()));
                }
                if answer.body.contains("<script>alert(1)") && answer.head.contains("text/html")
                    || answer.head.contains("\nset-cookie: b=c")
                {
                    sent.finds.push(told("what was typed is taken for the page's own"));
                }
            }
            Err(error) => {
                sent.finds.push(told(&error.to_string()));
                if !self.serving.lives() {
                    bail!("the program ended: {}", sent.finds.last().map_or("", String::as_str));
                }
            }
        }
        Ok(())
    }

    fn strange(&mut self) -> String {
        if self.rng.random_bool(0.03) { "a".repeat(20_000) } else { (*STRANGE.choose(&mut self.rng).unwrap_or(&"")).to_owned() }
    }

    /// Follows every link of the pages, gathers every form, and sends each with strange words in it.
    fn forms(&mut self, time: Duration) -> Result<Sent> {
        let (mut all, mut seen, mut next) = (BTreeSet::new(), BTreeSet::new(), vec!["/today".to_owned()]);
        while let Some(path) = next.pop() {
            let plain = path.split(['?', '#']).next().unwrap_or_default().to_owned();
            if !seen.insert(plain) || seen.len() > 300 {
                continue;
            }
            let answer = exchange(&self.address, "GET", &path, "", b"")?;
            if answer.head.contains("text/html") {
                next.extend(attributes(&answer.body, "href").filter(|l| l.starts_with('/') && !l.starts_with("/look/")));
                all.extend(forms_of(&path, &answer.body));
            }
        }
        let forms: Vec<Form> = all.into_iter().collect();
        let mut sent = Sent { sorts: forms.len(), ..Sent::default() };
        let begun = Instant::now();
        while begun.elapsed() < time {
            let Some(form) = forms.choose(&mut self.rng) else { bail!("the pages have no forms") };
            let mut fields = form.fields.clone();
            for _ in 0..self.rng.random_range(1..4) {
                let word = self.strange();
                match self.rng.random_range(0..10) {
                    0 if !fields.is_empty() => drop(fields.swap_remove(self.rng.random_range(0..fields.len()))),
                    1 => fields.extend(fields.first().cloned()),
                    _ if !fields.is_empty() => {
                        let at = self.rng.random_range(0..fields.len());
                        fields[at].1 = word;
                    }
                    _ => {}
                }
            }
            let (body, told) = (encoded(&fields), format!("{fields:?}"));
            if form.posts {
                self.sent(&mut sent, "POST", &form.to, FORM, &body, &told)?;
            } else {
                self.sent(&mut sent, "GET", &format!("{}?{body}", form.to), "", "", &told)?;
            }
        }
        Ok(sent)
    }

    /// Notes as a phone queues them, with strange words and numbers in their fields, or broken off.
    fn notes(&mut self, time: Duration) -> Result<Sent> {
        let day: Value = serde_json::from_str(&exchange(&self.address, "GET", "/afloat/day", "", b"")?.body)?;
        let sailors: Vec<&str> = day["sailors"].as_array().into_iter().flatten().filter_map(|s| s["id"].as_str()).collect();
        let mut sent = Sent { sorts: KINDS.len(), ..Sent::default() };
        let begun = Instant::now();
        while begun.elapsed() < time {
            let mut notes = Vec::new();
            for _ in 0..self.rng.random_range(1..4) {
                let kind = KINDS.choose(&mut self.rng).unwrap_or(&"note");
                let [sailor, other] = [0, 1].map(|_| sailors.choose(&mut self.rng).copied().unwrap_or_default());
                let what = if *kind == "set" { "vang_line" } else { "creases.luff" };
                let mut note = json!({
                    "id": format!("{:032x}", self.rng.random::<u128>()), "at": NOTED, "kind": kind, "sailor": sailor, "other": other,
                    "until": NOTED + 60_000, "what": what, "words": "a gust at the mark", "value": 4.5, "minutes": 10, "coach": "Ida",
                    "boat": "Safety boat 1", "day": day["day"], "outing": day["outing"], "of": format!("{:032x}", 1), "phone": format!("{:032x}", 7),
                });
                for _ in 0..self.rng.random_range(0..4) {
                    let names: Vec<String> = note.as_object().into_iter().flatten().map(|(name, _)| name.clone()).collect();
                    let Some(name) = names.choose(&mut self.rng) else { continue };
                    note[name.as_str()] = match self.rng.random_range(0..6) {
                        0 => Value::Null,
                        1 => json!([i64::MIN, -1, 0, i64::MAX].choose(&mut self.rng)),
                        2 => json!([-1e308, 1e-308, 0.5, 1e308].choose(&mut self.rng)),
                        3 => json!([[{}]]),
                        _ => json!(self.strange()),
                    };
                }
                notes.push(note);
            }
            let clock = [i64::MIN, -1, NOTED, i64::MAX].choose(&mut self.rng).copied();
            let mut body = json!({ "phone": self.strange(), "clock": clock, "notes": notes }).to_string();
            if self.rng.random_bool(0.1) {
                body.truncate(self.rng.random_range(0..body.len()) / 4 * 4);
            }
            let told = body.chars().take(400).collect::<String>();
            self.sent(&mut sent, "POST", "/afloat/notes", "Content-Type: application/json\r\n", &body, &told)?;
        }
        Ok(sent)
    }
}

/// The values of an attribute in a page.
fn attributes<'a>(page: &'a str, name: &str) -> impl Iterator<Item = String> + 'a {
    let head = format!("{name}=\"");
    page.match_indices(&head)
        .filter_map(|(at, head)| page[at + head.len()..].split('"').next())
        .map(|v| v.replace("&amp;", "&").replace("&quot;", "\""))
        .collect::<Vec<_>>()
        .into_iter()
}

fn forms_of(path: &str, page: &str) -> Vec<Form> {
    page.split("<form")
        .skip(1)
        .filter_map(|rest| {
            let (head, body) = rest.split_once('>')?;
            let body = body.split("</form>").next()?;
            // Another way of sending is tried with files, not here.
            if head.contains("multipart") {
                return None;
            }
            let to = attributes(head, "action").next().filter(|a| !a.is_empty()).unwrap_or_else(|| path.to_owned());
            let fields = body
                .split('<')
                .filter(|tag| ["input", "select", "textarea", "button"].iter().any(|t| tag.starts_with(t)))
                .filter_map(|tag| Some((attributes(tag, "name").next()?, attributes(tag, "value").next().unwrap_or_default())))
                .collect();
            Some(Form { to, posts: head.contains("method=\"post\""), fields })
        })
        .collect()
}
