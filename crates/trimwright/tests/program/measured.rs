//! A class by the tape: a boat that is not in the box is measured on the page, her boats sail by it at once, and its file does for the
//! commands what it does for the pages.

use std::fs;

use crate::serving::Serving;
use crate::{run, run_in};

const FROM: &str = "from=an%20invented%20pram";
/// A boat as a tape has her: transom, three places between and the bow, cm; longer than the pram and wider.
const STATIONS: [[&str; 6]; 5] = [
    ["0", "104", "92", "55", "58", "84"],
    ["65", "116", "104", "46", "50", "86"],
    ["130", "119", "106", "44", "48", "87"],
    ["200", "104", "90", "50", "55", "89"],
    ["260", "74", "60", "67", "72", "90"],
];

fn typed() -> Vec<(String, String)> {
    let mut fields: Vec<(String, String)> = vec![("from".into(), "an invented pram".into()), ("name".into(), "Heron".into())];
    for (k, row) in STATIONS.iter().enumerate() {
        fields.extend(["x", "side", "bilge", "keel", "chine", "sheer"].iter().zip(row).map(|(n, v)| (format!("{n}{k}"), (*v).to_owned())));
    }
    let places = [("hull.length_overall", "260"), ("hull.weight", "48"), ("mast.span", "240"), ("mast.load", "6"), ("mast.sag", "0.45")];
    fields.extend(places.map(|(k, v)| (k.to_owned(), v.to_owned())));
    fields
}

fn post(pages: &Serving, fields: &[(String, String)]) -> crate::serving::Page {
    pages.post("/squad/class", &fields.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect::<Vec<_>>())
}

#[test]
fn a_boat_is_measured_kept_and_sailed_by() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    assert!(pages.get("/squad/class").body.contains("Which boat is most like her?"));
    let form = pages.get(&format!("/squad/class?{FROM}"));
    assert!(form.body.contains("placeholder=\"245\"") && !form.body.contains("class=\"wrong\""), "{}", form.body);
    // As numbers are typed the drawing follows, and says what is left.
    let drawn = pages.get(&format!("/squad/class/drawn?{FROM}&name=Heron&hull.length_overall=270"));
    assert!(drawn.body.contains("<svg") && drawn.body.contains("places are not measured yet"), "{}", drawn.body);
    // What cannot be is told at its place.
    let wrong = pages.get(&format!("/squad/class/drawn?{FROM}&name=Heron&boom.length=-4"));
    assert!(wrong.body.contains("<b>Boom: </b>"), "{}", wrong.body);
    let wrong = pages.get(&format!("/squad/class/drawn?{FROM}&name=Heron&x0=0&side0=90"));
    assert!(wrong.body.contains("Station 1") && wrong.body.contains("lacks"), "{}", wrong.body);

    let mut own = typed();
    own[1].1 = "an invented pram".into();
    assert!(post(&pages, &own).body.contains("comes with the program"));
    assert_eq!(post(&pages, &typed()).status, 303);
    // Measured again she is begun from herself; another boat does not take her name.
    assert!(post(&pages, &typed()).body.contains("a class of this name is kept already"));
    let mut again = typed();
    again[0].1 = "Heron".into();
    assert_eq!(post(&pages, &again).status, 303);
    assert!(pages.get("/squad/class?kept=Heron").body.contains("Heron is kept."));
    // What was typed in centimetres is shown in inches where inches were chosen.
    let inches = pages.send("GET", &format!("/squad/class?{FROM}&units=metric&name=H&sail.luff=254"), "Cookie: units=us\r\n", "");
    assert!(inches.body.contains("name=\"sail.luff\"") && inches.body.contains("value=\"100\""), "{}", inches.body);
    assert!(pages.get("/squad").body.contains("<option value=\"Heron\">"));
    assert_eq!(pages.post("/squad/boat", &[("label", "H1"), ("class", "Heron")]).status, 303);
    let squad = pages.get("/squad").body;
    let boat = squad.split("/dock/").skip(1).find(|rest| rest.contains("H1")).and_then(|rest| rest.split('"').next()).unwrap().to_owned();
    assert_eq!(pages.get(&format!("/dock/{boat}")).status, 200);

    // A boat that was there before gets the new class too, and of two who change it the second is told.
    let other = squad.split("/squad/boat/").nth(1).and_then(|rest| rest.split('"').next()).unwrap();
    let page = pages.get(&format!("/squad/boat/{other}")).body;
    let version = page.split("name=\"version\" value=\"").last().and_then(|rest| rest.split('"').next()).unwrap().to_owned();
    let change = |class: &str| pages.post(&format!("/squad/boat/{other}/class"), &[("class", class), ("version", &version)]);
    assert_eq!(change("Heron").status, 303);
    assert!(pages.get("/squad").body.contains("<td class=\"hide-narrow\">Heron</td>"));
    assert!(change("an invented pram").body.contains("Somebody changed her class meanwhile"));

    let file = pages.get("/squad/class/file?name=Heron").body;
    assert!(file.contains("name = \"Heron\"") && file.contains("What was not measured is as on Heron"), "{file}");
    fs::write(folder.path().join("heron.toml"), &file).unwrap();
    let told = run_in(folder.path(), &["class", "heron.toml", "--mass", "45", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    // Longer and wider than the pram she began from: with the same aboard she floats less deep.
    let deep = |json: &serde_json::Value| json["hull"]["sinkage_m"].as_f64().unwrap();
    assert!(deep(&told.json()) < deep(&run(&["class", "--mass", "45", "--json"]).json()));
    assert_eq!(run_in(folder.path(), &["setup", "--class", "heron.toml", "--mass", "42", "--wind", "10", "--json"]).code, 0);
}

#[test]
fn nothing_typed_breaks_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo"]);
    let long = "9".repeat(900);
    for value in ["", "-1", "1e9", "NaN", "inf", "ten", "🛥", "<b>1</b>", "1 lb", long.as_str()] {
        let mut fields = typed();
        for field in &mut fields[1..] {
            field.1 = value.to_owned();
        }
        let answer = post(&pages, &fields);
        assert!(answer.status == 200 && !answer.body.contains("<b>1</b>"), "{value}: {}", answer.status);
    }
    assert_eq!(pages.get("/squad/class?from=nothing").status, 200);
    assert_eq!(pages.get("/squad/class/drawn?from=nothing").status, 404);
    assert_eq!(pages.get("/squad/class/file?name=nothing").status, 404);
    assert!(!pages.get("/squad").body.contains("Heron"));
}
