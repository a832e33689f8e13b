//! A big fleet's recorders in one command: forty boats for three hours at ten points a second, in three formats, and one file of two gigabytes. Wall time with
//! whatever else the machine does, and the most memory the program held.

use std::fs;
use std::io::{BufWriter, Write};
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use rayon::prelude::*;
use rehearsal::recorder::{Fix, csv, gpx, nmea, recorded};
use rehearsal::{Kind, Polar, outing_in};

use crate::hard_life::program::{Program, done};
use crate::page::here;

/// Boats, points of a second, and how often an outing of an hour and a half is sailed one after the other.
const BOATS: usize = 40;
const HERTZ: f64 = 10.0;
const TIMES: usize = 2;
/// A part of the fleet, to see whether time grows as points do.
const PART: usize = 10;
/// Budgets of the whole: s, MB.
const SECONDS: f64 = 10.0;
const MEMORY: f64 = 600.0;
/// A part may take so much longer for each point than the whole. Assumed: what a start takes, and pairs of boats.
const LINEAR: f64 = 1.5;
/// Bytes of the one large file.
const LARGE: u64 = 2_000_000_000;
/// Seed of the outing.
const SEED: u64 = 5;
/// How often memory is looked at.
const LOOK: Duration = Duration::from_millis(10);

/// How a run went.
struct Run {
    seconds: f64,
    memory: f64,
    well: bool,
    said: String,
}

/// Runs a command to its end, looking at its memory.
fn watched(program: &Program, folder: &Path, arguments: &[&str]) -> Result<Run> {
    let log = folder.join("said.txt");
    let begun = Instant::now();
    let mut child = program.command(folder, arguments).stderr(fs::File::create(&log)?).spawn()?;
    let status = format!("/proc/{}/status", child.id());
    let mut memory: f64 = 0.0;
    let ended = loop {
        if let Ok(text) = fs::read_to_string(&status) {
            let most = text.lines().find_map(|l| l.strip_prefix("VmHWM:")?.split_whitespace().next()?.parse::<f64>().ok());
            memory = memory.max(most.unwrap_or(0.0) / 1024.0);
        }
        if let Some(ended) = child.try_wait()? {
            break ended;
        }
        thread::sleep(LOOK);
    };
    Ok(Run { seconds: begun.elapsed().as_secs_f64(), memory, well: done(ended), said: fs::read_to_string(&log)? })
}

/// Writes so many boats' recorders; points and bytes.
fn fleet(folder: &Path, boats: usize) -> Result<(usize, u64)> {
    fs::create_dir_all(folder)?;
    let outing = outing_in(Kind::Oscillating, SEED, Polar::quick());
    let crew = outing.states.len();
    let lasts = outing.states.first().map_or(0, Vec::len) as f64 + 60.0;
    let sums: Result<Vec<(usize, u64)>> = (0..boats)
        .into_par_iter()
        .map(|boat| {
            // Each further fleet some hundred metres beside the one before.
            let aside = 0.003 * (boat / crew) as f64;
            let one = recorded(&outing, boat % crew, HERTZ, SEED + boat as u64);
            let again = |k: usize| one.fixes.iter().map(move |f| (f.0 + lasts * k as f64, f.1 + aside, f.2, f.3, f.4));
            let fixes: Vec<Fix> = (0..TIMES).flat_map(again).collect();
            let (bytes, kind) = match boat % 3 {
                0 => (gpx(&format!("boat {boat}"), &fixes), "gpx"),
                1 => (nmea(&fixes), "nmea"),
                _ => (csv(&fixes), "csv"),
            };
            fs::write(folder.join(format!("boat_{boat}.{kind}")), &bytes)?;
            Ok((fixes.len(), bytes.len() as u64))
        })
        .collect();
    Ok(sums?.into_iter().fold((0, 0), |s, n| (s.0 + n.0, s.1 + n.1)))
}

/// One file of so many bytes: a boat that sails a square for weeks.
fn large(path: &Path) -> Result<()> {
    let mut out = BufWriter::new(fs::File::create(path)?);
    out.write_all(b"time,lat,lon,speed_ms\n")?;
    let (mut written, mut tenth) = (0u64, 0u64);
    while written < LARGE {
        let along = (tenth % 6000) as f64 / 6000.0 * 0.01;
        let line = format!("{:.1},{:.7},{:.7},1.500\n", 1.7e9 + tenth as f64 / 10.0, 48.0 + along, 8.0 - along);
        out.write_all(line.as_bytes())?;
        written += line.len() as u64;
        tenth += 1;
    }
    Ok(out.flush()?)
}

/// Writes the part of the page. True where the whole fleet keeps to its budgets.
pub(crate) fn prove(root: &Path, program: Option<&Path>) -> Result<bool> {
    let program = Program::find(program)?;
    let folder = tempfile::tempdir()?;
    let run = |name: &str| watched(&program, folder.path(), &["debrief", name, "--timezone", "UTC", "--json"]);
    let mut rows = Vec::new();
    for (name, boats) in [("part", PART), ("whole", BOATS)] {
        let (points, bytes) = fleet(&folder.path().join(name), boats)?;
        let went = run(name)?;
        ensure!(went.well, "{}", went.said);
        rows.push((boats, points, bytes, went));
        fs::remove_dir_all(folder.path().join(name))?;
    }
    fs::create_dir_all(folder.path().join("large"))?;
    large(&folder.path().join("large/weeks.csv"))?;
    let most = run("large")?;
    let first = most.said.lines().find(|l| l.contains("weeks.csv")).unwrap_or("nothing").trim().to_owned();

    let mut part = format!(
        "{}. `trimwright debrief FOLDER --json`: recorders' files in three formats, {HERTZ:.0} points a second for three hours, wall time with whatever else the machine did. Budget: {SECONDS:.0} s and \
         {MEMORY:.0} MB for {BOATS} boats.\n\n| boats | points, million | files, MB | s | us a point | most memory, MB |\n|--:|--:|--:|--:|--:|--:|\n",
        here()
    );
    let each = |row: &(usize, usize, u64, Run)| 1e6 * row.3.seconds / row.1 as f64;
    for row in &rows {
        let (boats, points, bytes, went) = row;
        part += &format!(
            "| {boats} | {:.2} | {:.0} | {:.1} | {:.2} | {:.0} |\n",
            *points as f64 / 1e6,
            *bytes as f64 / 1e6,
            went.seconds,
            each(row),
            went.memory
        );
    }
    let [small, whole] = rows.as_slice() else { anyhow::bail!("not two fleets") };
    let kept = whole.3.seconds <= SECONDS && whole.3.memory <= MEMORY;
    part += &format!(
        "\nWithin the budgets: {}. Time for a point, whole over part: {:.2}. A file of {:.1} GB (a point each tenth of a second for weeks): {:.1} s, {:.0} MB; it said: {first}\n",
        if kept { "yes" } else { "no" },
        each(whole) / each(small),
        LARGE as f64 / 1e9,
        most.seconds,
        most.memory
    );
    super::write(root, "A big fleet", &part).context("the page")?;
    Ok(kept && each(whole) <= LINEAR * each(small))
}
