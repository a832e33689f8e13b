//! Court of properties: what must hold for any input.

mod foil;
mod hull;
#[path = "../pram/mod.rs"]
mod pram;
mod sail;
