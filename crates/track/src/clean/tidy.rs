//! Points in the order of time, without duplicates, strays and spikes, in the outing's plane.

use crate::record::Track;
use measure::angle::DEGREE;
use measure::{LocalPlane, counted};

/// UTC seconds beyond this, either way, are no time of ours: some thousand years.
const SOME_TIME: f64 = 1e11;
/// Stamps closer than this are one, s. A recorder writes milliseconds at the finest.
const SAME: f64 = 0.001;
/// Hours without points part two outings. Assumed.
const APART: f64 = 6.0 * 3600.0;
/// The longest outing that is worked on, s. Assumed.
const LONGEST: f64 = 24.0 * 3600.0;
/// A step is a jump when it is longer than this, m, and faster than [`JUMP_SPEED`]. Assumed.
const JUMP: f64 = 15.0;
/// Faster than anything afloat, m/s. Assumed.
const JUMP_SPEED: f64 = 12.0;
/// A spike comes back within this many points and [`SPIKE_TIME`].
const SPIKE_POINTS: usize = 30;
/// A spike comes back within this time, s. Assumed.
const SPIKE_TIME: f64 = 15.0;

/// A point in the plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point {
    /// UTC seconds.
    pub(super) time: f64,
    /// East, north, m.
    pub(super) at: [f64; 2],
    /// The receiver's own velocity, m/s, where it gave speed and course.
    pub(super) way: Option<[f64; 2]>,
}

/// The points that can be used; says what was dropped.
pub(super) fn points(track: &Track, plane: &LocalPlane, said: &mut Vec<String>) -> Vec<Point> {
    let mut points: Vec<Point> = track
        .fixes
        .iter()
        .filter(|f| f.time.abs() < SOME_TIME)
        .map(|f| {
            let (x, y) = plane.xy(f.position);
            let way = f.speed.zip(f.course).map(|(speed, course)| {
                let (sine, cosine) = (course * DEGREE).sin_cos();
                [speed * sine, speed * cosine]
            });
            Point { time: f.time, at: [x, y], way }
        })
        .collect();
    let swapped = points.windows(2).filter(|w| w[1].time < w[0].time).count();
    if swapped > 0 {
        points.sort_by(|a, b| a.time.total_cmp(&b.time));
        said.push(format!("{} stood before earlier ones: put in the order of time", counted(swapped, "point")));
    }
    let all = points.len();
    points.dedup_by(|later, kept| later.time - kept.time < SAME);
    if points.len() < all {
        said.push(format!("{} with the time of another: left out", counted(all - points.len(), "point")));
    }
    let points = outing(points, said);
    let all = points.len();
    let points = without_spikes(points);
    if points.len() < all {
        said.push(format!("{} far off the track for a moment (spikes): left out", counted(all - points.len(), "point")));
    }
    points
}

/// The largest part between pauses of hours.
fn outing(points: Vec<Point>, said: &mut Vec<String>) -> Vec<Point> {
    let all = points.len();
    let part = points.chunk_by(|a, b| b.time - a.time <= APART).max_by_key(|p| p.len()).unwrap_or_default();
    let end = part.first().map_or(0.0, |p| p.time + LONGEST);
    let part: Vec<Point> = part.iter().take_while(|p| p.time <= end).copied().collect();
    if part.len() < all {
        said.push(format!("{} hours away from the rest, or over a day long: left out", counted(all - part.len(), "point")));
    }
    part
}

/// Drops points to which no boat can have gone and come back.
fn without_spikes(points: Vec<Point>) -> Vec<Point> {
    let far = |a: &Point, b: &Point| {
        let (east, north) = ((b.at[0] - a.at[0]).abs(), (b.at[1] - a.at[1]).abs());
        // Nearly no step needs its length.
        if east + north <= JUMP {
            return false;
        }
        let step = east.hypot(north);
        step > JUMP && step > JUMP_SPEED * (b.time - a.time)
    };
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    let mut i = 0;
    while i < points.len() {
        let Some(last) = kept.last() else {
            kept.push(points[i]);
            i += 1;
            continue;
        };
        if !far(last, &points[i]) {
            kept.push(points[i]);
            i += 1;
            continue;
        }
        // Where the track jumps back to what was possible from the last good point, what is between was a spike.
        let limit = points[i].time + SPIKE_TIME;
        let after = points[i..].windows(2).take(SPIKE_POINTS).take_while(|w| w[1].time <= limit);
        let back = after.map(|w| far(&w[0], &w[1]) && !far(last, &w[1])).position(|back| back);
        match back {
            Some(n) => i += n + 1,
            None => {
                kept.push(points[i]);
                i += 1;
            }
        }
    }
    kept
}
