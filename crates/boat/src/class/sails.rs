//! The sails of a class file, and the sprit of a sprit sail: where it holds the peak, and whether the corners close.

use super::node::{ClassError, Node};
use super::read::{PULL, SPAN, length, per_metre};
use super::{Sail, Sprit};
use measure::angle::DEGREE;
use measure::quantity::{Range, Unit, plain};

/// From a spar's wall to a sail's leech.
const SMALL: Range = length(0.0, 1.0);
const CLOTH: Range = Range {
    what: "a cloth's mass",
    low: 0.02,
    high: 1.0,
    units: &[Unit { names: &["g/m2", "g/m²"], factor: 1e-3, offset: 0.0 }, Unit { names: &["kg/m2", "kg/m²"], factor: 1.0, offset: 0.0 }],
};
/// A sprit may miss the distance from its heel to the peak by this share: it stands beside the mast, in a becket of some length.
const SPRIT_MISFIT: f64 = 0.10;
/// The diagonal from clew to throat may miss what the other edges say by this share: cloth stretches on the bias.
const THROAT_MISFIT: f64 = 0.05;
/// Angle of a foot to its mast, rad.
const BOOM_RISE: [f64; 2] = [60.0 * DEGREE, 125.0 * DEGREE];
/// Furthest aft of the mast that a peak can stand, in feet of the sail: further, the leech would not pull it forward.
const PEAK_AFT: f64 = 0.95;

/// One or more sails, the usual one first.
pub(super) fn sails(root: &Node<'_>) -> Result<Vec<Sail>, ClassError> {
    let nodes = root.children("sail")?;
    if nodes.is_empty() {
        return Err(root.fault("sail", "is missing; add a table [[sail]]"));
    }
    let mut sails: Vec<Sail> = Vec::with_capacity(nodes.len());
    for n in &nodes {
        n.only(&[
            "name",
            "luff",
            "foot",
            "leech",
            "head",
            "roach",
            "battens",
            "luff_curve",
            "built_in_camber",
            "cloth",
            "tie_spacing",
            "throat",
            "peak_diagonal",
            "sprit",
        ])?;
        let mut sail = Sail {
            name: n.words_or("name", "full")?,
            luff: n.quantity("luff", &SPAN, "2.75 m")?,
            foot: n.quantity("foot", &SPAN, "1.95 m")?,
            leech: n.quantity("leech", &SPAN, "3.40 m")?,
            head: n.quantity("head", &length(0.0, 5.0), "0.28 m")?,
            roach: n.quantity_or("roach", &SMALL, "0 m")?,
            battens: if n.has("battens") { n.list("battens", &SPAN, "0.55 m")? } else { Vec::new() },
            luff_curve: n.quantity_or("luff_curve", &length(0.0, 0.3), "0 mm")?,
            built_in_camber: n.number_or("built_in_camber", (0.0, 0.2), 0.06)?,
            cloth: n.quantity_or("cloth", &CLOTH, "170 g/m2")?,
            tie_spacing: n.quantity_or("tie_spacing", &length(0.01, 2.0), "0.22 m")?,
            sprit: None,
        };
        if sail.head >= sail.foot {
            return Err(n.fault("head", "the head is not shorter than the foot; it is the short edge at the top"));
        }
        sail.sprit = sprit(n, &sail)?;
        let (least, most) = ((sail.luff - sail.foot).abs(), sail.luff + sail.foot);
        if sail.sprit.is_none() && !(sail.leech > least && sail.leech < most) {
            let what = format!(
                "a leech of {} m cannot close the triangle with a luff of {} m and a foot of {} m; it must lie between {} and {} m",
                plain(sail.leech),
                plain(sail.luff),
                plain(sail.foot),
                plain(least),
                plain(most)
            );
            return Err(n.fault("leech", what));
        }
        if sails.iter().any(|s| s.name == sail.name) {
            return Err(n.fault("name", format!("a second sail is called \"{}\"; give each its own name", sail.name)));
        }
        sails.push(sail);
    }
    Ok(sails)
}

/// The angle opposite one side of a triangle; `None` where the three do not close.
fn corner(opposite: f64, a: f64, b: f64) -> Option<f64> {
    let cos = (a * a + b * b - opposite * opposite) / (2.0 * a * b);
    (cos.abs() < 1.0).then(|| cos.acos())
}

/// The sprit of a sprit sail, and where it holds the peak.
fn sprit(n: &Node<'_>, sail: &Sail) -> Result<Option<Sprit>, ClassError> {
    let Some(s) = n.maybe_child("sprit", "{ length = \"2.4 m\", heel_z = \"0.5 m\", tension_per_cm = \"40 N\" }")? else {
        let alone = ["throat", "peak_diagonal"].into_iter().find(|key| n.has(key));
        return alone.map_or(Ok(None), |key| {
            let example = "sprit = { length = \"2.4 m\", heel_z = \"0.5 m\", tension_per_cm = \"40 N\" }";
            Err(n.fault(key, format!("belongs to a sprit sail; leave it out, or write {example}")))
        });
    };
    s.only(&["length", "heel_z", "tension_per_cm"])?;
    let spar = s.quantity("length", &SPAN, "2.4 m")?;
    let heel_z = s.quantity("heel_z", &length(0.0, 5.0), "0.3 m")?;
    let stiffness = per_metre(s.quantity("tension_per_cm", &PULL, "40 N")?);
    if heel_z >= sail.luff {
        let what = format!("the sprit's heel is not below the throat, {} m above the tack; both count from the tack", plain(sail.luff));
        return Err(s.fault("heel_z", what));
    }
    let open = |key: &str, what: &str| n.fault(key, format!("{what} do not close; measure them again"));
    let peak = if n.has("peak_diagonal") {
        let diagonal = n.quantity("peak_diagonal", &SPAN, "2.9 m")?;
        let at =
            corner(sail.head, sail.luff, diagonal).ok_or_else(|| open("peak_diagonal", "luff, head and the diagonal from tack to peak"))?;
        [diagonal * at.sin(), diagonal * at.cos()]
    } else {
        let at = corner(sail.head, sail.luff - heel_z, spar).ok_or_else(|| open("sprit", "luff above the sprit's heel, head and sprit"))?;
        [spar * at.sin(), heel_z + spar * at.cos()]
    };
    let reaches = peak[0].hypot(peak[1] - heel_z);
    if (spar / reaches - 1.0).abs() > SPRIT_MISFIT {
        let what = format!("a sprit of {} m does not fit: from its heel to the peak there are {} m", plain(spar), plain(round(reaches)));
        return Err(s.fault("length", what));
    }
    let diagonal = peak[0].hypot(peak[1]);
    let below = corner(sail.leech, diagonal, sail.foot).ok_or_else(|| open("leech", "foot, leech and the diagonal from tack to peak"))?;
    let tack = peak[0].atan2(peak[1]) + below;
    if !(BOOM_RISE[0]..=BOOM_RISE[1]).contains(&tack) {
        let what = format!(
            "these edges put the foot at {} degrees to the mast; check luff, foot, leech, head and peak",
            plain((tack / DEGREE).round())
        );
        return Err(n.fault("leech", what));
    }
    if peak[1] <= sail.luff || peak[0] > PEAK_AFT * sail.foot {
        return Err(n.fault("head", "the peak is not above the throat and forward of the clew; check luff, head, leech and sprit"));
    }
    if n.has("throat") {
        let given = n.quantity("throat", &SPAN, "2.5 m")?;
        let throat = (sail.luff - sail.foot * tack.cos()).hypot(sail.foot * tack.sin());
        if (given / throat - 1.0).abs() > THROAT_MISFIT {
            let what = format!("{} m from clew to throat do not fit the other edges, which say {} m", plain(given), plain(round(throat)));
            return Err(n.fault("throat", what));
        }
    }
    Ok(Some(Sprit { peak, heel_z, stiffness }))
}

/// To a centimetre, for messages.
fn round(metres: f64) -> f64 {
    (metres * 100.0).round() / 100.0
}
