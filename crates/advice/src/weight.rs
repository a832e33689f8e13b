//! The weigh-in: what the scale says less what is not the boat, against the class minimum, with the scale's error.
//!
//! A margin smaller than the scale's error is *not known*: 200 g over on a bathroom scale says nothing. What a kilogram costs
//! today comes from two balances, the boat as she is and the boat heavier. Of boats, water and kit only: the mass of a child
//! is a fact, not a cost, and nothing here takes one.

use boat::balance::{Case, Conditions, Control};
use boat::class::Class;
use boat::setup::{COST_LEG, LegSetup, Request, gusty};
use measure::quantity::{POUND, plain};

use crate::error::AdviceError;

/// Error of a bathroom scale, kg, 19 times in 20. Assumed: a good one shows 100 g and is off by more on a slipway.
pub const BATHROOM_SCALE: f64 = 0.5;
/// Heavier by this for the second balance, kg: enough to stand above what a solve leaves over.
const HEAVIER: f64 = 4.0;

/// What was read at a weigh-in, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeighIn {
    /// What the scale said, with everything that was on it.
    pub reading: f64,
    /// The trolley alone, where the boat stood on it.
    pub trolley: Option<f64>,
    /// Water found in her tanks and bilge, which went on the scale.
    pub water: f64,
    /// Correctors fixed in her: they count, and can be taken out.
    pub correctors: f64,
    /// The scale's error, 19 times in 20.
    pub scale_error: f64,
}

/// How a boat stands to the class minimum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Margin {
    /// Over it by more than the scale's error.
    Over,
    /// Under it by more.
    Under,
    /// The scale cannot tell.
    NotKnown,
}

impl Margin {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Over => "over the minimum",
            Self::Under => "under the minimum",
            Self::NotKnown => "not known",
        }
    }
}

/// What a weigh-in says, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighed {
    /// The boat, dry, with her correctors.
    pub boat: f64,
    /// The boat, dry, without them.
    pub bare: f64,
    /// Over the class minimum; below zero is under.
    pub margin: f64,
    /// How far that may be off, 19 times in 20.
    pub error: f64,
    /// How she stands.
    pub stands: Margin,
    /// Corrector weight that may come out, even if the scale is off.
    pub may_come_out: f64,
    /// Corrector weight to add, even if the scale is off.
    pub to_add: f64,
    /// Water found.
    pub water: f64,
}

impl WeighIn {
    /// The boat's weight and margin.
    ///
    /// # Errors
    /// A number that is none; a boat with her trolley no heavier than the trolley; water or correctors heavier than the boat.
    pub fn weighed(&self, class: &Class) -> Result<Weighed, AdviceError> {
        let all = [self.reading, self.trolley.unwrap_or(0.0), self.water, self.correctors, self.scale_error];
        if !all.iter().all(|v| v.is_finite() && *v >= 0.0) {
            return Err(AdviceError::NoNumber("a weight"));
        }
        if let Some(trolley) = self.trolley.filter(|t| self.reading <= *t) {
            return Err(AdviceError::LighterThanTrolley { both: self.reading, trolley });
        }
        let wet = self.reading - self.trolley.unwrap_or(0.0);
        // The trolley was weighed on the same scale: its error joins.
        let error = if self.trolley.is_some() { core::f64::consts::SQRT_2 } else { 1.0 } * self.scale_error;
        for (what, part) in [("water", self.water), ("correctors", self.correctors)] {
            if part >= wet {
                return Err(AdviceError::MoreThanTheBoat { what, part, boat: wet });
            }
        }
        let boat = wet - self.water;
        let margin = boat - class.hull.minimum_mass;
        let stands = if margin > error {
            Margin::Over
        } else if margin < -error {
            Margin::Under
        } else {
            Margin::NotKnown
        };
        let may_come_out = if stands == Margin::Over { (margin - error).min(self.correctors) } else { 0.0 };
        let to_add = if stands == Margin::Under { error - margin } else { 0.0 };
        Ok(Weighed { boat, bare: boat - self.correctors, margin, error, stands, may_come_out, to_add, water: self.water })
    }
}

impl Weighed {
    /// What it says, in sentences.
    #[must_use]
    pub fn words(&self, class: &Class, on: Scale) -> Vec<String> {
        let (minimum, unit, say) = (on.say(class.hull.minimum_mass), on.unit, |mass: f64| on.say(mass));
        let mut said = vec![match self.stands {
            Margin::Over => {
                format!("{} {unit} over the class minimum of {minimum} {unit}, give or take {}.", say(self.margin), say(self.error))
            }
            Margin::Under => {
                format!("{} {unit} under the class minimum of {minimum} {unit}, give or take {}.", say(-self.margin), say(self.error))
            }
            Margin::NotKnown => format!(
                "Over or under the class minimum of {minimum} {unit}: not known. The scale says {} {unit} {}, and may be off by {}. Use a better scale.",
                say(self.margin.abs()),
                if self.margin < 0.0 { "under" } else { "over" },
                say(self.error)
            ),
        }];
        if self.may_come_out > 0.05 {
            said.push(format!("Up to {} {unit} of correctors may come out. The measurer decides.", say(self.may_come_out)));
        }
        if self.to_add > 0.0 {
            said.push(format!("Fix {} {unit} of correctors {}. The measurer decides.", say(self.to_add), class.hull.corrector_place));
        }
        if self.water > 0.0 {
            let tanks = if class.hull.tanks.is_empty() { String::new() } else { format!(" Look at: {}.", class.hull.tanks.join(", ")) };
            said.push(format!("{} {unit} of water was in her: find where it comes in.{tanks}", say(self.water)));
        }
        said
    }
}

/// What weights are told in. Inside all is kilograms, as a class minimum is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Its name after a number.
    pub unit: &'static str,
    /// One of it, kg.
    pub kilograms: f64,
}

impl Scale {
    /// Kilograms.
    pub const KILOGRAMS: Self = Self { unit: "kg", kilograms: 1.0 };
    /// Pounds.
    pub const POUNDS: Self = Self { unit: "lb", kilograms: POUND };

    /// A weight to a tenth.
    fn say(self, mass: f64) -> String {
        plain((mass / self.kilograms * 10.0).round() / 10.0)
    }
    /// A weight a week, to a hundredth.
    fn fine(self, mass: f64) -> String {
        plain((mass / self.kilograms * 100.0).round() / 100.0)
    }
}

/// How a boat's weight goes over the weeks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// What she gains a week, kg.
    pub a_week: f64,
    /// How far that may be off, 19 times in 20.
    pub error: f64,
    /// From the first weigh-in to the last, weeks.
    pub weeks: f64,
}

impl Trend {
    /// The straight line through weigh-ins (day, kg of the dry boat), least squares, with the scale's error at each. `None` with
    /// fewer than two days.
    #[must_use]
    pub fn of(weights: &[(f64, f64)], scale_error: f64) -> Option<Self> {
        if !weights.iter().all(|(d, w)| d.is_finite() && w.is_finite()) {
            return None;
        }
        let n = weights.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| weights.iter().map(of).sum::<f64>() / n;
        let (day, weight) = (mean(|w| w.0), mean(|w| w.1));
        let spread: f64 = weights.iter().map(|w| (w.0 - day).powi(2)).sum();
        if weights.len() < 2 || spread < 1e-9 {
            return None;
        }
        let slope = weights.iter().map(|w| (w.0 - day) * (w.1 - weight)).sum::<f64>() / spread;
        let days = weights.iter().map(|w| w.0);
        let (first, last) = (days.clone().fold(f64::INFINITY, f64::min), days.fold(f64::NEG_INFINITY, f64::max));
        Some(Self { a_week: 7.0 * slope, error: 7.0 * scale_error / spread.sqrt(), weeks: (last - first) / 7.0 })
    }

    /// In a sentence. A hull that gains is taking water.
    #[must_use]
    pub fn words(&self, class: &Class, on: Scale) -> String {
        let (gain, off, unit) = (on.fine(self.a_week.abs()), on.fine(self.error), on.unit);
        if self.a_week > self.error {
            let where_to = if class.hull.tanks.is_empty() { "her hull".to_owned() } else { class.hull.tanks.join(" and ") };
            format!("She gains {gain} {unit} a week, give or take {off}: she is taking water. Look for it in the {where_to}.")
        } else if self.a_week < -self.error {
            format!("She loses {gain} {unit} a week, give or take {off}: she is drying out, or something was left off the scale.")
        } else {
            "Her weight holds, as near as the scale tells.".to_owned()
        }
    }
}

/// What one kilogram more of water, boat or kit costs today on a solved leg: metres behind after 500 m, from two balances in
/// each wind of the leg with the same settings. `None` where a balance has no answer.
#[must_use]
pub fn kilogram(request: &Request<'_>, leg: &LegSetup) -> Option<f64> {
    let winds = gusty(request.conditions.wind, request.gusts);
    let made_good = |ballast: f64| -> Option<f64> {
        let mut sum = 0.0;
        for (trimmed, (wind, share)) in leg.winds.iter().zip(&winds) {
            let conditions = Conditions { wind: *wind, ..request.conditions };
            let case = Case { boat: request.boat, sailor: request.sailor, conditions };
            let mut controls = trimmed.controls;
            controls[Control::Ballast.index()] += ballast;
            let (_, whole) = case.solve(&controls, Some(&trimmed.state)).solved()?;
            sum += share * whole.made_good;
        }
        Some(sum.abs())
    };
    let (as_she_is, heavier) = (made_good(0.0)?, made_good(HEAVIER)?);
    let metres = COST_LEG * (1.0 - heavier / as_she_is) / HEAVIER;
    metres.is_finite().then_some(metres)
}
