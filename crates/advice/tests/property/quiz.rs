//! Questions: no two right answers, each answer once, the right one clearly best, and no mass in any of them.

use std::collections::BTreeSet;

use advice::quiz::{Kind, Own, Question, Quiz, Rests, Slot};
use boat::balance::{Boat, Conditions, Tack};
use boat::class::Class;
use boat::constants::Constants;
use boat::crew::{Sailor, Skill};
use boat::setup::{Leg, Request};
use boat::spread;
use measure::fluid::{Water, air};
use measure::quantity::KNOT;
use measure::{Length, Speed, Temperature, WindLaw};

/// Samples by which doubts are asked here: few, for time; they are as wide as those of many, near enough.
const SAMPLES: usize = 8;

fn quiz(class: &Class, mass: f64, knots: f64) -> Quiz {
    let boat = Boat::new(class, 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard());
    let wind = WindLaw::Open.profile(Speed::metres_per_second(knots * KNOT), Length::metres(10.0));
    let conditions = Conditions { wind, air: air(Temperature::celsius(15.0)), chop: 0.0, tack: Tack::Starboard };
    let sailor = Sailor::of(mass, Skill::Races);
    let request = Request { boat: &boat, sailor, conditions, gusts: 1.3, reach: None, bands: true };
    let beat = request.leg(Leg::Beat, 0.0).unwrap_or_else(|status| unreachable!("{mass} kg, {knots} knots: {status:?}"));
    let doubts = request.spread(&beat, 0.0, &spread::boats(&boat, SAMPLES, spread::SEED));
    let doubts = doubts.unwrap_or_else(|status| unreachable!("{mass} kg, {knots} knots: {status:?}"));
    let beat = beat.doubted(&doubts);
    Quiz::of(&Own { request: &request, beat: &beat, boat: "Avocet", knots })
}

fn holds(question: &Question) {
    let key = &question.key;
    let right: Vec<_> = question.answers.iter().filter(|a| a.right).collect();
    assert_eq!(right.len(), 1, "{key}: {question:?}");
    assert!((3..=4).contains(&question.answers.len()), "{key}");
    let keys: BTreeSet<_> = question.answers.iter().map(|a| &a.key).collect();
    assert_eq!(keys.len(), question.answers.len(), "{key}: an answer stands twice");
    // What a child reads: the same words with the same numbers would be the same answer.
    let said: BTreeSet<_> = question.answers.iter().map(|a| format!("{:?}", a.words)).collect();
    assert_eq!(said.len(), question.answers.len(), "{key}: two answers say the same");
    if question.rests == Rests::Model {
        for answer in question.answers.iter().filter(|a| !a.right) {
            if let Some(cost) = answer.cost {
                assert!(cost.value > 2.0 * cost.doubt() && cost.low <= cost.value && cost.value <= cost.high, "{key}: {cost:?}");
            }
        }
    }
}

#[test]
fn a_thousand_questions_have_one_right_answer_each() {
    let (class, sprit) = (Class::pram(), Class::read(include_str!("../../../../data/classes/sprit.toml"), "sprit.toml").unwrap());
    let quizzes = [quiz(&class, 41.0, 11.0), quiz(&class, 36.0, 6.0), quiz(&sprit, 44.0, 10.0)];
    let mut kinds = BTreeSet::new();
    let mut shown = BTreeSet::new();
    let mut asked = 0;
    for seed in 0.. {
        for quiz in &quizzes {
            for key in quiz.keys() {
                if asked == 1000 {
                    break;
                }
                let question = quiz.question(key, seed).unwrap_or_else(|| unreachable!("{key} can be asked"));
                holds(&question);
                assert_eq!(quiz.question(key, seed).as_ref(), Some(&question), "the same seed gives the same question");
                assert_eq!(Quiz::kind_of(key), Some(question.kind));
                kinds.insert(question.kind);
                shown.insert(key);
                // No slot can hold a mass: readings, winds, lengths and the boat's name.
                let slots = question.answers.iter().flat_map(|a| &a.words.slots).chain(&question.ask.slots);
                assert!(slots.map(|s| &s.1).all(|s| matches!(s, Slot::Reading(..) | Slot::Knots(_) | Slot::Lengths(_) | Slot::Boat(_))));
                asked += 1;
            }
        }
        if asked == 1000 {
            break;
        }
    }
    // Ten kinds of each boat alone, not of all together.
    for quiz in &quizzes {
        let own: BTreeSet<_> = quiz.keys().into_iter().filter_map(Quiz::kind_of).collect();
        assert!(own.len() >= 10, "{own:?}");
        // The way round is decided by the solved turn, and its mistakes cost whole lengths.
        let round = quiz.question("rounding_leeward", 1).unwrap();
        assert_eq!(round.rests, Rests::Model);
        assert!(round.answers.iter().all(|a| !a.way.is_empty() && a.right == a.cost.is_none()), "{round:?}");
    }
    assert!(kinds.len() >= 10, "{kinds:?}");
    assert!(kinds.iter().all(|k| Kind::ALL.contains(k)) && shown.len() >= 40, "{shown:?}");
    for quiz in &quizzes {
        assert!(quiz.question("nonsense", 1).is_none() && quiz.question("", 0).is_none());
    }
}
