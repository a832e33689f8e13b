//! The demo's regatta: an invented series of the squad's boats, two days, seven races, with codes, a redress and a tie.

use anyhow::{Context, Result};
use squad::fact::race::Series;
use squad::{Store, Writer};

/// The series and its results: the example beside the guide.
const SERIES: &str = include_str!("../../../../data/series/regatta.toml");
const RESULTS: &str = include_str!("../../../../data/series/regatta.csv");

/// Writes the regatta into a store, as it stood before the redress was given and after: so there is a correction to look at.
pub(super) fn write(store: &mut Store, writer: &Writer) -> Result<()> {
    let before = RESULTS.replace(",RDG,others", ",,");
    let series = |results: &str| Series {
        name: "Alder Basin regatta".to_owned(),
        series_text: SERIES.to_owned(),
        results_text: results.to_owned(),
        day: None,
    };
    let kept = store.add(&series(&before), writer).context("the demo's regatta")?;
    let _ = store.edit(kept.id, kept.version, &series(RESULTS), writer).context("the demo's regatta")?;
    Ok(())
}
