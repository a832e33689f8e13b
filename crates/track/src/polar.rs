//! The polar for directions where none is given.

use measure::Polar;

/// The shape of a small single-handed boat, for directions where no polar is given; its speeds are never reported. Assumed:
/// hull speed near 2 m/s, a beat at 45 to 50 degrees, a run as fast as a beat.
pub(crate) fn assumed_polar() -> Polar {
    /// Angles of the shape, degrees; straight lines between.
    const STEP: f64 = 5.0;
    let shape = |wind: f64, angle: f64| {
        let close = 1.0 - (-((angle - 23.0_f64).max(0.0)) / 20.0).exp();
        let deep = 1.0 - 0.2 * ((angle - 100.0).max(0.0) / 80.0).powi(2);
        2.0 * (1.0 - (-wind / 3.5_f64).exp()) * close * deep
    };
    Polar::by_rule(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0], |wind, degrees| {
        let before = (degrees / STEP).floor() * STEP;
        let (low, high) = (shape(wind, before), shape(wind, before + STEP));
        low + (high - low) * (degrees - before) / STEP
    })
}
