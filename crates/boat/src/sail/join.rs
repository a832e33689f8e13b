//! How strips make a sail: what each answers, joined by the chain rule to what they share.
//!
//! Every strip knows its own downwash, circulation and twist and a few numbers that are the same for all; what the boat feels is a
//! weighted sum over strips. So sums of strips are taken in those inputs, plain numbers all, and joined to dual numbers of many
//! directions once a sum instead of once a strip. Downwash is the circulations' by a table.

use super::STRIPS;
use super::rig::StripTable;
use super::strip::{JOINED, StripAnswer};
use crate::scalar::Real;

/// How many numbers all strips share.
pub(super) const SHARED: usize = 13;
/// Place of the last of the shared inputs: height above the water at the tack and its growth along the mast; true wind from ahead and
/// from windward; own speed ahead, and across with its growth along the mast; boom; clew's way forward; pull aft on the masthead; luff
/// tension; sine of heel; one over leech tension.
pub(super) const SLACK: usize = SHARED - 1;

/// Slopes of something a strip answers: in its own downwash, circulation and twist, and in what is shared.
#[derive(Clone, Copy)]
pub(super) struct Slope {
    own: [f64; 3],
    shared: [f64; SHARED],
}

impl Slope {
    pub(super) const NONE: Self = Self { own: [0.0; 3], shared: [0.0; SHARED] };

    /// Of a strip's output, by way of the flow there: speed and angle with their slopes in the flow's inputs; `h` is the strip's height
    /// along the mast.
    pub(super) fn of(strip: &StripAnswer, output: usize, flow: &[[f64; 6]; 2], h: f64) -> Self {
        let [angle, v, set, gamma, clew_move, head_pull, luff, heel] = strip.slopes[output];
        let [up, wash, from_ahead, from_side, ahead, across] = core::array::from_fn(|k| v * flow[0][k] + angle * flow[1][k]);
        let shared = [up, h * up, from_ahead, from_side, ahead, across, h * across, set, clew_move, head_pull, luff, heel, 0.0];
        Self { own: [wash, gamma, set], shared }
    }
}

/// Slopes of a sum over strips.
#[derive(Clone, Copy)]
pub(super) struct Sum {
    own: [[f64; 3]; STRIPS],
    pub(super) shared: [f64; SHARED],
}

impl Sum {
    pub(super) const NONE: Self = Self { own: [[0.0; 3]; STRIPS], shared: [0.0; SHARED] };

    /// Of one strip alone.
    pub(super) fn of(strip: usize, slope: &Slope, share: f64) -> Self {
        let mut sum = Self::NONE;
        sum.add(strip, slope, share);
        sum
    }

    /// Adds a share of what a strip answers.
    #[inline]
    pub(super) fn add(&mut self, strip: usize, slope: &Slope, share: f64) {
        for (sum, own) in self.own[strip].iter_mut().zip(&slope.own) {
            *sum += share * own;
        }
        for (sum, shared) in self.shared.iter_mut().zip(&slope.shared) {
            *sum += share * shared;
        }
    }

    /// Adds to the slope in a strip's twist.
    pub(super) fn add_twist(&mut self, strip: usize, share: f64) {
        self.own[strip][2] += share;
    }
}

/// What sums of strips are joined to: circulations, twists and what is shared.
pub(super) struct Shared<'a, D> {
    wash: &'a StripTable,
    inputs: [D; 2 * STRIPS + SHARED],
}

impl<'a, D: Real> Shared<'a, D> {
    pub(super) fn new(wash: &'a StripTable, gamma: &[D; STRIPS], twist: &[D; STRIPS], shared: &[D; SHARED]) -> Self {
        let inputs = core::array::from_fn(|k| {
            if k < STRIPS {
                gamma[k]
            } else if k < 2 * STRIPS {
                twist[k - STRIPS]
            } else {
                shared[k - 2 * STRIPS]
            }
        });
        Self { wash, inputs }
    }

    /// A sum with a value, with its derivatives where they are wanted.
    #[inline]
    pub(super) fn join(&self, value: f64, sum: impl FnOnce() -> Sum) -> D {
        if D::DIRECTIONS == 0 { D::from(value) } else { self.joined(value, &sum()) }
    }

    fn joined(&self, value: f64, sum: &Sum) -> D {
        let mut slopes = [0.0; 2 * STRIPS + SHARED];
        let mut gammas: [f64; STRIPS] = sum.own.map(|[_, gamma, _]| gamma);
        for ([wash, ..], row) in sum.own.iter().zip(self.wash) {
            if *wash != 0.0 {
                for k in 0..STRIPS {
                    gammas[k] += wash * row[k];
                }
            }
        }
        slopes[..STRIPS].copy_from_slice(&gammas);
        slopes[STRIPS..2 * STRIPS].copy_from_slice(&sum.own.map(|[.., twist]| twist));
        slopes[2 * STRIPS..].copy_from_slice(&sum.shared);
        D::joined(value, &slopes, &self.inputs)
    }
}

/// What strips answer, as slopes: kept where derivatives are wanted.
pub(super) struct Carried {
    /// Load on the leech, load on the mast, and chord of each.
    pub(super) apart: [[Slope; 3]; STRIPS],
    /// Force ahead, across, each times height, and the moments of [`StripAnswer`], over all.
    pub(super) total: [Sum; TOTALS],
    /// The deepest scallop over the spacing of ties, and whose it is.
    pub(super) scallop: (usize, Slope),
}

/// How many sums over the strips make the load on the boat.
pub(super) const TOTALS: usize = 7;

impl Carried {
    pub(super) const NONE: Self = Self { apart: [[Slope::NONE; 3]; STRIPS], total: [Sum::NONE; TOTALS], scallop: (0, Slope::NONE) };

    /// Takes a strip's slopes.
    pub(super) fn take(&mut self, i: usize, h: f64, slope: impl Fn(usize) -> Slope) {
        self.apart[i] = [slope(1), slope(2), slope(3)];
        for k in [0, 1] {
            let force = slope(5 + k);
            self.total[k].add(i, &force, 1.0);
            self.total[k + 2].add(i, &force, h);
        }
        for k in 7..JOINED {
            self.total[k - 3].add(i, &slope(k), 1.0);
        }
    }
}
