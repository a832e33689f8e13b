//! A solved state with its neighbourhood: how everything moves with the controls, and the quick way to states near by.
//!
//! Slopes are exact, by the implicit function theorem on dual numbers. A state near by is predicted with them and corrected
//! by steps with the Jacobian of the state it came from, mended by each step (Broyden 1965), at a tenth of the cost of a fresh
//! Jacobian; where that does not contract, full Newton steps take over.

use crate::balance::{
    CONTRACTION, CONTROLS, Case, Control, Controls, Effort, Factors, Mended, OWN, RUDDER, Row, SPEED, Slopes, State, Status, TOLERANCE,
    UNKNOWNS, Whole,
};
use crate::sail::Guard;
use crate::scalar::{Dual, Real};
use measure::Outcome;
use nalgebra::{SMatrix, SVector};

const DIRECTIONS: usize = UNKNOWNS + CONTROLS;
/// A solved state, its slopes, and the factors of its Jacobian.
#[derive(Debug, Clone)]
pub struct Near {
    /// Settings.
    pub controls: Controls,
    /// The unknowns.
    pub state: State,
    /// Everything about it.
    pub whole: Whole<f64>,
    /// Values and their slopes.
    pub slopes: Slopes,
    factors: Factors,
    moves: SMatrix<f64, UNKNOWNS, CONTROLS>,
}

impl Case<'_> {
    /// The neighbourhood of a solved state; `None` where its Jacobian has no inverse.
    #[must_use]
    pub fn near(&self, p: &Controls, state: &State, whole: Whole<f64>) -> Option<Near> {
        type D = Dual<DIRECTIONS>;
        type Few = Dual<{ OWN + CONTROLS }>;
        let x: [D; UNKNOWNS] = core::array::from_fn(|k| D::seed(state.0[k], k));
        let q: [D; CONTROLS] = core::array::from_fn(|k| D::seed(p[k], UNKNOWNS + k));
        let own: [Few; OWN] = core::array::from_fn(|k| Few::seed(state.0[SPEED + k], k));
        let settings: [Few; CONTROLS] = core::array::from_fn(|k| Few::seed(p[k], OWN + k));
        let inputs: [D; OWN + CONTROLS] = core::array::from_fn(|k| if k < OWN { x[SPEED + k] } else { q[k - OWN] });
        let dual = self.joined(&q, &x, &settings, &own, &inputs, Guard::Off);
        let row = |d: &D| SVector::from(*d.slopes());
        let mut jx = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::zeros();
        let mut jp = SMatrix::<f64, UNKNOWNS, CONTROLS>::zeros();
        for (i, d) in dual.residual.iter().enumerate() {
            let r = row(d);
            jx.row_mut(i).copy_from(&r.fixed_rows::<UNKNOWNS>(0).transpose());
            jp.row_mut(i).copy_from(&r.fixed_rows::<CONTROLS>(UNKNOWNS).transpose());
        }
        let factors = Factors::of(&jx)?;
        let mut moves = SMatrix::<f64, UNKNOWNS, CONTROLS>::zeros();
        for k in 0..CONTROLS {
            moves.set_column(k, &-factors.solve(&jp.column(k).into_owned()));
        }
        let total = |d: &D| -> (f64, Controls) {
            let r = row(d);
            let through = moves.transpose() * r.fixed_rows::<UNKNOWNS>(0);
            (d.value(), core::array::from_fn(|k| through[k] + r[UNKNOWNS + k]))
        };
        let slopes = Slopes {
            made_good: total(&(x[SPEED] * q[Control::WindAngle.index()].cos())),
            speed: total(&x[SPEED]),
            hike: total(&dual.hike),
            sheet_force: total(&dual.sheet_force),
            hinge: total(&dual.hinge),
            rudder: total(&x[RUDDER]),
            tiller: total(&dual.tiller),
        };
        Some(Near { controls: *p, state: *state, whole, slopes, factors, moves })
    }

    /// How answers move with the controls at a solved state, exactly.
    #[must_use]
    pub fn slopes(&self, p: &Controls, state: &State) -> Option<Slopes> {
        let (_, whole) = self.at(p, &state.0);
        self.near(p, state, whole).map(|n| n.slopes)
    }

    /// The state for settings near a solved one, however far: the warm solve. From cold where they are not near enough, so that
    /// the answer is that of [`Case::solve`].
    #[must_use]
    pub fn solve_from(&self, near: &Near, p: &Controls) -> Outcome<(State, Whole<f64>), Status> {
        match self.solve_near(near, p) {
            Outcome::Status(Status::Unsettled) => self.solve(p, Some(&near.state)),
            told => told,
        }
    }

    /// The state for settings near a solved one; unsettled where they are not near enough.
    #[must_use]
    pub fn solve_near(&self, near: &Near, p: &Controls) -> Outcome<(State, Whole<f64>), Status> {
        let by = SVector::<f64, CONTROLS>::from_fn(|k, _| p[k] - near.controls[k]);
        let mut x: Row = near.state.0 + near.moves * by;
        let (mut r, mut whole) = self.at(p, &x);
        let from = r.amax();
        let mut mended = Mended::new(near.factors.clone());
        loop {
            let size = r.amax();
            if size <= TOLERANCE {
                return Self::judged((State(x), whole));
            }
            let Some(step) = mended.step(&r) else { break };
            let to = x + step;
            let (there, w) = self.at(p, &to);
            let left = there.amax();
            if left >= CONTRACTION * size || left.is_nan() {
                break;
            }
            (x, r, whole) = (to, there, w);
        }
        // The nearer of where these steps got to and where they came from starts full Newton steps. A search that asks for too long
        // a stride is better told at once than after every cold start: it comes back with a shorter one.
        let better = if r.amax().is_finite() && r.amax() < 0.5 * from { State(x) } else { near.state };
        match self.settle(p, &better, Effort::NEAR) {
            Ok(solved) => Self::judged(solved),
            Err(_) => Outcome::Status(Status::Unsettled),
        }
    }
}
