//! Line-ups: two boats side by side on the same tack of a beat. The difference of speed made good over a pass, its split into speed and
//! height, and an interval that knows that neighbouring seconds are alike.

use crate::clock::Ahead;
use crate::fleet::Fleet;
use crate::wind::Wind;
use measure::angle::{DEGREE, wrap};

/// Boats this close are side by side when a pass begins, m, and stay so while this close. From the study of methods.
const BEGIN_APART: f64 = 45.0;
const APART: f64 = 70.0;
/// Shortest pass, s, and how long boats gather way after they begin, s.
const SHORTEST: usize = 100;
const GATHERING: usize = 22;
/// Closer to the wind than this is a beat here.
const CLOSE: f64 = 72.0 * DEGREE;
/// Least speed, m/s.
const LEAST: f64 = 0.35;
/// Seconds averaged before the scatter is read.
const MEAN: usize = 5;
/// Error of a pass's mean velocity by the receiver, m/s per boat: with Doppler, and from positions alone (over 180 s).
const RECEIVER: (f64, f64) = (0.009, 0.0135);
/// Under way is this share of her speed in the pass; its ends are drawn in by this much at the most, s. Assumed.
const FULL: f64 = 0.85;
const DRAWN_IN: usize = 25;
/// What a single pass cannot show of itself: slow things, as a share of speed made good.
const SLOW: f64 = 0.003;

/// A pass on the grid.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pass {
    pub(crate) boats: (usize, usize),
    pub(crate) start: usize,
    pub(crate) end: usize,
    /// Speed made good of the first less the second, m/s.
    pub(crate) difference: f64,
    pub(crate) sd: f64,
    /// The parts of it from speed and from height, m/s.
    pub(crate) speed: f64,
    pub(crate) height: f64,
    /// The two changed places since their last pass.
    pub(crate) swapped: bool,
}

/// The passes found, and those around given seconds of given pairs; `clocks` are those that seem wrong.
pub(crate) fn passes(
    fleet: &Fleet,
    wind: &Wind,
    angles: &[Vec<f64>],
    given: &[(usize, usize, usize)],
    clocks: &[Option<Ahead>],
) -> Vec<Pass> {
    let n = fleet.boats.len();
    let ok: Vec<Vec<bool>> = (0..n)
        .map(|b| {
            let boat = &fleet.boats[b];
            // A single slow or wide second ends no pass.
            let raw: Vec<bool> = (0..fleet.len).map(|i| boat.on[i] && boat.speed[i] > LEAST && angles[b][i].abs() < CLOSE).collect();
            (0..fleet.len)
                .map(|i| raw[i] || (i > 1 && i + 2 < fleet.len && boat.on[i] && (raw[i - 1] || raw[i - 2]) && (raw[i + 1] || raw[i + 2])))
                .collect()
        })
        .collect();
    let mut stretches: Vec<(usize, usize, usize, usize)> = Vec::new();
    for a in 0..n {
        for b in a + 1..n {
            let near = |i: usize, far: f64| {
                let (p, q) = (&fleet.boats[a], &fleet.boats[b]);
                (p.x[i] - q.x[i]).hypot(p.y[i] - q.y[i]) < far
            };
            let both = |i: usize| ok[a][i] && ok[b][i] && angles[a][i] * angles[b][i] > 0.0 && near(i, APART);
            let span = fleet.boats[a].span.0.max(fleet.boats[b].span.0)..fleet.boats[a].span.1.min(fleet.boats[b].span.1);
            let mut i = span.start;
            while i < span.end {
                if !both(i) {
                    // Boats seldom begin a pass within these seconds, and nobody else is looked at twice.
                    i += 1;
                    continue;
                }
                let side = angles[a][i].signum();
                let end = (i..span.end).find(|j| !both(*j) || angles[a][*j].signum() != side).unwrap_or(span.end);
                let noted = given.iter().any(|g| (g.0 == a && g.1 == b || g.0 == b && g.1 == a) && i < g.2 + 200 && end + 30 > g.2);
                if end - i >= if noted { 75 } else { SHORTEST } && near(i, BEGIN_APART) {
                    stretches.push((a, b, i, end));
                }
                i = end;
            }
        }
    }
    // Gathering way: dropped only where the pass began from slow.
    let mut rows: Vec<(Pass, Vec<f64>)> = Vec::new();
    for (a, b, i, end) in stretches {
        let fresh =
            [a, b].iter().any(|k| fleet.boats[*k].speed[i.saturating_sub(12)..i + 1].iter().any(|v| *v < 0.6 * fleet.boats[*k].pace));
        let start = if fresh { i + GATHERING } else { i + 5 };
        let end = end.saturating_sub(3);
        let (start, end) = under_way(fleet, a, b, start, end);
        // A clock that may be wrong leaves its doubt at both ends.
        let doubt = [a, b].iter().filter_map(|k| clocks[*k]).map(|c| c.seconds.abs() as usize).max().unwrap_or(0);
        let (start, end) = (start + doubt, end.saturating_sub(doubt));
        if end > start + 60 {
            rows.push(measured(fleet, wind, a, b, start, end));
        }
    }
    let pooled = pooled(&rows);
    let mut passes: Vec<Pass> = rows.into_iter().map(|(pass, means)| interval(fleet, wind, pass, &means, pooled)).collect();
    passes.sort_by_key(|p| (p.start, p.boats));
    mark_swaps(fleet, wind, &mut passes);
    passes
}

/// The part of a pass in which both boats have their way: its ends are drawn in while either is slower than usual in it.
fn under_way(fleet: &Fleet, a: usize, b: usize, start: usize, end: usize) -> (usize, usize) {
    let full: Vec<(usize, f64)> =
        [a, b].iter().map(|k| (*k, fleet.boats[*k].speed[start..end].iter().sum::<f64>() / (end - start).max(1) as f64)).collect();
    let slow = |from: usize| {
        full.iter().any(|(k, usual)| fleet.boats[*k].speed[from..from + MEAN].iter().sum::<f64>() < FULL * usual * MEAN as f64)
    };
    let (mut first, mut last) = (start, end);
    while first < (start + DRAWN_IN).min(end.saturating_sub(MEAN)) && slow(first) {
        first += 1;
    }
    while last > end.saturating_sub(DRAWN_IN).max(first + MEAN) && slow(last - MEAN) {
        last -= 1;
    }
    (first, last)
}

/// The difference, its split, and the means of five seconds of it.
fn measured(fleet: &Fleet, wind: &Wind, a: usize, b: usize, start: usize, end: usize) -> (Pass, Vec<f64>) {
    let (p, q) = (&fleet.boats[a], &fleet.boats[b]);
    let middle = |i: usize| [0.5 * (p.x[i] + q.x[i]), 0.5 * (p.y[i] + q.y[i])];
    let (mut e, mut n) = (0.0, 0.0);
    for i in start..end {
        let w = wind.from(i, middle(i));
        (e, n) = (e + w.sin(), n + w.cos());
    }
    let w = e.atan2(n);
    let along = |i: usize| (p.ground[i][0] - q.ground[i][0]) * w.sin() + (p.ground[i][1] - q.ground[i][1]) * w.cos();
    let all: Vec<f64> = (start..end).map(along).collect();
    let difference = all.iter().sum::<f64>() / all.len() as f64;
    let means = all.chunks_exact(MEAN).map(|c| c.iter().sum::<f64>() / MEAN as f64).collect();
    let (mut speed, mut height) = (0.0, 0.0);
    if let (Some((v1, c1)), Some((v2, c2))) = (p.mean(start, end), q.mean(start, end)) {
        let (a1, a2) = (wrap(w - c1).abs(), wrap(w - c2).abs());
        let (v, angle) = (0.5 * (v1 + v2), 0.5 * (a1 + a2));
        speed = (v1 - v2) * angle.cos();
        height = -(a1 - a2) * v * angle.sin();
    }
    (Pass { boats: (a, b), start, end, difference, sd: 0.0, speed, height, swapped: false }, means)
}

/// Variance of five-second means and their likeness to the next, over all passes.
fn pooled(rows: &[(Pass, Vec<f64>)]) -> (f64, f64) {
    let (mut square, mut lagged, mut n) = (0.0, 0.0, 0.0);
    for (_, m) in rows {
        let mean = m.iter().sum::<f64>() / m.len().max(1) as f64;
        square += m.iter().map(|x| (x - mean).powi(2)).sum::<f64>();
        lagged += m.windows(2).map(|w| (w[0] - mean) * (w[1] - mean)).sum::<f64>();
        n += m.len() as f64;
    }
    let variance = square / f64::max(n - rows.len() as f64, 1.0);
    // A mean taken from few numbers hides part of their likeness: one and a half passes' worth is added back.
    let few = 1.5 * rows.len() as f64 / n.max(1.0);
    ((variance).max(1e-6), (lagged / square.max(1e-9) + few).clamp(0.0, 0.9))
}

/// The standard deviation of the difference realised over the pass: what the recorders and the wind's direction leave open.
fn interval(fleet: &Fleet, wind: &Wind, mut pass: Pass, means: &[f64], pooled: (f64, f64)) -> Pass {
    let (p, q) = (&fleet.boats[pass.boats.0], &fleet.boats[pass.boats.1]);
    let seconds = (pass.end - pass.start) as f64;
    let receiver = |doppler: bool| if doppler { RECEIVER.0 } else { RECEIVER.1 * (180.0 / seconds).min(1.5) };
    let by_receiver = receiver(p.doppler).hypot(receiver(q.doppler));
    // Seconds that differ are known by their own noise only in part: white noise of the smoother, by its own variance.
    let white: f64 = (pass.start..pass.end).map(|i| p.variance[i] + q.variance[i]).sum::<f64>() / seconds / (seconds / 6.0);
    let scatter = 0.15 * pooled.0 * (1.0 + pooled.1) / (1.0 - pooled.1) / means.len().max(1) as f64;
    let drift = (pass.start..pass.end)
        .map(|i| {
            let w = wind.middle(i).0;
            (p.ground[i][0] - q.ground[i][0]) * w.cos() - (p.ground[i][1] - q.ground[i][1]) * w.sin()
        })
        .sum::<f64>()
        / seconds;
    let turned = drift * wind.middle(usize::midpoint(pass.start, pass.end)).1;
    let pace = 0.5 * (p.pace + q.pace);
    pass.sd = (0.5 * by_receiver * by_receiver + 0.3 * white + 0.3 * scatter + turned * turned + 2.0 * (SLOW * pace).powi(2)).sqrt();
    pass
}

/// A pair that changed the windward place, on the same tack, since its last pass.
fn mark_swaps(fleet: &Fleet, wind: &Wind, passes: &mut [Pass]) {
    let windward = |p: &Pass| {
        let (a, b) = (&fleet.boats[p.boats.0], &fleet.boats[p.boats.1]);
        let w = wind.middle(p.start).0;
        (a.x[p.start] - b.x[p.start]) * w.sin() + (a.y[p.start] - b.y[p.start]) * w.cos() > 0.0
    };
    for i in 0..passes.len() {
        let before = passes[..i].iter().rev().find(|p| p.boats == passes[i].boats);
        passes[i].swapped = before.is_some_and(|p| windward(p) != windward(&passes[i]));
    }
}
