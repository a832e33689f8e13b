//! Settings for one boat, sailor and wind: what to set, how to sit, which band makes no difference, what a step beyond it costs.
//!
//! Three clocks: the mast is set ashore for the beat; outhaul, downhaul, vang, car, board and seat hold for a leg; sheet and
//! course are trimmed in every puff. A setting is best on average over lull, mean and puff ([`gusty`]). Bands are re-trimmed:
//! each edge is a search of its own with that one setting held and the trim taken anew.
//!
//! Given by common practice, not searched: heel, the outhaul and downhaul on a run, the downhaul on a beat (until the luff's
//! wrinkles are just gone), the board on a run by skill, the preventer.

use crate::balance::{Boat, CONTROLS, Case, Conditions, Control, Controls, Status, Tack};
use crate::class::Lead;
use crate::crew::{Sailor, Skill};
use crate::gauge::Gauge;
use crate::minimise::Search;
use crate::optimum::{Aim, Choice, Limits, Optimum, Plan, Trimmed, optimum};
use crate::sail::{Looks, SailState};
use measure::angle::DEGREE;
use measure::{Basis, WindProfile};

/// A leg of a course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Leg {
    /// Upwind.
    Beat,
    /// Downwind.
    Run,
}

impl Leg {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Beat => "beat",
            Self::Run => "run",
        }
    }
}

/// How to sit today: the card's headline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sit {
    /// In the boat.
    Inside,
    /// On the side.
    OnTheSide,
    /// Fully hiked, easing in puffs.
    FlatOut,
}

impl Sit {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::OnTheSide => "on the side",
            Self::FlatOut => "flat out, spill",
        }
    }
}

/// A body's centre this far from the centreline sits inside, m. Common practice, no source: half way to the side.
const INSIDE: f64 = 0.25;
/// Share of what can be sustained from which one is flat out.
const FLAT_OUT: f64 = 0.97;
/// Loss that makes no difference, share of speed.
pub const NO_DIFFERENCE: f64 = 0.003;
/// Length of a leg by which costs are told, m.
pub const COST_LEG: f64 = 500.0;
/// Depth of the luff's scallops when wrinkles are just gone, m; the eye sees 5 mm.
const WRINKLES_GONE: f64 = 0.005;
/// Foot gap of the all-round setting: a hand's length, m. Common practice, no source.
const ALL_ROUND_GAP: f64 = 0.16;
/// Rake a mast can be set to, either way of upright, rad. Assumed until a boat's own notches say otherwise.
const RAKE: [f64; 2] = [-2.0 * DEGREE, 5.0 * DEGREE];
/// Below this wind at 2 m a boat drifts and is heeled a little to leeward, m/s. Common practice, no source.
const DRIFTING: f64 = 2.0;
/// Above this no windward heel on a run, m/s. Common practice, no source.
const RUN_FLAT_FROM: f64 = 5.5;
/// Below this the boom wants a preventer on a run, m/s. Common practice, no source.
const PREVENTER_BELOW: f64 = 3.0;

const SEARCH: Search = Search { tolerance: 2e-6, evaluations: 80, radius: 1.5, curvature: 0.01 };
/// A search that only trims: from a trimmed state near by.
const RETRIM: Search = Search { tolerance: 5e-6, evaluations: 25, radius: 0.8, curvature: 0.02 };

/// One setting of one gauge, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Which gauge.
    pub gauge: Gauge,
    /// The best value.
    pub value: f64,
    /// Lower edge of the band, or the gauge's own end.
    pub low: f64,
    /// Upper edge.
    pub high: f64,
    /// Metres lost in [`COST_LEG`] one step below the band; 0 at the gauge's end.
    pub cost_low: f64,
    /// One step above.
    pub cost_high: f64,
    /// One step.
    pub step: f64,
    /// What it rests on.
    pub basis: Basis,
}

/// A leg solved.
#[derive(Debug, Clone)]
pub struct LegSetup {
    /// Which leg.
    pub leg: Leg,
    /// Which tack.
    pub tack: Tack,
    /// How to sit in the mean wind.
    pub sit: Sit,
    /// Averaged speed made good (of the aim), m/s.
    pub made_good: f64,
    /// Limits used.
    pub limits: Limits,
    /// Lull, mean and puff as trimmed.
    pub winds: Vec<Trimmed>,
    /// Looks in the mean wind.
    pub looks: Looks,
    /// The settings.
    pub settings: Vec<Setting>,
    /// Greatest breach of a limit and whether the search was content.
    pub breach: f64,
    /// Whether no further gain was promised.
    pub converged: bool,
}

impl LegSetup {
    /// The mean wind.
    #[must_use]
    pub fn mean(&self) -> &Trimmed {
        &self.winds[self.winds.len() / 2]
    }
    /// A setting by gauge.
    #[must_use]
    pub fn setting(&self, gauge: Gauge) -> Option<&Setting> {
        self.settings.iter().find(|s| s.gauge == gauge)
    }
}

/// Wind of lull, mean and puff with weights: the three-point Gauss-Hermite rule of a normal spread whose 3 s gust over the mean
/// is `gusts` (three standard deviations, as in W6: 1.23 at sea).
#[must_use]
pub fn gusty(mean: WindProfile, gusts: f64) -> Vec<(WindProfile, f64)> {
    let spread = ((gusts - 1.0) / 3.0).clamp(0.0, 0.25);
    if spread < 1e-6 {
        return vec![(mean, 1.0)];
    }
    let at = |k: f64| WindProfile { at_meter: mean.at_meter * (1.0 + k * spread), ..mean };
    let root = 3f64.sqrt();
    vec![(at(-root), 1.0 / 6.0), (mean, 2.0 / 3.0), (at(root), 1.0 / 6.0)]
}

/// Heel given by common practice (no source), rad: flat; a little to leeward when drifting; to windward on a run in light air, by
/// skill.
#[must_use]
pub fn usual_heel(leg: Leg, at_meter: f64, skill: Skill) -> f64 {
    match leg {
        Leg::Beat if at_meter < DRIFTING => 5.0 * DEGREE,
        Leg::Beat => 0.0,
        Leg::Run => {
            let most = match skill {
                Skill::FirstSeason => 0.0,
                Skill::SailsACourse => 4.0,
                Skill::Races | Skill::RacesInAnyWind => 8.0,
            };
            -most * DEGREE * ((RUN_FLAT_FROM - at_meter) / 2.5).clamp(0.0, 1.0)
        }
    }
}

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Request<'a> {
    /// The boat.
    pub boat: &'a Boat,
    /// The sailor.
    pub sailor: Sailor,
    /// Mean wind, chop, tack.
    pub conditions: Conditions,
    /// 3 s gust over mean.
    pub gusts: f64,
    /// Whether bands and costs are wanted.
    pub bands: bool,
}

impl Request<'_> {
    fn limits(&self) -> Limits {
        let c = &self.boat.constants;
        Limits {
            hike: self.sailor.sustained_reach(&self.boat.class, c),
            lean_in: 0.4,
            sheet: self.boat.class.sheet.hand_limit * self.boat.class.sheet.purchase,
        }
    }

    fn cases(&self) -> Vec<(Case<'_>, f64)> {
        let case = |wind| Case { boat: self.boat, sailor: self.sailor, conditions: Conditions { wind, ..self.conditions } };
        gusty(self.conditions.wind, self.gusts).into_iter().map(|(wind, weight)| (case(wind), weight)).collect()
    }

    fn vang_most(&self) -> f64 {
        if self.boat.class.vang.is_some() { 300.0 } else { 0.0 }
    }

    fn car_most(&self) -> f64 {
        match self.boat.class.lead {
            Lead::Traveller { half_width, .. } => half_width,
            Lead::Block { .. } => 0.0,
        }
    }

    /// The usual setting of a leg by common practice: where a search starts, and what it is given.
    #[must_use]
    pub fn usual(&self, leg: Leg, rake: f64) -> Controls {
        let class = &self.boat.class;
        let wind = self.conditions.wind.at_meter;
        let heel = usual_heel(leg, wind, self.sailor.skill);
        let middle = 0.5 * (class.sailor.aft + class.sailor.forward);
        let mut p = [0.0; CONTROLS];
        let mut set = |c: Control, v: f64| p[c.index()] = v;
        set(Control::Heel, heel);
        set(Control::Rake, rake);
        set(Control::Gap, ALL_ROUND_GAP);
        match leg {
            Leg::Beat => {
                set(Control::WindAngle, 48.0 * DEGREE);
                set(Control::Boom, if wind > 7.0 { 12.0 } else { 10.0 } * DEGREE);
                set(Control::Car, (0.10f64).min(self.car_most()));
                set(Control::Vang, 60f64.min(self.vang_most()));
                set(Control::Downhaul, 5.0 * wind);
                set(Control::Board, (3.0 * DEGREE).min(class.board.forward));
                set(Control::Seat, (middle - 0.15).clamp(class.sailor.aft, class.sailor.forward));
            }
            Leg::Run => {
                let up = match self.sailor.skill {
                    Skill::FirstSeason | Skill::SailsACourse => 45.0,
                    Skill::Races | Skill::RacesInAnyWind => 75.0,
                };
                set(Control::WindAngle, 172.0 * DEGREE);
                set(Control::Boom, 72.0 * DEGREE);
                set(Control::Car, 0.5 * self.car_most());
                set(Control::Vang, 80f64.min(self.vang_most()));
                set(Control::Board, -(up * DEGREE).min(class.board.raised));
                set(Control::Seat, (middle - 0.1).clamp(class.sailor.aft, class.sailor.forward));
            }
        }
        p
    }

    fn plan(&self, leg: Leg, given: Controls) -> Plan<'_> {
        let class = &self.boat.class;
        let choice = |control, low: f64, high: f64| Choice { control, low, high };
        let mut shared = vec![choice(Control::Vang, 0.0, self.vang_most()), choice(Control::Seat, class.sailor.aft, class.sailor.forward)];
        let trimmed = match leg {
            Leg::Beat => {
                shared.extend([
                    choice(Control::Car, 0.0, self.car_most()),
                    choice(Control::Gap, 0.02, 0.30),
                    choice(Control::Rake, RAKE[0], RAKE[1]),
                    choice(Control::Board, -(45.0 * DEGREE).min(class.board.raised), class.board.forward),
                ]);
                vec![choice(Control::WindAngle, 35.0 * DEGREE, 75.0 * DEGREE), choice(Control::Boom, 0.0, 45.0 * DEGREE)]
            }
            Leg::Run => {
                vec![choice(Control::WindAngle, 150.0 * DEGREE, 179.0 * DEGREE), choice(Control::Boom, 45.0 * DEGREE, 90.0 * DEGREE)]
            }
        };
        let shared = shared.into_iter().filter(|c| c.high > c.low + 1e-9).collect();
        let aim = if leg == Leg::Beat { Aim::Upwind } else { Aim::Downwind };
        Plan { winds: self.cases(), aim, given, shared, trimmed, limits: self.limits() }
    }

    /// The best setup for a leg. `rake` is where the mast stands (a beat chooses it; other legs sail with the beat's).
    ///
    /// # Errors
    /// The model's status when no start has an answer.
    pub fn leg(&self, leg: Leg, rake: f64) -> Result<LegSetup, Status> {
        if self.conditions.wind.at_meter <= 0.0 {
            return Err(Status::NoWind);
        }
        let mut plan = self.plan(leg, self.usual(leg, rake));
        let mut found = self.best_of_starts(&plan)?;
        if leg == Leg::Beat && self.boat.class.downhaul.is_some() {
            // Downhaul until the wrinkles are just gone in the mean wind: common practice; twice is enough, it moves little else.
            for _ in 0..2 {
                let mean = &found.winds[found.winds.len() / 2];
                let snug = self.boat.constants.luff_tension_snug;
                let tension = (mean.controls[Control::Downhaul.index()] + snug) * mean.whole.sail.wrinkle / WRINKLES_GONE;
                let most = 0.10 * self.boat.class.downhaul.unwrap_or(0.0);
                let pull = (tension - snug).clamp(0.0, most);
                plan.given[Control::Downhaul.index()] = pull;
                let starts: Vec<_> = found.winds.iter().map(|t| with(t, Control::Downhaul, pull)).collect();
                found = optimum(&plan, &starts, &SEARCH)?;
            }
        }
        Ok(self.described(leg, &plan, found))
    }

    /// Searches from the usual start, then from fuller and easier trim, and keeps the best that breaks no limit.
    fn best_of_starts(&self, plan: &Plan<'_>) -> Result<Optimum, Status> {
        let mut best: Option<Optimum> = None;
        let mut status = Status::Unsettled;
        for (angle, boom) in [(0.0, 0.0), (7.0, 9.0), (-3.0, -4.0)] {
            let mut from = plan.clone();
            let sign = if plan.aim == Aim::Upwind { 1.0 } else { -1.0 };
            from.given[Control::WindAngle.index()] += sign * angle * DEGREE;
            from.given[Control::Boom.index()] += sign * boom * DEGREE;
            match optimum(&from, &[], &SEARCH) {
                Ok(o) => {
                    let worth = |o: &Optimum| o.value - 10.0 * o.breach.max(0.0);
                    if best.as_ref().is_none_or(|b| worth(&o) > worth(b)) {
                        best = Some(o);
                    }
                }
                Err(s) => status = s,
            }
            // One start is enough where it is content: the others guard against a poor first guess.
            if best.as_ref().is_some_and(|b| b.converged && b.breach < 1e-3) {
                break;
            }
        }
        best.ok_or(status)
    }

    fn described(&self, leg: Leg, plan: &Plan<'_>, found: Optimum) -> LegSetup {
        let mean = &found.winds[found.winds.len() / 2];
        let hike = mean.whole.hike;
        let sit = if hike >= FLAT_OUT * plan.limits.hike {
            Sit::FlatOut
        } else if hike > INSIDE {
            Sit::OnTheSide
        } else {
            Sit::Inside
        };
        let looks = Looks::of(&sail_state(mean), &mean.whole.sail);
        let settings = self.settings(leg, plan, &found);
        LegSetup {
            leg,
            tack: self.conditions.tack,
            sit,
            made_good: found.value,
            limits: plan.limits,
            looks,
            settings,
            breach: found.breach,
            converged: found.converged,
            winds: found.winds,
        }
    }

    /// Every gauge of the class that stands for a control of this leg.
    fn settings(&self, leg: Leg, plan: &Plan<'_>, found: &Optimum) -> Vec<Setting> {
        let mean = &found.winds[found.winds.len() / 2];
        let mut out = Vec::new();
        for definition in &self.boat.class.gauges {
            let gauge = definition.gauge;
            let Some(value) = self.reading(gauge, mean, leg) else { continue };
            let band = control_of(gauge).and_then(|c| plan.shared.iter().find(|s| s.control == c));
            let mut setting = Setting {
                gauge,
                value,
                low: value,
                high: value,
                cost_low: 0.0,
                cost_high: 0.0,
                step: definition.step,
                basis: if searched(plan, gauge) { Basis::Theory } else { Basis::CommonPractice },
            };
            if let (true, Some(choice)) = (self.bands, band) {
                self.band(plan, found, *choice, &mut setting, leg);
            }
            out.push(setting);
        }
        out
    }

    /// The reading of a gauge for a state, SI; `None` where the class or the leg has none.
    #[must_use]
    pub fn reading(&self, gauge: Gauge, at: &Trimmed, leg: Leg) -> Option<f64> {
        let class = &self.boat.class;
        let g = &self.boat.rig.geometry;
        let p = |c: Control| at.controls[c.index()];
        Some(match gauge {
            Gauge::BoomEndDock => g.boom_end(p(Control::Rake)),
            Gauge::BoomEndSheeted => g.boom_end(p(Control::Rake) + if leg == Leg::Beat { at.whole.sail.bend_rake } else { 0.0 }),
            Gauge::MastTipTape => g.mast_tip_tape(p(Control::Rake)),
            Gauge::SailBoomGap => p(Control::Gap),
            Gauge::CarOffset => p(Control::Car),
            Gauge::SheetLine => at.whole.sail.sheet_line,
            Gauge::BoomAngle => p(Control::Boom),
            Gauge::VangLine => p(Control::Vang) / class.vang.as_ref()?.stiffness,
            Gauge::DownhaulLine => p(Control::Downhaul) / class.downhaul?,
            Gauge::SpritLine => return None,
            Gauge::Preventer => f64::from(u8::from(leg == Leg::Run && self.conditions.wind.at_meter < PREVENTER_BELOW)),
            Gauge::BoardAngle => p(Control::Board),
            Gauge::SeatPosition => p(Control::Seat),
            Gauge::Heel => p(Control::Heel),
            Gauge::HikeOut => at.whole.hike,
        })
    }

    /// Speed with one shared control held at a value and the trim taken anew; `None` where that has no answer.
    fn retrimmed(&self, plan: &Plan<'_>, found: &Optimum, control: Control, value: f64) -> Option<f64> {
        let mut held = plan.clone();
        held.given = found.winds[0].controls;
        held.given[control.index()] = value;
        held.shared.clear();
        let starts: Vec<_> = found.winds.iter().map(|t| with(t, control, value)).collect();
        let o = optimum(&held, &starts, &RETRIM).ok()?;
        // A limit broken at any trim costs what it takes to notice: no band reaches there.
        (o.breach < 0.05).then_some(o.value)
    }

    /// Finds both edges of a band by re-trimmed searches, and what a step beyond costs.
    fn band(&self, plan: &Plan<'_>, found: &Optimum, choice: Choice, setting: &mut Setting, leg: Leg) {
        let control = choice.control;
        let mean = &found.winds[found.winds.len() / 2];
        let best = mean.controls[control.index()];
        let speed = self.retrimmed(plan, found, control, best).unwrap_or(found.value).max(found.value);
        let loss = |v: f64| self.retrimmed(plan, found, control, v).map(|s| (1.0 - s / speed).max(0.0));
        let reading = |v: f64| {
            let mut there = with(mean, control, v);
            // Mast bend stays that of the best state: a reading needs no solve of its own.
            there.whole = mean.whole;
            self.reading(setting.gauge, &there, leg).unwrap_or(setting.value)
        };
        let edge = |end: f64| -> (f64, f64) {
            let room = end - best;
            if room.abs() < 1e-6 {
                return (end, 0.0);
            }
            // Loss grows about as the square of the distance: two corrections of a first guess bring the edge to a few per cent.
            let mut at = best + room * 0.3;
            let (mut inner, mut outer) = (best, None::<f64>);
            let mut seen = (at, f64::INFINITY);
            for _ in 0..4 {
                let l = loss(at);
                if let Some(l) = l {
                    seen = (at, l);
                }
                match l {
                    Some(l) if l <= NO_DIFFERENCE => inner = at,
                    _ => outer = Some(at),
                }
                if (at - end).abs() < 1e-9 && outer.is_none() {
                    return (end, 0.0);
                }
                let next = match l {
                    Some(l) => best + (at - best) * (NO_DIFFERENCE / l.max(NO_DIFFERENCE / 9.0)).sqrt(),
                    None => 0.5 * (inner + at),
                };
                let next = outer.map_or(next, |o| if (next - inner) * (next - o) < 0.0 { next } else { 0.5 * (inner + o) });
                at = if (next - end) * room > 0.0 { end } else { next };
                if (at - seen.0).abs() < 0.03 * room.abs() && seen.1.is_finite() {
                    break;
                }
            }
            let edge = at;
            // One step beyond, by the square law through the last loss seen.
            let per_square = seen.1 / (seen.0 - best).powi(2).max(1e-12);
            (edge, if per_square.is_finite() { per_square } else { NO_DIFFERENCE / (edge - best).powi(2).max(1e-12) })
        };
        let ends = [edge(choice.low), edge(choice.high)];
        let readings = ends.map(|(at, _)| reading(at));
        // A control may run against its gauge: more rake, lower boom end.
        let turned = readings[0] > readings[1];
        let [low, high] = if turned { [1, 0] } else { [0, 1] };
        (setting.low, setting.high) = (readings[low].min(setting.value), readings[high].max(setting.value));
        let width = (readings[1] - readings[0]).abs().max(1e-9);
        let per_reading = (ends[1].0 - ends[0].0).abs() / width;
        let cost = |k: usize| {
            let (at, per_square) = ends[k];
            if per_square == 0.0 {
                return 0.0;
            }
            let beyond = (at - best).abs() + setting.step * per_reading;
            COST_LEG * per_square * beyond * beyond
        };
        (setting.cost_low, setting.cost_high) = (cost(low), cost(high));
    }
}

fn sail_state(at: &Trimmed) -> SailState<f64> {
    SailState::from_row(&core::array::from_fn(|k| at.state.0[k]))
}

fn with(at: &Trimmed, control: Control, value: f64) -> Trimmed {
    let mut t = at.clone();
    t.controls[control.index()] = value;
    t
}

/// The control a gauge stands for, where it is one.
#[must_use]
pub const fn control_of(gauge: Gauge) -> Option<Control> {
    Some(match gauge {
        Gauge::BoomEndDock | Gauge::BoomEndSheeted | Gauge::MastTipTape => Control::Rake,
        Gauge::SailBoomGap => Control::Gap,
        Gauge::CarOffset => Control::Car,
        Gauge::BoomAngle | Gauge::SheetLine => Control::Boom,
        Gauge::VangLine => Control::Vang,
        Gauge::DownhaulLine => Control::Downhaul,
        Gauge::BoardAngle => Control::Board,
        Gauge::SeatPosition => Control::Seat,
        Gauge::Heel => Control::Heel,
        Gauge::SpritLine | Gauge::Preventer | Gauge::HikeOut => return None,
    })
}

fn searched(plan: &Plan<'_>, gauge: Gauge) -> bool {
    gauge == Gauge::HikeOut || control_of(gauge).is_some_and(|c| plan.shared.iter().chain(&plan.trimmed).any(|choice| choice.control == c))
}
