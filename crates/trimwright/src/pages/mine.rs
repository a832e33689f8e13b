//! What a sailor's own link opens: that sailor's card, checklist, quiz and pocket page, and nothing of anybody else. The coach's machine
//! opens the same pages by the sailor's name.

use std::sync::Arc;

use advice::quiz::Quiz;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use squad::fact::link::Secret;
use squad::fact::quiz::QuizAnswer;
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment};

use super::form::Form;
use super::seat::{Seat, language};
use super::today::own_card;
use super::yard::Yard;
use super::{Answer, Refusal, Sent, checklist, quiz, shell};
use crate::briefing::card::{CardDocument, Caution};
use crate::cards::drawn;
use crate::drawing::posture::figure;
use crate::words::school::{Language, Tongue};
use crate::words::word;

/// The most answers taken at once.
const MOST: usize = 500;

/// A link that was never given and one that was taken back are told alike.
fn opens_nothing(tongue: &Tongue) -> Refusal {
    Refusal::lost(tongue.page("no_link")).because_of(tongue.page("no_link_why"))
}

/// What is not there under a link.
pub(super) fn no_link(yard: &Yard, headers: &HeaderMap) -> Refusal {
    let language = language(headers);
    yard.tongue(language).map_or_else(|refusal| refusal, |tongue| Refusal { phone: Some(language), ..opens_nothing(tongue) })
}

/// Whose link it is.
pub(super) fn whose(yard: &Yard, link: &str, tongue: &Tongue) -> Result<Kept<Sailor>, Refusal> {
    let secret: Secret = link.parse().map_err(|_| opens_nothing(tongue))?;
    yard.store()?.sailor_of_link(secret)?.ok_or_else(|| opens_nothing(tongue))
}

/// One page at two addresses: by a sailor's link, and by the sailor's id at the coach's machine. A page that may have to solve does so
/// beside the others.
macro_rules! both {
    ($by_link:ident, $by_id:ident, $show:expr) => {
        pub(super) async fn $by_link(State(yard): State<Arc<Yard>>, Path(link): Path<String>, headers: HeaderMap) -> Answer {
            aside(move || on_a_phone(&headers, Seat::by_link(&yard, &link, &headers).and_then(|seat| $show(&yard, &seat)))).await
        }
        pub(super) async fn $by_id(State(yard): State<Arc<Yard>>, Path(id): Path<String>, headers: HeaderMap) -> Answer {
            aside(move || $show(&yard, &Seat::by_id(&yard, &id, &headers)?)).await
        }
    };
    ($by_link:ident, $by_id:ident, form $write:expr) => {
        pub(super) async fn $by_link(
            State(yard): State<Arc<Yard>>,
            Path(link): Path<String>,
            headers: HeaderMap,
            Sent(form): Sent,
        ) -> Answer {
            aside(move || on_a_phone(&headers, Seat::by_link(&yard, &link, &headers).and_then(|seat| $write(&yard, &seat, &form)))).await
        }
        pub(super) async fn $by_id(State(yard): State<Arc<Yard>>, Path(id): Path<String>, headers: HeaderMap, Sent(form): Sent) -> Answer {
            aside(move || $write(&yard, &Seat::by_id(&yard, &id, &headers)?, &form)).await
        }
    };
}

/// What is refused on a sailor's phone is told there without a page of the coach's.
fn on_a_phone(headers: &HeaderMap, answer: Answer) -> Answer {
    answer.map_err(|refusal| Refusal { phone: Some(language(headers)), ..refusal })
}

async fn aside(show: impl FnOnce() -> Answer + Send + 'static) -> Answer {
    tokio::task::spawn_blocking(show).await.unwrap_or_else(|_| Err(Refusal::because("The page could not be made", "Try again.")))
}

both!(card, cards_of, card_page);
both!(checks, checks_of, checklist::show);
both!(tick, tick_of, form checklist::write);
both!(ask, ask_of, quiz::show);
both!(reply, reply_of, form quiz::answer);
both!(speak, speak_of, form speaks);
both!(words, words_of, words_page);
both!(pocket, pocket_of, pocket_page);
both!(bring, bring_of, form brought);

fn speaks(_: &Yard, seat: &Seat<'_>, form: &Form) -> Answer {
    Ok(seat.speak(form.text("language")))
}

fn card_page(yard: &Yard, seat: &Seat<'_>) -> Answer {
    let body = match own_card(yard, &seat.sailor, &seat.tongue.card)? {
        Some(card) => face(seat.tongue, &card),
        None => html! { section.first { p.verdict { (seat.tongue.page("no_card")) } p { (seat.tongue.page("no_card_why")) } } },
    };
    Ok(seat.page("card", body))
}

fn words_page(yard: &Yard, seat: &Seat<'_>) -> Answer {
    Ok(seat.page("glossary", super::school::explained(yard, seat.tongue)))
}

fn pocket_page(yard: &Yard, seat: &Seat<'_>) -> Answer {
    let pocket = super::pocket::page(yard, seat)?;
    let mut answer = Html(pocket.html).into_response();
    if let Ok(policy) = pocket.policy.parse() {
        answer.headers_mut().insert(axum::http::header::CONTENT_SECURITY_POLICY, policy);
    }
    Ok(answer)
}

/// Answers that a phone kept while it had no network: each under the name the phone gave it, so that one sent twice is one. What is no
/// answer of ours is left out. Ticks of today come along. A phone whose clock runs ahead answered no later than now.
fn brought(yard: &Yard, seat: &Seat<'_>, form: &Form) -> Answer {
    let now = Moment::now();
    let lines = form.0.iter().filter(|f| f.0 == "a").take(MOST);
    let read = |line: &str| -> Option<(Id<QuizAnswer>, QuizAnswer)> {
        let mut parts = line.split('|');
        let (id, at, question, answer, right) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        Quiz::kind_of(question)?;
        let plain = (1..=40).contains(&answer.len()) && answer.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
        plain.then_some(())?;
        let at = Moment::of_millis(at.parse::<i64>().ok()?.clamp(0, now.timestamp().as_millisecond()));
        let fact =
            QuizAnswer { sailor: seat.sailor.id, at, question: question.to_owned(), answer: answer.to_owned(), correct: right == "1" };
        Some((id.parse().ok()?, fact))
    };
    let mut kept = Vec::new();
    {
        let mut store = yard.store()?;
        for (id, fact) in lines.filter_map(|line| read(&line.1)) {
            match store.get(id)? {
                Some(first) if first.fact.sailor == seat.sailor.id => kept.push(id),
                Some(_) => {}
                None => {
                    store.add_as(id, &fact, &Yard::writer())?;
                    kept.push(id);
                }
            }
        }
    }
    // Ticks of another day are of no use today.
    if form.text("day") == super::yard::today().to_string() {
        let ticked: Vec<&str> = form.0.iter().filter(|f| f.0 == "t").map(|f| f.1.as_str()).take(MOST).collect();
        checklist::bring(yard, seat, &ticked)?;
    }
    let ids: Vec<String> = kept.iter().map(Id::to_string).collect();
    if form.text("by") == "script" {
        return Ok((axum::http::StatusCode::OK, ids.join("\n")).into_response());
    }
    Ok(seat.page("quiz", html! { section.first { p.verdict role="status" { (seat.tongue.page("sent")) } p { a.tag href=(format!("{}/quiz", seat.base)) { (seat.tongue.page("quiz")) } } } }))
}

fn warned(caution: &Caution) -> Markup {
    html! { p.caution { b { (caution.fact) " " } (caution.deed) " " (caution.who) } }
}

/// The card as a phone shows it: how to sit, the settings, puffs and lulls, what to look out for.
pub(super) fn face(tongue: &Tongue, card: &CardDocument) -> Markup {
    let words = &tongue.card;
    let sit = word(&words.posture, card.posture.key());
    let drawn = drawn(words, card);
    html! {
        @if let Some(over) = &card.over_limit { section.first { (warned(over)) } }
        section.first {
            p { (card.boat) ", " (card.date) }
            p.dock-verdict { (sit) }
            div.shown { (shell::picture(&figure(card.posture, &card.shape, 74.0, 38.0, word(&words.posture_alt, card.posture.key())))) }
        }
        section {
            table.settings {
                thead { tr { th { (card.unit) } @for (key, column) in ["lighter", "as_forecast", "stronger"].into_iter().zip(&card.columns) { th.number { (word(&words.card, key)) br; (column.range) " " (word(&words.unit, "knots")) br; small { (column.sea) } } } } }
                tbody { @for row in &card.rows { tr {
                    th scope="row" { (row.name) @if let Some(was) = &row.was { br; b.act { (word(&words.card, "was").replace("{x}", was)) } } }
                    @for (k, value) in row.values.iter().enumerate() { td.number.taped[k == 1] { span.big { (value.text) } @if let Some((low, high)) = &value.band { br; small { (low) @if low.starts_with('−') { " " (word(&words.unit, "to")) " " } @else { "–" } (high) } } @if !value.hand.is_empty() { br; small { (value.hand) } } } }
                } } }
            }
            p.small { (word(&words.card, "band_means")) " " (word(&words.card, "hand_means")) @if card.rows.iter().flat_map(|row| &row.values).any(|v| v.text == word(&words.card, "any")) { " " (word(&words.card, "any_means")) } }
            p.small { (word(&words.card, "measure")) ": " (card.protocol) ". " (card.tape_from) }
            div.measures { @for picture in [&drawn.transom, &drawn.gap, &drawn.board].into_iter().flatten() { (shell::picture(picture)) } }
        }
        section {
            p { b { (word(&words.card, "puff")) ": " } (card.puff) }
            p { b { (word(&words.card, "lull")) ": " } (card.lull) }
            p { b { (word(&words.card, "before_windward")) ": " } (card.before_windward) }
            p { b { (word(&words.card, "around_leeward")) ": " } (card.around_leeward) }
        }
        @if !card.cautions.is_empty() { section { @for caution in &card.cautions { (warned(caution)) } } }
    }
}

/// What is refused on a phone: no page of the coach's is named there.
pub(super) fn refused(language: Language, title: &str, why: &str) -> Response {
    let body = html! { section.first { p.verdict { (why) } } };
    Html(shell::phone(language, title, title, html! {}, body, html! {}).into_string()).into_response()
}
