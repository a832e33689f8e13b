//! `weigh`: margin with the scale's error, water, trend, what a kilogram costs, and every bad input.

use crate::{keys, run};

fn weigh(more: &[&str]) -> crate::Run {
    let mut arguments = vec!["weigh"];
    arguments.extend(more);
    run(&arguments)
}

#[test]
fn a_scale_error_larger_than_the_margin_is_not_known() {
    // 95 lb is 43.09 kg: 200 g over.
    let told = weigh(&["--reading", "43.29", "--json"]);
    assert_eq!((told.code, &told.json()["stands"]), (0, &"not known".into()));
    assert_eq!(weigh(&["--reading", "43.29", "--scale-error", "0.1", "--json"]).json()["stands"], "over the minimum");
    assert_eq!(
        weigh(&["--reading", "43.29", "--scale-error", "0.1", "--water-found", "0.5", "--json"]).json()["stands"],
        "under the minimum"
    );
    assert!(weigh(&["--reading", "43.29"]).out.contains("not known. The scale says 0.2 kg over"));
    // 95 lb on the scale is the minimum itself.
    assert!(weigh(&["--reading", "95 lb", "--json"]).json()["margin_kg"].as_f64().unwrap().abs() < 1e-9);
}

#[test]
fn a_boat_that_gains_is_taking_water_and_a_kilogram_has_its_price() {
    let told = weigh(&[
        "--reading",
        "57.4",
        "--trolley",
        "13",
        "--scale-error",
        "0.1",
        "--before",
        "2026-04-02=43.9",
        "--before",
        "2026-05-07=44.2",
        "--on",
        "2026-06-04",
        "--wind",
        "8",
        "--mass",
        "45.37",
        "--json",
    ]);
    assert_eq!(told.code, 0, "{}", told.err);
    let answer = told.json();
    // Half a kilogram in nine weeks.
    assert!((answer["trend"]["kg_a_week"].as_f64().unwrap() - 0.055).abs() < 0.01);
    assert!(answer["words"].to_string().contains("she is taking water"));
    for row in answer["kilogram"].as_array().unwrap() {
        // T15: a heavy or wet hull is slow.
        assert!(row["cost_m"].as_f64().unwrap() > 0.0, "{row}");
    }
    assert!(!keys(&answer).contains("mass") && !told.out.contains("45.37"), "a mass is printed");
}

#[test]
fn bad_weights_are_told() {
    weigh(&["--reading", "12", "--trolley", "13"]).refused(&["12 kg for the boat on its trolley", "the trolley alone weighs 13 kg"]);
    weigh(&["--reading", "nan"]).refused(&["--reading"]);
    weigh(&["--reading", "-4"]).refused(&["--reading", "outside"]);
    weigh(&["--reading", "44000"]).refused(&["--reading", "check the unit"]);
    weigh(&["--reading", "44", "--scale-error", "nan"]).refused(&["--scale-error"]);
    weigh(&["--reading", "44", "--water-found", "50"]).refused(&["water of 50 kg would leave nothing"]);
    weigh(&["--reading", "44", "--correctors", "44"]).refused(&["correctors of 44 kg"]);
    weigh(&["--reading", "44", "--before", "spring=43"]).refused(&["--before", "is no day"]);
    weigh(&["--reading", "44", "--before", "2026-04-02"]).refused(&["write the day, = and the weight"]);
    weigh(&["--reading", "44", "--before", "2026-04-02=nan"]).refused(&["--before"]);
    weigh(&["--reading", "44", "--on", "2026-04-01", "--before", "2026-04-02=44"]).refused(&["is not before 2026-04-01"]);
    weigh(&["--reading", "44", "--wind", "8"]).refused(&["--mass"]);
}
