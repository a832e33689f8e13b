//! Every sailor's boat solved for the wind of the race and her sheet written, in the background; who is ready can be shown while others are
//! not. A course that is changed in the same wind solves no boat anew.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;
use squad::fact::day::{Day as DayFact, FloatsIn};
use squad::fact::race::Course as CourseFact;
use squad::{Crew, Squad};

use super::super::units::Units;
use super::super::yard::{Yard, depends, lock};
use super::sheet;
use crate::briefing::race_day::RaceDayPage;
use crate::day::{Day, USUAL_TEMPERATURE, usual_gusts};
use crate::race_day::boat::{Crewed, RaceBoat, Timed, felt};
use crate::race_day::found::Found;
use crate::race_day::wind::{RaceWind, Weather};
use measure::Temperature;
use measure::fluid::Water;
use measure::wind::METER_HEIGHT;

/// A sailor's race day, whose it is and what is doubted of the course.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) found: Found,
    pub(super) whose: String,
    pub(super) doubts: Vec<String>,
}

impl Sheet {
    /// In words and drawings, in the units of whoever reads it.
    pub(super) fn page(&self) -> RaceDayPage {
        RaceDayPage { whose: self.whose.clone(), ..self.found.page(Units::now().over_water()) }
    }
}

/// A sailor's sheet, or why there is none.
pub(super) type Told = Result<Arc<Sheet>, String>;

/// A squad's race day being solved, or solved.
#[derive(Debug)]
pub(in super::super) struct Job {
    /// What the boats were solved for, and for which course.
    key: [String; 2],
    crews: Vec<Crew>,
    boats: Vec<OnceLock<Result<Arc<RaceBoat>, String>>>,
    sheets: Vec<OnceLock<Told>>,
    done: AtomicUsize,
    stop: AtomicBool,
}

impl Job {
    /// How many are solved, and how many there are.
    pub(super) fn done(&self) -> (usize, usize) {
        (self.done.load(Ordering::Relaxed), self.crews.len())
    }
    /// The sailors, in the order of launching.
    pub(super) fn labels(&self) -> Vec<String> {
        self.crews.iter().map(|c| c.sailor.label.clone()).collect()
    }
    /// A sailor's sheet, or why there is none; nothing while it is being solved.
    pub(super) fn sheet(&self, who: usize) -> Option<Told> {
        self.sheets.get(who)?.get().cloned()
    }
    /// The least and the most time round the course by class, s, of its sailors that have one, and how many they are.
    pub(super) fn times(&self) -> Vec<(String, [f64; 2], usize)> {
        let mut times: Vec<(String, [f64; 2], usize)> = Vec::new();
        for sheet in self.sheets.iter().filter_map(|s| s.get()).filter_map(|told| told.as_ref().ok()) {
            let Some(seconds) = sheet.found.seconds() else { continue };
            match times.iter_mut().find(|t| t.0 == sheet.found.boat.name) {
                Some((_, [least, most], count)) => (*least, *most, *count) = (least.min(seconds), most.max(seconds), *count + 1),
                None => times.push((sheet.found.boat.name.clone(), [seconds, seconds], 1)),
            }
        }
        times
    }
    /// Whether it was stopped from the page.
    pub(super) fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

impl Yard {
    /// The job of a squad on a day's course in a race's wind, begun where it was not.
    ///
    /// # Errors
    /// Why there is no sailing in this wind and current.
    pub(super) fn race(self: &Arc<Self>, day: &DayFact, course: &CourseFact, weather: &Weather, squad: &Squad) -> Result<Arc<Job>, String> {
        let race = RaceWind::of(weather);
        let felt = felt(&race.day).map_err(|stuck| format!("Wind and current: {}.", stuck.words()))?;
        let water = if day.water == FloatsIn::Fresh { Water::Fresh } else { Water::Sea };
        let over = Day {
            given: felt,
            height: METER_HEIGHT,
            law: weather.law,
            chop: day.chop_m,
            gusts: day.gusts.unwrap_or(usual_gusts(day.sheltered)),
            water: water.at(Temperature::celsius(USUAL_TEMPERATURE)),
            constants: self.constants().map_err(|error| error.to_string())?,
        };
        let crews = &squad.crews;
        let who: Vec<String> = crews.iter().map(|c| format!("{} {}", c.sailor.label, depends(c))).collect();
        let key = [format!("{over:?} {race:?} {}", who.join("; ")), format!("{course:?}")];
        let mut standing = lock(&self.race);
        if let Some(job) = standing.as_ref().filter(|job| job.key == key) {
            return Ok(Arc::clone(job));
        }
        let old = standing.take();
        let boats = match old.as_ref().filter(|old| old.key[0] == key[0]) {
            Some(old) => old.boats.clone(),
            None => crews.iter().map(|_| OnceLock::new()).collect(),
        };
        let sheets = crews.iter().map(|_| OnceLock::new()).collect();
        let job = Arc::new(Job { key, crews: crews.clone(), boats, sheets, done: AtomicUsize::new(0), stop: AtomicBool::new(false) });
        if let Some(old) = old {
            old.stop.store(true, Ordering::Relaxed);
        }
        *standing = Some(Arc::clone(&job));
        drop(standing);
        let (yard, at, course) = (Arc::clone(self), Arc::clone(&job), course.clone());
        std::thread::spawn(move || {
            at.crews.par_iter().zip(&at.boats).zip(&at.sheets).with_max_len(1).for_each(|((crew, boat), slot)| {
                if boat.get().is_none() && !at.stopped() {
                    let solved = yard.crewed(crew, &over, &race, &|| !at.stopped());
                    if !at.stopped() {
                        let _ = boat.set(solved);
                    }
                }
                if let Some(boat) = boat.get().filter(|_| !at.stopped()) {
                    let sheet = boat.clone().and_then(|boat| sheet(&course, race, &boat, &crew.sailor.label));
                    let _ = slot.set(sheet.map(Arc::new));
                    at.done.fetch_add(1, Ordering::Relaxed);
                }
            });
        });
        Ok(job)
    }

    fn crewed(&self, crew: &Crew, over: &Day, race: &RaceWind, step: &(impl Fn() -> bool + Sync)) -> Result<Arc<RaceBoat>, String> {
        let class = self.class_of(crew.boat.class.as_deref());
        let boat = over.own(class, crew).map_err(|e| format!("{e:#}"))?;
        let crewed = Crewed { name: &class.name, boat: &boat, sailor: crew.sailor.body, weather: over };
        RaceBoat::solved(&crewed, &race.day, Timed::default(), step).map(Arc::new).map_err(|e| format!("{e:#}."))
    }

    /// Stops what is being solved for the race.
    pub(super) fn stop_race(&self) {
        if let Some(job) = lock(&self.race).as_ref() {
            job.stop.store(true, Ordering::Relaxed);
        }
    }
}
