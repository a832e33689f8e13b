//! A course as it is kept, laid out: buoys from lines or files, or a sketch, with how far the compass points off there.

use jiff::civil::Date;
use measure::{Length, Position, Warned, Warning};
use regatta::Error;
use regatta::course::{Course, CourseKind, Given, Order, Place, Role, Side, Sketch, placed, position};
use regatta::declination::{Declination, declination};
use squad::fact::race::Course as CourseFact;
use track::TrackError;
use track::debrief::{GivenMark, MarkKind};

use super::wind::Compass;

/// The buoys of a file of waypoints or points.
///
/// # Errors
/// When the content is neither GPX nor GeoJSON, or holds no waypoint.
pub fn of_file(name: &str, bytes: &[u8]) -> Result<Warned<Vec<Given>>, TrackError> {
    let read = track::read::marks(name, bytes)?;
    let buoys = read.value.into_iter().map(|mark| {
        let kind = mark.kind.map(|k| if k == MarkKind::Windward { Role::Windward } else { Role::Leeward });
        let buoy = Given::at(&mark.name, mark.position);
        Given { role: buoy.role.or(kind), ..buoy }
    });
    Ok(Warned::new(buoys.collect(), read.warnings))
}

/// How far the compass points off at a place on a day.
///
/// # Errors
/// A day outside the model's years.
pub fn points_off(at: Position, date: Date) -> Result<Declination, Error> {
    let year = f64::from(date.year()) + f64::from(date.day_of_year() - 1) / f64::from(date.days_in_year());
    declination(at, Length::metres(0.0), year).map(|d| d.value)
}

/// A buoy that lies on the earth as a line to be read again.
#[must_use]
pub fn line(name: &str, role: Option<Role>, at: Position) -> String {
    let plain: String = name.chars().map(|c| if c.is_control() || ":#".contains(c) { ' ' } else { c }).collect();
    let named = match (role, Role::of(&plain)) {
        (Some(Role::Windward), None) => format!("windward {plain}"),
        (Some(Role::Leeward), None) => format!("leeward {plain}"),
        _ => plain,
    };
    format!("{}: {:.6} {:.6}", named.trim(), at.latitude(), at.longitude())
}

/// The kind of a word.
#[must_use]
pub fn kind(word: &str) -> Option<CourseKind> {
    CourseKind::ALL.into_iter().find(|kind| kind.word() == word)
}

/// The compass of a course as it is kept: that of its first buoy, or of its sketch's place; none of a course that lies nowhere.
///
/// # Errors
/// Lines that are no buoys, a place that is none, a day outside the model's years.
pub fn compass(fact: &CourseFact, date: Date) -> Result<Compass, Error> {
    let first = if fact.sketch.is_some() {
        Some(fact.place.as_str()).filter(|p| !p.trim().is_empty()).map(position).transpose()?
    } else {
        Given::list(&fact.buoys_text)?.iter().find_map(|g| if let Place::Position(p) = g.place { Some(p) } else { None })
    };
    Ok(Compass { declination: first.map(|at| points_off(at, date)).transpose()? })
}

/// A course as it is kept, for boats of a length (m), with the wind from somewhere.
///
/// # Errors
/// What is no course, in a coach's words.
pub fn course(fact: &CourseFact, date: Date, wind_from: measure::Bearing, boat: f64) -> Result<Warned<Course>, Error> {
    let names = fact.order_text.split([',', '\n']).map(str::trim).filter(|n| !n.is_empty()).map(str::to_owned).collect();
    let side = if fact.starboard { Side::Starboard } else { Side::Port };
    let laps = fact.laps.map(|laps| laps as usize);
    let Some(sketch) = &fact.sketch else {
        let order = Order { kind: fact.kind_text.as_deref().and_then(kind), laps, side, names };
        return Course::of(&Given::list(&fact.buoys_text)?, &|at| points_off(at, date), &order);
    };
    let drawn = kind(sketch).ok_or_else(|| Error {
        place: "sketch".to_owned(),
        found: format!("\"{sketch}\" is no kind of course"),
        remedy: format!("choose {}", CourseKind::ALL.map(CourseKind::word).join(", ")),
    })?;
    let place = Some(fact.place.as_str()).filter(|p| !p.trim().is_empty()).map(position).transpose()?;
    let axis = fact.axis_rad.map_or(wind_from, measure::Bearing::radians_true);
    let (beat, line, boat) = (Length::metres(fact.beat_m), Length::metres(fact.line_m), Length::metres(boat));
    Sketch { kind: drawn, axis, beat, line, boat, gate: fact.with_gate, offset: fact.with_offset, place }.course(&Order {
        kind: None,
        laps,
        side,
        names: Vec::new(),
    })
}

/// The buoys that boats turn round between a beat and a course off the wind, where they lie on the earth: what a debrief of that day can rest on.
/// None of a sketch, which nobody laid. Ends of lines are no course marks, and a wing is rounded from reach to reach.
///
/// # Errors
/// Lines that are no buoys.
pub fn to_round(fact: &CourseFact, date: Date) -> Result<Vec<GivenMark>, Error> {
    if fact.sketch.is_some() || fact.buoys_text.trim().is_empty() {
        return Ok(Vec::new());
    }
    let buoys = placed(&Given::list(&fact.buoys_text)?, &|at| points_off(at, date))?;
    let kind = |role: Option<Role>| match role {
        Some(Role::Windward | Role::OuterWindward | Role::Offset) => Some(Some(MarkKind::Windward)),
        Some(Role::Leeward | Role::OuterLeeward | Role::Gate) => Some(Some(MarkKind::Leeward)),
        Some(Role::Pin | Role::CommitteeBoat | Role::Finish | Role::Wing) => None,
        None => Some(None),
    };
    Ok(buoys.into_iter().filter_map(|b| Some(GivenMark { kind: kind(b.role)?, position: b.position?, name: b.name })).collect())
}

/// What was doubted, in words.
#[must_use]
pub fn doubts(warnings: &[Warning]) -> Vec<String> {
    warnings.iter().map(ToString::to_string).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sketched(kind: &str) -> CourseFact {
        CourseFact {
            day: squad::Id::of(1),
            buoys_text: String::new(),
            sketch: Some(kind.to_owned()),
            axis_rad: None,
            beat_m: 400.0,
            line_m: 40.0,
            with_gate: true,
            with_offset: false,
            place: "54 36 N 6 24 W".to_owned(),
            kind_text: None,
            laps: None,
            order_text: String::new(),
            starboard: false,
            wind_from_rad: None,
            wind_ms: None,
            wind_height_m: None,
            shift_rad: 0.1,
            current_toward_rad: None,
            current_ms: 0.0,
            practice_signals: false,
        }
    }

    const DATE: Date = jiff::civil::date(2026, 6, 14);

    #[test]
    fn a_debrief_rests_on_laid_buoys_that_are_rounded() {
        assert!(to_round(&sketched("triangle"), DATE).unwrap().is_empty());
        let buoys_text = "windward: 54.6052 -6.4088\nleeward: 180 T, 350 m from windward\npin: 54.6020 -6.4088\nwing: 54.6040 -6.4120\nyellow: 54.6 -6.4";
        let laid = CourseFact { sketch: None, buoys_text: buoys_text.to_owned(), ..sketched("triangle") };
        let found = to_round(&laid, DATE).unwrap();
        let told: Vec<_> = found.iter().map(|m| (m.name.as_str(), m.kind)).collect();
        assert_eq!(told, [("windward", Some(MarkKind::Windward)), ("leeward", Some(MarkKind::Leeward)), ("yellow", None)]);
        // 350 m south of the windward one: a minute of latitude is 1852 m.
        assert!((found[0].position.latitude() - found[1].position.latitude() - 350.0 / 1852.0 / 60.0).abs() < 1e-5, "{found:?}");
        assert!(to_round(&CourseFact { buoys_text: "windward".to_owned(), ..laid }, DATE).is_err());
    }

    #[test]
    fn a_sketch_points_into_the_wind_and_a_buoy_is_read_again() {
        let wind = measure::Bearing::degrees_true(330.0);
        let drawn = course(&sketched("windward-leeward"), DATE, wind, 2.4).unwrap().value;
        assert!((drawn.legs[0].bearing.in_degrees() - 330.0).abs() < 0.1);
        assert!(compass(&sketched("triangle"), DATE).unwrap().declination.is_some());
        assert!(course(&sketched("figure of eight"), DATE, wind, 2.4).unwrap_err().to_string().contains("no kind of course"));
        let at = Position::degrees(54.605_2, -6.408_8).unwrap();
        let text = line("yellow: #3", Some(Role::Windward), at);
        let again = &Given::list(&text).unwrap()[0];
        assert_eq!(again.role, Some(Role::Windward));
        assert!(matches!(again.place, Place::Position(p) if (p.latitude() - 54.605_2).abs() < 1e-6), "{text}");
    }
}
