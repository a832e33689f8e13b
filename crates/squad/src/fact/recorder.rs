//! Recorders, whose they are, and their files as they came.

use std::io::{self, Read};

use rusqlite::blob::ZeroBlob;
use rusqlite::{Connection, OptionalExtension};
use sha2::{Digest, Sha256};

use super::outing::Outing;
use super::sailor::Sailor;
use super::{Kept, Writer, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::{Store, hex};

/// The largest file of a recorder that is kept, bytes. Assumed: a day at ten fixes a second has 60 MB.
pub const LARGEST_TRACK: usize = 256 << 20;
/// Bytes of a file that are in memory at a time while it is written.
const PART: usize = 64 << 10;

fact! {
    /// A recorder of tracks: a watch, a logger, a phone.
    Recorder = "recorder" {
        /// By what its files tell it apart: a serial number, the beginning of the file's name.
        mark: String,
        /// What the coach says of it.
        words: String,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the recorder's mark", &self.mark)?;
        check_words("the words about a recorder", &self.words)
    }
}

fact! {
    /// Whose a recorder is from a moment on.
    RecorderGiven = "recorder_given" {
        /// Which recorder.
        recorder: Id<Recorder>,
        /// Whose.
        sailor: Id<Sailor>,
        /// From when.
        at: Moment,
    }
}

fact! {
    /// A recorder's file.
    TrackFile = "track_file" {
        /// The file's name as it came.
        name: String,
        /// SHA-256 of its bytes, by which the store has them once.
        sha256: String,
        /// When it was brought.
        at: Moment,
        /// Of which outing.
        outing: Option<Id<Outing>>,
        /// Whose track.
        sailor: Option<Id<Sailor>>,
        /// Of which recorder.
        recorder: Option<Id<Recorder>>,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the file's name", &self.name)
    }
}

/// Fills the room made for a file with its bytes, a part at a time: no more than a part of a large file is in memory.
fn filled(connection: &Connection, sha256: &str, mut bytes: impl Read) -> rusqlite::Result<()> {
    let untold = |error: io::Error| rusqlite::Error::ToSqlConversionFailure(Box::new(error));
    let mut room = connection.blob_open("main", "track_bytes", "bytes", connection.last_insert_rowid(), false)?;
    let mut hash = Sha256::new();
    let mut part = vec![0; PART];
    let mut at = 0;
    loop {
        let read = match bytes.read(&mut part) {
            Ok(0) => break,
            Ok(read) => read,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(untold(error)),
        };
        hash.update(&part[..read]);
        room.write_at(&part[..read], at)?;
        at += read;
    }
    if at != room.len() || hex(&hash.finalize()) != sha256 {
        return Err(untold(io::Error::other("the file changed while it was read")));
    }
    room.close()
}

impl Store {
    /// Keeps a recorder's file. The same bytes brought twice are kept once: the answer is then the file there was, unless it is
    /// now said to be of another outing or sailor.
    ///
    /// # Errors
    /// A file that is empty or too large, or a store that cannot be written.
    pub fn add_track(&mut self, bytes: &[u8], file: TrackFile, writer: &Writer) -> Result<Kept<TrackFile>, SquadError> {
        self.add_track_from(bytes, bytes.len(), TrackFile { sha256: hex(&Sha256::digest(bytes)), ..file }, writer)
    }

    /// As [`Store::add_track`], of bytes that are read a part at a time: how many they are and their hash are told before, and held
    /// against what is read.
    ///
    /// # Errors
    /// As [`Store::add_track`], and where the bytes are others than was told.
    pub fn add_track_from(
        &mut self,
        bytes: impl Read,
        length: usize,
        file: TrackFile,
        writer: &Writer,
    ) -> Result<Kept<TrackFile>, SquadError> {
        if length == 0 || length > LARGEST_TRACK {
            let what = format!("{}: it has {length} bytes; a track has 1 to {} MB", file.name, LARGEST_TRACK >> 20);
            return Err(SquadError::Refused { what });
        }
        let same = |kept: &Kept<TrackFile>| {
            let there = &kept.fact;
            there.sha256 == file.sha256 && there.outing == file.outing && there.sailor == file.sailor && there.recorder == file.recorder
        };
        if let Some(there) = self.rows::<TrackFile>("withdrawn = 0 AND sha256 = $1", &[&file.sha256])?.into_iter().find(same) {
            return Ok(there);
        }
        self.added(Id::random()?, &file, writer, |connection| {
            let room = i32::try_from(length).unwrap_or(i32::MAX);
            let made = connection.execute(
                "INSERT INTO track_bytes (sha256, bytes) VALUES ($1, $2) ON CONFLICT (sha256) DO NOTHING",
                rusqlite::params![file.sha256, ZeroBlob(room)],
            )?;
            // Where a hash stands already, its bytes do.
            if made == 0 { Ok(()) } else { filled(connection, &file.sha256, bytes) }
        })
    }

    /// A kept file's bytes, as they came.
    ///
    /// # Errors
    /// When the store cannot be read, or the bytes are not those the hash was taken of.
    pub fn track_bytes(&self, file: &TrackFile) -> Result<Vec<u8>, SquadError> {
        self.kept_bytes(&file.sha256)
    }

    /// The bytes of a hash.
    pub(crate) fn kept_bytes(&self, sha256: &str) -> Result<Vec<u8>, SquadError> {
        let found: Option<Vec<u8>> = self
            .connection
            .query_row("SELECT bytes FROM track_bytes WHERE sha256 = $1", [sha256], |row| row.get(0))
            .optional()
            .map_err(|e| self.told(e))?;
        match found {
            Some(bytes) if hex(&Sha256::digest(&bytes)) == sha256 => Ok(bytes),
            _ => Err(self.damaged()),
        }
    }

    /// The files of an outing, by time.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn tracks_of(&self, outing: Id<Outing>) -> Result<Vec<Kept<TrackFile>>, SquadError> {
        self.of(outing)
    }

    /// Whose a recorder was at a moment, by the mark in its files.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn whose(&self, mark: &str, at: Moment) -> Result<Option<Id<Sailor>>, SquadError> {
        let found = self.rows::<Recorder>("withdrawn = 0 AND mark = $1", &[&mark])?;
        let Some(recorder) = found.first() else { return Ok(None) };
        let given = self.of::<RecorderGiven, _>(recorder.id)?;
        Ok(given.into_iter().rev().find(|g| g.fact.at <= at).map(|g| g.fact.sailor))
    }
}
