//! `lineups`: what was really faster, from a table of passes.

use std::path::PathBuf;
use std::str::FromStr;

use anyhow::{Result, anyhow, bail};
use clap::Args;
use evidence::effect::{Analysis, Belief, effects};
use evidence::passes::Passes;
use measure::Warning;
use serde::Serialize;

use crate::input;
use crate::output::{Done, Shown, show, warn};
use crate::table::Rows;

/// Says what each setting was worth in passes of boats side by side, and how sure that is
///
/// The table has a row for each boat of each pass: pass, sailor, boat, position (high or low), tack, wind_kn, vmg_kn, and one column for each
/// setting tried, with 0 and 1 or the value. Sailors, boats, places and the wind are accounted for; passes differ by chance.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright lineups data/passes/example.csv")]
pub(crate) struct LineUps {
    /// The table of passes (CSV)
    passes: PathBuf,
    /// What was believed before, in m/s of VMG with its doubt, as in vang_line=0.02,0.03; it is corrected by the passes
    #[arg(long, value_name = "GAUGE=MEAN,SD")]
    prior: Vec<Prior>,
}

/// A belief about one gauge.
#[derive(Debug, Clone)]
struct Prior {
    gauge: String,
    belief: Belief,
}

impl FromStr for Prior {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let read = || {
            let (gauge, numbers) = text.split_once('=')?;
            let (mean, sd) = numbers.split_once(',')?;
            let belief = Belief { mean: mean.trim().parse().ok()?, sd: sd.trim().parse().ok()? };
            (belief.mean.is_finite() && belief.sd.is_finite() && belief.sd > 0.0).then(|| Self { gauge: gauge.trim().to_owned(), belief })
        };
        read().ok_or_else(|| format!("found {text:?}, expected a gauge, a middle and a doubt above zero, both in m/s: vang_line=0.02,0.03"))
    }
}

#[derive(Debug, Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    analysis: &'a Analysis,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    corrected: Vec<Corrected>,
    warnings: Vec<String>,
}

/// A belief before the passes and after them.
#[derive(Debug, Serialize)]
struct Corrected {
    gauge: String,
    before_ms: Belief,
    after_ms: Belief,
}

impl LineUps {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let named = |what: String| format!("{}: {what}", self.passes.display());
        let read = Passes::read(&input::text(&self.passes)?).map_err(|error| anyhow!("{}", named(error.to_string())))?;
        if let Some(prior) = self.prior.iter().find(|prior| !read.value.gauges.contains(&prior.gauge)) {
            bail!("--prior {}: the table has no such setting; it has {}", prior.gauge, read.value.gauges.join(", "));
        }
        let found = effects(&read.value);
        let place = |warning: Warning| Warning::new(named(warning.place), warning.what);
        let warnings: Vec<Warning> = read.warnings.into_iter().chain(found.warnings).map(place).collect();
        let corrected = self.prior.iter().filter_map(|prior| {
            let effect = found.value.effects.iter().find(|effect| effect.gauge == prior.gauge)?;
            Some(Corrected { gauge: prior.gauge.clone(), before_ms: prior.belief, after_ms: effect.with_prior(prior.belief) })
        });
        let corrected: Vec<Corrected> = corrected.collect();
        let text = table(&found.value, &corrected);
        let document = Document { analysis: &found.value, corrected, warnings: warnings.iter().map(ToString::to_string).collect() };
        show(shown, &document, || text)?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }
}

fn table(analysis: &Analysis, corrected: &[Corrected]) -> String {
    if analysis.effects.is_empty() {
        return "No setting's worth can be told from these passes.\n".to_owned();
    }
    let mut rows = Rows::under(&["setting", ">from", ">to", ">m per 500 m", "between", ">passes", ">by chance"]);
    for effect in &analysis.effects {
        let (middle, between) = match effect.metres_per_500 {
            Some([middle, low, high]) => (format!("{middle:+.1}"), format!("{low:+.1} and {high:+.1}")),
            None => ("-".to_owned(), "-".to_owned()),
        };
        let row = [effect.gauge.clone(), effect.from.to_string(), effect.to.to_string(), middle, between, effect.passes.to_string()];
        rows.push(row.into_iter().chain([format!("{:.3}", effect.p_adjusted)]));
    }
    let mut text = rows.text() + "\n";
    for effect in &analysis.effects {
        text += &format!("{}.\n", effect.words);
    }
    for Corrected { gauge, before_ms: b, after_ms: a } in corrected {
        text += &format!("{gauge}: believed {:+.3} +- {:.3} m/s before, {:+.3} +- {:.3} after these passes.\n", b.mean, b.sd, a.mean, a.sd);
    }
    for note in &analysis.notes {
        text += &format!("Note: {note}.\n");
    }
    text + "\n\"Between\" holds the truth 19 times in 20. \"By chance\": how often luck alone would look like this, all settings tried counted.\n"
}
