//! Legs: beat, reach, run, stopped, tow. By the course through the water against the wind (beat to 65 degrees, run from 140), the
//! likeliest run of kinds second by second (Viterbi 1967), so that a wave or a glance at a rival starts no leg.

use crate::fleet::{Boat, Fleet};
use crate::polar::Polar;
use crate::wind::Wind;
use measure::angle::{DEGREE, wrap};

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

/// Boats in file behind one line: near each other with nearly the same velocity for minutes.
const TOW_APART: f64 = 70.0;
const TOW_SECONDS: usize = 120;
const TOW_BLOCK: usize = 10;

/// Marks as towed the time in which at least half of the fleet moves as one in file, at a speed or angle that sailing there
/// would not give. A tow at a sailable speed on a reach cannot be told from sailing.
pub(crate) fn tows(fleet: &Fleet, wind: &Wind, polar: &Polar, angles: &[Vec<f64>], kinds: &mut [Vec<Option<Kind>>]) {
    let boats = fleet.boats.len();
    let blocks = fleet.len / TOW_BLOCK;
    if boats < 3 {
        return;
    }
    let mut towed = vec![vec![false; boats]; blocks];
    for (k, row) in towed.iter_mut().enumerate() {
        let (from, to) = (k * TOW_BLOCK, (k + 1) * TOW_BLOCK);
        let means: Vec<Option<(f64, f64)>> =
            fleet.boats.iter().map(|b| b.mean(from, to).filter(|m| m.0 > 0.6 && b.on[from] && b.on[to - 1])).collect();
        for i in 0..boats {
            let Some((v, c)) = means[i] else { continue };
            let like = (0..boats)
                .filter(|j| {
                    let Some((u, d)) = means[*j].filter(|_| *j != i) else { return false };
                    let apart = [fleet.boats[*j].x[from] - fleet.boats[i].x[from], fleet.boats[*j].y[from] - fleet.boats[i].y[from]];
                    let difference = (v * v + u * u - 2.0 * v * u * (c - d).cos()).max(0.0).sqrt();
                    let allowed = if fleet.boats[i].doppler && fleet.boats[*j].doppler { 0.16 } else { 0.3 };
                    let bearing = wrap(apart[0].atan2(apart[1]) - c).abs();
                    let in_file = bearing.min(core::f64::consts::PI - bearing) < 30.0 * DEGREE;
                    apart[0].hypot(apart[1]) < TOW_APART && difference < allowed && in_file
                })
                .count();
            row[i] = (like + 1) * 2 >= boats && like >= 2;
        }
    }
    for i in 0..boats {
        let mut k = 0;
        while k < blocks {
            if !towed[k][i] {
                k += 1;
                continue;
            }
            // One block missed is no end.
            let mut end = k;
            while end < blocks && (towed[end][i] || (end + 1 < blocks && towed[end + 1][i])) {
                end += 1;
            }
            if (end - k) * TOW_BLOCK >= TOW_SECONDS && unlike_sailing(fleet, i, wind, polar, &angles[i], k * TOW_BLOCK, end * TOW_BLOCK) {
                kinds[i][k * TOW_BLOCK..end * TOW_BLOCK].iter_mut().filter(|s| s.is_some()).for_each(|s| *s = Some(Kind::Tow));
            }
            k = end;
        }
    }
}

fn unlike_sailing(fleet: &Fleet, boat: usize, wind: &Wind, polar: &Polar, angles: &[f64], from: usize, to: usize) -> bool {
    let b = &fleet.boats[boat];
    let mut angle: Vec<f64> = (from..to).filter(|i| b.on[*i]).map(|i| angles[i].abs()).collect();
    angle.sort_by(f64::total_cmp);
    let Some(&middle) = angle.get(angle.len() / 2) else { return false };
    let strength = wind.speed_at(usize::midpoint(from, to)).map_or(wind.about, |w| w.0);
    let sailed = b.mean(from, to).map_or(0.0, |m| m.0);
    middle < wind.up - 12.0 * DEGREE || (sailed / polar.speed(strength, middle).max(0.1)).ln().abs() > 0.13
}
