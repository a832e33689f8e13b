//! One sailor's day solved: the beat in three winds on the tacks that differ, and how her boat is set up.

use std::collections::BTreeMap;

use advice::own::{ALL_ROUND_KNOTS, OwnSetup};
use boat::balance::{Boat, Tack};
use boat::chart::Cell;
use boat::crew::Sailor;
use boat::gauge::Gauge;
use boat::setup::{Leg, Request};
use measure::Length;
use measure::quantity::KNOT;
use rayon::prelude::*;
use squad::Crew;

use super::day::{SolvedWind, lengths_of as settings};
use crate::day::Day;

/// Winds of the card over the forecast: lighter, as forecast, stronger; each solved at its middle.
pub const SHARES: [f64; 3] = [0.65, 1.0, 1.35];
/// Half-width of each, share of the forecast.
const HALF: f64 = 0.15;

/// One sailor's winds, on both tacks where they differ. `find` answers the beat of a share of the wind on a tack; `step` hears of each.
pub fn winds(boat: &Boat, day: &Day, find: &(impl Fn(f64, Tack) -> Option<Cell> + Sync), step: &(impl Fn() + Sync)) -> [SolvedWind; 3] {
    let ten = ten_metres(day);
    let asked: Vec<_> = SHARES.iter().flat_map(|&share| tacks(boat).iter().map(move |&tack| (share, tack))).collect();
    let mut solved: Vec<_> = asked
        .into_par_iter()
        .map(|(share, tack)| {
            let beat = find(share, tack);
            step();
            (share, tack, beat)
        })
        .collect();
    SHARES.map(|share| {
        let mut of = |tack| solved.iter_mut().find(|s| s.0 == share && s.1 == tack).and_then(|s| s.2.take());
        SolvedWind { knots: (ten * (share - HALF), ten * (share + HALF)), beat: of(Tack::Starboard), port: of(Tack::Port) }
    })
}

/// The tacks a setting must serve.
#[must_use]
pub fn tacks(boat: &Boat) -> &'static [Tack] {
    if boat.tacks_differ() { &[Tack::Starboard, Tack::Port] } else { &[Tack::Starboard] }
}

/// A beat the search was content with; `None` where it found none, and a card prints none.
#[must_use]
pub fn beat(boat: &Boat, sailor: &Sailor, day: &Day, share: f64, tack: Tack, bands: bool) -> Option<Cell> {
    let conditions = day.conditions(share, tack);
    let request = Request { boat, sailor: *sailor, conditions, gusts: day.gusts, reach: None, bands };
    let beat = request.leg(Leg::Beat, 0.0).ok().filter(|beat| beat.converged)?;
    Some(Cell::of(&beat, conditions.wind.at_meter))
}

/// The day's wind at ten metres, knots.
#[must_use]
pub fn ten_metres(day: &Day) -> f64 {
    day.conditions(1.0, Tack::Starboard).wind.at(Length::metres(10.0)).si() / KNOT
}

/// How a boat is set up; where she has a base setup, with the beat it stands for.
#[must_use]
pub fn own_setup(boat: &Boat, crew: &Crew, day: &Day) -> OwnSetup {
    let listed = |settings: &BTreeMap<Gauge, f64>| settings.iter().map(|(g, v)| (*g, *v)).collect::<Vec<_>>();
    let (rigged, base) = (listed(&crew.boat.rigged), listed(&crew.boat.base));
    let usual = Day { given: ALL_ROUND_KNOTS * KNOT, height: 10.0, ..*day };
    let all_round = if base.is_empty() { None } else { beat(boat, &crew.sailor.body, &usual, 1.0, Tack::Starboard, false) };
    OwnSetup { rigged, base, all_round }
}

/// Settings of a share of the wind, between the winds solved by straight lines: those that matter there, in centimetres' gauges, by
/// their key in the words. `None` where a wind beside it has none.
#[must_use]
pub fn at(winds: &[SolvedWind; 3], boat: &Boat, own: &OwnSetup, share: f64) -> Option<Vec<(&'static str, f64)>> {
    let k = usize::from(share > SHARES[1]);
    let u = ((share - SHARES[k]) / (SHARES[k + 1] - SHARES[k])).clamp(0.0, 1.0);
    // At a wind that was solved the one beside it is not asked.
    let (low, high) = (settings(boat, own, &winds[k]), settings(boat, own, &winds[k + 1]));
    match (winds[k].beat.is_some(), winds[k + 1].beat.is_some()) {
        (true, _) if u < 1e-9 => Some(low),
        (_, true) if u > 1.0 - 1e-9 => Some(high),
        (true, true) => Some(low.iter().filter_map(|(key, a)| Some((*key, a + u * (high.iter().find(|h| h.0 == *key)?.1 - a)))).collect()),
        _ => None,
    }
}
