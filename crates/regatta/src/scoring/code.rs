//! The scoring codes of rule A10, and what each does to a score, by edition of the rules.

use std::fmt;

use rust_decimal::Decimal;
use serde::{Serialize, Serializer};

use super::decimal::half_up;

/// Edition of the Racing Rules of Sailing a series is scored by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edition {
    /// 2021 to 2024, as amended in 2023.
    Y2021,
    /// 2025 to 2028.
    Y2025,
}

impl Edition {
    /// Both, the older first.
    pub const ALL: [Self; 2] = [Self::Y2021, Self::Y2025];

    /// The years, as written in a series file.
    #[must_use]
    pub const fn years(self) -> &'static str {
        match self {
            Self::Y2021 => "2021-2024",
            Self::Y2025 => "2025-2028",
        }
    }
    /// The edition of these years.
    #[must_use]
    pub fn of(years: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|edition| edition.years() == years.trim())
    }
    /// The scoring penalty of rule 44.3(c): a fifth of the score for DNF, to whole points until 2024 and to tenths from
    /// 2025, half up.
    ///
    /// Source: rule 44.3(c) of both editions; the later one from a single quotation.
    #[must_use]
    pub fn scoring_penalty(self, dnf: Decimal) -> Decimal {
        let decimals = match self {
            Self::Y2021 => 0,
            Self::Y2025 => 1,
        };
        half_up(dnf * Decimal::new(2, 1), decimals)
    }
}

/// A scoring code of rule A10.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Code {
    /// Did not come to the starting area.
    Dnc,
    /// Did not start.
    Dns,
    /// Did not start; on the course side at her signal and did not return.
    Ocs,
    /// Penalty of a fifth under the Z flag.
    Zfp,
    /// Disqualified under the U flag.
    Ufd,
    /// Disqualified under the black flag.
    Bfd,
    /// Scoring penalty.
    Scp,
    /// Did not sail the course.
    Nsc,
    /// Did not finish.
    Dnf,
    /// Retired.
    Ret,
    /// Disqualified.
    Dsq,
    /// Disqualified; the score cannot be excluded.
    Dne,
    /// Redress given.
    Rdg,
    /// Discretionary penalty imposed.
    Dpi,
}

/// Which score a code brings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Score {
    /// One more than the boats entered in the series, always.
    EntriesPlusOne,
    /// One more than the boats entered, or than those in the starting area where rule A5.3 applies.
    LastPlusOne,
    /// Her place and the penalty of rule 44.3(c), never worse than DNF.
    Penalty,
    /// What was decided for her.
    Decided,
}

/// What a code does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Treatment {
    /// The score it brings.
    pub score: Score,
    /// Whether the score can be the excluded one (rule 90.3(b)).
    pub excludable: bool,
    /// Whether a boat that finished gives up her place, so that those behind move up (rule A6.1).
    pub gives_up_place: bool,
    /// Whether she may have a finishing place at all.
    pub may_have_place: bool,
}

impl Code {
    /// All of them, in the order of rule A10.
    pub const ALL: [Self; 14] = [
        Self::Dnc,
        Self::Dns,
        Self::Ocs,
        Self::Zfp,
        Self::Ufd,
        Self::Bfd,
        Self::Scp,
        Self::Nsc,
        Self::Dnf,
        Self::Ret,
        Self::Dsq,
        Self::Dne,
        Self::Rdg,
        Self::Dpi,
    ];

    /// As written on a results sheet.
    #[must_use]
    pub const fn letters(self) -> &'static str {
        match self {
            Self::Dnc => "DNC",
            Self::Dns => "DNS",
            Self::Ocs => "OCS",
            Self::Zfp => "ZFP",
            Self::Ufd => "UFD",
            Self::Bfd => "BFD",
            Self::Scp => "SCP",
            Self::Nsc => "NSC",
            Self::Dnf => "DNF",
            Self::Ret => "RET",
            Self::Dsq => "DSQ",
            Self::Dne => "DNE",
            Self::Rdg => "RDG",
            Self::Dpi => "DPI",
        }
    }
    /// The code of these letters, in capitals or not.
    #[must_use]
    pub fn of(letters: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|code| code.letters().eq_ignore_ascii_case(letters.trim()))
    }
    /// The code whose letters are nearest, for a message.
    #[must_use]
    pub fn nearest(letters: &str) -> Self {
        let letters = letters.trim().to_uppercase();
        let distance = |code: &Self| strsim::osa_distance(&letters, code.letters());
        Self::ALL.into_iter().min_by_key(distance).unwrap_or(Self::Dnc)
    }
    /// What the code does. The same in both editions, as the first was amended in 2023 (A6.1 for NSC); the size of the
    /// penalty is not: [`Edition::scoring_penalty`].
    ///
    /// Source: rules A5, A6, A9, A10, 30.2, 44.3(c), 90.3(b).
    #[must_use]
    pub const fn treatment(self) -> Treatment {
        let (score, gives_up_place, may_have_place) = match self {
            Self::Dnc => (Score::EntriesPlusOne, false, false),
            Self::Dns | Self::Dnf => (Score::LastPlusOne, false, false),
            Self::Ocs | Self::Ufd | Self::Bfd | Self::Nsc | Self::Ret | Self::Dsq | Self::Dne => (Score::LastPlusOne, true, true),
            Self::Zfp | Self::Scp => (Score::Penalty, false, true),
            Self::Rdg | Self::Dpi => (Score::Decided, false, true),
        };
        Treatment { score, excludable: !matches!(self, Self::Dne), gives_up_place, may_have_place }
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.letters())
    }
}

impl Serialize for Code {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.letters())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: rule 44.3(c), entries 10, 19, 23 and 44: 2, 4, 5, 9 places, and 2.2, 4.0, 4.8, 9.0 points from 2025.
    #[test]
    fn the_penalty_is_that_of_the_edition() {
        for (entries, whole, tenths) in [(10, 2, 22), (19, 4, 40), (23, 5, 48), (44, 9, 90)] {
            let dnf = Decimal::from(entries + 1);
            assert_eq!(Edition::Y2021.scoring_penalty(dnf), Decimal::from(whole));
            assert_eq!(Edition::Y2025.scoring_penalty(dnf), Decimal::new(tenths, 1));
        }
    }

    #[test]
    fn a_slip_of_the_pen_is_offered_the_nearest_code() {
        for (written, meant) in [("DNFF", Code::Dnf), ("osc", Code::Ocs), ("DSG", Code::Dsq), ("RDGa", Code::Rdg), ("RETD", Code::Ret)] {
            assert_eq!(Code::of(written), None);
            assert_eq!(Code::nearest(written), meant, "{written}");
        }
    }

    #[test]
    fn only_dne_stays() {
        let stays: Vec<_> = Code::ALL.into_iter().filter(|code| !code.treatment().excludable).collect();
        assert_eq!(stays, [Code::Dne]);
    }
}
