//! What must hold of any hull afloat, for any input.

use boat::constants::Constants;
use boat::hull::judge::wigley;
use boat::hull::{Afloat, HullForm};
use boat::scalar::Dual;
use proptest::prelude::*;

/// A rough pram: flat V sections that rise fore and aft.
fn hull() -> HullForm {
    HullForm::from_offsets((0.0, 2.45), 28, Constants::standard(), |x| {
        let u = (x - 1.1) / 1.25;
        let (half, keel) = (0.5 - 0.12 * u * u, 0.13 * u * u);
        vec![[0.0, keel], [half, keel + 0.05], [half + 0.06, 0.42]]
    })
}

fn values<D: Copy>(a: &Afloat<D>) -> [D; 16] {
    let [x, y, z] = a.centre;
    [
        a.volume,
        x,
        y,
        z,
        a.wetted_area,
        a.length,
        a.waterplane_area,
        a.waterplane_second,
        a.transom_area,
        a.transom_push,
        a.transom_depth,
        a.bow_depth,
        a.side_area,
        a.side_centre,
        a.draught_square,
        a.draught_square_bend,
    ]
}

/// Shares of a millimetre either way: rounding below, curvature of the wet edge above.
const STEP: f64 = 2e-6;

proptest! {
    #[test]
    fn slopes_are_those_of_a_small_step(heel in -0.5..0.5f64, sinkage in 0.06..0.2f64, trim in -0.04..0.04f64) {
        let h = hull();
        let x = [heel, sinkage, trim];
        let [a, b, c] = core::array::from_fn(|k| Dual::<3>::seed(x[k], k));
        let exact = values(&h.afloat(a, b, c));
        for k in 0..3 {
            let at = |s: f64| {
                let mut x = x;
                x[k] += s;
                values(&h.afloat(x[0], x[1], x[2]))
            };
            // Where a corner of the lines meets the water a slope jumps: the exact one lies between those of either side.
            let (low, middle, high) = (at(-STEP), at(0.0), at(STEP));
            for i in 0..16 {
                let slope = exact[i].slopes()[k];
                let (before, after) = ((middle[i] - low[i]) / STEP, (high[i] - middle[i]) / STEP);
                let tolerance = 1e-3 * (1.0 + slope.abs());
                let inside = before.min(after) - tolerance <= slope && slope <= before.max(after) + tolerance;
                prop_assert!(inside, "output {i}, input {k}: {slope} between {before} and {after}");
            }
        }
    }

    #[test]
    fn heeled_the_other_way_she_is_her_mirror_image(heel in 0.0..1.2f64, sinkage in 0.02..0.3f64, trim in -0.1..0.1f64) {
        let (a, b) = (values(&hull().afloat(heel, sinkage, trim)), values(&hull().afloat(-heel, sinkage, trim)));
        for i in 0..16 {
            // Centre to leeward and the bend of the centres change sign, nothing else does.
            let sign = if i == 2 || i == 15 { -1.0 } else { 1.0 };
            prop_assert!((a[i] - sign * b[i]).abs() < 1e-9, "{i}: {} {}", a[i], b[i]);
        }
    }

    #[test]
    fn she_floats_in_balance(mass in 60.0..160.0f64, x in 0.9..1.35f64, z in 0.2..0.6f64, heel in -1.0..1.0f64) {
        let water = measure::fluid::Fluid { density: 1025.0, viscosity: 1.19e-6 };
        let f = hull().float(mass, [x, 0.0, z], heel, water);
        prop_assert!(f.is_some());
        let f = f.unwrap();
        prop_assert!((f.afloat.volume * 1025.0 / mass - 1.0).abs() < 1e-9);
        prop_assert!((f.afloat.centre[0] - x).abs() < 1e-9);
    }

    #[test]
    fn no_input_makes_it_less_than_a_number(heel in -9.0..9.0f64, sinkage in -9.0..9.0f64, trim in -9.0..9.0f64) {
        for h in [hull(), wigley([2.4, 1.2, 0.15, 0.35], [12, 20])] {
            let a = h.afloat(heel, sinkage, trim);
            prop_assert!(values(&a).iter().all(|v| v.is_finite()), "{a:?}");
            prop_assert!(a.volume >= -1e-9 && a.wetted_area >= 0.0);
        }
    }
}
