//! The Today page: the wind by hour, the day's clock back from the warning signal, how each sits and what is set, cautions, all cards.

mod forecast;

use std::fmt::Write;
use std::sync::Arc;

use advice::caution::Caution as Said;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use boat::class::Class;
use boat::gauge::Gauge;
use maud::{Markup, html};
use measure::quantity::{KNOT, Range, plain};
use measure::{Basis, Length};
use squad::fact::day::{Day as DayFact, FloatsIn, ForecastHour};
use squad::fact::sailor::Sailor;
use squad::{Edit, Kept, Moment, Squad, SquadError};

use super::form::{Form, Wrong, told};
use super::limits;
use super::units::{Units, rounded};
use super::what_if::names;
use super::yard::{Job, OwnDay, SailorsDay, Solved, Today, Yard, here, in_order, today};
use super::{Answer, Refusal, Sent, later, shell, whole};
use crate::briefing::card::CardDocument;
use crate::briefing::day::{Who, Written, card, settings};
use crate::briefing::solved::SHARES;
use crate::cards::{Layout, pdf};
use crate::day::Day;
use crate::drawing::posture::figure;
use crate::given::{self, Given};
use crate::words::Words;
use forecast::{by_hour, forecast};

/// Minutes before the warning signal, and what is done then. Common practice, no source.
const CLOCK: [(i32, &str); 5] = [(75, "dress"), (55, "rig, dock round"), (35, "launch"), (25, "tow"), (0, "warning signal")];
/// Said after a caution that all have, each skill in its own words.
pub(super) const OTHERS: &str = " The same for the other skills.";
/// Gauges of the table, where a class has them.
const SHOWN: [Gauge; 8] = [
    Gauge::BoomEndDock,
    Gauge::MastTipTape,
    Gauge::SailBoomGap,
    Gauge::CarOffset,
    Gauge::SpritLine,
    Gauge::DownhaulLine,
    Gauge::BoardAngle,
    Gauge::BoardUp,
];

/// The job for today's wind, where it was begun; else why there is none.
pub(super) fn wanted(yard: &Arc<Yard>) -> Result<(Option<Arc<Job>>, &'static str), Refusal> {
    let Some(day) = yard.today()?.and_then(|t| t.day()) else {
        return Ok((None, "No wind is known for today: type it on the Today page first."));
    };
    Ok((yard.job(&day, &yard.squad()?), "Today's settings are not solved yet."))
}

/// How far the solving is, with its button: start, stop, or nothing when all is there. The page asks again by itself.
pub(super) fn progress(job: Option<&Job>, why: &str, back: &str) -> Markup {
    let of = |job: &Job| (job.done(), job.steps);
    html! {
        @match job {
            None => div.progress { p { (why) } @if why.contains("solved") { form method="post" action="/today/solve" { input type="hidden" name="back" value=(back); button.tag { "Solve today's settings" } } } },
            Some(job) if job.solved().is_none() => {
                @let (done, all) = of(job);
                div.progress role="status" data-again="1500" {
                    p { b { (done) " of " (all) " solved" } }
                    progress max=(all) value=(done) {}
                    form method="post" action="/today/stop" { input type="hidden" name="back" value=(back); button.tag.busy { "Stop" } }
                    noscript { meta http-equiv="refresh" content="3"; }
                }
            }
            Some(_) => {}
        }
    }
}

/// A sailor's card of a solved day, with the cautions on it.
fn card_of(
    yard: &Yard,
    squad: &Squad,
    today: &Today,
    day: &Day,
    solved: &SailorsDay,
    words: &Words,
) -> Result<Option<(CardDocument, Vec<Said>)>, Refusal> {
    let (crew, own) = solved.now(squad);
    let cautions = yard.cautions(today, day, &crew)?;
    let who = Who {
        sailor: crew.sailor.label.clone(),
        boat: crew.boat.label.clone(),
        hand: crew.sailor.hand.si(),
        own,
        cautions: cautions.clone(),
        plan: solved.around.as_ref().map(|around| around.plan(crew.sailor.body.skill)),
    };
    let written = Written { date: words.day(today.kept.fact.date.0), unit: Units::now().short() };
    Ok(card(&solved.boat, &who, &solved.winds, &written, words).map(|card| (card, cautions)))
}

/// A sailor's card of today, where it is solved.
pub(super) fn own_card(yard: &Yard, sailor: &Kept<Sailor>, words: &Words) -> Result<Option<CardDocument>, Refusal> {
    let Some(OwnDay { today, day, squad, one }) = yard.own_day(sailor)? else { return Ok(None) };
    Ok(card_of(yard, &squad, &today, &day, &one, words)?.map(|made| made.0))
}

/// The page.
pub(super) async fn page(State(yard): State<Arc<Yard>>) -> Answer {
    let now = yard.today()?;
    let form = now.as_ref().map(filled).unwrap_or_default();
    show(&yard, now.as_ref(), &form, &Wrong::new(), false)
}

fn show(yard: &Arc<Yard>, now: Option<&Today>, form: &Form, wrong: &Wrong, overtaken: bool) -> Answer {
    let day = now.and_then(Today::day);
    let squad = yard.squad()?;
    let job = day.as_ref().and_then(|day| yard.job(day, &squad));
    let solved = job.as_ref().and_then(|job| job.solved());
    let mut tables: Vec<(&Class, Vec<Markup>)> = Vec::new();
    let mut common: Vec<Said> = Vec::new();
    if let (Some(today), Some(day), Some(solved)) = (now, &day, &solved) {
        let mut cards = Vec::new();
        for one in in_order(solved, &squad) {
            let card = card_of(yard, &squad, today, day, &one, &yard.words)?;
            cards.push((one, card));
        }
        // A caution that all have is told once, over the table, with a word where it is for several skills.
        let all_have = |c: &Said| {
            cards.iter().all(|(_, card)| card.as_ref().is_some_and(|(_, said)| said.iter().any(|s| s.key == c.key && !s.over_limit)))
        };
        let told = || cards.iter().filter_map(|(_, card)| card.as_ref()).flat_map(|(_, said)| said);
        for caution in told().filter(|c| all_have(c)) {
            match common.iter_mut().find(|c| c.key == caution.key) {
                None => common.push(caution.clone()),
                Some(first) if first.fact != caution.fact && !first.fact.ends_with(OTHERS) => first.fact += OTHERS,
                Some(_) => {}
            }
        }
        for (k, (one, card)) in cards.iter().enumerate() {
            let class = yard.class_of(one.crew.boat.class.as_deref());
            let row = row(yard, k, one, card.as_ref(), &common, &columns(class));
            match tables.iter_mut().find(|table| table.0.name == class.name) {
                Some(table) => table.1.push(row),
                None => tables.push((class, vec![row])),
            }
        }
    }
    let corrected = now.is_some_and(|now| now.correction.is_some());
    let cards: usize = tables.iter().map(|table| table.1.len()).sum();
    let units = Units::now();
    let body = html! {
        @if overtaken { section.first { p.wrong role="alert" { b { "Somebody changed today's wind while you were typing. " } "Nothing of yours was written. What you typed stands below: press the button again to write it over theirs." } } }
        @if let (Some(today), Some(day)) = (now, &day) {
            section.first { div.columns {
                div { h2 { "Wind, knots at " (rounded(today.hours.first().map_or(10.0, |h| h.fact.height_m), units.long().1, 1)) " " (units.long().0) } (by_hour(today)) }
                div { h2 { "What the card says" }
                    table { tbody { @for (name, share) in ["Lighter", "As forecast", "Stronger"].into_iter().zip(SHARES) {
                        @let at = day.given * share / KNOT;
                        tr class=(if share == 1.0 { "taped" } else { "" }) { td { (name) } td { b { (format!("{:.0}–{:.0}", at * (1.0 - 0.15 / share), at * (1.0 + 0.15 / share))) } } td { (yard.words.sea_look(at)) } }
                    } } } }
            } (clock(today)) }
            section { @for caution in &common { (said(caution)) } @if common.is_empty() { p { "No caution for all. Silence is no word that it is safe to sail." } } (limits::line(yard)?) }
        }
        section {
            div.bar { h2 { (squad.crews.len()) " to launch, in order" }
                div {
                    @if !squad.crews.is_empty() { a.second href="/today/order" { "Change the order, or who launches" } }
                    @if cards > 0 { form.inline method="post" action="/today/cards" { button.second name="sheet" value="a4" { "Four to a sheet" } button.tag { @if cards == 1 { "Print the card" } @else { "Print all " (cards) " cards" } } } }
                } }
            @if squad.crews.is_empty() { p { "A sailor with a boat and a body mass gets a card." } p { a.tag href="/squad" { "Add a sailor" } } }
            @else if day.is_none() { p { "Type the wind below: then every setting can be solved." } }
            @else {
                (progress(job.as_deref(), "Today's settings are not solved yet.", "/today"))
                @if cards > 0 {
                    @for (class, rows) in &tables {
                        @if tables.len() > 1 { h3 { (class.name) } }
                        table.day {
                            thead { tr { td {} th { "Sailor, boat" } th { "How to sit today" } @for gauge in columns(class) { th.number { (names(&yard.words, gauge).0) } } } }
                            tbody { @for row in rows { (row) } }
                        }
                    }
                    p.small { (if units == Units::Us { "Inches" } else { "Centimetres" }) "; the board along the rail from its pen line. Small figures: the band where it makes no difference. Dotted rests on theory, dashed on common practice" @if corrected { ", underlined twice on this squad's own line-ups" } "." }
                }
            }
        }
        (fields(form, wrong, now))
    };
    let facts = html! { p { (today().0.strftime("%A %-d %B")) @if let Some(now) = now { br; b { (now.kept.fact.venue) } } } };
    Ok(whole("Today", facts, body))
}

/// The gauges of a class's table.
fn columns(class: &Class) -> Vec<Gauge> {
    SHOWN.into_iter().filter(|gauge| class.gauges.iter().any(|d| d.gauge == *gauge)).collect()
}

fn row(yard: &Yard, k: usize, one: &SailorsDay, card: Option<&(CardDocument, Vec<Said>)>, common: &[Said], columns: &[Gauge]) -> Markup {
    let Some((card, cautions)) = card else {
        return html! { tr { td.quiet { (k + 1) } td { span.name { (one.crew.sailor.label) } br; small { (one.crew.boat.label) } } td colspan=(columns.len() + 1) { "The model found no setting for this wind: no card." } } };
    };
    let sit = yard.words.posture.get(card.posture.key()).cloned().unwrap_or_default();
    let own: Vec<&Said> = cautions.iter().filter(|c| c.over_limit || !common.iter().any(|told| told.key == c.key)).collect();
    html! {
        tr {
            td.quiet { span.name { (k + 1) } }
            td { span.name { (card.sailor) } br; small { (card.boat) } }
            td.how { div.sit { (shell::picture(&figure(card.posture, &card.shape, 26.0, 14.0, &sit))) b { (sit) } } }
            @for &gauge in columns {
                td.number data-says=(names(&yard.words, gauge).0) { @if let Some(row) = card.rows.iter().find(|r| r.gauge == gauge.name()) {
                    @let value = &row.values[1];
                    span.big class=(match row.rests { Basis::Theory => "theory", Basis::OwnLineUps => "own-passes", _ => "practice" }) { (value.text) }
                    @if let Some((low, high)) = &value.band { br; small { (band(low, high)) } }
                    @if let Some(was) = &row.was { br; b.act { "was " (was) } }
                } @else { "–" } }
            }
        }
        @if !own.is_empty() { tr.own { td {} td colspan=(columns.len() + 2) { @for caution in own { (said(caution)) } } } }
    }
}

/// A band in small figures; "to" where a dash would look like a minus.
fn band(low: &str, high: &str) -> String {
    if low.starts_with('−') { format!("{low} to {high}") } else { format!("{low}–{high}") }
}

fn said(caution: &Said) -> Markup {
    html! { p.caution { b { @if caution.over_limit { "Over the limit. " } (caution.fact) " " } (caution.deed) " " (caution.who) } }
}

/// The day's clock back from the warning signal.
fn clock(today: &Today) -> Markup {
    let Some(signal) = today.kept.fact.warning_signal.as_ref().and_then(|t| t.parse::<jiff::civil::Time>().ok()) else { return html! {} };
    html! { ol.clock { @for (before, deed) in CLOCK {
        li { b { (signal.wrapping_sub(jiff::Span::new().minutes(before)).strftime("%H:%M")) } " " (deed) }
    } } }
}

/// What stands in the store, as the form has it.
fn filled(now: &Today) -> Form {
    let f = &now.kept.fact;
    let units = Units::now();
    let zone = jiff::tz::TimeZone::get(&f.timezone).unwrap_or(jiff::tz::TimeZone::UTC);
    let mut wind = String::new();
    for h in &now.hours {
        let at = zone.to_datetime(h.fact.at.timestamp()).strftime("%H:%M");
        let knots = |v: f64| plain((v / KNOT * 10.0).round() / 10.0);
        let gust = h.fact.gust_ms.map_or("-".to_owned(), knots);
        let from = h.fact.from_rad.map_or(String::new(), |f| format!(" {:.0}", f / measure::angle::DEGREE));
        let _ = writeln!(wind, "{at} {} {gust}{from}", knots(h.fact.wind_ms));
    }
    let mut list = vec![
        ("version", now.kept.version.to_string()),
        ("id", now.kept.id.to_string()),
        ("venue", f.venue.clone()),
        ("timezone", f.timezone.clone()),
        ("signal", f.warning_signal.clone().unwrap_or_default()),
        ("wind", wind),
        ("height", rounded(now.hours.first().map_or(10.0, |h| h.fact.height_m), units.long().1, 2)),
        ("water_temperature", f.water_temperature_k.map_or(String::new(), |k| rounded(k - units.warmth().2, units.warmth().1, 1))),
        ("chop", rounded(f.chop_m, units.long().1, 2)),
        ("safety_boats", f.safety_boats.map_or(String::new(), |n| n.to_string())),
    ];
    for (name, on) in [
        ("fresh", f.water == FloatsIn::Fresh),
        ("sheltered", f.sheltered),
        ("offshore", f.offshore == Some(true)),
        ("against_tide", f.against_tide == Some(true)),
        ("thunder", f.thunder == Some(true)),
    ] {
        if on {
            list.push((name, "1".to_owned()));
        }
    }
    Form(list.into_iter().map(|(k, v)| (k.to_owned(), v)).collect())
}

fn fields(form: &Form, wrong: &Wrong, now: Option<&Today>) -> Markup {
    let zone = if form.text("timezone").is_empty() { here() } else { form.text("timezone").to_owned() };
    let units = Units::now();
    let text = |name: &str, says: &str, hint: &str| html! { div { label for=(name) { (says) } input id=(name) name=(name) value=(form.text(name)) autocomplete="off"; small { (hint) } (told(wrong, name)) } };
    let tick = |name: &str, says: &str| html! { p { label { input.tick type="checkbox" name=(name) value="1" checked[form.ticked(name)]; " " (says) } } };
    html! { section #wind-form {
        h2 { @if now.is_some() { "Change the wind" } @else { "Today's wind" } }
        form method="post" action="/today" {
            input type="hidden" name="version" value=(form.text("version"));
            input type="hidden" name="id" value=(form.text("id"));
            div.columns {
                div { label for="wind" { "By hour: time, knots, puffs, from. Typed, pasted or CSV" }
                    textarea #wind name="wind" rows="8" spellcheck="false" aria-describedby="wind-hint" { (form.text("wind")) }
                    small #wind-hint { "Like \"13:00 11 15 315\" or \"13;11;15;315\", an hour a line. A single number is the whole day." } (told(wrong, "wind")) }
                div {
                    (text("height", &format!("Height of that wind, {}", units.long().0), if units == Units::Us { "33 for a forecast, 6 for one measured from the boat" } else { "10 for a forecast, 2 for one measured from the boat" }))
                    (text("venue", "Where", ""))
                    (text("signal", "Warning signal", "Like 13:55"))
                    div { label for="timezone" { "Timezone" } input #timezone name="timezone" value=(zone); (told(wrong, "timezone")) }
                }
            }
            div.fields {
                (text("water_temperature", &format!("Water, {}", units.warmth().0), ""))
                (text("chop", &format!("Chop, {}", units.long().0), "Trough to crest"))
                (text("safety_boats", "Safety boats out", ""))
            }
            div.ticks {
                (tick("fresh", "Fresh water")) (tick("sheltered", "Land close upwind")) (tick("offshore", "The wind blows off the shore"))
                (tick("against_tide", "Wind against tide")) (tick("thunder", "Thunder about, or forecast"))
            }
            p { button.tag type="submit" { "Keep this wind" } }
        }
    } }
}

/// The day is written.
pub(super) async fn write(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let mut wrong = Wrong::new();
    let units = Units::now();
    let hours = forecast(form.text("wind")).map_err(|why| wrong.push(("wind".to_owned(), why))).unwrap_or_default();
    let metres = |name: &str, what: &'static str, low: f64, high: f64, wrong: &mut Wrong| {
        form.number(name, &Range { what, low, high, ..Length::RANGE }, units.long().1, wrong)
    };
    let height = metres("height", "a height of the wind", 0.5, 30.0, &mut wrong).unwrap_or(10.0);
    let chop = metres("chop", "a chop", 0.0, 1.0, &mut wrong).unwrap_or(0.0);
    let (degree, one, nought) = units.warmth();
    let kelvin = match form.text("water_temperature") {
        "" => None,
        text => match text.replace(',', ".").replace('\u{2212}', "-").parse::<f64>().map(|t| t * one + nought) {
            // Sea water freezes at -2 degrees Celsius; 35 is the warmest sea.
            Ok(kelvin) if (271.15..=308.15).contains(&kelvin) => Some(kelvin),
            _ => {
                let [low, high, like] = [271.15, 308.15, 284.15].map(|k| rounded(k - nought, one, 0));
                wrong.push(("water_temperature".to_owned(), format!("type it in {degree}, {low} to {high}, like {like}")));
                None
            }
        },
    };
    let safety = match form.text("safety_boats") {
        "" => None,
        text => match text.parse::<u32>() {
            Ok(n) if n <= 100 => Some(n),
            _ => {
                wrong.push(("safety_boats".to_owned(), "type how many, like 1".to_owned()));
                None
            }
        },
    };
    let zone = form.line("timezone", 60, &mut wrong);
    let zone = if zone.is_empty() { "UTC".to_owned() } else { zone };
    let tz = match jiff::tz::TimeZone::get(&zone) {
        Ok(tz) => tz,
        Err(_) => {
            wrong.push(("timezone".to_owned(), "that is no timezone: write one like Europe/Lisbon or UTC".to_owned()));
            jiff::tz::TimeZone::UTC
        }
    };
    let signal = form.line("signal", 8, &mut wrong);
    if !signal.is_empty() && signal.parse::<jiff::civil::Time>().is_err() {
        wrong.push(("signal".to_owned(), format!("\"{signal}\" is no time of day: write it like 13:55")));
    }
    let told = |name: &str| form.ticked(name).then_some(true);
    let fact = DayFact {
        date: today(),
        venue: form.line("venue", 80, &mut wrong),
        timezone: zone,
        warning_signal: Some(signal).filter(|s| !s.is_empty()),
        water: if form.ticked("fresh") { FloatsIn::Fresh } else { FloatsIn::Sea },
        water_temperature_k: kelvin,
        sheltered: form.ticked("sheltered"),
        chop_m: chop,
        gusts: None,
        offshore: told("offshore"),
        against_tide: told("against_tide"),
        thunder: told("thunder"),
        safety_boats: safety,
        words: String::new(),
    };
    let now = yard.today()?;
    if !wrong.is_empty() {
        return show(&yard, now.as_ref(), &form, &wrong, false);
    }
    let kept = {
        let mut store = yard.store()?;
        let writer = Yard::writer();
        match &now {
            None => store.add(&fact, &writer)?,
            Some(now) => match store.edit(now.kept.id, form.text("version").parse().unwrap_or(0), &fact, &writer)? {
                Edit::Written(kept) => kept,
                Edit::Overtaken(theirs) => {
                    drop(store);
                    let mut again = form.clone();
                    again.0.retain(|p| p.0 != "version");
                    again.0.push(("version".to_owned(), theirs.version.to_string()));
                    let now = yard.today()?;
                    return show(&yard, now.as_ref(), &again, &wrong, true);
                }
            },
        }
    };
    // The new hours in place of the old ones, or the old ones still.
    yard.store()?.whole(|store| {
        let writer = Yard::writer();
        for old in store.forecast_of(kept.id)? {
            let _ = store.withdraw(old.id, old.version, &writer)?;
        }
        for hour in hours {
            let Ok(at) = today().0.to_datetime(hour.at).to_zoned_datetime(tz.clone()) else { continue };
            let fact = ForecastHour {
                day: kept.id,
                at: Moment::of(at.timestamp()),
                wind_ms: hour.wind,
                height_m: height,
                from_rad: hour.from,
                gust_ms: hour.gust,
                source: "typed".to_owned(),
            };
            store.add(&fact, &writer)?;
        }
        Ok::<_, SquadError>(())
    })?;
    begin(&yard)?;
    Ok(later("/today"))
}

pub(super) fn begin(yard: &Arc<Yard>) -> Result<(), Refusal> {
    if let Some(day) = yard.today()?.and_then(|t| t.day()) {
        let squad = yard.squad()?;
        if !squad.crews.is_empty() {
            yard.solve(day, squad);
        }
    }
    Ok(())
}

/// Where a button came from: a page of ours, or Today.
fn back(form: &Form) -> String {
    let back = form.text("back");
    let ours = back.starts_with("/dock") || back == "/today";
    if ours && back.bytes().all(|b| b.is_ascii_alphanumeric() || b"/-".contains(&b)) { back.to_owned() } else { "/today".to_owned() }
}

/// Solving begins.
pub(super) async fn solve(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    begin(&yard)?;
    Ok(later(&back(&form)))
}

/// Solving stops.
pub(super) async fn stop(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    yard.stop();
    Ok(later(&back(&form)))
}

/// Cards are printed: what they tell is kept as given, and the paper comes.
pub(super) async fn give(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let (today, day, squad, solved) = ready(&yard)?;
    let mut list = Vec::new();
    for one in in_order(&solved, &squad) {
        let Some((card, _)) = card_of(&yard, &squad, &today, &day, &one, &yard.words)? else { continue };
        let (_, own) = one.now(&squad);
        let sit = yard.words.posture.get(card.posture.key()).cloned().unwrap_or_default();
        list.push(Given { sailor: card.sailor, boat: card.boat, sit, settings: settings(&one.boat, &own, &one.winds) });
    }
    given::keep(&mut *yard.store()?, today.kept.id, &day, &list, &Yard::writer())?;
    Ok(later(if form.text("sheet") == "a4" { "/today/cards.pdf?sheet=a4" } else { "/today/cards.pdf" }))
}

/// Today with its settings solved, or why not.
fn ready(yard: &Arc<Yard>) -> Result<(Today, Day, Squad, Arc<Solved>), Refusal> {
    let today = yard.today()?.ok_or_else(|| Refusal::lost("There is no wind for today"))?;
    let day = today.day().ok_or_else(|| Refusal::lost("There is no wind for today"))?;
    let squad = yard.squad()?;
    let solved = yard.job(&day, &squad).and_then(|job| job.solved());
    Ok((today, day, squad, solved.ok_or_else(|| Refusal::lost("Today's settings are not solved yet"))?))
}

/// All cards on paper.
pub(super) async fn cards(
    State(yard): State<Arc<Yard>>,
    axum::extract::Query(query): axum::extract::Query<Vec<(String, String)>>,
) -> Answer {
    let (today, day, squad, solved) = ready(&yard)?;
    let mut cards = Vec::new();
    for one in in_order(&solved, &squad) {
        cards.extend(card_of(&yard, &squad, &today, &day, &one, &yard.words)?.map(|c| c.0));
    }
    let layout = if query.iter().any(|q| q == &("sheet".to_owned(), "a4".to_owned())) { Layout::FourToA4 } else { Layout::A6 };
    let made = tokio::task::spawn_blocking(move || pdf(&cards, &layout)).await;
    match made {
        Ok(Ok(bytes)) => {
            let named = format!("inline; filename=\"cards-{}.pdf\"", today.kept.fact.date);
            Ok(([(header::CONTENT_TYPE, "application/pdf".to_owned()), (header::CONTENT_DISPOSITION, named)], bytes).into_response())
        }
        Ok(Err(error)) => Err(Refusal::because("The cards could not be printed", &error.to_string())),
        Err(_) => Err(Refusal::because("The cards could not be printed", "Try again.")),
    }
}
