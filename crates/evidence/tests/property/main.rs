//! What holds of every plan, every table and over many simulated days.

mod lineup;
mod passes;
mod simulated;
