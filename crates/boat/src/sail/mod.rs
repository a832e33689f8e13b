//! The sail: its shape from the controls, the flow along it, and what it does to the boat.
//!
//! [`sail`] is a pure function: given how the boat moves, the settings and a guess of circulation, twist and leech tension
//! it answers the loads and how far the guess is from agreeing with itself. A solver (of the whole boat, or [`solve_sail`]
//! for the sail alone) drives those residuals to zero. Loads take lift from the circulation, so that all is explicit.
//!
//! Wind: the strips meet the part of the wind across the mast; rake counts in positions, not in speed. The gooseneck sits at the
//! tack, so its thrust leans the mast and bows it not at all. Left out: boom lift, rope stretch, chordwise cloth tension on the
//! mast, gusts in time.

pub mod geometry;
pub mod judge;
pub mod lifting_line;
pub mod looks;
pub mod rig;
pub mod section;
mod solve;
mod strip;

pub use geometry::STRIPS;
pub use looks::{Batten, Looks, Luff};
pub use rig::Rig;
pub use solve::{SailSolution, SailStatus, solve_sail};

use crate::constants::Constants;
use crate::load::{Attitude, Load};
use crate::scalar::{Real, lift, soft_plus};
use geometry::{FootArc, SheetLead};
use measure::WindProfile;
use measure::fluid::Fluid;
use strip::{Flow, StripInput, TwistAngle};

/// Sheet pull over the hands' limit at which the leech stops gaining, so that an impossible sheet lead stays finite.
/// Up to the limit itself the difference is below 0.1 %: the limit is a constraint for whoever chooses the settings.
const SHEET_FADE: f64 = 2.0;
/// Width over which the sheet's pull fades to none, N.
const SHEET_WIDTH: f64 = 0.1;
/// Width over which the leech's least tension takes over, N.
const LEECH_WIDTH: f64 = 0.5;
/// A guess of leech tension below this counts as this, N, so that a solver's wild step stays finite.
const LEECH_GUESS_LEAST: f64 = 2.0;

/// How the boat moves, what the wind is and how the sail is set.
#[derive(Debug, Clone, Copy)]
pub struct SailInput<D> {
    /// How the boat lies.
    pub attitude: Attitude<D>,
    /// Speed along the track, m/s.
    pub speed: D,
    /// Leeway, rad.
    pub leeway: D,
    /// True wind angle to the track, rad; the wind comes from windward (y < 0) for 0 to pi.
    pub twa_to_track: D,
    /// True wind over height.
    pub wind: WindProfile,
    /// Rate of heeling, rad/s, to leeward positive; 0 for a steady boat.
    pub roll_rate: D,
    /// Mast rake, rad, tip aft positive.
    pub rake: D,
    /// Boom off the centreline, rad, to leeward positive.
    pub boom: D,
    /// Car from the centreline, m, to leeward positive.
    pub car: D,
    /// Gap between foot and boom at its middle, m.
    pub gap: D,
    /// Vang tension, N.
    pub vang_tension: D,
    /// Luff tension, N: downhaul and what is left with it snug.
    pub luff_tension: D,
}

/// The sail's own unknowns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SailState<D> {
    /// Circulation of each strip, m2/s.
    pub gamma: [D; STRIPS],
    /// Twist of each strip against the boom, rad, open positive.
    pub twist: [D; STRIPS],
    /// Leech tension, N.
    pub leech: D,
}

/// How many unknowns that is.
pub const UNKNOWNS: usize = 2 * STRIPS + 1;

impl SailState<f64> {
    /// Where a search may start without knowing anything.
    #[must_use]
    pub fn cold(rig: &Rig, wind: &WindProfile) -> Self {
        let tws = wind.at_meter;
        Self { gamma: [0.15 * tws; STRIPS], twist: rig.geometry.middle.map(|s| 0.2 * s), leech: 10.0 + 1.0 * tws * tws }
    }
}

impl<D: Real> SailState<D> {
    /// The unknowns in a row: circulations, twists, leech tension.
    pub fn from_row(row: &[D; UNKNOWNS]) -> Self {
        Self { gamma: core::array::from_fn(|i| row[i]), twist: core::array::from_fn(|i| row[STRIPS + i]), leech: row[2 * STRIPS] }
    }
    /// The same back.
    pub fn row(&self) -> [D; UNKNOWNS] {
        core::array::from_fn(|k| {
            if k < STRIPS {
                self.gamma[k]
            } else if k < 2 * STRIPS {
                self.twist[k - STRIPS]
            } else {
                self.leech
            }
        })
    }
}

/// Whether the derivative of the circulation's residual is bent for a solver's sake.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Guard {
    /// A falling lift curve (past the stall) counts as a rising one: values unchanged, derivatives of `residual_gamma` not
    /// exact. For Newton steps far from the root.
    On,
    /// Exact derivatives: for sensitivities, and for the last steps.
    Off,
}

/// One strip as solved, for cards, looks and drawings.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Strip {
    /// Height, 0 tack to 1 head.
    pub height: f64,
    /// Chord, m.
    pub chord: f64,
    /// Camber over chord.
    pub camber: f64,
    /// Deepest point over chord.
    pub draft: f64,
    /// Incidence, rad.
    pub alpha: f64,
    /// Lift coefficient, from the circulation.
    pub lift: f64,
    /// Drag coefficient.
    pub drag: f64,
    /// Centre of pressure over chord.
    pub centre: f64,
    /// Share separated, 0 to 1.
    pub stalled: f64,
    /// Share drawing, 0 to 1.
    pub drawing: f64,
    /// Depth of the luff's scallops, m.
    pub scallop: f64,
    /// Apparent wind across the mast, m/s, and its angle off the bow, rad.
    pub wind: [f64; 2],
}

/// What the sail answers.
#[derive(Debug, Clone, Copy)]
pub struct SailAnswer<D> {
    /// Lift of the section less circulation, scaled to order 1.
    pub residual_gamma: [D; STRIPS],
    /// Guessed twist less the twist that the loads give, rad.
    pub residual_twist: [D; STRIPS],
    /// Guessed leech tension less what the loads give, scaled to order 1.
    pub residual_leech: D,
    /// Load on the boat, horizontal axes; weights not in it.
    pub load: Load<D>,
    /// Moment with which sail and boom swing out about the mast, N m. Below zero no rope holds the boom where it is.
    pub hinge: D,
    /// Pull of the sheet at the boom's block, N, without any limit: 0 when `hinge` is below zero.
    pub sheet_force: D,
    /// One part of the sheet from car to block, less its length with boom and car on the centreline, m.
    pub sheet_line: D,
    /// Greatest scallop depth of the luff, m.
    pub wrinkle: D,
    /// Greatest forward bow of the mast, m.
    pub mast_bow: D,
    /// Turning of the luff's line by bending, rad, aft positive: what a sheeted boom end loses against the dock.
    pub bend_rake: D,
    /// Values per strip, foot to head.
    pub strips: [Strip; STRIPS],
}

/// The product of a row of numbers with a column.
fn dot<D: Real>(row: &[f64; STRIPS], column: &[D; STRIPS]) -> D {
    let mut sum = column[0] * row[0];
    for (a, x) in row.iter().zip(column).skip(1) {
        sum += *x * *a;
    }
    sum
}

/// The smaller of a value and a limit, rounded off within a few per cent of the limit. Positive values.
fn fade<D: Real>(x: D, limit: f64) -> D {
    let r = x / limit;
    x * (r.powi(8) + 1.0).powf(-0.125)
}

/// Wind at a height over that at 2 m, with its slope.
fn wind_ratio<D: Real>(wind: &WindProfile, height: D) -> D {
    let z = height.value();
    let step = 1e-4;
    let slope = if D::NDERIV == 0 { 0.0 } else { (wind.ratio(z + step) - wind.ratio(z - step)) / (2.0 * step) };
    (height - z) * slope + wind.ratio(z)
}

/// The sail at a guess of its own unknowns: loads and residuals.
///
/// Fine for any finite input, with `f64` or dual numbers; no wind gives no force.
pub fn sail<D: Real>(rig: &Rig, c: &Constants, air: Fluid, input: &SailInput<D>, state: &SailState<D>, guard: Guard) -> SailAnswer<D> {
    let g = &rig.geometry;
    let zero = D::from(0.0);
    let rho = air.density;
    let tws = input.wind.at_meter;
    let (heel_sin, heel_cos) = input.attitude.heel;

    let leech = soft_plus(state.leech - LEECH_GUESS_LEAST, LEECH_WIDTH) + LEECH_GUESS_LEAST;
    let head_pull = leech * g.head_angle.sin();
    let [vang_at, vang_down, vang_along] = rig.vang;
    let thrust = (leech * g.clew_angle.cos() + input.vang_tension * vang_along) * c.gooseneck_share;
    let bend_rake = head_pull * rig.lean - thrust * rig.gooseneck_lean;
    let rake = input.rake + bend_rake;
    let mast = g.mast(rake);
    let [clew_move, foot_ratio] = lift(&FootArc { foot: g.foot }, [input.gap]);

    // Wind and motion in horizontal axes.
    let (wind_sin, wind_cos) = (input.twa_to_track - input.leeway).sin_cos();
    let (leeway_sin, leeway_cos) = input.leeway.sin_cos();
    let (ahead, across) = (input.speed * leeway_cos, input.speed * leeway_sin);
    let (gravity_across, gravity_up) = (heel_sin, heel_cos);

    let mut answer = SailAnswer {
        residual_gamma: [zero; STRIPS],
        residual_twist: [zero; STRIPS],
        residual_leech: zero,
        load: Load::none(),
        hinge: zero,
        sheet_force: zero,
        sheet_line: zero,
        wrinkle: zero,
        mast_bow: head_pull * rig.head_bend.iter().copied().fold(0.0, f64::max),
        bend_rake,
        strips: [Strip::default(); STRIPS],
    };
    let mut leech_load = [zero; STRIPS];
    let mut mast_load = [zero; STRIPS];
    let mut chords = [zero; STRIPS];
    let (mut clew_side, mut head_side) = (zero, zero);
    // Force ahead and across the mast, and their first moments in body axes.
    let (mut fx, mut fn_, mut fn_z, mut fn_x, mut fx_y, mut fx_z, mut fx_x) = (zero, zero, zero, zero, zero, zero, zero);
    let scale = 2.0 / (tws.max(0.3) * g.foot);

    for i in 0..STRIPS {
        let [x_mast, _, z_mast] = mast.at(rig.height[i]);
        let up = z_mast * heel_cos - input.attitude.sinkage + (x_mast - input.attitude.pivot_x) * input.attitude.trim;
        let blow = wind_ratio(&input.wind, up) * tws;
        let flow_ahead = -(blow * wind_cos + ahead);
        let flow_across = (blow * wind_sin - across) * heel_cos - input.roll_rate * (z_mast - input.attitude.sinkage);
        let wash = dot(&rig.downwash[i], &state.gamma);
        let [v, sin, cos, angle] = lift(&Flow, [flow_ahead, flow_across, wash]);

        let set = input.boom + state.twist[i];
        let (set_sin, set_cos) = set.sin_cos();
        let alpha = angle - set;
        let (alpha_sin, alpha_cos) = alpha.sin_cos();
        let across_flow = v * state.gamma[i] * rho;
        let q = v * v * (0.5 * rho);
        let weight = gravity_across * set_cos * rig.cloth_weight;
        let strip = StripInput {
            alpha,
            clew_move: clew_move * (1.0 - g.middle[i]),
            bow: head_pull * rig.head_bend[i],
            load: across_flow * alpha_cos,
            pressure: q * (alpha_sin * alpha_sin) * c.normal_broad + weight,
            luff_tension: input.luff_tension,
        }
        .answer(rig, c, i, guard);
        let chord = strip.chord;
        let along_flow = q * chord * strip.drag;
        let normal = across_flow * alpha_cos + along_flow * alpha_sin;

        answer.residual_gamma[i] = (v * chord * strip.lift * 0.5 - state.gamma[i]) * scale;
        let metres = g.luff * g.share[i];
        let on_leech = normal * strip.centre;
        leech_load[i] = (on_leech + weight * chord * 0.5) * metres;
        mast_load[i] = (normal - on_leech) * metres;
        chords[i] = chord;
        head_side += leech_load[i] * (g.middle[i] / g.apex);
        clew_side += leech_load[i] * (1.0 - g.middle[i] / g.apex);

        let strip_ahead = (across_flow * sin - along_flow * cos) * metres;
        let strip_across = (across_flow * cos + along_flow * sin) * metres;
        let back = strip.centre * chord;
        let x = x_mast - mast.cos * set_cos * back;
        let y = set_sin * back;
        let z = z_mast - mast.sin * set_cos * back;
        fx += strip_ahead;
        fn_ += strip_across;
        fn_z += strip_across * z;
        fn_x += strip_across * x;
        fx_y += strip_ahead * y;
        fx_z += strip_ahead * z;
        fx_x += strip_ahead * x;

        let scallop = strip.scallop * rig.tie_spacing;
        if scallop.value() > answer.wrinkle.value() {
            answer.wrinkle = scallop;
        }
        let qc = (q * chord).value().max(1e-9);
        answer.strips[i] = Strip {
            height: g.middle[i],
            chord: chord.value(),
            camber: strip.camber,
            draft: strip.draft,
            alpha: alpha.value(),
            lift: across_flow.value() / qc,
            drag: strip.drag.value(),
            centre: strip.centre.value(),
            stalled: strip.stalled,
            drawing: strip.drawing,
            scallop: scallop.value(),
            wind: [v.value(), flow_across.value().atan2(-flow_ahead.value())],
        };
    }

    // The load on the boat: strips' forces lie along body x and y; z of a place in horizontal axes is linear in trim.
    let trim = input.attitude.trim;
    let lift_off = -input.attitude.sinkage - trim * input.attitude.pivot_x;
    answer.load = Load {
        force: [fx, fn_ * heel_cos, -(fn_ * heel_sin)],
        heeling: fn_z + (fn_ * lift_off + fn_x * trim) * heel_cos,
        luffing: fx_y * heel_cos + fx_z * heel_sin - fn_x * heel_cos,
        bow_down: fx_z * heel_cos - fx_y * heel_sin + fx * lift_off + fx_x * trim + fn_x * heel_sin,
    };

    // Boom about the mast: the clew pushes out, weight swings it, the sheet holds it.
    let (boom_sin, boom_cos) = input.boom.sin_cos();
    let clew = foot_ratio * g.foot;
    let boom_centre = rig.boom_weight * 0.5 * g.boom;
    answer.hinge = clew_side * clew + (gravity_across * boom_cos - gravity_up * mast.sin * boom_sin) * boom_centre;
    let [closing, down, line] = lift(&SheetLead(g), [input.boom, rake, input.car]);
    answer.sheet_line = line;
    answer.sheet_force = soft_plus(answer.hinge / g.block, SHEET_WIDTH) / closing;
    // Boom up and down: sheet, vang and weight pull the leech tight.
    let pressed = fade(answer.sheet_force, SHEET_FADE * rig.hand_force) * down * g.block
        + input.vang_tension * (vang_down * vang_at)
        + gravity_up * boom_centre;
    let tension = soft_plus(pressed / (clew * g.clew_angle.sin()) - c.leech_least, LEECH_WIDTH) + c.leech_least;
    answer.residual_leech = (state.leech - tension) / (c.leech_least + 0.25 * rho * tws * tws * g.area);

    // Leech sag and mast bend open the leech.
    let slack = leech.recip();
    for i in 0..STRIPS {
        let sag = dot(&rig.string[i], &leech_load) * slack;
        let side = dot(&rig.side_bend[i], &mast_load) + head_side * rig.head_bend[i];
        let [twist] = lift(&TwistAngle { limit: c.sag_limit }, [sag, side, chords[i]]);
        answer.residual_twist[i] = state.twist[i] - twist;
    }
    answer
}

impl<D: Real> SailAnswer<D> {
    /// The residuals in the order of [`SailState::row`].
    pub fn residuals(&self) -> [D; UNKNOWNS] {
        SailState { gamma: self.residual_gamma, twist: self.residual_twist, leech: self.residual_leech }.row()
    }
}
