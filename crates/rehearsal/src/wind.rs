//! The wind over the area and the current under it.
//!
//! Two worlds. In the first (`shared` with local wander) one oscillation, one lasting shift and slow noise act on the whole
//! area, tilted by a gradient. In the second, gust cells that fan out and travel downwind pass over the boats, and shifts come
//! at once and stay. The magnitudes are assumed, by common practice of small waters.

use crate::chance::{Chance, Wander};
use measure::angle::{DEGREE, wrap};

/// A wind or its like: speed in m/s and where it comes from, degrees true.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wind {
    /// m/s.
    pub speed: f64,
    /// Degrees true, where it comes from, in [0, 360).
    pub from: f64,
}

impl Wind {
    /// From the east and north components of the moving air, m/s.
    #[must_use]
    pub fn blowing(east: f64, north: f64) -> Self {
        Self { speed: east.hypot(north), from: ((-east).atan2(-north) / DEGREE).rem_euclid(360.0) }
    }
    /// East and north components of the moving air, m/s.
    #[must_use]
    pub fn vector(self) -> [f64; 2] {
        let (east, north) = (self.from * DEGREE).sin_cos();
        [-self.speed * east, -self.speed * north]
    }
}

/// What the wind and the water of an outing are like.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Weather {
    /// Mean wind speed, m/s.
    pub(crate) speed: f64,
    /// Amplitude (deg) and period (s) of the oscillation.
    pub(crate) oscillation: (f64, f64),
    /// Lasting shift over the outing, deg.
    pub(crate) shift: f64,
    /// Slow noise of the whole area: direction (deg), relative speed.
    pub(crate) noise: (f64, f64),
    /// Local noise at one boat: direction (deg), relative speed.
    pub(crate) local: (f64, f64),
    /// Change of direction (deg) and relative speed over a kilometre.
    pub(crate) gradient: (f64, f64),
    /// Current across and along (against the wind) at its height, m/s.
    pub(crate) current: (f64, f64),
    /// Gust cells that travel (the second world).
    pub(crate) cells: bool,
}

/// A gust cell: born upwind, travels with the wind, fans out at its edge.
#[derive(Debug, Clone, Copy)]
struct Cell {
    born: f64,
    place: [f64; 2],
    travel: [f64; 2],
    radius: f64,
    strength: f64,
}

/// The wind and current of an outing at any place and time.
#[derive(Debug, Clone)]
pub(crate) struct Field {
    mean: f64,
    direction: Vec<f64>,
    speed: Vec<f64>,
    slope_direction: [f64; 2],
    slope_speed: [f64; 2],
    cells: Vec<Cell>,
    current: [f64; 2],
    tide: (f64, f64),
}

/// How long a gust cell lives, s.
const CELL_LIFE: f64 = 420.0;

impl Field {
    /// The field of an outing of `seconds` about a mean direction (radians, from).
    pub(crate) fn new(weather: &Weather, mean: f64, seconds: usize, chance: &mut Chance) -> Self {
        let span = seconds as f64;
        let (amplitude, period) = weather.oscillation;
        let mut phase = chance.between(0.0, core::f64::consts::TAU);
        let mut pace = Wander::new(chance, 0.25, 400.0);
        let mut strength = Wander::new(chance, 0.3, 500.0);
        let mut drift = Wander::new(chance, weather.noise.0 * DEGREE, 300.0);
        let mut breath = Wander::new(chance, weather.noise.1, 240.0);
        let middle = span * chance.between(0.35, 0.65);
        let width = if weather.cells { 25.0 } else { span * 0.12 };
        let side = if chance.happens(0.5) { 1.0 } else { -1.0 };
        let steps: Vec<(f64, f64)> = if weather.cells {
            (0..3).map(|_| (span * chance.between(0.1, 0.9), chance.normal(0.0, 0.5 * weather.shift.abs().max(5.0)))).collect()
        } else {
            vec![(middle, side * weather.shift)]
        };
        let (mut direction, mut speed) = (Vec::with_capacity(seconds + 1), Vec::with_capacity(seconds + 1));
        for s in 0..=seconds {
            let t = s as f64;
            phase += core::f64::consts::TAU / period * (1.0 + pace.step(chance, 1.0)).max(0.2);
            let swing = amplitude * DEGREE * (1.0 + strength.step(chance, 1.0)).max(0.2) * phase.sin();
            let lasting: f64 = steps.iter().map(|(at, by)| by * DEGREE / (1.0 + (-(t - at) / width).exp())).sum();
            direction.push(swing + lasting + drift.step(chance, 1.0));
            speed.push(weather.speed * breath.step(chance, 1.0).exp());
        }
        let tilt = chance.between(0.0, core::f64::consts::TAU);
        let slope = |size: f64| [size * tilt.cos() / 1000.0, size * tilt.sin() / 1000.0];
        let cells = if weather.cells { cells(weather, mean, span, chance) } else { Vec::new() };
        let (across, along) = weather.current;
        let hand = if chance.happens(0.5) { 1.0 } else { -1.0 };
        let (sine, cosine) = mean.sin_cos();
        let current = [hand * across * cosine + along * sine, -hand * across * sine + along * cosine];
        Self {
            mean,
            direction,
            speed,
            slope_direction: slope(weather.gradient.0 * DEGREE),
            slope_speed: slope(weather.gradient.1),
            cells,
            current,
            tide: (chance.between(-0.6, 0.6), span),
        }
    }

    /// The current (m/s east, north) at a time; the same over the whole area, changing slowly as a tide does.
    pub(crate) fn current(&self, t: f64) -> [f64; 2] {
        let part = (self.tide.0 + 0.5 * (t / self.tide.1 - 0.5)).cos();
        [self.current[0] * part, self.current[1] * part]
    }

    /// The wind over the ground at a place and time, before what is local to one boat.
    pub(crate) fn wind(&self, t: f64, x: f64, y: f64) -> Wind {
        let i = (t.max(0.0) as usize).min(self.direction.len() - 2);
        let u = (t - i as f64).clamp(0.0, 1.0);
        let mix = |v: &[f64]| v[i] * (1.0 - u) + v[i + 1] * u;
        let mut from = self.mean + mix(&self.direction) + self.slope_direction[0] * x + self.slope_direction[1] * y;
        let mut speed = mix(&self.speed) * (1.0 + self.slope_speed[0] * x + self.slope_speed[1] * y).max(0.3);
        let (right_e, right_n) = (from.cos(), -from.sin());
        for cell in &self.cells {
            let age = t - cell.born;
            if !(0.0..CELL_LIFE).contains(&age) {
                continue;
            }
            let (dx, dy) = (x - cell.place[0] - cell.travel[0] * age, y - cell.place[1] - cell.travel[1] * age);
            let d2 = (dx * dx + dy * dy) / (cell.radius * cell.radius);
            if d2 > 9.0 {
                continue;
            }
            let weight = (-d2).exp() * (core::f64::consts::PI * age / CELL_LIFE).sin();
            speed *= 1.0 + cell.strength * weight;
            // Air spreads from a puff: on its right side (seen upwind) it comes more from the left.
            from -= 0.45 * cell.strength * weight * (dx * right_e + dy * right_n) / cell.radius;
        }
        Wind { speed: speed.max(0.3), from: (wrap(from) / DEGREE).rem_euclid(360.0) }
    }
}

fn cells(weather: &Weather, mean: f64, span: f64, chance: &mut Chance) -> Vec<Cell> {
    let (east, north) = mean.sin_cos();
    let count = (span / 22.0) as usize;
    (0..count)
        .map(|_| {
            let (up, across) = (chance.between(-100.0, 900.0), chance.between(-600.0, 600.0));
            let pace = 0.8 * weather.speed;
            Cell {
                born: chance.between(-CELL_LIFE, span),
                place: [up * east + across * north, up * north - across * east],
                travel: [-pace * east, -pace * north],
                radius: chance.between(50.0, 160.0),
                strength: chance.normal(0.12, 0.22).clamp(-0.35, 0.55),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wind_and_its_vector_are_the_same_thing() {
        for from in [0.0, 45.0, 200.0, 359.0] {
            let wind = Wind { speed: 3.0, from };
            let back = Wind::blowing(wind.vector()[0], wind.vector()[1]);
            assert!((back.speed - 3.0).abs() < 1e-12 && (back.from - from).abs() < 1e-9, "{from}: {back:?}");
        }
        assert!(Wind { speed: 3.0, from: 0.0 }.vector()[1] < 0.0, "a north wind blows towards the south");
    }
}
