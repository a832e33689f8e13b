//! `class`: checks and describes a class file.

use std::path::PathBuf;

use anyhow::{Context, Result, bail};
use boat::class::Class;
use boat::constants::{Constants, all};
use boat::hull::{HullForm, Resistance, Underway};
use boat::sail::geometry::FootArc;
use boat::scalar::Part;
use clap::Args;
use measure::angle::DEGREE;
use measure::fluid::Water;
use measure::quantity::{Range, plain};
use measure::{Angle, Mass, Temperature};
use serde::Serialize;

use super::day::{class, number};
use crate::output::{Done, Shown, show};
use crate::table::Rows;

/// Checks and describes a class file: dimensions, the hull afloat, what the water costs, sail, gauges, what is assumed
#[derive(Debug, Args)]
#[command(after_help = "Example, the program's own pram with 45 kg aboard, heeled 10 degrees:\n  $ trimwright class --mass 45 --heel 10")]
pub(crate) struct OneClass {
    /// The class file (TOML); without it the program's own invented pram
    file: Option<PathBuf>,
    /// Mass aboard beside hull and rig, in kilograms
    #[arg(long, value_name = "KG", default_value = "45", allow_hyphen_values = true)]
    mass: String,
    /// Heel, degrees
    #[arg(long, value_name = "DEG", default_value = "0", allow_hyphen_values = true)]
    heel: String,
    /// Trim held, degrees, bow up; without it she floats as the mass sits in the middle
    #[arg(long, value_name = "DEG", allow_hyphen_values = true)]
    trim: Option<String>,
}

#[derive(Debug, Serialize)]
struct Document {
    name: String,
    length_m: f64,
    minimum_weight_kg: f64,
    hull_weight_kg: f64,
    afloat_mass_kg: f64,
    sail_area_m2: f64,
    sails: Vec<SailRow>,
    hull: Hull,
    resistance: Vec<Drag>,
    towed: Option<Towed>,
    boom_end_cm_per_degree: f64,
    tip_back: String,
    gap: Vec<Gap>,
    gauges: Vec<GaugeRow>,
    assumed: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
struct SailRow {
    name: String,
    area_m2: f64,
    /// Push of the sprit over the tension of the leech that it holds.
    sprit_over_leech: Option<f64>,
}

/// The tow that stands in place of the model's resistance upright.
#[derive(Debug, Serialize)]
struct Towed {
    aboard_kg: f64,
    from_ms: f64,
    to_ms: f64,
}

#[derive(Debug, Serialize)]
struct Hull {
    displacement_m3: f64,
    wetted_area_m2: f64,
    waterline_length_m: f64,
    sinkage_m: f64,
    trim_deg: f64,
    gz_m: f64,
    freeboard_m: f64,
    closes_percent: f64,
}

#[derive(Debug, Serialize)]
struct Drag {
    speed_ms: f64,
    drag_n: f64,
}

#[derive(Debug, Serialize)]
struct Gap {
    sail_boom_gap_cm: f64,
    clew_move_cm: f64,
    foot_chord: f64,
}

#[derive(Debug, Serialize)]
struct GaugeRow {
    gauge: &'static str,
    from: String,
    to: String,
    repeat_error: f64,
    step: f64,
    unit: &'static str,
    afloat: bool,
    seconds: f64,
}

impl OneClass {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let class = self.file.as_deref().map_or_else(|| Ok(Class::pram()), class)?;
        let aboard = number(&self.mass, &Mass::RANGE, 1.0).context("--mass")?;
        let angle = |text: &str, most: f64, what: &'static str| {
            number(text, &Range { what, low: -most * DEGREE, high: most * DEGREE, ..Angle::RANGE }, DEGREE)
        };
        let heel = angle(&self.heel, 60.0, "a heel").context("--heel")?;
        let trim = self.trim.as_deref().map(|t| angle(t, 15.0, "a trim")).transpose().context("--trim")?;
        let water = Water::Sea.at(Temperature::celsius(15.0));
        let constants = Constants::standard();
        let form = HullForm::of(&class, constants);
        let resistance = Resistance::of(&class, &form, constants, water);
        let sails = class.sails.iter().map(|sail| {
            let rig = boat::sail::Rig::new(&class, sail, constants);
            SailRow { name: sail.name.clone(), area_m2: rig.geometry.area, sprit_over_leech: rig.sprit.map(|s| 1.0 / s.carries) }
        });
        let sails: Vec<SailRow> = sails.collect();
        let mass = class.hull.mass + class.mast.rig_mass + aboard;
        let middle = 0.5 * (class.sailor.aft + class.sailor.forward);
        let along = (class.hull.mass * class.hull.centre[0] + class.mast.rig_mass * class.mast.rig_centre[0] + aboard * middle) / mass;
        let high = (class.hull.mass * class.hull.centre[1]
            + class.mast.rig_mass * class.mast.rig_centre[1]
            + aboard * constants.sailor_centre_height)
            / mass;
        let Some(floating) = form.float(mass, [along, 0.0, high], heel, water) else {
            bail!("{}: this hull does not carry {} kg at that heel; check the stations and the mass", class.name, plain(mass));
        };
        let (afloat, sinkage, trim) = match trim {
            None => (floating.afloat, floating.sinkage, floating.trim),
            Some(trim) => {
                // Held at that trim: the sinkage that carries the weight, by halving.
                let (mut low, mut high) = (floating.sinkage - 0.3, floating.sinkage + 0.3);
                for _ in 0..60 {
                    let mid = 0.5 * (low + high);
                    if form.afloat(heel, mid, trim).volume * water.density < mass { low = mid } else { high = mid }
                }
                (form.afloat(heel, 0.5 * (low + high), trim), 0.5 * (low + high), trim)
            }
        };
        let Some(level) = form.level(mass, water) else { bail!("{}: this hull does not carry {} kg", class.name, plain(mass)) };
        let drag = |speed: f64| Drag {
            speed_ms: speed,
            drag_n: resistance.drag(constants, water, &level, &Underway::straight(speed, mass)).total,
        };
        let sail = &class.sails[0];
        let gap = |cm: f64| {
            let [clew, chord] = FootArc { foot: sail.foot }.at([cm / 100.0]);
            Gap { sail_boom_gap_cm: cm, clew_move_cm: clew * 100.0, foot_chord: chord }
        };
        let back = class.tip_back();
        let toward = if back.toward == boat::class::rake::Toward::Forward { "forward" } else { "aft" };
        let document = Document {
            name: class.name.clone(),
            length_m: class.hull.length,
            minimum_weight_kg: class.hull.minimum_mass,
            hull_weight_kg: class.hull.mass,
            afloat_mass_kg: mass,
            sail_area_m2: sails[0].area_m2,
            sails,
            hull: Hull {
                displacement_m3: afloat.volume,
                wetted_area_m2: afloat.wetted_area,
                waterline_length_m: afloat.waterline_length,
                sinkage_m: sinkage,
                trim_deg: trim / DEGREE,
                gz_m: floating.righting_arm,
                freeboard_m: floating.freeboard,
                closes_percent: 100.0 * (afloat.volume * water.density / mass - 1.0),
            },
            resistance: (1..=12).map(|k| drag(0.25 * f64::from(k))).collect(),
            towed: class.hull.towed.as_ref().map(|t| Towed {
                aboard_kg: t.mass,
                from_ms: t.speed.first().copied().unwrap_or_default(),
                to_ms: t.speed.last().copied().unwrap_or_default(),
            }),
            boom_end_cm_per_degree: class.boom_end_per_degree() * 100.0,
            tip_back: format!("tip the mast back: {} one notch {toward}, {:.2} degrees", back.part, back.rake / DEGREE),
            gap: [2.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0].map(gap).into(),
            gauges: class
                .gauges
                .iter()
                .map(|g| {
                    let unit = g.gauge.unit_si();
                    GaugeRow {
                        gauge: g.gauge.name(),
                        from: g.from.clone(),
                        to: g.to.clone(),
                        repeat_error: g.repeat_error / unit,
                        step: g.step / unit,
                        unit: g.gauge.unit().text(),
                        afloat: g.afloat,
                        seconds: g.seconds,
                    }
                })
                .collect(),
            assumed: all().iter().filter(|c| c.is_assumed()).map(|c| c.name.as_str()).collect(),
        };
        show(shown, &document, || table(&document))?;
        Ok(Done::Whole)
    }
}

fn table(d: &Document) -> String {
    let mut text = format!(
        "{}: {:.2} m long, hull {} kg (class minimum {}), sail {:.2} m2\nafloat with {} kg in all: {:.4} m3, wetted {:.2} m2, waterline {:.2} m, sinkage {:.3} m, trim {:.1} degrees, righting arm {:.3} m, freeboard {:.2} m; closes to {:+.4} %\nboom end {:.1} cm for each degree the mast tips back; {}\n\n",
        d.name,
        d.length_m,
        plain(d.hull_weight_kg),
        plain(d.minimum_weight_kg),
        d.sail_area_m2,
        plain(d.afloat_mass_kg),
        d.hull.displacement_m3,
        d.hull.wetted_area_m2,
        d.hull.waterline_length_m,
        d.hull.sinkage_m,
        d.hull.trim_deg,
        d.hull.gz_m,
        d.hull.freeboard_m,
        d.hull.closes_percent,
        d.boom_end_cm_per_degree,
        d.tip_back,
    );
    let mut rows = Rows::under(&[">m/s", ">drag upright, N"]);
    for r in &d.resistance {
        rows.push([format!("{:.2}", r.speed_ms), format!("{:.1}", r.drag_n)]);
    }
    text += &rows.text();
    if let Some(t) = &d.towed {
        text += &format!(
            "\nDrag upright is as towed with {} kg aboard, {} to {} m/s. Other masses, heels and trims move it as the model says;\nbeyond those speeds the model's own curve goes on from the last of them, in proportion.\n",
            plain(t.aboard_kg),
            plain(t.from_ms),
            plain(t.to_ms)
        );
    }
    for sail in &d.sails {
        text += &format!("\nsail \"{}\": {:.2} m2", sail.name, sail.area_m2);
        if let Some(share) = sail.sprit_over_leech {
            text += &format!("; its sprit pushes {share:.1} times as hard as the leech pulls");
        }
    }
    text.push('\n');
    let mut rows = Rows::under(&[">sail-boom gap, cm", ">clew moves, cm", ">foot chord"]);
    for g in &d.gap {
        rows.push([format!("{:.0}", g.sail_boom_gap_cm), format!("{:.1}", g.clew_move_cm), format!("{:.3}", g.foot_chord)]);
    }
    text += &format!("\n{}", rows.text());
    let mut rows = Rows::under(&["gauge", "from", "to", ">repeats to", ">step", ""]);
    for g in &d.gauges {
        rows.push([g.gauge, g.from.as_str(), g.to.as_str(), &plain(g.repeat_error), &plain(g.step), g.unit]);
    }
    text + &format!("\n{}\n{} constants of the model rest on no source: see `trimwright assumed`.\n", rows.text(), d.assumed.len())
}
