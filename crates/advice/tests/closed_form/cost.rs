//! What a verdict says a fault costs, against a solve of its own with that setting held and sheet and course trimmed anew.

use advice::dock::{Round, Verdict};
use advice::rake::Notches;
use boat::balance::{Case, Conditions, Control, Tack};
use boat::class::AdjusterKind;
use boat::crew::{Sailor, Skill};
use boat::gauge::Gauge;
use boat::minimise::Search;
use boat::optimum::{Aim, Choice, Node, Plan, optimum};
use boat::setup::{COST_LEG, Leg, Request, gusty};
use measure::angle::DEGREE;
use measure::fluid::air;
use measure::quantity::KNOT;
use measure::{Length, Speed, Temperature, WindLaw};

use crate::rake::boat;

/// How far a cost that is not called rough may be from the solve: a part of it, and a part of a metre of 500. A coach hears boat
/// lengths of 2.45 m.
const PART: f64 = 0.35;
const METRES: f64 = 0.6;

#[test]
fn a_cost_is_what_a_solve_with_that_setting_finds() {
    let boat = boat(AdjusterKind::Step);
    let wind = WindLaw::Open.profile(Speed::metres_per_second(10.0 * KNOT), Length::metres(10.0));
    let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
    let sailor = Sailor { mass: 45.0, stature: 1.55, skill: Skill::Races };
    let request = Request { boat: &boat, sailor, conditions, gusts: 1.3, reach: None, bands: true };
    let beat = request.leg(Leg::Beat, 0.0).unwrap();
    let round = Round {
        boat: &boat,
        beat: &beat,
        leg: &beat,
        mast: Notches::of_class(&boat),
        own_drop: None,
        own: advice::own::OwnSetup::default(),
    };
    let case = |wind| Case { boat: &boat, sailor, conditions: Conditions { wind, ..conditions } };
    let solved = |held: Option<(Control, f64)>| {
        let starts: Vec<_> = beat
            .winds
            .iter()
            .map(|t| {
                let mut t = t.clone();
                if let Some((control, value)) = held {
                    t.controls[control.index()] = value;
                }
                t
            })
            .collect();
        let choice = |control, low: f64, high: f64| Choice { control, low: low * DEGREE, high: high * DEGREE };
        let plan = Plan {
            winds: gusty(wind, 1.3)
                .into_iter()
                .zip(&starts)
                .map(|((wind, weight), at)| Node { case: case(wind), weight, from: at.controls })
                .collect(),
            aim: Aim::Upwind,
            given: starts[0].controls,
            shared: Vec::new(),
            trimmed: vec![choice(Control::WindAngle, 35.0, 75.0), choice(Control::Boom, 0.0, 45.0)],
            limits: beat.limits,
        };
        optimum(&plan, &starts, &Search { tolerance: 2e-6, evaluations: 80, radius: 0.8, curvature: 0.02 }, None).unwrap().value
    };
    let best = solved(None);
    let mut looked = 0;
    for (gauge, control) in [(Gauge::CarOffset, Control::Car), (Gauge::BoardAngle, Control::Board), (Gauge::SeatPosition, Control::Seat)] {
        let band = round.band(gauge).unwrap();
        for (edge, out, known) in [(band.high, 1.0, band.cost_high), (band.low, -1.0, band.cost_low)] {
            for share in [0.2, 0.45] {
                let measured = edge + out * share * (band.high - band.low);
                let (least, most) = boat.reach(gauge).unwrap();
                if known.is_none() || !(least..=most).contains(&measured) {
                    continue;
                }
                let reading = round.judged(gauge, measured).unwrap();
                if reading.verdict == Verdict::Inside {
                    continue;
                }
                let metres = COST_LEG * (1.0 - solved(Some((control, measured))) / best);
                let cost = reading.cost.unwrap();
                assert!(!reading.rough);
                println!("{} {measured:.3}: told {cost:.2} m, solved {metres:.2} m", gauge.name());
                assert!(
                    (cost - metres).abs() < PART * metres + METRES,
                    "{} {measured:.3}: told {cost:.2} m, solved {metres:.2} m",
                    gauge.name()
                );
                looked += 1;
            }
        }
    }
    assert!(looked >= 4, "{looked}");
}
