//! What the pages stand on: the store, the class, the words, and what was solved and can be solved again.

mod classes;

use std::collections::{BTreeSet, HashMap, VecDeque};
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant};

use advice::caution::{Caution, Cautions, Facts, Limits};
use advice::own::OwnSetup;
use advice::quiz::Quiz;
use boat::Constants;
use boat::balance::{Boat, Tack};
use boat::chart::Cell;
use boat::class::Class;
use boat::setup::{Leg, LegSetup, Request};
use measure::quantity::KNOT;
use measure::{Polar, Temperature};
use rayon::prelude::*;
use squad::fact::correction::Correction;
use squad::fact::day::{Day as DayFact, FloatsIn, ForecastHour};
use squad::fact::sailor::Sailor;
use squad::{Crew, Date, Held, Id, Kept, Shared, Squad, SquadError, Store, Writer};

use super::season::Sailed;
use super::what_if::Said;
use super::{Refusal, quiz};
use crate::briefing::around::Around;
use crate::briefing::day::SolvedWind;
use crate::briefing::doubts::Doubts;
use crate::briefing::season::constants;
use crate::briefing::solved;
use crate::briefing::what_if::Best;
use crate::day::Day;
use crate::door::Door;
use crate::drawing::boat::BoatShape;
use crate::words::Words;
use crate::words::school::{Language, Tongue};

/// Less than half a knot is no wind to set a boat for, m/s.
const LEAST_WIND: f64 = 0.5 * KNOT;
/// Best setups of What if kept at hand.
const KEPT: usize = 64;
/// For how long the squad page shows masses once it is asked to.
const SHOWN: Duration = Duration::from_secs(120);

/// A sailor's day, solved.
#[derive(Debug)]
pub(super) struct SailorsDay {
    pub(super) crew: Crew,
    pub(super) boat: Boat,
    pub(super) own: OwnSetup,
    pub(super) winds: [SolvedWind; 3],
    /// The beat as forecast on starboard tack, for the dock.
    pub(super) beat: Option<LegSetup>,
    /// What the forecast asks of hands around the course marks; none where the model has no answer.
    pub(super) around: Option<Around>,
}

/// Today as one sailor has it, solved.
#[derive(Debug)]
pub(super) struct OwnDay {
    pub(super) today: Today,
    pub(super) day: Day,
    pub(super) squad: Squad,
    pub(super) one: Arc<SailorsDay>,
}

/// What is not known of each class's beats.
type DoubtsByClass = Vec<(String, Doubts)>;

/// A quiz that is solved once, by whoever asks first.
type Once = Arc<OnceLock<Option<Arc<Quiz>>>>;

/// Every sailor's day.
pub(super) type Solved = Vec<Arc<SailorsDay>>;

/// A day's settings being solved, or solved.
#[derive(Debug)]
pub(super) struct Job {
    /// What it was solved for.
    key: String,
    pub(super) steps: usize,
    done: AtomicUsize,
    stop: AtomicBool,
    pub(super) answer: Mutex<Option<Arc<Solved>>>,
}

impl Job {
    pub(super) fn done(&self) -> usize {
        self.done.load(Ordering::Relaxed)
    }
    pub(super) fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
    pub(super) fn solved(&self) -> Option<Arc<Solved>> {
        lock(&self.answer).clone()
    }
}

/// What the pages stand on.
#[derive(Debug)]
pub struct Yard {
    store: Shared,
    /// Where the store lies, and what the coach keeps beside it.
    pub(super) folder: PathBuf,
    /// The class of a boat of which none is known.
    pub(super) class: Class,
    /// Every class that boats may have: the program's own, and those whose files the coach brought. Of two of one name the later counts: one
    /// may be measured while pages that look at the earlier are being written.
    classes: boxcar::Vec<Class>,
    pub(super) words: Words,
    cautions: Cautions,
    pub(super) best: Mutex<HashMap<String, Arc<Best>>>,
    pub(super) said: Mutex<Answers>,
    job: Mutex<Option<Arc<Job>>>,
    /// Sailors' days solved already, by what they depend on: who comes or goes makes nobody else wait.
    known: Mutex<HashMap<String, Option<Arc<SailorsDay>>>>,
    /// What is not known of the beats of the day solved last.
    doubts: Mutex<Option<(String, Arc<DoubtsByClass>)>>,
    /// What can be asked of sailors, solved already.
    quizzes: Mutex<HashMap<String, Once>>,
    /// The languages a child may read in.
    tongues: Vec<Tongue>,
    masses_until: Mutex<Option<Instant>>,
    /// The door to the club's network, and where it stands; none where nobody opened it.
    pub(super) door: Option<Door>,
    pub(super) listened: Vec<SocketAddr>,
    /// Outings debriefed, or being debriefed, the one asked for last at the end.
    pub(super) debriefed: Mutex<VecDeque<Arc<super::ashore::Job>>>,
    /// Outings that are debriefed without the buoys of their day, because the coach said so.
    pub(super) without_buoys: Mutex<BTreeSet<Id<squad::fact::outing::Outing>>>,
    /// What the season takes of each outing, by what it depends on.
    pub(super) sailed: Mutex<HashMap<String, Arc<Sailed>>>,
    /// The season being gathered, or gathered.
    pub(super) season: Mutex<Option<Arc<super::season::Job>>>,
    /// Speeds of classes with a sailor (the bits of her mass), once they are solved; none where one has none.
    pub(super) polar: Mutex<HashMap<(String, u64), Option<Polar>>>,
    /// The squad's boats solved for the race, or being solved.
    pub(super) race: Mutex<Option<Arc<super::race_day::Job>>>,
}

/// What was asked last of What if: turning the boat, or going back, solves nothing anew.
#[derive(Debug, Default)]
pub(super) struct Answers(VecDeque<(String, String, Arc<Said>)>);

impl Answers {
    /// The answer at a place to settings.
    pub(super) fn of(&self, place: &str, settings: &str) -> Option<Arc<Said>> {
        self.0.iter().find(|kept| kept.0 == place && kept.1 == settings).map(|kept| Arc::clone(&kept.2))
    }
    /// The last state that was found at a place.
    pub(super) fn last(&self, place: &str) -> Option<Arc<Said>> {
        self.0.iter().rev().find(|kept| kept.0 == place && kept.2.is_ok()).map(|kept| Arc::clone(&kept.2))
    }
    /// Keeps an answer, and forgets the oldest.
    pub(super) fn keep(&mut self, place: &str, settings: String, said: &Arc<Said>) {
        if self.0.len() >= KEPT {
            self.0.pop_front();
        }
        self.0.push_back((place.to_owned(), settings, Arc::clone(said)));
    }
}

/// A lock, whatever became of its last holder: what it guards is whole between any two statements.
pub(super) fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A day as the pages use it.
#[derive(Debug, Clone)]
pub(super) struct Today {
    pub(super) kept: Kept<DayFact>,
    pub(super) hours: Vec<Kept<ForecastHour>>,
    /// The model's correction that stands.
    pub(super) correction: Option<Kept<Correction>>,
}

impl Yard {
    /// A yard of a store and a class.
    #[must_use]
    pub fn new(store: Store, class: Class, words: Words, tongues: Vec<Tongue>, cautions: Cautions) -> Self {
        let classes = classes::classes(&store, &class);
        Self {
            folder: store.folder().to_owned(),
            store: Shared::new(store),
            class,
            classes,
            words,
            cautions,
            best: Mutex::default(),
            said: Mutex::default(),
            job: Mutex::default(),
            known: Mutex::default(),
            doubts: Mutex::default(),
            quizzes: Mutex::default(),
            tongues,
            masses_until: Mutex::default(),
            door: None,
            listened: Vec::new(),
            debriefed: Mutex::default(),
            without_buoys: Mutex::default(),
            race: Mutex::default(),
            polar: Mutex::default(),
            sailed: Mutex::default(),
            season: Mutex::default(),
        }
    }

    /// The same, reached from the club's network too, at these addresses.
    #[must_use]
    pub fn listening(self, door: Door, listened: Vec<SocketAddr>) -> Self {
        Self { door: Some(door), listened, ..self }
    }

    /// The store, for as long as it is held; asked for again meanwhile, it is an error, where a plain lock would wait for itself.
    pub(super) fn store(&self) -> Result<Held<'_>, SquadError> {
        self.store.held()
    }

    /// Who writes from these pages.
    pub(super) fn writer() -> Writer {
        Writer::now("coach")
    }

    /// The squad as it is today.
    pub(super) fn squad(&self) -> Result<Squad, SquadError> {
        Ok(self.store()?.squad(Some(today()))?.value)
    }

    pub(super) fn keep_best(&self, key: String, best: &Arc<Best>) {
        let mut kept = lock(&self.best);
        if kept.len() >= KEPT {
            kept.clear();
        }
        kept.insert(key, Arc::clone(best));
    }

    /// Today as it was last written down.
    pub(super) fn today(&self) -> Result<Option<Today>, SquadError> {
        let store = self.store()?;
        let Some(kept) = store.days_on(today())?.pop() else { return Ok(None) };
        let mut hours = store.forecast_of(kept.id)?;
        hours.sort_by_key(|h| h.fact.at);
        let correction = store.correction()?;
        Ok(Some(Today { kept, hours, correction }))
    }

    /// Today, written down with nothing known of it where nobody has yet.
    pub(super) fn this_day(&self) -> Result<Kept<DayFact>, SquadError> {
        // Held from the look to the write: two phones at once make one day.
        let mut store = self.store()?;
        if let Some(kept) = store.days_on(today())?.pop() {
            return Ok(kept);
        }
        store.add(&blank_day(today(), here()), &Self::writer())
    }

    /// The model's constants, corrected where the coach took a correction over.
    pub(super) fn constants(&self) -> Result<Constants, SquadError> {
        Ok(constants_of(self.store()?.correction()?.as_ref()))
    }

    /// Masses are shown for a while.
    pub(super) fn show_masses(&self) {
        *lock(&self.masses_until) = Some(Instant::now() + SHOWN);
    }

    /// And covered again.
    pub(super) fn cover_masses(&self) {
        *lock(&self.masses_until) = None;
    }

    /// Whether masses are shown: at this machine alone, for what goes over the network can be read there.
    pub(super) fn shows_masses(&self) -> bool {
        super::enter::at_home() && lock(&self.masses_until).is_some_and(|until| Instant::now() < until)
    }

    /// The cautions of a day for a sailor, over the limit first.
    pub(super) fn cautions(&self, today: &Today, day: &Day, crew: &Crew) -> Result<Vec<Caution>, SquadError> {
        let afloat = u32::try_from(self.squad()?.crews.len()).unwrap_or(u32::MAX);
        let store = self.store()?;
        let limits = store.gust_limits()?.into_iter().map(|l| (l.fact.class, l.fact.skill, l.fact.gust_ms));
        let fact = &today.kept.fact;
        let facts = Facts {
            gust: day.conditions(1.0, Tack::Starboard).wind.at_meter * day.gusts,
            water: fact.water_temperature_k.map(|k| Temperature::celsius(k - Temperature::celsius(0.0).si())),
            offshore: fact.offshore,
            against_tide: fact.against_tide,
            thunder: fact.thunder,
            safety_boats: fact.safety_boats.map(|n| (n, afloat)),
            daylight: None,
            preventer: crew.boat.rigged.get(&boat::gauge::Gauge::Preventer).is_some_and(|on| *on > 0.5),
        };
        let own = store.safety_limit()?.map(|l| l.fact.sailors);
        let cautions = self.cautions.clone().with_sailors_per_safety_boat(own);
        Ok(cautions.said(&facts, &Limits::of(limits), &self.class_of(crew.boat.class.as_deref()).name, crew.sailor.body.skill))
    }

    /// How many sailors a safety boat looks after at most: the club's own limit, else as the cautions have it.
    pub(super) fn sailors_per_safety_boat(&self) -> Result<Option<f64>, SquadError> {
        let own = self.store()?.safety_limit()?.map(|l| l.fact.sailors);
        Ok(own.or(self.cautions.sailors_per_safety_boat()))
    }

    /// The job that stands for today's wind and squad, if one was begun.
    pub(super) fn job(&self, day: &Day, squad: &Squad) -> Option<Arc<Job>> {
        lock(&self.job).clone().filter(|job| job.key == key(day, squad) && !job.stopped())
    }

    /// Begins to solve a day, where it is not being solved already.
    pub(super) fn solve(self: &Arc<Self>, day: Day, squad: Squad) -> Arc<Job> {
        if let Some(job) = self.job(&day, &squad) {
            return job;
        }
        let key = key(&day, &squad);
        let job = Arc::new(Job {
            key,
            steps: squad.crews.len(),
            done: AtomicUsize::new(0),
            stop: AtomicBool::new(false),
            answer: Mutex::default(),
        });
        if let Some(old) = lock(&self.job).replace(Arc::clone(&job)) {
            old.stop.store(true, Ordering::Relaxed);
        }
        let (yard, at) = (Arc::clone(self), Arc::clone(&job));
        std::thread::spawn(move || {
            let doubts = yard.doubts(&day, &squad, &|| !at.stopped());
            let solved: Option<Solved> = squad
                .crews
                .par_iter()
                .map(|crew| {
                    if at.stopped() {
                        return None;
                    }
                    let class = &yard.class_of(crew.boat.class.as_deref()).name;
                    let doubts = doubts.iter().flat_map(|all| all.iter()).find(|(of, _)| of == class).map(|(_, doubts)| doubts);
                    let solved = yard.known_day(&day, crew, doubts);
                    at.done.fetch_add(1, Ordering::Relaxed);
                    Some(solved)
                })
                .collect::<Option<Vec<_>>>()
                .map(|list| list.into_iter().flatten().collect());
            *lock(&at.answer) = solved.clone().map(Arc::new);
            // Phones come all at once: by then their quizzes are at hand.
            if yard.door.is_some() {
                for one in solved.iter().flatten().take_while(|_| !at.stopped()) {
                    yard.quiz_of(one, &day);
                }
            }
        });
        job
    }

    /// A sailor's own day, where today is solved: the day, its wind, the squad, what was found.
    pub(super) fn own_day(&self, sailor: &Kept<Sailor>) -> Result<Option<OwnDay>, SquadError> {
        let Some(today) = self.today()? else { return Ok(None) };
        let Some(day) = today.day() else { return Ok(None) };
        let squad = self.squad()?;
        let solved = self.job(&day, &squad).and_then(|job| job.solved());
        let own = solved.and_then(|solved| solved.iter().find(|one| one.crew.sailor.label == sailor.fact.label).cloned());
        Ok(own.map(|one| OwnDay { today, day, squad, one }))
    }

    /// The words of a language.
    pub(super) fn tongue(&self, language: Language) -> Result<&Tongue, Refusal> {
        self.tongues.iter().find(|t| t.language == language).ok_or_else(|| Refusal::because("That language is not here", "Choose another."))
    }

    /// What can be asked of a sailor today, and the boat to draw; solved once. None where today is not solved.
    pub(super) fn quiz(&self, sailor: &Kept<Sailor>) -> Result<Option<(Arc<Quiz>, BoatShape)>, SquadError> {
        let Some(OwnDay { day, one, .. }) = self.own_day(sailor)? else { return Ok(None) };
        let Some(shape) = quiz::drawn(&one) else { return Ok(None) };
        Ok(self.quiz_of(&one, &day).map(|quiz| (quiz, shape)))
    }

    /// A sailor's quiz of a day. Who asks while it is being solved waits for that one, and solves none beside it.
    fn quiz_of(&self, one: &SailorsDay, day: &Day) -> Option<Arc<Quiz>> {
        let key = format!("{day:?} {}", depends(&one.crew));
        let place = {
            let mut kept = lock(&self.quizzes);
            if kept.len() >= KEPT && !kept.contains_key(&key) {
                kept.clear();
            }
            Arc::clone(kept.entry(key).or_default())
        };
        place.get_or_init(|| quiz::solved(one, day).map(Arc::new)).clone()
    }

    /// Stops what is being solved.
    pub(super) fn stop(&self) {
        if let Some(job) = lock(&self.job).take() {
            job.stop.store(true, Ordering::Relaxed);
        }
    }

    /// What is not known of the beats of a day, by class, solved once; `None` where it was stopped.
    fn doubts(&self, day: &Day, squad: &Squad, step: &(impl Fn() -> bool + Sync)) -> Option<Arc<DoubtsByClass>> {
        let sails = |crew: &Crew, class: &Class| self.class_of(crew.boat.class.as_deref()).name == class.name;
        let sailed: Vec<&Class> = self.classes().into_iter().filter(|class| squad.crews.iter().any(|crew| sails(crew, class))).collect();
        let key = format!("{day:?} {:?}", sailed.iter().map(|class| class.name.as_str()).collect::<Vec<_>>());
        if let Some((of, known)) = lock(&self.doubts).as_ref()
            && *of == key
        {
            return Some(Arc::clone(known));
        }
        let winds = solved::SHARES.map(|share| day.conditions(share, Tack::Starboard).wind);
        let mut solved = Vec::new();
        for class in sailed {
            let Ok(boat) = day.boat(class, None) else { continue };
            let bodies = squad.crews.iter().filter(|crew| sails(crew, class)).map(|crew| &crew.sailor.body);
            solved.push((class.name.clone(), Doubts::of_squad(bodies, &boat, day, &winds, step)?));
        }
        let solved = Arc::new(solved);
        *lock(&self.doubts) = Some((key, Arc::clone(&solved)));
        Some(solved)
    }

    /// A sailor's day, solved once.
    fn known_day(&self, day: &Day, crew: &Crew, doubts: Option<&Doubts>) -> Option<Arc<SailorsDay>> {
        let key = format!("{day:?} {}", depends(crew));
        if let Some(known) = lock(&self.known).get(&key) {
            return known.clone();
        }
        let solved = self.sailors_day(day, crew, doubts).map(Arc::new);
        let mut known = lock(&self.known);
        if known.len() >= KEPT {
            known.clear();
        }
        known.insert(key, solved.clone());
        solved
    }

    fn sailors_day(&self, day: &Day, crew: &Crew, doubts: Option<&Doubts>) -> Option<SailorsDay> {
        let boat = day.own(self.class_of(crew.boat.class.as_deref()), crew).ok()?;
        let conditions = day.conditions(1.0, Tack::Starboard);
        let request = Request { boat: &boat, sailor: crew.sailor.body, conditions, gusts: day.gusts, reach: None, bands: true };
        let mut beat = request.leg(Leg::Beat, 0.0).ok().filter(|beat| beat.converged);
        if let (Some(doubts), Some(beat)) = (doubts, &mut beat) {
            doubts.lend(&request, &mut beat.settings);
        }
        let find = |share: f64, tack: Tack| {
            if (share, tack) == (1.0, Tack::Starboard) {
                return beat.as_ref().map(|beat| Cell::of(beat, conditions.wind.at_meter));
            }
            let mut beat = solved::beat(&boat, &crew.sailor.body, day, share, tack, true)?;
            if let Some(doubts) = doubts {
                doubts.lend(&Request { conditions: day.conditions(share, tack), ..request }, &mut beat.settings);
            }
            Some(beat)
        };
        let (winds, around) = rayon::join(|| solved::winds(&boat, day, &find, &|| ()), || Around::solved(&request).ok());
        let own = solved::own_setup(&boat, crew, day);
        Some(SailorsDay { crew: crew.clone(), own, winds, beat, around, boat })
    }
}

/// What a sailor's settings depend on, beside the day: a reading of the tape is not among it.
pub(super) fn depends(c: &Crew) -> String {
    format!("{:?} {:?} {:?} {:?} {:?} {:?}", c.sailor, c.boat.class, c.boat.label, c.boat.hull_mass, c.boat.water_found, c.boat.base)
}

/// What a day's settings depend on; in which order they launch is not among it.
fn key(day: &Day, squad: &Squad) -> String {
    let mut crews: Vec<String> = squad.crews.iter().map(depends).collect();
    crews.sort();
    format!("{day:?} {}", crews.join("; "))
}

impl SailorsDay {
    /// The crew as it is known now, and her boat's setup with the latest readings.
    pub(super) fn now(&self, squad: &Squad) -> (Crew, OwnSetup) {
        let crew = squad.crews.iter().find(|c| c.boat.label == self.crew.boat.label).unwrap_or(&self.crew).clone();
        let rigged = crew.boat.rigged.iter().map(|(g, v)| (*g, *v)).collect();
        let own = OwnSetup { rigged, ..self.own.clone() };
        (crew, own)
    }
}

/// Sailors' days in the order of launching.
pub(super) fn in_order(solved: &Solved, squad: &Squad) -> Solved {
    let mut solved = solved.clone();
    solved.sort_by_key(|one| squad.crews.iter().position(|c| c.sailor.label == one.crew.sailor.label));
    solved
}

/// The timezone of this machine.
pub(super) fn here() -> String {
    jiff::tz::TimeZone::system().iana_name().unwrap_or("UTC").to_owned()
}

/// A day of which nothing is known but where its clock is.
pub(super) fn blank_day(date: Date, timezone: String) -> DayFact {
    DayFact {
        date,
        venue: String::new(),
        timezone,
        warning_signal: None,
        water: FloatsIn::Sea,
        water_temperature_k: None,
        sheltered: false,
        chop_m: 0.0,
        gusts: None,
        offshore: None,
        against_tide: None,
        thunder: None,
        safety_boats: None,
        words: String::new(),
    }
}

/// Today, by this machine's clock.
pub(super) fn today() -> Date {
    Date(jiff::ZonedDateTime::now().date())
}

/// The model's constants with a correction, or as they came.
fn constants_of(correction: Option<&Kept<Correction>>) -> Constants {
    correction.map_or_else(|| *Constants::standard(), |c| constants(&c.fact.values()))
}

impl Today {
    /// The day's wind: that of the hours its cards are for. `None` without a forecast, or without wind.
    pub(super) fn day(&self) -> Option<Day> {
        let hours: Vec<ForecastHour> = self.hours.iter().map(|h| h.fact.clone()).collect();
        let constants = constants_of(self.correction.as_ref());
        Day::kept(&self.kept.fact, &hours).map(|day| day.by(&constants)).filter(|day| day.given > LEAST_WIND)
    }
}
