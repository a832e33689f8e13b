//! A square matrix taken apart into triangles, row by row (Gauss with the greatest pivot of each column): faster for a few dozen rows
//! than one for any size, as no row is ever gathered and zeros are passed over.

use nalgebra::{SMatrix, SVector};

/// The triangles.
#[derive(Debug, Clone)]
pub(crate) struct Factors<const N: usize> {
    rows: [[f64; N]; N],
    /// Which row of the matrix stands where.
    order: [usize; N],
    /// One over each pivot.
    over: [f64; N],
}

/// Sum of products, four at a time.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    let mut sums = [0.0; 4];
    for (x, y) in a4.zip(b4) {
        for ((sum, x), y) in sums.iter_mut().zip(x).zip(y) {
            *sum += x * y;
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

impl<const N: usize> Factors<N> {
    /// Of a matrix; none of one that has no inverse or is not of numbers.
    pub(crate) fn of(matrix: &SMatrix<f64, N, N>) -> Option<Self> {
        let mut rows: [[f64; N]; N] = core::array::from_fn(|i| core::array::from_fn(|j| matrix[(i, j)]));
        let mut order: [usize; N] = core::array::from_fn(|k| k);
        let mut over = [0.0; N];
        for k in 0..N {
            let mut best = k;
            for i in k + 1..N {
                if rows[i][k].abs() > rows[best][k].abs() {
                    best = i;
                }
            }
            rows.swap(k, best);
            order.swap(k, best);
            let pivot = rows[k][k];
            if pivot == 0.0 || !pivot.is_finite() {
                return None;
            }
            over[k] = pivot.recip();
            let (above, below) = rows.split_at_mut(k + 1);
            let top = &above[k];
            for row in below {
                if row[k] != 0.0 {
                    let share = row[k] * over[k];
                    row[k] = share;
                    for (x, t) in row[k + 1..].iter_mut().zip(&top[k + 1..]) {
                        *x -= share * t;
                    }
                }
            }
        }
        Some(Self { rows, order, over })
    }

    /// What the matrix makes `right` of.
    pub(crate) fn solve(&self, right: &SVector<f64, N>) -> SVector<f64, N> {
        let mut x = [0.0; N];
        for i in 0..N {
            x[i] = right[self.order[i]] - dot(&self.rows[i][..i], &x[..i]);
        }
        for i in (0..N).rev() {
            x[i] = (x[i] - dot(&self.rows[i][i + 1..], &x[i + 1..])) * self.over[i];
        }
        SVector::from(x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_it_solves_is_solved() {
        const N: usize = 13;
        // Nothing on the diagonal, so that rows must change places; the heavy entries stand beside it.
        let a = SMatrix::<f64, N, N>::from_fn(|i, j| match (i + N - j) % N {
            0 => 0.0,
            1 => 3.0,
            apart if apart % 3 == 0 => 0.0,
            _ => 0.4 * ((3 * i + 7 * j) as f64).sin(),
        });
        let x = SVector::<f64, N>::from_fn(|k, _| (k as f64).cos());
        let found = Factors::of(&a).unwrap().solve(&(a * x));
        assert!((found - x).amax() < 1e-11, "{}", (found - x).amax());
        assert!((a.lu().solve(&(a * x)).unwrap() - found).amax() < 1e-11);
    }

    #[test]
    fn what_has_no_inverse_is_none() {
        let twice = SMatrix::<f64, 3, 3>::from_fn(|i, j| if i == 1 { (j + 1) as f64 } else { 2.0 * (j + 1) as f64 });
        assert!(Factors::of(&twice).is_none());
        assert!(Factors::of(&SMatrix::<f64, 2, 2>::from_element(f64::NAN)).is_none());
    }
}
