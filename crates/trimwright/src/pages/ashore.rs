//! The Ashore page: recorders' files dropped in any mix, the outing's chart that can be watched again, where each sailor's metres went,
//! one thing to keep and one to work on; and for the group what went well.

mod brought;
mod buoys;
mod grounds;
mod lineups;
mod noted;
mod pictures;
mod told;
mod trails;

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use serde::Deserialize;
use squad::fact::outing::Outing as OutingFact;
use squad::fact::recorder::{Recorder, RecorderGiven};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment, SquadError};

use super::form::Wrong;
use super::units::Units;
use super::yard::Yard;
use super::{Answer, Refusal, Sent, later, shell, whole};
use crate::briefing::ashore::{Own, WIDTH, span};
use crate::briefing::beside::furthest;
use crate::briefing::debrief::{SailorPage, Table, clock};
use crate::cards::{dearest, debrief_pdf, own_chart, sheets_pdf};
use crate::drawing::Picture;
use crate::drawing::chart::{outing as chart, wind_by_clock};
use crate::drawing::clocked::speeds;
use crate::drawing::metres::metres;
use crate::drawing::passage::passage;
use crate::drawing::rounding::rounding;
pub(super) use brought::{LARGEST, files};
pub(super) use buoys::by_buoys;
pub(super) use grounds::Grounds;
pub(super) use lineups::{AFLOAT, Change, Pass, changed, passes, passes_of, plainly, planned, tables, unit};
pub(super) use pictures::{picture, said as pictures_said};
pub(super) use told::Job;
use told::{Told, Words, zone_of};
pub(super) use trails::trails;

/// Width of a rounding beside the best path, mm.
const ROUNDING: f64 = 100.0;

/// An outing with its debrief, once it is there.
type LastDebrief = (Kept<OutingFact>, Option<Arc<Result<Told, String>>>);

/// What of an outing is asked for.
#[derive(Debug, Deserialize, Default)]
pub(super) struct Asked {
    outing: Option<String>,
    /// Whose page, by her place among the sailors.
    who: Option<usize>,
    /// Which of her beats.
    beat: Option<usize>,
    /// The coach's own page instead, with everybody's tables.
    coach: Option<String>,
}

fn id(text: &str) -> Result<Id<OutingFact>, Refusal> {
    text.parse().map_err(|_| Refusal::lost("There is no such outing"))
}

/// All outings, the latest first.
pub(super) fn outings(yard: &Yard) -> Result<Vec<Kept<OutingFact>>, SquadError> {
    let store = yard.store()?;
    let mut all = store.all::<OutingFact>()?;
    let at = |o: &Kept<OutingFact>| o.fact.began.unwrap_or(o.edited_at);
    all.sort_by_key(|o| core::cmp::Reverse(at(o)));
    Ok(all)
}

fn chosen(yard: &Yard, asked: &Asked) -> Result<Option<Kept<OutingFact>>, Refusal> {
    let all = outings(yard)?;
    match asked.outing.as_deref().filter(|o| !o.is_empty()) {
        None => {
            // The latest that has tracks, else the latest.
            let store = yard.store()?;
            let mut first = None;
            for one in all {
                if !store.tracks_of(one.id)?.is_empty() {
                    return Ok(Some(one));
                }
                first.get_or_insert(one);
            }
            Ok(first)
        }
        Some(text) => {
            let id = id(text)?;
            Ok(Some(all.into_iter().find(|o| o.id == id).ok_or_else(|| Refusal::lost("There is no such outing"))?))
        }
    }
}

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let Some(of) = chosen(&yard, &asked)? else {
        let body = html! { section.first { h2 { "No outing yet" } p { "Bring the files of watches, phones and loggers, in any mix." } } (bring(&yard, None)?) };
        return Ok(whole("Ashore", html! {}, body));
    };
    let zone = zone_of(&*yard.store()?, &of.fact)?;
    let facts = html! { p { (of.fact.name) @if let Some(began) = of.fact.began { br; (began.timestamp().to_zoned_datetime(zone.clone()).strftime("%A %-d %B, %H:%M")) } } };
    let Some(job) = yard.debrief(&of)? else {
        let body = html! { section.first { h2 { "No tracks of this outing" } p { "Bring the files of watches, phones and loggers, in any mix." } } (bring(&yard, Some(&of))?) };
        return Ok(whole("Ashore", facts, body));
    };
    let body = match job.told().as_deref() {
        None => html! { section.first { div.progress role="status" data-again="1200" {
            p { b { (job.done()) " of " (job.steps) " steps: reading the files, then the wind, then every turn" } }
            progress max=(job.steps) value=(job.done()) {}
            noscript { meta http-equiv="refresh" content="2"; }
        } } },
        Some(Err(why)) => {
            html! { section.first { p.verdict { "These files cannot be debriefed" } p { (why) } } (bring(&yard, Some(&of))?) }
        }
        // Whose recorder is whose is asked until it is known, and stays with the coach.
        Some(Ok(told)) => {
            let ask = asked.coach.is_some() || told.recorders.iter().any(|r| r.1.is_none());
            html! { (shown(&yard, told, &of, &asked)?) @if asked.coach.is_some() { (lineups::section(&yard, told, &of, &Wrong::new())?) (noted::of_all(&yard, told, &of)?) } @if ask && asked.who.is_none() { (recorders(&yard, told, &of)?) } @if asked.who.is_none() { (bring(&yard, Some(&of))?) } }
        }
    };
    Ok(whole("Ashore", facts, body))
}

/// A debriefed outing.
fn shown(yard: &Yard, told: &Told, of: &Kept<OutingFact>, asked: &Asked) -> Result<Markup, SquadError> {
    let Words { page, owns } = told.words();
    let sheet = asked.who.and_then(|n| page.sailors.get(n).zip(owns.get(n)).map(|(s, o)| (n, s, o)));
    let coach = asked.coach.is_some();
    let link = |who: Option<usize>| match who {
        Some(n) => format!("/ashore?outing={}&who={n}", of.id),
        None => format!("/ashore?outing={}", of.id),
    };
    Ok(html! {
        nav.choice aria-label="Whose page" {
            a href=(link(None)) aria-current=[(sheet.is_none() && !coach).then_some("true")] { "The group" }
            a href=(format!("/ashore?outing={}&coach=1", of.id)) aria-current=[coach.then_some("true")] { "The coach" }
            @for (n, sailor) in page.sailors.iter().enumerate() {
                a href=(link(Some(n))) aria-current=[(sheet.map(|s| s.0) == Some(n)).then_some("true")] { (sailor.name) }
            }
        }
        @match sheet {
            _ if coach => { (of_coach(told, of, &pictures::on_the_chart(yard, told, of, None)?)) (pictures::section(yard, told, of)?) },
            Some((n, sailor, own)) => {
                @let shots = told.recorders.get(sailor.boat).and_then(|r| r.1).map(|id| pictures::on_the_chart(yard, told, of, Some(id))).transpose()?;
                (of_sailor(told, of, asked, (n, sailor, own), shots.as_deref())) (pictures::of_one(yard, told, of, sailor.boat)?) (noted::of_one(yard, told, of, sailor.boat)?)
            },
            None => (of_group(told, of)),
        }
    })
}

/// The chart with its hand on the clock. Without script it is the whole outing's.
fn replay(told: &Told, of: &Kept<OutingFact>, followed: Option<usize>, still: &Picture, pictures: Option<&str>) -> Markup {
    let Some((first, last)) = span(&told.outing.answer) else { return html! { (shell::picture(still)) } };
    let long = Units::now().over_water();
    html! {
        div.replay #replay data-trails=(format!("/ashore/trails?outing={}", of.id)) data-followed=[followed] data-first=(first) data-last=(last) data-pictures=[pictures] data-unit=(long.unit) data-metres=(long.metres) {
            div.still { (shell::picture(still)) }
            div.hand hidden {
                button.tag type="button" #watch { "Watch it again" }
                label { "Speed " select #pace { @for pace in [1, 5, 10, 30, 60] { option value=(pace) selected[pace == 10] { (pace) " times" } } } }
                label.grow { span.unseen { "The hand on the clock" } input #hand type="range" min=(first) max=(last) step="1" value=(first); }
            }
            p.now #now role="status" aria-live="off" {}
            @if pictures.is_some() { img.shot #shot hidden alt="Picture from the coach boat at this moment"; }
        }
    }
}

fn of_group(told: &Told, of: &Kept<OutingFact>) -> Markup {
    let page = &told.words().page;
    html! {
        section.first {
            p.verdict { (page.about) }
            (replay(told, of, None, &chart(&page.chart, WIDTH, 125.0, None), None))
        }
        section { h2 { "The wind" }
            p { (page.wind) }
            @if !page.wind_rows.is_empty() { (wide("The wind by the clock", &wind_by_clock(&page.wind_rows, &page.clock, WIDTH, "The wind's direction by the clock"))) }
        }
        @if !page.best.is_empty() { section {
            h2 { "To show everyone: the best of the day" }
            div.best { @for (who, what) in &page.best { div.taped-side { span.name { (who) } p { (what) } } } }
        } }
        section {
            p { a.tag href=(format!("/ashore/sheets.pdf?outing={}", of.id)) { @match page.sailors.as_slice() { [one] => { "Print " (one.name) "'s sheet" } all => { "Print " (all.len()) " sailors' sheets" } } } }
            p.small { "A sheet shows one child and no other." }
        }
    }
}

/// What only the coach reads: everybody's tables, and what the tracks cannot tell.
fn of_coach(told: &Told, of: &Kept<OutingFact>, pictures: &str) -> Markup {
    let page = &told.words().page;
    html! {
        section.first {
            p { "Everybody's figures, for the coach's eyes. Each sailor's own page has her own." }
            (replay(told, of, None, &chart(&page.chart, WIDTH, 125.0, None), Some(pictures)))
            p { a.tag href=(format!("/ashore/debrief.pdf?outing={}", of.id)) { "Print the coach's debrief" } }
        }
        (buoys::told(told, of))
        @for table in &page.tables { (rows(table, &told.zone)) }
        @if !page.untold.is_empty() { section { h2 { "What the tracks cannot tell" } ul { @for line in &page.untold { li { (line) } } } } }
    }
}

fn of_sailor(
    told: &Told,
    of: &Kept<OutingFact>,
    asked: &Asked,
    (n, sailor, own): (usize, &SailorPage, &Own),
    pictures: Option<&str>,
) -> Markup {
    let beat = match asked.beat {
        Some(k) => own.beats.get(k),
        None => dearest(own).or(own.beats.first()),
    };
    let long = Units::now().over_water();
    let words = |what: &(String, String), at: Option<f64>| {
        html! {
            p.name { (what.0) }
            @if !what.1.is_empty() { p { (what.1) } }
            @if let Some(at) = at { p { (jump(at, "Show it on the chart")) } }
        }
    };
    html! {
        section.first {
            h2 { "Where did the " (long.word()) " go?" }
            @match beat {
                Some(beat) => {
                    (wide("The tape of the beat", &metres(&beat.tape, WIDTH)))
                    p.verdict { (beat.sum) }
                    p.small { "Against the boat's own steady speed before and after each turn. Hatching: where the truth may lie, 19 chances in 20. Hanging lengths are drawn six times those along the tape." }
                    p { @for (k, other) in own.beats.iter().enumerate() { a.second href=(format!("/ashore?outing={}&who={n}&beat={k}", of.id)) { "Beat of " (clock(other.start, &told.zone, "%H:%M")) } " " } }
                }
                None => p { "No beat of this outing can be charged: it takes turns sailed steadily before and after." }
            }
        }
        section { div.columns {
            div {
                h2 { "One thing to keep" } (words(&sailor.keep, sailor.moments[0]))
                h2 { "One to work on" } (words(&sailor.work_on, sailor.moments[1]))
                @if !sailor.drill.is_empty() { p { b { "Drill: " } (sailor.drill) } }
            }
            div { @if let Some(moment) = &own.moment { (shell::picture(&passage(moment, 90.0, 70.0))) } }
        } }
        section { (replay(told, of, Some(sailor.boat), &own_chart(&told.words().page, sailor, WIDTH, 125.0), pictures)) }
        @if !own.speeds.is_empty() { section { h2 { "Speed, and speed made good" } (wide("Speed by the clock", &speeds(&own.speeds, &told.words().page.clock, WIDTH, "Speed over the ground by the clock, and the part of it to windward or to leeward"))) p.small { "Knots over the ground, each the mean of ten seconds. Dashed: the part of it against the wind of that moment." } } }
        @if let Some(over) = &own.over { section { h2 { "The " (over.of) " rounding over a better one" }
            div.columns {
                div { (shell::picture(&passage(&over.picture, 110.0, 90.0))) }
                div {
                    p { "Solid: " (over.clocks[0]) ". Dashed: " (over.clocks[1]) ". Both drawn from the course mark, to scale, the wind from above." }
                    table { thead { tr { td {} th.number { (over.clocks[0]) } th.number { "better one" } } } tbody { @for row in &over.rows { tr { td { (row[0]) } td.number { b { (row[1]) } } td.number { (row[2]) } } } } }
                    p { (jump(over.moment, "Show it on the chart")) }
                }
            }
        } }
        (beside(own))
        @for table in &sailor.tables { (rows(table, &told.zone)) }
        section { p { a.tag href=(format!("/ashore/sheets.pdf?outing={}&who={n}", of.id)) { "Print " (sailor.name) "'s sheet" } } p.small { "The sheet shows this child and no other." } }
    }
}

/// Her roundings beside the best path: those furthest behind drawn, all of them told.
fn beside(own: &Own) -> Markup {
    let (all, untold) = &own.beside;
    if all.is_empty() {
        return html! {};
    }
    let long = Units::now().over_water();
    html! { section {
        h2 { "Roundings beside the best path" }
        div.pair.halves { @for one in furthest(all) { div {
            h3 { (one.of) ", " (one.clock) }
            (shell::picture(&rounding(&one.drawing, ROUNDING)))
            p { b { (one.verdict) } }
            table { thead { tr { td {} th.number { "yours" } th.number { "best path" } } } tbody { @for row in &one.rows { tr { td { (row[0]) } td.number { b { (row[1]) } } td.number { (row[2]) } } } } }
            p { (jump(one.moment, "Show it on the chart")) }
        } } }
        table { thead { tr { th { "Rounding" } th { "Course mark" } th.number { "Behind the best path, " (long.unit) } } } tbody { @for one in all { tr {
            td { a href="#replay" data-at=(one.moment) { (one.clock) } } td { (one.of) }
            td.number { b { (long.signed(one.behind, 0)) } " (" (long.signed(one.behind - one.half, 0)) " to " (long.signed(one.behind + one.half, 0)) ")" }
        } } } }
        p.small { "Solid: yours. Dashed on the tape: the best path. The ring is the zone, three boat lengths. " (all[0].note) @if *untold > 0 { " " (untold) " more could not be compared: no straight way in or out, or turned through the wind." } }
    } }
}

/// A picture with figures, which a narrow page shows part by part rather than too small to read.
fn wide(what: &str, picture: &Picture) -> Markup {
    html! { div.wide.pan tabindex="0" role="region" aria-label=(what) { (shell::picture(picture)) } }
}

/// A press that takes the chart to a moment; a link to the chart where there is no script.
fn jump(at: f64, says: &str) -> Markup {
    html! { a.second href="#replay" data-at=(at) { (says) } }
}

fn rows(table: &Table, zone: &jiff::tz::TimeZone) -> Markup {
    let timed = table.moments.len() == table.rows.len() && !table.moments.is_empty();
    html! { section {
        h2 { (table.title) }
        div.wide tabindex="0" role="region" aria-label=(table.title) { table {
            thead { tr { @for (n, head) in table.head.iter().enumerate() { th.number[n > 0] { (head) } } @if timed { td { span.unseen { "On the chart" } } } } }
            tbody { @for (k, row) in table.rows.iter().enumerate() { tr {
                @for (n, cell) in row.iter().enumerate() { td.number[n > 0] { (cell) } }
                @if timed { td { a href="#replay" data-at=(table.moments[k]) aria-label=(format!("Show {} on the chart", clock(table.moments[k], zone, "%H:%M:%S"))) { "Show" } } }
            } } }
        } }
        @if !table.note.is_empty() { p.small { (table.note) } }
    } }
}

/// Whose each recorder is.
fn recorders(yard: &Yard, told: &Told, of: &Kept<OutingFact>) -> Result<Markup, SquadError> {
    let (sailors, boats) = {
        let store = yard.store()?;
        (store.sailors()?, store.boats()?)
    };
    let boat_of = |s: &Kept<Sailor>| s.fact.boat.and_then(|b| boats.iter().find(|k| k.id == b)).map(|b| b.fact.label.to_lowercase());
    // A track that bears a sailor's or her boat's name is probably hers: offered, not taken.
    let guess = |mark: &str| {
        sailors.iter().find(|s| mark.contains(&s.fact.label.to_lowercase()) || boat_of(s).is_some_and(|b| mark.contains(&b))).map(|s| s.id)
    };
    let open = told.recorders.iter().filter(|r| r.1.is_none()).count();
    Ok(html! { details.coach open[open > 0] {
        summary { "Whose recorder is whose" @if open > 0 { ": " (open) " not known yet" } }
        form method="post" action="/ashore/whose" {
            input type="hidden" name="outing" value=(of.id);
            table { thead { tr { th { "Track" } th { "Sailor" } } } tbody { @for (n, (mark, whose)) in told.recorders.iter().enumerate() {
                @let offered = whose.or_else(|| guess(mark));
                tr { td { label for=(format!("whose{n}")) { (told.outing.answer.boats.get(n).map_or(mark.as_str(), |b| b.track.as_str())) } br; small { (mark) @if whose.is_none() && offered.is_some() { ", a guess" } } input type="hidden" name=(format!("mark{n}")) value=(mark); input type="hidden" name=(format!("began{n}")) value=(told.began[n]); }
                    td { select id=(format!("whose{n}")) name=(format!("whose{n}")) { option value="" { "nobody of the squad" } @for sailor in &sailors { option value=(sailor.id) selected[offered == Some(sailor.id)] { (sailor.fact.label) } } } } }
            } } }
            p { button.tag { "Keep whose they are" } }
            p.small { "It is remembered for the next outing." }
        }
    } })
}

/// The form that brings files.
fn bring(yard: &Yard, of: Option<&Kept<OutingFact>>) -> Result<Markup, Refusal> {
    let all = outings(yard)?;
    let zone = match of {
        Some(of) => zone_of(&*yard.store()?, &of.fact)?,
        None => yard.today()?.and_then(|t| jiff::tz::TimeZone::get(&t.kept.fact.timezone).ok()).unwrap_or_else(jiff::tz::TimeZone::system),
    };
    Ok(html! { section #bring {
        h2 { "Bring tracks" }
        form method="post" action="/ashore/files" enctype="multipart/form-data" {
            div.fields {
                div { label for="files" { "Files of watches, phones, loggers and the coach boat's camera" } input #files name="files" type="file" multiple required; small { "GPX, FIT, TCX, KML, GeoJSON, NMEA, CSV, also in zip or gz; drop them here in any mix. JPEG pictures from the coach boat too" } }
                div { label for="of" { "Of which outing" } select #of name="outing" { option value="" { "That of their day, or a new one" } @for one in &all { option value=(one.id) selected[of.is_some_and(|o| o.id == one.id)] { (one.fact.name) } } } }
                div { label for="zone" { "Timezone of clocks without one" } input #zone name="timezone" value=(zone.iana_name().unwrap_or("UTC")) required; small { "For files whose times name none, and for the clock times here" } }
            }
            p { button.tag { "Bring these files" } }
        }
        @if all.len() > 1 { p { "Other outings: " @for one in &all { a.second href=(format!("/ashore?outing={}", one.id)) { (one.fact.name) } " " } } }
    } })
}

/// Whose each recorder is, is kept for this and later outings.
pub(super) async fn whose(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let outing = id(form.text("outing"))?;
    yard.store()?.whole(|store| {
        for n in 0.. {
            let mark: String = form.text(&format!("mark{n}")).chars().take(60).collect();
            if mark.is_empty() {
                break;
            }
            let Ok(sailor) = form.text(&format!("whose{n}")).parse::<Id<Sailor>>() else { continue };
            let at = form.text(&format!("began{n}")).parse().unwrap_or_else(|_| Moment::now());
            if store.get(sailor)?.is_none() || store.whose(&mark, at)? == Some(sailor) {
                continue;
            }
            let recorder = match store.all::<Recorder>()?.into_iter().find(|r| r.fact.mark == mark) {
                Some(recorder) => recorder.id,
                None => store.add(&Recorder { mark, words: String::new() }, &Yard::writer())?.id,
            };
            let given = RecorderGiven { recorder, sailor, at };
            match store.of::<RecorderGiven, _>(recorder)?.into_iter().find(|g| g.fact.at == at) {
                // She was named wrongly for this outing: it is put right.
                Some(old) => {
                    let _ = store.edit(old.id, old.version, &given, &Yard::writer())?;
                }
                None => {
                    store.add(&given, &Yard::writer())?;
                }
            }
        }
        Ok::<_, SquadError>(())
    })?;
    Ok(later(&format!("/ashore?outing={outing}")))
}

/// The last outing that has tracks, and its debrief once it is there.
pub(super) fn last_debrief(yard: &Arc<Yard>) -> Result<Option<LastDebrief>, Refusal> {
    let Some(of) = chosen(yard, &Asked::default())? else { return Ok(None) };
    Ok(yard.debrief(&of)?.map(|job| (of, job.told())))
}

/// A debriefed outing, or why there is none yet.
fn ready(yard: &Arc<Yard>, asked: &Asked) -> Result<Arc<Result<Told, String>>, Refusal> {
    let of = chosen(yard, asked)?.ok_or_else(|| Refusal::lost("There is no outing yet"))?;
    let job = yard.debrief(&of)?;
    job.and_then(|job| job.told()).ok_or_else(|| Refusal::lost("This outing is still being debriefed: try again in a moment"))
}

fn as_pdf(name: &str, bytes: Vec<u8>) -> Response {
    let shown = format!("inline; filename=\"{name}.pdf\"");
    ([(header::CONTENT_TYPE, "application/pdf".to_owned()), (header::CONTENT_DISPOSITION, shown)], bytes).into_response()
}

fn unprinted(error: &crate::cards::CardError) -> Refusal {
    Refusal::because("That was not printed", &error.to_string())
}

/// Sailors' own sheets: one's, or all of them one after the other.
pub(super) async fn sheets(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let told = ready(&yard, &asked)?;
    let Ok(told) = told.as_ref() else { return Err(Refusal::lost("This outing cannot be debriefed")) };
    let Words { page, owns } = told.words();
    let all = page.sailors.iter().zip(owns).enumerate();
    let of = chosen(&yard, &asked)?.ok_or_else(|| Refusal::lost("There is no outing yet"))?;
    let sheets = all
        .filter(|(n, _)| asked.who.is_none_or(|who| who == *n))
        .map(|(_, (sailor, own))| Ok((sailor, noted::with_notes(&yard, told, &of, sailor.boat, own)?)));
    let sheets = sheets.collect::<Result<Vec<_>, SquadError>>()?;
    let sheets: Vec<_> = sheets.iter().map(|(sailor, own)| (*sailor, own)).collect();
    if sheets.is_empty() {
        return Err(Refusal::lost("There is no such sheet"));
    }
    Ok(as_pdf("sheets", sheets_pdf(page, &sheets).map_err(|e| unprinted(&e))?))
}

/// The coach's debrief.
pub(super) async fn debrief(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let told = ready(&yard, &asked)?;
    let Ok(told) = told.as_ref() else { return Err(Refusal::lost("This outing cannot be debriefed")) };
    Ok(as_pdf("debrief", debrief_pdf(&told.words().page).map_err(|e| unprinted(&e))?))
}
