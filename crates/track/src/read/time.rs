//! Times as files write them, with a timezone or without.
//!
//! Sources: RFC 3339 and ISO 8601 profiles as `jiff` reads them; the timezone database comes with `jiff`.

use jiff::civil::{Date, DateTime, Time};
use jiff::fmt::temporal::DateTimeParser;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

static PARSER: DateTimeParser = DateTimeParser::new();

/// A time as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Stamp {
    /// UTC seconds since 1970.
    Utc(f64),
    /// A clock on some wall, with no word of where.
    Local(DateTime),
    /// Cannot be read.
    Unreadable,
}

/// Turns stamps into UTC seconds; remembers the first local time it could not turn.
#[derive(Debug)]
pub(super) struct Clock<'a> {
    timezone: Option<&'a TimeZone>,
    last: f64,
    /// The first local time that needed a timezone.
    pub(super) unzoned: Option<String>,
}

impl<'a> Clock<'a> {
    pub(super) const fn new(timezone: Option<&'a TimeZone>) -> Self {
        Self { timezone, last: f64::NEG_INFINITY, unzoned: None }
    }
    /// UTC seconds of a stamp.
    pub(super) fn seconds(&mut self, stamp: Stamp) -> Option<f64> {
        match stamp {
            Stamp::Utc(seconds) => Some(seconds),
            Stamp::Unreadable => None,
            Stamp::Local(civil) => {
                let Some(timezone) = self.timezone else {
                    if self.unzoned.is_none() {
                        self.unzoned = Some(civil.to_string());
                    }
                    return None;
                };
                let ambiguous = timezone.to_ambiguous_timestamp(civil);
                let early = utc(ambiguous.earlier().ok()?);
                let late = utc(ambiguous.later().ok()?);
                // When clocks are put back an hour comes twice: the second time is the one that does not go back.
                let seconds = if early < self.last && late - self.last < 1800.0 { late } else { early };
                self.last = seconds;
                Some(seconds)
            }
        }
    }
}

/// UTC seconds of an instant.
fn utc(instant: Timestamp) -> f64 {
    instant.as_second() as f64 + f64::from(instant.subsec_nanosecond()) * 1e-9
}

/// The day of UTC seconds, as 2026-06-14.
pub(super) fn day(seconds: f64) -> String {
    Timestamp::from_second(seconds as i64)
        .map_or_else(|_| "an impossible date".to_owned(), |t| TimeZone::UTC.to_datetime(t).date().to_string())
}

/// UTC seconds of a time as nearly every recorder writes it, 2026-06-14T12:00:00.1Z, and as the general reader reads it, in a part of its
/// time. None of anything else, be it a time or not.
pub(super) fn usual(text: &str) -> Option<f64> {
    let (head, rest) = text.as_bytes().split_at_checked(19)?;
    let number = |range: core::ops::Range<usize>| {
        head[range].iter().try_fold(0_i32, |n, byte| byte.is_ascii_digit().then(|| n * 10 + i32::from(byte - b'0')))
    };
    let marked = [(4, b'-'), (7, b'-'), (10, b'T'), (13, b':'), (16, b':')].iter().all(|(at, mark)| head[*at] == *mark);
    let fraction = match rest {
        [b'Z'] => &[],
        [b'.', fraction @ .., b'Z'] if !fraction.is_empty() && fraction.len() <= 9 => fraction,
        _ => return None,
    };
    if !marked || !fraction.iter().all(u8::is_ascii_digit) {
        return None;
    }
    let nanoseconds = (0..9).fold(0, |n, k| n * 10 + fraction.get(k).map_or(0, |byte| i32::from(byte - b'0')));
    let (year, month, day) = (number(0..4)?, number(5..7)?, number(8..10)?);
    let (hour, minute, second) = (number(11..13)?, number(14..16)?, number(17..19)?);
    // Before 1970 fractions count backwards, and the last day of all is not whole.
    if !(1970..9999).contains(&year) || hour > 23 || minute > 59 || second > 59 {
        return None;
    }
    let date = Date::new(year as i16, month as i8, day as i8).ok()?;
    // Days before the first of March of a year, and of a month counted from there (proleptic Gregorian).
    let (years, months) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let days = 365 * years + years / 4 - years / 100 + years / 400 + (153 * months + 2) / 5 + i32::from(date.day()) - 1 - MARCH_TO_1970;
    let seconds = i64::from(days) * 86_400 + i64::from(hour * 3600 + minute * 60 + second);
    Some(seconds as f64 + f64::from(nanoseconds) * 1e-9)
}

/// Days from the first of March of the year 0 to 1970.
const MARCH_TO_1970: i32 = 719_468;

/// A date and time in the way of RFC 3339, the offset left out or not; a blank instead of the T, slashes or dots in the date
/// and a comma before the fraction are taken too.
pub(super) fn stamp(text: &str) -> Stamp {
    let text = text.trim();
    if let Some(seconds) = usual(text) {
        return Stamp::Utc(seconds);
    }
    if let Ok(instant) = PARSER.parse_timestamp(text) {
        return Stamp::Utc(utc(instant));
    }
    if let Ok(civil) = PARSER.parse_datetime(text) {
        return if text.len() > 10 { Stamp::Local(civil) } else { Stamp::Unreadable };
    }
    let mut parts = text.splitn(2, ['T', ' ']);
    let (Some(date), Some(clock)) = (parts.next().and_then(date), parts.next()) else { return Stamp::Unreadable };
    let clock = clock.trim();
    let (clock, zulu) = match clock.strip_suffix('Z').or_else(|| clock.strip_suffix(" UTC")).or_else(|| clock.strip_suffix(" GMT")) {
        Some(clock) => (clock, true),
        None => (clock, false),
    };
    match self::clock(clock) {
        Some(time) => join(date, time, zulu),
        None => match PARSER.parse_timestamp(format!("{date}T{clock}")) {
            Ok(instant) => Stamp::Utc(utc(instant)),
            Err(_) => Stamp::Unreadable,
        },
    }
}

/// A count of seconds or milliseconds since 1970; smaller counts begin nobody knows when.
pub(super) fn counted(number: f64) -> Stamp {
    match number {
        n if (1e8..1e10).contains(&n) => Stamp::Utc(n),
        n if (1e11..1e13).contains(&n) => Stamp::Utc(n / 1000.0),
        _ => Stamp::Unreadable,
    }
}

/// A date with a clock, in UTC or not.
pub(super) fn join(date: Date, time: Time, utc_clock: bool) -> Stamp {
    let civil = date.to_datetime(time);
    if utc_clock {
        return TimeZone::UTC.to_timestamp(civil).map_or(Stamp::Unreadable, |instant| Stamp::Utc(utc(instant)));
    }
    Stamp::Local(civil)
}

/// A date written year first with any mark between (2026-06-14, 2026/06/14, 20260614), or day first with dots (14.06.2026).
/// Day or month first with slashes cannot be told apart and is not taken here.
pub(super) fn date(text: &str) -> Option<Date> {
    let text = text.trim();
    if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) {
        return Date::new(text[..4].parse().ok()?, text[4..6].parse().ok()?, text[6..].parse().ok()?).ok();
    }
    let dotted = text.contains('.');
    let mut parts = text.split(['-', '/', '.']);
    let (a, b, c) = (parts.next()?, parts.next()?, parts.next()?);
    if parts.next().is_some() {
        return None;
    }
    if a.len() == 4 {
        Date::new(a.parse().ok()?, b.parse().ok()?, c.parse().ok()?).ok()
    } else if dotted && c.len() == 4 {
        Date::new(c.parse().ok()?, b.parse().ok()?, a.parse().ok()?).ok()
    } else {
        None
    }
}

/// A clock as 12:00:00.5 or 12:00.
pub(super) fn clock(text: &str) -> Option<Time> {
    let text = text.trim();
    let mut parts = text.split(':');
    let (hour, minute) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    let second = parts.next().unwrap_or("0").replace(',', ".");
    if parts.next().is_some() || !second.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let second: f64 = second.parse().ok()?;
    time_of(hour, minute, second)
}

/// A time of day; a leap second is read as the last second of its minute.
pub(super) fn time_of(hour: i8, minute: i8, second: f64) -> Option<Time> {
    if !(0.0..61.0).contains(&second) {
        return None;
    }
    let second = second.min(59.999_999_999);
    Time::new(hour, minute, second as i8, ((second.fract() * 1e9).round() as i32).min(999_999_999)).ok()
}

/// The day after.
pub(super) fn tomorrow(date: Date) -> Date {
    date.checked_add(1.day()).unwrap_or(date)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Days that are none (31 April, 29 February) and leap seconds among them.
        #[test]
        fn the_usual_time_is_read_as_the_general_reader_reads_it(
            date in (1960..10_000_i32, 0..14, 0..33), clock in (0..25, 0..61, 0..62), fraction in "([.][0-9]{0,10})?", end in "Z|z|[+]02:00|"
        ) {
            let ((year, month, day), (hour, minute, second)) = (date, clock);
            let text = format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}{fraction}{end}");
            if let Some(seconds) = usual(&text) {
                prop_assert_eq!(Some(seconds), PARSER.parse_timestamp(&text).ok().map(utc), "{}", text);
            }
            let plain = end == "Z" && (1970..9999).contains(&year) && second < 60 && fraction.len() != 1 && fraction.len() < 11;
            prop_assert_eq!(usual(&text).is_some(), plain && PARSER.parse_timestamp(&text).is_ok(), "{}", text);
        }
    }
}
