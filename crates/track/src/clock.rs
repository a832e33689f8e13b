//! Clocks that are seconds off, told by the other boats.
//!
//! Three witnesses. Boats that wait side by side get under way together, at a start or for a line-up, and boats that sailed side by
//! side for minutes bear away at one sign. On a beat a shift of the wind reaches a boat's course when it reaches the others', and a
//! gust her speed. Every whole second either way is tried, and a shift is proposed only where the witnesses together are much
//! likelier with it than without. Times are never changed: the coach is asked.

use crate::fleet::{Boat, Fleet};
use crate::wind::{BLOCK, Look, Wind};
use measure::angle::{DEGREE, wrap};
use rayon::prelude::*;

/// A clock that seems wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ahead {
    /// Seconds by which the track's own times are ahead of the other boats'.
    pub(crate) seconds: f64,
    /// Standard deviation, s.
    pub(crate) sd: f64,
}

/// Largest shift looked for, s.
const WIDEST: i64 = 30;
/// A boat waits below the first share of her pace for this long, s, and is under way above the second for as long.
const WAITING: f64 = 0.45;
const UNDER_WAY: f64 = 0.55;
const LASTS: usize = 12;
/// Boats that get under way together lie this near to each other, m, and do so within this time, s.
const SIDE_BY_SIDE: f64 = 45.0;
const TOGETHER: f64 = 40.0;
/// Spread of the moments at which two boats get under way, s, and the share that do for other reasons. Assumed.
const REACTION: f64 = 2.5;
const OTHERWISE: f64 = 0.35;
/// Boats that sail side by side on a beat for this long, s, and bear away within [`WIDEST`] of each other do so at one sign, but for
/// two in company on a race's beat. Assumed.
const ABREAST: usize = 140;
/// Spread of the moments at which they bear away, s, and the share that do for other reasons. Assumed.
const AT_ONCE: f64 = 2.0;
const ALONE: f64 = 0.6;
/// A course that leaves the steady one by this much has turned, rad. Assumed.
const TURNED: f64 = 35.0 * DEGREE;
/// Looks of a beat that count as one: helms and local winds keep their mood.
const ALIKE: f64 = 3.5;
/// Log likelihood that a shift must gain, and the least one proposed, s. One clock in some twenty is off (assumed), by any of some twenty
/// spans that can be told apart: a shift must be as much likelier as that. A clock that is six seconds off may seem to be four.
const GAIN: f64 = 6.0;
const LEAST: f64 = 4.0;
/// Of two boats that sailed side by side either may be the wrong one: the other must be less likely by this much (twenty times).
const RIVAL: f64 = 3.0;
/// Their shifts are opposite to within this, s.
const OPPOSITE: f64 = 3.0;
/// A shift known less well than this, s, is not proposed.
const VAGUE: f64 = 2.7;

/// One boat gets under way.
struct Onset {
    time: f64,
    place: [f64; 2],
}

/// What is thought of the clocks.
#[derive(Debug, Clone, Default)]
pub(crate) struct Clocks {
    /// For each boat how far ahead her clock seems to be; none for those that seem right or cannot be told.
    pub(crate) ahead: Vec<Option<Ahead>>,
    /// Pairs of which one seems wrong and nobody can say which, and by how much, s.
    pub(crate) either: Vec<(usize, usize, f64)>,
}

/// Which clocks seem wrong.
pub(crate) fn clocks(fleet: &Fleet, wind: Option<&Wind>) -> Clocks {
    let boats = fleet.boats.len();
    let mut found = Clocks { ahead: vec![None; boats], either: Vec::new() };
    if boats < 3 {
        // Of two clocks nobody can say which is wrong.
        return found;
    }
    let onsets: Vec<Vec<Onset>> = fleet.boats.iter().map(onsets).collect();
    let ends = wind.map_or_else(|| vec![Vec::new(); boats], |w| ends(fleet, w));
    let readings = wind.map(|w| Readings::of(w, boats));
    let by_wind: Vec<Vec<f64>> = (0..boats)
        .into_par_iter()
        .map(|boat| {
            let mut score = vec![0.0; 2 * WIDEST as usize + 1];
            if let Some(readings) = &readings {
                readings.add(boat, &mut score);
            }
            score
        })
        .collect();
    // One wrong clock at a time: the clearest first, and the others are judged again without its error.
    for _ in 0..boats.div_ceil(3) {
        let ahead: Vec<f64> = found.ahead.iter().map(|f| f.map_or(0.0, |f| f.seconds)).collect();
        let settled = |boat: usize| found.ahead[boat].is_some() || found.either.iter().any(|e| e.0 == boat || e.1 == boat);
        let peaks: Vec<Option<(Ahead, f64)>> = (0..boats)
            .map(|boat| {
                (!settled(boat)).then(|| {
                    let mut score = together(&onsets, boat, &ahead);
                    at_once(&ends[boat], &ahead, &mut score);
                    score.iter_mut().zip(&by_wind[boat]).for_each(|(s, w)| *s += w);
                    peak(&score)
                })
            })
            .collect();
        let clear = |p: &(usize, Ahead, f64)| p.2 > GAIN && p.1.sd < VAGUE && p.1.seconds.abs() >= LEAST;
        let each = peaks.iter().enumerate().filter_map(|(boat, p)| p.map(|p| (boat, p.0, p.1)));
        let Some((boat, ahead, gain)) = each.clone().filter(clear).max_by(|a, b| a.2.total_cmp(&b.2)) else { break };
        let beside = |other: usize| ends[boat].iter().any(|e| e.0 == other);
        let rival = each.filter(|r| beside(r.0) && (r.1.seconds + ahead.seconds).abs() <= OPPOSITE && r.2 > gain - RIVAL);
        match rival.max_by(|a, b| a.2.total_cmp(&b.2)) {
            Some(rival) => found.either.push((boat, rival.0, ahead.seconds)),
            None => found.ahead[boat] = Some(ahead),
        }
    }
    found
}

/// The likeliest shift with its spread, and its lead over the best within two seconds of none.
fn peak(score: &[f64]) -> (Ahead, f64) {
    let top = score.iter().copied().fold(f64::MIN, f64::max);
    let (mut sum, mut mean, mut square) = (0.0, 0.0, 0.0);
    for (i, s) in score.iter().enumerate() {
        let (weight, shift) = ((s - top).exp(), i as f64 - WIDEST as f64);
        sum += weight;
        mean += weight * shift;
        square += weight * shift * shift;
    }
    mean /= sum;
    let sd = (square / sum - mean * mean).max(0.0).sqrt();
    let none = WIDEST as usize;
    let right = score[none - 2..=none + 2].iter().copied().fold(f64::MIN, f64::max);
    (Ahead { seconds: mean.round(), sd }, top - right)
}

/// When the boat gets under way after waiting.
fn onsets(b: &Boat) -> Vec<Onset> {
    let mut found = Vec::new();
    let (wait, go) = (WAITING * b.pace, UNDER_WAY * b.pace);
    let mut waited = 0;
    let mut i = b.span.0;
    while i + LASTS < b.span.1 {
        if !b.on[i] {
            waited = 0;
        } else if b.speed[i] < wait {
            waited += 1;
        } else if b.speed[i] >= go {
            let on = (i..i + LASTS).all(|k| b.on[k] && b.speed[k] > wait);
            if waited >= LASTS && on && b.speed[i] > b.speed[i - 1] {
                let part = (b.speed[i] - go) / (b.speed[i] - b.speed[i - 1]);
                found.push(Onset { time: i as f64 - part.clamp(0.0, 1.0), place: [b.x[i], b.y[i]] });
            }
            waited = 0;
        }
        i += 1;
    }
    found
}

/// Log likelihood of each shift by the moments at which the boat got under way beside others.
fn together(onsets: &[Vec<Onset>], boat: usize, ahead: &[f64]) -> Vec<f64> {
    let mut score = vec![0.0; 2 * WIDEST as usize + 1];
    for own in &onsets[boat] {
        let mut others: Vec<f64> = Vec::new();
        for (other, list) in onsets.iter().enumerate().filter(|(other, _)| *other != boat) {
            let near = |o: &&Onset| (o.place[0] - own.place[0]).hypot(o.place[1] - own.place[1]) < SIDE_BY_SIDE;
            let after = |o: &Onset| own.time - (o.time - ahead[other]);
            let nearest = list.iter().filter(near).map(after).min_by(|a, b| a.abs().total_cmp(&b.abs()));
            others.extend(nearest.filter(|d| d.abs() < TOGETHER));
        }
        if others.is_empty() {
            continue;
        }
        others.sort_by(f64::total_cmp);
        let middle = 0.5 * (others[others.len() / 2] + others[(others.len() - 1) / 2]);
        let spread = REACTION * (1.0 + 1.0 / others.len() as f64).sqrt();
        for (i, s) in score.iter_mut().enumerate() {
            let off = (middle - (i as f64 - WIDEST as f64)) / spread;
            let fits = (-0.5 * off * off).exp() / (spread * 2.5066);
            *s += ((1.0 - OTHERWISE) * fits + OTHERWISE / (2.0 * TOGETHER)).ln();
        }
    }
    score
}

/// For each boat the others beside which she sailed on a beat, and how much later than they she turned off it, s.
fn ends(fleet: &Fleet, wind: &Wind) -> Vec<Vec<(usize, f64)>> {
    const STEP: usize = 5;
    let boats = fleet.boats.len();
    let mut found = vec![Vec::new(); boats];
    let angle = |b: &Boat, i: usize| wrap(wind.from(i, [b.x[i], b.y[i]]) - b.course[i]);
    // The side each boat beats on, every few seconds; zero where she does not.
    let sides: Vec<Vec<f64>> = fleet
        .boats
        .iter()
        .map(|b| {
            let beats =
                |i: usize| b.on[i] && b.speed[i] > UNDER_WAY * b.pace && (25.0 * DEGREE..75.0 * DEGREE).contains(&angle(b, i).abs());
            (0..fleet.len).step_by(STEP).map(|i| if beats(i) { angle(b, i).signum() } else { 0.0 }).collect()
        })
        .collect();
    for (one, a) in fleet.boats.iter().enumerate() {
        for (two, b) in fleet.boats.iter().enumerate().skip(one + 1) {
            let mut together = 0;
            for (k, (side, other)) in sides[one].iter().zip(&sides[two]).enumerate() {
                let i = k * STEP;
                let (dx, dy) = (b.x[i] - a.x[i], b.y[i] - a.y[i]);
                let abeam = (dx * a.course[i].cos() - dy * a.course[i].sin()).abs();
                let near = dx.hypot(dy) < SIDE_BY_SIDE && abeam > 0.4 * dx.hypot(dy);
                if *side != 0.0 && side == other && near {
                    together += STEP;
                    continue;
                }
                if together >= ABREAST
                    && let (Some(t), Some(u)) = (turns_off(a, wind, i, together), turns_off(b, wind, i, together))
                    && (t - u).abs() <= WIDEST as f64
                {
                    found[one].push((two, t - u));
                    found[two].push((one, u - t));
                }
                together = 0;
            }
        }
    }
    found
}

/// When a boat bears away from the course she held for some seconds before `i`.
fn turns_off(b: &Boat, wind: &Wind, i: usize, held: usize) -> Option<f64> {
    let (from, to) = (i.saturating_sub(held.min(60)), i.saturating_sub(WIDEST as usize));
    let (_, steady) = b.mean(from, to)?;
    let off = |k: usize| wrap(b.course[k] - steady).abs();
    let end = (i + WIDEST as usize + LASTS).min(b.span.1);
    let turned = (to..end.saturating_sub(LASTS / 2)).find(|k| (*k..k + LASTS / 2).all(|k| b.on[k] && off(k) > TURNED))?;
    let w = wind.from(i, [b.x[i], b.y[i]]);
    if wrap(w - b.course[turned]).abs() < wrap(w - steady).abs() {
        return None;
    }
    let before = off(turned.checked_sub(1)?);
    Some(turned as f64 - ((off(turned) - TURNED) / (off(turned) - before).max(1e-9)).clamp(0.0, 1.0))
}

/// Adds the log likelihood of each shift by the moments of turning off.
fn at_once(ends: &[(usize, f64)], ahead: &[f64], score: &mut [f64]) {
    for (other, later) in ends {
        for (i, s) in score.iter_mut().enumerate() {
            let off = (later + ahead[*other] - (i as f64 - WIDEST as f64)) / AT_ONCE;
            let fits = (-0.5 * off * off).exp() / (AT_ONCE * 2.5066);
            *s += ((1.0 - ALONE) * fits + ALONE / (2.0 * WIDEST as f64)).ln();
        }
    }
}

/// What each boat's beats say of the wind's direction and, by her speed, of its gusts.
struct Readings {
    /// Block, direction, log speed; by boat.
    own: Vec<Vec<(f64, [f64; 2])>>,
    /// Sum and count over all boats in each block.
    sums: Vec<[f64; 3]>,
    /// By boat and block.
    each: Vec<Vec<[f64; 3]>>,
}

impl Readings {
    fn of(wind: &Wind, boats: usize) -> Self {
        let blocks = wind.looks.blocks();
        let beat = |i: usize| wind.beat[i] > 0.5;
        // Each boat's mean on each tack is hers alone.
        let mut means = vec![[[0.0; 3]; 2]; boats];
        let value = |l: &Look| [wrap(l.course - wind.direction[l.block]), l.speed.max(0.05).ln()];
        let side = |l: &Look| usize::from(wrap(wind.direction[l.block] - l.course) > 0.0);
        for (_, l) in wind.looks.all.iter().enumerate().filter(|(i, _)| beat(*i)) {
            let (m, v) = (&mut means[l.boat][side(l)], value(l));
            *m = [m[0] + 1.0, m[1] + v[0], m[2] + v[1]];
        }
        let mut own = vec![Vec::new(); boats];
        let mut sums = vec![[0.0; 3]; blocks];
        let mut each = vec![vec![[0.0; 3]; blocks]; boats];
        for (_, l) in wind.looks.all.iter().enumerate().filter(|(i, _)| beat(*i)) {
            let (m, v) = (means[l.boat][side(l)], value(l));
            // About the smoothed wind, and then with the wind put back: what is left of the boat's mean is a reading of it.
            let direction = wind.direction[l.block] + (v[0] - m[1] / m[0]).clamp(-20.0 * DEGREE, 20.0 * DEGREE);
            let speed = (v[1] - m[2] / m[0]).clamp(-0.4, 0.4);
            own[l.boat].push((l.block as f64, [direction, speed]));
            for s in [&mut sums[l.block], &mut each[l.boat][l.block]] {
                *s = [s[0] + 1.0, s[1] + direction, s[2] + speed];
            }
        }
        Self { own, sums, each }
    }

    /// Adds the log likelihood of each shift by the boat's readings against the others'.
    fn add(&self, boat: usize, score: &mut [f64]) {
        let blocks = self.sums.len();
        let others: Vec<[f64; 3]> = (0..blocks)
            .map(|k| {
                let (all, own) = (self.sums[k], self.each[boat][k]);
                [all[0] - own[0], all[1] - own[1], all[2] - own[2]]
            })
            .collect();
        let reach = WIDEST as usize / BLOCK + 1;
        // Only looks around which the others are seen for every shift tried: all shifts are then judged by the same ones.
        let kept: Vec<&(f64, [f64; 2])> = self.own[boat]
            .iter()
            .filter(|l| {
                let k = l.0 as usize;
                k >= reach && k + reach < blocks && others[k - reach..=k + reach].iter().all(|o| o[0] > 0.5)
            })
            .collect();
        if kept.len() < 20 {
            return;
        }
        for which in 0..2 {
            let at = |place: f64| {
                let (k, u) = (place as usize, place - place.floor());
                let mean = |k: usize| others[k][which + 1] / others[k][0];
                mean(k) * (1.0 - u) + mean(k + 1) * u
            };
            for (i, s) in score.iter_mut().enumerate() {
                let shift = (i as f64 - WIDEST as f64) / BLOCK as f64;
                let misses: Vec<f64> = kept.iter().map(|l| l.1[which] - at(l.0 - shift)).collect();
                let n = misses.len() as f64;
                let mean = misses.iter().sum::<f64>() / n;
                let square = misses.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / n;
                *s -= 0.5 * n / ALIKE * square.max(1e-9).ln();
            }
        }
    }
}
