//! One turn in time: sail, hull, board and rudder in the flow of the moment, the helm, the sheet and the boom.
//!
//! Equations and what is assumed: [`super::sailed`], `docs/theory/turning.md`.

use super::sailed::{Crewed, Manoeuvre, Moment, TurnInTime, Unturned};
use super::{Pose, Turning};
use crate::balance::{Control, Controls, Tack};
use crate::hull::resistance::windage;
use crate::load::Load;
use crate::sail::{self, Follower, SailInput, SailState};
use crate::setup::Leg;
use core::f64::consts::{FRAC_PI_2, PI, TAU};
use measure::angle::DEGREE;

/// Parts of a step for hull, rudder and sheet.
const STRIDES: u32 = 4;
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
/// A run this near to dead before the wind is gybed without turning, rad.
const DEEP: f64 = 10.0 * DEGREE;
/// Turned, as far as a coach with a stopwatch sees: so near the new course, rad.
const TURNED: f64 = 5.0 * DEGREE;

/// A leg as the turn begins or ends with it.
pub(super) struct Steady<'a> {
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
    pub(super) closing: [f64; 4],
}

/// Place, heading, motion, rudder, sheet.
type Row = [f64; 8];

/// One turn.
pub(super) struct Turn<'c, 'a> {
    crewed: &'c Crewed<'a>,
    manoeuvre: Manoeuvre,
    pub(super) from: Steady<'a>,
    pub(super) to: Steady<'a>,
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
    /// When it was pulled across in a gybe, s.
    across: Option<f64>,
    /// Share of that way it has gone.
    gone: f64,
}

fn mirrored(load: Load<f64>, side: f64) -> Load<f64> {
    let [x, y, z] = load.force;
    Load { force: [x, side * y, z], heeling: side * load.heeling, luffing: side * load.luffing, bow_down: load.bow_down }
}

fn mixed(a: f64, b: f64, share: f64) -> f64 {
    a + (b - a) * share
}

impl<'c, 'a> Turn<'c, 'a> {
    pub(super) fn of(crewed: &'c Crewed<'a>, manoeuvre: Manoeuvre) -> Self {
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
            let boom = Boom { side, across: None, gone: share };
            let mut sail = turn.drawing(&steady.sail);
            let load = turn.sail(&row, boom, &mut sail);
            let acting = turn.acting(&row, boom, &load);
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

    /// How far settings and helm have gone over from the first leg to the second: with the turn, in a gybe with the boom.
    fn share(&self, turned: f64, boom: Boom) -> f64 {
        if self.manoeuvre == Manoeuvre::Gybe { boom.gone } else { (turned / self.turn).clamp(0.0, 1.0) }
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
    fn sail(&self, row: &Row, boom: Boom, sail: &mut Drawing<'a>) -> Load<f64> {
        let share = self.share(row[2], boom);
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
        let shows = boom.across.map_or(1.0, |_| ((out * (PI * boom.gone).cos()).sin() / out.sin().max(0.1)).abs().min(1.0));
        mirrored(mixed_load(&flag, &drawn, shows), boom.side)
    }

    /// Wind on hull, spars and sailor.
    fn blown(&self, row: &Row, boom: Boom) -> Load<f64> {
        let request = &self.crewed.request;
        let c = &request.boat.constants;
        let (s, k) = (self.wind - row[2]).sin_cos();
        let blow = request.conditions.wind.at_meter * request.conditions.wind.ratio(c.windage_height);
        let air = [-(blow * k) - row[3], blow * s - row[4]];
        let seat = self.mix(self.share(row[2], boom), |s| s.controls[Control::Seat.index()]);
        windage(c, request.conditions.air, air, seat, request.sailor.mass)
    }

    fn acting(&self, row: &Row, boom: Boom, sail: &Load<f64>) -> Acting {
        let request = &self.crewed.request;
        let share = self.share(row[2], boom);
        let pose = pose(0.0, row);
        let water = if share <= 0.0 {
            self.from.turning.load(&pose, row[6])
        } else if share >= 1.0 {
            self.to.turning.load(&pose, row[6])
        } else {
            mixed_load(&self.from.turning.load(&pose, row[6]), &self.to.turning.load(&pose, row[6]), share)
        };
        let sum = water.and(self.blown(row, boom)).and(*sail);
        let closing: [f64; 4] = core::array::from_fn(|i| mixed(self.from.closing[i], self.to.closing[i], share));
        let weight = request.sailor.mass * measure::quantity::GRAVITY;
        let force = [sum.force[0], sum.force[1], self.from.turning.about_pivot(&sum)];
        Acting { force: core::array::from_fn(|i| force[i] + closing[i]), hike: sum.heeling / weight + closing[3] }
    }

    /// How everything changes, and how far out the sailor must be.
    fn slope(&self, row: &Row, boom: Boom, rudder: f64, sail: &Load<f64>) -> (Row, f64) {
        let hands = &self.crewed.hands();
        let request = &self.crewed.request;
        let acting = self.acting(row, boom, sail);
        let [x, y, turned, u, v, r] = self.from.turning.motion(&pose(0.0, row), acting.force);
        let share = self.share(row[2], boom);
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

    /// Where the boom is after a step: it swings through with the wind ahead, and is pulled across half way round a gybe, at once
    /// where the run is so deep that there is nothing to turn.
    fn boom(&self, t: f64, row: &Row, boom: Boom) -> Boom {
        if self.manoeuvre != Manoeuvre::Gybe {
            let through = self.apparent(row, boom.side).1 < 0.0;
            return if through { Boom { side: -boom.side, ..boom } } else { boom };
        }
        match boom.across {
            None if boom.side != self.side_out && (self.turn > -DEEP || row[2] / self.turn >= 0.5) => Boom { across: Some(t), ..boom },
            None => boom,
            Some(at) => {
                let gone = ((t - at) / self.crewed.hands().boom_across).min(1.0);
                // Half way over the other side of the sail is to windward.
                let side = if gone >= 0.5 { self.side_out } else { boom.side };
                Boom { side, gone, across: (gone < 1.0).then_some(at) }
            }
        }
    }

    /// The time in which she makes up all but a third of what speed is missing on the second leg, s.
    fn gathers(&self) -> f64 {
        let (row, steady, side) = self.rest(1.0);
        let boom = Boom { side, across: None, gone: 1.0 };
        let mut sail = self.drawing(&steady.sail);
        let mut at = |share: f64| {
            let mut row = row;
            row[3] *= share;
            row[4] *= share;
            let load = self.sail(&row, boom, &mut sail);
            self.acting(&row, boom, &load).force[0]
        };
        let slope = (at(0.98) - at(1.02)) / (0.04 * row[3]);
        if slope > 0.0 { self.from.turning.mass / slope } else { 0.0 }
    }

    /// A step in parts that the quick turning of hull and rudder asks for, with the sail's load by the share of the step.
    fn strides(&self, row: &Row, boom: Boom, step: f64, rudder: f64, drawing: impl Fn(f64) -> Load<f64>) -> Row {
        let (h, part) = (step / f64::from(STRIDES), 1.0 / f64::from(STRIDES));
        let mut row = *row;
        for stride in 0..STRIDES {
            let sail = |share: f64| drawing((f64::from(stride) + share) * part);
            let along = |k: &Row, share: f64| -> Row { core::array::from_fn(|i| row[i] + share * h * k[i]) };
            let (k1, _) = self.slope(&row, boom, rudder, &sail(0.0));
            let (k2, _) = self.slope(&along(&k1, 0.5), boom, rudder, &sail(0.5));
            let (k3, _) = self.slope(&along(&k2, 0.5), boom, rudder, &sail(0.5));
            let (k4, _) = self.slope(&along(&k3, 1.0), boom, rudder, &sail(1.0));
            row = core::array::from_fn(|i| row[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]));
        }
        row
    }

    pub(super) fn sailed(&self, rudder: f64, step: f64) -> Result<TurnInTime, Unturned> {
        let (mut row, steady, _) = self.rest(0.0);
        let mut sail = self.drawing(&steady.sail);
        let mut boom = Boom { side: 1.0, across: None, gone: 0.0 };
        let (mut t, mut path) = (0.0, Vec::new());
        let (mut turned_at, mut astern, mut half) = (None, false, None);
        let pace = |row: &Row| row[3].hypot(row[4]);
        let mut last: Option<(f64, Load<f64>)> = None;
        let settled = loop {
            let load = self.sail(&row, boom, &mut sail);
            // Within the step the sail goes on as it went over the last one; a boom that changed sides begins anew.
            let trend = last.filter(|(side, _)| *side == boom.side).map_or(load, |(_, before)| before);
            last = Some((boom.side, load));
            let drawing = |share: f64| mixed_load(&trend, &load, 1.0 + share);
            let (_, hike) = self.slope(&row, boom, rudder, &load);
            path.push(Moment { pose: pose(t, &row), rudder: row[6], boom: row[7], hike });
            let next = self.strides(&row, boom, step, rudder, drawing);
            if !next.iter().all(|v| v.is_finite()) {
                break false;
            }
            boom = self.boom(t + step, &next, boom);
            if half.is_none() {
                let (done, now) = (row[2] / self.turn, next[2] / self.turn);
                half = match self.manoeuvre {
                    Manoeuvre::Gybe => boom.across,
                    _ => (now >= 0.5).then(|| t + step * (0.5 - done) / (now - done)),
                };
            }
            (t, row) = (t + step, next);
            astern |= row[3] < 0.0;
            let off = (self.turn - row[2]).abs();
            if turned_at.is_none() && off < TURNED && boom.side == self.side_out {
                turned_at = Some(t);
            }
            let missing = (1.0 - pace(&row) / self.to.speed).abs();
            let trimmed =
                (row[7] - self.to.controls[Control::Boom.index()]).abs() < DEGREE && boom.across.is_none() && boom.side == self.side_out;
            if off < SETTLED[0] && row[5].abs() < SETTLED[1] && missing < SETTLED[2] && trimmed {
                break true;
            }
            if t > LONGEST {
                break false;
            }
        };
        let (Some(seconds), Some(half), true) = (turned_at, half, settled) else {
            return Err(if astern || turned_at.is_none() { Unturned::InIrons } else { Unturned::Unsettled });
        };
        let load = self.sail(&row, boom, &mut sail);
        let (_, hike) = self.slope(&row, boom, rudder, &load);
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
    use crate::setup::Request;
    use measure::fluid::air;
    use measure::{Length, Speed, Temperature, Water, WindLaw};

    /// What the water takes has no sign to choose: over a turn she gains no more energy than wind on sail and body gives, by the
    /// trapezoid of its power over the steps, but for two parts in a hundred of what she began with.
    #[test]
    fn only_the_wind_gives_her_energy() {
        let boat = Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard());
        let wind = WindLaw::Open.profile(Speed::metres_per_second(6.0), Length::metres(2.0));
        let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
        let request = Request { boat: &boat, sailor: Sailor::of(45.0, Skill::Races), conditions, gusts: 1.0, reach: None, bands: false };
        let crewed = Crewed::of(&request).unwrap();
        for manoeuvre in [Manoeuvre::BearAway, Manoeuvre::RoundUp] {
            let turn = Turn::of(&crewed, manoeuvre);
            let found = crewed.sail_round(manoeuvre).unwrap();
            let mut sail = turn.drawing(&turn.from.sail);
            let boom = Boom { side: 1.0, across: None, gone: 0.0 };
            let power: Vec<f64> = found
                .path
                .iter()
                .map(|m| {
                    let p = m.pose;
                    let row = [p.x, p.y, p.turned, p.ahead, p.across, p.rate, m.rudder, m.boom];
                    let air = turn.sail(&row, boom, &mut sail).and(turn.blown(&row, boom));
                    air.force[0] * p.ahead + air.force[1] * p.across + turn.from.turning.about_pivot(&air) * p.rate
                })
                .collect();
            let energy: Vec<f64> = found.path.iter().map(|m| turn.from.turning.energy(&m.pose)).collect();
            let mut given = 0.0;
            for k in 1..energy.len() {
                given += 0.5 * (power[k - 1] + power[k]) * (found.path[k].pose.t - found.path[k - 1].pose.t);
                assert!(energy[k] - energy[0] < given + 0.02 * energy[0], "{} at {:.1} s", manoeuvre.name(), found.path[k].pose.t);
            }
            // And not for want of trying: the water took a good deal.
            assert!(given > energy[energy.len() - 1] - energy[0] + 0.2 * energy[0]);
        }
    }
}
