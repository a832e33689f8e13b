//! With the keyboard alone: the tab key reaches every control of a page, and where the focus is can be seen.

use super::*;

/// The tab key.
const TAB: &str = "\u{E004}";
/// The enter key.
const ENTER: &str = "\u{E007}";

/// Names every control that the tab key should reach, and writes down where the focus comes and whether it shows there: an outline
/// about the control or what frames it. Buttons of one choice share a name, and the keyboard stops at one of them.
const CONTROLS: &str = "const all = document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex=\"0\"]'); \
    const seen = [...all].filter((e) => e.getClientRects().length > 0 && !e.disabled); \
    seen.forEach((e, k) => { e.dataset.stop = e.type === 'radio' ? 'choice ' + e.name : String(k); }); \
    window.reached = {}; \
    document.addEventListener('focusin', ({ target: e }) => { \
        const shows = [e, e.closest('label')].some((x) => x && getComputedStyle(x).outlineStyle !== 'none' && parseFloat(getComputedStyle(x).outlineWidth) >= 2); \
        window.reached[e.dataset.stop] = shows ? '' : e.outerHTML.slice(0, 120); }); \
    return [...new Set(seen.map((e) => e.dataset.stop))];";

/// What the tab key does not reach on the page that is open, and where the focus does not show.
pub(crate) fn unreached(browser: &Browser) -> Vec<String> {
    let controls = browser.run(CONTROLS);
    let stops: Vec<&str> = controls.as_array().unwrap().iter().map(|c| c.as_str().unwrap()).collect();
    // A frame that scrolls by itself is a stop too.
    browser.keys(TAB, stops.len() + 4);
    let reached = browser.run("return window.reached");
    let mut found = Vec::new();
    if stops.len() <= 4 {
        found.push(format!("so few controls: {stops:?}"));
    }
    for stop in &stops {
        match reached[stop].as_str() {
            None => found.push(format!("the tab key never came to {stop} of {controls}")),
            Some("") => {}
            Some(what) => found.push(format!("the focus does not show on {what}")),
        }
    }
    found
}

#[test]
fn a_boat_is_measured_without_a_mouse() {
    let shared = boatpark();
    let park = taken(&shared);
    let boat = park.first("/dock/");
    park.open(&boat);
    park.browser.run("document.getElementById('boom_end_dock').focus()");
    park.browser.key("5");
    park.browser.key("2");
    park.browser.leaving(|| park.browser.key(ENTER));
    let text = park.browser.text("main");
    assert!(text.contains("high.") && text.contains("Tip the mast"), "{text}");
}
