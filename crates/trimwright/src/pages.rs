//! The coach's pages: plain HTML from the loopback address, usable without script; a little script moves pictures.
//!
//! A page computes nothing: it asks a briefing for a plain document and writes it down. Everything a page needs comes from this
//! program; nothing is fetched from anywhere, and the headers forbid it.

pub mod shell;
mod what_if;

use std::sync::Arc;

use axum::Router;
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use maud::{Markup, html};

pub use what_if::Yard;

mod fonts {
    include!(concat!(env!("OUT_DIR"), "/web_fonts.rs"));
}

/// What a page may load: itself alone.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; \
                      form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

/// All pages of a yard.
pub fn router(yard: Arc<Yard>) -> Router {
    Router::new()
        .route("/", get(|| async { axum::response::Redirect::temporary("/what-if") }))
        .route("/what-if", get(what_if::page))
        .route("/what-if/parts", get(what_if::parts))
        .route("/look/{file}", get(look))
        .fallback(|| async { (StatusCode::NOT_FOUND, refused("There is no such page", "Choose one from the index.")) })
        .layer(from_fn(guarded))
        .with_state(yard)
}

/// Sends every answer with the headers that keep a page to itself.
async fn guarded(request: Request, next: Next) -> Response {
    let mut answer = next.run(request).await;
    let headers = answer.headers_mut();
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::X_FRAME_OPTIONS, "DENY"),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    answer
}

/// The style, the script and the faces.
async fn look(axum::extract::Path(file): axum::extract::Path<String>) -> Response {
    let (kind, bytes): (&'static str, &'static [u8]) = match file.as_str() {
        "style.css" => ("text/css; charset=utf-8", include_bytes!("pages/style.css")),
        "live.js" => ("text/javascript; charset=utf-8", include_bytes!("pages/live.js")),
        "besley.woff2" => ("font/woff2", fonts::WEB[0]),
        "besley-ext.woff2" => ("font/woff2", fonts::WEB[1]),
        "atkinson.woff2" => ("font/woff2", fonts::WEB[2]),
        "atkinson-ext.woff2" => ("font/woff2", fonts::WEB[3]),
        _ => return StatusCode::NOT_FOUND.into_response(),
    };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=600")], bytes).into_response()
}

/// A page that says why something was not done.
pub(crate) fn refused(title: &str, why: &str) -> Html<String> {
    let body: Markup = html! { section { p.verdict { (why) } } };
    Html(shell::page(title, "", html! {}, body).into_string())
}
