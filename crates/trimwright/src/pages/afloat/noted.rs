//! What was noted afloat, laid beside an outing's tracks by time: for the coach all of it, for a sailor her own.

use std::collections::BTreeSet;

use boat::gauge::Gauge;
use squad::fact::outing::{DrillDone, Note, Observation, Outing, Tally, Way};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, SquadError, Store};

use super::super::what_if::names;
use super::super::yard::Yard;
use super::merged::{CLOCK, TAKEN_BACK};
use super::{observed, voice};
use crate::briefing::drills::drills;

/// One thing that was noted.
#[derive(Debug, Clone, PartialEq)]
pub(in super::super) struct Noted {
    /// When, UTC seconds.
    pub(in super::super) at: f64,
    /// About whom; none is: about all.
    pub(in super::super) sailor: Option<Id<Sailor>>,
    /// Her label.
    pub(in super::super) who: String,
    /// What, in the coach's words.
    pub(in super::super) what: String,
    /// What to try, in the sailor's words; empty where nothing is said.
    pub(in super::super) child: String,
    /// Who noted it.
    pub(in super::super) by: String,
    /// The question, where it is an answer of her own.
    pub(in super::super) asked: Option<String>,
    /// Whether it is a word of the tally, which nobody learns from.
    pub(in super::super) tally: bool,
}

/// An outing, and those of its day that have no tracks of their own: notes may have begun before the tracks were brought.
pub(in super::super) fn outings(store: &Store, of: &Kept<Outing>) -> Result<Vec<Id<Outing>>, SquadError> {
    let mut day = Vec::new();
    let mut tracked = BTreeSet::new();
    for one in store.outings_of(of.fact.day)? {
        day.push(one.id);
        if !store.tracks_of(one.id)?.is_empty() {
            tracked.insert(one.id);
        }
    }
    Ok(together(of.id, &day, |id| tracked.contains(&id)))
}

/// The same, of the outings of its day.
pub(in super::super) fn together(of: Id<Outing>, day: &[Id<Outing>], has_tracks: impl Fn(Id<Outing>) -> bool) -> Vec<Id<Outing>> {
    let others = day.iter().copied().filter(|id| *id != of && !has_tracks(*id));
    core::iter::once(of).chain(others).collect()
}

/// Everything noted on an outing, by time.
pub(in super::super) fn noted(yard: &Yard, of: &Kept<Outing>) -> Result<Vec<Noted>, SquadError> {
    let (list, _) = observed(yard);
    let drills = drills().unwrap_or_default();
    let questions = crate::words::voice::voice().map(|v| v.question).unwrap_or_default();
    let store = yard.store()?;
    let sailors = store.sailors()?;
    let label = |id: Option<Id<Sailor>>| {
        id.map_or_else(|| "All".to_owned(), |id| sailors.iter().find(|s| s.id == id).map_or("?".to_owned(), |s| s.fact.label.clone()))
    };
    let second = |at: squad::Moment| at.timestamp().as_millisecond() as f64 / 1000.0;
    let one = |at, sailor: Option<Id<Sailor>>, what: String, child: String, by: &str| Noted {
        at: second(at),
        who: label(sailor),
        sailor,
        what,
        child,
        by: by.to_owned(),
        asked: None,
        tally: false,
    };
    let mut all = Vec::new();
    for outing in outings(&store, of)? {
        for t in store.of::<Tally, _>(outing)? {
            let way = if t.fact.way == Way::Out { "Out" } else { "In" };
            let boat = if t.fact.safety_boat.is_empty() { String::new() } else { format!(", {}", t.fact.safety_boat) };
            let word = one(t.fact.at, Some(t.fact.sailor), format!("{way}{boat}"), String::new(), &t.edited_by);
            all.push(Noted { tally: true, ..word });
        }
        for o in store.of::<Observation, _>(outing)? {
            let Observation { what, words, sailor, at, .. } = &o.fact;
            let told = if [CLOCK, TAKEN_BACK].contains(&what.as_str()) {
                continue;
            } else if let Some(gauge) = what.strip_prefix("set.") {
                let name =
                    Gauge::named(gauge).map_or_else(|_| gauge.to_owned(), |g| format!("{}, {}", names(&yard.words, g).0, super::unit(g)));
                one(*at, *sailor, format!("{name}: {words}"), String::new(), &o.edited_by)
            } else if what == "pass" {
                let (other, seconds) = words.split_once(' ').unwrap_or_default();
                one(*at, *sailor, format!("Beside {} for {seconds} s", label(other.parse().ok())), String::new(), &o.edited_by)
            } else if what == "over" {
                one(*at, None, "Called over".to_owned(), String::new(), &o.edited_by)
            } else if let Some(which) = what.strip_prefix("signal.") {
                one(*at, None, format!("Whistle: {}", which.replace('_', " ")), String::new(), &o.edited_by)
            } else if let Some(key) = what.strip_prefix(voice::KEY) {
                let asked = questions.iter().find(|q| q.key == key).map_or(key.to_owned(), |q| q.ask.clone());
                Noted { asked: Some(asked), ..one(*at, *sailor, words.clone(), String::new(), &o.edited_by) }
            } else {
                let seen = list.iter().find(|s| s.key == *what);
                let (what, child) = seen.map_or((what.clone(), String::new()), |s| (s.words.clone(), s.child.clone()));
                one(*at, *sailor, what, child, &o.edited_by)
            };
            all.push(told);
        }
        for d in store.of::<DrillDone, _>(outing)? {
            let title = drills.iter().find(|k| k.key == d.fact.drill).map_or(d.fact.drill.clone(), |k| k.title.clone());
            all.push(one(d.fact.at, None, format!("Drill done: {title}"), String::new(), &d.edited_by));
        }
        for n in store.of::<Note, _>(outing)? {
            all.push(one(n.fact.at, n.fact.sailor, n.fact.words.clone(), String::new(), &n.edited_by));
        }
    }
    all.sort_by(|a, b| a.at.total_cmp(&b.at));
    Ok(all)
}
