//! Gauges: what a child can measure with a tape or a hand that stands for a setting.

use serde::{Deserialize, Serialize};

/// A gauge of the fixed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gauge {
    /// Boom end above the transom with the boom on the centreline and the leech slack, m.
    BoomEndDock,
    /// Boom end above the transom with the leech pulled tight, m.
    BoomEndSheeted,
    /// Tape from masthead to transom, m.
    MastTipTape,
    /// Gap between foot and boom at its middle, m.
    SailBoomGap,
    /// Car from the centreline to leeward, m.
    CarOffset,
    /// Mainsheet out from snug, m of rope at the car.
    SheetLine,
    /// Boom off the centreline, rad.
    BoomAngle,
    /// Vang line from snug, m.
    VangLine,
    /// Downhaul line from snug, m.
    DownhaulLine,
    /// Sprit line from snug, m.
    SpritLine,
    /// Preventer on the boom (0 or 1).
    Preventer,
    /// Board from vertical, forward positive, rad.
    BoardAngle,
    /// Board pulled up from right down, of one that slides in its case, m.
    BoardUp,
    /// Sailor's centre forward of the transom, m.
    SeatPosition,
    /// Heel, to leeward positive, rad.
    Heel,
    /// Sailor's centre to windward of the centreline, m.
    HikeOut,
}

/// What a gauge is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GaugeUnit {
    /// Centimetres.
    Centimetres,
    /// Degrees.
    Degrees,
    /// On or off.
    OnOff,
}

impl Gauge {
    /// All of them, in the order a dock round goes.
    pub const ALL: [Self; 16] = [
        Self::BoomEndDock,
        Self::BoomEndSheeted,
        Self::MastTipTape,
        Self::SailBoomGap,
        Self::CarOffset,
        Self::SheetLine,
        Self::BoomAngle,
        Self::VangLine,
        Self::DownhaulLine,
        Self::SpritLine,
        Self::Preventer,
        Self::BoardAngle,
        Self::BoardUp,
        Self::SeatPosition,
        Self::Heel,
        Self::HikeOut,
    ];

    /// Its name in files, commands and JSON.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::BoomEndDock => "boom_end_dock",
            Self::BoomEndSheeted => "boom_end_sheeted",
            Self::MastTipTape => "mast_tip_tape",
            Self::SailBoomGap => "sail_boom_gap",
            Self::CarOffset => "car_offset",
            Self::SheetLine => "sheet_line",
            Self::BoomAngle => "boom_angle",
            Self::VangLine => "vang_line",
            Self::DownhaulLine => "downhaul_line",
            Self::SpritLine => "sprit_line",
            Self::Preventer => "preventer",
            Self::BoardAngle => "board_angle",
            Self::BoardUp => "board_up",
            Self::SeatPosition => "seat_position",
            Self::Heel => "heel",
            Self::HikeOut => "hike_out",
        }
    }

    /// What it is measured in.
    #[must_use]
    pub const fn unit(self) -> GaugeUnit {
        match self {
            Self::BoomAngle | Self::BoardAngle | Self::Heel => GaugeUnit::Degrees,
            Self::Preventer => GaugeUnit::OnOff,
            _ => GaugeUnit::Centimetres,
        }
    }

    /// SI value of one of its units: a centimetre, a degree, or one.
    #[must_use]
    pub const fn unit_si(self) -> f64 {
        match self.unit() {
            GaugeUnit::Centimetres => 0.01,
            GaugeUnit::Degrees => measure::angle::DEGREE,
            GaugeUnit::OnOff => 1.0,
        }
    }

    /// The gauge of that name.
    ///
    /// # Errors
    /// The three nearest names, nearest first.
    pub fn named(name: &str) -> Result<Self, Vec<&'static str>> {
        if let Some(found) = Self::ALL.into_iter().find(|g| g.name() == name) {
            return Ok(found);
        }
        let mut near: Vec<_> = Self::ALL.iter().map(|g| (distance(name, g.name()), g.name())).collect();
        near.sort_unstable();
        Err(near.into_iter().take(3).map(|(_, n)| n).collect())
    }
}

impl GaugeUnit {
    /// The way it is written.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Centimetres => "cm",
            Self::Degrees => "deg",
            Self::OnOff => "on or off",
        }
    }
}

/// How many letters must change (Levenshtein 1966), of the first 40; a name that holds what was typed counts half.
pub(crate) fn distance(typed: &str, name: &str) -> usize {
    let a: Vec<char> = typed.to_lowercase().chars().take(40).collect();
    let b: Vec<char> = name.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut left = i + 1;
        let mut corner = i;
        for (j, y) in b.iter().enumerate() {
            let step = (corner + usize::from(x != y)).min(left + 1).min(row[j + 1] + 1);
            corner = row[j + 1];
            row[j] = left;
            left = step;
        }
        row[b.len()] = left;
    }
    let steps = row[b.len()] * 2;
    let inside = a.len() >= 3 && name.contains(&a.iter().collect::<String>());
    if inside { steps / 2 } else { steps }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_round_trip_and_near_ones_are_offered() {
        for g in Gauge::ALL {
            assert_eq!(Gauge::named(g.name()), Ok(g));
        }
        assert_eq!(Gauge::named("vang").unwrap_err()[0], "vang_line");
        assert_eq!(Gauge::named("boom_angel").unwrap_err()[0], "boom_angle");
        assert_eq!(Gauge::named("").unwrap_err().len(), 3);
    }
}
