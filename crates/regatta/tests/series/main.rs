//! Series files as people write them, good and bad.

mod wide;

use measure::Warned;
use regatta::Error;
use regatta::scoring::{Series, Standings, changes};

const HEAD: &str = "name = \"spring series\"\nedition = \"2025-2028\"\nresults = \"results.csv\"\n";

fn read(toml: &str, rows: &str) -> Result<Warned<Series>, Error> {
    let text = format!("race,boat,place,code,points\n{rows}");
    Series::read(toml, |_| Ok::<_, String>(text.clone()))
}

fn score(more: &str, rows: &str) -> Result<Warned<Standings>, Error> {
    let read = read(&format!("{HEAD}entries = [\"A1\", \"A2\", \"A3\"]\n{more}"), rows)?;
    let mut warnings = read.warnings;
    let scored = read.value.standings()?;
    warnings.extend(scored.warnings);
    Ok(Warned::new(scored.value, warnings))
}

const GOOD: &str = "1,A1,1,,\n1,A2,2,,\n1,A3,3,,\n2,A1,2,,\n2,A2,1,,\n2,A3,,DNF,\n";

#[test]
fn the_answer_has_the_keys_the_command_promises() {
    let told = score("", GOOD).unwrap();
    assert_eq!(told.warnings, []);
    let json = serde_json::to_value(&told.value).unwrap();
    let first = &json["standings"][0];
    assert_eq!(first.as_object().unwrap().keys().collect::<Vec<_>>(), ["boat", "rank", "net", "total", "why", "races"]);
    assert_eq!(first["races"][0].as_object().unwrap().keys().collect::<Vec<_>>(), ["score", "code", "excluded"]);
    let expected = serde_json::json!({
        "boat": "A2", "rank": 1, "net": 1, "total": 3,
        "why": "1 point, tied: ahead of A1 by A8.2, the last race: 1 against 2",
        "races": [{"score": 2, "code": null, "excluded": true}, {"score": 1, "code": null, "excluded": false}],
    });
    assert_eq!(first, &expected);
    assert_eq!(json["standings"][2]["races"][1], serde_json::json!({"score": 4, "code": "DNF", "excluded": true}));
    let half = score("", "1,A1,1,,\n1,A2,1,,\n1,A3,3,,\n").unwrap().value;
    assert_eq!(serde_json::to_value(&half).unwrap()["standings"][0]["net"], serde_json::json!(1.5));
}

/// What is wrong in a sheet is refused, with file and line, what was found and what would do.
#[test]
fn a_bad_sheet_is_refused_in_words() {
    for (rows, wanted) in [
        ("1,A1,1,,\n1,A1,2,,\n", &["results.csv line 3", "A1 has place 2 in race 1 and had place 1 on line 2", "keep the right one"][..]),
        ("1,A1,,DFN,\n", &["results.csv line 2, code", "\"DFN\"", "nearest is DNF"]),
        ("1,A1,DSG,,\n", &["place", "\"DSG\"", "nearest is DSQ"]),
        ("1,A1,\"2,5\",,\n", &["\"2,5\" is not a place", "whole number"]),
        ("1,A1,2,5,,,\n", &["line 2", "fields under 5 headings", "between quotes"]),
        ("1,A1,0,,\n", &["\"0\" is not a place"]),
        ("1,A1,-1,,\n", &["\"-1\" is not a place"]),
        ("1,B7,1,,\n", &["\"B7\" is not among the entries", "add her"]),
        ("1,A1,2,DNF,\n", &["place 2 with DNF", "take out"]),
        ("1,A1,,SCP,\n", &["SCP without a place"]),
        ("1,A1,,DPI,\n", &["DPI without points"]),
        ("1,A1,3,DPI,2\n", &["DPI with 2 points, better than the 3 of her place"]),
        ("1,A1,,RDG,lots\n", &["\"lots\" is no number of points"]),
        ("1,A1,,RDG,before\n", &["race 1, boat A1", "no earlier race"]),
        ("1,,1,,\n", &["race and boat", "blank"]),
        ("", &["no race has a result"]),
    ] {
        let error = score("", rows).unwrap_err().to_string();
        for part in wanted {
            assert!(error.contains(part), "{rows:?}: {error}");
        }
    }
}

#[test]
fn a_bad_series_file_is_refused_in_words() {
    let entries = "entries = [\"A1\", \"A2\", \"A3\"]\n";
    for (toml, wanted) in [
        (format!("{HEAD}{entries}withdrawn = true\n"), &["line 5, withdrawn", "spring series", "withdrawn"][..]),
        (format!("{HEAD}{entries}exclusion = 2\n"), &["line 5", "exclusion", "write a line like exclusions = {"]),
        (format!("{HEAD}{entries}exclusions = {{ from_races = [4], exclude = [1, 2] }}\n"), &["line 5, exclusions", "go together"]),
        (format!("{HEAD}{entries}exclusions = \"two\"\n"), &["line 5", "a number was wanted"]),
        (format!("{HEAD}entries = []\n"), &["line 4, entries", "no boat"]),
        (HEAD.to_owned(), &["missing field `entries`", "write a line like entries = [\"A1\", \"A2\"]"]),
        (format!("{}{entries}", HEAD.replace("2025-2028", "2029")), &["line 2, edition", "\"2029\"", "\"2025-2028\""]),
        (
            format!("{HEAD}{entries}fleets = {{ gold = [\"A1\"], silver = [\"A2\"] }}\n"),
            &["line 5, fleets: A3 is in no fleet", "put every boat in one fleet"],
        ),
        (format!("{HEAD}{entries}divisions = {{ junior = [\"A9\"] }}\n"), &["line 5, divisions.junior", "\"A9\""]),
        (format!("{}{entries}", HEAD.replace("\"results.csv\"", "[\"a.csv\", \"a.csv\"]")), &["a.csv is named twice"]),
        ("name = ".to_owned(), &["series file line 1", "mend that line"]),
    ] {
        let error = read(&toml, GOOD).unwrap_err().to_string();
        for part in wanted {
            assert!(error.contains(part), "{toml}: {error}");
        }
    }
    let missing = Series::read(&format!("{HEAD}{entries}"), |_| Err("there is no such file")).unwrap_err().to_string();
    assert!(missing.contains("line 3, results") && missing.contains("results.csv: there is no such file"), "{missing}");
}

/// What can be scored is, with a warning for what was doubtful.
#[test]
fn a_doubtful_sheet_is_scored_with_a_warning() {
    for (rows, wanted) in [
        ("1,A1,1,,\n1,A2,2,,\n", "no result for A3; scored DNC"),
        ("1,A1,1,,\n1,A2,3,,\n1,A3,,DNF,\n", "nobody has place 2"),
        ("1,A1,1,,\n1,A2,3,,\n1,A3,,DSQ,\n", "place 2 is missing"),
        ("1,A1,,DNF,\n1,A2,,DNF,\n1,A3,,DNF,\n", "nobody has a finishing place"),
        ("1,A1,1,,\n1,A2,2,,\n1,A3,,,\n", "both are blank"),
        ("1,A1,1,,\n1,A2,2,,\n1,A3,,RDG,\"1,5\"\n", "was read as 1.5"),
        ("1,A1,1,,\n1,A2,2,,2\n1,A3,3,,\n", "points are worked out"),
    ] {
        let told = score("exclusions = 0\n", rows).unwrap().warnings;
        assert!(told.iter().any(|warning| warning.to_string().contains(wanted)), "{rows}: {told:?}");
    }
    let left = score("exclusions = 0\nwithdrawn = [\"A3\"]\n", "1,A1,1,,\n1,A2,2,,\n").unwrap();
    assert_eq!((left.warnings.len(), left.value.standings[2].net.to_string().as_str()), (0, "4"));
    let one = score("exclusions = 2\n", "1,A1,1,,\n1,A2,2,,\n1,A3,3,,\n").unwrap();
    assert_eq!((one.warnings.len(), one.value.standings[0].net.to_string().as_str()), (1, "1"));
}

#[test]
fn exclusions_follow_the_number_of_races() {
    for (races, excluded) in [(1, 0), (3, 0), (4, 1), (7, 1), (8, 2)] {
        let rows: String = (1..=races).map(|race| format!("{race},A1,1,,\n{race},A2,2,,\n{race},A3,3,,\n")).collect();
        let told = score("exclusions = { from_races = [4, 8], exclude = [1, 2] }\n", &rows).unwrap().value;
        assert_eq!(told.standings[2].races.iter().filter(|race| race.excluded).count(), excluded, "{races}");
    }
}

#[test]
fn sheets_with_semicolons_and_entries_from_a_file_are_read() {
    let files = |name: &str| match name {
        "boats.csv" => Ok("sailor;boat\nx;A1\ny;A2\n".to_owned()),
        "commas.csv" => Ok("boat,sailor\n\"A1, the second\",x\nA2,y\n".to_owned()),
        "results.csv" => {
            Ok("\u{feff}Race;Boat;Place;Code;Points\n10;A1;1;;\n10;A2;2;;\n9;A1;dnf;;\n9;A2;1;;\n2;A1;;RDG;10,5\n2;A2;1;;\n".to_owned())
        }
        other => Err(format!("no file {other}")),
    };
    let told = Series::read(&format!("{HEAD}entries = \"boats.csv\"\nexclusions = 0"), files).unwrap().value.standings().unwrap().value;
    assert_eq!(told.races, ["2", "9", "10"]);
    assert_eq!(told.standings[1].net.to_string(), "14.5");
    let commas = Series::read(&format!("{}entries = \"commas.csv\"", HEAD.replace("results.csv", "none.csv")), |name| {
        if name == "none.csv" { Ok("race,boat,place\n1,\"A1, the second\",1\n1,A2,2\n".to_owned()) } else { files(name) }
    });
    assert_eq!(commas.unwrap().value.boats(), ["A1, the second", "A2"]);
}

/// Fleets that raced apart are scored by their own entries; divisions by the scores of all, or by their own places.
#[test]
fn fleets_and_divisions_are_ranked_by_themselves() {
    let fleets = score("fleets = { gold = [\"A1\", \"A2\"], silver = [\"A3\"] }\n", "1,A1,1,,\n1,A2,,DNF,\n1,A3,1,,\n2,A1,1,,\n2,A2,2,,\n")
        .unwrap()
        .value;
    assert!(fleets.standings.is_empty());
    let gold = &fleets.fleets[0];
    assert_eq!((gold.name.as_str(), gold.standings[1].races[0].score.to_string().as_str()), ("gold", "3"));
    assert_eq!(fleets.fleets[1].races, ["1"], "the silver fleet sailed one race");
    // Both at once: a division is ranked within each fleet, and a fleet is not missed in another one's race.
    let both = score(
        "fleets = { gold = [\"A1\", \"A2\"], silver = [\"A3\"] }\ndivisions = { junior = [\"A2\", \"A3\"] }\n",
        "gold 1,A1,1,,\ngold 1,A2,2,,\nsilver 1,A3,1,,\n",
    )
    .unwrap();
    assert_eq!(both.warnings, []);
    let divisions: Vec<_> = both.value.divisions.iter().map(|d| (d.name.as_str(), d.standings[0].net.to_string())).collect();
    assert_eq!(divisions, [("gold, junior", "2".to_owned()), ("silver, junior", "1".to_owned())]);

    let rows = "1,A1,1,,\n1,A2,2,,\n1,A3,3,,\n";
    let net = |more: &str| {
        let told = score(&format!("divisions = {{ junior = [\"A2\", \"A3\"] }}\n{more}"), rows).unwrap().value;
        told.divisions[0].standings.iter().map(|boat| (boat.boat.clone(), boat.rank, boat.net.to_string())).collect::<Vec<_>>()
    };
    assert_eq!(net(""), [("A2".into(), 1, "2".into()), ("A3".into(), 2, "3".into())]);
    assert_eq!(net("division_places = \"own\"\n"), [("A2".into(), 1, "1".into()), ("A3".into(), 2, "2".into())]);
}

/// A season: several sheets, one list of entries; a boat that missed an event did not come to its races.
#[test]
fn a_season_is_a_series_with_several_sheets() {
    let toml = format!("{}entries = [\"A1\", \"A2\"]\n", HEAD.replace("\"results.csv\"", "[\"may.csv\", \"june.csv\"]"));
    let files = |name: &str| {
        Ok::<_, String>(if name == "may.csv" { "race,boat,place\n1,A1,1\n1,A2,2\n" } else { "race,boat,place\n1,A2,1\n" }.to_owned())
    };
    let season = Series::read(&toml, files).unwrap();
    assert_eq!(season.warnings.len(), 1);
    let told = season.value.standings().unwrap().value;
    assert_eq!(told.races, ["may 1", "june 1"]);
    assert_eq!(told.standings.iter().map(|boat| boat.boat.as_str()).collect::<Vec<_>>(), ["A2", "A1"]);
}

#[test]
fn a_correction_tells_what_it_changed() {
    let before = score("exclusions = 0\n", GOOD).unwrap().value;
    assert_eq!(changes(&before, &before), []);
    let after = score("exclusions = 0\n", &GOOD.replace("2,A2,1,,", "2,A2,1,DSQ,")).unwrap().value;
    let told = changes(&before, &after);
    assert_eq!(told.iter().map(|boat| boat.boat.as_str()).collect::<Vec<_>>(), ["A1", "A2"]);
    assert_eq!((told[0].rank, told[1].rank), ((Some(2), Some(1)), (Some(1), Some(2))));
    let json = serde_json::to_value(&told[1]).unwrap();
    assert_eq!(json["net"], serde_json::json!([3, 6]));
    assert_eq!(json["races"][0]["code"], serde_json::json!([null, "DSQ"]));
    let gone = score("exclusions = 0\n", "1,A1,1,,\n1,A2,2,,\n1,A3,3,,\n").unwrap().value;
    assert!(changes(&before, &gone).iter().any(|boat| boat.races.iter().any(|race| race.race == "2" && race.score.1.is_none())));
}
