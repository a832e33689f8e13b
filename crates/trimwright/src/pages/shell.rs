//! What all pages share: the thumb index, the head, and small parts.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::enter;
use super::units::Units;
use crate::drawing::Picture;
use crate::words::school::Language;

/// The index, in the order of the day: name and address.
const INDEX: [(&str, &str); 9] = [
    ("Today", "/today"),
    ("Dock", "/dock"),
    ("What if", "/what-if"),
    ("Race day", "/race-day"),
    ("Afloat", "/afloat"),
    ("Ashore", "/ashore"),
    ("Season", "/season"),
    ("School", "/school"),
    ("Squad", "/squad"),
];
/// Those that a phone's row holds; the others stand behind "More", and the one that is open always.
const ON_A_PHONE: [&str; 5] = ["Today", "Dock", "Afloat", "Ashore", "School"];
/// Pages that belong to one of the index.
const UNDER: [(&str, &str); 2] = [("Signals", "Race day"), ("Results", "Race day")];

/// A whole page.
pub(super) fn page(title: &str, facts: Markup, body: Markup) -> Markup {
    let of = UNDER.iter().find(|u| u.0 == title).map_or(title, |u| u.1);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Trimwright" }
                link rel="icon" href="data:,";
                link rel="stylesheet" href="/look/style.css";
                script src="/look/live.js" defer {}
                @if title == "Signals" { script src="/look/signals.js" defer {} }
                @if title == "Ashore" { script src="/look/replay.js" defer {} }
            }
            body {
                a.skip href="#main" { "To the page" }
                nav.index #pages aria-label="Pages" {
                    ul {
                        @for (name, address) in INDEX {
                            li.less[name != of && !ON_A_PHONE.contains(&name)] { a href=(address) aria-current=[(name == of).then_some("page")] { (name) } }
                        }
                        li.more { a href="#pages" { "More" } }
                    }
                }
                main #main {
                    header.head {
                        div { p.house { "Trimwright" } h1 { (title) } }
                        div.facts { (facts) }
                    }
                    (body)
                    footer {
                        form method="post" action="/units" { @for (name, says) in [("metric", "Centimetres and kilograms"), ("us", "Inches and pounds")] {
                            button.second name="units" value=(name) aria-pressed=(if Units::now().name() == name { "true" } else { "false" }) { (says) } " "
                        } }
                        @if !enter::at_home() { form method="post" action="/enter/leave" { button.second { "Put this phone away" } } }
                        p { "The coach decides who sails, with the skill, the weather and the water before them. No page here says that it is safe. " a href="/privacy" { "What is kept about children" } "." }
                    }
                }
            }
        }
    }
}

/// What the head of every page of a phone holds: how it lies on the screen, its title, and that no list of pages takes it up.
pub(super) fn head(title: &str, more: Markup) -> Markup {
    html! { head {
        meta charset="utf-8";
        meta name="viewport" content="width=device-width, initial-scale=1";
        meta name="color-scheme" content="light dark";
        meta name="robots" content="noindex";
        title { (title) }
        (more)
    } }
}

/// A page without the index: a sailor's own, the door, and what a stranger sees. What stands below it all comes last.
pub(super) fn phone(language: Language, head_title: &str, title: &str, facts: Markup, body: Markup, below: Markup) -> Markup {
    let look = html! { link rel="icon" href="data:,"; link rel="stylesheet" href="/look/style.css"; };
    html! {
        (DOCTYPE)
        html lang=(language.code()) {
            (head(head_title, look))
            body.phone {
                main #main {
                    header.head {
                        div { p.house { "Trimwright" } h1 { (title) } }
                        div.facts { (facts) }
                    }
                    (body)
                }
                (below)
            }
        }
    }
}

/// The same in English, with nothing below.
pub(super) fn bare(title: &str, facts: Markup, body: Markup) -> Markup {
    phone(Language::English, &format!("{title} · Trimwright"), title, facts, body, html! {})
}

/// A picture on a page.
pub(super) fn picture(picture: &Picture) -> Markup {
    PreEscaped(picture.inline())
}
