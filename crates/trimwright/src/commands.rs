//! The commands, one file each: what is asked for, what the domain answers, how it is shown.

mod assumed;
mod balance;
mod cards;
mod chart;
mod class;
mod course;
mod day;
mod debrief;
mod dock;
mod polar;
mod rules;
mod score;
mod setup;
mod watch;
mod weigh;

use anyhow::Result;
use clap::{Parser, Subcommand};

use crate::output::{Done, Shown};

/// Rig, trim and sail small single-handed dinghies by numbers a child can find again.
///
/// Answers are for the coach, who decides with the sailor's skill, the weather and the water before them. No answer says that it is
/// safe to sail.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 120)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// One JSON document instead of a table: SI units in the keys' suffix, times in UTC
    #[arg(long, global = true)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    Assumed(assumed::Assumed),
    Balance(balance::Balance),
    Cards(cards::Cards),
    Class(class::OneClass),
    Course(course::CourseOf),
    Debrief(debrief::Debrief),
    Dock(dock::Dock),
    Polar(polar::PolarOf),
    Rules(rules::Rules),
    Score(score::Score),
    Setup(setup::Setup),
    Weigh(weigh::Weigh),
}

impl Arguments {
    /// Does what was asked.
    pub(crate) fn run(&self) -> Result<Done> {
        let shown = if self.json { Shown::Json } else { Shown::Table };
        match &self.command {
            Command::Assumed(assumed) => assumed.run(shown),
            Command::Balance(balance) => balance.run(shown),
            Command::Cards(cards) => cards.run(shown),
            Command::Class(class) => class.run(shown),
            Command::Course(course) => course.run(shown),
            Command::Debrief(debrief) => debrief.run(shown),
            Command::Dock(dock) => dock.run(shown),
            Command::Polar(polar) => polar.run(shown),
            Command::Rules(rules) => rules.run(shown),
            Command::Score(score) => score.run(shown),
            Command::Setup(setup) => setup.run(shown),
            Command::Weigh(weigh) => weigh.run(shown),
        }
    }
}
