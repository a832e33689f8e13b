//! What is not known of a class's beat: a coarse chart, solved anew by every sample of the model's constants. One tack serves both:
//! a board on the other side moves the best values, hardly how far they may be off.

use boat::balance::{Boat, Tack};
use boat::chart::Chart;
use boat::crew::{Sailor, Skill};
use boat::setup::{Leg, Request, Setting};
use boat::spread::{SAMPLES, SEED, boats};
use measure::WindProfile;
use serde::{Deserialize, Serialize};

use crate::day::Day;

/// Whom the chart asks for a usual sailor; her mass is put in by the chart, kg.
const ANYBODY: f64 = 40.0;

/// The doubts of a beat over sailors and winds.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Doubts(Chart);

impl Doubts {
    /// For the usual sailors of some masses (kg) in some winds; `step` is told of each solved, and stops it by false: then `None`.
    #[must_use]
    pub fn solved(boat: &Boat, day: &Day, masses: &[f64], winds: &[WindProfile], step: &(impl Fn() -> bool + Sync)) -> Option<Self> {
        let boats = boats(boat, SAMPLES, SEED);
        let request = Request {
            boat,
            sailor: Sailor::of(ANYBODY, Skill::default()),
            conditions: day.conditions(1.0, Tack::Starboard),
            gusts: day.gusts,
            reach: None,
            bands: true,
        };
        Chart::spread(&request, Skill::default(), &[Leg::Beat], masses, winds, &boats, step).map(Self)
    }

    /// By the sailor in the middle of some.
    #[must_use]
    pub fn of_squad<'a>(
        sailors: impl Iterator<Item = &'a Sailor>,
        boat: &Boat,
        day: &Day,
        winds: &[WindProfile],
        step: &(impl Fn() -> bool + Sync),
    ) -> Option<Self> {
        let mut lean: Vec<f64> = sailors.map(|sailor| sailor.as_usual(&boat.constants)).collect();
        lean.sort_by(f64::total_cmp);
        let middle: Vec<f64> = lean.get(lean.len() / 2).copied().into_iter().collect();
        Self::solved(boat, day, &middle, winds, step)
    }

    /// Gives a solved beat its doubts; where there are none near by it keeps without.
    pub fn lend(&self, request: &Request<'_>, beat: &mut [Setting]) {
        let mass = request.sailor.as_usual(&request.boat.constants);
        if let Ok(like) = self.0.at(Leg::Beat, mass, request.conditions.wind.at_meter) {
            request.lend(beat, Leg::Beat, &like);
        }
    }
}
