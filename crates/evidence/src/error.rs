//! Why there is no answer, in a coach's words.

/// What stops the whole of an analysis or a plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// The table of passes does not read.
    #[error("{0}")]
    Table(String),
    /// The model cannot be fitted to what was given.
    #[error("{0}")]
    Model(String),
    /// The plan cannot be made.
    #[error("{0}")]
    Plan(String),
}
