//! Holds the scoring against a table of cases in JSON.
//!
//! A case has a `name`, `discards`, and either `table` (each boat's scores, taken as they stand) or `races` (for each race each
//! boat's place, code, or `[code, place, points]`), and `expect`: for each boat `[net, rank]` or `[scores, excluded races counted
//! from 0, net, rank]`. The edition and rule A5.3 are keys `edition` and `a53`, or stand in the name as `edition=2025 a53=True`.

use std::collections::BTreeSet;

use rust_decimal::Decimal;
use serde_json::{Map, Value};

use super::code::{Code, Edition};
use super::decimal::{points, words};
use super::race::{Decided, Finish};
use super::series::{Exclusions, Race, Series};
use super::standing::{Row, Standing, ranked};
use crate::Error;

/// How many cases were read, how many did not agree, and what about them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Cases read.
    pub cases: usize,
    /// Cases of which a boat did not agree or that could not be scored.
    pub failed: usize,
    /// One line for each boat or case that failed.
    pub messages: Vec<String>,
}

/// Judges the scoring by the cases of a file.
///
/// # Errors
/// When the text is no list of cases. A case that cannot be read is one that failed.
pub fn judge(json: &str) -> Result<Verdict, Error> {
    let cases: Vec<Value> = serde_json::from_str(json)
        .map_err(|error| Error::new("scoring cases", error.to_string(), "a JSON list of cases with races or table, discards and expect"))?;
    let mut verdict = Verdict { cases: cases.len(), failed: 0, messages: Vec::new() };
    for (at, case) in cases.iter().enumerate() {
        let name = case["name"].as_str().map_or_else(|| format!("case {at}"), str::to_owned);
        let wrong = match scored(case, &name) {
            Ok(standings) => compare(case, &standings),
            Err(message) => vec![message],
        };
        verdict.failed += usize::from(!wrong.is_empty());
        verdict.messages.extend(wrong.into_iter().map(|message| format!("{name}: {message}")));
    }
    Ok(verdict)
}

fn scored(case: &Value, name: &str) -> Result<Vec<Standing>, String> {
    let discards = case["discards"].as_u64().map_or(Ok(1), usize::try_from).map_err(|_| "discards is too large")?;
    if let Some(table) = case["table"].as_object() {
        let rows = table.iter().map(|(boat, scores)| {
            let scores = list(scores)?.iter().map(|score| Ok((decimal(score)?, None))).collect::<Result<Vec<_>, String>>()?;
            Ok(Row { boat, scores })
        });
        let rows = rows.collect::<Result<Vec<_>, String>>()?;
        if rows.iter().any(|row| row.scores.len() != rows[0].scores.len()) {
            return Err("the boats have different numbers of scores".into());
        }
        return Ok(ranked(&rows, discards));
    }
    let races = list(&case["races"]).map_err(|_| "neither table nor races")?;
    let races = races.iter().map(|race| race.as_object().ok_or("a race is no table of boats")).collect::<Result<Vec<_>, _>>()?;
    let entered = races.iter().flat_map(|race| race.keys()).chain(case["expect"].as_object().into_iter().flat_map(Map::keys));
    let boats: Vec<String> = entered.cloned().collect::<BTreeSet<_>>().into_iter().collect();
    let races = races.iter().enumerate().map(|(at, race)| {
        let finishes = boats.iter().map(|boat| race.get(boat).map_or(Ok(Finish::ABSENT), finish)).collect::<Result<Vec<_>, String>>()?;
        Ok(Race { name: (at + 1).to_string(), finishes })
    });
    let series = Series {
        name: name.to_owned(),
        edition: edition(case, name)?,
        boats: boats.clone(),
        races: races.collect::<Result<Vec<_>, String>>()?,
        exclusions: Exclusions(vec![(0, discards)]),
        starting_area_rule: case["a53"].as_bool().unwrap_or_else(|| name.to_lowercase().contains("a53=true")),
        fleets: Vec::new(),
        divisions: Vec::new(),
        divisions_afresh: false,
    };
    series.standings().map(|warned| warned.value.standings).map_err(|error| error.to_string())
}

/// The edition of a case: one that begins in the year written. Without one, the newer.
fn edition(case: &Value, name: &str) -> Result<Edition, String> {
    let written = match &case["edition"] {
        Value::Null => name.split_once("edition=").map_or("", |(_, rest)| rest.split_whitespace().next().unwrap_or_default()).to_owned(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    if written.is_empty() {
        return Ok(Edition::Y2025);
    }
    let year = written.get(..4).unwrap_or(&written);
    Edition::ALL.into_iter().find(|edition| edition.years().starts_with(year)).ok_or_else(|| format!("edition {written} is not known"))
}

fn finish(value: &Value) -> Result<Finish, String> {
    let parts = match value {
        Value::Array(parts) => parts.as_slice(),
        Value::Number(_) => &[Value::Null, value.clone()],
        other => std::slice::from_ref(other),
    };
    let part = |at: usize| parts.get(at).filter(|part| !part.is_null());
    let code = part(0).map(|text| text.as_str().and_then(Code::of).ok_or_else(|| format!("{text} is not a scoring code"))).transpose()?;
    let place = part(1)
        .map(|place| {
            place
                .as_u64()
                .and_then(|place| u32::try_from(place).ok())
                .filter(|place| *place > 0)
                .ok_or_else(|| format!("{place} is not a place"))
        })
        .transpose()?;
    let decided = match part(2) {
        Some(Value::String(text)) if text == "before" => Some(Decided::MeanBefore),
        Some(Value::String(text)) if text == "others" => Some(Decided::MeanOfOthers),
        Some(points) => Some(Decided::Points(decimal(points)?)),
        None if code == Some(Code::Rdg) => Some(Decided::MeanOfOthers),
        None => None,
    };
    let finish = Finish { place, code, decided };
    finish.check().map_err(|(found, remedy)| format!("{found}; {remedy}"))?;
    Ok(finish)
}

fn compare(case: &Value, standings: &[Standing]) -> Vec<String> {
    let Some(expected) = case["expect"].as_object().filter(|boats| !boats.is_empty()) else { return vec!["nothing is expected".into()] };
    let mut wrong = Vec::new();
    for (boat, expected) in expected {
        let Some(standing) = standings.iter().find(|standing| &standing.boat == boat) else {
            wrong.push(format!("{boat} has no standing"));
            continue;
        };
        match agrees(expected, standing) {
            Ok(true) => {}
            Ok(false) => wrong.push(format!("{boat}: expected {expected}, scored {}", found(standing))),
            Err(message) => wrong.push(format!("{boat}: {message}")),
        }
    }
    wrong
}

fn agrees(expected: &Value, standing: &Standing) -> Result<bool, String> {
    let expected = list(expected)?;
    let [.., net, rank] = expected else { return Err("expect has neither net and rank nor scores, excluded, net and rank".into()) };
    let ranks = decimal(net)? == standing.net && rank.as_u64() == u64::try_from(standing.rank).ok();
    match expected {
        [_, _] => Ok(ranks),
        [scores, excluded, _, _] => {
            let scores = list(scores)?.iter().map(decimal).collect::<Result<Vec<_>, _>>()?;
            let excluded =
                list(excluded)?.iter().map(Value::as_u64).collect::<Option<BTreeSet<_>>>().ok_or("excluded is no list of races")?;
            let left_out: BTreeSet<u64> = (0..).zip(&standing.races).filter(|(_, race)| race.excluded).map(|(at, _)| at).collect();
            Ok(ranks && excluded == left_out && scores.iter().eq(standing.races.iter().map(|race| &race.score)))
        }
        _ => Err("expect has neither two nor four parts".into()),
    }
}

fn found(standing: &Standing) -> String {
    let scores: Vec<String> = standing.races.iter().map(|race| words(race.score)).collect();
    let excluded: Vec<usize> = (0..).zip(&standing.races).filter(|(_, race)| race.excluded).map(|(at, _)| at).collect();
    format!("{scores:?}, {excluded:?}, {}, {}", words(standing.net), standing.rank)
}

fn list(value: &Value) -> Result<&[Value], String> {
    value.as_array().map(Vec::as_slice).ok_or_else(|| format!("{value} is no list"))
}

fn decimal(value: &Value) -> Result<Decimal, String> {
    let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    points(&text).ok_or_else(|| format!("{text} is no number of points"))
}
