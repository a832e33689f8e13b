//! `cards`: cautions first, base setups and pen lines kept, no bare cost, and every bad input.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::{Run, keys, names, run_in};

const LIMITS: &str = include_str!("../../../../data/squads/limits.toml");

/// Two sailors; the boat of the second has a base setup in her file, and the third stands as she was rigged.
const SQUAD: &str = r#"
[[sailor]]
sailor = "Ada"
boat = "Tern"
mass = "41.5 kg"
skill = "first season"

[[sailor]]
sailor = "Ben"
boat = "Rail"
mass = "46.5 kg"
skill = "races"
base.sail_boom_gap = "14 cm"
base.car_offset = "20 cm"

[[sailor]]
sailor = "Cleo"
boat = "Stint"
mass = "44.5 kg"
skill = "races"
rigged.sail_boom_gap = "19 cm"
rigged.car_offset = "30 cm"
"#;

fn cards(folder: &Path, wind: &str, more: &[&str]) -> Run {
    fs::write(folder.join("squad.toml"), SQUAD).unwrap();
    fs::write(folder.join("limits.toml"), LIMITS).unwrap();
    let mut arguments = vec!["cards", "--squad", "squad.toml", "--wind", wind, "--out", "cards.pdf"];
    arguments.extend(more);
    run_in(folder, &arguments)
}

/// A row of a card, by what is measured.
fn row<'a>(card: &'a Value, name: &str) -> &'a Value {
    card["settings"].as_array().unwrap().iter().find(|row| row["name"] == name).unwrap()
}

/// A number as a card writes it.
fn number(text: &Value) -> f64 {
    let text = text.as_str().unwrap();
    let half = if text.ends_with('½') { 0.5 } else { 0.0 };
    let whole = text.trim_end_matches('½').replace('−', "-");
    if whole.is_empty() { half } else { whole.parse::<f64>().unwrap() + half }
}

#[test]
fn the_caution_over_a_limit_comes_first_and_no_mass_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let told = cards(folder.path(), "14", &["--limits", "limits.toml", "--water-temperature", "11", "--strips", "strips.pdf", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let answer = told.json();
    let of = |k: usize| answer["cards"][k]["cautions"].as_array().unwrap();
    assert!(of(0)[0].as_str().unwrap().contains("over the limit of 9 knots") && of(0).len() == 2);
    // The same gust is under the limit of those who race: the cold water alone is told.
    assert!(of(1)[0].as_str().unwrap().starts_with("The water has 11 °C.") && of(1).len() == 1);
    assert!(of(0).iter().chain(of(1)).all(|c| c.as_str().unwrap().ends_with("The coach decides.")));
    for mass in ["41.5", "46.5", "44.5", "mass"] {
        assert!(!told.out.contains(mass) && !told.err.contains(mass), "{mass}");
    }
    assert!(fs::read(folder.path().join("cards.pdf")).unwrap().starts_with(b"%PDF"));
    assert!(fs::read(folder.path().join("strips.pdf")).unwrap().starts_with(b"%PDF"));
    let keys = keys(&answer);
    for key in ["cards[].sailor", "cards[].boat", "cards[].sit", "cards[].cautions[]", "cards[].costs[].low", "warnings[]"] {
        assert!(keys.lines().any(|k| k == key), "{key} is not in\n{keys}");
    }
    let page = cards(folder.path(), "14", &["--limits", "limits.toml"]).out;
    assert!(page.starts_with("Ada: Over the limit. Gusts ") && page.contains("over the limit of 9 knots"), "{page}");
}

#[test]
fn without_a_limit_the_card_says_so_and_costs_have_their_spread() {
    let folder = tempfile::tempdir().unwrap();
    let answer = cards(folder.path(), "10", &["--json"]).json();
    for card in answer["cards"].as_array().unwrap() {
        assert!(card["cautions"][0].as_str().unwrap().contains("The club has set no limit of wind"));
        let costs = card["costs"].as_array().unwrap();
        assert!(!costs.is_empty());
        for cost in costs {
            let [low, value, high] = ["low", "value", "high"].map(|k| cost[k].as_f64().unwrap());
            assert!(low <= value && value <= high && low < high, "{cost}");
        }
        assert!(costs.windows(2).all(|pair| pair[0]["value"].as_f64() >= pair[1]["value"].as_f64()));
    }
    // 10 knots is the wind a base setup stands for: what the coach trusts is printed.
    let ben = &answer["cards"][1];
    assert_eq!((&row(ben, "Sail-boom gap")["values"][1]["text"], &row(ben, "Car")["values"][1]["text"]), (&"14".into(), &"20".into()));
    assert_eq!(row(ben, "Car")["was"], Value::Null);
    // A pen line inside the band stays where it is; one outside goes to the near edge and no further.
    let cleo = &answer["cards"][2];
    let gap = &row(cleo, "Sail-boom gap")["values"][1];
    assert!(number(&gap["band"][0]) <= 19.0 && 19.0 <= number(&gap["band"][1]));
    assert_eq!(gap["text"], "19");
    let car = row(cleo, "Car");
    assert!(number(&car["values"][1]["band"][1]) < 30.0);
    assert_eq!((&car["values"][1]["text"], &car["was"]), (&car["values"][1]["band"][1], &"30".into()));
}

#[test]
fn bad_facts_of_a_day_are_told_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let end = LIMITS.rfind("[[limit]]").unwrap();
    fs::write(folder.path().join("gap.toml"), &LIMITS[..end]).unwrap();
    cards(folder.path(), "10", &["--limits", "gap.toml"]).refused(&["gap.toml", "races in any wind"]);
    cards(folder.path(), "10", &["--limits", "none.toml"]).refused(&["none.toml"]);
    cards(folder.path(), "10", &["--daylight", "nan"]).refused(&["--daylight"]);
    cards(folder.path(), "10", &["--water-temperature", "80"]).refused(&["--water-temperature"]);
    cards(folder.path(), "10", &["--safety-boats", "1"]).refused(&["--afloat"]);
    cards(folder.path(), "0", &[]).refused(&["no wind"]);
    assert_eq!(names(folder.path()), ["gap.toml", "limits.toml", "squad.toml"]);
}
