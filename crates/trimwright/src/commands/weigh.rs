//! `weigh`: a boat on the scale.

use advice::weight::{BATHROOM_SCALE, Scale, Trend, WeighIn, Weighed, kilogram};
use anyhow::{Context, Result, bail};
use boat::balance::{Control, Tack};
use boat::class::Class;
use boat::setup::{Leg, Request};
use clap::Args;
use jiff::civil::Date;
use measure::Mass;
use measure::quantity::{Range, plain};
use serde::Serialize;

use super::day::{Body, OfClass, Weather, number};
use crate::jobs::Progress;
use crate::output::{Done, Shown, show};

/// A boat on the scale: over or under the class minimum as near as the scale tells, water, trend, what a kilogram costs today
///
/// With --wind and --mass it also tells what a kilogram of water, boat or kit costs today.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  On a bathroom scale, with 0.3 kg of water drained after:\n  $ trimwright weigh --reading 43.6 --water-found 0.3\n  On her trolley, and what a kilogram costs in 8 knots:\n  $ trimwright weigh --reading 57.4 --trolley 13 --wind 8 --mass 45\n  With earlier weigh-ins, on a good scale:\n  $ trimwright weigh --reading 44.4 --scale-error 0.1 --before 2026-04-02=43.9 --on 2026-06-04"
)]
pub(crate) struct Weigh {
    #[command(flatten)]
    class: OfClass,
    /// What the scale said, in kilograms; also "95 lb"
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    reading: String,
    /// The trolley alone, when the boat stood on it
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    trolley: Option<String>,
    /// Water found in her that was on the scale
    #[arg(long, value_name = "KG", default_value = "0", allow_hyphen_values = true)]
    water_found: String,
    /// Correctors fixed in her
    #[arg(long, value_name = "KG", default_value = "0", allow_hyphen_values = true)]
    correctors: String,
    /// How far the scale may be off; without it that of a bathroom scale
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    scale_error: Option<String>,
    /// An earlier weigh-in: its day and the boat's weight without water, like 2026-04-02=43.9
    #[arg(long, value_name = "DATE=KG")]
    before: Vec<String>,
    /// The day of this weigh-in; without it today
    #[arg(long, value_name = "DATE")]
    on: Option<String>,
    /// Wind in knots at 10 m, for what a kilogram costs today
    #[arg(long, value_name = "KN", requires = "mass", allow_hyphen_values = true)]
    wind: Option<String>,
    /// The sailor's mass in kilograms, for the same; used here and printed nowhere
    #[arg(long, value_name = "KG", requires = "wind", allow_hyphen_values = true)]
    mass: Option<String>,
}

#[derive(Debug, Serialize)]
struct Document {
    class: String,
    boat_kg: f64,
    bare_kg: f64,
    minimum_kg: f64,
    margin_kg: f64,
    error_kg: f64,
    stands: &'static str,
    may_come_out_kg: f64,
    to_add_kg: f64,
    water_kg: f64,
    trend: Option<TrendRow>,
    kilogram: Vec<KilogramRow>,
    words: Vec<String>,
}

#[derive(Debug, Serialize)]
struct TrendRow {
    kg_a_week: f64,
    error_kg_a_week: f64,
    weeks: f64,
}

/// What a kilogram of water, boat or kit costs on a leg.
#[derive(Debug, Serialize)]
struct KilogramRow {
    leg: &'static str,
    status: &'static str,
    cost_m: Option<f64>,
    cost_lengths: Option<f64>,
}

fn kilograms(text: &str, option: &'static str) -> Result<f64> {
    number(text, &Range { what: "a weight", ..Mass::RANGE }, 1.0).context(option)
}

fn date(text: &str) -> Result<Date> {
    text.trim().parse().ok().with_context(|| format!("\"{text}\" is no day: write it like 2026-04-02"))
}

impl Weigh {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let class = self.class.read()?;
        let weigh_in = WeighIn {
            reading: kilograms(&self.reading, "--reading")?,
            trolley: self.trolley.as_deref().map(|t| kilograms(t, "--trolley")).transpose()?,
            water: kilograms(&self.water_found, "--water-found")?,
            correctors: kilograms(&self.correctors, "--correctors")?,
            scale_error: self.scale_error.as_deref().map_or(Ok(BATHROOM_SCALE), |t| kilograms(t, "--scale-error"))?,
        };
        let weighed = weigh_in.weighed(&class)?;
        let trend = self.trend(&weighed, weigh_in.scale_error)?;
        let kilogram = self.kilogram(&class)?;
        let mut words = weighed.words(&class, Scale::KILOGRAMS);
        words.extend(trend.map(|t| t.words(&class, Scale::KILOGRAMS)));
        words.extend(kilogram.iter().map(|row| match (row.cost_m, row.cost_lengths) {
            (Some(m), Some(lengths)) => {
                format!("A kilogram of water, boat or kit costs {:.1} m in 500 m on the {}: {:.1} boat lengths.", m, row.leg, lengths)
            }
            _ => format!("What a kilogram costs on the {} is not known: {}.", row.leg, row.status),
        }));
        let document = Document {
            class: class.name.clone(),
            boat_kg: weighed.boat,
            bare_kg: weighed.bare,
            minimum_kg: class.hull.minimum_mass,
            margin_kg: weighed.margin,
            error_kg: weighed.error,
            stands: weighed.stands.words(),
            may_come_out_kg: weighed.may_come_out,
            to_add_kg: weighed.to_add,
            water_kg: weighed.water,
            trend: trend.map(|t| TrendRow { kg_a_week: t.a_week, error_kg_a_week: t.error, weeks: t.weeks }),
            kilogram,
            words,
        };
        show(shown, &document, || table(&document, &class))?;
        Ok(Done::Whole)
    }

    /// How her weight goes, with today's among the earlier ones.
    fn trend(&self, weighed: &Weighed, scale_error: f64) -> Result<Option<Trend>> {
        let day = |date: Date| date.duration_since(jiff::civil::date(2000, 1, 1)).as_secs_f64() / 86400.0;
        let mut weights = Vec::new();
        for text in &self.before {
            let (on, weight) =
                text.split_once('=').with_context(|| format!("--before {text}: write the day, = and the weight, like 2026-04-02=43.9"))?;
            weights.push((day(date(on).context("--before")?), kilograms(weight, "--before")?));
        }
        let today = match &self.on {
            Some(text) => date(text).context("--on")?,
            None => jiff::ZonedDateTime::now().date(),
        };
        if weights.iter().any(|w| w.0 >= day(today)) {
            bail!("--before: a weigh-in is not before {today}: check the days, or give this one's with --on");
        }
        weights.push((day(today), weighed.boat));
        Ok(Trend::of(&weights, scale_error))
    }

    /// What a kilogram costs, where wind and sailor are given.
    fn kilogram(&self, class: &Class) -> Result<Vec<KilogramRow>> {
        let (Some(wind), Some(mass)) = (&self.wind, &self.mass) else { return Ok(Vec::new()) };
        let (day, sailor) = (Weather::of(wind).read()?, Body::of(mass, None, None).read()?);
        let boat = day.boat(class, None)?;
        let conditions = day.conditions(1.0, Tack::Starboard);
        let request = Request { boat: &boat, sailor, conditions, gusts: day.gusts, reach: None, bands: false };
        let mut progress = Progress::of("solving legs", 2);
        let mut rows = Vec::new();
        let mut rake = 0.0;
        for leg in [Leg::Beat, Leg::Run] {
            let (status, cost) = match request.leg(leg, rake) {
                Ok(setup) => {
                    rake = setup.mean().controls[Control::Rake.index()];
                    let cost = kilogram(&request, &setup);
                    (if cost.is_some() { "solved" } else { "no balance with more weight" }, cost)
                }
                Err(status) => (status.words(), None),
            };
            progress.step();
            let cost_lengths = cost.map(|m| m / class.hull.length);
            rows.push(KilogramRow { leg: leg.name(), status, cost_m: cost, cost_lengths });
        }
        Ok(rows)
    }
}

fn table(document: &Document, class: &Class) -> String {
    let kg = |mass: f64| plain((mass * 10.0).round() / 10.0);
    let on = if class.hull.weighed.is_empty() { String::new() } else { format!(" ({})", class.hull.weighed.join(", ")) };
    let mut text = format!("{}: {} kg dry{on}", document.class, kg(document.boat_kg));
    if document.bare_kg < document.boat_kg {
        text += &format!(", {} kg without correctors", kg(document.bare_kg));
    }
    text.push('\n');
    for sentence in &document.words {
        text += &format!("  {sentence}\n");
    }
    text
}
