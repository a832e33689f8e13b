//! What a coach knows of the day beside its wind, for the cautions.

use std::path::PathBuf;

use advice::caution::{Caution, Cautions, Facts, Limits};
use anyhow::{Context, Result};
use boat::balance::Tack;
use boat::crew::Skill;
use clap::Args;
use measure::Temperature;
use measure::quantity::Range;
use serde::Serialize;
use squad::fact::day::Day as DayFact;
use squad::{Date, Store};

use super::day::{Day, number};
use crate::input;

/// What is known of the day. What is left out sets no caution off.
#[derive(Debug, Args)]
pub(crate) struct Watch {
    /// The club's limits of gust (TOML): a [[limit]] with class, skill, gust; with --store those kept there, if not given
    #[arg(long, value_name = "FILE")]
    limits: Option<PathBuf>,
    /// Temperature of the water, degrees Celsius
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    water_temperature: Option<String>,
    /// The wind blows off the shore
    #[arg(long)]
    offshore: bool,
    /// The wind blows against the tide
    #[arg(long)]
    against_tide: bool,
    /// Thunder about, or forecast
    #[arg(long)]
    thunder: bool,
    /// Safety boats out
    #[arg(long, value_name = "N", requires = "afloat")]
    safety_boats: Option<u32>,
    /// Sailors afloat
    #[arg(long, value_name = "N", requires = "safety_boats")]
    afloat: Option<u32>,
    /// Hours of daylight left
    #[arg(long, value_name = "H", allow_hyphen_values = true)]
    daylight: Option<String>,
}

/// A caution as a document has it.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct CautionRow {
    key: String,
    over_limit: bool,
    fact: String,
    do_this: String,
    who_decides: String,
    rests_on: String,
}

impl From<&Caution> for CautionRow {
    fn from(c: &Caution) -> Self {
        Self {
            key: c.key.clone(),
            over_limit: c.over_limit,
            fact: c.fact.clone(),
            do_this: c.deed.clone(),
            who_decides: c.who.clone(),
            rests_on: c.source.clone(),
        }
    }
}

/// A day's facts with the club's limits.
#[derive(Debug)]
pub(crate) struct Watched {
    cautions: Cautions,
    limits: Limits,
    facts: Facts,
}

/// What a store knows of a day beside its wind.
#[derive(Debug, Default)]
pub(crate) struct Kept {
    limits: Limits,
    day: Option<DayFact>,
    launch: u32,
    sailors_per_safety_boat: Option<f64>,
}

impl Kept {
    /// What is kept for a date, on which so many launch.
    pub(crate) fn of(store: &Store, date: Date, launch: usize) -> Result<Self> {
        let limits = store.gust_limits()?.into_iter().map(|l| (l.fact.class, l.fact.skill, l.fact.gust_ms));
        let day = store.days_on(date)?.into_iter().next().map(|day| day.fact);
        let sailors_per_safety_boat = store.safety_limit()?.map(|l| l.fact.sailors);
        Ok(Self { limits: Limits::of(limits), day, launch: u32::try_from(launch).unwrap_or(u32::MAX), sailors_per_safety_boat })
    }
}

impl Watch {
    /// What was typed; where nothing was, what is kept.
    pub(crate) fn read(&self, day: &Day, kept: Kept) -> Result<Watched> {
        let known = kept.day.as_ref();
        let limits = match &self.limits {
            None => kept.limits,
            Some(path) => Limits::read(&input::text(path)?, &path.display().to_string())?,
        };
        let water = match &self.water_temperature {
            None => known.and_then(|day| day.water_temperature_k).map(|k| Temperature::celsius(k - Temperature::celsius(0.0).si())),
            Some(text) => {
                let range = Range { what: "a temperature of water", low: 271.15, high: 308.15, ..Temperature::RANGE };
                let kelvin = match text.trim().replace(',', ".").parse::<f64>() {
                    Ok(celsius) => range.check(Temperature::celsius(celsius).si()),
                    Err(_) => range.parse(text),
                };
                Some(Temperature::celsius(kelvin.context("--water-temperature")? - Temperature::celsius(0.0).si()))
            }
        };
        const HOURS: Range = Range {
            what: "daylight",
            low: 0.0,
            high: 86400.0,
            units: &[measure::quantity::Unit { names: &["h"], factor: 3600.0, offset: 0.0 }],
        };
        let daylight = self.daylight.as_deref().map(|text| number(text, &HOURS, 3600.0)).transpose().context("--daylight")?;
        let told = |flag: bool, kept: Option<bool>| flag.then_some(true).or(kept);
        let facts = Facts {
            gust: day.conditions(1.0, Tack::Starboard).wind.at_meter * day.gusts,
            water,
            offshore: told(self.offshore, known.and_then(|day| day.offshore)),
            against_tide: told(self.against_tide, known.and_then(|day| day.against_tide)),
            thunder: told(self.thunder, known.and_then(|day| day.thunder)),
            safety_boats: self.safety_boats.zip(self.afloat).or(known.and_then(|day| Some((day.safety_boats?, kept.launch)))),
            daylight,
            preventer: false,
        };
        Ok(Watched { cautions: Cautions::standard()?.with_sailors_per_safety_boat(kept.sailors_per_safety_boat), limits, facts })
    }
}

impl Watched {
    /// The cautions for a sailor of a skill, over the limit first.
    pub(crate) fn said(&self, class: &str, skill: Skill, preventer: bool) -> Vec<Caution> {
        self.cautions.said(&Facts { preventer, ..self.facts }, &self.limits, class, skill)
    }
}

/// Every caution once, over a limit first and in capitals, with those it is for where it is not for all.
pub(crate) fn told<'a>(said: impl Iterator<Item = (&'a str, &'a [Caution])>) -> String {
    let mut told: Vec<(&Caution, Vec<&str>)> = Vec::new();
    let mut all = 0;
    for (label, cautions) in said {
        all += 1;
        for caution in cautions {
            match told.iter_mut().find(|(other, _)| *other == caution) {
                Some((_, labels)) => labels.push(label),
                None => told.push((caution, vec![label])),
            }
        }
    }
    told.sort_by_key(|(caution, _)| !caution.over_limit);
    let mut text = String::new();
    for (caution, labels) in &told {
        let whose = if labels.len() == all { String::new() } else { format!("{}: ", labels.join(", ")) };
        let words = caution.words();
        text += &format!("{whose}{}\n", if caution.over_limit { format!("Over the limit. {words}") } else { words });
    }
    if !told.is_empty() {
        text.push('\n');
    }
    text
}
