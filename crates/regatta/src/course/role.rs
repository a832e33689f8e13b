//! What a buoy is for, read from its name; and the kinds of course with the order in which their buoys are rounded.
//!
//! Kinds and orders: common practice, no source. An order of the sailing instructions goes before ours.

/// What a buoy is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The windward course mark.
    Windward,
    /// The offset beside it.
    Offset,
    /// The wing of a triangle.
    Wing,
    /// The windward one of a trapezoid's outer two.
    OuterWindward,
    /// The leeward one of a trapezoid's outer two.
    OuterLeeward,
    /// The leeward course mark.
    Leeward,
    /// One of the two of a leeward gate.
    Gate,
    /// The pin of the start line.
    Pin,
    /// The committee boat, the other end of it.
    CommitteeBoat,
    /// One end of a finish line.
    Finish,
}

impl Role {
    /// By what a name says, else `None`.
    #[must_use]
    pub fn of(name: &str) -> Option<Self> {
        let name = name.to_lowercase();
        let says = |words: &[&str]| words.iter().any(|w| name.contains(w));
        let role = match () {
            () if says(&["outer"]) && says(&["leeward"]) => Self::OuterLeeward,
            () if says(&["outer"]) => Self::OuterWindward,
            () if says(&["offset"]) => Self::Offset,
            () if says(&["wing", "gybe"]) => Self::Wing,
            () if says(&["gate"]) => Self::Gate,
            () if says(&["finish"]) => Self::Finish,
            () if says(&["committee"]) => Self::CommitteeBoat,
            () if says(&["pin"]) => Self::Pin,
            () if says(&["leeward"]) => Self::Leeward,
            () if says(&["windward", "weather"]) => Self::Windward,
            () => return None,
        };
        Some(role)
    }
}

/// A kind of course.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CourseKind {
    /// Up and down.
    WindwardLeeward,
    /// Up, two reaches down, up and down.
    Triangle,
    /// Up, a reach out, down, and a reach in.
    Trapezoid,
}

impl CourseKind {
    /// All kinds.
    pub const ALL: [Self; 3] = [Self::WindwardLeeward, Self::Triangle, Self::Trapezoid];

    /// As it is typed and shown.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::WindwardLeeward => "windward-leeward",
            Self::Triangle => "triangle",
            Self::Trapezoid => "trapezoid",
        }
    }

    /// How many times round where nobody says. Common practice, no source.
    #[must_use]
    pub const fn usual_laps(self) -> usize {
        match self {
            Self::WindwardLeeward => 2,
            Self::Triangle | Self::Trapezoid => 1,
        }
    }

    /// What the buoys there are make of it.
    #[must_use]
    pub fn of(roles: &[Role]) -> Self {
        if roles.contains(&Role::OuterWindward) || roles.contains(&Role::OuterLeeward) {
            Self::Trapezoid
        } else if roles.contains(&Role::Wing) {
            Self::Triangle
        } else {
            Self::WindwardLeeward
        }
    }

    /// The roles in the order they are rounded, between start and finish. The last beat of a windward-leeward course or a triangle is followed
    /// by the finish.
    #[must_use]
    pub fn order(self, laps: usize, finish: bool) -> Vec<Role> {
        use Role::{Leeward, OuterLeeward, OuterWindward, Windward, Wing};
        let mut order = Vec::new();
        match self {
            Self::WindwardLeeward => order.extend([Windward, Leeward].repeat(laps)),
            Self::Triangle => {
                order.extend([Windward, Wing, Leeward].repeat(laps));
                order.extend(finish.then_some([Windward, Leeward]).into_iter().flatten());
            }
            Self::Trapezoid => {
                order.push(Windward);
                order.extend([OuterWindward, OuterLeeward].repeat(laps));
            }
        }
        if finish && self != Self::Trapezoid {
            order.pop();
        }
        order
    }
}
