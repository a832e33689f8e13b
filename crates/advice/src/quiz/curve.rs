//! What leaving a setting costs, swept: the trim taken anew at each value, all else held; and when that tells two values clearly apart.
//!
//! The stated doubt of a setting is where its best value lies 19 times in 20 ([`boat::spread`]). The whole curve may lie as far to
//! either side: what one value loses on another is asked of the curve at both ends of the doubt and in the middle; half of what those
//! three differ by is the doubt of the loss. A value is wrong clearly where it loses more than twice that.

use boat::gauge::Gauge;
use boat::optimum::Trimmed;
use boat::setup::{COST_LEG, Leg, LegSetup, Request, Sit};

use super::{found, set};

/// Points of a sweep.
const POINTS: u32 = 13;
/// The least that a wrong answer costs, boat lengths of the leg: less is no mistake to be taught.
const LEAST: f64 = 0.5;
/// The most: beyond it a boat is not sailed, and the number means nothing. Assumed, as on the card: fifty metres.
const MOST: f64 = 50.0;
/// Times the doubt by which the best must beat every other.
pub const CLEARLY: f64 = 2.0;
/// Shares of the reach where wrong answers are looked for.
const TRIED: u32 = 16;
/// A sailor leans out this much further than can be stayed at, m, and no more: what lies beyond is not sailed.
const TOO_FAR: f64 = 0.1;

/// A cost in boat lengths on a beat, with its range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// The least.
    pub low: f64,
    /// The middle.
    pub value: f64,
    /// The most.
    pub high: f64,
}

impl Cost {
    /// Half of its range: the stated doubt.
    #[must_use]
    pub fn doubt(&self) -> f64 {
        0.5 * (self.high - self.low)
    }

    /// Whether it is more than nothing by more than twice its doubt, and enough to matter.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.value >= LEAST && self.value > CLEARLY * self.doubt()
    }
}

/// A setting's curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Of which gauge.
    pub gauge: Gauge,
    /// The best reading, SI.
    pub best: f64,
    /// One step.
    pub step: f64,
    /// Where the best lies 19 times in 20.
    doubt: (f64, f64),
    /// Readings, rising, with boat lengths behind the best on [`COST_LEG`].
    points: Vec<(f64, f64)>,
    /// The longest loss that is told, boat lengths.
    most: f64,
}

impl Curve {
    /// Sweeps a gauge of a solved beat. `None` where the class lacks it, where it makes no difference or was not searched, where its
    /// doubt was not asked, or where fewer than three of its values can be sailed.
    #[must_use]
    pub fn solved(request: &Request<'_>, beat: &LegSetup, gauge: Gauge) -> Option<Self> {
        let setting = beat.setting(gauge).filter(|s| s.matters && s.basis == measure::Basis::Theory)?;
        let doubt = setting.doubt?;
        let boat = request.boat;
        let length = boat.class.hull.length;
        let (low, high) = swept(boat.reach(gauge)?, setting.value, gauge);
        let (best, _) = request.trimmed(Leg::Beat, &beat.mean().controls, None).ok()?;
        let made = best.whole.made_good;
        let lost = |near: &Trimmed, value: f64| -> Option<(Trimmed, f64)> {
            let (at, _) = request.trimmed(Leg::Beat, &set(boat, beat, gauge, value)?, Some(near)).ok()?;
            let sailed = at.whole.hike <= beat.limits.hike + TOO_FAR;
            let behind = COST_LEG * (1.0 - at.whole.made_good / made) / length;
            sailed.then_some((at, behind))
        };
        // From the best outward either way, each state from the one before: a value that cannot be sailed ends its side.
        let side = |end: f64| -> Vec<(f64, f64)> {
            let mut near = best.clone();
            let mut out = Vec::new();
            for k in 1..=POINTS / 2 {
                let value = setting.value + (end - setting.value) * f64::from(k) / f64::from(POINTS / 2);
                let Some((at, behind)) = lost(&near, value) else { break };
                out.push((value, behind));
                near = at;
            }
            out
        };
        let mut points: Vec<(f64, f64)> = side(low).into_iter().rev().collect();
        points.push((setting.value, 0.0));
        points.extend(side(high));
        points.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-9);
        let most = MOST / length;
        (points.len() >= 3).then_some(Self { gauge, best: setting.value, step: setting.step, doubt, points, most })
    }

    /// Boat lengths behind at a reading, between the points by straight lines; none outside of them.
    #[must_use]
    pub fn at(&self, reading: f64) -> Option<f64> {
        let pair = self.points.windows(2).find(|two| (two[0].0..=two[1].0).contains(&reading))?;
        let ((a, la), (b, lb)) = (pair[0], pair[1]);
        Some(la + (lb - la) * (reading - a) / (b - a))
    }

    /// The best reading as a child finds it again.
    #[must_use]
    pub fn shown(&self) -> f64 {
        found(self.gauge, self.best)
    }

    /// What a reading loses on the shown best, over the doubt of the whole curve.
    #[must_use]
    pub fn costs(&self, reading: f64) -> Option<Cost> {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else { return None };
        let shifts = [0.0, self.doubt.0 - self.best, self.doubt.1 - self.best];
        // A best at the end of its reach stays there: beyond it nothing can be set.
        let shown = |s: f64| self.at((self.shown() - s).clamp(first.0, last.0));
        let all: Option<Vec<f64>> = shifts.iter().map(|s| Some(self.at(reading - s)? - shown(*s)?)).collect();
        let all = all?;
        let (low, high) = all.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
        Some(Cost { low, value: *all.first()?, high })
    }

    /// Readings that are clearly wrong, with what they cost: as a child finds them, no two nearer than two steps.
    #[must_use]
    pub fn wrong(&self) -> Vec<(f64, Cost)> {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else { return Vec::new() };
        let mut out: Vec<(f64, Cost)> = Vec::new();
        for k in 0..=TRIED {
            let reading = found(self.gauge, first.0 + (last.0 - first.0) * f64::from(k) / f64::from(TRIED));
            let apart = out.last().is_none_or(|(before, _)| reading - before >= 2.0 * self.step);
            let Some(cost) = self.costs(reading).filter(|c| c.is_clear() && c.high <= self.most) else { continue };
            if apart && (reading - self.shown()).abs() >= 2.0 * self.step {
                out.push((reading, cost));
            }
        }
        out
    }
}

/// From where to where a gauge is swept, SI: what can be reached, no further than a coach would try.
fn swept((low, high): (f64, f64), best: f64, gauge: Gauge) -> (f64, f64) {
    let (least, most) = match gauge {
        Gauge::BoomEndDock | Gauge::MastTipTape => (best - 0.25, best + 0.25),
        Gauge::CarOffset => (0.0, high),
        _ => (low, high),
    };
    (least.max(low).min(best), most.min(high).max(best))
}

/// Half way to the side: where sitting inside ends, m; and the share of what can be stayed at from which one is flat out, as in
/// [`Sit::of`].
const INSIDE: f64 = 0.25;
const FLAT_OUT: f64 = 0.97;

/// How to sit, where it is clear: further from the next way of sitting than twice the doubt of how far out the sailor must be.
#[must_use]
pub fn sit(beat: &LegSetup) -> Option<Sit> {
    let (hike, limit) = (beat.mean().whole.hike, beat.limits.hike);
    let sit = Sit::of(hike, limit);
    // Where doubts were asked and this gauge has none, its best value does not move: it stands at a limit.
    beat.settings.iter().any(|s| s.doubt.is_some()).then_some(())?;
    let (low, high) = beat.setting(Gauge::HikeOut).and_then(|s| s.doubt).unwrap_or((hike, hike));
    let doubt = 0.5 * (high - low);
    let nearest = [INSIDE, FLAT_OUT * limit].map(|edge| (hike - edge).abs()).into_iter().fold(f64::INFINITY, f64::min);
    (nearest > CLEARLY * doubt).then_some(sit)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square law with a known doubt: clear from four times the doubt's half-width, by the rule of the module.
    #[test]
    fn clear_is_four_half_widths_from_the_best_of_a_square_law() {
        let half = 0.01;
        let points = (-50..=50).map(|k| (0.2 + 0.005 * f64::from(k), (0.5 * f64::from(k)).powi(2) * 0.01)).collect();
        let curve = Curve { gauge: Gauge::SailBoomGap, best: 0.2, step: 0.005, doubt: (0.2 - half, 0.2 + half), points, most: 60.0 };
        for cm in 0..=45 {
            let reading = f64::from(cm) / 100.0;
            let Some(cost) = curve.costs(reading) else { continue };
            let apart = (reading - 0.2_f64).abs();
            if apart > 1e-9 && (apart - 4.0 * half).abs() > 0.006 {
                assert_eq!(cost.value > CLEARLY * cost.doubt(), apart > 4.0 * half, "{cm} cm: {cost:?}");
            }
        }
        assert!(curve.wrong().iter().all(|(v, c)| (v - 0.2).abs() > 4.0 * half - 0.006 && c.low > 0.0));
        assert!(!curve.wrong().is_empty());
    }
}
