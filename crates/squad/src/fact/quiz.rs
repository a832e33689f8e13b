//! Answers to quizzes, for the sailor and the coach alone.

use super::sailor::Sailor;
use super::{Kept, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::Store;

fact! {
    /// An answer. A phone names it itself, so that one sent twice is one.
    QuizAnswer = "quiz_answer" {
        /// Whose.
        sailor: Id<Sailor>,
        /// When.
        at: Moment,
        /// To which question, by its key.
        question: String,
        /// What was chosen, by its key.
        answer: String,
        /// Whether it was the right one.
        correct: bool,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the question", &self.question)?;
        check_words("the answer", &self.answer)
    }
}

impl Store {
    /// A sailor's answers, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn answers_of(&self, sailor: Id<Sailor>) -> Result<Vec<Kept<QuizAnswer>>, SquadError> {
        self.of(sailor)
    }
}
