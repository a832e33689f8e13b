//! A tack, a gybe, a bear-away and a round-up in time, with the boat's own sail, and what each loses against sailing on.
//!
//! Beat and run are solved ([`Request`]), held upright; the helm turns from the one course to the other. Sail, hull, board and rudder are
//! those of the steady model in the flow of the moment ([`crate::sail`] in agreement with itself at every step); settings go over with
//! the share of the turn, so that what is lost is lost by turning and sheeting alone ([`crate::handling`] has the other controls).
//! The sheet comes in as fast as hands haul it, the boom goes out as fast as the wind takes it, and what the sailor cannot hold is eased.
//! Where the apparent wind stands ahead of the boom the sail flogs: a flag's drag and nothing else. In a gybe the boom is pulled across
//! when the wind comes from dead astern, and the sail draws as its breadth across the wind does. Figures of hands: `data/hands.toml`.
//!
//! Fixed steps of Runge-Kutta's fourth order in which the sail's load goes on as over the last step: of second order in the step. The steady model's own answer on both legs is an exact rest of the motion: the small force that is
//! missing to it (hull drag acts at another point, chop) goes along, [`Crewed::closing`] tells how small.
//!
//! Left out: heel and what a body does with it (a roll tack), gusts, waves that stop a tack, the boat's own way of bearing off after it.

use super::{Pose, Turning};
use crate::balance::{Control, Controls, Status, Tack};
use crate::hands::Hands;
use crate::hull::resistance::windage;
use crate::load::Load;
use crate::optimum::Trimmed;
use crate::sail::{self, Follower, SailInput, SailState};
use crate::setup::{Leg, Request};
use core::f64::consts::{FRAC_PI_2, PI, TAU};
use measure::angle::DEGREE;

/// Step, s: half of it moves no loss by more than [`ERROR`].
pub const STEP: f64 = 0.1;
/// Parts of a step for hull, rudder and sheet.
const STRIDES: u32 = 4;
/// What half the step moves a loss by at most, m.
pub const ERROR: f64 = 0.02;
/// Rudder of a usual turn, rad. Common practice, no source: more is a brake.
pub const RUDDER: f64 = 25.0 * DEGREE;
/// A turn that is not over by now has failed, s.
const LONGEST: f64 = 60.0;
/// Rudder per angle off the course, and how far ahead the helm looks, s. Assumed: a helm that neither hunts nor dawdles.
const HELM: f64 = 1.5;
const AHEAD: f64 = 0.5;
/// How soon a hand answers what it sees, s. Assumed.
const ANSWER: f64 = 0.15;
/// How far aft of the mast the sail's flow is looked at for its side and for the turning, feet of sail.
const CENTRE: f64 = 0.4;
/// Over so much incidence a filling sail goes over from a flag to its own forces, rad. Assumed.
const FILLING: f64 = 4.0 * DEGREE;
/// What a sailor who cannot hold the boat eases, rad for a metre too far out. Assumed: half the boom's way for 20 cm.
const EASED: f64 = 200.0 * DEGREE;
/// On her course: angle, rad, rate, rad/s, and share of the new speed still missing, whose time is reckoned.
const SETTLED: [f64; 3] = [DEGREE, 0.02, 0.03];
/// Turned, as far as a coach with a stopwatch sees: so near the new course, rad.
const TURNED: f64 = 5.0 * DEGREE;

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

    const fn legs(self) -> [Leg; 2] {
        match self {
            Self::Tack => [Leg::Beat, Leg::Beat],
            Self::Gybe => [Leg::Run, Leg::Run],
            Self::BearAway => [Leg::Beat, Leg::Run],
            Self::RoundUp => [Leg::Run, Leg::Beat],
        }
    }

    const fn changes_tack(self) -> bool {
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
    /// Until she was within 5 degrees of the new course, s.
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

impl<'a> Crewed<'a> {
    /// Solves beat and run in the mean wind.
    ///
    /// # Errors
    /// The model's status where a leg has no answer.
    pub fn of(request: &Request<'a>) -> Result<Self, Status> {
        let steady = Request { gusts: 1.0, bands: false, ..*request };
        let beat = steady.leg(Leg::Beat, 0.0)?;
        let run = steady.leg(Leg::Run, beat.mean().controls[Control::Rake.index()])?;
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
            Ok([own, there])
        };
        Ok(Self {
            request: *request,
            beat: both(Leg::Beat, beat)?,
            run: both(Leg::Run, run)?,
            hands: Hands::of(request.sailor.skill),
        })
    }

    fn leg(&self, leg: Leg, changed: bool) -> &Trimmed {
        let both = if leg == Leg::Run { &self.run } else { &self.beat };
        &both[usize::from(changed)]
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
        Turn::of(self, manoeuvre).sailed(rudder, step)
    }

    /// Force ahead and across, N, and moment, N m, that the motion lacks on a leg to rest as the steady model does; and the sail's
    /// drive there, N, for comparison.
    #[must_use]
    pub fn closing(&self, manoeuvre: Manoeuvre) -> [[f64; 3]; 2] {
        let turn = Turn::of(self, manoeuvre);
        [turn.from.closing, turn.to.closing].map(|[x, y, n, _]| [x, y, n])
    }
}

/// A leg as the turn begins or ends with it.
struct Steady<'a> {
    turning: Turning<'a>,
    controls: Controls,
    sail: SailState<f64>,
    lies: [f64; 2],
    speed: f64,
    leeway: f64,
    made_good: f64,
    /// Rudder in the frame of the first tack, rad.
    rudder: f64,
    /// Force ahead and across, moment, and how far out, that close the balance.
    closing: [f64; 4],
}

/// Place, heading, motion, rudder, sheet.
type Row = [f64; 8];

/// One turn.
struct Turn<'c, 'a> {
    crewed: &'c Crewed<'a>,
    manoeuvre: Manoeuvre,
    from: Steady<'a>,
    to: Steady<'a>,
    /// The wind off the bow to the first windward side at the start, and what is turned to windward in all, rad.
    wind: f64,
    turn: f64,
    /// Which way the boom lies in the end: 1 as at first.
    side_out: f64,
}

/// What acts at a moment.
struct Acting {
    force: [f64; 3],
    /// To the first windward side, m.
    hike: f64,
}

/// The sail as it goes along.
struct Drawing<'a> {
    follower: Follower<'a>,
    /// Its load where it last settled, in its own frame: stands for it at a moment where it does not.
    last: Load<f64>,
    /// How many moments that were.
    missed: usize,
}

/// Where the boom is.
#[derive(Clone, Copy)]
struct Boom {
    /// 1 on the first leeward side.
    side: f64,
    /// When it was let go across in a gybe, s.
    across: Option<f64>,
}

fn mirrored(load: Load<f64>, side: f64) -> Load<f64> {
    let [x, y, z] = load.force;
    Load { force: [x, side * y, z], heeling: side * load.heeling, luffing: side * load.luffing, bow_down: load.bow_down }
}

fn mixed(a: f64, b: f64, share: f64) -> f64 {
    a + (b - a) * share
}

impl<'c, 'a> Turn<'c, 'a> {
    fn of(crewed: &'c Crewed<'a>, manoeuvre: Manoeuvre) -> Self {
        let boat = crewed.request.boat;
        let changes = manoeuvre.changes_tack();
        let side_out = if changes { -1.0 } else { 1.0 };
        let [leg_in, leg_out] = manoeuvre.legs();
        let other = match crewed.request.conditions.tack {
            Tack::Starboard => Tack::Port,
            Tack::Port => Tack::Starboard,
        };
        let steady = |leg: Leg, changed: bool, side: f64| {
            let at = crewed.leg(leg, changed);
            let whole = &at.whole;
            let seat = at.controls[Control::Seat.index()];
            let tack = if changed { other } else { crewed.request.conditions.tack };
            let lies = [at.state.0[sail::UNKNOWNS + 3], whole.trim];
            let attitude = boat.form.attitude(0.0, lies[0], lies[1]);
            let board = [at.controls[Control::Board.index()], side * boat.board_side(tack)];
            Steady {
                turning: Turning::lying(boat, &crewed.request.sailor, seat, board, attitude, whole.afloat),
                controls: at.controls,
                sail: SailState::from_row(&core::array::from_fn(|k| at.state.0[k])),
                lies,
                speed: whole.speed,
                leeway: whole.leeway,
                made_good: whole.made_good.abs(),
                rudder: side * whole.rudder_angle,
                closing: [0.0; 4],
            }
        };
        let (from, to) = (steady(leg_in, false, 1.0), steady(leg_out, changes, side_out));
        let off = |s: &Steady<'_>| s.controls[Control::WindAngle.index()] - s.leeway;
        let wind = off(&from);
        let turn = match manoeuvre {
            Manoeuvre::Tack => wind + off(&to),
            Manoeuvre::Gybe => wind + off(&to) - TAU,
            Manoeuvre::BearAway | Manoeuvre::RoundUp => wind - off(&to),
        };
        let mut turn = Self { crewed, manoeuvre, from, to, wind, turn, side_out };
        // What is missing to rest on either leg.
        let close = |turn: &Self, share: f64| {
            let (row, steady, side) = turn.rest(share);
            let boom = Boom { side, across: None };
            let mut sail = turn.drawing(&steady.sail);
            let load = turn.sail(0.0, &row, boom, &mut sail);
            let acting = turn.acting(&row, &load);
            let carried = turn.from.turning.added[0] * row[4];
            let [x, y, n] = acting.force;
            let hike = crewed.leg(if share > 0.5 { leg_out } else { leg_in }, share > 0.5 && changes).whole.hike;
            [-x, -y, -(n + row[3] * carried), side * hike - acting.hike]
        };
        (turn.from.closing, turn.to.closing) = (close(&turn, 0.0), close(&turn, 1.0));
        turn
    }

    /// At rest on the first leg or the second.
    fn rest(&self, share: f64) -> (Row, &Steady<'a>, f64) {
        let (steady, turned, side) = if share > 0.5 { (&self.to, self.turn, self.side_out) } else { (&self.from, 0.0, 1.0) };
        let (s, k) = steady.leeway.sin_cos();
        let row = [0.0, 0.0, turned, steady.speed * k, side * steady.speed * s, 0.0, steady.rudder, steady.controls[Control::Boom.index()]];
        (row, steady, side)
    }

    fn drawing(&self, state: &SailState<f64>) -> Drawing<'a> {
        let request = &self.crewed.request;
        let follower = Follower::from(&request.boat.rig, &request.boat.constants, request.conditions.air, state);
        Drawing { follower, last: Load::none(), missed: 0 }
    }

    fn share(&self, turned: f64) -> f64 {
        (turned / self.turn).clamp(0.0, 1.0)
    }

    fn mix(&self, share: f64, of: impl Fn(&Steady<'_>) -> f64) -> f64 {
        mixed(of(&self.from), of(&self.to), share)
    }

    /// Sideways through the water where the sail is, m/s, to the first leeward side.
    fn across_at_sail(&self, row: &Row) -> f64 {
        let g = &self.crewed.request.boat.rig.geometry;
        row[4] - row[5] * (g.partner[0] - CENTRE * g.foot - self.from.turning.attitude.pivot_x)
    }

    /// The apparent wind at the sail's middle, ahead and across, m/s, and its angle off the bow, rad, seen with the boom on a side.
    fn apparent(&self, row: &Row, side: f64) -> ([f64; 2], f64) {
        let request = &self.crewed.request;
        let g = &request.boat.rig.geometry;
        let blow = request.conditions.wind.at_meter * request.conditions.wind.ratio(g.partner[1] + g.tack + CENTRE * g.luff);
        let (s, k) = (self.wind - row[2]).sin_cos();
        let air = [blow * k + row[3], side * (blow * s - self.across_at_sail(row))];
        let angle = air[1].atan2(air[0]);
        (air, if angle < -FRAC_PI_2 { angle + TAU } else { angle })
    }

    /// The sail's load in the frame of the first tack.
    fn sail(&self, t: f64, row: &Row, boom: Boom, sail: &mut Drawing<'a>) -> Load<f64> {
        let share = self.share(row[2]);
        let request = &self.crewed.request;
        let (boat, c) = (request.boat, &request.boat.constants);
        let g = &boat.rig.geometry;
        let (air, angle) = self.apparent(row, boom.side);
        let [ahead, across] = air;
        let out = row[7].max(1e-3);
        // A flag along the wind.
        let pace = ahead.hypot(across);
        let drag = 0.5 * request.conditions.air.density * g.area * (c.drag_flapping + c.drag_least) * pace;
        let lies = angle.min(out);
        let place = [
            g.partner[0] - CENTRE * g.foot * lies.cos(),
            CENTRE * g.foot * lies.sin(),
            g.partner[1] + g.tack + CENTRE * g.luff - mixed(self.from.lies[0], self.to.lies[0], share),
        ];
        let flag = Load::at(place, [-drag * ahead, drag * across, 0.0]);
        let fills = ((angle - out) / FILLING).clamp(0.0, 1.0);
        let fills = fills * fills * (3.0 - 2.0 * fills);
        if fills <= 0.0 {
            return mirrored(flag, boom.side);
        }
        let p = |control: Control| self.mix(share, |s| s.controls[control.index()]);
        let (u, v) = (row[3], boom.side * self.across_at_sail(row));
        let leeway = v.atan2(u);
        let input = SailInput {
            attitude: boat.form.attitude(0.0, self.mix(share, |s| s.lies[0]), self.mix(share, |s| s.lies[1])),
            speed: u.hypot(v),
            leeway,
            twa_to_track: boom.side * (self.wind - row[2]) + leeway + (out + FILLING - angle).max(0.0),
            wind: request.conditions.wind,
            roll_rate: 0.0,
            rake: p(Control::Rake),
            boom: out,
            car: p(Control::Car),
            gap: p(Control::Gap),
            vang_tension: p(Control::Vang),
            luff_tension: p(Control::Downhaul) + c.luff_tension_snug,
            sprit: p(Control::Sprit),
        };
        match sail.follower.answer(&input) {
            Some(answer) => sail.last = answer.load,
            None => sail.missed += 1,
        }
        let drawn = mixed_load(&flag, &sail.last, fills);
        // On its way across a boom shows the wind less sail.
        let shows = boom.across.map_or(1.0, |at| {
            let phase = ((t - at) / self.crewed.hands.boom_across).clamp(0.0, 1.0);
            ((out * (PI * phase).cos()).sin() / out.sin().max(0.1)).abs().min(1.0)
        });
        mirrored(mixed_load(&flag, &drawn, shows), boom.side)
    }

    fn acting(&self, row: &Row, sail: &Load<f64>) -> Acting {
        let request = &self.crewed.request;
        let c = &request.boat.constants;
        let share = self.share(row[2]);
        let pose = pose(0.0, row);
        let water = if share <= 0.0 {
            self.from.turning.load(&pose, row[6])
        } else if share >= 1.0 {
            self.to.turning.load(&pose, row[6])
        } else {
            mixed_load(&self.from.turning.load(&pose, row[6]), &self.to.turning.load(&pose, row[6]), share)
        };
        let (s, k) = (self.wind - row[2]).sin_cos();
        let blow = request.conditions.wind.at_meter * request.conditions.wind.ratio(c.windage_height);
        let air = [-(blow * k) - row[3], blow * s - row[4]];
        let seat = self.mix(share, |s| s.controls[Control::Seat.index()]);
        let body = windage(c, request.conditions.air, air, seat, request.sailor.mass);
        let sum = water.and(body).and(*sail);
        let closing: [f64; 4] = core::array::from_fn(|i| mixed(self.from.closing[i], self.to.closing[i], share));
        let weight = request.sailor.mass * measure::quantity::GRAVITY;
        let force = [sum.force[0], sum.force[1], self.from.turning.about_pivot(&sum)];
        Acting { force: core::array::from_fn(|i| force[i] + closing[i]), hike: sum.heeling / weight + closing[3] }
    }

    /// How everything changes, and how far out the sailor must be.
    fn slope(&self, row: &Row, rudder: f64, sail: &Load<f64>) -> (Row, f64) {
        let hands = &self.crewed.hands;
        let request = &self.crewed.request;
        let acting = self.acting(row, sail);
        let [x, y, turned, u, v, r] = self.from.turning.motion(&pose(0.0, row), acting.force);
        let share = self.share(row[2]);
        let off = self.turn - row[2] - AHEAD * row[5];
        let wanted = (self.mix(share, |s| s.rudder) - HELM * off).clamp(-rudder, rudder);
        let steer = ((wanted - row[6]) / ANSWER).clamp(-hands.tiller_rate, hands.tiller_rate);
        let reach = request.sailor.reach(&request.boat.class, &request.boat.constants);
        let trim = self.mix(share, |s| s.controls[Control::Boom.index()]) + EASED * (acting.hike.abs() - reach).max(0.0);
        let sheet = &request.boat.class.sheet;
        let haul = hands.sheet_in / (sheet.purchase.max(1.0) * sheet.on_boom.max(0.2));
        let run = ((trim.min(FRAC_PI_2) - row[7]) / ANSWER).clamp(-haul, hands.boom_out);
        ([x, y, turned, u, v, r, steer, run], acting.hike)
    }

    /// Where the boom is after a step.
    fn boom(&self, before: &(f64, Row), after: &(f64, Row), boom: Boom) -> Boom {
        let done = |row: &Row| row[2] / self.turn;
        match boom.across {
            Some(at) if after.0 >= at + self.crewed.hands.boom_across => Boom { across: None, ..boom },
            // Half way the other side of the sail is to windward.
            Some(at) => Boom { side: if after.0 >= at + 0.5 * self.crewed.hands.boom_across { self.side_out } else { boom.side }, ..boom },
            None if self.apparent(&after.1, boom.side).1 < 0.0 => Boom { side: -boom.side, ..boom },
            None if self.manoeuvre == Manoeuvre::Gybe && boom.side != self.side_out && (done(&after.1) >= 0.5 || (self.turn - after.1[2]).abs() < 2.0 * SETTLED[0]) => {
                let (first, last) = (done(&before.1), done(&after.1));
                let share = if last > first { ((0.5 - first) / (last - first)).clamp(0.0, 1.0) } else { 1.0 };
                Boom { across: Some(before.0 + share * (after.0 - before.0)), ..boom }
            }
            None => boom,
        }
    }

    /// The time in which she makes up all but a third of what speed is missing on the second leg, s.
    fn gathers(&self) -> f64 {
        let (row, steady, side) = self.rest(1.0);
        let boom = Boom { side, across: None };
        let mut sail = self.drawing(&steady.sail);
        let mut at = |share: f64| {
            let mut row = row;
            row[3] *= share;
            row[4] *= share;
            let load = self.sail(0.0, &row, boom, &mut sail);
            self.acting(&row, &load).force[0]
        };
        let slope = (at(0.98) - at(1.02)) / (0.04 * row[3]);
        if slope > 0.0 { self.from.turning.mass / slope } else { 0.0 }
    }

    /// A step in parts that the quick turning of hull and rudder asks for, with the sail's load by the share of the step.
    fn strides(&self, row: &Row, step: f64, rudder: f64, drawing: impl Fn(f64) -> Load<f64>) -> Row {
        let (h, part) = (step / f64::from(STRIDES), 1.0 / f64::from(STRIDES));
        let mut row = *row;
        for stride in 0..STRIDES {
            let sail = |share: f64| drawing((f64::from(stride) + share) * part);
            let along = |k: &Row, share: f64| -> Row { core::array::from_fn(|i| row[i] + share * h * k[i]) };
            let (k1, _) = self.slope(&row, rudder, &sail(0.0));
            let (k2, _) = self.slope(&along(&k1, 0.5), rudder, &sail(0.5));
            let (k3, _) = self.slope(&along(&k2, 0.5), rudder, &sail(0.5));
            let (k4, _) = self.slope(&along(&k3, 1.0), rudder, &sail(1.0));
            row = core::array::from_fn(|i| row[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]));
        }
        row
    }

    fn sailed(&self, rudder: f64, step: f64) -> Result<TurnInTime, Unturned> {
        let (mut row, steady, _) = self.rest(0.0);
        let mut sail = self.drawing(&steady.sail);
        let mut boom = Boom { side: 1.0, across: None };
        let (mut t, mut path) = (0.0, Vec::new());
        let (mut turned_at, mut astern, mut half) = (None, false, None);
        let pace = |row: &Row| row[3].hypot(row[4]);
        let mut last: Option<(f64, Load<f64>)> = None;
        let settled = loop {
            let load = self.sail(t, &row, boom, &mut sail);
            // Within the step the sail goes on as it went over the last one; a boom that changed sides begins anew.
            let trend = last.filter(|(side, _)| *side == boom.side).map_or(load, |(_, before)| before);
            last = Some((boom.side, load));
            let drawing = |share: f64| mixed_load(&trend, &load, 1.0 + share);
            let (_, hike) = self.slope(&row, rudder, &load);
            path.push(Moment { pose: pose(t, &row), rudder: row[6], boom: row[7], hike });
            let next = self.strides(&row, step, rudder, drawing);
            if !next.iter().all(|v| v.is_finite()) {
                break false;
            }
            boom = self.boom(&(t, row), &(t + step, next), boom);
            let (done, now) = ((row[2] / self.turn), (next[2] / self.turn));
            if half.is_none() && (now >= 0.5 || boom.across.is_some()) {
                half = Some(t + step * if now > done { ((0.5 - done) / (now - done)).clamp(0.0, 1.0) } else { 1.0 });
            }
            (t, row) = (t + step, next);
            astern |= row[3] < 0.0;
            let off = (self.turn - row[2]).abs();
            if turned_at.is_none() && off < TURNED {
                turned_at = Some(t);
            }
            let missing = (1.0 - pace(&row) / self.to.speed).abs();
            let trimmed = (row[7] - self.to.controls[Control::Boom.index()]).abs() < DEGREE && boom.across.is_none() && boom.side == self.side_out;
            if off < SETTLED[0] && row[5].abs() < SETTLED[1] && missing < SETTLED[2] && trimmed {
                break true;
            }
            if t > LONGEST {
                println!("   LATE off {:.2} r {:.3} missing {missing:.3} boom {:.1} of {:.1} {:?} missed {}", off / DEGREE, row[5], row[7] / DEGREE, self.to.controls[1] / DEGREE, boom.across, sail.missed);
                break false;
            }
        };
        let (Some(seconds), Some(half), true) = (turned_at, half, settled) else {
            return Err(if astern || turned_at.is_none() { Unturned::InIrons } else { Unturned::Unsettled });
        };
        let load = self.sail(t, &row, boom, &mut sail);
        let (_, hike) = self.slope(&row, rudder, &load);
        path.push(Moment { pose: pose(t, &row), rudder: row[6], boom: row[7], hike });
        let behind = self.behind(&path, half) + (1.0 - pace(&row) / self.to.speed) * self.gathers();
        let least = path.iter().map(|m| m.pose.pace()).fold(f64::INFINITY, f64::min);
        let radius = path.iter().map(|m| m.pose.pace() / m.pose.rate.abs().max(1e-9)).fold(f64::INFINITY, f64::min);
        let hike_most = path.iter().map(|m| m.hike.abs()).fold(0.0, f64::max);
        Ok(TurnInTime {
            manoeuvre: self.manoeuvre,
            rudder,
            seconds,
            seconds_lost: behind,
            metres_lost: behind * self.to.made_good,
            least_speed: least,
            radius,
            hike_most,
            missed: sail.missed,
            path,
        })
    }

    /// Along the wind, m to windward of the start.
    fn windward(&self, pose: &Pose) -> f64 {
        let (s, k) = self.wind.sin_cos();
        pose.x * k - pose.y * s
    }

    /// Seconds behind one who makes good along the wind what the steady legs do, and turns on the spot: of a turn to the other tack
    /// half way round, of a turn from one leg to the other at the farthest point to windward or to leeward that she got to. Boats on a
    /// line across the wind are level.
    fn behind(&self, path: &[Moment], half: f64) -> f64 {
        let Some(last) = path.last() else { return 0.0 };
        let (into, out) = (self.from.made_good, self.to.made_good);
        let good = self.windward(&last.pose);
        if self.manoeuvre.changes_tack() {
            return (into * half + out * (last.pose.t - half) - good.abs()) / out;
        }
        let sign = if self.manoeuvre == Manoeuvre::BearAway { 1.0 } else { -1.0 };
        let farthest = path.iter().map(|m| sign * self.windward(&m.pose)).fold(f64::NEG_INFINITY, f64::max);
        last.pose.t - farthest / into - (farthest - sign * good) / out
    }
}

fn pose(t: f64, row: &Row) -> Pose {
    let [x, y, turned, ahead, across, rate, ..] = *row;
    Pose { t, x, y, turned, ahead, across, rate }
}

fn mixed_load(a: &Load<f64>, b: &Load<f64>, share: f64) -> Load<f64> {
    Load {
        force: core::array::from_fn(|i| mixed(a.force[i], b.force[i], share)),
        heeling: mixed(a.heeling, b.heeling, share),
        luffing: mixed(a.luffing, b.luffing, share),
        bow_down: mixed(a.bow_down, b.bow_down, share),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Constants;
    use crate::balance::{Boat, Conditions};
    use crate::class::Class;
    use crate::crew::{Sailor, Skill};
    use measure::fluid::air;
    use measure::{Length, Speed, Temperature, Water, WindLaw};

    fn conditions(wind: f64) -> Conditions {
        let wind = WindLaw::Open.profile(Speed::metres_per_second(wind), Length::metres(2.0));
        Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard }
    }

    #[test]
    fn trace() {
        let boat = Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard());
        let request = Request { boat: &boat, sailor: Sailor::of(45.0, Skill::Races), conditions: conditions(10.0), gusts: 1.0, reach: None, bands: false };
        let crewed = Crewed::of(&request).unwrap();
        let w = &crewed.beat[0];
        println!("controls {:?} hike {} reach {}", w.controls, w.whole.hike, request.sailor.reach(&boat.class, Constants::standard()));
        let turn = Turn::of(&crewed, Manoeuvre::Tack);
        let (mut row, steady, _) = turn.rest(0.0);
        let mut sail = turn.drawing(&steady.sail);
        let boom = Boom { side: 1.0, across: None };
        for k in 0..0 {
            let load = turn.sail(0.0, &row, boom, &mut sail);
            let (k1, hike) = turn.slope(&row, 35.0 * DEGREE, &load);
            if k % 5 == 0 { println!("t {:.2} turned {:.1} u {:.2} v {:.2} r {:.2} rudder {:.1} boom {:.1} hike {:.2} sail {:.1?} luff {:.1} A {:.1}", k as f64 * 0.03, row[2]/DEGREE, row[3], row[4], row[5], row[6]/DEGREE, row[7]/DEGREE, hike, load.force, load.luffing, turn.apparent(&row, 1.0).1 / DEGREE); }
            let middle: Row = core::array::from_fn(|i| row[i] + 0.015 * k1[i]);
            let (k2, _) = turn.slope(&middle, 35.0 * DEGREE, &load);
            row = core::array::from_fn(|i| row[i] + 0.03 * k2[i]);
        }
    }

    #[test]
    fn look() {
        let boat = Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard());
        for wind in [2.5, 4.0, 6.0, 8.0, 10.0] {
            let request = Request { boat: &boat, sailor: Sailor::of(45.0, Skill::Races), conditions: conditions(wind), gusts: 1.0, reach: None, bands: false };
            let begun = std::time::Instant::now();
            let crewed = match Crewed::of(&request) { Ok(c) => c, Err(s) => { println!("{wind}: {}", s.words()); continue } };
            println!("{wind} m/s: legs in {:?}; beat {:.3} run {:.3}; drive {:.1}", begun.elapsed(), crewed.beat[0].whole.speed, crewed.run[0].whole.speed, crewed.beat[0].whole.sail.load.force[0]);
            for m in Manoeuvre::ALL {
                let begun = std::time::Instant::now();
                let found = crewed.sail_round(m);
                let took = begun.elapsed();
                match found {
                    Ok(f) => {
                        println!("  {:<10} {:?} {:.2} s, lost {:.2} s {:.2} m, least {:.2}, radius {:.2}, hike {:.2}, steps {} missed {} t {:.1}, closing {:.2?}", m.name(), took, f.seconds, f.seconds_lost, f.metres_lost, f.least_speed, f.radius, f.hike_most, f.path.len(), f.missed, f.path.last().unwrap().pose.t, crewed.closing(m));
                        for rudder in [15.0, 20.0, 30.0, 35.0, 40.0] { if let Ok(f) = crewed.sail_round_with(m, rudder * DEGREE, STEP) { println!("       rudder {rudder}: {:.2} s {:.2} m least {:.2} radius {:.2}", f.seconds, f.metres_lost, f.least_speed, f.radius); } }
                        for step in [2.0, 0.25] { println!("      step {} {:?}", step * STEP, crewed.sail_round_with(m, RUDDER, step * STEP).map(|f| f.metres_lost)); }
                        let fine = crewed.sail_round_with(m, RUDDER, 0.5 * STEP).map(|f| f.metres_lost);
                        println!("     half step {fine:?}");
                    }
                    Err(e) => { println!("  {} {:?} {}", m.name(), took, e.words());
                        for rudder in [15.0, 20.0, 30.0, 35.0, 40.0] { println!("       rudder {rudder}: {:?}", crewed.sail_round_with(m, rudder * DEGREE, STEP).map(|f| (f.seconds, f.metres_lost, f.least_speed, f.radius))); }
                    }
                }
            }
        }
    }
}
