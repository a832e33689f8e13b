//! The squad: sailors, boats and the facts a coach writes down about them.
//!
//! A squad file comes in as bytes ([`read()`]) and goes out as a [`Squad`]. Children's names and masses are known here and to
//! the program alone; no message of this crate holds a mass, so that one read aloud at the boat park tells nothing.

mod error;
mod read;
mod squad;

pub use error::{Fault, SquadError};
pub use read::read;
pub use squad::{BoomEndReading, Crew, HAND_PER_STATURE, Squad, SquadBoat, SquadSailor};
