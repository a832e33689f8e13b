//! A season being gathered: every outing debriefed once, every setting that was tried held against the model, the next test chosen.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

use boat::balance::Boat;
use boat::crew::{Sailor as Body, Skill};
use boat::gauge::Gauge;
use evidence::calibration::Calibration;
use evidence::effect::effects;
use evidence::legs::{Legs, legs};
use evidence::passes::Passes;
use measure::wind::METER_HEIGHT;
use squad::fact::outing::Outing;
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment, Squad, SquadError};

use super::super::ashore::{AFLOAT, Change, Grounds, Pass, outings, passes_of, tables};
use super::super::yard::{Yard, lock};
use crate::briefing::legs::{Grid, Together, together};
use crate::briefing::season::{Judged, NextTest, PASS_NOISE, Progress, Stand, Trial, calibrated, coefficients, next_tests, progress};
use crate::day::Day;

/// Wind of the predictions where no pass tells it, m/s at 2 m; mass of the sailor where the squad has none, kg.
const WIND: f64 = 4.5;
const ANYBODY: f64 = 42.0;
/// Numbers of stretches that one outing has at most: a day of them.
const APART: usize = 1000;
/// Steps worth trying, in the gauge's own unit as it is typed: a child sees them. Assumed.
const STEPS: [(Gauge, f64); 8] = [
    (Gauge::CarOffset, 5.0),
    (Gauge::SailBoomGap, 4.0),
    (Gauge::VangLine, 2.0),
    (Gauge::DownhaulLine, 1.0),
    (Gauge::SpritLine, 1.0),
    (Gauge::BoardAngle, 10.0),
    (Gauge::SeatPosition, 10.0),
    (Gauge::Heel, 10.0),
];

/// What the season takes of an outing.
#[derive(Debug, Default)]
pub(in super::super) struct Sailed {
    /// The outing's own name.
    pub(super) name: String,
    /// When it began.
    pub(super) began: Option<Moment>,
    passes: Vec<Pass>,
    stretches: Vec<Together>,
    /// Whose each boat is, in the order of the tracks.
    whose: Vec<Option<Id<Sailor>>>,
    /// How each sailor did whose recorder is known.
    pub(super) progress: Vec<(Id<Sailor>, Progress)>,
    /// Why it told nothing.
    pub(super) untold: Option<String>,
}

/// A season, gathered.
#[derive(Debug)]
pub(super) struct Season {
    /// Its outings with tracks, the first first.
    pub(super) outings: Vec<Arc<Sailed>>,
    /// The passes of each setting that was tried.
    pub(super) passes: BTreeMap<Gauge, Passes>,
    /// What each was worth.
    pub(super) judged: Vec<Judged>,
    /// What the statistics say beside it.
    pub(super) notes: Vec<String>,
    /// Legs that boats sailed together, weighed; none where there are too few.
    pub(super) legs: Option<Legs>,
    /// What all that says of the model, or why nothing.
    pub(super) calibration: Result<Calibration, String>,
    /// What to test next, best first.
    pub(super) next: Vec<NextTest>,
    /// The wind the predictions stand for, m/s at 2 m.
    pub(super) wind: f64,
    /// What the best setup makes good in it, m/s.
    pub(super) made_good: f64,
}

/// A season being gathered, or gathered.
#[derive(Debug)]
pub(in super::super) struct Job {
    key: String,
    pub(super) steps: usize,
    done: AtomicUsize,
    stop: Arc<AtomicBool>,
    answer: Mutex<Option<Arc<Season>>>,
}

impl Job {
    pub(super) fn done(&self) -> usize {
        self.done.load(Ordering::Relaxed)
    }
    pub(super) fn season(&self) -> Option<Arc<Season>> {
        lock(&self.answer).clone()
    }
    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

impl Yard {
    /// The season as it stands now, begun to be gathered where it was not.
    pub(super) fn season(self: &Arc<Self>) -> Result<Arc<Job>, SquadError> {
        let mut all = outings(self)?;
        all.reverse();
        let grounds = Grounds::all(&*self.store()?)?;
        all.retain(|of| grounds.has_tracks(of.id));
        let keys: Vec<(String, Vec<Change>)> =
            all.iter().map(|of| (grounds.key(of, self.without_buoys(of.id)), grounds.changes(of))).collect();
        let key = format!("{keys:?} {:?} {:?}", self.squad()?, self.constants()?);
        let mut held = lock(&self.season);
        if let Some(job) = held.as_ref().filter(|job| job.key == key && !job.stopped()) {
            return Ok(Arc::clone(job));
        }
        let job = Arc::new(Job { key, steps: all.len() + 2, done: AtomicUsize::new(0), stop: Arc::default(), answer: Mutex::default() });
        if let Some(old) = held.replace(Arc::clone(&job)) {
            old.stop.store(true, Ordering::Relaxed);
        }
        drop(held);
        let (yard, at) = (Arc::clone(self), Arc::clone(&job));
        let outings: Vec<(Kept<Outing>, String, Vec<Change>)> =
            all.into_iter().zip(keys).map(|(of, (key, noted))| (of, key, noted)).collect();
        std::thread::spawn(move || {
            // What was taken of files and recorders as they stood before is asked for no more.
            lock(&yard.sailed).retain(|key, _| outings.iter().any(|one| one.1 == *key));
            if let Some(season) = yard.gathered(&outings, &at) {
                *lock(&at.answer) = Some(Arc::new(season));
            }
        });
        Ok(job)
    }

    /// Stops the gathering.
    pub(super) fn stop_season(&self) {
        if let Some(job) = lock(&self.season).take() {
            job.stop.store(true, Ordering::Relaxed);
        }
    }

    /// What an outing gives, debriefed once for its files and recorders; `None` where it was stopped.
    fn sailed(&self, of: &Kept<Outing>, key: &str, job: &Job) -> Option<Arc<Sailed>> {
        if let Some(known) = lock(&self.sailed).get(key) {
            return Some(Arc::clone(known));
        }
        let (name, began) = (of.fact.name.clone(), of.fact.began);
        let told = match self.told_already(key) {
            Some(told) => told,
            None => Arc::new(self.told_once(of, &job.stop)?),
        };
        let sailed = match told.as_ref() {
            Err(why) => Sailed { name, began, untold: Some(why.clone()), ..Sailed::default() },
            Ok(told) => {
                let did = progress(&told.outing.answer);
                let known = told.recorders.iter().zip(did).filter_map(|(recorder, did)| Some((recorder.1?, did)));
                let whose = told.recorders.iter().map(|r| r.1).collect();
                Sailed {
                    name,
                    began,
                    passes: passes_of(told),
                    stretches: together(&told.outing),
                    whose,
                    progress: known.collect(),
                    untold: None,
                }
            }
        };
        let sailed = Arc::new(sailed);
        lock(&self.sailed).insert(key.to_owned(), Arc::clone(&sailed));
        Some(sailed)
    }

    /// Stretches of beats held against the model as it came: of boats of the class most sail, whose sailors are known.
    fn legs(&self, outings: &[Arc<Sailed>], squad: &Squad, boat: &Boat, day: Day) -> Option<Legs> {
        let sailors = self.store().ok()?.sailors().ok()?;
        let mass = |id: Id<Sailor>| {
            let label = &sailors.iter().find(|s| s.id == id)?.fact.label;
            let crew = squad.crews.iter().find(|c| c.sailor.label == *label)?;
            (self.class_of(crew.boat.class.as_deref()).name == self.class.name).then_some(crew.sailor.body.mass)
        };
        let masses: Vec<Option<f64>> = sailors.iter().map(|s| mass(s.id)).collect();
        let place = |id: Id<Sailor>| sailors.iter().position(|s| s.id == id);
        let mut found = Vec::new();
        for (k, outing) in outings.iter().enumerate() {
            for (n, stretch) in outing.stretches.iter().enumerate() {
                for (boat, made_good) in &stretch.boats {
                    let Some(sailor) = outing.whose.get(*boat).copied().flatten().and_then(place) else { continue };
                    let Some(mass) = masses.get(sailor).copied().flatten() else { continue };
                    // One number is left between outings, so that the last stretch of one is no neighbour of the next one's first.
                    found.push(([k * APART + n, sailor, k], mass, stretch.wind, *made_good));
                }
            }
        }
        let (of_all, winds): (Vec<f64>, Vec<f64>) = found.iter().map(|f| (f.1, f.2)).unzip();
        if found.is_empty() {
            return None;
        }
        let grid = Grid::of(boat, day, &of_all, &winds);
        let rows: Vec<_> = found.into_iter().filter_map(|(numbers, mass, wind, made)| grid.stretch(numbers, mass, wind, made)).collect();
        legs(&rows, &coefficients())
    }

    fn gathered(&self, all: &[(Kept<Outing>, String, Vec<Change>)], job: &Job) -> Option<Season> {
        let mut outings = Vec::new();
        let mut passes: BTreeMap<Gauge, Passes> = BTreeMap::new();
        let mut tried: BTreeMap<Gauge, BTreeSet<usize>> = BTreeMap::new();
        for (k, (of, key, noted)) in all.iter().enumerate() {
            if job.stopped() {
                return None;
            }
            let sailed = self.sailed(of, key, job)?;
            // A pass is told from another outing's of the same number.
            let named: Vec<Pass> = sailed.passes.iter().map(|p| p.of_outing(k + 1)).collect();
            for (gauge, table) in tables(&named, noted) {
                let all = passes.entry(gauge).or_insert_with(|| Passes { gauges: table.gauges.clone(), rows: Vec::new() });
                all.rows.extend(table.rows);
                tried.entry(gauge).or_default().insert(k);
            }
            outings.push(sailed);
            job.done.fetch_add(1, Ordering::Relaxed);
        }
        let winds: Vec<f64> = outings.iter().flat_map(|o| &o.passes).filter_map(|p| p.wind).collect();
        let wind = if winds.is_empty() { WIND } else { winds.iter().sum::<f64>() / winds.len() as f64 };
        let squad = self.squad().ok()?;
        let mut masses: Vec<f64> = squad.crews.iter().map(|c| c.sailor.body.mass).collect();
        masses.sort_by(f64::total_cmp);
        let day = Day { height: METER_HEIGHT, ..Day::open(wind) };
        let boat = day.by(&self.constants().ok()?).boat(&self.class, None).ok()?;
        let sailor = Body::of(masses.get(masses.len() / 2).copied().unwrap_or(ANYBODY), Skill::default());
        let stand = Stand { boat: &boat, sailor, day };
        // What the passes say of the model is held against the model as it came: a correction is no evidence for itself.
        let as_it_came = day.boat(&self.class, None).ok()?;
        let untouched = Stand { boat: &as_it_came, sailor, day };
        let (best, best_as_it_came) = (stand.best(), untouched.best());
        let mut judged = Vec::new();
        let mut notes = Vec::new();
        let mut noise = None;
        for (gauge, table) in &passes {
            let found = effects(table);
            let unit = gauge.unit_si();
            for effect in found.value.effects {
                let foreseen =
                    best_as_it_came.as_ref().and_then(|best| untouched.foreseen(best, *gauge, effect.from * unit, effect.to * unit));
                let outings = tried.get(gauge).map_or(0, BTreeSet::len);
                judged.push(Judged::of(*gauge, effect, outings, foreseen));
            }
            noise = noise.or(found.value.residual_sd_ms.map(|sd| sd * std::f64::consts::SQRT_2));
            notes.extend(found.warnings.into_iter().map(|w| w.what));
        }
        job.done.fetch_add(1, Ordering::Relaxed);
        let trials: Vec<Trial> = AFLOAT
            .iter()
            .filter_map(|(gauge, seconds)| {
                let step = STEPS.iter().find(|s| s.0 == *gauge)?.1 * gauge.unit_si();
                Some(Trial { gauge: *gauge, step, seconds: *seconds })
            })
            .collect();
        let next = best.as_ref().map_or_else(Vec::new, |best| next_tests(&stand, best, &trials, noise.unwrap_or(PASS_NOISE), &judged));
        let made_good = best.as_ref().map_or(1.0, |best| best.made_good.max(0.1));
        let legs = self.legs(&outings, &squad, &as_it_came, day);
        let calibration = calibrated(&judged, legs.as_ref());
        job.done.fetch_add(1, Ordering::Relaxed);
        (!job.stopped()).then_some(Season { outings, passes, judged, notes, legs, calibration, next, wind, made_good })
    }
}
