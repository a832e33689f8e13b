//! `import`: an archive, another coach's store, a backup or a squad file, brought into the store.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use clap::Args;
use measure::{Warning, counted};
use serde::Serialize;
use squad::{Merged, Store};

use super::store::{OfStore, writer};
use crate::output::{Done, Shown, show, warn};
use crate::table::Rows;

/// Brings in an archive, another coach's store, a backup or a squad file; facts are united, nothing is written over unseen
///
/// What two coaches edited apart is listed: the later edit stands, the other is kept. The same file again changes nothing. A store that
/// is not there is made.
#[derive(Debug, Args)]
#[command(after_help = "Example, the invented squad:\n  $ trimwright import data/squads/example.toml --store squad")]
pub(crate) struct Import {
    /// Archives (zip), stores or backups (a folder or its file), squad files (TOML or CSV)
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
    #[command(flatten)]
    store: OfStore,
}

#[derive(Debug, Serialize)]
struct Document {
    store: String,
    added: usize,
    changed: usize,
    known: usize,
    forgotten: usize,
    by_kind: BTreeMap<String, usize>,
    conflicts: Vec<ConflictRow>,
    warnings: Vec<String>,
}

/// A fact that two stores edited apart.
#[derive(Debug, Serialize)]
struct ConflictRow {
    kind: String,
    fact: String,
    differences: Vec<Difference>,
}

#[derive(Debug, Serialize)]
struct Difference {
    field: String,
    kept: String,
    other: String,
}

impl Import {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let folder = self.store.folder()?;
        let is_new = !folder.join(squad::FILE).exists();
        let done = self.import(&folder);
        if done.is_err() && is_new {
            // What was made for this alone goes with it.
            for ending in ["", "-wal", "-shm"] {
                let _ = fs::remove_file(folder.join(format!("{}{ending}", squad::FILE)));
            }
            let _ = fs::remove_dir(&folder);
        }
        let (document, warnings) = done?;
        show(shown, &document, || table(&document))?;
        warn(&warnings);
        Ok(if document.conflicts.is_empty() { Done::with(&warnings) } else { Done::InPart })
    }

    fn import(&self, folder: &Path) -> Result<(Document, Vec<Warning>)> {
        for path in &self.files {
            fs::metadata(path).with_context(|| format!("{}: it cannot be read; check the name and the folder", path.display()))?;
        }
        let opened = Store::open_or_new(folder)?;
        let (mut store, mut warnings) = (opened.value, opened.warnings);
        let mut all = Merged::default();
        for path in &self.files {
            let merged = store.import(path, &writer())?;
            warnings.extend(merged.warnings);
            let merged = merged.value;
            all.added += merged.added;
            all.changed += merged.changed;
            all.known += merged.known;
            all.forgotten += merged.forgotten;
            all.doubled = merged.doubled;
            for label in merged.forgotten_there {
                let what = format!("this sailor was forgotten in {}; forget the sailor here too, or tell that coach", path.display());
                warnings.push(Warning::new(label, what));
            }
            for (kind, count) in merged.by_kind {
                *all.by_kind.entry(kind).or_default() += count;
            }
        }
        for (kind, label) in &all.doubled {
            warnings.push(Warning::new(label.clone(), format!("there is more than one {kind} of this label now: tell them apart")));
        }
        let differences = |conflict: &squad::Conflict| {
            conflict.differences().into_iter().map(|(field, kept, other)| Difference { field, kept, other }).collect()
        };
        let conflicts = store.conflicts()?;
        let document = Document {
            store: folder.display().to_string(),
            added: all.added,
            changed: all.changed,
            known: all.known,
            forgotten: all.forgotten,
            by_kind: all.by_kind,
            conflicts: conflicts
                .iter()
                .map(|c| ConflictRow { kind: words(&c.kind), fact: c.fact.clone(), differences: differences(c) })
                .collect(),
            warnings: warnings.iter().map(ToString::to_string).collect(),
        };
        Ok((document, warnings))
    }
}

/// A kind in words.
fn words(kind: &str) -> String {
    kind.replace('_', " ")
}

fn table(document: &Document) -> String {
    let mut text = format!(
        "{}: {} added, {} changed, {} known already{}\n",
        document.store,
        counted(document.added, "fact"),
        document.changed,
        document.known,
        if document.forgotten > 0 { format!(", {} about forgotten sailors left out", document.forgotten) } else { String::new() }
    );
    let mut rows = Rows::under(&["", ">"]);
    for (kind, count) in &document.by_kind {
        rows.push([format!("  {}", words(kind)), count.to_string()]);
    }
    text += &rows.text();
    if !document.conflicts.is_empty() {
        text += "\nTwo people edited these apart. The later edit stands; look at the other:\n";
        let mut rows = Rows::under(&["", "what", "stands", "the other"]);
        for conflict in &document.conflicts {
            for difference in &conflict.differences {
                rows.push([format!("  {}", conflict.kind), difference.field.clone(), difference.kept.clone(), difference.other.clone()]);
            }
        }
        text += &rows.text();
    }
    text
}
