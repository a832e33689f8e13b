//! Court of properties: what must hold for any input.

#[path = "../pram/mod.rs"]
mod pram;
mod sail;
