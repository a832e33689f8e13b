//! The demo's series: an invented cup in two fleets with a division, and an invented regatta of two days with codes, a redress and a tie.

use anyhow::{Context, Result};
use squad::fact::race::Series;
use squad::{Store, Writer};

/// The regatta and its results: the example beside the guide.
const REGATTA: [&str; 2] = [include_str!("../../../../data/series/regatta.toml"), include_str!("../../../../data/series/regatta.csv")];
/// The cup.
const CUP: [&str; 2] = [include_str!("../../../../data/series/cup.toml"), include_str!("../../../../data/series/cup.csv")];

fn series(name: &str, file: &str, results: &str) -> Series {
    Series { name: name.to_owned(), series_text: file.to_owned(), results_text: results.to_owned(), day: None }
}

/// Writes both into a store; the regatta as it stood before the redress was given and after: so there is a correction to look at.
pub(super) fn write(store: &mut Store, writer: &Writer) -> Result<()> {
    let [file, results] = CUP;
    store.add(&series("Autumn cup", file, results), writer).context("the demo's cup")?;
    let [file, results] = REGATTA;
    let of = |results: &str| series("Alder Basin regatta", file, results);
    let kept = store.add(&of(&results.replace(",RDG,others", ",,")), writer).context("the demo's regatta")?;
    let _ = store.edit(kept.id, kept.version, &of(results), writer).context("the demo's regatta")?;
    Ok(())
}
