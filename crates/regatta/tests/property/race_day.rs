//! What holds for any wind, current and course.

use measure::angle::DEGREE;
use measure::{Bearing, Length, Polar, Speed};
use proptest::prelude::*;
use regatta::course::{Course, Given, Line, Order};
use regatta::declination::declination;
use regatta::layline::{laylines, overstood};
use regatta::sailing::{Day, Sailing, Stuck, Tack};
use regatta::start::start;

/// The shape of a small boat: nothing within 22 degrees of the wind, fastest on a reach.
fn polar() -> Polar {
    Polar::by_rule(&[2.0, 4.0, 7.0], |wind, degrees| {
        let close = 1.0 - (-((degrees - 22.0_f64).max(0.0)) / 18.0).exp();
        let deep = 1.0 - 0.22 * ((degrees - 100.0).max(0.0) / 80.0).powi(2);
        2.2 * (1.0 - (-wind / 3.5_f64).exp()) * close * deep
    })
}

fn day(from: f64, wind: f64, toward: f64, current: f64) -> Day {
    Day {
        wind_from: Bearing::degrees_true(from),
        wind: Speed::metres_per_second(wind),
        current_toward: Bearing::degrees_true(toward),
        current: Speed::metres_per_second(current),
    }
}

fn mirrored(day: Day) -> Day {
    let turned = |b: Bearing| Bearing::radians_true(-b.in_radians());
    Day { wind_from: turned(day.wind_from), current_toward: turned(day.current_toward), ..day }
}

/// Lines that look like buoys.
fn buoy() -> impl Strategy<Value = String> {
    let name =
        prop_oneof![Just("windward"), Just("leeward"), Just("gate a"), Just("gate b"), Just("pin"), Just("committee boat"), Just("x")];
    let place = prop_oneof![
        Just("here".to_owned()),
        (0..60u32, 0..60u32).prop_map(|(n, e)| format!("54 {n}.5 N 6 {e}.25 W")),
        (0..400u32, 0..900u32, prop_oneof![Just("windward"), Just("pin"), Just("x")], prop_oneof![Just("T"), Just("M"), Just("")])
            .prop_map(|(b, d, from, kind)| format!("{b} {kind}, {d} m from {from}")),
    ];
    (name, place).prop_map(|(name, place)| format!("{name}: {place}"))
}

/// Rounding of sums.
const EXACT: f64 = 1e-7;

proptest! {
    /// The time of a passage, added up from its own courses over the ground, ends at the place; and no pair of courses on whole degrees is quicker.
    #[test]
    fn no_two_courses_are_quicker(from in 0.0..360.0f64, wind in 1.5..8.0f64, toward in 0.0..360.0f64, current in 0.0..0.5f64, way in 0.0..360.0f64) {
        let sailing = Sailing::of(&polar(), &day(from, wind, toward, current)).unwrap();
        let (e, n) = Bearing::degrees_true(way).unit();
        let (e, n) = (300.0 * e, 300.0 * n);
        let velocities: Vec<[f64; 2]> = (0..360)
            .map(|d| sailing.over_ground(&sailing.way(Bearing::radians_true(sailing.wind_from().in_radians() + f64::from(d) * DEGREE))))
            .collect();
        // All pairs that straddle the way: a share of each lies on it.
        let cross = |v: &[f64; 2]| e * v[1] - n * v[0];
        let mut quickest = f64::INFINITY;
        for a in velocities.iter().filter(|v| cross(v) >= 0.0) {
            for b in velocities.iter().filter(|v| cross(v) < 0.0) {
                let u = cross(a) / (cross(a) - cross(b));
                let along = (e * (a[0] + u * (b[0] - a[0])) + n * (a[1] + u * (b[1] - a[1]))) / 300.0;
                if along > 1e-6 {
                    quickest = quickest.min(300.0 / along);
                }
            }
        }
        match sailing.passage(e, n) {
            Ok(passage) => {
                prop_assert!((passage.seconds / quickest - 1.0).abs() < 1e-6, "{} {quickest}", passage.seconds);
                let reached = passage.parts.iter().fold([0.0; 2], |at, (way, t)| {
                    let v = sailing.over_ground(way);
                    [at[0] + v[0] * t, at[1] + v[1] * t]
                });
                prop_assert!((reached[0] - e).hypot(reached[1] - n) < 1e-4 * 300.0, "{reached:?} {e} {n}");
            }
            Err(stuck) => {
                prop_assert_eq!(stuck, Stuck::Current);
                prop_assert!(quickest > 1e4, "{quickest}");
            }
        }
    }

    /// In the mirror port is starboard and the pin's gain is the committee boat's.
    #[test]
    fn the_mirror_shows_the_same(from in 0.0..360.0f64, toward in 0.0..360.0f64, current in 0.0..0.4f64, doubt in 0.0..15.0f64, leeway in 0.0..8.0f64) {
        let here = day(from, 4.0, toward, current);
        let (doubt, leeway) = (doubt * DEGREE, leeway * DEGREE);
        let both = |day: &Day| laylines(&polar(), day, doubt, leeway).unwrap();
        let ([port, starboard], [q, r]) = (both(&here), both(&mirrored(here)));
        for (a, b) in [(port, r), (starboard, q)] {
            prop_assert!((a.speed - b.speed).abs() < EXACT && (a.set - b.set).abs() < EXACT);
            prop_assert!(a.sight.angle.iter().zip(b.sight.angle).all(|(x, y)| (x - y).abs() < EXACT), "{:?} {:?}", a.sight, b.sight);
            // A child looks to windward; a doubt widens what she sees, never turns it round.
            prop_assert!(a.sight.angle[0] <= a.sight.angle[1] + 1e-9 && a.sight.angle[1] <= a.sight.angle[2] + 1e-9);
        }
        let (e, n) = Bearing::degrees_true(from + 80.0).unit();
        let line = Line { pin: [-30.0 * e, -30.0 * n], boat: [30.0 * e, 30.0 * n] };
        let turned = Line { pin: [30.0 * e, -30.0 * n], boat: [-30.0 * e, 30.0 * n] };
        let (a, b) = (start(&line, None, &polar(), &here, doubt), start(&turned, None, &polar(), &mirrored(here), doubt));
        if let (Ok(a), Ok(b)) = (a, b) {
            prop_assert!((a.bias[1].seconds - b.bias[1].seconds).abs() < EXACT && (a.bias[0].metres - b.bias[2].metres).abs() < EXACT);
        }
    }

    /// Any text is a course or a refusal that says what would do; a course has legs of a length and times that are numbers.
    #[test]
    fn no_text_stops_the_reader(text in "\\PC{0,120}", lines in proptest::collection::vec(buoy(), 0..6), laps in 0..12usize) {
        let order = Order { laps: Some(laps), ..Order::default() };
        for text in [text, lines.join("\n")] {
            let read = Given::list(&text).and_then(|given| Course::of(&given, &|at| declination(at, Length::metres(0.0), 2026.5).map(|d| d.value), &order));
            match read {
                Err(error) => prop_assert!(!error.remedy.is_empty()),
                Ok(course) => {
                    let sailing = Sailing::of(&polar(), &day(10.0, 5.0, 100.0, 0.3)).unwrap();
                    for leg in &course.value.legs {
                        prop_assert!(leg.length.si() > 0.0);
                        prop_assert!(leg.passage(&sailing).map_or(true, |p| p.seconds.is_finite() && p.seconds > 0.0));
                    }
                }
            }
        }
    }

    /// Overstanding never gains, and more of it costs more.
    #[test]
    fn overstanding_costs(from in 0.0..360.0f64, toward in 0.0..360.0f64, current in 0.0..0.3f64, left in 20.0..200.0f64) {
        let sailing = Sailing::of(&polar(), &day(from, 5.0, toward, current)).unwrap();
        for tack in [Tack::Port, Tack::Starboard] {
            let mut last = -1e-9;
            for past in [1.0, 5.0, 10.0, 20.0] {
                if let Ok(found) = overstood(&sailing, tack, left, past) {
                    prop_assert!(found.metres > last - 1e-6, "{past}: {} after {last}", found.metres);
                    last = found.metres;
                }
            }
        }
    }
}
