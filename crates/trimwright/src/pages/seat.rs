//! Where a sailor sits at school: on the sailor's own phone, reached by the link, or at the coach's machine. The same pages, other addresses.

use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept};

use super::yard::Yard;
use super::{Refusal, later, mine, shell};
use crate::words::school::{Language, Tongue};

/// The cookie of the language.
const COOKIE: &str = "language";
/// For how long a browser keeps it, s: a season.
const SEASON: u32 = 200 * 86400;

/// Whose pages, at which address, in which language.
pub(super) struct Seat<'a> {
    pub(super) sailor: Kept<Sailor>,
    /// What every address begins with.
    pub(super) base: String,
    /// The program as this browser reaches it, like "http://192.168.1.5:7245"; empty where no browser asks.
    pub(super) origin: String,
    pub(super) tongue: &'a Tongue,
    /// Whether the coach holds it.
    pub(super) coach: bool,
}

/// The language of whoever asks.
pub(super) fn language(headers: &HeaderMap) -> Language {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|line| line.to_str().ok()).flat_map(|line| line.split(';'));
    let mut named = cookies.filter_map(|pair| pair.trim().split_once('=')).filter(|pair| pair.0 == COOKIE);
    named.next().and_then(|pair| Language::coded(pair.1)).unwrap_or(Language::English)
}

/// Where a browser reaches us: the host it named, which was found to be ours.
fn origin(headers: &HeaderMap) -> String {
    headers.get(header::HOST).and_then(|host| host.to_str().ok()).map_or(String::new(), |host| format!("http://{host}"))
}

impl<'a> Seat<'a> {
    /// By a sailor's link.
    pub(super) fn by_link(yard: &'a Yard, link: &str, headers: &HeaderMap) -> Result<Self, Refusal> {
        let tongue = yard.tongue(language(headers))?;
        let sailor = mine::whose(yard, link, tongue)?;
        Ok(Self { sailor, base: format!("/s/{link}"), origin: origin(headers), tongue, coach: false })
    }

    /// At the coach's machine.
    pub(super) fn by_id(yard: &'a Yard, id: &str, headers: &HeaderMap) -> Result<Self, Refusal> {
        let lost = || Refusal::lost("There is no such sailor");
        let id: Id<Sailor> = id.parse().map_err(|_| lost())?;
        let sailor = yard.store()?.get(id)?.filter(|s| !s.withdrawn).ok_or_else(lost)?;
        Ok(Self { base: format!("/school/{id}"), sailor, origin: origin(headers), tongue: yard.tongue(language(headers))?, coach: true })
    }

    /// A page of the sailor's.
    pub(super) fn page(&self, current: &str, body: Markup) -> Response {
        let pages = [("card", ""), ("checklist", "/checklist"), ("quiz", "/quiz")];
        let t = |key: &'static str| self.tongue.page(key);
        let label = &self.sailor.fact.label;
        let facts = html! { p { b { (label) } @if self.coach { br; a href="/school" { "Back to School" } } } };
        let below = html! { nav.below aria-label=(label) { ul { @for (key, path) in pages {
            li { a href=(format!("{}{path}", self.base)) aria-current=[(key == current).then_some("page")] { (self.tongue.page(key)) } }
        } } } };
        let body = html! {
            (body)
            p.wrong #alone role="alert" hidden { (t("alone")) }
            script src="/look/phone.js" defer {}
            footer {
                p { a href=(format!("{}/words", self.base)) { (t("glossary")) } }
                p { a href=(format!("{}/pocket.html", self.base)) { (t("pocket")) } ". " (t("pocket_why")) }
                form method="post" action=(format!("{}/language", self.base)) {
                    @for language in Language::ALL { button.second name="language" value=(language.code()) lang=(language.code()) aria-pressed=(if language == self.tongue.language { "true" } else { "false" }) { (language.name()) } " " }
                }
            }
        };
        let title = self.tongue.page(current);
        Html(shell::phone(self.tongue.language, &format!("{title} · {label}"), title, facts, body, below).into_string()).into_response()
    }

    /// Their browser keeps a language.
    pub(super) fn speak(&self, code: &str) -> Response {
        let language = Language::coded(code).unwrap_or(self.tongue.language);
        let mut answer = later(&self.base);
        let cookie = format!("{COOKIE}={}; Path=/; Max-Age={SEASON}; HttpOnly; SameSite=Strict", language.code());
        if let Ok(cookie) = HeaderValue::from_str(&cookie) {
            answer.headers_mut().insert(header::SET_COOKIE, cookie);
        }
        answer
    }
}
