//! What hands do round a course mark, and when: the plan of [`boat::handling`] for a sailor in a wind, with what makes no difference.
//!
//! Beat to run and run to beat alone: a course mark between a beat and a reach has the windward one's plan, less of it. A tack's loss
//! is told only where the sailor holds her upright: in more wind the model stops light boats head to wind, and sailors do not stop there.

use boat::balance::{Control, Status};
use boat::handling::{Handling, Mark, NO_DIFFERENCE, Step, handling};
use boat::setup::{Leg, LegSetup, Request, Sit};
use boat::turn::{Crewed, Manoeuvre, QuarterTurn};

/// How far from its best time a step is looked at, s, and halvings that find where it begins to matter.
const AROUND: f64 = 20.0;
const HALVINGS: u32 = 30;

/// The plan round one course mark.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Order and times.
    pub handling: Handling,
    /// What the new leg makes good, m/s.
    pub made_good: f64,
    /// Speeds on the way in and out, m/s.
    pub speeds: [f64; 2],
}

impl Plan {
    /// Between which beginnings, s, a step loses no more than makes a difference, others as they are.
    #[must_use]
    pub fn no_difference(&self, step: &Step) -> [f64; 2] {
        let best = step.movement.lost(step.begins);
        let same = |begins: f64| self.made_good * (step.movement.lost(begins) - best) < NO_DIFFERENCE;
        [-AROUND, AROUND].map(|far| {
            if same(step.begins + far) {
                return step.begins + far;
            }
            let (mut near, mut off) = (step.begins, step.begins + far);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (near + off);
                if same(middle) { near = middle } else { off = middle }
            }
            near
        })
    }

    /// Boat lengths before the course mark at a time: after it negative.
    #[must_use]
    pub fn lengths(&self, begins: f64, boat: f64) -> f64 {
        -begins * self.speeds[usize::from(begins > 0.0)] / boat
    }
}

/// A step's control, as a child calls it.
#[must_use]
pub const fn control(step: &Step) -> &'static str {
    match step.movement.control {
        Control::Gap => "outhaul",
        Control::Boom => "sheet",
        Control::Downhaul => "downhaul",
        Control::Vang => "vang",
        Control::Board => "board",
        // Hands move no other control at a course mark.
        _ => "boat",
    }
}

/// What a step does.
#[must_use]
pub fn deed(step: &Step) -> String {
    let more = step.movement.to > step.movement.from;
    let way = match (step.movement.control, more) {
        (Control::Gap, true) => "eased",
        (Control::Board, true) => "down",
        (Control::Board, false) => "up",
        (Control::Boom, true) => "out",
        (Control::Boom | Control::Gap, false) => "in",
        (_, true) => "on",
        (_, false) => "off",
    };
    format!("{} {way}", control(step))
}

/// Why no loss of a tack is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Untold {
    /// More wind than the sailor holds upright.
    FlatOut,
    /// The model does not come round, though it should.
    NotRound,
    /// The model has no state.
    Unsolved(Status),
}

impl Untold {
    /// In words.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::FlatOut => "in this wind the model's boat stops head to wind, where sailors get theirs round".to_owned(),
            Self::NotRound => "the model's boat does not come round in this wind".to_owned(),
            Self::Unsolved(status) => format!("the model: {}", status.words()),
        }
    }
}

/// All that hands do on a lap.
#[derive(Debug, Clone)]
pub struct Hands {
    /// At the windward course mark.
    pub windward: Result<Plan, Status>,
    /// At the leeward one.
    pub leeward: Result<Plan, Status>,
    /// What a tack loses, m, and how long it takes, s.
    pub tack: Result<[f64; 2], Untold>,
    /// How she turns, where that is known.
    pub quarter_turns: Option<Vec<QuarterTurn>>,
}

impl Hands {
    /// Of a sailor in a wind whose beat was asked for.
    #[must_use]
    pub fn of(request: &Request<'_>, beat: Result<LegSetup, Status>) -> Self {
        let none =
            |status: Status| Self { windward: Err(status), leeward: Err(status), tack: Err(Untold::Unsolved(status)), quarter_turns: None };
        let flat_out = beat.as_ref().is_ok_and(|beat| beat.sit == Sit::FlatOut);
        let crewed = match beat.and_then(|beat| crewed(request, &beat)) {
            Ok(crewed) => crewed,
            Err(status) => return none(status),
        };
        let plan = |mark: Mark| -> Result<Plan, Status> {
            let [old, new] = if mark == Mark::Windward { [Leg::Beat, Leg::Run] } else { [Leg::Run, Leg::Beat] };
            let made_good = crewed.leg(new, false).whole.made_good.abs();
            let speeds = [old, new].map(|leg| crewed.leg(leg, false).whole.speed);
            Ok(Plan { handling: handling(&crewed, mark)?, made_good, speeds })
        };
        let (windward, leeward) = rayon::join(|| plan(Mark::Windward), || plan(Mark::Leeward));
        let tack = if flat_out {
            Err(Untold::FlatOut)
        } else {
            crewed.sail_round(Manoeuvre::Tack).map(|t| [t.metres_lost, t.seconds]).map_err(|_| Untold::NotRound)
        };
        Self { windward, leeward, tack, quarter_turns: Some(crewed.quarter_turns()) }
    }
}

/// The crewed boat of a beat that is solved already.
fn crewed<'a>(request: &Request<'a>, beat: &LegSetup) -> Result<Crewed<'a>, Status> {
    let run = request.leg(Leg::Run, beat.mean().controls[Control::Rake.index()])?;
    // Turned from a leg that is not the best one, a boat would gain or lose what the search did.
    if !(beat.converged && run.converged) {
        return Err(Status::Unsettled);
    }
    Crewed::with(request, [beat.mean(), run.mean()])
}
