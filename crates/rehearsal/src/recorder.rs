//! Recorders: what a receiver makes of the true states, the faults of the thing that keeps it, and the file it writes.
//!
//! Position errors wander by 1 to 2.5 m with a memory of one to three minutes and carry a white part; speed over the ground by
//! Doppler is better by far. Magnitudes: assumed, after what small receivers are commonly found to do on open water.

mod file;

pub use file::{csv, gpx, nmea};

use crate::chance::{Chance, Wander};
use crate::kind::Faults;
use crate::outing::{Outing, State};
use measure::angle::DEGREE;
use measure::{LocalPlane, Position};

/// One point of a track: UTC seconds, latitude and longitude in degrees, and where the recorder keeps them speed over the
/// ground (m/s) and course over the ground (degrees true).
pub type Fix = (f64, f64, f64, Option<f64>, Option<f64>);

/// What one boat's recorder wrote.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recorder {
    /// The boat's label.
    pub name: String,
    /// Points in the order of its file.
    pub fixes: Vec<Fix>,
    /// Seconds its clock is ahead of the truth: true time is written time less this.
    pub clock_ahead: f64,
    /// Points a second while it records.
    pub hertz: f64,
    /// Its faults in plain words.
    pub faults: Vec<&'static str>,
}

/// How one recorder behaves.
#[derive(Debug, Clone)]
struct Manner {
    hertz: f64,
    speed: bool,
    wander: (f64, f64),
    white: f64,
    ahead: f64,
    gaps: usize,
    spikes: f64,
    repeats: f64,
    swaps: f64,
    jitter: f64,
    grid: f64,
    smooth: f64,
    pauses: bool,
}

impl Manner {
    fn good(chance: &mut Chance) -> Self {
        Self {
            hertz: 1.0,
            speed: chance.happens(0.7),
            wander: (chance.between(1.0, 2.5), chance.between(60.0, 200.0)),
            white: 0.25,
            ahead: 0.0,
            gaps: 0,
            spikes: 0.0,
            repeats: 0.0,
            swaps: 0.0,
            jitter: 0.0,
            grid: 0.0,
            smooth: 0.0,
            pauses: false,
        }
    }

    fn words(&self) -> Vec<&'static str> {
        [
            (!self.speed, "no speed"),
            (self.ahead.abs() >= 3600.0, "clock an hour off"),
            (self.ahead != 0.0 && self.ahead.abs() < 3600.0, "clock off by seconds"),
            (self.gaps > 0, "gaps"),
            (self.spikes > 0.0, "spikes"),
            (self.repeats > 0.0, "repeated stamps"),
            (self.swaps > 0.0, "points out of order"),
            (self.jitter > 0.0, "uneven stamps"),
            (self.grid > 0.0, "snapped to a grid"),
            (self.smooth > 0.0, "smoothed"),
            (self.pauses, "pauses when slow"),
        ]
        .into_iter()
        .filter_map(|(is, word)| is.then_some(word))
        .collect()
    }
}

/// Clocks are off by this many whole seconds, either way.
fn seconds_off(chance: &mut Chance) -> f64 {
    let size = chance.between(6.0, 16.0).floor();
    if chance.happens(0.5) { size } else { -size }
}

pub(crate) fn recorders(faults: Faults, states: &[Vec<State>], origin: Position, chance: &mut Chance) -> Vec<Recorder> {
    // One outing in three has a clock off by seconds, on one boat, where there are others to tell it by.
    let off = (faults == Faults::Few && states.len() >= 4 && chance.happens(0.34)).then(|| chance.below(states.len()));
    (0..states.len())
        .map(|i| {
            let mut manner = Manner::good(chance);
            match faults {
                Faults::Few => {
                    manner.gaps = chance.below(3);
                    if off == Some(i) {
                        manner.ahead = seconds_off(chance);
                    }
                }
                Faults::All => messy(i, &mut manner, chance),
                Faults::Phones => phone(i, &mut manner, chance),
            }
            write(&format!("boat {}", i + 1), &states[i], origin, &manner, chance)
        })
        .collect()
}

fn messy(i: usize, manner: &mut Manner, chance: &mut Chance) {
    match i % 8 {
        0 => manner.ahead = seconds_off(chance),
        1 => (manner.spikes, manner.gaps) = (0.002, 4),
        2 => manner.grid = 1e-5,
        3 => manner.ahead = 3600.0,
        4 => manner.smooth = 3.0,
        5 => (manner.hertz, manner.repeats) = (10.0, 0.002),
        6 => (manner.hertz, manner.jitter, manner.swaps) = (5.0, 0.05, 0.002),
        _ => (manner.pauses, manner.grid, manner.speed) = (true, 1e-4, false),
    }
}

fn phone(i: usize, manner: &mut Manner, chance: &mut Chance) {
    manner.smooth = chance.between(1.5, 4.5);
    manner.speed = chance.happens(0.5);
    manner.gaps = 1 + chance.below(3);
    match i {
        1 => manner.grid = 1e-4,
        2 => manner.pauses = true,
        3 => manner.ahead = -3600.0,
        4 => manner.grid = 1e-5,
        _ => {}
    }
}

/// A clean recording of one boat at a rate, for tests of scale. Shapes: one fix every 1/`hertz` seconds of the outing.
#[must_use]
pub fn recorded(outing: &Outing, boat: usize, hertz: f64, seed: u64) -> Recorder {
    let mut chance = Chance::new(seed, 7000 + boat as u64);
    let manner = Manner { hertz, speed: true, ..Manner::good(&mut chance) };
    outing.states.get(boat).map_or_else(Recorder::default, |s| write(&format!("boat {}", boat + 1), s, outing.origin, &manner, &mut chance))
}

/// True position and velocity between whole seconds: the cubic through both ends' positions and velocities.
fn between(a: &State, b: &State, u: f64) -> ([f64; 2], [f64; 2]) {
    let cubic = |p: f64, v: f64, q: f64, w: f64| {
        let (c, d) = (3.0 * (q - p) - 2.0 * v - w, 2.0 * (p - q) + v + w);
        (p + u * (v + u * (c + u * d)), v + u * (2.0 * c + 3.0 * u * d))
    };
    let (x, vx) = cubic(a.x, a.over_ground[0], b.x, b.over_ground[0]);
    let (y, vy) = cubic(a.y, a.over_ground[1], b.y, b.over_ground[1]);
    ([x, y], [vx, vy])
}

fn write(name: &str, states: &[State], origin: Position, manner: &Manner, chance: &mut Chance) -> Recorder {
    let plane = LocalPlane::at(origin);
    let dt = 1.0 / manner.hertz;
    let count = (states.len().saturating_sub(1) as f64 * manner.hertz) as usize;
    let mut slow = [Wander::new(chance, manner.wander.0, manner.wander.1), Wander::new(chance, manner.wander.0, manner.wander.1)];
    // Doppler error is alike over about a second.
    let mut doppler = [Wander::new(chance, 0.075, 1.0), Wander::new(chance, 0.075, 1.0)];
    let gaps: Vec<(f64, f64)> = (0..manner.gaps)
        .map(|_| {
            let at = chance.between(60.0, states.len() as f64);
            (at, at + chance.between(6.0, 50.0))
        })
        .collect();
    let mut fixes: Vec<Fix> = Vec::with_capacity(count);
    let mut smooth: Option<([f64; 2], [f64; 2])> = None;
    let mut slow_for = 0.0;
    for n in 0..count {
        let t = n as f64 * dt;
        let i = (t as usize).min(states.len() - 2);
        let (p, v) = between(&states[i], &states[i + 1], t - i as f64);
        let mut place = [0.0; 2];
        let mut way = [0.0; 2];
        for axis in 0..2 {
            place[axis] = p[axis] + slow[axis].step(chance, dt) + chance.normal(0.0, manner.white);
            way[axis] = v[axis] + doppler[axis].step(chance, dt);
        }
        if manner.smooth > 0.0 {
            let (sp, sv) = smooth.get_or_insert((place, way));
            let gain = 1.0 - (-dt / manner.smooth).exp();
            for axis in 0..2 {
                // A phone predicts with its smoothed speed and corrects part of what it sees.
                sv[axis] += gain * (way[axis] - sv[axis]);
                sp[axis] += sv[axis] * dt + gain * (place[axis] - sp[axis] - sv[axis] * dt);
            }
            (place, way) = (*sp, *sv);
        }
        slow_for = if way[0].hypot(way[1]) < 0.4 { slow_for + dt } else { 0.0 };
        if gaps.iter().any(|g| (g.0..g.1).contains(&t)) || (manner.pauses && slow_for > 8.0) {
            continue;
        }
        if chance.happens(manner.spikes) {
            let far = chance.between(25.0, 120.0);
            let bearing = chance.between(0.0, core::f64::consts::TAU);
            place = [place[0] + far * bearing.sin(), place[1] + far * bearing.cos()];
        }
        let position = plane.position(place[0], place[1]);
        let snap = |d: f64| if manner.grid > 0.0 { (d / manner.grid).round() * manner.grid } else { d };
        let speed = manner.speed.then(|| way[0].hypot(way[1]));
        let course = manner.speed.then(|| (way[0].atan2(way[1]) / DEGREE).rem_euclid(360.0));
        let stamp = states[0].time + t + manner.ahead + if manner.jitter > 0.0 { chance.normal(0.0, manner.jitter) } else { 0.0 };
        let fix = ((stamp * 1000.0).round() / 1000.0, snap(position.latitude()), snap(position.longitude()), speed, course);
        if chance.happens(manner.repeats)
            && let Some(last) = fixes.last().copied()
        {
            fixes.push((last.0, fix.1, fix.2, fix.3, fix.4));
            continue;
        }
        fixes.push(fix);
        let length = fixes.len();
        if length > 1 && chance.happens(manner.swaps) {
            fixes.swap(length - 1, length - 2);
        }
    }
    Recorder { name: name.to_owned(), fixes, clock_ahead: manner.ahead, hertz: manner.hertz, faults: manner.words() }
}
