//! An invented 2.45 m pram for tests that need a class without a class file. Its hull is left to the hull's own tests.

use boat::class::{
    Adjuster, AdjusterKind, Board, BoardKind, Boom, Class, Hull, Lead, Mast, Rudder, Sail, Seat, Sheet, Side, Station, Vang,
};

/// The pram: sail of 3.36 m2 on an unstayed mast, traveller, vang.
pub(crate) fn pram() -> Class {
    let station = |x: f64, half: f64, z: f64| Station { x, points: vec![[0.0, z], [half, z + 0.04], [half + 0.06, 0.40]] };
    Class {
        name: "an invented pram".into(),
        hull: Hull {
            length: 2.45,
            minimum_mass: 43.09,
            weighed: vec!["hull".into()],
            corrector_place: "under the middle thwart".into(),
            mass: 44.0,
            centre: [1.13, 0.20],
            tanks: Vec::new(),
            blunt_bow: 0.5,
            stations: (0..8).map(|i| station(0.35 * f64::from(i), 0.45, 0.03)).collect(),
            towed: None,
        },
        mast: Mast {
            foot: [1.93, 0.05],
            partner_z: 0.38,
            tack_above_partner: 0.33,
            stiffness: 4300.0,
            diameter: 0.045,
            rig_mass: 8.0,
            rig_centre: [1.55, 1.45],
            adjuster: Adjuster { kind: AdjusterKind::Step, notch: 0.01, notches: 9 },
        },
        boom: Boom { length: 2.05, mass: 1.4 },
        sails: vec![Sail {
            name: "full".into(),
            luff: 2.75,
            foot: 1.95,
            leech: 3.40,
            head: 0.28,
            roach: 0.16,
            battens: vec![0.55, 0.60],
            luff_curve: 0.020,
            built_in_camber: 0.056,
            cloth: 0.170,
            tie_spacing: 0.22,
            sprit: None,
        }],
        sheet: Sheet { on_boom: 1.08, purchase: 3.0, hand_limit: 100.0 },
        lead: Lead::Traveller { x: 0.86, z: 0.30, half_width: 0.42 },
        vang: Some(Vang { on_boom: 0.42, below_boom: 0.27, stiffness: 4000.0 }),
        downhaul: Some(3500.0),
        outhaul_range: 0.12,
        board: Board {
            kind: BoardKind::Leeboard,
            side: Side::Starboard,
            pivot: [1.44, 0.50, 0.33],
            length: 1.02,
            chord: 0.27,
            thickness: 0.020,
            forward: 0.35,
            raised: 1.48,
            lift: None,
        },
        rudder: Rudder { x: -0.10, length: 0.75, top_z: 0.26, chord: 0.22, thickness: 0.020 },
        sailor: Seat { aft: 0.5, forward: 1.55, hike_out: 0.80 },
        gauges: Vec::new(),
    }
}
