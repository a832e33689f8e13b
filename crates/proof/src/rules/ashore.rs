//! Rules of rake, weight and mass.

use anyhow::{Context, Result, bail};
use boat::balance::{Boat, Control};
use boat::setup::Leg;
use measure::Outcome;
use measure::angle::DEGREE;
use rayon::prelude::*;

use super::curve::Curve;
use super::question::{Question, along};
use super::upwind::beats;
use super::{Finding, HANDBOOKS, HEAVY, LIGHT, MIDDLE, PRACTICE, Rule, Verdict, enough};

/// Length of a leg by which weight is told, m.
const LEG: f64 = 500.0;

pub(super) fn rules() -> [Rule; 4] {
    [
        Rule {
            id: "T5",
            words: "Mast raked forward lifts the boom end; aft drops it; the balance follows.",
            source: PRACTICE,
            swept: "rake, 2 degrees forward to 5 aft",
            held: "everything else of the best beat at 4 and at 7 m/s",
            trimmed: "nothing",
            criterion: "the boom end falls at every step aft (geometry), and the tiller moves to windward at every step aft at both winds.",
            card: "The card prints the model's rake, searched, as the boom end's height.",
            ask: rake,
        },
        Rule {
            id: "T7",
            words: "Weight forward in light air until the transom clears, not further; aft as speed rises.",
            source: HANDBOOKS,
            swept: "wind, 2 to 9 m/s; then seat, at 2 m/s",
            held: "heel 0, downhaul 5 N per m/s of wind",
            trimmed: "course, boom, vang, car, gap, rake, board (and seat, in the first)",
            criterion: "the best seat never moves forward by more than 3 cm as the wind rises and moves aft by 10 cm in all, and at 2 m/s it is \
                        inside its range with the transom's lowest point within 1 cm of the water. Only as to direction: it moves aft, and at \
                        2 m/s is at the forward end or leaves the transom elsewhere.",
            card: "The card prints the model's seat, searched.",
            ask: seat,
        },
        Rule {
            id: "T15",
            words: "A heavy or wet hull is slow.",
            source: PRACTICE,
            swept: "mass in the hull, 0 to 20 kg",
            held: "run: heel, gap, downhaul, board of common practice; beat: heel 0, downhaul",
            trimmed: "all else of the leg",
            criterion: "every 5 kg cost speed on the beat and on the run at 3, 5, 7 and 9 m/s.",
            card: "The card prints no mass.",
            ask: wet_hull,
        },
        Rule {
            id: "T16",
            words: "Heavier sailors gain in strong wind and lose in light.",
            source: HANDBOOKS,
            swept: "wind, 3 to 11 m/s, for a light and a heavy sailor; without gusts and with (3 s gust 1.3 times the mean)",
            held: "heel 0, downhaul 5 N per m/s of wind",
            trimmed: "course and boom in every wind of the gusts; vang, seat, car, gap, rake, board once for all of them",
            criterion: "the heavy sailor's speed made good upwind less the light sailor's is negative at 3 m/s and positive in the strongest wind, \
                        with and without gusts. Only with gusts or only without: so in one of the two.",
            card: "No card compares sailors.",
            ask: heavier,
        },
    ]
}

fn rake(boat: &Boat) -> Result<Finding> {
    let rakes: Vec<f64> = (-2..=5).map(f64::from).collect();
    let height = rakes.iter().map(|r| [*r, 100.0 * boat.rig.geometry.boom_end(r * DEGREE)]);
    let height = Curve::new("on the dock", "rake aft, deg", "boom end above the transom, cm", height);
    let tillers: Result<Vec<Curve>> = [4.0, 7.0]
        .par_iter()
        .map(|w| {
            let question = Question::new(boat, Leg::Beat, MIDDLE, *w, None).hold(Control::Rake, 1.0 * DEGREE);
            let best = question.best(&[]).context("no best beat")?;
            let mut state = None;
            let mut points = Vec::new();
            for r in &rakes {
                let mut p = best.controls();
                p[Control::Rake.index()] = r * DEGREE;
                if let Outcome::Solved((there, whole)) = question.case().solve(&p, state.as_ref()) {
                    state = Some(there);
                    points.push([*r, whole.rudder_angle / DEGREE]);
                }
            }
            enough(Curve::new(format!("{w} m/s"), "rake aft, deg", "tiller to windward, deg", points), 6)
        })
        .collect();
    let tillers = tillers?;
    let falls = height.points.windows(2).all(|w| w[1][1] < w[0][1]);
    let follows = tillers.iter().all(|t| t.points.windows(2).all(|w| w[1][1] > w[0][1]));
    let verdict = match (falls, follows) {
        (true, true) => Verdict::Agrees,
        (true, false) => Verdict::OnlyIf("the boom end alone is meant: the balance does not follow".to_owned()),
        _ => Verdict::Disagrees,
    };
    let per = |c: &Curve| c.rise() / 7.0;
    let because = format!(
        "per degree aft the boom end moves {:+.1} cm and the tiller {:+.2} deg at 4 m/s, {:+.2} at 7",
        per(&height),
        per(&tillers[0]),
        per(&tillers[1])
    );
    Ok(Finding { verdict, because, curves: std::iter::once(height).chain(tillers).collect() })
}

fn seat(boat: &Boat) -> Result<Finding> {
    const WINDS: [f64; 7] = [2.0, 3.0, 4.0, 5.0, 6.0, 7.5, 9.0];
    const HAND: f64 = 0.03;
    let beat = |w| Question::new(boat, Leg::Beat, MIDDLE, w, None);
    let found = beats(&WINDS, beat);
    let best = enough(
        Curve::new(
            "middle sailor",
            "wind, m/s",
            "best seat from the transom, m",
            found.iter().map(|(w, _, b)| [*w, b.control(Control::Seat)]),
        ),
        5,
    )?;
    let seats: Vec<f64> = (0..=10).map(|k| 0.55 + 0.1 * f64::from(k)).collect();
    let rows = along(&seats.iter().map(|x| beat(2.0).hold(Control::Seat, *x)).collect::<Vec<_>>());
    let of = |y, value: fn(&super::question::Best) -> f64| {
        let points = seats.iter().zip(&rows).filter_map(|(x, b)| b.as_ref().map(|b| [*x, value(b)]));
        enough(Curve::new("2 m/s", "seat from the transom, m", y, points), 6)
    };
    let speed = of("made good, m/s", |b| b.value)?;
    let transom = of("transom's lowest point under water, cm", |b| 100.0 * b.whole().afloat.transom_depth)?;
    let at = speed.peak()[0];
    let aft = best.never_rises(HAND) && best.rise() <= -0.10;
    let clears = speed.is_interior() && transom.at(at).abs() <= 1.0;
    let verdict = match (aft, clears) {
        (true, true) => Verdict::Agrees,
        (true, false) => Verdict::OnlyIf("the direction is meant: the transom is not the measure".to_owned()),
        _ => Verdict::Disagrees,
    };
    let bests = best.points.iter().map(|[w, x]| format!("{x:.2} m at {w}")).collect::<Vec<_>>().join(", ");
    let because = format!("best seat {bests} m/s; at 2 m/s best {at:.2} m with the transom {:.1} cm under water", transom.at(at));
    Ok(Finding { verdict, because, curves: vec![best, speed, transom] })
}

fn wet_hull(boat: &Boat) -> Result<Finding> {
    const MASSES: [f64; 5] = [0.0, 5.0, 10.0, 15.0, 20.0];
    const WINDS: [f64; 4] = [3.0, 5.0, 7.0, 9.0];
    let jobs: Vec<(Leg, f64)> = [Leg::Beat, Leg::Run].into_iter().flat_map(|leg| WINDS.map(|w| (leg, w))).collect();
    let curves: Result<Vec<Curve>> = jobs
        .par_iter()
        .map(|(leg, w)| {
            let questions: Vec<_> = MASSES.iter().map(|m| Question::new(boat, *leg, MIDDLE, *w, None).hold(Control::Ballast, *m)).collect();
            let rows = along(&questions);
            let Some(Some(light)) = rows.first() else { bail!("no best {} at {w} m/s", leg.name()) };
            // Metres behind the lighter boat when that one has sailed the leg.
            let points = MASSES.iter().zip(&rows).filter_map(|(m, b)| b.as_ref().map(|b| [*m, LEG * (1.0 - b.value / light.value)]));
            enough(Curve::new(format!("{}, {w} m/s", leg.name()), "mass in the hull, kg", "metres behind in 500 m", points), 4)
        })
        .collect();
    let curves = curves?;
    let slow = curves.iter().all(|c| c.points.windows(2).all(|w| w[1][1] > w[0][1]));
    let verdict = if slow { Verdict::Agrees } else { Verdict::Disagrees };
    let per = curves.iter().map(|c| format!("{} {:.2}", c.name, c.at(10.0) / 10.0)).collect::<Vec<_>>().join(", ");
    Ok(Finding { verdict, because: format!("metres in 500 m per kg: {per}"), curves })
}

fn heavier(boat: &Boat) -> Result<Finding> {
    const WINDS: [f64; 9] = [3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0];
    let steadiness = [("without gusts", 1.0), ("with gusts", 1.3)];
    let curves: Result<Vec<Curve>> = steadiness
        .par_iter()
        .map(|(name, gusts)| {
            let beats: Vec<_> =
                [LIGHT, HEAVY].par_iter().map(|m| beats(&WINDS, |w| Question::new(boat, Leg::Beat, *m, w, None).gusty(*gusts))).collect();
            let points = WINDS.iter().filter_map(|w| {
                let of = |k: usize| beats[k].iter().find(|b| b.0 == *w).map(|b| b.2.value);
                let (light, heavy) = (of(0)?, of(1)?);
                Some([*w, 100.0 * (heavy / light - 1.0)])
            });
            enough(Curve::new(*name, "wind, m/s", "heavy sailor ahead of the light one, %", points), 6)
        })
        .collect();
    let curves = curves?;
    let shows: Vec<bool> = curves.iter().map(|c| c.at(3.0) < 0.0 && c.points.last().is_some_and(|p| p[1] > 0.0)).collect();
    let verdict = match (shows[0], shows[1]) {
        (true, true) => Verdict::Agrees,
        (true, false) => Verdict::OnlyIf("the wind is steady".to_owned()),
        (false, true) => Verdict::OnlyIf("the wind is gusty".to_owned()),
        (false, false) => Verdict::Disagrees,
    };
    let changes = |c: &Curve| {
        let cross = c.points.windows(2).find(|w| w[0][1] < 0.0 && w[1][1] >= 0.0);
        cross.map_or("nowhere".to_owned(), |w| format!("at {:.1} m/s", w[0][0] - w[0][1] * (w[1][0] - w[0][0]) / (w[1][1] - w[0][1])))
    };
    let because = curves
        .iter()
        .map(|c| {
            let last = c.points[c.points.len() - 1];
            format!("{}: {:+.1} % at 3 m/s, {:+.1} % at {}, the sign changes {}", c.name, c.at(3.0), last[1], last[0], changes(c))
        })
        .collect::<Vec<_>>()
        .join("; ");
    Ok(Finding { verdict, because, curves })
}
