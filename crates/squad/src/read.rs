//! Reads a squad file: TOML, or CSV with the same names as columns; which one is told by content.
//!
//! Names: `sailor, boat, class, mass, stature, hand_length, skill, sail, hull_weight, water_found, boom_end_dock_1,
//! mast_notch_1, boom_end_dock_2, mast_notch_2`, and `base.GAUGE` (what the coach trusts) and `rigged.GAUGE` (what the tape
//! said) for each gauge. Every number has its unit. In TOML each sailor is a table of an array, `[[sailor]]`. What is not known here is left out with a reason; what cannot be right stops the file,
//! with every fault told at once.

mod cells;
mod crew;

use measure::{Warned, Warning};

use crate::error::{Fault, SquadError};
use crate::squad::Squad;

/// The most sailors a file may hold. Assumed: ten clubs.
const MOST_SAILORS: usize = 1000;

/// One cell: its name, what stands in it, its line.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Cell {
    name: String,
    text: String,
    line: usize,
}

/// One sailor's cells; those without text are left out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Row {
    line: usize,
    cells: Vec<Cell>,
}

impl Row {
    fn cell(&self, name: &str) -> Option<&Cell> {
        self.cells.iter().find(|cell| cell.name == name)
    }
}

/// The squad of a file. `name` is for messages.
///
/// # Errors
/// When it is empty, no text, no squad file, or says what cannot be right: a mass outside 20 to 110 kg, two sailors in one
/// boat, a length no child has. No message holds a mass.
pub fn read(name: &str, bytes: &[u8]) -> Result<Warned<Squad>, SquadError> {
    let file = || name.to_owned();
    let not_text = |why: String| SquadError::NotText { file: file(), why };
    let text = &crate::text::of(bytes).map_err(not_text)?;
    if text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t')) {
        return Err(not_text("it is not text; a squad file is TOML or CSV, saved as UTF-8".to_owned()));
    }
    let unreadable = |fault: Fault| SquadError::Unreadable { file: file(), line: fault.line, what: fault.what };
    let rows = if cells::looks_like_toml(text) { cells::toml(text) } else { cells::csv(text) }.map_err(unreadable)?;
    if rows.is_empty() {
        return Err(SquadError::Empty { file: file() });
    }
    if rows.len() > MOST_SAILORS {
        let what = format!("more than {MOST_SAILORS} sailors: split the file by club");
        return Err(SquadError::Unreadable { file: file(), line: rows[MOST_SAILORS].line, what });
    }
    let mut faults = Vec::new();
    let mut left_out = Vec::new();
    let crews = rows.iter().filter_map(|row| crew::crew(row, &mut faults, &mut left_out)).collect();
    crew::twice(&rows, &mut faults);
    if !faults.is_empty() {
        faults.sort_by_key(|fault| fault.line);
        return Err(SquadError::Faults { file: file(), faults });
    }
    let warnings = left_out.into_iter().map(|fault| Warning::new(format!("{name}, line {}", fault.line), fault.what)).collect();
    Ok(Warned::new(Squad { crews }, warnings))
}

#[cfg(test)]
mod tests;
