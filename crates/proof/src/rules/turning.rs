//! Rules of the course marks: the way round them, and when hands do what.

use anyhow::{Context, Result, bail};
use boat::balance::{Boat, Conditions, Control, Tack};
use boat::crew::{Sailor, Skill};
use boat::handling::{Handling, Mark, Step, handling};
use boat::polar::polar;
use boat::setup::Request;
use boat::turn::Crewed;
use measure::angle::DEGREE;
use measure::fluid::air;
use measure::{Bearing, Length, Polar, Speed, Temperature, WindLaw};
use rayon::prelude::*;
use regatta::course::Side;
use regatta::rounding::{Rounded, Rounding, Turn, TurningTable};
use regatta::sailing::{Day, Sailing};
use regatta::start::Getaway;

use super::curve::Curve;
use super::{Finding, HANDBOOKS, MIDDLE, PRACTICE, Rule, Verdict, enough};

/// Winds, m/s.
const WINDS: [f64; 4] = [3.0, 5.0, 7.0, 9.0];
/// Courses of the polar, degrees.
const ANGLES: [f64; 13] = [38.0, 42.0, 46.0, 50.0, 60.0, 75.0, 90.0, 105.0, 120.0, 135.0, 150.0, 165.0, 178.0];
/// How near her middle comes to the course mark, and where paths are compared, m: those of the race-day sheet.
const CLEARANCE: f64 = 1.0;
const FINISH: f64 = 100.0;
/// Water dragged along when she gathers way, over her mass: that of the race-day sheet.
const DRAGGED: f64 = 1.05;

pub(super) fn rules() -> [Rule; 2] {
    [
        Rule {
            id: "T17",
            words: "Wide in, tight out at the leeward mark; tight in means wide out and a slow boat.",
            source: HANDBOOKS,
            swept: "entry width, 1 m (as near as the boat fits) to 4 boat lengths, at 3, 5, 7 and 9 m/s",
            held: "the boat's own turning table (hull, board and rudder in time), her solved polar, no current",
            trimmed: "the turn for each entry: its curvature at beginning, middle and end, and where it begins",
            criterion: "at every wind the best path comes in wider than it goes out, and tight in goes out wider than the best, is slower in \
                        the turn and behind by more than what makes no difference. At some winds only: there.",
            card: "The race-day sheet draws the model's path and says what tight in costs.",
            ask: rounding,
        },
        Rule {
            id: "T18",
            words: "Ease downhaul, outhaul and vang a little just before the windward mark; board down before the leeward mark, then sheet, \
                    vang and downhaul on through and after the turn.",
            source: PRACTICE,
            swept: "when each hand movement is made, in every order, at 3, 5, 7 and 9 m/s",
            held: "a sailor who races: 3 s a control, 4 s the outhaul (assumed); heel 0; on the run gap, downhaul and board of common practice",
            trimmed: "course and sheet, anew for every control half and all the way over on either leg",
            criterion: "four parts, each of the movements that matter (a tenth of a metre when done 5 s after the mark or 5 s before it): downhaul, \
                        outhaul and vang go off and begin before the windward mark; the board is down by the leeward mark; the sheet ends \
                        after it; vang and downhaul end after it. A part holds where it does so at every wind and something of it matters \
                        at one. All four: agrees. Some: those. In a blow the vang comes off before bearing away whatever metres it costs: \
                        that is safety, and no part of the verdict.",
            card: "The words of the trade, marked so.",
            ask: hands,
        },
    ]
}

fn request(boat: &Boat, wind: f64) -> Request<'_> {
    let wind = WindLaw::Open.profile(Speed::metres_per_second(wind), Length::metres(2.0));
    let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
    Request { boat, sailor: Sailor::of(MIDDLE, Skill::Races), conditions, gusts: 1.0, reach: None, bands: false }
}

fn crewed(boat: &Boat, wind: f64) -> Result<Crewed<'_>> {
    Crewed::of(&request(boat, wind)).map_err(|s| anyhow::anyhow!("{wind} m/s: {}", s.words()))
}

/// The best way round the leeward mark in a wind.
fn rounded(boat: &Boat, wind: f64) -> Result<Rounded> {
    let crewed = crewed(boat, wind)?;
    let turns: Vec<Turn> =
        crewed.quarter_turns().iter().map(|t| Turn { speed_in: t.speed_in, rate: t.rate, speed_lost: t.speed_lost }).collect();
    let table = TurningTable::of(&turns)?;
    let request = crewed.request;
    let solved = polar(&request, &[request.conditions.wind], &ANGLES.map(|a| a * DEGREE), &|| true).context("stopped")?;
    let best = solved.best.iter().filter_map(|b| b.found.ok().map(|(angle, good)| (wind, angle / DEGREE, good.abs() / angle.cos().abs())));
    let rows: Vec<_> =
        solved.courses.iter().filter_map(|c| c.speed.ok().map(|speed| (wind, c.angle / DEGREE, speed))).chain(best).collect();
    let speeds = Polar::rows(&rows).context("no polar")?;
    let day = Day {
        wind_from: Bearing::default(),
        wind: Speed::metres_per_second(wind),
        current_toward: Bearing::default(),
        current: Speed::metres_per_second(0.0),
    };
    let Ok(sailing) = Sailing::of(&speeds, &day) else { bail!("{wind} m/s: no way in this wind") };
    let (Some([exit, _]), Some([approach, _])) = (sailing.beat(), sailing.run()) else { bail!("{wind} m/s: no beat or no run") };
    let beat = &crewed.beat[0].whole;
    let getaway = Getaway::of(DRAGGED * beat.mass, beat.speed, beat.sail.load.force[0]);
    let asked = Rounding {
        sailing: &sailing,
        table: &table,
        side: Side::Port,
        approach: approach.course(),
        exit: exit.course(),
        boat: boat.class.hull.length,
        clearance: CLEARANCE,
        settle: 0.5 * getaway.constant(),
        finish: FINISH,
    };
    Ok(asked.best()?)
}

fn rounding(boat: &Boat) -> Result<Finding> {
    let found: Result<Vec<(f64, Rounded)>> = WINDS.par_iter().map(|w| Ok((*w, rounded(boat, *w)?))).collect();
    let found = found?;
    let holds = |r: &Rounded| {
        let tight = &r.tight_in;
        r.best.entry > r.best.exit
            && tight.path.exit > r.best.exit
            && tight.path.least_speed < r.best.least_speed
            && tight.behind > r.no_difference
    };
    let yes: Vec<String> = found.iter().filter(|(_, r)| holds(r)).map(|(w, _)| w.to_string()).collect();
    let verdict = match yes.len() {
        0 => Verdict::Disagrees,
        n if n == found.len() => Verdict::Agrees,
        _ => Verdict::OnlyIf(format!("the wind is {} m/s", yes.join(", "))),
    };
    let because = found.iter().map(|(w, r)| {
        format!(
            "{w} m/s: best {:.1} m in and {:.1} m out (no difference from {:.1} to {:.1} m in); tight in goes {:.1} m out at {:.2} m/s instead of {:.2} and is {:.1} m behind; a boat length late {:.1} m",
            r.best.entry,
            r.best.exit,
            r.entry[0],
            r.entry[1],
            r.tight_in.path.exit,
            r.tight_in.path.least_speed,
            r.best.least_speed,
            r.tight_in.behind,
            r.late.behind
        )
    });
    let because = because.collect::<Vec<_>>().join("; ");
    let curves: Result<Vec<Curve>> = found
        .iter()
        .map(|(w, r)| {
            let points = r.by_entry.iter().map(|(e, behind)| [*e, *behind]);
            enough(Curve::new(format!("{w} m/s"), "entry, m from the course mark", "metres behind the best", points), 5)
        })
        .collect();
    Ok(Finding { verdict, because, curves: curves? })
}

const fn name(control: Control) -> &'static str {
    match control {
        Control::Downhaul => "downhaul",
        Control::Gap => "outhaul",
        Control::Vang => "vang",
        Control::Board => "board",
        _ => "sheet",
    }
}

fn eases(step: &Step) -> bool {
    let m = &step.movement;
    // A looser outhaul is a larger gap.
    if m.control == Control::Gap { m.to > m.from } else { m.to < m.from }
}

/// A part of the rule: what it is called, at which mark, of which controls, and what a step must be.
struct Part {
    name: &'static str,
    mark: usize,
    controls: &'static [Control],
    holds: fn(&Step) -> bool,
}

const PARTS: [Part; 4] = [
    Part {
        name: "easing before the windward mark",
        mark: 0,
        controls: &[Control::Downhaul, Control::Gap, Control::Vang],
        holds: |s| eases(s) && s.begins < 0.0,
    },
    Part { name: "the board", mark: 1, controls: &[Control::Board], holds: |s| ends(s) <= 0.0 },
    Part { name: "the sheet", mark: 1, controls: &[Control::Boom], holds: |s| ends(s) > 0.0 },
    Part {
        name: "vang and downhaul after the leeward mark",
        mark: 1,
        controls: &[Control::Vang, Control::Downhaul],
        holds: |s| ends(s) > 0.0,
    },
];

fn ends(step: &Step) -> f64 {
    step.begins + step.movement.lasts
}

fn hands(boat: &Boat) -> Result<Finding> {
    let plans: Result<Vec<(f64, [Handling; 2])>> = WINDS
        .par_iter()
        .map(|w| {
            let crewed = crewed(boat, *w)?;
            let plan = |mark| handling(&crewed, mark).map_err(|s| anyhow::anyhow!("{w} m/s: {}", s.words()));
            Ok((*w, [plan(Mark::Windward)?, plan(Mark::Leeward)?]))
        })
        .collect();
    let plans = plans?;
    let stands = |part: &Part| {
        let of = |p: &[Handling; 2]| -> Vec<Step> {
            p[part.mark].steps.iter().filter(|s| s.matters && part.controls.contains(&s.movement.control)).copied().collect()
        };
        let all: Vec<Step> = plans.iter().flat_map(|(_, p)| of(p)).collect();
        !all.is_empty() && all.iter().all(part.holds)
    };
    let standing: Vec<&str> = PARTS.iter().filter(|p| stands(p)).map(|p| p.name).collect();
    let verdict = match standing.len() {
        0 => Verdict::Disagrees,
        n if n == PARTS.len() => Verdict::Agrees,
        _ => Verdict::OnlyIf(format!("{} {} meant", standing.join(" and "), if standing.len() > 1 { "are" } else { "is" })),
    };
    let step = |s: &Step| {
        let costs = if s.later.max(s.earlier) < 0.05 {
            String::new()
        } else {
            format!(" ({:.1} m more 5 s late, {:.1} early)", s.later, s.earlier)
        };
        format!("{} {:+.0} to {:+.0} s{costs}", name(s.movement.control), s.begins, ends(s))
    };
    let told = |plan: &Handling| {
        let matters: Vec<String> = plan.steps.iter().filter(|s| s.matters).map(step).collect();
        let idle: Vec<&str> = plan.steps.iter().filter(|s| !s.matters).map(|s| name(s.movement.control)).collect();
        let idle = if idle.is_empty() { String::new() } else { format!("; no matter when: {}", idle.join(", ")) };
        format!("{}{idle}; {:.1} m in all", matters.join(", "), plan.metres_lost)
    };
    let because = plans.iter().map(|(w, [up, down])| format!("{w} m/s: windward {}; leeward {}", told(up), told(down)));
    let because = because.collect::<Vec<_>>().join(". ");
    // What each of them costs by when it begins, alone, at 5 m/s.
    let mut curves = Vec::new();
    if let Some((_, marks)) = plans.iter().find(|(w, _)| *w == 5.0) {
        let axes = ["begun, s after the windward mark", "begun, s after the leeward mark"];
        for (plan, axis) in marks.iter().zip(axes) {
            let good = plan
                .steps
                .first()
                .map_or(1.0, |_| plan.metres_lost / plan.steps.iter().map(|s| s.movement.lost(s.begins)).sum::<f64>().max(1e-9));
            for s in &plan.steps {
                let points = (-30..=20).map(|k| 0.5 * f64::from(k)).map(|t| [t, good * s.movement.lost(t)]);
                curves.push(Curve::new(name(s.movement.control), axis, "metres lost", points.filter(|p| p[1] < 3.0)));
            }
        }
    }
    Ok(Finding { verdict, because, curves })
}
