//! Class files: what is read, and what each fault says.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use boat::class::{AdjusterKind, BoardKind, Class, Lead, Side};
use boat::gauge::Gauge;
use proptest::prelude::*;

const PRAM: &str = include_str!("../../../../data/classes/pram.toml");

const SPRIT: &str = include_str!("../../../../data/classes/sprit.toml");

fn fault(text: &str) -> boat::class::ClassError {
    Class::read(text, "mine.toml").unwrap_err()
}

/// The pram with a piece of its text replaced.
fn with(old: &str, new: &str) -> String {
    assert!(PRAM.contains(old), "{old}");
    PRAM.replacen(old, new, 1)
}

/// The line (from 1) at which a text holds something.
fn line_with(text: &str, part: &str) -> usize {
    text.lines().position(|l| l.contains(part)).unwrap() + 1
}

#[test]
fn the_pram_is_read_whole() {
    let c = Class::pram();
    assert_eq!(c.name, "an invented pram");
    assert!((c.hull.minimum_mass - 43.091).abs() < 1e-3 && c.hull.mass == 44.0);
    assert_eq!((c.hull.stations.len(), c.hull.stations[0].points.len(), c.hull.tanks.len()), (14, 3, 2));
    assert!(c.mast.stiffness == 4300.0 && c.mast.diameter == 0.045 && c.mast.adjuster.kind == AdjusterKind::Step);
    assert!((c.sails[0].cloth - 0.170).abs() < 1e-12 && c.sails[0].battens == [0.55, 0.60]);
    assert_eq!(c.lead, Lead::Traveller { x: 0.86, z: 0.30, half_width: 0.42 });
    let vang = c.vang.clone().unwrap();
    assert!((vang.stiffness - 4000.0).abs() < 1e-9 && (c.downhaul.unwrap() - 3500.0).abs() < 1e-9);
    assert_eq!((c.board.kind, c.board.side), (BoardKind::Leeboard, Side::Starboard));
    assert!((c.board.forward - 0.349_065_85).abs() < 1e-8 && (c.rudder.thickness - 0.015).abs() < 1e-12);
    let lacks = [Gauge::MastTipTape, Gauge::SpritLine, Gauge::BoardUp];
    assert_eq!(c.gauges.len(), Gauge::ALL.len() - lacks.len());
    assert!(c.gauges.iter().all(|g| !lacks.contains(&g.gauge) && !g.from.is_empty() && !g.to.is_empty() && g.step > 0.0));
}

#[test]
fn a_class_without_gauges_has_those_of_its_parts() {
    let bare = &PRAM[..PRAM.find("[[gauge]]").unwrap()];
    let c = Class::read(bare, "bare.toml").unwrap();
    let names = |c: &Class| c.gauges.iter().map(|g| g.gauge).collect::<Vec<_>>();
    assert_eq!(names(&c), names(&Class::pram()));
    let start = bare.find("[vang]").unwrap();
    let end = bare.find("[downhaul]").unwrap();
    let without = format!("{}{}", &bare[..start], &bare[end..]);
    assert!(!names(&Class::read(&without, "bare.toml").unwrap()).contains(&Gauge::VangLine));
    // A gauge of a part she lacks is refused where it is listed.
    let listed = PRAM.replacen(&PRAM[PRAM.find("[vang]").unwrap()..PRAM.find("[downhaul]").unwrap()], "", 1);
    let f = fault(&listed);
    assert!(f.what.contains("lacks a [vang]") && f.line == line_with(&listed, "\"vang_line\""), "{f}");
}

/// Old text, new text, key, what the message says; the line is that of the new text.
const FAULTS: &[(&str, &str, &str, &str)] = &[
    ("length_overall = \"2.45 m\"", "length_overall = \"2.45\"", "hull.length_overall", "has no unit"),
    ("length_overall = \"2.45 m\"", "length_overall = 2.45", "hull.length_overall", "found 2.45; write length_overall = \"2.45 m\""),
    ("length_overall = \"2.45 m\"", "length_overall = \"245 m\"", "hull.length_overall", "outside 1 to 8 m; check the unit"),
    ("length_overall = \"2.45 m\"", "length_overall = \"3.2 m\"", "hull.station", "the boat is 3.2 m long"),
    ("\nweight = \"44 kg\"", "\nweight = \"-44 kg\"", "hull.weight", "-44 kg is outside"),
    ("\nweight = \"44 kg\"", "\nweight = \"500 kg\"", "hull.weight", "500 kg is outside 5 to 300 kg"),
    ("minimum_weight = \"95 lb\"", "minimum_weight = \"95 kg\"", "hull.weight", "is one of them in pounds?"),
    ("leech = \"3.40 m\"", "leech = \"4.80 m\"", "sail.leech", "cannot close the triangle"),
    ("leech = \"3.40 m\"", "leech = \"0.70 m\"", "sail.leech", "cannot close the triangle"),
    ("head = \"0.28 m\"", "head = \"2.1 m\"", "sail.head", "not shorter than the foot"),
    ("luff = \"2.75 m\"", "lufff = \"2.75 m\"", "sail.lufff", "did you mean \"luff\"?"),
    ("[vang]", "[wang]", "wang", "did you mean \"vang\"?"),
    ("name = \"vang_line\"", "name = \"vang\"", "gauge.name", "the nearest are vang_line"),
    ("name = \"downhaul_line\"", "name = \"vang_line\"", "gauge.name", "twice"),
    ("kind = \"leeboard\"", "kind = \"keel\"", "board.kind", "write one of leeboard, daggerboard, centreboard"),
    ("kind = \"leeboard\"", "kind = \"daggerboard\"", "board.side", "only a leeboard"),
    ("kind = \"step\"", "kind = \"screw\"", "mast.adjuster.kind", "write one of step, partner, insert"),
    ("stiffness = \"4300 N m2\"", "stiffness = \"4300 kg\"", "mast.stiffness", "not a unit of bending stiffness"),
    ("partner_z = \"0.38 m\"", "partner_z = \"0.02 m\"", "mast.partner_z", "not above the mast's foot"),
    ("tanks = [\"side tank to port\", ", "tanks = [3, ", "hull.tanks", "found 3 in the list"),
    ("forward = \"1.55 m\"", "forward = \"0.2 m\"", "sailor.seat.forward", "not forward of its aft end"),
    ("purchase = 3", "purchase = 0", "sheet.purchase", "write a number from 1 to 12"),
    ("afloat = true", "afloat = 1", "gauge.afloat", "true or false"),
    ("[traveller]", "[outhaul]\n[traveller]", "(file)", "not written as a class file"),
];

#[test]
fn each_fault_names_its_place_and_what_would_do() {
    for (old, new, key, says) in FAULTS {
        let text = with(old, new);
        let f = fault(&text);
        assert_eq!((f.file.as_str(), f.key.as_str()), ("mine.toml", *key), "{f}");
        assert!(f.what.contains(says), "{f}");
        let message = f.to_string();
        assert!(message.starts_with(&format!("mine.toml, line {}, {key}: ", f.line)), "{message}");
        // The fault of a pair stands at the other of the two, a misfit of the stations at the first of them.
        let elsewhere = ["minimum_weight", "length_overall = \"3.2 m\"", "kind = \"daggerboard\"", "[outhaul]", "name = \"vang_line\""];
        if !elsewhere.iter().any(|e| new.contains(e)) {
            let first = new.trim_start().lines().next().unwrap();
            assert_eq!(f.line, line_with(&text, first), "{f}");
        }
    }
}

/// Of a sprit sail and a board that slides: old text, new text, key, what the message says.
const SPRIT_FAULTS: &[(&str, &str, &str, &str)] = &[
    ("length = \"2.56 m\"", "length = \"2.56\"", "sail.sprit.length", "has no unit"),
    ("length = \"2.56 m\"", "length = \"3.4 m\"", "sail.sprit.length", "from its heel to the peak there are"),
    ("heel_z = \"0.18 m\"", "heel_z = \"1.9 m\"", "sail.sprit.heel_z", "not below the throat"),
    ("tension_per_cm = \"60 N\" }", "tension_per_cm = \"6 kg\" }", "sail.sprit.tension_per_cm", "not a unit"),
    ("peak_diagonal = \"2.72 m\"", "peak_diagonal = \"3.72 m\"", "sail.peak_diagonal", "do not close"),
    ("throat = \"2.60 m\"", "throat = \"2.0 m\"", "sail.throat", "do not fit the other edges"),
    ("leech = \"2.76 m\"", "leech = \"4.9 m\"", "sail.leech", "do not close"),
    ("leech = \"2.76 m\"", "leech = \"1.2 m\"", "sail.leech", "degrees to the mast"),
    ("head = \"1.24 m\"", "head = \"2.1 m\"", "sail.head", "not shorter than the foot"),
    ("sprit = { length = \"2.56 m\", heel_z = \"0.18 m\", tension_per_cm = \"60 N\" }", "", "sail.throat", "belongs to a sprit sail"),
    ("lift = \"0.55 m\"", "lift = \"55\"", "board.lift", "has no unit"),
    ("lift = \"0.55 m\"", "lift = \"0.55 m\"\nangle = { raised = \"80 deg\" }", "board.angle", "keep angle or lift"),
    ("kind = \"daggerboard\"", "kind = \"centreboard\"", "board.lift", "only a daggerboard"),
    ("lift = \"0.55 m\"", "", "gauge.name", "it lacks a board with lift"),
    ("name = \"board_up\"", "name = \"board_angle\"", "gauge.name", "it lacks a board that swings"),
    ("name = \"heel\"", "name = \"car_offset\"", "gauge.name", "it lacks a [traveller]"),
];

#[test]
fn faults_of_a_sprit_sail_and_a_sliding_board_name_their_place() {
    for (old, new, key, says) in SPRIT_FAULTS {
        assert!(SPRIT.contains(old), "{old}");
        let f = fault(&SPRIT.replacen(old, new, 1));
        assert!(f.key == *key && f.what.contains(says), "{new}: {f}");
    }
}

#[test]
fn a_sprit_sail_is_closed_by_its_diagonal_or_by_its_sprit() {
    let by = |text: &str| Class::read(text, "mine.toml").unwrap().sails[0].sprit.clone().unwrap();
    let both = by(SPRIT);
    let alone = by(&SPRIT.replacen("peak_diagonal = \"2.72 m\" ", "", 1));
    // The sprit of the file fits its diagonal to two centimetres.
    assert!((0..2).all(|k| (both.peak[k] - alone.peak[k]).abs() < 0.05), "{both:?} {alone:?}");
    assert!((both.stiffness - 6000.0).abs() < 1e-9 && both.heel_z == 0.18);
    let board = Class::read(SPRIT, "mine.toml").unwrap().board;
    assert_eq!((board.kind, board.lift), (BoardKind::Daggerboard, Some(0.55)));
    // A daggerboard without lift is read as before: it swings.
    let swings = SPRIT.replacen("lift = \"0.55 m\"", "", 1).replacen("name = \"board_up\"", "name = \"board_angle\"", 1);
    assert_eq!(Class::read(&swings, "mine.toml").unwrap().board.lift, None);
}

/// The pram, towed.
fn towed(mass: &str, speed: &str, drag: &str) -> String {
    with("[mast]\n", &format!("[hull.towed]\nmass = {mass}\nspeed = {speed}\ndrag = {drag}\n\n[mast]\n"))
}

#[test]
fn a_tow_is_read_or_refused() {
    let good = (r#""45 kg""#, r#"["0.5 m/s", "1.0 m/s", "1.5 m/s", "4 kn"]"#, r#"["1.8 N", "7 N", "20 N", "75 N"]"#);
    let class = Class::read(&towed(good.0, good.1, good.2), "mine.toml").unwrap();
    assert_eq!(class.hull.towed.map(|t| (t.mass, t.drag)), Some((45.0, vec![1.8, 7.0, 20.0, 75.0])));
    let faults = [
        ((r#""45""#, good.1, good.2), "hull.towed.mass", "has no unit"),
        ((r#""480 kg""#, good.1, good.2), "hull.towed.drag", "far from the"),
        ((good.0, r#"["0.5 m/s", "1.0 m/s"]"#, good.2), "hull.towed.drag", "found 2 speeds and 4 drags"),
        ((good.0, r#"["0.5 m/s", "1.5 m/s", "1.0 m/s", "2 m/s"]"#, good.2), "hull.towed.speed", "do not rise"),
        ((good.0, good.1, r#"["1.8 N", "7 N", "6 N", "75 N"]"#), "hull.towed.drag", "does not rise"),
        ((good.0, good.1, r#"["18 N", "70 N", "200 N", "750 N"]"#), "hull.towed.drag", "check the units"),
        ((good.0, r#"[0.5, 1.0]"#, good.2), "hull.towed.speed", "found 0.5 in the list"),
        ((good.0, r#"["0.5 m/s"]"#, r#"["1.8 N"]"#), "hull.towed.drag", "two or more"),
    ];
    for ((mass, speed, drag), key, says) in faults {
        let f = fault(&towed(mass, speed, drag));
        assert!(f.key == key && f.what.contains(says), "{f}");
    }
}

#[test]
fn a_missing_key_says_what_to_write() {
    let f = fault(&with("length_overall = \"2.45 m\"\n", ""));
    assert!(f.key == "hull.length_overall" && f.what == "is missing; write length_overall = \"2.45 m\"", "{f}");
    assert_eq!(f.line, line_with(PRAM, "[hull]"));
    assert!(fault("").what.contains("missing"));
    assert!(fault("name = \"x\"").what.contains("missing; add a table [[sail]]"));
    let board = fault(&with("[[board]]", "[[hull.towed.x]]"));
    assert!(!board.what.is_empty());
}

#[test]
fn a_hull_that_does_not_float_the_sailor_is_refused() {
    // Stations a sixth as wide.
    let narrow: String = PRAM
        .lines()
        .map(|l| {
            let Some(points) = l.strip_prefix("points = ") else { return format!("{l}\n") };
            let cells: Vec<f64> = points.split('"').filter_map(|c| c.strip_suffix(" m")).map(|c| c.parse().unwrap()).collect();
            let pair = |k: usize| format!("[\"{} m\", \"{} m\"]", cells[k] / 6.0, cells[k + 1]);
            format!("points = [{}, {}, {}]\n", pair(0), pair(2), pair(4))
        })
        .collect();
    let f = fault(&narrow);
    assert!(f.key == "hull" && f.what.contains("do not float") && f.line == line_with(&narrow, "[hull]"), "{f}");
    assert!(Class::read(PRAM, "pram.toml").is_ok());
}

proptest! {
    #[test]
    fn no_bytes_break_the_reader(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(Class::read(&String::from_utf8_lossy(&bytes), "noise").is_err());
    }

    #[test]
    fn no_broken_pram_breaks_the_reader(from in 0usize..6000, length in 0usize..60, junk in "\\PC{0,12}") {
        let from = from.min(PRAM.len());
        let to = (from + length).min(PRAM.len());
        if let (Some(head), Some(tail)) = (PRAM.get(..from), PRAM.get(to..)) {
            // Read or refused, never a panic; what is refused has a place.
            if let Err(f) = Class::read(&format!("{head}{junk}{tail}"), "cut") {
                prop_assert!(f.line >= 1 && !f.what.is_empty());
            }
        }
    }
}
