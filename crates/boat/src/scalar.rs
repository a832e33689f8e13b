//! The number the kernels compute with: plain `f64`, or a dual number that carries exact derivatives beside it.
//!
//! Every force is written once, generic over [`Real`]. Solvers run it with dual numbers for Jacobians and
//! with `f64` where no derivative is wanted. [`lift`] keeps that cheap: a part with few inputs is differentiated
//! in those inputs alone and joined to the rest by the chain rule.

mod dual;

use core::fmt::Debug;
use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

pub use dual::Dual;

/// `f64` or a dual number over it.
pub trait Real:
    Copy
    + Debug
    + From<f64>
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
    + AddAssign
    + SubAssign
{
    /// Directions in which derivatives are carried.
    const DIRECTIONS: usize;
    /// The value without its derivatives.
    fn value(self) -> f64;
    /// A number of a given value whose derivatives are the slopes times those of the inputs: the chain rule in one go.
    fn joined(value: f64, slopes: &[f64], inputs: &[Self]) -> Self;
    /// The number of a value whose derivative by this one is `slope`: the chain rule of one input.
    #[must_use]
    fn through(self, value: f64, slope: f64) -> Self;

    /// One over it.
    #[must_use]
    #[inline]
    fn recip(self) -> Self {
        let over = self.value().recip();
        self.through(over, -over * over)
    }
    /// Its square root.
    #[must_use]
    #[inline]
    fn sqrt(self) -> Self {
        let root = self.value().sqrt();
        self.through(root, 0.5 / root)
    }
    /// `e` to its power.
    #[must_use]
    #[inline]
    fn exp(self) -> Self {
        let e = self.value().exp();
        self.through(e, e)
    }
    /// Its natural logarithm.
    #[must_use]
    #[inline]
    fn ln(self) -> Self {
        self.through(self.value().ln(), self.value().recip())
    }
    /// The natural logarithm of one more than it.
    #[must_use]
    #[inline]
    fn ln_1p(self) -> Self {
        self.through(self.value().ln_1p(), (self.value() + 1.0).recip())
    }
    /// Its decimal logarithm.
    #[must_use]
    #[inline]
    fn log10(self) -> Self {
        self.through(self.value().log10(), (self.value() * core::f64::consts::LN_10).recip())
    }
    /// Its cube root.
    #[must_use]
    #[inline]
    fn cbrt(self) -> Self {
        let root = self.value().cbrt();
        self.through(root, (3.0 * root * root).recip())
    }
    /// Sine and cosine.
    #[must_use]
    #[inline]
    fn sin_cos(self) -> (Self, Self) {
        let (sin, cos) = self.value().sin_cos();
        (self.through(sin, cos), self.through(cos, -sin))
    }
    /// Sine.
    #[must_use]
    #[inline]
    fn sin(self) -> Self {
        let (sin, cos) = self.value().sin_cos();
        self.through(sin, cos)
    }
    /// Cosine.
    #[must_use]
    #[inline]
    fn cos(self) -> Self {
        let (sin, cos) = self.value().sin_cos();
        self.through(cos, -sin)
    }
    /// Tangent.
    #[must_use]
    #[inline]
    fn tan(self) -> Self {
        let tan = self.value().tan();
        self.through(tan, 1.0 + tan * tan)
    }
    /// The angle of a cosine.
    #[must_use]
    #[inline]
    fn acos(self) -> Self {
        let x = self.value();
        self.through(x.acos(), -(1.0 - x * x).sqrt().recip())
    }
    /// The angle of a tangent.
    #[must_use]
    #[inline]
    fn atan(self) -> Self {
        let x = self.value();
        self.through(x.atan(), (1.0 + x * x).recip())
    }
    /// The angle of the point `(x, self)`.
    #[must_use]
    #[inline]
    fn atan2(self, x: Self) -> Self {
        let (b, a) = (self.value(), x.value());
        let over = (a * a + b * b).recip();
        Self::joined(b.atan2(a), &[a * over, -b * over], &[self, x])
    }
    /// A whole power.
    #[must_use]
    #[inline]
    fn powi(self, power: i32) -> Self {
        let x = self.value();
        self.through(x.powi(power), f64::from(power) * x.powi(power - 1))
    }
    /// A power.
    #[must_use]
    #[inline]
    fn powf(self, power: f64) -> Self {
        let x = self.value();
        self.through(x.powf(power), power * x.powf(power - 1.0))
    }
}

impl Real for f64 {
    const DIRECTIONS: usize = 0;
    #[inline]
    fn value(self) -> f64 {
        self
    }
    #[inline]
    fn joined(value: f64, _: &[f64], _: &[Self]) -> Self {
        value
    }
    #[inline]
    fn through(self, value: f64, _: f64) -> Self {
        value
    }
}

/// A part of the model with `K` inputs and `M` outputs, for [`lift`].
pub trait Part<const K: usize, const M: usize> {
    /// Its outputs at `x`.
    fn at<D: Real>(&self, x: [D; K]) -> [D; M];
}

/// Numbers as independent variables: the derivative of each in its own direction is one.
#[must_use]
pub fn seeded<const K: usize>(x: [f64; K]) -> [Dual<K>; K] {
    core::array::from_fn(|k| Dual::seed(x[k], k))
}

/// Runs a part at `x`. With dual numbers of many directions it differentiates the part in its own `K` inputs
/// and applies the chain rule, which costs `K` directions inside instead of all of them.
pub fn lift<D: Real, P: Part<K, M>, const K: usize, const M: usize>(part: &P, x: [D; K]) -> [D; M] {
    if D::DIRECTIONS == 0 {
        return part.at(x);
    }
    part.at(seeded(x.map(Real::value))).map(|y| D::joined(y.value(), y.slopes(), &x))
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
        let (u, v) = (Dual::<5>::seed(0.7, 3), Dual::<5>::seed(1.1, 1));
        let (x, y) = (u * v, u + v * v);
        let [lifted] = lift(&Product, [x, y]);
        let direct = x * y.sin();
        assert_eq!(lifted.value(), direct.value());
        assert!(lifted.slopes().iter().zip(direct.slopes()).all(|(a, b)| (a - b).abs() < 1e-14));
        assert_eq!(lift(&Product, [0.5, 0.5])[0], 0.5 * 0.5f64.sin());
    }

    #[test]
    fn soft_functions_meet_their_ends() {
        assert!((soft_plus(50.0, 1.0) - 50.0).abs() < 1e-12 && soft_plus(-50.0, 1.0) < 1e-20);
        assert!((logistic(0.0) - 0.5).abs() < 1e-15 && logistic(800.0) == 1.0 && logistic(-800.0) == 0.0);
    }
}
