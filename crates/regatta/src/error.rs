//! What stops a stage of this crate, in a coach's words.

/// Where, what was found, what would do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {found}; {remedy}")]
pub struct Error {
    /// File, line and key, or the race and boat.
    pub place: String,
    /// What was found there.
    pub found: String,
    /// What would do instead.
    pub remedy: String,
}

impl Error {
    pub(crate) fn new(place: impl Into<String>, found: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { place: place.into(), found: found.into(), remedy: remedy.into() }
    }
}
