//! From solved settings to a sailor's card: which rows, which number inside a band, which words.
//!
//! Inside a band the number printed is the one nearest the boat's own base setup, else the class's all-round setting: a row
//! moves only as far as the band's near edge. Where a setting rests on common practice the row says so.

use boat::balance::Boat;
use boat::class::Lead;
use boat::gauge::Gauge;
use boat::setup::{LegSetup, Sit};
use measure::angle::DEGREE;

use super::card::{CardDocument, CardRow, CardValue, Caution, Hand, Posture, Reading, Readings, WindColumn, halves, quarters};
use crate::drawing::boat::{BoatShape, FoilShape, SailEdges};
use crate::words::{Words, word};

/// From the board's bolt to where its edge is read on the rail, m: the radius of the printed arc.
pub const BOARD_ARC: f64 = 0.15;
/// The all-round setting: a hand's length of gap, car a little out, mast a touch aft. Common practice, no source.
const ALL_ROUND: [(Gauge, f64); 4] =
    [(Gauge::SailBoomGap, 0.16), (Gauge::CarOffset, 0.10), (Gauge::BoardAngle, 0.0), (Gauge::VangLine, 0.015)];

/// One wind of the day, solved for one sailor.
#[derive(Debug)]
pub struct SolvedWind {
    /// Range of the wind, knots at 10 m.
    pub knots: (f64, f64),
    /// The beat, where the model has one.
    pub beat: Option<LegSetup>,
}

/// Who sails what.
#[derive(Debug, Clone)]
pub struct Who {
    /// The sailor's label.
    pub sailor: String,
    /// The boat's.
    pub boat: String,
    /// Hand length, m.
    pub hand: f64,
    /// The boat's base setup, SI by gauge.
    pub base: Vec<(Gauge, f64)>,
}

/// How the card is written.
#[derive(Debug, Clone)]
pub struct Written {
    /// The day, in words.
    pub date: String,
    /// Unit of settings and its length, m.
    pub unit: (&'static str, f64),
    /// A limit set by the club for this sailor, knots of gust; none set is said on the card.
    pub gust_knots: f64,
}

/// The value printed for a setting, SI: the anchor where it lies in the band, else the band's near edge.
#[must_use]
pub fn printed(value: f64, low: f64, high: f64, anchor: Option<f64>) -> f64 {
    anchor.map_or(value, |a| a.clamp(low.min(high), high.max(low)))
}

/// The gauges of a card, those most worth keeping first, with their key in the words.
const ROWS: [(Gauge, &str); 6] = [
    (Gauge::BoomEndDock, "boom_end_dock"),
    (Gauge::SailBoomGap, "sail_boom_gap"),
    (Gauge::CarOffset, "car"),
    (Gauge::DownhaulLine, "downhaul_line"),
    (Gauge::BoardAngle, "board"),
    (Gauge::VangLine, "vang_line"),
];

/// A length on the rail for a board's angle, m: along the printed arc.
fn rail(angle: f64) -> f64 {
    angle * BOARD_ARC
}

/// The anchor of a gauge: the boat's base, else the all-round setting.
fn anchor(gauge: Gauge, who: &Who, boat: &Boat) -> Option<f64> {
    let of = |list: &[(Gauge, f64)]| list.iter().find(|e| e.0 == gauge).map(|e| e.1);
    of(&who.base).or_else(|| of(&ALL_ROUND)).or_else(|| (gauge == Gauge::BoomEndDock).then(|| boat.rig.geometry.boom_end(DEGREE)))
}

/// The card of one sailor for three winds: lighter, as forecast, stronger. `None` where the forecast has no solved beat.
#[must_use]
pub fn card(boat: &Boat, who: &Who, winds: &[SolvedWind; 3], written: &Written, words: &Words) -> Option<CardDocument> {
    let forecast = winds[1].beat.as_ref()?;
    let hand = Hand::from_length(who.hand);
    let hand_words = |key: &str| word(&words.hand, key).to_owned();
    let car_half_width = match boat.class.lead {
        Lead::Traveller { half_width, .. } => Some(half_width),
        Lead::Block { .. } => None,
    };
    let value = |gauge: Gauge, setup: Option<&LegSetup>| -> Option<(f64, f64, f64)> {
        let s = setup?.setting(gauge)?;
        let v = printed(s.value, s.low, s.high, anchor(gauge, who, boat));
        Some((v, s.low, s.high))
    };
    let shown = |gauge: Gauge, si: f64| {
        let length = if gauge == Gauge::BoardAngle { rail(si) } else { si };
        halves(length / written.unit.1)
    };
    let by_hand = |gauge: Gauge, si: f64| match gauge {
        Gauge::CarOffset => {
            quarters(si, car_half_width.unwrap_or(1.0), [&hand_words("car"), &hand_words("car_out"), &hand_words("car_up")])
        }
        Gauge::BoardAngle => hand.thumbs(rail(si), &hand_words("board"), &hand_words("board_back")),
        _ => hand.words(si, &hand_words("length")),
    };
    let mut rows = Vec::new();
    for (gauge, key) in ROWS {
        let Some((now, ..)) = value(gauge, Some(forecast)) else { continue };
        let values = core::array::from_fn(|k| {
            let v = value(gauge, winds[k].beat.as_ref());
            let Some((v, low, high)) = v else {
                return CardValue { text: "–".to_owned(), hand: String::new(), band: None };
            };
            let band = (high > low).then(|| (shown(gauge, low), shown(gauge, high))).filter(|(a, b)| a != b);
            CardValue { text: shown(gauge, v), hand: by_hand(gauge, v), band }
        });
        let base = who.base.iter().find(|e| e.0 == gauge).map(|e| e.1);
        let was = base.filter(|b| shown(gauge, *b) != shown(gauge, now)).map(|b| shown(gauge, b));
        let name = words.gauge.get(key).map_or_else(|| key.to_owned(), |g| g.name.clone());
        let rests = forecast.setting(gauge).map_or(measure::Basis::CommonPractice, |s| s.basis);
        rows.push(CardRow { name, unit: None, values, was, rests });
    }
    let posture = match forecast.sit {
        Sit::Inside => Posture::Inside,
        Sit::OnTheSide => Posture::OnTheSide,
        Sit::FlatOut => Posture::FlatOut,
    };
    let column = |w: &SolvedWind| WindColumn {
        range: format!("{:.0}–{:.0}", w.knots.0, w.knots.1),
        sea: words.sea_look(0.5 * (w.knots.0 + w.knots.1)).to_owned(),
    };
    let reading = |gauge: Gauge| -> Option<Reading> {
        let length = |v: f64| if gauge == Gauge::BoardAngle { rail(v) } else { v };
        let (now, low, high) = value(gauge, Some(forecast))?;
        let other = |k: usize| value(gauge, winds[k].beat.as_ref()).map_or(now, |v| v.0);
        let band = (high > low).then(|| (length(low), length(high)));
        Some(Reading { value: length(now), band, others: (length(other(0)), length(other(2))) })
    };
    let caution = |key: &str, x: &str| {
        words.caution.get(key).map(|c| Caution { fact: c.fact.replace("{x}", x), deed: c.deed.clone(), who: c.who.clone() })
    };
    // No club has told this program its limits: the card says so, and who decides.
    let cautions = caution("no_limit", &format!("{:.0} knots", written.gust_knots)).into_iter().collect();
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
        over_limit: None,
        cautions,
        protocol: word(&words.card, "protocol").to_owned(),
        tape_from: word(&words.card, "tape_from").replace("{x}", "transom top, rudder, boom, pen line"),
        // What a slip costs is printed once its doubt is known; a bare point is printed nowhere.
        costs: Vec::new(),
        before_windward: word(&words.card, "windward_deed").to_owned(),
        around_leeward: word(&words.card, "leeward_deed").to_owned(),
        hand,
        shape: shape(boat, forecast),
        readings: Readings {
            boom_end: reading(Gauge::BoomEndDock),
            car: car_half_width.and_then(|_| reading(Gauge::CarOffset)),
            sail_boom_gap: reading(Gauge::SailBoomGap),
            board: reading(Gauge::BoardAngle),
        },
    })
}

/// What the drawings need of a boat.
fn shape(boat: &Boat, setup: &LegSetup) -> BoatShape {
    let class = &boat.class;
    let rake = setup.mean().controls[boat::balance::Control::Rake.index()];
    let sail = class.sails.first();
    let edges = sail.map_or(SailEdges { luff: 1.0, foot: 1.0, leech: 1.2, head: 0.1, roach: 0.0 }, |s| SailEdges {
        luff: s.luff,
        foot: s.foot,
        leech: s.leech,
        head: s.head,
        roach: s.roach,
    });
    let station = |s: &boat::class::Station| {
        let z = |p: Option<&[f64; 2]>| p.map_or(0.0, |p| p[1]);
        (s.x, z(s.points.first()), z(s.points.last()))
    };
    BoatShape {
        profile: class.hull.stations.iter().map(station).collect(),
        transom: class.hull.stations.first().map(|s| s.points.iter().map(|p| (p[0], p[1])).collect()).unwrap_or_default(),
        waterline: setup.mean().whole.afloat.draught,
        mast_foot: (class.mast.foot[0], class.mast.foot[1]),
        rake,
        tack_up: class.mast.partner_z - class.mast.foot[1] + class.mast.tack_above_partner,
        sail: edges,
        boom: class.boom.length,
        board: Some(FoilShape {
            top: (class.board.pivot[0], class.board.pivot[2]),
            length: class.board.length,
            chord: class.board.chord,
            angle: setup.setting(Gauge::BoardAngle).map_or(0.0, |s| s.value),
        }),
        rudder: FoilShape { top: (class.rudder.x, class.rudder.top_z), length: class.rudder.length, chord: class.rudder.chord, angle: 0.0 },
        car_half_width: match class.lead {
            Lead::Traveller { half_width, .. } => Some(half_width),
            Lead::Block { .. } => None,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A row moves only when its old value has left the new band, and then no further than the near edge.
    #[test]
    fn inside_the_band_nothing_moves() {
        assert_eq!(printed(0.30, 0.25, 0.32, Some(0.28)), 0.28);
        assert_eq!(printed(0.30, 0.25, 0.32, Some(0.16)), 0.25);
        assert_eq!(printed(0.30, 0.25, 0.32, Some(0.40)), 0.32);
        assert_eq!(printed(0.30, 0.25, 0.32, None), 0.30);
    }

    /// Wind going up and down again in small steps: what was printed last time is the anchor of the next.
    #[test]
    fn wind_up_and_down_again_does_not_make_a_row_jump_to_and_fro() {
        let band = |wind: f64| (0.10 + 0.01 * wind, 0.16 + 0.01 * wind);
        let mut at = 0.16;
        let mut moves = Vec::new();
        for k in (0..20).chain((0..20).rev()) {
            let (low, high) = band(0.25 * f64::from(k));
            let next = printed(0.5 * (low + high), low, high, Some(at));
            moves.push(next - at);
            assert!(at < low || at > high || next == at);
            at = next;
        }
        let turns = moves.iter().filter(|m| m.abs() > 1e-12).collect::<Vec<_>>().windows(2).filter(|w| w[0] * w[1] < 0.0).count();
        assert!(turns <= 1, "{turns}");
    }
}
