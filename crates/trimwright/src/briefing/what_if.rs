//! What if: one boat, one sailor, one wind, one tack, and any setting moved. What she does then, how she looks, what it costs.
//!
//! Moving a setting holds every other, and the sailor trims sheet, course and how far out anew
//! ([`boat::setup::Request::trimmed`]); unless the coach says to touch nothing else. What it costs is told in the mean
//! wind, against the best setup trimmed there: metres behind when the best has made 500 m good.

use std::collections::BTreeMap;

use advice::dock::{Band, Tape, Verdict, judged};
use advice::rake::Notches;
use boat::balance::{Boat, Case, Control, Controls, Status, Tack};
use boat::crew::Sailor;
use boat::gauge::{Gauge, GaugeUnit};
use boat::optimum::Trimmed;
use boat::sail::{Looks, SailState};
use boat::setup::{COST_LEG, Leg, LegSetup, Request, Setting, Sit};
use measure::Outcome;
use measure::angle::DEGREE;
use measure::quantity::KNOT;

use crate::day::Day;

/// Gauges a hand may move here, in the order of a dock round; what the class lacks is left out.
pub const MOVED: [Gauge; 11] = [
    Gauge::BoomEndDock,
    Gauge::SailBoomGap,
    Gauge::CarOffset,
    Gauge::DownhaulLine,
    Gauge::VangLine,
    Gauge::SpritLine,
    Gauge::BoardAngle,
    Gauge::BoardUp,
    Gauge::SeatPosition,
    Gauge::Heel,
    Gauge::BoomAngle,
];

/// A breach of a limit up to this, in its unit, is kept.
const KEPT: f64 = 0.02;
/// Strides in which a state that one stride misses is led to.
const STRIDES: u32 = 5;
/// Points of a sweep.
const SWEPT: u32 = 17;

/// Who, in what, in which wind.
#[derive(Debug)]
pub struct Place<'a> {
    /// The boat.
    pub boat: &'a Boat,
    /// The sailor.
    pub sailor: Sailor,
    /// The wind and water.
    pub day: Day,
    /// Which leg: a beat or a run.
    pub leg: Leg,
    /// Which tack.
    pub tack: Tack,
}

/// Settings moved by hand, SI by gauge.
pub type Moved = BTreeMap<Gauge, f64>;

/// The best setup of a place, and its trim in the mean wind.
#[derive(Debug)]
pub struct Best {
    /// The setup with its bands.
    pub setup: LegSetup,
    /// Trimmed in the mean wind.
    pub mean: Trimmed,
}

/// What settings do.
#[derive(Debug)]
pub struct Answer {
    /// The state.
    pub at: Trimmed,
    /// Speed, m/s.
    pub speed: f64,
    /// Course off the wind, rad.
    pub angle: f64,
    /// Metres behind the best of 500 m; below zero, ahead.
    pub behind: f64,
    /// How far out the sailor's centre must be and can stay, m.
    pub hike: (f64, f64),
    /// How that looks.
    pub sit: Sit,
    /// Heel, rad, to leeward positive.
    pub heel: f64,
    /// What the eye checks: name and words.
    pub looks: Vec<(&'static str, String)>,
    /// What is wrong and what to move, the costliest first.
    pub advice: Vec<String>,
}

impl Place<'_> {
    /// The solver's question here.
    #[must_use]
    pub fn request(&self, bands: bool) -> Request<'_> {
        let conditions = self.day.conditions(1.0, self.tack);
        Request { boat: self.boat, sailor: self.sailor, conditions, gusts: self.day.gusts, reach: None, bands }
    }

    /// The best setup.
    ///
    /// # Errors
    /// Why there is none in this wind.
    pub fn best(&self) -> Result<Best, Status> {
        let request = self.request(true);
        let rake = match self.leg {
            Leg::Run => request.leg(Leg::Beat, 0.0)?.mean().controls[Control::Rake.index()],
            _ => 0.0,
        };
        let setup = request.leg(self.leg, rake)?;
        let (mean, _) = request.trimmed(self.leg, &setup.mean().controls, None)?;
        Ok(Best { setup, mean })
    }

    /// Gauges that may be moved on this boat.
    pub fn gauges(&self) -> impl Iterator<Item = Gauge> {
        MOVED.into_iter().filter(|g| self.boat.class.gauges.iter().any(|d| d.gauge == *g) && self.boat.reach(*g).is_some())
    }

    /// Today's setting of a gauge in the best setup.
    #[must_use]
    pub fn setting<'b>(&self, best: &'b Best, gauge: Gauge) -> Option<&'b Setting> {
        best.setup.setting(gauge)
    }

    /// What moved settings do, and `near` them, where a state is known. The tape is what distances are told in.
    ///
    /// # Errors
    /// In words, why not.
    pub fn answer(&self, best: &Best, moved: &Moved, touch_nothing: bool, tape: Tape, near: Option<&Trimmed>) -> Result<Answer, String> {
        let held = self.controls(best, moved)?;
        // The boom is trimmed anew unless a hand holds it.
        let at = self.state(&held, best, touch_nothing || moved.contains_key(&Gauge::BoomAngle), near)?;
        Ok(self.told(best, at, moved, tape))
    }

    fn controls(&self, best: &Best, moved: &Moved) -> Result<Controls, String> {
        let mut controls = best.mean.controls;
        let readings: Vec<_> = moved.iter().map(|(g, v)| (*g, *v)).collect();
        self.boat.set(&mut controls, &readings).map_err(|error| error.to_string())?;
        Ok(controls)
    }

    fn state(&self, held: &Controls, best: &Best, hold_trim: bool, near: Option<&Trimmed>) -> Result<Trimmed, String> {
        let request = self.request(false);
        if hold_trim {
            let case = Case { boat: self.boat, sailor: self.sailor, conditions: request.conditions };
            return match case.solve(held, Some(&best.mean.state)) {
                Outcome::Solved((state, whole)) => Ok(Trimmed { controls: *held, state, whole }),
                Outcome::Status(status) => Err(status.words().to_owned()),
            };
        }
        let in_one = [near, Some(&best.mean)].into_iter().flatten().find_map(|from| request.trimmed(self.leg, held, Some(from)).ok());
        match in_one {
            Some(found) => Ok(found.0),
            // What is not found in one stride is led to from the best in several.
            None => {
                let mut at = best.mean.clone();
                for k in 1..=STRIDES {
                    let share = f64::from(k) / f64::from(STRIDES);
                    let between = core::array::from_fn(|i| best.mean.controls[i] + share * (held[i] - best.mean.controls[i]));
                    at = request.trimmed(self.leg, &between, Some(&at)).map_err(|status| status.words().to_owned())?.0;
                }
                Ok(at)
            }
        }
    }

    /// Speed of the leg's aim.
    fn aim(&self, at: &Trimmed) -> f64 {
        if self.leg == Leg::Run { -at.whole.made_good } else { at.whole.made_good }
    }

    fn told(&self, best: &Best, at: Trimmed, moved: &Moved, tape: Tape) -> Answer {
        let whole = &at.whole;
        let limit = best.setup.limits.hike;
        let state = SailState::from_row(&core::array::from_fn(|k| at.state.0[k]));
        let looks = Looks::of(&state, &whole.sail, at.controls[Control::Sprit.index()]);
        let tiller = whole.rudder.tiller_load(&self.boat.constants);
        let strength = match tiller.abs() {
            t if t < 5.0 => "light",
            t if t < 15.0 => "firm",
            _ => "heavy",
        };
        let way = if tiller.abs() < 1.0 { "neutral" } else { if tiller > 0.0 { "away from you" } else { "toward you" } };
        let transom = if whole.afloat.transom_depth > 0.0 { "dragging" } else { "clear" };
        let degrees = (at.controls[Control::Heel.index()] / DEGREE).round();
        let heel = match degrees {
            d if d > 0.5 => format!("{d:.0}° to leeward"),
            d if d < -0.5 => format!("{:.0}° to windward", -d),
            _ => "flat".to_owned(),
        };
        let looks = vec![
            ("Luff", looks.luff.words().to_owned()),
            ("Top batten", looks.batten.words().to_owned()),
            ("Transom", transom.to_owned()),
            ("Heel", heel),
            ("Pull on the tiller", format!("{strength}, {way}")),
        ];
        let best_aim = self.aim(&best.mean).max(0.01);
        let behind = COST_LEG * (1.0 - self.aim(&at) / best_aim);
        Answer {
            speed: whole.speed,
            angle: at.controls[Control::WindAngle.index()],
            behind,
            hike: (whole.hike, limit),
            sit: Sit::of(whole.hike, limit),
            heel: at.controls[Control::Heel.index()],
            looks,
            advice: self.advice(best, moved, tape, whole.hike > limit * (1.0 + KEPT)),
            at,
        }
    }

    /// Moved settings that left their bands, in words, the costliest first.
    fn advice(&self, best: &Best, moved: &Moved, tape: Tape, too_far_out: bool) -> Vec<String> {
        let mast = Notches::of_class(self.boat);
        let length = self.boat.class.hull.length;
        let mut found: Vec<(f64, String)> = Vec::new();
        for (&gauge, &value) in moved {
            let Some(setting) = best.setup.setting(gauge) else { continue };
            let Ok(reading) = judged(value, Band::of(setting), 0.0, &mast) else { continue };
            if reading.verdict != Verdict::Inside && setting.matters {
                // What it costs is told by the solved state, not by the dock's square law.
                let words = reading.words(length, tape);
                let deed = words.split(". ").next().unwrap_or_default().to_owned();
                found.push((reading.cost.unwrap_or(0.0), deed));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut advice: Vec<String> = found.into_iter().map(|f| f.1).collect();
        if too_far_out {
            advice.insert(0, "further out than this sailor can stay for minutes: she would heel, or the sheet be eased".to_owned());
        }
        advice
    }

    /// What one gauge costs, all else as moved: readings (SI) with metres behind, the trim found anew for each.
    #[must_use]
    pub fn swept(&self, best: &Best, moved: &Moved, gauge: Gauge) -> Vec<(f64, f64)> {
        let Some((low, high)) = self.range(best, gauge) else { return Vec::new() };
        let mut moved = moved.clone();
        let mut points = Vec::new();
        let mut near = None;
        for k in 0..SWEPT {
            let value = low + (high - low) * f64::from(k) / f64::from(SWEPT - 1);
            moved.insert(gauge, value);
            if let Ok(answer) = self.answer(best, &moved, false, Tape::METRIC, near.as_ref())
                && answer.hike.0 <= answer.hike.1 + 0.1
            {
                points.push((value, answer.behind));
                near = Some(answer.at);
            }
        }
        points
    }

    /// From where to where a slider of a gauge goes, SI: what can be reached, or twice the band's width about it.
    #[must_use]
    pub fn range(&self, best: &Best, gauge: Gauge) -> Option<(f64, f64)> {
        let (low, high) = self.boat.reach(gauge)?;
        let setting = best.setup.setting(gauge)?;
        let step = setting.step.max(1e-6);
        let (least, most) = match gauge {
            Gauge::BoomEndDock => (setting.value - 0.25, setting.value + 0.25),
            Gauge::CarOffset => (0.0, high),
            Gauge::Heel => (-15.0 * DEGREE, 20.0 * DEGREE),
            Gauge::BoomAngle => (0.0, if self.leg == Leg::Run { 100.0 } else { 50.0 } * DEGREE),
            _ => (low, high),
        };
        // Whole steps, so that every value of the slider can be set by hand.
        let (least, most) = (least.max(low), most.min(high));
        Some(((least / step).ceil() * step, (most / step).floor() * step)).filter(|(a, b)| b > a)
    }
}

/// A reading as it is written: centimetres to the half, degrees whole.
#[must_use]
pub fn written(gauge: Gauge, si: f64) -> f64 {
    let shown = si / gauge.unit_si();
    let rounded = match gauge.unit() {
        GaugeUnit::Degrees | GaugeUnit::OnOff => shown.round(),
        GaugeUnit::Centimetres => (shown * 2.0).round() / 2.0,
    };
    // No minus before a nought.
    rounded + 0.0
}

/// A speed in knots, for the eye.
#[must_use]
pub fn knots(speed: f64) -> f64 {
    speed / KNOT
}
