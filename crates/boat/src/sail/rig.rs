//! The rig made ready: everything about one sail on its mast that no setting changes, computed once.
//!
//! Mast: a cantilever above the partner (beam theory). Leech: a string from clew to the point where leech and mast would meet,
//! because a panel at the head pulls as a link that points there; a peak held by a sprit does the same (see [`SpritRig`]). Downwash: lifting line with its image below the water.

use super::geometry::{Geometry, STRIPS};
use super::lifting_line::{downwash, low_aspect_slope};
use crate::class::{Class, Sail, Sprit};
use crate::constants::Constants;
use core::f64::consts::PI;
use measure::quantity::GRAVITY;
use nalgebra::{DMatrix, DVector};

/// Water above the base line for the sail's image, m. Assumed for every load: an error of 3 cm in 60 moves the lift by 0.1 %.
const IMAGE_WATER: f64 = 0.10;

/// A square table over the strips.
pub type StripTable = [[f64; STRIPS]; STRIPS];

/// One sail on its mast and boom, ready for any setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Rig {
    /// Lengths, angles and strips.
    pub geometry: Geometry,
    /// Height of each strip in metres of luff.
    pub height: [f64; STRIPS],
    /// Cloth across each strip with what the luff curve and the seams add, m.
    pub cloth_width: [f64; STRIPS],
    /// Downwash at each strip for circulation on each, 1/m, smoothed.
    pub downwash: StripTable,
    /// Effective aspect ratio: that of the elliptic wing whose lift slope the sail has by this lifting line.
    pub aspect_ratio: f64,
    /// Lift slope of the sections, per rad: below 2 pi so that the whole sail agrees with Helmbold at low aspect ratio.
    pub slope: f64,
    /// Deflection of the leech's string at each strip for a force on each, times tension over force, m.
    pub string: StripTable,
    /// Deflection of the leech against the mast at each strip, for a lateral force on the mast at each, m/N.
    pub side_bend: StripTable,
    /// How far a straight luff leaves the mast at each strip for a pull on the masthead, m/N: aft, that is the mast's
    /// bow; to leeward, it opens the leech.
    pub head_bend: [f64; STRIPS],
    /// Turning aft of the luff's line, for a pull aft on the masthead, rad/N.
    pub lean: f64,
    /// Turning forward of it for a push forward at the gooseneck, rad/N.
    pub gooseneck_lean: f64,
    /// Diameter of the mast ahead of each strip, m: none above a throat.
    pub mast_diameter: [f64; STRIPS],
    /// Weight of the cloth, N/m2.
    pub cloth_weight: f64,
    /// Camber that the seams build in.
    pub built_in_camber: f64,
    /// Distance between the ties of each strip's luff, m: none above a throat.
    pub tie_spacing: [f64; STRIPS],
    /// Weight of the boom, N.
    pub boom_weight: f64,
    /// Greatest force a child's hands hold at the boom's block, N.
    pub hand_force: f64,
    /// Along the boom, and share of the vang's pull that presses down and that pushes the gooseneck; zeros without a vang.
    pub vang: [f64; 3],
    /// The sprit of a sprit sail.
    pub sprit: Option<SpritRig>,
}

/// How a sprit holds its peak: statics of leech, head and sprit, which meet there, in the sail's plane.
///
/// Heel, throat and tack stand on the mast, so that the three can turn about it together: sideways the sprit holds nothing by
/// itself, and the peak is held as by a leech drawn on to the mast, like a head. What the sprit decides is how hard the
/// leech can pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpritRig {
    /// Tension of the leech over the push of the sprit that holds it.
    pub carries: f64,
    /// Pull aft at the throat, and push forward at the sprit's heel, over what the leech pulls the peak aft.
    pub on_mast: [f64; 2],
    /// Heel above the tack, m.
    pub heel: f64,
    /// N of push per m of line.
    pub stiffness: f64,
}

impl SpritRig {
    fn new(g: &Geometry, sprit: &Sprit) -> Self {
        let [aft, up] = sprit.peak;
        // Forces over lengths, for a leech of one: across and along the mast both sum to nothing at the peak.
        let leech_aft = (g.foot - aft) / aft;
        let push = (up + leech_aft * (up - g.throat)) / (g.throat - sprit.heel_z);
        let head = push + leech_aft;
        Self {
            carries: g.leech / (push * aft.hypot(up - sprit.heel_z)),
            on_mast: [head / leech_aft, push / leech_aft],
            heel: sprit.heel_z,
            stiffness: sprit.stiffness,
        }
    }
}

/// Deflection of a unit cantilever at a height for a unit load at another, times its stiffness.
fn cantilever(at: f64, load: f64) -> f64 {
    let (low, high) = if at < load { (at, load) } else { (load, at) };
    low * low * (3.0 * high - low) / 6.0
}

impl Rig {
    /// Mass of the sail's cloth, kg.
    #[must_use]
    pub fn cloth_mass(&self) -> f64 {
        self.cloth_weight / GRAVITY * self.geometry.area
    }

    /// The rig of a class with one of its sails.
    #[must_use]
    pub fn new(class: &Class, sail: &Sail, c: &Constants) -> Self {
        let g = Geometry::new(class, sail);
        let sprit = sail.sprit.as_ref().map(|s| SpritRig::new(&g, s));
        let (tip, foot) = (g.tack + g.throat, g.tack);
        let stiffness = class.mast.stiffness;
        let along = |s: f64| g.tack + s * g.luff;
        // Height over the luff; above a throat there is no mast to leave.
        let up = |s: f64| if sprit.is_none() { s } else { s * g.luff / g.throat };
        // How far the straight line from tack to the top of the luff lies beyond the mast at s, for a load at a height.
        let lag = |s: f64, load: f64| match up(s) {
            u if u > 1.0 => 0.0,
            u => ((1.0 - u) * cantilever(foot, load) + u * cantilever(tip, load) - cantilever(along(s), load)) / stiffness,
        };
        let lean = |load: f64| (cantilever(tip, load) - cantilever(foot, load)) / stiffness / g.throat;
        // Of what the leech's upper end pulls aft: at the masthead, or at a throat with the sprit pushing forward below.
        let pulled = |by: &dyn Fn(f64) -> f64| match &sprit {
            None => by(tip),
            Some(s) => s.on_mast[0] * by(tip) - s.on_mast[1] * by(foot + s.heel),
        };
        let wash = smoothed_downwash(&g, class.mast.partner_z + g.tack - IMAGE_WATER, c.downwash_smoothing);
        let aspect_ratio = effective_aspect_ratio(&g, &wash);
        let seams = 8.0 / 3.0 * sail.built_in_camber * sail.built_in_camber;
        let vang = class.vang.as_ref().map_or([0.0; 3], |v| {
            let length = v.on_boom.hypot(v.below_boom).max(1e-9);
            [v.on_boom, v.below_boom / length, v.on_boom / length]
        });
        let m = g.middle;
        Self {
            height: m.map(along),
            cloth_width: core::array::from_fn(|i| {
                let u = up(m[i]).min(1.0);
                g.chord[i] * (1.0 + seams) + sail.luff_curve * 4.0 * u * (1.0 - u)
            }),
            downwash: wash,
            aspect_ratio,
            slope: low_aspect_slope(aspect_ratio),
            string: m.map(|a| m.map(|b| g.leech * a.min(b) * (g.apex - a.max(b)) / g.apex)),
            side_bend: m.map(|a| m.map(|b| lag(a, along(b)))),
            head_bend: m.map(|a| pulled(&|load| lag(a, load))),
            lean: pulled(&lean),
            gooseneck_lean: lean(foot),
            mast_diameter: m.map(|s| if up(s) > 1.0 { 0.0 } else { class.mast.diameter }),
            cloth_weight: sail.cloth * GRAVITY,
            built_in_camber: sail.built_in_camber,
            tie_spacing: m.map(|s| if up(s) > 1.0 { 0.0 } else { sail.tie_spacing }),
            boom_weight: class.boom.mass * GRAVITY,
            hand_force: class.sheet.hand_limit * class.sheet.purchase,
            vang,
            sprit,
            geometry: g,
        }
    }
}

/// Downwash of the sail and its image, averaged over a bell of a width in luffs: without that, a stalled sail
/// answers with circulation that alternates from strip to strip. A uniform downwash passes unchanged.
fn smoothed_downwash(g: &Geometry, tack_above_water: f64, width: f64) -> StripTable {
    let z = |s: f64| tack_above_water.max(0.01) + s * g.luff;
    let raw = g.middle.map(|a| {
        let row: [f64; STRIPS] = core::array::from_fn(|j| {
            let (low, high) = (z(g.edge[j]), z(g.edge[j + 1]));
            downwash(z(a), low, high) + downwash(z(a), -high, -low)
        });
        row
    });
    g.middle.map(|a| {
        let weight: [f64; STRIPS] = core::array::from_fn(|k| (-0.5 * ((g.middle[k] - a) / width).powi(2)).exp() * g.share[k]);
        let sum: f64 = weight.iter().sum();
        core::array::from_fn(|j| (0..STRIPS).map(|k| weight[k] * raw[k][j]).sum::<f64>() / sum)
    })
}

/// Aspect ratio of the elliptic wing with the lift slope that the lifting line gives this sail with sections of 2 pi.
fn effective_aspect_ratio(g: &Geometry, wash: &StripTable) -> f64 {
    let system = DMatrix::from_fn(STRIPS, STRIPS, |i, j| f64::from(u8::from(i == j)) + PI * g.chord[i] * wash[i][j]);
    let flow = DVector::from_fn(STRIPS, |i, _| PI * g.chord[i]);
    let sum = |f: &dyn Fn(usize) -> f64| (0..STRIPS).map(|i| f(i) * g.share[i]).sum::<f64>();
    let slope = system.lu().solve(&flow).map_or(PI, |gamma| 2.0 * sum(&|i| gamma[i]) / sum(&|i| g.chord[i]));
    2.0 / (2.0 * PI / slope - 1.0).max(0.02)
}
