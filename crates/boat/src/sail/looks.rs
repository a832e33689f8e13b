//! What the eye checks on the sail, from solved numbers. The thresholds are common practice, no source.

use super::{SailAnswer, SailState};
use measure::angle::DEGREE;

/// Scallops deeper than this are seen as wrinkles from the boat, m. Common practice, no source.
const WRINKLE_SEEN: f64 = 0.005;
/// Scallops shallower than this, as a share of the seen depth, come with a crease along the mast. Common practice, no source.
const CREASE_SHARE: f64 = 0.15;
/// The top batten points to windward of the boom by more than this: hooked. Common practice says parallel to the boom.
const HOOKED: f64 = -4.0 * DEGREE;
/// And to leeward by more than this: spilling.
const SPILLING: f64 = 8.0 * DEGREE;
/// Share of the top that must draw; less is spilling whatever the batten says.
const TOP_DRAWING: f64 = 0.5;
/// Height of the top batten, 0 tack to 1 head: about 0.55 m down a luff of 2.75 m.
const TOP_BATTEN: f64 = 0.8;

/// Share of what the leech asks for below which a crease runs from throat to clew. Common practice, no source: the sprit is hauled
/// until it is just gone.
const SPRIT_SLACK: f64 = 0.92;
/// And above which one runs from peak to tack. Common practice, no source; the share is assumed.
const SPRIT_HARD: f64 = 1.6;

/// The luff.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Luff {
    /// Scallops between the ties.
    Wrinkled,
    /// Neither.
    Smooth,
    /// A fold along the mast: pulled down more than the wind asks.
    Creased,
}

/// The top batten against the boom.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Batten {
    /// Points to windward.
    Hooked,
    /// About parallel.
    Lively,
    /// Falls off to leeward, or the top flaps.
    Spilling,
}

/// The diagonal of a sprit sail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crease {
    /// From throat to clew: too little sprit.
    ThroatToClew,
    /// Neither.
    Gone,
    /// From peak to tack: too much.
    PeakToTack,
}

/// What the eye checks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Looks {
    /// The luff.
    pub luff: Luff,
    /// Depth of its scallops, m.
    pub wrinkle: f64,
    /// The top batten.
    pub batten: Batten,
    /// Its angle off the boom, rad, to leeward positive.
    pub batten_angle: f64,
    /// The diagonal, on a sprit sail.
    pub crease: Option<Crease>,
}

impl Luff {
    /// The words of a card.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Wrinkled => "wrinkled",
            Self::Smooth => "smooth",
            Self::Creased => "creased",
        }
    }
}

impl Batten {
    /// The words of a card.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Hooked => "hooked",
            Self::Lively => "lively",
            Self::Spilling => "spilling",
        }
    }
}

impl Crease {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::ThroatToClew => "crease from throat to clew",
            Self::Gone => "no crease",
            Self::PeakToTack => "crease from peak to tack",
        }
    }

    /// For a sprit that pushes so hard (N) where the leech asks for so much.
    #[must_use]
    pub fn of(push: f64, needed: f64) -> Self {
        if push < SPRIT_SLACK * needed {
            Self::ThroatToClew
        } else if push > SPRIT_HARD * needed {
            Self::PeakToTack
        } else {
            Self::Gone
        }
    }
}

/// Slope of the mean line's rear half against the chord, rad to windward: a batten lies along it.
fn rear_slope(camber: f64, draft: f64) -> f64 {
    let behind = 1.0 - draft;
    // Height at mid-chord of the rear parabola, over half a chord.
    (2.0 * camber * (0.75 - draft) / (behind * behind)).atan()
}

impl Looks {
    /// The looks of a solved sail; `sprit` is the push of its sprit, N.
    #[must_use]
    pub fn of(state: &SailState<f64>, answer: &SailAnswer<f64>, sprit: f64) -> Self {
        let wrinkle = answer.wrinkle;
        let luff = if wrinkle > WRINKLE_SEEN {
            Luff::Wrinkled
        } else if wrinkle < CREASE_SHARE * WRINKLE_SEEN {
            Luff::Creased
        } else {
            Luff::Smooth
        };
        let top = answer.strips.iter().position(|s| s.height >= TOP_BATTEN).unwrap_or(answer.strips.len() - 1);
        let strip = &answer.strips[top];
        let batten_angle = state.twist[top] - rear_slope(strip.camber, strip.draft);
        let batten = if batten_angle > SPILLING || strip.drawing < TOP_DRAWING {
            Batten::Spilling
        } else if batten_angle < HOOKED {
            Batten::Hooked
        } else {
            Batten::Lively
        };
        let crease = (answer.sprit_needed != 0.0).then(|| Crease::of(sprit, answer.sprit_needed));
        Self { luff, wrinkle, batten, batten_angle, crease }
    }
}
