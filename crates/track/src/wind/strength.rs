//! The wind's speed through time, from boat speeds and a polar: an iterated extended Kalman smoother on the blocks. Its states are
//! log wind speed in three parts (puffs and lulls, slow changes, the level) and the current along the wind, which slows runs as it
//! speeds beats. How far all boats together sail off the polar cannot be told from the level: its doubt is added by the slope.
//!
//! Two traps. A beat is read at the polar's own best angle, not at the angle measured: the course wanders faster than the speed
//! follows. And a boat near her hull speed tells little: several starts are tried and the stated deviation follows the slope of the
//! polar.

use super::fine::Fine;
use super::look::{BLOCK, Looks};
use measure::Polar;
use measure::angle::{DEGREE, wrap};
use nalgebra::{SMatrix, SVector};

type Vector = SVector<f64, 4>;
type Matrix = SMatrix<f64, 4, 4>;

/// Standard deviations and memories (s) of puffs and of slow changes, of log wind speed. From the study of methods.
const PUFFS: (f64, f64) = (0.12, 40.0);
const SLOW: (f64, f64) = (0.15, 1500.0);
/// Level before anything is known: 4.5 m/s within a factor of 1.5 (assumed: children sail between 1.5 and 10).
const LEVEL: (f64, f64) = (4.5, 0.40);
/// Boats sail this much slower than the polar for steady helming, in log speed, and its spread between outings. The spread is
/// assumed; chop alone slows a small boat by more.
const BELOW: f64 = -0.03;
const BELOW_SD: f64 = 0.05;
/// Spread of the current along the wind before anything is known, m/s. Assumed: most waters where children sail have next to none.
const ALONG: f64 = 0.08;
/// Spread between boats, in log speed.
const BETWEEN: f64 = 0.05;
/// Noise of one look, in log speed: trim, local puffs, and that they last.
const NOISE: f64 = 0.10;
/// A speed that moves by more than this share is not steady.
const STEADY: f64 = 0.2;
/// Courses off a beat are read only where the direction is this well known, rad.
const SURE: f64 = 4.5 * DEGREE;

struct Sample {
    block: usize,
    boat: usize,
    log: f64,
    /// Angle off a beat to be read; none for a beat, with what she sails wider than the fleet.
    angle: Option<f64>,
    wider: f64,
    /// What a current of 1 m/s setting to windward would add to her log speed.
    along: f64,
}

/// Wind speed over the water in each block (m/s) with its standard deviation; none without a steady look.
pub(crate) fn strength(looks: &Looks, fine: &Fine, boats: usize, polar: &Polar, first: f64) -> Option<Vec<(f64, f64)>> {
    let samples: Vec<Sample> = looks
        .all
        .iter()
        .enumerate()
        .filter(|(_, l)| l.change < STEADY && l.speed > 0.3)
        .filter_map(|(i, l)| {
            let s = fine.slope[l.block];
            let tau = wrap(fine.direction[l.block] + s[0] * l.place[0] + s[1] * l.place[1] - l.course).abs();
            let beat = fine.beat[i] > 0.5;
            let known = fine.sd[l.block] < SURE && tau > fine.up + 8.0 * DEGREE;
            (beat || known).then_some(Sample {
                block: l.block,
                boat: l.boat,
                log: l.speed.ln(),
                angle: (!beat).then_some(tau),
                wider: 0.5 * (tau - fine.up).max(0.0),
                along: tau.cos() / l.speed.max(0.4),
            })
        })
        .collect();
    if samples.len() < 6 {
        return None;
    }
    let blocks = looks.blocks();
    let starts = [0.75, 1.0, 1.3].map(|k| solve(&samples, blocks, boats, polar, (first * k).ln()));
    let best = starts.into_iter().min_by(|a, b| a.1.total_cmp(&b.1))?.0;
    let strength = |(log, sd): (f64, f64)| {
        let wind = log.clamp(WEAKEST, STRONGEST).exp();
        (wind, wind * sd)
    };
    Some(best.into_iter().map(strength).collect())
}

/// Stated over computed standard deviation: boats' speeds stay alike over several looks. Set on seeds 1 to 3.
const STATED: f64 = 1.3;
/// Weakest and strongest wind told, as logarithms of m/s.
const WEAKEST: f64 = -1.5;
const STRONGEST: f64 = 3.2;

/// Log boat speed by the polar and its slope in log wind speed.
fn expected(s: &Sample, polar: &Polar, log: f64) -> (f64, f64) {
    let at = |log: f64| {
        let wind = log.clamp(WEAKEST, STRONGEST).exp();
        let angle = s.angle.map_or_else(|| polar.upwind(wind) + s.wider, |a| a.max(polar.upwind(wind)));
        polar.speed(wind, angle).max(0.02).ln()
    };
    (at(log), ((at(log + 0.08) - at(log - 0.08)) / 0.16).clamp(0.0, 1.5))
}

type Step = (Vector, Matrix, Vector, Matrix);

/// Log wind and its standard deviation for each block, and the cost.
fn solve(samples: &[Sample], blocks: usize, boats: usize, polar: &Polar, start: f64) -> (Vec<(f64, f64)>, f64) {
    let d = BLOCK as f64;
    let transition = Matrix::from_diagonal(&Vector::new((-d / PUFFS.1).exp(), (-d / SLOW.1).exp(), 1.0, 1.0));
    let begin = Matrix::from_diagonal(&Vector::new(PUFFS.0, SLOW.0, LEVEL.1, ALONG).map(|sd| sd * sd));
    let noise = begin - transition * begin * transition;
    let row = Vector::new(1.0, 1.0, 1.0, 0.0);
    let mut path: Vec<f64> = vec![start; blocks];
    let mut sds = vec![0.0; blocks];
    let mut own = vec![0.0; boats];
    let mut along = 0.0;
    let mut slopes = vec![[0.0; 2]; blocks];
    let mut cost = 0.0;
    for _ in 0..6 {
        let (mut x, mut p) = (Vector::new(0.0, 0.0, LEVEL.0.ln(), 0.0), begin);
        let mut steps: Vec<Step> = Vec::with_capacity(blocks);
        cost = 0.0;
        slopes.fill([0.0; 2]);
        let mut next = 0;
        for block in 0..blocks {
            if block > 0 {
                x = transition * x;
                p = transition * p * transition + noise;
            }
            let before = (x, p);
            while let Some(s) = samples.get(next).filter(|s| s.block <= block) {
                next += 1;
                let (value, slope) = expected(s, polar, path[block]);
                let h = Vector::new(slope, slope, slope, s.along);
                let miss = s.log - BELOW - own[s.boat] - value - h.dot(&x) + slope * path[block];
                let ph = p * h;
                let spread = h.dot(&ph);
                let square = miss * miss / (spread + NOISE * NOISE);
                let variance = NOISE * NOISE * (square / 6.0).max(1.0);
                let total = spread + variance;
                x += ph * (miss / total);
                p -= ph * ph.transpose() / total;
                slopes[block] = [slopes[block][0] + slope, slopes[block][1] + 1.0];
                cost += square.min(9.0) + total.ln();
            }
            steps.push((before.0, before.1, x, p));
        }
        let mut after: Option<(Vector, Matrix)> = None;
        for k in (0..blocks).rev() {
            let (_, _, x, p) = steps[k];
            let (mut m, mut v) = (x, p);
            if let (Some((m1, v1)), Some((ahead, ahead_p, _, _))) = (after, steps.get(k + 1))
                && let Some(inverse) = ahead_p.try_inverse()
            {
                let gain = p * transition * inverse;
                m += gain * (m1 - ahead);
                v += gain * (v1 - ahead_p) * gain.transpose();
            }
            after = Some((m, v));
            let wanted = row.dot(&m).clamp(WEAKEST, STRONGEST);
            path[k] += 0.7 * (wanted - path[k]);
            sds[k] = (row.transpose() * v * row)[0].max(0.0).sqrt();
            along = m[3];
        }
        // Each boat against the polar, and the boats' mean left at zero: that is what `BELOW` stands for.
        let mut sums = vec![[0.0; 2]; boats];
        for s in samples {
            let miss = s.log - BELOW - along * s.along - expected(s, polar, path[s.block]).0;
            sums[s.boat] = [sums[s.boat][0] + 1.0, sums[s.boat][1] + miss.clamp(-0.3, 0.3)];
        }
        let few = NOISE * NOISE / (BETWEEN * BETWEEN) * 5.0;
        for (o, s) in own.iter_mut().zip(&sums) {
            *o = s[1] / (s[0] + few);
        }
        let sailed = sums.iter().filter(|s| s[0] > 0.0).count().max(1) as f64;
        let common = own.iter().sum::<f64>() / sailed;
        for (o, s) in own.iter_mut().zip(&sums) {
            *o = if s[0] > 0.0 { *o - common } else { 0.0 };
        }
    }
    // Where nobody looks steadily the slope is that of the outing.
    let all = slopes.iter().fold([0.0, 0.0], |t, s| [t[0] + s[0], t[1] + s[1]]);
    let mean = all[0] / f64::max(all[1], 1.0);
    let slope = |k: usize| ((slopes[k][0] + 4.0 * mean) / (slopes[k][1] + 4.0)).max(0.12);
    let result = (0..blocks).map(|k| (path[k], (STATED * sds[k]).hypot(BELOW_SD / slope(k)))).collect();
    (result, cost)
}
