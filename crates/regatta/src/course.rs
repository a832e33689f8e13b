//! The course: buoys given or sketched, the order they are rounded in, legs with their bearings, lengths and times.
//!
//! Lengths and bearings are those of the geodesic where the buoys have positions, else of a plane. Times are those of [`Sailing`]: steady wind and
//! current, no tack lost, no other boat.

pub mod buoy;
mod place;
mod role;
mod sketch;

pub use buoy::{Buoy, Given, Place, placed};
pub use place::position;
pub use role::{CourseKind, Role};
pub use sketch::Sketch;

use crate::Error;
use crate::declination::Declination;
use crate::sailing::{Passage, Sailing, Stuck};
use measure::{Bearing, Length, Position, Warned, Warning};

/// Two buoys closer than this are one read twice, m. Assumed.
const SAME: f64 = 2.0;
/// A leg longer than this is asked about, m: an hour and more for such a boat. Assumed.
const LONG: f64 = 3000.0;
/// Most times round.
pub const MOST_LAPS: usize = 10;

/// On which side a course mark is left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Side {
    /// To port: boats turn left round it.
    #[default]
    Port,
    /// To starboard: boats turn right round it.
    Starboard,
}

impl Side {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Port => "port",
            Self::Starboard => "starboard",
        }
    }
}

/// A place that legs lead to: a buoy, or the middle between two.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// What it is called.
    pub name: String,
    /// What it is for.
    pub role: Option<Role>,
    /// East and north, m.
    pub at: [f64; 2],
    /// On the earth, if that is known.
    pub position: Option<Position>,
}

/// One leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// Where it begins.
    pub from: Station,
    /// Where it ends.
    pub to: Station,
    /// How long it is.
    pub length: Length,
    /// Its bearing.
    pub bearing: Bearing,
}

impl Leg {
    fn between(from: &Station, to: &Station) -> Self {
        let (e, n) = (to.at[0] - from.at[0], to.at[1] - from.at[1]);
        let flat = (Length::metres(e.hypot(n)), Bearing::of(e, n));
        let (length, bearing) = from.position.zip(to.position).map_or(flat, |(p, q)| p.to(q));
        Self { from: from.clone(), to: to.clone(), length, bearing }
    }

    /// The shortest way along it.
    ///
    /// # Errors
    /// Where she does not get there.
    pub fn passage(&self, sailing: &Sailing) -> Result<Passage, Stuck> {
        let (e, n) = self.bearing.unit();
        sailing.passage(self.length.si() * e, self.length.si() * n)
    }
}

/// The start line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// East and north of the pin, m.
    pub pin: [f64; 2],
    /// Of the committee boat, m.
    pub boat: [f64; 2],
}

/// A course.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Which kind, where its order is ours.
    pub kind: Option<CourseKind>,
    /// All buoys.
    pub buoys: Vec<Buoy>,
    /// The legs in their order.
    pub legs: Vec<Leg>,
    /// The start line, if it has one.
    pub line: Option<Line>,
    /// On which side course marks are left.
    pub side: Side,
}

/// How a course is sailed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// The kind; `None` takes the one its buoys make.
    pub kind: Option<CourseKind>,
    /// How many times round, 1 to [`MOST_LAPS`]; `None` for what is usual.
    pub laps: Option<usize>,
    /// On which side course marks are left.
    pub side: Side,
    /// The names in the order of the sailing instructions, start and finish among them; this goes before kind and laps.
    pub names: Vec<String>,
}

impl Default for Order {
    fn default() -> Self {
        Self { kind: None, laps: None, side: Side::Port, names: Vec::new() }
    }
}

impl Course {
    /// The course of buoys given.
    ///
    /// # Errors
    /// What cannot be placed, a course of one buoy, a name in the order that no buoy has.
    pub fn of(given: &[Given], declination: &dyn Fn(Position) -> Result<Declination, Error>, order: &Order) -> Result<Warned<Self>, Error> {
        Self::joined(buoy::placed(given, declination)?, order)
    }

    fn joined(buoys: Vec<Buoy>, order: &Order) -> Result<Warned<Self>, Error> {
        if let Some(laps) = order.laps.filter(|laps| *laps == 0 || *laps > MOST_LAPS) {
            return Err(Error::new("laps", format!("{laps} laps"), format!("give 1 to {MOST_LAPS}")));
        }
        let mut warnings = Vec::new();
        for (n, b) in buoys.iter().enumerate() {
            if let Some(a) = buoys[..n].iter().find(|a| apart(a.at, b.at) < SAME) {
                let what = format!("it lies within {SAME:.0} m of {}", a.name);
                return Err(Error::new(b.name.clone(), what, "is it one buoy read twice? Leave one out, or read its place off again"));
            }
        }
        let laid = Laid { buoys: &buoys };
        let line = laid.one(Role::Pin).zip(laid.one(Role::CommitteeBoat)).map(|(pin, boat)| Line { pin: pin.at, boat: boat.at });
        let kind = order
            .names
            .is_empty()
            .then(|| order.kind.unwrap_or_else(|| CourseKind::of(&buoys.iter().filter_map(|b| b.role).collect::<Vec<_>>())));
        let stations = match kind {
            None => laid.named(&order.names)?,
            Some(kind) => {
                if order.names.is_empty() {
                    let idle = buoys.iter().filter(|b| b.role.is_none());
                    warnings.extend(idle.map(|b| Warning::new(b.name.clone(), "its name does not say what it is for, so no leg leads there; call it windward, leeward, gate, offset or wing, or give the order of the course")));
                }
                laid.by_kind(kind, order.laps.unwrap_or(kind.usual_laps()))
            }
        };
        let legs: Vec<Leg> = stations.windows(2).map(|pair| Leg::between(&pair[0], &pair[1])).collect();
        if legs.is_empty() {
            let names =
                if buoys.is_empty() { "no buoy".to_owned() } else { buoys.iter().map(|b| b.name.as_str()).collect::<Vec<_>>().join(", ") };
            return Err(Error::new(
                "course",
                format!("it has {names}, and that makes no leg"),
                "give two places at least, like windward and leeward, or a pin, a committee boat and windward",
            ));
        }
        if let Some(leg) = legs.iter().find(|l| l.length.si() < SAME) {
            return Err(Error::new(leg.to.name.clone(), "a leg there has no length", "name each course mark once in a row in the order"));
        }
        let long = legs.iter().filter(|l| l.length.si() > LONG);
        warnings.extend(long.map(|l| {
            Warning::new(
                format!("{} to {}", l.from.name, l.to.name),
                format!("{:.1} km is long for such a boat; is a digit wrong?", l.length.si() / 1000.0),
            )
        }));
        warnings.dedup();
        Ok(Warned::new(Self { kind, buoys, legs, line, side: order.side }, warnings))
    }

    /// Where the course mark of a role lies.
    #[must_use]
    pub fn at(&self, role: Role) -> Option<[f64; 2]> {
        self.buoys.iter().find(|b| b.role == Some(role)).map(|b| b.at)
    }

    /// Some position of the course, to tell the declination by.
    #[must_use]
    pub fn position(&self) -> Option<Position> {
        self.buoys.iter().find_map(|b| b.position)
    }
}

/// Distance, m.
fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// The buoys as a course is made of them.
struct Laid<'a> {
    buoys: &'a [Buoy],
}

impl Laid<'_> {
    fn all(&self, role: Role) -> Vec<&Buoy> {
        self.buoys.iter().filter(|b| b.role == Some(role)).collect()
    }

    fn one(&self, role: Role) -> Option<&Buoy> {
        self.buoys.iter().find(|b| b.role == Some(role))
    }

    /// The middle of some buoys.
    fn middle(name: &str, buoys: &[&Buoy]) -> Option<Station> {
        let [first, rest @ ..] = buoys else { return None };
        let Some(last) = rest.last() else {
            return Some(Station { name: first.name.clone(), role: first.role, at: first.at, position: first.position });
        };
        let at = [0.5 * (first.at[0] + last.at[0]), 0.5 * (first.at[1] + last.at[1])];
        let position = first.position.zip(last.position).map(|(p, q)| {
            let (length, bearing) = p.to(q);
            p.along(bearing, Length::metres(0.5 * length.si()))
        });
        Some(Station { name: name.to_owned(), role: first.role, at, position })
    }

    fn line(&self, name: &str) -> Option<Station> {
        let ends: Vec<&Buoy> = [Role::Pin, Role::CommitteeBoat].into_iter().filter_map(|r| self.one(r)).collect();
        Self::middle(name, &ends).map(|s| Station { name: name.to_owned(), ..s })
    }

    fn finish(&self) -> Option<Station> {
        Self::middle("finish", &self.all(Role::Finish)).or_else(|| self.line("finish on the start line"))
    }

    /// A role's station; the leeward course mark may be a gate.
    fn station(&self, role: Role) -> Option<Station> {
        let gate = self.all(Role::Gate);
        match role {
            Role::Leeward if gate.len() >= 2 => Self::middle("leeward gate", &gate),
            Role::Leeward => Self::middle("", &self.all(role)[..self.all(role).len().min(1)]).or_else(|| Self::middle("", &gate)),
            role => self.one(role).and_then(|b| Self::middle("", &[b])),
        }
    }

    fn by_kind(&self, kind: CourseKind, laps: usize) -> Vec<Station> {
        let finish = self.finish();
        let mut stations: Vec<Station> = Vec::new();
        // Without a line the course begins where its last lap ends.
        stations.extend(self.line("start").or_else(|| self.station(Role::Leeward)));
        for role in kind.order(laps, finish.is_some()) {
            stations.extend(self.station(role));
            if role == Role::Windward {
                stations.extend(self.station(Role::Offset));
            }
        }
        stations.extend(finish);
        // A buoy that is missing leaves its neighbours side by side.
        stations.dedup_by(|a, b| a.name == b.name);
        stations
    }

    fn named(&self, names: &[String]) -> Result<Vec<Station>, Error> {
        names
            .iter()
            .map(|name| {
                let name = name.trim();
                let own = self.buoys.iter().find(|b| b.name.eq_ignore_ascii_case(name)).and_then(|b| Self::middle("", &[b]));
                let known = own.or_else(|| match name.to_lowercase().as_str() {
                    "start" => self.line("start"),
                    "finish" => self.finish(),
                    "gate" | "leeward gate" => Self::middle("leeward gate", &self.all(Role::Gate)),
                    _ => None,
                });
                known.ok_or_else(|| {
                    let names: Vec<_> = self.buoys.iter().map(|b| b.name.as_str()).collect();
                    Error::new(
                        "order",
                        format!("no buoy is called \"{name}\""),
                        format!("use these names: {}; and start, gate, finish", names.join(", ")),
                    )
                })
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn course(text: &str, order: &Order) -> Result<Warned<Course>, Error> {
        let none = |_| Err(Error::new("declination", "none", "none is needed"));
        Course::of(&Given::list(text)?, &none, order)
    }

    fn ends(course: &Course) -> Vec<&str> {
        let first = course.legs[0].from.name.as_str();
        std::iter::once(first).chain(course.legs.iter().map(|l| l.to.name.as_str())).collect()
    }

    const BUOYS: &str = "pin: here\ncommittee boat: 90 T, 40 m from pin\nwindward: 0 T, 400 m from pin\noffset: 270 T, 20 m from windward\n\
                         gate port: 0 T, 40 m from pin\ngate starboard: 90 T, 25 m from gate port";

    #[test]
    fn legs_follow_the_kind_or_the_order() {
        let two = course(BUOYS, &Order { laps: Some(2), ..Order::default() }).unwrap().value;
        assert_eq!(ends(&two), ["start", "windward", "offset", "leeward gate", "windward", "offset", "finish on the start line"]);
        assert_eq!(two.kind, Some(CourseKind::WindwardLeeward));
        let named = Order { names: ["pin", "WINDWARD", "gate", "finish"].map(str::to_owned).to_vec(), ..Order::default() };
        assert_eq!(ends(&course(BUOYS, &named).unwrap().value), ["pin", "windward", "leeward gate", "finish on the start line"]);
        let bare =
            course("windward: here\nleeward: 180 T, 300 m from windward", &Order { laps: Some(1), ..Order::default() }).unwrap().value;
        assert_eq!(ends(&bare), ["leeward", "windward", "leeward"]);
        assert!(bare.line.is_none());
        let triangle =
            course("leeward: here\nwindward: 0 T, 300 m from leeward\nwing: 300 T, 300 m from leeward", &Order::default()).unwrap().value;
        assert_eq!(ends(&triangle), ["leeward", "windward", "wing", "leeward"]);
    }

    #[test]
    fn what_is_no_course_says_so() {
        let said = |text: &str, order: &Order| course(text, order).unwrap_err().to_string();
        assert!(said("windward: here", &Order::default()).contains("it has windward, and that makes no leg"));
        assert!(said("", &Order::default()).contains("no buoy"));
        assert!(said("a: here\nb: 10 T, 1 m from a", &Order::default()).contains("within 2 m of a"));
        assert!(said(BUOYS, &Order { laps: Some(0), ..Order::default() }).contains("0 laps"));
        assert!(said(BUOYS, &Order { names: vec!["pin".into(), "top".into()], ..Order::default() }).contains("no buoy is called \"top\""));
        assert!(said(BUOYS, &Order { names: vec!["pin".into(), "pin".into()], ..Order::default() }).contains("no length"));
        let unknown =
            course("red: here\nblue: 0 T, 300 m from red\nwindward: 0 T, 300 m from blue\nleeward: 0 T, 9 m from red", &Order::default())
                .unwrap();
        assert_eq!(unknown.warnings.len(), 2);
    }
}
