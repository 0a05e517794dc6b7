//! What is no length.

/// Longest length that is believed, mm: one kilometre. No boat is longer; a
/// larger figure is a slip of the pen, and would only overflow later on.
pub const LONGEST_MM: f64 = 1.0e6;

/// What is wrong with a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wrong {
    /// It does not read as a length.
    Form,
    /// It has no unit where one is needed.
    Unit,
    /// It is not finite, or longer than [`LONGEST_MM`].
    Range,
}

/// A text that is not a length: what is wrong, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct LengthError {
    /// Kind.
    pub wrong: Wrong,
    /// One sentence.
    pub what: String,
    /// One sentence.
    pub mend: String,
}

impl LengthError {
    pub(super) fn new(wrong: Wrong, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            wrong,
            what: what.into(),
            mend: mend.into(),
        }
    }
}

/// Mend of a length that lacks its unit.
pub const WITH_UNIT: &str =
    "write the length with its unit, such as \"12.7 mm\", \"1/2 in\" or \"5 ft 3 1/2 in\"";
