//! What each boat's beats say of the wind's direction, against what all others' say.
//!
//! On a beat her course shows the wind's direction but for a constant on each tack. A shift of the wind reaches all boats of a small water
//! within seconds, but each sails in local winds beside, and helms wander: the readings of minutes count as a few.

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
/// Readings count so much: neighbours err alike. Set on seeds 1 to 45 by what they told.
const COUNT: f64 = 0.15;
/// A boat answers no stronger than this to what the others show.
const ANSWER: f64 = 1.2;

/// Readings of direction (rad) by boat and step; not a number where she does not beat steadily.
pub(super) struct Readings(Vec<Vec<f64>>);

impl Readings {
    /// `axis` is about where the wind comes from, `angles` are the boats' angles to it at each second, rad.
    pub(super) fn of(fleet: &Fleet, axis: f64, angles: &[Vec<f64>]) -> Self {
        Self((0..fleet.boats.len()).into_par_iter().map(|boat| own(fleet, axis, boat, &angles[boat])).collect())
    }

    /// Adds the log likelihood of each shift of each boat's clock, where the clocks are already thought to be ahead by so much.
    pub(super) fn add(&self, ahead: &[f64], scores: &mut [Vec<f64>]) {
        let right = self.right(ahead);
        let sums = sums(&right);
        scores.par_iter_mut().enumerate().for_each(|(boat, score)| self.add_own(boat, &[boat], &right, &sums, score));
    }

    /// The same for one boat, without what another shows.
    pub(super) fn add_without(&self, boat: usize, without: usize, ahead: &[f64], score: &mut [f64]) {
        let right = self.right(ahead);
        self.add_own(boat, &[boat, without], &right, &sums(&right), score);
    }

    /// Every boat's readings at the times of the others.
    fn right(&self, ahead: &[f64]) -> Vec<Vec<f64>> {
        self.0.iter().zip(ahead).map(|(v, a)| if *a == 0.0 { v.clone() } else { earlier(v, *a) }).collect()
    }

    fn add_own(&self, boat: usize, without: &[usize], right: &[Vec<f64>], sums: &[[f64; 2]], score: &mut [f64]) {
        let mut others = sums.to_vec();
        without.iter().for_each(|b| add_to(&mut others, &right[*b], -1.0));
        let others: Vec<f64> = others.iter().map(|o| if o[1] > 0.5 { o[0] / o[1] } else { f64::NAN }).collect();
        compare(&self.0[boat], &others, score);
    }
}

/// Sum and count of all boats' readings at each step.
fn sums(right: &[Vec<f64>]) -> Vec<[f64; 2]> {
    let mut sums = vec![[0.0; 2]; right.first().map_or(0, Vec::len)];
    right.iter().for_each(|own| add_to(&mut sums, own, 1.0));
    sums
}

/// One boat's readings about her means on each tack.
fn own(fleet: &Fleet, axis: f64, boat: usize, angles: &[f64]) -> Vec<f64> {
    let b = &fleet.boats[boat];
    let steady = b.steady();
    let mut read = vec![f64::NAN; fleet.len / STEP];
    let mut means = [[0.0; 2]; 2];
    for (k, read) in read.iter_mut().enumerate() {
        let seconds = k * STEP..(k + 1) * STEP;
        let beats = |i: usize| steady[i] && BEATS.contains(&angles[i].abs()) && angles[i] * angles[k * STEP] > 0.0;
        if seconds.clone().all(beats) {
            let mean = |of: &dyn Fn(usize) -> f64| seconds.clone().map(of).sum::<f64>() / STEP as f64;
            *read = mean(&|i| wrap(b.course[i] - axis));
            let m = &mut means[usize::from(angles[k * STEP] > 0.0)];
            *m = [m[0] + 1.0, m[1] + mean(&|i| angles[i])];
        }
    }
    for (k, read) in read.iter_mut().enumerate() {
        // The wind that is in the angles cancels in each tack's mean.
        let m = means[usize::from(angles[k * STEP] > 0.0)];
        *read += m[1] / m[0].max(1.0);
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
fn compare(own: &[f64], others: &[f64], score: &mut [f64]) {
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
        *s -= COUNT * 0.5 * n * (left / n).max(1e-12).ln();
    }
}
