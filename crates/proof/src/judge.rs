//! Holds a part of the program against a table of cases: how many failed, and the distribution of the errors.

use std::fs;
use std::path::PathBuf;

use anyhow::{Context, Result, bail};
use clap::{Args, ValueEnum};
use measure::Position;
use serde_json::{Value, json};

/// Which part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kind {
    /// Lift and induced drag of straight wings
    Wing,
    /// Volume, centres and righting arm of a heeled hull
    Hull,
    /// Distance and bearing on the earth
    Geodesic,
    /// Low point scores, ranks and exclusions; a case agrees (0) or does not (1)
    Scoring,
    /// What settings were worth in passes side by side: against `# expect` lines, or against the model solved another way
    Passes,
}

/// What to judge by which table.
#[derive(Debug, Args)]
pub(crate) struct Judge {
    /// The part
    kind: Kind,
    /// The table
    file: PathBuf,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

/// Relative error of lift that is no failure: twice that of the table's extrapolation at 60 stations.
const LIFT: f64 = 0.005;
/// The same of induced drag, which goes as lift squared.
const DRAG: f64 = 0.01;
/// Relative error of a hull's figures that is no failure: a table from fine quadrature, quoted to four digits.
const HULL: f64 = 0.001;
/// Relative error of a distance that is no failure: a hair on a kilometre, far below any recorder.
const DISTANCE: f64 = 1e-7;
/// Error of a bearing that is no failure, degrees: a millimetre at fifty metres.
const BEARING: f64 = 1e-3;

/// Error of an effect, as a share of its standard error, of a standard error and of degrees of freedom, as shares of themselves, and of p that
/// is no failure: tables quote four digits.
const EFFECT: f64 = 1e-3;

/// One figure judged: its name, its errors, how many of them are too large.
struct Figure {
    name: &'static str,
    errors: Vec<f64>,
}

/// The verdict on a table.
struct Verdict {
    cases: usize,
    failed: usize,
    figures: Vec<Figure>,
}

impl Judge {
    /// Prints the verdict. True when no case failed.
    pub(crate) fn run(&self) -> Result<bool> {
        let text = fs::read_to_string(&self.file).with_context(|| format!("cannot read {}", self.file.display()))?;
        let verdict = match self.kind {
            Kind::Wing => wing(&text)?,
            Kind::Hull => hull(&text)?,
            Kind::Geodesic => geodesic(&text)?,
            Kind::Scoring => scoring(&text)?,
            Kind::Passes => passes(&text)?,
        };
        if verdict.cases == 0 {
            bail!("{}: it holds no case", self.file.display());
        }
        if self.json {
            println!("{:#}", verdict.json())
        } else {
            verdict.print()
        }
        Ok(verdict.failed == 0)
    }
}

impl Verdict {
    /// The figures' distributions, and that of all errors together.
    fn rows(&self) -> Vec<(&'static str, [f64; 3])> {
        let all = self.figures.iter().flat_map(|figure| figure.errors.iter().copied()).collect::<Vec<_>>();
        let mut rows: Vec<_> = self.figures.iter().map(|figure| (figure.name, spread(&figure.errors))).collect();
        rows.push(("all", spread(&all)));
        rows
    }

    fn json(&self) -> Value {
        let mut document = json!({"cases": self.cases, "failed": self.failed});
        for (name, [q75, q99, max]) in self.rows() {
            let row = json!({"q75": q75, "q99": q99, "max": max});
            if name == "all" {
                for key in ["q75", "q99", "max"] {
                    document[key] = row[key].clone();
                }
            } else {
                document[name] = row;
            }
        }
        document
    }

    fn print(&self) {
        println!("{} cases, {} failed", self.cases, self.failed);
        println!("{:<24} {:>10} {:>10} {:>10}", "error", "q75", "q99", "max");
        for (name, [q75, q99, max]) in self.rows() {
            println!("{name:<24} {q75:>10.2e} {q99:>10.2e} {max:>10.2e}");
        }
    }
}

/// Upper quartile, 99th percentile and maximum, each the error of a case.
fn spread(errors: &[f64]) -> [f64; 3] {
    let mut sorted = errors.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |share: f64| {
        let place = (share * sorted.len() as f64).ceil() as usize;
        sorted.get(place.saturating_sub(1)).copied().unwrap_or(f64::INFINITY)
    };
    [at(0.75), at(0.99), at(1.0)]
}

fn wing(text: &str) -> Result<Verdict> {
    let cases = boat::sail::judge::judge_wing(text)?;
    let errors: Vec<[f64; 2]> = cases.iter().map(|case| case.errors().unwrap_or([f64::INFINITY; 2])).collect();
    let failed = errors.iter().filter(|[lift, drag]| *lift > LIFT || *drag > DRAG).count();
    let figure = |name, place: usize| Figure { name, errors: errors.iter().map(|e| e[place]).collect() };
    Ok(Verdict { cases: cases.len(), failed, figures: vec![figure("CL_relative", 0), figure("CDi_relative", 1)] })
}

fn hull(text: &str) -> Result<Verdict> {
    /// Names of the seven figures of a heel, in the order of the table.
    const FIGURES: [&str; 7] = ["volume", "centre_y", "centre_z", "waterline_z", "level_centre_y", "level_centre_z", "righting_arm"];
    let cases = boat::hull::judge::judge_hull(text)?;
    let errors: Vec<[f64; 7]> = cases.iter().map(|case| case.errors().unwrap_or([f64::INFINITY; 7])).collect();
    let failed = errors.iter().filter(|case| case.iter().any(|error| *error > HULL)).count();
    let figure = |(place, name)| Figure { name, errors: errors.iter().map(|case| case[place]).collect() };
    Ok(Verdict { cases: cases.len(), failed, figures: FIGURES.into_iter().enumerate().map(figure).collect() })
}

fn scoring(text: &str) -> Result<Verdict> {
    let verdict = regatta::scoring::judge(text)?;
    for message in &verdict.messages {
        eprintln!("{message}");
    }
    let errors = (0..verdict.cases).map(|case| if case < verdict.failed { 1.0 } else { 0.0 }).collect();
    Ok(Verdict { cases: verdict.cases, failed: verdict.failed, figures: vec![Figure { name: "disagrees", errors }] })
}

fn passes(text: &str) -> Result<Verdict> {
    /// Names of the figures of an effect, in the order of the cases.
    const FIGURES: [&str; 4] = ["difference_per_sd", "sd_relative", "df_relative", "p"];
    let cases = evidence::judge::judge_passes(text)?;
    let failed = cases.iter().filter(|case| !case.iter().flatten().all(|error| *error <= EFFECT)).count();
    let figure = |(place, name): (usize, &'static str)| Figure { name, errors: cases.iter().filter_map(|case| case[place]).collect() };
    let figures = FIGURES.into_iter().enumerate().map(figure).filter(|figure| !figure.errors.is_empty());
    Ok(Verdict { cases: cases.len(), failed, figures: figures.collect() })
}

fn geodesic(text: &str) -> Result<Verdict> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let names = reader.headers()?.clone();
    let mut places = Vec::new();
    for name in ["lat1", "lon1", "lat2", "lon2", "s12_m_geographiclib", "azi1_deg"] {
        let place = names.iter().position(|n| n.trim() == name);
        places.push(place.with_context(|| format!("the table has no column {name}"))?);
    }
    let mut distances = Vec::new();
    let mut bearings = Vec::new();
    for row in reader.records() {
        let row = row?;
        let line = row.position().map_or(0, csv::Position::line);
        let mut numbers = [0.0; 6];
        for (number, place) in numbers.iter_mut().zip(&places) {
            let cell = row.get(*place).unwrap_or_default().trim();
            *number = cell.parse().with_context(|| format!("line {line}: found {cell:?}, expected a number"))?;
        }
        let [lat1, lon1, lat2, lon2, s12, azimuth] = numbers;
        let (distance, bearing) = Position::degrees(lat1, lon1)?.to(Position::degrees(lat2, lon2)?);
        distances.push((distance.si() - s12).abs() / s12.abs().max(1.0));
        bearings.push(((bearing.in_degrees() - azimuth + 540.0).rem_euclid(360.0) - 180.0).abs());
    }
    let failed = distances.iter().zip(&bearings).filter(|(d, b)| !(**d <= DISTANCE && **b <= BEARING)).count();
    let cases = distances.len();
    let figures = vec![Figure { name: "distance_relative", errors: distances }, Figure { name: "bearing_deg", errors: bearings }];
    Ok(Verdict { cases, failed, figures })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_spread_is_that_of_cases() {
        let errors: Vec<f64> = (1..=100).rev().map(f64::from).collect();
        assert_eq!(spread(&errors), [75.0, 99.0, 100.0]);
        assert_eq!(spread(&[2.0]), [2.0; 3]);
    }

    /// The first line of the table told, or another; without one the two ways agree.
    #[test]
    fn a_wrong_effect_fails() {
        let table = include_str!("../../evidence/tests/published/mixed_lineup.csv");
        let line = |mean: f64| format!("# expect: B,{mean},0.0074178,9.997,0.0265\n{table}");
        let verdict = |text: &str| passes(text).map(|v| (v.cases, v.failed)).unwrap();
        assert_eq!(verdict(&line(0.0192829)), (1, 0));
        assert_eq!(verdict(&line(0.0193829)), (1, 1));
        assert_eq!(verdict(table), (1, 0));
        assert!(passes("pass,sailor\n").is_err());
    }

    /// A degree of the meridian at the equator is 110 574.3886 m. Source: GeographicLib 2.1, WGS 84.
    #[test]
    fn a_wrong_distance_fails() {
        let head = "lat1,lon1,lat2,lon2,s12_m_geographiclib,azi1_deg\n";
        let right = geodesic(&format!("{head}0,0,1,0,110574.3885578,0\n")).unwrap();
        assert_eq!((right.cases, right.failed), (1, 0));
        let wrong = geodesic(&format!("{head}0,0,1,0,110575.4,0\n")).unwrap();
        assert_eq!((wrong.cases, wrong.failed), (1, 1));
        assert!(geodesic("lat1,lon1\n").is_err());
    }
}
