//! What a race day comes to: every leg's way, the start, laylines and roundings, as plain values of the domain.

use measure::angle::DEGREE;
use measure::{Bearing, Warning};
use regatta::course::{Course, Side, Station};
use regatta::layline::{Layline, Overstood, laylines, overstood};
use regatta::rounding::{Rounded, Rounding, TurningTable};
use regatta::sailing::{Day, Kind, Passage, Sailing, Stuck, Way};
use regatta::start::{Sequence, Start, start};

use super::boat::RaceBoat;
use super::wind::{Compass, RaceWind};

/// How near her middle comes to a course mark, m: half a small pram's beam and a child's arm. Assumed.
pub const CLEARANCE: f64 = 1.0;
/// Where roundings are compared, m along the way out, or the whole leg where it is shorter.
const FINISH: f64 = 100.0;
/// Overstanding is told for so many metres past the layline, this far from the course mark, m.
const PAST: f64 = 10.0;
const FROM: f64 = 60.0;
/// Shortest beat whose laylines are told, boat lengths. Assumed.
const SHORT: f64 = 12.0;
/// Two roundings of one course mark whose courses lie closer than this are one, rad. Assumed.
const ALIKE: f64 = 5.0 * DEGREE;

/// A leg and how it is sailed.
#[derive(Debug, Clone)]
pub struct FoundLeg {
    /// The leg.
    pub leg: regatta::course::Leg,
    /// How it is sailed, or why not.
    pub passage: Result<Passage, Stuck>,
}

/// The laylines of one course mark.
#[derive(Debug, Clone)]
pub struct FoundLaylines {
    /// The course mark.
    pub mark: Station,
    /// How long the beat to it is, m.
    pub beat: f64,
    /// Port tack's and starboard tack's.
    pub lines: [Layline; 2],
    /// What it costs to sail past each.
    pub past: [Result<Overstood, Stuck>; 2],
}

/// A rounding.
#[derive(Debug, Clone)]
pub struct FoundRounding {
    /// The course mark.
    pub mark: Station,
    /// The course in, through the water.
    pub approach: Bearing,
    /// The course out.
    pub exit: Bearing,
    /// Metres on the way out to the line where paths are compared.
    pub finish: f64,
    /// The best path and others.
    pub rounded: Rounded,
    /// What tight in costs if turning takes half of what the table says, and double, m.
    pub tight_range: [f64; 2],
}

/// All of it.
#[derive(Debug, Clone)]
pub struct Found {
    /// The course.
    pub course: Course,
    /// Wind at 2 m and current.
    pub day: Day,
    /// As it was given.
    pub wind: RaceWind,
    /// Doubt of the wind's direction, rad.
    pub doubt: f64,
    /// The boat.
    pub boat: RaceBoat,
    /// How far the compass points off.
    pub compass: Compass,
    /// The signals.
    pub sequence: Sequence,
    /// The legs in their order.
    pub legs: Vec<FoundLeg>,
    /// Which end is better; none without a line.
    pub start: Option<Result<Start, Stuck>>,
    /// Of each windward course mark.
    pub laylines: Vec<FoundLaylines>,
    /// Of each course mark that is turned round.
    pub roundings: Vec<FoundRounding>,
    /// What is doubted.
    pub warnings: Vec<Warning>,
}

impl Found {
    /// What a course comes to for a boat in a wind.
    ///
    /// # Errors
    /// Why there is no sailing in this wind and current.
    pub fn of(course: Course, wind: RaceWind, boat: RaceBoat, compass: Compass, sequence: Sequence) -> Result<Self, Stuck> {
        let RaceWind { day, doubt, .. } = wind;
        let sailing = Sailing::of(&boat.polar, &day)?;
        let legs: Vec<FoundLeg> = course.legs.iter().map(|leg| FoundLeg { leg: leg.clone(), passage: leg.passage(&sailing) }).collect();
        let start = course.line.map(|line| start(&line, course.legs.first().map(|l| l.to.at), &boat.polar, &day, doubt));
        let mut warnings = Vec::new();
        if matches!(&start, Some(Ok(start)) if start.reversed) {
            warnings
                .push(Warning::new("start line", "the pin lies at the starboard end, seen from below the line; are the two ends swapped?"));
        }
        let mut found =
            Self { course, day, wind, doubt, boat, compass, sequence, legs, start, laylines: Vec::new(), roundings: Vec::new(), warnings };
        found.laylines = found.laylines(&sailing);
        found.roundings = found.roundings(&sailing);
        Ok(found)
    }

    /// The whole time, where every leg has one, s.
    pub fn seconds(&self) -> Option<f64> {
        self.legs.iter().map(|l| l.passage.as_ref().ok().map(|p| p.seconds)).sum()
    }

    /// The compass reading of a bearing, degrees, where the declination is known.
    pub fn magnetic(&self, bearing: Bearing) -> Option<f64> {
        self.compass.declination.map(|d| d.magnetic_degrees(bearing))
    }

    fn laylines(&self, sailing: &Sailing) -> Vec<FoundLaylines> {
        let mut told: Vec<FoundLaylines> = Vec::new();
        for FoundLeg { leg, passage } in &self.legs {
            // A leg of a few lengths has no laylines to sail by.
            let beat = matches!(passage, Ok(p) if p.kind == Kind::Beat) && leg.length.si() > SHORT * self.boat.length;
            if !beat || told.iter().any(|t| t.mark.name == leg.to.name) {
                continue;
            }
            if let Ok(lines) = laylines(&self.boat.polar, &self.day, self.doubt, self.boat.leeway) {
                let length = leg.length.si();
                let past = [0, 1].map(|k| overstood(sailing, lines[k].tack, FROM.min(0.5 * length), PAST.min(0.1 * length)));
                told.push(FoundLaylines { mark: leg.to.clone(), beat: length, lines, past });
            }
        }
        told
    }

    /// A rounding from one course through the water to another.
    fn asked<'a>(&self, sailing: &'a Sailing, table: &'a TurningTable, (approach, exit): (Bearing, Bearing), finish: f64) -> Rounding<'a> {
        Rounding {
            sailing,
            table,
            side: self.course.side,
            approach,
            exit,
            boat: self.boat.length,
            clearance: CLEARANCE.max(0.4 * self.boat.length),
            settle: 0.5 * self.boat.getaway.constant(),
            finish,
        }
    }

    fn roundings(&self, sailing: &Sailing) -> Vec<FoundRounding> {
        let mut told: Vec<FoundRounding> = Vec::new();
        let table = self.boat.turning.clone();
        for pair in self.legs.windows(2) {
            let [before, after] = pair else { continue };
            let (Ok(inbound), Ok(outbound)) = (&before.passage, &after.passage) else { continue };
            let finish = FINISH.min(after.leg.length.si());
            // Of the tacks and gybes she may come and go on, the pair that turns least.
            let courses = |p: &Passage| -> Vec<Bearing> { p.parts.iter().map(|(way, _): &(Way, f64)| way.course()).collect() };
            let sign = if self.course.side == Side::Port { -1.0 } else { 1.0 };
            let turn = |a: Bearing, b: Bearing| (sign * (b.in_radians() - a.in_radians())).rem_euclid(std::f64::consts::TAU);
            let exits = courses(outbound);
            let pairs = courses(inbound).into_iter().flat_map(|a| exits.iter().map(move |b| (a, *b)));
            let possible = pairs.filter(|(a, b)| self.asked(sailing, &table, (*a, *b), finish).turns().is_ok());
            let Some((approach, exit)) = possible.min_by(|x, y| turn(x.0, x.1).total_cmp(&turn(y.0, y.1))) else { continue };
            let alike = |t: &FoundRounding| {
                t.mark.name == before.leg.to.name
                    && t.approach.turn_from(approach).in_radians().abs() < ALIKE
                    && t.exit.turn_from(exit).in_radians().abs() < ALIKE
            };
            if told.iter().any(alike) {
                continue;
            }
            let Ok(rounded) = self.asked(sailing, &table, (approach, exit), finish).best() else { continue };
            let other = |scale: f64| {
                let table = table.scaled(scale);
                self.asked(sailing, &table, (approach, exit), finish).best().map_or(rounded.tight_in.behind, |r| r.tight_in.behind)
            };
            let tight_range = [other(0.5), other(2.0)];
            told.push(FoundRounding { mark: before.leg.to.clone(), approach, exit, finish, rounded, tight_range });
        }
        told
    }
}
