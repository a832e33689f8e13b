//! What moving through the water costs, part by part, and the side force and turning of the hull itself.
//!
//! Friction: ITTC-57 line with a form factor (ITTC 7.5-02-02-01). Residuary: the table of `data/constants.toml`, joined by a
//! monotone curve. Transom, blunt bow, leeway, chop, windage and trim at speed are estimates; each constant says so there. A
//! towed curve of the class file replaces the resistance upright: measured over computed at the towing condition is a
//! factor over speed, held at its ends, and the model carries it to other masses, heels and trims.
//!
//! Valid to a Froude number of about 1, without planing. Drag is even in leeway and odd in speed: none at rest, save in chop.

use super::curve::Curve;
use super::hydrostatics::Afloat;
use super::lines::HullForm;
use crate::class::Class;
use crate::constants::{Constants, residuary_table};
use crate::load::Load;
use crate::scalar::{Part, Real, lift, soft_plus};
use core::f64::consts::FRAC_PI_2;
use measure::fluid::Fluid;
use measure::quantity::GRAVITY;

/// Speed at which going ahead and going astern meet smoothly, m/s.
const SLOW: f64 = 1e-4;
/// Reynolds number below which the friction line is left: at rest friction fades with speed squared.
const REYNOLDS_LEAST: f64 = 2e4;
/// Width over which a blunt bow starts to push water, m.
const BOW_WIDTH: f64 = 0.005;
/// Width over which chop fades out as it comes from abeam, in cosines of the wind angle.
const CHOP_WIDTH: f64 = 0.08;
/// Fetch length over which STAwave-1 takes the bow's breadth, m: the form of ISO 15016 with this boat's round bow.
const BOW_RUN: f64 = 0.9;

/// Friction coefficient of the ITTC-57 line. Source: ITTC 7.5-02-02-01.
pub fn friction_line<D: Real>(reynolds: D) -> D {
    let x = reynolds.log10() - 2.0;
    (x * x).recip() * 0.075
}

/// Everything about a hull's resistance that no state changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Resistance {
    residuary: Curve,
    blunt_bow: f64,
    breadth: f64,
    /// Measured over computed resistance against speed, where the class was towed.
    towed: Option<Curve>,
}

/// How she goes.
#[derive(Debug, Clone, Copy)]
pub struct Underway<D> {
    /// Speed along the track, m/s.
    pub speed: D,
    /// Leeway, rad.
    pub leeway: D,
    /// Heel, rad.
    pub heel: D,
    /// Mass of everything, kg.
    pub mass: D,
    /// True wind angle to the track, rad: chop comes with it.
    pub twa_to_track: D,
    /// Height of the chop (significant), m.
    pub chop: f64,
}

impl<D: Real> Underway<D> {
    /// Straight ahead, upright, on flat water.
    pub fn straight(speed: D, mass: D) -> Self {
        let zero = D::from(0.0);
        Self { speed, leeway: zero, heel: zero, mass, twa_to_track: zero, chop: 0.0 }
    }
}

/// Resistance part by part, N, against the way she goes.
#[derive(Debug, Clone, Copy)]
pub struct Drag<D> {
    /// Skin friction with form.
    pub friction: D,
    /// Waves and all else the table holds.
    pub residuary: D,
    /// Immersed transom.
    pub transom: D,
    /// Blunt bow in the water.
    pub bow: D,
    /// Added by chop.
    pub chop: D,
    /// What leeway multiplies the first four by.
    pub leeway_factor: D,
    /// All of it.
    pub total: D,
}

struct DragPart<'a> {
    r: &'a Resistance,
    c: &'a Constants,
    water: Fluid,
    chop: f64,
}

impl Part<10, 7> for DragPart<'_> {
    fn at<D: Real>(&self, x: [D; 10]) -> [D; 7] {
        let [speed, leeway, heel, mass, twa, skin, length, transom_area, transom_push, bow_depth] = x;
        let (c, rho) = (self.c, self.water.density);
        let square = speed * speed;
        let pace = (square + SLOW * SLOW).sqrt();
        let way = speed / pace;
        let length = soft_plus(length, 0.02);
        let q = square * (0.5 * rho);

        let reynolds = pace * length * (c.reynolds_length / self.water.viscosity);
        let reynolds = (reynolds * reynolds + REYNOLDS_LEAST * REYNOLDS_LEAST).sqrt();
        let towed = self.r.towed.as_ref().map_or(D::from(1.0), |t| t.at(pace));
        let friction = q * skin * friction_line(reynolds) * (1.0 + c.form_factor) * towed;

        let froude = pace / (length * GRAVITY).sqrt();
        // The curve is a difference from rest, so that the smoothing of pace leaves none there.
        let at_rest = self.r.residuary.at(D::from(SLOW) / (length * GRAVITY).sqrt());
        let volume = soft_plus(mass / rho, 1e-4);
        let slender = volume.cbrt() / length * c.residuary_slenderness;
        let residuary = (self.r.residuary.at(froude) - at_rest)
            * mass
            * (GRAVITY * c.residuary_scale)
            * slender
            * slender
            * (heel * heel * c.residuary_heel + 1.0)
            * towed;

        // Base drag of a wet transom, which cannot exceed the push of still water that goes missing when it runs clear.
        let (base, dry) = (q * transom_area * c.transom_drag, transom_push * (rho * GRAVITY));
        let transom = base * dry / (base + dry + 1e-9) * towed;
        let bow = q * soft_plus(bow_depth + square / (4.0 * GRAVITY), BOW_WIDTH) * (c.bow_drag * self.r.blunt_bow) * towed;
        let leeway_factor = leeway * leeway * c.leeway_drag + 1.0;
        let crests = rho * GRAVITY * self.chop * self.chop / 16.0 * self.r.breadth * (self.r.breadth / BOW_RUN).sqrt();
        let chop = soft_plus(twa.cos(), CHOP_WIDTH) * (crests * c.chop);
        let [friction, residuary, transom, bow] = [friction, residuary, transom, bow].map(|d| d * way);
        [friction, residuary, transom, bow, chop, leeway_factor, (friction + residuary + transom + bow) * leeway_factor + chop]
    }
}

impl Resistance {
    /// The resistance of a class.
    #[must_use]
    pub fn of(class: &Class, form: &HullForm, c: &Constants, water: Fluid) -> Self {
        let (froude, ratio) = residuary_table();
        let mut r = Self { residuary: Curve::through(froude, ratio), blunt_bow: class.hull.blunt_bow, breadth: form.breadth, towed: None };
        if let Some(towed) = &class.hull.towed {
            let mass = class.hull.mass + class.mast.rig_mass + towed.mass;
            if let Some(level) = form.level(mass, water) {
                let factor = |(speed, drag): (&f64, &f64)| {
                    let model = r.drag(c, water, &level, &Underway::straight(*speed, mass));
                    drag / model.total.max(1e-9)
                };
                let factors: Vec<f64> = towed.speed.iter().zip(&towed.drag).map(factor).collect();
                r.towed = Some(held(&towed.speed, &factors));
            }
        }
        r
    }

    /// The drag of a hull afloat.
    pub fn drag<D: Real>(&self, c: &Constants, water: Fluid, afloat: &Afloat<D>, way: &Underway<D>) -> Drag<D> {
        let part = DragPart { r: self, c, water, chop: way.chop };
        let [friction, residuary, transom, bow, chop, leeway_factor, total] = lift(
            &part,
            [
                way.speed,
                way.leeway,
                way.heel,
                way.mass,
                way.twa_to_track,
                afloat.wetted_area,
                afloat.length,
                afloat.transom_area,
                afloat.transom_push,
                afloat.bow_depth,
            ],
        );
        Drag { friction, residuary, transom, bow, chop, leeway_factor, total }
    }
}

/// A curve that keeps its end values beyond its ends.
fn held(x: &[f64], y: &[f64]) -> Curve {
    let ends = x.first().zip(x.last()).zip(y.first().zip(y.last()));
    let Some(((x0, x1), (y0, y1))) = ends else { return Curve::through(&[], &[]) };
    // Two more points, close by and level, make the ends level.
    let step = 1e-3;
    let xs: Vec<f64> = [x0 - step].into_iter().chain(x.iter().copied()).chain([x1 + step]).collect();
    let ys: Vec<f64> = [*y0].into_iter().chain(y.iter().copied()).chain([*y1]).collect();
    Curve::through(&xs, &ys)
}

impl HullForm {
    /// Upright and level with a mass, for towing tests and tables.
    #[must_use]
    pub fn level(&self, mass: f64, water: Fluid) -> Option<Afloat<f64>> {
        let volume = mass / water.density;
        let (mut low, mut high) = self.sheer.iter().fold((self.bow[1].min(0.0), 0.0f64), |(l, h), p| (l.min(p[2]), h.max(p[2])));
        if !(volume > 0.0 && self.afloat(0.0, high, 0.0).volume >= volume) {
            return None;
        }
        for _ in 0..50 {
            let mid = 0.5 * (low + high);
            if self.afloat(0.0, mid, 0.0).volume < volume { low = mid } else { high = mid }
        }
        Some(self.afloat(0.0, 0.5 * (low + high), 0.0))
    }
}

impl<D: Real> Drag<D> {
    /// As a load at the centre of the displaced volume, against the way she goes.
    pub fn load(&self, afloat: &Afloat<D>, leeway: D) -> Load<D> {
        let (s, c) = leeway.sin_cos();
        Load::at(afloat.centre, [-(self.total * c), -(self.total * s), D::from(0.0)])
    }
}

/// Side force and turning of the bare hull: cross flow under it, the slender body's turning across the flow, and that of a
/// heeled hull, whose sections' centres bend away from a straight line. Without the forces at the ends that a wake would add.
///
/// Source: slender-body theory (Munk 1924), sway mass of a flat section pi/2 rho T^2 with the mean draught T.
pub fn sway<D: Real>(c: &Constants, water: Fluid, afloat: &Afloat<D>, speed: D, leeway: D) -> Load<D> {
    let (s, k) = leeway.sin_cos();
    let (ahead, across) = (speed * k, speed * s);
    let pace = (across * across + SLOW * SLOW).sqrt();
    let push = -(across * pace * afloat.side_area * (0.5 * water.density * c.cross_flow));
    let mut load = Load::at([afloat.side_centre, afloat.centre[1], afloat.centre[2]], [D::from(0.0), push, D::from(0.0)]);
    let mass = c.added_mass * FRAC_PI_2 * water.density;
    load.luffing += (ahead * across * afloat.draught_square - ahead * ahead * afloat.draught_square_bend) * mass;
    load
}

/// Wind on hull, spars and sailor: `wind` is what the air does past the boat at that height, ahead and to leeward, m/s
/// (so a headwind is negative ahead); `x` is where it acts, m from the transom; `sailor` is body mass, kg.
pub fn windage<D: Real>(c: &Constants, air: Fluid, wind: [D; 2], x: D, sailor: f64) -> Load<D> {
    let pace = (wind[0] * wind[0] + wind[1] * wind[1] + SLOW * SLOW).sqrt() * (0.5 * air.density);
    let ahead = c.windage_area + c.windage_per_sailor * sailor;
    let zero = D::from(0.0);
    let force = [pace * wind[0] * ahead, pace * wind[1] * (ahead + c.windage_side), zero];
    Load::at([x, zero, D::from(c.windage_height)], force)
}

/// The moment of her own waves that lifts the bow at speed, as a load without force.
pub fn dynamic_trim<D: Real>(c: &Constants, water: Fluid, afloat: &Afloat<D>, speed: D) -> Load<D> {
    let froude = speed / (soft_plus(afloat.length, 0.02) * GRAVITY).sqrt();
    let ratio = froude * froude * (1.0 / (c.dynamic_trim_froude * c.dynamic_trim_froude));
    // (Fn / Fn half)^5, even in speed.
    let x = ratio * ratio * (ratio + 1e-12).sqrt();
    let mut load = Load::none();
    load.bow_down = -(x / (x + 1.0) * afloat.waterplane_second * (water.density * GRAVITY * c.dynamic_trim));
    load
}
