//! The outings are what they say they are, judged from the states alone and not by the code that made the truth.

use measure::Position;
use rehearsal::recorder::recorded;
use rehearsal::{Doing, Kind, LegKind, MarkKind, Outing, Turn, outing};

/// Positions once a second against velocities at both ends: the trapezoid errs by curvature only, worst in a hard turn.
const STEP_TOLERANCE: f64 = 0.35;

fn spread(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt()
}

/// Mean-wind directions as degrees about the first one's, so that they can be averaged.
fn directions(outing: &Outing) -> Vec<f64> {
    let first = outing.wind[0].from;
    outing.wind.iter().map(|w| (w.from - first + 540.0).rem_euclid(360.0) - 180.0).collect()
}

#[test]
fn the_same_seed_is_the_same_day() {
    for kind in [Kind::TwoBoats, Kind::Phones] {
        let (a, b) = (outing(kind, 5), outing(kind, 5));
        assert_eq!(a.states, b.states);
        assert_eq!(a.recorders, b.recorders);
        assert_ne!(a.states[0], outing(kind, 6).states[0]);
    }
}

#[test]
fn every_kind_is_whole_and_moves_by_its_own_velocity() {
    for kind in Kind::ALL {
        let outing = outing(kind, 1);
        let boats = outing.states.len();
        assert_eq!([boats; 4], [outing.recorders.len(), outing.legs.len(), outing.manoeuvres.len(), outing.roundings.len()]);
        let (mut worst, mut count) = (0.0_f64, 0);
        for states in &outing.states {
            for pair in states.windows(2) {
                let (a, b) = (&pair[0], &pair[1]);
                assert!((b.time - a.time - 1.0).abs() < 1e-9);
                assert!(a.x.is_finite() && a.y.is_finite() && a.speed() < 3.5, "{}", kind.name());
                // Over the ground less through the water is the current.
                let second = (a.time - outing.start) as usize;
                let current = outing.current[second];
                assert!((a.over_ground[0] - a.over_water[0] - current[0]).abs() < 1e-9);
                // Wind over the ground less wind over the water is the current too.
                let (g, w) = (a.wind_ground.vector(), a.wind_water.vector());
                assert!((g[1] - w[1] - current[1]).abs() < 1e-9);
                if a.doing == Doing::Sailing && b.doing == Doing::Sailing {
                    let x = b.x - a.x - 0.5 * (a.over_ground[0] + b.over_ground[0]);
                    let y = b.y - a.y - 0.5 * (a.over_ground[1] + b.over_ground[1]);
                    worst = worst.max(x.hypot(y));
                    count += 1;
                }
            }
        }
        assert!(count > 1000 && worst < STEP_TOLERANCE, "{}: {worst}", kind.name());
    }
}

#[test]
fn legs_cover_the_outing_without_a_hole() {
    let outing = outing(Kind::Oscillating, 2);
    for (legs, states) in outing.legs.iter().zip(&outing.states) {
        assert_eq!(legs[0].start, states[0].time);
        assert_eq!(legs[legs.len() - 1].end, states[states.len() - 1].time + 1.0);
        assert!(legs.windows(2).all(|p| p[0].end == p[1].start && p[0].kind != p[1].kind));
    }
    let towed: f64 = outing.legs.iter().flatten().filter(|l| l.kind == LegKind::Tow).map(|l| l.end - l.start).sum();
    assert!(towed > 300.0, "this kind is towed home: {towed}");
}

#[test]
fn winds_differ_as_their_kinds_say() {
    let of = |kind| spread(&directions(&outing(kind, 3)));
    let (steady, swinging) = (of(Kind::Steady), of(Kind::Oscillating));
    assert!(steady < 3.0 && swinging > 4.0, "{steady} {swinging}");
    let shifted = directions(&outing(Kind::Persistent, 3));
    let fifth = shifted.len() / 5;
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let by = (mean(&shifted[shifted.len() - fifth..]) - mean(&shifted[..fifth])).abs();
    assert!((12.0..32.0).contains(&by), "the shift stays: {by}");
    let speed = |kind| outing(kind, 3).wind.iter().map(|w| w.speed).sum::<f64>() / outing(kind, 3).wind.len() as f64;
    assert!(speed(Kind::Light) < 3.0 && speed(Kind::Strong) > 6.5);
    let current = outing(Kind::Current, 3).current;
    assert!(current.iter().all(|c| c[0].hypot(c[1]) > 0.15));
}

#[test]
fn a_tack_loses_metres_and_keeps_its_angles() {
    let outing = outing(Kind::Steady, 4);
    let tacks: Vec<_> = outing.manoeuvres.iter().flatten().filter(|m| m.kind == Turn::Tack && m.clear).collect();
    assert!(tacks.len() > 80, "{}", tacks.len());
    let mut losses: Vec<f64> = tacks.iter().filter_map(|m| m.loss).collect();
    losses.sort_by(f64::total_cmp);
    let median = losses[losses.len() / 2];
    assert!((0.8..8.0).contains(&median), "{median}");
    let mut turns: Vec<f64> = tacks.iter().map(|m| m.turn).collect();
    turns.sort_by(f64::total_cmp);
    assert!((85.0..112.0).contains(&turns[turns.len() / 2]));
    // The bow is on the other side of the wind two seconds later.
    for (states, turns) in outing.states.iter().zip(&outing.manoeuvres) {
        for m in turns.iter().filter(|m| m.clear) {
            let i = (m.time - outing.start).floor() as usize;
            assert!((states[i].wind_angle() > 0.0) != (states[i + 1].wind_angle() > 0.0));
        }
    }
}

#[test]
fn roundings_pass_close_to_their_course_mark() {
    let outing = outing(Kind::Steady, 1);
    let all: Vec<_> = outing.roundings.iter().flatten().collect();
    assert!(all.len() >= 48, "eight boats, two races of two laps: {}", all.len());
    for (boat, roundings) in outing.roundings.iter().enumerate() {
        for r in roundings {
            let mark = &outing.course_marks[r.mark];
            let state = &outing.states[boat][(r.time - outing.start) as usize];
            assert!((state.x - mark.x).hypot(state.y - mark.y) < 20.0);
            assert_eq!(mark.kind, r.kind);
            assert_ne!(r.kind, MarkKind::Wing);
        }
    }
}

#[test]
fn reaching_only_never_beats() {
    for seed in 1..4 {
        let outing = outing(Kind::Reaching, seed);
        assert!(outing.legs.iter().flatten().filter(|l| l.kind == LegKind::Beat).map(|l| l.end - l.start).sum::<f64>() < 60.0);
        assert!(outing.manoeuvres.iter().flatten().all(|m| m.kind == Turn::Gybe || !m.clear));
    }
}

#[test]
fn a_trial_is_swapped_and_shows_over_many_days() {
    let (mut first, mut second) = (0_i32, 0_i32);
    let (mut sum, mut weight) = (0.0, 0.0);
    for seed in 1..9 {
        let outing = outing(Kind::LineUps, seed);
        assert!(outing.lineups.len() >= 18, "{}", outing.lineups.len());
        for l in &outing.lineups {
            assert!(l.end - l.start >= 60.0 && l.start > l.noted - 31.0);
            let carries = l.carries.unwrap();
            if carries == l.boats.0 {
                first += 1
            } else {
                second += 1
            }
            // Regress the difference on what the setting should have given at about 0.9 m/s made good.
            let expected = outing.setting_effect * 0.9 * if carries == l.boats.0 { 1.0 } else { -1.0 };
            sum += expected * l.difference;
            weight += expected * expected;
        }
    }
    assert!((first - second).abs() < 20, "{first} {second}");
    let slope = sum / weight;
    assert!((0.6..1.4).contains(&slope), "the setting's effect shows in the truth: {slope}");
}

#[test]
fn recorders_err_by_metres_and_show_their_faults() {
    let outing = outing(Kind::Steady, 1);
    let plane = outing.plane();
    for (recorder, states) in outing.recorders.iter().zip(&outing.states) {
        let errors: Vec<f64> = recorder
            .fixes
            .iter()
            .map(|f| {
                let (x, y) = plane.xy(Position::degrees(f.1, f.2).unwrap());
                let s = &states[((f.0 - recorder.clock_ahead - outing.start).round() as usize).min(states.len() - 1)];
                (x - s.x).hypot(y - s.y)
            })
            .collect();
        let rms = (errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64).sqrt();
        assert!((0.5..6.0).contains(&rms), "{}: {rms}", recorder.name);
    }
    let messy = rehearsal::outing(Kind::Messy, 1);
    let faults: Vec<&str> = messy.recorders.iter().flat_map(|r| r.faults.iter().copied()).collect();
    for fault in [
        "clock off by seconds",
        "clock an hour off",
        "spikes",
        "gaps",
        "snapped to a grid",
        "smoothed",
        "repeated stamps",
        "points out of order",
        "pauses when slow",
    ] {
        assert!(faults.contains(&fault), "{fault} in {faults:?}");
    }
    assert!(messy.recorders[5].fixes.len() > 9 * messy.recorders[0].fixes.len());
    assert!(messy.recorders[6].fixes.windows(2).any(|p| p[1].0 < p[0].0));
    let snapped = &messy.recorders[7].fixes;
    assert!(snapped.iter().all(|f| ((f.1 * 1e4).round() - f.1 * 1e4).abs() < 1e-6));
}

#[test]
fn ten_a_second_for_tests_of_scale() {
    let outing = outing(Kind::OneBoat, 1);
    let fast = recorded(&outing, 0, 10.0, 9);
    assert_eq!(fast.fixes.len(), (outing.states[0].len() - 1) * 10);
    assert!(fast.fixes.windows(2).all(|p| (p[1].0 - p[0].0 - 0.1).abs() < 2e-3));
    assert!(recorded(&outing, 7, 10.0, 9).fixes.is_empty(), "no such boat");
}
