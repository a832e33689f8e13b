//! A results sheet with a column for each race, as spreadsheets and notice boards have it: who the boat is, then `R1`, `R2`, ..., with
//! places, codes, scores in brackets where they were left out, and columns of totals beside them.
//!
//! Known by its content, never by its name. What stands beside a code as points, which score was left out and what the totals say is worked
//! out anew and not read; each thing not read is told. A cell that is neither a place nor a code refuses the sheet, and every such cell is told.

use measure::Warning;

use super::cell::cell;
use super::code::Code;
use super::race::Finish;
use super::results::{Entered, Rows, delimiter, line, nearest};
use crate::Error;

/// In how many first rows the headings are looked for: titles of a printed sheet stand above them. Assumed.
const TITLES: usize = 20;
/// How many cells that were not understood are told one by one. Assumed.
const TOLD: usize = 20;
/// Words of headings that say who a boat is or where she belongs. The first say it best.
const WHO: [&str; 12] =
    ["boat", "boot", "sail", "sailno", "segel", "segelnummer", "bow", "sailor", "helm", "skipper", "steuermann", "name"];
/// Words of other headings that go with a boat, and never say who she is.
const BESIDE: [&str; 31] = [
    "club", "verein", "class", "klasse", "type", "fleet", "division", "group", "category", "age", "born", "year", "gender", "sex", "nat",
    "nation", "country", "crew", "no", "nr", "number", "id", "team", "notes", "remarks", "rating", "date", "time", "phone", "day", "tag",
];
/// Words of headings of sums and ranks.
const SUMS: [&str; 27] = [
    "total", "tot", "totals", "net", "nett", "netto", "gross", "brutto", "rank", "rk", "rang", "pos", "position", "place", "platz",
    "points", "point", "pts", "punkte", "score", "sum", "overall", "discard", "discards", "drop", "dropped", "gesamt",
];

/// What a heading says its column has.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Column {
    /// A race of this name.
    Race(String),
    /// A race of this name, if its cells are results.
    PerhapsRace(String),
    /// Who the boat is, best first.
    Who(usize),
    /// A sum or a rank.
    Sum,
    /// Anything else.
    Other,
}

impl Column {
    fn of(heading: &str) -> Self {
        let heading = heading.split_whitespace().collect::<Vec<_>>().join(" ");
        let small = heading.to_lowercase();
        let words: Vec<&str> = small.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let has = |list: &[&str]| words.iter().any(|word| list.contains(word));
        let stem = ["race", "r"].iter().find_map(|stem| small.strip_prefix(stem)).unwrap_or(&small);
        let number = stem.trim_start_matches([' ', '.', '-', '#', ':']);
        if let Some(number) = number.parse::<u16>().ok().filter(|n| (1..1000).contains(n)) {
            return Self::Race(number.to_string());
        }
        if has(&SUMS) {
            return Self::Sum;
        }
        if !has(&BESIDE) || words.iter().any(|word| word.starts_with("sail") || word.starts_with("segel")) {
            let rank = WHO.iter().position(|who| words.contains(who));
            // "Boat 7" is a boat.
            if let Some(rank) = rank.filter(|_| !small.contains(|c: char| c.is_ascii_digit())) {
                return Self::Who(rank);
            }
        }
        // "Sat 1", "Q1", "R1 (12 May)"; not "1st", which counts the firsts.
        let first = number.trim_start_matches(|c: char| c.is_ascii_digit());
        let numbered = heading.ends_with(|c: char| c.is_ascii_digit()) || (first != number && !first.starts_with(char::is_alphanumeric));
        if numbered && !has(&BESIDE) && !has(&WHO) { Self::PerhapsRace(heading) } else { Self::Other }
    }
}

/// A row under the headings: the line it begins on, its fields.
struct Row {
    line: u64,
    fields: Vec<String>,
}

impl Row {
    fn field(&self, at: usize) -> &str {
        self.fields.get(at).map_or("", String::as_str)
    }
}

/// A sheet with a column for each race.
pub(super) struct Sheet {
    /// The row of headings, and the line it stands on.
    headings: Row,
    columns: Vec<Column>,
    rows: Vec<Row>,
    /// How many rows with anything in them stand above the headings.
    titles: usize,
    /// Races by their cells, where others are races by their headings.
    perhaps: Vec<usize>,
}

impl Sheet {
    /// The sheet of a text; `None` where it has no row of headings with a boat and a race.
    pub(super) fn of(text: &str) -> Option<Self> {
        let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
        let likeliest = delimiter(first);
        let has = |wanted: &str| first.split(char::from(likeliest)).any(|name| name.trim().trim_matches('"').eq_ignore_ascii_case(wanted));
        // A sheet with a row for each boat in each race has a column race.
        if has("race") && has("boat") {
            return None;
        }
        [likeliest, b';', b'\t', b','].into_iter().find_map(|by| Self::parted(text, by))
    }

    fn parted(text: &str, by: u8) -> Option<Self> {
        let mut reader =
            csv::ReaderBuilder::new().delimiter(by).has_headers(false).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
        // The text is UTF-8 already, and rows may be of any length: no row can fail.
        let mut rows = reader.records().flatten().map(|record| Row {
            line: line(text, record.position()),
            fields: record.iter().map(|field| field.replace('\u{a0}', " ").trim().to_owned()).collect(),
        });
        let mut titles = 0;
        for row in rows.by_ref().take(TITLES) {
            let columns: Vec<Column> = row.fields.iter().map(|heading| Column::of(heading)).collect();
            let who = columns.iter().any(|column| matches!(column, Column::Who(_)));
            if who {
                // These are the headings; without a race it is another kind of sheet.
                let rows = rows.filter(|row| row.fields.iter().any(|field| !field.is_empty())).collect();
                let mut sheet = Self { headings: row, columns, rows, titles, perhaps: Vec::new() };
                sheet.settle();
                let any = sheet.races().next().is_some();
                return any.then_some(sheet);
            }
            titles += usize::from(row.fields.iter().any(|field| !field.is_empty()));
        }
        None
    }

    /// A column that may be a race is one when most of what stands in it are results.
    fn settle(&mut self) {
        let most = self.rows.len();
        let sure = self.races().next().is_some();
        for (at, column) in self.columns.iter_mut().enumerate() {
            if let Column::PerhapsRace(name) = column {
                let filled: Vec<&str> = self.rows.iter().map(|row| row.field(at)).filter(|field| !field.is_empty()).collect();
                let result =
                    |field: &&&str| cell(field, most).is_ok_and(|cell| cell.finish.place.is_none_or(|place| place as usize <= most));
                let read = filled.iter().filter(result).count();
                *column = if 2 * read > filled.len() { Column::Race(std::mem::take(name)) } else { Column::Other };
                if sure && matches!(column, Column::Race(_)) {
                    self.perhaps.push(at);
                }
            }
        }
    }

    fn races(&self) -> impl Iterator<Item = (usize, &str)> {
        self.columns.iter().enumerate().filter_map(|(at, column)| match column {
            Column::Race(name) => Some((at, name.as_str())),
            _ => None,
        })
    }

    /// Whether a row has a result in any race.
    fn sailed(&self, row: &Row) -> bool {
        self.races().any(|(at, _)| !row.field(at).is_empty())
    }

    /// The column that says who the boat is: the one with most of the boats entered, else the one whose heading says it best.
    fn who(&self, boats: &[String]) -> Option<usize> {
        let can = |at: &usize| !matches!(self.columns.get(*at), None | Some(Column::Race(_) | Column::Sum));
        let entered = |at: usize| self.rows.iter().filter(|row| boats.iter().any(|boat| boat == row.field(at))).count();
        let rank = |at: usize| match self.columns.get(at) {
            Some(Column::Who(rank)) => *rank,
            _ => usize::MAX,
        };
        (0..self.columns.len()).filter(can).max_by_key(|&at| (entered(at), std::cmp::Reverse((rank(at), at)))).filter(|&at| {
            // A column with none of the boats and no such heading says nothing.
            rank(at) != usize::MAX || entered(at) > 0
        })
    }

    /// The boats of the sheet, once each, in its own words, where these are entered. A lone remark under the table is no boat.
    pub(super) fn boats(&self, entered: &[String]) -> Vec<String> {
        let Some(who) = self.who(entered) else { return Vec::new() };
        let mut found: Vec<String> = Vec::new();
        let boat = |row: &&Row| self.sailed(row) || row.fields.iter().filter(|field| !field.is_empty()).count() > 1;
        for row in self.rows.iter().filter(boat) {
            let label = row.field(who);
            if !label.is_empty() && label != self.headings.field(who) && !found.iter().any(|known| known == label) {
                found.push(label.to_owned());
            }
        }
        found
    }

    /// The races and what each boat did, with what was not read.
    pub(super) fn read(&self, file: &str, entered: &Entered<'_>, warnings: &mut Vec<Warning>) -> Result<Rows, Error> {
        let top = format!("{file} line {}", self.headings.line);
        let heading = |at: usize| format!("{:?}", self.headings.field(at));
        let Some(who) = self.who(entered.boats) else {
            return Err(Error::new(top, "no column names the boats", "head the column that does boat or sail number"));
        };
        let mut faults = Faults { file, found: Vec::new() };
        let mut beside: Vec<Code> = Vec::new();
        let mut bracketed = false;
        let races: Vec<(usize, &str)> = self.races().filter(|(at, _)| self.rows.iter().any(|row| !row.field(*at).is_empty())).collect();
        for (n, (at, name)) in races.iter().enumerate() {
            if let Some((before, _)) = races.iter().take(n).find(|(_, other)| other == name) {
                let found = format!("the columns {} and {} are both race {name}", heading(*before), heading(*at));
                return Err(Error::new(top, found, "give each race a heading of its own, like R1 and R2"));
            }
        }
        let names: Vec<String> = races.iter().map(|(_, name)| (*name).to_owned()).collect();
        let mut rows: Vec<Vec<Option<(Finish, u64)>>> = vec![vec![None; entered.boats.len()]; names.len()];
        for row in &self.rows {
            let label = row.field(who);
            if label.eq_ignore_ascii_case(self.headings.field(who)) {
                if row.fields == self.headings.fields {
                    continue;
                }
                let remedy = "bring each table as a sheet of its own, or give all of them the same columns";
                return Err(Error::new(format!("{file} line {}", row.line), "another table with other headings begins here", remedy));
            }
            if row.fields.iter().skip(self.columns.len()).any(|field| !field.is_empty()) {
                let found = format!("{} fields under {} headings", row.fields.len(), self.columns.len());
                faults.add(row.line, "the row", found, "put a value with a comma in it between quotes".to_owned());
                continue;
            }
            if !self.sailed(row) {
                let what = if label.is_empty() { "no boat and no result" } else { "no result" };
                if !entered.boats.iter().any(|boat| boat == label) {
                    let shown: String =
                        row.fields.iter().filter(|f| !f.is_empty()).cloned().collect::<Vec<_>>().join(" ").chars().take(60).collect();
                    warnings
                        .push(Warning::new(format!("{file} line {}", row.line), format!("{what} in it, so it was not read: {shown:?}")));
                }
                continue;
            }
            let Some(boat) = entered.boats.iter().position(|boat| boat == label) else {
                let (found, remedy) = match label {
                    "" => ("results of no boat".to_owned(), "name her in this column".to_owned()),
                    label => (
                        format!("{label:?} is not among the entries"),
                        format!("write {:?} if it is she, or add her to entries", nearest(label, entered.boats)),
                    ),
                };
                faults.add(row.line, self.headings.field(who), found, remedy);
                continue;
            };
            for ((at, name), finishes) in races.iter().zip(&mut rows) {
                let text = row.field(*at);
                if text.is_empty() {
                    continue;
                }
                let read = match cell(text, entered.boats.len()) {
                    Ok(read) => read,
                    Err((found, remedy)) => {
                        faults.add(row.line, self.headings.field(*at), found, remedy);
                        continue;
                    }
                };
                if let Some(told) = read.told {
                    warnings.push(Warning::new(format!("{file} line {}, column {}", row.line, heading(*at)), told));
                }
                beside.extend(read.finish.code.filter(|_| read.points_beside));
                bracketed |= read.bracketed;
                match finishes.get_mut(boat) {
                    Some(Some((first, before))) => {
                        let found =
                            format!("{label} has {} in race {name} and had {} on line {before}", read.finish.words(), first.words());
                        faults.add(row.line, self.headings.field(*at), found, "keep the right one of the two rows".to_owned());
                    }
                    Some(place) => *place = Some((read.finish, row.line)),
                    None => {}
                }
            }
        }
        faults.none()?;
        self.unread(&top, who, &races, beside, bracketed, warnings);
        Ok((names, rows))
    }

    /// Tells what of the sheet was not read, and why it need not be.
    fn unread(&self, top: &str, who: usize, races: &[(usize, &str)], mut beside: Vec<Code>, bracketed: bool, warnings: &mut Vec<Warning>) {
        let quoted =
            |columns: Vec<usize>| columns.iter().map(|&at| format!("{:?}", self.headings.field(at))).collect::<Vec<_>>().join(", ");
        let of = |wanted: &dyn Fn(usize, &Column) -> bool| {
            let columns = self.columns.iter().enumerate().filter(|(at, column)| wanted(*at, column)).map(|(at, _)| at);
            quoted(columns.filter(|&at| !self.headings.field(at).is_empty()).collect())
        };
        let mut tell = |what: String| warnings.push(Warning::new(top, what));
        if self.titles > 0 {
            tell(format!(
                "{} above the headings not read",
                if self.titles == 1 { "one row".to_owned() } else { format!("{} rows", self.titles) }
            ));
        }
        if !self.perhaps.is_empty() {
            tell(format!("read as races by what stands in them: {}; head what is no race otherwise", quoted(self.perhaps.clone())));
        }
        let sums = of(&|_, column| *column == Column::Sum);
        if !sums.is_empty() {
            tell(format!("not races, and not read, since sums and ranks are worked out anew: {sums}"));
        }
        let blank = of(&|at, column| matches!(column, Column::Race(_)) && !races.iter().any(|(known, _)| *known == at));
        if !blank.is_empty() {
            tell(format!("no result yet, so not counted as races: {blank}"));
        }
        let others = of(&|at, column| at != who && !matches!(column, Column::Race(_) | Column::Sum));
        if !others.is_empty() {
            let boats = quoted(vec![who]);
            tell(format!("boats are named by the column {boats}; not read: {others}. If one of them is a race, head it R1, R2 and so on"));
        }
        beside.sort_unstable();
        beside.dedup();
        if !beside.is_empty() {
            let codes = beside.into_iter().map(Code::letters).collect::<Vec<_>>().join(", ");
            tell(format!("points beside {codes} were not read: they are worked out anew"));
        }
        if bracketed {
            tell("brackets were read as scores left out; which are left out is worked out anew".to_owned());
        }
    }
}

/// What was not understood, so that all of it can be mended at once.
struct Faults<'a> {
    file: &'a str,
    found: Vec<(String, String, String)>,
}

impl Faults<'_> {
    fn add(&mut self, line: u64, column: &str, found: String, remedy: String) {
        let place = if column == "the row" { format!("line {line}") } else { format!("line {line}, column {column:?}") };
        self.found.push((place, found, remedy));
    }

    /// # Errors
    /// When anything was found: the first in full, the others after it.
    fn none(self) -> Result<(), Error> {
        let mut found = self.found.into_iter();
        let Some((place, what, mut remedy)) = found.next() else { return Ok(()) };
        let rest: Vec<_> = found.collect();
        for (place, what, then) in rest.iter().take(TOLD) {
            remedy.push_str(&format!(". Also {place}: {what}; {then}"));
        }
        if rest.len() > TOLD {
            remedy.push_str(&format!(". {} cells more like these", rest.len() - TOLD));
        }
        Err(Error::new(format!("{} {place}", self.file), what, remedy))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_as_sheets_have_them() {
        for (heading, number) in
            [("R1", "1"), ("r 12", "12"), ("Race 3", "3"), ("RACE3", "3"), ("Race\n4", "4"), ("5", "5"), ("R.6", "6"), ("07", "7")]
        {
            assert_eq!(Column::of(heading), Column::Race(number.to_owned()), "{heading}");
        }
        for heading in ["Sat 1", "Q1", "R1 (12 May)"] {
            assert_eq!(Column::of(heading), Column::PerhapsRace(heading.to_owned()));
        }
        for heading in ["Total", "Net", "Nett Pts", "Rank", "Pos.", "Place", "Total after 4", "2 discard", "Drop 1"] {
            assert_eq!(Column::of(heading), Column::Sum, "{heading}");
        }
        for heading in ["Boat", "Sail No", "sail number", "SailNo", "Boat name", "Helm", "Name"] {
            assert!(matches!(Column::of(heading), Column::Who(_)), "{heading}");
        }
        for heading in ["Club", "Boat class", "Crew 1", "Age 12", "2026a", "Rating", "1st", "Day 1", "Boat 7", ""] {
            assert_eq!(Column::of(heading), Column::Other, "{heading}");
        }
    }
}
