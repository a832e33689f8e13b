//! A dual number: a value and its derivatives in `N` directions.
//!
//! Of many directions most numbers of a boat know few: her speed five, a strip's twist one. So a number of many directions keeps from
//! where to where its derivatives may differ from none, and what is done with it touches no more. Few directions are done all at once.

use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use super::Real;

/// A value with its derivatives in `N` directions.
#[derive(Debug, Clone, Copy)]
pub struct Dual<const N: usize> {
    re: f64,
    /// First direction, and one past the last, in which a derivative may differ from none; all of few.
    from: usize,
    to: usize,
    eps: [f64; N],
}

/// So few directions are done all at once.
const FEW: usize = 12;

impl<const N: usize> Dual<N> {
    /// A number that depends on nothing.
    #[must_use]
    #[inline]
    pub const fn constant(re: f64) -> Self {
        Self { re, from: 0, to: if N <= FEW { N } else { 0 }, eps: [0.0; N] }
    }

    /// The independent variable of one direction, counted from 0; of a direction there is not, a constant.
    #[must_use]
    #[inline]
    pub const fn seed(re: f64, direction: usize) -> Self {
        let mut seed = Self::constant(re);
        if direction < N {
            seed.eps[direction] = 1.0;
            if N > FEW {
                (seed.from, seed.to) = (direction, direction + 1);
            }
        }
        seed
    }

    /// Its derivatives in every direction.
    #[must_use]
    #[inline]
    pub const fn slopes(&self) -> &[f64; N] {
        &self.eps
    }

    /// From where to where two numbers' derivatives may differ from none.
    #[inline]
    const fn both(&self, other: &Self) -> (usize, usize) {
        if N <= FEW {
            (0, N)
        } else if other.from == other.to {
            (self.from, self.to)
        } else if self.from == self.to {
            (other.from, other.to)
        } else {
            (if self.from < other.from { self.from } else { other.from }, if self.to > other.to { self.to } else { other.to })
        }
    }

    /// A number of a value whose derivatives are `a` times those of one and `b` times those of another.
    #[inline]
    fn of_two(re: f64, one: &Self, a: f64, other: &Self, b: f64) -> Self {
        let (from, to) = one.both(other);
        let mut eps = [0.0; N];
        for ((e, x), y) in eps[from..to].iter_mut().zip(&one.eps[from..to]).zip(&other.eps[from..to]) {
            *e = a * x + b * y;
        }
        Self { re, from, to, eps }
    }

    /// Adds `share` times another's derivatives.
    #[inline]
    fn take(&mut self, other: &Self, share: f64) {
        if N > FEW {
            (self.from, self.to) = self.both(other);
            // A seed, most often.
            if other.to == other.from + 1 && other.from < N {
                self.eps[other.from] += share * other.eps[other.from];
                return;
            }
        }
        let (from, to) = if N <= FEW { (0, N) } else { (other.from, other.to) };
        for (e, x) in self.eps[from..to].iter_mut().zip(&other.eps[from..to]) {
            *e += share * x;
        }
    }
}

impl<const N: usize> Real for Dual<N> {
    const DIRECTIONS: usize = N;

    #[inline]
    fn value(self) -> f64 {
        self.re
    }

    #[inline]
    fn joined(value: f64, slopes: &[f64], inputs: &[Self]) -> Self {
        let mut out = Self::constant(value);
        for (slope, input) in slopes.iter().zip(inputs) {
            if *slope != 0.0 {
                out.take(input, *slope);
            }
        }
        out
    }

    #[inline]
    fn through(mut self, value: f64, slope: f64) -> Self {
        self.re = value;
        let (from, to) = if N <= FEW { (0, N) } else { (self.from, self.to) };
        for e in &mut self.eps[from..to] {
            *e *= slope;
        }
        self
    }
}

impl<const N: usize> From<f64> for Dual<N> {
    #[inline]
    fn from(re: f64) -> Self {
        Self::constant(re)
    }
}

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.through(-self.re, -1.0)
    }
}

impl<const N: usize> Add for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl<const N: usize> Sub for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(mut self, other: Self) -> Self {
        self -= other;
        self
    }
}

impl<const N: usize> Mul for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, other: Self) -> Self {
        Self::of_two(self.re * other.re, &self, other.re, &other, self.re)
    }
}

impl<const N: usize> Div for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, other: Self) -> Self {
        let (over, value) = (other.re.recip(), self.re / other.re);
        Self::of_two(value, &self, over, &other, -value * over)
    }
}

impl<const N: usize> AddAssign for Dual<N> {
    #[inline]
    fn add_assign(&mut self, other: Self) {
        self.re += other.re;
        self.take(&other, 1.0);
    }
}

impl<const N: usize> SubAssign for Dual<N> {
    #[inline]
    fn sub_assign(&mut self, other: Self) {
        self.re -= other.re;
        self.take(&other, -1.0);
    }
}

impl<const N: usize> Add<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(mut self, other: f64) -> Self {
        self.re += other;
        self
    }
}

impl<const N: usize> Sub<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(mut self, other: f64) -> Self {
        self.re -= other;
        self
    }
}

impl<const N: usize> Mul<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, other: f64) -> Self {
        self.through(self.re * other, other)
    }
}

impl<const N: usize> Div<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, other: f64) -> Self {
        self.through(self.re / other, other.recip())
    }
}
