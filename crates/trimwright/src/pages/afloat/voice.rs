//! The child's own words after sailing: three short questions, on the coach's phone or on a page of the sailor's own, seen by the coach and her.

use std::sync::Arc;

use axum::extract::{Path, State};
use maud::{Markup, html};
use squad::fact::outing::Observation;
use squad::fact::sailor::Sailor;
use squad::{Id, Moment};

use super::super::yard::{Yard, today};
use super::super::{Answer, Refusal, Sent, whole};
use super::{listed, notes};
use crate::words::voice::{Voice, voice};

/// What an answer's observation begins with, before the question's key.
pub(super) const KEY: &str = "voice.";

pub(super) fn words() -> Result<Voice, Refusal> {
    voice().map_err(|error| Refusal::because("The questions do not read", &error.to_string()))
}

/// The part of the phone's page.
pub(super) fn on_the_phone() -> Result<Markup, Refusal> {
    let words = words()?;
    Ok(html! {
        p { "After sailing: choose the sailor and hand her the phone." }
        div.chips #child role="group" aria-label="Whose words" {}
        p { (words.intro) }
        @for one in &words.question { div data-voice=(one.key) hidden {
            h2 { (one.ask) }
            div.chips { @for answer in &one.answers { button type="button" data-answer=(answer) { (answer) } } }
            label { (words.own) " " input maxlength="200" autocomplete="off"; } p { button.second type="button" { "Keep this" } }
        } }
        p.verdict #thanks role="status" hidden {}
    })
}

/// The links to each sailor's page.
pub(super) fn line(yard: &Yard) -> Result<Markup, Refusal> {
    let list = listed(yard)?;
    Ok(html! { section { h2 { "Their own words" }
        p { "After sailing, on her own or from paper; seen by you and that sailor alone. " @for s in list.iter().filter(|s| s.today) { a.second href=(format!("/afloat/voice/{}", s.id)) { (s.label) } " " } }
    } })
}

/// The page of one sailor.
pub(in super::super) async fn page(State(yard): State<Arc<Yard>>, Path(sailor): Path<String>) -> Answer {
    let words = words()?;
    let id: Id<Sailor> = sailor.parse().map_err(|_| Refusal::lost("There is no such sailor"))?;
    let sailor = yard.store()?.get(id)?.ok_or_else(|| Refusal::lost("There is no such sailor"))?;
    let body = html! { section.first {
        p.verdict { (sailor.fact.label) }
        p { (words.intro) }
        form method="post" action=(format!("/afloat/voice/{id}")) {
            @for one in &words.question {
                fieldset { legend { (one.ask) }
                    div.choice { @for answer in &one.answers { label { input type="radio" name=(one.key) value=(answer); (answer) } } }
                }
                p { label for=(format!("own.{}", one.key)) { (words.own) } input id=(format!("own.{}", one.key)) name=(format!("own.{}", one.key)) maxlength="200" autocomplete="off"; }
            }
            p { button.tag { "Keep my answers" } }
        }
    } };
    Ok(whole("Afloat", html! {}, body))
}

/// The answers are kept.
pub(in super::super) async fn write(State(yard): State<Arc<Yard>>, Path(sailor): Path<String>, Sent(form): Sent) -> Answer {
    let words = words()?;
    let id: Id<Sailor> = sailor.parse().map_err(|_| Refusal::lost("There is no such sailor"))?;
    let mut wrong = Vec::new();
    let mut answers = Vec::new();
    for one in &words.question {
        let own = form.line(&format!("own.{}", one.key), 200, &mut wrong);
        let chosen = one.answers.iter().find(|a| form.has(&one.key, a)).cloned();
        answers.extend([chosen.unwrap_or_default(), own].into_iter().filter(|a| !a.is_empty()).map(|a| (one.key.clone(), a)));
    }
    if answers.is_empty() {
        return Err(Refusal::unkept("Tap or write at least one answer."));
    }
    let mut store = yard.store()?;
    if store.get(id)?.is_none() {
        return Err(Refusal::lost("There is no such sailor"));
    }
    let (at, writer) = (Moment::now(), Yard::writer());
    let outing = notes::outing_of(&mut store, None, today(), at, &writer)?;
    for (key, answer) in answers {
        let fact = Observation { outing, sailor: Some(id), at, what: format!("{KEY}{key}"), words: answer };
        store.add(&fact, &writer)?;
    }
    drop(store);
    let body = html! { section.first { p.verdict { (words.thanks) } p { a.second href="/afloat" { "Back to the tally" } } } };
    Ok(whole("Afloat", html! {}, body))
}
