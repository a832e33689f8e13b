//! One strip of the sail: the flow it meets, its shape under load, what it feels, and how the leech there gives way.
//!
//! Each is a part with few inputs, so that dual numbers of many directions are met only where parts join.

use super::Guard;
use super::rig::Rig;
use super::section::{Polar, Shape, polar};
use crate::constants::Constants;
use crate::scalar::{Part, Real, lift, seeded};
use measure::WindProfile;
use measure::wind::METER_HEIGHT;

/// Speed squared below which still air has no direction, m2/s2.
const STILL: f64 = 1e-6;
/// Least height above water at which the wind's slope over height is taken, m.
const LOWEST: f64 = 0.05;
/// Excess of cloth over chord that bending never takes out, and that a loose outhaul never exceeds. Assumed.
const EXCESS_RANGE: [f64; 2] = [0.0008, 0.12];
/// Width over which the lower end of that range takes over.
const EXCESS_WIDTH: f64 = 0.0005;
/// Width over which pressure fades to none, Pa.
const PRESSURE_WIDTH: f64 = 0.02;
/// The draft stays within this of its middle, share of chord. Assumed.
const DRAFT_REACH: f64 = 0.11;
/// Scallop depth over tie spacing that a luff never exceeds. Assumed.
const SCALLOP_MOST: f64 = 0.2;
/// Tensions at which the draft moves by `section.draft_shift`: chordwise N/m, and along the luff N.
const DRAFT_TENSIONS: [f64; 2] = [50.0, 60.0];
/// Luff tension is held above this, N.
const LUFF_LEAST: f64 = 1.0;

/// `x` where it is well above zero, zero well below, smooth over a width: cheaper than `soft_plus`.
pub(super) fn rise<D: Real>(x: D, width: f64) -> D {
    (x + (x * x + width * width).sqrt()) * 0.5
}

/// The smaller of a value and a limit, rounded off within a few per cent of the limit. Positive values.
pub(super) fn fade<D: Real>(x: D, limit: f64) -> D {
    let r = x / limit;
    x / (r.powi(8) + 1.0).sqrt().sqrt().sqrt()
}

/// Flow at a strip. Inputs: height above the water; downwash; true wind at 2 m from ahead, and from windward across the mast;
/// the boat's own speed ahead, and to leeward across the mast. Outputs: speed, and the angle off the bow of the flow that the
/// downwash has tilted.
pub(super) struct Flow {
    wind: WindProfile,
    /// Logarithm of the meter's height over the roughness.
    meter: f64,
}

impl Flow {
    pub(super) fn new(wind: WindProfile) -> Self {
        Self { wind, meter: (METER_HEIGHT / wind.roughness).ln() }
    }
}

impl Flow {
    /// Speed and angle, with their slopes in the inputs where derivatives are wanted.
    pub(super) fn answer(&self, x: [f64; 6], slopes: bool) -> ([f64; 2], [[f64; 6]; 2]) {
        if !slopes {
            return (self.at(x), [[0.0; 6]; 2]);
        }
        let y = self.at(seeded(x));
        (y.map(Real::value), y.map(|y| *y.slopes()))
    }
}

impl Part<6, 2> for Flow {
    fn at<D: Real>(&self, [up, wash, from_ahead, from_side, ahead, across]: [D; 6]) -> [D; 2] {
        let z = up.value();
        let blow = D::joined(self.wind.ratio(z), &[1.0 / (z.max(LOWEST) * self.meter)], &[up]);
        let back = blow * from_ahead + ahead;
        let side = blow * from_side - across;
        let v = (back * back + side * side + STILL).sqrt();
        // Turned by the downwash; still air comes from ahead, so that the angle is defined at no wind.
        let angle = (side * v - back * wash).atan2(back * v + side * wash + STILL * 1e-3);
        [v, angle]
    }
}

/// Leech sag (straight string), side bend and chord -> twist, rad. The sag saturates at a share of the chord.
pub(super) struct TwistAngle {
    pub(super) limit: f64,
}

impl Part<3, 1> for TwistAngle {
    fn at<D: Real>(&self, [sag, side, chord]: [D; 3]) -> [D; 1] {
        let r = sag / (chord * self.limit);
        let sag = sag / (r * r + 1.0).sqrt();
        [((sag + side) / chord).atan()]
    }
}

/// How many inputs a strip has: angle of the tilted flow off the bow, its speed, chord off the centreline, circulation,
/// clew's way forward, pull aft on the masthead, luff tension, sine of heel.
pub(super) const INPUTS: usize = 8;
/// How many of its outputs carry derivatives.
pub(super) const JOINED: usize = 10;
/// How many outputs there are.
const OUTPUTS: usize = JOINED + 8;

/// Shape under load and forces of one strip.
pub(super) struct StripPart<'a> {
    pub(super) rig: &'a Rig,
    pub(super) c: &'a Constants,
    pub(super) density: f64,
    pub(super) i: usize,
    pub(super) guard: Guard,
}

/// What a strip answers: values and, for each of the first outputs, slopes in its inputs.
pub(super) struct StripAnswer {
    /// Residual of circulation (m2/s); load on leech and on mast (N); chord (m); scallop over tie spacing; force ahead and across
    /// the mast (N); the latter times how far aft of the mast it acts, and the former times that and times how far to leeward (N m).
    pub(super) value: [f64; JOINED],
    pub(super) slopes: [[f64; INPUTS]; JOINED],
    /// Incidence, camber, draft, lift coefficient from circulation, drag coefficient, centre of pressure, shares stalled and drawing.
    pub(super) seen: [f64; OUTPUTS - JOINED],
}

/// The section's polar as a part; with dual numbers its lift's slope over incidence may be guarded.
struct PolarPart<'a>(&'a Constants, f64);

impl Part<5, 6> for PolarPart<'_> {
    fn at<D: Real>(&self, [alpha, camber, draft, mast, scallop]: [D; 5]) -> [D; 6] {
        let Polar { lift, apart, drag, centre, stalled, drawing } = polar(self.0, self.1, alpha, Shape { camber, draft, mast, scallop });
        [lift, apart, drag, centre, stalled, drawing]
    }
}

impl Part<INPUTS, OUTPUTS> for StripPart<'_> {
    fn at<D: Real>(&self, x: [D; INPUTS]) -> [D; OUTPUTS] {
        let [angle, v, set, gamma, clew_move, head_pull, luff_tension, heel_sin] = x;
        let Self { rig, c, density, i, guard } = *self;
        let g = &rig.geometry;
        let ((sin, cos), (set_sin, set_cos)) = (angle.sin_cos(), set.sin_cos());
        let alpha = angle - set;
        let (alpha_sin, alpha_cos) = (sin * set_cos - cos * set_sin, cos * set_cos + sin * set_sin);
        let q = v * v * (0.5 * density);
        let lift_load = v * gamma * density;
        let weight = heel_sin * set_cos * rig.cloth_weight;

        // Cloth over chord: the outhaul lets the leech come in, the mast's bow takes the luff away.
        let width = rig.cloth_width[i];
        let free = (-clew_move * (1.0 - g.middle[i]) + head_pull * rig.head_bend[i] + g.chord[i]).recip() * width - 1.0;
        let excess = fade(rise(free - EXCESS_RANGE[0], EXCESS_WIDTH) + EXCESS_RANGE[0], EXCESS_RANGE[1]);
        let chord = (excess + 1.0).recip() * width;
        // An arc: cloth over chord is 1 + 8/3 camber squared. The pressure that fills it guesses the separated flow's share beside
        // circulation by incidence alone: none ahead, all of a plate's when broad on.
        let full = (excess * (3.0 / 8.0)).sqrt();
        let luff_first = (alpha_cos + 1.0) * 0.5;
        let broad = (-(alpha_cos * luff_first * luff_first) + 1.0) * c.normal_broad;
        let pressure = lift_load * alpha_cos / chord + q * broad + weight;
        let pressure = rise(pressure, PRESSURE_WIDTH);
        let filled = pressure + c.fill_pressure;
        let camber = full * pressure / filled;
        // A membrane: chordwise tension is load over eight times camber.
        let chordwise = chord * filled / (full * 8.0);
        let luff = rise(luff_tension - LUFF_LEAST, 0.5) + LUFF_LEAST;
        let shift = (chordwise / DRAFT_TENSIONS[0] - luff / DRAFT_TENSIONS[1]) * (c.draft_shift / DRAFT_REACH);
        let draft = shift / (shift.powi(4) + 1.0).sqrt().sqrt() * DRAFT_REACH + c.draft_middle;
        // A string between ties.
        let scallop = fade(chordwise * (rig.tie_spacing[i] / 8.0) / luff, SCALLOP_MOST);
        let mast = chord.recip() * rig.mast_diameter[i];

        let [cl, apart, cd, centre, stalled, drawing] = guarded(&PolarPart(c, rig.slope), [alpha, camber, draft, mast, scallop], guard);
        let metres = g.luff * g.share[i];
        let drag = q * chord * cd;
        let lift_load = lift_load + q * chord * apart;
        let normal = lift_load * alpha_cos + drag * alpha_sin;
        // Above a throat the strip begins aft of the mast: the leech carries its moment about the mast.
        let edge = g.lead_edge[i];
        let on_leech = if edge > 0.0 { normal * ((centre * chord + edge) / (chord + edge)) } else { normal * centre };
        let (ahead, across) = ((lift_load * sin - drag * cos) * metres, (lift_load * cos + drag * sin) * metres);
        let back = centre * chord + edge;
        let (aft, leeward) = (set_cos * back, set_sin * back);
        [
            v * chord * cl * 0.5 - gamma,
            (on_leech + weight * chord * 0.5) * metres,
            (normal - on_leech) * metres,
            chord,
            scallop,
            ahead,
            across,
            across * aft,
            ahead * aft,
            ahead * leeward,
            alpha,
            camber,
            draft,
            gamma * 2.0 / (v * chord) + apart,
            cd,
            centre,
            stalled,
            drawing,
        ]
    }
}

/// [`lift`](crate::scalar::lift) for the polar, its lift's falling slope over incidence turned up if the guard is on. No value changes.
fn guarded<D: Real>(part: &PolarPart, x: [D; 5], guard: Guard) -> [D; 6] {
    if D::DIRECTIONS == 0 || guard == Guard::Off {
        return lift(part, x);
    }
    let y = part.at(seeded(x.map(Real::value)));
    core::array::from_fn(|k| {
        let mut slopes = *y[k].slopes();
        if k == 0 {
            slopes[0] = slopes[0].abs();
        }
        D::joined(y[k].value(), &slopes, &x)
    })
}

impl StripPart<'_> {
    /// The strip's answer, with slopes where derivatives are wanted.
    pub(super) fn answer(&self, x: [f64; INPUTS], slopes: bool) -> StripAnswer {
        let mut answer = StripAnswer { value: [0.0; JOINED], slopes: [[0.0; INPUTS]; JOINED], seen: [0.0; OUTPUTS - JOINED] };
        if slopes {
            let y = self.at(seeded(x));
            for (k, y) in y.iter().enumerate() {
                if k < JOINED {
                    answer.value[k] = y.value();
                    answer.slopes[k] = *y.slopes();
                } else {
                    answer.seen[k - JOINED] = y.value();
                }
            }
        } else {
            let y = self.at(x);
            answer.value.copy_from_slice(&y[..JOINED]);
            answer.seen.copy_from_slice(&y[JOINED..]);
        }
        answer
    }
}
