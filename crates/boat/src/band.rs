//! Which range of a setting makes no difference, and what a step beyond it costs.
//!
//! One setting is held off its value and the trim (course, boom) is taken anew in every wind. At the optimum exact slopes,
//! differenced once, give the curvature; eliminating the trim (the Schur complement, bordered by the limits that bind: Nocedal & Wright
//! 2006, section 18.1) gives the loss as a quadratic and how the trim follows. That is the first guess of an edge; each edge is then
//! confirmed, and moved if need be, by solving the re-trimmed boat there.

use crate::balance::{Control, Controls, Status};
use crate::minimise::{Evaluation, Problem, Search, minimum};
use crate::near::Near;
use crate::optimum::{Choice, LIMITS, Node, Optimum, Plan, limits_of};
use core::cell::RefCell;
use measure::Outcome;
use nalgebra::{DMatrix, DVector};

/// Loss that makes no difference, share of speed.
pub const NO_DIFFERENCE: f64 = 0.003;
/// An edge is confirmed when the loss there is within this share of [`NO_DIFFERENCE`].
const CONFIRMED: f64 = 0.08;
/// Solved losses an edge may take to be confirmed.
const PROBES: usize = 9;
/// A limit closer than this, in its unit, binds.
const BINDS: f64 = 3e-3;
/// A breach of a limit up to this, in its unit, is as good as none.
const BREACH: f64 = 0.02;
/// Half step of the differences, in units of [`Choice::scale`].
const HALF: f64 = 0.04;
/// The least curvature given to the trim: flatter than any seen.
const LEAST_CURVATURE: f64 = 1e-3;
/// Trim taken anew near a trimmed state.
const TRIM: Search = Search { tolerance: 2e-6, evaluations: 12, radius: 1.0, curvature: 0.02 };

/// One edge of a band.
#[derive(Debug, Clone)]
pub struct Edge {
    /// Value of the control there.
    pub at: f64,
    /// The mean wind's state there; none where it was not solved.
    pub near: Option<Box<Near>>,
    /// Loss one step beyond, share of speed; none where the range ends.
    pub beyond: Option<f64>,
}

/// One wind at the optimum with its curvature.
struct Place<'a> {
    node: Node<'a>,
    near: Near,
    /// What is trimmed and free to move here.
    trims: Vec<Choice>,
    /// Curvature of the Lagrangian over trims, and trims by every control, in scaled units.
    own: DMatrix<f64>,
    cross: Vec<Option<DVector<f64>>>,
    along: Vec<Option<f64>>,
    slope: Vec<f64>,
    /// Slopes of binding limits over trims (a row each) and over every control.
    binding: DMatrix<f64>,
    binding_along: DMatrix<f64>,
}

/// An optimum made ready to be asked for bands.
pub(crate) struct Bands<'p, 'a> {
    plan: &'p Plan<'a>,
    places: Vec<Place<'a>>,
    /// The mean wind: a control that is trimmed elsewhere is held in this one alone.
    middle: usize,
    /// Edges found: two gauges may stand for one control.
    found: RefCell<Vec<Found>>,
}

/// Where a control's band ends towards one end of its range: the distance from its value, and the state there.
#[derive(Clone)]
struct Found {
    control: Control,
    end: f64,
    at: f64,
    near: Option<Box<Near>>,
}

/// The trim of one wind as a search.
struct Trim<'p, 'a> {
    plan: &'p Plan<'a>,
    node: Node<'a>,
    held: Controls,
    trims: &'p [Choice],
    reference: f64,
    near: Near,
    low: DVector<f64>,
    high: DVector<f64>,
}

impl Problem for Trim<'_, '_> {
    fn bounds(&self) -> (&DVector<f64>, &DVector<f64>) {
        (&self.low, &self.high)
    }
    fn evaluate(&mut self, x: &DVector<f64>) -> Option<Evaluation> {
        let mut p = self.held;
        for (k, c) in self.trims.iter().enumerate() {
            p[c.control.index()] = x[k] * Choice::scale(c.control);
        }
        let near = moved(&self.node, &self.near, &p).ok()?;
        let (value, slopes) = self.plan.aim.of(&near);
        let rows = limits_of(&near, &self.plan.limits);
        let over = |g: &Controls| -> DVector<f64> {
            DVector::from_iterator(self.trims.len(), self.trims.iter().map(|c| g[c.control.index()] * Choice::scale(c.control)))
        };
        let mut jacobian = DMatrix::zeros(LIMITS, self.trims.len());
        for (k, (_, slope)) in rows.iter().enumerate() {
            jacobian.row_mut(k).copy_from(&over(slope).transpose());
        }
        self.near = near;
        Some(Evaluation {
            value: -value / self.reference,
            gradient: -over(&slopes) / self.reference,
            constraints: DVector::from_iterator(LIMITS, rows.iter().map(|r| r.0)),
            jacobian,
        })
    }
}

fn moved(node: &Node<'_>, near: &Near, p: &Controls) -> Result<Near, Status> {
    match node.case.solve_near(near, p) {
        Outcome::Solved((state, whole)) => node.case.near(p, &state, whole).ok_or(Status::Unsettled),
        Outcome::Status(s) => Err(s),
    }
}

impl<'p, 'a> Bands<'p, 'a> {
    /// Curvature around an optimum for some controls. A control that is trimmed is held in one wind, the mean, alone.
    pub(crate) fn around(plan: &'p Plan<'a>, found: &Optimum, controls: &[Control], mean: usize) -> Option<Self> {
        let places = plan
            .winds
            .iter()
            .zip(&found.winds)
            .map(|(node, at)| {
                let near = node.case.near(&at.controls, &at.state, at.whole)?;
                let near = retrimmed(plan, node, near, None, &plan.trimmed, None)?.1;
                Place::new(plan, *node, near, controls)
            })
            .collect::<Option<Vec<_>>>()?;
        Some(Self { plan, places, middle: mean, found: RefCell::default() })
    }

    fn trimmed_elsewhere(&self, control: Control) -> bool {
        self.plan.trimmed.iter().any(|c| c.control == control)
    }

    /// The winds in which a control is held.
    fn held_in(&self, control: Control) -> Vec<&Place<'a>> {
        if self.trimmed_elsewhere(control) { self.places.get(self.middle).into_iter().collect() } else { self.places.iter().collect() }
    }

    /// Speed where nothing is held off.
    fn speed(&self, control: Control) -> f64 {
        let places = self.held_in(control);
        let weights: f64 = places.iter().map(|p| p.node.weight).sum();
        places.iter().map(|p| p.node.weight * self.plan.aim.of(&p.near).0).sum::<f64>() / weights
    }

    /// Slope and curvature of the loss (share of speed) over a control, the trim following, in SI.
    fn quadratic(&self, control: Control) -> (f64, f64) {
        let places = self.held_in(control);
        let weights: f64 = places.iter().map(|p| p.node.weight).sum();
        let speed = self.speed(control);
        let scale = Choice::scale(control);
        let (mut first, mut second) = (0.0, 0.0);
        for place in places {
            let (a, b, _) = place.reduced(control);
            first -= place.node.weight * a / weights;
            second -= place.node.weight * b / weights;
        }
        (first / speed / scale, second / speed / (scale * scale))
    }

    /// Loss (share of speed) with a control at a value and the trim taken anew, and the mean wind's state; none where that has
    /// no answer or breaks a limit at any trim.
    pub(crate) fn loss(&self, control: Control, value: f64) -> Option<(f64, Near)> {
        let places = self.held_in(control);
        let weights: f64 = places.iter().map(|p| p.node.weight).sum();
        let (mut speed, mut seen) = (0.0, None);
        let middle = if places.len() == 1 { 0 } else { self.middle };
        for (i, place) in places.iter().enumerate() {
            let trims: Vec<Choice> = self.plan.trimmed.iter().copied().filter(|c| c.control != control).collect();
            let start = place.predicted(control, value, &self.plan.trimmed);
            let (v, near) = retrimmed(
                self.plan,
                &place.node,
                place.near.clone(),
                Some((control, value, start)),
                &trims,
                place.curvature(&trims, self.plan).as_ref(),
            )?;
            speed += place.node.weight * v / weights;
            if i == middle {
                seen = Some(near);
            }
        }
        Some((1.0 - speed / self.speed(control), seen?))
    }

    /// The edge of a band from a value towards one end of its range; `step` is that control's step there.
    pub(crate) fn edge(&self, control: Control, value: f64, end: f64, step: f64) -> Edge {
        let room = (end - value).abs();
        let way = (end - value).signum();
        let scale = Choice::scale(control);
        if room < 1e-6 * scale {
            return Edge { at: end, near: None, beyond: None };
        }
        let (slope, curvature) = self.quadratic(control);
        let (first, second) = (slope * way, 0.5 * curvature);
        let known = self.found.borrow().iter().find(|f| f.control == control && f.end == end).cloned();
        let Found { at, near, .. } = known.unwrap_or_else(|| {
            let found = self.found(control, value, end, (first, second));
            self.found.borrow_mut().push(found.clone());
            found
        });
        if room - at < 1e-9 {
            return Edge { at: end, near, beyond: None };
        }
        // Where there is no state a step beyond, the loss by the quadratic, which is no less than that of the edge.
        let there = (at + step).min(room);
        let by_quadratic = (first * there + second * there * there).max(NO_DIFFERENCE);
        let beyond = self.loss(control, value + way * there).map_or(by_quadratic, |(l, _)| l.max(0.0));
        Edge { at: value + way * at, near, beyond: Some(beyond) }
    }

    /// Looks for the distance at which the loss makes a difference, from the quadratic's own.
    fn found(&self, control: Control, value: f64, end: f64, (first, second): (f64, f64)) -> Found {
        let room = (end - value).abs();
        let way = (end - value).signum();
        let scale = Choice::scale(control);
        let loss = |d: f64| self.loss(control, value + way * d);
        let mut guess = root(first, second, NO_DIFFERENCE).unwrap_or(room).min(room);
        // Loss grows about as the square of the distance: its root is followed as a straight line, inward by what is known.
        let bent = |l: f64| l.max(0.0).sqrt();
        let (mut inner, mut outer) = ((0.0, 0.0), None::<(f64, f64)>);
        let mut at = guess;
        let mut seen = None;
        for _ in 0..PROBES {
            at = guess;
            match loss(guess) {
                Some((l, near)) => {
                    seen = Some((guess, Box::new(near)));
                    if (l / NO_DIFFERENCE - 1.0).abs() < CONFIRMED || (l <= NO_DIFFERENCE && room - guess < 1e-9) {
                        break;
                    }
                    if l <= NO_DIFFERENCE {
                        inner = (guess, bent(l));
                    } else {
                        outer = Some((guess, bent(l)));
                    }
                }
                // No state there: as if all were lost.
                None => outer = Some((guess, f64::INFINITY)),
            }
            let level = bent(NO_DIFFERENCE);
            guess = match outer {
                None => (inner.0 * (level / inner.1.max(0.4 * level)).min(2.5)).min(room),
                Some((o, l)) if l.is_finite() => {
                    let share = ((level - inner.1) / (l - inner.1)).clamp(0.1, 0.9);
                    inner.0 + share * (o - inner.0)
                }
                Some((o, _)) => 0.5 * (inner.0 + o),
            };
            if outer.is_some_and(|o| o.0 - inner.0 < 0.02 * scale) {
                at = inner.0;
                break;
            }
        }
        let near = seen.filter(|s| s.0 == at || room - at < 1e-9).map(|s| s.1);
        Found { control, end, at, near }
    }
}

/// The smallest positive root of `a d + b d2 = level`; none where it is never met.
fn root(a: f64, b: f64, level: f64) -> Option<f64> {
    if b.abs() < 1e-30 {
        return (a > 0.0).then(|| level / a);
    }
    let inside = a * a + 4.0 * b * level;
    if inside < 0.0 || inside.is_nan() {
        return None;
    }
    let (p, q) = ((-a + inside.sqrt()) / (2.0 * b), (-a - inside.sqrt()) / (2.0 * b));
    [p, q].into_iter().filter(|d| *d > 0.0).min_by(f64::total_cmp)
}

/// A wind re-trimmed: the speed of the aim, and the state. `held` gives a control, its value and the trim to start from.
fn retrimmed(
    plan: &Plan<'_>,
    node: &Node<'_>,
    near: Near,
    held: Option<(Control, f64, Controls)>,
    trims: &[Choice],
    known: Option<&DMatrix<f64>>,
) -> Option<(f64, Near)> {
    let mut controls = near.controls;
    if let Some((control, value, start)) = held {
        controls = start;
        controls[control.index()] = value;
    }
    let reference = plan.aim.of(&near).0.abs().max(0.05);
    if trims.is_empty() {
        let near = moved(node, &near, &controls).ok()?;
        let worst = limits_of(&near, &plan.limits).iter().map(|r| -r.0).fold(0.0, f64::max);
        return (worst < BREACH).then(|| (plan.aim.of(&near).0, near));
    }
    let bound = |f: &dyn Fn(&Choice) -> f64| DVector::from_iterator(trims.len(), trims.iter().map(|c| f(c) / Choice::scale(c.control)));
    let start = bound(&|c| controls[c.control.index()]);
    let mut problem = Trim { plan, node: *node, held: controls, trims, reference, near, low: bound(&|c| c.low), high: bound(&|c| c.high) };
    let found = minimum(&mut problem, &start, &TRIM, known)?;
    if found.breach > BREACH {
        return None;
    }
    if problem.near.controls != controls_of(&problem, &found.x) {
        problem.evaluate(&found.x)?;
    }
    Some((plan.aim.of(&problem.near).0, problem.near))
}

fn controls_of(problem: &Trim<'_, '_>, x: &DVector<f64>) -> Controls {
    let mut p = problem.held;
    for (k, c) in problem.trims.iter().enumerate() {
        p[c.control.index()] = x[k] * Choice::scale(c.control);
    }
    p
}

impl<'a> Place<'a> {
    fn new(plan: &Plan<'a>, node: Node<'a>, near: Near, controls: &[Control]) -> Option<Self> {
        // A trim at the end of its range stays there.
        let trims: Vec<Choice> = plan
            .trimmed
            .iter()
            .copied()
            .filter(|c| {
                let (x, slack) = (near.controls[c.control.index()], 1e-3 * Choice::scale(c.control));
                x > c.low + slack && x < c.high - slack
            })
            .collect();
        let count = trims.len();
        let (_, gradient) = plan.aim.of(&near);
        let rows = limits_of(&near, &plan.limits);
        let over = |g: &Controls| DVector::from_iterator(count, trims.iter().map(|c| g[c.control.index()] * Choice::scale(c.control)));
        let g = over(&gradient);
        // Multipliers of the limits that bind, by least squares; one that pulls the wrong way does not bind.
        let mut active: Vec<usize> = (0..LIMITS).filter(|k| rows[*k].0 < BINDS).take(count).collect();
        let mut multipliers = DVector::zeros(0);
        while !active.is_empty() {
            let a = DMatrix::from_fn(count, active.len(), |i, k| over(&rows[active[k]].1)[i]);
            multipliers = a.svd(true, true).solve(&-&g, 1e-10).ok()?;
            match (0..active.len()).find(|k| multipliers[*k] < 0.0) {
                Some(k) => {
                    active.remove(k);
                }
                None => break,
            }
        }
        if active.is_empty() {
            multipliers = DVector::zeros(0);
        }
        let lagrangian = |n: &Near| -> Controls {
            let mut total = plan.aim.of(n).1;
            let rows = limits_of(n, &plan.limits);
            for (k, i) in active.iter().enumerate() {
                for (t, s) in total.iter_mut().zip(&rows[*i].1) {
                    *t += multipliers[k] * s;
                }
            }
            total
        };
        let column = |control: Control| -> Option<Controls> {
            let half = HALF * Choice::scale(control);
            let at = |by: f64| {
                let mut p = near.controls;
                p[control.index()] += by;
                moved(&node, &near, &p).ok().map(|n| lagrangian(&n))
            };
            let (up, down) = (at(half)?, at(-half)?);
            Some(core::array::from_fn(|k| (up[k] - down[k]) / (2.0 * HALF)))
        };
        let mut own = DMatrix::zeros(count, count);
        let mut by_trim = Vec::with_capacity(count);
        for (k, c) in trims.iter().enumerate() {
            let slopes = column(c.control)?;
            for (i, d) in trims.iter().enumerate() {
                own[(i, k)] = slopes[d.control.index()] * Choice::scale(d.control);
            }
            by_trim.push(slopes);
        }
        own = (&own + own.transpose()) * 0.5;
        let all = Control::ALL.len();
        let (mut cross, mut along) = (vec![None; all], vec![None; all]);
        for control in controls {
            let scale = Choice::scale(*control);
            cross[control.index()] = Some(DVector::from_iterator(count, by_trim.iter().map(|s| s[control.index()] * scale)));
            along[control.index()] = column(*control).map(|s| s[control.index()] * scale);
        }
        let slope = (0..all).map(|k| lagrangian(&near)[k] * Choice::scale(Control::ALL[k])).collect();
        let binding = DMatrix::from_fn(active.len(), count, |k, i| over(&rows[active[k]].1)[i]);
        let binding_along = DMatrix::from_fn(active.len(), all, |k, i| rows[active[k]].1[i] * Choice::scale(Control::ALL[i]));
        Some(Self { node, near, trims, own, cross, along, slope, binding, binding_along })
    }

    /// Slope and curvature of the aim over a control (scaled units) with the trim following, and how the trim follows.
    fn reduced(&self, control: Control) -> (f64, f64, Vec<(Control, f64)>) {
        let i = control.index();
        let slope = self.slope[i];
        let (Some(cross), Some(along)) = (&self.cross[i], self.along[i]) else { return (slope, 0.0, Vec::new()) };
        let free: Vec<usize> = (0..self.trims.len()).filter(|k| self.trims[*k].control != control).collect();
        let (count, bound) = (free.len(), self.binding.nrows().min(free.len()));
        let mut kkt = DMatrix::zeros(count + bound, count + bound);
        let mut right = DVector::zeros(count + bound);
        for (a, k) in free.iter().enumerate() {
            for (b, l) in free.iter().enumerate() {
                kkt[(a, b)] = self.own[(*k, *l)] - if a == b { LEAST_CURVATURE } else { 0.0 };
            }
            right[a] = -cross[*k];
            for r in 0..bound {
                kkt[(a, count + r)] = self.binding[(r, *k)];
                kkt[(count + r, a)] = self.binding[(r, *k)];
            }
        }
        for r in 0..bound {
            right[count + r] = -self.binding_along[(r, i)];
        }
        if count == 0 {
            return (slope, along, Vec::new());
        }
        let follows = kkt.lu().solve(&right).filter(|f| f.iter().all(|v| v.is_finite())).unwrap_or_else(|| DVector::zeros(count + bound));
        let mut second = along;
        for (a, k) in free.iter().enumerate() {
            second += cross[*k] * follows[a];
        }
        for r in 0..bound {
            second += self.binding_along[(r, i)] * follows[count + r];
        }
        (slope, second, free.iter().enumerate().map(|(a, k)| (self.trims[*k].control, follows[a])).collect())
    }

    /// Curvature of the trim's search, where every trim was free at the optimum.
    fn curvature(&self, trims: &[Choice], plan: &Plan<'_>) -> Option<DMatrix<f64>> {
        if trims.is_empty() {
            return None;
        }
        let places = trims.iter().map(|c| self.trims.iter().position(|t| t.control == c.control)).collect::<Option<Vec<_>>>()?;
        let reference = plan.aim.of(&self.near).0.abs().max(0.05);
        let matrix = DMatrix::from_fn(places.len(), places.len(), |i, k| -self.own[(places[i], places[k])] / reference);
        // A search wants a valley: what is flatter is made a little steeper.
        let mut valley = matrix.symmetric_eigen();
        valley.eigenvalues.iter_mut().for_each(|e| *e = e.max(LEAST_CURVATURE));
        Some(valley.recompose())
    }

    /// The trim expected with a control at a value.
    fn predicted(&self, control: Control, value: f64, trimmed: &[Choice]) -> Controls {
        let by = (value - self.near.controls[control.index()]) / Choice::scale(control);
        let mut p = self.near.controls;
        for (trim, follows) in self.reduced(control).2 {
            let Some(choice) = trimmed.iter().find(|c| c.control == trim) else { continue };
            let scale = Choice::scale(trim);
            p[trim.index()] = (p[trim.index()] + (follows * by).clamp(-2.0, 2.0) * scale).clamp(choice.low, choice.high);
        }
        p[control.index()] = value;
        p
    }
}
