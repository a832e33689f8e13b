//! `score`: the series as a coach keeps it. The rules themselves are judged where they are kept.

use std::fs;

use crate::{keys, names, run, run_in};

/// Three boats, two races; B is better in the second.
const SERIES: &str = "name = \"s\"\nedition = \"2025-2028\"\nresults = \"r.csv\"\nentries = [\"A\", \"B\", \"C\"]\n";
const RESULTS: &str = "race,boat,place,code,points\n1,A,1,,\n1,B,2,,\n1,C,3,,\n2,A,3,,\n2,B,1,,\n2,C,2,,\n";

/// Scores a series of these files.
fn scored(series: &str, results: &str, more: &[&str]) -> (crate::Run, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("s.toml"), series).unwrap();
    fs::write(folder.path().join("r.csv"), results).unwrap();
    let run = run_in(folder.path(), &[&["score", "s.toml"], more].concat());
    (run, folder)
}

#[test]
fn the_example_scores() {
    let run = run(&["score", "data/series/example.toml", "--json"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let document = run.json();
    insta::assert_snapshot!(keys(&document), @r"
    series
    edition
    races[]
    standings[].boat
    standings[].rank
    standings[].net
    standings[].total
    standings[].why
    standings[].races[].score
    standings[].races[].code
    standings[].races[].excluded
    warnings[]
    ");
    // By hand: Plover 2 1 1 OCS 2, entries + 1 = 9 for OCS, the worst left out: 6.
    let first = &document["standings"][0];
    assert_eq!((first["boat"].as_str(), first["net"].as_f64(), first["total"].as_f64()), (Some("Plover"), Some(6.0), Some(15.0)));
    assert_eq!(first["races"][3]["code"], "OCS");
    assert_eq!(first["races"][3]["excluded"], true);
}

#[test]
fn the_table_shows_what_was_excluded() {
    let (run, _folder) = scored(SERIES, RESULTS, &[]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert!(run.out.starts_with("s, scored by the Racing Rules of Sailing 2025-2028"), "{}", run.out);
    assert!(run.out.contains("(3)"), "{}", run.out);
}

#[test]
fn standings_go_into_a_file_whole() {
    let (run, folder) = scored(SERIES, RESULTS, &["--out", "standings.csv"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(names(folder.path()), ["r.csv", "s.toml", "standings.csv"]);
    let sheet = fs::read_to_string(folder.path().join("standings.csv")).unwrap();
    let lines: Vec<&str> = sheet.lines().collect();
    assert_eq!(lines[0], "part,rank,boat,net,total,race 1,race 2,why");
    assert_eq!(lines.len(), 4);
}

#[test]
fn results_are_printed() {
    let (run, folder) = scored(SERIES, RESULTS, &["--out", "standings.pdf"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(fs::read(folder.path().join("standings.pdf")).unwrap().starts_with(b"%PDF"));
}

#[test]
fn what_was_dropped_is_told_and_the_rest_scored() {
    let (run, _folder) = scored(SERIES, &RESULTS.replace("2,C,2,,\n", ""), &[]);
    assert_eq!(run.code, 1);
    assert!(run.err.starts_with("warning: r.csv, race 2: no result for C"), "{}", run.err);
    assert!(run.out.contains("DNC"), "{}", run.out);
}

#[test]
fn bad_series_are_refused_and_nothing_is_written() {
    let refused = |series: &str, results: &str, words: &[&str]| {
        let (run, folder) = scored(series, results, &["--out", "standings.csv"]);
        run.refused(words);
        assert_eq!(names(folder.path()), ["r.csv", "s.toml"]);
    };
    refused(&SERIES.replace("2025-2028", "1900"), RESULTS, &["s.toml line 2, edition", "\"1900\" is not an edition", "2025-2028"]);
    refused(&SERIES.replace("r.csv", "none.csv"), RESULTS, &["none.csv", "beside the series file"]);
    refused(&SERIES.replace("name", "nome"), RESULTS, &["s.toml line 1", "nome"]);
    refused(SERIES, &RESULTS.replace("1,C,3", "1,A,3"), &["r.csv line 4", "A has place 3 in race 1 and had place 1 on line 2"]);
    refused(SERIES, &RESULTS.replace("2,C,2,,", "2,C,,DNX,"), &["r.csv line 7", "\"DNX\" is not a scoring code"]);
    refused(SERIES, "race,boat,place,code,points\n", &["no race has a result"]);
    refused("", RESULTS, &["s.toml", "missing field"]);
}
