//! What pages bring along: the style, the scripts and the faces, without what only their readers in this house need.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

mod fonts {
    include!(concat!(env!("OUT_DIR"), "/web_fonts.rs"));
}

/// The look of every page, with marks round what the water does not need.
const STYLE: &str = include_str!("style.css");
/// Of letters outside Besley's first part the page on the water brings none: it has Atkinson for them, which it brings anyway.
const RARE_LETTERS: &str = "@font-face { font-family: Besley; src: url(atkinson-ext.woff2) format(\"woff2\"); font-weight: 400 900; font-display: swap; \
     unicode-range: U+100-2AF, U+1E00-1EFF; }\n";
/// The kinds of what is sent.
const CSS: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const FACE: &str = "font/woff2";

/// A script as it is sent: without what only its reader here needs, indents and lines of comment.
fn lean(script: &str) -> String {
    let lines = script.lines().map(str::trim_start).filter(|line| !line.is_empty() && !line.starts_with("//"));
    lines.flat_map(|line| [line, "\n"]).collect()
}

/// A style as it is sent: without indents, comments that have a line of their own and the blanks that only part its rules for the eye.
fn bare(style: &str) -> String {
    let lines = style.lines().map(str::trim_start).filter(|line| !(line.is_empty() || line.starts_with("/*") && line.ends_with("*/")));
    let bare: String = lines.flat_map(|line| [line, "\n"]).collect();
    PARTED.iter().fold(bare, |bare, (parted, joined)| bare.replace(parted, joined))
}

/// Blanks that part rules, and what they become. None beside a sign of sums, where they mean something, nor before a colon, where one makes another selector.
const PARTED: [(&str, &str); 6] = [(" { ", "{"), ("; }", "}"), (" }", "}"), ("} ", "}"), ("; ", ";"), (": ", ":")];

/// The look of the page on the water: every rule it can need, and none of other pages', since a phone brings it over a poor network.
fn afloat() -> String {
    let mut wanted = true;
    let lines = STYLE.lines().filter(|line| {
        match *line {
            "/* Not on the water. */" => wanted = false,
            "/* On every page. */" => wanted = true,
            _ => {}
        }
        wanted
    });
    let style: String = lines.flat_map(|line| [line, "\n"]).collect();
    bare(&(RARE_LETTERS.to_owned() + &style))
}

static STYLE_SENT: LazyLock<String> = LazyLock::new(|| bare(STYLE));
static AFLOAT_STYLE: LazyLock<String> = LazyLock::new(afloat);
static AFLOAT_SCRIPT: LazyLock<String> = LazyLock::new(|| lean(include_str!("afloat.js")));
static LIVE: LazyLock<String> = LazyLock::new(|| lean(include_str!("live.js")));
static SIGNALS: LazyLock<String> = LazyLock::new(|| lean(include_str!("signals.js")));
static TALLY: LazyLock<String> = LazyLock::new(|| lean(include_str!("tally.js")));
static PHONE: LazyLock<String> = LazyLock::new(|| lean(include_str!("phone.js")));
static REPLAY: LazyLock<String> = LazyLock::new(|| lean(include_str!("replay.js")));

/// One of them by its name.
pub(super) async fn look(Path(file): Path<String>) -> Response {
    let (kind, bytes): (&'static str, &'static [u8]) = match file.as_str() {
        "style.css" => (CSS, STYLE_SENT.as_bytes()),
        "afloat.css" => (CSS, AFLOAT_STYLE.as_bytes()),
        "live.js" => (SCRIPT, LIVE.as_bytes()),
        "signals.js" => (SCRIPT, SIGNALS.as_bytes()),
        "tally.js" => (SCRIPT, TALLY.as_bytes()),
        "afloat.js" => (SCRIPT, AFLOAT_SCRIPT.as_bytes()),
        "phone.js" => (SCRIPT, PHONE.as_bytes()),
        "replay.js" => (SCRIPT, REPLAY.as_bytes()),
        "besley.woff2" => (FACE, fonts::WEB[0]),
        "besley-ext.woff2" => (FACE, fonts::WEB[1]),
        "atkinson.woff2" => (FACE, fonts::WEB[2]),
        "atkinson-ext.woff2" => (FACE, fonts::WEB[3]),
        _ => return StatusCode::NOT_FOUND.into_response(),
    };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=600")], bytes).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is sent says the same: no line of a script or style is in the middle of a text of several lines.
    #[test]
    fn what_is_sent_says_the_same() {
        for script in [
            include_str!("afloat.js"),
            include_str!("live.js"),
            include_str!("signals.js"),
            include_str!("tally.js"),
            include_str!("phone.js"),
            include_str!("replay.js"),
        ] {
            for line in script.lines() {
                assert_eq!(line.matches('`').count() % 2, 0, "a text over several lines: {line}");
            }
            assert!(lean(script).len() < script.len() && lean(&lean(script)) == lean(script));
        }
        assert!(STYLE.lines().all(|line| line.contains("/*") == line.contains("*/")), "a comment over several lines");
        assert!(!bare(STYLE).contains("/*"), "a comment has a line of its own");
        // But for blanks, comments and the last mark of a rule nothing is lost, and no text that the style says has such blanks.
        let told = |style: &str| -> String { style.split_whitespace().collect::<String>().replace(";}", "}") };
        let uncommented: String = STYLE.lines().filter(|line| !line.trim_start().starts_with("/*")).collect();
        assert_eq!(told(&uncommented), told(&bare(STYLE)));
        for text in STYLE.split('"').skip(1).step_by(2) {
            assert!(PARTED.iter().all(|(parted, _)| !text.contains(parted)), "{text}");
        }
        assert!(afloat().len() < bare(STYLE).len());
    }
}
