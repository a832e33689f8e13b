//! What must hold for the sail whatever its settings. No mirror test: y is to leeward by definition, so both tacks share one sail.

use crate::pram::pram;
use boat::Constants;
use boat::load::Attitude;
use boat::sail::section::{Polar, Shape, polar};
use boat::sail::{Batten, Guard, Looks, Luff, Rig, SailAnswer, SailInput, SailSolution, SailState, UNKNOWNS, sail, solve_sail};
use boat::scalar::{Real, seeded};
use core::f64::consts::{PI, TAU};
use measure::angle::DEGREE;
use measure::fluid::Fluid;
use measure::wind::WindProfile;
use measure::{Length, Outcome, Speed, Temperature, WindLaw, fluid};
use proptest::prelude::*;

fn air() -> Fluid {
    fluid::air(Temperature::celsius(15.0))
}

fn rig() -> Rig {
    let class = pram();
    Rig::new(&class, &class.sails[0], Constants::standard())
}

fn wind(tws: f64) -> WindProfile {
    WindLaw::Open.profile(Speed::metres_per_second(tws), Length::metres(2.0))
}

/// How many inputs are numbers that may carry a derivative.
const INPUTS: usize = 12;

/// An input from a row: heel, sinkage, trim, speed, leeway, twa, roll rate, rake, boom, car, gap, vang, luff tension.
fn input<D: Real>(wind: WindProfile, x: &[D; INPUTS + 1]) -> SailInput<D> {
    SailInput {
        attitude: Attitude::new(x[0], x[1], x[2], 1.2),
        speed: x[3],
        leeway: x[4],
        twa_to_track: x[5],
        wind,
        roll_rate: x[6],
        rake: x[7],
        boom: x[8],
        car: x[9],
        gap: x[10],
        vang_tension: x[11],
        luff_tension: x[12],
        sprit: D::from(0.0),
    }
}

fn usual(tws: f64, twa: f64, boom: f64) -> SailInput<f64> {
    let speed = 0.28 * tws.powf(0.8);
    input(wind(tws), &[0.03, 0.10, 0.0, speed, 0.06, twa * DEGREE, 0.0, 0.03, boom * DEGREE, 0.05, 0.10, 100.0, 76.0])
}

#[expect(clippy::panic, reason = "a test says which status it met")]
fn solved(rig: &Rig, input: &SailInput<f64>, start: Option<&SailState<f64>>) -> SailSolution {
    match solve_sail(rig, Constants::standard(), air(), input, start) {
        Outcome::Solved(s) => s,
        Outcome::Status(s) => panic!("{s:?}"),
    }
}

prop_compose! {
    fn any_input()(
        tws in 0.0..14.0f64, sheltered in any::<bool>(),
        heel in -0.25..0.35f64, sinkage in 0.06..0.14f64, trim in -0.05..0.05f64,
        share in 0.0..0.5f64, leeway in -0.05..0.15f64, twa in 20.0..200.0f64, roll in -0.3..0.3f64,
        rake in -0.05..0.12f64, boom in 0.0..90.0f64,
    )(
        car in 0.0..0.42f64, gap in 0.0..0.3f64, vang in 0.0..400.0f64, luff in 6.0..250.0f64,
        tws in Just(tws), sheltered in Just(sheltered), x in Just([heel, sinkage, trim, share * tws, leeway, twa * DEGREE, roll, rake, boom * DEGREE]),
    ) -> SailInput<f64> {
        let law = if sheltered { WindLaw::Sheltered } else { WindLaw::Open };
        let profile = law.profile(Speed::metres_per_second(tws), Length::metres(2.0));
        input(profile, &[x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8], car, gap, vang, luff])
    }
}

fn numbers(a: &SailAnswer<f64>) -> Vec<f64> {
    let mut all = a.residuals().to_vec();
    all.extend(a.load.force);
    all.extend([a.load.heeling, a.load.luffing, a.load.bow_down, a.hinge, a.sheet_force, a.sheet_line, a.wrinkle, a.mast_bow, a.bend_rake]);
    all
}

proptest! {
    #[test]
    fn finite_for_any_guess(i in any_input(), row in prop::array::uniform31(-1.0..1.0f64), wild in 0.1..100.0f64) {
        let state = SailState::from_row(&core::array::from_fn(|k| if k == UNKNOWNS - 1 { 300.0 * row[k] } else { wild.sqrt() * row[k] }));
        let answer = sail(&rig(), Constants::standard(), air(), &i, &state, Guard::Off);
        prop_assert!(numbers(&answer).iter().all(|v| v.is_finite()), "{:?}", numbers(&answer));
        prop_assert!(answer.sheet_force >= 0.0);
    }
}

#[test]
fn no_wind_no_force() {
    let rig = rig();
    let s = solved(&rig, &SailInput { speed: 0.0, ..usual(0.0, 60.0, 15.0) }, None);
    let most = s.answer.load.force.into_iter().map(f64::abs).fold(0.0, f64::max);
    // Still air keeps a speed of 1 mm/s: micronewtons.
    assert!(most < 1e-4, "{most}");
}

/// Only the wind's pressure loads a sail: air k times as dense, with everything slower by the root of k, gives the same shape and
/// the same forces.
#[test]
fn denser_and_slower_air_of_one_pressure_is_the_same_wind() {
    let rig = rig();
    for (tws, twa, boom) in [(3.0, 45.0, 10.0), (6.0, 60.0, 18.0), (6.0, 110.0, 55.0), (8.0, 170.0, 75.0)] {
        let here = usual(tws, twa, boom);
        let base = solved(&rig, &here, None);
        for k in [0.5, 0.9, 2.0] {
            let slower = 1.0 / f64::sqrt(k);
            let wind = WindProfile { at_meter: here.wind.at_meter * slower, ..here.wind };
            let input = SailInput { wind, speed: here.speed * slower, ..here };
            let thick = Fluid { density: k * air().density, ..air() };
            let mut start = base.state;
            start.gamma.iter_mut().for_each(|g| *g *= slower);
            let Outcome::Solved(there) = solve_sail(&rig, Constants::standard(), thick, &input, Some(&start)) else {
                panic!("{tws} {twa} {k}: not solved")
            };
            let most = base.answer.load.force.into_iter().map(f64::abs).fold(0.0, f64::max);
            for (a, b) in base.answer.load.force.into_iter().zip(there.answer.load.force) {
                // The solver's own tolerance, over the largest force.
                assert!((a - b).abs() < 1e-4 * most, "{tws} m/s {twa} deg, {k} times as dense: {a} and {b}");
            }
        }
    }
}

#[test]
fn no_drive_in_line_with_the_wind() {
    let rig = rig();
    for tws in [2.0, 6.0, 10.0] {
        let close = solved(&rig, &usual(tws, 45.0, 10.0), None);
        let wind_angle = close.answer.strips[7].wind[1];
        let s = solved(&rig, &SailInput { boom: wind_angle, ..usual(tws, 45.0, 10.0) }, None);
        assert!(close.answer.load.force[0] > 0.0 && s.answer.load.force[0] < 0.0, "{tws}: {:?}", s.answer.load.force);
        assert!(s.answer.sheet_force < 0.15 * close.answer.sheet_force);
    }
}

#[test]
fn section_is_continuous_at_every_angle() {
    let c = Constants::standard();
    let at = |k: i32, camber: f64| {
        let p = polar(c, 4.5, f64::from(k) * 0.1 * DEGREE, Shape { camber, draft: 0.41, mast: 0.03, scallop: 0.02 });
        let Polar { lift, apart, drag, centre, .. } = p;
        [lift + apart, drag, centre]
    };
    // No lift curve climbs faster than 12 per rad (drawing again after flapping), so a tenth of a degree moves 0.021 at most.
    const STEP: f64 = 0.025;
    for camber in [0.0, 0.05, 0.10, 0.15] {
        for k in -1800..1800 {
            let (a, b) = (at(k, camber), at(k + 1, camber));
            assert!(a.iter().zip(b).all(|(x, y)| (x - y).abs() < STEP), "camber {camber} at {}: {a:?} {b:?}", f64::from(k) * 0.1);
        }
        let (a, b) = (at(-1800, camber), at(1800, camber));
        assert!(a.iter().zip(b).all(|(x, y)| (x - y).abs() < 1e-9), "{a:?} {b:?}");
        assert!((-1800..=1800).all(|k| at(k, camber)[1] > 0.0), "drag is never a push");
    }
}

/// Largest change of the force from one tenth of a degree to the next, over the largest force, along a walk.
fn roughest(rig: &Rig, walk: impl Iterator<Item = SailInput<f64>>) -> f64 {
    let mut start: Option<SailState<f64>> = None;
    let mut last: Option<[f64; 3]> = None;
    let (mut jump, mut most): (f64, f64) = (0.0, 0.0);
    for i in walk {
        let s = solved(rig, &i, start.as_ref());
        let force = s.answer.load.force;
        if let Some(before) = last {
            jump = jump.max((force[0] - before[0]).hypot(force[1] - before[1]));
        }
        most = most.max(force[0].hypot(force[1]));
        (start, last) = (Some(s.state), Some(force));
    }
    jump / most
}

#[test]
fn forces_are_continuous_through_a_dead_run() {
    let rig = rig();
    let jump = roughest(&rig, (0..400).map(|k| usual(6.0, 160.0 + 0.1 * f64::from(k), 80.0)));
    // The force turns by a third over 40 degrees: 0.1 % in a tenth.
    assert!(jump < 2e-3, "{jump}");
}

#[test]
fn forces_are_continuous_across_the_stall() {
    let rig = rig();
    let jump = roughest(&rig, (0..450).map(|k| usual(6.0, 95.0, 65.0 - 0.1 * f64::from(k))));
    // From attached to separated within some three degrees: strips go one after the other.
    assert!(jump < 0.03, "{jump}");
}

/// Central differences of a smooth function to a step of 1e-6: five digits.
const DIFFERENCE_TOLERANCE: f64 = 2e-5;

#[test]
fn derivatives_are_those_of_central_differences() {
    const ALL: usize = UNKNOWNS + INPUTS + 1;
    let rig = rig();
    let c = Constants::standard();
    for (tws, twa, boom) in [(4.0, 45.0, 9.0), (7.0, 100.0, 30.0), (6.0, 172.0, 75.0), (9.0, 42.0, 25.0)] {
        let i = usual(tws, twa, boom);
        let s = solved(&rig, &i, None);
        let settings = [0.03, 0.10, 0.01, i.speed, 0.06, i.twa_to_track, 0.1, 0.03, i.boom, 0.05, 0.10, 100.0, 76.0];
        let row = s.state.row();
        let x: [f64; ALL] = core::array::from_fn(|k| if k < UNKNOWNS { row[k] } else { settings[k - UNKNOWNS] });
        fn answer<D: Real>(rig: &Rig, c: &Constants, w: WindProfile, x: &[D; ALL]) -> SailAnswer<D> {
            let state = SailState::from_row(&core::array::from_fn(|k| x[k]));
            sail(rig, c, air(), &input(w, &core::array::from_fn(|k| x[UNKNOWNS + k])), &state, Guard::Off)
        }
        let dual = answer(&rig, c, i.wind, &seeded(x));
        let mut outputs = dual.residuals().to_vec();
        outputs.extend(dual.load.force);
        outputs.extend([
            dual.load.heeling,
            dual.load.luffing,
            dual.load.bow_down,
            dual.hinge,
            dual.sheet_force,
            dual.sheet_line,
            dual.wrinkle,
            dual.mast_bow,
            dual.bend_rake,
        ]);
        for k in 0..ALL {
            let h = 1e-6 * x[k].abs().max(1.0);
            let (mut up, mut down) = (x, x);
            up[k] += h;
            down[k] -= h;
            let (up, down) = (numbers(&answer(&rig, c, i.wind, &up)), numbers(&answer(&rig, c, i.wind, &down)));
            for (m, y) in outputs.iter().enumerate() {
                let exact = y.slopes()[k];
                let difference = (up[m] - down[m]) / (2.0 * h);
                let scale = exact.abs().max(difference.abs()).max(1e-3 * y.value().abs()).max(1e-3);
                assert!(((exact - difference) / scale).abs() < DIFFERENCE_TOLERANCE, "output {m} input {k}: {exact} {difference}");
            }
        }
    }
}

#[test]
fn the_guard_changes_no_value() {
    let rig = rig();
    let i = usual(7.0, 110.0, 30.0);
    let s = solved(&rig, &i, None);
    assert!(s.answer.strips[7].stalled > 0.5);
    let dual = seeded(s.state.row());
    let settings = [0.03, 0.10, 0.0, i.speed, 0.06, i.twa_to_track, 0.0, 0.03, i.boom, 0.05, 0.10, 100.0, 76.0].map(From::from);
    let of = |guard| sail(&rig, Constants::standard(), air(), &input(i.wind, &settings), &SailState::from_row(&dual), guard).residuals();
    let (on, off) = (of(Guard::On), of(Guard::Off));
    assert!(on.iter().zip(&off).all(|(a, b)| a.value() == b.value() && a.value().abs() < 1e-7));
    assert!(on.iter().zip(&off).any(|(a, b)| a.slopes() != b.slopes()));
}

#[test]
fn almost_every_setting_is_solved() {
    // A random walk through all settings; the study before this one left 1 in 500 unsolved.
    const CASES: u32 = 600;
    const FAILED_AT_MOST: u32 = 4;
    let rig = rig();
    let c = Constants::standard();
    let mut state = 12_345_u64;
    let mut draw = |low: f64, high: f64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut failed = 0;
    for _ in 0..CASES {
        let tws = draw(1.0, 14.0);
        let mut x = [0.0; INPUTS + 1];
        let speed = 0.5 * tws.min(7.0);
        let ranges = [
            (-0.25, 0.35),
            (0.06, 0.14),
            (-0.05, 0.05),
            (0.0, speed),
            (-0.05, 0.15),
            (20.0 * DEGREE, PI),
            (0.0, 0.0),
            (-0.05, 0.12),
            (0.0, 0.25 * TAU),
            (0.0, 0.42),
            (0.0, 0.3),
            (0.0, 400.0),
            (6.0, 250.0),
        ];
        for (x, (low, high)) in x.iter_mut().zip(ranges) {
            *x = draw(low, high);
        }
        match solve_sail(&rig, c, air(), &input(wind(tws), &x), None) {
            Outcome::Solved(s) => assert!(numbers(&s.answer).iter().all(|v| v.is_finite())),
            Outcome::Status(_) => failed += 1,
        }
    }
    assert!(failed <= FAILED_AT_MOST, "{failed} of {CASES}");
}

#[test]
fn a_broken_input_is_a_status() {
    let i = SailInput { boom: f64::NAN, ..usual(5.0, 45.0, 9.0) };
    assert!(matches!(solve_sail(&rig(), Constants::standard(), air(), &i, None), Outcome::Status(_)));
}

#[test]
fn ropes_do_what_a_sailor_feels() {
    let rig = rig();
    let of = |change: &dyn Fn(&mut SailInput<f64>)| {
        let mut i = usual(6.0, 45.0, 9.0);
        change(&mut i);
        solved(&rig, &i, None)
    };
    let base = of(&|_| ());
    let top = |s: &SailSolution| s.state.twist[12];
    // More vang, less twist; car to leeward at the same boom angle, harder sheet and less twist.
    assert!(top(&of(&|i| i.vang_tension += 100.0)) < top(&base));
    let down = of(&|i| i.car += 0.03);
    assert!(down.answer.sheet_force > base.answer.sheet_force && top(&down) < top(&base));
    // A looser outhaul makes a fuller sail, a tighter downhaul fewer wrinkles and draft forward.
    let low = |s: &SailSolution| s.answer.strips[4];
    assert!(low(&of(&|i| i.gap += 0.05)).camber > low(&base).camber);
    let pulled = of(&|i| i.luff_tension += 60.0);
    assert!(pulled.answer.wrinkle < base.answer.wrinkle && low(&pulled).draft < low(&base).draft);
    // Boom out, rope out.
    assert!(of(&|i| i.boom += 0.1).answer.sheet_line > base.answer.sheet_line);
    // Heeling the other way round: rolling to leeward unloads the sail.
    assert!(of(&|i| i.roll_rate = 0.3).answer.load.heeling < base.answer.load.heeling);
}

#[test]
fn looks_follow_the_ropes() {
    let rig = rig();
    let of = |i: &SailInput<f64>| {
        let s = solved(&rig, i, None);
        Looks::of(&s.state, &s.answer, i.sprit)
    };
    let breeze = usual(6.0, 45.0, 10.0);
    // Slack downhaul in a breeze, hard downhaul in a drift.
    assert_eq!(of(&SailInput { luff_tension: 6.0, ..breeze }).luff, Luff::Wrinkled);
    assert_eq!(of(&SailInput { luff_tension: 250.0, ..usual(1.5, 50.0, 10.0) }).luff, Luff::Creased);
    assert_eq!(of(&SailInput { luff_tension: 130.0, ..breeze }).luff, Luff::Smooth);
    // Hard vang in a drift, no vang on a reach in a breeze.
    assert_eq!(of(&SailInput { vang_tension: 400.0, ..usual(1.5, 50.0, 10.0) }).batten, Batten::Hooked);
    assert_eq!(of(&SailInput { vang_tension: 0.0, ..usual(8.0, 90.0, 40.0) }).batten, Batten::Spilling);
    assert_eq!(of(&SailInput { vang_tension: 100.0, ..usual(4.0, 45.0, 8.0) }).batten, Batten::Lively);
}
