//! A plan of passes: who sails against whom, who has the new setting, who is to windward, on which tack.
//!
//! Passes come in rounds of four, a half fraction of the eight combinations of setting, place and tack (Box, Hunter and Hunter, *Statistics for
//! Experimenters*, from memory); every other round is the other half. Within a round the setting is swapped once, A A B B, and the order turns in
//! the next, so that a day that drifts leans on neither; chance from a seed decides what is left. Sailors meet in turn (round robin).

use rand::{RngExt, SeedableRng, seq::SliceRandom};
use rand_chacha::ChaCha8Rng;
use serde::Serialize;

use crate::Error;

/// Passes in a round.
pub const ROUND: usize = 4;
/// More passes than this are no day's work. Assumed.
const MOST: usize = 400;

/// What is swapped between passes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub enum Swap {
    /// A gauge that a child can change afloat, and the seconds it takes; none: it cannot be changed afloat.
    Gauge {
        /// Its name.
        gauge: String,
        /// Seconds for a child to change it afloat.
        seconds: Option<f64>,
    },
    /// The sailors trade boats.
    Boats {
        /// Seconds for two children to trade boats.
        seconds: f64,
    },
}

/// One boat's part in a pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Place of the sailor in the list.
    pub sailor: usize,
    /// Whether this boat has the new setting (or the sailor the other's boat).
    pub new: bool,
}

/// One pass of two boats.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Pass {
    /// Pairs of the same number sail at the same time, from 1.
    pub number: usize,
    /// The boat to windward.
    pub high: Part,
    /// The boat to leeward.
    pub low: Part,
    /// Starboard tack, or port.
    pub starboard: bool,
    /// Whether the pair changes something before it.
    pub swap_before: bool,
}

/// The passes in the order sailed and the time spent on swaps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// Passes, in order.
    pub passes: Vec<Pass>,
    /// Sailors with no partner, with the numbers of the passes they watch.
    pub watching: Vec<(usize, Vec<usize>)>,
    /// Seconds of all swaps of the busiest pair's water time.
    pub swap_seconds: f64,
}

/// Plans passes for `sailors`, `passes` of them or up to three more, to a whole number of rounds.
///
/// # Errors
/// Fewer than two sailors, no pass, too many, a gauge that cannot be changed afloat.
pub fn plan(sailors: usize, passes: usize, swap: &Swap, seed: u64) -> Result<Plan, Error> {
    let stopped = |what: String| Err(Error::Plan(what));
    let seconds = match swap {
        Swap::Gauge { gauge, seconds: None } => {
            return stopped(format!("{gauge} cannot be changed afloat: swap boats instead, or set it ashore between two outings"));
        }
        Swap::Gauge { seconds: Some(seconds), .. } | Swap::Boats { seconds } => *seconds,
    };
    if !(seconds.is_finite() && seconds >= 0.0) {
        return stopped(format!("a swap of {seconds} s cannot be: give the seconds it takes"));
    }
    if sailors < 2 {
        return stopped("a line-up takes two sailors: find a partner near in speed".to_owned());
    }
    if passes == 0 || passes > MOST || sailors > MOST {
        return stopped(format!("{passes} passes of {sailors} sailors cannot be planned: ask for 1 to {MOST}"));
    }
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    let mut order: Vec<Option<usize>> = (0..sailors).map(Some).collect();
    order.shuffle(&mut chance);
    if sailors % 2 == 1 {
        order.push(None);
    }
    let mut plan = Plan { passes: Vec::new(), watching: Vec::new(), swap_seconds: 0.0 };
    let mut watched = vec![Vec::new(); sailors];
    let first_new = chance.random_bool(0.5);
    for round in 0..passes.div_ceil(ROUND) {
        let start = ROUND * round + 1;
        let half = round % 2 == 0;
        let new_first = first_new ^ (round % 2 == 1);
        let mut places = [[true, false], [true, false]];
        places.iter_mut().for_each(|two| two.shuffle(&mut chance));
        for pair in 0..order.len() / 2 {
            let (a, b) = match (order[pair], order[order.len() - 1 - pair]) {
                (Some(a), Some(b)) => (a, b),
                (Some(one), None) | (None, Some(one)) => {
                    watched[one].extend(start..start + ROUND);
                    continue;
                }
                (None, None) => continue,
            };
            for (at, windward) in places.concat().into_iter().enumerate() {
                let new = new_first ^ (at >= ROUND / 2);
                let (one, other) = (Part { sailor: a, new }, Part { sailor: b, new: !new });
                let (high, low) = if windward { (one, other) } else { (other, one) };
                let swap_before = at == ROUND / 2;
                plan.passes.push(Pass { number: start + at, high, low, starboard: (new ^ windward) ^ half, swap_before });
            }
        }
        plan.swap_seconds += seconds;
        // The first stays, the others move on by one.
        order[1..].rotate_right(1);
    }
    plan.passes.sort_by_key(|pass| pass.number);
    plan.watching = watched.into_iter().enumerate().filter(|(_, passes)| !passes.is_empty()).collect();
    Ok(plan)
}
