//! The start: which end of the line is nearer to the wind and by how much, how far a boat gets from a standing start, and the signals.
//!
//! Bias is geometry in the wind over the water; its seconds are the difference of two [`Sailing::passage`]s, so a first leg that is no beat is told by the same
//! rule. A boat gathers way as `v = V tanh(t/T)`: a constant drive against a resistance that grows with the square of the speed. Valid from a boat
//! lying still with her sail full, until she is at speed.

mod signal;

pub use signal::{Sequence, Signal, signals};

use crate::course::Line;
use crate::sailing::{Day, Sailing, Stuck};
use measure::{Bearing, Length, Polar};

/// How far up the wind the first course mark is taken to lie where there is none, m.
const FAR: f64 = 1000.0;
/// `tanh` of this is nine tenths.
const NINE_TENTHS: f64 = 1.472_219_489_583_220;

/// One end of the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The pin.
    Pin,
    /// The committee boat.
    CommitteeBoat,
}

impl End {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pin => "pin",
            Self::CommitteeBoat => "committee boat",
        }
    }
}

/// What one end gains in one wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bias {
    /// How far the line is off square to the wind, rad; positive where the pin is nearer to it.
    pub angle: f64,
    /// How much nearer to the wind the pin is than the committee boat, m; less than 0 where it is the other way.
    pub metres: f64,
    /// How much sooner a boat from the pin is at the first course mark, s.
    pub seconds: f64,
}

impl Bias {
    /// The better end; `None` where it is the same to a hundredth of a second.
    #[must_use]
    pub fn favoured(&self) -> Option<End> {
        if self.seconds.abs() < 0.01 {
            None
        } else if self.seconds > 0.0 {
            Some(End::Pin)
        } else {
            Some(End::CommitteeBoat)
        }
    }
    /// In lengths of a boat.
    #[must_use]
    pub fn lengths(&self, boat: Length) -> f64 {
        self.metres / boat.si()
    }
}

/// The line through a shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// How long the line is.
    pub length: Length,
    /// With the wind backed by its doubt, as given, and veered by it.
    pub bias: [Bias; 3],
    /// The wind over the ground in which the ends are the same distance from it.
    pub even_at: Bearing,
    /// The committee boat lies at the port end, seen from below the line.
    pub reversed: bool,
}

/// Which end is better, in the wind given and `doubt` rad to both sides. `first` is where the first course mark lies (m); without it, far up the wind.
///
/// # Errors
/// Where a boat does not get to the first course mark from either end.
pub fn start(line: &Line, first: Option<[f64; 2]>, polar: &Polar, day: &Day, doubt: f64) -> Result<Start, Stuck> {
    let (dx, dy) = (line.pin[0] - line.boat[0], line.pin[1] - line.boat[1]);
    let length = dx.hypot(dy);
    let one = |turn: f64| -> Result<(Bias, Bearing), Stuck> {
        let sailing = Sailing::of(polar, &day.turned(turn))?;
        let (e, n) = sailing.wind_from().unit();
        let metres = dx * e + dy * n;
        let middle = [0.5 * (line.pin[0] + line.boat[0]), 0.5 * (line.pin[1] + line.boat[1])];
        let goal = first.unwrap_or([middle[0] + FAR * e, middle[1] + FAR * n]);
        let from = |end: [f64; 2]| sailing.passage(goal[0] - end[0], goal[1] - end[1]).map(|p| p.seconds);
        let angle = (metres / length).clamp(-1.0, 1.0).asin();
        Ok((Bias { angle, metres, seconds: from(line.boat)? - from(line.pin)? }, sailing.wind_from()))
    };
    let bias = [one(-doubt.abs())?.0, one(0.0)?.0, one(doubt.abs())?.0];
    let over_water = one(0.0)?.1;
    // Square to the line, on the side the wind comes from.
    let squares = [Bearing::of(dy, -dx), Bearing::of(-dy, dx)];
    let square = if squares[0].turn_from(over_water).in_radians().abs() < squares[1].turn_from(over_water).in_radians().abs() {
        squares[0]
    } else {
        squares[1]
    };
    let even_at = square + day.wind_from.turn_from(over_water);
    let (e, n) = over_water.unit();
    Ok(Start { length: Length::metres(length), bias, even_at, reversed: e * dy - n * dx < 0.0 })
}

/// How a boat gathers way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Getaway {
    /// Her speed on this course, m/s.
    pub speed: f64,
    /// Seconds from lying still to nine tenths of it.
    pub to_nine_tenths: f64,
}

impl Getaway {
    /// The time constant, s: near full speed she gathers what is missing with half of it.
    #[must_use]
    pub fn constant(&self) -> f64 {
        (self.to_nine_tenths / NINE_TENTHS).max(1e-3)
    }

    /// From what drives and holds her: her mass with the water she drags along (kg), her speed (m/s) and her resistance there (N).
    #[must_use]
    pub fn of(mass: f64, speed: f64, resistance: f64) -> Self {
        Self { speed, to_nine_tenths: NINE_TENTHS * mass * speed / resistance.max(1e-6) }
    }

    /// Speed after some seconds, m/s.
    #[must_use]
    pub fn speed_after(&self, seconds: f64) -> f64 {
        self.speed * (seconds.max(0.0) / self.constant()).tanh()
    }

    /// How far she gets in some seconds, m.
    #[must_use]
    pub fn metres(&self, seconds: f64) -> f64 {
        let x = seconds.max(0.0) / self.constant();
        // ln cosh x, without its overflow.
        self.speed * self.constant() * (x + (-2.0 * x).exp().ln_1p() - core::f64::consts::LN_2)
    }

    /// How long she needs for some metres, s.
    #[must_use]
    pub fn seconds(&self, metres: f64) -> f64 {
        let x = metres.max(0.0) / (self.speed * self.constant()).max(1e-9);
        // arcosh of e^x, without its overflow.
        self.constant() * (x + (1.0 - (-2.0 * x).exp()).max(0.0).sqrt().ln_1p())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Speed;
    use measure::angle::DEGREE;
    use proptest::prelude::*;

    fn day(from: f64) -> Day {
        Day {
            wind_from: Bearing::degrees_true(from),
            wind: Speed::metres_per_second(5.0),
            current_toward: Bearing::default(),
            current: Speed::metres_per_second(0.0),
        }
    }

    fn even() -> Polar {
        Polar::by_rule(&[5.0], |_, degrees| if degrees < 45.0 { 0.0 } else { 1.0 })
    }

    /// A line of 90 m that is 6 degrees off: 90 sin 6 = 9.41 m, and at 1/sqrt 2 m/s made good that many seconds times sqrt 2.
    #[test]
    fn a_line_off_square_is_off_by_its_sine() {
        let line = Line { pin: [-45.0, 0.0], boat: [45.0, 0.0] };
        let found = start(&line, None, &even(), &day(354.0), 3.0 * DEGREE).unwrap();
        let [backed, now, veered] = found.bias;
        assert!((now.metres - 90.0 * (6.0 * DEGREE).sin()).abs() < 1e-9 && (now.angle - 6.0 * DEGREE).abs() < 1e-12);
        assert!((now.seconds - now.metres * core::f64::consts::SQRT_2).abs() < 1e-6, "{}", now.seconds);
        assert!((backed.angle - 9.0 * DEGREE).abs() < 1e-12 && (veered.angle - 3.0 * DEGREE).abs() < 1e-12);
        assert_eq!((now.favoured(), found.reversed), (Some(End::Pin), false));
        assert!(found.even_at.turn_from(Bearing::default()).in_degrees().abs() < 1e-9);
        assert!((now.lengths(Length::metres(2.4)) - now.metres / 2.4).abs() < 1e-12);
        let turned = Line { pin: line.boat, boat: line.pin };
        let other = start(&turned, None, &even(), &day(354.0), 0.0).unwrap();
        assert_eq!((other.bias[1].favoured(), other.reversed), (Some(End::CommitteeBoat), true));
        assert_eq!(start(&line, None, &even(), &day(0.0), 0.0).unwrap().bias[1].favoured(), None);
    }

    /// A first leg that is a reach: the end nearer to the course mark is better, whatever the wind's axis says.
    #[test]
    fn a_reaching_start_goes_by_the_course_mark() {
        let line = Line { pin: [-45.0, 0.0], boat: [45.0, 0.0] };
        let found = start(&line, Some([400.0, 100.0]), &even(), &day(0.0), 0.0).unwrap();
        assert_eq!(found.bias[1].favoured(), Some(End::CommitteeBoat));
        assert!(found.bias[1].metres.abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn way_gathered_is_taken_back(speed in 0.2..3.0f64, to in 1.0..30.0f64, seconds in 0.1..200.0f64) {
            let getaway = Getaway { speed, to_nine_tenths: to };
            prop_assert!((getaway.seconds(getaway.metres(seconds)) / seconds - 1.0).abs() < 1e-6);
            prop_assert!((getaway.speed_after(to) - 0.9 * speed).abs() < 1e-9);
            // The distance is the sum of the speed.
            let sum: f64 = (0..2000).map(|i| getaway.speed_after((f64::from(i) + 0.5) * seconds / 2000.0) * seconds / 2000.0).sum();
            prop_assert!((sum - getaway.metres(seconds)).abs() < 1e-3 * sum.max(0.01));
        }
    }

    /// Newton's law at rest: she gathers way as drive over mass.
    #[test]
    fn she_starts_as_her_drive_says() {
        let getaway = Getaway::of(100.0, 1.6, 24.0);
        assert!((getaway.speed_after(1e-4) / 1e-4 - 24.0 / 100.0).abs() < 1e-6);
    }
}
