//! How a stage answers. Input never refuses the whole for a part: [`Warned`] carries a reason for each thing
//! dropped. Not converging is a value with its reason: [`Outcome`] is solved or a status, never a NaN or a panic.

use core::fmt;

/// One thing worth telling: where it is, what was found, what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// File, line or sailor.
    pub place: String,
    /// What was found and what was done about it.
    pub what: String,
}

impl Warning {
    /// A warning at a place.
    pub fn new(place: impl Into<String>, what: impl Into<String>) -> Self {
        Self { place: place.into(), what: what.into() }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.place.is_empty() { f.write_str(&self.what) } else { write!(f, "{}: {}", self.place, self.what) }
    }
}

/// A value and what was dropped, doubted or guessed on the way to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Warned<T> {
    /// The value.
    pub value: T,
    /// Reasons, in the order met.
    pub warnings: Vec<Warning>,
}

impl<T> Warned<T> {
    /// Nothing to tell.
    pub const fn clean(value: T) -> Self {
        Self { value, warnings: Vec::new() }
    }
    /// A value with its reasons.
    pub const fn new(value: T, warnings: Vec<Warning>) -> Self {
        Self { value, warnings }
    }
    /// Goes on to the next stage, keeping the reasons.
    pub fn map<U>(self, next: impl FnOnce(T) -> U) -> Warned<U> {
        Warned { value: next(self.value), warnings: self.warnings }
    }
    /// Goes on to a stage that may warn too.
    pub fn and_then<U>(mut self, next: impl FnOnce(T) -> Warned<U>) -> Warned<U> {
        let after = next(self.value);
        self.warnings.extend(after.warnings);
        Warned { value: after.value, warnings: self.warnings }
    }
}

/// A number of things in words: "1 boat", "3 boats", "2 passes".
#[must_use]
pub fn counted(n: usize, one: &str) -> String {
    match (n, one) {
        (1, one) => format!("1 {one}"),
        (n, one) if one.ends_with('s') => format!("{n} {one}es"),
        (n, one) => format!("{n} {one}s"),
    }
}

/// A solved value, or a status in words with which the sweep goes on.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome<T, S> {
    /// Solved.
    Solved(T),
    /// Not solved, and why.
    Status(S),
}

impl<T, S> Outcome<T, S> {
    /// The solved value, if there is one.
    pub fn solved(self) -> Option<T> {
        match self {
            Self::Solved(value) => Some(value),
            Self::Status(_) => None,
        }
    }
    /// A view of the solved value.
    pub const fn as_ref(&self) -> Outcome<&T, &S> {
        match self {
            Self::Solved(value) => Outcome::Solved(value),
            Self::Status(status) => Outcome::Status(status),
        }
    }
    /// Goes on with the solved value.
    pub fn map<U>(self, next: impl FnOnce(T) -> U) -> Outcome<U, S> {
        match self {
            Self::Solved(value) => Outcome::Solved(next(value)),
            Self::Status(status) => Outcome::Status(status),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_of_a_thing_is_no_more_than_one() {
        assert_eq!([0, 1, 2].map(|n| counted(n, "boat")), ["0 boats", "1 boat", "2 boats"]);
        assert_eq!([1, 2].map(|n| counted(n, "pass")), ["1 pass", "2 passes"]);
    }
}
