//! What a person should do about it: dock verdicts, the mast's notches, weight, cautions, what a card
//! prints for a boat.
//!
//! Everything here is pure: values in, values and plain sentences out. A sentence says what to move and which way, what it
//! costs, and who decides; none says that it is safe to sail, and none holds the mass of a child.

pub mod caution;
pub mod checklist;
pub mod dock;
mod error;
pub mod keep;
pub mod own;
pub mod quiz;
pub mod rake;
pub mod weight;

pub use error::AdviceError;
