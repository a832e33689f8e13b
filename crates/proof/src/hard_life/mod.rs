//! Hard life: the program killed at any moment, on a full disk, under a crowd of phones, with hostile bytes. Each proof starts the
//! program as anybody would, from outside, and then opens the store to see what is there.

mod content;
mod fault;
mod fuzz;
mod growth;
mod kill;
mod load;
pub(crate) mod program;
mod supply;

use std::path::Path;

use anyhow::Result;

use crate::page;

pub(crate) use fault::prove as faults;
pub(crate) use fuzz::prove as fuzz;
pub(crate) use growth::prove as growth;
pub(crate) use kill::prove as kills;
pub(crate) use load::prove as load;
pub(crate) use supply::prove as supply;

/// Writes one part of docs/hard-life.md and leaves the others.
fn write(root: &Path, name: &str, part: &str) -> Result<()> {
    const HEAD: &str = "# Hard life\n\nWhat was done to the program, and what it kept. Written by `cargo xtask prove kills`, `faults`, `load`, `growth`, `fuzz` and `supply`.\n";
    page::write(root, "hard-life.md", HEAD, name, part)
}
