//! Two methods to stand beside an estimator: the ordinary one, and one that is told what nobody can know.
//!
//! The ordinary one calls every sharp change of course between 60 and 130 degrees a tack if the speed falls and takes the
//! bisector of its courses for the wind, the last three held until the next. The other is given true velocities, true wind sides and each
//! boat's true mean angles: what it misses is noise no estimator from the same boats can remove.

mod clock;

use crate::answer::{Answer, BoatAnswer, LineupAnswer, ManoeuvreAnswer, RoundingAnswer, WindAnswer};
use crate::outing::{Doing, Outing, State};
use crate::recorder::Recorder;
use crate::truth::{BEAT_TO, Leg, LegKind, RUN_FROM, Turn};
use measure::angle::{DEGREE, wrap};
use measure::{LocalPlane, Position};

/// What the ordinary method says its direction is good for, degrees: it has no way to tell.
const ORDINARY_SD: f64 = 6.0;
/// Seconds of course before and after a turn that are averaged.
const ASIDE: usize = 8;

/// One boat on whole seconds, from her recorder's positions alone: velocity over 3 s, none where nothing was recorded.
fn velocities(outing: &Outing, recorder: &Recorder) -> Vec<Option<[f64; 2]>> {
    let plane = LocalPlane::at(outing.origin);
    let mut at: Vec<Option<[f64; 2]>> = vec![None; outing.wind.len()];
    for fix in &recorder.fixes {
        let second = (fix.0 - outing.start).round();
        if let (true, Ok(p)) = (second >= 0.0, Position::degrees(fix.1, fix.2))
            && let Some(slot) = at.get_mut(second as usize)
        {
            let (x, y) = plane.xy(p);
            *slot = Some([x, y]);
        }
    }
    (0..at.len())
        .map(|i| {
            let (a, b) = (i.saturating_sub(2), (i + 2).min(at.len() - 1));
            let (p, q) = (at[a]?, at[b]?);
            let v = [(q[0] - p[0]) / (b - a) as f64, (q[1] - p[1]) / (b - a) as f64];
            // Nobody sails a pram at this speed: a spike.
            (v[0].hypot(v[1]) < 4.0).then_some(v)
        })
        .collect()
}

/// A sharp change of course.
struct Sharp {
    second: usize,
    bisector: f64,
    turn: f64,
    kept: f64,
}

fn mean(v: &[Option<[f64; 2]>]) -> Option<[f64; 2]> {
    let known: Vec<[f64; 2]> = v.iter().flatten().copied().collect();
    let n = known.len() as f64;
    (known.len() > v.len() / 2).then(|| known.iter().fold([0.0, 0.0], |s, v| [s[0] + v[0] / n, s[1] + v[1] / n]))
}

fn sharp_turns(v: &[Option<[f64; 2]>]) -> Vec<Sharp> {
    let mut found: Vec<Sharp> = Vec::new();
    let mut i = 2 * ASIDE;
    let turn_at = |i: usize| -> Option<(f64, f64, f64)> {
        let (a, b) = (mean(&v[i - ASIDE - 3..i - 3])?, mean(&v[i + 4..i + 4 + ASIDE])?);
        let (ca, cb) = (a[0].atan2(a[1]), b[0].atan2(b[1]));
        let (sa, sb) = (a[0].hypot(a[1]), b[0].hypot(b[1]));
        let turn = wrap(cb - ca);
        let slowest = v[i - 3..i + 4].iter().flatten().map(|v| v[0].hypot(v[1])).fold(sa, f64::min);
        (sa > 0.5 && sb > 0.4).then_some((turn, ca + 0.5 * turn, slowest / sa))
    };
    while i + 4 + ASIDE < v.len() {
        let here = turn_at(i).filter(|t| (60.0..130.0).contains(&(t.0.abs() / DEGREE)));
        if here.is_some() {
            // The middle of the turn is where it is largest.
            let best = (i..(i + 10).min(v.len() - 4 - ASIDE))
                .filter_map(|k| turn_at(k).map(|t| (k, t)))
                .max_by(|a, b| a.1.0.abs().total_cmp(&b.1.0.abs()));
            if let Some((second, (turn, bisector, kept))) = best {
                found.push(Sharp { second, bisector, turn: turn.abs() / DEGREE, kept });
                i = second + ASIDE;
            }
        }
        i += 1;
    }
    found
}

/// The ordinary method: turns, their bisectors, and the fixes as they are.
#[must_use]
pub fn ordinary(outing: &Outing) -> Answer {
    let velocities: Vec<_> = outing.recorders.iter().map(|r| velocities(outing, r)).collect();
    let turns: Vec<Vec<Sharp>> = velocities.iter().map(|v| sharp_turns(v)).collect();
    // Tacks lose way: their bisectors point at the wind.
    let mut tacks: Vec<(usize, f64)> = turns.iter().flatten().filter(|t| t.kept < 0.75).map(|t| (t.second, t.bisector)).collect();
    tacks.sort_by_key(|t| t.0);
    if tacks.is_empty() {
        return Answer { boats: vec![BoatAnswer::default(); outing.states.len()], ..Answer::default() };
    }
    let middle = |tacks: &[(usize, f64)]| {
        let (e, n) = tacks.iter().fold((0.0, 0.0), |s, t| (s.0 + t.1.sin(), s.1 + t.1.cos()));
        e.atan2(n)
    };
    for within in [60.0, 40.0, 25.0] {
        let whole = middle(&tacks);
        tacks.retain(|t| wrap(t.1 - whole).abs() < within * DEGREE);
    }
    // The last three tacks of the fleet, before the first of them the first three.
    let direction = |second: usize| {
        let i = tacks.partition_point(|t| t.0 <= second).max(3).min(tacks.len());
        middle(&tacks[i.saturating_sub(3)..i])
    };
    let wind = (0..outing.wind.len())
        .step_by(30)
        .map(|s| WindAnswer {
            time: outing.start + s as f64,
            direction: Some(((direction(s) / DEGREE).rem_euclid(360.0), ORDINARY_SD)),
            speed: None,
        })
        .collect();
    let boats = turns.iter().zip(&velocities).map(|(turns, v)| ordinary_boat(outing, turns, v, &direction)).collect();
    let lineups = outing
        .lineups
        .iter()
        .filter_map(|l| {
            let (from, to) = ((l.start - outing.start) as usize, (l.end - outing.start) as usize);
            let (a, b) = (mean(&velocities[l.boats.0][from..to])?, mean(&velocities[l.boats.1][from..to])?);
            let (east, north) = direction(from).sin_cos();
            let difference = (a[0] - b[0]) * east + (a[1] - b[1]) * north;
            Some(LineupAnswer { boats: l.boats, start: l.start, end: l.end, difference: (difference, 0.02) })
        })
        .collect();
    Answer { wind, boats, lineups, course_marks: Vec::new() }
}

fn ordinary_boat(outing: &Outing, turns: &[Sharp], v: &[Option<[f64; 2]>], direction: &dyn Fn(usize) -> f64) -> BoatAnswer {
    let pace = |i: usize| v[i].map_or(0.0, |v| v[0].hypot(v[1]));
    let manoeuvres = turns
        .iter()
        .map(|t| {
            let tack = wrap(t.bisector - direction(t.second)).abs() < 90.0 * DEGREE;
            let (before, wind) = (mean(&v[t.second - ASIDE - 3..t.second - 3]).unwrap_or_default(), direction(t.second));
            let good = |v: [f64; 2]| (v[0] * wind.sin() + v[1] * wind.cos()).abs();
            let lost: f64 = (t.second - 4..(t.second + 16).min(v.len())).filter_map(|i| Some(good(before) - good(v[i]?))).sum();
            ManoeuvreAnswer {
                time: outing.start + t.second as f64,
                kind: if tack { Turn::Tack } else { Turn::Gybe },
                turn: t.turn,
                loss: Some(lost),
            }
        })
        .collect();
    let kind = |i: usize| {
        let course = mean(&v[i.saturating_sub(7)..(i + 8).min(v.len())]);
        match course {
            Some(c) if pace(i) > 0.35 => {
                let angle = wrap(direction(i) - c[0].atan2(c[1])).abs() / DEGREE;
                if angle <= BEAT_TO {
                    LegKind::Beat
                } else if angle >= RUN_FROM {
                    LegKind::Run
                } else {
                    LegKind::Reach
                }
            }
            _ => LegKind::Stopped,
        }
    };
    let legs = (0..v.len()).map(|i| Leg { start: outing.start + i as f64, end: outing.start + i as f64 + 1.0, kind: kind(i) }).collect();
    BoatAnswer { clock_shift: None, legs, manoeuvres, ..BoatAnswer::default() }
}

/// Told the true velocities, sides and mean angles: the noise floor.
#[must_use]
pub fn told(outing: &Outing) -> Answer {
    let beats = |s: &State| s.doing == Doing::Sailing && s.speed() > 0.4 && (25.0..62.0).contains(&s.wind_angle().abs());
    // Each boat's mean angle on a beat over the outing.
    let angles: Vec<f64> = outing
        .states
        .iter()
        .map(|b| {
            let own: Vec<f64> = b.iter().filter(|s| beats(s)).map(|s| s.wind_angle().abs()).collect();
            own.iter().sum::<f64>() / own.len().max(1) as f64
        })
        .collect();
    // Readings of the direction in each half minute, relative to the first wind so that they can be averaged.
    let first = outing.wind.first().map_or(0.0, |w| w.from);
    let reading = |from: usize, to: usize| {
        let mut readings = Vec::new();
        for (states, angle) in outing.states.iter().zip(&angles) {
            for s in states[from..to].iter().filter(|s| beats(s)) {
                // Her course and side give the wind over the water; the current, which it is told, makes it that over the ground.
                let course = s.over_water[0].atan2(s.over_water[1]) / DEGREE;
                let drift = s.wind_ground.from - s.wind_water.from;
                readings.push(wrap((course + s.wind_angle().signum() * angle + drift - first) * DEGREE) / DEGREE);
            }
        }
        (readings.len() > 10).then(|| readings.iter().sum::<f64>() / readings.len() as f64)
    };
    let readings: Vec<Option<f64>> =
        (0..outing.wind.len()).step_by(STEP).map(|s| reading(s.saturating_sub(STEP / 2), (s + STEP / 2).min(outing.wind.len()))).collect();
    let truth: Vec<f64> = (0..outing.wind.len()).step_by(STEP).map(|s| wrap((outing.wind[s].from - first) * DEGREE) / DEGREE).collect();
    let wind = wandering(&readings, &truth)
        .into_iter()
        .enumerate()
        .map(|(i, (direction, sd))| WindAnswer {
            time: outing.start + (i * STEP) as f64,
            direction: readings.iter().any(Option::is_some).then_some(((direction + first).rem_euclid(360.0), sd)),
            speed: None,
        })
        .collect();
    let boats = (0..outing.states.len()).map(|b| told_boat(outing, b)).collect();
    let lineups = outing
        .lineups
        .iter()
        .map(|l| {
            let seconds = ((l.start - outing.start) as usize, (l.end - outing.start) as usize);
            let (one, other) = (missed(outing, l.boats.0, seconds), missed(outing, l.boats.1, seconds));
            let sd = one.1.hypot(other.1);
            LineupAnswer { boats: l.boats, start: l.start, end: l.end, difference: (l.difference + one.0 - other.0, sd) }
        })
        .collect();
    Answer { wind, boats, lineups, course_marks: Vec::new() }
}

/// Seconds between the directions of the method that is told everything.
const STEP: usize = 30;
/// Memory of a direction that swings with a period of some 300 s, s.
const MEMORY: f64 = 110.0;
/// Noise of one half minute's reading: helms and local wind, degrees.
const READING: f64 = 1.8;

/// The best guess and its standard deviation through time from readings (deg), for a direction that wanders about a mean
/// with a spread, both of which it is told: a Kalman filter forwards and the Rauch-Tung-Striebel pass back (1965).
fn wandering(readings: &[Option<f64>], truth: &[f64]) -> Vec<(f64, f64)> {
    let n = truth.len().max(1) as f64;
    let mean = truth.iter().sum::<f64>() / n;
    let spread = (truth.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / n).max(0.1);
    let keep = (-(STEP as f64) / MEMORY).exp();
    let mut forward: Vec<(f64, f64)> = Vec::with_capacity(readings.len());
    let (mut x, mut p) = (0.0, spread);
    for r in readings {
        (x, p) = (keep * x, keep * keep * p + (1.0 - keep * keep) * spread);
        if let Some(r) = r {
            let gain = p / (p + READING * READING);
            (x, p) = (x + gain * (r - mean - x), (1.0 - gain) * p);
        }
        forward.push((x, p));
    }
    let mut smooth = forward.clone();
    for i in (0..smooth.len().saturating_sub(1)).rev() {
        let (x, p) = forward[i];
        let ahead = keep * keep * p + (1.0 - keep * keep) * spread;
        let gain = keep * p / ahead;
        smooth[i] = (x + gain * (smooth[i + 1].0 - keep * x), p + gain * gain * (smooth[i + 1].1 - ahead));
    }
    smooth.into_iter().map(|(x, p)| (mean + x, p.sqrt())).collect()
}

/// Standard deviation of a receiver's slow error on the mean, m, and its memory, s; its white noise, m; that of a Doppler velocity, m/s, alike
/// over a second so that it counts twice in variance: as the recorders here have them.
const SLOW: f64 = 1.8;
const SLOW_MEMORY: f64 = 120.0;
const WHITE: f64 = 0.25;
const DOPPLER: f64 = 0.075 * core::f64::consts::SQRT_2;

/// What a boat's fixes must miss of her mean speed made good over a pass, m/s, and its standard deviation, when the wind, her whole way but
/// for a place and a constant velocity, and the manner of her receiver's errors are all told: a Kalman filter of these and the slow error over
/// what her recorder wrote, less where she was.
fn missed(outing: &Outing, boat: usize, (from, to): (usize, usize)) -> (f64, f64) {
    let (states, recorder) = (&outing.states[boat], &outing.recorders[boat]);
    let plane = outing.plane();
    let wind = states[from..to].iter().fold([0.0, 0.0], |w, s| {
        let v = s.wind_water.vector();
        [w[0] - v[0], w[1] - v[1]]
    });
    let size = wind[0].hypot(wind[1]).max(1e-9);
    let up = [wind[0] / size, wind[1] / size];
    let along = |v: [f64; 2]| v[0] * up[0] + v[1] * up[1];
    // Velocity, place at the middle of the pass and slow error, with their covariance.
    let (mut x, mut p) = ([0.0; 3], [[0.25, 0.0, 0.0], [0.0, 400.0, 0.0], [0.0, 0.0, SLOW * SLOW]]);
    let take = |x: &mut [f64; 3], p: &mut [[f64; 3]; 3], h: [f64; 3], seen: f64, variance: f64| {
        let dot = |a: &[f64; 3]| a[0] * h[0] + a[1] * h[1] + a[2] * h[2];
        let ph = [dot(&p[0]), dot(&p[1]), dot(&p[2])];
        let (spread, miss) = (dot(&ph) + variance, seen - dot(x));
        for i in 0..3 {
            x[i] += ph[i] / spread * miss;
            for (j, other) in ph.iter().enumerate() {
                p[i][j] -= ph[i] * other / spread;
            }
        }
    };
    let (mut last, middle) = (from as f64, 0.5 * (from + to) as f64);
    for fix in &recorder.fixes {
        let t = fix.0 - recorder.clock_ahead - outing.start;
        let (Ok(position), true) = (Position::degrees(fix.1, fix.2), t >= last && t < to as f64 - 1.0) else { continue };
        let (i, u) = (t as usize, t - t.floor());
        let mix = |a: f64, b: f64| a + u * (b - a);
        let (a, b) = (&states[i], &states[i + 1]);
        let at = plane.xy(position);
        let off = along([at.0 - mix(a.x, b.x), at.1 - mix(a.y, b.y)]);
        if off.abs() > 15.0 {
            // A spike is told as such.
            continue;
        }
        let dt = t - last;
        let keep = (-dt / SLOW_MEMORY).exp();
        x[2] *= keep;
        p[2] = p[2].map(|v| keep * v);
        for row in &mut p {
            row[2] *= keep;
        }
        p[2][2] += (1.0 - keep * keep) * SLOW * SLOW;
        last = t;
        // Points of one second share their Doppler noise and count as one.
        let share = recorder.hertz.max(1.0);
        take(&mut x, &mut p, [t - middle, 1.0, 1.0], off, WHITE * WHITE);
        if let (Some(speed), Some(course)) = (fix.3, fix.4) {
            let (east, north) = (course * DEGREE).sin_cos();
            let way = [speed * east - mix(a.over_ground[0], b.over_ground[0]), speed * north - mix(a.over_ground[1], b.over_ground[1])];
            take(&mut x, &mut p, [1.0, 0.0, 0.0], along(way), DOPPLER * DOPPLER * share);
        }
    }
    (x[0], p[0][0].max(0.0).sqrt())
}

/// Told when and how she turned, she still must be charged from what she made good before and after.
fn told_boat(outing: &Outing, boat: usize) -> BoatAnswer {
    let states = &outing.states[boat];
    let manoeuvres = outing.manoeuvres[boat]
        .iter()
        .map(|m| {
            let k = (m.time - outing.start) as usize;
            let way = if m.kind == Turn::Tack { 1.0 } else { -1.0 };
            let good = |range: core::ops::Range<usize>| {
                let own: Vec<f64> = states[range].iter().map(|s| way * s.made_good()).filter(|v| *v > 0.2).collect();
                (own.len() > 8).then(|| own.iter().sum::<f64>() / own.len() as f64)
            };
            let before = good(k.saturating_sub(28)..k.saturating_sub(4));
            let after = good((k + 14).min(states.len())..(k + 38).min(states.len()));
            let reference = match (before, after) {
                (Some(a), Some(b)) => Some(0.5 * (a + b)),
                (one, other) => one.or(other),
            };
            let window = &states[k.saturating_sub(3)..(k + 14).min(states.len())];
            let loss = reference.map(|r| window.iter().map(|s| r - way * s.made_good()).sum());
            ManoeuvreAnswer { time: m.time, kind: m.kind, turn: m.turn, loss }
        })
        .collect();
    let roundings =
        outing.roundings[boat].iter().map(|r| RoundingAnswer { time: r.time, kind: r.kind, widths: (r.entry, r.exit) }).collect();
    let stops = outing.legs[boat].iter().filter(|l| l.kind == LegKind::Stopped).map(|l| (l.start, l.end)).collect();
    let starts = crate::judge::went(outing, boat).into_iter().map(|i| outing.start + i as f64).collect();
    BoatAnswer { clock_shift: clock::clock(outing, boat), legs: outing.legs[boat].clone(), manoeuvres, roundings, starts, stops }
}
