//! What the program prints and draws: plain documents in a reader's words, and the renderers that show them.

pub mod briefing;
pub mod cards;
pub mod day;
pub mod door;
pub mod drawing;
pub mod given;
pub mod lines;
pub mod long;
pub mod outing;
pub mod pages;
pub mod race_day;
pub mod words;
