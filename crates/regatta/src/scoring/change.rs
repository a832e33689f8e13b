//! What a correction changed: two standings of a series side by side.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde::Serialize;

use super::code::Code;
use super::decimal::pair;
use super::standing::{RaceScore, Standing, Standings};

/// One race of a boat that changed; `None` where the race or the boat is not there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RaceChange {
    /// The race.
    pub race: String,
    /// Score before and after.
    #[serde(serialize_with = "pair")]
    pub score: (Option<Decimal>, Option<Decimal>),
    /// Code before and after.
    pub code: (Option<Code>, Option<Code>),
    /// Whether it was excluded, before and after.
    pub excluded: (Option<bool>, Option<bool>),
}

/// One boat that changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BoatChange {
    /// The fleet, where fleets raced apart.
    pub fleet: Option<String>,
    /// Her label.
    pub boat: String,
    /// Rank before and after.
    pub rank: (Option<usize>, Option<usize>),
    /// Net score before and after.
    #[serde(serialize_with = "pair")]
    pub net: (Option<Decimal>, Option<Decimal>),
    /// The races that changed, in order.
    pub races: Vec<RaceChange>,
}

/// A boat where she stands: her fleet, the names of the races there, her standing.
struct Place<'a> {
    fleet: Option<&'a str>,
    races: &'a [String],
    standing: &'a Standing,
}

impl Place<'_> {
    fn key(&self) -> (Option<&str>, &str) {
        (self.fleet, &self.standing.boat)
    }
    fn race(&self, name: &str) -> Option<&RaceScore> {
        self.standing.races.get(self.races.iter().position(|race| race == name)?)
    }
}

/// The boats whose rank, net score or any race differs, in the order of the new standings, then those no longer there.
/// Races are matched by name. A new reason for the same rank is no change.
#[must_use]
pub fn changes(before: &Standings, after: &Standings) -> Vec<BoatChange> {
    let (old, new) = (places(before), places(after));
    let was: BTreeMap<_, _> = old.iter().map(|place| (place.key(), place)).collect();
    let is: BTreeMap<_, _> = new.iter().map(|place| (place.key(), place)).collect();
    let here = new.iter().filter_map(|place| change(was.get(&place.key()).copied(), Some(place)));
    let gone = old.iter().filter(|place| !is.contains_key(&place.key())).filter_map(|place| change(Some(place), None));
    here.chain(gone).collect()
}

/// Every boat where she stands.
fn places(standings: &Standings) -> Vec<Place<'_>> {
    let all = standings.standings.iter().map(|standing| Place { fleet: None, races: &standings.races, standing });
    let fleets = standings
        .fleets
        .iter()
        .flat_map(|fleet| fleet.standings.iter().map(|standing| Place { fleet: Some(&fleet.name), races: &fleet.races, standing }));
    all.chain(fleets).collect()
}

fn change(before: Option<&Place<'_>>, after: Option<&Place<'_>>) -> Option<BoatChange> {
    let either = after.or(before)?;
    let known = after.map_or(&[][..], |place| place.races);
    let dropped = before.map_or(&[][..], |place| place.races).iter().filter(|race| !known.contains(race));
    let races: Vec<RaceChange> = known
        .iter()
        .chain(dropped)
        .filter_map(|race| {
            let (was, is) = (before.and_then(|place| place.race(race)), after.and_then(|place| place.race(race)));
            (was != is).then(|| RaceChange {
                race: race.clone(),
                score: (was.map(|r| r.score), is.map(|r| r.score)),
                code: (was.and_then(|r| r.code), is.and_then(|r| r.code)),
                excluded: (was.map(|r| r.excluded), is.map(|r| r.excluded)),
            })
        })
        .collect();
    let rank = (before.map(|place| place.standing.rank), after.map(|place| place.standing.rank));
    let net = (before.map(|place| place.standing.net), after.map(|place| place.standing.net));
    let (fleet, boat) = (either.fleet.map(str::to_owned), either.standing.boat.clone());
    (rank.0 != rank.1 || net.0 != net.1 || !races.is_empty()).then_some(BoatChange { fleet, boat, rank, net, races })
}
