//! What each boat's readings say of the wind, against what all others' say.
//!
//! What a boat shows is told beforehand by what the others show, those near her the more, and what that leaves has a memory: a part that soon
//! changes, of helm and sea, and one that lasts, of the wind that is hers alone. How much the others tell, and how much each boat's readings
//! err, is learned from the outing's own boats by generalised least squares, so that readings that err alike count as few.

use super::{SHIFTS, WIDEST};
use crate::fleet::{Boat, Fleet};
use nalgebra::{SMatrix, SVector};
use rayon::prelude::*;

/// Seconds of a reading.
pub(super) const STEP: usize = 4;
/// Boats this near share winds that others do not feel, m, and tell nothing from three times as far. Assumed.
const NEAR: f64 = 60.0;
/// Boats near by must outweigh this many.
const DOUBT: f64 = 0.3;
/// What others show is taken together over these many seconds either side, of all boats' and of those near.
const ABOUT: [usize; 2] = [6, 14];
const FEATURES: usize = 4;
/// Fewer readings tell nothing.
const FEWEST: usize = 30;

type Matrix = SMatrix<f64, FEATURES, FEATURES>;
type Vector = SVector<f64, FEATURES>;

/// Readings by boat and second, each of the seconds about it; not a number where she does not sail steadily.
pub(super) struct Readings {
    own: Vec<Vec<f64>>,
    places: Vec<Vec<[f64; 2]>>,
    noise: Noise,
}

/// What is learned.
struct Learned {
    told: Vector,
    /// By boat; not a number where there are too few readings.
    variance: Vec<f64>,
}

impl Readings {
    pub(super) fn of(fleet: &Fleet, noise: Noise, own: Vec<Vec<f64>>) -> Self {
        let places = |b: &Boat| b.x.iter().zip(&b.y).step_by(STEP).map(|(x, y)| [*x, *y]).collect();
        Self { own, places: fleet.boats.iter().map(places).collect(), noise }
    }

    /// Adds the log likelihood of each shift of each boat's clock, where the clocks are already thought to be ahead by so much.
    pub(super) fn add(&self, ahead: &[f64], scores: &mut [Vec<f64>]) {
        let late: Vec<i64> = ahead.iter().map(|a| *a as i64).collect();
        let right = self.right(&late);
        let told = self.told(&right, &late);
        let learned = learned(&right, &told, &self.noise);
        scores.par_iter_mut().enumerate().for_each(|(boat, score)| self.add_own(boat, &told[boat], &learned, score));
    }

    /// The same for one boat, without what another shows.
    pub(super) fn add_without(&self, boat: usize, without: usize, ahead: &[f64], score: &mut [f64]) {
        let late: Vec<i64> = ahead.iter().map(|a| *a as i64).collect();
        let mut right = self.right(&late);
        right[without].fill(f64::NAN);
        let told = self.told(&right, &late);
        self.add_own(boat, &told[boat], &learned(&right, &told, &self.noise), score);
    }

    /// Every boat's readings at the times of the others.
    fn right(&self, late: &[i64]) -> Vec<Vec<f64>> {
        self.own.iter().zip(late).map(|(v, a)| (0..v.len() as i64).map(|i| at(v, i + a)).collect()).collect()
    }

    fn add_own(&self, boat: usize, told: &[Vector], learned: &Learned, score: &mut [f64]) {
        if learned.variance[boat].is_finite() {
            let told: Vec<f64> = told.iter().map(|f| learned.told.dot(f)).collect();
            compare(&self.own[boat], &told, learned.variance[boat], &self.noise, score);
        }
    }

    /// What the others show, for each boat and second: the mean of all about that second, narrowly and widely, and by how much those near
    /// her differ from it.
    fn told(&self, right: &[Vec<f64>], late: &[i64]) -> Vec<Vec<Vector>> {
        let len = right.first().map_or(0, Vec::len);
        let mut all = vec![[0.0; 2]; len];
        for own in right {
            for (a, v) in all.iter_mut().zip(own).filter(|(_, v)| v.is_finite()) {
                *a = [a[0] + v, a[1] + 1.0];
            }
        }
        let of = |boat: usize| {
            // Sums up to each second, of all others and of those near less the others.
            let mut far = vec![[0.0; 2]; len + 1];
            let mut near = vec![[0.0; 2]; len + 1];
            let mut weights = vec![0.0; right.len()];
            for i in 0..len {
                if i % STEP == 0 {
                    let here = self.place(boat, i as i64 + late[boat]);
                    for (other, weight) in weights.iter_mut().enumerate() {
                        let there = self.place(other, i as i64 + late[other]);
                        let apart =
                            here.zip(there).map_or(f64::MAX, |(p, q)| ((p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2)) / (NEAR * NEAR));
                        *weight = if other == boat || apart > 9.0 { 0.0 } else { (-apart.sqrt()).exp() };
                    }
                }
                let v = right[boat][i];
                let (sum, count) = if v.is_finite() { (all[i][0] - v, all[i][1] - 1.0) } else { (all[i][0], all[i][1]) };
                let mean = if count > 0.5 { sum / count } else { 0.0 };
                far[i + 1] = if count > 0.5 { [far[i][0] + sum, far[i][1] + count] } else { far[i] };
                let mut close = near[i];
                for (w, v) in weights.iter().zip(right).filter(|(w, _)| **w > 0.0).map(|(w, v)| (w, v[i])).filter(|(_, v)| v.is_finite()) {
                    close = [close[0] + w * (v - mean), close[1] + w];
                }
                near[i + 1] = close;
            }
            let over = |sums: &[[f64; 2]], i: usize, about: usize, doubt: f64| {
                let (from, to) = (i.saturating_sub(about), (i + about + 1).min(len));
                let (sum, count) = (sums[to][0] - sums[from][0], sums[to][1] - sums[from][1] + doubt * (to - from) as f64);
                if count > 0.5 { sum / count } else { f64::NAN }
            };
            (0..len)
                .map(|i| {
                    Vector::new(
                        over(&far, i, ABOUT[0], 0.0),
                        over(&far, i, ABOUT[1], 0.0),
                        over(&near, i, ABOUT[0], DOUBT),
                        over(&near, i, ABOUT[1], DOUBT),
                    )
                })
                .collect()
        };
        (0..right.len()).into_par_iter().map(of).collect()
    }

    fn place(&self, boat: usize, second: i64) -> Option<[f64; 2]> {
        self.places[boat].get(usize::try_from(second).ok()? / STEP).copied()
    }
}

/// The reading of a second, not a number outside.
fn at(v: &[f64], second: i64) -> f64 {
    usize::try_from(second).ok().and_then(|i| v.get(i)).copied().unwrap_or(f64::NAN)
}

/// What readings of one boat err: a part that soon changes and one that lasts, each an Ornstein-Uhlenbeck process.
#[derive(Debug, Clone, Copy)]
pub(super) struct Noise {
    /// Memories, s.
    pub(super) short: f64,
    pub(super) long: f64,
    /// The share of the variance that lasts.
    pub(super) lasting: f64,
    /// Log likelihoods count so much: what boats err is not all told by two memories.
    pub(super) count: f64,
}
/// The share that has no memory.
const WHITE: f64 = 0.02;

/// One step of a filter: how much of both parts is kept since the reading before, the gains, and the deviation of what is new.
#[derive(Debug, Clone, Copy)]
struct Gain {
    keep: [f64; 2],
    gain: [f64; 2],
    sd: f64,
}

impl Noise {
    /// The gains of a Kalman filter (1960) for readings at these seconds.
    fn gains(&self, seconds: &[usize]) -> Vec<Gain> {
        let v = [1.0 - self.lasting, self.lasting];
        let next = |dt: f64| [(-dt / self.short).exp(), (-dt / self.long).exp()];
        let usual = next(STEP as f64);
        let (mut p, mut last) = ([v[0], 0.0, v[1]], None);
        let gain = |i: &usize| {
            let keep = match last.map(|l: usize| i - l) {
                Some(STEP) => usual,
                Some(gap) => next(gap as f64),
                None => [0.0; 2],
            };
            last = Some(*i);
            p = [v[0] + keep[0] * keep[0] * (p[0] - v[0]), keep[0] * keep[1] * p[1], v[1] + keep[1] * keep[1] * (p[2] - v[1])];
            let both = [p[0] + p[1], p[1] + p[2]];
            let whole = both[0] + both[1] + WHITE;
            let gain = [both[0] / whole, both[1] / whole];
            p = [p[0] - gain[0] * both[0], p[1] - gain[0] * both[1], p[2] - gain[1] * both[1]];
            Gain { keep, gain, sd: whole.sqrt() }
        };
        seconds.iter().map(gain).collect()
    }
}

/// What is new in each value of a series, in its deviations.
fn news(gains: &[Gain], values: impl Iterator<Item = f64>) -> impl Iterator<Item = f64> {
    gains.iter().zip(values).scan([0.0; 2], |m, (g, value)| {
        let before = [g.keep[0] * m[0], g.keep[1] * m[1]];
        let new = value - before[0] - before[1];
        *m = [before[0] + g.gain[0] * new, before[1] + g.gain[1] * new];
        Some(new / g.sd)
    })
}

/// Learns from all boats together how much the others tell, and how much each boat errs.
fn learned(right: &[Vec<f64>], features: &[Vec<Vector>], noise: &Noise) -> Learned {
    let sums = |(own, features): (&Vec<f64>, &Vec<Vector>)| {
        let seen = |i: &usize| own[*i].is_finite() && features[*i].iter().all(|v| v.is_finite());
        let kept: Vec<usize> = (0..own.len()).step_by(STEP).filter(seen).collect();
        let gains = noise.gains(&kept);
        let mut all = vec![(Vector::zeros(), 0.0); kept.len()];
        (0..FEATURES).for_each(|f| {
            all.iter_mut().zip(news(&gains, kept.iter().map(|i| features[*i][f]))).for_each(|(a, v)| a.0[f] = v);
        });
        all.iter_mut().zip(news(&gains, kept.iter().map(|i| own[*i]))).for_each(|(a, v)| a.1 = v);
        let nothing = (Matrix::zeros(), Vector::zeros(), 0.0, 0.0);
        all.iter().fold(nothing, |(xx, xy, yy, n), (x, y)| (xx + x * x.transpose(), xy + x * *y, yy + y * y, n + 1.0))
    };
    let sums: Vec<(Matrix, Vector, f64, f64)> = right.par_iter().zip(features).map(sums).collect();
    let tells = |n: f64| n >= FEWEST as f64;
    let mut variance: Vec<f64> = sums.iter().map(|s| if tells(s.3) { (s.2 / s.3).max(1e-9) } else { f64::NAN }).collect();
    let mut told = Vector::zeros();
    for _ in 0..2 {
        let (mut xx, mut xy) = (Matrix::zeros(), Vector::zeros());
        for (s, v) in sums.iter().zip(&variance).filter(|(s, _)| tells(s.3)) {
            xx += s.0 / *v;
            xy += s.1 / *v;
        }
        // A little is taken from none, so that boats that are never near each other tell nothing of it.
        xx += Matrix::identity() * (1e-3 * xx.trace() / FEATURES as f64 + 1e-9);
        told = xx.cholesky().map_or(Vector::zeros(), |c| c.solve(&xy));
        for (s, v) in sums.iter().zip(&mut variance).filter(|(s, _)| tells(s.3)) {
            *v = ((s.2 - 2.0 * told.dot(&s.1) + told.dot(&(s.0 * told))) / s.3).max(1e-9);
        }
    }
    Learned { told, variance }
}

/// Adds the log likelihood of each shift.
fn compare(own: &[f64], told: &[f64], variance: f64, noise: &Noise, score: &mut [f64]) {
    let reach = WIDEST as usize;
    let mut missing = vec![0_u32; told.len() + 1];
    for (i, t) in told.iter().enumerate() {
        missing[i + 1] = missing[i] + u32::from(!t.is_finite());
    }
    // Only readings around which the others are seen for every shift tried: all shifts are then judged by the same ones.
    let seen = |i: &usize| own[*i].is_finite() && missing[i + reach + 1] == missing[i - reach];
    let kept: Vec<usize> = (0..own.len().saturating_sub(reach + 1)).step_by(STEP).filter(|i| *i >= reach).filter(seen).collect();
    if kept.len() < FEWEST {
        return;
    }
    let gains = noise.gains(&kept);
    for (place, s) in score.iter_mut().enumerate().take(SHIFTS) {
        let square: f64 = news(&gains, kept.iter().map(|i| own[*i] - told[i + reach - place])).map(|e| e * e).sum();
        *s -= noise.count * 0.5 * square / variance;
    }
}
