//! Recorders, whose they are, and their files as they came.

use rusqlite::OptionalExtension;
use sha2::{Digest, Sha256};

use super::outing::Outing;
use super::sailor::Sailor;
use super::{Kept, Writer, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::{Store, hex};

/// The largest file of a recorder that is kept, bytes. Assumed: a day at ten fixes a second has 60 MB.
pub const LARGEST_TRACK: usize = 256 << 20;

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

impl Store {
    /// Keeps a recorder's file. The same bytes brought twice are kept once: the answer is then the file there was, unless it is
    /// now said to be of another outing or sailor.
    ///
    /// # Errors
    /// A file that is empty or too large, or a store that cannot be written.
    pub fn add_track(&mut self, bytes: &[u8], file: TrackFile, writer: &Writer) -> Result<Kept<TrackFile>, SquadError> {
        if bytes.is_empty() || bytes.len() > LARGEST_TRACK {
            let what = format!("{}: it has {} bytes; a track has 1 to {} MB", file.name, bytes.len(), LARGEST_TRACK >> 20);
            return Err(SquadError::Refused { what });
        }
        let file = TrackFile { sha256: hex(&Sha256::digest(bytes)), ..file };
        let same = |kept: &Kept<TrackFile>| {
            let there = &kept.fact;
            there.sha256 == file.sha256 && there.outing == file.outing && there.sailor == file.sailor && there.recorder == file.recorder
        };
        if let Some(there) = self.rows::<TrackFile>("withdrawn = 0 AND sha256 = $1", &[&file.sha256])?.into_iter().find(same) {
            return Ok(there);
        }
        self.added(Id::random()?, &file, writer, |connection| {
            connection.execute(
                "INSERT INTO track_bytes (sha256, bytes) VALUES ($1, $2) ON CONFLICT (sha256) DO NOTHING",
                rusqlite::params![file.sha256, bytes],
            )?;
            Ok(())
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
