//! Legs as evidence: boats that sail the same stretch at the same time in the same wind, held against what the model foresees of each of them.
//!
//! What a boat made good, less what was foreseen, is: something all boats of the stretch share (the wind of the moment, waves, a wrong level of
//! the model), which is taken out; the sailor; the sailor that day; the multipliers times their sensitivities; and scatter. What is left to tell of a multiplier is
//! how heavy and light sailors' gains on each other change from light air to a breeze. A sailor's own skill is an effect of hers of any size, so that a heavy child who
//! sails well tells nothing of the hull. Days and scatter are random, their sizes estimated from the same legs by EM (Searle, Casella and McCulloch,
//! *Variance Components*, chapter 8, from memory) with a weak belief, for few days tell little of how days differ; Henderson's equations then give what the
//! legs say of the multipliers. Successive stretches share their gusts: the scatter grows by their autocorrelation.
//!
//! What comes out are a few [`Observation`]s that say the same as all the legs, for [`crate::calibration::corrected`].

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};

use crate::calibration::{Coefficient, Observation};

/// How much sailors may differ, m/s: so much that the legs alone tell it. Older children are heavier and sail better: believed to differ by little, their skill
/// would be taken for the boat's.
const SAILORS: f64 = 0.3;
/// How much one sailor differs from day to day, m/s: what is believed before, as so many days would tell it. Assumed.
const DAYS: (f64, f64) = (0.01, 4.0);
/// Scatter of a stretch to begin with, m/s.
const SCATTER: f64 = 0.05;
/// Rounds of the estimate at most, and the change of the sizes at which it has settled, as a share.
const ROUNDS: usize = 40;
const SETTLED: f64 = 0.01;
/// Fewer boats in stretches, or stretches, tell nothing. Assumed.
const FEWEST: (usize, usize) = (20, 5);
/// The least variance of the scatter: boats that sail alike to a tenth of a millimetre a second are numbers somebody typed.
const LEAST: f64 = 1e-8;
/// Rows further off than so many standard deviations are of another cause (a capsize, a chat with the coach) and left out, once.
const OUTLIER: f64 = 3.5;

/// One boat over one stretch of a leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Which stretch, of all outings: boats of one number sailed it together.
    pub number: usize,
    /// Who, by a number of the season's.
    pub sailor: usize,
    /// Which outing.
    pub outing: usize,
    /// Made good, m/s.
    pub made_good: f64,
    /// The same as the model foresees it at the middles of the beliefs.
    pub foreseen: f64,
    /// Change of that for a unit of each coefficient.
    pub sensitivities: Vec<f64>,
}

/// What the legs say.
#[derive(Debug, Clone, PartialEq)]
pub struct Legs {
    /// The same as all of them, for the calibration.
    pub observations: Vec<Observation>,
    /// Stretches, and boats in them, that were used; boats left out as outliers.
    pub stretches: usize,
    /// See `stretches`.
    pub boats: usize,
    /// See `stretches`.
    pub outliers: usize,
    /// How boats differ within a stretch beyond sailor and day (with its autocorrelation), m/s.
    pub scatter_ms: f64,
    /// How sailors differ, m/s.
    pub sailors_ms: f64,
}

/// Sums over stretches, with what the boats of each share taken out.
struct Sums {
    /// Products of all columns: sailors, days, coefficients; and of each with what was made good beyond what was foreseen.
    products: DMatrix<f64>,
    with: DVector<f64>,
    /// The square of the latter, and its degrees of freedom.
    square: f64,
    free: f64,
    /// Counts of sailors and days.
    sailors: usize,
    days: usize,
}

/// Which column each row's sailor and day have.
struct Columns {
    sailor: BTreeMap<usize, usize>,
    day: BTreeMap<(usize, usize), usize>,
}

impl Columns {
    fn of(rows: &[&Stretch]) -> Self {
        let mut columns = Self { sailor: BTreeMap::new(), day: BTreeMap::new() };
        for row in rows {
            let next = columns.sailor.len();
            columns.sailor.entry(row.sailor).or_insert(next);
            let next = columns.day.len();
            columns.day.entry((row.sailor, row.outing)).or_insert(next);
        }
        columns
    }

    /// The row's own entries: column and value.
    fn entries(&self, row: &Stretch) -> Vec<(usize, f64)> {
        let (s, d) = (self.sailor.len(), self.day.len());
        let mut list = Vec::with_capacity(2 + row.sensitivities.len());
        list.extend(self.sailor.get(&row.sailor).map(|k| (*k, 1.0)));
        list.extend(self.day.get(&(row.sailor, row.outing)).map(|k| (s + k, 1.0)));
        list.extend(row.sensitivities.iter().enumerate().map(|(k, v)| (s + d + k, *v)));
        list
    }
}

/// Rows by their stretch; a stretch that one boat sailed says nothing.
fn together<'a>(rows: &[&'a Stretch]) -> Vec<Vec<&'a Stretch>> {
    let mut stretches: BTreeMap<usize, Vec<&Stretch>> = BTreeMap::new();
    for row in rows {
        stretches.entry(row.number).or_default().push(row);
    }
    stretches.into_values().filter(|s| s.len() > 1).collect()
}

fn sums(stretches: &[Vec<&Stretch>], columns: &Columns, coefficients: usize) -> Sums {
    let (s, d) = (columns.sailor.len(), columns.day.len());
    let size = s + d + coefficients;
    let mut sums = Sums { products: DMatrix::zeros(size, size), with: DVector::zeros(size), square: 0.0, free: 0.0, sailors: s, days: d };
    for boats in stretches {
        let n = boats.len() as f64;
        let (mut total, mut level) = (DVector::<f64>::zeros(size), 0.0);
        for row in boats {
            let (entries, left) = (columns.entries(row), row.made_good - row.foreseen);
            for (i, v) in &entries {
                for (j, w) in &entries {
                    sums.products[(*i, *j)] += v * w;
                }
                sums.with[*i] += v * left;
                total[*i] += v;
            }
            sums.square += left * left;
            level += left;
        }
        sums.products.ger(-1.0 / n, &total, &total, 1.0);
        sums.with.axpy(-level / n, &total, 1.0);
        sums.square -= level * level / n;
        sums.free += n - 1.0;
    }
    sums
}

/// Sizes of what is random, variances.
#[derive(Clone, Copy)]
struct Sizes {
    scatter: f64,
    days: f64,
}

impl Sums {
    /// Henderson's matrix: products, and on its diagonal how far each effect is believed to lie from zero, in units of the scatter.
    fn matrix(&self, sizes: Sizes, coefficients: &[Coefficient]) -> DMatrix<f64> {
        let mut matrix = self.products.clone();
        for k in 0..matrix.nrows() {
            let believed = match k {
                k if k < self.sailors => SAILORS * SAILORS,
                k if k < self.sailors + self.days => sizes.days,
                k => coefficients.get(k - self.sailors - self.days).map_or(1.0, |c| c.prior.sd * c.prior.sd),
            };
            matrix[(k, k)] += sizes.scatter / believed;
        }
        matrix
    }

    /// The sizes, and the effects at them. None where the numbers do not let it.
    fn sizes(&self, coefficients: &[Coefficient]) -> Option<(Sizes, DVector<f64>)> {
        let mut sizes = Sizes { scatter: SCATTER * SCATTER, days: DAYS.0 * DAYS.0 };
        for _ in 0..ROUNDS {
            let inverse = self.matrix(sizes, coefficients).cholesky()?.inverse();
            let effects = &inverse * &self.with;
            let days = self.sailors..self.sailors + self.days;
            let own: f64 = days.map(|k| effects[k] * effects[k] + sizes.scatter * inverse[(k, k)]).sum();
            let next = Sizes {
                days: (own + DAYS.1 * DAYS.0 * DAYS.0) / (self.days as f64 + DAYS.1),
                scatter: ((self.square - effects.dot(&self.with)) / self.free).max(LEAST),
            };
            let stays = |a: f64, b: f64| (a / b - 1.0).abs() < SETTLED;
            let settled = stays(next.days, sizes.days) && stays(next.scatter, sizes.scatter);
            sizes = next;
            if settled {
                break;
            }
        }
        let effects = self.matrix(sizes, coefficients).cholesky()?.solve(&self.with);
        effects.iter().all(|e| e.is_finite()).then_some((sizes, effects))
    }
}

/// What is left of each row beside its effects and its stretch's level, in the order of the stretches.
fn left(stretches: &[Vec<&Stretch>], columns: &Columns, effects: &DVector<f64>) -> Vec<Vec<f64>> {
    let one = |boats: &Vec<&Stretch>| {
        let raw: Vec<f64> =
            boats.iter().map(|r| r.made_good - r.foreseen - columns.entries(r).iter().map(|(k, v)| v * effects[*k]).sum::<f64>()).collect();
        let level = raw.iter().sum::<f64>() / raw.len() as f64;
        raw.into_iter().map(|v| v - level).collect()
    };
    stretches.iter().map(one).collect()
}

/// How alike successive stretches of one sailor's day are: the scatter counts that much more. Never less than one.
fn likeness(stretches: &[Vec<&Stretch>], left: &[Vec<f64>]) -> f64 {
    let mut last: BTreeMap<(usize, usize), (usize, f64)> = BTreeMap::new();
    let (mut both, mut square) = (0.0, 0.0);
    for (boats, left) in stretches.iter().zip(left) {
        for (row, own) in boats.iter().zip(left) {
            if let Some((number, before)) = last.insert((row.sailor, row.outing), (row.number, *own))
                && row.number == number + 1
            {
                both += before * own;
                square += 0.5 * (before * before + own * own);
            }
        }
    }
    let alike = if square > 0.0 { (both / square).clamp(0.0, 0.9) } else { 0.0 };
    (1.0 + alike) / (1.0 - alike)
}

/// What stretches say of the multipliers; none where there are too few of them, or numbers are missing.
#[must_use]
pub fn legs(rows: &[Stretch], coefficients: &[Coefficient]) -> Option<Legs> {
    let whole = |r: &&Stretch| {
        let numbers = r.sensitivities.iter().chain([&r.made_good, &r.foreseen]);
        r.sensitivities.len() == coefficients.len() && numbers.into_iter().all(|v| v.is_finite())
    };
    let mut kept: Vec<&Stretch> = rows.iter().filter(whole).collect();
    let given = kept.len();
    let mut round = 0;
    loop {
        let stretches = together(&kept);
        let boats: usize = stretches.iter().map(Vec::len).sum();
        if boats < FEWEST.0 || stretches.len() < FEWEST.1 {
            return None;
        }
        let columns = Columns::of(&stretches.concat());
        let sums = sums(&stretches, &columns, coefficients.len());
        let (sizes, effects) = sums.sizes(coefficients)?;
        let left = left(&stretches, &columns, &effects);
        if round == 0 {
            let far = OUTLIER * sizes.scatter.sqrt();
            let near = stretches.iter().zip(&left).flat_map(|(s, l)| s.iter().zip(l)).filter(|(_, l)| l.abs() <= far);
            let near: Vec<&Stretch> = near.map(|(r, _)| *r).collect();
            round += 1;
            if near.len() < boats {
                kept = near;
                continue;
            }
        }
        let sizes = Sizes { scatter: sizes.scatter * likeness(&stretches, &left), ..sizes };
        return Some(Legs {
            observations: sums.told(sizes, coefficients)?,
            stretches: stretches.len(),
            boats,
            outliers: given - kept.len(),
            scatter_ms: sizes.scatter.sqrt(),
            sailors_ms: spread(&effects.as_slice()[..columns.sailor.len()]),
        });
    }
}

/// Standard deviation of some effects.
fn spread(effects: &[f64]) -> f64 {
    let n = effects.len().max(1) as f64;
    let mean = effects.iter().sum::<f64>() / n;
    (effects.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / n).sqrt()
}

impl Sums {
    /// What is told of the coefficients once sailors and days have taken their share: one observation for each direction that anything is told of.
    fn told(&self, sizes: Sizes, coefficients: &[Coefficient]) -> Option<Vec<Observation>> {
        let (random, count) = (self.sailors + self.days, coefficients.len());
        let matrix = self.matrix(sizes, coefficients);
        let own = matrix.view((0, 0), (random, random)).into_owned().cholesky()?;
        let across = self.products.view((0, random), (random, count)).into_owned();
        let alone = self.products.view((random, random), (count, count)).into_owned();
        let information = (alone - across.transpose() * own.solve(&across)) / sizes.scatter;
        let pull =
            (self.with.rows(random, count) - across.transpose() * own.solve(&self.with.rows(0, random).into_owned())) / sizes.scatter;
        // In units of each belief's own doubt, so that directions compare.
        let doubt = DVector::from_iterator(count, coefficients.iter().map(|c| c.prior.sd));
        let scaled = DMatrix::from_fn(count, count, |i, j| information[(i, j)] * doubt[i] * doubt[j]);
        let pull = pull.component_mul(&doubt);
        let parts = scaled.symmetric_eigen();
        let one = |k: usize| {
            let (worth, way) = (parts.eigenvalues[k], parts.eigenvectors.column(k));
            // A direction told to less than a thousandth of the belief's own precision is not told.
            (worth > 1e-3).then(|| Observation {
                observed: way.dot(&pull) / worth.sqrt(),
                sd: 1.0,
                predicted: 0.0,
                sensitivities: (0..count).map(|c| worth.sqrt() * way[c] / doubt[c]).collect(),
            })
        };
        Some((0..count).filter_map(one).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::corrected;
    use crate::effect::Belief;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Normal};

    const DOUBT: f64 = 0.1;

    fn coefficients() -> Vec<Coefficient> {
        ["hull", "sail", "heel"].map(|name| Coefficient { name: name.into(), prior: Belief { mean: 1.0, sd: DOUBT } }).to_vec()
    }

    fn normal(chance: &mut ChaCha8Rng, sd: f64) -> f64 {
        Normal::new(0.0, sd).unwrap().sample(chance)
    }

    /// A season of known truth: sailors of 32 to 54 kg in 2 to 7 m/s of wind. Heavy ones pay for the hull in light air and gain by the sail in a
    /// breeze; of the third multiplier nothing can be told. Sailors and days differ, gusts stay for two or three stretches, one stretch in fifty is
    /// sailed by somebody who talks. Sizes are invented.
    fn season(truth: [f64; 3], skill: f64, chance: &mut ChaCha8Rng) -> Vec<Stretch> {
        const SAILORS: usize = 8;
        let sailors: Vec<f64> = (0..SAILORS).map(|_| normal(chance, skill)).collect();
        let mut rows = Vec::new();
        for outing in 0..6 {
            let wind = 2.0 + outing as f64;
            let days: Vec<f64> = (0..SAILORS).map(|_| normal(chance, 0.01)).collect();
            let mut gusts = [0.0; SAILORS];
            for k in 0..12 {
                let level = normal(chance, 0.1);
                for sailor in 0..SAILORS {
                    gusts[sailor] = 0.5 * gusts[sailor] + normal(chance, 0.04);
                    let heavy = (sailor as f64 - 3.5) / 3.5;
                    let sensitivities = vec![-0.5 * heavy * (1.0 + 0.2 * wind), 0.25 * heavy * (wind - 4.5), 0.0];
                    let moved: f64 = sensitivities.iter().zip(truth).map(|(s, t)| s * (t - 1.0)).sum();
                    let foreseen = 1.2 + 0.05 * heavy * (wind - 4.0);
                    let talks = if chance.random_bool(0.02) { -0.5 } else { 0.0 };
                    let made_good = foreseen + moved + level + sailors[sailor] + days[sailor] + gusts[sailor] + talks;
                    rows.push(Stretch { number: 20 * outing + k, sailor, outing, made_good, foreseen, sensitivities });
                }
            }
        }
        rows
    }

    /// The doubt after line-ups and legs is smaller than after line-ups alone, and holds the truth as often as it says: also where sailors
    /// differ by more than is believed.
    #[test]
    fn legs_narrow_the_multipliers_and_hold_the_truth() {
        const SEASONS: u64 = 60;
        const MEASURED: f64 = 0.004;
        // Three standard deviations of a share of .95 in 120 answers are .06.
        const HELD: std::ops::RangeInclusive<f64> = 0.89..=1.0;
        for skill in [0.01, 0.05] {
            let (mut held, mut all, mut narrower, mut misses) = (0.0, 0.0, 0.0, 0.0);
            for seed in 0..SEASONS {
                let mut chance = ChaCha8Rng::seed_from_u64(seed);
                let truth = [0; 3].map(|_| 1.0 + normal(&mut chance, DOUBT));
                let seen: Vec<Observation> = (0..2)
                    .map(|_| {
                        let sensitivities = vec![normal(&mut chance, 0.08), normal(&mut chance, 0.08), 0.0];
                        let moved: f64 = sensitivities.iter().zip(&truth).map(|(s, t)| s * (t - 1.0)).sum();
                        Observation { observed: moved + normal(&mut chance, MEASURED), sd: MEASURED, predicted: 0.0, sensitivities }
                    })
                    .collect();
                let told = legs(&season(truth, skill, &mut chance), &coefficients()).unwrap();
                let both = [seen.clone(), told.observations].concat();
                // One season in a thousand is refused as a misfit, by the calibration's own limit.
                let (Ok(alone), Ok(both)) = (corrected(&coefficients(), &seen), corrected(&coefficients(), &both)) else { continue };
                for (k, truth) in truth.iter().enumerate().take(2) {
                    let (before, after) = (alone.coefficients[k].after, both.coefficients[k].after);
                    held += f64::from((after.mean - truth).abs() <= 1.96 * after.sd);
                    narrower += after.sd / before.sd;
                    misses += (after.mean - truth) / DOUBT;
                    all += 1.0;
                }
                assert_eq!(both.coefficients[2].after, Belief { mean: 1.0, sd: DOUBT }, "nothing is told of the third");
            }
            assert!(HELD.contains(&(held / all)), "skill {skill}: {}", held / all);
            assert!(narrower / all < 0.9, "skill {skill}: {}", narrower / all);
            println!("skill {skill}: held {:.3}, doubt {:.2} of that before", held / all, narrower / all);
            assert!((misses / all).abs() < 0.15, "skill {skill}: {}", misses / all);
        }
    }

    /// Heavy sailors who also sail better move no multiplier whose worth does not change with the wind: it is told apart from skill by nothing else.
    #[test]
    fn skill_that_goes_with_mass_is_not_taken_for_the_boat() {
        let mut chance = ChaCha8Rng::seed_from_u64(5);
        let mut rows = season([1.0; 3], 0.0, &mut chance);
        for row in &mut rows {
            let heavy = (row.sailor as f64 - 3.5) / 3.5;
            row.made_good += 0.05 * heavy;
            row.sensitivities = vec![0.2 * heavy, 0.0, 0.0];
        }
        let told = legs(&rows, &coefficients()).unwrap();
        let found = corrected(&coefficients(), &told.observations).unwrap();
        let hull = &found.coefficients[0];
        // 0.05 m/s would be two and a half of the multiplier's standard deviations if it were the hull's.
        assert!((hull.after.mean - 1.0).abs() < DOUBT && hull.after.sd > 0.5 * DOUBT, "{hull:?}");
        assert!(told.sailors_ms > 0.01 && told.outliers > 0, "{told:?}");
    }

    #[test]
    fn too_little_is_none() {
        let mut chance = ChaCha8Rng::seed_from_u64(1);
        let rows = season([1.0; 3], 0.01, &mut chance);
        assert!(legs(&[], &coefficients()).is_none());
        assert!(legs(&rows[..16], &coefficients()).is_none(), "two stretches");
        let alone: Vec<Stretch> = rows.iter().filter(|r| r.sailor == 0).cloned().collect();
        assert!(legs(&alone, &coefficients()).is_none(), "one boat");
        let broken: Vec<Stretch> = rows.iter().cloned().map(|r| Stretch { made_good: f64::NAN, ..r }).collect();
        assert!(legs(&broken, &coefficients()).is_none());
        assert!(legs(&rows, &coefficients()[..1]).is_none(), "sensitivities of another count");
        // The same numbers throughout: no scatter, and no end of certainty either.
        let same: Vec<Stretch> =
            rows.iter().map(|r| Stretch { made_good: 1.0, foreseen: 1.0, sensitivities: vec![0.0; 3], ..*r }).collect();
        assert!(legs(&same, &coefficients()).is_none_or(|l| l.observations.is_empty()));
    }
}
