//! Runs the hydrostatics over a table of a heeled Wigley hull and tells how far they are from the table.
//!
//! The hull: length 2.4 m, breadth 1.2 m, draught 0.15 m, `y = B/2 (1 - (2x/L)^2)(1 - (z/T)^2)`, walls straight up to 0.35 m
//! above the water. The table has the columns of [`COLUMNS`]; lines that start with `#` are comments.

use super::lines::HullForm;
use crate::constants::Constants;
use core::f64::consts::FRAC_PI_2;
use measure::angle::DEGREE;
use thiserror::Error;

/// Columns: heel; volume, centre to leeward (the table counts it negative) and up with the water's plane through the origin; then
/// the water's height, centre and righting arm (weight 0.20 m above the origin) at the upright volume.
pub const COLUMNS: [&str; 8] = [
    "heel_deg",
    "fixed_plane_V_m3",
    "fixed_yB_m",
    "fixed_zB_m",
    "const_V_waterline_z_m",
    "const_V_yB_m",
    "const_V_zB_m",
    "GZ_m_for_G_0.20m_above_z0",
];
/// Length, breadth, draught, height of the walls, m.
const WIGLEY: [f64; 4] = [2.4, 1.2, 0.15, 0.35];
/// Height of the weight for the righting arm, m.
const WEIGHT_HEIGHT: f64 = 0.20;
/// Errors are relative to the table, but never to less than this, m or m3: a centre on the centreline has no relative error.
const LEAST: f64 = 0.01;
/// Sections and points to a half section for a hull that is a formula.
const FINE: [usize; 2] = [120, 160];

/// Why a table cannot be judged.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum HullTableError {
    /// A column is missing.
    #[error("the table has no column {0}; its first line must name heel_deg, the volumes, centres and righting arm")]
    Column(&'static str),
    /// A cell is not a number.
    #[error("line {line}, column {column}: found {found:?}, expected a number")]
    Number {
        /// Line, from 1.
        line: usize,
        /// Column.
        column: &'static str,
        /// What stands there.
        found: String,
    },
    /// No case in it.
    #[error("the table holds no case: a line for each heel must follow the column names")]
    Empty,
}

/// One heel of the table and what the hydrostatics make of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HullCase {
    /// Line of the table, from 1.
    pub line: usize,
    /// The table's seven figures.
    pub table: [f64; 7],
    /// The same computed; `None` when the hull cannot float there.
    pub computed: Option<[f64; 7]>,
}

impl HullCase {
    /// Relative errors of the seven figures, not negative; `None` when nothing was computed.
    #[must_use]
    pub fn errors(&self) -> Option<[f64; 7]> {
        self.computed.map(|c| core::array::from_fn(|k| (c[k] - self.table[k]).abs() / self.table[k].abs().max(LEAST)))
    }
}

/// Wigley's hull of any size: length, breadth, draught, wall height; base line at the water.
#[must_use]
pub fn wigley([length, breadth, draught, wall]: [f64; 4], [sections, points]: [usize; 2]) -> HullForm {
    let half = |x: f64| {
        let along = 0.5 * breadth * (1.0 - (2.0 * x / length).powi(2)).max(0.0);
        // Points crowd at the keel, where the section turns fastest.
        let curve = (0..=points).map(|i| {
            let z = -draught * (FRAC_PI_2 * i as f64 / points as f64).cos();
            [along * (1.0 - (z / draught).powi(2)), z]
        });
        curve.chain([[along, wall]]).collect()
    };
    HullForm::from_offsets((-0.5 * length, 0.5 * length), sections, Constants::standard(), half)
}

/// Computes every heel of a table.
///
/// # Errors
/// A missing column, a cell that is no number, a table without cases.
pub fn judge_hull(csv: &str) -> Result<Vec<HullCase>, HullTableError> {
    let mut lines = csv.lines().enumerate().filter(|(_, l)| !l.trim().is_empty() && !l.starts_with('#'));
    let names: Vec<&str> = lines.next().map_or(Vec::new(), |(_, l)| l.split(',').map(str::trim).collect());
    let mut places = [0; 8];
    for (place, column) in places.iter_mut().zip(COLUMNS) {
        *place = names.iter().position(|n| *n == column).ok_or(HullTableError::Column(column))?;
    }
    let hull = wigley(WIGLEY, FINE);
    let upright = hull.afloat(0.0, 0.0, 0.0).volume;
    let mut cases = Vec::new();
    for (at, text) in lines {
        let cells: Vec<&str> = text.split(',').map(str::trim).collect();
        let mut row = [0.0; 8];
        for ((value, column), place) in row.iter_mut().zip(COLUMNS).zip(places) {
            let found = cells.get(place).copied().unwrap_or("");
            *value = found.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| HullTableError::Number {
                line: at + 1,
                column,
                found: found.to_owned(),
            })?;
        }
        let [heel, table @ ..] = row;
        cases.push(HullCase { line: at + 1, table, computed: heeled(&hull, heel * DEGREE, upright) });
    }
    if cases.is_empty() { Err(HullTableError::Empty) } else { Ok(cases) }
}

/// The table's seven figures at a heel. The table's y points to windward and heights count from the origin, not the water.
fn heeled(hull: &HullForm, heel: f64, volume: f64) -> Option<[f64; 7]> {
    if heel.abs() >= FRAC_PI_2 {
        return None;
    }
    let fixed = hull.afloat(heel, 0.0, 0.0);
    let (mut low, mut high) = (-WIGLEY[2], WIGLEY[3]);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if hull.afloat(heel, mid, 0.0).volume < volume { low = mid } else { high = mid }
    }
    let level = 0.5 * (low + high);
    let kept = hull.afloat(heel, level, 0.0);
    let arm = kept.centre[1] - WEIGHT_HEIGHT * heel.sin();
    Some([fixed.volume, -fixed.centre[1], fixed.centre[2], level, -kept.centre[1], kept.centre[2] + level, arm])
}
