//! A Jacobian taken apart once and mended by every step taken with it, at the cost of a few products of rows.
//!
//! C. G. Broyden, Math. Comp. 19, 1965, the "good" update, with the steps kept in place of a matrix (C. T. Kelley, Iterative Methods
//! for Linear and Nonlinear Equations, SIAM 1995, section 7.3; by memory). Full steps only.

use super::{Factors, Row};

/// Steps at most: what has not settled by then asks for a fresh Jacobian.
const STEPS: usize = 10;

/// Factors of a Jacobian, and the steps taken since.
pub(crate) struct Mended {
    factors: Factors,
    steps: [Row; STEPS],
    taken: usize,
}

impl Mended {
    /// Not yet mended.
    pub(crate) fn new(factors: Factors) -> Self {
        Self { factors, steps: [Row::zeros(); STEPS], taken: 0 }
    }

    /// Of which the first step was taken.
    pub(crate) fn after(factors: Factors, step: Row) -> Self {
        let mut begun = Self::new(factors);
        begun.steps[0] = step;
        begun.taken = 1;
        begun
    }

    /// The step from where the residual is `r`, which is where the last step led; none when it has been mended often enough.
    pub(crate) fn step(&mut self, r: &Row) -> Option<Row> {
        if self.taken == STEPS {
            return None;
        }
        let mut step = self.factors.solve(&-r);
        for pair in self.steps[..self.taken].windows(2) {
            step += pair[1] * (pair[0].dot(&step) / pair[0].norm_squared());
        }
        if let Some(last) = self.taken.checked_sub(1).map(|k| self.steps[k]) {
            let share = 1.0 - last.dot(&step) / last.norm_squared();
            if share.abs() < LEAST {
                return None;
            }
            step /= share;
        }
        self.steps[self.taken] = step;
        self.taken += 1;
        Some(step)
    }
}

/// A mended Jacobian nearer to none than this is given up.
const LEAST: f64 = 0.1;

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::SMatrix;

    /// On a straight problem with a wrong Jacobian eight steps that learn leave less than half of what eight that do not leave.
    #[test]
    fn it_learns_from_its_steps() {
        let n = super::super::UNKNOWNS;
        let slope = |i: usize, j: usize| if i == j { 1.0 + 0.02 * i as f64 } else { 0.05 / (1.0 + (i as f64 - j as f64).abs()) };
        let a = SMatrix::<f64, { super::super::UNKNOWNS }, { super::super::UNKNOWNS }>::from_fn(slope);
        let wrong = a + SMatrix::from_fn(|i, j| if i + 1 == j || (i, j) == (n - 1, 0) { 0.3 } else { 0.0 });
        let factors = Factors::of(&wrong).unwrap();
        let root = Row::from_fn(|k, _| (k as f64).sin());
        let left = |mend: bool| {
            let mut x = Row::zeros();
            let mut mended = Mended::new(factors.clone());
            for _ in 0..8 {
                let r = a * (x - root);
                x += if mend { mended.step(&r).unwrap() } else { factors.solve(&-r) };
            }
            (a * (x - root)).amax()
        };
        let (learned, fixed) = (left(true), left(false));
        assert!(learned < 0.5 * fixed, "{learned:e} {fixed:e}");
    }
}
