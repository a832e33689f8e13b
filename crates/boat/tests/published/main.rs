//! Court of published figures: tables and numbers that others measured or computed.

#[path = "../pram/mod.rs"]
mod pram;
mod sail;
