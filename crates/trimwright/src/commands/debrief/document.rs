//! The debrief as a document: what each boat's track holds.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use measure::Warning;
use measure::quantity::plain;
use serde::{Serialize, Serializer};

use crate::table::Rows;

/// All boats of an outing.
#[derive(Debug, Serialize)]
pub(super) struct Document {
    pub(super) boats: Vec<Boat>,
    pub(super) warnings: Vec<String>,
}

/// One boat's track, cleaned.
#[derive(Debug, Serialize)]
pub(super) struct Boat {
    pub(super) track: String,
    pub(super) file: String,
    pub(super) format: String,
    #[serde(serialize_with = "utc")]
    pub(super) start: i64,
    #[serde(serialize_with = "utc")]
    pub(super) end: i64,
    /// Seconds between its points.
    pub(super) interval_s: f64,
    pub(super) sailed_s: usize,
    pub(super) standing_s: usize,
    /// By car, or behind a motor boat.
    pub(super) carried_s: usize,
    /// Without a point.
    pub(super) missing_s: usize,
    /// Sailed, over the ground.
    pub(super) distance_m: f64,
    pub(super) warnings: Vec<String>,
}

impl Document {
    pub(super) fn of(boats: Vec<Boat>, warnings: &[Warning]) -> Self {
        Self { boats, warnings: warnings.iter().map(ToString::to_string).collect() }
    }

    /// To read; times in the timezone given, or UTC.
    pub(super) fn table(&self, timezone: Option<&TimeZone>) -> String {
        let zone = timezone.cloned().unwrap_or(TimeZone::UTC);
        let clock = |second: i64, form: &str| match Timestamp::from_second(second) {
            Ok(time) => time.to_zoned_datetime(zone.clone()).strftime(form).to_string(),
            Err(_) => "?".to_owned(),
        };
        let minutes = |seconds: usize| plain((seconds as f64 / 6.0).round() / 10.0);
        let mut rows =
            Rows::under(&["track", "file", "format", "from", "to", ">sailed min", ">still", ">carried", ">missing", ">metres", ">every s"]);
        for boat in &self.boats {
            rows.push([
                boat.track.clone(),
                boat.file.clone(),
                boat.format.clone(),
                clock(boat.start, "%Y-%m-%d %H:%M:%S"),
                clock(boat.end, "%H:%M:%S %Z"),
                minutes(boat.sailed_s),
                minutes(boat.standing_s),
                minutes(boat.carried_s),
                minutes(boat.missing_s),
                format!("{:.0}", boat.distance_m),
                plain(boat.interval_s),
            ]);
        }
        rows.text()
    }
}

/// A second as RFC 3339 in UTC.
fn utc<S: Serializer>(second: &i64, serializer: S) -> Result<S::Ok, S::Error> {
    match Timestamp::from_second(*second) {
        Ok(time) => serializer.serialize_str(&time.to_string()),
        Err(_) => serializer.serialize_none(),
    }
}
