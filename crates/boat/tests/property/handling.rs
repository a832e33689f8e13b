//! Order and times of hands round a mark: against every order and every time on a grid, and what must hold whatever the numbers are.

use super::turn::{boat, crewed_by};
use boat::balance::Control;
use boat::class::Class;
use boat::crew::Skill;
use boat::handling::{Handling, Mark, Movement, handling, movements};

/// Metres by which the best on a grid of [`GRID`] seconds may differ.
const BRUTE: f64 = 0.2;
/// Tenths of a second, over half a minute: [`TICKS`] of them, the mark in the middle.
const GRID: f64 = 0.1;
const TICKS: usize = 600;

fn lost(plan: &Handling) -> f64 {
    plan.steps.iter().map(|s| s.movement.lost(s.begins)).sum()
}

/// The least loss of all orders and all times on the grid, with waits between movements: by which are done, and when hands are free.
fn every_order_and_time(movements: &[Movement]) -> f64 {
    let sets = 1 << movements.len();
    let mut least = vec![vec![f64::INFINITY; TICKS + 1]; sets];
    least[0] = vec![0.0; TICKS + 1];
    for done in 0..sets {
        for tick in 0..=TICKS {
            if tick > 0 {
                least[done][tick] = least[done][tick].min(least[done][tick - 1]);
            }
            for (k, m) in movements.iter().enumerate().filter(|(k, _)| done & (1 << k) == 0) {
                let free = tick + (m.lasts / GRID).ceil() as usize;
                if free <= TICKS {
                    let begins = (tick as f64 - 0.5 * TICKS as f64) * GRID;
                    let now = least[done][tick] + m.lost(begins);
                    let slot = &mut least[done | (1 << k)][free];
                    *slot = slot.min(now);
                }
            }
        }
    }
    least[sets - 1][TICKS]
}

#[test]
fn no_order_and_no_times_on_a_grid_lose_less() {
    let boat = boat(&Class::pram());
    for (wind, skill) in [(4.0, Skill::FirstSeason), (7.0, Skill::Races)] {
        let crewed = crewed_by(&boat, wind, skill);
        for mark in [Mark::Windward, Mark::Leeward] {
            let plan = handling(&crewed, mark).unwrap();
            assert!(!plan.blow);
            let made_good = plan.metres_lost / lost(&plan).max(1e-9);
            let tried = every_order_and_time(&movements(&crewed, mark));
            let (exact, grid) = (plan.metres_lost, made_good * tried);
            assert!(exact <= grid + 1e-3 && grid - exact < BRUTE, "{wind} m/s, {mark:?}: {exact} {grid}");
        }
    }
}

#[test]
fn slower_hands_lose_more() {
    let boat = boat(&Class::pram());
    for mark in [Mark::Windward, Mark::Leeward] {
        let plans = [Skill::FirstSeason, Skill::RacesInAnyWind].map(|skill| {
            let mut crewed = crewed_by(&boat, 5.0, Skill::Races);
            crewed.request.sailor.skill = skill;
            handling(&crewed, mark).unwrap()
        });
        assert!(
            plans[0].metres_lost > plans[1].metres_lost && plans[1].metres_lost > 0.0,
            "{mark:?}: {} {}",
            plans[0].metres_lost,
            plans[1].metres_lost
        );
    }
}

#[test]
fn hands_do_one_thing_at_a_time_and_every_step_stands_where_it_costs_least() {
    let boat = boat(&Class::pram());
    let plan = handling(&crewed_by(&boat, 4.0, Skill::Races), Mark::Leeward).unwrap();
    for pair in plan.steps.windows(2) {
        assert!(pair[1].begins >= pair[0].begins + pair[0].movement.lasts - 1e-9);
    }
    assert!(plan.steps.iter().all(|s| s.lengths.signum() == -s.begins.signum()));
    // A beat without a board is no beat: it is down before the course mark, and late costs more than early.
    let board = plan.steps.iter().find(|s| s.movement.control == Control::Board).unwrap();
    assert!(board.begins + board.movement.lasts < 0.5 && board.later > board.earlier, "{board:?}");
}

/// The vang off before anything else and before the course mark, in a blow and only then, whatever the metres.
#[test]
fn in_a_blow_the_vang_comes_off_first() {
    let boat = boat(&Class::pram());
    let plan = handling(&crewed_by(&boat, 9.0, Skill::Races), Mark::Windward).unwrap();
    assert!(plan.blow);
    let first = plan.steps[0];
    assert!(
        first.movement.control == Control::Vang && first.movement.to == 0.0 && first.begins + first.movement.lasts <= 1e-9,
        "{first:?}"
    );
    assert!(!handling(&crewed_by(&boat, 4.0, Skill::Races), Mark::Windward).unwrap().blow);
}
