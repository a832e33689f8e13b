//! `polar`: speed by angle and wind.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Mutex;

use anyhow::{Context, Result, bail};
use boat::balance::{Status, Tack};
use boat::polar::{Best, Course, polar};
use boat::setup::{Leg, Request};
use clap::Args;
use measure::angle::DEGREE;
use measure::quantity::KNOT;
use measure::wind::WIND_RANGE;
use serde::Serialize;
use trimwright::drawing::polar::{Curve, picture};

use super::day::{Body, Day, OfClass, Weather, number};
use crate::jobs::Progress;
use crate::output::{Done, Shown, WholeFile, show};
use crate::table::Rows;

/// Angles of the table, degrees.
const ANGLES: [f64; 15] = [38.0, 42.0, 46.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 120.0, 135.0, 150.0, 165.0, 178.0];

/// Speed by angle and wind, every course at its best setting in a steady wind
#[derive(Debug, Args)]
#[command(
    after_help = "Example, a table for three winds, and a picture of it:\n  $ trimwright polar --mass 45 --wind 6,10,14 --out polar.svg"
)]
pub(crate) struct PolarOf {
    #[command(flatten)]
    class: OfClass,
    #[command(flatten)]
    body: Body,
    /// Winds in knots, with commas
    #[arg(long, value_name = "KN,KN,..", default_value = "6,10,14")]
    wind: String,
    /// Height above the water at which those winds are told, in metres
    #[arg(long, value_name = "M", default_value = "10")]
    wind_height: f64,
    /// Also writes a file: a table as CSV, or a picture as SVG, by its ending
    #[arg(long, value_name = "FILE.csv|FILE.svg")]
    out: Option<PathBuf>,
}

#[derive(Debug, Serialize)]
struct Document {
    class: String,
    rows: Vec<Row>,
    best: Vec<BestRow>,
}

#[derive(Debug, Serialize)]
struct Row {
    tws_ms: f64,
    twa_deg: f64,
    speed_ms: Option<f64>,
    status: &'static str,
}

#[derive(Debug, Serialize)]
struct BestRow {
    tws_ms: f64,
    leg: &'static str,
    twa_deg: Option<f64>,
    vmg_ms: Option<f64>,
    status: &'static str,
}

const fn status<T>(answer: &Result<T, Status>) -> &'static str {
    match answer {
        Ok(_) => "solved",
        Err(status) => status.words(),
    }
}

impl From<&Course> for Row {
    fn from(c: &Course) -> Self {
        Self { tws_ms: c.wind, twa_deg: c.angle / DEGREE, speed_ms: c.speed.ok(), status: status(&c.speed) }
    }
}

impl From<&Best> for BestRow {
    fn from(b: &Best) -> Self {
        Self {
            tws_ms: b.wind,
            leg: b.leg.name(),
            twa_deg: b.found.ok().map(|f| f.0 / DEGREE),
            vmg_ms: b.found.ok().map(|f| f.1),
            status: status(&b.found),
        }
    }
}

/// What kind of file was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Csv,
    Svg,
}

impl PolarOf {
    fn kind(&self) -> Result<Option<Kind>> {
        let Some(path) = &self.out else { return Ok(None) };
        match path.extension().and_then(|e| e.to_str()) {
            Some("csv") => Ok(Some(Kind::Csv)),
            Some("svg") => Ok(Some(Kind::Svg)),
            _ => bail!("--out {}: end its name in .csv for a table or .svg for a picture", path.display()),
        }
    }

    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let class = self.class.read()?;
        let sailor = self.body.read()?;
        let kind = self.kind()?;
        let mut given = self.wind.split(',').map(|w| number(w, &WIND_RANGE, KNOT)).collect::<Result<Vec<_>, _>>().context("--wind")?;
        given.retain(|w| *w > 0.0);
        given.sort_by(f64::total_cmp);
        given.dedup();
        if given.is_empty() {
            bail!("--wind {}: no wind, no speed; give winds in knots with commas, like 6,10,14", self.wind);
        }
        if !(0.5..=30.0).contains(&self.wind_height) {
            bail!("--wind-height {}: give metres above the water, 0.5 to 30", self.wind_height);
        }
        let day = |wind: &f64| Weather::of(&format!("{wind} m/s")).read().map(|day| Day { height: self.wind_height, ..day });
        let days = given.iter().map(day).collect::<Result<Vec<Day>>>()?;
        let boat = days[0].boat(&class, None)?;
        let file = self.out.as_deref().map(WholeFile::open).transpose()?;
        let conditions = days[0].conditions(1.0, Tack::Starboard);
        let request = Request { boat: &boat, sailor, conditions, gusts: 1.0, reach: None, bands: false };
        let winds: Vec<_> = days.iter().map(|d| d.conditions(1.0, Tack::Starboard).wind).collect();
        let progress = Mutex::new(Progress::of("solving courses", winds.len() * ANGLES.len()));
        let step = || {
            if let Ok(mut progress) = progress.lock() {
                progress.step();
            }
            true
        };
        let angles = ANGLES.map(|a| a * DEGREE);
        let solved = polar(&request, &winds, &angles, &step).context("stopped")?;
        drop(progress);
        let document = Document {
            class: class.name.clone(),
            rows: solved.courses.iter().map(Row::from).collect(),
            best: solved.best.iter().map(BestRow::from).collect(),
        };
        match (file, kind) {
            (Some(file), Some(Kind::Csv)) => file.finish(csv(&document).as_bytes())?,
            (Some(file), Some(Kind::Svg)) => file.finish(svg(&document, &given, self.wind_height).as_bytes())?,
            _ => {}
        }
        show(shown, &document, || table(&document, &given, self.wind_height))?;
        Ok(if document.rows.iter().all(|r| r.speed_ms.is_some()) { Done::Whole } else { Done::InPart })
    }
}

/// The table other commands read: `debrief --polar`.
fn csv(document: &Document) -> String {
    let mut text = "tws_ms,twa_deg,speed_ms\n".to_owned();
    for row in &document.rows {
        if let Some(speed) = row.speed_ms {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{:.3},{:.1},{speed:.4}", row.tws_ms, row.twa_deg);
        }
    }
    text
}

fn svg(document: &Document, given: &[f64], height: f64) -> String {
    let curves: Vec<Curve> = by_wind(document)
        .zip(given)
        .map(|((rows, best), wind)| Curve {
            label: format!("{:.0} kn", wind / KNOT),
            points: rows.iter().filter_map(|r| r.speed_ms.map(|s| (r.twa_deg * DEGREE, s / KNOT))).collect(),
            best: best.iter().filter_map(|b| Some((b.twa_deg? * DEGREE, b.vmg_ms? / KNOT / (b.twa_deg? * DEGREE).cos().abs()))).collect(),
        })
        .collect();
    picture(&format!("{}: speed in knots by angle to the wind; wind at {height} m", document.class), &curves).svg()
}

/// Rows and best courses of each wind.
fn by_wind(document: &Document) -> impl Iterator<Item = (&[Row], &[BestRow])> {
    document.rows.chunks(ANGLES.len()).zip(document.best.chunks(2))
}

fn table(document: &Document, given: &[f64], height: f64) -> String {
    let mut text = format!("{}: knots by angle to the wind in degrees; wind in knots at {height} m\n\n", document.class);
    let heads: Vec<String> = given.iter().map(|w| format!(">{:.0} kn", w / KNOT)).collect();
    let mut head = vec![">angle"];
    head.extend(heads.iter().map(String::as_str));
    let mut rows = Rows::under(&head);
    let per_wind: Vec<_> = by_wind(document).collect();
    for (i, angle) in ANGLES.iter().enumerate() {
        let cell = |r: &Row| r.speed_ms.map_or_else(|| r.status.to_owned(), |s| format!("{:.2}", s / KNOT));
        rows.push(std::iter::once(format!("{angle:.0}")).chain(per_wind.iter().map(|w| cell(&w.0[i]))));
    }
    for (k, leg) in [Leg::Beat, Leg::Run].into_iter().enumerate() {
        let cell = |b: &BestRow| match (b.twa_deg, b.vmg_ms) {
            (Some(angle), Some(good)) => format!("{:.2} good at {angle:.0}", good.abs() / KNOT),
            _ => b.status.to_owned(),
        };
        rows.push(std::iter::once(leg.name().to_owned()).chain(per_wind.iter().map(|w| cell(&w.1[k]))));
    }
    text += &rows.text();
    text += "\nBy the model, in flat water and steady wind; nobody has measured this boat.\n";
    text
}
