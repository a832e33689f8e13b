//! A series in memory: its boats, its races, its settings; from it the standings.
//!
//! Source: rules A2.1, A5.2 and A9. A season is a series with several files of results and one list of entries.

use measure::{Warned, Warning};
use rust_decimal::Decimal;

use super::code::Edition;
use super::decimal::{half_up, words};
use super::race::{Decided, Finish, Scored, Settings, scores};
use super::standing::{Group, Row, Standings, ranked};
use crate::Error;

/// One race: what each boat of the series did, in the series' order of boats.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Race {
    pub(crate) name: String,
    pub(crate) finishes: Vec<Finish>,
}

/// How many scores are left out, by how many races there are: from so many races, so many.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Exclusions(pub(crate) Vec<(usize, usize)>);

impl Exclusions {
    fn of(&self, races: usize) -> usize {
        self.0.iter().rev().find(|(from, _)| *from <= races).map_or(0, |(_, exclude)| *exclude)
    }
}

/// A fleet or a division: the places of its boats in the series' list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Part {
    pub(crate) name: String,
    pub(crate) boats: Vec<usize>,
}

/// A series ready to be scored. Every race has one finish for each boat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Series {
    pub(crate) name: String,
    pub(crate) edition: Edition,
    pub(crate) boats: Vec<String>,
    pub(crate) races: Vec<Race>,
    pub(crate) exclusions: Exclusions,
    pub(crate) starting_area_rule: bool,
    pub(crate) fleets: Vec<Part>,
    pub(crate) divisions: Vec<Part>,
    /// Whether a division's places are counted among its own boats.
    pub(crate) divisions_afresh: bool,
}

impl Series {
    /// The name it was given.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }
    /// The edition of the rules it is scored by.
    #[must_use]
    pub const fn edition(&self) -> Edition {
        self.edition
    }
    /// The boats entered.
    #[must_use]
    pub fn boats(&self) -> &[String] {
        &self.boats
    }
    /// The names of the races sailed, in order.
    pub fn races(&self) -> impl Iterator<Item = &str> {
        self.races.iter().map(|race| race.name.as_str())
    }

    /// Scores the series.
    ///
    /// # Errors
    /// When no race has been sailed, a redress average has no race to average, or a penalty makes a score better.
    pub fn standings(&self) -> Result<Warned<Standings>, Error> {
        if self.races.is_empty() {
            return Err(Error::new(format!("series {}", self.name), "no race has a result", "add the rows of one race to the results"));
        }
        let mut warnings = Vec::new();
        let everyone: Vec<usize> = (0..self.boats.len()).collect();
        let races: Vec<&Race> = self.races.iter().collect();
        let exclusions = self.exclusions(&self.name, races.len(), &mut warnings);
        let mut standings = Vec::new();
        let mut fleets = Vec::new();
        let mut divisions = Vec::new();
        if self.fleets.is_empty() {
            let rows = self.rows(&everyone, &races, false, &mut warnings)?;
            divisions = self.divided("", &everyone, &races, &rows, exclusions)?;
            standings = ranked(&rows, exclusions);
        }
        for Part { name, boats } in &self.fleets {
            let sailed = |race: &&Race| boats.iter().any(|&at| race.finishes[at] != Finish::ABSENT);
            let races: Vec<&Race> = self.races.iter().filter(sailed).collect();
            let exclusions = self.exclusions(name, races.len(), &mut warnings);
            let rows = self.rows(boats, &races, false, &mut warnings)?;
            divisions.extend(self.divided(&format!("{name}, "), boats, &races, &rows, exclusions)?);
            fleets.push(Group { name: name.clone(), races: names(&races), standings: ranked(&rows, exclusions) });
        }
        let edition = self.edition.years();
        let standings = Standings { series: self.name.clone(), edition, races: names(&races), standings, fleets, divisions };
        Ok(Warned::new(standings, warnings))
    }

    /// The divisions among boats that raced together, whose scores are known; their names begin with that of the fleet.
    fn divided(&self, fleet: &str, boats: &[usize], races: &[&Race], rows: &[Row<'_>], exclusions: usize) -> Result<Vec<Group>, Error> {
        let mut found = Vec::new();
        for division in &self.divisions {
            let own: Vec<usize> = (0..boats.len()).filter(|&k| division.boats.contains(&boats[k])).collect();
            if own.is_empty() {
                continue;
            }
            let rows = if self.divisions_afresh {
                // Warnings about places were given for all the boats together.
                self.rows(&own.iter().map(|&k| boats[k]).collect::<Vec<_>>(), races, true, &mut Vec::new())?
            } else {
                own.iter().map(|&k| Row { boat: rows[k].boat, scores: rows[k].scores.clone() }).collect()
            };
            found.push(Group { name: format!("{fleet}{}", division.name), races: names(races), standings: ranked(&rows, exclusions) });
        }
        Ok(found)
    }

    /// How many scores are left out after so many races, telling when it would be all of them.
    fn exclusions(&self, name: &str, races: usize, warnings: &mut Vec<Warning>) -> usize {
        let exclusions = self.exclusions.of(races);
        if exclusions > 0 && exclusions >= races {
            let what = format!("exclusions: {exclusions}, races: {races}; each boat's best score still counts");
            warnings.push(Warning::new(name, what));
        }
        exclusions
    }

    /// The scores of these boats in these races, before exclusions.
    fn rows(&self, boats: &[usize], races: &[&Race], afresh: bool, warnings: &mut Vec<Warning>) -> Result<Vec<Row<'_>>, Error> {
        let by = Settings { edition: self.edition, starting_area_rule: self.starting_area_rule, afresh };
        let labels: Vec<&str> = boats.iter().map(|&at| self.boats[at].as_str()).collect();
        let mut scored: Vec<Vec<Scored>> = vec![Vec::with_capacity(races.len()); boats.len()];
        for race in races {
            let finishes: Vec<Finish> = boats.iter().map(|&at| race.finishes[at]).collect();
            let (scores, told) = scores(&race.name, &labels, &finishes, by)?;
            warnings.extend(told);
            for (boat, score) in scored.iter_mut().zip(scores) {
                boat.push(score);
            }
        }
        let mut rows = Vec::with_capacity(boats.len());
        for ((&at, boat), scores) in boats.iter().zip(labels).zip(scored) {
            let points = |(race, score): (usize, &Scored)| {
                let points = score.score.map_or_else(|| redress(boat, races[race], races[race].finishes[at], race, &scores), Ok)?;
                Ok((points, score.code))
            };
            let scores = scores.iter().enumerate().map(points).collect::<Result<Vec<_>, Error>>()?;
            rows.push(Row { boat, scores });
        }
        Ok(rows)
    }
}

/// A redress average (A9): to the nearest tenth, half up, over scores later excluded too. Other races that wait for an
/// average are left out of it: common practice, no source.
fn redress(boat: &str, race: &Race, finish: Finish, at: usize, scores: &[Scored]) -> Result<Decimal, Error> {
    let before = finish.decided == Some(Decided::MeanBefore);
    let wanted = |other: &usize| *other != at && (!before || *other < at);
    let others: Vec<Decimal> = (0..scores.len()).filter(wanted).filter_map(|other| scores[other].score).collect();
    if others.is_empty() {
        let which = if before { "earlier race" } else { "other race" };
        return Err(Error::new(
            format!("race {}, boat {boat}", race.name),
            format!("redress by average, and no {which} to average"),
            "give the points decided for her",
        ));
    }
    Ok(half_up(others.iter().sum::<Decimal>() / Decimal::from(others.len()), 1))
}

fn names(races: &[&Race]) -> Vec<String> {
    races.iter().map(|race| race.name.clone()).collect()
}

impl Finish {
    /// As on a results sheet, for a message: "place 3", "DSQ", "place 3 with SCP".
    pub(crate) fn words(&self) -> String {
        let points = match self.decided {
            Some(Decided::Points(points)) => format!(" {}", words(points)),
            _ => String::new(),
        };
        match (self.place, self.code) {
            (Some(place), None) => format!("place {place}"),
            (Some(place), Some(code)) => format!("place {place} with {code}{points}"),
            (None, Some(code)) => format!("{code}{points}"),
            (None, None) => "nothing".into(),
        }
    }
}
