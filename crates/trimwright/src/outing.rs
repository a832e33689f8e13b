//! An outing's recorders' files: read, cleaned and debriefed, and what a page draws of them.

use std::collections::BTreeSet;
use std::io::Read;

use boat::balance::{Boat, Tack};
use boat::crew::{Sailor as Body, Skill};
use boat::polar::polar;
use boat::setup::Request;
use jiff::tz::TimeZone;
use measure::angle::DEGREE;
use measure::wind::METER_HEIGHT;
use measure::{Length, LocalPlane, Polar, Speed, Warning};
use squad::fact::sailor::Sailor;
use squad::{Crew, Id, Moment, SquadError, Store};
use track::clean::{clean, plane};
use track::debrief::{Asked, Debrief, debrief};
use track::read::{Limits, each};
use track::{Smooth, Track};

use crate::day::Day;

/// Winds (m/s at 2 m) of the polar that the wind's speed is read from.
pub const WINDS: [f64; 6] = [1.5, 2.5, 4.0, 5.5, 7.5, 10.0];
/// Courses of that polar, degrees.
pub const ANGLES: [f64; 10] = [40.0, 45.0, 52.0, 62.0, 75.0, 90.0, 110.0, 130.0, 150.0, 175.0];

/// A track, cleaned in a plane of its own.
#[derive(Debug)]
pub struct Found {
    /// The file it came in.
    pub file: String,
    /// The file's format.
    pub format: String,
    /// Points in the file.
    pub points: usize,
    /// The track, a state each second.
    pub smooth: Smooth,
    /// Its plane.
    pub plane: LocalPlane,
    /// What was dropped or doubted.
    pub warnings: Vec<Warning>,
}

/// The tracks of one file, and why it gave no more. One raw track is in memory at a time.
pub fn of_file(name: &str, bytes: impl Read, timezone: Option<&TimeZone>) -> (Vec<Found>, Vec<Warning>) {
    let (mut found, mut warnings) = (Vec::new(), Vec::new());
    let mut take = |track: Track| match cleaned(name, &track) {
        Ok(track) => found.push(track),
        Err(why) => warnings.push(why),
    };
    match each(name, bytes, timezone, &Limits::default(), &mut take) {
        Ok(said) => warnings.extend(said),
        Err(error) => warnings.push(Warning::new("", error.to_string())),
    }
    (found, warnings)
}

fn cleaned(file: &str, track: &Track) -> Result<Found, Warning> {
    let empty = || Warning::new(track.name.clone(), "none of its points can be used");
    let plane = plane(&[track]).ok_or_else(empty)?;
    let cleaned = clean(track, &plane).map_err(|error| Warning::new("", error.to_string()))?;
    Ok(Found {
        file: file.to_owned(),
        format: track.format.clone(),
        points: track.fixes.len(),
        smooth: cleaned.value,
        plane,
        warnings: cleaned.warnings,
    })
}

/// Two tracks of one name get a number each, so that every answer says whose it is.
pub fn name_apart(found: &mut [Found]) {
    for i in 0..found.len() {
        let name = found[i].smooth.name.clone();
        let before = found[..i].iter().filter(|f| f.smooth.name == name).count();
        if before > 0 {
            let free = (before + 1..).map(|n| format!("{name} ({n})")).find(|n| found.iter().all(|f| f.smooth.name != *n));
            found[i].smooth.name = free.unwrap_or(name);
        }
    }
}

/// By what a recorder is known: its track's name without dates and numbers, which change from outing to outing.
#[must_use]
pub fn mark_of(name: &str) -> String {
    let words: Vec<String> = name
        .split(|c: char| !c.is_alphabetic())
        .filter(|w| w.chars().count() > 1)
        .map(str::to_lowercase)
        .filter(|w| !["gpx", "fit", "tcx", "csv", "nmea", "kml", "track", "activity"].contains(&w.as_str()))
        .collect();
    if words.is_empty() { name.trim().to_lowercase().chars().take(40).collect() } else { words.join(" ").chars().take(40).collect() }
}

/// By which mark a track's recorder is known, and whose it is.
pub type Known = (String, Option<Id<Sailor>>);

/// Calls every track by its sailor where that is known; answers by which mark each track's recorder is known, and whose it is.
///
/// # Errors
/// When the store cannot be read.
pub fn named(store: &Store, found: &mut [Found]) -> Result<Vec<Known>, SquadError> {
    let mut recorders = Vec::with_capacity(found.len());
    let mut taken = BTreeSet::new();
    for one in found.iter_mut() {
        let mark = mark_of(&one.smooth.name);
        let whose = store.whose(&mark, Moment::of_millis(one.smooth.start.saturating_mul(1000)))?;
        // A recorder's mark that two tracks of one outing bear tells them not apart.
        let whose = whose.filter(|id| taken.insert(*id));
        if let Some(sailor) = whose.map(|id| store.get(id)).transpose()?.flatten() {
            one.smooth.name = sailor.fact.label;
        }
        recorders.push((mark, whose));
    }
    name_apart(found);
    Ok(recorders)
}

/// Mass of the sailor of a class's speeds where nobody's is known, kg. Assumed: the middle of those who race small boats alone.
const ANYBODY: f64 = 42.0;

/// Whose speeds the wind's speed is read from. A heavier sailor's boat needs another wind for the same speed, so it goes with the figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SpeedsOf {
    /// No speeds were to be had.
    #[default]
    Nobody,
    /// A polar that was given.
    Polar,
    /// A mass that was given.
    Given,
    /// The middle of the sailors whose tracks these are.
    Sailed,
    /// The middle of the squad.
    Squad,
    /// A mass assumed.
    Assumed,
}

impl SpeedsOf {
    /// What the wind's speed is read from, in words; no mass is in them.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nobody => "no boat's speeds were given or solved",
            Self::Polar => "the polar given with --polar; another polar gives another wind",
            Self::Given => {
                "the class's speeds with a sailor of the mass given with --mass; another mass gives another wind for the same tracks"
            }
            Self::Sailed => {
                "the class's speeds with a sailor in the middle of those who sailed; another mass gives another wind for the same tracks"
            }
            Self::Squad => {
                "the class's speeds with a sailor in the middle of the squad, since nobody's of these tracks is known; another mass gives another \
                 wind for the same tracks"
            }
            Self::Assumed => {
                "the class's speeds with a sailor of an assumed mass, since nobody's is known; another mass gives another wind for the same tracks"
            }
        }
    }
}

/// The sailor whose speeds tell the wind's: in the middle of those of the squad whose tracks these are, else of the squad, else assumed. The
/// pages and the commands ask for the same one.
#[must_use]
pub fn middle(crews: &[Crew], found: &[Found]) -> (Body, SpeedsOf) {
    let sailed = |crew: &&Crew| found.iter().any(|f| f.smooth.name == crew.sailor.label);
    let masses = |crews: Vec<&Crew>| {
        let mut masses: Vec<f64> = crews.into_iter().map(|crew| crew.sailor.body.mass).collect();
        masses.sort_by(f64::total_cmp);
        masses.get(masses.len() / 2).copied()
    };
    let those = masses(crews.iter().filter(sailed).collect()).map(|mass| (mass, SpeedsOf::Sailed));
    let (mass, of) = those.or_else(|| Some((masses(crews.iter().collect())?, SpeedsOf::Squad))).unwrap_or((ANYBODY, SpeedsOf::Assumed));
    (Body::of(mass, Skill::default()), of)
}

/// A boat's speeds with a sailor, solved: what the wind's speed is read from. `None` where it was stopped; none inside where no course has a
/// state. `step` is told each course solved and answers whether to go on.
pub fn class_polar(boat: &Boat, sailor: &Body, day: &Day, step: &(impl Fn() -> bool + Sync)) -> Option<Option<Polar>> {
    let conditions = day.conditions(1.0, Tack::Starboard);
    let request = Request { boat, sailor: *sailor, conditions, gusts: 1.0, reach: None, bands: false };
    let winds = WINDS.map(|w| day.law.profile(Speed::metres_per_second(w), Length::metres(METER_HEIGHT)));
    let solved = polar(&request, &winds, &ANGLES.map(|a| a * DEGREE), step)?;
    let rows: Vec<_> = solved.courses.iter().filter_map(|c| c.speed.ok().map(|speed| (c.wind, c.angle / DEGREE, speed))).collect();
    Some(Polar::rows(&rows))
}

/// The tracks in one plane: that of the track with most points. `None` where there is no track.
#[must_use]
pub fn together(found: Vec<Found>) -> Option<(Vec<Smooth>, LocalPlane)> {
    let plane = found.iter().max_by_key(|f| f.points).map(|f| f.plane)?;
    Some((found.into_iter().map(|one| one.smooth.moved(&one.plane, &plane)).collect(), plane))
}

/// Where a boat was, each second.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trail {
    /// UTC seconds of the first place.
    pub start: i64,
    /// Metres east and north; not a number where nothing was recorded.
    pub places: Vec<[f32; 2]>,
}

impl Trail {
    fn of(smooth: &Smooth) -> Self {
        let place = |i: usize| if smooth.gap[i] { [f32::NAN; 2] } else { [smooth.x[i] as f32, smooth.y[i] as f32] };
        Self { start: smooth.start, places: (0..smooth.len()).map(place).collect() }
    }

    /// The places between two times (UTC seconds), each with its time; a gap is left out.
    pub fn between(&self, from: f64, to: f64) -> impl Iterator<Item = (f64, [f64; 2])> + '_ {
        let index = |time: f64| (time - self.start as f64).clamp(0.0, self.places.len() as f64) as usize;
        let (from, to) = (index(from), index(to + 1.0));
        self.places
            .get(from..to.max(from))
            .unwrap_or(&[])
            .iter()
            .enumerate()
            .filter(|(_, p)| p[0].is_finite())
            .map(move |(i, p)| ((self.start + (from + i) as i64) as f64, [f64::from(p[0]), f64::from(p[1])]))
    }
}

/// An outing debriefed.
#[derive(Debug)]
pub struct Outing {
    /// What was told.
    pub answer: Debrief,
    /// Where each boat was, in the order of its boats.
    pub trails: Vec<Trail>,
}

/// Debriefs an outing whose tracks lie in one plane, and keeps where each boat was.
#[must_use]
pub fn outing(tracks: Vec<Smooth>, plane: &LocalPlane, asked: &Asked<'_>) -> Outing {
    let trails = tracks.iter().map(Trail::of).collect();
    Outing { answer: debrief(tracks, plane, asked), trails }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trail_is_cut_by_time_and_knows_its_gaps() {
        let mut trail = Trail { start: 100, places: (0..10).map(|i| [i as f32, 0.0]).collect() };
        trail.places[4] = [f32::NAN; 2];
        let cut: Vec<f64> = trail.between(102.0, 106.0).map(|p| p.0).collect();
        assert_eq!(cut, [102.0, 103.0, 105.0, 106.0]);
        assert_eq!(trail.between(0.0, 1000.0).count(), 9);
        assert_eq!(trail.between(300.0, 200.0).count(), 0);
    }

    /// Whose speeds tell the wind's: those who sailed before the squad, the squad before anybody; and no words of it hold a figure.
    #[test]
    fn the_middle_is_of_those_who_sailed() {
        let squad: String = [("Ada", 30), ("Ben", 40), ("Cleo", 50), ("Dan", 60)]
            .map(|(name, mass)| format!("[[sailor]]\nsailor = \"{name}\"\nboat = \"{name}'s\"\nmass = \"{mass} kg\"\nskill = \"races\"\n"))
            .concat();
        let crews = squad::read("squad.toml", squad.as_bytes()).unwrap().value.crews;
        let gpx = |name: &str| {
            let points: String = (0..60)
                .map(|n| {
                    format!("<trkpt lat=\"54.0\" lon=\"{:.6}\"><time>2026-06-14T12:00:{n:02}Z</time></trkpt>", -6.0 + f64::from(n) * 2e-5)
                })
                .collect();
            format!("<gpx version=\"1.1\"><trk><name>{name}</name><trkseg>{points}</trkseg></trk></gpx>")
        };
        let found = |names: &[&str]| -> Vec<Found> { names.iter().flat_map(|name| of_file(name, gpx(name).as_bytes(), None).0).collect() };
        let of = |names: &[&str], crews: &[Crew]| {
            let (sailor, of) = middle(crews, &found(names));
            (sailor.mass, of)
        };
        assert_eq!(of(&["Ada", "a stranger"], &crews), (30.0, SpeedsOf::Sailed));
        assert_eq!(of(&["Ada", "Dan", "Cleo"], &crews), (50.0, SpeedsOf::Sailed));
        assert_eq!(of(&["a stranger"], &crews), (50.0, SpeedsOf::Squad));
        assert_eq!(of(&["Ada"], &[]), (ANYBODY, SpeedsOf::Assumed));
        use SpeedsOf::{Assumed, Given, Nobody, Polar, Sailed, Squad};
        for of in [Nobody, Polar, Given, Sailed, Squad, Assumed] {
            assert!(!of.words().contains(|c: char| c.is_ascii_digit()), "{of:?}");
        }
    }

    #[test]
    fn a_recorder_is_known_from_one_outing_to_the_next() {
        assert_eq!(mark_of("2026-06-14_Wren.gpx"), "wren");
        assert_eq!(mark_of("wren-2026-06-21 (2)"), "wren");
        assert_eq!(mark_of("Blue watch 3"), "blue watch");
        assert_eq!(mark_of("20260614"), "20260614");
    }
}
