//! `course`: where the buoys lie to what is sailed: legs and times, the start line, laylines and roundings.

mod boat;
mod day;
mod document;
mod table;

use std::path::PathBuf;

use anyhow::{Context, Result, anyhow, bail};
use clap::{Args, ValueEnum};
use jiff::civil::Date;
use measure::{Length, Position, Warning};
use regatta::course::{Course, CourseKind, Given, Order, Side, Sketch, position};
use regatta::declination::Declination;
use regatta::start::Sequence;
use trimwright::race_day::found::Found;
use trimwright::race_day::laid::{of_file, points_off};
use trimwright::race_day::wind::Compass;

use super::day::{Units, number};
use crate::input;
use crate::output::{Done, Shown, WholeFile, show, warn};
use boat::OfBoat;
use day::OfDay;
use document::Document;

/// Race day: the legs of a course with their times, the start line, laylines and roundings, in this wind and current
///
/// Buoys come from a file (GPX waypoints, GeoJSON points, or text with a line for each buoy such as "windward: 52 30.5 N 5 07.2 E" or "leeward:
/// 183 M, 350 m from windward"), from --buoy, or from a sketch. Their names say what they are for: windward, offset, wing, leeward, gate, pin,
/// committee boat, finish. The boat is a class with a sailor (--mass), or a polar.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, buoys from a file and a sketch with a current:\n  $ trimwright course data/courses/example.txt --wind 330,10 --mass 45\n  $ trimwright course --sketch triangle --wind 250,8 --current 90,0.3 --mass 45 --out course.pdf"
)]
pub(crate) struct CourseOf {
    /// Where the buoys lie
    file: Option<PathBuf>,
    /// One buoy more, as in the file
    #[arg(long, value_name = "NAME: PLACE")]
    buoy: Vec<String>,
    /// A course drawn instead of buoys read
    #[arg(long, value_enum, value_name = "KIND", conflicts_with_all = ["file", "buoy"])]
    sketch: Option<Drawn>,
    /// The kind of course, where the buoys' names leave it open
    #[arg(long, value_enum, conflicts_with = "sketch")]
    kind: Option<Drawn>,
    /// Where the sketch's beat points, in degrees; without it into the wind
    #[arg(long, value_name = "DEG", requires = "sketch")]
    axis: Option<String>,
    /// From the sketch's start line to its windward course mark, in metres
    #[arg(long, value_name = "M", default_value = "400", requires = "sketch")]
    beat: String,
    /// The sketch's start line, in metres
    #[arg(long, value_name = "M", default_value = "40", requires = "sketch")]
    line: String,
    /// A leeward gate in the sketch
    #[arg(long, requires = "sketch")]
    gate: bool,
    /// An offset in the sketch
    #[arg(long, requires = "sketch")]
    offset: bool,
    /// Where the middle of the sketch's start line lies, like "52 30.5 N 5 07.2 E"
    #[arg(long, value_name = "POSITION", requires = "sketch", allow_hyphen_values = true)]
    place: Option<String>,
    /// How many times round; without it twice up and down, or once round a triangle or a trapezoid
    #[arg(long)]
    laps: Option<usize>,
    /// The order of the sailing instructions by the buoys' names, like start,windward,leeward,windward,finish
    #[arg(long, value_name = "NAMES", conflicts_with = "sketch")]
    order: Option<String>,
    /// On which side course marks are left
    #[arg(long, value_enum, default_value_t = LeftTo::Port)]
    leave: LeftTo,
    #[command(flatten)]
    day: OfDay,
    #[command(flatten)]
    boat: OfBoat,
    /// The day of the race, for the compass; without it today
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,
    /// The signals before the start
    #[arg(long, value_enum, default_value_t = Signals::Rule26)]
    signals: Signals,
    /// Units of lengths in the table, on the sheet and on the chart
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    units: Units,
    /// Also writes a file: the race-day sheet as PDF, or the chart of the course as SVG, by its ending
    #[arg(long, value_name = "FILE.pdf|FILE.svg")]
    out: Option<PathBuf>,
}

/// Kinds of course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Drawn {
    /// Up and down.
    WindwardLeeward,
    /// Up, two reaches, up.
    Triangle,
    /// Up, out, down and in.
    Trapezoid,
}

impl From<Drawn> for CourseKind {
    fn from(drawn: Drawn) -> Self {
        match drawn {
            Drawn::WindwardLeeward => Self::WindwardLeeward,
            Drawn::Triangle => Self::Triangle,
            Drawn::Trapezoid => Self::Trapezoid,
        }
    }
}

/// Port or starboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LeftTo {
    /// Boats turn left.
    Port,
    /// Boats turn right.
    Starboard,
}

/// The signals of a start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Signals {
    /// Five, four, one and none.
    #[value(name = "rule-26")]
    Rule26,
    /// A practice start by whistle.
    #[value(name = "3-2-1")]
    Practice,
}

impl From<Signals> for Sequence {
    fn from(signals: Signals) -> Self {
        match signals {
            Signals::Rule26 => Self::Rule26,
            Signals::Practice => Self::Practice,
        }
    }
}

/// What kind of file was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Pdf,
    Svg,
}

impl CourseOf {
    fn kind_of_file(&self) -> Result<Option<Kind>> {
        let Some(path) = &self.out else { return Ok(None) };
        match path.extension().and_then(|e| e.to_str()) {
            Some("pdf") => Ok(Some(Kind::Pdf)),
            Some("svg") => Ok(Some(Kind::Svg)),
            _ => bail!("--out {}: end its name in .pdf for the sheet or .svg for the chart", path.display()),
        }
    }

    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let kind = self.kind_of_file()?;
        let mut warnings = Vec::new();
        let given = self.given(&mut warnings)?;
        let place = self.place.as_deref().map(position).transpose().context("--place")?;
        let first = given.iter().find_map(|g| if let regatta::course::Place::Position(p) = g.place { Some(p) } else { None });
        let here = place.or(first).map(|p| self.declination(p)).transpose()?;
        let compass = Compass { declination: here };
        let wind = self.day.read(&compass)?;
        let day = wind.day;
        let side = if self.leave == LeftTo::Port { Side::Port } else { Side::Starboard };
        let names = self.order.as_deref().map_or_else(Vec::new, |o| o.split(',').map(|n| n.trim().to_owned()).collect());
        let order = Order { kind: self.kind.map(Into::into), laps: self.laps, side, names };
        let out = self.out.as_deref().map(WholeFile::open).transpose()?;
        let boat = self.boat.read(&day, &mut warnings)?;
        let course = match self.sketch {
            Some(kind) => self.sketched(kind.into(), place, &compass, &day, boat.length)?.course(&order),
            None => Course::of(&given, &|p| self.declination(p).map_err(|e| e.downcast().unwrap_or_else(|e| fault(&e))), &order),
        };
        let course = course.map_err(|e| anyhow!("{e}"))?;
        warnings.extend(course.warnings);
        let found = Found::of(course.value, wind, boat, compass, self.signals.into()).map_err(boat::stuck)?;
        warnings.extend(found.warnings.iter().cloned());
        let document = Document::of(&found, &warnings);
        let long = self.units.long();
        match (out, kind) {
            (Some(out), Some(Kind::Pdf)) => {
                let page = found.page(long);
                out.finish(&trimwright::cards::race_day_pdf(&[page]).context("printing the race-day sheet")?)?;
            }
            (Some(out), _) => out.finish(trimwright::drawing::course::course(&found.chart(long), 200.0, 200.0).svg().as_bytes())?,
            _ => {}
        }
        show(shown, &document, || table::table(&found, long))?;
        warn(&warnings);
        Ok(Done::with(&warnings))
    }

    /// The buoys of the file and of the options.
    fn given(&self, warnings: &mut Vec<Warning>) -> Result<Vec<Given>> {
        let mut given = Vec::new();
        if let Some(path) = &self.file {
            let bytes = input::bytes(path)?;
            let name = path.display().to_string();
            let start = bytes.iter().copied().find(|b| !b.is_ascii_whitespace() && !matches!(b, 0xEF | 0xBB | 0xBF));
            if matches!(start, Some(b'<' | b'{')) {
                let read = of_file(&name, &bytes)?;
                warnings.extend(read.warnings);
                given.extend(read.value);
            } else {
                given.extend(Given::list(&input::text(path)?).map_err(|e| anyhow!("{name}, {e}"))?);
            }
        }
        for text in &self.buoy {
            given.push(Given::read(text).map_err(|e| anyhow!("--buoy {e}"))?);
        }
        if given.is_empty() && self.sketch.is_none() {
            bail!("no course: name a file of buoys, give --buoy, or draw one with --sketch windward-leeward");
        }
        Ok(given)
    }

    fn declination(&self, at: Position) -> Result<Declination> {
        Ok(points_off(at, self.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date()))?)
    }

    fn sketched(
        &self,
        kind: CourseKind,
        place: Option<Position>,
        compass: &Compass,
        day: &regatta::sailing::Day,
        boat: f64,
    ) -> Result<Sketch> {
        let metres = |text: &str| number(text, &Length::RANGE, 1.0).map(Length::metres);
        Ok(Sketch {
            kind,
            axis: self.axis.as_deref().map_or(Ok(day.wind_from), |a| compass.read(a)).context("--axis")?,
            beat: metres(&self.beat).context("--beat")?,
            line: metres(&self.line).context("--line")?,
            boat: Length::metres(boat),
            gate: self.gate,
            offset: self.offset,
            place,
        })
    }
}

/// An error of the domain that came through another's hands.
fn fault(error: &anyhow::Error) -> regatta::Error {
    regatta::Error { place: "declination".to_owned(), found: format!("{error:#}"), remedy: "give --date within 2020 to 2029".to_owned() }
}
