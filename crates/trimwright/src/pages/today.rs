//! The Today page: the wind by hour, the day's clock back from the warning signal, how each sits and what is set, cautions, all cards.

use std::fmt::Write;
use std::sync::Arc;

use advice::caution::Caution as Said;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use boat::gauge::Gauge;
use maud::{Markup, PreEscaped, html};
use measure::quantity::{KNOT, Range, plain};
use measure::wind::WIND_RANGE;
use measure::{Basis, Length};
use squad::fact::day::{Day as DayFact, FloatsIn, ForecastHour};
use squad::fact::sailor::Sailor;
use squad::{Edit, Kept, Moment, Squad};

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

/// Minutes before the warning signal, and what is done then. Common practice, no source.
const CLOCK: [(i32, &str); 5] = [(75, "dress"), (55, "rig, dock round"), (35, "launch"), (25, "tow"), (0, "warning signal")];
/// Said after a caution that all have, each skill in its own words.
const OTHERS: &str = " The same for the other skills.";
/// The most hours that are named under the plot of the wind.
const NAMED: usize = 8;
/// The most hours of a forecast.
const HOURS: usize = 24;
/// Gauges of the table.
const SHOWN: [Gauge; 5] = [Gauge::BoomEndDock, Gauge::SailBoomGap, Gauge::CarOffset, Gauge::DownhaulLine, Gauge::BoardAngle];

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
    };
    let written = Written { date: today.kept.fact.date.0.strftime("%-d %B").to_string(), unit: Units::now().short() };
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
    let mut rows = Vec::new();
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
            rows.push(row(yard, k, one, card.as_ref(), &common));
        }
    }
    let cards = rows.len();
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
                    @if cards > 0 { form.inline method="post" action="/today/cards" { button.second name="sheet" value="a4" { "Four to a sheet" } button.tag { "Print all " (cards) " cards" } } }
                } }
            @if squad.crews.is_empty() { p { "A sailor with a boat and a body mass gets a card." } p { a.tag href="/squad" { "Add a sailor" } } }
            @else if day.is_none() { p { "Type the wind below: then every setting can be solved." } }
            @else {
                (progress(job.as_deref(), "Today's settings are not solved yet.", "/today"))
                @if cards > 0 {
                    table.day {
                        thead { tr { td {} th { "Sailor, boat" } th { "How to sit today" } @for gauge in SHOWN { th.number { (names(&yard.words, gauge).0) } } } }
                        tbody { @for row in &rows { (row) } }
                    }
                    p.small { (if units == Units::Us { "Inches" } else { "Centimetres" }) "; the board along the rail from its pen line. Small figures: the band where it makes no difference. Dotted rests on theory, dashed on common practice." }
                }
            }
        }
        (fields(form, wrong, now))
    };
    let facts = html! { p { (today().0.strftime("%A %-d %B")) @if let Some(now) = now { br; b { (now.kept.fact.venue) } } } };
    Ok(whole("Today", facts, body))
}

fn row(yard: &Yard, k: usize, one: &SailorsDay, card: Option<&(CardDocument, Vec<Said>)>, common: &[Said]) -> Markup {
    let Some((card, cautions)) = card else {
        return html! { tr { td.quiet { (k + 1) } td { span.name { (one.crew.sailor.label) } br; small { (one.crew.boat.label) } } td colspan="6" { "The model found no setting for this wind: no card." } } };
    };
    let sit = yard.words.posture.get(card.posture.key()).cloned().unwrap_or_default();
    let own: Vec<&Said> = cautions.iter().filter(|c| c.over_limit || !common.iter().any(|told| told.key == c.key)).collect();
    html! {
        tr {
            td.quiet { span.name { (k + 1) } }
            td { span.name { (card.sailor) } br; small { (card.boat) } }
            td.how { div.sit { (shell::picture(&figure(card.posture, &card.shape, 26.0, 14.0, &sit))) b { (sit) } } }
            @for gauge in SHOWN {
                td.number data-says=(names(&yard.words, gauge).0) { @if let Some(row) = card.rows.iter().find(|r| r.gauge == gauge.name()) {
                    @let value = &row.values[1];
                    span.big class=(if row.rests == Basis::Theory { "theory" } else { "practice" }) { (value.text) }
                    @if let Some((low, high)) = &value.band { br; small { (band(low, high)) } }
                    @if let Some(was) = &row.was { br; b.act { "was " (was) } }
                } @else { "–" } }
            }
        }
        @if !own.is_empty() { tr.own { td {} td colspan="7" { @for caution in own { (said(caution)) } } } }
    }
}

/// A band in small figures; "to" where a dash would look like a minus.
fn band(low: &str, high: &str) -> String {
    if low.starts_with('−') { format!("{low} to {high}") } else { format!("{low}–{high}") }
}

fn said(caution: &Said) -> Markup {
    html! { p.caution { b { @if caution.over_limit { "Over the limit. " } (caution.fact) " " } (caution.deed) " " (caution.who) } }
}

/// One hour of the plot: time of day in hours, mean and puff in knots, its name, where from.
struct Plotted {
    clock: f64,
    wind: f64,
    puff: f64,
    hour: String,
    from: Option<f64>,
}

/// Hours that follow each other without a gap: a line drawn over one would tell what nobody forecast.
fn runs(points: &[Plotted]) -> Vec<&[Plotted]> {
    let steps = points.windows(2).map(|two| two[1].clock - two[0].clock);
    let usual = steps.fold(f64::INFINITY, f64::min);
    points.chunk_by(|a, b| b.clock - a.clock < 1.5 * usual).collect()
}

/// The wind by hour as a line, with lull and puff; broken where hours are missing, and that is said.
fn by_hour(today: &Today) -> Markup {
    let zone = jiff::tz::TimeZone::get(&today.kept.fact.timezone).unwrap_or(jiff::tz::TimeZone::UTC);
    let points: Vec<Plotted> = today
        .hours
        .iter()
        .map(|h| {
            let at = zone.to_datetime(h.fact.at.timestamp());
            let clock = f64::from(at.hour()) + f64::from(at.minute()) / 60.0;
            let gust = h.fact.gust_ms.unwrap_or(h.fact.wind_ms * crate::day::GUSTS_OPEN);
            Plotted { clock, wind: h.fact.wind_ms / KNOT, puff: gust / KNOT, hour: at.strftime("%H").to_string(), from: h.fact.from_rad }
        })
        .collect();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return html! {} };
    let most = points.iter().map(|p| p.puff).fold(6.0_f64, f64::max);
    let top = (most / 6.0).ceil() * 6.0;
    let x = |clock: f64| 40.0 + 560.0 * if last.clock > first.clock { (clock - first.clock) / (last.clock - first.clock) } else { 0.5 };
    let y = |knots: f64| 20.0 + 160.0 * (1.0 - knots / top);
    let mut svg = String::from("<svg class=\"plot\" viewBox=\"0 0 632 240\" role=\"img\">");
    let spoken: Vec<String> = points.iter().map(|p| format!("{} hours {:.0} knots, puffs {:.0}", p.hour, p.wind, p.puff)).collect();
    let _ = write!(svg, "<title>{}</title>", spoken.join("; "));
    let mut level = 0.0;
    while level <= top {
        let _ = write!(
            svg,
            "<path class=\"grid\" d=\"M40 {0:.1}H600\"/><text x=\"32\" y=\"{1:.1}\" text-anchor=\"end\">{2}</text>",
            y(level),
            y(level) + 5.0,
            plain(level + 0.0)
        );
        level += 6.0;
    }
    for run in runs(&points) {
        let line = |of: &dyn Fn(&Plotted) -> f64| -> String {
            run.iter().map(|p| format!("{:.1} {:.1}", x(p.clock), y(of(p)))).collect::<Vec<_>>().join("L")
        };
        let lull = |p: &Plotted| 2.0 * p.wind - p.puff.min(2.0 * p.wind);
        let back: Vec<String> = run.iter().rev().map(|p| format!("{:.1} {:.1}", x(p.clock), y(lull(p)))).collect();
        let _ = write!(svg, "<path class=\"zone\" d=\"M{}L{}Z\"/>", line(&|p| p.puff), back.join("L"));
        let _ = write!(svg, "<path class=\"curve\" d=\"M{}h.1\"/>", line(&|p| p.wind));
    }
    for p in points.iter().step_by(points.len().div_ceil(NAMED)) {
        let from = p.from.map_or(String::new(), |f| format!("{:03.0}°", f / measure::angle::DEGREE));
        let _ = write!(
            svg,
            "<text x=\"{0:.1}\" y=\"206\" text-anchor=\"middle\">{1}</text><text x=\"{0:.1}\" y=\"234\" text-anchor=\"middle\">{from}</text>",
            x(p.clock),
            p.hour
        );
    }
    let picture = PreEscaped(svg + "</svg>");
    let ends: Vec<&Plotted> = runs(&points).windows(2).flat_map(|two| two[0].last().into_iter().chain(two[1].first())).collect();
    let gaps: Vec<String> = ends.chunks(2).map(|two| format!("between {} and {}", two[0].hour, two[1].hour)).collect();
    html! { (picture) @if !gaps.is_empty() { p.small { "No wind is given " (gaps.join(", ")) ": the card takes the hours that are." } } }
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

/// One hour of a forecast as it was typed: local time of day, knots, puffs, from.
#[derive(Debug, Clone, PartialEq)]
struct Hour {
    at: jiff::civil::Time,
    wind: f64,
    gust: Option<f64>,
    from: Option<f64>,
}

/// Reads a forecast; each line that cannot be read is told, and the others are kept out until all can be.
fn forecast(text: &str) -> Result<Vec<Hour>, String> {
    let mut hours: Vec<Hour> = Vec::new();
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    if lines.len() > 2 * HOURS {
        return Err(format!("{} lines are more than a day: one line an hour, {HOURS} at most", lines.len()));
    }
    for (k, line) in lines.iter().enumerate() {
        let short: String = line.chars().take(40).collect();
        let cells: Vec<&str> = line.split([';', '\t', ' ', ',']).map(str::trim).filter(|c| !c.is_empty()).collect();
        let number = |cell: &str| cell.replace('\u{2212}', "-").trim_end_matches(['°', 'k', 'n', 't']).parse::<f64>().ok();
        // A head of names is passed over.
        if k == 0 && cells.iter().all(|c| number(c).is_none() && !c.contains(':')) {
            continue;
        }
        let like = "write it like \"13:00 11 15 315\"";
        let clock = |cell: &str| -> Option<jiff::civil::Time> {
            let (h, m) = cell.trim_end_matches('h').split_once(':').unwrap_or((cell.trim_end_matches('h'), "0"));
            jiff::civil::Time::new(h.parse().ok()?, m.parse().ok()?, 0, 0).ok()
        };
        let (at, rest) = match cells.as_slice() {
            [only] if lines.len() == 1 && number(only).is_some() => (jiff::civil::time(12, 0, 0, 0), &cells[..]),
            [first, rest @ ..] if !rest.is_empty() => {
                (clock(first).ok_or_else(|| format!("\"{short}\": \"{first}\" is no time of day; {like}"))?, rest)
            }
            _ => return Err(format!("\"{short}\" has no wind in it; {like}")),
        };
        let value = |at: usize, what: &str| -> Result<Option<f64>, String> {
            match rest.get(at).filter(|c| **c != "-") {
                None => Ok(None),
                Some(cell) => number(cell).map(Some).ok_or_else(|| format!("\"{short}\": \"{cell}\" is no {what}; {like}")),
            }
        };
        let wind = value(0, "wind")?.ok_or_else(|| format!("\"{short}\" has no wind in it; {like}"))?;
        let gust = value(1, "puff")?;
        let from = value(2, "direction")?;
        let check = |v: f64| WIND_RANGE.check(v * KNOT).map_err(|e| format!("\"{short}\": {e}"));
        let wind = check(wind)?;
        let gust = gust.map(check).transpose()?;
        if gust.is_some_and(|g| g < wind) {
            return Err(format!("\"{short}\": puffs are lighter than the wind; time, knots, puffs, from"));
        }
        if from.is_some_and(|f| !(0.0..=360.0).contains(&f)) {
            return Err(format!("\"{short}\": a direction is 0 to 360 degrees; {like}"));
        }
        if hours.iter().any(|h| h.at == at) {
            return Err(format!("\"{short}\": that hour is there twice; keep one"));
        }
        hours.push(Hour { at, wind, gust, from: from.map(|f| (f * measure::angle::DEGREE).rem_euclid(core::f64::consts::TAU)) });
    }
    if hours.is_empty() { Err("type the wind: one number for the whole day, or a line an hour".to_owned()) } else { Ok(hours) }
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
        let mut store = yard.store();
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
    {
        let mut store = yard.store();
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
    }
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
    given::keep(&mut yard.store(), today.kept.id, &day, &list, &Yard::writer())?;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_forecast_is_read_as_it_is_typed() {
        let one = forecast("13:00 11 15 315").unwrap();
        assert_eq!((one[0].at, one[0].gust.is_some()), (jiff::civil::time(13, 0, 0, 0), true));
        assert!((one[0].wind - 11.0 * KNOT).abs() < 1e-9 && (one[0].from.unwrap() / measure::angle::DEGREE - 315.0).abs() < 1e-9);
        assert_eq!(forecast("hour;wind;puffs;from\n9;6;-;300\n10;8;11").unwrap().len(), 2);
        assert_eq!(forecast("12").unwrap()[0].wind, 12.0 * KNOT);
        assert_eq!(forecast("09 6\r\n\r\n10 7 \n").unwrap().len(), 2);
    }

    #[test]
    fn what_cannot_be_read_is_told() {
        for (text, word) in [
            ("", "type the wind"),
            ("13:00", "no wind"),
            ("25:00 11", "no time"),
            ("13 eleven", "no wind"),
            ("13 11 9", "lighter"),
            ("13 11 15 400", "0 to 360"),
            ("13 11\n13 12", "twice"),
            ("13 900", "900"),
            ("13 -4", "13 -4"),
            ("<b> 3", "no time"),
        ] {
            let why = forecast(text).unwrap_err();
            assert!(why.contains(word), "{text}: {why}");
        }
        assert!(forecast(&"1 2\n".repeat(100)).unwrap_err().contains("more than a day"));
    }
}
