//! What stops a squad file or the store, in words for a coach: what, where, what to do. No message holds a mass.

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

/// Why a squad file or the store cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SquadError {
    /// Nothing is in it.
    #[error("{file}: there is no sailor in it; write a line for each, with sailor, boat and mass")]
    Empty {
        /// The file's name.
        file: String,
    },
    /// It is not text.
    #[error("{file}: {why}")]
    NotText {
        /// The file's name.
        file: String,
        /// What it is instead, where, and what to do.
        why: String,
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
    /// There is no store in the folder.
    #[error("{place}: there is no squad kept here; check the folder, or bring one in with: trimwright import FILE --store {place}")]
    NoStore {
        /// The folder.
        place: String,
    },
    /// The file is another program's.
    #[error("{place}: this is no squad's store, so it was left alone; check the folder")]
    NotAStore {
        /// The file.
        place: String,
    },
    /// Another program holds the store.
    #[error("{place}: another program is writing to it; wait a moment, or close the other one, and try again; nothing was changed")]
    Locked {
        /// The file.
        place: String,
    },
    /// A thread that holds the store asks for it: a fault of the program's own.
    #[error(
        "the page asked for the squad twice at once, which is a fault of this program; nothing more was written: tell who keeps it what you did"
    )]
    HeldAlready,
    /// The store may not be written.
    #[error("{place}: it may be read but not written, so nothing was changed; {}", offered(backup.as_deref(), "check whose folder it is, or work on a copy"))]
    ReadOnly {
        /// The file.
        place: String,
        /// The last backup.
        backup: Option<String>,
    },
    /// The disk is full.
    #[error("{place}: the disk is full; what was not yet written was left out, and what stood there still does; make room and try again")]
    Full {
        /// The file.
        place: String,
    },
    /// A newer version of the program wrote it.
    #[error(
        "{place}: a newer version of this program wrote it (schema {found}, this one knows {known}), so nothing was changed; \
         take the newer version; {}",
        offered(backup.as_deref(), "there is no backup from before")
    )]
    Newer {
        /// The file.
        place: String,
        /// Its schema.
        found: i64,
        /// The newest schema known here.
        known: i64,
        /// The last backup.
        backup: Option<String>,
    },
    /// It is damaged.
    #[error(
        "{place}: the store is damaged, and nothing was changed; copy the folder aside first; {}",
        offered(backup.as_deref(), "there is no backup: bring in an archive, or another coach's store")
    )]
    Damaged {
        /// The file.
        place: String,
        /// The last backup.
        backup: Option<String>,
    },
    /// A fact that cannot be right.
    #[error("{what}; nothing was written")]
    Refused {
        /// What, and what would do.
        what: String,
    },
    /// A fact that is not there.
    #[error("{what}")]
    Absent {
        /// What was looked for.
        what: String,
    },
    /// An archive that cannot be read.
    #[error("{file}: {what}; nothing was brought in")]
    Archive {
        /// The file.
        file: String,
        /// What was found.
        what: String,
    },
    /// Anything else that the disk or the store said.
    #[error("{what}")]
    Store {
        /// What.
        what: String,
    },
}

/// The last backup, and how to take it; else other words.
fn offered(backup: Option<&str>, otherwise: &str) -> String {
    match backup {
        Some(backup) => format!("the last backup is {backup}: take it with: trimwright import {backup} --store NEW_FOLDER"),
        None => otherwise.to_owned(),
    }
}

/// One line for each fault.
fn lines(file: &str, faults: &[Fault]) -> String {
    faults.iter().map(|fault| format!("{file}, {fault}")).collect::<Vec<_>>().join("\n")
}
