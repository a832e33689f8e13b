//! The School page: who is ready, what each sailor should look at again, quizzes on paper, the checklists, the words.

use std::fs;
use std::sync::Arc;

use advice::checklist::{Checklist, Place};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::form::Form;
use super::quiz::{A_DAY, Past, mixed, topic};
use super::seat::language;
use super::today::{progress as solving, wanted};
use super::yard::Yard;
use super::{Answer, Refusal, Sent, checklist, later, shell, whole};
use crate::briefing::quiz::sheet;
use crate::cards::{QuizSheet, quiz_pdf};
use crate::drawing;
use crate::drawing::quiz::Named;
use crate::words::school::{Explained, Language, Tongue};
use crate::words::word;

/// The largest checklist of a coach, bytes.
const LARGEST: usize = 16_000;
/// Topics to look at again that are named.
const NAMED: usize = 3;

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    let sailors = yard.store()?.sailors()?;
    let tongue = yard.tongue(Language::English)?;
    let (job, why) = wanted(&yard)?;
    let solved = job.as_ref().and_then(|job| job.solved()).is_some();
    let mut ready = Vec::new();
    let mut rows = Vec::new();
    for sailor in &sailors {
        let lists = checklist::lists(&yard, sailor)?;
        let past = Past::of(&yard, sailor.id)?;
        // Ready to launch: both lists before the water are gone through.
        if lists.iter().filter(|l| matches!(l.place, Place::BoatPark | Place::Dock)).all(|l| l.to_go() == 0) {
            ready.push(sailor.fact.label.clone());
        }
        let weak: Vec<String> = past.weak().into_iter().take(NAMED).map(|key| topic(tongue, key)).collect();
        rows.push(html! { tr {
            td { a.name href=(format!("/school/{}", sailor.id)) { (sailor.fact.label) } }
            @for list in &lists { td.number { @let all = list.lines.len(); @let done = all - list.to_go(); @if done == all { span.tick aria-hidden="true" { "✓ " } "all" } @else if done == 0 { span.quiet { "–" } } @else { (done) " of " (all) } } }
            td { a href=(format!("/school/{}/quiz", sailor.id)) { @if past.today.is_empty() { "Quiz" } @else { "Quiz: " (past.today.len()) " of " (A_DAY) } span.unseen { " of " (sailor.fact.label) } } }
            td { @if weak.is_empty() { span.quiet { "–" } } @else { details { summary { (weak.len()) @if past.weak().len() > NAMED { " and more" } } ul { @for topic in &weak { li { (topic) } } } } } }
        } });
    }
    let body = html! {
        section.first {
            @if sailors.is_empty() { p { "A sailor with a boat gets checklists and a quiz." } p { a.tag href="/squad" { "Add a sailor" } } }
            @else if ready.is_empty() { p.verdict { "Nobody has ticked both lists yet." } p { "Who has gone through boat park and dock is named here." } }
            @else { p.verdict { "Both lists ticked: " (ready.join(", ")) "." } @if ready.len() == sailors.len() { p { "Everybody is. Well done." } } }
        }
        @if !sailors.is_empty() {
            section {
                h2 { "Today, by sailor" }
                div.wide tabindex="0" role="region" aria-label="Today, by sailor" { table {
                    thead { tr { th { "Sailor" } @for place in Place::ALL { th.number { (tongue.page(&format!("place_{}", place.name()))) } } th { "Quiz" } th { "To look at again" } } }
                    tbody { @for row in &rows { (row) } }
                } }
                p.small { "What a sailor should look at again is for that sailor and you. A question comes back until it was twice known." }
            }
            section {
                h2 { "A quiz on paper" }
                @if solved { p { "Eight questions for each sailor, from each sailor's own boat and today's wind; the last pages are the answers, for you." }
                    form method="get" action="/school/quiz.pdf" { @for language in Language::ALL { button.second name="language" value=(language.code()) { "Print the quiz, " (language.name()) } " " } } }
                @else { p { "A quiz is made from today's settings." } (solving(job.as_deref(), why, "/today")) }
            }
        }
        section {
            h2 { "Checklists" }
            p { "The lines that come along are common practice, no source. Write your own over any of them." }
            ul { @for place in Place::ALL { li { a href=(format!("/school/lists/{}", place.name())) { (tongue.page(&format!("place_{}", place.name()))) } @if checklist::own_text(&yard, place).is_some() { ": your own" } @if let Ok((_, _, Some(wrong))) = checklist::list(&yard, place) { span.wrong { " not used, " (wrong) } } } } }
        }
        section {
            h2 { "Phones and words" }
            p { a.second href="/school/phones" { "Phones on the club's network, and sailors' links" } }
            p { a.second href="/school/glossary" { "The words, with pictures" } }
        }
    };
    Ok(whole("School", html! {}, body))
}

/// The words, with the boat drawn.
pub(super) async fn glossary(State(yard): State<Arc<Yard>>, headers: HeaderMap) -> Answer {
    let tongue = yard.tongue(language(&headers))?;
    Ok(whole("Words", html! { p { a href="/school" { "Back to School" } } }, explained(&yard, tongue)))
}

/// Words explained, each beside its picture, and the ways of sitting.
pub(super) fn explained(yard: &Yard, tongue: &Tongue) -> Markup {
    let shape = crate::day::Day::open(5.0)
        .boat(&yard.class, None)
        .ok()
        .map(|boat| crate::briefing::day::shape(&boat, [0.0; boat::balance::CONTROLS], 0.15));
    let named = |w: &Explained| tongue.page("word_alt").replace("{x}", &w.name).replace("{y}", &w.says);
    let drawn = |key: &str, w: &Explained| {
        let alt = named(w);
        shape.as_ref().and_then(|shape| drawing::word::of(key, shape, Named { alt: &alt, wind: word(&tongue.school.picture, "wind") }))
    };
    html! { section.first lang=(tongue.language.code()) {
        ul.glossary { @for (key, w) in tongue.words() { li {
            div { @if let Some(picture) = drawn(key, w) { (shell::picture(&picture)) } }
            p { b { (w.name) } br; (w.says) }
        } } }
        h2 { (word(&tongue.school.kind, "sit")) }
        @if let Some(shape) = &shape {
            @for posture in crate::briefing::card::Posture::ALL { figure.sitting { (shell::picture(&crate::drawing::posture::figure(posture, shape, 74.0, 38.0, word(&tongue.card.posture_alt, posture.key())))) figcaption { (word(&tongue.card.posture, posture.key())) } } }
        }
    } }
}

/// A coach's own list, as text.
pub(super) async fn list(State(yard): State<Arc<Yard>>, Path(place): Path<String>) -> Answer {
    let place = Place::named(&place).ok_or_else(|| Refusal::lost("There is no such checklist"))?;
    let text = checklist::own_text(&yard, place).unwrap_or_else(|| place.standard().to_owned());
    let wrong = Checklist::read(&text, place).err().map(|wrong| wrong.to_string());
    edited(&yard, place, &text, wrong.as_deref())
}

fn edited(yard: &Yard, place: Place, text: &str, wrong: Option<&str>) -> Answer {
    let tongue = yard.tongue(Language::English)?;
    let title = tongue.page(&format!("place_{}", place.name())).to_owned();
    let body = html! { section.first {
        p { "A line of the list is " code { "[[item]]" } " with a key, by which ticks are kept, and what it says. " code { "has" } " limits it to boats that have a sprit, a vang, and so on." }
        @if let Some(wrong) = wrong { p.wrong role="alert" { b { (wrong) } } }
        form method="post" action=(format!("/school/lists/{}", place.name())) {
            label for="text" { "The list" }
            textarea #text name="text" rows="24" spellcheck="false" { (text) }
            p { button.tag { "Keep this list" } " " button.second name="back" value="1" { "Take the list that comes along" } " " a.second href="/school" { "Back to School" } }
        }
    } };
    Ok(whole(&title, html! {}, body))
}

/// A coach's own list is kept where it reads; what is wrong is told by its line, with the text as it was typed.
pub(super) async fn keep_list(State(yard): State<Arc<Yard>>, Path(place): Path<String>, Sent(form): Sent) -> Answer {
    let place = Place::named(&place).ok_or_else(|| Refusal::lost("There is no such checklist"))?;
    let file = checklist::own_file(&yard, place);
    let unwritten = |error: std::io::Error| Refusal::because("The list could not be kept", &format!("{}: {error}", file.display()));
    if form.ticked("back") {
        return match fs::remove_file(&file) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(unwritten(error)),
            _ => Ok(later("/school")),
        };
    }
    let text = typed(&form);
    if text.len() > LARGEST {
        return edited(&yard, place, &text, Some("The list is too long: forty lines at most."));
    }
    if let Err(wrong) = Checklist::read(&text, place) {
        return edited(&yard, place, &text, Some(&wrong.to_string()));
    }
    if let Some(folder) = file.parent() {
        fs::create_dir_all(folder).map_err(unwritten)?;
    }
    fs::write(&file, text).map_err(unwritten)?;
    Ok(later("/school"))
}

/// The text as it was typed: a browser ends lines in its own way, and what is at the ends is left.
fn typed(form: &Form) -> String {
    form.0.iter().find(|p| p.0 == "text").map_or(String::new(), |p| p.1.replace("\r\n", "\n"))
}

/// Quizzes of all sailors on paper, then their answers.
pub(super) async fn sheets(State(yard): State<Arc<Yard>>, Query(query): Query<Vec<(String, String)>>) -> Answer {
    let code = query.iter().find(|q| q.0 == "language").map_or("en", |q| q.1.as_str()).to_owned();
    let made = tokio::task::spawn_blocking(move || printed(&yard, Language::coded(&code).unwrap_or(Language::English))).await;
    made.unwrap_or_else(|_| Err(Refusal::because("The quiz could not be printed", "Try again.")))
}

fn printed(yard: &Arc<Yard>, language: Language) -> Result<Response, Refusal> {
    let tongue = yard.tongue(language)?;
    let sailors = yard.store()?.sailors()?;
    let mut all = Vec::new();
    for sailor in &sailors {
        let past = Past::of(yard, sailor.id)?;
        let Some((quiz, shape)) = yard.quiz(sailor)? else { continue };
        let keys = mixed(&quiz, &sailor.fact.label);
        let keys: Vec<&str> = past.order(&keys).into_iter().take(A_DAY).collect();
        let seed = super::quiz::of_the_day();
        all.push(QuizSheet { sailor: sailor.fact.label.clone(), questions: sheet(&quiz, &keys, seed, tongue, &shape) });
    }
    if all.is_empty() {
        return Err(Refusal::lost("Today's settings are not solved yet"));
    }
    let date = super::yard::today();
    let bytes = quiz_pdf(&all, tongue, &format!("{} {}", tongue.card.day(date.0), date.0.year()))
        .map_err(|error| Refusal::because("The quiz could not be printed", &error.to_string()))?;
    let named = format!("inline; filename=\"quiz-{date}.pdf\"");
    Ok(([(header::CONTENT_TYPE, "application/pdf".to_owned()), (header::CONTENT_DISPOSITION, named)], bytes).into_response())
}
