//! What is asked of the program from outside it: `judge` holds a part of it against a table, `prove` takes minutes and writes a page.
//! Reached by `cargo xtask judge` and `cargo xtask prove`. It stands apart from the check so that the check need not build it first.

mod hard_life;
mod judge;
mod page;
mod performance;
mod prove;
mod rules;
mod seasons;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// The proofs and the judge.
#[derive(Debug, Parser)]
#[command(name = "cargo xtask")]
struct Arguments {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Runs a part of the program over a table of cases and prints how far off it is
    Judge(judge::Judge),
    /// Takes minutes: writes how far the program is from the truth
    Prove(prove::Prove),
}

/// The top folder of the project.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).map_or_else(|| PathBuf::from("."), Path::to_path_buf)
}

fn main() -> ExitCode {
    let done = match Arguments::parse().task {
        Task::Judge(judge) => judge.run(),
        Task::Prove(prove) => prove.run(&root()),
    };
    match done {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::from(2)
        }
    }
}
