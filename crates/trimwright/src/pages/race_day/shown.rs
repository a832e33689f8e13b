//! A sailor's race day as the page shows it: the same document that the sheet prints.

use maud::{Markup, html};
use measure::counted;

use super::super::shell;
use super::job::Job;
use crate::briefing::race_day::{Deeds, RaceDayPage};
use crate::drawing::approach::approach;
use crate::drawing::course::course;
use crate::drawing::rounding::rounding;
use crate::drawing::start::{line, over_the_shoulder};
use crate::race_day::words::clock;
use crate::words::rule::rules as rule_words;

/// Widths of the drawings, mm.
const CHART: [f64; 2] = [168.0, 130.0];
const LINE: f64 = 106.0;
const SHOULDER: f64 = 40.0;
const APPROACH: f64 = 170.0;
const TURN: f64 = 100.0;

/// Whose page.
pub(super) fn choice(labels: &[String], who: usize) -> Markup {
    html! { nav.choice aria-label="Whose race" { @for (n, label) in labels.iter().enumerate() {
        a href=(format!("/race-day?who={n}")) aria-current=[(n == who).then_some("true")] { (label) }
    } } }
}

/// While a sailor's boat is being solved.
pub(super) fn progress(job: &Job, who: usize) -> Markup {
    let (done, all) = job.done();
    html! { section {
        @if job.stopped() {
            div.progress { p { "Stopped after " (done) " of " (counted(all, "sailor")) "." } form method="post" action="/race-day/solve" { button.tag { "Solve them" } } }
        } @else {
            div.progress role="status" data-again="1500" {
                p { b { (done) " of " (counted(all, "sailor")) " solved in the race's wind" } }
                progress max=(all) value=(done) {}
                form method="post" action="/race-day/stop" { button.tag.busy { "Stop" } }
                noscript { meta http-equiv="refresh" content=(format!("3;url=/race-day?who={who}")); }
            }
        }
    } }
}

/// A sailor's race day.
pub(super) fn sailor(page: &RaceDayPage, doubts: &[String], who: usize, job: &Job) -> Markup {
    let (done, all) = job.done();
    html! {
        section.first {
            @for doubt in doubts { p.wrong { (doubt) } }
            p { (page.about) }
            div.columns {
                div.wide.pan tabindex="0" role="region" aria-label="Chart of the course" { (shell::picture(&course(&page.chart, CHART[0], CHART[1]))) }
                div {
                    h2 { "Start line" }
                    @match &page.start {
                        Some(start) => { p.verdict { (start.verdict) } (shell::picture(&line(&start.line, LINE))) p { (start.through) } p { (start.still) } }
                        None => p { "No start line is told: name a pin and a committee boat, and there must be a way to the first course mark." }
                    }
                }
            }
        }
        section {
            h2 { "Legs" }
            div.wide tabindex="0" role="region" aria-label="Legs" { table.legs {
                thead { tr { th { "Leg" } th.number { (if page.unit == "ft" { "Feet" } else { "Metres" }) } th.number { "True" } th.number { "Compass" } th.number { "Time" } th { "Sailed" } } }
                tbody { @for leg in &page.legs { tr { td { (leg.name) } td.number { (leg.length) } td.number { (leg.bearing) } td.number { (leg.compass) } td.number { b { (leg.time) } } td { (leg.sailed) } } } }
            } }
            p { (page.whole) " " (page.untold) }
            @if done == all { @let times = job.times(); @if !times.is_empty() {
                p { b { "Expected by class, in this wind and current: " } @for (n, (class, [least, most], sailors)) in times.iter().enumerate() {
                    @if n > 0 { "; " } (class) " " b { (clock(*least)) @if clock(*least) != clock(*most) { " to " (clock(*most)) } } " (" (sailors) @if *sailors == 1 { " sailor)" } @else { " sailors)" }
                } "." }
            } }
            p.small { (page.note) }
        }
        @if !page.shoulders.is_empty() { section {
            h2 { "When to tack for the course mark" }
            div.pair.halves { @for s in &page.shoulders { div.sight {
                (shell::picture(&over_the_shoulder(s.port_tack, s.angle, SHOULDER, &s.deed)))
                div { h3 { (s.title) } p { (s.deed) } p.small { (s.note) } }
            } } }
        } }
        @for part in &page.deeds { (deeds(part)) }
        @if !page.turns.is_empty() { section {
            h2 { "Rounding" }
            p { "On the tape it makes no difference. Dashed: tight in, wide out. The ring is the zone, three boat lengths." }
            div.pair.halves { @for turn in &page.turns { div {
                h3 { (turn.title) }
                (shell::picture(&rounding(&turn.drawing, TURN)))
                table { tbody { @for (what, figure) in &turn.rows { tr { td { (what) } td.number { b { (figure) } } } } } }
            } } }
        } }
        section {
            h2 { "Signals" }
            table { tbody { @for (before, what) in &page.signals { tr { td.number { span.name { (before) } } td { (what) } } } } }
            p { a.second href="/race-day/signals" { "Count them down in big digits" } }
        }
        section {
            @if done == all { p { a.tag href="/race-day/sheets.pdf" { "Print all " (all) " race sheets" } " " a.second href=(format!("/race-day/sheets.pdf?who={who}")) { "Print " (page.whose) "'s alone" } } }
            @else { p { a.tag href=(format!("/race-day/sheets.pdf?who={who}")) { "Print " (page.whose) "'s race sheet" } } p.small role="status" { (done) " of " (counted(all, "sailor")) " solved; then all can be printed at once." } }
        }
    }
}

/// What hands do round one course mark.
fn deeds(part: &Deeds) -> Markup {
    html! { section {
        h2 { (part.title) }
        @if !part.safety.is_empty() { p.caution { b { (part.safety) } " The coach decides whether to race at all." } }
        @if !part.rows.is_empty() {
            div.wide.pan.approach tabindex="0" role="region" aria-label=(part.title) { (shell::picture(&approach(&part.approach, APPROACH))) }
            div.wide tabindex="0" role="region" aria-label=(format!("{}, as a table", part.title)) { table {
                thead { tr { th { "What" } th { "Begin" } th.number { "Takes" } th.number { "5 s late costs" } th.number { "5 s early costs" } } }
                tbody { @for d in &part.rows { tr { td { b { (d.deed) } } td { (d.when) } td.number { (d.lasts) } td.number { (d.late) } td.number { (d.early) } } } }
            } }
        } @else { p { "By the model no control makes a difference when here." } }
        p.small { (part.note) }
    } }
}

/// The rules of the race in short words.
pub(super) fn rules() -> Markup {
    let Ok(topics) = rule_words() else { return html! {} };
    html! { section #rules {
        h2 { "Rules in short words" }
        @for topic in &topics { details {
            summary { b { (topic.title) } " (rule " (topic.rule) ")" }
            p { (topic.main) }
            ul { @for good in &topic.good { li { b { "Yes: " } (good) } } @for bad in &topic.bad { li { b { "No: " } (bad) } } }
        } }
        p.small { "Our own words, for children. The rule book and the race committee decide." }
    } }
}
