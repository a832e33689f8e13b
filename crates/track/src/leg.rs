//! Legs: beat, reach, run, stopped, tow. By the course through the water against the wind (beat to 65 degrees, run from 140), the
//! likeliest run of kinds second by second (Viterbi 1967), so that a wave or a glance at a rival starts no leg.

use crate::fleet::{Boat, Fleet};
use measure::angle::DEGREE;

/// How a stretch was sailed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Upwind: to 65 degrees from the wind.
    Beat,
    /// Across the wind.
    Reach,
    /// Downwind: from 140 degrees.
    Run,
    /// Not sailing: waiting, capsized, ashore.
    Stopped,
    /// Behind another boat's line.
    Tow,
}

const KINDS: [Kind; 4] = [Kind::Beat, Kind::Reach, Kind::Run, Kind::Stopped];
/// Limits by the debrief's definition, and their softness.
const BEAT_TO: f64 = 65.0;
const RUN_FROM: f64 = 140.0;
const SOFT: f64 = 6.0;
/// Slower than about this is stopped, m/s. From the study of methods.
const STILL: (f64, f64) = (0.33, 0.05);
/// Log likelihood that a change of kind must gain, and what a second's evidence counts.
const SWITCH: f64 = 4.5;
const SECOND: f64 = 0.5;

/// The kind of each second; none where the boat is not on.
pub(crate) fn kinds(b: &Boat, angles: &[f64]) -> Vec<Option<Kind>> {
    let mut kinds = vec![None; angles.len()];
    let mut i = b.span.0;
    while i < b.span.1 {
        if !b.on[i] && !b.standing[i] {
            i += 1;
            continue;
        }
        let end = (i..b.span.1).find(|j| !b.on[*j] && !b.standing[*j]).unwrap_or(b.span.1);
        for (j, kind) in (i..end).zip(likeliest(b, angles, i, end)) {
            kinds[j] = Some(kind);
        }
        i = end;
    }
    bridge(&mut kinds, b.span);
    kinds
}

fn likeliest(b: &Boat, angles: &[f64], from: usize, to: usize) -> Vec<Kind> {
    let logistic = |x: f64| 1.0 / (1.0 + (-x).exp());
    let mut cost = [0.0; 4];
    let mut steps: Vec<[u8; 4]> = Vec::with_capacity(to - from);
    let mut buffer: Vec<f64> = Vec::with_capacity(16);
    for i in from..to {
        let (a, e) = (i.saturating_sub(3).max(from), (i + 4).min(to));
        let crossing = (a..e).any(|j| angles[j] > 0.0) && (a..e).any(|j| angles[j] <= 0.0);
        // Seconds of a tack count as the seconds around them.
        let (a, e) = if crossing { (i.saturating_sub(7).max(from), (i + 8).min(to)) } else { (a, e) };
        buffer.clear();
        buffer.extend(angles[a..e].iter().map(|t| t.abs() / DEGREE));
        buffer.sort_by(f64::total_cmp);
        let angle = buffer[buffer.len() / 2];
        let (a, e) = (i.saturating_sub(3).max(from), (i + 4).min(to));
        let speed = b.speed[a..e].iter().sum::<f64>() / (e - a) as f64;
        let still = if b.on[i] { logistic((STILL.0 - speed) / STILL.1) } else { 1.0 };
        let beat = logistic((BEAT_TO - angle) / SOFT);
        let run = logistic((angle - RUN_FROM) / SOFT);
        let reach = (1.0 - beat - run).max(0.0);
        let shares = [beat * (1.0 - still), reach * (1.0 - still), run * (1.0 - still), still];
        let best = (0..4).fold(0, |m, k| if cost[k] < cost[m] { k } else { m });
        let mut step = [0; 4];
        let mut next = [0.0; 4];
        for k in 0..4 {
            let (came, c) = if cost[k] <= cost[best] + SWITCH { (k, cost[k]) } else { (best, cost[best] + SWITCH) };
            step[k] = came as u8;
            next[k] = c - SECOND * (shares[k] + 0.01).ln();
        }
        cost = next;
        steps.push(step);
    }
    let mut k = (0..4).fold(0, |m, k| if cost[k] < cost[m] { k } else { m });
    let mut kinds = vec![Kind::Stopped; to - from];
    for (slot, step) in kinds.iter_mut().zip(&steps).rev() {
        *slot = KINDS[k];
        k = usize::from(step[k]);
    }
    kinds
}

/// Whether a boat sails or not, where nothing is known of the wind: `Reach` stands for sailing.
pub(crate) fn stopped_or_not(b: &Boat) -> Vec<Option<Kind>> {
    let across = vec![core::f64::consts::FRAC_PI_2; b.on.len()];
    kinds(b, &across)
}

/// A stretch of one kind on the grid, the last second not included.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stretch {
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) kind: Kind,
}

/// Seconds of one kind after another as stretches.
pub(crate) fn stretches(kinds: &[Option<Kind>]) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    for (i, kind) in kinds.iter().enumerate() {
        let Some(kind) = *kind else { continue };
        match found.last_mut() {
            Some(last) if last.kind == kind && last.to == i => last.to = i + 1,
            _ => found.push(Stretch { from: i, to: i + 1, kind }),
        }
    }
    found
}

/// Mean speed made good through the water over a stretch: to windward on a beat, to leeward on a run, none of the others.
pub(crate) fn made_good(b: &Boat, angles: &[f64], stretch: &Stretch) -> Option<f64> {
    let way = match stretch.kind {
        Kind::Beat => 1.0,
        Kind::Run => -1.0,
        Kind::Reach | Kind::Stopped | Kind::Tow => return None,
    };
    let seconds = (stretch.from..stretch.to).filter(|i| b.on[*i]);
    let (sum, n) = seconds.fold((0.0, 0.0), |s, i| (s.0 + way * crate::angle::made_good(b, angles, i), s.1 + 1.0));
    (n > 0.0).then(|| sum / n)
}

/// A stop at sea: the boat left off sailing from full way and lay for a while without the others, as a capsized boat does.
pub(crate) struct Stop {
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) capsized: bool,
}

/// Shortest stop worth telling, s.
const STOP: usize = 15;
/// A capsized boat is up again within this, s; longer is a break. Assumed.
const LONGEST_CAPSIZE: usize = 600;
/// A capsize takes her way within this time, s. Assumed.
const SUDDEN: usize = 10;

/// The stops of a boat among its stretches; of all boats, as others who wait too make a stop no capsize.
pub(crate) fn stops(fleet: &Fleet, boat: usize, kinds: &[Vec<Option<Kind>>], stretches: &[Stretch]) -> Vec<Stop> {
    let b = &fleet.boats[boat];
    let long = stretches.iter().filter(|s| s.kind == Kind::Stopped && s.to - s.from >= STOP);
    long.map(|s| {
        let mut others = (0, 0);
        for (other, kinds) in kinds.iter().enumerate().filter(|(o, _)| *o != boat) {
            let at = (s.from + 10).min(s.to - 1);
            if fleet.boats[other].on[at] || fleet.boats[other].standing[at] {
                others = (others.0 + 1, others.1 + usize::from(kinds[at] == Some(Kind::Stopped)));
            }
        }
        let way = |from: usize, to: usize| b.mean(from.max(b.span.0), to.min(b.span.1)).map_or(0.0, |m| m.0);
        let sailed = way(s.from.saturating_sub(25), s.from.saturating_sub(SUDDEN)) > 0.7 * b.pace;
        let again = s.to + 5 < b.span.1 && way(s.to + 5, s.to + 30) > 0.5 * b.pace;
        let alone = others.1 * 2 < others.0.max(1);
        let capsized = sailed && again && alone && (s.to - s.from) < LONGEST_CAPSIZE;
        Stop { from: s.from, to: s.to, capsized }
    })
    .collect()
}

/// Gaps up to this long, s, belong to the leg around them if it is of one kind on both sides; else a fix tells this much beside it.
const BRIDGED: usize = 60;
const BESIDE: usize = 3;

/// Fills gaps in the kinds of a boat.
fn bridge(kinds: &mut [Option<Kind>], span: (usize, usize)) {
    let mut i = span.0;
    while i < span.1 {
        if kinds[i].is_some() {
            i += 1;
            continue;
        }
        let end = (i..span.1).find(|j| kinds[*j].is_some()).unwrap_or(span.1);
        let before = i.checked_sub(1).filter(|j| *j >= span.0).and_then(|j| kinds[j]);
        let after = kinds.get(end).copied().flatten().filter(|_| end < span.1);
        if end - i <= BRIDGED && before.is_some() && before == after {
            kinds[i..end].fill(before);
        } else {
            if before.is_some() {
                kinds[i..(i + BESIDE).min(end)].fill(before);
            }
            if after.is_some() {
                kinds[end.saturating_sub(BESIDE).max(i)..end].fill(after);
            }
        }
        i = end;
    }
}

/// Boats behind one line: in file, one behind the other, and for minutes a rigid body, which boats under sail never are. Lengths in m,
/// times in s, speeds in m/s. Tuned on rehearsals: half of all tows are found, and hardly a reach in company is taken for one; a tow
/// that is not steady is told as a reach.
const TOW_APART: f64 = 80.0;
const TOW_ASIDE: f64 = 6.0;
const TOW_MOVED: f64 = 6.0;
const TOW_SECONDS: usize = 120;
const TOW_STEP: usize = 10;
const TOW_SPEED: f64 = 0.6;
/// Mean square, m2/s2, by which the velocity of ten seconds wanders about its mean: a motor's is steadier than a sail's.
const TOW_WANDERS: f64 = 0.0025;
/// Standard deviation of the boats' mean speeds: one line has one speed.
const TOW_SPEEDS: f64 = 0.018;
/// Neighbours in file keep at least this distance.
const TOW_CLOSE: f64 = 1.5;

/// Marks as towed the time in which at least half of the boats that are out, and three, go as one in file.
pub(crate) fn tows(fleet: &Fleet, kinds: &mut [Vec<Option<Kind>>]) {
    let boats = fleet.boats.len();
    if boats < 3 {
        return;
    }
    let mut from = 0;
    while from + TOW_SECONDS < fleet.len {
        let to = from + TOW_SECONDS;
        let middle = usize::midpoint(from, to);
        let out = fleet.boats.iter().filter(|b| b.on[middle] || b.standing[middle]).count();
        let moves: Vec<bool> = fleet
            .boats
            .iter()
            .map(|b| {
                let there = b.on[from] && b.on[middle] && b.on[to];
                there && (b.x[to] - b.x[from]).hypot(b.y[to] - b.y[from]) > TOW_SPEED * TOW_SECONDS as f64
            })
            .collect();
        for i in (0..boats).filter(|i| moves[*i]) {
            let with: Vec<usize> = (0..boats).filter(|j| moves[*j] && (*j == i || rigid(fleet, i, *j, [from, middle, to]))).collect();
            if with.len() * 2 >= out && with.len() > 2 && one_line(fleet, i, &with, [from, middle, to]) {
                kinds[i][from..to].iter_mut().filter(|s| s.is_some()).for_each(|s| *s = Some(Kind::Tow));
            }
        }
        from += TOW_STEP;
    }
}

/// The course of a boat over a window as sine and cosine.
fn course_over(b: &Boat, window: [usize; 3]) -> (f64, f64) {
    (b.x[window[2]] - b.x[window[0]]).atan2(b.y[window[2]] - b.y[window[0]]).sin_cos()
}

/// Whether two boats are in file and stay as they lie to each other.
fn rigid(fleet: &Fleet, i: usize, j: usize, window: [usize; 3]) -> bool {
    let (p, q) = (&fleet.boats[i], &fleet.boats[j]);
    let (sine, cosine) = course_over(p, window);
    let [a, m, e] = window.map(|k| [q.x[k] - p.x[k], q.y[k] - p.y[k]]);
    let moved = |p: [f64; 2], q: [f64; 2]| (q[0] - p[0]).hypot(q[1] - p[1]) < TOW_MOVED;
    let in_file = |p: [f64; 2]| (p[0] * cosine - p[1] * sine).abs() < TOW_ASIDE;
    m[0].hypot(m[1]) < TOW_APART && [a, m, e].into_iter().all(in_file) && moved(a, e) && moved(a, m) && moved(m, e)
}

/// Whether boats in file go as steadily and as much alike as behind a motor.
fn one_line(fleet: &Fleet, i: usize, with: &[usize], window: [usize; 3]) -> bool {
    let (mut wander, speeds): (Vec<f64>, Vec<f64>) = with.iter().map(|j| wanders(&fleet.boats[*j], window[0], window[2])).unzip();
    wander.sort_by(f64::total_cmp);
    let n = speeds.len() as f64;
    let mean = speeds.iter().sum::<f64>() / n;
    let spread = (speeds.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt();
    let (sine, cosine) = course_over(&fleet.boats[i], window);
    let mut along: Vec<f64> = with.iter().map(|j| &fleet.boats[*j]).map(|b| b.x[window[1]] * sine + b.y[window[1]] * cosine).collect();
    along.sort_by(f64::total_cmp);
    let apart = along.windows(2).all(|pair| pair[1] - pair[0] > TOW_CLOSE);
    wander[wander.len() / 2] < TOW_WANDERS && spread < TOW_SPEEDS && apart
}

/// Mean square of a boat's velocity over ten seconds about its mean over a window, and the speed of the mean.
fn wanders(b: &Boat, from: usize, to: usize) -> (f64, f64) {
    let parts: Vec<[f64; 2]> = (from..to)
        .step_by(10)
        .map(|k| {
            let end = (k + 10).min(to);
            let sum = b.ground[k..end].iter().fold([0.0; 2], |s, v| [s[0] + v[0], s[1] + v[1]]);
            [sum[0] / (end - k) as f64, sum[1] / (end - k) as f64]
        })
        .collect();
    let n = parts.len().max(1) as f64;
    let mean = parts.iter().fold([0.0; 2], |s, v| [s[0] + v[0] / n, s[1] + v[1] / n]);
    let square = parts.iter().map(|v| (v[0] - mean[0]).powi(2) + (v[1] - mean[1]).powi(2)).sum::<f64>() / n;
    (square, mean[0].hypot(mean[1]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_belongs_to_the_leg_around_it() {
        let of = |text: &str| -> Vec<Option<Kind>> {
            let kind = |c| match c {
                'b' => Some(Kind::Beat),
                'r' => Some(Kind::Run),
                _ => None,
            };
            text.chars().map(kind).collect()
        };
        for (before, after) in [
            ("bb....bb", "bbbbbbbb"),
            ("bb........rr", "bbbbb..rrrrr"),
            ("bb.rr", "bbrrr"),
            ("....bb..", ".bbbbbbb"),
            ("........", "........"),
        ] {
            let mut kinds = of(before);
            let count = kinds.len();
            bridge(&mut kinds, (0, count));
            assert_eq!(kinds, of(after), "{before}");
        }
    }

    #[test]
    fn stretches_end_where_kinds_change_and_where_nothing_is_known() {
        let kinds = [Some(Kind::Beat), Some(Kind::Beat), None, Some(Kind::Beat), Some(Kind::Run)];
        let spans: Vec<(usize, usize)> = stretches(&kinds).iter().map(|s| (s.from, s.to)).collect();
        assert_eq!(spans, [(0, 2), (3, 4), (4, 5)]);
    }
}
