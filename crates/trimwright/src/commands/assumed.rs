//! `assumed`: what the model of the boat takes for granted.

use anyhow::Result;
use boat::constants::{Constant, all};
use clap::Args;
use measure::quantity::plain;
use serde::Serialize;

use crate::output::{Done, Shown, show};
use crate::table::Rows;

/// Lists every constant of the boat model that rests on no source: the range it may lie in, and what it moves
#[derive(Debug, Args)]
#[command(after_help = "Example, as a document for another program:\n  $ trimwright assumed --json")]
pub(crate) struct Assumed {}

#[derive(Debug, Serialize)]
struct Document {
    constants: Vec<Row>,
}

#[derive(Debug, Serialize)]
struct Row {
    name: &'static str,
    value: f64,
    low: f64,
    high: f64,
    unit: &'static str,
    r#where: &'static str,
    moves: &'static str,
    why: &'static str,
}

impl Row {
    fn of(constant: &'static Constant) -> Self {
        Self {
            name: &constant.name,
            value: constant.value,
            low: constant.low,
            high: constant.high,
            unit: &constant.unit,
            r#where: "data/constants.toml",
            moves: &constant.moves,
            why: &constant.source,
        }
    }
}

impl Assumed {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let document = Document { constants: all().iter().filter(|c| c.is_assumed()).map(Row::of).collect() };
        show(shown, &document, || table(&document))?;
        Ok(Done::Whole)
    }
}

fn table(document: &Document) -> String {
    let mut rows = Rows::under(&["constant", ">value", ">low", ">high", "unit", "what it moves"]);
    for row in &document.constants {
        let unit = if row.unit == "1" { "" } else { row.unit };
        rows.push([row.name, &plain(row.value), &plain(row.low), &plain(row.high), unit, row.moves]);
    }
    let all = all().len();
    format!(
        "{} of {all} constants rest on no source; each lies between low and high 19 times in 20, by our own estimate.\n\
         They stand in data/constants.toml, where each says why.\n\n{}",
        document.constants.len(),
        rows.text()
    )
}
