//! What each reader is fed by the fuzzer. Nothing is asserted but that it comes back: a panic, an overflow, more than 2 GB or ten seconds
//! are finds. `cargo xtask prove fuzz` runs all of them and writes what it found down.

use std::io::Cursor;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

use advice::caution::{Cautions, Limits as GustLimits};
use advice::checklist::{Checklist, Place};
use boat::class::Class;
use evidence::passes::Passes;
use measure::{Angle, Length, Mass, Polar, Speed};
use regatta::course::{Given, position};
use regatta::scoring::Series;
use squad::Store;
use track::clean::{clean, plane};
use track::read::{Limits, marks, read};
use track::{Asked, debrief};

/// More points than this are read but not debriefed: a find is sought in the reader there.
const DEBRIEFED: usize = 300;

/// A recorder's file of any format, read, cleaned and debriefed.
pub fn tracks(bytes: &[u8]) {
    let limits = Limits { bytes: 16 << 20, held: 8 << 20, points: 50_000, tracks: 50, ..Limits::default() };
    let Ok(read) = read("file", bytes, None, &limits) else { return };
    let tracks = read.value;
    let points: usize = tracks.iter().map(|t| t.fixes.len()).sum();
    if points > DEBRIEFED {
        return;
    }
    let all: Vec<_> = tracks.iter().collect();
    let Some(plane) = plane(&all) else { return };
    let cleaned: Vec<_> = tracks.iter().filter_map(|t| clean(t, &plane).ok()).map(|c| c.value).collect();
    let _ = debrief(cleaned, &plane, &Asked { polar: None, course_marks: &[], lineups: &[] });
}

/// Waypoints of course marks.
pub fn waypoints(bytes: &[u8]) {
    let _ = marks("file", bytes);
}

/// A class file.
pub fn class(bytes: &[u8]) {
    let _ = Class::read(&String::from_utf8_lossy(bytes), "class.toml");
}

/// A squad file.
pub fn squad(bytes: &[u8]) {
    let _ = squad::read("squad.toml", bytes);
}

/// A series file with its results behind a line of dashes, scored.
pub fn series(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let (toml, results) = text.split_once("\n---\n").unwrap_or((&text, ""));
    if let Ok(series) = Series::read(toml, |_: &str| Ok::<_, String>(results.to_owned())) {
        let _ = series.value.standings();
    }
}

/// An archive, brought into a store.
pub fn archive(bytes: &[u8]) {
    static STORE: Mutex<Option<Store>> = Mutex::new(None);
    let mut held = STORE.lock().unwrap_or_else(PoisonError::into_inner);
    if held.is_none() {
        let folder = PathBuf::from(std::env::var_os("FUZZ_FOLDER").unwrap_or_else(|| std::env::temp_dir().into()));
        *held = Store::open_or_new(&folder.join(format!("fuzzed-{}", std::process::id()))).ok().map(|s| s.value);
    }
    if let Some(store) = held.as_mut() {
        let _ = store.import_archive("archive.zip", Cursor::new(bytes));
        let _ = store.facts();
    }
}

/// A checklist that somebody edited.
pub fn checklist(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for place in Place::ALL {
        let _ = Checklist::read(&text, place);
    }
}

/// Gust limits, and cautions.
pub fn limits(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let _ = GustLimits::read(&text, "limits.toml");
    let _ = Cautions::read(&text, "cautions.toml");
}

/// Notes of passes, side by side.
pub fn passes(bytes: &[u8]) {
    let _ = Passes::read(&String::from_utf8_lossy(bytes));
}

/// A table of polar speeds.
pub fn polar(bytes: &[u8]) {
    let _ = Polar::parse(&String::from_utf8_lossy(bytes));
}

/// A list of buoys, and positions as people write them.
pub fn buoys(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let _ = Given::list(&text);
    let _ = position(&text);
}

/// Quantities with their units.
pub fn quantity(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let _ = (Length::parse(&text), Mass::parse(&text), Speed::parse(&text), Angle::parse(&text));
}
