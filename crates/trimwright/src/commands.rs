//! The commands, one file each: what is asked for, what the domain answers, how it is shown.

mod assumed;
mod backup;
mod balance;
mod cards;
mod chart;
mod class;
mod course;
mod day;
mod debrief;
mod demo_outings;
mod demo_regatta;
mod dock;
mod drills;
mod export;
mod forget;
mod import;
mod lineups;
mod pocket;
mod polar;
mod rules;
mod score;
mod serve;
mod setup;
mod shell;
mod store;
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
    Backup(backup::BackupNow),
    Balance(balance::Balance),
    Cards(cards::Cards),
    Class(class::OneClass),
    Completions(shell::Completions),
    Course(course::CourseOf),
    Debrief(debrief::Debrief),
    Dock(dock::Dock),
    Drills(drills::Drills),
    Export(export::Export),
    Forget(forget::Forget),
    Import(import::Import),
    #[command(name = "lineups")]
    LineUps(lineups::LineUps),
    Manual(shell::Manual),
    Pocket(pocket::Pocket),
    Polar(polar::PolarOf),
    Rules(rules::Rules),
    Score(score::Score),
    Demo(serve::Demo),
    Serve(serve::Serve),
    Setup(setup::Setup),
    Weigh(weigh::Weigh),
}

impl Arguments {
    /// Does what was asked.
    pub(crate) fn run(&self) -> Result<Done> {
        let shown = if self.json { Shown::Json } else { Shown::Table };
        match &self.command {
            Command::Assumed(assumed) => assumed.run(shown),
            Command::Backup(backup) => backup.run(shown),
            Command::Balance(balance) => balance.run(shown),
            Command::Cards(cards) => cards.run(shown),
            Command::Class(class) => class.run(shown),
            Command::Completions(completions) => completions.run(),
            Command::Course(course) => course.run(shown),
            Command::Debrief(debrief) => debrief.run(shown),
            Command::Dock(dock) => dock.run(shown),
            Command::Drills(drills) => drills.run(shown),
            Command::Export(export) => export.run(shown),
            Command::Forget(forget) => forget.run(shown),
            Command::Import(import) => import.run(shown),
            Command::LineUps(lineups) => lineups.run(shown),
            Command::Manual(manual) => manual.run(),
            Command::Pocket(pocket) => pocket.run(shown),
            Command::Polar(polar) => polar.run(shown),
            Command::Rules(rules) => rules.run(shown),
            Command::Score(score) => score.run(shown),
            Command::Demo(demo) => demo.run(),
            Command::Serve(serve) => serve.run(),
            Command::Setup(setup) => setup.run(shown),
            Command::Weigh(weigh) => weigh.run(shown),
        }
    }
}
