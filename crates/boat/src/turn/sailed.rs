//! A tack, a gybe, a bear-away and a round-up in time, with the boat's own sail, and what each loses against sailing on.
//!
//! Beat and run are solved ([`Request`]), held upright; the helm turns from the one course to the other. Sail, hull, board and rudder are
//! those of the steady model in the flow of the moment ([`crate::sail`] in agreement with itself at every step); settings go over with
//! the share of the turn, so that what is lost is lost by turning and sheeting alone ([`crate::handling`] has the other controls).
//! The sheet comes in as fast as hands haul it, the boom goes out as fast as the wind takes it, and what the sailor cannot hold is eased.
//! Where the apparent wind stands ahead of the boom the sail flogs: a flag's drag and nothing else. In a gybe the boom is pulled across
//! half way round, and the sail draws as its breadth across the wind does. Figures of hands: `data/hands.toml`.
//!
//! Fixed steps of Runge-Kutta's fourth order in which the sail's load goes on as over the last step: of second order in the step. The
//! steady model's own answer on both legs is an exact rest of the motion: the small force that is missing to it (hull drag acts at
//! another point, chop) goes along, [`Crewed::closing`] tells how small.
//!
//! Valid up to the wind in which the sailor is flat out: in more, light boats stop head to wind here, and sailors get them round by what
//! is left out. Left out: heel and what a body does with it (a roll tack), backing the sail, gusts, waves that stop a tack.

use super::Pose;
use super::motion::Turn;
use crate::balance::{Control, Status, Tack};
use crate::hands::Hands;
use crate::optimum::Trimmed;
use crate::setup::{Leg, Request};
use core::f64::consts::FRAC_PI_2;
use measure::angle::DEGREE;

/// Step, s: half of it moves no loss by more than [`ERROR`].
pub const STEP: f64 = 0.1;
/// Steps that are taken, s: a longer one is not stable.
const SHORTEST: f64 = 1e-3;
const LONGEST_STEP: f64 = 0.2;
/// What half the step moves a loss by at most, m.
pub const ERROR: f64 = 0.05;
/// Rudder of a usual turn, rad. Common practice, no source: more is a brake.
pub const RUDDER: f64 = 30.0 * DEGREE;

/// A turn from one leg to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Manoeuvre {
    /// Beat to beat, through the eye of the wind.
    Tack,
    /// Run to run, through dead astern.
    Gybe,
    /// Beat to run on the same tack.
    BearAway,
    /// Run to beat on the same tack.
    RoundUp,
}

impl Manoeuvre {
    /// All.
    pub const ALL: [Self; 4] = [Self::Tack, Self::Gybe, Self::BearAway, Self::RoundUp];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tack => "tack",
            Self::Gybe => "gybe",
            Self::BearAway => "bear-away",
            Self::RoundUp => "round-up",
        }
    }

    pub(super) const fn legs(self) -> [Leg; 2] {
        match self {
            Self::Tack => [Leg::Beat, Leg::Beat],
            Self::Gybe => [Leg::Run, Leg::Run],
            Self::BearAway => [Leg::Beat, Leg::Run],
            Self::RoundUp => [Leg::Run, Leg::Beat],
        }
    }

    pub(super) const fn changes_tack(self) -> bool {
        matches!(self, Self::Tack | Self::Gybe)
    }
}

/// Why a turn did not come about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unturned {
    /// She lost her way before she was round.
    InIrons,
    /// She was round and had not gathered way within a minute.
    Unsettled,
}

impl Unturned {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::InIrons => "she loses her way before she is round",
            Self::Unsettled => "she is round and gathers no way within a minute",
        }
    }
}

/// One moment of a turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Place and motion.
    pub pose: Pose,
    /// Rudder, rad, positive turns away from the first windward side.
    pub rudder: f64,
    /// Boom as far as the sheet lets it, rad.
    pub boom: f64,
    /// How far out the sailor must be to hold her upright, m, to the first windward side.
    pub hike: f64,
}

/// A turn in time and what it cost.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnInTime {
    /// Which.
    pub manoeuvre: Manoeuvre,
    /// Most rudder used, rad.
    pub rudder: f64,
    /// Until she was within 5 degrees of the new course with the boom on its side, s.
    pub seconds: f64,
    /// Behind a boat that turns on the spot and has her full speed at once, s.
    pub seconds_lost: f64,
    /// The same in metres made good on the new leg.
    pub metres_lost: f64,
    /// Least speed, m/s.
    pub least_speed: f64,
    /// Least radius of the path, m.
    pub radius: f64,
    /// Farthest out that holding her upright asked for, m.
    pub hike_most: f64,
    /// Moments at which the sail did not settle and stood as it last did.
    pub missed: usize,
    /// Step by step.
    pub path: Vec<Moment>,
}

/// A boat with her sailor in a wind, beat and run solved upright: ready to turn.
#[derive(Debug, Clone)]
pub struct Crewed<'a> {
    /// What was asked.
    pub request: Request<'a>,
    /// Beat on the request's tack and with the same settings on the other one.
    pub beat: [Trimmed; 2],
    /// Run likewise.
    pub run: [Trimmed; 2],
    hands: Hands,
}

/// Both tacks of a leg make good the same but for this share. Assumed.
const ALIKE: f64 = 0.1;

impl<'a> Crewed<'a> {
    /// Solves beat and run in the mean wind.
    ///
    /// # Errors
    /// The model's status where a leg has no answer, or its search was not content.
    pub fn of(request: &Request<'a>) -> Result<Self, Status> {
        let steady = Request { gusts: 1.0, bands: false, ..*request };
        let beat = steady.leg(Leg::Beat, 0.0)?;
        let run = steady.leg(Leg::Run, beat.mean().controls[Control::Rake.index()])?;
        // Turned from a leg that is not the best one, a boat would gain or lose what the search did.
        if !(beat.converged && run.converged) {
            return Err(Status::Unsettled);
        }
        Self::with(&steady, [beat.mean(), run.mean()])
    }

    /// With the settings of a beat and a run that are solved already.
    ///
    /// # Errors
    /// The model's status where one of them has no answer upright.
    pub fn with(request: &Request<'a>, [beat, run]: [&Trimmed; 2]) -> Result<Self, Status> {
        let both = |leg: Leg, known: &Trimmed| -> Result<[Trimmed; 2], Status> {
            let mut held = known.controls;
            held[Control::Heel.index()] = 0.0;
            let (own, _) = request.trimmed(leg, &held, Some(known))?;
            if !request.boat.tacks_differ() {
                return Ok([own.clone(), own]);
            }
            let mut other = *request;
            other.conditions.tack = match request.conditions.tack {
                Tack::Starboard => Tack::Port,
                Tack::Port => Tack::Starboard,
            };
            let (there, _) = other.trimmed(leg, &own.controls, Some(&own))?;
            // A board on the other side is worth a few hundredths; a tack that differs by more was lost in the search.
            let (one, two) = (own.whole.made_good, there.whole.made_good);
            if (one - two).abs() > ALIKE * one.abs().max(two.abs()) {
                return Err(Status::Unsettled);
            }
            Ok([own, there])
        };
        Ok(Self { request: *request, beat: both(Leg::Beat, beat)?, run: both(Leg::Run, run)?, hands: Hands::of(request.sailor.skill) })
    }

    /// A leg solved, on the request's tack or the other one.
    #[must_use]
    pub fn leg(&self, leg: Leg, changed: bool) -> &Trimmed {
        let both = if leg == Leg::Run { &self.run } else { &self.beat };
        &both[usize::from(changed)]
    }

    pub(super) const fn hands(&self) -> &Hands {
        &self.hands
    }

    /// The turn with the usual rudder and step.
    ///
    /// # Errors
    /// Why she did not come round.
    pub fn sail_round(&self, manoeuvre: Manoeuvre) -> Result<TurnInTime, Unturned> {
        self.sail_round_with(manoeuvre, RUDDER, STEP)
    }

    /// The turn with a rudder of at most so much, rad, in steps of so many seconds.
    ///
    /// # Errors
    /// Why she did not come round.
    pub fn sail_round_with(&self, manoeuvre: Manoeuvre, rudder: f64, step: f64) -> Result<TurnInTime, Unturned> {
        Turn::of(self, manoeuvre).sailed(rudder.abs().min(FRAC_PI_2), step.clamp(SHORTEST, LONGEST_STEP))
    }

    /// Force ahead and across, N, and moment, N m, that the motion lacks on either leg to rest as the steady model does.
    #[must_use]
    pub fn closing(&self, manoeuvre: Manoeuvre) -> [[f64; 3]; 2] {
        let turn = Turn::of(self, manoeuvre);
        [turn.from.closing, turn.to.closing].map(|[x, y, n, _]| [x, y, n])
    }
}
