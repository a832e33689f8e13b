//! What must hold of resistance, side force and turning of the hull, for any input.

use boat::class::{Class, Towed};
use boat::constants::Constants;
use boat::hull::{Drag, HullForm, Resistance, Underway, resistance};
use boat::scalar::{Dual, Real};
use measure::fluid::Fluid;
use proptest::prelude::*;
use std::sync::LazyLock;

const SEA: Fluid = Fluid { density: 1026.021, viscosity: 1.1892e-6 };

static PRAM: LazyLock<(Class, HullForm)> = LazyLock::new(|| {
    let class = Class::pram();
    let form = HullForm::of(&class, Constants::standard());
    (class, form)
});

fn c() -> &'static Constants {
    Constants::standard()
}

/// Inputs in a row: heel, sinkage, trim, speed, leeway, mass, wind angle.
fn drag<D: Real>(x: [D; 7], chop: f64, water: Fluid) -> Drag<D> {
    let (class, form) = &*PRAM;
    let [heel, sinkage, trim, speed, leeway, mass, twa_to_track] = x;
    let afloat = form.afloat(heel, sinkage, trim);
    Resistance::of(class, form, c(), water).drag(c(), water, &afloat, &Underway { speed, leeway, heel, mass, twa_to_track, chop })
}

fn parts<D: Copy>(d: &Drag<D>) -> [D; 7] {
    [d.friction, d.residuary, d.transom, d.bow, d.chop, d.leeway_factor, d.total]
}

fn moving() -> impl Strategy<Value = [f64; 7]> {
    (-0.4..0.4f64, 0.08..0.14f64, -0.04..0.04f64, 0.1..3.5f64, -0.3..0.3f64, 70.0..140.0f64, -3.0..3.0f64)
        .prop_map(|(a, b, c, d, e, f, g)| [a, b, c, d, e, f, g])
}

const STEP: f64 = 1e-6;

proptest! {
    #[test]
    fn slopes_are_those_of_a_small_step(x in moving()) {
        let exact = parts(&drag(core::array::from_fn(|k| Dual::<7>::seed(x[k], k)), 0.1, SEA));
        for k in 0..7 {
            let at = |s: f64| {
                let mut x = x;
                x[k] += s;
                parts(&drag(x, 0.1, SEA))
            };
            let (low, mid, high) = (at(-STEP), at(0.0), at(STEP));
            for i in 0..7 {
                let slope = exact[i].slopes()[k];
                let step = (high[i] - low[i]) / (2.0 * STEP);
                // The residuary curve's second derivative jumps at its points: the slope lies between both sides'.
                let bend = (high[i] - 2.0 * mid[i] + low[i]).abs() / STEP;
                prop_assert!((slope - step).abs() < 1e-3 * (1.0 + slope.abs()) + bend, "output {i}, input {k}: {slope} {step}");
            }
        }
    }

    #[test]
    fn drag_grows_as_density(x in moving(), k in 0.5..2.0f64) {
        // The same hull at the same place in a denser fluid, with the mass that it then carries.
        let mut heavy = x;
        heavy[5] *= k;
        let (a, b) = (parts(&drag(x, 0.1, SEA)), parts(&drag(heavy, 0.1, Fluid { density: k * SEA.density, ..SEA })));
        for i in [0, 1, 2, 3, 4, 6] {
            prop_assert!((k * a[i] - b[i]).abs() < 1e-6 * (1.0 + b[i].abs()), "{i}");
        }
    }

    #[test]
    fn mirrored_heel_and_leeway_cost_the_same(x in moving()) {
        let mut m = x;
        for k in [0, 4, 6] {
            m[k] = -m[k];
        }
        for (a, b) in parts(&drag(x, 0.1, SEA)).iter().zip(parts(&drag(m, 0.1, SEA))) {
            prop_assert!((a - b).abs() < 1e-8 * (1.0 + a.abs()));
        }
        let sway = |x: [f64; 7]| {
            let a = PRAM.1.afloat(x[0], x[1], x[2]);
            resistance::sway(c(), SEA, &a, x[3], x[4])
        };
        let (a, b) = (sway(x), sway(m));
        prop_assert!((a.force[1] + b.force[1]).abs() < 1e-9 && (a.luffing + b.luffing).abs() < 1e-8);
    }

    #[test]
    fn at_rest_on_flat_water_nothing_holds_her(x in moving()) {
        let mut x = x;
        x[3] = 0.0;
        prop_assert!(parts(&drag(x, 0.0, SEA))[..5].iter().all(|d| *d == 0.0));
    }

    #[test]
    fn faster_is_never_less(x in moving()) {
        let mut y = x;
        y[3] += 0.01;
        prop_assert!(drag(y, 0.0, SEA).total > drag(x, 0.0, SEA).total);
        // And astern she is held back as much as ahead.
        let mut z = x;
        z[3] = -z[3];
        prop_assert!((drag(z, 0.0, SEA).total + drag(x, 0.0, SEA).total).abs() < 1e-9);
    }

    #[test]
    fn no_input_makes_it_less_than_a_number(x in proptest::array::uniform7(-20.0..20.0f64), chop in 0.0..1.0f64) {
        let dual: [Dual<7>; 7] = core::array::from_fn(|k| Dual::seed(x[k], k));
        let fine = |v: &Dual<7>| v.value().is_finite() && v.slopes().iter().all(|s| s.is_finite());
        prop_assert!(parts(&drag(dual, chop, SEA)).iter().all(fine), "{:?}", drag(x, chop, SEA));
        let a = PRAM.1.afloat(dual[0], dual[1], dual[2]);
        let loads = [resistance::sway(c(), SEA, &a, dual[3], dual[4]), resistance::dynamic_trim(c(), SEA, &a, dual[3])];
        prop_assert!(loads.iter().all(|l| fine(&l.force[1]) && fine(&l.luffing) && fine(&l.bow_down)));
        let air = measure::fluid::air(measure::Temperature::celsius(15.0));
        let w = resistance::windage(c(), air, [dual[3], dual[4]], dual[0], 45.0);
        prop_assert!(w.force.iter().all(fine));
    }
}

#[test]
fn signs_are_those_a_sailor_feels() {
    let form = &PRAM.1;
    let level = form.afloat(0.0, 0.11, 0.0);
    // Leeway: the hull resists it, and the bow wants further up.
    let s = resistance::sway(c(), SEA, &level, 1.5, 0.08);
    assert!(s.force[1] < 0.0 && s.luffing + level.side_centre * s.force[1] > 0.0);
    // Heeled to leeward she luffs, heeled to windward she bears away.
    let helm = |heel: f64| resistance::sway(c(), SEA, &form.afloat(heel, 0.10, 0.0), 1.5, 0.0).luffing;
    assert!(helm(0.2) > 0.1 && helm(-0.2) < -0.1, "{} {}", helm(0.2), helm(-0.2));
    // Speed lifts the bow, faster more.
    let trim = |speed: f64| resistance::dynamic_trim(c(), SEA, &level, speed).bow_down;
    assert!(trim(1.0) < 0.0 && trim(2.5) < trim(1.0));
    // A headwind pushes back, wind from windward pushes to leeward and heels.
    let air = measure::fluid::air(measure::Temperature::celsius(15.0));
    let w = resistance::windage(c(), air, [-5.0, 3.0], 1.1, 45.0);
    assert!(w.force[0] < 0.0 && w.force[1] > 0.0 && w.heeling > 0.0);
    // Chop ahead costs, from astern next to nothing.
    let chop = |twa: f64| drag([0.0, 0.11, 0.0, 1.0, 0.0, 97.0, twa], 0.12, SEA).chop;
    assert!(chop(0.7) > 0.3 && chop(2.6) < 0.01 * chop(0.7));
}

#[test]
fn a_tow_is_given_back_and_carried_over() {
    let (class, form) = &*PRAM;
    let mut towed = class.clone();
    let (speed, force) = (vec![0.5, 1.0, 1.5, 2.0], vec![1.9, 7.5, 23.0, 75.0]);
    towed.hull.towed = Some(Towed { mass: 45.0, speed: speed.clone(), drag: force.clone() });
    let r = Resistance::of(&towed, form, c(), SEA);
    let plain = Resistance::of(class, form, c(), SEA);
    let at = |r: &Resistance, mass: f64, speed: f64| {
        let a = form.level(mass, SEA).unwrap();
        r.drag(c(), SEA, &a, &Underway::straight(speed, mass)).total
    };
    for (s, f) in speed.iter().zip(&force) {
        assert!((at(&r, 97.0, *s) / f - 1.0).abs() < 1e-9);
        // Another mass: the model's ratio.
        let ratio = at(&plain, 110.0, *s) / at(&plain, 97.0, *s);
        assert!((at(&r, 110.0, *s) / (f * ratio) - 1.0).abs() < 1e-9 && ratio > 1.0);
    }
    assert!(at(&r, 97.0, 0.05) > 0.0 && at(&r, 97.0, 5.0) > 75.0);
}

/// Share by which finer lines may move a figure: a tenth of what a weigh-in can tell.
const SECTIONS_TOLERANCE: f64 = 3e-4;

#[test]
fn finer_lines_are_the_same_boat() {
    let (class, form) = &*PRAM;
    // The same lines cut finely, from the same stations.
    let fine = HullForm::from_class(class, c(), 160);
    for heel in [0.0, 0.17, 0.5] {
        for trim in [-0.02, 0.0, 0.02] {
            let (a, b) = (form.afloat(heel, 0.105, trim), fine.afloat(heel, 0.105, trim));
            assert!((a.volume / b.volume - 1.0).abs() < SECTIONS_TOLERANCE, "{heel} {trim}: {} {}", a.volume, b.volume);
            assert!((a.centre[0] - b.centre[0]).abs() < 1e-3 && (a.centre[1] - b.centre[1]).abs() < 1e-4);
            assert!((a.length / b.length - 1.0).abs() < 1e-3 && (a.wetted_area / b.wetted_area - 1.0).abs() < 5e-3);
        }
    }
}
