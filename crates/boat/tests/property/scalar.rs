//! Our dual numbers against a library's (num-dual, by others): every operation, in few directions and in many.

use boat::scalar::{Dual, Real};
use num_dual::{DualNum, DualSVec64};
use proptest::prelude::*;

/// Many directions, most of which most numbers know nothing of.
const MANY: usize = 40;

/// Ours and theirs of the same number.
type Pair<const N: usize> = (Dual<N>, DualSVec64<N>);

fn seed<const N: usize>(x: f64, k: usize) -> Pair<N> {
    (Dual::seed(x, k), DualSVec64::from_re(x).derivative(k))
}

/// Whether values and derivatives agree to rounding.
fn same<const N: usize>(what: &str, (ours, theirs): &Pair<N>) -> Result<(), TestCaseError> {
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-12 * (1.0 + b.abs());
    let slopes = theirs.eps.unwrap_generic(nalgebra::Const::<N>, nalgebra::U1);
    let agree = close(ours.value(), theirs.re) && ours.slopes().iter().zip(&slopes).all(|(a, b)| close(*a, *b));
    prop_assert!(agree, "{what}: {ours:?} {theirs:?}");
    Ok(())
}

/// Every operation on numbers that depend on three directions, one of them on a constant.
fn all<const N: usize>(x: f64, y: f64, z: f64, at: [usize; 3]) -> Result<(), TestCaseError> {
    let [a, b, c] = [seed::<N>(x, at[0]), seed::<N>(y, at[1]), seed::<N>(z, at[2])];
    let still: Pair<N> = (Dual::constant(0.7), DualSVec64::from_re(0.7));
    let mixed = ((a.0 * b.0 - c.0) / (b.0 + 2.0) + still.0, (a.1 * b.1 - c.1) / (b.1 + 2.0) + still.1);
    same("mixed", &mixed)?;
    same("numbers", &((-(mixed.0 * 3.0 - 0.5) / 1.7 + 0.2), (-(mixed.1 * 3.0 - 0.5) / 1.7 + 0.2)))?;
    let mut summed = (c.0, c.1);
    summed.0 += mixed.0;
    summed.1 += mixed.1;
    summed.0 -= a.0;
    summed.1 -= a.1;
    same("summed", &summed)?;
    // Above zero, and between -1 and 1.
    let up = (mixed.0 * mixed.0 + 0.1, mixed.1 * mixed.1 + 0.1);
    let small = (mixed.0 / (up.0 + 1.0).sqrt(), mixed.1 / (up.1 + 1.0).sqrt());
    for (what, ours, theirs) in [
        ("recip", up.0.recip(), up.1.recip()),
        ("sqrt", up.0.sqrt(), up.1.sqrt()),
        ("cbrt", up.0.cbrt(), up.1.cbrt()),
        ("exp", small.0.exp(), small.1.exp()),
        ("ln", up.0.ln(), up.1.ln()),
        ("ln_1p", up.0.ln_1p(), up.1.ln_1p()),
        ("log10", up.0.log10(), up.1.log10()),
        ("sin", mixed.0.sin(), mixed.1.sin()),
        ("cos", mixed.0.cos(), mixed.1.cos()),
        ("sin_cos", mixed.0.sin_cos().0 * mixed.0.sin_cos().1, mixed.1.sin_cos().0 * mixed.1.sin_cos().1),
        ("tan", small.0.tan(), small.1.tan()),
        ("acos", small.0.acos(), small.1.acos()),
        ("atan", mixed.0.atan(), mixed.1.atan()),
        ("atan2", mixed.0.atan2(c.0 + 3.0), mixed.1.atan2(c.1 + 3.0)),
        ("powi", mixed.0.powi(8), mixed.1.powi(8)),
        ("powf", up.0.powf(-0.2), up.1.powf(-0.2)),
    ] {
        same(what, &(ours, theirs))?;
    }
    Ok(())
}

proptest! {
    #[test]
    fn our_dual_numbers_are_those_of_others(x in -1.5..1.5f64, y in -1.5..1.5f64, z in -1.5..1.5f64, at in proptest::array::uniform3(0..MANY)) {
        all::<MANY>(x, y, z, at)?;
        all::<5>(x, y, z, at.map(|k| k % 5))?;
    }

    #[test]
    fn a_join_is_the_chain_rule(x in -1.5..1.5f64, y in -1.5..1.5f64, at in proptest::array::uniform2(0..MANY)) {
        let (a, b) = (seed::<MANY>(x, at[0]), seed::<MANY>(y, at[1]));
        let (u, v) = ((a.0 * b.0, a.1 * b.1), (a.0 + b.0, a.1 + b.1));
        same("joined", &(Dual::joined(1.0, &[0.3, -2.0], &[u.0, v.0]), u.1 * 0.3 - v.1 * 2.0 + (1.0 - 0.3 * u.1.re + 2.0 * v.1.re)))?;
    }
}
