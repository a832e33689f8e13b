//! Forms, typed and sent as a person does, come back as they were meant.

use super::*;

#[test]
fn a_squad_of_one_typed_from_nothing() {
    let shared = boatpark();
    let park = taken(&shared);
    let folder = tempfile::tempdir().unwrap();
    let own = Serving::start(folder.path(), &["serve", "--store", "squad"]);
    let browser = &park.browser;
    browser.go(&format!("http://{}/", own.address));
    assert!(browser.address().ends_with("/today"));
    browser.follow(".index a[href='/squad']");
    browser.fill("#label", "Dunlin");
    browser.follow("form[action='/squad/boat'] button");
    browser.follow("a[href='/squad/sailor/new']");
    for (field, text) in [("#label", "Oda <b>"), ("#mass", "fourty"), ("#stature", "152")] {
        browser.fill(field, text);
    }
    browser.press("#boat option:last-child");
    browser.press("#skill option:nth-child(3)");
    browser.follow("main .tag");
    // What could not be used is told beside its field, and what was typed stands.
    assert!(browser.text("[role=alert]").contains("fourty"));
    browser.fill("#mass", "43.5");
    browser.follow("main .tag");
    assert!(browser.address().ends_with("/squad"));
    let squad = browser.text("main");
    assert!(squad.contains("Oda <b>") && squad.contains("Dunlin") && !squad.contains("43.5"), "{squad}");
    browser.follow(".index a[href='/today']");
    browser.fill("#wind", "13:00 9 12 300");
    browser.fill("#signal", "13:00");
    browser.follow("#wind-form .tag");
    assert!(browser.text("main").contains("11:45"), "{}", browser.text("main"));
    assert_eq!(browser.run("return document.getElementById('wind').value.trim()"), "13:00 9 12 300");
    browser.press("input[name=thunder]");
    browser.follow("#wind-form .tag");
    assert_eq!(browser.run("return document.querySelector('input[name=thunder]').checked"), true);
    assert_eq!(browser.complaints(), Vec::<String>::new());
}
