//! `balance`: the solved state for given settings.

use anyhow::{Context, Result, anyhow, bail};
use boat::balance::{Case, Control, Tack};
use boat::gauge::{Gauge, GaugeUnit};
use boat::sail::{SailState, Strip};
use boat::setup::{Leg, Request};
use clap::Args;
use measure::angle::DEGREE;
use measure::quantity::{KNOT, Range, Unit};
use measure::{Angle, Length, Outcome};
use serde::Serialize;

use super::day::{Body, OfClass, OnTack, Units, Weather, number, tack_name};
use super::setup::{Looks, Wind, reading, unit};
use crate::output::{Done, Shown, show};
use crate::table::Rows;

/// The solved state for given settings: speed, helm, how far out, looks, forces
///
/// What is not set stands as the usual setting of a beat or a run.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, the boom right in:\n  $ trimwright balance --mass 45 --wind 10 --twa 45 --set boom_angle=2 --set car_offset=0"
)]
pub(crate) struct Balance {
    #[command(flatten)]
    class: OfClass,
    #[command(flatten)]
    body: Body,
    #[command(flatten)]
    weather: Weather,
    /// True wind angle to the track, degrees
    #[arg(long, value_name = "DEG", allow_hyphen_values = true)]
    twa: String,
    /// The tack
    #[arg(long, value_enum, default_value_t = OnTack::Starboard)]
    tack: OnTack,
    /// A gauge and its reading, like sail_boom_gap=12 or "sail_boom_gap=5 in"; may be given many times
    #[arg(long = "set", value_name = "GAUGE=VALUE", allow_hyphen_values = true)]
    settings: Vec<String>,
    /// Units on screen
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    units: Units,
}

#[derive(Debug, Serialize)]
struct Document {
    status: &'static str,
    wind: Wind,
    twa_deg: f64,
    tack: &'static str,
    #[serde(flatten)]
    state: Option<StateRow>,
}

#[derive(Debug, Serialize)]
struct StateRow {
    speed_ms: f64,
    vmg_ms: f64,
    leeway_deg: f64,
    rudder_deg: f64,
    heel_deg: f64,
    hike: Hike,
    looks: Looks,
    forces: Forces,
    sail: SailRow,
    hull: HullRow,
    gauges: Vec<GaugeRow>,
}

#[derive(Debug, Serialize)]
struct Hike {
    needed_m: f64,
    limit_m: f64,
}

#[derive(Debug, Serialize)]
struct Forces {
    drive_n: f64,
    side_n: f64,
    sheet_n: f64,
    tiller_n: f64,
    leech_n: f64,
    /// Push of the sprit, and what the leech asks of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    sprit_n: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sprit_needed_n: Option<f64>,
    board_side_n: f64,
    rudder_side_n: f64,
    hull_side_n: f64,
    windage_n: f64,
    friction_n: f64,
    residuary_n: f64,
    transom_n: f64,
    bow_n: f64,
    chop_n: f64,
    drag_n: f64,
}

#[derive(Debug, Serialize)]
struct SailRow {
    height: Vec<f64>,
    camber: Vec<f64>,
    twist_deg: Vec<f64>,
    draft_position: Vec<f64>,
    wrinkle_mm: f64,
}

#[derive(Debug, Serialize)]
struct HullRow {
    trim_deg: f64,
    wetted_area_m2: f64,
    effective_length_m: f64,
    draught_m: f64,
    transom_depth_m: f64,
}

#[derive(Debug, Serialize)]
struct GaugeRow {
    gauge: &'static str,
    value: f64,
    unit: &'static str,
}

/// Reads "sail_boom_gap=12".
pub(super) fn setting(text: &str) -> Result<(Gauge, f64)> {
    let (name, value) =
        text.split_once('=').with_context(|| format!("--set {text}: write a gauge, = and its reading, like sail_boom_gap=12"))?;
    let gauge = Gauge::named(name.trim())
        .map_err(|near| anyhow!("--set {text}: there is no gauge of that name; nearest are {}", near.join(", ")))?;
    const PLAIN: &[Unit] = &[Unit { names: &["on or off"], factor: 1.0, offset: 0.0 }];
    let value = match gauge.unit() {
        GaugeUnit::Centimetres => number(value, &Range { what: "a reading", low: -20.0, high: 20.0, ..Length::RANGE }, gauge.unit_si()),
        GaugeUnit::Degrees => number(value, &Range { what: "an angle", ..Angle::RANGE }, gauge.unit_si()),
        GaugeUnit::OnOff => match value.trim() {
            "on" | "1" => Ok(1.0),
            "off" | "0" => Ok(0.0),
            other => Range { what: "a preventer", low: 0.0, high: 1.0, units: PLAIN }.parse(other),
        },
    };
    Ok((gauge, value.with_context(|| format!("--set {text}"))?))
}

impl Balance {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let class = self.class.read()?;
        let sailor = self.body.read()?;
        let day = self.weather.read()?;
        let twa =
            number(&self.twa, &Range { what: "a wind angle", low: 0.0, high: 180.0 * DEGREE, ..Angle::RANGE }, DEGREE).context("--twa")?;
        let readings = self.settings.iter().map(|s| setting(s)).collect::<Result<Vec<_>>>()?;
        let boat = day.boat(&class, None)?;
        let tack = Tack::from(self.tack);
        let conditions = day.conditions(1.0, tack);
        let request = Request { boat: &boat, sailor, conditions, gusts: 1.0, reach: None, bands: false };
        let leg = if twa > 115.0 * DEGREE { Leg::Run } else { Leg::Beat };
        let mut controls = request.usual(leg, DEGREE);
        controls[Control::WindAngle.index()] = twa;
        if leg == Leg::Beat {
            // Eased as the wind draws aft: about four tenths of what the wind angle grows beyond a beat's.
            controls[Control::Boom.index()] += 0.75 * (twa - 48.0 * DEGREE).max(0.0);
        }
        let case = Case { boat: &boat, sailor, conditions };
        let solved = case.given(&mut controls, &readings).map_err(|error| anyhow!("--set: {error}"))?;
        let (status, state) = match solved {
            Outcome::Status(status) => (status.words(), None),
            Outcome::Solved((state, whole)) => {
                let sail_state = SailState::from_row(&core::array::from_fn(|k| state.0[k]));
                let looks = boat::sail::Looks::of(&sail_state, &whole.sail, controls[Control::Sprit.index()]);
                let column = |f: fn(&Strip) -> f64| whole.sail.strips.iter().map(f).collect::<Vec<_>>();
                let trimmed = boat::optimum::Trimmed { controls, state, whole };
                let gauges = class
                    .gauges
                    .iter()
                    .filter_map(|g| request.reading(g.gauge, &trimmed, leg).map(|v| (g.gauge, v)))
                    .map(|(gauge, v)| {
                        let v = readings.iter().find(|r| r.0 == gauge && gauge == Gauge::Preventer).map_or(v, |r| r.1);
                        GaugeRow { gauge: gauge.name(), value: v / gauge.unit_si(), unit: gauge.unit().text() }
                    })
                    .collect();
                let w = &whole;
                let row = StateRow {
                    speed_ms: w.speed,
                    vmg_ms: w.made_good,
                    leeway_deg: w.leeway / DEGREE,
                    rudder_deg: w.rudder_angle / DEGREE,
                    heel_deg: controls[Control::Heel.index()] / DEGREE,
                    hike: Hike { needed_m: w.hike, limit_m: sailor.sustained_reach(&class, &boat.constants) },
                    looks: Looks::of(&looks, w),
                    forces: Forces {
                        drive_n: w.sail.load.force[0],
                        side_n: w.sail.load.force[1],
                        sheet_n: w.sail.sheet_force,
                        tiller_n: w.rudder.tiller_load(&boat.constants),
                        leech_n: sail_state.leech,
                        sprit_n: boat.rig.sprit.map(|_| controls[Control::Sprit.index()]),
                        sprit_needed_n: boat.rig.sprit.map(|_| w.sail.sprit_needed),
                        board_side_n: w.board.load.force[1],
                        rudder_side_n: w.rudder.load.force[1],
                        hull_side_n: w.hull_side.force[1],
                        windage_n: w.windage.force[0],
                        friction_n: w.drag.friction,
                        residuary_n: w.drag.residuary,
                        transom_n: w.drag.transom,
                        bow_n: w.drag.bow,
                        chop_n: w.drag.chop,
                        drag_n: w.drag.total,
                    },
                    sail: SailRow {
                        height: column(|s| s.height),
                        camber: column(|s| s.camber),
                        twist_deg: sail_state.twist.iter().map(|t| t / DEGREE).collect(),
                        draft_position: column(|s| s.draft),
                        wrinkle_mm: w.sail.wrinkle * 1000.0,
                    },
                    hull: HullRow {
                        trim_deg: w.trim / DEGREE,
                        wetted_area_m2: w.afloat.wetted_area,
                        effective_length_m: w.afloat.length,
                        draught_m: w.afloat.draught,
                        transom_depth_m: w.afloat.transom_depth,
                    },
                    gauges,
                };
                if ![row.speed_ms, row.hike.needed_m, row.forces.drag_n].iter().all(|v| v.is_finite()) {
                    bail!("the model gave no number here; please report these settings");
                }
                ("solved", Some(row))
            }
        };
        let document = Document { status, wind: Wind::of(&day), twa_deg: twa / DEGREE, tack: tack_name(tack), state };
        show(shown, &document, || table(&document, self.units))?;
        Ok(Done::Whole)
    }
}

fn table(document: &Document, units: Units) -> String {
    let mut text =
        format!("{}, {:.0} degrees to it on {} tack: {}\n", document.wind.words(), document.twa_deg, document.tack, document.status);
    let Some(s) = &document.state else { return text };
    text += &format!(
        "{:.2} kn, {:.2} kn made good; leeway {:.1}, rudder {:.1}, heel {:.0} degrees; {:.0} of {:.0} cm out; sheet {:.0} N, tiller {:.0} N\nluff {}, top batten {}{}, transom {}\n",
        s.speed_ms / KNOT,
        s.vmg_ms / KNOT,
        s.leeway_deg,
        s.rudder_deg,
        s.heel_deg,
        s.hike.needed_m * 100.0,
        s.hike.limit_m * 100.0,
        s.forces.sheet_n,
        s.forces.tiller_n,
        s.looks.luff,
        s.looks.top_batten,
        s.looks.crease.map_or(String::new(), |c| format!(", {c}")),
        s.looks.transom,
    );
    if s.hike.needed_m > s.hike.limit_m {
        text += "That is further out than this sailor can stay for minutes: she would heel, or the sheet be eased.\n";
    }
    let mut rows = Rows::under(&["gauge", ">reads", ""]);
    for g in &s.gauges {
        if let Ok(gauge) = Gauge::named(g.gauge) {
            rows.push([g.gauge.to_owned(), reading(gauge, g.value * gauge.unit_si(), units), unit(gauge, units).to_owned()]);
        }
    }
    text += &rows.text();
    let mut rows = Rows::under(&["forces", ">N"]);
    let sprit = [("sprit", s.forces.sprit_n), ("sprit that the leech asks for", s.forces.sprit_needed_n)];
    for (name, value) in [
        ("drive of the sail", s.forces.drive_n),
        ("side force of the sail", s.forces.side_n),
        ("leech", s.forces.leech_n),
        ("friction", s.forces.friction_n),
        ("waves", s.forces.residuary_n),
        ("transom", s.forces.transom_n),
        ("bow", s.forces.bow_n),
        ("chop", s.forces.chop_n),
        ("wind on hull and sailor", -s.forces.windage_n),
    ] {
        rows.push([name.to_owned(), format!("{value:.1}")]);
    }
    for (name, value) in sprit {
        if let Some(value) = value {
            rows.push([name.to_owned(), format!("{value:.1}")]);
        }
    }
    text + &rows.text()
}
