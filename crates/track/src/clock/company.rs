//! What boats near each other do together, as a likelihood of each shift of a clock.
//!
//! An event of a boat has a rate of its own and is drawn by each event of a boat near by: a Poisson process with a mutually exciting part
//! (Hawkes 1971, Biometrika 58, 83). How often, and with what spread in time, is learned from the outing's own boats by expectation and
//! maximisation, so that a fleet that does nothing together gives no witness. A boat that has hardly waited goes alone more often: each rank
//! has its own rates. Where boats gather way in one manner, the lag between two of them is that at which their speeds fit best; as boats
//! that first must tack gather it late, it may as well be the lag between the moments at which they began, and which of the two tells is
//! learned too. Where several of the others went at nearly one moment, each is drawn to it (data sharpening: Choi and Hall 1999, Biometrika
//! 86, 941): the fleet's start is better known than any boat's.

use super::event::{Event, RANKS};
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
    /// Where lags may be those of the speeds or those of the moments at which boats began: spread of the latter, s.
    pub(super) begins: Option<f64>,
    /// Log likelihoods count so much: events of one boat are no independent witnesses.
    pub(super) weight: f64,
}

/// Lags by the speeds (or the events) and by the moments at which boats began, s.
type Lags = [f64; 2];

/// An event of a boat: whose, its rank, and the others' with their lags.
type Heard<'a> = (usize, usize, Vec<(&'a Tie, Lags)>);

/// An event of another boat near by.
struct Tie {
    other: usize,
    /// Ranks of the own event and of the other's.
    ranks: [usize; 2],
    /// Seconds by which the own event is later, each by its own clock: by the speeds, and by when each began.
    later: Lags,
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
    /// By rank.
    events: [f64; RANKS],
    /// By boat, and for each of her events that has any.
    ties: Vec<Vec<Vec<Tie>>>,
}

/// How boats do it: by rank events a second of their own and those drawn by each event near by of each rank; by way of the lag its share and spread, s.
#[derive(Debug, Clone, Copy)]
struct Manner {
    alone: [f64; RANKS],
    drawn: [[f64; RANKS]; RANKS],
    share: [f64; 2],
    spread: [f64; 2],
}

/// Events are tied within this time, s: the widest shift, and how far lags of speeds and of beginnings lie from those of events.
const APART: f64 = 50.0;
/// Rounds of learning; those of no learning at all it starts from, in seconds and events.
const ROUNDS: usize = 12;
const BEFORE: (f64, f64) = (2000.0, 20.0);
/// Events told before any is seen, of each rank, alone and drawn, and by each way of the lag.
const ALONE: f64 = 0.5;
const DRAWN: f64 = 0.25;
const EACH: f64 = 5.0;
/// Others that went within this time of each other went at one moment, s. Assumed.
const AT_ONCE: f64 = 3.0;
/// The spread learned starts from so many events of that before, and stays between these shares of it.
const LAGS: f64 = 5.0;
const SPREAD: core::ops::RangeInclusive<f64> = 0.6..=1.8;
/// Speeds are compared from so long before an event to so long after it, s, and at lags to this far from that of the events.
const PROFILE: core::ops::RangeInclusive<i64> = -12..=18;
const LAG: i64 = 14;
/// Speeds that differ by this share of the pace halve the trust. Set on seeds 201 to 206 and 301 to 306.
const UNLIKE: f64 = 0.2;
/// A recorder that writes places on a lattice shows moments to this share of the time she takes from one place of it to the next; assumed. Less
/// than so many seconds is nothing.
const COARSE: f64 = 0.5;
const SURE: f64 = 0.2;
/// Where this share of what boats do together is beyond pairs, they are a crowd. Assumed.
const CROWD: f64 = 0.5;
/// The trust of events whose speeds cannot be compared.
const UNCOMPARED: f64 = 0.1;

impl Company {
    pub(super) fn of(fleet: &Fleet, habit: Habit, events: &[Vec<Event>]) -> Self {
        // Shares of each boat's pace; not a number where she is not on.
        let share = |b: &Boat| b.speed.iter().zip(&b.on).map(|(v, on)| if *on { v / b.pace } else { f64::NAN }).collect();
        let speeds: Vec<Vec<f64>> = if habit.begins.is_some() { fleet.boats.iter().map(share).collect() } else { Vec::new() };
        let tied = |boat: usize, own: &Event| {
            let mut ties = Vec::new();
            for (other, list) in events.iter().enumerate().filter(|o| o.0 != boat) {
                let first = list.partition_point(|e| e.time < own.time - APART);
                for e in list[first..].iter().take_while(|e| e.time <= own.time + APART) {
                    if (e.place[0] - own.place[0]).hypot(e.place[1] - own.place[1]) < habit.reach {
                        let seen = own.time - e.time;
                        let alike = if habit.begins.is_some() {
                            profile(&speeds[boat], &speeds[other], own.time, e.time)
                        } else {
                            Some((seen, 1.0))
                        };
                        let (later, trust) = alike.unwrap_or((seen, UNCOMPARED));
                        ties.push(Tie { other, ranks: [own.rank, e.rank], later: [later, own.begun - e.begun], trust });
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
        let mut count = [0.0; RANKS];
        events.iter().flatten().for_each(|e| count[e.rank] += 1.0);
        Self { habit, unsure, boats: events.len(), seconds, events: count, ties }
    }

    /// Adds the log likelihood of each shift of each boat's clock, where the clocks are already thought to be ahead by so much.
    pub(super) fn add(&self, ahead: &[f64], scores: &mut [Vec<f64>]) {
        let manner = self.manner(ahead);
        scores.par_iter_mut().enumerate().for_each(|(boat, score)| self.add_own(boat, None, &manner, ahead, score));
    }

    /// The same for one boat, without what another has seen of her, as far as boats keep company beyond pairs.
    pub(super) fn add_without(&self, boat: usize, without: usize, ahead: &[f64], score: &mut [f64]) {
        let manner = self.manner(ahead);
        let mut own = vec![0.0; score.len()];
        self.add_own(boat, Some(without), &manner, ahead, &mut own);
        let crowd = (self.beyond_pairs([boat, without], &manner, ahead) / CROWD).min(1.0);
        score.iter_mut().zip(own).for_each(|(s, o)| *s += crowd * o);
    }

    /// The share of what all boats but two do together that each does with others than her usual companion. Boats that sail in pairs may be
    /// sent pair after pair, always so many seconds apart: then what one pair does says nothing of the other's clocks.
    fn beyond_pairs(&self, but: [usize; 2], manner: &Manner, ahead: &[f64]) -> f64 {
        let (mut all, mut beyond) = (0.0, 0.0);
        for (boat, events) in self.ties.iter().enumerate().filter(|b| !but.contains(&b.0)) {
            let mut with = vec![0.0; self.boats];
            for ties in events {
                let heard: Vec<&Tie> = ties.iter().filter(|t| !but.contains(&t.other)).collect();
                let Some(rank) = heard.first().map(|t| t.ranks[0]) else { continue };
                let lags = self.sharpened(&heard, ahead);
                let drawn = |(t, lags): (&&Tie, &Lags)| manner.density(t, lags, -ahead[boat]).iter().sum::<f64>();
                let parts: Vec<f64> = heard.iter().zip(&lags).map(drawn).collect();
                let whole = manner.alone[rank] + parts.iter().sum::<f64>();
                heard.iter().zip(parts).for_each(|(t, part)| with[t.other] += part / whole);
            }
            let sum: f64 = with.iter().sum();
            all += sum;
            beyond += sum - with.iter().copied().fold(0.0, f64::max);
        }
        if all > 0.5 { beyond / all } else { 0.0 }
    }

    fn add_own(&self, boat: usize, without: Option<usize>, manner: &Manner, ahead: &[f64], score: &mut [f64]) {
        let mut own = vec![0.0; score.len()];
        for ties in &self.ties[boat] {
            let heard: Vec<&Tie> = ties.iter().filter(|t| Some(t.other) != without).collect();
            let Some(rank) = heard.first().map(|t| t.ranks[0]) else { continue };
            let lags = self.sharpened(&heard, ahead);
            for (i, s) in own.iter_mut().enumerate() {
                let drawn: f64 = heard.iter().zip(&lags).map(|(t, lags)| manner.density(t, lags, -shift(i)).iter().sum::<f64>()).sum();
                *s += self.habit.weight * (1.0 + drawn / manner.alone[rank]).ln();
            }
        }
        let own = if self.unsure[boat] > SURE { blurred(&own, self.unsure[boat]) } else { own };
        score.iter_mut().zip(own).for_each(|(s, o)| *s += o);
    }

    /// The lags of one event's ties at the others' right times, each drawn to those near it.
    fn sharpened(&self, ties: &[&Tie], ahead: &[f64]) -> Vec<Lags> {
        let lags: Vec<Lags> = ties.iter().map(|t| t.later.map(|l| l + ahead[t.other])).collect();
        if self.habit.begins.is_none() {
            return lags;
        }
        let drawn = |one: usize, way: usize| {
            let (mut sum, mut whole) = (0.0, 0.0);
            for (k, (tie, lag)) in ties.iter().zip(&lags).enumerate() {
                let trust = if way == 0 && k != one { tie.trust } else { 1.0 };
                let weight = trust * (-0.5 * ((lag[way] - lags[one][way]) / AT_ONCE).powi(2)).exp();
                (sum, whole) = (sum + weight * lag[way], whole + weight);
            }
            sum / whole
        };
        (0..lags.len()).map(|one| [drawn(one, 0), drawn(one, 1)]).collect()
    }

    /// How the boats of this outing do it.
    fn manner(&self, ahead: &[f64]) -> Manner {
        let before = [self.habit.spread, self.habit.begins.unwrap_or(self.habit.spread)];
        let mut manner = Manner {
            alone: self.events.map(|e| (e / self.seconds.max(1.0)).max(1e-6)),
            drawn: [[0.025; RANKS]; RANKS],
            share: if self.habit.begins.is_some() { [0.5; 2] } else { [1.0, 0.0] },
            spread: before,
        };
        let each = self.ties.iter().enumerate().flat_map(|(boat, events)| events.iter().map(move |ties| (boat, ties)));
        let tied: Vec<Heard<'_>> = each
            .filter_map(|(boat, ties)| {
                let lags = self.sharpened(&ties.iter().collect::<Vec<_>>(), ahead);
                Some((boat, ties.first()?.ranks[0], ties.iter().zip(lags).collect()))
            })
            .collect();
        let mut untied = self.events;
        tied.iter().for_each(|(_, rank, _)| untied[*rank] -= 1.0);
        for _ in 0..ROUNDS {
            let (mut alone, mut drawn, mut square, mut ways) = (untied, [[0.0; RANKS]; RANKS], [0.0; 2], [0.0; 2]);
            for (boat, rank, ties) in &tied {
                let parts: Vec<Lags> = ties.iter().map(|(t, lags)| manner.density(t, lags, -ahead[*boat])).collect();
                let whole = manner.alone[*rank] + parts.iter().flatten().sum::<f64>();
                alone[*rank] += manner.alone[*rank] / whole;
                for ((tie, lags), parts) in ties.iter().zip(parts) {
                    for way in 0..2 {
                        let share = parts[way] / whole;
                        drawn[*rank][tie.ranks[1]] += share;
                        ways[way] += share;
                        square[way] += share * (lags[way] - ahead[*boat]).powi(2);
                    }
                }
            }
            for rank in 0..RANKS {
                manner.alone[rank] = (alone[rank] + ALONE) / (self.seconds + BEFORE.0);
                for (other, events) in self.events.iter().enumerate() {
                    let chances = events * (self.boats as f64 - 1.0);
                    manner.drawn[rank][other] = (drawn[rank][other] + DRAWN) / (chances + BEFORE.1);
                }
            }
            for way in 0..2 {
                let spread = ((square[way] + LAGS * before[way] * before[way]) / (ways[way] + LAGS)).sqrt();
                manner.spread[way] = spread.clamp(SPREAD.start() * before[way], SPREAD.end() * before[way]);
                if self.habit.begins.is_some() {
                    manner.share[way] = (ways[way] + EACH) / (ways[0] + ways[1] + 2.0 * EACH);
                }
            }
        }
        manner
    }
}

impl Manner {
    /// Events a second drawn by a tie where its lags are later by so much, by each way of the lag.
    fn density(&self, tie: &Tie, lags: &Lags, later: f64) -> [f64; 2] {
        let normal = |way: usize| (-0.5 * ((lags[way] + later) / self.spread[way]).powi(2)).exp() / (self.spread[way] * 2.5066);
        let drawn = self.drawn[tie.ranks[0]][tie.ranks[1]];
        [drawn * self.share[0] * tie.trust * normal(0), drawn * self.share[1] * normal(1)]
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
fn profile(a: &[f64], b: &[f64], one: f64, other: f64) -> Option<(f64, f64)> {
    let (one, other) = (one.round() as i64, other.round() as i64);
    let at = |x: &[f64], i: i64| usize::try_from(i).ok().and_then(|i| x.get(i)).copied().unwrap_or(f64::NAN);
    let own: Vec<f64> = PROFILE.map(|k| at(a, one + k)).collect();
    let hers: Vec<f64> = (PROFILE.start() - LAG..=PROFILE.end() + LAG).map(|k| at(b, other + k)).collect();
    let unlike: Vec<Option<f64>> = hers
        .windows(own.len())
        .map(|hers| {
            let (mut sum, mut count) = (0.0, 0);
            for miss in own.iter().zip(hers).map(|(a, b)| a - b).filter(|m| !m.is_nan()) {
                sum += miss * miss;
                count += 1;
            }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::{UNDER_WAY, WIDEST};

    /// Six starts of five boats side by side. They begin within two seconds; those that first must tack have way ten seconds later.
    fn starts(ahead: f64) -> Company {
        let event = |boat: usize, start: usize| {
            let scatter = ((boat * 7 + start * 5) % 5) as f64 - 2.0;
            let off = if boat == 0 { ahead } else { 0.0 };
            let begun = 300.0 * (start + 1) as f64 + 0.5 * scatter + off;
            let tacks = if (boat + start).is_multiple_of(3) { 10.0 } else { 0.0 };
            Event { time: begun + 3.0 + tacks, place: [8.0 * boat as f64, 0.0], begun, rank: 3 }
        };
        let events: Vec<Vec<Event>> = (0..5).map(|boat| (0..6).map(|start| event(boat, start)).collect()).collect();
        // Speeds that never change compare with nothing.
        let boats = (0..5).map(|_| super::super::event::tests::boat(&vec![[0.5, 0.0]; 2200])).collect();
        let fleet = Fleet { start: 0, len: 2200, boats, current: [[0.0; 2]; 2] };
        Company::of(&fleet, UNDER_WAY, &events)
    }

    #[test]
    fn moments_at_which_boats_began_tell_a_clock_where_gathering_way_does_not() {
        for ahead in [-9.0, 0.0, 12.0] {
            let mut scores = vec![vec![0.0; SHIFTS]; 5];
            starts(ahead).add(&[0.0; 5], &mut scores);
            let best = scores[0].iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map(|b| shift(b.0));
            assert!(best.is_some_and(|b| (b - ahead).abs() <= 1.0), "ahead {ahead}: {best:?}");
        }
    }

    #[test]
    fn a_clock_thought_right_is_heard_at_its_right_time() {
        let company = starts(12.0);
        let mut scores = vec![vec![0.0; SHIFTS]; 5];
        company.add(&[12.0, 0.0, 0.0, 0.0, 0.0], &mut scores);
        for (boat, score) in scores.iter().enumerate().skip(1) {
            let best = score.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map(|b| shift(b.0));
            assert!(best.is_some_and(|b| b.abs() <= 1.0), "boat {boat}: {best:?}");
        }
        // Without the only other one nobody is heard.
        let mut alone = vec![0.0; SHIFTS];
        let pair = Company { ties: company.ties.into_iter().take(2).collect(), ..starts(0.0) };
        let lone = Company {
            ties: pair.ties.into_iter().map(|e| e.into_iter().map(|t| t.into_iter().filter(|t| t.other < 2).collect()).collect()).collect(),
            ..starts(0.0)
        };
        lone.add_without(0, 1, &[0.0; 5], &mut alone);
        assert!(alone.iter().all(|s| *s == alone[WIDEST as usize]), "{alone:?}");
    }

    #[test]
    fn pairs_sent_one_after_another_do_not_judge_each_other() {
        // Twelve passes of two pairs, the second always seven seconds after the first; the clock of boat 2 is seven seconds fast or not.
        let between = |crowd: bool| {
            let boats = if crowd { 6 } else { 4 };
            let event = |boat: usize, pass: usize| {
                let late = if !crowd && boat / 2 == 1 { 7.0 } else { 0.0 };
                let off = if boat == 2 { 7.0 } else { 0.0 };
                let begun = 200.0 * (pass + 1) as f64 + late + off + 0.5 * ((boat * 3 + pass * 5) % 3) as f64;
                Event { time: begun + 3.0, place: [8.0 * boat as f64, 0.0], begun, rank: 3 }
            };
            let events: Vec<Vec<Event>> = (0..boats).map(|boat| (0..12).map(|pass| event(boat, pass)).collect()).collect();
            let still = || super::super::event::tests::boat(&vec![[0.5, 0.0]; 2700]);
            let fleet = Fleet { start: 0, len: 2700, boats: (0..boats).map(|_| still()).collect(), current: [[0.0; 2]; 2] };
            let mut score = vec![0.0; SHIFTS];
            Company::of(&fleet, UNDER_WAY, &events).add_without(2, 3, &vec![0.0; boats], &mut score);
            score[WIDEST as usize + 7] - score[WIDEST as usize]
        };
        assert!(between(false).abs() < 0.01, "{}", between(false));
        assert!(between(true) > 5.0, "{}", between(true));
    }
}
