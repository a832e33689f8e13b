//! Setups given: what a card told a sailor is kept with the day, so that the coach can see later what changed.

use std::collections::BTreeMap;

use boat::gauge::Gauge;
use squad::fact::day::Day as DayFact;
use squad::fact::setup::SetupGiven;
use squad::{Id, Moment, SquadError, Store, Writer};

use crate::day::Day;

/// A setup as a card has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// To whom, by label.
    pub sailor: String,
    /// On which boat, by label.
    pub boat: String,
    /// How to sit, in words.
    pub sit: String,
    /// The settings as forecast, SI by gauge.
    pub settings: BTreeMap<Gauge, f64>,
}

/// Keeps the setups of a day's cards, each once however often it is printed. Gives how many were new.
///
/// # Errors
/// When the store cannot be read or written.
pub fn keep(store: &mut Store, of: Id<DayFact>, day: &Day, given: &[Given], writer: &Writer) -> Result<usize, SquadError> {
    let mut new = 0;
    for one in given {
        let (Some(sailor), Some(boat)) = (store.sailor_labelled(&one.sailor)?, store.boat_labelled(&one.boat)?) else { continue };
        let fact = SetupGiven {
            day: of,
            sailor: sailor.id,
            boat: boat.id,
            at: Moment::now(),
            leg: "beat".to_owned(),
            sit: one.sit.clone(),
            wind_ms: day.given,
            height_m: day.height,
            settings: one.settings.clone(),
        };
        // The store keeps a number to 15 digits: what was given is compared as a tape tells it.
        let told = |s: &SetupGiven| {
            (s.boat, s.sit.clone(), tenths(s.wind_ms), s.settings.iter().map(|(g, v)| (*g, tenths(*v * 100.0))).collect::<Vec<_>>())
        };
        let last = store.setups_given_to(sailor.id)?.into_iter().rfind(|s| s.fact.day == of);
        if last.is_none_or(|last| told(&last.fact) != told(&fact)) {
            store.add(&fact, writer)?;
            new += 1;
        }
    }
    Ok(new)
}

/// Tenths, whole.
fn tenths(value: f64) -> i64 {
    (value * 10.0).round() as i64
}
