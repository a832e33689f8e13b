//! A value with its uncertainty and what it rests on. A point without its range is not printed anywhere.

use core::fmt;

use serde::{Deserialize, Serialize};

/// What a number rests on, weakest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Common practice of the trade, no source.
    CommonPractice,
    /// Our model alone.
    Theory,
    /// Published data.
    Published,
    /// This squad's own line-ups.
    OwnLineUps,
}

impl Basis {
    /// The words shown to a coach and used in JSON.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::CommonPractice => "common practice",
            Self::Theory => "theory",
            Self::Published => "published data",
            Self::OwnLineUps => "this squad's line-ups",
        }
    }
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// A middle value with limits that hold it 19 times in 20, and its basis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The middle.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// What it rests on.
    pub basis: Basis,
}

impl Estimate {
    /// Two standard deviations either side.
    #[must_use]
    pub fn normal(value: f64, sd: f64, basis: Basis) -> Self {
        Self { value, low: value - 2.0 * sd, high: value + 2.0 * sd, basis }
    }
    /// Whether the limits hold `value`.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
    /// Half the width between the limits, taken as two standard deviations.
    #[must_use]
    pub fn sd(&self) -> f64 {
        (self.high - self.low) / 4.0
    }
}
