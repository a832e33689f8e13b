//! Every page, loaded once by a laptop and looked at in every way: at both widths and in both themes, by an accessibility engine, with
//! the tab key, on paper, and then without script.

use std::process::Command;

use super::accessible::{engine, violations};
use super::keyboard::unreached;
use super::*;

/// What sticks out of the window, or out of a box that would have to be pushed sideways and does not say so: a table's own region does.
const RUNS_OVER: &str = "const found = []; const wide = document.documentElement; \
    if (wide.scrollWidth > wide.clientWidth) found.push('the page, by ' + (wide.scrollWidth - wide.clientWidth)); \
    for (const box of document.querySelectorAll('body *')) { \
        if (['auto', 'scroll'].includes(getComputedStyle(box).overflowX) && box.tabIndex !== 0 && box.scrollWidth > box.clientWidth + 1) \
            found.push(box.tagName + '.' + box.className + ', by ' + (box.scrollWidth - box.clientWidth)); } \
    return [getComputedStyle(wide).backgroundColor, found];";

/// The colour behind a page, by theme.
const BEHIND: [(&str, &str); 2] = [("light", "rgb(223, 230, 226)"), ("dark", "rgb(7, 11, 14)")];

#[test]
fn every_page_serves_every_reader() {
    let engine = engine();
    let shared = boatpark();
    let park = taken(&shared);
    let (browser, folder) = (&park.browser, kept());
    let mut found: Vec<String> = Vec::new();
    let pages = park.pages();
    for (name, path) in &pages {
        browser.show(LAPTOP, "light");
        park.open(path);
        found.extend(unreached(browser).into_iter().map(|what| format!("{name}: {what}")));
        for (size, width) in [(LAPTOP, "laptop"), (PHONE, "phone")] {
            for (theme, behind) in BEHIND {
                browser.show(size, theme);
                let shown = browser.run(RUNS_OVER);
                found.extend(shown[1].as_array().unwrap().iter().map(|what| format!("{name} at {width}: {what}")));
                if shown[0] != behind {
                    found.push(format!("{name}, {theme}: {} behind it", shown[0]));
                }
                // One picture and one reading of each width, in the theme that is likelier there: a sunny dock, a dark room.
                if (width == "phone") == (theme == "light") {
                    found.extend(violations(browser, &engine).into_iter().map(|what| format!("{theme} {name}: {what}")));
                    browser.picture(&folder.join(format!("{name}-{width}-{theme}.png")));
                }
            }
        }
        found.extend(on_paper(browser, name, path));
        found.extend(browser.complaints().into_iter().map(|what| format!("{name}: {what}")));
    }
    browser.scripts(false);
    browser.show(LAPTOP, "light");
    for (name, path) in &pages {
        park.open(path);
        if !browser.text("main").contains(last_words(path)) {
            found.push(format!("{name} without script: {}", browser.text("main")));
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// What stands at the foot of a page: the coach's pages say who decides, a sailor's own what goes into the pocket.
fn last_words(path: &str) -> &'static str {
    if path.starts_with("/school/") && path.split('/').nth(2).is_some_and(|id| id.len() == 32) {
        "It works with no network."
    } else {
        "The coach decides who sails"
    }
}

/// A page printed to PDF: its title and its last words are there, and the index is not.
fn on_paper(browser: &Browser, name: &str, path: &str) -> Option<String> {
    let title = browser.text("h1");
    let file = kept().join(format!("{name}.pdf"));
    std::fs::write(&file, browser.printed()).unwrap();
    let read = Command::new("pdftotext").args(["-layout"]).arg(&file).arg("-").output().unwrap();
    let text = String::from_utf8(read.stdout).unwrap();
    // The lines of paper break elsewhere.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let whole = text.contains(&title) && text.contains(last_words(path)) && !text.contains("To the page");
    (!whole).then(|| format!("{name} on paper: {text}"))
}
