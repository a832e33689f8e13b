//! Work that takes a while: how far it is, and how it stops from the keyboard without leaving half a file.

use std::fs;
use std::io::{IsTerminal, Write, stderr};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work that is done sooner needs no bar.
const SOON: Duration = Duration::from_millis(700);
/// Between lines where no bar can be drawn.
const SELDOM: Duration = Duration::from_secs(10);

/// Files that were begun and not finished.
static UNFINISHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// From now on an interrupt removes unfinished files and ends the program.
pub(crate) fn stop_cleanly(code: u8) {
    let stop = move || {
        for path in UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner).iter() {
            let _ = fs::remove_file(path);
        }
        let _ = writeln!(stderr(), "\nstopped; nothing was written");
        std::process::exit(i32::from(code));
    };
    // Without a handler an interrupt still ends the program; only the unfinished file stays.
    let _ = ctrlc::set_handler(stop);
}

/// A file was begun.
pub(crate) fn unfinished(path: &Path) {
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner).push(path.to_owned());
}

/// A file is in its place, or gone.
pub(crate) fn finished(path: &Path) {
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner).retain(|other| other != path);
}

/// How far a job of several steps is: a bar on a terminal, elsewhere a line now and then.
#[derive(Debug)]
pub(crate) struct Progress {
    what: &'static str,
    steps: u64,
    bar: Option<ProgressBar>,
    begun: Instant,
    told: Instant,
    done: u64,
}

impl Progress {
    /// A job begins.
    pub(crate) fn of(what: &'static str, steps: usize) -> Self {
        let now = Instant::now();
        Self { what, steps: steps as u64, bar: None, begun: now, told: now, done: 0 }
    }

    /// A step is done.
    pub(crate) fn step(&mut self) {
        self.done += 1;
        if self.done >= self.steps || self.begun.elapsed() < SOON {
            return;
        }
        if stderr().is_terminal() {
            let bar = self.bar.get_or_insert_with(|| {
                let bar = ProgressBar::with_draw_target(Some(self.steps), ProgressDrawTarget::stderr());
                bar.set_message(self.what);
                bar.with_style(
                    ProgressStyle::with_template("{msg} {wide_bar} {pos} of {len}").unwrap_or_else(|_| ProgressStyle::default_bar()),
                )
            });
            bar.set_position(self.done);
        } else if self.told.elapsed() > SELDOM {
            self.told = Instant::now();
            let _ = writeln!(stderr(), "{}: {} of {}", self.what, self.done, self.steps);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
