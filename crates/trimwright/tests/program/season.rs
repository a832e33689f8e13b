//! The Season page over a socket: outings gathered, a setting held against the model, a correction taken over and put back.

use std::time::{Duration, Instant};

use squad::fact::correction::Correction;
use squad::{Moment, Store, Writer};

use crate::serving::{Page, Serving};

/// Three outings are debriefed in seconds; more than this is a hang, s.
const PATIENCE: u64 = 120;

fn gathered(pages: &Serving) -> Page {
    let begun = Instant::now();
    loop {
        let page = pages.get("/season");
        if !page.body.contains("data-again") {
            return page;
        }
        assert!(begun.elapsed().as_secs() < PATIENCE, "{}", page.body);
        std::thread::sleep(Duration::from_millis(200));
    }
}

#[test]
fn a_season_corrects_the_model_and_one_press_goes_back() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["demo", "--no-browser", "--store", "squad"]);
    let season = gathered(&pages);
    for words in ["3 outings with tracks", "Both together", "What to test next", "What that says of the model", "The model alone foresaw"] {
        assert!(season.body.contains(words), "{words}: {}", season.body);
    }
    // No mass, no blame and no ranking on a page of all.
    assert!(!season.body.contains(" kg") && !season.body.contains("worst"), "{}", season.body);

    let passes = pages.get("/season/passes.csv");
    assert!(passes.body.starts_with("pass,sailor,position,wind_kn,vmg_kn,board_angle"), "{}", passes.body);
    assert!(passes.body.lines().count() > 8);
    let table = folder.path().join("passes.csv");
    std::fs::write(&table, &passes.body).unwrap();
    let lineups = assert_cmd::Command::new(assert_cmd::cargo::cargo_bin!("trimwright")).arg("lineups").arg(&table).output().unwrap();
    let said = String::from_utf8_lossy(&lineups.stdout).into_owned();
    assert!(said.contains("board_angle"), "{said}");

    // A sailor's own page has that sailor's figures and nobody else's name.
    let own = season.body.split("<li><a href=\"").find(|rest| rest.starts_with("/season/")).unwrap();
    let own = pages.get(own.split('"').next().unwrap());
    assert!(own.status == 200 && own.body.contains("A tack lost") && own.body.contains("this sailor"), "{}", own.body);
    assert!(pages.get("/season/progress.csv").body.contains("tack_loss_m"));
    assert_eq!(pages.get("/season/0123").status, 404);

    // The rehearsed boards tipped back cost less than the model foresees: the drag of leeway goes down, it alone, and may be taken over.
    let told: Vec<&str> = season.body.split("<tr>").filter(|row| row.contains("% less doubt")).collect();
    assert!(told.len() == 1 && told[0].contains("drag of leeway"), "{}", season.body);
    let after = told[0].split("<b>").nth(1).and_then(|rest| rest.split('<').next()).unwrap();
    assert!((0.0..10.0).contains(&after.parse::<f64>().unwrap()), "{after}");
    assert!(season.body.contains("Take this over"));
    assert_eq!(pages.post("/season/take", &[]).status, 303);
    assert!(gathered(&pages).body.contains("A correction stands"));
    // Taken over, the passes go on being held against the model as it came.
    assert!(gathered(&pages).body.contains(&format!("<b>{after}</b>")));
    assert_eq!(pages.post("/season/back", &[]).status, 303);
    assert!(!gathered(&pages).body.contains("A correction stands"));
}

/// A correction that stands is told, carried into the cards, and put back by one press.
#[test]
fn a_correction_is_carried_into_cards_and_one_press_goes_back() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("squad");
    {
        let mut store = Store::open_or_new(&place).unwrap().value;
        let words = "It rests on 24 passes in 3 outings.";
        store.add(&Correction::of(&[("hull.residuary_scale", 1.2)], Moment::now(), words), &Writer::now("coach")).unwrap();
    }
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    assert_eq!(pages.post("/squad/boat", &[("label", "Dunlin")]).status, 303);
    let boat = crate::pages::address_in(&pages.get("/squad"), "/dock/");
    let sailor = [("label", "Oda"), ("mass", "43.5"), ("stature", "152"), ("skill", "races"), ("boat", boat.trim_start_matches("/dock/"))];
    assert_eq!(pages.post("/squad/sailor/new", &sailor).status, 303);
    assert_eq!(pages.post("/today", &[("wind", "10"), ("timezone", "UTC"), ("signal", "13:00")]).status, 303);
    let corrected = pages.solved();
    assert!(corrected.body.contains("own-passes") && corrected.body.contains("this squad's own line-ups"), "{}", corrected.body);
    let standing = gathered(&pages);
    assert!(standing.body.contains("A correction stands") && standing.body.contains("24 passes in 3 outings"), "{}", standing.body);
    assert_eq!(pages.post("/season/back", &[]).status, 303);
    assert!(!gathered(&pages).body.contains("A correction stands"));
    assert_eq!(pages.post("/today/solve", &[("back", "/today")]).status, 303);
    let as_it_came = pages.solved();
    assert!(!as_it_came.body.contains("own-passes") && as_it_came.body.contains("theory"), "{}", as_it_came.body);
}

#[test]
fn a_season_of_nothing_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let pages = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let season = gathered(&pages);
    assert!(season.body.contains("No setting has been tried") && season.body.contains("Nobody's recorder is known"), "{}", season.body);
    assert_eq!(pages.post("/season/take", &[]).status, 422);
    assert_eq!(pages.post("/season/back", &[]).status, 303);
    assert!(pages.get("/season/passes.csv").body.starts_with("pass,sailor"));
}
