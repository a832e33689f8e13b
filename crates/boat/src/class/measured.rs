//! A class file from a tape: what was measured on a boat stands in for what another class file has.
//!
//! The boat stands level, on trestles or on the floor. Heights are from the floor; all that were typed are lowered by that of the lowest
//! keel, so that the floor is where the file's base line is. Breadths are from side to side. Between stations that were measured the
//! lines go as a batten laid through them bends: a natural cubic spline, by which hulls are faired and built.
//!
//! A mast is as stiff as it sags between two supports: EI = m g L³ / (48 s), a beam loaded in its middle. Source: any handbook of
//! strength of materials, after Euler and Bernoulli (from memory). What does not change with a tape (cloth, luff curve, the steps of lines)
//! stays what the other file has, and is named as not measured.

use measure::quantity::GRAVITY;
use measure::{Length, Mass};
use thiserror::Error;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value};

use super::{BoardKind, Class, ClassError, Station};

/// How a place is measured, and which way it counts in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A length, or a distance from the transom forward, m.
    Length,
    /// A distance behind the transom, m: less than 0 in the file.
    Behind,
    /// A height above the floor, m.
    Height,
    /// On the scale, kg.
    Mass,
    /// Counted.
    Count,
}

/// One thing to measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Its key in the class file, tables and all; `mast.sag`, `mast.span` and `mast.load` are there for `mast.stiffness`.
    pub key: &'static str,
    /// The part of the boat.
    pub part: &'static str,
    /// What it is called.
    pub name: &'static str,
    /// From where to where.
    pub how: &'static str,
    /// How it is measured.
    pub kind: Kind,
}

const fn place(part: &'static str, kind: Kind, key: &'static str, name: &'static str, how: &'static str) -> Place {
    Place { key, part, name, how, kind }
}

/// All there is to measure beside the stations, in the order of a walk round a boat.
pub const PLACES: [Place; 48] = [
    place("Hull", Kind::Length, "hull.length_overall", "Length overall", "transom to the foremost point of the bow, along the floor"),
    place("Hull", Kind::Mass, "hull.weight", "Weight", "hull as it is weighed, dry"),
    place("Hull", Kind::Mass, "hull.minimum_weight", "Least weight", "that the class allows; leave it out if none"),
    place("Hull", Kind::Length, "hull.centre_of_gravity.x", "Balance", "transom to where she balances on a broomstick laid across"),
    place("Hull", Kind::Length, "hull.blunt_bow_width", "Blunt bow", "how wide the flat of the bow is at the water; 0 for a sharp one"),
    place("Mast", Kind::Length, "mast.foot.x", "Mast's foot", "transom to the middle of the mast at its foot"),
    place("Mast", Kind::Height, "mast.foot.z", "Step", "floor to the underside of the mast"),
    place("Mast", Kind::Height, "mast.partner_z", "Partner", "floor to the middle of the hole that holds the mast"),
    place("Mast", Kind::Length, "mast.tack_above_partner", "Tack", "that hole to the tack of the sail"),
    place("Mast", Kind::Length, "mast.diameter", "Mast's diameter", "across the tube at the boom"),
    place("Mast", Kind::Length, "mast.span", "Span", "mast laid on two supports, one near each end: from one to the other"),
    place("Mast", Kind::Mass, "mast.load", "Load", "a weight hung in its middle, ten kilograms or more"),
    place("Mast", Kind::Length, "mast.sag", "Sag", "how much lower its middle comes by that weight, read to half a millimetre"),
    place("Mast", Kind::Mass, "mast.rig_weight", "Rig", "mast, boom and sail together on the scale"),
    place("Mast", Kind::Length, "mast.adjuster.notch", "Notch", "from one notch to the next, or the thickness of an insert"),
    place("Mast", Kind::Count, "mast.adjuster.notches", "Notches", "how many there are"),
    place("Boom", Kind::Length, "boom.length", "Boom", "mast to its end"),
    place("Boom", Kind::Mass, "boom.weight", "Boom's weight", "on the scale, bare"),
    place("Sail", Kind::Length, "sail.luff", "Luff", "along the mast, tack to the top of it"),
    place("Sail", Kind::Length, "sail.foot", "Foot", "tack to clew, straight"),
    place("Sail", Kind::Length, "sail.leech", "Leech", "clew to the top of the luff, straight; of a sprit sail to the peak"),
    place("Sail", Kind::Length, "sail.head", "Head", "along the top, luff to leech"),
    place("Sail", Kind::Length, "sail.peak_diagonal", "Diagonal", "tack to peak, straight"),
    place(
        "Sail",
        Kind::Length,
        "sail.roach",
        "Roach",
        "how far the leech stands out over a straight line from clew to the end of the head, at most",
    ),
    place("Sail", Kind::Length, "sail.tie_spacing", "Ties", "from one tie on the luff to the next"),
    place("Sail", Kind::Length, "sail.sprit.length", "Sprit", "heel to peak"),
    place("Sail", Kind::Length, "sail.sprit.heel_z", "Sprit's heel", "above the tack, along the mast"),
    place("Sheet", Kind::Length, "sheet.on_boom", "Sheet on the boom", "mast to where the sheet leaves the boom"),
    place("Sheet", Kind::Count, "sheet.purchase", "Purchase", "how many parts of the sheet pull at the boom"),
    place("Sheet", Kind::Length, "traveller.x", "Traveller", "transom to the traveller"),
    place("Sheet", Kind::Height, "traveller.z", "Traveller's height", "floor to the car"),
    place("Sheet", Kind::Length, "traveller.half_width", "Half the traveller", "middle to the end of the car's way"),
    place("Vang", Kind::Length, "vang.on_boom", "Vang on the boom", "mast to where the vang holds the boom"),
    place("Vang", Kind::Length, "vang.below_boom", "Vang on the mast", "how far below the boom it holds the mast"),
    place("Board", Kind::Length, "board.pivot.x", "Bolt or slot", "transom to the bolt the board turns on, or to the middle of its slot"),
    place("Board", Kind::Height, "board.pivot.z", "Height of it", "floor to that bolt, or to the bottom of the slot"),
    place("Board", Kind::Length, "board.pivot.y", "Out from the middle", "centreline to a leeboard; 0 for others"),
    place("Board", Kind::Length, "board.length_from_pivot", "Board", "from there to its tip when it is down"),
    place("Board", Kind::Length, "board.lift", "Lift", "how far a daggerboard is pulled up at most; leave it out of others"),
    place("Board", Kind::Length, "board.chord", "Board's chord", "across it, front to back, half way down"),
    place("Board", Kind::Length, "board.thickness", "Board's thickness", "at its thickest"),
    place("Rudder", Kind::Behind, "rudder.x", "Rudder", "transom back to the pintles"),
    place("Rudder", Kind::Height, "rudder.top_z", "Rudder's top", "floor to the top of the blade"),
    place("Rudder", Kind::Length, "rudder.length", "Rudder's length", "along the blade"),
    place("Rudder", Kind::Length, "rudder.thickness", "Rudder's thickness", "at its thickest"),
    place("Rudder", Kind::Length, "rudder.chord", "Rudder's chord", "across it, front to back, half way down"),
    place("Sailor", Kind::Length, "sailor.seat.aft", "Aft end of the seat", "transom to the farthest aft a sailor sits"),
    place("Sailor", Kind::Length, "sailor.seat.forward", "Forward end of the seat", "transom to the farthest forward a sailor sits"),
];

/// A station of the hull as a tape has it, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// From the transom.
    pub x: f64,
    /// From side to side at the sheer.
    pub sheer_breadth: f64,
    /// The same at the chine, or where the bilge turns, and its height from the floor; none where bottom and side are one.
    pub chine: Option<(f64, f64)>,
    /// Height of the keel's underside from the floor.
    pub keel: f64,
    /// Height of the sheer from the floor.
    pub sheer: f64,
}

/// What was measured.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Measured {
    /// What the class is to be called.
    pub name: String,
    /// By key, SI, as it was typed: heights from the floor.
    pub values: Vec<(&'static str, f64)>,
    /// From transom to bow; none where the hull's lines stay those of the other file.
    pub sections: Vec<Section>,
    /// What her board is; none where it is as on the other boat.
    pub board: Option<BoardKind>,
}

/// Why no class file can be made of it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{what}")]
pub struct MeasuredError {
    /// The place, by its key; `section` with its number from 0; or a key of the class file that no tape measures.
    pub key: String,
    /// What was found and what would do.
    pub what: String,
}

/// A class file made of measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// The file.
    pub text: String,
    /// What it says.
    pub class: Class,
    /// The places that stay as the other file has them.
    pub not_measured: Vec<&'static Place>,
}

/// Fewer measured stations than this leave the lines to chance.
const LEAST_SECTIONS: usize = 4;
/// A class file asks for seven; more follow a monotone curve closer.
const STATIONS: usize = 12;
/// How far above the sheer a part of her can still be, m, and how far under the keel: more is a height from elsewhere. Assumed.
const ABOVE: f64 = 0.6;
const BELOW: f64 = 0.05;
/// Offered whatever the other boat has.
const ALWAYS: [&str; 4] = ["mast.span", "mast.load", "mast.sag", "board.lift"];
/// The three that make a stiffness.
const BENDING: [&str; 3] = ["mast.span", "mast.load", "mast.sag"];

fn fault(key: impl Into<String>, what: impl Into<String>) -> MeasuredError {
    MeasuredError { key: key.into(), what: what.into() }
}

/// The table that holds a key, and the key's last part; of tables in a row the first is meant.
fn table_of<'a, 'k>(document: &'a mut DocumentMut, key: &'k str) -> Option<(&'a mut dyn toml_edit::TableLike, &'k str)> {
    let (way, last) = key.rsplit_once('.')?;
    let mut at: &mut dyn toml_edit::TableLike = document.as_table_mut();
    for step in way.split('.') {
        let item = at.get_mut(step)?;
        at = match item {
            Item::ArrayOfTables(tables) => tables.get_mut(0)?,
            other => other.as_table_like_mut()?,
        };
    }
    Some((at, last))
}

/// A value as a file has it, SI.
fn standing(document: &mut DocumentMut, place: &Place) -> Option<f64> {
    let (table, last) = table_of(document, place.key)?;
    let item = table.get(last)?;
    match place.kind {
        Kind::Count => item.as_float().or_else(|| item.as_integer().map(|i| i as f64)),
        Kind::Mass => Mass::parse(item.as_str()?).ok().map(Mass::in_kilograms),
        Kind::Behind => Length::parse(item.as_str()?).ok().map(|l| -l.in_metres()),
        Kind::Length | Kind::Height => Length::parse(item.as_str()?).ok().map(Length::in_metres),
    }
}

/// What can be measured on a boat of the other file's kind, each with what stands there, SI; none beside the three of the mast's bending.
///
/// # Errors
/// When the other file is no TOML.
pub fn places(other: &str) -> Result<Vec<(&'static Place, Option<f64>)>, MeasuredError> {
    let mut document = read(other)?;
    let known = PLACES.iter().map(|place| (place, standing(&mut document, place)));
    Ok(known.filter(|(place, value)| value.is_some() || ALWAYS.contains(&place.key)).collect())
}

fn read(text: &str) -> Result<DocumentMut, MeasuredError> {
    text.parse::<DocumentMut>().map_err(|e| fault("(file)", e.message().to_owned()))
}

/// A number of metres or kilograms with its unit, to the tenth of a millimetre or ten grams.
fn written(value: f64, kind: Kind) -> Value {
    match kind {
        Kind::Count => Value::from(value),
        Kind::Mass => Value::from(format!("{value:.2} kg")),
        _ => Value::from(format!("{value:.4} m")),
    }
}

fn put(document: &mut DocumentMut, key: &str, value: Value) -> Result<(), MeasuredError> {
    let Some((table, last)) = table_of(document, key) else {
        return Err(fault(key, "the class it begins from has no such part: begin from another, or leave this empty"));
    };
    table.insert(last, Item::Value(value));
    Ok(())
}

/// A batten through points: a cubic between neighbours, with no bend at the ends.
struct Batten<'a> {
    x: &'a [f64],
    y: Vec<f64>,
    /// Second derivatives.
    bend: Vec<f64>,
}

impl<'a> Batten<'a> {
    /// Through two points or more of rising `x`.
    fn through(x: &'a [f64], y: Vec<f64>) -> Self {
        let n = x.len();
        // Each inner point gives an equation in its own bend and its neighbours': forward elimination, then back.
        let (mut share, mut right) = (vec![0.0; n], vec![0.0; n]);
        for k in 1..n.saturating_sub(1) {
            let (before, after) = (x[k] - x[k - 1], x[k + 1] - x[k]);
            let pivot = 2.0 * (before + after) - before * share[k - 1];
            share[k] = after / pivot;
            let turn = 6.0 * ((y[k + 1] - y[k]) / after - (y[k] - y[k - 1]) / before);
            right[k] = (turn - before * right[k - 1]) / pivot;
        }
        let mut bend = vec![0.0; n];
        for k in (1..n.saturating_sub(1)).rev() {
            bend[k] = right[k] - share[k] * bend[k + 1];
        }
        Self { x, y, bend }
    }

    fn at(&self, x: f64) -> f64 {
        let k = self.x.partition_point(|known| *known <= x).clamp(1, self.x.len() - 1);
        let (low, high) = (self.x[k - 1], self.x[k]);
        let wide = high - low;
        let (a, b) = ((high - x) / wide, (x - low) / wide);
        let bent = (a.powi(3) - a) * self.bend[k - 1] + (b.powi(3) - b) * self.bend[k];
        a * self.y[k - 1] + b * self.y[k] + bent * wide * wide / 6.0
    }
}

/// The lines through measured stations, heights from the floor that lies that high.
fn lines(sections: &[Section], floor: f64) -> Result<Vec<Station>, MeasuredError> {
    if sections.len() < LEAST_SECTIONS {
        let what = format!("{} stations are too few: measure {LEAST_SECTIONS} or more, the transom and the bow among them", sections.len());
        return Err(fault("stations", what));
    }
    for (k, s) in sections.iter().enumerate() {
        let key = format!("section {k}");
        if k > 0 && s.x <= sections[k - 1].x {
            return Err(fault(key, "it is not forward of the station before it: order them from transom to bow"));
        }
        if s.sheer <= s.keel {
            return Err(fault(key, "the sheer is not above the keel: both heights are from the floor"));
        }
        if s.sheer_breadth <= 0.0 {
            return Err(fault(key, "she has no breadth there: measure a sharp bow where she is 2 cm wide"));
        }
        if let Some((breadth, height)) = s.chine
            && (breadth > s.sheer_breadth * 1.5 || breadth < 0.0 || height < s.keel || height > s.sheer)
        {
            return Err(fault(key, "the chine is not between keel and sheer: measure where bottom and side meet"));
        }
        if s.chine.is_some() != sections[0].chine.is_some() {
            return Err(fault(key, "a chine at some stations and none at others: measure it, or where the bilge turns, at each"));
        }
    }
    let x: Vec<f64> = sections.iter().map(|s| s.x).collect();
    let curve = |of: &dyn Fn(&Section) -> f64| Batten::through(&x, sections.iter().map(of).collect());
    let [keel, sheer] = [curve(&|s| s.keel - floor), curve(&|s| s.sheer - floor)];
    let side = curve(&|s| 0.5 * s.sheer_breadth);
    let [out, up] = [curve(&|s| 0.5 * s.chine.map_or(0.0, |c| c.0)), curve(&|s| s.chine.map_or(0.0, |c| c.1) - floor)];
    let between = STATIONS.div_ceil(sections.len() - 1);
    let mut places: Vec<f64> =
        x.windows(2).flat_map(|w| (0..between).map(move |k| w[0] + (w[1] - w[0]) * k as f64 / between as f64)).collect();
    places.extend(x.last());
    let points = |x: f64| {
        let chine = sections[0].chine.is_some().then(|| [out.at(x), up.at(x)]);
        let ends = [[0.0, keel.at(x)], [side.at(x), sheer.at(x)]];
        [Some(ends[0]), chine, Some(ends[1])].into_iter().flatten().collect()
    };
    Ok(places.into_iter().map(|x| Station { x, points: points(x) }).collect())
}

/// The stations as a class file has them.
fn tables(lines: &[Station]) -> ArrayOfTables {
    let mut stations = ArrayOfTables::new();
    for Station { x, points } in lines {
        let mut table = Table::new();
        table.insert("x", Item::Value(written(*x, Kind::Length)));
        let pair = |p: &[f64; 2]| Value::Array(p.iter().map(|v| written(*v, Kind::Length)).collect::<Array>());
        table.insert("points", Item::Value(Value::Array(points.iter().map(pair).collect())));
        stations.push(table);
    }
    stations
}

/// Her board is of this kind, with what such a board has and without what it has not.
fn reboard(document: &mut DocumentMut, kind: BoardKind, lift: Option<f64>) -> Result<(), MeasuredError> {
    let Some((board, _)) = table_of(document, "board.kind") else {
        return Err(fault("board.lift", "the class it begins from has no board"));
    };
    let name = match kind {
        BoardKind::Leeboard => "leeboard",
        BoardKind::Daggerboard => "daggerboard",
        BoardKind::Centreboard => "centreboard",
    };
    board.insert("kind", Item::Value(Value::from(name)));
    if kind != BoardKind::Leeboard {
        board.remove("side");
    }
    match (kind, lift) {
        (BoardKind::Daggerboard, Some(lift)) => {
            board.remove("angle");
            board.insert("lift", Item::Value(written(lift, Kind::Length)));
        }
        (BoardKind::Daggerboard, None) if board.get("lift").is_none() => {
            return Err(fault("board.lift", "measure how far her daggerboard is pulled up"));
        }
        (BoardKind::Daggerboard, None) => {}
        _ => drop(board.remove("lift")),
    }
    Ok(())
}

/// Whether a part lies on the boat: a height from another floor, or a place beyond the bow, is told where it was typed.
fn aboard(measured: &Measured, floor: f64, class: &Class) -> Result<(), MeasuredError> {
    let sheer = class.hull.stations.iter().filter_map(|s| s.points.last()).map(|p| p[1]).fold(0.0, f64::max);
    let along = ["mast.foot.x", "traveller.x", "board.pivot.x", "sailor.seat.aft", "sailor.seat.forward", "hull.centre_of_gravity.x"];
    for (key, value) in &measured.values {
        let height = PLACES.iter().any(|p| p.key == *key && p.kind == Kind::Height);
        if height && value - floor < -BELOW {
            return Err(fault(*key, "it lies under her keel: heights are from the floor, trestles and all"));
        }
        if height && value - floor > sheer + ABOVE {
            return Err(fault(*key, "it lies far above her sheer: heights are from the floor, as those of the stations"));
        }
        if along.contains(key) && *value > class.hull.length {
            return Err(fault(*key, "it lies beyond her bow: measure from the transom forward"));
        }
    }
    Ok(())
}

/// How stiff a mast is that sags between two supports, N m²; none where not all three were measured.
fn stiffness(values: &[(&'static str, f64)]) -> Result<Option<f64>, MeasuredError> {
    let [span, load, sag] = BENDING.map(|key| values.iter().find(|v| v.0 == key).map(|v| v.1));
    match (span, load, sag) {
        (None, None, None) => Ok(None),
        (Some(span), Some(load), Some(sag)) if sag > 0.0 => Ok(Some(load * GRAVITY * span.powi(3) / (48.0 * sag))),
        (Some(_), Some(_), Some(_)) => Err(fault("mast.sag", "a mast that does not sag tells nothing: hang more weight on it")),
        _ => Err(fault("mast.sag", "a mast's stiffness takes span, load and sag: measure all three, or none")),
    }
}

/// The class file of measures, beginning from another file; `note` is written at its top.
///
/// # Errors
/// What cannot be of a boat: by the place where it was measured, or by the key of the class file.
pub fn class_file(measured: &Measured, other: &str, note: &str) -> Result<Made, MeasuredError> {
    let mut document = read(other)?;
    let lowest = measured.sections.iter().map(|s| s.keel).fold(f64::INFINITY, f64::min);
    let floor = if lowest.is_finite() { lowest } else { 0.0 };
    document.insert("name", Item::Value(Value::from(measured.name.as_str())));
    // What is said of the other class's own boats is not said of this one.
    document.remove("gauge");
    if let Some(hull) = document.get_mut("hull").and_then(Item::as_table_mut) {
        for said in ["weighed", "corrector_place", "tanks", "towed"] {
            hull.remove(said);
        }
    }
    if let Some(sails) = document.get_mut("sail").and_then(Item::as_array_of_tables_mut) {
        while sails.len() > 1 {
            sails.remove(sails.len() - 1);
        }
    }
    for (key, value) in &measured.values {
        let Some(place) = PLACES.iter().find(|p| p.key == *key) else { return Err(fault(*key, "no tape measures this")) };
        if ALWAYS.contains(key) {
            continue;
        }
        let value = match place.kind {
            Kind::Behind => -value,
            Kind::Height => value - floor,
            _ => *value,
        };
        put(&mut document, key, written(value, place.kind))?;
    }
    if let Some(stiffness) = stiffness(&measured.values)? {
        put(&mut document, "mast.stiffness", Value::from(format!("{stiffness:.0} N m2")))?;
    }
    let lift = measured.values.iter().find(|v| v.0 == "board.lift").map(|v| v.1);
    if let Some(kind) = measured.board {
        reboard(&mut document, kind, lift)?;
    }
    let was = |key| measured.values.iter().any(|v| v.0 == key);
    if was("hull.weight") && !was("hull.minimum_weight") {
        let weight = measured.values.iter().find(|v| v.0 == "hull.weight").map_or(0.0, |v| v.1);
        put(&mut document, "hull.minimum_weight", written(weight, Kind::Mass))?;
    }
    // A sprit sail's throat follows from its other edges.
    if measured.values.iter().any(|v| v.0.starts_with("sail."))
        && let Some((sail, _)) = table_of(&mut document, "sail.throat")
    {
        sail.remove("throat");
    }
    if measured.sections.is_empty() {
        stretched(&mut document, other, measured)?;
    } else {
        let lines = lines(&measured.sections, floor)?;
        let hull =
            document.get_mut("hull").and_then(Item::as_table_mut).ok_or_else(|| fault("hull", "is missing in the class it begins from"))?;
        hull.insert("station", Item::ArrayOfTables(tables(&lines)));
    }
    let commented = note.lines().map(|line| format!("# {line}\n")).collect::<String>();
    document.decor_mut().set_prefix("");
    let text = format!("{commented}\n{}", document.to_string().trim_start());
    let class = Class::read(&text, "this boat").map_err(|ClassError { key, what, .. }| fault(key, what))?;
    aboard(measured, floor, &class)?;
    let kept = PLACES.iter().filter(|p| !was(p.key) && !ALWAYS.contains(&p.key));
    let mut before = read(other)?;
    let not_measured = kept.filter(|p| standing(&mut before, p).is_some()).collect();
    Ok(Made { text, class, not_measured })
}

/// Where only the length was measured, the other file's lines are drawn out to it.
fn stretched(document: &mut DocumentMut, other: &str, measured: &Measured) -> Result<(), MeasuredError> {
    let Some((_, length)) = measured.values.iter().find(|v| v.0 == "hull.length_overall") else { return Ok(()) };
    let hull = Class::read(other, "the class it begins from").map_err(|e| fault("(file)", e.to_string()))?.hull;
    let by = length / hull.length;
    let lines: Vec<_> = hull.stations.into_iter().map(|s| Station { x: s.x * by, ..s }).collect();
    if let Some(table) = document.get_mut("hull").and_then(Item::as_table_mut) {
        table.insert("station", Item::ArrayOfTables(tables(&lines)));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Constants;
    use crate::hull::HullForm;
    use measure::Temperature;
    use measure::fluid::Water;

    const PRAM: &str = include_str!("../../../../data/classes/pram.toml");
    const SPRIT: &str = include_str!("../../../../data/classes/sprit.toml");
    /// Height of the trestles the boat stands on, m.
    const TRESTLES: f64 = 0.42;
    /// What lines through five measured stations may miss of the volume of the lines themselves. A boat is measured to the centimetre:
    /// one of breadth is already 1 %.
    const VOLUME: f64 = 0.01;

    /// A boat as a tape has her: five of her stations, and every place.
    fn taped(text: &str) -> Measured {
        let class = Class::read(text, "x").unwrap();
        let n = class.hull.stations.len();
        let section = |k: usize| {
            let s = &class.hull.stations[k];
            let [keel, sheer] = [s.points[0], s.points[s.points.len() - 1]];
            let chine = s.points[s.points.len() - 2];
            Section {
                x: s.x,
                sheer_breadth: 2.0 * sheer[0],
                chine: Some((2.0 * chine[0], chine[1] + TRESTLES)),
                keel: keel[1] + TRESTLES,
                sheer: sheer[1] + TRESTLES,
            }
        };
        let sections = [0, 3, 6, 10, n - 1].map(section).to_vec();
        let up = |place: &Place| if place.kind == Kind::Height { TRESTLES } else { 0.0 };
        let values = places(text).unwrap().into_iter().filter_map(|(p, v)| Some((p.key, v? + up(p)))).collect();
        Measured { name: "a measured pram".to_owned(), values, sections, board: None }
    }

    #[test]
    fn a_pram_measured_with_a_tape_floats_as_the_pram_does() {
        let made = class_file(&taped(PRAM), PRAM, "measured").unwrap();
        let own = Class::pram();
        assert_eq!(made.class.name, "a measured pram");
        assert!(made.not_measured.is_empty(), "{:?}", made.not_measured);
        assert_eq!((made.class.mast.foot, &made.class.rudder), (own.mast.foot, &own.rudder));
        let water = Water::Fresh.at(Temperature::celsius(15.0));
        let [a, b] = [&made.class, &own].map(|class| HullForm::of(class, Constants::standard()).level(100.0, water).unwrap());
        assert!((a.draught / b.draught - 1.0).abs() < VOLUME, "{} {}", a.draught, b.draught);
        assert!((a.wetted_area / b.wetted_area - 1.0).abs() < VOLUME, "{} {}", a.wetted_area, b.wetted_area);
    }

    #[test]
    fn a_batten_bends_as_a_natural_spline() {
        // Worked by hand: through (0, 0), (1, 1), (2, 0) the middle's bend is -3, and half way up it stands at 11/16.
        let batten = Batten::through(&[0.0, 1.0, 2.0], vec![0.0, 1.0, 0.0]);
        assert!((batten.bend[1] + 3.0).abs() < 1e-12);
        assert!((batten.at(0.5) - 11.0 / 16.0).abs() < 1e-12);
        let straight = Batten::through(&[0.0, 0.4, 1.0, 3.0], vec![1.0, 1.4, 2.0, 4.0]);
        assert!([0.1, 0.7, 2.9].iter().all(|x| (straight.at(*x) - 1.0 - x).abs() < 1e-12));
    }

    #[test]
    fn a_mast_is_as_stiff_as_it_sags() {
        // A tube of 45 by 1.6 mm of aluminium (69 GPa) has EI = 3.55 kN m²; over 2.4 m six kilograms sag it by 4.8 mm.
        let bent = [("mast.span", 2.4), ("mast.load", 6.0), ("mast.sag", 0.00477)];
        let made = class_file(&Measured { name: "m".into(), values: bent.to_vec(), ..Measured::default() }, PRAM, "").unwrap();
        let tube = 69e9 * std::f64::consts::PI / 64.0 * (0.045_f64.powi(4) - 0.0418_f64.powi(4));
        assert!((made.class.mast.stiffness / tube - 1.0).abs() < 0.01, "{} {tube}", made.class.mast.stiffness);
        let two = class_file(&Measured { name: "m".into(), values: bent[..2].to_vec(), ..Measured::default() }, PRAM, "").unwrap_err();
        assert_eq!(two.key, "mast.sag");
    }

    #[test]
    fn a_board_of_another_kind_is_told_with_how_far_it_lifts() {
        let mut measured = Measured { board: Some(BoardKind::Daggerboard), ..taped(PRAM) };
        measured.values.retain(|v| v.0 != "board.pivot.y");
        measured.values.push(("board.pivot.y", 0.0));
        assert_eq!(class_file(&measured, PRAM, "").unwrap_err().key, "board.lift");
        measured.values.push(("board.lift", 0.5));
        let board = class_file(&measured, PRAM, "").unwrap().class.board;
        assert_eq!((board.kind, board.lift), (BoardKind::Daggerboard, Some(0.5)));
        let back = Measured { board: Some(BoardKind::Centreboard), ..taped(SPRIT) };
        assert_eq!(class_file(&back, SPRIT, "").unwrap().class.board.lift, None);
    }

    #[test]
    fn what_cannot_be_is_told_at_its_place() {
        let of = |change: &dyn Fn(&mut Measured)| {
            let mut measured = taped(PRAM);
            change(&mut measured);
            class_file(&measured, PRAM, "").unwrap_err()
        };
        assert_eq!(of(&|m| m.sections[2].x = 0.1).key, "section 2");
        assert_eq!(of(&|m| m.sections[1].sheer = 0.1).key, "section 1");
        assert_eq!(of(&|m| m.sections[1].chine = None).key, "section 1");
        assert_eq!(of(&|m| m.sections.truncate(3)).key, "stations");
        let set =
            |key: &'static str, value: f64| move |m: &mut Measured| m.values.iter_mut().filter(|v| v.0 == key).for_each(|v| v.1 = value);
        // A trestle that was forgotten, and a mast before the bow.
        assert_eq!(of(&set("mast.foot.z", 0.05)).key, "mast.foot.z");
        assert_eq!(of(&set("mast.foot.x", 3.0)).key, "mast.foot.x");
        assert_eq!(of(&|m| m.values.iter_mut().filter(|v| v.0 == "boom.length").for_each(|v| v.1 = 400.0)).key, "boom.length");
    }

    #[test]
    fn a_longer_boat_is_drawn_out_and_a_sprit_sail_keeps_together() {
        let longer = Measured { name: "m".into(), values: vec![("hull.length_overall", 2.7)], ..Measured::default() };
        let made = class_file(&longer, PRAM, "").unwrap();
        assert!((made.class.hull.stations.last().unwrap().x - 2.7).abs() < 1e-3);
        assert!(made.class.gauges.len() > 8);
        let made = class_file(&taped(SPRIT), SPRIT, "").unwrap();
        assert_eq!(made.class.sails.len(), 1);
    }
}
