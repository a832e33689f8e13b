//! The sailor's body in segments: how far out its centre gets when the thighs rest on the side of the boat.
//!
//! Masses over the body's: Plagenhoef 1983, Dempster's as in Winter, *Biomechanics and Motor Control of Human Movement* (seen). Lengths
//! over stature and centres of segments: the same book (memory). The posture is assumed: nobody measured one. Of adults; a child
//! has a larger head and shorter legs, which nearly cancel (assumed).

/// Head, arms and trunk: mass over the body's, centre over stature above the hip (0.626 of the way from hip to shoulder, 0.288).
const UPPER: [f64; 2] = [0.678, 0.626 * 0.288];
/// Both thighs and both shanks: mass over the body's, length over stature.
const THIGHS: [f64; 2] = [0.200, 0.245];
const SHANKS: [f64; 2] = [0.093, 0.246];
/// Both feet: mass over the body's.
const FEET: f64 = 0.029;
/// Centre of thigh and shank, share of the way down.
const DOWN: f64 = 0.433;

/// How a sailor sits out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posture {
    /// Share of the thigh outside the side of the boat, level.
    pub outside: f64,
    /// Trunk back from upright, rad.
    pub lean: f64,
    /// Feet from the centreline under the strap, m.
    pub feet: f64,
}

/// A child hiked in a pram. Assumed.
pub const HIKED: Posture = Posture { outside: 0.5, lean: 45.0 * measure::angle::DEGREE, feet: 0.10 };

/// How far out the body's centre is, m from the centreline, for a stature (m) and the side of the boat (m from the centreline).
#[must_use]
pub fn centre_out(stature: f64, side: f64, posture: &Posture) -> f64 {
    let thigh = THIGHS[1] * stature;
    let hip = side + posture.outside * thigh;
    let knee = hip - thigh;
    // The shank slants down to the strap; no leg is longer than it is.
    let feet = knee + (posture.feet - knee).max(-SHANKS[1] * stature).min(0.0);
    UPPER[0] * (hip + UPPER[1] * stature * posture.lean.sin())
        + THIGHS[0] * (hip - DOWN * thigh)
        + SHANKS[0] * (knee + DOWN * (feet - knee))
        + FEET * feet
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_segments_are_a_whole_body() {
        assert!((UPPER[0] + THIGHS[0] + SHANKS[0] + FEET - 1.0).abs() < 1e-12);
    }

    #[test]
    fn leaning_sitting_and_growing_out_go_out() {
        let out = |stature, side, outside, lean: f64| {
            centre_out(stature, side, &Posture { outside, lean: lean * measure::angle::DEGREE, ..HIKED })
        };
        let from = out(1.5, 0.56, 0.5, 40.0);
        assert!(out(1.6, 0.56, 0.5, 40.0) > from && out(1.5, 0.56, 0.6, 40.0) > from && out(1.5, 0.56, 0.5, 50.0) > from);
        // With the feet where they were, less than the whole of the side is gained.
        assert!((0.06..0.10).contains(&(out(1.5, 0.66, 0.5, 40.0) - from)));
        // Nobody hangs farther out than she is long.
        assert!(out(1.5, 0.56, 1.0, 90.0) < 0.56 + 0.7 * 1.5);
    }
}
