//! The project's own tasks: `check` is what CI runs, `judge` holds a part of the program against a table, `prove` takes
//! minutes and writes a page.

mod check;
mod examples;
mod files;
mod judge;
mod machine;
mod prove;
mod rules;
mod walls;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// The project's own tasks.
#[derive(Debug, Parser)]
#[command(name = "cargo xtask")]
struct Arguments {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Everything CI runs, with the minutes of each part; ends with a line "N passed, N failed"
    Check(check::Check),
    /// Runs a part of the program over a table of cases and prints how far off it is
    Judge(judge::Judge),
    /// Takes minutes: writes how far the program is from the truth
    Prove(prove::Prove),
}

/// The top folder of the project.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf)
}

fn main() -> ExitCode {
    let done = match Arguments::parse().task {
        Task::Check(check) => check.run(&root()),
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
