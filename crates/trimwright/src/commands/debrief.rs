//! `debrief`: recorders' files to what each boat did.

mod document;
mod files;

use std::path::PathBuf;

use anyhow::{Result, anyhow, bail};
use clap::Args;
use jiff::tz::TimeZone;
use measure::Warning;
use rayon::prelude::*;
use track::clean::{clean, plane};
use track::{Smooth, Track};

use crate::output::{Done, Shown, show, warn};
use document::{Boat, Document};

/// What this version cannot tell from tracks.
const NOT_TOLD: &str = "the wind, legs, tacks, gybes and roundings are not worked out in this version";

/// Reads recorders' files of any mix of formats, cleans them, and says what of each can be used
///
/// Formats are told by content: GPX, FIT, TCX, KML, GeoJSON, IGC, NMEA 0183 and CSV, plain or packed with gzip or zip. Points that
/// cannot be right, rides and pauses are found, and each thing left out is told.
#[derive(Debug, Args)]
#[command(after_help = "Example, for all files of a folder:\n  $ trimwright debrief data/tracks --timezone Europe/Lisbon")]
pub(crate) struct Debrief {
    /// Files, or folders of files
    #[arg(required = true)]
    track: Vec<PathBuf>,
    /// The timezone recorders were set to, for times that name none: Europe/Lisbon, UTC. The table's times are in it too
    #[arg(long, value_parser = timezone)]
    timezone: Option<TimeZone>,
}

impl Debrief {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let mut warnings = Vec::new();
        let tracks = files::tracks(&files::listed(&self.track)?, self.timezone.as_ref(), &mut warnings);
        if tracks.is_empty() {
            let reasons = warnings.iter().map(|warning| format!("\n  {warning}")).collect::<String>();
            bail!("none of the files gave a track{reasons}");
        }
        let boats = cleaned(tracks, &mut warnings)?;
        warnings.push(Warning::new("", NOT_TOLD));
        let document = Document::of(boats, &warnings);
        show(shown, &document, || document.table(self.timezone.as_ref()))?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }
}

/// Every track that can be worked on, cleaned; the others go into the warnings.
fn cleaned(tracks: Vec<files::Found>, warnings: &mut Vec<Warning>) -> Result<Vec<Boat>> {
    let plane =
        plane(&tracks.iter().map(|(_, track)| track).collect::<Vec<_>>()).ok_or_else(|| anyhow!("none of the tracks has a point"))?;
    let boats: Vec<(Option<Boat>, Vec<Warning>)> = tracks
        .into_par_iter()
        .map(|(file, track)| match clean(&track, &plane) {
            Ok(cleaned) => (Some(boat(file, &track, &cleaned.value, &cleaned.warnings)), cleaned.warnings),
            Err(error) => (None, vec![Warning::new("", error.to_string())]),
        })
        .collect();
    let mut whole = Vec::with_capacity(boats.len());
    for (boat, said) in boats {
        whole.extend(boat);
        warnings.extend(said);
    }
    Ok(whole)
}

fn boat(file: String, track: &Track, smooth: &Smooth, said: &[Warning]) -> Boat {
    let seconds = |flags: &[bool]| flags.iter().filter(|flag| **flag).count();
    let sails = |at: usize| !(smooth.gap[at] || smooth.standing[at] || smooth.carried[at]);
    let sailed: Vec<usize> = (0..smooth.len()).filter(|at| sails(*at)).collect();
    Boat {
        track: track.name.clone(),
        file,
        format: track.format.clone(),
        start: smooth.start,
        end: smooth.end(),
        interval_s: smooth.recorder.interval,
        sailed_s: sailed.len(),
        standing_s: seconds(&smooth.standing),
        carried_s: seconds(&smooth.carried),
        missing_s: seconds(&smooth.gap),
        distance_m: sailed.iter().map(|at| smooth.speed(*at)).sum(),
        warnings: said.iter().map(|warning| warning.what.clone()).collect(),
    }
}

/// A timezone by its name.
fn timezone(name: &str) -> Result<TimeZone, String> {
    TimeZone::get(name).map_err(|_| "no timezone has this name; write it like Europe/Lisbon or UTC".to_owned())
}
