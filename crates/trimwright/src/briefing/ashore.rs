//! Ashore: for one sailor where the metres of each beat went, the moments drawn, the better rounding beside another; for the group what
//! went well. Faults stand on the sailor's own pages alone.

use jiff::tz::TimeZone;
use measure::angle::DEGREE;
use measure::counted;
use measure::quantity::KNOT;
use track::debrief::{Boat, Cause, Debrief, MarkKind, Rounding, Turn, WindAt};

use super::beside::Beside;
use super::debrief::{SailorPage, clock, signed};
use crate::drawing::metres::{Lost, Metres, most};
use crate::drawing::passage::Passage;
use crate::long::Long;
use crate::outing::{Outing, Trail};

/// Width of the tape on paper and page, mm.
pub const WIDTH: f64 = 180.0;
/// Seconds before and after a moment that are drawn.
const AROUND: f64 = 22.0;
/// Seconds between boats drawn on a trail.
const APART: usize = 9;
/// A turn this long before or after a rounding is the rounding's own, s. Assumed: a child rounds within a quarter of a minute.
const ROUNDS: f64 = 8.0;

/// One beat of one boat.
#[derive(Debug, Clone, PartialEq)]
pub struct Beat {
    /// UTC seconds.
    pub start: f64,
    /// UTC seconds.
    pub end: f64,
    /// The tape.
    pub tape: Metres,
    /// What was lost on it in words, with the interval.
    pub sum: String,
    /// When each of the tape's losses was, UTC seconds.
    pub moments: Vec<f64>,
}

/// A rounding laid over the sailor's better one of the same kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Over {
    /// The picture.
    pub picture: Passage,
    /// Which kind of course mark, in words.
    pub of: &'static str,
    /// Clock times of this one and the better one.
    pub clocks: [String; 2],
    /// What, this one, the better one.
    pub rows: Vec<[String; 3]>,
    /// When this one was, UTC seconds.
    pub moment: f64,
}

/// What one sailor's page has beyond her sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Own {
    /// Her boat's length, m.
    pub length: f64,
    /// Her beats.
    pub beats: Vec<Beat>,
    /// The moment to work on.
    pub moment: Option<Passage>,
    /// Her rounding over the better one.
    pub over: Option<Over>,
    /// Her roundings beside the best path, and how many could not be compared.
    pub beside: (Vec<Beside>, usize),
    /// Speed and speed made good by the clock: share of the outing, knots, knots made good where that is known.
    pub speeds: Vec<(f64, f64, Option<f64>)>,
    /// What the coach noted of her: clock time, and words.
    pub noted: Vec<[String; 2]>,
    /// Her own words: what was asked, and what she said.
    pub words: Vec<[String; 2]>,
}

/// Everything of one sailor, her boat's length in metres, lengths told in these.
#[must_use]
pub fn own(outing: &Outing, sheet: &SailorPage, length: f64, zone: &TimeZone, long: Long) -> Own {
    let answer = &outing.answer;
    let (Some(boat), Some(trail)) = (answer.boats.get(sheet.boat), outing.trails.get(sheet.boat)) else { return Own::default() };
    Own {
        length,
        beats: beats(answer, boat, trail, length, zone, long),
        moment: sheet.moments[1].and_then(|at| moment(answer, trail, at, length, zone)),
        over: over(answer, boat, trail, length, zone, long),
        speeds: speeds(answer, trail),
        ..Own::default()
    }
}

/// The wind's direction at a time, degrees true.
pub(crate) fn wind_at(answer: &Debrief, time: f64) -> Option<f64> {
    let known = answer.wind.iter().filter(|w| w.direction.is_some());
    let nearest = known.min_by(|a, b| (a.time - time).abs().total_cmp(&(b.time - time).abs()))?;
    (nearest.time - time).abs().le(&60.0).then_some(nearest)?.direction.map(|d| d.0.in_degrees())
}

/// How far a place is to windward, m.
pub(super) fn to_windward(place: [f64; 2], from: f64) -> f64 {
    let (s, c) = (from * DEGREE).sin_cos();
    place[0] * s + place[1] * c
}

/// Her beats that made some way to windward.
fn beats(answer: &Debrief, boat: &Boat, trail: &Trail, length: f64, zone: &TimeZone, long: Long) -> Vec<Beat> {
    boat.beats.iter().filter_map(|own| beat((answer, boat, trail), own, length, zone, long)).collect()
}

fn beat(
    (answer, boat, trail): (&Debrief, &Boat, &Trail),
    own: &track::debrief::Beat,
    length: f64,
    zone: &TimeZone,
    long: Long,
) -> Option<Beat> {
    let (start, end) = (own.start, own.end);
    let from = wind_at(answer, 0.5 * (start + end))?;
    let mut places = trail.between(start, end);
    let first = places.next()?.1;
    let last = places.last()?.1;
    let made = |place: [f64; 2]| to_windward(place, from) - to_windward(first, from);
    let whole = made(last);
    if whole < 10.0 {
        return None;
    }
    let at = |time: f64| trail.between(time, time + 5.0).next().map_or(0.0, |p| made(p.1)).clamp(0.0, whole);
    let rounding = |near: f64, kind: MarkKind| boat.roundings.iter().find(|r| r.kind == kind && (r.time - near).abs() < 30.0);
    let (leeward, windward) = (rounding(start, MarkKind::Leeward), rounding(end, MarkKind::Windward));
    let mut found: Vec<(f64, f64, Option<f64>, &'static str)> = Vec::new();
    if let Some(r) = leeward {
        found.push((r.time, r.loss, None, "rounding"));
    }
    for turn in boat.manoeuvres.iter().filter(|m| m.kind == Turn::Tack && m.time > start && m.time < end) {
        let apart = |r: Option<&Rounding>| r.is_none_or(|r| (r.time - turn.time).abs() > ROUNDS);
        if let Some(loss) = turn.loss.filter(|_| apart(leeward) && apart(windward)) {
            found.push((turn.time, loss, turn.loss_sd.map(|sd| 2.0 * sd), "tack"));
        }
    }
    if let Some(r) = windward {
        found.push((r.time, r.loss, None, "rounding"));
    }
    for lost in &own.lost {
        found.push((0.5 * (lost.start + lost.end), lost.metres, Some(2.0 * lost.sd), cause(lost.cause)));
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let stopped = boat.stops.iter().filter(|s| s.start > start && s.end < end);
    let stopped: f64 = stopped.map(|s| s.end - s.start).sum();
    let all: f64 = found.iter().map(|f| f.1).sum();
    let half = found.iter().filter_map(|f| f.2).map(|h| h * h).sum::<f64>().sqrt();
    let count = found.len();
    // The largest are drawn, in the order they came.
    let mut kept = found.clone();
    kept.sort_by(|a, b| b.1.total_cmp(&a.1));
    kept.truncate(most(WIDTH));
    kept.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rest: f64 = all - kept.iter().map(|f| f.1).sum::<f64>();
    let lost = kept
        .iter()
        .enumerate()
        .map(|(n, f)| Lost {
            at: at(f.0),
            metres: f.1,
            half: f.2,
            what: f.3.to_owned(),
            clock: clock(f.0, zone, "%H:%M:%S"),
            letter: char::from(b'A' + n.min(25) as u8).to_string(),
        })
        .collect();
    let mut sum = if count == 0 {
        "Nothing of this beat is charged: no turn was sailed steadily before and after, and nothing else stands out from chance.".to_owned()
    } else {
        let lengths = |m: f64| format!("{:.0}", (m / length.max(0.1)).max(0.0));
        format!(
            "{} {} lost in {}: {} {} ({} to {}).",
            long.signed(all, 0),
            long.unit,
            counted(count, "place"),
            lengths(all),
            if lengths(all) == "1" { "boat length" } else { "boat lengths" },
            lengths(all - half),
            lengths(all + half)
        )
        .replace('-', "−")
    };
    if kept.len() < count {
        sum += &format!(
            " {} {} of it in {} that {} not drawn.",
            long.signed(rest, 0),
            long.unit,
            counted(count - kept.len(), "smaller one"),
            if count - kept.len() == 1 { "is" } else { "are" }
        );
    }
    if let Some((metres, sd)) = own.shifts {
        sum += &shifts(metres, sd, long);
    }
    if stopped > 0.0 {
        sum += &format!(" {stopped:.0} s stood still besides.");
    }
    let end_words = |r: Option<&Rounding>, other: &str| {
        r.map_or_else(|| other.to_owned(), |r| answer.course_marks.get(r.mark).map_or("course mark", |m| m.name.as_str()).to_owned())
    };
    let alt =
        format!("A beat of {} to windward from {} to {}. {sum}", long.whole(whole), clock(start, zone, "%H:%M"), clock(end, zone, "%H:%M"));
    Some(Beat {
        start,
        end,
        tape: Metres {
            length: whole,
            lost,
            ends: [end_words(leeward, "where the beat began"), end_words(windward, "where it ended")],
            long,
            alt,
        },
        sum,
        moments: kept.iter().map(|f| f.0).collect(),
    })
}

/// A cause in a child's words.
fn cause(cause: Cause) -> &'static str {
    match cause {
        Cause::Headed => "headed tack",
        Cause::Pinched => "too close",
        Cause::Footed => "too free",
        Cause::Overstood => "past layline",
    }
}

/// What the shifts brought, in a sentence.
fn shifts(metres: f64, sd: f64, long: Long) -> String {
    let unit = long.unit;
    let [low, middle, high] = [metres - 2.0 * sd, metres, metres + 2.0 * sd].map(|m| long.signed(m, 0));
    if metres > 2.0 * sd {
        format!(" By the shifts you gained {middle} {unit} ({low} to {high}).")
    } else if -metres > 2.0 * sd {
        let [low, middle, high] = [-metres - 2.0 * sd, -metres, -metres + 2.0 * sd].map(|m| long.signed(m, 0));
        format!(" The shifts cost you {middle} {unit} ({low} to {high}): more on the headed tack than on the lifted one.")
    } else {
        String::new()
    }
}

/// A moment with some seconds round it.
fn moment(answer: &Debrief, trail: &Trail, at: f64, length: f64, zone: &TimeZone) -> Option<Passage> {
    let places: Vec<(f64, [f64; 2])> = trail.between(at - AROUND, at + AROUND).collect();
    let middle = places.iter().position(|p| p.0 >= at)?;
    let near = |m: &&[f64; 2]| places.iter().any(|p| (p.1[0] - m[0]).hypot(p.1[1] - m[1]) < 25.0);
    Some(Passage {
        boats: drawn(places.len(), middle),
        trail: places.iter().map(|p| p.1).collect(),
        better: None,
        mark: answer.mark_places.iter().find(near).copied(),
        length,
        wind: wind_at(answer, at),
        alt: format!("Your way from {:.0} s before {} to {:.0} s after it", AROUND, clock(at, zone, "%H:%M:%S"), AROUND),
    })
}

/// Boats about the middle and every few seconds from it.
fn drawn(count: usize, middle: usize) -> Vec<usize> {
    (middle % APART..count).step_by(APART).collect()
}

/// The rounding that lost most over the sailor's own that lost least, of the same kind, where they differ.
fn over(answer: &Debrief, boat: &Boat, trail: &Trail, length: f64, zone: &TimeZone, long: Long) -> Option<Over> {
    let of = |kind: MarkKind| {
        let own = || boat.roundings.iter().filter(|r| r.kind == kind);
        let worst = own().max_by(|a, b| a.loss.total_cmp(&b.loss))?;
        let best = own().min_by(|a, b| a.loss.total_cmp(&b.loss))?;
        (worst.loss > best.loss + 1.0).then_some((worst, best))
    };
    let pairs = [of(MarkKind::Leeward), of(MarkKind::Windward)];
    let (worst, best) = pairs.into_iter().flatten().max_by(|a, b| (a.0.loss - a.1.loss).total_cmp(&(b.0.loss - b.1.loss)))?;
    let cut = |r: &Rounding| {
        let mark = answer.mark_places.get(r.mark)?;
        // The second one is turned so that its wind is that of the first.
        let (s, c) = ((wind_at(answer, r.time)? - wind_at(answer, worst.time)?) * DEGREE).sin_cos();
        let places: Vec<(f64, [f64; 2])> = trail.between(r.time - AROUND, r.time + AROUND).collect();
        let middle = places.iter().position(|p| p.0 >= r.time)?;
        let turned = |p: [f64; 2]| {
            let (x, y) = (p[0] - mark[0], p[1] - mark[1]);
            [x * c - y * s, x * s + y * c]
        };
        Some((places.iter().map(|p| turned(p.1)).collect::<Vec<_>>(), drawn(places.len(), middle)))
    };
    let (path, boats) = cut(worst)?;
    let clocks = [worst, best].map(|r| clock(r.time, zone, "%H:%M:%S"));
    let of = if worst.kind == MarkKind::Windward { "windward" } else { "leeward" };
    let row = |what: &str, pick: &dyn Fn(&Rounding) -> String| [what.to_owned(), pick(worst), pick(best)];
    Some(Over {
        picture: Passage {
            trail: path,
            boats,
            better: cut(best),
            mark: Some([0.0, 0.0]),
            length,
            wind: wind_at(answer, worst.time),
            alt: format!(
                "Your {of} rounding at {} as a solid line, the better one at {} dashed, both from the course mark",
                clocks[0], clocks[1]
            ),
        },
        of,
        rows: vec![
            row(&format!("in, from the course mark, {}", long.unit), &|r| long.signed(r.entry, 1)),
            row(&format!("out, {}", long.unit), &|r| long.signed(r.exit, 1)),
            row("slowest, kn", &|r| signed(r.slowest / KNOT, 1)),
            row(&format!("way lost, {}", long.unit), &|r| long.signed(r.loss, 1)),
        ],
        clocks,
        moment: worst.time,
    })
}

/// Speed over the ground and made good to windward by the clock, every [`STEP`] seconds.
fn speeds(answer: &Debrief, trail: &Trail) -> Vec<(f64, f64, Option<f64>)> {
    /// Seconds a figure is the mean of.
    const STEP: usize = 10;
    let Some((first, last)) = span(answer) else { return Vec::new() };
    let mut wind = answer.wind.iter().filter_map(|w: &WindAt| Some((w.time, w.direction?.0.in_degrees()))).peekable();
    let mut rows = Vec::new();
    let mut from: Option<(f64, f64)> = None;
    for i in (0..trail.places.len().saturating_sub(STEP)).step_by(STEP) {
        let (a, b) = (trail.places[i], trail.places[i + STEP]);
        if !(a[0].is_finite() && b[0].is_finite()) {
            continue;
        }
        let time = (trail.start + i as i64) as f64 + 0.5 * STEP as f64;
        while let Some(next) = wind.next_if(|w| w.0 <= time + 5.0) {
            from = Some(next);
        }
        let moved = [f64::from(b[0] - a[0]) / STEP as f64, f64::from(b[1] - a[1]) / STEP as f64];
        let good = from.filter(|w| (w.0 - time).abs() < 30.0).map(|w| to_windward(moved, w.1) / KNOT);
        rows.push(((time - first) / (last - first).max(1.0), moved[0].hypot(moved[1]) / KNOT, good));
    }
    rows
}

/// The first and the last second of an outing's paths.
#[must_use]
pub fn span(answer: &Debrief) -> Option<(f64, f64)> {
    let times = || answer.boats.iter().flat_map(|b| b.path.iter().map(move |p| p[0] + b.clock_shift.unwrap_or(0.0)));
    let (first, last) = (times().fold(f64::MAX, f64::min), times().fold(f64::MIN, f64::max));
    (first <= last).then_some((first, last))
}
