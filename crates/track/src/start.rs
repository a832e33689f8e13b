//! Starts: boats that waited together and got under way on a beat together, of a race or of practice. The line itself is not
//! known from tracks: what is told is when each boat went, how soon she was at speed, and what she had made good half a minute later.

use crate::fleet::{Boat, Fleet};
use crate::leg::Kind;
use crate::wind::Wind;

/// One boat's part of a start.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Gone {
    pub(crate) boat: usize,
    /// Second of the grid at which she gathered way.
    pub(crate) at: usize,
    /// Seconds from there until she had her speed.
    pub(crate) to_speed: Option<f64>,
    /// Metres made good to windward, through the water, in the half minute after the first boat went.
    pub(crate) made: Option<f64>,
}

/// A start: those who took part, in the order of boats.
#[derive(Debug, Clone)]
pub(crate) struct Together {
    pub(crate) at: usize,
    pub(crate) boats: Vec<Gone>,
}

/// Waiting and at speed, as shares of a boat's own pace. Assumed.
const WAITS: f64 = 0.45;
const GOES: f64 = 0.7;
/// She has waited at least this long, s, and is on a beat for at least this long after. Assumed.
const WAITED: usize = 8;
const BEATS: usize = 15;
/// Those who go within this time, s, and from within this distance, m, start together. Assumed.
const WITHIN: usize = 20;
const NEAR: f64 = 200.0;
/// Seconds after which the metres made good are compared.
const AFTER: usize = 30;

/// Seconds at which a boat went from waiting to a beat.
fn goes(b: &Boat, kinds: &[Option<Kind>]) -> Vec<usize> {
    let mut found = Vec::new();
    let slow = |i: usize| b.on[i] && b.speed[i] < WAITS * b.pace;
    let mut i = b.span.0 + WAITED;
    while i + BEATS + 12 < b.span.1 {
        let waited = slow(i) && (i - WAITED..i).all(|j| b.on[j] && b.speed[j] < 0.6 * b.pace);
        if !waited || slow(i + 1) {
            i += 1;
            continue;
        }
        let fast = (i..i + 12).find(|j| b.speed[*j] > GOES * b.pace);
        let beats = fast.is_some_and(|f| (f..f + BEATS).filter(|j| kinds[*j] == Some(Kind::Beat)).count() * 4 > BEATS * 3);
        if beats {
            found.push(i);
            i += AFTER;
        } else {
            i += 1;
        }
    }
    found
}

/// The starts of an outing in time.
pub(crate) fn starts(fleet: &Fleet, wind: &Wind, kinds: &[Vec<Option<Kind>>]) -> Vec<Together> {
    let mut all: Vec<(usize, usize)> =
        fleet.boats.iter().enumerate().flat_map(|(n, b)| goes(b, &kinds[n]).into_iter().map(move |at| (at, n))).collect();
    all.sort_unstable();
    let least = fleet.boats.iter().filter(|b| b.span.1 > b.span.0).count().div_ceil(2).max(2);
    let place = |n: usize, at: usize| [fleet.boats[n].x[at], fleet.boats[n].y[at]];
    let mut starts: Vec<Together> = Vec::new();
    let mut i = 0;
    while i < all.len() {
        let (first, leader) = all[i];
        let here = place(leader, first);
        let mut boats: Vec<Gone> = Vec::new();
        for &(at, n) in all[i..].iter().take_while(|a| a.0 <= first + WITHIN) {
            let there = place(n, at);
            if (there[0] - here[0]).hypot(there[1] - here[1]) < NEAR && boats.iter().all(|g| g.boat != n) {
                boats.push(gone(fleet, wind, n, at, first));
            }
        }
        if boats.len() >= least {
            boats.sort_by_key(|g| g.boat);
            starts.push(Together { at: first, boats });
            i = all.partition_point(|a| a.0 <= first + WITHIN);
        } else {
            i += 1;
        }
    }
    starts
}

fn gone(fleet: &Fleet, wind: &Wind, boat: usize, at: usize, first: usize) -> Gone {
    let b = &fleet.boats[boat];
    let later = b.mean(at + 15, (at + 40).min(b.span.1)).map(|m| m.0);
    let to_speed = later.and_then(|v| (at..(at + 30).min(b.span.1)).find(|j| b.speed[*j] >= 0.9 * v)).map(|j| (j - at) as f64);
    let end = first + AFTER;
    let made = (end < b.span.1 && b.on[first..end].iter().all(|on| *on)).then(|| {
        (first..end)
            .map(|j| {
                let w = wind.from(j, [b.x[j], b.y[j]]);
                b.speed[j] * (w - b.course[j]).cos()
            })
            .sum()
    });
    Gone { boat, at, to_speed, made }
}
