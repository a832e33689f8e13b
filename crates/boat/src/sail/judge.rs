//! Runs the lifting line over a table of wings and tells how far it is from the table.
//!
//! The table has the columns `AR, taper, twist_tip_deg, alpha_deg, CL`, and `CDi` or `CDi_trefftz`, and may have `e`;
//! lines that start with `#` are comments. Wings are straight, linearly tapered and twisted, of section lift slope 2 pi.

use super::lifting_line::{Wing, WingChord, WingLoad, wing};
use core::f64::consts::{PI, TAU};
use measure::angle::DEGREE;
use thiserror::Error;

/// Stations from tip to tip.
pub const STATIONS: usize = 60;

/// Why a table cannot be judged.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WingTableError {
    /// A column is missing.
    #[error("the table has no column {0}; its first line must name AR, taper, twist_tip_deg, alpha_deg, CL and CDi")]
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
    #[error("the table holds no case: a line for each wing must follow the column names")]
    Empty,
}

/// One wing of the table and what the lifting line makes of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WingCase {
    /// Line of the table, from 1.
    pub line: usize,
    /// Lift, induced drag and efficiency of the table.
    pub table: WingLoad,
    /// The same computed; `None` when the wing has no answer.
    pub computed: Option<WingLoad>,
}

impl WingCase {
    /// Relative errors of lift and induced drag, not negative; `None` when nothing was computed.
    #[must_use]
    pub fn errors(&self) -> Option<[f64; 2]> {
        let far = |a: f64, b: f64| ((a - b) / b.abs().max(1e-12)).abs();
        self.computed.map(|c| [far(c.lift, self.table.lift), far(c.drag, self.table.drag)])
    }
}

/// Computes every wing of a table.
///
/// # Errors
/// A missing column, a cell that is no number, a table without cases.
pub fn judge_wing(csv: &str) -> Result<Vec<WingCase>, WingTableError> {
    let mut lines = csv.lines().enumerate().filter(|(_, l)| !l.trim().is_empty() && !l.starts_with('#'));
    let names: Vec<&str> = lines.next().map_or(Vec::new(), |(_, l)| l.split(',').map(str::trim).collect());
    let place = |name: &'static str| names.iter().position(|n| *n == name).ok_or(WingTableError::Column(name));
    let drag = place("CDi").or_else(|_| place("CDi_trefftz")).map_err(|_| WingTableError::Column("CDi"))?;
    let columns = [
        ("AR", place("AR")?),
        ("taper", place("taper")?),
        ("twist_tip_deg", place("twist_tip_deg")?),
        ("alpha_deg", place("alpha_deg")?),
        ("CL", place("CL")?),
        ("CDi", drag),
    ];
    let mut cases = Vec::new();
    for (at, text) in lines {
        let cells: Vec<&str> = text.split(',').map(str::trim).collect();
        let mut row = [0.0; 6];
        for (value, (column, place)) in row.iter_mut().zip(columns) {
            let found = cells.get(place).copied().unwrap_or("");
            *value = found.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| WingTableError::Number {
                line: at + 1,
                column,
                found: found.to_owned(),
            })?;
        }
        let [aspect_ratio, taper, twist, alpha, lift, drag] = row;
        let shape = Wing { aspect_ratio, chord: WingChord::Tapered(taper), twist: twist * DEGREE, slope: TAU };
        cases.push(WingCase {
            line: at + 1,
            table: WingLoad { lift, drag, efficiency: lift * lift / (PI * aspect_ratio * drag) },
            computed: if aspect_ratio > 0.0 && taper >= 0.0 { wing(&shape, alpha * DEGREE, STATIONS) } else { None },
        });
    }
    if cases.is_empty() { Err(WingTableError::Empty) } else { Ok(cases) }
}
