//! `assumed`: what the model of the boat takes for granted, first what moves a setting most.

use anyhow::Result;
use boat::constants::{Constant, all};
use boat::moves::{Moved, Moves};
use clap::Args;
use measure::quantity::{KNOT, plain};
use serde::Serialize;

use crate::output::{Done, Shown, show};
use crate::table::Rows;

/// Moves of one constant that its line tells.
const TOLD: usize = 2;

/// Lists every constant of the boat model that rests on no source: the range it may lie in, and how far it moves the settings; what
/// moves one most comes first
#[derive(Debug, Args)]
#[command(after_help = "Example, as a document for another program:\n  $ trimwright assumed --json")]
pub(crate) struct Assumed {}

#[derive(Debug, Serialize)]
struct Document {
    measured: Measured,
    constants: Vec<Row>,
}

/// When the moves were measured.
#[derive(Debug, Serialize)]
struct Measured {
    date: &'static str,
    version: &'static str,
}

#[derive(Debug, Serialize)]
struct Row {
    name: &'static str,
    value: f64,
    low: f64,
    high: f64,
    unit: &'static str,
    r#where: &'static str,
    /// What it moves and how far, measured.
    moves: String,
    /// The most it moves any setting, in steps of that gauge.
    steps: f64,
    moved: Vec<Move>,
    /// What it was expected to move when its range was written down.
    expected: &'static str,
    why: &'static str,
}

/// How far one end of the range moves a setting.
#[derive(Debug, Serialize)]
struct Move {
    gauge: &'static str,
    leg: &'static str,
    wind_ms: f64,
    by: f64,
    unit: &'static str,
    steps: f64,
    share: f64,
}

impl Move {
    fn of(moved: &Moved) -> Self {
        let (gauge, leg) = (moved.gauge.name(), moved.leg.name());
        let by = moved.by / moved.gauge.unit_si();
        Self { gauge, leg, wind_ms: moved.wind, by, unit: moved.gauge.unit().text(), steps: moved.steps, share: moved.share }
    }
}

impl Row {
    fn of(constant: &'static Constant) -> Self {
        let moved: Vec<Move> = Moves::measured().of(&constant.name).map(Move::of).collect();
        let told: Vec<String> = moved
            .iter()
            .take(TOLD)
            .map(|m| format!("{} {:+.1} {} ({}, {:.0} kn)", m.gauge, m.by, m.unit, m.leg, m.wind_ms / KNOT))
            .collect();
        Self {
            name: &constant.name,
            value: constant.value,
            low: constant.low,
            high: constant.high,
            unit: &constant.unit,
            r#where: "data/constants.toml",
            moves: if told.is_empty() { "no setting by a tenth of a step".to_owned() } else { told.join("; ") },
            steps: moved.first().map_or(0.0, |m| m.steps),
            moved,
            expected: &constant.moves,
            why: &constant.source,
        }
    }
}

impl Assumed {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let mut constants: Vec<Row> = all().iter().filter(|c| c.is_assumed()).map(Row::of).collect();
        constants.sort_by(|a, b| b.steps.total_cmp(&a.steps));
        let moves = Moves::measured();
        let document = Document { measured: Measured { date: &moves.date, version: &moves.version }, constants };
        show(shown, &document, || table(&document))?;
        Ok(Done::Whole)
    }
}

fn table(document: &Document) -> String {
    let mut rows = Rows::under(&["constant", ">value", ">low", ">high", "unit", ">steps", "what it moves"]);
    for row in &document.constants {
        let unit = if row.unit == "1" { "" } else { row.unit };
        rows.push([row.name, &plain(row.value), &plain(row.low), &plain(row.high), unit, &format!("{:.1}", row.steps), &row.moves]);
    }
    let all = all().len();
    format!(
        "{} of {all} constants rest on no source; each lies between low and high 19 times in 20, by our own estimate.\n\
         They stand in data/constants.toml, where each says why. Steps are the most that one end of the range moves any setting,\n\
         measured on {} with version {}.\n\n{}",
        document.constants.len(),
        document.measured.date,
        document.measured.version,
        rows.text()
    )
}
