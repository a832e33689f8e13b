//! Reads a class file: TOML with a unit on every quantity. Each fault names file, line and key, what was found and what would do.
//!
//! Left out, these take the value in brackets: `hull.weighed`, `corrector_place`, `tanks` (none), `blunt_bow_width` (0 m),
//! `hull.towed` (none); `mast.adjuster` (a step, 9 notches of 10 mm); `sail.name` ("full"), `roach` (0 m), `battens` (none),
//! `luff_curve` (0 mm), `built_in_camber` (0.06), `cloth` (170 g/m2), `tie_spacing` (0.22 m); `sheet.purchase` (3),
//! `hand_limit` (100 N); `vang`, `downhaul` (none); `outhaul.range` (0.12 m); `board.side` (either), `thickness` (20 mm), `lift` (none), `angle` (0 to
//! 80 degrees raised); `rudder.thickness` (15 mm); `sailor.hike_out` (that of a body hiked on her side: [`crate::body`]); `gauge` (all the equipment allows) and
//! whatever a gauge leaves out (`usual_gauges.rs`). A sprit sail has `sprit`; its peak stands where `peak_diagonal` (tack to peak) puts it
//! or, without that, the sprit itself; `throat` (clew to throat), if given, must agree. A daggerboard with `lift` slides, without it swings.

use super::node::{ClassError, Node};
use super::usual_gauges::{lacking, usual_gauge, usual_gauges};
use super::{
    Adjuster, AdjusterKind, Board, BoardKind, Boom, Class, GaugeDefinition, Hull, Lead, Mast, Rudder, Seat, Sheet, Side, Station, Towed,
    Vang,
};
use crate::body::{HIKED, centre_out};
use crate::constants::Constants;
use crate::crew::usual_stature;
use crate::gauge::{Gauge, GaugeUnit};
use crate::hull::{HullForm, Resistance, Underway};
use measure::angle::DEGREE;
use measure::fluid::Water;
use measure::quantity::{Range, Unit, plain};
use measure::{Angle, Force, Length, Mass, Speed, Temperature};

/// Body mass of the heaviest sailor a hull must carry, kg: the top of the table of children's statures.
pub const HEAVIEST_SAILOR: f64 = 75.0;
/// Freeboard she must keep with that sailor aboard, upright, m. Assumed: below a hand's breadth she ships every wave.
pub const LEAST_FREEBOARD: f64 = 0.05;
/// Towed over computed drag beyond which a unit is wrong: knots for metres a second make a factor of four. Assumed.
const TOWED_OVER_MODEL: [f64; 2] = [0.3, 3.3];
/// A hull's lines reach from transom to bow: their ends may miss the length by this share.
const LENGTH_MISFIT: f64 = 0.03;
/// More stations, or points on one, than this is a mistake.
const MANY: usize = 200;

pub(super) const fn length(low: f64, high: f64) -> Range {
    Range { low, high, ..Length::RANGE }
}
pub(super) const SPAN: Range = length(0.05, 12.0);
const PLACE: Range = length(-1.0, 10.0);
const HULL_MASS: Range = Range { low: 5.0, high: 300.0, ..Mass::RANGE };
const PART_MASS: Range = Range { low: 0.0, high: 60.0, ..Mass::RANGE };
pub(super) const PULL: Range = Range { low: 0.0, high: 5000.0, ..Force::RANGE };
const STIFFNESS: Range = Range {
    what: "a bending stiffness",
    low: 100.0,
    high: 1e6,
    units: &[Unit { names: &["N m2", "N m²", "Nm2", "Nm²"], factor: 1.0, offset: 0.0 }],
};
const UP_TO_LEVEL: Range = Range { low: 0.0, high: 89.0 * DEGREE, ..Angle::RANGE };

impl Class {
    /// Reads a class file's text; `file_name` is for messages.
    ///
    /// # Errors
    /// The first fault, with file, line and key.
    pub fn read(text: &str, file_name: &str) -> Result<Self, ClassError> {
        let document = toml_edit::Document::parse(text).map_err(|e| Node::unreadable(file_name, text, &e))?;
        let root = Node::root(file_name, text, document.as_table());
        root.only(&[
            "name",
            "hull",
            "mast",
            "boom",
            "sail",
            "sheet",
            "traveller",
            "vang",
            "downhaul",
            "outhaul",
            "board",
            "rudder",
            "sailor",
            "gauge",
        ])?;
        let sails = super::sails::sails(&root)?;
        let (sheet, lead) = sheet(&root)?;
        let hull = hull(&root)?;
        let sailor = sailor(&root, &hull)?;
        let mut class = Self {
            name: root.words("name", "an invented pram")?.to_owned(),
            hull,
            mast: mast(&root)?,
            boom: boom(&root)?,
            sails,
            sheet,
            lead,
            vang: vang(&root)?,
            downhaul: line(&root, "downhaul")?,
            outhaul_range: outhaul(&root)?,
            board: board(&root)?,
            rudder: rudder(&root)?,
            sailor,
            gauges: Vec::new(),
        };
        carries(&class).map_err(|what| root.fault("hull", what))?;
        towable(&root, &class)?;
        class.gauges = gauges(&root, &class)?;
        Ok(class)
    }

    /// The program's own class: an invented pram of 2.45 m with a leeboard.
    #[must_use]
    pub fn pram() -> Self {
        match Self::read(include_str!("../../../../data/classes/pram.toml"), "pram.toml") {
            Ok(class) => class,
            // The file is part of the program: a test reads it, so this is met only while editing it.
            Err(error) => unreachable!("{error}"),
        }
    }
}

/// Whether the hull floats hull, rig and the heaviest sailor with dry sides, upright and level.
///
/// # Errors
/// A sentence with what the lines carry and what would do.
pub fn carries(class: &Class) -> Result<(), String> {
    let form = HullForm::of(class, Constants::standard());
    let mass = class.hull.mass + class.mast.rig_mass + HEAVIEST_SAILOR;
    let water = Water::Fresh.at(Temperature::celsius(15.0));
    let middle = 0.5 * (class.sailor.aft + class.sailor.forward);
    let moment = class.hull.mass * class.hull.centre[0] + class.mast.rig_mass * class.mast.rig_centre[0] + HEAVIEST_SAILOR * middle;
    let place = [moment / mass, 0.0, class.hull.centre[1]];
    match form.float(mass, place, 0.0, water) {
        Some(f) if f.freeboard >= LEAST_FREEBOARD => Ok(()),
        floating => Err(format!(
            "these lines do not float hull, rig and a sailor of {} kg, {} kg in all, with {} cm of dry side: {}; check half-breadths and heights of the stations, and seat and weights",
            plain(HEAVIEST_SAILOR),
            plain(mass),
            plain(LEAST_FREEBOARD * 100.0),
            floating.map_or("she sinks or finds no balance".to_owned(), |f| format!(
                "the sheer comes to {} cm",
                plain((f.freeboard * 1000.0).round() / 10.0)
            ))
        )),
    }
}

/// A place in a table of its own, by the axes named.
fn place<const N: usize>(node: &Node<'_>, key: &str, axes: [&str; N], example: &str) -> Result<[f64; N], ClassError> {
    let at = node.child(key, example)?;
    at.only(&axes)?;
    let mut out = [0.0; N];
    for (value, axis) in out.iter_mut().zip(axes) {
        *value = at.quantity(axis, &PLACE, "0.5 m")?;
    }
    Ok(out)
}

fn hull(root: &Node<'_>) -> Result<Hull, ClassError> {
    let n = root.child("hull", "")?;
    n.only(&[
        "length_overall",
        "minimum_weight",
        "weighed",
        "corrector_place",
        "weight",
        "centre_of_gravity",
        "tanks",
        "blunt_bow_width",
        "station",
        "towed",
    ])?;
    let hull = Hull {
        length: n.quantity("length_overall", &length(1.0, 8.0), "2.45 m")?,
        minimum_mass: n.quantity("minimum_weight", &HULL_MASS, "95 lb")?,
        weighed: n.list_of_words("weighed")?,
        corrector_place: n.words_or("corrector_place", "")?,
        mass: n.quantity("weight", &HULL_MASS, "44 kg")?,
        centre: place(&n, "centre_of_gravity", ["x", "z"], "{ x = \"1.1 m\", z = \"0.2 m\" }")?,
        tanks: n.list_of_words("tanks")?,
        blunt_bow: n.quantity_or("blunt_bow_width", &length(0.0, 3.0), "0 m")?,
        stations: stations(&n)?,
        towed: towed(&n)?,
    };
    if hull.mass < hull.minimum_mass {
        let [weight, least] = [hull.mass, hull.minimum_mass].map(plain);
        let what = format!("a typical boat of {weight} kg is lighter than the class minimum of {least} kg: is one of them in pounds?");
        return Err(n.fault("weight", what));
    }
    let ends = hull.stations.first().zip(hull.stations.last());
    if let Some((aft, bow)) = ends
        && (aft.x.abs() > LENGTH_MISFIT * hull.length || (bow.x - hull.length).abs() > LENGTH_MISFIT * hull.length)
    {
        let what = format!(
            "the stations reach from {} to {} m, but the boat is {} m long; the first is the transom at 0 m, the last the bow",
            plain(aft.x),
            plain(bow.x),
            plain(hull.length)
        );
        return Err(n.fault("station", what));
    }
    Ok(hull)
}

fn stations(hull: &Node<'_>) -> Result<Vec<Station>, ClassError> {
    let nodes = hull.children("station")?;
    if !(7..=MANY).contains(&nodes.len()) {
        return Err(hull.fault("station", format!("found {} stations; write seven or more [[hull.station]], transom to bow", nodes.len())));
    }
    let mut stations: Vec<Station> = Vec::with_capacity(nodes.len());
    for n in &nodes {
        n.only(&["x", "points"])?;
        let x = n.quantity("x", &PLACE, "0.35 m")?;
        let points = n.pairs("points", [&length(0.0, 3.0), &length(-1.0, 3.0)], "[\"0.435 m\", \"0.14 m\"]")?;
        if stations.last().is_some_and(|s| s.x >= x) {
            return Err(n.fault("x", format!("found {} m, not forward of the station before it; order them from transom to bow", plain(x))));
        }
        if !(2..=MANY).contains(&points.len()) {
            return Err(n.fault("points", format!("found {} points; write two or more, keel to sheer", points.len())));
        }
        if points.windows(2).any(|p| p[0] == p[1]) {
            return Err(n.fault("points", "the same point stands twice in a row; leave one out"));
        }
        if points.first().zip(points.last()).is_none_or(|(keel, sheer)| sheer[1] <= keel[1] || sheer[0] <= 0.0) {
            return Err(n.fault("points", "the last point is not above the first, off the centreline; order them from keel to sheer"));
        }
        stations.push(Station { x, points });
    }
    Ok(stations)
}

fn towed(hull: &Node<'_>) -> Result<Option<Towed>, ClassError> {
    let Some(n) = hull.maybe_child("towed", "a table [hull.towed]")? else { return Ok(None) };
    n.only(&["mass", "speed", "drag"])?;
    let towed = Towed {
        mass: n.quantity("mass", &Mass::RANGE, "90 kg")?,
        speed: n.list("speed", &Range { low: 0.1, high: 10.0, ..Speed::RANGE }, "0.5 m/s")?,
        drag: n.list("drag", &Range { low: 0.01, high: 5000.0, ..Force::RANGE }, "1.6 N")?,
    };
    if towed.speed.len() < 2 || towed.speed.len() != towed.drag.len() {
        let found = format!("found {} speeds and {} drags", towed.speed.len(), towed.drag.len());
        return Err(n.fault("drag", format!("{found}; write one drag for each speed, two or more")));
    }
    if towed.speed.windows(2).any(|w| w[0] >= w[1]) {
        return Err(n.fault("speed", "the speeds do not rise; order them from slow to fast, each once"));
    }
    if towed.drag.windows(2).any(|w| w[0] >= w[1]) {
        return Err(n.fault("drag", "the drag does not rise with speed; tow again, or leave out the doubtful run"));
    }
    Ok(Some(towed))
}

/// Whether a towed curve can be of this hull: she floats the mass that was aboard, and the drags are of her size.
fn towable(root: &Node<'_>, class: &Class) -> Result<(), ClassError> {
    let (Some(towed), Some(n)) = (&class.hull.towed, root.child("hull", "")?.maybe_child("towed", "")?) else { return Ok(()) };
    let water = Water::Fresh.at(Temperature::celsius(15.0));
    let form = HullForm::of(class, Constants::standard());
    let mass = class.hull.mass + class.mast.rig_mass + towed.mass;
    let Some(level) = form.level(mass, water) else {
        return Err(
            n.fault("mass", format!("this hull does not float hull, rig and {} kg; write what was aboard beside them", plain(towed.mass)))
        );
    };
    let model =
        Resistance::of(&Class { hull: Hull { towed: None, ..class.hull.clone() }, ..class.clone() }, &form, Constants::standard(), water);
    for (speed, drag) in towed.speed.iter().zip(&towed.drag) {
        let computed = model.drag(Constants::standard(), water, &level, &Underway::straight(*speed, mass)).total;
        if !(TOWED_OVER_MODEL[0]..=TOWED_OVER_MODEL[1]).contains(&(drag / computed)) {
            let what = format!(
                "{} N at {} m/s is far from the {} N that such a hull takes; check the units of drag and speed",
                plain(*drag),
                plain(*speed),
                plain((computed * 10.0).round() / 10.0)
            );
            return Err(n.fault("drag", what));
        }
    }
    Ok(())
}

fn mast(root: &Node<'_>) -> Result<Mast, ClassError> {
    let n = root.child("mast", "")?;
    n.only(&["foot", "partner_z", "tack_above_partner", "stiffness", "diameter", "rig_weight", "rig_centre", "adjuster"])?;
    let adjuster = match n.maybe_child("adjuster", "{ kind = \"step\", notch = \"10 mm\", notches = 9 }")? {
        None => Adjuster { kind: AdjusterKind::Step, notch: 0.010, notches: 9 },
        Some(a) => {
            a.only(&["kind", "notch", "notches"])?;
            let kinds = [("step", AdjusterKind::Step), ("partner", AdjusterKind::Partner), ("insert", AdjusterKind::Insert)];
            let notches = a.number_or("notches", (1.0, 100.0), 9.0)?;
            Adjuster {
                kind: a.choice("kind", &kinds)?,
                notch: a.quantity_or("notch", &length(0.001, 0.1), "10 mm")?,
                notches: notches as u32,
            }
        }
    };
    let mast = Mast {
        foot: place(&n, "foot", ["x", "z"], "{ x = \"1.93 m\", z = \"0.05 m\" }")?,
        partner_z: n.quantity("partner_z", &PLACE, "0.38 m")?,
        tack_above_partner: n.quantity("tack_above_partner", &length(0.0, 3.0), "0.33 m")?,
        stiffness: n.quantity("stiffness", &STIFFNESS, "4300 N m2")?,
        diameter: n.quantity("diameter", &length(0.01, 0.2), "45 mm")?,
        rig_mass: n.quantity("rig_weight", &PART_MASS, "8 kg")?,
        rig_centre: place(&n, "rig_centre", ["x", "z"], "{ x = \"1.55 m\", z = \"1.45 m\" }")?,
        adjuster,
    };
    if mast.partner_z < mast.foot[1] + 0.05 {
        return Err(n.fault("partner_z", "the partner is not above the mast's foot by 5 cm or more; both heights count from the base line"));
    }
    Ok(mast)
}

fn boom(root: &Node<'_>) -> Result<Boom, ClassError> {
    let n = root.child("boom", "")?;
    n.only(&["length", "weight"])?;
    Ok(Boom { length: n.quantity("length", &SPAN, "2.05 m")?, mass: n.quantity("weight", &PART_MASS, "1.4 kg")? })
}

/// N per cm of line, in N/m.
pub(super) fn per_metre(per_centimetre: f64) -> f64 {
    per_centimetre * 100.0
}

fn sheet(root: &Node<'_>) -> Result<(Sheet, Lead), ClassError> {
    let n = root.child("sheet", "")?;
    n.only(&["on_boom", "purchase", "hand_limit", "block"])?;
    let sheet = Sheet {
        on_boom: n.quantity("on_boom", &SPAN, "1.08 m")?,
        purchase: n.number_or("purchase", (1.0, 12.0), 3.0)?,
        hand_limit: n.quantity_or("hand_limit", &PULL, "100 N")?,
    };
    let lead = match root.maybe_child("traveller", "a table [traveller]")? {
        Some(t) if n.has("block") => return Err(t.fault("x", "the sheet leads to a traveller and to sheet.block; keep one of them")),
        Some(t) => {
            t.only(&["x", "z", "half_width"])?;
            let half_width = t.quantity("half_width", &length(0.02, 2.0), "0.42 m")?;
            Lead::Traveller { x: t.quantity("x", &PLACE, "0.86 m")?, z: t.quantity("z", &PLACE, "0.30 m")?, half_width }
        }
        None if n.has("block") => {
            let [x, y, z] = place(&n, "block", ["x", "y", "z"], "{ x = \"0.9 m\", y = \"0 m\", z = \"0.1 m\" }")?;
            Lead::Block { x, y, z }
        }
        None => {
            let what = "is missing; add a table [traveller], or under [sheet] write block = { x = \"0.9 m\", y = \"0 m\", z = \"0.1 m\" }";
            return Err(root.fault("traveller", what));
        }
    };
    Ok((sheet, lead))
}

fn vang(root: &Node<'_>) -> Result<Option<Vang>, ClassError> {
    let Some(n) = root.maybe_child("vang", "a table [vang]")? else { return Ok(None) };
    n.only(&["on_boom", "below_boom", "tension_per_cm"])?;
    Ok(Some(Vang {
        on_boom: n.quantity("on_boom", &SPAN, "0.42 m")?,
        below_boom: n.quantity("below_boom", &length(0.02, 2.0), "0.27 m")?,
        stiffness: per_metre(n.quantity("tension_per_cm", &PULL, "40 N")?),
    }))
}

fn line(root: &Node<'_>, key: &str) -> Result<Option<f64>, ClassError> {
    let Some(n) = root.maybe_child(key, "a table")? else { return Ok(None) };
    n.only(&["tension_per_cm"])?;
    Ok(Some(per_metre(n.quantity("tension_per_cm", &PULL, "35 N")?)))
}

fn outhaul(root: &Node<'_>) -> Result<f64, ClassError> {
    let Some(n) = root.maybe_child("outhaul", "a table [outhaul]")? else { return Ok(0.12) };
    n.only(&["range"])?;
    n.quantity_or("range", &length(0.0, 1.0), "0.12 m")
}

fn board(root: &Node<'_>) -> Result<Board, ClassError> {
    let nodes = root.children("board")?;
    let [n] = &nodes[..] else {
        return Err(root.fault("board", format!("found {} boards; write one table [[board]]", nodes.len())));
    };
    n.only(&["kind", "side", "pivot", "length_from_pivot", "chord", "thickness", "angle", "lift"])?;
    let kinds = [("leeboard", BoardKind::Leeboard), ("daggerboard", BoardKind::Daggerboard), ("centreboard", BoardKind::Centreboard)];
    let kind = n.choice("kind", &kinds)?;
    let sides = [("starboard", Side::Starboard), ("port", Side::Port), ("either", Side::Either)];
    let side = if n.has("side") { n.choice("side", &sides)? } else { Side::Either };
    if kind != BoardKind::Leeboard && side != Side::Either {
        return Err(n.fault("side", "only a leeboard hangs on a side; leave this out"));
    }
    let lift = if n.has("lift") { Some(n.quantity("lift", &length(0.02, 2.0), "0.45 m")?) } else { None };
    if lift.is_some() && kind != BoardKind::Daggerboard {
        return Err(n.fault("lift", "only a daggerboard is pulled straight up; leave this out"));
    }
    if lift.is_some() && n.has("angle") {
        return Err(n.fault("angle", "a board that is pulled straight up does not swing; keep angle or lift"));
    }
    let (forward, raised) = match n.maybe_child("angle", "{ forward = \"20 deg\", raised = \"85 deg\" }")? {
        None => (0.0, 80.0 * DEGREE),
        Some(a) => {
            a.only(&["forward", "raised"])?;
            (a.quantity_or("forward", &UP_TO_LEVEL, "0 deg")?, a.quantity_or("raised", &UP_TO_LEVEL, "80 deg")?)
        }
    };
    Ok(Board {
        kind,
        side,
        pivot: place(n, "pivot", ["x", "y", "z"], "{ x = \"1.44 m\", y = \"0.50 m\", z = \"0.33 m\" }")?,
        length: n.quantity("length_from_pivot", &length(0.1, 3.0), "1.02 m")?,
        chord: n.quantity("chord", &length(0.05, 1.5), "0.27 m")?,
        thickness: n.quantity_or("thickness", &length(0.003, 0.1), "20 mm")?,
        forward,
        raised,
        lift,
    })
}

fn rudder(root: &Node<'_>) -> Result<Rudder, ClassError> {
    let n = root.child("rudder", "")?;
    n.only(&["x", "length", "top_z", "chord", "thickness"])?;
    Ok(Rudder {
        x: n.quantity("x", &PLACE, "-0.10 m")?,
        length: n.quantity("length", &length(0.1, 3.0), "0.75 m")?,
        top_z: n.quantity("top_z", &PLACE, "0.26 m")?,
        chord: n.quantity("chord", &length(0.05, 1.0), "0.22 m")?,
        thickness: n.quantity_or("thickness", &length(0.003, 0.1), "15 mm")?,
    })
}

fn sailor(root: &Node<'_>, hull: &Hull) -> Result<Seat, ClassError> {
    let n = root.child("sailor", "")?;
    n.only(&["seat", "hike_out"])?;
    let seat = n.child("seat", "{ aft = \"0.5 m\", forward = \"1.55 m\" }")?;
    seat.only(&["aft", "forward"])?;
    let aft = seat.quantity("aft", &PLACE, "0.5 m")?;
    let forward = seat.quantity("forward", &PLACE, "1.55 m")?;
    if forward <= aft {
        return Err(seat.fault("forward", "the seat's forward end is not forward of its aft end; both count from the transom"));
    }
    let hike_out = if n.has("hike_out") {
        n.quantity("hike_out", &length(0.1, 2.5), "0.80 m")?
    } else {
        let side = hull.stations.iter().filter_map(|s| s.points.last()).map(|sheer| sheer[0]).fold(0.0, f64::max);
        centre_out(usual_stature(45.0), side, &HIKED)
    };
    Ok(Seat { aft, forward, hike_out })
}

fn gauges(root: &Node<'_>, class: &Class) -> Result<Vec<GaugeDefinition>, ClassError> {
    let nodes = root.children("gauge")?;
    if nodes.is_empty() {
        return Ok(usual_gauges(class));
    }
    let mut gauges: Vec<GaugeDefinition> = Vec::with_capacity(nodes.len());
    for n in &nodes {
        n.only(&["name", "from", "to", "repeat_error", "step", "afloat", "seconds"])?;
        let name = n.words("name", "boom_end_sheeted")?;
        let gauge = Gauge::named(name).map_err(|near| {
            n.fault("name", format!("\"{}\" is no gauge; the nearest are {}", name.chars().take(40).collect::<String>(), near.join(", ")))
        })?;
        if let Some(part) = lacking(gauge, class) {
            return Err(n.fault("name", format!("this class has no {name}: it lacks {part}; add that or leave this gauge out")));
        }
        if gauges.iter().any(|g| g.gauge == gauge) {
            return Err(n.fault("name", format!("{name} stands here twice; keep one")));
        }
        let usual = usual_gauge(gauge);
        let amount = |key: &str, otherwise: f64| match gauge.unit() {
            _ if !n.has(key) => Ok(otherwise),
            GaugeUnit::Centimetres => n.quantity(key, &length(0.0, 1.0), "1 cm"),
            GaugeUnit::Degrees => n.quantity(key, &Range { low: 0.0, high: 45.0 * DEGREE, ..Angle::RANGE }, "2 deg"),
            GaugeUnit::OnOff => n.number_or(key, (0.0, 1.0), otherwise),
        };
        gauges.push(GaugeDefinition {
            gauge,
            from: n.words_or("from", &usual.from)?,
            to: n.words_or("to", &usual.to)?,
            repeat_error: amount("repeat_error", usual.repeat_error)?,
            step: amount("step", usual.step)?,
            afloat: n.truth_or("afloat", usual.afloat)?,
            seconds: n.number_or("seconds", (0.0, 3600.0), usual.seconds)?,
        });
        if gauges.last().is_some_and(|g| g.step <= 0.0) {
            return Err(n.fault("step", "a step of nothing is no step; write the smallest change worth making"));
        }
    }
    Ok(gauges)
}
