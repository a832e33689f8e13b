//! From a row's cells to a sailor in a boat, checked against what children and boats are.

use std::collections::BTreeMap;

use boat::crew::{Sailor, Skill};
use boat::gauge::{Gauge, GaugeUnit};
use measure::{Angle, Length, Mass};

use super::cells::shown;
use super::{Cell, Row};
use crate::error::Fault;
use crate::squad::{BoomEndReading, Crew, SquadBoat, SquadSailor, stature_of, usual_hand};

/// Names that a row may have beside `base.GAUGE` and `rigged.GAUGE`.
const NAMES: [&str; 14] = [
    "sailor",
    "boat",
    "class",
    "mass",
    "stature",
    "hand_length",
    "skill",
    "sail",
    "hull_weight",
    "water_found",
    "boom_end_dock_1",
    "mast_notch_1",
    "boom_end_dock_2",
    "mast_notch_2",
];

/// Masses a sailor may have, kg. Assumed: a child of six, and a grown-up who shows how.
const SAILOR_MASS: [f64; 2] = [20.0, 110.0];
/// Statures a sailor may have, m. Assumed.
const STATURE: [f64; 2] = [1.0, 2.1];
/// Hand lengths a sailor may have, m. Assumed.
const HAND: [f64; 2] = [0.10, 0.24];
/// Hull weights a small boat may have, kg. Assumed.
const HULL_MASS: [f64; 2] = [15.0, 200.0];
/// Heights a boom end may have over the transom, m. Assumed.
const BOOM_END: [f64; 2] = [0.0, 2.0];
/// The longest label, so that it goes on a card.
const LONGEST_LABEL: usize = 24;

/// The sailor and boat of a row; `None` when it has a fault.
pub(super) fn crew(row: &Row, faults: &mut Vec<Fault>, left_out: &mut Vec<Fault>) -> Option<Crew> {
    let before = faults.len();
    let label = label(row, "sailor", faults);
    let boat_label = label_of_boat(row, faults);
    let mass = mass(row, label.as_deref(), faults);
    let stature = length(row, "stature", STATURE, faults);
    let hand = length(row, "hand_length", HAND, faults);
    let skill = skill(row, faults);
    let hull_mass = weight(row, "hull_weight", HULL_MASS, faults);
    let water_found = weight(row, "water_found", [0.0, HULL_MASS[1]], faults);
    let boom_end = boom_end(row, faults);
    let base = settings(row, "base", faults, left_out);
    let rigged = settings(row, "rigged", faults, left_out);
    unknown(row, left_out);
    if faults.len() > before {
        return None;
    }
    let mass = mass?;
    let stature = stature.map_or_else(|| stature_of(mass), Length::in_metres);
    let text = |name: &str| row.cell(name).map(|cell| cell.text.clone());
    Some(Crew {
        sailor: SquadSailor {
            label: label?,
            body: Sailor { mass: mass.in_kilograms(), stature, skill },
            hand: hand.unwrap_or_else(|| usual_hand(stature)),
            sail: text("sail"),
        },
        boat: SquadBoat { label: boat_label?, class: text("class"), hull_mass, water_found, boom_end, base, rigged },
    })
}

/// Sailors written twice, and boats with two sailors.
pub(super) fn twice(rows: &[Row], faults: &mut Vec<Fault>) {
    for name in ["boat", "sailor"] {
        let mut seen: BTreeMap<String, &Row> = BTreeMap::new();
        for row in rows {
            let Some(cell) = row.cell(name) else { continue };
            let Some(first) = seen.insert(cell.text.to_lowercase(), row) else { continue };
            let label = shown(&cell.text);
            let what = if name == "sailor" {
                format!("the sailor {label} stands on line {} too: take one out, or tell them apart", first.line)
            } else {
                let sailor = |row: &Row| row.cell("sailor").map_or("a sailor", |c| &c.text).to_owned();
                format!(
                    "two sailors in one boat: {} and {} (line {}) are both in {label}; give one another boat",
                    shown(&sailor(row)),
                    shown(&sailor(first)),
                    first.line
                )
            };
            faults.push(Fault { line: cell.line, what });
        }
    }
}

fn fault(faults: &mut Vec<Fault>, line: usize, what: String) {
    faults.push(Fault { line, what });
}

fn label(row: &Row, name: &str, faults: &mut Vec<Fault>) -> Option<String> {
    let Some(cell) = row.cell(name) else {
        fault(faults, row.line, format!("there is no {name} here: write {name} = \"a name\""));
        return None;
    };
    if cell.text.chars().count() > LONGEST_LABEL {
        let what = format!("\"{}\" is too long for a card: {LONGEST_LABEL} letters at most", shown(&cell.text));
        fault(faults, cell.line, what);
        return None;
    }
    Some(cell.text.clone())
}

fn label_of_boat(row: &Row, faults: &mut Vec<Fault>) -> Option<String> {
    label(row, "boat", faults)
}

/// The mass of a sailor. What was found is not told.
fn mass(row: &Row, label: Option<&str>, faults: &mut Vec<Fault>) -> Option<Mass> {
    let whose = label.map_or_else(|| "this sailor".to_owned(), shown);
    let Some(cell) = row.cell("mass") else {
        fault(faults, row.line, format!("the mass of {whose} is missing: write it with its unit, kg or lb"));
        return None;
    };
    let [low, high] = SAILOR_MASS;
    match Mass::parse(&cell.text) {
        Ok(mass) if (low..=high).contains(&mass.in_kilograms()) => Some(mass),
        Err(_) if !cell.text.ends_with(char::is_alphabetic) => {
            fault(faults, cell.line, format!("the mass of {whose} has no unit: write kg or lb after the number"));
            None
        }
        _ => {
            let what = format!("the mass of {whose} is not {low} to {high} kg: is it in pounds? Then write lb after the number");
            fault(faults, cell.line, what);
            None
        }
    }
}

/// A weight of a boat, if it is there.
fn weight(row: &Row, name: &str, [low, high]: [f64; 2], faults: &mut Vec<Fault>) -> Option<Mass> {
    let cell = row.cell(name)?;
    let what = match Mass::parse(&cell.text) {
        Ok(mass) if (low..=high).contains(&mass.in_kilograms()) => return Some(mass),
        Ok(_) => format!("{name}: \"{}\" is not {low} to {high} kg; check the unit", shown(&cell.text)),
        Err(error) => format!("{name}: {error}"),
    };
    fault(faults, cell.line, what);
    None
}

/// A length, if it is there.
fn length(row: &Row, name: &str, [low, high]: [f64; 2], faults: &mut Vec<Fault>) -> Option<Length> {
    let cell = row.cell(name)?;
    let what = match Length::parse(&cell.text) {
        Ok(length) if (low..=high).contains(&length.in_metres()) => return Some(length),
        Ok(_) => format!("{name}: \"{}\" is not {low} to {high} m; check the unit", shown(&cell.text)),
        Err(error) => format!("{name}: {error}"),
    };
    fault(faults, cell.line, what);
    None
}

fn skill(row: &Row, faults: &mut Vec<Fault>) -> Skill {
    let Some(cell) = row.cell("skill") else { return Skill::default() };
    Skill::named(&cell.text.to_lowercase()).unwrap_or_else(|| {
        let words: Vec<&str> = Skill::ALL.iter().map(|skill| skill.words()).collect();
        fault(faults, cell.line, format!("skill: \"{}\" is none of: {}", shown(&cell.text), words.join(", ")));
        Skill::default()
    })
}

/// Both readings of the boom end, or none.
fn boom_end(row: &Row, faults: &mut Vec<Fault>) -> Option<[BoomEndReading; 2]> {
    let names = ["boom_end_dock_1", "mast_notch_1", "boom_end_dock_2", "mast_notch_2"];
    let given = names.iter().filter(|name| row.cell(name).is_some()).count();
    if given == 0 {
        return None;
    }
    if given < names.len() {
        let what = format!("to know a boat's notches takes all four: {}; {given} are here", names.join(", "));
        fault(faults, row.line, what);
        return None;
    }
    let [first, second] = [("boom_end_dock_1", "mast_notch_1"), ("boom_end_dock_2", "mast_notch_2")].map(|(height, notch)| {
        let height = length(row, height, BOOM_END, faults)?;
        Some(BoomEndReading { notch: notch_of(row.cell(notch)?, faults)?, height })
    });
    let (first, second) = (first?, second?);
    if first.notch == second.notch {
        let what = format!("both boom-end heights are at notch {}: measure again with the mast in another notch", first.notch);
        fault(faults, row.line, what);
        return None;
    }
    Some([first, second])
}

fn notch_of(cell: &Cell, faults: &mut Vec<Fault>) -> Option<u32> {
    let notch = cell.text.parse().ok().filter(|notch| (0..=100).contains(notch));
    if notch.is_none() {
        fault(faults, cell.line, format!("{}: \"{}\" is no notch: count them from forward", cell.name, shown(&cell.text)));
    }
    notch
}

/// The settings whose names begin with a word and a dot, SI. A gauge that is not known is left out, and the nearest names are
/// offered.
fn settings(row: &Row, of: &str, faults: &mut Vec<Fault>, left_out: &mut Vec<Fault>) -> BTreeMap<Gauge, f64> {
    let mut settings = BTreeMap::new();
    for cell in &row.cells {
        let Some(name) = cell.name.strip_prefix(of).and_then(|rest| rest.strip_prefix('.')) else { continue };
        let gauge = match Gauge::named(name) {
            Ok(gauge) => gauge,
            Err(nearest) => {
                let what = format!("{of}.{} is no gauge and was left out; the nearest are {}", shown(name), nearest.join(", "));
                left_out.push(Fault { line: cell.line, what });
                continue;
            }
        };
        match setting(gauge, &cell.text) {
            Ok(value) => {
                settings.insert(gauge, value);
            }
            Err(what) => fault(faults, cell.line, format!("{of}.{}: {what}", gauge.name())),
        }
    }
    settings
}

/// A setting in SI, read with its unit.
fn setting(gauge: Gauge, text: &str) -> Result<f64, String> {
    match gauge.unit() {
        GaugeUnit::Centimetres => {
            let length = Length::parse(text).map_err(|error| error.to_string())?;
            if length.in_metres().abs() > 10.0 {
                return Err(format!("\"{}\" is longer than the boat; check the unit", shown(text)));
            }
            Ok(length.si())
        }
        GaugeUnit::Degrees => Angle::parse(text).map(Angle::in_radians).map_err(|error| error.to_string()),
        GaugeUnit::OnOff => match text.to_lowercase().as_str() {
            "on" | "true" | "1" => Ok(1.0),
            "off" | "false" | "0" => Ok(0.0),
            _ => Err(format!("\"{}\" is neither on nor off", shown(text))),
        },
    }
}

/// Names that nobody here reads.
fn unknown(row: &Row, left_out: &mut Vec<Fault>) {
    let setting = |name: &str| name.starts_with("base.") || name.starts_with("rigged.");
    for cell in row.cells.iter().filter(|cell| !NAMES.contains(&cell.name.as_str()) && !setting(&cell.name)) {
        let what = format!("\"{}\" is not read here and was left out; the names are {}", shown(&cell.name), NAMES.join(", "));
        left_out.push(Fault { line: cell.line, what });
    }
}
