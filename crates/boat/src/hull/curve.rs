//! A smooth curve through points that rises only where they rise: piecewise cubic with one continuous derivative.
//!
//! Source: F.N. Fritsch, J. Butland, A method for constructing local monotone piecewise cubic interpolants, SIAM J. Sci.
//! Stat. Comput. 5 (1984). Straight beyond its ends.

use crate::scalar::Real;

/// The curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl Curve {
    /// Through points with rising `x`; what has no partner in the other list is left out.
    #[must_use]
    pub fn through(x: &[f64], y: &[f64]) -> Self {
        let n = x.len().min(y.len());
        let (x, y) = (x[..n].to_vec(), y[..n].to_vec());
        let chord = |k: usize| (y[k + 1] - y[k]) / (x[k + 1] - x[k]);
        let slope = match n {
            0 | 1 => vec![0.0; n],
            2 => vec![chord(0); 2],
            _ => {
                let inner = |k: usize| {
                    let (a, b) = (chord(k - 1), chord(k));
                    if a * b <= 0.0 {
                        return 0.0;
                    }
                    let (left, right) = (x[k] - x[k - 1], x[k + 1] - x[k]);
                    let (p, q) = (left + 2.0 * right, 2.0 * left + right);
                    (p + q) / (p / a + q / b)
                };
                // A parabola through the three points at an end, held to the sign and thrice the slope of its chord.
                let end = |near: f64, far: f64, a: f64, b: f64| {
                    let s = ((2.0 * near + far) * a - near * b) / (near + far);
                    if s * a <= 0.0 {
                        0.0
                    } else if a * b <= 0.0 && s.abs() > 3.0 * a.abs() {
                        3.0 * a
                    } else {
                        s
                    }
                };
                let first = end(x[1] - x[0], x[2] - x[1], chord(0), chord(1));
                let last = end(x[n - 1] - x[n - 2], x[n - 2] - x[n - 3], chord(n - 2), chord(n - 3));
                (0..n)
                    .map(|k| {
                        if k == 0 {
                            first
                        } else if k == n - 1 {
                            last
                        } else {
                            inner(k)
                        }
                    })
                    .collect()
            }
        };
        Self { x, y, slope }
    }

    /// Its height at `at`; 0 if it has no points.
    pub fn at<D: Real>(&self, at: D) -> D {
        let (v, n) = (at.value(), self.x.len());
        let line = |k: usize| (at - self.x[k]) * self.slope[k] + self.y[k];
        if n == 0 {
            return D::from(0.0);
        }
        if v <= self.x[0] || n == 1 {
            return line(0);
        }
        if v >= self.x[n - 1] {
            return line(n - 1);
        }
        let k = self.x.partition_point(|x| *x <= v).clamp(1, n - 1) - 1;
        let h = self.x[k + 1] - self.x[k];
        let t = (at - self.x[k]) / h;
        let rise = (self.y[k + 1] - self.y[k]) / h;
        let (a, b) = (self.slope[k], self.slope[k + 1]);
        // Hermite's cubic in Horner's order.
        ((t * (a + b - 2.0 * rise) + (3.0 * rise - 2.0 * a - b)) * t + a) * t * h + self.y[k]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn meets_its_points_and_is_straight_beyond() {
        let c = Curve::through(&[0.0, 1.0, 3.0, 4.0], &[0.0, 2.0, 2.5, 6.0]);
        for (x, y) in [(0.0, 0.0), (1.0, 2.0), (3.0, 2.5), (4.0, 6.0)] {
            assert!((c.at(x) - y).abs() < 1e-14);
        }
        assert!((c.at(6.0) - c.at(5.0) - (c.at(5.0) - c.at(4.0))).abs() < 1e-12);
        assert_eq!(Curve::through(&[], &[]).at(1.0), 0.0);
        assert!((Curve::through(&[1.0, 2.0], &[1.0, 3.0]).at(0.0) + 1.0).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn never_falls_where_its_points_rise(steps in proptest::collection::vec((0.1..2.0f64, 0.0..3.0f64), 2..12), t in 0.0..1.0f64) {
            let (mut x, mut y) = (vec![0.0], vec![0.0]);
            for (dx, dy) in steps {
                x.push(x[x.len() - 1] + dx);
                y.push(y[y.len() - 1] + dy);
            }
            let c = Curve::through(&x, &y);
            let at = t * x[x.len() - 1];
            prop_assert!(c.at(at + 1e-3) >= c.at(at) - 1e-12);
        }
    }
}
