//! The sail: its shape from the controls, the flow along it, and what it does to the boat.
//!
//! [`sail`] is a pure function: given how the boat moves, the settings and a guess of circulation, twist and leech tension
//! it answers the loads and how far the guess is from agreeing with itself. A solver (of the whole boat, or [`solve_sail`]
//! for the sail alone) drives those residuals to zero. Loads take lift from the circulation, so that all is explicit.
//!
//! Wind: the strips meet the part of the wind across the mast; rake counts in positions, not in speed. The gooseneck sits at the
//! tack, so its thrust leans the mast and bows it not at all. Left out: boom lift, rope stretch, chordwise cloth tension on the
//! mast, gusts in time. Of a sprit sail also: sag of the head's edge, the sprit in the wind and its dent in the sail on one
//! tack, what a diagonal crease costs.

mod follow;
pub mod geometry;
mod join;
pub mod judge;
pub mod lifting_line;
pub mod looks;
pub mod rig;
pub mod section;
mod solve;
mod strip;

pub(crate) use follow::Follower;
pub use geometry::STRIPS;
pub use looks::{Batten, Crease, Looks, Luff};
pub use rig::Rig;
pub(crate) use solve::solved_at_once;
pub use solve::{SailSolution, SailStatus, solve_sail};

use crate::constants::Constants;
use crate::load::{Attitude, Load};
use crate::scalar::{Part, Real, lift, seeded, soft_plus};
use geometry::{FootArc, SheetLead};
use join::{Carried, SLACK, Shared, Slope, Sum, TOTALS};
use measure::WindProfile;
use measure::fluid::Fluid;
use strip::{Flow, StripPart, TwistAngle, fade};

/// Sheet pull over the hands' limit at which the leech stops gaining, so that an impossible sheet lead stays finite.
/// Up to the limit itself the difference is below 0.1 %: the limit is a constraint for whoever chooses the settings.
const SHEET_FADE: f64 = 2.0;
/// Width over which the sheet's pull fades to none, N.
const SHEET_WIDTH: f64 = 0.1;
/// Width over which the leech's least tension takes over, N.
const LEECH_WIDTH: f64 = 0.5;
/// Width over which a sprit that pushes too little gives way, N of leech tension.
const SPRIT_WIDTH: f64 = 1.0;
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
    /// Push of the sprit along itself, N; nothing without one.
    pub sprit: D,
}

/// The sail's own unknowns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SailState<D> {
    /// Circulation of the attached flow at each strip, m2/s.
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
    /// Lift coefficient: circulation's and separated flow's.
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
    /// Attached lift of the section less circulation, scaled to order 1.
    pub residual_gamma: [D; STRIPS],
    /// Guessed twist less the twist that the loads give, rad.
    pub residual_twist: [D; STRIPS],
    /// Logarithm of the guessed leech tension over what the loads give.
    pub residual_leech: D,
    /// Load on the boat, horizontal axes; weights not in it.
    pub load: Load<D>,
    /// Moment with which sail and boom swing out about the mast, N m. Below zero no rope holds the boom where it is.
    pub hinge: D,
    /// Pull of the sheet at the boom's block, N, without any limit: 0 when `hinge` is below zero.
    pub sheet_force: D,
    /// One part of the sheet from car to block, less its length with boom and car on the centreline, m.
    pub sheet_line: D,
    /// Push of the sprit that the leech asks for, N: with less the peak falls off, with more the cloth is drawn to it from the tack.
    /// Nothing without a sprit.
    pub sprit_needed: D,
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
fn dot(row: &[f64; STRIPS], column: &[f64; STRIPS]) -> f64 {
    row.iter().zip(column).map(|(a, x)| a * x).sum()
}

/// The sail at a guess of its own unknowns: loads and residuals.
///
/// Fine for any finite input, with `f64` or dual numbers; no wind gives no force.
pub fn sail<D: Real>(rig: &Rig, c: &Constants, air: Fluid, input: &SailInput<D>, state: &SailState<D>, guard: Guard) -> SailAnswer<D> {
    let g = &rig.geometry;
    let zero = D::from(0.0);
    let rho = air.density;
    let tws = input.wind.at_meter;

    let leech = soft_plus(state.leech - LEECH_GUESS_LEAST, LEECH_WIDTH) + LEECH_GUESS_LEAST;
    let head_pull = leech * g.head_angle.sin();
    let thrust = (leech * g.clew_angle.cos() + input.vang_tension * rig.vang[2]) * c.gooseneck_share;
    let bend_rake = head_pull * rig.lean - thrust * rig.gooseneck_lean;
    let rake = input.rake + bend_rake;
    let mast = g.mast(rake);
    let [clew_move, foot_ratio] = lift(&FootArc { foot: g.foot }, [input.gap]);

    // True wind at 2 m and the boat's own motion, ahead and across the mast.
    let (heel_sin, heel_cos) = input.attitude.heel;
    let (wind_sin, wind_cos) = (input.twa_to_track - input.leeway).sin_cos();
    let (leeway_sin, leeway_cos) = input.leeway.sin_cos();
    let (from_ahead, from_side) = (wind_cos * tws, wind_sin * heel_cos * tws);
    let ahead = input.speed * leeway_cos;
    // Both across and upward grow in proportion along the mast.
    let (trim, sinkage) = (input.attitude.trim, input.attitude.sinkage);
    let up = [heel_cos * mast.partner_z - sinkage + (mast.partner - input.attitude.pivot_x) * trim, mast.cos * heel_cos - mast.sin * trim];
    let across = [input.speed * leeway_sin * heel_cos + input.roll_rate * (-sinkage + mast.partner_z), input.roll_rate * mast.cos];

    let slack = leech.recip();
    let shared = [
        up[0],
        up[1],
        from_ahead,
        from_side,
        ahead,
        across[0],
        across[1],
        input.boom,
        clew_move,
        head_pull,
        input.luff_tension,
        heel_sin,
        slack,
    ];
    let joining = Shared::new(&rig.downwash, &state.gamma, &state.twist, &shared);
    let slopes = D::DIRECTIONS > 0;
    let (gamma, twist, shared) = (state.gamma.map(D::value), state.twist.map(D::value), shared.map(D::value));
    let [up_tack, up_growth, from_ahead, from_side, ahead, across_tack, across_growth, boom, clew_way, head_pulled, luff, heel, _] = shared;

    let mut strips = [Strip::default(); STRIPS];
    let mut residual_gamma = [zero; STRIPS];
    let (mut leech_load, mut mast_load, mut chords) = ([0.0; STRIPS], [0.0; STRIPS], [0.0; STRIPS]);
    let (mut wrinkle, mut total) = (0.0, [0.0; TOTALS]);
    let mut carried = (D::DIRECTIONS > 0).then_some(Carried::NONE);
    let scale = 2.0 / (tws.max(0.3) * g.foot);
    let flow = Flow::new(input.wind);
    for i in 0..STRIPS {
        let h = rig.height[i];
        let wash = dot(&rig.downwash[i], &gamma);
        let met = [up_tack + h * up_growth, wash, from_ahead, from_side, ahead, across_tack + h * across_growth];
        let ([v, angle], flow_slopes) = flow.answer(met, slopes);
        let x = [angle, v, boom + twist[i], gamma[i], clew_way, head_pulled, luff, heel];
        let strip = StripPart { rig, c, density: rho, i, guard }.answer(x, slopes);
        let slope = |k: usize| Slope::of(&strip, k, &flow_slopes, h);
        residual_gamma[i] = joining.join(strip.value[0] * scale, || Sum::of(i, &slope(0), scale));
        leech_load[i] = strip.value[1];
        mast_load[i] = strip.value[2];
        chords[i] = strip.value[3] + g.lead_edge[i];
        for (value, k) in [(0, 5), (1, 6)] {
            total[value] += strip.value[k];
            total[value + 2] += strip.value[k] * h;
        }
        for k in 7..strip::JOINED {
            total[k - 3] += strip.value[k];
        }
        let scallop = strip.value[4] * rig.tie_spacing[i];
        if let Some(carried) = &mut carried {
            carried.take(i, h, slope);
            if scallop > wrinkle {
                carried.scallop = (i, slope(4));
            }
        }
        wrinkle = scallop.max(wrinkle);
        let [alpha, camber, draft, lift, drag, centre, stalled, drawing] = strip.seen;
        strips[i] = Strip {
            height: g.middle[i],
            chord: strip.value[3],
            camber,
            draft,
            alpha,
            lift,
            drag,
            centre,
            stalled,
            drawing,
            scallop,
            wind: [v, angle + wash.atan2(v)],
        };
    }
    let sum = |of: &dyn Fn(&Carried) -> Sum| carried.as_ref().map_or(Sum::NONE, of);
    let total: [D; TOTALS] = core::array::from_fn(|k| joining.join(total[k], || sum(&|c| c.total[k])));
    let wrinkle = joining.join(wrinkle, || sum(&|Carried { scallop: (i, slope), .. }| Sum::of(*i, slope, rig.tie_spacing[*i])));

    // The load on the boat: forces of strips lie along x and y of the boat; height above water is linear in trim.
    let [fx, fy, fx_h, fy_h, fy_aft, fx_aft, fx_y] = total;
    let along = |f: D, h: D, aft: D| (f * mast.partner - mast.sin * h - mast.cos * aft, f * mast.partner_z + mast.cos * h - mast.sin * aft);
    let ((fx_x, fx_z), (fy_x, fy_z)) = (along(fx, fx_h, fx_aft), along(fy, fy_h, fy_aft));
    let lift_off = -sinkage - trim * input.attitude.pivot_x;
    let load = Load {
        force: [fx, fy * heel_cos, -(fy * heel_sin)],
        heeling: fy_z + (fy * lift_off + fy_x * trim) * heel_cos,
        luffing: fx_y * heel_cos + fx_z * heel_sin - fy_x * heel_cos,
        bow_down: fx_z * heel_cos - fx_y * heel_sin + fx * lift_off + fx_x * trim + fy_x * heel_sin,
    };

    // Boom about the mast: the clew pushes out, weight swings it, the sheet holds it.
    let (boom_sin, boom_cos) = input.boom.sin_cos();
    let clew = foot_ratio * g.foot;
    let boom_moment = rig.boom_weight * 0.5 * g.boom;
    let on_leech = |share: [f64; STRIPS]| {
        let slopes = |c: &Carried| {
            let mut sum = Sum::NONE;
            share.iter().enumerate().for_each(|(i, share)| sum.add(i, &c.apart[i][0], *share));
            sum
        };
        joining.join(dot(&share, &leech_load), || sum(&slopes))
    };
    let clew_side = on_leech(g.middle.map(|s| 1.0 - s / g.apex));
    let hinge = clew_side * clew + (heel_sin * boom_cos - heel_cos * mast.sin * boom_sin) * boom_moment;
    let [closing, down, sheet_line] = lift(&SheetLead(g), [input.boom, rake, input.car]);
    let sheet_force = soft_plus(hinge / g.block, SHEET_WIDTH) / closing;
    // Boom up and down: sheet, vang and weight pull the leech tight.
    let [vang_at, vang_down, _] = rig.vang;
    let pressed = fade(sheet_force, SHEET_FADE * rig.hand_force) * down * g.block
        + input.vang_tension * (vang_down * vang_at)
        + heel_cos * boom_moment;
    let boom_pulls = pressed / (clew * g.clew_angle.sin());
    // A peak that is pulled down harder than its sprit pushes gives way until the leech pulls no harder.
    let (held, sprit_needed) = rig.sprit.as_ref().map_or((boom_pulls, zero), |s| {
        let carried = input.sprit * s.carries;
        (boom_pulls - soft_plus(boom_pulls - carried, SPRIT_WIDTH), boom_pulls / s.carries)
    });
    let tension = soft_plus(held - c.leech_least, LEECH_WIDTH) + c.leech_least;
    let residual_leech = (leech / tension).ln();

    // Leech sag and mast bend open the leech.
    let to_head = g.middle.map(|s| s / g.apex);
    let head_side = dot(&to_head, &leech_load);
    let residual_twist = core::array::from_fn(|i| {
        let part = TwistAngle { limit: c.sag_limit };
        let sagging = dot(&rig.string[i], &leech_load);
        let at = [sagging * shared[SLACK], dot(&rig.side_bend[i], &mast_load) + head_side * rig.head_bend[i], chords[i]];
        let Some(Carried { apart, .. }) = &carried else {
            let [opened] = part.at(at);
            return D::from(twist[i] - opened);
        };
        let [opened] = part.at(seeded(at));
        let [by_sag, by_side, by_chord] = *opened.slopes();
        joining.join(twist[i] - opened.value(), || {
            let mut sum = Sum::NONE;
            for (j, [leech, mast, _]) in apart.iter().enumerate() {
                sum.add(j, leech, -(by_sag * shared[SLACK] * rig.string[i][j] + by_side * rig.head_bend[i] * to_head[j]));
                sum.add(j, mast, -by_side * rig.side_bend[i][j]);
            }
            sum.add(i, &apart[i][2], -by_chord);
            sum.add_twist(i, 1.0);
            sum.shared[SLACK] -= by_sag * sagging;
            sum
        })
    });
    SailAnswer {
        residual_gamma,
        residual_twist,
        residual_leech,
        load,
        hinge,
        sheet_force,
        sheet_line,
        sprit_needed,
        wrinkle,
        mast_bow: head_pull * rig.head_bend.iter().copied().fold(0.0, f64::max),
        bend_rake,
        strips,
    }
}

impl<D: Real> SailAnswer<D> {
    /// The residuals in the order of [`SailState::row`].
    pub fn residuals(&self) -> [D; UNKNOWNS] {
        SailState { gamma: self.residual_gamma, twist: self.residual_twist, leech: self.residual_leech }.row()
    }
}
