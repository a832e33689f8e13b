//! What goes afloat in every boat, ticked for the day. Two who tick at once lose nothing: each writes what they changed alone.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::{Path, State};
use maud::{Markup, html};
use squad::fact::boat_facts::Boat;
use squad::fact::day::Tick;
use squad::{Id, Kept, Moment, SquadError};

use super::yard::Yard;
use super::{Answer, Sent, dock, later};

/// What is looked for, by key. Common practice, no source.
pub(super) const KIT: [(&str, &str); 8] = [
    ("board", "Board, and its bolt tight"),
    ("rudder", "Rudder and tiller, held down"),
    ("tanks", "Buoyancy tanks shut"),
    ("bailer", "Bailer, tied on"),
    ("paddle", "Paddle"),
    ("sponge", "Sponge"),
    ("painter", "Painter, tied to the boat"),
    ("vest", "Buoyancy aid, on the sailor"),
];

/// What is ticked on a boat today.
pub(super) fn ticked(yard: &Yard, boat: Id<Boat>) -> Result<BTreeMap<String, Kept<Tick>>, SquadError> {
    let Some(today) = yard.today()? else { return Ok(BTreeMap::new()) };
    let ticks = yard.store()?.ticks_of(today.kept.id)?;
    Ok(ticks.into_iter().filter(|t| t.fact.boat == Some(boat)).map(|t| (t.fact.item.clone(), t)).collect())
}

/// The list, with what is ticked.
pub(super) fn list(yard: &Yard, boat: Id<Boat>) -> Result<Markup, SquadError> {
    let ticked = ticked(yard, boat)?;
    let here = KIT.iter().filter(|(key, _)| ticked.contains_key(*key)).count();
    Ok(html! { section #kit {
        h2 { "Kit: " (here) " of " (KIT.len()) @if here == KIT.len() { ", all there" } }
        form method="post" action=(format!("/dock/{boat}/kit")) {
            div.ticks { @for (key, says) in KIT {
                @let on = ticked.contains_key(key);
                @if on { input type="hidden" name="seen" value=(key); }
                p { label { input.tick type="checkbox" name="item" value=(key) checked[on]; " " (says) } }
            } }
            button.second { "Keep the kit" }
        }
    } })
}

/// What was ticked, or no longer is.
pub(super) async fn write(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = dock::found(&yard, &id)?;
    let day = yard.this_day()?;
    let there = ticked(&yard, boat.id)?;
    let writer = Yard::writer();
    yard.store()?.whole(|store| {
        for (key, _) in KIT {
            match (form.has("seen", key), form.has("item", key), there.get(key)) {
                (false, true, None) => {
                    let tick = Tick { day: day.id, sailor: None, boat: Some(boat.id), at: Moment::now(), item: key.to_owned() };
                    store.add(&tick, &writer)?;
                }
                (true, false, Some(tick)) => drop(store.withdraw(tick.id, tick.version, &writer)?.kept()),
                _ => {}
            }
        }
        Ok::<_, SquadError>(())
    })?;
    Ok(later(&format!("/dock/{}#kit", boat.id)))
}
