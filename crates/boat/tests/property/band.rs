//! Bands: edges confirmed by brute force, and optima that repeat.

use boat::Constants;
use boat::balance::{Boat, Conditions, Control, Tack};
use boat::class::Class;
use boat::crew::{Sailor, Skill};
use boat::gauge::Gauge;
use boat::minimise::Search;
use boat::optimum::{Aim, Choice, Limits, Node, Plan, Trimmed, optimum};
use boat::setup::{Leg, LegSetup, NO_DIFFERENCE, Request, gusty};
use measure::angle::DEGREE;
use measure::fluid::air;
use measure::{Length, Speed, Temperature, Water, WindLaw};

/// An edge is right when the loss there, searched anew by the slow way, is within this share of the loss it stands for.
const EDGE: f64 = 0.15;
/// An optimum repeats to this share of speed: a tenth of the band.
const REPEATS: f64 = 0.0003;

pub(crate) fn boat() -> Boat {
    Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard())
}

pub(crate) fn request(boat: &Boat, mass: f64, tws: f64, bands: bool) -> Request<'_> {
    let wind = WindLaw::Open.profile(Speed::metres_per_second(tws), Length::metres(2.0));
    let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
    Request { boat, sailor: Sailor::of(mass, Skill::Races), conditions, gusts: 1.3, reach: None, bands }
}

/// Averaged speed made good with one control held at a value and course and boom searched from the best trim: no curvature, no
/// prediction, many evaluations.
fn by_brute_force(request: &Request<'_>, best: &LegSetup, control: Control, value: f64) -> f64 {
    let nodes = gusty(request.conditions.wind, request.gusts).into_iter().zip(&best.winds).map(|((wind, weight), at)| {
        let mut from = at.controls;
        from[control.index()] = value;
        let case =
            boat::balance::Case { boat: request.boat, sailor: request.sailor, conditions: Conditions { wind, ..request.conditions } };
        Node { case, weight, from }
    });
    let winds: Vec<_> = nodes.collect();
    let starts: Vec<Trimmed> = winds.iter().zip(&best.winds).map(|(n, at)| Trimmed { controls: n.from, ..at.clone() }).collect();
    let choice = |control, low: f64, high: f64| Choice { control, low: low * DEGREE, high: high * DEGREE };
    let plan = Plan {
        aim: Aim::Upwind,
        given: winds[0].from,
        shared: Vec::new(),
        trimmed: vec![choice(Control::WindAngle, 35.0, 75.0), choice(Control::Boom, 0.0, 45.0)],
        limits: Limits { ..best.limits },
        winds,
    };
    let search = Search { tolerance: 1e-8, evaluations: 200, radius: 1.0, curvature: 0.02 };
    optimum(&plan, &starts, &search, None).map_or(f64::NAN, |o| o.value)
}

#[test]
fn edges_are_where_brute_force_loses_as_much() {
    let boat = boat();
    let mut asked = 0;
    for (mass, tws) in [(35.0, 3.0), (45.0, 5.0), (55.0, 7.0), (35.0, 7.0)] {
        let request = request(&boat, mass, tws, true);
        let best = request.leg(Leg::Beat, 0.0).unwrap();
        let mean = best.mean();
        let gauges = [
            (Gauge::SailBoomGap, Control::Gap, 1.0),
            (Gauge::CarOffset, Control::Car, 1.0),
            (Gauge::BoardAngle, Control::Board, 1.0),
            (Gauge::SeatPosition, Control::Seat, 1.0),
        ];
        for (gauge, control, unit) in gauges {
            let setting = best.setting(gauge).unwrap();
            let here = mean.controls[control.index()];
            let base = by_brute_force(&request, &best, control, here);
            for (edge, cost) in [(setting.low, setting.cost_low), (setting.high, setting.cost_high)] {
                // An edge with no cost beyond is the end of the gauge's range.
                if cost == 0.0 || (edge - setting.value).abs() < 1e-9 {
                    continue;
                }
                let loss = 1.0 - by_brute_force(&request, &best, control, edge * unit) / base;
                asked += 1;
                assert!(
                    (loss / NO_DIFFERENCE - 1.0).abs() < EDGE,
                    "{mass} kg {tws} m/s {} at {edge}: loss {loss}, best {}",
                    gauge.name(),
                    setting.value
                );
            }
        }
    }
    assert!(asked >= 12, "only {asked} edges were asked");
}

#[test]
fn an_optimum_repeats_from_another_start() {
    let boat = boat();
    for (mass, tws) in [(35.0, 3.0), (45.0, 5.0), (45.0, 7.5), (55.0, 9.0)] {
        let cold = request(&boat, mass, tws, false).leg(Leg::Beat, 0.0).unwrap();
        let other = request(&boat, mass + 5.0, tws * 1.15, false).leg(Leg::Beat, 0.03).unwrap();
        let warm = request(&boat, mass, tws, false).leg_near(Leg::Beat, 0.0, Some(&other)).unwrap();
        assert!((warm.made_good / cold.made_good - 1.0).abs() < REPEATS, "{mass} {tws}: {} and {}", cold.made_good, warm.made_good);
        assert!(cold.converged && warm.converged);
    }
}

/// A heavy sailor in a blow: lost from every start, found from a lighter wind.
#[test]
fn no_beat_is_lost_in_a_blow() {
    let boat = boat();
    for (mass, knots) in [(53.5, 16.0), (53.5, 18.0), (40.0, 16.0), (60.0, 14.0), (33.0, 12.0)] {
        let wind = WindLaw::Open.profile(Speed::metres_per_second(knots * measure::quantity::KNOT), Length::metres(10.0));
        let mut request = request(&boat, mass, 5.0, false);
        request.conditions.wind = wind;
        for tack in [Tack::Starboard, Tack::Port] {
            request.conditions.tack = tack;
            let beat = request.leg(Leg::Beat, 0.0).unwrap();
            assert!(beat.converged && beat.breach < 0.01, "{mass} {knots} {tack:?} {} {}", beat.made_good, beat.breach);
        }
    }
}
