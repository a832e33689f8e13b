//! The class: rules and dimensions that all its boats share, in SI, checked and complete.
//!
//! x from the transom forward, y from the centreline to leeward (to starboard for a leeboard's pivot), z up from the
//! base line, metres and radians throughout.

pub mod measured;
mod node;
pub mod rake;
pub mod read;
mod sails;
pub mod usual_gauges;

pub use node::ClassError;

/// A class as its file describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// What its file calls it.
    pub name: String,
    /// The hull.
    pub hull: Hull,
    /// The mast.
    pub mast: Mast,
    /// The boom.
    pub boom: Boom,
    /// One or more sails, the usual one first.
    pub sails: Vec<Sail>,
    /// Mainsheet.
    pub sheet: Sheet,
    /// Where the sheet is led from: a traveller's car, or a fixed block.
    pub lead: Lead,
    /// Vang, if the class has one.
    pub vang: Option<Vang>,
    /// Downhaul stiffness, N of luff tension per m of line, if the class has one.
    pub downhaul: Option<f64>,
    /// How far the clew can be moved, m.
    pub outhaul_range: f64,
    /// Boards: a leeboard, daggerboard or centreboard.
    pub board: Board,
    /// Rudder.
    pub rudder: Rudder,
    /// Where the sailor can be.
    pub sailor: Seat,
    /// What can be measured on this class.
    pub gauges: Vec<GaugeDefinition>,
}

/// The hull's shape and mass.
#[derive(Debug, Clone, PartialEq)]
pub struct Hull {
    /// Length overall, m.
    pub length: f64,
    /// A boat of the class must weigh at least this, kg.
    pub minimum_mass: f64,
    /// What is on the scale at a weigh-in.
    pub weighed: Vec<String>,
    /// Where correctors go.
    pub corrector_place: String,
    /// A typical boat's hull, kg.
    pub mass: f64,
    /// Its centre of gravity, x and z.
    pub centre: [f64; 2],
    /// Tanks that can hold water.
    pub tanks: Vec<String>,
    /// Width of a blunt bow, m (0 for a sharp one).
    pub blunt_bow: f64,
    /// Stations from transom to bow, seven or more: x, and half-breadth, height from keel to sheer.
    pub stations: Vec<Station>,
    /// Measured by towing, if the file has it.
    pub towed: Option<Towed>,
}

/// One station of the lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Distance from the transom, m.
    pub x: f64,
    /// Half-breadth and height, keel to sheer, m.
    pub points: Vec<[f64; 2]>,
}

/// Resistance measured upright with one mass aboard.
#[derive(Debug, Clone, PartialEq)]
pub struct Towed {
    /// Mass aboard beside hull and rig, kg.
    pub mass: f64,
    /// Speeds, m/s, rising.
    pub speed: Vec<f64>,
    /// Drag at each, N.
    pub drag: Vec<f64>,
}

/// The unstayed mast.
#[derive(Debug, Clone, PartialEq)]
pub struct Mast {
    /// Foot, x and z.
    pub foot: [f64; 2],
    /// Height of the partner.
    pub partner_z: f64,
    /// Tack above the partner along the mast, m.
    pub tack_above_partner: f64,
    /// Bending stiffness, N m2.
    pub stiffness: f64,
    /// Diameter, m.
    pub diameter: f64,
    /// Mast, boom and sail together, kg.
    pub rig_mass: f64,
    /// Their centre, x and z.
    pub rig_centre: [f64; 2],
    /// How rake is adjusted.
    pub adjuster: Adjuster,
}

/// What moves the mast.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AdjusterKind {
    /// Bottom of the mast moves along the keel, partner fixed.
    Step,
    /// The partner moves, bottom fixed.
    Partner,
    /// Inserts round the mast in the partner.
    Insert,
}

/// How rake is adjusted: kind, notch and count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adjuster {
    /// What moves.
    pub kind: AdjusterKind,
    /// One notch, m.
    pub notch: f64,
    /// How many positions.
    pub notches: u32,
}

/// The boom.
#[derive(Debug, Clone, PartialEq)]
pub struct Boom {
    /// Length, m.
    pub length: f64,
    /// Mass, kg.
    pub mass: f64,
}

/// A sail.
#[derive(Debug, Clone, PartialEq)]
pub struct Sail {
    /// Its name: "full", "small".
    pub name: String,
    /// Luff, m: from the tack to the head, or to the throat of a sprit sail.
    pub luff: f64,
    /// Foot, m.
    pub foot: f64,
    /// Leech, from the clew to the top of the luff or, on a sprit sail, to the peak, straight, m.
    pub leech: f64,
    /// Head, from the top of the luff, m: of a sprit sail the edge from throat to peak.
    pub head: f64,
    /// Roach, m.
    pub roach: f64,
    /// Battens from the top, m.
    pub battens: Vec<f64>,
    /// Luff curve, m.
    pub luff_curve: f64,
    /// Camber built in by the panels, share of chord.
    pub built_in_camber: f64,
    /// Cloth, kg/m2.
    pub cloth: f64,
    /// Distance between the ties that hold the luff to the mast, m.
    pub tie_spacing: f64,
    /// What holds its peak up, on a sprit sail.
    pub sprit: Option<Sprit>,
}

/// The mainsheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Block on the boom, from the mast, m.
    pub on_boom: f64,
    /// Parts of rope.
    pub purchase: f64,
    /// What a child's hand can hold, N.
    pub hand_limit: f64,
}

/// Where the sheet is led from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lead {
    /// A car on a traveller across the boat at x, z, with its half width.
    Traveller {
        /// Distance from the transom.
        x: f64,
        /// Height.
        z: f64,
        /// Half width.
        half_width: f64,
    },
    /// A bridle or fixed block.
    Block {
        /// Distance from the transom.
        x: f64,
        /// From the centreline.
        y: f64,
        /// Height.
        z: f64,
    },
}

/// The vang.
#[derive(Debug, Clone, PartialEq)]
pub struct Vang {
    /// Along the boom from the mast, m.
    pub on_boom: f64,
    /// Down the mast from the boom, m.
    pub below_boom: f64,
    /// N of tension per m of line from snug.
    pub stiffness: f64,
}

/// The sprit of a sprit sail, and the corner it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Sprit {
    /// The peak from the tack: aft of the mast's line, and along it, m.
    pub peak: [f64; 2],
    /// Height of its heel on the mast above the tack, m.
    pub heel_z: f64,
    /// N by which the sprit pushes harder along itself, per m of line from snug.
    pub stiffness: f64,
}

/// Kind of board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoardKind {
    /// On the side of the hull.
    Leeboard,
    /// Up and down in a case.
    Daggerboard,
    /// Swinging in a case.
    Centreboard,
}

/// Which side a leeboard hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Starboard.
    Starboard,
    /// Port.
    Port,
    /// Whichever is to leeward, or the centreline.
    Either,
}

/// A leeboard, daggerboard or centreboard.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// Kind.
    pub kind: BoardKind,
    /// Side it hangs on (Either for boards in a case).
    pub side: Side,
    /// Pivot: x, distance from the centreline, z.
    pub pivot: [f64; 3],
    /// Length from the pivot to the tip, m.
    pub length: f64,
    /// Chord, m.
    pub chord: f64,
    /// Thickness, m.
    pub thickness: f64,
    /// Furthest forward of vertical, rad.
    pub forward: f64,
    /// Furthest raised aft of vertical, rad (positive).
    pub raised: f64,
    /// How far it can be pulled straight up in its case, m; `None` for one that swings.
    pub lift: Option<f64>,
}

/// The rudder.
#[derive(Debug, Clone, PartialEq)]
pub struct Rudder {
    /// Its axis, from the transom (negative is aft), m.
    pub x: f64,
    /// Length below `top_z`, m.
    pub length: f64,
    /// Top of the blade, m.
    pub top_z: f64,
    /// Chord, m.
    pub chord: f64,
    /// Thickness, m.
    pub thickness: f64,
}

/// Where the sailor can be.
#[derive(Debug, Clone, PartialEq)]
pub struct Seat {
    /// Furthest aft, m from the transom.
    pub aft: f64,
    /// Furthest forward.
    pub forward: f64,
    /// How far the body's centre can get from the centreline, m, for a sailor of 45 kg.
    pub hike_out: f64,
}

/// One gauge of a class, as its file describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeDefinition {
    /// Its name, one of the fixed list.
    pub gauge: crate::gauge::Gauge,
    /// Where the tape starts.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// Repeat error of one reading, SI of the gauge.
    pub repeat_error: f64,
    /// Smallest step worth making, SI.
    pub step: f64,
    /// Whether it can be changed afloat.
    pub afloat: bool,
    /// Seconds a child takes to change it.
    pub seconds: f64,
}
