//! What was noted afloat beside what the tracks tell: a press takes the chart to the moment.

use maud::{Markup, html};
use squad::fact::outing::{Observation, Outing as OutingFact};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, SquadError, Store};
use track::debrief::GivenLineup;

use super::super::afloat::{Noted, noted, outings};
use super::super::yard::Yard;
use super::{Told, jump};
use crate::briefing::ashore::{Own, span};
use crate::briefing::debrief::clock;
use crate::outing::Known;

/// How long before the first and after the last place of a track a note may be shown on the chart, s. Assumed: a minute.
const BESIDE: f64 = 60.0;

/// A press to the moment, where the tracks reach it.
fn moment(told: &Told, at: f64) -> Markup {
    let within = span(&told.outing.answer).is_some_and(|(first, last)| at > first - BESIDE && at < last + BESIDE);
    html! { @if within { (jump(at, "Show it")) } @else { small { "outside the tracks" } } }
}

/// For the coach: all of it.
pub(super) fn of_all(yard: &Yard, told: &Told, of: &Kept<OutingFact>) -> Result<Markup, SquadError> {
    let all = noted(yard, of)?;
    Ok(html! { @if !all.is_empty() { section #noted {
        h2 { "Noted afloat" }
        div.wide tabindex="0" role="region" aria-label="Noted afloat" { table {
            thead { tr { th { "When" } th { "Who" } th { "What" } th { "By" } td { span.unseen { "On the chart" } } } }
            tbody { @for n in &all { tr {
                td { (clock(n.at, &told.zone, "%H:%M:%S")) } td { (n.who) }
                td { @if let Some(asked) = &n.asked { i { (asked) } " " } (n.what) } td { small { (n.by) } } td { (moment(told, n.at)) }
            } } }
        } }
    } } })
}

/// Whose track a sheet is about.
fn whose(told: &Told, boat: usize) -> Option<Id<Sailor>> {
    told.recorders.get(boat).and_then(|r| r.1)
}

/// A sailor's own: what was seen of her and her own words; the tally is nobody's to learn from.
fn own(yard: &Yard, told: &Told, of: &Kept<OutingFact>, boat: usize) -> Result<Vec<Noted>, SquadError> {
    let Some(sailor) = whose(told, boat) else { return Ok(Vec::new()) };
    let mine = |n: &Noted| n.sailor == Some(sailor) && !n.tally;
    Ok(noted(yard, of)?.into_iter().filter(mine).collect())
}

/// For a sailor: her own.
pub(super) fn of_one(yard: &Yard, told: &Told, of: &Kept<OutingFact>, boat: usize) -> Result<Markup, SquadError> {
    let all = own(yard, told, of, boat)?;
    let (words, seen): (Vec<_>, Vec<_>) = all.into_iter().partition(|n| n.asked.is_some());
    Ok(html! {
        @if !seen.is_empty() { section {
            h2 { "Your coach saw" }
            ul { @for n in &seen { li { b { (clock(n.at, &told.zone, "%H:%M")) } " " (n.what) @if !n.child.is_empty() { ". " (n.child) } " " (moment(told, n.at)) } } }
        } }
        @if !words.is_empty() { section { h2 { "Your own words" } @for n in &words { p { i { (n.asked.as_deref().unwrap_or_default()) } " " b { (n.what) } } } } }
    })
}

/// A sailor's pictures with what was noted of her, for her sheet.
pub(super) fn with_notes(yard: &Yard, told: &Told, of: &Kept<OutingFact>, boat: usize, drawn: &Own) -> Result<Own, SquadError> {
    let all = own(yard, told, of, boat)?;
    let (words, seen): (Vec<_>, Vec<_>) = all.into_iter().partition(|n| n.asked.is_some());
    let line = |n: Noted| [clock(n.at, &told.zone, "%H:%M"), if n.child.is_empty() { n.what } else { format!("{}. {}", n.what, n.child) }];
    Ok(Own {
        noted: seen.into_iter().map(line).collect(),
        words: words.into_iter().map(|n| [n.asked.unwrap_or_default(), n.what]).collect(),
        ..drawn.clone()
    })
}

/// Passes that the coach timed, between boats whose recorders are known: they are sought in the tracks there.
pub(super) fn timed(store: &Store, of: &Kept<OutingFact>, recorders: &[Known]) -> Result<Vec<GivenLineup>, SquadError> {
    let place = |sailor: Id<Sailor>| recorders.iter().position(|r| r.1 == Some(sailor));
    let mut found: Vec<GivenLineup> = Vec::new();
    for outing in outings(store, of)? {
        for seen in store.of::<Observation, _>(outing)?.into_iter().filter(|o| o.fact.what == "pass") {
            let other = seen.fact.words.split(' ').next().and_then(|id| id.parse().ok());
            let pair = seen.fact.sailor.and_then(place).zip(other.and_then(place));
            let Some((a, b)) = pair.filter(|(a, b)| a < b) else { continue };
            found.push(GivenLineup { boats: (a, b), start: seen.fact.at.timestamp().as_millisecond() as f64 / 1000.0 });
        }
    }
    Ok(found)
}
