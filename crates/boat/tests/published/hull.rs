//! Figures others computed or measured of hulls: Wigley's hull heeled, the friction line, yacht series.

use boat::hull::judge::judge_hull;
use boat::hull::resistance::friction_line;

/// H5: section quadrature, confirmed by a mesh library within 0.03 %.
const WIGLEY_TOLERANCE: f64 = 1e-3;

#[test]
fn wigleys_hull_heeled_is_the_tables() {
    let cases = judge_hull(include_str!("wigley_heel_reference.csv")).unwrap();
    assert_eq!(cases.len(), 4);
    for case in cases {
        let errors = case.errors().unwrap();
        assert!(errors.iter().all(|e| *e < WIGLEY_TOLERANCE), "line {}: {errors:?}", case.line);
    }
}

/// H1: E.C. Tupper, Introduction to Naval Architecture, table 8.3; the row 5.62e6 A. Morrall, NPL Ship Report 142 (1970).
const FRICTION: &str = include_str!("ittc57_cf.csv");
/// The table is printed to six places.
const FRICTION_TOLERANCE: f64 = 1e-6;
/// Rows where the printed table departs from the formula it states, by less than two of its last places: 0.075/36 is 0.002083.
const MISPRINTS: [f64; 1] = [1e8];

#[test]
fn friction_is_the_ittc_57_line() {
    let mut met = 0;
    for line in FRICTION.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let (reynolds, table) = line.split_once(',').unwrap();
        let (reynolds, table): (f64, f64) = (reynolds.parse().unwrap(), table.parse().unwrap());
        let far = (friction_line(reynolds) - table).abs();
        let misprint = MISPRINTS.contains(&reynolds);
        assert!(far < FRICTION_TOLERANCE || misprint && far < 2.0 * FRICTION_TOLERANCE, "{reynolds}: {far}");
        assert_eq!(far >= FRICTION_TOLERANCE, misprint, "a known misprint has healed: {reynolds}");
        met += 1;
    }
    assert_eq!(met, 8);
}
