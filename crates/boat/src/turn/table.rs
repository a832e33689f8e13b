//! What turning itself takes: quarter turns by the speed a boat goes in with and the rudder held.
//!
//! The sail is let go and a steady push holds her straight speed, so that nothing but the turn slows her; what the push and the straight
//! hull's drag do to a boat that is already slower is taken out again, by the integral of their difference. A path round a mark
//! adds the new course's drive itself. Checked: the push hardly matters, turns by the same rudder at twice the speed have the same
//! radius and half the time where forces go with the square of the speed.

use super::{Pose, Turning};
use core::f64::consts::FRAC_PI_2;

/// Longest that a quarter turn may take, s.
const LONGEST: f64 = 60.0;
/// Error of a step, m and rad.
const TOLERANCE: f64 = 1e-6;

/// A turn through a right angle with the rudder held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuarterTurn {
    /// Speed before it, m/s.
    pub speed_in: f64,
    /// Rudder, rad.
    pub rudder: f64,
    /// How long it takes, s.
    pub seconds: f64,
    /// Mean rate of turning, rad/s.
    pub rate: f64,
    /// Mean radius: the path's length over what is turned, m.
    pub radius: f64,
    /// Speed lost to the turning itself, m/s.
    pub speed_lost: f64,
    /// What she falls behind by until she is round, one who kept her speed being level, m.
    pub metres_lost: f64,
}

/// Quarter turns from speeds (m/s) with rudders (rad), bearing away; those that are not round within a minute are left out.
/// `tiller_rate` is how fast the rudder is put over, rad/s.
#[must_use]
pub fn quarter_turns(turning: &Turning<'_>, speeds: &[f64], rudders: &[f64], tiller_rate: f64) -> Vec<QuarterTurn> {
    let all = speeds.iter().flat_map(|speed| rudders.iter().map(move |rudder| (*speed, *rudder)));
    all.filter_map(|(speed, rudder)| quarter_turn(turning, speed, rudder, tiller_rate, 1.0)).collect()
}

/// One of them, with a share of the push that holds her straight speed.
fn quarter_turn(turning: &Turning<'_>, speed: f64, rudder: f64, tiller_rate: f64, pushed: f64) -> Option<QuarterTurn> {
    let drag = |v: f64| -turning.load(&Pose::straight(v.max(0.0)), 0.0).force[0];
    let push = pushed * drag(speed);
    let over = |t: f64| rudder.signum() * (tiller_rate * t).min(rudder.abs());
    let path = turning.path(Pose::straight(speed), over, push, LONGEST, FRAC_PI_2, TOLERANCE);
    let last = path.last().filter(|p| p.turned.abs() > FRAC_PI_2 - 1e-3 && p.pace() > 0.0)?;
    // What a straight boat of that speed would have gained meanwhile, as a logarithm.
    let gain = |p: &Pose| (push - drag(p.pace())) / (turning.mass * p.pace().max(1e-6));
    let along = |f: &dyn Fn(&Pose) -> f64| path.windows(2).map(|w| 0.5 * (f(&w[0]) + f(&w[1])) * (w[1].t - w[0].t)).sum::<f64>();
    let lost = (speed / last.pace()).ln() + along(&gain);
    let length = along(&Pose::pace);
    Some(QuarterTurn {
        speed_in: speed,
        rudder,
        seconds: last.t,
        rate: FRAC_PI_2 / last.t,
        radius: length / FRAC_PI_2,
        speed_lost: speed * (1.0 - (-lost.max(0.0)).exp()),
        metres_lost: speed * last.t - length,
    })
}
