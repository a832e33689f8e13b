//! A sailor's quiz: one question at a time, chosen by what was missed and what is due; an answer is kept once, and told with its reason.

use std::collections::BTreeMap;

use advice::quiz::schedule::{Memory, order};
use advice::quiz::{Own, Quiz};
use axum::response::Response;
use boat::balance::Tack;
use boat::setup::Request;
use maud::{Markup, html};
use squad::fact::quiz::QuizAnswer;
use squad::fact::sailor::Sailor;
use squad::{Id, Kept, Moment, SquadError};

use super::form::Form;
use super::seat::Seat;
use super::yard::{SailorsDay, Yard, today};
use super::{Refusal, shell};
use crate::briefing::day::shape;
use crate::briefing::quiz::{Asked, Shown, asked};
use crate::briefing::solved::ten_metres;
use crate::day::Day;
use crate::drawing::boat::BoatShape;

/// Questions a day that are a quiz; more may be asked. Assumed: ten minutes.
pub(super) const A_DAY: usize = 8;
/// What is kept where a sailor asked to be shown.
pub(super) const NOT_SURE: &str = "not_sure";

/// Milliseconds of a day.
const DAY: f64 = 86_400_000.0;

/// Days since a fixed moment.
pub(super) fn days(at: Moment) -> f64 {
    at.timestamp().as_millisecond() as f64 / DAY
}

/// What is known of each question's past with a sailor, and how many were answered today.
pub(super) struct Past {
    pub(super) memories: BTreeMap<String, Memory>,
    pub(super) today: Vec<(String, bool)>,
}

impl Past {
    pub(super) fn of(yard: &Yard, sailor: Id<Sailor>) -> Result<Self, SquadError> {
        let mut answers = yard.store()?.answers_of(sailor)?;
        answers.sort_by_key(|a| a.fact.at);
        let mut by: BTreeMap<String, Vec<(f64, bool)>> = BTreeMap::new();
        let (mut of_today, date) = (Vec::new(), today());
        for answer in answers {
            let local = jiff::tz::TimeZone::system().to_datetime(answer.fact.at.timestamp()).date();
            if local == date.0 {
                of_today.push((answer.fact.question.clone(), answer.fact.correct));
            }
            by.entry(answer.fact.question).or_default().push((days(answer.fact.at), answer.fact.correct));
        }
        let memories = by.into_iter().filter_map(|(key, list)| Some((key, Memory::of(&list)?))).collect();
        Ok(Self { memories, today: of_today })
    }

    /// The questions to look at again: those that were missed and not known twice since, the soonest due first.
    pub(super) fn weak(&self) -> Vec<&str> {
        let mut weak: Vec<_> = self.memories.iter().filter(|m| m.1.is_weak()).collect();
        weak.sort_by(|a, b| a.1.due.total_cmp(&b.1.due));
        weak.into_iter().map(|m| m.0.as_str()).collect()
    }

    /// The order in which to ask today.
    pub(super) fn order<'k>(&self, keys: &[&'k str]) -> Vec<&'k str> {
        order(keys, &|key: &str| self.memories.get(key).copied(), days(Moment::now()))
    }
}

/// Keys turned so that kinds take turns, and sailors do not all begin with the same question.
pub(super) fn mixed(quiz: &Quiz, sailor: &str) -> Vec<&'static str> {
    let mut keys = quiz.keys();
    let turn = |key: &str| {
        sailor.bytes().chain(key.bytes()).fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
    };
    keys.sort_by_key(|key| turn(key));
    let mut met: BTreeMap<_, usize> = BTreeMap::new();
    let mut rounds: Vec<(usize, &'static str)> = Vec::new();
    for key in keys {
        let round = met.entry(Quiz::kind_of(key)).or_default();
        rounds.push((*round, key));
        *round += 1;
    }
    rounds.sort_by_key(|r| r.0);
    rounds.into_iter().map(|r| r.1).collect()
}

/// The quiz of a sailor's day, solved: a second or two.
pub(super) fn solved(one: &SailorsDay, day: &Day) -> Option<Quiz> {
    let beat = one.beat.as_ref()?;
    let conditions = day.conditions(1.0, Tack::Starboard);
    let request = Request { boat: &one.boat, sailor: one.crew.sailor.body, conditions, gusts: day.gusts, reach: None, bands: false };
    Some(Quiz::of(&Own { request: &request, beat, boat: &one.crew.boat.label, knots: ten_metres(day) }))
}

/// The boat to draw: as she is set up for the beat.
pub(super) fn drawn(one: &SailorsDay) -> Option<BoatShape> {
    let beat = one.beat.as_ref()?;
    Some(shape(&one.boat, beat.mean().controls, beat.mean().whole.afloat.draught))
}

/// From which seed a question is made today: the day's, and another each time it comes back.
fn seed(past: &Past, key: &str) -> u64 {
    of_the_day() + past.today.iter().filter(|a| a.0 == key).count() as u64
}

/// The first seed of today.
pub(super) fn of_the_day() -> u64 {
    let date = today().0;
    (u64::from(date.year().unsigned_abs()) * 400 + u64::from(date.day_of_year().unsigned_abs())) * 64
}

/// What is to be asked now.
fn next(yard: &Yard, seat: &Seat<'_>, past: &Past) -> Result<Option<Asked>, Refusal> {
    let Some((quiz, shape)) = yard.quiz(&seat.sailor)? else { return Ok(None) };
    let keys = mixed(&quiz, &seat.sailor.fact.label);
    let key = past.order(&keys).into_iter().next();
    Ok(key.and_then(|key| quiz.question(key, seed(past, key))).map(|question| asked(&question, seat.tongue, &shape)))
}

/// The question as a form: one button an answer.
pub(super) fn show(yard: &Yard, seat: &Seat<'_>) -> Result<Response, Refusal> {
    let past = Past::of(yard, seat.sailor.id)?;
    let body = match next(yard, seat, &past)? {
        Some(one) => question(seat, &one, &past, None)?,
        None => html! { section.first { p.verdict { (seat.tongue.page("no_quiz")) } p { (seat.tongue.page("no_quiz_why")) } } },
    };
    Ok(seat.page("quiz", html! { (body) (weak(seat, &past)) }))
}

/// How far today's quiz is.
fn progress(past: &Past, seat: &Seat<'_>, answered: bool) -> Markup {
    let done = past.today.len();
    let at = if answered { done } else { done + 1 };
    html! {
        div.cells aria-hidden="true" { @for k in 0..A_DAY { span.done[k < done].turn[!answered && k == done] {} } }
        @if at <= A_DAY { p.quiet { (seat.tongue.page("question").replace("{x}", &at.to_string()).replace("{n}", &A_DAY.to_string())) } }
        @else { p { b { (seat.tongue.page("done")) } " " (seat.tongue.page("done_why")) } }
    }
}

fn question(seat: &Seat<'_>, one: &Asked, past: &Past, told: Option<&str>) -> Result<Markup, Refusal> {
    let id: Id<QuizAnswer> = Id::random()?;
    Ok(html! { section.first {
        @if let Some(told) = told { p.wrong role="alert" { (told) } }
        (progress(past, seat, false))
        p.quiet { (one.kind) }
        h2.verdict { (one.ask) }
        div.shown { (shell::picture(&one.picture)) }
        form method="post" action=(format!("{}/quiz", seat.base)) {
            input type="hidden" name="id" value=(id);
            input type="hidden" name="key" value=(one.key);
            input type="hidden" name="seed" value=(one.seed);
            input type="hidden" name="mark" value=(one.mark);
            ol.answers { @for answer in &one.answers {
                li { button name="answer" value=(answer.key) { b { (answer.letter) } span { (answer.says) } } }
            } }
            p { button.second name="answer" value=(NOT_SURE) { (seat.tongue.page("not_sure")) } }
        }
        (words(seat, one))
    } })
}

/// The words of the trade in a question, for who does not know them.
fn words(seat: &Seat<'_>, one: &Asked) -> Markup {
    html! { @if !one.words.is_empty() { details { summary { (seat.tongue.page("words_in")) } ul { @for (name, says) in &one.words { li { b { (name) } ": " (says) } } } } } }
}

/// What the sailor should look at again: told to that sailor and the coach.
fn weak(seat: &Seat<'_>, past: &Past) -> Markup {
    let weak = past.weak();
    html! { @if !weak.is_empty() { section {
        h2 { (seat.tongue.page("weak")) }
        ul { @for key in weak.iter().take(6) { li { (topic(seat.tongue, key)) } } }
    } } }
}

/// A question's topic: its kind, and what is asked where no number stands in it.
pub(super) fn topic(tongue: &crate::words::school::Tongue, key: &str) -> String {
    let kind = Quiz::kind_of(key).map_or("", |k| crate::words::word(&tongue.school.kind, k.name()));
    let ask = tongue.school.question.get(key).map_or(String::new(), |q| q.ask.clone());
    let plain: Vec<&str> = ask.split_inclusive(['.', '?']).filter(|s| !s.contains('{')).map(str::trim).collect();
    if plain.is_empty() { kind.to_owned() } else { format!("{kind}: {}", plain.join(" ")) }
}

/// An answer comes: kept once under the name the form gave it, however often it is sent.
pub(super) fn answer(yard: &Yard, seat: &Seat<'_>, form: &Form) -> Result<Response, Refusal> {
    let past = Past::of(yard, seat.sailor.id)?;
    let (key, chosen) = (form.text("key").to_owned(), form.text("answer").to_owned());
    let again = yard.quiz(&seat.sailor)?.and_then(|(quiz, shape)| {
        let question = quiz.question(&key, form.text("seed").parse().ok()?)?;
        Some(asked(&question, seat.tongue, &shape)).filter(|one| one.mark == form.text("mark"))
    });
    let known = again.filter(|one| chosen == NOT_SURE || one.answers.iter().any(|a| a.key == chosen));
    let Some(one) = known else {
        // A phone that slept over night, or a form that is none of ours: today's question, and nothing is kept.
        let told = seat.tongue.page("asked_on");
        let body = match next(yard, seat, &past)? {
            Some(one) => question(seat, &one, &past, Some(told))?,
            None => html! { section.first { p.verdict { (seat.tongue.page("no_quiz")) } p { (seat.tongue.page("no_quiz_why")) } } },
        };
        return Ok(seat.page("quiz", body));
    };
    let id: Id<QuizAnswer> = form.text("id").parse().map_err(|why: String| Refusal::unkept(&why))?;
    let correct = one.right().is_some_and(|r| r.key == chosen);
    let kept = {
        let mut store = yard.store()?;
        match store.get(id)? {
            Some(first) if first.fact.sailor == seat.sailor.id => first,
            Some(_) => return Err(Refusal::unkept("This answer has the name of another. Open the quiz again.")),
            None => {
                let fact = QuizAnswer { sailor: seat.sailor.id, at: Moment::now(), question: key.clone(), answer: chosen, correct };
                store.add_as(id, &fact, &Yard::writer())?
            }
        }
    };
    let past = Past::of(yard, seat.sailor.id)?;
    Ok(seat.page("quiz", told(seat, &one, &kept, &past)))
}

/// When a question comes back, in words.
fn when(seat: &Seat<'_>, memory: Option<&Memory>) -> String {
    let days = memory.map_or(0, |m| (m.due - m.last).round() as i64);
    match days {
        0 => seat.tongue.page("today").to_owned(),
        1 => seat.tongue.page("tomorrow").to_owned(),
        n => seat.tongue.page("in_days").replace("{n}", &n.to_string()),
    }
}

/// The answer told: right or not this time, why, what it costs, when it comes back.
fn told(seat: &Seat<'_>, one: &Asked, kept: &Kept<QuizAnswer>, past: &Past) -> Markup {
    let t = |key: &'static str| seat.tongue.page(key);
    let chosen = kept.fact.answer.as_str();
    let Some(right) = one.right() else { return html! {} };
    let head = if kept.fact.correct { "yes" } else { "not_this_time" };
    let mine: Option<&Shown> = one.answers.iter().find(|a| a.key == chosen && !a.right);
    html! {
        section.first {
            (progress(past, seat, true))
            div role="status" { h2.dock-verdict { (seat.tongue.page(head).replace("{letter}", &right.letter.to_string())) } }
            p { (one.ask) }
            div.shown { (shell::picture(&one.picture)) }
            ol.answers { @for answer in &one.answers {
                li.right[answer.right].mine[!answer.right && answer.key == chosen] { div { b { (answer.letter) } span { (answer.says) }
                    @if answer.right { em { (t("right")) " ✓" } } @else if answer.key == chosen { em { (t("your_answer")) } } } }
            } }
        }
        section {
            h2 { (t("why")) }
            @for answer in mine.into_iter().chain([right]) {
                p { b { (answer.letter) ": " } (answer.why) @if let Some(cost) = &answer.cost { " " (cost) } }
                @if let Some(chain) = &answer.chain { div.shown { (shell::picture(chain)) } }
            }
            (words(seat, one))
            p.small { (one.rests) " " (t("comes_back").replace("{when}", &when(seat, past.memories.get(&one.key)))) }
            p { a.tag href=(format!("{}/quiz", seat.base)) { (t("next")) } }
        }
    }
}
