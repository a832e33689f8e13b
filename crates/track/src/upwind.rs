//! Where metres went on a beat beside its turns: on the headed tack of a shift, by sailing off the own best angle, past the layline.
//!
//! Each by its own definition, each with a standard deviation that holds what the wind's direction leaves open; it is the same error for the whole of a stretch, so it
//! does not shrink with its length. Nothing here is a comparison with another boat, but for the speed that the wind of the moment allows, which all boats tell.
//!
//! - **Shifts.** The mean of the moment is that of the eight minutes around it. A boat on the lifted tack makes good `v sin(angle) sin(shift)` more along it than on the mean of
//!   both tacks, on the headed one as much less; the sum over a beat is what the shifts brought her. Seconds past the layline of a windward course mark
//!   count nothing: there is no choice left.
//! - **Angle.** A stretch of steady sailing on one tack, four degrees and twice the wind's doubt or more off the angle at which she usually sails a beat, in which she
//!   made good less than she usually does in the wind of that moment.
//! - **Layline.** From where she tacked for the windward course mark: what she sailed too far on the tack before, and then freer than close-hauled, less what the
//!   shortest way takes at her own speed.

use crate::fleet::{Boat, Fleet};
use crate::leg::{Kind, Stretch};
use crate::manoeuvre::{Found, Level, Turn};
use crate::middle::middle;
use crate::rounding::{Mark, MarkKind, Rounding};
use crate::wind::Wind;
use measure::angle::DEGREE;

/// What took the metres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Cause {
    /// On the headed tack.
    Headed,
    /// Too close to the wind.
    Pinched,
    /// Too far off it.
    Footed,
    /// Past the layline.
    Overstood,
}

/// Metres lost on a stretch of a beat, on the grid.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lost {
    pub(crate) cause: Cause,
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) metres: f64,
    pub(crate) sd: f64,
}

/// One beat on the grid.
#[derive(Debug, Clone)]
pub(crate) struct Upwind {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// What the shifts brought, m and its standard deviation; none where they cannot be told.
    pub(crate) shifts: Option<(f64, f64)>,
    /// What can be told from chance: 19 times in 20 it is no gain.
    pub(crate) lost: Vec<Lost>,
}

/// Legs to windward parted by less than this, s, and by no rounding, are one beat; shorter ones are none.
const PARTED: usize = 45;
const SHORTEST: usize = 45;
/// A turn this long before or after a rounding is the rounding's own, s. Assumed: a child rounds within a quarter of a minute.
const ROUNDS: usize = 8;
/// Half of what the mean of the moment is taken over, s: a swing to and fro lasts three to six minutes (common practice, no source).
const MOMENT: usize = 240;
/// A header told by itself: on one tack for so long, s, by so much. Assumed.
const HEADED: (usize, f64) = (20, 3.0 * DEGREE);
/// Off her angle: so long, s, by so much. Assumed.
const OFF: (usize, f64) = (20, 4.0 * DEGREE);
/// Her usual angle is told by so many steady seconds, and is known to this, rad. Assumed.
const USUAL: usize = 120;
const USUAL_SD: f64 = 1.5 * DEGREE;
/// Steady close-hauled sailing is closer to the wind than this.
const BEAT: f64 = 65.0 * DEGREE;
/// The last tack to the course mark is told by so many seconds; a course mark is left by so much to the side, m. Assumed.
const LAST: usize = 12;
const BERTH: f64 = 3.0;
/// Standard deviations to be told from chance, 19 times in 20.
const TOLD: f64 = 2.0;
/// Less is not worth a word, m. Assumed.
const LEAST: f64 = 1.0;

/// What is known of a boat.
pub(crate) struct Known<'a> {
    pub(crate) fleet: &'a Fleet,
    pub(crate) wind: &'a Wind,
    pub(crate) level: &'a Level,
    pub(crate) boat: usize,
    pub(crate) angles: &'a [f64],
    pub(crate) stretches: &'a [Stretch],
    pub(crate) turns: &'a [Found],
    pub(crate) roundings: &'a [Rounding],
    pub(crate) marks: &'a [Mark],
}

/// A boat's beats in time.
pub(crate) fn beats(known: &Known<'_>) -> Vec<Upwind> {
    let rounded = |from: usize, to: usize| known.roundings.iter().any(|r| r.at + ROUNDS > from && r.at < to + ROUNDS);
    let mut spans: Vec<(usize, usize)> = Vec::new();
    for leg in known.stretches.iter().filter(|s| s.kind == Kind::Beat) {
        match spans.last_mut() {
            Some(last) if leg.from < last.1 + PARTED && !rounded(last.1, leg.from) => last.1 = leg.to,
            _ => spans.push((leg.from, leg.to)),
        }
    }
    let b = &known.fleet.boats[known.boat];
    let steady = b.steady();
    let hauled: Vec<f64> =
        (b.span.0..b.span.1).filter(|i| steady[*i] && known.angles[*i].abs() < BEAT).map(|i| known.angles[i].abs()).collect();
    let usual = (hauled.len() >= USUAL).then(|| middle(&mut hauled.clone()));
    let mean = Moments::of(known.wind, known.fleet.len);
    let long = |span: &(usize, usize)| span.1 - span.0 > SHORTEST;
    spans.into_iter().filter(long).map(|span| beat(known, b, &steady, usual, &mean, span)).collect()
}

/// Sums of the wind's direction, for means over any window.
struct Moments(Vec<f64>);

impl Moments {
    fn of(wind: &Wind, len: usize) -> Self {
        let mut sums = Vec::with_capacity(len + 1);
        let mut sum = 0.0;
        sums.push(sum);
        for i in 0..len {
            sum += wind.middle(i).0;
            sums.push(sum);
        }
        Self(sums)
    }
    /// The mean of the moment; none within the first and last two minutes, where the window lacks a side.
    fn at(&self, second: usize) -> Option<f64> {
        let last = self.0.len() - 1;
        let (from, to) = (second.saturating_sub(MOMENT), (second + MOMENT).min(last));
        (to - from > 3 * MOMENT / 2).then(|| (self.0[to] - self.0[from]) / (to - from) as f64)
    }
}

fn beat(known: &Known<'_>, b: &Boat, steady: &[bool], usual: Option<f64>, mean: &Moments, (from, to): (usize, usize)) -> Upwind {
    let windward = known.roundings.iter().find(|r| r.kind == MarkKind::Windward && r.at + 30 > to && r.at < to + 30);
    let tacks = known.turns.iter().filter(|t| t.kind == Turn::Tack).map(|t| t.at as usize).filter(|t| (from..to).contains(t));
    let last = tacks.max();
    let over = windward.zip(last).zip(usual).and_then(|((r, tack), usual)| overstood(known, b, r, tack, usual));
    // After the last tack for the course mark there is no choice left.
    let free = if windward.is_some() { last.unwrap_or(from) } else { to };
    let (shifts, headed) = shifts(known, b, steady, mean, (from, free.max(from)));
    let mut lost: Vec<Lost> = headed;
    // Who sails freer to the course mark than close-hauled has overstood, and is not charged twice.
    lost.extend(usual.map(|usual| off_angle(known, b, steady, usual, (from, free.max(from)))).unwrap_or_default());
    lost.extend(over);
    lost.retain(|l| l.metres > LEAST && l.metres > TOLD * l.sd);
    lost.sort_by_key(|l| l.from);
    Upwind { from, to, shifts, lost }
}

/// What the shifts brought over a beat, and the stretches on a headed tack.
fn shifts(known: &Known<'_>, b: &Boat, steady: &[bool], mean: &Moments, (from, to): (usize, usize)) -> (Option<(f64, f64)>, Vec<Lost>) {
    let (mut sum, mut lever, mut seconds) = (0.0, [0.0; 2], 0);
    let mut found: Vec<Lost> = Vec::new();
    let mut open: Option<(Lost, f64)> = None;
    for (i, steady) in steady.iter().enumerate().take(to).skip(from) {
        let told = steady.then(|| mean.at(i)).flatten().filter(|_| known.angles[i].abs() < BEAT);
        let Some(mean) = told else { continue };
        let side = known.angles[i].signum();
        let lift = side * (known.wind.from(i, [b.x[i], b.y[i]]) - mean);
        let across = b.speed[i] * known.angles[i].abs().sin();
        sum += across * lift.sin();
        // One error of the wind for all the beat counts for one tack what it takes from the other.
        lever[usize::from(side > 0.0)] += across;
        seconds += 1;
        let sd = known.wind.middle(i).1;
        match &mut open {
            Some((lost, tack)) if *tack == side && lift < 0.0 && i < lost.to + 15 => {
                (lost.to, lost.metres, lost.sd) = (i + 1, lost.metres - across * lift.sin(), lost.sd + across * sd);
            }
            open => {
                found.extend(open.take().map(|o| o.0));
                if lift < 0.0 {
                    *open = Some((Lost { cause: Cause::Headed, from: i, to: i + 1, metres: -across * lift.sin(), sd: across * sd }, side));
                }
            }
        }
    }
    found.extend(open.map(|o| o.0));
    found.retain(|l| l.to - l.from >= HEADED.0 && l.metres > HEADED.1.sin() * (l.to - l.from) as f64 * 0.5 * b.pace);
    let sd = known.wind.middle(usize::midpoint(from, to)).1;
    let whole = (seconds > SHORTEST).then(|| {
        // Errors come and go with the swings: of the beat's two or so the levers of both tacks carry one each.
        (sum, sd * lever[0].hypot(lever[1]))
    });
    (whole, found)
}

/// Stretches off her usual angle in which she made good less than usual in the wind of the moment.
fn off_angle(known: &Known<'_>, b: &Boat, steady: &[bool], usual: f64, (from, to): (usize, usize)) -> Vec<Lost> {
    let mut found = Vec::new();
    let mut i = from;
    while i < to {
        let off = |i: usize| if steady[i] { known.angles[i].abs() - usual } else { 0.0 };
        let least = |i: usize| OFF.1.max(TOLD * known.wind.middle(i).1.hypot(USUAL_SD));
        // A stretch that stays off to one side; a moment's wave does not end it.
        let smooth = |i: usize| {
            let (a, e) = (i.saturating_sub(4).max(from), (i + 5).min(to));
            (a..e).map(off).sum::<f64>() / (e - a) as f64
        };
        let way = smooth(i);
        if !steady[i] || way.abs() < least(i) {
            i += 1;
            continue;
        }
        let side = known.angles[i].signum();
        let goes_on =
            |j: usize| steady[j] && known.angles[j].signum() == side && smooth(j) * way.signum() > least(j) && known.angles[j].abs() < BEAT;
        let end = (i..to).find(|j| !goes_on(*j)).unwrap_or(to);
        if end - i >= OFF.0 {
            let made = |j: usize| b.speed[j] * known.angles[j].abs().cos();
            let expected: Option<Vec<f64>> = (i..end).map(|j| known.level.usual(known.boat, j)).collect();
            if let Some(expected) = expected {
                let metres = expected.iter().sum::<f64>() - (i..end).map(made).sum::<f64>();
                let seconds = (end - i) as f64;
                let pace = (i..end).map(|j| b.speed[j]).sum::<f64>() / seconds;
                // The wind turned by a degree makes her sail a degree higher and make good more, or the other way about; and speeds scatter.
                let turned = pace * usual.sin() * known.wind.middle(i).1 * seconds;
                let scatter = known.level.scatter(known.boat) * pace * usual.cos() * (seconds * crate::wind::BLOCK as f64).sqrt();
                let cause = if way < 0.0 { Cause::Pinched } else { Cause::Footed };
                found.push(Lost { cause, from: i, to: end, metres, sd: turned.hypot(scatter) });
            }
        }
        i = end.max(i + 1);
    }
    found
}

/// Metres to windward lost by tacking for a course mark past its layline.
fn overstood(known: &Known<'_>, b: &Boat, rounding: &Rounding, tack: usize, usual: f64) -> Option<Lost> {
    let begin = tack + 4;
    if rounding.at < begin + LAST || !b.on[begin..rounding.at].iter().all(|on| *on) {
        return None;
    }
    let mark = known.marks.get(rounding.mark)?;
    let (seconds, middle) = ((rounding.at - begin) as f64, usize::midpoint(begin, rounding.at));
    let side = (begin..rounding.at).map(|i| known.angles[i]).sum::<f64>().signum();
    let from = (begin..rounding.at).map(|i| known.wind.from(i, [b.x[i], b.y[i]])).sum::<f64>() / seconds;
    let (_, sd) = known.wind.middle(middle);
    let way = [mark.place[0] - b.x[begin], mark.place[1] - b.y[begin]];
    let straight = way[0].hypot(way[1]);
    let speed = (begin..rounding.at).map(|i| b.speed[i]).sum::<f64>() / seconds;
    let close = known.level.usual(known.boat, middle)? / usual.cos();
    // The way to the course mark in parts along the last tack and the one before.
    let extra = |from: f64, usual: f64| {
        let (own, other) = (from - side * usual, from + side * usual);
        let det = own.sin() * other.cos() - other.sin() * own.cos();
        let along = (way[0] * other.cos() - other.sin() * way[1]) / det;
        let past = -(own.sin() * way[1] - way[0] * own.cos()) / det;
        (along, past)
    };
    let lost = |from: f64, usual: f64| {
        let (along, past) = extra(from, usual);
        (past - BERTH + straight * (close / speed.max(0.2)).min(1.0) - along).max(0.0) * usual.cos()
    };
    let (_, past) = extra(from, usual);
    if past < BERTH {
        return None;
    }
    let metres = lost(from, usual);
    let by = |turned: f64, wider: f64| (lost(from + turned, usual + wider) - lost(from - turned, usual - wider)).abs() * 0.5;
    let place = mark.sd.unwrap_or(BERTH);
    let sd = by(sd, 0.0).hypot(by(0.0, USUAL_SD)).hypot(place * usual.cos());
    Some(Lost { cause: Cause::Overstood, from: begin, to: rounding.at, metres, sd })
}
