//! Drills: our own, one file each in `data/drills`; their layout in the wind of the day, and which of them the debrief asks for.

use advice::keep::{Rule, keep_and_work_on};
use measure::quantity::KNOT;
use serde::{Deserialize, Serialize};
use track::debrief::Debrief;

use crate::drawing::drill::Layout;

/// The files.
const FILES: [&str; 25] = [
    include_str!("../../../../data/drills/tacks_on_the_whistle.toml"),
    include_str!("../../../../data/drills/five_count_tacks.toml"),
    include_str!("../../../../data/drills/roll_and_hold.toml"),
    include_str!("../../../../data/drills/gybes_round_two_buoys.toml"),
    include_str!("../../../../data/drills/gybes_on_the_whistle.toml"),
    include_str!("../../../../data/drills/bear_away_six.toml"),
    include_str!("../../../../data/drills/controls_in_order.toml"),
    include_str!("../../../../data/drills/the_way_to_the_mark.toml"),
    include_str!("../../../../data/drills/tack_on_the_header.toml"),
    include_str!("../../../../data/drills/hand_over_hand.toml"),
    include_str!("../../../../data/drills/board_before_the_mark.toml"),
    include_str!("../../../../data/drills/wide_in_close_out.toml"),
    include_str!("../../../../data/drills/three_in_a_row.toml"),
    include_str!("../../../../data/drills/seconds_to_speed.toml"),
    include_str!("../../../../data/drills/start_repeats.toml"),
    include_str!("../../../../data/drills/hold_your_place.toml"),
    include_str!("../../../../data/drills/timed_runs_at_the_line.toml"),
    include_str!("../../../../data/drills/board_up_and_half_down.toml"),
    include_str!("../../../../data/drills/ease_and_hike.toml"),
    include_str!("../../../../data/drills/steer_by_heel.toml"),
    include_str!("../../../../data/drills/line_ups.toml"),
    include_str!("../../../../data/drills/stop_at_the_buoy.toml"),
    include_str!("../../../../data/drills/over_and_up.toml"),
    include_str!("../../../../data/drills/still_in_light_air.toml"),
    include_str!("../../../../data/drills/follow_the_leader.toml"),
];

/// Made good to windward, knots, by the wind at ten metres, knots. Source: this program's own model of its invented pram with 42 kg in flat
/// water (`trimwright polar --mass 42 --wind 4,6,8,10,13,16`); below the least wind in proportion. Nobody has measured it.
const MADE_GOOD: [(f64, f64); 7] = [(0.0, 0.0), (4.0, 0.86), (6.0, 1.27), (8.0, 1.64), (10.0, 1.94), (13.0, 2.29), (16.0, 2.52)];
/// The wind a layout is drawn for where the day's is not known, knots. Assumed.
pub const USUAL_WIND: f64 = 8.0;
/// Drills proposed for one finding.
const EACH: usize = 2;

/// What a layout's numbers count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Boat lengths.
    Boats,
    /// What a boat makes good to windward in a second, in the wind of the day.
    BeatSeconds,
}

#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct Mark {
    name: String,
    at: [f64; 2],
}

#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct Places {
    unit: Unit,
    #[serde(default)]
    marks: Vec<Mark>,
    #[serde(default)]
    lines: Vec<[[f64; 2]; 2]>,
    #[serde(default)]
    paths: Vec<Vec<[f64; 2]>>,
    #[serde(default)]
    boats: Vec<[f64; 3]>,
}

/// A drill as its file has it.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Drill {
    /// Its key.
    pub key: String,
    /// Its name.
    pub title: String,
    /// What it is for.
    pub aim: String,
    /// Which finding of a debrief it answers, by the rule's name.
    pub finding: Option<String>,
    /// In which winds, knots at ten metres; none is: in any.
    pub wind_knots: Option<[f64; 2]>,
    /// How long.
    pub minutes: f64,
    /// How many boats it takes at least.
    pub boats: u32,
    /// What to do, step by step.
    #[serde(rename = "do")]
    pub steps: Vec<String>,
    /// What the coach watches.
    pub watch: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    layout: Places,
}

/// Every drill.
///
/// # Errors
/// The place in a file, should it be broken.
pub fn drills() -> Result<Vec<Drill>, toml::de::Error> {
    FILES.iter().map(|text| toml::from_str(text)).collect()
}

/// Made good to windward in a wind (knots at ten metres), m/s.
#[must_use]
pub fn made_good(knots: f64) -> f64 {
    let last = MADE_GOOD[MADE_GOOD.len() - 1];
    let pair = MADE_GOOD.windows(2).find(|pair| knots <= pair[1].0);
    let speed = pair.map_or(last.1, |p| p[0].1 + (p[1].1 - p[0].1) * (knots - p[0].0) / (p[1].0 - p[0].0));
    // In almost no wind a layout has still some water.
    speed.max(0.3) * KNOT
}

/// The rule of a finding's name.
fn rule(name: &str) -> Option<Rule> {
    Some(match name {
        "tacks" => Rule::Tacks,
        "gybes" => Rule::Gybes,
        "windward" => Rule::Windward,
        "leeward" => Rule::Leeward,
        "exit" => Rule::Exit,
        "starts" => Rule::Starts,
        "shifts" => Rule::Shifts,
        "angle" => Rule::Angle,
        "layline" => Rule::Layline,
        _ => return None,
    })
}

/// A finding in words.
fn found(name: &str) -> &'static str {
    match name {
        "tacks" => "metres lost in tacks",
        "gybes" => "metres lost in gybes",
        "shifts" => "metres lost on the headed tack",
        "angle" => "metres lost by sailing too close or too free",
        "layline" => "metres lost past the layline",
        "windward" => "way lost at windward course marks",
        "leeward" => "way lost at leeward course marks",
        "exit" => "wide exits from leeward course marks",
        _ => "slow starts",
    }
}

/// A drill for paper and page, in the wind of a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Its name.
    pub title: String,
    /// What it is for.
    pub aim: String,
    /// Minutes, boats, wind.
    pub facts: String,
    /// The finding it answers; empty where it answers none.
    pub answers: String,
    /// How far it reaches in this wind.
    pub scale: String,
    /// Step by step.
    pub steps: Vec<String>,
    /// What the coach watches.
    pub watch: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// The layout.
    pub layout: Layout,
}

impl Drill {
    /// Whether it is one for this wind.
    #[must_use]
    pub fn fits(&self, knots: f64) -> bool {
        self.wind_knots.is_none_or(|[low, high]| (low..=high).contains(&knots))
    }

    /// The layout in a wind (knots at ten metres) for a boat of this length (m).
    #[must_use]
    pub fn layout(&self, knots: f64, length: f64) -> Layout {
        let unit = match self.layout.unit {
            Unit::Boats => length,
            Unit::BeatSeconds => made_good(knots),
        };
        let at = |p: [f64; 2]| p.map(|v| v * unit);
        let places = &self.layout;
        Layout {
            marks: places.marks.iter().map(|m| (m.name.clone(), at(m.at))).collect(),
            lines: places.lines.iter().map(|l| l.map(at)).collect(),
            paths: places.paths.iter().map(|p| p.iter().copied().map(at).collect()).collect(),
            boats: places.boats.iter().map(|b| [b[0] * unit, b[1] * unit, b[2]]).collect(),
            length,
            alt: format!("{}, seen from above, the wind from the top. {}", self.title, self.steps.join(" ")),
        }
    }

    /// The sheet in a wind; `known` says whether it is the day's.
    #[must_use]
    pub fn sheet(&self, knots: f64, known: bool, length: f64) -> Sheet {
        let layout = self.layout(knots, length);
        let ys = layout.marks.iter().map(|m| m.1[1]).chain(layout.paths.iter().flatten().map(|p| p[1]));
        let (low, high) = ys.fold((f64::MAX, f64::MIN), |(l, h), y| (l.min(y), h.max(y)));
        let far = (high - low).max(0.0);
        let boats = (far / length.max(0.1)).round();
        let wind = if known { format!("the day's {knots:.0} knots") } else { format!("{knots:.0} knots, as no wind is known for the day") };
        let scale = match self.layout.unit {
            Unit::Boats => format!("From end to end {far:.0} m along the wind, {boats:.0} boat lengths, in any wind."),
            Unit::BeatSeconds => {
                format!(
                    "From end to end {far:.0} m along the wind, {boats:.0} boat lengths: {:.0} s of beating in {wind}.",
                    far / made_good(knots)
                )
            }
        };
        let winds = self.wind_knots.map_or(String::new(), |[low, high]| format!(", {low:.0} to {high:.0} knots"));
        let few = if self.boats == 1 { "one boat or more".to_owned() } else { format!("{} boats or more", self.boats) };
        Sheet {
            title: self.title.clone(),
            aim: self.aim.clone(),
            facts: format!("{:.0} minutes, {few}{winds}", self.minutes),
            answers: self.finding.as_deref().map_or(String::new(), |f| format!("Answers: {}.", found(f))),
            scale,
            steps: self.steps.clone(),
            watch: self.watch.clone(),
            cautions: self.cautions.clone(),
            layout,
        }
    }
}

/// A drill that the last debrief asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Which.
    pub key: String,
    /// Why, in words.
    pub why: String,
    /// For whom: places among the debrief's boats. A page that others may see tells how many, not who.
    pub boats: Vec<usize>,
}

/// What a debrief's "work on" asks for in a wind (knots): what most sailors share comes first. No sailor is set beside another.
#[must_use]
pub fn proposals(drills: &[Drill], debrief: &Debrief, knots: f64) -> Vec<Proposal> {
    let mut by: Vec<(Rule, Vec<usize>, f64)> = Vec::new();
    for boat in 0..debrief.boats.len() {
        let Some((_, work_on)) = keep_and_work_on(debrief, boat) else { continue };
        let (Some(rule), Some(metres)) = (work_on.rule, work_on.metres) else { continue };
        match by.iter_mut().find(|b| b.0 == rule) {
            Some(one) => {
                one.1.push(boat);
                one.2 += metres;
            }
            None => by.push((rule, vec![boat], metres)),
        }
    }
    by.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(b.2.total_cmp(&a.2)));
    let of = |(wanted, boats, _): (Rule, Vec<usize>, f64)| {
        let name = |d: &&Drill| d.finding.as_deref().and_then(rule) == Some(wanted) && d.fits(knots);
        let some: Vec<Proposal> = drills
            .iter()
            .filter(name)
            .take(EACH)
            .map(|d| Proposal { key: d.key.clone(), why: d.finding.as_deref().map_or("", found).to_owned(), boats: boats.clone() })
            .collect();
        some
    };
    by.into_iter().flat_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use advice::keep::RULES;
    use std::collections::BTreeSet;

    /// A pram's length, m.
    const LENGTH: f64 = 2.4;

    #[test]
    fn every_drill_reads_and_every_finding_has_one() {
        let all = drills();
        assert!(all.is_ok(), "{all:?}");
        let all = all.unwrap_or_default();
        assert!(all.len() >= 20);
        assert_eq!(all.iter().map(|d| &d.key).collect::<BTreeSet<_>>().len(), all.len());
        for (wanted, ..) in RULES {
            assert!(all.iter().any(|d| d.finding.as_deref().and_then(rule) == Some(wanted)), "{wanted:?}");
        }
        for d in &all {
            assert!(d.finding.as_deref().is_none_or(|f| rule(f).is_some()), "{}", d.key);
            assert!(d.steps.len() >= 2 && !d.watch.is_empty() && !d.cautions.is_empty() && (5.0..=30.0).contains(&d.minutes), "{}", d.key);
        }
    }

    /// Boats that are drawn do not lie in each other, in a light wind and in a strong one; nobody is drawn head to wind.
    #[test]
    fn boats_of_a_layout_have_room_and_can_sail() {
        for d in drills().unwrap_or_default() {
            for knots in [4.0, 8.0, 14.0] {
                let boats = d.layout(knots, LENGTH).boats;
                for (n, a) in boats.iter().enumerate() {
                    let off = (a[2].rem_euclid(360.0) + 180.0).rem_euclid(360.0) - 180.0;
                    assert!(off.abs() >= 40.0 || d.key == "stop_at_the_buoy", "{}: {off}", d.key);
                    for b in &boats[n + 1..] {
                        assert!((a[0] - b[0]).hypot(a[1] - b[1]) > LENGTH, "{} in {knots}", d.key);
                    }
                }
            }
        }
    }

    /// A minute of beating is further in more wind; what is counted in boats is not.
    #[test]
    fn the_layout_grows_with_the_wind() {
        let all = drills().unwrap_or_default();
        let far = |key: &str, knots: f64| {
            let d = all.iter().find(|d| d.key == key);
            d.map_or(0.0, |d| d.layout(knots, LENGTH).marks.iter().map(|m| m.1[1]).fold(f64::MIN, f64::max))
        };
        assert!(far("controls_in_order", 12.0) > 1.2 * far("controls_in_order", 6.0));
        assert!((far("controls_in_order", 8.0) - 60.0 * 1.64 * KNOT).abs() < 0.01);
        assert!((far("bear_away_six", 12.0) - far("bear_away_six", 6.0)).abs() < 1e-9);
        assert!(made_good(0.0) > 0.0 && (made_good(40.0) - 2.52 * KNOT).abs() < 1e-9);
    }
}
