//! A series: exclusions, net scores, ranks, ties and the reason for each rank in words.
//!
//! Source: rules A2.1, A8.1, A8.2 and 90.3(b).

use std::cmp::Ordering;

use rust_decimal::Decimal;
use serde::Serialize;

use super::code::Code;
use super::decimal::{number, words};

/// One boat's score in one race.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RaceScore {
    /// Points.
    #[serde(serialize_with = "number")]
    pub score: Decimal,
    /// The code, if it is more than a place.
    pub code: Option<Code>,
    /// Whether it was left out of the net score.
    pub excluded: bool,
}

/// One boat's place in the series.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Standing {
    /// Her label.
    pub boat: String,
    /// 1 for the winner; boats that no rule separates share a rank and the next is left out.
    pub rank: usize,
    /// The sum of the scores that count.
    #[serde(serialize_with = "number")]
    pub net: Decimal,
    /// The sum of all scores.
    #[serde(serialize_with = "number")]
    pub total: Decimal,
    /// Why she has this rank.
    pub why: String,
    /// Her races, in the order of `races` beside the list of standings.
    pub races: Vec<RaceScore>,
}

/// The standings of a part of the boats.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Group {
    /// The fleet or division.
    pub name: String,
    /// The names of its races.
    pub races: Vec<String>,
    /// Its boats, best first.
    pub standings: Vec<Standing>,
}

/// The standings of a series, best first; boats that share a rank by label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Standings {
    /// The name of the series.
    pub series: String,
    /// The years of the rules it was scored by.
    pub edition: &'static str,
    /// The names of the races, those of all fleets where they raced apart.
    pub races: Vec<String>,
    /// All boats; empty where fleets raced apart, since their scores cannot be compared.
    pub standings: Vec<Standing>,
    /// Each fleet by itself.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fleets: Vec<Group>,
    /// Each division by itself.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub divisions: Vec<Group>,
}

/// A boat's scores in all races, before exclusions.
pub(crate) struct Row<'a> {
    pub(crate) boat: &'a str,
    pub(crate) scores: Vec<(Decimal, Option<Code>)>,
}

/// A boat's scores with all that decides her rank.
struct Net<'a> {
    row: &'a Row<'a>,
    excluded: Vec<bool>,
    net: Decimal,
    kept: Vec<Decimal>,
}

/// Ranks boats by low point with this many exclusions; at least one race always counts.
pub(crate) fn ranked(rows: &[Row<'_>], exclusions: usize) -> Vec<Standing> {
    let mut nets: Vec<Net<'_>> = rows.iter().map(|row| net(row, exclusions)).collect();
    nets.sort_by(|a, b| decide(a, b).0.then_with(|| a.row.boat.cmp(b.row.boat)));
    let mut standings: Vec<Standing> = Vec::with_capacity(nets.len());
    for (at, boat) in nets.iter().enumerate() {
        let rank = match (at.checked_sub(1), standings.last()) {
            (Some(before), Some(ahead)) if decide(&nets[before], boat).0 == Ordering::Equal => ahead.rank,
            _ => at + 1,
        };
        standings.push(Standing {
            boat: boat.row.boat.to_owned(),
            rank,
            net: boat.net,
            total: boat.row.scores.iter().map(|(score, _)| score).sum(),
            why: why(&nets, at),
            races: boat
                .row
                .scores
                .iter()
                .zip(&boat.excluded)
                .map(|(&(score, code), &excluded)| RaceScore { score, code, excluded })
                .collect(),
        });
    }
    standings
}

/// Leaves out the worst scores that may be, of equal ones the earliest (A2.1, 90.3(b)).
fn net<'a>(row: &'a Row<'a>, exclusions: usize) -> Net<'a> {
    let mut worst: Vec<usize> =
        (0..row.scores.len()).filter(|&race| row.scores[race].1.is_none_or(|code| code.treatment().excludable)).collect();
    worst.sort_by_key(|&race| (std::cmp::Reverse(row.scores[race].0), race));
    worst.truncate(exclusions.min(row.scores.len().saturating_sub(1)));
    let mut excluded = vec![false; row.scores.len()];
    for race in worst {
        excluded[race] = true;
    }
    let mut kept: Vec<Decimal> = row.scores.iter().zip(&excluded).filter(|(_, out)| !**out).map(|((score, _), _)| *score).collect();
    kept.sort_unstable();
    Net { row, excluded, net: kept.iter().sum(), kept }
}

/// What separated two boats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum By {
    Points,
    /// A8.1, at this place of the scores from best to worst.
    Best(usize),
    /// A8.2, at this race.
    Last(usize),
    Nothing,
}

fn decide(a: &Net<'_>, b: &Net<'_>) -> (Ordering, By) {
    let points = a.net.cmp(&b.net);
    if points != Ordering::Equal {
        return (points, By::Points);
    }
    for (at, (mine, hers)) in a.kept.iter().zip(&b.kept).enumerate() {
        if mine != hers {
            return (mine.cmp(hers), By::Best(at));
        }
    }
    for (race, (mine, hers)) in a.row.scores.iter().zip(&b.row.scores).enumerate().rev() {
        if mine.0 != hers.0 {
            return (mine.0.cmp(&hers.0), By::Last(race));
        }
    }
    (Ordering::Equal, By::Nothing)
}

/// The reason for a boat's rank: her points, or how ties with the boats next to her were broken.
fn why(nets: &[Net<'_>], at: usize) -> String {
    let boat = &nets[at];
    let mut reasons = Vec::new();
    if let Some(ahead) = at.checked_sub(1).map(|before| &nets[before]) {
        reasons.extend(tie("behind", boat, ahead));
    }
    if let Some(behind) = nets.get(at + 1) {
        reasons.extend(tie("ahead of", boat, behind));
    }
    let points = if boat.net == Decimal::ONE { "1 point".to_owned() } else { format!("{} points", words(boat.net)) };
    if reasons.is_empty() { points } else { format!("{points}, tied: {}", reasons.join("; ")) }
}

fn tie(side: &str, boat: &Net<'_>, other: &Net<'_>) -> Option<String> {
    let name = other.row.boat;
    match decide(boat, other).1 {
        By::Points => None,
        By::Best(at) => Some(format!(
            "{side} {name} by A8.1, scores from best to worst: {} against {} in the {}",
            words(boat.kept[at]),
            words(other.kept[at]),
            ordinal(at + 1),
        )),
        By::Last(race) => {
            let races = boat.row.scores.len();
            let which = if race + 1 == races {
                "the last race".to_owned()
            } else {
                format!("the {} race, the last that differs", ordinal(race + 1))
            };
            Some(format!("{side} {name} by A8.2, {which}: {} against {}", words(boat.row.scores[race].0), words(other.row.scores[race].0)))
        }
        By::Nothing => Some(format!("level with {name}, the same in every race")),
    }
}

fn ordinal(n: usize) -> String {
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}
