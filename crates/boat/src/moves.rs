//! How far each constant moves the settings: measured by `cargo xtask prove doubts`, which writes `data/moves.toml`.
//!
//! One constant at a time is set to the low and to the high end of its range, and each leg is solved anew. Told is the larger of the two
//! moves, in the gauge's own steps: what a coach can set.

use crate::constants::{Constant, Constants};
use crate::gauge::Gauge;
use crate::setup::{Leg, LegSetup, Request};
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

const TEXT: &str = include_str!("../../../data/moves.toml");

/// One constant's hold on one setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moved {
    /// Name of the constant.
    pub constant: String,
    /// Which gauge.
    pub gauge: Gauge,
    /// On which leg.
    pub leg: Leg,
    /// In which wind at 2 m, m/s.
    pub wind: f64,
    /// How far its best value moves, at the end of the range that moves it more, SI.
    pub by: f64,
    /// The same in steps of the gauge, not negative.
    pub steps: f64,
    /// Its share of what all constants move that gauge there, by squares.
    pub share: f64,
}

/// The table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moves {
    /// The day it was measured.
    pub date: String,
    /// The program's version then.
    pub version: String,
    /// The moves worth telling of each constant, the largest first.
    #[serde(default)]
    pub moved: Vec<Moved>,
}

static MOVES: LazyLock<Moves> = LazyLock::new(|| match toml::from_str(TEXT) {
    Ok(moves) => moves,
    // The file is part of the program: a test reads it, so this is met only while editing it.
    Err(error) => unreachable!("data/moves.toml: {error}"),
});

impl Moves {
    /// The measured table.
    #[must_use]
    pub fn measured() -> &'static Self {
        &MOVES
    }

    /// The moves of one constant, the largest first.
    pub fn of(&self, constant: &str) -> impl Iterator<Item = &Moved> {
        self.moved.iter().filter(move |m| m.constant == constant)
    }
}

impl Request<'_> {
    /// How far one constant, at either end of its range, moves the settings of a solved leg; the share is left at nought. A leg that
    /// does not solve there tells nothing.
    #[must_use]
    pub fn moves(&self, setup: &LegSetup, rake: f64, constant: &Constant) -> Vec<Moved> {
        let ends = [constant.low, constant.high].into_iter().filter(|end| *end != constant.value);
        let solved: Vec<LegSetup> = ends
            .filter_map(|end| {
                let constants = Constants::chosen(|c| if c.name == constant.name { end } else { c.value });
                self.moved(setup, rake, &self.boat.by(&constants))
            })
            .collect();
        let of = |setting: &crate::setup::Setting| {
            let by = solved.iter().filter_map(|s| Some(s.setting(setting.gauge)?.value - setting.value));
            let by = by.max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
            Some(Moved {
                constant: constant.name.clone(),
                gauge: setting.gauge,
                leg: setup.leg,
                wind: self.conditions.wind.at_meter,
                by,
                steps: (by / setting.step).abs(),
                share: 0.0,
            })
        };
        setup.settings.iter().filter_map(of).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::all;

    #[test]
    fn the_table_names_constants_there_are_and_ranks_each_ones_moves() {
        let moves = Moves::measured();
        assert!(!moves.date.is_empty() && moves.moved.len() > all().len(), "{}", moves.moved.len());
        for moved in &moves.moved {
            assert!(all().iter().any(|c| c.name == moved.constant), "{}: run `cargo xtask prove doubts`", moved.constant);
            assert!(moved.steps > 0.0 && (0.0..=1.0).contains(&moved.share), "{moved:?}");
        }
        for constant in all() {
            let steps: Vec<f64> = moves.of(&constant.name).map(|m| m.steps).collect();
            assert!(steps.windows(2).all(|two| two[0] >= two[1]), "{}", constant.name);
        }
    }
}
