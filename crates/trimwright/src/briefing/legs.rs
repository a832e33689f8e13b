//! Stretches of beats that boats sailed together, and what the model foresees of each sailor in them: what [`evidence::legs`] weighs.
//!
//! A stretch is `SECONDS` of the outing's clock; who was on a beat all the time, by a recorder whose clock is right, is in it. What she made good is her way
//! over the ground against the mean wind of the stretch: current, waves and a wrong wind are shared by all and fall out. The model's answers are solved on a
//! grid of masses and winds, everybody set as her card would have it, and read between.

use boat::crew::{Sailor as Body, Skill};
use evidence::legs::Stretch;
use measure::wind::METER_HEIGHT;
use rayon::prelude::*;
use track::debrief::{Boat as Sailed, Debrief, Kind};

use super::ashore::{to_windward, wind_at};
use super::season::{MULTIPLIERS, Stand, of_a_unit};
use crate::day::Day;
use crate::outing::{Outing, Trail};

/// Length of a stretch, s: long enough for a few tacks, short enough that a shift does not sort the boats. Assumed.
const SECONDS: f64 = 180.0;
/// Masses and winds of the grid.
const MASSES: usize = 4;
const WINDS: usize = 4;
/// Winds nearer together than this, m/s, and masses, kg, are one. Assumed.
const ONE_WIND: f64 = 0.2;
const ONE_MASS: f64 = 0.5;

/// Boats that sailed a stretch of a beat together.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// The wind then, m/s.
    pub wind: f64,
    /// Each boat by its place among the tracks, and what she made good, m/s.
    pub boats: Vec<(usize, f64)>,
}

/// The stretches of an outing in time; one that fewer than two boats sailed is left empty, so that neighbours stay neighbours. None of an outing whose wind's speed is not told.
#[must_use]
pub fn together(outing: &Outing) -> Vec<Together> {
    let answer = &outing.answer;
    let Some((first, last)) = super::ashore::span(answer) else { return Vec::new() };
    let count = ((last - first) / SECONDS).max(0.0) as usize;
    (0..count)
        .filter_map(|k| {
            let from = first + k as f64 * SECONDS;
            let wind = strength(answer, from)?;
            let axis = wind_at(answer, from + 0.5 * SECONDS)?;
            let made = |(n, (boat, trail)): (usize, (&Sailed, &Trail))| Some((n, made_good(boat, trail, axis, from)?));
            let boats: Vec<_> = answer.boats.iter().zip(&outing.trails).enumerate().filter_map(made).collect();
            Some(Together { wind, boats: if boats.len() > 1 { boats } else { Vec::new() } })
        })
        .collect()
}

/// The mean speed of the wind over a stretch.
fn strength(answer: &Debrief, from: f64) -> Option<f64> {
    let own = answer.wind.iter().filter(|w| w.time >= from && w.time < from + SECONDS).filter_map(|w| w.speed);
    let (sum, n) = own.fold((0.0, 0.0), |s, w| (s.0 + w.0, s.1 + 1.0));
    (n > 0.0).then(|| sum / n)
}

/// What a boat made good that was on a beat throughout.
fn made_good(boat: &Sailed, trail: &Trail, axis: f64, from: f64) -> Option<f64> {
    let to = from + SECONDS;
    let beats = boat.legs.iter().any(|l| l.kind == Some(Kind::Beat) && l.start <= from && l.end >= to);
    if !beats || boat.clock_shift.is_some() {
        return None;
    }
    let (start, first) = trail.between(from, from + 3.0).next()?;
    let (end, last) = trail.between(to - 3.0, to).last()?;
    (end - start > 0.9 * SECONDS).then(|| (to_windward(last, axis) - to_windward(first, axis)) / (end - start))
}

/// What the model foresees for masses and winds: made good on the best beat, and its change for a unit of each multiplier.
#[derive(Debug)]
pub struct Grid {
    masses: Vec<f64>,
    winds: Vec<f64>,
    /// By mass, then by wind.
    answers: Vec<Option<[f64; 1 + MULTIPLIERS.len()]>>,
}

/// So many values from the least to the greatest; one where they are one.
fn spread(values: &[f64], most: usize, one: f64) -> Vec<f64> {
    let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |s, v| (s.0.min(*v), s.1.max(*v)));
    if low > high {
        return Vec::new();
    }
    let count = (((high - low) / one) as usize + 1).clamp(1, most);
    (0..count).map(|k| if count == 1 { 0.5 * (low + high) } else { low + (high - low) * k as f64 / (count - 1) as f64 }).collect()
}

/// Where a value lies on an axis: the entry below it, and how far towards the next.
fn place(axis: &[f64], value: f64) -> (usize, f64) {
    let below = axis.partition_point(|v| *v <= value).saturating_sub(1).min(axis.len().saturating_sub(2));
    match (axis.get(below), axis.get(below + 1)) {
        (Some(a), Some(b)) => (below, ((value - a) / (b - a)).clamp(0.0, 1.0)),
        _ => (0, 0.0),
    }
}

impl Grid {
    /// Solved for the squad's masses (kg) and the winds of its stretches (m/s at 2 m), on one boat.
    #[must_use]
    pub fn of(boat: &boat::balance::Boat, day: Day, masses: &[f64], winds: &[f64]) -> Self {
        let (masses, winds) = (spread(masses, MASSES, ONE_MASS), spread(winds, WINDS, ONE_WIND));
        let cells: Vec<(f64, f64)> = masses.iter().flat_map(|m| winds.iter().map(move |w| (*m, *w))).collect();
        let answers = cells
            .par_iter()
            .map(|(mass, wind)| {
                let stand =
                    Stand { boat, sailor: Body::of(*mass, Skill::default()), day: Day { given: *wind, height: METER_HEIGHT, ..day } };
                let best = stand.best()?;
                let slopes = of_a_unit(|boat| stand.made_good(boat, &best.mean().controls, best.mean()), boat);
                let mut answer = [best.made_good; 1 + MULTIPLIERS.len()];
                answer[1..].copy_from_slice(&slopes);
                Some(answer)
            })
            .collect();
        Self { masses, winds, answers }
    }

    /// Between its points. None where the model has no answer near.
    fn at(&self, mass: f64, wind: f64) -> Option<[f64; 1 + MULTIPLIERS.len()]> {
        let ((m, part), (w, share)) = (place(&self.masses, mass), place(&self.winds, wind));
        let mut sum = [0.0; 1 + MULTIPLIERS.len()];
        for (i, a) in [(m, 1.0 - part), (m + 1, part)] {
            for (j, b) in [(w, 1.0 - share), (w + 1, share)] {
                if a * b > 0.0 {
                    let answer = (*self.answers.get(i * self.winds.len() + j)?)?;
                    sum.iter_mut().zip(answer).for_each(|(s, v)| *s += a * b * v);
                }
            }
        }
        Some(sum)
    }

    /// A boat of a stretch, held against the model.
    #[must_use]
    pub fn stretch(&self, [number, sailor, outing]: [usize; 3], mass: f64, wind: f64, made_good: f64) -> Option<Stretch> {
        let [foreseen, slopes @ ..] = self.at(mass, wind)?;
        Some(Stretch { number, sailor, outing, made_good, foreseen, sensitivities: slopes.to_vec() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use boat::class::Class;

    #[test]
    fn an_axis_is_read_between_its_points() {
        assert_eq!(spread(&[40.0, 30.0, 34.0], 3, 0.5), [30.0, 35.0, 40.0]);
        assert_eq!(spread(&[40.0, 40.2], 3, 0.5), [40.1]);
        assert!(spread(&[], 3, 0.5).is_empty());
        assert_eq!((place(&[1.0, 2.0, 4.0], 3.0), place(&[1.0, 2.0, 4.0], 9.0), place(&[1.0], 9.0)), ((1, 0.5), (1, 1.0), (0, 0.0)));
        let grid = Grid {
            masses: vec![30.0, 50.0],
            winds: vec![3.0],
            answers: vec![Some([1.0, 0.0, 2.0, 0.0, 0.0, 0.0, 0.0]), Some([2.0, 0.0, 4.0, 1.0, 0.0, 0.0, 0.0])],
        };
        assert_eq!(grid.at(40.0, 5.0), Some([1.5, 0.0, 3.0, 0.5, 0.0, 0.0, 0.0]));
        assert_eq!(grid.at(10.0, 5.0), Some([1.0, 0.0, 2.0, 0.0, 0.0, 0.0, 0.0]));
        assert!(Grid { masses: Vec::new(), winds: Vec::new(), answers: Vec::new() }.at(40.0, 5.0).is_none());
    }

    /// Where both hold the boat upright the lighter is foreseen faster, in a breeze the heavier; and more drag of waves slows both.
    #[test]
    fn the_model_tells_sailors_apart() {
        let day = Day { height: METER_HEIGHT, ..Day::open(6.0) };
        let boat = day.boat(&Class::pram(), None).unwrap();
        let grid = Grid::of(&boat, day, &[32.0, 42.0], &[6.0, 8.5]);
        let of = |mass, wind| grid.stretch([0, 0, 0], mass, wind, 1.0).unwrap();
        let (light, heavy) = (of(32.0, 6.0), of(42.0, 6.0));
        assert!(heavy.foreseen > 0.5 && heavy.foreseen < light.foreseen, "{light:?} {heavy:?}");
        let (light, heavy) = (of(32.0, 8.5), of(42.0, 8.5));
        assert!(light.foreseen > 0.5 && heavy.foreseen > light.foreseen, "{light:?} {heavy:?}");
        assert!(
            light.sensitivities[0] < 0.0 && heavy.sensitivities[0] < 0.0 && light.sensitivities != heavy.sensitivities,
            "{light:?} {heavy:?}"
        );
    }
}
