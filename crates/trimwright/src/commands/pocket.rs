//! `pocket`: one file per sailor with card, checklist and quiz, for a phone without network.

use std::fs;
use std::path::PathBuf;
use std::sync::Arc;

use advice::caution::Cautions;
use anyhow::{Context, Result};
use clap::{Args, ValueEnum};
use measure::quantity::KNOT;
use measure::wind::WIND_RANGE;
use serde_json::json;
use trimwright::pages::{Yard, pockets};
use trimwright::words::Words;
use trimwright::words::school::{Language, Tongue};

use super::day::{OfClass, number};
use super::store::OfStore;
use crate::output::{Done, Shown, show, warn};

/// Card, checklist and quiz of each sailor as one file for a phone, useful without network and without script
///
/// Settings are those of today's wind in the store. Nothing in a file tells a body mass. A file that the sailor's own link gave sends
/// its answers back by that link; one written here keeps them on the phone.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright pocket --store squad --wind 10 --out pockets")]
pub(crate) struct Pocket {
    #[command(flatten)]
    store: OfStore,
    #[command(flatten)]
    class: OfClass,
    /// The folder the files are written to; it is made where it is missing
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Today's wind at 10 m in knots, kept as the day's forecast; without it, the forecast that is kept
    #[arg(long, value_name = "KN", allow_hyphen_values = true)]
    wind: Option<String>,
    /// Only this sailor's
    #[arg(long, value_name = "LABEL")]
    sailor: Option<String>,
    /// The language of the files
    #[arg(long, value_enum, default_value_t = Spoken::En)]
    language: Spoken,
}

/// A language a child reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Spoken {
    /// English
    En,
    /// German
    De,
}

impl Pocket {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let opened = self.store.open()?;
        warn(&opened.warnings);
        let words = Words::english().context("the words of the pages")?;
        let tongues = Tongue::all().context("the words of school")?;
        let yard = Arc::new(Yard::new(opened.value, self.class.read()?, words, tongues, Cautions::standard()?));
        let language = match self.language {
            Spoken::En => Language::English,
            Spoken::De => Language::German,
        };
        let wind = self.wind.as_deref().map(|text| number(text, &WIND_RANGE, KNOT)).transpose().context("--wind")?;
        let files = pockets(&yard, language, self.sailor.as_deref(), wind)?;
        fs::create_dir_all(&self.out).with_context(|| self.out.display().to_string())?;
        let mut written: Vec<(String, PathBuf)> = Vec::new();
        for (label, html) in files {
            // A label may hold what no file name should: letters and digits stay; two labels that look alike then get a number.
            let plain: String = label.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
            let alike = written.iter().filter(|w| w.0 == plain).count();
            let name = if alike == 0 { format!("{plain}.html") } else { format!("{plain}-{}.html", alike + 1) };
            let path = self.out.join(name);
            fs::write(&path, html).with_context(|| path.display().to_string())?;
            written.push((plain, path));
        }
        let paths: Vec<String> = written.iter().map(|w| w.1.display().to_string()).collect();
        show(shown, &json!({ "files": paths }), || paths.join("\n"))?;
        Ok(Done::Whole)
    }
}
