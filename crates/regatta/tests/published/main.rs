//! Held against figures others published.

use measure::{Bearing, Length, Position};
use regatta::declination::declination;
use regatta::scoring::{Series, judge};

/// Worked cases of low point scoring, `scoring_cases.json`. Source: the first two, a judges' handbook, page 105 (A8.1, A8.2), as
/// each names it; the others worked from the Racing Rules of Sailing, Appendix A, in the edition each names, second-hand.
const SCORING: &str = include_str!("scoring_cases.json");

#[test]
fn every_scoring_case_agrees() {
    let verdict = judge(SCORING).unwrap();
    assert_eq!((verdict.cases, verdict.failed), (6, 0), "{:#?}", verdict.messages);
}

/// A judge that cannot fail judges nothing: each figure of an expectation, changed, is found.
#[test]
fn a_wrong_expectation_is_found() {
    for (right, wrong) in
        [("\"16\"", "\"17\""), ("\"3.4\"", "\"3\""), ("edition=2025", "edition=2021"), ("a53=True", "a53=False"), ("\"DNE\"", "5")]
    {
        let bent = SCORING.replacen(right, wrong, 1);
        assert_ne!(bent, SCORING);
        assert_eq!(judge(&bent).unwrap().failed, 1, "{right} -> {wrong}");
    }
    assert_eq!(judge("[{}, {\"races\": 3}, {\"table\": {\"A\": [1], \"B\": [1, 2]}}]").unwrap().failed, 3);
    assert!(judge("{}").is_err());
}

/// Rule A9, to the nearest tenth, half up. Source: a worked average of nine races, 1 1 1 10 10 10 15 18 100 -> 18.4.
#[test]
fn a_redress_average_agrees() {
    let boats: Vec<String> = (1..=110).map(|n| format!("B{n}")).collect();
    let mut rows = String::from("race,boat,place,code,points\n");
    for (race, place) in [1, 1, 1, 10, 10, 10, 15, 18, 100].into_iter().enumerate() {
        for (at, boat) in boats.iter().enumerate() {
            let other = if at == 0 {
                place
            } else if at < place {
                at
            } else {
                at + 1
            };
            rows += &format!("{},{boat},{other},,\n", race + 1);
        }
    }
    for (at, boat) in boats.iter().enumerate() {
        rows += &if at == 0 { format!("10,{boat},,RDG,others\n") } else { format!("10,{boat},{at},,\n") };
    }
    let toml = format!("name = \"a series\"\nedition = \"2025-2028\"\nresults = \"r.csv\"\nentries = {boats:?}\n");
    let series = Series::read(&toml, |_| Ok::<_, String>(rows.clone())).unwrap();
    assert_eq!(series.warnings, []);
    let standings = series.value.standings().unwrap().value;
    let boat = standings.standings.iter().find(|standing| standing.boat == "B1").unwrap();
    assert_eq!(boat.races[9].score.to_string(), "18.4");
}

/// Degrees: one unit in the last place published; the model in single precision and the whole day add less.
const DECLINATION: f64 = 0.01;

/// Source: the table's own head, WMM2025 test values of NOAA NCEI and the British Geological Survey.
#[test]
fn declination_agrees_with_the_test_values() {
    let table = include_str!("wmm2025_declination.csv");
    let mut worst = 0.0_f64;
    let mut cases = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let row: Vec<f64> = line.split(',').map(|field| field.parse().unwrap()).collect();
        let place = Position::degrees(row[2], row[3]).unwrap();
        let found = declination(place, Length::metres(row[1] * 1000.0), row[0]).unwrap().value;
        worst = worst.max((found.angle.in_degrees() - row[4]).abs());
        cases += 1;
    }
    assert_eq!(cases, 12);
    assert!(worst <= DECLINATION, "off by {worst} degrees");
}

#[test]
fn declination_is_taken_off_and_put_back() {
    let place = Position::degrees(80.0, 0.0).unwrap();
    let here = declination(place, Length::metres(0.0), 2025.0).unwrap().value;
    let bearing = Bearing::degrees_true(0.5);
    let magnetic = here.magnetic_degrees(bearing);
    assert!((magnetic - (360.5 - 1.28)).abs() < DECLINATION, "{magnetic}");
    assert!(here.bearing(magnetic).turn_from(bearing).in_degrees().abs() < 1e-9);
    for year in [2019.9, 2030.1, f64::NAN, f64::INFINITY, -4.0] {
        assert!(declination(place, Length::metres(0.0), year).unwrap_err().to_string().contains("2029"));
    }
    let pole = Position::degrees(86.0, 140.0).unwrap();
    assert_eq!(declination(pole, Length::metres(0.0), 2025.0).unwrap().warnings.len(), 1);
}
