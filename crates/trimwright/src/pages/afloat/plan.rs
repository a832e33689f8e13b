//! The practice plan: drills picked for a day, and what the last debrief asks for. A drill that is picked is a line ticked on that day.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use maud::{Markup, html};
use measure::quantity::KNOT;
use serde::Deserialize;
use squad::fact::day::Tick;
use squad::{Date, Kept, Moment, SquadError};

use super::super::yard::{Yard, blank_day, here, today};
use super::super::{Answer, Refusal, Sent, ashore, later, shell, whole};
use crate::briefing::drills::{Drill, USUAL_WIND, drills, proposals};
use crate::cards::drills_pdf;
use crate::drawing::drill::drill;

/// What a drill's tick begins with, before its key.
const KEY: &str = "drill.";
/// Size of a layout on a page, mm.
const LAYOUT: (f64, f64) = (100.0, 76.0);

/// Which day is asked for.
#[derive(Debug, Deserialize, Default)]
pub(in super::super) struct Asked {
    day: Option<String>,
}

fn date(text: Option<&str>) -> Date {
    text.and_then(|d| d.parse().ok()).unwrap_or_else(today)
}

fn all() -> Result<Vec<Drill>, Refusal> {
    drills().map_err(|error| Refusal::because("The drills do not read", &error.to_string()))
}

/// The ticks of a day's plan.
fn ticks(yard: &Yard, date: Date) -> Result<Vec<Kept<Tick>>, SquadError> {
    let store = yard.store()?;
    let mut found = Vec::new();
    for day in store.days_on(date)? {
        found.extend(store.ticks_of(day.id)?.into_iter().filter(|t| t.fact.item.starts_with(KEY)));
    }
    Ok(found)
}

/// The drills picked for a day.
fn picked(yard: &Yard, date: Date) -> Result<Vec<Drill>, Refusal> {
    let ticks = ticks(yard, date)?;
    Ok(all()?.into_iter().filter(|d| ticks.iter().any(|t| t.fact.item.strip_prefix(KEY) == Some(&d.key))).collect())
}

/// The wind a day's layouts are drawn for, knots at ten metres, and whether it is the day's own.
fn wind(yard: &Yard, date: Date) -> Result<(f64, bool), SquadError> {
    let known = if date == today() { yard.today()?.and_then(|t| t.day()) } else { None };
    Ok(known.map_or((USUAL_WIND, false), |day| (day.given / KNOT, true)))
}

/// Keys and titles of today's drills, for the phone's script.
pub(super) fn listed(yard: &Yard) -> Result<Vec<(String, String)>, SquadError> {
    let some = picked(yard, today()).unwrap_or_default();
    Ok(some.into_iter().map(|d| (d.key, d.title)).collect())
}

/// Today's drills as the phone shows them.
pub(super) fn on_the_phone(yard: &Yard) -> Result<Markup, Refusal> {
    let (knots, known) = wind(yard, today())?;
    let some = picked(yard, today())?;
    Ok(html! {
        @if some.is_empty() { p { "No drill is picked for today. Pick some on the laptop's Afloat page before launching." } }
        @for one in &some {
            @let sheet = one.sheet(knots, known, yard.class.hull.length);
            div.drill {
                h2 { (sheet.title) }
                p { b { (sheet.aim) } " " (sheet.facts) "." }
                (shell::picture(&drill(&sheet.layout, LAYOUT.0, LAYOUT.1)))
                p.small { (sheet.scale) }
                ol { @for step in &sheet.steps { li { (step) } } }
                p { b { "Watch: " } (sheet.watch.join(" ")) }
                div.caution { p { (sheet.cautions.join(" ")) " The coach decides." } }
                p { button.second type="button" data-drill=(one.key) data-minutes=(one.minutes) { "Done" } }
            }
        }
    })
}

/// A line for the laptop's page.
pub(super) fn line(yard: &Yard) -> Result<Markup, Refusal> {
    let some = picked(yard, today())?;
    let minutes: f64 = some.iter().map(|d| d.minutes).sum();
    Ok(html! { section { h2 { "Practice plan" }
        @if some.is_empty() { p { "No drill is picked for today." } }
        @else { p { (some.iter().map(|d| d.title.as_str()).collect::<Vec<_>>().join(", ")) ": " (minutes) " minutes." } }
        p { a.second href="/afloat/plan" { "Pick the drills" } " " @if !some.is_empty() { a.second href="/afloat/plan.pdf" { "Print " (some.len()) @if some.len() == 1 { " sheet" } @else { " sheets" } } } }
    } })
}

/// The page.
pub(in super::super) async fn page(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let date = date(asked.day.as_deref());
    let (knots, known) = wind(&yard, date)?;
    let ticks = ticks(&yard, date)?;
    let all = all()?;
    let chosen = |d: &Drill| ticks.iter().any(|t| t.fact.item.strip_prefix(KEY) == Some(&d.key));
    let tomorrow = today().0.tomorrow().map(Date).unwrap_or_else(|_| today());
    let last = ashore::last_debrief(&yard)?;
    let asks = match &last {
        Some((_, Some(told))) => told.as_ref().as_ref().map(|told| proposals(&all, &told.outing.answer, knots)).unwrap_or_default(),
        _ => Vec::new(),
    };
    let one = |d: &Drill| {
        let sheet = d.sheet(knots, known, yard.class.hull.length);
        let why = asks.iter().find(|p| p.key == d.key);
        html! { div.drill {
            label { input.tick type="checkbox" name="drill" value=(d.key) checked[chosen(d)]; " " span.name { (d.title) } }
            @if let Some(why) = why { p.act { b { "The debrief asks for it: " (why.why) "." } " " (why.boats.len()) @if why.boats.len() == 1 { " sailor" } @else { " sailors" } } }
            p { (sheet.aim) " " (sheet.facts) "." @if !d.fits(knots) { b { " Not for " (format!("{knots:.0}")) " knots." } } }
            (shell::picture(&drill(&sheet.layout, LAYOUT.0, LAYOUT.1)))
        } }
    };
    let rank = |d: &Drill| (asks.iter().position(|p| p.key == d.key).unwrap_or(usize::MAX), !d.fits(knots));
    let mut order: Vec<&Drill> = all.iter().collect();
    order.sort_by_key(|d| rank(d));
    let body = html! {
        section.first {
            nav.choice aria-label="Which day" {
                a href="/afloat/plan" aria-current=[(date == today()).then_some("true")] { "Today" }
                a href=(format!("/afloat/plan?day={tomorrow}")) aria-current=[(date == tomorrow).then_some("true")] { "Tomorrow" }
            }
            @match &last {
                None => p { "Bring an outing's tracks on the Ashore page, and what its debrief says to work on stands first here." },
                Some((of, None)) => div.progress role="status" data-again="1500" { p { b { "\"" (of.fact.name) "\" is being debriefed: what it asks for comes first, as soon as it is there." } } noscript { meta http-equiv="refresh" content="3"; } },
                Some((of, Some(_))) if asks.is_empty() => p { "In \"" (of.fact.name) "\" nothing stood out that several outings' luck would not explain: choose what the squad likes." },
                Some((of, Some(_))) => p { "What the debrief of \"" (of.fact.name) "\" asks for stands first." },
            }
            p.small { @if known { "Layouts are drawn for " (format!("{knots:.0}")) " knots at 10 m, the day's wind." } @else { "Layouts are drawn for " (format!("{knots:.0}")) " knots at 10 m, as no wind is known for that day." } " How far a boat beats in a minute is this program's own model; nobody has measured it." }
        }
        form method="post" action="/afloat/plan" {
            input type="hidden" name="day" value=(date);
            section { div.drills { @for d in &order { (one(d)) } } p { button.tag { "Keep this plan" } " " a.second href="/afloat" { "Back to the tally" } } }
        }
    };
    Ok(whole("Afloat", html! { p { "Practice plan, " (date.0.strftime("%-d %B")) } }, body))
}

/// The plan is written.
pub(in super::super) async fn write(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let date: Date = form.text("day").parse().map_err(|_| Refusal::unkept("Choose a day."))?;
    let all = all()?;
    let was = ticks(&yard, date)?;
    let writer = Yard::writer();
    yard.store()?.whole(|store| {
        for d in &all {
            let tick = was.iter().find(|t| t.fact.item.strip_prefix(KEY) == Some(&d.key));
            match (form.has("drill", &d.key), tick) {
                (true, None) => {
                    let day = match store.days_on(date)?.pop() {
                        Some(day) => day.id,
                        None => store.add(&blank_day(date, here()), &writer)?.id,
                    };
                    let item = format!("{KEY}{}", d.key);
                    store.add(&Tick { day, sailor: None, boat: None, at: Moment::now(), item }, &writer)?;
                }
                (false, Some(tick)) => {
                    let _ = store.withdraw(tick.id, tick.version, &writer)?;
                }
                _ => {}
            }
        }
        Ok::<_, SquadError>(())
    })?;
    Ok(later(&if date == today() { "/afloat".to_owned() } else { format!("/afloat/plan?day={date}") }))
}

/// The sheets of a day's drills.
pub(in super::super) async fn sheets(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let date = date(asked.day.as_deref());
    let (knots, known) = wind(&yard, date)?;
    let sheets: Vec<_> = picked(&yard, date)?.iter().map(|d| d.sheet(knots, known, yard.class.hull.length)).collect();
    if sheets.is_empty() {
        return Err(Refusal::lost("No drill is picked for that day"));
    }
    let bytes = drills_pdf(&sheets).map_err(|error| Refusal::because("That was not printed", &error.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "application/pdf"), (header::CONTENT_DISPOSITION, "inline; filename=\"drills.pdf\"")], bytes)
        .into_response())
}
