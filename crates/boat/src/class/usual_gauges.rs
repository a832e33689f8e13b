//! What a gauge is on an ordinary boat, for class files that leave it out: where the tape starts and ends, how well a child
//! repeats a reading, the smallest step, whether it can be changed afloat and how long that takes.
//!
//! The words are plain; errors, steps and seconds are assumed (a coach's second reading corrects them).

use super::{Class, GaugeDefinition, Lead};
use crate::gauge::Gauge;

/// The usual definition of a gauge.
#[must_use]
pub fn usual_gauge(gauge: Gauge) -> GaugeDefinition {
    const TRANSOM: &str = "top of the transom, on the centreline, straight up";
    let (from, to, repeat_error, step, afloat, seconds) = match gauge {
        Gauge::BoomEndDock => (TRANSOM, "underside of the boom at its end, boom in the middle, leech slack", 1.0, 1.0, false, 120.0),
        Gauge::BoomEndSheeted => {
            (TRANSOM, "underside of the boom at its end, boom in the middle, leech pulled tight", 2.0, 1.0, false, 60.0)
        }
        Gauge::MastTipTape => ("top of the transom, on the centreline", "top of the mast, along a tight tape", 0.5, 1.0, false, 180.0),
        Gauge::SailBoomGap => ("foot of the sail at its middle", "top of the boom, straight down", 1.0, 1.0, true, 20.0),
        Gauge::CarOffset => ("middle of the traveller", "middle of its car, to leeward", 0.5, 1.0, true, 5.0),
        Gauge::SheetLine => (
            "pen line on the mainsheet, made with boom and car in the middle and the sheet just snug",
            "where the sheet comes out of its lowest block",
            3.0,
            5.0,
            true,
            2.0,
        ),
        Gauge::BoomAngle => ("centreline of the boat", "the boom, seen from above", 3.0, 2.0, true, 2.0),
        Gauge::VangLine => ("pen line on the vang's line, made when it is just snug", "its cleat", 0.5, 1.0, true, 8.0),
        Gauge::DownhaulLine => ("pen line on the downhaul, made when it is just snug", "its cleat", 0.5, 1.0, true, 10.0),
        Gauge::SpritLine => ("pen line on the sprit's line, made when it is just snug", "its cleat", 0.5, 1.0, true, 10.0),
        Gauge::Preventer => ("the boom", "a line forward that keeps it out: off or on", 0.0, 1.0, true, 15.0),
        Gauge::BoardAngle => ("straight down from the board's bolt", "middle of the board, tip forward or raised aft", 3.0, 5.0, true, 4.0),
        Gauge::BoardUp => ("top of the board when it is right down", "top of the board as it is set, straight up", 1.0, 5.0, true, 4.0),
        Gauge::SeatPosition => ("inside of the transom", "middle of the sailor's body, along the boat", 5.0, 5.0, true, 2.0),
        Gauge::Heel => ("upright", "the mast, to leeward or to windward", 2.0, 1.0, true, 1.0),
        Gauge::HikeOut => ("centreline of the boat", "middle of the sailor's body, to windward", 5.0, 5.0, true, 1.0),
    };
    let unit = gauge.unit_si();
    GaugeDefinition {
        gauge,
        from: from.to_owned(),
        to: to.to_owned(),
        repeat_error: repeat_error * unit,
        step: step * unit,
        afloat,
        seconds,
    }
}

/// What a class lacks for a gauge, if it lacks it.
#[must_use]
pub fn lacking(gauge: Gauge, class: &Class) -> Option<&'static str> {
    match gauge {
        Gauge::CarOffset if matches!(class.lead, Lead::Block { .. }) => Some("a [traveller]"),
        Gauge::VangLine if class.vang.is_none() => Some("a [vang]"),
        Gauge::DownhaulLine if class.downhaul.is_none() => Some("a [downhaul]"),
        Gauge::SpritLine if class.sails.iter().all(|s| s.sprit.is_none()) => Some("a sail with a sprit"),
        Gauge::BoardAngle if class.board.lift.is_some() => Some("a board that swings"),
        Gauge::BoardUp if class.board.lift.is_none() => Some("a board with lift"),
        _ => None,
    }
}

/// The gauges of a class that lists none: all its equipment allows, save the tape from the masthead, which needs a way up.
#[must_use]
pub fn usual_gauges(class: &Class) -> Vec<GaugeDefinition> {
    let has = |g: &Gauge| *g != Gauge::MastTipTape && lacking(*g, class).is_none();
    Gauge::ALL.into_iter().filter(has).map(usual_gauge).collect()
}
