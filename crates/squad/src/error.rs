//! What stops a squad file, in words for a coach: what, where, what to do.

use core::fmt;

/// One thing wrong in a squad file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Line of the file, from 1.
    pub line: usize,
    /// What was found and what would do.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

/// Why a squad file cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SquadError {
    /// Nothing is in it.
    #[error("{file}: there is no sailor in it; write a line for each, with sailor, boat and mass")]
    Empty {
        /// The file's name.
        file: String,
    },
    /// It is not text.
    #[error("{file}: it is not text; a squad file is TOML or CSV, saved as UTF-8")]
    NotText {
        /// The file's name.
        file: String,
    },
    /// It is text of another kind.
    #[error("{file}, line {line}: {what}")]
    Unreadable {
        /// The file's name.
        file: String,
        /// Line, from 1.
        line: usize,
        /// What was found and what would do.
        what: String,
    },
    /// Some of what it says cannot be right. All of it is told at once.
    #[error("{}", lines(file, faults))]
    Faults {
        /// The file's name.
        file: String,
        /// What is wrong, by line.
        faults: Vec<Fault>,
    },
}

/// One line for each fault.
fn lines(file: &str, faults: &[Fault]) -> String {
    faults.iter().map(|fault| format!("{file}, {fault}")).collect::<Vec<_>>().join("\n")
}
