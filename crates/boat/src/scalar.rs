//! The number the kernels compute with: plain `f64`, or a dual number that carries exact derivatives beside it.
//!
//! Every force is written once, generic over [`Real`]. Solvers run it with dual numbers for Jacobians and
//! with `f64` where no derivative is wanted. [`lift`] keeps that cheap: a part with few inputs is differentiated
//! in those inputs alone and joined to the rest by the chain rule.

use nalgebra::SVector;
use num_dual::{DualNum, DualSVec64};

/// `f64` or a dual number over it.
pub trait Real: DualNum<Primitive = f64, InnerDual: Copy> + Copy {
    /// The value without its derivatives.
    fn value(self) -> f64;
    /// A number of a given value whose derivatives are the slopes times those of the inputs: the chain rule in one go.
    fn joined(value: f64, slopes: &[f64], inputs: &[Self]) -> Self;
}

impl Real for f64 {
    #[inline]
    fn value(self) -> f64 {
        self
    }
    fn joined(value: f64, _: &[f64], _: &[Self]) -> Self {
        value
    }
}

impl<const N: usize> Real for DualSVec64<N> {
    #[inline]
    fn value(self) -> f64 {
        self.re
    }
    fn joined(value: f64, slopes: &[f64], inputs: &[Self]) -> Self {
        let mut out = Self::from_re(value);
        let mut sum = [0.0; N];
        let mut some = false;
        for (slope, input) in slopes.iter().zip(inputs) {
            if let Some(eps) = &input.eps.0
                && *slope != 0.0
            {
                some = true;
                for (s, e) in sum.iter_mut().zip(&eps.data.0[0]) {
                    *s += slope * e;
                }
            }
        }
        if some {
            out.eps.0 = Some(SVector::from(sum));
        }
        out
    }
}

/// A part of the model with `K` inputs and `M` outputs, for [`lift`].
pub trait Part<const K: usize, const M: usize> {
    /// Its outputs at `x`.
    fn at<D: Real>(&self, x: [D; K]) -> [D; M];
}

/// Numbers as independent variables: the derivative of each in its own direction is one.
#[must_use]
pub fn seeded<const K: usize>(x: [f64; K]) -> [DualSVec64<K>; K] {
    core::array::from_fn(|k| DualSVec64::from_re(x[k]).derivative(k))
}

/// Runs a part at `x`. With dual numbers of many directions it differentiates the part in its own `K` inputs
/// and applies the chain rule, which costs `K` directions inside instead of all of them.
pub fn lift<D: Real, P: Part<K, M>, const K: usize, const M: usize>(part: &P, x: [D; K]) -> [D; M] {
    if D::NDERIV == 0 {
        return part.at(x);
    }
    part.at(seeded(x.map(Real::value))).map(|y| match y.eps.0 {
        Some(slopes) => D::joined(y.re, slopes.as_slice(), &x),
        None => D::from(y.re),
    })
}

/// `ln(1 + e^(x/s)) s`: zero for `x` far below, `x` far above, smooth over a width `s`.
pub fn soft_plus<D: Real>(x: D, s: f64) -> D {
    let z = x / s;
    if z.value() > 30.0 {
        x
    } else if z.value() < -30.0 {
        z.exp() * s
    } else {
        z.exp().ln_1p() * s
    }
}

/// `1 / (1 + e^-x)`.
pub fn logistic<D: Real>(x: D) -> D {
    if x.value() > 0.0 {
        ((-x).exp() + 1.0).recip()
    } else {
        let e = x.exp();
        e / (e + 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Product;
    impl Part<2, 1> for Product {
        fn at<D: Real>(&self, [a, b]: [D; 2]) -> [D; 1] {
            [a * b.sin()]
        }
    }

    #[test]
    fn lifting_is_the_chain_rule() {
        let u = DualSVec64::<5>::from_re(0.7).derivative(3);
        let v = DualSVec64::<5>::from_re(1.1).derivative(1);
        let (x, y) = (u * v, u + v * v);
        let [lifted] = lift(&Product, [x, y]);
        let direct = x * y.sin();
        assert_eq!(lifted.re, direct.re);
        let (a, b) = (lifted.eps.0.unwrap(), direct.eps.0.unwrap());
        assert!((a - b).norm() < 1e-14);
        assert_eq!(lift(&Product, [0.5, 0.5])[0], 0.5 * 0.5f64.sin());
    }

    #[test]
    fn soft_functions_meet_their_ends() {
        assert!((soft_plus(50.0, 1.0) - 50.0).abs() < 1e-12 && soft_plus(-50.0, 1.0) < 1e-20);
        assert!((logistic(0.0) - 0.5).abs() < 1e-15 && logistic(800.0) == 1.0 && logistic(-800.0) == 0.0);
    }
}
