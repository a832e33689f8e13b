//! What we do not know: the ranges of the model's constants carried to the settings.
//!
//! Constants are drawn together by a Latin hypercube (McKay, Beckman & Conover 1979): each one's range is cut into as many parts of
//! equal chance as there are samples and every part is met once. Between its low and its high a constant lies 19 times in 20, so each
//! side of its value is half a normal spread of 1.96 standard deviations, cut off at the ends of the range. For every sample the leg is
//! solved anew from the setup by the constants' own values, and a gauge's interval is what holds 19 in 20 of its best values.
//!
//! Left out: constants that hang together (each is drawn by itself), the shape of the residuary curve, errors of form. What is given by
//! common practice stays given: a setting is searched within the trade's bounds in every sample, so its interval lies within them.

use crate::balance::{Boat, Status};
use crate::constants::{Constant, Constants, all};
use crate::gauge::Gauge;
use crate::setup::{LegSetup, Request, Setting};
use rayon::prelude::*;

/// Samples of an interval, and the seed they are drawn by.
pub const SAMPLES: usize = 48;
/// The seed.
pub const SEED: u64 = 20;
/// Share of the best values left out at each end: 19 in 20 lie between.
const TAIL: f64 = 0.025;
/// Standard deviations from a constant's value to the end of its range.
const ENDS: f64 = 1.96;
/// Fewer samples solved than this share of them tell nothing.
const LEAST_SOLVED: f64 = 0.8;

/// Constants drawn from their ranges by a Latin hypercube; the same for the same count and seed.
#[must_use]
pub fn samples(count: usize, seed: u64) -> Vec<Constants> {
    let mut chance = Chance(seed);
    let columns: Vec<Vec<f64>> = all().iter().map(|c| chance.column(c, count)).collect();
    let name = |c: &Constant| all().iter().position(|other| other.name == c.name);
    (0..count).map(|k| Constants::chosen(|c| name(c).map_or(c.value, |i| columns[i][k]))).collect()
}

/// Splitmix64 (Steele, Lea & Flood 2014): enough chance for shuffling a hypercube, and the same on every machine.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Between 0 and 1.
    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// One constant's values: one of each part of equal chance, in a shuffled order.
    fn column(&mut self, constant: &Constant, count: usize) -> Vec<f64> {
        let mut parts: Vec<usize> = (0..count).collect();
        for k in (1..count).rev() {
            let other = (self.share() * (k + 1) as f64) as usize;
            parts.swap(k, other.min(k));
        }
        parts.into_iter().map(|part| placed(constant, (part as f64 + self.share()) / count as f64)).collect()
    }
}

/// The value of a constant at a share of its chance.
fn placed(c: &Constant, share: f64) -> f64 {
    let by = (normal(share) / ENDS).clamp(-1.0, 1.0);
    c.value + by * if by < 0.0 { c.value - c.low } else { c.high - c.value }
}

/// Standard deviations below which a normal value lies with a chance, within 5e-4 (Abramowitz & Stegun 1964, 26.2.23).
fn normal(share: f64) -> f64 {
    let tail = share.min(1.0 - share).max(1e-12);
    let t = (-2.0 * tail.ln()).sqrt();
    let size = t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
    if share < 0.5 { -size } else { size }
}

/// Where a gauge's best value lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Which gauge.
    pub gauge: Gauge,
    /// One time in 40 it lies below, SI.
    pub low: f64,
    /// One time in 40 above.
    pub high: f64,
}

/// What is not known of a leg's settings.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Samples solved.
    pub solved: usize,
    /// Of how many.
    pub of: usize,
    /// The interval of each gauge whose best value moves at all.
    pub doubts: Vec<Doubt>,
    /// That of the speed made good (on a reach, the speed), m/s.
    pub made_good: (f64, f64),
}

/// Which of its two reasons makes a band wide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wide {
    /// It makes no difference.
    NoDifference,
    /// We do not know.
    DoNotKnow,
}

impl Wide {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoDifference => "makes no difference",
            Self::DoNotKnow => "we do not know",
        }
    }
}

impl Setting {
    /// The band to print: what makes no difference, and where the best value may lie for what we do not know.
    #[must_use]
    pub fn band(&self) -> (f64, f64) {
        self.doubt.map_or((self.low, self.high), |(low, high)| (self.low.min(low), self.high.max(high)))
    }

    /// Which of the two is larger; none where only one was asked, or there is none.
    #[must_use]
    pub fn wide(&self) -> Option<Wide> {
        let (low, high) = self.doubt?;
        let (plays, unknown) = (self.high - self.low, high - low);
        (plays.max(unknown) > 0.0).then_some(if unknown > plays { Wide::DoNotKnow } else { Wide::NoDifference })
    }
}

impl LegSetup {
    /// The same setup with what is not known of it.
    #[must_use]
    pub fn doubted(mut self, spread: &Spread) -> Self {
        for setting in &mut self.settings {
            setting.doubt =
                spread.doubts.iter().find(|d| d.gauge == setting.gauge).map(|d| (d.low.min(setting.value), d.high.max(setting.value)));
        }
        self
    }
}

/// The boat by every sample of the constants.
#[must_use]
pub fn boats(boat: &Boat, count: usize, seed: u64) -> Vec<Boat> {
    samples(count, seed).into_par_iter().map(|constants| boat.by(&constants)).collect()
}

impl Request<'_> {
    /// What is not known of a solved leg: it is solved anew for the boat by every sample ([`boats`]), each from the setup itself.
    ///
    /// # Errors
    /// That it is unsettled, where too few samples have an answer.
    pub fn spread(&self, setup: &LegSetup, rake: f64, boats: &[Boat]) -> Result<Spread, Status> {
        let solved: Vec<LegSetup> = boats.par_iter().filter_map(|boat| self.moved(setup, rake, boat)).collect();
        if (solved.len() as f64) < LEAST_SOLVED * boats.len() as f64 || solved.is_empty() {
            return Err(Status::Unsettled);
        }
        let interval = |values: Vec<f64>| interval(values).filter(|(low, high)| high - low > 1e-9);
        let doubts = setup.settings.iter().filter_map(|setting| {
            let values = solved.iter().filter_map(|s| s.setting(setting.gauge)).map(|s| s.value).collect();
            interval(values).map(|(low, high)| Doubt { gauge: setting.gauge, low, high })
        });
        let made_good = interval(solved.iter().map(|s| s.made_good).collect()).unwrap_or((setup.made_good, setup.made_good));
        Ok(Spread { solved: solved.len(), of: boats.len(), doubts: doubts.collect(), made_good })
    }

    /// The leg by other constants, from the setup by these.
    #[must_use]
    pub fn moved(&self, setup: &LegSetup, rake: f64, boat: &Boat) -> Option<LegSetup> {
        let request = Request { boat, bands: false, ..*self };
        request.leg_near(setup.leg, rake, Some(setup)).ok().filter(|s| s.converged)
    }
}

/// What holds 19 in 20 of some values; between two of them by straight lines.
fn interval(mut values: Vec<f64>) -> Option<(f64, f64)> {
    values.sort_by(f64::total_cmp);
    let last = values.len().checked_sub(1)?;
    let at = |share: f64| {
        let place = share * last as f64;
        let k = (place.floor() as usize).min(last.saturating_sub(1));
        let next = values.get(k + 1).unwrap_or(&values[k]);
        values[k] + (place - k as f64) * (next - values[k])
    };
    Some((at(TAIL), at(1.0 - TAIL)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Beyond the table's own error of 4.5e-4 nothing is asked of the normal law.
    const NORMAL: f64 = 5e-4;

    #[test]
    fn every_part_of_a_range_is_met_once_and_nothing_lies_outside() {
        let drawn = samples(SAMPLES, SEED);
        assert_eq!(drawn, samples(SAMPLES, SEED));
        assert_ne!(drawn, samples(SAMPLES, SEED + 1));
        let c = all().iter().find(|c| c.name == "hull.form_factor").unwrap();
        let values: Vec<f64> = drawn.iter().map(|d| d.form_factor).collect();
        assert!(values.iter().all(|v| (c.low..=c.high).contains(v)));
        // The parts at both ends lie beyond the range in part, where values are cut off.
        for k in 2..SAMPLES - 1 {
            let edge = placed(c, k as f64 / SAMPLES as f64);
            assert_eq!(values.iter().filter(|v| **v < edge).count(), k, "part {k}");
        }
    }

    #[test]
    fn the_normal_law_is_that_of_the_tables() {
        // Abramowitz & Stegun 1964, table 26.5 and common knowledge of the quartiles.
        for (share, at) in [(0.5, 0.0), (0.975, 1.95996), (0.025, -1.95996), (0.75, 0.67449), (0.999, 3.09023)] {
            assert!((normal(share) - at).abs() < NORMAL, "{share}: {}", normal(share));
        }
    }

    #[test]
    fn an_interval_holds_nineteen_in_twenty() {
        let values: Vec<f64> = (0..=400).rev().map(f64::from).collect();
        assert_eq!(interval(values), Some((10.0, 390.0)));
        assert_eq!(interval(vec![3.0]), Some((3.0, 3.0)));
        assert_eq!(interval(Vec::new()), None);
    }
}
