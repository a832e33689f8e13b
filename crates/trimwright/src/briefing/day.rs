//! From solved settings to a sailor's card: which rows, which words, what a slip costs.
//!
//! Which number stands in a row is said in [`advice::own`]. Where a setting rests on common practice the row says so; where no
//! value makes a difference it says that instead of a number.
//!
//! How to sit is that of the tack that asks more of the sailor, and so is what a slip costs.
//!
//! What a slip costs is what one step beyond what makes no difference loses in a beat of [`boat::setup::COST_LEG`] metres, in boat lengths. Its limits are the least and
//! the most of the same step in the day's three winds: the spread over today's winds, not the whole doubt of the model. A wind in which
//! she cannot be held flat tells nothing of a slip; a slip known in one wind alone has no spread and is not told.

use std::collections::BTreeMap;

use advice::caution::Caution as Said;
use advice::own::OwnSetup;
use boat::Constants;
use boat::balance::{Boat, CONTROLS, Control, Controls};
use boat::chart::Cell;
use boat::class::Lead;
use boat::gauge::{Gauge, GaugeUnit};
use boat::setup::Sit;
use boat::spread::Wide;
use measure::Basis;

use super::around::{self, Plan};
use super::card::{
    CardDocument, CardRow, CardValue, Caution, Cost, Hand, MOST_ROWS, Posture, Reading, Readings, WindColumn, on_tape, quarters,
};
use crate::drawing::boat::{BoatShape, FoilShape, SailEdges};
use crate::words::{Words, word};

/// From the board's bolt to where its edge is read on the rail, m: the radius of the printed arc.
pub const BOARD_ARC: f64 = 0.15;

/// One wind of the day, solved for one sailor.
#[derive(Debug)]
pub struct SolvedWind {
    /// Range of the wind, knots at 10 m.
    pub knots: (f64, f64),
    /// The beat on starboard tack, where the model has one.
    pub beat: Option<Cell>,
    /// And on port tack, where the tacks differ.
    pub port: Option<Cell>,
}

impl SolvedWind {
    fn beats(&self) -> Vec<&Cell> {
        self.beat.iter().chain(&self.port).collect()
    }

    /// The beat on which the sailor leans out further for what can be sustained.
    fn harder(&self) -> Option<&Cell> {
        self.beats().into_iter().max_by(|a, b| (a.hike.0 / a.hike.1).total_cmp(&(b.hike.0 / b.hike.1)))
    }
}

/// Who sails what.
#[derive(Debug)]
pub struct Who {
    /// The sailor's label.
    pub sailor: String,
    /// The boat's.
    pub boat: String,
    /// Hand length, m.
    pub hand: f64,
    /// How her boat is set up.
    pub own: OwnSetup,
    /// What to look out for today, over a limit first.
    pub cautions: Vec<Said>,
    /// What her hands do around the course marks, where the model answers.
    pub plan: Option<Plan>,
}

/// How the card is written.
#[derive(Debug, Clone)]
pub struct Written {
    /// The day, in words.
    pub date: String,
    /// Unit of settings and its length, m.
    pub unit: (&'static str, f64),
}

/// The gauges of a card, those most worth keeping first, with their key in the words.
const ROWS: [(Gauge, &str); 9] = [
    (Gauge::BoomEndDock, "boom_end_dock"),
    (Gauge::MastTipTape, "mast_tip_tape"),
    (Gauge::SailBoomGap, "sail_boom_gap"),
    (Gauge::SpritLine, "sprit_line"),
    (Gauge::CarOffset, "car"),
    (Gauge::DownhaulLine, "downhaul_line"),
    (Gauge::BoardAngle, "board"),
    (Gauge::BoardUp, "board_up"),
    (Gauge::VangLine, "vang_line"),
];

/// Gauges in the order in which it is told where their tapes start: transom, rudder, boom, pen line, case.
const TAPE_STARTS: [&str; 9] =
    ["boom_end_dock", "mast_tip_tape", "car", "sail_boom_gap", "sprit_line", "downhaul_line", "vang_line", "board", "board_up"];

/// A length on the rail for a board's angle, m: along the printed arc.
fn rail(angle: f64) -> f64 {
    angle * BOARD_ARC
}

/// The card of one sailor for three winds: lighter, as forecast, stronger. `None` where the forecast has no solved beat.
#[must_use]
pub fn card(boat: &Boat, who: &Who, winds: &[SolvedWind; 3], written: &Written, words: &Words) -> Option<CardDocument> {
    let forecast = winds[1].beat.as_ref()?;
    let mut forecast_controls = [0.0; CONTROLS];
    forecast_controls[Control::Rake.index()] = forecast.rake;
    let board = forecast.setting(Gauge::BoardAngle).map(|s| s.value).or_else(|| forecast.setting(Gauge::BoardUp).map(|s| -s.value));
    forecast_controls[Control::Board.index()] = board.unwrap_or(0.0);
    let hand = Hand::from_length(who.hand);
    let car_half_width = match boat.class.lead {
        Lead::Traveller { half_width, .. } => Some(half_width),
        Lead::Block { .. } => None,
    };
    let today = |gauge: Gauge, wind: &SolvedWind| who.own.today(gauge, &wind.beats(), boat);
    let anchor = |gauge: Gauge| who.own.anchor(gauge, boat);
    let shown = |gauge: Gauge, si: f64| {
        let length = if gauge == Gauge::BoardAngle { rail(si) } else { si };
        on_tape(length / written.unit.1)
    };
    let by_hand = |gauge: Gauge, si: f64| match gauge {
        Gauge::CarOffset => quarters(si, car_half_width.unwrap_or(1.0), &words.hand),
        // Nobody measures a mast by hands.
        Gauge::MastTipTape => String::new(),
        Gauge::BoardAngle => hand.thumbs(rail(si), &words.hand),
        _ => hand.words(si, &words.hand),
    };
    let blank = |text: &str| CardValue { text: text.to_owned(), hand: String::new(), band: None, larger: None };
    let mut rows = Vec::new();
    for (gauge, key) in ROWS {
        let Some(now) = today(gauge, &winds[1]) else { continue };
        let columns = winds.each_ref().map(|wind| today(gauge, wind));
        let values = columns.map(|column| match column {
            None => blank("–"),
            Some(today) if !today.matters => blank(word(&words.card, "any")),
            Some(today) => {
                let band = today.known.then(|| (shown(gauge, today.low), shown(gauge, today.high))).filter(|(a, b)| a != b);
                let value = today.printed(anchor(gauge));
                CardValue {
                    text: shown(gauge, value),
                    hand: by_hand(gauge, value),
                    larger: today.wide.filter(|_| band.is_some()).map(Wide::words),
                    band,
                }
            }
        });
        let was = who.own.last(gauge).map(|last| shown(gauge, last)).filter(|last| now.matters && *last != values[1].text);
        let name = words.gauge.get(key).map_or_else(|| key.to_owned(), |g| g.name.clone());
        // A model that the squad's passes corrected is no longer theory alone.
        let corrected = boat.constants != *Constants::standard();
        let rests = match forecast.setting(gauge).map_or(Basis::CommonPractice, |s| s.basis) {
            Basis::Theory if corrected => Basis::OwnLineUps,
            basis => basis,
        };
        let idle = !columns.iter().flatten().any(|today| today.matters);
        rows.push((idle, CardRow { gauge: gauge.name(), name, unit: None, values, was, rests }));
    }
    // Rows keep their order; a gauge that makes no difference in any wind gives its place to one that does.
    while rows.len() > MOST_ROWS
        && let Some(last) = rows.iter().rposition(|row| row.0)
    {
        rows.remove(last);
    }
    let rows: Vec<CardRow> = rows.into_iter().map(|row| row.1).collect();
    // Where the tape starts, for the gauges that this card has.
    let has = |key: &str| ROWS.iter().any(|(gauge, of)| *of == key && rows.iter().any(|row| row.gauge == gauge.name()));
    let mut starts: Vec<&str> = Vec::new();
    for from in TAPE_STARTS.iter().filter(|key| has(key)).filter_map(|key| words.gauge.get(*key)).map(|gauge| gauge.from.as_str()) {
        if !starts.contains(&from) {
            starts.push(from);
        }
    }
    let starts = starts.join(", ");
    let posture = match winds[1].harder()?.sit() {
        Sit::Inside => Posture::Inside,
        Sit::OnTheSide => Posture::OnTheSide,
        Sit::FlatOut => Posture::FlatOut,
    };
    let column = |w: &SolvedWind| WindColumn {
        range: format!("{:.0}–{:.0}", w.knots.0, w.knots.1),
        sea: words.sea_look(0.5 * (w.knots.0 + w.knots.1)).to_owned(),
    };
    let reading = |gauge: Gauge| -> Option<Reading> {
        let read = |wind: &SolvedWind| today(gauge, wind).filter(|t| t.matters);
        let length = |v: f64| if gauge == Gauge::BoardAngle { rail(v) } else { v };
        let now = read(&winds[1])?;
        let value = length(now.printed(anchor(gauge)));
        let other = |k: usize| read(&winds[k]).map_or(value, |t| length(t.printed(anchor(gauge))));
        let band = (now.known && now.high > now.low).then(|| (length(now.low), length(now.high)));
        Some(Reading { value, band, others: (other(0), other(2)) })
    };
    let [(windward, windward_rests), (leeward, leeward_rests)] = around::said(who.plan.as_ref(), words);
    let said = |c: &Said| {
        let figure = c.figure.words(word(&words.unit, c.figure.unit));
        let own = words.caution.get(&c.key).unwrap_or(&c.card);
        Caution { fact: own.fact.replace("{x}", &figure), deed: own.deed.clone(), who: own.who.clone() }
    };
    Some(CardDocument {
        sailor: who.sailor.clone(),
        boat: who.boat.clone(),
        date: written.date.clone(),
        posture,
        wind_unit: "knots".to_owned(),
        unit: written.unit.0.to_owned(),
        unit_length: written.unit.1,
        columns: core::array::from_fn(|k| column(&winds[k])),
        rows,
        puff: word(&words.puff, posture.key()).to_owned(),
        lull: word(&words.lull, posture.key()).to_owned(),
        over_limit: who.cautions.iter().find(|c| c.over_limit).map(said),
        cautions: who.cautions.iter().filter(|c| !c.over_limit).map(said).collect(),
        protocol: word(&words.card, "protocol").to_owned(),
        tape_from: word(&words.card, "tape_from").replace("{x}", &starts),
        costs: costs(boat, who, winds, written, words),
        before_windward: windward,
        around_leeward: leeward,
        deeds_rest: [windward_rests, leeward_rests],
        hand,
        shape: shape(boat, forecast_controls, forecast.draught),
        readings: Readings {
            boom_end: reading(Gauge::BoomEndDock),
            car: car_half_width.and_then(|_| reading(Gauge::CarOffset)),
            sail_boom_gap: reading(Gauge::SailBoomGap),
            board: reading(Gauge::BoardAngle),
        },
    })
}

/// The settings a card tells as forecast, SI by gauge: those that matter.
#[must_use]
pub fn settings(boat: &Boat, own: &OwnSetup, winds: &[SolvedWind; 3]) -> BTreeMap<Gauge, f64> {
    let value = |gauge: Gauge| {
        let today = own.today(gauge, &winds[1].beats(), boat).filter(|today| today.matters)?;
        Some((gauge, today.printed(own.anchor(gauge, boat))))
    };
    ROWS.iter().filter_map(|(gauge, _)| value(*gauge)).collect()
}

/// What a card tells in one wind, m by the gauge's key in the words: those that matter.
#[must_use]
pub fn lengths_of(boat: &Boat, own: &OwnSetup, wind: &SolvedWind) -> Vec<(&'static str, f64)> {
    let value = |(gauge, key): &(Gauge, &'static str)| {
        let today = own.today(*gauge, &wind.beats(), boat).filter(|today| today.matters)?;
        let si = today.printed(own.anchor(*gauge, boat));
        Some((*key, if *gauge == Gauge::BoardAngle { rail(si) } else { si }))
    };
    ROWS.iter().filter_map(value).collect()
}

/// What a child can get wrong afloat, with the key of its words. What is set ashore is no slip; heel and downhaul stand as common
/// practice has them, not at the model's own best, so the model tells no cost of leaving them.
const SLIPS: [(Gauge, &str); 5] = [
    (Gauge::SeatPosition, "seat"),
    (Gauge::SailBoomGap, "gap"),
    (Gauge::CarOffset, "car"),
    (Gauge::BoardAngle, "board"),
    (Gauge::BoomAngle, "sheet"),
];
/// A slip that costs less than this many boat lengths is not told: it would be written as none.
const LEAST_COST: f64 = 0.25;
/// The most metres of a leg that a slip is told to cost: further out a step means nothing. Assumed, as on the dock round.
const MOST_COST: f64 = 50.0;
/// A limit broken by no more than this, in its unit, is kept: she can be held flat.
pub const KEPT: f64 = 0.02;

/// What slips cost as forecast, the costliest first, each gauge once.
fn costs(boat: &Boat, who: &Who, winds: &[SolvedWind; 3], written: &Written, words: &Words) -> Vec<Cost> {
    let mut costs: Vec<Cost> = Vec::new();
    for (gauge, key) in SLIPS {
        let Some(today) = who.own.today(gauge, &winds[1].beats(), boat) else { continue };
        let Some(setting) = winds[1].beat.as_ref().and_then(|beat| beat.setting(gauge)) else { continue };
        let (least, most) = boat.reach(gauge).unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        let sides =
            [("low", today.low + today.beyond.0 - setting.step), ("high", today.high - today.beyond.1 + setting.step)].map(|(side, at)| {
                let at = at.max(least).min(most);
                let read = match gauge {
                    Gauge::BoardAngle => rail(at) / written.unit.1,
                    _ if gauge.unit() == GaugeUnit::Degrees => at / gauge.unit_si(),
                    _ => at / written.unit.1,
                };
                let of = |wind: &SolvedWind| {
                    let beats = wind.beats().into_iter().filter(|beat| beat.breach <= KEPT);
                    let costs = beats.filter_map(|beat| beat.setting(gauge)).map(|s| if side == "low" { s.cost_low } else { s.cost_high });
                    Some(costs.reduce(f64::max)? / boat.class.hull.length)
                };
                let name = word(&words.slip, &format!("{key}_{side}")).replace("{x}", &on_tape(read.round()));
                let value = of(&winds[1]).unwrap_or(0.0);
                let spread = winds.iter().filter_map(of);
                let (low, high) = spread.fold((value, value), |(low, high), cost| (low.min(cost), high.max(cost)));
                Cost { name, low, value, high }
            });
        let most = MOST_COST / boat.class.hull.length;
        let told = |cost: &Cost| cost.value >= LEAST_COST && cost.high > cost.low && cost.high <= most;
        costs.extend(sides.into_iter().filter(told).max_by(|a, b| a.value.total_cmp(&b.value)));
    }
    costs.sort_by(|a, b| b.value.total_cmp(&a.value));
    costs
}

/// What the drawings need of a boat.
#[must_use]
pub fn shape(boat: &Boat, controls: Controls, waterline: f64) -> BoatShape {
    let class = &boat.class;
    let sail = class.sails.first();
    let edges = sail.map_or(SailEdges { luff: 1.0, foot: 1.0, leech: 1.2, head: 0.1, roach: 0.0, sprit: None }, |s| SailEdges {
        luff: s.luff,
        foot: s.foot,
        leech: s.leech,
        head: s.head,
        roach: s.roach,
        sprit: s.sprit.as_ref().map(|sprit| (sprit.heel_z, (sprit.peak[0], sprit.peak[1]))),
    });
    let station = |s: &boat::class::Station| {
        let z = |p: Option<&[f64; 2]>| p.map_or(0.0, |p| p[1]);
        (s.x, z(s.points.first()), z(s.points.last()))
    };
    // A daggerboard slides up, any other board swings.
    let board = controls[Control::Board.index()];
    let (up, angle) = if class.board.lift.is_some() { (-board, 0.0) } else { (0.0, board) };
    BoatShape {
        profile: class.hull.stations.iter().map(station).collect(),
        transom: class.hull.stations.first().map(|s| s.points.iter().map(|p| (p[0], p[1])).collect()).unwrap_or_default(),
        waterline,
        mast_foot: (class.mast.foot[0], class.mast.foot[1]),
        rake: controls[Control::Rake.index()],
        tack_up: class.mast.partner_z - class.mast.foot[1] + class.mast.tack_above_partner,
        sail: edges,
        boom: class.boom.length,
        board: Some(FoilShape {
            top: (class.board.pivot[0], class.board.pivot[2] + up),
            length: class.board.length,
            chord: class.board.chord,
            angle,
        }),
        rudder: FoilShape { top: (class.rudder.x, class.rudder.top_z), length: class.rudder.length, chord: class.rudder.chord, angle: 0.0 },
        car_half_width: match class.lead {
            Lead::Traveller { half_width, .. } => Some(half_width),
            Lead::Block { .. } => None,
        },
    }
}
