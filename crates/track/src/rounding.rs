//! Roundings of course marks, given or found: a change from a beat to a course off the wind or back within half a minute.
//!
//! Entry and exit are distances of the course mark from the straight track of the last four seconds before the turn and of five
//! seconds after it.

use crate::fleet::{Boat, Fleet};
use crate::middle::middle;
use measure::angle::DEGREE;

/// Which way a course mark turns a boat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum MarkKind {
    /// From a beat to a reach or run.
    Windward,
    /// From a run or reach to a beat.
    Leeward,
}

/// A course mark in the outing's plane.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mark {
    pub(crate) name: String,
    /// None for a given mark that may turn boats either way.
    pub(crate) kind: Option<MarkKind>,
    pub(crate) place: [f64; 2],
    /// None for a mark that was given.
    pub(crate) sd: Option<f64>,
}

/// A rounding on the grid.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rounding {
    pub(crate) at: usize,
    pub(crate) kind: MarkKind,
    pub(crate) mark: usize,
    pub(crate) entry: f64,
    pub(crate) exit: f64,
    pub(crate) slowest: f64,
    pub(crate) loss: f64,
}

/// A turn between upwind and downwind.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Change {
    pub(crate) boat: usize,
    pub(crate) at: usize,
    pub(crate) kind: MarkKind,
    /// Direction of the inside of the turn, unit vector.
    inside: [f64; 2],
}

/// Closer to the wind than the first is upwind, wider than the second off the wind; held this long within so many seconds.
const UPWIND: f64 = 76.0 * DEGREE;
const OFF: f64 = 92.0 * DEGREE;
const HELD: usize = 8;
const WITHIN: usize = 30;
/// Between the two the wind is abeam, rad; the turn is fastest within this of that, s.
const BEAM: f64 = 0.5 * (UPWIND + OFF);
const NEAR_BEAM: usize = 5;
/// Slower than this, m/s, and than this share of her pace she holds no course. Assumed.
const ADRIFT: f64 = 0.3;
const ADRIFT_SHARE: f64 = 0.35;
/// A given course mark is rounded within this, m.
const REACH: f64 = 22.0;
/// And lies no farther than this from the line of her course in the middle of the turn, m: who turns this wide around a buoy turns for
/// another reason. Receivers wander by 2 m and helms leave a buoy by some metres; assumed.
const BESIDE: f64 = 14.0;
/// Receivers wander by this within the turn, m. Assumed.
const WANDERS: f64 = 1.5;
/// Roundings of one found course mark lie within this, m; helms leave it about this far to the inside, m (assumed).
const BALL: f64 = 14.0;
const BERTH: f64 = 3.0;
const BERTH_SD: f64 = 3.5;
/// Found marks of one kind, at most.
const MOST: usize = 4;
/// Of the roundings within the second distance, m, this share lies within the first. Tuned on rehearsals.
const CORE: f64 = 8.0;
const ROUND: f64 = 24.0;
const TIGHT: f64 = 0.6;
/// The least beat between a leeward and a windward course mark, m. Assumed.
const BEAT: f64 = 40.0;
/// A course mark is rounded at least this often beside the most used one of its kind: where boats turn after a finish it is half. Assumed.
const SELDOM: f64 = 0.75;
/// Straight is slower than this, rad/s.
const STRAIGHT: f64 = 4.0 * DEGREE;

/// The changes of one boat.
pub(crate) fn changes(fleet: &Fleet, boat: usize, angles: &[f64]) -> Vec<Change> {
    let b = &fleet.boats[boat];
    let adrift = ADRIFT.min(ADRIFT_SHARE * b.pace);
    let class = |i: usize| {
        if !b.on[i] || b.speed[i] < adrift {
            0
        } else if angles[i].abs() < UPWIND {
            1
        } else if angles[i].abs() > OFF {
            2
        } else {
            3
        }
    };
    // Runs of a held class; what lies between is the turn.
    let mut runs: Vec<(usize, usize, u8)> = Vec::new();
    let mut i = b.span.0;
    while i < b.span.1 {
        let c = class(i);
        let end = (i..b.span.1).find(|j| class(*j) != c).unwrap_or(b.span.1);
        if c == 1 || c == 2 {
            match runs.last_mut() {
                Some(last) if last.2 == c && i - last.1 <= 6 && b.on[last.1..i].iter().all(|on| *on) => last.1 = end,
                _ if end - i >= HELD => runs.push((i, end, c)),
                _ => {}
            }
        }
        i = end;
    }
    let mut found = Vec::new();
    for pair in runs.windows(2) {
        let (a, e) = (pair[0], pair[1]);
        if a.2 == e.2 || e.0 - a.1 > WITHIN || !b.on[a.1 - 1..=e.0].iter().all(|on| *on) {
            continue;
        }
        let kind = if a.2 == 1 { MarkKind::Windward } else { MarkKind::Leeward };
        // A tack or gybe may come just before or after: her course crosses the wind's beam once between the two, and the middle of the
        // turn is where it is fastest near there.
        let abeam = (a.1..e.0).rfind(|i| (angles[i - 1].abs() < BEAM) != (angles[*i].abs() < BEAM)).unwrap_or(a.1);
        let window = abeam.saturating_sub(NEAR_BEAM).max(a.0)..(abeam + NEAR_BEAM + 1).min(e.1);
        let at = window.max_by(|x, y| b.rate[*x].abs().total_cmp(&b.rate[*y].abs())).unwrap_or(a.1);
        let side = b.rate[at].signum();
        let inside = [side * b.course[at].cos(), -side * b.course[at].sin()];
        found.push(Change { boat, at, kind, inside });
    }
    found
}

/// Course marks found from where boats round: the densest places first. A place where boats turn for another reason (after a finish,
/// back to the line) is told from a course mark by being wide, by being seldom used beside the others, or by lying no beat away from the
/// first course mark of the other kind. `from` is the wind's mean direction.
pub(crate) fn marks(fleet: &Fleet, changes: &[Change], from: f64) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let least = 3.max(fleet.boats.len().div_ceil(2));
    let place = |c: &Change| {
        let b = &fleet.boats[c.boat];
        [b.x[c.at] + BERTH * c.inside[0], b.y[c.at] + BERTH * c.inside[1]]
    };
    let within = |all: &[[f64; 2]], p: [f64; 2], radius: f64| all.iter().filter(|q| (q[0] - p[0]).hypot(q[1] - p[1]) < radius).count();
    for kind in [MarkKind::Windward, MarkKind::Leeward] {
        let all: Vec<[f64; 2]> = changes.iter().filter(|c| c.kind == kind).map(place).collect();
        let mut left = all.clone();
        let mut most = 0;
        for number in 1..=MOST {
            let Some(best) = left.iter().max_by_key(|p| within(&left, **p, BALL)).copied() else { break };
            let own: Vec<[f64; 2]> = left.iter().copied().filter(|q| (q[0] - best[0]).hypot(q[1] - best[1]) < BALL).collect();
            let middle = [0, 1].map(|axis| middle(&mut own.iter().map(|p: &[f64; 2]| p[axis]).collect::<Vec<_>>()));
            if own.len() < least || (own.len() as f64) < SELDOM * most as f64 {
                break;
            }
            left.retain(|q| (q[0] - middle[0]).hypot(q[1] - middle[1]) > 2.0 * BALL);
            let tight = within(&all, middle, CORE) as f64 / within(&all, middle, ROUND).max(1) as f64;
            if tight < TIGHT {
                continue;
            }
            most = most.max(own.len());
            let square = own.iter().map(|p| (p[0] - middle[0]).powi(2) + (p[1] - middle[1]).powi(2)).sum::<f64>();
            // How wide helms leave it is not known, and many roundings do not tell it.
            let sd = (0.5 * square / own.len() as f64 / own.len() as f64).sqrt().hypot(BERTH_SD);
            let word = if kind == MarkKind::Windward { "windward" } else { "leeward" };
            let name = if number == 1 { word.to_owned() } else { format!("{word} {number}") };
            marks.push(Mark { name, kind: Some(kind), place: middle, sd: Some(sd) });
        }
    }
    let upwind = |m: &Mark| m.place[0] * from.sin() + m.place[1] * from.cos();
    let first = |kind| marks.iter().find(|m| m.kind == Some(kind)).map(upwind);
    let (top, foot) = (first(MarkKind::Windward), first(MarkKind::Leeward));
    if top.is_none() {
        // Boats that come up to a beat at one place and nowhere bear away at another sail no course: that is where line-ups begin.
        return Vec::new();
    }
    marks.retain(|m| match m.kind {
        Some(MarkKind::Windward) => foot.is_none_or(|foot| upwind(m) > foot + BEAT),
        _ => top.is_none_or(|top| upwind(m) < top - BEAT),
    });
    marks
}

/// When she was closest: who lingers by the buoy is as close for some seconds, and a receiver wanders, so that the least distance is
/// no time by itself; distances count as far as they are near it.
fn closest(window: core::ops::Range<usize>, least: usize, far: impl Fn(usize) -> f64) -> usize {
    let (mut sum, mut mean) = (0.0, 0.0);
    for i in window.clone() {
        let weight = (-0.5 * ((far(i) - far(least)) / WANDERS).powi(2)).exp();
        (sum, mean) = (sum + weight, mean + weight * (i - window.start) as f64);
    }
    window.start + (mean / f64::max(sum, 1e-9)).round() as usize
}

/// The roundings among a boat's changes: those at a course mark of their kind.
pub(crate) fn roundings(b: &Boat, changes: &[Change], marks: &[Mark]) -> Vec<Rounding> {
    let mut found: Vec<Rounding> = Vec::new();
    for c in changes {
        let far = |i: usize, m: &Mark| (b.x[i] - m.place[0]).hypot(b.y[i] - m.place[1]);
        let inside = |c: &Change, m: &Mark| (m.place[0] - b.x[c.at]) * c.inside[0] + (m.place[1] - b.y[c.at]) * c.inside[1];
        let window = c.at.saturating_sub(12).max(b.span.0)..(c.at + 13).min(b.span.1);
        let nearest = marks
            .iter()
            .enumerate()
            .filter(|(_, m)| m.kind.is_none_or(|k| k == c.kind))
            .filter_map(|(n, m)| window.clone().min_by(|x, y| far(*x, m).total_cmp(&far(*y, m))).map(|i| (n, i, far(i, m))))
            .min_by(|x, y| x.2.total_cmp(&y.2));
        let Some((mark, at, _)) = nearest.filter(|n| n.2 < REACH && inside(c, &marks[n.0]).abs() < BESIDE) else { continue };
        // A mark that was found lies where boats turn: the middle of the turn is as good as its closest approach, and steadier.
        let at = if marks[mark].sd.is_some() { c.at } else { closest(window, at, |i| far(i, &marks[mark])) };
        if found.last().is_some_and(|r| r.mark == mark && at < r.at + 15) {
            continue;
        }
        let bends = |i: &usize| b.rate[*i].abs() >= STRAIGHT;
        let (lo, hi) = (c.at.saturating_sub(8).max(b.span.0)..(c.at + 9).min(b.span.1))
            .filter(bends)
            .fold((c.at, c.at), |s, i| (s.0.min(i), s.1.max(i)));
        if lo < b.span.0 + 6 || hi + 19 > b.span.1 || !b.on[lo - 6..hi + 8].iter().all(|on| *on) {
            continue;
        }
        let m = &marks[mark];
        let line = |i: usize, j: usize| {
            let (dx, dy) = (b.x[j] - b.x[i], b.y[j] - b.y[i]);
            ((m.place[0] - b.x[i]) * dy - (m.place[1] - b.y[i]) * dx).abs() / dx.hypot(dy).max(0.1)
        };
        let ground = |i: usize| b.ground[i][0].hypot(b.ground[i][1]);
        let slowest = (lo..=hi + 5).map(ground).fold(f64::MAX, f64::min);
        let mean = |from: usize, to: usize| b.speed[from..to].iter().sum::<f64>() / (to - from).max(1) as f64;
        let (inbound, outbound) = (mean(lo - 6, lo), mean(hi + 12, hi + 18));
        let end = (hi..(lo + 30).min(b.span.1)).find(|i| b.speed[*i] >= 0.95 * outbound).unwrap_or(hi);
        let loss = (lo..end)
            .map(|i| {
                let part = ((i - lo) as f64 / (hi - lo).max(1) as f64).min(1.0);
                inbound * (1.0 - part) + outbound * part - b.speed[i]
            })
            .sum();
        found.push(Rounding { at, kind: c.kind, mark, entry: line(lo - 4, lo), exit: line(hi, hi + 5), slowest, loss });
    }
    found
}
