//! Cautions as data: what sets each off, what it says, who decides (`data/cautions.toml`); and the limits of wind a club sets.
//!
//! A gust is compared at 2 m, the height of a sail: a forecast at 10 m reads higher. What nobody told is not guessed: a fact
//! that is `None` sets nothing off. No limit set is told too. Silence is no word that it is safe to sail.

use std::collections::BTreeMap;

use boat::crew::Skill;
use measure::quantity::{KNOT, plain};
use measure::{Speed, Temperature};
use serde::Deserialize;
use toml::Spanned;

use crate::error::AdviceError;

/// The cautions that come with the program.
const TEXT: &str = include_str!("../../../data/cautions.toml");

/// What sets a caution off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Trigger {
    GustOverLimit,
    NoLimitSet,
    WaterBelow,
    OffshoreWind,
    WindAgainstTide,
    Thunder,
    SailorsPerSafetyBoatOver,
    NoSafetyBoat,
    DaylightBelow,
    PreventerOn,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    key: String,
    trigger: Trigger,
    below: Option<String>,
    over: Option<f64>,
    fact: String,
    deed: String,
    who: String,
    card: Sentences,
    source: String,
}

/// A caution in three short sentences, to a child.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sentences {
    /// The fact.
    pub fact: String,
    /// What to do.
    pub deed: String,
    /// Who decides.
    pub who: String,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    caution: Vec<Entry>,
}

/// The cautions of a file, in the order they are told.
#[derive(Debug, Clone, PartialEq)]
pub struct Cautions(Vec<Entry>);

/// What is known of the day and of one sailor's boat. `None` is: nobody told.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Facts {
    /// Three-second gust at 2 m, m/s.
    pub gust: f64,
    /// The water, K.
    pub water: Option<Temperature>,
    /// Whether the wind blows off the shore.
    pub offshore: Option<bool>,
    /// Whether it blows against the tide.
    pub against_tide: Option<bool>,
    /// Whether there is thunder about, or forecast.
    pub thunder: Option<bool>,
    /// Safety boats out, and sailors afloat.
    pub safety_boats: Option<(u32, u32)>,
    /// Daylight left, s.
    pub daylight: Option<f64>,
    /// Whether a preventer is on.
    pub preventer: bool,
}

/// A figure as it is said: the number, and its unit by name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Figure {
    /// The number.
    pub number: String,
    /// `knots`, `degrees`, `hours` or `minutes`; empty where it is a plain number, or there is none.
    pub unit: &'static str,
}

impl Figure {
    fn of(number: String, unit: &'static str) -> Self {
        Self { number, unit }
    }

    fn knots(si: f64) -> Self {
        Self::of(tenth(si / KNOT), "knots")
    }

    /// The number with its unit, as the unit is called in a language.
    #[must_use]
    pub fn words(&self, unit: &str) -> String {
        if self.unit.is_empty() { self.number.clone() } else { format!("{} {unit}", self.number) }
    }

    fn english(&self) -> String {
        self.words(if self.unit == "degrees" { "°C" } else { self.unit })
    }
}

/// One caution, said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Which one.
    pub key: String,
    /// The fact.
    pub fact: String,
    /// What to do.
    pub deed: String,
    /// Who decides.
    pub who: String,
    /// The same in a child's words, as a card has it.
    pub card: Sentences,
    /// The figure in it.
    pub figure: Figure,
    /// What it rests on.
    pub source: String,
    /// Whether a limit is broken: said first and large.
    pub over_limit: bool,
}

impl Caution {
    /// All of it, in one line.
    #[must_use]
    pub fn words(&self) -> String {
        format!("{} {} {}", self.fact, self.deed, self.who)
    }
}

/// Limits of gust at 2 m, m/s, by class and skill.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits(BTreeMap<(String, Skill), f64>);

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct LimitRow {
    class: Spanned<String>,
    skill: Spanned<String>,
    gust: Spanned<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct LimitFile {
    #[serde(default)]
    limit: Vec<LimitRow>,
}

/// Gusts a limit may have, m/s: 2 to 40 knots. Assumed: beyond either it is a slip.
const GUSTS: [f64; 2] = [2.0 * KNOT, 40.0 * KNOT];

fn line(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|&b| b == b'\n').count()
}

impl Limits {
    /// Limits of gust (m/s at 2 m) by class and skill.
    pub fn of(limits: impl IntoIterator<Item = (String, Skill, f64)>) -> Self {
        Self(limits.into_iter().map(|(class, skill, gust)| ((class, skill), gust)).collect())
    }

    /// Reads the limits of a club: a `[[limit]]` with `class`, `skill` and `gust` for every skill of each class it names.
    ///
    /// # Errors
    /// What cannot be read, with its line; a class and skill twice; a table with gaps, each named.
    pub fn read(text: &str, file: &str) -> Result<Self, AdviceError> {
        let fault = |at: usize, what: String| AdviceError::Unreadable { file: file.to_owned(), line: line(text, at), what };
        let read: LimitFile = toml::from_str(text).map_err(|e| {
            let what = e.message().lines().next().unwrap_or("it does not read as TOML");
            fault(e.span().map_or(0, |s| s.start), format!("{what}; write [[limit]] with class, skill and gust"))
        })?;
        if read.limit.is_empty() {
            return Err(fault(0, "there is no limit in it; write [[limit]] with class, skill and gust".to_owned()));
        }
        let mut limits = BTreeMap::new();
        for row in &read.limit {
            let words = row.skill.get_ref();
            let skill = Skill::named(words).ok_or_else(|| {
                let all: Vec<_> = Skill::ALL.iter().map(|s| s.words()).collect();
                fault(row.skill.span().start, format!("skill: \"{}\" is none of: {}", clipped(words), all.join(", ")))
            })?;
            let gust = Speed::parse(row.gust.get_ref()).map_err(|e| fault(row.gust.span().start, format!("gust: {e}")))?.si();
            if !(GUSTS[0]..=GUSTS[1]).contains(&gust) {
                let what = format!("gust: \"{}\" is not 2 to 40 kn; check the unit", clipped(row.gust.get_ref()));
                return Err(fault(row.gust.span().start, what));
            }
            let class = row.class.get_ref().trim().to_owned();
            if limits.insert((class.clone(), skill), gust).is_some() {
                let what = format!("{}, {} is limited twice: keep one", clipped(&class), skill.words());
                return Err(fault(row.class.span().start, what));
            }
        }
        let mut gaps = Vec::new();
        let mut classes: Vec<&String> = limits.keys().map(|(class, _)| class).collect();
        classes.dedup();
        for class in classes {
            let lacking = Skill::ALL.into_iter().filter(|skill| !limits.contains_key(&(class.clone(), *skill)));
            gaps.extend(lacking.map(|skill| format!("{}, {}", clipped(class), skill.words())));
        }
        if gaps.is_empty() { Ok(Self(limits)) } else { Err(AdviceError::Gaps { file: file.to_owned(), gaps }) }
    }

    /// The gust (m/s at 2 m) a class and skill are limited to, if the club set one.
    #[must_use]
    pub fn gust(&self, class: &str, skill: Skill) -> Option<f64> {
        self.0.get(&(class.trim().to_owned(), skill)).copied()
    }
}

fn clipped(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(40).collect()
}

impl Cautions {
    /// Those that come with the program.
    ///
    /// # Errors
    /// The place in the file, should it be broken.
    pub fn standard() -> Result<Self, AdviceError> {
        Self::read(TEXT, "data/cautions.toml")
    }

    /// Reads a file of cautions.
    ///
    /// # Errors
    /// What cannot be read, with its line; a caution that names nobody who decides, or lacks the figure its trigger needs.
    pub fn read(text: &str, file: &str) -> Result<Self, AdviceError> {
        let fault = |line: usize, what: String| AdviceError::Unreadable { file: file.to_owned(), line, what };
        let read: File = toml::from_str(text)
            .map_err(|e| fault(e.span().map_or(1, |s| line(text, s.start)), e.message().lines().next().unwrap_or_default().to_owned()))?;
        for entry in &read.caution {
            if ![&entry.who, &entry.card.who].iter().all(|who| who.contains("decides")) {
                return Err(fault(1, format!("{}: who decides must be named, like \"The coach decides.\"", clipped(&entry.key))));
            }
            let figure = match entry.trigger {
                Trigger::WaterBelow => entry.degrees().is_some(),
                Trigger::DaylightBelow => entry.hours().is_some(),
                Trigger::SailorsPerSafetyBoatOver => entry.over.is_some_and(f64::is_finite),
                _ => true,
            };
            if !figure {
                let what = "its trigger needs a figure: below = \"15 °C\", below = \"1.5 h\" or over = 6";
                return Err(fault(1, format!("{}: {what}", clipped(&entry.key))));
            }
        }
        Ok(Self(read.caution))
    }

    /// The same with the club's own number of sailors to a safety boat, where it has one.
    #[must_use]
    pub fn with_sailors_per_safety_boat(mut self, sailors: Option<f64>) -> Self {
        let Some(sailors) = sailors.filter(|s| s.is_finite()) else { return self };
        for entry in self.0.iter_mut().filter(|entry| entry.trigger == Trigger::SailorsPerSafetyBoatOver) {
            entry.over = Some(sailors);
            "the club's own limit".clone_into(&mut entry.source);
        }
        self
    }

    /// How many sailors a safety boat looks after at most, where a caution says so.
    #[must_use]
    pub fn sailors_per_safety_boat(&self) -> Option<f64> {
        self.0.iter().filter(|entry| entry.trigger == Trigger::SailorsPerSafetyBoatOver).find_map(|entry| entry.over)
    }

    /// What to say to a sailor of a class and skill on a day, what is over a limit first, then in the order of the file.
    #[must_use]
    pub fn said(&self, facts: &Facts, limits: &Limits, class: &str, skill: Skill) -> Vec<Caution> {
        let limit = limits.gust(class, skill);
        let mut said: Vec<Caution> = self.0.iter().filter_map(|entry| entry.said(facts, limit, skill)).collect();
        said.sort_by_key(|caution| !caution.over_limit);
        said
    }
}

impl Entry {
    fn degrees(&self) -> Option<f64> {
        self.below.as_deref().and_then(|t| Temperature::parse(t).ok()).map(Temperature::in_celsius)
    }

    fn hours(&self) -> Option<f64> {
        let text = self.below.as_deref()?.trim().strip_suffix('h')?;
        text.trim().parse().ok().filter(|h: &f64| h.is_finite())
    }

    fn said(&self, facts: &Facts, limit: Option<f64>, skill: Skill) -> Option<Caution> {
        let mut figure = Figure::default();
        let mut at = Figure::default();
        let set_off = match self.trigger {
            Trigger::GustOverLimit => {
                let limit = limit?;
                (figure, at) = (Figure::knots(facts.gust), Figure::knots(limit));
                facts.gust > limit
            }
            Trigger::NoLimitSet => {
                figure = Figure::knots(facts.gust);
                limit.is_none()
            }
            Trigger::WaterBelow => {
                let water = facts.water?.in_celsius();
                figure = Figure::of(format!("{water:.0}"), "degrees");
                water < self.degrees()?
            }
            Trigger::OffshoreWind => facts.offshore?,
            Trigger::WindAgainstTide => facts.against_tide?,
            Trigger::Thunder => facts.thunder?,
            Trigger::NoSafetyBoat => facts.safety_boats?.0 == 0,
            Trigger::SailorsPerSafetyBoatOver => {
                let (boats, sailors) = facts.safety_boats.filter(|(boats, _)| *boats > 0)?;
                let each = f64::from(sailors) / f64::from(boats);
                figure = Figure::of(tenth(each), "");
                each > self.over?
            }
            Trigger::DaylightBelow => {
                let hours = facts.daylight? / 3600.0;
                figure = if hours < 1.0 {
                    Figure::of(format!("{:.0}", (hours * 60.0).max(0.0)), "minutes")
                } else {
                    Figure::of(tenth(hours), "hours")
                };
                hours < self.hours()?
            }
            Trigger::PreventerOn => facts.preventer,
        };
        let filled = |text: &str| text.replace("{x}", &figure.english()).replace("{limit}", &at.english()).replace("{who}", group(skill));
        set_off.then(|| Caution {
            key: self.key.clone(),
            fact: filled(&self.fact),
            deed: filled(&self.deed),
            who: self.who.clone(),
            card: Sentences { fact: filled(&self.card.fact), deed: filled(&self.card.deed), who: self.card.who.clone() },
            figure: figure.clone(),
            source: self.source.clone(),
            over_limit: self.trigger == Trigger::GustOverLimit,
        })
    }
}

/// Those of a skill, in words that go into a sentence.
const fn group(skill: Skill) -> &'static str {
    match skill {
        Skill::FirstSeason => "sailors in their first season",
        Skill::SailsACourse => "sailors who sail a course",
        Skill::Races => "sailors who race",
        Skill::RacesInAnyWind => "sailors who race in any wind",
    }
}

/// To one decimal at most.
fn tenth(value: f64) -> String {
    plain((value * 10.0).round() / 10.0)
}
