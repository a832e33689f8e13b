//! The project's own tasks: `check` is what CI runs. `judge`, which holds a part of the program against a table, and `prove`, which takes
//! minutes and writes a page, are a program of their own: this one stays small, since it is built before anything is checked.

mod check;
mod dist;
mod examples;
mod files;
mod machine;
mod pictures;
mod walls;

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use anyhow::Context;
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
    /// Builds the program and packs it: an archive that runs from any folder, a Debian package, their hashes
    Dist,
    /// Makes the pictures of the guide anew, from the demo
    Pictures {
        /// The program to take them of; without it one is built
        #[arg(long)]
        program: Option<PathBuf>,
    },
    /// Runs a part of the program over a table of cases and prints how far off it is
    #[command(disable_help_flag = true)]
    Judge(Passed),
    /// Takes minutes: writes how far the program is from the truth
    #[command(disable_help_flag = true)]
    Prove(Passed),
}

/// Handed on as it was written.
#[derive(Debug, clap::Args)]
struct Passed {
    /// Its own arguments; --help tells them
    #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
    arguments: Vec<OsString>,
}

/// The top folder of the project.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf)
}

/// Runs the proofs' own program, with the folder, input and output of this one; gives its exit code.
fn passed_on(task: &str, passed: &Passed) -> anyhow::Result<ExitCode> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| OsString::from("cargo"));
    let mut command = Command::new(cargo);
    // Times are those of what is shipped; all else is proved with the assertions of what is tested.
    let timed = passed.arguments.first().is_some_and(|what| what == "speed" || what == "robustness");
    let profile = if timed { "release" } else { "ci" };
    command
        .args(["run", "--quiet", "--locked", "--profile", profile, "--package", "proof", "--manifest-path"])
        .arg(root().join("Cargo.toml"));
    let status = command.arg("--").arg(task).args(&passed.arguments).status().context("cargo does not start")?;
    Ok(status.code().and_then(|code| u8::try_from(code).ok()).map_or(ExitCode::FAILURE, ExitCode::from))
}

fn main() -> ExitCode {
    let done = match Arguments::parse().task {
        Task::Check(check) => check.run(&root()).map(|passed| if passed { ExitCode::SUCCESS } else { ExitCode::FAILURE }),
        Task::Dist => dist::packages(&root()).map(|()| ExitCode::SUCCESS),
        Task::Pictures { program } => pictures::made(&root(), program.as_deref()).map(|()| ExitCode::SUCCESS),
        Task::Judge(passed) => passed_on("judge", &passed),
        Task::Prove(passed) => passed_on("prove", &passed),
    };
    done.unwrap_or_else(|error| {
        eprintln!("error: {error:#}");
        ExitCode::from(2)
    })
}
