//! A rehearsal's recorders through the whole of this crate to the judge's answer.

use measure::{LocalPlane, Polar};
use rehearsal::answer::{Answer, BoatAnswer, LineupAnswer, ManoeuvreAnswer, RoundingAnswer, WindAnswer};
use rehearsal::{Leg, LegKind, MarkKind, Outing, Turn};
use track::clean::{clean, plane};
use track::debrief::{Asked, Debrief, GivenMark, Kind, debrief};
use track::{Fix, Smooth, Track, TrackError};

/// Degrees of a radian.
const DEGREES: f64 = 1.0 / measure::angle::DEGREE;

/// The tracks of an outing as its recorders kept them.
pub(crate) fn tracks(outing: &Outing) -> Vec<Track> {
    let fix =
        |f: &rehearsal::Fix| Fix { time: f.0, position: measure::Position::degrees(f.1, f.2).unwrap_or_default(), speed: f.3, course: f.4 };
    let track =
        |r: &rehearsal::Recorder| Track { name: r.name.clone(), format: "rehearsal".into(), fixes: r.fixes.iter().map(fix).collect() };
    outing.recorders.iter().map(track).collect()
}

/// Cleaned, in the plane of the outing.
pub(crate) fn smooth(outing: &Outing) -> Result<(Vec<Smooth>, LocalPlane), TrackError> {
    let tracks = tracks(outing);
    let plane = plane(&tracks.iter().collect::<Vec<_>>()).unwrap_or(outing.plane());
    let smooth: Result<Vec<Smooth>, TrackError> = tracks.iter().map(|t| Ok(clean(t, &plane)?.value)).collect();
    Ok((smooth?, plane))
}

/// The course marks as a coach gives them.
pub(crate) fn marks(outing: &Outing) -> Vec<GivenMark> {
    let kind = |k| match k {
        rehearsal::MarkKind::Windward => Some(track::debrief::MarkKind::Windward),
        rehearsal::MarkKind::Leeward => Some(track::debrief::MarkKind::Leeward),
        rehearsal::MarkKind::Wing => None,
    };
    outing.course_marks.iter().map(|m| GivenMark { name: m.name.clone(), kind: kind(m.kind), position: outing.mark_position(m) }).collect()
}

/// Debriefed with the polar, and with the course marks or without.
pub(crate) fn debriefed(outing: &Outing, given: bool) -> Result<Debrief, TrackError> {
    let (tracks, plane) = smooth(outing)?;
    let (polar, marks) = (Polar::rows(&outing.polar.rows()), if given { marks(outing) } else { Vec::new() });
    Ok(debrief(tracks, &plane, &Asked { polar: polar.as_ref(), course_marks: &marks, lineups: &[] }))
}

/// In the judge's words.
pub(crate) fn answer(outing: &Outing, debrief: &Debrief) -> Answer {
    let wind = debrief
        .wind
        .iter()
        .map(|w| WindAnswer { time: w.time, direction: w.direction.map(|d| (d.0.in_degrees(), d.1 * DEGREES)), speed: w.speed })
        .collect();
    let boats = debrief
        .boats
        .iter()
        .enumerate()
        .map(|(n, b)| BoatAnswer {
            starts: starts(debrief, n),
            stops: b.stops.iter().map(|s| (s.start, s.end)).collect(),
            clock_shift: b.clock_shift,
            legs: b.legs.iter().filter_map(|l| Some(Leg { start: l.start, end: l.end, kind: kind(l.kind?) })).collect(),
            manoeuvres: b
                .manoeuvres
                .iter()
                .map(|m| ManoeuvreAnswer {
                    time: m.time,
                    kind: match m.kind {
                        track::debrief::Turn::Tack => Turn::Tack,
                        track::debrief::Turn::Gybe => Turn::Gybe,
                    },
                    turn: m.turn * DEGREES,
                    loss: m.loss,
                })
                .collect(),
            roundings: b
                .roundings
                .iter()
                .map(|r| RoundingAnswer { time: r.time, kind: mark_kind(r.kind), widths: (r.entry, r.exit) })
                .collect(),
        })
        .collect();
    let lineups = debrief
        .lineups
        .iter()
        .map(|l| LineupAnswer { boats: l.boats, start: l.start, end: l.end, difference: (l.difference, l.sd) })
        .collect();
    let mark = |m: &track::debrief::CourseMark| {
        let (kind, (x, y)) = (m.kind?, outing.plane().xy(m.position));
        Some((mark_kind(kind), [x, y], m.sd?))
    };
    Answer { wind, boats, lineups, course_marks: debrief.course_marks.iter().filter_map(mark).collect() }
}

/// When a boat went at starts, by her own clock: the debrief has them by the outing's, which differ by the hours it proposes.
fn starts(debrief: &Debrief, boat: usize) -> Vec<f64> {
    let hours = debrief.boats[boat].clock_shift.map_or(0.0, |s| (s / 3600.0).round() * 3600.0);
    let own = |s: &track::debrief::Start| s.boats.iter().find(|b| b.boat == boat).map(|b| s.time + b.after - hours);
    debrief.starts.iter().filter_map(own).collect()
}

fn mark_kind(kind: track::debrief::MarkKind) -> MarkKind {
    match kind {
        track::debrief::MarkKind::Windward => MarkKind::Windward,
        track::debrief::MarkKind::Leeward => MarkKind::Leeward,
    }
}

fn kind(kind: Kind) -> LegKind {
    match kind {
        Kind::Beat => LegKind::Beat,
        Kind::Reach => LegKind::Reach,
        Kind::Run => LegKind::Run,
        Kind::Stopped => LegKind::Stopped,
        Kind::Tow => LegKind::Tow,
    }
}
