//! Places along the edge, as a job names them.

use super::key_kind::{ANY, Absent::*, Key, Quantity::*, Word, between, choice, key, words};

words! {
    /// Side of the boat.
    #[derive(PartialOrd, Ord, Hash)]
    pub enum Side {
        /// Left, looking forward: y above zero.
        Port = "port",
        /// Right, looking forward: y below zero.
        Starboard = "starboard",
    }
}

impl Side {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.word()
    }

    /// How far outboard of the centreline a y lies, or the y of what lies so far outboard.
    #[must_use]
    pub fn outboard(self, y: f64) -> f64 {
        match self {
            Self::Port => y,
            Self::Starboard => -y,
        }
    }

    /// In the short words of labels.
    #[must_use]
    pub fn short(self) -> &'static str {
        match self {
            Self::Port => "port",
            Self::Starboard => "stbd",
        }
    }
}

/// A place along the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Side, where a station alone would be ambiguous.
    pub side: Option<Side>,
    /// Where.
    pub at: At,
}

/// Where along the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum At {
    /// x forward of the datum, mm.
    X(f64),
    /// Distance along the edge in plan, mm, from the fore end of that side
    /// (from the port fore end, aft and round, where no side is given).
    Along(f64),
}

#[rustfmt::skip] // A key a line or two.
pub(super) const PLACE: &[Key] = &[
    key("side", choice::<Side>(), Else("required with `station`, unless only one side is surveyed"), "side of the boat"),
    key("station", Length(ANY), Else("one of the two is required"), "a station, counted as the survey counts"),
    key("along", Length(between(0.0, f64::INFINITY)), Else("one of the two is required"),
        "along the edge in plan from that side's fore end; without `side`, from the port fore end aft and round"),
];
