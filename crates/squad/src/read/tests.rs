//! What a coach may write, and what is said of what cannot be right.

use boat::crew::Skill;
use boat::gauge::Gauge;
use proptest::prelude::*;

use super::*;

const EXAMPLE: &str = include_str!("../../../../data/squads/example.toml");

fn said(text: &str) -> String {
    read("squad.toml", text.as_bytes()).unwrap_err().to_string()
}

#[test]
fn the_example_reads() {
    let squad = read("example.toml", EXAMPLE.as_bytes()).unwrap();
    assert_eq!(squad.warnings, []);
    let crews = squad.value.crews;
    assert_eq!(crews.len(), 12);
    assert!(crews.iter().all(|crew| (30.0..=58.0).contains(&crew.sailor.body.mass)));
    for skill in Skill::ALL {
        assert!(crews.iter().any(|crew| crew.sailor.body.skill == skill), "{}", skill.words());
    }
    let measured = crews.iter().find_map(|crew| crew.boat.boom_end).unwrap();
    assert_eq!((measured[0].notch, measured[1].notch), (3, 5));
    assert!(crews.iter().any(|crew| crew.boat.base.get(&Gauge::SailBoomGap) == Some(&0.16)));
}

#[test]
fn toml_and_csv_say_the_same() {
    let toml = "[[sailor]]\nsailor = \"Mio\"\nboat = \"Tern\"\nmass = \"88,2 lb\"\nskill = \"races\"\nbase.board_angle = \"5 deg\"\n";
    let csv = "\u{feff}sailor;boat;mass;skill;base.board_angle\r\n\r\nMio;Tern;88,2 lb;races;5 deg\r\n;;;;\r\n";
    let tabs = "# ours\nboat\tsailor\tmass\tskill\tbase.board_angle\nTern\tMio\t88.2 lb\tRaces\t5°\n";
    let first = read("a", toml.as_bytes()).unwrap();
    assert_eq!(first, read("b", csv.as_bytes()).unwrap());
    assert_eq!(first, read("c", tabs.as_bytes()).unwrap());
    assert!((first.value.crews[0].sailor.body.mass - 40.007).abs() < 1e-3);
}

#[test]
fn a_hand_is_found_from_a_stature() {
    let squad = read("a", b"sailor,boat,mass,stature\nMio,Tern,40 kg,1.50 m\n").unwrap();
    assert!((squad.value.crews[0].sailor.hand.in_centimetres() - 16.35).abs() < 1e-9);
}

#[test]
fn every_fault_is_told_with_its_line() {
    let text = "sailor,boat,mass,stature,skill,hull_weight\n\
                Mio,Tern,97,1.5 m,races,44 kg\n\
                Pia,Tern,211 kg,15 m,wins,44 kg\n\
                Mio,Rail,-3 kg,,,4 kg\n\
                ,Crake,,,,\n";
    let told = said(text);
    for part in [
        "line 2: the mass of Mio has no unit: write kg or lb",
        "line 3: the mass of Pia is not 20 to 110 kg: is it in pounds?",
        "line 3: stature: \"15 m\" is not 1 to 2.1 m",
        "line 3: skill: \"wins\" is none of: first season",
        "line 3: two sailors in one boat: Pia and Mio (line 2) are both in Tern",
        "line 4: the mass of Mio is not 20 to 110 kg",
        "line 4: hull_weight: \"4 kg\" is not 15 to 200 kg",
        "line 4: the sailor Mio stands on line 2 too",
        "line 5: there is no sailor here",
        "line 5: the mass of this sailor is missing",
    ] {
        assert!(told.contains(part), "{part}\nis not in\n{told}");
    }
    for mass in ["97", "211", "-3"] {
        assert!(!told.contains(mass), "a mass is told: {told}");
    }
}

#[test]
fn what_is_no_squad_file_is_told() {
    assert!(said("").contains("there is no sailor in it"));
    assert!(said("# nobody\n").contains("there is no sailor in it"));
    assert!(said("sailor,boat,mass\n").contains("there is no sailor in it"));
    assert!(said("name,ship\nA,B\n").contains("must name the columns"));
    assert!(said("sailor,boat,mass\nA,B,40,5 kg\n").contains("quotes around a decimal comma"));
    assert!(said("[[sailor]]\nsailor = \"A\"\nboat = B\n").starts_with("squad.toml, line 3: "));
    assert!(said("sailor = \"A\"\n").contains("[[sailor]]"));
    assert!(said("[[sailor]]\nsailor = \"A\"\nboat = \"B\"\nmass = 40\n").contains("line 4: the mass of A has no unit"));
    assert!(read("x", &[0xff, 0x00, 0x9c]).unwrap_err().to_string().contains("it is not text"));
    assert!(said("\u{0}\u{1}").contains("it is not text"));
}

#[test]
fn what_is_not_known_is_left_out_with_a_reason() {
    let text = "[[sailor]]\nsailor = \"A\"\nboat = \"B\"\nmass = \"40 kg\"\ncolour = \"red\"\nbase.boom_angel = \"3 deg\"\n";
    let squad = read("s", text.as_bytes()).unwrap();
    let told: Vec<String> = squad.warnings.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 2);
    assert!(told.iter().any(|t| t.starts_with("s, line 5: \"colour\" is not read here")));
    assert!(told.iter().any(|t| t.contains("line 6: base.boom_angel is no gauge") && t.contains("nearest are boom_angle")));
}

#[test]
fn a_boat_is_measured_at_two_notches() {
    let row = |rest: &str| format!("[[sailor]]\nsailor = \"A\"\nboat = \"B\"\nmass = \"40 kg\"\n{rest}");
    assert!(said(&row("boom_end_dock_1 = \"20 cm\"\nmast_notch_1 = 3\n")).contains("takes all four"));
    let same = row("boom_end_dock_1 = \"20 cm\"\nmast_notch_1 = 3\nboom_end_dock_2 = \"22 cm\"\nmast_notch_2 = 3\n");
    assert!(said(&same).contains("both boom-end heights are at notch 3"));
    assert!(said(&row("base.sail_boom_gap = \"nan cm\"\n")).contains("line 5: base.sail_boom_gap"));
}

#[test]
fn what_the_tape_said_is_no_base_setup() {
    let text = "[[sailor]]\nsailor = \"A\"\nboat = \"B\"\nmass = \"40 kg\"\nrigged.sail_boom_gap = \"23 cm\"\nrigged.gap = \"3 cm\"\n";
    let squad = read("s", text.as_bytes()).unwrap();
    let boat = &squad.value.crews[0].boat;
    assert!(boat.base.is_empty() && (boat.rigged[&Gauge::SailBoomGap] - 0.23).abs() < 1e-12);
    assert!(squad.warnings[0].to_string().contains("rigged.gap is no gauge"));
}

proptest! {
    #[test]
    fn no_bytes_break_the_reader(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let _ = read("x", &bytes);
    }

    #[test]
    fn no_cell_breaks_the_reader(cell in "\\PC{0,30}", at in 0usize..14) {
        let mut cells = vec![String::new(); 14];
        cells[at] = format!("\"{}\"", cell.replace('"', "\"\""));
        let text = format!("sailor,boat,class,mass,stature,hand_length,skill,sail,hull_weight,water_found,boom_end_dock_1,mast_notch_1,base.heel,x\n{}\n", cells.join(","));
        let _ = read("x", text.as_bytes());
    }
}
