//! A linear mixed model by restricted maximum likelihood, with Satterthwaite degrees of freedom.
//!
//! `y = X b + Z u + e`: rows fall into groups (passes), each group draws its own coefficients `u ~ N(0, sigma^2 L L')`, and
//! `e ~ N(0, sigma^2 / w)`. The criterion is profiled over `b` and `sigma` as by Bates, Maechler, Bolker and Walker, J. Stat. Softw. 67(1), 2015,
//! with `L` lower triangular; degrees of freedom follow Satterthwaite, Biometrics Bull. 2, 1946, in the form of Kuznetsova, Brockhoff and
//! Christensen, J. Stat. Softw. 82(13), 2017 (both formulas from memory). One grouping, no crossed groups. A variance at zero is an answer: it is
//! left out of the degrees of freedom. Derivatives are central differences, extrapolated once, of a criterion that is exact.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use crate::Error;

/// Relative standard deviation of a group's coefficient below which it counts as zero.
const ZERO: f64 = 1e-4;
/// Step of the differences; after one extrapolation their error is of the order of its fourth power.
const STEP: f64 = 4e-3;
/// Newton steps before the search is given up.
const STEPS: usize = 80;
/// A sum of squares this share of the responses' own is rounding, not scatter.
const ROUNDING: f64 = 1e-18;

/// What is to be fitted: `n` rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Rows {
    /// The response of each row.
    pub response: Vec<f64>,
    /// `n` by `p`, of full rank.
    pub fixed: DMatrix<f64>,
    /// The group of each row.
    pub group: Vec<usize>,
    /// `n` by `q`: what a group's own coefficients multiply. No column: plain least squares.
    pub random: DMatrix<f64>,
    /// Relative precision of each row; 1 for all is the plain model.
    pub weight: Vec<f64>,
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// `p` coefficients.
    pub coefficients: DVector<f64>,
    /// `p` by `p`: covariance of the coefficients.
    pub covariance: DMatrix<f64>,
    /// Residual standard deviation.
    pub residual_sd: f64,
    /// `q` by `q`: covariance of a group's coefficients.
    pub group_covariance: DMatrix<f64>,
    /// Minus twice the restricted log likelihood.
    pub criterion: f64,
    /// Residuals with the groups' predicted coefficients taken off.
    pub residuals: Vec<f64>,
    theta: Vec<f64>,
    sums: Sums,
}

/// Cross products of each group, all that the criterion needs.
#[derive(Debug, Clone, PartialEq)]
struct Sums {
    rows: usize,
    fixed: usize,
    log_weight: f64,
    total: DMatrix<f64>,
    groups: Vec<(DMatrix<f64>, DMatrix<f64>)>,
    alike: Vec<Alike>,
    size: DVector<f64>,
}

/// Groups with one coefficient and the same sum of squares enter the criterion as one: thousands of passes of two boats are a few sums.
#[derive(Debug, Clone, PartialEq)]
struct Alike {
    squares: f64,
    groups: f64,
    products: DMatrix<f64>,
}

/// The model at given relative standard deviations.
struct State {
    shift: DVector<f64>,
    inverse: DMatrix<f64>,
    squares: f64,
    logs: f64,
}

/// The lower triangle of `theta`, row by row.
fn triangle(theta: &[f64], q: usize) -> DMatrix<f64> {
    let mut at = theta.iter();
    let mut lower = DMatrix::zeros(q, q);
    for row in 0..q {
        for column in 0..=row {
            lower[(row, column)] = at.next().copied().unwrap_or(0.0);
        }
    }
    lower
}

impl Sums {
    fn of(rows: &Rows, start: &DVector<f64>) -> Self {
        let (n, p, q) = (rows.response.len(), rows.fixed.ncols(), rows.random.ncols());
        let left = DVector::from_column_slice(&rows.response) - &rows.fixed * start;
        // The groups' columns are brought to one size, so that the search meets numbers near one.
        let size = DVector::from_fn(q, |k, _| (rows.random.column(k).norm_squared() / n as f64).sqrt().max(f64::MIN_POSITIVE));
        let names: std::collections::BTreeSet<usize> = rows.group.iter().copied().collect();
        let places: std::collections::BTreeMap<usize, usize> = names.iter().enumerate().map(|(place, name)| (*name, place)).collect();
        let mut groups = vec![(DMatrix::zeros(q, q), DMatrix::zeros(q, p + 1)); places.len()];
        let mut total = DMatrix::zeros(p + 1, p + 1);
        for row in 0..n {
            let xy = DVector::from_fn(p + 1, |k, _| if k < p { rows.fixed[(row, k)] } else { left[row] });
            let z = DVector::from_fn(q, |k, _| rows.random[(row, k)] / size[k]);
            total.ger(rows.weight[row], &xy, &xy, 1.0);
            let (zz, zx) = &mut groups[places[&rows.group[row]]];
            zz.ger(rows.weight[row], &z, &z, 1.0);
            zx.ger(rows.weight[row], &z, &xy, 1.0);
        }
        let mut alike = std::collections::BTreeMap::<u64, Alike>::new();
        if q == 1 {
            for (zz, zx) in groups.drain(..) {
                let squares: f64 = zz[(0, 0)];
                let fresh = || Alike { squares, groups: 0.0, products: DMatrix::zeros(p + 1, p + 1) };
                let sum = alike.entry(squares.to_bits()).or_insert_with(fresh);
                sum.groups += 1.0;
                let row = zx.row(0).transpose();
                sum.products.ger(1.0, &row, &row, 1.0);
            }
        }
        let alike = alike.into_values().collect();
        Self { rows: n, fixed: p, log_weight: rows.weight.iter().map(|w| w.ln()).sum(), total, groups, alike, size }
    }

    fn state(&self, theta: &[f64]) -> Option<State> {
        let (p, q) = (self.fixed, self.size.len());
        let lower = triangle(theta, q);
        let mut all = self.total.clone();
        let mut logs = -self.log_weight;
        let ratio = if q == 1 { lower[(0, 0)] * lower[(0, 0)] } else { 0.0 };
        for sum in &self.alike {
            let inner = 1.0 + ratio * sum.squares;
            all.zip_apply(&sum.products, |entry, product| *entry -= ratio / inner * product);
            logs += sum.groups * inner.ln();
        }
        if q > 1 {
            for (zz, zx) in &self.groups {
                let inner = (DMatrix::identity(q, q) + lower.tr_mul(zz) * &lower).cholesky()?;
                let half = inner.l().solve_lower_triangular(&lower.tr_mul(zx))?;
                all.gemm_tr(-1.0, &half, &half, 1.0);
                logs += 2.0 * inner.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
            }
        }
        let xx = all.view((0, 0), (p, p)).into_owned().cholesky()?;
        let xy = all.view((0, p), (p, 1)).column(0).into_owned();
        let shift = xx.solve(&xy);
        let squares = all[(p, p)] - xy.dot(&shift);
        logs += 2.0 * xx.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        Some(State { shift, inverse: xx.inverse(), squares: squares.max(0.0), logs })
    }

    fn spare(&self) -> f64 {
        (self.rows - self.fixed) as f64
    }

    /// Profiled over the residual variance.
    fn criterion(&self, theta: &[f64]) -> f64 {
        let spare = self.spare();
        let value = self.state(theta).map(|s| s.logs + spare * (1.0 + (core::f64::consts::TAU * s.squares / spare).ln()));
        value.filter(|v| v.is_finite()).unwrap_or(f64::INFINITY)
    }

    /// Not profiled: the last of `at` is the logarithm of the residual standard deviation.
    fn whole(&self, theta: &[f64], log_sd: f64) -> f64 {
        let square = (2.0 * log_sd).exp();
        self.state(theta).map_or(f64::INFINITY, |s| s.logs + self.spare() * (core::f64::consts::TAU * square).ln() + s.squares / square)
    }

    /// Newton's method with the curvature made positive, from several starts, or from one that is known to be near.
    fn search(&self, near: Option<&[f64]>) -> Vec<f64> {
        let q = self.size.len();
        let start =
            |size: f64| (0..q).flat_map(|row| (0..=row).map(move |column| if row == column { size } else { 0.0 })).collect::<Vec<_>>();
        let mut best = start(0.0);
        if q == 0 {
            return best;
        }
        let mut least = self.criterion(&best);
        let starts = near.map_or_else(|| [0.3, 1.0, 4.0].into_iter().map(start).collect(), |near| vec![near.to_vec()]);
        for from in starts {
            let found = self.descend(from);
            let value = self.criterion(&found);
            if value < least {
                (best, least) = (found, value);
            }
        }
        best
    }

    fn descend(&self, mut at: Vec<f64>) -> Vec<f64> {
        let mut here = self.criterion(&at);
        for _ in 0..STEPS {
            let value = |x: &[f64]| self.criterion(x);
            let slope = DVector::from_vec(gradient(&value, &at));
            let curve = hessian(&value, &at);
            if !slope.iter().chain(curve.iter()).all(|v| v.is_finite()) {
                break;
            }
            let turned = SymmetricEigen::new(curve);
            let mut step = DVector::zeros(at.len());
            for (k, curve) in turned.eigenvalues.iter().enumerate() {
                let way = turned.eigenvectors.column(k);
                step -= way * (way.dot(&slope) / curve.abs().max(1e-3));
            }
            let reach = 1.0 + at.iter().map(|v| v * v).sum::<f64>().sqrt();
            if step.norm() > reach {
                step *= reach / step.norm();
            }
            let before = here;
            for _ in 0..30 {
                let next: Vec<f64> = at.iter().zip(step.iter()).map(|(a, s)| a + s).collect();
                let there = value(&next);
                if there < here {
                    (at, here) = (next, there);
                    break;
                }
                step *= 0.4;
            }
            // Near the end a step squares its error, so one that gains this little was the last needed.
            if before - here < 1e-10 {
                break;
            }
        }
        at
    }
}

/// First derivatives by central differences, extrapolated once.
fn gradient(value: &impl Fn(&[f64]) -> f64, at: &[f64]) -> Vec<f64> {
    let moved = |k: usize, by: f64| {
        let mut x = at.to_vec();
        x[k] += by;
        value(&x)
    };
    (0..at.len())
        .map(|k| {
            let h = STEP * at[k].abs().max(0.25);
            let central = |h: f64| (moved(k, h) - moved(k, -h)) / (2.0 * h);
            (4.0 * central(h / 2.0) - central(h)) / 3.0
        })
        .collect()
}

/// Second derivatives by central differences, extrapolated once.
fn hessian(value: &impl Fn(&[f64]) -> f64, at: &[f64]) -> DMatrix<f64> {
    let here = value(at);
    let moved = |j: usize, a: f64, k: usize, b: f64| {
        let mut x = at.to_vec();
        x[j] += a;
        x[k] += b;
        value(&x)
    };
    let size = |k: usize| 2.0 * STEP * at[k].abs().max(0.25);
    let second = |j: usize, k: usize, scale: f64| {
        let (a, b) = (size(j) * scale, size(k) * scale);
        if j == k {
            (moved(j, a, k, 0.0) - 2.0 * here + moved(j, -a, k, 0.0)) / (a * a)
        } else {
            (moved(j, a, k, b) - moved(j, a, k, -b) - moved(j, -a, k, b) + moved(j, -a, k, -b)) / (4.0 * a * b)
        }
    };
    let mut matrix = DMatrix::zeros(at.len(), at.len());
    for j in 0..at.len() {
        for k in 0..=j {
            let entry = (4.0 * second(j, k, 0.5) - second(j, k, 1.0)) / 3.0;
            matrix[(j, k)] = entry;
            matrix[(k, j)] = entry;
        }
    }
    matrix
}

impl Rows {
    /// Fits the model.
    ///
    /// # Errors
    /// Rows that do not fit each other, numbers that are none, more coefficients than rows, columns that say the same, no scatter.
    pub fn fit(&self) -> Result<Fit, Error> {
        self.fit_from(None)
    }

    /// Fits the model again after a small change, from where `before` ended.
    ///
    /// # Errors
    /// As [`Rows::fit`].
    pub fn fit_near(&self, before: &Fit) -> Result<Fit, Error> {
        self.fit_from(Some(&before.theta).filter(|theta| theta.len() == self.random.ncols() * (self.random.ncols() + 1) / 2))
    }

    fn fit_from(&self, near: Option<&Vec<f64>>) -> Result<Fit, Error> {
        let stopped = |what: &str| Error::Model(what.to_owned());
        let (n, p) = (self.response.len(), self.fixed.ncols());
        if self.fixed.nrows() != n || self.random.nrows() != n || self.group.len() != n || self.weight.len() != n {
            return Err(stopped("the columns of the model differ in length"));
        }
        let numbers = self.response.iter().chain(self.fixed.iter()).chain(self.random.iter()).chain(&self.weight);
        if !numbers.clone().all(|v| v.is_finite()) || self.weight.iter().any(|w| *w <= 0.0) {
            return Err(stopped("a number of the model is missing or endless"));
        }
        if n <= p {
            return Err(stopped("there are no more rows than questions, so nothing is left to tell the doubt by: sail more passes"));
        }
        let weighed = DMatrix::from_fn(n, p, |r, c| self.fixed[(r, c)] * self.weight[r]);
        let plain = self.fixed.tr_mul(&weighed).cholesky().ok_or_else(|| stopped("two columns of the model say the same"))?;
        let start = plain.solve(&weighed.tr_mul(&DVector::from_column_slice(&self.response)));
        let sums = Sums::of(self, &start);
        let scale: f64 = self.response.iter().map(|y| y * y).sum();
        if sums.total[(p, p)] <= ROUNDING * scale.max(f64::MIN_POSITIVE) {
            return Err(stopped(
                "the passes show no scatter at all, so no doubt can be told: are they measured, or typed in from a formula?",
            ));
        }
        let mut theta = sums.search(near.map(Vec::as_slice));
        let q = self.random.ncols();
        // A column of the triangle may change its sign without changing the model: the diagonal is shown positive.
        let mut lower = triangle(&theta, q);
        for column in 0..q {
            if lower[(column, column)] < 0.0 {
                lower.column_mut(column).neg_mut();
            }
        }
        theta.clear();
        for row in 0..q {
            theta.extend((0..=row).map(|column| lower[(row, column)]));
        }
        let state = sums.state(&theta).ok_or_else(|| stopped("two columns of the model say the same"))?;
        let square = state.squares / sums.spare();
        let unscaled = DMatrix::from_fn(q, q, |row, column| lower[(row, column)] / sums.size[row]);
        let coefficients = &start + &state.shift;
        let group_covariance = &unscaled * unscaled.transpose() * square;
        let residuals = self.residuals(&coefficients, &unscaled);
        let criterion = sums.criterion(&theta);
        let covariance = &state.inverse * square;
        Ok(Fit { coefficients, covariance, residual_sd: square.sqrt(), group_covariance, criterion, residuals, theta, sums })
    }

    /// Residuals less each group's best linear prediction.
    fn residuals(&self, coefficients: &DVector<f64>, lower: &DMatrix<f64>) -> Vec<f64> {
        let q = lower.ncols();
        let mut left = DVector::from_column_slice(&self.response) - &self.fixed * coefficients;
        if q == 0 {
            return left.iter().copied().collect();
        }
        let mut groups = std::collections::BTreeMap::<usize, Vec<usize>>::new();
        for (row, group) in self.group.iter().enumerate() {
            groups.entry(*group).or_default().push(row);
        }
        for rows in groups.values() {
            let z = DMatrix::from_fn(rows.len(), q, |r, c| self.random[(rows[r], c)]) * lower;
            let wz = DMatrix::from_fn(rows.len(), q, |r, c| z[(r, c)] * self.weight[rows[r]]);
            let r = DVector::from_fn(rows.len(), |k, _| left[rows[k]]);
            if let Some(inner) = (DMatrix::identity(q, q) + z.tr_mul(&wz)).cholesky() {
                let predicted = &z * inner.solve(&wz.tr_mul(&r));
                rows.iter().enumerate().for_each(|(k, row)| left[*row] -= predicted[k]);
            }
        }
        left.iter().copied().collect()
    }
}

impl Fit {
    /// Value and standard error of a sum of coefficients with the given weights.
    #[must_use]
    pub fn contrast(&self, weights: &DVector<f64>) -> (f64, f64) {
        (weights.dot(&self.coefficients), (weights.dot(&(&self.covariance * weights))).max(0.0).sqrt())
    }

    /// Satterthwaite's degrees of freedom of that sum, at most the rows less the coefficients.
    #[must_use]
    pub fn degrees_of_freedom(&self, weights: &DVector<f64>) -> f64 {
        let spare = self.sums.spare();
        let q = self.sums.size.len();
        let diagonal = (0..q).flat_map(|row| (0..=row).map(move |column| row == column));
        let free: Vec<usize> = diagonal.enumerate().filter(|(k, on)| !on || self.theta[*k] > ZERO).map(|(k, _)| k).collect();
        let spread = |at: &[f64]| {
            let mut theta = self.theta.clone();
            free.iter().zip(at).for_each(|(k, v)| theta[*k] = *v);
            (theta, at[free.len()])
        };
        let centre: Vec<f64> = free.iter().map(|k| self.theta[*k]).chain([self.residual_sd.ln()]).collect();
        let curve = hessian(
            &|at: &[f64]| {
                let (theta, log_sd) = spread(at);
                self.sums.whole(&theta, log_sd)
            },
            &centre,
        );
        let variance = |at: &[f64]| {
            let (theta, log_sd) = spread(at);
            self.sums.state(&theta).map_or(f64::NAN, |s| weights.dot(&(&s.inverse * weights)) * (2.0 * log_sd).exp())
        };
        let slope = DVector::from_vec(gradient(&variance, &centre));
        if !slope.iter().chain(curve.iter()).all(|v| v.is_finite()) {
            return 1.0;
        }
        let turned = SymmetricEigen::new(curve);
        let largest = turned.eigenvalues.amax();
        let mut doubt = 0.0;
        for (k, value) in turned.eigenvalues.iter().enumerate().filter(|(_, value)| **value > 1e-9 * largest) {
            doubt += 2.0 * turned.eigenvectors.column(k).dot(&slope).powi(2) / value;
        }
        let df = 2.0 * variance(&centre).powi(2) / doubt;
        if df.is_finite() { df.clamp(1.0, spare) } else { spare.min(1.0) }
    }
}
