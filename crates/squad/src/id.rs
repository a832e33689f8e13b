//! Names that no two stores give twice: 128 random bits for a fact, 64 for each of its states; and moments and dates as text.

use core::cmp::Ordering;
use core::fmt;
use core::hash::{Hash, Hasher};
use core::marker::PhantomData;
use core::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::error::SquadError;

/// The lasting name of a fact of one kind: 128 random bits, written as 32 hexadecimal digits. Two coaches' stores give
/// different ones, so their facts can be united.
pub struct Id<T> {
    bits: u128,
    of: PhantomData<fn() -> T>,
}

impl<T> Id<T> {
    /// A new one, from the operating system's own chance.
    ///
    /// # Errors
    /// Where the system gives no random bits.
    pub fn random() -> Result<Self, SquadError> {
        Ok(Self::of(u128::from_le_bytes(random()?)))
    }

    /// One of given bits: a phone that writes while there is no network names its own facts.
    #[must_use]
    pub const fn of(bits: u128) -> Self {
        Self { bits, of: PhantomData }
    }
}

/// A state's name: 64 random bits, 16 hexadecimal digits.
pub(crate) fn state() -> Result<String, SquadError> {
    Ok(format!("{:016x}", u64::from_le_bytes(random()?)))
}

fn random<const N: usize>() -> Result<[u8; N], SquadError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| SquadError::Store { what: format!("the system gives no random numbers: {error}") })?;
    Ok(bytes)
}

impl<T> fmt::Display for Id<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.bits)
    }
}

impl<T> fmt::Debug for Id<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl<T> FromStr for Id<T> {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let plain = text.len() == 32 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
        let bits = if plain { u128::from_str_radix(text, 16).ok() } else { None };
        bits.map(Self::of).ok_or_else(|| "this is no id of a fact: an id has 32 digits, 0 to 9 and a to f".to_owned())
    }
}

impl<T> Clone for Id<T> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<T> Copy for Id<T> {}
impl<T> PartialEq for Id<T> {
    fn eq(&self, other: &Self) -> bool {
        self.bits == other.bits
    }
}
impl<T> Eq for Id<T> {}
impl<T> PartialOrd for Id<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl<T> Ord for Id<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bits.cmp(&other.bits)
    }
}
impl<T> Hash for Id<T> {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        self.bits.hash(hasher);
    }
}

/// Writes and reads a type by its text.
macro_rules! as_text {
    ($name:ty $(, $of:ident)?) => {
        impl$(<$of>)? Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }
        impl<'de $(, $of)?> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?.parse().map_err(de::Error::custom)
            }
        }
    };
}
as_text!(Id<T>, T);
as_text!(Moment);
as_text!(Date);

/// A moment, UTC, to the millisecond. Its text has always the same length, so texts sort as moments do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(jiff::Timestamp);

/// The moments a store takes, ms since 1970: years of four digits, after any recorder there is.
const MOMENTS: core::ops::Range<i64> = 0..7_258_118_400_000;

impl Moment {
    /// Of milliseconds since 1970; what lies before it or after the year 2200 is taken as the nearest within.
    #[must_use]
    pub fn of_millis(millis: i64) -> Self {
        let within = millis.clamp(MOMENTS.start, MOMENTS.end - 1);
        Self(jiff::Timestamp::from_millisecond(within).unwrap_or(jiff::Timestamp::UNIX_EPOCH))
    }

    /// Of a time of more digits.
    #[must_use]
    pub fn of(time: jiff::Timestamp) -> Self {
        Self::of_millis(time.as_millisecond())
    }

    /// Now, by this machine's clock.
    #[must_use]
    pub fn now() -> Self {
        Self::of(jiff::Timestamp::now())
    }

    /// The time.
    #[must_use]
    pub const fn timestamp(self) -> jiff::Timestamp {
        self.0
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.strftime("%Y-%m-%dT%H:%M:%S.%3fZ"))
    }
}

impl FromStr for Moment {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let time: jiff::Timestamp =
            text.trim().parse().map_err(|_| format!("\"{text}\" is no time: write it like 2026-04-02T13:05:00Z"))?;
        if !MOMENTS.contains(&time.as_millisecond()) {
            return Err(format!("\"{text}\" is not between 1970 and 2200: check the clock"));
        }
        Ok(Self::of(time))
    }
}

/// A day of the calendar, where the sailing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(pub jiff::civil::Date);

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Date {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let date: Option<jiff::civil::Date> = text.trim().parse().ok();
        date.filter(|d| (1970..2200).contains(&d.year())).map(Self).ok_or_else(|| format!("\"{text}\" is no day: write it like 2026-04-02"))
    }
}
