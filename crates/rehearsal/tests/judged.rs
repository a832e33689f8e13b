//! The judge finds what was put wrong, and the two methods beside the estimators stand where they should.

use rehearsal::judge::coverage;
use rehearsal::plain::{ordinary, told};
use rehearsal::{Kind, LegKind, Tally, judge, outing};

#[test]
fn the_truth_told_is_right_in_all_but_the_wind() {
    for kind in [Kind::TwoBoats, Kind::Messy] {
        let outing = outing(kind, 1);
        let verdict = judge(&outing, &told(&outing));
        for found in [verdict.tacks, verdict.gybes, verdict.roundings, verdict.stops, verdict.starts] {
            assert!(found.there > 0 && found.recall() == Some(1.0) && found.precision() == Some(1.0), "{found:?}");
        }
        assert!(verdict.legs.0 > 5000 && verdict.legs.0 == verdict.legs.1);
        // Of a line-up it is told all but what receivers err: no more than three of its own deviations, nor nothing.
        let off = |m: &rehearsal::judge::Miss| m.error.abs() / m.sd;
        assert!(verdict.lineups.iter().all(|m| off(m) < 3.0 && off(m) > 0.0 && m.sd < 0.03), "{:?}", verdict.lineups);
        assert!(verdict.direction_rms().unwrap() > 0.3, "even this method reads the wind from boats");
    }
}

#[test]
fn each_mistake_is_seen() {
    let outing = outing(Kind::TwoBoats, 1);
    let right = told(&outing);
    let base = judge(&outing, &right);

    let mut missed = right.clone();
    let count = missed.boats[0].manoeuvres.len();
    missed.boats[0].manoeuvres.truncate(count / 2);
    assert!(judge(&outing, &missed).tacks.recall().unwrap() < 1.0);

    let mut invented = right.clone();
    let mut extra = invented.boats[1].manoeuvres[3];
    extra.time += 40.0;
    // Far from her own turns, so that it cannot pass for one of them.
    let free = |t: f64| outing.manoeuvres[1].iter().all(|m| (m.time - t).abs() > 12.0);
    while !free(extra.time) {
        extra.time += 5.0;
    }
    extra.turn = 95.0;
    invented.boats[1].manoeuvres.push(extra);
    let verdict = judge(&outing, &invented);
    assert!(verdict.tacks.said + verdict.gybes.said == base.tacks.said + base.gybes.said + 1);
    assert!(verdict.tacks.right + verdict.gybes.right == base.tacks.right + base.gybes.right);

    let mut backwards = right.clone();
    for w in &mut backwards.wind {
        w.direction = w.direction.map(|d| ((d.0 + 180.0).rem_euclid(360.0), d.1));
    }
    let verdict = judge(&outing, &backwards);
    assert!(verdict.direction_rms().unwrap() > 170.0 && coverage(&verdict.direction) == Some(0.0));

    let mut silent = right.clone();
    for w in &mut silent.wind {
        w.direction = None;
    }
    let verdict = judge(&outing, &silent);
    assert!(verdict.direction.is_empty() && verdict.direction_rms().is_none() && verdict.asked > 100);

    let mut stopped = right.clone();
    for leg in &mut stopped.boats[0].legs {
        leg.kind = LegKind::Stopped;
    }
    let verdict = judge(&outing, &stopped);
    assert!(verdict.legs.1 < verdict.legs.0 * 3 / 4);

    let mut fast = right.clone();
    for l in &mut fast.lineups {
        l.difference.0 += 0.05;
    }
    let faster = judge(&outing, &fast).lineups;
    assert!(faster.iter().zip(&base.lineups).all(|(f, b)| (f.error - b.error - 0.05).abs() < 1e-9) && !faster.is_empty());

    let mut late = right.clone();
    late.boats[0].starts.iter_mut().for_each(|t| *t += 8.0);
    late.boats[0].stops.clear();
    let verdict = judge(&outing, &late);
    assert!(verdict.starts == base.starts && verdict.start_times.iter().sum::<f64>() > base.start_times.iter().sum::<f64>() + 15.0);
    assert!(verdict.stops.recall() < base.stops.recall());

    let mut astray = right.clone();
    let mark = &outing.course_marks[0];
    astray.course_marks = vec![(mark.kind, [mark.x + 20.0, mark.y], 4.0)];
    let errors: Vec<f64> = judge(&outing, &astray).marks.iter().map(|m| m.error).collect();
    assert_eq!(errors, [20.0, 0.0]);

    let mut clocks = right;
    clocks.boats[0].clock_shift = Some(9.0);
    assert!(judge(&outing, &clocks).clocks.precision().unwrap() < 1.0, "a right clock was called wrong");
}

#[test]
fn the_ordinary_method_is_worse_than_a_constant_and_confident_on_a_reach() {
    let kinds = [Kind::Oscillating, Kind::Current, Kind::Light, Kind::Reaching];
    let plain = Tally::over(&kinds, 1..3, || true, ordinary);
    let floor = Tally::over(&kinds, 1..3, || true, told);
    assert_eq!(plain.outings.len(), 8);
    let ratio = |t: &Tally| t.outings.iter().filter(|o| o.0 != Kind::Reaching).filter_map(|o| o.2.direction_ratio()).collect::<Vec<f64>>();
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    assert!(mean(&ratio(&plain)) > 1.0 && mean(&ratio(&floor)) < 0.95, "{:?} {:?}", ratio(&plain), ratio(&floor));
    let reach = |t: &Tally| t.outings.iter().filter(|o| o.0 == Kind::Reaching).map(|o| o.2.direction.len()).sum::<usize>();
    assert!(reach(&plain) > 0 && reach(&floor) == 0);
    let text = floor.markdown("told", &[("ordinary", &plain)]);
    assert!(text.contains("| oscillating | 2 |") && text.contains("tacks: recall"));
}

#[test]
fn a_budget_stops_between_outings() {
    let mut left = 3;
    let tally = Tally::over(
        &[Kind::OneBoat, Kind::TwoBoats],
        1..100,
        || {
            left -= 1;
            left >= 0
        },
        told,
    );
    assert_eq!(tally.outings.len(), 3);
}
