//! What boats in company do at about one moment: get under way after waiting, turn off a steady course, tack.

use crate::fleet::Boat;

/// One boat does it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Event {
    /// Second of the grid, with its part.
    pub(super) time: f64,
    pub(super) place: [f64; 2],
    /// When she began it: the helm moves before the boat has way. Where it cannot be seen, the time itself.
    pub(super) begun: f64,
    /// Rank of how long she waited before it.
    pub(super) rank: usize,
}

/// Ranks of an event: those that waited longer more often go with the others.
pub(super) const RANKS: usize = 4;

/// A boat waits below this share of her pace for this long, s, and from how long on she has another rank. Assumed.
const WAITING: f64 = 0.5;
const WAITED: usize = 3;
const LONGER: [usize; RANKS - 1] = [6, 10, 25];
/// Seconds of her waiting that each second of a spurt undoes.
const SPURT: usize = 2;
/// She is under way where she sails at this share of her pace for most of this stretch, s after she left off waiting. Assumed.
const UNDER_WAY: f64 = 0.6;
const THEN: core::ops::Range<usize> = 8..30;

/// When a boat gets under way after waiting.
pub(super) fn gets_under_way(b: &Boat) -> Vec<Event> {
    let limit = WAITING * b.pace;
    let (mut found, mut waited, mut before) = (Vec::new(), 0_usize, 0);
    for i in b.span.0 + 1..b.span.1.saturating_sub(THEN.end) {
        if !b.on[i] {
            waited = 0;
        } else if b.speed[i] < limit {
            waited += 1;
        } else {
            let sails = THEN.filter(|k| b.on[i + k] && b.speed[i + k] > UNDER_WAY * b.pace).count() * 5 > THEN.len() * 3;
            let leaves = b.speed[i] > b.speed[i - 1] && (i..i + 3).all(|k| b.speed[k] >= limit);
            if waited >= WAITED && sails && leaves {
                let part = (b.speed[i] - limit) / (b.speed[i] - b.speed[i - 1]);
                let rank = LONGER.iter().filter(|l| waited >= **l).count();
                found.push(Event { time: i as f64 - part.clamp(0.0, 1.0), place: [b.x[i], b.y[i]], begun: begins(b, i, before), rank });
                before = i;
                waited = 0;
            } else {
                waited = waited.saturating_sub(SPURT);
            }
        }
    }
    found
}

/// How she drifts while she waits is taken from this stretch, s before she has way; fewer seconds of waiting tell nothing. Assumed.
const DRIFTS: core::ops::Range<usize> = 18..60;
const FEWEST: usize = 8;
/// Velocities spread at least this much while she waits, m/s on each axis: a receiver's own. Assumed.
const SPREAD: f64 = 0.04;
/// Half the squared deviations by which a second is no longer of the waiting, and the most that one second counts. Set on seeds 201 to 206 and
/// 301 to 306 by what goings told of right clocks.
const LEFT: f64 = 4.0;
const MOST: f64 = 10.0;

/// When she began to leave off waiting, by her velocity: the change point of greatest cumulative sum (Page 1954, Biometrika 41, 100)
/// before the second in which she has way, and after she went the time before. A boat that must first tack has way ten seconds after her helm
/// goes.
fn begins(b: &Boat, way: usize, before: usize) -> f64 {
    let velocity = |k: usize| {
        let (sine, cosine) = b.course[k].sin_cos();
        [b.speed[k] * sine, b.speed[k] * cosine]
    };
    let (from, to) = (way.saturating_sub(DRIFTS.end).max(b.span.0), way.saturating_sub(DRIFTS.start));
    let waits = |k: &usize| b.on[*k] && b.speed[*k] < WAITING * b.pace;
    let drift: Vec<[f64; 2]> = (from..to).filter(waits).map(velocity).collect();
    if drift.len() < FEWEST {
        return way as f64;
    }
    let count = drift.len() as f64;
    let mean = drift.iter().fold([0.0; 2], |m, v| [m[0] + v[0] / count, m[1] + v[1] / count]);
    let off = |v: [f64; 2]| (v[0] - mean[0]).powi(2) + (v[1] - mean[1]).powi(2);
    let variance = (drift.iter().map(|v| off(*v)).sum::<f64>() / count / 2.0).max(SPREAD * SPREAD);
    let (mut sum, mut most, mut begun) = (0.0, f64::MIN, way);
    for k in (to.max(before + 1)..way).rev() {
        sum += (off(velocity(k)) / (2.0 * variance)).min(MOST) - LEFT;
        if sum > most {
            (most, begun) = (sum, k);
        }
    }
    begun as f64
}

/// A course that leaves the steady one by this much has turned, rad, and stays so for this long, s. Assumed.
const TURNED: f64 = 0.6;
const STAYS: usize = 5;
/// A course is steady over this stretch, s before a turn, where its mean vector is no shorter than this share. Assumed.
const STEADY: core::ops::Range<usize> = 4..30;
const STRAIGHT: f64 = 0.97;
/// Nothing is a turn that follows another within this time, s.
const NEXT: usize = 15;

/// When a boat turns off a steady course, either way.
pub(super) fn turns_off(b: &Boat) -> Vec<Event> {
    let count = b.on.len();
    // Sums up to each second of the course's unit vector and of the seconds in which she does not sail.
    let mut sums = vec![[0.0; 3]; count + 1];
    for i in 0..count {
        let sails = b.on[i] && b.speed[i] > WAITING * b.pace;
        let (sine, cosine) = b.course[i].sin_cos();
        let s = sums[i];
        sums[i + 1] = [s[0] + sine, s[1] + cosine, s[2] + f64::from(u8::from(!sails))];
    }
    let mut found = Vec::new();
    let mut i = b.span.0 + STEADY.end;
    while i + 2 * STAYS < b.span.1 {
        let (from, to) = (i - STEADY.end, i - STEADY.start);
        if sums[i + 2 * STAYS][2] - sums[from][2] < 0.5 {
            let (east, north) = (sums[to][0] - sums[from][0], sums[to][1] - sums[from][1]);
            let steady = east.atan2(north);
            let off = |k: usize| measure::angle::wrap(b.course[k] - steady).abs();
            let straight = east.hypot(north) > STRAIGHT * (to - from) as f64;
            if straight && off(i - 1) < TURNED && (i..i + STAYS).all(|k| off(k) >= TURNED) {
                let part = (off(i) - TURNED) / (off(i) - off(i - 1)).max(1e-9);
                let time = i as f64 - part.clamp(0.0, 1.0);
                found.push(Event { time, place: [b.x[i], b.y[i]], begun: time, rank: 0 });
                i += NEXT;
            }
        }
        i += 1;
    }
    found
}

/// Close-hauled, rad from the wind: this wide on both sides of a tack, this long before and after, s.
const CLOSE_HAULED: f64 = 1.3;
const ASIDE: usize = 7;

/// When a boat's bow passes through the wind, by her angles to it.
pub(super) fn tacks(b: &Boat, angles: &[f64]) -> Vec<Event> {
    let sails = |k: usize| b.on[k] && b.speed[k] > 0.3 * b.pace;
    let through = |i: &usize| {
        let (before, after) = (angles[i - 1], angles[*i]);
        let (far, then) = (angles[i - ASIDE], angles[i + ASIDE]);
        before * after < 0.0
            && (before - after).abs() < 1.5
            && far * then < 0.0
            && far.abs().max(then.abs()) < CLOSE_HAULED
            && (i - ASIDE - 1..i + ASIDE + 1).all(sails)
    };
    (b.span.0 + ASIDE + 1..b.span.1.saturating_sub(ASIDE + 1))
        .filter(through)
        .map(|i| {
            let (before, after) = (angles[i - 1].abs(), angles[i].abs());
            let time = i as f64 - after / (before + after).max(1e-9);
            Event { time, place: [b.x[i], b.y[i]], begun: time, rank: 0 }
        })
        .collect()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::clean::{Measured, Recorder};

    /// A boat by her velocity east and north at each second, m/s.
    pub(in super::super) fn boat(velocity: &[[f64; 2]]) -> Boat {
        let count = velocity.len();
        let (mut x, mut y) = (vec![0.0; count], vec![0.0; count]);
        for i in 1..count {
            x[i] = x[i - 1] + velocity[i][0];
            y[i] = y[i - 1] + velocity[i][1];
        }
        let recorder = Recorder {
            measured: Measured::Doppler,
            interval: 1.0,
            step: 0.0,
            memory: 0.0,
            position_noise: 0.25,
            velocity_noise: 0.1,
            slow_noise: 2.0,
        };
        Boat {
            name: String::new(),
            hours: 0,
            x,
            y,
            ground: velocity.to_vec(),
            variance: vec![0.01; count],
            on: vec![true; count],
            standing: vec![false; count],
            carried: vec![false; count],
            speed: velocity.iter().map(|v| v[0].hypot(v[1])).collect(),
            course: velocity.iter().map(|v| v[0].atan2(v[1])).collect(),
            rate: vec![0.0; count],
            pace: 1.5,
            recorder,
            span: (0, count),
        }
    }

    #[test]
    fn a_boat_that_must_tack_began_when_her_helm_went() {
        for slow in [2, 10] {
            // She drifts north, leaves it at 100 to work round slowly, and gathers way on an easterly course after that.
            let velocity: Vec<[f64; 2]> = (0..200)
                .map(|t: usize| match t {
                    0..100 => [0.03 * (t as f64 * 1.7).sin(), 0.15],
                    _ if t < 100 + slow => [0.1, -0.25],
                    _ => [(0.3 * (t - 99 - slow) as f64).min(1.5), -0.1],
                })
                .collect();
            let found = gets_under_way(&boat(&velocity));
            assert_eq!(found.len(), 1, "slow for {slow} s: {found:?}");
            assert!((found[0].begun - 100.0).abs() <= 1.0, "slow for {slow} s: {found:?}");
            assert!((found[0].time - (101.5 + slow as f64)).abs() <= 1.5, "slow for {slow} s: {found:?}");
        }
    }

    #[test]
    fn a_boat_never_seen_to_drift_begins_when_she_has_way() {
        let velocity: Vec<[f64; 2]> = (0..80).map(|t| if t < 12 { [0.0, 0.2] } else { [1.5, 0.0] }).collect();
        let found = gets_under_way(&boat(&velocity));
        assert!(found.len() == 1 && (found[0].begun - found[0].time).abs() <= 1.0, "{found:?}");
    }
}
