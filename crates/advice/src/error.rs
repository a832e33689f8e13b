//! What stops an answer, in words for a coach: what, where, what to do.

use measure::quantity::plain;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AdviceError {
    /// One boom-end height alone.
    #[error("one boom-end height tells nothing of a notch: move the mast, measure again, and give both")]
    OneHeight,
    /// More than two heights.
    #[error("{0} boom-end heights are given: give two, at two notches")]
    ManyHeights(usize),
    /// Two heights at one notch.
    #[error("both boom-end heights are at notch {0}: measure again with the mast in another notch")]
    SameNotch(u32),
    /// A reading that is no number.
    #[error("{0}: the reading is no number; type it again")]
    NoNumber(&'static str),
    /// A gauge that is not measured on this class.
    #[error("{0} is not measured on this class, or not on this leg: leave it out")]
    NotMeasured(&'static str),
    /// Two heights nearer than the tape can tell.
    #[error(
        "the boom end stands {} and {} cm high at notches {} and {}: too near to tell apart with a tape; take notches further apart, or measure again",
        cm(heights[0]), cm(heights[1]), notches[0], notches[1]
    )]
    TooNear {
        /// Where the mast stood.
        notches: [u32; 2],
        /// What the tape said, m.
        heights: [f64; 2],
    },
    /// The boom end went the way it cannot go.
    #[error(
        "the heights contradict the mast: {part} further aft must make the boom end {must}, but from notch {} to {} it went from {} to {} cm. Were the two swapped, or the notches counted from aft?",
        notches[0], notches[1], cm(heights[0]), cm(heights[1])
    )]
    WrongWay {
        /// The part that moves.
        part: &'static str,
        /// "rise" or "fall".
        must: &'static str,
        /// Where the mast stood, forward first.
        notches: [u32; 2],
        /// What the tape said, m.
        heights: [f64; 2],
    },
    /// The boom end moved much more or less than such a mast allows.
    #[error(
        "the heights contradict the mast: a notch moves the boom end {} cm by these heights, and {} cm by the class file. Check the unit, and count the notches again",
        cm(*measured), cm(*by_class)
    )]
    WrongSize {
        /// By the two heights, m a notch.
        measured: f64,
        /// By the class's geometry.
        by_class: f64,
    },
    /// A boat on its trolley that weighs no more than the trolley.
    #[error(
        "the scale says {} kg for the boat on its trolley, and the trolley alone weighs {} kg: the boat would weigh nothing. Weigh both again",
        plain(*both), plain(*trolley)
    )]
    LighterThanTrolley {
        /// Both together, kg.
        both: f64,
        /// The trolley, kg.
        trolley: f64,
    },
    /// Water or correctors that weigh more than the boat.
    #[error("{what} of {} kg would leave nothing of the boat, which weighs {} kg: check both", plain(*part), plain(*boat))]
    MoreThanTheBoat {
        /// Water or correctors.
        what: &'static str,
        /// What it weighs, kg.
        part: f64,
        /// What the boat weighs, kg.
        boat: f64,
    },
    /// A limits table or caution file that cannot be read.
    #[error("{file}, line {line}: {what}")]
    Unreadable {
        /// File.
        file: String,
        /// Line, from 1.
        line: usize,
        /// What was found, what would do.
        what: String,
    },
    /// A limits table with gaps.
    #[error("{file}: there is no limit for {}: add a [[limit]] for each, or the table says nothing for them", gaps.join("; "))]
    Gaps {
        /// File.
        file: String,
        /// Class and skill of each gap.
        gaps: Vec<String>,
    },
}

/// Centimetres to one decimal.
pub(crate) fn cm(metres: f64) -> String {
    plain((metres * 1000.0).round() / 10.0)
}
