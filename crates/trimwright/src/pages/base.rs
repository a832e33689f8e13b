//! A boat's base setup, which her coach trusts, and her pen lines.
//!
//! An emptied field takes a base setting back. Two who write at once: the second is told, field by field, and nothing is lost.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::{Path, State};
use boat::class::Class;
use boat::gauge::{Gauge, GaugeUnit};
use maud::{Markup, html};
use measure::quantity::{Range, plain};
use measure::{Angle, Length};
use squad::fact::boat_facts::{BaseSetting, Boat, PenLine};
use squad::{Edit, Id, Kept, Moment};

use super::form::{Form, Wrong, told};
use super::units::Units;
use super::what_if::names;
use super::yard::Yard;
use super::{Answer, Refusal, Sent, dock, later, whole};

/// Gauges of the class that a tape or a hand sets.
fn set_by_hand(class: &Class) -> impl Iterator<Item = Gauge> {
    let has = |gauge: &Gauge| gauge.unit() != GaugeUnit::OnOff && class.gauges.iter().any(|d| d.gauge == *gauge);
    Gauge::ALL.into_iter().filter(has)
}

fn shown(units: Units, base: &BTreeMap<Gauge, f64>, gauge: Gauge) -> String {
    base.get(&gauge).map_or(String::new(), |si| plain(units.written(gauge, *si)))
}

/// A setting as it was typed, SI; told where the boat cannot have it.
pub(super) fn setting(class: &Class, form: &Form, name: &str, gauge: Gauge, units: Units, wrong: &mut Wrong) -> Option<f64> {
    let one = units.setting(gauge).1;
    let value = match gauge.unit() {
        GaugeUnit::Degrees => form.number(name, &Range { what: "an angle", ..Angle::RANGE }, one, wrong),
        _ => form.number(name, &Range { what: "a reading", low: -20.0, high: 20.0, ..Length::RANGE }, one, wrong),
    }?;
    let ashore = crate::day::Day::open(5.0).boat(class, None).ok()?;
    match ashore.set(&mut [0.0; boat::balance::CONTROLS], &[(gauge, value)]) {
        Ok(_) => Some(value),
        Err(error) => {
            wrong.push((name.to_owned(), error.to_string()));
            None
        }
    }
}

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>, Path(id): Path<String>) -> Answer {
    let boat = dock::found(&yard, &id)?;
    let class = yard.class_of(boat.fact.class.as_deref());
    let units = Units::now();
    let base = yard.store()?.base_setup_of(boat.id, Moment::now())?;
    let form = Form(set_by_hand(class).map(|gauge| (gauge.name().to_owned(), shown(units, &base, gauge))).collect());
    show(&yard, &boat, &form, &Wrong::new(), false)
}

fn show(yard: &Yard, boat: &Kept<Boat>, form: &Form, wrong: &Wrong, overtaken: bool) -> Answer {
    let class = yard.class_of(boat.fact.class.as_deref());
    let units = Units::now();
    let base = yard.store()?.base_setup_of(boat.id, Moment::now())?;
    let body = html! {
        section.first {
            @if overtaken && !form.ticked("class") { p.wrong role="alert" { b { "Somebody changed this base setup while you were typing. Nothing of yours was written. " }
                "Now it says: " @for (gauge, si) in &base { (names(&yard.words, *gauge).0) " " (units.shown(*gauge, *si)) "; " }
                "what you typed stands below: press the button again to write it over theirs." } }
            p { "What you trust on this boat in a wind of 10 knots. Today's settings start from it; a field left empty rests on the model." }
            form method="post" action=(format!("/squad/boat/{}", boat.id)) {
                div.fields { @for gauge in set_by_hand(class) {
                    @let name = gauge.name();
                    @let (says, from) = names(&yard.words, gauge);
                    div { label for=(name) { (says) ", " (units.setting(gauge).0) }
                        input type="hidden" name=(format!("was.{name}")) value=(shown(units, &base, gauge));
                        input id=(name) name=(name) inputmode="decimal" autocomplete="off" value=(form.text(name)) aria-describedby=(format!("{name}-from"));
                        small id=(format!("{name}-from")) { (from) } (told(wrong, name)) }
                } }
                p { button.tag type="submit" { "Keep this base setup" } " " a.second href="/squad" { "Back to the squad" } }
            }
        }
        (pen_lines(yard, boat, form, wrong)?)
        section {
            h2 { "Her class" }
            @if form.ticked("class") && overtaken { p.wrong role="alert" { b { "Somebody changed her class meanwhile: it stands below." } } }
            form.fields method="post" action=(format!("/squad/boat/{}/class", boat.id)) {
                input type="hidden" name="version" value=(boat.version);
                div { label for="class" { "Class" } select #class name="class" { @for one in yard.classes() { option value=(one.name) selected[one.name == class.name] { (one.name) } } } }
                div { button.second { "Keep this class" } }
            }
        }
    };
    Ok(whole(
        &format!("{}: base setup", boat.fact.label),
        html! { p { a href=(format!("/dock/{}", boat.id)) { "Measure and weigh" } } },
        body,
    ))
}

fn pen_lines(yard: &Yard, boat: &Kept<Boat>, form: &Form, wrong: &Wrong) -> Result<Markup, Refusal> {
    let class = yard.class_of(boat.fact.class.as_deref());
    let units = Units::now();
    let lines = yard.store()?.pen_lines_of(boat.id)?;
    Ok(html! { section {
        h2 { "Pen lines" }
        @if lines.is_empty() { p { "None is known. A line of pen or tape on the boat says where a setting stands: draw one, and write it down here." } }
        @else { table { thead { tr { th { "Line" } th.number { "Stands for" } th { "Where, and how it looks" } td {} } } tbody { @for line in &lines { tr {
            td { span.name { (names(&yard.words, line.fact.gauge).0) } }
            td.number { (units.shown(line.fact.gauge, line.fact.setting)) }
            td { (line.fact.words) }
            td { form.inline method="post" action=(format!("/squad/boat/{}/gone", boat.id)) {
                input type="hidden" name="line" value=(line.id); input type="hidden" name="version" value=(line.version);
                button.second { "Rubbed out" span.unseen { ": " (line.fact.words) } } } }
        } } } } }
        form method="post" action=(format!("/squad/boat/{}/line", boat.id)) {
            div.fields {
                div { label for="gauge" { "What it stands for" } select #gauge name="gauge" { @for gauge in set_by_hand(class) {
                    option value=(gauge.name()) selected[form.text("gauge") == gauge.name()] { (names(&yard.words, gauge).0) ", " (units.setting(gauge).0) } } } (told(wrong, "gauge")) }
                div { label for="at" { "Setting at the line" } input #at name="at" inputmode="decimal" autocomplete="off" value=(form.text("at")); (told(wrong, "at")) }
                div { label for="words" { "Where, and how it looks" } input #words name="words" maxlength="200" value=(form.text("words")); (told(wrong, "words")) }
                div { button.second { "Keep this line" } }
            }
        }
    } })
}

/// The base setup is written: what was changed here, and only that.
pub(super) async fn write(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = dock::found(&yard, &id)?;
    let class = yard.class_of(boat.fact.class.as_deref());
    let units = Units::now();
    let mut wrong = Wrong::new();
    let base = yard.store()?.base_setup_of(boat.id, Moment::now())?;
    let mut put = Vec::new();
    let mut overtaken = false;
    for gauge in set_by_hand(class).filter(|gauge| !form.left(gauge.name())) {
        overtaken |= form.text(&format!("was.{}", gauge.name())) != shown(units, &base, gauge);
        put.push((gauge, setting(class, &form, gauge.name(), gauge, units, &mut wrong)));
    }
    if overtaken || !wrong.is_empty() {
        return show(&yard, &boat, &form, &wrong, overtaken);
    }
    let writer = Yard::writer();
    let mut store = yard.store()?;
    for (gauge, value) in put {
        match value {
            Some(setting) => drop(store.add(&BaseSetting { boat: boat.id, at: Moment::now(), gauge, setting }, &writer)?),
            None => {
                let there: Vec<Kept<BaseSetting>> = store.of(boat.id)?;
                for old in there.into_iter().filter(|b| b.fact.gauge == gauge) {
                    let _ = store.withdraw(old.id, old.version, &writer)?;
                }
            }
        }
    }
    Ok(later(&format!("/squad/boat/{}", boat.id)))
}

/// Another class is hers: one that was measured after she was written down.
pub(super) async fn reclass(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = dock::found(&yard, &id)?;
    let version = form.text("version").parse().unwrap_or(boat.version);
    let class = yard.class_of(Some(form.text("class"))).name.clone();
    let edit = yard.store()?.edit(boat.id, version, &Boat { class: Some(class), ..boat.fact }, &Yard::writer())?;
    match edit {
        Edit::Written(_) => Ok(later(&format!("/squad/boat/{id}"))),
        Edit::Overtaken(now) => show(&yard, &now, &form, &Wrong::new(), true),
    }
}

/// A pen line is written.
pub(super) async fn draw(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = dock::found(&yard, &id)?;
    let class = yard.class_of(boat.fact.class.as_deref());
    let mut wrong = Wrong::new();
    let words = form.line("words", 200, &mut wrong);
    let gauge = set_by_hand(class).find(|gauge| gauge.name() == form.text("gauge"));
    let mut value = None;
    match gauge {
        Some(gauge) => value = setting(class, &form, "at", gauge, Units::now(), &mut wrong),
        None => wrong.push(("gauge".to_owned(), "choose what the line stands for".to_owned())),
    }
    let (Some(gauge), Some(setting)) = (gauge, value) else {
        if wrong.is_empty() {
            wrong.push(("at".to_owned(), "type the setting at the line, like 12".to_owned()));
        }
        return show(&yard, &boat, &form, &wrong, false);
    };
    if !wrong.is_empty() {
        return show(&yard, &boat, &form, &wrong, false);
    }
    yard.store()?.add(&PenLine { boat: boat.id, at: Moment::now(), gauge, words, setting }, &Yard::writer())?;
    Ok(later(&format!("/squad/boat/{}", boat.id)))
}

/// A pen line is no longer there; it stays known that it was.
pub(super) async fn rub_out(State(yard): State<Arc<Yard>>, Path(id): Path<String>, Sent(form): Sent) -> Answer {
    let boat = dock::found(&yard, &id)?;
    let line: Id<PenLine> = form.text("line").parse().map_err(|_| Refusal::lost("There is no such line"))?;
    let mut store = yard.store()?;
    if store.get(line)?.is_none_or(|l| l.fact.boat != boat.id) {
        return Err(Refusal::lost("There is no such line"));
    }
    let _ = store.withdraw(line, form.text("version").parse().unwrap_or(0), &Yard::writer())?;
    Ok(later(&format!("/squad/boat/{}", boat.id)))
}
