//! Court of closed forms: answers known exactly.

mod hull;
#[path = "../pram/mod.rs"]
mod pram;
mod sail;
