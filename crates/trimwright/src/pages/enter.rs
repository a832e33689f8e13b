//! Where a coach's phone comes in from the club's network: one box for the pass phrase, and who may see what without it.

use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr};
use std::sync::Arc;
use std::time::Instant;

use axum::extract::connect_info::ConnectInfo;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use maud::html;

use super::yard::Yard;
use super::{Answer, Refusal, Sent, later, shell};
use crate::door::Tried;

/// The cookie of a session.
const COOKIE: &str = "coach";
/// For how long a browser keeps it, s: as long as the session lasts.
const HELD: u32 = 12 * 3600;

/// Both ends of a connection.
#[derive(Debug, Clone, Copy)]
pub struct Ends {
    here: SocketAddr,
    there: SocketAddr,
}

tokio::task_local! {
    /// Whether the request that is being answered came from this machine itself.
    pub(super) static HOME: bool;
}

/// Whether whoever asks sits at this machine.
pub(super) fn at_home() -> bool {
    HOME.try_with(|home| *home).unwrap_or(false)
}

impl Ends {
    /// A connection by the address it came in by, and that of whoever asks.
    #[must_use]
    pub fn of(here: SocketAddr, there: SocketAddr) -> Self {
        let plain = |at: SocketAddr| SocketAddr::new(at.ip().to_canonical(), at.port());
        Self { here: plain(here), there: plain(there) }
    }

    /// Whether the request never left this machine.
    #[must_use]
    pub fn at_home(&self) -> bool {
        // The usual address of this machine to itself, and no other of that net: what was asked to be listened to is the network.
        let itself = |ip: std::net::IpAddr| ip == Ipv4Addr::LOCALHOST || ip == Ipv6Addr::LOCALHOST;
        itself(self.here.ip()) && self.there.ip().is_loopback()
    }

    /// Whether a request names the very address it came in by: a name that leads here from elsewhere is not ours.
    pub(super) fn is_host(&self, host: &str) -> bool {
        if self.at_home() {
            let name = host.rsplit_once(':').map_or(host, |(name, _)| name);
            return ["127.0.0.1", "localhost", "[::1]"].contains(&name);
        }
        let alone = host.trim_start_matches('[').trim_end_matches(']').parse().is_ok_and(|ip: std::net::IpAddr| ip == self.here.ip());
        host.parse::<SocketAddr>().is_ok_and(|at| at == self.here) || (alone && self.here.port() == 80)
    }
}

/// What is open without a pass phrase: the style, the door itself, what is kept about children, and sailors' links, which know who they
/// are for.
pub(super) fn is_open(path: &str) -> bool {
    path.starts_with("/look/") || path == "/enter" || path == "/privacy" || path.starts_with("/s/")
}

/// What may come from a page of any origin: answers from a pocket page that a phone keeps as a file. Nobody is trusted there by a
/// cookie; the link in the address is all it rests on, and answers are all it takes.
pub(super) fn takes_from_anywhere(path: &str) -> bool {
    path.starts_with("/s/") && path.ends_with("/answers")
}

/// The session that a browser names.
fn session(headers: &HeaderMap) -> Option<u128> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|line| line.to_str().ok()).flat_map(|line| line.split(';'));
    let mut named = cookies.filter_map(|pair| pair.trim().split_once('=')).filter(|pair| pair.0 == COOKIE);
    let name = named.next()?.1;
    if name.len() == 32 { u128::from_str_radix(name, 16).ok() } else { None }
}

/// Whether a request comes with a session that goes on.
pub(super) fn is_in(yard: &Yard, headers: &HeaderMap) -> bool {
    yard.door.as_ref().zip(session(headers)).is_some_and(|(door, name)| door.knows(name, Instant::now()))
}

/// What a stranger is told: to a page that asks, the door; to a form, that it is too late.
pub(super) fn outside(reads: bool, path: &str) -> Response {
    if reads {
        let to: String = path.bytes().map(|b| if b.is_ascii_alphanumeric() || b"/-".contains(&b) { char::from(b) } else { '_' }).collect();
        return later(&format!("/enter?to={to}"));
    }
    (StatusCode::UNAUTHORIZED, "The pass phrase is asked for again: go back, open the page anew and type it.").into_response()
}

/// A page of ours to go on to, where one was named.
fn onward(to: &str) -> &str {
    let plain = to.bytes().all(|b| b.is_ascii_alphanumeric() || b"/-".contains(&b));
    if to.starts_with('/') && !to.starts_with("//") && plain { to } else { "/today" }
}

fn asked(to: &str, why: Option<&str>, status: StatusCode) -> Response {
    let body = html! { section.first {
        @if let Some(why) = why { p.wrong role="alert" { (why) } }
        form method="post" action="/enter" {
            input type="hidden" name="to" value=(to);
            div.fields { div { label for="phrase" { "Pass phrase" } input #phrase name="phrase" type="password" autocomplete="current-password" autocapitalize="none" required; small { "The coach's. A sailor's own link needs none." } } }
            p { button.tag { "Come in" } }
        }
        p { a href="/privacy" { "What is kept about children" } }
    } };
    (status, Html(shell::bare("Coach's pages", html! {}, body).into_string())).into_response()
}

/// The box.
pub(super) async fn page(Query(query): Query<Vec<(String, String)>>) -> Response {
    let to = query.iter().find(|q| q.0 == "to").map_or("/today", |q| q.1.as_str());
    asked(onward(to), None, StatusCode::OK)
}

/// A phrase is tried.
pub(super) async fn tried(State(yard): State<Arc<Yard>>, ConnectInfo(ends): ConnectInfo<Ends>, Sent(form): Sent) -> Answer {
    let to = onward(form.text("to")).to_owned();
    let phrase = form.text("phrase").to_owned();
    let at = Arc::clone(&yard);
    let tried =
        tokio::task::spawn_blocking(move || at.door.as_ref().map(|door| door.tried(ends.there.ip(), &phrase, Instant::now()))).await;
    match tried {
        Ok(Some(Tried::In(name))) => {
            let mut answer = later(&to);
            let cookie = format!("{COOKIE}={name:032x}; Path=/; Max-Age={HELD}; HttpOnly; SameSite=Strict");
            if let Ok(cookie) = HeaderValue::from_str(&cookie) {
                answer.headers_mut().insert(header::SET_COOKIE, cookie);
            }
            Ok(answer)
        }
        Ok(Some(Tried::Wrong)) => Ok(asked(&to, Some("That is not the pass phrase."), StatusCode::FORBIDDEN)),
        Ok(Some(Tried::Wait(wait))) => {
            let minutes = wait.as_secs().div_ceil(60).max(1);
            let why = format!(
                "Too many wrong pass phrases. Wait {minutes} {}, then type it once more.",
                if minutes == 1 { "minute" } else { "minutes" }
            );
            let mut answer = asked(&to, Some(&why), StatusCode::TOO_MANY_REQUESTS);
            answer.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(wait.as_secs().max(1)));
            Ok(answer)
        }
        Ok(None) => Err(Refusal::lost("These pages are open on this machine alone")),
        Err(_) => Err(Refusal::because("The pass phrase could not be tried", "Try again.")),
    }
}

/// A phone is put away: its session ends.
pub(super) async fn leave(State(yard): State<Arc<Yard>>, headers: HeaderMap) -> Response {
    if let (Some(door), Some(name)) = (&yard.door, session(&headers)) {
        door.ends(name);
    }
    let mut answer = later("/enter");
    answer.headers_mut().insert(header::SET_COOKIE, HeaderValue::from_static("coach=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict"));
    answer
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ends(here: &str, there: &str) -> Ends {
        Ends { here: here.parse().unwrap(), there: there.parse().unwrap() }
    }

    #[test]
    fn a_host_is_the_address_it_came_in_by() {
        let club = ends("192.168.1.5:7245", "192.168.1.9:50000");
        assert!(club.is_host("192.168.1.5:7245") && !club.at_home());
        for other in [
            "192.168.1.5",
            "192.168.1.5:80",
            "192.168.1.6:7245",
            "localhost:7245",
            "127.0.0.1:7245",
            "example.org",
            "",
            "192.168.1.5.example.org:7245",
        ] {
            assert!(!club.is_host(other), "{other}");
        }
        let home = ends("127.0.0.1:7245", "127.0.0.1:50000");
        assert!(home.is_host("localhost:7245") && home.at_home() && !home.is_host("192.168.1.5:7245"));
        assert!(ends("192.168.1.5:80", "192.168.1.9:5").is_host("192.168.1.5"));
        // A stranger who reaches the loopback's listener by another address is no guest at home.
        assert!(!ends("192.168.1.5:7245", "127.0.0.1:5").at_home() && !ends("127.0.0.1:7245", "192.168.1.9:5").at_home());
    }

    #[test]
    fn onward_is_a_page_of_ours() {
        for (to, there) in [
            ("/afloat", "/afloat"),
            ("//example.org", "/today"),
            ("https://example.org", "/today"),
            ("/a?b", "/today"),
            ("/\\example.org", "/today"),
        ] {
            assert_eq!(onward(to), there);
        }
        assert!(is_open("/s/0") && is_open("/enter") && is_open("/look/style.css"));
        assert!(takes_from_anywhere("/s/0/answers") && !takes_from_anywhere("/school/0/answers") && !takes_from_anywhere("/s/0/quiz"));
        assert!(!is_open("/school") && !is_open("/squad") && !is_open("/") && !is_open("/enter/leave"));
    }
}
