//! A season in the coach's words: what each setting was worth over all outings, held against the model's own prediction; what that says
//! of the model's multipliers; what to test next; how each sailor came on.
//!
//! The prediction of a setting is the solved boat's: every other setting held, sheet, course and how far out trimmed anew, in the mean
//! wind of the passes. Its doubt is the spread of the same difference over samples of the model's constants ([`boat::spread`]).

use boat::balance::{Boat, Controls};
use boat::constants::{Constants, all};
use boat::crew::Sailor as Body;
use boat::gauge::Gauge;
use boat::optimum::Trimmed;
use boat::setup::{Leg, LegSetup, Request};
use boat::spread::{SEED, boats};
use evidence::calibration::{Calibration, Coefficient, Observation, corrected};
use evidence::effect::{Belief, Effect};
use evidence::legs::Legs;
use evidence::next_test::{Candidate, Test, tests};
use measure::angle::DEGREE;
use track::debrief::{Debrief, Mean, Turn};

use crate::day::Day;
use boat::balance::Tack;

/// Samples of the constants for a prediction's doubt. A doubt is known from so many to a seventh.
const SAMPLES: usize = 24;
/// A prediction is never surer than this, m/s: what form errors of the model leave open. Assumed.
const LEAST_DOUBT: f64 = 0.004;
/// Scatter of one pass's difference where the squad has sailed none, m/s: the line-ups of `docs/accuracy.md` (.015) and two sailors who
/// differ. Assumed.
pub const PASS_NOISE: f64 = 0.03;
/// Seconds of a pass with the sail back. Common practice, no source.
const PASS: f64 = 240.0;
/// Seconds to get a test going.
const START: f64 = 300.0;
/// Minutes of an afternoon's test, and the half width that settles one, m/s.
const MINUTES: f64 = 60.0;
const SETTLED: f64 = 0.01;

/// The model's few parts that a squad's passes may correct: what a coach would call it, and the constant it stands for. Hull, sail and heel, and then those that the
/// worth of a setting a child can swap hangs on most: the seat on how far the bow comes up, the board on the drag of leeway, the gap on what depth lifts.
pub const MULTIPLIERS: [(&str, &str); 6] = [
    ("wave-making of the hull", "hull.residuary_scale"),
    ("most lift of the sail", "section.lift_max_flat"),
    ("drag of heel", "hull.residuary_heel"),
    ("bow coming up under way", "hull.dynamic_trim"),
    ("drag of leeway", "hull.leeway_drag"),
    ("depth up to which a sail lifts more", "section.lift_max_camber_scale"),
];

/// Where a prediction stands: whose boat, in which wind.
#[derive(Debug)]
pub struct Stand<'a> {
    /// The boat.
    pub boat: &'a Boat,
    /// The sailor.
    pub sailor: Body,
    /// The wind.
    pub day: Day,
}

/// What one value of a gauge in place of another should gain.
#[derive(Debug, Clone, PartialEq)]
pub struct Foreseen {
    /// By the model, and how far it may be off, m/s.
    pub gain: Belief,
    /// Change of the gain for a unit of each of [`MULTIPLIERS`], m/s.
    pub sensitivities: Vec<f64>,
}

impl Stand<'_> {
    fn request<'b>(&self, boat: &'b Boat) -> Request<'b> {
        let conditions = self.day.conditions(1.0, Tack::Starboard);
        Request { boat, sailor: self.sailor, conditions, gusts: 1.0, reach: None, bands: false }
    }

    /// The best beat. `None` where the wind has none.
    #[must_use]
    pub fn best(&self) -> Option<LegSetup> {
        self.request(self.boat).leg(Leg::Beat, 0.0).ok()
    }

    /// Speed made good by a boat's constants with settings held.
    pub(super) fn made_good(&self, boat: &Boat, held: &Controls, near: &Trimmed) -> Option<f64> {
        Some(self.trimmed(boat, held, near)?.whole.made_good)
    }

    /// Course and sheet taken anew with settings held.
    fn trimmed(&self, boat: &Boat, held: &Controls, near: &Trimmed) -> Option<Trimmed> {
        let request = self.request(boat);
        request.trimmed(Leg::Beat, held, Some(near)).or_else(|_| request.trimmed(Leg::Beat, held, None)).ok().map(|found| found.0)
    }

    /// What `to` in place of `from` (SI) should gain from the best beat. `None` where the boat has no such setting, or no state with it.
    #[must_use]
    pub fn foreseen(&self, best: &LegSetup, gauge: Gauge, from: f64, to: f64) -> Option<Foreseen> {
        let near = best.mean();
        let held = |value: f64| {
            let mut controls = near.controls;
            self.boat.set(&mut controls, &[(gauge, value)]).ok()?;
            Some(controls)
        };
        let (from, to) = (held(from)?, held(to)?);
        // From one to the other on the same boat: from the boat as believed to another setting of another boat is too long a stride, and may end beside.
        let gain = |boat: &Boat| {
            let before = self.trimmed(boat, &from, near)?;
            let after = self.trimmed(boat, &to, &before)?;
            Some(after.whole.made_good - before.whole.made_good)
        };
        let mean = gain(self.boat)?;
        let others: Vec<f64> = boats(self.boat, SAMPLES, SEED).iter().filter_map(gain).collect();
        if others.len() < SAMPLES / 2 {
            return None;
        }
        let about = others.iter().map(|g| (g - mean).powi(2)).sum::<f64>() / others.len() as f64;
        let sensitivities = of_a_unit(gain, self.boat);
        Some(Foreseen { gain: Belief { mean, sd: about.sqrt().max(LEAST_DOUBT) }, sensitivities: sensitivities.to_vec() })
    }
}

/// Change of an answer of the model for a unit of each of [`MULTIPLIERS`], by a step of the belief's own doubt; nothing where it has no answer there.
pub(super) fn of_a_unit(answer: impl Fn(&Boat) -> Option<f64>, boat: &Boat) -> [f64; MULTIPLIERS.len()] {
    MULTIPLIERS.map(|(_, name)| {
        let Some(sd) = prior(name).map(|p| p.sd) else { return 0.0 };
        let with = |by: f64| answer(&boat.by(&Constants::chosen(|c| c.value + if c.name == name { by } else { 0.0 })));
        with(0.5 * sd).zip(with(-0.5 * sd)).map_or(0.0, |(more, less)| (more - less) / sd)
    })
}

/// [`MULTIPLIERS`] as they are believed.
#[must_use]
pub fn coefficients() -> Vec<Coefficient> {
    MULTIPLIERS.iter().filter_map(|(name, constant)| Some(Coefficient { name: (*name).to_owned(), prior: prior(constant)? })).collect()
}

/// What is believed of a constant before the squad's passes: its range holds it 19 times in 20.
#[must_use]
pub fn prior(name: &str) -> Option<Belief> {
    all().iter().find(|c| c.name == name).map(|c| Belief { mean: c.value, sd: (c.high - c.low) / (2.0 * 1.96) })
}

/// One setting over the season: what the passes say, what the model says, and both together.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The gauge.
    pub gauge: Gauge,
    /// By the passes.
    pub effect: Effect,
    /// Outings in which it was tried.
    pub outings: usize,
    /// By the model; none where it has no answer.
    pub foreseen: Option<Foreseen>,
    /// Both.
    pub both: Option<Belief>,
}

impl Judged {
    /// Joins them.
    #[must_use]
    pub fn of(gauge: Gauge, effect: Effect, outings: usize, foreseen: Option<Foreseen>) -> Self {
        let both = foreseen.as_ref().map(|f| effect.with_prior(f.gain));
        Self { gauge, effect, outings, foreseen, both }
    }
    /// Metres gained on 500 m made good for a gain in m/s, by the passes' own speeds.
    #[must_use]
    pub fn metres(&self, gain: f64) -> Option<f64> {
        let [middle, ..] = self.effect.metres_per_500?;
        (self.effect.vmg_difference_ms.abs() > 1e-9).then(|| gain * middle / self.effect.vmg_difference_ms)
    }
}

/// The multipliers corrected by settings that were tried, and by legs that boats sailed together.
///
/// # Errors
/// In words, why not.
pub fn calibrated(judged: &[Judged], legs: Option<&Legs>) -> Result<Calibration, String> {
    let coefficients = coefficients();
    let mut seen: Vec<Observation> = judged
        .iter()
        .filter(|one| one.effect.df > 2.0)
        .filter_map(|one| {
            let foreseen = one.foreseen.as_ref()?;
            let df = one.effect.df;
            // What other constants leave open is no fault of these.
            let own: f64 = foreseen.sensitivities.iter().zip(&coefficients).map(|(slope, c)| (slope * c.prior.sd).powi(2)).sum();
            let others = (foreseen.gain.sd.powi(2) - own).max(LEAST_DOUBT * LEAST_DOUBT);
            let sd = (one.effect.sd_ms.powi(2) * df / (df - 2.0) + others).sqrt();
            Some(Observation {
                observed: one.effect.vmg_difference_ms,
                sd,
                predicted: foreseen.gain.mean,
                sensitivities: foreseen.sensitivities.clone(),
            })
        })
        .collect();
    seen.extend(legs.iter().flat_map(|l| l.observations.iter().cloned()));
    if seen.is_empty() {
        return Err("No setting was tried in enough passes yet. Note what each boat has set in a line-up, and swap it.".to_owned());
    }
    corrected(&coefficients, &seen).map_err(|error| error.to_string())
}

/// The model's constants with some multipliers corrected. Only [`MULTIPLIERS`] are taken, and none further than its range twice over.
#[must_use]
pub fn constants(values: &[(String, f64)]) -> Constants {
    let known = |name: &str| MULTIPLIERS.iter().any(|m| m.1 == name);
    Constants::chosen(|c| {
        let given = values.iter().find(|v| v.0 == c.name && known(&c.name)).map_or(c.value, |v| v.1);
        // What is never less than nothing by its range is not so by the squad's passes either.
        let least = if c.low >= 0.0 { (2.0 * c.low - c.value).max(0.0) } else { 2.0 * c.low - c.value };
        given.clamp(least, 2.0 * c.high - c.value)
    })
}

/// A setting to try beside today's: by how much, SI, and how long a child takes to move it, s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// The gauge.
    pub gauge: Gauge,
    /// The step from today's value.
    pub step: f64,
    /// Seconds to change it afloat.
    pub seconds: f64,
}

/// A test worth sailing, in its gauge's values.
#[derive(Debug, Clone, PartialEq)]
pub struct NextTest {
    /// The gauge.
    pub gauge: Gauge,
    /// Today's value and the one to try, SI.
    pub values: (f64, f64),
    /// What is expected of it.
    pub test: Test,
}

/// The tests worth most for each minute, best first. `known` are beliefs about steps already tried.
#[must_use]
pub fn next_tests(stand: &Stand<'_>, best: &LegSetup, trials: &[Trial], noise: f64, known: &[Judged]) -> Vec<NextTest> {
    let mut found: Vec<NextTest> = trials
        .iter()
        .filter_map(|trial| {
            let from = best.setting(trial.gauge)?.value;
            // Nobody beats heeled to windward on purpose: heel is tried to leeward alone.
            let ways: &[f64] = if trial.gauge == Gauge::Heel { &[1.0] } else { &[1.0, -1.0] };
            let tried = ways.iter().filter_map(|way| {
                let step = way * trial.step;
                let to = from + step;
                let foreseen = stand.foreseen(best, trial.gauge, from, to)?;
                // What was tried is known in proportion to its step: a straight line, as the passes' own analysis takes it.
                let prior = known.iter().find(|k| k.gauge == trial.gauge).map_or(foreseen.gain, |k| {
                    let share = step / ((k.effect.to - k.effect.from) * trial.gauge.unit_si());
                    foreseen.gain.after(k.effect.vmg_difference_ms * share, (k.effect.sd_ms * share).abs())
                });
                let candidate =
                    Candidate { gauge: trial.gauge.name().to_owned(), prior, noise_ms: noise, seconds: PASS + 0.5 * trial.seconds };
                let test = tests(&[candidate], START, MINUTES, SETTLED).ok()?.into_iter().next()?;
                Some(NextTest { gauge: trial.gauge, values: (from, to), test })
            });
            tried.max_by(|a, b| a.test.worth_ms_per_minute.total_cmp(&b.test.worth_ms_per_minute))
        })
        .collect();
    found.sort_by(|a, b| b.test.worth_ms_per_minute.total_cmp(&a.test.worth_ms_per_minute));
    found
}

/// How a sailor did in an outing; what cannot be told is none.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Progress {
    /// Metres a tack lost.
    pub tacks: Option<Mean>,
    /// Metres a gybe lost.
    pub gybes: Option<Mean>,
    /// Metres a rounding lost, and how many.
    pub roundings: Option<(f64, usize)>,
    /// Half the course change of tacks, degrees: the angle sailed on a beat, and how many.
    pub angle: Option<(f64, usize)>,
}

/// The same of every boat of an outing.
#[must_use]
pub fn progress(answer: &Debrief) -> Vec<Progress> {
    let middle = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        let n = values.len();
        (n >= 3).then(|| (0.5 * (values[n / 2] + values[(n - 1) / 2]), n))
    };
    answer
        .boats
        .iter()
        .map(|boat| {
            let turns = boat.manoeuvres.iter().filter(|m| m.kind == Turn::Tack && m.loss.is_some());
            Progress {
                tacks: boat.tacks,
                gybes: boat.gybes,
                roundings: middle(boat.roundings.iter().map(|r| r.loss).collect()),
                angle: middle(turns.map(|m| 0.5 * m.turn / DEGREE).collect()),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests_of_season {
    use super::*;
    use boat::class::Class;
    use boat::crew::Skill;

    fn stand(boat: &Boat) -> Stand<'_> {
        Stand { boat, sailor: Body::of(42.0, Skill::Races), day: Day::open(5.0) }
    }

    /// A car far out is predicted to be slow, the doubt is of the size of the difference's own spread, and a corrected hull moves the
    /// prediction by what its sensitivity says.
    #[test]
    fn a_prediction_has_its_doubt_and_its_slopes() {
        const LINEAR: f64 = 0.15;
        let boat = Day::open(5.0).boat(&Class::pram(), None).unwrap();
        let stand = stand(&boat);
        let best = stand.best().unwrap();
        let far = stand.foreseen(&best, Gauge::CarOffset, 0.05, 0.20).unwrap();
        assert!(far.gain.mean < -0.005 && far.gain.sd > 0.0 && far.gain.sd < 0.1, "{far:?}");
        let same = stand.foreseen(&best, Gauge::CarOffset, 0.10, 0.10).unwrap();
        assert!(same.gain.mean.abs() < 1e-9);
        let sd = prior("hull.residuary_scale").unwrap().sd;
        let value = prior("hull.residuary_scale").unwrap().mean;
        let moved = boat.by(&constants(&[("hull.residuary_scale".to_owned(), value + sd)]));
        let again = Stand { boat: &moved, ..stand };
        let there = again.foreseen(&best, Gauge::CarOffset, 0.05, 0.20).unwrap();
        let told = far.gain.mean + far.sensitivities[0] * sd;
        assert!((there.gain.mean - told).abs() < LINEAR * far.gain.mean.abs(), "{} {told}", there.gain.mean);
    }

    /// A setting whose worth hangs on the hull's waves, tried against what was foreseen: the multiplier goes the way of the passes and is
    /// surer, the others stay; passes that no hull explains are refused; a real seat tells how far the bow comes up, a real board of the drag of leeway, heel of
    /// heel's, and none of them of the hull's waves.
    #[test]
    fn passes_move_the_multiplier_they_depend_on() {
        const SLOPE: f64 = 0.3;
        let believed = prior(MULTIPLIERS[0].1).unwrap();
        let own = SLOPE * believed.sd;
        let foreseen = Foreseen { gain: Belief { mean: -0.02, sd: own }, sensitivities: vec![SLOPE, 0.0, 0.0, 0.0, 0.0, 0.0] };
        let judged = |foreseen: &Foreseen, gain: f64, sd: f64| {
            let effect = Effect { vmg_difference_ms: gain, sd_ms: sd, df: 40.0, ..effect("seat_position", 60.0, 120.0) };
            calibrated(&[Judged::of(Gauge::SeatPosition, effect, 2, Some(foreseen.clone()))], None)
        };
        let moved = judged(&foreseen, -0.02 + 1.5 * own, 0.1 * own).unwrap();
        let [hull, others @ ..] = moved.coefficients.as_slice() else { unreachable!("six multipliers") };
        assert!(hull.told && hull.after.mean > believed.mean + believed.sd && hull.after.sd < 0.3 * believed.sd, "{hull:?}");
        assert!(others.len() == 5 && others.iter().all(|c| !c.told && c.after == c.before));
        let corrected = constants(&[(MULTIPLIERS[0].1.to_owned(), hull.after.mean)]);
        assert!(corrected != *Constants::standard());
        assert!(constants(&[("hull.windage_area".to_owned(), 99.0)]) == *Constants::standard(), "only the multipliers are taken");
        let drag = |value: f64| constants(&[("hull.leeway_drag".to_owned(), value)]);
        assert!(drag(-5.0) == drag(0.0) && drag(-5.0) != drag(1.0), "leeway never drives a hull");
        assert!(judged(&foreseen, 1.0, 0.01).is_err());

        let boat = Day::open(5.0).boat(&Class::pram(), None).unwrap();
        let stand = stand(&boat);
        let best = stand.best().unwrap();
        for (gauge, from, to, tells) in [
            (Gauge::SeatPosition, 0.80, 0.50, "hull.dynamic_trim"),
            (Gauge::BoardAngle, 0.10, -0.50, "hull.leeway_drag"),
            (Gauge::Heel, 0.0, 0.17, "hull.residuary_heel"),
            (Gauge::SailBoomGap, 0.10, 0.19, "section.lift_max_camber_scale"),
        ] {
            let foreseen = stand.foreseen(&best, gauge, from, to).unwrap();
            let found = judged(&foreseen, foreseen.gain.mean, 0.002).unwrap();
            for (c, (_, constant)) in found.coefficients.iter().zip(MULTIPLIERS) {
                assert_eq!(c.told, constant == tells, "{gauge:?}: {c:?}");
            }
        }
    }

    fn effect(gauge: &str, from: f64, to: f64) -> Effect {
        Effect {
            gauge: gauge.to_owned(),
            from,
            to,
            vmg_difference_ms: -0.03,
            sd_ms: 0.001,
            df: 20.0,
            p: 0.0,
            p_adjusted: 0.0,
            passes: 20,
            low_ms: -0.032,
            high_ms: -0.028,
            metres_per_500: None,
            sd_in_order_ms: 0.001,
            robust_difference_ms: -0.03,
            robust_sd_ms: 0.001,
            paired: None,
            more_passes: Some(0),
            words: String::new(),
        }
    }

    #[test]
    fn the_next_test_is_the_one_least_known() {
        let boat = Day::open(5.0).boat(&Class::pram(), None).unwrap();
        let stand = stand(&boat);
        let best = stand.best().unwrap();
        let trials =
            [Trial { gauge: Gauge::CarOffset, step: 0.05, seconds: 15.0 }, Trial { gauge: Gauge::SeatPosition, step: 0.10, seconds: 5.0 }];
        let found = next_tests(&stand, &best, &trials, PASS_NOISE, &[]);
        assert_eq!(found.len(), 2);
        assert!(found[0].test.worth_ms_per_minute >= found[1].test.worth_ms_per_minute);
        // A car whose worth is known to a millimetre a second is not worth a test.
        let effect = effect("car_offset", 5.0, 10.0);
        let known = [Judged::of(Gauge::CarOffset, effect, 3, None)];
        let after = next_tests(&stand, &best, &trials, PASS_NOISE, &known);
        let car = |list: &[NextTest]| list.iter().find(|t| t.gauge == Gauge::CarOffset).unwrap().test.worth_ms;
        assert!(car(&after) < 0.2 * car(&found), "{} {}", car(&after), car(&found));
    }
}
