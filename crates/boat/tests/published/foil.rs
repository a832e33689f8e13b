//! Board and rudder against Whicker and Fehlner.

use boat::constants::Constants;
use boat::foil::{Motion, board};
use boat::load::Attitude;
use core::f64::consts::PI;
use measure::angle::DEGREE;
use measure::fluid::Fluid;

/// Seawater at 15 C.
const SEA: Fluid = Fluid { density: 1026.021, viscosity: 1.1892e-6 };
/// A15: 10 % at 15 degrees.
const LIFT_TOLERANCE: f64 = 0.10;

/// A15: L.F. Whicker, L.F. Fehlner, DTMB Report 933 (1958), as quoted: CL = CLa sin a cos a + CDc sin a |sin a| cos a, with
/// CDc = 0.1 + 0.7 tip/root (0.8 for a straight blade) and CLa = 0.9 (2 pi) AR / (cos L sqrt(AR^2/cos^4 L + 4) + 1.8).
#[test]
fn lift_at_fifteen_degrees_is_whicker_and_fehlners() {
    let c = Constants::standard();
    let class = super::pram::pram();
    for length in [0.5, 0.8, 1.02] {
        let mut b = class.board.clone();
        b.length = length;
        let motion = Motion::steady(Attitude::new(0.0, 0.10, 0.0, 1.225), 1.5, 15.0 * DEGREE);
        let got = board(&b, c, SEA, &motion, 0.0, 0.0);
        let ratio = c.foil_mirror * got.immersed / b.chord;
        let slope = 0.9 * 2.0 * PI * ratio / ((ratio * ratio + 4.0).sqrt() + 1.8);
        let (s, k) = (15.0 * DEGREE).sin_cos();
        let table = slope * s * k + 0.8 * s * s * k;
        assert!((got.lift / table - 1.0).abs() < LIFT_TOLERANCE, "AR {ratio:.2}: {} {table}", got.lift);
        assert!(!got.is_stalled());
    }
}
