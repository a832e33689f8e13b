//! Sheets with a column for each race, as race officers keep them: read whole, or refused with every cell that was not understood.

use measure::Warned;
use regatta::Error;
use regatta::scoring::{Series, Standings, strangers};

const HEAD: &str = "name = \"spring series\"\nedition = \"2025-2028\"\nresults = \"r.csv\"\nexclusions = 1\n";
const ENTRIES: &str = "entries = [\"A1\", \"A2\", \"A3\"]\n";

fn read(more: &str, sheet: &str) -> Result<Warned<Series>, Error> {
    Series::read(&format!("{HEAD}{more}"), |_| Ok::<_, String>(sheet.to_owned()))
}

fn score(sheet: &str) -> Result<(Standings, Vec<String>), Error> {
    let read = read(ENTRIES, sheet)?;
    let scored = read.value.standings()?;
    Ok((scored.value, read.warnings.iter().chain(&scored.warnings).map(ToString::to_string).collect()))
}

/// By hand: A1 1 2 (4 OCS): 3; A2 (2) 1 2: 3, and the better last race (A8.2); A3 3, DNF 4, 1: 4.
#[test]
fn a_notice_board_sheet_is_scored() {
    let sheet = "Alder Basin spring series;;;;;;;\n\nRank;Sail No;Boat;Helm;R1;R2;R3;Total;Nett\n\
                 1;101;A1;x;1;2;(OCS 4);7;3\n2;102;A2;y;2;1;(2);5;3\n3;103;A3;z;3;(4.0 DNF);1;8;4\n\nSailed in light wind;;;\n";
    let (told, doubts) = score(sheet).unwrap();
    assert_eq!(told.races, ["1", "2", "3"]);
    let found: Vec<_> = told.standings.iter().map(|b| (b.boat.as_str(), b.net.to_string(), b.total.normalize().to_string())).collect();
    assert_eq!(found, [("A2", "3".into(), "5".into()), ("A1", "3".into(), "7".into()), ("A3", "4".into(), "8".into())]);
    for words in [
        "r.csv line 3: one row above the headings not read",
        "not races, and not read, since sums and ranks are worked out anew: \"Rank\", \"Total\", \"Nett\"",
        "boats are named by the column \"Boat\"; not read: \"Sail No\", \"Helm\"",
        "points beside OCS, DNF were not read",
        "brackets were read as scores left out",
        "r.csv line 8: no boat and no result in it, so it was not read: \"Sailed in light wind\"",
    ] {
        assert!(doubts.iter().any(|doubt| doubt.contains(words)), "{words}: {doubts:#?}");
    }
    assert_eq!(doubts.len(), 6, "{doubts:#?}");
}

#[test]
fn a_plain_wide_sheet_has_nothing_to_tell() {
    let (told, doubts) = score("boat,R1,R2\nA1,1,2\nA2,2,1\nA3,3,DNF\n").unwrap();
    assert_eq!((told.races.len(), doubts.as_slice()), (2, &[][..]));
    // Races are in their columns' order where they are no numbers.
    let (told, _) = score("boat,Sun 1,Sat 1\nA1,1,2\nA2,2,1\nA3,3,DNF\n").unwrap();
    assert_eq!(told.races, ["Sun 1", "Sat 1"]);
    // A race nobody has sailed yet is none; a boat without a result did not come.
    let (told, doubts) = score("boat,R1,R2\nA1,1,\nA2,2,\nA3,,\n").unwrap();
    assert_eq!(told.races, ["1"]);
    assert!(
        doubts[0].contains("no result yet, so not counted as races: \"R2\"") && doubts[1].contains("no result for A3; scored DNC"),
        "{doubts:?}"
    );
}

/// The column with the boats that are entered names the boats, whatever its heading.
#[test]
fn boats_are_found_by_what_stands_in_the_column() {
    let sheet = "Boat,Sail,R1\nWren,A1,2\nKnot,A2,1\nTeal,A3,3\n";
    let (told, _) = score(sheet).unwrap();
    assert_eq!(told.standings[0].boat, "A2");
    assert_eq!(strangers(sheet, &["Wren".to_owned()]), ["Knot", "Teal"]);
    assert_eq!(strangers(sheet, &[]), ["Wren", "Knot", "Teal"]);
    assert_eq!(strangers("race,boat,place\n1,A1,1\n1,A9,2\n2,A9,1\n", &["A1".to_owned()]), ["A9"]);
    // The sheet is an entry file too: who came to no race is in it.
    let series = read("entries = \"r.csv\"\n", "Boat,Sail,R1\nWren,A1,2\nKnot,A2,1\nTeal,A3,\n").unwrap();
    assert_eq!(series.value.boats(), ["Wren", "Knot", "Teal"]);
}

#[test]
fn every_cell_that_is_not_understood_is_told_at_once() {
    let error = score("boat,R1,R2\nA1,1st,2\nA2,2,DNX\nA3,3,2.5\nB9,4,4\n").unwrap_err().to_string();
    for words in [
        "r.csv line 2, column \"R1\": \"1st\" is not a scoring code",
        "line 3, column \"R2\": \"DNX\" is not a scoring code; the nearest is DNC",
        "line 4, column \"R2\": \"2.5\" is not a place; a place is a whole number from 1",
        "line 5, column \"boat\": \"B9\" is not among the entries; write \"A1\" if it is she, or add her to entries",
    ] {
        assert!(error.contains(words), "{words}: {error}");
    }
    for (sheet, words) in [
        ("boat,R1,Race 1\nA1,1,2\n", "the columns \"R1\" and \"Race 1\" are both race 1"),
        ("boat,R1\nA1,1\nA1,2\n", "line 3, column \"R1\": A1 has place 2 in race 1 and had place 1 on line 2; keep the right one"),
        ("boat,R1\nA1,1\nBoat,R1,R2\nA2,1,2\n", "line 3: another table with other headings begins here"),
        ("boat,R1\nA1,1,2\n", "3 fields under 2 headings"),
        ("boat,R1\n,1\n", "results of no boat"),
        ("boat,R1\nA1,5.5 SCP\n", "does not say in which place she finished"),
        ("boat,club\nA1,x\n", "boat,R1,R2 for a column for each race"),
        ("A1,1,2\nA2,2,1\n", "no column \"race\""),
        ("race,crew,place\n1,boat 1,1\n", "no column \"boat\""),
        ("boat,R1\nA1,\nA2,\n", "no race has a result"),
    ] {
        let error = score(sheet).unwrap_err().to_string();
        assert!(error.contains(words), "{sheet}: {error}");
    }
}

/// What can be read in two ways is scored, and the reading told.
#[test]
fn what_can_be_read_in_two_ways_is_told() {
    let (told, doubts) = score("boat,R1,R2\nA1,1,1\nA2,2 SCP,5.5 RDG\nA3,3,3 RDG\n").unwrap();
    assert!(doubts.iter().any(|d| d.contains("line 3, column \"R1\": \"2 SCP\" was read as place 2")), "{doubts:?}");
    assert!(doubts.iter().any(|d| d.contains("\"3 RDG\" was read as 3 points decided for her")), "{doubts:?}");
    let a2 = told.standings.iter().find(|b| b.boat == "A2").unwrap();
    assert_eq!(a2.races[1].score.to_string(), "5.5");
    let (_, doubts) = score("boat,R1,Sat 2,Worst 1\nA1,1,1,1\nA2,2,2,2\nA3,3,3,3\n").unwrap();
    assert!(doubts.iter().any(|d| d.contains("read as races by what stands in them: \"Sat 2\", \"Worst 1\"")), "{doubts:?}");
}

/// The invented series of the examples, turned by hand: the same standings either way.
#[test]
fn the_example_turned_has_the_same_standings() {
    let toml = include_str!("../../../../data/series/example.toml");
    let long = include_str!("../../../../data/series/spring.csv");
    let wide = "Boat,Race 1,Race 2,Race 3,Race 4,Race 5\nWren,3,4,2,4,1\nDipper,8,7,6,7,6\nLinnet,5,6,8,5,7\nCurlew,1,2,3,2,DSQ\nPlover,2,1,1,OCS,2\n\
                Knot,6,DNF,7,6,5\nAvocet,4,3,4,1,3\nTurnstone,7,5,5,3,4\n";
    let scored = |sheet: &str| {
        let series = Series::read(toml, |_| Ok::<_, String>(sheet.to_owned())).unwrap();
        assert_eq!(series.warnings, []);
        series.value.standings().unwrap().value
    };
    assert_eq!(scored(long), scored(wide));
}
