//! What debriefs of outings depend on, asked of the store once for however many of them: a season asks for hundreds.

use std::collections::BTreeMap;

use boat::gauge::Gauge;
use sha2::{Digest, Sha256};
use squad::fact::day::Day;
use squad::fact::outing::{Observation, Outing};
use squad::fact::race::Course;
use squad::fact::recorder::{RecorderGiven, TrackFile};
use squad::{Id, Kept, SquadError, Store};

use super::super::afloat::together;
use super::lineups::{Change, KEY};

/// The word of a pass that was timed.
pub(super) const PASS: &str = "pass";

/// What debriefs depend on.
#[derive(Debug)]
pub(in super::super) struct Grounds {
    days: BTreeMap<Id<Day>, Vec<Id<Outing>>>,
    /// Hashes of each outing's files.
    files: BTreeMap<Id<Outing>, Vec<String>>,
    /// Passes that were timed and changes that were noted.
    seen: BTreeMap<Id<Outing>, Vec<Kept<Observation>>>,
    /// Sailors with their bodies, and whose the recorders are, in short.
    whose: String,
    /// The course of each day, in short: its buoys are where roundings are measured from.
    courses: BTreeMap<Id<Day>, Vec<String>>,
}

fn grouped<K: Ord, V>(all: impl IntoIterator<Item = (K, V)>) -> BTreeMap<K, Vec<V>> {
    let mut groups: BTreeMap<K, Vec<V>> = BTreeMap::new();
    for (key, value) in all {
        groups.entry(key).or_default().push(value);
    }
    groups
}

impl Grounds {
    /// Those of every outing.
    pub(in super::super) fn all(store: &Store) -> Result<Self, SquadError> {
        let mut seen = store.observations_beginning(PASS)?;
        seen.extend(store.observations_beginning(KEY)?);
        Self::new(store, store.all()?, store.all()?, seen, store.all()?)
    }

    /// Those of one.
    pub(in super::super) fn of(store: &Store, of: &Kept<Outing>) -> Result<Self, SquadError> {
        let outings = store.outings_of(of.fact.day)?;
        let (mut files, mut seen) = (Vec::new(), Vec::new());
        for one in &outings {
            files.extend(store.tracks_of(one.id)?);
            seen.extend(store.observations_of(one.id)?);
        }
        let course = store.course_of(of.fact.day)?;
        Self::new(store, outings, files, seen, course.into_iter().collect())
    }

    fn new(
        store: &Store,
        outings: Vec<Kept<Outing>>,
        files: Vec<Kept<TrackFile>>,
        seen: Vec<Kept<Observation>>,
        courses: Vec<Kept<Course>>,
    ) -> Result<Self, SquadError> {
        let given: Vec<String> = store.all::<RecorderGiven>()?.iter().map(|g| format!("{}.{}", g.id, g.version)).collect();
        let labels: Vec<String> = store.sailors()?.into_iter().map(|s| s.fact.label).collect();
        // The wind's speed is read from speeds solved for a sailor in the middle of those who sailed: a weighing makes it anew.
        let bodies: Vec<u64> = store.squad(None)?.value.crews.iter().map(|crew| crew.sailor.body.mass.to_bits()).collect();
        let whose = Sha256::digest(format!("{labels:?} {given:?} {bodies:?}"));
        Ok(Self {
            days: grouped(outings.into_iter().map(|o| (o.fact.day, o.id))),
            files: grouped(files.into_iter().filter_map(|f| Some((f.fact.outing?, f.fact.sha256)))),
            seen: grouped(seen.into_iter().map(|o| (o.fact.outing, o))),
            courses: grouped(courses.into_iter().map(|c| (c.fact.day, format!("{}.{}", c.id, c.version)))),
            whose: whose.iter().map(|byte| format!("{byte:02x}")).collect(),
        })
    }

    /// Whether an outing has tracks.
    pub(in super::super) fn has_tracks(&self, of: Id<Outing>) -> bool {
        self.files.contains_key(&of)
    }

    fn seen(&self, of: &Kept<Outing>) -> impl Iterator<Item = &Kept<Observation>> {
        let day = self.days.get(&of.fact.day).map_or(&[][..], Vec::as_slice);
        together(of.id, day, |id| self.has_tracks(id)).into_iter().filter_map(|id| self.seen.get(&id)).flatten()
    }

    /// What an outing's debrief depends on: its files, whose they are, passes that were timed, and the day's buoys, or going without them.
    pub(in super::super) fn key(&self, of: &Kept<Outing>, without_buoys: bool) -> String {
        let files = self.files.get(&of.id).map_or(&[][..], Vec::as_slice).join(" ");
        let passes: Vec<String> = self.seen(of).filter(|o| o.fact.what == PASS).map(|o| format!("{}.{}", o.id, o.version)).collect();
        let buoys = if without_buoys { String::new() } else { self.courses.get(&of.fact.day).map_or(String::new(), |all| all.join(" ")) };
        format!("{} {files} {} {} {buoys}", of.id, self.whose, passes.join(" "))
    }

    /// What was set when, as it was noted on an outing.
    pub(in super::super) fn changes(&self, of: &Kept<Outing>) -> Vec<Change> {
        let read = |o: &Kept<Observation>| {
            let gauge = Gauge::named(o.fact.what.strip_prefix(KEY)?).ok()?;
            Some(Change { sailor: o.fact.sailor?, at: o.fact.at, gauge, value: o.fact.words.parse().ok()? })
        };
        self.seen(of).filter_map(read).collect()
    }
}
