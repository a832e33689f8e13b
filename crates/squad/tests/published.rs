//! Court: published growth charts. What a squad file leaves out is taken from children of that size.

#![expect(clippy::unwrap_used, reason = "a test stops at what does not read")]

use squad::{HAND_PER_STATURE, read};

const TABLE: &str = include_str!("published/cdc2000_stature_for_mass.csv");

/// A straight line through the medians of both sexes stays this near each of them, m: within half the standard deviation of
/// children's stature at one age (6 to 8 cm in the same charts), which no mass alone can tell better.
const NEAR: f64 = 0.035;

/// How far the assumed share lies from the three hands it was taken from, m: three millimetres, a fifth of a finger.
const HAND_NEAR: f64 = 0.003;

fn rows() -> Vec<(f64, f64)> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(TABLE.as_bytes());
    reader.records().map(|row| row.unwrap()).map(|row| (row[2].parse().unwrap(), row[3].parse().unwrap())).collect()
}

#[test]
fn a_missing_stature_is_that_of_the_growth_charts() {
    let rows = rows();
    assert_eq!(rows.len(), 16);
    for (mass, centimetres) in rows {
        let squad = read("a", format!("sailor,boat,mass\nA,B,{mass} kg\n").as_bytes()).unwrap();
        let stature = squad.value.crews[0].sailor.body.stature;
        assert!((stature - centimetres / 100.0).abs() < NEAR, "{mass} kg: {stature:.3} m, the charts say {centimetres} cm");
    }
}

/// Snyder and others 1977, from memory: hands of boys of 10, 12 and 14 years, against the charts' statures.
#[test]
fn a_missing_hand_is_that_of_the_stature() {
    for (stature, hand) in [(1.386, 0.150), (1.491, 0.163), (1.638, 0.180)] {
        assert!((HAND_PER_STATURE * stature - hand).abs() < HAND_NEAR);
    }
}
