//! What must hold of board and rudder.

use boat::constants::Constants;
use boat::foil::{FoilAnswer, Motion, board, rudder};
use boat::load::{Attitude, Load};
use boat::scalar::{Dual, Real};
use measure::fluid::Fluid;
use proptest::prelude::*;

const SEA: Fluid = Fluid { density: 1026.021, viscosity: 1.1892e-6 };
const PIVOT: f64 = 1.225;

/// Inputs in a row: heel, sinkage, trim, speed, leeway, board, rudder, roll rate, yaw rate.
fn both<D: Real>(x: [D; 9], water: Fluid, y: f64) -> [FoilAnswer<D>; 2] {
    let class = super::pram::pram();
    let c = Constants::standard();
    let [heel, sinkage, trim, speed, leeway, angle, tiller, roll_rate, yaw_rate] = x;
    let motion = Motion { attitude: Attitude::new(heel, sinkage, trim, PIVOT), speed, leeway, roll_rate, yaw_rate };
    let b = board(&class.board, c, water, &motion, angle, y);
    let r = rudder(&class.rudder, c, water, &motion, tiller, &b);
    [b, r]
}

fn parts<D: Copy>(a: &FoilAnswer<D>) -> [D; 12] {
    let Load { force: [x, y, z], heeling, luffing, bow_down } = a.load;
    [x, y, z, heeling, luffing, bow_down, a.lift, a.drag, a.immersed, a.wash, a.hinge, a.stalled]
}

#[test]
fn signs_are_those_a_sailor_feels() {
    let [b, r] = both([0.0, 0.1, 0.0, 1.5, 0.08, 0.0, 0.0, 0.0, 0.0], SEA, 0.5);
    // Making leeway, both push to windward and hold back; below the water that heels to leeward.
    assert!(b.load.force[1] < -20.0 && r.load.force[1] < 0.0 && b.load.force[0] < 0.0);
    assert!(b.load.heeling > 0.0);
    // The tiller pulls to leeward (weather helm) and the rudder bears her away.
    assert!(r.tiller_load(Constants::standard()) > 0.0 && r.load.luffing < 0.0);
    // Held to windward it does so harder, held to leeward it luffs her.
    let held = |angle: f64| both([0.0, 0.1, 0.0, 1.5, 0.0, 0.0, angle, 0.0, 0.0], SEA, 0.5)[1].load.luffing;
    assert!(held(0.2) < -1.0 && held(-0.2) > 1.0);
    // Board tip forward carries the push forward: she luffs more.
    let tip = |angle: f64| both([0.0, 0.1, 0.0, 1.5, 0.08, angle, 0.0, 0.0, 0.0], SEA, 0.5)[0].load;
    let centre = |l: Load<f64>| (l.luffing - 0.5 * l.force[0]) / -l.force[1];
    assert!(centre(tip(0.2)) > centre(tip(0.0)) && centre(tip(0.0)) > centre(tip(-0.4)));
}

#[test]
fn a_raised_board_has_nothing_in_the_water() {
    let [b, _] = both([0.0, 0.1, 0.0, 1.5, 0.1, -1.48, 0.0, 0.0, 0.0], SEA, 0.5);
    assert!(b.immersed < 2e-3 && b.load.force[1].abs() < 0.1 && b.load.force[0].abs() < 0.05, "{b:?}");
    // Raising it takes drag off all the way.
    let drag = |angle: f64| -both([0.0, 0.1, 0.0, 1.5, 0.0, angle, 0.0, 0.0, 0.0], SEA, 0.5)[0].load.force[0];
    let row: Vec<f64> = (0..8).map(|k| drag(-0.2 * f64::from(k))).collect();
    assert!(row.windows(2).all(|w| w[1] < w[0]), "{row:?}");
}

#[test]
fn the_windward_side_is_the_worse_one_when_heeled() {
    let at = |y: f64| both([0.1, 0.1, 0.0, 1.5, 0.08, 0.0, 0.0, 0.0, 0.0], SEA, y)[0];
    assert!(at(0.5).immersed > at(-0.5).immersed + 0.05);
    assert!(at(0.5).load.force[1] < at(-0.5).load.force[1]);
}

#[test]
fn rolling_and_turning_are_resisted() {
    let at = |roll: f64, yaw: f64| both([0.0, 0.1, 0.0, 2.0, 0.0, 0.0, 0.0, roll, yaw], SEA, 0.5);
    let [b, r] = at(0.3, 0.0);
    let [b0, r0] = at(0.0, 0.0);
    assert!(b.load.heeling < b0.load.heeling && r.load.heeling < r0.load.heeling);
    let [_, r1] = at(0.0, 0.3);
    assert!(r1.load.luffing - PIVOT * -r1.load.force[1] < r0.load.luffing);
}

fn moving() -> impl Strategy<Value = [f64; 9]> {
    (-0.4..0.4f64, 0.06..0.16f64, -0.05..0.05f64, 0.2..3.0f64, -0.3..0.3f64, -1.4..0.35f64, -0.6..0.6f64, -0.5..0.5f64, -0.5..0.5f64)
        .prop_map(|(a, b, c, d, e, f, g, h, i)| [a, b, c, d, e, f, g, h, i])
}

/// Central step, and what curvature and rounding leave of it.
const STEP: f64 = 1e-6;

proptest! {
    #[test]
    fn slopes_are_those_of_a_small_step(x in moving()) {
        let exact = both(core::array::from_fn(|k| Dual::<9>::seed(x[k], k)), SEA, 0.5).map(|a| parts(&a));
        for k in 0..9 {
            let at = |s: f64| {
                let mut x = x;
                x[k] += s;
                both(x, SEA, 0.5).map(|a| parts(&a))
            };
            let (low, high) = (at(-STEP), at(STEP));
            for f in 0..2 {
                for i in 0..12 {
                    let slope = exact[f][i].slopes()[k];
                    let step = (high[f][i] - low[f][i]) / (2.0 * STEP);
                    prop_assert!((slope - step).abs() < 1e-3 * (1.0 + slope.abs()), "blade {f}, output {i}, input {k}: {slope} {step}");
                }
            }
        }
    }

    #[test]
    fn on_the_other_tack_everything_is_mirrored(x in moving()) {
        let mut m = x;
        for k in [0, 4, 6, 7, 8] {
            m[k] = -m[k];
        }
        let (a, b) = (both(x, SEA, 0.5).map(|a| parts(&a)), both(m, SEA, -0.5).map(|a| parts(&a)));
        for f in 0..2 {
            for i in 0..12 {
                // Side force, heeling, luffing, lift, wash and hinge change sign.
                let sign = if [1, 3, 4, 6, 9, 10].contains(&i) { -1.0 } else { 1.0 };
                prop_assert!((a[f][i] - sign * b[f][i]).abs() < 1e-8 * (1.0 + a[f][i].abs()), "{f} {i}");
            }
        }
    }

    #[test]
    fn forces_grow_as_density(x in moving(), k in 0.5..2.0f64) {
        let thick = Fluid { density: k * SEA.density, ..SEA };
        for (a, b) in both(x, SEA, 0.5).iter().zip(both(x, thick, 0.5)) {
            for i in 0..3 {
                prop_assert!((k * a.load.force[i] - b.load.force[i]).abs() < 1e-9 * (1.0 + b.load.force[i].abs()));
            }
        }
    }

    #[test]
    fn water_only_takes_energy_away(x in moving()) {
        // Without turning, the force along the way through the water is never a push. The rudder in the board's wash is left out.
        let mut x = x;
        x[7] = 0.0;
        x[8] = 0.0;
        let [b, _] = both(x, SEA, 0.5);
        let (s, c) = x[4].sin_cos();
        prop_assert!(b.load.force[0] * c + b.load.force[1] * s <= 1e-9);
    }

    #[test]
    fn at_rest_there_is_no_force(x in moving()) {
        let mut x = x;
        for k in [3, 7, 8] {
            x[k] = 0.0;
        }
        for a in both(x, SEA, 0.5) {
            prop_assert!(a.load.force.iter().all(|f| *f == 0.0));
            prop_assert!(parts(&a).iter().all(|v| v.is_finite()));
        }
    }

    #[test]
    fn no_input_makes_it_less_than_a_number(x in proptest::array::uniform9(-50.0..50.0f64)) {
        for a in both(x, SEA, 0.5) {
            prop_assert!(parts(&a).iter().all(|v| v.is_finite()), "{a:?}");
        }
        let dual: [Dual<9>; 9] = core::array::from_fn(|k| Dual::seed(x[k], k));
        for a in both(dual, SEA, 0.5) {
            prop_assert!(parts(&a).iter().all(|v| v.value().is_finite() && v.slopes().iter().all(|s| s.is_finite())));
        }
    }
}
