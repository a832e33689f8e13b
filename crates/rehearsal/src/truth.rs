//! What really happened, read from the true states by the definitions the debrief is held to.
//!
//! Leg kind by the course through the water against the true wind: beat to 65 degrees, run from 140, else reach. A tack's time
//! is when the bow passes through the wind, a gybe's when the stern does. Metres lost: steady speed made good of that boat in
//! that wind less her actual one, from the start of the turn until she is back to speed, 30 s at most.

use crate::helm::Sailor;
use crate::outing::{Doing, State};
use crate::plan::{CourseMark, MarkKind, Pass};
use crate::polar::Polar;
use measure::angle::{DEGREE, wrap};

/// Angle to the wind up to which a leg is a beat, degrees.
pub const BEAT_TO: f64 = 65.0;
/// Angle to the wind from which a leg is a run, degrees.
pub const RUN_FROM: f64 = 140.0;
/// A course that turns slower than this is straight, degrees a second.
const STRAIGHT: f64 = 4.0;
/// She is back to speed at this share of her steady speed.
const BACK_TO_SPEED: f64 = 0.95;
/// A gybe is charged only between courses at least this far from the wind, degrees.
const BROAD: f64 = 115.0;
/// Longest time a manoeuvre is charged for, s.
const LONGEST: usize = 30;

/// How a stretch was sailed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LegKind {
    /// Upwind.
    Beat,
    /// Across the wind.
    Reach,
    /// Downwind.
    Run,
    /// Not sailing: waiting, capsized.
    Stopped,
    /// Behind the coach boat.
    Tow,
}

/// A leg: from one second to another (the second not included).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// How it was sailed.
    pub kind: LegKind,
}

/// A tack or a gybe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Turn {
    /// Bow through the wind.
    Tack,
    /// Stern through the wind.
    Gybe,
}

/// A true tack or gybe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Manoeuvre {
    /// UTC seconds, to a tenth.
    pub time: f64,
    /// Which.
    pub kind: Turn,
    /// Mean course after less before, degrees, magnitude.
    pub turn: f64,
    /// Metres lost; none where she was not sailing steadily before or after.
    pub loss: Option<f64>,
    /// Whether she was well under way before and after: a drifting boat's turns are no fault of an estimator either way.
    pub clear: bool,
}

/// A true rounding of a course mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rounding {
    /// Closest approach, UTC seconds.
    pub time: f64,
    /// Windward or leeward.
    pub kind: MarkKind,
    /// Index of the course mark.
    pub mark: usize,
    /// Distance of the course mark from the straight inbound track (last 4 s before the turn), m.
    pub entry: f64,
    /// Distance of the course mark from the outbound track (5 s after the turn), m.
    pub exit: f64,
    /// Slowest speed over the ground in the rounding, m/s.
    pub min_speed: f64,
    /// Metres of way lost against the speeds before and after, from the start of the turn until back to speed.
    pub loss: f64,
}

/// A true pass of a line-up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lineup {
    /// The two boats.
    pub boats: (usize, usize),
    /// When the coach whistled, UTC seconds, to the minute as a coach writes it down.
    pub noted: f64,
    /// From when both sailed steadily on the same tack, UTC seconds.
    pub start: f64,
    /// Until when, UTC seconds.
    pub end: f64,
    /// Speed made good upwind of the first less the second, as it came out, m/s.
    pub difference: f64,
    /// Which boat carried the setting under trial.
    pub carries: Option<usize>,
}

/// Degrees a second that a boat turns at a second, from its neighbours.
fn turn_rate(states: &[State], i: usize) -> f64 {
    let course = |s: &State| s.over_water[0].atan2(s.over_water[1]);
    let (a, b) = (i.saturating_sub(1), (i + 1).min(states.len() - 1));
    if a == b { 0.0 } else { wrap(course(&states[b]) - course(&states[a])) / DEGREE / (b - a) as f64 }
}

/// Mean velocity through the water over seconds, as a speed and a course (rad).
fn mean_way(states: &[State]) -> (f64, f64) {
    let n = states.len().max(1) as f64;
    let v = states.iter().fold([0.0, 0.0], |v, s| [v[0] + s.over_water[0] / n, v[1] + s.over_water[1] / n]);
    (v[0].hypot(v[1]), v[0].atan2(v[1]))
}

/// Kind of each second: by the angle of the velocity made good over 9 s where no tack hides in it, else by the angle itself.
pub(crate) fn legs(states: &[State]) -> Vec<Leg> {
    let kinds: Vec<LegKind> = (0..states.len())
        .map(|i| {
            let window = &states[i.saturating_sub(4)..(i + 5).min(states.len())];
            let n = window.len() as f64;
            match states[i].doing {
                Doing::Towed => return LegKind::Tow,
                Doing::Capsized => return LegKind::Stopped,
                Doing::Waiting | Doing::Sailing => {}
            }
            if window.iter().map(State::speed).sum::<f64>() / n < 0.3 {
                return LegKind::Stopped;
            }
            // Seconds of a tack count as the seconds around them: the angle is read outside the turn.
            let wide = &states[i.saturating_sub(7)..(i + 8).min(states.len())];
            let crossing = window.iter().any(|s| s.wind_angle() > 0.0) && window.iter().any(|s| s.wind_angle() <= 0.0);
            let mut angles: Vec<f64> = if crossing { wide } else { window }.iter().map(|s| s.wind_angle().abs()).collect();
            angles.sort_by(f64::total_cmp);
            match angles[angles.len() / 2] {
                a if a <= BEAT_TO => LegKind::Beat,
                a if a >= RUN_FROM => LegKind::Run,
                _ => LegKind::Reach,
            }
        })
        .collect();
    let Some(first) = states.first() else { return Vec::new() };
    let mut legs: Vec<Leg> = Vec::new();
    for (i, &kind) in kinds.iter().enumerate() {
        let time = first.time + i as f64;
        match legs.last_mut() {
            Some(leg) if leg.kind == kind => leg.end = time + 1.0,
            _ => legs.push(Leg { start: time, end: time + 1.0, kind }),
        }
    }
    legs
}

/// Tacks and gybes: the wind changes sides and stays there for 3 s, held 3 s before, each side at least once 12 degrees off.
pub(crate) fn manoeuvres(states: &[State], polar: &Polar, sailor: &Sailor) -> Vec<Manoeuvre> {
    const HELD: usize = 3;
    const OFF_AXIS: f64 = 12.0;
    let angle: Vec<f64> = states.iter().map(State::wind_angle).collect();
    // Steady helming costs a little against the polar; the share kept is read from her own straight beats.
    let kept = kept_share(states, polar, sailor);
    let crossings: Vec<usize> = (1..states.len()).filter(|&i| (angle[i] > 0.0) != (angle[i - 1] > 0.0)).collect();
    let mut found: Vec<(usize, f64, Turn)> = Vec::new();
    let mut before_limit = 0;
    for (n, &k) in crossings.iter().enumerate() {
        let next = crossings.get(n + 1).copied().unwrap_or(states.len());
        let off = |range: core::ops::Range<usize>| range.into_iter().any(|i| (OFF_AXIS..=180.0 - OFF_AXIS).contains(&angle[i].abs()));
        let held = k - before_limit >= HELD && next - k >= HELD;
        if held && off(before_limit.max(k.saturating_sub(20))..k) && off(k..next.min(k + 20)) {
            let (a, b) = (angle[k - 1], angle[k]);
            let kind = if a.abs() + b.abs() < 180.0 { Turn::Tack } else { Turn::Gybe };
            let distance = |x: f64| if kind == Turn::Tack { x.abs() } else { 180.0 - x.abs() };
            let part = distance(a) / (distance(a) + distance(b)).max(1e-9);
            found.push((k, (k - 1) as f64 + part, kind));
        }
        before_limit = k;
    }
    let Some(first) = states.first() else { return Vec::new() };
    (0..found.len())
        .map(|n| {
            let (k, at, kind) = found[n];
            let last = if n > 0 { found[n - 1].0 + 2 } else { 0 };
            let next = found.get(n + 1).map_or(states.len(), |f| f.0.saturating_sub(2));
            let begin = (last..k).rev().find(|&i| turn_rate(states, i).abs() < STRAIGHT).unwrap_or(last.min(k));
            let straight = (k..next).find(|&i| turn_rate(states, i).abs() < STRAIGHT).unwrap_or(k);
            let (b0, a1) = (begin.saturating_sub(4).max(last.min(begin)), (straight + 6).min(next.max(straight + 1)).min(states.len()));
            let (before, after) = (&states[b0..=begin], &states[straight..a1]);
            let turn = wrap(mean_way(after).1 - mean_way(before).1).abs() / DEGREE;
            let around = &states[k.saturating_sub(6)..(k + 10).min(states.len())];
            let (speed_before, speed_after) = (mean_way(before).0, mean_way(after).0);
            let clear = around.iter().all(|s| s.doing == Doing::Sailing) && speed_before > 0.45 && speed_after > 0.3;
            let steady_angle = match kind {
                Turn::Tack => None,
                Turn::Gybe => Some(0.5 * (mean_angle(before) + mean_angle(after)) * DEGREE),
            };
            let reference = |s: &State| kept * steady(s, polar, sailor, steady_angle);
            let back = (straight..(begin + LONGEST).min(next))
                .find(|&i| states[i].made_good().abs() >= BACK_TO_SPEED * reference(&states[i]))
                .unwrap_or((begin + LONGEST).min(next));
            let back = back.min(states.len()).max(begin);
            let way = if kind == Turn::Tack { 1.0 } else { -1.0 };
            let loss = states[begin..back].iter().map(|s| reference(s) - way * s.made_good()).sum();
            let (a, b) = (mean_angle(before), mean_angle(after));
            // Speed made good means something on a beat and on a broad course only.
            let useful = if kind == Turn::Tack { a.max(b) < BEAT_TO } else { a.min(b) > BROAD };
            let whole = clear && useful && next >= straight + 8 && begin >= last;
            Manoeuvre { time: first.time + at, kind, turn, loss: whole.then_some(loss), clear }
        })
        .collect()
}

fn mean_angle(states: &[State]) -> f64 {
    states.iter().map(|s| s.wind_angle().abs()).sum::<f64>() / states.len().max(1) as f64
}

/// Steady speed made good of that boat in that wind: at her own best angle, or at a given one.
fn steady(s: &State, polar: &Polar, sailor: &Sailor, angle: Option<f64>) -> f64 {
    let wind = s.wind_water.speed;
    let angle = angle.unwrap_or_else(|| polar.upwind(wind) + sailor.point);
    let share = (angle / (100.0 * DEGREE)).min(1.0);
    let skill = sailor.up * (1.0 - share) + sailor.down * share;
    (polar.speed(wind, angle) * skill * angle.cos()).abs()
}

fn kept_share(states: &[State], polar: &Polar, sailor: &Sailor) -> f64 {
    let (mut made, mut could) = (0.0, 0.0);
    for i in 40..states.len() {
        let steady_beat = states[i - 40..=i].iter().all(|s| {
            s.doing == Doing::Sailing && s.wind_angle().abs() < BEAT_TO && (s.wind_angle() > 0.0) == (states[i].wind_angle() > 0.0)
        });
        if steady_beat {
            made += states[i].made_good();
            could += steady(&states[i], polar, sailor, None);
        }
    }
    if could > 30.0 { made / could } else { 0.97 }
}

pub(crate) fn roundings(states: &[State], marks: &[CourseMark], passed: impl Iterator<Item = (usize, f64)>) -> Vec<Rounding> {
    let Some(first) = states.first() else { return Vec::new() };
    passed
        .filter(|(m, _)| marks[*m].kind != MarkKind::Wing)
        .filter_map(|(m, t)| {
            let mark = &marks[m];
            let far = |s: &State| (s.x - mark.x).hypot(s.y - mark.y);
            let i = t as usize;
            let near = i.saturating_sub(15)..(i + 16).min(states.len());
            let k = near.min_by(|&a, &b| far(&states[a]).total_cmp(&far(&states[b])))?;
            // The turn: the stretch around the closest approach that ends where the course is straight for two seconds.
            let bends = |i: usize| turn_rate(states, i).abs() >= STRAIGHT;
            let turning = (k.saturating_sub(8)..(k + 9).min(states.len())).filter(|&i| bends(i));
            let (lo, hi) = turning.fold((usize::MAX, 0), |(lo, hi), i| (lo.min(i), hi.max(i)));
            let (lo, hi) = if lo > hi { (k, k) } else { (lo, hi) };
            if lo < 6 || hi + 8 >= states.len() || states[lo - 6..hi + 8].iter().any(|s| s.doing != Doing::Sailing) {
                return None;
            }
            let entry = distance_from_line(&states[lo - 4..=lo], mark);
            let exit = distance_from_line(&states[hi..=hi + 5], mark);
            let window = &states[lo..=hi + 5];
            let pace = |s: &State| s.over_ground[0].hypot(s.over_ground[1]);
            let min_speed = window.iter().map(pace).fold(f64::MAX, f64::min);
            let mean = |r: &[State]| r.iter().map(State::speed).sum::<f64>() / r.len().max(1) as f64;
            let (inbound, outbound) =
                (mean(&states[lo - 6..lo]), mean(&states[(hi + 12).min(states.len() - 7)..(hi + 18).min(states.len())]));
            let end = (hi..(lo + LONGEST).min(states.len())).find(|&i| states[i].speed() >= BACK_TO_SPEED * outbound).unwrap_or(hi);
            let loss = states[lo..end]
                .iter()
                .enumerate()
                .map(|(i, s)| {
                    let part = (i as f64 / (hi - lo).max(1) as f64).min(1.0);
                    inbound * (1.0 - part) + outbound * part - s.speed()
                })
                .sum();
            Some(Rounding { time: first.time + k as f64, kind: mark.kind, mark: m, entry, exit, min_speed, loss })
        })
        .collect()
}

/// Distance of a course mark from the straight line through the first and last of some states.
fn distance_from_line(states: &[State], mark: &CourseMark) -> f64 {
    let (Some(a), Some(b)) = (states.first(), states.last()) else { return 0.0 };
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let length = dx.hypot(dy);
    if length < 1e-9 { 0.0 } else { ((mark.x - a.x) * dy - (mark.y - a.y) * dx).abs() / length }
}

/// Time after the whistle in which boats still gather way, s.
const GATHERING: usize = 22;

pub(crate) fn lineups(passes: &[Pass], states: &[Vec<State>]) -> Vec<Lineup> {
    passes
        .iter()
        .filter_map(|p| {
            let (a, b) = (&states[p.boats.0], &states[p.boats.1]);
            let both = |i: usize| {
                let (x, y) = (&a[i], &b[i]);
                let sails = |s: &State| s.doing == Doing::Sailing && s.wind_angle().abs() < 72.0 && s.speed() > 0.35;
                sails(x) && sails(y) && (x.wind_angle() > 0.0) == (y.wind_angle() > 0.0)
            };
            let from = p.start as usize + GATHERING;
            let to = (p.end as usize).min(a.len());
            let start = (from..to).find(|&i| both(i))?;
            let end = (start..to).find(|&i| !both(i)).unwrap_or(to);
            if end < start + 60 {
                return None;
            }
            let difference = made_good_difference(a, b, start, end);
            let origin = a[0].time;
            let noted = ((origin + p.start) / 60.0).round() * 60.0;
            Some(Lineup { boats: p.boats, noted, start: origin + start as f64, end: origin + end as f64, difference, carries: p.carries })
        })
        .collect()
}

/// Mean speed made good upwind of one boat less another's between two seconds, in the mean wind of both, m/s.
pub(crate) fn made_good_difference(a: &[State], b: &[State], start: usize, end: usize) -> f64 {
    let end = end.min(a.len()).min(b.len());
    let start = start.min(end.saturating_sub(1));
    let wind = (start..end).fold([0.0, 0.0], |w, i| {
        let (u, v) = (a[i].wind_water.vector(), b[i].wind_water.vector());
        [w[0] + u[0] + v[0], w[1] + u[1] + v[1]]
    });
    let size = wind[0].hypot(wind[1]).max(1e-9);
    let along = |i: usize| {
        let d = [a[i].over_water[0] - b[i].over_water[0], a[i].over_water[1] - b[i].over_water[1]];
        -(d[0] * wind[0] + d[1] * wind[1]) / size
    };
    (start..end).map(along).sum::<f64>() / (end - start).max(1) as f64
}
