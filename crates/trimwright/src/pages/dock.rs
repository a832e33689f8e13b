//! The Dock page: boats in launch order, what the tape said, inside or not, which part moves which way; weigh-in; two heights.

use std::sync::Arc;

use advice::dock::{Reading as Judged, Round, Verdict};
use advice::rake::{Notches, SheetedDrop};
use advice::weight::{Trend, WeighIn as OnScale};
use axum::extract::{Path, State};
use boat::gauge::Gauge;
use maud::{Markup, html};
use measure::quantity::{Range, plain};
use measure::{Length, Mass, counted};
use squad::fact::boat_facts::{Boat, NotchHeight, Reading};
use squad::fact::weigh::WeighIn;
use squad::{Id, Kept, Moment, Squad, SquadError};

use super::base::setting;
use super::form::{Form, Wrong, told};
use super::kit::{self, KIT, ticked};
use super::today::{progress, wanted};
use super::units::{Units, rounded};
use super::what_if::names;
use super::yard::{SailorsDay, Yard};
use super::{Answer, Refusal, Sent, later, whole};
use crate::words::Words;

/// Gauges a child measures on the trolley, in the order of a dock round.
const ROUND: [Gauge; 10] = [
    Gauge::BoomEndDock,
    Gauge::BoomEndSheeted,
    Gauge::MastTipTape,
    Gauge::SailBoomGap,
    Gauge::CarOffset,
    Gauge::SpritLine,
    Gauge::DownhaulLine,
    Gauge::VangLine,
    Gauge::BoardAngle,
    Gauge::BoardUp,
];

/// Readings of one boat: those held against today's bands, and the gauges for which her day has no band.
fn judged(day: &SailorsDay, squad: &Squad, readings: &[(Gauge, f64)]) -> (Vec<Judged>, Vec<Gauge>) {
    let Some(beat) = &day.beat else { return (Vec::new(), readings.iter().map(|r| r.0).collect()) };
    let (crew, own) = day.now(squad);
    let heights: Vec<(u32, f64)> = crew.boat.boom_end.iter().flatten().map(|r| (r.notch, r.height.si())).collect();
    let error = |gauge| day.boat.class.gauges.iter().find(|d| d.gauge == gauge).map_or(0.02, |d| d.repeat_error);
    let mast = Notches::measured(&day.boat, &heights, error(Gauge::BoomEndDock)).map_or_else(|_| Notches::of_class(&day.boat), |n| n.value);
    let of = |gauge| readings.iter().find(|r| r.0 == gauge).map(|r| r.1);
    let own_drop = of(Gauge::BoomEndDock)
        .zip(of(Gauge::BoomEndSheeted))
        .map(|(dock, sheeted)| SheetedDrop::own(dock, sheeted, [Gauge::BoomEndDock, Gauge::BoomEndSheeted].map(error)));
    let round = Round { boat: &day.boat, beat, leg: beat, mast, own_drop, own };
    let (mut held, mut unheld) = (Vec::new(), Vec::new());
    for &(gauge, value) in readings {
        match round.judged(gauge, value) {
            Ok(judged) => held.push(judged),
            Err(_) => unheld.push(gauge),
        }
    }
    (held, unheld)
}

/// What is said of readings that no band of the day can be held against.
fn held_against_nothing(words: &Words, unheld: &[Gauge]) -> Option<String> {
    let names: Vec<String> = unheld.iter().map(|&gauge| names(words, gauge).0).collect();
    (!names.is_empty()).then(|| format!("Written down and held against nothing, since today has no band of it: {}.", names.join(", ")))
}

/// Today's readings of a boat.
fn today_on(yard: &Yard, boat: Id<Boat>) -> Result<Vec<(Gauge, f64, String)>, SquadError> {
    let store = yard.store()?;
    let rigged = store.rigged(boat, Moment::of_millis(0), Moment::now())?;
    Ok(rigged.into_values().map(|r| (r.fact.gauge, r.fact.setting, r.fact.at.to_string())).collect())
}

/// The list.
pub(super) async fn list(State(yard): State<Arc<Yard>>) -> Answer {
    let boats = yard.store()?.boats()?;
    let squad = yard.squad()?;
    let (job, why) = wanted(&yard)?;
    let solved = job.as_ref().and_then(|job| job.solved());
    let mut ordered: Vec<(&Kept<Boat>, Option<&squad::Crew>)> =
        boats.iter().map(|b| (b, squad.crews.iter().find(|c| c.boat.label == b.fact.label))).collect();
    ordered.sort_by_key(|(b, _)| squad.crews.iter().position(|c| c.boat.label == b.fact.label).unwrap_or(usize::MAX));
    let mut inside = 0;
    let units = Units::now();
    let mut rows = Vec::new();
    for (k, (boat, crew)) in ordered.iter().enumerate() {
        let readings = today_on(&yard, boat.id)?;
        let day = solved.as_ref().and_then(|s| s.iter().find(|d| d.crew.boat.label == boat.fact.label));
        let plain_readings: Vec<_> = readings.iter().map(|r| (r.0, r.1)).collect();
        let verdicts = day.map(|d| judged(d, &squad, &plain_readings));
        let moves: Vec<&Judged> = verdicts.iter().flat_map(|v| &v.0).filter(|j| j.verdict != Verdict::Inside).collect();
        let words = match (&verdicts, readings.is_empty(), moves.first()) {
            (_, true, _) => html! { span.quiet { "not measured" } },
            (None, _, _) => html! { span.quiet { "measured" } },
            (Some((_, unheld)), _, None) if !unheld.is_empty() => {
                html! { span.quiet { (held_against_nothing(&yard.words, unheld).unwrap_or_default()) } }
            }
            (Some(_), _, None) => {
                inside += 1;
                html! { span.tick aria-hidden="true" { "✓ " } "all inside" }
            }
            (Some(_), _, Some(first)) => {
                let more = moves.len() - 1;
                html! { b.act { (sentence(&first.words(yard.class_of(boat.fact.class.as_deref()).hull.length, units.tape()))) } @if more > 0 { " And " (more) " more." } }
            }
        };
        let kit = ticked(&yard, boat.id)?.len();
        rows.push(html! {
            tr {
                td.quiet { span.name { (k + 1) } }
                td { a.plain href=(format!("/dock/{}", boat.id)) { span.name { (boat.fact.label) } } br; small { (crew.map_or("", |c| c.sailor.label.as_str())) } }
                td.hide-narrow { @for (gauge, value, _) in readings.iter().take(6) { span.chip { (names(&yard.words, *gauge).0) " " b { (units.shown(*gauge, *value)) } } } }
                td { (words) @if kit > 0 { br; small { "Kit " (kit) " of " (KIT.len()) } } }
            }
        });
    }
    let facts = html! { @if solved.is_some() { p { (inside) " of " (counted(ordered.len(), "boat")) " inside" } } };
    let body = html! {
        section.first {
            @if ordered.is_empty() { h2 { "No boats yet" } p { "A boat needs a label." } p { a.tag href="/squad" { "Add a boat" } } }
            @else {
                h2 { "As rigged, against today's band" }
                (progress(job.as_deref(), why, "/dock"))
                table { thead { tr { td {} th { "Boat, launch order" } th.hide-narrow { "The tape said" } th { "What to move" } } } tbody { @for row in rows { (row) } } }
                p.small { "After each move measure again. The coach decides who sails." }
            }
        }
    };
    Ok(whole("Dock", facts, body))
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let head = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{head}{}.", letters.as_str().trim_end_matches('.'))
}

pub(super) fn found(yard: &Yard, id: &str) -> Result<Kept<Boat>, Refusal> {
    let id: Id<Boat> = id.parse().map_err(|_| Refusal::lost("There is no such boat"))?;
    yard.store()?.get(id)?.filter(|b| !b.withdrawn).ok_or_else(|| Refusal::lost("There is no such boat"))
}

/// One boat.
pub(super) async fn boat(State(yard): State<Arc<Yard>>, Path(id): Path<String>) -> Answer {
    let boat = found(&yard, &id)?;
    page(&yard, &boat, &Form::default(), &Wrong::new())
}

fn page(yard: &Arc<Yard>, boat: &Kept<Boat>, form: &Form, wrong: &Wrong) -> Answer {
    let units = Units::now();
    let readings = today_on(yard, boat.id)?;
    let squad = yard.squad()?;
    let (job, why) = wanted(yard)?;
    let solved = job.as_ref().and_then(|job| job.solved());
    let day = solved.as_ref().and_then(|s| s.iter().find(|d| d.crew.boat.label == boat.fact.label));
    let pairs: Vec<_> = readings.iter().map(|r| (r.0, r.1)).collect();
    let (verdicts, unheld) = day.map(|d| judged(d, &squad, &pairs)).unwrap_or_default();
    let moves: Vec<&Judged> = verdicts
        .iter()
        .filter(|j| j.verdict != Verdict::Inside)
        // Both heights of the boom end are one mast: it is moved once.
        .filter(|j| !(j.band.gauge == Gauge::BoomEndSheeted && pairs.iter().any(|p| p.0 == Gauge::BoomEndDock)))
        .collect();
    let class = yard.class_of(boat.fact.class.as_deref());
    let length = class.hull.length;
    let address = format!("/dock/{}", boat.id);
    let measured = |gauge: Gauge| class.gauges.iter().any(|d| d.gauge == gauge);
    let body = html! {
        section.first {
            (progress(job.as_deref(), why, &address))
            @if day.is_some() && !readings.is_empty() {
                @if moves.is_empty() && !verdicts.is_empty() { p.dock-verdict { span.tick aria-hidden="true" { "✓ " } "Inside." } }
                @if let Some(said) = held_against_nothing(&yard.words, &unheld) { p { (said) } }
                @for judged in &moves {
                    @let words = judged.words(length, units.tape());
                    @let (first, rest) = words.split_once(": ").unwrap_or((words.as_str(), ""));
                    p.dock-verdict { (sentence(first)) }
                    p.verdict { (sentence(rest)) }
                }
            } @else if job.is_some() && day.is_none() && solved.is_some() { p { "Nobody with a body mass sails her today, so nothing can be held against a band." } }
            form method="post" action=(format!("{address}/readings")) {
                h2 { "What does the tape say?" }
                div.fields {
                    @for gauge in ROUND.into_iter().filter(|g| measured(*g)) {
                        @let name = gauge.name();
                        @let (says, from) = names(&yard.words, gauge);
                        @let now = readings.iter().find(|r| r.0 == gauge);
                        @let verdict = verdicts.iter().find(|v| v.band.gauge == gauge);
                        div { label for=(name) { (says) ", " (units.setting(gauge).0) }
                            input.big-box id=(name) name=(name) inputmode="decimal" autocomplete="off" value=(form.text(name)) placeholder=(now.map_or(String::new(), |r| plain(units.written(gauge, r.1))));
                            small { (from) @if let Some(v) = verdict { br; b { (v.verdict.word()) } ", band " (units.figure(gauge, v.band.low)) " to " (units.figure(gauge, v.band.high)) } }
                            (told(wrong, name)) }
                    }
                    div { label for="by" { "Who measured" } input #by name="by" maxlength="40" value=(form.text("by")); (told(wrong, "by")) }
                }
                p { button.tag type="submit" { "Keep these readings" } " " a.second href="/dock" { "Back to all boats" } }
            }
        }
        (kit::list(yard, boat.id)?)
        (heights(yard, boat, form, wrong)?)
        (weigh_in(yard, boat, form, wrong)?)
    };
    let sailor = day.map_or(String::new(), |d| d.crew.sailor.label.clone());
    Ok(whole(
        &boat.fact.label,
        html! { p { (sailor) @if !sailor.is_empty() { br; } a href=(format!("/squad/boat/{}", boat.id)) { "Base setup and pen lines" } } },
        body,
    ))
}

/// The form of two heights.
fn heights(yard: &Yard, boat: &Kept<Boat>, form: &Form, wrong: &Wrong) -> Result<Markup, Refusal> {
    let (unit, one) = Units::now().short();
    let known = yard.store()?.boom_end_of(boat.id, Moment::now())?;
    Ok(html! { section {
        h2 { "Two heights, then every notch" }
        @match known {
            Some([a, b]) => p { "Notch " (a.notch) " stands at " (rounded(a.height.si(), one, 1)) " " (unit) ", notch " (b.notch) " at " (rounded(b.height.si(), one, 1)) " " (unit) ": moves are told in her own notches." },
            None => p { "Put the mast in a notch, measure the boom end, move it, measure again. From then on this boat's moves are told in her own notches." },
        }
        form.fields method="post" action=(format!("/dock/{}/heights", boat.id)) {
            @for k in ["1", "2"] {
                div { label for=(format!("notch{k}")) { "Notch, counted from forward" } input id=(format!("notch{k}")) name=(format!("notch{k}")) inputmode="numeric" value=(form.text(&format!("notch{k}"))); (told(wrong, &format!("notch{k}"))) }
                div { label for=(format!("height{k}")) { "Boom end there, " (unit) } input id=(format!("height{k}")) name=(format!("height{k}")) inputmode="decimal" value=(form.text(&format!("height{k}"))); (told(wrong, &format!("height{k}"))) }
            }
            div { button.second { "Keep these heights" } }
        }
    } })
}

/// The weigh-in: what was on the scale and what it means.
fn weigh_in(yard: &Yard, boat: &Kept<Boat>, form: &Form, wrong: &Wrong) -> Result<Markup, Refusal> {
    let list = yard.store()?.weigh_ins_of(boat.id)?;
    let class = yard.class_of(boat.fact.class.as_deref());
    let on_scale = |w: &WeighIn| OnScale {
        reading: w.reading_kg,
        trolley: w.trolley_kg,
        water: w.water_kg,
        correctors: w.correctors_kg,
        scale_error: w.scale_error_kg.unwrap_or(0.2),
    };
    let words =
        list.last().and_then(|w| on_scale(&w.fact).weighed(class).ok()).map(|w| w.words(class, Units::now().scale())).unwrap_or_default();
    let first = list.first().map_or(0, |w| w.fact.at.timestamp().as_second());
    let days: Vec<(f64, f64)> =
        list.iter().map(|w| ((w.fact.at.timestamp().as_second() - first) as f64 / 86400.0, w.fact.dry_kg())).collect();
    let error = list.last().and_then(|w| w.fact.scale_error_kg).unwrap_or(0.2);
    let trend = Trend::of(&days, error).map(|t| t.words(class, Units::now().scale()));
    let (unit, one) = Units::now().mass();
    let field = |name: &str, says: &str| html! { div { label for=(name) { (says) ", " (unit) } input id=(name) name=(name) inputmode="decimal" value=(form.text(name)); (told(wrong, name)) } };
    Ok(html! { section {
        h2 { "Weigh-in" }
        @for line in &words { p { (line) } }
        @if let Some(trend) = &trend { p { b { (trend) } } }
        @if !list.is_empty() {
            table { thead { tr { th { "Day" } th.number { "On the scale, " (unit) } th.number { "Water found, " (unit) } th.number { "Dry, " (unit) } } } tbody {
                @for w in list.iter().rev().take(8) { tr { td { (w.fact.at.to_string().chars().take(10).collect::<String>()) } td.number { (rounded(w.fact.reading_kg, one, 2)) } td.number { (rounded(w.fact.water_kg, one, 2)) } td.number { (rounded(w.fact.dry_kg(), one, 2)) } } }
            } }
        }
        form.fields method="post" action=(format!("/dock/{}/weigh", boat.id)) {
            (field("reading", "On the scale"))
            (field("trolley", "Trolley alone"))
            (field("water", "Water found"))
            (field("correctors", "Correctors in her"))
            (field("error", "The scale may be off by"))
            div { button.second { "Keep this weighing" } }
        }
    } })
}

/// Readings are written.
pub(super) async fn readings(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = found(&yard, &id)?;
    let mut wrong = Wrong::new();
    let by = form.line("by", 40, &mut wrong);
    let mut read = Vec::new();
    for gauge in ROUND {
        read.extend(
            setting(yard.class_of(boat.fact.class.as_deref()), &form, gauge.name(), gauge, Units::now(), &mut wrong)
                .map(|value| (gauge, value)),
        );
    }
    if !wrong.is_empty() {
        return page(&yard, &boat, &form, &wrong);
    }
    {
        let at = Moment::now();
        yard.store()?.whole(|store| {
            for (gauge, setting) in read {
                let fact = Reading { boat: boat.id, at, gauge, setting, measured_by: by.clone() };
                store.add(&fact, &Yard::writer())?;
            }
            Ok::<_, SquadError>(())
        })?;
    }
    Ok(later(&format!("/dock/{}", boat.id)))
}

/// Two heights are written.
pub(super) async fn keep_heights(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = found(&yard, &id)?;
    let mut wrong = Wrong::new();
    let mut two = Vec::new();
    for k in ["1", "2"] {
        let (notch, height) = (format!("notch{k}"), format!("height{k}"));
        let at = form.text(&notch).parse::<u32>().ok().filter(|n| *n <= 100);
        if at.is_none() {
            wrong.push((notch, "count the notches from forward, like 3".to_owned()));
        }
        let range = Range { what: "a boom-end height", low: 0.0, high: 2.0, ..Length::RANGE };
        let value = form.number(&height, &range, Units::now().short().1, &mut wrong);
        if value.is_none() && !wrong.iter().any(|w| w.0 == height) {
            wrong.push((height, "type what the tape said, like 34".to_owned()));
        }
        two.extend(at.zip(value));
    }
    if two.len() == 2
        && let Ok(ashore) = crate::day::Day::open(5.0).boat(yard.class_of(boat.fact.class.as_deref()), None)
        && let Err(error) = Notches::measured(&ashore, &two, 0.01)
    {
        wrong.push(("height2".to_owned(), error.to_string()));
    }
    if !wrong.is_empty() {
        return page(&yard, &boat, &form, &wrong);
    }
    {
        yard.store()?.whole(|store| {
            for (notch, height_m) in two {
                store.add(&NotchHeight { boat: boat.id, at: Moment::now(), notch, height_m }, &Yard::writer())?;
            }
            Ok::<_, SquadError>(())
        })?;
    }
    Ok(later(&format!("/dock/{}", boat.id)))
}

/// A weighing is written.
pub(super) async fn weigh(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = found(&yard, &id)?;
    let mut wrong = Wrong::new();
    let mut kilograms = |name: &str| form.number(name, &Mass::RANGE, Units::now().mass().1, &mut wrong);
    let [reading, trolley, water, correctors, error] = ["reading", "trolley", "water", "correctors", "error"].map(&mut kilograms);
    let fact = WeighIn {
        boat: boat.id,
        at: Moment::now(),
        on_scale: "hull".to_owned(),
        reading_kg: reading.unwrap_or(0.0),
        trolley_kg: trolley,
        water_kg: water.unwrap_or(0.0),
        correctors_kg: correctors.unwrap_or(0.0),
        scale_error_kg: error,
    };
    if reading.is_none() && wrong.is_empty() {
        wrong.push(("reading".to_owned(), "type what the scale said, like 44.1".to_owned()));
    }
    if let Some(reading) = reading.filter(|r| *r > 2.5 * yard.class_of(boat.fact.class.as_deref()).hull.mass) {
        wrong.push(("reading".to_owned(), format!("{} kg is more than two boats: type the hull in kilograms, like 44.1", plain(reading))));
    }
    if wrong.is_empty() {
        match yard.store()?.add(&fact, &Yard::writer()) {
            Ok(_) => return Ok(later(&format!("/dock/{}", boat.id))),
            Err(SquadError::Refused { what }) => wrong.push(("reading".to_owned(), what)),
            Err(error) => return Err(error.into()),
        }
    }
    page(&yard, &boat, &form, &wrong)
}
