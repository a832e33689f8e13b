//! Court of properties: what must hold for any input.

mod balance;
mod band;
mod chart;
mod class;
mod foil;
mod handling;
mod hull;
#[path = "../pram/mod.rs"]
mod pram;
mod resistance;
mod rigs;
mod sail;
mod scalar;
mod spread;
mod turn;
