//! The sail alone: circulation, twist and leech tension at a given speed and leeway, by a damped Newton iteration with exact
//! Jacobians.
//!
//! Far from the root the lift curve's fall past the stall is guarded (see [`Guard`]); near it the exact Jacobian finishes.
//! Where that does not settle, it walks from an easier sail (no downwash, a gentle stall, a stiff leech) to the one asked for.

use super::{Guard, Rig, SailAnswer, SailInput, SailState, UNKNOWNS, sail};
use crate::constants::Constants;
use crate::factors::Factors;
use crate::scalar::{Dual, seeded};
use measure::Outcome;
use measure::fluid::Fluid;
use nalgebra::{SMatrix, SVector};

/// Greatest residual at a root. Tighter than any reading: 1e-8 of the twist is 1e-8 rad.
const TOLERANCE: f64 = 1e-8;
/// Residual below which exact derivatives are tried first.
const NEAR: f64 = 3e-2;
/// Steps at most, per attempt.
pub(super) const STEPS: usize = 60;
/// Longest step in twist, rad, and in circulation, as a share of wind times foot.
const LONGEST: [f64; 2] = [0.25, 0.4];

/// The easiest sail of the walk: its stall is this many times wider again, its vang pulls this much more, N.
const GENTLE_STALL: f64 = 5.0;
const STIFF_VANG: f64 = 300.0;
/// Stride at which the walk gives up.
const LEAST_STRIDE: f64 = 0.005;

pub(super) type Unknowns = SVector<f64, UNKNOWNS>;
pub(super) type Jacobian = SMatrix<f64, UNKNOWNS, UNKNOWNS>;

/// The sail in agreement with itself.
#[derive(Debug, Clone, Copy)]
pub struct SailSolution {
    /// Circulation, twist, leech tension.
    pub state: SailState<f64>,
    /// Loads and looks there.
    pub answer: SailAnswer<f64>,
    /// Newton steps it took.
    pub steps: usize,
}

/// Why there is no solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SailStatus {
    /// The iteration did not settle; the greatest residual left.
    Unsettled(f64),
    /// An input is not a finite number.
    NotFinite,
}

/// Residuals as plain numbers.
pub(super) fn residual(rig: &Rig, c: &Constants, air: Fluid, input: &SailInput<f64>, x: &Unknowns) -> (Unknowns, SailAnswer<f64>) {
    let state = SailState::from_row(&core::array::from_fn(|k| x[k]));
    let answer = sail(rig, c, air, input, &state, Guard::Off);
    (SVector::from(answer.residuals()), answer)
}

/// The Jacobian of the residuals in the sail's own unknowns.
pub(super) fn jacobian(rig: &Rig, c: &Constants, air: Fluid, input: &SailInput<f64>, x: &Unknowns, guard: Guard) -> Jacobian {
    let dual = Dual::<UNKNOWNS>::constant;
    let seeds = seeded(core::array::from_fn(|k| x[k]));
    let a = input.attitude;
    let dual_input = SailInput {
        attitude: crate::load::Attitude {
            heel: (dual(a.heel.0), dual(a.heel.1)),
            sinkage: dual(a.sinkage),
            trim: dual(a.trim),
            pivot_x: a.pivot_x,
        },
        speed: dual(input.speed),
        leeway: dual(input.leeway),
        twa_to_track: dual(input.twa_to_track),
        wind: input.wind,
        roll_rate: dual(input.roll_rate),
        rake: dual(input.rake),
        boom: dual(input.boom),
        car: dual(input.car),
        gap: dual(input.gap),
        vang_tension: dual(input.vang_tension),
        luff_tension: dual(input.luff_tension),
        sprit: dual(input.sprit),
    };
    let rows = sail(rig, c, air, &dual_input, &SailState::from_row(&seeds), guard).residuals();
    let mut j = Jacobian::zeros();
    for (i, row) in rows.iter().enumerate() {
        j.row_mut(i).iter_mut().zip(row.slopes()).for_each(|(to, slope)| *to = *slope);
    }
    j
}

/// Shortens a step so that no twist and no circulation leaps.
pub(super) fn bounded(mut step: Unknowns, x: &Unknowns, circulation: f64) -> Unknowns {
    let strips = super::STRIPS;
    let twist = (strips..2 * strips).map(|k| step[k].abs()).fold(0.0, f64::max) / LONGEST[0];
    let gamma = (0..strips).map(|k| step[k].abs()).fold(0.0, f64::max) / (LONGEST[1] * circulation);
    step /= twist.max(gamma).max(1.0);
    // Leech tension at most halves or doubles.
    let last = 2 * strips;
    step[last] = step[last].clamp(-0.5 * x[last].abs(), x[last].abs().max(5.0));
    step
}

/// One attempt from a start.
pub(super) fn settle(
    rig: &Rig,
    c: &Constants,
    air: Fluid,
    input: &SailInput<f64>,
    start: &SailState<f64>,
    most: usize,
) -> Result<SailSolution, (f64, usize)> {
    let mut x = Unknowns::from(start.row());
    let circulation = input.wind.at_meter.max(0.3) * rig.geometry.foot;
    let (mut r, mut answer) = residual(rig, c, air, input, &x);
    let mut steps = 0;
    while r.amax() > TOLERANCE && steps < most {
        let near = r.amax() < NEAR;
        let mut best: Option<(f64, Unknowns, Unknowns, SailAnswer<f64>)> = None;
        for guard in if near { [Guard::Off, Guard::On] } else { [Guard::On, Guard::Off] } {
            let Some(newton) = Factors::of(&jacobian(rig, c, air, input, &x, guard)).map(|f| f.solve(&-r)) else { continue };
            steps += 1;
            let step = bounded(newton, &x, circulation);
            let mut share = 1.0;
            for _ in 0..5 {
                let to = x + step * share;
                let (there, a) = residual(rig, c, air, input, &to);
                let size = there.norm();
                if size.is_finite() && best.as_ref().is_none_or(|b| size < b.0) {
                    best = Some((size, to, there, a));
                }
                if size < (1.0 - 0.2 * share) * r.norm() {
                    break;
                }
                share *= 0.4;
            }
            if best.as_ref().is_some_and(|b| b.0 < 0.9 * r.norm()) {
                break;
            }
        }
        let Some((_, to, there, a)) = best else { break };
        (x, r, answer) = (to, there, a);
    }
    if r.amax() <= TOLERANCE {
        Ok(SailSolution { state: SailState::from_row(&core::array::from_fn(|k| x[k])), answer, steps })
    } else {
        Err((r.amax(), steps))
    }
}

/// The sail's own unknowns where one attempt from cold finds them within so many steps.
pub(crate) fn solved_at_once(rig: &Rig, c: &Constants, air: Fluid, input: &SailInput<f64>, most: usize) -> Option<SailState<f64>> {
    settle(rig, c, air, input, &SailState::cold(rig, &input.wind), most).ok().map(|s| s.state)
}

/// Solves the sail at a given speed, leeway and setting; from a start near by, or cold. Not settling is a status with the
/// residual left: about 1 in 500 settings drawn at random, all of them deep in a stall or aback.
#[must_use]
pub fn solve_sail(
    rig: &Rig,
    c: &Constants,
    air: Fluid,
    input: &SailInput<f64>,
    start: Option<&SailState<f64>>,
) -> Outcome<SailSolution, SailStatus> {
    let cold = SailState::cold(rig, &input.wind);
    let mut left = f64::INFINITY;
    let mut steps = 0;
    let starts = [start.copied(), Some(cold), Some(SailState { gamma: cold.gamma.map(|g| 0.3 * g), ..cold })];
    for from in starts.into_iter().flatten() {
        match settle(rig, c, air, input, &from, STEPS) {
            Ok(s) => return Outcome::Solved(SailSolution { steps: steps + s.steps, ..s }),
            Err((r, n)) => {
                left = left.min(r);
                steps += n;
            }
        }
    }
    if !left.is_finite() {
        return Outcome::Status(SailStatus::NotFinite);
    }
    // Walk from an easier sail, without downwash, with a gentle stall and a stiff leech, to the one asked for.
    let easier = |share: f64| {
        let gentle = Constants { stall_width: c.stall_width * (1.0 + GENTLE_STALL * share), ..*c };
        let mut weak = rig.clone();
        weak.downwash.iter_mut().flatten().for_each(|w| *w *= 1.0 - share);
        (weak, gentle, SailInput { vang_tension: input.vang_tension + STIFF_VANG * share, ..*input })
    };
    let (mut from, mut at, mut stride) = (cold, 1.0, 0.25);
    let mut begun = false;
    while stride > LEAST_STRIDE {
        let to = if begun { (at - stride).max(0.0) } else { at };
        let (weak, gentle, stiff) = easier(to);
        match settle(&weak, &gentle, air, &stiff, &from, STEPS) {
            Ok(s) if to == 0.0 => return Outcome::Solved(SailSolution { steps: steps + s.steps, ..s }),
            Ok(s) => {
                steps += s.steps;
                (from, at, begun) = (s.state, to, true);
                stride *= 1.5;
            }
            Err((r, n)) => {
                steps += n;
                if to == 0.0 {
                    left = left.min(r);
                }
                if !begun {
                    break;
                }
                stride *= 0.4;
            }
        }
    }
    Outcome::Status(SailStatus::Unsettled(left))
}
