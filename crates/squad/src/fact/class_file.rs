//! Class files as the coach brought them.

use sha2::{Digest, Sha256};

use super::{Kept, LONGEST_FILE, check_words, fact};
use crate::error::SquadError;
use crate::store::{Store, hex};

fact! {
    /// A class file's text. A later one of the same name takes its place.
    ClassFile = "class" {
        /// The class's name, as boats have it.
        name: String,
        /// The file.
        text: String,
        /// Its SHA-256, by which two stores know it is the same.
        sha256: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the class", &self.name)?;
        if self.text.len() > LONGEST_FILE {
            return Err("this file is too long for a class file".to_owned());
        }
        if self.sha256 != hex(&Sha256::digest(&self.text)) {
            return Err("the class file is not the one its SHA-256 was taken of".to_owned());
        }
        Ok(())
    }
}

impl ClassFile {
    /// A class file of a name.
    #[must_use]
    pub fn of(name: &str, text: &str) -> Self {
        Self { name: name.to_owned(), text: text.to_owned(), sha256: hex(&Sha256::digest(text)) }
    }
}

impl Store {
    /// The class file of a name that was brought last.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn class_named(&self, name: &str) -> Result<Option<Kept<ClassFile>>, SquadError> {
        let named = self.all::<ClassFile>()?.into_iter().filter(|c| c.fact.name == name);
        Ok(named.max_by_key(|c| (c.edited_at, c.id)))
    }
}
