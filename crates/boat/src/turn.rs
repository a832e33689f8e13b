//! A boat that turns in time: ahead, across and yaw against hull, board and rudder, held upright.
//!
//! Here the sail is let go, which tells what turning itself takes ([`table`]); in [`sailed`] it is the boat's own, sheeted by hands, and
//! the turn a tack, a gybe, a bear-away or a round-up with what it loses.
//!
//! Rigid body in the plane with the hull's added mass across (Lamb, *Hydrodynamics*, art. 124-126; the share that works is
//! `hull.added_mass`, assumed), slender-body turning (Munk 1924), cross flow in strips, drag of [`crate::hull::Resistance`], blades of
//! [`crate::foil`] in the flow where each stands. Fourth-order Runge-Kutta with step doubling; the same call gives the same bits.
//!
//! Left out: heel, waves, trim in time, hull lift at the ends.

mod motion;
pub mod sailed;
pub mod table;

pub use sailed::{Crewed, Manoeuvre, Moment, TurnInTime, Unturned};
pub use table::{QuarterTurn, quarter_turns};

use crate::balance::{Boat, Tack};
use crate::crew::Sailor;
use crate::foil::{self, Motion};
use crate::hands::Hands;
use crate::hull::{Afloat, Underway};
use crate::load::{Attitude, Load};
use core::f64::consts::FRAC_PI_2;

/// Strips of cross flow along the hull.
const STRIPS: u32 = 12;
/// First step, longest and shortest step, s.
const STEP: [f64; 3] = [0.01, 0.1, 1e-5];

/// Where she is and how she goes; x and y over the water, both from the start, y to the side that is to leeward at first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Time since the start, s.
    pub t: f64,
    /// Along the first heading, m.
    pub x: f64,
    /// Across it, m.
    pub y: f64,
    /// Turned to windward since the start, rad.
    pub turned: f64,
    /// Through the water along the heading, m/s.
    pub ahead: f64,
    /// Through the water across it, to leeward, m/s.
    pub across: f64,
    /// Rate of turning to windward, rad/s.
    pub rate: f64,
}

impl Pose {
    /// Straight ahead at a speed, m/s.
    #[must_use]
    pub fn straight(speed: f64) -> Self {
        Self { t: 0.0, x: 0.0, y: 0.0, turned: 0.0, ahead: speed, across: 0.0, rate: 0.0 }
    }
    /// Speed through the water, m/s.
    #[must_use]
    pub fn pace(&self) -> f64 {
        self.ahead.hypot(self.across)
    }
    fn row(&self) -> [f64; 6] {
        [self.x, self.y, self.turned, self.ahead, self.across, self.rate]
    }
    fn from_row(t: f64, [x, y, turned, ahead, across, rate]: [f64; 6]) -> Self {
        Self { t, x, y, turned, ahead, across, rate }
    }
}

/// What a turn came to: plain numbers for a path round a mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Rudder held, rad, positive bears away.
    pub rudder: f64,
    /// Time to come round, s.
    pub seconds: f64,
    /// Speed at the end over speed at the start.
    pub speed_kept: f64,
    /// Least radius of the path, m.
    pub radius: f64,
}

/// One boat with one sailor, upright on flat water, ready to turn.
#[derive(Debug, Clone)]
pub struct Turning<'a> {
    boat: &'a Boat,
    afloat: Afloat<f64>,
    attitude: Attitude<f64>,
    /// Board from vertical, rad, and from the centreline, m.
    board: [f64; 2],
    mass: f64,
    /// Added across, kg, and where its middle stands ahead of the pivot, m.
    added: [f64; 2],
    /// Centre of mass ahead of the pivot, m.
    centre: f64,
    /// Second moment about the pivot with what is added, kg m2.
    second: f64,
}

impl<'a> Turning<'a> {
    /// A boat with her sailor at `seat` (m from the transom) and the board at an angle (rad); `None` when she cannot float level.
    #[must_use]
    pub fn of(boat: &'a Boat, sailor: &Sailor, seat: f64, board: f64, tack: Tack) -> Option<Self> {
        let [mass, at] = Self::weighed(boat, sailor, seat);
        let floating = boat.form.float(mass, [at, 0.0, boat.class.hull.centre[1]], 0.0, boat.water)?;
        let attitude = boat.form.attitude(0.0, floating.sinkage, floating.trim);
        Some(Self::lying(boat, sailor, seat, [board, boat.board_side(tack)], attitude, floating.afloat))
    }

    fn parts(boat: &Boat, sailor: &Sailor, seat: f64) -> [[f64; 2]; 3] {
        let class = &boat.class;
        [[class.hull.mass, class.hull.centre[0]], [class.mast.rig_mass, class.mast.rig_centre[0]], [sailor.mass, seat]]
    }

    /// Mass of all, kg, and its centre from the transom, m.
    fn weighed(boat: &Boat, sailor: &Sailor, seat: f64) -> [f64; 2] {
        let parts = Self::parts(boat, sailor, seat);
        let mass: f64 = parts.iter().map(|p| p[0]).sum();
        [mass, parts.iter().map(|[m, x]| m * x).sum::<f64>() / mass]
    }

    /// A boat as she lies in the water.
    fn lying(boat: &'a Boat, sailor: &Sailor, seat: f64, board: [f64; 2], attitude: Attitude<f64>, afloat: Afloat<f64>) -> Self {
        let class = &boat.class;
        let [mass, at] = Self::weighed(boat, sailor, seat);
        let pivot = attitude.pivot_x;
        let added = boat.constants.added_mass * FRAC_PI_2 * boat.water.density * afloat.draught_square;
        let lever = afloat.side_centre - pivot;
        let hull = class.hull.mass * (Hands::of(sailor.skill).gyration * class.hull.length).powi(2);
        let spread: f64 = Self::parts(boat, sailor, seat).iter().map(|[m, x]| m * (x - pivot).powi(2)).sum();
        // The added mass counts as spread evenly over the waterline.
        let second = hull + spread + added * (lever * lever + afloat.length * afloat.length / 12.0);
        Self { boat, afloat, attitude, board, mass, added: [added, lever], centre: at - pivot, second }
    }

    /// Water's load on hull and blades, N and N m about the transom, without what the added mass does.
    #[must_use]
    pub fn load(&self, pose: &Pose, rudder: f64) -> Load<f64> {
        let (boat, c) = (self.boat, &self.boat.constants);
        let (pivot, lever) = (self.attitude.pivot_x, self.added[1]);
        let leeway = |across: f64| across.atan2(pose.ahead);
        // Blades in the flow where each stands.
        let motion =
            Motion { attitude: self.attitude, speed: pose.pace(), leeway: leeway(pose.across), roll_rate: 0.0, yaw_rate: pose.rate };
        let class = &boat.class;
        let board = foil::board(&class.board, c, boat.water, &motion, self.board[0], self.board[1]);
        let steering = foil::rudder(&class.rudder, c, boat.water, &motion, rudder, &board);
        // Drag against the way of the hull's middle.
        let across = pose.across - pose.rate * lever;
        let (pace, drift) = (pose.ahead.hypot(across), leeway(across));
        // Drag knows leeway of a boat that makes way; beside that the cross flow below is the larger.
        let way = Underway { leeway: drift.clamp(-FRAC_PI_2, FRAC_PI_2), ..Underway::straight(pace, self.mass) };
        let drag = boat.resistance.drag(c, boat.water, &self.afloat, &way).total;
        let (s, k) = drift.sin_cos();
        let mut sum = board.load.and(steering.load).and(Load::at([pivot + lever, 0.0, 0.0], [-drag * k, -drag * s, 0.0]));
        let each = self.afloat.side_area / f64::from(STRIPS) * 0.5 * boat.water.density * c.cross_flow;
        for strip in 0..STRIPS {
            let x = lever + self.afloat.length * ((f64::from(strip) + 0.5) / f64::from(STRIPS) - 0.5);
            let flow = pose.across - pose.rate * x;
            sum = sum.and(Load::at([pivot + x, 0.0, 0.0], [0.0, -each * flow * flow.abs(), 0.0]));
        }
        sum
    }

    /// Energy of her motion with the water she carries along, J.
    #[must_use]
    pub fn energy(&self, pose: &Pose) -> f64 {
        let [added, lever] = self.added;
        let coupled = self.mass * self.centre + added * lever;
        0.5 * (self.mass * pose.ahead * pose.ahead + (self.mass + added) * pose.across * pose.across
            - 2.0 * coupled * pose.across * pose.rate
            + self.second * pose.rate * pose.rate)
    }

    fn slope(&self, row: [f64; 6], rudder: f64, push: f64) -> [f64; 6] {
        let pose = Pose::from_row(0.0, row);
        let load = self.load(&pose, rudder);
        self.motion(&pose, [load.force[0] + push, load.force[1], self.about_pivot(&load)])
    }

    /// Moment of a load about the pivot, N m.
    fn about_pivot(&self, load: &Load<f64>) -> f64 {
        load.luffing + self.attitude.pivot_x * load.force[1]
    }

    /// How a pose changes under a force ahead and across, N, and a moment about the pivot, N m.
    fn motion(&self, pose: &Pose, [fx, fy, turning]: [f64; 3]) -> [f64; 6] {
        let Pose { turned, ahead: u, across: v, rate: r, .. } = *pose;
        let [added, lever] = self.added;
        let (m, g) = (self.mass, self.centre);
        let carried = added * (v - r * lever);
        let surge = (fx - r * carried) / m - r * v + r * r * g;
        // Sway and yaw share their masses where these lie off the pivot.
        let (a, b, d) = (m + added, -(m * g + added * lever), self.second);
        let side = fy + m * r * u;
        let moment = turning + u * carried - g * m * r * u;
        let over = (a * d - b * b).recip();
        let (s, k) = turned.sin_cos();
        // Her own leeward axis turns with her: ahead goes towards minus y as she turns to windward.
        [u * k + v * s, v * k - u * s, r, surge, (side * d - b * moment) * over, (a * moment - b * side) * over]
    }

    fn stride(&self, row: [f64; 6], t: f64, h: f64, rudder: &impl Fn(f64) -> f64, push: f64) -> [f64; 6] {
        let along = |k: &[f64; 6], share: f64| core::array::from_fn(|i| row[i] + share * h * k[i]);
        let k1 = self.slope(row, rudder(t), push);
        let k2 = self.slope(along(&k1, 0.5), rudder(t + 0.5 * h), push);
        let k3 = self.slope(along(&k2, 0.5), rudder(t + 0.5 * h), push);
        let k4 = self.slope(along(&k3, 1.0), rudder(t + h), push);
        core::array::from_fn(|i| row[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]))
    }

    /// Her path from a start: `rudder` (rad, positive bears away) by time (s), `push` ahead, N, until `seconds` are over or she has
    /// turned by `until` (rad, either way). `tolerance` is the error of one step, m, rad and their rates. Ends early where the motion
    /// is no longer finite.
    pub fn path(&self, start: Pose, rudder: impl Fn(f64) -> f64, push: f64, seconds: f64, until: f64, tolerance: f64) -> Vec<Pose> {
        let mut path = vec![start];
        let (mut row, mut t, mut h) = (start.row(), start.t, STEP[0]);
        let end = start.t + seconds;
        while t < end - 1e-9 {
            h = h.min(end - t);
            let whole = self.stride(row, t, h, &rudder, push);
            let half = self.stride(row, t, 0.5 * h, &rudder, push);
            let both = self.stride(half, t + 0.5 * h, 0.5 * h, &rudder, push);
            let error = whole.iter().zip(&both).map(|(a, b)| (a - b).abs() / 15.0).fold(0.0, f64::max);
            if !both.iter().all(|v| v.is_finite()) {
                break;
            }
            let fit = if error > 0.0 { (0.9 * (tolerance / error).powf(0.2)).clamp(0.2, 4.0) } else { 4.0 };
            if error > tolerance && h > STEP[2] {
                h = (h * fit.min(0.9)).max(STEP[2]);
                continue;
            }
            let (before, by) = ((row[2] - start.turned).abs(), (both[2] - start.turned).abs());
            if by >= until {
                // The last piece is cut where the turn is full.
                let share = ((until - before) / (by - before)).clamp(0.0, 1.0);
                path.push(Pose::from_row(t + share * h, self.stride(row, t, share * h, &rudder, push)));
                break;
            }
            t += h;
            row = both;
            path.push(Pose::from_row(t, row));
            h = (h * fit).min(STEP[1]);
        }
        path
    }

    /// Turns by `by` (rad) with a rudder held from a speed (m/s), one per rudder (rad) that brings her round within `seconds`.
    #[must_use]
    pub fn turns(&self, speed: f64, by: f64, rudders: &[f64], push: f64, seconds: f64) -> Vec<Turn> {
        let one = |rudder: &f64| {
            let path = self.path(Pose::straight(speed), |_| *rudder, push, seconds, by, 1e-6);
            let last = path.last()?;
            let radius = path.iter().map(|p| p.pace() / p.rate.abs()).fold(f64::INFINITY, f64::min);
            (last.turned.abs() > by - 1e-3).then(|| Turn { rudder: *rudder, seconds: last.t, speed_kept: last.pace() / speed, radius })
        };
        rudders.iter().filter_map(one).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Constants;
    use crate::class::{BoardKind, Class};
    use crate::crew::Skill;
    use crate::hull::resistance::sway;
    use measure::angle::DEGREE;
    use measure::{Temperature, Water};
    use nalgebra::{Matrix2, Vector2};

    const FINE: f64 = 1e-8;

    /// A pram with her board on the centreline.
    fn dagger() -> Boat {
        let mut class = Class::pram();
        class.board.kind = BoardKind::Daggerboard;
        class.board.pivot[1] = 0.0;
        Boat::new(&class, 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard())
    }

    fn turning(boat: &Boat) -> Turning<'_> {
        Turning::of(boat, &Sailor::of(45.0, Skill::Races), 0.9, 0.0, Tack::Starboard).unwrap()
    }

    /// Without turning, hull and blades answer as the steady model's do: one part in a thousand, the rounding of its slow speeds.
    #[test]
    fn not_turning_she_meets_the_forces_of_the_steady_model() {
        let boat = dagger();
        let (t, c) = (turning(&boat), Constants::standard());
        let (speed, leeway) = (1.4, 5.0 * DEGREE);
        let pose = Pose { across: speed * leeway.sin(), ..Pose::straight(speed * leeway.cos()) };
        let motion = Motion::steady(t.attitude, speed, leeway);
        let board = foil::board(&boat.class.board, c, boat.water, &motion, 0.0, 0.0);
        let rudder = foil::rudder(&boat.class.rudder, c, boat.water, &motion, 0.05, &board);
        let way = Underway { leeway, ..Underway::straight(speed, t.mass) };
        let drag = boat.resistance.drag(c, boat.water, &t.afloat, &way).load(&t.afloat, leeway);
        let hull = sway(c, boat.water, &t.afloat, speed, leeway);
        let steady = drag.and(hull).and(board.load).and(rudder.load);
        let ours = t.load(&pose, 0.05);
        assert!((ours.force[0] / steady.force[0] - 1.0).abs() < 1e-3 && (ours.force[1] / steady.force[1] - 1.0).abs() < 1e-3);
        // Turning of the added mass is the slender body's of the steady model.
        let munk = t.added[0] * pose.ahead * pose.across;
        let bend = t.afloat.draught_square_bend.abs() * t.added[0] / t.afloat.draught_square * speed * speed;
        let wanted = steady.luffing;
        // Drag's side part acts at the hull's middle here, at the centre of volume there.
        let moved = (drag.force[1] * (t.afloat.side_centre - t.afloat.centre[0])).abs();
        assert!((ours.luffing + munk - wanted).abs() < moved + bend + 1e-3 * wanted.abs(), "{} {wanted}", ours.luffing + munk);
    }

    /// Coasting: `m dv/dt = -k v^2` gives `v = v0 / (1 + k v0 t / m)`; with `k` the greatest and least on the way it encloses her.
    #[test]
    fn she_coasts_as_quadratic_drag_has_it() {
        let boat = dagger();
        let t = turning(&boat);
        let path = t.path(Pose::straight(1.5), |_| 0.0, 0.0, 20.0, f64::INFINITY, FINE);
        let last = path.last().unwrap();
        let k = |v: f64| -t.load(&Pose::straight(v), 0.0).force[0] / (v * v);
        let way: Vec<f64> = (0..=50).map(|i| last.ahead + (1.5 - last.ahead) * f64::from(i) / 50.0).map(k).collect();
        let (least, most) = way.iter().fold((f64::INFINITY, 0.0f64), |(l, m), k| (l.min(*k), m.max(*k)));
        let form = |k: f64| 1.5 / (1.0 + k * 1.5 * 20.0 / t.mass);
        assert!(form(most) <= last.ahead && last.ahead <= form(least) && last.turned == 0.0, "{last:?}");
        // And by the quadrature of dt = m dv / D, Simpson's rule.
        let n = 2000;
        let dv = (1.5 - last.ahead) / f64::from(n);
        let weight = |i: i32| {
            if i == 0 || i == n {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            }
        };
        let drag = |v: f64| k(v) * v * v;
        let sum: f64 = (0..=n).map(|i| weight(i) / drag(last.ahead + dv * f64::from(i))).sum();
        assert!((t.mass * sum * dv / 3.0 - 20.0).abs() < 1e-3);
    }

    /// A small step of the rudder at held speed against the linear equations of sway and yaw solved by the matrix exponential, the
    /// closed form of which Nomoto (1957) keeps the slow root.
    #[test]
    fn a_small_rudder_turns_her_as_the_linear_equations_do() {
        let boat = dagger();
        let t = turning(&boat);
        let (u, small, rudder) = (1.4, 1e-4, 0.05 * DEGREE);
        let push = -t.load(&Pose::straight(u), 0.0).force[0];
        // Side force and moment about the pivot at a sway, a rate and a rudder.
        let at = |v: f64, r: f64, d: f64| {
            let l = t.load(&Pose { across: v, rate: r, ..Pose::straight(u) }, d);
            Vector2::new(l.force[1], l.luffing + t.attitude.pivot_x * l.force[1])
        };
        let slope = |p: Vector2<f64>, m: Vector2<f64>| (p - m) / (2.0 * small);
        let by_sway = slope(at(small, 0.0, 0.0), at(-small, 0.0, 0.0));
        let by_rate = slope(at(0.0, small, 0.0), at(0.0, -small, 0.0));
        let by_rudder = slope(at(0.0, 0.0, small), at(0.0, 0.0, -small));
        let [added, lever] = t.added;
        let coupled = t.mass * t.centre + added * lever;
        let masses = Matrix2::new(t.mass + added, -coupled, -coupled, t.second);
        let damping = Matrix2::new(
            by_sway[0],
            by_rate[0] + t.mass * u,
            by_sway[1] + u * added,
            by_rate[1] - u * added * lever - t.centre * t.mass * u,
        );
        let inverse = masses.try_inverse().unwrap();
        let (a, b) = (inverse * damping, inverse * by_rudder * rudder);
        let path = t.path(Pose::straight(u), |_| rudder, push, 4.0, f64::INFINITY, 1e-10);
        for share in [0.1, 0.3, 1.0] {
            let pose = path.iter().min_by(|p, q| (p.t - 4.0 * share).abs().total_cmp(&(q.t - 4.0 * share).abs())).unwrap();
            let linear = a.try_inverse().unwrap() * ((a * pose.t).exp() - Matrix2::identity()) * b;
            assert!(pose.rate < 0.0 && (pose.rate / linear[1] - 1.0).abs() < 0.01, "{} s: {} {}", pose.t, pose.rate, linear[1]);
        }
        // And comes to the steady circle, of radius speed over rate, that the equations have once nothing changes.
        let circle = -(a.try_inverse().unwrap() * b);
        let last = *t.path(Pose::straight(u), |_| rudder, push, 30.0, f64::INFINITY, 1e-10).last().unwrap();
        assert!((last.rate / circle[1] - 1.0).abs() < 0.01 && (last.across / circle[0] - 1.0).abs() < 0.02, "{last:?} {circle}");
    }

    /// With the sail let go nothing gives her energy, whatever the rudder does.
    #[test]
    fn energy_never_grows_without_a_push() {
        let boat = dagger();
        let t = turning(&boat);
        for swing in [0.0, 0.3, 0.7] {
            let path = t.path(Pose::straight(2.0), |s| swing * (2.0 * s).sin(), 0.0, 15.0, f64::INFINITY, FINE);
            let energy: Vec<f64> = path.iter().map(|p| t.energy(p)).collect();
            assert!(energy.windows(2).all(|e| e[1] < e[0] + 1e-6) && energy[energy.len() - 1] < 0.2 * energy[0], "{swing}");
        }
    }

    /// A board on the centreline makes both turns one; a leeboard does not.
    #[test]
    fn turns_to_both_sides_are_mirrors_without_a_leeboard() {
        let gap = |boat: &Boat| {
            let t = turning(boat);
            let end = |rudder: f64| *t.path(Pose::straight(1.5), |_| rudder, 0.0, 3.0, f64::INFINITY, FINE).last().unwrap();
            let (one, other) = (end(0.4), end(-0.4));
            (one.x - other.x).abs().max((one.y + other.y).abs()).max((one.turned + other.turned).abs())
        };
        assert!(gap(&dagger()) < 1e-9);
        let leeboard = Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard());
        assert!(gap(&leeboard) > 1e-3);
    }

    /// Ten thousand times the tolerance moves the end by less than a millimetre, and the finer the nearer.
    #[test]
    fn paths_converge() {
        let boat = dagger();
        let t = turning(&boat);
        let end = |tolerance| *t.path(Pose::straight(1.5), |_| 0.5, 30.0, 5.0, f64::INFINITY, tolerance).last().unwrap();
        let exact = end(1e-12);
        let off = |tolerance| (end(tolerance).x - exact.x).hypot(end(tolerance).y - exact.y);
        assert!(off(1e-4) < 1e-3 && off(1e-8) < 1e-6, "{} {}", off(1e-4), off(1e-8));
        assert_eq!(end(1e-6), end(1e-6));
    }

    /// Orders of magnitude: thirty degrees of rudder turn such a boat square within three of her lengths and some seconds, and she
    /// keeps a third to nineteen twentieths of her way (common practice, no source).
    #[test]
    fn she_turns_as_such_boats_do() {
        let boat = dagger();
        let t = turning(&boat);
        let length = boat.class.hull.length;
        let turns = t.turns(1.5, 90.0 * DEGREE, &[0.2, 0.3, 30.0 * DEGREE], 0.0, 20.0);
        let hard = turns.iter().find(|t| t.rudder > 0.5).unwrap();
        assert!(hard.seconds > 1.0 && hard.seconds < 6.0 && hard.radius > 0.5 * length && hard.radius < 3.0 * length, "{hard:?}");
        assert!(hard.speed_kept > 0.33 && hard.speed_kept < 0.95, "{hard:?}");
        // The harder the rudder the tighter the turn.
        assert!(turns.windows(2).all(|w| w[1].radius < w[0].radius));
    }
}
