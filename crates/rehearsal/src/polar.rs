//! A plain polar table: boat speed by wind speed and angle.
//!
//! The invented pram of the rehearsals: hull speed near 2 m/s, closest good angle near 48 degrees, a run hardly faster than a
//! beat. The shape is assumed; only its spread between sailors and winds matters to the estimators, which are given the table.

use measure::angle::DEGREE;

/// Speed by true wind speed and angle, both from the boat through the water; straight lines between the grid's points.
#[derive(Debug, Clone, PartialEq)]
pub struct Polar {
    winds: Vec<f64>,
    angles: Vec<f64>,
    speeds: Vec<f64>,
}

impl Polar {
    /// The invented pram on a grid of 1 m/s and 5 degrees.
    #[must_use]
    pub fn pram() -> Self {
        Self::sampled(pram_speed)
    }

    /// A quicker boat, who points higher and reaches much faster than she beats: some four tenths more speed in a moderate wind. Assumed as well.
    #[must_use]
    pub fn quick() -> Self {
        Self::sampled(|wind, angle| {
            let deep = ((angle - 90.0).max(0.0) / 90.0).powi(2);
            2.35 * (1.0 - (-wind / 2.9).exp()) * (1.0 - (-(angle - 20.0).max(0.0) / 16.0).exp()) * (1.0 - 0.22 * deep)
        })
    }

    /// A boat of one's own on the same grid: her speed (m/s) by wind (m/s) and angle (degrees from 0 to 180). What is no number, or less than nothing, is nothing.
    #[must_use]
    pub fn sampled(speed: impl Fn(f64, f64) -> f64) -> Self {
        let winds: Vec<f64> = (0..=14).map(f64::from).collect();
        let angles: Vec<f64> = (0..=36).map(|i| f64::from(i) * 5.0).collect();
        let speeds = winds.iter().flat_map(|&w| angles.iter().map(move |&a| (w, a))).map(|(w, a)| speed(w, a).max(0.0)).collect();
        Self { winds, angles, speeds }
    }

    /// The table as rows of wind speed (m/s), wind angle (deg) and boat speed (m/s).
    #[must_use]
    pub fn rows(&self) -> Vec<(f64, f64, f64)> {
        let pairs = self.winds.iter().flat_map(|&w| self.angles.iter().map(move |&a| (w, a)));
        pairs.zip(&self.speeds).map(|((w, a), &v)| (w, a, v)).collect()
    }

    /// Boat speed (m/s) in a wind (m/s) at an angle (radians, either side).
    #[must_use]
    pub fn speed(&self, wind: f64, angle: f64) -> f64 {
        let degrees = (angle.abs() / DEGREE).min(180.0);
        let (i, u) = place(&self.winds, wind);
        let (j, v) = place(&self.angles, degrees);
        let at = |i: usize, j: usize| self.speeds[i * self.angles.len() + j];
        let low = at(i, j) * (1.0 - v) + at(i, j + 1) * v;
        let high = at(i + 1, j) * (1.0 - v) + at(i + 1, j + 1) * v;
        low * (1.0 - u) + high * u
    }

    /// The angle (radians) of the best speed made good upwind in a wind.
    #[must_use]
    pub fn upwind(&self, wind: f64) -> f64 {
        self.best(wind, 30, 75, 1.0)
    }

    /// The angle (radians) of the best speed made good downwind in a wind.
    #[must_use]
    pub fn downwind(&self, wind: f64) -> f64 {
        self.best(wind, 125, 180, -1.0)
    }

    fn best(&self, wind: f64, from: i32, to: i32, way: f64) -> f64 {
        let good = |a: f64| way * self.speed(wind, a) * a.cos();
        (from..=to).map(|d| f64::from(d) * DEGREE).fold((0.0, f64::MIN), |b, a| if good(a) > b.1 { (a, good(a)) } else { b }).0
    }
}

fn place(grid: &[f64], value: f64) -> (usize, f64) {
    let i = grid.partition_point(|&g| g <= value).clamp(1, grid.len() - 1) - 1;
    (i, ((value - grid[i]) / (grid[i + 1] - grid[i])).clamp(0.0, 1.0))
}

fn pram_speed(wind: f64, degrees: f64) -> f64 {
    let full = 2.05 * (1.0 - (-wind / 3.6).exp());
    // Boats point lower in light air and when the wind overpowers a child.
    let closest = 22.0 + 3.0 * (-(wind - 1.0) / 1.5).exp().min(2.0) + 0.35 * (wind - 7.0).max(0.0);
    let upwind = 1.0 - (-(degrees - closest).max(0.0) / 21.0).exp();
    let deep = ((degrees - 100.0).max(0.0) / 80.0).powi(2);
    full * upwind * (1.0 - 0.20 * deep)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pram_beats_and_runs_at_believable_angles() {
        for (polar, most) in [(Polar::pram(), 2.1), (Polar::quick(), 2.4)] {
            for wind in [2.0, 4.0, 6.0, 9.0] {
                let (up, down) = (polar.upwind(wind) / DEGREE, polar.downwind(wind) / DEGREE);
                assert!((40.0..58.0).contains(&up), "{wind}: {up}");
                assert!((145.0..181.0).contains(&down), "{wind}: {down}");
                assert!(polar.speed(wind, 0.3) < 0.05 && polar.speed(wind, 1.6) < most);
            }
            assert_eq!(polar.rows().len(), 15 * 37);
        }
    }
}
