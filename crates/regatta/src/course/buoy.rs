//! Buoys as a coach writes them, a line each: `windward: 52 30.5 N 5 07.2 E`, `leeward: 183 M, 350 m from windward`, `committee boat: here`.
//!
//! A bearing says whether it is true (T) or magnetic (M). Where no buoy has a position, one lies `here`, and directions are all that is known.

use super::place::position;
use super::role::Role;
use crate::Error;
use crate::declination::Declination;
use measure::{Bearing, Length, LocalPlane, Position};

/// Buoys further apart than this are not one course, m: three times the longest leg such boats are sent on. Assumed.
const FAR: f64 = 10_000.0;
/// More buoys than this are not one course. Assumed.
const MOST: usize = 100;
/// A nautical mile, m. Exact.
const NAUTICAL_MILE: f64 = 1852.0;

/// Where a buoy lies, as it was given.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    /// On the earth.
    Position(Position),
    /// A bearing and a distance from another buoy.
    From {
        /// The other buoy.
        name: String,
        /// Degrees.
        degrees: f64,
        /// Whether they are magnetic.
        magnetic: bool,
        /// How far.
        distance: Length,
    },
    /// In the middle of a plane that lies nowhere.
    Here,
}

/// A buoy as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// What the coach calls it.
    pub name: String,
    /// What it is for, if its name or its file says so.
    pub role: Option<Role>,
    /// Where it lies.
    pub place: Place,
}

/// A buoy of a course.
#[derive(Debug, Clone, PartialEq)]
pub struct Buoy {
    /// What the coach calls it.
    pub name: String,
    /// What it is for, if its name says so.
    pub role: Option<Role>,
    /// East and north of the course's middle, m.
    pub at: [f64; 2],
    /// On the earth, if that is known.
    pub position: Option<Position>,
}

impl Given {
    /// A buoy at a position.
    #[must_use]
    pub fn at(name: &str, position: Position) -> Self {
        Self { name: name.to_owned(), role: Role::of(name), place: Place::Position(position) }
    }

    /// Reads one line.
    ///
    /// # Errors
    /// What was read, and what to type.
    pub fn read(line: &str) -> Result<Self, Error> {
        let shown: String = line.trim().chars().filter(|c| !c.is_control()).take(60).collect();
        let (name, place) = line.split_once([':', '=']).ok_or_else(|| {
            Error::new(
                format!("\"{shown}\""),
                "there is no : after the buoy's name",
                "write it like windward: 52 30.5 N 5 07.2 E, or like leeward: 183 M, 350 m from windward",
            )
        })?;
        let name: String = name.trim().chars().filter(|c| !c.is_control()).take(40).collect();
        if name.is_empty() {
            return Err(Error::new(
                format!("\"{shown}\""),
                "the buoy has no name",
                "write windward, leeward, gate, offset, pin or committee boat before the :",
            ));
        }
        let place = place.trim();
        let place = if place.eq_ignore_ascii_case("here") {
            Place::Here
        } else if let Some((way, from)) = place.split_once(" from ") {
            relative(&name, way, from)?
        } else {
            Place::Position(position(place).map_err(|e| Error { place: format!("{name}, {}", e.place), ..e })?)
        };
        Ok(Self { role: Role::of(&name), name, place })
    }

    /// Reads a list, a line each; `#` starts a comment.
    ///
    /// # Errors
    /// As [`Self::read`], with the line.
    pub fn list(text: &str) -> Result<Vec<Self>, Error> {
        let lines = text.trim_start_matches('\u{feff}').lines().enumerate();
        let lines = lines.map(|(n, line)| (n, line.split('#').next().unwrap_or_default())).filter(|(_, line)| !line.trim().is_empty());
        lines.map(|(n, line)| Self::read(line).map_err(|e| Error { place: format!("line {}: {}", n + 1, e.place), ..e })).collect()
    }
}

fn relative(name: &str, way: &str, from: &str) -> Result<Place, Error> {
    let wrong = |found: String| {
        Error::new(name, found, "write a bearing with T (true) or M (magnetic) and a distance, like 183 M, 350 m from windward")
    };
    let way = way.trim();
    let end = way.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(way.len());
    let degrees: f64 = way[..end].parse().map_err(|_| wrong(format!("\"{way}\" does not begin with a bearing")))?;
    if degrees > 360.0 {
        return Err(wrong(format!("a bearing of {degrees} degrees; they go to 360")));
    }
    let rest = way[end..].trim_start_matches([' ', '°']).trim_start_matches("deg").trim_start();
    let (kind, distance) = rest.split_once([',', ' ']).ok_or_else(|| wrong(format!("\"{way}\" has no distance")))?;
    let magnetic = match kind.trim().to_lowercase().as_str() {
        "m" | "mag" | "magnetic" => true,
        "t" | "true" => false,
        _ => return Err(wrong(format!("\"{way}\" does not say whether its bearing is true or magnetic"))),
    };
    let distance = distance.trim().trim_start_matches(',').trim();
    let miles = distance.strip_suffix("nm").and_then(|n| n.trim().replace(',', ".").parse().ok()).filter(|n: &f64| n.is_finite());
    let distance = match miles {
        Some(miles) => Length::metres(miles * NAUTICAL_MILE),
        None => Length::parse(distance).map_err(|e| wrong(e.0))?,
    };
    if !(0.0..=FAR).contains(&distance.si()) {
        return Err(wrong(format!("a distance of {:.0} m; a course is within {FAR:.0} m", distance.si())));
    }
    Ok(Place::From { name: from.trim().to_owned(), degrees, magnetic, distance })
}

/// Places every buoy. Magnetic bearings are made true by `declination` at the first position.
///
/// # Errors
/// A name that stands twice or nowhere, a circle of bearings, a magnetic bearing with no position to tell the declination by, buoys too far apart.
pub fn placed(given: &[Given], declination: &dyn Fn(Position) -> Result<Declination, Error>) -> Result<Vec<Buoy>, Error> {
    if given.len() > MOST {
        return Err(Error::new(
            "buoys",
            format!("there are {}", given.len()),
            format!("a course has {MOST} at most; leave out those of other courses"),
        ));
    }
    for (n, g) in given.iter().enumerate() {
        if given[..n].iter().any(|h| h.name.eq_ignore_ascii_case(&g.name)) {
            return Err(Error::new(
                g.name.clone(),
                "two buoys have this name",
                "name each buoy once, gates like gate port and gate starboard",
            ));
        }
    }
    let first = given.iter().find_map(|g| if let Place::Position(p) = g.place { Some(p) } else { None });
    far_apart(given)?;
    let plane = first.map(LocalPlane::at);
    let here = first.map(declination);
    let mut buoys: Vec<Option<Buoy>> = vec![None; given.len()];
    // Each round places those whose other buoy is placed.
    for _ in 0..=given.len() {
        for (n, g) in given.iter().enumerate().filter(|(n, _)| buoys[*n].is_none()).collect::<Vec<_>>() {
            let (at, position) = match &g.place {
                Place::Position(p) => (plane.as_ref().map_or([0.0; 2], |plane| plane.xy(*p).into()), Some(*p)),
                Place::Here if first.is_none() => ([0.0; 2], None),
                Place::Here => {
                    return Err(Error::new(
                        g.name.clone(),
                        "it lies here, and other buoys have positions",
                        "give its position, or its bearing and distance from another buoy",
                    ));
                }
                Place::From { name, degrees, magnetic, distance } => {
                    let Some(other) = buoys.iter().flatten().find(|b| b.name.eq_ignore_ascii_case(name)) else { continue };
                    let bearing = match (*magnetic, &here) {
                        (false, _) => Bearing::degrees_true(*degrees),
                        (true, Some(Ok(declination))) => declination.bearing(*degrees),
                        (true, Some(Err(error))) => return Err(error.clone()),
                        (true, None) => {
                            return Err(Error::new(
                                g.name.clone(),
                                "its bearing is magnetic, and no buoy has a position",
                                "give one buoy its position, or true bearings",
                            ));
                        }
                    };
                    let position = other.position.map(|p| p.along(bearing, *distance));
                    let (e, n) = bearing.unit();
                    let flat = [other.at[0] + distance.si() * e, other.at[1] + distance.si() * n];
                    (position.zip(plane.as_ref()).map_or(flat, |(p, plane)| plane.xy(p).into()), position)
                }
            };
            buoys[n] = Some(Buoy { name: g.name.clone(), role: g.role, at, position });
        }
    }
    if let Some((g, _)) = given.iter().zip(&buoys).find(|(_, b)| b.is_none()) {
        let from = if let Place::From { name, .. } = &g.place { name.as_str() } else { "" };
        return Err(Error::new(
            g.name.clone(),
            format!("it is given from \"{from}\", which lies nowhere"),
            "give that buoy a position, or call it here",
        ));
    }
    Ok(buoys.into_iter().flatten().collect())
}

/// Positions that are not one course, and which slip would explain it.
fn far_apart(given: &[Given]) -> Result<(), Error> {
    let places: Vec<(&str, Position)> =
        given.iter().filter_map(|g| if let Place::Position(p) = g.place { Some((g.name.as_str(), p)) } else { None }).collect();
    let near = |p: Position| places.iter().filter(|(_, q)| p.to(*q).0.si() <= FAR).count();
    // The buoy with the most others near it stands for the course.
    let Some(&(middle, at)) = places.iter().max_by_key(|(_, p)| near(*p)) else { return Ok(()) };
    let Some(&(name, place)) = places.iter().find(|(_, p)| at.to(*p).0.si() > FAR) else { return Ok(()) };
    let slips = [
        ("N and S may be swapped", Position::degrees(-place.latitude(), place.longitude())),
        ("E and W may be swapped", Position::degrees(place.latitude(), -place.longitude())),
        ("both letters may be swapped", Position::degrees(-place.latitude(), -place.longitude())),
        ("latitude and longitude may be swapped", Position::degrees(place.longitude(), place.latitude())),
    ];
    let slip = slips.into_iter().find(|(_, p)| p.as_ref().is_ok_and(|p| at.to(*p).0.si() <= FAR)).map_or("a digit may be wrong", |s| s.0);
    Err(Error::new(
        name,
        format!("it is {:.0} km from {middle}; {slip}", at.to(place).0.si() / 1000.0),
        "read the position off again; buoys of one course lie within 10 km",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Angle;

    fn east(degrees: f64) -> impl Fn(Position) -> Result<Declination, Error> {
        move |_| Ok(Declination { angle: Angle::degrees(degrees), sd: Angle::degrees(0.4) })
    }

    #[test]
    fn bearings_and_distances_are_laid_off() {
        let text = "windward: 52 30.5 N 5 07.2 E # orange\n\nleeward: 180 T, 400 m from windward\npin = 270 M, 0.02 nm from Leeward\n";
        let buoys = placed(&Given::list(text).unwrap(), &east(10.0)).unwrap();
        let position = |n: usize| buoys[n].position.unwrap();
        let (length, bearing) = position(0).to(position(1));
        assert!((length.si() - 400.0).abs() < 1e-6 && (bearing.in_degrees() - 180.0).abs() < 1e-6);
        let (length, bearing) = position(1).to(position(2));
        assert!((length.si() - 37.04).abs() < 1e-6 && (bearing.in_degrees() - 280.0).abs() < 1e-6);
        let here = placed(&Given::list("boat: here\nwindward: 45 T, 100 m from boat").unwrap(), &east(0.0)).unwrap();
        assert!((here[1].at[0] - 70.710_678).abs() < 1e-5 && here[1].position.is_none());
    }

    #[test]
    fn what_cannot_be_placed_says_why() {
        let said = |text: &str| Given::list(text).and_then(|g| placed(&g, &east(0.0))).unwrap_err().to_string();
        assert!(said("windward: 52 30.5 N 5 07.2 E\nleeward: 52 30.3 S 5 07.2 E").contains("N and S may be swapped"));
        assert!(said("windward: 52 30.5 N 5 07.2 E\npin: 52 30.5 N 5 07.3 E\nleeward: 52 30.3 N 5 07.2 W").contains("leeward: it is"));
        assert!(said("windward: 52 30.5 N 5 07.2 E\nleeward: 5.12, 52.5").contains("latitude and longitude"));
        assert!(said("windward: 52 30.5 N 5 07.2 E\nleeward: 58 30.5 N 5 07.2 E").contains("a digit may be wrong"));
        assert!(said("windward 52 30.5 N").contains("line 1: \"windward 52 30.5 N\": there is no :"));
        assert!(said("a: 10 T, 5 m from b\nb: 10 T, 5 m from a").contains("lies nowhere"));
        assert!(said("a: here\na: here").contains("two buoys"));
        assert!(said("a: here\nb: 10 M, 5 m from a").contains("magnetic, and no buoy has a position"));
        assert!(said("a: here\nb: 10, 5 m from a").contains("true or magnetic"));
        assert!(said("a: here\nb: 400 T, 5 m from a").contains("go to 360"));
        assert!(said("a: here\nb: 40 T, 5 from a").contains("has no unit"));
    }
}
