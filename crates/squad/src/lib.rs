//! The squad: sailors, boats and the facts a coach writes down about them.
//!
//! [`Store`] keeps them: facts only, whatever follows from them is computed where it is asked for. A squad file comes in as bytes
//! ([`read()`]) and goes out as a [`Squad`]; the store gives the same ([`Store::squad`]). Children's names and masses are known
//! here and to the program alone; no message of this crate holds a mass, so that one read aloud at the boat park tells nothing.

mod error;
pub mod fact;
mod id;
mod read;
mod shared;
mod squad;
mod store;
pub mod text;

pub use error::{Fault, SquadError};
pub use fact::{Edit, Fact, HiddenMass, Kept, Writer};
pub use id::{Date, Id, Moment};
pub use read::read;
pub use shared::{Held, Shared};
pub use squad::{BoomEndReading, Crew, HAND_PER_STATURE, Squad, SquadBoat, SquadSailor};
pub use store::archive::{Exported, is_archive};
pub use store::backup::{BACKUPS_KEPT, Backup};
pub use store::forget::Forgotten;
pub use store::merge::{Conflict, Merged};
pub use store::{FILE, SCHEMA, Store};
