//! What each sailor is told to do: the day's programme as a list of tasks per boat.

use crate::chance::Chance;
use crate::kind::{Programme, Setting};

/// Which way a course mark turns the fleet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// From a beat to a reach or a run.
    Windward,
    /// From a run or reach to a beat.
    Leeward,
    /// Between two reaches, or a turning point that is neither.
    Wing,
}

/// A buoy that was really there.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseMark {
    /// What the coach calls it.
    pub name: String,
    /// Which way it turns the fleet.
    pub kind: MarkKind,
    /// East of the outing's origin, m.
    pub x: f64,
    /// North of the outing's origin, m.
    pub y: f64,
}

/// One thing a helm does.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Task {
    /// Sail to a place, beating or running where it must be; passes a course mark on the way if it names one.
    Go { to: [f64; 2], mark: Option<usize> },
    /// Wait there until then.
    Hold { at: [f64; 2], until: f64 },
    /// Sail close-hauled on one tack (+1 starboard) until then; `pass` numbers a line-up.
    Beat { tack: f64, until: f64, pass: Option<usize> },
    /// Be towed in file to a place from a time on; the slot counts from the tow's bow.
    Tow { from: [f64; 2], to: [f64; 2], at: f64, slot: usize },
}

/// A pass as the coach meant it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pass {
    pub(crate) boats: (usize, usize),
    pub(crate) start: f64,
    pub(crate) end: f64,
    /// Which boat carries the setting under trial.
    pub(crate) carries: Option<usize>,
}

/// The plan of an outing.
#[derive(Debug)]
pub(crate) struct Plan {
    pub(crate) marks: Vec<CourseMark>,
    pub(crate) tasks: Vec<Vec<Task>>,
    pub(crate) passes: Vec<Pass>,
    pub(crate) harbour: [f64; 2],
}

/// Places by metres upwind and to the right of the start.
struct Water {
    up: [f64; 2],
    right: [f64; 2],
}

impl Water {
    fn at(&self, up: f64, right: f64) -> [f64; 2] {
        [self.up[0] * up + self.right[0] * right, self.up[1] * up + self.right[1] * right]
    }
}

/// Metres from the start line to the leeward course mark, upwind.
const LINE_TO_LEEWARD: f64 = 25.0;

pub(crate) fn plan(setting: &Setting, mean: f64, chance: &mut Chance) -> Plan {
    let axis = mean + chance.normal(0.0, 0.07);
    let water = Water { up: [axis.sin(), axis.cos()], right: [axis.cos(), -axis.sin()] };
    // A beat takes a child about five minutes in any wind.
    let length = 260.0 * (1.0 - (-setting.weather.speed / 3.0).exp()) + 40.0;
    let buoy = |name: &str, kind, place: [f64; 2]| CourseMark { name: name.to_owned(), kind, x: place[0], y: place[1] };
    let marks = match setting.programme {
        Programme::Reaching => {
            vec![buoy("east", MarkKind::Wing, water.at(0.0, 170.0)), buoy("west", MarkKind::Wing, water.at(0.0, -170.0))]
        }
        _ => vec![
            buoy("windward", MarkKind::Windward, water.at(LINE_TO_LEEWARD + length, 0.0)),
            buoy("leeward", MarkKind::Leeward, water.at(LINE_TO_LEEWARD, 0.0)),
            buoy("wing", MarkKind::Wing, water.at(LINE_TO_LEEWARD + 0.55 * length, -0.55 * length)),
        ],
    };
    let shore = if chance.happens(0.5) { 1.0 } else { -1.0 };
    let harbour = water.at(chance.between(-90.0, 0.0), shore * chance.between(300.0, 420.0));
    let mut passes = Vec::new();
    let mut tasks: Vec<Vec<Task>> = Vec::new();
    for boat in 0..setting.boats {
        let mut list = Vec::new();
        let lane = 12.0 * boat as f64 - 6.0 * setting.boats as f64;
        list.push(Task::Go { to: water.at(-10.0, lane), mark: None });
        match setting.programme {
            Programme::Full => full(&mut list, boat, lane, setting, &water, length, &mut passes, chance),
            Programme::Reaching => reaching(&mut list, &marks, &water, chance),
            Programme::Starts => starts(&mut list, lane, 420.0, setting.seconds as f64 - 400.0, 190.0, &water, chance),
            Programme::LineUps => {
                line_ups(&mut list, boat, setting.boats, 480.0, 12, true, &water, &mut passes);
            }
        }
        if setting.towed {
            let gather = water.at(0.0, 0.0);
            let at = setting.seconds as f64 - 420.0;
            list.retain(|t| !matches!(t, Task::Hold { until, .. } if *until > at));
            list.push(Task::Hold { at: water.at(-15.0, lane), until: at });
            list.push(Task::Tow { from: gather, to: harbour, at, slot: boat });
        } else {
            list.push(Task::Go { to: harbour, mark: None });
        }
        list.push(Task::Hold { at: harbour, until: f64::MAX });
        tasks.push(list);
    }
    Plan { marks, tasks, passes, harbour }
}

#[expect(clippy::too_many_arguments, reason = "one call; a struct would only repeat the names")]
fn full(
    list: &mut Vec<Task>,
    boat: usize,
    lane: f64,
    setting: &Setting,
    water: &Water,
    length: f64,
    passes: &mut Vec<Pass>,
    chance: &mut Chance,
) {
    starts(list, lane, 420.0, 800.0, 190.0, water, chance);
    line_ups(list, boat, setting.boats, 860.0, 2, false, water, passes);
    let stop = if setting.second_world { 240.0 } else { 0.0 };
    for gun in [1860.0, 3500.0 + stop] {
        list.push(Task::Hold { at: water.at(-4.0, lane), until: gun + chance.normal(1.0, 2.0) });
        for lap in 0..2 {
            list.push(Task::Go { to: water.at(LINE_TO_LEEWARD + length, 4.0 + chance.normal(0.0, 1.2).max(-2.5)), mark: Some(0) });
            if lap == 0 && gun > 3000.0 {
                list.push(Task::Go { to: water.at(LINE_TO_LEEWARD + 0.55 * length, -0.55 * length - 3.0), mark: Some(2) });
            }
            list.push(Task::Go { to: water.at(LINE_TO_LEEWARD, -4.5 + chance.normal(0.0, 1.5).min(3.0)), mark: Some(1) });
        }
        list.push(Task::Go { to: water.at(LINE_TO_LEEWARD + 0.4 * length, 10.0 + lane * 0.4), mark: None });
        list.push(Task::Go { to: water.at(-10.0, lane), mark: None });
    }
}

fn reaching(list: &mut Vec<Task>, marks: &[CourseMark], water: &Water, chance: &mut Chance) {
    for lap in 0..9 {
        for (i, mark) in marks.iter().enumerate() {
            // Each leg a little broader than the last was close, so that nobody ever has to beat.
            let nudge = water.at(chance.normal(if lap % 2 == 0 { 14.0 } else { -14.0 }, 6.0), 0.0);
            list.push(Task::Go { to: [mark.x + nudge[0], mark.y + nudge[1]], mark: Some(i) });
        }
    }
}

fn starts(list: &mut Vec<Task>, lane: f64, first: f64, last: f64, every: f64, water: &Water, chance: &mut Chance) {
    let mut gun = first;
    while gun <= last {
        let tack = if chance.happens(0.85) { 1.0 } else { -1.0 };
        list.push(Task::Hold { at: water.at(-4.0, lane), until: gun + chance.normal(1.0, 2.0) });
        list.push(Task::Beat { tack, until: gun + chance.between(35.0, 55.0), pass: None });
        list.push(Task::Beat { tack: -tack, until: gun + chance.between(70.0, 90.0), pass: None });
        list.push(Task::Go { to: water.at(-8.0, lane), mark: None });
        gun += every;
    }
}

/// Seconds between the starts of two passes, and how long a pass lasts.
const PASS_EVERY: f64 = 440.0;
const PASS_LASTS: f64 = 200.0;

#[expect(clippy::too_many_arguments, reason = "one call; a struct would only repeat the names")]
fn line_ups(list: &mut Vec<Task>, boat: usize, boats: usize, first: f64, count: usize, trial: bool, water: &Water, passes: &mut Vec<Pass>) {
    let partner = boat ^ 1;
    if partner >= boats {
        return;
    }
    let pair = boat / 2;
    for k in 0..count {
        let start = first + PASS_EVERY * k as f64 + 7.0 * pair as f64;
        let tack = if k.is_multiple_of(2) { 1.0 } else { -1.0 };
        // The pair lies abreast of its course; who is to windward changes every second pass.
        let place = if boat.is_multiple_of(2) == (k / 2).is_multiple_of(2) { 7.0 } else { -7.0 };
        let at = water.at(-20.0 + place * 0.7, 60.0 * pair as f64 - 60.0 + tack * 60.0 + tack * place * 0.7);
        list.push(Task::Hold { at, until: start });
        let number = if boat.is_multiple_of(2) {
            passes.push(Pass {
                boats: (boat, partner),
                start,
                end: start + PASS_LASTS,
                carries: trial.then_some(if k / 2 % 2 == (k % 2) { boat } else { partner }),
            });
            passes.len() - 1
        } else {
            passes.iter().position(|p| p.boats == (partner, boat) && p.start == start).unwrap_or(0)
        };
        list.push(Task::Beat { tack, until: start + PASS_LASTS, pass: Some(number) });
        list.push(Task::Go { to: water.at(-30.0, 60.0 * pair as f64 - 60.0 - tack * 60.0), mark: None });
    }
}
