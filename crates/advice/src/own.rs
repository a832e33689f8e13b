//! How one boat is set up, and which number a card prints for a gauge.
//!
//! The model's band of today says between which values nothing that matters is lost. Inside it the number printed is the one
//! nearest to where the boat's pen line stands now (`rigged.GAUGE` of the squad file), else to her base setup (`base.GAUGE`), else
//! to the class's all-round setting. So a row moves only when its old value has left the new band, and then no further than the
//! band's near edge; a wind that goes up and down again moves it once and then leaves it.
//!
//! A base setup is what the coach trusts on that boat, and boats are not the model's. It is read as her best in the all-round wind,
//! [`ALL_ROUND_KNOTS`]: today's best and band are then the base plus what the model says is different between the two winds, kept
//! within what the gauge can reach. A base setup that is all the model knows of a boat thus wins over the model in that wind.
//!
//! Where the two tacks differ a setting must serve both: the band is what both bands share. Where they share nothing it is the edge
//! of the slower tack's band that lies nearer to the other.
//!
//! Without a solved band one step of the gauge either way passes, as on the dock round.

use boat::balance::Boat;
use boat::chart::Cell;
use boat::gauge::Gauge;
use boat::setup::Setting;
use measure::angle::DEGREE;

use crate::dock::Band;

/// The wind a base setup stands for, knots at 10 m: neither light nor strong. Assumed.
pub const ALL_ROUND_KNOTS: f64 = 10.0;

/// The all-round setting: a hand's length of gap, car a little out, board straight down. Common practice, no source.
const ALL_ROUND: [(Gauge, f64); 4] =
    [(Gauge::SailBoomGap, 0.16), (Gauge::CarOffset, 0.10), (Gauge::BoardAngle, 0.0), (Gauge::VangLine, 0.015)];
/// And the mast a touch aft of upright, rad. Common practice, no source.
const ALL_ROUND_RAKE: f64 = DEGREE;

/// Where a gauge may stand today, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Today {
    /// The model's best.
    pub best: f64,
    /// Lower edge of what makes no difference.
    pub low: f64,
    /// Upper edge.
    pub high: f64,
    /// Whether the edges were solved; else they are one step either way.
    pub known: bool,
    /// False where no value of the gauge makes a difference.
    pub matters: bool,
}

impl Today {
    /// By one solved leg.
    #[must_use]
    pub fn of(setting: &Setting) -> Self {
        let band = Band::of(setting);
        Self { best: setting.value, low: band.low, high: band.high, known: band.solved, matters: setting.matters }
    }

    /// One setting for both tacks.
    #[must_use]
    pub fn on_both(slower: Self, other: Self) -> Self {
        let (low, high) = (slower.low.max(other.low), slower.high.min(other.high));
        let (low, high) = match (low <= high, slower.high < other.low) {
            (true, _) => (low, high),
            (false, true) => (slower.high, slower.high),
            (false, false) => (slower.low, slower.low),
        };
        let known = slower.known && other.known;
        Self { best: slower.best.max(low).min(high), low, high, known, matters: slower.matters || other.matters }
    }

    /// All of it moved, and kept within reach.
    #[must_use]
    pub fn moved(self, by: f64, reach: (f64, f64)) -> Self {
        let kept = |v: f64| (v + by).max(reach.0).min(reach.1);
        Self { best: kept(self.best), low: kept(self.low), high: kept(self.high), ..self }
    }

    /// The value printed: the anchor where it lies in the band, else the band's near edge; the best without an anchor.
    #[must_use]
    pub fn printed(&self, anchor: Option<f64>) -> f64 {
        anchor.map_or(self.best, |a| a.max(self.low).min(self.high))
    }
}

/// What is known of how one boat is set up, SI by gauge.
#[derive(Debug, Clone, Default)]
pub struct OwnSetup {
    /// Where her pen lines stand now.
    pub rigged: Vec<(Gauge, f64)>,
    /// What her coach trusts.
    pub base: Vec<(Gauge, f64)>,
    /// Her sailor's beat in the all-round wind, where she has a base setup.
    pub all_round: Option<Cell>,
}

fn of(list: &[(Gauge, f64)], gauge: Gauge) -> Option<f64> {
    list.iter().find(|e| e.0 == gauge).map(|e| e.1)
}

impl OwnSetup {
    /// What a gauge of hers stands at, or stood at when the coach was content.
    #[must_use]
    pub fn last(&self, gauge: Gauge) -> Option<f64> {
        of(&self.rigged, gauge).or_else(|| of(&self.base, gauge))
    }

    /// What a printed number stays near to.
    #[must_use]
    pub fn anchor(&self, gauge: Gauge, boat: &Boat) -> Option<f64> {
        let mast = || (gauge == Gauge::BoomEndDock).then(|| boat.rig.geometry.boom_end(ALL_ROUND_RAKE));
        self.last(gauge).or_else(|| of(&ALL_ROUND, gauge)).or_else(mast)
    }

    /// Where a gauge of hers may stand in a wind solved on one tack or both; `None` where the class or the wind has no answer.
    #[must_use]
    pub fn today(&self, gauge: Gauge, beats: &[&Cell], boat: &Boat) -> Option<Today> {
        let mut beats = beats.to_vec();
        beats.sort_by(|a, b| a.made_good.total_cmp(&b.made_good));
        let mut tacks = beats.iter().filter_map(|beat| beat.setting(gauge)).map(Today::of);
        let first = tacks.next()?;
        let today = tacks.fold(first, Today::on_both);
        let by = self.shift(gauge);
        Some(if by == 0.0 { today } else { today.moved(by, boat.reach(gauge).unwrap_or((f64::NEG_INFINITY, f64::INFINITY))) })
    }

    /// How far a gauge of hers stands from the model's in the all-round wind, by her base setup, SI; 0 where that is not known.
    #[must_use]
    pub fn shift(&self, gauge: Gauge) -> f64 {
        let best = self.all_round.as_ref().and_then(|beat| beat.setting(gauge));
        of(&self.base, gauge).zip(best).map_or(0.0, |(base, best)| base - best.value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn today(low: f64, best: f64, high: f64) -> Today {
        Today { best, low, high, known: true, matters: true }
    }

    /// A row moves only when its old value has left the new band, and then no further than the near edge.
    #[test]
    fn inside_the_band_nothing_moves() {
        let band = today(0.25, 0.30, 0.32);
        assert_eq!(band.printed(Some(0.28)), 0.28);
        assert_eq!(band.printed(Some(0.16)), 0.25);
        assert_eq!(band.printed(Some(0.40)), 0.32);
        assert_eq!(band.printed(None), 0.30);
    }

    #[test]
    fn a_setting_serves_both_tacks() {
        let (port, starboard) = (today(0.10, 0.12, 0.20), today(0.15, 0.25, 0.30));
        assert_eq!(Today::on_both(port, starboard), today(0.15, 0.15, 0.20));
        // Nothing shared: the slower tack's edge that is nearer to the other.
        let apart = today(0.22, 0.25, 0.30);
        assert_eq!(Today::on_both(port, apart), today(0.20, 0.20, 0.20));
        assert_eq!(Today::on_both(apart, port), today(0.22, 0.22, 0.22));
    }

    #[test]
    fn a_base_setup_moves_the_band_within_reach() {
        let band = today(0.10, 0.12, 0.20).moved(0.05, (0.0, 0.22));
        assert!((band.low - 0.15).abs() < 1e-12 && (band.best - 0.17).abs() < 1e-12);
        assert_eq!(band.high, 0.22);
    }

    /// What was printed wind by wind, each nearest to the one before; and that each step keeps the rule.
    fn sailed(bands: &[Today], from: f64) -> Vec<f64> {
        let mut at = from;
        let mut seen = Vec::new();
        for band in bands {
            let next = band.printed(Some(at));
            let inside = (band.low..=band.high).contains(&at);
            let edge = if at < band.low { band.low } else { band.high };
            assert_eq!(next, if inside { at } else { edge });
            at = next;
            seen.push(at);
        }
        seen
    }

    /// The bands of one sailor in the pram as the model solves them, 6 to 14 knots by half a knot.
    fn solved() -> Vec<(Gauge, Vec<Today>)> {
        use boat::balance::{Conditions, Tack};
        use boat::class::Class;
        use boat::constants::Constants;
        use boat::crew::{Sailor, Skill};
        use boat::setup::{Leg, Request};
        use measure::fluid::{Water, air};
        use measure::quantity::KNOT;
        use measure::{Length, Speed, Temperature, WindLaw};
        use rayon::prelude::*;
        let mild = Temperature::celsius(15.0);
        let boat = Boat::new(&Class::pram(), 0, Water::Sea.at(mild), Constants::standard());
        let sailor = Sailor { mass: 45.0, stature: 1.55, skill: Skill::Races };
        let beats: Vec<Cell> = (12..=28)
            .into_par_iter()
            .map(|halves| {
                let wind = WindLaw::Open.profile(Speed::metres_per_second(0.5 * f64::from(halves) * KNOT), Length::metres(10.0));
                let conditions = Conditions { wind, air: air(mild), chop: 0.0, tack: Tack::Starboard };
                let request = Request { boat: &boat, sailor, conditions, gusts: 1.3, reach: None, bands: true };
                Cell::of(&request.leg(Leg::Beat, 0.0).unwrap(), wind.at_meter)
            })
            .collect();
        [Gauge::BoomEndDock, Gauge::SailBoomGap, Gauge::CarOffset, Gauge::DownhaulLine, Gauge::BoardAngle, Gauge::VangLine]
            .map(|gauge| (gauge, beats.iter().map(|beat| OwnSetup::default().today(gauge, &[beat], &boat).unwrap()).collect()))
            .to_vec()
    }

    /// On the model's own bands: each step keeps the rule, and a wind that goes to and fro by half a knot moves a row at most once
    /// more after it has come back.
    #[test]
    fn wind_to_and_fro_does_not_make_a_row_jump_to_and_fro() {
        for (gauge, bands) in solved() {
            let reach = bands.iter().fold((f64::MAX, f64::MIN), |(low, high), b| (low.min(b.low), high.max(b.high)));
            for start in [reach.0, 0.5 * (reach.0 + reach.1), reach.1] {
                let up_and_down: Vec<Today> = bands.iter().chain(bands.iter().rev()).copied().collect();
                let there = sailed(&up_and_down, start);
                // A second time round ends where the first did, by the same moves: nothing creeps.
                let again = sailed(&up_and_down, there[there.len() - 1]);
                assert_eq!(again.last(), there.last(), "{gauge:?} from {start}");
                for (pair, at) in bands.windows(2).zip(&there) {
                    let to_and_fro: Vec<Today> = pair.iter().cycle().take(8).copied().collect();
                    let seen = sailed(&to_and_fro, *at);
                    let moves = seen.windows(2).filter(|two| two[0] != two[1]).count();
                    assert!(moves <= 1, "{gauge:?} from {at}: {seen:?} in {pair:?}");
                }
            }
        }
    }
}
