//! What a recorder wrote down, once its format has been read.

use measure::Position;

/// One point of a track.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fix {
    /// Seconds since 1970-01-01T00:00:00 UTC.
    pub time: f64,
    /// Where, WGS 84.
    pub position: Position,
    /// Speed over the ground by the receiver's own (Doppler) reckoning, m/s.
    pub speed: Option<f64>,
    /// Course over the ground by the same reckoning, degrees true.
    pub course: Option<f64>,
}

/// One recorder's track, in the order of its file until it is cleaned.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Track {
    /// What the file calls it, or the file's name without its ending.
    pub name: String,
    /// Which format it was read from, in plain words: "GPX 1.1".
    pub format: String,
    /// The points.
    pub fixes: Vec<Fix>,
}
