//! Sailors: a label, perhaps a name, a body that is nobody else's business, a skill.

use boat::crew::Skill;

use super::boat_facts::Boat;
use super::{HiddenMass, Kept, check_label, check_range, check_words, fact};
use crate::error::SquadError;
use crate::id::Id;
use crate::store::Store;

/// Masses a sailor may have, kg. Assumed: a child of six, and a grown-up who shows how.
pub(crate) const SAILOR_MASS: [f64; 2] = [20.0, 110.0];
/// Statures a sailor may have, m. Assumed.
pub(crate) const STATURE: [f64; 2] = [1.0, 2.1];
/// Hand lengths a sailor may have, m. Assumed.
pub(crate) const HAND: [f64; 2] = [0.10, 0.24];

fact! {
    /// A sailor.
    Sailor = "sailor" {
        /// What the coach calls the sailor; a card shows it. It need not be a name. Only one sailor has it.
        label: String,
        /// The sailor's name, where the coach wants it kept.
        name: Option<String>,
        /// Body mass, dressed to sail.
        mass_kg: Option<HiddenMass>,
        /// Stature, m; without it that of children of this mass.
        stature_m: Option<f64>,
        /// Hand, wrist crease to fingertip, m; without it a share of the stature.
        hand_m: Option<f64>,
        /// Skill.
        #[serde(with = "super::written::skill")]
        skill: Skill,
        /// Which of the class's sails, if not the usual one.
        sail: Option<String>,
        /// The boat the sailor has when nothing else was said.
        boat: Option<Id<Boat>>,
    }

    fn check(&self) -> Result<(), String> {
        check_label("a sailor", &self.label)?;
        check_words("the name", self.name.as_deref().unwrap_or_default())?;
        check_words("the sail", self.sail.as_deref().unwrap_or_default())?;
        let mass = self.mass_kg.map(HiddenMass::in_kilograms);
        check_range(&format!("the mass of {}", self.label), mass, SAILOR_MASS, "kg")?;
        check_range(&format!("the stature of {}", self.label), self.stature_m, STATURE, "m")?;
        check_range(&format!("the hand of {}", self.label), self.hand_m, HAND, "m")
    }

    fn label(&self) -> Option<&str> {
        Some(&self.label)
    }
}

impl Store {
    /// All sailors, by label.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn sailors(&self) -> Result<Vec<Kept<Sailor>>, SquadError> {
        self.all()
    }

    /// The sailor of a label, large and small letters alike.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn sailor_labelled(&self, label: &str) -> Result<Option<Kept<Sailor>>, SquadError> {
        self.labelled(label)
    }

    /// All sailors that ever had a label here, withdrawn ones too: to forget one.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn ever_labelled(&self, label: &str) -> Result<Vec<Kept<Sailor>>, SquadError> {
        let wanted = label.trim().to_lowercase();
        let everybody = self.rows::<Sailor>("withdrawn IN (0, 1)", &[])?;
        Ok(everybody.into_iter().filter(|s| s.fact.label.to_lowercase() == wanted).collect())
    }
}
