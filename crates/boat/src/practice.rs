//! What common practice gives: the all-round setting a search starts from and is pulled to, and the bounds within which the trade
//! sets a control where the solved model would go further (`docs/rules.md`, T2 and T19). Every number here is common practice
//! without a source unless it says otherwise.

use crate::balance::{CONTROLS, Control, Controls};
use crate::crew::{Sailor, Skill};
use crate::optimum::{Choice, Trimmed};
use crate::setup::{Leg, REACHES, Request, drawing};
use measure::angle::DEGREE;

/// Foot gap of the all-round setting: a hand's length, m, on a sail with [`FOOT`].
const ALL_ROUND_GAP: f64 = 0.16;
/// The most the trade leaves in the winds of a hand's length, m.
const GAP_MOST: f64 = 0.19;
/// The most it leaves in a strong wind: a tight outhaul, m.
const GAP_MOST_STRONG: f64 = 0.12;
/// Up to which wind the all-round gap holds, and from which the outhaul is tight, m/s: the winds of rule T19.
const ALL_ROUND_TO: f64 = 6.0;
const TIGHT_FROM: f64 = 10.0;
/// Whose winds those are: mass, kg. Assumed; others' go by the root of what they can lean with.
const MIDDLE_MASS: f64 = 45.0;
/// The foot of a sail of 3.3 to 3.6 m2, m; gaps of others go by their foot. Assumed.
const FOOT: f64 = 1.95;
/// The least of a traveller's half width that is not the centreline: that of rule T2.
const CAR_LEAST: f64 = 0.10;
/// So near a bound, in the search's units, a setting stands at it.
const AT_BOUND: f64 = 0.01;
/// Below this wind at 2 m a boat drifts and is heeled a little to leeward, m/s.
const DRIFTING: f64 = 2.0;
/// Above this no windward heel on a run, m/s.
const RUN_FLAT_FROM: f64 = 5.5;
/// Above this half the board stays down on a run, m/s.
const RUN_BOARD_DOWN_FROM: f64 = 6.5;
/// Most that a sprit is made to push by its line, N. Assumed: what a child's hand pulls, through a few parts of line.
pub(crate) const SPRIT_MOST: f64 = 600.0;
/// A sprit's push per squared wind at 2 m with which a search of nobody's starts, N s2/m2. Assumed.
const SPRIT_BY_WIND: f64 = 10.0;
/// Below this the boom wants a preventer on a run, m/s.
const PREVENTER_BELOW: f64 = 3.0;

/// Heel given by common practice (no source), rad: flat; a little to leeward when drifting; to windward on a run in light air, by
/// skill.
pub(crate) fn usual_heel(leg: Leg, at_meter: f64, skill: Skill) -> f64 {
    match leg {
        Leg::Beat | Leg::Reach if at_meter < DRIFTING => 5.0 * DEGREE,
        Leg::Beat | Leg::Reach => 0.0,
        Leg::Run => {
            let most = match skill {
                Skill::FirstSeason => 0.0,
                Skill::SailsACourse => 4.0,
                Skill::Races | Skill::RacesInAnyWind => 8.0,
            };
            -most * DEGREE * ((RUN_FLAT_FROM - at_meter) / 2.5).clamp(0.0, 1.0)
        }
    }
}

/// Whether a preventer holds the boom out.
pub(crate) fn preventer(leg: Leg, at_meter: f64) -> bool {
    leg == Leg::Run && at_meter < PREVENTER_BELOW
}

impl Request<'_> {
    /// The bounds the trade sets to a control where the model would go further, SI. On a beat the gap is a hand's length at most, less
    /// the more wind there is for what the sailor can lean with, and the car does not stand at the centreline.
    pub(crate) fn bounds_of_practice(&self, control: Control, leg: Leg) -> (f64, f64) {
        let open = (f64::NEG_INFINITY, f64::INFINITY);
        match (leg, control) {
            (Leg::Beat, Control::Gap) => {
                let leans = |sailor: &Sailor| sailor.mass * sailor.sustained_reach(&self.boat.class, &self.boat.constants);
                let middle = Sailor::of(MIDDLE_MASS, self.sailor.skill);
                let wind = self.conditions.wind.at_meter * (leans(&middle) / leans(&self.sailor).max(1.0)).sqrt();
                let tight = ((wind - ALL_ROUND_TO) / (TIGHT_FROM - ALL_ROUND_TO)).clamp(0.0, 1.0);
                (f64::NEG_INFINITY, (GAP_MOST + tight * (GAP_MOST_STRONG - GAP_MOST)) * self.by_foot())
            }
            (Leg::Beat, Control::Car) => (CAR_LEAST * self.car_most(), f64::INFINITY),
            _ => open,
        }
    }

    /// Whether a setting stands at a bound of the trade's: the model alone would go on.
    pub(crate) fn held_by_practice(&self, control: Control, leg: Leg, at: &Trimmed) -> bool {
        let value = at.controls[control.index()];
        let (least, most) = self.bounds_of_practice(control, leg);
        let near = AT_BOUND * Choice::scale(control);
        value < least + near || value > most - near
    }

    /// A board raised as far as one that swings by an angle (rad): by less where it cannot; in metres where it slides.
    fn raised(&self, angle: f64) -> f64 {
        let board = &self.boat.class.board;
        board.lift.map_or(angle.min(board.raised), |lift| (board.length * (1.0 - angle.cos())).min(lift))
    }

    fn by_foot(&self) -> f64 {
        self.boat.rig.geometry.foot / FOOT
    }

    /// The usual setting of a leg by common practice: where a search starts, and what it is given.
    #[must_use]
    pub fn usual(&self, leg: Leg, rake: f64) -> Controls {
        let class = &self.boat.class;
        let wind = self.conditions.wind.at_meter;
        let heel = usual_heel(leg, wind, self.sailor.skill);
        let middle = 0.5 * (class.sailor.aft + class.sailor.forward);
        let mut p = [0.0; CONTROLS];
        let mut set = |c: Control, v: f64| p[c.index()] = v;
        set(Control::Heel, heel);
        set(Control::Rake, rake);
        let (_, gap_most) = self.bounds_of_practice(Control::Gap, leg);
        if self.boat.rig.sprit.is_some() {
            set(Control::Sprit, (SPRIT_BY_WIND * wind * wind).clamp(30.0, SPRIT_MOST));
        }
        set(Control::Gap, (ALL_ROUND_GAP * self.by_foot()).min(gap_most));
        match leg {
            Leg::Beat => {
                set(Control::WindAngle, 48.0 * DEGREE);
                set(Control::Boom, if wind > 7.0 { 12.0 } else { 10.0 } * DEGREE);
                set(Control::Car, (0.10f64).min(self.car_most()));
                set(Control::Vang, 60f64.min(self.vang_most()));
                set(Control::Downhaul, 5.0 * wind);
                set(Control::Board, (3.0 * DEGREE).min(class.board.forward));
                set(Control::Seat, (middle - 0.15).clamp(class.sailor.aft, class.sailor.forward));
            }
            Leg::Reach => {
                let course = self.reach.unwrap_or(REACHES[0]);
                set(Control::WindAngle, course);
                set(Control::Boom, drawing(course));
                // Close to the wind as on a beat; the further off, the more car and the less board.
                let off = ((course - 60.0 * DEGREE) / (30.0 * DEGREE)).clamp(0.0, 2.0);
                set(Control::Car, (0.10 + 0.11 * off).min(self.car_most()));
                set(Control::Vang, 80f64.min(self.vang_most()));
                set(Control::Downhaul, 2.0 * wind);
                set(Control::Board, -self.raised(40.0 * DEGREE * off));
                set(Control::Seat, (middle - 0.15).clamp(class.sailor.aft, class.sailor.forward));
            }
            Leg::Run => {
                let up = match self.sailor.skill {
                    Skill::FirstSeason | Skill::SailsACourse => 45.0,
                    Skill::Races | Skill::RacesInAnyWind => 75.0,
                };
                // In a breeze some board stays down: it damps the roll and holds the course.
                let up = if wind > RUN_BOARD_DOWN_FROM { 45f64.min(up) } else { up };
                set(Control::WindAngle, 172.0 * DEGREE);
                set(Control::Boom, 72.0 * DEGREE);
                set(Control::Car, 0.5 * self.car_most());
                set(Control::Vang, 80f64.min(self.vang_most()));
                set(Control::Board, -self.raised(up * DEGREE));
                set(Control::Seat, (middle - 0.1).clamp(class.sailor.aft, class.sailor.forward));
            }
        }
        p
    }
}
