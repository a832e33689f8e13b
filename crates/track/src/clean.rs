//! From a recorder's points to one boat on a grid of whole seconds.
//!
//! Duplicates, swapped lines, spikes, dropouts and standing still are dealt with in `tidy`, what can be told of the recorder
//! in `recorder`, the reduction to whole seconds and the smoother in `smoother`. All of it is linear in points.

mod recorder;
mod second;
mod smooth;
mod smoother;
mod tidy;

pub use smooth::{Measured, Recorder, Smooth};

use crate::error::TrackError;
use crate::middle::middle;
use crate::record::Track;
use measure::{LocalPlane, Position, Warned, Warning};

/// Faster than any small boat sails, m/s. Assumed.
const CARRIED: f64 = 6.5;
/// A ride goes on while she is faster than this, m/s. Assumed.
const STILL_CARRIED: f64 = 3.0;
/// Fast stretches with no more than this between them are one ride, s (a crossing, a village). Assumed.
const BETWEEN_RIDES: usize = 180;
/// A ride has at least this many fast seconds. Assumed.
const SHORTEST_RIDE: usize = 15;
/// Slower than this over eleven seconds is standing or drifting, m/s. Assumed.
const STANDING: f64 = 0.25;
/// No sample for longer than this is a gap, s, unless the recorder always writes so seldom.
const GAP: f64 = 4.0;

/// The plane of an outing: at the median place of its longest track, as another may hold a bad file or a ride from home.
#[must_use]
pub fn plane(tracks: &[&Track]) -> Option<LocalPlane> {
    let track = tracks.iter().max_by_key(|t| t.fixes.len())?;
    let first = track.fixes.first()?.position;
    // Around the first point the degrees do not break at the antimeridian.
    let near = |longitude: f64| (longitude - first.longitude() + 540.0).rem_euclid(360.0) - 180.0;
    let mut latitudes: Vec<f64> = track.fixes.iter().map(|f| f.position.latitude()).collect();
    let mut longitudes: Vec<f64> = track.fixes.iter().map(|f| near(f.position.longitude())).collect();
    let (latitude, longitude) = (middle(&mut latitudes), middle(&mut longitudes));
    Position::degrees(latitude, first.longitude() + longitude).ok().map(LocalPlane::at)
}

/// One boat on the grid of whole UTC seconds from its first point to its last, with the reasons for what was dropped.
///
/// Velocities are over the ground. Where the track has believable speed and course they are used beside the positions. Noise is
/// learned from the track's own residuals.
///
/// # Errors
/// When fewer than ten points, or points of less than ten seconds, are left.
pub fn clean(track: &Track, plane: &LocalPlane) -> Result<Warned<Smooth>, TrackError> {
    let mut said = Vec::new();
    let points = tidy::points(track, plane, &mut said);
    let too_little = |what: String| TrackError::TooLittle { track: track.name.clone(), what };
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Err(too_little("no point in it can be used".to_owned()));
    };
    if points.len() < 10 || last.time - first.time < 10.0 {
        let span = last.time - first.time;
        return Err(too_little(format!("only {} points over {span:.0} s: too little to tell anything from", points.len())));
    }
    let mut known = recorder::Known::of(&points, track, plane, &mut said);
    let seconds = second::seconds(&points, &known, &mut said);
    let state = smoother::smooth(&seconds, &mut known);
    let count = seconds.grid.len();
    let gap = gaps(&seconds, known.interval);
    let standing = standing(&state, &gap);
    let carried = rides(&state, &gap);
    let fast = carried.iter().filter(|c| **c).count();
    if fast > 0 {
        said.push(format!(
            "{:.0} min faster than any small boat sails: a ride by car or behind a motor boat, left out",
            (fast as f64 / 60.0).max(1.0)
        ));
    }
    let empty = gap.iter().filter(|g| **g).count();
    if empty * 10 > count {
        said.push(format!("{} % of the time has no points", 100 * empty / count));
    }
    let smooth = Smooth {
        name: track.name.clone(),
        start: seconds.start,
        x: state.x,
        y: state.y,
        vx: state.vx,
        vy: state.vy,
        position_variance: state.position_variance,
        velocity_variance: state.velocity_variance,
        gap,
        standing,
        carried,
        recorder: known.recorder(),
    };
    Ok(Warned::new(smooth, said.into_iter().map(|what| Warning::new(track.name.clone(), what)).collect()))
}

/// Seconds that lie between samples too far apart.
fn gaps(seconds: &second::Seconds, interval: f64) -> Vec<bool> {
    let widest = GAP.max((2.5 * interval).min(15.0)) as usize;
    let mut gap = vec![false; seconds.grid.len()];
    let mut last = 0;
    for (i, second) in seconds.grid.iter().enumerate() {
        if second.is_some() {
            if i - last > widest {
                gap[last + 1..i].fill(true);
            }
            last = i;
        }
    }
    gap
}

/// Seconds around which the mean velocity over eleven seconds is that of no boat under way, and pauses of the recorder after them.
fn standing(state: &smoother::State, gap: &[bool]) -> Vec<bool> {
    let count = gap.len();
    let mut sums = vec![[0.0; 2]; count + 1];
    for i in 0..count {
        sums[i + 1] = [sums[i][0] + state.vx[i], sums[i][1] + state.vy[i]];
    }
    let mean = |i: usize| {
        let (a, b) = (i.saturating_sub(5), (i + 6).min(count));
        let n = (b - a) as f64;
        ((sums[b][0] - sums[a][0]) / n).hypot((sums[b][1] - sums[a][1]) / n)
    };
    let mut standing: Vec<bool> = (0..count).map(|i| !gap[i] && mean(i) < STANDING).collect();
    // A recorder that pauses leaves a gap with both ends at one place.
    let mut i = 0;
    while i < count {
        let end = (i..count).find(|j| !gap[*j]).unwrap_or(count);
        if end > i && i > 0 && end < count {
            let moved = (state.x[end] - state.x[i - 1]).hypot(state.y[end] - state.y[i - 1]);
            if moved < STANDING * (end - i) as f64 && moved < 30.0 {
                standing[i..end].fill(true);
            }
        }
        i = end + 1;
    }
    standing
}

/// Seconds of rides.
fn rides(state: &smoother::State, gap: &[bool]) -> Vec<bool> {
    let count = gap.len();
    let speed = |i: usize| state.vx[i].hypot(state.vy[i]);
    let fast: Vec<usize> = (0..count).filter(|i| !gap[*i] && speed(*i) > CARRIED).collect();
    let mut carried = vec![false; count];
    for ride in fast.chunk_by(|a, b| b - a <= BETWEEN_RIDES) {
        let (&first, &last) = match (ride.first(), ride.last()) {
            (Some(first), Some(last)) if ride.len() >= SHORTEST_RIDE => (first, last),
            _ => continue,
        };
        let begin = (0..first).rev().find(|i| speed(*i) < STILL_CARRIED).map_or(0, |i| i + 1);
        let end = (last..count).find(|i| speed(*i) < STILL_CARRIED).unwrap_or(count);
        carried[begin..end].fill(true);
    }
    carried
}
