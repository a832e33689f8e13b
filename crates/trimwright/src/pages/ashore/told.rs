//! An outing being debriefed, or debriefed: the work behind the Ashore page, in the background, as far as it has come.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};

use boat::class::Class;
use boat::crew::Sailor as Body;
use jiff::tz::TimeZone;
use measure::Polar;
use rayon::prelude::*;
use squad::fact::outing::Outing as OutingFact;
use squad::fact::recorder::TrackFile;
use squad::{Crew, Id, Kept, Moment, SquadError, Store};
use track::debrief::Asked;

use super::super::units::Units;
use super::super::yard::{Yard, lock};
use super::buoys::Buoys;
use super::grounds::Grounds;
use super::noted::timed;
use crate::briefing::ashore::{Own, own};
use crate::briefing::beside::{Beside, By, roundings};
use crate::briefing::debrief::{DebriefPage, SailorPage, page};
use crate::day::Day;
use crate::long::Long;
use crate::outing::{Found, Known, Outing, SpeedsOf, class_polar, middle, named, of_file, outing, together};

/// Outings whose debriefs are kept at hand: one of forty boats and three hours takes some ten megabytes.
const KEPT: usize = 4;
/// The wind a class's speeds are asked in where none is known yet, m/s.
const WIND: f64 = 5.0;

/// An outing as the page shows it.
#[derive(Debug)]
pub(in super::super) struct Told {
    /// Debrief and trails.
    pub(in super::super) outing: Outing,
    /// The same in words, in metres; in feet once somebody asks for them.
    metres: Words,
    feet: OnceLock<Words>,
    /// Whose speeds tell the wind's.
    speeds: SpeedsOf,
    /// By which mark each track's recorder is known, in the order of the boats, and whose it is.
    pub(in super::super) recorders: Vec<Known>,
    /// When each track began.
    pub(in super::super) began: Vec<Moment>,
    /// Timezone of the clock times.
    pub(in super::super) zone: TimeZone,
    /// The buoys of the day, and which of them it rests on.
    pub(super) buoys: Buoys,
}

/// An outing in words.
#[derive(Debug)]
pub(in super::super) struct Words {
    /// The pages.
    pub(in super::super) page: DebriefPage,
    /// What each sailor's sheet has beyond it, in the order of its sailors.
    pub(in super::super) owns: Vec<Own>,
}

impl Told {
    /// In words, in the units of whoever reads it.
    pub(in super::super) fn words(&self) -> &Words {
        let long = Units::now().over_water();
        if long == Long::METRES {
            return &self.metres;
        }
        self.feet.get_or_init(|| {
            let mut page = page(&self.outing.answer, &self.zone, self.speeds, long);
            // What the files and the buoys left untold has no debrief to be read from anew.
            page.untold.clone_from(&self.metres.page.untold);
            let own = |(sheet, known): (&SailorPage, &Own)| Own {
                beside: (known.beside.0.iter().map(|one| one.clone().told_in(long)).collect(), known.beside.1),
                ..own(&self.outing, sheet, known.length, &self.zone, long)
            };
            let owns = page.sailors.par_iter().zip(&self.metres.owns).map(own).collect();
            Words { page, owns }
        })
    }
}

/// An outing being debriefed.
#[derive(Debug)]
pub(in super::super) struct Job {
    of: Id<OutingFact>,
    key: String,
    /// Files, and two more steps: the class's polar, the debrief.
    pub(in super::super) steps: usize,
    done: AtomicUsize,
    stop: Arc<AtomicBool>,
    answer: Mutex<Option<Arc<Result<Told, String>>>>,
}

impl Job {
    pub(in super::super) fn done(&self) -> usize {
        self.done.load(Ordering::Relaxed)
    }
    pub(in super::super) fn told(&self) -> Option<Arc<Result<Told, String>>> {
        lock(&self.answer).clone()
    }
    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
    fn step(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
    }
}

/// The timezone of an outing's day.
pub(in super::super) fn zone_of(store: &Store, of: &OutingFact) -> Result<TimeZone, SquadError> {
    let day = store.get(of.day)?;
    Ok(day.and_then(|d| TimeZone::get(&d.fact.timezone).ok()).unwrap_or(TimeZone::UTC))
}

impl Yard {
    /// The job of an outing as its files and recorders stand now, begun where it was not; `None` where it has no file.
    pub(in super::super) fn debrief(self: &Arc<Self>, of: &Kept<OutingFact>) -> Result<Option<Arc<Job>>, SquadError> {
        let store = self.store()?;
        let files = store.tracks_of(of.id)?;
        if files.is_empty() {
            return Ok(None);
        }
        let (zone, key) = (zone_of(&store, &of.fact)?, Grounds::of(&store, of)?.key(of, self.without_buoys(of.id)));
        drop(store);
        let mut held = lock(&self.debriefed);
        if let Some(place) = held.iter().position(|job| job.key == key && !job.stopped()) {
            // The one asked for last is let go last.
            let job = held.remove(place);
            held.extend(job.clone());
            return Ok(job);
        }
        let job = Arc::new(Job {
            of: of.id,
            key,
            steps: files.len() + 2,
            done: AtomicUsize::new(0),
            stop: Arc::default(),
            answer: Mutex::default(),
        });
        // Other files or owners make this outing's anew; of other outings the last few stay.
        while let Some(place) = held.iter().position(|old| old.of == of.id).or((held.len() >= KEPT).then_some(0)) {
            if let Some(old) = held.remove(place) {
                old.stop.store(true, Ordering::Relaxed);
            }
        }
        held.push_back(Arc::clone(&job));
        drop(held);
        let (yard, at, of) = (Arc::clone(self), Arc::clone(&job), of.clone());
        std::thread::spawn(move || {
            if let Some(told) = yard.told(&of, &files, &zone, &at, true) {
                *lock(&at.answer) = Some(Arc::new(told));
            }
        });
        Ok(Some(job))
    }

    /// A debrief that is there already, by what it depends on.
    pub(in super::super) fn told_already(&self, key: &str) -> Option<Arc<Result<Told, String>>> {
        lock(&self.debriefed).iter().find(|job| job.key == key)?.told()
    }

    /// An outing's debrief, for as long as it is asked for: what the season takes from it. `None` where it was stopped.
    pub(in super::super) fn told_once(&self, of: &Kept<OutingFact>, stop: &Arc<AtomicBool>) -> Option<Result<Told, String>> {
        let (files, zone) = {
            let found = self.store().and_then(|store| Ok((store.tracks_of(of.id)?, zone_of(&store, &of.fact)?)));
            match found {
                Ok(found) => found,
                Err(error) => return Some(Err(error.to_string())),
            }
        };
        let job =
            Job { of: of.id, key: String::new(), steps: 0, done: AtomicUsize::new(0), stop: Arc::clone(stop), answer: Mutex::default() };
        self.told(of, &files, &zone, &job, false)
    }

    /// Reads, cleans and debriefs, with roundings beside the best path where that is asked for; `None` where it was stopped.
    fn told(
        &self,
        of: &Kept<OutingFact>,
        files: &[Kept<TrackFile>],
        zone: &TimeZone,
        job: &Job,
        beside: bool,
    ) -> Option<Result<Told, String>> {
        let read: Option<Vec<_>> = files
            .par_iter()
            .map(|file| {
                if job.stopped() {
                    return None;
                }
                let bytes = self.store().and_then(|store| store.track_bytes(&file.fact));
                let read = match &bytes {
                    Ok(bytes) => of_file(&file.fact.name, bytes.as_slice(), Some(zone)),
                    Err(error) => (Vec::new(), vec![measure::Warning::new(file.fact.name.clone(), error.to_string())]),
                };
                job.step();
                Some(read)
            })
            .collect();
        let (mut found, mut untold): (Vec<Found>, Vec<String>) = (Vec::new(), Vec::new());
        for (tracks, said) in read? {
            found.extend(tracks);
            untold.extend(said.iter().map(ToString::to_string));
        }
        let recorders = self.store().and_then(|store| named(&store, &mut found));
        let squad = self.squad().ok();
        let class = |sailor: &str| {
            let crew = squad.iter().flat_map(|s| &s.crews).find(|crew| crew.sailor.label == sailor);
            self.class_of(crew.and_then(|crew| crew.boat.class.as_deref()))
        };
        // One polar tells the wind's speed of one class's boats: where two sail together it stays untold.
        let mut classes: Vec<&Class> = found.iter().map(|f| class(&f.smooth.name)).collect();
        classes.dedup_by_key(|class| &class.name);
        let crews = squad.as_ref().map_or(&[][..], |s| s.crews.as_slice());
        let (polar, speeds) = match classes.as_slice() {
            [one] => {
                let (sailor, of) = middle(crews, &found);
                self.polar(one, sailor, job)?.map_or((None, SpeedsOf::Nobody), |polar| (Some(polar), of))
            }
            _ => (None, SpeedsOf::Nobody),
        };
        job.step();
        for one in &found {
            untold.extend(one.warnings.iter().map(|w| format!("{}: {}", one.smooth.name, w.what)));
        }
        let began = found.iter().map(|f| Moment::of_millis(f.smooth.start.saturating_mul(1000))).collect();
        let recorders = match recorders {
            Ok(recorders) => recorders,
            Err(error) => return Some(Err(error.to_string())),
        };
        let Some((tracks, plane)) = together(found) else {
            return Some(Err(format!("None of the files gave a track. {}", untold.join(". "))));
        };
        let lineups = match self.store().and_then(|store| timed(&store, of, &recorders)) {
            Ok(lineups) => lineups,
            Err(error) => return Some(Err(error.to_string())),
        };
        let buoys = match self.store().and_then(|store| self.buoys(&store, of)) {
            Ok(buoys) => buoys.near(&tracks, &plane),
            Err(error) => return Some(Err(error.to_string())),
        };
        untold.extend(buoys.doubts.iter().cloned());
        let asked = Asked { polar: polar.as_ref(), course_marks: &buoys.laid, lineups: &lineups };
        let outing = outing(tracks, &plane, &asked);
        let mut page = page(&outing.answer, zone, speeds, Long::METRES);
        page.untold.splice(0..0, untold);
        let owns = page.sailors.par_iter().map(|sheet| {
            let class = class(&sheet.name);
            let mut own = own(&outing, sheet, class.hull.length, zone, Long::METRES);
            if let (Some(polar), true) = (&polar, beside && !job.stopped()) {
                let crew = squad.iter().flat_map(|s| &s.crews).find(|crew| crew.sailor.label == sheet.name);
                own.beside = self.beside(&outing, sheet, crew, (class, polar), zone);
            }
            own
        });
        let owns = owns.collect();
        job.step();
        let (metres, feet) = (Words { page, owns }, OnceLock::new());
        Some(Ok(Told { outing, metres, feet, speeds, recorders, began, zone: zone.clone(), buoys }))
    }

    /// A sailor's roundings beside the best path, in her own boat where that is known; and how many could not be compared.
    fn beside(
        &self,
        outing: &Outing,
        sheet: &SailorPage,
        crew: Option<&Crew>,
        (class, polar): (&Class, &Polar),
        zone: &TimeZone,
    ) -> (Vec<Beside>, usize) {
        let (Some(boat), Some(trail)) = (outing.answer.boats.get(sheet.boat), outing.trails.get(sheet.boat)) else {
            return Default::default();
        };
        if boat.roundings.is_empty() {
            return Default::default();
        }
        let day = Day::open(WIND);
        let hull = crew.map_or_else(|| day.boat(class, None), |crew| day.own(class, crew));
        let body = crew.map_or_else(|| middle(&[], &[]).0, |crew| crew.sailor.body);
        hull.map_or_else(
            |_| Default::default(),
            |hull| roundings(&outing.answer, boat, trail, &By::of(polar, &outing.answer, &hull, body, &day), zone),
        )
    }

    /// A class's speeds with a sailor, solved once; `None` where it was stopped.
    fn polar(&self, class: &Class, sailor: Body, job: &Job) -> Option<Option<Polar>> {
        let key = (class.name.clone(), sailor.mass.to_bits());
        if let Some(known) = lock(&self.polar).get(&key).cloned() {
            return Some(known);
        }
        let day = Day::open(WIND);
        let Ok(boat) = day.boat(class, None) else { return Some(None) };
        let polar = class_polar(&boat, &sailor, &day, &|| !job.stopped())?;
        lock(&self.polar).insert(key, polar.clone());
        Some(polar)
    }
}
