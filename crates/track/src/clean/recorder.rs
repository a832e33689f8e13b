//! What can be told of a recorder before smoothing: how often it writes, on which lattice, whether its speed is to be believed, and
//! whether it smooths by itself.

use super::smooth::{Measured, Recorder};
use super::tidy::Point;
use crate::middle::middle;
use crate::record::Track;
use measure::LocalPlane;

/// Values looked at when a lattice is sought.
const LOOKED_AT: usize = 600;
/// Doppler and positions over ten seconds may differ by this share in length. Assumed.
const AGREES: core::ops::Range<f64> = 0.8..1.25;
/// And by this in direction, radians (6 degrees): more is a magnetic course. Assumed.
const TURNED: f64 = 0.105;

/// What is known of a recorder.
#[derive(Debug, Clone)]
pub(super) struct Known {
    /// Median time between points, s.
    pub(super) interval: f64,
    /// Lattice, m: the coarser axis.
    pub(super) step: f64,
    /// Speed and course are used.
    pub(super) doppler: bool,
    /// Memory of its own smoothing, s.
    pub(super) memory: f64,
    /// Variance that the lattice alone gives a position, m2.
    pub(super) lattice: f64,
    /// Variance of a second's position, m2.
    pub(super) position: f64,
    /// Variance of a second's Doppler velocity, m2/s2.
    pub(super) velocity: f64,
    /// Standard deviation of the slow error, m.
    pub(super) slow: f64,
}

impl Known {
    pub(super) fn of(points: &[Point], track: &Track, plane: &LocalPlane, said: &mut Vec<String>) -> Self {
        let mut intervals: Vec<f64> = points.windows(2).map(|w| w[1].time - w[0].time).collect();
        let interval = middle(&mut intervals);
        let (north, east) = lattice(track);
        let origin = plane.origin();
        let metres = |latitude: f64, longitude: f64| {
            measure::Position::degrees(origin.latitude() + latitude, origin.longitude() + longitude).map_or(0.0, |p| origin.to(p).0.si())
        };
        // Degrees near the origin to metres; half a degree keeps clear of rounding.
        let sign = if origin.latitude() > 0.0 { -0.5 } else { 0.5 };
        let (x, y) = (east * 2.0 * metres(0.0, 0.5), north * 2.0 * metres(sign, 0.0));
        let step = x.max(y);
        let speed = typical_speed(points);
        // A slow boat stays on one place of a coarse lattice for seconds: the error is then alike over them.
        let alike = (step / speed.max(0.3)).max(1.0);
        let lattice = (x * x + y * y) / 24.0 * alike;
        if step > 3.0 {
            said.push(format!("positions are written in steps of {step:.0} m: turns and short line-ups can hardly be told from them"));
        }
        let doppler = believable(points, interval, said);
        Self { interval, step, doppler, memory: 0.0, lattice, position: 0.0, velocity: 0.0, slow: 0.0 }
    }
    /// As it is handed on.
    pub(super) fn recorder(&self) -> Recorder {
        Recorder {
            measured: if self.doppler { Measured::Doppler } else { Measured::Positions },
            interval: self.interval,
            step: self.step,
            memory: self.memory,
            position_noise: self.position.sqrt(),
            velocity_noise: self.velocity.sqrt(),
            slow_noise: self.slow,
        }
    }
}

/// The lattice of latitude and of longitude, degrees; zero where none coarser than a millionth of a degree is seen.
fn lattice(track: &Track) -> (f64, f64) {
    // Decimals of a degree, then of a minute, coarsest first.
    const UNITS: [f64; 8] = [1e-3, 1e-2 / 60.0, 1e-4, 1e-3 / 60.0, 1e-5, 1e-4 / 60.0, 1e-6, 1e-5 / 60.0];
    let stride = track.fixes.len().div_ceil(LOOKED_AT).max(1);
    let axis = |value: fn(&crate::record::Fix) -> f64| {
        let values: Vec<f64> = track.fixes.iter().step_by(stride).map(value).collect();
        let differ = values.iter().any(|v| (v - values[0]).abs() > 1e-9);
        let on = |unit: f64| {
            let hits = values.iter().filter(|v| ((*v / unit) - (*v / unit).round()).abs() < 1e-3).count();
            hits * 100 >= values.len() * 98
        };
        if differ { UNITS.into_iter().find(|u| on(*u)).unwrap_or(0.0) } else { 0.0 }
    };
    (axis(|f| f.position.latitude()), axis(|f| f.position.longitude()))
}

/// Median speed over ten seconds while she moves, m/s.
fn typical_speed(points: &[Point]) -> f64 {
    let mut speeds: Vec<f64> = tens(points).map(|(a, b)| over(a, b)).map(|v| v[0].hypot(v[1])).filter(|v| *v > 0.3).collect();
    middle(&mut speeds)
}

/// Pairs of points ten seconds apart, each begun where the last ended.
fn tens(points: &[Point]) -> impl Iterator<Item = (&Point, &Point)> {
    let mut from = 0;
    points.iter().enumerate().filter_map(move |(i, p)| {
        let apart = p.time - points[from].time;
        if apart < 10.0 {
            return None;
        }
        let begin = core::mem::replace(&mut from, i);
        (apart < 15.0).then(|| (&points[begin], p))
    })
}

fn over(a: &Point, b: &Point) -> [f64; 2] {
    let apart = b.time - a.time;
    [(b.at[0] - a.at[0]) / apart, (b.at[1] - a.at[1]) / apart]
}

/// Whether speed and course are the receiver's own and agree with the positions.
fn believable(points: &[Point], interval: f64, said: &mut Vec<String>) -> bool {
    let with = points.iter().filter(|p| p.way.is_some()).count();
    if with * 2 < points.len() {
        return false;
    }
    // Means over ten seconds of both, compared as one complex ratio: its length and its turn.
    let (mut same, mut across, mut own, mut compared) = (0.0, 0.0, 0.0, 0);
    let (mut from, mut sum, mut count) = (0, [0.0; 2], 0.0);
    for (i, p) in points.iter().enumerate() {
        if let Some(way) = p.way {
            sum = [sum[0] + way[0], sum[1] + way[1]];
            count += 1.0;
        }
        let apart = p.time - points[from].time;
        if apart >= 10.0 {
            let v = over(&points[from], p);
            if apart < 15.0 && count > 0.0 && v[0].hypot(v[1]) > 0.7 {
                let w = [sum[0] / count, sum[1] / count];
                compared += 1;
                same += v[0] * w[0] + v[1] * w[1];
                across += v[0] * w[1] - v[1] * w[0];
                own += w[0] * w[0] + w[1] * w[1];
            }
            (from, sum, count) = (i, [0.0; 2], 0.0);
        }
    }
    if compared == 0 {
        // Nothing moved far enough to compare: a boat at rest has no use for them.
        return false;
    }
    let share = own / same.hypot(across).max(1e-9);
    let turn = across.atan2(same);
    if !AGREES.contains(&share) || turn.abs() > TURNED {
        said.push(format!(
            "its speed and course do not agree with its positions (speed {share:.2} of theirs, turned by {:.0} degrees): left out",
            turn / measure::angle::DEGREE
        ));
        return false;
    }
    if derived(points, interval) {
        said.push("its speed was worked out from its positions afterwards and tells nothing more: left out".to_owned());
        return false;
    }
    true
}

/// Whether velocities are nothing but the difference to the point before.
fn derived(points: &[Point], interval: f64) -> bool {
    let off = |before: usize, after: usize| {
        // Squares are in the same order, and cost less.
        let mut off: Vec<f64> = points
            .windows(3)
            .filter(|w| w[2].time - w[0].time < 2.5 * interval)
            .filter_map(|w| {
                let (v, way) = (over(&w[before], &w[after]), w[1].way?);
                Some((v[0] - way[0]).powi(2) + (v[1] - way[1]).powi(2))
            })
            .collect();
        middle(&mut off).sqrt()
    };
    let (back, both) = (off(0, 1), off(0, 2));
    back < 0.06 && back < 0.5 * both
}
