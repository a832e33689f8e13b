//! The direction through time from all beats together, the boats' beat angles learned beside it.
//!
//! Which stretches are beats and what the wind does are found in turn. A stretch sees its own answer in the wind it helped to
//! make, so the first round takes a beat only as far as the other tack is seen near it, and later an unsupported stretch only
//! where it agrees with the supported ones. Helm scatter is learned for each boat from the residuals of this outing.

use super::grid::Grid;
use super::look::Looks;
use super::state::{Manner, Model, Reading, Smoothed};
use measure::Polar;
use measure::angle::{DEGREE, wrap};

/// The direction and what was learned with it.
pub(crate) struct Fine {
    /// Direction at the fleet's middle in each block, rad without jumps.
    pub(crate) direction: Vec<f64>,
    pub(crate) sd: Vec<f64>,
    /// Change of direction per kilometre east and north.
    pub(crate) slope: Vec<[f64; 2]>,
    /// The fleet's beat angle, rad.
    pub(crate) up: f64,
    /// For each look the weight with which it is a beat.
    pub(crate) beat: Vec<f64>,
}

/// Other tack looked for within this many blocks. From the study of methods.
const NEAR: usize = 10;
/// Looks of the other tack that halve the doubt, and the share of the own side's looks that do. A look is borne out from [`BORNE`] on.
const HALF: f64 = 2.0;
const MANY: f64 = 0.25;
const BORNE: f64 = 0.35;
/// Log odds of a beat before it is looked at where no other tack bears it out, in a large fleet: fleets reach out and
/// home in company. Assumed.
const ALONE: f64 = -1.0;
/// Spread of a common offset of the beat angle, with a polar and with the assumed one, and between boats, rad.
const OFFSET: (f64, f64) = (4.0 * DEGREE, 6.0 * DEGREE);
const BETWEEN: f64 = 2.5 * DEGREE;
/// First guess of a look's scatter on a beat, rad; it is learned after.
const SCATTER: f64 = 4.0 * DEGREE;
/// Least scatter, rad: a block of ten seconds is never better.
const LEAST: f64 = 1.5 * DEGREE;
/// Stated over computed standard deviation, and what is added for the model's own error, rad. Set on seeds 1 to 3.
const STATED: f64 = 1.15;
const OWN_ERROR: f64 = 0.8 * DEGREE;
/// Density of any other course, per degree.
const OTHER: f64 = 0.58 / 136.0;
/// Rounds of modes and wind.
const ROUNDS: usize = 4;

struct Work<'a> {
    looks: &'a Looks,
    axis: f64,
    up: f64,
    offset_sd: f64,
    own: Vec<f64>,
    variance: Vec<f64>,
    side: Vec<f64>,
}

impl Work<'_> {
    fn readings(&self, weight: &[f64]) -> (Vec<Reading>, Vec<usize>) {
        let mut from = Vec::new();
        let readings = (0..self.looks.all.len())
            .filter(|i| weight[*i] > 0.1)
            .map(|i| {
                from.push(i);
                let l = &self.looks.all[i];
                let value = wrap(l.course + self.side[i] * (self.up + self.own[l.boat]) - self.axis);
                let short = (10.0 / l.count as f64).sqrt();
                Reading { block: l.block, value, side: self.side[i], place: l.place, variance: self.variance[l.boat] * short / weight[i] }
            })
            .collect();
        (readings, from)
    }

    /// How far each look is borne out by the other tack near it, from 0 to 1: a few looks bear out a few, not a whole fleet.
    fn support(&self, weight: &[f64], near: usize) -> Vec<f64> {
        let blocks = self.looks.blocks();
        let mut sums = vec![[0.0; 2]; blocks + 1];
        for k in 0..blocks {
            sums[k + 1] = sums[k];
            for i in self.looks.at(k) {
                sums[k + 1][usize::from(self.side[i] < 0.0)] += weight[i];
            }
        }
        (0..self.looks.all.len())
            .map(|i| {
                let k = self.looks.all[i].block;
                let same = usize::from(self.side[i] < 0.0);
                let seen = |side: usize| sums[(k + near + 1).min(blocks)][side] - sums[k.saturating_sub(near)][side];
                let other = seen(1 - same);
                other / (other + HALF + MANY * seen(same))
            })
            .collect()
    }

    /// Each boat's own beat angle and scatter from the residuals.
    fn learn(&mut self, smoothed: &Smoothed, readings: &[Reading], from: &[usize], weight: &[f64]) {
        let boats = self.own.len();
        let mut sums = vec![[0.0; 3]; boats];
        for (r, &i) in readings.iter().zip(from) {
            let l = &self.looks.all[i];
            let miss = wrap(r.value - smoothed.expected(r)).clamp(-12.0 * DEGREE, 12.0 * DEGREE);
            let s = &mut sums[l.boat];
            *s = [s[0] + weight[i], s[1] + weight[i] * r.side * miss, s[2] + weight[i] * miss * miss];
        }
        let (n, total) = sums.iter().fold((0.0, 0.0), |t, s| (t.0 + s[0], t.1 + s[2]));
        let pooled = ((total + 20.0 * SCATTER * SCATTER) / (n + 20.0)).max(LEAST * LEAST);
        for (b, s) in sums.iter().enumerate() {
            let looks = s[0] / 4.0;
            let shrink = looks / (looks + self.variance[b] / (BETWEEN * BETWEEN));
            if s[0] > 0.0 {
                self.own[b] -= shrink * s[1] / s[0];
            }
            // What the boats learn of themselves is left out of their residuals by about a tenth.
            self.variance[b] = (1.1 * (s[2] + 25.0 * pooled) / (s[0] + 25.0)).max(LEAST * LEAST);
        }
        let common = self.own.iter().sum::<f64>() / boats.max(1) as f64;
        self.own.iter_mut().for_each(|o| *o -= common);
        self.up += common;
    }

    /// Times when all that may be a beat is on one tack, longer than [`NEAR`] from any other: first block, one past the last.
    fn spells(&self, weight: &[f64]) -> Vec<core::ops::Range<usize>> {
        let support = self.support(weight, NEAR);
        let mut spells: Vec<(core::ops::Range<usize>, bool)> = Vec::new();
        for k in 0..self.looks.blocks() {
            let (mut seen, mut borne, mut port) = (0.0, 0.0, 0.0);
            for i in self.looks.at(k) {
                seen += weight[i];
                borne += weight[i] * support[i];
                port += weight[i] * f64::from(self.side[i] < 0.0);
            }
            if seen < 0.1 || borne >= BORNE * seen {
                continue;
            }
            let port = port > 0.5 * seen;
            match spells.last_mut() {
                Some((spell, side)) if *side == port && k <= spell.end + NEAR => spell.end = k + 1,
                _ => spells.push((k..k + 1, port)),
            }
        }
        spells.into_iter().map(|s| s.0).collect()
    }

    /// Weights with which stretches are beats, by angle and speed together, and the side each sails on. Where the other tack is near,
    /// the wind is that of everybody; where it is not, that of the supported stretches alone, and in a spell on one tack that of all other times:
    /// nobody confirms herself.
    fn modes(&mut self, all: &Smoothed, sure: &Smoothed, apart: &[Apart], support: &[f64], pace: &Pace) -> Vec<f64> {
        let stretches = self.looks.stretches;
        let mut near = vec![[0.0; 2]; stretches];
        for (l, s) in self.looks.all.iter().zip(support) {
            near[l.stretch] = [near[l.stretch][0] + 1.0, near[l.stretch][1] + s];
        }
        let mut sums = vec![[0.0; 3]; stretches];
        let mut angle = vec![0.0; self.looks.all.len()];
        let company = 1.0 - 1.0 / self.own.len().max(1) as f64;
        for (i, l) in self.looks.all.iter().enumerate() {
            let n = near[l.stretch];
            let by = match apart.iter().find(|a| a.spell.contains(&l.block)) {
                Some(apart) => &apart.by,
                None if n[1] / n[0] < BORNE => sure,
                None => all,
            };
            let (f, sd) = by.direction(l.block);
            let m = &by.mean[l.block];
            let tau = wrap(self.axis + f + m[8] * l.place[0] + m[9] * l.place[1] - l.course);
            angle[i] = tau.abs();
            let up = self.up + m[5] + self.own[l.boat];
            let wide = (25.0 * DEGREE * DEGREE + sd * sd).sqrt();
            let beat = 0.40 * (-0.5 * ((tau.abs() - up) / wide).powi(2)).exp() / (wide / DEGREE * 2.5066) * pace.fits(l, None);
            let inside = 1.0 / (1.0 + ((up - 6.0 * DEGREE - tau.abs()) / (2.0 * DEGREE + 0.5 * sd)).exp());
            let other = OTHER * inside * pace.fits(l, Some(tau.abs()));
            let odds = ((beat + 1e-6) / (other + 1e-6)).ln().clamp(-6.0, 4.0);
            let s = &mut sums[l.stretch];
            *s = [s[0] + 1.0, s[1] + odds, s[2] + tau.sin()];
        }
        (0..self.looks.all.len())
            .map(|i| {
                let s = &sums[self.looks.all[i].stretch];
                self.side[i] = if s[2] >= 0.0 { 1.0 } else { -1.0 };
                let n = near[self.looks.all[i].stretch];
                let odds = s[1] / s[0] * s[0].min(5.0) + if n[1] / n[0] < BORNE { ALONE * company } else { 0.3 };
                let weight = 1.0 / (1.0 + (-odds).exp());
                // A look that bears away within its stretch is no beat.
                if angle[i] > self.up + 20.0 * DEGREE { 0.0 } else { weight }
            })
            .collect()
    }
}

/// A spell on one tack, and the wind by all that was sailed at other times.
struct Apart {
    spell: core::ops::Range<usize>,
    by: Smoothed,
}

/// More spells than this are not looked at one by one: so many passes have much to bear each other out.
const SPELLS: usize = 60;

/// How fast the boats beat: the fleet's level through time and each boat's own, in log speed against the polar, from the beats
/// thought sure.
struct Pace<'a> {
    polar: &'a Polar,
    wind: f64,
    /// Log speed on a beat by the polar.
    beat: f64,
    level: Vec<(f64, f64)>,
    own: Vec<f64>,
    spread: f64,
    given: bool,
}

/// Memory of the fleet's level of speed, in blocks, and its standard deviation far from any beat, in log speed. Assumed.
const LEVEL: (f64, f64) = (30.0, 0.15);
/// Error of the polar's shape between a beat and another course, in log speed, with one given and with the assumed one. Assumed.
const SHAPE: (f64, f64) = (0.08, 0.15);
/// Least spread of a look's log speed.
const LEAST_SPREAD: f64 = 0.06;

impl<'a> Pace<'a> {
    fn of(looks: &Looks, weight: &[f64], boats: usize, polar: &'a Polar, wind: f64, given: bool) -> Self {
        let blocks = looks.blocks();
        let beat = polar.speed(wind, polar.upwind(wind)).max(0.05).ln();
        let mut own = vec![0.0; boats];
        let mut level = vec![(0.0, 0.0); blocks];
        let mut spread = 0.12;
        let first = if given { 0.14 } else { 0.25 };
        let rest = |l: &super::look::Look| l.speed.max(0.05).ln() - beat;
        for _ in 0..3 {
            let mut sums = vec![[0.0; 2]; blocks];
            for (l, w) in looks.all.iter().zip(weight) {
                sums[l.block] = [sums[l.block][0] + w, sums[l.block][1] + w * (rest(l) - own[l.boat])];
            }
            let total = sums.iter().fold([0.0, 0.0], |t, s| [t[0] + s[0], t[1] + s[1]]);
            let mean = (total[1] - 0.05 * 4.0) / (total[0] + 4.0);
            // Two passes of an exponential kernel are linear in blocks.
            let keep = (-1.0 / LEVEL.0).exp();
            let mut kernel = vec![[0.0; 2]; blocks];
            let mut run = [0.0; 2];
            for k in 0..blocks {
                run = [keep * run[0] + sums[k][0], keep * run[1] + sums[k][1]];
                kernel[k] = run;
            }
            run = [0.0; 2];
            for k in (0..blocks).rev() {
                kernel[k] = [kernel[k][0] + keep * run[0], kernel[k][1] + keep * run[1]];
                run = [keep * run[0] + sums[k][0], keep * run[1] + sums[k][1]];
            }
            for (l, k) in level.iter_mut().zip(&kernel) {
                let sure = k[0] / (k[0] + 6.0);
                let far = if total[0] < 10.0 { first } else { LEVEL.1 };
                *l = ((k[1] + 6.0 * mean) / (k[0] + 6.0), far * far * (1.0 - sure));
            }
            let mut each = vec![[0.0; 2]; boats];
            let mut square = (0.0, 0.0);
            for (l, w) in looks.all.iter().zip(weight) {
                let miss = (rest(l) - level[l.block].0).clamp(-0.4, 0.4);
                each[l.boat] = [each[l.boat][0] + w, each[l.boat][1] + w * miss];
                let own = (miss - own[l.boat]).clamp(-0.25, 0.25);
                square = (square.0 + w, square.1 + w * own * own);
            }
            for (o, e) in own.iter_mut().zip(&each) {
                *o = e[1] / (e[0] + 10.0);
            }
            spread = ((square.1 + 10.0 * first * first) / (square.0 + 10.0)).sqrt().max(LEAST_SPREAD);
        }
        Self { polar, wind, beat, level, own, spread, given }
    }

    /// Likelihood of a look's speed on a beat, or at another angle.
    fn fits(&self, l: &super::look::Look, angle: Option<f64>) -> f64 {
        let (level, variance) = self.level[l.block];
        let rest = l.speed.max(0.05).ln() - level - self.own[l.boat];
        let (expected, shape) = match angle {
            None => (self.beat, 0.0),
            Some(a) => {
                let shape = if self.given { SHAPE.0 } else { SHAPE.1 };
                (self.polar.speed(self.wind, a.max(self.polar.upwind(self.wind))).max(0.05).ln(), shape)
            }
        };
        let spread = (self.spread * self.spread + variance + shape * shape).sqrt();
        // A speed that fits nothing still happens.
        (-0.5 * ((rest - expected) / spread).powi(2)).exp() / (spread * 2.5066) + 0.05
    }
}

/// Refines what the grid found.
pub(crate) fn fine(looks: &Looks, grid: &Grid, axis: f64, boats: usize, polar: &Polar, given: bool) -> Fine {
    let blocks = looks.blocks();
    let offset_sd = if given { OFFSET.0 } else { OFFSET.1 };
    let mut work = Work {
        looks,
        axis,
        up: polar.upwind(grid.wind),
        offset_sd,
        own: vec![0.0; boats],
        variance: vec![SCATTER * SCATTER; boats],
        side: grid.beats.iter().map(|b| if b[0] >= b[1] { 1.0 } else { -1.0 }).collect(),
    };
    let mut weight: Vec<f64> = grid.beats.iter().map(|b| b[0].max(b[1])).collect();
    // The window in which the other tack is looked for widens until a third of the beats have it.
    let mut near = NEAR;
    let supported = |work: &Work, weight: &[f64], near: usize| -> (Vec<f64>, Vec<f64>) {
        let support = work.support(weight, near);
        (weight.iter().zip(&support).map(|(w, s)| w * s).collect(), support)
    };
    let all = weight.iter().sum::<f64>();
    while near < blocks && supported(&work, &weight, near).0.iter().sum::<f64>() < all / 3.0 {
        near *= 2;
    }
    let (mut sure, mut support) = supported(&work, &weight, near);
    let (readings, from) = work.readings(&sure);
    let mut manners = Manner::USUAL.likeliest(blocks, &readings, work.offset_sd);
    let mut smoothed = Model::of(&manners[0].0, work.offset_sd).smooth(blocks, &readings);
    work.learn(&smoothed, &readings, &from, &sure);
    for round in 0..ROUNDS {
        let pace = Pace::of(looks, &sure, boats, polar, grid.wind, given);
        let (readings, _) = work.readings(&sure);
        let by_sure = Model::of(&manners[0].0, work.offset_sd).smooth(blocks, &readings);
        // Where the window had to be widened, far-off passes bear out whoever sails out or home in company.
        let spells = if near > NEAR { work.spells(&weight) } else { Vec::new() };
        let apart: Vec<Apart> = if spells.len() > SPELLS { Vec::new() } else { spells }
            .into_iter()
            .map(|spell| {
                let others: Vec<Reading> = readings.iter().filter(|r| !spell.contains(&r.block)).cloned().collect();
                Apart { by: Model::of(&manners[0].0, work.offset_sd).smooth(blocks, &others), spell }
            })
            .collect();
        weight = work.modes(&smoothed, &by_sure, &apart, &support, &pace);
        (sure, support) = supported(&work, &weight, near);
        // Many looks that are hardly beats must not add up to one.
        for (w, s) in weight.iter_mut().zip(&support) {
            if *w < 0.5 && *s < BORNE {
                *w = 0.0;
            }
        }
        let (readings, from) = work.readings(&weight);
        if round == 1 {
            manners = manners[0].0.likeliest(blocks, &readings, work.offset_sd);
        }
        smoothed = Model::of(&manners[0].0, work.offset_sd).smooth(blocks, &readings);
        work.learn(&smoothed, &readings, &from, &weight);
    }
    let common = smoothed.mean.last().map_or(0.0, |m| m[5]);
    // Every manner that is nearly as likely has its say, and their disagreement is part of the deviation.
    let (readings, _) = work.readings(&weight);
    let mut sums = vec![[0.0; 3]; blocks];
    for (manner, share) in &manners {
        let own = Model::of(manner, work.offset_sd).smooth(blocks, &readings);
        for (k, s) in sums.iter_mut().enumerate() {
            let (f, sd) = own.direction(k);
            *s = [s[0] + share * f, s[1] + share * f * f, s[2] + share * sd * sd];
        }
    }
    let direction = sums.iter().map(|s| axis + s[0]).collect();
    // Where the other tack is far, what is taken for a beat may be none: half of what it moved the wind by is doubt.
    let (borne, _) = work.readings(&sure);
    let by_sure = Model::of(&manners[0].0, work.offset_sd).smooth(blocks, &borne);
    let sd = (0..blocks)
        .map(|k| {
            let [mean, square, own] = sums[k];
            let near = looks.first[k.saturating_sub(NEAR)]..looks.first[(k + NEAR + 1).min(blocks)];
            let seen = near.clone().map(|i| weight[i]).sum::<f64>();
            let alone = 1.0 - near.map(|i| weight[i] * support[i]).sum::<f64>() / seen.max(1.0);
            let moved = 0.5 * alone * (mean - by_sure.direction(k).0);
            STATED * (own + (square - mean * mean).max(0.0) + moved * moved + OWN_ERROR * OWN_ERROR).sqrt()
        })
        .collect();
    let slope = smoothed.mean.iter().map(|m| [m[8], m[9]]).collect();
    Fine { direction, sd, slope, up: work.up + common, beat: weight }
}
