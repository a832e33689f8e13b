//! Each boat's angle to the wind through the water, second by second.

use crate::fleet::{Boat, Fleet};
use crate::wind::Wind;
use measure::angle::wrap;

/// Angle from the course to the wind, rad, positive with the wind from starboard, of the velocity averaged over three seconds;
/// zero where the boat is not on.
pub(crate) fn angles(fleet: &Fleet, boat: usize, wind: &Wind) -> Vec<f64> {
    let b: &Boat = &fleet.boats[boat];
    let mut angles = vec![0.0; fleet.len];
    for (i, angle) in angles.iter_mut().enumerate().take(b.span.1).skip(b.span.0) {
        if b.on[i]
            && let Some((_, course)) = b.mean(i.saturating_sub(1), i + 2)
        {
            *angle = wrap(wind.from(i, [b.x[i], b.y[i]]) - course);
        }
    }
    angles
}

/// Speed made good upwind, m/s.
pub(crate) fn made_good(b: &Boat, angles: &[f64], i: usize) -> f64 {
    b.speed[i] * angles[i].cos()
}
