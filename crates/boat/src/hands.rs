//! What tiller, ropes and a child's hands take in time, read once from `data/hands.toml`, where each has its unit, range and source.
//!
//! Every figure is assumed: nobody timed a child for it.

use crate::constants::Constant;
use crate::crew::Skill;
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    constant: Vec<Constant>,
}

static FILE: LazyLock<File> = LazyLock::new(|| match toml::from_str(include_str!("../../../data/hands.toml")) {
    Ok(file) => file,
    // The file is part of the program: a test reads it, so this is met only while editing it.
    Err(error) => unreachable!("data/hands.toml: {error}"),
});

/// All figures in the order of the file.
#[must_use]
pub fn all() -> &'static [Constant] {
    &FILE.constant
}

/// One sailor's hands and the ropes in them, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hands {
    /// Radius of gyration of the bare hull over its length.
    pub gyration: f64,
    /// How fast the tiller is moved, rad/s.
    pub tiller_rate: f64,
    /// How fast the sheet is hauled, m of rope a second.
    pub sheet_in: f64,
    /// How fast the boom runs out, rad/s.
    pub boom_out: f64,
    /// How long the boom takes across in a gybe, s.
    pub boom_across: f64,
    /// How long each control takes to be moved, s.
    pub downhaul: f64,
    /// Outhaul.
    pub outhaul: f64,
    /// Vang.
    pub vang: f64,
    /// Board.
    pub board: f64,
}

impl Hands {
    /// Hands of a skill.
    #[must_use]
    pub fn of(skill: Skill) -> Self {
        let value = |name: &str| all().iter().find(|c| c.name == name).map_or(f64::NAN, |c| c.value);
        let times = match skill {
            Skill::FirstSeason => value("skill.first_season"),
            Skill::SailsACourse => value("skill.sails_a_course"),
            Skill::Races => 1.0,
            Skill::RacesInAnyWind => value("skill.races_in_any_wind"),
        };
        Self {
            gyration: value("turn.gyration"),
            tiller_rate: value("turn.tiller_rate"),
            sheet_in: value("turn.sheet_in") / times,
            boom_out: value("turn.boom_out"),
            boom_across: value("turn.boom_across"),
            downhaul: value("hand.downhaul") * times,
            outhaul: value("hand.outhaul") * times,
            vang: value("hand.vang") * times,
            board: value("hand.board") * times,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_lies_in_its_range_and_says_that_it_is_assumed() {
        for c in all() {
            assert!(c.low <= c.value && c.value <= c.high && c.low < c.high && c.is_assumed() && !c.moves.is_empty(), "{}", c.name);
        }
        let hands = Skill::ALL.map(Hands::of);
        let figures =
            |h: &Hands| [h.gyration, h.tiller_rate, h.sheet_in, h.boom_out, h.boom_across, h.downhaul, h.outhaul, h.vang, h.board];
        assert!(hands.iter().all(|h| figures(h).iter().all(|v| v.is_finite() && *v > 0.0)));
        assert!(hands.windows(2).all(|w| w[1].vang < w[0].vang && w[1].sheet_in > w[0].sheet_in));
    }
}
