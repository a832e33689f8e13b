//! The demo's outings: rehearsed ones, with the squad's boats for its fleet. Invented, and for the demo alone.

use anyhow::{Context, Result, anyhow};
use boat::class::Class;
use measure::Length;
use measure::angle::DEGREE;
use rehearsal::recorder::{csv, gpx, nmea};
use rehearsal::{Kind, MarkKind, Outing as Rehearsed, Polar, outing_in};
use squad::fact::day::{Day, FloatsIn, ForecastHour};
use squad::fact::outing::{Observation, Outing, OutingSort, Tally, Way};
use squad::fact::race::Course;
use squad::fact::recorder::{Recorder, RecorderGiven, TrackFile};
use squad::{Date, Id, Moment, Squad, Store, Writer};

use crate::jobs::Progress;
use trimwright::day::Day as Weather;
use trimwright::outing::{class_polar, middle};

/// Which outings: kind, seed, what the coach calls them.
const OUTINGS: [(Kind, u64, &str); 3] =
    [(Kind::Oscillating, 3, "Short races"), (Kind::LineUps, 13, "Line-ups, board tipped back"), (Kind::Cells, 2, "Gusty races")];
/// What is noted of the sailors in turn, and how long after the start, s.
const SEEN: [(&str, f64); 5] =
    [("weight_aft", 420.0), ("control_late", 660.0), ("well_done", 900.0), ("tight_entry", 1140.0), ("sail_hooked", 1320.0)];
/// The outing of whose day the buoys are known.
const BUOYS: Kind = Kind::Oscillating;
/// Closer to the wind than this the rehearsed boats lose their way, and at the second they have none, degrees.
const LUFFING: [f64; 2] = [40.0, 20.0];
/// Boats whose recorder the coach has not been told the owner of.
const UNTOLD: usize = 1;

/// How fast the invented squad's boats are: the model's pram with the sailor in the middle, so that wind and speeds agree in the demo as they should afloat.
fn speeds(squad: &Squad) -> Result<Polar> {
    let day = Weather::open(5.0);
    let boat = day.boat(&Class::pram(), None)?;
    let solved = class_polar(&boat, &middle(&squad.crews, &[]).0, &day, &|| true).flatten();
    let solved = solved.ok_or_else(|| anyhow!("the invented pram has no speeds"))?;
    let [close, none] = LUFFING;
    Ok(Polar::sampled(|wind, angle| solved.speed(wind, angle * DEGREE) * ((angle - none) / (close - none)).clamp(0.0, 1.0)))
}

/// Writes the outings into a store that holds the squad.
pub(super) fn write(store: &mut Store, squad: &Squad, writer: &Writer) -> Result<()> {
    let mut progress = Progress::of("parts of the demo written", 1 + OUTINGS.len());
    let polar = speeds(squad)?;
    progress.step();
    for (kind, seed, name) in OUTINGS {
        one(store, &outing_in(kind, seed, polar.clone()), name, writer).with_context(|| format!("the demo's outing \"{name}\""))?;
        progress.step();
    }
    Ok(())
}

/// The buoys of a rehearsal as the coach boat laid them.
fn course(day: Id<Day>, sailed: &Rehearsed) -> Course {
    let line = |mark: &rehearsal::CourseMark| {
        let at = sailed.mark_position(mark);
        let kind = match mark.kind {
            MarkKind::Windward => "windward",
            MarkKind::Leeward => "leeward",
            MarkKind::Wing => "wing",
        };
        format!("{kind}: {:.6} {:.6}", at.latitude(), at.longitude())
    };
    Course {
        day,
        buoys_text: sailed.course_marks.iter().map(line).collect::<Vec<_>>().join("\n"),
        sketch: None,
        axis_rad: None,
        beat_m: 400.0,
        line_m: 40.0,
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
        shift_rad: 0.1,
        current_toward_rad: None,
        current_ms: 0.0,
        practice_signals: false,
    }
}

fn one(store: &mut Store, sailed: &Rehearsed, name: &str, writer: &Writer) -> Result<()> {
    let second = |seconds: f64| Moment::of_millis((seconds * 1000.0) as i64);
    let began = second(sailed.start);
    let date = Date(began.timestamp().to_zoned_datetime(jiff::tz::TimeZone::UTC).date());
    let day = Day {
        date,
        venue: "Alder Basin".to_owned(),
        timezone: "UTC".to_owned(),
        warning_signal: None,
        water: FloatsIn::Fresh,
        water_temperature_k: Some(289.0),
        sheltered: false,
        chop_m: 0.05,
        gusts: None,
        offshore: Some(false),
        against_tide: Some(false),
        thunder: Some(false),
        safety_boats: Some(2),
        words: String::new(),
    };
    let day = store.add(&day, writer)?.id;
    if let Some(wind) = sailed.wind.first() {
        let [east, north] = wind.vector();
        let forecast = ForecastHour {
            day,
            at: began,
            wind_ms: (east.hypot(north) * 2.0).round() / 2.0,
            height_m: Length::metres(2.0).si(),
            from_rad: None,
            gust_ms: None,
            source: "the demo".to_owned(),
        };
        store.add(&forecast, writer)?;
    }
    if sailed.kind == BUOYS {
        store.add(&course(day, sailed), writer)?;
    }
    let of = Outing { day, name: name.to_owned(), sort: OutingSort::Practice, began: Some(began), ended: None };
    let of = store.add(&of, writer)?.id;
    // The fleet that races together is of one class: the one whose boats need not name it.
    let mut sailors = store.sailors()?;
    let boats = store.boats()?;
    sailors.retain(|s| boats.iter().any(|b| Some(b.id) == s.fact.boat && b.fact.class.is_none()));
    for (n, (recorder, sailor)) in sailed.recorders.iter().zip(&sailors).enumerate() {
        let boat = sailor.fact.boat.map(|b| store.get(b)).transpose()?.flatten().map(|b| b.fact.label).unwrap_or_default();
        let name = boat.to_lowercase();
        let (bytes, kind) = match n % 3 {
            0 => (gpx(&name, &recorder.fixes), "gpx"),
            1 => (nmea(&recorder.fixes), "nmea"),
            _ => (csv(&recorder.fixes), "csv"),
        };
        let file = TrackFile {
            name: format!("{}_{name}.{kind}", date.0),
            sha256: String::new(),
            at: second(sailed.start + 3.0 * 3600.0),
            outing: Some(of),
            sailor: None,
            recorder: None,
        };
        store.add_track(&bytes, file, writer)?;
        if n < UNTOLD || store.all::<Recorder>()?.iter().any(|r| r.fact.mark == name) {
            continue;
        }
        let known = store.add(&Recorder { mark: name, words: String::new() }, writer)?.id;
        // From long before the outings on.
        store.add(&RecorderGiven { recorder: known, sailor: sailor.id, at: Moment::of_millis(1_767_225_600_000) }, writer)?;
    }
    // Who was out, and what the coach saw, as her phone sent it.
    let phone = Writer { by: "coach, phone 5ea5de01".to_owned(), at: second(sailed.start + 3.0 * 3600.0) };
    for (n, sailor) in sailors.iter().take(sailed.recorders.len()).enumerate() {
        for (way, at) in [(Way::Out, 60.0 * n as f64 / 4.0), (Way::In, 3000.0 + 20.0 * n as f64)] {
            let safety_boat = if way == Way::Out { "Safety boat 1".to_owned() } else { String::new() };
            store.add(&Tally { outing: of, sailor: sailor.id, at: second(sailed.start + at), way, safety_boat }, &phone)?;
        }
        let (what, at) = SEEN[n % SEEN.len()];
        let seen =
            Observation { outing: of, sailor: Some(sailor.id), at: second(sailed.start + at), what: what.to_owned(), words: String::new() };
        store.add(&seen, &phone)?;
    }
    if let Some(sailor) = sailors.first() {
        let said = Observation {
            outing: of,
            sailor: Some(sailor.id),
            at: second(sailed.start + 3600.0),
            what: "voice.good".to_owned(),
            words: "My turns".to_owned(),
        };
        store.add(&said, &phone)?;
    }
    // Who had the board tipped back, as a coach writes it down when she whistles.
    for lineup in &sailed.lineups {
        let Some(carries) = lineup.carries else { continue };
        for boat in [lineup.boats.0, lineup.boats.1] {
            let Some(sailor) = sailors.get(boat) else { continue };
            let seen = Observation {
                outing: of,
                sailor: Some(sailor.id),
                at: second(lineup.noted - 60.0),
                what: "set.board_angle".to_owned(),
                words: if boat == carries { "-30" } else { "6" }.to_owned(),
            };
            store.add(&seen, writer)?;
        }
    }
    Ok(())
}
