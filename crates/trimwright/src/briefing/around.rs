//! What hands do around the windward and the leeward course mark, on the back of a card: solved for a body in a wind, said in few words.
//!
//! Which control moves, and what it costs early and late, is [`boat::handling`]'s answer for a body in a wind; a sailor's skill only says how
//! long her hands take. So one solved answer serves every skill ([`Around::plan`]), and a class's chart keeps a few for all its sailors. Places are whole
//! boat lengths: nobody counts halves afloat. Where it blows for her *vang off first* stands before all: that is safety by common practice, no source.
//! Where the model has no answer, or no control matters, the fixed words of common practice stand, and the card says on what each rests.

use boat::balance::{Control, Status};
use boat::crew::Skill;
use boat::handling::{Mark, Movement, NO_DIFFERENCE, OFF, best, blows, movements};
use boat::hands::Hands;
use boat::setup::{Leg, Request};
use boat::turn::Crewed;
use measure::Basis;
use serde::{Deserialize, Serialize};

use crate::words::{Words, word};

/// Controls that hands move at a course mark, with the keys of their words where the value falls and where it rises.
const MOVED: [(Control, [&str; 2]); 5] = [
    (Control::Downhaul, ["downhaul_off", "downhaul_on"]),
    (Control::Gap, ["outhaul_in", "outhaul_out"]),
    (Control::Vang, ["vang_off", "vang_on"]),
    (Control::Board, ["board_up", "board_down"]),
    (Control::Boom, ["sheet_in", "sheet_out"]),
];
/// The skill whose hands the answer is kept for.
const KEPT_FOR: Skill = Skill::SailsACourse;
/// The most deeds said at one course mark: a side of a card has sixty words. Those that cost most are said.
const MOST: usize = 3;

/// A movement as it is kept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Moved {
    /// Its place in [`MOVED`].
    control: usize,
    /// Setting before and after, SI.
    way: [f64; 2],
    /// How long it takes, s.
    lasts: f64,
    /// What it costs early and late, as in [`Movement`].
    early: [f64; 3],
    late: [f64; 3],
}

/// One course mark as it is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct OneMark {
    /// What the new leg makes good, m/s.
    made_good: f64,
    /// Boat lengths a second on the way in and out.
    pace: [f64; 2],
    moves: Vec<Moved>,
}

/// What a body in a wind asks of hands around both course marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Around {
    /// Whether it blows for her.
    pub blow: bool,
    windward: OneMark,
    leeward: OneMark,
}

/// One deed of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deed {
    /// The key of its words.
    pub key: &'static str,
    /// Boat lengths before the course mark at which hands begin: after it negative.
    pub lengths: f64,
    /// Metres lost when it comes far too early or too late, the worse of both.
    pub matters: f64,
}

/// The deeds of one sailor, in the order of her hands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// Whether it blows for her, so that the vang comes off before all else.
    pub blow: bool,
    /// At the windward course mark.
    pub windward: Vec<Deed>,
    /// At the leeward one.
    pub leeward: Vec<Deed>,
}

impl Around {
    /// Solves it for the body of a request in its mean wind; the request's skill says only how a body leans.
    ///
    /// # Errors
    /// The model's status where beat or run has no answer upright.
    pub fn solved(request: &Request<'_>) -> Result<Self, Status> {
        let crewed = Crewed::of(request)?;
        let blow = blows(&crewed.request)?;
        let of = |mark: Mark| {
            let [old, new] = if mark == Mark::Windward { [Leg::Beat, Leg::Run] } else { [Leg::Run, Leg::Beat] };
            let length = crewed.request.boat.class.hull.length;
            OneMark {
                made_good: crewed.leg(new, false).whole.made_good.abs(),
                pace: [old, new].map(|leg| crewed.leg(leg, false).whole.speed / length),
                moves: movements(&crewed, mark).iter().filter_map(|m| Moved::of(m, request.sailor.skill)).collect(),
            }
        };
        let (windward, leeward) = rayon::join(|| of(Mark::Windward), || of(Mark::Leeward));
        Ok(Self { blow, windward, leeward })
    }

    /// The plan for hands of a skill.
    #[must_use]
    pub fn plan(&self, skill: Skill) -> Plan {
        // Where it blows the vang is off for safety before all else, and no part of what is timed.
        let untimed = self.blow.then_some(Control::Vang);
        Plan { blow: self.blow, windward: self.windward.deeds(skill, untimed), leeward: self.leeward.deeds(skill, None) }
    }
}

/// How much longer hands of a skill take than those of another.
fn slower(skill: Skill, than: Skill) -> f64 {
    Hands::of(skill).vang / Hands::of(than).vang
}

impl Moved {
    fn of(m: &Movement, skill: Skill) -> Option<Self> {
        let control = MOVED.iter().position(|(control, _)| *control == m.control)?;
        let moved = Self { control, way: [m.from, m.to], lasts: m.lasts, early: m.early, late: m.late };
        Some(Self { lasts: moved.lasts_for(KEPT_FOR, skill), ..moved })
    }
    fn control(&self) -> Control {
        MOVED.get(self.control).map_or(Control::Boom, |m| m.0)
    }
    fn key(&self) -> &'static str {
        MOVED.get(self.control).map_or("", |m| m.1[usize::from(self.way[1] > self.way[0])])
    }
    /// How long it takes hands of one skill when it takes those of another as long as is kept here: a boom runs out by itself.
    fn lasts_for(&self, skill: Skill, kept: Skill) -> f64 {
        let by_wind = self.control() == Control::Boom && self.way[1] > self.way[0];
        if by_wind { self.lasts } else { self.lasts * slower(skill, kept) }
    }
    fn movement(&self, skill: Skill) -> Movement {
        let [from, to] = self.way;
        Movement { control: self.control(), from, to, lasts: self.lasts_for(skill, KEPT_FOR), early: self.early, late: self.late }
    }
}

impl OneMark {
    /// In the order of the hands; what makes no difference is left out.
    fn deeds(&self, skill: Skill, untimed: Option<Control>) -> Vec<Deed> {
        let kept: Vec<&Moved> = self.moves.iter().filter(|m| Some(m.control()) != untimed).collect();
        let moves: Vec<Movement> = kept.iter().map(|m| m.movement(skill)).collect();
        let deed = |(k, begins): (usize, f64)| {
            let (m, moved) = (&moves[k], kept[k]);
            let far = m.lost(OFF).max(m.lost(-OFF - m.lasts));
            let lengths = -begins * self.pace[usize::from(begins > 0.0)];
            Deed { key: moved.key(), lengths, matters: self.made_good * far }
        };
        best(&moves, None).into_iter().map(deed).filter(|d| d.matters >= NO_DIFFERENCE).collect()
    }
}

/// The plan in a card's words, and on what each line rests.
#[must_use]
pub fn said(plan: Option<&Plan>, words: &Words) -> [(String, Basis); 2] {
    let practice = |key| (word(&words.card, key).to_owned(), Basis::CommonPractice);
    let [windward, leeward] = [practice("windward_deed"), practice("leeward_deed")];
    let Some(plan) = plan else { return [windward, leeward] };
    let line = |deeds: &[Deed], blow: bool, else_said: (String, Basis)| {
        let timed = timed(deeds, words);
        match (blow, timed.is_empty()) {
            (false, true) => else_said,
            (false, false) => (format!("{timed}."), Basis::Theory),
            (true, true) => (format!("{}!", word(&words.card, "vang_first")), Basis::CommonPractice),
            (true, false) => (format!("{}! {}.", word(&words.card, "vang_first"), capital(&timed)), Basis::Theory),
        }
    };
    [line(&plan.windward, plan.blow, windward), line(&plan.leeward, false, leeward)]
}

/// Deeds by where they begin: "8 lengths: downhaul on, 5: board down, 3: sheet in"; those at and after the course mark one after the other.
fn timed(deeds: &[Deed], words: &Words) -> String {
    let mut kept: Vec<&Deed> = deeds.iter().collect();
    if kept.len() > MOST {
        let mut by: Vec<f64> = kept.iter().map(|d| d.matters).collect();
        by.sort_by(|a, b| b.total_cmp(a));
        kept.retain(|d| d.matters >= by[MOST - 1]);
    }
    let mut parts: Vec<String> = Vec::new();
    let mut last: Option<i64> = None;
    for deed in kept {
        let (said, at) = (word(&words.card, deed.key), (deed.lengths.round() as i64).max(0));
        // Hands do one after the other: what begins within a length, or once she is there, needs no number.
        let part = match last {
            Some(before) if before == at => said.to_owned(),
            _ if at == 0 => word(&words.card, "at_it").replace("{x}", said),
            None => word(&words.card, if at == 1 { "one_length" } else { "lengths" }).replace("{n}", &at.to_string()).replace("{x}", said),
            Some(_) => format!("{at}: {said}"),
        };
        last = Some(at);
        parts.push(part);
    }
    parts.join(", ")
}

/// With a large first letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::count;
    use boat::crew::Sailor;

    fn deed(key: &'static str, lengths: f64) -> Deed {
        Deed { key, lengths, matters: 1.0 }
    }

    #[test]
    fn a_plan_is_said_in_a_childs_words() {
        let words = Words::english().unwrap();
        let plan = Plan {
            blow: false,
            windward: vec![deed("sheet_out", 0.1), deed("board_up", -0.5), deed("downhaul_off", -3.0)],
            leeward: vec![deed("downhaul_on", 8.4), deed("board_down", 5.5), deed("sheet_in", 3.0)],
        };
        let [windward, leeward] = said(Some(&plan), &words);
        assert_eq!(windward, ("at it: sheet out, board up, downhaul off.".to_owned(), Basis::Theory));
        assert_eq!(leeward, ("8 lengths: downhaul on, 6: board down, 3: sheet in.".to_owned(), Basis::Theory));
        let blow = Plan { blow: true, ..plan };
        assert!(said(Some(&blow), &words)[0].0.starts_with("vang off first! At it: sheet out,"), "{:?}", said(Some(&blow), &words));
        // Both lines together have no more words than the fixed ones had, and six.
        let fixed: usize = said(None, &words).iter().map(|line| count(&line.0)).sum();
        let own: usize = said(Some(&blow), &words).iter().map(|line| count(&line.0)).sum();
        assert!(own <= fixed + 9, "{own} words against {fixed}");
        assert_eq!(said(Some(&Plan::default()), &words), said(None, &words), "where nothing matters common practice stands");
    }

    /// One solved answer serves every skill: what is kept and asked for a skill is what the model answers that skill itself.
    #[test]
    fn hands_of_any_skill_are_read_from_one_answer() {
        let class = boat::class::Class::read(include_str!("../../../../data/classes/pram.toml"), "pram.toml").unwrap();
        let day = crate::day::Day::open(5.5);
        let boat = day.boat(&class, None).unwrap();
        let conditions = day.conditions(1.0, boat::balance::Tack::Starboard);
        let request = |skill| Request { boat: &boat, sailor: Sailor::of(44.0, skill), conditions, gusts: 1.0, reach: None, bands: false };
        let around = Around::solved(&request(Skill::Races)).unwrap();
        let crewed = Crewed::of(&request(Skill::Races)).unwrap();
        for (mark, own) in [(Mark::Windward, around.plan(Skill::Races).windward), (Mark::Leeward, around.plan(Skill::Races).leeward)] {
            let asked = boat::handling::handling(&crewed, mark).unwrap();
            let asked: Vec<f64> = asked.steps.iter().filter(|s| s.matters).map(|s| s.lengths).collect();
            let own: Vec<f64> = own.iter().map(|d| d.lengths).collect();
            assert!(own.len() == asked.len() && own.iter().zip(&asked).all(|(a, b)| (a - b).abs() < 1e-6), "{own:?} {asked:?}");
        }
        // Slower hands begin earlier at the leeward course mark.
        let first = |skill| around.plan(skill).leeward[0].lengths;
        assert!(first(Skill::FirstSeason) > first(Skill::SailsACourse) && first(Skill::SailsACourse) > first(Skill::Races));
        let kept: Around = serde_json::from_str(&serde_json::to_string(&around).unwrap()).unwrap();
        assert_eq!(kept.plan(Skill::Races), around.plan(Skill::Races));
    }
}
