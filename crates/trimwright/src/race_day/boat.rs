//! The boat of a race day: a class solved for its sailor in this wind, or a polar somebody made.

use anyhow::{Context, Result, bail};
use boat::balance::{Tack, Whole};
use boat::crew::Sailor;
use boat::polar::polar;
use boat::setup::{Leg, Request};
use boat::turn::QuarterTurn;
use measure::angle::DEGREE;
use measure::quantity::KNOT;
use measure::{Angle, Polar, Speed, Warning};
use regatta::rounding::{Turn, TurningTable};
use regatta::sailing::{Day, Sailing, Stuck};
use regatta::start::Getaway;

use super::control::Hands;

/// Courses solved for the polar, degrees.
const ANGLES: [f64; 15] = [38.0, 42.0, 46.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 120.0, 135.0, 150.0, 165.0, 178.0];
/// How many courses [`RaceBoat::solved`] solves: as often it calls its `step`.
pub const COURSES: usize = ANGLES.len();
/// Leeway of a boat of whom only a polar is known, degrees. Assumed.
const LEEWAY: f64 = 4.0;
/// Seconds from lying still to nine tenths of her speed, where nobody timed it. Assumed.
const TO_SPEED: f64 = 9.0;
/// Water dragged along when she gathers way, over her mass. Assumed: a slender body end on has 0.03 to 0.08.
const DRAGGED: f64 = 1.05;
/// A polar used beyond its winds by more than this share is told.
const BEYOND: f64 = 1.1;

/// The boat, read.
#[derive(Debug, Clone)]
pub struct RaceBoat {
    /// What she is.
    pub name: String,
    /// Her speeds.
    pub polar: Polar,
    /// Her length, m.
    pub length: f64,
    /// Between heading and track on a beat, rad.
    pub leeway: f64,
    /// From lying still on a beat.
    pub getaway: Getaway,
    /// How she turns.
    pub turning: TurningTable,
    /// What her speeds rest on.
    pub rests_on: &'static str,
    /// What her turning rests on.
    pub turns_by: &'static str,
    /// When her sailor's hands do what round a course mark; none where only a polar is known.
    pub hands: Option<Hands>,
}

/// What was timed or measured afloat.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Timed {
    /// Leeway on a beat, rad.
    pub leeway: Option<f64>,
    /// Seconds from lying still to nine tenths of full speed on a beat.
    pub to_speed: Option<f64>,
}

/// A class's boat with her sailor, in the wind that boats feel.
#[derive(Debug, Clone, Copy)]
pub struct Crewed<'a> {
    /// What she is called.
    pub name: &'a str,
    /// The boat.
    pub boat: &'a boat::balance::Boat,
    /// Who sails her.
    pub sailor: Sailor,
    /// Water and chop; its wind is that over the water at 2 m ([`felt`]).
    pub weather: &'a crate::day::Day,
}

/// The wind over the water at 2 m, m/s.
///
/// # Errors
/// A current as strong as the wind.
pub fn felt(day: &Day) -> Result<f64, Stuck> {
    // Any polar serves to tell it.
    Ok(Sailing::of(&Polar::by_rule(&[1.0], |_, _| 1.0), day)?.wind())
}

impl RaceBoat {
    /// A boat of whom a polar and her length (m) are known.
    ///
    /// # Errors
    /// Why there is no sailing in this wind and current.
    pub fn of_polar(polar: Polar, length: f64, day: &Day, timed: Timed, warnings: &mut Vec<Warning>) -> Result<Self, Stuck> {
        let sailing = Sailing::of(&polar, day)?;
        let winds = polar.winds();
        if let (Some(low), Some(high)) = (winds.first(), winds.last())
            && (sailing.wind() * BEYOND < *low || sailing.wind() > high * BEYOND)
        {
            let what = format!(
                "the boats feel {:.1} knots at 2 m, and it holds {:.1} to {:.1}; times are a guess",
                sailing.wind() / KNOT,
                low / KNOT,
                high / KNOT
            );
            warnings.push(Warning::new("the polar", what));
        }
        let speed = beat_speed(&sailing);
        Ok(Self {
            name: "the polar's boat".to_owned(),
            polar,
            length,
            leeway: timed.leeway.unwrap_or(LEEWAY * DEGREE),
            getaway: Getaway { speed, to_nine_tenths: timed.to_speed.unwrap_or(TO_SPEED) },
            turning: TurningTable::assumed(),
            rests_on: "the polar given",
            turns_by: "assumed",
            hands: None,
        })
    }

    /// A class's boat solved for her sailor. `step` is told each course solved and answers whether to go on.
    ///
    /// # Errors
    /// Stopped, or no state in this wind with this sailor.
    pub fn solved(crewed: &Crewed<'_>, day: &Day, timed: Timed, step: &(impl Fn() -> bool + Sync)) -> Result<Self> {
        let Crewed { name, boat, sailor, weather } = *crewed;
        let felt = weather.given;
        let conditions = weather.conditions(1.0, Tack::Starboard);
        let request = Request { boat, sailor, conditions, gusts: 1.0, reach: None, bands: false };
        let solved = polar(&request, &[conditions.wind], &ANGLES.map(|a| a * DEGREE), step).context("stopped")?;
        let best =
            solved.best.iter().filter_map(|b| b.found.ok().map(|(angle, good)| (felt, angle / DEGREE, good.abs() / angle.cos().abs())));
        let rows: Vec<_> =
            solved.courses.iter().filter_map(|c| c.speed.ok().map(|speed| (felt, c.angle / DEGREE, speed))).chain(best).collect();
        let Some(table) = Polar::rows(&rows) else {
            bail!("{name}: in {:.1} knots at 2 m no course has a state with this sailor; try another wind", felt / KNOT);
        };
        let speed = match Sailing::of(&table, day) {
            Ok(sailing) => beat_speed(&sailing),
            Err(stuck) => bail!("wind and current: {}", stuck.words()),
        };
        let beat = request.leg(Leg::Beat, 0.0);
        let whole = beat.as_ref().ok().map(|beat| &beat.mean().whole);
        let leeway = timed.leeway.or(whole.map(|w| w.leeway.abs())).unwrap_or(LEEWAY * DEGREE);
        let getaway = match (timed.to_speed, whole) {
            (None, Some(w)) => gathers(w, speed),
            (to_speed, _) => Getaway { speed, to_nine_tenths: to_speed.unwrap_or(TO_SPEED) },
        };
        let hands = Hands::of(&request, beat);
        let own = hands.quarter_turns.as_ref().and_then(|turns| turning(turns));
        let (turning, turns_by) = own.map_or_else(|| (TurningTable::assumed(), "assumed"), |own| (own, "the model's, never timed"));
        let length = boat.class.hull.length;
        let (name, rests_on, hands) = (name.to_owned(), "the model", Some(hands));
        Ok(Self { name, polar: table, length, leeway, getaway, turning, rests_on, turns_by, hands })
    }
}

/// How she turns, from quarter turns solved; `None` where there is none that came round.
#[must_use]
pub fn turning(turns: &[QuarterTurn]) -> Option<TurningTable> {
    let turns: Vec<Turn> = turns.iter().map(|t| Turn { speed_in: t.speed_in, rate: t.rate, speed_lost: t.speed_lost }).collect();
    TurningTable::of(&turns).ok()
}

/// How she gathers way, from her state on a beat.
#[must_use]
pub fn getaway(beat: &Whole<f64>) -> Getaway {
    gathers(beat, beat.speed)
}

/// What drives her steadily is what drove her all the way: at rest the wind is further aft and the board slips, one against the other.
fn gathers(beat: &Whole<f64>, speed: f64) -> Getaway {
    Getaway::of(DRAGGED * beat.mass, speed, beat.sail.load.force[0])
}

/// Speed through the water on the best beat, or on a reach where there is none, m/s.
fn beat_speed(sailing: &Sailing) -> f64 {
    let reach = sailing.speed(sailing.wind_from() + Angle::degrees(90.0));
    sailing.beat().map_or(reach, |[port, _]| Speed::metres_per_second(port.water[0].hypot(port.water[1])).si()).max(0.05)
}
