//! The judge: how far an answer is from the truth of one outing.
//!
//! Events are matched one to one, nearest first. A boat whose clock is wrong may be answered on her own clock or on the true
//! one: the better fit of the two counts, since the clock itself is judged apart. Turns of a boat that hardly sails
//! (`clear` is false) count neither for nor against.

mod tally;

pub use tally::{Figure, Tally, quantile};

use crate::answer::{Answer, BoatAnswer, LineupAnswer};
use crate::outing::{Doing, Outing, State};
use crate::truth::{LegKind, Turn, made_good_difference};
use crate::wind::Wind;
use measure::angle::{DEGREE, wrap};

/// An event found this near its true time is found, s.
const SAME_TURN: f64 = 6.0;
/// A rounding found this near its true time is found, s: its closest approach is flat.
const SAME_ROUNDING: f64 = 10.0;
/// A start found this near its true time is found, s. Boats start together within the second.
const SAME_START: f64 = 10.0;
const TOGETHER: usize = 20;
/// She waited this long before a start, s, below this share of her speed after it, and a stop is this long, s.
const WAITED: usize = 8;
const WAITS: f64 = 0.6;
const STOPPED: f64 = 30.0;
/// Gybes are judged from this turn on, degrees.
const GYBE_FROM: f64 = 35.0;
/// Tack angles are seen when boats beat on both tacks within this of each other, s either side.
const BOTH_TACKS: usize = 30;
/// Seconds between judged winds.
const EVERY: usize = 30;

/// How many were there, found and rightly found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Found {
    /// True ones.
    pub there: usize,
    /// True ones found.
    pub hit: usize,
    /// Answers given.
    pub said: usize,
    /// Answers that are right.
    pub right: usize,
}

/// A value's error and what the answer said it would be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Miss {
    /// Answer less truth.
    pub error: f64,
    /// The answer's standard deviation.
    pub sd: f64,
}

/// The judge's finding on one outing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Verdict {
    /// Wind direction each half minute where it was answered, degrees.
    pub direction: Vec<Miss>,
    /// The same, where boats beat on both tacks within a minute.
    pub direction_seen: Vec<Miss>,
    /// RMS of the best constant direction at the same times, degrees; it is chosen knowing the truth.
    pub constant: f64,
    /// The same over the whole outing, answered or not: how much the wind moved.
    pub moved: f64,
    /// Half minutes asked about.
    pub asked: usize,
    /// Wind speed, as a share of the truth.
    pub speed: Vec<Miss>,
    /// Tacks.
    pub tacks: Found,
    /// Gybes of 35 degrees or more.
    pub gybes: Found,
    /// Metres lost in tacks that were found, answer less truth.
    pub tack_loss: Vec<f64>,
    /// The same for gybes.
    pub gybe_loss: Vec<f64>,
    /// Roundings of course marks.
    pub roundings: Found,
    /// Boat-seconds, and those whose leg kind was right.
    pub legs: (usize, usize),
    /// Line-ups against the realised difference, m/s.
    pub lineups: Vec<Miss>,
    /// Line-ups there were, and those answered.
    pub passes: (usize, usize),
    /// Effect of the setting under trial by pair, m/s.
    pub effects: Vec<Miss>,
    /// Boats that went at starts of the fleet.
    pub starts: Found,
    /// By how much the times of those found are off, s.
    pub start_times: Vec<f64>,
    /// Stops.
    pub stops: Found,
    /// Course marks found, east and north each, m.
    pub marks: Vec<Miss>,
    /// Clocks: off by 6 s or more and found within 3 s; right and called wrong.
    pub clocks: Found,
}

/// Judges an answer.
#[must_use]
pub fn judge(outing: &Outing, answer: &Answer) -> Verdict {
    let mut verdict = Verdict::default();
    judge_wind(outing, answer, &mut verdict);
    let nobody = BoatAnswer::default();
    let starts: Vec<Vec<usize>> = (0..outing.states.len()).map(|boat| went(outing, boat)).collect();
    for boat in 0..outing.states.len() {
        judge_boat(outing, &starts, boat, answer.boats.get(boat).unwrap_or(&nobody), &mut verdict);
    }
    judge_lineups(outing, answer, &mut verdict);
    verdict.marks = marks(outing, answer);
    verdict
}

/// East and north error of each mark found, against the nearest true one of its kind.
fn marks(outing: &Outing, answer: &Answer) -> Vec<Miss> {
    let nearest = |kind, at: [f64; 2]| {
        let far = |m: &&crate::plan::CourseMark| (m.x - at[0]).hypot(m.y - at[1]);
        outing.course_marks.iter().filter(|m| m.kind == kind).min_by(|a, b| far(a).total_cmp(&far(b)))
    };
    let misses = answer.course_marks.iter().filter_map(|&(kind, at, sd)| {
        let mark = nearest(kind, at)?;
        Some([Miss { error: at[0] - mark.x, sd }, Miss { error: at[1] - mark.y, sd }])
    });
    misses.flatten().collect()
}

/// The answer at a time: the two nearest joined by a straight line, none beyond a minute from either.
fn at_time<T>(
    answer: &Answer,
    time: f64,
    pick: impl Fn(&crate::answer::WindAnswer) -> Option<T>,
    mix: impl Fn(&T, &T, f64) -> T,
) -> Option<T> {
    let i = answer.wind.partition_point(|w| w.time <= time);
    let before = i.checked_sub(1).and_then(|i| answer.wind.get(i)).filter(|w| time - w.time < 60.0);
    let after = answer.wind.get(i).filter(|w| w.time - time < 60.0);
    match (before, after) {
        (Some(a), Some(b)) => {
            let u = (time - a.time) / (b.time - a.time).max(1e-9);
            Some(mix(&pick(a)?, &pick(b)?, u))
        }
        (Some(w), None) | (None, Some(w)) => pick(w),
        (None, None) => None,
    }
}

/// Degrees brought into (-180, 180].
fn turned(degrees: f64) -> f64 {
    wrap(degrees * DEGREE) / DEGREE
}

/// Mean wind over the ground in the half minute about a second.
fn wind_about(outing: &Outing, second: usize) -> Wind {
    let window = &outing.wind[second.saturating_sub(EVERY / 2)..(second + EVERY / 2).min(outing.wind.len())];
    let n = window.len().max(1) as f64;
    let v = window.iter().fold([0.0, 0.0], |v, w| [v[0] + w.vector()[0] / n, v[1] + w.vector()[1] / n]);
    Wind::blowing(v[0], v[1])
}

fn both_tacks_seen(outing: &Outing, second: usize) -> bool {
    let window = second.saturating_sub(BOTH_TACKS)..(second + BOTH_TACKS).min(outing.wind.len());
    let sails = |port: bool| {
        // Three seconds are the least that show a course.
        let beats = |b: &Vec<State>| {
            b[window.clone()]
                .iter()
                .filter(|s| s.speed() > 0.5 && (25.0..60.0).contains(&if port { -s.wind_angle() } else { s.wind_angle() }))
                .count()
                > 3
        };
        outing.states.iter().any(beats)
    };
    sails(true) && sails(false)
}

fn judge_wind(outing: &Outing, answer: &Answer, verdict: &mut Verdict) {
    let (mut truths, mut all) = (Vec::new(), Vec::new());
    for second in (EVERY..outing.wind.len().saturating_sub(EVERY)).step_by(EVERY) {
        verdict.asked += 1;
        let truth = wind_about(outing, second);
        all.push(truth.from);
        let time = outing.start + second as f64;
        let direction = at_time(answer, time, |w| w.direction, |a, b, u| (a.0 + u * turned(b.0 - a.0), a.1 + u * (b.1 - a.1)));
        if let Some((direction, sd)) = direction {
            truths.push(truth.from);
            let miss = Miss { error: turned(direction - truth.from), sd };
            verdict.direction.push(miss);
            if both_tacks_seen(outing, second) {
                verdict.direction_seen.push(miss);
            }
        }
        let speed = at_time(answer, time, |w| w.speed, |a, b, u| (a.0 + u * (b.0 - a.0), a.1 + u * (b.1 - a.1)));
        if let Some((speed, sd)) = speed {
            verdict.speed.push(Miss { error: speed / truth.speed - 1.0, sd: sd / truth.speed });
        }
    }
    verdict.constant = about_their_mean(&truths);
    verdict.moved = about_their_mean(&all);
}

/// RMS of directions (deg) about the constant that suits them best.
fn about_their_mean(directions: &[f64]) -> f64 {
    let Some(first) = directions.first().copied() else { return 0.0 };
    let n = directions.len() as f64;
    let mean = directions.iter().map(|t| turned(t - first)).sum::<f64>() / n;
    (directions.iter().map(|t| (turned(t - first) - mean).powi(2)).sum::<f64>() / n).sqrt()
}

/// Pairs of (true, answered) indices, one to one, nearest first.
fn matches(truth: &[f64], said: &[f64], within: f64) -> Vec<(usize, usize)> {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (i, t) in truth.iter().enumerate() {
        pairs.extend(said.iter().enumerate().filter(|(_, s)| (*s - t).abs() <= within).map(|(j, s)| ((s - t).abs(), i, j)));
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut taken, mut used) = (vec![false; truth.len()], vec![false; said.len()]);
    let mut result = Vec::new();
    for (_, i, j) in pairs {
        if !taken[i] && !used[j] {
            (taken[i], used[j]) = (true, true);
            result.push((i, j));
        }
    }
    result
}

fn judge_boat(outing: &Outing, starts: &[Vec<usize>], boat: usize, answer: &BoatAnswer, verdict: &mut Verdict) {
    let ahead = outing.recorders[boat].clock_ahead;
    let truth: Vec<f64> = outing.manoeuvres[boat].iter().map(|m| m.time).collect();
    // On which clock she was answered.
    let fit = |shift: f64| matches(&truth, &answer.manoeuvres.iter().map(|m| m.time - shift).collect::<Vec<_>>(), 2.0).len();
    let shift = if ahead != 0.0 && fit(ahead) > fit(0.0) { ahead } else { 0.0 };
    // What her recorder missed is asked of nobody.
    let covered = covered_seconds(outing, boat);
    let seen = |time: f64| {
        let i = (time - outing.start).max(0.0) as usize;
        (i.saturating_sub(8)..=i + 8).all(|i| covered.get(i).copied().unwrap_or(false))
    };
    for kind in [Turn::Tack, Turn::Gybe] {
        let truths: Vec<_> = outing.manoeuvres[boat].iter().filter(|m| m.kind == kind).collect();
        let said: Vec<_> = answer.manoeuvres.iter().filter(|m| m.kind == kind).collect();
        let pairs = matches(
            &truths.iter().map(|m| m.time).collect::<Vec<_>>(),
            &said.iter().map(|m| m.time - shift).collect::<Vec<_>>(),
            SAME_TURN,
        );
        let least = if kind == Turn::Gybe { GYBE_FROM } else { 0.0 };
        let mut found = Found::default();
        for (i, t) in truths.iter().enumerate() {
            if t.clear && t.turn >= least && seen(t.time) {
                found.there += 1;
                found.hit += usize::from(pairs.iter().any(|p| p.0 == i));
            }
        }
        for (j, s) in said.iter().enumerate() {
            let own = pairs.iter().find(|p| p.1 == j).map(|p| truths[p.0]);
            let doubtful = own.map_or_else(
                || outing.manoeuvres[boat].iter().any(|m| !m.clear && (m.time - s.time + shift).abs() < 8.0),
                |m| !m.clear || m.turn < least,
            );
            if !doubtful && s.turn >= least && seen(s.time - shift) {
                found.said += 1;
                found.right += usize::from(own.is_some());
            }
        }
        let losses = pairs.iter().filter_map(|&(i, j)| Some(said[j].loss? - truths[i].loss.filter(|_| truths[i].turn >= least)?));
        match kind {
            Turn::Tack => {
                verdict.tacks = verdict.tacks.with(found);
                verdict.tack_loss.extend(losses);
            }
            Turn::Gybe => {
                verdict.gybes = verdict.gybes.with(found);
                verdict.gybe_loss.extend(losses);
            }
        }
    }
    judge_roundings(outing, boat, answer, shift, verdict);
    judge_starts((outing, starts), boat, answer, shift, &covered, verdict);
    judge_stops(outing, boat, answer, shift, &covered, verdict);
    for leg in &outing.legs[boat] {
        let seconds = (leg.start - outing.start) as usize..(leg.end - outing.start) as usize;
        for second in seconds.filter(|&s| covered.get(s).copied().unwrap_or(false)) {
            verdict.legs.0 += 1;
            verdict.legs.1 += usize::from(kind_at(answer, outing.start + second as f64 + shift) == Some(leg.kind));
        }
    }
    if ahead.abs() < 3600.0 {
        let off = ahead.abs() >= 6.0;
        let close = answer.clock_shift.is_some_and(|s| (s + ahead).abs() <= 3.0);
        let proposed = answer.clock_shift.is_some_and(|s| s != 0.0);
        let found = Found {
            there: usize::from(off),
            hit: usize::from(off && close),
            // Here: clocks that are right, and those of them left alone.
            said: usize::from(!off),
            right: usize::from(!off && !proposed),
        };
        verdict.clocks = verdict.clocks.with(found);
    }
}

fn judge_roundings(outing: &Outing, boat: usize, answer: &BoatAnswer, shift: f64, verdict: &mut Verdict) {
    for kind in [crate::plan::MarkKind::Windward, crate::plan::MarkKind::Leeward] {
        let truth: Vec<f64> = outing.roundings[boat].iter().filter(|r| r.kind == kind).map(|r| r.time).collect();
        let said: Vec<f64> = answer.roundings.iter().filter(|r| r.kind == kind).map(|r| r.time - shift).collect();
        let pairs = matches(&truth, &said, SAME_ROUNDING).len();
        verdict.roundings = verdict.roundings.with(Found { there: truth.len(), hit: pairs, said: said.len(), right: pairs });
    }
}

/// Seconds at which a boat that had waited had gathered way for a beat: half of her speed from a quarter of a minute on. That she waited is
/// judged by what can be seen of it, her true speed: what a helm means by creeping to her place is known to nobody else.
pub(crate) fn went(outing: &Outing, boat: usize) -> Vec<usize> {
    let states = &outing.states[boat];
    let goes = |i: &usize| {
        if states[*i].doing != Doing::Sailing || states[*i].speed() <= states[i - 1].speed() {
            return false;
        }
        let (before, now, after) = (&states[i - WAITED..*i], &states[*i..i + 3], &states[i + 15..i + 40]);
        let full = after.iter().map(State::speed).sum::<f64>() / after.len() as f64;
        let afloat = |s: &State| matches!(s.doing, Doing::Sailing | Doing::Waiting);
        let waited = before.iter().all(|s| afloat(s) && s.speed() < WAITS * full) && states[i - 1].speed() < 0.5 * full;
        let gathers = now.iter().all(|s| s.doing == Doing::Sailing && s.speed() >= 0.5 * full);
        waited && gathers && after.iter().filter(|s| s.doing == Doing::Sailing && s.wind_angle().abs() < 72.0).count() >= 18
    };
    (WAITED..states.len().saturating_sub(40)).filter(goes).collect()
}

/// Who went at a start of the fleet: she waited, and half the boats or more went within [`TOGETHER`] of each other. Those whom the answer has
/// going must have gone from waiting then; with whom is not asked.
fn judge_starts(
    (outing, all): (&Outing, &[Vec<usize>]),
    boat: usize,
    answer: &BoatAnswer,
    shift: f64,
    covered: &[bool],
    verdict: &mut Verdict,
) {
    let boats = outing.states.len();
    let least = boats.div_ceil(2).max(2);
    let with = |i: usize| all.iter().filter(|own| own.iter().any(|j| i.abs_diff(*j) <= TOGETHER)).count();
    let seen = |i: usize| (i.saturating_sub(20)..i + 20).all(|i| covered.get(i).copied().unwrap_or(false));
    let truth: Vec<f64> = all[boat].iter().map(|i| *i as f64).collect();
    let said: Vec<f64> = answer.starts.iter().map(|t| t - shift - outing.start).collect();
    let pairs = matches(&truth, &said, SAME_START);
    let asked = |i: usize| with(all[boat][i]) >= least && seen(all[boat][i]);
    let found = Found {
        there: (0..truth.len()).filter(|i| asked(*i)).count(),
        hit: pairs.iter().filter(|p| asked(p.0)).count(),
        said: said.len(),
        right: pairs.len(),
    };
    verdict.starts = verdict.starts.with(found);
    verdict.start_times.extend(pairs.iter().map(|p| said[p.1] - truth[p.0]));
}

/// Stops of [`STOPPED`] seconds or more: right where half of the longer of the two is in both.
fn judge_stops(outing: &Outing, boat: usize, answer: &BoatAnswer, shift: f64, covered: &[bool], verdict: &mut Verdict) {
    let truth = outing.legs[boat].iter().filter(|l| l.kind == LegKind::Stopped).map(|l| (l.start - outing.start, l.end - outing.start));
    let truth: Vec<(f64, f64)> = truth.collect();
    let said: Vec<(f64, f64)> = answer.stops.iter().map(|s| (s.0 - shift - outing.start, s.1 - shift - outing.start)).collect();
    let same = |a: &(f64, f64), b: &(f64, f64)| {
        let both = a.1.min(b.1) - a.0.max(b.0);
        both >= 0.5 * (a.1 - a.0).max(b.1 - b.0)
    };
    let seen = |s: &(f64, f64)| (s.0 as usize..s.1 as usize).all(|i| covered.get(i).copied().unwrap_or(false));
    let long = |s: &&(f64, f64)| s.1 - s.0 >= STOPPED && seen(s);
    let found = Found {
        there: truth.iter().filter(long).count(),
        hit: truth.iter().filter(long).filter(|t| said.iter().any(|s| same(s, t))).count(),
        said: said.iter().filter(long).count(),
        right: said.iter().filter(long).filter(|s| truth.iter().any(|t| same(s, t))).count(),
    };
    verdict.stops = verdict.stops.with(found);
}

fn kind_at(answer: &BoatAnswer, time: f64) -> Option<LegKind> {
    answer.legs.iter().find(|l| (l.start..l.end).contains(&time)).map(|l| l.kind)
}

/// Seconds within 3 s of a fix.
fn covered_seconds(outing: &Outing, boat: usize) -> Vec<bool> {
    let recorder = &outing.recorders[boat];
    let mut covered = vec![false; outing.states[boat].len()];
    for fix in &recorder.fixes {
        let i = fix.0 - recorder.clock_ahead - outing.start;
        for second in (i - 3.0).ceil().max(0.0) as usize..=(i + 3.0).floor().max(0.0) as usize {
            if let Some(c) = covered.get_mut(second) {
                *c = true;
            }
        }
    }
    covered
}

fn judge_lineups(outing: &Outing, answer: &Answer, verdict: &mut Verdict) {
    // Answered passes by pair: the difference found and realised, and the sign of the setting.
    let mut trials: Vec<((usize, usize), f64, f64, f64)> = Vec::new();
    for truth in &outing.lineups {
        verdict.passes.0 += 1;
        let overlap = |l: &LineupAnswer| l.end.min(truth.end) - l.start.max(truth.start);
        let same = |l: &&LineupAnswer| l.boats == truth.boats || l.boats == (truth.boats.1, truth.boats.0);
        let best = answer.lineups.iter().filter(same).max_by(|a, b| overlap(a).total_cmp(&overlap(b)));
        let Some(said) = best.filter(|l| overlap(l) > 0.5 * (truth.end - truth.start)) else { continue };
        verdict.passes.1 += 1;
        let sign = if said.boats == truth.boats { 1.0 } else { -1.0 };
        let (from, to) = ((said.start - outing.start).max(0.0) as usize, (said.end - outing.start).max(0.0) as usize);
        // The truth over the very stretch that was answered.
        let realised = made_good_difference(&outing.states[truth.boats.0], &outing.states[truth.boats.1], from, to);
        verdict.lineups.push(Miss { error: sign * said.difference.0 - realised, sd: said.difference.1 });
        if let Some(carries) = truth.carries {
            let plus = if carries == truth.boats.0 { 1.0 } else { -1.0 };
            let made: f64 =
                outing.states[truth.boats.0][from..to.min(outing.states[truth.boats.0].len())].iter().map(|s| s.made_good()).sum::<f64>()
                    / (to - from).max(1) as f64;
            trials.push((truth.boats, sign * said.difference.0, plus, made));
        }
    }
    let mut pairs: Vec<(usize, usize)> = trials.iter().map(|t| t.0).collect();
    pairs.sort_unstable();
    pairs.dedup();
    for pair in pairs {
        let own: Vec<_> = trials.iter().filter(|t| t.0 == pair).collect();
        let side = |plus: f64| own.iter().filter(|t| t.2 == plus).map(|t| t.1).collect::<Vec<f64>>();
        let (with, without) = (side(1.0), side(-1.0));
        if with.len() < 4 || without.len() < 4 {
            continue;
        }
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
        let square = |v: &[f64]| v.iter().map(|x| (x - mean(v)).powi(2)).sum::<f64>();
        let freedom = (with.len() + without.len() - 2) as f64;
        let variance = (square(&with) + square(&without)) / freedom;
        let sd = 0.5 * (variance * (1.0 / with.len() as f64 + 1.0 / without.len() as f64)).sqrt();
        let truth = outing.setting_effect * own.iter().map(|t| t.3).sum::<f64>() / own.len() as f64;
        verdict.effects.push(Miss { error: 0.5 * (mean(&with) - mean(&without)) - truth, sd });
    }
}

impl Found {
    /// Both counts together.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self { there: self.there + other.there, hit: self.hit + other.hit, said: self.said + other.said, right: self.right + other.right }
    }
    /// Share of what was there that was found; none if nothing was there.
    #[must_use]
    pub fn recall(self) -> Option<f64> {
        (self.there > 0).then(|| self.hit as f64 / self.there as f64)
    }
    /// Share of what was said that is right; none if nothing was said.
    #[must_use]
    pub fn precision(self) -> Option<f64> {
        (self.said > 0).then(|| self.right as f64 / self.said as f64)
    }
}

impl Verdict {
    /// RMS of the direction, degrees; none where nothing was answered.
    #[must_use]
    pub fn direction_rms(&self) -> Option<f64> {
        rms(&self.direction)
    }
    /// RMS of the direction over that of the best constant.
    #[must_use]
    pub fn direction_ratio(&self) -> Option<f64> {
        Some(self.direction_rms()? / self.constant.max(1e-9))
    }
}

/// Root mean square of the errors; none of none.
#[must_use]
pub fn rms(misses: &[Miss]) -> Option<f64> {
    (!misses.is_empty()).then(|| (misses.iter().map(|m| m.error * m.error).sum::<f64>() / misses.len() as f64).sqrt())
}

/// Share of the errors within two standard deviations; none of none.
#[must_use]
pub fn coverage(misses: &[Miss]) -> Option<f64> {
    (!misses.is_empty()).then(|| misses.iter().filter(|m| m.error.abs() <= 2.0 * m.sd).count() as f64 / misses.len() as f64)
}
