//! The whole boat in equilibrium: every force built once per part, summed in horizontal axes, brought to zero.
//!
//! One row of 36 unknowns (circulation and twist per strip, leech tension, speed, leeway, rudder, sinkage, trim) against
//! 36 residuals, solved by Newton's method with exact derivatives. Roll is closed by the sailor: how far out the body
//! must be is an output, its limit a constraint of whoever chooses the settings. Heel is given. Where Newton does not settle
//! from a cold start (`root`) she is followed through time (`time`). Not settling is a [`Status`] with its reason, never a NaN.
//!
//! Left out: waves beyond one added drag, gusts in time, current (a boat in moving water feels the wind over that water).

mod mended;
mod root;
mod time;

pub(crate) use mended::Mended;
pub(crate) use root::{CONTRACTION, Effort, TOLERANCE};

use serde::{Deserialize, Serialize};

use crate::class::{BoardKind, Class, Side};
use crate::constants::Constants;
use crate::crew::Sailor;
use crate::foil::{self, FoilAnswer, Motion};
use crate::hull::resistance::{dynamic_trim, sway, windage};
use crate::hull::{Afloat, Drag, HullForm, Resistance, Underway};
use crate::load::Load;
use crate::sail::{self, Guard, Rig, SailAnswer, SailInput, SailState};
use crate::scalar::{Dual, Real, seeded};
use measure::WindProfile;
use measure::fluid::Fluid;
use measure::quantity::GRAVITY;
use nalgebra::{SMatrix, SVector};

/// Which side the wind comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Tack {
    /// Wind from starboard.
    #[default]
    Starboard,
    /// Wind from port.
    Port,
}

/// What a coach chooses for one state, one number each. Order of [`Controls`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Control {
    /// True wind angle to the track, rad.
    WindAngle,
    /// Boom off the centreline, rad, to leeward positive.
    Boom,
    /// Car from the centreline, m, to leeward positive.
    Car,
    /// Sail-boom gap, m.
    Gap,
    /// Vang tension, N.
    Vang,
    /// Downhaul's share of luff tension, N.
    Downhaul,
    /// Mast rake, rad, tip aft positive.
    Rake,
    /// Board from vertical, rad, tip forward positive; of one that slides in its case how far it is drawn up, m, below zero.
    Board,
    /// Sailor's centre from the transom, m.
    Seat,
    /// Heel, rad, to leeward positive.
    Heel,
    /// Mass above the typical hull: water, correctors, kit, kg.
    Ballast,
    /// Push of the sprit along itself, N.
    Sprit,
}

/// Number of controls.
pub const CONTROLS: usize = 12;
/// Number of unknowns.
pub const UNKNOWNS: usize = sail::UNKNOWNS + 5;

impl Control {
    /// All, in order.
    pub const ALL: [Self; CONTROLS] = [
        Self::WindAngle,
        Self::Boom,
        Self::Car,
        Self::Gap,
        Self::Vang,
        Self::Downhaul,
        Self::Rake,
        Self::Board,
        Self::Seat,
        Self::Heel,
        Self::Ballast,
        Self::Sprit,
    ];
    /// Its place in [`Controls`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// One value per [`Control`], SI.
pub type Controls = [f64; CONTROLS];

/// A boat made ready: class, rig and hull with what no setting changes computed once.
#[derive(Debug, Clone)]
pub struct Boat {
    /// Her class.
    pub class: Class,
    /// Which of the class's sails is bent on.
    pub sail: usize,
    /// The sail on its mast.
    pub rig: Rig,
    /// The hull.
    pub form: HullForm,
    /// What moving it through the water costs.
    pub resistance: Resistance,
    /// Water she floats in.
    pub water: Fluid,
    /// Constants of the model.
    pub constants: Constants,
}

impl Boat {
    /// A boat of a class with one of its sails (the first, when there is no such index).
    #[must_use]
    pub fn new(class: &Class, sail: usize, water: Fluid, constants: &Constants) -> Self {
        let (sail, bent) = class.sails.get(sail).map_or((0, &class.sails[0]), |bent| (sail, bent));
        let form = HullForm::of(class, constants);
        Self {
            sail,
            rig: Rig::new(class, bent, constants),
            resistance: Resistance::of(class, &form, constants, water),
            form,
            water,
            class: class.clone(),
            constants: *constants,
        }
    }

    /// The same boat by other constants.
    #[must_use]
    pub fn by(&self, constants: &Constants) -> Self {
        Self::new(&self.class, self.sail, self.water, constants)
    }

    /// Distance of the board from the centreline, to leeward positive, on a tack.
    #[must_use]
    pub fn board_side(&self, tack: Tack) -> f64 {
        let y = self.class.board.pivot[1].abs();
        match (self.class.board.kind, self.class.board.side, tack) {
            (BoardKind::Leeboard, Side::Starboard, Tack::Starboard) | (BoardKind::Leeboard, Side::Port, Tack::Port) => -y,
            (BoardKind::Leeboard, ..) => y,
            (BoardKind::Daggerboard | BoardKind::Centreboard, ..) => 0.0,
        }
    }

    /// Whether the two tacks differ: a single leeboard makes them different boats.
    #[must_use]
    pub fn tacks_differ(&self) -> bool {
        self.class.board.kind == BoardKind::Leeboard && self.class.board.side != Side::Either
    }
}

/// Wind, chop and tack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// True wind over height.
    pub wind: WindProfile,
    /// Air.
    pub air: Fluid,
    /// Significant height of chop, m.
    pub chop: f64,
    /// Tack.
    pub tack: Tack,
}

/// Why there is no state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Nothing blows.
    NoWind,
    /// She goes slower than 0.08 m/s, or backwards.
    NoHeadway,
    /// The rudder cannot hold her on this course.
    CannotHoldCourse,
    /// The iteration did not settle.
    Unsettled,
}

impl Status {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoWind => "no wind",
            Self::NoHeadway => "no headway",
            Self::CannotHoldCourse => "cannot hold a course",
            Self::Unsettled => "not solved",
        }
    }
}

/// The unknowns of one state: warm start of the next one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State(pub Row);

/// The unknowns, or their residuals, in a row.
pub(crate) type Row = SVector<f64, UNKNOWNS>;
/// A Jacobian taken apart.
pub(crate) type Factors = crate::factors::Factors<UNKNOWNS>;

pub(crate) const SPEED: usize = sail::UNKNOWNS;
const LEEWAY: usize = SPEED + 1;
pub(crate) const RUDDER: usize = SPEED + 2;
const SINKAGE: usize = SPEED + 3;
const TRIM: usize = SPEED + 4;

/// Slower than this is no headway, m/s.
const HEADWAY: f64 = 0.08;
/// More rudder than this holds no course, rad (35 degrees, common practice, no source).
const RUDDER_MOST: f64 = 0.61;
/// Force and moment that count as one in the residuals, N and N m.
const UNIT: f64 = 10.0;

/// By which way a state was found, or given up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// From the state near by.
    Start,
    /// From a first guess, counted from 0.
    Guess(usize),
    /// By following her through time from the first guess.
    Time,
    /// From there, by way of a sail that stalls gently.
    Eased,
}

/// Everything about one state.
#[derive(Debug, Clone, Copy)]
pub struct Whole<D> {
    /// How far from agreement, in the order of the unknowns.
    pub residual: [D; UNKNOWNS],
    /// Speed made good to windward (negative on a run), m/s.
    pub made_good: D,
    /// Speed along the track, m/s.
    pub speed: D,
    /// Leeway, rad.
    pub leeway: D,
    /// Rudder, rad, tiller to windward positive.
    pub rudder_angle: D,
    /// How far to windward of the centreline the sailor's centre must be, m.
    pub hike: D,
    /// Trim, rad, bow up.
    pub trim: D,
    /// Mass of everything, kg.
    pub mass: D,
    /// The sail.
    pub sail: SailAnswer<D>,
    /// The hull in the water.
    pub afloat: Afloat<D>,
    /// Height of the transom's leeward corner, the outermost point of its bottom, above the still water, m; negative drags.
    pub leeward_corner: D,
    /// What the water costs.
    pub drag: Drag<D>,
    /// Side force and turning of the hull.
    pub hull_side: Load<D>,
    /// Wind on hull, spars and sailor.
    pub windage: Load<D>,
    /// The board.
    pub board: FoilAnswer<D>,
    /// The rudder.
    pub rudder: FoilAnswer<D>,
}

/// One boat with one sailor in one wind: all that settings do not change.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The boat.
    pub boat: &'a Boat,
    /// The sailor.
    pub sailor: Sailor,
    /// Wind, chop, tack.
    pub conditions: Conditions,
}

/// Everything but the sail, and how it all moves her.
struct Bare<D> {
    leeward_corner: D,
    mass: D,
    afloat: Afloat<D>,
    drag: Drag<D>,
    hull_side: Load<D>,
    windage: Load<D>,
    board: FoilAnswer<D>,
    rudder: FoilAnswer<D>,
    /// All loads but the sail's.
    load: Load<D>,
}

/// What is differentiated of a state.
pub(crate) struct Joined<D> {
    pub(crate) residual: [D; UNKNOWNS],
    pub(crate) hike: D,
    pub(crate) tiller: D,
    pub(crate) sheet_force: D,
    pub(crate) hinge: D,
}

/// How many of the unknowns are the boat's own: those after the sail's.
pub(crate) const OWN: usize = UNKNOWNS - sail::UNKNOWNS;

impl Case<'_> {
    /// Every force at a guess of the unknowns.
    pub fn whole<D: Real>(&self, p: &[D; CONTROLS], x: &[D; UNKNOWNS], guard: Guard) -> Whole<D> {
        let [twa, .., seat, heel, _, _] = *p;
        let own @ [speed, leeway, rudder_angle, _, trim] = core::array::from_fn(|k| x[SPEED + k]);
        let sail = self.sail(p, x, guard);
        let Bare { leeward_corner, mass, afloat, drag, hull_side, windage, board, rudder, load } = self.bare(p, &own);
        let sum = sail.load.and(load);
        Whole {
            residual: self.disagreement(&sail, &sum, mass, seat),
            made_good: speed * twa.cos(),
            speed,
            leeway,
            rudder_angle,
            hike: self.hike(&sum, heel),
            trim,
            mass,
            sail,
            afloat,
            leeward_corner,
            drag,
            hull_side,
            windage,
            board,
            rudder,
        }
    }

    /// The same at less cost where many directions are wanted: what is not sail depends on few things, so it is differentiated in those
    /// (`bare_p`, `bare_own`) and joined to the rest by what they are among all directions (`inputs`).
    pub(crate) fn joined<const N: usize, const FEW: usize>(
        &self,
        p: &[Dual<N>; CONTROLS],
        x: &[Dual<N>; UNKNOWNS],
        bare_p: &[Dual<FEW>; CONTROLS],
        bare_own: &[Dual<FEW>; OWN],
        inputs: &[Dual<N>],
        guard: Guard,
    ) -> Joined<Dual<N>> {
        let among_all = |y: Dual<FEW>| Dual::joined(y.value(), y.slopes(), inputs);
        let sail = self.sail(p, x, guard);
        let Bare { mass, load, rudder, .. } = self.bare(bare_p, bare_own);
        let load = Load {
            force: load.force.map(among_all),
            heeling: among_all(load.heeling),
            luffing: among_all(load.luffing),
            bow_down: among_all(load.bow_down),
        };
        let sum = sail.load.and(load);
        let residual = self.disagreement(&sail, &sum, among_all(mass), p[Control::Seat.index()]);
        let hike = self.hike(&sum, p[Control::Heel.index()]);
        let tiller = among_all(rudder.tiller_load(&self.boat.constants));
        Joined { residual, hike, tiller, sheet_force: sail.sheet_force, hinge: sail.hinge }
    }

    /// How far to windward of the centreline the sailor's centre must be, m.
    fn hike<D: Real>(&self, sum: &Load<D>, heel: D) -> D {
        let (hs, hc) = heel.sin_cos();
        (sum.heeling / (self.sailor.mass * GRAVITY) + hs * self.boat.constants.sailor_centre_height) / hc
    }

    /// How far the sail, and all loads on the boat, are from agreement, in the order of the unknowns.
    fn disagreement<D: Real>(&self, sail: &SailAnswer<D>, sum: &Load<D>, mass: D, seat: D) -> [D; UNKNOWNS] {
        let body = self.sailor.mass * GRAVITY;
        let burden = mass * GRAVITY;
        let mut residual = [D::from(0.0); UNKNOWNS];
        residual[..sail::UNKNOWNS].copy_from_slice(&sail.residuals());
        residual[SPEED] = sum.force[0] / UNIT;
        residual[LEEWAY] = sum.force[1] / UNIT;
        residual[RUDDER] = sum.luffing / UNIT;
        residual[SINKAGE] = (sum.force[2] - body) / burden;
        residual[TRIM] = (sum.bow_down + seat * body) / (burden * 0.5);
        residual
    }

    fn sail<D: Real>(&self, p: &[D; CONTROLS], x: &[D; UNKNOWNS], guard: Guard) -> SailAnswer<D> {
        let (boat, conditions) = (self.boat, &self.conditions);
        let [twa, boom, car, gap, vang, downhaul, rake, _, _, heel, _, sprit] = *p;
        let input = SailInput {
            attitude: boat.form.attitude(heel, x[SINKAGE], x[TRIM]),
            speed: x[SPEED],
            leeway: x[LEEWAY],
            twa_to_track: twa,
            wind: conditions.wind,
            roll_rate: D::from(0.0),
            rake,
            boom,
            car,
            gap,
            vang_tension: vang,
            luff_tension: downhaul + boat.constants.luff_tension_snug,
            sprit,
        };
        let state = SailState::from_row(&core::array::from_fn(|k| x[k]));
        sail::sail(&boat.rig, &boat.constants, conditions.air, &input, &state, guard)
    }

    /// All but the sail, from the boat's own unknowns.
    fn bare<D: Real>(&self, p: &[D; CONTROLS], own: &[D; OWN]) -> Bare<D> {
        let (boat, c, class) = (self.boat, &self.boat.constants, &self.boat.class);
        let conditions = &self.conditions;
        let [speed, leeway, rudder_angle, sinkage, trim] = *own;
        let [twa, boom, _, _, _, _, rake, board_set, seat, heel, ballast, _] = *p;
        let zero = D::from(0.0);
        let attitude = boat.form.attitude(heel, sinkage, trim);

        let (ws, wc) = (twa - leeway).sin_cos();
        let (ls, lc) = leeway.sin_cos();
        let blow = conditions.wind.at_meter * conditions.wind.ratio(c.windage_height);
        let air = [-(wc * blow) - speed * lc, ws * blow - speed * ls];
        let windage = windage(c, conditions.air, air, seat, self.sailor.mass);

        let afloat = boat.form.afloat(heel, sinkage, trim);
        let leeward_corner = class.hull.stations.first().map_or(zero, |s| {
            let [y, z] = if s.points.len() > 2 { s.points[s.points.len() - 2] } else { s.points[0] };
            attitude.place([D::from(s.x), D::from(y), D::from(z)])[2]
        });
        let mass = ballast + (class.hull.mass + class.mast.rig_mass + self.sailor.mass);
        let way = Underway { speed, leeway, heel, mass, twa_to_track: twa, chop: conditions.chop };
        let drag = boat.resistance.drag(c, boat.water, &afloat, &way);
        let hull_side = sway(c, boat.water, &afloat, speed, leeway);

        let motion = Motion::steady(attitude, speed, leeway);
        let board = foil::board(&class.board, c, boat.water, &motion, board_set, boat.board_side(conditions.tack));
        let rudder = foil::rudder(&class.rudder, c, boat.water, &motion, rudder_angle, &board);

        // Weights: hull and ballast, rig with the boom on the centreline, and what the boom and half the cloth do as they swing.
        let weight = |m: D, at: [D; 3]| Load::at(attitude.place(at), [zero, zero, -(m * GRAVITY)]);
        let [hx, hz] = class.hull.centre.map(D::from);
        let [rx, rz] = class.mast.rig_centre.map(D::from);
        let hull_weight = weight(ballast + class.hull.mass, [hx, zero, hz]);
        let swung = class.boom.mass + 0.5 * boat.rig.cloth_mass();
        let (bs, bc) = boom.sin_cos();
        let share = swung / class.mast.rig_mass * 0.5 * class.boom.length;
        let lean = rake * (class.mast.rig_centre[1] - class.mast.partner_z);
        let rig_weight = weight(D::from(class.mast.rig_mass), [rx - lean + (-bc + 1.0) * share, bs * share, rz]);

        let load = windage
            .and(drag.load(&afloat, leeway))
            .and(hull_side)
            .and(dynamic_trim(c, boat.water, &afloat, speed))
            .and(afloat.buoyancy(boat.water))
            .and(board.load)
            .and(rudder.load)
            .and(hull_weight)
            .and(rig_weight);
        Bare { leeward_corner, mass, afloat, drag, hull_side, windage, board, rudder, load }
    }

    pub(crate) fn at(&self, p: &Controls, x: &Row) -> (Row, Whole<f64>) {
        let whole = self.whole(p, &core::array::from_fn(|k| x[k]), Guard::Off);
        (SVector::from(whole.residual), whole)
    }

    fn jacobian(&self, p: &Controls, x: &Row, guard: Guard) -> SMatrix<f64, UNKNOWNS, UNKNOWNS> {
        let unknowns: [Dual<UNKNOWNS>; UNKNOWNS] = seeded(core::array::from_fn(|k| x[k]));
        let own: [Dual<OWN>; OWN] = seeded(core::array::from_fn(|k| x[SPEED + k]));
        let settings = p.map(Dual::constant);
        let joined = self.joined(&settings, &unknowns, &p.map(Dual::constant), &own, &unknowns[SPEED..], guard);
        let mut j = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::zeros();
        for (i, row) in joined.residual.iter().enumerate() {
            j.row_mut(i).iter_mut().zip(row.slopes()).for_each(|(to, slope)| *to = *slope);
        }
        j
    }
}

/// Values at a solved state and their slopes over each [`Control`].
#[derive(Debug, Clone, Copy)]
pub struct Slopes {
    /// Speed made good, m/s.
    pub made_good: (f64, Controls),
    /// Speed, m/s.
    pub speed: (f64, Controls),
    /// How far out, m.
    pub hike: (f64, Controls),
    /// Sheet at the boom's block, N.
    pub sheet_force: (f64, Controls),
    /// Moment that swings the boom out, N m.
    pub hinge: (f64, Controls),
    /// Rudder, rad.
    pub rudder: (f64, Controls),
    /// Pull on the tiller, N.
    pub tiller: (f64, Controls),
}
