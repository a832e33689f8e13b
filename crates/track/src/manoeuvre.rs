//! Tacks and gybes: the wind changes sides, each side held three seconds and shown twelve degrees off the axis, with a turn and
//! with way on before and after. Metres lost by the definition of the debrief: steady speed made good of that boat in that wind
//! less her actual one, through the water, from the start of the turn until she is back to speed, 30 s at most.
//!
//! What she would have made good is read from all boats' steady beats at that moment, times what this boat makes of it, so that
//! a lull or a shift in the middle of a tack is not charged to it.

use crate::angle::made_good;
use crate::fleet::{Boat, Fleet};
use crate::leg::Kind;
use crate::wind::{BLOCK, Wind};
use measure::angle::{DEGREE, wrap};

/// Which way through the wind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Turn {
    /// Bow through the wind.
    Tack,
    /// Stern through the wind.
    Gybe,
}

/// A tack or gybe on the grid.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Found {
    /// Second of the grid, with its fraction.
    pub(crate) at: f64,
    pub(crate) kind: Turn,
    /// Rad.
    pub(crate) turn: f64,
    /// Fastest turning, rad/s.
    pub(crate) rate: f64,
    /// Seconds from the start of the turn until back to speed; none when she is not within 30 s.
    pub(crate) back: Option<f64>,
    pub(crate) loss: Option<f64>,
    /// Standard deviation of the loss, m.
    pub(crate) loss_sd: f64,
}

/// A side is held this long, s, and shown this far off the axis. As in the definition of the debrief's truth.
const HELD: usize = 3;
const OFF_AXIS: f64 = 12.0 * DEGREE;
/// Off dead downwind less is enough: the turn itself tells, and the wind is known to some degrees only. Tuned on rehearsals.
const OFF_RUN: f64 = 7.0 * DEGREE;
/// Seconds without a clear side that one turn may take.
const THROUGH: usize = 12;
/// Least change of course and rate of turning; least speeds before and after, m/s. From the study of methods.
const LEAST_TURN: f64 = 19.0 * DEGREE;
const LEAST_RATE: f64 = 4.5 * DEGREE;
const LEAST_SPEED: (f64, f64) = (0.40, 0.20);
/// Slower turning than this is straight, rad/s.
const STRAIGHT: f64 = 4.0 * DEGREE;
/// Back to speed at this share; longest time charged, s.
const BACK: f64 = 0.95;
const LONGEST: usize = 30;
/// Losses are told of tacks between beats, and of gybes between courses this broad.
const BEAT: f64 = 65.0 * DEGREE;
const BROAD: f64 = 115.0 * DEGREE;

/// Scatter of a steady beat's blocks where few are known, as a share. From rehearsals.
const FEW: f64 = 0.1;

/// Speed made good that a steady beat brought in each block: the fleet's level and each boat's factor, in logs.
pub(crate) struct Level {
    level: Vec<Option<f64>>,
    own: Vec<f64>,
    /// For each boat: block and residual of her steady beats.
    rest: Vec<Vec<(usize, f64)>>,
}

impl Level {
    pub(crate) fn of(fleet: &Fleet, wind: &Wind) -> Self {
        let boats = fleet.boats.len();
        let mut rows: Vec<(usize, usize, f64)> = Vec::new();
        for (i, l) in wind.looks.all.iter().enumerate() {
            let tau = wrap(wind.direction[l.block] - l.course).abs();
            if wind.beat[i] > 0.5 && tau < BEAT && l.change < 0.15 && l.speed > 0.3 {
                rows.push((l.block, l.boat, (l.speed * tau.cos()).max(0.05).ln()));
            }
        }
        let blocks = wind.direction.len();
        let mut own = vec![0.0; boats];
        let mut level = vec![None; blocks];
        for _ in 0..3 {
            let mut sums = vec![[0.0; 2]; blocks];
            for r in &rows {
                for (k, sum) in sums.iter_mut().enumerate().take(r.0 + 6).skip(r.0.saturating_sub(5)) {
                    let w = (-0.5 * ((k as f64 - r.0 as f64) / 2.0).powi(2)).exp();
                    *sum = [sum[0] + w, sum[1] + w * (r.2 - own[r.1])];
                }
            }
            level = sums.iter().map(|s| (s[0] > 0.4).then(|| s[1] / s[0])).collect();
            let mut each = vec![[0.0; 2]; boats];
            for r in &rows {
                if let Some(l) = level[r.0] {
                    each[r.1] = [each[r.1][0] + 1.0, each[r.1][1] + r.2 - l];
                }
            }
            for (o, e) in own.iter_mut().zip(&each) {
                *o = e[1] / (e[0] + 3.0);
            }
        }
        let mut rest = vec![Vec::new(); boats];
        for r in &rows {
            if let Some(l) = level[r.0] {
                rest[r.1].push((r.0, r.2 - l - own[r.1]));
            }
        }
        Self { level, own, rest }
    }

    /// What a boat would steadily make good upwind at a second, m/s; `shrunk` is her mood about it in log speed.
    fn at(&self, boat: usize, second: usize, mood: f64) -> Option<f64> {
        let k = (second / BLOCK).min(self.level.len().checked_sub(1)?);
        let near = (0..6).find_map(|d| {
            let before = k.checked_sub(d).and_then(|i| self.level[i]);
            before.or_else(|| self.level.get(k + d).copied().flatten())
        })?;
        Some((near + self.own[boat] + mood).exp())
    }

    /// What a boat usually makes good upwind in the wind of a second, m/s.
    pub(crate) fn usual(&self, boat: usize, second: usize) -> Option<f64> {
        self.at(boat, second, 0.0)
    }

    /// How her steady blocks scatter about it, as a share; [`FEW`] where there are few.
    pub(crate) fn scatter(&self, boat: usize) -> f64 {
        let Some(rest) = self.rest.get(boat).filter(|r| r.len() > 4) else { return FEW };
        (rest.iter().map(|r| r.1 * r.1).sum::<f64>() / rest.len() as f64).sqrt()
    }

    /// Her mean residual in the 30 s before and from 20 to 55 s after, shrunk.
    fn mood(&self, boat: usize, second: usize) -> f64 {
        let k = second / BLOCK;
        let near: Vec<f64> =
            self.rest[boat].iter().filter(|r| (r.0 + 3 >= k && r.0 < k) || (k + 2..k + 6).contains(&r.0)).map(|r| r.1).collect();
        if near.is_empty() { 0.0 } else { 0.35 * (near.iter().sum::<f64>() / near.len() as f64).clamp(-0.4, 0.4) }
    }
}

/// Tacks and gybes of a boat, in time.
pub(crate) fn manoeuvres(fleet: &Fleet, boat: usize, angles: &[f64], _kinds: &[Option<Kind>], level: &Level) -> Vec<Found> {
    let b = &fleet.boats[boat];
    // Stretches with the wind on one side.
    let mut sides: Vec<(usize, usize, f64)> = Vec::new();
    let mut i = b.span.0;
    while i < b.span.1 {
        if !b.on[i] {
            i += 1;
            continue;
        }
        let side = angles[i].signum();
        let end = (i..b.span.1).find(|j| !b.on[*j] || angles[*j].signum() != side).unwrap_or(b.span.1);
        let clear = (i..end).any(|j| (OFF_AXIS..=core::f64::consts::PI - OFF_RUN).contains(&angles[j].abs()));
        if end - i >= HELD && clear {
            match sides.last_mut() {
                // The same side again after a flicker.
                Some(last) if last.2 == side && i - last.1 <= THROUGH => last.1 = end,
                _ => sides.push((i, end, side)),
            }
        }
        i = end;
    }
    let mut found: Vec<Found> = Vec::new();
    for n in 1..sides.len() {
        let (before, after) = (sides[n - 1], sides[n]);
        if before.2 == after.2 || after.0 - before.1 > THROUGH || !b.on[before.1 - 1..=after.0].iter().all(|on| *on) {
            continue;
        }
        let first = before.0;
        let last = after.1;
        if let Some(m) = manoeuvre(b, boat, angles, level, (first, before.1, after.0, last)) {
            found.push(m);
        }
    }
    found
}

fn manoeuvre(b: &Boat, boat: usize, angles: &[f64], level: &Level, span: (usize, usize, usize, usize)) -> Option<Found> {
    let (first, left, entered, last) = span;
    // The crossing: among the changes of sign between the two held sides, the one turned through fastest.
    let k = (left..=entered)
        .filter(|k| angles[k - 1].signum() != angles[*k].signum())
        .max_by(|x, y| b.rate[*x].abs().total_cmp(&b.rate[*y].abs()))?;
    let (a0, a1) = (angles[k - 1].abs(), angles[k].abs());
    let kind = if a0 + a1 < core::f64::consts::PI { Turn::Tack } else { Turn::Gybe };
    let distance = |a: f64| if kind == Turn::Tack { a } else { core::f64::consts::PI - a };
    let part = distance(a0) / (distance(a0) + distance(a1)).max(1e-9);
    let begin = (first.max(k.saturating_sub(10))..k).rev().find(|i| b.rate[*i].abs() < STRAIGHT).unwrap_or(first.max(k.saturating_sub(10)));
    let straight = (k..last.min(k + 12)).find(|i| b.rate[*i].abs() < STRAIGHT).unwrap_or_else(|| (k + 3).min(last - 1));
    let (v0, c0) = b.mean(begin.saturating_sub(4).max(first), begin + 1)?;
    let (v1, c1) = b.mean(straight, (straight + 6).min(last))?;
    let turn = wrap(c1 - c0).abs();
    let rate = b.rate[begin..=straight].iter().map(|r| r.abs()).fold(0.0, f64::max);
    if turn < LEAST_TURN || rate < LEAST_RATE || v0 < LEAST_SPEED.0 || v1 < LEAST_SPEED.1 {
        return None;
    }
    // A boat that stops after the turn has not tacked, she has luffed up.
    let (s0, s1) = ((k + 6).min(last), (k + 15).min(last));
    if s1 > s0 + 2 && b.mean(s0, s1).is_some_and(|m| m.0 < 0.4 * v0) {
        return None;
    }
    let mean_angle = |from: usize, to: usize| {
        let n = (to - from).max(1) as f64;
        angles[from..to].iter().map(|a| a.abs()).sum::<f64>() / n
    };
    let (before, after) = (mean_angle(begin.saturating_sub(4).max(first), begin + 1), mean_angle(straight, (straight + 6).min(last)));
    let whole = last >= straight + 8;
    let (loss, back, loss_sd) = match kind {
        Turn::Tack if before.max(after) < BEAT && whole => {
            let mood = level.mood(boat, k);
            charge(b, angles, begin, straight, last, 1.0, |i| level.at(boat, i, mood))
        }
        Turn::Gybe if before.min(after) > BROAD && whole => {
            let steady = |from: usize, to: usize| b.mean(from.max(first), to.min(last)).map(|m| m.0);
            let speeds = [steady(begin.saturating_sub(15), begin), steady(straight + 10, straight + 25)];
            let known: Vec<f64> = speeds.into_iter().flatten().collect();
            let mean = known.iter().sum::<f64>() / known.len().max(1) as f64;
            let reference = mean * (0.5 * (before + after)).cos().abs();
            charge(b, angles, begin, straight, last, -1.0, |_| (!known.is_empty()).then_some(reference))
        }
        _ => (None, None, 0.0),
    };
    Some(Found { at: (k - 1) as f64 + part, kind, turn, rate, back, loss, loss_sd })
}

/// Metres lost, seconds until back to speed, and the loss's standard deviation.
fn charge(
    b: &Boat,
    angles: &[f64],
    begin: usize,
    straight: usize,
    last: usize,
    way: f64,
    reference: impl Fn(usize) -> Option<f64>,
) -> (Option<f64>, Option<f64>, f64) {
    let limit = (begin + LONGEST).min(last);
    // Back to speed is read over three seconds: one second's noise is no speed.
    let good = |i: usize| {
        let (a, e) = (i.saturating_sub(1), (i + 2).min(last));
        (a..e).map(|i| way * made_good(b, angles, i)).sum::<f64>() / (e - a) as f64
    };
    let back = (straight..limit).find(|i| reference(*i).is_some_and(|r| good(*i) >= BACK * r));
    let end = back.unwrap_or(limit);
    // One who has not half her speed half a minute later has left off sailing: that is no loss of the turn.
    let late = limit.saturating_sub(6).max(straight)..limit;
    let sailed = late.clone().filter_map(|i| Some(good(i) / reference(i)?)).sum::<f64>();
    if back.is_none() && sailed < 0.5 * late.len() as f64 {
        return (None, None, 0.0);
    }
    let mut loss = 0.0;
    for i in begin..end {
        match reference(i) {
            Some(r) if b.on[i] => loss += r - way * made_good(b, angles, i),
            _ => return (None, None, 0.0),
        }
    }
    // The reference is good to some 5 % over the time charged; velocities add little (assumed, held against rehearsals).
    let seconds = (end - begin) as f64;
    let sd = (0.05 * reference(begin).unwrap_or(1.0) * seconds).hypot(0.7);
    (Some(loss), back.map(|e| (e - begin) as f64), sd)
}
