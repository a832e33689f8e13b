//! A tracked rounding beside the best path round the same course mark: her own way in pen over the model's, to scale, with the zone, and the metres
//! she is behind with their doubt.
//!
//! The best path is [`regatta::rounding`]'s for her own courses and speeds in and out: what is compared is the way round, not who is faster. How
//! a boat turns is the model's for her body and boat in the wind of the outing, where it has an answer. The doubt is that of the course mark's
//! place, of the wind's direction, and of a receiver in so short a time; 19 chances in 20.

use boat::balance::{Boat as Hull, Tack};
use boat::crew::Sailor as Body;
use boat::setup::{Leg, Request};
use boat::turn::Crewed;
use jiff::tz::TimeZone;
use measure::angle::{DEGREE, wrap};
use measure::quantity::KNOT;
use measure::{Angle, Bearing, Polar, Speed};
use regatta::course::Side;
use regatta::rounding::{Rounded, Rounding as Asked, TurningTable, ZONE};
use regatta::sailing::{Day as Water, Sailing};
use track::debrief::{Boat, Debrief, MarkKind, Rounding};

use super::card::halves;
use super::debrief::{clock, signed};
use crate::day::Day;
use crate::drawing::rounding::{Own, RoundingDrawing};
use crate::long::Long;
use crate::outing::Trail;
use crate::race_day::boat::{getaway, turning};
use crate::race_day::found::CLEARANCE;

/// Straight ways in and out are looked for this long before and after the closest approach, s, the nearest first.
const HALVES: [f64; 5] = [7.0, 8.0, 10.0, 12.0, 15.0];
/// So long is a straight way, s, and so steady: between its two halves, rad. Assumed: a receiver wanders by some degrees at a child's pace.
const STRAIGHT: f64 = 4.0;
const STEADY: f64 = 16.0 * DEGREE;
/// Slower than this there is no course, m/s; moves shorter than this have no direction, m.
const SLOWEST: f64 = 0.35;
const STANDS: f64 = 0.2;
/// Nearer to the wind than this is a beat, rad.
const ABEAM: f64 = 80.0 * DEGREE;
/// Where the best path would come in wider than this, in boat lengths, she turned away from the course mark and not round it.
const WIDEST: f64 = 3.5;
/// Where paths are compared, m along the way out.
const FINISH: f64 = 60.0;
/// How far a course mark that was given may lie from where it was said, m: it swings on its line. Assumed.
const SWINGS: f64 = 1.5;
/// How far two places of a receiver some seconds apart are off against each other, and what the straight speeds add to it, m. Assumed.
const WANDERS: f64 = 1.0;
/// The wind's speed where the tracks do not tell it, m/s. Assumed: only how she turns hangs on it.
const WIND: f64 = 5.0;
/// Seconds before and after that are drawn, and between boats on her way.
const DRAWN: f64 = 18.0;
const APART: usize = 4;
/// Her own speeds move the model's by at most this, either way.
const MOST: f64 = 2.0;

/// What a sailor's roundings are held against.
#[derive(Debug, Clone)]
pub struct By {
    polar: Polar,
    wind: f64,
    table: TurningTable,
    settle: f64,
    length: f64,
    turns_by: &'static str,
}

impl By {
    /// For a body in her boat, with the speeds of her class, in the wind that the outing's tracks tell.
    #[must_use]
    pub fn of(polar: &Polar, answer: &Debrief, hull: &Hull, body: Body, day: &Day) -> Self {
        let mut speeds: Vec<f64> = answer.wind.iter().filter_map(|w| w.speed).map(|s| s.0).collect();
        speeds.sort_by(f64::total_cmp);
        let wind = speeds.get(speeds.len() / 2).copied().unwrap_or(WIND);
        let mut conditions = day.conditions(1.0, Tack::Starboard);
        conditions.wind.at_meter = wind;
        let crewed = Crewed::of(&Request { boat: hull, sailor: body, conditions, gusts: 1.0, reach: None, bands: false }).ok();
        let own = crewed.as_ref().and_then(|crewed| turning(&crewed.quarter_turns()));
        let turns_by = if own.is_some() { "the model's, never timed" } else { "assumed" };
        let settle = crewed.as_ref().map_or(SETTLE, |crewed| 0.5 * getaway(&crewed.leg(Leg::Beat, false).whole).constant());
        let length = hull.class.hull.length;
        Self { polar: polar.clone(), wind, table: own.unwrap_or_else(TurningTable::assumed), settle, length, turns_by }
    }
}

/// How she gathers way where the model has no answer, s. Assumed.
const SETTLE: f64 = 4.0;

/// A rounding beside the best path.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// When, UTC seconds, and on the clock.
    pub moment: f64,
    /// On the clock.
    pub clock: String,
    /// Which kind of course mark, and to which side it was left, in words.
    pub of: String,
    /// Metres behind the best path, and half of what that may be off.
    pub behind: f64,
    /// Half the interval.
    pub half: f64,
    /// What that says.
    pub verdict: String,
    /// Hers over the best path.
    pub drawing: RoundingDrawing,
    /// What, hers, the best path's.
    pub rows: Vec<[String; 3]>,
    /// What it rests on.
    pub note: String,
    /// Hers and the best path's: way in and out from the course mark, m; least speed, m/s.
    figures: [[f64; 2]; 3],
    /// The boat's length, m.
    boat: f64,
}

impl Beside {
    /// The same with its lengths told in these.
    #[must_use]
    pub fn told_in(mut self, long: Long) -> Self {
        let [entry, exit, slowest] = self.figures;
        let row = |what: String, figures: [f64; 2], digits: usize| {
            let [own, best] = figures.map(|figure| signed(figure, digits));
            [what, own, best]
        };
        self.rows = vec![
            row(format!("in, from the course mark, {}", long.unit), entry.map(|m| m / long.metres), 1),
            row(format!("out, {}", long.unit), exit.map(|m| m / long.metres), 1),
            row("slowest, kn".to_owned(), slowest.map(|v| v / KNOT), 1),
        ];
        self.verdict = verdict(self.behind, self.half, self.boat, long);
        let kind = self.of.split(',').next().unwrap_or_default();
        self.drawing.alt = format!(
            "Your {kind} rounding at {} as a solid line over the best path dashed on its tape, in the zone of three lengths. {}",
            self.clock, self.verdict
        );
        self
    }
}

/// Her roundings beside the best path, in their order, and how many could not be compared.
#[must_use]
pub fn roundings(answer: &Debrief, boat: &Boat, trail: &Trail, by: &By, zone: &TimeZone) -> (Vec<Beside>, usize) {
    let found: Vec<Beside> = boat.roundings.iter().filter_map(|r| beside(answer, trail, r, by, zone)).collect();
    let untold = boat.roundings.len() - found.len();
    (found, untold)
}

/// Those to draw: of each kind of course mark the one furthest behind.
#[must_use]
pub fn furthest(all: &[Beside]) -> Vec<&Beside> {
    let of = |kind: &str| all.iter().filter(|b| b.of.starts_with(kind)).max_by(|a, b| a.behind.total_cmp(&b.behind));
    ["windward", "leeward"].into_iter().filter_map(of).collect()
}

/// Velocity over some seconds of her way, m/s east and north, where she held a course.
fn straight(way: &[(f64, [f64; 2])]) -> Option<[f64; 2]> {
    let (first, middle, last) = (way.first()?, way.get(way.len() / 2)?, way.last()?);
    let between = |a: &(f64, [f64; 2]), b: &(f64, [f64; 2])| [0, 1].map(|k| (b.1[k] - a.1[k]) / (b.0 - a.0).max(0.1));
    let [one, two, all] = [between(first, middle), between(middle, last), between(first, last)];
    let turned = wrap(two[0].atan2(two[1]) - one[0].atan2(one[1])).abs();
    (all[0].hypot(all[1]) > SLOWEST && turned < STEADY).then_some(all)
}

/// Her way from the straight way in to the straight way out, with the velocities there; places from the course mark.
struct Sailed {
    way: Vec<(f64, [f64; 2])>,
    over: [[f64; 2]; 2],
}

fn sailed(trail: &Trail, at: f64, mark: [f64; 2]) -> Option<Sailed> {
    HALVES.into_iter().find_map(|half| {
        let (from, to) = (at - half - STRAIGHT, at + half + STRAIGHT);
        let way: Vec<_> = trail.between(from, to).map(|(t, p)| (t, [p[0] - mark[0], p[1] - mark[1]])).collect();
        // Without a gap.
        let whole = way.len() as f64 >= to - from && way.windows(2).all(|w| w[1].0 - w[0].0 < 1.5);
        let part = |low: f64, high: f64| way.iter().copied().filter(|p| (low..=high).contains(&p.0)).collect::<Vec<_>>();
        let (before, after) = (part(from, at - half), part(at + half, to));
        let over = [straight(&before)?, straight(&after)?];
        whole.then(|| Sailed { way: part(at - half, at + half + 0.5 * STRAIGHT), over })
    })
}

fn beside(answer: &Debrief, trail: &Trail, r: &Rounding, by: &By, zone: &TimeZone) -> Option<Beside> {
    let mark = *answer.mark_places.get(r.mark)?;
    let near = answer.wind.iter().filter_map(|w| Some((w.time, w.direction?)));
    let (_, (from, sd)) =
        near.min_by(|a, b| (a.0 - r.time).abs().total_cmp(&(b.0 - r.time).abs())).filter(|w| (w.0 - r.time).abs() < 60.0)?;
    let Sailed { way, over } = sailed(trail, r.time, mark)?;
    // She turns towards the course mark: where its place is in doubt, that says on which side she left it, and the places do not.
    let moved = way.windows(2).map(|w| [0, 1].map(|k| w[1].1[k] - w[0].1[k])).filter(|m| m[0].hypot(m[1]) > STANDS);
    let turns: Vec<f64> = moved.map(|m| m[0].atan2(m[1])).collect();
    let turned: f64 = turns.windows(2).map(|w| wrap(w[1] - w[0])).sum();
    let side = if turned < 0.0 { Side::Port } else { Side::Starboard };
    let drawn: Vec<[f64; 2]> = trail.between(r.time - DRAWN, r.time + DRAWN).map(|(_, p)| [p[0] - mark[0], p[1] - mark[1]]).collect();
    let nearest = (0..drawn.len()).min_by(|a, b| drawn[*a][0].hypot(drawn[*a][1]).total_cmp(&drawn[*b][0].hypot(drawn[*b][1])))?;
    let set = answer.current.map_or([0.0; 2], |c| {
        let (e, n) = c.toward.unit();
        [c.speed * e, c.speed * n]
    });
    let water = over.map(|v| [v[0] - set[0], v[1] - set[1]]);
    let courses = water.map(|v| Bearing::of(v[0], v[1]));
    // From a beat to off the wind, or back: a turn between other courses was no rounding.
    let off = courses.map(|c| wrap(from.in_radians() - c.in_radians()).abs() > ABEAM);
    if off != [r.kind == MarkKind::Leeward, r.kind == MarkKind::Windward] {
        return None;
    }
    // What her way is asked about in a wind from somewhere.
    let in_wind = |from: Bearing, told: &mut dyn FnMut(&Asked<'_>) -> Option<f64>| -> Option<f64> {
        let day = Water {
            wind_from: from,
            wind: Speed::metres_per_second(by.wind),
            current_toward: answer.current.map_or_else(Bearing::default, |c| c.toward),
            current: Speed::metres_per_second(answer.current.map_or(0.0, |c| c.speed)),
        };
        // Her own speeds in and out; between them in proportion.
        let [a, b] = [0, 1].map(|k| {
            let angle = wrap(from.in_radians() - courses[k].in_radians()).abs();
            let model = by.polar.speed(by.wind, angle).max(0.1);
            (angle / DEGREE, (water[k][0].hypot(water[k][1]) / model).clamp(1.0 / MOST, MOST))
        });
        let own = |degrees: f64| {
            let u = if (b.0 - a.0).abs() < 1.0 { 0.5 } else { ((degrees - a.0) / (b.0 - a.0)).clamp(0.0, 1.0) };
            a.1 + u * (b.1 - a.1)
        };
        let polar = Polar::by_rule(&[by.wind], |wind, degrees| own(degrees) * by.polar.speed(wind, degrees * DEGREE));
        let sailing = Sailing::of(&polar, &day).ok()?;
        told(&Asked {
            sailing: &sailing,
            table: &by.table,
            side,
            approach: courses[0],
            exit: courses[1],
            boat: by.length,
            clearance: CLEARANCE.max(0.4 * by.length),
            settle: by.settle,
            finish: FINISH,
        })
    };
    let mut found: Option<(Rounded, regatta::rounding::Beside)> = None;
    in_wind(from, &mut |asked| {
        let best = asked.best().ok()?;
        let told = asked.beside(&best.best, &way).ok()?;
        found = Some((best, told));
        Some(told.behind)
    })?;
    let (best, told) = found.filter(|(best, _)| best.best.entry < WIDEST * by.length)?;
    // In a wind turned a little the same path is near enough to the best.
    let radii = best.best.curvature.map(|c| 1.0 / c.max(1e-3));
    let otherwise = |by: f64| {
        let again = |asked: &Asked<'_>| Some(asked.beside(&asked.path(radii, best.best.entry).ok()?, &way).ok()?.behind);
        in_wind(from + Angle::radians(by), &mut { again }).map(|behind| behind - told.behind)
    };
    let by_wind = [-sd, sd].into_iter().filter_map(otherwise).fold(0.0, |most: f64, d| most.max(d.abs()));
    let by_mark = told.per_mark * answer.course_marks.get(r.mark).and_then(|m| m.sd).unwrap_or(SWINGS);
    let half = 2.0 * (by_wind * by_wind + by_mark * by_mark + 2.0 * WANDERS * WANDERS).sqrt();
    let kind = if r.kind == MarkKind::Windward { "windward" } else { "leeward" };
    let clock = clock(r.time, zone, "%H:%M:%S");
    let found = Beside {
        moment: r.time,
        of: format!("{kind}, left to {}", side.word()),
        behind: told.behind,
        half,
        drawing: RoundingDrawing {
            best: best.best.points.clone(),
            turn: [1, best.best.out_from],
            edges: [best.edges[0].points.clone(), best.edges[1].points.clone()],
            tight: Vec::new(),
            zone: ZONE * by.length,
            boat: by.length,
            wind: from.in_degrees(),
            deeds: Vec::new(),
            own: Some(Own { boats: (nearest % APART..drawn.len()).step_by(APART).collect(), points: drawn }),
            alt: String::new(),
        },
        rows: Vec::new(),
        verdict: String::new(),
        figures: [[r.entry, best.best.entry], [r.exit, best.best.exit], [r.slowest, best.best.least_speed]],
        boat: by.length,
        note: format!(
            "Best path: the model's for your own courses and speeds in and out; how you turn is {}. On the tape it makes no difference. Doubt: where the course mark lies, the wind's direction, the receiver.",
            by.turns_by
        ),
        clock,
    };
    Some(found.told_in(Long::METRES))
}

/// What the metres say.
fn verdict(behind: f64, half: f64, boat: f64, long: Long) -> String {
    let figure = |metres: f64| long.signed(metres, 0);
    let range = format!("{} to {}", figure(behind - half), figure(behind + half));
    let lengths = |m: f64| format!("{} boat lengths", halves(m / boat));
    let unit = long.unit;
    if behind - half > 0.0 {
        format!("{} {unit} behind the best path ({range}): {}.", figure(behind), lengths(behind))
    } else if behind + half < 0.0 {
        let better = "better than the model knows, or the course mark lies elsewhere.";
        format!("{} {unit} ahead of the best path ({range}): {better}", figure(-behind))
    } else {
        format!("{} {unit} behind the best path, and that is within the doubt ({range}).", figure(behind))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Position;
    use track::debrief::{CourseMark, WindAt};

    /// A small pram's shape, wind from north.
    fn pram() -> Polar {
        Polar::by_rule(&[WIND], |_, degrees| {
            let close = 1.0 - (-((degrees - 22.0_f64).max(0.0)) / 18.0).exp();
            1.9 * close * (1.0 - 0.22 * ((degrees - 100.0).max(0.0) / 80.0).powi(2))
        })
    }

    /// The model's own best path round a leeward course mark, recorded by the second with straight ways before and after it, is not behind itself;
    /// a boat that lies still for five seconds in it is behind by what she would have made good.
    #[test]
    fn the_best_path_is_not_behind_itself() {
        const NEAR: f64 = 0.8;
        const STILL: i32 = 5;
        let by = By { polar: pram(), wind: WIND, table: TurningTable::assumed(), settle: 4.0, length: 2.4, turns_by: "assumed" };
        let day = Water {
            wind_from: Bearing::default(),
            wind: Speed::metres_per_second(WIND),
            current_toward: Bearing::default(),
            current: Speed::default(),
        };
        let sailing = Sailing::of(&by.polar, &day).unwrap();
        let (beat, run) = (sailing.beat().unwrap()[0], sailing.run().unwrap()[0]);
        let asked = Asked {
            sailing: &sailing,
            table: &by.table,
            side: Side::Port,
            approach: run.course(),
            exit: beat.course(),
            boat: 2.4,
            clearance: CLEARANCE,
            settle: 4.0,
            finish: FINISH,
        };
        let best = asked.best().unwrap();
        let path = &best.best;
        let (first, last) = (path.points[0], path.points[path.points.len() - 1]);
        let whole = *path.seconds.last().unwrap();
        let place = |t: f64| -> [f64; 2] {
            let on = |p: [f64; 2], v: [f64; 2], t: f64| [p[0] + v[0] * t, p[1] + v[1] * t];
            let k = path.seconds.partition_point(|s| *s <= t);
            match k {
                0 => on(first, run.water, t),
                _ if k == path.seconds.len() => on(last, beat.water, t - whole),
                _ => {
                    let u = (t - path.seconds[k - 1]) / (path.seconds[k] - path.seconds[k - 1]);
                    let (a, b) = (path.points[k - 1], path.points[k]);
                    [a[0] + u * (b[0] - a[0]), a[1] + u * (b[1] - a[1])]
                }
            }
        };
        let behind = |still: i32| {
            // She stops where she is nearest to the course mark.
            let nearest = (0..=whole as i32).min_by(|a, b| {
                let far = |t: i32| place(f64::from(t)).map(|v| v * v).iter().sum::<f64>();
                far(*a).total_cmp(&far(*b))
            });
            let nearest = nearest.unwrap();
            let at = |t: i32| if t <= nearest { t } else { (t - still).max(nearest) };
            let places: Vec<[f32; 2]> = (-20..whole as i32 + 20 + still).map(|t| place(f64::from(at(t))).map(|v| v as f32)).collect();
            let answer = Debrief {
                wind: vec![WindAt { time: f64::from(nearest), direction: Some((Bearing::default(), 0.05)), speed: Some((WIND, 0.5)) }],
                course_marks: vec![CourseMark {
                    name: "leeward".to_owned(),
                    kind: Some(MarkKind::Leeward),
                    position: Position::degrees(54.6, -6.4).unwrap(),
                    sd: Some(1.0),
                }],
                mark_places: vec![[0.0; 2]],
                ..Debrief::default()
            };
            let rounding =
                Rounding { time: f64::from(nearest), kind: MarkKind::Leeward, mark: 0, entry: 0.0, exit: 0.0, slowest: 1.0, loss: 0.0 };
            let told = beside(&answer, &Trail { start: -20, places }, &rounding, &by, &TimeZone::UTC).unwrap();
            assert_eq!(told.of, "leeward, left to port");
            assert!(told.half > 2.0 && told.half < 20.0, "{}", told.half);
            told.behind
        };
        let none = behind(0);
        assert!(none.abs() < NEAR, "{none}");
        let still = behind(STILL) - none;
        assert!((still - f64::from(STILL) * best.made_good).abs() < NEAR, "{still} against {}", f64::from(STILL) * best.made_good);
    }

    #[test]
    fn a_verdict_says_no_more_than_is_known() {
        assert!(verdict(6.2, 4.0, 2.4, Long::METRES).starts_with("6 m behind the best path (2 to 10): 2½ boat lengths"));
        assert_eq!(verdict(2.0, 4.0, 2.4, Long::METRES), "2 m behind the best path, and that is within the doubt (−2 to 6).");
        assert!(verdict(-9.0, 4.0, 2.4, Long::METRES).contains("9 m ahead"));
        assert!(verdict(6.2, 4.0, 2.4, Long::FEET).starts_with("20 ft behind the best path (7 to 33): 2½ boat lengths"));
    }
}
