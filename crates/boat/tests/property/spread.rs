//! What we do not know reaches the settings, and keeps within what is known.

use super::band::{boat, request};
use boat::gauge::Gauge;
use boat::setup::{Leg, LegSetup};
use boat::spread::{Spread, Wide, boats};

/// Samples that a test can wait for.
const FEW: usize = 12;
/// What a search ends with where nothing changes, in steps of the gauge: two hundredths.
const REPEATS: f64 = 0.02;

#[expect(clippy::unwrap_used, reason = "a leg that is not solved fails the test")]
fn solved(mass: f64, tws: f64, leg: Leg, count: usize) -> (LegSetup, Spread) {
    let boat = boat();
    let request = request(&boat, mass, tws, true);
    let setup = request.leg(leg, 0.0).unwrap();
    let spread = request.spread(&setup, 0.0, &boats(&boat, count, boat::spread::SEED)).unwrap();
    (setup, spread)
}

#[test]
fn the_band_is_the_union_within_the_trades_bounds() {
    let (setup, spread) = solved(45.0, 5.0, Leg::Beat, FEW);
    assert!(spread.doubts.len() > 4 && spread.made_good.0 < setup.made_good && setup.made_good < spread.made_good.1, "{spread:?}");
    let setup = setup.doubted(&spread);
    let (mut unknown, mut plays) = (0, 0);
    for setting in &setup.settings {
        let (low, high) = setting.band();
        assert!(low <= setting.low && setting.high <= high && low <= setting.value && setting.value <= high, "{setting:?}");
        match setting.wide() {
            Some(Wide::DoNotKnow) => unknown += 1,
            Some(Wide::NoDifference) => plays += 1,
            None => assert!(setting.doubt.is_none()),
        }
    }
    assert!(unknown > 0 && plays > 0, "{unknown} {plays}");
    // On a beat the trade leaves no more than 19 cm of gap on this foot, and the car a tenth of 42 cm out.
    let band = |gauge| setup.setting(gauge).unwrap().band();
    assert!(band(Gauge::SailBoomGap).1 < 0.19 + 1e-6 && band(Gauge::CarOffset).0 > 0.042 - 1e-6);
    // What common practice gives stays given.
    assert!(setup.setting(Gauge::Heel).unwrap().doubt.is_none());
}

#[test]
fn constants_that_do_not_differ_leave_no_doubt() {
    let boat = boat();
    let request = request(&boat, 45.0, 5.0, false);
    let setup = request.leg(Leg::Run, 0.0).unwrap();
    let spread = request.spread(&setup, 0.0, &[boat.clone(), boat.clone()]).unwrap();
    for doubt in &spread.doubts {
        let step = setup.setting(doubt.gauge).unwrap().step;
        assert!(doubt.high - doubt.low < REPEATS * step, "{doubt:?}");
    }
}

#[test]
fn the_same_on_any_number_of_threads() {
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(alone.install(|| solved(45.0, 4.0, Leg::Run, FEW).1), solved(45.0, 4.0, Leg::Run, FEW).1);
}
