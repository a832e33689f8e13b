//! The race day as a document for other programs.

use boat::balance::Status;
use measure::Warning;
use measure::angle::DEGREE;
use regatta::rounding::Compared;
use regatta::start::signals;
use serde::Serialize;

use trimwright::race_day::control::{Plan, deed};
use trimwright::race_day::found::{Found, FoundLaylines, FoundLeg, FoundRounding};
use trimwright::race_day::words::LENGTHS;

#[derive(Debug, Serialize)]
pub(super) struct Document {
    kind: Option<&'static str>,
    leave: &'static str,
    boat: Boat,
    wind: Wind,
    current: Current,
    declination: Option<Off>,
    buoys: Vec<Buoy>,
    legs: Vec<Leg>,
    seconds: Option<f64>,
    start: Option<Start>,
    laylines: Vec<Layline>,
    roundings: Vec<Rounding>,
    handling: Vec<Handling>,
    tack: Tack,
    signals: Vec<Signal>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Boat {
    name: String,
    length_m: f64,
    leeway_deg: f64,
    to_nine_tenths_s: f64,
    rests_on: &'static str,
}

#[derive(Debug, Serialize)]
struct Wind {
    from_deg: f64,
    from_magnetic_deg: Option<f64>,
    shift_deg: f64,
    given_ms: f64,
    height_m: f64,
    at_2m_ms: f64,
}

#[derive(Debug, Serialize)]
struct Current {
    toward_deg: f64,
    speed_ms: f64,
}

#[derive(Debug, Serialize)]
struct Off {
    east_deg: f64,
    sd_deg: f64,
}

#[derive(Debug, Serialize)]
struct Buoy {
    name: String,
    lat: Option<f64>,
    lon: Option<f64>,
    east_m: f64,
    north_m: f64,
}

#[derive(Debug, Serialize)]
struct Leg {
    from: String,
    to: String,
    length_m: f64,
    bearing_deg: f64,
    bearing_magnetic_deg: Option<f64>,
    status: &'static str,
    kind: Option<&'static str>,
    seconds: Option<f64>,
    courses: Vec<Course>,
}

#[derive(Debug, Serialize)]
struct Course {
    tack: &'static str,
    course_deg: f64,
    twa_deg: f64,
    speed_ms: f64,
    seconds: f64,
}

#[derive(Debug, Serialize)]
struct Start {
    status: &'static str,
    line_m: Option<f64>,
    favoured: Option<&'static str>,
    bias_deg: Option<f64>,
    gain_m: Option<f64>,
    gain_lengths: Option<f64>,
    gain_s: Option<f64>,
    through_shift: Vec<Shift>,
    even_at_deg: Option<f64>,
    from_lying_still: Vec<Getaway>,
}

#[derive(Debug, Serialize)]
struct Shift {
    wind_from_deg: f64,
    favoured: Option<&'static str>,
    bias_deg: f64,
    gain_m: f64,
    gain_s: f64,
}

#[derive(Debug, Serialize)]
struct Getaway {
    lengths: f64,
    seconds: f64,
}

#[derive(Debug, Serialize)]
struct Layline {
    course_mark: String,
    tack: &'static str,
    bearing_deg: f64,
    bearing_low_deg: f64,
    bearing_high_deg: f64,
    bearing_magnetic_deg: Option<f64>,
    set_deg: f64,
    seen_from: &'static str,
    seen_deg: f64,
    seen_low_deg: f64,
    seen_high_deg: f64,
    words: String,
    past_m: Option<f64>,
    past_costs_m: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Rounding {
    course_mark: String,
    approach_deg: f64,
    exit_deg: f64,
    compared_m: f64,
    entry_m: f64,
    entry_low_m: f64,
    entry_high_m: f64,
    exit_m: f64,
    no_difference_m: f64,
    turn_s: f64,
    least_speed_ms: f64,
    tight_in: Other,
    tight_in_low_m: f64,
    tight_in_high_m: f64,
    late: Other,
    one_radius: Other,
    by_entry: Vec<ByEntry>,
}

#[derive(Debug, Serialize)]
struct ByEntry {
    entry_m: f64,
    behind_m: f64,
}

#[derive(Debug, Serialize)]
struct Other {
    behind_m: f64,
    entry_m: f64,
    exit_m: f64,
    least_speed_ms: f64,
}

/// What hands do at a course mark.
#[derive(Debug, Serialize)]
struct Handling {
    at: &'static str,
    status: &'static str,
    blow: Option<bool>,
    lost_m: Option<f64>,
    steps: Vec<Step>,
}

#[derive(Debug, Serialize)]
struct Step {
    deed: String,
    begins_s: f64,
    begins_m: f64,
    lasts_s: f64,
    no_difference_low_s: f64,
    no_difference_high_s: f64,
    late_5_s_m: f64,
    early_5_s_m: f64,
    matters: bool,
}

#[derive(Debug, Serialize)]
struct Tack {
    status: String,
    lost_m: Option<f64>,
    seconds: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Signal {
    before_s: u32,
    name: &'static str,
    flag: &'static str,
    sound: &'static str,
}

impl Document {
    pub(super) fn of(found: &Found, warnings: &[Warning]) -> Self {
        let day = &found.day;
        Self {
            kind: found.course.kind.map(regatta::course::CourseKind::word),
            leave: found.course.side.word(),
            boat: Boat {
                name: found.boat.name.clone(),
                length_m: found.boat.length,
                leeway_deg: found.boat.leeway / DEGREE,
                to_nine_tenths_s: found.boat.getaway.to_nine_tenths,
                rests_on: found.boat.rests_on,
            },
            wind: Wind {
                from_deg: day.wind_from.in_degrees(),
                from_magnetic_deg: found.magnetic(day.wind_from),
                shift_deg: found.doubt / DEGREE,
                given_ms: found.wind.given,
                height_m: found.wind.height,
                at_2m_ms: day.wind.si(),
            },
            current: Current { toward_deg: day.current_toward.in_degrees(), speed_ms: day.current.si() },
            declination: found.compass.declination.map(|d| Off { east_deg: d.angle.in_degrees(), sd_deg: d.sd.in_degrees() }),
            buoys: found
                .course
                .buoys
                .iter()
                .map(|b| Buoy {
                    name: b.name.clone(),
                    lat: b.position.map(measure::Position::latitude),
                    lon: b.position.map(measure::Position::longitude),
                    east_m: b.at[0],
                    north_m: b.at[1],
                })
                .collect(),
            legs: found.legs.iter().map(|leg| Leg::of(found, leg)).collect(),
            seconds: found.seconds(),
            start: Start::of(found),
            laylines: found.laylines.iter().flat_map(|l| Layline::both(found, l)).collect(),
            roundings: found.roundings.iter().map(Rounding::from).collect(),
            handling: Handling::both(found),
            tack: Tack::of(found),
            signals: signals(found.sequence)
                .iter()
                .map(|s| Signal { before_s: s.before, name: s.name, flag: s.flag, sound: s.sound })
                .collect(),
            warnings: warnings.iter().map(ToString::to_string).collect(),
        }
    }
}

impl Handling {
    /// Windward and leeward; nothing of a boat of whom only a polar is known.
    fn both(found: &Found) -> Vec<Self> {
        let Some(hands) = &found.boat.hands else { return Vec::new() };
        let one = |at: &'static str, plan: &Result<Plan, Status>| match plan {
            Err(status) => Self { at, status: status.words(), blow: None, lost_m: None, steps: Vec::new() },
            Ok(plan) => Self {
                at,
                status: "solved",
                blow: Some(plan.handling.blow),
                lost_m: Some(plan.handling.metres_lost),
                steps: plan.handling.steps.iter().map(|step| Step::of(plan, step, found.boat.length)).collect(),
            },
        };
        vec![one("windward", &hands.windward), one("leeward", &hands.leeward)]
    }
}

impl Step {
    fn of(plan: &Plan, step: &boat::handling::Step, boat: f64) -> Self {
        let [low, high] = plan.no_difference(step);
        Self {
            deed: deed(step),
            begins_s: step.begins,
            begins_m: -plan.lengths(step.begins, boat) * boat,
            lasts_s: step.movement.lasts,
            no_difference_low_s: low,
            no_difference_high_s: high,
            late_5_s_m: step.later,
            early_5_s_m: step.earlier,
            matters: step.matters,
        }
    }
}

impl Tack {
    fn of(found: &Found) -> Self {
        match found.boat.hands.as_ref().map(|hands| hands.tack) {
            None => Self { status: "known of a class with its sailor, not of a polar".to_owned(), lost_m: None, seconds: None },
            Some(Err(untold)) => Self { status: untold.words(), lost_m: None, seconds: None },
            Some(Ok([lost, seconds])) => Self { status: "solved".to_owned(), lost_m: Some(lost), seconds: Some(seconds) },
        }
    }
}

impl Leg {
    fn of(found: &Found, FoundLeg { leg, passage }: &FoundLeg) -> Self {
        let course = |(way, seconds): &(regatta::sailing::Way, f64)| Course {
            tack: way.tack().word(),
            course_deg: way.course().in_degrees(),
            twa_deg: way.angle.abs() / DEGREE,
            speed_ms: way.water[0].hypot(way.water[1]),
            seconds: *seconds,
        };
        let solved = passage.as_ref().ok();
        Self {
            from: leg.from.name.clone(),
            to: leg.to.name.clone(),
            length_m: leg.length.si(),
            bearing_deg: leg.bearing.in_degrees(),
            bearing_magnetic_deg: found.magnetic(leg.bearing),
            status: passage.as_ref().map_or_else(|stuck| stuck.words(), |_| "solved"),
            kind: solved.map(|p| p.kind.word()),
            seconds: solved.map(|p| p.seconds),
            courses: solved.map_or_else(Vec::new, |p| p.parts.iter().map(course).collect()),
        }
    }
}

impl Start {
    fn of(found: &Found) -> Option<Self> {
        let from_lying_still = LENGTHS
            .map(|lengths| Getaway { lengths, seconds: found.boat.getaway.seconds(lengths * found.boat.length) })
            .into_iter()
            .collect();
        Some(match found.start.as_ref()? {
            Err(stuck) => Self {
                status: stuck.words(),
                line_m: None,
                favoured: None,
                bias_deg: None,
                gain_m: None,
                gain_lengths: None,
                gain_s: None,
                through_shift: Vec::new(),
                even_at_deg: None,
                from_lying_still,
            },
            Ok(start) => {
                let [_, now, _] = &start.bias;
                let end = |b: &regatta::start::Bias| b.favoured().map(regatta::start::End::words);
                let shifts = [-found.doubt, 0.0, found.doubt].into_iter().zip(&start.bias);
                Self {
                    status: "solved",
                    line_m: Some(start.length.si()),
                    favoured: end(now),
                    bias_deg: Some(now.angle / DEGREE),
                    gain_m: Some(now.metres),
                    gain_lengths: Some(now.metres / found.boat.length),
                    gain_s: Some(now.seconds),
                    through_shift: shifts
                        .map(|(turn, b)| Shift {
                            wind_from_deg: found.day.turned(turn).wind_from.in_degrees(),
                            favoured: end(b),
                            bias_deg: b.angle / DEGREE,
                            gain_m: b.metres,
                            gain_s: b.seconds,
                        })
                        .collect(),
                    even_at_deg: Some(start.even_at.in_degrees()),
                    from_lying_still,
                }
            }
        })
    }
}

impl Layline {
    fn both(found: &Found, laylines: &FoundLaylines) -> [Self; 2] {
        [0, 1].map(|k| {
            let line = &laylines.lines[k];
            let past = laylines.past[k].ok();
            Self {
                course_mark: laylines.mark.name.clone(),
                tack: line.tack.word(),
                bearing_deg: line.bearing[1].in_degrees(),
                bearing_low_deg: line.bearing[0].in_degrees(),
                bearing_high_deg: line.bearing[2].in_degrees(),
                bearing_magnetic_deg: found.magnetic(line.bearing[1]),
                set_deg: line.set / DEGREE,
                seen_from: line.sight.from.word(),
                seen_deg: line.sight.angle[1] / DEGREE,
                seen_low_deg: line.sight.angle[0] / DEGREE,
                seen_high_deg: line.sight.angle[2] / DEGREE,
                words: line.sight.words(),
                past_m: past.map(|p| p.past),
                past_costs_m: past.map(|p| p.metres),
            }
        })
    }
}

impl From<&FoundRounding> for Rounding {
    fn from(found: &FoundRounding) -> Self {
        let r = &found.rounded;
        let other =
            |c: &Compared| Other { behind_m: c.behind, entry_m: c.path.entry, exit_m: c.path.exit, least_speed_ms: c.path.least_speed };
        Self {
            course_mark: found.mark.name.clone(),
            approach_deg: found.approach.in_degrees(),
            exit_deg: found.exit.in_degrees(),
            compared_m: found.finish,
            entry_m: r.best.entry,
            entry_low_m: r.entry[0],
            entry_high_m: r.entry[1],
            exit_m: r.best.exit,
            no_difference_m: r.no_difference,
            turn_s: r.best.turn_seconds,
            least_speed_ms: r.best.least_speed,
            tight_in: other(&r.tight_in),
            tight_in_low_m: found.tight_range[0],
            tight_in_high_m: found.tight_range[1],
            late: other(&r.late),
            one_radius: other(&r.one_radius),
            by_entry: r.by_entry.iter().map(|(entry_m, behind_m)| ByEntry { entry_m: *entry_m, behind_m: *behind_m }).collect(),
        }
    }
}
