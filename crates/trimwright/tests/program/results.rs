//! The results page over a socket: a series from entries to a prize list, a correction told, what cannot be scored refused.

use std::time::Instant;

use crate::serving::{Page, Serving};

/// A page of 300 boats in 20 races comes within this, s: scoring takes 50 ms of it where nothing else runs.
const SOON: f64 = 5.0;

const RESULTS: &str = "race,boat,place,code,points\n1,Wren,1,,\n1,Knot,2,,\n1,Avocet,3,,\n2,Wren,,DNF,\n2,Knot,1,,\n2,Avocet,2,,\n";

/// A form with its fields, as a browser sends it.
fn send(pages: &Serving, fields: &[(&str, &str)], sheet: Option<&str>) -> Page {
    let mut body = String::new();
    for (name, value) in fields {
        body += &format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
    }
    if let Some(sheet) = sheet {
        body += &format!("--cut\r\nContent-Disposition: form-data; name=\"sheet\"; filename=\"r.csv\"\r\n\r\n{sheet}\r\n");
    }
    body += "--cut--\r\n";
    pages.send("POST", "/race-day/results", "Content-Type: multipart/form-data; boundary=cut\r\nSec-Fetch-Site: same-origin\r\n", &body)
}

fn series(results: &str) -> Vec<(&str, &str)> {
    vec![
        ("name", "autumn"),
        ("edition", "2025-2028"),
        ("entries", "Wren\r\nKnot\r\nAvocet"),
        ("first", "4"),
        ("second", ""),
        ("divisions", "junior: Avocet"),
        ("results", results),
    ]
}

fn address(page: &Page) -> String {
    page.head.lines().find_map(|l| l.strip_prefix("location: ")).unwrap().trim().to_owned()
}

#[test]
fn a_series_is_scored_corrected_and_downloaded() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    assert!(pages.get("/race-day/results").body.contains("A new series"));
    let kept = send(&pages, &series(RESULTS), None);
    assert_eq!(kept.status, 303, "{}", kept.body);
    let at = address(&kept);
    let page = pages.get(&at).body;
    for words in ["Knot leads after 2 races", "did not finish", "First, junior", "4 DNF"] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
    // Wren did finish the second race after all, third: the correction is told, boat by boat.
    let id = at.split_once("series=").unwrap().1.to_owned();
    let better = RESULTS.replace("2,Wren,,DNF,", "2,Wren,3,,");
    let mut fields = series(&better);
    fields.extend([("id", id.as_str()), ("version", "1")]);
    assert_eq!(send(&pages, &fields, None).status, 303);
    let page = pages.get(&at).body;
    assert!(page.contains("What the last correction changed") && page.contains("Wren: points 5 to 4; race 2: 4 DNF to 3"), "{page}");
    // An old tab writes over nothing.
    let again = send(&pages, &fields, None);
    assert!(again.status == 200 && again.body.contains("Somebody changed this series"), "{}", again.body);
    let get = |ending: &str| pages.get(&format!("/race-day/results.{ending}?series={id}"));
    assert!(get("pdf").body.starts_with("%PDF"));
    assert!(get("csv").body.starts_with("part,rank,boat,net,total,race 1,race 2,why\n,1,Knot,3,3,2,1,"), "{}", get("csv").body);
    let json: serde_json::Value = serde_json::from_str(&get("json").body).unwrap();
    assert_eq!(json["standings"][0]["boat"], "Knot");
    assert_eq!(pages.get("/race-day/results.pdf?series=1").status, 404);
    assert_eq!(pages.post("/race-day/results/gone", &[("id", &id), ("version", "2")]).status, 303);
    assert!(!pages.get("/race-day/results").body.contains("autumn"));
}

/// Two fleets that race apart and a division across both, by the form; a boat's name with a comma stays whole from the form to the prize list.
#[test]
fn fleets_have_their_own_results() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let results = "race,boat,place\n1,\"Wren, the second\",1\n1,Knot,2\n1,Avocet,1\n1,Skua,2\n";
    let fleets = "gold: Wren, the second, Knot\r\nsilver: Avocet, Skua";
    let fields = [
        ("name", "cup"),
        ("edition", "2025-2028"),
        ("entries", "Wren, the second\r\nKnot\r\nAvocet\r\nSkua"),
        ("first", "4"),
        ("second", ""),
        ("fleets", fleets),
        ("divisions", "junior: Knot, Skua"),
        ("results", results),
    ];
    let kept = send(&pages, &fields, None);
    assert_eq!(kept.status, 303, "{}", kept.body);
    let page = pages.get(&address(&kept)).body;
    for words in [
        "gold: Wren, the second leads after 1 race. silver: Avocet leads after 1 race.",
        "<h2>gold, junior</h2>",
        "First, silver, junior",
        "gold: Wren, the second, Knot\nsilver: Avocet, Skua\n</textarea>",
    ] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
    let mut wrong = fields;
    wrong[5] = ("fleets", "gold: Wren, the second, Knot\r\nsilver: Avocet");
    let refused = send(&pages, &wrong, None);
    assert!(refused.status == 200 && refused.body.contains("Skua is in no fleet"), "{}", refused.body);
}

#[test]
fn what_cannot_be_scored_is_told_beside_its_field() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let refused = |change: &[(&str, &str)], words: &str| {
        let mut fields = series(RESULTS);
        for (name, value) in change {
            fields.retain(|f| f.0 != *name);
            fields.push((name, value));
        }
        let page = send(&pages, &fields, None);
        assert!(page.status == 200 && page.body.contains("role=\"alert\"") && page.body.contains(words), "{change:?}: {}", page.body);
    };
    refused(&[("results", &RESULTS.replace("1,Avocet,3", "1,Wren,3"))], "Wren has place 3 in race 1 and had place 1 on line 2");
    refused(&[("results", &RESULTS.replace("DNF", "DNX"))], "is not a scoring code");
    refused(&[("results", &RESULTS.replace("1,Knot,2,,", "1,Knot,1,5,,"))], "put a value with a comma in it between quotes");
    refused(&[("results", &RESULTS.replace("1,Knot,2,,", "1,Knot,\"1,5\",,"))], "is not a place");
    refused(&[("results", "")], "no column");
    refused(
        &[("results", "boat,R1\nWren,1\nKnot,x\nAvocet,3-\n")],
        "line 4, column &quot;R1&quot;: &quot;3-&quot; is neither a place nor a code",
    );
    refused(&[("name", "")], "give it a name");
    refused(&[("entries", "")], "no boat is entered");
    refused(&[("entries", "Wren")], "is not among the entries");
    refused(&[("divisions", "junior")], "write its name and its boats");
    refused(&[("divisions", "junior: Stranger")], "is not among the entries");
    refused(&[("first", "four")], "type a number of races");
    refused(&[("edition", "1900")], "is not an edition");
    assert!(pages.get("/race-day/results").body.contains("A new series"));
    // What can be scored with a doubt is kept, and the doubt is told: nobody finished, and a place is left out.
    let nobody = format!("{RESULTS}3,Wren,,DNF,\n3,Knot,,DNF,\n3,Avocet,,RET,\n4,Wren,1,,\n4,Knot,3,,\n4,Avocet,4,,\n");
    let kept = send(&pages, &series(""), Some(&nobody));
    assert_eq!(kept.status, 303, "{}", kept.body);
    let page = pages.get(&address(&kept)).body;
    assert!(page.contains("nobody has a finishing place") && page.contains("race 4"), "{page}");
    // A series that is off is kept and says so.
    let mut off = series(RESULTS);
    off.push(("off", "1"));
    let kept = send(&pages, &off, None);
    assert_eq!(kept.status, 303, "{}", kept.body);
    assert!(pages.get(&address(&kept)).body.contains("is withdrawn"));
}

/// A race officer's own sheet: a column for each race, boats that nobody typed as entries, brought as a file and entered by one press.
#[test]
fn a_sheet_with_a_column_for_each_race_is_scored_and_its_boats_entered() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let sheet = "Rank\tSail No\tBoat\tR1\tR2\tTotal\n1\t7\tWren\t1\t(3)\t1\n2\t8\tKnot\t2\t1\t3\n3\t9\tAvo cet\tDNF (4)\t2\t6\n";
    let mut fields = series(sheet);
    fields.retain(|f| f.0 != "entries");
    fields.push(("entries", "Avocet"));
    let refused = send(&pages, &fields, None);
    assert_eq!(refused.status, 200);
    for words in [
        "results.csv line 2, column &quot;Boat&quot;: &quot;Wren&quot; is not among the entries",
        "3 boats of the sheet are not entered",
        "name=\"boat\" value=\"Wren\" checked",
        "value=\"Avo cet\"> Avo cet<small> is she Avocet? Then write her so in the sheet",
        "Enter those ticked and score",
    ] {
        assert!(refused.body.contains(words), "{words} is not in {}", refused.body);
    }
    assert!(!refused.body.contains("value=\"Avo cet\" checked"), "one who is written otherwise is not entered twice");
    // She is written right, the others are entered by a press, with what else stood in the form.
    let mended = sheet.replace("Avo cet", "Avocet");
    fields.retain(|f| f.0 != "results");
    fields.extend([("results", mended.as_str()), ("boat", "Wren"), ("boat", "Knot"), ("enter", "1")]);
    let kept = send(&pages, &fields, None);
    assert_eq!(kept.status, 303, "{}", kept.body);
    let page = pages.get(&address(&kept)).body;
    for words in [
        "Knot leads after 2 races",
        "4 DNF",
        "not races, and not read",
        "Avocet\nWren\nKnot\n</textarea>",
        "brackets were read as scores left out",
    ] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
}

/// A file in a code page is told with the word and the remedy; nothing that was typed is lost.
#[test]
fn a_file_in_another_encoding_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let mut body = Vec::new();
    for (name, value) in series(RESULTS) {
        body.extend_from_slice(format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").as_bytes());
    }
    body.extend_from_slice(
        b"--cut\r\nContent-Disposition: form-data; name=\"sheet\"; filename=\"r.csv\"\r\n\r\nboat,R1\nM\xf6we,1\n\r\n--cut--\r\n",
    );
    let page = pages.send(
        "POST",
        "/race-day/results",
        "Content-Type: multipart/form-data; boundary=cut\r\nSec-Fetch-Site: same-origin\r\n",
        &body,
    );
    assert_eq!(page.status, 200);
    for words in ["line 2, &quot;M\u{fffd}we&quot; has a letter of another code page", "CSV UTF-8", "2,Avocet,2,,"] {
        assert!(page.body.contains(words), "{words} is not in {}", page.body);
    }
    assert!(pages.get("/race-day/results").body.contains("A new series"));
}

#[test]
fn three_hundred_boats_in_twenty_races_are_a_page() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let boats: Vec<String> = (0..300).map(|n| format!("boat {n}")).collect();
    let mut results = String::from("race,boat,place,code,points\n");
    for race in 0..20_usize {
        for (n, boat) in boats.iter().enumerate() {
            results += &format!("{},{boat},{},,\n", race + 1, (n * 7 + race * 31) % 300 + 1);
        }
    }
    let entries = boats.join("\n");
    let fields = [("name", "large"), ("edition", "2025-2028"), ("entries", entries.as_str()), ("first", "4"), ("second", "8")];
    let kept = send(&pages, &fields, Some(&results));
    assert_eq!(kept.status, 303, "{}", kept.body);
    let begun = Instant::now();
    let page = pages.get(&address(&kept));
    assert!(begun.elapsed().as_secs_f64() < SOON, "{} s", begun.elapsed().as_secs_f64());
    assert!(page.body.matches("<tr").count() > 300);
    assert!(pages.get("/race-day/results.csv").body.lines().count() == 301);
}

/// The demo has a regatta from entries to a prize list, with a tie, a redress and a correction.
#[test]
fn the_demo_has_a_regatta() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let page = pages.get("/race-day/results").body;
    // By hand: Wren 2 4 5 1 4 (6) 1 and Teal 1 3 4 (13) 3 4 2 have 17 points, and Wren two firsts; Petrel's redress is the mean of her
    // other six, 33.6 / 6 = 5.6, with 2.6 points of penalty in one of them.
    for words in [
        "Skua leads after 7 races",
        "ahead of Teal by A8.1",
        "5.6 RDG",
        "7.6 SCP",
        "Prize list",
        "What the last correction changed",
        "Petrel: points",
        "Autumn cup",
    ] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
}
