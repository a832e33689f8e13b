//! What stops this crate, in words for a coach: what, where, what to do.

/// Why a file gave no track, or a track nothing to work on.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TrackError {
    /// The file holds nothing.
    #[error("{file}: the file is empty; copy it from the recorder again")]
    Empty {
        /// The file's name.
        file: String,
    },
    /// The content is no format that is read here.
    #[error("{file}: {what}; export the track as GPX, FIT, TCX, KML, GeoJSON, IGC, CSV or NMEA 0183, plain or packed with gzip or zip")]
    Unrecognised {
        /// The file's name, with the entry's name if it was packed.
        file: String,
        /// What it looks like.
        what: String,
    },
    /// Its times are local and name no timezone: ask for it, never guess.
    #[error(
        "{file}: its times (the first is {first}) do not say in which timezone they are; name the timezone the recorder was set to, such as --timezone Europe/Paris, or UTC"
    )]
    NeedsTimezone {
        /// The file's name, with the entry's name if it was packed.
        file: String,
        /// The first time, as written.
        first: String,
    },
    /// A limit that protects the program was met before any track was read.
    #[error("{file}: {what}")]
    Refused {
        /// The file's name, with the entry's name if it was packed.
        file: String,
        /// Which limit, and what to do.
        what: String,
    },
    /// A track with too little in it to work on.
    #[error("{track}: {what}")]
    TooLittle {
        /// The track's name.
        track: String,
        /// What is missing.
        what: String,
    },
    /// A file of course marks that cannot be used.
    #[error("{file}: {what}; course marks are GPX waypoints or GeoJSON points")]
    Marks {
        /// The file's name.
        file: String,
        /// What is wrong with it.
        what: String,
    },
}
