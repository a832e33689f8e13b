//! A box barge and Wigley's hull: volumes, centres and righting arms known exactly.

use boat::constants::Constants;
use boat::hull::HullForm;
use boat::hull::judge::wigley;
use boat::hull::resistance::friction_line;
use measure::angle::DEGREE;

/// A barge 2.3 x 1.1 m that draws 0.25 m, walls 0.5 m high.
fn barge() -> HullForm {
    HullForm::from_offsets((0.0, 2.3), 12, Constants::standard(), |_| vec![[0.0, 0.0], [0.55, 0.0], [0.55, 0.75]])
}

/// H5b: wall-sided formula, GZ = sin (GM + BM tan^2 / 2), weight 0.10 m above the waterline, 5, 10, 20 degrees.
#[test]
fn a_box_rights_herself_as_the_wall_sided_formula_says() {
    let (hull, volume) = (barge(), 2.3 * 1.1 * 0.25);
    for (heel, arm) in [(5.0, 0.015677), (10.0, 0.032056), (20.0, 0.070131)] {
        let heel = heel * DEGREE;
        let water = measure::fluid::Fluid { density: 1000.0, viscosity: 1e-6 };
        let f = hull.float(1000.0 * volume, [1.15, 0.0, 0.35], heel, water).unwrap();
        assert!((f.righting_arm - arm).abs() < 1e-5, "{heel}: {} {arm}", f.righting_arm);
        assert!((f.afloat.volume / volume - 1.0).abs() < 1e-9 && f.trim.abs() < 1e-9);
    }
}

#[test]
fn a_box_upright_is_length_times_breadth_times_draught() {
    let a = barge().afloat(0.0, 0.25, 0.0);
    assert!((a.volume - 2.3 * 1.1 * 0.25).abs() < 1e-12);
    // Ratios are kept finite by a trillionth of a cubic metre.
    assert!((a.centre[0] - 1.15).abs() < 1e-11 && a.centre[1].abs() < 1e-12 && (a.centre[2] + 0.125).abs() < 1e-11);
    assert!((a.waterplane_area - 2.3 * 1.1).abs() < 1e-9 && (a.waterplane_second - 1.1 * 2.3f64.powi(3) / 12.0).abs() < 1e-9);
    // Bottom and sides; the transom is apart. The edge from wet to dry is rounded by millimetres.
    assert!((a.wetted_area - 2.3 * (1.1 + 0.5)).abs() < 1e-3, "{}", a.wetted_area);
    assert!((a.transom_area - 1.1 * 0.25).abs() < 1e-12 && (a.transom_push - 1.1 * 0.25 * 0.125).abs() < 1e-12);
    assert!((a.transom_depth - 0.25).abs() < 0.003 && (a.bow_depth - 0.25).abs() < 1e-12);
    // Mean draught against the box's, and an effective length of a uniform body, sqrt(L^2/12) times the factor.
    assert!((a.side_area - 2.3 * 0.25).abs() < 1e-5 && (a.side_centre - 1.15).abs() < 1e-9);
    assert!((a.length - Constants::standard().length_factor * 2.3 / 12f64.sqrt()).abs() < 1e-6);
    assert!((a.waterline_length - 2.3).abs() < 1e-9 && (a.draught - 0.25).abs() < 1e-12);
}

/// H5: V = 4/9 L B T; skin over L (2 T + B) = .6613 at B/L .1, T/L .0625 (section quadrature).
#[test]
fn wigleys_hull_has_its_volume_and_skin() {
    let [l, b, t] = [1.0, 0.1, 0.0625];
    let a = wigley([l, b, t, 0.02], [60, 160]).afloat(0.0, 0.0, 0.0);
    assert!((a.volume / (4.0 / 9.0 * l * b * t) - 1.0).abs() < 1e-3, "{}", a.volume);
    // This small hull is a twentieth of a boat, the rounding of the wet edge is not: it is taken out by a larger one.
    let k = 100.0;
    let large = wigley([k * l, k * b, k * t, k * 0.02], [60, 160]).afloat(0.0, 0.0, 0.0);
    let share = large.wetted_area / (k * l * k * (2.0 * t + b));
    assert!((share / 0.6613 - 1.0).abs() < 1e-3, "{share}");
}

/// The formula itself; H1's table is in `published`.
#[test]
fn friction_line_at_a_round_number() {
    assert!((friction_line(1e7) - 0.003).abs() < 1e-15);
}
