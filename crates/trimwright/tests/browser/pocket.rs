//! The pocket page where there is no network: ticks and answers wait on the phone, and go when the page is reached again.

use super::afloat::until;
use super::*;

#[test]
fn a_pocket_page_keeps_what_is_answered_until_the_network_is_back() {
    let shared = boatpark();
    let park = taken(&shared);
    let browser = &park.browser;
    browser.show(PHONE, "light");
    park.open(&park.own("/pocket.html"));
    browser.connected(false);
    // An answer opens its reason, and the right one opens beside it.
    browser.press(".q [data-right='0'] summary");
    until(browser, "the right answer is told", "!!document.querySelector('.q details.told[open]')");
    // Out from under the bar that stays at the top.
    browser.run("document.querySelector(\"[data-tick='dock.sponge']\").scrollIntoView({ block: 'center' })");
    browser.press("[data-tick='dock.sponge']");
    until(
        browser,
        "both wait",
        "document.getElementById('waiting').textContent.includes('wait on this phone: 1.') && !document.getElementById('send').hidden",
    );
    browser.picture(&kept().join("pocket-offline.png"));
    browser.connected(true);
    browser.run("dispatchEvent(new Event('online'))");
    until(
        browser,
        "all is sent",
        "document.getElementById('send').hidden && JSON.parse(Object.values(localStorage)[0]).answers.length === 0",
    );
    let said: Vec<String> = browser.complaints().into_iter().filter(|c| !c.contains("ERR_INTERNET_DISCONNECTED")).collect();
    assert_eq!(said, Vec::<String>::new());
    // The coach sees both.
    let school = park.demo.get("/school").body;
    assert!(school.contains("Quiz: 1 of 8"), "{school}");
    assert!(park.demo.get(&park.own("/checklist")).body.contains("name=\"item\" value=\"sponge\" checked"));
    // A page that lies open when the network goes keeps what was chosen, and says so.
    park.open(&park.own("/checklist"));
    browser.connected(false);
    for part in ["[value='whistle']", "#dock button"] {
        browser.run(&format!("document.querySelector(\"{part}\").scrollIntoView({{ block: 'center' }})"));
        browser.press(part);
    }
    until(browser, "it is told", "!document.getElementById('alone').hidden && document.querySelector(\"[value='whistle']\").checked");
    browser.connected(true);
    browser.follow("#dock button");
    assert!(park.demo.get(&park.own("/checklist")).body.contains("name=\"item\" value=\"whistle\" checked"));
}
