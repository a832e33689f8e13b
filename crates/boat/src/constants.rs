//! Every constant of the model, read once from `data/constants.toml`, where each has its unit, range and source.
//!
//! The kernels read plain numbers from [`Constants`]; the ranges are for `assumed` and for sampling what we do not know.

use serde::Deserialize;
use std::sync::LazyLock;

const TEXT: &str = include_str!("../../../data/constants.toml");

/// One constant as the data file has it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Constant {
    /// Its name, like `hull.form_factor`.
    pub name: String,
    /// Unit, "1" for a plain number.
    pub unit: String,
    /// The value used.
    pub value: f64,
    /// It lies above this 19 times in 20 (with `high`).
    pub low: f64,
    /// And below this.
    pub high: f64,
    /// Where it comes from; starts with "assumed" when nobody measured it.
    pub source: String,
    /// Which settings or speeds it moves, in words.
    pub moves: String,
}

impl Constant {
    /// Whether it rests on no source.
    #[must_use]
    pub fn is_assumed(&self) -> bool {
        self.source.contains("assumed")
    }
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Residuary {
    froude: Vec<f64>,
    ratio: Vec<f64>,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    constant: Vec<Constant>,
    residuary: Residuary,
}

static FILE: LazyLock<File> = LazyLock::new(|| match toml::from_str(TEXT) {
    Ok(file) => file,
    // The file is part of the program: a test reads it, so this is met only while editing it.
    Err(error) => unreachable!("data/constants.toml: {error}"),
});

/// All constants in the order of the data file.
#[must_use]
pub fn all() -> &'static [Constant] {
    &FILE.constant
}

/// Residuary resistance over displacement weight against Froude number: the table of the data file.
#[must_use]
pub fn residuary_table() -> (&'static [f64], &'static [f64]) {
    (&FILE.residuary.froude, &FILE.residuary.ratio)
}

macro_rules! constants {
    ($($field:ident = $name:literal),+ $(,)?) => {
        /// The values the kernels use, SI.
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct Constants {
            $( #[doc = concat!("`", $name, "` of `data/constants.toml`.")] pub $field: f64, )+
        }

        impl Constants {
            /// Names in the order of the fields.
            pub const NAMES: &'static [&'static str] = &[$($name),+];

            /// Values chosen for each constant: `choose` sees the entry and gives its value.
            #[must_use]
            pub fn chosen(mut choose: impl FnMut(&Constant) -> f64) -> Self {
                let mut take = |name: &str| all().iter().find(|c| c.name == name).map_or(f64::NAN, &mut choose);
                Self { $( $field: take($name), )+ }
            }
        }
    };
}

constants! {
    camber_effect = "section.camber_effect",
    lift_max_flat = "section.lift_max_flat",
    lift_max_per_camber = "section.lift_max_per_camber",
    lift_max_camber_scale = "section.lift_max_camber_scale",
    lift_max_per_draft_forward = "section.lift_max_per_draft_forward",
    drag_least = "section.drag_least",
    drag_per_mast = "section.drag_per_mast",
    drag_per_camber_squared = "section.drag_per_camber_squared",
    suction_lost = "section.suction_lost",
    drag_near_stall = "section.drag_near_stall",
    normal_broad = "section.normal_broad",
    normal_per_camber = "section.normal_per_camber",
    normal_power = "section.normal_power",
    stall_beyond = "section.stall_beyond",
    stall_width = "section.stall_width",
    luff_width = "section.luff_width",
    drag_flapping = "section.drag_flapping",
    drag_wrinkle = "section.drag_wrinkle",
    draft_middle = "section.draft_middle",
    draft_shift = "section.draft_shift",
    fill_pressure = "rig.fill_pressure",
    gooseneck_share = "rig.gooseneck_share",
    leech_least = "rig.leech_least",
    luff_tension_snug = "rig.luff_tension_snug",
    sag_limit = "rig.sag_limit",
    downwash_smoothing = "rig.smoothing",
    form_factor = "hull.form_factor",
    reynolds_length = "hull.reynolds_length",
    residuary_scale = "hull.residuary_scale",
    residuary_slenderness = "hull.residuary_slenderness",
    residuary_heel = "hull.residuary_heel",
    leeway_drag = "hull.leeway_drag",
    length_factor = "hull.length_factor",
    transom_drag = "hull.transom_drag",
    bow_drag = "hull.bow_drag",
    dynamic_trim = "hull.dynamic_trim",
    dynamic_trim_froude = "hull.dynamic_trim_froude",
    added_mass = "hull.added_mass",
    cross_flow = "hull.cross_flow",
    chop = "hull.chop",
    windage_area = "hull.windage_area",
    windage_per_sailor = "hull.windage_per_sailor",
    windage_side = "hull.windage_side",
    foil_mirror = "foil.mirror",
    foil_slope_share = "foil.slope_share",
    foil_cross_flow = "foil.cross_flow",
    foil_lift_max = "foil.lift_max",
    foil_span_efficiency = "foil.span_efficiency",
    foil_roughness = "foil.roughness",
    foil_friction_share = "foil.friction_share",
    foil_spray = "foil.spray",
    foil_pressure_centre = "foil.pressure_centre",
    foil_pressure_depth = "foil.pressure_depth",
    downwash_on_rudder = "foil.downwash_on_rudder",
    rudder_pressure = "foil.rudder_pressure",
    foil_stall_drag = "foil.stall_drag",
    board_axis = "foil.board_axis",
    tiller_length = "foil.tiller_length",
    hike_base = "sailor.hike_base",
    hike_per_stature = "sailor.hike_per_stature",
    sustained = "sailor.sustained",
    sailor_centre_height = "sailor.centre_height",
    windage_height = "sailor.windage_height",
}

static STANDARD: LazyLock<Constants> = LazyLock::new(|| Constants::chosen(|c| c.value));

impl Constants {
    /// The values of the data file.
    #[must_use]
    pub fn standard() -> &'static Self {
        &STANDARD
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn file_and_model_name_the_same_constants() {
        let file: BTreeSet<_> = all().iter().map(|c| c.name.as_str()).collect();
        let model: BTreeSet<_> = Constants::NAMES.iter().copied().collect();
        assert_eq!(file, model);
        assert_eq!(file.len(), all().len(), "a constant is written twice");
    }

    #[test]
    fn every_value_lies_in_its_range_and_has_a_source() {
        for c in all() {
            assert!(c.low <= c.value && c.value <= c.high && c.low < c.high, "{}", c.name);
            assert!(!c.source.is_empty() && !c.moves.is_empty(), "{}", c.name);
        }
        let (froude, ratio) = residuary_table();
        assert!(froude.len() == ratio.len() && froude.windows(2).all(|w| w[0] < w[1]) && ratio.windows(2).all(|w| w[0] <= w[1]));
    }
}
