//! `debrief`: recorders' files to what the wind did, what each boat did, and what the tracks cannot tell.

mod document;
mod files;
mod table;

use std::path::PathBuf;
use std::sync::Mutex;

use anyhow::{Context, Result, anyhow, bail};
use boat::class::Class;
use clap::Args;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use measure::{Polar, Warning};
use squad::{Crew, Store};
use track::Smooth;
use track::debrief::{Asked, GivenLineup, GivenMark, debrief};
use trimwright::day::Day;
use trimwright::long::Long;
use trimwright::outing::{ANGLES, Found, SpeedsOf, WINDS, class_polar, middle, named, together};

use super::day::{Body, OfClass};
use crate::input;
use crate::jobs::Progress;
use crate::output::{Done, Shown, WholeFile, show, warn};
use document::{Document, Origin};

/// What the tracks of an outing say: the wind, legs, tacks, gybes, roundings, starts, line-ups, and metres lost
///
/// Any mix of GPX, FIT, TCX, KML, GeoJSON, IGC, NMEA 0183 and CSV, plain or packed with gzip or zip, told by content. Needs no wind
/// sensor: the wind's direction is read from all boats together, its speed too where a polar is given. What cannot be told is left
/// empty, with the reason.
#[derive(Debug, Args)]
#[command(after_help = "Example, for all files of a folder:\n  $ trimwright debrief data/tracks --out debrief.pdf")]
pub(crate) struct Debrief {
    /// Files, or folders of files
    #[arg(required = true)]
    track: Vec<PathBuf>,
    /// Boat speed by wind and angle (CSV: tws_ms,twa_deg,speed_ms, the wind at 2 m); with it the wind's speed is told
    #[arg(long, value_name = "FILE")]
    polar: Option<PathBuf>,
    #[command(flatten)]
    class: OfClass,
    /// Instead of --polar, a mass in kilograms in the middle of the sailors', dressed to sail; also "99 lb": the class's speeds are solved for
    /// it. Used here and printed nowhere
    #[arg(long, value_name = "KG", allow_hyphen_values = true, conflicts_with = "polar")]
    mass: Option<String>,
    /// The folder where the squad is kept: tracks are called by the sailors whose recorders it knows. Without --polar and --mass the class's
    /// speeds are solved for a sailor in the middle of those who sailed, as on the page Ashore
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
    /// Where the buoys lay: GPX waypoints or GeoJSON points. Without it they are sought in the tracks
    #[arg(long, value_name = "FILE")]
    course_marks: Option<PathBuf>,
    /// The timezone recorders were set to, for times that name none: Europe/Lisbon, UTC. The table's times are in it too
    #[arg(long, value_parser = timezone)]
    timezone: Option<TimeZone>,
    /// A line-up you noted: two boats and when it began, like wren,dipper,2026-06-14T12:05:00Z. Others are found too
    #[arg(long, value_name = "BOAT,BOAT,TIME")]
    lineup: Vec<String>,
    /// The PDF to write: a page for the group, and one for each sailor
    #[arg(long, value_name = "FILE.pdf")]
    out: Option<PathBuf>,
}

impl Debrief {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let mut warnings = Vec::new();
        let files = files::listed(&self.track)?;
        let given = self.given()?;
        let marks = self.marks(&mut warnings)?;
        let out = self.out.as_deref().map(WholeFile::open).transpose()?;
        let mut found = files::tracks(&files, self.timezone.as_ref(), &mut warnings);
        let (sailors, crews) = self.sailors(&mut found, &mut warnings)?;
        let (polar, speeds) = match given {
            Some(given) => given,
            None => self.of_those(&crews, &found, &mut warnings)?,
        };
        let (mut origins, mut told) = (Vec::with_capacity(found.len()), Vec::new());
        for one in &found {
            origins.push(Origin::of(one));
            told.extend(one.warnings.iter().cloned());
        }
        let Some((tracks, plane)) = together(found) else {
            let reasons = warnings.iter().map(|warning| format!("\n  {warning}")).collect::<String>();
            bail!("none of the files gave a track{reasons}");
        };
        warnings.extend(told);
        let lineups = self.lineup.iter().map(|text| noted(text, &tracks)).collect::<Result<Vec<_>>>()?;
        let asked = Asked { polar: polar.as_ref(), course_marks: &marks, lineups: &lineups };
        let answer = debrief(tracks, &plane, &asked);
        for boat in &answer.boats {
            warnings.extend(boat.warnings.iter().map(|what| Warning::new(boat.track.clone(), what.clone())));
        }
        warnings.extend(answer.warnings.iter().cloned());
        let document = Document::of(&answer, &origins, &sailors, speeds, &warnings);
        let zone = self.timezone.clone().unwrap_or(TimeZone::UTC);
        if let Some(out) = out {
            let page = trimwright::briefing::debrief::page(&answer, &zone, speeds, Long::METRES);
            out.finish(&trimwright::cards::debrief_pdf(&page).context("printing the debrief")?)?;
        }
        show(shown, &document, || table::table(&answer, &zone, speeds))?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }

    /// The speeds that the wind's is read from, where a polar or a mass is given.
    fn given(&self) -> Result<Option<(Option<Polar>, SpeedsOf)>> {
        if let Some(path) = &self.polar {
            let polar = Polar::parse(&input::text(path)?).with_context(|| path.display().to_string())?;
            return Ok(Some((Some(polar), SpeedsOf::Polar)));
        }
        let Some(mass) = &self.mass else {
            if self.class.class.is_some() && self.store.is_none() {
                bail!("--class: give --mass KG with it, for a sailor in the middle of those who sailed, or --store DIR with those who did");
            }
            return Ok(None);
        };
        let sailor = Body::of(mass, None, None).read()?;
        Ok(Some((Some(solved(&self.class.read()?, &sailor)?), SpeedsOf::Given)))
    }

    /// The speeds of the squad's sailors whose tracks these are, where a squad is named and all of them sailed one class.
    fn of_those(&self, crews: &[Crew], found: &[Found], warnings: &mut Vec<Warning>) -> Result<(Option<Polar>, SpeedsOf)> {
        if crews.is_empty() {
            return Ok((None, SpeedsOf::Nobody));
        }
        let class = self.class.read()?;
        let sailed = crews.iter().filter(|crew| found.iter().any(|f| f.smooth.name == crew.sailor.label));
        if let Some(other) = sailed.filter_map(|crew| crew.boat.class.as_deref()).find(|other| *other != class.name) {
            let what = format!(
                "a boat of the class {other:?} sailed, and speeds would be those of {:?}: for the wind's speed name its file with --class, or a polar with --polar",
                class.name
            );
            warnings.push(Warning::new("the wind's speed", what));
            return Ok((None, SpeedsOf::Nobody));
        }
        let (sailor, of) = middle(crews, found);
        Ok((Some(solved(&class, &sailor)?), of))
    }

    /// Whose each track is, by the squad's store, and the squad; tracks take their sailors' labels.
    fn sailors(&self, found: &mut [Found], warnings: &mut Vec<Warning>) -> Result<(Vec<Option<String>>, Vec<Crew>)> {
        let Some(folder) = &self.store else { return Ok((vec![None; found.len()], Vec::new())) };
        let opened = Store::open(folder)?;
        warnings.extend(opened.warnings);
        let whose = named(&opened.value, found)?;
        let sailors = whose.iter().zip(found.iter()).map(|((_, sailor), one)| sailor.map(|_| one.smooth.name.clone())).collect();
        Ok((sailors, opened.value.squad(None)?.value.crews))
    }

    fn marks(&self, warnings: &mut Vec<Warning>) -> Result<Vec<GivenMark>> {
        let Some(path) = &self.course_marks else { return Ok(Vec::new()) };
        let read = track::read::marks(&path.display().to_string(), &input::bytes(path)?)?;
        warnings.extend(read.warnings);
        Ok(read.value)
    }
}

/// A class's speeds with a sailor.
fn solved(class: &Class, sailor: &boat::crew::Sailor) -> Result<Polar> {
    let day = Day::open(5.0);
    let progress = Mutex::new(Progress::of("solving the class's speeds", WINDS.len() * ANGLES.len()));
    let step = || {
        if let Ok(mut progress) = progress.lock() {
            progress.step();
        }
        true
    };
    let solved = class_polar(&day.boat(class, None)?, sailor, &day, &step).context("stopped")?;
    solved.with_context(|| format!("{}: no course has a state with this sailor", class.name))
}

/// A line-up as it was noted: the boats by their tracks' names.
fn noted(text: &str, tracks: &[Smooth]) -> Result<GivenLineup> {
    let wrong = |what: &str| anyhow!("--lineup {text}: {what}; write two boats and a time, like wren,dipper,2026-06-14T12:05:00Z");
    let mut parts = text.rsplitn(2, ',');
    let (time, boats) = parts.next().zip(parts.next()).ok_or_else(|| wrong("it has not three parts"))?;
    let time: Timestamp = time.trim().parse().map_err(|_| wrong("its time is none, or names no timezone"))?;
    let (first, second) = boats.split_once(',').ok_or_else(|| wrong("it has not three parts"))?;
    let boat = |name: &str| {
        let at = tracks.iter().position(|t| t.name.eq_ignore_ascii_case(name.trim()));
        let names = || tracks.iter().map(|t| t.name.as_str()).collect::<Vec<_>>().join(", ");
        at.ok_or_else(|| wrong(&format!("no track is called {} (there are {})", name.trim(), names())))
    };
    let boats = (boat(first)?, boat(second)?);
    if boats.0 == boats.1 {
        return Err(wrong("a boat cannot be lined up with itself"));
    }
    Ok(GivenLineup { boats, start: time.as_second() as f64 })
}

/// A timezone by its name.
fn timezone(name: &str) -> Result<TimeZone, String> {
    TimeZone::get(name).map_err(|_| "no timezone has this name; write it like Europe/Lisbon or UTC".to_owned())
}
