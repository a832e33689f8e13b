//! The program as somebody meets it: how long until its first page, what it holds while nobody asks, what its pages weigh, how long an outing
//! and a series take. Wall time, each the middle of several runs; other work on the machine counts.

use std::fs;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use rehearsal::{Kind, outing, recorder};

use crate::hard_life::program::{Program, exchange};
use crate::page::here;

/// Starts of which the middle is told.
const STARTS: usize = 9;
/// Runs of a command of which the middle is told.
const RUNS: usize = 5;
/// While nobody asks, s.
const IDLE: u64 = 20;
/// The first page after a start, at most, s.
const FIRST_PAGE: f64 = 0.2;
/// Memory while nobody asks, at most, MB.
const MEMORY: f64 = 80.0;
/// A page with what it brings along, without its drawings, at most, kB.
const WEIGHT: f64 = 150.0;
/// An outing of eight boats for an hour and a half, a point a second, at most, s.
const OUTING: f64 = 1.0;
/// Seed of that outing.
const SEED: u64 = 3;
/// The pages of the index, and the phone's.
const PAGES: [&str; 10] =
    ["/today", "/dock", "/what-if", "/race-day", "/afloat", "/ashore", "/season", "/school", "/squad", "/afloat/phone"];

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// A page without its drawings.
fn undrawn(page: &str) -> usize {
    let drawings: usize = page.split("<svg").skip(1).map(|rest| rest.find("</svg>").unwrap_or(rest.len()) + "<svg</svg>".len()).sum();
    page.len().saturating_sub(drawings)
}

/// What a page brings along: styles and scripts, and the fonts that its styles name, each once; also those a browser asks for only where
/// rarer letters stand on the page.
fn brought(address: &str, page: &str) -> Result<usize> {
    let mut files: Vec<String> = page
        .split(['"', '\''])
        .filter(|part| part.starts_with("/look/") && !part.contains(char::is_whitespace))
        .map(str::to_owned)
        .collect();
    let mut sum = 0;
    let mut next = 0;
    while let Some(path) = files.get(next).cloned() {
        next += 1;
        if files[..next - 1].contains(&path) {
            continue;
        }
        let answer = exchange(address, "GET", &path, "", b"").with_context(|| path.clone())?;
        ensure!(answer.status == 200, "{path}: {}", answer.status);
        let length = answer.head.lines().find_map(|l| l.strip_prefix("content-length:")).and_then(|n| n.trim().parse::<usize>().ok());
        sum += length.unwrap_or(answer.body.len());
        if path.contains(".css") {
            let named = answer.body.split("url(").skip(1).filter_map(|rest| rest.split(')').next());
            let named = named.map(|url| url.trim_matches(['"', '\'']));
            let beside = path.rsplit_once('/').map_or("/look", |(folder, _)| folder).to_owned();
            files.extend(named.map(|url| if url.starts_with('/') { url.to_owned() } else { format!("{beside}/{url}") }));
        }
    }
    Ok(sum)
}

/// What each was when this proof first ran (26 November 2026): first page s, memory MB, heaviest page kB, outing s.
const BASELINE: [f64; 4] = [0.02, 26.0, 180.0, 0.45];

/// A row of the table.
fn row(what: &str, [budget, measured, baseline]: [f64; 3], unit: &str, how: &str) -> String {
    let digits = if measured < 10.0 { 2 } else { 0 };
    format!("| {what} | {budget} {unit} | {measured:.digits$} {unit} | {baseline} {unit} | {:.2} | {how} |\n", measured / budget)
}

/// Writes the part of the page. True where every budget is kept.
pub(crate) fn prove(root: &Path, program: Option<&Path>) -> Result<bool> {
    let program = Program::find(program)?;
    let folder = std::env::temp_dir().join(format!("trimwright-program-{}", std::process::id()));
    fs::create_dir_all(&folder)?;
    let squad = root.join("data/squads/example.toml").display().to_string();
    let (well, said) = program.run(&folder, &["import", &squad, "--store", "squad"])?;
    ensure!(well, "{said}");

    let mut starts = Vec::new();
    for _ in 0..STARTS {
        let begun = Instant::now();
        let serving = program.serve(&folder, &[], "")?;
        let answer = exchange(&serving.addresses[0], "GET", "/today", "", b"")?;
        ensure!(answer.status == 200, "Today: {}", answer.status);
        starts.push(begun.elapsed().as_secs_f64());
    }
    let start = middle(starts);

    let serving = program.serve(&folder, &[], "")?;
    let address = &serving.addresses[0];
    let mut weights = Vec::new();
    for path in PAGES {
        let answer = exchange(address, "GET", path, "", b"")?;
        ensure!(answer.status == 200, "{path}: {}", answer.status);
        let along = brought(address, &answer.body)?;
        weights.push((path, undrawn(&answer.body) as f64 / 1000.0, along as f64 / 1000.0));
    }
    thread::sleep(Duration::from_secs(IDLE));
    let memory = serving.memory().context("this system does not say how much memory a program holds")?;
    drop(serving);
    let heaviest = weights.iter().map(|w| w.1 + w.2).fold(0.0, f64::max);

    let tracks = folder.join("tracks");
    fs::create_dir_all(&tracks)?;
    let outing = outing(Kind::ALL[0], SEED);
    for recorder in &outing.recorders {
        fs::write(tracks.join(format!("{}.gpx", recorder.name)), recorder::gpx(&recorder.name, &recorder.fixes))?;
    }
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let begun = Instant::now();
        let (well, said) = program.run(&folder, &["debrief", "tracks", "--timezone", "UTC", "--json"])?;
        times.push(begun.elapsed().as_secs_f64());
        ensure!(well, "{said}");
    }
    let debrief = middle(times);
    fs::remove_dir_all(&folder)?;

    let mut part = format!(
        "{}. The middle of {STARTS} starts and {RUNS} runs, on the wall, with what else the machine did. Baseline: when this proof first ran.\n\n| | budget | measured | baseline | ratio | |\n|---|--:|--:|--:|--:|---|\n",
        here()
    );
    part += &row("first page after a start", [FIRST_PAGE, start, BASELINE[0]], "s", "a store of twelve; the day's backup is made already");
    part += &row("memory while nobody asks", [MEMORY, memory, BASELINE[1]], "MB", "after each page was asked for once");
    part += &row(
        "the heaviest page, all it brings along, without drawings",
        [WEIGHT, heaviest, BASELINE[2]],
        "kB",
        "styles, scripts and fonts, not packed",
    );
    let boats = outing.recorders.len();
    part += &row(
        "debrief of an outing",
        [OUTING, debrief, BASELINE[3]],
        "s",
        &format!("{boats} boats, {} min, read, solved and written as JSON", outing.states[0].len() / 60),
    );
    part += "\n| page | page, kB | styles, scripts, fonts, kB |\n|---|--:|--:|\n";
    for (path, page, along) in &weights {
        part += &format!("| `{path}` | {page:.0} | {along:.0} |\n");
    }
    super::write(root, "The program from outside", &part)?;
    Ok(start <= FIRST_PAGE && memory <= MEMORY && heaviest <= WEIGHT && debrief <= OUTING)
}
