//! Recorders' files on the disk: which there are, and each track cleaned as soon as it is read, so that one raw track is in memory at a
//! time on each core.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use anyhow::{Context, Result, bail};
use jiff::tz::TimeZone;
use measure::Warning;
use rayon::prelude::*;
use trimwright::outing::{self, Found, name_apart};

use crate::input;
use crate::jobs::Progress;

/// Folders within folders that are looked into.
const DEEPEST: usize = 8;

/// Every file named, and every file in a folder named, in the order of names. Hidden files are left alone.
pub(super) fn listed(named: &[PathBuf]) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for path in named {
        let about = fs::metadata(path).with_context(|| format!("{}: it cannot be read; check the name and the folder", path.display()))?;
        if about.is_dir() {
            let before = files.len();
            look_into(path, DEEPEST, &mut files)?;
            if files.len() == before {
                bail!("{}: there is no file in this folder", path.display());
            }
        } else {
            files.push(path.clone());
        }
    }
    Ok(files)
}

fn look_into(folder: &Path, deeper: usize, files: &mut Vec<PathBuf>) -> Result<()> {
    let entries = fs::read_dir(folder).with_context(|| format!("{}: the folder cannot be read", folder.display()))?;
    let mut inside: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    inside.sort();
    for path in inside {
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if path.is_dir() && !hidden && deeper > 0 {
            look_into(&path, deeper - 1, files)?;
        } else if path.is_file() && !hidden {
            files.push(path);
        }
    }
    Ok(())
}

/// What one file gave, and why it gave no more.
type OfFile = (Vec<Found>, Vec<Warning>);

/// The tracks of all files; why a file gave none, and what was dropped, goes into the warnings.
pub(super) fn tracks(files: &[PathBuf], timezone: Option<&TimeZone>, warnings: &mut Vec<Warning>) -> Vec<Found> {
    let progress = Mutex::new(Progress::of("reading tracks", files.len()));
    let read: Vec<OfFile> = files
        .par_iter()
        .map(|path| {
            let of_file = of_file(path, timezone);
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
            of_file
        })
        .collect();
    drop(progress);
    let mut found = Vec::new();
    for (tracks, said) in read {
        found.extend(tracks);
        warnings.extend(said);
    }
    name_apart(&mut found);
    found
}

fn of_file(path: &Path, timezone: Option<&TimeZone>) -> OfFile {
    let name = path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned());
    match input::open(path) {
        Ok(file) => outing::of_file(&name, file, timezone),
        Err(error) => (Vec::new(), vec![Warning::new("", format!("{error:#}"))]),
    }
}
