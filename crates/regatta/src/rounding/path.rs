//! One path round a course mark: the turn in time, laid as near to the course mark as its clearance allows, and what it costs from line to line.

use super::{Rounding, TurningTable};
use crate::course::Side;
use crate::sailing::{Sailing, Stuck};
use measure::Bearing;
use measure::angle::wrap;

/// Steps of a turn.
const STEPS: usize = 90;
/// The way out is looked at for touching the course mark as far as this, and the way in drawn, boat lengths.
const OUT: f64 = 5.0;
/// The earliest a turn may begin before the course mark is abeam, boat lengths.
const FAR: f64 = 30.0;
/// Points of it.
const OUT_POINTS: usize = 60;

/// A path, places relative to the course mark, m east and north.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// Distance of the course mark from the straight way in, m.
    pub entry: f64,
    /// Its distance from the straight way out, m.
    pub exit: f64,
    /// How far before (negative) or after the course mark is abeam the turn begins, m.
    pub begins: f64,
    /// Curvature at the beginning, middle and end of the turn, 1/m.
    pub curvature: [f64; 3],
    /// How long the turn takes, s.
    pub turn_seconds: f64,
    /// Least speed in it, m/s.
    pub least_speed: f64,
    /// From a line far before the course mark to a line far behind it, s; only differences mean anything.
    pub cost: f64,
    /// The way in, the turn from the second point on, and the way out.
    pub points: Vec<[f64; 2]>,
    /// When she is at each of them, s from the first.
    pub seconds: Vec<f64>,
    /// Where in `points` the turn is over.
    pub out_from: usize,
}

/// A turn in time from its beginning at the origin.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shape {
    curvature: [f64; 3],
    points: Vec<[f64; 2]>,
    /// When she is at each point, s.
    clock: Vec<f64>,
    turned: usize,
    seconds: f64,
    least: f64,
    speed_out: f64,
}

/// What all paths of one rounding share.
#[derive(Debug, Clone)]
pub(super) struct Ground<'a> {
    asked: &'a Rounding<'a>,
    sailing: &'a Sailing,
    /// Direction over the ground in, and to the side away from the course mark.
    along: [f64; 2],
    away: [f64; 2],
    /// Price of a metre before and after, s/m.
    price_in: [f64; 2],
    price_out: [f64; 2],
    /// Through the water: rad to turn, and its sign (clockwise positive).
    turn: f64,
    sign: f64,
    pub(super) speed_in: f64,
    speed_out: f64,
    /// Speed over the ground on the way in and out, m/s.
    over_in: f64,
    out: f64,
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

impl<'a> Ground<'a> {
    /// # Errors
    /// Where she makes no way in or out.
    pub(super) fn of(asked: &'a Rounding<'a>) -> Result<Self, Stuck> {
        let sailing = asked.sailing;
        let (way_in, way_out) = sailing.steady(asked.approach).zip(sailing.steady(asked.exit)).ok_or(Stuck::Current)?;
        let over = sailing.over_ground(&way_in);
        let speed = over[0].hypot(over[1]);
        let (price_in, price_out) = sailing.price(asked.approach).zip(sailing.price(asked.exit)).ok_or(Stuck::Current)?;
        if speed < 1e-3 {
            return Err(Stuck::Current);
        }
        let sign = if asked.side == Side::Port { -1.0 } else { 1.0 };
        let along = [over[0] / speed, over[1] / speed];
        // A course mark left to port lies to the left: away from it is right.
        let away = if asked.side == Side::Port { [along[1], -along[0]] } else { [-along[1], along[0]] };
        let turn = (sign * (asked.exit.in_radians() - asked.approach.in_radians())).rem_euclid(core::f64::consts::TAU);
        let (speed_in, speed_out) = (way_in.water[0].hypot(way_in.water[1]), way_out.water[0].hypot(way_out.water[1]));
        let over_out = sailing.over_ground(&way_out);
        let out = over_out[0].hypot(over_out[1]);
        Ok(Self { asked, sailing, over_in: speed, out, along, away, price_in, price_out, turn, sign, speed_in, speed_out })
    }

    /// Metres made good on the way out in a second, m/s.
    pub(super) fn made_good(&self) -> f64 {
        1.0 / self.price_out[0].hypot(self.price_out[1])
    }

    /// The tightest curvature at the speed she goes in with, 1/m.
    pub(super) fn tightest(&self) -> f64 {
        self.asked.table.fastest(self.speed_in) / self.speed_in
    }

    /// Straight lines of curvature between the beginning, the middle and the end, at most what her speed allows.
    pub(super) fn shape(&self, curvature: [f64; 3]) -> Shape {
        let table: &TurningTable = self.asked.table;
        let step = self.turn / STEPS as f64;
        let current = self.sailing.current();
        let (mut speed, mut seconds, mut least) = (self.speed_in, 0.0, self.speed_in);
        let mut at = [0.0; 2];
        let mut points = Vec::with_capacity(STEPS + OUT_POINTS + 1);
        points.push(at);
        let mut clock = vec![0.0];
        let mut sail = |at: &mut [f64; 2], course: f64, way: f64, dt: f64| {
            at[0] += way * course.sin() + current[0] * dt;
            at[1] += way * course.cos() + current[1] * dt;
            points.push(*at);
            clock.push(clock.last().map_or(0.0, |t| t + dt));
        };
        for i in 0..STEPS {
            let share = (i as f64 + 0.5) / STEPS as f64;
            let (a, b, u) =
                if share < 0.5 { (curvature[0], curvature[1], 2.0 * share) } else { (curvature[1], curvature[2], 2.0 * share - 1.0) };
            let rate = ((a + (b - a) * u) * speed).min(table.fastest(speed)).max(1e-4);
            let dt = step / rate;
            let course = self.asked.approach.in_radians() + self.sign * share * self.turn;
            let wanted = self.sailing.speed(Bearing::radians_true(course));
            let before = speed;
            speed = wanted + (speed - wanted) * (-dt / self.asked.settle).exp();
            speed = (speed * (-table.lost(before, rate) * step).exp()).max(0.05);
            sail(&mut at, course, 0.5 * (before + speed) * dt, dt);
            seconds += dt;
            least = least.min(speed);
        }
        let out = OUT * self.asked.boat / OUT_POINTS as f64;
        let (course, mut now) = (self.asked.exit.in_radians(), speed);
        for _ in 0..OUT_POINTS {
            let dt = out / now.max(0.3);
            let next = self.speed_out + (now - self.speed_out) * (-dt / self.asked.settle).exp();
            sail(&mut at, course, 0.5 * (now + next) * dt, dt);
            now = next;
        }
        Shape { curvature, points, clock, turned: STEPS, seconds, least, speed_out: speed }
    }

    /// The earliest beginning of the turn (m along the way in, after the course mark is abeam) that keeps clear of the course mark.
    fn earliest(&self, shape: &Shape, entry: f64) -> f64 {
        let clear = self.asked.clearance;
        let least = |p: &[f64; 2]| {
            let side = dot(*p, self.away) + entry;
            (side.abs() < clear).then(|| -dot(*p, self.along) + (clear * clear - side * side).max(0.0).sqrt())
        };
        shape.points.iter().filter_map(least).chain(self.beyond(shape, entry)).fold(f64::NEG_INFINITY, f64::max).max(-FAR * self.asked.boat)
    }

    /// What the way out asks for beyond the points of its shape, where it is a straight line: that it passes no nearer than the clearance.
    fn beyond(&self, shape: &Shape, entry: f64) -> Option<f64> {
        let [.., a, b] = shape.points.as_slice() else { return None };
        let step = (b[0] - a[0]).hypot(b[1] - a[1]);
        let way = [(b[0] - a[0]) / step, (b[1] - a[1]) / step];
        // Positive where the course mark lies on the side it is left on.
        let off = |p: [f64; 2]| self.sign * (way[0] * p[1] - way[1] * p[0]);
        let last = [b[0] + entry * self.away[0], b[1] + entry * self.away[1]];
        let slope = off(self.along);
        let begins = (self.asked.clearance - off(last)) / slope;
        let passed = dot([last[0] + begins * self.along[0], last[1] + begins * self.along[1]], way) > 0.0;
        (slope > 1e-6 && !passed).then_some(begins)
    }

    /// Seconds from line to line when the turn begins `begins` metres after the course mark is abeam.
    fn cost(&self, shape: &Shape, entry: f64, begins: f64) -> f64 {
        let start = [self.away[0] * entry + self.along[0] * begins, self.away[1] * entry + self.along[1] * begins];
        let end = shape.points[shape.turned];
        let over = [start[0] + end[0], start[1] + end[1]];
        self.lines(start, over, shape.seconds, self.speed_out - shape.speed_out)
    }

    /// Seconds from line to line of what was sailed: its first and last place, its seconds, and her speed at the end.
    pub(super) fn sailed(&self, first: [f64; 2], last: [f64; 2], seconds: f64, speed: f64) -> f64 {
        self.lines(first, last, seconds, self.out - speed)
    }

    /// By how many seconds that changes at most for each metre that the course mark lies elsewhere.
    pub(super) fn moved(&self) -> f64 {
        (self.price_in[0] - self.price_out[0]).hypot(self.price_in[1] - self.price_out[1])
    }

    /// Seconds from the line far before the course mark to the line behind it, by way of two places so many seconds apart; at the second one she
    /// is still slower than she will be.
    fn lines(&self, first: [f64; 2], last: [f64; 2], seconds: f64, slower: f64) -> f64 {
        let (e, n) = self.asked.exit.unit();
        let settle = self.asked.settle;
        let behind = dot(self.price_out, [e, n]) * slower * settle;
        let line = self.asked.finish / self.out.max(1e-3);
        let left = line - dot(self.price_out, last);
        // The way still to gather lengthens it; two rounds bring it to a microsecond.
        let mut out = left + behind;
        for _ in 0..4 {
            out = left + behind * (1.0 - (-(out.max(0.0)) / settle).exp());
        }
        dot(self.price_in, first) + seconds + out
    }

    /// The cost at one entry, the turn begun as early as it may be and `late` metres later.
    pub(super) fn at(&self, shape: &Shape, entry: f64, late: f64) -> f64 {
        self.cost(shape, entry, self.earliest(shape, entry) + late)
    }

    /// The path drawn.
    pub(super) fn path(&self, shape: &Shape, entry: f64, late: f64) -> Path {
        let begins = self.earliest(shape, entry) + late;
        let start = [self.away[0] * entry + self.along[0] * begins, self.away[1] * entry + self.along[1] * begins];
        let before = OUT * self.asked.boat;
        let far = [start[0] - before * self.along[0], start[1] - before * self.along[1]];
        let points: Vec<[f64; 2]> = [far].into_iter().chain(shape.points.iter().map(|p| [p[0] + start[0], p[1] + start[1]])).collect();
        // On the straight way in she has her full speed.
        let seconds = [0.0].into_iter().chain(shape.clock.iter().map(|t| t + before / self.over_in.max(1e-3))).collect();
        let (a, b) = (points[points.len() - 2], points[points.len() - 1]);
        let course = wrap((b[0] - a[0]).atan2(b[1] - a[1]));
        let (s, c) = course.sin_cos();
        let exit = self.sign * (a[1] * s - a[0] * c);
        Path {
            entry,
            exit,
            begins,
            curvature: shape.curvature,
            turn_seconds: shape.seconds,
            least_speed: shape.least,
            cost: self.cost(shape, entry, begins),
            points,
            seconds,
            out_from: shape.turned + 1,
        }
    }
}
