//! The Season page: what each setting was worth over all outings, held against the model; what that says of the model, and one press to
//! take it over or go back; what to test next; and for each sailor, how the turns came on, seen by the coach and that sailor.

mod job;

use measure::counted;
use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use boat::gauge::Gauge;
use maud::{Markup, html};
use measure::quantity::KNOT;
use squad::fact::correction::Correction;
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment};

use super::ashore::{plainly, unit};
use super::what_if::names;
use super::yard::Yard;
use super::{Answer, Refusal, later, shell, whole};
use crate::briefing::debrief::signed;
use crate::briefing::results::in_a_cell;
use crate::briefing::season::{Judged, MULTIPLIERS, Progress};
use crate::drawing::progress::{Point, progress as drawn};
use crate::drawing::weighed::{Bar, weighed};
use job::Season;
pub(super) use job::{Job, Sailed};

/// A mean and its standard deviation, where they can be told.
type Measure = Option<(f64, Option<f64>)>;

/// Tests told.
const TOLD: usize = 4;
/// Standard deviations to each limit, 19 times in 20.
const LIMITS: f64 = 1.96;

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    let job = yard.season()?;
    let Some(season) = job.season() else {
        let (done, all) = (job.done(), job.steps);
        let body = html! { section.first { div.progress role="status" data-again="1500" {
            p { b { (done) " of " (all) " steps: each outing debriefed once, then every setting against the model" } }
            progress max=(all) value=(done) {}
            form method="post" action="/season/stop" { button.tag.busy { "Stop" } }
            noscript { meta http-equiv="refresh" content="3"; }
        } } };
        return Ok(whole("Season", html! {}, body));
    };
    let facts = html! { p { (counted(season.outings.len(), "outing")) " with tracks" } };
    let standing = yard.store()?.correction()?;
    let body = html! {
        (worth(&yard, &season))
        (model(&season, standing.as_ref()))
        (next(&yard, &season))
        (sailors(&yard, &season)?)
    };
    Ok(whole("Season", facts, body))
}

/// Gathering stops; the page says so and offers to begin again.
pub(super) async fn stop(State(yard): State<Arc<Yard>>) -> Answer {
    yard.stop_season();
    let body = html! { section.first { p.verdict { "Stopped." } p { "Outings that were debriefed already are kept until the program stops." } p { a.tag href="/season" { "Go on" } } } };
    Ok(whole("Season", html! {}, body))
}

/// A gauge's value with its unit, from SI.
fn value(gauge: Gauge, si: f64) -> String {
    if gauge == Gauge::Heel {
        let degrees = (si / gauge.unit_si()).round();
        let side = if degrees > 0.0 { "leeward" } else { "windward" };
        return if degrees == 0.0 { "flat".to_owned() } else { format!("{:.0} degrees to {side}", degrees.abs()) };
    }
    let shown = si / gauge.unit_si();
    format!("{} {}", signed((shown * 2.0).round() / 2.0, 1).replace(".0", "").trim_start_matches('+'), unit(gauge))
}

/// Metres in 500, with limits.
fn metres(judged: &Judged, mean: f64, sd: f64) -> Option<String> {
    let [middle, low, high] = [mean, mean - LIMITS * sd, mean + LIMITS * sd].map(|gain| judged.metres(gain));
    let (low, high) = (low?.min(high?), low?.max(high?));
    Some(format!("{} m, between {} and {}", signed(middle?, 0), signed(low, 0), signed(high, 0)))
}

/// What each setting was worth.
fn worth(yard: &Yard, season: &Season) -> Markup {
    let bars: Vec<Bar> = season
        .judged
        .iter()
        .filter_map(|one| {
            let interval = |mean: f64, sd: f64| {
                let [a, b, c] = [mean - LIMITS * sd, mean, mean + LIMITS * sd].map(|gain| one.metres(gain));
                Some([a?.min(c?), b?, a?.max(c?)])
            };
            let passes = one.effect.metres_per_500?;
            Some(Bar {
                label: names(&yard.words, one.gauge).0,
                passes: [passes[1], passes[0], passes[2]],
                model: one.foreseen.as_ref().and_then(|f| interval(f.gain.mean, f.gain.sd)),
                both: one.both.and_then(|b| interval(b.mean, b.sd)),
            })
        })
        .collect();
    html! { section.first {
        h2 { "What was really faster" }
        @if season.judged.is_empty() {
            p { "No setting has been tried in enough passes side by side. On Ashore, with the coach's page of an outing, note what each boat had set; a setting swapped between two boats over at least four passes tells something." }
        } @else {
            @if !bars.is_empty() { (shell::picture(&weighed(&bars))) }
            @for one in &season.judged {
                @let name = names(&yard.words, one.gauge).0;
                p.verdict { (plainly(&one.effect.words, one.gauge, &name)) "." }
                p { "Tried in " (one.outings) @if one.outings == 1 { " outing, " } @else { " outings, " } (one.effect.passes) " passes. "
                    @if let Some(f) = &one.foreseen { @if let Some(m) = metres(one, f.gain.mean, f.gain.sd) { "The model alone foresaw " (m) ". " } }
                    @if let Some(both) = one.both { @if let Some(m) = metres(one, both.mean, both.sd) { b { "Both together: " (m) "." } } }
                    @else { "The model has no answer for this setting." } }
            }
            @for note in &season.notes { p.small { (note) } }
            p.small { "Metres gained when 500 are made good to windward, 19 times in 20 between the ends of a bar. Predictions are for the sailor in the middle of the squad in " (format!("{:.0}", season.wind / KNOT)) " knots at 2 m." }
            p { a.second href="/season/passes.csv" { "All passes as a table" } }
        }
    } }
}

/// What the passes say of the model.
fn model(season: &Season, standing: Option<&Kept<Correction>>) -> Markup {
    html! { section #model {
        h2 { "What that says of the model" }
        @match &season.legs {
            Some(legs) => p { "Besides the passes, " b { (legs.stretches) " stretches of beats" } " of three minutes that boats sailed together count (" (legs.boats) " boats in them" @if legs.outliers > 0 { ", " (legs.outliers) " left out as far off" } "): how much one sailor gained on another as the wind changed, against what the model foresees for them. They count little each: boats of a stretch differ by " (format!("{:.2}", legs.scatter_ms)) " m/s, sailors by " (format!("{:.2}", legs.sailors_ms)) " m/s of their own." },
            None => p.small { "Legs are not counted: too few stretches of beats sailed together by boats whose sailors are known, in a wind whose speed is told." }
        }
        @match &season.calibration {
            Err(why) => p { (sentence(why)) },
            Ok(found) => {
                table {
                    thead { tr { th { "Part of the model, in its own measure" } th.number { "Before" } th.number { "After" } th { "Did they tell?" } } }
                    tbody { @for c in &found.coefficients { tr {
                        td { (c.name) }
                        td.number { (format!("{:.2}", c.before.mean)) br; small { "± " (format!("{:.2}", LIMITS * c.before.sd)) } }
                        td.number { @if c.told { b { (format!("{:.2}", c.after.mean)) } br; small { "± " (format!("{:.2}", LIMITS * c.after.sd)) } } @else { "as before" } }
                        td { @if c.told { "yes: " (format!("{:.0}", 100.0 * (1.0 - c.after.sd / c.before.sd))) " % less doubt" } @else { "no, it stays" } }
                    } } }
                }
                p.small { "What was believed before, corrected by the passes in one step. A misfit as large as this comes up in " (format!("{:.0}", 100.0 * found.fit_p)) " of 100 seasons where model and doubts are right." }
                @if found.coefficients.iter().any(|c| c.told) {
                    form.inline method="post" action="/season/take" { button.tag { "Take this over into setups and cards" } }
                }
            }
        }
        @if let Some(standing) = standing {
            div.progress { p { b { "A correction stands since " (standing.fact.at.to_string().chars().take(10).collect::<String>()) ". " } (standing.fact.words) " Settings solved with it are marked as resting on this squad's own line-ups." }
                form.inline method="post" action="/season/back" { input type="hidden" name="version" value=(standing.version); button.second { "Go back to the model as it came" } } }
        }
    } }
}

/// A reason as a sentence.
fn sentence(why: &str) -> String {
    let mut letters = why.chars();
    let head = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{head}{}.", letters.as_str().trim_end_matches('.'))
}

/// What to test next.
fn next(yard: &Yard, season: &Season) -> Markup {
    html! { section {
        h2 { "What to test next" }
        @if season.next.is_empty() { p { "The model has no beat in this wind to test from." } }
        @else {
            table {
                thead { tr { th { "Setting" } th { "Today's against" } th.number { "Passes" } th.number { "Worth, m per 500" } th.number.hide-narrow { "To settle it" } td {} } }
                tbody { @for one in season.next.iter().take(TOLD) {
                    @let name = names(&yard.words, one.gauge).0;
                    tr {
                        td { span.name { (name) } }
                        td { (value(one.gauge, one.values.0)) " against " b { (value(one.gauge, one.values.1)) } }
                        td.number { (one.test.passes) }
                        td.number { (format!("{:.1}", 500.0 * one.test.worth_ms / season.made_good)) }
                        td.number.hide-narrow { @match one.test.passes_to_settle { Some(0) => "known already", Some(n) => { (counted(n, "pass")) }, None => "more than 40" } }
                        td { a.second href=(format!("/ashore/plan?gauge={}&passes={}", one.gauge.name(), one.test.passes.max(4))) { "Plan it" span.unseen { ": " (name) } } }
                    }
                } }
            }
            p.small { "The order is by what knowing the answer is expected to gain for each minute of the test. A near thing that nobody knows is worth more than a sure one." }
        }
    } }
}

/// The sailors, for the coach.
fn sailors(yard: &Yard, season: &Season) -> Result<Markup, Refusal> {
    let store = yard.store()?;
    let known: Vec<Kept<Sailor>> =
        store.sailors()?.into_iter().filter(|s| season.outings.iter().any(|o| o.progress.iter().any(|p| p.0 == s.id))).collect();
    Ok(html! { section {
        h2 { "How each sailor came on" }
        @if known.is_empty() { p { "Nobody's recorder is known yet: tell on Ashore whose is whose." } }
        @else {
            p { "A page for each: for the coach and that sailor, nobody else." }
            ul { @for sailor in &known { li { a href=(format!("/season/{}", sailor.id)) { (sailor.fact.label) } } } }
            p { a.second href="/season/progress.csv" { "All as a table, for the coach" } }
        }
        @for outing in season.outings.iter().filter(|o| o.untold.is_some()) { p.small { (outing.name) ": " (outing.untold.as_deref().unwrap_or_default()) } }
    } })
}

/// The season, or a refusal while it is gathered.
fn ready(yard: &Arc<Yard>) -> Result<Arc<Season>, Refusal> {
    yard.season()?.season().ok_or_else(|| Refusal::lost("The season is being gathered: open the page Season first"))
}

/// The correction is taken over.
pub(super) async fn take(State(yard): State<Arc<Yard>>) -> Answer {
    let season = ready(&yard)?;
    let found = season.calibration.as_ref().map_err(|why| Refusal::unkept(why))?;
    let told: Vec<(&str, f64)> = found
        .coefficients
        .iter()
        .filter(|c| c.told)
        .filter_map(|c| Some((MULTIPLIERS.iter().find(|m| m.0 == c.name)?.1, c.after.mean)))
        .collect();
    if told.is_empty() {
        return Err(Refusal::unkept("The passes tell nothing of the model yet."));
    }
    let passes: usize = season.judged.iter().map(|j| j.effect.passes).sum();
    let legs = season.legs.as_ref().map_or_else(String::new, |l| format!(" and {} stretches of beats", l.stretches));
    let words = format!("It rests on {}{legs} in {}.", counted(passes, "pass"), counted(season.outings.len(), "outing"));
    yard.store()?.add(&Correction::of(&told, Moment::now(), &words), &Yard::writer())?;
    yard.stop();
    Ok(later("/season#model"))
}

/// And taken back: the model is as it came.
pub(super) async fn back(State(yard): State<Arc<Yard>>) -> Answer {
    {
        let mut store = yard.store()?;
        while let Some(standing) = store.correction()? {
            let _ = store.withdraw(standing.id, standing.version, &Yard::writer())?;
        }
    }
    yard.stop();
    Ok(later("/season#model"))
}

/// One sailor's season, for the coach and that sailor.
pub(super) async fn sailor(State(yard): State<Arc<Yard>>, Path(id): Path<String>) -> Answer {
    let id: Id<Sailor> = id.parse().map_err(|_| Refusal::lost("There is no such sailor"))?;
    let kept = yard.store()?.get(id)?.filter(|s| !s.withdrawn).ok_or_else(|| Refusal::lost("There is no such sailor"))?;
    let season = ready(&yard)?;
    let of = |outing: &Sailed| outing.progress.iter().find(|p| p.0 == id).map(|p| p.1);
    let rows: Vec<_> = season.outings.iter().filter_map(|o| Some((o, of(o)?))).collect();
    let series = |says: &str, take: &dyn Fn(&Progress) -> Measure| {
        let points: Vec<Point> = rows
            .iter()
            .enumerate()
            .filter_map(|(k, (outing, did))| {
                let (mean, sd) = take(did)?;
                Some(Point { place: k, label: outing.name.clone(), mean, sd })
            })
            .collect();
        html! { @if points.len() > 1 { div { h2 { (says) } (shell::picture(&drawn(says, rows.len(), &points))) } } }
    };
    let number = |v: Option<(f64, usize)>, unit: &str| html! { @match v { Some((mean, n)) => { (format!("{mean:.1}")) " " (unit) br; small { (n) } }, None => "–" } };
    let body = html! { section.first {
        @if rows.is_empty() { p { "No outing with this sailor's recorder yet." } }
        @else {
            table {
                thead { tr { th { "Outing" } th.number { "A tack lost" } th.number { "A gybe lost" } th.number { "A rounding lost" } th.number { "Angle on a beat" } } }
                tbody { @for (outing, did) in &rows { tr {
                    td { (outing.name) @if let Some(began) = outing.began { br; small { (began.to_string().chars().take(10).collect::<String>()) } } }
                    td.number { (number(did.tacks.map(|m| (m.mean, m.count)), "m")) }
                    td.number { (number(did.gybes.map(|m| (m.mean, m.count)), "m")) }
                    td.number { (number(did.roundings, "m")) }
                    td.number { (number(did.angle, "°")) }
                } } }
            }
            div.pair.halves {
                (series("Metres a tack lost", &|p| p.tacks.map(|m| (m.mean, Some(m.sd)))))
                (series("Metres a gybe lost", &|p| p.gybes.map(|m| (m.mean, Some(m.sd)))))
                (series("Metres a rounding lost", &|p| p.roundings.map(|r| (r.0, None))))
                (series("Angle on a beat, degrees", &|p| p.angle.map(|a| (a.0, None))))
            }
            p.small { "Small figures: how many. Bars: 19 times in 20 between. Wind and water differ from outing to outing, so two points make no trend. This page is for the coach and this sailor." }
        }
        p { a.second href="/season" { "Back to the season" } }
    } };
    Ok(whole(&kept.fact.label, html! {}, body))
}

fn table(bytes: Vec<u8>, name: &str) -> Response {
    let named = format!("attachment; filename=\"{name}\"");
    ([(header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()), (header::CONTENT_DISPOSITION, named)], bytes).into_response()
}

fn unwritten() -> Refusal {
    Refusal::because("The table was not written", "These figures do not go into a table.")
}

/// All passes, as the command `lineups` reads them.
pub(super) async fn passes(State(yard): State<Arc<Yard>>) -> Answer {
    let season = ready(&yard)?;
    let gauges: Vec<Gauge> = season.passes.keys().copied().collect();
    let mut out = csv::Writer::from_writer(Vec::new());
    let head = ["pass", "sailor", "position", "wind_kn", "vmg_kn"].into_iter().chain(gauges.iter().map(|g| g.name()));
    out.write_record(head).map_err(|_| unwritten())?;
    for (k, table) in season.passes.values().enumerate() {
        for row in &table.rows {
            let place = match row.position {
                p if p > 0.0 => "high",
                p if p < 0.0 => "low",
                _ => "",
            };
            let wind = row.wind.map_or(String::new(), |w| format!("{:.2}", w / KNOT));
            let mut cells = vec![row.pass.clone(), in_a_cell(&row.sailor), place.to_owned(), wind, format!("{:.4}", row.vmg / KNOT)];
            cells.extend((0..gauges.len()).map(|n| if n == k { row.settings[0].to_string() } else { String::new() }));
            out.write_record(cells).map_err(|_| unwritten())?;
        }
    }
    Ok(table(out.into_inner().map_err(|_| unwritten())?, "season-passes.csv"))
}

/// How each sailor did, outing by outing.
pub(super) async fn progress_table(State(yard): State<Arc<Yard>>) -> Answer {
    let season = ready(&yard)?;
    let sailors = yard.store()?.sailors()?;
    let mut out = csv::Writer::from_writer(Vec::new());
    let head =
        ["outing", "date", "sailor", "tacks", "tack_loss_m", "gybes", "gybe_loss_m", "roundings", "rounding_loss_m", "beat_angle_deg"];
    out.write_record(head).map_err(|_| unwritten())?;
    let cell = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v:.2}"));
    let count = |n: Option<usize>| n.map_or(String::new(), |n| n.to_string());
    for outing in &season.outings {
        let date = outing.began.map_or(String::new(), |b| b.to_string().chars().take(10).collect());
        for (id, did) in &outing.progress {
            let label = sailors.iter().find(|s| s.id == *id).map_or("", |s| s.fact.label.as_str());
            let cells = [
                in_a_cell(&outing.name),
                date.clone(),
                in_a_cell(label),
                count(did.tacks.map(|m| m.count)),
                cell(did.tacks.map(|m| m.mean)),
                count(did.gybes.map(|m| m.count)),
                cell(did.gybes.map(|m| m.mean)),
                count(did.roundings.map(|r| r.1)),
                cell(did.roundings.map(|r| r.0)),
                cell(did.angle.map(|a| a.0)),
            ];
            out.write_record(cells).map_err(|_| unwritten())?;
        }
    }
    Ok(table(out.into_inner().map_err(|_| unwritten())?, "season-progress.csv"))
}
