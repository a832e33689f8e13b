//! Clocks that are seconds off, told by the other boats.
//!
//! Witnesses: boats that wait side by side get under way together, at a start, for a line-up or behind a tow; boats side by side turn off at
//! one sign; a boat tacks when one near her does ([`event`], [`company`]). On a beat a shift of the wind reaches a boat's course when it
//! reaches the others', and a gust her speed ([`reading`]). Every whole second either way is tried, each witness adds the log likelihood it
//! gives to each, and a shift is proposed only where all together make it much likelier than none. Times are never changed: the coach is asked.

mod company;
mod event;
mod reading;

use crate::angle::angles;
use crate::fleet::Fleet;
use crate::wind::Wind;
use company::{Company, Habit};
use rayon::prelude::*;
use reading::Readings;

/// A clock that seems wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ahead {
    /// Seconds by which the track's own times are ahead of the other boats'.
    pub(crate) seconds: f64,
    /// Standard deviation, s.
    pub(crate) sd: f64,
}

/// Largest shift looked for, s, and how many are tried.
const WIDEST: i64 = 30;
const SHIFTS: usize = 2 * WIDEST as usize + 1;
/// Reach, spread and weight of each habit: assumed, the weights set on seeds 1 to 45 by what each told of right clocks.
const UNDER_WAY: Habit = Habit { reach: 45.0, spread: 3.0, profile: true, weight: 1.0 };
const TURN: Habit = Habit { reach: 35.0, spread: 1.5, profile: false, weight: 0.4 };
const TACK: Habit = Habit { reach: 60.0, spread: 1.5, profile: false, weight: 0.5 };
/// Log likelihood that a shift must gain, and the least one proposed, s. A clock that is six seconds off may seem to be four. Set on
/// seeds 1 to 45 so that fewer than one right clock in a hundred is called wrong.
const GAIN: f64 = 3.0;
const LEAST: f64 = 4.0;
/// Where another boat's clock may as well be the wrong one, the other way, that must be less likely by this much.
const RIVAL: f64 = 2.0;
/// Two shifts are opposite to within this, s.
const OPPOSITE: f64 = 3.0;
/// Shifts this near to the likeliest are taken with it, and those this near to none are none, s.
const AROUND: usize = 3;
const NONE: usize = 2;

/// What is thought of the clocks.
#[derive(Debug, Clone, Default)]
pub(crate) struct Clocks {
    /// For each boat how far ahead her clock seems to be; none for those that seem right or cannot be told.
    pub(crate) ahead: Vec<Option<Ahead>>,
    /// Pairs of which one seems wrong and nobody can say which, and by how much, s.
    pub(crate) either: Vec<(usize, usize, f64)>,
}

/// The shift tried at a place of a score, s.
fn shift(place: usize) -> f64 {
    place as f64 - WIDEST as f64
}

/// Which clocks seem wrong.
pub(crate) fn clocks(fleet: &Fleet, wind: Option<&Wind>) -> Clocks {
    let boats = fleet.boats.len();
    let mut found = Clocks { ahead: vec![None; boats], either: Vec::new() };
    if boats < 3 {
        // Of two clocks nobody can say which is wrong.
        return found;
    }
    let each = |of: fn(&crate::fleet::Boat) -> Vec<event::Event>| fleet.boats.par_iter().map(of).collect::<Vec<_>>();
    let mut company = vec![Company::of(fleet, UNDER_WAY, &each(event::gets_under_way)), Company::of(fleet, TURN, &each(event::turns_off))];
    let readings = wind.map(|wind| {
        let angles: Vec<Vec<f64>> = (0..boats).into_par_iter().map(|b| angles(fleet, b, wind)).collect();
        let tacks: Vec<_> = fleet.boats.iter().zip(&angles).map(|(b, a)| event::tacks(b, a)).collect();
        company.push(Company::of(fleet, TACK, &tacks));
        let axis = wind.direction.iter().sum::<f64>() / wind.direction.len().max(1) as f64;
        Readings::of(fleet, axis, &angles)
    });
    // One wrong clock at a time: the clearest first, and the others are judged again without its error.
    for _ in 0..boats.div_ceil(3) {
        let ahead: Vec<f64> = found.ahead.iter().map(|f| f.map_or(0.0, |f| f.seconds)).collect();
        let mut scores = vec![vec![0.0; SHIFTS]; boats];
        company.iter().for_each(|c| c.add(&ahead, &mut scores));
        if let Some(readings) = &readings {
            readings.add(&ahead, &mut scores);
        }
        let open = |boat: &usize| found.ahead[*boat].is_none() && found.either.iter().all(|e| e.0 != *boat && e.1 != *boat);
        let peaks: Vec<(usize, Ahead, f64)> = (0..boats)
            .filter(open)
            .map(|boat| {
                let (ahead, gain) = peak(&scores[boat]);
                (boat, ahead, gain)
            })
            .collect();
        let clear = peaks.iter().filter(|p| p.2 > GAIN && p.1.seconds.abs() >= LEAST);
        let Some((boat, ahead, gain)) = clear.max_by(|a, b| a.2.total_cmp(&b.2)) else { break };
        let opposite = |r: &&(usize, Ahead, f64)| r.0 != *boat && (r.1.seconds + ahead.seconds).abs() <= OPPOSITE && r.2 > gain - RIVAL;
        match peaks.iter().filter(opposite).max_by(|a, b| a.2.total_cmp(&b.2)) {
            Some(rival) => found.either.push((*boat, rival.0, ahead.seconds)),
            None => found.ahead[*boat] = Some(*ahead),
        }
    }
    found
}

/// The likeliest shift with its spread, and its lead over none, each with the shifts about it.
fn peak(score: &[f64]) -> (Ahead, f64) {
    let top = score.iter().copied().fold(f64::MIN, f64::max);
    let best = score.iter().position(|s| *s == top).unwrap_or(0);
    let near = |middle: usize, aside: usize| middle.saturating_sub(aside)..=(middle + aside).min(score.len() - 1);
    let weight = |i: usize| (score[i] - top).exp();
    let (mut sum, mut mean, mut square) = (0.0, 0.0, 0.0);
    for i in near(best, AROUND + NONE) {
        sum += weight(i);
        mean += weight(i) * shift(i);
        square += weight(i) * shift(i).powi(2);
    }
    mean /= sum;
    let sd = (square / sum - mean * mean).max(0.0).sqrt();
    let mass = |middle: usize, aside: usize| near(middle, aside).map(weight).sum::<f64>();
    (Ahead { seconds: mean.round(), sd }, (mass(best, AROUND) / mass(WIDEST as usize, NONE).max(f64::MIN_POSITIVE)).ln())
}
