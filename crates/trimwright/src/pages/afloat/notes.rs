//! Notes that come from a phone: each has an id of its own, so one that is sent twice is kept once; each that is kept is acknowledged by its
//! id, and each that cannot be is sent back with the reason. One that is wrong stops no other.
//!
//! The phone says what its clock shows as it sends. Where that is not what this machine's shows, the notes are kept with the phone's own times,
//! the difference is kept beside them, and a person is asked; nothing is moved unasked.

use boat::gauge::Gauge;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use squad::fact::boat_facts::Boat;
use squad::fact::outing::{DrillDone, Note, Observation, Outing, OutingSort, Tally, Way};
use squad::fact::sailor::Sailor;
use squad::{Date, Edit, Fact, Id, Kept, Moment, SquadError, Store, Writer};

use super::super::yard::{Yard, blank_day, here, today};
use super::merged::{CLOCK, TAKEN_BACK, clocks, words};
use crate::briefing::tally::{Word, places, still_out};

/// A phone's clock may be out by this much before anybody is asked, s. Assumed: two phones that ask the network for the time differ by less
/// than a second, a clock set by hand by a minute.
pub(super) const CLOCKS_AGREE: i64 = 90;
/// Letters of a phone's id that are shown.
const SHOWN: usize = 8;
/// The most letters of a coach's label.
const LABEL: usize = 24;
/// The strongest setting that a tape or an angle shows, as the line-ups take it.
const WIDEST: f64 = 200.0;

/// What a phone sends.
#[derive(Debug, Deserialize)]
pub(super) struct Batch {
    /// The phone's id: 32 hexadecimal digits.
    pub(super) phone: String,
    /// What its clock shows as it sends, UTC ms; none where a person pasted the notes.
    pub(super) clock: Option<i64>,
    /// The notes, each read by itself.
    pub(super) notes: Vec<Value>,
}

/// A note as a phone writes it.
#[derive(Debug, Deserialize)]
struct Noted {
    id: String,
    at: i64,
    /// The phone it was noted on, where that is not the one that sends it.
    phone: Option<String>,
    day: Option<String>,
    outing: Option<String>,
    #[serde(default)]
    coach: String,
    kind: String,
    sailor: Option<String>,
    other: Option<String>,
    until: Option<i64>,
    boat: Option<String>,
    what: Option<String>,
    words: Option<String>,
    value: Option<f64>,
    minutes: Option<f64>,
    of: Option<String>,
}

/// A note that was not kept, and why.
#[derive(Debug, Serialize)]
pub(super) struct Refused {
    pub(super) id: String,
    pub(super) why: String,
}

/// What a phone is answered.
#[derive(Debug, Default, Serialize)]
pub(super) struct Taken {
    /// Ids of the notes that are on the disk.
    pub(super) kept: Vec<String>,
    /// Those that cannot be.
    pub(super) refused: Vec<Refused>,
    /// Why the rest must wait, where the store could not be written.
    pub(super) later: Option<String>,
    /// How far the phone's clock is behind this machine's, s, where that is worth asking.
    pub(super) clock: Option<i64>,
    /// The tally of the outing as it stands now, both phones' words in one.
    pub(super) tally: Vec<Word>,
    /// The outing.
    pub(super) outing: Option<String>,
    /// What this machine's clock shows, UTC ms.
    pub(super) now: i64,
}

/// Why a note is not kept.
enum Fault {
    /// It cannot be right; it goes back.
    Wrong(String),
    /// The store cannot be written now; it stays on the phone.
    Later(SquadError),
}

impl From<SquadError> for Fault {
    fn from(error: SquadError) -> Self {
        match error {
            SquadError::Refused { what } | SquadError::Absent { what } => Self::Wrong(what),
            other => Self::Later(other),
        }
    }
}

fn wrong(why: &str) -> Fault {
    Fault::Wrong(why.to_owned())
}

/// An id that a phone gave.
fn id<T>(text: Option<&str>, what: &str) -> Result<Id<T>, Fault> {
    text.unwrap_or_default().parse().map_err(|_| Fault::Wrong(format!("{what} is missing or is no id")))
}

/// A text without control characters, and not longer than it may be.
fn plain(text: &str, most: usize) -> String {
    text.trim().chars().map(|c| if c.is_control() { ' ' } else { c }).take(most).collect()
}

/// By whom a note is, as every list shows it.
fn by(coach: &str, phone: &str) -> String {
    let coach = plain(coach, LABEL).replace(',', " ");
    let phone: String = phone.chars().filter(char::is_ascii_hexdigit).take(SHOWN).collect();
    if coach.is_empty() { format!("phone {phone}") } else { format!("{coach}, phone {phone}") }
}

/// Writes a fact under the id the phone gave it; says whether it is new. One that is there already, in whichever version, is kept.
fn put<T: Fact>(store: &mut Store, noted: &Noted, fact: &T, writer: &Writer) -> Result<bool, Fault> {
    let id = id(Some(&noted.id), "the note's own id")?;
    if store.get::<T>(id)?.is_some() {
        return Ok(false);
    }
    store.add_as(id, fact, writer)?;
    Ok(true)
}

/// The day's outing: the one named, else the one under way, else a new one.
pub(super) fn outing_of(store: &mut Store, named: Option<&str>, date: Date, at: Moment, writer: &Writer) -> Result<Id<Outing>, SquadError> {
    if let Some(id) = named.and_then(|text| text.parse::<Id<Outing>>().ok())
        && store.get(id)?.is_some_and(|o: Kept<Outing>| !o.withdrawn)
    {
        return Ok(id);
    }
    if let Some(current) = current(store, date)? {
        return Ok(current);
    }
    let day = match store.days_on(date)?.pop() {
        Some(day) => day.id,
        None => store.add(&blank_day(date, here()), writer)?.id,
    };
    let name = format!("Practice, {}", date.0.strftime("%-d %B"));
    Ok(store.add(&Outing { day, name, sort: OutingSort::Practice, began: Some(at), ended: None }, writer)?.id)
}

/// Keeps what a phone sent.
pub(super) fn take(yard: &Yard, batch: &Batch) -> Result<Taken, SquadError> {
    let mut store = yard.store()?;
    let now = Moment::now();
    let mut taken = Taken { now: now.timestamp().as_millisecond(), ..Taken::default() };
    let millis = |at: Moment| at.timestamp().as_millisecond();
    let behind = batch.clock.map(|clock| (millis(now) - millis(Moment::of_millis(clock))) / 1000).filter(|s| s.abs() > CLOCKS_AGREE);
    taken.clock = behind;
    for value in &batch.notes {
        let named = value.get("id").and_then(Value::as_str).unwrap_or_default().chars().take(40).collect::<String>();
        let noted: Noted = match serde_json::from_value(value.clone()) {
            Ok(noted) => noted,
            Err(error) => {
                taken.refused.push(Refused { id: named, why: format!("it could not be read: {error}") });
                continue;
            }
        };
        let phone = noted.phone.as_ref().unwrap_or(&batch.phone);
        let writer = Writer { by: by(&noted.coach, phone), at: now };
        // A note with the day and the outing it makes, or none of them.
        match store.whole(|store| keep(store, &noted, &writer)) {
            Ok((outing, new)) => {
                taken.kept.push(named);
                if let Some(seconds) = behind.filter(|_| new) {
                    doubt(&mut store, outing, phone, seconds, now)?;
                }
            }
            Err(Fault::Wrong(why)) => taken.refused.push(Refused { id: named, why }),
            Err(Fault::Later(error)) => {
                taken.later = Some(error.to_string());
                break;
            }
        }
    }
    // What is under way now may be another than the notes' own: they may have waited for days.
    if let Some(outing) = latest(&store)? {
        taken.tally = words(&store, outing)?;
        taken.outing = Some(outing.to_string());
    }
    Ok(taken)
}

/// The outing of a day that is under way: the last on which somebody is still out, else the last. Tracks that are brought meanwhile begin
/// another, and nobody who is out may vanish with it.
fn current(store: &Store, date: Date) -> Result<Option<Id<Outing>>, SquadError> {
    let mut outings = Vec::new();
    for day in store.days_on(date)? {
        outings.extend(store.outings_of(day.id)?);
    }
    outings.sort_by_key(|o| core::cmp::Reverse(o.fact.began.unwrap_or(o.edited_at)));
    for one in &outings {
        if still_out(&places(&words(store, one.id)?)).0 > 0 {
            return Ok(Some(one.id));
        }
    }
    Ok(outings.first().map(|o| o.id))
}

/// Today's outing that is under way.
pub(super) fn latest(store: &Store) -> Result<Option<Id<Outing>>, SquadError> {
    current(store, today())
}

/// Keeps beside the notes that a phone's clock was not this machine's; once, until somebody has settled it.
fn doubt(store: &mut Store, outing: Id<Outing>, phone: &str, seconds: i64, now: Moment) -> Result<(), SquadError> {
    let phone: String = phone.chars().filter(char::is_ascii_hexdigit).take(SHOWN).collect();
    let known = clocks(store, outing)?;
    if known.iter().any(|c| c.asked() && c.phone == phone && c.seconds.abs_diff(seconds) <= CLOCKS_AGREE.unsigned_abs()) {
        return Ok(());
    }
    let fact = Observation { outing, sailor: None, at: now, what: CLOCK.to_owned(), words: format!("{phone} {seconds} asked") };
    store.add(&fact, &Yard::writer())?;
    Ok(())
}

/// Keeps one note; answers with its outing, and whether it is new.
fn keep(store: &mut Store, noted: &Noted, writer: &Writer) -> Result<(Id<Outing>, bool), Fault> {
    let at = Moment::of_millis(noted.at);
    if at.timestamp().as_millisecond() != noted.at {
        return Err(wrong("its time is not between 1970 and 2200"));
    }
    let date = noted.day.as_deref().and_then(|d| d.parse::<Date>().ok()).unwrap_or_else(today);
    let outing = outing_of(store, noted.outing.as_deref(), date, at, writer)?;
    let text = |field: &Option<String>, most: usize| plain(field.as_deref().unwrap_or_default(), most);
    let seen = |what: String, sailor: Option<Id<Sailor>>, words: String| Observation { outing, sailor, at, what, words };
    let sailor = |store: &Store| -> Result<Id<Sailor>, Fault> {
        let of = id::<Sailor>(noted.sailor.as_deref(), "the sailor")?;
        store.get(of)?.map(|_| of).ok_or_else(|| wrong("that sailor is not in this squad any more"))
    };
    let new = match noted.kind.as_str() {
        "out" | "in" => {
            let way = if noted.kind == "out" { Way::Out } else { Way::In };
            let fact = Tally { outing, sailor: sailor(store)?, at, way, safety_boat: text(&noted.boat, 60) };
            put(store, noted, &fact, writer)?
        }
        "seen" | "voice" => {
            let what = text(&noted.what, 60);
            if what.is_empty() {
                return Err(wrong("it does not say what was seen"));
            }
            let who = match noted.sailor {
                Some(_) => Some(sailor(store)?),
                None if noted.kind == "voice" => return Err(wrong("it does not say whose answer it is")),
                None => None,
            };
            let what = if noted.kind == "voice" { format!("voice.{what}") } else { what };
            put(store, noted, &seen(what, who, text(&noted.words, 500)), writer)?
        }
        "set" => {
            let gauge = Gauge::named(&text(&noted.what, 60)).map_err(|_| wrong("it names no setting of this class"))?;
            let value = noted.value.filter(|v| v.is_finite() && v.abs() <= WIDEST).ok_or_else(|| wrong("its setting is no number"))?;
            let fact = seen(format!("set.{}", gauge.name()), Some(sailor(store)?), value.to_string());
            put(store, noted, &fact, writer)?
        }
        "pass" => {
            let other: Id<Sailor> = id(noted.other.as_deref(), "the other sailor")?;
            let until = noted.until.filter(|u| *u >= noted.at).ok_or_else(|| wrong("the pass ends before it begins"))?;
            let seconds = (until - noted.at) / 1000;
            let fact = seen("pass".to_owned(), Some(sailor(store)?), format!("{other} {seconds}"));
            put(store, noted, &fact, writer)?
        }
        "drill" => {
            let minutes = noted.minutes.filter(|m| m.is_finite() && (0.0..=1440.0).contains(m));
            let fact = DrillDone { outing, at, drill: text(&noted.what, 60), minutes, words: text(&noted.words, 500) };
            put(store, noted, &fact, writer)?
        }
        "note" => {
            let who = noted.sailor.as_ref().map(|_| sailor(store)).transpose()?;
            let fact = Note { at, words: text(&noted.words, 2000), sailor: who, boat: None::<Id<Boat>>, outing: Some(outing) };
            put(store, noted, &fact, writer)?
        }
        "signal" | "over" => {
            let what = if noted.kind == "over" { "over".to_owned() } else { format!("signal.{}", text(&noted.what, 40)) };
            put(store, noted, &seen(what, None, String::new()), writer)?
        }
        "undo" => {
            let of = noted.of.clone().unwrap_or_default();
            let _: Id<Observation> = id(Some(&of), "what is taken back")?;
            let new = put(store, noted, &seen(TAKEN_BACK.to_owned(), None, of.clone()), writer)?;
            // What was taken back stays, with its history, and is listed no more.
            let _ = gone::<Tally>(store, &of, writer)?
                || gone::<Observation>(store, &of, writer)?
                || gone::<DrillDone>(store, &of, writer)?
                || gone::<Note>(store, &of, writer)?;
            new
        }
        other => return Err(Fault::Wrong(format!("\"{}\" is no kind of note that this program knows", plain(other, 20)))),
    };
    Ok((outing, new))
}

/// Withdraws a fact of a kind, where it is one of that kind and still listed.
fn gone<T: Fact>(store: &mut Store, of: &str, writer: &Writer) -> Result<bool, Fault> {
    let Ok(id) = of.parse::<Id<T>>() else { return Ok(false) };
    let Some(kept) = store.get(id)? else { return Ok(false) };
    if !kept.withdrawn
        && let Edit::Overtaken(_) = store.withdraw(id, kept.version, writer)?
    {
        return Err(Fault::Wrong("somebody changed it at the same moment: take it back once more".to_owned()));
    }
    Ok(true)
}

/// The batches in a text that a person copied from a phone: each line's note begins at its first brace.
pub(super) fn pasted(text: &str) -> Vec<Batch> {
    let mut batches: Vec<Batch> = Vec::new();
    for line in text.lines() {
        let Some(value) = line.find('{').and_then(|n| serde_json::from_str::<Value>(&line[n..]).ok()) else { continue };
        let phone = value.get("phone").and_then(Value::as_str).unwrap_or("0").to_owned();
        match batches.iter_mut().find(|b| b.phone == phone) {
            Some(batch) => batch.notes.push(value),
            None => batches.push(Batch { phone, clock: None, notes: vec![value] }),
        }
    }
    batches
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_from_a_phone_gives_its_notes_again() {
        let text = "Notes of a phone\r\n13:05 out Tern {\"id\":\"a\",\"phone\":\"3f\"}\nnothing\n13:06 { broken\n13:07 in {\"id\":\"b\",\"phone\":\"3f\"}";
        let batches = pasted(text);
        assert_eq!((batches.len(), batches[0].phone.as_str(), batches[0].notes.len()), (1, "3f", 2));
    }

    #[test]
    fn whose_note_it_is_has_one_form() {
        assert_eq!(by("Ida", "3f2a9c01ffff"), "Ida, phone 3f2a9c01");
        assert_eq!(by(" ", "<b>3f"), "phone b3f");
        assert_eq!(by("Ida, phone 1\n", "3f"), "Ida  phone 1, phone 3f");
    }
}
