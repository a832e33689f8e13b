//! The pocket page: one sailor's card, checklist and quiz in one file that needs nothing else, for a phone where there is no network.
//!
//! Without script the card of every wind opens by a tap, the checklist can be ticked and each answer opens under its question. With
//! script the phone keeps ticks and answers, and sends the answers when the file is next reached by its link; the file itself asks for
//! nothing. No mass is in it.

use std::sync::Arc;

use anyhow::Context;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};
use squad::fact::day::ForecastHour;
use squad::{Moment, SquadError};

use super::quiz::{Past, mixed, of_the_day};
use super::seat::Seat;
use super::today::own_card;
use super::yard::{OwnDay, Yard};
use super::{Refusal, checklist, mine, shell};
use crate::briefing::card::halves;
use crate::briefing::quiz::{Asked, sheet};
use crate::briefing::solved::{at, ten_metres};
use crate::words::school::Language;

/// Questions in the pocket.
const QUESTIONS: usize = 12;
/// Winds told, as shares of the forecast: between and at those solved.
const STEPS: [f64; 7] = [0.65, 0.75, 0.85, 1.0, 1.1, 1.2, 1.35];
/// The file's own style and script.
const STYLE: &str = include_str!("pocket.css");
const SCRIPT: &str = include_str!("pocket.js");

/// The file with what a browser may do with it.
pub(super) struct Pocket {
    pub(super) html: String,
    pub(super) policy: String,
}

/// The policy of the file: its own style and script, by their hashes, and a way back to where it came from.
fn policy() -> String {
    let hash = |text: &str| STANDARD.encode(Sha256::digest(text));
    format!(
        "default-src 'none'; style-src 'sha256-{}'; script-src 'sha256-{}'; img-src data:; connect-src 'self'; base-uri 'none'",
        hash(STYLE),
        hash(SCRIPT)
    )
}

/// A sailor's file.
pub(super) fn page(yard: &Yard, seat: &Seat<'_>) -> Result<Pocket, Refusal> {
    let t = |key: &'static str| seat.tongue.page(key);
    let card = own_card(yard, &seat.sailor, &seat.tongue.card)?;
    let lists = checklist::lists(yard, &seat.sailor)?;
    let past = Past::of(yard, seat.sailor.id)?;
    let questions = match yard.quiz(&seat.sailor)? {
        Some((quiz, shape)) => {
            let keys = mixed(&quiz, &seat.sailor.fact.label);
            let keys: Vec<&str> = past.order(&keys).into_iter().take(QUESTIONS).collect();
            sheet(&quiz, &keys, of_the_day(), seat.tongue, &shape)
        }
        None => Vec::new(),
    };
    let policy = policy();
    let date = super::yard::today();
    let markup = html! {
        (DOCTYPE)
        html lang=(seat.tongue.language.code()) {
            (shell::head(&format!("{} · {date}", seat.sailor.fact.label), html! { meta http-equiv="Content-Security-Policy" content=(policy); style { (PreEscaped(STYLE)) } }))
            body data-sailor=(seat.sailor.id) data-day=(date) data-yes=(t("right")) data-no=(t("not_sure")) data-sent=(t("sent")) data-waiting=(t("waiting")) {
                header { p { "Trimwright · " (date) } h1 { (seat.sailor.fact.label) } }
                nav { a href="#card" { (t("card")) } " " a href="#checklist" { (t("checklist")) } " " a href="#quiz" { (t("quiz")) } }
                main {
                section #card {
                    h2 { (t("card")) }
                    @match &card { Some(card) => (mine::face(seat.tongue, card)), None => { p { (t("no_card")) } p { (t("no_card_why")) } } }
                    (winds(yard, seat)?)
                }
                section #checklist {
                    h2 { (t("checklist")) }
                    @for list in &lists {
                        h3 { (seat.tongue.page(&format!("place_{}", list.place.name()))) }
                        ul.checks { @for line in &list.lines { li { label { input type="checkbox" data-tick=(format!("{}.{}", list.place.name(), line.key)) checked[line.is_ticked()]; span { (list.says(line, seat.tongue)) } } } } }
                    }
                }
                section #quiz {
                    h2 { (t("quiz")) }
                    form #send method="post" action=(if seat.origin.is_empty() { String::new() } else { format!("{}{}/answers", seat.origin, seat.base) }) hidden { p #waiting {} button { (t("send")) } }
                    @if questions.is_empty() { p { (t("no_quiz")) } p { (t("no_quiz_why")) } }
                    @for (k, one) in questions.iter().enumerate() { (asked(k, one, t("why"))) }
                }
                section #words { h2 { (t("glossary")) } dl { @for (_, word) in seat.tongue.words() { dt { (word.name) } dd { (word.says) } } } }
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    Ok(Pocket { html: markup.into_string(), policy })
}

/// The settings for steps of the wind, between those solved by straight lines: each opens by a tap.
fn winds(yard: &Yard, seat: &Seat<'_>) -> Result<Markup, Refusal> {
    let Some(OwnDay { day, one, .. }) = yard.own_day(&seat.sailor)? else { return Ok(html! {}) };
    let ten = ten_metres(&day);
    let words = &seat.tongue.card;
    Ok(html! {
        h3 { (seat.tongue.page("wind")) }
        @for share in STEPS {
            details name="wind" open[share == 1.0] {
                summary { (format!("{:.0}", ten * share)) " · " (words.sea_look(ten * share)) }
                @match at(&one.winds, &one.boat, &one.own, share) {
                    None => p { (seat.tongue.page("not_solved")) },
                    Some(settings) => table { tbody { @for (key, value) in settings { tr { th { (words.gauge.get(key).map_or(key, |g| g.name.as_str())) } td { (halves(100.0 * value)) " cm" } } } } },
                }
            }
        }
    })
}

/// A question with its answers: each opens under the question without script; with script the first one opened is kept.
fn asked(k: usize, one: &Asked, why: &str) -> Markup {
    html! { article.q data-key=(one.key) {
        p.kind { (k + 1) ". " (one.kind) }
        h3 { (one.ask) }
        div.shown { (shell::picture(&one.picture)) }
        @for answer in &one.answers {
            details data-answer=(answer.key) data-right=(if answer.right { "1" } else { "0" }) {
                summary { b { (answer.letter) } " " (answer.says) }
                p { @if answer.right { b { "✓ " } } @else { b { "✗ " } } (answer.why) @if let Some(cost) = &answer.cost { " " (cost) } }
                @if answer.right { p.small { (why) ": " (one.rests) } }
            }
        }
    } }
}

/// The files of today, one a sailor, in a language: the day is solved first. `only` names one sailor by label. A file that was not
/// reached by a link has no way back, and keeps its answers on the phone. A wind (m/s at 10 m) becomes the day's forecast first.
///
/// # Errors
/// Why there is none: no wind for today, no such sailor, a store that cannot be read.
pub fn pockets(yard: &Arc<Yard>, language: Language, only: Option<&str>, wind: Option<f64>) -> anyhow::Result<Vec<(String, String)>> {
    if let Some(wind_ms) = wind {
        forecast(yard, wind_ms)?;
    }
    let day =
        yard.today()?.and_then(|today| today.day()).context("no wind is known for today: give --wind, or type it on the Today page")?;
    let job = yard.solve(day, yard.squad()?);
    while job.solved().is_none() {
        if job.stopped() {
            anyhow::bail!("the solving was stopped");
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    let sailors = yard.store()?.sailors()?;
    let wanted = |label: &str| only.is_none_or(|only| only.to_lowercase() == label.to_lowercase());
    if let Some(only) = only.filter(|_| !sailors.iter().any(|s| wanted(&s.fact.label))) {
        let labels: Vec<_> = sailors.iter().map(|s| s.fact.label.as_str()).collect();
        anyhow::bail!("\"{only}\" is no sailor of this squad: it has {}", labels.join(", "));
    }
    let told = |refusal: Refusal| anyhow::anyhow!("{}: {}", refusal.title, refusal.why);
    let mut files = Vec::new();
    for sailor in sailors.into_iter().filter(|s| wanted(&s.fact.label)) {
        let label = sailor.fact.label.clone();
        let tongue = yard.tongue(language).map_err(told)?;
        let seat = Seat { sailor, base: String::new(), origin: String::new(), tongue, coach: false };
        files.push((label, page(yard, &seat).map_err(told)?.html));
    }
    Ok(files)
}

/// One wind for the whole day, in place of what was forecast.
fn forecast(yard: &Yard, wind_ms: f64) -> Result<(), SquadError> {
    let day = yard.this_day()?;
    let mut store = yard.store()?;
    let writer = Yard::writer();
    for old in store.forecast_of(day.id)? {
        drop(store.withdraw(old.id, old.version, &writer)?.kept());
    }
    let hour =
        ForecastHour { day: day.id, at: Moment::now(), wind_ms, height_m: 10.0, from_rad: None, gust_ms: None, source: "typed".to_owned() };
    store.add(&hour, &writer)?;
    Ok(())
}
