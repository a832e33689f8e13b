//! The direction through time on a grid of two degrees: a hidden Markov model that may follow any course of the wind, as the start
//! of the finer estimate. A look is a beat or any other course; how well its speed fits the polar at that angle counts as much as
//! the angle, which keeps one-sided courses (everybody reaching home) from being taken for a beat.

use super::axis::BINS;
use super::look::Looks;
use measure::Polar;
use measure::angle::{DEGREE, wrap};
use rayon::prelude::*;

/// Random walk of the direction in one block, degrees.
const WALK: f64 = 1.7;
/// Pull towards the outing's direction: one look of this width in five minutes, and a wall from 45 degrees on.
const PULL: f64 = 30.0;
const WALL: (f64, f64) = (45.0, 6.0);
const WALL_BLOCKS: f64 = 30.0;
/// Wind speeds tried, m/s.
const WINDS: [f64; 9] = [1.5, 2.0, 2.6, 3.3, 4.2, 5.2, 6.4, 7.5, 8.5];
/// Spread of speeds about the polar with one given, and about the assumed shape.
const POLAR_SPREAD: (f64, f64) = (0.14, 0.22);
/// Share of beats, of other courses, and of what fits nothing.
const BEATS: f64 = 0.40;
const OTHERS: f64 = 0.58;
const NOTHING: f64 = 0.02;

/// What the grid says.
pub(crate) struct Grid {
    /// For each look the probability that it is a beat with the wind from starboard, and from port.
    pub(crate) beats: Vec<[f64; 2]>,
    /// One wind speed for the outing, m/s.
    pub(crate) wind: f64,
}

/// What is expected of a look by whole degrees of its angle to a wind of one speed.
struct Expected {
    /// Logarithm of the speed.
    speed: f64,
    /// How likely she is on a beat at this angle, and on any other course.
    close: f64,
    wide: f64,
}

/// By whole degrees from 0 to 180.
fn expected(polar: &Polar, wind: f64) -> Vec<Expected> {
    let up = polar.upwind(wind) / DEGREE;
    let at = |degree: i32| {
        let angle = f64::from(degree);
        Expected {
            // Pinching, the course wanders faster than the speed follows: the polar is not read inside its best angle.
            speed: polar.speed(wind, angle.max(up) * DEGREE).max(0.05).ln() - 0.05,
            close: if angle < 30.0 { 0.0 } else { BEATS * (-0.5 * ((angle - up) / 5.0).powi(2)).exp() / (5.0 * 2.5066) },
            wide: if angle < up - 6.0 { 0.0 } else { OTHERS / (186.0 - up) },
        }
    };
    (0..=180).map(at).collect()
}

impl Expected {
    /// Likelihood of a look at this angle, and the part of it that is a beat; `own` is the logarithm of its speed.
    fn of(&self, own: f64, spread: f64) -> (f64, f64) {
        let fits = (-0.5 * ((own - self.speed) / spread).powi(2)).exp() / (spread * 2.5066);
        ((self.close + self.wide) * fits + NOTHING / 360.0, self.close * fits)
    }
}

/// Logarithm of a look's speed.
fn own(speed: f64) -> f64 {
    speed.max(0.05).ln()
}

/// Runs the model about the outing's direction.
pub(crate) fn grid(looks: &Looks, axis: f64, polar: &Polar, given: bool) -> Grid {
    let blocks = looks.blocks();
    let spread = if given { POLAR_SPREAD.0 } else { POLAR_SPREAD.1 };
    let weights = weights(looks);
    let offset: Vec<f64> = (0..BINS).map(|b| wrap(2.0 * b as f64 * DEGREE) / DEGREE).collect();
    let prior: Vec<f64> = offset
        .iter()
        .map(|o| -0.5 * (o / PULL).powi(2) / WALL_BLOCKS - 0.5 * ((o.abs() - WALL.0).max(0.0) / WALL.1).powi(2) * 6.0 / WALL_BLOCKS)
        .collect();
    // One wind speed by total likelihood, on at most some hundred blocks.
    let every = blocks.div_ceil(180).max(1);
    let emission = |block: usize, expected: &[Expected], out: &mut [f64]| {
        out.copy_from_slice(&prior);
        for i in looks.at(block) {
            let l = &looks.all[i];
            let own = own(l.speed);
            let log: [f64; 181] = core::array::from_fn(|d| expected.get(d).map_or(0.0, |e| e.of(own, spread).0.ln()));
            for (o, e) in offset.iter().zip(out.iter_mut()) {
                let angle = (wrap(axis + o * DEGREE - l.course).abs() / DEGREE).round() as usize;
                *e += weights[i] * log[angle.min(180)];
            }
        }
    };
    let likelihood = |wind: f64| {
        let (expected, mut row, mut total) = (expected(polar, wind), vec![0.0; BINS], 0.0);
        for k in (0..blocks).step_by(every).filter(|k| !looks.at(*k).is_empty()) {
            emission(k, &expected, &mut row);
            // Not the sum over all directions alone: near the outing's own.
            let top = row.iter().copied().fold(f64::MIN, f64::max);
            total += top + row.iter().map(|e| (e - top).exp()).sum::<f64>().ln();
        }
        total
    };
    let likelihoods: Vec<f64> = WINDS.par_iter().map(|wind| likelihood(*wind)).collect();
    let mut wind = (WINDS[4], f64::MIN);
    for (w, l) in WINDS.into_iter().zip(likelihoods) {
        if l > wind.1 {
            wind = (w, l);
        }
    }
    let wind = wind.0;
    let expected = expected(polar, wind);
    let emissions: Vec<Vec<f64>> = (0..blocks)
        .into_par_iter()
        .map(|k| {
            let mut e = vec![0.0; BINS];
            emission(k, &expected, &mut e);
            let top = e.iter().copied().fold(f64::MIN, f64::max);
            e.iter_mut().for_each(|v| *v = (*v - top).exp().max(1e-12));
            e
        })
        .collect();
    let posterior = forward_backward(&emissions);
    let beats = looks
        .all
        .par_iter()
        .map(|l| {
            let own = own(l.speed);
            let beat: [f64; 181] = core::array::from_fn(|d| {
                let (all, beat) = expected.get(d).map_or((1.0, 0.0), |e| e.of(own, spread));
                beat / all
            });
            let mut sides = [0.0; 2];
            for (p, o) in posterior[l.block].iter().zip(&offset) {
                let tau = wrap(axis + o * DEGREE - l.course);
                sides[usize::from(tau < 0.0)] += p * beat[((tau.abs() / DEGREE).round() as usize).min(180)];
            }
            sides
        })
        .collect();
    Grid { beats, wind }
}

/// Boats on like courses at the same time count as little more than one.
fn weights(looks: &Looks) -> Vec<f64> {
    let mut weights = vec![0.0; looks.all.len()];
    for k in 0..looks.blocks() {
        for i in looks.at(k) {
            let like = looks.at(k).filter(|j| wrap(looks.all[*j].course - looks.all[i].course).abs() < 20.0 * DEGREE).count();
            weights[i] = 0.35 / (like.max(1) as f64).powf(0.8);
        }
    }
    weights
}

fn forward_backward(emissions: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let reach = 4;
    let kernel: Vec<f64> = (0..=reach).map(|k| (-0.5 * (2.0 * f64::from(k) / WALK).powi(2)).exp()).collect();
    let total = kernel[0] + 2.0 * kernel[1..].iter().sum::<f64>();
    let spread = |p: &[f64]| -> Vec<f64> {
        (0..BINS)
            .map(|i| {
                let mut v = kernel[0] * p[i];
                for (k, w) in kernel.iter().enumerate().skip(1) {
                    v += w * (p[(i + k) % BINS] + p[(i + BINS - k) % BINS]);
                }
                v / total
            })
            .collect()
    };
    let normal = |mut p: Vec<f64>| {
        let sum = p.iter().sum::<f64>().max(1e-300);
        p.iter_mut().for_each(|v| *v = (*v / sum).max(1e-15));
        p
    };
    let mut forward: Vec<Vec<f64>> = Vec::with_capacity(emissions.len());
    for e in emissions {
        let before = forward.last().map_or_else(|| vec![1.0 / BINS as f64; BINS], |p| spread(p));
        forward.push(normal(before.iter().zip(e).map(|(p, e)| p * e).collect()));
    }
    let mut back = vec![1.0; BINS];
    for (k, e) in emissions.iter().enumerate().rev() {
        let here: Vec<f64> = forward[k].iter().zip(&back).map(|(f, b)| f * b).collect();
        forward[k] = normal(here);
        back = normal(spread(&back.iter().zip(e).map(|(b, e)| b * e).collect::<Vec<f64>>()));
    }
    forward
}
