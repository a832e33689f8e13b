//! Phones on the club's network: the address and its picture for a camera, what to know of such networks, and the sailors' own links.

use std::net::SocketAddr;
use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use maud::{Markup, PreEscaped, html};
use qrcode::render::svg;
use qrcode::{EcLevel, QrCode};
use squad::fact::link::{SailorLink, Secret};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment, SquadError, Store};

use super::yard::Yard;
use super::{Answer, Refusal, Sent, later, whole};

/// A picture of an address that a phone's camera reads; none where the address is too long for one.
pub(super) fn camera(address: &str) -> Markup {
    let Ok(code) = QrCode::with_error_correction_level(address, EcLevel::M) else { return html! {} };
    // Dark on light on every page: a camera reads no other.
    let svg = code
        .render::<svg::Color<'_>>()
        .min_dimensions(240, 240)
        .dark_color(svg::Color("#13202a"))
        .light_color(svg::Color("#ffffff"))
        .build();
    let svg = svg.split_once("?>").map_or(svg.as_str(), |(_, svg)| svg).replacen(
        "<svg ",
        "<svg role=\"img\" aria-label=\"The address as a picture for a camera\" ",
        1,
    );
    html! { div.camera { (PreEscaped(svg)) } }
}

/// An address of these pages.
fn address(at: SocketAddr, path: &str) -> String {
    if at.port() == 80 && at.is_ipv4() { format!("http://{}{path}", at.ip()) } else { format!("http://{at}{path}") }
}

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    show(&yard, None)
}

fn show(yard: &Yard, made: Option<(&Kept<Sailor>, Secret)>) -> Answer {
    let mut sailors = Vec::new();
    {
        let store = yard.store()?;
        for sailor in store.sailors()? {
            let links = store.links_of(sailor.id)?;
            sailors.push((sailor, links));
        }
    }
    let first = yard.listened.first().copied();
    let body = html! {
        @if let Some((sailor, secret)) = made { section.first #made role="status" {
            h2 { "The link of " (sailor.fact.label) }
            p { "It is shown this once. Let " (sailor.fact.label) "'s phone see the picture, or send the address. Whoever has it sees this sailor's card, checklist and quiz, and nothing else." }
            @for at in &yard.listened {
                @let link = address(*at, &format!("/s/{secret}"));
                (camera(&link)) p.address { a href=(link) { (link) } }
            }
            @if first.is_none() { p { a href=(format!("/s/{secret}")) { "Open it on this machine" } ". Phones reach it once the pages are open to the network." } }
        } }
        section.first {
            h2 { "The coach's phone" }
            @match first {
                None => {
                    p { "These pages are open on this machine alone. To open them to phones, stop the program and start it again with the address phones may come by:" }
                    p { code { "trimwright serve --store DIR --listen 0.0.0.0" } }
                    p { "It then asks for a pass phrase, of twelve letters or more." }
                }
                Some(_) => {
                    @for at in &yard.listened { @let address = address(*at, "/"); (camera(&address)) p.address { b { (address) } } }
                    p { "A phone on the same network opens this address and types the pass phrase: then it has all pages for twelve hours, but no body mass, which only this machine shows." }
                }
            }
        }
        section {
            h2 { "Sailors' own links" }
            p { "A link opens one sailor's card, checklist and quiz on that sailor's phone, without the pass phrase. A new link ends the one before; a link taken back opens nothing from then on." }
            @if sailors.is_empty() { p { "No sailors yet." } } @else {
                table { tbody { @for (sailor, links) in &sailors { tr {
                    td { span.name { (sailor.fact.label) } }
                    td { @match links.last() { Some(link) => { "has a link since " (link.fact.at.to_string().chars().take(10).collect::<String>()) } None => { span.quiet { "no link" } } } }
                    td.deeds {
                        form.inline method="post" action="/school/phones/link" { input type="hidden" name="sailor" value=(sailor.id); button.second { @if links.is_empty() { "Make a link" } @else { "Make a new link" } span.unseen { " for " (sailor.fact.label) } } }
                        @if !links.is_empty() { form.inline method="post" action="/school/phones/withdraw" { input type="hidden" name="sailor" value=(sailor.id); button.second { "Take it back" span.unseen { " from " (sailor.fact.label) } } } }
                    }
                } } } }
            }
        }
        section {
            h2 { "Where there is no network" }
            p { "Let this machine or a phone make one: a hotspot. Laptop and phones join it, and it needs no internet. The address above changes with the network: start the program again and read the new one here." }
            h2 { "Where a phone finds nothing" }
            p { "Many club, school and guest networks keep phones apart from each other and from laptops. Then no address here can work; use a hotspot. A firewall of this machine may also have to let the program in." }
            h2 { "What plain HTTP means" }
            p { "What goes between a phone and this machine is not encrypted. Who runs the network, or listens on it, can read it: cards, answers, the pass phrase as it is typed, a sailor's link. On a network of strangers use a hotspot of your own with a password, and choose a pass phrase you use for nothing else." }
        }
    };
    Ok(whole("Phones", html! { p { a href="/school" { "Back to School" } } }, body))
}

fn named(yard: &Yard, id: &str) -> Result<Kept<Sailor>, Refusal> {
    let id: Id<Sailor> = id.parse().map_err(|_| Refusal::lost("There is no such sailor"))?;
    yard.store()?.get(id)?.filter(|s| !s.withdrawn).ok_or_else(|| Refusal::lost("There is no such sailor"))
}

/// A sailor's links are taken back.
fn taken_back(store: &mut Store, sailor: Id<Sailor>) -> Result<(), SquadError> {
    for link in store.links_of(sailor)? {
        drop(store.withdraw(link.id, link.version, &Yard::writer())?.kept());
    }
    Ok(())
}

/// A link is made, and shown this once: only its hash is kept.
pub(super) async fn link(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let sailor = named(&yard, form.text("sailor"))?;
    let secret = Secret::random()?;
    yard.store()?.whole(|store| {
        taken_back(store, sailor.id)?;
        store.add(&SailorLink::of(sailor.id, Moment::now(), secret), &Yard::writer())
    })?;
    show(&yard, Some((&sailor, secret)))
}

/// A link is taken back.
pub(super) async fn withdraw(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Result<Response, Refusal> {
    let sailor = named(&yard, form.text("sailor"))?;
    yard.store()?.whole(|store| taken_back(store, sailor.id))?;
    Ok(later("/school/phones"))
}
