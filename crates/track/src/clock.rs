//! Clocks that are seconds off, told by the other boats.
//!
//! Witnesses: boats that wait side by side get under way together, at a start, for a line-up or behind a tow; boats side by side turn off at
//! one sign; a boat tacks when one near her does ([`event`], [`company`]). On a beat a shift of the wind reaches a boat's course when it
//! reaches the others', and on every leg a gust her speed ([`reading`], [`told`]). Every whole second either way is tried, each witness adds
//! the log likelihood it gives to each, and a shift is proposed only where all together make it much likelier than none. What two boats say of
//! each other fits one clock ahead as well as the other behind: between those two all other boats judge, and company only where it is of more
//! than pairs. Times are never changed: the coach is asked.

mod company;
mod event;
mod reading;
mod told;

use crate::angle::angles;
use crate::fleet::Fleet;
use crate::wind::Wind;
use company::{Company, Habit};
use rayon::prelude::*;
use reading::{DIRECTION, STRENGTH, directions, strengths};
use told::Readings;

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
/// Reach, spreads and weight of each habit: reach assumed, the rest set on seeds 201 to 206 and 301 to 306 by what each told of right clocks.
const UNDER_WAY: Habit = Habit { reach: 45.0, spread: 2.0, begins: Some(1.5), weight: 0.8 };
const TURN: Habit = Habit { reach: 35.0, spread: 1.5, begins: None, weight: 0.6 };
const TACK: Habit = Habit { reach: 60.0, spread: 1.5, begins: None, weight: 0.5 };
/// Log likelihood that a shift must gain, and the least one proposed, s. A clock that is six seconds off may seem to be four. Set on
/// seeds 201 to 206 and 301 to 306 so that fewer than one right clock in a hundred is called wrong.
const GAIN: f64 = 2.5;
const LEAST: f64 = 4.0;
/// Another boat's clock may as well be the wrong one, the other way, where it gains this share of as much: pairs sent one after another may seem
/// to go with each other and hide half of it. Then what all others say must make one likelier by so much. Set on seeds 301 to 306 and
/// line-ups of 507 to 549.
const SHARE: f64 = 0.1;
const RIVAL: f64 = 1.0;
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

/// All that ties the boats' clocks to each other.
struct Witnesses {
    company: Vec<Company>,
    /// Of the wind's direction and of its strength.
    readings: Vec<Readings>,
}

impl Witnesses {
    /// `wind` is about where it comes from and the boats' angles to it at each second, rad.
    fn of(fleet: &Fleet, wind: Option<(f64, &[Vec<f64>])>) -> Self {
        let each = |of: fn(&crate::fleet::Boat) -> Vec<event::Event>| fleet.boats.par_iter().map(of).collect::<Vec<_>>();
        let mut company =
            vec![Company::of(fleet, UNDER_WAY, &each(event::gets_under_way)), Company::of(fleet, TURN, &each(event::turns_off))];
        let mut readings = Vec::new();
        if let Some((axis, angles)) = wind {
            let tacks: Vec<_> = fleet.boats.iter().zip(angles).map(|(b, a)| event::tacks(b, a)).collect();
            company.push(Company::of(fleet, TACK, &tacks));
            let all = 0..fleet.boats.len();
            let courses = all.clone().into_par_iter().map(|boat| directions(fleet, axis, boat, &angles[boat])).collect();
            readings.push(Readings::of(fleet, DIRECTION, courses));
            let speeds = all.into_par_iter().map(|boat| strengths(fleet, boat, &angles[boat])).collect();
            readings.push(Readings::of(fleet, STRENGTH, speeds));
        }
        Self { company, readings }
    }

    /// The log likelihood of each shift of each boat's clock, where the clocks are already thought to be ahead by so much.
    fn scores(&self, ahead: &[f64]) -> Vec<Vec<f64>> {
        let mut scores = vec![vec![0.0; SHIFTS]; ahead.len()];
        self.company.iter().for_each(|c| c.add(ahead, &mut scores));
        self.readings.iter().for_each(|r| r.add(ahead, &mut scores));
        scores
    }

    /// The same of one boat, without what another has to say of her.
    fn score_without(&self, boat: usize, without: usize, ahead: &[f64]) -> Vec<f64> {
        let mut score = vec![0.0; SHIFTS];
        self.company.iter().for_each(|c| c.add_without(boat, without, ahead, &mut score));
        self.readings.iter().for_each(|r| r.add_without(boat, without, ahead, &mut score));
        score
    }

    /// By how much likelier it is, by what all others say, that one clock is ahead by so much than that the other is behind by that.
    fn rather(&self, one: usize, other: usize, seconds: f64, ahead: &[f64]) -> f64 {
        let lead = |boat: usize, without: usize, seconds: f64| {
            let score = topped(&self.score_without(boat, without, ahead));
            mass(&score, (WIDEST as f64 + seconds).max(0.0) as usize, AROUND).ln() - mass(&score, WIDEST as usize, NONE).ln()
        };
        lead(one, other, seconds) - lead(other, one, -seconds)
    }
}

/// Which clocks seem wrong.
pub(crate) fn clocks(fleet: &Fleet, wind: Option<&Wind>) -> Clocks {
    if fleet.boats.len() < 3 {
        // Of two clocks nobody can say which is wrong.
        return Clocks { ahead: vec![None; fleet.boats.len()], either: Vec::new() };
    }
    let angles = wind.map(|wind| (0..fleet.boats.len()).into_par_iter().map(|b| angles(fleet, b, wind)).collect::<Vec<_>>());
    let axis = wind.map_or(0.0, |wind| wind.direction.iter().sum::<f64>() / wind.direction.len().max(1) as f64);
    let witnesses = Witnesses::of(fleet, angles.as_deref().map(|angles| (axis, angles)));
    decided(fleet.boats.len(), &witnesses)
}

/// What to propose by the log likelihoods of each shift of each boat, given what is thought of the clocks already.
fn decided(boats: usize, witnesses: &Witnesses) -> Clocks {
    let mut found = Clocks { ahead: vec![None; boats], either: Vec::new() };
    // One wrong clock at a time: the clearest first, and the others are judged again without its error.
    for _ in 0..boats.div_ceil(3) {
        let ahead: Vec<f64> = found.ahead.iter().map(|f| f.map_or(0.0, |f| f.seconds)).collect();
        let scores = witnesses.scores(&ahead);
        let known = ahead;
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
        // What two boats say of each other fits either, the other way: between them all others judge.
        let opposite = |r: &&(usize, Ahead, f64)| r.0 != *boat && (r.1.seconds + ahead.seconds).abs() <= OPPOSITE && r.2 > gain * SHARE;
        let rival = peaks.iter().filter(opposite).max_by(|a, b| a.2.total_cmp(&b.2));
        match rival.map(|r| (r, witnesses.rather(*boat, r.0, ahead.seconds, &known))) {
            Some((rival, rather)) if rather < -RIVAL => found.ahead[rival.0] = Some(rival.1),
            Some((rival, rather)) if rather < RIVAL => found.either.push((*boat, rival.0, ahead.seconds)),
            _ => found.ahead[*boat] = Some(*ahead),
        }
    }
    found
}

/// A score less its highest.
fn topped(score: &[f64]) -> Vec<f64> {
    let top = score.iter().copied().fold(f64::MIN, f64::max);
    score.iter().map(|s| s - top).collect()
}

/// The likelihood of the shifts about one.
fn mass(score: &[f64], middle: usize, aside: usize) -> f64 {
    let near = middle.saturating_sub(aside)..=(middle + aside).min(score.len() - 1);
    near.map(|i| score[i].exp()).sum::<f64>().max(f64::MIN_POSITIVE)
}

/// The likeliest shift with its spread, and its lead over none, each with the shifts about it.
fn peak(score: &[f64]) -> (Ahead, f64) {
    let top = score.iter().copied().fold(f64::MIN, f64::max);
    let best = score.iter().position(|s| *s == top).unwrap_or(0);
    let score = topped(score);
    let (mut sum, mut mean, mut square) = (0.0, 0.0, 0.0);
    (best.saturating_sub(AROUND + NONE)..=(best + AROUND + NONE).min(score.len() - 1)).for_each(|i| {
        let weight = score[i].exp();
        sum += weight;
        mean += weight * shift(i);
        square += weight * shift(i).powi(2);
    });
    mean /= sum;
    let sd = (square / sum - mean * mean).max(0.0).sqrt();
    (Ahead { seconds: mean.round(), sd }, (mass(&score, best, AROUND) / mass(&score, WIDEST as usize, NONE)).ln())
}
