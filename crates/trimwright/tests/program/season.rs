//! The Season page over a socket: outings gathered, a setting held against the model, a correction taken over and put back.

use std::time::{Duration, Instant};

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
    for words in ["3 outings with tracks", "Both together", "What to test next", "Did the passes tell?", "The model alone foresaw"] {
        assert!(season.body.contains(words), "{words}: {}", season.body);
    }
    // No mass, no blame and no ranking on a page of all.
    assert!(!season.body.contains(" kg") && !season.body.contains("worst"), "{}", season.body);

    let passes = pages.get("/season/passes.csv");
    assert!(passes.body.starts_with("pass,sailor,position,wind_kn,vmg_kn,car_offset"), "{}", passes.body);
    assert!(passes.body.lines().count() > 8);
    let table = folder.path().join("passes.csv");
    std::fs::write(&table, &passes.body).unwrap();
    let lineups = assert_cmd::Command::new(assert_cmd::cargo::cargo_bin!("trimwright")).arg("lineups").arg(&table).output().unwrap();
    let said = String::from_utf8_lossy(&lineups.stdout).into_owned();
    assert!(said.contains("car_offset"), "{said}");

    // A sailor's own page has that sailor's figures and nobody else's name.
    let own = season.body.split("<li><a href=\"").find(|rest| rest.starts_with("/season/")).unwrap();
    let own = pages.get(own.split('"').next().unwrap());
    assert!(own.status == 200 && own.body.contains("A tack lost") && own.body.contains("this sailor"), "{}", own.body);
    assert!(pages.get("/season/progress.csv").body.contains("tack_loss_m"));
    assert_eq!(pages.get("/season/0123").status, 404);

    if season.body.contains("Take this over") {
        assert_eq!(pages.post("/season/take", &[]).status, 303);
        let standing = gathered(&pages);
        assert!(standing.body.contains("A correction stands") && standing.body.contains("Go back to the model"), "{}", standing.body);
        // The correction is no evidence for itself: the passes say of the model what they said before.
        let told = |page: &Page| page.body.split("Multiplier").nth(1).unwrap().split("</table>").next().unwrap().to_owned();
        assert_eq!(told(&standing), told(&season));
        assert_eq!(pages.post("/season/back", &[]).status, 303);
        assert!(!gathered(&pages).body.contains("A correction stands"));
    } else {
        assert_eq!(pages.post("/season/take", &[]).status, 422);
    }
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
