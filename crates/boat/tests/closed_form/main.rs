//! Court of closed forms: answers known exactly.

#[path = "../pram/mod.rs"]
mod pram;
mod sail;
