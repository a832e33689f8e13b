//! A squad file brought in and asked for again says the same.

use std::fs;

use squad::fact::day::Crewed;

use super::*;

const EXAMPLE: &[u8] = include_bytes!("../../../../data/squads/example.toml");
const RIGGED: &[u8] = include_bytes!("../../../../data/squads/as_rigged.toml");

/// By which two readings of a number may differ: the store keeps 15 digits.
const DIGITS: f64 = 1e-14;

#[test]
fn a_squad_file_and_the_store_say_the_same() {
    for file in [EXAMPLE, RIGGED] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("squad.toml");
        fs::write(&path, file).unwrap();
        let mut store = new(folder.path());
        let merged = store.import(&path, &writer(0)).unwrap();
        assert_eq!((merged.warnings.len(), merged.value.changed), (0, 0));
        let mut written = squad::read("squad.toml", file).unwrap().value.crews;
        written.sort_by_key(|crew| crew.sailor.label.to_lowercase());
        let kept = store.squad(None).unwrap();
        assert_eq!(kept.warnings, []);
        assert_eq!(kept.value.crews.len(), written.len());
        let near = |a: f64, b: f64| (a - b).abs() <= DIGITS * b.abs();
        for (kept, written) in kept.value.crews.iter().zip(&written) {
            let mut same = written.clone();
            // Lengths read in centimetres have digits beyond the fifteenth.
            assert!(near(kept.sailor.hand.in_metres(), written.sailor.hand.in_metres()));
            same.sailor.hand = kept.sailor.hand;
            for (of, from) in [(&kept.boat.base, &mut same.boat.base), (&kept.boat.rigged, &mut same.boat.rigged)] {
                for (gauge, value) in from.iter_mut() {
                    assert!(near(of[gauge], *value), "{}", gauge.name());
                    *value = of[gauge];
                }
            }
            if let (Some(kept), Some(from)) = (kept.boat.boom_end, &mut same.boat.boom_end) {
                from.sort_by_key(|r| r.notch);
                for (kept, from) in kept.iter().zip(from) {
                    assert!(near(kept.height.in_metres(), from.height.in_metres()));
                    from.height = kept.height;
                }
            }
            assert_eq!(*kept, same);
        }
        let facts = store.facts().unwrap();
        let again = store.import(&path, &writer(5)).unwrap().value;
        assert_eq!((again.added, again.changed, store.facts().unwrap()), (0, 0, facts));
    }
}

#[test]
fn a_changed_line_is_an_edit() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let write = |store: &mut Store, text: &str, minutes| {
        let squad = squad::read("a", text.as_bytes()).unwrap().value;
        store.import_squad(&squad, &writer(minutes)).unwrap()
    };
    write(&mut store, "sailor,boat,mass,hull_weight,base.car_offset\nMio,Tern,40 kg,44 kg,10 cm\n", 0);
    let merged = write(&mut store, "sailor,boat,mass,hull_weight,base.car_offset\nMio,Tern,41 kg,44.5 kg,10 cm\n", 1440);
    assert_eq!((merged.added, merged.changed), (1, 1));
    let mio = store.sailor_labelled("mio").unwrap().unwrap();
    assert_eq!((mio.version, mio.fact.mass_kg), (2, Some(HiddenMass::kilograms(41.0))));
    let hull =
        |on: Option<&str>| store.squad(on.map(|d| d.parse().unwrap())).unwrap().value.crews[0].boat.hull_mass.unwrap().in_kilograms();
    assert_eq!((hull(Some("2026-04-02")), hull(Some("2026-04-04")), hull(None)), (44.0, 44.5, 44.5));
}

#[test]
fn a_day_says_who_sails_what() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let text = b"sailor,boat,mass\nMio,Tern,40 kg\nPia,Rail,42 kg\nUna,Crake,44 kg\n";
    store.import_squad(&squad::read("a", text).unwrap().value, &writer(0)).unwrap();
    let other = tempfile::tempdir().unwrap();
    let mut days = new(other.path());
    add_every_kind(&mut days, 1, &super::text("a"));
    let day = store.add(&days.all::<Day>().unwrap()[0].fact, &writer(0)).unwrap().id;
    let [sailor, boat] = ["Mio", "Crake"];
    let sailor_id = |label: &str| store.sailor_labelled(label).unwrap().unwrap().id;
    let boat_id = |label: &str| store.boat_labelled(label).unwrap().unwrap().id;
    let crews = [
        Crewed { day, sailor: sailor_id(sailor), boat: boat_id(boat), launch_order: Some(2) },
        Crewed { day, sailor: sailor_id("Una"), boat: boat_id("Tern"), launch_order: Some(1) },
        Crewed { day, sailor: sailor_id("Pia"), boat: boat_id("Tern"), launch_order: None },
    ];
    for crew in crews {
        store.add(&crew, &writer(0)).unwrap();
    }
    let squad = store.squad(Some("2026-04-02".parse().unwrap())).unwrap();
    let said: Vec<_> = squad.value.crews.iter().map(|c| (c.sailor.label.as_str(), c.boat.label.as_str())).collect();
    assert_eq!(said, [("Una", "Tern"), ("Mio", "Crake")]);
    assert!(squad.warnings[0].to_string().contains("Una is in Tern too"), "{:?}", squad.warnings);
}

/// A sailor whose label another boat's owner has stops all of the file, also what stood before.
#[test]
fn a_file_is_brought_in_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("squad.toml");
    let crew =
        |sailor: &str, boat: &str| format!("[[sailor]]\nsailor = \"{sailor}\"\nboat = \"{boat}\"\nmass = \"40 kg\"\nskill = \"races\"\n");
    fs::write(&path, crew("Ada", "Reed") + &crew("Bo", "Sedge")).unwrap();
    let mut store = new(folder.path());
    // The file's second boat cannot be written: the store refuses it.
    let broken = rusqlite::Connection::open(store.place()).unwrap();
    broken.execute_batch("CREATE TRIGGER no BEFORE INSERT ON boat WHEN new.label = 'Sedge' BEGIN SELECT RAISE(ABORT, 'no'); END").unwrap();
    assert!(store.import(&path, &writer(0)).is_err());
    assert_eq!(store.facts().unwrap(), 0);
    broken.execute_batch("DROP TRIGGER no").unwrap();
    assert!(store.import(&path, &writer(0)).unwrap().value.added > 3);
}
