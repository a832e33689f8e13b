//! Court of published figures: tables and numbers that others measured or computed.

mod afloat;
mod foil;
mod hull;
mod people;
#[path = "../pram/mod.rs"]
mod pram;
mod sail;
