//! What boats near each other do together, as a likelihood of each shift of a clock.
//!
//! An event of a boat has a rate of its own and is drawn by each event of a boat near by: a Poisson process with a mutually exciting part
//! (Hawkes 1971, Biometrika 58, 83). How often, and with what spread in time, is learned from the outing's own boats by expectation and
//! maximisation, so that a fleet that does nothing together gives no witness. Where boats gather way in one manner, the lag between two of
//! them is that at which their speeds fit best, as boats that first must tack gather it late.

use super::event::Event;
use super::{SHIFTS, shift};
use crate::fleet::{Boat, Fleet};
use rayon::prelude::*;

/// One kind of event, and how it is heard.
#[derive(Debug, Clone, Copy)]
pub(super) struct Habit {
    /// Boats as near as this draw each other along, m.
    pub(super) reach: f64,
    /// Spread of the lag of two boats before any is seen, s.
    pub(super) spread: f64,
    /// Lags are those of the speeds.
    pub(super) profile: bool,
    /// Log likelihoods count so much: events of one boat are no independent witnesses.
    pub(super) weight: f64,
}

/// An event of another boat near by.
struct Tie {
    other: usize,
    /// Seconds by which the own event is later, each by its own clock.
    later: f64,
    /// From 0 to 1: how alike they gathered way.
    trust: f64,
}

/// All events of a kind.
pub(super) struct Company {
    habit: Habit,
    /// By boat, the spread that her recorder's lattice gives to the times of all she did, s.
    unsure: Vec<f64>,
    boats: usize,
    seconds: f64,
    events: f64,
    /// By boat, and for each of her events that has any.
    ties: Vec<Vec<Vec<Tie>>>,
}

/// How boats do it: events a second of their own, those drawn by each event near by, and the spread of their lag, s.
#[derive(Debug, Clone, Copy)]
struct Manner {
    alone: f64,
    drawn: f64,
    spread: f64,
}

/// Events are tied within this time, s: twice the widest shift and a little.
const APART: f64 = 75.0;
/// Rounds of learning; those of no learning at all it starts from, in seconds and events.
const ROUNDS: usize = 12;
const BEFORE: (f64, f64) = (2000.0, 20.0);
/// The spread learned stays between these shares of that before.
const SPREAD: core::ops::RangeInclusive<f64> = 0.6..=1.8;
/// Speeds are compared from so long before an event to so long after it, s, and at lags to this far from that of the events.
const PROFILE: core::ops::RangeInclusive<i64> = -12..=18;
const LAG: i64 = 14;
/// Speeds that differ by this share of the pace halve the trust. Set on seeds 1 to 45.
const UNLIKE: f64 = 0.1;
/// A recorder that writes places on a lattice shows moments to this share of the time she takes from one place of it to the next; assumed. Less
/// than so many seconds is nothing.
const COARSE: f64 = 0.5;
const SURE: f64 = 0.2;
/// The trust of events whose speeds cannot be compared.
const UNCOMPARED: f64 = 0.1;

impl Company {
    pub(super) fn of(fleet: &Fleet, habit: Habit, events: &[Vec<Event>]) -> Self {
        let tied = |boat: usize, own: &Event| {
            let mut ties = Vec::new();
            for (other, list) in events.iter().enumerate().filter(|o| o.0 != boat) {
                let first = list.partition_point(|e| e.time < own.time - APART);
                for e in list[first..].iter().take_while(|e| e.time <= own.time + APART) {
                    if (e.place[0] - own.place[0]).hypot(e.place[1] - own.place[1]) < habit.reach {
                        let seen = own.time - e.time;
                        let alike = if habit.profile {
                            profile(&fleet.boats[boat], &fleet.boats[other], own.time, e.time)
                        } else {
                            Some((seen, 1.0))
                        };
                        let (later, trust) = alike.unwrap_or((seen, UNCOMPARED));
                        ties.push(Tie { other, later, trust });
                    }
                }
            }
            ties
        };
        let ties = (0..events.len())
            .into_par_iter()
            .map(|boat| events[boat].iter().map(|own| tied(boat, own)).filter(|t| !t.is_empty()).collect())
            .collect();
        let seconds = fleet.boats.iter().map(|b| (b.span.1 - b.span.0) as f64).sum();
        let unsure = fleet.boats.iter().map(|b| COARSE * b.recorder.step / b.pace.max(0.3)).collect();
        Self { habit, unsure, boats: events.len(), seconds, events: events.iter().map(|e| e.len() as f64).sum(), ties }
    }

    /// Adds the log likelihood of each shift of each boat's clock, where the clocks are already thought to be ahead by so much.
    pub(super) fn add(&self, ahead: &[f64], scores: &mut [Vec<f64>]) {
        let manner = self.manner(ahead);
        scores.par_iter_mut().enumerate().for_each(|(boat, score)| self.add_own(boat, None, &manner, ahead, score));
    }

    /// The same for one boat, without what another has seen of her.
    pub(super) fn add_without(&self, boat: usize, without: usize, ahead: &[f64], score: &mut [f64]) {
        self.add_own(boat, Some(without), &self.manner(ahead), ahead, score);
    }

    fn add_own(&self, boat: usize, without: Option<usize>, manner: &Manner, ahead: &[f64], score: &mut [f64]) {
        let mut own = vec![0.0; score.len()];
        for ties in &self.ties[boat] {
            for (i, s) in own.iter_mut().enumerate() {
                let heard = ties.iter().filter(|t| Some(t.other) != without);
                let drawn: f64 = heard.map(|t| t.trust * manner.density(t.later + ahead[t.other] - shift(i))).sum();
                *s += self.habit.weight * (1.0 + manner.drawn / manner.alone * drawn).ln();
            }
        }
        let own = if self.unsure[boat] > SURE { blurred(&own, self.unsure[boat]) } else { own };
        score.iter_mut().zip(own).for_each(|(s, o)| *s += o);
    }

    /// How the boats of this outing do it.
    fn manner(&self, ahead: &[f64]) -> Manner {
        let mut manner = Manner { alone: (self.events / self.seconds.max(1.0)).max(1e-6), drawn: 0.1, spread: self.habit.spread };
        let tied: f64 = self.ties.iter().map(|t| t.len() as f64).sum();
        let chances = self.events * (self.boats as f64 - 1.0);
        for _ in 0..ROUNDS {
            let (mut alone, mut drawn, mut square) = (self.events - tied, 0.0, 0.0);
            for (boat, ties) in self.ties.iter().enumerate().flat_map(|(b, t)| t.iter().map(move |t| (b, t))) {
                let lag = |t: &Tie| t.later - ahead[boat] + ahead[t.other];
                let part = |t: &Tie| manner.drawn * t.trust * manner.density(lag(t));
                let whole = manner.alone + ties.iter().map(part).sum::<f64>();
                alone += manner.alone / whole;
                for t in ties {
                    let share = part(t) / whole;
                    drawn += share;
                    square += share * lag(t).powi(2);
                }
            }
            let before = self.habit.spread;
            manner.alone = (alone + 2.0) / (self.seconds + BEFORE.0);
            manner.drawn = (drawn + 1.0) / (chances + BEFORE.1);
            let spread = ((square + BEFORE.1 * before * before) / (drawn + BEFORE.1)).sqrt();
            manner.spread = spread.clamp(SPREAD.start() * before, SPREAD.end() * before);
        }
        manner
    }
}

impl Manner {
    /// Normal density of a lag, 1/s.
    fn density(&self, lag: f64) -> f64 {
        (-0.5 * (lag / self.spread).powi(2)).exp() / (self.spread * 2.5066)
    }
}

/// A log likelihood of each shift where all times may be off together, normal with this spread, s.
fn blurred(score: &[f64], spread: f64) -> Vec<f64> {
    let top = score.iter().copied().fold(f64::MIN, f64::max);
    let likely: Vec<f64> = score.iter().map(|s| (s - top).exp()).collect();
    let kernel: Vec<f64> = (0..score.len()).map(|k| (-0.5 * (k as f64 / spread).powi(2)).exp()).collect();
    let one = |i: usize| {
        // Over the shifts there are.
        let (mut sum, mut whole) = (0.0, 0.0);
        for (j, l) in likely.iter().enumerate() {
            let k = kernel[i.abs_diff(j)];
            (sum, whole) = (sum + k * l, whole + k);
        }
        top + (sum / whole).max(f64::MIN_POSITIVE).ln()
    };
    (0..score.len()).map(one).collect()
}

/// By how much later one boat gathers way than another, s, and how alike they do, by their speeds about the events.
fn profile(a: &Boat, b: &Boat, one: f64, other: f64) -> Option<(f64, f64)> {
    let (one, other) = (one.round() as i64, other.round() as i64);
    let at = |x: &Boat, i: i64| usize::try_from(i).ok().filter(|i| *i < x.on.len() && x.on[*i]).map(|i| x.speed[i] / x.pace);
    let unlike: Vec<Option<f64>> = (-LAG..=LAG)
        .map(|lag| {
            let misses = PROFILE.filter_map(|k| Some((at(a, one + k)? - at(b, other + k + lag)?).powi(2)));
            let (sum, count) = misses.fold((0.0, 0), |s, m| (s.0 + m, s.1 + 1));
            (count > 20).then(|| sum / f64::from(count))
        })
        .collect();
    let best = (1..SHIFTS.min(unlike.len()) - 1)
        .filter(|k| unlike[*k].is_some())
        .min_by(|p, q| unlike[*p].unwrap_or(f64::MAX).total_cmp(&unlike[*q].unwrap_or(f64::MAX)))?;
    let (before, here, after) = (unlike[best - 1]?, unlike[best]?, unlike[best + 1]?);
    // At the edge nothing fits.
    if here >= before.min(after) {
        return None;
    }
    let part = 0.5 * (before - after) / (before - 2.0 * here + after);
    let lag = best as f64 - LAG as f64 + part.clamp(-0.5, 0.5);
    Some(((one - other) as f64 - lag, 1.0 / (1.0 + here / (UNLIKE * UNLIKE))))
}
