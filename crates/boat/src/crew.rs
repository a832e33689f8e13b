//! The sailor: a mass, a stature and a skill; how far out the body can get, and for how long.
//!
//! A child is not a crane: reach grows with stature, and a beat of minutes uses the share of it that can be sustained.

use crate::class::Class;
use crate::constants::Constants;

/// What a sailor can do, by the coach's word. It sets limits, the board on a run and hand speeds, nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Skill {
    /// First season.
    FirstSeason,
    /// Sails a course.
    #[default]
    SailsACourse,
    /// Races.
    Races,
    /// Races in any wind.
    RacesInAnyWind,
}

impl Skill {
    /// All, least first.
    pub const ALL: [Self; 4] = [Self::FirstSeason, Self::SailsACourse, Self::Races, Self::RacesInAnyWind];
    /// The words of the squad file.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::FirstSeason => "first season",
            Self::SailsACourse => "sails a course",
            Self::Races => "races",
            Self::RacesInAnyWind => "races in any wind",
        }
    }
    /// The skill of those words.
    #[must_use]
    pub fn named(words: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.words() == words.trim())
    }
}

/// One sailor, without a name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sailor {
    /// Body mass with clothing, kg.
    pub mass: f64,
    /// Stature, m.
    pub stature: f64,
    /// Skill.
    pub skill: Skill,
}

/// Median stature of a child of a mass, m: a straight line through the medians of both sexes, 30 to 60 kg.
///
/// Source: CDC 2000 growth charts (Kuczmarski 2002), weight for stature, read as a line; checked in `tests/published`.
#[must_use]
pub fn usual_stature(mass: f64) -> f64 {
    1.36 + 0.0125 * (mass.clamp(20.0, 75.0) - 30.0)
}

impl Sailor {
    /// A sailor of a mass with the usual stature.
    #[must_use]
    pub fn of(mass: f64, skill: Skill) -> Self {
        Self { mass, stature: usual_stature(mass), skill }
    }

    /// How far the body's centre can get from the centreline for a moment, m: the class file's figure at 45 kg,
    /// scaled by stature.
    #[must_use]
    pub fn reach(&self, class: &Class, c: &Constants) -> f64 {
        let by_stature = |s: f64| c.hike_base + c.hike_per_stature * s;
        class.sailor.hike_out * by_stature(self.stature) / by_stature(usual_stature(45.0))
    }

    /// The mass of a child of usual stature that leans as hard, kg: by what a chart solved for the usual child is read.
    #[must_use]
    pub fn as_usual(&self, c: &Constants) -> f64 {
        let leans = |mass: f64, stature: f64| mass * (c.hike_base + c.hike_per_stature * stature);
        let wanted = leans(self.mass, self.stature);
        let (mut low, mut high) = (0.5 * self.mass, 2.0 * self.mass);
        // Leaning grows with mass and its usual stature: halving finds it to a gram.
        for _ in 0..24 {
            let middle = 0.5 * (low + high);
            if leans(middle, usual_stature(middle)) < wanted { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    /// How far out a sailor can stay for minutes, m.
    #[must_use]
    pub fn sustained_reach(&self, class: &Class, c: &Constants) -> f64 {
        c.sustained * self.reach(class, c)
    }
}
