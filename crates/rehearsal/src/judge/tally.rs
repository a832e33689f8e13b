//! Findings on many outings, put together: quartiles, the far tail and coverage, by kind and over all.

use super::{Found, Miss, Verdict, coverage, judge, rms};
use crate::answer::Answer;
use crate::kind::Kind;
use crate::outing::{Outing, outing};
use std::fmt::Write as _;

/// The value below which a share of the values lies (nearest rank); none of none.
#[must_use]
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let rank = (share * sorted.len() as f64).ceil() as usize;
    sorted.get(rank.clamp(1, sorted.len().max(1)) - 1).copied()
}

/// A figure held against what is wanted of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it is, with its unit.
    pub name: &'static str,
    /// What was measured; none where nothing was answered.
    pub value: Option<f64>,
    /// Least and most wanted.
    pub wanted: (f64, f64),
    /// How many values or events it is of.
    pub of: usize,
}

impl Figure {
    /// Whether the measured value lies where it is wanted. Nothing measured is not met.
    #[must_use]
    pub fn met(&self) -> bool {
        self.value.is_some_and(|v| (self.wanted.0..=self.wanted.1).contains(&v))
    }
}

/// Findings of one method on many outings.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    /// Kind, seed and finding of each outing.
    pub outings: Vec<(Kind, u64, Verdict)>,
    /// Further outings, for what is rare: clocks that are off, and settings under trial.
    pub rare: Vec<(Kind, u64, Verdict)>,
}

/// A course mark found farther from the true one than this, m, is another place.
const ASTRAY: f64 = 15.0;
/// The wind moves where the best constant direction misses by this much, degrees (set here: a steady wind's local noise is 2).
const MOVES: f64 = 4.0;

impl Tally {
    /// Adds an outing's finding.
    pub fn add(&mut self, kind: Kind, seed: u64, verdict: Verdict) {
        self.outings.push((kind, seed, verdict));
    }

    /// Judges a method on outings of these kinds and seeds, seed by seed so that every kind has its turn, until `go_on` says stop.
    pub fn over(kinds: &[Kind], seeds: core::ops::Range<u64>, mut go_on: impl FnMut() -> bool, method: impl Fn(&Outing) -> Answer) -> Self {
        let mut tally = Self::default();
        for seed in seeds {
            for &kind in kinds {
                if !go_on() {
                    return tally;
                }
                let sailed = outing(kind, seed);
                tally.add(kind, seed, judge(&sailed, &method(&sailed)));
            }
        }
        tally
    }

    fn pooled<T: Clone>(&self, keep: impl Fn(Kind) -> bool, take: impl Fn(&Verdict) -> &Vec<T>) -> Vec<T> {
        self.outings.iter().filter(|o| keep(o.0)).flat_map(|o| take(&o.2).clone()).collect()
    }

    fn each(&self, keep: impl Fn(Kind) -> bool, take: impl Fn(&Verdict) -> Option<f64>) -> Vec<f64> {
        self.outings.iter().filter(|o| keep(o.0)).filter_map(|o| take(&o.2)).collect()
    }

    fn found(&self, keep: impl Fn(Kind) -> bool, take: impl Fn(&Verdict) -> Found) -> Found {
        self.outings.iter().filter(|o| keep(o.0)).fold(Found::default(), |f, o| f.with(take(&o.2)))
    }

    /// The measures the debrief is held to, over all outings here.
    #[must_use]
    pub fn figures(&self) -> Vec<Figure> {
        let sizes = |v: &[f64]| v.iter().map(|x| x.abs()).collect::<Vec<f64>>();
        let moving = self.each(|k| k != Kind::Reaching, |v| v.direction_ratio().filter(|_| v.moved >= MOVES));
        let knowable = |k: Kind| k != Kind::Reaching;
        let light = |k: Kind| k == Kind::Light;
        let plain = |k: Kind| k != Kind::Light && k != Kind::Reaching;
        let direction = self.pooled(knowable, |v| &v.direction);
        let covered = self.each(knowable, |v| coverage(&v.direction));
        let reaching = self.each(|k| k == Kind::Reaching, |v| Some(v.direction.len() as f64 / v.asked.max(1) as f64));
        let speed = self.each(knowable, |v| rms(&v.speed));
        let tacks = self.found(knowable, |v| v.tacks);
        let gybes = self.found(knowable, |v| v.gybes);
        let roundings = self.found(|k| !matches!(k, Kind::Starts | Kind::LineUps | Kind::Reaching), |v| v.roundings);
        let legs = self.each(knowable, |v| (v.legs.0 > 0).then(|| v.legs.1 as f64 / v.legs.0 as f64));
        let lineups = self.pooled(knowable, |v| &v.lineups);
        let largest = lineups.iter().map(|m| m.error.abs()).fold(None, |a: Option<f64>, b| Some(a.map_or(b, |a| a.max(b))));
        let more = self.outings.iter().chain(&self.rare).filter(|o| knowable(o.0)).map(|o| &o.2);
        let effects: Vec<Miss> = more.clone().flat_map(|v| v.effects.clone()).collect();
        let clocks = more.fold(Found::default(), |f, v| f.with(v.clocks));
        let passes = self.outings.iter().fold((0, 0), |p, o| (p.0 + o.2.passes.0, p.1 + o.2.passes.1));
        let starts = self.found(knowable, |v| v.starts);
        let stops = self.found(knowable, |v| v.stops);
        let start_times = sizes(&self.pooled(knowable, |v| &v.start_times));
        let loss = |keep: &dyn Fn(Kind) -> bool| quantile(&sizes(&self.pooled(keep, |v| &v.tack_loss)), 0.5);
        let share = |part: usize, all: usize| (all > 0).then(|| part as f64 / all as f64);
        let lowest = |v: &[f64]| v.iter().copied().reduce(f64::min);
        let highest = |v: &[f64]| v.iter().copied().reduce(f64::max);
        let figure = |of: usize, name, value, low, high| Figure { name, value, wanted: (low, high), of };
        vec![
            figure(moving.len(), "direction RMS over the best constant's, median (wind that moves)", quantile(&moving, 0.5), 0.0, 0.70),
            figure(moving.len(), "the same, upper quartile", quantile(&moving, 0.75), 0.0, 0.78),
            figure(moving.len(), "the same, largest", highest(&moving), 0.0, 1.0),
            figure(
                self.pooled(plain, |v| &v.direction_seen).len(),
                "direction RMS where both tacks are seen, deg",
                rms(&self.pooled(plain, |v| &v.direction_seen)),
                0.0,
                3.0,
            ),
            figure(
                self.pooled(light, |v| &v.direction_seen).len(),
                "the same in light air, deg",
                rms(&self.pooled(light, |v| &v.direction_seen)),
                0.0,
                4.0,
            ),
            figure(
                self.pooled(|k| k == Kind::Steady, |v| &v.direction).len(),
                "direction RMS in steady wind, deg",
                rms(&self.pooled(|k| k == Kind::Steady, |v| &v.direction)),
                0.0,
                2.5,
            ),
            figure(direction.len(), "direction within two sigma, pooled", coverage(&direction), 0.92, 0.98),
            figure(covered.len(), "the same, lowest outing", lowest(&covered), 0.85, 1.0),
            figure(reaching.len(), "share of reaching-only time given a direction", highest(&reaching), 0.0, 0.0),
            figure(speed.len(), "wind speed relative RMS, median", quantile(&speed, 0.5), 0.0, 0.15),
            figure(speed.len(), "the same, upper quartile", quantile(&speed, 0.75), 0.0, 0.22),
            figure(
                self.pooled(knowable, |v| &v.speed).len(),
                "wind speed within two sigma, pooled",
                coverage(&self.pooled(knowable, |v| &v.speed)),
                0.90,
                1.0,
            ),
            figure(tacks.said, "tacks: precision", tacks.precision(), 0.99, 1.0),
            figure(tacks.there, "tacks: recall", tacks.recall(), 0.985, 1.0),
            figure(gybes.said, "gybes of 35 deg or more: precision", gybes.precision(), 0.95, 1.0),
            figure(gybes.there, "gybes of 35 deg or more: recall", gybes.recall(), 0.95, 1.0),
            figure(self.pooled(plain, |v| &v.tack_loss).len(), "metres lost in a tack, median error, m", loss(&plain), 0.0, 1.2),
            figure(self.pooled(light, |v| &v.tack_loss).len(), "the same in light air, m", loss(&light), 0.0, 2.2),
            figure(roundings.said, "roundings: precision", roundings.precision(), 0.97, 1.0),
            figure(roundings.there, "roundings: recall", roundings.recall(), 0.98, 1.0),
            figure(legs.len(), "leg kinds, median outing", quantile(&legs, 0.5), 0.975, 1.0),
            figure(legs.len(), "leg kinds, lowest outing", lowest(&legs), 0.92, 1.0),
            figure(lineups.len(), "line-up RMS against the realised difference, m/s", rms(&lineups), 0.0, 0.014),
            figure(lineups.len(), "line-up largest error, m/s", largest, 0.0, 0.025),
            figure(lineups.len(), "line-up within two sigma", coverage(&lineups), 0.90, 0.97),
            figure(effects.len(), "effect of a swapped setting, RMS, m/s", rms(&effects), 0.0, 0.008),
            figure(effects.len(), "the same within two sigma", coverage(&effects), 0.90, 1.0),
            figure(clocks.there, "clocks off by 6 s or more found within 3 s", clocks.recall(), 0.9, 1.0),
            figure(clocks.said, "right clocks left alone", clocks.precision(), 0.99, 1.0),
            figure(passes.0, "line-ups told, of those sailed (target ours)", share(passes.1, passes.0), 0.90, 1.0),
            figure(starts.said, "boats at starts: precision (target ours)", starts.precision(), 0.90, 1.0),
            figure(starts.there, "boats at starts: recall (target ours)", starts.recall(), 0.90, 1.0),
            figure(start_times.len(), "when a boat went, median error, s (target ours)", quantile(&start_times, 0.5), 0.0, 3.0),
            figure(stops.said, "stops of 30 s or more: precision (target ours)", stops.precision(), 0.95, 1.0),
            figure(stops.there, "stops of 30 s or more: recall (target ours)", stops.recall(), 0.95, 1.0),
        ]
    }

    /// Of course marks found from the tracks: how far from the truth per axis, and how often within two of their standard deviations. Targets
    /// are ours; nothing is asked of outings in which no mark was found.
    #[must_use]
    pub fn marks_found(&self) -> Vec<Figure> {
        let marks = self.pooled(|k| k != Kind::Reaching, |v| &v.marks);
        // East and north of one mark follow each other.
        let (there, astray): (Vec<&[Miss]>, Vec<&[Miss]>) = marks.chunks(2).partition(|m| m.iter().all(|m| m.error.abs() < ASTRAY));
        let share = (!marks.is_empty()).then(|| there.len() as f64 / (there.len() + astray.len()) as f64);
        let near = there.concat();
        vec![
            Figure { name: "course marks found where one lies", value: share, wanted: (0.95, 1.0), of: marks.len() / 2 },
            Figure { name: "how far from it, RMS per axis, m", value: rms(&near), wanted: (0.0, 4.0), of: near.len() },
            Figure { name: "all of them within two sigma, per axis", value: coverage(&marks), wanted: (0.9, 1.0), of: marks.len() },
        ]
    }

    /// Quartile, far tail and largest of the errors, pooled, as rows of a Markdown table.
    fn spreads(&self) -> String {
        let mut text = String::from("| error | n | q75 | q99 | max |\n|---|---|---|---|---|\n");
        let knowable = |k: Kind| k != Kind::Reaching;
        let of = |take: &dyn Fn(&Verdict) -> &Vec<Miss>| self.pooled(knowable, take).iter().map(|m| m.error.abs()).collect::<Vec<f64>>();
        let absolute = |v: Vec<f64>| v.into_iter().map(f64::abs).collect::<Vec<f64>>();
        for (name, values) in [
            ("wind direction, deg", of(&|v| &v.direction)),
            ("wind speed, share", of(&|v| &v.speed)),
            ("metres lost in a tack, m", absolute(self.pooled(knowable, |v| &v.tack_loss))),
            ("metres lost in a gybe, m", absolute(self.pooled(knowable, |v| &v.gybe_loss))),
            ("line-up, m/s", of(&|v| &v.lineups)),
            ("effect of a setting, m/s", of(&|v| &v.effects)),
        ] {
            let q = |share| shown(quantile(&values, share), 3);
            let _ = writeln!(text, "| {name} | {} | {} | {} | {} |", values.len(), q(0.75), q(0.99), q(1.0));
        }
        text
    }

    /// One line for each kind of outing.
    fn kinds(&self) -> String {
        let mut text = String::from(
            "| kind | outings | direction RMS, deg | best constant | within 2 sigma | answered | speed RMS | tacks p/r | gybes p/r | tack loss error, m | roundings p/r | legs |\n\
             |---|---|---|---|---|---|---|---|---|---|---|---|\n",
        );
        for kind in Kind::ALL {
            let own = |k: Kind| k == kind;
            let outings = self.outings.iter().filter(|o| own(o.0)).count();
            if outings == 0 {
                continue;
            }
            let direction = self.pooled(own, |v| &v.direction);
            let answered = self.each(own, |v| Some(v.direction.len() as f64 / v.asked.max(1) as f64));
            let pair = |f: Found| format!("{} / {}", shown(f.precision(), 3), shown(f.recall(), 3));
            let losses: Vec<f64> = self.pooled(own, |v| &v.tack_loss).into_iter().map(f64::abs).collect();
            let _ = writeln!(
                text,
                "| {} | {outings} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
                kind.name(),
                shown(rms(&direction), 1),
                shown(quantile(&self.each(own, |v| (v.constant > 0.0).then_some(v.constant)), 0.5), 1),
                shown(coverage(&direction), 2),
                shown(quantile(&answered, 0.5), 2),
                shown(rms(&self.pooled(own, |v| &v.speed)), 2),
                pair(self.found(own, |v| v.tacks)),
                pair(self.found(own, |v| v.gybes)),
                shown(quantile(&losses, 0.5), 2),
                pair(self.found(own, |v| v.roundings)),
                shown(quantile(&self.each(own, |v| (v.legs.0 > 0).then(|| v.legs.1 as f64 / v.legs.0 as f64)), 0.5), 3),
            );
        }
        text
    }

    /// Everything as Markdown. `beside` are other methods on the same outings, shown in columns of their own.
    #[must_use]
    pub fn markdown(&self, name: &str, beside: &[(&str, &Self)]) -> String {
        let mut text = format!("## Figures over {} outings\n\n| figure | of | wanted | {name} | met |", self.outings.len());
        let others: Vec<Vec<Figure>> = beside.iter().map(|b| b.1.figures()).collect();
        for (label, _) in beside {
            let _ = write!(text, " {label} |");
        }
        let _ = writeln!(text, "\n|---|---|---|---|---|{}", "---|".repeat(beside.len()));
        for (i, figure) in self.figures().iter().enumerate() {
            let (low, high) = figure.wanted;
            let wanted = match (low <= 0.0, high >= 1.0) {
                (true, _) => format!("at most {high}"),
                (false, true) => format!("at least {low}"),
                (false, false) => format!("{low} to {high}"),
            };
            let met = if figure.met() { "yes" } else { "no" };
            let _ = write!(text, "| {} | {} | {wanted} | {} | {met} |", figure.name, figure.of, shown(figure.value, digits(high)));
            for other in &others {
                let _ = write!(text, " {} |", shown(other[i].value, digits(high)));
            }
            text.push('\n');
        }
        let _ = write!(text, "\n## Spread of the errors ({name})\n\n{}\n## By kind of outing ({name})\n\n{}", self.spreads(), self.kinds());
        for (label, other) in beside.iter().filter(|b| b.1.marks_found()[0].of > 0) {
            let _ = write!(
                text,
                "\n## Course marks found from the tracks ({label}; targets ours)\n\n| figure | of | wanted | measured |\n|---|---|---|---|\n"
            );
            for f in other.marks_found() {
                let wanted = if f.wanted.0 > 0.0 { format!("at least {}", f.wanted.0) } else { format!("at most {}", f.wanted.1) };
                let _ = writeln!(text, "| {} | {} | {wanted} | {} |", f.name, f.of, shown(f.value, 3));
            }
        }
        for (label, other) in beside {
            let _ = write!(text, "\n## By kind of outing ({label})\n\n{}", other.kinds());
        }
        text
    }
}

/// Decimals of a figure: small bounds want more.
fn digits(bound: f64) -> usize {
    if bound < 0.1 && bound > 0.0 { 4 } else { 3 }
}

fn shown(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |v| format!("{v:.digits$}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_by_rank() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(quantile(&values, 0.75), Some(3.0));
        assert_eq!(quantile(&values, 1.0), Some(4.0));
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&[], 0.5), None);
    }

    #[test]
    fn nothing_answered_meets_nothing() {
        let tally = Tally::default();
        assert!(tally.figures().iter().all(|f| !f.met()));
    }
}
