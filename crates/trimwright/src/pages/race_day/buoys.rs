//! Buoys from a file: waypoints and points as they are, or the stops of the coach boat's track, of which some are buoys.

use measure::counted;
use std::sync::Arc;

use axum::extract::{Multipart, Query, State};
use maud::{Markup, html};
use regatta::course::Given;
use serde::Deserialize;
use squad::fact::race::Course as CourseFact;
use squad::fact::recorder::TrackFile;
use squad::{Id, Kept};

use super::super::yard::{Today, Yard, blank_day, here, today};
use super::super::{Answer, Refusal, Sent, later, whole};
use super::{form, keep, kept};
use crate::race_day::laid::{line, of_file};
use crate::race_day::stops::{Stop, of_track};

/// The most bytes of a file of buoys or of a coach boat's track. Assumed: a day at ten fixes a second has 20 MB.
pub(in super::super) const LARGEST: usize = 40 << 20;
/// What a stop may be.
const ROLES: [&str; 10] =
    ["windward", "offset", "wing", "leeward", "gate port", "gate starboard", "pin", "committee boat", "finish", "outer windward"];

/// Today's tracks that are no sailor's: the coach boat's may be among them.
fn tracks(yard: &Yard, now: &Today) -> Result<Vec<Kept<TrackFile>>, Refusal> {
    let store = yard.store()?;
    let mut found = Vec::new();
    for outing in store.of::<squad::fact::outing::Outing, _>(now.kept.id)? {
        found.extend(store.tracks_of(outing.id)?.into_iter().filter(|t| t.fact.sailor.is_none()));
    }
    Ok(found)
}

/// The form that brings a file.
pub(super) fn fields(yard: &Yard, now: Option<&Today>) -> Result<Markup, Refusal> {
    let tracks = now.map(|now| tracks(yard, now)).transpose()?.unwrap_or_default();
    Ok(html! { section #bring {
        h2 { "Bring buoys from a file" }
        form method="post" action="/race-day/buoys" enctype="multipart/form-data" {
            div.fields {
                div { label for="file" { "A file of buoys, or the coach boat's track" } input #file name="file" type="file" required; small { "GPX waypoints or GeoJSON points are taken as buoys; of a track each place where the boat stopped is offered" } }
            }
            p { button.tag { "Bring this file" } }
        }
        @if !tracks.is_empty() { p { "Stops of today's tracks: " @for track in &tracks { a.second href=(format!("/race-day/stops?file={}", track.id)) { (track.fact.name) } " " } } }
    } })
}

/// A file is brought.
pub(in super::super) async fn bring(State(yard): State<Arc<Yard>>, mut sent: Multipart) -> Answer {
    let unread = |what: String| Refusal::because("The file did not arrive whole", &what);
    let mut file = None;
    loop {
        match sent.next_field().await {
            Ok(Some(field)) => {
                let name: String = field.file_name().unwrap_or_default().chars().filter(|c| !c.is_control()).take(120).collect();
                let bytes = field.bytes().await.map_err(|error| unread(error.body_text()))?;
                if !bytes.is_empty() {
                    file = Some((name, bytes));
                }
            }
            Ok(None) => break,
            Err(error) => return Err(unread(error.body_text())),
        }
    }
    let Some((name, bytes)) = file else { return Err(Refusal::unkept("Choose a file that is not empty.")) };
    if let Ok(read) = of_file(&name, &bytes) {
        let lines: Vec<String> = read.value.iter().filter_map(as_line).collect();
        return add(&yard, &lines);
    }
    if let Ok(text) = squad::text::of(&bytes)
        && Given::list(&text).is_ok_and(|list| !list.is_empty())
    {
        let lines: Vec<String> = text.lines().map(str::trim).filter(|l| !l.is_empty()).map(str::to_owned).collect();
        return add(&yard, &lines);
    }
    let zone = zone(&yard)?;
    let said = tokio::task::spawn_blocking(move || (of_track(&name, &bytes, Some(&zone)), name, zone)).await;
    match said {
        Ok((Ok(stops), name, zone)) => Ok(offered(&name, &stops, &zone)),
        Ok((Err(why), _, _)) => Err(Refusal::unkept(&why)),
        Err(_) => Err(Refusal::because("The file was not read", "Reading it stopped. Is it a track?")),
    }
}

fn zone(yard: &Yard) -> Result<jiff::tz::TimeZone, Refusal> {
    let name = yard.today()?.map_or_else(here, |t| t.kept.fact.timezone);
    Ok(jiff::tz::TimeZone::get(&name).unwrap_or(jiff::tz::TimeZone::UTC))
}

fn as_line(given: &Given) -> Option<String> {
    match given.place {
        regatta::course::Place::Position(at) => Some(line(&given.name, given.role, at)),
        _ => None,
    }
}

/// A kept track whose stops are asked for.
#[derive(Debug, Deserialize)]
pub(in super::super) struct OfTrack {
    file: String,
}

/// The stops of a kept track.
pub(in super::super) async fn stops(State(yard): State<Arc<Yard>>, Query(asked): Query<OfTrack>) -> Answer {
    let id: Id<TrackFile> = asked.file.parse().map_err(|_| Refusal::lost("There is no such track"))?;
    let (track, bytes) = {
        let store = yard.store()?;
        let track = store.get(id)?.ok_or_else(|| Refusal::lost("There is no such track"))?;
        let bytes = store.track_bytes(&track.fact)?;
        (track, bytes)
    };
    let zone = zone(&yard)?;
    let name = track.fact.name;
    let said = tokio::task::spawn_blocking(move || (of_track(&name, &bytes, Some(&zone)), name, zone)).await;
    match said {
        Ok((Ok(stops), name, zone)) => Ok(offered(&name, &stops, &zone)),
        _ => Err(Refusal::lost("This track cannot be read")),
    }
}

/// Stops to choose buoys from.
fn offered(name: &str, stops: &[Stop], zone: &jiff::tz::TimeZone) -> axum::response::Response {
    let clock = |stop: &Stop| {
        jiff::Timestamp::from_second(stop.start)
            .map_or_else(|_| String::new(), |t| t.to_zoned_datetime(zone.clone()).strftime("%H:%M:%S").to_string())
    };
    let body = html! { section.first {
        @if stops.is_empty() { p.verdict { "This boat stopped nowhere" } p { "A stop of twenty seconds or more is offered as a buoy." } p { a.tag href="/race-day" { "Back to the course" } } }
        @else {
            h2 { (counted(stops.len(), "stop")) " of " (name) }
            p { "Say which of them are buoys. The others are left out." }
            form method="post" action="/race-day/stops" {
                table { thead { tr { th { "From" } th.number { "Seconds" } th { "Where" } th { "It is" } } } tbody { @for (n, stop) in stops.iter().enumerate() { tr {
                    td { (clock(stop)) } td.number { (stop.seconds) } td { (format!("{:.5} {:.5}", stop.at.latitude(), stop.at.longitude())) }
                    td { input type="hidden" name=(format!("at{n}")) value=(format!("{:.6} {:.6}", stop.at.latitude(), stop.at.longitude()));
                        select name=(format!("role{n}")) aria-label=(format!("The stop at {} is", clock(stop))) { option value="" { "no buoy" } @for role in ROLES { option value=(role) { (role) } } } }
                } } } }
                p { button.tag { "Take these buoys" } }
            }
        }
    } };
    whole("Race day", html! {}, body)
}

/// Chosen stops become buoys.
pub(in super::super) async fn take(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let mut lines = Vec::new();
    for n in 0..100 {
        let (role, at) = (form.text(&format!("role{n}")), form.text(&format!("at{n}")));
        if at.is_empty() {
            break;
        }
        if ROLES.contains(&role) && regatta::course::position(at).is_ok() {
            lines.push(format!("{role}: {at}"));
        }
    }
    if lines.is_empty() {
        return Err(Refusal::unkept("No stop was chosen: say which of them are buoys."));
    }
    add(&yard, &lines)
}

/// Puts buoys to those of today's course; a name that is there already is laid anew. They are kept even where they make no course yet: the
/// page says what is missing.
fn add(yard: &Arc<Yard>, lines: &[String]) -> Answer {
    let name = |line: &str| line.split(':').next().unwrap_or_default().trim().to_lowercase();
    let (version, mut fact) = match kept(yard)? {
        Some((_, course)) => (course.version, course.fact),
        None => (0, blank(yard)?),
    };
    let stay = fact.buoys_text.lines().filter(|old| fact.sketch.is_none() && !lines.iter().any(|new| name(new) == name(old)));
    fact.buoys_text = stay.map(str::to_owned).chain(lines.iter().cloned()).collect::<Vec<_>>().join("\n");
    fact.sketch = None;
    let Some(now) = yard.today()? else { return Err(Refusal::lost("There is no day to keep it for")) };
    match keep(yard, &now, &fact, version)? {
        None => Ok(later("/race-day")),
        Some(_) => Err(Refusal::unkept("Somebody changed today's course meanwhile: bring the file again.")),
    }
}

/// A course of which nothing is known.
fn blank(yard: &Yard) -> Result<CourseFact, Refusal> {
    let day = match yard.today()? {
        Some(now) => now.kept.id,
        None => yard.store()?.add(&blank_day(today(), here()), &Yard::writer())?.id,
    };
    Ok(form::blank(day))
}
