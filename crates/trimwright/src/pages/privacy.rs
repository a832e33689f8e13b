//! What is kept about children, in plain words: the text of `docs/privacy.md`, so that page and document cannot come apart.

use axum::response::IntoResponse as _;
use axum::response::{Html, Response};
use maud::html;

use super::shell;

const TEXT: &str = include_str!("../../../../docs/privacy.md");

/// The points of the text, each with its first words, and what follows.
fn points() -> Vec<(String, String)> {
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ").replace('`', "");
    TEXT.split("\n- **").skip(1).filter_map(|point| point.split_once("**")).map(|(head, rest)| (plain(head), plain(rest))).collect()
}

/// The page; open to whoever reaches it, since it tells of nobody.
pub(super) async fn page() -> Response {
    let body = html! { section.first {
        p { "For parents, sailors and whoever asks." }
        @for (head, words) in points() { p { b { (head) } " " (words) } }
    } };
    Html(shell::bare("What is kept about children", html! {}, body).into_string()).into_response()
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_point_of_the_document_is_on_the_page() {
        let points = super::points();
        assert_eq!(points.len(), super::TEXT.lines().filter(|l| l.starts_with("- ")).count());
        assert!(points.iter().all(|(head, words)| head.ends_with('.') && words.ends_with('.')), "{points:?}");
    }
}
