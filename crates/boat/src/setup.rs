//! Settings for one boat, sailor and wind: what to set, how to sit, which band makes no difference, what a step beyond it costs.
//!
//! Three clocks: the mast is set ashore for the beat; outhaul, downhaul, vang, car, board and seat hold for a leg; sheet and
//! course are trimmed in every puff. A setting is best on average over lull, mean and puff ([`gusty`]). Bands are re-trimmed
//! ([`crate::band`]): one setting held, the trim taken anew in every wind.
//!
//! Given by common practice, not searched: heel, the outhaul and downhaul on a run, the downhaul on a beat (until the luff's
//! wrinkles are just gone), the sprit (until the crease from throat to clew is), the board on a run by skill, the preventer. Searched within the trade's bounds: gap and car on a beat
//! (`practice.rs`); a setting that ends at such a bound rests on common practice and says so.

use crate::balance::{Boat, Case, Conditions, Control, Controls, Status, Tack};
use crate::class::Lead;
use crate::crew::Sailor;
use crate::gauge::Gauge;
use crate::minimise::Search;
use crate::optimum::{Aim, Choice, Limits, Node, Optimum, Plan, Trimmed, optimum};
use crate::practice::SPRIT_MOST;
use crate::sail::{Looks, SailState};
use measure::WindProfile;
use measure::angle::DEGREE;
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

mod settings;

pub use crate::band::NO_DIFFERENCE;
use settings::with;
pub use settings::{COST_LEG, Setting, control_of};

/// A leg of a course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Leg {
    /// Upwind.
    Beat,
    /// Across the wind.
    Reach,
    /// Downwind.
    Run,
}

impl Leg {
    /// All, in the order of a course.
    pub const ALL: [Self; 3] = [Self::Beat, Self::Reach, Self::Run];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Beat => "beat",
            Self::Reach => "reach",
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
    /// By how far out the body's centre must be and can stay, m.
    #[must_use]
    pub fn of(hike: f64, limit: f64) -> Self {
        if hike >= FLAT_OUT * limit {
            Self::FlatOut
        } else if hike > INSIDE {
            Self::OnTheSide
        } else {
            Self::Inside
        }
    }

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
/// Depth of the luff's scallops when wrinkles are just gone, m; the eye sees 5 mm.
const WRINKLES_GONE: f64 = 0.005;
/// Push of the sprit over what the leech asks for when the crease from throat to clew is just gone.
const CREASE_GONE: f64 = 1.05;
/// Rake a mast can be set to, either way of upright, rad. Assumed until a boat's own notches say otherwise.
const RAKE: [f64; 2] = [-2.0 * DEGREE, 5.0 * DEGREE];

/// Courses of a reach where none is given, rad: the mean of both, as on the two reaches of a triangle.
pub(crate) const REACHES: [f64; 2] = [90.0 * DEGREE, 120.0 * DEGREE];
/// Most vang, N, and most downhaul, m of line. Assumed: what a child's hand pulls.
const VANG_MOST: f64 = 300.0;
const DOWNHAUL_MOST: f64 = 0.10;
/// Shares of the wind from which a lost search is led, tried in turn; the first stride, the shortest, and how many there may be.
const LED_FROM: [f64; 2] = [0.6, 0.4];
const LED_STRIDE: f64 = 0.2;
const LED_STRIDE_LEAST: f64 = 0.03;
const LED_STRIDES: usize = 10;
/// Shortest stride in which a given setting is moved, of its way.
const SET_LEAST: f64 = 0.2;
/// How much further out the boom of a stalled sail is on a broad reach, and from where a reach is broad, rad.
const STALLED: f64 = 18.0 * DEGREE;
const BROAD: f64 = 105.0 * DEGREE;
/// So near the highest course looked at, rad, a search stands at it.
const PINCHED: f64 = 0.1 * DEGREE;
/// More leeway than this on a beat, rad, is a board that has stalled. Assumed: three times what beats have in theory and practice.
const SLIDING: f64 = 12.0 * DEGREE;
/// Looks again at most, and the share of the speed made good that is worth another.
const LOOKS_AGAIN: usize = 4;
const GAIN: f64 = 1e-4;
/// Gap from snug to as loose as a coach would leave it, m. Common practice, no source.
const GAP: [f64; 2] = [0.02, 0.30];
/// Heel either way that a band is looked for in, rad.
const HEEL_MOST: f64 = 15.0 * DEGREE;

/// How a leg is searched.
pub const SEARCH: Search = Search { tolerance: 2e-6, evaluations: 80, radius: 1.5, curvature: 0.01 };

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
    /// Which of the winds is the mean (of the first course).
    middle: usize,
    /// Curvature of the search, for one near by.
    curvature: DMatrix<f64>,
}

impl LegSetup {
    /// The mean wind (of the first course).
    #[must_use]
    pub fn mean(&self) -> &Trimmed {
        &self.winds[self.middle]
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

/// Boom angle at which a sail draws on a course, rad: a line through the model's own optima, where a search starts.
pub(crate) fn drawing(course: f64) -> f64 {
    (0.62 * course - 16.0 * DEGREE).clamp(8.0 * DEGREE, 85.0 * DEGREE)
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
    /// Course of a reach off the wind, rad; none for the mean of 90 and 120 degrees.
    pub reach: Option<f64>,
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

    /// Winds, and on a reach courses, that a leg will meet, each from the usual setting.
    fn nodes(&self, leg: Leg, given: Controls) -> Vec<Node<'_>> {
        let case = |wind| Case { boat: self.boat, sailor: self.sailor, conditions: Conditions { wind, ..self.conditions } };
        let winds = gusty(self.conditions.wind, self.gusts);
        let on = |course: f64| {
            let mut from = given;
            from[Control::WindAngle.index()] = course;
            from[Control::Boom.index()] = drawing(course);
            from
        };
        let starts: Vec<Controls> = match (leg, self.reach) {
            (Leg::Reach, Some(course)) => vec![on(course)],
            (Leg::Reach, None) => REACHES.map(on).to_vec(),
            _ => vec![given],
        };
        let share = 1.0 / starts.len() as f64;
        let case = &case;
        starts
            .into_iter()
            .flat_map(|from| winds.iter().map(move |(wind, weight)| Node { case: case(*wind), weight: weight * share, from }))
            .collect()
    }

    /// Which node is the mean wind of the first course.
    fn middle(&self) -> usize {
        gusty(self.conditions.wind, self.gusts).len() / 2
    }

    pub(crate) fn vang_most(&self) -> f64 {
        if self.boat.class.vang.is_some() { VANG_MOST } else { 0.0 }
    }

    pub(crate) fn car_most(&self) -> f64 {
        match self.boat.class.lead {
            Lead::Traveller { half_width, .. } => half_width,
            Lead::Block { .. } => 0.0,
        }
    }

    /// Range of a control of a leg; `None` where the class has it not, or the leg does not set it.
    pub(crate) fn range(&self, control: Control, leg: Leg) -> Option<Choice> {
        let class = &self.boat.class;
        let (low, high) = match control {
            Control::WindAngle => match leg {
                Leg::Beat => (35.0 * DEGREE, 75.0 * DEGREE),
                Leg::Reach => return None,
                Leg::Run => (150.0 * DEGREE, 179.0 * DEGREE),
            },
            Control::Boom => match leg {
                Leg::Beat => (0.0, 45.0 * DEGREE),
                Leg::Reach => (0.0, 90.0 * DEGREE),
                Leg::Run => (45.0 * DEGREE, 90.0 * DEGREE),
            },
            Control::Car => (0.0, self.car_most()),
            Control::Gap => (GAP[0], GAP[1]),
            Control::Vang => (0.0, self.vang_most()),
            Control::Downhaul => (0.0, DOWNHAUL_MOST * class.downhaul?),
            // The mast is set ashore, for the beat.
            Control::Rake if leg == Leg::Beat => (RAKE[0], RAKE[1]),
            Control::Rake | Control::Ballast | Control::Sprit => return None,
            Control::Board => class.board.lift.map_or((-class.board.raised, class.board.forward), |lift| (-lift, 0.0)),
            Control::Seat => (class.sailor.aft, class.sailor.forward),
            Control::Heel => (-HEEL_MOST, HEEL_MOST),
        };
        let (least, most) = self.bounds_of_practice(control, leg);
        let (low, high) = (low.max(least), high.min(most));
        (high > low + 1e-9).then_some(Choice { control, low, high })
    }

    /// What is searched on a leg, from a setting by common practice ([`Request::usual`]).
    #[must_use]
    pub fn plan(&self, leg: Leg, given: Controls) -> Plan<'_> {
        let chosen: &[Control] = match leg {
            Leg::Beat => &[Control::Vang, Control::Seat, Control::Car, Control::Gap, Control::Rake, Control::Board],
            Leg::Reach => &[Control::Vang, Control::Seat, Control::Car, Control::Gap, Control::Board],
            // The gap and the board on a run are given by common practice.
            Leg::Run => &[Control::Vang, Control::Seat],
        };
        let mut shared: Vec<Choice> = chosen.iter().filter_map(|c| self.range(*c, leg)).collect();
        if leg == Leg::Beat
            && let Some(board) = shared.iter_mut().find(|c| c.control == Control::Board)
        {
            // More than half up no beat is sailed.
            board.low = board.low.max(self.boat.class.board.lift.map_or(-45.0 * DEGREE, |lift| -0.5 * lift));
        }
        let mut given = given;
        if self.boat.rig.sprit.is_some() {
            // Searched with all the sprit there is; what the leech then asks for is set afterwards.
            given[Control::Sprit.index()] = SPRIT_MOST;
        }
        let trimmed = [Control::WindAngle, Control::Boom].iter().filter_map(|c| self.range(*c, leg)).collect();
        let aim = match leg {
            Leg::Beat => Aim::Upwind,
            Leg::Reach => Aim::Speed,
            Leg::Run => Aim::Downwind,
        };
        Plan { winds: self.nodes(leg, given), aim, given, shared, trimmed, limits: self.limits() }
    }

    /// The best setup for a leg. `rake` is where the mast stands (a beat chooses it; other legs sail with the beat's).
    ///
    /// # Errors
    /// The model's status when no start has an answer.
    pub fn leg(&self, leg: Leg, rake: f64) -> Result<LegSetup, Status> {
        self.leg_near(leg, rake, None)
    }

    /// The trim (course and boom; on a reach the boom) taken anew in the mean wind, every other setting held, and the greatest breach
    /// of a limit. A near state to start from makes it quicker.
    ///
    /// # Errors
    /// The model's status when these settings have no answer.
    pub fn trimmed(&self, leg: Leg, held: &Controls, near: Option<&Trimmed>) -> Result<(Trimmed, f64), Status> {
        let reach = (leg == Leg::Reach).then(|| self.reach.unwrap_or(REACHES[0]));
        let steady = Request { gusts: 1.0, reach, bands: false, ..*self };
        let mut plan = steady.plan(leg, *held);
        plan.shared.clear();
        let starts: Vec<Trimmed> = near.into_iter().cloned().collect();
        let mut found = optimum(&plan, &starts, &SEARCH, None)?;
        if !starts.is_empty() && (!found.converged || astray(&plan, &found)) {
            // What was near has led beside: looked for anew, as if nothing were known.
            found = self.best_of_starts(&plan, Some(&found)).ok().filter(|anew| worth(anew) > worth(&found)).unwrap_or(found);
        }
        let breach = found.breach;
        found.winds.into_iter().next().map(|trimmed| (trimmed, breach)).ok_or(Status::Unsettled)
    }

    /// The same, from the setup of a near wind or sailor: sooner, and as good.
    ///
    /// # Errors
    /// The model's status when no start has an answer.
    pub fn leg_near(&self, leg: Leg, rake: f64, known: Option<&LegSetup>) -> Result<LegSetup, Status> {
        if self.conditions.wind.at_meter <= 0.0 {
            return Err(Status::NoWind);
        }
        let plan = self.plan(leg, self.usual(leg, rake));
        // With the downhaul of the near setup, which is soon set anew.
        let mut warm = plan.clone();
        let near = known.filter(|k| k.leg == leg && k.winds.len() == plan.winds.len()).and_then(|k| {
            held(&mut warm, Control::Downhaul, k.mean().controls[Control::Downhaul.index()]);
            optimum(&warm, &k.winds, &SEARCH, Some(&k.curvature)).ok()
        });
        let cold = |found: Optimum| (plan.clone(), found);
        let candidates = match near {
            Some(found) if found.converged && found.breach < 1e-3 && !astray(&plan, &found) => vec![(warm, found)],
            near => match self.best_of_starts(&plan, near.as_ref()) {
                Ok(found) if found.converged && !astray(&plan, &found) => vec![cold(found)],
                poor => {
                    let led = self.led(leg, rake, &plan);
                    let poor = poor.map(|p| (led.is_none() || !astray(&plan, &p)).then_some(p));
                    match (poor, led) {
                        (Err(status), None) => return Err(status),
                        (poor, led) => poor.ok().flatten().into_iter().chain(led).map(cold).collect(),
                    }
                }
            },
        };
        // Of two that are not content it shows only at the end which is the better.
        let mut finished: Vec<(Plan<'_>, Optimum)> = Vec::new();
        let mut status = Status::Unsettled;
        for (mut plan, found) in candidates {
            match self.finished(leg, &mut plan, found) {
                Ok(found) => finished.push((plan, found)),
                Err(s) => status = s,
            }
        }
        let best = finished.into_iter().max_by(|a, b| worth(&a.1).total_cmp(&worth(&b.1)));
        best.map(|(plan, found)| self.described(leg, &plan, found)).ok_or(status)
    }

    /// What a search found, with downhaul and sprit set by it as common practice sets them, and gone on with as long as that gains.
    fn finished(&self, leg: Leg, plan: &mut Plan<'_>, mut found: Optimum) -> Result<Optimum, Status> {
        let downhaul = self.boat.class.downhaul.filter(|_| leg == Leg::Beat);
        let sprit = self.boat.rig.sprit;
        if downhaul.is_some() || sprit.is_some() {
            // Downhaul until the wrinkles, sprit until the crease from throat to clew are just gone in the mean wind: common practice;
            // twice is enough, they move little else.
            for _ in 0..2 {
                let mean = &found.winds[self.middle()];
                let mut set = Vec::new();
                if let Some(stiffness) = downhaul {
                    let snug = self.boat.constants.luff_tension_snug;
                    let tension = (mean.controls[Control::Downhaul.index()] + snug) * mean.whole.sail.wrinkle / WRINKLES_GONE;
                    set.push((Control::Downhaul, (tension - snug).clamp(0.0, DOWNHAUL_MOST * stiffness)));
                }
                if sprit.is_some() {
                    set.push((Control::Sprit, (CREASE_GONE * mean.whole.sail.sprit_needed).clamp(0.0, SPRIT_MOST)));
                }
                match self.set_to(plan, &found, &set) {
                    Some(next) => found = next,
                    None => break,
                }
            }
        }
        // A search whose rounds ran out goes on from where it stood: with the curvature it had learned, then with none.
        for fresh in [false, true] {
            if found.converged {
                break;
            }
            let known = (!fresh).then_some(&found.curvature);
            if let Ok(more) = optimum(plan, &found.winds, &SEARCH, known)
                && worth(&more) >= worth(&found)
            {
                found = more;
            }
        }
        // At the limit of what the sailor can hold the ground is steep across it and flat along it, and a search can be content too soon: it looks again with what it learned
        // forgotten, as long as that gains.
        let strained = |found: &Optimum| found.winds.iter().any(|w| w.whole.hike > FLAT_OUT * plan.limits.hike);
        for _ in 0..LOOKS_AGAIN {
            if !strained(&found) {
                break;
            }
            match optimum(plan, &found.winds, &SEARCH, None) {
                Ok(more) if worth(&more) > worth(&found) + GAIN * found.value.abs() => found = more,
                _ => break,
            }
        }
        Ok(found)
    }

    /// What was found with a few given settings moved to where they should be: at once, or where that loses her in strides that shorten, or from the usual starts.
    /// Where all that loses her nothing is moved.
    fn set_to(&self, plan: &mut Plan<'_>, found: &Optimum, set: &[(Control, f64)]) -> Option<Optimum> {
        let from = found.winds.first()?.controls;
        let (mut at, mut share, mut stride) = (found.clone(), 0.0, 1.0);
        while share < 1.0 && stride >= SET_LEAST {
            let to = f64::min(share + stride, 1.0);
            let mut starts = at.winds.clone();
            for (control, value) in set {
                let value = from[control.index()] + to * (value - from[control.index()]);
                held(plan, *control, value);
                starts = starts.iter().map(|t| with(t, *control, value)).collect();
            }
            // So small a change costs no boat a twentieth of her speed: one that lost it fell into another state.
            let next = optimum(plan, &starts, &SEARCH, Some(&at.curvature)).ok();
            match next.filter(|next| !astray(plan, next) && next.value > 0.95 * at.value) {
                Some(next) => (at, share) = (next, to),
                None => stride *= 0.5,
            }
        }
        if share >= 1.0 {
            return Some(at);
        }
        set.iter().for_each(|(control, value)| held(plan, *control, *value));
        if let Some(anew) = self.best_of_starts(plan, None).ok().filter(|anew| !astray(plan, anew) && anew.value > 0.95 * found.value) {
            return Some(anew);
        }
        set.iter().for_each(|(control, _)| held(plan, *control, from[control.index()]));
        None
    }

    /// A search that was lost from every start is led there from a lighter wind, in strides that shorten where it is lost again.
    fn led(&self, leg: Leg, rake: f64, plan: &Plan<'_>) -> Option<Optimum> {
        let lighter = |share: f64| {
            let wind = WindProfile { at_meter: self.conditions.wind.at_meter * share, ..self.conditions.wind };
            Request { conditions: Conditions { wind, ..self.conditions }, bands: false, ..*self }
        };
        let firm = |plan: &Plan<'_>, found: Result<Optimum, Status>| found.ok().filter(|o| o.converged && !astray(plan, o));
        let (mut share, mut known) = LED_FROM.into_iter().find_map(|share| {
            let begun = lighter(share);
            let plan = begun.plan(leg, begun.usual(leg, rake));
            Some((share, firm(&plan, begun.best_of_starts(&plan, None))?))
        })?;
        let mut stride = LED_STRIDE;
        for _ in 0..LED_STRIDES {
            // To the wind itself by the plan itself.
            let to = share + stride;
            let arriving = to > 1.0 - 1e-9;
            let found = if arriving {
                firm(plan, optimum(plan, &known.winds, &SEARCH, Some(&known.curvature)))
            } else {
                let nearer = lighter(to);
                let plan = nearer.plan(leg, nearer.usual(leg, rake));
                firm(&plan, optimum(&plan, &known.winds, &SEARCH, Some(&known.curvature)))
            };
            match found {
                Some(found) if arriving => return Some(found),
                Some(found) => (share, known) = (to, found),
                None => stride *= 0.5,
            }
            if stride < LED_STRIDE_LEAST {
                break;
            }
        }
        None
    }

    /// Searches from the usual start, then from fuller and easier trim, and keeps the best that breaks no limit. A reach has two
    /// branches, the sail drawing or stalled, and both are tried; where a search near by was lost, the stalled one alone if it is
    /// better than that.
    fn best_of_starts(&self, plan: &Plan<'_>, lost: Option<&Optimum>) -> Result<Optimum, Status> {
        let mut best: Option<Optimum> = None;
        let mut status = Status::Unsettled;
        let starts: &[(f64, f64)] = match plan.aim {
            Aim::Speed => &[(0.0, STALLED), (0.0, 0.0), (0.0, 6.0 * DEGREE)],
            Aim::Upwind => &[(0.0, 0.0), (7.0 * DEGREE, 9.0 * DEGREE), (-3.0 * DEGREE, -4.0 * DEGREE)],
            Aim::Downwind => &[(0.0, 0.0), (-7.0 * DEGREE, 9.0 * DEGREE), (3.0 * DEGREE, -4.0 * DEGREE)],
        };
        for (k, (angle, boom)) in starts.iter().enumerate() {
            let mut from = plan.clone();
            for node in &mut from.winds {
                let course = node.from[Control::WindAngle.index()];
                // Only a broad reach has a stalled branch worth the name.
                if *boom != STALLED || course > BROAD {
                    node.from[Control::WindAngle.index()] += angle;
                    node.from[Control::Boom.index()] += boom;
                }
            }
            let mut found = optimum(&from, &[], &SEARCH, None);
            if found.is_err() && plan.aim == Aim::Speed {
                // A boat that no rudder holds, or that has two balances, with the board so far up: from half of it.
                from.winds.iter_mut().for_each(|n| n.from[Control::Board.index()] *= 0.5);
                found = optimum(&from, &[], &SEARCH, None);
            }
            match found {
                Ok(o) => {
                    if best.as_ref().is_none_or(|b| worth(&o) > worth(b)) {
                        best = Some(o);
                    }
                }
                Err(s) => status = s,
            }
            // One start is enough where it is content: the others guard against a poor first guess.
            let branches =
                if plan.aim == Aim::Speed && !lost.is_some_and(|l| best.as_ref().is_some_and(|b| b.value > l.value)) { 1 } else { 0 };
            if k >= branches && best.as_ref().is_some_and(|b| b.converged && b.breach < 1e-3 && !astray(plan, b)) {
                break;
            }
        }
        best.ok_or(status)
    }

    fn described(&self, leg: Leg, plan: &Plan<'_>, found: Optimum) -> LegSetup {
        let mean = &found.winds[self.middle()];
        let hike = mean.whole.hike;
        let sit = Sit::of(hike, plan.limits.hike);
        let looks = Looks::of(&sail_state(mean), &mean.whole.sail, mean.controls[Control::Sprit.index()]);
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
            middle: self.middle(),
            curvature: found.curvature,
            winds: found.winds,
        }
    }
}

/// Whether a beat's search ended where no boat makes her best: at a course as high as is looked at (one that has all but stopped finds no better near by), or sliding
/// with her board stalled, which is a second balance of the same settings.
fn astray(plan: &Plan<'_>, found: &Optimum) -> bool {
    let course = plan.trimmed.iter().find(|c| c.control == Control::WindAngle).filter(|_| plan.aim == Aim::Upwind);
    let poor = |c: &Choice, w: &Trimmed| w.controls[Control::WindAngle.index()] < c.low + PINCHED || w.whole.leeway.abs() > SLIDING;
    course.is_some_and(|c| found.winds.iter().any(|w| poor(c, w)))
}

/// What a search reached, less what it breaks of its limits.
fn worth(found: &Optimum) -> f64 {
    found.value - 10.0 * found.breach.max(0.0)
}

/// Gives a control one value in every wind.
fn held(plan: &mut Plan<'_>, control: Control, value: f64) {
    plan.given[control.index()] = value;
    plan.winds.iter_mut().for_each(|n| n.from[control.index()] = value);
}

fn sail_state(at: &Trimmed) -> SailState<f64> {
    SailState::from_row(&core::array::from_fn(|k| at.state.0[k]))
}
