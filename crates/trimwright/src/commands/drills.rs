//! `drills`: our own drills, as a table, a document, or sheets to print.

use std::path::PathBuf;

use anyhow::{Context, Result, bail};
use boat::class::Class;
use clap::Args;
use serde::Serialize;
use trimwright::briefing::drills::{Drill, USUAL_WIND, drills};
use trimwright::cards::drills_pdf;

use crate::output::{Done, Shown, WholeFile, show};
use crate::table::Rows;

/// Winds a layout is drawn for, knots.
const WINDS: std::ops::RangeInclusive<f64> = 0.0..=40.0;

/// Drills for a practice: aim, layout to scale for the wind, minutes, boats, what to watch, and which finding of a debrief each answers
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  $ trimwright drills --finding tacks\n  $ trimwright drills wide_in_close_out start_repeats --wind 10 --out drills.pdf"
)]
pub(crate) struct Drills {
    /// Some of them by key; without any all
    keys: Vec<String>,
    /// Those for one finding: tacks, gybes, windward, leeward, exit, starts
    #[arg(long, value_name = "FINDING")]
    finding: Option<String>,
    /// The wind in knots at ten metres: who do not fit it are left out, and layouts are drawn for it
    #[arg(long, value_name = "KN")]
    wind: Option<f64>,
    /// Also writes their sheets, A5, one to a page
    #[arg(long, value_name = "FILE.pdf")]
    out: Option<PathBuf>,
}

#[derive(Debug, Serialize)]
struct Document<'a> {
    wind_knots: f64,
    wind_known: bool,
    drills: Vec<&'a Drill>,
}

impl Drills {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let all = drills().context("the drills do not read; this is a fault of the program")?;
        if let Some(wind) = self.wind.filter(|w| !WINDS.contains(w)) {
            bail!("--wind {wind}: give a wind of 0 to 40 knots");
        }
        if let Some(key) = self.keys.iter().find(|key| all.iter().all(|d| d.key != **key)) {
            bail!("drills {key}: there are {}", all.iter().map(|d| d.key.as_str()).collect::<Vec<_>>().join(", "));
        }
        let wanted = |d: &&Drill| {
            (self.keys.is_empty() || self.keys.contains(&d.key))
                && self.finding.as_ref().is_none_or(|f| d.finding.as_ref() == Some(f))
                && self.wind.is_none_or(|w| d.fits(w))
        };
        let some: Vec<&Drill> = all.iter().filter(wanted).collect();
        if some.is_empty() {
            bail!("no drill is for that: findings are tacks, gybes, windward, leeward, exit and starts; leave out --wind to see all");
        }
        let knots = self.wind.unwrap_or(USUAL_WIND);
        if let Some(path) = &self.out {
            let file = WholeFile::open(path)?;
            let length = Class::pram().hull.length;
            let sheets: Vec<_> = some.iter().map(|d| d.sheet(knots, self.wind.is_some(), length)).collect();
            file.finish(&drills_pdf(&sheets)?)?;
        }
        let document = Document { wind_knots: knots, wind_known: self.wind.is_some(), drills: some };
        show(shown, &document, || table(&document))?;
        Ok(Done::Whole)
    }
}

fn table(document: &Document<'_>) -> String {
    let mut rows = Rows::under(&["key", "drill", ">minutes", ">boats", "wind, kn", "answers"]);
    for d in &document.drills {
        let wind = d.wind_knots.map_or("any".to_owned(), |[low, high]| format!("{low:.0} to {high:.0}"));
        let row = [d.key.clone(), d.title.clone(), format!("{:.0}", d.minutes), d.boats.to_string(), wind];
        rows.push(row.into_iter().chain([d.finding.clone().unwrap_or_else(|| "-".to_owned())]));
    }
    rows.text() + "\nOur own words; common practice, no source. The coach decides.\n"
}
