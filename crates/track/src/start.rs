//! Starts: boats that waited together and got under way on a beat together, of a race or of practice. The line itself is not
//! known from tracks: what is told is when each boat went, how soon she was at speed, and what she had made good half a minute later.

use crate::fleet::{Boat, Fleet};
use crate::leg::Kind;
use crate::wind::Wind;
use std::collections::BTreeMap;

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

/// She goes at this share of the speed at which she then sails, and has waited below that one for so long, s. Assumed.
const GOES: f64 = 0.5;
const WAITS: f64 = 0.6;
const WAITED: usize = 8;
/// When that speed is taken, s after she went, and the share of that time that is a beat.
const THEN: core::ops::Range<usize> = 15..40;
const BEATS: f64 = 0.7;
/// Way that lasts this long, s, is way.
const KEEPS: usize = 3;
/// Half of the fleet goes within this time, s, and who goes within it of their middle, and from within this distance of it, m, starts with
/// them. Assumed.
const WITHIN: usize = 20;
const NEAR: f64 = 200.0;
/// Seconds after which the metres made good are compared.
const AFTER: usize = 30;

/// Seconds at which a boat went from waiting to a beat: by her own later speed, as one pace for the outing is that of her reaches too. One
/// who creeps to her place has several within seconds: which of them was her start the others tell.
fn goes(b: &Boat, kinds: &[Option<Kind>]) -> Vec<usize> {
    let mut sums = vec![[0.0; 3]; b.on.len() + 1];
    for i in 0..b.on.len() {
        let on = f64::from(u8::from(b.on[i]));
        let beat = f64::from(u8::from(kinds[i] == Some(Kind::Beat)));
        sums[i + 1] = [sums[i][0] + on, sums[i][1] + on * b.speed[i], sums[i][2] + beat];
    }
    // Her speed on the beat that follows; none where no beat does.
    let then = |i: usize| {
        let [on, way, beat] = core::array::from_fn(|k| sums[i + THEN.end][k] - sums[i + THEN.start][k]);
        (on > 0.0 && beat >= BEATS * THEN.len() as f64).then(|| way / on)
    };
    let sails = |i: usize| then(i).filter(|full| (i..i + KEEPS).all(|j| b.on[j] && b.speed[j] >= GOES * full));
    let went = |i: &usize| {
        let full = sails(*i).filter(|_| sails(i - 1).is_none());
        full.is_some_and(|full| (i - WAITED..*i).all(|j| b.on[j] && b.speed[j] < WAITS * full))
    };
    (b.span.0 + WAITED..b.span.1.saturating_sub(THEN.end)).filter(went).collect()
}

/// The starts of an outing in time.
pub(crate) fn starts(fleet: &Fleet, wind: &Wind, kinds: &[Vec<Option<Kind>>]) -> Vec<Together> {
    let mut all: Vec<(usize, usize)> =
        fleet.boats.iter().enumerate().flat_map(|(n, b)| goes(b, &kinds[n]).into_iter().map(move |at| (at, n))).collect();
    all.sort_unstable();
    let least = fleet.boats.iter().filter(|b| b.span.1 > b.span.0).count().div_ceil(2).max(2);
    let place = |(at, n): (usize, usize)| [fleet.boats[n].x[at], fleet.boats[n].y[at]];
    let mut starts: Vec<Together> = Vec::new();
    let mut used = vec![false; all.len()];
    for window in densest(&all, fleet.boats.len(), least) {
        let free: Vec<usize> = window.filter(|k| !used[*k]).collect();
        let Some(&half) = free.get(free.len() / 2) else { continue };
        let middle = all[half];
        let here = place(middle);
        let around = all.partition_point(|a| a.0 + WITHIN < middle.0)..all.partition_point(|a| a.0 <= middle.0 + WITHIN);
        // Of each boat the one nearest to the middle: some go early, turn back and go again.
        let mut own: BTreeMap<usize, usize> = BTreeMap::new();
        for k in around.clone().filter(|k| !used[*k]) {
            let (there, off) = (place(all[k]), |k: usize| all[k].0.abs_diff(middle.0));
            let nearer = own.get(&all[k].1).is_none_or(|other| off(k) < off(*other));
            if nearer && (there[0] - here[0]).hypot(there[1] - here[1]) < NEAR {
                own.insert(all[k].1, k);
            }
        }
        if own.len() >= least {
            let first = own.values().map(|k| all[*k].0).min().unwrap_or(middle.0);
            starts.push(Together { at: first, boats: own.iter().map(|(n, k)| gone(fleet, wind, *n, all[*k].0, first)).collect() });
            used[around].fill(true);
        } else {
            own.values().for_each(|k| used[*k] = true);
        }
    }
    starts.sort_by_key(|s| s.at);
    starts
}

/// Stretches of [`WITHIN`] in which so many boats went, those of most first, and of as many the shortest first.
fn densest(all: &[(usize, usize)], boats: usize, least: usize) -> impl Iterator<Item = core::ops::Range<usize>> {
    let (mut from, mut went, mut distinct) = (0, vec![0_usize; boats], 0);
    let mut found = Vec::new();
    for (to, &(at, boat)) in all.iter().enumerate() {
        went[boat] += 1;
        distinct += usize::from(went[boat] == 1);
        while at - all[from].0 > WITHIN || went[all[from].1] > 1 {
            went[all[from].1] -= 1;
            distinct -= usize::from(went[all[from].1] == 0);
            from += 1;
        }
        if distinct >= least {
            found.push((boats - distinct, at - all[from].0, from..to + 1));
        }
    }
    found.sort_by_key(|f| (f.0, f.1));
    found.into_iter().map(|f| f.2)
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Boats of a start at 98 to 103 s: one of them had gone at 80 already, another went late, two go again much later.
    #[test]
    fn a_start_is_where_most_went_and_closest() {
        let all = [(80, 0), (98, 1), (99, 0), (100, 2), (103, 3), (119, 4), (300, 1), (301, 2)];
        assert_eq!(densest(&all, 5, 3).collect::<Vec<_>>(), [1..5, 2..6, 1..4]);
        assert_eq!(densest(&all, 5, 5).count(), 0);
    }
}
