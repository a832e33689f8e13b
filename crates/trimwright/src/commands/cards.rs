//! `cards`: a card for every sailor of a squad.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Mutex;

use advice::caution::Caution;
use advice::own::{ALL_ROUND_KNOTS, OwnSetup};
use anyhow::{Context, Result, bail};
use boat::balance::{Boat, Tack};
use boat::chart::Cell;
use boat::crew::Sailor;
use boat::gauge::Gauge;
use boat::setup::{Leg, Request};
use clap::{Args, ValueEnum};
use measure::quantity::KNOT;
use measure::{Length, Warning};
use rayon::prelude::*;
use serde::Serialize;
use squad::{Crew, Squad};
use trimwright::briefing::card::{CardDocument, CardRow, Cost};
use trimwright::briefing::day::{KEPT, SolvedWind, Who, Written, card};
use trimwright::cards::{Layout, pdf, strips_pdf};
use trimwright::words::Words;

use super::chart::Charts;
use super::day::{Day, OfClass, Units, Weather};
use super::watch::{Watch, told};
use crate::input;
use crate::jobs::Progress;
use crate::output::{Done, Shown, WholeFile, show, warn};
use crate::table::Rows;

/// The squad that comes with the program.
const EXAMPLE: &[u8] = include_bytes!("../../../../data/squads/example.toml");

/// Winds of the card over the forecast: lighter, as forecast, stronger; each solved at its middle.
const SHARES: [f64; 3] = [0.65, 1.0, 1.35];
/// Gauges of the table on screen.
const SHOWN: [Gauge; 5] = [Gauge::BoomEndDock, Gauge::SailBoomGap, Gauge::CarOffset, Gauge::DownhaulLine, Gauge::BoardAngle];
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
    #[command(flatten)]
    watch: Watch,
    /// The PDF to write
    #[arg(long, value_name = "FILE.pdf")]
    out: PathBuf,
    /// Small cards, or four to a sheet of A4 with corner marks
    #[arg(long, value_enum, default_value_t = Sheet::A6)]
    sheet: Sheet,
    /// Also writes strips to print at true size and stick on the boats
    #[arg(long, value_name = "FILE.pdf")]
    strips: Option<PathBuf>,
    /// Reads the settings from the class's chart in this file: solved and written first where it is missing or was made for another
    /// class, water or gusts
    #[arg(long, value_name = "FILE.json")]
    chart: Option<PathBuf>,
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
    settings: Vec<CardRow>,
    costs: Vec<Cost>,
}

/// One sailor's winds, on both tacks where they differ.
fn winds(boat: &Boat, crew: &Crew, day: &Day, charts: Option<&Charts>, step: &(impl Fn() + Sync)) -> [SolvedWind; 3] {
    let ten = ten_metres(day);
    let asked: Vec<_> = SHARES.iter().flat_map(|&share| tacks(boat).iter().map(move |&tack| (share, tack))).collect();
    let solved: Vec<_> = asked
        .into_par_iter()
        .map(|(share, tack)| {
            let beat = match charts.filter(|charts| charts.hold(boat, crew.sailor.sail.as_deref())) {
                Some(charts) => charts.beat(boat, &crew.sailor.body, tack, day.conditions(share, tack).wind),
                None => beat(boat, &crew.sailor.body, day, share, tack, true),
            };
            step();
            (share, tack, beat)
        })
        .collect();
    let mut solved: Vec<_> = solved.into_iter().collect();
    SHARES.map(|share| {
        let mut of = |tack| solved.iter_mut().find(|s| s.0 == share && s.1 == tack).and_then(|s| s.2.take());
        SolvedWind { knots: (ten * (share - HALF), ten * (share + HALF)), beat: of(Tack::Starboard), port: of(Tack::Port) }
    })
}

/// The tacks a setting must serve.
fn tacks(boat: &Boat) -> &'static [Tack] {
    if boat.tacks_differ() { &[Tack::Starboard, Tack::Port] } else { &[Tack::Starboard] }
}

/// A beat the search was content with; `None` where it found none, and a card prints none.
pub(crate) fn beat(boat: &Boat, sailor: &Sailor, day: &Day, share: f64, tack: Tack, bands: bool) -> Option<Cell> {
    let conditions = day.conditions(share, tack);
    let request = Request { boat, sailor: *sailor, conditions, gusts: day.gusts, reach: None, bands };
    let beat = request.leg(Leg::Beat, 0.0).ok().filter(|beat| beat.converged)?;
    Some(Cell::of(&beat, conditions.wind.at_meter))
}

/// The day's wind at ten metres, knots.
fn ten_metres(day: &Day) -> f64 {
    day.conditions(1.0, Tack::Starboard).wind.at(Length::metres(10.0)).si() / KNOT
}

/// How a boat is set up; where she has a base setup, with the beat it stands for.
pub(crate) fn own_setup(boat: &Boat, crew: &Crew, day: &Day) -> OwnSetup {
    let listed = |settings: &BTreeMap<Gauge, f64>| settings.iter().map(|(g, v)| (*g, *v)).collect::<Vec<_>>();
    let (rigged, base) = (listed(&crew.boat.rigged), listed(&crew.boat.base));
    let usual = Day { given: ALL_ROUND_KNOTS * KNOT, height: 10.0, ..*day };
    let all_round = if base.is_empty() { None } else { beat(boat, &crew.sailor.body, &usual, 1.0, Tack::Starboard, false) };
    OwnSetup { rigged, base, all_round }
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
        let watched = self.watch.read(&day)?;
        let (squad, mut warnings) = self.squad()?;
        if day.given <= 0.0 {
            bail!("no wind: there is nothing to set; give the wind you expect, like --wind 6");
        }
        let out = WholeFile::open(&self.out)?;
        let strips = self.strips.as_deref().map(WholeFile::open).transpose()?;
        let words = Words::english().context("the words of the cards")?;
        let date = self.day.clone().unwrap_or_else(today);
        let boat = day.boat(&class, None)?;
        let boats =
            squad.crews.iter().map(|crew| day.own(&class, crew).with_context(|| crew.sailor.label.clone())).collect::<Result<Vec<_>>>()?;

        let charts = self.chart.as_deref().map(|path| Charts::of(path, &boat, &day)).transpose()?;
        let progress = Mutex::new(Progress::of("solving cards", squad.crews.len() * SHARES.len() * tacks(&boat).len()));
        let step = || {
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
        };
        let solved: Vec<_> = squad
            .crews
            .par_iter()
            .zip(&boats)
            .map(|(crew, boat)| (winds(boat, crew, &day, charts.as_ref(), &step), own_setup(boat, crew, &day)))
            .collect();
        drop(progress);

        let written = Written { date, unit: self.units.setting() };
        let mut cards: Vec<(CardDocument, Vec<Caution>)> = Vec::new();
        let mut rows = Rows::under(&["sailor", "boat", "how to sit", ">boom end", ">gap", ">car", ">downhaul", ">board"]);
        for ((crew, boat), (winds, own)) in squad.crews.iter().zip(&boats).zip(solved) {
            let preventer = crew.boat.rigged.get(&Gauge::Preventer).is_some_and(|on| *on > 0.5);
            let who = Who {
                sailor: crew.sailor.label.clone(),
                boat: crew.boat.label.clone(),
                hand: crew.sailor.hand.si(),
                own,
                cautions: watched.said(&class.name, crew.sailor.body.skill, preventer),
            };
            let Some(card) = card(boat, &who, &winds, &written, &words) else {
                warnings.push(Warning::new(who.sailor, "the model found no setting for this wind, so there is no card"));
                continue;
            };
            if winds[1].beat.as_ref().is_some_and(|beat| beat.breach > KEPT) {
                warnings.push(Warning::new(who.sailor.clone(), "she cannot be held flat in the puffs of this wind"));
            }
            for (wind, which) in winds.iter().zip(["lighter", "", "stronger"]).filter(|(wind, _)| wind.beat.is_none()) {
                let knots = format!("{:.0} to {:.0} knots", wind.knots.0, wind.knots.1);
                warnings.push(Warning::new(
                    who.sailor.clone(),
                    format!("the model found no setting for the {which} wind, {knots}: no number there"),
                ));
            }
            let cell = |gauge: Gauge| {
                let row = card.rows.iter().find(|r| r.gauge == gauge.name());
                row.map_or(String::new(), |r| r.values[1].text.clone())
            };
            let sit = words.posture.get(card.posture.key()).cloned().unwrap_or_default();
            let mut row = vec![who.sailor.clone(), who.boat.clone(), sit];
            row.extend(SHOWN.map(cell));
            rows.push(row);
            cards.push((card, who.cautions));
        }
        if cards.is_empty() {
            bail!("no card: the model found no setting for any sailor in this wind");
        }
        let (cards, said): (Vec<_>, Vec<_>) = cards.into_iter().unzip();
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
                .zip(&said)
                .map(|(c, said)| Row {
                    sailor: c.sailor.clone(),
                    boat: c.boat.clone(),
                    sit: words.posture.get(c.posture.key()).cloned().unwrap_or_default(),
                    cautions: said.iter().map(Caution::words).collect(),
                    settings: c.rows.clone(),
                    costs: c.costs.clone(),
                })
                .collect(),
            warnings: warnings.iter().map(ToString::to_string).collect(),
        };
        show(shown, &document, || {
            format!(
                "{}{}wind {:.0} kn at 10 m, settings in {}; {} cards in {}\nThe coach decides who sails.\n",
                told(cards.iter().map(|c| c.sailor.as_str()).zip(said.iter().map(Vec::as_slice))),
                rows.text(),
                ten_metres(&day),
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
