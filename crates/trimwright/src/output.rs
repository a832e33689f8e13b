//! What leaves the program: documents on stdout, warnings on stderr, whole files or none.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Error, Result, bail};
use measure::Warning;
use serde::Serialize;

use crate::jobs;

/// How an answer is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shown {
    /// To read.
    Table,
    /// One JSON document.
    Json,
}

/// How far a command came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Done {
    /// All that was asked for.
    Whole,
    /// Part of it is missing, or part of the input was dropped; the reasons were told.
    InPart,
}

impl Done {
    /// Whole when there was nothing to tell.
    pub(crate) fn with(warnings: &[Warning]) -> Self {
        if warnings.is_empty() { Self::Whole } else { Self::InPart }
    }
}

/// Prints a document as it was asked for.
pub(crate) fn show(shown: Shown, document: &impl Serialize, table: impl FnOnce() -> String) -> Result<()> {
    let text = match shown {
        Shown::Json => {
            serde_json::to_string_pretty(document).context("the answer does not go into JSON; this is a fault of the program")?
        }
        Shown::Table => table(),
    };
    let mut out = io::stdout().lock();
    writeln!(out, "{}", text.trim_end())?;
    out.flush()?;
    Ok(())
}

/// Tells what was dropped, doubted or guessed.
pub(crate) fn warn(warnings: &[Warning]) {
    for warning in warnings {
        tell(&format!("warning: {warning}"));
    }
}

/// Tells why nothing was done.
pub(crate) fn complain(error: &Error) {
    tell(&format!("error: {error:#}"));
}

/// A line on stderr. Where nobody can read it there is nobody to tell.
fn tell(line: &str) {
    let _ = writeln!(io::stderr(), "{line}");
}

/// Whether the reader of our output went away.
pub(crate) fn is_broken_pipe(error: &Error) -> bool {
    error.chain().any(|cause| cause.downcast_ref::<io::Error>().is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe))
}

/// A file that appears whole or not at all. It is opened before the work begins, so that a place that cannot be written is told at once.
#[derive(Debug)]
pub(crate) struct WholeFile {
    file: File,
    beside: PathBuf,
    path: PathBuf,
}

impl WholeFile {
    /// Opens a file beside the one wanted.
    pub(crate) fn open(path: &Path) -> Result<Self> {
        if path.is_dir() {
            bail!("{}: it is a folder; name a file in it", path.display());
        }
        let name = path.file_name().with_context(|| format!("{}: it names no file", path.display()))?;
        let mut hidden = std::ffi::OsString::from(".");
        hidden.push(name);
        hidden.push(format!(".{}", std::process::id()));
        let beside = path.with_file_name(hidden);
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        if let Some(folder) = folder.filter(|folder| !folder.is_dir()) {
            bail!("{}: there is no folder {}; make it first", path.display(), folder.display());
        }
        let file = OpenOptions::new().write(true).create_new(true).open(&beside);
        let file = file.with_context(|| format!("{}: nothing can be written there; choose another place", path.display()))?;
        jobs::unfinished(&beside);
        Ok(Self { file, beside, path: path.to_owned() })
    }

    /// Writes all of it and puts it in its place.
    pub(crate) fn finish(self, bytes: &[u8]) -> Result<()> {
        let unwritten = format!("{}: it could not be written whole, so nothing was", self.path.display());
        self.finish_by(|file| file.write_all(bytes).context(unwritten))
    }

    /// Lets it be written part by part, and puts it in its place when all of it is.
    pub(crate) fn finish_by<R>(mut self, write: impl FnOnce(&mut File) -> Result<R>) -> Result<R> {
        let written = write(&mut self.file)?;
        let placed = self.file.sync_all().and_then(|()| fs::rename(&self.beside, &self.path));
        placed.with_context(|| format!("{}: it could not be written whole, so nothing was", self.path.display()))?;
        Ok(written)
    }
}

impl Drop for WholeFile {
    /// What is still beside its place was not finished.
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.beside);
        jobs::finished(&self.beside);
    }
}
