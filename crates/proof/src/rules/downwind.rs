//! Rules of runs and reaches: vang, windward heel, board up, outhaul eased too far, boom square.

use anyhow::{Context, Result};
use boat::balance::{Boat, Control};
use boat::foil::{self, Motion};
use boat::sail;
use boat::setup::Leg;
use measure::angle::DEGREE;
use rayon::prelude::*;

use super::curve::Curve;
use super::question::{Best, Question, along};
use super::{Finding, HANDBOOKS, MATTERS, MIDDLE, PRACTICE, Rule, Verdict, enough};

/// Course of the reach that rules are asked on, and of a run without a choice of course, deg.
const ACROSS: f64 = 100.0;
const DEAD: f64 = 178.0;

pub(super) fn rules() -> [Rule; 5] {
    [
        Rule {
            id: "T4",
            words: "More vang in the puff, less in the lull on a run; too hard hooks the leech, too loose spills the top.",
            source: HANDBOOKS,
            swept: "vang tension, 0 to 300 N, at 3, 4.5, 6 and 8 m/s",
            held: "heel, gap, downhaul and board of common practice, car half way out; on the reach the course of 100 degrees",
            trimmed: "course, boom, seat; on the reach boom, seat, car, gap, board",
            criterion: "on a run the best tension never falls with wind by more than 10 N and rises by 50 N from 3 to 8 m/s, and at 6 m/s both \
                        slack and 300 N lose at least 0.3 %. Only if too hard is judged on a reach: there both lose, on a run slack alone.",
            card: "A card has no row of a run; `setup --leg run` gives the model's vang, searched. Proposed line-up: vang snug against vang hard on a run.",
            ask: vang,
        },
        Rule {
            id: "T8",
            words: "Heel to windward on a run in light and medium air: less wetted area, balanced helm; not in a blow.",
            source: HANDBOOKS,
            swept: "heel, 15 degrees to windward to 15 to leeward, at 2, 4, 8 and 10 m/s",
            held: "gap, downhaul, board of common practice, car half way out",
            trimmed: "course, boom, vang, seat",
            criterion: "at 2 and 4 m/s the best heel is to windward, gains 0.3 % over flat, has less wetted area and less tiller than flat; at 8 \
                        and 10 m/s windward heel gains less than 0.3 %. Only if a blow is left to seamanship: it pays there as well.",
            card: "The card follows the trade here: heel is given by common practice, flat from 5.5 m/s, not searched.",
            ask: windward_heel,
        },
        Rule {
            id: "T9",
            words: "Board up on a run is fastest; half down is steadier.",
            source: HANDBOOKS,
            swept: "board, straight down to 85 degrees up, at 3 and 6 m/s",
            held: "heel, gap, downhaul of common practice, car half way out",
            trimmed: "course, boom, vang, seat",
            criterion: "the best board is 60 degrees up or more and straight down loses at least 0.3 % at both winds, and half up (45 degrees) the \
                        board damps roll at least twice as much as right up (80). Only as to one: the other does not show.",
            card: "The card follows the trade here: the board on a run is given by skill and wind, not searched.",
            ask: board_up,
        },
        Rule {
            id: "T10",
            words: "Outhaul eased too far makes the sail smaller.",
            source: PRACTICE,
            swept: "gap, 3 to 42 cm, at 3 and 6 m/s",
            held: "run: course 178 degrees, heel, downhaul, board of common practice; reach: course 100 degrees, heel 0",
            trimmed: "boom, vang, seat; on the reach car and board as well",
            criterion: "chord at the foot falls at every step, and at both winds speed is best inside the range and 42 cm lose at least 0.3 %, \
                        on the run and more on the reach. Only on a reach: there alone.",
            card: "The card follows the trade here on a run: the gap is the all-round one, not searched. On a reach it prints the model's.",
            ask: eased_too_far,
        },
        Rule {
            id: "T11",
            words: "Boom square (about 90 degrees) on a dead run; a preventer keeps it there in light air.",
            source: PRACTICE,
            swept: "boom, 54 to 94 degrees, at 3 and 6 m/s",
            held: "course 178 degrees, heel, gap, downhaul, board of common practice, car half way out",
            trimmed: "vang and seat",
            criterion: "at both winds the best boom is within 5 degrees of 90, or 90 loses less than 0.3 %. Only if half the top's twist counts: \
                        the best boom and half the twist four fifths up the luff make 90 within 8 degrees.",
            card: "A card has no row of a run; `setup --leg run` gives the model's boom, searched, and follows the trade as to the preventer below 3 m/s. Proposed line-up: boom square against boom at 70 degrees.",
            ask: square,
        },
    ]
}

fn run(boat: &Boat, wind: f64) -> Question<'_> {
    Question::new(boat, Leg::Run, MIDDLE, wind, None)
}

fn reach(boat: &Boat, wind: f64) -> Question<'_> {
    Question::new(boat, Leg::Reach, MIDDLE, wind, Some(ACROSS * DEGREE))
}

/// A sweep of one control of a question: a row of answers.
fn swept<'a>(question: &Question<'a>, control: Control, unit: f64, values: &[f64]) -> Vec<(f64, Best)> {
    let questions: Vec<_> = values.iter().map(|v| question.clone().hold(control, v * unit)).collect();
    values.iter().copied().zip(along(&questions)).filter_map(|(v, b)| Some((v, b?))).collect()
}

fn curve(name: String, x: &'static str, y: &'static str, rows: &[(f64, Best)], value: impl Fn(&Best) -> f64) -> Result<Curve> {
    enough(Curve::new(name, x, y, rows.iter().map(|(v, b)| [*v, value(b)])), 5)
}

fn vang(boat: &Boat) -> Result<Finding> {
    const WINDS: [f64; 4] = [3.0, 4.5, 6.0, 8.0];
    const HARD: f64 = 300.0;
    let tensions: Vec<f64> = (0..=10).map(|k| 30.0 * f64::from(k)).collect();
    let legs = [("run", true), ("reach", false)];
    let found: Result<Vec<Vec<Curve>>> = legs
        .par_iter()
        .map(|(name, downwind)| {
            WINDS
                .par_iter()
                .map(|w| {
                    let question = if *downwind { run(boat, *w) } else { reach(boat, *w) };
                    let rows = swept(&question, Control::Vang, 1.0, &tensions);
                    curve(format!("{name}, {w} m/s"), "vang, N", "speed, m/s", &rows, |b| b.value)
                })
                .collect()
        })
        .collect();
    let found = found?;
    let best: Vec<[f64; 2]> = WINDS.iter().zip(&found[0]).map(|(w, c)| [*w, c.peak()[0]]).collect();
    let best = Curve::new("run", "wind, m/s", "best vang, N", best);
    let rises = best.never_falls(10.0) && best.rise() >= 50.0;
    // Both are judged in the same wind, the third.
    let lost = |leg: usize| [found[leg][2].loss(0.0), found[leg][2].loss(HARD)];
    let [slack, hard] = lost(0);
    let [slack_across, hard_across] = lost(1);
    let verdict = if rises && slack >= MATTERS && hard >= MATTERS {
        Verdict::Agrees
    } else if rises && slack >= MATTERS && slack_across >= MATTERS && hard_across >= MATTERS {
        Verdict::OnlyIf("too hard is judged on a reach: on a run it costs nothing".to_owned())
    } else {
        Verdict::Disagrees
    };
    let bests = best.points.iter().map(|[w, n]| format!("{n:.0} N at {w}")).collect::<Vec<_>>().join(", ");
    let because = format!(
        "best on a run {bests} m/s; at 6 m/s slack loses {:.1} % and hard {:.1} % on a run, {:.1} % and {:.1} % on a reach",
        100.0 * slack,
        100.0 * hard,
        100.0 * slack_across,
        100.0 * hard_across
    );
    Ok(Finding { verdict, because, curves: std::iter::once(best).chain(found.into_iter().flatten()).collect() })
}

fn windward_heel(boat: &Boat) -> Result<Finding> {
    const WINDS: [f64; 4] = [2.0, 4.0, 8.0, 10.0];
    let heels: Vec<f64> = (-5..=5).map(|k| 3.0 * f64::from(k)).collect();
    let found: Result<Vec<_>> = WINDS
        .par_iter()
        .map(|w| {
            let rows = swept(&run(boat, *w), Control::Heel, DEGREE, &heels);
            let name = format!("{w} m/s");
            let of = |y, value: fn(&Best) -> f64| curve(name.clone(), "heel to leeward, deg", y, &rows, value);
            Ok([
                of("made good, m/s", |b| b.value)?,
                of("wetted area, m2", |b| b.whole().afloat.wetted_area)?,
                of("tiller, deg either way", |b| b.whole().rudder_angle.abs() / DEGREE)?,
            ])
        })
        .collect();
    let found = found?;
    let gains: Vec<f64> = found.iter().map(|[speed, ..]| speed.peak()[1] / speed.at(0.0) - 1.0).collect();
    let windward = |k: usize| found[k][0].peak()[0] < 0.0 && gains[k] >= MATTERS;
    let why = |k: usize| {
        let [speed, wetted, tiller] = &found[k];
        let best = speed.peak()[0];
        wetted.at(best) < wetted.at(0.0) && tiller.at(best) < tiller.at(0.0)
    };
    let light = windward(0) && windward(1) && why(0) && why(1);
    let verdict = match (light, windward(2) || windward(3)) {
        (true, false) => Verdict::Agrees,
        (true, true) => Verdict::OnlyIf("a blow is left to seamanship: it pays in speed there as well".to_owned()),
        _ => Verdict::Disagrees,
    };
    let because = found
        .iter()
        .zip(&gains)
        .map(|([speed, wetted, tiller], gain)| {
            let best = speed.peak()[0];
            format!(
                "{}: best {best:+.0} deg gains {:.1} % over flat, wetted area {:.2} to {:.2} m2, tiller {:.1} to {:.1} deg",
                speed.name,
                100.0 * gain,
                wetted.at(0.0),
                wetted.at(best),
                tiller.at(0.0),
                tiller.at(best)
            )
        })
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves: found.into_iter().flatten().collect() })
}

/// Roll damping of the board at an answer, N m per rad/s: the heeling moment of a small rate of roll.
fn roll_damping(boat: &Boat, best: &Best) -> f64 {
    const RATE: f64 = 0.02;
    const SINKAGE: usize = sail::UNKNOWNS + 3;
    let whole = best.whole();
    let attitude = boat.form.attitude(best.control(Control::Heel), best.state().0[SINKAGE], whole.trim);
    let heeling = |rate: f64| {
        let motion = Motion { roll_rate: rate, ..Motion::steady(attitude, whole.speed, whole.leeway) };
        let side = boat.board_side(boat::balance::Tack::Starboard);
        foil::board(&boat.class.board, &boat.constants, boat.water, &motion, best.control(Control::Board), side).load.heeling
    };
    (heeling(-RATE) - heeling(RATE)) / (2.0 * RATE)
}

fn board_up(boat: &Boat) -> Result<Finding> {
    let up: Vec<f64> = [0.0, 10.0, 20.0, 30.0, 45.0, 60.0, 70.0, 80.0, 85.0].to_vec();
    let found: Result<Vec<_>> = [3.0, 6.0]
        .par_iter()
        .map(|w| {
            let rows = swept(&run(boat, *w), Control::Board, -DEGREE, &up);
            let name = format!("{w} m/s");
            let x = "board up, deg";
            Ok([
                curve(name.clone(), x, "made good, m/s", &rows, |b| b.value)?,
                curve(name, x, "roll damping of the board, N m s/rad", &rows, |b| roll_damping(boat, b))?,
            ])
        })
        .collect();
    let found = found?;
    let fast = found.iter().all(|[speed, _]| speed.peak()[0] >= 60.0 && speed.loss(0.0) >= MATTERS);
    let steady = found.iter().all(|[_, damping]| damping.at(45.0) > 0.0 && damping.at(45.0) >= 2.0 * damping.at(80.0));
    let verdict = match (fast, steady) {
        (true, true) => Verdict::Agrees,
        (true, false) => Verdict::OnlyIf("speed is meant: half down is not steadier".to_owned()),
        (false, true) => Verdict::OnlyIf("steadiness is meant: up is not faster in every wind".to_owned()),
        _ => Verdict::Disagrees,
    };
    let because = found
        .iter()
        .map(|[speed, damping]| {
            format!(
                "{}: best {:.0} deg up, straight down loses {:.1} %; the board damps {:.0} half up and {:.0} N m s/rad right up",
                speed.name,
                speed.peak()[0],
                100.0 * speed.loss(0.0),
                damping.at(45.0),
                damping.at(80.0)
            )
        })
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves: found.into_iter().flatten().collect() })
}

fn eased_too_far(boat: &Boat) -> Result<Finding> {
    const LOOSE: f64 = 42.0;
    let gaps: Vec<f64> = (1..=14).map(|k| 3.0 * f64::from(k)).collect();
    let winds = [3.0, 6.0];
    let found: Result<Vec<_>> = [true, false]
        .par_iter()
        .map(|downwind| {
            let leg = if *downwind { "run" } else { "reach" };
            let rows = winds.par_iter().map(|w| {
                let question = if *downwind { run(boat, *w).hold(Control::WindAngle, DEAD * DEGREE) } else { reach(boat, *w) };
                let rows = swept(&question, Control::Gap, 0.01, &gaps);
                let name = format!("{leg}, {w} m/s");
                Ok([
                    curve(name.clone(), "gap, cm", "speed, m/s", &rows, |b| b.value)?,
                    curve(name, "gap, cm", "chord at the foot, m", &rows, |b| b.whole().sail.strips[0].chord)?,
                ])
            });
            rows.collect::<Result<Vec<_>>>()
        })
        .collect();
    let found = found?;
    let smaller = found.iter().flatten().all(|[_, chord]| chord.never_rises(0.0) && chord.rise() < 0.0);
    let shows = |leg: &[[Curve; 2]]| leg.iter().all(|[speed, _]| speed.is_interior() && speed.loss(LOOSE) >= MATTERS);
    let stronger = (0..winds.len()).all(|k| found[1][k][0].loss(LOOSE) > found[0][k][0].loss(LOOSE));
    let verdict = match (smaller && shows(&found[1]), shows(&found[0]) && stronger) {
        (true, true) => Verdict::Agrees,
        (true, false) => Verdict::OnlyIf("it is asked on a reach: a run does not tell".to_owned()),
        _ => Verdict::Disagrees,
    };
    let because = found
        .iter()
        .flatten()
        .map(|[speed, _]| format!("{}: best {:.0} cm, 42 cm lose {:.1} %", speed.name, speed.peak()[0], 100.0 * speed.loss(LOOSE)))
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves: found.into_iter().flatten().flatten().collect() })
}

fn square(boat: &Boat) -> Result<Finding> {
    const SQUARE: f64 = 90.0;
    let booms: Vec<f64> = (0..=10).map(|k| 54.0 + 4.0 * f64::from(k)).collect();
    let found: Result<Vec<_>> = [3.0, 6.0]
        .par_iter()
        .map(|w| {
            let question = run(boat, *w).hold(Control::WindAngle, DEAD * DEGREE);
            let rows = swept(&question, Control::Boom, DEGREE, &booms);
            let speed = curve(format!("{w} m/s"), "boom, deg", "speed, m/s", &rows, |b| b.value)?;
            // Twist four fifths up: the unknowns after the circulations.
            let twist = curve(format!("{w} m/s"), "boom, deg", "twist four fifths up, deg", &rows, |b| {
                let heights = b.whole().sail.strips.map(|s| s.height);
                let nearest = (0..sail::STRIPS).min_by(|i, k| (heights[*i] - 0.8).abs().total_cmp(&(heights[*k] - 0.8).abs()));
                nearest.map_or(f64::NAN, |k| b.state().0[sail::STRIPS + k] / DEGREE)
            })?;
            let tiller = curve(format!("{w} m/s"), "boom, deg", "tiller to windward, deg", &rows, |b| b.whole().rudder_angle / DEGREE)?;
            Ok([speed, twist, tiller])
        })
        .collect();
    let found = found.context("boom on a dead run")?;
    let near = found.iter().all(|[speed, ..]| (speed.peak()[0] - SQUARE).abs() <= 5.0 || speed.loss(SQUARE) < MATTERS);
    let with_twist = found.iter().all(|[speed, twist, _]| {
        let best = speed.peak()[0];
        (best + 0.5 * twist.at(best) - SQUARE).abs() <= 8.0
    });
    let verdict = match (near, with_twist) {
        (true, _) => Verdict::Agrees,
        (false, true) => Verdict::OnlyIf("half the top's twist counts: the sail is square, the boom a little less".to_owned()),
        _ => Verdict::Disagrees,
    };
    let because = found
        .iter()
        .map(|[speed, twist, tiller]| {
            let best = speed.peak()[0];
            let lost = 100.0 * speed.loss(SQUARE);
            let square = if lost.is_nan() { "90 keeps no limit".to_owned() } else { format!("90 loses {lost:.1} %") };
            let helm = tiller.points.last().map_or(f64::NAN, |p| p[1]);
            format!(
                "{}: best boom {best:.0} deg with {:.0} deg of twist at the top and {:.0} of tiller, {square}; tiller {helm:.0} at the widest boom that does",
                speed.name,
                twist.at(best),
                tiller.at(best)
            )
        })
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves: found.into_iter().flatten().collect() })
}
