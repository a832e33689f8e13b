//! A clock judged by one who is told all that ties boats to each other.
//!
//! Told: when every boat truly got under way after waiting, when she truly tacked, the truth of passes side by side, the true wind at
//! every boat in every second, and that all other clocks are right. Not told: why a boat went when she did, and which part of the wind at
//! her was hers alone. What is missed here is hidden from every estimator that reads clocks by the same doings of the boats.

use crate::outing::{Doing, Outing};
use crate::truth::Turn;
use measure::angle::{DEGREE, wrap};

/// How far a clock is sought, s.
const WIDEST: i64 = 30;
const SHIFTS: usize = 2 * WIDEST as usize + 1;
/// Log likelihood that a shift must gain over none, taken with those within these seconds of each.
const GAIN: f64 = 3.5;
const AROUND: usize = 3;
const NONE: usize = 2;

/// Something a boat did: second and place.
type Event = (f64, [f64; 2]);

/// A kind of doing: how near boats draw each other along, m, the spread of their lag, s, and how much it counts.
struct Habit {
    reach: f64,
    spread: f64,
    weight: f64,
}

/// Boats go within two seconds of the signal each, and one that covers another tacks within three.
const GOING: Habit = Habit { reach: 45.0, spread: 2.8, weight: 1.0 };
const TACKING: Habit = Habit { reach: 60.0, spread: 1.5, weight: 0.5 };
/// Boats that end a pass together do so within this, s.
const AT_ONCE: f64 = 1.0;
/// Lags up to this many spreads are no chance.
const TOGETHER: f64 = 3.0;
/// She waited and sailed for so long, s.
const WAITED: usize = 8;
const SAILED: usize = 30;

/// The shift to propose for a boat's clock, s; none where none is clear.
pub(super) fn clock(outing: &Outing, boat: usize) -> Option<f64> {
    let ahead = outing.recorders[boat].clock_ahead;
    let hours = (ahead / 3600.0).trunc() * 3600.0;
    let mut score = vec![0.0; SHIFTS];
    company(&went(outing), &GOING, outing, boat, &mut score);
    company(&tacked(outing), &TACKING, outing, boat, &mut score);
    passes(outing, boat, &mut score);
    winds(outing, boat, &mut score);
    // All this is by true times; by her own clock she did it later.
    let top = score.iter().copied().fold(f64::MIN, f64::max);
    let best = score.iter().position(|s| *s == top)?;
    let seen = shift(best) + ahead - hours;
    let mass = |middle: i64, aside: usize| {
        let near = |i: &usize| (shift(*i) - middle as f64).abs() <= aside as f64;
        (0..SHIFTS).filter(near).map(|i| (score[i] - top).exp()).sum::<f64>()
    };
    let none = (hours - ahead).round() as i64;
    let gain = (mass(shift(best) as i64, AROUND) / mass(none, NONE).max(f64::MIN_POSITIVE)).ln();
    ((gain > GAIN && seen.abs() >= 4.0) || hours != 0.0).then(|| -((if gain > GAIN { seen } else { 0.0 }) + hours))
}

/// The shift at a place of a score, s.
fn shift(place: usize) -> f64 {
    place as f64 - WIDEST as f64
}

/// Normal density.
fn density(off: f64, spread: f64) -> f64 {
    (-0.5 * (off / spread).powi(2)).exp() / (spread * 2.5066)
}

/// When each boat left off waiting and sailed on, or was towed.
fn went(outing: &Outing) -> Vec<Vec<Event>> {
    let under_way = |d: Doing| matches!(d, Doing::Sailing | Doing::Towed);
    let each = outing.states.iter().map(|s| {
        let goes =
            |i: &usize| s[i - WAITED..*i].iter().all(|s| s.doing == Doing::Waiting) && s[*i..i + SAILED].iter().all(|s| under_way(s.doing));
        (WAITED..s.len().saturating_sub(SAILED)).filter(goes).map(|i| (i as f64, [s[i].x, s[i].y])).collect()
    });
    each.collect()
}

fn tacked(outing: &Outing) -> Vec<Vec<Event>> {
    let place = |boat: usize, t: f64| outing.states[boat].get(t as usize).map_or([f64::MAX; 2], |s| [s.x, s.y]);
    let each = outing.manoeuvres.iter().enumerate().map(|(boat, list)| {
        let own = list.iter().filter(|m| m.kind == Turn::Tack).map(|m| m.time - outing.start);
        own.map(|t| (t, place(boat, t))).collect()
    });
    each.collect()
}

/// Adds the log likelihood of each shift by what the boat and those near her did: a rate of her own and one drawn by each of the others,
/// both counted from the truth of the whole outing.
fn company(all: &[Vec<Event>], habit: &Habit, outing: &Outing, boat: usize, score: &mut [f64]) {
    let lags = |own: usize, e: &Event| {
        let others = all.iter().enumerate().filter(|o| o.0 != own).flat_map(|o| o.1);
        let near = others.filter(|o| (o.1[0] - e.1[0]).hypot(o.1[1] - e.1[1]) < habit.reach);
        near.map(|o| e.0 - o.0).filter(|d| d.abs() < 2.5 * WIDEST as f64).collect::<Vec<f64>>()
    };
    let (mut alone, mut drawn, mut events) = (1.0, 1.0, 20.0);
    for (own, e) in all.iter().enumerate().flat_map(|(b, list)| list.iter().map(move |e| (b, e))) {
        let together = lags(own, e).iter().filter(|d| d.abs() < TOGETHER * habit.spread).count();
        events += 1.0;
        drawn += together as f64;
        alone += f64::from(u8::from(together == 0));
    }
    alone /= outing.states.len() as f64 * outing.wind.len() as f64;
    drawn /= events * (outing.states.len() as f64 - 1.0).max(1.0);
    for e in &all[boat] {
        let lags = lags(boat, e);
        for (i, s) in score.iter_mut().enumerate() {
            let by_others: f64 = lags.iter().map(|d| density(d - shift(i), habit.spread)).sum();
            *s += habit.weight * (1.0 + drawn / alone * by_others).ln();
        }
    }
}

/// The same by the ends of passes, which both boats know.
fn passes(outing: &Outing, boat: usize, score: &mut [f64]) {
    let own = outing.lineups.iter().filter(|l| l.boats.0 == boat || l.boats.1 == boat).count();
    for (i, s) in score.iter_mut().enumerate() {
        let chance = 1.0 / (2.0 * WIDEST as f64);
        *s += own as f64 * (0.5 * chance + 0.5 * density(shift(i), AT_ONCE)).ln();
    }
}

/// Seconds of a reading; readings either side over which the others' are taken together, and what lasts longer than these is left out.
const STEP: usize = 4;
const ABOUT: usize = 3;
const LASTING: usize = 50;
/// Readings of direction and of strength count so much: local winds last for a minute.
const COUNT: [f64; 2] = [0.15, 0.1];

/// The same by the true wind at the boat against the mean of that at the others, wherever they sail.
fn winds(outing: &Outing, boat: usize, score: &mut [f64]) {
    let steps = outing.wind.len() / STEP;
    let axis = outing.wind.first().map_or(0.0, |w| w.from);
    let reading = |boat: usize, k: usize| {
        let s = &outing.states[boat][k * STEP];
        (s.doing == Doing::Sailing).then(|| [wrap((s.wind_water.from - axis) * DEGREE), s.wind_water.speed.ln()])
    };
    for (which, count) in COUNT.into_iter().enumerate() {
        let own: Vec<f64> = (0..steps).map(|k| reading(boat, k).map_or(f64::NAN, |r| r[which])).collect();
        let others: Vec<f64> = (0..steps)
            .map(|k| {
                let all: Vec<f64> = (0..outing.states.len()).filter(|b| *b != boat).filter_map(|b| Some(reading(b, k)?[which])).collect();
                all.iter().sum::<f64>() / all.len() as f64
            })
            .collect();
        let less = |v: &[f64], lasting: Vec<f64>| v.iter().zip(lasting).map(|(v, l)| v - l).collect::<Vec<f64>>();
        let (own, others) = (less(&own, running(&own, LASTING)), less(&running(&others, ABOUT), running(&others, LASTING)));
        let reach = WIDEST as usize / STEP + 2;
        let seen = |k: &usize| own[*k].is_finite() && others[k - reach..=k + reach].iter().all(|o| o.is_finite());
        let kept: Vec<usize> = (reach..steps.saturating_sub(reach)).filter(seen).collect();
        if kept.len() < 40 {
            continue;
        }
        for (i, s) in score.iter_mut().enumerate() {
            let misses = kept.iter().map(|k| {
                let at = *k as f64 - shift(i) / STEP as f64;
                let (k0, u) = (at as usize, at.fract());
                own[*k] - others[k0] * (1.0 - u) - others[k0 + 1] * u
            });
            let (n, sum, square) = misses.fold((0.0, 0.0, 0.0), |m, x| (m.0 + 1.0, m.1 + x, m.2 + x * x));
            *s -= count * 0.5 * n * ((square - sum * sum / n) / n).max(1e-12).ln();
        }
    }
}

/// Means over so many values either side, of those there are.
fn running(v: &[f64], aside: usize) -> Vec<f64> {
    let mean = |k: usize| {
        let near = v[k.saturating_sub(aside)..(k + aside + 1).min(v.len())].iter().filter(|x| x.is_finite());
        let (n, sum) = near.fold((0.0, 0.0), |m, x| (m.0 + 1.0, m.1 + x));
        sum / n
    };
    (0..v.len()).map(mean).collect()
}
