//! The sail of a boat that turns: in step with itself at every moment, each answer begun where the last one stood.
//!
//! The Jacobian is kept while it serves (the chord method: Ortega & Rheinboldt 1970, chapter 7), so that a moment costs a few evaluations.

use super::solve::{Jacobian, Unknowns, bounded, jacobian, residual};
use super::{Guard, Rig, SailAnswer, SailInput, SailState, UNKNOWNS, solve_sail};
use crate::constants::Constants;
use measure::fluid::Fluid;
use nalgebra::{Const, LU};

/// Greatest residual left: loads to a millionth.
const TOLERANCE: f64 = 1e-6;
/// A chord step must bring the residual below this share of the last.
const CONTRACTION: f64 = 0.5;
/// Chord steps and fresh Jacobians at most.
const CHORDS: usize = 30;
const FRESH: usize = 5;
/// Residual below which the exact Jacobian is taken.
const NEAR: f64 = 3e-2;

/// A sail followed through time.
pub(crate) struct Follower<'a> {
    rig: &'a Rig,
    c: &'a Constants,
    air: Fluid,
    x: Unknowns,
    factors: Option<LU<f64, Const<UNKNOWNS>, Const<UNKNOWNS>>>,
}

impl<'a> Follower<'a> {
    /// From a solved state.
    pub(crate) fn from(rig: &'a Rig, c: &'a Constants, air: Fluid, state: &SailState<f64>) -> Self {
        Self { rig, c, air, x: Unknowns::from(state.row()), factors: None }
    }

    fn fresh(&mut self, input: &SailInput<f64>, size: f64) {
        let guard = if size < NEAR { Guard::Off } else { Guard::On };
        let j: Jacobian = jacobian(self.rig, self.c, self.air, input, &self.x, guard);
        self.factors = Some(j.lu());
    }

    /// Its answer to an input near the last one; `None` where it does not settle.
    pub(crate) fn answer(&mut self, input: &SailInput<f64>) -> Option<SailAnswer<f64>> {
        let (mut r, mut answer) = residual(self.rig, self.c, self.air, input, &self.x);
        let circulation = input.wind.at_meter.max(0.3) * self.rig.geometry.foot;
        let mut left = FRESH;
        for _ in 0..CHORDS {
            let size = r.amax();
            if size <= TOLERANCE {
                return Some(answer);
            }
            if self.factors.is_none() {
                self.fresh(input, size);
                left = left.checked_sub(1)?;
            }
            let Some(newton) = self.factors.as_ref().and_then(|f| f.solve(&-r)) else { break };
            let to = self.x + bounded(newton, &self.x, circulation);
            let (there, a) = residual(self.rig, self.c, self.air, input, &to);
            if there.amax() < CONTRACTION * size {
                (self.x, r, answer) = (to, there, a);
                continue;
            }
            // A shorter step where the whole one grew; in any case another Jacobian.
            if there.amax() < size {
                (self.x, r, answer) = (to, there, a);
            } else {
                let half = self.x + bounded(newton, &self.x, circulation) * 0.4;
                let (there, a) = residual(self.rig, self.c, self.air, input, &half);
                if there.amax() < size {
                    (self.x, r, answer) = (half, there, a);
                }
            }
            if left == 0 {
                break;
            }
            self.fresh(input, r.amax());
            left -= 1;
        }
        let solved = solve_sail(self.rig, self.c, self.air, input, None).solved()?;
        self.x = Unknowns::from(solved.state.row());
        self.factors = None;
        Some(solved.answer)
    }
}
