//! All boats of an outing on one grid of whole seconds, over the ground and through the water.
//!
//! A boat whose times lie whole hours from everybody else's is read beside the others at the hour that fits, so that she has a
//! wind; her own times stay as they are and the hours are proposed to the coach.

use crate::clean::{Recorder, Smooth};
use measure::angle::{DEGREE, wrap};

/// Turning faster than this is a turn, rad/s (over four seconds). From the study of methods; helms wander by less.
pub(crate) const TURNING: f64 = 6.0 * DEGREE;
/// The longest outing kept on one grid, s.
const LONGEST: i64 = 14 * 3600;

/// One boat on the fleet's grid. Every vector has the grid's length; outside her track `on` is false.
#[derive(Debug, Clone)]
pub(crate) struct Boat {
    pub(crate) name: String,
    /// Hours added to her own times for the grid.
    pub(crate) hours: i64,
    pub(crate) x: Vec<f64>,
    pub(crate) y: Vec<f64>,
    /// Over the ground, m/s.
    pub(crate) ground: Vec<[f64; 2]>,
    pub(crate) variance: Vec<f64>,
    /// A fix is near, and no car carries her.
    pub(crate) on: Vec<bool>,
    pub(crate) standing: Vec<bool>,
    pub(crate) carried: Vec<bool>,
    /// Through the water: m/s, radians without jumps, rad/s over four seconds.
    pub(crate) speed: Vec<f64>,
    pub(crate) course: Vec<f64>,
    pub(crate) rate: Vec<f64>,
    /// Her 60th percentile of speed under way, m/s.
    pub(crate) pace: f64,
    pub(crate) recorder: Recorder,
    /// First and last (not included) second of her track on the grid.
    pub(crate) span: (usize, usize),
}

/// All boats on one grid.
#[derive(Debug, Clone)]
pub(crate) struct Fleet {
    /// UTC second of the grid's first entry.
    pub(crate) start: i64,
    pub(crate) len: usize,
    pub(crate) boats: Vec<Boat>,
    /// Current east and north at the grid's start and its change to the grid's end, m/s.
    pub(crate) current: [[f64; 2]; 2],
}

impl Fleet {
    /// Aligns the boats; warnings tell of whole hours and of boats from another day. Boats keep their order; one from another
    /// day has an empty span.
    pub(crate) fn of(tracks: &[Smooth], said: &mut Vec<String>) -> Self {
        let mut middles: Vec<i64> = tracks.iter().filter(|t| !t.is_empty()).map(|t| t.start + t.len() as i64 / 2).collect();
        middles.sort_unstable();
        let Some(&middle) = middles.get(middles.len().saturating_sub(1) / 2) else {
            return Self { start: 0, len: 0, boats: tracks.iter().map(|t| Boat::absent(t, 0)).collect(), current: [[0.0; 2]; 2] };
        };
        let hours: Vec<i64> = tracks.iter().enumerate().map(|(i, t)| hours_off(tracks, i, t)).collect();
        let here = |i: usize| {
            let t = &tracks[i];
            !t.is_empty() && (t.start + hours[i] * 3600 + t.len() as i64 / 2 - middle).abs() < LONGEST / 2 && (t.len() as i64) < LONGEST
        };
        for (i, t) in tracks.iter().enumerate() {
            if !t.is_empty() && !here(i) {
                said.push(format!("{}: its times are of another day than the other boats'; it is left out of the debrief", t.name));
            }
        }
        let start = (0..tracks.len()).filter(|i| here(*i)).map(|i| tracks[i].start + hours[i] * 3600).min().unwrap_or(0);
        let end = (0..tracks.len()).filter(|i| here(*i)).map(|i| tracks[i].end() + hours[i] * 3600).max().unwrap_or(start);
        let len = usize::try_from(end - start).unwrap_or(0);
        let boats = tracks
            .iter()
            .enumerate()
            .map(|(i, t)| if here(i) { Boat::on(t, hours[i], start, len) } else { Boat::absent(t, len) })
            .collect();
        let mut fleet = Self { start, len, boats, current: [[0.0; 2]; 2] };
        fleet.set_current([[0.0; 2]; 2]);
        fleet
    }

    /// The current (m/s east, north) at a second of the grid.
    pub(crate) fn current_at(&self, second: usize) -> [f64; 2] {
        let u = second as f64 / self.len.max(1) as f64;
        [self.current[0][0] + u * self.current[1][0], self.current[0][1] + u * self.current[1][1]]
    }

    /// Takes the current out of the velocities and reads speed, course and turn rate through the water again.
    pub(crate) fn set_current(&mut self, current: [[f64; 2]; 2]) {
        self.current = current;
        let currents: Vec<[f64; 2]> = (0..self.len).map(|i| self.current_at(i)).collect();
        for boat in &mut self.boats {
            boat.through_water(&currents);
        }
    }

    /// The middle of the boats that are on, second by second; held where nobody is.
    pub(crate) fn middles(&self) -> Vec<[f64; 2]> {
        let mut last = [0.0; 2];
        (0..self.len)
            .map(|i| {
                let (mut sum, mut n) = ([0.0; 2], 0.0);
                for b in self.boats.iter().filter(|b| b.on[i]) {
                    sum = [sum[0] + b.x[i], sum[1] + b.y[i]];
                    n += 1.0;
                }
                if n > 0.0 {
                    last = [sum[0] / n, sum[1] / n];
                }
                last
            })
            .collect()
    }
}

/// Whole hours that bring a boat to the others when both her ends are that far from theirs and no nearer as they are.
fn hours_off(tracks: &[Smooth], me: usize, own: &Smooth) -> i64 {
    let mut ends: Vec<(i64, i64)> =
        tracks.iter().enumerate().filter(|(i, t)| *i != me && !t.is_empty()).map(|(_, t)| (t.start, t.end())).collect();
    if ends.len() < 2 || own.is_empty() {
        return 0;
    }
    let middle = |v: &mut Vec<i64>| {
        v.sort_unstable();
        v[v.len() / 2]
    };
    let starts = middle(&mut ends.iter().map(|e| e.0).collect());
    let lasts = middle(&mut ends.iter_mut().map(|e| e.1).collect());
    let (a, b) = (starts - own.start, lasts - own.end());
    let hours = ((a + b) as f64 / 7200.0).round() as i64;
    let near = |off: i64| (off - hours * 3600).abs() < 420;
    if hours != 0 && hours.abs() <= 14 && near(a) && near(b) { hours } else { 0 }
}

impl Boat {
    fn absent(t: &Smooth, len: usize) -> Self {
        Self {
            name: t.name.clone(),
            hours: 0,
            x: vec![0.0; len],
            y: vec![0.0; len],
            ground: vec![[0.0; 2]; len],
            variance: vec![1.0; len],
            on: vec![false; len],
            standing: vec![false; len],
            carried: vec![false; len],
            speed: vec![0.0; len],
            course: vec![0.0; len],
            rate: vec![0.0; len],
            pace: 0.0,
            recorder: t.recorder,
            span: (0, 0),
        }
    }

    fn on(t: &Smooth, hours: i64, start: i64, len: usize) -> Self {
        let mut boat = Self::absent(t, len);
        boat.hours = hours;
        let first = usize::try_from(t.start + hours * 3600 - start).unwrap_or(0);
        boat.span = (first, (first + t.len()).min(len));
        for (entry, i) in (boat.span.0..boat.span.1).enumerate() {
            let v = [t.vx[entry], t.vy[entry]];
            let whole = v[0].is_finite() && v[1].is_finite() && t.x[entry].is_finite() && t.y[entry].is_finite();
            if whole {
                (boat.x[i], boat.y[i], boat.ground[i]) = (t.x[entry], t.y[entry], v);
                boat.variance[i] = t.velocity_variance[entry].max(1e-6);
            }
            boat.on[i] = whole && !t.gap[entry] && !t.carried[entry];
            boat.standing[i] = t.standing[entry];
            boat.carried[i] = t.carried[entry];
        }
        boat
    }

    fn through_water(&mut self, current: &[[f64; 2]]) {
        let count = self.ground.len();
        let mut last: Option<f64> = None;
        for (i, current) in current.iter().enumerate().take(count) {
            let v = [self.ground[i][0] - current[0], self.ground[i][1] - current[1]];
            self.speed[i] = if self.on[i] { v[0].hypot(v[1]) } else { 0.0 };
            // The course of a boat that hardly moves is noise: the last one stays.
            let course = match last {
                Some(c) if !self.on[i] || self.speed[i] < 0.12 => c,
                Some(c) => c + wrap(v[0].atan2(v[1]) - c),
                None => v[0].atan2(v[1]),
            };
            self.course[i] = course;
            if self.on[i] {
                last = Some(course);
            }
        }
        for i in 0..count {
            let (a, b) = (i.saturating_sub(2), (i + 2).min(count - 1));
            self.rate[i] = if b > a { (self.course[b] - self.course[a]) / (b - a) as f64 } else { 0.0 };
        }
        let mut moving: Vec<f64> = (0..count).filter(|i| self.on[*i] && self.speed[*i] > 0.3).map(|i| self.speed[i]).collect();
        moving.sort_by(f64::total_cmp);
        self.pace = moving.get(moving.len() * 6 / 10).copied().unwrap_or(0.0);
    }

    /// Slower than this she is not sailing, m/s.
    pub(crate) fn slow(&self) -> f64 {
        (0.35 * self.pace).max(0.4)
    }

    /// Seconds of steady sailing: on, not near a turn, not near slow going.
    pub(crate) fn steady(&self) -> Vec<bool> {
        let count = self.on.len();
        let mut steady = self.on.clone();
        let mut strike = |from: usize, to: usize| steady[from.min(count)..to.min(count)].fill(false);
        for i in self.span.0..self.span.1 {
            if self.rate[i].abs() > TURNING {
                strike(i.saturating_sub(3), i + 7);
            }
            if self.speed[i] < self.slow() {
                strike(i.saturating_sub(3), i + 9);
            }
        }
        steady
    }

    /// Mean velocity through the water over some seconds that are on, as speed and course; none of none.
    pub(crate) fn mean(&self, from: usize, to: usize) -> Option<(f64, f64)> {
        let (mut v, mut n) = ([0.0; 2], 0.0);
        for i in from..to.min(self.on.len()) {
            if self.on[i] {
                v = [v[0] + self.speed[i] * self.course[i].sin(), v[1] + self.speed[i] * self.course[i].cos()];
                n += 1.0;
            }
        }
        (n > 0.0).then(|| (v[0].hypot(v[1]) / n, v[0].atan2(v[1])))
    }
}
