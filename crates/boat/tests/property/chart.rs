//! A chart between its points, against solves of their own.

use super::band::{boat, request};
use boat::chart::Chart;
use boat::crew::Skill;
use boat::gauge::Gauge;
use boat::setup::Leg;
use measure::{Length, Speed, WindLaw};

/// Speed between points: straight lines on a curve that bends where hiking begins to bind.
const SPEED: f64 = 0.01;
/// Share of settings read from the chart that lie inside the band solved there, edges as the tape tells (a step's half).
const INSIDE: f64 = 0.85;

#[test]
fn between_its_points_a_chart_says_what_a_solve_says() {
    let boat = boat();
    let winds = [3.0, 4.5, 6.0].map(|w| WindLaw::Open.profile(Speed::metres_per_second(w), Length::metres(2.0)));
    let chart =
        Chart::solved(&request(&boat, 40.0, 5.0, true), Skill::Races, &[Leg::Beat, Leg::Run], &[38.0, 44.0], &winds, &|| true).unwrap();
    let (mut asked, mut inside) = (0, 0);
    for (mass, wind) in [(40.0, 3.7), (42.0, 5.3)] {
        for leg in [Leg::Beat, Leg::Run] {
            let read = chart.at(leg, mass, wind).unwrap();
            let solved = request(&boat, mass, wind, true).leg(leg, 0.0).unwrap();
            assert!(
                (read.made_good / solved.made_good - 1.0).abs() < SPEED,
                "{mass} {wind} {leg:?} {} {}",
                read.made_good,
                solved.made_good
            );
            for gauge in [Gauge::SailBoomGap, Gauge::CarOffset, Gauge::BoardAngle, Gauge::SeatPosition, Gauge::BoomEndDock] {
                let (Some(read), Some(solved)) = (read.setting(gauge), solved.setting(gauge)) else { continue };
                if leg == Leg::Run && gauge == Gauge::BoomEndDock {
                    continue;
                }
                asked += 1;
                let slack = 0.5 * solved.step;
                if read.value > solved.low - slack && read.value < solved.high + slack {
                    inside += 1;
                } else {
                    println!("{mass} {wind} {leg:?} {}: {} outside {} to {}", gauge.name(), read.value, solved.low, solved.high);
                }
            }
        }
    }
    assert!(f64::from(inside) >= INSIDE * f64::from(asked), "{inside} of {asked}");
    assert!(asked > 12, "only {asked} settings were asked");
}

#[test]
fn a_chart_is_cancelled_and_the_same_again() {
    let boat = boat();
    let winds = [4.0, 6.0].map(|w| WindLaw::Open.profile(Speed::metres_per_second(w), Length::metres(2.0)));
    let solve = |go: bool| Chart::solved(&request(&boat, 40.0, 5.0, true), Skill::Races, &[Leg::Beat], &[40.0], &winds, &|| go);
    assert!(solve(false).is_none());
    assert_eq!(solve(true), solve(true));
}

/// Settings read for a child of unusual stature by what she leans with, against solves of their own: the share that lies inside.
#[test]
fn a_tall_or_short_child_is_read_by_what_she_leans_with() {
    let boat = boat();
    let winds = [4.0, 5.5, 7.0].map(|w| WindLaw::Open.profile(Speed::metres_per_second(w), Length::metres(2.0)));
    let chart = Chart::solved(&request(&boat, 40.0, 5.0, true), Skill::Races, &[Leg::Beat], &[36.0, 42.0, 48.0], &winds, &|| true).unwrap();
    let (mut asked, mut inside) = (0, 0);
    for by in [-0.08, 0.08] {
        let mut request = request(&boat, 42.0, 5.5, true);
        request.sailor.stature += by;
        let as_usual = request.sailor.as_usual(&boat.constants);
        // Eight centimetres are worth about a kilogram and a half of leaning.
        assert!((as_usual - 42.0) * by > 0.0 && (as_usual - 42.0).abs() < 4.0, "{as_usual}");
        let read = chart.at(Leg::Beat, as_usual, 5.5).unwrap();
        let solved = request.leg(Leg::Beat, 0.0).unwrap();
        for gauge in [Gauge::SailBoomGap, Gauge::CarOffset, Gauge::BoardAngle, Gauge::SeatPosition, Gauge::BoomEndDock, Gauge::VangLine] {
            let (Some(read), Some(solved)) = (read.setting(gauge), solved.setting(gauge)) else { continue };
            asked += 1;
            let slack = 0.5 * solved.step;
            inside += i32::from(read.value > solved.low - slack && read.value < solved.high + slack);
        }
    }
    assert!(f64::from(inside) >= INSIDE * f64::from(asked) && asked == 12, "{inside} of {asked}");
}
