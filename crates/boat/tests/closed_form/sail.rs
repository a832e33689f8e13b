//! Sail against closed forms: thin-aerofoil theory (A1-A3), Prandtl's wings (A11, A12), arcs, beams and strings, and similarity.
//!
//! `circular_arc_section_theory.csv`: thin-aerofoil theory and the exact conformal arc (Kutta 1902; Joukowski), evaluated.
//! `finite_wing_computed.csv`: Prandtl's elliptic wing, Helmbold 1942, rectangular wing by Prandtl's equation with 200 terms.

use crate::pram::pram;
use boat::Constants;
use boat::load::Attitude;
use boat::sail::lifting_line::{Wing, WingChord, downwash, low_aspect_slope, wing};
use boat::sail::section::{attached_centre, mean_line, potential_lift};
use boat::sail::{Rig, SailInput, SailSolution, solve_sail};
use boat::scalar::Part;
use core::f64::consts::{PI, TAU};
use measure::angle::DEGREE;
use measure::fluid::Fluid;
use measure::wind::WindProfile;

/// A1: half a per cent with the viscous correction off.
const IDEAL_LIFT_TOLERANCE: f64 = 0.005;
/// A2: within 3 % of the thin or of the exact arc.
const ARC_TOLERANCE: f64 = 0.03;
/// A3: a hundredth of the chord.
const CENTRE_TOLERANCE: f64 = 0.01;
/// A11: 1 % at 60 stations.
const WING_TOLERANCE: f64 = 0.01;

/// Rows of a table with comments and a header.
fn rows(text: &str) -> Vec<Vec<f64>> {
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter(|l| !l.starts_with('#'))
        .skip(1)
        .map(|l| l.split(',').filter_map(|c| c.trim().parse().ok()).collect())
        .collect();
    assert!(rows.len() > 5);
    rows
}

#[test]
fn arc_at_ideal_incidence() {
    for camber in [0.02, 0.05, 0.10, 0.15] {
        let line = mean_line(camber, 0.5);
        assert!(line.ideal.abs() < 1e-12);
        let lift = potential_lift(TAU, line.ideal, line.zero_lift);
        assert!((lift / (4.0 * PI * camber) - 1.0).abs() < IDEAL_LIFT_TOLERANCE, "{camber}: {lift}");
    }
}

#[test]
fn arc_at_any_incidence() {
    for row in rows(include_str!("circular_arc_section_theory.csv")) {
        let [camber, alpha, thin, exact, zero_thin, zero_exact, moment] = row[..] else { panic!("{row:?}") };
        let line = mean_line(camber, 0.5);
        let lift = potential_lift(TAU, alpha * DEGREE, line.zero_lift);
        let off = |of: f64| (lift - of).abs() / of.abs().max(0.05);
        assert!(off(thin).min(off(exact)) < ARC_TOLERANCE, "f {camber} alpha {alpha}: {lift}");
        // The zero of the lift is the exact arc's, printed to three places.
        let zero = line.zero_lift.atan() / DEGREE;
        assert!((zero - zero_exact).abs() < 2e-3 && (line.zero_lift / DEGREE - zero_thin).abs() < 2e-3, "{zero}");
        assert!((line.moment - moment).abs() < 1e-4);
    }
}

#[test]
fn mean_line_is_its_own_quadrature() {
    // Glauert's integrals over the slope, 20 000 midpoints: the error is below 1e-7.
    const N: usize = 20_000;
    for (f, p) in [(0.10, 0.40), (0.08, 0.30), (0.12, 0.52), (0.03, 0.45)] {
        let mut a = [0.0; 3];
        for k in 0..N {
            let t = (k as f64 + 0.5) * PI / N as f64;
            let x = 0.5 * (1.0 - t.cos());
            let slope = if x < p { 2.0 * f / (p * p) * (p - x) } else { 2.0 * f / ((1.0 - p) * (1.0 - p)) * (p - x) };
            for (n, a) in a.iter_mut().enumerate() {
                *a += slope * (n as f64 * t).cos() * if n == 0 { 1.0 } else { 2.0 } / N as f64;
            }
        }
        let line = mean_line(f, p);
        assert!((line.ideal - a[0]).abs() < 1e-6 && (line.zero_lift - (a[0] - 0.5 * a[1])).abs() < 1e-6);
        assert!((line.moment - PI / 4.0 * (a[2] - a[1])).abs() < 1e-6, "{f} {p}");
    }
}

#[test]
fn centre_of_pressure_goes_from_the_middle_forward() {
    for camber in [0.05, 0.10, 0.15] {
        let line = mean_line(camber, 0.5);
        let centre = |alpha: f64| attached_centre(potential_lift(TAU, line.ideal + alpha, line.zero_lift), line.moment);
        assert!((centre(0.0) - 0.5).abs() < CENTRE_TOLERANCE, "{camber}: {}", centre(0.0));
        let along: Vec<f64> = (0..=20).map(|k| centre(f64::from(k) * DEGREE)).collect();
        assert!(along.windows(2).all(|w| w[1] < w[0]) && along[20] > 0.25, "{along:?}");
    }
    // No camber: the quarter chord at any incidence.
    assert!((attached_centre(0.8, 0.0) - 0.25).abs() < 1e-3);
}

#[test]
fn prandtl_wings() {
    for row in rows(include_str!("finite_wing_computed.csv")) {
        let [ar, elliptic, helmbold, rectangle, delta, _] = row[..] else { panic!("{row:?}") };
        let alpha = 0.1;
        let e = wing(&Wing { aspect_ratio: ar, chord: WingChord::Elliptic, twist: 0.0, slope: TAU }, alpha, 60).unwrap();
        assert!((e.lift / alpha / elliptic - 1.0).abs() < WING_TOLERANCE && (e.efficiency - 1.0).abs() < 1e-3, "AR {ar}: {e:?}");
        // Helmbold by the section slope that the sail uses.
        let low = Wing { aspect_ratio: ar, chord: WingChord::Elliptic, twist: 0.0, slope: low_aspect_slope(ar) };
        assert!((wing(&low, alpha, 60).unwrap().lift / alpha / helmbold - 1.0).abs() < WING_TOLERANCE, "AR {ar}");
        let r = wing(&Wing { aspect_ratio: ar, chord: WingChord::Tapered(1.0), twist: 0.0, slope: TAU }, alpha, 60).unwrap();
        assert!((r.lift / alpha / rectangle - 1.0).abs() < WING_TOLERANCE, "AR {ar}: {r:?}");
        // Drag of a rectangle, 1 + delta, within 1 %.
        assert!((1.0 / r.efficiency - (1.0 + delta)).abs() < WING_TOLERANCE, "AR {ar}: {r:?}");
        // A12: never below the ellipse.
        assert!(r.efficiency < 1.0 + 1e-9);
    }
    // As many strips as the sail has are enough: a quarter of a per cent.
    let few = wing(&Wing { aspect_ratio: 4.0, chord: WingChord::Elliptic, twist: 0.0, slope: TAU }, 0.1, boat::sail::STRIPS).unwrap();
    assert!((few.lift / 0.1 / (TAU / 1.5) - 1.0).abs() < 0.0025, "{few:?}");
}

#[test]
fn a_sealed_foot_doubles_the_aspect_ratio() {
    // Half an elliptic load with its image is a whole one: the downwash is uniform, gamma over twice the whole span.
    const N: usize = 40;
    let edge: Vec<f64> = (0..=N).map(|j| (j as f64 * PI / (2 * N) as f64).sin()).collect();
    let at: Vec<f64> = (0..N).map(|i| ((i as f64 + 0.5) * PI / (2 * N) as f64).sin()).collect();
    for (i, &z) in at.iter().enumerate().take(N - 2).skip(1) {
        let wash: f64 =
            (0..N).map(|j| (1.0 - at[j] * at[j]).sqrt() * (downwash(z, edge[j], edge[j + 1]) + downwash(z, -edge[j + 1], -edge[j]))).sum();
        // Elliptic load of unit circulation on a span of 2: w = 1 / (2 b) = 0.25.
        assert!((wash - 0.25).abs() < 0.005, "{i}: {wash}");
    }
    let class = pram();
    let rig = Rig::new(&class, &class.sails[0], Constants::standard());
    let geometric = rig.geometry.luff.powi(2) / rig.geometry.area;
    assert!(rig.aspect_ratio < 2.0 * geometric && rig.aspect_ratio > 0.7 * geometric, "{} {geometric}", rig.aspect_ratio);
}

#[test]
fn foot_keeps_its_length() {
    for gap in [0.01, 0.05, 0.10, 0.20, 0.40] {
        let foot = 1.95;
        let [moved, ratio] = boat::sail::geometry::FootArc { foot }.at([gap]);
        let chord = foot * ratio;
        assert!((foot - chord - moved).abs() < 1e-12);
        let radius = (chord * chord / 4.0 + gap * gap) / (2.0 * gap);
        let arc = 4.0 * radius * (2.0 * gap / chord).atan();
        assert!((arc / foot - 1.0).abs() < 1e-6, "{gap}: {arc}");
    }
    assert_eq!(boat::sail::geometry::FootArc { foot: 1.95 }.at([0.0])[0], 0.0);
}

#[test]
fn boom_end_falls_with_rake() {
    let class = pram();
    let g = Rig::new(&class, &class.sails[0], Constants::standard()).geometry;
    // A triangle of spars: 3.6 cm a degree for a boom of 2.05 m.
    let per_degree = g.boom_end(DEGREE) - g.boom_end(0.0);
    assert!((per_degree + g.boom * DEGREE).abs() < 1e-3, "{per_degree}");
    for rake in [-3.0 * DEGREE, 0.0, 5.0 * DEGREE] {
        assert!((g.rake_for_boom_end(g.boom_end(rake)).unwrap() - rake).abs() < 1e-9);
        assert!((g.rake_for_mast_tip_tape(g.mast_tip_tape(rake)).unwrap() - rake).abs() < 1e-9);
    }
    assert!(g.rake_for_boom_end(5.0).is_none());
    // Tip aft: the foot goes forward below a partner that holds.
    assert!(g.foot_forward(DEGREE) > 0.0 && g.partner_aft(DEGREE) == 0.0);
}

#[test]
fn mast_bends_as_a_beam() {
    let class = pram();
    let rig = Rig::new(&class, &class.sails[0], Constants::standard());
    let g = &rig.geometry;
    // Curvature of a cantilever under a load at its tip, integrated twice.
    const N: usize = 20_000;
    let tip = g.tack + g.luff;
    let step = tip / N as f64;
    let (mut slope, mut at, mut shape) = (0.0, 0.0, vec![0.0]);
    for k in 0..N {
        let curvature = (tip - (k as f64 + 0.5) * step) / class.mast.stiffness;
        at += (slope + 0.5 * curvature * step) * step;
        slope += curvature * step;
        shape.push(at);
    }
    let of = |h: f64| shape[(h / step).round() as usize];
    for (s, bow) in g.middle.into_iter().zip(rig.head_bend) {
        let line = of(g.tack) * (1.0 - s) + of(tip) * s;
        assert!((bow - (line - of(g.tack + s * g.luff))).abs() < 1e-6, "{s}");
    }
    assert!((rig.lean - (of(tip) - of(g.tack)) / g.luff).abs() < 1e-7);
}

#[test]
fn leech_sags_as_a_string() {
    let class = pram();
    let g = Rig::new(&class, &class.sails[0], Constants::standard()).geometry;
    let rig = Rig::new(&class, &class.sails[0], Constants::standard());
    // 1 N per metre of leech all the way to the point where leech and mast meet, 1 N of tension: a parabola; what hangs above
    // the head is added by its own lever.
    for (i, s) in g.middle.into_iter().enumerate() {
        let below: f64 = (0..boat::sail::STRIPS).map(|j| rig.string[i][j] * g.leech * g.share[j]).sum();
        let above = g.leech * g.leech * s / g.apex * 0.5 * (g.apex - 1.0).powi(2);
        let parabola = 0.5 * g.leech * g.leech * s * (g.apex - s);
        // Fifteen strips: half a per cent, worst at the foot.
        assert!(((below + above) / parabola - 1.0).abs() < 0.005, "{s}: {} {parabola}", below + above);
    }
}

/// A sail without weight on a stiff mast, cloth that fills at once: nothing but pressure and ropes.
fn light(density: f64, tws: f64) -> Option<SailSolution> {
    let mut class = pram();
    class.boom.mass = 0.0;
    class.mast.stiffness = 1e12;
    class.sails[0].cloth = 0.0;
    class.sheet.hand_limit = 1e6;
    let c = Constants { fill_pressure: 1e-6, leech_least: 1e-9, draft_shift: 0.0, drag_wrinkle: 0.0, ..*Constants::standard() };
    let rig = Rig::new(&class, &class.sails[0], &c);
    let input = SailInput {
        attitude: Attitude::new(0.05, 0.10, 0.0, 1.2),
        speed: 0.25 * tws,
        leeway: 0.07,
        twa_to_track: 45.0 * DEGREE,
        wind: WindProfile { at_meter: tws, roughness: 3e-4 },
        roll_rate: 0.0,
        rake: 0.03,
        boom: 9.0 * DEGREE,
        car: 0.0,
        gap: 0.10,
        vang_tension: 0.0,
        luff_tension: 50.0,
        sprit: 0.0,
    };
    solve_sail(&rig, &c, Fluid { density, viscosity: 1.46e-5 }, &input, None).solved()
}

/// What is left of widths in newtons and pascals, at winds above 100 m/s where they vanish against the load.
const SIMILARITY_TOLERANCE: f64 = 2e-3;

#[test]
fn a_sheeted_leech_twists_the_same_in_any_wind() {
    let (a, b) = (light(1.225, 100.0).unwrap(), light(1.225, 300.0).unwrap());
    for (x, y) in a.state.twist.into_iter().zip(b.state.twist) {
        assert!((x - y).abs() < SIMILARITY_TOLERANCE, "{x} {y}");
    }
    for (x, y) in a.answer.load.force.into_iter().zip(b.answer.load.force) {
        assert!((y / x / 9.0 - 1.0).abs() < SIMILARITY_TOLERANCE, "{x} {y}");
    }
}

#[test]
fn loads_go_with_density() {
    let (a, b) = (light(1.2, 150.0).unwrap(), light(1.8, 150.0).unwrap());
    for (x, y) in [
        (a.answer.load.force[0], b.answer.load.force[0]),
        (a.answer.load.heeling, b.answer.load.heeling),
        (a.answer.load.luffing, b.answer.load.luffing),
        (a.answer.sheet_force, b.answer.sheet_force),
        (a.state.leech, b.state.leech),
    ] {
        assert!((y / x / 1.5 - 1.0).abs() < SIMILARITY_TOLERANCE, "{x} {y}");
    }
}
