//! Speed by angle and wind: every course sailed at its best setting in a steady wind.
//!
//! Each course is a search of its own, from the course before it and, where a sail may draw or be stalled, from both; the faster counts.

use crate::balance::{Control, Status};
use crate::setup::{Leg, LegSetup, Request};
use measure::WindProfile;
use rayon::prelude::*;

/// One course in one wind.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Wind at 2 m, m/s.
    pub wind: f64,
    /// Wind angle to the track, rad.
    pub angle: f64,
    /// Speed along the track, m/s, or why there is none.
    pub speed: Result<f64, Status>,
}

/// The best course upwind or downwind in one wind.
#[derive(Debug, Clone, PartialEq)]
pub struct Best {
    /// Wind at 2 m, m/s.
    pub wind: f64,
    /// Beat or run.
    pub leg: Leg,
    /// Wind angle to the track, rad, and speed made good, m/s; or why there is none.
    pub found: Result<(f64, f64), Status>,
}

/// A table of speeds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Polar {
    /// By wind, then by angle.
    pub courses: Vec<Course>,
    /// Beat and run of each wind.
    pub best: Vec<Best>,
}

/// The polar of a boat and sailor in some winds on some courses (rad, rising). `step` is told each course solved and answers whether to go on;
/// `None` when it says no.
pub fn polar(request: &Request<'_>, winds: &[WindProfile], angles: &[f64], step: &(impl Fn() -> bool + Sync)) -> Option<Polar> {
    let one = |wind: &WindProfile| -> Option<(Vec<Course>, Vec<Best>)> {
        let mut request = Request { gusts: 1.0, bands: false, ..*request };
        request.conditions.wind = *wind;
        let at = wind.at_meter;
        let beat = request.leg(Leg::Beat, 0.0);
        let rake = beat.as_ref().map_or(0.0, |b| b.mean().controls[Control::Rake.index()]);
        let run = request.leg(Leg::Run, rake);
        let best = |leg, s: &Result<LegSetup, Status>| {
            let found = s.as_ref().map(|s| (s.mean().controls[Control::WindAngle.index()], s.made_good)).map_err(|e| *e);
            Best { wind: at, leg, found }
        };
        let mut best = vec![best(Leg::Beat, &beat), best(Leg::Run, &run)];
        let mut courses = Vec::with_capacity(angles.len());
        let mut last: Option<LegSetup> = None;
        for angle in angles {
            request.reach = Some(*angle);
            let cold = request.leg(Leg::Reach, rake);
            let warm = last.as_ref().and_then(|l| request.leg_near(Leg::Reach, rake, Some(l)).ok());
            let setup = match (cold, warm) {
                (Ok(c), Some(w)) => Ok(if w.made_good > c.made_good { w } else { c }),
                (Err(_), Some(w)) => Ok(w),
                (c, None) => c,
            };
            courses.push(Course { wind: at, angle: *angle, speed: setup.as_ref().map(|s| s.made_good).map_err(|e| *e) });
            last = setup.ok();
            if !step() {
                return None;
            }
        }
        // A leg's setup keeps to common practice where the table does not; the best course is no worse than the table's own.
        for (leg, way) in best.iter_mut().zip([1.0, -1.0]) {
            for course in &courses {
                let good = course.speed.map_or(f64::NEG_INFINITY, |v| way * v * course.angle.cos());
                if leg.found.map_or(good > 0.0, |(_, made)| good > made.abs()) {
                    leg.found = Ok((course.angle, good));
                }
            }
        }
        Some((courses, best))
    };
    let solved: Option<Vec<_>> = winds.par_iter().map(one).collect();
    let mut polar = Polar::default();
    for (courses, best) in solved? {
        polar.courses.extend(courses);
        polar.best.extend(best);
    }
    Some(polar)
}
