//! True and apparent wind, the triangle between them, and one law of wind over height above water.
//!
//! Law: neutral logarithmic profile with the roughness length of Charnock plus the smooth-flow term of
//! Smith (1988), `z0 = a u*^2/g + 0.11 nu/u*`. `Open` takes a = 0.018 (fetch-limited coastal water), the
//! usual place of a squad. `Sheltered` holds z0 at 5 mm (the "smooth" terrain class of Davenport, from memory),
//! for a small lake or a harbour with land upwind. Valid 0.3 to 10 m, 0.5 to 30 m/s.

use crate::angle::{Angle, wrap};
use crate::quantity::{GRAVITY, KNOT, Length, Range, Speed, Unit};

/// Von Karman's constant. Source: Smith 1988 form as in the check table W5.
const KARMAN: f64 = 0.4;
/// Charnock's constant over fetch-limited water. Source: check table W5 (`wind_gradient_over_water.csv`).
const CHARNOCK_COAST: f64 = 0.018;
/// Charnock's constant over the open sea. Source: the same table.
const CHARNOCK_SEA: f64 = 0.011;
/// Air viscosity in the smooth-flow term, m2/s: air near 19 °C, as the check table W5 has it.
const AIR_VISCOSITY: f64 = 1.5e-5;
/// Roughness length of sheltered water, m. Source: Davenport's "smooth" class, from memory.
const SHELTERED_ROUGHNESS: f64 = 0.005;
/// Height at which the model's true wind is given: a hand-held meter in a coach boat.
pub const METER_HEIGHT: f64 = 2.0;

/// The range of a wind speed a person may give.
pub const WIND_RANGE: Range = Range {
    what: "a wind",
    low: 0.0,
    high: 60.0 * KNOT,
    units: &[Unit { names: &["kn", "kt", "knots"], factor: KNOT, offset: 0.0 }, Unit { names: &["m/s"], factor: 1.0, offset: 0.0 }],
};

/// Which water the wind blows over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum WindLaw {
    /// Open sea.
    Sea,
    /// Coast, estuary or big lake: wind has a fetch of kilometres.
    #[default]
    Open,
    /// Small lake or harbour, land close upwind.
    Sheltered,
}

/// Wind over height for one wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindProfile {
    /// Wind speed at 2 m, m/s.
    pub at_meter: f64,
    /// Roughness length, m.
    pub roughness: f64,
}

impl WindLaw {
    /// The profile through a speed at a height.
    #[must_use]
    pub fn profile(self, speed: Speed, height: Length) -> WindProfile {
        let u = speed.si().max(1e-6);
        let h = height.si().max(0.1);
        let mut z0: f64 = 1e-4;
        match self {
            Self::Sheltered => z0 = SHELTERED_ROUGHNESS,
            Self::Sea | Self::Open => {
                let a = if self == Self::Sea { CHARNOCK_SEA } else { CHARNOCK_COAST };
                // A contraction for every wind of the range: 30 rounds bring it to rounding.
                for _ in 0..30 {
                    let friction = (KARMAN * u / (h / z0).ln()).max(1e-3);
                    z0 = (a * friction * friction / GRAVITY + 0.11 * AIR_VISCOSITY / friction).clamp(1e-6, 0.02);
                }
            }
        }
        WindProfile { at_meter: speed.si() * (METER_HEIGHT / z0).ln() / (h / z0).ln(), roughness: z0 }
    }
}

impl WindProfile {
    /// The ratio of the wind at `height` metres to that at 2 m.
    #[must_use]
    pub fn ratio(&self, height: f64) -> f64 {
        (height.max(0.05) / self.roughness).ln().max(0.0) / (METER_HEIGHT / self.roughness).ln()
    }
    /// The wind speed at a height.
    #[must_use]
    pub fn at(&self, height: Length) -> Speed {
        Speed::metres_per_second(self.at_meter * self.ratio(height.si()))
    }
}

/// True wind seen from a boat: speed and the angle it comes from, off the track; positive from starboard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueWind {
    /// Speed.
    pub speed: Speed,
    /// Angle off the track (TWA).
    pub angle: Angle,
}

/// Apparent wind: speed and angle off the track; positive from starboard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ApparentWind {
    /// Speed.
    pub speed: Speed,
    /// Angle off the track (AWA).
    pub angle: Angle,
}

impl TrueWind {
    /// The wind felt on a boat going `boat` along her track.
    #[must_use]
    pub fn apparent(self, boat: Speed) -> ApparentWind {
        let (s, c) = self.angle.in_radians().sin_cos();
        let ahead = self.speed.si() * c + boat.si();
        let side = self.speed.si() * s;
        ApparentWind { speed: Speed::metres_per_second(ahead.hypot(side)), angle: Angle::radians(wrap(side.atan2(ahead))) }
    }
}

impl ApparentWind {
    /// The true wind that gives this apparent wind on a boat going `boat`.
    #[must_use]
    pub fn truth(self, boat: Speed) -> TrueWind {
        let (s, c) = self.angle.in_radians().sin_cos();
        let ahead = self.speed.si() * c - boat.si();
        let side = self.speed.si() * s;
        TrueWind { speed: Speed::metres_per_second(ahead.hypot(side)), angle: Angle::radians(wrap(side.atan2(ahead))) }
    }
}

/// Beaufort force of a wind at 10 m, 0 to 12.
///
/// Source: WMO limits (W1), the mid between one force's upper and the next one's lower limit in m/s.
#[must_use]
pub fn beaufort(at_ten_metres: Speed) -> u8 {
    /// Upper limits of forces 0 to 11, m/s.
    const UPPER: [f64; 12] = [0.25, 1.55, 3.35, 5.45, 7.95, 10.75, 13.85, 17.15, 20.75, 24.45, 28.45, 32.65];
    UPPER.iter().position(|&u| at_ten_metres.si() < u).map_or(12, |f| u8::try_from(f).unwrap_or(12))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// W5: check table `wind_gradient_over_water.csv`: U10, Charnock, ratio to 10 m at 0.5, 1, 1.5, 2, 3 m.
    const GRADIENT: &[(f64, WindLaw, [f64; 5])] = &[
        (2.0, WindLaw::Sea, [0.7640, 0.8186, 0.8506, 0.8732, 0.9052]),
        (2.0, WindLaw::Open, [0.7624, 0.8174, 0.8496, 0.8724, 0.9045]),
        (5.0, WindLaw::Sea, [0.7594, 0.8150, 0.8476, 0.8707, 0.9033]),
        (5.0, WindLaw::Open, [0.7506, 0.8083, 0.8420, 0.8660, 0.8998]),
        (8.0, WindLaw::Sea, [0.7418, 0.8016, 0.8365, 0.8613, 0.8962]),
        (8.0, WindLaw::Open, [0.7288, 0.7915, 0.8282, 0.8543, 0.8910]),
        (11.0, WindLaw::Sea, [0.7248, 0.7885, 0.8257, 0.8521, 0.8894]),
        (11.0, WindLaw::Open, [0.7089, 0.7763, 0.8157, 0.8436, 0.8830]),
    ];
    /// The table is printed to four places.
    const GRADIENT_TOLERANCE: f64 = 2e-4;

    #[test]
    fn gradient_agrees_with_the_table() {
        for &(u, law, ratios) in GRADIENT {
            let p = law.profile(Speed::metres_per_second(u), Length::metres(10.0));
            for (h, r) in [0.5, 1.0, 1.5, 2.0, 3.0].into_iter().zip(ratios) {
                let got = p.at(Length::metres(h)).si() / u;
                assert!((got - r).abs() < GRADIENT_TOLERANCE, "{u} {law:?} {h}: {got} {r}");
            }
        }
    }

    /// W1: Beaufort's limits in knots.
    #[test]
    fn beaufort_limits() {
        for (kn, force) in [(0.3, 0), (2.0, 1), (5.0, 2), (9.0, 3), (13.0, 4), (19.0, 5), (25.0, 6), (40.0, 8), (70.0, 12)] {
            assert_eq!(beaufort(Speed::knots(kn)), force, "{kn} kn");
        }
    }

    proptest! {
        #[test]
        fn triangle_closes(tws in 0.1..30.0f64, twa in -179.0..179.0f64, boat in 0.0..10.0f64) {
            let t = TrueWind { speed: Speed::metres_per_second(tws), angle: Angle::degrees(twa) };
            let back = t.apparent(Speed::metres_per_second(boat)).truth(Speed::metres_per_second(boat));
            prop_assert!((back.speed.si() - tws).abs() < 1e-9);
            prop_assert!((back.angle - t.angle).wrapped().in_degrees().abs() < 1e-6);
        }

        #[test]
        fn wind_grows_with_height(u in 0.1..30.0f64, h in 0.4..9.0f64) {
            for law in [WindLaw::Sea, WindLaw::Open, WindLaw::Sheltered] {
                let p = law.profile(Speed::metres_per_second(u), Length::metres(10.0));
                prop_assert!(p.ratio(h + 0.5) > p.ratio(h) && p.ratio(h) > 0.0);
                prop_assert!((p.ratio(METER_HEIGHT) - 1.0).abs() < 1e-12);
            }
        }
    }
}
