//! The same optimum by general-purpose optimisers on the same balance: what our own search is held against.
//!
//! They see the speed made good and the limits as plain numbers, no slopes; each state starts from the last one solved, as ours do.

use std::cell::RefCell;

use argmin::core::{CostFunction, Error, Executor};
use argmin::solver::neldermead::NelderMead;
use boat::balance::{Controls, State};
use boat::optimum::{Choice, Plan};
use cobyla::RhoBeg;
use measure::Outcome;

use super::of_thread;

/// A breach of a limit up to this, in its unit, is none.
const KEPT: f64 = 1e-3;
/// Most rudder, rad, as in our own search.
const RUDDER: f64 = 0.35;
/// Price of a breach in Nelder and Mead's method, which knows no limits: shares of speed per unit.
const PRICE: f64 = 10.0;
/// Looks at the balance in all, and in one start.
const LOOKS: usize = 6000;
const LOOKS_A_START: usize = 1500;
/// Starts besides the usual one, in units of each control's scale: all up, all down, to and fro.
const STARTS: [[f64; 2]; 4] = [[0.0, 0.0], [1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]];
/// Limits of one wind.
const LIMITS: usize = 6;

/// What an optimiser did.
#[derive(Debug, Clone, Copy)]
pub(super) struct Race {
    /// Best speed of the aim that keeps the limits, m/s.
    pub(super) best: f64,
    /// Processor time until it was as good as asked, s; none where it never was.
    pub(super) reached: Option<f64>,
    /// Processor time in all, s.
    pub(super) spent: f64,
    /// Looks at the balance.
    pub(super) looks: usize,
}

/// A plan of one wind as plain numbers.
struct Plain<'p, 'a> {
    plan: &'p Plan<'a>,
    choices: Vec<Choice>,
    target: f64,
    begun: f64,
    seen: RefCell<Seen>,
}

struct Seen {
    at: Vec<f64>,
    value: f64,
    rooms: [f64; LIMITS],
    state: Option<State>,
    race: Race,
}

impl<'p, 'a> Plain<'p, 'a> {
    fn of(plan: &'p Plan<'a>, target: f64) -> Self {
        let race = Race { best: f64::NEG_INFINITY, reached: None, spent: 0.0, looks: 0 };
        let seen = Seen { at: Vec::new(), value: 0.0, rooms: [0.0; LIMITS], state: None, race };
        let choices = plan.shared.iter().chain(&plan.trimmed).copied().collect();
        Self { plan, choices, target, begun: of_thread(), seen: RefCell::new(seen) }
    }

    fn start(&self, offset: [f64; 2]) -> Vec<f64> {
        let from = &self.plan.winds[0].from;
        let at = |(k, c): (usize, &Choice)| {
            let scale = unit(c);
            (from[c.control.index()] / scale + offset[k % 2]).clamp(c.low / scale, c.high / scale)
        };
        self.choices.iter().enumerate().map(at).collect()
    }

    /// Looks at the balance there, unless it was the last look.
    fn look(&self, x: &[f64]) {
        let mut seen = self.seen.borrow_mut();
        if seen.at == x {
            return;
        }
        seen.at = x.to_vec();
        seen.race.looks += 1;
        let node = &self.plan.winds[0];
        let mut p: Controls = node.from;
        let mut outside = 0.0;
        for (c, v) in self.choices.iter().zip(x) {
            let (scale, v) = (unit(c), v * unit(c));
            let within = v.clamp(c.low, c.high);
            outside += ((v - within) / scale).abs();
            p[c.control.index()] = within;
        }
        let solved = node.case.solve(&p, seen.state.as_ref());
        let Outcome::Solved((state, whole)) = solved else {
            (seen.value, seen.rooms) = (0.0, [-1.0; LIMITS]);
            return;
        };
        let limits = &self.plan.limits;
        seen.state = Some(state);
        seen.value = whole.made_good - outside;
        seen.rooms = [
            (limits.hike - whole.hike) / 0.1,
            (whole.hike + limits.lean_in) / 0.1,
            (limits.sheet - whole.sail.sheet_force) / 50.0,
            whole.sail.hinge / 10.0,
            (RUDDER - whole.rudder_angle) / 0.1,
            (RUDDER + whole.rudder_angle) / 0.1,
        ];
        if outside <= 0.0 && seen.rooms.iter().all(|room| *room >= -KEPT) && whole.made_good > seen.race.best {
            seen.race.best = whole.made_good;
            if seen.race.reached.is_none() && whole.made_good >= self.target {
                seen.race.reached = Some(of_thread() - self.begun);
            }
        }
    }

    fn done(&self) -> bool {
        let race = self.seen.borrow().race;
        race.reached.is_some() || race.looks >= LOOKS
    }

    fn race(&self) -> Race {
        Race { spent: of_thread() - self.begun, ..self.seen.borrow().race }
    }
}

/// One unit of a control, as in our own search.
fn unit(c: &Choice) -> f64 {
    Choice::scale(c.control)
}

impl CostFunction for &Plain<'_, '_> {
    type Param = Vec<f64>;
    type Output = f64;
    fn cost(&self, x: &Vec<f64>) -> Result<f64, Error> {
        self.look(x);
        let seen = self.seen.borrow();
        Ok(-seen.value + PRICE * seen.rooms.iter().map(|room| (-room).max(0.0)).sum::<f64>())
    }
}

/// Nelder and Mead's method of argmin from several starts, until as good as `target`, m/s.
pub(super) fn nelder_mead(plan: &Plan<'_>, target: f64) -> Result<Race, Error> {
    let plain = Plain::of(plan, target);
    for offset in STARTS {
        let start = plain.start(offset);
        let mut simplex = vec![start.clone()];
        for k in 0..start.len() {
            let mut corner = start.clone();
            let c = &plain.choices[k];
            corner[k] += if corner[k] + 1.0 > c.high / unit(c) { -1.0 } else { 1.0 };
            simplex.push(corner);
        }
        let solver = NelderMead::new(simplex).with_sd_tolerance(1e-7)?;
        let iterations = LOOKS_A_START as u64;
        Executor::new(&plain, solver).configure(|state| state.max_iters(iterations)).run()?;
        if plain.done() {
            break;
        }
    }
    Ok(plain.race())
}

/// Cobyla from several starts, until as good as `target`, m/s.
pub(super) fn cobyla(plan: &Plan<'_>, target: f64) -> Race {
    let plain = Plain::of(plan, target);
    let bounds: Vec<(f64, f64)> = plain.choices.iter().map(|c| (c.low / unit(c), c.high / unit(c))).collect();
    for offset in STARTS {
        let value = |x: &[f64], plain: &mut &Plain<'_, '_>| {
            plain.look(x);
            -plain.seen.borrow().value
        };
        let room = |k: usize| {
            move |x: &[f64], plain: &mut &Plain<'_, '_>| {
                plain.look(x);
                plain.seen.borrow().rooms[k]
            }
        };
        let rooms: Vec<_> = (0..LIMITS).map(room).collect();
        // Where it ends, and why, is told by the looks themselves.
        let _ended = cobyla::minimize(value, &plain.start(offset), &bounds, &rooms, &plain, LOOKS_A_START, RhoBeg::All(1.0), None);
        if plain.done() {
            break;
        }
    }
    plain.race()
}
