//! The tally on paper: a form to print, and the page on which what was written on it is typed back.

use std::sync::Arc;

use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use maud::html;
use sha2::{Digest, Sha256};
use squad::fact::outing::{Outing, Tally, Way};
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment, SquadError, Writer};

use super::super::form::{Form, Wrong, told};
use super::super::yard::{Yard, today};
use super::super::{Answer, Refusal, Sent, later, whole};
use super::{listed, notes, zone};
use crate::briefing::debrief::clock;
use crate::cards::tally_pdf;

/// The columns of the form, and what each says.
const COLUMNS: [(&str, Way, &str); 4] =
    [("out1", Way::Out, "Out"), ("in1", Way::In, "In"), ("out2", Way::Out, "Out again"), ("in2", Way::In, "In again")];
/// How a word from paper begins in the list of who said it.
const BY: &str = "paper";

/// The form to print.
pub(in super::super) async fn pdf(State(yard): State<Arc<Yard>>) -> Answer {
    let rows: Vec<_> = listed(&yard)?.into_iter().filter(|s| s.today).map(|s| (s.label, s.boat)).collect();
    let title = format!("Tally, {}", today().0.strftime("%-d %B"));
    let ratio = yard.sailors_per_safety_boat()?.map_or(String::new(), |n| format!("At most {n} to a safety boat."));
    let bytes = tally_pdf(&title, &ratio, &rows).map_err(|error| Refusal::because("That was not printed", &error.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "application/pdf"), (header::CONTENT_DISPOSITION, "inline; filename=\"tally.pdf\"")], bytes)
        .into_response())
}

/// What was typed from paper before, by sailor, in time's order.
fn typed(yard: &Yard, outing: Option<Id<Outing>>) -> Result<Vec<Kept<Tally>>, SquadError> {
    let Some(outing) = outing else { return Ok(Vec::new()) };
    Ok(yard.store()?.of::<Tally, _>(outing)?.into_iter().filter(|t| t.edited_by.starts_with(BY)).collect())
}

/// The page to type it back.
pub(in super::super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    let outing = notes::latest(&*yard.store()?)?;
    let zone = zone(&yard)?;
    let mut fields = Vec::new();
    for word in typed(&yard, outing)? {
        let sailor = word.fact.sailor.to_string();
        let of_way = COLUMNS.iter().filter(|c| c.1 == word.fact.way).map(|c| format!("{}.{sailor}", c.0));
        if let Some(free) = of_way.into_iter().find(|name| !fields.iter().any(|f: &(String, String)| f.0 == *name)) {
            fields.push((free, clock(word.fact.at.timestamp().as_second() as f64, &zone, "%H:%M")));
        }
        if !word.fact.safety_boat.is_empty() {
            fields.push((format!("boat.{sailor}"), word.fact.safety_boat));
        }
    }
    show(&yard, &Form(fields), &Wrong::new())
}

fn show(yard: &Yard, form: &Form, wrong: &Wrong) -> Answer {
    let list: Vec<_> = listed(yard)?.into_iter().filter(|s| s.today || form.0.iter().any(|f| f.0.ends_with(&s.id.to_string()))).collect();
    let body = html! { section.first {
        p { "Type the clock times as they stand on the paper, like 13:05; leave empty what is empty. Type it again, and what you typed before is put right." }
        form method="post" action="/afloat/paper" {
            div.fields { div { label for="by" { "Who wrote the paper" } input #by name="by" maxlength="24" value=(form.text("by")); } }
            div.wide.paper tabindex="0" role="region" aria-label="The paper" { table {
                thead { tr { th { "Sailor" } @for (_, _, says) in COLUMNS { th { (says) } } th { "Safety boat" } } }
                tbody { @for s in &list { tr {
                    td { (s.label) }
                    @for (name, _, says) in COLUMNS { @let field = format!("{name}.{}", s.id); td { input name=(field) aria-label=(format!("{}, {says}", s.label)) size="5" autocomplete="off" value=(form.text(&field)); (told(wrong, &field)) } }
                    td { @let field = format!("boat.{}", s.id); input name=(field) aria-label=(format!("{}, safety boat", s.label)) maxlength="60" value=(form.text(&field)); }
                } } }
            } }
            p { button.tag { "Keep the paper's tally" } " " a.second href="/afloat" { "Back to the tally" } }
        }
    } };
    Ok(whole("Afloat", html! { p { "From paper" } }, body))
}

/// The paper is typed back: what was typed before and is typed no more is taken back, with its history.
pub(in super::super) async fn write(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let zone = zone(&yard)?;
    let mut wrong = Wrong::new();
    let by = form.line("by", 24, &mut wrong);
    let writer = Writer::now(&if by.is_empty() { BY.to_owned() } else { format!("{BY}, {by}") });
    let mut words: Vec<(Id<Sailor>, Way, Moment, String)> = Vec::new();
    for s in listed(&yard)? {
        let boat = form.line(&format!("boat.{}", s.id), 60, &mut wrong);
        for (name, way, _) in COLUMNS {
            let field = format!("{name}.{}", s.id);
            let text = form.text(&field);
            if text.is_empty() {
                continue;
            }
            let time = text.replace('.', ":").parse::<jiff::civil::Time>().ok();
            let at = time.and_then(|t| today().0.to_datetime(t).to_zoned_datetime(zone.clone()).ok()).map(|z| Moment::of(z.timestamp()));
            match at {
                Some(at) => words.push((s.id, way, at, if way == Way::Out { boat.clone() } else { String::new() })),
                None => wrong.push((field, "type a time like 13:05".to_owned())),
            }
        }
    }
    if !wrong.is_empty() {
        return show(&yard, &form, &wrong);
    }
    if words.is_empty() {
        return Err(Refusal::unkept("Type at least one time from the paper."));
    }
    let mut store = yard.store()?;
    let outing = notes::outing_of(&mut store, None, today(), words[0].2, &writer)?;
    let mut kept = Vec::new();
    for (sailor, way, at, safety_boat) in words {
        // The same line typed twice is one.
        let line = format!("{BY} {outing} {sailor} {way:?} {at}");
        let digest = Sha256::digest(line.as_bytes());
        let bits = digest.iter().take(16).fold(0_u128, |bits, byte| bits << 8 | u128::from(*byte));
        let id = Id::<Tally>::of(bits);
        let fact = Tally { outing, sailor, at, way, safety_boat };
        match store.get(id)? {
            None => drop(store.add_as(id, &fact, &writer)?),
            Some(old) if old.withdrawn || old.fact != fact => drop(store.edit(id, old.version, &fact, &writer)?),
            Some(_) => {}
        }
        kept.push(id);
    }
    for old in store.of::<Tally, _>(outing)?.into_iter().filter(|t| t.edited_by.starts_with(BY) && !kept.contains(&t.id)) {
        let _ = store.withdraw(old.id, old.version, &writer)?;
    }
    drop(store);
    Ok(later("/afloat"))
}
