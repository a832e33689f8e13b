//! The program: reads what was typed, calls the domain, prints documents.
//!
//! Exit 0: done. Exit 1: done, but part of what was asked for is missing or part of the input was dropped, with the reason.
//! Exit 2: bad input or arguments, and nothing was written.

mod commands;
mod input;
mod jobs;
mod output;
mod table;

use std::process::ExitCode;

use clap::Parser;

use commands::Arguments;
use output::Done;

/// Exit code of a program that was stopped from the keyboard: 128 and the number of the signal, as shells have it.
const STOPPED: u8 = 130;

fn main() -> ExitCode {
    jobs::stop_cleanly(STOPPED);
    match Arguments::parse().run() {
        Ok(Done::Whole) => ExitCode::SUCCESS,
        Ok(Done::InPart) => ExitCode::from(1),
        // Whoever reads from us has seen enough.
        Err(error) if output::is_broken_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            output::complain(&error);
            ExitCode::from(2)
        }
    }
}
