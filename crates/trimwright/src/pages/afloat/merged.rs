//! What the phones brought, as it stands in the store: the tally of an outing, clocks that were wrong, and who said what when.

use std::collections::BTreeSet;

use squad::fact::outing::{DrillDone, Note, Observation, Outing, Tally, Way};
use squad::{Edit, Fact, Id, Kept, Moment, SquadError, Store, Writer};

use super::super::yard::Yard;
use crate::briefing::tally::{Way as Told, Word};

/// What is kept of a phone whose clock was not this machine's: phone, seconds it was behind, and what came of it.
pub(super) const CLOCK: &str = "phone.clock";
/// What is kept of a note that was taken back.
pub(super) const TAKEN_BACK: &str = "taken_back";

/// A phone whose clock was not this machine's.
#[derive(Debug, Clone)]
pub(super) struct Clock {
    kept: Kept<Observation>,
    pub(super) phone: String,
    /// How far it was behind, s.
    pub(super) seconds: i64,
    state: String,
}

impl Clock {
    /// Whether nobody has settled it.
    pub(super) fn asked(&self) -> bool {
        self.state == "asked"
    }
    pub(super) fn id(&self) -> Id<Observation> {
        self.kept.id
    }
}

/// The phone in the word of who wrote a fact.
fn phone(by: &str) -> Option<&str> {
    Some(by.rsplit_once("phone ")?.1.split(';').next()?.trim())
}

/// The clocks of an outing.
pub(super) fn clocks(store: &Store, outing: Id<Outing>) -> Result<Vec<Clock>, SquadError> {
    let read = |kept: Kept<Observation>| {
        let mut parts = kept.fact.words.split(' ').map(str::to_owned);
        let (phone, seconds, state) = (parts.next()?, parts.next()?.parse().ok()?, parts.next()?);
        Some(Clock { kept, phone, seconds, state })
    };
    Ok(store.observations_of(outing)?.into_iter().filter(|o| o.fact.what == CLOCK).filter_map(read).collect())
}

/// Whether a fact's time was read from a clock that is known to be wrong and that nobody has settled.
fn doubted<T>(kept: &Kept<T>, clocks: &[Clock]) -> bool {
    kept.version == 1 && clocks.iter().any(|c| c.asked() && phone(&kept.edited_by) == Some(&c.phone))
}

/// The words of the tally.
pub(super) fn words(store: &Store, outing: Id<Outing>) -> Result<Vec<Word>, SquadError> {
    let clocks = clocks(store, outing)?;
    let seen = store.observations_of(outing)?;
    let back: BTreeSet<&str> = seen.iter().filter(|o| o.fact.what == TAKEN_BACK).map(|o| o.fact.words.as_str()).collect();
    let word = |t: Kept<Tally>| Word {
        id: t.id.to_string(),
        sailor: t.fact.sailor.to_string(),
        at: t.fact.at.timestamp().as_millisecond(),
        way: if t.fact.way == Way::Out { Told::Out } else { Told::In },
        boat: t.fact.safety_boat.clone(),
        by: t.edited_by.clone(),
        doubted: doubted(&t, &clocks),
    };
    Ok(store.of::<Tally, _>(outing)?.into_iter().map(word).filter(|w| !back.contains(w.id.as_str())).collect())
}

/// When the outing was called over, where it was.
pub(super) fn over(store: &Store, outing: Id<Outing>) -> Result<Option<Moment>, SquadError> {
    Ok(store.observations_of(outing)?.into_iter().filter(|o| o.fact.what == "over").map(|o| o.fact.at).max())
}

/// Facts whose time can be moved.
trait Timed: Fact {
    fn at(&mut self) -> &mut Moment;
}
macro_rules! timed { ($($of:ty),*) => { $(impl Timed for $of { fn at(&mut self) -> &mut Moment { &mut self.at } })* }; }
timed!(Tally, Observation, Note, DrillDone);

/// How many facts of an outing a clock is about.
pub(super) fn touched(store: &Store, outing: Id<Outing>, clock: &Clock) -> Result<usize, SquadError> {
    fn of<T: Fact>(store: &Store, outing: Id<Outing>, clock: &Clock) -> Result<usize, SquadError> {
        let mine = |k: &Kept<T>| k.version == 1 && phone(&k.edited_by) == Some(&clock.phone);
        Ok(store.of::<T, _>(outing)?.iter().filter(|k| mine(k)).count())
    }
    Ok(of::<Tally>(store, outing, clock)?
        + of::<Observation>(store, outing, clock)?
        + of::<Note>(store, outing, clock)?
        + of::<DrillDone>(store, outing, clock)?)
}

/// Settles a clock as a person decided: the notes' times are moved, with what they were kept in their history; or left as they are.
pub(super) fn settle(store: &mut Store, outing: Id<Outing>, id: Id<Observation>, moved: bool) -> Result<(), SquadError> {
    fn shift<T: Timed>(store: &mut Store, outing: Id<Outing>, clock: &Clock) -> Result<(), SquadError> {
        for kept in store.of::<T, _>(outing)? {
            if kept.version != 1 || phone(&kept.edited_by) != Some(&clock.phone) {
                continue;
            }
            let mut fact = kept.fact.clone();
            let at = fact.at();
            *at = Moment::of_millis(at.timestamp().as_millisecond().saturating_add(clock.seconds.saturating_mul(1000)));
            let writer = Writer::now(&format!("{}; clock put right", kept.edited_by));
            // Whoever wrote it since knew its time.
            let _: Edit<T> = store.edit(kept.id, kept.version, &fact, &writer)?;
        }
        Ok(())
    }
    let Some(clock) = clocks(store, outing)?.into_iter().find(|c| c.id() == id && c.asked()) else { return Ok(()) };
    if moved {
        shift::<Tally>(store, outing, &clock)?;
        shift::<Observation>(store, outing, &clock)?;
        shift::<Note>(store, outing, &clock)?;
        shift::<DrillDone>(store, outing, &clock)?;
    }
    let words = format!("{} {} {}", clock.phone, clock.seconds, if moved { "moved" } else { "left" });
    let fact = Observation { words, ..clock.kept.fact.clone() };
    let _: Edit<Observation> = store.edit(clock.kept.id, clock.kept.version, &fact, &Yard::writer())?;
    Ok(())
}
