//! What several commands ask: which class, which sailor, which wind.

use std::path::PathBuf;

use anyhow::{Context, Result, bail};
use boat::balance::Tack;
use boat::class::Class;
use boat::crew::{Sailor, Skill, usual_stature};
use clap::{Args, ValueEnum};
use measure::fluid::Water;
use measure::quantity::{KNOT, Range, plain};
use measure::wind::WIND_RANGE;
use measure::{Length, Mass, Temperature, WindLaw};
use trimwright::day::{sail_of, usual_gusts};

pub(crate) use trimwright::day::Day;
pub(crate) use trimwright::race_day::wind::number;

use crate::input;

/// Least and greatest mass of a sailor that needs no question, kg.
const SAILOR: [f64; 2] = [20.0, 110.0];
/// A mass typed without a unit above this is asked about: a child's pounds look like it, kg.
const ASKED_ABOVE: f64 = 80.0;

/// A class.
#[derive(Debug, Args)]
pub(crate) struct OfClass {
    /// The class file (TOML); without it the program's own invented pram
    #[arg(long, value_name = "FILE")]
    pub(crate) class: Option<PathBuf>,
    /// Which of the class's sails; without it the first of the class file
    #[arg(long, value_name = "NAME")]
    sail: Option<String>,
}

impl OfClass {
    pub(crate) fn read(&self) -> Result<Class> {
        let mut class = self.class.as_deref().map_or_else(|| Ok(Class::pram()), class)?;
        if let Some(name) = &self.sail {
            // The first sail is the one a boat has when nobody says another.
            let wanted = sail_of(&class, name).context("--sail")?;
            class.sails.swap(0, wanted);
        }
        Ok(class)
    }
}

/// The class of a file.
pub(crate) fn class(path: &std::path::Path) -> Result<Class> {
    Ok(Class::read(&input::text(path)?, &path.display().to_string())?)
}

/// Wind and water of a day.
#[derive(Debug, Args)]
pub(crate) struct Weather {
    /// Wind in knots; also "5 m/s"
    #[arg(long, value_name = "KN", allow_hyphen_values = true, required = true)]
    wind: Option<String>,
    /// Height above the water at which that wind was measured or forecast, in metres
    #[arg(long, value_name = "M", default_value = "10")]
    wind_height: String,
    /// What the boat floats in
    #[arg(long, value_enum, default_value_t = In::Sea)]
    water: In,
    /// Land close upwind: a small lake or a harbour
    #[arg(long)]
    sheltered: bool,
    /// Height of the chop in metres, trough to crest of the larger waves
    #[arg(long, value_name = "M", default_value = "0")]
    chop: String,
    /// A three-second gust over the mean wind; without it 1.3, or 1.45 on sheltered water
    #[arg(long, value_name = "F")]
    gusts: Option<String>,
}

/// Sea or fresh.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum In {
    /// Salt water.
    Sea,
    /// Fresh water.
    Fresh,
}

impl Weather {
    /// A wind on open sea, and nothing else said.
    pub(crate) fn of(wind: &str) -> Self {
        let (height, chop) = ("10".to_owned(), "0".to_owned());
        Self { wind: Some(wind.to_owned()), wind_height: height, water: In::Sea, sheltered: false, chop, gusts: None }
    }
    /// Whether a wind was given.
    pub(crate) const fn given(&self) -> bool {
        self.wind.is_some()
    }
    pub(crate) fn read(&self) -> Result<Day> {
        let wind = self.wind.as_deref().context("--wind is missing: give the wind you expect in knots, like --wind 8")?;
        let metres = |text: &str, low: f64, high: f64, what: &'static str| number(text, &Range { what, low, high, ..Length::RANGE }, 1.0);
        let gusts = match &self.gusts {
            None => usual_gusts(self.sheltered),
            Some(text) => text
                .trim()
                .replace(',', ".")
                .parse::<f64>()
                .ok()
                .filter(|g| (1.0..=1.75).contains(g))
                .with_context(|| format!("--gusts {text}: give a three-second gust over the mean wind, 1 to 1.75, like 1.3"))?,
        };
        Ok(Day {
            given: number(wind, &WIND_RANGE, KNOT).context("--wind")?,
            height: metres(&self.wind_height, 0.5, 30.0, "a height of the wind").context("--wind-height")?,
            law: if self.sheltered { WindLaw::Sheltered } else { WindLaw::Open },
            chop: metres(&self.chop, 0.0, 1.0, "a chop").context("--chop")?,
            gusts,
            water: if self.water == In::Fresh { Water::Fresh } else { Water::Sea }
                .at(Temperature::celsius(trimwright::day::USUAL_TEMPERATURE)),
            constants: *boat::Constants::standard(),
        })
    }
}

/// A sailor.
#[derive(Debug, Args)]
pub(crate) struct Body {
    /// The sailor's mass in kilograms, dressed to sail; also "99 lb". Used here and printed nowhere
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    mass: String,
    /// The sailor's stature in centimetres; without it that of children of this mass
    #[arg(long, value_name = "CM")]
    stature: Option<String>,
    /// first season | sails a course | races | races in any wind
    #[arg(long, value_name = "S", default_value = "sails a course")]
    skill: String,
}

impl Body {
    /// A sailor of whom a mass and perhaps more was said.
    pub(crate) fn of(mass: &str, stature: Option<&str>, skill: Option<&str>) -> Self {
        let skill = skill.unwrap_or(Skill::default().words());
        Self { mass: mass.to_owned(), stature: stature.map(str::to_owned), skill: skill.to_owned() }
    }
    pub(crate) fn read(&self) -> Result<Sailor> {
        let mass = number(&self.mass, &Mass::RANGE, 1.0).context("--mass")?;
        if !(SAILOR[0]..=SAILOR[1]).contains(&mass) {
            let pounds = mass * measure::quantity::POUND;
            if (SAILOR[0]..=SAILOR[1]).contains(&pounds) && self.mass.trim().parse::<f64>().is_ok() {
                bail!(
                    "--mass {}: were pounds meant? Type it in kilograms, like {}, or with its unit, like \"{} lb\"",
                    self.mass,
                    plain(pounds.round()),
                    self.mass.trim()
                );
            }
            bail!(
                "--mass {}: a sailor has {} to {} kg; type kilograms, like 42, or pounds with their unit, like \"93 lb\"",
                self.mass,
                SAILOR[0],
                SAILOR[1]
            );
        }
        if mass > ASKED_ABOVE && self.mass.trim().parse::<f64>().is_ok() {
            let pounds = (mass * measure::quantity::POUND).round();
            let typed = self.mass.trim();
            bail!("--mass {typed}: kilograms or pounds? Type \"{typed} kg\", or for pounds \"{typed} lb\", which is {} kg", plain(pounds));
        }
        let stature = match &self.stature {
            None => usual_stature(mass),
            Some(text) => number(text, &Range { what: "a stature", low: 1.0, high: 2.1, ..Length::RANGE }, 0.01).context("--stature")?,
        };
        let skill = Skill::named(&self.skill).with_context(|| {
            let words: Vec<_> = Skill::ALL.iter().map(|s| s.words()).collect();
            format!("--skill \"{}\": say one of: {}", self.skill, words.join(", "))
        })?;
        Ok(Sailor { mass, stature, skill })
    }
}

/// Port or starboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum OnTack {
    /// Wind from port.
    Port,
    /// Wind from starboard.
    Starboard,
}

impl From<OnTack> for Tack {
    fn from(tack: OnTack) -> Self {
        match tack {
            OnTack::Port => Self::Port,
            OnTack::Starboard => Self::Starboard,
        }
    }
}

/// The tack in a word.
pub(crate) const fn tack_name(tack: Tack) -> &'static str {
    match tack {
        Tack::Starboard => "starboard",
        Tack::Port => "port",
    }
}

/// Metric or US customary, on screen and paper; JSON is SI always.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    /// Centimetres and metres.
    Metric,
    /// Inches and feet.
    Us,
}

impl Units {
    /// The unit of settings and its length, m.
    pub(crate) const fn setting(self) -> (&'static str, f64) {
        match self {
            Self::Metric => ("cm", 0.01),
            Self::Us => ("in", measure::quantity::INCH),
        }
    }
    /// The unit of lengths over the water.
    pub(crate) const fn long(self) -> trimwright::long::Long {
        match self {
            Self::Metric => trimwright::long::Long::METRES,
            Self::Us => trimwright::long::Long::FEET,
        }
    }
}
