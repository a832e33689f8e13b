//! Who launches today, and in which order: kept for the day. Everything the pages list goes by it.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::State;
use maud::{Markup, html};
use squad::fact::boat_facts::Boat;
use squad::fact::day::{Crewed, Day as DayFact};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, SquadError, Store};

use super::yard::{Yard, today};
use super::{Answer, Sent, later, today as day_page, whole};

/// Sailor and boat, in the order they launch.
type Order = Vec<(Id<Sailor>, Id<Boat>)>;

/// Who launches today: as it was kept for the day, else everybody who has a boat and a body mass, by label.
fn kept(store: &Store) -> Result<Order, SquadError> {
    let squad = store.squad(Some(today()))?.value;
    let mut order = Order::new();
    for crew in &squad.crews {
        let sailor = store.sailor_labelled(&crew.sailor.label)?;
        order.extend(sailor.map(|s| s.id).zip(store.boat_labelled(&crew.boat.label)?.map(|b| b.id)));
    }
    Ok(order)
}

/// An order in a field: who looks at it says so when they change it.
fn seen(order: &Order) -> String {
    order.iter().map(|(sailor, _)| sailor.to_string()).collect::<Vec<_>>().join(" ")
}

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    show(&yard, false)
}

fn show(yard: &Yard, overtaken: bool) -> Answer {
    let (order, sailors, boats) = {
        let store = yard.store()?;
        (kept(&store)?, store.sailors()?, store.boats()?)
    };
    let seen = seen(&order);
    let boat = |id: Id<Boat>| boats.iter().find(|b| b.id == id).map_or("", |b| b.fact.label.as_str());
    let button = |sailor: Id<Sailor>, deed: &str, says: &str, label: &str| -> Markup {
        html! { form.inline method="post" action="/today/order" {
            input type="hidden" name="seen" value=(seen); input type="hidden" name="sailor" value=(sailor);
            button.second name="deed" value=(deed) { (says) span.unseen { ": " (label) } }
        } }
    };
    let ashore = sailors.iter().filter(|s| !order.iter().any(|o| o.0 == s.id));
    let body = html! {
        section.first {
            @if overtaken { p.wrong role="alert" { b { "Somebody changed the order while you were looking at it. " } "Nothing of yours was written. This is how it stands now." } }
            @if order.is_empty() { h2 { "Nobody launches yet" } p { "A sailor with a boat and a body mass does." } p { a.tag href="/squad" { "Add a sailor" } } }
            @else { table { thead { tr { td {} th { "Sailor, boat" } th { "Move" } } } tbody {
                @for (k, (id, hull)) in order.iter().enumerate() {
                    @let label = sailors.iter().find(|s| s.id == *id).map_or("", |s| s.fact.label.as_str());
                    tr {
                        td.quiet { span.name { (k + 1) } }
                        td { span.name { (label) } br; small { (boat(*hull)) } }
                        td.deeds { @if k > 0 { (button(*id, "up", "Up", label)) } @if k + 1 < order.len() { (button(*id, "down", "Down", label)) } (button(*id, "out", "Not today", label)) }
                    }
                }
            } } }
            p { a.second href="/today" { "Back to today" } }
        }
        section {
            h2 { "Not today" }
            table { tbody { @for sailor in ashore.clone() { tr {
                td { span.name { (sailor.fact.label) } br; small { (sailor.fact.boat.map_or("", boat)) } }
                td { @if sailor.fact.boat.is_none() || sailor.fact.mass_kg.is_none() { span.quiet { "needs a boat and a body mass" } } @else { (button(sailor.id, "in", "Launches too", &sailor.fact.label)) } }
            } } } }
            @if ashore.count() == 0 { p { "Everybody launches." } }
        }
    };
    Ok(whole("Launch order", html! { p { (order.len()) " launch" } }, body))
}

/// One is moved.
pub(super) async fn write(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let day = yard.this_day()?;
    let Ok(sailor) = form.text("sailor").parse::<Id<Sailor>>() else { return show(&yard, true) };
    {
        let mut store = yard.store()?;
        let mut order = kept(&store)?;
        if form.text("seen") != seen(&order) {
            drop(store);
            return show(&yard, true);
        }
        let at = order.iter().position(|o| o.0 == sailor);
        match (form.text("deed"), at) {
            ("up", Some(k)) if k > 0 => order.swap(k, k - 1),
            ("down", Some(k)) if k + 1 < order.len() => order.swap(k, k + 1),
            ("out", Some(k)) => drop(order.remove(k)),
            ("in", None) => order.extend(store.get(sailor)?.and_then(|s| Some((sailor, s.fact.boat?)))),
            _ => {}
        }
        store.whole(|store| put(store, &day, &order))?;
    }
    day_page::begin(&yard)?;
    Ok(later("/today/order"))
}

/// Writes an order where it differs from what is kept.
fn put(store: &mut Store, day: &Kept<DayFact>, order: &Order) -> Result<(), SquadError> {
    let writer = Yard::writer();
    let mut there: BTreeMap<Id<Sailor>, Kept<Crewed>> = BTreeMap::new();
    for kept in store.crews_of(day.id)? {
        there.insert(kept.fact.sailor, kept);
    }
    for (k, &(sailor, boat)) in order.iter().enumerate() {
        let fact = Crewed { day: day.id, sailor, boat, launch_order: u32::try_from(k + 1).ok() };
        match there.remove(&sailor) {
            Some(kept) if kept.fact == fact => {}
            Some(kept) => drop(store.edit(kept.id, kept.version, &fact, &writer)?.kept()),
            None => drop(store.add(&fact, &writer)?),
        }
    }
    for gone in there.into_values() {
        let _ = store.withdraw(gone.id, gone.version, &writer)?;
    }
    Ok(())
}
