//! The best settings: speed made good averaged over the wind a boat will meet, settings shared and trim taken anew in each.
//!
//! A plan names what is shared by all winds (set ashore or once a leg), what is trimmed in each (course, boom), what is
//! given, and the limits: how far out, the hands on the sheet, rudder, a rope that cannot push. Limits are constraints of the
//! search ([`crate::minimise`]), never clipped. Slopes are exact ([`crate::balance::Case::slopes`]).

use crate::balance::{CONTROLS, Case, Control, Controls, State, Status, Whole};
use crate::minimise::{Evaluation, Minimum, Problem, Search, minimum};
use crate::near::Near;
use measure::Outcome;
use nalgebra::{DMatrix, DVector};

/// What the search wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// Speed made good to windward.
    Upwind,
    /// Speed made good downwind.
    Downwind,
    /// Speed at a given course.
    Speed,
}

/// One control the search may move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// Which.
    pub control: Control,
    /// Lowest value, SI.
    pub low: f64,
    /// Highest.
    pub high: f64,
}

impl Choice {
    /// A change worth about the same for every control: the search's unit of length.
    pub(crate) const fn scale(control: Control) -> f64 {
        /// One degree.
        const DEGREE: f64 = measure::angle::DEGREE;
        match control {
            Control::WindAngle => 3.0 * DEGREE,
            Control::Boom => 4.0 * DEGREE,
            Control::Car => 0.06,
            Control::Gap => 0.04,
            Control::Vang => 40.0,
            Control::Downhaul => 30.0,
            Control::Rake | Control::Heel => DEGREE,
            Control::Board => 8.0 * DEGREE,
            Control::Seat => 0.12,
            Control::Ballast => 5.0,
            Control::Sprit => 50.0,
        }
    }
}

/// Limits of one wind, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// How far out the sailor can stay, m.
    pub hike: f64,
    /// How far to leeward of the centreline the sailor can be, m.
    pub lean_in: f64,
    /// What hands hold at the boom's block, N.
    pub sheet: f64,
}

/// Most rudder in a steady setting, rad. Common practice, no source: more is a brake.
const RUDDER_MOST: f64 = 0.35;
/// Boats never sail exactly at a limit: the pull towards the all-round setting that makes flat optima single, in shares of
/// speed per squared unit of each control. Two units away it is worth 0.004 %.
const PULL: f64 = 1e-5;

/// One wind, or one course of a leg, that a setup will meet.
#[derive(Debug, Clone, Copy)]
pub struct Node<'a> {
    /// Boat, sailor and wind.
    pub case: Case<'a>,
    /// Its weight; weights add up to one.
    pub weight: f64,
    /// Settings here of everything not chosen, and where trims start: on a reach the course is one of them.
    pub from: Controls,
}

/// A search to be done.
#[derive(Debug, Clone)]
pub struct Plan<'a> {
    /// What it will meet.
    pub winds: Vec<Node<'a>>,
    /// What is wanted.
    pub aim: Aim,
    /// Where the pull points.
    pub given: Controls,
    /// Shared by all winds.
    pub shared: Vec<Choice>,
    /// Trimmed in each.
    pub trimmed: Vec<Choice>,
    /// Limits.
    pub limits: Limits,
}

/// One wind of an optimum.
#[derive(Debug, Clone)]
pub struct Trimmed {
    /// Settings there.
    pub controls: Controls,
    /// The state, to start a near one from.
    pub state: State,
    /// Everything about it.
    pub whole: Whole<f64>,
}

/// Where the search ended.
#[derive(Debug, Clone)]
pub struct Optimum {
    /// Averaged speed of the aim, m/s.
    pub value: f64,
    /// One state a wind, in the plan's order.
    pub winds: Vec<Trimmed>,
    /// Greatest breach of a limit, in its unit: 0.1 m, 50 N, 0.1 rad.
    pub breach: f64,
    /// Whether no further gain was promised.
    pub converged: bool,
    /// Evaluations of the whole plan.
    pub evaluations: usize,
    /// Curvature of the search's model: a search near by starts from it.
    pub curvature: DMatrix<f64>,
}

/// Constraints a wind.
pub(crate) const LIMITS: usize = 6;

/// The limits of one wind as constraints (met when not negative) with their slopes, each in its unit: 0.1 m, 50 N, 10 N m, 0.1 rad.
pub(crate) fn limits_of(near: &Near, limits: &Limits) -> [(f64, Controls); LIMITS] {
    let slopes = &near.slopes;
    let row = |room: f64, sign: f64, slope: &Controls, unit: f64| (room / unit, slope.map(|s| sign * s / unit));
    [
        row(limits.hike - slopes.hike.0, -1.0, &slopes.hike.1, 0.1),
        row(slopes.hike.0 + limits.lean_in, 1.0, &slopes.hike.1, 0.1),
        row(limits.sheet - slopes.sheet_force.0, -1.0, &slopes.sheet_force.1, 50.0),
        row(slopes.hinge.0, 1.0, &slopes.hinge.1, 10.0),
        row(RUDDER_MOST - slopes.rudder.0, -1.0, &slopes.rudder.1, 0.1),
        row(RUDDER_MOST + slopes.rudder.0, 1.0, &slopes.rudder.1, 0.1),
    ]
}

impl Aim {
    /// What is wanted, and its slopes.
    pub(crate) fn of(self, near: &Near) -> (f64, Controls) {
        match self {
            Self::Upwind => near.slopes.made_good,
            Self::Downwind => (-near.slopes.made_good.0, near.slopes.made_good.1.map(|g| -g)),
            Self::Speed => near.slopes.speed,
        }
    }
}

struct Ascent<'p, 'a> {
    plan: &'p Plan<'a>,
    cold: Vec<Option<State>>,
    /// The last two points with their states: a trial starts from the nearer.
    seen: Vec<(DVector<f64>, Vec<Near>)>,
    reference: f64,
    low: DVector<f64>,
    high: DVector<f64>,
    status: Status,
}

impl Ascent<'_, '_> {
    fn controls(&self, x: &DVector<f64>, wind: usize) -> Controls {
        let plan = self.plan;
        let mut p = plan.winds[wind].from;
        for (k, c) in plan.shared.iter().enumerate() {
            p[c.control.index()] = x[k] * Choice::scale(c.control);
        }
        let from = plan.shared.len() + wind * plan.trimmed.len();
        for (k, c) in plan.trimmed.iter().enumerate() {
            p[c.control.index()] = x[from + k] * Choice::scale(c.control);
        }
        p
    }

    /// Index of a control among the variables of one wind.
    fn place(&self, control: usize, wind: usize) -> Option<usize> {
        let plan = self.plan;
        let find = |list: &[Choice]| list.iter().position(|c| c.control.index() == control);
        find(&plan.shared).or_else(|| find(&plan.trimmed).map(|k| plan.shared.len() + wind * plan.trimmed.len() + k))
    }
}

impl Problem for Ascent<'_, '_> {
    fn bounds(&self) -> (&DVector<f64>, &DVector<f64>) {
        (&self.low, &self.high)
    }

    fn evaluate(&mut self, x: &DVector<f64>) -> Option<Evaluation> {
        let plan = self.plan;
        let n = x.len();
        let mut out = Evaluation {
            value: 0.0,
            gradient: DVector::zeros(n),
            constraints: DVector::zeros(LIMITS * plan.winds.len()),
            jacobian: DMatrix::zeros(LIMITS * plan.winds.len(), n),
        };
        let mut found = Vec::with_capacity(plan.winds.len());
        let nearest = self.seen.iter().min_by(|a, b| (&a.0 - x).norm_squared().total_cmp(&(&b.0 - x).norm_squared()));
        for (w, Node { case, weight, .. }) in plan.winds.iter().enumerate() {
            let p = self.controls(x, w);
            let solved = match nearest {
                Some((_, nears)) => case.solve_near(&nears[w], &p),
                None => case.solve(&p, self.cold[w].as_ref()),
            };
            let (state, whole) = match solved {
                Outcome::Solved(s) => s,
                Outcome::Status(s) => {
                    self.status = s;
                    return None;
                }
            };
            let near = case.near(&p, &state, whole)?;
            let (value, gradient) = plan.aim.of(&near);
            out.value -= weight * value / self.reference;
            let rows = limits_of(&near, &plan.limits);
            for (k, (room, _)) in rows.iter().enumerate() {
                out.constraints[w * LIMITS + k] = *room;
            }
            for control in 0..CONTROLS {
                let Some(i) = self.place(control, w) else { continue };
                let scale = Choice::scale(Control::ALL[control]);
                out.gradient[i] -= weight * gradient[control] * scale / self.reference;
                for (k, (_, slope)) in rows.iter().enumerate() {
                    out.jacobian[(w * LIMITS + k, i)] += slope[control] * scale;
                }
            }
            found.push(near);
        }
        if self.seen.len() > 1 {
            self.seen.remove(0);
        }
        self.seen.push((x.clone(), found));
        for (k, c) in plan.shared.iter().enumerate() {
            let away = x[k] - plan.given[c.control.index()] / Choice::scale(c.control);
            out.value += PULL * away * away;
            out.gradient[k] += 2.0 * PULL * away;
        }
        Some(out)
    }
}

/// Searches from one start per wind (the node's own where there is none), with the curvature of a search near by where
/// there is one.
///
/// # Errors
/// The status of the model where it has no answer at the start.
pub fn optimum(plan: &Plan<'_>, starts: &[Trimmed], search: &Search, known: Option<&DMatrix<f64>>) -> Result<Optimum, Status> {
    let n = plan.shared.len() + plan.winds.len() * plan.trimmed.len();
    let value = |c: &Choice, p: &Controls| p[c.control.index()] / Choice::scale(c.control);
    let fill = |f: &dyn Fn(&Choice, usize) -> f64| -> DVector<f64> {
        DVector::from_iterator(
            n,
            plan.shared
                .iter()
                .map(|c| f(c, 0))
                .chain((0..plan.winds.len()).flat_map(|w| plan.trimmed.iter().map(move |c| f(c, w)).collect::<Vec<_>>())),
        )
    };
    let at = |w: usize| starts.get(w).or_else(|| starts.first()).map_or(&plan.winds[w].from, |t| &t.controls);
    let start = fill(&|c, w| value(c, at(w)));
    let mut problem = Ascent {
        plan,
        cold: (0..plan.winds.len()).map(|w| starts.get(w).map(|t| t.state)).collect(),
        seen: Vec::new(),
        reference: 1.0,
        low: fill(&|c, _| c.low / Choice::scale(c.control)),
        high: fill(&|c, _| c.high / Choice::scale(c.control)),
        status: Status::Unsettled,
    };
    // The first evaluation gives the speed by which all is divided.
    let first = problem.evaluate(&DVector::from_fn(n, |i, _| start[i].clamp(problem.low[i], problem.high[i])));
    let Some(first) = first else { return Err(problem.status) };
    problem.reference = first.value.abs().max(0.05);
    let Some(found) = minimum(&mut problem, &start, search, known) else { return Err(problem.status) };
    let Minimum { x, breach, converged, evaluations, curvature, .. } = found;
    // States belong to the last evaluation; take those of the point itself.
    if problem.evaluate(&x).is_none() {
        // Far from both points kept: from the start, with every means.
        problem.seen.clear();
        if problem.evaluate(&x).is_none() {
            return Err(problem.status);
        }
    }
    let Some((_, nears)) = problem.seen.last() else { return Err(problem.status) };
    let mut winds = Vec::with_capacity(plan.winds.len());
    let mut sum = 0.0;
    for (node, near) in plan.winds.iter().zip(nears) {
        sum += node.weight * plan.aim.of(near).0;
        winds.push(Trimmed { controls: near.controls, state: near.state, whole: near.whole });
    }
    Ok(Optimum { value: sum, winds, breach, converged, evaluations, curvature })
}
