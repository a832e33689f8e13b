//! What if: a slider moves the sail; without script typing and a button do the same.

use super::*;

#[test]
fn a_slider_moves_the_sail() {
    let shared = boatpark();
    let park = taken(&shared);
    park.open("/what-if?boat=Avocet&wind=10");
    let sails = |park: &Boatpark| park.browser.run("return document.getElementById('sides').innerHTML");
    let (before, verdict) = (sails(&park), park.browser.text("#verdict"));
    assert!(verdict.contains("Nothing to move"), "{verdict}");
    // A hand on the slider: the right arrow key, one step at a time.
    park.browser.run("document.getElementById('r-a-car_offset').focus()");
    let end = "\u{E010}";
    park.browser.key(end);
    // The picture has moved, and the address is written down a moment later.
    let settled = "const done = arguments[arguments.length - 1]; const form = document.querySelector('form[data-live]'); \
                   const look = () => Number(form.dataset.shown || 0) > 0 && location.search.includes('a.car_offset=') ? done() : setTimeout(look, 20); look();";
    park.browser.wait(settled);
    assert_ne!(sails(&park), before);
    let verdict = park.browser.text("#verdict");
    assert!(verdict.contains("too far out") && verdict.contains("behind the best"), "{verdict}");
    assert_eq!(park.browser.complaints(), Vec::<String>::new());
    // The address holds the state: opened anew, it is the same picture.
    let (address, moved) = (park.browser.address(), sails(&park));
    assert!(address.contains("a.car_offset="), "{address}");
    park.browser.go(&address);
    assert_eq!(sails(&park), moved);
}

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
}
