//! NMEA 0183 sentences as a receiver or logger writes them: RMC, GGA, GLL, GNS, VTG and ZDA of any talker.
//!
//! Source: the public notes on NMEA 0183 by the maintainers of an open receiver daemon ("NMEA Revealed"). RMC and ZDA carry the
//! date, the others the time of day alone. Read here and not by a library, because void fixes that still hold a
//! position, minutes written 60.000 and a date carried over midnight must all survive.

use super::number::decimal;
use super::points::{Dropped, Found, Points};
use super::text::line;
use super::time;
use jiff::civil::Date;
use measure::quantity::KNOT;
use std::io::BufRead;

/// Whether a sample has a sentence near its start.
pub(super) fn looks(sample: &str) -> bool {
    sample.lines().take(20).any(|line| {
        line.find('$').is_some_and(|at| {
            let rest = &line.as_bytes()[at + 1..];
            rest.len() > 6 && rest[..5].iter().all(u8::is_ascii_alphanumeric) && rest[5] == b','
        })
    })
}

pub(super) fn read(bytes: &mut impl BufRead, points: &mut Points<'_>) {
    points.format("NMEA 0183");
    let mut log = Log::default();
    let mut text = String::new();
    while !points.full() && line(bytes, &mut text, points) {
        if text.trim().is_empty() {
            continue;
        }
        match sentence(&text) {
            Ok(sentence) => log.take(sentence, points),
            Err(why) => points.drop(why),
        }
    }
    log.flush(points);
    if log.undated > 0 {
        points.note("its sentences carry no date (RMC or ZDA): export with RMC sentences");
    }
}

/// The part of a sentence between `$` and `*`, its checksum checked where there is one.
fn sentence(line: &str) -> Result<&str, Dropped> {
    let start = line.find('$').ok_or(Dropped::Line)? + 1;
    let body = line[start..].trim_end();
    let Some(star) = body.rfind('*') else { return Ok(body) };
    let (body, sum) = (&body[..star], &body[star + 1..]);
    let stated = sum.get(..2).and_then(|s| u8::from_str_radix(s, 16).ok()).ok_or(Dropped::Checksum)?;
    if body.bytes().fold(0, |a, b| a ^ b) == stated { Ok(body) } else { Err(Dropped::Checksum) }
}

/// Everything said of one moment.
#[derive(Debug, Clone, Copy, Default)]
struct Moment {
    clock: Option<f64>,
    date: Option<Date>,
    found: Found,
    /// RMC's word on whether the fix is void, and that of the other sentences.
    void: (Option<bool>, Option<bool>),
}

#[derive(Debug, Default)]
struct Log {
    moment: Moment,
    /// The day and the time of day of the last point.
    last: Option<(Date, f64)>,
    undated: usize,
}

impl Log {
    fn take(&mut self, sentence: &str, points: &mut Points<'_>) {
        let fields = fields(sentence);
        let kind = fields[0].get(fields[0].len().saturating_sub(3)..).unwrap_or_default();
        match kind {
            "RMC" if self.at(fields[1], points) => {
                self.place(fields[3], fields[4], fields[5], fields[6]);
                self.moment.void.0 = Some(fields[2] != "A");
                self.way(decimal(fields[7]).map(|v| v * KNOT), fields[8]);
                self.moment.date = day(fields[9]);
            }
            "GGA" | "GNS" if self.at(fields[1], points) => {
                self.place(fields[2], fields[3], fields[4], fields[5]);
                let void = if kind == "GGA" { fields[6] == "0" } else { fields[6].bytes().all(|b| b == b'N') };
                self.moment.void.1 = Some(void);
            }
            "GLL" if self.at(fields[5], points) => {
                self.place(fields[1], fields[2], fields[3], fields[4]);
                self.moment.void.1.get_or_insert(fields[6] == "V");
            }
            "VTG" => {
                let knots = decimal(fields[5]).map(|v| v * KNOT);
                self.way(knots.or_else(|| decimal(fields[7]).map(|v| v / 3.6)), fields[1]);
            }
            "ZDA" => {
                if self.at(fields[1], points)
                    && let (Ok(day), Ok(month), Ok(year)) = (fields[2].parse(), fields[3].parse(), fields[4].parse())
                {
                    self.moment.date = Date::new(year, month, day).ok();
                }
            }
            _ => {}
        }
    }
    /// Begins the moment of a time of day unless it is the one at hand; whether there is one.
    fn at(&mut self, text: &str, points: &mut Points<'_>) -> bool {
        let Some(clock) = clock(text) else { return false };
        if self.moment.clock != Some(clock) {
            self.flush(points);
            self.moment.clock = Some(clock);
        }
        true
    }
    fn place(&mut self, latitude: &str, north: &str, longitude: &str, east: &str) {
        if let (Some(latitude), Some(longitude)) = (degrees(latitude, north, "S"), degrees(longitude, east, "W")) {
            (self.moment.found.latitude, self.moment.found.longitude) = (Some(latitude), Some(longitude));
        }
    }
    fn way(&mut self, speed: Option<f64>, course: &str) {
        if self.moment.found.speed.is_none() {
            self.moment.found.speed = speed;
        }
        if self.moment.found.course.is_none() {
            self.moment.found.course = decimal(course);
        }
    }
    /// Hands on the moment at hand.
    fn flush(&mut self, points: &mut Points<'_>) {
        let moment = core::mem::take(&mut self.moment);
        let Some(clock) = moment.clock else { return };
        // Without a date of its own it is the last one's day, or the next where the clock has gone round.
        let date =
            moment.date.or_else(|| self.last.map(|(date, before)| if clock < before - 43_200.0 { time::tomorrow(date) } else { date }));
        if let Some(date) = date {
            self.last = Some((date, clock));
        }
        if moment.found.latitude.is_none() && moment.void.0.is_none() && moment.void.1.is_none() {
            return;
        }
        let time = date.and_then(|date| {
            let whole = clock as i64;
            let clock = time::time_of((whole / 3600) as i8, (whole / 60 % 60) as i8, clock - (whole / 60 * 60) as f64)?;
            Some(time::join(date, clock, true))
        });
        self.undated += usize::from(date.is_none());
        let void = moment.void.0.or(moment.void.1).unwrap_or(false);
        points.push(Found { time, void, ..moment.found });
    }
}

/// The first fields of a sentence, without blanks about them: as many as are looked at.
fn fields(sentence: &str) -> [&str; 10] {
    let (mut fields, mut from) = ([""; 10], 0);
    for field in &mut fields {
        let rest = &sentence[from..];
        let length = rest.bytes().position(|byte| byte == b',').unwrap_or(rest.len());
        let text = &rest[..length];
        let bare = |byte: Option<&u8>| byte.is_none_or(u8::is_ascii_graphic);
        *field = if bare(text.as_bytes().first()) && bare(text.as_bytes().last()) { text } else { text.trim() };
        if length == rest.len() {
            break;
        }
        from += length + 1;
    }
    fields
}

/// A time of day as hhmmss or hhmmss.sss, in seconds.
fn clock(text: &str) -> Option<f64> {
    let (hour, minute) = (text.get(..2)?.parse::<u32>().ok()?, text.get(2..4)?.parse::<u32>().ok()?);
    let second = decimal(text.get(4..)?)?;
    (hour < 24 && minute < 60 && (0.0..61.0).contains(&second)).then(|| f64::from(hour * 3600 + minute * 60) + second)
}

/// A day as ddmmyy. Two digits of a year from 80 on are of the last century, as GPS began in 1980.
fn day(text: &str) -> Option<Date> {
    let part = |range: core::ops::Range<usize>| text.get(range)?.parse::<i8>().ok();
    let (day, month, year) = (part(0..2)?, part(2..4)?, i16::from(part(4..6)?));
    Date::new(if year >= 80 { 1900 + year } else { 2000 + year }, month, day).ok()
}

/// Degrees and minutes as ddmm.mmm or dddmm.mmm with a letter; 60.000 minutes is a whole degree more.
fn degrees(text: &str, letter: &str, negative: &str) -> Option<f64> {
    let point = text.bytes().position(|byte| byte == b'.').unwrap_or(text.len());
    let split = point.checked_sub(2)?;
    let degrees = decimal(text.get(..split).filter(|t| !t.is_empty())?)?;
    let minutes = decimal(text.get(split..)?)?;
    if !(0.0..=60.0).contains(&minutes) || letter.is_empty() {
        return None;
    }
    let value = degrees + minutes / 60.0;
    Some(if letter == negative { -value } else { value })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// N3: NMEA Revealed (the first four and ZDA), the classic public example, and one from the web that is wrong.
    const SENTENCES: [(&str, bool); 8] = [
        ("$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B", true),
        ("$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M*47", true),
        ("$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34", true),
        ("$WIMWD,302.4,T,289.6,M,10.5,N,5.4,M*6F", true),
        ("$GPZDA,160012.71,11,03,2004,-1,00*7D", true),
        ("$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A", true),
        ("$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", true),
        ("$GPRMC,170047.00,A,4121.23302,N,00201.31654,W,2.703, ,200417, , ,A*64", false),
    ];

    #[test]
    fn checksums() {
        for (line, good) in SENTENCES {
            assert_eq!(sentence(line).is_ok(), good, "{line}");
        }
    }

    #[test]
    fn angles() {
        /// The source prints seven decimals.
        const PRINTED: f64 = 5e-8;
        assert!((degrees("4404.13993", "N", "S").unwrap() - 44.0689988).abs() < PRINTED);
        assert!((degrees("12118.86023", "W", "W").unwrap() + 121.3143372).abs() < PRINTED);
        assert!((degrees("01131.000", "E", "W").unwrap() - 11.5166667).abs() < PRINTED);
        assert_eq!(degrees("4260.000", "N", "S"), Some(43.0));
        assert_eq!(degrees("4261.000", "N", "S"), None);
        assert_eq!(day("230394"), Date::new(1994, 3, 23).ok());
    }
}
