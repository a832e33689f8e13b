//! What a package installs beside the program: its manual pages, and what a shell needs to complete its commands.

use std::fs;
use std::io::{Write, stdout};
use std::path::PathBuf;

use anyhow::{Context, Result};
use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::Arguments;
use crate::output::Done;

/// Writes what a shell needs to complete commands and options
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright completions bash")]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    pub(crate) fn run(&self) -> Result<Done> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut Arguments::command(), "trimwright", &mut text);
        stdout().write_all(&text)?;
        Ok(Done::Whole)
    }
}

/// Writes the manual pages, one for each command, into a folder
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright manual pages-of-the-manual")]
pub(crate) struct Manual {
    /// The folder; it is made where it is not there
    folder: PathBuf,
}

impl Manual {
    pub(crate) fn run(&self) -> Result<Done> {
        let into = || format!("cannot write into {}: choose another folder", self.folder.display());
        fs::create_dir_all(&self.folder).with_context(into)?;
        clap_mangen::generate_to(Arguments::command().disable_help_subcommand(true), &self.folder).with_context(into)?;
        Ok(Done::Whole)
    }
}
