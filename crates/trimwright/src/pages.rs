//! The coach's pages: plain HTML from the loopback address, usable without script; a little script moves pictures.
//!
//! A page computes nothing: it asks a briefing for a plain document and writes it down. Everything a page needs comes from this
//! program; nothing is fetched from anywhere, and the headers forbid it. Only a browser on this machine is answered, and where the
//! coach opened the door ([`crate::door`]) one on the club's network, with the pass phrase or by a sailor's own link. The host must be
//! the address the request came in by, and a form from another site is refused.

mod afloat;
mod ashore;
mod base;
mod checklist;
mod dock;
mod enter;
mod form;
mod kit;
mod limits;
mod look;
mod measured;
mod mine;
mod order;
mod phones;
mod pocket;
mod privacy;
mod quiz;
mod race_day;
mod school;
mod season;
mod seat;
mod shell;
mod squad;
mod today;
mod units;
mod what_if;
mod yard;

use std::sync::Arc;

use ::squad::SquadError;
use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, DefaultBodyLimit, FromRequest, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use maud::{Markup, html};

pub use enter::Ends;
pub use pocket::pockets;
pub use yard::Yard;

use crate::words::school::Language;
use form::Form;

/// What a page may load: itself alone.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; \
                      form-action 'self'; frame-ancestors 'none'; base-uri 'none'";
/// The largest form, bytes.
const LARGEST: usize = 256 << 10;

/// What a page answers.
type Answer = Result<Response, Refusal>;

/// All pages of a yard.
pub fn router(yard: Arc<Yard>) -> Router {
    // What was solved went with the last start; a phone that comes back should find its card. Where it cannot begin, the page says why.
    drop(today::begin(&yard));
    Router::new()
        .route("/", get(|| async { Redirect::temporary("/today") }))
        .route("/today", get(today::page).post(today::write))
        .route("/today/solve", post(today::solve))
        .route("/today/stop", post(today::stop))
        .route("/today/cards", post(today::give))
        .route("/today/cards.pdf", get(today::cards))
        .route("/today/order", get(order::page).post(order::write))
        .route("/today/limits", get(limits::page).post(limits::write))
        .route("/dock", get(dock::list))
        .route("/dock/{boat}", get(dock::boat))
        .route("/dock/{boat}/readings", post(dock::readings))
        .route("/dock/{boat}/heights", post(dock::keep_heights))
        .route("/dock/{boat}/weigh", post(dock::weigh))
        .route("/dock/{boat}/kit", post(kit::write))
        .route("/what-if", get(what_if::page))
        .route("/what-if/parts", get(what_if::parts))
        .route("/afloat", get(afloat::page))
        .route("/afloat/phone", get(afloat::phone))
        .route("/afloat/day", get(afloat::data))
        .route("/afloat/notes", post(afloat::take))
        .route("/afloat/tally", post(afloat::tally))
        .route("/afloat/clock", post(afloat::settle))
        .route("/afloat/pasted", post(afloat::pasted))
        .route("/afloat/outing", post(afloat::another))
        .route("/afloat/tally.pdf", get(afloat::paper::pdf))
        .route("/afloat/paper", get(afloat::paper::page).post(afloat::paper::write))
        .route("/afloat/plan", get(afloat::plan::page).post(afloat::plan::write))
        .route("/afloat/plan.pdf", get(afloat::plan::sheets))
        .route("/afloat/voice/{sailor}", get(afloat::voice::page).post(afloat::voice::write))
        .route("/ashore", get(ashore::page))
        .route("/ashore/files", post(ashore::files).layer(DefaultBodyLimit::max(ashore::LARGEST)))
        .route("/ashore/whose", post(ashore::whose))
        .route("/ashore/buoys", post(ashore::by_buoys))
        .route("/ashore/pictures", post(ashore::pictures_said))
        .route("/ashore/picture/{id}", get(ashore::picture))
        .route("/ashore/changed", post(ashore::changed))
        .route("/ashore/passes.csv", get(ashore::passes))
        .route("/ashore/plan", get(ashore::planned))
        .route("/ashore/trails", get(ashore::trails))
        .route("/ashore/sheets.pdf", get(ashore::sheets))
        .route("/ashore/debrief.pdf", get(ashore::debrief))
        .route("/season", get(season::page))
        .route("/season/stop", post(season::stop))
        .route("/season/take", post(season::take))
        .route("/season/back", post(season::back))
        .route("/season/passes.csv", get(season::passes))
        .route("/season/progress.csv", get(season::progress_table))
        .route("/season/{sailor}", get(season::sailor))
        .route("/race-day", get(race_day::page).post(race_day::write))
        .route("/race-day/solve", post(race_day::solve))
        .route("/race-day/stop", post(race_day::stop))
        .route("/race-day/buoys", post(race_day::bring).layer(DefaultBodyLimit::max(race_day::LARGEST)))
        .route("/race-day/stops", get(race_day::stops).post(race_day::take))
        .route("/race-day/sheets.pdf", get(race_day::sheets))
        .route("/race-day/signals", get(race_day::signals_page))
        .route(
            "/race-day/results",
            get(race_day::results::page).post(race_day::results::write).layer(DefaultBodyLimit::max(race_day::results::LARGEST)),
        )
        .route("/race-day/results/gone", post(race_day::results::gone))
        .route("/race-day/results.pdf", get(race_day::results::pdf))
        .route("/race-day/results.csv", get(race_day::results::csv))
        .route("/race-day/results.json", get(race_day::results::json))
        .route("/squad", get(squad::list))
        .route("/squad/show", post(squad::show))
        .route("/squad/cover", post(squad::cover))
        .route("/squad/boat", post(squad::add_boat))
        .route("/squad/class", get(measured::page).post(measured::keep))
        .route("/squad/class/drawn", get(measured::drawn))
        .route("/squad/class/file", get(measured::file))
        .route("/squad/boat/{boat}", get(base::page).post(base::write))
        .route("/squad/boat/{boat}/class", post(base::reclass))
        .route("/squad/boat/{boat}/line", post(base::draw))
        .route("/squad/boat/{boat}/gone", post(base::rub_out))
        .route("/squad/sailor/{id}", get(squad::sailor).post(squad::write))
        .route("/school/phones", get(phones::page))
        .route("/school/phones/link", post(phones::link))
        .route("/school/phones/withdraw", post(phones::withdraw))
        .route("/school", get(school::page))
        .route("/school/quiz.pdf", get(school::sheets))
        .route("/school/glossary", get(school::glossary))
        .route("/school/lists/{place}", get(school::list).post(school::keep_list))
        .route("/school/{sailor}", get(mine::cards_of))
        .route("/school/{sailor}/checklist", get(mine::checks_of).post(mine::tick_of))
        .route("/school/{sailor}/quiz", get(mine::ask_of).post(mine::reply_of))
        .route("/school/{sailor}/answers", post(mine::bring_of))
        .route("/school/{sailor}/language", post(mine::speak_of))
        .route("/school/{sailor}/words", get(mine::words_of))
        .route("/school/{sailor}/pocket.html", get(mine::pocket_of))
        .route("/s/{link}", get(mine::card))
        .route("/s/{link}/checklist", get(mine::checks).post(mine::tick))
        .route("/s/{link}/quiz", get(mine::ask).post(mine::reply))
        .route("/s/{link}/answers", post(mine::bring))
        .route("/s/{link}/language", post(mine::speak))
        .route("/s/{link}/words", get(mine::words))
        .route("/s/{link}/pocket.html", get(mine::pocket))
        .route("/enter", get(enter::page).post(enter::tried))
        .route("/enter/leave", post(enter::leave))
        .route("/privacy", get(privacy::page))
        .route("/units", post(units::choose))
        .route("/look/{file}", get(look::look))
        .route("/look/kept/{file}", get(afloat::kept))
        .method_not_allowed_fallback(|| async { Refusal::lost("This page comes by a button") })
        .fallback(lost)
        .layer(DefaultBodyLimit::max(LARGEST))
        .layer(from_fn_with_state(Arc::clone(&yard), guarded))
        .with_state(yard)
}

/// A page that is not there. Under a sailor's link no page of the coach's is named.
async fn lost(State(yard): State<Arc<Yard>>, uri: Uri, headers: HeaderMap) -> Refusal {
    if uri.path().starts_with("/s/") { mine::no_link(&yard, &headers) } else { Refusal::lost("There is no such page") }
}

/// Whether a request comes from a browser that shows a page of ours, at the address it came in by.
fn ours(ends: &Ends, method: &Method, path: &str, headers: &HeaderMap) -> bool {
    let text = |name: header::HeaderName| headers.get(name).and_then(|v| v.to_str().ok());
    let host = text(header::HOST).unwrap_or_default();
    if !ends.is_host(host) {
        return false;
    }
    if method == Method::GET || method == Method::HEAD || enter::takes_from_anywhere(path) {
        return true;
    }
    let site = headers.get("sec-fetch-site").and_then(|v| v.to_str().ok());
    let origin = text(header::ORIGIN);
    site.is_none_or(|s| s == "same-origin" || s == "none") && origin.is_none_or(|o| o == format!("http://{host}"))
}

/// Answers only our own pages, to whoever may see them, and sends every answer with the headers that keep a page to itself.
async fn guarded(State(yard): State<Arc<Yard>>, ConnectInfo(ends): ConnectInfo<Ends>, request: Request, next: Next) -> Response {
    let reads = request.method() == Method::GET || request.method() == Method::HEAD;
    let home = ends.at_home();
    let mut answer = if !ours(&ends, request.method(), request.uri().path(), request.headers()) {
        (StatusCode::FORBIDDEN, "This address answers its own pages only.").into_response()
    } else if home || enter::is_open(request.uri().path()) || enter::is_in(&yard, request.headers()) {
        let units = units::Units::of(request.headers());
        enter::HOME.scope(home, units::ASKED.scope(units, next.run(request))).await
    } else {
        enter::outside(reads, request.uri().path())
    };
    let headers = answer.headers_mut();
    let fixed = [(header::X_CONTENT_TYPE_OPTIONS, "nosniff"), (header::REFERRER_POLICY, "same-origin"), (header::X_FRAME_OPTIONS, "DENY")];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if !headers.contains_key(header::CONTENT_SECURITY_POLICY) {
        headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
    }
    if !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    answer
}

/// A whole page as an answer.
fn whole(title: &str, facts: Markup, body: Markup) -> Response {
    Html(shell::page(title, facts, body).into_string()).into_response()
}

/// Go there next.
fn later(address: &str) -> Response {
    Redirect::to(address).into_response()
}

/// Why something was not done, in words on a page.
#[derive(Debug)]
struct Refusal {
    status: StatusCode,
    title: String,
    why: String,
    /// On a sailor's phone, in this language: no page of the coach's is named there.
    phone: Option<Language>,
}

impl Refusal {
    fn lost(title: &str) -> Self {
        Self { status: StatusCode::NOT_FOUND, title: title.to_owned(), why: "Choose a page from the index.".to_owned(), phone: None }
    }
    /// Nothing was kept, and why.
    fn unkept(why: &str) -> Self {
        Self { status: StatusCode::UNPROCESSABLE_ENTITY, title: "Nothing was kept".to_owned(), why: why.to_owned(), phone: None }
    }
    /// The same with another reason.
    fn because_of(self, why: &str) -> Self {
        Self { why: why.to_owned(), ..self }
    }
    fn because(title: &str, why: &str) -> Self {
        Self { status: StatusCode::INTERNAL_SERVER_ERROR, title: title.to_owned(), why: why.to_owned(), phone: None }
    }
}

impl From<SquadError> for Refusal {
    fn from(error: SquadError) -> Self {
        let status = if error == SquadError::HeldAlready { StatusCode::INTERNAL_SERVER_ERROR } else { StatusCode::CONFLICT };
        Self { status, title: "That was not written".to_owned(), why: error.to_string(), phone: None }
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        if let Some(language) = self.phone {
            return (self.status, mine::refused(language, &self.title, &self.why)).into_response();
        }
        let body = html! { section.first { p.verdict { (self.why) } p { "Go back with your browser: what you typed is still there." } } };
        (self.status, whole(&self.title, html! {}, body)).into_response()
    }
}

/// A form as it was sent.
struct Sent(Form);

impl<S: Send + Sync> FromRequest<S> for Sent {
    type Rejection = Refusal;
    async fn from_request(request: Request<Body>, state: &S) -> Result<Self, Refusal> {
        match axum::Form::<Vec<(String, String)>>::from_request(request, state).await {
            Ok(axum::Form(fields)) => Ok(Self(Form(fields))),
            Err(error) => {
                let why = "The form could not be read: it was too long or not a form of ours.".to_owned();
                Err(Refusal { status: error.into_response().status(), title: "That was not written".to_owned(), why, phone: None })
            }
        }
    }
}
