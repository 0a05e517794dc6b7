//! What is wrong with a schedule, or with what it is set against.

/// Why a schedule cannot be folded.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RefoldError {
    /// Too few rows, rows out of order, a line without length, or a number
    /// that is not finite.
    #[error("row {row} of the bend schedule is not usable")]
    Row {
        /// Counted from 0.
        row: usize,
    },
    /// A point lies on no bend line.
    #[error("a point lies outside the bend schedule")]
    Outside {
        /// Flat place.
        x: f64,
        /// Flat place.
        y: f64,
    },
    /// Holes of the drawing and of the member differ in number.
    #[error("{drawn} holes are drawn, the member has {member}")]
    Holes {
        /// Holes of the drawing.
        drawn: usize,
        /// Holes of the member.
        member: usize,
    },
    /// A boundary of fewer than two pieces, or without length.
    #[error("the outline does not go round")]
    Boundary,
    /// Two sets of points to compare differ in number, or are empty.
    #[error("{refolded} refolded points against {member} of the member")]
    Count {
        /// Refolded points.
        refolded: usize,
        /// Points of the member.
        member: usize,
    },
}
