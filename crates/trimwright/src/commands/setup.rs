//! `setup`: the best settings for one sailor in one wind.

use anyhow::{Result, bail};
use boat::balance::{Boat, Tack};
use boat::crew::Sailor;
use boat::gauge::{Gauge, GaugeUnit};
use boat::setup::{Leg, LegSetup, Request};
use clap::Args;
use measure::angle::DEGREE;
use measure::quantity::KNOT;
use serde::Serialize;

use super::day::{Body, Day, OfClass, OnTack, Units, Weather, tack_name};
use crate::jobs::Progress;
use crate::output::{Done, Shown, show};
use crate::table::Rows;

/// The best settings for one sailor in one wind, the band that makes no difference, and what a step beyond it costs
#[derive(Debug, Args)]
#[command(after_help = "Example, 14 knots for a sailor of 45 kg:\n  $ trimwright setup --mass 45 --wind 14 --skill races")]
pub(crate) struct Setup {
    #[command(flatten)]
    class: OfClass,
    #[command(flatten)]
    body: Body,
    #[command(flatten)]
    weather: Weather,
    /// Which legs, with commas: beat, reach, run
    #[arg(long, value_name = "LEGS", default_value = "beat,run")]
    leg: String,
    /// Course of the reach in degrees off the wind; without it the mean of 90 and 120
    #[arg(long, value_name = "DEG", allow_hyphen_values = true)]
    twa: Option<f64>,
    /// One tack; without it both where they differ, the worse first
    #[arg(long, value_enum)]
    tack: Option<OnTack>,
    /// Units on screen
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    units: Units,
}

#[derive(Debug, Serialize)]
struct Document {
    class: String,
    wind: Wind,
    legs: Vec<LegRow>,
}

/// The wind as given and at the model's height.
#[derive(Debug, Serialize)]
pub(super) struct Wind {
    given_ms: f64,
    height_m: f64,
    at_2m_ms: f64,
    gust_over_mean: f64,
}

impl Wind {
    pub(super) fn of(day: &Day) -> Self {
        let at_2m_ms = day.conditions(1.0, Tack::Starboard).wind.at_meter;
        Self { given_ms: day.given, height_m: day.height, at_2m_ms, gust_over_mean: day.gusts }
    }
    /// The first line of a table.
    pub(super) fn words(&self) -> String {
        format!(
            "wind {:.1} kn at {} m, {:.1} kn at 2 m, gusts {:.2} times",
            self.given_ms / KNOT,
            self.height_m,
            self.at_2m_ms / KNOT,
            self.gust_over_mean
        )
    }
}

#[derive(Debug, Serialize)]
struct LegRow {
    leg: &'static str,
    tack: &'static str,
    status: &'static str,
    sit: Option<&'static str>,
    speed_ms: Option<f64>,
    vmg_ms: Option<f64>,
    twa_deg: Option<f64>,
    leeway_deg: Option<f64>,
    heel_deg: Option<f64>,
    rudder_deg: Option<f64>,
    tiller_load_n: Option<f64>,
    sheet_force_n: Option<f64>,
    hike: Option<Hike>,
    looks: Option<Looks>,
    settings: Vec<SettingRow>,
}

#[derive(Debug, Serialize)]
struct Hike {
    needed_m: f64,
    limit_m: f64,
}

/// What the eye checks.
#[derive(Debug, Serialize)]
pub(super) struct Looks {
    pub(super) luff: &'static str,
    pub(super) top_batten: &'static str,
    pub(super) transom: &'static str,
    pub(super) leeward_corner: &'static str,
    /// The diagonal of a sprit sail.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) crease: Option<&'static str>,
}

impl Looks {
    pub(super) fn of(looks: &boat::sail::Looks, whole: &boat::balance::Whole<f64>) -> Self {
        let transom = if whole.afloat.transom_depth > 0.0 { "dragging" } else { "clear" };
        let leeward_corner = if whole.leeward_corner > 0.0 { "clear" } else { "in the water" };
        Self {
            luff: looks.luff.words(),
            top_batten: looks.batten.words(),
            transom,
            leeward_corner,
            crease: looks.crease.map(boat::sail::Crease::words),
        }
    }
}

#[derive(Debug, Serialize)]
struct SettingRow {
    gauge: &'static str,
    value: f64,
    unit: &'static str,
    low: f64,
    high: f64,
    cost_low: f64,
    cost_high: f64,
    step: f64,
    matters: bool,
    basis: &'static str,
}

/// Reads "beat,reach,run".
fn legs(text: &str) -> Result<Vec<Leg>> {
    let mut legs = Vec::new();
    for word in text.split(',').map(str::trim).filter(|w| !w.is_empty()) {
        let leg = match word {
            "beat" => Leg::Beat,
            "reach" => Leg::Reach,
            "run" => Leg::Run,
            other => bail!("--leg {other}: say beat, reach, run, or several with commas"),
        };
        if !legs.contains(&leg) {
            legs.push(leg);
        }
    }
    if legs.is_empty() {
        bail!("--leg: say beat, reach, run, or several with commas");
    }
    Ok(legs)
}

/// Some legs on one tack, a reach on a course (rad) if one is given; the rake is the beat's, so that other legs sail with the mast
/// of the beat.
fn solved(
    boat: &Boat,
    sailor: Sailor,
    day: &Day,
    legs: &[Leg],
    tack: Tack,
    reach: Option<f64>,
) -> Vec<(Leg, Result<LegSetup, boat::balance::Status>)> {
    let request = Request { boat, sailor, conditions: day.conditions(1.0, tack), gusts: day.gusts, reach, bands: true };
    let mut rake = 0.0;
    let mut out = Vec::new();
    // A beat that nobody asked for still sets the mast.
    if !legs.contains(&Leg::Beat)
        && let Ok(beat) = (Request { bands: false, ..request }).leg(Leg::Beat, rake)
    {
        rake = beat.mean().controls[boat::balance::Control::Rake.index()];
    }
    for &leg in legs {
        let answer = request.leg(leg, rake);
        if let (Leg::Beat, Ok(beat)) = (leg, &answer) {
            rake = beat.mean().controls[boat::balance::Control::Rake.index()];
        }
        out.push((leg, answer));
    }
    out
}

impl Setup {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let class = self.class.read()?;
        let sailor = self.body.read()?;
        let day = self.weather.read()?;
        let legs = legs(&self.leg)?;
        if let Some(twa) = self.twa.filter(|a| !(55.0..=150.0).contains(a)) {
            bail!("--twa {twa}: a reach is 55 to 150 degrees off the wind; above it is a beat, below it a run");
        }
        let boat = day.boat(&class, None)?;
        let tacks = match self.tack {
            Some(t) => vec![Tack::from(t)],
            None if boat.tacks_differ() => vec![Tack::Starboard, Tack::Port],
            None => vec![Tack::Starboard],
        };
        let mut progress = Progress::of("solving settings", tacks.len());
        let mut rows = Vec::new();
        for &tack in &tacks {
            for (leg, answer) in solved(&boat, sailor, &day, &legs, tack, self.twa.map(|a| a * DEGREE)) {
                rows.push((leg, tack, answer));
            }
            progress.step();
        }
        // The worse tack first, leg by leg.
        rows.sort_by(|a, b| {
            let speed = |r: &Result<LegSetup, _>| r.as_ref().map_or(0.0, |s| s.made_good);
            a.0.cmp(&b.0).then(speed(&a.2).total_cmp(&speed(&b.2)))
        });
        let document = Document {
            class: class.name.clone(),
            wind: Wind::of(&day),
            legs: rows.iter().map(|(leg, tack, answer)| row(*leg, *tack, answer)).collect(),
        };
        show(shown, &document, || table(&document, &rows, self.units))?;
        Ok(Done::Whole)
    }
}

fn row(leg: Leg, tack: Tack, answer: &Result<LegSetup, boat::balance::Status>) -> LegRow {
    let mut row = LegRow {
        leg: leg.name(),
        tack: tack_name(tack),
        status: "solved",
        sit: None,
        speed_ms: None,
        vmg_ms: None,
        twa_deg: None,
        leeway_deg: None,
        heel_deg: None,
        rudder_deg: None,
        tiller_load_n: None,
        sheet_force_n: None,
        hike: None,
        looks: None,
        settings: Vec::new(),
    };
    let setup = match answer {
        Ok(setup) => setup,
        Err(status) => {
            row.status = status.words();
            return row;
        }
    };
    if setup.breach > 0.02 {
        row.status = "cannot hold her flat";
    } else if !setup.converged {
        row.status = "solved; a better setting may exist";
    }
    let mean = setup.mean();
    let control = |c: boat::balance::Control| mean.controls[c.index()];
    row.sit = Some(setup.sit.words());
    // A reach is sailed for speed along it, the mean of its courses; a beat and a run for what they make good.
    let reach = leg == Leg::Reach;
    row.speed_ms = Some(if reach { setup.made_good } else { mean.whole.speed });
    row.vmg_ms = (!reach).then_some(setup.made_good);
    row.twa_deg = Some(control(boat::balance::Control::WindAngle) / DEGREE);
    row.leeway_deg = Some(mean.whole.leeway / DEGREE);
    row.heel_deg = Some(control(boat::balance::Control::Heel) / DEGREE);
    row.rudder_deg = Some(mean.whole.rudder_angle / DEGREE);
    row.tiller_load_n = Some(mean.whole.rudder.tiller_load(boat::Constants::standard()));
    row.sheet_force_n = Some(mean.whole.sail.sheet_force);
    row.hike = Some(Hike { needed_m: mean.whole.hike, limit_m: setup.limits.hike });
    row.looks = Some(Looks::of(&setup.looks, &mean.whole));
    row.settings = setup
        .settings
        .iter()
        .map(|s| {
            let unit = s.gauge.unit_si();
            SettingRow {
                gauge: s.gauge.name(),
                value: s.value / unit,
                unit: s.gauge.unit().text(),
                low: s.low / unit,
                high: s.high / unit,
                cost_low: s.cost_low,
                cost_high: s.cost_high,
                step: s.step / unit,
                matters: s.matters,
                basis: s.basis.words(),
            }
        })
        .collect();
    row
}

/// A reading as it is read on a tape.
pub(super) fn reading(gauge: Gauge, si: f64, units: Units) -> String {
    match gauge.unit() {
        GaugeUnit::Centimetres => format!("{:.1}", si / units.setting().1),
        GaugeUnit::Degrees => format!("{:.0}", (si / DEGREE) + 0.0),
        GaugeUnit::OnOff => if si > 0.5 { "on" } else { "off" }.to_owned(),
    }
}

/// The unit of a gauge on screen.
pub(super) fn unit(gauge: Gauge, units: Units) -> &'static str {
    match gauge.unit() {
        GaugeUnit::Centimetres => units.setting().0,
        GaugeUnit::Degrees => "deg",
        GaugeUnit::OnOff => "",
    }
}

fn table(document: &Document, rows: &[(Leg, Tack, Result<LegSetup, boat::balance::Status>)], units: Units) -> String {
    let mut text = format!("{}, {}\n", document.class, document.wind.words());
    for ((leg, tack, answer), row) in rows.iter().zip(&document.legs) {
        text += &format!("\n{} on {} tack: ", leg.name(), tack_name(*tack));
        let Ok(setup) = answer else {
            text += row.status;
            text.push('\n');
            continue;
        };
        let mean = setup.mean();
        let course = match leg {
            Leg::Reach => format!(
                "{:.2} kn, the mean of the reach and its gusts; at {:.0} degrees to the wind",
                setup.made_good / KNOT,
                row.twa_deg.unwrap_or(f64::NAN)
            ),
            Leg::Beat | Leg::Run => format!(
                "{:.2} kn at {:.0} degrees to the wind, {:.2} kn made good",
                mean.whole.speed / KNOT,
                row.twa_deg.unwrap_or(f64::NAN),
                setup.made_good / KNOT
            ),
        };
        text += &format!(
            "{}\n{course}; leeway {:.1}, rudder {:.1} degrees; {} of {} cm out\nluff {}, top batten {}{}, transom {}, its leeward corner {}\n",
            setup.sit.words(),
            mean.whole.leeway / DEGREE,
            mean.whole.rudder_angle / DEGREE,
            (mean.whole.hike * 100.0).round(),
            (setup.limits.hike * 100.0).round(),
            setup.looks.luff.words(),
            setup.looks.batten.words(),
            setup.looks.crease.map_or(String::new(), |c| format!(", {}", c.words())),
            row.looks.as_ref().map_or("", |l| l.transom),
            row.looks.as_ref().map_or("", |l| l.leeward_corner),
        );
        if row.status != "solved" {
            text += &format!("{}\n", row.status);
        }
        let mut rows = Rows::under(&["gauge", ">set", "", ">no difference", ">step below costs", ">step above costs", "rests on"]);
        for s in &setup.settings {
            let banded = s.high > s.low;
            let show = |v: f64| reading(s.gauge, v, units);
            let cost = |c: f64| if c > 0.0 { format!("{c:.1} m") } else { String::new() };
            let band = match (banded, s.matters) {
                (true, true) => format!("{} to {}", show(s.low), show(s.high)),
                (true, false) => "does not matter today".to_owned(),
                (false, _) => String::new(),
            };
            rows.push([
                s.gauge.name().to_owned(),
                show(s.value),
                unit(s.gauge, units).to_owned(),
                band,
                cost(s.cost_low),
                cost(s.cost_high),
                s.basis.to_string(),
            ]);
        }
        text += &rows.text();
    }
    text += "\nCosts are metres behind after 500 m made good (on a reach, sailed). The coach decides who sails; this does not say that it is safe.\n";
    text
}
