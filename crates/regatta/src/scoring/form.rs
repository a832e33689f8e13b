//! The series file: TOML beside its sheets of results.
//!
//! ```toml
//! name = "spring series"
//! edition = "2025-2028"            # Racing Rules of Sailing
//! results = "results.csv"          # or several files, for a season
//! entries = ["A1", "A2"]           # or a file with a boat on each line, or with a column boat, or a sheet with a column for each race
//! exclusions = { from_races = [4, 8], exclude = [1, 2] }   # or a number; without it one, from the second race on
//! starting_area_rule = false       # A5.3
//! withdrawn = ["A2"]               # boats that have left: DNC without a warning; true: the series is off
//! fleets = { gold = ["A1"], silver = ["A2"] }              # boats that raced apart, each scored by itself
//! divisions = { junior = ["A1"] }  # boats ranked once more among themselves; where there are fleets, within each
//! division_places = "overall"      # by their scores among all, or "own": places counted among themselves
//! ```

use std::collections::{BTreeMap, HashSet};
use std::fmt::Display;

use measure::{Warned, Warning};
use serde::Deserialize;
use toml::Spanned;

use super::code::Edition;
use super::results::{self, Entered, nearest};
use super::series::{Exclusions, Part, Series};
use super::wide::Sheet;
use crate::Error;

/// What the file is called in messages; the caller knows its name.
const FILE: &str = "series file";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Form {
    name: String,
    edition: Spanned<String>,
    results: Spanned<Labels>,
    entries: Spanned<Labels>,
    exclusions: Option<Spanned<Excluded>>,
    #[serde(default)]
    starting_area_rule: bool,
    withdrawn: Option<Spanned<Withdrawn>>,
    #[serde(default)]
    fleets: BTreeMap<String, Spanned<Vec<String>>>,
    #[serde(default)]
    divisions: BTreeMap<String, Spanned<Vec<String>>>,
    division_places: Option<Spanned<String>>,
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "a text or a list of texts was wanted")]
enum Labels {
    One(String),
    Many(Vec<String>),
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "a number was wanted, or { from_races = [4, 8], exclude = [1, 2] }")]
enum Excluded {
    Always(usize),
    Rising { from_races: Vec<usize>, exclude: Vec<usize> },
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "true, or a list of boats, was wanted")]
enum Withdrawn {
    Series(bool),
    Boats(Vec<String>),
}

/// Line numbers of a text.
struct Lines<'a>(&'a str);

impl Lines<'_> {
    fn at(&self, byte: usize) -> usize {
        self.0.bytes().take(byte).filter(|b| *b == b'\n').count() + 1
    }
    fn place<T>(&self, key: &str, value: &Spanned<T>) -> String {
        format!("{FILE} line {}, {key}", self.at(value.span().start))
    }
}

/// The keys of a series file, each as it is written.
const KEYS: [(&str, &str); 10] = [
    ("name", "name = \"spring series\""),
    ("edition", "edition = \"2025-2028\""),
    ("results", "results = \"results.csv\""),
    ("entries", "entries = [\"A1\", \"A2\"]"),
    ("exclusions", "exclusions = { from_races = [4, 8], exclude = [1, 2] }"),
    ("starting_area_rule", "starting_area_rule = true"),
    ("withdrawn", "withdrawn = [\"A2\"]"),
    ("fleets", "fleets = { gold = [\"A1\"], silver = [\"A2\"] }"),
    ("divisions", "divisions = { junior = [\"A1\"] }"),
    ("division_places", "division_places = \"own\""),
];

/// What would do, where the file does not have the keys it should.
fn mended(found: &str) -> String {
    let all = "docs/commands.md has the keys of a series file";
    let key = found.split('`').nth(1).unwrap_or_default();
    if found.starts_with("missing field") {
        KEYS.iter().find(|(name, _)| *name == key).map_or_else(|| all.to_owned(), |(_, line)| format!("write a line like {line}"))
    } else if found.starts_with("unknown field") {
        let nearest = KEYS.iter().min_by_key(|(name, _)| strsim::osa_distance(key, name)).map_or("", |(_, line)| *line);
        format!("if it is meant so, write a line like {nearest}; or take it out; {all}")
    } else {
        format!("mend that line; {all}")
    }
}

impl Series {
    /// Reads a series from its TOML and the files it names, which `files` turns into text.
    ///
    /// # Errors
    /// When the file, its settings, its entries or its results do not say who did what: file, line, key, what was found,
    /// what would do. A series that is withdrawn has no standings.
    pub fn read<E: Display>(toml: &str, files: impl Fn(&str) -> Result<String, E>) -> Result<Warned<Self>, Error> {
        let lines = Lines(toml);
        let form: Form = toml::from_str(toml).map_err(|error| {
            let place = error.span().map_or_else(|| FILE.to_owned(), |span| format!("{FILE} line {}", lines.at(span.start)));
            let found = error.message().replace('\n', " ");
            let remedy = mended(&found);
            Error::new(place, found, remedy)
        })?;
        let mut warnings = Vec::new();
        let edition = Edition::of(form.edition.get_ref()).ok_or_else(|| {
            Error::new(
                lines.place("edition", &form.edition),
                format!("{:?} is not an edition", form.edition.get_ref()),
                Edition::ALL.map(|edition| format!("{:?}", edition.years())).join(" or "),
            )
        })?;
        if let Some(Withdrawn::Series(true)) = form.withdrawn.as_ref().map(Spanned::get_ref) {
            let place = form.withdrawn.as_ref().map_or_else(String::new, |value| lines.place("withdrawn", value));
            return Err(Error::new(
                place,
                format!("the series {:?} is withdrawn, so it has no standings", form.name),
                "take the key out to score what was sailed",
            ));
        }
        let open = |place: String, file: &str| {
            files(file).map_err(|error| Error::new(place, format!("{file}: {error}"), "give the name of a file beside the series file"))
        };

        let place = lines.place("entries", &form.entries);
        let boats = match form.entries.get_ref() {
            Labels::Many(boats) => boats.clone(),
            Labels::One(file) => entries(&open(place.clone(), file)?),
        };
        let boats = once(&place, boats, &mut warnings);
        if boats.is_empty() {
            return Err(Error::new(place, "no boat is entered", "list the boats: entries = [\"A1\", \"A2\"]"));
        }
        let known = |place: &str, labels: &[String]| {
            labels.iter().map(|label| index(place, label.trim(), &boats)).collect::<Result<Vec<usize>, Error>>()
        };
        let left = match &form.withdrawn {
            Some(value) => match value.get_ref() {
                Withdrawn::Boats(labels) => {
                    known(&lines.place("withdrawn", value), labels)?.into_iter().map(|at| boats[at].clone()).collect()
                }
                Withdrawn::Series(_) => Vec::new(),
            },
            None => Vec::new(),
        };

        let part = |key: &str, (name, labels): (&String, &Spanned<Vec<String>>)| {
            let place = lines.place(&format!("{key}.{name}"), labels);
            let mut boats = known(&place, labels.get_ref())?;
            boats.sort_unstable();
            boats.dedup();
            Ok(Part { name: name.clone(), boats })
        };
        let fleets = form.fleets.iter().map(|entry| part("fleets", entry)).collect::<Result<Vec<_>, Error>>()?;
        let divisions = form.divisions.iter().map(|entry| part("divisions", entry)).collect::<Result<Vec<_>, Error>>()?;
        if let Some(first) = form.fleets.values().next() {
            one_fleet_each(&lines.place("fleets", first), &boats, &fleets)?;
        }

        let sheets = match form.results.get_ref() {
            Labels::One(file) => std::slice::from_ref(file),
            Labels::Many(files) => files,
        };
        let mut races = Vec::new();
        for (at, file) in sheets.iter().enumerate() {
            if sheets[..at].contains(file) {
                return Err(Error::new(lines.place("results", &form.results), format!("{file} is named twice"), "name each sheet once"));
            }
            let text = open(lines.place("results", &form.results), file)?;
            let sheet = results::read(file, &text, &Entered { boats: &boats, left: &left, fleets: &fleets })?;
            warnings.extend(sheet.warnings);
            races.extend(sheet.value.into_iter().map(|mut race| {
                if sheets.len() > 1 {
                    race.name = format!("{} {}", file.rsplit_once('.').map_or(file.as_str(), |(stem, _)| stem), race.name);
                }
                race
            }));
        }

        let divisions_afresh = match form.division_places.as_ref().map(|value| (value, value.get_ref().as_str())) {
            None | Some((_, "overall")) => false,
            Some((_, "own")) => true,
            Some((value, other)) => {
                let place = lines.place("division_places", value);
                return Err(Error::new(place, format!("{other:?} is not known"), "\"overall\" or \"own\""));
            }
        };
        let exclusions = exclusions(&lines, form.exclusions.as_ref())?;
        let starting_area_rule = form.starting_area_rule;
        Ok(Warned::new(
            Self { name: form.name, edition, boats, races, exclusions, starting_area_rule, fleets, divisions, divisions_afresh },
            warnings,
        ))
    }
}

/// The boats of an entry file: those of a results sheet with a column for each race, its column `boat` if its first line names one, else
/// the first field of each line.
fn entries(text: &str) -> Vec<String> {
    let text = text.trim_start_matches('\u{feff}');
    if let Some(sheet) = Sheet::of(text) {
        return sheet.boats(&[]);
    }
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(results::delimiter(first))
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    // The text is UTF-8 already, and rows may be of any length: no row can fail.
    let mut rows = reader.records().flatten().filter(|row| row.iter().any(|field| !field.is_empty())).peekable();
    let heading = rows.peek().and_then(|first| first.iter().position(|field| field.eq_ignore_ascii_case("boat")));
    let skip = usize::from(heading.is_some());
    rows.skip(skip).filter_map(|row| row.get(heading.unwrap_or(0)).map(str::to_owned)).collect()
}

/// Each boat once: a second entry is told and dropped, since the score of a boat that did not finish counts entries.
fn once(place: &str, boats: Vec<String>, warnings: &mut Vec<Warning>) -> Vec<String> {
    let mut seen = HashSet::new();
    let mut kept = Vec::with_capacity(boats.len());
    for boat in boats {
        let boat = boat.trim().to_owned();
        if boat.is_empty() {
            warnings.push(Warning::new(place, "a blank entry was not counted"));
        } else if seen.insert(boat.clone()) {
            kept.push(boat);
        } else {
            warnings.push(Warning::new(place, format!("{boat} is entered twice and was counted once")));
        }
    }
    kept
}

fn index(place: &str, label: &str, boats: &[String]) -> Result<usize, Error> {
    boats.iter().position(|boat| boat == label).ok_or_else(|| {
        Error::new(
            place,
            format!("{label:?} is not among the entries"),
            format!("write {:?} if it is she, or add her to entries", nearest(label, boats)),
        )
    })
}

fn one_fleet_each(place: &str, boats: &[String], fleets: &[Part]) -> Result<(), Error> {
    for (at, boat) in boats.iter().enumerate() {
        let of: Vec<&str> = fleets.iter().filter(|fleet| fleet.boats.contains(&at)).map(|fleet| fleet.name.as_str()).collect();
        if of.len() != 1 {
            let found =
                if of.is_empty() { format!("{boat} is in no fleet") } else { format!("{boat} is in the fleets {}", of.join(" and ")) };
            return Err(Error::new(place, found, "put every boat in one fleet"));
        }
    }
    Ok(())
}

/// One exclusion unless the notice of race says otherwise (A2.1). With a single race sailed the only score would go, so the
/// default begins at the second: common practice, no source.
fn exclusions(lines: &Lines<'_>, form: Option<&Spanned<Excluded>>) -> Result<Exclusions, Error> {
    let Some(form) = form else { return Ok(Exclusions(vec![(2, 1)])) };
    match form.get_ref() {
        Excluded::Always(exclude) => Ok(Exclusions(vec![(0, *exclude)])),
        Excluded::Rising { from_races, exclude } => {
            let rising = from_races.windows(2).all(|pair| pair[0] < pair[1]);
            if from_races.len() != exclude.len() || !rising {
                return Err(Error::new(
                    lines.place("exclusions", form),
                    format!("from_races {from_races:?} and exclude {exclude:?} do not go together"),
                    "as many numbers in both, and races rising: from_races = [4, 8], exclude = [1, 2]",
                ));
            }
            Ok(Exclusions(from_races.iter().copied().zip(exclude.iter().copied()).collect()))
        }
    }
}
