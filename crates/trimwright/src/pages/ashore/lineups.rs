//! Line-ups of an outing: passes found in the tracks joined with the changes the coach noted, what each setting was worth, and a plan for more.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use boat::gauge::{Gauge, GaugeUnit};
use evidence::effect::effects;
use evidence::lineup::{Swap, plan};
use evidence::passes::{Passes, Row};
use maud::{Markup, html};
use measure::angle::DEGREE;
use measure::quantity::KNOT;
use squad::fact::outing::{Observation, Outing as OutingFact};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment, SquadError};
use track::debrief::{Kind, Lineup};

use super::super::form::{Wrong, told as beside};
use super::super::what_if::names;
use super::super::yard::Yard;
use super::super::{Answer, Refusal, Sent, later, whole};
use super::grounds::Grounds;
use super::told::Told;
use super::{Asked, chosen, id, ready};
use crate::briefing::ashore::wind_at;
use crate::briefing::debrief::{clock, signed};
use crate::briefing::results::in_a_cell;

/// What is noted of a change: the observation's key before the gauge's name.
pub(super) const KEY: &str = "set.";
/// Gauges that a child changes afloat, and seconds it takes. Assumed.
pub(in super::super) const AFLOAT: [(Gauge, f64); 8] = [
    (Gauge::CarOffset, 15.0),
    (Gauge::SailBoomGap, 40.0),
    (Gauge::VangLine, 15.0),
    (Gauge::DownhaulLine, 20.0),
    (Gauge::SpritLine, 30.0),
    (Gauge::BoardAngle, 10.0),
    (Gauge::SeatPosition, 5.0),
    (Gauge::Heel, 5.0),
];
/// Passes of a plan where nobody knows how many would settle it.
const PLANNED: usize = 8;

/// What a gauge is typed and shown in.
pub(in super::super) const fn unit(gauge: Gauge) -> &'static str {
    if matches!(gauge.unit(), GaugeUnit::Degrees) { "degrees" } else { "cm" }
}

/// A change that was noted.
#[derive(Debug, Clone)]
pub(in super::super) struct Change {
    pub(super) sailor: Id<Sailor>,
    pub(super) at: Moment,
    pub(super) gauge: Gauge,
    pub(super) value: f64,
}

fn changes(yard: &Yard, of: &Kept<OutingFact>) -> Result<Vec<Change>, SquadError> {
    Ok(Grounds::of(&*yard.store()?, of)?.changes(of))
}

/// What a sailor had set at a time: the last that was noted until then.
fn had(changes: &[Change], sailor: Id<Sailor>, gauge: Gauge, time: f64) -> Option<f64> {
    let until = Moment::of_millis((time * 1000.0) as i64);
    changes.iter().filter(|c| c.sailor == sailor && c.gauge == gauge && c.at <= until).max_by_key(|c| c.at).map(|c| c.value)
}

/// A pass that was found, of two sailors who are known: all that the statistics take of it but what was set.
#[derive(Debug, Clone, PartialEq)]
pub(in super::super) struct Pass {
    /// Its name among all passes.
    name: String,
    start: f64,
    sailors: [(Id<Sailor>, String); 2],
    /// What the two made good, and the first more than the second, m/s.
    made_good: f64,
    difference: f64,
    /// One half where the first was to windward, minus one half where the second was; zero where nobody can say.
    windward: f64,
    /// The wind, m/s.
    pub(in super::super) wind: Option<f64>,
}

impl Pass {
    /// The same pass, told from those of other outings.
    pub(in super::super) fn of_outing(&self, number: usize) -> Self {
        Self { name: format!("{number}.{}", self.name), ..self.clone() }
    }
}

/// The passes of an outing.
pub(in super::super) fn passes_of(told: &Told) -> Vec<Pass> {
    let answer = &told.outing.answer;
    let mut found = Vec::new();
    for (n, lineup) in answer.lineups.iter().enumerate() {
        let (a, b) = lineup.boats;
        let whose = |boat: usize| Some((told.recorders.get(boat)?.1?, answer.boats.get(boat)?.track.clone()));
        let (Some(one), Some(other)) = (whose(a), whose(b)) else { continue };
        let Some(made_good) = made_good(told, lineup) else { continue };
        found.push(Pass {
            name: (n + 1).to_string(),
            start: lineup.start,
            sailors: [one, other],
            made_good,
            difference: lineup.difference,
            windward: to_windward(told, lineup).unwrap_or(0.0),
            wind: answer.wind.iter().find(|w| w.time >= lineup.start).and_then(|w| w.speed).map(|s| s.0),
        });
    }
    found
}

/// The passes of each gauge that was noted, as a table for the statistics. A pass in which one of the two is not known is left out.
pub(in super::super) fn tables(passes: &[Pass], changes: &[Change]) -> BTreeMap<Gauge, Passes> {
    let mut tables: BTreeMap<Gauge, Passes> = BTreeMap::new();
    for (n, pass) in passes.iter().enumerate() {
        for (gauge, _) in AFLOAT {
            let set = |k: usize| had(changes, pass.sailors[k].0, gauge, pass.start);
            let (Some(x), Some(y)) = (set(0), set(1)) else { continue };
            let row = |k: usize, side: f64, value: f64| Row {
                line: n as u64 + 1,
                pass: pass.name.clone(),
                sailor: pass.sailors[k].1.clone(),
                boat: String::new(),
                position: side * pass.windward,
                wind: pass.wind,
                vmg: pass.made_good + 0.5 * side * pass.difference,
                settings: vec![value],
            };
            let table = tables.entry(gauge).or_insert_with(|| Passes { gauges: vec![gauge.name().to_owned()], rows: Vec::new() });
            table.rows.push(row(0, 1.0, x));
            table.rows.push(row(1, -1.0, y));
        }
    }
    tables
}

/// What the two made good on the mean of their beats then, m/s.
fn made_good(told: &Told, lineup: &Lineup) -> Option<f64> {
    let of = |boat: usize| {
        let legs = &told.outing.answer.boats.get(boat)?.legs;
        legs.iter().find(|l| l.kind == Some(Kind::Beat) && l.start < lineup.end && l.end > lineup.start)?.made_good
    };
    let both: Vec<f64> = [of(lineup.boats.0), of(lineup.boats.1)].into_iter().flatten().collect();
    (!both.is_empty()).then(|| both.iter().sum::<f64>() / both.len() as f64)
}

/// One half where the first boat was the one to windward, minus one half where the second was.
fn to_windward(told: &Told, lineup: &Lineup) -> Option<f64> {
    let (s, c) = (wind_at(&told.outing.answer, lineup.start)? * DEGREE).sin_cos();
    let place = |boat: usize| Some(told.outing.trails.get(boat)?.between(lineup.start, lineup.start + 3.0).next()?.1);
    let (a, b) = (place(lineup.boats.0)?, place(lineup.boats.1)?);
    Some(if (a[0] - b[0]) * s + (a[1] - b[1]) * c > 0.0 { 0.5 } else { -0.5 })
}

/// A sentence of the statistics with the gauge's name as people say it.
pub(in super::super) fn plainly(text: &str, gauge: Gauge, name: &str) -> String {
    text.replace(gauge.name(), &format!("{name} ({})", unit(gauge))).replace(" -", " −")
}

/// What each setting was worth, in sentences.
fn worth(yard: &Yard, tables: &BTreeMap<Gauge, Passes>) -> Markup {
    html! { @for (gauge, passes) in tables {
        @let found = effects(passes);
        @let name = names(&yard.words, *gauge).0;
        @for effect in &found.value.effects {
            p.verdict { (plainly(&effect.words, *gauge, &name)) "." }
            @if effect.low_ms <= 0.0 && effect.high_ms >= 0.0 { p { b { "Not enough to act on." } @if let Some(more) = effect.more_passes.filter(|m| *m > 0) { " " a.second href=(format!("/ashore/plan?gauge={}&passes={more}", gauge.name())) { "Plan " (more) " more passes" } } } }
        }
        @if found.value.effects.is_empty() { p { (name) ": nothing can be told yet." } }
        @for warning in &found.warnings { p.small { (plainly(&warning.what, *gauge, &name)) } }
        @for note in &found.value.notes { p.small { (plainly(note, *gauge, &name)) } }
    } }
}

/// The section on the coach's page.
pub(super) fn section(yard: &Yard, told: &Told, of: &Kept<OutingFact>, wrong: &Wrong) -> Result<Markup, SquadError> {
    let changes = changes(yard, of)?;
    let tables = tables(&passes_of(told), &changes);
    let sailed = yard.classes_sailed()?;
    let sailors = yard.store()?.sailors()?;
    let known: Vec<_> = told.recorders.iter().filter_map(|r| r.1).filter_map(|id| sailors.iter().find(|s| s.id == id)).collect();
    let label = |id: Id<Sailor>| sailors.iter().find(|s| s.id == id).map_or("?", |s| s.fact.label.as_str());
    let at = |time: Moment| clock(time.timestamp().as_second() as f64, &told.zone, "%H:%M");
    if told.outing.answer.lineups.is_empty() && changes.is_empty() {
        return Ok(html! {});
    }
    Ok(html! { section #lineups {
        h2 { "What was really faster" }
        @if tables.is_empty() {
            p { "Passes side by side that were found: " (told.outing.answer.lineups.len()) ". Note what each had set, and they say what it was worth: a setting swapped between two boats, over at least four passes." }
        } @else {
            (worth(yard, &tables))
            p { a.second href=(format!("/ashore/passes.csv?outing={}", of.id)) { "The passes as a table" } }
        }
        @if !changes.is_empty() { table {
            thead { tr { th { "Noted at" } th { "Sailor" } th { "Setting" } th.number { "Set to" } } }
            tbody { @for c in &changes { tr { td { (at(c.at)) } td { (label(c.sailor)) } td { (names(&yard.words, c.gauge).0) } td.number { (signed(c.value, 1)) " " (unit(c.gauge)) } } } }
        } }
        form.fields method="post" action="/ashore/changed" {
            input type="hidden" name="outing" value=(of.id);
            div { label for="changer" { "Who" } select #changer name="sailor" { @for sailor in &known { option value=(sailor.id) { (sailor.fact.label) } } } }
            div { label for="changed" { "What" } select #changed name="gauge" { @for (gauge, _) in AFLOAT { @if sailed.iter().any(|class| class.gauges.iter().any(|d| d.gauge == gauge)) { option value=(gauge.name()) { (names(&yard.words, gauge).0) ", " (unit(gauge)) } } } } }
            div { label for="to" { "Set to" } input #to name="value" required autocomplete="off"; (beside(wrong, "value")) }
            div { label for="when" { "From when" } input #when name="at" placeholder="14:05" required autocomplete="off"; (beside(wrong, "at")) }
            div { button.second { "Note this" } }
        }
    } })
}

/// A change is noted.
pub(in super::super) async fn changed(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let of = id(form.text("outing"))?;
    let of = yard.store()?.get(of)?.ok_or_else(|| Refusal::lost("There is no such outing"))?;
    let gauge = Gauge::named(form.text("gauge")).map_err(|_| Refusal::unkept("Choose what was changed from the list."))?;
    let sailor = form.text("sailor").parse().map_err(|_| Refusal::unkept("Choose who changed it: first say whose recorder is whose."))?;
    let typed = form.text("value").chars().take(20).collect::<String>().replace(',', ".").replace('\u{2212}', "-");
    let value = typed.trim_end_matches(char::is_alphabetic).trim().parse::<f64>().ok().filter(|v| v.abs() <= 200.0);
    let value = value.ok_or_else(|| Refusal::unkept(&format!("\"{typed}\" is no setting: type {} like 8.5.", unit(gauge))))?;
    let time = form.text("at").parse::<jiff::civil::Time>().map_err(|_| Refusal::unkept("Type from when it was set so, like 14:05."))?;
    let mut store = yard.store()?;
    let zone = super::told::zone_of(&store, &of.fact)?;
    let began = of.fact.began.unwrap_or(of.edited_at).timestamp().to_zoned_datetime(zone.clone());
    let at =
        began.date().to_datetime(time).to_zoned_datetime(zone).map_err(|_| Refusal::unkept("That time is not on the outing's day."))?;
    let seen = Observation {
        outing: of.id,
        sailor: Some(sailor),
        at: Moment::of(at.timestamp()),
        what: format!("{KEY}{}", gauge.name()),
        words: value.to_string(),
    };
    if store.get::<Sailor>(sailor)?.is_none() {
        return Err(Refusal::unkept("That sailor is not in the squad."));
    }
    store.add(&seen, &Yard::writer())?;
    drop(store);
    Ok(later(&format!("/ashore?outing={}&coach=1#lineups", of.id)))
}

/// The passes as a table that the command `lineups` reads.
pub(in super::super) async fn passes(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let told = ready(&yard, &asked)?;
    let Ok(told) = told.as_ref() else { return Err(Refusal::lost("This outing cannot be debriefed")) };
    let of = chosen(&yard, &asked)?.ok_or_else(|| Refusal::lost("There is no outing yet"))?;
    let tables = tables(&passes_of(told), &changes(&yard, &of)?);
    let gauges: Vec<Gauge> = tables.keys().copied().collect();
    let mut out = csv::Writer::from_writer(Vec::new());
    let head = ["pass", "sailor", "position", "wind_kn", "vmg_kn"].into_iter().chain(gauges.iter().map(|g| g.name()));
    let failed = |_| Refusal::because("The table was not written", "The passes do not go into a table.");
    out.write_record(head).map_err(failed)?;
    for (k, gauge) in gauges.iter().enumerate() {
        for row in tables.get(gauge).map(|t| t.rows.as_slice()).unwrap_or_default() {
            let place = if row.position > 0.0 {
                "high"
            } else if row.position < 0.0 {
                "low"
            } else {
                ""
            };
            let wind = row.wind.map_or(String::new(), |w| format!("{:.2}", w / KNOT));
            let mut cells = vec![row.pass.clone(), in_a_cell(&row.sailor), place.to_owned(), wind, format!("{:.4}", row.vmg / KNOT)];
            cells.extend((0..gauges.len()).map(|n| if n == k { row.settings[0].to_string() } else { String::new() }));
            out.write_record(cells).map_err(failed)?;
        }
    }
    let bytes = out.into_inner().map_err(|_| Refusal::because("The table was not written", "The passes do not go into a table."))?;
    let named = "attachment; filename=\"passes.csv\"";
    Ok(([(header::CONTENT_TYPE, "text/csv; charset=utf-8"), (header::CONTENT_DISPOSITION, named)], bytes).into_response())
}

/// What of a plan is asked for.
#[derive(Debug, serde::Deserialize)]
pub(in super::super) struct Planned {
    gauge: String,
    passes: Option<usize>,
}

/// A plan of passes for the squad, to print and take along.
pub(in super::super) async fn planned(State(yard): State<Arc<Yard>>, Query(asked): Query<Planned>) -> Answer {
    let gauge = Gauge::named(&asked.gauge).map_err(|_| Refusal::lost("There is no such setting"))?;
    let sailors: Vec<String> = yard.squad()?.crews.iter().map(|c| c.sailor.label.clone()).collect();
    let seconds = AFLOAT.iter().find(|g| g.0 == gauge).map(|g| g.1);
    let name = names(&yard.words, gauge).0;
    let swap = Swap::Gauge { gauge: name.clone(), seconds };
    let planned = plan(sailors.len(), asked.passes.unwrap_or(PLANNED).clamp(1, 40), &swap, 1);
    let planned = planned.map_err(|error| Refusal::unkept(&error.to_string()))?;
    let who = |part: &evidence::lineup::Part| sailors.get(part.sailor).cloned().unwrap_or_default();
    let part = |part: &evidence::lineup::Part| html! { (who(part)) @if part.new { ", " b { "new setting" } } };
    let body = html! { section.first {
        p.verdict { (name) ": new against as it is" }
        p { "Pairs of one number sail at once, a boat length and a half apart, on the tack named, two minutes or more with nobody else's wind. Who has the new setting swaps where it says so." }
        div.wide tabindex="0" role="region" aria-label="The passes" { table {
            thead { tr { th { "Pass" } th { "Tack" } th { "To windward" } th { "To leeward" } th { "Before it" } } }
            tbody { @for pass in &planned.passes { tr { td { (pass.number) } td { @if pass.starboard { "starboard" } @else { "port" } } td { (part(&pass.high)) } td { (part(&pass.low)) } td { @if pass.swap_before { "swap" } } } } }
        } }
        @for (sailor, watched) in &planned.watching { p { (sailors.get(*sailor).map_or("", |s| s.as_str())) " watches in passes " (watched.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")) "." } }
        p.small { "Balanced over tack, place and sailor: every other round is the other half of all combinations." }
    } };
    Ok(whole("Ashore", html! {}, body))
}
