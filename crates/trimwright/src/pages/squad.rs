//! The Squad page: who sails what. Body masses stay under a cover until somebody asks, and then for two minutes.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use boat::crew::Skill;
use maud::{Markup, html};
use measure::quantity::{KNOT, Range, plain};
use measure::{Length, Mass, counted};
use squad::fact::LONGEST_LABEL;
use squad::fact::boat_facts::Boat;
use squad::fact::sailor::Sailor;
use squad::{Edit, HiddenMass, Id, Kept, SquadError, Store};

use super::enter;
use super::form::{Form, Wrong, told};
use super::units::{Units, rounded};
use super::yard::Yard;
use super::{Answer, Refusal, Sent, later, whole};

/// A mass alone above this is asked about: a child's pounds look like it, kg.
const ASKED_ABOVE: f64 = 80.0;

/// The list.
pub(super) async fn list(State(yard): State<Arc<Yard>>) -> Answer {
    listed(&yard, &Form::default(), &Wrong::new())
}

fn listed(yard: &Yard, form: &Form, wrong: &Wrong) -> Answer {
    let (sailors, boats) = {
        let store = yard.store()?;
        (store.sailors()?, store.boats()?)
    };
    let sailed = yard.classes_sailed()?;
    let shown = yard.shows_masses();
    let units = Units::now();
    let label = |id: Option<Id<Boat>>| id.and_then(|id| boats.iter().find(|b| b.id == id)).map(|b| b.fact.label.clone());
    let facts =
        html! { p { (counted(sailors.len(), "sailor")) ", " (counted(boats.len(), "boat")) @for class in &sailed { br; (class.name) } } };
    let body = html! {
        section.first {
            @if sailors.is_empty() {
                h2 { "No sailors yet" }
                p { "A sailor needs a label, a boat and a body mass. The rest can wait." }
                p { a.tag href="/squad/sailor/new" { "Add a sailor" } }
            } @else {
                p {
                    a.tag href="/squad/sailor/new" { "Add a sailor" } " "
                    @if shown { form.inline method="post" action="/squad/cover" { button.second { "Cover the body masses" } } }
                    @else { form.inline method="post" action="/squad/show" { button.second { "Show body mass for two minutes" } } }
                }
                table {
                    thead { tr { th { "Sailor" } th { "Sails" } th.hide-narrow { "Skill" } th.number.hide-narrow { "Hand" } th { "Body mass" } td {} } }
                    tbody {
                        @for sailor in &sailors {
                            tr {
                                td { span.name { (sailor.fact.label) } }
                                td { (label(sailor.fact.boat).unwrap_or_else(|| "no boat yet".to_owned())) }
                                td.hide-narrow { (sailor.fact.skill.words()) }
                                td.number.hide-narrow { @match sailor.fact.hand_m { Some(hand) => { (rounded(hand, units.short().1, if units == Units::Us { 1 } else { 0 })) " " (units.short().0) }, None => { "not measured" } } }
                                td { @if sailor.fact.mass_kg.is_none() { "not known" } @else if shown { (rounded(sailor.fact.mass_kg.map_or(0.0, HiddenMass::in_kilograms), units.mass().1, 1)) " " (units.mass().0) } @else { span.cover role="img" aria-label="covered" {} } }
                                td { a href=(format!("/squad/sailor/{}", sailor.id)) { "Open" span.unseen { " " (sailor.fact.label) } } }
                            }
                        }
                    }
                }
                p.small { "Body mass stays on this machine, is never printed and never sorted by." }
            }
        }
        section #boats {
            h2 { "Boats" }
            table { tbody { @for boat in &boats {
                tr { td { span.name { (boat.fact.label) } } @if sailed.len() > 1 { td.hide-narrow { (yard.class_of(boat.fact.class.as_deref()).name) } } td { a href=(format!("/dock/{}", boat.id)) { "Measure and weigh" span.unseen { " " (boat.fact.label) } } } td { a href=(format!("/squad/boat/{}", boat.id)) { "Base setup" span.unseen { " of " (boat.fact.label) } } } }
            } } }
            form.fields method="post" action="/squad/boat" {
                div { label for="label" { "A new boat's label" } input #label name="label" maxlength="24" required value=(form.text("label")); (told(wrong, "label")) }
                div { label for="class" { "Her class" } select #class name="class" { @for class in yard.classes() { option value=(class.name) selected[form.text("class") == class.name] { (class.name) } } } }
                div { button.second { "Add this boat" } }
            }
            p { a href="/squad/class" { "A class that is not in this list: measure a boat with a tape" } }
        }
    };
    Ok(whole("Squad", facts, body))
}

/// Masses are shown for a while, to whoever sits at this machine.
pub(super) async fn show(State(yard): State<Arc<Yard>>) -> Answer {
    if !enter::at_home() {
        return Err(Refusal::unkept("Masses are shown on the coach's own machine alone: over the network others could read them."));
    }
    yard.show_masses();
    Ok(later("/squad"))
}

/// Masses are covered.
pub(super) async fn cover(State(yard): State<Arc<Yard>>) -> Response {
    yard.cover_masses();
    later("/squad")
}

/// A new boat.
pub(super) async fn add_boat(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let mut wrong = Wrong::new();
    let label = form.line("label", LONGEST_LABEL, &mut wrong);
    if wrong.is_empty() {
        let class = yard.class_of(Some(form.text("class")));
        let boat = Boat { label, class: Some(class.name.clone()) };
        match yard.store()?.add(&boat, &Yard::writer()) {
            Ok(_) => return Ok(later("/squad")),
            Err(SquadError::Refused { what }) => wrong.push(("label".to_owned(), what)),
            Err(error) => return Err(error.into()),
        }
    }
    listed(&yard, &form, &wrong)
}

/// A sailor's form.
pub(super) async fn sailor(State(yard): State<Arc<Yard>>, Path(id): Path<String>) -> Answer {
    let store = yard.store()?;
    if id == "new" {
        return Ok(whole("A new sailor", html! {}, fields(&store, None, &Form::default(), &Wrong::new(), None)?));
    }
    let kept = found(&store, &id)?;
    let form = filled(&kept, yard.shows_masses());
    Ok(whole(&kept.fact.label, html! {}, fields(&store, Some(&kept), &form, &Wrong::new(), None)?))
}

fn found(store: &Store, id: &str) -> Result<Kept<Sailor>, Refusal> {
    let id: Id<Sailor> = id.parse().map_err(|_| Refusal::lost("There is no such sailor"))?;
    store.get(id)?.filter(|s| !s.withdrawn).ok_or_else(|| Refusal::lost("There is no such sailor"))
}

/// What stands in the store, as a form has it. A mass is filled in only while masses are shown; an empty one stays what it was.
fn filled(kept: &Kept<Sailor>, shown: bool) -> Form {
    let s = &kept.fact;
    let units = Units::now();
    let short = |v: Option<f64>| v.map_or(String::new(), |v| rounded(v, units.short().1, 1));
    let mut list = vec![
        ("label", s.label.clone()),
        ("name", s.name.clone().unwrap_or_default()),
        ("stature", short(s.stature_m)),
        ("hand", short(s.hand_m)),
        ("skill", s.skill.words().to_owned()),
        ("sail", s.sail.clone().unwrap_or_default()),
        ("boat", s.boat.map_or(String::new(), |b| b.to_string())),
    ];
    if shown {
        list.push(("mass", s.mass_kg.map_or(String::new(), |m| rounded(m.in_kilograms(), units.mass().1, 1))));
    }
    Form(list.into_iter().map(|(k, v)| (k.to_owned(), v)).collect())
}

fn fields(
    store: &Store,
    kept: Option<&Kept<Sailor>>,
    form: &Form,
    wrong: &Wrong,
    theirs: Option<&Kept<Sailor>>,
) -> Result<Markup, Refusal> {
    let boats = store.boats()?;
    let address = kept.map_or("/squad/sailor/new".to_owned(), |k| format!("/squad/sailor/{}", k.id));
    let version = theirs.or(kept).map_or(0, |k| k.version);
    let skill = if form.text("skill").is_empty() { Skill::default().words() } else { form.text("skill") };
    let box_of = |name: &str, says: &str, hint: &str, least: bool| {
        html! { div { label for=(name) { (says) } input id=(name) name=(name) value=(form.text(name)) required[least] aria-describedby=(format!("{name}-hint")) autocomplete="off"; small id=(format!("{name}-hint")) { (hint) } (told(wrong, name)) } }
    };
    let units = Units::now();
    let given = match kept {
        Some(kept) => store.setups_given_to(kept.id)?,
        None => Vec::new(),
    };
    Ok(html! {
        @if let Some(theirs) = theirs {
            section.first { div.wrong role="alert" {
                p { b { "Somebody changed " (theirs.fact.label) " while you were typing. Nothing of yours was written." } }
                p { "Now it says: " (theirs.fact.skill.words()) @if let Some(name) = &theirs.fact.name { ", " (name) } ". What you typed stands below: press the button again to write it over theirs." }
            } }
        }
        section.first {
            form method="post" action=(address) {
                input type="hidden" name="version" value=(version);
                div.fields {
                    (box_of("label", "Label", "What a card shows. It need not be a name.", true))
                    (box_of("name", "Name", "Only where you want it kept.", false))
                    div { label for="boat" { "Boat" } select #boat name="boat" {
                        option value="" { "none yet" }
                        @for boat in &boats { option value=(boat.id) selected[form.text("boat") == boat.id.to_string()] { (boat.fact.label) } } } (told(wrong, "boat")) }
                    div { label for="skill" { "Skill" } select #skill name="skill" {
                        @for one in Skill::ALL { option value=(one.words()) selected[one.words() == skill] { (one.words()) } } } }
                }
                div.fields {
                    (box_of("mass", &format!("Body mass, {}", units.mass().0), if kept.is_some() { "Dressed to sail. Leave it empty to keep what is known." } else { "Dressed to sail; also with its unit, like \"93 lb\"." }, false))
                    (box_of("stature", &format!("Stature, {}", units.short().0), "Empty: that of children of this mass.", false))
                    (box_of("hand", &format!("Hand, {}", units.short().0), "From the wrist crease to the tip of the middle finger.", false))
                    (box_of("sail", "Sail", "Empty: the class's usual one.", false))
                }
                p { button.tag type="submit" { @if kept.is_some() { "Keep this sailor" } @else { "Add this sailor" } } " " a.second href="/squad" { "Back to the squad" } }
            }
        }
        @if let Some(last) = given.last() { section {
            h2 { "The last card" }
            p { (last.fact.at.to_string().chars().take(10).collect::<String>()) ", " (rounded(last.fact.wind_ms, KNOT, 1)) " knots at " (rounded(last.fact.height_m, units.long().1, 1)) " " (units.long().0) ": " b { (last.fact.sit) } @for (gauge, si) in &last.fact.settings { ", " (advice::dock::name(*gauge)) " " (units.shown(*gauge, *si)) } "." }
        } }
    })
}

/// A sailor is written.
pub(super) async fn write(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let units = Units::now();
    let mut store = yard.store()?;
    let kept = if id == "new" { None } else { Some(found(&store, &id)?) };
    let mut wrong = Wrong::new();
    let label = form.line("label", LONGEST_LABEL, &mut wrong);
    if label.is_empty() {
        wrong.push(("label".to_owned(), "type what the coach calls this sailor, like Mika".to_owned()));
    }
    let name = Some(form.line("name", 80, &mut wrong)).filter(|n| !n.is_empty());
    let mass = form.number("mass", &Mass::RANGE, units.mass().1, &mut wrong);
    let typed_alone = units == Units::Metric && form.text("mass").replace(',', ".").parse::<f64>().is_ok();
    if let Some(mass) = mass.filter(|m| typed_alone && *m > ASKED_ABOVE) {
        let m = plain(mass);
        wrong.push(("mass".to_owned(), format!("kilograms or pounds? Type \"{m} kg\" or \"{m} lb\"")));
    } else if let Some(mass) = mass.filter(|m| !(20.0..=110.0).contains(m)) {
        wrong.push(("mass".to_owned(), format!("{} kg is no sailor: type 20 to 110 kg, like 42", plain((mass * 10.0).round() / 10.0))));
    }
    let stature = form.number("stature", &Range { what: "a stature", low: 1.0, high: 2.1, ..Length::RANGE }, units.short().1, &mut wrong);
    let hand = form.number("hand", &Range { what: "a hand", low: 0.10, high: 0.24, ..Length::RANGE }, units.short().1, &mut wrong);
    let skill = Skill::named(form.text("skill")).unwrap_or_default();
    let class = form.text("boat").parse::<Id<Boat>>().ok().and_then(|id| store.get(id).ok().flatten()).and_then(|b| b.fact.class);
    let class = yard.class_of(class.as_deref());
    let sail = Some(form.line("sail", 40, &mut wrong)).filter(|s| !s.is_empty());
    if let Some(sail) = sail.as_ref().filter(|s| !class.sails.iter().any(|known| &known.name == *s)) {
        let names: Vec<_> = class.sails.iter().map(|s| s.name.as_str()).collect();
        wrong.push(("sail".to_owned(), format!("the class has no sail \"{sail}\": it has {}", names.join(", "))));
    }
    let boat = match form.text("boat") {
        "" => None,
        text => match text.parse::<Id<Boat>>().ok().filter(|id| store.get(*id).is_ok_and(|b| b.is_some())) {
            Some(id) => Some(id),
            None => {
                wrong.push(("boat".to_owned(), "that boat is not in the store: choose one".to_owned()));
                None
            }
        },
    };
    let mass_kg = mass.map(HiddenMass::kilograms).or_else(|| kept.as_ref().and_then(|k| k.fact.mass_kg));
    let fact = Sailor { label, name, mass_kg, stature_m: stature, hand_m: hand, skill, sail, boat };
    let title = kept.as_ref().map_or("A new sailor".to_owned(), |k| k.fact.label.clone());
    if !wrong.is_empty() {
        return Ok(whole(&title, html! {}, fields(&store, kept.as_ref(), &form, &wrong, None)?));
    }
    let written = match &kept {
        None => store.add(&fact, &Yard::writer()).map(|_| None),
        Some(kept) => {
            let version = form.text("version").parse().unwrap_or(0);
            store.edit(kept.id, version, &fact, &Yard::writer()).map(|edit| match edit {
                Edit::Written(_) => None,
                Edit::Overtaken(theirs) => Some(theirs),
            })
        }
    };
    match written {
        Ok(None) => Ok(later("/squad")),
        Ok(Some(theirs)) => Ok(whole(&title, html! {}, fields(&store, kept.as_ref(), &form, &wrong, Some(&theirs))?).into_response()),
        Err(SquadError::Refused { what }) => {
            let wrong = vec![("label".to_owned(), what)];
            Ok(whole(&title, html! {}, fields(&store, kept.as_ref(), &form, &wrong, None)?))
        }
        Err(error) => Err(error.into()),
    }
}
