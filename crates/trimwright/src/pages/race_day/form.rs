//! The course as a form: laid or drawn, how it is sailed, in which wind and current; the wind is the forecast's at the warning signal where
//! nobody typed another.

use maud::{Markup, html};
use measure::angle::DEGREE;
use measure::quantity::{KNOT, Range, plain};
use measure::wind::WIND_RANGE;
use measure::{Bearing, Length, Speed, WindLaw};
use regatta::course::CourseKind;
use squad::fact::day::{Day as DayFact, ForecastHour};
use squad::fact::race::Course as CourseFact;
use squad::{Id, Kept};

use super::super::form::{Form, Wrong, told};
use super::super::units::{Units, rounded};
use super::super::yard::{Today, today};
use crate::day::racing;
use crate::race_day::laid;
use crate::race_day::wind::{Compass, Weather, current, shift};

/// The beat and the line of a sketch where nobody said, m.
const BEAT: f64 = 400.0;
const LINE: f64 = 40.0;
/// The shift where nobody said, degrees.
const SHIFT: f64 = 5.0;

/// The hour of the forecast in which the warning signal is made.
fn hour(now: &Today) -> Option<ForecastHour> {
    let hours: Vec<ForecastHour> = now.hours.iter().map(|h| h.fact.clone()).collect();
    racing(&now.kept.fact, &hours).into_iter().next()
}

/// The wind and current of a course: its own, else the forecast's.
///
/// # Errors
/// The field that is missing, and why.
pub(super) fn weather(fact: &CourseFact, now: &Today) -> Result<Weather, (&'static str, String)> {
    let hour = hour(now);
    let forecast = |of: fn(&ForecastHour) -> Option<f64>| hour.as_ref().and_then(of);
    let from = fact.wind_from_rad.or(forecast(|h| h.from_rad)).ok_or((
        "from",
        "Nobody said where the wind comes from, and the forecast does not: type degrees, like 310, or by compass, like 318M.".to_owned(),
    ))?;
    let given = fact
        .wind_ms
        .or(forecast(|h| Some(h.wind_ms)))
        .ok_or(("knots", "No wind is forecast for today: type it in knots, like 10.".to_owned()))?;
    if given < 0.1 {
        return Err(("knots", "No wind, no race: type what you expect, like 8.".to_owned()));
    }
    let own = fact.wind_ms.is_some();
    let height = fact.wind_height_m.or(forecast(|h| Some(h.height_m)).filter(|_| !own)).unwrap_or(10.0);
    Ok(Weather {
        from: Bearing::radians_true(from),
        given,
        height,
        law: if now.kept.fact.sheltered { WindLaw::Sheltered } else { WindLaw::Open },
        doubt: fact.shift_rad,
        current: (fact.current_toward_rad.map_or_else(Bearing::default, Bearing::radians_true), Speed::metres_per_second(fact.current_ms)),
    })
}

/// What is kept, as the form has it.
pub(super) fn filled(kept: &Kept<CourseFact>) -> Form {
    let (fact, units) = (&kept.fact, Units::now());
    let degrees = |rad: Option<f64>| rad.map_or(String::new(), |r| rounded(r, DEGREE, 1));
    let knots = |ms: Option<f64>| ms.map_or(String::new(), |v| rounded(v, KNOT, 2));
    let mut list = vec![
        ("version", kept.version.to_string()),
        ("how", if fact.sketch.is_some() { "drawn" } else { "laid" }.to_owned()),
        ("buoys", fact.buoys_text.clone()),
        ("sketch", fact.sketch.clone().unwrap_or_default()),
        ("axis", degrees(fact.axis_rad)),
        ("beat", rounded(fact.beat_m, units.long().1, 0)),
        ("line", rounded(fact.line_m, units.long().1, 0)),
        ("place", fact.place.clone()),
        ("kind", fact.kind_text.clone().unwrap_or_default()),
        ("laps", fact.laps.map_or(String::new(), |n| n.to_string())),
        ("order", fact.order_text.clone()),
        ("leave", if fact.starboard { "starboard" } else { "port" }.to_owned()),
        ("from", degrees(fact.wind_from_rad)),
        ("knots", knots(fact.wind_ms)),
        ("height", fact.wind_height_m.map_or(String::new(), |m| rounded(m, units.long().1, 1))),
        ("shift", rounded(fact.shift_rad, DEGREE, 1)),
        ("toward", degrees(fact.current_toward_rad)),
        ("current", knots(Some(fact.current_ms).filter(|c| *c > 0.0))),
        ("signals", if fact.practice_signals { "3-2-1" } else { "rule-26" }.to_owned()),
    ];
    for (name, on) in [("gate", fact.with_gate), ("offset", fact.with_offset)] {
        if on {
            list.push((name, "1".to_owned()));
        }
    }
    Form(list.into_iter().map(|(k, v)| (k.to_owned(), v)).collect())
}

/// A course of which nothing is known but its day.
pub(super) fn blank(day: Id<DayFact>) -> CourseFact {
    CourseFact {
        day,
        buoys_text: String::new(),
        sketch: None,
        axis_rad: None,
        beat_m: BEAT,
        line_m: LINE,
        with_gate: false,
        with_offset: false,
        place: String::new(),
        kind_text: None,
        laps: None,
        order_text: String::new(),
        starboard: false,
        wind_from_rad: None,
        wind_ms: None,
        wind_height_m: None,
        shift_rad: SHIFT * DEGREE,
        current_toward_rad: None,
        current_ms: 0.0,
        practice_signals: false,
    }
}

/// The course of a form. What is wrong with it stands beside its field; then it is not to be kept.
pub(super) fn read(form: &Form, day: Id<DayFact>, boat: f64, now: &Today, wrong: &mut Wrong) -> CourseFact {
    let units = Units::now();
    let metres = |name: &str, what: &'static str, low: f64, high: f64, wrong: &mut Wrong| {
        form.number(name, &Range { what, low, high, ..Length::RANGE }, units.long().1, wrong)
    };
    let laps = match form.text("laps") {
        "" => None,
        text => text.parse::<u32>().map_err(|_| wrong.push(("laps".to_owned(), "type how many times round, like 2".to_owned()))).ok(),
    };
    let mut fact = CourseFact {
        buoys_text: form.text("buoys").chars().take(squad::fact::LONGEST_WORDS).filter(|c| *c != '\r').collect(),
        sketch: (form.text("how") == "drawn").then(|| form.text("sketch").chars().take(40).collect()),
        beat_m: metres("beat", "a beat", 30.0, 3000.0, wrong).unwrap_or(BEAT),
        line_m: metres("line", "a start line", 5.0, 1000.0, wrong).unwrap_or(LINE),
        with_gate: form.ticked("gate"),
        with_offset: form.ticked("offset"),
        place: form.line("place", 80, wrong),
        kind_text: Some(form.text("kind")).filter(|k| laid::kind(k).is_some()).map(str::to_owned),
        laps,
        order_text: form.line("order", 400, wrong),
        starboard: form.text("leave") == "starboard",
        wind_ms: form.number("knots", &WIND_RANGE, KNOT, wrong),
        wind_height_m: metres("height", "a height of the wind", 0.5, 30.0, wrong),
        practice_signals: form.text("signals") == "3-2-1",
        ..blank(day)
    };
    let at = if fact.sketch.is_some() { "place" } else { "buoys" };
    let compass = laid::compass(&fact, today().0).unwrap_or_else(|error| {
        wrong.push((at.to_owned(), error.to_string()));
        Compass::default()
    });
    let bearing = |name: &str, wrong: &mut Wrong| match form.text(name) {
        "" => None,
        text => {
            compass.read(text).map_err(|e| wrong.push((name.to_owned(), without_options(&format!("{e:#}"))))).ok().map(Bearing::in_radians)
        }
    };
    fact.axis_rad = bearing("axis", wrong);
    fact.wind_from_rad = bearing("from", wrong);
    match form.text("shift") {
        "" => {}
        text => match shift(text) {
            Ok(angle) => fact.shift_rad = angle,
            Err(error) => wrong.push(("shift".to_owned(), format!("{error:#}"))),
        },
    }
    match (form.text("toward"), form.text("current")) {
        (_, "") => {}
        ("", _) => wrong.push(("toward".to_owned(), "say where the current sets, in degrees, like 90".to_owned())),
        (toward, speed) => match current(&format!("{toward},{}", speed.replace(',', ".")), &compass) {
            Ok((toward, speed)) => (fact.current_toward_rad, fact.current_ms) = (Some(toward.in_radians()), speed.si()),
            Err(error) => wrong.push(("current".to_owned(), without_options(&format!("{error:#}")))),
        },
    }
    if wrong.is_empty() {
        match weather(&fact, now) {
            Err((field, why)) => wrong.push((field.to_owned(), why)),
            Ok(weather) => {
                if let Err(error) = laid::course(&fact, today().0, weather.from, boat) {
                    let field = match error.place.as_str() {
                        "beat" => "beat",
                        "start line" => "line",
                        "laps" => "laps",
                        "order" => "order",
                        _ => {
                            if fact.sketch.is_some() {
                                "sketch"
                            } else {
                                "buoys"
                            }
                        }
                    };
                    wrong.push((field.to_owned(), error.to_string()));
                }
            }
        }
    }
    fact
}

/// A message without the names of a command's options.
fn without_options(message: &str) -> String {
    message.replace("or --place", "or a place for the sketch")
}

/// The form.
pub(super) fn fields(form: &Form, wrong: &Wrong, now: Option<&Today>, kept: bool) -> Markup {
    let units = Units::now();
    let text = |name: &str, says: &str, hint: &str| html! { div { label for=(name) { (says) } input id=(name) name=(name) value=(form.text(name)) autocomplete="off"; small { (hint) } (told(wrong, name)) } };
    let chosen = |name: &str, value: &str, first: bool| form.text(name) == value || (first && form.text(name).is_empty());
    let choose = |name: &str, says: &str, list: &[(&str, &str)]| {
        html! { div { label for=(name) { (says) } select id=(name) name=(name) {
            @for (n, (value, words)) in list.iter().enumerate() { option value=(value) selected[chosen(name, value, n == 0)] { (words) } }
        } small {} (told(wrong, name)) } }
    };
    let tick = |name: &str, says: &str| html! { p { label { input.tick type="checkbox" name=(name) value="1" checked[form.ticked(name)]; " " (says) } } };
    let radio = |name: &str, value: &str, says: &str, first: bool| html! { label { input type="radio" name=(name) value=(value) checked[chosen(name, value, first)]; (says) } };
    let kinds: Vec<(&str, &str)> = CourseKind::ALL.map(|k| (k.word(), k.word())).to_vec();
    let open = [&[("", "as the names say")][..], &kinds].concat();
    let forecast = now.and_then(hour);
    let hint = |of: &dyn Fn(&ForecastHour) -> Option<String>, none: &str| forecast.as_ref().and_then(of).unwrap_or_else(|| none.to_owned());
    let from = hint(&|h| h.from_rad.map(|f| format!("Empty: {:03.0}, as forecast", f / DEGREE)), "Like 310, or by compass 318M");
    let knots = hint(&|h| Some(format!("Empty: {} as forecast", plain((h.wind_ms / KNOT).round()))), "Like 10");
    let length = units.long().0;
    html! { section #course-form {
        h2 { @if kept { "Change the course" } @else { "Today's course" } }
        form method="post" action="/race-day" {
            input type="hidden" name="version" value=(form.text("version"));
            fieldset { legend.unseen { "How the course is given" } div.choice { (radio("how", "laid", "Buoys laid", true)) (radio("how", "drawn", "A sketch", false)) } }
            div.columns {
                div { h3 { "Buoys laid" }
                    label for="buoys" { "A buoy a line: what it is for, then where it lies" }
                    textarea #buoys name="buoys" rows="8" spellcheck="false" aria-describedby="buoys-hint" { (form.text("buoys")) }
                    small #buoys-hint { "Like \"windward: 54 36.120 N 6 24.300 W\" or \"leeward: 183 M, 350 m from windward\". Names: windward, offset, wing, leeward, gate, pin, committee boat, finish." } (told(wrong, "buoys"))
                    div.fields { (choose("kind", "Kind of course", &open)) (text("order", "Order of the sailing instructions", "Empty: as the kind has it. Like start, windward, gate, finish")) }
                }
                div { h3 { "A sketch" }
                    div.fields { (choose("sketch", "Kind", &kinds)) (text("axis", "Its beat points, degrees", "Empty: into the wind")) (text("beat", &format!("Beat, {length}"), &format!("Empty: {}", rounded(BEAT, units.long().1, 0)))) (text("line", &format!("Start line, {length}"), &format!("Empty: {}", rounded(LINE, units.long().1, 0)))) }
                    div.ticks { (tick("gate", "A leeward gate")) (tick("offset", "An offset")) }
                    (text("place", "Where the middle of its start line lies", "Empty: nowhere, and no compass. Like 52 30.5 N 5 07.2 E"))
                }
            }
            h3 { "How it is sailed" }
            div.fields {
                (text("laps", "Laps", "Empty: twice up and down, or once round"))
                (choose("leave", "Course marks are left to", &[("port", "port"), ("starboard", "starboard")]))
                (choose("signals", "Signals", &[("rule-26", "rule 26: 5, 4, 1, 0"), ("3-2-1", "practice: 3-2-1")]))
            }
            h3 { "Wind and current" }
            div.fields {
                (text("from", "Wind from, degrees", &from)) (text("knots", "Wind, knots", &knots)) (text("height", &format!("Its height, {length}"), &format!("Empty: the forecast's, or {} {length}", rounded(10.0, units.long().1, 0))))
                (text("shift", "May shift to either side, degrees", "Empty: 5"))
                (text("toward", "Current sets toward, degrees", "Empty: no current")) (text("current", "Current, knots", ""))
            }
            p { button.tag type="submit" { "Keep this course" } }
        }
    } }
}
