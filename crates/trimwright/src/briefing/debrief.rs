//! The debrief on paper: a page for the group that praises, pages for the coach with the tables, and a page for each sailor that shows
//! no other sailor's losses.

use advice::keep::{Said, keep_and_work_on};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use measure::angle::{DEGREE, wrap};
use measure::counted;
use measure::quantity::KNOT;
use measure::wind::METER_HEIGHT;
use track::debrief::{Boat, Debrief, Kind, MarkKind, Mean, PATH_STEP, Turn, WindAt};

use super::ashore::span;
use crate::drawing::chart::Chart;
use crate::long::Long;
use crate::outing::SpeedsOf;

/// The pages.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DebriefPage {
    /// The day.
    pub title: String,
    /// Boats, hours and timezone.
    pub about: String,
    /// The chart of all boats.
    pub chart: Chart,
    /// The wind in a sentence.
    pub wind: String,
    /// The wind by the clock: share of the outing, degrees without jumps, half interval.
    pub wind_rows: Vec<(f64, f64, f64)>,
    /// Clock times along the outing.
    pub clock: Vec<(f64, String)>,
    /// For each sailor the thing to keep.
    pub best: Vec<(String, String)>,
    /// The coach's tables.
    pub tables: Vec<Table>,
    /// What the tracks cannot tell, and what was left out.
    pub untold: Vec<String>,
    /// A page for each sailor of whom enough is told.
    pub sailors: Vec<SailorPage>,
}

/// A table under a head.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// What it is about.
    pub title: String,
    /// Names of the columns; the first is of words, the others of figures.
    pub head: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
    /// What to know about it.
    pub note: String,
    /// When each row was, UTC seconds, where that is one moment; empty where no row has one.
    pub moments: Vec<f64>,
}

/// One sailor's own page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SailorPage {
    /// Whose.
    pub name: String,
    /// Whose trail is followed on the chart.
    pub boat: usize,
    /// The thing to keep, and when it showed.
    pub keep: (String, String),
    /// The thing to work on, and when it showed.
    pub work_on: (String, String),
    /// When each showed, UTC seconds.
    pub moments: [Option<f64>; 2],
    /// The drill for it.
    pub drill: String,
    /// Her own tables.
    pub tables: Vec<Table>,
}

/// A clock time.
pub(crate) fn clock(seconds: f64, zone: &TimeZone, form: &str) -> String {
    Timestamp::from_second(seconds.round() as i64)
        .map_or_else(|_| "?".to_owned(), |t| t.to_zoned_datetime(zone.clone()).strftime(form).to_string())
}

/// The pages of a debrief, with times in a timezone, whose speeds tell the wind's, and what lengths are told in.
#[must_use]
pub fn page(answer: &Debrief, zone: &TimeZone, speeds: SpeedsOf, long: Long) -> DebriefPage {
    let (first, last) = span(answer).unwrap_or((f64::MAX, f64::MIN));
    let named = if first < f64::MAX { clock(first, zone, "%A %-d %B %Y") } else { "An outing".to_owned() };
    let out = answer.boats.iter().filter(|b| !b.path.is_empty()).count();
    let span = (last - first).max(1.0);
    let told: Vec<&WindAt> = answer.wind.iter().filter(|w| w.direction.is_some() && w.time >= first && w.time <= last).collect();
    let wind_rows = without_jumps(&told, first, span);
    let mut page = DebriefPage {
        title: named,
        about: format!(
            "{}, {} to {}, times in {}",
            counted(out, "boat"),
            clock(first, zone, "%H:%M"),
            clock(last, zone, "%H:%M"),
            clock(first, zone, "%Z")
        ),
        chart: chart(answer, &wind_rows, long),
        wind: wind_words(answer, &wind_rows, speeds, long),
        clock: (0..=4).map(|n| (f64::from(n) / 4.0, clock(first + span * f64::from(n) / 4.0, zone, "%H:%M"))).collect(),
        wind_rows,
        tables: vec![boats(answer, long), marks(answer, long), starts(answer, zone, long), lineups(answer, zone, long)]
            .into_iter()
            .filter(|t| !t.rows.is_empty())
            .collect(),
        untold: answer.warnings.iter().map(ToString::to_string).chain(answer.limits.iter().cloned()).collect(),
        ..DebriefPage::default()
    };
    for (n, boat) in answer.boats.iter().enumerate() {
        page.untold.extend(boat.warnings.iter().map(|w| format!("{}: {w}", boat.track)));
        let Some((keep, work_on)) = keep_and_work_on(answer, n) else { continue };
        page.best.push((boat.track.clone(), praise(&keep, boat, zone, long)));
        let when = |moment: Option<f64>, metres: Option<f64>, word: &str| {
            let metres = metres.map(|m| format!("about {} {word} in this outing", long.whole(m)));
            let moment = moment.map(|t| format!("look at {}", clock(t, zone, "%H:%M:%S")));
            let parts: Vec<String> = metres.into_iter().chain(moment).collect();
            parts.join("; ")
        };
        page.sailors.push(SailorPage {
            name: boat.track.clone(),
            boat: n,
            keep: (keep.text.clone(), when(keep.moment, keep.metres, "gained")),
            work_on: (work_on.text.clone(), when(work_on.moment, work_on.metres, "to be had")),
            moments: [keep.moment, work_on.moment],
            drill: work_on.drill.unwrap_or_default().to_owned(),
            tables: own_tables(answer, boat, zone, long),
        });
    }
    page
}

/// What the group hears of a sailor: what stood out, or the best tack with its figure.
fn praise(keep: &Said, boat: &Boat, zone: &TimeZone, long: Long) -> String {
    let tack = boat.manoeuvres.iter().find(|m| Some(m.time) == keep.moment).and_then(|m| m.loss.zip(m.loss_sd));
    match (keep.rule, keep.moment, tack) {
        (None, Some(at), Some((loss, sd))) => {
            let [low, loss, high] = [loss - 2.0 * sd, loss, loss + 2.0 * sd].map(|m| long.signed(m.max(0.0), 1));
            format!("A tack at {} that cost {loss} {} ({low} to {high}).", clock(at, zone, "%H:%M"), long.unit)
        }
        _ => keep.text.clone(),
    }
}

/// Share of the outing, degrees joined without jumps, and half the interval of 19 chances in 20.
fn without_jumps(told: &[&WindAt], first: f64, span: f64) -> Vec<(f64, f64, f64)> {
    let mut rows: Vec<(f64, f64, f64)> = Vec::with_capacity(told.len());
    for w in told {
        let Some((bearing, sd)) = w.direction else { continue };
        let degrees = match rows.last() {
            Some(last) => last.1 + wrap((bearing.in_degrees() - last.1) * DEGREE) / DEGREE,
            None => bearing.in_degrees(),
        };
        rows.push(((w.time - first) / span, degrees, 2.0 * sd / DEGREE));
    }
    rows
}

/// The middle of the directions and the range that nine tenths lie in.
fn middle(rows: &[(f64, f64, f64)]) -> Option<(f64, f64, f64)> {
    let mut degrees: Vec<f64> = rows.iter().map(|r| r.1).collect();
    degrees.sort_by(f64::total_cmp);
    let at = |share: f64| degrees.get(((degrees.len().max(1) - 1) as f64 * share).round() as usize).copied();
    Some((at(0.5)?, at(0.05)?, at(0.95)?))
}

fn compass(degrees: f64) -> String {
    format!("{:03.0}°", degrees.rem_euclid(360.0).round() % 360.0)
}

fn wind_words(answer: &Debrief, rows: &[(f64, f64, f64)], of: SpeedsOf, long: Long) -> String {
    let Some((_, low, high)) = middle(rows) else {
        return "The wind cannot be told from these tracks; the reason stands under what the tracks cannot tell.".to_owned();
    };
    let half = rows.iter().map(|r| r.2).sum::<f64>() / rows.len().max(1) as f64;
    let speeds: Vec<(f64, f64)> = answer.wind.iter().filter_map(|w| w.speed).collect();
    let n = speeds.len().max(1) as f64;
    let speed = if speeds.is_empty() {
        "Its speed is not told without speeds of the one class that sailed.".to_owned()
    } else {
        let (mean, sd) = speeds.iter().fold((0.0, 0.0), |s, v| (s.0 + v.0 / n, s.1 + v.1 / n));
        let (mean, half) = (mean / KNOT, 2.0 * sd / KNOT);
        format!(
            "About {mean:.0} knots, give or take {half:.0}, at {} above the water, read from {}.",
            long.height(METER_HEIGHT),
            of.words()
        )
    };
    let current = answer.current.map_or_else(String::new, |c| {
        let (unit, pace) = long.pace();
        let (speed, half) = (c.speed / pace, 2.0 * c.sd / pace);
        format!(" Current across the wind {speed:.2} ± {half:.2} {unit}, setting towards {}.", compass(c.toward.in_degrees()))
    });
    format!(
        "The wind came from {} to {}, each moment known to ± {half:.0}°, 19 chances in 20. {speed}{current}",
        compass(low),
        compass(high)
    )
}

fn chart(answer: &Debrief, rows: &[(f64, f64, f64)], long: Long) -> Chart {
    let apart = 2.0 * PATH_STEP as f64;
    let trails = answer
        .boats
        .iter()
        .map(|b| b.path.chunk_by(|p, q| q[0] - p[0] <= apart).map(|part| part.iter().map(|p| [p[1], p[2]]).collect()).collect())
        .collect();
    let wind = middle(rows).map(|(from, low, high)| {
        let half = (0.5 * (high - low)).max(rows.iter().map(|r| r.2).sum::<f64>() / rows.len().max(1) as f64);
        (from, half, format!("wind from\n{} ± {half:.0}°", compass(from)))
    });
    let marks = answer.course_marks.iter().zip(&answer.mark_places).map(|(m, p)| (m.name.clone(), *p)).collect();
    Chart {
        trails,
        marks,
        wind,
        long,
        alt: format!(
            "Chart of the outing: {}, {}",
            counted(answer.boats.len(), "trail"),
            counted(answer.course_marks.len(), "course mark")
        ),
    }
}

/// Names of columns: a unit of lengths for "LONG", one of speeds for "PACE".
fn words<const N: usize>(head: [&str; N], long: Long) -> Vec<String> {
    head.iter().map(|name| name.replace("LONG", long.unit).replace("PACE", long.pace().0)).collect()
}

fn lost(mean: Option<Mean>, long: Long) -> String {
    mean.map_or_else(|| "–".to_owned(), |m| format!("{} ± {}", long.signed(m.mean, 1), long.signed(2.0 * m.sd, 1)))
}

/// A figure with a true minus, and no sign where nothing is left of it.
pub(crate) fn signed(value: f64, digits: usize) -> String {
    Long::METRES.signed(value, digits)
}

/// A figure in a unit of so much, or a dash.
fn figure(value: Option<f64>, unit: f64, digits: usize) -> String {
    value.map_or_else(|| "–".to_owned(), |v| signed(v / unit, digits))
}

fn boats(answer: &Debrief, long: Long) -> Table {
    let row = |b: &Boat| {
        let minutes = |kind: Kind| b.legs.iter().filter(|l| l.kind == Some(kind)).fold(0.0, |s, l| s + l.end - l.start) / 60.0;
        let turns = |kind: Turn| b.manoeuvres.iter().filter(|m| m.kind == kind).count();
        vec![
            b.track.clone(),
            long.signed(b.distance, 0),
            format!("{:.0}", minutes(Kind::Beat)),
            format!("{:.0}", minutes(Kind::Reach)),
            format!("{:.0}", minutes(Kind::Run)),
            format!("{:.0}", minutes(Kind::Stopped)),
            turns(Turn::Tack).to_string(),
            lost(b.tacks, long),
            turns(Turn::Gybe).to_string(),
            lost(b.gybes, long),
        ]
    };
    let mut told = format!(
        "Losses are {} for each turn, with 19 chances in 20 to lie within the ±. Boats stand in the order of their files.",
        long.word()
    );
    let all: Vec<Mean> = answer.boats.iter().filter_map(|b| b.tacks).collect();
    if all.len() > 1 && all.iter().enumerate().all(|(i, a)| all[..i].iter().all(|b| !a.apart(b))) {
        told += " No boat's tacks can be told from another's: the intervals overlap.";
    }
    Table {
        title: "Boats".to_owned(),
        head: words(
            ["boat", "sailed, LONG", "beat, min", "reach", "run", "stopped", "tacks", "lost in each, LONG", "gybes", "lost in each, LONG"],
            long,
        ),
        rows: answer.boats.iter().filter(|b| !b.path.is_empty()).map(row).collect(),
        note: told,
        moments: Vec::new(),
    }
}

fn marks(answer: &Debrief, long: Long) -> Table {
    let row = |(n, m): (usize, &track::debrief::CourseMark)| {
        let own: Vec<_> = answer.boats.iter().flat_map(|b| &b.roundings).filter(|r| r.mark == n).collect();
        let mean = |pick: fn(&track::debrief::Rounding) -> f64| {
            (!own.is_empty()).then(|| own.iter().map(|r| pick(r)).sum::<f64>() / own.len() as f64)
        };
        vec![
            m.name.clone(),
            own.len().to_string(),
            figure(mean(|r| r.entry), long.metres, 1),
            figure(mean(|r| r.exit), long.metres, 1),
            figure(mean(|r| r.slowest), long.pace().1, 2),
            figure(mean(|r| r.loss), long.metres, 1),
            m.sd.map_or_else(|| "given".to_owned(), |sd| format!("found, ± {}", long.whole(2.0 * sd))),
        ]
    };
    Table {
        title: "Course marks, means over all roundings".to_owned(),
        head: words(["course mark", "roundings", "entry, LONG", "exit, LONG", "slowest, PACE", "way lost, LONG", "its place"], long),
        rows: answer.course_marks.iter().enumerate().map(row).collect(),
        note: String::new(),
        moments: Vec::new(),
    }
}

fn starts(answer: &Debrief, zone: &TimeZone, long: Long) -> Table {
    let row = |s: &track::debrief::Start| {
        let made: Vec<f64> = s.boats.iter().filter_map(|b| b.made).collect();
        let spread = made.iter().copied().reduce(f64::max).zip(made.iter().copied().reduce(f64::min)).map(|(high, low)| high - low);
        let late = s.boats.iter().map(|b| b.after).fold(0.0, f64::max);
        vec![clock(s.time, zone, "%H:%M:%S"), s.boats.len().to_string(), format!("{late:.0}"), figure(spread, long.metres, 0)]
    };
    Table {
        title: "Boats that got under way together".to_owned(),
        head: words(["start", "boats", "last after, s", "between first and last 30 s on, LONG"], long),
        rows: answer.starts.iter().map(row).collect(),
        moments: answer.starts.iter().map(|s| s.time).collect(),
        note: "Starts of a race, of practice or of a line-up look alike in the tracks.".to_owned(),
    }
}

fn lineups(answer: &Debrief, zone: &TimeZone, long: Long) -> Table {
    let name = |n: usize| answer.boats.get(n).map_or("?", |b| b.track.as_str());
    let row = |l: &track::debrief::Lineup| {
        let (a, b) = (name(l.boats.0), name(l.boats.1));
        let verdict = if l.difference.abs() <= 2.0 * l.sd {
            "not told apart".to_owned()
        } else {
            format!("{} faster", if l.difference > 0.0 { a } else { b })
        };
        let pace = long.pace().1;
        let signed = |v: f64| format!("{:+.3}", v / pace).replace('-', "−");
        vec![
            format!("{a}, {b}"),
            clock(l.start, zone, "%H:%M:%S"),
            format!("{:.0}", l.end - l.start),
            format!("{} ± {:.3}", signed(l.difference), 2.0 * l.sd / pace),
            signed(l.from_speed),
            signed(l.from_height),
            verdict,
        ]
    };
    Table {
        title: "Side by side".to_owned(),
        head: words(["boats", "from", "s", "first less second, VMG PACE", "by speed", "by height", "verdict"], long),
        rows: answer.lineups.iter().map(row).collect(),
        moments: answer.lineups.iter().map(|l| l.start).collect(),
        note: "The interval is that of the difference in this pass, 19 chances in 20; another pass may come out otherwise.".to_owned(),
    }
}

fn own_tables(answer: &Debrief, boat: &Boat, zone: &TimeZone, long: Long) -> Vec<Table> {
    let turns = Table {
        title: "Your tacks and gybes".to_owned(),
        head: words(["turn", "at", "turned", "back to speed, s", "lost, LONG"], long),
        rows: boat
            .manoeuvres
            .iter()
            .map(|m| {
                let loss = m
                    .loss
                    .zip(m.loss_sd)
                    .map_or_else(|| "–".to_owned(), |(l, sd)| format!("{} ± {}", long.signed(l, 1), long.signed(2.0 * sd, 1)));
                let kind = if m.kind == Turn::Tack { "tack" } else { "gybe" };
                vec![kind.to_owned(), clock(m.time, zone, "%H:%M:%S"), format!("{:.0}°", m.turn / DEGREE), figure(m.to_speed, 1.0, 0), loss]
            })
            .collect(),
        moments: boat.manoeuvres.iter().map(|m| m.time).collect(),
        note: "A dash: you did not sail steadily before or after, so nothing is charged.".to_owned(),
    };
    let roundings = Table {
        title: "Your roundings".to_owned(),
        head: words(["course mark", "at", "entry, LONG", "exit, LONG", "slowest, PACE", "way lost, LONG"], long),
        rows: boat
            .roundings
            .iter()
            .map(|r| {
                let fallback = if r.kind == MarkKind::Windward { "windward" } else { "leeward" };
                let mark = answer.course_marks.get(r.mark).map_or(fallback, |m| m.name.as_str());
                vec![
                    mark.to_owned(),
                    clock(r.time, zone, "%H:%M:%S"),
                    figure(Some(r.entry), long.metres, 1),
                    figure(Some(r.exit), long.metres, 1),
                    figure(Some(r.slowest), long.pace().1, 2),
                    figure(Some(r.loss), long.metres, 1),
                ]
            })
            .collect(),
        moments: boat.roundings.iter().map(|r| r.time).collect(),
        note: String::new(),
    };
    [turns, roundings].into_iter().filter(|t| !t.rows.is_empty()).collect()
}
