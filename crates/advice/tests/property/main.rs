//! What holds for any band and any reading.

mod quiz;

use advice::dock::{Band, Verdict, judged};
use advice::rake::Notches;
use boat::class::AdjusterKind;
use boat::class::rake::Toward;
use boat::gauge::Gauge;
use boat::setup::Setting;
use measure::Basis;
use proptest::prelude::*;

fn mast(fall: f64, kind: AdjusterKind) -> Notches {
    let back = if kind == AdjusterKind::Step { Toward::Forward } else { Toward::Aft };
    Notches { kind, part: "part", back, fall, doubt: 0.1 * fall, count: 9, known: None }
}

fn gauges() -> impl Strategy<Value = Gauge> {
    prop::sample::select(Gauge::ALL.to_vec())
}

proptest! {
    /// A boat set as told comes back inside, unless it is said that her steps do not come there; and then she is nearer.
    #[test]
    fn set_as_told_comes_back_inside(
        gauge in gauges(), low in -0.5..0.5f64, width in 0.001..0.4f64, off in -1.0..1.0f64, error in 0.0..0.03f64, fall in 0.02..0.12f64,
    ) {
        prop_assume!(gauge != Gauge::Preventer);
        let (high, step) = (low + width, gauge.unit_si());
        let setting = Setting { gauge, matters: true, doubt: None, value: low, low, high, cost_low: 2.0, cost_high: 3.0, step, basis: Basis::Theory };
        let band = Band::of(&setting);
        let mast = mast(fall, AdjusterKind::Step);
        let first = judged(low + off, band, error, &mast).unwrap();
        if let Some(to_move) = &first.to_move {
            let second = judged(to_move.then, band, error, &mast).unwrap();
            prop_assert!(second.by < first.by);
            if to_move.arrives {
                prop_assert_eq!(second.verdict, Verdict::Inside);
            }
            // No further than needed: one step less would still be outside.
            if to_move.arrives && to_move.steps > 1 {
                let one = (to_move.then - (low + off)) / f64::from(to_move.steps);
                prop_assert!(judged(to_move.then - one, band, 0.0, &mast).unwrap().verdict != Verdict::Inside);
            }
        } else if first.verdict == Verdict::Inside {
            prop_assert!(first.by <= error + 1e-6);
        }
    }

    /// Further out costs no less, and the tape's own error never makes a fault of a value inside.
    #[test]
    fn costs_grow_outward_and_inside_stays_inside(low in -0.5..0.5f64, width in 0.01..0.4f64, out in 0.0..0.5f64, error in 0.0..0.03f64, slip in -1.0..1.0f64) {
        let high = low + width;
        let setting = Setting { gauge: Gauge::SailBoomGap, matters: true, doubt: None, value: low, low, high, cost_low: 2.0, cost_high: 3.0, step: 0.01, basis: Basis::Theory };
        let (band, mast) = (Band::of(&setting), mast(0.06, AdjusterKind::Partner));
        let cost = |v: f64| judged(v, band, 0.0, &mast).unwrap().cost.unwrap();
        prop_assert!(cost(high + out) <= cost(high + out + 0.01) + 1e-12);
        prop_assert_eq!(judged(high + slip.abs() * error * 0.999, band, error, &mast).unwrap().verdict, Verdict::Inside);
        prop_assert_eq!(judged(low - slip.abs() * error * 0.999, band, error, &mast).unwrap().verdict, Verdict::Inside);
    }

    /// Limits and cautions never panic on a text.
    #[test]
    fn no_text_breaks_the_readers(text in "\\PC{0,80}") {
        let _ = advice::caution::Limits::read(&text, "x");
        let _ = advice::caution::Cautions::read(&text, "x");
    }
}
