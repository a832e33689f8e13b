//! Notches from two heights, against the triangle of mast, partner and boom worked out here anew.

use advice::AdviceError;
use advice::rake::{Masthead, Notches, SheetedDrop, way};
use boat::balance::Boat;
use boat::class::{AdjusterKind, Class};
use boat::constants::Constants;
use measure::Temperature;
use measure::fluid::Water;

/// Tape error of one reading, m.
const TAPE: f64 = 0.01;

pub(crate) fn boat(kind: AdjusterKind) -> Boat {
    let mut class = Class::pram();
    class.mast.adjuster.kind = kind;
    Boat::new(&class, 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard())
}

/// The boom end over the transom when the mast's foot stands `forward` m forward of upright and the partner holds, by a
/// triangle of its own: the boom makes the sail's tack angle with the mast.
fn height(boat: &Boat, forward: f64) -> f64 {
    let (class, sail) = (&boat.class, &boat.class.sails[0]);
    let rake = (forward / (class.mast.partner_z - class.mast.foot[1])).atan();
    let tack = ((sail.luff.powi(2) + sail.foot.powi(2) - sail.leech.powi(2)) / (2.0 * sail.luff * sail.foot)).acos();
    let gooseneck = class.mast.partner_z + class.mast.tack_above_partner * rake.cos();
    let up = tack - core::f64::consts::FRAC_PI_2 - rake;
    gooseneck + class.boom.length * up.sin() - class.hull.stations[0].points.last().unwrap()[1]
}

#[test]
fn a_notch_is_what_the_triangle_says() {
    let boat = boat(AdjusterKind::Step);
    let notches = Notches::of_class(&boat);
    // From half a degree either side of the middle: a notch turns the mast by 1.7 degrees, so the two differ by curvature only.
    const CURVATURE: f64 = 0.0005;
    let by_hand = height(&boat, 0.0) - height(&boat, boat.class.mast.adjuster.notch);
    assert!((notches.fall - by_hand).abs() < CURVATURE, "{} {by_hand}", notches.fall);
    assert!(notches.doubt > 0.0 && notches.known.is_none());
}

#[test]
fn two_heights_give_the_boats_own_notch_and_place() {
    let boat = boat(AdjusterKind::Step);
    // Notches of 8 mm instead of the class's 10, notch 5 upright, higher notches further aft: the masthead forward, boom up.
    let at = |n: u32| height(&boat, 0.008 * (5.0 - f64::from(n)));
    let own = Notches::measured(&boat, &[(7, at(7)), (2, at(2))], TAPE).unwrap();
    assert!(own.warnings.is_empty(), "{:?}", own.warnings);
    let own = own.value;
    // Linear between notches that lie on a slightly curved line.
    const CURVATURE: f64 = 0.004;
    for n in [2, 4, 7] {
        assert!((own.height(n).unwrap() - at(n)).abs() < CURVATURE);
        assert!((own.at(at(n)).unwrap() - f64::from(n)).abs() < CURVATURE / own.fall);
    }
    assert!((own.doubt - TAPE * 2f64.sqrt() / 5.0).abs() < 1e-12);
    assert_eq!(own.words(Masthead::Back, 1), "tip the mast back, bottom one notch forward");
    assert_eq!(own.words(Masthead::Forward, 2), "tip the mast forward, bottom two notches aft");
    // At notch 2 there is one notch left forward, seven aft.
    assert_eq!((own.room(at(2), Masthead::Back), own.room(at(2), Masthead::Forward)), (1, 7));
}

#[test]
fn the_part_goes_the_way_of_the_geometry() {
    let tell = |kind, masthead| {
        let notches = Notches::of_class(&boat(kind));
        (way(notches.toward(masthead)), notches.words(masthead, 1))
    };
    let told = |kind, masthead| tell(kind, masthead).1;
    assert_eq!(tell(AdjusterKind::Step, Masthead::Back).0, "forward");
    assert_eq!(told(AdjusterKind::Partner, Masthead::Back), "tip the mast back, partner one notch aft");
    assert_eq!(told(AdjusterKind::Partner, Masthead::Forward), "tip the mast forward, partner one notch forward");
    assert_eq!(told(AdjusterKind::Insert, Masthead::Back), "tip the mast back, one insert from behind it to the front");
    // A partner moved aft drops the boom end: heights that rise with the notch are a slip.
    let partner = boat(AdjusterKind::Partner);
    let fall = Notches::of_class(&partner).fall;
    assert!(Notches::measured(&partner, &[(3, 0.30), (4, 0.30 - fall)], TAPE).is_ok());
    assert!(matches!(Notches::measured(&partner, &[(3, 0.30), (4, 0.30 + fall)], TAPE), Err(AdviceError::WrongWay { must: "fall", .. })));
}

#[test]
fn heights_that_say_nothing_or_too_much_are_told() {
    let boat = boat(AdjusterKind::Step);
    let fault = |heights: &[(u32, f64)]| Notches::measured(&boat, heights, TAPE).unwrap_err().to_string();
    assert!(fault(&[(3, 0.2)]).contains("one boom-end height tells nothing"));
    assert!(fault(&[]).contains("one boom-end height"));
    assert!(fault(&[(1, 0.2), (2, 0.2), (3, 0.2)]).contains("give two"));
    assert!(fault(&[(3, 0.2), (3, 0.3)]).contains("both boom-end heights are at notch 3"));
    assert!(fault(&[(3, 0.200), (4, 0.205)]).contains("too near to tell apart"));
    assert!(fault(&[(6, 0.21), (3, 0.31)]).contains("from notch 3 to 6 it went from 31 to 21 cm"));
    assert!(fault(&[(3, 0.1), (4, 0.5)]).contains("a notch moves the boom end 40 cm by these heights, and 6.2 cm by the class file"));
    assert!(fault(&[(3, f64::NAN), (4, 0.5)]).contains("no number"));
    // Half the class's notch is used, and told.
    let own = Notches::measured(&boat, &[(3, 0.21), (6, 0.31)], TAPE).unwrap();
    assert!(own.warnings[0].what.contains("the boat's own is used") && (own.value.fall - 0.1 / 3.0).abs() < 1e-12);
}

#[test]
fn a_pair_of_readings_replaces_the_modelled_drop() {
    let modelled = SheetedDrop::modelled(0.11);
    let own = SheetedDrop::own(0.36, 0.29, [0.01, 0.02]);
    assert!((own.value - 0.07).abs() < 1e-12 && own.own && !modelled.own);
    assert!(own.doubt < modelled.doubt && (modelled.value - own.value).abs() < modelled.doubt);
}
