//! The signals in big digits, counted down by a script on a page that is kept open; without it a list of times to print.

use axum::extract::Query;
use maud::html;
use regatta::start::{Sequence, Signal, signals};
use serde::Deserialize;
use serde_json::json;

use super::super::{Answer, whole};

/// Which signals, and when the start is.
#[derive(Debug, Deserialize, Default)]
pub(in super::super) struct Asked {
    signals: Option<String>,
    /// The start, local time of day, like 13:05.
    at: Option<String>,
}

/// How many blasts, and whether they are long; each short one of the last seconds by itself.
fn blasts(signal: &Signal) -> (u32, bool) {
    let count = match signal.sound.split(' ').next() {
        Some("two") => 2,
        Some("three") => 3,
        _ => 1,
    };
    (count, signal.sound.contains("long"))
}

/// The signals as the script reads them.
fn list(sequence: Sequence) -> serde_json::Value {
    let mut list = Vec::new();
    for signal in signals(sequence) {
        let (count, long) = blasts(signal);
        let says: Vec<&str> = [signal.name, signal.flag].into_iter().filter(|t| !t.is_empty()).collect();
        list.push(json!({ "before": signal.before, "says": says.join(", "), "blasts": count, "long": long }));
        if signal.sound.contains("each second") {
            list.extend((1..signal.before).rev().map(|before| json!({ "before": before, "says": "", "blasts": 1, "long": false })));
        }
    }
    list.into()
}

/// The page.
pub(in super::super) async fn page(Query(asked): Query<Asked>) -> Answer {
    let practice = asked.signals.as_deref() != Some("rule-26");
    let sequence = if practice { Sequence::Practice } else { Sequence::Rule26 };
    let typed: String = asked.at.unwrap_or_default().trim().chars().take(8).collect();
    let start = typed.parse::<jiff::civil::Time>().ok();
    let clock =
        |before: u32| start.map(|at| at.wrapping_sub(jiff::Span::new().seconds(i64::from(before))).strftime("%H:%M:%S").to_string());
    let first = if practice { "Three minutes now" } else { "Warning signal now" };
    let body = html! {
        section.first {
            nav.choice aria-label="Which signals" {
                a href="/race-day/signals?signals=3-2-1" aria-current=[practice.then_some("true")] { "Practice 3-2-1" }
                a href="/race-day/signals?signals=rule-26" aria-current=[(!practice).then_some("true")] { "Rule 26" }
            }
            div.signals data-signals=(list(sequence).to_string()) {
                div data-part="hand" hidden {
                    p.countdown data-part="clock" role="timer" { }
                    p.name data-part="next" { }
                    p.deeds {
                        button.tag type="button" data-part="go" { (first) } " "
                        button.second type="button" data-part="minute" { "To the whole minute" } " "
                        button.second type="button" data-part="stop" { "Stop" } " "
                        button.second type="button" data-part="sound" { "Sound" }
                    }
                    p data-part="told" role="status" { "Press Sound once before you go out, and listen: a silenced device sounds nothing." }
                }
                table { thead { tr { th.number { "Before" } @if start.is_some() { th.number { "Clock" } } th { "Signal" } th { "Sound" } } } tbody { @for s in signals(sequence) {
                    tr data-before=(s.before) {
                        td.number { span.name { (s.before / 60) ":" (format!("{:02}", s.before % 60)) } }
                        @if let Some(at) = clock(s.before) { td.number { b { (at) } } }
                        td { (s.name) @if !s.flag.is_empty() { ", " (s.flag) } } td { (s.sound) }
                    }
                } } }
            }
        }
        section {
            h2 { "A list of times" }
            form method="get" action="/race-day/signals" {
                input type="hidden" name="signals" value=(sequence.word());
                div.fields { div { label for="at" { "Start at" } input #at name="at" value=(typed) autocomplete="off"; small { "Like 13:05. Then print this page: it needs no script." } @if start.is_none() && !typed.is_empty() { p.wrong role="alert" { "\"" (typed) "\" is no time of day: write it like 13:05" } } }
                    div { button.second { "Write the list" } } }
            }
            p.small { "Keep this page open and in front. A locked phone may stop it: then it sounds nothing, and says so when it wakes; its clock is right again at once. " @if practice { "The practice start is common practice, no source." } @else { "By rule 26 the flags count, and a sound that fails counts for nothing. The race committee makes the signals." } }
        }
    };
    Ok(whole("Signals", html! {}, body))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_script_hears_what_is_heard() {
        let practice = list(Sequence::Practice);
        let all = practice.as_array().unwrap();
        assert_eq!((all[0]["blasts"].as_u64(), all[0]["long"].as_bool()), (Some(3), Some(true)));
        // Five, four, three, two and one each sound once.
        let last: Vec<u64> = all.iter().filter_map(|s| s["before"].as_u64()).filter(|b| *b <= 5).collect();
        assert_eq!(last, [5, 4, 3, 2, 1, 0]);
        assert_eq!(list(Sequence::Rule26)[2]["long"], true);
    }
}
