//! Questions that rest on a rule or on common practice: what is asked is a name among the words, the first answer is the right one, the
//! others are the common mistakes.
//!
//! Rules are those of the Racing Rules of Sailing 2025-2028, their numbers and what they say from memory, as in `data/words/rules.toml`.

use boat::setup::Sit;

use super::{Corner, Kind, Meeting, Rests, Seen, Wanted};

/// When a question is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum When {
    Always,
    /// Of a sail with a sprit.
    Sprit,
    /// Of a sail without one.
    NoSprit,
    /// Where the sailor sits so today.
    Sits(Sit),
}

/// One question.
pub(super) struct Known {
    pub(super) name: &'static str,
    pub(super) kind: Kind,
    when: When,
    pub(super) picture: Wanted,
    pub(super) rests: Rests,
    /// The right one first.
    pub(super) answers: &'static [&'static str],
}

impl Known {
    /// Whether it is asked of this boat today.
    pub(super) fn holds(&self, sprit: bool, sit: Option<Sit>) -> bool {
        match self.when {
            When::Always => true,
            When::Sprit => sprit,
            When::NoSprit => !sprit,
            When::Sits(so) => sit == Some(so),
        }
    }
}

const RULE_10: Rests = Rests::Cited("rule_10");
const RULE_11: Rests = Rests::Cited("rule_11");
const RULE_12: Rests = Rests::Cited("rule_12");
const RULE_13: Rests = Rests::Cited("rule_13");
const RULE_18: Rests = Rests::Cited("rule_18");
const RULE_42: Rests = Rests::Cited("rule_42");
const RULE_44: Rests = Rests::Cited("rules_31_44");
/// Cold shock is strongest in water below 15 degrees Celsius.
const COLD: Rests = Rests::Cited("cold_shock");

const fn of(name: &'static str, kind: Kind, when: When, picture: Wanted, rests: Rests, answers: &'static [&'static str]) -> Known {
    Known { name, kind, when, picture, rests, answers }
}

/// All of them.
pub(super) const KNOWN: &[Known] = &[
    of("first_flat_out", Kind::First, When::Always, Wanted::Sitting(Sit::FlatOut), Rests::Practice, &["downhaul", "board", "mast"]),
    of("first_puff", Kind::First, When::Always, Wanted::Sitting(Sit::OnTheSide), Rests::Practice, &["lean_ease", "bear_away", "downhaul"]),
    of("first_light", Kind::First, When::Always, Wanted::Sitting(Sit::Inside), Rests::Practice, &["sit_in", "pull_in", "board_up"]),
    of(
        "puff_flat_out",
        Kind::PuffAndLull,
        When::Sits(Sit::FlatOut),
        Wanted::Sitting(Sit::FlatOut),
        Rests::Practice,
        &["hike_ease", "wait", "bear_away"],
    ),
    of(
        "puff_on_the_side",
        Kind::PuffAndLull,
        When::Sits(Sit::OnTheSide),
        Wanted::Sitting(Sit::OnTheSide),
        Rests::Practice,
        &["lean_ease", "let_heel", "let_go"],
    ),
    of(
        "puff_inside",
        Kind::PuffAndLull,
        When::Sits(Sit::Inside),
        Wanted::Sitting(Sit::Inside),
        Rests::Practice,
        &["head_up", "jump_out", "let_go"],
    ),
    of(
        "lull_beat",
        Kind::PuffAndLull,
        When::Always,
        Wanted::Sitting(Sit::OnTheSide),
        Rests::Practice,
        &["in_ease_squeeze", "stay_out", "pull_hard"],
    ),
    of("puff_run", Kind::PuffAndLull, When::Always, Wanted::Puff, Rests::Practice, &["bear_away", "head_up", "pull_in"]),
    of("mark_windward", Kind::CourseMark, When::Always, Wanted::Course(Corner::Windward), Rests::Practice, &["before", "after", "during"]),
    of(
        "mark_leeward",
        Kind::CourseMark,
        When::Always,
        Wanted::Course(Corner::Leeward),
        Rests::Practice,
        &["board_sheet", "sheet_board", "all_late"],
    ),
    of("seat_light", Kind::HeelAndSeat, When::Always, Wanted::Seats, Rests::Practice, &["forward", "back", "corner"]),
    of("heel_beat", Kind::HeelAndSeat, When::Always, Wanted::Heels, Rests::Practice, &["flat", "lee", "windward"]),
    of("board_run", Kind::Board, When::Always, Wanted::Boards { slides: false }, Rests::Practice, &["part_up", "down", "out"]),
    of("board_tack", Kind::Board, When::Always, Wanted::Boards { slides: false }, Rests::Practice, &["down", "half", "up"]),
    of(
        "looks_wrinkles",
        Kind::Looks,
        When::Always,
        Wanted::Sail(Seen::LuffWrinkles),
        Rests::Practice,
        &["downhaul_on", "downhaul_off", "outhaul_on"],
    ),
    of(
        "looks_crease",
        Kind::Looks,
        When::Always,
        Wanted::Sail(Seen::LuffCrease),
        Rests::Practice,
        &["downhaul_off", "downhaul_on", "vang_on"],
    ),
    of(
        "looks_throat",
        Kind::Looks,
        When::Sprit,
        Wanted::Sail(Seen::ThroatToClew),
        Rests::Practice,
        &["sprit_on", "sprit_off", "downhaul_on"],
    ),
    of("looks_peak", Kind::Looks, When::Sprit, Wanted::Sail(Seen::TackToPeak), Rests::Practice, &["sprit_off", "sprit_on", "outhaul_on"]),
    of("looks_top", Kind::Looks, When::NoSprit, Wanted::Sail(Seen::TopOpen), Rests::Practice, &["vang_on", "outhaul_on", "downhaul_off"]),
    of("rounding_leeward", Kind::Rounding, When::Always, Wanted::Ways, Rests::Practice, &["wide_in", "tight_in", "wide_out"]),
    of("rounding_late", Kind::Rounding, When::Always, Wanted::Course(Corner::Leeward), Rests::Practice, &["near", "far", "never"]),
    of("weight_wet", Kind::Weight, When::Always, Wanted::Water, Rests::Practice, &["sponge", "sand", "water"]),
    of("weight_gain", Kind::Weight, When::Always, Wanted::Water, Rests::Practice, &["leak", "paint", "scale"]),
    of("safety_capsize", Kind::Safety, When::Always, Wanted::Capsized, Rests::Practice, &["stay", "swim", "climb_mast"]),
    of("safety_thunder", Kind::Safety, When::Always, Wanted::Thunder, Rests::Practice, &["ashore", "finish", "lie_down"]),
    of("safety_cold", Kind::Safety, When::Always, Wanted::Cold, COLD, &["wetsuit", "cotton", "drink"]),
    of("rule_tacks", Kind::Rules, When::Always, Wanted::Boats(Meeting::PortAndStarboard), RULE_10, &["port", "starboard", "faster"]),
    of("rule_windward", Kind::Rules, When::Always, Wanted::Boats(Meeting::SideBySide), RULE_11, &["windward", "leeward", "older"]),
    of("rule_behind", Kind::Rules, When::Always, Wanted::Boats(Meeting::Behind), RULE_12, &["behind", "ahead", "none"]),
    of("rule_tacking", Kind::Rules, When::Always, Wanted::Boats(Meeting::Tacking), RULE_13, &["tacker", "other", "both"]),
    of("rule_zone", Kind::Rules, When::Always, Wanted::Boats(Meeting::Zone), RULE_18, &["inside", "outside", "first_call"]),
    of("rule_moving", Kind::Rules, When::Always, Wanted::Wave, RULE_42, &["once", "pump", "rock"]),
    of("rule_touch", Kind::Rules, When::Always, Wanted::Course(Corner::Windward), RULE_44, &["one_turn", "nothing", "two_turns"]),
];
