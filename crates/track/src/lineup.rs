//! Line-ups: two boats side by side on the same tack of a beat. The difference of speed made good over a pass, its split into speed and
//! height, and an interval from what each recorder errs over the pass, as its own residuals tell: neighbouring seconds err alike.

use crate::clock::Ahead;
use crate::fleet::{Boat, Fleet};
use crate::wind::Wind;
use measure::angle::{DEGREE, wrap};

/// Boats this close are side by side when a pass begins, m, and stay so while this close. From the study of methods.
const BEGIN_APART: f64 = 45.0;
const APART: f64 = 70.0;
/// Shortest pass, s, and how long boats gather way after they begin at the least, s. Assumed: way is regained in some ten seconds (common
/// practice, no source).
const SHORTEST: usize = 100;
const GATHERING: usize = 12;
/// Closer to the wind than this is a beat here.
const CLOSE: f64 = 72.0 * DEGREE;
/// Least speed, m/s.
const LEAST: f64 = 0.35;
/// Seconds averaged before the ends are drawn in.
const MEAN: usize = 5;
/// Under way is this share of her speed in the pass; its ends are drawn in by this much at the most, s. Assumed.
const FULL: f64 = 0.85;
const DRAWN_IN: usize = 25;
/// A gap of a recorder no longer than this, s, is bridged where she beats on the same tack before, after and on the mean within: her way
/// over it is known by its ends. Two tacks within it would take longer and show in the mean.
const BRIDGED: usize = 50;
/// A pass whose difference is known no better than this, m/s, tells nothing: two of these hold all that like boats differ by (some per cent
/// of 1 m/s, common practice, no source).
const USELESS: f64 = 0.025;
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

/// Passes, and those that cannot be judged.
#[derive(Debug, Default)]
pub(crate) struct Passes {
    pub(crate) told: Vec<Pass>,
    pub(crate) useless: Vec<Pass>,
}

/// Second by second the side on which a boat beats, +1 with the wind from starboard; zero where she does not.
fn sides(b: &Boat, wind: &Wind, angles: &[f64]) -> Vec<f64> {
    let beats = |angle: f64, speed: f64| if speed > LEAST && angle.abs() < CLOSE { angle.signum() } else { 0.0 };
    let raw: Vec<f64> = (0..b.on.len()).map(|i| if b.on[i] { beats(angles[i], b.speed[i]) } else { 0.0 }).collect();
    let mut sides = raw.clone();
    // A single slow or wide second ends no pass.
    for i in (2..raw.len().saturating_sub(2)).filter(|i| b.on[*i] && raw[*i] == 0.0) {
        let either = |a: f64, b: f64| if a == 0.0 { b } else { a };
        let (before, after) = (either(raw[i - 1], raw[i - 2]), either(raw[i + 1], raw[i + 2]));
        if before == after {
            sides[i] = before;
        }
    }
    // Nor does a gap of the recorder through which she went on.
    let mut i = b.span.0 + 1;
    while i < b.span.1 {
        let end = (i..b.span.1).find(|j| b.on[*j]).unwrap_or(b.span.1);
        if end > i && end - i <= BRIDGED && end < b.span.1 && sides[i - 1] != 0.0 && sides[i - 1] == sides[end] {
            let (e, n, seconds) = (b.x[end] - b.x[i - 1], b.y[end] - b.y[i - 1], (end + 1 - i) as f64);
            let angle = wrap(wind.from(i, [b.x[i - 1], b.y[i - 1]]) - e.atan2(n));
            if beats(angle, e.hypot(n) / seconds) == sides[end] {
                let side = sides[end];
                sides[i..end].fill(side);
            }
        }
        i = end + 1;
    }
    sides
}

/// The passes found, and those around given seconds of given pairs; `clocks` are those that seem wrong.
pub(crate) fn passes(fleet: &Fleet, wind: &Wind, angles: &[Vec<f64>], given: &[(usize, usize, usize)], clocks: &[Option<Ahead>]) -> Passes {
    let n = fleet.boats.len();
    let sides: Vec<Vec<f64>> = (0..n).map(|b| sides(&fleet.boats[b], wind, &angles[b])).collect();
    let mut stretches: Vec<(usize, usize, usize, usize)> = Vec::new();
    for a in 0..n {
        for b in a + 1..n {
            let near = |i: usize, far: f64| {
                let (p, q) = (&fleet.boats[a], &fleet.boats[b]);
                (p.x[i] - q.x[i]).hypot(p.y[i] - q.y[i]) < far
            };
            let both = |i: usize| sides[a][i] != 0.0 && sides[a][i] == sides[b][i] && near(i, APART);
            let span = fleet.boats[a].span.0.max(fleet.boats[b].span.0)..fleet.boats[a].span.1.min(fleet.boats[b].span.1);
            let mut i = span.start;
            while i < span.end {
                if !both(i) {
                    i += 1;
                    continue;
                }
                let end = (i..span.end).find(|j| !both(*j) || sides[a][*j] != sides[a][i]).unwrap_or(span.end);
                let noted = given.iter().any(|g| (g.0 == a && g.1 == b || g.0 == b && g.1 == a) && i < g.2 + 200 && end + 30 > g.2);
                if end - i >= if noted { 75 } else { SHORTEST } && near(i, BEGIN_APART) {
                    stretches.push((a, b, i, end));
                }
                i = end;
            }
        }
    }
    let mut passes = Passes::default();
    for (a, b, i, end) in stretches {
        // Gathering way: dropped only where the pass began from slow.
        let fresh =
            [a, b].iter().any(|k| fleet.boats[*k].speed[i.saturating_sub(12)..i + 1].iter().any(|v| *v < 0.6 * fleet.boats[*k].pace));
        let start = if fresh { i + GATHERING } else { i + 5 };
        let end = end.saturating_sub(3);
        let (start, end) = under_way(fleet, a, b, start, end);
        // A clock that may be wrong leaves its doubt at both ends.
        let doubt = [a, b].iter().filter_map(|k| clocks[*k]).map(|c| c.seconds.abs() as usize).max().unwrap_or(0);
        let (start, end) = (start + doubt, end.saturating_sub(doubt));
        if end > start + 60 {
            let pass = measured(fleet, wind, a, b, start, end);
            if pass.sd < USELESS { &mut passes.told } else { &mut passes.useless }.push(pass);
        }
    }
    passes.told.sort_by_key(|p| (p.start, p.boats));
    passes.useless.sort_by_key(|p| (p.start, p.boats));
    mark_swaps(fleet, wind, &mut passes.told);
    passes
}

/// The part of a pass in which both boats have their way: its ends are drawn in while either is slower than usual in it.
fn under_way(fleet: &Fleet, a: usize, b: usize, start: usize, end: usize) -> (usize, usize) {
    let usual = |k: usize| fleet.boats[k].mean(start, end).map_or(0.0, |m| m.0);
    let full = [(a, usual(a)), (b, usual(b))];
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

/// The difference, its split, and the standard deviation of what was realised: what the recorders and the wind's direction leave open.
fn measured(fleet: &Fleet, wind: &Wind, a: usize, b: usize, start: usize, end: usize) -> Pass {
    let (p, q) = (&fleet.boats[a], &fleet.boats[b]);
    let middle = |i: usize| [0.5 * (p.x[i] + q.x[i]), 0.5 * (p.y[i] + q.y[i])];
    let (mut e, mut n, mut doubt) = (0.0, 0.0, 0.0);
    for i in start..end {
        let w = wind.from(i, middle(i));
        (e, n, doubt) = (e + w.sin(), n + w.cos(), doubt + wind.middle(i).1);
    }
    let (w, seconds) = (e.atan2(n), (end - start) as f64);
    let (sine, cosine) = w.sin_cos();
    let mean = |axis: usize| (start..end).map(|i| p.ground[i][axis] - q.ground[i][axis]).sum::<f64>() / seconds;
    let (east, north) = (mean(0), mean(1));
    let difference = east * sine + north * cosine;
    let (mut speed, mut height) = (0.0, 0.0);
    if let (Some((v1, c1)), Some((v2, c2))) = (p.mean(start, end), q.mean(start, end)) {
        let (a1, a2) = (wrap(w - c1).abs(), wrap(w - c2).abs());
        let (v, angle) = (0.5 * (v1 + v2), 0.5 * (a1 + a2));
        speed = (v1 - v2) * angle.cos();
        height = -(a1 - a2) * v * angle.sin();
    }
    let recorders: f64 = [p, q]
        .into_iter()
        .map(|boat| boat.recorder.mean_velocity_variance(seconds, boat.on[start..end].iter().filter(|on| !**on).count() as f64))
        .sum();
    // A wind that is thought to come from another side makes height of what the boats drift apart.
    let turned = (east * cosine - north * sine) * doubt / seconds;
    let sd = (recorders + turned * turned).sqrt();
    Pass { boats: (a, b), start, end, difference, sd, speed, height, swapped: false }
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
