//! Laylines: from where a boat lays a course mark, as bearings with their doubt and as what a child sees over the shoulder; and what it costs to miss one.
//!
//! A layline is named by the tack she is sailed on to the course mark. It is the line through the course mark along her velocity over the ground on that
//! tack: leeway is in the polar, the current is added, the wind's doubt turns it. The body angle is the bearing of the course mark from the other tack,
//! off the bow, at the moment to tack: her heading there lies nearer to the wind than her track by the leeway.

use crate::sailing::{Day, Sailing, Stuck, Tack, Way};
use measure::angle::{DEGREE, wrap};
use measure::{Bearing, Polar};

/// A layline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layline {
    /// The tack she is on along it.
    pub tack: Tack,
    /// The bearing of the course mark on it with the wind backed by its doubt, as given, and veered by it.
    pub bearing: [Bearing; 3],
    /// Speed over the ground along it, m/s.
    pub speed: f64,
    /// How far the current sets her up to windward (positive) or down, rad.
    pub set: f64,
    /// The sight of the course mark from the other tack at the moment to tack.
    pub sight: Sight,
}

/// Where a child sees the course mark: an angle off the bow, on the windward side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// The tack she is on while looking.
    pub from: Tack,
    /// Off the bow to windward with the new wind lifted by the doubt, as given, and headed by it, rad.
    pub angle: [f64; 3],
}

/// Width of a fist at arm's length, rad. Common practice, no source.
const FIST: f64 = 10.0 * DEGREE;

impl Sight {
    /// The angle in a child's words: the windward shoulder of a sailor who looks forward points square across the boat.
    #[must_use]
    pub fn words(&self) -> String {
        let behind = (self.angle[1] - core::f64::consts::FRAC_PI_2) / FIST;
        let fists = match behind.abs().round() as i64 {
            0 => return "right over your shoulder, square across the boat".to_owned(),
            1 => "one fist".to_owned(),
            2 => "two fists".to_owned(),
            3 => "three fists".to_owned(),
            _ => return if behind > 0.0 { "far behind your shoulder" } else { "far in front of your shoulder" }.to_owned(),
        };
        match (behind > 0.0, fists.as_str()) {
            (true, "one fist") => "over your shoulder, just behind: one fist".to_owned(),
            (true, _) => format!("over your shoulder, {fists} behind"),
            (false, "one fist") => "over your shoulder, just in front: one fist".to_owned(),
            (false, _) => format!("over your shoulder, {fists} in front"),
        }
    }
}

/// Both laylines of a course mark that is beaten to: the one sailed on port tack and the one sailed on starboard tack.
///
/// `doubt` is how far the wind may lie to either side, `leeway` the angle between heading and track through the water (both rad).
///
/// # Errors
/// Without wind over the water, or where the boat makes no way to windward, or none over the ground.
pub fn laylines(polar: &Polar, day: &Day, doubt: f64, leeway: f64) -> Result<[Layline; 2], Stuck> {
    let doubt = doubt.abs();
    let turned = |turn: f64| -> Result<(Sailing, [Way; 2]), Stuck> {
        let sailing = Sailing::of(polar, &day.turned(turn))?;
        let beat = sailing.beat().ok_or(Stuck::Current)?;
        Ok((sailing, beat))
    };
    let winds = [turned(-doubt)?, turned(0.0)?, turned(doubt)?];
    let (sailing, beat) = &winds[1];
    let one = |k: usize| {
        let way = &beat[k];
        let tack = way.tack();
        let ground = |(sailing, beat): &(Sailing, [Way; 2])| {
            let [e, n] = sailing.over_ground(&beat[k]);
            (Bearing::of(e, n), e.hypot(n))
        };
        let bearing = [ground(&winds[0]).0, ground(&winds[1]).0, ground(&winds[2]).0];
        let (_, speed) = ground(&winds[1]);
        let sign = tack.sign();
        // To windward is clockwise with the wind from starboard.
        let set = sign * bearing[1].turn_from(way.course()).in_radians();
        let other = &beat[1 - k];
        let heading = other.course().in_radians() - sign * leeway;
        let off = |b: Bearing| -sign * wrap(b.in_radians() - heading);
        // Backed, the wind lifts port tack and heads starboard: the first is always the shift that lets her point higher on the new tack.
        let angle = if tack == Tack::Starboard { [off(bearing[2]), off(bearing[1]), off(bearing[0])] } else { bearing.map(off) };
        Layline { tack, bearing, speed, set, sight: Sight { from: other.tack(), angle } }
    };
    // A mark to windward that the current takes her away from on both tacks is not laid.
    let (e, n) = sailing.wind_from().unit();
    sailing.passage(e, n)?;
    Ok([one(0), one(1)])
}

/// What it costs to tack for a course mark too late.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overstood {
    /// Sailed past the layline before tacking, m over the ground.
    pub past: f64,
    /// How much later she is at the course mark, s.
    pub seconds: f64,
    /// The same as metres at her speed on the layline.
    pub metres: f64,
}

/// The cost of sailing `past` metres beyond the layline for `tack` before tacking on to it, `from` metres from the course mark.
///
/// # Errors
/// As [`laylines`].
pub fn overstood(sailing: &Sailing, tack: Tack, from: f64, past: f64) -> Result<Overstood, Stuck> {
    let beat = sailing.beat().ok_or(Stuck::Current)?;
    let (new, old) = if tack == Tack::Port { (beat[0], beat[1]) } else { (beat[1], beat[0]) };
    let (g, h) = (sailing.over_ground(&new), sailing.over_ground(&old));
    let (speed, approach) = (g[0].hypot(g[1]), h[0].hypot(h[1]));
    if speed <= 0.0 || approach <= 0.0 {
        return Err(Stuck::Current);
    }
    let to_go = [g[0] / speed * from - h[0] / approach * past, g[1] / speed * from - h[1] / approach * past];
    let seconds = past / approach + sailing.passage(to_go[0], to_go[1])?.seconds - from / speed;
    Ok(Overstood { past, seconds, metres: seconds * speed })
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Speed;

    fn day(from: f64, toward: f64, current: f64) -> Day {
        Day {
            wind_from: Bearing::degrees_true(from),
            wind: Speed::metres_per_second(5.0),
            current_toward: Bearing::degrees_true(toward),
            current: Speed::metres_per_second(current),
        }
    }

    fn even() -> Polar {
        Polar::by_rule(&[5.0], |_, degrees| if degrees < 45.0 { 0.0 } else { 1.0 })
    }

    /// Tracks 90 degrees apart, leeway 4: the course mark is 90 - 4 degrees... off the bow to windward, since her bow points 4 degrees above her track.
    #[test]
    fn the_shoulder_sees_the_tacking_angle_less_the_leeway() {
        let [port, starboard] = laylines(&even(), &day(30.0, 0.0, 0.0), 5.0 * DEGREE, 4.0 * DEGREE).unwrap();
        for (line, tack, bearing) in [(port, Tack::Port, 75.0), (starboard, Tack::Starboard, 345.0)] {
            assert_eq!((line.tack, line.sight.from), (tack, tack.other()));
            for (b, shift) in line.bearing.iter().zip([-5.0, 0.0, 5.0]) {
                assert!(b.turn_from(Bearing::degrees_true(bearing + shift)).in_degrees().abs() < 1e-9, "{tack:?} {}", b.in_degrees());
            }
            let seen = line.sight.angle.map(|a| a / DEGREE);
            assert!((seen[1] - 86.0).abs() < 1e-9, "{seen:?}");
            assert!((seen[0] - 81.0).abs() < 1e-9 && (seen[2] - 91.0).abs() < 1e-9, "{seen:?}");
            assert!(line.set.abs() < 1e-9);
        }
        assert_eq!(port.sight.words(), "right over your shoulder, square across the boat");
        let at = |degrees: f64| Sight { from: Tack::Port, angle: [degrees * DEGREE; 3] }.words();
        assert_eq!(at(99.0), "over your shoulder, just behind: one fist");
        assert_eq!(at(112.0), "over your shoulder, two fists behind");
        assert_eq!(at(81.0), "over your shoulder, just in front: one fist");
        assert_eq!(at(170.0), "far behind your shoulder");
    }

    /// A current across from port to starboard of half the boat's speed across: by the triangle of velocities.
    #[test]
    fn the_current_is_added() {
        let [port, starboard] = laylines(&even(), &day(0.0, 90.0, 0.2), 0.0, 0.0).unwrap();
        // The wind over the water turns with the current: 5 m/s less 0.2 across.
        let turn = (0.2_f64 / 5.0).atan();
        for (line, sign) in [(port, 1.0), (starboard, -1.0)] {
            // The air over the drifting water comes from further east... by that angle.
            let course = turn + sign * 45.0 * DEGREE;
            let (e, n) = (course.sin() + 0.2, course.cos());
            assert!((line.bearing[1].in_radians() - e.atan2(n).rem_euclid(core::f64::consts::TAU)).abs() < 1e-9);
            assert!((line.speed - e.hypot(n)).abs() < 1e-9);
        }
        // On starboard tack the current from her lee side sets her up to windward, on port tack down.
        assert!(starboard.set > 0.0 && port.set < 0.0, "{} {}", starboard.set, port.set);
    }

    /// One speed at all angles: 10 m past it she has 10 m more to sail, less what the straight line saves.
    #[test]
    fn overstanding_costs_the_longer_way() {
        let sailing = Sailing::of(&even(), &day(0.0, 0.0, 0.0)).unwrap();
        for tack in [Tack::Port, Tack::Starboard] {
            for past in [2.0, 10.0, 25.0] {
                let found = overstood(&sailing, tack, 60.0, past).unwrap();
                let wanted = past + 60.0_f64.hypot(past) - 60.0;
                // The polar is a polygon of one degree: 1.5e-4 of the way.
                assert!((found.metres - wanted).abs() < 2e-2, "{} {wanted}", found.metres);
            }
        }
        assert_eq!(laylines(&even(), &day(0.0, 180.0, 0.9), 0.0, 0.0), Err(Stuck::Current));
    }
}
