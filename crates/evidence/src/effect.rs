//! What a setting was worth, and how sure that is, from passes side by side.
//!
//! `vmg = setting + sailor + boat + position + wind + (pass at random)`, fitted by [`crate::mixed`]. Sailors and boats are fixed, not drawn: the
//! answer is about this squad, and two or three of them tell no variance. Sailors are accounted for before settings, so that a
//! setting that one sailor always had is refused and not believed. Beside it stand the plain paired t where each pass is a pair, an answer that
//! outliers move less (Huber's weights: a gust or a weed in one pass has heavy tails, the bulk is near normal; 1.345 keeps 95 % of the
//! efficiency, Huber, *Robust Statistics*, 1981, from memory), and a sentence for a coach.

use measure::{Warned, Warning};
use nalgebra::{DMatrix, DVector};
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::comparison::benjamini_hochberg;
use crate::mixed::{Fit, Rows};
use crate::passes::Passes;

mod design;
mod words;

use design::Design;
pub use words::counted;

/// Huber's corner in standard deviations.
const CORNER: f64 = 1.345;
/// The median of absolute normal deviates times this is their standard deviation.
const MEDIAN_TO_SD: f64 = 1.4826;
/// Rounds of reweighting.
const ROUNDS: usize = 8;
/// A robust answer further than this many standard errors from the plain one is told; the smaller error counts, for one wild pass swells the plain
/// one as much as it moves the answer. Assumed.
const APART: f64 = 1.0;
/// A share of VMG too small to matter: what a band of settings may cost. Assumed.
const MATTERS: f64 = 0.003;
/// More further passes than this nobody sails for one setting. Assumed.
const PATIENCE: usize = 60;
/// A likeness of neighbours below this widens nothing that matters. Assumed.
const LIKE: f64 = 0.1;
/// Degrees of freedom below which nothing is called settled. Assumed.
const SURE: f64 = 4.0;
/// Two-sided share outside an interval.
const OUTSIDE: f64 = 0.05;

/// A difference of pairs by Student's t.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paired {
    /// Mean difference.
    pub difference_ms: f64,
    /// Its standard error.
    pub sd_ms: f64,
    /// Student's t.
    pub t: f64,
    /// Degrees of freedom: pairs less one.
    pub df: f64,
    /// Two-sided.
    pub p: f64,
    /// Lower limit, 19 times in 20.
    pub low_ms: f64,
    /// Upper limit.
    pub high_ms: f64,
}

/// What moving one gauge was worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Effect {
    /// The setting's column.
    pub gauge: String,
    /// Its lowest value tried.
    pub from: f64,
    /// Its highest; more than two values are taken to lie on a straight line.
    pub to: f64,
    /// VMG at `to` less VMG at `from`, all else equal.
    pub vmg_difference_ms: f64,
    /// Its standard error.
    pub sd_ms: f64,
    /// Satterthwaite's degrees of freedom.
    pub df: f64,
    /// Two-sided.
    pub p: f64,
    /// The same, held against the other settings tried (Benjamini and Hochberg).
    pub p_adjusted: f64,
    /// Passes in which the boats differed in it, or all if they never did.
    pub passes: usize,
    /// Lower limit, 19 times in 20.
    pub low_ms: f64,
    /// Upper limit.
    pub high_ms: f64,
    /// Metres gained when 500 m are made good: middle, lower, upper. Missing where the boats made nothing good.
    pub metres_per_500: Option<[f64; 3]>,
    /// The standard error, wider where passes that follow each other are alike.
    pub sd_in_order_ms: f64,
    /// The answer that outliers move less.
    pub robust_difference_ms: f64,
    /// Its standard error.
    pub robust_sd_ms: f64,
    /// Student's t over the pairs, where there are two or more and two values.
    pub paired: Option<Paired>,
    /// Further passes expected to settle it; 0: settled; missing: more than anybody sails.
    pub more_passes: Option<usize>,
    /// All of it in a sentence.
    pub words: String,
}

/// The effects and what they stand on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Analysis {
    /// One for each setting that can be told, in the order of the columns.
    pub effects: Vec<Effect>,
    /// Standard deviation from pass to pass.
    pub pass_sd_ms: Option<f64>,
    /// Standard deviation within a pass.
    pub residual_sd_ms: Option<f64>,
    /// Passes read.
    pub passes: usize,
    /// What else a coach should know.
    pub notes: Vec<String>,
}

/// What is believed before the passes, as a mean and a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Belief {
    /// Middle.
    pub mean: f64,
    /// Doubt.
    pub sd: f64,
}

impl Belief {
    /// The belief after an observation with its own doubt: both weighed by precision. A doubt that is zero, endless or no number is no
    /// observation, and the belief stays.
    #[must_use]
    pub fn after(self, value: f64, sd: f64) -> Self {
        if !(value.is_finite() && sd.is_finite() && sd > 0.0) || self.sd <= 0.0 {
            return self;
        }
        let (own, new) = (self.sd.powi(-2), sd.powi(-2));
        Self { mean: (self.mean * own + value * new) / (own + new), sd: (own + new).sqrt().recip() }
    }
}

impl Effect {
    /// The model's own prediction, corrected by the passes. Few degrees of freedom widen the passes' doubt to the standard deviation of
    /// Student's t; with two or fewer there is none, and the prediction stays.
    #[must_use]
    pub fn with_prior(&self, prior: Belief) -> Belief {
        if self.df <= 2.0 { prior } else { prior.after(self.vmg_difference_ms, self.sd_ms * (self.df / (self.df - 2.0)).sqrt()) }
    }
}

/// The t that leaves a share outside on both sides together.
pub(crate) fn quantile(df: f64) -> f64 {
    StudentsT::new(0.0, 1.0, df.max(1.0)).map_or(f64::INFINITY, |t| t.inverse_cdf(1.0 - OUTSIDE / 2.0))
}

/// Two-sided p of a t.
fn two_sided(t: f64, df: f64) -> f64 {
    StudentsT::new(0.0, 1.0, df).map_or(1.0, |d| (2.0 * d.cdf(-t.abs())).clamp(0.0, 1.0))
}

/// Student's t over differences. None below two, or where they are all alike.
#[must_use]
pub fn paired(differences: &[f64]) -> Option<Paired> {
    let n = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / n;
    let squares: f64 = differences.iter().map(|d| (d - mean).powi(2)).sum();
    if differences.len() < 2 || squares <= 1e-20 * mean * mean * n || squares == 0.0 {
        return None;
    }
    let df = n - 1.0;
    let sd = (squares / df / n).sqrt();
    let reach = quantile(df) * sd;
    let t = mean / sd;
    Some(Paired { difference_ms: mean, sd_ms: sd, t, df, p: two_sided(t, df), low_ms: mean - reach, high_ms: mean + reach })
}

/// Analyses a table of passes. What cannot be told is among the warnings, with the reason and what to sail.
#[must_use]
pub fn effects(passes: &Passes) -> Warned<Analysis> {
    let mut warnings = Vec::new();
    let mut notes = Vec::new();
    let groups = passes.by_pass();
    let mut analysis = Analysis { effects: Vec::new(), pass_sd_ms: None, residual_sd_ms: None, passes: groups.len(), notes: Vec::new() };
    if groups.len() < 2 {
        warnings.push(Warning::new(
            "passes",
            "there is one pass only, so nobody can tell the setting from the sailor or the luck: swap and sail three more",
        ));
        return Warned::new(analysis, warnings);
    }
    let design = Design::of(passes, &mut warnings, &mut notes);
    if design.settings.is_empty() {
        return Warned::new(analysis, warnings);
    }
    let rows = design.rows(passes, &groups);
    if rows.random.ncols() == 0 {
        warnings.push(Warning::new(
            "passes",
            "no pass has two boats, so every change of the wind from pass to pass is in the doubt: sail side by side",
        ));
    }
    let fit = match rows.fit() {
        Ok(fit) => fit,
        Err(error) => {
            warnings.push(Warning::new("passes", error.to_string()));
            return Warned::new(analysis, warnings);
        }
    };
    analysis.residual_sd_ms = Some(fit.residual_sd);
    analysis.pass_sd_ms = (rows.random.ncols() > 0).then(|| fit.group_covariance[(0, 0)].sqrt());
    let robust = robust(&rows, &fit);
    let pace = passes.rows.iter().map(|row| row.vmg).sum::<f64>().abs() / passes.rows.len() as f64;
    for (setting, column) in &design.settings {
        let effect = one(passes, &groups, &fit, &robust, pace, *setting, *column);
        for what in doubts(passes, &groups, &effect, *setting) {
            notes.push(format!("{}: {what}", effect.gauge));
        }
        analysis.effects.push(effect);
    }
    let adjusted = benjamini_hochberg(&analysis.effects.iter().map(|e| e.p).collect::<Vec<_>>());
    for (effect, p) in analysis.effects.iter_mut().zip(adjusted) {
        effect.p_adjusted = p;
        effect.words = words::sentence(effect);
    }
    analysis.notes = notes;
    Warned::new(analysis, warnings)
}

/// The model's rows and, for each setting that can be told, its place among the gauges and its column.
pub(crate) fn model(passes: &Passes) -> (Rows, Vec<(usize, usize)>) {
    let design = Design::of(passes, &mut Vec::new(), &mut Vec::new());
    (design.rows(passes, &passes.by_pass()), design.settings)
}

/// The same model with rows weighed down as they lie far out; the plain one where that does not fit.
fn robust(rows: &Rows, plain: &Fit) -> Fit {
    let mut rows = rows.clone();
    let mut last = plain.clone();
    for _ in 0..ROUNDS {
        let mut sizes: Vec<f64> = last.residuals.iter().map(|r| r.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let spare = rows.response.len() as f64 / (rows.response.len() - rows.fixed.ncols()) as f64;
        let sd = MEDIAN_TO_SD * sizes[sizes.len() / 2] * spare.sqrt();
        if sd <= 0.0 {
            break;
        }
        for (weight, residual) in rows.weight.iter_mut().zip(&last.residuals) {
            *weight = (CORNER * sd / residual.abs().max(f64::MIN_POSITIVE)).min(1.0);
        }
        let Ok(fit) = rows.fit_near(&last) else { break };
        let moved = (&fit.coefficients - &last.coefficients).amax();
        last = fit;
        if moved < 1e-5 {
            break;
        }
    }
    last
}

fn one(passes: &Passes, groups: &[Vec<usize>], fit: &Fit, robust: &Fit, pace: f64, setting: usize, column: usize) -> Effect {
    let values = || passes.rows.iter().map(|row| row.settings[setting]);
    let (from, to) = (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
    // The design holds the setting from 0 at its lowest to 1 at its highest.
    let mut pick = DVector::zeros(fit.coefficients.len());
    pick[column] = 1.0;
    let (difference, sd) = fit.contrast(&pick);
    let df = fit.degrees_of_freedom(&pick);
    let reach = quantile(df) * sd;
    let differing =
        groups.iter().filter(|group| group.iter().any(|r| passes.rows[*r].settings[setting] != passes.rows[group[0]].settings[setting]));
    let differing = differing.count();
    let count = if differing == 0 { groups.len() } else { differing };
    let p = two_sided(difference / sd, df);
    let sd_in_order = sd * likeness(passes, groups, fit, setting);
    let metres = |speed: f64| 500.0 * speed / pace;
    let (low_ms, high_ms) = (difference - reach, difference + reach);
    Effect {
        gauge: passes.gauges[setting].clone(),
        from,
        to,
        vmg_difference_ms: difference,
        sd_ms: sd,
        df,
        p,
        p_adjusted: p,
        passes: count,
        low_ms,
        high_ms,
        metres_per_500: (pace > 1e-3).then(|| [metres(difference), metres(low_ms), metres(high_ms)]),
        sd_in_order_ms: sd_in_order,
        robust_difference_ms: robust.contrast(&pick).0,
        robust_sd_ms: robust.contrast(&pick).1,
        paired: paired(&pairs(passes, groups, setting, from, to)),
        more_passes: more_passes(difference, sd_in_order, df, count, pace),
        words: String::new(),
    }
}

/// VMG at the higher value less VMG at the lower in each pass of two boats that had the two.
fn pairs(passes: &Passes, groups: &[Vec<usize>], setting: usize, from: f64, to: f64) -> Vec<f64> {
    let mut differences = Vec::new();
    for group in groups.iter().filter(|group| group.len() == 2) {
        let (a, b) = (&passes.rows[group[0]], &passes.rows[group[1]]);
        let sign = if (a.settings[setting], b.settings[setting]) == (from, to) {
            1.0
        } else if (a.settings[setting], b.settings[setting]) == (to, from) {
            -1.0
        } else {
            continue;
        };
        differences.push(sign * (b.vmg - a.vmg));
    }
    differences
}

/// Further passes until the interval leaves zero out, or until it is too narrow for the difference to matter, if all goes on as it did.
fn more_passes(difference: f64, sd: f64, df: f64, passes: usize, pace: f64) -> Option<usize> {
    let enough = difference.abs().max(MATTERS * pace);
    (0..=PATIENCE).find(|more| {
        let share = passes as f64 / (passes + more) as f64;
        let df = df + *more as f64;
        df >= SURE && quantile(df) * sd * share.sqrt() < enough
    })
}

/// How many times as wide the doubt is because what a pass says beyond the model is like what the pass before said. 1 where that is not seen: below
/// six passes, or within two standard errors of a correlation of none.
fn likeness(passes: &Passes, groups: &[Vec<usize>], fit: &Fit, setting: usize) -> f64 {
    let said: Vec<f64> = groups
        .iter()
        .map(|group| {
            let mean = group.iter().map(|r| passes.rows[*r].settings[setting]).sum::<f64>() / group.len() as f64;
            group.iter().map(|r| (passes.rows[*r].settings[setting] - mean) * fit.residuals[*r]).sum()
        })
        .collect();
    let all: f64 = said.iter().map(|s| s * s).sum();
    let follow = said.windows(2).map(|two| two[0] * two[1]).sum::<f64>() / all;
    let m = said.len() as f64;
    if m >= 6.0 && follow > (2.0 / m.sqrt()).max(LIKE) { ((1.0 + follow) / (1.0 - follow).max(0.05)).sqrt() } else { 1.0 }
}

/// What makes an effect less sure than its interval says.
fn doubts(passes: &Passes, groups: &[Vec<usize>], effect: &Effect, setting: usize) -> Vec<String> {
    let mut doubts = Vec::new();
    if (effect.robust_difference_ms - effect.vmg_difference_ms).abs() > APART * effect.sd_ms.min(effect.robust_sd_ms) {
        doubts.push(format!(
            "a few passes far from the rest bear on it: without their pull it is {:+.3} m/s, not {:+.3}; look at them again",
            effect.robust_difference_ms, effect.vmg_difference_ms
        ));
    }
    let wider = effect.sd_in_order_ms / effect.sd_ms;
    if wider > 1.0 {
        doubts.push(format!("passes that follow each other are alike, as if the day drifted; take the interval {wider:.1} times as wide"));
    }
    let differ =
        groups.iter().any(|group| group.iter().any(|r| passes.rows[*r].settings[setting] != passes.rows[group[0]].settings[setting]));
    if !differ {
        doubts.push("the boats never differed in it within a pass, so it rests on a comparison of passes".to_owned());
    }
    let mut values: Vec<f64> = passes.rows.iter().map(|row| row.settings[setting]).collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    if values.len() > 2 {
        doubts.push(format!(
            "{} values were tried and are taken to lie on a straight line; a best one in the middle would not show",
            counted(values.len())
        ));
    }
    doubts
}

/// The columns of the model as a matrix is made of them.
fn matrix(columns: &[Vec<f64>], rows: usize) -> DMatrix<f64> {
    DMatrix::from_fn(rows, columns.len(), |r, c| columns[c][r])
}
