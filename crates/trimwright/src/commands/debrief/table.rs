//! The debrief to read in a terminal: the wind by ten minutes, a row for each boat, line-ups, course marks, and what cannot be told.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use measure::angle::DEGREE;
use measure::quantity::KNOT;
use measure::wind::METER_HEIGHT;
use track::debrief::{Boat, Debrief, Kind, Mean, Turn};
use trimwright::outing::SpeedsOf;

use crate::table::Rows;

/// Minutes between the winds of the table.
const EVERY: f64 = 600.0;

/// A time of day in a timezone.
fn clock(seconds: f64, zone: &TimeZone, form: &str) -> String {
    Timestamp::from_second(seconds.round() as i64)
        .map_or_else(|_| "?".to_owned(), |t| t.to_zoned_datetime(zone.clone()).strftime(form).to_string())
}

pub(super) fn table(answer: &Debrief, zone: &TimeZone, speeds: SpeedsOf) -> String {
    let first = answer.boats.iter().flat_map(|b| b.path.first()).map(|p| p[0]).fold(f64::MAX, f64::min);
    let mut text = if first < f64::MAX { format!("{}\n\n", clock(first, zone, "%A %-d %B %Y, times in %Z")) } else { String::new() };
    text += &wind(answer, zone, speeds);
    text += &boats(answer);
    text += &roundings(answer, zone);
    text += &lineups(answer, zone);
    text += "Metres lost have 19 chances in 20 to lie within the plus and minus. Boats stand in the order of their files: their losses\n\
             are in no order of rank.\n";
    if !answer.limits.is_empty() {
        text += "\nWhat the tracks cannot tell\n";
        text.extend(answer.limits.iter().map(|l| format!("- {l}\n")));
    }
    text
}

fn wind(answer: &Debrief, zone: &TimeZone, speeds: SpeedsOf) -> String {
    let mut rows = Rows::under(&["wind at", ">from", ">± deg", ">speed kn", ">±"]);
    let mut next = f64::MIN;
    for w in &answer.wind {
        let (Some(direction), true) = (w.direction, w.time >= next) else { continue };
        next = w.time + EVERY;
        rows.push([
            clock(w.time, zone, "%H:%M"),
            format!("{:03.0}", direction.0.in_degrees().round() % 360.0),
            format!("{:.0}", 2.0 * direction.1 / DEGREE),
            w.speed.map_or_else(|| "-".to_owned(), |s| format!("{:.1}", s.0 / KNOT)),
            w.speed.map_or_else(|| "-".to_owned(), |s| format!("{:.1}", 2.0 * s.1 / KNOT)),
        ]);
    }
    let mut text = if next > f64::MIN { format!("{}\n", rows.text()) } else { "The wind: not told, see below.\n\n".to_owned() };
    if answer.wind.iter().any(|w| w.speed.is_some()) {
        text += &format!("The wind's speed is that at {METER_HEIGHT:.0} m, read from {}.\n\n", speeds.words());
    }
    if let Some(c) = answer.current {
        text += &format!(
            "Current across the wind: {:.2} m/s towards {:03.0}, plus or minus {:.2}\n\n",
            c.speed,
            c.toward.in_degrees(),
            2.0 * c.sd
        );
    }
    text
}

fn lost(mean: Option<Mean>) -> String {
    mean.map_or_else(|| "-".to_owned(), |m| format!("{:.1} ± {:.1}", m.mean, 2.0 * m.sd))
}

fn boats(answer: &Debrief) -> String {
    let mut rows = Rows::under(&[
        "boat",
        ">beat min",
        ">VMG m/s",
        ">reach",
        ">run",
        ">stopped",
        ">metres",
        ">tacks",
        ">lost each m",
        ">gybes",
        ">lost each m",
        ">roundings",
        ">laps",
    ]);
    for b in answer.boats.iter().filter(|b| !b.path.is_empty()) {
        let minutes = |kind: Kind| {
            let seconds = b.legs.iter().filter(|l| l.kind == Some(kind)).fold(0.0, |s, l| s + l.end - l.start);
            format!("{:.0}", seconds / 60.0)
        };
        let turns = |kind: Turn| b.manoeuvres.iter().filter(|m| m.kind == kind).count().to_string();
        rows.push([
            b.track.clone(),
            minutes(Kind::Beat),
            made_good(b).map_or_else(|| "-".to_owned(), |v| format!("{v:.2}")),
            minutes(Kind::Reach),
            minutes(Kind::Run),
            minutes(Kind::Stopped),
            format!("{:.0}", b.distance),
            turns(Turn::Tack),
            lost(b.tacks),
            turns(Turn::Gybe),
            lost(b.gybes),
            b.roundings.len().to_string(),
            b.laps.len().to_string(),
        ]);
    }
    format!("{}\n", rows.text())
}

/// Mean over all beats.
fn made_good(b: &Boat) -> Option<f64> {
    let beats = b.legs.iter().filter(|l| l.kind == Some(Kind::Beat)).filter_map(|l| Some((l.made_good?, l.end - l.start)));
    let (sum, time) = beats.fold((0.0, 0.0), |s, l| (s.0 + l.0 * l.1, s.1 + l.1));
    (time > 60.0).then(|| sum / time)
}

fn roundings(answer: &Debrief, zone: &TimeZone) -> String {
    if answer.course_marks.is_empty() {
        return String::new();
    }
    let mut rows = Rows::under(&["course mark", ">latitude", ">longitude", ">± m", ">roundings", ">exit m", "first"]);
    for (n, m) in answer.course_marks.iter().enumerate() {
        let own: Vec<_> = answer.boats.iter().flat_map(|b| &b.roundings).filter(|r| r.mark == n).collect();
        let exit = own.iter().map(|r| r.exit).sum::<f64>() / own.len().max(1) as f64;
        let first = own.iter().map(|r| r.time).fold(f64::MAX, f64::min);
        rows.push([
            m.name.clone(),
            format!("{:.5}", m.position.latitude()),
            format!("{:.5}", m.position.longitude()),
            m.sd.map_or_else(|| "given".to_owned(), |sd| format!("{:.0}", 2.0 * sd)),
            own.len().to_string(),
            if own.is_empty() { "-".to_owned() } else { format!("{exit:.1}") },
            if own.is_empty() { "-".to_owned() } else { clock(first, zone, "%H:%M:%S") },
        ]);
    }
    format!("{}\n", rows.text())
}

fn lineups(answer: &Debrief, zone: &TimeZone) -> String {
    if answer.lineups.is_empty() {
        return String::new();
    }
    let mut rows = Rows::under(&["side by side", "from", ">s", ">VMG m/s", ">±", ">by speed", ">by height", "verdict"]);
    for l in &answer.lineups {
        let name = |n: usize| answer.boats.get(n).map_or("?", |b| b.track.as_str());
        let (a, b) = (name(l.boats.0), name(l.boats.1));
        let verdict = if l.difference.abs() <= 2.0 * l.sd {
            "no difference that can be told".to_owned()
        } else {
            format!("{} was faster", if l.difference > 0.0 { a } else { b })
        };
        rows.push([
            format!("{a}, {b}"),
            clock(l.start, zone, "%H:%M:%S"),
            format!("{:.0}", l.end - l.start),
            format!("{:+.3}", l.difference),
            format!("{:.3}", 2.0 * l.sd),
            format!("{:+.3}", l.from_speed),
            format!("{:+.3}", l.from_height),
            verdict,
        ]);
    }
    format!("{}\n", rows.text())
}
