//! With scripts off every page still does its work: buttons send forms, and the answer is a whole page.

use super::*;

#[test]
fn settings_are_moved_by_typing_and_a_button() {
    let shared = boatpark();
    let park = taken(&shared);
    park.browser.scripts(false);
    park.open("/what-if?boat=Avocet&wind=10");
    park.browser.fill("#a-car_offset", "35");
    park.browser.follow("form .tag");
    let verdict = park.browser.text("#verdict");
    assert!(verdict.contains("too far out"), "{verdict}");
    assert!(park.browser.address().contains("a.car_offset=35"));
    for (name, path) in park.pages() {
        park.open(&path);
        assert!(park.browser.text("main").contains("The coach decides who sails"), "{name}");
    }
}
