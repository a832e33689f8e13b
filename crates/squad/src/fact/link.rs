//! A sailor's own link: what opens that sailor's card, checklist and quiz on a phone, and nothing else.

use sha2::{Digest, Sha256};

use super::sailor::Sailor;
use super::{Kept, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::{Store, hex};

fact! {
    /// A link that was given to a sailor. Whoever has it opens what it opens, so only its hash is kept; taken back, it opens nothing.
    SailorLink = "sailor_link" {
        /// Whose.
        sailor: Id<Sailor>,
        /// Since when.
        at: Moment,
        /// SHA-256 of its secret: 64 hexadecimal digits.
        sha256: String,
    }

    fn check(&self) -> Result<(), String> {
        if self.sha256.len() == 64 && self.sha256.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')) {
            Ok(())
        } else {
            Err("the hash of a sailor's link has 64 digits, 0 to 9 and a to f".to_owned())
        }
    }
}

/// The secret in a link's address: 128 bits of the operating system's own chance.
pub type Secret = Id<SailorLink>;

impl SailorLink {
    /// What is kept of a link with this secret.
    #[must_use]
    pub fn of(sailor: Id<Sailor>, at: Moment, secret: Secret) -> Self {
        Self { sailor, at, sha256: hash(secret) }
    }
}

fn hash(secret: Secret) -> String {
    hex(&Sha256::digest(secret.to_string()))
}

impl Store {
    /// Whose link has this secret; nobody's where it was never given or was taken back, or where the sailor is there no more.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn sailor_of_link(&self, secret: Secret) -> Result<Option<Kept<Sailor>>, SquadError> {
        let found = self.rows::<SailorLink>("withdrawn = 0 AND sha256 = $1", &[&hash(secret)])?;
        let Some(link) = found.into_iter().next() else { return Ok(None) };
        Ok(self.get(link.fact.sailor)?.filter(|sailor| !sailor.withdrawn))
    }

    /// A sailor's links that were not taken back, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn links_of(&self, sailor: Id<Sailor>) -> Result<Vec<Kept<SailorLink>>, SquadError> {
        self.of(sailor)
    }
}
