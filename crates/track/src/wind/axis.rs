//! One direction for the whole outing, and whether it can be told at all.
//!
//! Three witnesses. Courses: nobody sails inside the no-go zone, and its emptiness decides between a direction and its opposite
//! far more firmly than speeds do. Turns: a tack's bisector points at the wind and costs way; a gybe's points away and keeps it.
//! Speeds: who beats to the end of a line-up and bears away to its start sails four courses at right angles, which fit four directions, and
//! without a tack; but a beat is slow, and all that is close-hauled by one direction is slow by that one only.
//! Unless one direction is clearly better than all that differ by 40 degrees, and six turns point at it, nothing is said.

use super::look::Looks;
use crate::fleet::Fleet;
use measure::Polar;
use measure::angle::{DEGREE, wrap};

/// Directions tried: every two degrees.
pub(crate) const BINS: usize = 180;
/// Looks of one boat follow each other closely: each counts as this much of one. From the study of methods.
const WEIGHT: f64 = 0.12;
/// Least lead over directions more than 40 degrees away. Margins in the study: reaching only up to 3, one boat 15, fleets 90.
const LEAD: f64 = 6.0;
/// Least tacks that point at it.
const TACKS: usize = 6;

/// A sharp turn, before anything is known of the wind.
#[derive(Debug, Clone, Copy)]
struct Sharp {
    bisector: f64,
    kept: f64,
}

/// Why no direction can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Untold {
    /// Nothing steady to look at.
    Nothing,
    /// Courses fit several directions.
    Ambiguous,
    /// Too few tacks.
    NoTacks,
}

/// The outing's direction (radians, from), or why there is none.
pub(crate) fn axis(fleet: &Fleet, looks: &Looks, table: &Polar, given: bool) -> Result<f64, Untold> {
    if looks.all.len() < 12 {
        return Err(Untold::Nothing);
    }
    let log_mix: Vec<f64> = (0..=180).map(|d| mixture(f64::from(d)).ln()).collect();
    let turns = sharp_turns(fleet);
    let speeds = Speeds::of(looks, table, given);
    let seen = |bin: usize| -> f64 {
        let w = direction(bin);
        let courses: f64 = looks.all.iter().map(|l| log_mix[(wrap(w - l.course).abs() / DEGREE) as usize]).sum();
        let turned: f64 = turns
            .iter()
            .map(|t| {
                let off = wrap(t.bisector - w).abs() / DEGREE;
                let lost = if t.kept < 0.75 { 1.7 } else { 1.0 };
                let held = if t.kept > 0.6 { 1.0 } else { 0.0 };
                0.6 * bell(off, 14.0) * lost + 0.25 * bell(off - 180.0, 14.0) * held
            })
            .sum();
        WEIGHT * courses + turned
    };
    let without: Vec<f64> = (0..BINS).map(seen).collect();
    let with: Vec<f64> = without.iter().enumerate().map(|(bin, seen)| seen + WEIGHT * speeds.fit(bin)).collect();
    // The best, and how far it leads all that are elsewhere.
    let leader = |score: &[f64]| {
        let best = (0..BINS).fold(0, |b, i| if score[i] > score[b] { i } else { b });
        let elsewhere = (0..BINS).filter(|i| far(*i, best)).map(|i| score[i]).fold(f64::MIN, f64::max);
        (best, score[best] - elsewhere)
    };
    let ((alone, lead_alone), (best, lead)) = (leader(&without), leader(&with));
    let w = direction(best);
    let tacks = turns.iter().filter(|t| wrap(t.bisector - w).abs() < 22.0 * DEGREE).count();
    // A current along the wind makes speeds fit badly: what is clear without them, and not against them, stands.
    if lead <= LEAD && (far(alone, best) || lead_alone <= LEAD) {
        Err(Untold::Ambiguous)
    } else if tacks < TACKS && !both(looks, w) {
        Err(Untold::NoTacks)
    } else {
        Ok(w)
    }
}

/// Two degrees for each bin.
fn direction(bin: usize) -> f64 {
    2.0 * bin as f64 * DEGREE
}

/// Whether two directions differ by more than 40 degrees.
fn far(a: usize, b: usize) -> bool {
    wrap(direction(a) - direction(b)).abs() > 40.0 * DEGREE
}

/// Winds tried for a direction, m/s: one for the outing.
const WINDS: [f64; 10] = [1.5, 2.0, 2.7, 3.5, 4.3, 5.2, 6.3, 7.6, 9.0, 11.0];
/// How far a look's speed lies from the table's, as a share, with one given and with the assumed shape; and how often it is something else altogether. Assumed.
const SPREAD: (f64, f64) = (0.15, 0.22);
const ODD: f64 = 0.1;
/// Speeds are kept in steps of this share, the first of them this slow, m/s.
const STEP: f64 = 0.06;
const SLOWEST: f64 = 0.2;
const STEPS: usize = 50;

/// Looks counted by course and speed, and how well each speed fits each angle in each wind.
struct Speeds {
    /// Looks of way gathered, by course (two degrees each) and step of speed.
    counted: Vec<(usize, usize, f64)>,
    /// By wind: by two degrees from it, then by step of speed.
    fits: Vec<Vec<f64>>,
}

impl Speeds {
    fn of(looks: &Looks, table: &Polar, given: bool) -> Self {
        let spread = if given { SPREAD.0 } else { SPREAD.1 };
        let mut counts = vec![0u32; BINS * STEPS];
        for look in looks.all.iter().filter(|l| l.settled && l.speed > SLOWEST) {
            let course = (look.course.rem_euclid(core::f64::consts::TAU) / (2.0 * DEGREE)) as usize % BINS;
            let speed = (((look.speed / SLOWEST).ln() / STEP) as usize).min(STEPS - 1);
            counts[course * STEPS + speed] += 1;
        }
        let kept = counts.iter().enumerate().filter(|(_, n)| **n > 0);
        let counted = kept.map(|(k, n)| (k / STEPS, k % STEPS, f64::from(*n))).collect();
        let fit = |foreseen: f64, step: usize| {
            let speed = (step as f64 + 0.5) * STEP + SLOWEST.ln();
            let miss = (speed - foreseen.max(1e-3).ln()) / spread;
            (ODD + (1.0 - ODD) * (-0.5 * miss * miss).exp()).ln()
        };
        let of = |wind: f64| {
            let foreseen = (0..=BINS / 2).map(|k| table.speed(wind, 2.0 * k as f64 * DEGREE));
            foreseen.flat_map(|foreseen| (0..STEPS).map(move |step| fit(foreseen, step))).collect()
        };
        Self { counted, fits: WINDS.iter().map(|wind| of(*wind)).collect() }
    }

    /// How well all speeds fit a direction, in the wind that suits it best: nought where all do, less where they do not.
    fn fit(&self, bin: usize) -> f64 {
        let of = |fits: &Vec<f64>| {
            let one = |&(course, step, count): &(usize, usize, f64)| {
                let off = course.abs_diff(bin);
                count * fits[off.min(BINS - off) * STEPS + step]
            };
            self.counted.iter().map(one).sum::<f64>()
        };
        self.fits.iter().map(of).fold(f64::MIN, f64::max)
    }
}

/// Whether close-hauled courses of both tacks are a good part of all: reaching to and fro has them on one side only.
fn both(looks: &Looks, w: f64) -> bool {
    let close = |l: &&super::look::Look, side: f64| (35.0 * DEGREE..62.0 * DEGREE).contains(&(side * wrap(w - l.course)));
    let [a, b] = [1.0, -1.0].map(|side| looks.all.iter().filter(|l| close(l, side)).count());
    a.min(b) > FEW && a.min(b) as f64 > SHARE * looks.all.len() as f64
}

/// Fewest looks, and least share of all, close-hauled on each tack where there are hardly any turns. Assumed.
const FEW: usize = 20;
const SHARE: f64 = 0.10;

fn bell(off: f64, sd: f64) -> f64 {
    (-0.5 * (off / sd).powi(2)).exp()
}

/// How often a boat under way is at this angle to the wind (degrees), per degree.
fn mixture(angle: f64) -> f64 {
    let normal = |mean: f64, sd: f64| bell(angle - mean, sd) / (sd * 2.5066);
    let floor = 0.06 / 360.0;
    if angle < 38.0 {
        return floor;
    }
    let flat = |a: f64, b: f64| if (a..=b).contains(&angle) { 1.0 / (b - a) } else { 0.0 };
    0.42 * normal(50.0, 13.0) + 0.27 * flat(40.0, 150.0) + 0.12 * normal(163.0, 8.0) + 0.13 * flat(140.0, 180.0) + floor
}

fn sharp_turns(fleet: &Fleet) -> Vec<Sharp> {
    let mut found = Vec::new();
    for b in &fleet.boats {
        let change = |i: usize| (b.course[i + 5] - b.course[i - 5]).abs();
        let mut i = b.span.0 + 14;
        while i + 14 < b.span.1 {
            let window = i - 14..i + 14;
            let sharp = change(i) > 55.0 * DEGREE && b.on[window].iter().all(|on| *on);
            let peak = sharp && (1..=5).all(|k| change(i) >= change(i - k) && change(i) >= change(i + k));
            if peak && let (Some((v0, c0)), Some((v1, c1))) = (b.mean(i - 13, i - 5), b.mean(i + 5, i + 13)) {
                let turn = wrap(c1 - c0);
                let slowest = b.speed[i - 4..i + 6].iter().copied().fold(v0, f64::min);
                if (70.0 * DEGREE..130.0 * DEGREE).contains(&turn.abs()) && v0 > 0.5 && v1 > 0.4 {
                    found.push(Sharp { bisector: c0 + 0.5 * turn, kept: slowest / v0 });
                    i += 8;
                }
            }
            i += 1;
        }
    }
    found
}
