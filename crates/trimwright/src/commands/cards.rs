//! `cards`: a card for every sailor of a squad.

use std::path::PathBuf;
use std::sync::Mutex;

use anyhow::{Context, Result, bail};
use boat::balance::{Boat, Tack};
use boat::setup::{Leg, LegSetup};
use clap::{Args, ValueEnum};
use measure::Warning;
use measure::quantity::KNOT;
use rayon::prelude::*;
use serde::Serialize;
use squad::{Crew, Squad};
use trimwright::briefing::card::CardDocument;
use trimwright::briefing::day::{SolvedWind, Who, Written, card};
use trimwright::cards::{Layout, pdf, strips_pdf};
use trimwright::words::Words;

use super::day::{Day, OfClass, Units, Weather};
use super::setup::solved;
use crate::input;
use crate::jobs::Progress;
use crate::output::{Done, Shown, WholeFile, show, warn};
use crate::table::Rows;

/// The squad that comes with the program.
const EXAMPLE: &[u8] = include_bytes!("../../../../data/squads/example.toml");

/// Winds of the card over the forecast: lighter, as forecast, stronger; each solved at its middle.
const SHARES: [f64; 3] = [0.65, 1.0, 1.35];
/// Half-width of each, share of the forecast.
const HALF: f64 = 0.15;

/// A card for every sailor: how to sit, what to set in three winds, puffs and lulls, who decides
///
/// Without a squad file it takes the program's own twelve invented sailors. No card shows a body mass.
#[derive(Debug, Args)]
#[command(after_help = "Example, cards for the invented squad in 10 knots:\n  $ trimwright cards --wind 10 --out cards.pdf")]
pub(crate) struct Cards {
    #[command(flatten)]
    class: OfClass,
    /// The squad file (TOML or CSV); without it an invented one
    #[arg(long, value_name = "FILE")]
    squad: Option<PathBuf>,
    #[command(flatten)]
    weather: Weather,
    /// The PDF to write
    #[arg(long, value_name = "FILE.pdf")]
    out: PathBuf,
    /// Small cards, or four to a sheet of A4 with corner marks
    #[arg(long, value_enum, default_value_t = Sheet::A6)]
    sheet: Sheet,
    /// Also writes strips to print at true size and stick on the boats
    #[arg(long, value_name = "FILE.pdf")]
    strips: Option<PathBuf>,
    /// The day on the cards; without it today's
    #[arg(long, value_name = "WORDS")]
    day: Option<String>,
    /// Units on the cards
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    units: Units,
}

/// Paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Sheet {
    /// One card a page, both sides.
    A6,
    /// Four to an A4.
    A4,
}

#[derive(Debug, Serialize)]
struct Document {
    cards: Vec<Row>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Row {
    sailor: String,
    boat: String,
    sit: String,
    cautions: Vec<String>,
}

/// One sailor's winds.
fn winds(boat: &Boat, crew: &Crew, day: &Day, step: &(impl Fn() + Sync)) -> [SolvedWind; 3] {
    let ten = day.conditions(1.0, Tack::Starboard).wind.at(measure::Length::metres(10.0)).si() / KNOT;
    let beat = |share: f64| -> Option<LegSetup> {
        let legs = solved(boat, crew.sailor.body, day, share, &[Leg::Beat], Tack::Starboard, true);
        step();
        legs.into_iter().find_map(|(_, answer)| answer.ok())
    };
    let solved: Vec<_> = SHARES.par_iter().map(|&share| beat(share)).collect();
    let mut solved = solved.into_iter();
    SHARES.map(|share| SolvedWind { knots: (ten * (share - HALF), ten * (share + HALF)), beat: solved.next().flatten() })
}

/// A boat of this squad: the class's hull with the weight that was measured.
fn own(boat: &Boat, crew: &Crew, day: &Day) -> Result<Boat> {
    let mut class = boat.class.clone();
    if let Some(mass) = crew.boat.hull_mass {
        class.hull.mass = mass.in_kilograms();
    }
    class.hull.mass += crew.boat.water_found.map_or(0.0, |w| w.in_kilograms());
    day.boat(&class, crew.sailor.sail.as_deref()).with_context(|| format!("{} in {}", crew.sailor.label, crew.boat.label))
}

impl Cards {
    fn squad(&self) -> Result<(Squad, Vec<Warning>)> {
        let (name, bytes) = match &self.squad {
            None => ("the invented squad".to_owned(), EXAMPLE.to_vec()),
            Some(path) => (path.display().to_string(), input::bytes(path)?),
        };
        let read = squad::read(&name, &bytes)?;
        Ok((read.value, read.warnings))
    }

    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let class = self.class.read()?;
        let day = self.weather.read()?;
        let (squad, mut warnings) = self.squad()?;
        if day.given <= 0.0 {
            bail!("no wind: there is nothing to set; give the wind you expect, like --wind 6");
        }
        let out = WholeFile::open(&self.out)?;
        let strips = self.strips.as_deref().map(WholeFile::open).transpose()?;
        let words = Words::english().context("the words of the cards")?;
        let date = self.day.clone().unwrap_or_else(today);
        let boat = day.boat(&class, None)?;
        let boats = squad.crews.iter().map(|crew| own(&boat, crew, &day)).collect::<Result<Vec<_>>>()?;

        let progress = Mutex::new(Progress::of("solving cards", squad.crews.len() * SHARES.len()));
        let step = || {
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
        };
        let solved: Vec<_> = squad.crews.par_iter().zip(&boats).map(|(crew, boat)| winds(boat, crew, &day, &step)).collect();
        drop(progress);

        let ten = day.conditions(1.0, Tack::Starboard).wind.at(measure::Length::metres(10.0)).si() / KNOT;
        let written = Written { date, unit: self.units.setting(), gust_knots: ten * day.gusts };
        let mut cards: Vec<CardDocument> = Vec::new();
        let mut rows = Rows::under(&["sailor", "boat", "how to sit", ">boom end", ">gap", ">car", ">downhaul", ">board"]);
        for ((crew, boat), winds) in squad.crews.iter().zip(&boats).zip(&solved) {
            let who = Who {
                sailor: crew.sailor.label.clone(),
                boat: crew.boat.label.clone(),
                hand: crew.sailor.hand.si(),
                base: crew.boat.base.iter().map(|(g, v)| (*g, *v)).collect(),
            };
            let Some(card) = card(boat, &who, winds, &written, &words) else {
                warnings.push(Warning::new(who.sailor, "the model found no setting for this wind, so there is no card"));
                continue;
            };
            if let Some(beat) = winds[1].beat.as_ref().filter(|b| !b.converged || b.breach > 0.02) {
                let why =
                    if beat.breach > 0.02 { "she cannot be held flat in the puffs of this wind" } else { "a better setting may exist" };
                warnings.push(Warning::new(who.sailor.clone(), why));
            }
            let cell = |k: usize| card.rows.get(k).map_or(String::new(), |r| r.values[1].text.clone());
            let sit = words.posture.get(card.posture.key()).cloned().unwrap_or_default();
            rows.push([who.sailor, who.boat, sit, cell(0), cell(1), cell(2), cell(3), cell(4)]);
            cards.push(card);
        }
        if cards.is_empty() {
            bail!("no card: the model found no setting for any sailor in this wind");
        }
        let layout = match self.sheet {
            Sheet::A6 => Layout::A6,
            Sheet::A4 => Layout::FourToA4,
        };
        out.finish(&pdf(&cards, &layout).context("printing the cards")?)?;
        if let Some(strips) = strips {
            strips.finish(&strips_pdf(&cards).context("printing the strips")?)?;
        }
        let document = Document {
            cards: cards
                .iter()
                .map(|c| Row {
                    sailor: c.sailor.clone(),
                    boat: c.boat.clone(),
                    sit: words.posture.get(c.posture.key()).cloned().unwrap_or_default(),
                    cautions: c.over_limit.iter().chain(&c.cautions).map(|k| format!("{} {} {}", k.fact, k.deed, k.who)).collect(),
                })
                .collect(),
            warnings: warnings.iter().map(ToString::to_string).collect(),
        };
        show(shown, &document, || {
            format!(
                "{}wind {:.0} kn at 10 m, settings in {}; {} cards in {}\nNo wind limit is set here: the coach decides who sails.\n",
                rows.text(),
                ten,
                self.units.setting().0,
                cards.len(),
                self.out.display()
            )
        })?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }
}

/// Today, by this machine's clock.
fn today() -> String {
    jiff::ZonedDateTime::now().strftime("%-d %B").to_string()
}
