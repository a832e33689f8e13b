//! A store with ten seasons of a big club: how large it is, how long each page takes, and whether each question asked of it goes by an index.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, ensure};
use boat::crew::Skill;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use squad::fact::boat_facts::Boat;
use squad::fact::day::{Crewed, Day, FloatsIn, Tick};
use squad::fact::outing::{Note, Observation, Outing, OutingSort, Tally, Way};
use squad::fact::quiz::QuizAnswer;
use squad::fact::recorder::{Recorder, RecorderGiven, TrackFile};
use squad::fact::sailor::Sailor;
use squad::fact::setup::SetupGiven;
use squad::{HiddenMass, Id, Moment, Store, Writer};

use super::program::{Program, exchange};
use super::write;
use crate::page::today;

/// Sailors of the club, outings of ten seasons, sailors of an outing.
const CLUB: (usize, usize, usize) = (300, 600, 30);
/// Points of a recorder's file: 92 minutes at one a second, so that all are 100 million.
const POINTS: usize = 5556;
/// Bytes of a point in a watch's binary file. Assumed: between 14 and 30.
const POINT: usize = 20;
/// A page that takes longer is said to be slow, s.
const SLOW: f64 = 1.0;
/// Noon of a day in April 2017, ms.
const BEGAN: i64 = 1_491_048_000_000;
const DAY: i64 = 86_400_000;

/// Fills a store and asks it for its pages; true when none is slow.
pub(crate) fn prove(root: &Path, program: Option<&Path>, share: f64) -> Result<bool> {
    let program = Program::find(program)?;
    let place = tempfile::tempdir()?;
    let folder = place.path().join("squad");
    let outings = ((CLUB.1 as f64 * share) as usize).max(3);
    let begun = Instant::now();
    let facts = filled(root, &folder, outings)?;
    let filled = begun.elapsed().as_secs_f64();
    let size = |name: &str| fs::metadata(folder.join(name)).map_or(0.0, |m| m.len() as f64 / 1e6);
    let store = size(squad::FILE);
    let begun = Instant::now();
    let mut serving = program.serve(place.path(), &[], "")?;
    let address = serving.addresses.first().cloned().context("no address")?;
    let first = begun.elapsed().as_secs_f64();
    let mut text = format!(
        "{}. `cargo xtask prove growth`: {} sailors, {outings} outings of {} sailors each with a recorder's file ({:.0} million points), {facts} facts. \
         Filled in {filled:.0} s; the store has {store:.0} MB. With the day's backup to make, the pages open after {first:.1} s; without, see below.\n\n\
         | page | first time, s | again, s | kB |\n|---|--:|--:|--:|\n",
        today(),
        CLUB.0,
        CLUB.2,
        (outings * CLUB.2 * POINTS) as f64 / 1e6
    );
    let mut slowest = 0.0_f64;
    for path in [
        "/today",
        "/dock",
        "/what-if",
        "/race-day",
        "/race-day/results",
        "/afloat",
        "/afloat/phone",
        "/ashore",
        "/season",
        "/school",
        "/school/phones",
        "/squad",
    ] {
        let mut took = [0.0; 2];
        let mut kilobytes = 0.0;
        for took in &mut took {
            let begun = Instant::now();
            let answer = exchange(&address, "GET", path, "", b"")?;
            *took = begun.elapsed().as_secs_f64();
            ensure!(answer.status == 200, "{path}: {}", answer.status);
            kilobytes = answer.body.len() as f64 / 1e3;
        }
        slowest = slowest.max(took[1]);
        let _ = writeln!(text, "| {path} | {:.2} | {:.2} | {kilobytes:.0} |", took[0], took[1]);
    }
    let memory = serving.most_memory();
    serving.kill();
    let begun = Instant::now();
    let (well, said) = program.run(place.path(), &["export", "--store", "squad", "--out", "all.zip"])?;
    ensure!(well, "{said}");
    let export = begun.elapsed().as_secs_f64();
    let archive = fs::metadata(place.path().join("all.zip"))?.len() as f64 / 1e6;
    let begun = Instant::now();
    drop(program.serve(place.path(), &[], "")?);
    let _ = writeln!(
        text,
        "\nMost memory {}. Opened again, the day's backup made: {:.1} s. Export {export:.0} s, {archive:.0} MB.\n\n{}",
        memory.map_or("not told".to_owned(), |m| format!("{m:.0} MB")),
        begun.elapsed().as_secs_f64(),
        plans(&folder)?
    );
    write(root, "Growth", &text)?;
    Ok(slowest <= SLOW)
}

/// Fills a store; how many facts there are.
fn filled(root: &Path, folder: &Path, outings: usize) -> Result<usize> {
    let mut store = Store::open_or_new(folder)?.value;
    let mut rng = ChaCha8Rng::seed_from_u64(21);
    let at = |outing: usize, minute: i64| Moment::of_millis(BEGAN + i64::try_from(outing).unwrap_or(0) * 6 * DAY + minute * 60_000);
    let w = Writer { by: "coach".to_owned(), at: at(0, 0) };
    let mut sailors: Vec<(Id<Sailor>, Id<Boat>, Id<Recorder>)> = Vec::new();
    for k in 0..CLUB.0 {
        let boat = store.add(&Boat { label: format!("B{k}"), class: None }, &w)?.id;
        let mass_kg = Some(HiddenMass::kilograms(rng.random_range(30.0..60.0)));
        let sailor = Sailor {
            label: format!("S{k}"),
            name: None,
            mass_kg,
            stature_m: None,
            hand_m: None,
            skill: Skill::Races,
            sail: None,
            boat: Some(boat),
        };
        let sailor = store.add(&sailor, &w)?.id;
        let recorder = store.add(&Recorder { mark: format!("watch {k}"), words: String::new() }, &w)?.id;
        store.add(&RecorderGiven { recorder, sailor, at: at(0, 0) }, &w)?;
        sailors.push((sailor, boat, recorder));
    }
    let gpx = fs::read(root.join("data/tracks/wren.gpx"))?;
    for o in 0..outings {
        let date = at(o, 0).timestamp().strftime("%Y-%m-%d").to_string();
        let day = Day {
            date: date.parse().map_err(|e| anyhow::anyhow!("{e}"))?,
            venue: "the lake".to_owned(),
            timezone: "UTC".to_owned(),
            warning_signal: None,
            water: FloatsIn::Fresh,
            water_temperature_k: None,
            sheltered: false,
            chop_m: 0.1,
            gusts: None,
            offshore: None,
            against_tide: None,
            thunder: None,
            safety_boats: Some(3),
            words: String::new(),
        };
        let day = store.add(&day, &w)?.id;
        let outing =
            Outing { day, name: "practice".to_owned(), sort: OutingSort::Practice, began: Some(at(o, 0)), ended: Some(at(o, 120)) };
        let outing = store.add(&outing, &w)?.id;
        for k in 0..CLUB.2 {
            // The youngest of today are others than those of ten years ago.
            let (sailor, boat, recorder) = sailors[(o * (CLUB.0 - CLUB.2) / outings + k) % CLUB.0];
            store.add(&Crewed { day, sailor, boat, launch_order: u32::try_from(k).ok() }, &w)?;
            for wind in [3.0, 5.0, 7.0] {
                let settings = BTreeMap::from([(boat::gauge::Gauge::BoardAngle, 0.1)]);
                let (leg, sit) = ("beat".to_owned(), "on the side".to_owned());
                store.add(&SetupGiven { day, sailor, boat, at: at(o, 1), leg, sit, wind_ms: wind, height_m: 2.0, settings }, &w)?;
            }
            for (way, minute) in [(Way::Out, 5), (Way::In, 110)] {
                store.add(&Tally { outing, sailor, at: at(o, minute), way, safety_boat: "Safety boat 1".to_owned() }, &w)?;
            }
            for item in ["sponge", "bailer", "paddle"] {
                store.add(&Tick { day, sailor: Some(sailor), boat: None, at: at(o, 0), item: item.to_owned() }, &w)?;
            }
            for minute in [30, 60] {
                let (what, words) = ("creases.luff".to_owned(), String::new());
                store.add(&Observation { outing, sailor: Some(sailor), at: at(o, minute), what, words }, &w)?;
            }
            store.add(
                &Note { at: at(o, 90), words: "quick out of the tacks".to_owned(), sailor: Some(sailor), boat: None, outing: Some(outing) },
                &w,
            )?;
            for correct in [true, false] {
                let (question, answer) = ("gauge.boom_end".to_owned(), "1".to_owned());
                store.add(&QuizAnswer { sailor, at: at(o, 200), question, answer, correct }, &w)?;
            }
            // The last outing's files are read by the pages; of the others only their size counts.
            let bytes = if o + 1 == outings {
                [gpx.clone(), format!("<!-- {k} -->").into_bytes()].concat()
            } else {
                let mut bytes = vec![0_u8; POINTS * POINT];
                rng.fill(&mut bytes[..]);
                bytes
            };
            let file = TrackFile {
                name: format!("{k}.fit"),
                sha256: String::new(),
                at: at(o, 120),
                outing: Some(outing),
                sailor: Some(sailor),
                recorder: Some(recorder),
            };
            store.add_track(&bytes, file, &w)?;
        }
    }
    Ok(store.facts()?)
}

/// Of each table, how a question by its owner is answered: by an index, or row by row.
fn plans(folder: &Path) -> Result<String> {
    let connection = rusqlite::Connection::open(folder.join(squad::FILE))?;
    let mut by_row = Vec::new();
    let mut asked = 0;
    for table in squad::fact::TABLES {
        for column in table.columns.iter().filter(|c| matches!(c.holds, squad::fact::Holds::Id(_)) || c.name == "sha256") {
            let sql = format!("EXPLAIN QUERY PLAN SELECT * FROM {} WHERE withdrawn = 0 AND {} = 'x'", table.kind, column.name);
            let plan: String = connection.query_row(&sql, [], |r| r.get(3))?;
            asked += 1;
            if !plan.contains("USING INDEX") {
                let rows: i64 = connection.query_row(&format!("SELECT COUNT(*) FROM {}", table.kind), [], |r| r.get(0))?;
                by_row.push(format!("{}.{} ({rows} rows)", table.kind, column.name));
            }
        }
    }
    Ok(format!(
        "Of {asked} questions by what a fact refers to, {} go by an index. Row by row: {}.",
        asked - by_row.len(),
        by_row.join(", ")
    ))
}
