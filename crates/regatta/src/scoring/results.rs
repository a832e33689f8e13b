//! The results sheet: one row for each boat in each race, `race,boat,place,code,points`; or a column for each race (`wide`).
//!
//! Columns in any order; a semicolon or a tab may stand for the comma. A row that says who did what twice, or something
//! that cannot be, refuses the sheet, since every other boat's score would hang on a guess.

use std::collections::{HashMap, HashSet};

use measure::{Warned, Warning};

use super::code::Code;
use super::decimal::points;
use super::race::{Decided, Finish};
use super::series::{Part, Race};
use super::wide::Sheet;
use crate::Error;

/// Where the columns are.
struct Columns {
    race: usize,
    boat: usize,
    place: Option<usize>,
    code: Option<usize>,
    points: Option<usize>,
}

/// The boats of the series, who among them has left it, and who raced apart.
pub(crate) struct Entered<'a> {
    pub(crate) boats: &'a [String],
    pub(crate) left: &'a [String],
    pub(crate) fleets: &'a [Part],
}

impl Entered<'_> {
    /// Whether a boat is missed in a race without her: she has not left, and it was her fleet's race.
    fn misses(&self, boat: usize, finishes: &[Option<(Finish, u64)>]) -> bool {
        let raced = |fleet: &Part| fleet.boats.iter().any(|&at| finishes[at].is_some());
        finishes[boat].is_none()
            && !self.left.contains(&self.boats[boat])
            && self.fleets.iter().find(|fleet| fleet.boats.contains(&boat)).is_none_or(raced)
    }
}

/// The races' names as they first appear, and for each what every boat did and on which line it stands.
pub(super) type Rows = (Vec<String>, Vec<Vec<Option<(Finish, u64)>>>);

/// The boats a sheet has results of and that are not among these entries, once each, in the sheet's order and words. Blank labels are left out.
#[must_use]
pub fn strangers(text: &str, entries: &[String]) -> Vec<String> {
    let text = text.trim_start_matches('\u{feff}');
    let named = match Sheet::of(text) {
        Some(sheet) => sheet.boats(entries),
        None => named(text),
    };
    named.into_iter().filter(|label| !entries.contains(label)).collect()
}

/// The boats of a sheet with a row for each boat in each race, once each.
fn named(text: &str) -> Vec<String> {
    let header = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter(header)).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let Some(boat) = reader.headers().ok().and_then(|names| names.iter().position(|name| name.eq_ignore_ascii_case("boat"))) else {
        return Vec::new();
    };
    let mut found: Vec<String> = Vec::new();
    let mut known = HashSet::new();
    for label in reader.records().flatten().filter_map(|row| row.get(boat).map(str::to_owned)).filter(|label| !label.is_empty()) {
        if known.insert(label.clone()) {
            found.push(label);
        }
    }
    found
}

/// Reads a sheet's races in order: by number where all are numbers, else as they first appear.
pub(crate) fn read(file: &str, text: &str, entered: &Entered<'_>) -> Result<Warned<Vec<Race>>, Error> {
    let text = text.trim_start_matches('\u{feff}');
    let mut warnings = Vec::new();
    let (names, rows) = match Sheet::of(text) {
        Some(sheet) => sheet.read(file, entered, &mut warnings)?,
        None => long(file, text, entered, &mut warnings)?,
    };
    let mut races: Vec<Race> = Vec::with_capacity(names.len());
    for (name, finishes) in names.into_iter().zip(rows) {
        let missed = (0..finishes.len()).filter(|&boat| entered.misses(boat, &finishes));
        let missing: Vec<&str> = missed.map(|boat| entered.boats[boat].as_str()).collect();
        if !missing.is_empty() {
            warnings.push(Warning::new(format!("{file}, race {name}"), format!("no result for {}; scored DNC", missing.join(", "))));
        }
        races.push(Race { name, finishes: finishes.into_iter().map(|f| f.map_or(Finish::ABSENT, |(finish, _)| finish)).collect() });
    }
    if races.iter().all(|race| race.name.parse::<u32>().is_ok()) {
        races.sort_by_key(|race| race.name.parse::<u32>().unwrap_or_default());
    }
    Ok(Warned::new(races, warnings))
}

/// Reads a sheet with a row for each boat in each race.
fn long(file: &str, text: &str, entered: &Entered<'_>, warnings: &mut Vec<Warning>) -> Result<Rows, Error> {
    let header = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter(header)).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let headers = reader.headers().map_err(|error| Error::new(file, error.to_string(), "save the sheet as CSV in UTF-8"))?.clone();
    let columns = columns(file, &headers, warnings)?;

    let index: HashMap<&str, usize> = entered.boats.iter().enumerate().map(|(at, boat)| (boat.as_str(), at)).collect();
    let mut names: Vec<String> = Vec::new();
    let mut found: HashMap<String, usize> = HashMap::new();
    let mut rows: Vec<Vec<Option<(Finish, u64)>>> = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| Error::new(file, error.to_string(), "save the sheet as CSV in UTF-8"))?;
        let line = line(text, record.position());
        let at = |key: &str| format!("{file} line {line}, {key}");
        if record.iter().all(str::is_empty) {
            continue;
        }
        if record.len() > headers.len() {
            return Err(Error::new(
                at("row"),
                format!("{} fields under {} headings", record.len(), headers.len()),
                "put a value with a comma in it between quotes",
            ));
        }
        let field = |column: usize| record.get(column).unwrap_or_default();
        let (race, label) = (field(columns.race), field(columns.boat));
        if race.is_empty() || label.is_empty() {
            return Err(Error::new(at("race and boat"), "one of them is blank", "name the race and the boat in every row"));
        }
        let Some(&boat) = index.get(label) else {
            let nearest = nearest(label, entered.boats);
            return Err(Error::new(
                at("boat"),
                format!("{label:?} is not among the entries"),
                format!("write {nearest:?} if it is she, or add her to entries"),
            ));
        };
        let race = *found.entry(race.to_owned()).or_insert_with(|| {
            names.push(race.to_owned());
            rows.push(vec![None; entered.boats.len()]);
            names.len() - 1
        });
        let optional = |column: Option<usize>| column.map_or("", field);
        let Some(finish) = finish(&at, optional(columns.place), optional(columns.code), optional(columns.points), warnings)? else {
            continue;
        };
        if let Some((first, before)) = &rows[race][boat] {
            return Err(Error::new(
                at("boat"),
                format!("{label} has {} in race {} and had {} on line {before}", finish.words(), names[race], first.words()),
                "keep the right one of the two rows",
            ));
        }
        rows[race][boat] = Some((finish, line));
    }

    Ok((names, rows))
}

/// On which line of a text a row of it begins: blank lines before it belong to no row.
pub(super) fn line(text: &str, position: Option<&csv::Position>) -> u64 {
    let Some(at) = position else { return 0 };
    let from = usize::try_from(at.byte()).ok().and_then(|byte| text.as_bytes().get(byte..)).unwrap_or_default();
    at.line() + from.iter().take_while(|b| b.is_ascii_whitespace()).filter(|b| **b == b'\n').count() as u64
}

/// What parts the fields of a sheet, by its first line.
pub(super) fn delimiter(first: &str) -> u8 {
    [b';', b'\t'].into_iter().find(|mark| first.bytes().any(|b| b == *mark)).unwrap_or(b',')
}

fn columns(file: &str, headers: &csv::StringRecord, warnings: &mut Vec<Warning>) -> Result<Columns, Error> {
    let place = |wanted: &str| headers.iter().position(|name| name.eq_ignore_ascii_case(wanted));
    let needed = |wanted: &str| {
        place(wanted).ok_or_else(|| {
            Error::new(
                format!("{file} line 1"),
                format!("no column {wanted:?} among {:?}", headers.iter().collect::<Vec<_>>()),
                "the first line names the columns: race,boat,place,code,points for a row for each boat in each race, or boat,R1,R2 for a column for each race",
            )
        })
    };
    let columns =
        Columns { race: needed("race")?, boat: needed("boat")?, place: place("place"), code: place("code"), points: place("points") };
    if columns.place.is_none() && columns.code.is_none() {
        return Err(Error::new(format!("{file} line 1"), "neither a column place nor a column code", "give at least one of them"));
    }
    for name in
        headers.iter().filter(|name| !["race", "boat", "place", "code", "points"].iter().any(|known| name.eq_ignore_ascii_case(known)))
    {
        warnings.push(Warning::new(format!("{file} line 1"), format!("column {name:?} was not read")));
    }
    Ok(columns)
}

/// What a row says a boat did; `None`, told in a warning, when it says nothing.
fn finish(
    at: &dyn Fn(&str) -> String,
    place: &str,
    code: &str,
    decided: &str,
    warnings: &mut Vec<Warning>,
) -> Result<Option<Finish>, Error> {
    // A code written under place is as clear as one written under code.
    let (place, code) = if code.is_empty() && Code::of(place).is_some() { ("", place) } else { (place, code) };
    let place = match place {
        "" => None,
        text => match text.parse::<u32>() {
            Ok(number) if number > 0 => Some(number),
            _ => {
                let remedy = if text.chars().any(|c| c.is_ascii_alphabetic()) {
                    format!("write a code under code; the nearest is {}", Code::nearest(text))
                } else {
                    "a place is a whole number from 1; boats that tie have the same one".to_owned()
                };
                return Err(Error::new(at("place"), format!("{text:?} is not a place"), remedy));
            }
        },
    };
    let code = match code {
        "" => None,
        text => match Code::of(text) {
            Some(code) => Some(code),
            None => {
                return Err(Error::new(
                    at("code"),
                    format!("{text:?} is not a scoring code"),
                    format!("the nearest is {}; known are {}", Code::nearest(text), Code::ALL.map(Code::letters).join(" ")),
                ));
            }
        },
    };
    if place.is_none() && code.is_none() {
        warnings.push(Warning::new(at("place and code"), "both are blank; the row was not read"));
        return Ok(None);
    }
    let takes_points = matches!(code, Some(Code::Rdg | Code::Dpi));
    let decided = match decided {
        "" if code == Some(Code::Rdg) => {
            warnings.push(Warning::new(
                at("points"),
                "redress without points was read as the average of her other races (A9(a)); write \"others\" to say so, \"before\" for the races before, or the points decided",
            ));
            Some(Decided::MeanOfOthers)
        }
        "" => None,
        text if !takes_points => {
            warnings.push(Warning::new(at("points"), format!("{text:?} was not read: points are worked out, but for RDG and DPI")));
            None
        }
        text if text.eq_ignore_ascii_case("others") => Some(Decided::MeanOfOthers),
        text if text.eq_ignore_ascii_case("before") => Some(Decided::MeanBefore),
        text => match points(text) {
            Some(value) => {
                if text.contains(',') {
                    warnings.push(Warning::new(at("points"), format!("{text:?} was read as {value}")));
                }
                Some(Decided::Points(value))
            }
            None => {
                return Err(Error::new(
                    at("points"),
                    format!("{text:?} is no number of points"),
                    "give the points decided for her; for redress also \"others\" or \"before\" for an average",
                ));
            }
        },
    };
    let finish = Finish { place, code, decided };
    finish.check().map_err(|(found, remedy)| Error::new(at("place and code"), found, remedy))?;
    Ok(Some(finish))
}

/// The label that looks most like this one.
pub(crate) fn nearest<'a>(label: &str, among: &'a [String]) -> &'a str {
    among.iter().min_by_key(|known| strsim::osa_distance(&label.to_lowercase(), &known.to_lowercase())).map_or("", String::as_str)
}
