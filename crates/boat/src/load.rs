//! Attitude and loads: where a point of the boat is when she heels, sinks and trims, and what a force there does.
//!
//! Body axes: x from the transom forward, y from the centreline to leeward, z up from the base line.
//! Horizontal axes: X along the heading, Y to leeward, Z up from the water; same origin fore and aft.
//! Heel > 0 tips the mast to leeward, trim > 0 lifts the bow, sinkage is the height of the water above the base line at `pivot_x`.

use crate::scalar::Real;

/// How the boat lies in the water.
#[derive(Debug, Clone, Copy)]
pub struct Attitude<D> {
    /// Sine and cosine of heel.
    pub heel: (D, D),
    /// Height of the water above the base line at `pivot_x`, m.
    pub sinkage: D,
    /// Trim, rad, small, bow up.
    pub trim: D,
    /// Where sinkage is read, m from the transom.
    pub pivot_x: f64,
}

impl<D: Real> Attitude<D> {
    /// An attitude from heel (rad), sinkage (m) and trim (rad).
    pub fn new(heel: D, sinkage: D, trim: D, pivot_x: f64) -> Self {
        Self { heel: heel.sin_cos(), sinkage, trim, pivot_x }
    }
    /// Horizontal coordinates of a point of the boat. Trim lifts it as it lies forward; its other effects are second order.
    pub fn place(&self, [x, y, z]: [D; 3]) -> [D; 3] {
        let (s, c) = self.heel;
        [x, y * c + z * s, z * c - y * s - self.sinkage + (x - self.pivot_x) * self.trim]
    }
    /// A vector of the boat in horizontal axes.
    pub fn turn(&self, [x, y, z]: [D; 3]) -> [D; 3] {
        let (s, c) = self.heel;
        [x, y * c + z * s, z * c - y * s]
    }
}

/// A force and what it does about the origin.
#[derive(Debug, Clone, Copy)]
pub struct Load<D> {
    /// Force ahead, to leeward, up, N.
    pub force: [D; 3],
    /// Moment that heels to leeward, N m.
    pub heeling: D,
    /// Moment that turns the bow to windward, N m.
    pub luffing: D,
    /// Moment that presses the bow down, N m.
    pub bow_down: D,
}

impl<D: Real> Load<D> {
    /// Nothing.
    pub fn none() -> Self {
        let o = D::from(0.0);
        Self { force: [o; 3], heeling: o, luffing: o, bow_down: o }
    }
    /// A force at a point, both in horizontal axes.
    pub fn at(point: [D; 3], force: [D; 3]) -> Self {
        let ([x, y, z], [fx, fy, fz]) = (point, force);
        Self { force, heeling: fy * z - fz * y, luffing: y * fx - x * fy, bow_down: fx * z - fz * x }
    }
    /// Both together.
    pub fn and(self, other: Self) -> Self {
        let (a, b) = (self.force, other.force);
        Self {
            force: [a[0] + b[0], a[1] + b[1], a[2] + b[2]],
            heeling: self.heeling + other.heeling,
            luffing: self.luffing + other.luffing,
            bow_down: self.bow_down + other.bow_down,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_masthead_goes_to_leeward_and_down() {
        let a = Attitude::new(0.2f64, 0.1, 0.0, 1.2);
        let [x, y, z] = a.place([1.9, 0.0, 3.0]);
        assert!(x == 1.9 && (y - 3.0 * 0.2f64.sin()).abs() < 1e-12 && (z - (3.0 * 0.2f64.cos() - 0.1)).abs() < 1e-12);
        // A leeward point goes down.
        assert!(a.place([1.9, 0.5, 0.0])[2] < a.place([1.9, -0.5, 0.0])[2]);
    }

    #[test]
    fn signs_are_those_a_sailor_feels() {
        // A side force to leeward aloft heels, and aft of the origin of turning it luffs.
        let sail = Load::at([1.0, 0.0, 2.0], [10.0, 50.0, 0.0]);
        assert!(sail.heeling > 0.0 && sail.bow_down > 0.0 && sail.luffing < 0.0);
        // Drive to leeward of the centreline turns her to windward.
        assert!(Load::at([1.0, 0.5, 0.0], [10.0, 0.0, 0.0]).luffing > 0.0);
        // A weight to windward rights her.
        assert!(Load::at([1.0, -0.8, 0.5], [0.0, 0.0, -400.0]).heeling < 0.0);
    }
}
