//! The Afloat pages. Ashore: who is still out, what the phones brought, the plan, paper. On the water: one page that is loaded once and kept
//! open; all it needs is on it, its notes wait on the phone, and a browser that was closed finds it in its own store again.

mod merged;
mod noted;
mod notes;
pub(super) mod paper;
pub(super) mod plan;
pub(super) mod voice;

use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use boat::gauge::Gauge;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use squad::fact::outing::{Observation, Outing, OutingSort, Tally, Way};
use squad::fact::sailor::Sailor;
use squad::{Id, Moment, SquadError};

use super::ashore::{AFLOAT, unit};
use super::today::OTHERS;
use super::what_if::names;
use super::yard::{Yard, here, today};
use super::{Answer, Refusal, Sent, later, shell, whole};
use crate::briefing::debrief::clock;
use crate::briefing::seen::{FILE, Seen, seen};
use crate::briefing::tally::{Fault, Place, Stands, places, sentences, still_out};
use crate::drawing::pair::pair as drawn;
pub(super) use noted::{Noted, noted, outings, together};

/// For how long a browser may show the phone's page, its style and its script from its own store, s: a day on the water.
pub(super) const KEPT: &str = "private, max-age=43200";
/// The longest list of coach's own observations, bytes.
const LONGEST: u64 = 64 << 10;

/// A sailor as the pages list her.
struct Listed {
    id: Id<Sailor>,
    label: String,
    boat: String,
    /// Whether she sails today.
    today: bool,
}

/// Who sails today in launch order, then the others.
fn listed(yard: &Yard) -> Result<Vec<Listed>, SquadError> {
    let squad = yard.squad()?;
    let mut rest = yard.store()?.sailors()?;
    let mut list = Vec::new();
    for crew in squad.crews {
        let Some(n) = rest.iter().position(|s| s.fact.label == crew.sailor.label) else { continue };
        let kept = rest.remove(n);
        list.push(Listed { id: kept.id, label: kept.fact.label, boat: crew.boat.label, today: true });
    }
    list.extend(rest.into_iter().map(|s| Listed { id: s.id, label: s.fact.label, boat: String::new(), today: false }));
    Ok(list)
}

/// What can be noted by one tap: ours, and the coach's own in the squad's folder.
pub(super) fn observed(yard: &Yard) -> (Vec<Seen>, Option<String>) {
    let path = yard.folder.join(FILE);
    let Ok(about) = std::fs::metadata(&path) else { return seen(None) };
    if about.len() > LONGEST {
        let (list, _) = seen(None);
        return (list, Some(format!("{FILE} is longer than {} kB, so our own list is shown", LONGEST >> 10)));
    }
    match std::fs::read_to_string(&path) {
        Ok(own) => seen(Some(&own)),
        Err(error) => (seen(None).0, Some(format!("{FILE} cannot be read, so our own list is shown: {error}"))),
    }
}

/// The timezone of today.
fn zone(yard: &Yard) -> Result<jiff::tz::TimeZone, SquadError> {
    let named = yard.today()?.map_or_else(here, |t| t.kept.fact.timezone);
    Ok(jiff::tz::TimeZone::get(&named).unwrap_or(jiff::tz::TimeZone::UTC))
}

/// Today's cautions for all, each once, with a word where one that breaks no limit is for several skills.
fn cautions(yard: &Yard) -> Result<Vec<advice::caution::Caution>, SquadError> {
    let Some(today) = yard.today()? else { return Ok(Vec::new()) };
    let Some(day) = today.day() else { return Ok(Vec::new()) };
    let mut all: Vec<advice::caution::Caution> = Vec::new();
    for crew in &yard.squad()?.crews {
        for said in yard.cautions(&today, &day, crew)? {
            if all.iter().any(|c| c.fact.trim_end_matches(OTHERS) == said.fact) {
                continue;
            }
            match all.iter_mut().find(|c| c.key == said.key && !c.over_limit && !said.over_limit) {
                Some(first) if first.fact.ends_with(OTHERS) => {}
                Some(first) => first.fact += OTHERS,
                None => all.push(said),
            }
        }
    }
    Ok(all)
}

/// What of the page a script cannot bring up to date, in a few letters: where the laptop's differ, the page says that there is a newer one.
fn stamp(yard: &Yard) -> Result<String, Refusal> {
    let said =
        format!("{} {:?} {:?} {}", env!("CARGO_PKG_VERSION"), cautions(yard)?, observed(yard), plan::on_the_phone(yard)?.into_string());
    Ok(Sha256::digest(said.as_bytes()).iter().take(8).map(|byte| format!("{byte:02x}")).collect())
}

/// All that the phone's script needs, in one document.
fn day(yard: &Yard) -> Result<Value, Refusal> {
    let list = listed(yard)?;
    let sailed = yard.classes_sailed()?;
    let zone = zone(yard)?;
    let boats = yard.today()?.and_then(|t| t.kept.fact.safety_boats).unwrap_or(1).clamp(1, 12);
    let store = yard.store()?;
    let outing = notes::latest(&store)?;
    let tally = outing.map(|o| merged::words(&store, o)).transpose()?.unwrap_or_default();
    drop(store);
    let faults: serde_json::Map<String, Value> = Fault::ALL.into_iter().map(|(key, f)| (key.to_owned(), json!(f.sentence()))).collect();
    let gauges = AFLOAT.iter().filter(|(g, _)| sailed.iter().any(|class| class.gauges.iter().any(|d| d.gauge == *g)));
    Ok(json!({
        "day": today().to_string(),
        "page": stamp(yard)?,
        "zone": zone.iana_name().unwrap_or("UTC"),
        "loaded": Moment::now().timestamp().as_millisecond(),
        "outing": outing.map(|o| o.to_string()),
        "tally": tally,
        "safety": (1..=boats).map(|n| format!("Safety boat {n}")).collect::<Vec<_>>(),
        "per_boat": yard.sailors_per_safety_boat()?,
        "faults": faults,
        "sailors": list.iter().map(|s| json!({ "id": s.id.to_string(), "label": s.label, "boat": s.boat, "today": s.today })).collect::<Vec<_>>(),
        "observations": observed(yard).0.iter().map(|o| json!({ "key": o.key, "words": o.words })).collect::<Vec<_>>(),
        "gauges": gauges.map(|(g, _)| json!({ "key": g.name(), "name": names(&yard.words, *g).0, "unit": unit(*g) })).collect::<Vec<_>>(),
        "drills": plan::listed(yard)?.iter().map(|(key, title)| json!({ "key": key, "title": title })).collect::<Vec<_>>(),
        "thanks": crate::words::voice::voice().map(|v| v.thanks).unwrap_or_default(),
    }))
}

/// The same as a document of its own, for a page that a browser had in its store.
pub(super) async fn data(State(yard): State<Arc<Yard>>) -> Answer {
    as_json(&day(&yard)?)
}

fn as_json(document: &impl serde::Serialize) -> Answer {
    let text = serde_json::to_string(document).map_err(|e| Refusal::because("The answer was not written", &e.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "application/json")], text).into_response())
}

/// Notes that a phone sends.
pub(super) async fn take(State(yard): State<Arc<Yard>>, body: Bytes) -> Answer {
    let Ok(batch) = serde_json::from_slice::<notes::Batch>(&body) else {
        return Err(Refusal::unkept("The notes did not arrive whole: send them again."));
    };
    as_json(&notes::take(&yard, &batch)?)
}

/// The page that is kept open on the water.
pub(super) async fn phone(State(yard): State<Arc<Yard>>) -> Answer {
    // Within an element of data no text may look like its end.
    let data = day(&yard)?.to_string().replace('<', "\\u003c");
    let cautions = cautions(&yard)?;
    let (list, why) = observed(&yard);
    let at = clock(Moment::now().timestamp().as_second() as f64, &zone(&yard)?, "%H:%M");
    let sailed = yard.classes_sailed()?;
    let gauges = || AFLOAT.iter().filter(|(g, _)| sailed.iter().any(|class| class.gauges.iter().any(|d| d.gauge == *g)));
    let options = || html! { @for (gauge, _) in gauges() { option value=(gauge.name()) { (gauge_words(&yard, *gauge)) } } };
    let tabs = [
        ("tally", "Tally"),
        ("notes", "Notes"),
        ("pass", "Line-up"),
        ("whistle", "Whistle"),
        ("plan", "Plan"),
        ("voice", "Own words"),
        ("kept", "Kept"),
    ];
    let body = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Afloat · Trimwright" }
                link rel="icon" href="data:,";
                link rel="stylesheet" href="/look/kept/afloat.css";
                script src="/look/kept/tally.js" defer {}
                script src="/look/kept/signals.js" defer {}
                script src="/look/kept/afloat.js" defer {}
            }
            body.afloat {
                main #main {
                    header.head { div { p.house { "Trimwright, loaded at " (at) } h1 { "Afloat" } } div.facts { label for="coach" { "Who notes" } input #coach maxlength="24" autocomplete="off" placeholder="Your label"; } }
                    noscript { p.wrong { "This page keeps notes on the phone, which takes a script. Without it, tally on the laptop's Afloat page or on paper." } }
                    div.red #stale role="alert" hidden { p #stale-says {} p { button.second type="button" #fresh { "Load the new page" } } }
                    p.red #full role="alert" hidden {}
                    p.red #cleared role="alert" hidden {}
                    p.red #clock role="alert" hidden {}
                    p.red #not-taken role="alert" hidden {}
                    p.red #unread role="alert" hidden {}
                    nav.parts aria-label="Parts of this page" { @for (to, says) in tabs { button type="button" data-to=(to) { (says) } } }
                    section.first data-panel="tally" {
                        p.count { span #count { "–" } } p.verdict #count-says role="status" {}
                        div.red #wrong role="alert" hidden {}
                        p #ratio {}
                        p.small { "Taps on \"out\" go to this safety boat:" }
                        div.chips #boats role="group" aria-label="Safety boat" {}
                        ul.rows #rows {}
                        div #others hidden { h2 { "Another sailor goes out" } div.chips #other role="group" aria-label="Sailors who are not on today's list" {} }
                        p #last {}
                        p { button.second type="button" #over { "All should be in now: call it over" } }
                        div { h2 { "Safety boats" } div.fields { div { label for="boat-name" { "Another safety boat" } input #boat-name maxlength="40" autocomplete="off"; } }
                            p { button.second type="button" #more-boat { "Add it" } " " button.second type="button" #less-boat { "Leave out the one chosen" } } }
                        @if !cautions.is_empty() { h2 { "Cautions" } @for c in &cautions { div.caution { p { b { (c.fact) " " } (c.deed) " " (c.who) } } } }
                    }
                    section.first data-panel="notes" {
                        p { "Who is it about? Then one tap for each thing you see." }
                        div.chips #whom role="group" aria-label="Who it is about" {}
                        @if let Some(why) = &why { p.wrong { (why) } }
                        div.seen { @for one in &list { button type="button" data-seen=(one.key) { (pair(one)) b { (one.words) } small {} } } }
                        h2 { "A setting was changed" }
                        div.fields {
                            div { label for="gauge" { "What" } select #gauge { (options()) } }
                            div { label for="value" { "Set to" } input #value inputmode="decimal" autocomplete="off"; }
                            div { button.second type="button" #set { "Note this setting" } }
                        }
                        p.wrong #set-says role="alert" hidden {}
                        label for="words" { "In your own words" } textarea #words rows="2" maxlength="2000" {}
                        p { button.second type="button" #write { "Note these words" } }
                    }
                    section.first data-panel="pass" {
                        div.fields { div { label for="one" { "Who" } select #one {} } div { label for="two" { "Beside whom" } select #two {} } }
                        div.fields {
                            div { label for="pass-gauge" { "What differs" } select #pass-gauge { option value="" { "nothing, or not noted" } (options()) } }
                            div { label for="set-one" { "The first has" } input #set-one inputmode="decimal" autocomplete="off"; }
                            div { label for="set-two" { "The second has" } input #set-two inputmode="decimal" autocomplete="off"; }
                        }
                        p.watch #watch { "0:00" }
                        p.wrong #pass-says role="alert" hidden {}
                        p { button.tag type="button" #run { "Start the pass" } " " button.second type="button" #drop hidden { "Drop it" } }
                        p.small { "Two minutes or more, with nobody else's wind. It is found in the tracks by its time." }
                        ul #passes {}
                    }
                    section.first data-panel="whistle" { (whistle("practice", "Three minutes, for practice", &PRACTICE)) (whistle("rule_26", "The start by rule 26", &RULE_26)) }
                    section.first data-panel="plan" { (plan::on_the_phone(&yard)?) }
                    section.first data-panel="voice" { (voice::on_the_phone()?) }
                    section.first data-panel="kept" {
                        h2 { "Notes on this phone" }
                        p { button.second type="button" #copy { "Copy what is not at the laptop" } " " button.second type="button" #save { "Save all as a file" } }
                        p #copied role="status" hidden {}
                        textarea #text rows="6" readonly hidden aria-label="The notes as text" {}
                        ul.list #list {}
                        p.small { "Notes that are at the laptop stay on this phone for two weeks. Clearing the browser's data takes them from it." }
                    }
                    footer { p #standing { span #state role="status" {} " " span #reached hidden {} } p { "The coach decides who sails and who comes in. No page here says that it is safe." } }
                }
                script type="application/json" id="day" { (PreEscaped(data)) }
            }
        }
    };
    Ok(([(header::CACHE_CONTROL, KEPT)], Html(body.into_string())).into_response())
}

fn gauge_words(yard: &Yard, gauge: Gauge) -> String {
    format!("{}, {}", names(&yard.words, gauge).0, unit(gauge))
}

/// Wrong beside right.
fn pair(seen: &Seen) -> Markup {
    html! { @if let Some(picture) = drawn(&seen.picture, &seen.words, &seen.better) { (shell::picture(&picture)) } }
}

/// Signals before a start: seconds before it, what it is called (empty: a sound alone), how many blasts, and whether they are long.
type Signal = (u32, &'static str, u32, bool);
/// Common practice, no source.
const PRACTICE: [Signal; 8] = [
    (180, "three minutes", 3, true),
    (120, "two minutes", 2, true),
    (60, "one minute", 1, true),
    (30, "half a minute", 3, false),
    (20, "twenty seconds", 2, false),
    (10, "ten seconds", 1, false),
    (5, "", 1, false),
    (0, "start", 1, true),
];
/// Racing Rules of Sailing 2025-2028, rule 26, from memory: warning, preparatory, one-minute and starting signals, each with a sound, the one-minute's
/// long.
const RULE_26: [Signal; 4] = [
    (300, "warning signal, class flag up", 1, false),
    (240, "preparatory signal, P flag up", 1, false),
    (60, "preparatory flag down", 1, true),
    (0, "start, class flag down", 1, false),
];

/// A countdown.
fn whistle(name: &str, title: &str, signals: &[Signal]) -> Markup {
    let list: Vec<Value> = signals
        .iter()
        .map(|(before, says, blasts, long)| json!({ "before": before, "says": says, "blasts": blasts, "long": long }))
        .collect();
    html! { div.whistle data-signals=(Value::from(list)) data-name=(name) {
        h2 { (title) }
        p.watch data-part="clock" { "–" }
        p.verdict data-part="next" {}
        div data-part="hand" hidden {
            p { button.word type="button" data-part="go" { "First signal now" } " " button.word type="button" data-part="stop" { "Stop" } }
            p { button.second type="button" data-part="minute" { "To the whole minute" } " " button.second type="button" data-part="sound" { "Sound" } }
        }
        p data-part="told" role="status" {}
    } }
}

/// A place in the tally with who it is about.
type Row = (Listed, Option<Place>);

/// Everybody of the tally of an outing.
fn rows(yard: &Yard, outing: Option<Id<Outing>>) -> Result<Vec<Row>, SquadError> {
    let words = outing.map(|o| merged::words(&*yard.store()?, o)).transpose()?.unwrap_or_default();
    let mut places = places(&words);
    let all = listed(yard)?.into_iter().map(|s| {
        let place = places.remove(&s.id.to_string());
        (s, place)
    });
    Ok(all.filter(|(s, p)| s.today || p.is_some()).collect())
}

/// The page ashore.
pub(super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    let outing = notes::latest(&*yard.store()?)?;
    let zone = zone(&yard)?;
    let rows = rows(&yard, outing)?;
    let (open, unknown) = still_out(&rows.iter().filter_map(|(s, p)| Some((s.id.to_string(), p.clone()?))).collect());
    let stands = |p: &Option<Place>| p.as_ref().map_or(Stands::Ashore, |p| p.stands);
    let who: Vec<&str> =
        rows.iter().filter(|(_, p)| matches!(stands(p), Stands::Out | Stands::Unknown)).map(|(s, _)| s.label.as_str()).collect();
    let wrong: Vec<String> = rows.iter().filter_map(|(s, p)| Some(sentences(&s.label, p.as_ref()?, &zone))).flatten().collect();
    let at = |ms: i64| clock(ms as f64 / 1000.0, &zone, "%H:%M");
    let (clocks, over, kept) = match outing {
        Some(of) => {
            let store = yard.store()?;
            let mut asked = Vec::new();
            for one in merged::clocks(&store, of)?.into_iter().filter(merged::Clock::asked) {
                let touched = merged::touched(&store, of, &one)?;
                asked.push((one, touched));
            }
            (asked, merged::over(&store, of)?, store.get(of)?)
        }
        None => (Vec::new(), None, None),
    };
    let facts = html! { @if let Some(kept) = &kept { p { (kept.fact.name) } } };
    let body = html! {
        section.first {
            p.count { (open) } p.verdict { "still out" @if unknown > 0 { ", " (unknown) " of them not known" } @if !who.is_empty() { ": " (who.join(", ")) } }
            @if let Some((words, beyond)) = ratio(&yard, open)? { p class=[beyond.then_some("red")] { (words) } }
            @if let Some(over) = over.filter(|_| open > 0) { div.red role="alert" { b { "Called over at " (at(over.timestamp().as_millisecond())) ", and " (open) " not in: " (who.join(", ")) ". Look for them now." } } }
            @if !wrong.is_empty() { div.red role="alert" { b { "The tally does not add up" } @for why in &wrong { p { (why) } } } }
            @for (one, touched) in &clocks { (asked(one, *touched)) }
            p { a.tag href="/afloat/phone" { "Open the page for the water" } }
            p.small { "Open it on the phone before launching, and keep it open: on the water there is no network. Its notes wait on the phone and come here when the phone is near again." }
        }
        section { h2 { "Tally" }
            form method="post" action="/afloat/tally" {
                div.fields { div { label for="boat" { "Safety boat" } input #boat name="boat" maxlength="60" value="Safety boat 1"; } div { label for="by" { "Who tallies" } input #by name="by" maxlength="24" value="ashore"; } }
                ul.rows { @for (sailor, place) in &rows { @let stands = stands(place); li class=(format!("row {}", class(stands))) {
                    span.name { (sailor.label) }
                    span.since { @match (stands, place) {
                        (Stands::Ashore, _) | (_, None) => "ashore",
                        (Stands::In, Some(p)) => { "in at " (at(p.since.unwrap_or_default())) }
                        (Stands::Out, Some(p)) => { "out at " (at(p.since.unwrap_or_default())) @if !p.boat.is_empty() { ", " (p.boat) } }
                        (Stands::Unknown, Some(p)) => { "not known, last word " (at(p.since.unwrap_or_default())) }
                    } }
                    @if stands != Stands::Out { button class=(if stands == Stands::In { "second" } else { "word" }) name="word" value=(format!("out {}", sailor.id)) { @if stands == Stands::In { "out again" } @else { "out" } } }
                    @if matches!(stands, Stands::Out | Stands::Unknown) { button.word name="word" value=(format!("in {}", sailor.id)) { "in" } }
                } } }
            }
            @if rows.is_empty() { p { "No sailors today. " a.second href="/squad" { "Add the squad" } } }
        }
        (plan::line(&yard)?)
        (voice::line(&yard)?)
        section { h2 { "On paper" } p { a.second href="/afloat/tally.pdf" { "Print the tally" } " " a.second href="/afloat/paper" { "Type the paper back" } } }
        section { h2 { "From a phone that cannot send" }
            form method="post" action="/afloat/pasted" {
                label for="text" { "The text it copied or saved" } textarea #text name="text" rows="3" required {}
                p { button.second { "Keep these notes" } }
                p.small { "A note that is here already is not kept twice." }
            }
            form method="post" action="/afloat/outing" { p { button.second { "Begin another outing today" } } p.small { "Tally and notes from then on are the new outing's." } }
        }
    };
    Ok(whole("Afloat", facts, body))
}

/// How many are out to each safety boat against the limit, and whether that is beyond it; nothing where nobody said how many are out.
fn ratio(yard: &Yard, open: usize) -> Result<Option<(String, bool)>, SquadError> {
    let boats = yard.today()?.and_then(|t| t.kept.fact.safety_boats);
    let (Some(boats), Some(most)) = (boats, yard.sailors_per_safety_boat()?) else { return Ok(None) };
    let beyond = open as f64 > most * f64::from(boats);
    let what = if boats == 1 { "safety boat" } else { "safety boats" };
    let said = if beyond {
        format!(
            "{open} out, {boats} {what}: over the limit of {most} to each. Fewer boats afloat, or one more safety boat. The coach decides."
        )
    } else {
        format!("{open} out, {boats} {what}: the limit is {most} to each.")
    };
    Ok(Some((said, beyond)))
}

const fn class(stands: Stands) -> &'static str {
    match stands {
        Stands::Ashore => "ashore",
        Stands::Out => "out",
        Stands::In => "in",
        Stands::Unknown => "unknown",
    }
}

/// A clock that was wrong: what is known, and the two answers.
fn asked(one: &merged::Clock, touched: usize) -> Markup {
    let far = one.seconds.abs();
    let far = if far >= 120 { format!("{} minutes", (far as f64 / 60.0).round()) } else { format!("{far} seconds") };
    let (way, to) = if one.seconds > 0 { ("behind", "later") } else { ("ahead of", "earlier") };
    html! { div.red role="alert" { form method="post" action="/afloat/clock" {
        input type="hidden" name="clock" value=(one.id());
        b { "The clock of phone " (one.phone) " was " (far) " " (way) " this machine's." }
        p { (touched) @if touched == 1 { " note bears" } @else { " notes bear" } " the phone's time. Look at a clock you trust: which of the two was right?" }
        p { button.second name="answer" value="move" { "This machine: put them " (far) " " (to) } " " button.second name="answer" value="leave" { "The phone: leave them" } }
        p.small { "Moved or not, the time the phone gave stays in the history." }
    } } }
}

/// A word of the tally from a page without script.
pub(super) async fn tally(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let (way, sailor) = form.text("word").split_once(' ').unwrap_or_default();
    let way = match way {
        "out" => Way::Out,
        "in" => Way::In,
        _ => return Err(Refusal::unkept("Press out or in beside a sailor.")),
    };
    let sailor: Id<Sailor> = sailor.parse().map_err(|_| Refusal::unkept("Press out or in beside a sailor."))?;
    let mut wrong = Vec::new();
    let (boat, by) = (form.line("boat", 60, &mut wrong), form.line("by", 24, &mut wrong));
    let writer = squad::Writer::now(if by.is_empty() { "ashore" } else { &by });
    let mut store = yard.store()?;
    if store.get(sailor)?.is_none() {
        return Err(Refusal::unkept("That sailor is not in the squad."));
    }
    let at = Moment::now();
    let outing = notes::outing_of(&mut store, None, today(), at, &writer)?;
    let safety_boat = if way == Way::Out { boat } else { String::new() };
    store.add(&Tally { outing, sailor, at, way, safety_boat }, &writer)?;
    drop(store);
    Ok(later("/afloat"))
}

/// A clock is settled.
pub(super) async fn settle(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let id: Id<Observation> = form.text("clock").parse().map_err(|_| Refusal::lost("There is no such question"))?;
    let moved = match form.text("answer") {
        "move" => true,
        "leave" => false,
        _ => return Err(Refusal::unkept("Choose which clock was right.")),
    };
    let mut store = yard.store()?;
    let of = store.get(id)?.ok_or_else(|| Refusal::lost("There is no such question"))?;
    store.whole(|store| merged::settle(store, of.fact.outing, id, moved))?;
    drop(store);
    Ok(later("/afloat"))
}

/// Notes that a person brought as text.
pub(super) async fn pasted(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let batches = notes::pasted(form.text("text"));
    if batches.is_empty() {
        return Err(Refusal::unkept("No note is in that text: paste all of what the phone copied, with its braces."));
    }
    let (mut kept, mut why) = (0, Vec::new());
    for batch in &batches {
        let taken = notes::take(&yard, batch)?;
        kept += taken.kept.len();
        why.extend(taken.refused.into_iter().map(|r| r.why));
        why.extend(taken.later);
    }
    if why.is_empty() {
        return Ok(later("/afloat"));
    }
    let body = html! { section.first { p.verdict { (kept) " kept, " (why.len()) " not" } ul { @for one in &why { li { (one) } } } p { a.tag href="/afloat" { "Back to the tally" } } } };
    Ok(whole("Afloat", html! {}, body))
}

/// Another outing of the day begins.
pub(super) async fn another(State(yard): State<Arc<Yard>>) -> Answer {
    let current = notes::latest(&*yard.store()?)?;
    if let Some(outing) = current {
        let words = merged::words(&*yard.store()?, outing)?;
        if still_out(&places(&words)).0 > 0 {
            return Err(Refusal::unkept(
                "Somebody is still out, or nobody knows: tally them in first. Another outing would show nobody out.",
            ));
        }
    }
    let day = yard.this_day()?;
    let now = Moment::now();
    let zone = zone(&yard)?;
    let name = now.timestamp().to_zoned_datetime(zone).strftime("Practice, %-d %B, %H:%M").to_string();
    yard.store()?.add(&Outing { day: day.id, name, sort: OutingSort::Practice, began: Some(now), ended: None }, &Yard::writer())?;
    Ok(later("/afloat"))
}

/// The style and the scripts of the page for the water, which a browser may keep for a day.
pub(super) async fn kept(path: axum::extract::Path<String>) -> Response {
    let mut answer = super::look::look(path).await;
    if answer.status() == StatusCode::OK {
        answer.headers_mut().insert(header::CACHE_CONTROL, header::HeaderValue::from_static(KEPT));
    }
    answer
}
