//! The trade's rules, asked of the solved boat. None is coded anywhere: each moves one thing, says what is held and what is
//! trimmed anew, and computes its verdict from the curve by a stated criterion.
//!
//! The rules are those of handbooks and of common practice; the page says which. Constants are those of `data/constants.toml`.

mod ashore;
mod curve;
mod downwind;
mod page;
mod plot;
mod question;
mod turning;
mod upwind;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, bail};
use boat::Constants;
use boat::balance::Boat;
use boat::class::Class;
use curve::Curve;
use measure::{Temperature, Water};
use rayon::prelude::*;
use serde::Deserialize;

/// Loss that makes a difference, a share of speed: the program's own band.
const MATTERS: f64 = boat::band::NO_DIFFERENCE;
/// Masses of three invented sailors, kg.
const LIGHT: f64 = 35.0;
const MIDDLE: f64 = 45.0;
const HEAVY: f64 = 55.0;

/// What the curves say of a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// As the trade says.
    Agrees,
    /// Only under a condition.
    OnlyIf(String),
    /// Not as the trade says.
    Disagrees,
}

impl Verdict {
    /// Its word in `data/rules.toml`; the condition is told apart by the page alone.
    pub(crate) const fn word(&self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::OnlyIf(_) => "agrees only if",
            Self::Disagrees => "disagrees",
        }
    }
}

/// What asking a rule found.
#[derive(Debug)]
pub(crate) struct Finding {
    /// The verdict by the criterion.
    pub(crate) verdict: Verdict,
    /// The figures it rests on.
    pub(crate) because: String,
    /// The curves.
    pub(crate) curves: Vec<Curve>,
}

/// A rule of the trade and how it is asked.
pub(crate) struct Rule {
    /// Its number.
    pub(crate) id: &'static str,
    /// The rule as coaches say it.
    pub(crate) words: &'static str,
    /// Where it comes from.
    pub(crate) source: &'static str,
    /// The one thing swept.
    pub(crate) swept: &'static str,
    /// What is held.
    pub(crate) held: &'static str,
    /// What is trimmed anew at each point.
    pub(crate) trimmed: &'static str,
    /// When it agrees.
    pub(crate) criterion: &'static str,
    /// What a card does where the model does not agree, or whatever the model says.
    pub(crate) card: &'static str,
    /// The question.
    pub(crate) ask: fn(&Boat) -> Result<Finding>,
}

impl Rule {
    /// Asks.
    fn finding(&self, boat: &Boat) -> Result<Finding> {
        (self.ask)(boat).with_context(|| format!("rule {}", self.id))
    }
}

/// Source of a rule that several handbooks share, and of one that none was found for.
const HANDBOOKS: &str = "several independent handbooks agree";
const PRACTICE: &str = "common practice, no source";

/// All rules in their order.
fn rules() -> Vec<Rule> {
    let mut all: Vec<Rule> = upwind::rules().into_iter().chain(downwind::rules()).chain(ashore::rules()).chain(turning::rules()).collect();
    all.sort_by_key(|r| r.id[1..].parse::<u32>().unwrap_or(u32::MAX));
    all
}

/// The invented pram the rules are asked of.
fn pram() -> Boat {
    Boat::new(&Class::pram(), 0, Water::Sea.at(Temperature::celsius(15.0)), Constants::standard())
}

/// The verdicts that somebody has looked at.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Looked {
    rule: BTreeMap<String, Expected>,
}

/// One of them.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    verdict: String,
    /// Asked by every check; the others by the proof alone.
    #[serde(default)]
    quick: bool,
}

impl Looked {
    fn read(root: &Path) -> Result<Self> {
        let path = root.join("data").join("rules.toml");
        let text = fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
        toml::from_str(&text).with_context(|| format!("{}", path.display()))
    }

    /// Rules that every check asks.
    fn quick(&self) -> Vec<&str> {
        let mut ids: Vec<&str> = self.rule.iter().filter(|(_, e)| e.quick).map(|(id, _)| id.as_str()).collect();
        ids.sort_by_key(|id| (id.len(), (*id).to_owned()));
        ids
    }

    /// What changed, in a sentence each.
    fn changed(&self, id: &str, verdict: &Verdict) -> Option<String> {
        let now = verdict.word();
        match self.rule.get(id) {
            Some(expected) if expected.verdict == now => None,
            Some(expected) => {
                let was = &expected.verdict;
                Some(format!("{id}: was {was:?}, is now {now:?}. Look at docs/rules.md; if the model is right, say so in data/rules.toml"))
            }
            None => Some(format!("{id}: {now:?}, and data/rules.toml has no verdict. Look at docs/rules.md and write it there")),
        }
    }
}

/// Asks every rule, writes docs/rules.md and its plots. True when no verdict changed.
pub(crate) fn prove(root: &Path) -> Result<bool> {
    let begun = Instant::now();
    let boat = pram();
    let found: Result<Vec<(Rule, Finding)>> = rules()
        .into_par_iter()
        .map(|rule| {
            let started = Instant::now();
            let finding = rule.finding(&boat)?;
            eprintln!("{:<4} {:<14} {:>4.0} s  {}", rule.id, finding.verdict.word(), started.elapsed().as_secs_f64(), finding.because);
            Ok((rule, finding))
        })
        .collect();
    let found = found?;
    let looked = Looked::read(root)?;
    page::write(root, &found, &looked.quick())?;
    println!("docs/rules.md written in {:.0} s", begun.elapsed().as_secs_f64());
    let changed: Vec<String> = found.iter().filter_map(|(rule, finding)| looked.changed(rule.id, &finding.verdict)).collect();
    for line in &changed {
        println!("{line}");
    }
    Ok(changed.is_empty())
}

/// A curve must have enough points to be judged.
fn enough(curve: Curve, least: usize) -> Result<Curve> {
    if curve.points.len() < least {
        bail!("{} has {} points with an answer, fewer than the {least} that a verdict needs", curve.name, curve.points.len());
    }
    Ok(curve)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The quick ones on every check; all of them by `cargo xtask prove rules`.
    #[test]
    fn no_verdict_changed_without_a_look() {
        let looked = Looked::read(&crate::root()).unwrap();
        let boat = pram();
        let quick: Vec<Rule> = rules().into_iter().filter(|r| looked.quick().contains(&r.id)).collect();
        assert!(quick.len() >= 5, "only {} rules are asked", quick.len());
        let changed: Vec<String> = quick.par_iter().filter_map(|r| looked.changed(r.id, &r.finding(&boat).unwrap().verdict)).collect();
        assert!(changed.is_empty(), "{}", changed.join("\n"));
    }

    #[test]
    fn every_rule_has_a_verdict_that_was_looked_at() {
        let looked = Looked::read(&crate::root()).unwrap();
        let ids: Vec<&str> = rules().iter().map(|r| r.id).collect();
        assert_eq!(ids.len(), 19);
        assert!(ids.iter().all(|id| looked.rule.contains_key(*id)) && looked.rule.len() == 19);
    }

    #[test]
    fn a_changed_verdict_asks_for_a_look() {
        let looked: Looked = toml::from_str("[rule.T1]\nverdict = \"agrees\"\n").unwrap();
        assert_eq!(looked.changed("T1", &Verdict::Agrees), None);
        assert!(looked.changed("T1", &Verdict::Disagrees).unwrap().contains("Look"));
        assert!(looked.changed("T2", &Verdict::Agrees).unwrap().contains("Look"));
    }
}
