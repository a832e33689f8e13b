//! A boat's own notches: two positions of the mast, two boom-end heights, and from then on everything is in that boat's notches.
//!
//! The sign comes from the class's geometry (a straight mast held at foot and partner), never from the readings: with the
//! partner fixed, the bottom aft tips the masthead *forward* and lifts the boom end. Readings that go the other way are a
//! slip of the pen and are told. Notches count from forward; with inserts, they are how many stand in front of the mast.

use boat::balance::Boat;
use boat::class::AdjusterKind;
use boat::class::rake::Toward;
use boat::gauge::Gauge;
use measure::angle::DEGREE;
use measure::{Warned, Warning};

use crate::error::{AdviceError, cm};

/// Doubt of a class file's notch on a boat that nobody measured, share of it, 19 times in 20. Assumed: holes drilled by hand.
const CLASS_NOTCH_DOUBT: f64 = 0.15;
/// A boat's own notch over the class's beyond which the readings cannot both be right. Assumed.
const OWN_OVER_CLASS: [f64; 2] = [0.4, 2.5];
/// Beyond this the difference is worth telling. Assumed.
const WORTH_TELLING: f64 = 1.3;

/// Which way the masthead goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Masthead {
    /// Toward the transom: the boom end falls.
    Back,
    /// Toward the bow: the boom end rises.
    Forward,
}

/// What one notch of a mast does.
#[derive(Debug, Clone, PartialEq)]
pub struct Notches {
    /// What moves.
    pub kind: AdjusterKind,
    /// The part, in words.
    pub part: &'static str,
    /// Which way the part moves to tip the masthead back.
    pub back: Toward,
    /// How far the boom end falls when the masthead goes back by one notch, m; above zero.
    pub fall: f64,
    /// How far the true fall may lie from it, m, 19 times in 20.
    pub doubt: f64,
    /// How many positions there are.
    pub count: u32,
    /// A notch at which the dock height is known, m.
    pub known: Option<(u32, f64)>,
}

impl Notches {
    /// By the class file alone.
    #[must_use]
    pub fn of_class(boat: &Boat) -> Self {
        let tip = boat.class.tip_back();
        let geometry = &boat.rig.geometry;
        // About the middle of the rakes that boats of these classes have.
        let middle = DEGREE;
        let fall = geometry.boom_end(middle - 0.5 * tip.rake) - geometry.boom_end(middle + 0.5 * tip.rake);
        let doubt = CLASS_NOTCH_DOUBT * fall;
        let kind = boat.class.mast.adjuster.kind;
        let part = match kind {
            AdjusterKind::Step => "the bottom of the mast",
            AdjusterKind::Partner => "the partner",
            AdjusterKind::Insert => "the insert at the partner",
        };
        Self { kind, part, back: tip.toward, fall, doubt, count: boat.class.mast.adjuster.notches, known: None }
    }

    /// By two dock heights (m) at two notches, with the repeat error (m) of one reading.
    ///
    /// A boat's notch that differs much from the class file's is told, and used.
    ///
    /// # Errors
    /// One height only, two at one notch, heights too near to tell apart, heights that contradict the geometry.
    pub fn measured(boat: &Boat, heights: &[(u32, f64)], repeat_error: f64) -> Result<Warned<Self>, AdviceError> {
        let &[a, b] = heights else {
            return Err(if heights.len() < 2 { AdviceError::OneHeight } else { AdviceError::ManyHeights(heights.len()) });
        };
        if a.0 == b.0 {
            return Err(AdviceError::SameNotch(a.0));
        }
        if !(a.1.is_finite() && b.1.is_finite()) {
            return Err(AdviceError::NoNumber(Gauge::BoomEndDock.name()));
        }
        let class = Self::of_class(boat);
        let (fore, aft) = if a.0 < b.0 { (a, b) } else { (b, a) };
        let apart = f64::from(aft.0 - fore.0);
        let doubt = core::f64::consts::SQRT_2 * repeat_error / apart;
        let rise = (aft.1 - fore.1) / apart;
        let (notches, heights) = ([fore.0, aft.0], [fore.1, aft.1]);
        if rise.abs() <= doubt {
            return Err(AdviceError::TooNear { notches, heights });
        }
        let fall = rise * class.rise_sign();
        if fall < 0.0 {
            let must = if class.rise_sign() > 0.0 { "rise" } else { "fall" };
            return Err(AdviceError::WrongWay { part: class.part, must, notches, heights });
        }
        let over = fall / class.fall;
        if !(OWN_OVER_CLASS[0]..=OWN_OVER_CLASS[1]).contains(&over) {
            return Err(AdviceError::WrongSize { measured: fall, by_class: class.fall });
        }
        let mut warnings = Vec::new();
        if over.max(1.0 / over) > WORTH_TELLING && (fall - class.fall).abs() > doubt {
            let what = format!(
                "a notch of this boat moves the boom end {} cm, and {} cm by the class file; the boat's own is used. Measure once more if you doubt it",
                cm(fall),
                cm(class.fall)
            );
            warnings.push(Warning::new("notches", what));
        }
        Ok(Warned::new(Self { fall, doubt, known: Some(fore), ..class }, warnings))
    }

    /// Which way the boom end goes as the part goes aft: +1 up, -1 down.
    fn rise_sign(&self) -> f64 {
        match self.back {
            Toward::Forward => 1.0,
            Toward::Aft => -1.0,
        }
    }

    /// The same mast by the tape from masthead to transom: `fall` is then how much shorter the tape gets in one notch back.
    #[must_use]
    pub fn by_tape(&self, boat: &Boat, tape: f64) -> Self {
        let geometry = &boat.rig.geometry;
        let rake = geometry.rake_for_mast_tip_tape(tape).unwrap_or(0.0);
        let (more, less) = (rake + 0.5 * DEGREE, rake - 0.5 * DEGREE);
        let boom = geometry.boom_end(less) - geometry.boom_end(more);
        let over = (geometry.mast_tip_tape(less) - geometry.mast_tip_tape(more)) / boom;
        Self { fall: self.fall * over, doubt: self.doubt * over, known: None, ..self.clone() }
    }

    /// Where the mast stands for a dock height (m), in notches from forward, if two heights were measured.
    #[must_use]
    pub fn at(&self, height: f64) -> Option<f64> {
        let (notch, known) = self.known?;
        Some(f64::from(notch) + self.rise_sign() * (height - known) / self.fall)
    }

    /// The dock height (m) at a notch, if two heights were measured.
    #[must_use]
    pub fn height(&self, notch: u32) -> Option<f64> {
        let (at, known) = self.known?;
        Some(known + self.rise_sign() * self.fall * (f64::from(notch) - f64::from(at)))
    }

    /// The most notches the masthead can go a way from a dock height (m): to the end of the row where two heights were
    /// measured, else the whole row.
    #[must_use]
    pub fn room(&self, height: f64, masthead: Masthead) -> u32 {
        let whole = self.count.saturating_sub(1);
        let Some(at) = self.at(height) else { return whole };
        let aft = (masthead == Masthead::Back) == (self.back == Toward::Aft);
        let left = if aft { f64::from(self.count) - at } else { at - 1.0 };
        (0..=whole).rev().find(|&n| f64::from(n) <= left + 0.5).unwrap_or(0)
    }

    /// Which way the part moves for the masthead's way.
    #[must_use]
    pub const fn toward(&self, masthead: Masthead) -> Toward {
        match (masthead, self.back) {
            (Masthead::Back, way) => way,
            (Masthead::Forward, Toward::Forward) => Toward::Aft,
            (Masthead::Forward, Toward::Aft) => Toward::Forward,
        }
    }

    /// What to do, the masthead's way first: "tip the mast back, bottom one notch forward".
    #[must_use]
    pub fn words(&self, masthead: Masthead, notches: u32) -> String {
        let tip = match masthead {
            Masthead::Back => "tip the mast back",
            Masthead::Forward => "tip the mast forward",
        };
        let (count, many) = (counted(notches), if notches == 1 { "" } else { "s" });
        match (self.kind, masthead) {
            (AdjusterKind::Insert, Masthead::Back) => format!("{tip}, {count} insert{many} from behind it to the front"),
            (AdjusterKind::Insert, Masthead::Forward) => format!("{tip}, {count} insert{many} from the front to behind it"),
            (kind, _) => {
                let part = if kind == AdjusterKind::Step { "bottom" } else { "partner" };
                format!("{tip}, {part} {count} notch{} {}", if notches == 1 { "" } else { "es" }, way(self.toward(masthead)))
            }
        }
    }
}

/// A way in a word.
#[must_use]
pub const fn way(toward: Toward) -> &'static str {
    match toward {
        Toward::Forward => "forward",
        Toward::Aft => "aft",
    }
}

/// A small number in a word.
pub(crate) fn counted(n: u32) -> String {
    const WORDS: [&str; 13] = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    usize::try_from(n).ok().and_then(|n| WORDS.get(n)).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

/// How much lower the boom end stands with the leech pulled tight than slack at the dock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetedDrop {
    /// The drop, m.
    pub value: f64,
    /// How far the true drop may lie from it, m, 19 times in 20.
    pub doubt: f64,
    /// Whether this boat's own pair of readings gave it.
    pub own: bool,
}

/// Doubt of the modelled drop, share of it. Assumed: the model bends the mast and lets no boom lift as the leech stretches.
const DROP_DOUBT: f64 = 0.6;
/// And at least this, m. Assumed.
const DROP_DOUBT_LEAST: f64 = 0.03;

impl SheetedDrop {
    /// As modelled (m), with its doubt.
    #[must_use]
    pub fn modelled(drop: f64) -> Self {
        Self { value: drop, doubt: (DROP_DOUBT * drop.abs()).max(DROP_DOUBT_LEAST), own: false }
    }

    /// From a boat's own pair of readings (m) at one notch, with the repeat errors of both gauges (m).
    #[must_use]
    pub fn own(dock: f64, sheeted: f64, repeat_errors: [f64; 2]) -> Self {
        Self { value: dock - sheeted, doubt: repeat_errors[0].hypot(repeat_errors[1]), own: true }
    }
}
