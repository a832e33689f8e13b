//! The What if page: a slider and a number box per gauge, the boat as she then is, in words and pictures; two setups side by side.
//!
//! The address holds the whole state, so that a link reopens it. It names a boat of the squad and never a body mass.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse};
use boat::balance::{Boat, Status, Tack};
use boat::gauge::Gauge;
use boat::setup::{COST_LEG, Leg, Sit};
use maud::{Markup, PreEscaped, html};
use measure::angle::DEGREE;
use measure::quantity::{KNOT, plain};
use squad::{Crew, Squad};

use super::shell;
use super::units::{Units, rounded};
use super::yard::{Yard, lock};
use crate::briefing::card::Posture;
use crate::briefing::day::shape;
use crate::briefing::what_if::{Answer, Best, Moved, Place, knots};
use crate::day::Day;
use crate::drawing::plan::from_above;
use crate::drawing::posture::figure;
use crate::drawing::turned::{Eye, turned};
use crate::words::Words;

/// Winds that may be asked for, knots at ten metres.
const KNOTS: (f64, f64) = (2.0, 30.0);
/// What the address asks for.
#[derive(Debug, Clone)]
struct Asked {
    boat: String,
    knots: f64,
    leg: Leg,
    tack: Tack,
    /// Setup A and setup B, SI by gauge; B where one was begun.
    moved: [Moved; 2],
    two: bool,
    hold: bool,
    physics: bool,
    cost: Option<Gauge>,
    eye: Eye,
    /// What was typed and could not be used: field and why.
    wrong: BTreeMap<String, String>,
    /// Units of the page. Those of the settings in an address stand in the address.
    units: Units,
}

impl Asked {
    /// Reads an address; what cannot be read is told beside its field and left as it was.
    fn read(pairs: &[(String, String)], squad: &Squad, units: Units) -> Self {
        let of = |name: &str| pairs.iter().find(|p| p.0 == name).map(|p| p.1.trim());
        let mut wrong = BTreeMap::new();
        let mut number = |name: &str, low: f64, high: f64, usual: f64, like: &str| match of(name).filter(|t| !t.is_empty()) {
            None => usual,
            Some(text) => match text.replace(',', ".").parse::<f64>() {
                Ok(value) if (low..=high).contains(&value) => value,
                _ => {
                    let short: String = text.chars().take(20).collect();
                    wrong.insert(name.to_owned(), format!("\"{short}\" is not between {low} and {high}: type a number, like {like}"));
                    usual
                }
            },
        };
        let knots = number("wind", KNOTS.0, KNOTS.1, 10.0, "10");
        let eye = Eye { round: number("round", -180.0, 180.0, 25.0, "25") * DEGREE, up: number("up", 0.0, 89.0, 12.0, "12") * DEGREE };
        let typed = Units::named(of("units").unwrap_or_default());
        let mut moved = [Moved::new(), Moved::new()];
        for (key, text) in pairs {
            let Some((which, name)) = key.split_once('.') else { continue };
            let side = match which {
                "a" => 0,
                "b" => 1,
                _ => continue,
            };
            let Ok(gauge) = Gauge::named(name) else { continue };
            if text.trim().is_empty() {
                continue;
            }
            match text.trim().replace(',', ".").replace('\u{2212}', "-").parse::<f64>() {
                Ok(value) if value.is_finite() => {
                    moved[side].insert(gauge, value * typed.setting(gauge).1);
                }
                _ => {
                    let short: String = text.trim().chars().take(20).collect();
                    wrong.insert(key.clone(), format!("\"{short}\" is no number: type {}, like 12", typed.setting(gauge).0));
                }
            }
        }
        let labels = || squad.crews.iter().map(|c| c.boat.label.as_str());
        let first = labels().next().unwrap_or_default();
        let boat = match of("boat").filter(|t| !t.is_empty()) {
            None => first.to_owned(),
            Some(label) => labels().find(|l| *l == label).map_or_else(
                || {
                    let short: String = label.chars().take(40).collect();
                    wrong.insert("boat".to_owned(), format!("the squad has no boat \"{short}\": choose one"));
                    first.to_owned()
                },
                str::to_owned,
            ),
        };
        Self {
            boat,
            knots,
            leg: if of("leg") == Some("run") { Leg::Run } else { Leg::Beat },
            tack: if of("tack") == Some("port") { Tack::Port } else { Tack::Starboard },
            two: of("two").is_some() || !moved[1].is_empty(),
            moved,
            hold: of("hold").is_some(),
            physics: of("physics").is_some(),
            cost: of("cost").and_then(|name| Gauge::named(name).ok()),
            eye,
            wrong,
            units,
        }
    }
}

/// A place solved: the best setup, and what A and B do.
struct Solved {
    asked: Asked,
    crew: Crew,
    boat: Boat,
    best: Arc<Best>,
    /// What A does, and B where there are two.
    answers: Vec<Arc<Said>>,
}

/// What settings do, or why that cannot be told.
pub(super) type Said = Result<Answer, String>;

impl Solved {
    fn place(&self) -> Place<'_> {
        Place {
            boat: &self.boat,
            sailor: self.crew.sailor.body,
            day: Day::open(self.asked.knots * KNOT),
            leg: self.asked.leg,
            tack: self.asked.tack,
        }
    }

    fn of(yard: &Yard, squad: &Squad, asked: Asked) -> Result<Self, String> {
        let crew = squad.crews.iter().find(|c| c.boat.label == asked.boat).ok_or("There is no boat yet: add one.")?.clone();
        let constants = yard.constants().map_err(|error| error.to_string())?;
        let boat = Day::open(asked.knots * KNOT)
            .by(&constants)
            .own(yard.class_of(crew.boat.class.as_deref()), &crew)
            .map_err(|error| format!("{error:#}"))?;
        let key = format!("{crew:?} {} {:?} {:?} {constants:?}", asked.knots, asked.leg, asked.tack);
        let known = lock(&yard.best).get(&key).cloned();
        let solved = |boat: &Boat| -> Result<Arc<Best>, Status> {
            let day = Day::open(asked.knots * KNOT);
            let place = Place { boat, sailor: crew.sailor.body, day, leg: asked.leg, tack: asked.tack };
            let best = Arc::new(place.best()?);
            yard.keep_best(key.clone(), &best);
            Ok(best)
        };
        let best = match known {
            Some(best) => best,
            None => solved(&boat).map_err(|status| format!("No setting in this wind: {}.", status.words()))?,
        };
        // A form sends every box: what stands where the best has it was not moved, and the sailor may trim it.
        let mut asked = asked;
        for moved in &mut asked.moved {
            let units = asked.units;
            moved.retain(|&gauge, value| {
                best.setup.setting(gauge).is_none_or(|setting| units.written(gauge, *value) != units.written(gauge, setting.value))
            });
        }
        let mut solved = Self { asked, crew, boat, best, answers: Vec::new() };
        solved.answers = solved.said(yard, &key);
        Ok(solved)
    }

    /// What A does, and B where there are two: each solved once, from the best or from what was asked before.
    fn said(&self, yard: &Yard, key: &str) -> Vec<Arc<Said>> {
        let (place, asked) = (self.place(), &self.asked);
        let sides = if asked.two { 2 } else { 1 };
        asked
            .moved
            .iter()
            .take(sides)
            .map(|moved| {
                // A hand that goes on with a slider is a step from where it was; another slider begins at the best.
                let same = format!("{key} {} {:?}", asked.hold, moved.keys());
                let settings = format!("{moved:?} {}", asked.units.name());
                if let Some(known) = lock(&yard.said).of(&same, &settings) {
                    return known;
                }
                let near = lock(&yard.said).last(&same);
                let near = near.as_deref().and_then(|said| said.as_ref().ok()).map(|answer| &answer.at);
                let said = Arc::new(place.answer(&self.best, moved, asked.hold, asked.units.tape(), near));
                lock(&yard.said).keep(&same, settings, &said);
                said
            })
            .collect()
    }
}

/// The whole page.
pub(super) async fn page(State(yard): State<Arc<Yard>>, Query(pairs): Query<Vec<(String, String)>>) -> super::Answer {
    let squad = yard.squad()?;
    let units = Units::now();
    let made = tokio::task::spawn_blocking(move || {
        let asked = Asked::read(&pairs, &squad, units);
        match Solved::of(&yard, &squad, asked.clone()) {
            Ok(solved) => whole(&yard, &squad, &solved),
            Err(why) => (html! {}, html! { (choices(&squad, &asked)) section { p.verdict { (why) } } }),
        }
    });
    let (facts, body) = made.await.map_err(|_| super::Refusal::because("This could not be drawn", "Go back and try another setting."))?;
    Ok(super::whole("What if", facts, body))
}

/// The parts that change while a slider moves.
pub(super) async fn parts(State(yard): State<Arc<Yard>>, Query(pairs): Query<Vec<(String, String)>>) -> super::Answer {
    let squad = yard.squad()?;
    let units = Units::now();
    let made = tokio::task::spawn_blocking(move || {
        let asked = Asked::read(&pairs, &squad, units);
        match Solved::of(&yard, &squad, asked) {
            Ok(solved) => moving(&yard, &solved),
            Err(why) => html! { div #verdict { p.verdict { (why) } } },
        }
    });
    let parts = made.await.map_err(|_| super::Refusal::because("This could not be drawn", "Try another setting."))?;
    Ok(Html(parts.into_string()).into_response())
}

/// A gauge's name in a coach's words, and where its tape begins.
pub(super) fn names(words: &Words, gauge: Gauge) -> (String, String) {
    if gauge == Gauge::BoomEndSheeted {
        return ("Boom end, leech tight".to_owned(), "transom top".to_owned());
    }
    let key = match gauge {
        Gauge::CarOffset => "car",
        Gauge::BoardAngle => "board",
        other => other.name(),
    };
    match words.gauge.get(key) {
        Some(found) => (found.name.clone(), found.from.clone()),
        None => {
            let name = advice::dock::name(gauge);
            let mut letters = name.chars();
            let head = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
            (format!("{head}{}", letters.as_str()), String::new())
        }
    }
}

/// The facts and the body of the page.
fn whole(yard: &Yard, squad: &Squad, solved: &Solved) -> (Markup, Markup) {
    let asked = &solved.asked;
    let tack = if asked.tack == Tack::Port { "port" } else { "starboard" };
    let facts = html! { p { b { (solved.crew.sailor.label) } " in " (asked.boat) ", " (plain(asked.knots)) " knots at 10 m, " (asked.leg.name()) ", " (tack) " tack" } };
    let place = solved.place();
    let body = html! {
        form method="get" action="/what-if" data-live="/what-if/parts" {
            (choices_inside(squad, asked))
            (moving_verdict(solved))
            div.columns {
                div { (moving_sides(yard, solved)) }
                div {
                    @for gauge in place.gauges() { (slider(yard, solved, gauge)) }
                    p { button.tag type="submit" { "Show this setup" } " "
                        a.second href=(format!("/what-if?boat={}&wind={}&leg={}&tack={tack}", encoded(&asked.boat), plain(asked.knots), asked.leg.name())) { "Put back the best" } }
                    p.small { "Moving one holds the others; the sailor trims sheet, course and how far out anew." }
                    p { label { input.tick type="checkbox" name="hold" value="1" checked[asked.hold]; " Touch nothing else" } }
                    p { label { input.tick type="checkbox" name="two" value="1" checked[asked.two]; " Two setups side by side" } }
                    p { label { input.tick type="checkbox" name="physics" value="1" checked[asked.physics]; " Show the physics" } }
                    h2 { "Where you stand" }
                    (turn("round", "Round her, degrees from astern", -180.0, 180.0, asked.eye.round / DEGREE))
                    (turn("up", "Above the water, degrees", 0.0, 80.0, asked.eye.up / DEGREE))
                }
            }
            section {
                div.fields {
                    div { label for="cost" { "What does it cost?" }
                        select #cost name="cost" {
                            option value="" { "choose a gauge" }
                            @for gauge in place.gauges() { option value=(gauge.name()) selected[asked.cost == Some(gauge)] { (names(&yard.words, gauge).0) } }
                        }
                    }
                    div.noscript { button.second type="submit" { "Draw it" } }
                }
                (moving_cost(yard, solved))
            }
        }
    };
    (facts, body)
}

fn turn(name: &str, says: &str, low: f64, high: f64, value: f64) -> Markup {
    html! { p { label for=(name) { (says) } input #(name) type="range" name=(name) min=(low) max=(high) step="5" value=(value.round()); } }
}

fn choices(squad: &Squad, asked: &Asked) -> Markup {
    html! { form method="get" action="/what-if" { (choices_inside(squad, asked)) p { button.tag type="submit" { "Show this setup" } } } }
}

fn choices_inside(squad: &Squad, asked: &Asked) -> Markup {
    let told = |name: &str| html! { @if let Some(why) = asked.wrong.get(name) { p.wrong role="alert" { (why) } } };
    html! {
        section.first {
            input type="hidden" name="units" value=(asked.units.name());
            div.fields {
                div { label for="boat" { "Sailor and boat" }
                    select #boat name="boat" { @for crew in &squad.crews {
                        option value=(crew.boat.label) selected[crew.boat.label == asked.boat] { (crew.sailor.label) " in " (crew.boat.label) }
                    } } (told("boat")) }
                div { label for="wind" { "Wind, knots at 10 m" } input #wind name="wind" inputmode="decimal" value=(plain(asked.knots)); (told("wind")) }
                div { label for="leg" { "Leg" } select #leg name="leg" {
                    option value="beat" selected[asked.leg == Leg::Beat] { "beat" } option value="run" selected[asked.leg == Leg::Run] { "run" } } }
                div { label for="tack" { "Tack" } select #tack name="tack" {
                    option value="starboard" selected[asked.tack == Tack::Starboard] { "starboard" } option value="port" selected[asked.tack == Tack::Port] { "port" } } }
            }
        }
    }
}

/// A gauge: its tape with the band in jaws, a slider on it, a box beside it; and under it setup B's, where there are two.
fn slider(yard: &Yard, solved: &Solved, gauge: Gauge) -> Markup {
    let place = solved.place();
    let (Some((low, high)), Some(setting)) = (place.range(&solved.best, gauge), solved.best.setup.setting(gauge)) else { return html! {} };
    let units = solved.asked.units;
    let (unit, one) = units.setting(gauge);
    let step = units.step(gauge);
    let (name, from) = names(&yard.words, gauge);
    let unit = match (gauge, unit) {
        (Gauge::BoardAngle, _) => "degrees, tip forward of straight down",
        (_, "deg") => "degrees",
        (_, unit) => unit,
    };
    // Whole steps, so that every value of the slider can be set by hand.
    let (low, high) = ((low / one / step - 1e-6).ceil() * step, (high / one / step + 1e-6).floor() * step);
    let sides: &[usize] = if solved.asked.two { &[0, 1] } else { &[0] };
    html! {
        @for &side in sides {
            @let letter = ["a", "b"][side];
            @let value = solved.asked.moved[side].get(&gauge).copied().unwrap_or(setting.value);
            @let shown = units.written(gauge, value);
            @let id = format!("{letter}-{}", gauge.name());
            div.gauge {
                div.names {
                    label for=(id) { span.name { (name) @if solved.asked.two { " " (letter.to_uppercase()) } } " " small { (unit) @if !from.is_empty() && gauge != Gauge::BoardAngle { " from the " (from) } } }
                    (note(solved, gauge, side))
                }
                div class=(if side == 1 { "strip b" } else { "strip" }) {
                    (scale(low, high, (setting.low / one, setting.high / one), setting.matters))
                    input type="range" aria-label=(format!("{name}, {unit}")) id=(format!("r-{id}")) min=(plain(low)) max=(plain(high)) step=(step) value=(shown) data-twin=(id);
                }
                input.value #(id) name=(format!("{letter}.{}", gauge.name())) inputmode="decimal" value=(plain(shown)) data-twin=(format!("r-{id}"));
            }
            @if let Some(why) = solved.asked.wrong.get(&format!("{letter}.{}", gauge.name())) { p.wrong role="alert" { (why) } }
        }
    }
}

/// What a setting of one side costs by itself, beside its name.
fn note(solved: &Solved, gauge: Gauge, side: usize) -> Markup {
    let id = format!("note-{}-{}", ["a", "b"][side], gauge.name());
    let setting = solved.best.setup.setting(gauge);
    let value = solved.asked.moved[side].get(&gauge).copied();
    let words = match (setting, value) {
        (Some(s), _) if !s.matters => "does not matter today".to_owned(),
        (Some(s), Some(v)) if v < s.low - 0.5 * s.step => "below the band".to_owned(),
        (Some(s), Some(v)) if v > s.high + 0.5 * s.step => "above the band".to_owned(),
        _ => "no difference".to_owned(),
    };
    let out = words.ends_with("band");
    html! { small id=(id) class=(if out { "costs" } else { "" }) { (words) } }
}

/// The tape of a gauge: ticks, figures and the band in jaws, as wide as the slider; figures keep their size at any width.
fn scale(low: f64, high: f64, band: (f64, f64), matters: bool) -> Markup {
    let span = (high - low).max(1e-9);
    let x = |v: f64| 100.0 * ((v - low) / span).clamp(0.0, 1.0);
    let every = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|e| span / e <= 6.0).unwrap_or(100.0);
    let mut svg = String::from(
        "<svg class=\"scale\" aria-hidden=\"true\"><rect class=\"paper\" y=\"22\" width=\"100%\" height=\"19\"/>\
         <svg class=\"torn\" x=\"100%\"><path class=\"paper\" d=\"M-1 22l3 4l-2 4l2 5l-3 6\"/></svg>",
    );
    let mut tick = (low / every).ceil() * every;
    while tick <= high + 1e-9 {
        let figure = plain(tick + 0.0).replace('-', "−");
        let _ = write!(
            svg,
            "<line class=\"mark\" x1=\"{0:.2}%\" x2=\"{0:.2}%\" y1=\"32\" y2=\"41\"/>\
             <text x=\"{0:.2}%\" y=\"56\" text-anchor=\"middle\">{figure}</text>",
            x(tick)
        );
        tick += every;
    }
    if matters && band.1 > band.0 {
        let (a, b) = (x(band.0), x(band.1));
        for (x1, x2, y2) in [(a, a, 30), (a, b, 16), (b, b, 30)] {
            let _ = write!(svg, "<line class=\"band\" x1=\"{x1:.2}%\" x2=\"{x2:.2}%\" y1=\"16\" y2=\"{y2}\"/>");
        }
    }
    PreEscaped(svg + "</svg>")
}

fn moving(yard: &Yard, solved: &Solved) -> Markup {
    let sides = if solved.asked.two { 2 } else { 1 };
    html! {
        (moving_verdict(solved))
        (moving_sides(yard, solved))
        (moving_cost(yard, solved))
        @for gauge in solved.place().gauges() { @for side in 0..sides { (note(solved, gauge, side)) } }
    }
}

/// A distance, written so that small differences are none.
fn far(behind: f64, units: Units) -> String {
    let (unit, one) = units.long();
    let behind = if behind.abs() < 0.75 { 0.0 } else { behind.abs() };
    format!("{} {unit}", rounded(behind, one, 0))
}

fn moving_verdict(solved: &Solved) -> Markup {
    let found = &solved.answers;
    let length = solved.boat.class.hull.length;
    let units = solved.asked.units;
    html! {
        section #verdict aria-live="polite" {
            @match found.first().map(Arc::as_ref) {
                Some(Ok(answer)) => {
                    div.columns {
                        div { p.giant { (far(answer.behind, units)) }
                            p { b { @if answer.behind < -0.75 { "ahead of the best by the card's rules" } @else { "behind the best" } " when it has made " (far(COST_LEG, units)) " good" } }
                            @if answer.behind >= 0.75 { p.small { "that is " (plain((answer.behind / length * 2.0).round() / 2.0)) " boat lengths, by the model" } } }
                        div { @if answer.advice.is_empty() { p.verdict { "Nothing to move." } } @else {
                            @for (k, line) in answer.advice.iter().take(3).enumerate() { p class=(if k == 0 { "verdict" } else { "" }) { (sentence(line)) } } } }
                    }
                    @if let Some(Ok(other)) = found.get(1).map(Arc::as_ref) {
                        @let gain = answer.behind - other.behind;
                        p { b { "B " } @if gain.abs() < 0.75 { "is as good." } @else if gain > 0.0 { "is " (far(gain, units)) " better." } @else { "is " (far(gain, units)) " worse." } }
                    }
                }
                Some(Err(why)) => p.verdict { (sentence(why)) },
                None => {}
            }
        }
    }
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let head = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{head}{}.", letters.as_str().trim_end_matches('.'))
}

fn moving_sides(yard: &Yard, solved: &Solved) -> Markup {
    let found = &solved.answers;
    html! {
        div #sides class=(if found.len() > 1 { "pair" } else { "" }) {
            @for (side, answer) in found.iter().enumerate() {
                div class=(["side side-a", "side side-b"][side]) {
                    div.names { h2 { (["A", "B"][side]) } }
                    @match answer.as_ref() { Ok(answer) => (side_view(yard, solved, answer)), Err(why) => p { (sentence(why)) } }
                }
            }
        }
    }
}

fn side_view(yard: &Yard, solved: &Solved, answer: &Answer) -> Markup {
    let posture = match answer.sit {
        Sit::Inside => Posture::Inside,
        Sit::OnTheSide => Posture::OnTheSide,
        Sit::FlatOut => Posture::FlatOut,
    };
    let sit = yard.words.posture.get(posture.key()).cloned().unwrap_or_default();
    let angle = (answer.angle / DEGREE).round();
    let speed = format!("{:.1} kn, {angle:.0}° to the wind", knots(answer.speed));
    let boat = shape(&solved.boat, answer.at.controls, answer.at.whole.afloat.draught);
    let tack = solved.asked.tack;
    let (unit, one) = solved.asked.units.short();
    html! {
        (shell::picture(&figure(posture, &boat, 80.0, 44.0, &format!("From behind: {sit}."))))
        p { b { (rounded(answer.hike.0.max(0.0), one, 0)) } " of " (rounded(answer.hike.1, one, 0)) " " (unit) " out: " (sit) }
        (shell::picture(&turned(&solved.boat, &answer.at, solved.asked.eye, 80.0, 80.0, &format!("The sail as it stands. {}", looks(answer)))))
        dl { dt { "Speed" } dd { (speed) } @for (name, words) in &answer.looks { dt { (name) } dd { (words) } } }
        div.pair {
            (shell::picture(&boat.from_the_side(60.0, 66.0, "From the side, with the mast's lean over the plumb line.")))
            (shell::picture(&from_above(&solved.boat, &answer.at, tack, 60.0, 66.0, "From above: boom, car, sailor, rudder and the wind.")))
        }
        @if solved.asked.physics { (physics(answer)) }
    }
}

fn looks(answer: &Answer) -> String {
    answer.looks.iter().map(|(name, words)| format!("{name} {words}. ")).collect()
}

fn physics(answer: &Answer) -> Markup {
    let w = &answer.at.whole;
    let rows = [
        ("Drive of the sail", w.sail.load.force[0]),
        ("Side force of the sail", w.sail.load.force[1]),
        ("Sheet at the boom's block", w.sail.sheet_force),
        ("Friction", w.drag.friction),
        ("Waves", w.drag.residuary),
        ("Transom", w.drag.transom),
        ("Side force of the board", w.board.load.force[1]),
        ("Side force of the rudder", w.rudder.load.force[1]),
    ];
    html! { table { thead { tr { th { "Forces" } th.number { "newtons" } } } tbody {
        @for (name, force) in rows { tr { td { (name) } td.number { (format!("{force:.0}").replace('-', "−")) } } }
        tr { td { "Leeway, degrees" } td.number { (format!("{:.1}", w.leeway / DEGREE)) } }
    } } }
}

/// Hangs down from zero: better is up.
fn moving_cost(yard: &Yard, solved: &Solved) -> Markup {
    let Some(gauge) = solved.asked.cost else { return html! { div #costs {} } };
    let place = solved.place();
    let points = place.swept(&solved.best, &solved.asked.moved[0], gauge);
    let (name, _) = names(&yard.words, gauge);
    let units = solved.asked.units;
    let (unit, (measured, one)) = (units.setting(gauge).0, units.long());
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return html! { div #costs { p { "No state of this gauge can be sailed here." } } };
    };
    let least = points.iter().map(|p| p.1).fold(f64::MAX, f64::min).min(0.0);
    let most = points.iter().map(|p| p.1).fold(least + 5.0, f64::max).min(least + 80.0);
    let x = |v: f64| 60.0 + 540.0 * (v - first.0) / (last.0 - first.0).max(1e-9);
    let y = |m: f64| 24.0 + 190.0 * (m.min(most) - least) / (most - least);
    let mut svg = String::from("<svg class=\"plot\" viewBox=\"0 0 632 270\" role=\"img\">");
    let _ = write!(svg, "<title>Behind over the {}</title>", name.to_lowercase().replace('<', ""));
    if let Some(s) = solved.best.setup.setting(gauge).filter(|s| s.matters) {
        let (a, b) = (x(s.low.max(first.0)), x(s.high.min(last.0)));
        let _ = write!(svg, "<path class=\"zone\" d=\"M{a:.1} 24H{b:.1}V214H{a:.1}Z\"/>");
    }
    let every = [1.0, 2.0, 5.0, 10.0, 20.0].into_iter().find(|e| (most - least) / e <= 5.0).unwrap_or(40.0);
    let mut level = (least / every).ceil() * every;
    while level <= most {
        let at = y(level);
        let _ = write!(
            svg,
            "<path class=\"grid\" d=\"M60 {at:.1}H600\"/><text x=\"52\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            at + 5.0,
            rounded(level, one, 0)
        );
        level += every;
    }
    let line: Vec<String> = points.iter().map(|p| format!("{:.1} {:.1}", x(p.0), y(p.1))).collect();
    let _ = write!(svg, "<path class=\"curve\" d=\"M{}\"/>", line.join("L"));
    let now = solved.asked.moved[0].get(&gauge).copied().or_else(|| solved.best.setup.setting(gauge).map(|s| s.value));
    if let Some(now) = now.filter(|v| *v >= first.0 && *v <= last.0) {
        let _ = write!(svg, "<path class=\"here\" d=\"M{0:.1} 12V214\"/><text x=\"{1:.1}\" y=\"12\">here now</text>", x(now), x(now) + 6.0);
    }
    for k in 0..5 {
        let v = first.0 + (last.0 - first.0) * f64::from(k) / 4.0;
        let _ = write!(svg, "<text x=\"{:.1}\" y=\"234\" text-anchor=\"middle\">{}</text>", x(v), units.figure(gauge, v));
    }
    let _ = write!(svg, "<text x=\"330\" y=\"260\" text-anchor=\"middle\">{}, {}</text></svg>", name.replace('<', ""), unit);
    let worst = points.iter().max_by(|a, b| a.1.total_cmp(&b.1)).copied().unwrap_or(*first);
    html! {
        div #costs {
            h2 { "What does the " (name.to_lowercase()) " cost?" }
            p.small { (if measured == "ft" { "feet" } else { "metres" }) " lost when the best has made " (far(COST_LEG, units)) " good; the pale zone makes no difference" }
            (PreEscaped(svg))
            p { "At worst " (far(worst.1, units)) ", at " (units.shown(gauge, worst.0)) ". " b { "Held: " } "wind, water and every other setting as above; sheet, course and how far out found anew for each point. Rests on theory: no line-up of your own stands behind it yet." }
        }
    }
}

/// A label as part of an address.
fn encoded(text: &str) -> String {
    text.bytes().map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}
