//! What each boat's beats say of the wind's direction and, by her speed, of its gusts, against what all others' say.
//!
//! On a beat her course shows the wind's direction but for a constant on each tack, and her speed its strength. A shift of the wind reaches
//! all boats of a small water within seconds, but each sails in local winds beside, and helms wander: the readings of minutes count as a few.

use super::{SHIFTS, WIDEST, shift};
use crate::fleet::Fleet;
use measure::angle::wrap;
use rayon::prelude::*;

/// Seconds of a reading.
const STEP: usize = 4;
/// Beats lie between these angles from the wind, rad.
const BEATS: core::ops::Range<f64> = 0.35..1.2;
/// The others' mean is taken over this many readings either side, and what lasts longer than these either side is left out.
const ABOUT: usize = 3;
const LASTING: usize = 50;
/// Fewer readings tell nothing.
const FEWEST: usize = 40;
/// Readings count so much, of directions and of speeds: neighbours err alike. Set on seeds 1 to 45 by what they told.
const COUNT: [f64; 2] = [0.15, 0.05];
/// A boat answers no stronger than this to what the others show.
const ANSWER: f64 = 1.2;

/// Readings of direction (rad) and log speed by boat and step; not a number where she does not beat steadily.
pub(super) struct Readings([Vec<Vec<f64>>; 2]);

impl Readings {
    /// `axis` is about where the wind comes from, `angles` are the boats' angles to it at each second, rad.
    pub(super) fn of(fleet: &Fleet, axis: f64, angles: &[Vec<f64>]) -> Self {
        let both: Vec<[Vec<f64>; 2]> = (0..fleet.boats.len()).into_par_iter().map(|boat| own(fleet, axis, boat, &angles[boat])).collect();
        let (directions, speeds) = both.into_iter().map(|[d, v]| (d, v)).unzip();
        Self([directions, speeds])
    }

    /// Adds the log likelihood of each shift of each boat's clock, where the clocks are already thought to be ahead by so much.
    pub(super) fn add(&self, ahead: &[f64], scores: &mut [Vec<f64>]) {
        for (all, count) in self.0.iter().zip(COUNT) {
            let right: Vec<Vec<f64>> = all.iter().zip(ahead).map(|(v, a)| if *a == 0.0 { v.clone() } else { earlier(v, *a) }).collect();
            let steps = right.first().map_or(0, Vec::len);
            let mut sums = vec![[0.0; 2]; steps];
            for own in &right {
                add_to(&mut sums, own, 1.0);
            }
            scores.par_iter_mut().enumerate().for_each(|(boat, score)| {
                let mut others = sums.clone();
                add_to(&mut others, &right[boat], -1.0);
                let others: Vec<f64> = others.iter().map(|o| if o[1] > 0.5 { o[0] / o[1] } else { f64::NAN }).collect();
                compare(&all[boat], &others, count, score);
            });
        }
    }
}

/// One boat's readings about her means on each tack.
fn own(fleet: &Fleet, axis: f64, boat: usize, angles: &[f64]) -> [Vec<f64>; 2] {
    let b = &fleet.boats[boat];
    let steady = b.steady();
    let steps = fleet.len / STEP;
    let mut read = [vec![f64::NAN; steps], vec![f64::NAN; steps]];
    let mut sides = vec![0_usize; steps];
    let mut means = [[0.0; 3]; 2];
    for k in 0..steps {
        let seconds = k * STEP..(k + 1) * STEP;
        let beats = |i: usize| steady[i] && BEATS.contains(&angles[i].abs()) && angles[i] * angles[k * STEP] > 0.0;
        if !seconds.clone().all(beats) {
            continue;
        }
        let mean = |of: &dyn Fn(usize) -> f64| seconds.clone().map(of).sum::<f64>() / STEP as f64;
        // The wind that is in the angles cancels in each tack's mean.
        let (course, angle) = (mean(&|i| wrap(b.course[i] - axis)), mean(&|i| angles[i]));
        let speed = mean(&|i| b.speed[i]).max(0.05).ln();
        sides[k] = usize::from(angle > 0.0);
        (read[0][k], read[1][k]) = (course, speed);
        let m = &mut means[sides[k]];
        *m = [m[0] + 1.0, m[1] + angle, m[2] + speed];
    }
    for k in (0..steps).filter(|k| read[0][*k].is_finite()).collect::<Vec<_>>() {
        let m = means[sides[k]];
        read[0][k] += m[1] / m[0];
        read[1][k] = (read[1][k] - m[2] / m[0]).clamp(-0.4, 0.4);
    }
    read
}

/// Readings of a clock that is ahead by so much, at the times of the others.
fn earlier(own: &[f64], ahead: f64) -> Vec<f64> {
    (0..own.len()).map(|k| between(own, k as f64 + ahead / STEP as f64)).collect()
}

/// Between two readings; not a number outside or where one is missing.
fn between(v: &[f64], place: f64) -> f64 {
    if place < 0.0 {
        return f64::NAN;
    }
    let (k, part) = (place as usize, place.fract());
    match (v.get(k), v.get(k + 1)) {
        (Some(a), _) if part == 0.0 => *a,
        (Some(a), Some(b)) => a * (1.0 - part) + b * part,
        _ => f64::NAN,
    }
}

fn add_to(sums: &mut [[f64; 2]], own: &[f64], sign: f64) {
    for (s, v) in sums.iter_mut().zip(own).filter(|(_, v)| v.is_finite()) {
        *s = [s[0] + sign * v, s[1] + sign];
    }
}

/// Means over so many readings either side of each, of those there are.
fn running(v: &[f64], aside: usize) -> Vec<f64> {
    let mut sums = vec![[0.0; 2]; v.len() + 1];
    for (k, x) in v.iter().enumerate() {
        sums[k + 1] = if x.is_finite() { [sums[k][0] + x, sums[k][1] + 1.0] } else { sums[k] };
    }
    (0..v.len())
        .map(|k| {
            let (from, to) = (sums[k.saturating_sub(aside)], sums[(k + aside + 1).min(v.len())]);
            if to[1] - from[1] > 0.5 { (to[0] - from[0]) / (to[1] - from[1]) } else { f64::NAN }
        })
        .collect()
}

/// Adds the log likelihood of each shift by what of the boat's readings the others' leave.
fn compare(own: &[f64], others: &[f64], count: f64, score: &mut [f64]) {
    let less = |v: Vec<f64>, lasting: Vec<f64>| v.iter().zip(lasting).map(|(v, l)| v - l).collect::<Vec<f64>>();
    let own = less(own.to_vec(), running(own, LASTING));
    let others = less(running(others, ABOUT), running(others, LASTING));
    let reach = WIDEST as usize / STEP + 2;
    // Only readings around which the others are seen for every shift tried: all shifts are then judged by the same ones.
    let seen = |k: &usize| own[*k].is_finite() && others[k - reach..=k + reach].iter().all(|o| o.is_finite());
    let kept: Vec<usize> = (reach..own.len().saturating_sub(reach)).filter(seen).collect();
    if kept.len() < FEWEST {
        return;
    }
    let n = kept.len() as f64;
    for (i, s) in score.iter_mut().enumerate().take(SHIFTS) {
        let mut m = [0.0; 5];
        for k in &kept {
            let (x, y) = (between(&others, *k as f64 - shift(i) / STEP as f64), own[*k]);
            m = [m[0] + x, m[1] + y, m[2] + x * x, m[3] + x * y, m[4] + y * y];
        }
        let (xx, xy, yy) = (m[2] - m[0] * m[0] / n, m[3] - m[0] * m[1] / n, m[4] - m[1] * m[1] / n);
        let answer = (xy / xx.max(1e-12)).clamp(0.0, ANSWER);
        let left = yy - 2.0 * answer * xy + answer * answer * xx;
        *s -= count * 0.5 * n * (left / n).max(1e-12).ln();
    }
}
