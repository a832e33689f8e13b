//! Verdicts and moves on bands made up for the purpose.

use advice::dock::{Band, Tape, Verdict, judged};
use advice::rake::{Masthead, Notches};
use boat::class::AdjusterKind;
use boat::gauge::Gauge;
use boat::setup::{COST_LEG, NO_DIFFERENCE, Setting};
use measure::Basis;

use crate::rake::boat;

/// A boat's length, m.
const LENGTH: f64 = 2.45;

fn band(gauge: Gauge, low: f64, high: f64) -> Band {
    let setting = Setting {
        gauge,
        matters: true,
        doubt: None,
        value: 0.5 * (low + high),
        low,
        high,
        cost_low: 3.0,
        cost_high: 4.0,
        step: gauge.unit_si(),
        basis: Basis::Theory,
    };
    Band::of(&setting)
}

fn mast() -> Notches {
    Notches::of_class(&boat(AdjusterKind::Step))
}

#[test]
fn a_boom_end_too_high_tips_the_mast_back_by_the_bottom_forward() {
    let band = band(Gauge::BoomEndDock, 0.20, 0.30);
    let high = judged(0.35, band, 0.01, &mast()).unwrap();
    let to_move = high.to_move.clone().unwrap();
    assert_eq!((high.verdict, to_move.part, to_move.steps, to_move.direction), (Verdict::High, "the bottom of the mast", 1, "forward"));
    assert_eq!(to_move.masthead, Some(Masthead::Back));
    assert!(
        high.words(LENGTH, Tape::METRIC).starts_with("boom end 5 cm high: tip the mast back, bottom one notch forward. It costs about")
    );
    let low = judged(0.10, band, 0.01, &mast()).unwrap();
    let to_move = low.to_move.unwrap();
    assert_eq!((low.verdict, to_move.steps, to_move.direction), (Verdict::Low, 2, "aft"));
    assert!((0.20..=0.30).contains(&to_move.then));
}

#[test]
fn within_the_tapes_error_of_an_edge_is_inside() {
    let band = band(Gauge::SailBoomGap, 0.10, 0.15);
    let said = |v: f64| judged(v, band, 0.01, &mast()).unwrap().words(LENGTH, Tape::METRIC);
    assert_eq!(said(0.12), "sail-boom gap: inside");
    assert_eq!(said(0.158), "sail-boom gap: inside, as near as the tape tells");
    assert!(said(0.162).starts_with("sail-boom gap 1 cm too big: pull the outhaul until the gap is smaller by 2 cm"));
    assert!(said(0.085).starts_with("sail-boom gap 1.5 cm too small: ease the outhaul until the gap is bigger by 2 cm"));
    assert!(judged(f64::NAN, band, 0.01, &mast()).is_err());
}

#[test]
fn costs_follow_the_square_law_through_edge_and_step() {
    let band = band(Gauge::SailBoomGap, 0.10, 0.15);
    // Closed form: a loss k d^2 with 0.3 % of 500 m at the edge and 4 m a step beyond puts the best (root edge)/(root step -
    // root edge) steps inside the edge.
    let (edge, beyond) = ((NO_DIFFERENCE * COST_LEG).sqrt(), 2.0);
    let inside = edge / (beyond - edge);
    for steps in [1.0, 2.0, 3.5] {
        let reading = judged(0.15 + 0.01 * steps, band, 0.001, &mast()).unwrap();
        let closed = 4.0 * ((inside + steps) / (inside + 1.0)).powi(2);
        assert!((reading.cost.unwrap() - closed).abs() < 1e-9);
        // Rough beyond half the band's width of 5 cm.
        assert_eq!(reading.rough, steps > 2.5);
    }
    assert!(judged(0.30, band, 0.001, &mast()).unwrap().rough);
    assert_eq!(judged(0.12, band, 0.001, &mast()).unwrap().cost, Some(0.0));
}

/// What we do not know lets more pass, and what lies beyond still costs what it costs from the edge of what makes no difference.
#[test]
fn a_doubt_widens_the_band_and_not_the_cost() {
    let plain = Setting {
        gauge: Gauge::SailBoomGap,
        matters: true,
        doubt: None,
        value: 0.125,
        low: 0.10,
        high: 0.15,
        cost_low: 3.0,
        cost_high: 4.0,
        step: 0.01,
        basis: Basis::Theory,
    };
    let doubted = Setting { doubt: Some((0.12, 0.18)), ..plain };
    let told = |setting: &Setting, at: f64| judged(at, Band::of(setting), 0.0, &mast()).unwrap();
    assert_eq!((told(&plain, 0.17).verdict, told(&doubted, 0.17).verdict), (Verdict::High, Verdict::Inside));
    let (plain, doubted) = (told(&plain, 0.20).cost.unwrap(), told(&doubted, 0.20).cost.unwrap());
    assert!((plain - doubted).abs() < 1e-9, "{plain} {doubted}");
}

#[test]
fn where_no_band_is_known_a_step_either_way_passes_and_no_cost_is_made_up() {
    let setting = |gauge, value: f64| {
        let step = Gauge::unit_si(gauge);
        Band::of(&Setting {
            gauge,
            matters: true,
            doubt: None,
            value,
            low: value,
            high: value,
            cost_low: 0.0,
            cost_high: 0.0,
            step,
            basis: Basis::CommonPractice,
        })
    };
    let downhaul = setting(Gauge::DownhaulLine, 0.02);
    assert_eq!(judged(0.03, downhaul, 0.0, &mast()).unwrap().verdict, Verdict::Inside);
    let tight = judged(0.06, downhaul, 0.0, &mast()).unwrap();
    assert_eq!((tight.verdict, tight.cost), (Verdict::High, None));
    let preventer = setting(Gauge::Preventer, 0.0);
    let on = judged(1.0, preventer, 0.0, &mast()).unwrap();
    assert_eq!(on.words(LENGTH, Tape::METRIC), "preventer on: take the preventer off");
    assert_eq!(judged(0.0, preventer, 0.0, &mast()).unwrap().verdict, Verdict::Inside);
}

#[test]
fn inches_are_told_in_inches() {
    let band = band(Gauge::SailBoomGap, 0.10, 0.15);
    let tape = Tape { unit: "in", metres: 0.0254 };
    assert!(
        judged(0.10 - 0.0508, band, 0.01, &mast())
            .unwrap()
            .words(LENGTH, tape)
            .starts_with("sail-boom gap 2 in too small: ease the outhaul until the gap is bigger by 2.25 in")
    );
}
