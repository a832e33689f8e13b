//! With the keyboard alone: the tab key reaches every control of every page, and where the focus is can be seen.

use super::*;

/// The tab key.
const TAB: &str = "\u{E004}";
/// The enter key.
const ENTER: &str = "\u{E007}";
/// More controls than a page has.
const MOST: usize = 200;

/// Names every control that the tab key should reach. Buttons of one choice share a name, and the keyboard stops at one of them.
const CONTROLS: &str = "const all = document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex=\"0\"]'); \
    const seen = [...all].filter((e) => e.getClientRects().length > 0 && !e.disabled); \
    seen.forEach((e, k) => { e.dataset.stop = e.type === 'radio' ? 'choice ' + e.name : String(k); }); \
    return [...new Set(seen.map((e) => e.dataset.stop))];";

/// Where the focus is, and whether it shows: an outline about the control or what frames it.
const FOCUS: &str = "const e = document.activeElement; if (!e || e === document.body) return null; \
    const shows = [e, e.closest('label')].some((x) => x && getComputedStyle(x).outlineStyle !== 'none' && parseFloat(getComputedStyle(x).outlineWidth) >= 2); \
    return [e.dataset.stop, shows, e.outerHTML.slice(0, 120)];";

#[test]
fn tab_reaches_every_control_and_the_focus_shows() {
    let shared = boatpark();
    let park = taken(&shared);
    for (name, path) in park.pages() {
        park.open(&path);
        let controls = park.browser.run(CONTROLS);
        let mut left: Vec<&str> = controls.as_array().unwrap().iter().map(|c| c.as_str().unwrap()).collect();
        assert!(left.len() > 5, "{name}: {left:?}");
        for _ in 0..MOST {
            park.browser.key(TAB);
            let at = park.browser.run(FOCUS);
            let Some(stop) = at[0].as_str() else { break };
            assert!(at[1].as_bool().unwrap(), "{name}: the focus does not show on {}", at[2]);
            left.retain(|one| *one != stop);
            if left.is_empty() {
                break;
            }
        }
        assert!(left.is_empty(), "{name}: the tab key never came to {left:?} of {controls}");
    }
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
