//! An outing with everything known about it.

use crate::chance::Chance;
use crate::helm::{Sailed, sail};
use crate::kind::Kind;
use crate::plan::{CourseMark, plan};
use crate::polar::Polar;
use crate::recorder::{Recorder, recorders};
use crate::truth::{Leg, Lineup, Manoeuvre, Rounding, legs, lineups, manoeuvres, roundings};
use crate::wind::{Field, Wind};
use measure::angle::{DEGREE, wrap};
use measure::{LocalPlane, Position};

/// What a boat is busy with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doing {
    /// Under way under sail.
    Sailing,
    /// Luffing, waiting, ashore.
    Waiting,
    /// Upside down.
    Capsized,
    /// Behind the coach boat.
    Towed,
}

/// The truth about one boat at one whole second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Seconds since 1970-01-01T00:00:00 UTC.
    pub time: f64,
    /// East of the outing's origin, m.
    pub x: f64,
    /// North of the outing's origin, m.
    pub y: f64,
    /// Velocity over the ground, m/s east and north.
    pub over_ground: [f64; 2],
    /// Velocity through the water, m/s east and north.
    pub over_water: [f64; 2],
    /// The wind at the boat over the ground.
    pub wind_ground: Wind,
    /// The wind at the boat over the water, which is what she sails in.
    pub wind_water: Wind,
    /// What she is busy with.
    pub doing: Doing,
}

impl State {
    /// Speed through the water, m/s.
    #[must_use]
    pub fn speed(&self) -> f64 {
        self.over_water[0].hypot(self.over_water[1])
    }
    /// True wind angle to the track through the water, degrees in (-180, 180], positive with the wind from starboard.
    #[must_use]
    pub fn wind_angle(&self) -> f64 {
        wrap(self.wind_water.from * DEGREE - self.over_water[0].atan2(self.over_water[1])) / DEGREE
    }
    /// Speed made good upwind through the water, m/s.
    #[must_use]
    pub fn made_good(&self) -> f64 {
        self.speed() * (self.wind_angle() * DEGREE).cos()
    }
}

/// An outing with known truth. All directions are degrees true, all speeds m/s, all times UTC seconds.
#[derive(Debug, Clone)]
pub struct Outing {
    /// Its kind.
    pub kind: Kind,
    /// Its seed.
    pub seed: u64,
    /// Where x and y start from.
    pub origin: Position,
    /// True time of the first state, a whole second.
    pub start: f64,
    /// The polar of an average boat of the fleet, for the estimators: no boat sails exactly by it.
    pub polar: Polar,
    /// True states, one each second, for each boat.
    pub states: Vec<Vec<State>>,
    /// What each boat's recorder wrote, with its faults; in the order of `states`.
    pub recorders: Vec<Recorder>,
    /// True legs of each boat.
    pub legs: Vec<Vec<Leg>>,
    /// True tacks and gybes of each boat.
    pub manoeuvres: Vec<Vec<Manoeuvre>>,
    /// True roundings of each boat.
    pub roundings: Vec<Vec<Rounding>>,
    /// The buoys.
    pub course_marks: Vec<CourseMark>,
    /// The line-ups.
    pub lineups: Vec<Lineup>,
    /// What the setting under trial adds to the boat speed that carries it, as a share.
    pub setting_effect: f64,
    /// The current (m/s east, north) each second.
    pub current: Vec<[f64; 2]>,
    /// The mean wind over the ground at the boats' places each second (vector mean).
    pub wind: Vec<Wind>,
}

impl Outing {
    /// The plane that x and y lie in.
    #[must_use]
    pub fn plane(&self) -> LocalPlane {
        LocalPlane::at(self.origin)
    }
    /// A course mark's position.
    #[must_use]
    pub fn mark_position(&self, mark: &CourseMark) -> Position {
        self.plane().position(mark.x, mark.y)
    }
}

/// The invented day the outings are dated on: 2026-06-13T12:00:00 UTC.
const DAY: f64 = 1_781_352_000.0;

/// Sails an outing of a kind. The same kind and seed always give the same outing.
#[must_use]
pub fn outing(kind: Kind, seed: u64) -> Outing {
    outing_in(kind, seed, Polar::pram())
}

/// The same in boats of other speeds.
#[must_use]
pub fn outing_in(kind: Kind, seed: u64, polar: Polar) -> Outing {
    let setting = kind.setting();
    let number = Kind::ALL.iter().position(|k| *k == kind).unwrap_or(0) as u64;
    let seed_of_all = seed.wrapping_mul(64).wrapping_add(number);
    let mut chance = Chance::new(seed_of_all, 0);
    let mean = chance.between(0.0, core::f64::consts::TAU);
    let start = DAY + (chance.between(0.0, 30.0).floor()) * 86_400.0 + chance.between(0.0, 9000.0).floor();
    let origin = Position::degrees(chance.between(36.0, 58.0), chance.between(-9.0, 19.0)).unwrap_or_default();
    let field = Field::new(&setting.weather, mean, setting.seconds, &mut Chance::new(seed_of_all, 1));
    let plan = plan(&setting, mean, &mut Chance::new(seed_of_all, 2));
    // About what a trial of a setting can hope to find: one to four per cent.
    let setting_effect = if plan.passes.iter().any(|p| p.carries.is_some()) { chance.normal(0.0, 0.025) } else { 0.0 };
    let Sailed { states, sailors, passed } = sail(&setting, &plan, &field, &polar, setting_effect, seed_of_all, start);
    let current = (0..setting.seconds).map(|s| field.current(s as f64)).collect();
    let wind = (0..setting.seconds)
        .map(|s| {
            let n = states.len() as f64;
            let v = states.iter().fold([0.0, 0.0], |v, b| {
                let w = b[s].wind_ground.vector();
                [v[0] + w[0] / n, v[1] + w[1] / n]
            });
            Wind::blowing(v[0], v[1])
        })
        .collect();
    let legs: Vec<Vec<Leg>> = states.iter().map(|s| legs(s)).collect();
    let manoeuvres = states.iter().zip(&sailors).map(|(s, sailor)| manoeuvres(s, &polar, sailor)).collect();
    let roundings =
        (0..states.len()).map(|b| roundings(&states[b], &plan.marks, passed.iter().filter(|p| p.0 == b).map(|p| (p.1, p.2)))).collect();
    let lineups = lineups(&plan.passes, &states);
    let recorders = recorders(setting.faults, &states, origin, &mut Chance::new(seed_of_all, 3));
    Outing {
        kind,
        seed,
        origin,
        start,
        polar,
        states,
        recorders,
        legs,
        manoeuvres,
        roundings,
        course_marks: plan.marks,
        lineups,
        setting_effect,
        current,
        wind,
    }
}
