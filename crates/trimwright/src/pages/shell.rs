//! What all pages share: the thumb index, the head, and small parts.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::drawing::Picture;

/// The index, in the order of the day: name and address.
const INDEX: [(&str, &str); 4] = [("Today", "/today"), ("Dock", "/dock"), ("What if", "/what-if"), ("Squad", "/squad")];

/// A whole page.
pub(super) fn page(title: &str, facts: Markup, body: Markup) -> Markup {
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
            }
            body {
                a.skip href="#main" { "To the page" }
                nav.index aria-label="Pages" {
                    ul {
                        @for (name, address) in INDEX {
                            li { a href=(address) aria-current=[(name == title).then_some("page")] { (name) } }
                        }
                    }
                }
                main #main {
                    header.head {
                        div { p.house { "Trimwright" } h1 { (title) } }
                        div.facts { (facts) }
                    }
                    (body)
                    footer { p { "The coach decides who sails, with the skill, the weather and the water before them. No page here says that it is safe." } }
                }
            }
        }
    }
}

/// A picture on a page.
pub(super) fn picture(picture: &Picture) -> Markup {
    PreEscaped(picture.inline())
}
