//! `export`: all that is kept, as one portable archive.

use measure::counted;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;
use squad::Moment;

use super::store::OfStore;
use crate::output::{Done, Shown, WholeFile, show, warn};

/// All that is kept about the squad, as one archive that another store can import
///
/// The archive holds names and body masses: give it to nobody who may not know them. `docs/store.md` has its format.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, keeping the invented squad and exporting it:\n  $ trimwright import data/squads/example.toml --store squad-to-export\n  $ trimwright export --store squad-to-export --out squad.zip"
)]
pub(crate) struct Export {
    #[command(flatten)]
    store: OfStore,
    /// The archive to write
    #[arg(long, value_name = "FILE.zip")]
    out: PathBuf,
}

#[derive(Debug, Serialize)]
struct Document {
    archive: String,
    facts: usize,
    tracks: usize,
    warnings: Vec<String>,
}

impl Export {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done, anyhow::Error> {
        let store = self.store.open()?;
        let out = WholeFile::open(&self.out)?;
        let exported = out.finish_by(|file| Ok(store.value.export(file, Moment::now())?))?;
        let document = Document {
            archive: self.out.display().to_string(),
            facts: exported.facts,
            tracks: exported.tracks,
            warnings: store.warnings.iter().map(ToString::to_string).collect(),
        };
        show(shown, &document, || {
            format!(
                "{}: {} and {} of recorders and cameras\nIt holds names and body masses: give it to nobody who may not know them.",
                document.archive,
                counted(document.facts, "fact"),
                counted(document.tracks, "file")
            )
        })?;
        warn(&store.warnings);
        Ok(Done::with(&store.warnings))
    }
}
