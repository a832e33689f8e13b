//! What holds of every plan, every table and over many simulated days.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod lineup;
mod passes;
mod simulated;
