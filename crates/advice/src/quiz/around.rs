//! Ways round the leeward course mark, from a run to a beat, as they are solved for this boat and sailor: what the common mistakes lose
//! on the best, and the paths to draw.
//!
//! The best path is that of [`regatta::rounding`], with the solved speeds from beat to run, the settings of the beat kept and the sheet eased, and with the solved quarter turns. How much a turn
//! takes off her speed was never timed: the doubt is what half and twice of it say.

use boat::balance::Control;
use boat::setup::{Leg, LegSetup, Request};
use boat::turn::Crewed;
use measure::angle::DEGREE;
use measure::{Bearing, Polar, Speed};
use rayon::prelude::*;
use regatta::course::Side;
use regatta::rounding::{Rounded, Rounding, Turn, TurningTable};
use regatta::sailing::{Day, Sailing};
use regatta::start::Getaway;

use super::curve::Cost;

/// Courses whose speeds are solved, degrees off the wind; those of beat and run come beside them.
const COURSES: [f64; 5] = [60.0, 80.0, 105.0, 130.0, 150.0];
/// Shares of the solved loss of a turn that it may be, itself among them.
const DOUBTED: [f64; 3] = [0.5, 1.0, 2.0];
/// How near her middle comes to a course mark, m, and where paths are compared, m along the way out: as on Race day. Assumed.
const CLEARANCE: f64 = 1.0;
const FINISH: f64 = 100.0;
/// Water dragged along when she gathers way, over her mass: as on Race day. Assumed.
const DRAGGED: f64 = 1.05;

/// A way round: boat lengths to the right and up from the course mark, the wind from above.
pub type Way = Vec<[f64; 2]>;

/// The best way round the leeward mark and two mistakes.
#[derive(Debug, Clone, PartialEq)]
pub struct Around {
    /// Close in, wide out: what it loses, boat lengths.
    pub tight_in: Cost,
    /// The turn begun a length late, so wide out: what it loses, boat lengths.
    pub late: Cost,
    /// The best way, close in and wide out, wide all the way.
    pub ways: [Way; 3],
}

impl Around {
    /// Solves it; `None` where the model has no run, no turn or no way round in this wind.
    #[must_use]
    pub fn solved(request: &Request<'_>, beat: &LegSetup) -> Option<Self> {
        let steady = Request { gusts: 1.0, bands: false, reach: None, ..*request };
        let boat = request.boat;
        let length = boat.class.hull.length;
        let wind = request.conditions.wind;
        let mean = beat.mean();
        // From the beat round to the run with the settings of the beat, the sheet alone eased: as she is sailed at a course mark.
        let mut near = mean.clone();
        let mut rows = Vec::new();
        let mut row = |angle: f64, speed: f64| rows.push((wind.at_meter, angle / DEGREE, speed));
        row(mean.controls[Control::WindAngle.index()], mean.whole.speed);
        for angle in COURSES {
            let reach = Request { reach: Some(angle * DEGREE), ..steady };
            near = reach.trimmed(Leg::Reach, &mean.controls, Some(&near)).ok()?.0;
            row(angle * DEGREE, near.whole.speed);
        }
        let run = steady.trimmed(Leg::Run, &mean.controls, Some(&near)).ok()?.0;
        row(run.controls[Control::WindAngle.index()], run.whole.speed);
        let speeds = Polar::rows(&rows)?;
        let still = Speed::metres_per_second(0.0);
        let north = Bearing::radians_true(0.0);
        let day = Day { wind_from: north, wind: Speed::metres_per_second(wind.at_meter), current_toward: north, current: still };
        let sailing = Sailing::of(&speeds, &day).ok()?;
        let crewed = Crewed::with(&steady, [mean, &run]).ok()?;
        let turns = crewed.quarter_turns().into_iter().map(|t| Turn { speed_in: t.speed_in, rate: t.rate, speed_lost: t.speed_lost });
        let turning = TurningTable::of(&turns.collect::<Vec<_>>()).ok()?;
        let settle = 0.5 * Getaway::of(DRAGGED * mean.whole.mass, mean.whole.speed, mean.whole.sail.load.force[0]).constant();
        let rounded = |table: &TurningTable| -> Option<Rounded> {
            let asked = |approach: Bearing, exit: Bearing| Rounding {
                sailing: &sailing,
                table,
                side: Side::Port,
                approach,
                exit,
                boat: length,
                clearance: CLEARANCE.max(0.4 * length),
                settle,
                finish: FINISH,
            };
            // Of the gybes and tacks she may come and go on, the pair that turns least.
            let (runs, beats) = (sailing.run()?, sailing.beat()?);
            let pairs = runs.iter().flat_map(|run| beats.iter().map(|beat| (run.course(), beat.course())));
            let turn = |(a, b): &(Bearing, Bearing)| (a.in_radians() - b.in_radians()).rem_euclid(core::f64::consts::TAU);
            let possible = pairs.filter(|(a, b)| asked(*a, *b).turns().is_ok());
            let (approach, exit) = possible.min_by(|a, b| turn(a).total_cmp(&turn(b)))?;
            asked(approach, exit).best().ok()
        };
        let scaled: Option<Vec<Rounded>> = DOUBTED.par_iter().map(|by| rounded(&turning.scaled(*by))).collect();
        let all = scaled?;
        let best = all.get(DOUBTED.iter().position(|by| *by == 1.0)?)?;
        let cost = |behind: fn(&Rounded) -> f64| {
            let value = behind(best) / length;
            let (low, high) = all.iter().map(|o| behind(o) / length).fold((value, value), |(l, h), v| (l.min(v), h.max(v)));
            Cost { low, value, high }
        };
        let ways =
            [&best.best, &best.tight_in.path, &best.late.path].map(|path| path.points.iter().map(|p| p.map(|m| m / length)).collect());
        Some(Self { tight_in: cost(|r| r.tight_in.behind), late: cost(|r| r.late.behind), ways })
    }

    /// Whether the best beats both mistakes clearly.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.tight_in.is_clear() && self.late.is_clear()
    }
}
