//! The classes a yard knows: the program's own, those whose files the coach brought, and those measured with a tape while the pages run.

use boat::class::Class;
use squad::fact::class_file::ClassFile;
use squad::{SquadError, Store};

use super::{Answers, Yard, lock};

/// The class files that come with the program.
const OWN: [(&str, &str); 3] = [
    ("pram.toml", include_str!("../../../../../data/classes/pram.toml")),
    ("sprit.toml", include_str!("../../../../../data/classes/sprit.toml")),
    ("hiker.toml", include_str!("../../../../../data/classes/hiker.toml")),
];

/// The usual class, the program's own, and those of the store's files; of two of one name the first counts, and a file that cannot
/// be read is left out: it was told when it was brought.
pub(super) fn classes(store: &Store, usual: &Class) -> boxcar::Vec<Class> {
    let brought = store.all::<ClassFile>().unwrap_or_default();
    let read = brought.iter().rev().filter_map(|file| Class::read(&file.fact.text, &file.fact.name).ok());
    let own = OWN.iter().filter_map(|(name, text)| Class::read(text, name).ok());
    let classes = boxcar::Vec::new();
    classes.push(usual.clone());
    for class in read.chain(own) {
        if classes.iter().all(|(_, known): (_, &Class)| known.name != class.name) {
            classes.push(class);
        }
    }
    classes
}

impl Yard {
    /// The class of a name; the usual one where there is none, or none of that name is known.
    pub(in crate::pages) fn class_of(&self, name: Option<&str>) -> &Class {
        name.and_then(|name| self.classes().into_iter().find(|class| class.name == name)).unwrap_or(&self.class)
    }

    /// Every class that boats may have, the usual one first.
    pub(in crate::pages) fn classes(&self) -> Vec<&Class> {
        let mut list: Vec<&Class> = Vec::new();
        for (_, class) in &self.classes {
            match list.iter_mut().find(|known| known.name == class.name) {
                Some(known) => *known = class,
                None => list.push(class),
            }
        }
        list
    }

    /// A class measured now, from here on; what was solved before is solved anew.
    pub(in crate::pages) fn take_class(&self, class: Class) {
        self.classes.push(class);
        lock(&self.best).clear();
        *lock(&self.said) = Answers::default();
        *lock(&self.job) = None;
        lock(&self.known).clear();
        *lock(&self.doubts) = None;
        lock(&self.quizzes).clear();
        lock(&self.polar).clear();
        *lock(&self.race) = None;
    }

    /// The file of a class by name, a coach's or the program's own; none where there is no such class.
    pub(in crate::pages) fn class_text(&self, name: &str) -> Result<Option<String>, SquadError> {
        if let Some(kept) = self.store()?.class_named(name)? {
            return Ok(Some(kept.fact.text));
        }
        let named = |text: &str| Class::read(text, name).is_ok_and(|class| class.name == name);
        Ok(OWN.iter().find(|(_, text)| named(text)).map(|(_, text)| (*text).to_owned()))
    }

    /// Whether a class of this name comes with the program.
    pub(in crate::pages) fn own_class(name: &str) -> bool {
        OWN.iter().any(|(file, text)| Class::read(text, file).is_ok_and(|class| class.name == name))
    }

    /// The classes of the squad's boats, the usual one first; that one alone where there are no boats.
    pub(in crate::pages) fn classes_sailed(&self) -> Result<Vec<&Class>, SquadError> {
        let boats = self.store()?.boats()?;
        let sailed = |class: &Class| boats.iter().any(|b| self.class_of(b.fact.class.as_deref()).name == class.name);
        let list: Vec<&Class> = self.classes().into_iter().filter(|class| sailed(class)).collect();
        Ok(if list.is_empty() { vec![&self.class] } else { list })
    }
}
