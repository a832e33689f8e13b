//! The table of passes that a coach or the debrief writes: one row for each boat of each pass.
//!
//! Columns `pass` (or `run`), `sailor`, `vmg_kn` are needed; `boat`, `position` (high, low, blank), `tack`, `wind_kn` are used where they are
//! there; every other column of numbers is a setting that was tried. A row that does not read is dropped with its reason.

use std::collections::{BTreeMap, BTreeSet};

use measure::{Speed, Warned, Warning};

use crate::Error;

/// Speeds past this, knots, are no dinghy's. Assumed.
const FASTEST: f64 = 20.0;
/// Winds past this, knots, are no day for line-ups. Assumed.
const STRONGEST: f64 = 60.0;
/// Gauges of the project, to find a slip of the pen by.
const GAUGES: [&str; 15] = [
    "boom_end_dock",
    "boom_end_sheeted",
    "mast_tip_tape",
    "sail_boom_gap",
    "car_offset",
    "sheet_line",
    "boom_angle",
    "vang_line",
    "downhaul_line",
    "sprit_line",
    "preventer",
    "board_angle",
    "seat_position",
    "heel",
    "hike_out",
];
/// Columns that are not settings.
const KNOWN: [&str; 8] = ["pass", "run", "sailor", "boat", "position", "tack", "wind_kn", "vmg_kn"];

/// One boat in one pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Line of the file, from 1.
    pub line: u64,
    /// The pass's name.
    pub pass: String,
    /// The sailor's label.
    pub sailor: String,
    /// The boat's label, or blank.
    pub boat: String,
    /// One half to windward, minus one half to leeward, zero if not told.
    pub position: f64,
    /// Wind, m/s.
    pub wind: Option<f64>,
    /// Speed made good, m/s.
    pub vmg: f64,
    /// One value for each of [`Passes::gauges`].
    pub settings: Vec<f64>,
}

/// The rows and the settings that were tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Passes {
    /// Names of the setting columns.
    pub gauges: Vec<String>,
    /// Rows in the order of the file.
    pub rows: Vec<Row>,
}

impl Passes {
    /// Reads a table.
    ///
    /// # Errors
    /// A needed column is missing or twice there, no setting column, no row that reads.
    pub fn read(text: &str) -> Result<Warned<Self>, Error> {
        let stopped = |what: String| Error::Table(what);
        let text = text.trim_start_matches('\u{feff}');
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
        let head: Vec<String> =
            reader.headers().map_err(|e| stopped(format!("the table does not read: {e}")))?.iter().map(str::to_owned).collect();
        if let Some((k, name)) = head.iter().enumerate().find(|(k, name)| !name.is_empty() && head[..*k].contains(name)) {
            return Err(stopped(format!("the column {name} is there twice (the second is column {}): keep one", k + 1)));
        }
        let place = |name: &str| head.iter().position(|h| h == name);
        let needed = |names: &[&str]| {
            names.iter().find_map(|n| place(n)).ok_or_else(|| {
                let near = head.iter().find(|h| strsim::levenshtein(h, names[0]) <= 2).map(|h| format!(" (is it {h}?)")).unwrap_or_default();
                stopped(format!("the table has no column {}{near}; its first line names the columns: pass,sailor,boat,position,tack,wind_kn,vmg_kn and one for each setting tried", names[0]))
            })
        };
        let (pass, sailor, vmg) = (needed(&["pass", "run"])?, needed(&["sailor"])?, needed(&["vmg_kn"])?);
        let mut warnings = Vec::new();
        let mut records = Vec::new();
        for (at, record) in reader.records().enumerate() {
            match record {
                Ok(record) => records.push((record.position().map_or(at as u64 + 2, csv::Position::line), record)),
                Err(error) => warnings.push(Warning::new(format!("row {}", at + 1), format!("it does not read and is dropped: {error}"))),
            }
        }
        let settings = setting_columns(&head, &records, &mut warnings)?;
        // A column of wind in which nothing is written is no column.
        let wind = place("wind_kn").filter(|p| records.iter().any(|(_, r)| r.get(*p).is_some_and(|c| !c.is_empty())));
        let mut rows = Vec::new();
        for (line, record) in &records {
            let cell = |place: Option<usize>| place.and_then(|p| record.get(p)).unwrap_or_default();
            let number = |place: usize, low: f64, high: f64| {
                let found = cell(Some(place));
                match found.parse::<f64>() {
                    Ok(v) if v.is_finite() && low <= v && v <= high => Ok(v),
                    _ => Err(format!("{}: found {found:?}, expected a number from {low} to {high}", head[place])),
                }
            };
            let row = || -> Result<Row, String> {
                let (pass, sailor) = (cell(Some(pass)).to_owned(), cell(Some(sailor)).to_owned());
                if pass.is_empty() || sailor.is_empty() {
                    return Err("it names no pass or no sailor".to_owned());
                }
                let position = match cell(place("position")).to_lowercase().as_str() {
                    "high" => 0.5,
                    "low" => -0.5,
                    "" => 0.0,
                    other => return Err(format!("position: found {other:?}, expected high, low or nothing")),
                };
                let wind = wind.map(|p| number(p, 0.0, STRONGEST)).transpose()?;
                let wind = wind.map(|kn| Speed::knots(kn).si());
                let vmg = Speed::knots(number(vmg, -FASTEST, FASTEST)?).si();
                let values = settings.iter().map(|p| number(*p, -1e6, 1e6)).collect::<Result<_, _>>()?;
                Ok(Row { line: *line, pass, sailor, boat: cell(place("boat")).to_owned(), position, wind, vmg, settings: values })
            };
            match row() {
                Ok(row) => rows.push(row),
                Err(why) => warnings.push(Warning::new(format!("line {line}"), format!("this row is dropped: {why}"))),
            }
        }
        let rows = without_contradictions(rows, &mut warnings);
        if rows.is_empty() {
            let first = warnings.first().map(|w| format!(" ({w})")).unwrap_or_default();
            return Err(stopped(format!("no row of the table can be used{first}")));
        }
        Ok(Warned::new(Self { gauges: settings.iter().map(|p| head[*p].clone()).collect(), rows }, warnings))
    }

    /// Passes in the order met, each with the places of its rows.
    #[must_use]
    pub fn by_pass(&self) -> Vec<Vec<usize>> {
        let mut order: Vec<Vec<usize>> = Vec::new();
        let mut known = BTreeMap::new();
        for (at, row) in self.rows.iter().enumerate() {
            let place = *known.entry(row.pass.as_str()).or_insert(order.len());
            if place == order.len() {
                order.push(Vec::new());
            }
            order[place].push(at);
        }
        order
    }

    /// Labels of the sailors, sorted.
    #[must_use]
    pub fn sailors(&self) -> BTreeSet<&str> {
        self.rows.iter().map(|row| row.sailor.as_str()).collect()
    }
}

/// Places of the columns that hold a setting; words in one are told, a name near a known one too.
fn setting_columns(head: &[String], records: &[(u64, csv::StringRecord)], warnings: &mut Vec<Warning>) -> Result<Vec<usize>, Error> {
    let mut found = Vec::new();
    for (place, name) in head.iter().enumerate().filter(|(_, name)| !KNOWN.contains(&name.as_str())) {
        let cells = || records.iter().filter_map(|(_, r)| r.get(place)).filter(|c| !c.is_empty());
        if name.is_empty() || cells().next().is_none() {
            warnings.push(Warning::new(format!("column {}", place + 1), "it has no name or no value and is not used".to_owned()));
        } else if cells().any(|c| c.parse::<f64>().is_ok()) {
            let near = |known: &&&str| **known != name && strsim::levenshtein(known, name) <= 2 && name.len() > 4;
            if let Some(near) = GAUGES.iter().chain(&KNOWN).find(near) {
                warnings.push(Warning::new(
                    format!("column {name}"),
                    format!("this is no known name and is taken as a setting; is it {near}?"),
                ));
            }
            found.push(place);
        } else {
            warnings.push(Warning::new(
                format!("column {name}"),
                "it holds words, so it is not taken as a setting; write 0 and 1, or the value".to_owned(),
            ));
        }
    }
    if found.is_empty() {
        return Err(Error::Table(
            "the table has no column for a setting that was tried: add one, named for its gauge, with 0 and 1 or the value".into(),
        ));
    }
    Ok(found)
}

/// One sailor has one row in a pass: the same twice is kept once, two that differ are both dropped.
fn without_contradictions(rows: Vec<Row>, warnings: &mut Vec<Warning>) -> Vec<Row> {
    let mut met = BTreeMap::<(String, String), Vec<Row>>::new();
    for row in &rows {
        met.entry((row.pass.clone(), row.sailor.clone())).or_default().push(row.clone());
    }
    let mut keep = BTreeSet::new();
    for ((pass, sailor), mine) in met {
        let alike = mine.iter().all(|row| Row { line: mine[0].line, ..row.clone() } == mine[0]);
        if alike {
            keep.insert(mine[0].line);
        }
        if mine.len() > 1 {
            let lines = mine.iter().map(|row| row.line.to_string()).collect::<Vec<_>>().join(" and ");
            let changed = mine.iter().any(|row| row.settings != mine[0].settings);
            let why = match (alike, changed) {
                (true, _) => "the same twice; one is kept",
                (false, true) => "the setting was changed within the pass, or the notes contradict each other; both are dropped",
                (false, false) => "two rows that contradict each other; both are dropped",
            };
            warnings.push(Warning::new(format!("lines {lines}"), format!("{sailor} in pass {pass}: {why}")));
        }
    }
    rows.into_iter().filter(|row| keep.contains(&row.line)).collect()
}
