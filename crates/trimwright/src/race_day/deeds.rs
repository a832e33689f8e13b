//! What hands do round a course mark, in words: for the sheet, the page and the terminal.

use boat::handling::{Mark, OFF, Step};

use super::boat::RaceBoat;
use super::control::{Hands, Plan, control, deed};
use super::words::{capital, short};
use crate::briefing::card::halves;
use crate::briefing::race_day::{Deed, Deeds};
use crate::drawing::approach::{Approach, Stroke};
use crate::long::Long;

/// Said where it blows. Safety by common practice, no source, and no answer of the model.
pub const VANG_FIRST: &str =
    "It blows. Vang off first, before you bear away: a boom that cannot rise digs in. That is safety, and goes before all metres.";
/// Said where the controls make no difference. Common practice, no source.
const PRACTICE: [&str; 2] = [
    "Common practice eases downhaul, outhaul and vang a little before the windward course mark.",
    "Common practice takes vang and downhaul on again before the beat.",
];
/// Nearer than this to nought is at the course mark, s.
const AT: f64 = 0.5;

/// When a step begins: "3 s before, 2 lengths".
#[must_use]
pub fn when(plan: &Plan, step: &Step, boat: f64) -> String {
    let lengths = plan.lengths(step.begins, boat).abs();
    let far = if lengths < 0.25 { String::new() } else { format!(", {} length{}", halves(lengths), if lengths < 1.25 { "" } else { "s" }) };
    if step.begins.abs() < AT {
        "at the course mark".to_owned()
    } else if step.begins < 0.0 {
        format!("{:.0} s before{far}", -step.begins)
    } else {
        format!("{:.0} s after{far}", step.begins)
    }
}

/// Metres as boat lengths a child counts.
fn lengths(metres: f64, boat: f64) -> String {
    let lengths = metres.max(0.0) / boat;
    if lengths < 0.25 { "little".to_owned() } else { format!("{} length{}", halves(lengths), if lengths < 1.25 { "" } else { "s" }) }
}

/// The plan round one course mark as a page has it.
fn deeds(plan: &Plan, boat: f64, turns_by: &str, long: Long) -> Deeds {
    let (told, idle): (Vec<&Step>, Vec<&Step>) = plan.handling.steps.iter().partition(|s| s.matters);
    let windward = plan.handling.mark == Mark::Windward;
    let blow = plan.handling.blow;
    // The vang that goes first for safety stands in the plan whatever it costs.
    let safety = blow.then(|| plan.handling.steps.first()).flatten();
    let is_safety = |s: &Step| safety.is_some_and(|first| first.movement.control == s.movement.control);
    let mut shown: Vec<&Step> = Vec::new();
    shown.extend(safety.filter(|s| !s.matters));
    shown.extend(told);
    let idle: Vec<&str> =
        idle.iter().filter(|s| safety.is_none_or(|v| v.movement.control != s.movement.control)).map(|s| control(s)).collect();
    let mark = if windward { "windward" } else { "leeward" };
    let strokes: Vec<Stroke> = shown
        .iter()
        .map(|s| {
            let worst = if s.later >= s.earlier { ("late", s.later) } else { ("early", s.earlier) };
            Stroke {
                name: deed(s),
                note: if is_safety(s) {
                    "safety".to_owned()
                } else if worst.1 < 0.25 * boat {
                    "costs little".to_owned()
                } else {
                    format!("{} costs {}", worst.0, halves(worst.1 / boat))
                },
                at: plan.lengths(s.begins, boat),
                jaws: plan.no_difference(s).map(|t| plan.lengths(t, boat)),
            }
        })
        .collect();
    let said: Vec<String> = shown.iter().map(|s| format!("{}: {}", deed(s), when(plan, s, boat))).collect();
    let alt = format!("A tape in boat lengths that ends at the {mark} course mark. {}.", said.join("; "));
    let no_matter = (!idle.is_empty())
        .then(|| format!("By the model it makes no difference when: {}. {}", idle.join(", "), PRACTICE[usize::from(!windward)]));
    Deeds {
        title: if windward { "Before the windward course mark".to_owned() } else { "Around the leeward course mark".to_owned() },
        safety: if blow { VANG_FIRST.to_owned() } else { String::new() },
        approach: Approach { strokes, mark: mark.to_owned(), alt },
        rows: shown
            .iter()
            .map(|s| Deed {
                deed: deed(s),
                when: when(plan, s, boat),
                lasts: format!("{} s", short(s.movement.lasts)),
                late: if is_safety(s) { "safety".to_owned() } else { lengths(s.later, boat) },
                early: lengths(s.earlier, boat),
            })
            .collect(),
        note: [
            no_matter,
            Some(format!(
                "From {}, one hand, one control at a time; done so it loses {} against hands that take no time. Late and early: {OFF:.0} s. Jaws: no difference. Rests on {turns_by}; hand times are assumed.",
                if windward { "the beat to the run" } else { "the run to the beat" },
                long.short(plan.handling.metres_lost)
            )),
        ]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" "),
    }
}

/// Where hands begin along a path round the course mark: metres before the middle of its turn, what they do and when.
#[must_use]
pub fn on_the_path(plan: &Plan, boat: f64) -> Vec<(f64, [String; 2])> {
    let first = plan.handling.blow.then(|| plan.handling.steps.first()).flatten();
    let told = plan.handling.steps.iter().filter(|s| s.matters || first.is_some_and(|v| v.movement.control == s.movement.control));
    told.map(|s| {
        let when = when(plan, s, boat);
        (plan.lengths(s.begins, boat) * boat, [deed(s), when.split(',').next().unwrap_or_default().to_owned()])
    })
    .collect()
}

/// The plans of a boat, and why there is none.
#[must_use]
pub fn all(boat: &RaceBoat, long: Long) -> (Vec<Deeds>, String) {
    let Some(hands) = &boat.hands else {
        return (Vec::new(), "What to ease and tighten when: known of a class with its sailor, not of a polar.".to_owned());
    };
    let plans: Vec<&Plan> = [&hands.windward, &hands.leeward].into_iter().filter_map(|p| p.as_ref().ok()).collect();
    let none = match (&hands.windward, &hands.leeward) {
        (Err(status), Err(_)) => {
            format!("What to ease and tighten when: the model has no answer upright in this wind ({}).", status.words())
        }
        _ => String::new(),
    };
    let deeds = plans.iter().map(|plan| deeds(plan, boat.length, "the model, compared with no boat", long)).collect();
    (deeds, [none, tack(hands, long)].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" "))
}

/// What a tack loses, or why that is not told.
#[must_use]
pub fn tack(hands: &Hands, long: Long) -> String {
    match hands.tack {
        Ok([metres, seconds]) => {
            format!("A tack loses {} and takes {:.0} s, by the model, upright on flat water.", long.short(metres), seconds)
        }
        Err(untold) => format!("What a tack loses is not told. {}.", capital(&untold.words())),
    }
}
