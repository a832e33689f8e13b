//! A race day in words, and as the page and the chart that are drawn.

use crate::briefing::race_day::{LegRow, RaceDayPage, Shoulder, StartLine, Turned};
use crate::drawing::course::{Band, CourseChart, Mark};
use crate::drawing::rounding::RoundingDrawing;
use crate::drawing::start::LineDrawing;
use crate::long::Long;
use measure::angle::DEGREE;
use measure::counted;
use measure::quantity::{KNOT, plain};
use measure::wind::METER_HEIGHT;
use regatta::course::Role;
use regatta::layline::Layline;
use regatta::sailing::{Kind, Passage, Stuck};
use regatta::start::{Bias, Start, signals};

use super::deeds;
use super::found::{Found, FoundLaylines, FoundLeg, FoundRounding};

/// Seconds to some boat lengths from lying still are told for these.
pub const LENGTHS: [f64; 4] = [1.0, 2.0, 5.0, 10.0];
/// Laylines are drawn over this share of the beat.
const DRAWN: f64 = 0.6;
/// A set of the current under this is not worth a word, rad.
const SET: f64 = 1.5 * DEGREE;

/// Minutes and seconds.
#[must_use]
pub fn clock(seconds: f64) -> String {
    let whole = seconds.round() as i64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// A bearing in three digits.
#[must_use]
pub fn bearing(degrees: f64) -> String {
    format!("{:03.0}", degrees.round().rem_euclid(360.0))
}

/// A number with as many places as it deserves.
#[must_use]
pub fn short(value: f64) -> String {
    if value.abs() < 9.95 { format!("{value:.1}") } else { format!("{value:.0}") }
}

/// How a leg is sailed, in words.
#[must_use]
pub fn sailed(passage: &Result<Passage, Stuck>) -> String {
    let passage = match passage {
        Err(stuck) => return stuck.words().to_owned(),
        Ok(passage) => passage,
    };
    if let [(a, s), (b, t)] = passage.parts.as_slice() {
        let one =
            |w: &regatta::sailing::Way, t: f64| format!("{} tack {} on {}", w.tack().word(), clock(t), bearing(w.course().in_degrees()));
        return format!("{}: {}, {}", passage.kind.word(), one(a, *s), one(b, *t));
    }
    match passage.parts.first() {
        Some((way, _)) => format!(
            "{} on {}, wind from {} at {:.0}°",
            passage.kind.word(),
            bearing(way.course().in_degrees()),
            way.tack().word(),
            way.angle.abs() / DEGREE
        ),
        None => passage.kind.word().to_owned(),
    }
}

/// Which end is better and by how much.
#[must_use]
pub fn favoured(bias: &Bias, boat: f64) -> String {
    match bias.favoured() {
        None => "Both ends are the same.".to_owned(),
        Some(end) => {
            let (lengths, seconds) = (bias.metres.abs() / boat, bias.seconds.abs());
            if lengths < 0.1 {
                format!("The {}, by {} seconds.", end.words(), short(seconds))
            } else {
                format!("The {}, by {} boat lengths.", end.words(), short(lengths))
            }
        }
    }
}

/// The line through the shift, and when its ends are even.
#[must_use]
pub fn through(found: &Found, start: &Start, long: Long) -> String {
    let [low, now, high] = &start.bias;
    let doubt = found.doubt / DEGREE;
    let each = |b: &Bias| {
        b.favoured()
            .map_or("neither end".to_owned(), |e| format!("{} by {}, {} s", e.words(), long.short(b.metres.abs()), short(b.seconds.abs())))
    };
    let even = bearing(start.even_at.in_degrees());
    format!(
        "{:.0}° off square: {} nearer to the wind, {} seconds. Wind {doubt:.0}° to the left: {}; to the right: {}. Even when the wind is {even}{}.",
        now.angle.abs() / DEGREE,
        long.short(now.metres.abs()),
        short(now.seconds.abs()),
        each(low),
        each(high),
        found.magnetic(start.even_at).map_or_else(String::new, |m| format!(" ({} by compass)", bearing(m))),
    )
}

/// Seconds to some boat lengths from lying still.
#[must_use]
pub fn lying_still(found: &Found) -> String {
    let each = LENGTHS.map(|n| format!("{n:.0} in {:.0} s", found.boat.getaway.seconds(n * found.boat.length)));
    format!(
        "From lying still, boat lengths: {}. Nine tenths of full speed after {:.0} s.",
        each.join(", "),
        found.boat.getaway.to_nine_tenths
    )
}

/// What the current does on a layline.
#[must_use]
pub fn set(line: &Layline) -> Option<String> {
    let degrees = line.set.abs() / DEGREE;
    (line.set.abs() >= SET).then(|| {
        if line.set > 0.0 {
            format!("The current sets her up {degrees:.0}°: in still water she would tack later.")
        } else {
            format!("The current holds her down {degrees:.0}°: in still water she would tack sooner.")
        }
    })
}

/// What a child is told.
#[must_use]
pub fn shoulder(line: &Layline) -> String {
    format!("On {} tack: tack when the course mark is {}.", line.sight.from.word(), line.sight.words())
}

/// A layline's bearings and what it costs to sail past it.
#[must_use]
pub fn layline(found: &Found, l: &FoundLaylines, k: usize, long: Long) -> String {
    let line = &l.lines[k];
    let [low, middle, high] = line.bearing.map(|b| bearing(b.in_degrees()));
    let compass = found.magnetic(line.bearing[1]).map_or_else(String::new, |m| format!(", {} by compass", bearing(m)));
    let past = l.past[k].map_or_else(|_| String::new(), |p| format!(" {} past it costs {}.", long.whole(p.past), long.short(p.metres)));
    format!("{} tack layline: the course mark bears {middle} ({low} to {high}{compass}).{past}", capital(line.tack.word()))
}

/// With a large first letter.
#[must_use]
pub fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// What each way round loses.
#[must_use]
pub fn rounding(r: &FoundRounding, boat: f64, long: Long) -> Vec<(String, String)> {
    let lengths = |m: f64| format!("{}, {:.1} lengths", long.short(m), m / boat);
    let best = &r.rounded;
    vec![
        ("way in, off the buoy".to_owned(), lengths(best.best.entry)),
        ("no difference from".to_owned(), format!("{} to {}", long.figure(best.entry[0]), long.short(best.entry[1]))),
        (
            "tight in, wide out".to_owned(),
            format!(
                "{} behind ({} to {})",
                long.short(best.tight_in.behind),
                long.figure(r.tight_range[0].min(r.tight_range[1])),
                long.figure(r.tight_range[0].max(r.tight_range[1]))
            ),
        ),
        ("turn a length late".to_owned(), format!("{} behind", long.short(best.late.behind))),
        ("one radius".to_owned(), format!("{} behind", long.short(best.one_radius.behind))),
    ]
}

/// Where the wind is, in a line.
#[must_use]
pub fn wind(found: &Found, long: Long) -> String {
    let from = found.day.wind_from;
    let compass = found.magnetic(from).map_or_else(String::new, |m| format!(" ({} by compass)", bearing(m)));
    let current = if found.day.current.si() > 0.0 {
        format!("; current {:.1} knots toward {}", found.day.current.si() / KNOT, bearing(found.day.current_toward.in_degrees()))
    } else {
        String::new()
    };
    format!(
        "wind {} ± {:.0}°{compass}, {} knots at {}, {:.1} at {}{current}",
        bearing(from.in_degrees()),
        found.doubt / DEGREE,
        plain(found.wind.given / KNOT),
        long.height(found.wind.height),
        found.day.wind.si() / KNOT,
        long.height(METER_HEIGHT)
    )
}

impl Found {
    /// The chart of the course.
    #[must_use]
    pub fn chart(&self, long: Long) -> CourseChart {
        let mark = |role: Option<Role>| match role {
            Some(Role::Windward) => Mark::Windward,
            Some(Role::Pin) => Mark::Pin,
            Some(Role::CommitteeBoat) => Mark::CommitteeBoat,
            _ => Mark::Other,
        };
        let bands = self.laylines.iter().flat_map(|l| {
            l.lines.iter().map(|line| Band {
                mark: l.mark.at,
                bearings: line.bearing.map(measure::Bearing::in_radians),
                length: DRAWN * l.beat,
                name: format!("{} tack layline", line.tack.word()),
            })
        });
        let from = self.day.wind_from.in_degrees();
        let mut legs: Vec<[[f64; 2]; 2]> = Vec::new();
        for leg in self.legs.iter().map(|l| [l.leg.from.at, l.leg.to.at]) {
            if !legs.contains(&leg) && !legs.contains(&[leg[1], leg[0]]) {
                legs.push(leg);
            }
        }
        CourseChart {
            marks: self.course.buoys.iter().map(|b| (b.name.clone(), b.at, mark(b.role))).collect(),
            legs,
            line: self.course.line.map(|l| [l.pin, l.boat]),
            bands: bands.collect(),
            zones: self.roundings.iter().map(|r| r.mark.at).collect(),
            zone: regatta::rounding::ZONE * self.boat.length,
            wind: (
                from,
                self.doubt / DEGREE,
                format!(
                    "{} ± {:.0}°\n{:.0} kn at {}",
                    bearing(from),
                    self.doubt / DEGREE,
                    self.day.wind.si() / KNOT,
                    long.height(METER_HEIGHT)
                ),
            ),
            current: (self.day.current.si() > 0.0)
                .then(|| (self.day.current_toward.in_degrees(), format!("{:.1} kn current", self.day.current.si() / KNOT))),
            alt: format!(
                "Chart of the course with {} and {}; {}",
                counted(self.course.buoys.len(), "buoy"),
                counted(self.legs.len(), "leg"),
                wind(self, long)
            ),
            long,
        }
    }

    /// The race-day sheet, its lengths in a unit.
    #[must_use]
    pub fn page(&self, long: Long) -> RaceDayPage {
        let line = |start: &Start| LineDrawing {
            length: start.length.si(),
            gain: start.bias.map(|b| b.metres),
            boat: self.boat.length,
            long,
            alt: format!("The start line from above. {}", favoured(&start.bias[1], self.boat.length)),
        };
        let race = match &self.start {
            Some(Ok(start)) => Some(StartLine {
                verdict: favoured(&start.bias[1], self.boat.length),
                line: line(start),
                through: through(self, start, long),
                still: lying_still(self),
            }),
            _ => None,
        };
        let shoulders = self.laylines.iter().flat_map(|l| {
            [0, 1].map(|k| Shoulder {
                title: format!("{}, on {} tack", capital(&l.mark.name), l.lines[k].sight.from.word()),
                port_tack: l.lines[k].sight.from == regatta::sailing::Tack::Port,
                angle: l.lines[k].sight.angle,
                deed: shoulder(&l.lines[k]),
                note: [Some(layline(self, l, k, long)), set(&l.lines[k])].into_iter().flatten().collect::<Vec<_>>().join(" "),
            })
        });
        let (deeds, untold) = deeds::all(&self.boat, long);
        RaceDayPage {
            title: "Race day".to_owned(),
            whose: String::new(),
            about: format!(
                "{}, course marks left to {}. {}.",
                capital(self.course.kind.map_or("course by its order", regatta::course::CourseKind::word)),
                self.course.side.word(),
                capital(&wind(self, long))
            ),
            chart: self.chart(long),
            unit: long.unit,
            legs: self
                .legs
                .iter()
                .map(|FoundLeg { leg, passage }| LegRow {
                    name: format!("{} to {}", leg.from.name, leg.to.name),
                    length: format!("{:.0}", leg.length.si() / long.metres),
                    bearing: bearing(leg.bearing.in_degrees()),
                    compass: self.magnetic(leg.bearing).map_or("–".to_owned(), bearing),
                    time: passage.as_ref().map_or_else(|_| "–".to_owned(), |p| clock(p.seconds)),
                    sailed: sailed(passage),
                })
                .collect(),
            whole: self.seconds().map(|s| format!("{} in all, no tack lost and no boat in the way.", clock(s))).unwrap_or_default(),
            start: race,
            shoulders: shoulders.collect(),
            deeds,
            untold,
            turns: self.roundings.iter().map(|r| self.turned(r, long)).collect(),
            signals: signals(self.sequence)
                .iter()
                .map(|s| {
                    (
                        clock(f64::from(s.before)),
                        [s.name, s.flag, s.sound].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", "),
                    )
                })
                .collect(),
            note: format!(
                "Speeds by {}; how she turns is {}. Times are for one boat alone. The race committee and the rule book decide.",
                self.boat.rests_on, self.boat.turns_by
            ),
        }
    }

    fn turned(&self, r: &FoundRounding, long: Long) -> Turned {
        let best = &r.rounded.best;
        let kinds = self.legs.windows(2).find(|w| w[0].leg.to.name == r.mark.name).map(|w| [&w[0].passage, &w[1].passage]);
        let word = |p: &Result<Passage, Stuck>| p.as_ref().map_or("leg", |p| if p.kind == Kind::Beat { "beat" } else { p.kind.word() });
        let way = kinds.map_or_else(String::new, |[a, b]| format!(", from the {} to the {}", word(a), word(b)));
        let kind = |p: &Result<Passage, Stuck>| p.as_ref().ok().map(|p| p.kind);
        let hands = self.boat.hands.as_ref().zip(kinds).and_then(|(hands, [a, b])| match (kind(a), kind(b)) {
            (Some(Kind::Beat), Some(Kind::Run)) => hands.windward.as_ref().ok(),
            (Some(Kind::Run), Some(Kind::Beat)) => hands.leeward.as_ref().ok(),
            _ => None,
        });
        let turned = hands.map_or_else(Vec::new, |plan| deeds::on_the_path(plan, self.boat.length));
        Turned {
            title: format!("{}{way}", capital(&r.mark.name)),
            drawing: RoundingDrawing {
                best: best.points.clone(),
                turn: [1, best.out_from],
                edges: [r.rounded.edges[0].points.clone(), r.rounded.edges[1].points.clone()],
                tight: r.rounded.tight_in.path.points.clone(),
                zone: regatta::rounding::ZONE * self.boat.length,
                boat: self.boat.length,
                wind: self.day.wind_from.in_degrees(),
                deeds: turned,
                own: None,
                alt: format!(
                    "From above: in {} off the course mark, out {} off it, inside a zone of three lengths. Tight in is {} behind.",
                    long.short(best.entry),
                    long.short(best.exit),
                    long.short(r.rounded.tight_in.behind)
                ),
            },
            rows: rounding(r, self.boat.length, long),
        }
    }
}
