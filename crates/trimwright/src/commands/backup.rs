//! `backup`: a consistent copy of the store, checked.

use anyhow::Result;
use clap::Args;
use measure::counted;
use serde::Serialize;
use squad::Moment;

use super::store::OfStore;
use crate::output::{Done, Shown, show, warn};

/// A copy of the store beside it, opened and checked; each day of use makes one by itself, and seven are kept
///
/// To use one: trimwright import FOLDER/backups/squad-DAY.db --store NEW_FOLDER. A backup on the same disk does not help when the disk is
/// lost: keep an archive elsewhere too (trimwright export).
#[derive(Debug, Args)]
#[command(
    after_help = "Example, keeping the invented squad and backing it up:\n  $ trimwright import data/squads/example.toml --store squad-to-back-up\n  $ trimwright backup --store squad-to-back-up"
)]
pub(crate) struct BackupNow {
    #[command(flatten)]
    store: OfStore,
}

#[derive(Debug, Serialize)]
struct Document {
    backup: String,
    facts: usize,
    deleted: Vec<String>,
    backups: Vec<String>,
    warnings: Vec<String>,
}

impl BackupNow {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let store = self.store.open()?;
        let backup = store.value.backup(Moment::now())?;
        let paths = |paths: &[std::path::PathBuf]| paths.iter().map(|p| p.display().to_string()).collect::<Vec<_>>();
        let document = Document {
            backup: backup.place.display().to_string(),
            facts: backup.facts,
            deleted: paths(&backup.made_room),
            backups: paths(&store.value.backups()),
            warnings: store.warnings.iter().map(ToString::to_string).collect(),
        };
        show(shown, &document, || {
            let mut text = format!("{}: {}, checked\n", document.backup, counted(document.facts, "fact"));
            for deleted in &document.deleted {
                text += &format!("{deleted}: deleted to make room\n");
            }
            text
        })?;
        warn(&store.warnings);
        Ok(Done::with(&store.warnings))
    }
}
