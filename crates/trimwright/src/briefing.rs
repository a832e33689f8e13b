//! Plain documents in the reader's words. A renderer shows them and computes nothing.

pub mod around;
pub mod ashore;
pub mod beside;
pub mod card;
pub mod day;
pub mod debrief;
pub mod doubts;
pub mod drills;
pub mod legs;
pub mod quiz;
pub mod race_day;
pub mod results;
pub mod season;
pub mod seen;
pub mod solved;
pub mod tally;
pub mod what_if;
