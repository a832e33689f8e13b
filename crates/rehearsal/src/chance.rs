//! Chance that is the same every time: one seeded stream per thing simulated.
//!
//! The stream is `ChaCha8`, whose output is fixed by its specification, so an outing is the same on every machine.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

/// A stream of chance.
#[derive(Debug, Clone)]
pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    /// The stream of one thing (`what`) in one outing (`seed`).
    pub(crate) fn new(seed: u64, what: u64) -> Self {
        let mut stream = ChaCha8Rng::seed_from_u64(seed);
        stream.set_stream(what);
        Self(stream)
    }
    /// Evenly between two values.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }
    /// Normal with a mean and a standard deviation.
    pub(crate) fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        mean + sd * self.0.sample::<f64, _>(StandardNormal)
    }
    /// True this often.
    pub(crate) fn happens(&mut self, probability: f64) -> bool {
        self.0.random::<f64>() < probability
    }
    /// A whole number below `n`.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        ((self.0.random::<f64>() * n as f64) as usize).min(n.saturating_sub(1))
    }
}

/// A value that wanders about zero with a standard deviation and a memory in seconds (first-order Gauss-Markov).
#[derive(Debug, Clone)]
pub(crate) struct Wander {
    /// The value now.
    pub(crate) now: f64,
    sd: f64,
    memory: f64,
}

impl Wander {
    /// Starts somewhere in its own distribution.
    pub(crate) fn new(chance: &mut Chance, sd: f64, memory: f64) -> Self {
        Self { now: chance.normal(0.0, sd), sd, memory }
    }
    /// The value after `dt` seconds.
    pub(crate) fn step(&mut self, chance: &mut Chance, dt: f64) -> f64 {
        let keep = (-dt / self.memory).exp();
        self.now = keep * self.now + self.sd * (1.0 - keep * keep).sqrt() * chance.normal(0.0, 1.0);
        self.now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_stream() {
        let draw = |seed, what| (0..5).map(|_| Chance::new(seed, what).between(0.0, 1.0)).collect::<Vec<_>>();
        assert_eq!(draw(3, 1), draw(3, 1));
        assert_ne!(draw(3, 1), draw(3, 2));
        assert_ne!(draw(3, 1), draw(4, 1));
    }

    #[test]
    fn a_wander_keeps_its_spread() {
        let mut chance = Chance::new(1, 0);
        let mut wander = Wander::new(&mut chance, 2.0, 10.0);
        let n = 200_000;
        let variance = (0..n).map(|_| wander.step(&mut chance, 1.0).powi(2)).sum::<f64>() / f64::from(n);
        // About n / 20 independent draws: the standard error of the variance is 1.4 % of it.
        assert!((variance - 4.0).abs() < 0.25, "{variance}");
    }
}
