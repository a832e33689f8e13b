//! Angles. [`Angle`] is signed and relative; [`Bearing`] is absolute, clockwise from true north.
//! They do not mix: the difference of two bearings is an angle, a bearing plus an angle is a bearing.

use crate::quantity::{OutOfRange, Range, Unit};
use core::f64::consts::{PI, TAU};
use core::ops::{Add, Mul, Neg, Sub};

/// One degree in radians. Exact by definition.
pub const DEGREE: f64 = PI / 180.0;

/// A signed angle, radians inside.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Angle(f64);

impl Angle {
    /// The range, declared once.
    pub const RANGE: Range = Range {
        what: "an angle",
        low: -TAU,
        high: TAU,
        units: &[Unit { names: &["deg", "°", "degrees"], factor: DEGREE, offset: 0.0 }, Unit { names: &["rad"], factor: 1.0, offset: 0.0 }],
    };
    /// From degrees, unchecked.
    #[must_use]
    pub const fn degrees(value: f64) -> Self {
        Self(value * DEGREE)
    }
    /// From radians, unchecked.
    #[must_use]
    pub const fn radians(value: f64) -> Self {
        Self(value)
    }
    /// In degrees.
    #[must_use]
    pub const fn in_degrees(self) -> f64 {
        self.0 / DEGREE
    }
    /// In radians.
    #[must_use]
    pub const fn in_radians(self) -> f64 {
        self.0
    }
    /// Reads "20 deg", "0.3 rad".
    ///
    /// # Errors
    /// When the number, the unit or the range is wrong.
    pub fn parse(text: &str) -> Result<Self, OutOfRange> {
        Self::RANGE.parse(text).map(Self)
    }
    /// Brought into (-180, 180] degrees.
    #[must_use]
    pub fn wrapped(self) -> Self {
        Self(wrap(self.0))
    }
}

/// Brings radians into (-pi, pi].
#[must_use]
pub fn wrap(radians: f64) -> f64 {
    let r = radians.rem_euclid(TAU);
    if r > PI { r - TAU } else { r }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
impl Add for Angle {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl Mul<f64> for Angle {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self(self.0 * k)
    }
}

/// A direction from true north, clockwise, in [0, 360) degrees.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bearing(f64);

impl Bearing {
    /// From degrees true; any turn is taken off.
    #[must_use]
    pub fn degrees_true(value: f64) -> Self {
        Self((value * DEGREE).rem_euclid(TAU))
    }
    /// From radians true; any turn is taken off.
    #[must_use]
    pub fn radians_true(value: f64) -> Self {
        Self(value.rem_euclid(TAU))
    }
    /// Degrees true in [0, 360).
    #[must_use]
    pub fn in_degrees(self) -> f64 {
        let d = self.0 / DEGREE;
        if d >= 360.0 { 0.0 } else { d }
    }
    /// Radians true in [0, 2 pi).
    #[must_use]
    pub const fn in_radians(self) -> f64 {
        self.0
    }
    /// The opposite direction.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self::radians_true(self.0 + PI)
    }
    /// The signed turn from `other` to `self`, clockwise positive, in (-180, 180] degrees.
    #[must_use]
    pub fn turn_from(self, other: Self) -> Angle {
        Angle(wrap(self.0 - other.0))
    }
    /// East and north components of the unit vector.
    #[must_use]
    pub fn unit(self) -> (f64, f64) {
        self.0.sin_cos()
    }
    /// The bearing of an east and north vector.
    #[must_use]
    pub fn of(east: f64, north: f64) -> Self {
        Self::radians_true(east.atan2(north))
    }
}

impl Add<Angle> for Bearing {
    type Output = Self;
    fn add(self, turn: Angle) -> Self {
        Self::radians_true(self.0 + turn.0)
    }
}

/// Circular mean of bearings and the length of the mean vector (1 when all agree, 0 when none do); `None` for no bearings.
///
/// Source: K.V. Mardia, Statistics of Directional Data (1972); checked against S4.
#[must_use]
pub fn circular_mean(bearings: &[Bearing]) -> Option<(Bearing, f64)> {
    if bearings.is_empty() {
        return None;
    }
    let n = bearings.len() as f64;
    let (e, k) = bearings.iter().fold((0.0, 0.0), |(e, k), b| (e + b.unit().0, k + b.unit().1));
    Some((Bearing::of(e, k), e.hypot(k) / n))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// S4: circular mean of 350 355 0 5 10 20 deg = 3.3167, R .985267, computed with astropy.
    #[test]
    fn circular_mean_agrees_with_a_reference_library() {
        let b: Vec<_> = [350.0, 355.0, 0.0, 5.0, 10.0, 20.0].map(Bearing::degrees_true).to_vec();
        let (mean, r) = circular_mean(&b).unwrap();
        assert!((mean.in_degrees() - 3.3167).abs() < 5e-5, "{}", mean.in_degrees());
        assert!((r - 0.985_267).abs() < 5e-7);
    }

    proptest! {
        #[test]
        fn a_turn_leads_from_one_to_the_other(a in 0.0..360.0f64, b in 0.0..360.0f64) {
            let (a, b) = (Bearing::degrees_true(a), Bearing::degrees_true(b));
            let turn = b.turn_from(a);
            prop_assert!(turn.in_degrees() > -180.0 - 1e-9 && turn.in_degrees() <= 180.0 + 1e-9);
            prop_assert!((a + turn).turn_from(b).in_degrees().abs() < 1e-9);
        }
    }
}
