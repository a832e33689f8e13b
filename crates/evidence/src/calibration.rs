//! The model's few multipliers, corrected by what a squad measured.
//!
//! A linear Gaussian update about the prior (the best linear unbiased correction: Gelman and others, *Bayesian Data Analysis*, chapter 14, from
//! memory): `observed - predicted = J (c - c0) + e`. Valid while the correction stays within the range over which the sensitivities `J` hold; whoever solves the
//! boat again at the new values sees whether it did. A multiplier of which the data tell little stays where it was; data that fit no value of any are refused.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::Error;
use crate::effect::Belief;

/// A doubt that shrinks to no less than this share has not been told about. Assumed.
const TOLD: f64 = 0.9;
/// Chance below which misfit is no luck. Assumed.
const MISFIT: f64 = 0.001;

/// A multiplier and what is believed of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficient {
    /// Its name.
    pub name: String,
    /// What is believed before.
    pub prior: Belief,
}

/// Something measured: an effect of a line-up, the speed of a leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// As measured.
    pub observed: f64,
    /// Its doubt.
    pub sd: f64,
    /// As the model has it at the middles of the beliefs.
    pub predicted: f64,
    /// Change of the prediction for a unit of each coefficient.
    pub sensitivities: Vec<f64>,
}

/// One multiplier before and after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Corrected {
    /// Its name.
    pub name: String,
    /// Before.
    pub before: Belief,
    /// After; the same as before where the data tell little.
    pub after: Belief,
    /// Whether the data told anything.
    pub told: bool,
}

/// All of them, and how well the data fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calibration {
    /// In the order given.
    pub coefficients: Vec<Corrected>,
    /// Chance of a misfit this large where model, beliefs and doubts are right.
    pub fit_p: f64,
}

/// Corrects the multipliers by the observations.
///
/// # Errors
/// Numbers that are none, sensitivities of another count, no observation, observations that beliefs and doubts together do not explain.
pub fn corrected(coefficients: &[Coefficient], observations: &[Observation]) -> Result<Calibration, Error> {
    let stopped = |what: &str| Err(Error::Model(what.to_owned()));
    let (n, k) = (observations.len(), coefficients.len());
    if n == 0 || k == 0 {
        return stopped("there is nothing to correct, or nothing to correct it by");
    }
    if observations.iter().any(|o| o.sensitivities.len() != k) {
        return stopped("a pass does not say how it depends on every part of the model");
    }
    let beliefs = coefficients.iter().all(|c| c.prior.mean.is_finite() && c.prior.sd.is_finite() && c.prior.sd > 0.0);
    let numbers = |o: &Observation| o.sensitivities.iter().chain([&o.observed, &o.predicted, &o.sd]).all(|v| v.is_finite()) && o.sd > 0.0;
    if !beliefs || !observations.iter().all(numbers) {
        return stopped("a number is missing or endless, or a doubt is not above zero");
    }
    // In units of the beliefs' own doubt the prior covariance is one, and the sums stay well sized.
    let slope = DMatrix::from_fn(n, k, |r, c| observations[r].sensitivities[c] * coefficients[c].prior.sd / observations[r].sd);
    let left = DVector::from_fn(n, |r, _| (observations[r].observed - observations[r].predicted) / observations[r].sd);
    let Some(whole) = (DMatrix::identity(n, n) + &slope * slope.transpose()).cholesky() else {
        return stopped("the sensitivities are too large for the doubts given");
    };
    let misfit = left.dot(&whole.solve(&left));
    let fit_p = ChiSquared::new(n as f64).map_or(0.0, |law| law.sf(misfit));
    if fit_p < MISFIT {
        return stopped(
            "however strong its parts, within what was believed, the model does not explain these passes: look at the passes, and at what else was different",
        );
    }
    let gain = slope.transpose() * whole.inverse();
    let moved = &gain * left;
    let kept = DMatrix::identity(k, k) - gain * slope;
    let one = |(place, coefficient): (usize, &Coefficient)| {
        let before = coefficient.prior;
        let share = kept[(place, place)].max(0.0).sqrt();
        let told = share < TOLD;
        let after = Belief { mean: before.mean + before.sd * moved[place], sd: before.sd * share };
        Corrected { name: coefficient.name.clone(), before, after: if told { after } else { before }, told }
    };
    Ok(Calibration { coefficients: coefficients.iter().enumerate().map(one).collect(), fit_p })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn coefficient(name: &str, mean: f64, sd: f64) -> Coefficient {
        Coefficient { name: name.into(), prior: Belief { mean, sd } }
    }

    /// With one coefficient it is the weighing of two means by precision, and with slope 2 the observation says (0.5 +- 0.05) of it.
    #[test]
    fn one_is_weighed_by_precision() {
        let seen = Observation { observed: 1.0, sd: 0.1, predicted: 0.8, sensitivities: vec![2.0] };
        let found = corrected(&[coefficient("hull", 0.4, 0.05)], &[seen]).unwrap();
        let by_hand = Belief { mean: 0.4, sd: 0.05 }.after(0.5, 0.05);
        let after = found.coefficients[0].after;
        assert!((after.mean - by_hand.mean).abs() < 1e-12 && (after.sd - by_hand.sd).abs() < 1e-12 && found.coefficients[0].told);
    }

    /// Three exact observations of two coefficients lead to the truth; a third coefficient that moves nothing stays where it was.
    #[test]
    fn known_values_come_back() {
        let truth = [1.1, 0.95];
        let rows = [[0.3, -0.2], [0.1, 0.4], [-0.2, 0.3]];
        let seen = rows.map(|[a, b]| Observation {
            observed: a * truth[0] + b * truth[1],
            sd: 1e-4,
            predicted: a + b,
            sensitivities: vec![a, b, 0.0],
        });
        let found = corrected(&["hull", "sail", "heel"].map(|name| coefficient(name, 1.0, 0.1)), &seen).unwrap();
        let after = |k: usize| found.coefficients[k].after;
        assert!((after(0).mean - 1.1).abs() < 1e-5 && (after(1).mean - 0.95).abs() < 1e-5);
        assert_eq!((after(2), found.coefficients[2].told), (Belief { mean: 1.0, sd: 0.1 }, false));
    }

    #[test]
    fn what_explains_nothing_is_refused() {
        let seen = Observation { observed: 5.0, sd: 0.01, predicted: 0.0, sensitivities: vec![0.1] };
        let hull = [coefficient("hull", 1.0, 0.1)];
        assert!(
            corrected(&hull, core::slice::from_ref(&seen)).unwrap_err().to_string().contains("the model does not explain these passes")
        );
        assert!(corrected(&hull, &[]).is_err());
        assert!(corrected(&hull, &[Observation { sd: f64::NAN, ..seen.clone() }]).is_err());
        assert!(corrected(&hull, &[Observation { sensitivities: vec![], ..seen }]).is_err());
    }
}
