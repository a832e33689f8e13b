//! One store for many threads: one of them has it at a time, and none of them twice. A plain lock makes a thread that asks for what it
//! already holds wait for itself, for ever, and everybody else with it; here that is an error like any other.

use core::ops::{Deref, DerefMut};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread::{self, ThreadId};

use crate::{SquadError, Store};

/// A store that several threads use.
#[derive(Debug)]
pub struct Shared {
    store: Mutex<Store>,
    holder: Mutex<Option<ThreadId>>,
}

/// The store, for as long as this is held.
#[derive(Debug)]
pub struct Held<'a> {
    store: MutexGuard<'a, Store>,
    holder: &'a Mutex<Option<ThreadId>>,
}

/// A lock, whatever became of its last holder: a store is whole between any two statements, for each write is a transaction.
fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Shared {
    /// A store to be shared.
    #[must_use]
    pub fn new(store: Store) -> Self {
        Self { store: Mutex::new(store), holder: Mutex::default() }
    }

    /// The store, once nobody else holds it.
    ///
    /// # Errors
    /// [`SquadError::HeldAlready`] where this very thread holds it.
    pub fn held(&self) -> Result<Held<'_>, SquadError> {
        let me = thread::current().id();
        // Only this thread writes its own name there, and takes it away: what another thread does in between cannot make it so.
        if *lock(&self.holder) == Some(me) {
            return Err(SquadError::HeldAlready);
        }
        let store = lock(&self.store);
        *lock(&self.holder) = Some(me);
        Ok(Held { store, holder: &self.holder })
    }
}

impl Drop for Held<'_> {
    fn drop(&mut self) {
        *lock(self.holder) = None;
    }
}

impl Deref for Held<'_> {
    type Target = Store;
    fn deref(&self) -> &Store {
        &self.store
    }
}

impl DerefMut for Held<'_> {
    fn deref_mut(&mut self) -> &mut Store {
        &mut self.store
    }
}
