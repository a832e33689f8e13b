//! One boat on a grid of whole seconds: what cleaning hands to everything after it.

use super::smoother::SLOW_MEMORY;
use measure::LocalPlane;
use measure::angle::{DEGREE, wrap};

/// What the velocities rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measured {
    /// The receiver's own speed and course over the ground, and positions.
    Doppler,
    /// Positions alone.
    Positions,
}

/// What was learned of the recorder from its own residuals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recorder {
    /// What the velocities rest on.
    pub measured: Measured,
    /// Median time between points as written, s.
    pub interval: f64,
    /// Step of the lattice its positions are written on, m (the coarser axis); below .05 where it cannot matter.
    pub step: f64,
    /// Memory of the smoothing the recorder does by itself, s; zero where none is seen.
    pub memory: f64,
    /// Standard deviation of the white part of a position, per axis, m.
    pub position_noise: f64,
    /// Standard deviation of a Doppler velocity over one second, per axis, m/s.
    pub velocity_noise: f64,
    /// Standard deviation of the slow error of its positions, per axis, m: it wanders within minutes.
    pub slow_noise: f64,
}

impl Recorder {
    /// Variance of a mean velocity over some seconds, per axis, m2/s2, by what the recorder errs: `bridged` of the seconds have no point.
    ///
    /// Positions: of the slope of an Ornstein-Uhlenbeck error over the stretch (Gauss-Markov bound: its inner product of the straight
    /// line with itself), and of the smoothed white noise at both ends. Doppler: of the mean of white noise over the seconds that were
    /// seen, and what the positions leave open of those that were not.
    #[must_use]
    pub fn mean_velocity_variance(&self, seconds: f64, bridged: f64) -> f64 {
        let (square, memory) = (self.slow_noise.powi(2), SLOW_MEMORY);
        let told = (seconds * memory + seconds.powi(3) / (12.0 * memory) + 0.5 * seconds * seconds) / (2.0 * square.max(1e-6));
        let ends = 2.0 * self.position_noise.powf(1.5) * END / (seconds * seconds);
        let positions = 1.0 / told + ends;
        if self.measured == Measured::Positions {
            return positions;
        }
        let open = 2.0 * square * (1.0 - (-bridged / memory).exp());
        let doppler = (self.velocity_noise.powi(2) * (seconds - bridged) + open) / (seconds * seconds);
        1.0 / (1.0 / positions + 1.0 / doppler.max(1e-9))
    }
}

/// Variance of a smoothed position over the white noise's deviation to the power 3/2, m^(1/2): a quarter of the root of two times the
/// fourth root of the power
/// of acceleration (Wiener smoother of a doubly integrated white noise), at .006 m2/s3.
const END: f64 = 0.0984;

/// One boat's track on a grid of whole UTC seconds, smoothed. Shapes: every vector has one entry per second of the grid;
/// entry `i` holds the state at `start + i`. Positions and velocities are east and north in the outing's plane, over the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Smooth {
    /// The track's name.
    pub name: String,
    /// Seconds since 1970-01-01T00:00:00 UTC of the first entry.
    pub start: i64,
    /// East, m.
    pub x: Vec<f64>,
    /// North, m.
    pub y: Vec<f64>,
    /// Velocity east, m/s.
    pub vx: Vec<f64>,
    /// Velocity north, m/s.
    pub vy: Vec<f64>,
    /// Variance of the position, the same for both axes, m2. It holds the slow error of the receiver, which two
    /// seconds close to each other share: differences over some seconds are better than this says.
    pub position_variance: Vec<f64>,
    /// Variance of the velocity, the same for both axes, m2/s2.
    pub velocity_variance: Vec<f64>,
    /// No point near this second: bridged, so that nothing may be timed here.
    pub gap: Vec<bool>,
    /// Standing still or drifting, by the speed over the ground.
    pub standing: Vec<bool>,
    /// Faster than any small boat sails: a car ride, or a tow behind a fast one.
    pub carried: Vec<bool>,
    /// What was learned of the recorder.
    pub recorder: Recorder,
}

impl Smooth {
    /// Seconds in the grid.
    #[must_use]
    pub fn len(&self) -> usize {
        self.x.len()
    }
    /// Whether the grid is empty.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.x.is_empty()
    }
    /// UTC seconds just past the last entry.
    #[must_use]
    pub fn end(&self) -> i64 {
        self.start + self.len() as i64
    }
    /// The entry of a UTC second, where the grid holds it.
    #[must_use]
    pub fn entry(&self, second: i64) -> Option<usize> {
        usize::try_from(second - self.start).ok().filter(|i| *i < self.len())
    }
    /// Speed over the ground at an entry, m/s; zero outside the grid.
    #[must_use]
    pub fn speed(&self, entry: usize) -> f64 {
        match (self.vx.get(entry), self.vy.get(entry)) {
            (Some(vx), Some(vy)) => vx.hypot(*vy),
            _ => 0.0,
        }
    }
    /// From the plane it was cleaned in to another, so that tracks can be cleaned one at a time before the outing's plane is known.
    #[must_use]
    pub fn moved(mut self, from: &LocalPlane, to: &LocalPlane) -> Self {
        let (here, there) = (from.origin(), to.origin());
        // North at the one origin is not quite north at the other: meridians lean to each other by the sine of the latitude.
        let turn = wrap((there.longitude() - here.longitude()) * DEGREE) * (0.5 * (here.latitude() + there.latitude()) * DEGREE).sin();
        let (sine, cosine) = turn.sin_cos();
        for i in 0..self.len() {
            (self.x[i], self.y[i]) = to.xy(from.position(self.x[i], self.y[i]));
            let (vx, vy) = (self.vx[i], self.vy[i]);
            (self.vx[i], self.vy[i]) = (vx * cosine + vy * sine, vy * cosine - vx * sine);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Position;

    /// A micrometre there and back, as the plane promises; a velocity keeps its size and turns with the meridian.
    #[test]
    fn a_track_moves_to_another_plane_and_back() {
        let plane = |latitude, longitude| LocalPlane::at(Position::degrees(latitude, longitude).unwrap());
        let (here, there) = (plane(50.0, 179.99), plane(50.01, -179.99));
        let recorder = Recorder {
            measured: Measured::Doppler,
            interval: 1.0,
            step: 0.0,
            memory: 0.0,
            position_noise: 0.0,
            velocity_noise: 0.0,
            slow_noise: 0.0,
        };
        let one = Smooth {
            name: String::new(),
            start: 0,
            x: vec![120.0],
            y: vec![-300.0],
            vx: vec![0.0],
            vy: vec![2.0],
            position_variance: vec![1.0],
            velocity_variance: vec![0.1],
            gap: vec![false],
            standing: vec![false],
            carried: vec![false],
            recorder,
        };
        let moved = one.clone().moved(&here, &there);
        assert!((moved.speed(0) - 2.0).abs() < 1e-12);
        // North here leans to the east there by 0.02 degrees of longitude times the sine of the latitude: the far origin lies east.
        let lean = moved.vx[0].atan2(moved.vy[0]) / DEGREE;
        let ahead = there.xy(here.position(120.0, -299.0));
        let true_lean = (ahead.0 - moved.x[0]).atan2(ahead.1 - moved.y[0]) / DEGREE;
        assert!((lean - true_lean).abs() < 1e-3, "{lean} {true_lean}");
        let back = moved.moved(&there, &here);
        assert!((back.x[0] - 120.0).abs() < 1e-3 && (back.y[0] + 300.0).abs() < 1e-3 && back.vx[0].abs() < 1e-9);
    }
}
