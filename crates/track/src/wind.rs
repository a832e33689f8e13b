//! The wind from the tracks alone, over the water and over the ground.
//!
//! All boats together: the outing's direction and whether it can be told ([`axis`]), the direction on a grid ([`grid`]), the
//! finer estimate through time ([`fine`], [`state`]), the current across the wind ([`current`]), and, with a polar, its speed
//! ([`strength`]). Boats feel the wind over the water; over the ground it is that plus the current.

mod axis;
mod current;
mod fine;
mod grid;
mod look;
mod state;
mod strength;

pub(crate) use axis::Untold;
pub(crate) use current::Across;
pub(crate) use look::{BLOCK, Looks};

use crate::fleet::Fleet;
use crate::polar::assumed_polar;
use fine::Fine;
use measure::Polar;

/// The wind of an outing whose direction can be told.
pub(crate) struct Wind {
    /// Direction from over the water at the fleet's middle in each block, rad without jumps, and its standard deviation.
    pub(crate) direction: Vec<f64>,
    pub(crate) sd: Vec<f64>,
    slope: Vec<[f64; 2]>,
    /// Speed over the water with its standard deviation; none without a polar.
    pub(crate) speed: Option<Vec<(f64, f64)>>,
    /// The current across the wind, where both tacks were seen.
    pub(crate) across: Option<Across>,
    /// Looks and the weight with which each is a beat.
    pub(crate) looks: Looks,
    pub(crate) beat: Vec<f64>,
    middles: Vec<[f64; 2]>,
    /// One wind speed for the outing, m/s: by the polar given or the assumed one.
    pub(crate) about: f64,
}

impl Wind {
    /// The direction over the water at a second and place (m east and north in the plane), rad without jumps.
    pub(crate) fn from(&self, second: usize, place: [f64; 2]) -> f64 {
        let (k, u) = self.between(second);
        let next = (k + 1).min(self.direction.len() - 1);
        let mix = |a: f64, b: f64| a * (1.0 - u) + b * u;
        let middle = self.middles.get(second).copied().unwrap_or(place);
        let slope = [mix(self.slope[k][0], self.slope[next][0]), mix(self.slope[k][1], self.slope[next][1])];
        let off = |i: usize| slope[i] * ((place[i] - middle[i]) / 1000.0).clamp(-1.5, 1.5);
        mix(self.direction[k], self.direction[next]) + off(0) + off(1)
    }

    /// The direction at the fleet's middle and its standard deviation.
    pub(crate) fn middle(&self, second: usize) -> (f64, f64) {
        let (k, u) = self.between(second);
        let next = (k + 1).min(self.direction.len() - 1);
        (self.direction[k] * (1.0 - u) + self.direction[next] * u, self.sd[k] * (1.0 - u) + self.sd[next] * u)
    }

    /// The speed over the water and its standard deviation.
    pub(crate) fn speed_at(&self, second: usize) -> Option<(f64, f64)> {
        let (k, u) = self.between(second);
        let speed = self.speed.as_ref()?;
        let (a, b) = (speed[k], speed[(k + 1).min(speed.len() - 1)]);
        Some((a.0 * (1.0 - u) + b.0 * u, a.1 * (1.0 - u) + b.1 * u))
    }

    /// The block whose middle lies before a second, and how far towards the next.
    fn between(&self, second: usize) -> (usize, f64) {
        let place = ((second as f64 + 0.5) / BLOCK as f64 - 0.5).clamp(0.0, (self.direction.len() - 1) as f64);
        (place as usize, place - (place as usize) as f64)
    }
}

/// A current is known no better than to this share of itself, whatever its residuals say. Set on seeds 1 to 3.
const SHARE: f64 = 0.12;

/// Estimates the wind; takes a current it is sure of out of the fleet's velocities.
pub(crate) fn wind(fleet: &mut Fleet, polar: Option<&Polar>) -> Result<Wind, Untold> {
    let assumed;
    let (table, given) = match polar {
        Some(p) => (p, true),
        None => {
            assumed = assumed_polar();
            (&assumed, false)
        }
    };
    let boats = fleet.boats.len();
    let mut total: Option<Across> = None;
    let mut round = 0;
    loop {
        let looks = Looks::of(fleet);
        let axis = axis::axis(fleet, &looks, table, given)?;
        let grid = grid::grid(&looks, axis, table, given);
        let fine = fine::fine(&looks, &grid, axis, boats, table, given);
        let rest = current::across(&looks, &fine, boats);
        if let Some(c) = rest
            && round < 3
            && (c.told || (round > 0 && c.middle.abs() > 0.02))
        {
            take_out(fleet, axis, c);
            total = Some(total.map_or(c, |t| Across { middle: t.middle + c.middle, change: t.change + c.change, ..c }));
            round += 1;
            continue;
        }
        let across = total.map(|t| Across { told: true, ..t }).or(rest.map(|c| Across { told: false, ..c }));
        let speed = if given { strength::strength(&looks, &fine, boats, table, grid.wind) } else { None };
        let Fine { direction, mut sd, slope, up, beat } = fine;
        if let Some(a) = across {
            // A current not taken out turns the courses of both tacks the same way.
            let doubt = if a.told { a.sd.hypot(SHARE * a.middle) } else { a.sd };
            let pace = fleet.boats.iter().map(|b| b.pace).fold(0.5, f64::max);
            let turned = doubt * up.cos() / pace;
            sd.iter_mut().for_each(|s| *s = s.hypot(turned));
        }
        return Ok(Wind { direction, sd, slope, speed, across, looks, beat, middles: fleet.middles(), about: grid.wind });
    }
}

/// Adds a current across the wind to the one already taken out.
fn take_out(fleet: &mut Fleet, axis: f64, c: Across) {
    let right = [axis.cos(), -axis.sin()];
    let old = fleet.current;
    let mut new = old;
    for i in 0..2 {
        new[0][i] += right[i] * (c.middle - 0.5 * c.change);
        new[1][i] += right[i] * c.change;
    }
    fleet.set_current(new);
}
