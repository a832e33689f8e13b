//! `score`: a series by low points.

use std::path::PathBuf;

use anyhow::{Result, anyhow};
use clap::Args;
use measure::Warning;
use regatta::scoring::{Series, Standing, Standings};
use serde::Serialize;

use trimwright::briefing::results::{ResultsPage, parts, score, sheet};
use trimwright::cards::results_pdf;

use crate::input;
use crate::output::{Done, Shown, WholeFile, show, warn};
use crate::table::Rows;

/// Scores a series by low points, and says why each boat has its rank
///
/// The series file names its results, a CSV beside it with a column for each race, or with a row for each boat in each race. The edition of
/// the Racing Rules of Sailing is a setting of the series.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright score data/series/example.toml")]
pub(crate) struct Score {
    /// The series file (TOML)
    series: PathBuf,
    /// Also writes the standings by the file's ending: as CSV, a row for each boat, or as PDF with every exclusion and code explained
    #[arg(long, value_name = "FILE.csv|FILE.pdf")]
    out: Option<PathBuf>,
}

#[derive(Debug, Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    standings: &'a Standings,
    warnings: Vec<String>,
}

impl Score {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let print = self.out.as_deref().is_some_and(|path| path.extension().is_some_and(|e| e == "pdf"));
        let out = self.out.as_deref().map(WholeFile::open).transpose()?;
        let beside = |file: &str| input::text(&self.series.with_file_name(file)).map_err(|error| format!("{error:#}"));
        // The domain knows the series file by no name.
        let named = |error: regatta::Error| error.to_string().replacen("series file", &self.series.display().to_string(), 1);
        let stopped = |error: regatta::Error| anyhow!("{}", named(error));
        let series = Series::read(&input::text(&self.series)?, beside).map_err(stopped)?;
        let standings = series.value.standings().map_err(stopped)?;
        let warnings: Vec<Warning> = series.warnings.into_iter().chain(standings.warnings).collect();
        let document = Document { standings: &standings.value, warnings: warnings.iter().map(ToString::to_string).collect() };
        if let Some(out) = out {
            out.finish(&if print { results_pdf(&ResultsPage::of(&standings.value))? } else { sheet(&standings.value)? })?;
        }
        show(shown, &document, || table(&standings.value))?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }
}

fn table(standings: &Standings) -> String {
    let mut text = format!("{}, scored by the Racing Rules of Sailing {}\n", standings.series, standings.edition);
    for (name, races, boats) in parts(standings) {
        text += &format!("\n{name}{}{}", if name.is_empty() { "" } else { "\n" }, group(boats, races));
    }
    text + "\nScores in brackets are excluded.\n"
}

fn group(boats: &[Standing], races: &[String]) -> String {
    let mut head = vec![">rank".to_owned(), "boat".to_owned(), ">total".to_owned(), ">points".to_owned()];
    head.extend(races.iter().map(|race| format!(">{race}")));
    head.push("why".to_owned());
    let mut rows = Rows::under(&head.iter().map(String::as_str).collect::<Vec<_>>());
    for boat in boats {
        let mut row = vec![boat.rank.to_string(), boat.boat.clone(), boat.total.normalize().to_string(), boat.net.normalize().to_string()];
        row.extend(boat.races.iter().map(score));
        row.push(boat.why.clone());
        rows.push(row);
    }
    rows.text()
}
