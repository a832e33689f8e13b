//! `forget`: every trace of one sailor removed.

use anyhow::{Result, bail};
use clap::Args;
use measure::counted;
use serde::Serialize;

use super::store::OfStore;
use crate::output::{Done, Shown, show, warn};

/// Removes every trace of a sailor from the store and its backups. It cannot be undone
///
/// What is about the sailor is deleted, and words elsewhere that name the sailor are struck out. Not reached: archives and cards
/// given away, files the squad came from, and other coaches' stores; forget the sailor there too before they are imported.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, keeping the invented squad and forgetting one of it:\n  $ trimwright import data/squads/example.toml --store squad-to-forget\n  $ trimwright forget Greta --store squad-to-forget"
)]
pub(crate) struct Forget {
    /// The sailor's label, as it is on the cards
    #[arg(value_name = "SAILOR")]
    sailor: String,
    #[command(flatten)]
    store: OfStore,
}

#[derive(Debug, Serialize)]
struct Document {
    facts: usize,
    tracks: usize,
    pictures: usize,
    pictures_left: usize,
    struck: usize,
    struck_tracks: Vec<String>,
    backups_rewritten: Vec<String>,
    backups_deleted: Vec<String>,
    warnings: Vec<String>,
}

impl Forget {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let mut store = self.store.open()?;
        let sailor = match store.value.ever_labelled(&self.sailor)?.as_slice() {
            [sailor] => sailor.id,
            [] => bail!("{}: no sailor here has this label; the labels stand on the cards", self.sailor),
            _ => bail!("{}: more than one sailor has this label; tell them apart first, so that the right one is forgotten", self.sailor),
        };
        let done = store.value.forget(sailor)?;
        let paths = |paths: Vec<std::path::PathBuf>| paths.iter().map(|p| p.display().to_string()).collect::<Vec<_>>();
        let document = Document {
            facts: done.facts,
            tracks: done.tracks,
            pictures: done.pictures,
            pictures_left: done.pictures_left,
            struck: done.struck,
            struck_tracks: done.struck_tracks,
            backups_rewritten: paths(done.backups_rewritten),
            backups_deleted: paths(done.backups_deleted),
            warnings: store.warnings.iter().map(ToString::to_string).collect(),
        };
        show(shown, &document, || table(&document))?;
        warn(&store.warnings);
        Ok(Done::with(&store.warnings))
    }
}

fn table(document: &Document) -> String {
    let mut text = format!(
        "Forgotten: {} and {} deleted, words struck out of {} of others.\n",
        counted(document.facts, "fact"),
        counted(document.tracks, "recorder's file"),
        counted(document.struck, "fact")
    );
    if document.pictures > 0 {
        text += &format!("{} of outings the sailor was in: deleted, whoever is on them\n", counted(document.pictures, "picture"));
    }
    if document.pictures_left > 0 {
        text += &format!(
            "Pictures of other outings that stand: {}. Who is on them is not known here; look at them on Ashore and take away those that show the sailor\n",
            document.pictures_left
        );
    }
    for file in &document.struck_tracks {
        text += &format!("{file}: letters struck out of this recorder's file of another\n");
    }
    for backup in &document.backups_rewritten {
        text += &format!("{backup}: written anew\n");
    }
    for backup in &document.backups_deleted {
        text += &format!("{backup}: deleted, it could not be written anew\n");
    }
    text + "Not reached: archives and cards given away, files the squad came from, other coaches' stores.\n"
}
