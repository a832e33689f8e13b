//! Mast rake by the boat's own parts: which way each part moves to tip the masthead back, and by how much.
//!
//! Exact geometry of a straight mast held at foot and partner. The sign trap: with the partner fixed, the *bottom* one notch
//! aft tips the masthead *forward* and lifts the boom end, so the masthead's way is named first and the part after it.

use super::{AdjusterKind, Class};
use crate::sail::geometry::Geometry;
use measure::angle::DEGREE;

/// Which way a part moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Toward {
    /// Toward the bow.
    Forward,
    /// Toward the transom.
    Aft,
}

/// What tips the masthead back by one notch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TipBack {
    /// The part to move, in words.
    pub part: &'static str,
    /// Which way it moves.
    pub toward: Toward,
    /// How far the mast turns aft, rad.
    pub rake: f64,
}

impl Class {
    /// What one notch does, named by the masthead's way: back.
    #[must_use]
    pub fn tip_back(&self) -> TipBack {
        let bury = (self.mast.partner_z - self.mast.foot[1]).max(1e-6);
        let rake = (self.mast.adjuster.notch / bury).atan();
        let (part, toward) = match self.mast.adjuster.kind {
            AdjusterKind::Step => ("bottom of the mast", Toward::Forward),
            AdjusterKind::Partner => ("partner", Toward::Aft),
            AdjusterKind::Insert => ("insert in front of the mast, at the partner", Toward::Aft),
        };
        TipBack { part, toward, rake }
    }

    /// Boom end above the top of the transom against one degree of rake aft, from upright, with the first sail, m: below zero.
    #[must_use]
    pub fn boom_end_per_degree(&self) -> f64 {
        self.sails.first().map_or(0.0, |sail| {
            let g = Geometry::new(self, sail);
            g.boom_end(0.5 * DEGREE) - g.boom_end(-0.5 * DEGREE)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bottom_forward_tips_the_masthead_back() {
        let class = Class::pram();
        let tip = class.tip_back();
        assert_eq!((tip.part, tip.toward), ("bottom of the mast", Toward::Forward));
        // One centimetre over 33 cm between foot and partner.
        assert!((tip.rake - (0.01f64 / 0.33).atan()).abs() < 1e-12);
        let mut other = class.clone();
        other.mast.adjuster.kind = AdjusterKind::Partner;
        assert_eq!(other.tip_back().toward, Toward::Aft);
        other.mast.adjuster.kind = AdjusterKind::Insert;
        assert_eq!(other.tip_back().toward, Toward::Aft);
    }

    #[test]
    fn a_boom_end_falls_as_the_mast_goes_back() {
        let class = Class::pram();
        // A boom of 2.05 m falls by about its length times a degree.
        assert!((class.boom_end_per_degree() + 0.036).abs() < 0.0005, "{}", class.boom_end_per_degree());
        let g = Geometry::new(&class, &class.sails[0]);
        for rake in [-0.1, 0.0, 0.07] {
            assert!((g.rake_for_boom_end(g.boom_end(rake)).unwrap() - rake).abs() < 1e-9);
        }
    }
}
