//! What a solved leg has set, read off each of the class's gauges: value, band, what a step beyond it costs, what it rests on.

use crate::balance::Control;
use crate::band::{Bands, Edge};
use crate::class::Lead;
use crate::gauge::Gauge;
use crate::optimum::{Choice, Optimum, Plan, Trimmed};
use crate::practice::preventer;
use measure::Basis;
use serde::{Deserialize, Serialize};

use super::{Leg, Request};

/// Length of a leg by which costs are told, m.
pub const COST_LEG: f64 = 500.0;

/// One setting of one gauge, SI.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Setting {
    /// Which gauge.
    pub gauge: Gauge,
    /// The best value.
    pub value: f64,
    /// Lower edge of the band, or the gauge's own end.
    pub low: f64,
    /// Upper edge.
    pub high: f64,
    /// Metres lost in [`COST_LEG`] one step below the band; 0 at the gauge's end.
    pub cost_low: f64,
    /// One step above.
    pub cost_high: f64,
    /// False where no value of the gauge makes a difference today.
    pub matters: bool,
    /// Where the best value lies 19 times in 20 for what we do not know of the model's constants ([`crate::spread`]); none where
    /// that was not asked.
    #[serde(default)]
    pub doubt: Option<(f64, f64)>,
    /// One step.
    pub step: f64,
    /// What it rests on.
    pub basis: Basis,
}

impl Request<'_> {
    /// Every gauge of the class that stands for a control of this leg.
    pub(super) fn settings(&self, leg: Leg, plan: &Plan<'_>, found: &Optimum) -> Vec<Setting> {
        let mean = &found.winds[self.middle()];
        let held: Vec<Choice> = Control::ALL
            .into_iter()
            .filter(|c| self.boat.class.gauges.iter().any(|g| control_of(g.gauge) == Some(*c)))
            .filter_map(|c| self.range(c, leg))
            .collect();
        let controls: Vec<Control> = held.iter().map(|c| c.control).collect();
        let bands = self.bands.then(|| Bands::around(plan, found, &controls, self.middle())).flatten();
        let mut out = Vec::new();
        for definition in &self.boat.class.gauges {
            let gauge = definition.gauge;
            let Some(value) = self.reading(gauge, mean, leg) else { continue };
            let mut setting = Setting {
                gauge,
                value,
                low: value,
                high: value,
                cost_low: 0.0,
                cost_high: 0.0,
                matters: true,
                doubt: None,
                step: definition.step,
                basis: if searched(plan, gauge) { Basis::Theory } else { Basis::CommonPractice },
            };
            let choice = control_of(gauge).and_then(|c| held.iter().find(|s| s.control == c));
            // What common practice gives has no band of the model's: they were not asked the same question.
            if let (Some(bands), Some(choice), Basis::Theory) = (&bands, choice, setting.basis) {
                self.band(bands, *choice, mean, leg, &mut setting);
                if self.held_by_practice(choice.control, leg, mean) {
                    setting.basis = Basis::CommonPractice;
                }
            }
            out.push(setting);
        }
        out
    }

    /// Both edges of a band in the gauge's own readings, and what a step beyond costs.
    fn band(&self, bands: &Bands<'_, '_>, choice: Choice, mean: &Trimmed, leg: Leg, setting: &mut Setting) {
        let control = choice.control;
        let best = mean.controls[control.index()];
        let nudge = 0.1 * Choice::scale(control) * if best < 0.5 * (choice.low + choice.high) { 1.0 } else { -1.0 };
        // The run of the sheet hangs on the sail's state as well; every other reading moves with its control alone, near enough.
        let moved = if setting.gauge == Gauge::SheetLine {
            bands.loss(control, best + nudge).map(|(_, near)| seen(&near))
        } else {
            Some(with(mean, control, best + nudge))
        };
        let Some(moved) = moved.and_then(|m| self.reading(setting.gauge, &m, leg)) else { return };
        let per_control = (moved - setting.value) / nudge;
        if per_control.abs() < 1e-9 {
            return;
        }
        let step = (setting.step / per_control).abs();
        let edges = [choice.low, choice.high].map(|end| bands.edge(control, best, end, step));
        let at = |edge: &Edge| {
            let there = edge.near.as_ref().and_then(|near| self.reading(setting.gauge, &seen(near), leg));
            there.unwrap_or(setting.value + per_control * (edge.at - best))
        };
        let readings = [at(&edges[0]), at(&edges[1])];
        // A control may run against its gauge: more rake, lower boom end.
        let [low, high] = if per_control < 0.0 { [1, 0] } else { [0, 1] };
        (setting.low, setting.high) = (readings[low].min(setting.value), readings[high].max(setting.value));
        let cost = |edge: &Edge| edge.beyond.map_or(0.0, |l| COST_LEG * l);
        (setting.cost_low, setting.cost_high) = (cost(&edges[low]), cost(&edges[high]));
        setting.matters = edges.iter().any(|e| e.beyond.is_some());
    }

    /// The reading of a gauge for a state, SI; `None` where the class or the leg has none.
    #[must_use]
    pub fn reading(&self, gauge: Gauge, at: &Trimmed, leg: Leg) -> Option<f64> {
        let class = &self.boat.class;
        let g = &self.boat.rig.geometry;
        let p = |c: Control| at.controls[c.index()];
        Some(match gauge {
            Gauge::BoomEndDock => g.boom_end(p(Control::Rake)),
            Gauge::BoomEndSheeted => g.boom_end(p(Control::Rake) + if leg == Leg::Beat { at.whole.sail.bend_rake } else { 0.0 }),
            Gauge::MastTipTape => g.mast_tip_tape(p(Control::Rake)),
            Gauge::SailBoomGap => p(Control::Gap),
            Gauge::CarOffset if matches!(class.lead, Lead::Block { .. }) => return None,
            Gauge::CarOffset => p(Control::Car),
            Gauge::SheetLine => at.whole.sail.sheet_line,
            Gauge::BoomAngle => p(Control::Boom),
            Gauge::VangLine => p(Control::Vang) / class.vang.as_ref()?.stiffness,
            Gauge::DownhaulLine => p(Control::Downhaul) / class.downhaul?,
            Gauge::SpritLine => p(Control::Sprit) / self.boat.rig.sprit?.stiffness,
            Gauge::Preventer => f64::from(u8::from(preventer(leg, self.conditions.wind.at_meter))),
            Gauge::BoardAngle if class.board.lift.is_some() => return None,
            Gauge::BoardAngle => p(Control::Board),
            Gauge::BoardUp if class.board.lift.is_none() => return None,
            Gauge::BoardUp => 0.0 - p(Control::Board),
            Gauge::SeatPosition => p(Control::Seat),
            Gauge::Heel => p(Control::Heel),
            Gauge::HikeOut => at.whole.hike,
        })
    }
}

fn seen(near: &crate::near::Near) -> Trimmed {
    Trimmed { controls: near.controls, state: near.state, whole: near.whole }
}

/// The same with one control moved, its answer left as it was.
pub(super) fn with(at: &Trimmed, control: Control, value: f64) -> Trimmed {
    let mut t = at.clone();
    t.controls[control.index()] = value;
    t
}

/// The control a gauge stands for, where it is one.
#[must_use]
pub const fn control_of(gauge: Gauge) -> Option<Control> {
    Some(match gauge {
        Gauge::BoomEndDock | Gauge::BoomEndSheeted | Gauge::MastTipTape => Control::Rake,
        Gauge::SailBoomGap => Control::Gap,
        Gauge::CarOffset => Control::Car,
        Gauge::BoomAngle | Gauge::SheetLine => Control::Boom,
        Gauge::VangLine => Control::Vang,
        Gauge::DownhaulLine => Control::Downhaul,
        Gauge::BoardAngle | Gauge::BoardUp => Control::Board,
        Gauge::SpritLine => Control::Sprit,
        Gauge::SeatPosition => Control::Seat,
        Gauge::Heel => Control::Heel,
        Gauge::Preventer | Gauge::HikeOut => return None,
    })
}

fn searched(plan: &Plan<'_>, gauge: Gauge) -> bool {
    gauge == Gauge::HikeOut || control_of(gauge).is_some_and(|c| plan.shared.iter().chain(&plan.trimmed).any(|choice| choice.control == c))
}
