//! A store that several threads use.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use squad::{Shared, SquadError};

use super::new;

#[test]
fn who_holds_it_is_told_so_and_others_wait() {
    let folder = tempfile::tempdir().unwrap();
    let shared = Shared::new(new(folder.path()));
    let held = shared.held().unwrap();
    assert_eq!(shared.held().unwrap_err(), SquadError::HeldAlready);
    let (tell, told) = mpsc::channel();
    thread::scope(|scope| {
        let shared = &shared;
        scope.spawn(move || tell.send(shared.held().map(|store| store.sailors().map(|list| list.len()))));
        assert!(told.recv_timeout(Duration::from_millis(50)).is_err(), "it was held, and given to another");
        drop(held);
        assert_eq!(told.recv_timeout(Duration::from_secs(10)).unwrap(), Ok(Ok(0)));
    });
    assert!(shared.held().is_ok());
}
