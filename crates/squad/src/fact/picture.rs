//! Pictures from the coach boat, as the camera wrote them, and when they were taken by the camera's own clock.
//!
//! A camera's clock names no timezone and is seldom right: how far it was ahead is asked of the coach. Until that is told a picture stands at no moment.

use jiff::SignedDuration;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use sha2::{Digest, Sha256};

use super::outing::Outing;
use super::sailor::Sailor;
use super::{Kept, Writer, check_range, check_words, fact};
use crate::error::SquadError;
use crate::id::{Id, Moment};
use crate::store::{Store, hex};

/// The largest picture that is kept, bytes. Assumed: a telephone's has 2 to 8 MB.
pub const LARGEST_PICTURE: usize = 16 << 20;
/// The most pictures of one outing. Assumed: a coach who takes more looks at none.
pub const MOST_PICTURES: usize = 200;
/// A camera's clock is at most this far off, s: twenty years.
const FURTHEST: f64 = 6.4e8;

fact! {
    /// A picture of an outing. Only the coach sees it, and the sailor whom the coach shows it to.
    Picture = "picture" {
        /// Of which outing.
        outing: Id<Outing>,
        /// The file's name as it came.
        name: String,
        /// SHA-256 of its bytes, by which the store has them once.
        sha256: String,
        /// When it was brought.
        at: Moment,
        /// When it was taken by the camera's clock, like 2026-06-14T14:03:22; none where the file does not say.
        camera_clock: Option<String>,
        /// How far the camera's clock was ahead of the outing's, s; none until the coach said.
        ahead_s: Option<f64>,
        /// The sailor whose own page shows it; none for the coach alone.
        shown_to: Option<Id<Sailor>>,
    }

    fn check(&self) -> Result<(), String> {
        check_words("the picture's name", &self.name)?;
        if let Some(clock) = &self.camera_clock
            && clock.parse::<DateTime>().is_err()
        {
            return Err("the camera's clock is written like 2026-06-14T14:03:22".to_owned());
        }
        check_range("how far the camera's clock was ahead", self.ahead_s, [-FURTHEST, FURTHEST], "s")
    }
}

impl Picture {
    /// When it was taken, the camera's clock read in a timezone; none where the camera did not write it, or the coach has not said how far its
    /// clock was ahead.
    #[must_use]
    pub fn taken(&self, zone: &TimeZone) -> Option<Moment> {
        let camera: DateTime = self.camera_clock.as_deref()?.parse().ok()?;
        let ahead = SignedDuration::try_from_secs_f64(self.ahead_s?).ok()?;
        let taken = camera.to_zoned_datetime(zone.clone()).ok()?.timestamp().checked_sub(ahead).ok()?;
        Some(Moment::of_millis(taken.as_millisecond()))
    }
}

impl Store {
    /// Keeps a picture. The same bytes brought twice to one outing are kept once, as they were.
    ///
    /// # Errors
    /// A file that is empty or too large, one too many, or a store that cannot be written.
    pub fn add_picture(&mut self, bytes: &[u8], picture: Picture, writer: &Writer) -> Result<Kept<Picture>, SquadError> {
        let refused = |what: String| Err(SquadError::Refused { what });
        if bytes.is_empty() || bytes.len() > LARGEST_PICTURE {
            return refused(format!("{}: it has {} bytes; a picture has 1 to {} MB", picture.name, bytes.len(), LARGEST_PICTURE >> 20));
        }
        let picture = Picture { sha256: hex(&Sha256::digest(bytes)), ..picture };
        let there = self.pictures_of(picture.outing)?;
        if let Some(same) = there.iter().find(|kept| kept.fact.sha256 == picture.sha256) {
            return Ok(same.clone());
        }
        if there.len() >= MOST_PICTURES {
            return refused(format!("{}: this outing has {MOST_PICTURES} pictures already; take some away first", picture.name));
        }
        self.added(Id::random()?, &picture, writer, |connection| {
            connection.execute(
                "INSERT INTO track_bytes (sha256, bytes) VALUES ($1, $2) ON CONFLICT (sha256) DO NOTHING",
                rusqlite::params![picture.sha256, bytes],
            )?;
            Ok(())
        })
    }

    /// The pictures of an outing that were not taken away, by their names.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub fn pictures_of(&self, outing: Id<Outing>) -> Result<Vec<Kept<Picture>>, SquadError> {
        let mut all = self.of::<Picture, _>(outing)?;
        all.sort_by(|a, b| (&a.fact.camera_clock, &a.fact.name).cmp(&(&b.fact.camera_clock, &b.fact.name)));
        Ok(all)
    }

    /// A picture's bytes, as they came.
    ///
    /// # Errors
    /// When the store cannot be read, or the bytes are not those the hash was taken of.
    pub fn picture_bytes(&self, picture: &Picture) -> Result<Vec<u8>, SquadError> {
        self.kept_bytes(&picture.sha256)
    }

    /// Takes a picture away for good: with its bytes and its history, but for backups, which go with their week.
    ///
    /// # Errors
    /// When the store cannot be written.
    pub fn drop_picture(&mut self, picture: Id<Picture>) -> Result<(), SquadError> {
        let id = picture.to_string();
        let gone = |c: &rusqlite::Connection| {
            c.execute("DELETE FROM former WHERE kind = 'picture' AND fact = $1", [&id])?;
            c.execute("DELETE FROM conflict WHERE kind = 'picture' AND fact = $1", [&id])?;
            c.execute("DELETE FROM picture WHERE id = $1", [&id])?;
            c.execute(crate::store::ORPHANS, []).map(|_| ())
        };
        self.writing(gone, |_| Ok(()))
    }
}
