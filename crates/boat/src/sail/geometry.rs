//! Geometry of sail, mast, boom and ropes: where everything is for a rake and a boom angle, and how long things are.
//!
//! Exact geometry of rigid parts. Mast and boom keep their angle (the sail's tack angle): a boom that lifts as the leech
//! sags is not modelled, so a sheeted boom end differs from the dock reading by mast bend alone.

use crate::class::{AdjusterKind, Class, Lead, Sail};
use crate::scalar::{Part, Real, soft_plus};
use core::f64::consts::{FRAC_PI_2, PI};

/// Strips the sail is cut into, foot to head.
pub const STRIPS: usize = 15;
/// Arm at which a rope's pull across the boom fades out, m: it cannot push.
const ROPE_ARM_SCALE: f64 = 0.02;
/// Least arm, m, so that a sheet led along the boom asks for a great force and not an infinite one.
const ROPE_ARM_LEAST: f64 = 1e-4;
/// Gap over foot beyond which the arc is no longer followed (a foot of 1.95 m: 64 cm).
const GAP_MOST: f64 = 0.33;

/// Fixed geometry of one sail on its spars.
#[derive(Debug, Clone, PartialEq)]
pub struct Geometry {
    /// Height of the sail along the mast, m: its luff, or up to the peak of a sprit sail.
    pub luff: f64,
    /// The part of it that is held to the mast, m: all of it, or up to the throat.
    pub throat: f64,
    /// Leech, m.
    pub leech: f64,
    /// Foot, m.
    pub foot: f64,
    /// Angle between luff and foot, rad.
    pub tack_angle: f64,
    /// Angle between foot and leech, rad.
    pub clew_angle: f64,
    /// Angle between leech and luff, rad.
    pub head_angle: f64,
    /// Height of the point, in luffs, where leech and mast would meet: the leech's string ends there.
    pub apex: f64,
    /// Sail area, m2.
    pub area: f64,
    /// Where each strip is looked at, 0 at the tack, 1 at the head.
    pub middle: [f64; STRIPS],
    /// Height of each strip, share of the luff.
    pub share: [f64; STRIPS],
    /// Edges of the strips, share of the luff.
    pub edge: [f64; STRIPS + 1],
    /// Chord of each strip as cut, m.
    pub chord: [f64; STRIPS],
    /// How far aft of the mast each strip begins, m: nothing below a throat, along the head above it.
    pub lead_edge: [f64; STRIPS],
    /// Partner with the mast upright, x and z.
    pub partner: [f64; 2],
    /// Mast foot below the partner, m.
    pub bury: f64,
    /// Whether the partner holds still when the mast is raked (otherwise the foot does).
    pub partner_holds: bool,
    /// Tack above the partner along the mast, m.
    pub tack: f64,
    /// Boom, m.
    pub boom: f64,
    /// Sheet block on the boom, from the mast, m.
    pub block: f64,
    /// Car or fixed block that the sheet leads to: x, z.
    pub lead: [f64; 2],
    /// Top of the transom above the base line, m.
    pub transom: f64,
}

impl Geometry {
    /// The geometry of a sail of a class.
    #[must_use]
    pub fn new(class: &Class, sail: &Sail) -> Self {
        let corner = |opposite: f64, a: f64, b: f64| ((a * a + b * b - opposite * opposite) / (2.0 * a * b)).clamp(-1.0, 1.0).acos();
        let (foot, leech) = (sail.foot, sail.leech);
        // Of a sprit sail the upper end of the leech is its peak, and mast, foot and leech make a triangle above it.
        let (luff, top, [tack_angle, clew_angle, head_angle]) = match &sail.sprit {
            None => {
                let luff = sail.luff;
                (luff, sail.head, [corner(leech, luff, foot), corner(luff, foot, leech), corner(foot, luff, leech)])
            }
            Some(sprit) => {
                let [aft, up] = sprit.peak;
                let diagonal = aft.hypot(up);
                let (tack, clew) = (aft.atan2(up) + corner(leech, diagonal, foot), corner(diagonal, foot, leech));
                (up, aft, [tack, clew, PI - tack - clew])
            }
        };
        let above = (luff - sail.luff).max(0.0);
        let edge_of = |s: f64| if above > 0.0 { top * (s * luff - sail.luff).max(0.0) / above } else { 0.0 };
        let at = |j: usize| 0.5 * (1.0 - (j as f64 * PI / STRIPS as f64).cos());
        let edge: [f64; STRIPS + 1] = core::array::from_fn(at);
        let middle: [f64; STRIPS] = core::array::from_fn(|i| 0.5 * (1.0 - ((i as f64 + 0.5) * PI / STRIPS as f64).cos()));
        let share: [f64; STRIPS] = core::array::from_fn(|i| edge[i + 1] - edge[i]);
        let lead_edge = middle.map(edge_of);
        let chord = middle.map(|s| foot * (1.0 - s) + top * s + 4.0 * sail.roach * s * (1.0 - s) - edge_of(s));
        let (lead_x, lead_z) = match class.lead {
            Lead::Traveller { x, z, .. } | Lead::Block { x, z, .. } => (x, z),
        };
        Self {
            luff,
            throat: sail.luff,
            leech,
            foot,
            tack_angle,
            clew_angle,
            head_angle,
            apex: foot / (foot - top).max(0.05 * foot),
            area: luff * (0.5 * (foot + top) + sail.roach * 2.0 / 3.0) - 0.5 * above * top,
            middle,
            share,
            edge,
            chord,
            lead_edge,
            partner: [class.mast.foot[0], class.mast.partner_z],
            bury: class.mast.partner_z - class.mast.foot[1],
            partner_holds: class.mast.adjuster.kind == AdjusterKind::Step,
            tack: class.mast.tack_above_partner,
            boom: class.boom.length,
            block: class.sheet.on_boom,
            lead: [lead_x, lead_z],
            transom: class.hull.stations.first().and_then(|s| s.points.last()).map_or(0.0, |p| p[1]),
        }
    }

    /// How far the mast foot moves forward for a rake (rad, tip aft positive) with the partner holding still, m.
    #[must_use]
    pub fn foot_forward(&self, rake: f64) -> f64 {
        if self.partner_holds { self.bury * rake.tan() } else { 0.0 }
    }

    /// How far the partner moves aft for a rake (rad, tip aft positive) with the foot holding still, m.
    #[must_use]
    pub fn partner_aft(&self, rake: f64) -> f64 {
        if self.partner_holds { 0.0 } else { self.bury * rake.tan() }
    }

    /// The mast at a rake (rad, tip aft positive).
    pub fn mast<D: Real>(&self, rake: D) -> MastLine<D> {
        let (sin, cos) = rake.sin_cos();
        let partner = if self.partner_holds { D::from(self.partner[0]) } else { -rake.tan() * self.bury + self.partner[0] };
        MastLine { partner, partner_z: self.partner[1], sin, cos }
    }

    /// Boom end above the top of the transom, boom on the centreline, at a rake, m.
    pub fn boom_end<D: Real>(&self, rake: D) -> D {
        self.mast(rake).on_boom(self, D::from(0.0), self.boom)[2] - self.transom
    }

    /// Tape from the top of the luff to the top of the transom on the centreline, at a rake, m.
    pub fn mast_tip_tape<D: Real>(&self, rake: D) -> D {
        let [x, _, z] = self.mast(rake).at(self.tack + self.throat);
        let z = z - self.transom;
        (x * x + z * z).sqrt()
    }

    /// The rake that gives a boom end height (m above the top of the transom), rad; `None` beyond 20 degrees.
    #[must_use]
    pub fn rake_for_boom_end(&self, height: f64) -> Option<f64> {
        inverse(height, |rake| self.boom_end(rake))
    }

    /// The rake that gives a tape from masthead to transom (m), rad; `None` beyond 20 degrees.
    #[must_use]
    pub fn rake_for_mast_tip_tape(&self, tape: f64) -> Option<f64> {
        inverse(tape, |rake| self.mast_tip_tape(rake))
    }
}

/// The rake in +-20 degrees at which a falling reading takes a value, by halving.
fn inverse(value: f64, reading: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut low, mut high) = (-20.0 * measure::angle::DEGREE, 20.0 * measure::angle::DEGREE);
    if !(reading(high) <= value && value <= reading(low)) {
        return None;
    }
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if reading(mid) > value { low = mid } else { high = mid }
    }
    Some(0.5 * (low + high))
}

/// A raked mast.
#[derive(Debug, Clone, Copy)]
pub struct MastLine<D> {
    /// Partner, from the transom, m.
    pub partner: D,
    /// Partner above the base line, m.
    pub partner_z: f64,
    /// Sine of the rake.
    pub sin: D,
    /// Cosine of the rake.
    pub cos: D,
}

impl<D: Real> MastLine<D> {
    /// A point of the mast a distance above the partner along it, body axes.
    pub fn at(&self, above: f64) -> [D; 3] {
        [self.partner - self.sin * above, D::from(0.0), self.cos * above + self.partner_z]
    }
    /// A point of the boom a distance from the mast, boom at an angle off the centreline (rad, to leeward), body axes.
    pub fn on_boom(&self, g: &Geometry, boom: D, distance: f64) -> [D; 3] {
        let (s, c) = boom.sin_cos();
        let [x, _, z] = self.at(g.tack);
        let (rise, out) = (g.tack_angle - FRAC_PI_2).sin_cos();
        let (up, aft) = (rise * distance, out * distance);
        [x - self.cos * c * aft - self.sin * up, s * aft, z - self.sin * c * aft + self.cos * up]
    }
}

/// The sheet from the car to the block on the boom: boom angle, rake, car to leeward -> share of the pull that closes the
/// boom, share that presses it down, and rope length (one part) less the length with boom and car on the centreline.
pub struct SheetLead<'a>(pub &'a Geometry);

impl Part<3, 3> for SheetLead<'_> {
    fn at<D: Real>(&self, [boom, rake, car]: [D; 3]) -> [D; 3] {
        let g = self.0;
        let mast = g.mast(rake);
        let rope = |boom: D, car: D| {
            let [x, y, z] = mast.on_boom(g, boom, g.block);
            let pull = [-x + g.lead[0], car - y, -z + g.lead[1]];
            let length = (pull[0] * pull[0] + pull[1] * pull[1] + pull[2] * pull[2] + 1e-8).sqrt();
            (pull, length)
        };
        let (pull, length) = rope(boom, car);
        let (_, snug) = rope(D::from(0.0), D::from(0.0));
        let (s, c) = boom.sin_cos();
        // Ahead and up in the frame of the mast.
        let ahead = pull[0] * mast.cos + pull[2] * mast.sin;
        let down = pull[0] * mast.sin - pull[2] * mast.cos;
        let arm = -(ahead * s + pull[1] * c);
        [(soft_plus(arm, ROPE_ARM_SCALE) + ROPE_ARM_LEAST) / length, down / length, length - snug]
    }
}

/// The foot of the sail as an arc of a circle between tack and clew: gap (m) -> how far the clew moves forward (m), and
/// chord over foot. The arc keeps the foot's length.
pub struct FootArc {
    /// Foot, m.
    pub foot: f64,
}

impl Part<1, 2> for FootArc {
    fn at<D: Real>(&self, [gap]: [D; 1]) -> [D; 2] {
        let g = gap / self.foot;
        let g = if g.value() > GAP_MOST {
            D::from(GAP_MOST)
        } else if g.value() < 0.0 {
            D::from(0.0)
        } else {
            g
        };
        // Sag over arc length at half angle a is (1 - cos a) / (2 a): a series that holds at zero.
        let sag = |a: D| {
            let b = a * a;
            (b * (b * (b * (1.0 / 3_628_800.0) - 1.0 / 40_320.0) + 1.0 / 720.0) - 1.0 / 24.0) * b * a * 0.5 + a * 0.25
        };
        let slope = |a: D| {
            let b = a * a;
            (b * (b * (b * (9.0 / 3_628_800.0) - 7.0 / 40_320.0) + 5.0 / 720.0) - 3.0 / 24.0) * b * 0.5 + 0.25
        };
        let mut a = g * 4.0;
        for _ in 0..8 {
            let step = (sag(a) - g) / slope(a);
            a -= step;
        }
        let b = a * a;
        let ratio = (((b * (1.0 / 362_880.0) - 1.0 / 5_040.0) * b + 1.0 / 120.0) * b - 1.0 / 6.0) * b + 1.0;
        [(-ratio + 1.0) * self.foot, ratio]
    }
}
