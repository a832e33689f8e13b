//! `cards`: a card for every sailor of a squad.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use advice::caution::Caution;
use anyhow::{Context, Result, anyhow, bail};
use boat::balance::Tack;
use boat::gauge::Gauge;
use boat::setup::Request;
use clap::{Args, ValueEnum};
use measure::{Warning, counted};
use rayon::prelude::*;
use serde::Serialize;
use squad::fact::day::Day as DayFact;
use squad::{Date, Id, Squad, Store};
use trimwright::briefing::around::Around;
use trimwright::briefing::card::{CardDocument, CardRow, Cost};
use trimwright::briefing::day::{KEPT, Who, Written, card, settings};
use trimwright::briefing::doubts::Doubts;
use trimwright::briefing::solved::{SHARES, beat, own_setup, tacks, ten_metres, winds};
use trimwright::cards::{Layout, pdf, strips_pdf};
use trimwright::given::{self, Given};
use trimwright::words::Words;

use super::chart::Charts;
use super::day::{Day, OfClass, Units, Weather};
use super::store::{constants_in, squad_of, weather_on, writer};
use super::watch::{Kept, Watch, told as said_once};
use crate::input;
use crate::jobs::Progress;
use crate::output::{Done, Shown, WholeFile, show, warn};
use crate::table::Rows;

/// The squad that comes with the program.
const EXAMPLE: &[u8] = include_bytes!("../../../../data/squads/example.toml");

/// Gauges of the table on screen, where a card has them.
const SHOWN: [(Gauge, &str); 8] = [
    (Gauge::BoomEndDock, ">boom end"),
    (Gauge::MastTipTape, ">mast tape"),
    (Gauge::SailBoomGap, ">gap"),
    (Gauge::SpritLine, ">sprit"),
    (Gauge::CarOffset, ">car"),
    (Gauge::DownhaulLine, ">downhaul"),
    (Gauge::BoardAngle, ">board"),
    (Gauge::BoardUp, ">board up"),
];
/// A card for every sailor: how to sit, what to set in three winds, puffs and lulls, who decides
///
/// Without a squad file it takes the program's own twelve invented sailors. No card shows a body mass.
#[derive(Debug, Args)]
#[command(mut_arg("wind", |wind| wind.required(false).required_unless_present("store")))]
#[command(after_help = "Example, cards for the invented squad in 10 knots:\n  $ trimwright cards --wind 10 --out cards.pdf")]
pub(crate) struct Cards {
    #[command(flatten)]
    class: OfClass,
    /// The squad file (TOML or CSV); without it an invented one
    #[arg(long, value_name = "FILE")]
    squad: Option<PathBuf>,
    /// The folder where the squad is kept, instead of --squad; without --wind it also gives the day's forecast
    #[arg(long, value_name = "DIR", conflicts_with = "squad")]
    store: Option<PathBuf>,
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
    /// The day on the cards, in words; with --store its date, like 2026-04-02. Without it today's
    #[arg(long, value_name = "DAY")]
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

/// Who gets a card in which weather, and where what they are told is kept.
struct Asked {
    squad: Squad,
    day: Day,
    date: String,
    warnings: Vec<Warning>,
    kept: Kept,
    store: Option<(Store, Id<DayFact>)>,
}

impl Cards {
    /// The squad as it is kept, the day's weather and date.
    fn kept(&self, folder: &Path) -> Result<Asked> {
        let date = match &self.day {
            Some(day) => day.parse::<Date>().map_err(|error| anyhow!("--day: {error}"))?,
            None => Date(jiff::ZonedDateTime::now().date()),
        };
        let (store, squad, mut warnings) = squad_of(folder, Some(date))?;
        let day =
            if self.weather.given() { self.weather.read()?.by(&constants_in(&store)?) } else { weather_on(&store, date, &mut warnings)? };
        let kept = Kept::of(&store, date, squad.crews.len())?;
        let of = store.days_on(date)?.first().map(|day| day.id);
        Ok(Asked { squad, day, date: in_words(date.0), warnings, kept, store: of.map(|of| (store, of)) })
    }

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
        let asked = match &self.store {
            Some(folder) => self.kept(folder)?,
            None => {
                let day = self.weather.read()?;
                let (squad, warnings) = self.squad()?;
                let date = self.day.clone().unwrap_or_else(today);
                Asked { squad, day, date, warnings, kept: Kept::default(), store: None }
            }
        };
        let Asked { squad, day, date, mut warnings, kept, mut store } = asked;
        let watched = self.watch.read(&day, kept)?;
        if day.given <= 0.0 {
            bail!("no wind: there is nothing to set; give the wind you expect, like --wind 6");
        }
        let out = WholeFile::open(&self.out)?;
        let strips = self.strips.as_deref().map(WholeFile::open).transpose()?;
        let words = Words::english().context("the words of the cards")?;
        let boat = day.boat(&class, None)?;
        let boats =
            squad.crews.iter().map(|crew| day.own(&class, crew).with_context(|| crew.sailor.label.clone())).collect::<Result<Vec<_>>>()?;

        let charts = self.chart.as_deref().map(|path| Charts::of(path, &boat, &day)).transpose()?;
        let points = squad.crews.len() * SHARES.len() * tacks(&boat).len() + charts.as_ref().map_or(SHARES.len(), |_| 0);
        let progress = Mutex::new(Progress::of("solving cards", points));
        let step = || {
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
        };
        let alone;
        let doubts = match &charts {
            Some(charts) => charts.doubts(),
            None => {
                let winds = SHARES.map(|share| day.conditions(share, Tack::Starboard).wind);
                let sailors = squad.crews.iter().map(|crew| &crew.sailor.body);
                let go = || {
                    step();
                    true
                };
                alone = Doubts::of_squad(sailors, &boat, &day, &winds, &go).context("solving the doubts was stopped")?;
                &alone
            }
        };
        let solved: Vec<_> = squad
            .crews
            .par_iter()
            .zip(&boats)
            .map(|(crew, boat)| {
                let body = crew.sailor.body;
                let charts = charts.as_ref().filter(|charts| charts.hold(boat, crew.sailor.sail.as_deref()));
                let find = |share, tack| {
                    let request =
                        Request { boat, sailor: body, conditions: day.conditions(share, tack), gusts: day.gusts, reach: None, bands: true };
                    let mut beat = match charts {
                        Some(charts) => charts.beat(&request),
                        None => beat(boat, &body, &day, share, tack, true),
                    }?;
                    doubts.lend(&request, &mut beat.settings);
                    Some(beat)
                };
                let request = Request {
                    boat,
                    sailor: body,
                    conditions: day.conditions(1.0, Tack::Starboard),
                    gusts: day.gusts,
                    reach: None,
                    bands: false,
                };
                let around = || match charts {
                    Some(charts) => charts.around(&request),
                    None => Around::solved(&request).ok(),
                };
                let (winds, around) = rayon::join(|| winds(boat, &day, &find, &step), around);
                (winds, own_setup(boat, crew, &day), around)
            })
            .collect();
        drop(progress);

        let written = Written { date, unit: self.units.setting() };
        let mut cards: Vec<(CardDocument, Vec<Caution>)> = Vec::new();
        let mut told: Vec<Given> = Vec::new();
        for ((crew, boat), (winds, own, around)) in squad.crews.iter().zip(&boats).zip(solved) {
            let preventer = crew.boat.rigged.get(&Gauge::Preventer).is_some_and(|on| *on > 0.5);
            let who = Who {
                sailor: crew.sailor.label.clone(),
                boat: crew.boat.label.clone(),
                hand: crew.sailor.hand.si(),
                own,
                cautions: watched.said(&class.name, crew.sailor.body.skill, preventer),
                plan: around.map(|around| around.plan(crew.sailor.body.skill)),
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
            told.push(Given {
                sailor: card.sailor.clone(),
                boat: card.boat.clone(),
                sit: words.posture.get(card.posture.key()).cloned().unwrap_or_default(),
                settings: settings(boat, &who.own, &winds),
            });
            cards.push((card, who.cautions));
        }
        if cards.is_empty() {
            bail!("no card: the model found no setting for any sailor in this wind");
        }
        let (cards, said): (Vec<_>, Vec<_>) = cards.into_iter().unzip();
        let rows = table(&cards, &words);
        let layout = match self.sheet {
            Sheet::A6 => Layout::A6,
            Sheet::A4 => Layout::FourToA4,
        };
        out.finish(&pdf(&cards, &layout).context("printing the cards")?)?;
        if let Some((store, of)) = &mut store {
            given::keep(store, *of, &day, &told, &writer()).context("the setups were printed, but not kept as given")?;
        }
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
                "{}{}wind {:.0} kn at 10 m, settings in {}; {} in {}\nThe coach decides who sails.\n",
                said_once(cards.iter().map(|c| c.sailor.as_str()).zip(said.iter().map(Vec::as_slice))),
                rows.text(),
                ten_metres(&day),
                self.units.setting().0,
                counted(cards.len(), "card"),
                self.out.display()
            )
        })?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }
}

/// The table on screen: a line a card, of the gauges that any of them has.
fn table(cards: &[CardDocument], words: &Words) -> Rows {
    let value = |card: &CardDocument, gauge: Gauge| card.rows.iter().find(|r| r.gauge == gauge.name()).map(|r| r.values[1].text.clone());
    let shown: Vec<_> = SHOWN.iter().filter(|(gauge, _)| cards.iter().any(|card| value(card, *gauge).is_some())).collect();
    let mut columns = vec!["sailor", "boat", "how to sit"];
    columns.extend(shown.iter().map(|s| s.1));
    let mut rows = Rows::under(&columns);
    for card in cards {
        let sit = words.posture.get(card.posture.key()).cloned().unwrap_or_default();
        let mut row = vec![card.sailor.clone(), card.boat.clone(), sit];
        row.extend(shown.iter().map(|s| value(card, s.0).unwrap_or_default()));
        rows.push(row);
    }
    rows
}

/// Today, by this machine's clock.
fn today() -> String {
    in_words(jiff::ZonedDateTime::now().date())
}

fn in_words(date: jiff::civil::Date) -> String {
    date.strftime("%-d %B").to_string()
}
