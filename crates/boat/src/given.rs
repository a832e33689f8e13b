//! A state for settings as a coach gives them: gauges instead of controls, heel or how far out, boom angle or sheet line.

use crate::balance::{Boat, Case, Control, Controls, State, Status, Whole};
use crate::class::Lead;
use crate::gauge::{Gauge, GaugeUnit};
use crate::practice::SPRIT_MOST;
use measure::Outcome;
use measure::angle::DEGREE;
use measure::quantity::plain;

/// Why a setting cannot be taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SetError {
    /// The class has no such gauge.
    #[error("this class has no {}: leave it out", .0.name())]
    Lacks(Gauge),
    /// The value is out of reach.
    #[error("{} of {} is out of reach on this class: give {} to {} {}", .gauge.name(), shown(*.gauge, *.value), shown(*.gauge, *.low), shown(*.gauge, *.high), .gauge.unit().text())]
    OutOfReach {
        /// Which gauge.
        gauge: Gauge,
        /// The value, SI.
        value: f64,
        /// Lowest within reach.
        low: f64,
        /// Highest.
        high: f64,
    },
    /// Two gauges that decide the same thing.
    #[error("{} and {} decide the same thing: give one of them", .0.name(), .1.name())]
    Pair(Gauge, Gauge),
    /// The same gauge twice.
    #[error("{} is given twice: give it once", .0.name())]
    Twice(Gauge),
}

fn shown(gauge: Gauge, value: f64) -> String {
    let number = value / gauge.unit_si();
    if gauge.unit() == GaugeUnit::OnOff || number.is_finite() { plain(number) } else { "no number".to_owned() }
}

/// Gauges that decide the same thing.
const PAIRS: [(Gauge, Gauge); 4] = [
    (Gauge::Heel, Gauge::HikeOut),
    (Gauge::BoomAngle, Gauge::SheetLine),
    (Gauge::BoomEndDock, Gauge::BoomEndSheeted),
    (Gauge::BoomEndDock, Gauge::MastTipTape),
];

/// Rake that a mast may have here, rad: steeper than any boat sails, so that a coach may try.
const RAKE: [f64; 2] = [-6.0 * DEGREE, 10.0 * DEGREE];

impl Boat {
    /// Lowest and highest reading of a gauge on this boat, SI; `None` when the class lacks it.
    #[must_use]
    pub fn reach(&self, gauge: Gauge) -> Option<(f64, f64)> {
        let class = &self.class;
        let g = &self.rig.geometry;
        Some(match gauge {
            Gauge::BoomEndDock | Gauge::BoomEndSheeted => (g.boom_end(RAKE[1]), g.boom_end(RAKE[0])),
            Gauge::MastTipTape => (g.mast_tip_tape(RAKE[1]), g.mast_tip_tape(RAKE[0])),
            Gauge::SailBoomGap => (0.0, 0.45),
            Gauge::CarOffset => match class.lead {
                Lead::Traveller { half_width, .. } => (-half_width, half_width),
                Lead::Block { .. } => return None,
            },
            Gauge::SheetLine => (0.0, 3.0),
            Gauge::BoomAngle => (-5.0 * DEGREE, 110.0 * DEGREE),
            Gauge::VangLine => (0.0, 400.0 / class.vang.as_ref()?.stiffness),
            Gauge::DownhaulLine => (0.0, 400.0 / class.downhaul?),
            Gauge::SpritLine => (0.0, SPRIT_MOST / self.rig.sprit?.stiffness),
            Gauge::Preventer => (0.0, 1.0),
            Gauge::BoardAngle if class.board.lift.is_some() => return None,
            Gauge::BoardAngle => (-class.board.raised, class.board.forward),
            Gauge::BoardUp => (0.0, class.board.lift?),
            Gauge::SeatPosition => (class.sailor.aft, class.sailor.forward),
            Gauge::Heel => (-40.0 * DEGREE, 40.0 * DEGREE),
            Gauge::HikeOut => (-0.5, 1.2),
        })
    }

    /// Checks readings and writes those that are controls into `controls`.
    ///
    /// # Errors
    /// A gauge the class lacks, a value out of reach, both of a pair, one twice.
    pub fn set(&self, controls: &mut Controls, readings: &[(Gauge, f64)]) -> Result<(), SetError> {
        for (k, &(gauge, value)) in readings.iter().enumerate() {
            if readings[..k].iter().any(|r| r.0 == gauge) {
                return Err(SetError::Twice(gauge));
            }
            let (low, high) = self.reach(gauge).ok_or(SetError::Lacks(gauge))?;
            if !(low - 1e-9..=high + 1e-9).contains(&value) {
                return Err(SetError::OutOfReach { gauge, value, low, high });
            }
        }
        for (a, b) in PAIRS {
            if [a, b].iter().all(|g| readings.iter().any(|r| r.0 == *g)) {
                return Err(SetError::Pair(a, b));
            }
        }
        let g = &self.rig.geometry;
        for &(gauge, value) in readings {
            let (control, si) = match gauge {
                // A sheeted height is taken as the dock's here: the bend between them is part of the answer.
                Gauge::BoomEndDock | Gauge::BoomEndSheeted => (Control::Rake, g.rake_for_boom_end(value).unwrap_or(0.0)),
                Gauge::MastTipTape => (Control::Rake, g.rake_for_mast_tip_tape(value).unwrap_or(0.0)),
                Gauge::SailBoomGap => (Control::Gap, value),
                Gauge::CarOffset => (Control::Car, value),
                Gauge::BoomAngle => (Control::Boom, value),
                Gauge::VangLine => (Control::Vang, value * self.class.vang.as_ref().map_or(0.0, |v| v.stiffness)),
                Gauge::DownhaulLine => (Control::Downhaul, value * self.class.downhaul.unwrap_or(0.0)),
                Gauge::BoardAngle => (Control::Board, value),
                Gauge::BoardUp => (Control::Board, -value),
                Gauge::SpritLine => (Control::Sprit, value * self.rig.sprit.map_or(0.0, |s| s.stiffness)),
                Gauge::SeatPosition => (Control::Seat, value),
                Gauge::Heel => (Control::Heel, value),
                Gauge::SheetLine | Gauge::HikeOut | Gauge::Preventer => continue,
            };
            controls[control.index()] = si;
        }
        Ok(())
    }
}

/// Rounds of the search for a reading that is an answer.
const ROUNDS: usize = 40;

impl Case<'_> {
    /// The state in which a control gives an answer its reading: heel for how far out, boom for the sheet line. Regula falsi
    /// between the ends of the control's range.
    fn with_reading(
        &self,
        p: &mut Controls,
        control: Control,
        ends: [f64; 2],
        wanted: f64,
        answer: impl Fn(&Whole<f64>) -> f64,
    ) -> Outcome<(State, Whole<f64>), Status> {
        let mut start: Option<State> = None;
        let mut at = |p: &mut Controls, v: f64| {
            p[control.index()] = v;
            let solved = self.solve(p, start.as_ref()).solved();
            if let Some((state, _)) = &solved {
                start = Some(*state);
            }
            solved
        };
        // Walk from one end until the reading is passed, then close in.
        const STEPS: u32 = 16;
        let mut last: Option<(f64, f64)> = None;
        for k in 0..=STEPS {
            let v = ends[0] + (ends[1] - ends[0]) * f64::from(k) / f64::from(STEPS);
            let Some((_, whole)) = at(p, v) else { continue };
            let miss = answer(&whole) - wanted;
            if let Some((v0, m0)) = last
                && m0 * miss <= 0.0
            {
                let (mut a, mut ma, mut b, mut mb) = (v0, m0, v, miss);
                for _ in 0..ROUNDS {
                    let mid = if (mb - ma).abs() > 1e-12 { a - ma * (b - a) / (mb - ma) } else { 0.5 * (a + b) };
                    let Some(solved) = at(p, mid) else { break };
                    let m = answer(&solved.1) - wanted;
                    if m.abs() < 1e-4 {
                        return Outcome::Solved(solved);
                    }
                    if m * ma > 0.0 {
                        (a, ma, mb) = (mid, m, 0.5 * mb);
                    } else {
                        (b, mb, ma) = (mid, m, 0.5 * ma);
                    }
                }
            }
            last = Some((v, miss));
        }
        Outcome::Status(Status::Unsettled)
    }

    /// The state for readings: settings into controls, then heel or boom found where how far out or the sheet line was given.
    /// `controls` holds what was not given, and what was found.
    ///
    /// # Errors
    /// As [`Boat::set`].
    pub fn given(&self, controls: &mut Controls, readings: &[(Gauge, f64)]) -> Result<Outcome<(State, Whole<f64>), Status>, SetError> {
        self.boat.set(controls, readings)?;
        let of = |gauge| readings.iter().find(|r| r.0 == gauge).map(|r| r.1);
        Ok(match (of(Gauge::SheetLine), of(Gauge::HikeOut)) {
            (Some(line), _) => self.with_reading(controls, Control::Boom, [0.0, 100.0 * DEGREE], line, |w| w.sail.sheet_line),
            (None, Some(out)) => self.with_reading(controls, Control::Heel, [-20.0 * DEGREE, 35.0 * DEGREE], out, |w| w.hike),
            (None, None) => self.solve(controls, None),
        })
    }
}
