//! A class by the tape: what was measured on a boat becomes a class file, and the drawing grows as the numbers are typed.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse};
use boat::class::measured::{Kind, Made, Measured, MeasuredError, Place, Section, class_file, places};
use boat::class::{BoardKind, Class, Lead};
use boat::constants::Constants;
use boat::hull::HullForm;
use maud::{Markup, html};
use measure::fluid::Water;
use measure::quantity::Range;
use measure::{Length, Mass, Temperature};
use squad::fact::class_file::ClassFile;
use squad::{Edit, Moment};

use super::form::{Form, Wrong, told};
use super::units::{Units, rounded};
use super::yard::Yard;
use super::{Answer, Refusal, Sent, later, shell, whole};
use crate::briefing::day::shape;
use crate::day::Day;
use crate::drawing::lines::lines;

/// Stations there is room for. Five are enough; more follow a boat with a knuckle.
const STATIONS: usize = 7;
/// Crew, kg, by which the page says how deep she floats. Assumed: a child in the middle of those this program is for.
const ABOARD: f64 = 45.0;
/// What a tape may read on a boat, m.
const TAPE: Range = Range { what: "a measure", low: 0.0, high: 10.0, ..Length::RANGE };
/// What a scale may read, kg.
const SCALE: Range = Range { what: "a weight", low: 0.0, high: 300.0, ..Mass::RANGE };
/// What may be counted.
const COUNT: Range =
    Range { what: "a number", low: 1.0, high: 100.0, units: &[measure::quantity::Unit { names: &[""], factor: 1.0, offset: 0.0 }] };
/// The columns of a station: name of its field, heading, and the same in full.
const COLUMNS: [(&str, &str, &str); 6] = [
    ("x", "From transom", "distance from the transom"),
    ("side", "Sheer, across", "breadth at the sheer, from side to side"),
    ("bilge", "Chine, across", "breadth at the chine, from side to side"),
    ("keel", "Keel, up", "height of the keel from the floor"),
    ("chine", "Chine, up", "height of the chine from the floor"),
    ("sheer", "Sheer, up", "height of the sheer from the floor"),
];

/// Kinds of board, as they are called.
const BOARDS: [(BoardKind, &str); 3] =
    [(BoardKind::Leeboard, "leeboard"), (BoardKind::Daggerboard, "daggerboard"), (BoardKind::Centreboard, "centreboard")];

/// What was typed in other units, in those that are shown now.
fn converted(form: Form) -> Form {
    let (was, now) = (Units::named(form.text("units")), Units::now());
    if form.text("units").is_empty() || was == now {
        return form;
    }
    let masses = ["hull.weight", "hull.minimum_weight", "mast.load", "mast.rig_weight", "boom.weight"];
    let counts = ["name", "from", "units", "board.kind", "mast.adjuster.notches", "sheet.purchase"];
    let by = |name: &str| if masses.contains(&name) { was.mass().1 / now.mass().1 } else { was.short().1 / now.short().1 };
    let one = |(name, text): (String, String)| match text.trim().replace(',', ".").parse::<f64>() {
        Ok(value) if !counts.contains(&name.as_str()) => (name.clone(), rounded(value * by(&name), 1.0, 2)),
        _ => (name, text),
    };
    Form(form.0.into_iter().map(one).collect())
}

/// What was typed, and what of it cannot be used.
fn typed(form: &Form, other: &str, wrong: &mut Wrong) -> Result<Measured, Refusal> {
    let units = Units::now();
    let (short, mass) = (units.short().1, units.mass().1);
    let name = form.line("name", 60, wrong);
    let mut values = Vec::new();
    for (place, _) in places(other).map_err(|e| Refusal::unkept(&e.what))? {
        let value = match place.kind {
            Kind::Mass => form.number(place.key, &SCALE, mass, wrong),
            Kind::Count => form.number(place.key, &COUNT, 1.0, wrong),
            Kind::Length | Kind::Behind | Kind::Height => form.number(place.key, &TAPE, short, wrong),
        };
        values.extend(value.map(|v| (place.key, v)));
    }
    let mut sections = Vec::new();
    for k in 0..STATIONS {
        let [x, side, bilge, keel, chine, sheer] = COLUMNS.map(|(name, ..)| form.number(&format!("{name}{k}"), &TAPE, short, wrong));
        match (x, side, keel, sheer) {
            (Some(x), Some(sheer_breadth), Some(keel), Some(sheer)) => {
                sections.push(Section { x, sheer_breadth, chine: bilge.zip(chine), keel, sheer })
            }
            (None, None, None, None) if bilge.is_none() && chine.is_none() => {}
            _ => {
                let lacks = COLUMNS.iter().zip([x, side, Some(0.0), keel, Some(0.0), sheer]).filter(|(_, v)| v.is_none()).map(|(c, _)| c.2);
                wrong.push((format!("section {k}"), format!("lacks {}", lacks.collect::<Vec<_>>().join(", "))));
            }
        }
    }
    if form.text("name").is_empty() {
        wrong.push(("name".to_owned(), "type what the class is called".to_owned()));
    }
    let board = BOARDS.iter().find(|b| b.1 == form.text("board.kind")).map(|b| b.0);
    Ok(Measured { name: if name.is_empty() { "a measured boat".to_owned() } else { name }, values, sections, board })
}

/// The class file of what was typed.
fn made(form: &Form, other: &str, wrong: &mut Wrong) -> Result<Option<Made>, Refusal> {
    let measured = typed(form, other, wrong)?;
    let today = Moment::now().to_string();
    let from = Class::read(other, "").map_or(String::new(), |class| class.name);
    let note = format!(
        "{}, measured with a tape, {}. What was not measured is as on {from}.\nEvery number carries its unit; x counts from the transom forward, z from the lowest keel up, y from the centreline.",
        measured.name,
        today.get(..10).unwrap_or_default()
    );
    match class_file(&measured, other, &note) {
        Ok(made) => Ok(Some(made)),
        Err(MeasuredError { key, what }) => {
            wrong.push((key, what));
            Ok(None)
        }
    }
}

/// The page: what to begin from, or the form.
pub(super) async fn page(State(yard): State<Arc<Yard>>, Query(pairs): Query<Vec<(String, String)>>) -> Answer {
    let form = converted(Form(pairs));
    let Some(other) = yard.class_text(form.text("from"))? else { return beginnings(&yard, form.text("kept")) };
    show(&form, &other, &Wrong::new())
}

fn beginnings(yard: &Yard, kept: &str) -> Answer {
    let brought = yard.store()?.all::<ClassFile>()?;
    let body = html! { section.first {
        @if brought.iter().any(|file| file.fact.name == kept) { p.verdict { (kept) " is kept. " } p { "Choose it on " a href="/squad#boats" { "Squad" } " for her boats." } }
        p { "Stand a boat level on trestles, take a tape, a scale and somebody to write: an hour. What you do not measure stays as it is on a boat like her." }
        h2 { "Which boat is most like her?" }
        ul { @for class in yard.classes() { li { a href=(format!("/squad/class?from={}", encoded(&class.name))) { (class.name) } ": " (described(class)) } } }
    }
    @if !brought.is_empty() { section { h2 { "Class files kept here" }
        ul { @for file in &brought { li { a href=(format!("/squad/class/file?name={}", encoded(&file.fact.name))) { (file.fact.name) } } } }
        p.small { "Each is a text that commands read with " code { "--class" } ", and that another coach can bring in." }
    } } };
    Ok(whole("A class by the tape", html! { p { a href="/squad" { "Back to Squad" } } }, body))
}

/// What a class is, in a few words.
fn described(class: &Class) -> String {
    let board = BOARDS.iter().find(|b| b.0 == class.board.kind).map_or("", |b| b.1);
    let sprit = if class.sails.iter().any(|s| s.sprit.is_some()) { ", a sprit" } else { "" };
    let lead = if matches!(class.lead, Lead::Traveller { .. }) { ", a traveller" } else { "" };
    let vang = if class.vang.is_some() { ", a vang" } else { "" };
    format!("{:.2} m, a {board}{sprit}{lead}{vang}", class.hull.length)
}

fn encoded(text: &str) -> String {
    text.bytes().map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}

/// The drawing alone.
pub(super) async fn drawn(State(yard): State<Arc<Yard>>, Query(pairs): Query<Vec<(String, String)>>) -> Answer {
    let form = Form(pairs);
    let other = yard.class_text(form.text("from"))?.ok_or_else(|| Refusal::lost("There is no such class"))?;
    let mut wrong = Wrong::new();
    let made = made(&form, &other, &mut wrong)?;
    Ok(Html(drawing(made.as_ref(), &wrong).into_string()).into_response())
}

/// A place's name, or a station's, for a message.
fn called(key: &str) -> String {
    if let Some(k) = key.strip_prefix("section ").and_then(|k| k.parse::<usize>().ok()) {
        return format!("Station {}", k + 1);
    }
    let place = boat::class::measured::PLACES.iter().find(|p| p.key == key);
    place.map_or_else(|| if key == "name" { "The name".to_owned() } else { "The boat as a whole".to_owned() }, |p| p.name.to_owned())
}

/// The boat as far as she is measured, and what is wrong with it.
fn drawing(made: Option<&Made>, wrong: &Wrong) -> Markup {
    html! { div #drawn aria-live="polite" {
        @for (key, why) in wrong.iter().filter(|w| w.0 != "name") { p.wrong { b { (called(key)) ": " } (why) } }
        @if let Some(made) = made { (pictured(made)) } @else { p { "The drawing comes back when this is mended." } }
    } }
}

fn pictured(made: &Made) -> Markup {
    let class = &made.class;
    let units = Units::now();
    let water = Water::Fresh.at(Temperature::celsius(15.0));
    let level = HullForm::of(class, Constants::standard()).level(class.hull.mass + class.mast.rig_mass + ABOARD, water);
    let (unit, one) = units.short();
    let boat = Day::open(5.0).boat(class, None).ok();
    let draught = level.as_ref().map_or(0.1, |l| l.draught);
    html! {
        @if let Some(boat) = &boat {
            (shell::picture(&shape(boat, [0.0; boat::balance::CONTROLS], draught).from_the_side(90.0, 96.0, "The boat from the side, to scale, with the water where she floats.")))
        }
        (shell::picture(&lines(class, 100.0, "Her lines: from above, and her stations from behind and from before.")))
        dl {
            dt { "Sail" } dd { (rounded(boat.as_ref().map_or(0.0, |b| b.rig.geometry.area), units.long().1.powi(2), 2)) " square " (if units == Units::Us { "feet" } else { "metres" }) }
            @if let Some(level) = &level {
                dt { "Floats" } dd { (rounded(level.draught, one, 0)) " " (unit) " deep with hull, rig and " (rounded(ABOARD, units.mass().1, 0)) " " (units.mass().0) " aboard" }
            }
        }
        @if made.not_measured.is_empty() { p { b { "Every place is measured." } } }
        @else { p.small { (made.not_measured.len()) @if made.not_measured.len() == 1 { " place is" } @else { " places are" } " not measured yet." } }
    }
}

fn field(form: &Form, place: &Place, value: Option<f64>, wrong: &Wrong) -> Markup {
    let units = Units::now();
    let (unit, one, digits) = match place.kind {
        Kind::Mass => (units.mass().0, units.mass().1, 1),
        Kind::Count => ("", 1.0, 0),
        _ => (units.short().0, units.short().1, 1),
    };
    let there = value.map(|v| rounded(v, one, digits));
    html! { div {
        label for=(place.key) { (place.name) @if !unit.is_empty() { ", " (unit) } }
        input id=(place.key) name=(place.key) inputmode="decimal" autocomplete="off" value=(form.text(place.key)) placeholder=(there.unwrap_or_default()) aria-describedby=(format!("{}-how", place.key));
        small id=(format!("{}-how", place.key)) { (place.how) }
        (told(wrong, place.key))
    } }
}

fn show(form: &Form, other: &str, wrong: &Wrong) -> Answer {
    let known = places(other).map_err(|e| Refusal::unkept(&e.what))?;
    let begun = Class::read(other, "").map_err(|e| Refusal::unkept(&e.to_string()))?;
    let mut found = wrong.clone();
    let made = made(form, other, &mut found)?;
    // A page just opened complains of nothing.
    if wrong.is_empty() && form.0.len() < 2 {
        found.clear();
    }
    let unit = Units::now().short().0;
    let body = html! { form.measuring method="get" action="/squad/class" data-live="/squad/class/drawn" {
        input type="hidden" name="from" value=(form.text("from"));
        input type="hidden" name="units" value=(Units::now().name());
        section.first {
            div.fields { div { label for="name" { "What the class is called" } input #name name="name" maxlength="60" autocomplete="off" value=(form.text("name")); (told(wrong, "name")) } }
            p { "Lengths in " (unit) ". The pale numbers are those of " (begun.name) ", heights from her keel: they count where you type none." }
        }
        aside {
            (drawing(made.as_ref(), &found))
            p { button.second type="submit" { "Draw it" } " " button.tag type="submit" formmethod="post" { "Keep this class" } }
        }
        section {
            h2 { "Stations" }
            p { "Level her, keel down, and measure across at the transom, at the bow where she ends, and at three or more places between; from transom to bow. Heights are from the floor, trestles and all." }
            div.wide tabindex="0" role="region" aria-label="Stations" { table.stations { thead { tr { th { "Station" } @for column in COLUMNS { th { (column.1) } } } } tbody {
                @for k in 0..STATIONS { tr { th scope="row" { (k + 1) }
                    @for (name, _, full) in COLUMNS { td { input name=(format!("{name}{k}")) aria-label=(format!("Station {}, {full}, {unit}", k + 1)) inputmode="decimal" autocomplete="off" size="5" value=(form.text(&format!("{name}{k}"))); } }
                } }
            } } }
            @for (key, why) in wrong.iter().filter(|w| w.0.starts_with("section ")) { p.wrong role="alert" { (called(key)) ": " (why) } }
        }
        @for part in known.chunk_by(|a, b| a.0.part == b.0.part) { section {
            h2 { (part[0].0.part) }
            div.fields {
                @if part[0].0.part == "Board" { div { label for="board.kind" { "What it is" } select id="board.kind" name="board.kind" {
                    @for (kind, name) in BOARDS { option value=(name) selected[if form.text("board.kind").is_empty() { kind == begun.board.kind } else { form.text("board.kind") == name }] { (name) } }
                } } }
                @for (place, value) in part { (field(form, place, *value, wrong)) }
            }
        } }
        section { p { button.tag type="submit" formmethod="post" { "Keep this class" } } }
    } };
    let facts = html! { p { a href="/squad/class" { "Begin from another boat" } br; a href="/squad" { "Back to Squad" } } };
    Ok(whole("A class by the tape", facts, body))
}

/// The class is kept; one of the same name that was measured before gives way, and stays in the store's history.
pub(super) async fn keep(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let other = yard.class_text(form.text("from"))?.ok_or_else(|| Refusal::lost("There is no such class"))?;
    let mut wrong = Wrong::new();
    let made = made(&form, &other, &mut wrong)?;
    if Yard::own_class(form.text("name")) {
        wrong.push(("name".to_owned(), "a class of this name comes with the program: call yours something else".to_owned()));
    }
    if form.text("from") != form.text("name") && yard.store()?.class_named(form.text("name"))?.is_some() {
        wrong.push((
            "name".to_owned(),
            "a class of this name is kept already: begin from it to change it, or call this one something else".to_owned(),
        ));
    }
    let Some(made) = made.filter(|_| wrong.is_empty()) else { return show(&form, &other, &wrong) };
    let fact = ClassFile::of(&made.class.name, &made.text);
    {
        let mut store = yard.store()?;
        match store.class_named(&fact.name)? {
            Some(kept) => {
                if let Edit::Overtaken(_) = store.edit(kept.id, kept.version, &fact, &Yard::writer())? {
                    return Err(Refusal::unkept("Somebody kept a class of this name just now: go back and press the button again."));
                }
            }
            None => drop(store.add(&fact, &Yard::writer())?),
        }
    }
    yard.take_class(made.class);
    Ok(later(&format!("/squad/class?kept={}", encoded(&fact.name))))
}

/// A class file as a text.
pub(super) async fn file(State(yard): State<Arc<Yard>>, Query(pairs): Query<Vec<(String, String)>>) -> Answer {
    let form = Form(pairs);
    let kept = yard.store()?.class_named(form.text("name"))?.ok_or_else(|| Refusal::lost("There is no such class"))?;
    let head = [(header::CONTENT_TYPE, "text/plain; charset=utf-8"), (header::CONTENT_DISPOSITION, "attachment; filename=\"class.toml\"")];
    Ok((head, kept.fact.text).into_response())
}
