//! Lengths as people write and read them.

use serde::{Deserialize, Serialize};

/// What a bare number in a table means. The unit is stated, never guessed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Metres.
    M,
    /// Decimal inches.
    In,
    /// Decimal feet.
    Ft,
    /// Feet, inches and fractions: `5 ft 3 1/2 in`, `5' 3-1/2"`.
    FeetInches,
    /// Feet-inches-eighths as a loftsman books them: `2-3-4`, `2-3-4+`.
    FeetInchesEighths,
}

/// How numbers are shown to people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Show {
    /// Millimetres.
    #[default]
    Mm,
    /// Feet, inches and sixteenths.
    FeetInches,
}
