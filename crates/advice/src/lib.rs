//! What a person should do: dock verdicts, cautions, the day's list.

pub mod keep;
