//! Where every reader puts its points: one place that checks them, counts what is dropped and says it once.

use super::Limits;
use super::time::{Clock, Stamp};
use crate::error::TrackError;
use crate::record::{Fix, Track};
use jiff::tz::TimeZone;
use measure::quantity::KNOT;
use measure::{Position, Warning, counted};

/// 2010-01-01T00:00:00Z. Earlier than any recorder a child carries: a receiver that had not got the date, or one whose
/// week number has rolled over (1024 weeks, IS-GPS-200, paragraph 20.3.3.3.1.1). Assumed.
const EARLIEST: f64 = 1_262_304_000.0;
/// 2060-01-01T00:00:00Z. Assumed.
const LATEST: f64 = 2_840_140_800.0;
/// Seconds in the 1024 weeks after which the week number of GPS begins again.
const ROLLOVER: f64 = 1024.0 * 7.0 * 86_400.0;
/// Names are cut to this many characters.
const NAME: usize = 80;

/// Units that a speed without one may be in, m/s.
const UNITS: [(&str, f64); 4] = [("m/s", 1.0), ("knots", KNOT), ("km/h", 1.0 / 3.6), ("miles an hour", 1609.344 / 3600.0)];
/// Half of the way, in logarithm, between knots and miles an hour, the closest two of them.
const UNIT_DOUBT: f64 = 0.07;

/// Why a point was dropped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dropped {
    /// No time with it.
    Untimed,
    /// A time that cannot be read.
    Time,
    /// No position, or one that cannot be read.
    Place,
    /// Latitude and longitude both zero.
    Zero,
    /// Marked void while others are not.
    Void,
    /// A checksum that does not fit.
    Checksum,
    /// A line or record that cannot be read.
    Line,
}

/// Every reason with its words for one and for many.
const REASONS: [(Dropped, &str); 7] = [
    (Dropped::Untimed, "without a time: left out; what happened when cannot be told"),
    (Dropped::Time, "whose time cannot be read: left out"),
    (Dropped::Place, "without a position that can be read: left out"),
    (Dropped::Zero, "at latitude 0, longitude 0, where a recorder without reception writes them: left out"),
    (Dropped::Void, "marked void by the recorder: left out"),
    (Dropped::Checksum, "whose checksum does not fit: left out"),
    (Dropped::Line, "that cannot be read: left out"),
];

/// A point as a reader found it.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Found {
    pub(super) time: Option<Stamp>,
    pub(super) latitude: Option<f64>,
    pub(super) longitude: Option<f64>,
    /// m/s.
    pub(super) speed: Option<f64>,
    /// Degrees true.
    pub(super) course: Option<f64>,
    pub(super) void: bool,
}

/// The points of the track being read, and what to tell about the file.
pub(super) struct Points<'a> {
    file: String,
    format: String,
    name: Option<String>,
    fixes: Vec<Fix>,
    void: Vec<bool>,
    dropped: [usize; REASONS.len()],
    noted: Vec<String>,
    clock: Clock<'a>,
    total: usize,
    tracks: usize,
    empty: usize,
    full: bool,
    pub(super) limits: &'a Limits,
    take: &'a mut dyn FnMut(Track),
}

impl<'a> Points<'a> {
    pub(super) fn new(file: &str, timezone: Option<&'a TimeZone>, limits: &'a Limits, take: &'a mut dyn FnMut(Track)) -> Self {
        Self {
            file: file.to_owned(),
            format: String::new(),
            name: None,
            fixes: Vec::new(),
            void: Vec::new(),
            dropped: [0; REASONS.len()],
            noted: Vec::new(),
            clock: Clock::new(timezone),
            total: 0,
            tracks: 0,
            empty: 0,
            full: false,
            limits,
            take,
        }
    }
    /// The format in plain words: "GPX 1.1".
    pub(super) fn format(&mut self, format: impl Into<String>) {
        self.format = format.into();
    }
    /// The name the file gives the track; blank names are not taken.
    pub(super) fn name(&mut self, name: &str) {
        let name: String = name.split_whitespace().collect::<Vec<_>>().join(" ");
        let name: String = name.chars().filter(|c| !c.is_control()).take(NAME).collect();
        if !name.is_empty() {
            self.name = Some(name);
        }
    }
    /// Something to tell of this file, once.
    pub(super) fn note(&mut self, what: impl Into<String>) {
        let what = what.into();
        if !self.noted.contains(&what) {
            self.noted.push(what);
        }
    }
    /// Counts a point dropped.
    pub(super) fn drop(&mut self, why: Dropped) {
        self.dropped[why as usize] += 1;
    }
    /// Whether the file has given as many points or tracks as it may: its reader stops.
    pub(super) fn full(&self) -> bool {
        self.full
    }
    /// Takes a point as found.
    pub(super) fn push(&mut self, found: Found) {
        let (Some(latitude), Some(longitude)) = (found.latitude, found.longitude) else { return self.drop(Dropped::Place) };
        let Ok(position) = Position::degrees(latitude, longitude) else { return self.drop(Dropped::Place) };
        if latitude == 0.0 && longitude == 0.0 {
            return self.drop(Dropped::Zero);
        }
        let Some(stamp) = found.time else { return self.drop(Dropped::Untimed) };
        let Some(time) = self.clock.seconds(stamp) else { return self.drop(Dropped::Time) };
        if self.total >= self.limits.points {
            if !self.full {
                self.note(format!("more than {} points: the rest is left out; split the file", self.limits.points));
                self.full = true;
            }
            return;
        }
        self.total += 1;
        let speed = found.speed.filter(|v| v.is_finite() && (0.0..500.0).contains(v));
        let course = found.course.filter(|c| c.is_finite() && (-360.0..=360.0).contains(c)).map(|c| c.rem_euclid(360.0));
        self.fixes.push(Fix { time, position, speed, course });
        self.void.push(found.void);
    }
    /// Finds the unit of speeds that came without one by comparing them with the positions, or leaves them out.
    pub(super) fn settle_speed(&mut self) {
        let mut ratios: Vec<f64> = self
            .fixes
            .windows(2)
            .filter_map(|pair| {
                let (dt, speed) = (pair[1].time - pair[0].time, pair[1].speed?);
                let moved = pair[0].position.to(pair[1].position).0.si();
                (dt > 0.0 && dt <= 10.0 && moved > 0.5 * dt).then(|| speed * dt / moved)
            })
            .collect();
        if !self.fixes.iter().any(|f| f.speed.is_some()) {
            return;
        }
        ratios.sort_by(f64::total_cmp);
        let middle = ratios.get(ratios.len() / 2).copied().unwrap_or(0.0);
        let unit = UNITS.iter().find(|(_, si)| ratios.len() >= 20 && (middle * si).ln().abs() < UNIT_DOUBT);
        match unit {
            Some((name, si)) => {
                self.note(format!("its speed names no unit; compared with the positions it is in {name}"));
                self.fixes.iter_mut().for_each(|f| f.speed = f.speed.map(|v| v * si));
            }
            None => {
                self.note("its speed names no unit and the positions cannot tell it: left out");
                self.fixes.iter_mut().for_each(|f| f.speed = None);
            }
        }
    }
    /// Ends a track: hands it on if it holds points.
    pub(super) fn end(&mut self) {
        let name = self.name.take();
        let mut fixes = std::mem::take(&mut self.fixes);
        let void = std::mem::take(&mut self.void);
        let voids = void.iter().filter(|v| **v).count();
        if voids > 0 && voids * 2 < void.len() {
            let mut keep = void.iter().map(|v| !v);
            fixes.retain(|_| keep.next().unwrap_or(true));
            self.dropped[Dropped::Void as usize] += voids;
        } else if voids > 0 {
            self.note("its points are marked void (no valid fix) and yet hold positions, as some converters write them: read all the same");
        }
        if fixes.is_empty() {
            self.empty += 1;
            return;
        }
        if self.tracks >= self.limits.tracks {
            self.note(format!("more than {} tracks: the rest is left out", self.limits.tracks));
            self.full = true;
            return;
        }
        self.tracks += 1;
        self.dates(&fixes);
        let stem = stem(&self.file);
        let name = name.unwrap_or_else(|| if self.tracks == 1 { stem.to_owned() } else { format!("{stem} {}", self.tracks) });
        (self.take)(Track { name, format: self.format.clone(), fixes });
    }
    /// Says what is odd about the dates of a track.
    fn dates(&mut self, fixes: &[Fix]) {
        let early = fixes.iter().filter(|f| f.time < EARLIEST).count();
        let late = fixes.iter().filter(|f| f.time > LATEST).count();
        if early == 0 && late == 0 {
            return;
        }
        let odd = fixes.iter().find(|f| f.time < EARLIEST || f.time > LATEST).map_or(0.0, |f| f.time);
        let day = super::time::day(odd);
        if early == fixes.len() && odd + ROLLOVER > EARLIEST && odd > 86_400.0 * 365.0 {
            self.note(format!(
                "all its points are dated about {day}: if the receiver's week number has rolled over, the true day is {}; clocks within it still hold",
                super::time::day(odd + ROLLOVER)
            ));
        } else if early > 0 {
            self.note(format!("{} dated as early as {day}: the recorder had not got the date yet", counted(early, "point")));
        }
        if late > 0 {
            self.note(format!("{} dated as late as {day}: the recorder's date is wrong", counted(late, "point")));
        }
    }
    /// Ends the file: the reasons for all that was dropped.
    pub(super) fn finish(mut self) -> Result<Vec<Warning>, TrackError> {
        if !self.fixes.is_empty() {
            self.end();
        }
        if let (0, Some(first)) = (self.tracks, self.clock.unzoned.take()) {
            return Err(TrackError::NeedsTimezone { file: self.file, first });
        }
        let mut said = std::mem::take(&mut self.noted);
        if self.clock.unzoned.is_some() {
            said.push("some times name no timezone while others do: those points are left out; give the timezone to keep them".to_owned());
        }
        for (why, words) in REASONS {
            let n = self.dropped[why as usize];
            let thing = match why {
                Dropped::Checksum | Dropped::Line => "line",
                _ => "point",
            };
            match n {
                0 => {}
                1 => said.push(format!("1 {thing} {words}")),
                n => said.push(format!("{n} {thing}s {words}")),
            }
        }
        match self.empty {
            0 => {}
            1 => said.push("1 track holds no points that can be used".to_owned()),
            n => said.push(format!("{n} tracks hold no points that can be used")),
        }
        if self.tracks == 0 && said.is_empty() {
            said.push("it holds no track".to_owned());
        }
        Ok(said.into_iter().map(|what| Warning::new(self.file.clone(), what)).collect())
    }
}

/// A file's name without folder and endings.
fn stem(file: &str) -> &str {
    let base = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let base = base.strip_suffix(".gz").unwrap_or(base);
    match base.rfind('.') {
        Some(at) if at > 0 => &base[..at],
        _ => base,
    }
}
