//! `debrief`: recorders' files to what the wind did, what each boat did, and what the tracks cannot tell.

mod document;
mod files;
mod table;

use std::path::PathBuf;

use anyhow::{Context, Result, anyhow, bail};
use clap::Args;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use measure::{Polar, Warning};
use track::Smooth;
use track::debrief::{Asked, GivenLineup, GivenMark, debrief};

use crate::input;
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
        let polar = self.polar.as_deref().map(|path| Ok::<_, anyhow::Error>(Polar::parse(&input::text(path)?)?)).transpose()?;
        let marks = self.marks(&mut warnings)?;
        let out = self.out.as_deref().map(WholeFile::open).transpose()?;
        let found = files::tracks(&files, self.timezone.as_ref(), &mut warnings);
        let Some(plane) = found.iter().max_by_key(|f| f.points).map(|f| f.plane) else {
            let reasons = warnings.iter().map(|warning| format!("\n  {warning}")).collect::<String>();
            bail!("none of the files gave a track{reasons}");
        };
        let mut origins = Vec::with_capacity(found.len());
        let mut tracks: Vec<Smooth> = Vec::with_capacity(found.len());
        for one in found {
            origins.push(Origin::of(&one));
            warnings.extend(one.warnings);
            tracks.push(one.smooth.moved(&one.plane, &plane));
        }
        let lineups = self.lineup.iter().map(|text| noted(text, &tracks)).collect::<Result<Vec<_>>>()?;
        let asked = Asked { polar: polar.as_ref(), course_marks: &marks, lineups: &lineups };
        let answer = debrief(tracks, &plane, &asked);
        for boat in &answer.boats {
            warnings.extend(boat.warnings.iter().map(|what| Warning::new(boat.track.clone(), what.clone())));
        }
        warnings.extend(answer.warnings.iter().cloned());
        let document = Document::of(&answer, &origins, &warnings);
        let zone = self.timezone.clone().unwrap_or(TimeZone::UTC);
        if let Some(out) = out {
            let page = trimwright::briefing::debrief::page(&answer, &zone);
            out.finish(&trimwright::cards::debrief_pdf(&page).context("printing the debrief")?)?;
        }
        show(shown, &document, || table::table(&answer, &zone))?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }

    fn marks(&self, warnings: &mut Vec<Warning>) -> Result<Vec<GivenMark>> {
        let Some(path) = &self.course_marks else { return Ok(Vec::new()) };
        let read = track::read::marks(&path.display().to_string(), &input::bytes(path)?)?;
        warnings.extend(read.warnings);
        Ok(read.value)
    }
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
