//! The sail of a boat that turns: in step with itself at every moment, each answer begun where the last one stood.
//!
//! Quasi-Newton (Broyden 1965, the inverse kept and mended from moment to moment): a Jacobian costs as much as fifty evaluations, and
//! one serves for most of a turn.

use super::solve::{self, Jacobian, Unknowns, bounded, jacobian, residual, settle};
use super::{Guard, Rig, SailAnswer, SailInput, SailState};
use crate::constants::Constants;
use measure::fluid::Fluid;

/// Greatest residual left: loads to a few millionths.
const TOLERANCE: f64 = 3e-6;
/// Steps at most with one Jacobian, and fresh ones at most.
const STEPS: usize = 25;
const FRESH: usize = 2;
/// A step that leaves more than this share of the residual asks for a shorter one.
const GROWN: f64 = 1.2;
/// Residual below which the exact Jacobian is taken.
const NEAR: f64 = 3e-2;

/// A sail followed through time.
pub(crate) struct Follower<'a> {
    rig: &'a Rig,
    c: &'a Constants,
    air: Fluid,
    x: Unknowns,
    inverse: Option<Jacobian>,
}

impl<'a> Follower<'a> {
    /// From a solved state.
    pub(crate) fn from(rig: &'a Rig, c: &'a Constants, air: Fluid, state: &SailState<f64>) -> Self {
        Self { rig, c, air, x: Unknowns::from(state.row()), inverse: None }
    }

    /// Its answer to an input near the last one; `None` where it does not settle.
    pub(crate) fn answer(&mut self, input: &SailInput<f64>) -> Option<SailAnswer<f64>> {
        let begun = self.x;
        for fresh in 0..=FRESH {
            if fresh > 0 || self.inverse.is_none() {
                let (r, _) = residual(self.rig, self.c, self.air, input, &self.x);
                let guard = if r.amax() < NEAR { Guard::Off } else { Guard::On };
                self.inverse = jacobian(self.rig, self.c, self.air, input, &self.x, guard).try_inverse();
            }
            if let Some(answer) = self.stepped(input) {
                return Some(answer);
            }
        }
        // Damped steps from where it stood, then from nothing known.
        self.inverse = None;
        let state = |x: &Unknowns| SailState::from_row(&core::array::from_fn(|k| x[k]));
        let starts = [state(&begun), SailState::cold(self.rig, &input.wind)];
        let solved = starts.iter().find_map(|from| settle(self.rig, self.c, self.air, input, from, solve::STEPS).ok());
        self.x = solved.as_ref().map_or(begun, |s| Unknowns::from(s.state.row()));
        solved.map(|s| s.answer)
    }

    /// Steps with the inverse there is, which each step mends.
    fn stepped(&mut self, input: &SailInput<f64>) -> Option<SailAnswer<f64>> {
        let circulation = input.wind.at_meter.max(0.3) * self.rig.geometry.foot;
        let at = |x: &Unknowns| residual(self.rig, self.c, self.air, input, x);
        let mut inverse = self.inverse?;
        let mut x = self.x;
        let (mut r, mut answer) = at(&x);
        let mut best = (r.amax(), x);
        for _ in 0..STEPS {
            if r.amax() <= TOLERANCE {
                (self.x, self.inverse) = (x, Some(inverse));
                return Some(answer);
            }
            let mut step = bounded(-(inverse * r), &x, circulation);
            let mut there = at(&(x + step));
            if there.0.amax() > GROWN * r.amax() {
                step *= 0.3;
                there = at(&(x + step));
            }
            let moved = inverse * (there.0 - r);
            let over = step.dot(&moved);
            if over.abs() > 1e-12 * step.norm_squared() {
                let row = step.transpose() * inverse;
                inverse += (step - moved) * row / over;
            }
            x += step;
            (r, answer) = there;
            if !r.amax().is_finite() {
                break;
            }
            if r.amax() < best.0 {
                best = (r.amax(), x);
            }
        }
        self.x = best.1;
        None
    }
}
