//! How fast the boat is solved and set up. Budgets on one core: a warm balance 100 microseconds, an optimum in one wind 15 ms,
//! averaged over gusts 80 ms, a turn in time 20 ms, the hands' plan round a mark 1 s.

use boat::Constants;
use boat::balance::{Boat, Case, Conditions, Controls, Tack};
use boat::class::Class;
use boat::crew::{Sailor, Skill};
use boat::handling::{Mark, handling};
use boat::sail::Guard;
use boat::setup::{Leg, Request};
use boat::turn::{Crewed, Manoeuvre};
use divan::{Bencher, black_box};
use measure::angle::DEGREE;
use measure::fluid::air;
use measure::{Length, Outcome, Speed, Temperature, Water, WindLaw};

fn main() {
    divan::main();
}

fn pram() -> Boat {
    Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard())
}

fn conditions(wind: f64) -> Conditions {
    let wind = WindLaw::Open.profile(Speed::metres_per_second(wind), Length::metres(2.0));
    Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard }
}

fn case(boat: &Boat) -> Case<'_> {
    Case { boat, sailor: Sailor::of(45.0, Skill::Races), conditions: conditions(5.0) }
}

const CLOSE_HAULED: Controls = [47.0 * DEGREE, 9.0 * DEGREE, 0.08, 0.14, 80.0, 50.0, DEGREE, 3.0 * DEGREE, 0.85, 0.0, 0.0, 0.0];

#[divan::bench]
fn forces_once(bencher: Bencher<'_, '_>) {
    let boat = pram();
    let case = case(&boat);
    let Outcome::Solved((state, _)) = case.solve(&CLOSE_HAULED, None) else { return };
    let x = core::array::from_fn(|k| state.0[k]);
    bencher.bench(|| case.whole::<f64>(black_box(&CLOSE_HAULED), &x, Guard::Off));
}

#[divan::bench]
fn balance_cold(bencher: Bencher<'_, '_>) {
    let boat = pram();
    let case = case(&boat);
    bencher.bench(|| case.solve(black_box(&CLOSE_HAULED), None));
}

/// Each solve moves every control by a few per cent of its usual range, as a slider or a search does.
#[divan::bench]
fn balance_warm(bencher: Bencher<'_, '_>) {
    let boat = pram();
    let case = case(&boat);
    let Outcome::Solved((state, _)) = case.solve(&CLOSE_HAULED, None) else { return };
    let near: Controls = core::array::from_fn(|k| CLOSE_HAULED[k] * 1.02);
    bencher.bench(|| case.solve(black_box(&near), Some(&state)));
}

/// The same from a state that has its slopes at hand.
#[divan::bench]
fn balance_from_near(bencher: Bencher<'_, '_>) {
    let boat = pram();
    let case = case(&boat);
    let Outcome::Solved((state, whole)) = case.solve(&CLOSE_HAULED, None) else { return };
    let Some(near) = case.near(&CLOSE_HAULED, &state, whole) else { return };
    let moved: Controls = core::array::from_fn(|k| CLOSE_HAULED[k] * 1.02);
    bencher.bench(|| case.solve_from(&near, black_box(&moved)));
}

#[divan::bench]
fn slopes(bencher: Bencher<'_, '_>) {
    let boat = pram();
    let case = case(&boat);
    let Outcome::Solved((state, _)) = case.solve(&CLOSE_HAULED, None) else { return };
    bencher.bench(|| case.slopes(black_box(&CLOSE_HAULED), &state));
}

fn request(boat: &Boat, gusts: f64, bands: bool) -> Request<'_> {
    Request { boat, sailor: Sailor::of(45.0, Skill::Races), conditions: conditions(5.0), gusts, reach: None, bands }
}

#[divan::bench(sample_count = 10, args = [1.0, 1.3])]
fn beat(bencher: Bencher<'_, '_>, gusts: f64) {
    let boat = pram();
    bencher.bench(|| request(&boat, gusts, false).leg(Leg::Beat, 0.0));
}

#[divan::bench(sample_count = 10)]
fn beat_with_bands(bencher: Bencher<'_, '_>) {
    let boat = pram();
    bencher.bench(|| request(&boat, 1.3, true).leg(Leg::Beat, 0.0));
}

#[divan::bench(sample_count = 10)]
fn run_with_bands(bencher: Bencher<'_, '_>) {
    let boat = pram();
    bencher.bench(|| request(&boat, 1.3, true).leg(Leg::Run, 0.0));
}

#[divan::bench(sample_count = 10, args = Manoeuvre::ALL)]
fn turn_in_time(bencher: Bencher<'_, '_>, manoeuvre: Manoeuvre) {
    let boat = pram();
    let Ok(crewed) = Crewed::of(&request(&boat, 1.0, false)) else { return };
    bencher.bench(|| crewed.sail_round(manoeuvre));
}

#[divan::bench(sample_count = 10)]
fn turning_table(bencher: Bencher<'_, '_>) {
    let boat = pram();
    let Ok(crewed) = Crewed::of(&request(&boat, 1.0, false)) else { return };
    bencher.bench(|| crewed.quarter_turns());
}

#[divan::bench(sample_count = 5, args = [Mark::Windward, Mark::Leeward])]
fn hands_round_a_mark(bencher: Bencher<'_, '_>, mark: Mark) {
    let boat = pram();
    let Ok(crewed) = Crewed::of(&request(&boat, 1.0, false)) else { return };
    bencher.bench(|| handling(&crewed, mark));
}
