//! The debrief as a document for other programs: SI units in the keys' suffix, degrees true, UTC times in RFC 3339.

use advice::keep::{Said, keep_and_work_on};
use jiff::Timestamp;
use measure::Warning;
use measure::angle::DEGREE;
use serde::Serialize;
use track::debrief::{self as told, Debrief, Kind, MarkKind, Mean, Turn};

use trimwright::outing::{Found, SpeedsOf};

/// Where a track came from.
#[derive(Debug, Clone)]
pub(super) struct Origin {
    file: String,
    format: String,
    start: i64,
    end: i64,
    interval: f64,
    warnings: Vec<String>,
}

impl Origin {
    pub(super) fn of(found: &Found) -> Self {
        Self {
            file: found.file.clone(),
            format: found.format.clone(),
            start: found.smooth.start,
            end: found.smooth.end(),
            interval: found.smooth.recorder.interval,
            warnings: found.warnings.iter().map(|w| w.what.clone()).collect(),
        }
    }
}

/// All of it.
#[derive(Debug, Serialize)]
pub(super) struct Document {
    wind: Vec<Wind>,
    wind_speed_by: Option<&'static str>,
    current: Option<Current>,
    boats: Vec<Boat>,
    lineups: Vec<Lineup>,
    course_marks: Vec<CourseMark>,
    starts: Vec<Start>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Wind {
    t: String,
    direction_deg: Option<f64>,
    direction_sd_deg: Option<f64>,
    speed_ms: Option<f64>,
    speed_sd_ms: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Current {
    speed_ms: f64,
    toward_deg: f64,
    sd_ms: f64,
}

#[derive(Debug, Serialize)]
struct Boat {
    track: String,
    sailor: Option<String>,
    file: String,
    format: String,
    start: String,
    end: String,
    interval_s: f64,
    distance_m: f64,
    clock_shift_s: Option<f64>,
    warnings: Vec<String>,
    legs: Vec<Leg>,
    stops: Vec<Stop>,
    manoeuvres: Vec<Manoeuvre>,
    tacks: Option<Loss>,
    gybes: Option<Loss>,
    roundings: Vec<Rounding>,
    laps: Vec<Lap>,
    keep: Option<Word>,
    work_on: Option<Word>,
}

#[derive(Debug, Serialize)]
struct Leg {
    start: String,
    end: String,
    kind: Option<Kind>,
    vmg_ms: Option<f64>,
    distance_m: f64,
}

#[derive(Debug, Serialize)]
struct Stop {
    start: String,
    end: String,
    capsize_likely: bool,
}

#[derive(Debug, Serialize)]
struct Manoeuvre {
    t: String,
    kind: Turn,
    loss_m: Option<f64>,
    loss_sd_m: Option<f64>,
    turn_deg: f64,
    turn_rate_deg_s: f64,
    time_to_speed_s: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Loss {
    count: usize,
    mean_loss_m: f64,
    sd_m: f64,
}

#[derive(Debug, Serialize)]
struct Rounding {
    t: String,
    kind: MarkKind,
    course_mark: String,
    entry_m: f64,
    exit_m: f64,
    min_speed_ms: f64,
    loss_m: f64,
}

#[derive(Debug, Serialize)]
struct Lap {
    start: String,
    end: String,
    distance_m: f64,
}

#[derive(Debug, Serialize)]
struct Word {
    text: String,
    metres: Option<f64>,
    t: Option<String>,
    drill: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct Lineup {
    boats: [String; 2],
    start: String,
    end: String,
    vmg_difference_ms: f64,
    sd_ms: f64,
    from_speed_ms: f64,
    from_height_ms: f64,
    swapped: bool,
}

#[derive(Debug, Serialize)]
struct CourseMark {
    name: String,
    kind: Option<MarkKind>,
    lat: f64,
    lon: f64,
    sd_m: Option<f64>,
    found: bool,
}

#[derive(Debug, Serialize)]
struct Start {
    t: String,
    boats: Vec<Started>,
}

#[derive(Debug, Serialize)]
struct Started {
    track: String,
    after_s: f64,
    time_to_speed_s: Option<f64>,
    made_good_m: Option<f64>,
}

/// A time as RFC 3339 in UTC, to the second, or to a tenth where asked.
fn utc(seconds: f64) -> String {
    let time = Timestamp::from_millisecond((seconds * 10.0).round() as i64 * 100);
    time.map_or_else(|_| "?".to_owned(), |t| t.to_string())
}

/// Rounded to what is worth writing.
fn to(value: f64, digits: i32) -> f64 {
    let scale = 10_f64.powi(digits);
    // A sum of nothing is minus zero, which nobody writes.
    (value * scale).round() / scale + 0.0
}

impl Document {
    pub(super) fn of(answer: &Debrief, origins: &[Origin], sailors: &[Option<String>], speeds: SpeedsOf, warnings: &[Warning]) -> Self {
        let name = |boat: usize| answer.boats.get(boat).map(|b| b.track.clone()).unwrap_or_default();
        Self {
            wind: answer
                .wind
                .iter()
                .map(|w| Wind {
                    t: utc(w.time),
                    direction_deg: w.direction.map(|d| to(d.0.in_degrees(), 1) % 360.0),
                    direction_sd_deg: w.direction.map(|d| to(d.1 / DEGREE, 1)),
                    speed_ms: w.speed.map(|s| to(s.0, 2)),
                    speed_sd_ms: w.speed.map(|s| to(s.1, 2)),
                })
                .collect(),
            wind_speed_by: answer.wind.iter().any(|w| w.speed.is_some()).then(|| speeds.words()),
            current: answer.current.map(|c| Current {
                speed_ms: to(c.speed, 3),
                toward_deg: to(c.toward.in_degrees(), 0) % 360.0,
                sd_ms: to(c.sd, 3),
            }),
            boats: answer
                .boats
                .iter()
                .zip(origins)
                .enumerate()
                .map(|(n, (b, o))| Boat { sailor: sailors.get(n).cloned().flatten(), ..boat(answer, n, b, o) })
                .collect(),
            lineups: answer
                .lineups
                .iter()
                .map(|l| Lineup {
                    boats: [name(l.boats.0), name(l.boats.1)],
                    start: utc(l.start),
                    end: utc(l.end),
                    vmg_difference_ms: to(l.difference, 4),
                    sd_ms: to(l.sd, 4),
                    from_speed_ms: to(l.from_speed, 4),
                    from_height_ms: to(l.from_height, 4),
                    swapped: l.swapped,
                })
                .collect(),
            course_marks: answer
                .course_marks
                .iter()
                .map(|m| CourseMark {
                    name: m.name.clone(),
                    kind: m.kind,
                    lat: to(m.position.latitude(), 7),
                    lon: to(m.position.longitude(), 7),
                    sd_m: m.sd.map(|sd| to(sd, 1)),
                    found: m.sd.is_some(),
                })
                .collect(),
            starts: answer
                .starts
                .iter()
                .map(|s| Start {
                    t: utc(s.time),
                    boats: s
                        .boats
                        .iter()
                        .map(|b| Started {
                            track: name(b.boat),
                            after_s: b.after,
                            time_to_speed_s: b.to_speed,
                            made_good_m: b.made.map(|m| to(m, 1)),
                        })
                        .collect(),
                })
                .collect(),
            warnings: warnings.iter().map(ToString::to_string).chain(answer.limits.iter().cloned()).collect(),
        }
    }
}

fn boat(answer: &Debrief, n: usize, b: &told::Boat, origin: &Origin) -> Boat {
    let words = keep_and_work_on(answer, n);
    let mark = |m: usize| answer.course_marks.get(m).map(|m| m.name.clone()).unwrap_or_default();
    let loss = |m: Mean| Loss { count: m.count, mean_loss_m: to(m.mean, 2), sd_m: to(m.sd, 2) };
    Boat {
        track: b.track.clone(),
        sailor: None,
        file: origin.file.clone(),
        format: origin.format.clone(),
        start: utc(origin.start as f64),
        end: utc(origin.end as f64),
        interval_s: to(origin.interval, 3),
        distance_m: to(b.distance, 0),
        clock_shift_s: b.clock_shift,
        warnings: origin.warnings.iter().chain(&b.warnings).cloned().collect(),
        legs: b
            .legs
            .iter()
            .map(|l| Leg {
                start: utc(l.start),
                end: utc(l.end),
                kind: l.kind,
                vmg_ms: l.made_good.map(|v| to(v, 3)),
                distance_m: to(l.distance, 1),
            })
            .collect(),
        stops: b.stops.iter().map(|s| Stop { start: utc(s.start), end: utc(s.end), capsize_likely: s.capsized }).collect(),
        manoeuvres: b
            .manoeuvres
            .iter()
            .map(|m| Manoeuvre {
                t: utc(m.time),
                kind: m.kind,
                loss_m: m.loss.map(|l| to(l, 2)),
                loss_sd_m: m.loss_sd.map(|l| to(l, 2)),
                turn_deg: to(m.turn / DEGREE, 1),
                turn_rate_deg_s: to(m.rate / DEGREE, 1),
                time_to_speed_s: m.to_speed,
            })
            .collect(),
        tacks: b.tacks.map(loss),
        gybes: b.gybes.map(loss),
        roundings: b
            .roundings
            .iter()
            .map(|r| Rounding {
                t: utc(r.time),
                kind: r.kind,
                course_mark: mark(r.mark),
                entry_m: to(r.entry, 1),
                exit_m: to(r.exit, 1),
                min_speed_ms: to(r.slowest, 2),
                loss_m: to(r.loss, 1),
            })
            .collect(),
        laps: b.laps.iter().map(|l| Lap { start: utc(l.start), end: utc(l.end), distance_m: to(l.distance, 0) }).collect(),
        keep: words.as_ref().map(|w| word(&w.0)),
        work_on: words.as_ref().map(|w| word(&w.1)),
    }
}

fn word(said: &Said) -> Word {
    Word { text: said.text.clone(), metres: said.metres.map(|m| to(m, 0)), t: said.moment.map(utc), drill: said.drill }
}
