//! Every page at both widths and in both themes: no word from the console, nothing runs over, a picture is kept; and a slider
//! moves the sail.

use super::*;

/// What sticks out of the window, or out of a box that would have to be pushed sideways and does not say so: a table's own region does.
const RUNS_OVER: &str = "const found = []; const wide = document.documentElement; \
    if (wide.scrollWidth > wide.clientWidth) found.push('the page, by ' + (wide.scrollWidth - wide.clientWidth)); \
    for (const box of document.querySelectorAll('body *')) { \
        if (['auto', 'scroll'].includes(getComputedStyle(box).overflowX) && box.tabIndex !== 0 && box.scrollWidth > box.clientWidth + 1) \
            found.push(box.tagName + '.' + box.className + ', by ' + (box.scrollWidth - box.clientWidth)); } \
    return found;";

#[test]
fn every_page_fits_says_nothing_to_the_console_and_is_pictured() {
    let shared = boatpark();
    let park = taken(&shared);
    let folder = kept();
    for (size, width) in [(LAPTOP, "laptop"), (PHONE, "phone")] {
        for theme in ["light", "dark"] {
            park.browser.show(size, theme);
            for (name, path) in park.pages() {
                park.open(&path);
                let over = park.browser.run(RUNS_OVER);
                assert_eq!(over.as_array().unwrap().len(), 0, "{name} at {width}: {over}");
                assert_eq!(park.browser.complaints(), Vec::<String>::new(), "{name} at {width}, {theme}");
                let shown = park.browser.run("return getComputedStyle(document.documentElement).backgroundColor");
                assert_eq!(shown, if theme == "light" { "rgb(223, 230, 226)" } else { "rgb(7, 11, 14)" }, "{name}");
                park.browser.picture(&folder.join(format!("{name}-{width}-{theme}.png")));
            }
        }
    }
}

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
    let settled = "const done = arguments[arguments.length - 1]; const form = document.querySelector('form[data-live]'); \
                   const look = () => Number(form.dataset.shown || 0) > 0 ? setTimeout(done, 300) : setTimeout(look, 20); look();";
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
