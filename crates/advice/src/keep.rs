//! For each sailor one thing to keep and one to work on, by written rules, from the debrief of an outing.
//!
//! What is looked at: [`RULES`]. For each the sailor's mean is held against the middle of the other boats' means on the same water.
//!
//! 1. *Work on* is the rule by which she gave away most metres in the outing, if her mean is worse than the others' by more than twice
//!    the standard deviation of her own, and by two metres in all.
//! 2. *Keep* is the rule by which she gained most, on the same condition.
//! 3. Where neither is told apart from chance, her own best moment is held up: keep what was done there, and work on doing it every time.
//!
//! The limits are assumed. Nobody is compared with one other sailor, and no order of sailors is made.

use track::debrief::{Beat, Boat, Cause, Debrief, Manoeuvre, MarkKind, Turn};

/// What a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Metres lost in tacks.
    Tacks,
    /// Metres lost in gybes.
    Gybes,
    /// Metres of way lost at windward course marks.
    Windward,
    /// Metres of way lost at leeward course marks.
    Leeward,
    /// How wide she leaves a leeward course mark.
    Exit,
    /// Metres made good in the half minute after a start.
    Starts,
    /// Metres lost on the headed tack, less those gained on the lifted one.
    Shifts,
    /// Metres lost by sailing closer to the wind or freer than the own best angle.
    Angle,
    /// Metres lost past the layline of a windward course mark.
    Layline,
}

/// The rules in the order they are tried, with what is said: to keep, to work on, and the drill.
pub const RULES: [(Rule, &str, &str, &str); 9] = [
    (
        Rule::Tacks,
        "Your tacks: you keep your speed through the turn.",
        "Tacks: turn more slowly at first, and ease the sheet a little until she goes again.",
        "Ten tacks on the whistle, each started only when the boat is at full speed.",
    ),
    (
        Rule::Gybes,
        "Your gybes: smooth, and on course at once.",
        "Gybes: choose the new course before you turn, and do not sail past it.",
        "Gybe round two buoys a few boat lengths apart, five times each way.",
    ),
    (
        Rule::Windward,
        "The windward course mark: you keep the boat moving round it.",
        "The windward course mark: ease the sheet as you bear away, so that she speeds up in the turn.",
        "Bear away round a buoy six times, sheet and board eased before the bow is off.",
    ),
    (
        Rule::Leeward,
        "The leeward course mark: you keep the boat moving round it.",
        "The leeward course mark: pull the sheet in as fast as she turns, neither sooner nor later.",
        "Round a buoy from a run to a beat six times, hand over hand.",
    ),
    (
        Rule::Exit,
        "The leeward course mark: you leave it close.",
        "The leeward course mark: come in wide and leave it close, so that nobody gets between.",
        "Round a buoy with a second one laid two boat lengths to the side: in beyond it, out between them.",
    ),
    (
        Rule::Starts,
        "Your starts: at speed early.",
        "Starts: sheet in some seconds sooner, so that she is at speed when the others go.",
        "Five starts, each time counting how many seconds your boat needs from waiting to full speed.",
    ),
    (
        Rule::Shifts,
        "The shifts: you sail the tack that the wind lifts.",
        "The shifts: when the wind pushes the bow away and it stays there while you count to five, tack.",
        "Beat with a point ashore over the bow: when the bow falls off it and stays, tack and choose a new one.",
    ),
    (
        Rule::Angle,
        "Your angle on a beat: neither too close nor too free.",
        "The angle on a beat: too close she stops, too free she goes the long way. Find speed first, then point.",
        "Beside another boat: a minute closer to the wind than usual, a minute freer, and see who goes ahead.",
    ),
    (
        Rule::Layline,
        "The layline: you tack for the windward course mark in time.",
        "The layline: tack for the windward course mark sooner. Past it every metre is sailed for nothing.",
        "Tack for a buoy by looking over the shoulder, ten times, and say each time how much too far or too short it was.",
    ),
];

/// Metres in the outing below which nothing is said. Assumed.
const LEAST: f64 = 2.0;
/// Standard deviation of one figure at least, m: what the tracks leave open. Assumed.
const SUREST: f64 = 0.5;
/// A beat ends at the windward course mark within this, s.
const BY_THE_MARK: f64 = 30.0;
/// A rule needs so many of the thing.
const FEWEST: usize = 3;

/// One thing said to a sailor.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// By which rule; none where it is her own best moment.
    pub rule: Option<Rule>,
    /// What, in her words.
    pub text: String,
    /// Metres at stake in the outing, where that was told from chance.
    pub metres: Option<f64>,
    /// The moment that shows it best, UTC seconds by her recorder.
    pub moment: Option<f64>,
    /// A drill for it; none for what she keeps.
    pub drill: Option<&'static str>,
}

/// What a sailor did by one rule: metres (less is better) with the moments.
fn measured(debrief: &Debrief, boat: usize, rule: Rule) -> Vec<(f64, f64)> {
    let own = &debrief.boats[boat];
    let turns =
        |kind: Turn| own.manoeuvres.iter().filter(move |m| m.kind == kind).filter_map(|m: &Manoeuvre| Some((m.time, m.loss?))).collect();
    let rounded = |kind: MarkKind| own.roundings.iter().filter(move |r| r.kind == kind);
    match rule {
        Rule::Tacks => turns(Turn::Tack),
        Rule::Gybes => turns(Turn::Gybe),
        Rule::Windward => rounded(MarkKind::Windward).map(|r| (r.time, r.loss)).collect(),
        Rule::Leeward => rounded(MarkKind::Leeward).map(|r| (r.time, r.loss)).collect(),
        Rule::Exit => rounded(MarkKind::Leeward).map(|r| (r.time, r.exit)).collect(),
        Rule::Starts => debrief
            .starts
            .iter()
            .filter_map(|s| s.boats.iter().find(|b| b.boat == boat).and_then(|b| Some((s.time + b.after, -b.made?))))
            .collect(),
        Rule::Shifts => own.beats.iter().filter_map(|b| Some((costliest(b, &[Cause::Headed]).0, -b.shifts?.0))).collect(),
        Rule::Angle => own.beats.iter().filter(|b| b.shifts.is_some()).map(|b| costliest(b, &[Cause::Pinched, Cause::Footed])).collect(),
        Rule::Layline => {
            let ends = |b: &&Beat| rounded(MarkKind::Windward).any(|r| (r.time - b.end).abs() < BY_THE_MARK);
            own.beats.iter().filter(ends).map(|b| costliest(b, &[Cause::Overstood])).collect()
        }
    }
}

/// When a beat lost most by some causes (its beginning where it lost nothing), and what in all.
fn costliest(beat: &Beat, causes: &[Cause]) -> (f64, f64) {
    let own = || beat.lost.iter().filter(|l| causes.contains(&l.cause));
    let most = own().max_by(|a, b| a.metres.total_cmp(&b.metres));
    (most.map_or(beat.start, |l| 0.5 * (l.start + l.end)), own().map(|l| l.metres).sum())
}

fn mean(values: &[(f64, f64)]) -> Option<(f64, f64)> {
    if values.len() < FEWEST {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().map(|v| v.1).sum::<f64>() / n;
    let variance = values.iter().map(|v| (v.1 - mean).powi(2)).sum::<f64>() / (n - 1.0);
    // Who lost nothing three times is not known to lose nothing: no mean is surer than this.
    Some((mean, (variance / n).max(SUREST * SUREST / n).sqrt()))
}

/// What to keep and what to work on; none where too little was told of the boat.
#[must_use]
pub fn keep_and_work_on(debrief: &Debrief, boat: usize) -> Option<(Said, Said)> {
    let own: &Boat = debrief.boats.get(boat)?;
    let mut best: Option<(f64, usize)> = None;
    let mut worst: Option<(f64, usize)> = None;
    for (n, (rule, ..)) in RULES.iter().enumerate() {
        let mine = measured(debrief, boat, *rule);
        let Some((mean_of_mine, sd)) = mean(&mine) else { continue };
        let mut others: Vec<f64> =
            (0..debrief.boats.len()).filter(|b| *b != boat).filter_map(|b| mean(&measured(debrief, b, *rule))).map(|m| m.0).collect();
        others.sort_by(f64::total_cmp);
        let Some(&middle) = others.get(others.len() / 2).filter(|_| others.len() >= 2) else { continue };
        let stake = (mean_of_mine - middle) * mine.len() as f64;
        if (mean_of_mine - middle).abs() <= 2.0 * sd || stake.abs() < LEAST {
            continue;
        }
        if stake > 0.0 && worst.is_none_or(|w| stake > w.0) {
            worst = Some((stake, n));
        }
        if stake < 0.0 && best.is_none_or(|b| stake < b.0) {
            best = Some((stake, n));
        }
    }
    let moment = |n: usize, least: bool| {
        let mut all = measured(debrief, boat, RULES[n].0);
        all.sort_by(|a, b| a.1.total_cmp(&b.1));
        if least { all.first().copied() } else { all.last().copied() }
    };
    let mut tacks: Vec<&Manoeuvre> = own.manoeuvres.iter().filter(|m| m.kind == Turn::Tack && m.loss.is_some()).collect();
    tacks.sort_by(|a, b| a.loss.unwrap_or(0.0).total_cmp(&b.loss.unwrap_or(0.0)));
    let keep = match (best, tacks.first()) {
        (Some((stake, n)), _) => Said {
            rule: Some(RULES[n].0),
            text: RULES[n].1.to_owned(),
            metres: Some(-stake),
            moment: moment(n, true).map(|m| m.0),
            drill: None,
        },
        (None, Some(tack)) => Said {
            rule: None,
            text: "Your best tack of the day: remember how it felt.".to_owned(),
            metres: None,
            moment: Some(tack.time),
            drill: None,
        },
        (None, None) => return None,
    };
    let work_on = match worst {
        Some((stake, n)) => Said {
            rule: Some(RULES[n].0),
            text: RULES[n].2.to_owned(),
            metres: Some(stake),
            moment: moment(n, false).map(|m| m.0),
            drill: Some(RULES[n].3),
        },
        None => Said {
            rule: None,
            text: "Nothing stands out: make every tack like your best one.".to_owned(),
            metres: None,
            moment: tacks.last().map(|t| t.time),
            drill: Some(RULES[0].3),
        },
    };
    Some((keep, work_on))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A boat whose tacks lost these metres.
    fn boat(losses: &[f64]) -> Boat {
        let tack = |(n, loss): (usize, &f64)| Manoeuvre {
            time: n as f64,
            kind: Turn::Tack,
            turn: 1.6,
            rate: 0.4,
            to_speed: None,
            loss: Some(*loss),
            loss_sd: Some(0.5),
        };
        Boat { manoeuvres: losses.iter().enumerate().map(tack).collect(), ..Boat::default() }
    }

    fn debrief(boats: &[&[f64]]) -> Debrief {
        Debrief { boats: boats.iter().map(|b| boat(b)).collect(), ..Debrief::default() }
    }

    #[test]
    fn what_stands_out_is_named_with_its_worst_moment_and_a_drill() {
        let usual: &[f64] = &[2.0, 2.2, 1.8, 2.1];
        let answer = debrief(&[&[4.0, 4.4, 3.9, 4.1], usual, usual, &[0.5, 0.4, 0.6, 0.7]]);
        let (_, work_on) = keep_and_work_on(&answer, 0).unwrap();
        assert_eq!((work_on.rule, work_on.moment, work_on.drill), (Some(Rule::Tacks), Some(1.0), Some(RULES[0].3)));
        // Four tacks, two metres each above the middle of the others.
        assert!((work_on.metres.unwrap() - 4.0 * (4.1 - 2.025)).abs() < 0.1, "{:?}", work_on.metres);
        let (keep, _) = keep_and_work_on(&answer, 3).unwrap();
        assert_eq!((keep.rule, keep.moment), (Some(Rule::Tacks), Some(1.0)));
    }

    /// Who goes past the layline beat after beat hears of it, at the dearest one; who sails the lifted tack keeps that.
    #[test]
    fn beats_are_looked_at_too() {
        use track::debrief::{Lost, Rounding};
        let usual: &[f64] = &[2.0, 2.2, 1.8, 2.1];
        let mut answer = debrief(&[usual, usual, usual]);
        for (n, boat) in answer.boats.iter_mut().enumerate() {
            for k in 0..4 {
                let start = 1000.0 * f64::from(k);
                let over = Lost { cause: Cause::Overstood, start: start + 250.0, end: start + 290.0, metres: 6.0 + f64::from(k), sd: 1.5 };
                let lost = if n == 0 { vec![over] } else { Vec::new() };
                let gained = if n == 2 { 9.0 } else { 0.4 * f64::from(k) };
                boat.beats.push(Beat { start, end: start + 300.0, shifts: Some((gained, 2.0)), lost });
                let rounding =
                    Rounding { time: start + 304.0, kind: MarkKind::Windward, mark: 0, entry: 3.0, exit: 3.0, slowest: 1.0, loss: 2.0 };
                boat.roundings.push(rounding);
            }
        }
        let (_, work_on) = keep_and_work_on(&answer, 0).unwrap();
        assert_eq!((work_on.rule, work_on.moment), (Some(Rule::Layline), Some(3270.0)));
        assert!((work_on.metres.unwrap() - 30.0).abs() < 1e-9);
        assert_eq!(keep_and_work_on(&answer, 2).unwrap().0.rule, Some(Rule::Shifts));
        assert_eq!(keep_and_work_on(&answer, 1).unwrap().1.rule, None);
    }

    #[test]
    fn chance_is_not_named() {
        let usual: &[f64] = &[2.0, 2.4, 1.6, 2.1];
        let answer = debrief(&[&[2.4, 1.2, 3.1, 2.0], usual, usual]);
        let (keep, work_on) = keep_and_work_on(&answer, 0).unwrap();
        assert_eq!((keep.rule, work_on.rule), (None, None));
        assert_eq!((keep.moment, work_on.moment), (Some(1.0), Some(2.0)), "her own best and worst");
    }

    #[test]
    fn where_little_is_told_nothing_is_said() {
        assert!(keep_and_work_on(&debrief(&[&[]]), 0).is_none());
        assert!(keep_and_work_on(&debrief(&[]), 3).is_none());
        // One boat alone is held against herself.
        assert_eq!(keep_and_work_on(&debrief(&[&[3.0, 1.0, 2.0]]), 0).unwrap().0.moment, Some(1.0));
    }
}
