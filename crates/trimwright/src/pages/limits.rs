//! The club's limits: the most gust each skill is let out in. Who decided stands beside them, and over them no card is silent.

use std::sync::Arc;

use axum::extract::State;
use boat::crew::Skill;
use maud::{Markup, html};
use measure::quantity::{KNOT, Range, Unit};
use measure::wind::WIND_RANGE;
use squad::fact::day::{GustLimit, SafetyLimit};
use squad::{Edit, Kept, SquadError};

use super::form::{Form, Wrong, told};
use super::units::rounded;
use super::yard::Yard;
use super::{Answer, Sent, later, whole};

/// Gusts a limit may have, m/s: 2 to 40 knots. Assumed, as in a file of limits: beyond either it is a slip.
const GUSTS: Range = Range { what: "a limit", low: 2.0 * KNOT, high: 40.0 * KNOT, ..WIND_RANGE };

/// Sailors to a safety boat. Assumed: beyond it is a slip.
const PER_BOAT: Range =
    Range { what: "sailors to a safety boat", low: 1.0, high: 50.0, units: &[Unit { names: &["sailors"], factor: 1.0, offset: 0.0 }] };

/// The limit of a class for a skill, where the club set one.
struct Limit {
    class: String,
    /// The class's place among those that are sailed.
    place: usize,
    skill: Skill,
    kept: Option<Kept<GustLimit>>,
}

impl Limit {
    /// Its field.
    fn name(&self) -> String {
        let skill = self.skill.words().replace(' ', "_");
        if self.place == 0 { skill } else { format!("{skill}_{}", self.place) }
    }
    fn knots(&self) -> String {
        self.kept.as_ref().map_or(String::new(), |l| rounded(l.fact.gust_ms, KNOT, 1))
    }
}

/// The limits of every class that is sailed, by skill.
fn kept(yard: &Yard) -> Result<Vec<Limit>, SquadError> {
    let classes = yard.classes_sailed()?;
    let limits = yard.store()?.gust_limits()?;
    let of = |class: &str, skill| limits.iter().rfind(|l| l.fact.class == class && l.fact.skill == skill).cloned();
    let all = classes.iter().enumerate().flat_map(|(place, class)| Skill::ALL.map(|skill| (place, &class.name, skill)));
    Ok(all.map(|(place, class, skill)| Limit { class: class.clone(), place, skill, kept: of(class, skill) }).collect())
}

/// By class, with the class's name where there are several.
fn by_class(limits: &[Limit]) -> Vec<(Option<&str>, &[Limit])> {
    let several = limits.iter().any(|l| l.place > 0);
    limits.chunk_by(|a, b| a.place == b.place).map(|some| (several.then_some(some[0].class.as_str()), some)).collect()
}

/// In a line, for Today.
pub(super) fn line(yard: &Yard) -> Result<Markup, SquadError> {
    let kept = kept(yard)?;
    let of = |limits: &[Limit]| -> Vec<String> {
        limits.iter().filter(|l| l.kept.is_some()).map(|l| format!("{} {}", l.skill.words(), l.knots())).collect()
    };
    let said: Vec<String> = by_class(&kept)
        .into_iter()
        .map(|(class, limits)| (class, of(limits)))
        .filter(|(_, said)| !said.is_empty())
        .map(|(class, said)| format!("{}{}", class.map_or(String::new(), |c| format!("{c}: ")), said.join(", ")))
        .collect();
    let who = kept.iter().find_map(|l| l.kept.as_ref()).map(|l| l.fact.decided_by.clone()).unwrap_or_default();
    Ok(html! { p {
        @if said.is_empty() { "The club has set no limit of wind. " }
        @else { "The club's limits, knots of gust at 2 m: " (said.join("; ")) "." @if !who.is_empty() { " Decided by " (who) "." } " " }
        a.second href="/today/limits" { "Change the limits" }
    } })
}

/// The club's own number of sailors to a safety boat, as it is typed.
fn per_boat(yard: &Yard) -> Result<String, SquadError> {
    Ok(yard.store()?.safety_limit()?.map_or(String::new(), |l| l.fact.sailors.to_string()))
}

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    let kept = kept(&yard)?;
    let mut fields: Vec<(String, String)> = kept.iter().map(|limit| (limit.name(), limit.knots())).collect();
    fields.push(("per_boat".to_owned(), per_boat(&yard)?));
    show(&yard, &kept, &Form(fields), &Wrong::new(), false)
}

fn show(yard: &Yard, kept: &[Limit], form: &Form, wrong: &Wrong, overtaken: bool) -> Answer {
    let by = kept.iter().find_map(|l| l.kept.as_ref()).map(|l| l.fact.decided_by.clone()).unwrap_or_default();
    let by = if form.text("by").is_empty() { by } else { form.text("by").to_owned() };
    let body = html! { section.first {
        @if overtaken { p.wrong role="alert" { b { "Somebody changed the limits while you were typing. Nothing of yours was written. " }
            "Now they say: " @for limit in kept { (limit.skill.words()) " " (if limit.kept.is_some() { limit.knots() } else { "no limit".to_owned() }) "; " }
            "what you typed stands below: press the button again to write it over theirs." } }
        p { "The most gust, in knots at 2 m, the height of a sail, that sailors of each skill are let out in. A forecast at 10 m reads higher. Empty: no limit." }
        form method="post" action="/today/limits" {
            @for (class, limits) in by_class(kept) {
                @if let Some(class) = class { h2 { (class) } }
                div.fields { @for limit in limits {
                    @let name = limit.name();
                    div { label for=(name) { (limit.skill.words()) ", knots" }
                        input type="hidden" name=(format!("was.{name}")) value=(limit.knots());
                        input id=(name) name=(name) inputmode="decimal" autocomplete="off" value=(form.text(&name)); (told(wrong, &name)) }
                } }
            }
            div.fields { div { label for="per_boat" { "Sailors to a safety boat" }
                input type="hidden" name="was.per_boat" value=(per_boat(yard)?);
                input #per_boat name="per_boat" inputmode="decimal" autocomplete="off" value=(form.text("per_boat")); small { "Empty: six, common practice, no source" } (told(wrong, "per_boat")) } }
            div.fields { div { label for="by" { "Who decided" } input #by name="by" maxlength="80" value=(by); (told(wrong, "by")) } }
            p { button.tag type="submit" { "Keep these limits" } " " a.second href="/today" { "Back to today" } }
        }
    } };
    let classes = by_class(kept);
    let facts = html! { @if let [(None, limits)] = classes.as_slice() { p { (limits[0].class) } } };
    Ok(whole("The club's limits", facts, body))
}

/// The limits are written.
pub(super) async fn write(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let kept = kept(&yard)?;
    let mut wrong = Wrong::new();
    let decided_by = form.line("by", 80, &mut wrong);
    let mut put = Vec::new();
    let mut overtaken = false;
    for limit in &kept {
        let name = limit.name();
        let gust = form.number(&name, &GUSTS, KNOT, &mut wrong);
        if form.left(&name) {
            continue;
        }
        overtaken |= form.text(&format!("was.{name}")) != limit.knots();
        let fact =
            gust.map(|gust_ms| GustLimit { class: limit.class.clone(), skill: limit.skill, gust_ms, decided_by: decided_by.clone() });
        put.push((&limit.kept, fact));
    }
    let number = form.number("per_boat", &PER_BOAT, 1.0, &mut wrong);
    let other_ratio = !form.left("per_boat");
    overtaken |= other_ratio && form.text("was.per_boat") != per_boat(&yard)?;
    let sets = (other_ratio && number.is_some()) || put.iter().any(|(_, fact)| fact.is_some());
    if decided_by.is_empty() && sets {
        wrong.push(("by".to_owned(), "type who decided, like the club's committee".to_owned()));
    }
    if overtaken || !wrong.is_empty() {
        return show(&yard, &kept, &form, &wrong, overtaken);
    }
    let writer = Yard::writer();
    yard.store()?.whole(|store| {
        let ratio = store.safety_limit()?.filter(|_| other_ratio);
        match (ratio, number.filter(|_| other_ratio).map(|sailors| SafetyLimit { sailors, decided_by })) {
            (None, None) => {}
            (None, Some(fact)) => drop(store.add(&fact, &writer)?),
            (Some(old), Some(fact)) => overtaken |= matches!(store.edit(old.id, old.version, &fact, &writer)?, Edit::Overtaken(_)),
            (Some(old), None) => overtaken |= matches!(store.withdraw(old.id, old.version, &writer)?, Edit::Overtaken(_)),
        }
        for (limit, fact) in put {
            let written = match (limit, fact) {
                (None, None) => continue,
                (None, Some(fact)) => Edit::Written(store.add(&fact, &writer)?),
                (Some(limit), Some(fact)) => store.edit(limit.id, limit.version, &fact, &writer)?,
                (Some(limit), None) => store.withdraw(limit.id, limit.version, &writer)?,
            };
            overtaken |= matches!(written, Edit::Overtaken(_));
        }
        Ok::<_, SquadError>(())
    })?;
    if overtaken {
        let now = self::kept(&yard)?;
        return show(&yard, &now, &form, &wrong, true);
    }
    Ok(later("/today"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_and_skill_has_a_field_of_its_own() {
        let all = [0, 1].into_iter().flat_map(|place| Skill::ALL.map(|skill| Limit { class: String::new(), place, skill, kept: None }));
        let names: std::collections::BTreeSet<String> = all.map(|limit| limit.name()).collect();
        assert_eq!(names.len(), 2 * Skill::ALL.len());
        assert!(names.iter().all(|n| !n.contains(' ')));
    }
}
