//! Cautions: each is set off by its fact, names who decides, and none says that it is safe.

use advice::AdviceError;
use advice::caution::{Cautions, Facts, Limits};
use boat::crew::Skill;
use measure::Temperature;
use measure::quantity::KNOT;

const CLASS: &str = "an invented pram";

fn limits() -> Limits {
    Limits::read(&table(["8 kn", "11 kn", "16 kn", "22 kn"]), "limits.toml").unwrap()
}

fn table(gusts: [&str; 4]) -> String {
    let row = |(skill, gust): (Skill, &str)| format!("[[limit]]\nclass = \"{CLASS}\"\nskill = \"{}\"\ngust = \"{gust}\"\n", skill.words());
    Skill::ALL.into_iter().zip(gusts).map(row).collect()
}

fn keys(facts: Facts, limits: &Limits, skill: Skill) -> Vec<String> {
    Cautions::standard().unwrap().said(&facts, limits, CLASS, skill).into_iter().map(|c| c.key).collect()
}

#[test]
fn each_fact_sets_off_its_own_caution() {
    let calm = Facts { gust: 5.0 * KNOT, ..Facts::default() };
    let limits = limits();
    let said = |facts| keys(facts, &limits, Skill::Races);
    assert!(said(calm).is_empty());
    assert_eq!(said(Facts { gust: 17.0 * KNOT, ..calm }), ["over_limit"]);
    assert_eq!(said(Facts { water: Some(Temperature::celsius(11.0)), ..calm }), ["cold_water"]);
    assert!(said(Facts { water: Some(Temperature::celsius(20.0)), ..calm }).is_empty());
    assert_eq!(said(Facts { offshore: Some(true), ..calm }), ["offshore_wind"]);
    assert_eq!(said(Facts { against_tide: Some(true), ..calm }), ["wind_against_tide"]);
    assert_eq!(said(Facts { thunder: Some(true), ..calm }), ["thunder"]);
    assert_eq!(said(Facts { safety_boats: Some((1, 9)), ..calm }), ["few_safety_boats"]);
    assert_eq!(said(Facts { safety_boats: Some((0, 2)), ..calm }), ["no_safety_boat"]);
    assert!(said(Facts { safety_boats: Some((2, 12)), ..calm }).is_empty());
    assert_eq!(said(Facts { daylight: Some(3600.0), ..calm }), ["daylight"]);
    assert_eq!(said(Facts { preventer: true, ..calm }), ["preventer"]);
    // The same gust is over the limit of those who learn, and not of those who race in any wind.
    let puff = Facts { gust: 12.0 * KNOT, ..calm };
    assert_eq!(keys(puff, &limits, Skill::FirstSeason), ["over_limit"]);
    assert!(keys(puff, &limits, Skill::RacesInAnyWind).is_empty());
}

#[test]
fn over_the_limit_comes_first_and_no_limit_is_told() {
    let facts = Facts { gust: 20.0 * KNOT, thunder: Some(true), preventer: true, ..Facts::default() };
    let said = Cautions::standard().unwrap().said(&facts, &limits(), CLASS, Skill::FirstSeason);
    assert!(said[0].over_limit && said[0].words().starts_with("Gusts 20 knots: over the limit of 8 knots"));
    assert!(said[1..].iter().all(|c| !c.over_limit));
    assert_eq!(keys(Facts { thunder: None, preventer: false, ..facts }, &Limits::default(), Skill::Races), ["no_limit"]);
}

#[test]
fn every_caution_names_who_decides_and_none_says_safe() {
    let facts = Facts {
        gust: 30.0 * KNOT,
        water: Some(Temperature::celsius(4.0)),
        offshore: Some(true),
        against_tide: Some(true),
        thunder: Some(true),
        safety_boats: Some((1, 40)),
        daylight: Some(60.0),
        preventer: true,
    };
    let standard = Cautions::standard().unwrap();
    let mut said = standard.said(&facts, &limits(), CLASS, Skill::Races);
    said.extend(standard.said(&facts, &Limits::default(), CLASS, Skill::Races));
    assert!(said.len() > 15);
    for c in said {
        assert!(c.who.contains("decides") && !c.source.is_empty(), "{}", c.key);
        // What a child reads on a card names who decides as well.
        assert!(c.card.who.contains("decides"), "{}", c.key);
        let words = format!("{} {} {}", c.words(), c.card.fact, c.card.deed);
        assert!(!words.contains('{'), "{words}");
        let words = words.to_lowercase().replace("safety boat", "");
        assert!(!words.contains("safe"), "{words}");
    }
}

#[test]
fn a_table_with_gaps_names_each() {
    let whole = table(["8 kn", "11 kn", "16 kn", "22 kn"]);
    let third = whole.find("[[limit]]\nclass = \"an invented pram\"\nskill = \"races\"").unwrap();
    let fourth = whole.rfind("[[limit]]").unwrap();
    let holed = format!("{}{}", &whole[..third], &whole[fourth..]);
    let Err(AdviceError::Gaps { gaps, .. }) = Limits::read(&holed, "limits.toml") else { panic!("a gap passes") };
    assert_eq!(gaps, ["an invented pram, races"]);
    let fault = |text: &str| Limits::read(text, "limits.toml").unwrap_err().to_string();
    assert!(fault(&holed).contains("there is no limit for an invented pram, races"));
    assert!(fault("").contains("there is no limit in it"));
    assert!(fault(&whole.replace("11 kn", "11")).contains("line 8: gust: a speed of 11 has no unit"));
    assert!(fault(&whole.replace("11 kn", "nan kn")).contains("line 8: gust"));
    assert!(fault(&whole.replace("11 kn", "99 kn")).contains("is not 2 to 40 kn"));
    assert!(fault(&whole.replace("skill = \"races\"", "skill = \"wins\"")).contains("line 11: skill: \"wins\" is none of"));
    assert!(fault(&whole.replace("first season", "races")).contains("limited twice"));
    assert!(fault("limit = 3").contains("write [[limit]] with class, skill and gust"));
}
