//! What turning itself takes: quarter turns by the speed a boat goes in with and the rudder held.
//!
//! The sail is let go and a steady push holds her straight speed, so that nothing but the turn slows her; what the push and the straight
//! hull's drag do to a boat that is already slower is taken out again, by the integral of their difference. A path round a mark
//! adds the new course's drive itself.

use super::{Crewed, Pose, Turning};
use crate::balance::Control;
use core::f64::consts::FRAC_PI_2;
use measure::angle::DEGREE;

/// Longest that a quarter turn may take, s.
const LONGEST: f64 = 60.0;
/// Error of a step, m and rad.
const TOLERANCE: f64 = 1e-5;
/// Rudders of a class's table, rad.
const RUDDERS: [f64; 7] = [8.0 * DEGREE, 12.0 * DEGREE, 16.0 * DEGREE, 20.0 * DEGREE, 25.0 * DEGREE, 30.0 * DEGREE, 35.0 * DEGREE];
/// Its speeds, as shares of the slower of beat and run, of their mean and of the faster.
const SPEEDS: [f64; 3] = [0.6, 1.0, 1.2];

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

impl Crewed<'_> {
    /// Quarter turns of this boat, sailor and wind: board and seat of the beat, speeds about those of beat and run, rudder put over
    /// as fast as hands do it.
    #[must_use]
    pub fn quarter_turns(&self) -> Vec<QuarterTurn> {
        let (beat, run) = (&self.beat[0], &self.run[0]);
        let at = |control: Control| beat.controls[control.index()];
        let request = &self.request;
        let turning = Turning::of(request.boat, &request.sailor, at(Control::Seat), at(Control::Board), request.conditions.tack);
        let [slow, fast] = [beat.whole.speed.min(run.whole.speed), beat.whole.speed.max(run.whole.speed)];
        let speeds = [SPEEDS[0] * slow, SPEEDS[1] * 0.5 * (slow + fast), SPEEDS[2] * fast];
        turning.map_or_else(Vec::new, |t| quarter_turns(&t, &speeds, &RUDDERS, self.hands().tiller_rate))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Constants;
    use crate::balance::{Boat, Tack};
    use crate::class::{BoardKind, Class};
    use crate::crew::{Sailor, Skill};
    use measure::{Temperature, Water};

    /// A rudder that is over at once.
    const AT_ONCE: f64 = 1e6;

    fn dagger() -> Boat {
        let mut class = Class::pram();
        class.board.kind = BoardKind::Daggerboard;
        class.board.pivot[1] = 0.0;
        Boat::new(&class, 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard())
    }

    fn turning(boat: &Boat) -> Turning<'_> {
        Turning::of(boat, &Sailor::of(45.0, Skill::Races), 0.9, 0.0, Tack::Starboard).unwrap()
    }

    /// Where forces go with the square of the speed the path is the same at any speed, and the time that it takes goes inversely with
    /// it. What differs is friction's Reynolds number; waves make the turn of the fast boat dearer, and the path no other.
    #[test]
    fn the_radius_does_not_ask_for_the_speed() {
        let boat = dagger();
        let turns = quarter_turns(&turning(&boat), &[0.5, 1.0, 2.0], &[20.0 * DEGREE], AT_ONCE);
        assert_eq!(turns.len(), 3);
        for turn in &turns {
            assert!((turn.radius / turns[1].radius - 1.0).abs() < 0.005, "{turn:?}");
            assert!((turn.seconds * turn.speed_in / turns[1].seconds - 1.0).abs() < 0.02, "{turn:?}");
        }
        let share = |k: usize| turns[k].speed_lost / turns[k].speed_in;
        assert!((share(0) / share(1) - 1.0).abs() < 0.02 && share(2) > share(1));
    }

    /// What the turn takes is the turn's alone: pushed along, or not pushed at all, a boat too slow to make waves loses the same to it.
    #[test]
    fn the_push_hardly_matters() {
        let boat = dagger();
        let t = turning(&boat);
        let [none, full] = [0.0, 1.0].map(|push| quarter_turn(&t, 0.7, 20.0 * DEGREE, AT_ONCE, push).unwrap());
        assert!((none.speed_lost / full.speed_lost - 1.0).abs() < 0.08 && none.seconds > full.seconds, "{none:?} {full:?}");
    }

    #[test]
    fn more_rudder_turns_tighter_and_none_not_at_all() {
        let boat = dagger();
        let t = turning(&boat);
        let turns = quarter_turns(&t, &[1.4], &RUDDERS, 1.0);
        assert_eq!(turns.len(), RUDDERS.len());
        assert!(turns.windows(2).all(|w| w[1].radius < w[0].radius && w[1].rate > w[0].rate && w[1].speed_lost > w[0].speed_lost));
        assert!(quarter_turns(&t, &[1.4], &[0.0], 1.0).is_empty());
        let [one, other] = [20.0, -20.0].map(|d| quarter_turn(&t, 1.4, d * DEGREE, 1.0, 1.0).unwrap());
        assert!((one.radius - other.radius).abs() < 1e-9 && (one.speed_lost - other.speed_lost).abs() < 1e-9);
    }
}
