//! The Race day page: the day's course laid or drawn, and for each sailor its legs, the start line, when to tack, what hands do when, how to
//! round; the signals; one sheet for each sailor.

mod buoys;
mod form;
mod job;
pub(super) mod results;
mod shown;
mod signals;

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use regatta::start::Sequence;
use serde::Deserialize;
use squad::fact::race::Course as CourseFact;
use squad::{Edit, Kept};

use super::form::{Form, Wrong};
use super::yard::{Today, Yard, lock, today};
use super::{Answer, Refusal, Sent, later, whole};
use crate::cards::race_day_pdf;
use crate::race_day::boat::RaceBoat;
use crate::race_day::found::Found;
use crate::race_day::laid;
use crate::race_day::wind::{RaceWind, Weather};
pub(super) use buoys::{LARGEST, bring, stops, take};
pub(super) use job::Job;
use job::Sheet;
pub(super) use signals::page as signals_page;

/// Whose page is asked for, by the place in the order of launching.
#[derive(Debug, Deserialize, Default)]
pub(super) struct Asked {
    who: Option<usize>,
}

/// Today's course as it is kept, with its day.
fn kept(yard: &Yard) -> Result<Option<(Today, Kept<CourseFact>)>, Refusal> {
    let Some(now) = yard.today()? else { return Ok(None) };
    let course = yard.store()?.course_of(now.kept.id)?;
    Ok(course.map(|course| (now, course)))
}

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let form = match kept(&yard)? {
        Some((_, course)) => form::filled(&course),
        None => Form::default(),
    };
    show(&yard, &asked, &form, &Wrong::new(), false)
}

/// The page with a form as it stands.
fn show(yard: &Arc<Yard>, asked: &Asked, form: &Form, wrong: &Wrong, overtaken: bool) -> Answer {
    let kept = kept(yard)?;
    let now = match &kept {
        Some((now, _)) => Some(now.clone()),
        None => yard.today()?,
    };
    let mut facts = html! { p { (today().0.strftime("%A %-d %B")) } };
    let top = match &kept {
        None => {
            html! { section.first { h2 { "No course for today yet" } p { "Lay one below from its buoys, or draw one: then every sailor's legs, laylines and roundings are told." } } }
        }
        Some((now, course)) => {
            facts = html! { p { (today().0.strftime("%A %-d %B")) @if let Some(signal) = &now.kept.fact.warning_signal { ", warning " (signal) } @if !now.kept.fact.venue.is_empty() { br; (now.kept.fact.venue) } } };
            match form::weather(&course.fact, now) {
                Err((_, why)) => html! { section.first { p.verdict { "The course is kept, and its wind is missing" } p { (why) } } },
                Ok(weather) => told(yard, now, &course.fact, &weather, asked)?,
            }
        }
    };
    let body = html! {
        p.deeds { a.second href="/race-day/signals" { "Signals in big digits" } " " a.second href="/race-day/results" { "Results" } " " a.second href="#rules" { "Rules in short words" } }
        @if overtaken { section.first { p.wrong role="alert" { b { "Somebody changed today's course while you were typing. " } "Nothing of yours was written. What you typed stands below: press the button again to write it over theirs." } } }
        (top)
        (form::fields(form, wrong, now.as_ref(), kept.is_some()))
        @if kept.is_some() || now.is_some() { (buoys::fields(yard, now.as_ref())?) }
        (shown::rules())
    };
    Ok(whole("Race day", facts, body))
}

/// A kept course, for a sailor.
fn told(yard: &Arc<Yard>, now: &Today, course: &CourseFact, weather: &Weather, asked: &Asked) -> Result<Markup, Refusal> {
    let squad = yard.squad()?;
    if squad.crews.is_empty() {
        return Ok(
            html! { section.first { h2 { "Nobody sails yet" } p { "A sailor with a boat and a body mass is told how the course is sailed." } p { a.tag href="/squad" { "Add a sailor" } } } },
        );
    }
    let job = match yard.race(&now.kept.fact, course, weather, &squad) {
        Ok(job) => job,
        Err(why) => return Ok(html! { section.first { p.verdict { "No race in this wind and current" } p { (why) } } }),
    };
    let who = asked.who.unwrap_or(0).min(squad.crews.len() - 1);
    let nav = shown::choice(&job.labels(), who);
    let body = match job.sheet(who) {
        None => shown::progress(&job, who),
        Some(Err(why)) => html! { section { p.verdict { "This cannot be told today" } p { (why) } } },
        Some(Ok(told)) => shown::sailor(&told.page(), &told.doubts, who, &job),
    };
    Ok(html! { (nav) (body) })
}

/// A sailor's sheet, and what is doubted of the course.
fn sheet(fact: &CourseFact, race: RaceWind, boat: &RaceBoat, label: &str) -> Result<Sheet, String> {
    let date = today().0;
    let course = laid::course(fact, date, race.day.wind_from, boat.length).map_err(|e| e.to_string())?;
    let compass = laid::compass(fact, date).map_err(|e| e.to_string())?;
    let sequence = if fact.practice_signals { Sequence::Practice } else { Sequence::Rule26 };
    let found = Found::of(course.value, race, boat.clone(), compass, sequence).map_err(|stuck| stuck.words().to_owned())?;
    let doubts = laid::doubts(&[course.warnings, found.warnings.clone()].concat());
    Ok(Sheet { found, whose: label.to_owned(), doubts })
}

/// The course is written.
pub(super) async fn write(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let day = yard.this_day()?;
    let Some(now) = yard.today()? else { return Err(Refusal::lost("There is no day to keep it for")) };
    let mut wrong = Wrong::new();
    let fact = form::read(&form, day.id, yard.class.hull.length, &now, &mut wrong);
    if !wrong.is_empty() {
        return show(&yard, &Asked::default(), &form, &wrong, false);
    }
    match keep(&yard, &now, &fact, form.text("version").parse().unwrap_or(0))? {
        None => Ok(later("/race-day")),
        Some(theirs) => {
            let mut again = form.clone();
            again.0.retain(|p| p.0 != "version");
            again.0.push(("version".to_owned(), theirs.to_string()));
            show(&yard, &Asked::default(), &again, &wrong, true)
        }
    }
}

/// Keeps a course for today; where somebody wrote since, their version.
fn keep(yard: &Yard, now: &Today, fact: &CourseFact, version: u32) -> Result<Option<u32>, Refusal> {
    let mut store = yard.store()?;
    let writer = Yard::writer();
    Ok(match store.course_of(now.kept.id)? {
        None => {
            store.add(fact, &writer)?;
            None
        }
        Some(old) => match store.edit(old.id, version, fact, &writer)? {
            Edit::Written(_) => None,
            Edit::Overtaken(theirs) => Some(theirs.version),
        },
    })
}

/// Solving stops.
pub(super) async fn stop(State(yard): State<Arc<Yard>>) -> Answer {
    yard.stop_race();
    Ok(later("/race-day"))
}

/// Solving begins anew.
pub(super) async fn solve(State(yard): State<Arc<Yard>>) -> Answer {
    lock(&yard.race).take();
    Ok(later("/race-day"))
}

/// The sheets: all sailors', or one's.
pub(super) async fn sheets(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let Some((now, course)) = kept(&yard)? else { return Err(Refusal::lost("There is no course for today")) };
    let weather = form::weather(&course.fact, &now).map_err(|(_, why)| Refusal::because("That was not printed", &why))?;
    let squad = yard.squad()?;
    let job = yard.race(&now.kept.fact, &course.fact, &weather, &squad).map_err(|why| Refusal::because("That was not printed", &why))?;
    let mut pages = Vec::new();
    for n in (0..squad.crews.len()).filter(|n| asked.who.is_none_or(|who| who == *n)) {
        match job.sheet(n) {
            None => return Err(Refusal::lost("The course is still being told: try again in a moment")),
            Some(Err(_)) => {}
            Some(Ok(told)) => pages.push(told.page()),
        }
    }
    if pages.is_empty() {
        return Err(Refusal::lost("There is no such sheet"));
    }
    match tokio::task::spawn_blocking(move || race_day_pdf(&pages)).await {
        Ok(Ok(bytes)) => Ok(as_file("race-sheets.pdf", "application/pdf", bytes)),
        Ok(Err(error)) => Err(Refusal::because("That was not printed", &error.to_string())),
        Err(_) => Err(Refusal::because("That was not printed", "Try again.")),
    }
}

/// Bytes that a browser shows or saves under a name.
pub(super) fn as_file(name: &str, kind: &str, bytes: Vec<u8>) -> Response {
    let shown = format!("inline; filename=\"{name}\"");
    ([(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, shown)], bytes).into_response()
}
