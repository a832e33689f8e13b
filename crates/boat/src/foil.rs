//! Board and rudder: low-aspect plates through the water's surface.
//!
//! Lift by Whicker and Fehlner (DTMB Report 933, 1958): `CL = a sin cos + CDc sin |sin| cos`, slope by aspect ratio and sweep,
//! saturating at a greatest lift as `x / (1 + x^8)^(1/8)` and never dropping: a stall that dropped it gave a second, false
//! balance, a softer power missed the published lift by more than a tenth. Drag: friction
//! and roughness, induced, cross-flow, stall and spray. Immersion by the line of the blade and the heeled water, so raising,
//! heel, drawing a board up and the side a leeboard hangs on all count. The rudder meets part of the board's downwash and a slower stream.
//!
//! Not modelled: the hull's flow round the top, air drawn down a stalled blade, the blades' inertia.

use crate::class::{Board, Rudder};
use crate::constants::Constants;
use crate::load::{Attitude, Load};
use crate::scalar::{Part, Real, lift, logistic};
use core::f64::consts::PI;
use measure::fluid::Fluid;

/// Half-width over which a blade goes from wet to dry, m.
const WET_EDGE: f64 = 0.004;
/// Speed below which a blade's flow counts as this, m/s, so that angles stay finite at rest.
const SLOW: f64 = 1e-3;
/// Reynolds number below which friction no longer grows.
const REYNOLDS_LEAST: f64 = 1e4;
/// Sine below which `|sin|` is rounded.
const SMALL_SINE: f64 = 1e-3;
/// Share of greatest lift over which stalled drag sets in.
const STALL_WIDTH: f64 = 0.1;
/// Greatest downwash that the rudder meets, rad.
const WASH_MOST: f64 = 0.15;

/// How the boat moves.
#[derive(Debug, Clone, Copy)]
pub struct Motion<D> {
    /// How she lies.
    pub attitude: Attitude<D>,
    /// Speed along the track, m/s.
    pub speed: D,
    /// Leeway, rad.
    pub leeway: D,
    /// Rate of heeling to leeward, rad/s.
    pub roll_rate: D,
    /// Rate of turning to windward, rad/s, about the attitude's `pivot_x`.
    pub yaw_rate: D,
}

impl<D: Real> Motion<D> {
    /// Neither rolling nor turning.
    pub fn steady(attitude: Attitude<D>, speed: D, leeway: D) -> Self {
        let zero = D::from(0.0);
        Self { attitude, speed, leeway, roll_rate: zero, yaw_rate: zero }
    }
}

/// What a blade answers.
#[derive(Debug, Clone, Copy)]
pub struct FoilAnswer<D> {
    /// Load on the boat, horizontal axes; weight and buoyancy of the blade not in it.
    pub load: Load<D>,
    /// Lift coefficient, positive to windward of a boat making leeway.
    pub lift: D,
    /// Drag coefficient, without spray.
    pub drag: D,
    /// Length in the water, m.
    pub immersed: D,
    /// Downwash far behind, rad, if another blade of the same depth followed in it.
    pub wash: D,
    /// Moment of the water about the blade's own axis, N m: positive swings the blade back behind a rudder held to windward.
    pub hinge: D,
    /// Share stalled, 0 to 1.
    pub stalled: D,
}

impl<D: Real> FoilAnswer<D> {
    /// Whether it is stalled.
    pub fn is_stalled(&self) -> bool {
        self.stalled.value() > 0.5
    }
    /// Pull on the end of the tiller, N: positive pulls it to leeward, out of the hand that holds it to windward (weather helm).
    pub fn tiller_load(&self, c: &Constants) -> D {
        self.hinge / c.tiller_length
    }
}

/// A blade on its axis.
struct Blade<'a> {
    c: &'a Constants,
    water: Fluid,
    /// Top of its axis, body axes, m.
    top: [f64; 3],
    length: f64,
    chord: f64,
    thickness: f64,
    /// Where the axis stands on the chord, share from the leading edge.
    axis: f64,
    /// Share of the stream's pressure it meets.
    pressure: f64,
    /// Where sinkage is read.
    pivot_x: f64,
}

/// Lift slope of Whicker and Fehlner over the aspect ratio, which holds for no span. `a0` is the aspect ratio of the blade
/// unswept; swept it is `a0 cos^2`.
fn slope_share<D: Real>(c: &Constants, a0: D, sweep_cos: D) -> D {
    ((a0 * a0 + 4.0).sqrt() * sweep_cos + 1.8).recip() * (2.0 * PI * c.foil_slope_share)
}

impl Part<12, 12> for Blade<'_> {
    fn at<D: Real>(&self, x: [D; 12]) -> [D; 12] {
        let [heel_sin, heel_cos, sinkage, trim, speed, leeway, sweep, drawn, steer, roll, yaw, wash] = x;
        let (c, rho) = (self.c, self.water.density);
        let (sw, cw) = sweep.sin_cos();
        let (ss, cs) = steer.sin_cos();
        // Body axes: along the blade downward, along its chord forward. Beyond level a board has nothing in the water.
        let along = [sw, D::from(0.0), -cw];
        let chord = [cw * cs, -ss, sw * cs];
        let place = |p: [D; 3]| {
            [p[0], p[1] * heel_cos + p[2] * heel_sin, p[2] * heel_cos - p[1] * heel_sin - sinkage + (p[0] - self.pivot_x) * trim]
        };
        let top = self.top.map(D::from);
        let at = |s: D, k: D| core::array::from_fn::<D, 3, _>(|i| top[i] + along[i] * s + chord[i] * k);

        // A board drawn up in its case slides along itself.
        let down = place(at(-drawn + self.length, D::from(0.0)))[2];
        let up = place(at(-drawn, D::from(0.0)))[2];
        let root = |z: D| (z * z + WET_EDGE * WET_EDGE).sqrt();
        let share = (-(down + up) / (root(down) + root(up)) + 1.0) * 0.5;
        let immersed = share * self.length;
        let from_top = -(immersed * (1.0 - c.foil_pressure_depth)) + self.length - drawn;
        let point = place(at(from_top, D::from((self.axis - c.foil_pressure_centre) * self.chord)));

        // How this point goes through the water, ahead and across the boat's plane.
        let (ls, lc) = leeway.sin_cos();
        let ahead = speed * lc + yaw * point[1];
        let side = speed * ls - yaw * (point[0] - self.pivot_x) + roll * point[2];
        let rise = -(roll * point[1]);
        let across = side * heel_cos - rise * heel_sin;
        let pace2 = ahead * ahead + across * across;
        let pace = (pace2 + SLOW * SLOW).sqrt();
        let (fs, fc) = (across / pace, ahead / pace);
        // The board's wash turns the stream.
        let turn = (wash * wash + 1.0).sqrt().recip();
        let (fs, fc) = ((fs - fc * wash) * turn, (fc + fs * wash) * turn);
        let (sin, cos) = (fs * cs + fc * ss, fc * cs - fs * ss);

        let a0 = immersed * (c.foil_mirror / self.chord);
        let cw2 = cw * cw;
        let per_ratio = slope_share(c, a0, (cw2 + 1e-6).sqrt());
        let linear = per_ratio * a0 * cw2 * sin * cos;
        let size = (sin * sin + SMALL_SINE * SMALL_SINE).sqrt();
        let normal = sin * size * c.foil_cross_flow * cw2;
        let wanted = (linear + normal * cos) / c.foil_lift_max;
        let w2 = wanted * wanted;
        let w4 = w2 * w2;
        let keep = (w4 * w4 + 1.0).sqrt().sqrt().sqrt().recip();
        let lift_coefficient = wanted * keep * c.foil_lift_max;
        let stalled = logistic(((w2 + 1e-9).sqrt() - 1.0) / STALL_WIDTH);

        let reynolds = pace * (self.chord / self.water.viscosity);
        let friction = (reynolds * reynolds + REYNOLDS_LEAST * REYNOLDS_LEAST).powf(-0.1) * (0.074 * c.foil_friction_share);
        let t = self.thickness / self.chord;
        let profile = friction * (2.0 * (1.0 + 2.0 * t + 60.0 * t * t * t * t)) + c.foil_roughness;
        // CL^2 / (e pi AR) with the ratio cancelled, so that it holds for no span.
        let induced = linear * keep * keep * per_ratio * sin * cos / (PI * c.foil_span_efficiency);
        let drag_coefficient = profile + induced + normal * sin * keep + stalled * sin * sin * c.foil_stall_drag * cw2;

        let q = pace2 * (0.5 * rho * self.pressure);
        let area = immersed * self.chord;
        let spray = immersed / (immersed + 2.0 * self.thickness) * (c.foil_spray * self.thickness * self.thickness);
        let (l, d) = (q * area * lift_coefficient, q * (area * drag_coefficient + spray));
        let (fx, fy) = (l * fs - d * fc, -(l * fc) - d * fs);
        let load = Load::at(point, [fx, fy * heel_cos, -(fy * heel_sin)]);
        let far = per_ratio * sin * cos * keep * (2.0 / PI);
        // Lift and drag across the chord, behind or ahead of the axis.
        let hinge = (l * cos + d * sin) * ((c.foil_pressure_centre - self.axis) * self.chord);
        [
            load.force[0],
            load.force[1],
            load.force[2],
            load.heeling,
            load.luffing,
            load.bow_down,
            lift_coefficient,
            drag_coefficient,
            immersed,
            far,
            hinge,
            stalled,
        ]
    }
}

impl Blade<'_> {
    fn answer<D: Real>(&self, m: &Motion<D>, [sweep, drawn]: [D; 2], steer: D, wash: D) -> FoilAnswer<D> {
        let (s, c) = m.attitude.heel;
        let x = [s, c, m.attitude.sinkage, m.attitude.trim, m.speed, m.leeway, sweep, drawn, steer, m.roll_rate, m.yaw_rate, wash];
        let [fx, fy, fz, heeling, luffing, bow_down, lift, drag, immersed, wash, hinge, stalled] = lift(self, x);
        let load = Load { force: [fx, fy, fz], heeling, luffing, bow_down };
        FoilAnswer { load, lift, drag, immersed, wash, hinge, stalled }
    }
}

/// A board: `set` is its angle from vertical (rad, tip forward positive) or, of one that slides, how far it is drawn up (m, below zero); `y` where it hangs from the centreline, m, to leeward positive: a
/// leeboard on the windward side is negative.
pub fn board<D: Real>(b: &Board, c: &Constants, water: Fluid, motion: &Motion<D>, set: D, y: f64) -> FoilAnswer<D> {
    let blade = Blade {
        c,
        water,
        top: [b.pivot[0], y, b.pivot[2]],
        length: b.length,
        chord: b.chord,
        thickness: b.thickness,
        axis: c.board_axis,
        pressure: 1.0,
        pivot_x: motion.attitude.pivot_x,
    };
    let zero = D::from(0.0);
    let at = if b.lift.is_some() { [zero, -set] } else { [set, zero] };
    blade.answer(motion, at, zero, zero)
}

/// The rudder: `angle` (rad) positive with the tiller held to windward, which bears her away; `ahead` is the board before it,
/// whose wash it meets as far as both reach as deep.
pub fn rudder<D: Real>(r: &Rudder, c: &Constants, water: Fluid, motion: &Motion<D>, angle: D, ahead: &FoilAnswer<D>) -> FoilAnswer<D> {
    let blade = Blade {
        c,
        water,
        top: [r.x, 0.0, r.top_z],
        length: r.length,
        chord: r.chord,
        thickness: r.thickness,
        axis: 0.0,
        pressure: c.rudder_pressure,
        pivot_x: motion.attitude.pivot_x,
    };
    let below_one = |t: D| {
        let t2 = t * t;
        t * (t2 * t2 + 1.0).sqrt().sqrt().recip()
    };
    let reach = below_one(ahead.immersed / r.length);
    let wash = below_one(ahead.wash * reach * (c.downwash_on_rudder / WASH_MOST)) * WASH_MOST;
    blade.answer(motion, [D::from(0.0); 2], angle, wash)
}
