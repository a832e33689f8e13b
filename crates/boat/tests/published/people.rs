//! The sailor's reach against what is published of bodies: segments, growth, hiking.

use boat::Constants;
use boat::body::{HIKED, Posture, centre_out};
use boat::class::Class;
use boat::crew::{Sailor, Skill, usual_stature};
use boat::setup::{Leg, Request};
use measure::angle::DEGREE;
use measure::{Length, Speed, Temperature, Water, WindLaw, fluid};

/// C1: CDC 2000 growth charts (Kuczmarski 2002), medians of boys and girls, years, kg and m: `cdc2000_weight_height_7_15y.csv`.
const MEDIANS: &[(f64, f64)] = &[
    (22.76, 1.2149),
    (23.07, 1.2177),
    (25.63, 1.2759),
    (25.64, 1.2788),
    (28.55, 1.3351),
    (28.99, 1.3292),
    (31.94, 1.3862),
    (32.89, 1.3799),
    (35.89, 1.4352),
    (37.21, 1.4398),
    (40.47, 1.4905),
    (41.65, 1.5119),
    (45.59, 1.5609),
    (45.82, 1.5715),
    (49.36, 1.6039),
    (51.00, 1.6384),
    (52.04, 1.6186),
    (56.28, 1.6994),
];
/// Boys and girls of one mass differ by as much from a line between them, m.
const STATURE_TOLERANCE: f64 = 0.02;

#[test]
fn usual_stature_is_that_of_the_growth_charts() {
    let used: Vec<_> = MEDIANS.iter().filter(|(mass, _)| (29.0..=60.0).contains(mass)).collect();
    assert!(used.len() >= 8, "{used:?}");
    for (mass, stature) in used {
        let off = usual_stature(*mass) - stature;
        assert!(off.abs() < STATURE_TOLERANCE, "{mass} kg: {off} m");
    }
}

/// C4: segment masses by Plagenhoef 1983, Dempster and Winter. How far out grows with stature as the assumed constant says, within its range
/// and by no more than a tenth of it; and every class file says of its boat what a body can reach there: a pram hiked, to 2 cm, and a boat that is
/// hiked with the knees at her side no more than lying flat.
#[test]
fn reach_is_that_of_a_body_in_segments() {
    let c = Constants::standard();
    let slope = (centre_out(1.60, 0.565, &HIKED) - centre_out(1.45, 0.565, &HIKED)) / 0.15;
    assert!((slope / c.hike_per_stature - 1.0).abs() < 0.10, "{slope}");
    let files = [
        include_str!("../../../../data/classes/pram.toml"),
        include_str!("../../../../data/classes/sprit.toml"),
        include_str!("../../../../data/classes/hiker.toml"),
    ];
    for text in files {
        let class = Class::read(text, "class").unwrap();
        let side = class.hull.stations.iter().filter_map(|s| s.points.last()).map(|p| p[0]).fold(0.0, f64::max);
        let by = |outside: f64, lean: f64| centre_out(usual_stature(45.0), side, &Posture { outside, lean: lean * DEGREE, ..HIKED });
        let (file, hiked, flat) = (class.sailor.hike_out, by(0.5, 45.0), by(0.9, 85.0));
        println!("{}: side {side:.3} m, file {file:.2} m, hiked {hiked:.3} m, flat {flat:.3} m", class.name);
        assert!(hiked - 0.02 < file && file < flat, "{}: {hiked} {file} {flat}", class.name);
        assert!(class.hull.length > 3.0 || file < hiked + 0.02, "{}: {hiked} {file}", class.name);
    }
}

/// C7: hiking moment against body mass, r at least .95 (Tan et al., Eur. J. Appl. Physiol. 2006, abstract).
#[test]
fn what_they_lean_with_goes_with_mass() {
    let (class, c) = (Class::pram(), Constants::standard());
    let pairs: Vec<(f64, f64)> = MEDIANS
        .iter()
        .map(|(mass, stature)| (*mass, mass * Sailor { mass: *mass, stature: *stature, skill: Skill::Races }.reach(&class, c)))
        .collect();
    let n = pairs.len() as f64;
    let mean = pairs.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0 / n, s.1 + p.1 / n));
    let (xx, xy, yy) =
        pairs.iter().map(|p| (p.0 - mean.0, p.1 - mean.1)).fold((0.0, 0.0, 0.0), |s, (x, y)| (s.0 + x * x, s.1 + x * y, s.2 + y * y));
    let r = xy / (xx * yy).sqrt();
    assert!(r >= 0.95, "{r}");
}

/// C8: 0.89 +- 0.02 of the most over 18 bouts of 90 s (Callewaert et al., IJSPP 2013, abstract), trained adults: inside the range, which is wide
/// downward for children. C9: 430 to 285 N in ten minutes without a break (Buchardt et al., EJSS 2017, abstract): legs are shorter, so it lies
/// below the value. And a leg of minutes is sailed with what can be sustained.
#[test]
fn a_beat_of_minutes_uses_what_can_be_sustained() {
    let sustained = boat::constants::all().iter().find(|c| c.name == "sailor.sustained").unwrap();
    assert!(sustained.low < 0.87 && 0.91 < sustained.high && sustained.value < 0.89);
    assert!(sustained.value > 285.0 / 430.0 && sustained.value - sustained.low > sustained.high - sustained.value);
    let water = Water::Sea.at(Temperature::celsius(15.0));
    let boat = boat::balance::Boat::new(&Class::pram(), 0, water, Constants::standard());
    let sailor = Sailor::of(38.0, Skill::Races);
    let wind = WindLaw::Open.profile(Speed::metres_per_second(9.0), Length::metres(2.0));
    let conditions =
        boat::balance::Conditions { wind, air: fluid::air(Temperature::celsius(15.0)), chop: 0.0, tack: boat::balance::Tack::Starboard };
    let request = Request { boat: &boat, sailor, conditions, gusts: 1.0, reach: None, bands: false };
    let beat = request.leg(Leg::Beat, 0.0).unwrap();
    let reach = sailor.reach(&boat.class, &boat.constants);
    // Overpowered, she is at the limit: the sustained one, to a millimetre.
    let out = beat.mean().whole.hike;
    assert!((out - sustained.value * reach).abs() < 1e-3, "{out} {reach}");
}
