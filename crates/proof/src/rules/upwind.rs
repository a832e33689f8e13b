//! Rules of the beat: outhaul, traveller, board, downhaul, heel.

use anyhow::{Context, Result};
use boat::balance::{Boat, Case, Control};
use boat::near::Near;
use boat::setup::Leg;
use measure::Outcome;
use measure::angle::DEGREE;
use rayon::prelude::*;

use super::curve::Curve;
use super::question::{Best, Question, along};
use super::{Finding, HANDBOOKS, HEAVY, LIGHT, MATTERS, MIDDLE, PRACTICE, Rule, Verdict, enough};

/// Share of what can be sustained from which a sailor is fully hiked.
const FULLY_HIKED: f64 = 0.97;
/// Camber that no eye tells apart, and car and gap that no hand sets apart, m.
const CAMBER_SEEN: f64 = 0.005;
const CENTIMETRE: f64 = 1.0;

pub(super) fn rules() -> [Rule; 8] {
    [
        Rule {
            id: "T1",
            words: "Flatter sail (outhaul in) as the wind rises, and for a lighter sailor.",
            source: HANDBOOKS,
            swept: "wind, 3 to 10 m/s",
            held: "heel 0, downhaul 5 N per m/s of wind",
            trimmed: "course, boom, vang, seat, car, gap, rake, board",
            criterion: "camber half way up never rises with wind by more than 0.005 and is lower at the strongest wind, and at no wind from \
                        8 m/s is the lighter sailor's sail fuller by more than 0.005. Only if fully hiked: the same from the wind on in which \
                        the sailor is fully hiked.",
            card: "The card prints the model's gap, searched up to the trade's most (T19).",
            ask: flatter,
        },
        Rule {
            id: "T2",
            words: "Traveller at the centreline points higher and is slower; about halfway out is the all-round place.",
            source: PRACTICE,
            swept: "car, 0 to 40 cm",
            held: "sheet tension at the boom's block of the best beat, heel 0, vang slack, gap, downhaul, rake, board, seat",
            trimmed: "course and boom; in the second pair of curves everything, with the sheet free",
            criterion: "at 3 and 5 m/s the best course at the centreline is higher and the speed lower than half way out, and speed made good \
                        is best between 10 and 90 % of the half-width and 0.3 % above that at the centreline, in both pairs of curves. Only if \
                        the sheet tension is held: in the first pair alone.",
            card: "The card follows the trade here: on a beat the car is searched from a tenth of the way out, and says common practice where it stands there; without a pen line the card prints about a quarter. Proposed line-up: car in the middle against a quarter and half way out.",
            ask: traveller,
        },
        Rule {
            id: "T3",
            words: "Traveller right down only when fully hiked and overpowered.",
            source: PRACTICE,
            swept: "wind, 3 to 11 m/s",
            held: "heel 0, downhaul 5 N per m/s of wind; in the second curve the vang slack as well",
            trimmed: "course, boom, vang, seat, car, gap, rake, board",
            criterion: "the best car lies less than half way out in every wind in which the sailor is not fully hiked, and at least 5 cm \
                        further out in the strongest wind than there. Only if the vang is slack: in the second curve alone.",
            card: "The card prints the model's car, searched from a tenth of the way out.",
            ask: traveller_down,
        },
        Rule {
            id: "T6",
            words: "Board a touch forward of vertical in light and medium air; raised aft it gives lee helm.",
            source: PRACTICE,
            swept: "board, 45 degrees aft to 20 forward",
            held: "heel 0, vang, gap, downhaul, car, rake, seat of the best beat",
            trimmed: "course and boom",
            criterion: "at 3 and 5 m/s the best board is forward of vertical by at most 15 degrees, and the tiller moves towards lee helm at \
                        every step aft. Only if it makes a difference: the helm does, and the touch forward lies inside the 0.3 % band.",
            card: "The card prints the model's board, searched.",
            ask: board,
        },
        Rule {
            id: "T12",
            words: "Sheeting harder asks for more downhaul; too much puts a crease at the luff.",
            source: PRACTICE,
            swept: "boom, 22 to 8 degrees; then downhaul, 0 to 350 N",
            held: "course 46 degrees, wind 5 m/s, car 8 cm, no vang, downhaul 25 N; then everything of the best beat",
            trimmed: "nothing; then course and boom",
            criterion: "the luff's scallops deepen at every step in, and speed made good is best at a downhaul inside its range with more than \
                        0.3 % lost at the hard end. Only if the eye judges: the scallops do, the speed does not tell.",
            card: "The card follows the trade here: downhaul until the wrinkles are just gone.",
            ask: downhaul,
        },
        Rule {
            id: "T13",
            words: "Flat is fast once powered.",
            source: HANDBOOKS,
            swept: "heel, 0 to 20 degrees to leeward",
            held: "downhaul 5 N per m/s of wind, gap, rake, board of the best flat beat",
            trimmed: "course, boom, vang, car, seat",
            criterion: "at least 2 % of speed made good is lost at 15 degrees of heel against flat, at 6, 8 and 10 m/s. Only from a wind on: \
                        from that wind.",
            card: "The card follows the trade here: heel is given by common practice, not searched. Proposed line-up: flat against ten degrees to leeward.",
            ask: flat,
        },
        Rule {
            id: "T14",
            words: "A little leeward heel in very light air helps the sail fall into shape.",
            source: "handbooks, not unanimous",
            swept: "heel, 0 to 15 degrees to leeward",
            held: "downhaul, gap, rake, board of the best flat beat",
            trimmed: "course, boom, vang, car, seat",
            criterion: "at 1.5 m/s the best heel gains at least 0.3 % over flat, and half of that gain or more goes when the cloth weighs \
                        nothing. Only for another reason: it gains without the cloth's weight as well.",
            card: "The card follows the trade here: below 2 m/s five degrees to leeward, given by common practice, not searched.",
            ask: leeward_heel,
        },
        Rule {
            id: "T19",
            words: "A tight outhaul is a strong-wind setting; a hand's length of foot gap is the all-round one.",
            source: PRACTICE,
            swept: "gap, 3 to 30 cm",
            held: "heel 0, downhaul 5 N per m/s of wind",
            trimmed: "course, boom, vang, seat, car, rake, board",
            criterion: "for the middle sailor the best gap at 4, 5 and 6 m/s lies within 13 to 19 cm, and at 10 m/s below 13 cm. Only because it \
                        makes no difference: 13 to 19 cm lies inside the 0.3 % band at 4 to 6 m/s, and the gap at 10 m/s is the smallest.",
            card: "The card follows the trade here: on a beat the gap is searched up to 19 cm, from 6 m/s on less, to 12 cm at 10 m/s, for the middle sailor (others by the root of what they lean with), and says common practice where it stands there. Proposed line-up: a gap of 16 cm against 24.",
            ask: hand,
        },
    ]
}

fn beat(boat: &Boat, mass: f64, wind: f64) -> Question<'_> {
    Question::new(boat, Leg::Beat, mass, wind, None)
}

/// The best beats over wind for a sailor.
pub(super) fn beats<'a>(winds: &[f64], question: impl Fn(f64) -> Question<'a>) -> Vec<(f64, bool, Best)> {
    let questions: Vec<_> = winds.iter().map(|w| question(*w)).collect();
    let found = along(&questions);
    winds
        .iter()
        .zip(&questions)
        .zip(found)
        .filter_map(|((wind, question), best)| {
            let best = best?;
            let hiked = best.whole().hike >= FULLY_HIKED * question.reach_out();
            Some((*wind, hiked, best))
        })
        .collect()
}

fn flatter(boat: &Boat) -> Result<Finding> {
    const WINDS: [f64; 8] = [3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0];
    let sailors = [("light sailor", LIGHT), ("middle sailor", MIDDLE), ("heavy sailor", HEAVY)];
    let found: Vec<_> = sailors.par_iter().map(|(_, mass)| beats(&WINDS, |w| beat(boat, *mass, w))).collect();
    let mut camber = Vec::new();
    let mut gap = Vec::new();
    let mut once_hiked = Vec::new();
    for ((name, _), beats) in sailors.iter().zip(&found) {
        let points = |from: f64| beats.iter().filter(move |b| b.0 >= from).map(|(w, _, b)| [*w, b.camber()]);
        camber.push(enough(Curve::new(*name, "wind, m/s", "camber half way up", points(0.0)), 6)?);
        gap.push(Curve::new(*name, "wind, m/s", "gap, cm", beats.iter().map(|(w, _, b)| [*w, 100.0 * b.control(Control::Gap)])));
        let hiked = beats.iter().find(|b| b.1).map_or(f64::INFINITY, |b| b.0);
        once_hiked.push(Curve::new(*name, "wind, m/s", "camber half way up", points(hiked)));
    }
    let falls = |c: &Curve| c.never_rises(CAMBER_SEEN) && c.rise() < -CAMBER_SEEN;
    let lighter = WINDS.iter().filter(|w| **w >= 8.0).all(|w| {
        let at: Vec<f64> = camber.iter().map(|c| c.at(*w)).collect();
        // A wind without an answer for one of them says nothing.
        at.windows(2).all(|p| p[0] <= p[1] + CAMBER_SEEN || p.iter().any(|v| v.is_nan()))
    });
    let told: Vec<_> = once_hiked.iter().filter(|c| c.points.len() > 1).collect();
    let verdict = if camber.iter().all(falls) && lighter {
        Verdict::Agrees
    } else if lighter && !told.is_empty() && told.iter().all(|c| falls(c)) {
        Verdict::OnlyIf("the sailor is fully hiked".to_owned())
    } else {
        Verdict::Disagrees
    };
    let ends = |c: &Curve| c.points.first().zip(c.points.last()).map_or(String::new(), |(a, b)| format!("{:.3} to {:.3}", a[1], b[1]));
    let from = |c: &Curve| c.points.first().map_or("never".to_owned(), |p| format!("{} m/s", p[0]));
    let because = format!(
        "camber from 3 to 10 m/s: light {}, middle {}, heavy {}; fully hiked from {}, {}, {}; lighter is flatter from 8 m/s: {}",
        ends(&camber[0]),
        ends(&camber[1]),
        ends(&camber[2]),
        from(&once_hiked[0]),
        from(&once_hiked[1]),
        from(&once_hiked[2]),
        if lighter { "yes" } else { "no" },
    );
    Ok(Finding { verdict, because, curves: camber.into_iter().chain(gap).collect() })
}

/// The state near by with the car and the course moved and the boom where the sheet has its tension: Newton's method with the exact
/// slope. `None` where no state is near enough, or the tension is not reached.
fn sheeted_to(case: &Case<'_>, from: &Near, course: f64, car: f64, tension: f64) -> Option<Near> {
    const ROUNDS: usize = 12;
    const LONGEST: f64 = 2.0 * DEGREE;
    let boom = Control::Boom.index();
    let mut p = from.controls;
    p[Control::WindAngle.index()] = course;
    p[Control::Car.index()] = car;
    let mut near = from.clone();
    for _ in 0..ROUNDS {
        let (state, whole) = case.solve_near(&near, &p).solved()?;
        near = case.near(&p, &state, whole)?;
        let (force, slopes) = near.slopes.sheet_force;
        if (force / tension - 1.0).abs() < 0.005 {
            return Some(near);
        }
        p[boom] = (p[boom] + ((tension - force) / slopes[boom]).clamp(-LONGEST, LONGEST)).max(0.0);
    }
    None
}

/// Speed made good, course (deg) and speed of the best course at a car, from a state there: courses both ways by half degrees.
fn best_course(case: &Case<'_>, limit: f64, from: &Near, tension: f64) -> Option<[f64; 3]> {
    const STEP: f64 = 0.5 * DEGREE;
    const COURSES: i32 = 40;
    let (start, car) = (from.controls[Control::WindAngle.index()], from.controls[Control::Car.index()]);
    let mut seen = vec![from.clone()];
    for way in [-1, 1] {
        let mut at = from.clone();
        for k in 1..=COURSES {
            let Some(next) = sheeted_to(case, &at, start + f64::from(way * k) * STEP, car, tension) else { break };
            seen.push(next.clone());
            at = next;
        }
    }
    let kept = seen.iter().filter(|n| n.whole.hike <= limit);
    let best = kept.max_by(|a, b| a.whole.made_good.total_cmp(&b.whole.made_good))?;
    Some([best.whole.made_good, best.controls[Control::WindAngle.index()] / DEGREE, best.whole.speed])
}

/// At each car (m, in order) the best course with the sheet's tension held.
fn at_tension(question: &Question<'_>, best: &Best, cars: &[f64], tension: f64) -> Vec<Option<[f64; 3]>> {
    const STEP: f64 = 0.01;
    let case = question.case();
    let Some(start) = case.near(&best.controls(), best.state(), *best.whole()) else { return vec![None; cars.len()] };
    let of = |car: &f64| {
        let from = start.controls[Control::Car.index()];
        let steps = ((car - from).abs() / STEP).ceil().max(1.0) as usize;
        let mut at = start.clone();
        for k in 1..=steps {
            let there = from + (car - from) * k as f64 / steps as f64;
            at = sheeted_to(&case, &at, at.controls[Control::WindAngle.index()], there, tension)?;
        }
        best_course(&case, question.reach_out(), &at, tension)
    };
    cars.par_iter().map(of).collect()
}

fn traveller(boat: &Boat) -> Result<Finding> {
    const HALF_WIDTH: f64 = 42.0;
    let cars: Vec<f64> = (0..=10).map(|k| 4.0 * f64::from(k)).collect();
    let winds = [3.0, 5.0];
    let found: Result<Vec<_>> = winds
        .par_iter()
        .map(|wind| {
            let slack = beat(boat, MIDDLE, *wind).hold(Control::Vang, 0.0);
            let all = slack.best(&[]).context("no best beat")?;
            let tension = all.whole().sail.sheet_force;
            let metres: Vec<f64> = cars.iter().map(|car| 0.01 * car).collect();
            let rows: Vec<_> = cars.iter().copied().zip(at_tension(&slack, &all, &metres, tension)).collect();
            let name = format!("{wind} m/s, sheet held at {tension:.0} N");
            let of = |k: usize, y| Curve::new(name.clone(), "car, cm", y, rows.iter().filter_map(|(car, row)| row.map(|r| [*car, r[k]])));
            let questions: Vec<_> = cars.iter().map(|car| beat(boat, MIDDLE, *wind).hold(Control::Car, 0.01 * car)).collect();
            let free = along(&questions);
            let free_of = |y, value: fn(&Best) -> f64| {
                let points = cars.iter().zip(&free).filter_map(|(car, b)| b.as_ref().map(|b| [*car, value(b)]));
                Curve::new(format!("{wind} m/s, sheet free"), "car, cm", y, points)
            };
            let held = [of(0, "made good, m/s"), of(1, "best course, deg"), of(2, "speed, m/s")];
            let free = [
                free_of("made good, m/s", |b| b.value),
                free_of("best course, deg", |b| b.control(Control::WindAngle) / DEGREE),
                free_of("speed, m/s", |b| b.whole().speed),
            ];
            Ok((held, free))
        })
        .collect();
    let found = found?;
    let shows = |[made_good, course, speed]: &[Curve; 3]| {
        let half = 20.0;
        let best = made_good.peak()[0];
        course.at(0.0) < course.at(half)
            && speed.at(0.0) < speed.at(half)
            && (0.1 * HALF_WIDTH..=0.9 * HALF_WIDTH).contains(&best)
            && made_good.loss(0.0) >= MATTERS
    };
    let tension_held = found.iter().all(|(held, _)| shows(held));
    let verdict = match (tension_held, found.iter().all(|(_, free)| shows(free))) {
        (true, true) => Verdict::Agrees,
        (true, false) => Verdict::OnlyIf("the sheet tension is held".to_owned()),
        _ => Verdict::Disagrees,
    };
    let told = |c: &[Curve; 3]| {
        let (best, course) = (c[0].peak()[0], [c[1].at(0.0), c[1].at(20.0)]);
        format!(
            "{}: best car {best:.0} cm, centreline loses {:.1} %, course {:.0} there and {:.0} half way out",
            c[0].name,
            100.0 * c[0].loss(0.0),
            course[0],
            course[1]
        )
    };
    let because = found.iter().flat_map(|(held, free)| [told(held), told(free)]).collect::<Vec<_>>().join("; ");
    for (held, _) in &found {
        enough(held[0].clone(), 4)?;
    }
    Ok(Finding { verdict, because, curves: found.into_iter().flat_map(|(held, free)| held.into_iter().chain(free)).collect() })
}

fn traveller_down(boat: &Boat) -> Result<Finding> {
    const WINDS: [f64; 9] = [3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0];
    const HALF_WAY: f64 = 21.0;
    const FURTHER: f64 = 5.0;
    let rows: Vec<_> = [false, true]
        .par_iter()
        .map(|slack| beats(&WINDS, |w| if *slack { beat(boat, LIGHT, w).hold(Control::Vang, 0.0) } else { beat(boat, LIGHT, w) }))
        .collect();
    let names = ["light sailor, vang free", "light sailor, vang slack"];
    let mut curves = Vec::new();
    let mut shown = [false; 2];
    let mut told = Vec::new();
    for (k, beats) in rows.iter().enumerate() {
        let curve = enough(
            Curve::new(names[k], "wind, m/s", "best car, cm", beats.iter().map(|(w, _, b)| [*w, 100.0 * b.control(Control::Car)])),
            5,
        )?;
        let before: Vec<f64> = beats.iter().filter(|b| !b.1).map(|b| 100.0 * b.2.control(Control::Car)).collect();
        let furthest = before.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let strongest = curve.points.last().map_or(f64::NAN, |p| p[1]);
        shown[k] = furthest < HALF_WAY && strongest >= furthest + FURTHER;
        let from = beats.iter().find(|b| b.1).map_or("never".to_owned(), |b| format!("{} m/s", b.0));
        told.push(format!(
            "{}: fully hiked from {from}, car at most {furthest:.0} cm before and {strongest:.0} cm in the strongest wind",
            names[k]
        ));
        curves.push(curve);
    }
    let verdict = match shown {
        [true, _] => Verdict::Agrees,
        [false, true] => Verdict::OnlyIf("the vang is slack".to_owned()),
        _ => Verdict::Disagrees,
    };
    Ok(Finding { verdict, because: told.join("; "), curves })
}

fn board(boat: &Boat) -> Result<Finding> {
    let angles: Vec<f64> = (-9..=4).map(|k| 5.0 * f64::from(k)).collect();
    const TOUCH: f64 = 15.0;
    let found: Result<Vec<_>> = [3.0, 5.0]
        .par_iter()
        .map(|wind| {
            let all = beat(boat, MIDDLE, *wind);
            let best = all.best(&[]).context("no best beat")?;
            let held = all.hold_as(&best, &[Control::Vang, Control::Gap, Control::Car, Control::Rake, Control::Seat]);
            let rows = along(&angles.iter().map(|a| held.clone().hold(Control::Board, a * DEGREE)).collect::<Vec<_>>());
            let of = |y, value: fn(&Best) -> f64| {
                let points = angles.iter().zip(&rows).filter_map(|(a, b)| b.as_ref().map(|b| [*a, value(b)]));
                enough(Curve::new(format!("{wind} m/s"), "board, deg forward", y, points), 8)
            };
            Ok([of("made good, m/s", |b| b.value)?, of("tiller to windward, deg", |b| b.whole().rudder_angle / DEGREE)?])
        })
        .collect();
    let found = found?;
    let helm = found.iter().all(|[_, tiller]| tiller.never_falls(0.0));
    let forward = found.iter().all(|[speed, _]| (0.0..=TOUCH).contains(&speed.peak()[0]) && speed.is_interior());
    let inside = found.iter().all(|[speed, _]| {
        let [low, high] = speed.band(MATTERS);
        low <= TOUCH && high >= 1.0
    });
    let verdict = match (helm, forward, inside) {
        (true, true, _) => Verdict::Agrees,
        (true, false, true) => Verdict::OnlyIf("a touch is inside what makes no difference".to_owned()),
        _ => Verdict::Disagrees,
    };
    let because = found
        .iter()
        .map(|[speed, tiller]| {
            let band = speed.band(MATTERS);
            format!(
                "{}: best board {:+.0} deg (band {:+.0} to {:+.0}), tiller {:+.1} deg at 45 aft, {:+.1} upright",
                speed.name,
                speed.peak()[0],
                band[0],
                band[1],
                tiller.at(-45.0),
                tiller.at(0.0)
            )
        })
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves: found.into_iter().flatten().collect() })
}

fn downhaul(boat: &Boat) -> Result<Finding> {
    let question = beat(boat, MIDDLE, 5.0).hold(Control::Vang, 0.0);
    let mut p = question.from;
    for (control, value) in [(Control::WindAngle, 46.0 * DEGREE), (Control::Car, 0.08), (Control::Downhaul, 25.0)] {
        p[control.index()] = value;
    }
    let mut state = None;
    let mut scallops = Vec::new();
    for k in 0..=7 {
        let boom = 22.0 - 2.0 * f64::from(k);
        p[Control::Boom.index()] = boom * DEGREE;
        if let Outcome::Solved((there, whole)) = question.case().solve(&p, state.as_ref()) {
            state = Some(there);
            scallops.push([whole.sail.sheet_force, 1000.0 * whole.sail.wrinkle]);
        }
    }
    let scallops = enough(Curve::new("5 m/s, boom 22 to 8 deg", "sheet at the boom, N", "scallop, mm", scallops), 6)?;
    let all = beat(boat, MIDDLE, 5.0);
    let best = all.best(&[]).context("no best beat")?;
    let held = all.hold_as(&best, &[Control::Vang, Control::Seat, Control::Car, Control::Gap, Control::Rake, Control::Board]);
    let pulls: Vec<f64> = (0..=10).map(|k| 35.0 * f64::from(k)).collect();
    let rows = along(&pulls.iter().map(|n| held.clone().hold(Control::Downhaul, *n)).collect::<Vec<_>>());
    let points = pulls.iter().zip(&rows).filter_map(|(n, b)| b.as_ref().map(|b| [*n, b.value]));
    let speed = enough(Curve::new("5 m/s", "downhaul, N", "made good, m/s", points), 8)?;
    let deepens = scallops.never_falls(0.0) && scallops.rise() > 0.0;
    let tells = speed.is_interior() && speed.loss(350.0) > MATTERS;
    let verdict = match (deepens, tells) {
        (true, true) => Verdict::Agrees,
        (true, false) => Verdict::OnlyIf("the eye judges: speed does not tell".to_owned()),
        _ => Verdict::Disagrees,
    };
    let (first, last) = (scallops.points[0], scallops.points[scallops.points.len() - 1]);
    let because = format!(
        "scallops {:.1} mm at {:.0} N of sheet, {:.1} mm at {:.0} N; best downhaul {:.0} N, hard down loses {:.2} %, slack {:.2} %",
        first[1],
        first[0],
        last[1],
        last[0],
        speed.peak()[0],
        100.0 * speed.loss(350.0),
        100.0 * speed.loss(0.0)
    );
    Ok(Finding { verdict, because, curves: vec![scallops, speed] })
}

/// Speed made good over heel with the sail's shape, rake and board of the best flat beat.
fn over_heel(boat: &Boat, mass: f64, wind: f64, heels: &[f64], name: String) -> Result<Curve> {
    let flat = beat(boat, mass, wind).hold(Control::Heel, 0.0);
    let best = flat.best(&[]).context("no best flat beat")?;
    let held = flat.hold_as(&best, &[Control::Gap, Control::Rake, Control::Board]);
    let rows = along(&heels.iter().map(|h| held.clone().hold(Control::Heel, h * DEGREE)).collect::<Vec<_>>());
    let points = heels.iter().zip(&rows).filter_map(|(h, b)| b.as_ref().map(|b| [*h, b.value]));
    enough(Curve::new(name, "heel to leeward, deg", "made good, m/s", points), 4)
}

fn flat(boat: &Boat) -> Result<Finding> {
    const LOST: f64 = 0.02;
    let heels = [0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 20.0];
    let winds = [6.0, 8.0, 10.0];
    let curves: Result<Vec<_>> = winds.par_iter().map(|w| over_heel(boat, MIDDLE, *w, &heels, format!("middle sailor, {w} m/s"))).collect();
    let curves = curves?;
    let lost: Vec<f64> = curves.iter().map(|c| 1.0 - c.at(15.0) / c.at(0.0)).collect();
    let from = winds.iter().enumerate().position(|(k, _)| lost[k..].iter().all(|l| *l >= LOST));
    let verdict = match from {
        Some(0) => Verdict::Agrees,
        Some(k) => Verdict::OnlyIf(format!("it blows {} m/s or more", winds[k])),
        None => Verdict::Disagrees,
    };
    let because = winds
        .iter()
        .zip(&curves)
        .zip(&lost)
        .map(|((w, c), l)| format!("{w} m/s: 15 degrees make {:+.1} % against flat, best heel {:.0} deg", -100.0 * l, c.peak()[0]))
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves })
}

fn leeward_heel(boat: &Boat) -> Result<Finding> {
    let heels = [0.0, 3.0, 6.0, 9.0, 12.0, 15.0];
    let mut weightless = boat.clone();
    weightless.rig.cloth_weight = 0.0;
    let boats = [("1.5 m/s, cloth as it is", boat), ("1.5 m/s, cloth without weight", &weightless)];
    let curves: Result<Vec<_>> = boats.par_iter().map(|(name, b)| over_heel(b, MIDDLE, 1.5, &heels, (*name).to_owned())).collect();
    let curves = curves?;
    let gain: Vec<f64> = curves.iter().map(|c| c.peak()[1] / c.at(0.0) - 1.0).collect();
    let verdict = if gain[0] < MATTERS {
        Verdict::Disagrees
    } else if gain[1] <= 0.5 * gain[0] {
        Verdict::Agrees
    } else {
        Verdict::OnlyIf("the reason is not the sail: it pays as much with cloth that weighs nothing".to_owned())
    };
    let because = format!(
        "best heel {:.0} deg gains {:.1} %; with cloth that weighs nothing {:.0} deg gains {:.1} %",
        curves[0].peak()[0],
        100.0 * gain[0],
        curves[1].peak()[0],
        100.0 * gain[1]
    );
    Ok(Finding { verdict, because, curves })
}

fn hand(boat: &Boat) -> Result<Finding> {
    const HAND: [f64; 2] = [13.0, 19.0];
    let gaps: Vec<f64> = (1..=10).map(|k| 3.0 * f64::from(k)).collect();
    let winds = [4.0, 5.0, 6.0, 10.0];
    let curves: Result<Vec<_>> = winds
        .par_iter()
        .map(|wind| {
            let rows = along(&gaps.iter().map(|g| beat(boat, MIDDLE, *wind).hold(Control::Gap, 0.01 * g)).collect::<Vec<_>>());
            let points = gaps.iter().zip(&rows).filter_map(|(g, b)| b.as_ref().map(|b| [*g, b.value]));
            enough(Curve::new(format!("middle sailor, {wind} m/s"), "gap, cm", "made good, m/s", points), 6)
        })
        .collect();
    let curves = curves?;
    let best: Vec<f64> = curves.iter().map(|c| c.peak()[0]).collect();
    let all_round = best[..3].iter().all(|g| (HAND[0]..=HAND[1]).contains(g));
    let no_matter = curves[..3].iter().all(|c| {
        let [low, high] = c.band(MATTERS);
        low <= HAND[0] && high >= HAND[1]
    });
    let smallest = best[..3].iter().all(|g| best[3] <= *g - CENTIMETRE);
    let verdict = if all_round && best[3] < HAND[0] {
        Verdict::Agrees
    } else if no_matter && smallest {
        Verdict::OnlyIf("a band counts: a hand's length makes no difference to the best at 4 to 6 m/s".to_owned())
    } else {
        Verdict::Disagrees
    };
    let because = curves
        .iter()
        .zip(winds)
        .map(|(c, w)| {
            let [low, high] = c.band(MATTERS);
            format!("{w} m/s: best {:.0} cm (band {low:.0} to {high:.0})", c.peak()[0])
        })
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves })
}
