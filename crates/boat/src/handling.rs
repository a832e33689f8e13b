//! When to move which control round a course mark: the order and the times that lose least, given how long hands take.
//!
//! What a control costs away from its best is asked of the solved boat: on the old leg moved too early, on the new leg moved too late,
//! half way and all the way, course and sheet trimmed anew each time ([`Request::trimmed`]); between them straight lines. One pair of
//! hands moves one control at a time. Costs of several controls add up, the leg changes at once at the mark, and the sheet is a control
//! like others: all three assumed. Then nothing is gained by waiting between two movements, and in each order the loss is a convex
//! function of when the hands begin: every order is tried and its best beginning found exactly.
//!
//! In a blow, when the sailor is flat out in a wind weaker by [`BLOW`], the vang comes off first and before the windward mark,
//! whatever it costs: a boom that cannot rise digs in as she bears away. That is safety by common practice (no source), no answer of the
//! model; what the vang is set to once she runs is no part of the plan then.
//!
//! Left out: that hands steer in the turn, that a child looks where it goes, the body's own moves, car and seat.

use crate::balance::{Case, Control, Status};
use crate::hands::Hands;
use crate::optimum::{Choice, Trimmed};
use crate::setup::{Leg, Request, Sit};
use crate::turn::Crewed;
use measure::Outcome;
use rayon::prelude::*;

/// It blows where the sailor is flat out in a wind this much weaker already. Assumed.
pub const BLOW: f64 = 1.15;
/// What is told of a movement too early or too late, s.
pub const OFF: f64 = 5.0;
/// A control that moves less than this share of what makes a difference to a search is not moved.
const STILL: f64 = 0.05;
/// What a child need not be told, m.
pub const NO_DIFFERENCE: f64 = 0.1;
/// Of orders that lose the same the one whose costly movements lie nearest to the mark is taken: a share that moves no loss by a millimetre.
const AMONG_EQUALS: f64 = 1e-5;
/// Halvings that find a beginning, from a minute either way: to a microsecond.
const HALVINGS: usize = 60;
const WITHIN: f64 = 60.0;

/// Which mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// Beat to run.
    Windward,
    /// Run to beat.
    Leeward,
}

impl Mark {
    const fn legs(self) -> [Leg; 2] {
        match self {
            Self::Windward => [Leg::Beat, Leg::Run],
            Self::Leeward => [Leg::Run, Leg::Beat],
        }
    }
}

/// One control on its way from one leg's setting to the next one's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Movement {
    /// Which.
    pub control: Control,
    /// Setting on the old leg, SI.
    pub from: f64,
    /// On the new one.
    pub to: f64,
    /// How long it takes, s.
    pub lasts: f64,
    /// Share of the speed made good that is lost on the old leg with the control not, half and all the way over.
    pub early: [f64; 3],
    /// On the new leg likewise.
    pub late: [f64; 3],
}

/// Three values over a share by straight lines, and their integral from nothing to a share.
fn between(values: &[f64; 3], share: f64) -> f64 {
    let x = 2.0 * share.clamp(0.0, 1.0);
    if x < 1.0 { values[0] + (values[1] - values[0]) * x } else { values[1] + (values[2] - values[1]) * (x - 1.0) }
}

fn integral(values: &[f64; 3], share: f64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    let to_here = |from: f64, a: f64| 0.5 * (a + between(values, share)) * (share - from);
    if share < 0.5 { to_here(0.0, values[0]) } else { 0.25 * (values[0] + values[1]) + to_here(0.5, values[1]) }
}

impl Movement {
    /// Seconds lost when it begins at a time, s, after the mark positive.
    #[must_use]
    pub fn lost(&self, begins: f64) -> f64 {
        let ends = begins + self.lasts;
        // How far it is over as she passes the mark.
        let over = (-begins / self.lasts).clamp(0.0, 1.0);
        let early = self.lasts * integral(&self.early, over) + self.early[2] * (-ends).max(0.0);
        let late = self.lasts * (integral(&self.late, 1.0) - integral(&self.late, over)) + self.late[0] * begins.max(0.0);
        early + late
    }

    /// What beginning later changes, per second.
    fn slope(&self, begins: f64) -> f64 {
        let over = (-begins / self.lasts).clamp(0.0, 1.0);
        between(&self.late, over) - between(&self.early, over)
    }
}

/// One step of the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// What moves, from where to where, and what it costs.
    pub movement: Movement,
    /// When hands begin, s: before the mark negative.
    pub begins: f64,
    /// Boat lengths before the mark at which they begin: after it negative.
    pub lengths: f64,
    /// Metres lost more when it comes [`OFF`] later or earlier, others as they are.
    pub later: f64,
    /// Earlier.
    pub earlier: f64,
    /// Whether it matters at all: done [`OFF`] too late after the mark, or as long before it, it loses [`NO_DIFFERENCE`].
    pub matters: bool,
}

/// The plan round one mark.
#[derive(Debug, Clone, PartialEq)]
pub struct Handling {
    /// Which mark.
    pub mark: Mark,
    /// In the order of the hands.
    pub steps: Vec<Step>,
    /// Metres made good on the new leg lost against hands that take no time.
    pub metres_lost: f64,
    /// Whether it blows, so that the vang comes first as safety.
    pub blow: bool,
}

/// Order and times round a mark.
///
/// # Errors
/// The model's status where the beat in the weaker wind, by which a blow is told, has no answer.
pub fn handling(crewed: &Crewed<'_>, mark: Mark) -> Result<Handling, Status> {
    let blow = mark == Mark::Windward && blows(&crewed.request)?;
    let mut movements = movements(crewed, mark);
    let mut first = None;
    if blow {
        movements.retain(|m| m.control != Control::Vang);
        if let Some(off) = vang_off(crewed) {
            first = Some(movements.len());
            movements.push(off);
        }
    }
    let made_good = crewed.leg(mark.legs()[1], false).whole.made_good.abs();
    let [before, after] = mark.legs().map(|leg| crewed.leg(leg, false).whole.speed);
    let found = best(&movements, first);
    let steps = found.iter().map(|&(k, begins)| {
        let movement = movements[k];
        let lost = movement.lost(begins);
        let more = |by: f64| made_good * (movement.lost(begins + by) - lost);
        let speed = if begins < 0.0 { before } else { after };
        let lengths = -begins * speed / crewed.request.boat.class.hull.length;
        let far = movement.lost(OFF).max(movement.lost(-OFF - movement.lasts));
        let matters = made_good * far >= NO_DIFFERENCE;
        Step { movement, begins, lengths, later: more(OFF), earlier: more(-OFF), matters }
    });
    let steps: Vec<Step> = steps.collect();
    let metres_lost = made_good * steps.iter().map(|s| s.movement.lost(s.begins)).sum::<f64>();
    Ok(Handling { mark, steps, metres_lost, blow })
}

/// Whether it blows for this sailor.
///
/// # Errors
/// The model's status where the beat has no answer.
pub fn blows(request: &Request<'_>) -> Result<bool, Status> {
    let mut weaker = Request { gusts: 1.0, bands: false, ..*request };
    weaker.conditions.wind.at_meter /= BLOW;
    Ok(weaker.leg(Leg::Beat, 0.0)?.sit == Sit::FlatOut)
}

/// The order and the beginnings that lose least; with `first`, that one before all others and over before the mark.
#[must_use]
pub fn best(movements: &[Movement], first: Option<usize>) -> Vec<(usize, f64)> {
    let mut best: Option<(f64, Vec<(usize, f64)>)> = None;
    let mut rest: Vec<usize> = (0..movements.len()).filter(|k| Some(*k) != first).collect();
    let fixed = usize::from(first.is_some());
    let mut order: Vec<usize> = first.into_iter().collect();
    order.append(&mut rest);
    each_order(&mut order, fixed, &mut |order| {
        let begins = beginnings(movements, order, first);
        let lost = order
            .iter()
            .zip(&begins)
            .map(|(k, b)| {
                let m = &movements[*k];
                m.lost(*b) + AMONG_EQUALS * (m.early[2] + m.late[0]) * (b + 0.5 * m.lasts).abs()
            })
            .sum::<f64>();
        if best.as_ref().is_none_or(|b| lost < b.0) {
            best = Some((lost, order.iter().copied().zip(begins).collect()));
        }
    });
    best.map(|b| b.1).unwrap_or_default()
}

/// Calls with every order of what stands from `from` on.
fn each_order(order: &mut Vec<usize>, from: usize, call: &mut impl FnMut(&[usize])) {
    if from + 1 >= order.len() {
        call(order);
        return;
    }
    for k in from..order.len() {
        order.swap(from, k);
        each_order(order, from + 1, call);
        order.swap(from, k);
    }
}

/// When each of an order begins, one on the heels of the other: where the slope of their sum passes nothing.
fn beginnings(movements: &[Movement], order: &[usize], first: Option<usize>) -> Vec<f64> {
    let mut after = Vec::with_capacity(order.len());
    let mut at = 0.0;
    for k in order {
        after.push(at);
        at += movements[*k].lasts;
    }
    let slope = |t: f64| order.iter().zip(&after).map(|(k, a)| movements[*k].slope(t + a)).sum::<f64>();
    let (mut low, mut high) = (-WITHIN, WITHIN);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if slope(middle) < 0.0 { low = middle } else { high = middle }
    }
    let begins = first.map_or(high, |k| high.min(-movements[k].lasts));
    after.into_iter().map(|a| begins + a).collect()
}

/// Every control that hands move at a mark, with what it costs early and late.
#[must_use]
pub fn movements(crewed: &Crewed<'_>, mark: Mark) -> Vec<Movement> {
    let [old, new] = mark.legs();
    let (before, after) = (crewed.leg(old, false), crewed.leg(new, false));
    let moved = |control: Control| -> Option<Movement> {
        let (from, to) = (before.controls[control.index()], after.controls[control.index()]);
        if (to - from).abs() < STILL * Choice::scale(control) {
            return None;
        }
        let at = |leg: Leg, best: &Trimmed, share: f64| lost(crewed, leg, best, control, from + share * (to - from));
        // What is early grows with the way gone, what is late shrinks: a bend the other way is the search's.
        let (all, half) = (at(old, before, 1.0), at(old, before, 0.5));
        let (none, part) = (at(new, after, 0.0), at(new, after, 0.5));
        let (early, late) = ([0.0, half.min(all), all], [none, part.min(none), 0.0]);
        Some(Movement { control, from, to, lasts: lasts(crewed, control, from, to), early, late })
    };
    [Control::Downhaul, Control::Gap, Control::Vang, Control::Board, Control::Boom].into_par_iter().filter_map(moved).collect()
}

/// The vang off on the beat, for safety; `None` where it is off already or the class has none.
fn vang_off(crewed: &Crewed<'_>) -> Option<Movement> {
    let (control, beat) = (Control::Vang, crewed.leg(Leg::Beat, false));
    let from = beat.controls[control.index()];
    if from < STILL * Choice::scale(control) {
        return None;
    }
    let [half, all] = [0.5, 0.0].map(|share| lost(crewed, Leg::Beat, beat, control, share * from));
    let lasts = lasts(crewed, control, from, 0.0);
    Some(Movement { control, from, to: 0.0, lasts, early: [0.0, half.min(all), all], late: [0.0; 3] })
}

/// How long hands take for a movement, s.
fn lasts(crewed: &Crewed<'_>, control: Control, from: f64, to: f64) -> f64 {
    let hands = Hands::of(crewed.request.sailor.skill);
    let sheet = &crewed.request.boat.class.sheet;
    match control {
        Control::Downhaul => hands.downhaul,
        Control::Gap => hands.outhaul,
        Control::Vang => hands.vang,
        Control::Board => hands.board,
        _ if to > from => (to - from) / hands.boom_out,
        _ => (from - to) * sheet.purchase.max(1.0) * sheet.on_boom / hands.sheet_in,
    }
}

/// Share of the speed made good that is lost on a leg with a control away from its best; all of it where she makes no way.
fn lost(crewed: &Crewed<'_>, leg: Leg, best: &Trimmed, control: Control, value: f64) -> f64 {
    let request = &crewed.request;
    let mut held = best.controls;
    held[control.index()] = value;
    let whole = if control == Control::Boom {
        // The sheet is what is trimmed anew otherwise.
        let case = Case { boat: request.boat, sailor: request.sailor, conditions: request.conditions };
        match case.solve(&held, Some(&best.state)) {
            Outcome::Solved((_, whole)) => Some(whole),
            Outcome::Status(_) => None,
        }
    } else {
        let near = Trimmed { controls: held, ..best.clone() };
        let found = request.trimmed(leg, &held, Some(&near)).or_else(|_| request.trimmed(leg, &held, None));
        found.ok().map(|(trimmed, _)| trimmed.whole)
    };
    whole.map_or(1.0, |w| (1.0 - w.made_good / best.whole.made_good).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn movement(lasts: f64, early: f64, late: f64) -> Movement {
        Movement { control: Control::Vang, from: 0.0, to: 1.0, lasts, early: [0.0, 0.3 * early, early], late: [late, 0.4 * late, 0.0] }
    }

    #[test]
    fn a_loss_is_the_integral_of_what_is_wrong() {
        let m = movement(3.0, 0.02, 0.10);
        for begins in [-9.0, -3.0, -2.0, -0.7, 0.0, 4.0] {
            let n = 200_000;
            let h = 40.0 / f64::from(n);
            let sum: f64 = (0..n)
                .map(|i| -20.0 + (f64::from(i) + 0.5) * h)
                .map(|t| between(if t < 0.0 { &m.early } else { &m.late }, (t - begins) / m.lasts) * h)
                .sum();
            assert!((sum - m.lost(begins)).abs() < 1e-4, "{begins}: {sum} {}", m.lost(begins));
            let slope = (m.lost(begins + 1e-6) - m.lost(begins - 1e-6)) / 2e-6;
            assert!((slope - m.slope(begins)).abs() < 1e-6);
        }
    }

    /// Alone, hands begin where moving costs as much on the one leg as on the other: with straight costs `a` early and `b` late at
    /// the share `b / (a + b)` over as she passes the mark.
    #[test]
    fn one_movement_straddles_the_mark() {
        let straight = Movement { early: [0.0, 0.01, 0.02], late: [0.06, 0.03, 0.0], ..movement(4.0, 0.0, 0.0) };
        let found = best(&[straight], None);
        assert!((found[0].1 + 4.0 * 0.06 / 0.08).abs() < 1e-6, "{found:?}");
    }

    /// The least over all orders and all beginnings on whole seconds and halves, waits between them allowed.
    fn brute(movements: &[Movement], left: &mut Vec<usize>, from: f64, step: f64) -> f64 {
        if left.is_empty() {
            return 0.0;
        }
        let mut least = f64::INFINITY;
        for k in 0..left.len() {
            let m = left.swap_remove(k);
            let mut begins = from;
            while begins < 14.0 {
                let lost = movements[m].lost(begins);
                if lost < least {
                    least = least.min(lost + brute(movements, left, begins + movements[m].lasts, step));
                }
                begins += step;
            }
            left.push(m);
            let last = left.len() - 1;
            left.swap(k, last);
        }
        least
    }

    #[test]
    fn no_order_and_no_times_lose_less() {
        let sets = [
            vec![movement(3.0, 0.01, 0.03), movement(4.0, 0.02, 0.01), movement(2.0, 0.05, 0.2), movement(2.5, 0.0, 0.004)],
            vec![movement(3.0, 0.3, 1.0), movement(3.0, 0.01, 0.02), movement(5.0, 0.02, 0.03), movement(1.5, 0.2, 0.1)],
        ];
        for set in sets {
            let found = best(&set, None);
            let exact: f64 = found.iter().map(|(k, b)| set[*k].lost(*b)).sum();
            let tried = brute(&set, &mut (0..set.len()).collect(), -14.0, 0.5);
            // Two tenths of a metre at a metre and a half a second.
            assert!(exact <= tried + 1e-3 && tried - exact < 0.2 / 1.5, "{exact} {tried}");
            assert!(found.windows(2).all(|w| (w[1].1 - w[0].1 - set[w[0].0].lasts).abs() < 1e-9));
        }
    }

    #[test]
    fn what_must_come_first_is_over_before_the_mark() {
        let set = vec![movement(3.0, 0.0, 0.5), movement(3.0, 0.5, 0.001), movement(2.0, 0.1, 0.1)];
        let found = best(&set, Some(1));
        assert!(found[0].0 == 1 && found[0].1 + 3.0 <= 1e-9, "{found:?}");
    }
}
