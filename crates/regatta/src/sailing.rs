//! What a boat can make good over the ground: a polar, the wind over the water, and the current added.
//!
//! In a uniform current the whole question moves with the water. A boat that may sail any course and change it as often as she likes
//! makes good, on average, any velocity of the convex hull of her polar, and no other; the current is added to it. So the shortest time to
//! a place is `1/s` for the largest `s` with `s d - c` inside the hull, `d` being the way to go and `c` the current. Where that point lies on an
//! edge that joins both tacks the leg is a beat (or a run with gybes), sailed on its two ends in the shares in which it divides the edge; else the boat points
//! straight at the place, set off by the current. Source: plane geometry; the same argument as for the beat of a sailing vessel in a tide. Valid for steady wind and current, no time lost in
//! tacks, leeway being in the polar, whose angles are to the track through the water.
//!
//! The wind is given over the ground, as an anchored boat feels it; a drifting boat feels that less the current, and so does the polar.

use measure::angle::{DEGREE, wrap};
use measure::{Bearing, Polar, Speed};

/// Less wind than this over the water is no wind, m/s: the weakest that a hand-held meter turns in. Assumed.
const LEAST_WIND: f64 = 0.2;
/// Two gybes whose courses lie closer than this are sailed as one, straight there, rad: it loses under 0.4 %. Assumed.
const TOGETHER: f64 = 10.0 * DEGREE;
/// How far off the best angle of a beat or a run a course still counts as sailed for the wind's sake, rad. Assumed.
const NEAR_BEST: f64 = 1.5 * DEGREE;

/// Wind and current over the course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// Where the wind comes from, over the ground.
    pub wind_from: Bearing,
    /// Its speed over the ground at the height of the polar's winds, 2 m.
    pub wind: Speed,
    /// Where the current sets.
    pub current_toward: Bearing,
    /// Its speed.
    pub current: Speed,
}

impl Day {
    /// The same day with the wind turned, clockwise positive (rad).
    #[must_use]
    pub fn turned(self, by: f64) -> Self {
        Self { wind_from: Bearing::radians_true(self.wind_from.in_radians() + by), ..self }
    }
}

/// Why a boat does not get there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stuck {
    /// There is no wind over the water.
    NoWind,
    /// The current sets her back faster than she makes good.
    Current,
}

impl Stuck {
    /// In a coach's words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoWind => "no wind over the water: it goes with the current",
            Self::Current => "the current is stronger than the boat: she does not get there",
        }
    }
}

/// From which side the wind comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tack {
    /// From port.
    Port,
    /// From starboard.
    Starboard,
}

impl Tack {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Port => "port",
            Self::Starboard => "starboard",
        }
    }
    /// The other tack.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Port => Self::Starboard,
            Self::Starboard => Self::Port,
        }
    }
    /// +1 with the wind from starboard, -1 from port: what a wind angle is multiplied by.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Port => -1.0,
            Self::Starboard => 1.0,
        }
    }
}

/// One course she sails.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way {
    /// Wind angle to the track through the water, rad, positive with the wind from starboard.
    pub angle: f64,
    /// Velocity through the water, east and north, m/s.
    pub water: [f64; 2],
}

impl Way {
    /// From which side the wind comes.
    #[must_use]
    pub fn tack(&self) -> Tack {
        if self.angle < 0.0 { Tack::Port } else { Tack::Starboard }
    }
    /// Course through the water.
    #[must_use]
    pub fn course(&self) -> Bearing {
        Bearing::of(self.water[0], self.water[1])
    }
}

/// How a leg is sailed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// To windward on both tacks.
    Beat,
    /// Straight there, the wind abeam or nearly.
    Reach,
    /// Downwind: on both gybes, or straight with the wind aft.
    Run,
}

impl Kind {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Beat => "beat",
            Self::Reach => "reach",
            Self::Run => "run",
        }
    }
}

/// Wind angle from which a straight course is a run, rad. Source: the legs' definition of the debrief (140 degrees).
const RUN_FROM: f64 = 140.0 * DEGREE;

/// The shortest way from one place to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// How long it takes, s.
    pub seconds: f64,
    /// Beat, reach or run.
    pub kind: Kind,
    /// The courses sailed and the seconds on each: both tacks, or one course.
    pub parts: Vec<(Way, f64)>,
}

/// What one boat can do in one wind and current.
#[derive(Debug, Clone, PartialEq)]
pub struct Sailing {
    polar: Polar,
    wind_from: f64,
    wind: f64,
    current: [f64; 2],
    /// Vertices of the hull, anticlockwise with east to the right and north up.
    hull: Vec<Way>,
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn less(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

/// The convex hull, anticlockwise. Source: A.M. Andrew, Information Processing Letters 9 (1979).
fn hull(mut points: Vec<Way>) -> Vec<Way> {
    points.sort_by(|a, b| a.water[0].total_cmp(&b.water[0]).then(a.water[1].total_cmp(&b.water[1])));
    let half = |points: &mut dyn Iterator<Item = Way>| {
        let mut chain: Vec<Way> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice() {
                if cross(less(b.water, a.water), less(p.water, a.water)) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut whole = half(&mut points.iter().copied());
    whole.extend(half(&mut points.iter().rev().copied()));
    whole
}

impl Sailing {
    /// What a boat of this polar can do on this day.
    ///
    /// # Errors
    /// [`Stuck::NoWind`] where there is none over the water.
    pub fn of(polar: &Polar, day: &Day) -> Result<Self, Stuck> {
        let flow = |to: f64, speed: f64| [speed * to.sin(), speed * to.cos()];
        let current = flow(day.current_toward.in_radians(), day.current.si());
        let air = flow(day.wind_from.in_radians(), -day.wind.si());
        let over_water = less(air, current);
        let wind = over_water[0].hypot(over_water[1]);
        if !wind.is_finite() || wind < LEAST_WIND {
            return Err(Stuck::NoWind);
        }
        let wind_from = Bearing::of(-over_water[0], -over_water[1]).in_radians();
        let way = |degrees: i32| {
            let angle = f64::from(degrees) * DEGREE;
            let speed = polar.speed(wind, angle);
            let course = wind_from - angle;
            Way { angle, water: [speed * course.sin(), speed * course.cos()] }
        };
        // She may also let the sail fly and drift: the middle belongs to the hull.
        let points = (-179..=180).map(way).chain([Way { angle: 0.0, water: [0.0; 2] }]).collect();
        Ok(Self { polar: polar.clone(), wind_from, wind, current, hull: hull(points) })
    }

    /// Where the wind over the water comes from.
    #[must_use]
    pub fn wind_from(&self) -> Bearing {
        Bearing::radians_true(self.wind_from)
    }

    /// The wind over the water, m/s.
    #[must_use]
    pub const fn wind(&self) -> f64 {
        self.wind
    }

    /// The current, east and north, m/s.
    #[must_use]
    pub const fn current(&self) -> [f64; 2] {
        self.current
    }

    /// Speed through the water on a course through the water, m/s.
    #[must_use]
    pub fn speed(&self, course: Bearing) -> f64 {
        self.polar.speed(self.wind, wrap(self.wind_from - course.in_radians()))
    }

    /// The course sailed on a course through the water.
    #[must_use]
    pub fn way(&self, course: Bearing) -> Way {
        let (e, n) = course.unit();
        let speed = self.speed(course);
        Way { angle: wrap(self.wind_from - course.in_radians()), water: [speed * e, speed * n] }
    }

    /// What she makes good on a course through the water: on the hull, where changing course a little now and then beats a dip of the polar. None where the
    /// polar itself has not half of it: there she only gets on two other courses.
    #[must_use]
    pub fn steady(&self, course: Bearing) -> Option<Way> {
        let (e, n) = course.unit();
        let (speed, _, _) = self.leaves([e, n], [0.0; 2])?;
        (self.speed(course) > 0.5 * speed).then(|| Way { angle: wrap(self.wind_from - course.in_radians()), water: [speed * e, speed * n] })
    }

    /// Velocity over the ground of a course sailed, m/s.
    #[must_use]
    pub fn over_ground(&self, way: &Way) -> [f64; 2] {
        [way.water[0] + self.current[0], way.water[1] + self.current[1]]
    }

    fn edges(&self) -> impl Iterator<Item = (&Way, &Way)> {
        self.hull.iter().zip(self.hull.iter().cycle().skip(1))
    }

    /// Where the line `s d - drift`, `s` rising, leaves the hull: `s` and the edge. None when it misses the hull or leaves it behind.
    fn leaves(&self, d: [f64; 2], drift: [f64; 2]) -> Option<(f64, &Way, &Way)> {
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut edge = None;
        for (a, b) in self.edges() {
            let along = less(b.water, a.water);
            let (at, slope) = (cross(along, less([-drift[0], -drift[1]], a.water)), cross(along, d));
            let s = -at / slope;
            if slope < 0.0 && s < high {
                (high, edge) = (s, Some((a, b)));
            } else if slope > 0.0 {
                low = low.max(s);
            } else if slope == 0.0 && at < 0.0 {
                return None;
            }
        }
        // The edges meet with rounding: a hair's overlap is none.
        let (a, b) = edge.filter(|_| high > 0.0 && high.is_finite() && low <= high * (1.0 + 1e-9))?;
        Some((high, a, b))
    }

    /// The shortest way over the ground to a place `east` and `north` metres away.
    ///
    /// # Errors
    /// [`Stuck::Current`] where she cannot get there.
    pub fn passage(&self, east: f64, north: f64) -> Result<Passage, Stuck> {
        let (s, a, b) = self.leaves([east, north], self.current).ok_or(Stuck::Current)?;
        let along = less(b.water, a.water);
        let p = [s * east - self.current[0], s * north - self.current[1]];
        let reach = along[0] * along[0] + along[1] * along[1];
        let share = if reach > 0.0 { ((p[0] - a.water[0]) * along[0] + (p[1] - a.water[1]) * along[1]) / reach } else { 0.0 };
        let share = share.clamp(0.0, 1.0);
        let seconds = 1.0 / s;
        let joins_tacks = a.tack() != b.tack() && a.course().turn_from(b.course()).in_radians().abs() > TOGETHER;
        let both = joins_tacks && share > 1e-6 && share < 1.0 - 1e-6;
        let one = Way { angle: wrap(self.wind_from - Bearing::of(p[0], p[1]).in_radians()), water: p };
        let upwind = a.angle.abs() < core::f64::consts::FRAC_PI_2;
        let kind = match (joins_tacks, upwind) {
            (true, true) => Kind::Beat,
            (true, false) => Kind::Run,
            _ if one.angle.abs() >= RUN_FROM => Kind::Run,
            _ => Kind::Reach,
        };
        let parts = if both { vec![(*a, seconds * (1.0 - share)), (*b, seconds * share)] } else { vec![(one, seconds)] };
        Ok(Passage { seconds, kind, parts })
    }

    /// The best courses upwind, port tack and starboard tack. None where the polar makes no way to windward.
    #[must_use]
    pub fn beat(&self) -> Option<[Way; 2]> {
        let (e, n) = self.wind_from().unit();
        self.both([e, n]).filter(|w| w.iter().all(|w| w.angle.abs() < core::f64::consts::FRAC_PI_2 && w.angle != 0.0))
    }

    /// The best courses downwind, port and starboard. Both are the same where she sails straight downwind.
    #[must_use]
    pub fn run(&self) -> Option<[Way; 2]> {
        let (e, n) = self.wind_from().unit();
        self.both([-e, -n]).filter(|w| w.iter().all(|w| w.angle.abs() > core::f64::consts::FRAC_PI_2))
    }

    fn both(&self, d: [f64; 2]) -> Option<[Way; 2]> {
        let (_, a, b) = self.leaves(d, [0.0; 2])?;
        Some(if a.angle < b.angle { [*a, *b] } else { [*b, *a] })
    }

    /// The price of a place in seconds a metre, east and north, for a boat that sails on along a course through the water to somewhere far off: a step
    /// along this vector brings her nearer by its length times the step. For a beat or a run it lies in the wind's axis, for a reach square to
    /// the hull there. None where she makes no way along it.
    #[must_use]
    pub fn price(&self, course: Bearing) -> Option<[f64; 2]> {
        let edge = |by: f64| {
            let (e, n) = Bearing::radians_true(course.in_radians() + by).unit();
            self.leaves([e, n], [0.0; 2]).map(|(_, a, b)| (*a, *b))
        };
        let joins = |e: &(Way, Way)| e.0.tack() != e.1.tack() && (e.0.angle.abs() < 1.5) == (e.1.angle.abs() < 1.5);
        let (a, b) = [-NEAR_BEST, NEAR_BEST].into_iter().filter_map(edge).find(joins).or_else(|| edge(0.0))?;
        let along = less(b.water, a.water);
        let out = [along[1], -along[0]];
        let ground = self.over_ground(&self.steady(course)?);
        let rate = out[0] * ground[0] + out[1] * ground[1];
        (rate > 0.0).then(|| [out[0] / rate, out[1] / rate])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A boat of one speed on every course that is 45 degrees or more off the wind.
    fn even(speed: f64) -> Polar {
        Polar::by_rule(&[5.0], |_, degrees| if degrees < 45.0 { 0.0 } else { speed })
    }

    fn day(from: f64, toward: f64, current: f64) -> Day {
        Day {
            wind_from: Bearing::degrees_true(from),
            wind: Speed::metres_per_second(5.0),
            current_toward: Bearing::degrees_true(toward),
            current: Speed::metres_per_second(current),
        }
    }

    #[test]
    fn a_beat_without_current_takes_both_tacks() {
        let sailing = Sailing::of(&even(1.0), &day(0.0, 0.0, 0.0)).unwrap();
        let up = sailing.passage(0.0, 100.0).unwrap();
        assert_eq!((up.kind, up.parts.len()), (Kind::Beat, 2));
        assert!((up.seconds - 100.0 * core::f64::consts::SQRT_2).abs() < 1e-9, "{}", up.seconds);
        assert!(up.parts.iter().all(|(w, t)| (w.angle.abs() - 45.0 * DEGREE).abs() < 1e-12 && (t - up.seconds / 2.0).abs() < 1e-9));
        let across = sailing.passage(100.0, 0.0).unwrap();
        assert_eq!((across.kind, across.parts.len()), (Kind::Reach, 1));
        assert!((across.seconds - 100.0).abs() < 0.02);
        assert_eq!(sailing.passage(0.0, -100.0).unwrap().kind, Kind::Run);
    }

    #[test]
    fn a_current_stronger_than_the_boat_is_told() {
        let against = Sailing::of(&even(0.6), &day(0.0, 180.0, 1.0)).unwrap();
        assert_eq!(against.passage(0.0, 100.0), Err(Stuck::Current));
        assert!(against.passage(0.0, -100.0).unwrap().seconds < 70.0);
        assert_eq!(Sailing::of(&even(1.0), &day(0.0, 180.0, 5.0)), Err(Stuck::NoWind));
        assert!(Stuck::Current.words().contains("stronger than the boat"));
    }

    /// The price of a metre is what a metre more of the way costs.
    #[test]
    fn a_price_is_the_slope_of_the_time() {
        let sailing = Sailing::of(&even(1.0), &day(20.0, 0.0, 0.0)).unwrap();
        assert_eq!(
            (sailing.price(Bearing::degrees_true(25.0)), sailing.steady(Bearing::degrees_true(25.0))),
            (None, None),
            "into the wind"
        );
        for course in [20.0 + 45.0, 20.0 - 45.0, 130.0, 250.0] {
            let course = Bearing::degrees_true(course);
            let price = sailing.price(course).unwrap();
            let (e, n) = course.unit();
            assert!((price[0] * e + price[1] * n - 1.0 / sailing.speed(course)).abs() < 2e-4, "the polar is a polygon of one degree");
            // No course brings her nearer by more than her own.
            for other in 0..360 {
                let v = sailing.way(Bearing::degrees_true(f64::from(other))).water;
                assert!(price[0] * v[0] + price[1] * v[1] < 1.0 + 1e-9, "{other}");
            }
        }
        let [port, starboard] = sailing.beat().unwrap();
        assert_eq!((port.tack(), starboard.tack()), (Tack::Port, Tack::Starboard));
        assert!((port.course().in_degrees() - 65.0).abs() < 1e-9 && (starboard.course().in_degrees() - 335.0).abs() < 1e-9);
    }
}
