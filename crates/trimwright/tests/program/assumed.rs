//! `assumed`.

use crate::{keys, run};

#[test]
fn every_constant_without_a_source_is_listed_with_its_range() {
    let run = run(&["assumed", "--json"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let document = run.json();
    insta::assert_snapshot!(keys(&document), @r"
    measured.date
    measured.version
    constants[].name
    constants[].value
    constants[].low
    constants[].high
    constants[].unit
    constants[].where
    constants[].moves
    constants[].steps
    constants[].moved[].gauge
    constants[].moved[].leg
    constants[].moved[].wind_ms
    constants[].moved[].by
    constants[].moved[].unit
    constants[].moved[].steps
    constants[].moved[].share
    constants[].expected
    constants[].why
    constants[].moved[]
    ");
    // Counted in the data file itself, without the reader of the program.
    let file = std::fs::read_to_string(crate::project().join("data/constants.toml")).unwrap();
    let assumed = file.lines().filter(|line| line.starts_with("source = ") && line.contains("assumed")).count();
    let listed = document["constants"].as_array().unwrap();
    assert_eq!(listed.len(), assumed);
    for constant in listed {
        let number = |key: &str| constant[key].as_f64().unwrap();
        assert!(number("low") <= number("value") && number("value") <= number("high"), "{constant}");
    }
    let steps: Vec<f64> = listed.iter().map(|constant| constant["steps"].as_f64().unwrap()).collect();
    assert!(steps.windows(2).all(|two| two[0] >= two[1]) && steps[0] > 1.0, "{steps:?}");
}

#[test]
fn the_table_has_a_row_for_each() {
    let table = run(&["assumed"]).out;
    let document = run(&["assumed", "--json"]).json();
    for constant in document["constants"].as_array().unwrap() {
        let name = constant["name"].as_str().unwrap();
        assert_eq!(table.matches(&format!("\n{name} ")).count(), 1, "{name}");
    }
}
