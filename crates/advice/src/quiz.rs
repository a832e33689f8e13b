//! Questions a sailor can answer about her own boat in today's wind: what is asked, the picture it wants, three or four answers with
//! their reasons, and what a wrong one costs.
//!
//! A right answer comes from one of three places, and the question says which: the solved model, where a sweep decides clearly (the best
//! answer beats every other by more than twice the stated doubt, [`curve`]); a cited rule; common practice, marked so. What the model
//! does not decide is not asked. No text stands here: a question names its words, which `data/words` has in a child's language.

pub mod around;
pub mod curve;
pub mod effect;
mod known;
pub mod schedule;

use boat::balance::{Boat, Control};
use boat::gauge::{Gauge, GaugeUnit};
use boat::setup::{LegSetup, Request, Sit};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

pub use around::Around;
pub use curve::{Cost, Curve};
pub use effect::Effect;

/// What a question is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Reading a tape.
    Reading,
    /// Where a setting goes today.
    Setting,
    /// What a control does.
    Cause,
    /// Which control first.
    First,
    /// Puffs and lulls.
    PuffAndLull,
    /// What is done at each course mark, in which order.
    CourseMark,
    /// How to sit today.
    Sit,
    /// Heel, and where to sit fore and aft.
    HeelAndSeat,
    /// The board.
    Board,
    /// Wrinkles and creases.
    Looks,
    /// The way round a course mark.
    Rounding,
    /// What weighs in a boat.
    Weight,
    /// Being safe.
    Safety,
    /// Rules of the race.
    Rules,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 14] = [
        Self::Reading,
        Self::Setting,
        Self::Cause,
        Self::First,
        Self::PuffAndLull,
        Self::CourseMark,
        Self::Sit,
        Self::HeelAndSeat,
        Self::Board,
        Self::Looks,
        Self::Rounding,
        Self::Weight,
        Self::Safety,
        Self::Rules,
    ];

    /// Its name among the words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Setting => "setting",
            Self::Cause => "cause",
            Self::First => "first",
            Self::PuffAndLull => "puff_and_lull",
            Self::CourseMark => "course_mark",
            Self::Sit => "sit",
            Self::HeelAndSeat => "heel_and_seat",
            Self::Board => "board",
            Self::Looks => "looks",
            Self::Rounding => "rounding",
            Self::Weight => "weight",
            Self::Safety => "safety",
            Self::Rules => "rules",
        }
    }
}

/// What a right answer rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rests {
    /// The picture itself shows it.
    Picture,
    /// The solved model, for this boat and sailor.
    Model,
    /// A rule or a paper, by its name among the words.
    Cited(&'static str),
    /// Common practice, no source.
    Practice,
}

/// Something filled into words.
#[derive(Debug, Clone, PartialEq)]
pub enum Slot {
    /// A reading of a gauge, SI: written in the tape's units.
    Reading(Gauge, f64),
    /// A wind, knots at 10 m.
    Knots(f64),
    /// Boat lengths.
    Lengths(f64),
    /// The boat's own name.
    Boat(String),
}

/// Words by name, with what is filled into them.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Of which question.
    pub question: &'static str,
    /// Of which of its answers; none for what is asked.
    pub answer: Option<&'static str>,
    /// What is filled in, by its mark.
    pub slots: Vec<(&'static str, Slot)>,
}

/// A picture that a question wants: plain data, drawn elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// A tape held at a gauge that reads so much, SI.
    Tape(Gauge, f64),
    /// A tape at a gauge with each answer's value as a stroke with its letter.
    Places(Gauge),
    /// A sailor from behind, sitting so.
    Sitting(Sit),
    /// The answers' ways to sit, side by side.
    Postures,
    /// The sail from the side with what the eye sees.
    Sail(Seen),
    /// The boat from the side with one part pointed at.
    Pointed(Pointed),
    /// Two boats from above, the wind from the top of the picture.
    Boats(Meeting),
    /// The ways round a course mark that the answers name, by letter.
    Ways,
    /// A course with its marks and the next one to come.
    Course(Corner),
    /// The board as each answer has it.
    Boards {
        /// Whether it slides up in its case; else it swings back.
        slides: bool,
    },
    /// The boat from behind as each answer has her.
    Heels,
    /// The boat from behind, heeling.
    Heeled,
    /// The places to sit that the answers name.
    Seats,
    /// Water in the bottom of the boat.
    Water,
    /// The boat on her side, her sailor at the board.
    Capsized,
    /// Lightning over a boat.
    Thunder,
    /// Sun over cold water.
    Cold,
    /// A wave lifts the boat from behind.
    Wave,
    /// A puff comes from behind on a run.
    Puff,
}

/// A part of the boat that a question points at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pointed {
    /// The vang.
    Vang,
    /// The outhaul.
    Outhaul,
    /// The board.
    Board,
    /// The mast.
    Mast,
}

/// What the eye sees in a sail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// Wrinkles that run from the luff.
    LuffWrinkles,
    /// A hard fold along the luff.
    LuffCrease,
    /// A crease from the throat to the clew.
    ThroatToClew,
    /// A crease from the tack up to the peak.
    TackToPeak,
    /// A top that falls open.
    TopOpen,
}

/// How two boats meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meeting {
    /// On opposite tacks.
    PortAndStarboard,
    /// On the same tack, one to windward.
    SideBySide,
    /// On the same tack, one behind.
    Behind,
    /// One tacks.
    Tacking,
    /// Two at the zone of a course mark, one inside.
    Zone,
}

/// Which course mark comes next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    /// The windward mark.
    Windward,
    /// The leeward mark.
    Leeward,
}

/// One answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Its lasting name in this question: what is kept when it is chosen.
    pub key: String,
    /// Whether it is the right one.
    pub right: bool,
    /// The reading it names, where it names one.
    pub value: Option<f64>,
    /// Its words; the reason stands beside them.
    pub words: Said,
    /// What choosing it costs, in boat lengths, where the model gives one: on a beat of [`boat::setup::COST_LEG`], or once.
    pub cost: Option<Cost>,
    /// The way round the course mark it names, where it names one that is solved; empty otherwise.
    pub way: around::Way,
}

/// A question with its answers in the order they are shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What it asks, whatever the numbers: by this it is remembered.
    pub key: String,
    /// Made anew from this.
    pub seed: u64,
    /// What it is about.
    pub kind: Kind,
    /// What is asked.
    pub ask: Said,
    /// The picture.
    pub picture: Wanted,
    /// Three or four.
    pub answers: Vec<Answer>,
    /// What the right one rests on.
    pub rests: Rests,
}

impl Question {
    /// The right answer.
    #[must_use]
    pub fn right(&self) -> Option<&Answer> {
        self.answers.iter().find(|a| a.right)
    }
}

/// What questions are made of: one boat, one sailor, one wind. A mass is in the request alone, and leaves it in no question.
#[derive(Debug, Clone, Copy)]
pub struct Own<'a> {
    /// The solver's question of today's beat.
    pub request: &'a Request<'a>,
    /// Its answer, with bands and with doubts.
    pub beat: &'a LegSetup,
    /// The boat's name.
    pub boat: &'a str,
    /// Today's wind, knots at 10 m.
    pub knots: f64,
}

/// Everything that can be asked of one sailor today: solved once, after which a question takes no time.
#[derive(Debug, Clone)]
pub struct Quiz {
    boat: String,
    knots: f64,
    sit: Option<Sit>,
    gauges: Vec<(Gauge, f64)>,
    curves: Vec<Curve>,
    effects: Vec<Effect>,
    water: Option<Cost>,
    /// What sitting at the back costs in light wind.
    back: Option<Cost>,
    around: Option<Around>,
    sprit: bool,
    slides: bool,
}

/// Gauges that a tape is read at, with the words of the question.
const READ: [(Gauge, &str); 5] = [
    (Gauge::BoomEndDock, "read_boom_end"),
    (Gauge::SailBoomGap, "read_gap"),
    (Gauge::CarOffset, "read_car"),
    (Gauge::MastTipTape, "read_mast_tape"),
    (Gauge::BoardUp, "read_board_up"),
];

/// Gauges whose setting is asked for, with the words of the question.
const SET: [(Gauge, &str, Kind); 7] = [
    (Gauge::BoomEndDock, "set_boom_end", Kind::Setting),
    (Gauge::SailBoomGap, "set_gap", Kind::Setting),
    (Gauge::CarOffset, "set_car", Kind::Setting),
    (Gauge::VangLine, "set_vang", Kind::Setting),
    (Gauge::BoardAngle, "set_board", Kind::Board),
    (Gauge::BoardUp, "set_board_up", Kind::Board),
    (Gauge::SeatPosition, "set_seat", Kind::HeelAndSeat),
];

/// Water left in a boat, kg.
const WATER: f64 = 5.0;
/// Sitting at the back: so far behind the best seat, m. Assumed: a child who holds the tiller at its end.
const BACK: f64 = 0.5;
/// The wrong answer about water is this many times the right one.
const TOO_MUCH: f64 = 5.0;

impl Quiz {
    /// Solves what questions need: every setting's curve, what each control does, what water in the boat costs.
    #[must_use]
    pub fn of(own: &Own<'_>) -> Self {
        let boat = own.request.boat;
        let boats = boat::spread::boats(boat, effect::SAMPLES, boat::spread::SEED);
        let read = |gauge: Gauge| Some((gauge, own.beat.setting(gauge)?.value));
        let sit = curve::sit(own.beat);
        Self {
            boat: own.boat.to_owned(),
            knots: own.knots,
            sit,
            gauges: READ.iter().filter(|(g, _)| boat.reach(*g).is_some()).filter_map(|(g, _)| read(*g)).collect(),
            curves: SET.iter().filter_map(|(gauge, ..)| Curve::solved(own.request, own.beat, *gauge)).collect(),
            effects: effect::solved(own.request, own.beat, &boats),
            water: effect::lost(own.request, own.beat, &boats, |boat, _| boat.class.hull.mass += WATER),
            back: sit.filter(|sit| *sit == Sit::Inside).and_then(|_| {
                effect::lost(own.request, own.beat, &boats, |boat, set| {
                    let seat = &mut set[Control::Seat.index()];
                    *seat = (*seat - BACK).max(boat.reach(Gauge::SeatPosition).map_or(*seat, |reach| reach.0));
                })
            }),
            around: Around::solved(own.request, own.beat),
            sprit: boat.rig.sprit.is_some(),
            slides: boat.class.board.lift.is_some(),
        }
    }

    /// What can be asked: the key of each question that has a clear answer today.
    #[must_use]
    pub fn keys(&self) -> Vec<&'static str> {
        let read = READ.iter().filter(|(g, _)| self.gauges.iter().any(|k| k.0 == *g)).map(|(_, name)| *name);
        let set = SET.iter().filter(|(gauge, ..)| self.curve(*gauge).is_some_and(|c| c.wrong().len() >= 2)).map(|(_, name, _)| *name);
        let caused = self.effects.iter().filter(|e| e.told().is_some()).map(|e| e.name);
        let sit = self.sit.map(|_| "sit_today");
        let water = self.water.filter(Cost::is_clear).map(|_| "water_left");
        let known = known::KNOWN.iter().filter(|k| k.holds(self.sprit, self.sit)).map(|k| k.name);
        read.chain(set).chain(caused).chain(sit).chain(water).chain(known).collect()
    }

    /// The kind of a question, whether or not it can be asked today.
    #[must_use]
    pub fn kind_of(key: &str) -> Option<Kind> {
        if READ.iter().any(|r| r.1 == key) {
            return Some(Kind::Reading);
        }
        if let Some(set) = SET.iter().find(|s| s.1 == key) {
            return Some(set.2);
        }
        match key {
            "sit_today" => Some(Kind::Sit),
            "water_left" => Some(Kind::Weight),
            _ if effect::NAMES.contains(&key) => Some(Kind::Cause),
            _ => known::KNOWN.iter().find(|k| k.name == key).map(|k| k.kind),
        }
    }

    fn curve(&self, gauge: Gauge) -> Option<&Curve> {
        self.curves.iter().find(|c| c.gauge == gauge)
    }

    /// The question of a key, made from a seed: the same seed gives the same question. `None` where today has no clear answer to it.
    #[must_use]
    pub fn question(&self, key: &str, seed: u64) -> Option<Question> {
        let mixed = key.bytes().fold(seed, |hash, b| (hash ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
        let mut chance = ChaCha8Rng::seed_from_u64(mixed);
        let mut question = self
            .reading(key, &mut chance)
            .or_else(|| self.setting(key, &mut chance))
            .or_else(|| self.caused(key))
            .or_else(|| self.sitting(key))
            .or_else(|| self.left(key))
            .or_else(|| self.rounded(key))
            .or_else(|| self.known(key))?;
        question.seed = seed;
        shuffled(&mut question.answers, &mut chance);
        Some(question)
    }

    fn asks(&self, name: &'static str) -> Said {
        let slots = vec![("boat", Slot::Boat(self.boat.clone())), ("wind", Slot::Knots(self.knots))];
        Said { question: name, answer: None, slots }
    }

    fn made(&self, name: &'static str, kind: Kind, picture: Wanted, answers: Vec<Answer>, rests: Rests) -> Question {
        Question { key: name.to_owned(), seed: 0, kind, ask: self.asks(name), picture, answers, rests }
    }

    /// A tape is read. The mistakes: counted back from the next ten, or a ten too many or too few.
    fn reading(&self, key: &str, chance: &mut ChaCha8Rng) -> Option<Question> {
        let (gauge, name) = READ.iter().copied().find(|r| r.1 == key)?;
        let (_, near) = *self.gauges.iter().find(|k| k.0 == gauge)?;
        // A last digit from which counting back gives another number, near where the boat is today.
        let digits = [2.0, 3.0, 7.0, 8.0];
        let tens = (near / 0.1).floor() + (chance.random::<f64>() * 2.0).floor();
        let digit = digits[below(chance, digits.len())];
        let centimetres = (10.0 * tens.max(1.0) + digit).max(12.0);
        let value = |cm: f64| cm / 100.0;
        let answer = |part: &'static str, right: bool, cm: f64| answered(name, part, part.to_owned(), right, Some((gauge, value(cm))));
        let back = 10.0 * (centimetres / 10.0).floor() + 10.0 - digit;
        let answers = vec![
            answer("right", true, centimetres),
            answer("back", false, back),
            answer("ten_more", false, centimetres + 10.0),
            answer("ten_less", false, centimetres - 10.0),
        ];
        Some(self.made(name, Kind::Reading, Wanted::Tape(gauge, value(centimetres)), answers, Rests::Picture))
    }

    /// Where a setting goes today: the best, and values a child mistakes for it that the sweep clearly tells from it.
    fn setting(&self, key: &str, chance: &mut ChaCha8Rng) -> Option<Question> {
        let (gauge, name, kind) = SET.iter().copied().find(|s| s.1 == key)?;
        let curve = self.curve(gauge)?;
        let mut wrong = curve.wrong();
        shuffled(&mut wrong, chance);
        let mut answers = vec![answered(name, "best", "best".to_owned(), true, Some((gauge, curve.shown())))];
        for (value, cost) in wrong {
            let apart = answers.iter().filter_map(|a| a.value).all(|other| (other - value).abs() >= 2.0 * curve.step);
            if answers.len() < 4 && apart {
                let side = if value < curve.best { "low" } else { "high" };
                let mut answer = answered(name, side, format!("{side}_{}", answers.len()), false, Some((gauge, value)));
                answer.cost = Some(cost);
                answers.push(answer);
            }
        }
        // With one wrong answer alone a guess is a coin.
        (answers.len() >= 3).then(|| self.made(name, kind, Wanted::Places(gauge), answers, Rests::Model))
    }

    /// What a control does.
    fn caused(&self, key: &str) -> Option<Question> {
        let effect = self.effects.iter().find(|e| e.name == key)?;
        let (more, rests) = effect.told()?;
        let answer = |part: &'static str, right: bool| answered(effect.name, part, part.to_owned(), right, None);
        let answers = vec![answer("more", more), answer("less", !more), answer("nothing", false)];
        Some(self.made(effect.name, Kind::Cause, effect.picture, answers, rests))
    }

    /// How to sit today.
    fn sitting(&self, key: &str) -> Option<Question> {
        let sit = self.sit.filter(|_| key == "sit_today")?;
        let answer = |part: &'static str, of: Sit| answered("sit_today", part, part.to_owned(), of == sit, None);
        let answers = vec![answer("inside", Sit::Inside), answer("on_the_side", Sit::OnTheSide), answer("flat_out", Sit::FlatOut)];
        Some(self.made("sit_today", Kind::Sit, Wanted::Postures, answers, Rests::Model))
    }

    /// What water left in the boat costs.
    fn left(&self, key: &str) -> Option<Question> {
        let cost = self.water.filter(|cost| key == "water_left" && cost.is_clear())?;
        let answer = |part: &'static str, right: bool, lengths: f64| {
            let mut answer = answered("water_left", part, part.to_owned(), right, None);
            answer.words.slots.push(("x", Slot::Lengths(lengths)));
            answer
        };
        let mut right = answer("right", true, cost.value);
        right.cost = Some(cost);
        let answers = vec![right, answer("nothing", false, 0.0), answer("too_much", false, TOO_MUCH * cost.value)];
        Some(self.made("water_left", Kind::Weight, Wanted::Water, answers, Rests::Model))
    }

    /// The way round the leeward mark: with what the mistakes lose where the solved rounding decides; the ways alone, by common
    /// practice, where it does not.
    fn rounded(&self, key: &str) -> Option<Question> {
        let around = self.around.as_ref().filter(|_| key == "rounding_leeward")?;
        let clear = around.is_clear();
        let costs = [None, Some(around.tight_in), Some(around.late)];
        let answers = ["wide_in", "tight_in", "wide_out"].into_iter().zip(costs).zip(&around.ways).map(|((part, cost), way)| {
            let mut answer = answered("rounding_leeward", part, part.to_owned(), cost.is_none(), None);
            answer.cost = cost.filter(|_| clear);
            answer.way = way.clone();
            answer
        });
        let rests = if clear { Rests::Model } else { Rests::Practice };
        Some(self.made("rounding_leeward", Kind::Rounding, Wanted::Ways, answers.collect(), rests))
    }

    /// What rests on a rule or on common practice.
    fn known(&self, key: &str) -> Option<Question> {
        let known = known::KNOWN.iter().find(|k| k.name == key && k.holds(self.sprit, self.sit))?;
        let answers = known.answers.iter().enumerate().map(|(k, part)| {
            let mut answer = answered(known.name, part, (*part).to_owned(), k == 0, None);
            // In light wind alone, as the question says, and where the model is sure of it.
            answer.cost = self.back.filter(|cost| known.name == "seat_light" && *part == "back" && cost.is_clear());
            answer
        });
        let picture = if let Wanted::Boards { .. } = known.picture { Wanted::Boards { slides: self.slides } } else { known.picture };
        Some(self.made(known.name, known.kind, picture, answers.collect(), known.rests))
    }
}

fn answered(question: &'static str, part: &'static str, key: String, right: bool, value: Option<(Gauge, f64)>) -> Answer {
    let slots = value.map(|(gauge, value)| ("x", Slot::Reading(gauge, value))).into_iter().collect();
    Answer {
        key,
        right,
        value: value.map(|v| v.1),
        words: Said { question, answer: Some(part), slots },
        cost: None,
        way: around::Way::new(),
    }
}

/// A whole number below `n`.
fn below(chance: &mut ChaCha8Rng, n: usize) -> usize {
    ((chance.random::<f64>() * n as f64) as usize).min(n.saturating_sub(1))
}

fn shuffled<T>(list: &mut [T], chance: &mut ChaCha8Rng) {
    for k in (1..list.len()).rev() {
        list.swap(k, below(chance, k + 1));
    }
}

/// A reading as a child finds it again: half centimetres, whole degrees.
pub(crate) fn found(gauge: Gauge, value: f64) -> f64 {
    let grid = if gauge.unit() == GaugeUnit::Degrees { gauge.unit_si() } else { 0.5 * gauge.unit_si() };
    (value / grid).round() * grid
}

/// The controls of a boat with a gauge set to a value, others as they are.
pub(crate) fn set(boat: &Boat, beat: &LegSetup, gauge: Gauge, value: f64) -> Option<boat::balance::Controls> {
    let mut controls = beat.mean().controls;
    boat.set(&mut controls, &[(gauge, value)]).ok()?;
    controls.get(Control::WindAngle.index())?;
    Some(controls)
}
