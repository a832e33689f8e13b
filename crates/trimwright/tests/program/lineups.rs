//! `lineups`: what a table of passes tells. The figures themselves are judged where they are made.

use std::fs;

use crate::{keys, run, run_in};

const HEAD: &str = "pass,sailor,vmg_kn,vang_line\n";

fn told(text: &str) -> crate::Run {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("p.csv"), text).unwrap();
    run_in(folder.path(), &["lineups", "p.csv", "--json"])
}

#[test]
fn the_example_tells() {
    let run = run(&["lineups", "data/passes/example.csv", "--prior", "vang_line=0.02,0.02", "--json"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let document = run.json();
    let keys = keys(&document);
    for key in ["gauge", "from", "to", "vmg_difference_ms", "sd_ms", "df", "p", "passes", "words"] {
        assert!(keys.lines().any(|line| line == format!("effects[].{key}")), "{key} is not among\n{keys}");
    }
    let vang = &document["effects"][0];
    assert_eq!((vang["gauge"].as_str(), vang["from"].as_f64(), vang["to"].as_f64()), (Some("vang_line"), Some(1.0), Some(3.0)));
    // Precisions add, so the doubt after is below both.
    let after = document["corrected"][0]["after_ms"]["sd"].as_f64().unwrap();
    assert!(after < 0.02 && after > 0.0);
}

#[test]
fn a_sentence_and_no_rank_of_sailors() {
    let run = run(&["lineups", "data/passes/example.csv"]);
    assert_eq!(run.code, 0);
    assert!(run.out.contains("m per 500 m, between") && run.out.contains("vang_line from 1 to 3"), "{}", run.out);
    assert!(!run.out.contains("Wren") && !run.out.contains("Dipper"), "{}", run.out);
}

#[test]
fn what_cannot_be_told_is_a_reason_and_not_a_figure() {
    let one = told(&format!("{HEAD}1,A,2.1,0\n1,B,2.2,1\n"));
    assert_eq!(one.code, 1);
    assert!(one.err.contains("p.csv: passes: there is one pass only"), "{}", one.err);
    assert_eq!(one.json()["effects"].as_array().map(Vec::len), Some(0));
    let own = told(&format!("{HEAD}1,A,2.1,0\n1,B,2.2,1\n2,A,2.2,0\n2,B,2.25,1\n"));
    assert_eq!(own.code, 1);
    assert!(own.err.contains("cannot be told from the sailor"), "{}", own.err);
    told("pass,sailor,vang_line\n1,A,0\n").refused(&["p.csv: the table has no column vmg_kn"]);
    run(&["lineups", "data/passes/example.csv", "--prior", "vang=1"]).refused(&["a middle and a doubt above zero"]);
    run(&["lineups", "data/passes/example.csv", "--prior", "vang=1,1"])
        .refused(&["the table has no such setting; it has vang_line, car_in"]);
}
