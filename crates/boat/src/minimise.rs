//! Smooth constrained minimisation of a few dozen variables: sequential quadratic programming in a trust box.
//!
//! Each round solves a quadratic model with linearised constraints inside the bounds and the box; constraints may be
//! broken at a price (an exact penalty), so that a step always exists. The model's curvature is a damped BFGS
//! update (Powell 1978). Method: Nocedal & Wright, Numerical Optimization, 2nd ed., chapters 16 and 18.

use nalgebra::{DMatrix, DVector};

/// What the problem answers at a point: the objective with its gradient, constraints (fine when >= 0) with theirs.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// Objective, order 1.
    pub value: f64,
    /// Its gradient.
    pub gradient: DVector<f64>,
    /// Constraints, order 1, met when not negative.
    pub constraints: DVector<f64>,
    /// Their gradients, one a row.
    pub jacobian: DMatrix<f64>,
}

/// A problem: its bounds, and an evaluation that may have no answer at a point.
pub trait Problem {
    /// Lower and upper bounds.
    fn bounds(&self) -> (&DVector<f64>, &DVector<f64>);
    /// Value and gradients at `x`, or `None` where the model has no answer.
    fn evaluate(&mut self, x: &DVector<f64>) -> Option<Evaluation>;
}

/// Where a search ended.
#[derive(Debug, Clone)]
pub struct Minimum {
    /// The point.
    pub x: DVector<f64>,
    /// The evaluation there.
    pub at: Evaluation,
    /// Multipliers of the constraints, not negative.
    pub multipliers: DVector<f64>,
    /// Greatest breach of a constraint.
    pub breach: f64,
    /// How many evaluations it took.
    pub evaluations: usize,
    /// Whether the model promised no further gain; otherwise the rounds ran out.
    pub converged: bool,
    /// Curvature of the model at the end: what a search near by starts from.
    pub curvature: DMatrix<f64>,
}

/// How a search is run.
#[derive(Debug, Clone, Copy)]
pub struct Search {
    /// Promised gain below which it stops, in units of the objective.
    pub tolerance: f64,
    /// Evaluations at most.
    pub evaluations: usize,
    /// First half-width of the trust box, in the variables' own scale.
    pub radius: f64,
    /// First curvature of the model.
    pub curvature: f64,
}

/// How wide the box of a fresh look is, of the first; how many tolerances it may promise where nothing is to be gained; and fresh looks at most.
const FRESH: f64 = 0.2;
const DOUBTED: f64 = 10.0;
const LOOKS: usize = 2;
/// A breach of a constraint this small is none.
const BREACH: f64 = 1e-6;

/// Searches from `start` (brought inside the bounds), with the curvature of a search near by where there is one. `None` when the
/// problem has no answer at the start.
pub fn minimum(problem: &mut impl Problem, start: &DVector<f64>, search: &Search, known: Option<&DMatrix<f64>>) -> Option<Minimum> {
    let (lower, upper) = problem.bounds();
    let (lower, upper) = (lower.clone(), upper.clone());
    let n = start.len();
    let mut x = DVector::from_fn(n, |i, _| start[i].clamp(lower[i], upper[i]));
    let mut at = problem.evaluate(&x)?;
    let m = at.constraints.len();
    let mut curvature = known.filter(|k| k.nrows() == n).cloned().unwrap_or_else(|| DMatrix::identity(n, n) * search.curvature);
    let mut radius = search.radius;
    // The price of a breach has to exceed the multipliers; it grows as they show themselves.
    let mut price = 10.0;
    let mut multipliers = DVector::zeros(m);
    let mut evaluations = 1;
    let (mut converged, mut looks) = (false, 0);
    let merit = |e: &Evaluation, price: f64| e.value + price * e.constraints.iter().map(|c| (-c).max(0.0)).sum::<f64>();
    while evaluations < search.evaluations {
        let low = DVector::from_fn(n, |i, _| (lower[i] - x[i]).max(-radius));
        let high = DVector::from_fn(n, |i, _| (upper[i] - x[i]).min(radius));
        let step = quadratic_step(&curvature, &at.gradient, &at.constraints, &at.jacobian, &low, &high, price);
        if step.multipliers.iter().any(|l| *l > 0.9 * price) && price < 1e4 {
            price *= 4.0;
            continue;
        }
        let d = &step.d;
        let (model, linear) = promise(&curvature, &at, d);
        let now = at.constraints.iter().map(|c| (-c).max(0.0)).sum::<f64>();
        let promised = -model + price * (now - linear);
        multipliers = step.multipliers;
        if promised < search.tolerance {
            // A box that has shrunk, or a curvature learned elsewhere, promises little anywhere: only what a fresh look at the slopes promises too is believed.
            let fresh = DMatrix::identity(n, n) * search.curvature;
            let wide = radius.max(FRESH * search.radius);
            let low = DVector::from_fn(n, |i, _| (lower[i] - x[i]).max(-wide));
            let high = DVector::from_fn(n, |i, _| (upper[i] - x[i]).min(wide));
            let step = quadratic_step(&fresh, &at.gradient, &at.constraints, &at.jacobian, &low, &high, price);
            let (model, linear) = promise(&fresh, &at, &step.d);
            converged = true;
            if looks >= LOOKS || -model + price * (now - linear) < DOUBTED * search.tolerance {
                break;
            }
            converged = false;
            looks += 1;
            (curvature, radius) = (fresh, wide);
            continue;
        }
        let trial = DVector::from_fn(n, |i, _| (x[i] + d[i]).clamp(lower[i], upper[i]));
        evaluations += 1;
        let Some(there) = problem.evaluate(&trial) else {
            radius *= 0.3;
            if radius < 1e-5 {
                break;
            }
            continue;
        };
        let gained = merit(&at, price) - merit(&there, price);
        let ratio = gained / promised;
        let s = &trial - &x;
        let y = (&there.gradient - there.jacobian.transpose() * &multipliers) - (&at.gradient - at.jacobian.transpose() * &multipliers);
        update(&mut curvature, &s, &y);
        let reach = d.amax();
        if ratio > 0.75 && reach > 0.9 * radius {
            radius = (radius * 2.5).min(10.0 * search.radius);
        } else if ratio < 0.25 {
            radius = 0.4 * reach.min(radius);
        }
        if ratio > 1e-4 {
            x = trial;
            at = there;
        } else if radius < 1e-5 {
            break;
        }
    }
    // One whose rounds ran out in a fresh look had been content before it.
    let converged = converged || looks > 0;
    let breach = at.constraints.iter().map(|c| (-c).max(0.0)).fold(0.0, f64::max);
    Some(Minimum { x, at, multipliers, converged: converged && breach < 1e3 * BREACH, breach, evaluations, curvature })
}

/// What a step does to the model's objective, and the breaches it leaves, by straight constraints.
fn promise(curvature: &DMatrix<f64>, at: &Evaluation, d: &DVector<f64>) -> (f64, f64) {
    let model = at.gradient.dot(d) + 0.5 * d.dot(&(curvature * d));
    (model, (&at.constraints + &at.jacobian * d).iter().map(|c| (-c).max(0.0)).sum())
}

/// Damped BFGS update of the curvature `b` by step `s` and change of gradient `y` (Powell 1978).
fn update(b: &mut DMatrix<f64>, s: &DVector<f64>, y: &DVector<f64>) {
    let bs = &*b * s;
    let sbs = s.dot(&bs);
    if sbs < 1e-14 {
        return;
    }
    let sy = s.dot(y);
    let keep = if sy >= 0.2 * sbs { 1.0 } else { 0.8 * sbs / (sbs - sy) };
    let r = y * keep + &bs * (1.0 - keep);
    let sr = s.dot(&r);
    *b += &r * r.transpose() / sr - &bs * bs.transpose() / sbs;
}

struct Step {
    d: DVector<f64>,
    multipliers: DVector<f64>,
}

/// Minimises `g d + d B d / 2 + price * sum(s)` with `c + A d + s >= 0`, `s >= 0`, `low <= d <= high`. Constraints that no step inside the
/// box can reach are left out: they are most of them, and the work grows with the cube of their number.
fn quadratic_step(
    b: &DMatrix<f64>,
    g: &DVector<f64>,
    c: &DVector<f64>,
    a: &DMatrix<f64>,
    low: &DVector<f64>,
    high: &DVector<f64>,
    price: f64,
) -> Step {
    let (n, m) = (g.len(), c.len());
    let least = |i: usize| c[i] + (0..n).map(|j| (a[(i, j)] * low[j]).min(a[(i, j)] * high[j])).sum::<f64>();
    let near: Vec<usize> = (0..m).filter(|i| least(*i) < 0.0 || least(*i).is_nan()).collect();
    let c = DVector::from_iterator(near.len(), near.iter().map(|i| c[*i]));
    let a = DMatrix::from_fn(near.len(), n, |i, j| a[(near[i], j)]);
    let step = active_set(b, g, &c, &a, low, high, price);
    let mut multipliers = DVector::zeros(m);
    for (k, i) in near.into_iter().enumerate() {
        multipliers[i] = step.multipliers[k];
    }
    Step { d: step.d, multipliers }
}

/// The same with every constraint, by a primal active set from the feasible point `d = 0`.
fn active_set(
    b: &DMatrix<f64>,
    g: &DVector<f64>,
    c: &DVector<f64>,
    a: &DMatrix<f64>,
    low: &DVector<f64>,
    high: &DVector<f64>,
    price: f64,
) -> Step {
    /// Curvature given to the slack so that the model stays strictly convex.
    const SLACK_CURVATURE: f64 = 1e-6;
    let (n, m) = (g.len(), c.len());
    let size = n + m;
    let mut h = DMatrix::zeros(size, size);
    h.view_mut((0, 0), (n, n)).copy_from(b);
    for i in 0..m {
        h[(n + i, n + i)] = SLACK_CURVATURE;
    }
    let mut q = DVector::from_element(size, price);
    q.rows_mut(0, n).copy_from(g);
    // Rows of inequalities: low, high, constraints, slack; each `row . z + offset >= 0`.
    let rows = 2 * n + 2 * m;
    let row = |k: usize| -> DVector<f64> {
        let mut r = DVector::zeros(size);
        if k < n {
            r[k] = 1.0;
        } else if k < 2 * n {
            r[k - n] = -1.0;
        } else if k < 2 * n + m {
            let i = k - 2 * n;
            for j in 0..n {
                r[j] = a[(i, j)];
            }
            r[n + i] = 1.0;
        } else {
            r[n + k - 2 * n - m] = 1.0;
        }
        r
    };
    let table: Vec<DVector<f64>> = (0..rows).map(row).collect();
    let offset = |k: usize| -> f64 {
        if k < n {
            -low[k]
        } else if k < 2 * n {
            high[k - n]
        } else if k < 2 * n + m {
            c[k - 2 * n]
        } else {
            0.0
        }
    };
    let mut z = DVector::zeros(size);
    for i in 0..m {
        z[n + i] = (-c[i]).max(0.0);
    }
    // Bounds already met and slacks at rest start in the active set; the rest is found.
    let mut active: Vec<usize> = (0..m).filter(|&i| c[i] >= 0.0).map(|i| 2 * n + m + i).collect();
    let mut multipliers = DVector::zeros(m);
    for _ in 0..(8 * size + 50) {
        let w = active.len();
        let mut kkt = DMatrix::zeros(size + w, size + w);
        kkt.view_mut((0, 0), (size, size)).copy_from(&h);
        for (k, &i) in active.iter().enumerate() {
            for j in 0..size {
                kkt[(j, size + k)] = -table[i][j];
                kkt[(size + k, j)] = table[i][j];
            }
        }
        let mut right = DVector::zeros(size + w);
        right.rows_mut(0, size).copy_from(&-(&h * &z + &q));
        let Some(solved) = kkt.lu().solve(&right).filter(|s| s.iter().all(|v| v.is_finite())) else {
            if active.pop().is_none() {
                break;
            }
            continue;
        };
        let p = solved.rows(0, size).into_owned();
        if p.amax() < 1e-10 * (1.0 + z.amax()) {
            let worst = (0..w).min_by(|&i, &j| solved[size + i].total_cmp(&solved[size + j]));
            match worst {
                Some(k) if solved[size + k] < -1e-10 => {
                    active.remove(k);
                }
                _ => {
                    for (k, &i) in active.iter().enumerate() {
                        if (2 * n..2 * n + m).contains(&i) {
                            multipliers[i - 2 * n] = solved[size + k].max(0.0);
                        }
                    }
                    break;
                }
            }
            continue;
        }
        let mut share = 1.0;
        let mut block = None;
        for (k, r) in table.iter().enumerate() {
            if active.contains(&k) {
                continue;
            }
            let along = r.dot(&p);
            if along < -1e-13 {
                let room = (r.dot(&z) + offset(k)).max(0.0) / -along;
                if room < share {
                    share = room;
                    block = Some(k);
                }
            }
        }
        z += p * share;
        active.extend(block);
    }
    Step { d: z.rows(0, n).into_owned(), multipliers }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Named {
        low: DVector<f64>,
        high: DVector<f64>,
        f: fn(&DVector<f64>) -> Evaluation,
    }
    impl Problem for Named {
        fn bounds(&self) -> (&DVector<f64>, &DVector<f64>) {
            (&self.low, &self.high)
        }
        fn evaluate(&mut self, x: &DVector<f64>) -> Option<Evaluation> {
            Some((self.f)(x))
        }
    }
    const SEARCH: Search = Search { tolerance: 1e-10, evaluations: 400, radius: 1.0, curvature: 1.0 };

    /// Rosenbrock's valley inside the disc x2 + y2 <= 1: minimum 0.045674... at (0.786415, 0.617698), a textbook example.
    #[test]
    fn valley_in_a_disc() {
        let mut p = Named {
            low: DVector::from_element(2, -5.0),
            high: DVector::from_element(2, 5.0),
            f: |x| {
                let (a, b) = (1.0 - x[0], x[1] - x[0] * x[0]);
                Evaluation {
                    value: a * a + 100.0 * b * b,
                    gradient: DVector::from_vec(vec![-2.0 * a - 400.0 * x[0] * b, 200.0 * b]),
                    constraints: DVector::from_vec(vec![1.0 - x.norm_squared()]),
                    jacobian: DMatrix::from_row_slice(1, 2, &[-2.0 * x[0], -2.0 * x[1]]),
                }
            },
        };
        let r = minimum(&mut p, &DVector::from_vec(vec![-1.0, 0.5]), &SEARCH, None).unwrap();
        assert!((r.x[0] - 0.786415).abs() < 1e-4 && (r.x[1] - 0.617698).abs() < 1e-4, "{r:?}");
        assert!(r.converged && r.breach < 1e-6 && r.multipliers[0] > 0.0);
    }

    /// Hock & Schittkowski problem 35: minimum 1/9 at (4/3, 7/9, 4/9), from an infeasible start too.
    #[test]
    fn textbook_quadratic() {
        let mut p = Named {
            low: DVector::zeros(3),
            high: DVector::from_element(3, 10.0),
            f: |x| Evaluation {
                value: 9.0 - 8.0 * x[0] - 6.0 * x[1] - 4.0 * x[2]
                    + 2.0 * x[0] * x[0]
                    + 2.0 * x[1] * x[1]
                    + x[2] * x[2]
                    + 2.0 * x[0] * x[1]
                    + 2.0 * x[0] * x[2],
                gradient: DVector::from_vec(vec![
                    -8.0 + 4.0 * x[0] + 2.0 * x[1] + 2.0 * x[2],
                    -6.0 + 4.0 * x[1] + 2.0 * x[0],
                    -4.0 + 2.0 * x[2] + 2.0 * x[0],
                ]),
                constraints: DVector::from_vec(vec![3.0 - x[0] - x[1] - 2.0 * x[2]]),
                jacobian: DMatrix::from_row_slice(1, 3, &[-1.0, -1.0, -2.0]),
            },
        };
        for start in [[0.5, 0.5, 0.5], [9.0, 9.0, 9.0]] {
            let r = minimum(&mut p, &DVector::from_row_slice(&start), &SEARCH, None).unwrap();
            assert!((r.at.value - 1.0 / 9.0).abs() < 1e-6, "{r:?}");
            assert!((r.x[0] - 4.0 / 3.0).abs() < 1e-3);
        }
    }
}
