//! What a control does with everything else held: solved by the model's own constants and by samples of them, so that its sign is
//! asked only where it is clear.

use boat::balance::{Boat, Case, Control, Controls};
use boat::gauge::Gauge;
use boat::optimum::Trimmed;
use boat::sail::{STRIPS, SailState};
use boat::setup::{COST_LEG, Leg, LegSetup, Request, Sit};
use measure::Outcome;
use measure::angle::DEGREE;
use rayon::prelude::*;

use super::curve::{CLEARLY, Cost};
use super::{Pointed, Rests, Seen, Wanted};

/// Samples of the constants: enough for a standard deviation to a quarter of itself.
pub const SAMPLES: usize = 8;
/// Fewer that solve tell nothing.
const LEAST: usize = 6;
/// Standard deviations that hold 19 in 20 of a normal spread.
const NINETEEN: f64 = 1.96;

/// What a control does to one thing the sailor sees or feels. In small boats the pull on the tiller moves by less than a newton with
/// board, mast and heel, and the rudder by a degree or two: the model has a sign, and nobody a hand that feels it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// The question's words.
    pub name: &'static str,
    /// Its picture.
    pub picture: Wanted,
    /// How much more of it there is, in its unit.
    pub value: f64,
    /// What is not known of that, 19 in 20.
    pub doubt: f64,
    /// Less than this nobody notices.
    pub least: f64,
    /// Whether it grows by common practice.
    pub practice: bool,
}

impl Effect {
    /// Whether its sign is clear, and anybody would notice.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.value.abs() >= self.least && self.is_signed()
    }

    /// Whether its sign is clear, noticed or not.
    fn is_signed(&self) -> bool {
        self.value.abs() > CLEARLY * self.doubt
    }

    /// Whether there is more of it, and what says so: the model where it is clear and anybody would notice; common practice where the
    /// model is not clear, or clear for too little to be noticed. What the model speaks against is not told.
    #[must_use]
    pub fn told(&self) -> Option<(bool, Rests)> {
        let more = self.value > 0.0;
        if self.is_clear() {
            return Some((more, Rests::Model));
        }
        (!self.is_signed() || more == self.practice).then_some((self.practice, Rests::Practice))
    }
}

/// What a sailor sees or feels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Felt {
    /// How far the top of the sail opens, rad.
    Twist,
    /// How deep the sail is at half its height, share of the chord.
    Depth,
    /// How deep the luff's wrinkles are, m.
    Wrinkles,
    /// Pull on the tiller, N.
    Pull,
    /// How far out the sailor must be, m.
    Out,
}

/// A control moved, and what is looked at.
struct Moved {
    name: &'static str,
    picture: Wanted,
    gauge: Gauge,
    control: Control,
    by: f64,
    felt: Felt,
    least: f64,
    practice: bool,
}

/// The questions' names.
pub(super) const NAMES: [&str; 7] = ["cause_vang", "cause_gap", "cause_downhaul", "cause_board", "cause_mast", "cause_heel", "cause_car"];

/// What is noticed: two degrees at the top batten, a fiftieth of the chord in depth, two millimetres of scallop, three newtons at the
/// tiller, five centimetres of body. Assumed. Which way each goes by common practice has no source.
const MOVED: [Moved; 7] = [
    Moved {
        name: NAMES[0],
        picture: Wanted::Pointed(Pointed::Vang),
        gauge: Gauge::VangLine,
        control: Control::Vang,
        by: 60.0,
        felt: Felt::Twist,
        least: 2.0 * DEGREE,
        practice: false,
    },
    Moved {
        name: NAMES[1],
        picture: Wanted::Pointed(Pointed::Outhaul),
        gauge: Gauge::SailBoomGap,
        control: Control::Gap,
        by: 0.06,
        felt: Felt::Depth,
        least: 0.01,
        practice: true,
    },
    Moved {
        name: NAMES[2],
        picture: Wanted::Sail(Seen::LuffWrinkles),
        gauge: Gauge::DownhaulLine,
        control: Control::Downhaul,
        by: 40.0,
        felt: Felt::Wrinkles,
        least: 0.002,
        practice: false,
    },
    Moved {
        name: NAMES[3],
        picture: Wanted::Pointed(Pointed::Board),
        gauge: Gauge::BoardAngle,
        control: Control::Board,
        by: -15.0 * DEGREE,
        felt: Felt::Pull,
        least: 3.0,
        practice: false,
    },
    Moved {
        name: NAMES[4],
        picture: Wanted::Pointed(Pointed::Mast),
        gauge: Gauge::BoomEndDock,
        control: Control::Rake,
        by: 3.0 * DEGREE,
        felt: Felt::Pull,
        least: 3.0,
        practice: true,
    },
    Moved {
        name: NAMES[5],
        picture: Wanted::Heeled,
        gauge: Gauge::Heel,
        control: Control::Heel,
        by: 12.0 * DEGREE,
        felt: Felt::Pull,
        least: 3.0,
        practice: true,
    },
    Moved {
        name: NAMES[6],
        picture: Wanted::Sitting(Sit::OnTheSide),
        gauge: Gauge::CarOffset,
        control: Control::Car,
        by: 0.15,
        felt: Felt::Out,
        least: 0.05,
        practice: false,
    },
];

impl Felt {
    fn of(self, at: &Trimmed, boat: &Boat) -> f64 {
        let sail = SailState::from_row(&core::array::from_fn(|k| at.state.0[k]));
        match self {
            Self::Twist => sail.twist[STRIPS - 1],
            Self::Depth => at.whole.sail.strips[STRIPS / 2].camber,
            Self::Wrinkles => at.whole.sail.wrinkle,
            Self::Pull => at.whole.rudder.tiller_load(&boat.constants),
            Self::Out => at.whole.hike,
        }
    }
}

fn solved_at(request: &Request<'_>, boat: &Boat, controls: &Controls, near: &Trimmed) -> Option<Trimmed> {
    let case = Case { boat, sailor: request.sailor, conditions: request.conditions };
    match case.solve(controls, Some(&near.state)) {
        Outcome::Solved((state, whole)) => Some(Trimmed { controls: *controls, state, whole }),
        Outcome::Status(_) => None,
    }
}

/// A value by the model's own constants, with 19 in 20 of what samples of them say.
fn spread(own: f64, samples: &[f64]) -> Option<f64> {
    if samples.len() < LEAST {
        return None;
    }
    let mean_square = samples.iter().map(|s| (s - own).powi(2)).sum::<f64>() / samples.len() as f64;
    Some(NINETEEN * mean_square.sqrt())
}

/// What each control of this boat does, moved from her best beat; all else is held.
pub(super) fn solved(request: &Request<'_>, beat: &LegSetup, boats: &[Boat]) -> Vec<Effect> {
    let effect = |moved: &Moved| -> Option<Effect> {
        let boat = request.boat;
        boat.class.gauges.iter().any(|g| g.gauge == moved.gauge).then_some(())?;
        let before = beat.mean();
        let mut after = before.controls;
        after[moved.control.index()] += moved.by;
        let change = |boat: &Boat| -> Option<f64> {
            let from = solved_at(request, boat, &before.controls, before)?;
            let to = solved_at(request, boat, &after, &from)?;
            Some(moved.felt.of(&to, boat) - moved.felt.of(&from, boat))
        };
        let value = change(boat)?;
        let samples: Vec<f64> = boats.iter().filter_map(change).collect();
        let doubt = spread(value, &samples)?;
        Some(Effect { name: moved.name, picture: moved.picture, value, doubt, least: moved.least, practice: moved.practice })
    };
    MOVED.par_iter().filter_map(effect).collect()
}

/// What a change of the boat or of her settings costs on a beat, boat lengths of [`COST_LEG`]: course and boom trimmed anew.
pub(super) fn lost(
    request: &Request<'_>,
    beat: &LegSetup,
    boats: &[Boat],
    change: impl Fn(&mut Boat, &mut Controls) + Sync,
) -> Option<Cost> {
    let lost = |boat: &Boat| -> Option<f64> {
        let (mut other, mut set) = (boat.clone(), beat.mean().controls);
        change(&mut other, &mut set);
        let made = |boat: &Boat, set: &Controls, near: &Trimmed| request_of(request, boat).trimmed(Leg::Beat, set, Some(near)).ok();
        let own = made(boat, &beat.mean().controls, beat.mean())?.0;
        let changed = made(&other, &set, &own)?.0;
        Some(COST_LEG * (1.0 - changed.whole.made_good / own.whole.made_good) / boat.class.hull.length)
    };
    let value = lost(request.boat)?;
    let samples: Vec<f64> = boats.par_iter().filter_map(lost).collect();
    let doubt = spread(value, &samples)?;
    Some(Cost { low: value - doubt, value, high: value + doubt })
}

fn request_of<'a>(request: &Request<'a>, boat: &'a Boat) -> Request<'a> {
    Request { boat, ..*request }
}
