//! The race day to read in a terminal.

use regatta::start::signals;
use trimwright::long::Long;
use trimwright::race_day::deeds;
use trimwright::race_day::found::{Found, FoundLeg};
use trimwright::race_day::words::{
    bearing, capital, clock, favoured, layline, lying_still, rounding, sailed, set, shoulder, through, wind,
};

use crate::table::Rows;

pub(super) fn table(found: &Found, long: Long) -> String {
    let kind = found.course.kind.map_or("course by its order", regatta::course::CourseKind::word);
    let mut text = format!("{}, course marks left to {}; {}\n\n", capital(kind), found.course.side.word(), wind(found, long));
    let mut rows = Rows::under(&["leg", &format!(">{}", long.unit), ">true", ">compass", ">time", "sailed"]);
    for FoundLeg { leg, passage } in &found.legs {
        rows.push([
            format!("{} to {}", leg.from.name, leg.to.name),
            format!("{:.0}", leg.length.si() / long.metres),
            bearing(leg.bearing.in_degrees()),
            found.magnetic(leg.bearing).map_or("-".to_owned(), bearing),
            passage.as_ref().map_or_else(|_| "-".to_owned(), |p| clock(p.seconds)),
            sailed(passage),
        ]);
    }
    text += &rows.text();
    if let Some(seconds) = found.seconds() {
        text += &format!("{} in all, no tack lost and no boat in the way\n", clock(seconds));
    }
    match &found.start {
        None => text += "\nNo start line: name a pin and a committee boat.\n",
        Some(Err(stuck)) => text += &format!("\nStart line: {}.\n", stuck.words()),
        Some(Ok(start)) => {
            text += &format!(
                "\nStart line, {}. {}\n{}\n{}\n",
                long.whole(start.length.si()),
                favoured(&start.bias[1], found.boat.length),
                through(found, start, long),
                lying_still(found)
            );
        }
    }
    for l in &found.laylines {
        text += &format!("\nLaylines of {}\n", l.mark.name);
        for k in [0, 1] {
            text += &format!("{}\n", layline(found, l, k, long));
            text += &format!("  {}\n", shoulder(&l.lines[k]));
            text += &set(&l.lines[k]).map_or_else(String::new, |s| format!("  {s}\n"));
        }
    }
    for r in &found.roundings {
        text +=
            &format!("\nRounding {}, in on {}, out on {}\n", r.mark.name, bearing(r.approach.in_degrees()), bearing(r.exit.in_degrees()));
        let mut rows = Rows::under(&["", ""]);
        for (what, figure) in rounding(r, found.boat.length, long) {
            rows.push([what, figure]);
        }
        text += rows.text().trim_start_matches('\n');
    }
    let (plans, untold) = deeds::all(&found.boat, long);
    for plan in &plans {
        text += &format!("\n{}\n", plan.title);
        if !plan.safety.is_empty() {
            text += &format!("{}\n", plan.safety);
        }
        let mut rows = Rows::under(&["what", "begin", ">takes", ">5 s late costs", ">5 s early costs"]);
        for d in &plan.rows {
            rows.push([&d.deed, &d.when, &d.lasts, &d.late, &d.early]);
        }
        text += &rows.text();
        text += &format!("{}\n", plan.note);
    }
    text += &format!("\n{untold}\n");
    text += &format!("\nSignals ({})\n", found.sequence.word());
    for s in signals(found.sequence) {
        text += &format!(
            "{:>5}  {}\n",
            clock(f64::from(s.before)),
            [s.name, s.flag, s.sound].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ")
        );
    }
    text += &format!(
        "\nSpeeds by {}; how she turns is {}. The race committee and the rule book decide.\n",
        found.boat.rests_on, found.boat.turns_by
    );
    text
}
