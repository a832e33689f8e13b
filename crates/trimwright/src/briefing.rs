//! Plain documents in the reader's words. A renderer shows them and computes nothing.

pub mod ashore;
pub mod card;
pub mod day;
pub mod debrief;
pub mod doubts;
pub mod quiz;
pub mod race_day;
pub mod solved;
pub mod what_if;
