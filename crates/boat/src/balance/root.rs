//! The root of the balance: Newton's method with exact derivatives, damped, from a state near by or from a first guess.
//!
//! Far from the root the lift curve's fall past the stall is guarded (see [`Guard`]). What does not come down is given up early, as
//! most often there is nothing to find; then she is followed through time ([`super::time`]).

use super::{
    Case, Control, Controls, Factors, HEADWAY, LEEWAY, Mended, RUDDER, RUDDER_MOST, Row, SINKAGE, SPEED, State, Status, TRIM, Way, Whole,
};
use crate::sail::{self, Guard, SailInput, SailState};
use measure::Outcome;
use nalgebra::SVector;

/// Greatest residual at a root: forces to 1e-6 N.
pub(crate) const TOLERANCE: f64 = 1e-7;
/// A step with the factors of an older Jacobian must bring the residual below this share of the last.
pub(crate) const CONTRACTION: f64 = 0.4;
/// Residual below which the exact Jacobian is tried first.
pub(super) const NEAR: f64 = 3e-2;
/// A residual above this share of what it was as many steps ago as an attempt has patience is stuck.
const STUCK: f64 = 0.9;
/// Newton steps at most, of any attempt.
const STEPS: usize = 40;
/// Newton steps of the sail at most for a first guess.
const SAIL_STEPS: usize = 16;
/// Longest steps: twist, leeway, rudder, rad; sinkage, m; trim, rad; and in circulation and speed as a share.
pub(super) const LONGEST_TWIST: f64 = 0.25;
const LONGEST_LEEWAY: f64 = 0.05;
const LONGEST_RUDDER: f64 = 0.12;
pub(super) const LONGEST_SINKAGE: f64 = 0.04;
pub(super) const LONGEST_TRIM: f64 = 0.05;
const LONGEST_CIRCULATION: f64 = 0.4;
const LONGEST_SPEED: f64 = 0.35;
/// Speeds of the first guesses, over the wind to the power 0.8, SI.
const PACES: [f64; 3] = [0.28, 0.18, 0.40];

/// By how much the stall of the gentle sail is wider, tried in turn; first stride towards the sail there is, of one; strides at most.
const GENTLER: [f64; 2] = [5.0, 2.0];
const STRIDE: f64 = 0.35;
const STRIDES: usize = 8;
/// Residual below which the boat is taken to be at rest though her sail is not.
const AT_REST: f64 = 0.5;

/// How long an attempt goes on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Effort {
    /// Newton steps at most.
    steps: usize,
    /// Steps within which the residual must have come down.
    patience: usize,
}

impl Effort {
    /// As long as there is any progress.
    const FULL: Self = Self { steps: STEPS, patience: 6 };
    /// From a first guess: what is not found soon is looked for through time.
    const FIRST: Self = Self { steps: 25, patience: 4 };
    /// From a state so near that a search had better ask for a shorter stride than wait.
    pub(crate) const NEAR: Self = Self { steps: 10, patience: 10 };
    /// The last steps of what is all but settled.
    pub(super) const LAST: Self = Self { steps: 6, patience: 3 };
    /// Of one stride from an easier sail.
    const STRIDE: Self = Self { steps: 10, patience: 4 };
}

/// The best of some steps that were tried.
struct Tried {
    size: f64,
    to: Row,
    there: Row,
    whole: Whole<f64>,
    /// Newton's own step, neither bounded nor shortened.
    full: bool,
}

impl Case<'_> {
    /// A first guess: afloat at rest, a speed that boats of this kind make, and the sail as far as one attempt brings it there.
    fn guess(&self, p: &Controls, pace: f64) -> State {
        let mut x = SVector::zeros();
        let tws = self.conditions.wind.at_meter;
        let speed = pace * tws.powf(0.8);
        let class = &self.boat.class;
        let mass = class.hull.mass + class.mast.rig_mass + self.sailor.mass + p[Control::Ballast.index()];
        let [hx, hz] = class.hull.centre;
        let heel = p[Control::Heel.index()];
        let seat = p[Control::Seat.index()];
        let along = (class.hull.mass * hx + class.mast.rig_mass * class.mast.rig_centre[0] + self.sailor.mass * seat) / mass;
        let floating = self.boat.form.float(mass, [along, 0.0, hz], heel, self.boat.water);
        (x[SINKAGE], x[TRIM]) = floating.map_or((0.1, 0.0), |f| (f.sinkage, f.trim));
        let twa = p[Control::WindAngle.index()];
        x[SPEED] = speed;
        x[LEEWAY] = 0.06 * twa.sin().max(0.0) * p[Control::Board.index()].cos().max(0.2);
        let input = SailInput {
            attitude: self.boat.form.attitude(heel, x[SINKAGE], x[TRIM]),
            speed,
            leeway: x[LEEWAY],
            twa_to_track: twa,
            wind: self.conditions.wind,
            roll_rate: 0.0,
            rake: p[Control::Rake.index()],
            boom: p[Control::Boom.index()],
            car: p[Control::Car.index()],
            gap: p[Control::Gap.index()],
            vang_tension: p[Control::Vang.index()],
            luff_tension: p[Control::Downhaul.index()] + self.boat.constants.luff_tension_snug,
            sprit: p[Control::Sprit.index()],
        };
        let (rig, air) = (&self.boat.rig, self.conditions.air);
        let state = sail::solved_at_once(rig, &self.boat.constants, air, &input, SAIL_STEPS)
            .unwrap_or_else(|| SailState::cold(rig, &self.conditions.wind));
        for (k, v) in state.row().into_iter().enumerate() {
            x[k] = v;
        }
        State(x)
    }

    /// Shortens a step so that nothing leaps.
    fn bounded(&self, mut step: Row, x: &Row) -> Row {
        let strips = sail::STRIPS;
        let circulation = self.conditions.wind.at_meter.max(0.3) * self.boat.rig.geometry.foot;
        let greatest = |from: usize, to: usize| (from..to).map(|k| step[k].abs()).fold(0.0, f64::max);
        let stretch = (greatest(0, strips) / (LONGEST_CIRCULATION * circulation))
            .max(greatest(strips, 2 * strips) / LONGEST_TWIST)
            .max(step[SPEED].abs() / (LONGEST_SPEED * x[SPEED].abs().max(0.3)))
            .max(step[LEEWAY].abs() / LONGEST_LEEWAY)
            .max(step[RUDDER].abs() / LONGEST_RUDDER)
            .max(step[SINKAGE].abs() / LONGEST_SINKAGE)
            .max(step[TRIM].abs() / LONGEST_TRIM)
            .max(1.0);
        step /= stretch;
        let leech = 2 * strips;
        step[leech] = step[leech].clamp(-0.5 * x[leech].abs(), x[leech].abs().max(5.0));
        step
    }

    /// One attempt from a start.
    pub(crate) fn settle(&self, p: &Controls, start: &State, effort: Effort) -> Result<(State, Whole<f64>), f64> {
        let mut x = start.0;
        let (mut r, mut whole) = self.at(p, &x);
        // A Jacobian costs as much as ten looks at the residual: near the root its factors serve, mended, as long as they contract.
        let mut kept: Option<Mended> = None;
        let mut seen = [f64::INFINITY; STEPS];
        for round in 0..effort.steps.min(STEPS) {
            seen[round] = r.norm();
            if round >= effort.patience && seen[round] > STUCK * seen[round - effort.patience] {
                break;
            }
            while r.amax() > TOLERANCE
                && let Some(step) = kept.as_mut().and_then(|mended| mended.step(&r))
            {
                let (there, w) = self.at(p, &(x + step));
                if there.amax() < CONTRACTION * r.amax() {
                    (x, r, whole) = (x + step, there, w);
                } else {
                    kept = None;
                }
            }
            if r.amax() <= TOLERANCE {
                return Ok((State(x), whole));
            }
            let order = if r.amax() < NEAR { [Guard::Off, Guard::On] } else { [Guard::On, Guard::Off] };
            let mut best: Option<Tried> = None;
            for guard in order {
                let Some(factors) = Factors::of(&self.jacobian(p, &x, guard)) else { continue };
                let newton = factors.solve(&-r);
                let step = self.bounded(newton, &x);
                let mut share = 1.0;
                for _ in 0..5 {
                    let to = x + step * share;
                    let (there, whole) = self.at(p, &to);
                    let size = there.norm();
                    if size.is_finite() && best.as_ref().is_none_or(|b| size < b.size) {
                        best = Some(Tried { size, to, there, whole, full: share >= 1.0 && step == newton });
                    }
                    if size < (1.0 - 0.2 * share) * r.norm() {
                        break;
                    }
                    share *= 0.4;
                }
                if let Some(b) = best.as_ref().filter(|b| b.size < 0.9 * r.norm()) {
                    let near = guard == Guard::Off && b.size < NEAR;
                    kept = near.then(|| if b.full { Mended::after(factors, newton) } else { Mended::new(factors) });
                    break;
                }
            }
            let Some(Tried { to, there, whole: w, .. }) = best else { break };
            (x, r, whole) = (to, there, w);
        }
        if r.amax() <= TOLERANCE { Ok((State(x), whole)) } else { Err(r.amax()) }
    }

    pub(crate) fn judged(solved: (State, Whole<f64>)) -> Outcome<(State, Whole<f64>), Status> {
        let whole = &solved.1;
        if whole.speed < HEADWAY {
            Outcome::Status(Status::NoHeadway)
        } else if whole.rudder_angle.abs() > RUDDER_MOST || whole.leeway.abs() > RUDDER_MOST {
            Outcome::Status(Status::CannotHoldCourse)
        } else {
            Outcome::Solved(solved)
        }
    }

    /// The state for given settings; `start` is a solved state near by. Solved, or a status with its reason.
    #[must_use]
    pub fn solve(&self, p: &Controls, start: Option<&State>) -> Outcome<(State, Whole<f64>), Status> {
        self.solve_told(p, start).0
    }

    /// The same, and by which way.
    #[must_use]
    pub fn solve_told(&self, p: &Controls, start: Option<&State>) -> (Outcome<(State, Whole<f64>), Status>, Way) {
        if self.conditions.wind.at_meter <= 0.0 {
            return (Outcome::Status(Status::NoWind), Way::Start);
        }
        if let Some(solved) = start.and_then(|s| self.settle(p, s, Effort::FULL).ok()) {
            return (Self::judged(solved), Way::Start);
        }
        let usual = self.guess(p, PACES[0]);
        let first = self.settle(p, &usual, Effort::FIRST).map(Self::judged);
        // With more rudder than there is a root is no answer yet: there may be another with less.
        if let Ok(told @ (Outcome::Solved(_) | Outcome::Status(Status::NoHeadway))) = first {
            return (told, Way::Guess(0));
        }
        let last = match self.followed(p, &usual) {
            Ok(solved @ Outcome::Solved(_)) => return (solved, Way::Time),
            Ok(status) => return (first.unwrap_or(status), Way::Time),
            Err(last) => last,
        };
        if let Ok(status) = first {
            return (status, Way::Guess(0));
        }
        // The boat at rest and the sail not: strips that stand on either side of the stall.
        let ease = self.at(p, &last.0).0.amax() < AT_REST;
        if let Some(solved) = GENTLER.into_iter().filter(|_| ease).find_map(|gentler| self.eased(p, &last, gentler)) {
            return (Self::judged(solved), Way::Eased);
        }
        for (k, pace) in PACES.into_iter().enumerate().skip(1) {
            if let Ok(solved) = self.settle(p, &self.guess(p, pace), Effort::FIRST) {
                return (Self::judged(solved), Way::Guess(k));
            }
        }
        (Outcome::Status(Status::Unsettled), Way::Time)
    }

    /// From a sail that stalls gently, where there is one answer, to the sail there is: in strides.
    fn eased(&self, p: &Controls, start: &State, gentler: f64) -> Option<(State, Whole<f64>)> {
        let mut boat = self.boat.clone();
        let width = boat.constants.stall_width;
        let mut settled = |share: f64, from: &State| {
            boat.constants.stall_width = width * (1.0 + gentler * share * share);
            let case = Case { boat: &boat, ..*self };
            case.settle(p, from, Effort::STRIDE).ok()
        };
        let (mut at, mut stride) = (1.0f64, STRIDE);
        let (mut state, _) = settled(at, start)?;
        for _ in 0..STRIDES {
            let to = (at - stride).max(0.0);
            match settled(to, &state) {
                Some(solved) if to <= 0.0 => return Some(solved),
                Some(solved) => {
                    (state, at) = (solved.0, to);
                    stride *= 1.5;
                }
                None => stride *= 0.4,
            }
        }
        None
    }
}
