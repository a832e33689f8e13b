//! A polar as a plain table: boat speed by true wind speed and true wind angle, both from the boat through the water.
//!
//! The wall between what should happen and what did is kept by taking nothing but numbers: CSV with the columns
//! `tws_ms,twa_deg,speed_ms` in any order of rows, not necessarily a full grid. Between the numbers: straight lines.

use crate::angle::DEGREE;
use core::fmt;

/// Why a table was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PolarError(pub String);

impl fmt::Display for PolarError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the polar: {}; it is a table with the columns tws_ms, twa_deg and speed_ms", self.0)
    }
}

impl std::error::Error for PolarError {}

/// Boat speed on a grid of 1 degree for each wind speed of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Polar {
    winds: Vec<f64>,
    /// `speeds[i][d]`: m/s in `winds[i]` at `d` degrees, 0 to 180.
    speeds: Vec<[f64; 181]>,
    /// Best angles upwind and downwind (radians) on a grid of [`STEP`].
    best: Vec<(f64, f64)>,
}

/// Step of the grid of best angles, m/s.
const STEP: f64 = 0.25;
/// Strongest wind of that grid, m/s.
const STRONGEST: f64 = 20.0;

impl Polar {
    /// Reads the table. Columns are found by name; `#` starts a comment.
    ///
    /// # Errors
    /// When a column is missing, a cell is no number, or there are fewer than three angles for every wind speed.
    pub fn parse(text: &str) -> Result<Self, PolarError> {
        let text = text.trim_start_matches('\u{feff}');
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).flexible(true).from_reader(text.as_bytes());
        let header = reader.headers().map_err(|e| PolarError(format!("it is no CSV table ({e})")))?.clone();
        let column = |name: &str| {
            header
                .iter()
                .position(|h| h.eq_ignore_ascii_case(name))
                .ok_or_else(|| PolarError(format!("its first line has no column {name}")))
        };
        let columns = [column("tws_ms")?, column("twa_deg")?, column("speed_ms")?];
        let mut rows = Vec::new();
        for (i, record) in reader.records().enumerate() {
            let record = record.map_err(|e| PolarError(format!("line {}: {e}", i + 2)))?;
            let mut row = [0.0; 3];
            for (value, &c) in row.iter_mut().zip(&columns) {
                let cell = record.get(c).unwrap_or("");
                *value = cell
                    .parse()
                    .ok()
                    .filter(|v: &f64| v.is_finite() && *v >= 0.0)
                    .ok_or_else(|| PolarError(format!("line {}: {cell:?} is no number of 0 or more", i + 2)))?;
            }
            if row[1] <= 180.0 && row[2] < 30.0 && row[0] < 60.0 {
                rows.push((row[0], row[1], row[2]));
            } else {
                return Err(PolarError(format!("line {}: angles go from 0 to 180 degrees, speeds are metres per second", i + 2)));
            }
        }
        Self::rows(&rows).ok_or_else(|| PolarError("it needs at least three angles for one wind speed above zero".to_owned()))
    }

    /// From rows of wind speed (m/s), wind angle (degrees) and boat speed (m/s). None when no wind speed has three angles.
    #[must_use]
    pub fn rows(rows: &[(f64, f64, f64)]) -> Option<Self> {
        let mut rows: Vec<_> =
            rows.iter().copied().filter(|r| r.0 > 0.0 && r.0.is_finite() && r.1.is_finite() && r.2.is_finite()).collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (mut winds, mut speeds) = (Vec::new(), Vec::new());
        for own in rows.chunk_by(|a, b| a.0 == b.0) {
            if own.len() < 3 {
                continue;
            }
            winds.push(own[0].0);
            speeds.push(core::array::from_fn(|d| along(own, d as f64)));
        }
        if winds.is_empty() {
            return None;
        }
        Some(Self { winds, speeds, best: Vec::new() }.searched())
    }

    /// From a rule: boat speed (m/s) by wind (m/s) and whole degrees, for these winds in rising order.
    #[must_use]
    pub fn by_rule(winds: &[f64], speed: impl Fn(f64, f64) -> f64) -> Self {
        let winds = if winds.is_empty() { vec![1.0] } else { winds.to_vec() };
        let speeds = winds.iter().map(|wind| core::array::from_fn(|d| speed(*wind, d as f64))).collect();
        Self { winds, speeds, best: Vec::new() }.searched()
    }

    fn searched(mut self) -> Self {
        let count = (STRONGEST / STEP) as usize + 1;
        self.best = (0..count).map(|i| self.search((i.max(1)) as f64 * STEP)).collect();
        self
    }

    /// The winds of the table, m/s, rising.
    #[must_use]
    pub fn winds(&self) -> &[f64] {
        &self.winds
    }

    /// Boat speed (m/s) in a wind (m/s) at an angle (radians, either side). Below the weakest wind of the table it falls to
    /// zero with the wind; above the strongest it stays.
    #[must_use]
    pub fn speed(&self, wind: f64, angle: f64) -> f64 {
        let degrees = (angle.abs() / DEGREE).clamp(0.0, 180.0);
        let d = (degrees as usize).min(179);
        let v = degrees - d as f64;
        let at = |i: usize| self.speeds[i][d] * (1.0 - v) + self.speeds[i][d + 1] * v;
        let i = self.winds.partition_point(|w| *w <= wind);
        if i == 0 {
            return at(0) * (wind / self.winds[0]).max(0.0);
        }
        if i == self.winds.len() {
            return at(i - 1);
        }
        let u = (wind - self.winds[i - 1]) / (self.winds[i] - self.winds[i - 1]);
        at(i - 1) * (1.0 - u) + at(i) * u
    }

    /// The angle (radians) of the best speed made good upwind.
    #[must_use]
    pub fn upwind(&self, wind: f64) -> f64 {
        self.best_at(wind).0
    }

    /// The angle (radians) of the best speed made good downwind.
    #[must_use]
    pub fn downwind(&self, wind: f64) -> f64 {
        self.best_at(wind).1
    }

    fn best_at(&self, wind: f64) -> (f64, f64) {
        let place = (wind / STEP).clamp(0.0, (self.best.len() - 1) as f64);
        let i = (place as usize).min(self.best.len().saturating_sub(2));
        let u = place - i as f64;
        let (a, b) = (self.best[i], self.best[(i + 1).min(self.best.len() - 1)]);
        (a.0 * (1.0 - u) + b.0 * u, a.1 * (1.0 - u) + b.1 * u)
    }

    fn search(&self, wind: f64) -> (f64, f64) {
        let best = |from: usize, to: usize, way: f64| {
            let good = |d: f64| way * self.speed(wind, d * DEGREE) * (d * DEGREE).cos();
            let top = (from..=to).map(|d| d as f64).fold(from as f64, |b, d| if good(d) > good(b) { d } else { b });
            // A table of straight lines jumps from point to point: the middle of all that is nearly as good does not.
            let near: Vec<f64> = (from..=to).map(|d| d as f64).filter(|d| good(*d) > 0.99 * good(top)).collect();
            let middle = near.iter().sum::<f64>() / near.len().max(1) as f64;
            DEGREE * if near.is_empty() { top } else { middle }
        };
        (best(28, 75, 1.0), best(120, 180, -1.0))
    }
}

/// Along one wind speed's rows, sorted by angle: nothing at zero degrees, straight lines between, the last held.
fn along(rows: &[(f64, f64, f64)], degrees: f64) -> f64 {
    let i = rows.partition_point(|r| r.1 <= degrees);
    let (a0, v0) = if i == 0 { (0.0, 0.0) } else { (rows[i - 1].1, rows[i - 1].2) };
    match rows.get(i) {
        Some(next) if next.1 > a0 => v0 + (next.2 - v0) * (degrees - a0) / (next.1 - a0),
        _ => v0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_in_any_order_and_what_lies_between() {
        let polar = Polar::parse("speed_ms,twa_deg,tws_ms\n2,180,4\n1,45,4\n# a comment\n2,90,4\n1,90,2\n1,180,2\n.5,45,2\n").unwrap();
        assert!((polar.speed(3.0, 90.0 * DEGREE) - 1.5).abs() < 1e-12);
        assert!((polar.speed(4.0, -67.5 * DEGREE) - 1.5).abs() < 1e-12);
        assert!((polar.speed(1.0, 90.0 * DEGREE) - 0.5).abs() < 1e-12);
        assert!((polar.speed(9.0, 90.0 * DEGREE) - 2.0).abs() < 1e-12);
    }

    /// A rule on whole degrees gives the same table as its rows.
    #[test]
    fn a_rule_is_its_rows() {
        let rule = |wind: f64, degrees: f64| wind * (degrees * DEGREE / 2.0).sin();
        let rows: Vec<_> = [2.0, 5.0].iter().flat_map(|w| (0..=180).map(move |d| (*w, f64::from(d), rule(*w, f64::from(d))))).collect();
        assert_eq!(Polar::rows(&rows).unwrap(), Polar::by_rule(&[2.0, 5.0], rule));
        assert_eq!(Polar::by_rule(&[2.0, 5.0], rule).winds(), [2.0, 5.0]);
        assert!(Polar::by_rule(&[], rule).speed(1.0, 1.0) > 0.0);
    }

    #[test]
    fn a_bad_table_says_what_is_wrong() {
        for (text, word) in [
            ("", "tws_ms"),
            ("a,b,c\n1,2,3", "tws_ms"),
            ("tws_ms,twa_deg,speed_ms\n4,x,1", "line 2"),
            ("tws_ms,twa_deg,speed_ms\n4,90,1", "three angles"),
        ] {
            let said = Polar::parse(text).unwrap_err().to_string();
            assert!(said.contains(word), "{said}");
        }
    }
}
