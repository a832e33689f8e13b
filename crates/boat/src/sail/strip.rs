//! One strip of the sail: the flow it meets, its shape under load, and its polar, each a small part with few inputs.

use super::geometry::STRIPS;
use super::rig::Rig;
use super::section::{Shape, polar};
use super::{Guard, fade};
use crate::constants::Constants;
use crate::scalar::{Part, Real, soft_plus};
use num_dual::DualSVec64;

/// Speed squared below which still air has no direction, m2/s2.
const STILL: f64 = 1e-6;
/// Excess of cloth over chord that bending never takes out, and that a loose outhaul never exceeds. Assumed.
const EXCESS_RANGE: [f64; 2] = [0.0008, 0.12];
/// Width over which the lower end of that range takes over.
const EXCESS_WIDTH: f64 = 0.0008;
/// Width over which pressure fades to none, Pa.
const PRESSURE_WIDTH: f64 = 0.02;
/// Range of the draft position is this either side of its middle, share of chord. Assumed.
const DRAFT_REACH: f64 = 0.11;
/// Scallop depth over tie spacing that a luff never exceeds. Assumed.
const SCALLOP_MOST: f64 = 0.2;
/// Tensions at which the draft moves by `section.draft_shift`: chordwise N/m, and along the luff N.
const DRAFT_TENSIONS: [f64; 2] = [50.0, 60.0];

/// Flow at a strip: air ahead and across in the plane across the mast, downwash -> speed, sine and cosine of the
/// angle of the tilted flow off the bow, and that angle.
pub(super) struct Flow;

impl Part<3, 4> for Flow {
    fn at<D: Real>(&self, [ahead, across, wash]: [D; 3]) -> [D; 4] {
        let v = (ahead * ahead + across * across + STILL).sqrt();
        // Still air comes from ahead: the angle stays defined at no wind.
        let still = STILL.sqrt() * 1e-3;
        let angle = across.atan2(-ahead + still) - wash.atan2(v);
        let (sin, cos) = angle.sin_cos();
        [v, sin, cos, angle]
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

/// What a strip's shape and polar depend on.
pub(super) struct StripInput<D> {
    /// Incidence, rad.
    pub(super) alpha: D,
    /// Leech forward by the outhaul here, m.
    pub(super) clew_move: D,
    /// Mast bow here, m.
    pub(super) bow: D,
    /// Load across the chord that comes with circulation, N/m.
    pub(super) load: D,
    /// Pressure that comes with separated flow and weight, Pa.
    pub(super) pressure: D,
    /// Luff tension, N.
    pub(super) luff_tension: D,
}

/// What it answers.
pub(super) struct StripAnswer<D> {
    pub(super) lift: D,
    pub(super) drag: D,
    pub(super) centre: D,
    pub(super) chord: D,
    /// Over the tie spacing.
    pub(super) scallop: D,
    pub(super) camber: f64,
    pub(super) draft: f64,
    pub(super) stalled: f64,
    pub(super) drawing: f64,
}

/// Shape under load and polar of one strip.
struct StripPart<'a> {
    rig: &'a Rig,
    c: &'a Constants,
    i: usize,
}

/// How many inputs and outputs it has.
const INPUTS: usize = 6;
const OUTPUTS: usize = 9;

impl Part<INPUTS, OUTPUTS> for StripPart<'_> {
    fn at<D: Real>(&self, [alpha, clew_move, bow, load, pressure, luff_tension]: [D; INPUTS]) -> [D; OUTPUTS] {
        let Self { rig, c, i } = *self;
        let width = rig.cloth_width[i];
        // Cloth over chord: the outhaul lets the leech come in, the mast's bow takes the luff away.
        let free = (-clew_move + bow + rig.geometry.chord[i]).recip() * width - 1.0;
        let excess = fade(soft_plus(free - EXCESS_RANGE[0], EXCESS_WIDTH) + EXCESS_RANGE[0], EXCESS_RANGE[1]);
        let chord = (excess + 1.0).recip() * width;
        // An arc: cloth over chord is 1 + 8/3 camber squared.
        let full = (excess * (3.0 / 8.0)).sqrt();
        let pressure = soft_plus(load / chord + pressure, PRESSURE_WIDTH);
        let filled = pressure + c.fill_pressure;
        let camber = full * pressure / filled;
        // A membrane: chordwise tension is load over eight times camber.
        let chordwise = chord * filled / (full * 8.0);
        let luff = soft_plus(luff_tension - 1.0, 0.5) + 1.0;
        let shift = (chordwise / DRAFT_TENSIONS[0] - luff / DRAFT_TENSIONS[1]) * (c.draft_shift / DRAFT_REACH);
        let size = if shift.value() < 0.0 { -shift } else { shift };
        let draft = shift * (size.powi(4) + 1.0).powf(-0.25) * DRAFT_REACH + c.draft_middle;
        // A string between ties.
        let scallop = fade(chordwise * (rig.tie_spacing / 8.0) / luff, SCALLOP_MOST);
        let mast = chord.recip() * rig.mast_diameter;
        let p = polar(c, rig.slope, alpha, Shape { camber, draft, mast, scallop });
        [p.lift, p.drag, p.centre, chord, scallop, camber, draft, p.stalled, p.drawing]
    }
}

impl<D: Real> StripInput<D> {
    /// The strip's answer; with dual numbers differentiated in its own six inputs alone.
    pub(super) fn answer(&self, rig: &Rig, c: &Constants, i: usize, guard: Guard) -> StripAnswer<D> {
        debug_assert!(i < STRIPS);
        let part = StripPart { rig, c, i };
        let x = [self.alpha, self.clew_move, self.bow, self.load, self.pressure, self.luff_tension];
        if D::NDERIV == 0 {
            let [lift, drag, centre, chord, scallop, camber, draft, stalled, drawing] = part.at(x);
            return StripAnswer {
                lift,
                drag,
                centre,
                chord,
                scallop,
                camber: camber.value(),
                draft: draft.value(),
                stalled: stalled.value(),
                drawing: drawing.value(),
            };
        }
        let mut k = 0;
        let local = x.map(|v| {
            k += 1;
            DualSVec64::<INPUTS>::from_re(v.value()).derivative(k - 1)
        });
        let [lift, drag, centre, chord, scallop, camber, draft, stalled, drawing] = part.at(local);
        let steps = x.map(|v| v - v.value());
        let joined = |y: DualSVec64<INPUTS>, guard: Guard| {
            let mut out = D::from(y.re);
            if let Some(slopes) = y.eps.0 {
                for (k, step) in steps.iter().enumerate() {
                    // The guard bends the slope of lift over incidence alone, and no value.
                    let slope = if k == 0 && guard == Guard::On { slopes[k].abs() } else { slopes[k] };
                    if slope != 0.0 {
                        out += *step * slope;
                    }
                }
            }
            out
        };
        StripAnswer {
            lift: joined(lift, guard),
            drag: joined(drag, Guard::Off),
            centre: joined(centre, Guard::Off),
            chord: joined(chord, Guard::Off),
            scallop: joined(scallop, Guard::Off),
            camber: camber.re,
            draft: draft.re,
            stalled: stalled.re,
            drawing: drawing.re,
        }
    }
}
