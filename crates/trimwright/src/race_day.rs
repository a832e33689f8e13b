//! A race day: a course, a wind, a current and a boat to what is sailed; the same for the command, the page and the sheet.
//!
//! [`found::Found`] is all of it as plain values of the domain; [`words`] say it to a reader; [`control`] is what hands do round a course mark.

pub mod boat;
pub mod control;
pub mod deeds;
pub mod found;
pub mod laid;
pub mod stops;
pub mod wind;
pub mod words;
