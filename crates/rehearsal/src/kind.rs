//! The kinds of outing, each a day a coach would know, in two worlds that differ in everything the estimators might lean on.

use crate::wind::Weather;

/// A kind of outing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Steady moderate wind, eight boats, starts, line-ups and races.
    Steady,
    /// A wind that swings to and fro.
    Oscillating,
    /// A wind that shifts and stays there.
    Persistent,
    /// Light air.
    Light,
    /// Strong, gusty wind with capsizes.
    Strong,
    /// A river's or tide's current, mostly across the wind.
    Current,
    /// Two boats only.
    TwoBoats,
    /// One boat only.
    OneBoat,
    /// Reaching to and fro, nobody sails upwind: the wind cannot be told.
    Reaching,
    /// Every fault a recorder has.
    Messy,
    /// Practice starts, short beats, runs back.
    Starts,
    /// Line-ups with a setting swapped between two boats of each pair.
    LineUps,
    /// Second world: gust cells that travel, sailors unlike each other, dirty air, tactics.
    Cells,
    /// Second world: chop that slows a beat, shifts that stay, a gradient over the area, long stops.
    Chop,
    /// Second world: phones that smooth, snap and pause, clocks a whole hour off.
    Phones,
}

/// What the boats do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Programme {
    /// Out, practice starts, two line-ups, two races, home.
    Full,
    /// To and fro across the wind.
    Reaching,
    /// Start after start.
    Starts,
    /// Pass after pass.
    LineUps,
}

/// Everything fixed by the kind.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Setting {
    pub(crate) weather: Weather,
    pub(crate) boats: usize,
    pub(crate) seconds: usize,
    pub(crate) programme: Programme,
    /// Chance that one boat capsizes in one minute of sailing.
    pub(crate) capsizes: f64,
    /// Second world: helms, polars and air unlike the first.
    pub(crate) second_world: bool,
    /// Factor on boat speed upwind for waves.
    pub(crate) chop: f64,
    /// Whether the fleet is towed home.
    pub(crate) towed: bool,
    /// How faulty the recorders are.
    pub(crate) faults: Faults,
}

/// How faulty the recorders of an outing are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Faults {
    /// Good loggers, some without speed, one clock in three outings off by seconds.
    Few,
    /// Each fault at least once.
    All,
    /// Telephones.
    Phones,
}

impl Kind {
    /// All of them, in the order of the tables.
    pub const ALL: [Self; 15] = [
        Self::Steady,
        Self::Oscillating,
        Self::Persistent,
        Self::Light,
        Self::Strong,
        Self::Current,
        Self::TwoBoats,
        Self::OneBoat,
        Self::Reaching,
        Self::Messy,
        Self::Starts,
        Self::LineUps,
        Self::Cells,
        Self::Chop,
        Self::Phones,
    ];

    /// Its name in tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Steady => "steady",
            Self::Oscillating => "oscillating",
            Self::Persistent => "persistent shift",
            Self::Light => "light air",
            Self::Strong => "strong gusts",
            Self::Current => "current",
            Self::TwoBoats => "two boats",
            Self::OneBoat => "one boat",
            Self::Reaching => "reaching only",
            Self::Messy => "messy recorders",
            Self::Starts => "practice starts",
            Self::LineUps => "line-ups",
            Self::Cells => "travelling gusts",
            Self::Chop => "chop and gradient",
            Self::Phones => "phones",
        }
    }

    /// Whether it belongs to the second, messier world.
    #[must_use]
    pub const fn second_world(self) -> bool {
        matches!(self, Self::Cells | Self::Chop | Self::Phones)
    }

    pub(crate) const fn setting(self) -> Setting {
        let weather = Weather {
            speed: 4.5,
            oscillation: (6.0, 300.0),
            shift: 0.0,
            noise: (2.0, 0.08),
            local: (1.6, 0.06),
            gradient: (2.0, 0.05),
            current: (0.0, 0.0),
            cells: false,
        };
        let plain = Setting {
            weather,
            boats: 8,
            seconds: 5400,
            programme: Programme::Full,
            capsizes: 0.001,
            second_world: false,
            chop: 1.0,
            towed: false,
            faults: Faults::Few,
        };
        let second = Setting {
            second_world: true,
            towed: true,
            chop: 0.95,
            weather: Weather { cells: true, noise: (2.5, 0.08), local: (2.0, 0.05), gradient: (4.0, 0.1), shift: 8.0, ..weather },
            ..plain
        };
        match self {
            Self::Steady => Setting { weather: Weather { oscillation: (1.0, 300.0), noise: (1.0, 0.05), ..weather }, ..plain },
            Self::Oscillating => Setting { weather: Weather { oscillation: (9.0, 260.0), ..weather }, towed: true, ..plain },
            Self::Persistent => Setting { weather: Weather { shift: 22.0, oscillation: (3.0, 280.0), ..weather }, ..plain },
            Self::Light => Setting {
                weather: Weather { speed: 1.9, oscillation: (7.0, 340.0), noise: (4.0, 0.15), local: (3.0, 0.10), ..weather },
                towed: true,
                ..plain
            },
            Self::Strong => Setting {
                weather: Weather { speed: 8.0, oscillation: (5.0, 220.0), noise: (2.5, 0.10), local: (2.5, 0.10), ..weather },
                capsizes: 0.012,
                ..plain
            },
            Self::Current => Setting { weather: Weather { current: (0.28, 0.10), ..weather }, ..plain },
            Self::TwoBoats => Setting { boats: 2, ..plain },
            Self::OneBoat => Setting { boats: 1, ..plain },
            Self::Reaching => Setting { boats: 6, seconds: 3600, programme: Programme::Reaching, ..plain },
            Self::Messy => Setting { faults: Faults::All, towed: true, ..plain },
            Self::Starts => Setting { seconds: 4500, programme: Programme::Starts, ..plain },
            Self::LineUps => Setting { boats: 4, seconds: 6300, programme: Programme::LineUps, ..plain },
            Self::Cells => second,
            Self::Chop => Setting {
                chop: 0.86,
                weather: Weather {
                    speed: 6.0,
                    shift: 14.0,
                    gradient: (8.0, 0.2),
                    cells: true,
                    noise: (2.0, 0.08),
                    local: (2.0, 0.07),
                    ..weather
                },
                ..second
            },
            Self::Phones => Setting { boats: 6, faults: Faults::Phones, ..second },
        }
    }
}
