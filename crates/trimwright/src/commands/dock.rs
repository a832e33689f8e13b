//! `dock`: boats as they are rigged, what is inside, and what to move.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use advice::AdviceError;
use advice::caution::Caution;
use advice::dock::{Reading, Round, Tape, Verdict, name};
use advice::own::OwnSetup;
use advice::rake::{Masthead, Notches, SheetedDrop};
use anyhow::{Context, Result, anyhow, bail};
use boat::balance::{Boat, CONTROLS, Control, Tack};
use boat::class::{AdjusterKind, Class};
use boat::crew::Sailor;
use boat::gauge::{Gauge, GaugeUnit};
use boat::setup::{Leg, LegSetup, Request};
use clap::{Args, ValueEnum};
use measure::quantity::{Range, plain};
use measure::{Length, Warning};
use rayon::prelude::*;
use serde::Serialize;
use squad::{Crew, Date, Squad};
use trimwright::briefing::doubts::Doubts;
use trimwright::briefing::solved::own_setup;

use super::balance::setting;
use super::day::{Body, Day, OfClass, OnTack, Units, Weather, number, tack_name};
use super::setup::{Wind, reading, unit};
use super::store::{constants_in, squad_of};
use super::watch::{CautionRow, Kept, Watch, told};
use crate::input;
use crate::jobs::Progress;
use crate::output::{Done, Shown, show, warn};
use crate::table::Rows;

/// Boats as they are rigged: inside, high or low, which part moves which way, and what it costs to leave it
///
/// One boat by --mass and what the tape said (--set), or a squad, from a file or as it is kept (--store): there `rigged.GAUGE` is what the tape said, `base.GAUGE`
/// what the coach trusts, and two boom-end heights at two notches put all of it in that boat's own notches. What the squad
/// has no reading for is judged as the base setup has it.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  One boat, the mast and the foot of the sail, in 10 knots:\n  $ trimwright dock --mass 45 --wind 10 --set boom_end_dock=44 --set sail_boom_gap=12\n  Her own notches: the boom end stood 21 cm high at notch 3 and 34 at notch 5:\n  $ trimwright dock --mass 45 --wind 10 --notch 3=21 --notch 5=34 --set boom_end_dock=44\n  All boats of a squad, as rigged:\n  $ trimwright dock --squad data/squads/as_rigged.toml --wind 10"
)]
pub(crate) struct Dock {
    #[command(flatten)]
    class: OfClass,
    /// The sailor's mass in kilograms, dressed to sail; also "99 lb". Used here and printed nowhere
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    mass: Option<String>,
    /// The sailor's stature in centimetres; without it that of children of this mass
    #[arg(long, value_name = "CM", requires = "mass")]
    stature: Option<String>,
    /// first season | sails a course | races | races in any wind; without it "sails a course"
    #[arg(long, value_name = "S", requires = "mass")]
    skill: Option<String>,
    /// The squad file (TOML or CSV) instead of --mass
    #[arg(long, value_name = "FILE", conflicts_with_all = ["mass", "stature", "skill"])]
    squad: Option<PathBuf>,
    /// The folder where the squad is kept, instead of --squad
    #[arg(long, value_name = "DIR", conflicts_with_all = ["squad", "mass", "stature", "skill"])]
    store: Option<PathBuf>,
    /// One boat of the squad; without it all of them
    #[arg(long, value_name = "LABEL")]
    boat: Option<String>,
    #[command(flatten)]
    weather: Weather,
    /// A gauge and what the tape said, like sail_boom_gap=12 or "sail_boom_gap=5 in"; may be given many times
    #[arg(long = "set", value_name = "GAUGE=VALUE", allow_hyphen_values = true)]
    settings: Vec<String>,
    /// A notch of the mast, counted from forward, and the boom end's height there, like 3=21; give two
    #[arg(long = "notch", value_name = "N=HEIGHT", allow_hyphen_values = true)]
    notches: Vec<String>,
    /// Which leg the lines are judged by; the mast is always set for the beat
    #[arg(long, value_enum, default_value_t = OnLeg::Beat)]
    leg: OnLeg,
    /// The tack; starboard, as on the cards
    #[arg(long, value_enum, default_value_t = OnTack::Starboard)]
    tack: OnTack,
    #[command(flatten)]
    watch: Watch,
    /// Units on screen
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    units: Units,
}

/// Beat or run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum OnLeg {
    /// Upwind.
    Beat,
    /// Downwind.
    Run,
}

#[derive(Debug, Serialize)]
struct Document {
    class: String,
    wind: Wind,
    leg: &'static str,
    tack: &'static str,
    #[serde(flatten)]
    one: Option<BoatRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    boats: Option<Vec<BoatRow>>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct BoatRow {
    #[serde(skip_serializing_if = "Option::is_none")]
    boat: Option<String>,
    status: &'static str,
    cautions: Vec<CautionRow>,
    notch: NotchRow,
    boom_end_drop: Option<DropRow>,
    readings: Vec<ReadingRow>,
}

/// What a notch of the mast does to the boom end.
#[derive(Debug, Serialize)]
struct NotchRow {
    boom_end_m: f64,
    doubt_m: f64,
    this_boats_own: bool,
}

/// How much lower the boom end stands with the leech pulled tight.
#[derive(Debug, Serialize)]
struct DropRow {
    value_m: f64,
    doubt_m: f64,
    this_boats_own: bool,
}

#[derive(Debug, Serialize)]
struct ReadingRow {
    gauge: &'static str,
    from: &'static str,
    measured: f64,
    unit: &'static str,
    low: f64,
    high: f64,
    verdict: &'static str,
    by: f64,
    at_the_edge: bool,
    r#move: Option<MoveRow>,
    cost_lengths: Option<f64>,
    cost_m: Option<f64>,
    rough: bool,
    basis: &'static str,
    words: String,
}

#[derive(Debug, Serialize)]
struct MoveRow {
    part: &'static str,
    steps: u32,
    direction: &'static str,
    masthead: Option<&'static str>,
    then: f64,
    then_doubt: f64,
    arrives: bool,
}

/// A boat to judge: who sails her and what was read.
struct Rigged {
    label: Option<String>,
    boat: Boat,
    sailor: Sailor,
    mast: Notches,
    own_drop: Option<SheetedDrop>,
    own: OwnSetup,
    readings: Vec<(Gauge, f64, &'static str)>,
}

/// A boat judged.
struct Judged {
    row: BoatRow,
    cautions: Vec<Caution>,
    readings: Vec<Reading>,
    /// Readings that no band can be held against.
    unheld: Vec<Warning>,
    length: f64,
    inserts: bool,
}

/// Reads "3=21".
fn notch(text: &str) -> Result<(u32, f64)> {
    let (at, height) = text.split_once('=').with_context(|| format!("--notch {text}: write the notch, = and the height, like 3=21"))?;
    let at = at.trim().parse().ok().filter(|n| *n <= 100).with_context(|| format!("--notch {text}: count the notches from forward"))?;
    let range = Range { what: "a boom-end height", low: 0.0, high: 2.0, ..Length::RANGE };
    Ok((at, number(height, &range, 0.01).with_context(|| format!("--notch {text}"))?))
}

impl Dock {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let class = self.class.read()?;
        let mut day = self.weather.read()?;
        let kept = match &self.store {
            Some(folder) => {
                let today = Date(jiff::ZonedDateTime::now().date());
                let (store, squad, _) = squad_of(folder, Some(today))?;
                day = day.by(&constants_in(&store)?);
                Kept::of(&store, today, squad.crews.len())?
            }
            None => Kept::default(),
        };
        let watched = self.watch.read(&day, kept)?;
        let (boats, mut warnings) = self.boats(&class, &day)?;
        let leg = if self.leg == OnLeg::Beat { Leg::Beat } else { Leg::Run };
        let tack = Tack::from(self.tack);
        // What is not known widens the bands as on the cards; where it has no answer they say what makes no difference, and no more.
        let wind = [day.conditions(1.0, tack).wind];
        let class_boat = day.boat(&class, None)?;
        let doubts = Doubts::of_squad(boats.iter().map(|rigged| &rigged.sailor), &class_boat, &day, &wind, &|| true)
            .context("solving the doubts was stopped")?;
        let progress = Mutex::new(Progress::of("boats measured", boats.len()));
        let judged: Vec<Result<Judged>> = boats
            .par_iter()
            .map(|rigged| {
                let judged = rigged.judged(&day, leg, tack, self.units, &doubts);
                if let Ok(mut progress) = progress.lock() {
                    progress.step();
                }
                let mut judged = judged.with_context(|| rigged.label.clone().unwrap_or_else(|| "--set".to_owned()))?;
                let preventer = rigged.readings.iter().any(|r| r.0 == Gauge::Preventer && r.1 > 0.5);
                judged.cautions = watched.said(&class.name, rigged.sailor.skill, preventer);
                judged.row.cautions = judged.cautions.iter().map(CautionRow::from).collect();
                Ok(judged)
            })
            .collect();
        drop(progress);
        let judged = judged.into_iter().collect::<Result<Vec<_>>>()?;
        warnings.extend(judged.iter().flat_map(|boat| boat.unheld.iter().cloned()));
        warn(&warnings);
        let table = table(&judged, &class, &day, leg, tack, self.units);
        let mut rows: Vec<BoatRow> = judged.into_iter().map(|j| j.row).collect();
        let single = self.mass.is_some() || self.boat.is_some();
        let one = if single { rows.pop() } else { None };
        let document = Document {
            class: class.name.clone(),
            wind: Wind::of(&day),
            leg: leg.name(),
            tack: tack_name(tack),
            one,
            boats: (!single).then_some(rows),
            warnings: warnings.iter().map(ToString::to_string).collect(),
        };
        show(shown, &document, || table)?;
        Ok(Done::with(&warnings))
    }

    /// The squad asked for, and where it stands.
    fn squad(&self, warnings: &mut Vec<Warning>) -> Result<Option<(&Path, Squad)>> {
        let (path, squad, told) = match (&self.squad, &self.store) {
            (Some(path), _) => {
                let read = squad::read(&path.display().to_string(), &input::bytes(path)?)?;
                (path.as_path(), read.value, read.warnings)
            }
            (None, Some(folder)) => {
                let (_, squad, told) = squad_of(folder, None)?;
                (folder.as_path(), squad, told)
            }
            (None, None) => return Ok(None),
        };
        warnings.extend(told);
        Ok(Some((path, squad)))
    }

    /// The boats asked for, with what was read on each.
    fn boats(&self, class: &Class, day: &Day) -> Result<(Vec<Rigged>, Vec<Warning>)> {
        let typed = self.settings.iter().map(|s| setting(s)).collect::<Result<Vec<_>>>()?;
        let heights = self.notches.iter().map(|n| notch(n)).collect::<Result<Vec<_>>>()?;
        let mut warnings = Vec::new();
        let Some((path, squad)) = self.squad(&mut warnings)? else {
            let Some(mass) = &self.mass else { bail!("give --mass for one boat, or --squad or --store for those of a squad") };
            if self.boat.is_some() {
                bail!("--boat is of a squad: give --squad or --store with it, not --mass");
            }
            let body = Body::of(mass, self.stature.as_deref(), self.skill.as_deref());
            if typed.is_empty() {
                bail!("give what the tape said, like --set boom_end_dock=30");
            }
            let boat = day.boat(class, None)?;
            let readings: Vec<_> = typed.iter().map(|&(g, v)| (g, v, "measured")).collect();
            within_reach(&boat, &readings).context("--set")?;
            let mast = notches_of(&boat, &heights, None, &mut warnings).context("--notch")?;
            let own_drop = own_drop(&boat, &typed);
            return Ok((
                vec![Rigged { label: None, boat, sailor: body.read()?, mast, own_drop, own: OwnSetup::default(), readings }],
                warnings,
            ));
        };
        let crews: Vec<&Crew> = match &self.boat {
            None if !typed.is_empty() || !heights.is_empty() => bail!("--set and --notch are of one boat: name her with --boat"),
            None => squad.crews.iter().collect(),
            Some(label) => {
                let found = squad.crews.iter().find(|c| c.boat.label.eq_ignore_ascii_case(label.trim()));
                let labels: Vec<_> = squad.crews.iter().map(|c| c.boat.label.as_str()).collect();
                vec![found.with_context(|| format!("--boat {label}: the squad has {}", labels.join(", ")))?]
            }
        };
        let mut boats = Vec::new();
        let mut unmeasured = Vec::new();
        for crew in crews {
            let place = || format!("{}, boat {}", path.display(), crew.boat.label);
            let boat = day.own(class, crew)?;
            let mut readings: Vec<_> = typed.iter().map(|&(g, v)| (g, v, "measured")).collect();
            let written = [(&crew.boat.rigged, "as rigged"), (&crew.boat.base, "base setup")];
            for (settings, from) in written {
                // A base setup that is out of reach is a slip, measured over or not.
                let written: Vec<_> = settings.iter().map(|(&g, &v)| (g, v, from)).collect();
                within_reach(&boat, &written).with_context(|| format!("{}, {from}", place()))?;
                for reading in written {
                    if !readings.iter().any(|r| r.0 == reading.0) {
                        readings.push(reading);
                    }
                }
            }
            within_reach(&boat, &readings).context("--set")?;
            if readings.is_empty() {
                if self.boat.is_some() {
                    bail!("{}: nothing was measured on her; give --set, or write rigged.GAUGE or base.GAUGE in the file", place());
                }
                unmeasured.push(crew.boat.label.as_str());
                continue;
            }
            readings.sort_by_key(|r| r.0);
            let own = crew.boat.boom_end.map(|two| two.map(|r| (r.notch, r.height.si())));
            let two = own.as_ref().map_or(heights.as_slice(), |own| if heights.is_empty() { own } else { &heights });
            let mast = notches_of(&boat, two, Some(&crew.boat.label), &mut warnings).with_context(place)?;
            let pair = |of: &std::collections::BTreeMap<Gauge, f64>| of.iter().map(|(&g, &v)| (g, v)).collect::<Vec<_>>();
            let own_drop = own_drop(&boat, &typed)
                .or_else(|| own_drop(&boat, &pair(&crew.boat.rigged)))
                .or_else(|| own_drop(&boat, &pair(&crew.boat.base)));
            let own = own_setup(&boat, crew, day);
            boats.push(Rigged { label: Some(crew.boat.label.clone()), boat, sailor: crew.sailor.body, mast, own_drop, own, readings });
        }
        if !unmeasured.is_empty() && !boats.is_empty() {
            let what = format!("nothing was measured on {}: left out; write rigged.GAUGE for what the tape said", unmeasured.join(", "));
            warnings.push(Warning::new(path.display().to_string(), what));
        }
        if boats.is_empty() {
            bail!("{}: nothing was measured on any boat; write rigged.GAUGE for what the tape said", path.display());
        }
        Ok((boats, warnings))
    }
}

/// Every reading within what the boat's parts can reach, and each gauge once.
fn within_reach(boat: &Boat, readings: &[(Gauge, f64, &str)]) -> Result<()> {
    for (k, &(gauge, value, _)) in readings.iter().enumerate() {
        if readings[..k].iter().any(|r| r.0 == gauge) {
            bail!("{} is given twice: give it once", gauge.name());
        }
        boat.set(&mut [0.0; CONTROLS], &[(gauge, value)]).map_err(|error| anyhow!("{error}"))?;
        if !boat.class.gauges.iter().any(|d| d.gauge == gauge) {
            bail!("{} is not measured on this class: leave it out, or add a [[gauge]] to the class file", gauge.name());
        }
    }
    Ok(())
}

/// The boat's own notches where two heights were measured, else the class's.
fn notches_of(boat: &Boat, heights: &[(u32, f64)], label: Option<&str>, warnings: &mut Vec<Warning>) -> Result<Notches, AdviceError> {
    if heights.is_empty() {
        return Ok(Notches::of_class(boat));
    }
    let repeat_error = boat.class.gauges.iter().find(|d| d.gauge == Gauge::BoomEndDock).map_or(0.01, |d| d.repeat_error);
    let own = Notches::measured(boat, heights, repeat_error)?;
    warnings.extend(own.warnings.into_iter().map(|w| Warning::new(label.unwrap_or("--notch"), w.what)));
    Ok(own.value)
}

/// The drop of the boom end by a boat's own pair of readings, if both were taken.
fn own_drop(boat: &Boat, readings: &[(Gauge, f64)]) -> Option<SheetedDrop> {
    let of = |gauge| readings.iter().find(|r| r.0 == gauge).map(|r| r.1);
    let error = |gauge| boat.class.gauges.iter().find(|d| d.gauge == gauge).map_or(0.02, |d| d.repeat_error);
    let errors = [Gauge::BoomEndDock, Gauge::BoomEndSheeted].map(error);
    Some(SheetedDrop::own(of(Gauge::BoomEndDock)?, of(Gauge::BoomEndSheeted)?, errors))
}

impl Rigged {
    fn judged(&self, day: &Day, leg: Leg, tack: Tack, units: Units, doubts: &Doubts) -> Result<Judged> {
        let request = Request {
            boat: &self.boat,
            sailor: self.sailor,
            conditions: day.conditions(1.0, tack),
            gusts: day.gusts,
            reach: None,
            bands: true,
        };
        let length = self.boat.class.hull.length;
        let inserts = self.mast.kind == AdjusterKind::Insert;
        let notch = NotchRow { boom_end_m: self.mast.fall, doubt_m: self.mast.doubt, this_boats_own: self.mast.known.is_some() };
        let mut row =
            BoatRow { boat: self.label.clone(), status: "solved", cautions: Vec::new(), notch, boom_end_drop: None, readings: Vec::new() };
        let solved = request.leg(Leg::Beat, 0.0).and_then(|mut beat| {
            let rake = beat.mean().controls[Control::Rake.index()];
            let other: Option<LegSetup> = if leg == Leg::Run { Some(request.leg(leg, rake)?) } else { None };
            doubts.lend(&request, &mut beat.settings);
            Ok((beat, other))
        });
        let (beat, other) = match solved {
            Ok(solved) => solved,
            Err(status) => {
                row.status = status.words();
                return Ok(Judged { row, cautions: Vec::new(), readings: Vec::new(), unheld: Vec::new(), length, inserts });
            }
        };
        let on = other.as_ref().unwrap_or(&beat);
        let round =
            Round { boat: &self.boat, beat: &beat, leg: on, mast: self.mast.clone(), own_drop: self.own_drop, own: self.own.clone() };
        row.boom_end_drop = round.drop().map(|d| DropRow { value_m: d.value, doubt_m: d.doubt, this_boats_own: d.own });
        let (mut readings, mut unheld) = (Vec::new(), Vec::new());
        for &(gauge, measured, from) in &self.readings {
            // The leg may have no band of it: then the reading stands in the warnings, and the others are judged all the same.
            let listed = self.boat.class.gauges.iter().any(|d| d.gauge == gauge);
            if listed && measured.is_finite() && round.band(gauge).is_none() {
                let (shown, unit) = (measure::quantity::plain((measured / gauge.unit_si() * 10.0).round() / 10.0), gauge.unit().text());
                unheld.push(Warning::new(
                    self.label.clone().unwrap_or_else(|| "--set".to_owned()),
                    format!("{} {shown} {unit} is held against nothing: the {} has no band of it here.", gauge.name(), leg.name()),
                ));
                continue;
            }
            let judged = round.judged(gauge, measured)?;
            row.readings.push(reading_row(&judged, from, length, units));
            readings.push(judged);
        }
        Ok(Judged { row, cautions: Vec::new(), readings, unheld, length, inserts })
    }
}

fn tape(units: Units) -> Tape {
    let (unit, metres) = units.setting();
    Tape { unit, metres }
}

fn reading_row(judged: &Reading, from: &'static str, length: f64, units: Units) -> ReadingRow {
    let gauge = judged.band.gauge;
    let one = gauge.unit_si();
    // A tape is read to a millimetre at best; what is smaller is arithmetic.
    let shown = |si: f64| (si / one * 1e4).round() / 1e4;
    ReadingRow {
        gauge: gauge.name(),
        from,
        measured: shown(judged.measured),
        unit: gauge.unit().text(),
        low: shown(judged.band.low),
        high: shown(judged.band.high),
        verdict: judged.verdict.word(),
        by: shown(judged.by),
        at_the_edge: judged.at_the_edge,
        r#move: judged.to_move.as_ref().map(|m| MoveRow {
            part: m.part,
            steps: m.steps,
            direction: m.direction,
            masthead: m.masthead.map(|way| if way == Masthead::Back { "back" } else { "forward" }),
            then: shown(m.then),
            then_doubt: shown(m.then_doubt),
            arrives: m.arrives,
        }),
        cost_lengths: judged.cost_lengths(length),
        cost_m: judged.cost,
        rough: judged.rough,
        basis: judged.band.basis.words(),
        words: judged.words(length, tape(units)),
    }
}

fn table(judged: &[Judged], class: &Class, day: &Day, leg: Leg, tack: Tack, units: Units) -> String {
    let mut text = format!("{}, {}\nfor the {} on {} tack\n\n", class.name, Wind::of(day).words(), leg.name(), tack_name(tack));
    text += &told(judged.iter().map(|boat| (boat.row.boat.as_deref().unwrap_or_default(), boat.cautions.as_slice())));
    let inside: Vec<&str> = judged.iter().filter(|b| b.all_inside()).filter_map(|b| b.row.boat.as_deref()).collect();
    if judged.len() > 1 && !inside.is_empty() {
        text += &format!("Well rigged, nothing to move: {}.\n\n", inside.join(", "));
    }
    for boat in judged {
        if let Some(label) = &boat.row.boat {
            text += &format!("{label}\n");
        }
        if boat.row.status != "solved" {
            text += &format!("  {}: no settings today\n\n", boat.row.status);
            continue;
        }
        text += &boat.words(units);
        text.push('\n');
    }
    text += "After each move measure again. The coach decides who sails.\n";
    text
}

impl Judged {
    fn all_inside(&self) -> bool {
        self.row.status == "solved" && self.readings.iter().all(|r| r.verdict == Verdict::Inside)
    }

    /// What to move, then what was read.
    fn words(&self, units: Units) -> String {
        let mut text = String::new();
        let of = |gauge| self.readings.iter().find(|r| r.band.gauge == gauge);
        // Both heights of the boom end are one mast: it is moved once.
        let said =
            |r: &&Reading| r.verdict != Verdict::Inside && !(r.band.gauge == Gauge::BoomEndSheeted && of(Gauge::BoomEndDock).is_some());
        let moves: Vec<_> = self.readings.iter().filter(said).collect();
        if moves.is_empty() {
            text += "  All that was measured is inside. Nothing to move.\n";
        }
        for judged in &moves {
            text += &format!("  {}\n", sentence(&judged.words(self.length, tape(units))));
        }
        if moves.iter().any(|judged| judged.to_move.as_ref().is_some_and(|m| m.masthead.is_some())) {
            text += &notch_words(&self.row.notch, self.inserts, units);
        }
        let mut rows = Rows::under(&["", ">reads", "", ">inside today", "", "from"]);
        for (judged, row) in self.readings.iter().zip(&self.row.readings) {
            let gauge = judged.band.gauge;
            let show = |si: f64| reading(gauge, si, units);
            let (low, high) = (show(judged.band.low), show(judged.band.high));
            rows.push([
                format!("  {}", name(gauge)),
                show(judged.measured),
                unit(gauge, units).to_owned(),
                if gauge.unit() == GaugeUnit::OnOff { low } else { format!("{low} to {high}") },
                if row.at_the_edge { "inside, as near as the tape tells" } else { row.verdict }.to_owned(),
                row.from.to_owned(),
            ]);
        }
        text + &rows.text()
    }
}

/// What a notch does and how sure that is.
fn notch_words(notch: &NotchRow, inserts: bool, units: Units) -> String {
    let (unit, metres) = units.setting();
    let number = |m: f64| plain((m / metres * 10.0).round() / 10.0);
    let whose = if notch.this_boats_own { "measured on this boat" } else { "by the class file; measure two notches on this boat to know" };
    let one = if inserts { "insert" } else { "notch" };
    format!("  One {one} moves the boom end {} {unit}, give or take {}: {whose}.\n", number(notch.boom_end_m), number(notch.doubt_m))
}

/// A capital to begin with, a full stop at the end.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}
