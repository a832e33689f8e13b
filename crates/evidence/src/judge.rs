//! Holds the analysis of passes against what a table expects, or against the same model solved another way.
//!
//! A comment `# expect: gauge,vmg_difference_ms,sd_ms,df,p` is a case; a cell may be blank. A table without one is solved again with the
//! whole covariance written out and the variance found by trial, which shares nothing with [`crate::mixed`] but the model.

use nalgebra::{DMatrix, DVector};

use crate::Error;
use crate::effect::{Effect, effects, model};
use crate::mixed::Rows;
use crate::passes::Passes;

/// Rows of the largest table that is written out whole.
const LARGEST: usize = 400;

/// Errors of one case: the difference as a share of its standard error, the standard error and the degrees of freedom as shares of themselves, p.
pub type Case = [Option<f64>; 4];

/// Judges a table of passes. An effect that is expected and not found errs without end.
///
/// # Errors
/// The table does not read, an expectation does not, or no effect can be told.
pub fn judge_passes(text: &str) -> Result<Vec<Case>, Error> {
    let passes = Passes::read(text)?.value;
    let found = effects(&passes);
    let expected = text.lines().filter_map(|line| line.trim().strip_prefix("# expect:")).collect::<Vec<_>>();
    if !expected.is_empty() {
        return expected.into_iter().map(|line| against(line, &found.value.effects)).collect();
    }
    if found.value.effects.is_empty() {
        let why = found.warnings.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
        return Err(Error::Model(format!("no effect can be told: {why}")));
    }
    let (rows, settings) = model(&passes);
    if rows.response.len() > LARGEST {
        return Err(Error::Table(format!(
            "{} rows are too many to be solved another way: give # expect lines, or {LARGEST} rows",
            rows.response.len()
        )));
    }
    let (value, covariance) = written_out(&rows).ok_or_else(|| Error::Model("the second way did not solve".into()))?;
    let cases = found.value.effects.iter().zip(settings).map(|(effect, (_, column))| {
        let sd = covariance[(column, column)].sqrt();
        [Some((effect.vmg_difference_ms - value[column]).abs() / sd), Some((effect.sd_ms / sd - 1.0).abs()), None, None]
    });
    Ok(cases.collect())
}

fn against(line: &str, effects: &[Effect]) -> Result<Case, Error> {
    let cells: Vec<&str> = line.split(',').map(str::trim).collect();
    let mut told = [None; 4];
    for (number, cell) in told.iter_mut().zip(cells.iter().skip(1)).filter(|(_, cell)| !cell.is_empty()) {
        let value = cell.parse::<f64>().ok().filter(|v| v.is_finite());
        *number = Some(value.ok_or_else(|| Error::Table(format!("# expect:{line}: found {cell:?}, expected a number")))?);
    }
    if told.iter().all(Option::is_none) {
        return Err(Error::Table(format!("# expect:{line}: it expects nothing; write gauge,vmg_difference_ms,sd_ms,df,p")));
    }
    let Some(effect) = effects.iter().find(|effect| effect.gauge == cells[0]) else { return Ok([Some(f64::INFINITY); 4]) };
    let [difference, sd, df, p] = told;
    let share = |found: f64, told: f64| (found - told).abs() / told.abs().max(f64::MIN_POSITIVE);
    Ok([
        difference.map(|d| (effect.vmg_difference_ms - d).abs() / sd.unwrap_or(effect.sd_ms)),
        sd.map(|s| share(effect.sd_ms, s)),
        df.map(|d| share(effect.df, d)),
        p.map(|p| (effect.p - p).abs()),
    ])
}

/// Coefficients and covariance by generalised least squares, the ratio of variances by trial over ever finer steps.
fn written_out(rows: &Rows) -> Option<(DVector<f64>, DMatrix<f64>)> {
    let n = rows.response.len();
    let y = DVector::from_column_slice(&rows.response);
    let solve = |ratio: f64| {
        let same = |r: usize, c: usize| if rows.group[r] == rows.group[c] { ratio } else { 0.0 };
        let v = DMatrix::from_fn(n, n, |r, c| f64::from(u8::from(r == c)) + same(r, c)).cholesky()?;
        let log_v = 2.0 * v.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let vx = v.solve(&rows.fixed);
        let xx = rows.fixed.tr_mul(&vx).cholesky()?;
        let value = xx.solve(&vx.tr_mul(&y));
        let left = &y - &rows.fixed * &value;
        let spare = (n - rows.fixed.ncols()) as f64;
        let square = left.dot(&v.solve(&left)) / spare;
        let log_x = 2.0 * xx.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        Some((log_v + log_x + spare * square.ln(), value, xx.inverse() * square))
    };
    if rows.random.ncols() == 0 {
        return solve(0.0).map(|(_, value, covariance)| (value, covariance));
    }
    // Logarithms of the ratio from nothing (1e-8) to all (1e6).
    let (mut low, mut high) = (-18.4, 13.8);
    for _ in 0..9 {
        let step = (high - low) / 20.0;
        let tried = (0..=20).filter_map(|k| solve(f64::exp(low + step * f64::from(k))).map(|(c, ..)| (c, low + step * f64::from(k))));
        let (_, best) = tried.min_by(|a, b| a.0.total_cmp(&b.0))?;
        (low, high) = (best - step, best + step);
    }
    solve(f64::exp(0.5 * (low + high))).map(|(_, value, covariance)| (value, covariance))
}
