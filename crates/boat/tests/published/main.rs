//! Court of published figures: tables and numbers that others measured or computed.

mod afloat;
mod foil;
mod hull;
#[path = "../pram/mod.rs"]
mod pram;
mod sail;
