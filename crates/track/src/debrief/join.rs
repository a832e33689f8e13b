//! From smoothed tracks to the debrief: each part in its turn, on the fleet's grid, then in plain values.

use super::sift::sift;
use super::{
    Asked, Beat, Boat, CourseMark, Current, Debrief, Leg, Lineup, Lost, Manoeuvre, Mean, PATH_STEP, Rounding, Start, Started, Stop, Turn,
    WindAt,
};
use crate::angle::angles;
use crate::clean::Smooth;
use crate::clock::{Clocks, clocks};
use crate::fleet::Fleet;
use crate::leg::{self, Kind};
use crate::manoeuvre::{Found, Level, manoeuvres};
use crate::rounding::{self, Mark, MarkKind};
use crate::upwind::{Known, Upwind};
use crate::wind::{BLOCK, Untold, Wind, wind};
use crate::{lineup, start, upwind};
use measure::{Bearing, LocalPlane, Warning};
use rayon::prelude::*;

/// Fewest manoeuvres of which a mean is told.
const FEWEST: usize = 3;
/// Without a polar the wind's speed is a guess, good to this share (assumed): it turns a current into an angle.
const GUESSED: f64 = 0.4;

pub(super) fn debrief(mut tracks: Vec<Smooth>, plane: &LocalPlane, asked: &Asked<'_>) -> Debrief {
    let reasons = sift(&mut tracks);
    let mut said = Vec::new();
    let mut fleet = Fleet::of(&tracks, &mut said);
    // The fleet's grid holds all that is needed of them.
    drop(tracks);
    let mut answer = Debrief { warnings: said.into_iter().map(|s| Warning::new("", s)).collect(), ..Debrief::default() };
    if fleet.len == 0 {
        answer.boats = (0..fleet.boats.len()).map(|b| plain(&fleet, b)).collect();
        return answer;
    }
    let clocks = match wind(&mut fleet, asked.polar) {
        Ok(wind) => {
            let clocks = clocks(&fleet, Some(&wind));
            with_wind(&fleet, &wind, &clocks, plane, asked, &mut answer);
            clocks
        }
        Err(why) => {
            without_wind(&fleet, why, &mut answer);
            clocks(&fleet, None)
        }
    };
    for ((boat, on), reason) in answer.boats.iter_mut().zip(&fleet.boats).zip(reasons) {
        if let Some(reason) = reason {
            boat.warnings.push(reason);
        } else if on.span.1 == on.span.0 {
            boat.warnings.push("nothing is told of this track: its times are of another day than the other boats'".to_owned());
        } else if on.hours != 0 {
            boat.clock_shift = Some(on.hours as f64 * 3600.0);
            boat.warnings.push(format!(
                "its clock seems to be {} h {} the other boats': is the recorder set to another timezone? Its own times are kept",
                on.hours.abs(),
                if on.hours > 0 { "behind" } else { "ahead of" }
            ));
        }
    }
    for (one, other, seconds) in &clocks.either {
        let (first, second) = (&fleet.boats[*one].name, &fleet.boats[*other].name);
        let (ahead, behind) = if *seconds > 0.0 { (first, second) } else { (second, first) };
        let what = format!(
            "the clock of {ahead} seems to be {:.0} s ahead of that of {behind}, and which of the two is wrong cannot be told: compare both; their own times are kept",
            seconds.abs()
        );
        answer.warnings.push(Warning::new("", what));
    }
    for (boat, clock) in answer.boats.iter_mut().zip(clocks.ahead) {
        let Some(clock) = clock else { continue };
        boat.clock_shift = Some(boat.clock_shift.unwrap_or(0.0) - clock.seconds);
        boat.warnings.push(format!(
            "its clock seems to be {:.0} s {} the other boats', to about {:.0} s either way: compare it before you believe it; its own times are kept",
            clock.seconds.abs(),
            if clock.seconds > 0.0 { "ahead of" } else { "behind" },
            (2.0 * clock.sd).max(2.0)
        ));
    }
    answer
}

/// What is left where the wind's direction cannot be told.
fn without_wind(fleet: &Fleet, why: Untold, answer: &mut Debrief) {
    let reason = match why {
        Untold::Nothing => "there is too little steady sailing in the tracks",
        Untold::Ambiguous => "the courses sailed fit more than one direction, as on reaches alone",
        Untold::NoTacks => "there are fewer than six turns that can be tacks, and no close-hauled courses on both",
    };
    answer.warnings.push(Warning::new(
        "",
        format!("the wind cannot be told from these tracks: {reason}. So legs have no kind, and tacks, gybes, roundings and line-ups are not told"),
    ));
    answer.wind =
        (0..fleet.len).step_by(BLOCK).map(|i| WindAt { time: (fleet.start + i as i64) as f64, direction: None, speed: None }).collect();
    answer.boats = (0..fleet.boats.len())
        .map(|b| {
            let kinds = leg::stopped_or_not(&fleet.boats[b]);
            let mut boat = plain(fleet, b);
            boat.legs = legs(fleet, b, &kinds, None);
            boat.distance = sailed(&boat.legs);
            boat
        })
        .collect();
}

fn with_wind(fleet: &Fleet, wind: &Wind, clocks: &Clocks, plane: &LocalPlane, asked: &Asked<'_>, answer: &mut Debrief) {
    let boats = fleet.boats.len();
    answer.wind = winds(fleet, wind);
    answer.current = current(fleet, wind);
    say_of_the_wind(wind, asked, answer);
    let all: Vec<Vec<f64>> = (0..boats).into_par_iter().map(|b| angles(fleet, b, wind)).collect();
    let mut kinds: Vec<_> = (0..boats).into_par_iter().map(|b| leg::kinds(&fleet.boats[b], &all[b])).collect();
    leg::tows(fleet, &mut kinds);
    let level = Level::of(fleet, wind);
    let found: Vec<Vec<Found>> = (0..boats).into_par_iter().map(|b| manoeuvres(fleet, b, &all[b], &kinds[b], &level)).collect();
    let changes: Vec<Vec<rounding::Change>> = (0..boats).into_par_iter().map(|b| rounding::changes(fleet, b, &all[b])).collect();
    let given = asked.course_marks.iter();
    let mut marks: Vec<Mark> =
        given.map(|m| Mark { name: m.name.clone(), kind: m.kind, place: plane.xy(m.position).into(), sd: None }).collect();
    // A kind that nobody gave a place of is sought in the tracks.
    let lacks = |kind: MarkKind| !marks.iter().any(|m| m.kind.is_none_or(|k| k == kind));
    let lacking = [MarkKind::Windward, MarkKind::Leeward].map(|kind| (kind, lacks(kind)));
    if lacking.iter().any(|l| l.1) {
        let (e, n) = answer.wind.iter().filter_map(|w| w.direction).fold((0.0, 0.0), |s, d| (s.0 + d.0.unit().0, s.1 + d.0.unit().1));
        let found = rounding::marks(fleet, &changes.concat(), e.atan2(n));
        marks.extend(found.into_iter().filter(|m| lacking.iter().any(|l| l.1 && m.kind == Some(l.0))));
    }
    let roundings: Vec<Vec<rounding::Rounding>> =
        (0..boats).into_par_iter().map(|b| rounding::roundings(&fleet.boats[b], &changes[b], &marks)).collect();
    let starts = start::starts(fleet, wind, &kinds);
    answer.boats = (0..boats)
        .into_par_iter()
        .map(|b| {
            let mut boat = plain(fleet, b);
            boat.legs = legs(fleet, b, &kinds[b], Some(&all[b]));
            boat.distance = sailed(&boat.legs);
            let stretches = leg::stretches(&kinds[b]);
            let own = |second: usize| own_time(fleet, b, second as f64);
            let stops = leg::stops(fleet, b, &kinds, &stretches);
            boat.stops = stops.iter().map(|s| Stop { start: own(s.from), end: own(s.to), capsized: s.capsized }).collect();
            boat.manoeuvres = found[b].iter().map(|f| manoeuvre(fleet, b, f)).collect();
            boat.tacks = mean(&boat.manoeuvres, Turn::Tack);
            boat.gybes = mean(&boat.manoeuvres, Turn::Gybe);
            boat.roundings = roundings[b].iter().map(|r| rounded(fleet, b, r)).collect();
            let known = Known {
                fleet,
                wind,
                level: &level,
                boat: b,
                angles: &all[b],
                stretches: &stretches,
                turns: &found[b],
                roundings: &roundings[b],
                marks: &marks,
            };
            boat.beats = upwind::beats(&known).iter().map(|u| beat(fleet, b, u)).collect();
            boat.laps = laps(fleet, b, &roundings[b], &starts);
            boat
        })
        .collect();
    answer.mark_places = marks.iter().map(|m| m.place).collect();
    answer.course_marks = course_marks(&marks, &roundings, plane);
    answer.starts = starts.iter().map(|s| started(fleet, s)).collect();
    let given: Vec<(usize, usize, usize)> =
        asked.lineups.iter().filter_map(|g| Some((g.boats.0, g.boats.1, usize::try_from(g.start as i64 - fleet.start).ok()?))).collect();
    let passes = lineup::passes(fleet, wind, &all, &given, &clocks.ahead);
    for p in &passes.useless {
        let minutes = (p.end - p.start) as f64 / 60.0;
        let (one, other) = (&fleet.boats[p.boats.0].name, &fleet.boats[p.boats.1].name);
        let what = format!(
            "{one} beside {other} for {minutes:.1} min: their recorders leave the difference open to {:.2} m/s either way, which is more than like boats differ by; not told. Longer passes tell more",
            2.0 * p.sd
        );
        answer.warnings.push(Warning::new("", what));
    }
    answer.lineups = passes
        .told
        .into_iter()
        .map(|p| Lineup {
            boats: p.boats,
            start: (fleet.start + p.start as i64) as f64,
            end: (fleet.start + p.end as i64) as f64,
            difference: p.difference,
            sd: p.sd,
            from_speed: p.speed,
            from_height: p.height,
            swapped: p.swapped,
        })
        .collect();
}

/// A second of the grid by the boat's own recorder.
fn own_time(fleet: &Fleet, boat: usize, second: f64) -> f64 {
    (fleet.start - fleet.boats[boat].hours * 3600) as f64 + second
}

/// A boat with her path and the distance sailed.
fn plain(fleet: &Fleet, boat: usize) -> Boat {
    let b = &fleet.boats[boat];
    let shown = |i: &usize| b.on[*i] && (i.is_multiple_of(PATH_STEP) || i.checked_sub(1).is_none_or(|j| !b.on[j]));
    let path = (b.span.0..b.span.1).filter(shown).map(|i| [own_time(fleet, boat, i as f64), b.x[i], b.y[i]]).collect();
    Boat { track: b.name.clone(), path, ..Boat::default() }
}

/// The wind over the ground: that over the water, which boats feel, and the current.
fn winds(fleet: &Fleet, wind: &Wind) -> Vec<WindAt> {
    (0..fleet.len)
        .step_by(BLOCK)
        .map(|i| {
            let (from, sd) = wind.middle(i);
            let told = wind.speed_at(i);
            let strength = told.map_or(wind.about, |s| s.0).max(0.3);
            let current = fleet.current_at(i);
            let v = [-strength * from.sin() + current[0], -strength * from.cos() + current[1]];
            let ground = (-v[0]).atan2(-v[1]);
            let turned = measure::angle::wrap(ground - from) * told.map_or(GUESSED, |s| s.1 / strength);
            let told = told.map(|s| (v[0].hypot(v[1]), s.1));
            let time = (fleet.start + i as i64) as f64;
            WindAt { time, direction: Some((Bearing::radians_true(ground), sd.hypot(turned))), speed: told }
        })
        .collect()
}

fn current(fleet: &Fleet, wind: &Wind) -> Option<Current> {
    let across = wind.across.filter(|a| a.told)?;
    let v = fleet.current_at(fleet.len / 2);
    Some(Current { speed: v[0].hypot(v[1]), toward: Bearing::of(v[0], v[1]), sd: across.sd })
}

fn say_of_the_wind(wind: &Wind, asked: &Asked<'_>, answer: &mut Debrief) {
    if asked.polar.is_some() && wind.speed.is_none() {
        answer.warnings.push(Warning::new("", "the wind's speed cannot be told: too little steady sailing fits the polar"));
    }
    let mut say = |what: String| answer.limits.push(what);
    if asked.polar.is_none() {
        say("the wind's speed cannot be told from tracks without a polar of the one class they are of: bring one, or a sailor's mass to solve it for (--polar FILE or --mass KG at a prompt)".to_owned());
    }
    match wind.across {
        Some(a) if a.told => say("of the current only the part across the wind can be told from tracks".to_owned()),
        Some(a) => say(format!(
            "no current across the wind can be told from none: it is {:.2} m/s or less, 19 chances in 20; along the wind it cannot be told from tracks",
            a.middle.abs() + 2.0 * a.sd
        )),
        None => say("the current cannot be told: too few beats on both tacks".to_owned()),
    }
}

fn legs(fleet: &Fleet, boat: usize, kinds: &[Option<Kind>], angles: Option<&[f64]>) -> Vec<Leg> {
    let b = &fleet.boats[boat];
    leg::stretches(kinds)
        .iter()
        .map(|s| Leg {
            start: own_time(fleet, boat, s.from as f64),
            end: own_time(fleet, boat, s.to as f64),
            // Without a wind only a stop has a kind.
            kind: (angles.is_some() || s.kind == Kind::Stopped).then_some(s.kind),
            made_good: angles.and_then(|a| leg::made_good(b, a, s)),
            distance: (s.from..s.to).filter(|i| b.on[*i]).map(|i| b.ground[i][0].hypot(b.ground[i][1])).sum(),
        })
        .collect()
}

fn sailed(legs: &[Leg]) -> f64 {
    legs.iter().filter(|l| !matches!(l.kind, Some(Kind::Stopped | Kind::Tow))).fold(0.0, |s, l| s + l.distance)
}

fn manoeuvre(fleet: &Fleet, boat: usize, f: &Found) -> Manoeuvre {
    Manoeuvre {
        time: own_time(fleet, boat, f.at),
        kind: f.kind,
        turn: f.turn,
        rate: f.rate,
        to_speed: f.back,
        loss: f.loss,
        loss_sd: f.loss.map(|_| f.loss_sd),
    }
}

fn beat(fleet: &Fleet, boat: usize, u: &Upwind) -> Beat {
    let own = |second: usize| own_time(fleet, boat, second as f64);
    let lost = u.lost.iter().map(|l| Lost { cause: l.cause, start: own(l.from), end: own(l.to), metres: l.metres, sd: l.sd });
    Beat { start: own(u.from), end: own(u.to), shifts: u.shifts, lost: lost.collect() }
}

/// The mean loss of a kind, where there are enough; weighted by nothing, as a bad one counts as much as a good one.
fn mean(all: &[Manoeuvre], kind: Turn) -> Option<Mean> {
    let own: Vec<(f64, f64)> = all.iter().filter(|m| m.kind == kind).filter_map(|m| Some((m.loss?, m.loss_sd?))).collect();
    if own.len() < FEWEST {
        return None;
    }
    let n = own.len() as f64;
    let mean = own.iter().map(|o| o.0).sum::<f64>() / n;
    // How they differ among themselves holds both what she does and what is measured; what is measured is its least.
    let scatter = own.iter().map(|o| (o.0 - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let measured = own.iter().map(|o| o.1 * o.1).sum::<f64>() / n;
    Some(Mean { count: own.len(), mean, sd: (scatter.max(measured) / n).sqrt() })
}

fn rounded(fleet: &Fleet, boat: usize, r: &rounding::Rounding) -> Rounding {
    Rounding {
        time: own_time(fleet, boat, r.at as f64),
        kind: r.kind,
        mark: r.mark,
        entry: r.entry,
        exit: r.exit,
        slowest: r.slowest,
        loss: r.loss,
    }
}

/// Laps: from a leeward rounding, or a start, over a windward one to the next leeward rounding.
fn laps(fleet: &Fleet, boat: usize, roundings: &[rounding::Rounding], starts: &[start::Together]) -> Vec<super::Lap> {
    let b = &fleet.boats[boat];
    let own_starts = starts.iter().filter_map(|s| s.boats.iter().find(|g| g.boat == boat)).map(|g| (g.at, None));
    let mut events: Vec<(usize, Option<MarkKind>)> = own_starts.chain(roundings.iter().map(|r| (r.at, Some(r.kind)))).collect();
    events.sort_by_key(|e| e.0);
    let (mut begun, mut up, mut found) = (None, false, Vec::new());
    for (at, kind) in events {
        match (kind, begun) {
            (None, _) => (begun, up) = (Some(at), false),
            (Some(MarkKind::Windward), _) => up = true,
            (Some(MarkKind::Leeward), Some(from)) if up => {
                let distance = (from..at).filter(|i| b.on[*i]).map(|i| b.ground[i][0].hypot(b.ground[i][1])).sum();
                found.push(super::Lap { start: own_time(fleet, boat, from as f64), end: own_time(fleet, boat, at as f64), distance });
                (begun, up) = (Some(at), false);
            }
            (Some(MarkKind::Leeward), _) => (begun, up) = (Some(at), false),
        }
    }
    found
}

fn course_marks(marks: &[Mark], roundings: &[Vec<rounding::Rounding>], plane: &LocalPlane) -> Vec<CourseMark> {
    let kind = |n: usize| {
        let of = |kind: MarkKind| roundings.iter().flatten().filter(|r| r.mark == n && r.kind == kind).count();
        let (up, down) = (of(MarkKind::Windward), of(MarkKind::Leeward));
        (up + down > 0).then_some(if up >= down { MarkKind::Windward } else { MarkKind::Leeward })
    };
    marks
        .iter()
        .enumerate()
        .map(|(n, m)| CourseMark {
            name: m.name.clone(),
            kind: m.kind.or_else(|| kind(n)),
            position: plane.position(m.place[0], m.place[1]),
            sd: m.sd,
        })
        .collect()
}

fn started(fleet: &Fleet, s: &start::Together) -> Start {
    Start {
        time: (fleet.start + s.at as i64) as f64,
        boats: s.boats.iter().map(|g| Started { boat: g.boat, after: (g.at - s.at) as f64, to_speed: g.to_speed, made: g.made }).collect(),
    }
}
