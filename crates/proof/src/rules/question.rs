//! One question to the solved boat: what is held, what is trimmed anew, and the best of it; and the same along a sweep.

use boat::balance::{Boat, Case, Conditions, Control, Controls, State, Tack, Whole};
use boat::class::Lead;
use boat::crew::{Sailor, Skill};
use boat::minimise::Search;
use boat::optimum::{Aim, Choice, Limits, Node, Optimum, Plan, Trimmed, optimum};
use boat::setup::{Leg, Request, gusty};
use measure::angle::DEGREE;
use measure::fluid::air;
use measure::{Length, Speed, Temperature, WindLaw};

/// Everything a beat trims.
pub(crate) const BEAT: [Control; 8] =
    [Control::WindAngle, Control::Boom, Control::Vang, Control::Seat, Control::Car, Control::Gap, Control::Rake, Control::Board];
/// Everything a reach trims; its course is given.
const REACH: [Control; 6] = [Control::Boom, Control::Vang, Control::Seat, Control::Car, Control::Gap, Control::Board];
/// Everything the program searches on a run; heel, gap and board are given by common practice.
const RUN: [Control; 4] = [Control::WindAngle, Control::Boom, Control::Vang, Control::Seat];

const SEARCH: Search = Search { tolerance: 1e-6, evaluations: 150, radius: 1.5, curvature: 0.01 };
/// How far to leeward of the centreline the sailor can be, m: as in the program's own setups.
const LEAN_IN: f64 = 0.4;
/// Breach of a limit, in its unit, that still counts as kept.
const KEPT: f64 = 0.02;

/// A boat, a sailor, a wind and a leg; controls that are not free stay as they are in `from`.
#[derive(Debug, Clone)]
pub(crate) struct Question<'a> {
    boat: &'a Boat,
    mass: f64,
    wind: f64,
    gusts: f64,
    leg: Leg,
    /// Settings: of what is held the values, of what is free the start.
    pub(crate) from: Controls,
    free: Vec<Control>,
}

/// The best answer to a question.
#[derive(Debug, Clone)]
pub(crate) struct Best {
    /// Speed made good of the leg's aim, averaged over the winds, m/s.
    pub(crate) value: f64,
    /// Lull, mean and puff; the mean alone without gusts.
    winds: Vec<Trimmed>,
}

impl Best {
    fn mean(&self) -> &Trimmed {
        &self.winds[self.winds.len() / 2]
    }
    /// A control in the mean wind, SI.
    pub(crate) fn control(&self, control: Control) -> f64 {
        self.mean().controls[control.index()]
    }
    /// Everything about the mean wind.
    pub(crate) fn whole(&self) -> &Whole<f64> {
        &self.mean().whole
    }
    /// Its unknowns.
    pub(crate) fn state(&self) -> &State {
        &self.mean().state
    }
    /// All controls in the mean wind.
    pub(crate) fn controls(&self) -> Controls {
        self.mean().controls
    }
    /// Camber half way up the sail.
    pub(crate) fn camber(&self) -> f64 {
        let strips = &self.whole().sail.strips;
        strips[strips.len() / 2].camber
    }
}

impl<'a> Question<'a> {
    /// All that a leg trims, started from the usual setting. `course` is that of a reach, rad.
    pub(crate) fn new(boat: &'a Boat, leg: Leg, mass: f64, wind: f64, course: Option<f64>) -> Self {
        let free: &[Control] = match leg {
            Leg::Beat => &BEAT,
            Leg::Reach => &REACH,
            Leg::Run => &RUN,
        };
        let mut question = Self { boat, mass, wind, gusts: 1.0, leg, from: [0.0; boat::balance::CONTROLS], free: free.to_vec() };
        let request =
            Request { boat, sailor: question.sailor(), conditions: question.conditions(), gusts: 1.0, reach: course, bands: false };
        question.from = request.usual(leg, 0.0);
        question
    }

    /// The same in a gusty wind: 3 s gust over mean.
    pub(crate) fn gusty(mut self, gusts: f64) -> Self {
        self.gusts = gusts;
        self
    }

    /// Holds a control at a value.
    pub(crate) fn hold(mut self, control: Control, value: f64) -> Self {
        self.from[control.index()] = value;
        self.free.retain(|c| *c != control);
        self
    }

    /// Holds controls where an answer has them.
    pub(crate) fn hold_as(mut self, best: &Best, controls: &[Control]) -> Self {
        for c in controls {
            self = self.hold(*c, best.control(*c));
        }
        self
    }

    fn sailor(&self) -> Sailor {
        Sailor::of(self.mass, Skill::Races)
    }

    fn conditions(&self) -> Conditions {
        let wind = WindLaw::Open.profile(Speed::metres_per_second(self.wind), Length::metres(2.0));
        Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard }
    }

    /// The boat in the mean wind.
    pub(crate) fn case(&self) -> Case<'a> {
        Case { boat: self.boat, sailor: self.sailor(), conditions: self.conditions() }
    }

    /// How far out the sailor can stay, m.
    pub(crate) fn reach_out(&self) -> f64 {
        self.sailor().sustained_reach(&self.boat.class, &self.boat.constants)
    }

    fn limits(&self) -> Limits {
        let sheet = &self.boat.class.sheet;
        Limits { hike: self.reach_out(), lean_in: LEAN_IN, sheet: sheet.hand_limit * sheet.purchase }
    }

    /// Range in which a control is searched: the program's own.
    fn choice(&self, control: Control) -> Choice {
        let class = &self.boat.class;
        let (low, high) = match control {
            Control::WindAngle if self.leg == Leg::Run => (150.0 * DEGREE, 179.0 * DEGREE),
            Control::WindAngle => (35.0 * DEGREE, 75.0 * DEGREE),
            Control::Boom => match self.leg {
                Leg::Beat => (0.0, 45.0 * DEGREE),
                Leg::Reach => (0.0, 90.0 * DEGREE),
                Leg::Run => (45.0 * DEGREE, 95.0 * DEGREE),
            },
            Control::Car => match class.lead {
                Lead::Traveller { half_width, .. } => (0.0, half_width),
                Lead::Block { .. } => (0.0, 0.0),
            },
            Control::Gap => (0.02, 0.30),
            Control::Vang => (0.0, 300.0),
            Control::Downhaul => (0.0, 350.0),
            Control::Rake => (-2.0 * DEGREE, 5.0 * DEGREE),
            Control::Board if self.leg == Leg::Beat => (-45.0 * DEGREE, class.board.forward),
            Control::Board => (-class.board.raised, class.board.forward),
            Control::Seat => (class.sailor.aft, class.sailor.forward),
            Control::Heel => (-15.0 * DEGREE, 15.0 * DEGREE),
            Control::Ballast | Control::Sprit => (0.0, 0.0),
        };
        Choice { control, low, high }
    }

    fn plan(&self, by: [f64; 2]) -> Plan<'a> {
        let mut from = self.from;
        for (control, by) in [Control::WindAngle, Control::Boom].into_iter().zip(by) {
            if self.free.contains(&control) {
                from[control.index()] += by;
            }
        }
        let conditions = self.conditions();
        let node = |(wind, weight)| Node { case: Case { conditions: Conditions { wind, ..conditions }, ..self.case() }, weight, from };
        let (trimmed, shared) =
            self.free.iter().map(|c| self.choice(*c)).partition(|c| matches!(c.control, Control::WindAngle | Control::Boom));
        let aim = match self.leg {
            Leg::Beat => Aim::Upwind,
            Leg::Reach => Aim::Speed,
            Leg::Run => Aim::Downwind,
        };
        let winds = gusty(conditions.wind, self.gusts).into_iter().map(node).collect();
        Plan { winds, aim, given: from, shared, trimmed, limits: self.limits() }
    }

    /// The best from one start. The search is drawn a little towards the given setting; a second one from where the first ended
    /// is drawn there, so that no common practice pulls at a verdict.
    fn search(&self, mut plan: Plan<'a>, starts: &[Trimmed]) -> Option<Optimum> {
        let first = optimum(&plan, starts, &SEARCH, None).ok()?;
        plan.given = first.winds[first.winds.len() / 2].controls;
        let second = optimum(&plan, &first.winds, &SEARCH, Some(&first.curvature)).ok()?;
        (second.breach < KEPT && second.value.is_finite()).then_some(second)
    }

    /// The best from the usual start, an easier and a harder one, and from answers to questions near by. `None` where no start
    /// has an answer that keeps the limits.
    pub(crate) fn best(&self, near: &[&Best]) -> Option<Best> {
        let starts: &[[f64; 2]] = match self.leg {
            _ if !near.is_empty() => &[[0.0; 2]],
            Leg::Beat => &[[0.0; 2], [7.0 * DEGREE, 9.0 * DEGREE], [-3.0 * DEGREE, -4.0 * DEGREE]],
            Leg::Reach => &[[0.0; 2], [0.0, 6.0 * DEGREE], [0.0, 18.0 * DEGREE]],
            Leg::Run => &[[0.0; 2], [-7.0 * DEGREE, 9.0 * DEGREE], [3.0 * DEGREE, -4.0 * DEGREE]],
        };
        let cold = starts.iter().filter_map(|by| self.search(self.plan(*by), &[]));
        let warm = near.iter().filter_map(|known| self.search(self.plan([0.0; 2]), &self.moved(known)));
        let found = cold.chain(warm).max_by(|a, b| a.value.total_cmp(&b.value))?;
        Some(Best { value: found.value, winds: found.winds })
    }

    /// The free controls of an answer near by with what this question holds.
    fn moved(&self, known: &Best) -> Vec<Trimmed> {
        let with = |t: &Trimmed| {
            let mut controls = self.from;
            for c in &self.free {
                controls[c.index()] = t.controls[c.index()];
            }
            Trimmed { controls, ..t.clone() }
        };
        known.winds.iter().map(with).collect()
    }
}

/// The best of each question of a row of near ones: forwards, then backwards, each started from its neighbour as well.
pub(crate) fn along(questions: &[Question<'_>]) -> Vec<Option<Best>> {
    let mut found: Vec<Option<Best>> = Vec::with_capacity(questions.len());
    for (k, question) in questions.iter().enumerate() {
        let last: Vec<&Best> = k.checked_sub(1).and_then(|j| found[j].as_ref()).into_iter().collect();
        let best = question.best(&last);
        found.push(best);
    }
    for k in (1..questions.len()).rev() {
        let Some(next) = found[k].clone() else { continue };
        let question = &questions[k - 1];
        let again = question.search(question.plan([0.0; 2]), &question.moved(&next));
        if let Some(again) = again
            && found[k - 1].as_ref().is_none_or(|b| again.value > b.value)
        {
            found[k - 1] = Some(Best { value: again.value, winds: again.winds });
        }
    }
    found
}
