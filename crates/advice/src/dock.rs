//! The dock round: a measured value against its band, and what to move.
//!
//! Outside the band the loss follows the square law that the band's own edges give: the root of the loss grows evenly from
//! that of [`NO_DIFFERENCE`] at the edge through the cost of one step beyond it. Near the band that is what a re-trimmed
//! solve finds; more than [`FAR`] of the band's width out it is an extrapolation, and said to be rough.

use boat::balance::Boat;
use boat::gauge::{Gauge, GaugeUnit};
use boat::setup::{COST_LEG, Leg, LegSetup, NO_DIFFERENCE, Setting};
use measure::Basis;
use measure::angle::DEGREE;

use crate::error::AdviceError;
use crate::own::OwnSetup;
use crate::rake::{Masthead, Notches, SheetedDrop, counted, way};

/// Beyond a band by this share of its width a cost is rough. Assumed: the edges stand about half the width from the best.
pub const FAR: f64 = 0.5;
/// The most metres of 500 that a cost is told as: further out the square law means nothing. Assumed.
const COST_MOST: f64 = 50.0;
/// A value this near an edge, in steps, is on it: what the arithmetic of notches leaves over.
const ON_THE_EDGE: f64 = 1e-6;

/// Today's band of a gauge, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Which gauge.
    pub gauge: Gauge,
    /// Lower edge.
    pub low: f64,
    /// Upper edge.
    pub high: f64,
    /// Metres in 500 m one step below, where it is known.
    pub cost_low: Option<f64>,
    /// And one step above.
    pub cost_high: Option<f64>,
    /// One step.
    pub step: f64,
    /// What it rests on.
    pub basis: Basis,
    /// How far the band itself may be from the truth on this boat, SI: joined to the repeat error of a reading.
    pub doubt: f64,
    /// What to add to a reading for the boom end's height at the dock, m; `None` where it says nothing of that.
    pub to_dock: Option<f64>,
    /// False where no band is known and one step either way is let pass.
    pub solved: bool,
}

impl Band {
    /// The band of a setting. Where the setup has none, one step either way passes (on or off: none).
    #[must_use]
    pub fn of(setting: &Setting) -> Self {
        let s = setting;
        let solved = s.high - s.low > 1e-9;
        let slack = if solved || s.gauge.unit() == GaugeUnit::OnOff { 0.0 } else { s.step };
        let known = |cost: f64| (solved && cost > 0.0).then_some(cost);
        Self {
            gauge: s.gauge,
            low: s.low - slack,
            high: s.high + slack,
            cost_low: known(s.cost_low),
            cost_high: known(s.cost_high),
            step: s.step,
            basis: s.basis,
            doubt: 0.0,
            to_dock: (s.gauge == Gauge::BoomEndDock).then_some(0.0),
            solved,
        }
    }

    /// The band of the boom end with the leech pulled tight, from the dock's band and the drop between the two. The doubt of
    /// the drop becomes the band's.
    #[must_use]
    pub fn sheeted(dock: &Self, drop: SheetedDrop) -> Self {
        let (low, high) = (dock.low - drop.value, dock.high - drop.value);
        Self { gauge: Gauge::BoomEndSheeted, low, high, doubt: drop.doubt, to_dock: Some(drop.value), ..*dock }
    }
}

/// Where a measured value lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// In the band, as near as the tape tells.
    Inside,
    /// Above it.
    High,
    /// Below it.
    Low,
}

impl Verdict {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::High => "high",
            Self::Low => "low",
        }
    }
}

/// What to move.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The part.
    pub part: &'static str,
    /// How many steps of that boat: notches of the mast, else the gauge's own.
    pub steps: u32,
    /// Which way the part goes.
    pub direction: &'static str,
    /// Which way the masthead goes, where it is the mast that moves.
    pub masthead: Option<Masthead>,
    /// What the gauge will then read, SI.
    pub then: f64,
    /// How far that may be off, SI.
    pub then_doubt: f64,
    /// False where the boat's steps or the end of its row leave the reading outside the band.
    pub arrives: bool,
    /// What to do, in words, before the amount if there is one.
    pub deed: String,
    /// How far, SI; nothing where steps are notches.
    pub far: Option<f64>,
}

/// What a tape is marked in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tape {
    /// Its unit.
    pub unit: &'static str,
    /// One of them, m.
    pub metres: f64,
}

impl Tape {
    /// Centimetres.
    pub const METRIC: Self = Self { unit: "cm", metres: 0.01 };

    /// A distance of a gauge (SI) in words.
    #[must_use]
    pub fn words(self, gauge: Gauge, si: f64) -> String {
        // As a tape is read: to half a centimetre or a quarter of an inch; an angle to a degree.
        let parts = if self.unit == "in" { 4.0 } else { 2.0 };
        let to = |unit: f64, parts: f64| measure::quantity::plain((si / unit * parts).round().max(1.0) / parts);
        match gauge.unit() {
            GaugeUnit::Centimetres => format!("{} {}", to(self.metres, parts), self.unit),
            GaugeUnit::Degrees => {
                let degrees = to(DEGREE, 1.0);
                format!("{degrees} degree{}", if degrees == "1" { "" } else { "s" })
            }
            GaugeUnit::OnOff => String::new(),
        }
    }
}

/// One reading judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The measured value, SI.
    pub measured: f64,
    /// What it was held against.
    pub band: Band,
    /// Where it lies.
    pub verdict: Verdict,
    /// How far outside the band the tape says, SI; 0 within it.
    pub by: f64,
    /// Whether the tape cannot tell on which side of an edge it lies.
    pub at_the_edge: bool,
    /// What to move; nothing when inside, or when a step would only make it worse.
    pub to_move: Option<Move>,
    /// Metres lost in 500 m as it is; `None` where nobody knows.
    pub cost: Option<f64>,
    /// Whether that cost is rough: far out, or past the end of a known band.
    pub rough: bool,
}

/// Judges a reading: `repeat_error` (SI) is how far two readings of one child may lie apart, 19 times in 20.
///
/// # Errors
/// A reading that is no number.
pub fn judged(measured: f64, band: Band, repeat_error: f64, mast: &Notches) -> Result<Reading, AdviceError> {
    if !measured.is_finite() {
        return Err(AdviceError::NoNumber(band.gauge.name()));
    }
    let (above, below) = (measured - band.high, band.low - measured);
    let by = above.max(below).max(0.0);
    let doubt = repeat_error.hypot(band.doubt);
    let verdict = if by <= doubt + ON_THE_EDGE * band.step {
        Verdict::Inside
    } else if above > 0.0 {
        Verdict::High
    } else {
        Verdict::Low
    };
    let to_move = match verdict {
        Verdict::Inside => None,
        _ => moved(measured, &band, mast, verdict == Verdict::High),
    };
    let near = above.abs().min(below.abs());
    let (cost, rough) = cost(&band, verdict, by);
    Ok(Reading { measured, band, verdict, by, at_the_edge: verdict == Verdict::Inside && near < doubt && by > 0.0, to_move, cost, rough })
}

/// Metres of 500 by the square law through the edge and one step beyond, and whether that is rough.
fn cost(band: &Band, verdict: Verdict, by: f64) -> (Option<f64>, bool) {
    let one = match verdict {
        Verdict::Inside => return (Some(0.0), false),
        Verdict::High => band.cost_high,
        Verdict::Low => band.cost_low,
    };
    let Some(one) = one else { return (None, true) };
    let steps = by / band.step.max(1e-9);
    let edge = (NO_DIFFERENCE * COST_LEG).sqrt();
    let root = edge + (one.sqrt() - edge).max(0.0) * steps;
    ((Some((root * root).min(COST_MOST))), by > FAR * (band.high - band.low) || root * root > COST_MOST)
}

/// The least whole steps that bring a reading into its band; when none does, those that bring it nearest.
fn moved(measured: f64, band: &Band, mast: &Notches, high: bool) -> Option<Move> {
    let on_mast = matches!(band.gauge, Gauge::BoomEndDock | Gauge::BoomEndSheeted | Gauge::MastTipTape);
    let masthead = if high { Masthead::Back } else { Masthead::Forward };
    let (step, doubt, room) = if on_mast {
        let whole = mast.count.saturating_sub(1);
        let room = band.to_dock.map_or(whole, |add| mast.room(measured + add, masthead));
        (mast.fall, mast.doubt, room)
    } else {
        (band.step, 0.0, u32::MAX)
    };
    if step.is_nan() || step <= 0.0 {
        return None;
    }
    let toward = if high { -step } else { step };
    let outside = |n: u32| {
        let at = measured + f64::from(n) * toward;
        (at - band.high).max(band.low - at).max(0.0)
    };
    let excess = outside(0);
    // Just short of a whole step is a whole step: the rest is arithmetic.
    let enough = (excess / step - ON_THE_EDGE).ceil().clamp(1.0, 1e6) as u32;
    let (fewer, enough) = ((enough - 1).min(room), enough.min(room));
    let steps = if outside(enough) <= outside(fewer) { enough } else { fewer };
    if steps == 0 {
        return None;
    }
    let then = measured + f64::from(steps) * toward;
    let arrives = outside(steps) <= ON_THE_EDGE * step;
    let (part, direction, deed, far) = if on_mast {
        (mast.part, way(mast.toward(masthead)), mast.words(masthead, steps), None)
    } else {
        let (part, direction, deed) = part_of(band.gauge, high);
        let far = band.gauge.unit() != GaugeUnit::OnOff;
        (part, direction, deed.to_owned(), far.then_some(f64::from(steps) * step))
    };
    let masthead = on_mast.then_some(masthead);
    Some(Move { part, steps, direction, masthead, then, then_doubt: f64::from(steps) * doubt, arrives, deed, far })
}

/// The part a gauge stands for, the way it goes to bring a high (or low) reading in, and the deed in words.
const fn part_of(gauge: Gauge, high: bool) -> (&'static str, &'static str, &'static str) {
    match (gauge, high) {
        (Gauge::SailBoomGap, true) => ("outhaul", "pull", "pull the outhaul until the gap is smaller by"),
        (Gauge::SailBoomGap, false) => ("outhaul", "ease", "ease the outhaul until the gap is bigger by"),
        (Gauge::CarOffset, true) => ("car", "in", "slide the car in by"),
        (Gauge::CarOffset, false) => ("car", "out", "slide the car out by"),
        (Gauge::SheetLine, true) => ("mainsheet", "pull", "pull in sheet by"),
        (Gauge::SheetLine, false) => ("mainsheet", "ease", "let out sheet by"),
        (Gauge::BoomAngle, true) => ("boom", "in", "bring the boom in by"),
        (Gauge::BoomAngle, false) => ("boom", "out", "let the boom out by"),
        (Gauge::VangLine, true) => ("vang", "ease", "ease the vang by"),
        (Gauge::VangLine, false) => ("vang", "pull", "pull the vang by"),
        (Gauge::DownhaulLine, true) => ("downhaul", "ease", "ease the downhaul by"),
        (Gauge::DownhaulLine, false) => ("downhaul", "pull", "pull the downhaul by"),
        (Gauge::SpritLine, true) => ("sprit", "ease", "ease the sprit line by"),
        (Gauge::SpritLine, false) => ("sprit", "pull", "pull the sprit line by"),
        (Gauge::Preventer, true) => ("preventer", "off", "take the preventer off"),
        (Gauge::Preventer, false) => ("preventer", "on", "put the preventer on"),
        (Gauge::BoardAngle, true) => ("board", "aft", "swing the board's tip back by"),
        (Gauge::BoardAngle, false) => ("board", "forward", "swing the board's tip forward by"),
        (Gauge::BoardUp, true) => ("board", "down", "push the board down by"),
        (Gauge::BoardUp, false) => ("board", "up", "pull the board up by"),
        (Gauge::SeatPosition, true) => ("sailor", "aft", "sit further back by"),
        (Gauge::SeatPosition, false) => ("sailor", "forward", "sit further forward by"),
        (Gauge::Heel, true) => ("sailor", "out", "sit out until she is flatter by"),
        (Gauge::Heel, false) => ("sailor", "in", "come in until she heels to leeward more by"),
        (Gauge::HikeOut, true) => ("sailor", "in", "come in by"),
        (Gauge::HikeOut, false) => ("sailor", "out", "sit further out by"),
        // The mast is moved by its notches.
        (Gauge::BoomEndDock | Gauge::BoomEndSheeted | Gauge::MastTipTape, true) => ("mast", "back", "tip the mast back by"),
        (Gauge::BoomEndDock | Gauge::BoomEndSheeted | Gauge::MastTipTape, false) => ("mast", "forward", "tip the mast forward by"),
    }
}

/// A boat on the dock round: what she is, what is best today, what her own notches and readings say.
#[derive(Debug, Clone)]
pub struct Round<'a> {
    /// The boat.
    pub boat: &'a Boat,
    /// Today's setup of the beat: the mast is set ashore, for the beat.
    pub beat: &'a LegSetup,
    /// Today's setup of the leg that all else is judged by.
    pub leg: &'a LegSetup,
    /// What a notch does.
    pub mast: Notches,
    /// What this boat's own pair of boom-end readings says.
    pub own_drop: Option<SheetedDrop>,
    /// How she is set up: her base setup moves the bands of the beat, as on her card.
    pub own: OwnSetup,
}

impl Round<'_> {
    /// How much lower the boom end stands with the leech pulled tight: her own, else the model's.
    #[must_use]
    pub fn drop(&self) -> Option<SheetedDrop> {
        let modelled = || {
            let value = |gauge| self.beat.setting(gauge).map(|s: &Setting| s.value);
            Some(SheetedDrop::modelled(value(Gauge::BoomEndDock)? - value(Gauge::BoomEndSheeted)?))
        };
        self.own_drop.or_else(modelled)
    }

    /// Today's band of a gauge; `None` where the class has no such gauge.
    #[must_use]
    pub fn band(&self, gauge: Gauge) -> Option<Band> {
        let of = |leg: &LegSetup, gauge| {
            let mut band = Band::of(leg.setting(gauge)?);
            // What passes without a band ends where the gauge does.
            let by = if leg.leg == Leg::Beat { self.own.shift(gauge) } else { 0.0 };
            if let Some((low, high)) = self.boat.reach(gauge).filter(|_| !band.solved || by != 0.0) {
                (band.low, band.high) = ((band.low + by).clamp(low, high), (band.high + by).clamp(low, high));
            }
            Some(band)
        };
        match gauge {
            Gauge::BoomEndDock | Gauge::MastTipTape => of(self.beat, gauge),
            Gauge::BoomEndSheeted => match (of(self.beat, Gauge::BoomEndDock), self.drop()) {
                (Some(dock), Some(drop)) => Some(Band::sheeted(&dock, drop)),
                _ => of(self.beat, gauge),
            },
            _ => of(self.leg, gauge),
        }
    }

    /// A reading (SI) judged.
    ///
    /// # Errors
    /// A gauge that is not measured on this class, a reading that is no number.
    pub fn judged(&self, gauge: Gauge, measured: f64) -> Result<Reading, AdviceError> {
        let lacking = AdviceError::NotMeasured(gauge.name());
        let Some(definition) = self.boat.class.gauges.iter().find(|d| d.gauge == gauge) else { return Err(lacking) };
        let band = self.band(gauge).ok_or(lacking)?;
        let repeat_error = definition.repeat_error;
        let mast = if gauge == Gauge::MastTipTape { self.mast.by_tape(self.boat, measured) } else { self.mast.clone() };
        judged(measured, band, repeat_error, &mast)
    }
}

/// Which way a reading is off, as it is said of that gauge.
const fn off(gauge: Gauge, high: bool) -> &'static str {
    match (gauge, high) {
        (Gauge::BoomEndDock | Gauge::BoomEndSheeted, true) => "high",
        (Gauge::BoomEndDock | Gauge::BoomEndSheeted, false) => "low",
        (Gauge::MastTipTape, true) => "too long",
        (Gauge::MastTipTape, false) => "too short",
        (Gauge::SailBoomGap, true) => "too big",
        (Gauge::SailBoomGap, false) => "too small",
        (Gauge::VangLine | Gauge::DownhaulLine | Gauge::SpritLine, true) => "too tight",
        (Gauge::VangLine | Gauge::DownhaulLine | Gauge::SpritLine, false) => "too slack",
        (Gauge::BoardAngle | Gauge::SeatPosition, true) => "too far forward",
        (Gauge::BoardAngle | Gauge::SeatPosition, false) => "too far back",
        (Gauge::BoardUp, true) => "too far up",
        (Gauge::BoardUp, false) => "too far down",
        (Gauge::Heel, true) => "too much",
        (Gauge::Heel, false) => "too little",
        (Gauge::CarOffset | Gauge::SheetLine | Gauge::BoomAngle | Gauge::HikeOut, true) => "too far out",
        (Gauge::CarOffset | Gauge::SheetLine | Gauge::BoomAngle | Gauge::HikeOut, false) => "too far in",
        (Gauge::Preventer, true) => "on",
        (Gauge::Preventer, false) => "off",
    }
}

/// A gauge as a coach says it.
#[must_use]
pub const fn name(gauge: Gauge) -> &'static str {
    match gauge {
        Gauge::BoomEndDock => "boom end",
        Gauge::BoomEndSheeted => "boom end with the leech tight",
        Gauge::MastTipTape => "masthead tape",
        Gauge::SailBoomGap => "sail-boom gap",
        Gauge::CarOffset => "car",
        Gauge::SheetLine => "mainsheet",
        Gauge::BoomAngle => "boom",
        Gauge::VangLine => "vang",
        Gauge::DownhaulLine => "downhaul",
        Gauge::SpritLine => "sprit",
        Gauge::Preventer => "preventer",
        Gauge::BoardAngle | Gauge::BoardUp => "board",
        Gauge::SeatPosition => "seat",
        Gauge::Heel => "heel",
        Gauge::HikeOut => "how far out",
    }
}

impl Reading {
    /// Boat lengths lost in 500 m on a boat of a length (m); `None` where nobody knows.
    #[must_use]
    pub fn cost_lengths(&self, length: f64) -> Option<f64> {
        self.cost.map(|c| c / length)
    }

    /// The verdict in words: "boom end 5 cm high: tip the mast back, bottom one notch forward". `length` is the boat's, m.
    #[must_use]
    pub fn words(&self, length: f64, tape: Tape) -> String {
        let gauge = self.band.gauge;
        let said = name(gauge);
        if self.verdict == Verdict::Inside {
            return if self.at_the_edge { format!("{said}: inside, as near as the tape tells") } else { format!("{said}: inside") };
        }
        let off = off(gauge, self.verdict == Verdict::High);
        let mut words = match gauge.unit() {
            GaugeUnit::OnOff => format!("{said} {off}"),
            _ => format!("{said} {} {off}", tape.words(gauge, self.by)),
        };
        match &self.to_move {
            Some(m) => {
                words += &format!(": {}", m.deed);
                if let Some(far) = m.far {
                    words += &format!(" {}", tape.words(gauge, far));
                }
                if !m.arrives {
                    words += "; that is as near as this boat's steps come";
                }
            }
            None => words += ": this boat has no step that brings it nearer; leave it",
        }
        match self.cost_lengths(length) {
            Some(lengths) if self.cost >= Some(COST_MOST) => {
                words += &format!(". It costs more than {} boat lengths in 500 m", lengths.floor());
            }
            Some(lengths) => words += &format!(". It costs {}", lengths_in_words(lengths, self.rough)),
            None if gauge.unit() == GaugeUnit::OnOff => {}
            None => words += ". What it costs is not known",
        }
        words
    }
}

/// Boat lengths in words, in 500 m.
fn lengths_in_words(lengths: f64, rough: bool) -> String {
    let about = if rough { "roughly" } else { "about" };
    let whole = lengths.round();
    if lengths < 0.75 {
        "less than one boat length in 500 m".to_owned()
    } else if whole <= 1.0 {
        format!("{about} one boat length in 500 m")
    } else {
        format!("{about} {} boat lengths in 500 m", counted(whole.clamp(0.0, 1000.0) as u32))
    }
}
