//! Days with a known truth: intervals hold it as often as they say, and a weed in one pass is noticed.

use std::fmt::Write;

use evidence::effect::{Belief, effects};
use evidence::passes::Passes;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

const KNOT: f64 = 1852.0 / 3600.0;
/// What the setting is worth, kn.
const TRUTH: f64 = 0.04;

/// A swapped line-up: pass sd .1 kn, boat sd .05 kn, wind .08 kn a knot, a sailor .03 kn faster, .02 kn for the windward place.
fn day(passes: usize, seed: u64) -> String {
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    let normal = |sd: f64| Normal::new(0.0, sd).unwrap();
    let mut text = "pass,sailor,boat,position,tack,wind_kn,vmg_kn,vang_line\n".to_owned();
    for pass in 0..passes {
        let (wind, level): (f64, f64) = (chance.random_range(5.0..12.0), normal(0.1).sample(&mut chance));
        for (sailor, place) in [("Q", 0), ("P", 1)] {
            let new = (pass + place) % 2;
            let high = (pass / 2 + place) % 2;
            let wind = wind + normal(0.1).sample(&mut chance);
            let vmg = 1.5 + level + 0.08 * wind + TRUTH * new as f64 + 0.03 * place as f64 + 0.02 * high as f64;
            let vmg = vmg + normal(0.05).sample(&mut chance);
            let position = ["low", "high"][high];
            writeln!(text, "{pass},{sailor},{sailor},{position},,{wind},{vmg},{new}").unwrap();
        }
    }
    text
}

/// The issue's own limits for intervals that say .95; over 1000 days chance alone moves the share by .007.
#[test]
fn intervals_hold_the_truth() {
    for (passes, days) in [(6, 1000), (12, 1000)] {
        let mut held = 0;
        let mut sum = 0.0;
        for seed in 0..days {
            let found = effects(&Passes::read(&day(passes, seed)).unwrap().value).value;
            let effect = &found.effects[0];
            held += u32::from((effect.low_ms..=effect.high_ms).contains(&(TRUTH * KNOT)));
            sum += effect.vmg_difference_ms / KNOT;
        }
        let (coverage, bias) = (f64::from(held) / days as f64, sum / days as f64 - TRUTH);
        println!("{passes} passes, {days} days: coverage {coverage:.3}, bias {bias:+.4} kn");
        assert!((0.90..=0.975).contains(&coverage), "{passes} passes: {coverage}");
        // Three standard errors of the mean of the days.
        assert!(bias.abs() < 3.0 * 0.05 * (2.0 / passes as f64 / days as f64).sqrt() * 1.5, "{bias}");
    }
}

#[test]
fn a_weed_is_noticed() {
    let clean = day(12, 5);
    let plain = effects(&Passes::read(&clean).unwrap().value).value;
    let weed: String = clean
        .lines()
        .enumerate()
        .map(|(at, line)| {
            if at != 12 {
                return format!("{line}\n");
            }
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            cells[6] = (cells[6].parse::<f64>().unwrap() - 1.5).to_string();
            format!("{}\n", cells.join(","))
        })
        .collect();
    let found = effects(&Passes::read(&weed).unwrap().value).value;
    let robust = |a: &evidence::effect::Analysis| a.effects[0].robust_difference_ms;
    let told = |a: &evidence::effect::Analysis| a.effects[0].vmg_difference_ms;
    assert!(found.notes.iter().any(|note| note.contains("far from the rest")), "{:?}", found.notes);
    assert!((robust(&found) - robust(&plain)).abs() < 0.3 * (told(&found) - told(&plain)).abs());
}

/// A wind that slowly favours the boat with the new setting, then the other: the doubt of the order is wider, and a note says so.
#[test]
fn a_drift_is_noticed() {
    let mut text = "pass,sailor,vmg_kn,vang_line\n".to_owned();
    for pass in 0..16 {
        let drift = 0.2 * (f64::from(pass) * core::f64::consts::TAU / 16.0).sin();
        for (sailor, new) in [("P", pass % 2), ("Q", 1 - pass % 2)] {
            writeln!(text, "{pass},{sailor},{},{new}", 2.0 + 0.01 * f64::from(pass % 3) + drift * f64::from(new)).unwrap();
        }
    }
    let found = effects(&Passes::read(&text).unwrap().value).value;
    assert!(found.effects[0].sd_in_order_ms > 1.5 * found.effects[0].sd_ms);
    assert!(found.notes.iter().any(|note| note.contains("as if the day drifted")), "{:?}", found.notes);
}

#[test]
fn thousands_of_passes() {
    let found = effects(&Passes::read(&day(3000, 1)).unwrap().value).value;
    assert_eq!(found.effects[0].more_passes, Some(0));
    assert!((found.effects[0].vmg_difference_ms / KNOT - TRUTH).abs() < 0.005);
}

/// By hand: precisions 1 / .02^2 and 1 / .01^2 weigh the means 1 to 4.
#[test]
fn a_prediction_is_corrected() {
    let after = Belief { mean: 0.05, sd: 0.02 }.after(0.0, 0.01);
    assert!((after.mean - 0.01).abs() < 1e-15 && (after.sd - 0.0001f64.sqrt() * 0.8f64.sqrt()).abs() < 1e-15);
    let prior = Belief { mean: 0.05, sd: 0.02 };
    assert_eq!(prior.after(f64::NAN, 0.01), prior);
    assert_eq!(prior.after(0.0, 0.0), prior);
}
