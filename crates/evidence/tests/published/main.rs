//! Against tables analysed by others. Each table carries its source on its first line.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod effect;
mod mixed;
