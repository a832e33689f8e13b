//! What commands about the store ask: where it is, and what it says when it is opened.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::Args;
use measure::{Warned, Warning};
use squad::{Date, Squad, Store, Writer};

use super::day::Day;

/// Who writes by command: the pages ask for a name, a prompt does not.
pub(crate) const BY: &str = "coach";

/// The folder where a squad is kept.
#[derive(Debug, Args)]
pub(crate) struct OfStore {
    /// The folder where the squad is kept. Without it: $XDG_DATA_HOME/trimwright or ~/.local/share/trimwright; on a Mac
    /// ~/Library/Application Support/trimwright; on Windows %APPDATA%\trimwright
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

impl OfStore {
    /// The folder.
    pub(crate) fn folder(&self) -> Result<PathBuf> {
        self.store.clone().or_else(usual_folder).context("this machine names no folder for a program's data; name one with --store DIR")
    }

    /// The store, which must be there.
    pub(crate) fn open(&self) -> Result<Warned<Store>> {
        Ok(Store::open(&self.folder()?)?)
    }
}

/// Where programs keep data on this machine.
fn usual_folder() -> Option<PathBuf> {
    // By the XDG Base Directory Specification a relative path counts for nothing.
    let named = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    let home = || std::env::home_dir().filter(|path| path.is_absolute());
    let data = if cfg!(windows) {
        named("APPDATA")
    } else if cfg!(target_os = "macos") {
        home().map(|home| home.join("Library/Application Support"))
    } else {
        named("XDG_DATA_HOME").or_else(|| home().map(|home| home.join(".local/share")))
    };
    data.map(|data| data.join("trimwright"))
}

/// Somebody who writes now.
pub(crate) fn writer() -> Writer {
    Writer::now(BY)
}

/// The squad kept in a folder, as it was known on a day.
pub(crate) fn squad_of(folder: &Path, on: Option<Date>) -> Result<(Store, Squad, Vec<Warning>)> {
    let opened = Store::open(folder)?;
    let squad = opened.value.squad(on)?;
    let warnings = opened.warnings.into_iter().chain(squad.warnings).collect();
    if squad.value.crews.is_empty() {
        bail!("{}: no sailor in it has a boat and a mass; bring in a squad file with: trimwright import FILE", folder.display());
    }
    Ok((opened.value, squad.value, warnings))
}

/// The model's constants, corrected where the coach took a correction over.
pub(crate) fn constants_in(store: &Store) -> Result<boat::Constants> {
    let correction = store.correction()?;
    Ok(correction.map_or_else(|| *boat::Constants::standard(), |c| trimwright::briefing::season::constants(&c.fact.values())))
}

/// The weather kept for a date: of its forecast the hours from the warning signal on, where one is kept, else all of them.
pub(crate) fn weather_on(store: &Store, date: Date, warnings: &mut Vec<Warning>) -> Result<Day> {
    let days = store.days_on(date)?;
    let Some(day) = days.first() else { bail!("nothing is kept about {date}: give the wind you expect, like --wind 8") };
    if days.len() > 1 {
        let what = format!("{} days of this date are kept: the one in \"{}\" is taken", days.len(), day.fact.venue);
        warnings.push(Warning::new(date.to_string(), what));
    }
    let hours: Vec<_> = store.forecast_of(day.id)?.into_iter().map(|hour| hour.fact).collect();
    let constants = constants_in(store)?;
    Day::kept(&day.fact, &hours)
        .map(|kept| kept.by(&constants))
        .with_context(|| format!("no forecast is kept for {date}: give the wind you expect, like --wind 8"))
}
