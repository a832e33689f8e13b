//! Sailors in their boats, as the coach wrote them down.

use std::collections::BTreeMap;

use boat::crew::{Sailor, usual_stature};
use boat::gauge::Gauge;
use measure::{Length, Mass};

/// Hand length, wrist crease to fingertip, over stature.
///
/// Source: hands of boys of 10, 12 and 14 years, 150, 163 and 180 mm (Snyder and others 1977, from memory), over the median
/// statures of the CDC 2000 growth charts, 138.6, 149.1 and 163.8 cm: 0.108, 0.109 and 0.110.
pub const HAND_PER_STATURE: f64 = 0.109;

/// The sailors and boats of one coach, in the order of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Squad {
    /// Each sailor in a boat.
    pub crews: Vec<Crew>,
}

/// One sailor in one boat.
#[derive(Debug, Clone, PartialEq)]
pub struct Crew {
    /// The sailor.
    pub sailor: SquadSailor,
    /// The boat.
    pub boat: SquadBoat,
}

/// What is known of a sailor.
#[derive(Debug, Clone, PartialEq)]
pub struct SquadSailor {
    /// What the coach calls the sailor.
    pub label: String,
    /// Mass, stature and skill. The stature is [`usual_stature`] of the mass where the file gives none.
    pub body: Sailor,
    /// Hand from the wrist crease to the fingertip; [`HAND_PER_STATURE`] of the stature where the file gives none.
    pub hand: Length,
    /// Which of the class's sails, if not the usual one.
    pub sail: Option<String>,
}

/// What is known of a boat.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SquadBoat {
    /// What is painted on it.
    pub label: String,
    /// Its class, where the file names one.
    pub class: Option<String>,
    /// What the hull weighed.
    pub hull_mass: Option<Mass>,
    /// Water found in it at the weigh-in.
    pub water_found: Option<Mass>,
    /// Boom-end heights at two mast notches: from then on everything is in this boat's notches.
    pub boom_end: Option<[BoomEndReading; 2]>,
    /// What this boat's coach trusts today, SI by gauge.
    pub base: BTreeMap<Gauge, f64>,
    /// What the tape said on this boat as she was rigged, SI by gauge.
    pub rigged: BTreeMap<Gauge, f64>,
}

/// The boom end measured at the dock at one position of the mast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoomEndReading {
    /// The mast's notch, counted from forward.
    pub notch: u32,
    /// Height of the boom end over the transom.
    pub height: Length,
}

/// The hand of a sailor of a stature.
pub(crate) fn usual_hand(stature: f64) -> Length {
    Length::metres(HAND_PER_STATURE * stature)
}

/// The stature of a sailor of a mass, m.
pub(crate) fn stature_of(mass: Mass) -> f64 {
    usual_stature(mass.in_kilograms())
}
