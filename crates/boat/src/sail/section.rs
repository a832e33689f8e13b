//! Section of the sail: what a thin cambered membrane behind a round mast feels at any angle to the flow.
//!
//! Attached: thin-aerofoil theory of a mean line of two parabolas (Abbott & von Doenhoff, Theory of Wing Sections, ch. 4;
//! the form from memory), whose lift `a0 (sin a - a_0 cos a)` is Kutta's exact arc of a circle when its camber sits at mid-chord.
//! It saturates at a lift maximum. Separated: a force normal to the chord. Between draw and stall, and aback, logistic blends.
//! Continuous for every angle, so that a dead run and sailing by the lee need no case of their own. Valid to 18 % camber.

use super::strip::rise;
use crate::constants::Constants;
use crate::scalar::{Real, logistic};
use core::f64::consts::{PI, TAU};

/// Lift below which the centre of pressure is held, so that it stays on the sail.
const LEAST_LIFT_FOR_CENTRE: f64 = 0.3;
/// Furthest aft the attached centre of pressure gets, share of chord.
const CENTRE_AFT: f64 = 0.55;
/// Angle of incidence, as a sine, below which the separated normal force leaves its power law for a straight line.
const NORMAL_STRAIGHT: f64 = 0.05;
/// Bound of the suction term: `(a0 da)^2` fades as `1 + 0.3 (a0 da)^2`. Assumed; it acts beyond the stall only.
const SUCTION_FADE: f64 = 0.3;
/// Share of the lift maximum beyond which drag near the stall grows no more. Assumed.
const NEAR_STALL_END: f64 = 1.4;

/// Theory of a mean line of two parabolas that meet at the deepest point.
#[derive(Debug, Clone, Copy)]
pub struct MeanLine<D> {
    /// Zero-lift angle of thin-aerofoil theory, rad (negative for a cambered sail).
    pub zero_lift: D,
    /// Incidence at which the flow meets the luff smoothly, rad.
    pub ideal: D,
    /// Moment about the quarter chord over `q c^2`, nose up positive.
    pub moment: D,
}

/// The mean line of camber `f` (share of chord) deepest at `p` (share of chord), `0 < p < 1`.
pub fn mean_line<D: Real>(f: D, p: D) -> MeanLine<D> {
    // Slope is m (k + cos t) on each part, with x = (1 - cos t) / 2 and m = f / p^2 ahead, f / (1 - p)^2 behind.
    let k = p * 2.0 - 1.0;
    let sin = (-k * k + 1.0).sqrt();
    let meet = (-k).acos();
    let cos = -k;
    let (sin2, sin3) = (sin * cos * 2.0, sin * (-sin * sin * 4.0 + 3.0));
    let ahead = f / (p * p);
    let behind = f / ((-p + 1.0) * (-p + 1.0));
    let i0 = k * meet + sin;
    let i1 = k * sin + meet * 0.5 + sin2 * 0.25;
    let i2 = k * sin2 * 0.5 + sin * 0.5 + sin3 / 6.0;
    let a0 = (ahead * i0 + behind * (k * PI - i0)) / PI;
    let a1 = (ahead * i1 + behind * (-i1 + PI * 0.5)) * 2.0 / PI;
    let a2 = (ahead * i2 - behind * i2) * 2.0 / PI;
    MeanLine { zero_lift: a0 - a1 * 0.5, ideal: a0, moment: (a2 - a1) * (PI / 4.0) }
}

/// Lift coefficient before any saturation or stall, for a lift slope and a zero-lift angle of thin-aerofoil theory.
pub fn potential_lift<D: Real>(slope: f64, alpha: D, zero_lift: D) -> D {
    let (s, c) = alpha.sin_cos();
    (s - zero_lift * c) * slope
}

/// Centre of pressure of the attached flow, share of chord from the luff.
pub fn attached_centre<D: Real>(lift: D, moment: D) -> D {
    let over = rise(lift - LEAST_LIFT_FOR_CENTRE, 0.05) + LEAST_LIFT_FOR_CENTRE;
    let x = -moment / over + 0.25;
    -rise(-x + CENTRE_AFT, 0.01) + CENTRE_AFT
}

/// What a section is: shape and surroundings.
#[derive(Debug, Clone, Copy)]
pub struct Shape<D> {
    /// Camber over chord.
    pub camber: D,
    /// Deepest point from the luff over chord.
    pub draft: D,
    /// Mast diameter over chord.
    pub mast: D,
    /// Depth of the luff's scallops over the spacing of its ties.
    pub scallop: D,
}

/// What it feels.
#[derive(Debug, Clone, Copy)]
pub struct Polar<D> {
    /// Lift coefficient that comes with circulation and a wake, to leeward across the flow.
    pub lift: D,
    /// Lift coefficient that does not: broad on, the separated force is that of whole plates, which bring no downwash of their
    /// own. (With all of it in the wake, a sail broad to the wind has no smooth answer.)
    pub apart: D,
    /// Drag coefficient, along the flow.
    pub drag: D,
    /// Centre of pressure from the luff, share of chord.
    pub centre: D,
    /// Share of the flow that has separated, 0 to 1.
    pub stalled: D,
    /// Share of the section that draws rather than flaps, 0 to 1.
    pub drawing: D,
}

/// Greatest attached lift coefficient of a shape.
pub fn lift_max<D: Real>(c: &Constants, camber: D, draft: D) -> D {
    let r = camber / c.lift_max_camber_scale;
    camber * c.lift_max_per_camber / (r * r + 1.0) + c.lift_max_flat + (-draft + 0.40) * c.lift_max_per_draft_forward
}

/// The polar at an incidence (rad, any) for a lift slope (per rad; 2 pi for a section alone).
pub fn polar<D: Real>(c: &Constants, slope: f64, alpha: D, shape: Shape<D>) -> Polar<D> {
    let alpha = alpha - ((alpha.value() + PI) / TAU).floor() * TAU;
    let (sin, cos) = alpha.sin_cos();
    let (f, p) = (shape.camber, shape.draft);
    let line = mean_line(f, p);
    let zero_lift = line.zero_lift * c.camber_effect;
    let most = lift_max(c, f, p);

    // Attached.
    let x = potential_lift(slope, alpha, zero_lift) / most;
    let x2 = x * x;
    let size = if x.value() < 0.0 { -x } else { x };
    let attached_lift = most * x * (x2 * x2 * size + 1.0).powf(-0.2);
    let suction = (alpha - line.ideal) * slope;
    let suction2 = suction * suction;
    let end = x2 / (NEAR_STALL_END * NEAR_STALL_END);
    let end4 = end * end * end * end;
    let attached_drag = f * f * c.drag_per_camber_squared
        + c.drag_least
        + shape.mast * c.drag_per_mast
        + suction2 / (suction2 * SUCTION_FADE + 1.0) * (c.suction_lost / TAU)
        + x2 * x2 * c.drag_near_stall / (end4 + 1.0).sqrt()
        + shape.scallop * shape.scallop * c.drag_wrinkle;
    let attached_centre = attached_centre(attached_lift, line.moment * c.camber_effect);

    // Separated.
    let straight = NORMAL_STRAIGHT * NORMAL_STRAIGHT;
    let normal =
        (f * c.normal_per_camber + c.normal_broad) * sin * ((sin * sin + straight) / (1.0 + straight)).powf((c.normal_power - 1.0) * 0.5);
    // cos = ((1 + cos) / 2)^2 - ((1 - cos) / 2)^2: what meets the luff first, less what meets the leech first.
    let (luff_first, leech_first) = ((cos + 1.0) * 0.5, (-cos + 1.0) * 0.5);
    let apart_drag = normal * sin + c.drag_least;
    let apart_centre = cos * -0.08 + 0.48;

    // How much of each.
    let drawing = logistic((alpha - line.ideal * 0.3) / c.luff_width);
    let stalls_at = zero_lift.atan() + most / slope + c.stall_beyond;
    let past = logistic((alpha - stalls_at) / c.stall_width);
    // A flapping sail fills aback where a flat plate would stall.
    let aback = logistic((-alpha - (c.lift_max_flat / slope + c.stall_beyond)) / c.stall_width);
    let stalled = past + aback - past * aback;
    let held = -stalled + 1.0;
    Polar {
        lift: attached_lift * drawing * held + normal * luff_first * luff_first * stalled,
        apart: -(normal * leech_first * leech_first * stalled),
        drag: (attached_drag * drawing + (-drawing + 1.0) * (c.drag_flapping + c.drag_least)) * held + apart_drag * stalled,
        centre: attached_centre * held + apart_centre * stalled,
        stalled,
        drawing: drawing + aback - drawing * aback,
    }
}
