//! One race: from places and codes to scores.
//!
//! Source: rules A4 to A7 and A10; where a results sheet leaves a place out, what is done is said in a warning.

use measure::Warning;
use rust_decimal::Decimal;

use super::code::{Code, Edition, Score};
use super::decimal::words;
use crate::Error;

/// Points that were decided, or how to find them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Decided {
    /// This score.
    Points(Decimal),
    /// The mean of all her other races (rule A9(a)).
    MeanOfOthers,
    /// The mean of her races before this one (rule A9(b)).
    MeanBefore,
}

/// What one boat did in one race. A code with `Score::Decided` carries `decided`; one with `Score::Penalty` a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Finish {
    pub(crate) place: Option<u32>,
    pub(crate) code: Option<Code>,
    pub(crate) decided: Option<Decided>,
}

impl Finish {
    /// A boat that was not there.
    pub(crate) const ABSENT: Self = Self { place: None, code: Some(Code::Dnc), decided: None };

    /// Whether place, code and decision fit each other; if not, what was found and what would do.
    pub(crate) fn check(&self) -> Result<(), (String, String)> {
        let Some(code) = self.code else {
            return match self.place {
                Some(_) => Ok(()),
                None => Err(("neither a place nor a code".into(), "give one of them".into())),
            };
        };
        let treatment = code.treatment();
        match (treatment.score, self.place, self.decided) {
            (_, Some(place), _) if !treatment.may_have_place => {
                Err((format!("place {place} with {code}, a boat that has no finishing place"), "take out the place or the code".into()))
            }
            (Score::Penalty, None, _) => {
                Err((format!("{code} without a place"), "give the place she finished in; the penalty is added to it".into()))
            }
            (Score::Decided, _, None) => {
                Err((format!("{code} without points"), "give the score decided for her in the column points".into()))
            }
            (Score::Decided, _, Some(Decided::MeanOfOthers | Decided::MeanBefore)) if code == Code::Dpi => {
                Err(("DPI with an average".into(), "give the score decided for her; an average is for redress (RDG)".into()))
            }
            _ => Ok(()),
        }
    }
}

/// A score before exclusions. `None` while an average waits for the other races.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Scored {
    pub(crate) score: Option<Decimal>,
    pub(crate) code: Option<Code>,
}

/// The settings of a series that a race needs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Settings {
    pub(crate) edition: Edition,
    pub(crate) starting_area_rule: bool,
    /// Whether places are counted afresh among these boats alone, as for a division with its own scores.
    pub(crate) afresh: bool,
}

/// The scores of one race, in the order of `finishes`; warnings about places that do not add up.
pub(crate) fn scores(name: &str, boats: &[&str], finishes: &[Finish], by: Settings) -> Result<(Vec<Scored>, Vec<Warning>), Error> {
    let mut warnings = Vec::new();
    let entries = Decimal::from(finishes.len());
    let came = Decimal::from(finishes.iter().filter(|f| f.code != Some(Code::Dnc)).count());
    let dnc = entries + Decimal::ONE;
    let dnf = if by.starting_area_rule { came } else { entries } + Decimal::ONE;
    let places = places(name, finishes, by.afresh, &mut warnings);
    if !finishes.is_empty() && finishes.iter().all(|f| f.place.is_none()) {
        warnings.push(Warning::new(
            format!("race {name}"),
            "nobody has a finishing place; scored as written. Rule 35 abandons a race that no boat finishes in time: the race committee decides, and its rows can be taken out",
        ));
    }
    let mut scored = Vec::with_capacity(finishes.len());
    for ((finish, place), boat) in finishes.iter().zip(places).zip(boats) {
        let score = match (finish.code.map(|code| code.treatment().score), place) {
            (None, Some(place)) => Some(place),
            (None, None) | (Some(Score::EntriesPlusOne), _) | (Some(Score::Penalty), None) => Some(dnc),
            (Some(Score::LastPlusOne), _) => Some(dnf),
            (Some(Score::Penalty), Some(place)) => Some((place + by.edition.scoring_penalty(dnf)).min(dnf).max(place)),
            (Some(Score::Decided), place) => match finish.decided {
                Some(Decided::Points(points)) => {
                    if let (Some(Code::Dpi), Some(place)) = (finish.code, place)
                        && points < place
                        && !by.afresh
                    {
                        return Err(Error::new(
                            format!("race {name}, boat {boat}"),
                            format!("DPI with {} points, better than the {} of her place", words(points), words(place)),
                            "points are her whole score with the penalty in it",
                        ));
                    }
                    Some(points)
                }
                _ => None,
            },
        };
        scored.push(Scored { score, code: finish.code });
    }
    Ok((scored, warnings))
}

/// The points of each boat's finishing place after others have given up theirs (A6.1) and ties are shared (A7).
fn places(name: &str, finishes: &[Finish], afresh: bool, warnings: &mut Vec<Warning>) -> Vec<Option<Decimal>> {
    let gives_up = |f: &Finish| f.code.is_some_and(|code| code.treatment().gives_up_place);
    let mut given_up: Vec<u32> = finishes.iter().filter(|f| gives_up(f)).filter_map(|f| f.place).collect();
    given_up.sort_unstable();
    let moved: Vec<Option<u32>> = finishes
        .iter()
        .map(|f| {
            f.place
                .filter(|_| !gives_up(f))
                .map(|place| place - given_up.partition_point(|&other| other < place).min((place as usize).saturating_sub(1)) as u32)
        })
        .collect();
    let mut order: Vec<u32> = moved.iter().copied().flatten().collect();
    order.sort_unstable();
    let counted = |place: u32| order.partition_point(|&other| other < place) as u32 + 1;

    let holes = order.iter().map(|&place| place.saturating_sub(counted(place))).max().unwrap_or(0);
    let absent = |wanted: &dyn Fn(&Finish) -> bool| finishes.iter().filter(|f| f.place.is_none() && wanted(f)).count() as u32;
    let silent = absent(&gives_up);
    let redressed = absent(&|f: &Finish| f.code.is_some_and(|code| code.treatment().score == Score::Decided));
    let close = afresh || (holes > 0 && holes <= silent && redressed == 0);
    if !afresh {
        if let Some(&place) = order.iter().find(|&&place| place < counted(place)) {
            warnings.push(Warning::new(
                format!("race {name}"),
                format!(
                    "place {place} comes after a tie and was read as {}; after a tie of two the next place is left out",
                    counted(place)
                ),
            ));
        }
        let missing = || order.iter().find(|&&place| place > counted(place)).map_or(0, |&place| counted(place));
        if close {
            warnings.push(Warning::new(
                format!("race {name}"),
                format!("place {} is missing and was read as that of a boat scored without it; those behind move up (A6.1)", missing()),
            ));
        } else if holes > 0 && !(holes <= redressed && silent == 0) {
            warnings.push(Warning::new(
                format!("race {name}"),
                format!("nobody has place {}; the places were kept as written. Is a boat missing?", missing()),
            ));
        }
    }
    moved
        .iter()
        .map(|&place| {
            place.map(|place| {
                let ties = order.iter().skip(counted(place) as usize - 1).take_while(|&&other| other == place).count();
                let first = if close { counted(place) } else { place.max(counted(place)) };
                Decimal::from(first) + Decimal::from(ties.saturating_sub(1)) / Decimal::TWO
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const BY: Settings = Settings { edition: Edition::Y2025, starting_area_rule: false, afresh: false };

    fn finish(text: &str) -> Finish {
        let (place, code) = text.split_once(' ').unwrap_or(if text.parse::<u32>().is_ok() { (text, "") } else { ("", text) });
        Finish { place: place.parse().ok(), code: Code::of(code), decided: (code == "RDG").then_some(Decided::Points(Decimal::TEN)) }
    }

    fn scored(finishes: &[&str]) -> (Vec<String>, usize) {
        let finishes: Vec<_> = finishes.iter().map(|text| finish(text)).collect();
        let boats = vec!["a boat"; finishes.len()];
        let (scores, warnings) = scores("1", &boats, &finishes, BY).unwrap();
        (scores.iter().map(|s| words(s.score.unwrap())).collect(), warnings.len())
    }

    /// Rule A7: the points of the tied places are shared.
    #[test]
    fn ties_share_their_places() {
        assert_eq!(scored(&["1", "2", "2", "4"]), (vec!["1".into(), "2.5".into(), "2.5".into(), "4".into()], 0));
        assert_eq!(scored(&["1", "1", "1", "4"]).0, ["2", "2", "2", "4"]);
        let (dense, warnings) = scored(&["1", "2", "2", "3"]);
        assert_eq!((dense[3].as_str(), warnings), ("4", 1));
    }

    /// Rule A6.1: those behind a boat that finished and was disqualified, retired or did not sail the course move up.
    #[test]
    fn boats_behind_a_disqualified_one_move_up() {
        for code in ["DSQ", "RET", "NSC", "DNE", "UFD", "BFD"] {
            assert_eq!(scored(&["1", &format!("2 {code}"), "3", "4"]), (vec!["1".into(), "5".into(), "2".into(), "3".into()], 0), "{code}");
            assert_eq!(scored(&["1", code, "3", "4"]), (vec!["1".into(), "5".into(), "2".into(), "3".into()], 1), "{code}");
        }
        assert_eq!(scored(&["1", "2 DSQ", "2", "4"]).0, ["1", "5", "2", "3"]);
    }

    /// Rules A6.2 and 44.3(c): redress and penalties leave the others alone.
    #[test]
    fn redress_and_penalties_leave_the_others_alone() {
        assert_eq!(scored(&["1", "2 RDG", "3"]), (vec!["1".into(), "10".into(), "3".into()], 0));
        assert_eq!(scored(&["1", "RDG", "3"]), (vec!["1".into(), "10".into(), "3".into()], 0));
        assert_eq!(scored(&["1", "2 SCP", "3 ZFP", "4"]).0, ["1", "3", "4", "4"]);
        assert_eq!(scored(&["1", "2", "3", "4 SCP"]).0, ["1", "2", "3", "5"]);
    }

    #[test]
    fn a_gap_nobody_explains_is_kept_and_told() {
        assert_eq!(scored(&["1", "2", "4"]), (vec!["1".into(), "2".into(), "4".into()], 1));
        assert_eq!(scored(&["DNS", "DNF", "OCS"]), (vec!["4".into(), "4".into(), "4".into()], 1));
        assert_eq!(scored(&["4294967295", "1 DSQ"]).0, ["4294967294", "3"]);
    }
}
