//! What boats in company do at about one moment: get under way after waiting, turn off a steady course, tack.

use crate::fleet::Boat;

/// One boat does it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Event {
    /// Second of the grid, with its part.
    pub(super) time: f64,
    pub(super) place: [f64; 2],
}

/// A boat waits below this share of her pace for this long, s. Assumed.
const WAITING: f64 = 0.5;
const WAITED: usize = 10;
/// Seconds of her waiting that each second of a spurt undoes.
const SPURT: usize = 2;
/// She is under way where she sails at this share of her pace for most of this stretch, s after she left off waiting. Assumed.
const UNDER_WAY: f64 = 0.6;
const THEN: core::ops::Range<usize> = 8..30;

/// When a boat gets under way after waiting.
pub(super) fn gets_under_way(b: &Boat) -> Vec<Event> {
    let limit = WAITING * b.pace;
    let (mut found, mut waited) = (Vec::new(), 0_usize);
    for i in b.span.0 + 1..b.span.1.saturating_sub(THEN.end) {
        if !b.on[i] {
            waited = 0;
        } else if b.speed[i] < limit {
            waited += 1;
        } else {
            let sails = THEN.filter(|k| b.on[i + k] && b.speed[i + k] > UNDER_WAY * b.pace).count() * 5 > THEN.len() * 3;
            let leaves = b.speed[i] > b.speed[i - 1] && (i..i + 3).all(|k| b.speed[k] >= limit);
            if waited >= WAITED && sails && leaves {
                let part = (b.speed[i] - limit) / (b.speed[i] - b.speed[i - 1]);
                found.push(Event { time: i as f64 - part.clamp(0.0, 1.0), place: [b.x[i], b.y[i]] });
                waited = 0;
            } else {
                waited = waited.saturating_sub(SPURT);
            }
        }
    }
    found
}

/// A course that leaves the steady one by this much has turned, rad, and stays so for this long, s. Assumed.
const TURNED: f64 = 0.6;
const STAYS: usize = 5;
/// A course is steady over this stretch, s before a turn, where its mean vector is no shorter than this share. Assumed.
const STEADY: core::ops::Range<usize> = 4..30;
const STRAIGHT: f64 = 0.97;
/// Nothing is a turn that follows another within this time, s.
const NEXT: usize = 15;

/// When a boat turns off a steady course, either way.
pub(super) fn turns_off(b: &Boat) -> Vec<Event> {
    let count = b.on.len();
    // Sums up to each second of the course's unit vector and of the seconds in which she does not sail.
    let mut sums = vec![[0.0; 3]; count + 1];
    for i in 0..count {
        let sails = b.on[i] && b.speed[i] > WAITING * b.pace;
        let (sine, cosine) = b.course[i].sin_cos();
        let s = sums[i];
        sums[i + 1] = [s[0] + sine, s[1] + cosine, s[2] + f64::from(u8::from(!sails))];
    }
    let mut found = Vec::new();
    let mut i = b.span.0 + STEADY.end;
    while i + 2 * STAYS < b.span.1 {
        let (from, to) = (i - STEADY.end, i - STEADY.start);
        if sums[i + 2 * STAYS][2] - sums[from][2] < 0.5 {
            let (east, north) = (sums[to][0] - sums[from][0], sums[to][1] - sums[from][1]);
            let steady = east.atan2(north);
            let off = |k: usize| measure::angle::wrap(b.course[k] - steady).abs();
            let straight = east.hypot(north) > STRAIGHT * (to - from) as f64;
            if straight && off(i - 1) < TURNED && (i..i + STAYS).all(|k| off(k) >= TURNED) {
                let part = (off(i) - TURNED) / (off(i) - off(i - 1)).max(1e-9);
                found.push(Event { time: i as f64 - part.clamp(0.0, 1.0), place: [b.x[i], b.y[i]] });
                i += NEXT;
            }
        }
        i += 1;
    }
    found
}

/// Close-hauled, rad from the wind: this wide on both sides of a tack, this long before and after, s.
const CLOSE_HAULED: f64 = 1.3;
const ASIDE: usize = 7;

/// When a boat's bow passes through the wind, by her angles to it.
pub(super) fn tacks(b: &Boat, angles: &[f64]) -> Vec<Event> {
    let sails = |k: usize| b.on[k] && b.speed[k] > 0.3 * b.pace;
    let through = |i: &usize| {
        let (before, after) = (angles[i - 1], angles[*i]);
        let (far, then) = (angles[i - ASIDE], angles[i + ASIDE]);
        before * after < 0.0
            && (before - after).abs() < 1.5
            && far * then < 0.0
            && far.abs().max(then.abs()) < CLOSE_HAULED
            && (i - ASIDE - 1..i + ASIDE + 1).all(sails)
    };
    (b.span.0 + ASIDE + 1..b.span.1.saturating_sub(ASIDE + 1))
        .filter(through)
        .map(|i| {
            let (before, after) = (angles[i - 1].abs(), angles[i].abs());
            Event { time: i as f64 - after / (before + after).max(1e-9), place: [b.x[i], b.y[i]] }
        })
        .collect()
}
