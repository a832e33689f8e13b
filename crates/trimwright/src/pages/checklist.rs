//! Checklists, ticked by each sailor for the day. What the dock ticks as kit of the boat is one with it: whoever ticks it, all see it.

use std::collections::BTreeMap;

use advice::checklist::{Checklist, Place};
use axum::response::Response;
use maud::{Markup, html};
use squad::fact::boat_facts::Boat;
use squad::fact::day::{Day, Tick};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment, SquadError};

use super::form::Form;
use super::kit::KIT;
use super::seat::Seat;
use super::yard::Yard;
use super::{Refusal, later};
use crate::words::school::Tongue;

/// A line as it is ticked.
pub(super) struct Line {
    pub(super) key: String,
    pub(super) says: String,
    /// Its tick of today.
    tick: Option<Kept<Tick>>,
    /// Whether it is the boat's kit.
    kit: bool,
}

impl Line {
    pub(super) fn is_ticked(&self) -> bool {
        self.tick.is_some()
    }
}

/// A place's list with what is ticked.
pub(super) struct List {
    pub(super) place: Place,
    pub(super) lines: Vec<Line>,
    standard: bool,
}

impl List {
    /// What a line says in a language.
    pub(super) fn says<'a>(&self, line: &'a Line, tongue: &'a Tongue) -> &'a str {
        tongue.check(self.place.name(), &line.key, &line.says, self.standard)
    }

    /// How many lines are not ticked yet.
    pub(super) fn to_go(&self) -> usize {
        self.lines.iter().filter(|l| !l.is_ticked()).count()
    }
}

/// Where the coach's own list of a place would be.
pub(super) fn own_file(yard: &Yard, place: Place) -> std::path::PathBuf {
    yard.folder.join("checklists").join(format!("{}.toml", place.name()))
}

/// The coach's own text of a place, where there is one.
pub(super) fn own_text(yard: &Yard, place: Place) -> Option<String> {
    std::fs::read_to_string(own_file(yard, place)).ok()
}

/// A place's list: the coach's own where it reads, else the one that comes along; whether it is that one, and what is wrong with the
/// coach's.
pub(super) fn list(yard: &Yard, place: Place) -> Result<(Checklist, bool, Option<String>), Refusal> {
    let standard = || Checklist::standard(place).map_err(|error| Refusal::because("A checklist is broken", &error.to_string()));
    match own_text(yard, place).map(|text| Checklist::read(&text, place)) {
        Some(Ok(own)) => Ok((own, false, None)),
        Some(Err(wrong)) => Ok((standard()?, true, Some(wrong.to_string()))),
        None => Ok((standard()?, true, None)),
    }
}

/// The boat a sailor has today.
fn boat_of(yard: &Yard, sailor: &Kept<Sailor>) -> Result<Option<Id<Boat>>, SquadError> {
    let Some(today) = yard.today()? else { return Ok(sailor.fact.boat) };
    let crews = yard.store()?.crews_of(today.kept.id)?;
    Ok(crews.into_iter().find(|c| c.fact.sailor == sailor.id).map(|c| c.fact.boat).or(sailor.fact.boat))
}

/// All lists of a sailor, with what is ticked today.
pub(super) fn lists(yard: &Yard, sailor: &Kept<Sailor>) -> Result<Vec<List>, Refusal> {
    let ticks = match yard.today()? {
        Some(today) => yard.store()?.ticks_of(today.kept.id)?,
        None => Vec::new(),
    };
    let boat = boat_of(yard, sailor)?;
    let mut own: BTreeMap<String, Kept<Tick>> = BTreeMap::new();
    let mut kit: BTreeMap<String, Kept<Tick>> = BTreeMap::new();
    for tick in ticks {
        if tick.fact.sailor == Some(sailor.id) {
            own.insert(tick.fact.item.clone(), tick);
        } else if tick.fact.boat.is_some() && tick.fact.boat == boat {
            kit.insert(tick.fact.item.clone(), tick);
        }
    }
    let class = boat.map(|id| yard.store()?.get(id)).transpose()?.flatten().and_then(|b| b.fact.class);
    let class = yard.class_of(class.as_deref());
    let mut all = Vec::new();
    for place in Place::ALL {
        let (checklist, standard, _) = list(yard, place)?;
        let lines = checklist.of_class(class).map(|item| {
            let of_boat = place == Place::Dock && boat.is_some() && KIT.iter().any(|k| k.0 == item.key);
            let tick = if of_boat { kit.get(&item.key) } else { own.get(&format!("{}.{}", place.name(), item.key)) };
            Line { key: item.key.clone(), says: item.says.clone(), tick: tick.cloned(), kit: of_boat }
        });
        all.push(List { place, lines: lines.collect(), standard });
    }
    Ok(all)
}

/// The lists as a form each.
fn shown(seat: &Seat<'_>, lists: &[List]) -> Markup {
    html! { @for list in lists {
        @let to_go = list.to_go();
        section id=(list.place.name()) {
            h2 { (seat.tongue.page(&format!("place_{}", list.place.name()))) ": " @if to_go == 0 { (seat.tongue.page("ready")) } @else { (seat.tongue.page("to_go").replace("{n}", &to_go.to_string())) } }
            form method="post" action=(format!("{}/checklist", seat.base)) {
                input type="hidden" name="place" value=(list.place.name());
                ul.checks { @for line in &list.lines {
                    @if line.is_ticked() { input type="hidden" name="seen" value=(line.key); }
                    li { label { input.tick type="checkbox" name="item" value=(line.key) checked[line.is_ticked()]; span { (list.says(line, seat.tongue)) } } }
                } }
                p { button.second { (seat.tongue.page("keep_ticks")) } }
            }
        }
    } }
}

/// The page.
pub(super) fn show(yard: &Yard, seat: &Seat<'_>) -> Result<Response, Refusal> {
    let lists = lists(yard, &seat.sailor)?;
    Ok(seat.page("checklist", shown(seat, &lists)))
}

/// What was ticked at a place, or no longer is: what the other hand did not touch stays.
pub(super) fn write(yard: &Yard, seat: &Seat<'_>, form: &Form) -> Result<Response, Refusal> {
    let place =
        Place::named(form.text("place")).ok_or_else(|| Refusal::unkept("That place has no checklist. Open the checklist again."))?;
    let day = yard.this_day()?;
    let boat = boat_of(yard, &seat.sailor)?;
    let Some(list) = lists(yard, &seat.sailor)?.into_iter().find(|l| l.place == place) else {
        return Err(Refusal::lost("There is no such list"));
    };
    let writer = Yard::writer();
    {
        let mut store = yard.store()?;
        for line in list.lines {
            match (form.has("seen", &line.key), form.has("item", &line.key), &line.tick) {
                (false, true, None) => drop(store.add(&tick_of(&line, place, seat, (day.id, boat)), &writer)?),
                (true, false, Some(tick)) => drop(store.withdraw(tick.id, tick.version, &writer)?.kept()),
                _ => {}
            }
        }
    }
    Ok(later(&format!("{}/checklist#{}", seat.base, place.name())))
}

/// A line ticked now: the sailor's own, or the boat's kit.
fn tick_of(line: &Line, place: Place, seat: &Seat<'_>, (day, boat): (Id<Day>, Option<Id<Boat>>)) -> Tick {
    let (sailor, boat) = if line.kit { (None, boat) } else { (Some(seat.sailor.id), None) };
    let item = if line.kit { line.key.clone() } else { format!("{}.{}", place.name(), line.key) };
    Tick { day, sailor, boat, at: Moment::now(), item }
}

/// What was ticked where there was no network, each as "place.key": what is ticked already stays one tick, and nothing is unticked.
pub(super) fn bring(yard: &Yard, seat: &Seat<'_>, ticked: &[&str]) -> Result<(), Refusal> {
    let day = yard.this_day()?;
    let boat = boat_of(yard, &seat.sailor)?;
    let lists = lists(yard, &seat.sailor)?;
    let mut store = yard.store()?;
    for list in &lists {
        for line in list.lines.iter().filter(|l| !l.is_ticked() && ticked.contains(&format!("{}.{}", list.place.name(), l.key).as_str())) {
            store.add(&tick_of(line, list.place, seat, (day.id, boat)), &Yard::writer())?;
        }
    }
    Ok(())
}
