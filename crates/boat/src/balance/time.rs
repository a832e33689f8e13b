//! The boat followed through time from a usual speed, where Newton's method finds no state: either she comes to one, or it is
//! seen why there is none. Most often the helm goes hard over and she turns all the same, or she loses her way.
//!
//! Implicit Euler with strides that grow as the residual falls (pseudo-transient continuation: Kelley & Keyes, SIAM J. Numer. Anal. 35
//! (1998)). Circulation and cloth follow their balance with a lag, hull and mass with their inertia, and a helmsman turns the rudder
//! against the turning moment until its stop. Only where she ends is an answer: what happens on the way is coarse.

use super::root::{Effort, LONGEST_SINKAGE, LONGEST_TRIM, LONGEST_TWIST, NEAR, TOLERANCE};
use super::{Case, Controls, Factors, HEADWAY, LEEWAY, RUDDER, RUDDER_MOST, Row, SINKAGE, SPEED, State, Status, TRIM, UNIT, Whole};
use crate::sail::{Guard, STRIPS};
use measure::Outcome;

/// First stride, the shortest and the longest, s.
const STRIDE_FIRST: f64 = 1.0;
const STRIDE_LEAST: f64 = 0.5;
const STRIDE_MOST: f64 = 1e8;
/// A stride grows by this and by how far the residual fell, four times at most; where it rose it shrinks by the square.
const GROWTH: f64 = 2.0;
const GROWTH_MOST: f64 = 4.0;
const SHRINK: [f64; 2] = [0.3, 0.7];
/// Strides at most.
const STRIDES: usize = 36;
/// How often the last steps are left to Newton's method.
const LAST_TRIES: usize = 2;
/// Lag of flow and cloth, and of hull and water in heave and pitch, s. Assumed, as all that follows: no end depends on it.
const LAG: f64 = 0.2;
/// Added mass across, over mass.
const ADDED: f64 = 1.0;
/// Turning moment of the rudder per angle over squared speed, and at rest, N m, times the helmsman's lag, s.
const HELM: [f64; 2] = [15.0, 1.5];
/// Stiffness in heave (1/m) and pitch (1/rad) of such hulls, over their weight.
const FLOATING: [f64; 2] = [5.0, 2.0];
/// Longest strides: ahead, m/s; as a share of speed when she slows; leeway, rad.
const FASTER: f64 = 0.5;
const SLOWER: f64 = 0.5;
const ASIDE: f64 = 0.1;
/// Moment that turns her against the helm at its stop, over the rate at which she turns by it, per speed and at rest, N m s; and how far
/// she may have turned by the end and still be said to hold her course, rad.
const RESISTED: [f64; 2] = [150.0, 30.0];
const TURNED: f64 = 0.6;
/// With the helm at its stop and all else this near its balance she turns, if the turning moment is ten times as far from it.
const TURNING: f64 = 1e-3;

/// Leech tension among the unknowns.
const LEECH: usize = 2 * STRIPS;

/// A state, or why there is none.
type Answer = Outcome<(State, Whole<f64>), Status>;

/// Whether the helm lies at a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Helm {
    Free,
    Over,
}

impl Helm {
    /// The residual without the turning moment that a helm at its stop cannot meet.
    fn free_of(self, r: &Row) -> Row {
        let mut left = *r;
        if self == Self::Over {
            left[RUDDER] = 0.0;
        }
        left
    }
}

impl Case<'_> {
    /// Where she comes to from a start.
    ///
    /// # Errors
    /// Where she was last, when nothing has been seen by then.
    pub(super) fn followed(&self, p: &Controls, start: &State) -> Result<Answer, Box<State>> {
        let mut x = start.0;
        let (mut r, mut whole) = self.at(p, &x);
        let (mut stride, mut helm, mut tries) = (STRIDE_FIRST, Helm::Free, 0);
        let mut turned = 0.0;
        for _ in 0..STRIDES {
            let before = helm;
            // The moment asks the rudder back from its stop.
            if helm == Helm::Over && r[RUDDER] * x[RUDDER] < 0.0 {
                helm = Helm::Free;
            }
            let left = helm.free_of(&r);
            if helm == Helm::Free && left.amax() < NEAR && tries < LAST_TRIES {
                tries += 1;
                if let Ok(solved) = self.settle(p, &State(x), Effort::LAST) {
                    return Ok(Self::judged(solved));
                }
            }
            if helm == Helm::Free && left.amax() <= TOLERANCE {
                return Ok(Self::judged((State(x), whole)));
            }
            if helm == Helm::Over && left.amax() < TURNING && r[RUDDER].abs() > 10.0 * left.amax() {
                return Ok(Outcome::Status(Status::CannotHoldCourse));
            }
            let Some((mut to, stretch)) = self.strode(p, &x, &left, stride, helm) else { break };
            if to[RUDDER].abs() >= RUDDER_MOST {
                to[RUDDER] = to[RUDDER].clamp(-RUDDER_MOST, RUDDER_MOST);
                helm = Helm::Over;
            }
            let (there, w) = self.at(p, &to);
            let fall = left.norm() / helm.free_of(&there).norm();
            if !fall.is_finite() {
                break;
            }
            (x, r, whole) = (to, there, w);
            if x[SPEED] < HEADWAY {
                return Ok(Outcome::Status(Status::NoHeadway));
            }
            turned = match helm {
                Helm::Free => 0.0,
                Helm::Over => turned + r[RUDDER] * UNIT / (RESISTED[0] * x[SPEED] + RESISTED[1]) * stride,
            };
            stride *= if fall > 1.0 { (fall * GROWTH).min(GROWTH_MOST) } else { (SHRINK[1] * fall * fall).max(SHRINK[0]) };
            stride /= stretch.min(2.0);
            if helm != before {
                stride = stride.min(STRIDE_FIRST);
            }
            stride = stride.clamp(STRIDE_LEAST, STRIDE_MOST);
        }
        // Neither at rest nor stopped; but off her course with the helm hard over.
        if turned.abs() > TURNED { Ok(Outcome::Status(Status::CannotHoldCourse)) } else { Err(Box::new(State(x))) }
    }

    /// One stride in time, and by how much it was shortened so that nothing leaps.
    fn strode(&self, p: &Controls, x: &Row, left: &Row, stride: f64, helm: Helm) -> Option<(Row, f64)> {
        let mut j = self.jacobian(p, x, if left.amax() < NEAR { Guard::Off } else { Guard::On });
        j.set_diagonal(&(j.diagonal() + self.inertia(x) / stride));
        if helm == Helm::Over {
            j.row_mut(RUDDER).fill(0.0);
            j[(RUDDER, RUDDER)] = 1.0;
        }
        let mut step = Factors::of(&j)?.solve(&-left);
        let twist = (STRIPS..LEECH).map(|k| step[k].abs()).fold(0.0, f64::max);
        let stretch = (twist / LONGEST_TWIST)
            .max(step[SPEED] / FASTER)
            .max(-step[SPEED] / (SLOWER * x[SPEED].max(HEADWAY)))
            .max(step[LEEWAY].abs() / ASIDE)
            .max(step[SINKAGE].abs() / LONGEST_SINKAGE)
            .max(step[TRIM].abs() / LONGEST_TRIM)
            .max(1.0);
        step /= stretch;
        step[LEECH] = step[LEECH].clamp(-0.5 * x[LEECH].abs(), x[LEECH].abs().max(5.0));
        Some((x + step, stretch))
    }

    /// What keeps each unknown from following its residual at once, in residual times seconds: `inertia x' = -residual`.
    fn inertia(&self, x: &Row) -> Row {
        let class = &self.boat.class;
        let mass = class.hull.mass + class.mast.rig_mass + self.sailor.mass;
        let pace = x[SPEED].abs().max(0.3);
        let circulation = 0.5 * self.conditions.wind.at_meter.max(0.3) * self.boat.rig.geometry.foot;
        Row::from_fn(|k, _| match k {
            _ if k < STRIPS => -LAG / circulation,
            _ if k < LEECH => LAG,
            LEECH => LAG / x[LEECH].max(2.0),
            SPEED => -mass / UNIT,
            LEEWAY => -(1.0 + ADDED) * mass * pace / UNIT,
            RUDDER => -(HELM[0] * pace * pace + HELM[1]) / UNIT,
            SINKAGE => FLOATING[0] * LAG,
            _ => FLOATING[1] * LAG,
        })
    }
}
