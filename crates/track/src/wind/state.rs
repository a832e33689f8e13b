//! The direction as a linear state-space model on ten-second blocks: a Kalman filter (Kalman 1960) and the Rauch-Tung-Striebel
//! pass back (1965). Linear in blocks times boats.
//!
//! States (radians; per kilometre for the last two): quick changes; the swing and its quadrature, a damped oscillator; slow
//! changes; a constant; what all boats' beat angle differs by; what all boats on starboard do together (footing for the layline,
//! pinching), the same on port; the change of direction per kilometre east and north. A boat's course on a beat with the wind
//! from side `s` is `f - s (up + offset + own + together) + noise`.

use super::look::BLOCK;
use measure::angle::{DEGREE, wrap};
use nalgebra::{SMatrix, SVector};

pub(crate) const N: usize = 10;
type Vector = SVector<f64, N>;
type Matrix = SMatrix<f64, N, N>;

/// How the wind of this outing changes and how its boats scatter; chosen by likelihood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Manner {
    /// Standard deviation of quick changes, rad.
    pub(crate) quick: f64,
    /// Standard deviation of the swing, rad.
    pub(crate) swing: f64,
    /// Its period, s; zero for a swing without one.
    pub(crate) period: f64,
    /// Standard deviation of slow changes, rad.
    pub(crate) slow: f64,
    /// Standard deviation of what all boats of one side do together, rad.
    pub(crate) together: f64,
    /// Factor on the variance of a reading: the local wind and the helm keep their mood over some blocks.
    pub(crate) mood: f64,
}

/// Values tried of each part of a manner: standard deviations (deg) as the study of methods found them, periods (s) as oscillations
/// are commonly timed.
const QUICKS: [f64; 4] = [0.7, 1.3, 2.2, 3.5];
const SWINGS: [f64; 5] = [0.7, 2.0, 3.5, 5.0, 8.0];
const PERIODS: [f64; 7] = [0.0, 170.0, 210.0, 260.0, 320.0, 390.0, 480.0];
const SLOWS: [f64; 3] = [2.5, 6.0, 14.0];
const TOGETHERS: [f64; 3] = [1.0, 2.0, 3.5];
const MOODS: [f64; 4] = [0.7, 1.0, 1.6, 2.5];
/// Spread of the logarithm of each part of a manner between outings. Assumed.
const UNLIKE: f64 = 0.7;
/// How many of the likeliest are kept, and what a unit of log likelihood counts between them: readings are not as independent of
/// each other as the model has it.
const NEARLY: usize = 8;
const TEMPER: f64 = 0.3;
/// Rounds in which every part is tried in turn.
const TURNS: usize = 2;

impl Manner {
    /// Before anything is known.
    pub(crate) const USUAL: Self =
        Self { quick: 2.2 * DEGREE, swing: 3.5 * DEGREE, period: 0.0, slow: 6.0 * DEGREE, together: 2.0 * DEGREE, mood: 1.6 };

    /// Log likelihood of such a manner before anything is seen: each part within about a factor of two of the usual one.
    fn usual(&self) -> f64 {
        let of = |m: &Self| [m.quick, m.swing, m.slow, m.together, m.mood];
        let off = |(own, usual): (f64, f64)| -0.5 * ((own / usual).ln() / UNLIKE).powi(2);
        of(self).into_iter().zip(of(&Self::USUAL)).map(off).sum()
    }

    /// The likeliest, every part tried in turn, and with it those nearly as likely, each with its share.
    pub(crate) fn likeliest(self, blocks: usize, readings: &[Reading], offset_sd: f64) -> Vec<(Self, f64)> {
        let likelihood = |m: &Self| Model::of(m, offset_sd).likelihood(blocks, readings) + m.usual();
        let mut best = (self, likelihood(&self));
        let mut tried = vec![best];
        for _ in 0..TURNS {
            let before = best.0;
            let mut tries = |values: &[f64], set: &dyn Fn(&mut Self, f64)| {
                for &value in values {
                    let mut manner = best.0;
                    set(&mut manner, value);
                    if manner != best.0 {
                        let l = likelihood(&manner);
                        tried.push((manner, l));
                        if l > best.1 {
                            best = (manner, l);
                        }
                    }
                }
            };
            tries(&SWINGS, &|m, v| m.swing = v * DEGREE);
            tries(&PERIODS, &|m, v| m.period = v);
            tries(&QUICKS, &|m, v| m.quick = v * DEGREE);
            tries(&TOGETHERS, &|m, v| m.together = v * DEGREE);
            tries(&SLOWS, &|m, v| m.slow = v * DEGREE);
            tries(&MOODS, &|m, v| m.mood = v);
            if best.0 == before {
                break;
            }
        }
        let top = best.1;
        tried.sort_by(|a, b| b.1.total_cmp(&a.1));
        tried.dedup_by(|a, b| a.0 == b.0);
        tried.truncate(NEARLY);
        tried.iter_mut().for_each(|t| t.1 = (TEMPER * (t.1 - top)).exp());
        let sum = tried.iter().map(|t| t.1).sum::<f64>();
        tried.iter_mut().for_each(|t| t.1 /= sum);
        tried
    }
}

/// A beat seen in a block.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reading {
    pub(crate) block: usize,
    /// Course turned by the beat angle to the wind, relative to the axis, rad.
    pub(crate) value: f64,
    /// +1 with the wind from starboard, -1 from port.
    pub(crate) side: f64,
    /// East and north of the fleet's middle, km.
    pub(crate) place: [f64; 2],
    /// Variance, rad2.
    pub(crate) variance: f64,
}

impl Reading {
    fn row(&self) -> Vector {
        let s = self.side;
        let (starboard, port) = if s > 0.0 { (-1.0, 0.0) } else { (0.0, 1.0) };
        Vector::from([1.0, 1.0, 0.0, 1.0, 1.0, -s, starboard, port, self.place[0], self.place[1]])
    }
}

/// The smoothed state of each block.
pub(crate) struct Smoothed {
    pub(crate) mean: Vec<Vector>,
    pub(crate) covariance: Vec<Matrix>,
}

impl Smoothed {
    /// The direction at the fleet's middle relative to the axis, and its standard deviation.
    pub(crate) fn direction(&self, block: usize) -> (f64, f64) {
        let h = Vector::from([1.0, 1.0, 0.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
        (h.dot(&self.mean[block]), (h.transpose() * self.covariance[block] * h)[0].max(0.0).sqrt())
    }
    /// What a reading should be, without its own noise.
    pub(crate) fn expected(&self, r: &Reading) -> f64 {
        r.row().dot(&self.mean[r.block])
    }
}

/// The model with its transition, noise and first covariance.
pub(crate) struct Model {
    transition: Matrix,
    noise: Matrix,
    first: Matrix,
    mood: f64,
}

/// Memory of quick and slow changes, of what boats of one side do together and of the slope over the area, s.
const QUICK: f64 = 40.0;
const SLOW: f64 = 2500.0;
const TOGETHER: f64 = 80.0;
const SLOPE: f64 = 1500.0;
/// Memory of a swing in periods, and of one without a period in seconds.
const SWING: f64 = 1.5;
const AIMLESS: f64 = 100.0;
/// Standard deviations: constant (rad), slope (rad per km). The last is assumed.
const CONSTANT: f64 = 20.0 * DEGREE;
const SLOPE_SD: f64 = 5.0 * DEGREE;

impl Model {
    pub(crate) fn of(manner: &Manner, offset_sd: f64) -> Self {
        let d = BLOCK as f64;
        let mut transition = Matrix::identity();
        let mut first = Matrix::zeros();
        for (i, sd, memory) in [
            (0, manner.quick, QUICK),
            (3, manner.slow, SLOW),
            (6, manner.together, TOGETHER),
            (7, manner.together, TOGETHER),
            (8, SLOPE_SD, SLOPE),
            (9, SLOPE_SD, SLOPE),
        ] {
            transition[(i, i)] = (-d / memory).exp();
            first[(i, i)] = sd * sd;
        }
        first[(4, 4)] = CONSTANT * CONSTANT;
        first[(5, 5)] = offset_sd * offset_sd;
        let (turn, keep) = if manner.period > 0.0 {
            (core::f64::consts::TAU * d / manner.period, (-d / (SWING * manner.period)).exp())
        } else {
            (0.0, (-d / AIMLESS).exp())
        };
        let (sine, cosine) = turn.sin_cos();
        for (i, j, v) in [(1, 1, cosine), (1, 2, sine), (2, 1, -sine), (2, 2, cosine)] {
            transition[(i, j)] = keep * v;
        }
        first[(1, 1)] = manner.swing * manner.swing;
        first[(2, 2)] = first[(1, 1)];
        let noise = first - transition * first * transition.transpose();
        Self { transition, noise, first, mood: manner.mood }
    }

    /// Log likelihood of the readings, which lie in the order of blocks.
    pub(crate) fn likelihood(&self, blocks: usize, readings: &[Reading]) -> f64 {
        self.forward(blocks, readings, |_, _, _, _| ())
    }

    fn forward(&self, blocks: usize, readings: &[Reading], mut keep: impl FnMut(&Vector, &Matrix, &Vector, &Matrix)) -> f64 {
        let (mut x, mut p) = (Vector::zeros(), self.first);
        let mut log = 0.0;
        let mut next = 0;
        for block in 0..blocks {
            if block > 0 {
                x = self.transition * x;
                p = self.transition * p * self.transition.transpose() + self.noise;
            }
            let (before, before_p) = (x, p);
            while let Some(r) = readings.get(next).filter(|r| r.block <= block) {
                let h = r.row();
                let ph = p * h;
                let spread = h.dot(&ph);
                let miss = wrap(r.value - h.dot(&x));
                let own = self.mood * r.variance;
                let square = miss * miss / (spread + own);
                // A reading three deviations off counts as much less sure, so that no single boat drags the wind along.
                let variance = if square > 9.0 { own * square / 9.0 } else { own };
                let total = spread + variance;
                x += ph * (miss / total);
                p -= ph * ph.transpose() / total;
                log -= 0.5 * (miss * miss / total + total.ln());
                next += 1;
            }
            keep(&before, &before_p, &x, &p);
        }
        log
    }

    /// The smoothed states.
    pub(crate) fn smooth(&self, blocks: usize, readings: &[Reading]) -> Smoothed {
        let mut steps = Vec::with_capacity(blocks);
        self.forward(blocks, readings, |a, b, c, d| steps.push((*a, *b, *c, *d)));
        let (mut mean, mut covariance) = (vec![Vector::zeros(); blocks], vec![Matrix::zeros(); blocks]);
        for k in (0..blocks).rev() {
            let (_, _, x, p) = steps[k];
            (mean[k], covariance[k]) = (x, p);
            if k + 1 < blocks {
                let (ahead, ahead_p, _, _) = steps[k + 1];
                if let Some(inverse) = ahead_p.cholesky() {
                    let gain = inverse.solve(&(self.transition * p)).transpose();
                    mean[k] = x + gain * (mean[k + 1] - ahead);
                    covariance[k] = p + gain * (covariance[k + 1] - ahead_p) * gain.transpose();
                }
            }
        }
        Smoothed { mean, covariance }
    }
}
