//! The weigh-in by hand, and a kilogram against the exact slope of the balance.

use advice::weight::{BATHROOM_SCALE, Margin, Scale, Trend, WeighIn, kilogram};
use boat::balance::{Case, Conditions, Control, Tack};
use boat::class::{AdjusterKind, Class};
use boat::crew::{Sailor, Skill};
use boat::setup::{COST_LEG, Leg, Request, gusty};
use measure::fluid::air;
use measure::quantity::KNOT;
use measure::{Length, Speed, Temperature, WindLaw};

use crate::rake::boat;

fn weigh_in(reading: f64) -> WeighIn {
    WeighIn { reading, trolley: None, water: 0.0, correctors: 0.0, scale_error: BATHROOM_SCALE }
}

#[test]
fn two_hundred_grams_over_on_a_bathroom_scale_is_not_known() {
    let class = Class::pram();
    let least = class.hull.minimum_mass;
    let weighed = weigh_in(least + 0.2).weighed(&class).unwrap();
    assert_eq!(weighed.stands, Margin::NotKnown);
    assert!(weighed.words(&class, Scale::KILOGRAMS)[0].contains("not known. The scale says 0.2 kg over, and may be off by 0.5"));
    // A pound is .45359237 kg by definition: 0.2 kg is 0.44 lb, half a kilogram 1.1.
    assert!(weighed.words(&class, Scale::POUNDS)[0].contains("The scale says 0.4 lb over, and may be off by 1.1"));
    // The same on a scale good to 100 g is over; half a kilogram under on it is under.
    let good = |reading| WeighIn { scale_error: 0.1, ..weigh_in(reading) }.weighed(&class).unwrap();
    assert_eq!(good(least + 0.2).stands, Margin::Over);
    let under = good(least - 0.5);
    assert_eq!(under.stands, Margin::Under);
    assert!(
        (under.to_add - 0.6).abs() < 1e-9
            && under.words(&class, Scale::KILOGRAMS)[1].contains("Fix 0.6 kg of correctors under the middle thwart")
    );
}

#[test]
fn water_trolley_and_correctors_are_no_boat() {
    let class = Class::pram();
    let least = class.hull.minimum_mass;
    let all = WeighIn { reading: least + 2.0 + 13.0 + 0.7, trolley: Some(13.0), water: 0.7, correctors: 1.5, scale_error: 0.1 };
    let weighed = all.weighed(&class).unwrap();
    assert!((weighed.boat - (least + 2.0)).abs() < 1e-9 && (weighed.bare - (least + 0.5)).abs() < 1e-9);
    // Two weighings: their errors join as the root of two.
    assert!((weighed.error - 0.1 * 2f64.sqrt()).abs() < 1e-12);
    // All of her correctors may come out: the margin less the error is more than they weigh.
    assert!((weighed.may_come_out - 1.5).abs() < 1e-9);
    assert!(weighed.words(&class, Scale::KILOGRAMS).iter().any(|w| w.contains("0.7 kg of water was in her")));
    let fault = |w: WeighIn| w.weighed(&class).unwrap_err().to_string();
    assert!(
        fault(WeighIn { trolley: Some(60.0), ..weigh_in(57.0) })
            .contains("57 kg for the boat on its trolley, and the trolley alone weighs 60 kg")
    );
    assert!(fault(WeighIn { water: 50.0, ..weigh_in(44.0) }).contains("water of 50 kg would leave nothing"));
    assert!(fault(WeighIn { correctors: 44.0, ..weigh_in(44.0) }).contains("correctors of 44 kg"));
    assert!(fault(weigh_in(f64::NAN)).contains("no number"));
}

#[test]
fn a_hull_that_gains_takes_water() {
    let class = Class::pram();
    // 100 g a week, exactly, over six weeks.
    let line = |from: f64, per_day: f64| (0..7).map(|k| (f64::from(7 * k), from + per_day * f64::from(7 * k))).collect::<Vec<_>>();
    let wet = Trend::of(&line(43.5, 0.1 / 7.0), 0.1).unwrap();
    assert!((wet.a_week - 0.1).abs() < 1e-12 && (wet.weeks - 6.0).abs() < 1e-12);
    assert!(
        wet.words(&class, Scale::KILOGRAMS)
            .contains("she is taking water. Look for it in the side tank to port and side tank to starboard")
    );
    // Closed form: the slope's error is the scale's over the root of the summed squares of days.
    assert!((wet.error - 7.0 * 0.1 / (28.0f64 * 49.0).sqrt()).abs() < 1e-12);
    assert!(Trend::of(&line(43.5, 0.0), 0.1).unwrap().words(&class, Scale::KILOGRAMS).contains("holds"));
    assert!(Trend::of(&[(0.0, 43.0)], 0.1).is_none() && Trend::of(&[(0.0, 43.0), (0.0, 44.0)], 0.1).is_none());
}

#[test]
fn a_kilogram_costs_what_the_slope_of_the_balance_says() {
    let boat = boat(AdjusterKind::Step);
    let wind = WindLaw::Open.profile(Speed::metres_per_second(8.0 * KNOT), Length::metres(10.0));
    let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
    let sailor = Sailor { mass: 45.0, stature: 1.55, skill: Skill::Races };
    let request = Request { boat: &boat, sailor, conditions, gusts: 1.3, reach: None, bands: false };
    for leg in [Leg::Beat, Leg::Run] {
        let setup = request.leg(leg, 0.03).unwrap();
        let cost = kilogram(&request, &setup).unwrap();
        let (mut made_good, mut slope) = (0.0, 0.0);
        for (trimmed, (wind, share)) in setup.winds.iter().zip(gusty(wind, 1.3)) {
            let case = Case { boat: &boat, sailor, conditions: Conditions { wind, ..conditions } };
            let slopes = case.slopes(&trimmed.controls, &trimmed.state).unwrap();
            made_good += share * slopes.made_good.0;
            slope += share * slopes.made_good.1[Control::Ballast.index()];
        }
        let exact = -COST_LEG * slope / made_good;
        // A difference over 4 kg against the slope at 0: the loss curves by a few per cent.
        assert!((cost - exact).abs() < 0.1 * exact.abs(), "{} {cost} {exact}", leg.name());
        // T15: a heavy or wet hull is slow.
        assert!(cost > 0.0 && cost < 10.0, "{} {cost}", leg.name());
    }
}
