//! Which line-up is worth sailing next: the expected value of information.
//!
//! A setting is believed to be worth `mean` with doubt `sd`; `n` passes with noise `s` each leave a posterior mean that is normal around `mean` with
//! `sd^2 / sqrt(sd^2 + s^2 / n)`. Choosing better of old and new afterwards is worth `E[max(0, m)] - max(0, mean)` (Raiffa and Schlaifer, *Applied
//! Statistical Decision Theory*, 1961, from memory). Normal beliefs and noise; each candidate is judged alone.

use serde::Serialize;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

use crate::Error;
use crate::effect::Belief;

/// Passes of one test looked at. Assumed.
const MOST: usize = 40;

/// A setting that might be tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its gauge.
    pub gauge: String,
    /// What it is believed to gain over today's, m/s.
    pub prior: Belief,
    /// Standard deviation of one pass's difference, m/s.
    pub noise_ms: f64,
    /// Seconds for a pass with the sail back and, on average, its swap.
    pub seconds: f64,
}

/// A test worth sailing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Test {
    /// Its gauge.
    pub gauge: String,
    /// How many passes make the most of a minute.
    pub passes: usize,
    /// What knowing is expected to gain, m/s.
    pub worth_ms: f64,
    /// The same for each minute of the test.
    pub worth_ms_per_minute: f64,
    /// Passes until the doubt is at most a given half width, if that can be reached.
    pub passes_to_settle: Option<usize>,
}

/// What `n` passes are expected to gain by letting the coach choose better, m/s. Never below zero.
#[must_use]
pub fn worth(prior: Belief, noise_ms: f64, n: usize) -> f64 {
    let known = prior.sd * prior.sd / (prior.sd * prior.sd + noise_ms * noise_ms / n as f64).sqrt();
    let Ok(unit) = Normal::new(0.0, 1.0) else { return 0.0 };
    if n == 0 || !(known.is_finite() && known > 0.0) {
        return 0.0;
    }
    // By symmetry the gain over the better of the two does not depend on the sign of the mean.
    let z = prior.mean.abs() / known;
    (known * (unit.pdf(z) - z * unit.cdf(-z))).max(0.0)
}

/// Passes until two standard deviations of the posterior are at most `half_width`, m/s.
#[must_use]
pub fn passes_to_settle(prior: Belief, noise_ms: f64, half_width: f64) -> Option<usize> {
    (0..=MOST).find(|n| {
        let sd = if *n == 0 { prior.sd } else { prior.after(0.0, noise_ms / (*n as f64).sqrt()).sd };
        2.0 * sd <= half_width
    })
}

/// The candidates, the one worth most for each minute first, within `minutes`. `start_seconds` is spent once on any test.
///
/// # Errors
/// A candidate whose doubt, noise or time is no positive number.
pub fn tests(candidates: &[Candidate], start_seconds: f64, minutes: f64, half_width: f64) -> Result<Vec<Test>, Error> {
    let mut tests = Vec::new();
    for candidate in candidates {
        let Candidate { gauge, prior, noise_ms, seconds } = candidate;
        let numbers = [prior.sd, *noise_ms, *seconds].iter().all(|v| v.is_finite() && *v > 0.0);
        if !(numbers && prior.mean.is_finite() && start_seconds >= 0.0) {
            return Err(Error::Plan(format!("{gauge}: its doubt, the noise of a pass and its seconds must be numbers above zero")));
        }
        let minutes_of = |n: usize| (start_seconds + seconds * n as f64) / 60.0;
        let tried = (1..=MOST).filter(|n| minutes_of(*n) <= minutes).map(|n| {
            let worth_ms = worth(*prior, *noise_ms, n);
            Test {
                gauge: gauge.clone(),
                passes: n,
                worth_ms,
                worth_ms_per_minute: worth_ms / minutes_of(n),
                passes_to_settle: passes_to_settle(*prior, *noise_ms, half_width),
            }
        });
        tests.extend(tried.max_by(|a, b| a.worth_ms_per_minute.total_cmp(&b.worth_ms_per_minute)));
    }
    tests.sort_by(|a, b| b.worth_ms_per_minute.total_cmp(&a.worth_ms_per_minute));
    Ok(tests)
}

#[cfg(test)]
mod tests_of_worth {
    use super::*;

    /// Against the definition: draw the posterior mean over a fine grid of the normal and choose the better.
    #[test]
    fn as_defined() {
        for (mean, sd, noise, n) in [(0.0, 0.02, 0.03, 4), (0.015, 0.02, 0.03, 8), (-0.03, 0.01, 0.05, 2)] {
            let s = sd * sd / (sd * sd + noise * noise / f64::from(n)).sqrt();
            let unit = Normal::new(0.0, 1.0).unwrap();
            let step = 1e-3;
            let by_hand: f64 = (-8000..=8000).map(|k| f64::from(k) * step).map(|z| (mean + s * z).max(0.0) * unit.pdf(z) * step).sum();
            let told = worth(Belief { mean, sd }, noise, n as usize);
            assert!((told - (by_hand - f64::max(mean, 0.0))).abs() < 1e-8, "{told} {by_hand}");
        }
    }

    #[test]
    fn a_near_thing_is_worth_more_than_a_sure_one() {
        let candidate =
            |gauge: &str, mean: f64| Candidate { gauge: gauge.into(), prior: Belief { mean, sd: 0.02 }, noise_ms: 0.03, seconds: 240.0 };
        let found = tests(&[candidate("sure", 0.08), candidate("near", 0.005)], 300.0, 90.0, 0.01).unwrap();
        assert_eq!(found[0].gauge, "near");
        assert!(found[0].worth_ms > 10.0 * found[1].worth_ms);
        // 1 / 0.005^2 = 1 / 0.02^2 + n / 0.03^2, so n = 33.75.
        assert_eq!(found[0].passes_to_settle, Some(34));
        assert_eq!(tests(&[candidate("near", 0.0)], 300.0, 5.0, 0.01).unwrap(), vec![]);
        assert!(tests(&[Candidate { seconds: f64::NAN, ..candidate("x", 0.0) }], 0.0, 60.0, 0.01).is_err());
    }
}
